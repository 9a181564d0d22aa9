package book

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"panelwright/internal/outside"
)

func newBook(t testing.TB) *Book {
	t.Helper()
	return mustOpen(t, filepath.Join(t.TempDir(), "bench.book"))
}

func mustOpen(t testing.TB, path string) *Book {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func must[T any](v T, err error) func(t testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func sample(t testing.TB, b *Book) Revision {
	t.Helper()
	return must(b.Create(Change{Name: "sample", Text: "panels: []\n", Files: []File{{"roof.dxf", []byte("0\nEOF\n")}},
		What: "new", When: "2026-01-01T08:00:00Z"}))(t)
}

// isErr says whether err is, or wraps, an E that passes ok, and whether its message says what to do.
func isErr[E error](t testing.TB, err error, ok func(E) bool) {
	t.Helper()
	var e E
	if !errors.As(err, &e) {
		t.Fatalf("got %v, want %T", err, e)
	}
	if ok != nil && !ok(e) {
		t.Errorf("got %#v", e)
	}
	if !strings.Contains(e.Error(), ": ") || strings.Contains(e.Error(), "%!") {
		t.Errorf("message %q", e)
	}
}

// model is a book as one would write it without a disk.
type model struct {
	revisions []Revision
	head      int
	left      map[int][]int // by revision: from where Undo came back to it, in order
	marks     map[string]Mark
	log       []MarkChange
	archived  bool
}

func (m *model) redo() int {
	if l := m.left[m.head]; len(l) > 0 {
		return l[len(l)-1]
	}
	return 0
}

// TestModel does random work on a book, opened anew now and then, and on the plain model, and compares all that can be read.
func TestModel(t *testing.T) {
	for seed := range uint64(4) {
		rng := rand.New(rand.NewPCG(seed, 1))
		path := filepath.Join(t.TempDir(), "bench.book")
		b := mustOpen(t, path)
		ms := map[int64]*model{}
		for i := range 150 {
			work(t, rng, b, ms, fmt.Sprintf("t%04d", i))
			if rng.IntN(30) == 0 {
				if err := b.Close(); err != nil {
					t.Fatal(err)
				}
				b = mustOpen(t, path)
			}
			if rng.IntN(10) == 0 {
				compare(t, b, ms)
			}
		}
		compare(t, b, ms)
		if err := b.Check(); err != nil {
			t.Error(err)
		}
		if t.Failed() {
			t.Fatalf("seed %d, 1", seed)
		}
	}
}

func randomChange(rng *rand.Rand, now string) Change {
	c := Change{Text: strings.Repeat("x", rng.IntN(9000)) + now, What: "change at " + now, When: now}
	if rng.IntN(3) == 0 {
		c.Name = "sample " + now
	}
	for f := range rng.IntN(4) {
		c.Files = append(c.Files, File{fmt.Sprintf("folder/%d.dxf", f), bytes.Repeat([]byte{byte(rng.IntN(3))}, rng.IntN(3)*5000)})
	}
	return c
}

func work(t *testing.T, rng *rand.Rand, b *Book, ms map[int64]*model, now string) {
	t.Helper()
	if len(ms) == 0 || rng.IntN(20) == 0 {
		c := randomChange(rng, now)
		c.Name = "sample"
		r := must(b.Create(c))(t)
		ms[r.Vehicle] = &model{revisions: []Revision{r}, head: 1, left: map[int][]int{}, marks: map[string]Mark{}}
		return
	}
	id := slices.Sorted(maps.Keys(ms))[rng.IntN(len(ms))]
	m := ms[id]
	base := m.head
	if rng.IntN(6) == 0 {
		base = 1 + rng.IntN(len(m.revisions))
	}
	switch rng.IntN(6) {
	case 0, 1:
		c := randomChange(rng, now)
		r, err := b.Save(id, base, c)
		if base != m.head {
			isErr(t, err, func(e *Outdated) bool {
				return e.Base.No == base && e.Theirs.No == m.head && e.Yours.No == 0 && e.Yours.Text == c.Text
			})
			return
		}
		m.save(c)
		if want := m.revisions[len(m.revisions)-1]; err != nil || !same(r, want) {
			t.Fatalf("saved %.200v, %v; want %.200v", r, err, want)
		}
	case 2:
		_, err := b.Undo(id, base, now)
		to := m.revisions[m.head-1].Parent
		if moved(t, m, base, to, err, stepUndo) {
			m.left[to] = append(m.left[to], m.head)
			m.head = to
		}
	case 3:
		_, err := b.Redo(id, base, now)
		if to := m.redo(); moved(t, m, base, to, err, stepRedo) {
			m.head = to
		}
	case 4:
		key, value := fmt.Sprint("step ", rng.IntN(3)), fmt.Sprint(rng.IntN(3))
		if err := b.SetMark(id, key, value, now); err != nil {
			t.Fatal(err)
		}
		if was, ok := m.marks[key]; !ok || was.Value != value {
			m.marks[key] = Mark{Value: value, When: now}
			m.log = append(m.log, MarkChange{key, value, now})
		}
	case 5:
		m.archived = !m.archived
		do := b.Restore
		if m.archived {
			do = b.Archive
		}
		if err := do(id); err != nil {
			t.Fatal(err)
		}
	}
}

func (m *model) save(c Change) {
	was := m.revisions[m.head-1]
	r := Revision{Vehicle: was.Vehicle, No: len(m.revisions) + 1, Parent: m.head, Name: c.Name, Text: c.Text, Files: was.Files, What: c.What, When: c.When}
	if c.Name == "" {
		r.Name = was.Name
	}
	if c.Files != nil {
		r.Files = map[string][]byte{}
		for _, f := range c.Files {
			r.Files[f.Name] = f.Bytes
		}
	}
	m.revisions, m.head = append(m.revisions, r), r.No
}

// moved checks the error of a step, and says whether the head had to move.
func moved(t *testing.T, m *model, base, to int, err error, step string) bool {
	t.Helper()
	switch {
	case base != m.head:
		isErr(t, err, func(e *Outdated) bool { return e.Base.No == base && e.Theirs.No == m.head && e.Yours.Vehicle == 0 })
	case to == 0:
		isErr(t, err, func(e *Nothing) bool { return e.No == base && e.Step == step })
	case err != nil:
		t.Fatal(err)
	default:
		return true
	}
	return false
}

func compare(t *testing.T, b *Book, ms map[int64]*model) {
	t.Helper()
	list := must(b.Vehicles())(t)
	if len(list) != len(ms) {
		t.Fatalf("%d vehicles, want %d", len(list), len(ms))
	}
	for _, v := range list {
		m := ms[v.ID]
		head := m.revisions[m.head-1]
		if v.Head != m.head || v.Archived != m.archived || v.Name != head.Name || v.Undo != head.Parent || v.Redo != m.redo() {
			t.Errorf("vehicle %+v, want %+v", v, m)
		}
		if got := must(b.Get(v.ID))(t); !same(got, head) {
			t.Errorf("head %.200v, want %.200v", got, head)
		}
		infos := must(b.History(v.ID))(t)
		for i, want := range m.revisions {
			if got := must(b.GetRevision(v.ID, want.No))(t); !same(got, want) {
				t.Errorf("revision %.200v, want %.200v", got, want)
			}
			info := RevisionInfo{want.No, want.Parent, want.Name, want.What, want.When, want.No == m.head, want.No == v.Undo, want.No == v.Redo}
			if infos[i] != info {
				t.Errorf("history %+v, want %+v", infos[i], info)
			}
		}
		if got := must(b.Marks(v.ID))(t); !maps.Equal(got, m.marks) {
			t.Errorf("marks %v, want %v", got, m.marks)
		}
		if got := must(b.MarkLog(v.ID))(t); !slices.Equal(got, m.log) {
			t.Errorf("log %v, want %v", got, m.log)
		}
	}
}

// same compares two revisions; an empty file is as good as nil.
func same(a, b Revision) bool {
	files := maps.EqualFunc(a.Files, b.Files, bytes.Equal)
	a.Files, b.Files = nil, nil
	return files && reflect.DeepEqual(a, b)
}

func TestOneOfTwoWins(t *testing.T) {
	first := newBook(t)
	second := mustOpen(t, first.Path()) // two books on one file, as two processes have
	r := sample(t, first)
	for round := range 25 {
		var wg sync.WaitGroup
		errs := make([]error, 8)
		for i := range errs {
			b := []*Book{first, second}[i%2]
			wg.Go(func() {
				_, errs[i] = b.Save(r.Vehicle, round+1, Change{Text: fmt.Sprint(round, i)})
			})
		}
		wg.Wait()
		won := -1
		for i, err := range errs {
			if err == nil {
				if won >= 0 {
					t.Fatalf("round %d: %d and %d both won", round, won, i)
				}
				won = i
				continue
			}
			isErr(t, err, func(e *Outdated) bool {
				return e.Base.No == round+1 && e.Theirs.No == round+2 && e.Yours.Text == fmt.Sprint(round, i)
			})
		}
		if got := must(second.Get(r.Vehicle))(t); won < 0 || got.Text != fmt.Sprint(round, won) || got.Parent != round+1 {
			t.Fatalf("round %d: %d won, head %v", round, won, got)
		}
	}
}

func TestReadersDoNotWait(t *testing.T) {
	b := newBook(t)
	r := sample(t, b)
	tx := must(b.write.Begin())(t)
	defer tx.Rollback()
	if _, err := tx.Exec("UPDATE vehicle SET archived = 1"); err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	for range 50 {
		if v := must(b.Vehicle(r.Vehicle))(t); v.Archived {
			t.Fatal("a reader saw what was not yet kept")
		}
		must(b.Get(r.Vehicle))(t)
	}
	if took := time.Since(begun); took > busyMilliseconds*time.Millisecond {
		t.Errorf("50 reads took %v beside a writer", took)
	}
}

func TestBusy(t *testing.T) {
	first := newBook(t)
	r := sample(t, first)
	second := mustOpen(t, first.Path())
	tx := must(first.write.Begin())(t)
	defer tx.Rollback()
	if _, err := second.write.Exec("PRAGMA busy_timeout = 100"); err != nil {
		t.Fatal(err)
	}
	_, err := second.Save(r.Vehicle, 1, Change{Text: "x"})
	isErr[*Busy](t, err, nil)
	begun := time.Now()
	third := mustOpen(t, first.Path()) // a book that is being written can be opened
	if got := must(third.Get(r.Vehicle))(t); got.No != 1 || time.Since(begun) > busyMilliseconds*time.Millisecond {
		t.Errorf("got %v after %v", got, time.Since(begun))
	}
}

func TestFilesAreShared(t *testing.T) {
	b := newBook(t)
	file := bytes.Repeat([]byte("0123456789"), 10000)
	r := must(b.Create(Change{Name: "sample", Text: "t", Files: []File{{"a", file}, {"b", file}}}))(t)
	for no := range 20 {
		must(b.Save(r.Vehicle, no+1, Change{Text: "t"}))(t)
	}
	if n := must(column[int](b.read, "SELECT count(*) FROM blob"))(t)[0]; n != 2 {
		t.Errorf("%d blobs, want the text and the file", n)
	}
	r = must(b.Save(r.Vehicle, 21, Change{Text: "t", Files: []File{}}))(t)
	if len(r.Files) != 0 || len(must(b.GetRevision(r.Vehicle, 21))(t).Files) != 2 {
		t.Error("an empty list means no files, and earlier revisions keep theirs")
	}
}

func TestNothingIsChangedOrRemoved(t *testing.T) {
	b := newBook(t)
	r := sample(t, b)
	must(b.Save(r.Vehicle, 1, Change{Text: "x"}))(t)
	if err := b.SetMark(r.Vehicle, "k", "v", "t"); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"blob", "revision", "file", "move", "mark_log", "vehicle"} {
		if _, err := b.write.Exec("DELETE FROM " + table); err == nil {
			t.Errorf("rows of %s can be removed", table)
		}
	}
	for _, change := range []string{"blob SET bytes = x''", "revision SET what = ''", "file SET name = ''", "move SET made = ''", "mark_log SET value = ''"} {
		if _, err := b.write.Exec("UPDATE " + change); err == nil {
			t.Errorf("UPDATE %s can be done", change)
		}
	}
}

func TestRefused(t *testing.T) {
	b := newBook(t)
	r := sample(t, b)
	before := must(b.History(r.Vehicle))(t)
	many := make([]File, FilesMax+1)
	for i := range many {
		many[i].Name = fmt.Sprint(i)
	}
	for _, c := range []Change{
		{Text: strings.Repeat("x", TextMax+1)},
		{Files: []File{{"a", make([]byte, FileMax+1)}}},
		{Files: many},
		{Files: []File{{"a", make([]byte, FileMax)}, {"b", make([]byte, FileMax)}, {"c", make([]byte, FileMax)}, {"d", make([]byte, FileMax)}, {"e", []byte{1}}}},
		{What: strings.Repeat("x", WordsMax+1)},
	} {
		_, err := b.Save(r.Vehicle, 1, c)
		isErr(t, err, func(e *TooLarge) bool { return e.Size == e.Max+1 })
	}
	for _, name := range []string{"", ".", "..", "../a", "/a", "a//b", `a\b`, "c:a", "a\x00", strings.Repeat("x", 256)} {
		_, err := b.Save(r.Vehicle, 1, Change{Files: []File{{name, nil}}})
		isErr(t, err, func(e *BadName) bool { return e.Name == name })
	}
	_, err := b.Save(r.Vehicle, 1, Change{Files: []File{{"a", nil}, {"a", nil}}})
	isErr[*BadName](t, err, nil)
	_, err = b.Create(Change{Name: " "})
	isErr[*BadName](t, err, nil)
	isErr[*BadName](t, b.SetMark(r.Vehicle, "", "v", "t"), nil)
	isErr[*TooLarge](t, b.SetMark(r.Vehicle, "k", strings.Repeat("x", WordsMax+1), "t"), nil)
	isErr(t, b.Archive(7), func(e *Unknown) bool { return e.Vehicle == 7 && e.No == 0 })
	isErr[*Unknown](t, b.SetMark(7, "k", "v", "t"), nil)
	for _, no := range []int{-1, 0, 2} {
		_, err = b.GetRevision(r.Vehicle, no)
		isErr(t, err, func(e *Unknown) bool { return e.Vehicle == r.Vehicle && e.No == no })
	}
	_, err = b.Save(r.Vehicle, 2, Change{})
	isErr(t, err, func(e *Unknown) bool { return e.No == 2 })
	if after := must(b.History(r.Vehicle))(t); !slices.Equal(after, before) {
		t.Errorf("history %v, want %v", after, before)
	}
}

// The largest of everything comes back as it was.
func TestLargest(t *testing.T) {
	b := newBook(t)
	rng := rand.New(rand.NewPCG(1, 2))
	c := Change{Name: "sample", Text: strings.Repeat("0123456\n", TextMax/8), Files: []File{{"empty", []byte{}}}}
	for i := range 3 {
		file := make([]byte, FileMax)
		for j := range file {
			file[j] = byte(rng.Uint32())
		}
		c.Files = append(c.Files, File{fmt.Sprint("large/", i), file})
	}
	r := must(b.Create(c))(t)
	if got := must(b.Get(r.Vehicle))(t); !same(got, r) || len(got.Files) != 4 {
		t.Error("not the same")
	}
}

// A book whose file is moved away, or replaced by a copy, while it is open, would acknowledge changes that nobody finds again.
func TestReplaced(t *testing.T) {
	b := newBook(t)
	r := sample(t, b)
	if err := b.CopyTo(b.Path() + "2"); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(b.Path(), b.Path()+"1"); err != nil {
		outside.Missing(t, "moving an open file", "is not possible here: "+err.Error())
	}
	_, err := b.Save(r.Vehicle, 1, Change{Text: "x"})
	isErr(t, err, func(e *Replaced) bool { return e.Path == b.Path() })
	if err := os.Rename(b.Path()+"2", b.Path()); err != nil {
		t.Fatal(err)
	}
	_, err = b.Save(r.Vehicle, 1, Change{Text: "x"})
	isErr[*Replaced](t, err, nil)
	_, err = b.Get(r.Vehicle)
	isErr[*Replaced](t, err, nil)
	if err := os.Rename(b.Path()+"1", b.Path()); err != nil {
		t.Fatal(err)
	}
	must(b.Save(r.Vehicle, 1, Change{Text: "x"}))(t)
}
