package book

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// version1File was written by this program when version 1 was the latest: two vehicles, one archived, the first with an undone
// revision and two marks.
const version1File = "testdata/version1.book"

// put writes a file and returns its path.
func put(t testing.TB, text []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bench.book")
	if err := os.WriteFile(path, text, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// closed makes a book with a little of everything, closes it and gives its bytes.
func closed(t testing.TB) []byte {
	t.Helper()
	b := newBook(t)
	for i := range 3 {
		r := must(b.Create(Change{Name: "sample", Text: strings.Repeat("panel\n", 100*i), Files: []File{{"a", bytes.Repeat([]byte{1, 2}, 9000)}}}))(t)
		must(b.Save(r.Vehicle, 1, Change{Text: strings.Repeat("panels\n", 3000)}))(t)
		for k := range 30 {
			if err := b.SetMark(r.Vehicle, fmt.Sprint(k), "done", "t"); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	return must(os.ReadFile(b.Path()))(t)
}

// untouched opens path, which must fail, and checks that neither the file nor anything beside it has changed.
func untouched(t testing.TB, path string) error {
	t.Helper()
	before := folder(t, path)
	b, err := Open(path)
	if err == nil {
		b.Close()
		t.Fatal("opened")
	}
	if after := folder(t, path); !maps.EqualFunc(before, after, bytes.Equal) {
		t.Errorf("%v: %v was %v", err, slices.Sorted(maps.Keys(after)), slices.Sorted(maps.Keys(before)))
	}
	return err
}

func folder(t testing.TB, path string) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	for _, e := range must(os.ReadDir(filepath.Dir(path)))(t) {
		all[e.Name()], _ = os.ReadFile(filepath.Join(filepath.Dir(path), e.Name()))
	}
	return all
}

func TestMigrate(t *testing.T) {
	b := mustOpen(t, put(t, must(os.ReadFile(version1File))(t)))
	want := []Vehicle{
		{ID: 1, Name: "sample saloon", Head: 1, Redo: 2, Changed: "2026-01-03T08:00:00Z"},
		{ID: 2, Name: "sample van", Head: 1, Changed: "2026-01-04T08:00:00Z", Archived: true},
	}
	if got := must(b.Vehicles())(t); !slices.Equal(got, want) {
		t.Errorf("got %+v", got)
	}
	r := must(b.Redo(1, 1, "t"))(t)
	if r.Text != "job: sample, changed\n" || string(r.Files["roof.dxf"]) != "0\nEOF\n" {
		t.Errorf("got %+v", r)
	}
	log := []MarkChange{{"drill", "done", "2026-01-05T08:00:00Z"}, {"rivet", "done", "2026-01-05T08:00:00Z"}}
	if got := must(b.MarkLog(1))(t); !slices.Equal(got, log) {
		t.Errorf("log %v", got)
	}
	if err := b.SetMarksOf(1, map[string]string{"ream": "done"}, 2, map[string]string{"ream": "x"}, "t"); err != nil {
		t.Error(err)
	}
	if m := must(b.Marks(1))(t); m["rivet"] != (Mark{"done", "2026-01-05T08:00:00Z", 0, ""}) || m["ream"] != (Mark{"done", "t", 2, "x"}) {
		t.Errorf("marks %v", m)
	}
	if err := b.SetMark(1, "drill", "", "t"); err != nil {
		t.Error(err)
	}
	if got := must(b.MarkLog(1))(t); len(got) != 4 {
		t.Errorf("log %v", got)
	}
	if err := b.Check(); err != nil {
		t.Error(err)
	}
}

func TestMigrateByMany(t *testing.T) {
	path := put(t, must(os.ReadFile(version1File))(t))
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			b, err := Open(path)
			if err != nil {
				t.Error(err)
				return
			}
			defer b.Close()
			if log, err := b.MarkLog(1); err != nil || len(log) != 2 {
				t.Error(log, err)
			}
		})
	}
	wg.Wait()
}

func TestMigrationIsWholeOrNothing(t *testing.T) {
	path := put(t, must(os.ReadFile(version1File))(t))
	s := schema{steps: []string{version1, version2 + "INSERT INTO nowhere VALUES (1);"}, want: known().want}
	if b, err := open(path, s); err == nil {
		b.Close()
		t.Fatal("opened")
	}
	db := must(sql.Open("sqlite", path))(t)
	defer db.Close()
	if v, fits := must(versionOf(db))(t), must(s.fits(db, 1))(t); v != 1 || !fits {
		t.Errorf("version %d, its tables are those of version 1: %v", v, fits)
	}
}

func TestCreatedByMany(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.book")
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			b, err := Open(path)
			if err != nil {
				t.Error(err)
				return
			}
			defer b.Close()
			if _, err := b.Create(Change{Name: "sample"}); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if got := must(mustOpen(t, path).Vehicles())(t); len(got) != 6 {
		t.Errorf("%d vehicles", len(got))
	}
}

func TestNewer(t *testing.T) {
	for _, logged := range []bool{false, true} {
		path := put(t, closed(t))
		db := must(sql.Open("sqlite", path))(t)
		if _, err := db.Exec("CREATE TABLE later (x); PRAGMA user_version = 9"); err != nil {
			t.Fatal(err)
		}
		if logged { // as a killed program leaves it: the version stands in the log alone
			left := put(t, must(os.ReadFile(path))(t))
			if err := os.WriteFile(left+"-wal", must(os.ReadFile(path+"-wal"))(t), 0o666); err != nil {
				t.Fatal(err)
			}
			path = left
		}
		db.Close()
		before := must(os.ReadFile(path))(t)
		_, err := Open(path)
		isErr(t, err, func(e *Newer) bool { return e.Have == 9 && e.Known == len(known().steps) })
		if !bytes.Equal(before, must(os.ReadFile(path))(t)) {
			t.Error("changed")
		}
		if !logged {
			untouched(t, path)
		}
	}
}

func TestNotABook(t *testing.T) {
	for name, text := range map[string][]byte{
		"empty":     {},
		"text":      []byte("panels: []\n"),
		"long text": bytes.Repeat([]byte("panels: []\n"), 9999),
		"zeros":     make([]byte, 8192),
	} {
		t.Run(name, func(t *testing.T) {
			isErr[*NotABook](t, untouched(t, put(t, text)), nil)
		})
	}
	for _, mode := range []string{"DELETE", "WAL"} {
		path := filepath.Join(t.TempDir(), "bench.book")
		db := must(sql.Open("sqlite", path+"?_journal_mode="+mode))(t)
		if _, err := db.Exec("CREATE TABLE other (x); PRAGMA user_version = 1"); err != nil {
			t.Fatal(err)
		}
		db.Close()
		isErr[*NotABook](t, untouched(t, path), nil)
	}
	isErr[*NotABook](t, untouched(t, t.TempDir()), nil)
	_, err := Open(filepath.Join(t.TempDir(), "no", "bench.book"))
	isErr[*NoFolder](t, err, nil)
	link := filepath.Join(t.TempDir(), "bench.book")
	if err := os.Symlink("nowhere", link); err == nil {
		isErr[*NotABook](t, untouched(t, link), nil)
	}
}

// A log whose book is gone may hold changes; a new book beside it would swallow them.
func TestOrphanedLog(t *testing.T) {
	path := put(t, nil)
	if err := os.Rename(path, path+"-wal"); err != nil {
		t.Fatal(err)
	}
	mustOpen(t, path).Close() // an empty one holds nothing
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path+"-wal", []byte("changes"), 0o666); err != nil {
		t.Fatal(err)
	}
	isErr[*Damaged](t, untouched(t, path), nil)
}

func TestTruncated(t *testing.T) {
	text := closed(t)
	for n := 50; n < len(text); n += 1500 {
		isErr[*Damaged](t, untouched(t, put(t, text[:n])), nil)
	}
}

// content is all that can be read of a book.
func content(b *Book) (string, error) {
	vs, err := b.Vehicles()
	all := fmt.Sprintf("%+v", vs)
	for _, v := range vs {
		h, err1 := b.History(v.ID)
		m, err2 := b.Marks(v.ID)
		l, err3 := b.MarkLog(v.ID)
		err = errors.Join(err, err1, err2, err3)
		all += fmt.Sprintf("%+v %+v %+v", h, m, l)
		for _, info := range h {
			r, err4 := b.GetRevision(v.ID, info.No)
			err = errors.Join(err, err4)
			all += fmt.Sprintf("%+v", r)
		}
	}
	return all, err
}

// TestNoise overwrites each page in turn, whole or in a part: Open says so and touches nothing, or a reader says so, or all that
// can be read is what was written.
func TestNoise(t *testing.T) {
	text := closed(t)
	was := mustOpen(t, put(t, text))
	want := must(content(was))(t)
	const page = 4096
	counts := map[string]int{}
	rng := rand.New(rand.NewPCG(7, 7))
	for at := 0; at+page <= len(text); at += page {
		for _, part := range [][2]int{{0, page}, {0, 8}, {8, page}, {page / 2, page}} {
			bad := bytes.Clone(text)
			for i := at + part[0]; i < at+part[1]; i++ {
				bad[i] = byte(rng.Uint32())
			}
			counts[tryDamaged(t, bad, want)]++
		}
	}
	t.Log(counts)
	if counts["refused"] < len(text)/page {
		t.Errorf("of %d pages: %v", len(text)/page, counts)
	}
}

func tryDamaged(t *testing.T, text []byte, want string) string {
	t.Helper()
	path := put(t, text)
	b, err := Open(path)
	var damaged *Damaged
	var other *NotABook
	if err != nil {
		if !errors.As(err, &damaged) && !errors.As(err, &other) {
			t.Errorf("got %v", err)
		}
		untouched(t, path)
		return "refused"
	}
	defer b.Close()
	got, err := content(b)
	if err != nil {
		if !errors.As(err, &damaged) || damaged.Path != path {
			t.Errorf("got %v", err)
		}
		isErr[*Damaged](t, b.Check(), nil)
		return "found on reading"
	}
	if got != want {
		t.Errorf("read\n%.300s\nwant\n%.300s", got, want)
	}
	return "harmless"
}

// What a doctored file defines is not what a book defines.
func TestDoctored(t *testing.T) {
	for _, change := range []string{
		"CREATE TRIGGER t AFTER INSERT ON move BEGIN UPDATE vehicle SET archived = 1; END",
		"DROP TRIGGER blob_stays",
		"CREATE TABLE more (x)",
		"CREATE VIEW v AS SELECT 1",
		"PRAGMA user_version = 0",
		"PRAGMA foreign_keys = 0; DROP TRIGGER vehicle_kept; INSERT INTO move (vehicle, step, went, made) VALUES (99, 'save', 1, '')",
	} {
		path := put(t, closed(t))
		db := must(sql.Open("sqlite", path))(t)
		if _, err := db.Exec(change); err != nil {
			t.Fatal(err)
		}
		db.Close()
		isErr[*Damaged](t, untouched(t, path), nil)
	}
}

// A change that was cut off in a book without a log, as another program may have left it, is taken back before the book is read.
func TestCutOff(t *testing.T) {
	path := put(t, closed(t))
	want := must(content(mustOpen(t, put(t, closed(t)))))(t)
	db := must(sql.Open("sqlite", path+"?_journal_mode=DELETE&_pragma=cache_size(1)&_txlock=immediate"))(t)
	defer db.Close()
	db.SetMaxOpenConns(1)
	tx := must(db.Begin())(t)
	defer tx.Rollback()
	if _, err := tx.Exec("UPDATE mark SET value = hex(randomblob(2000))"); err != nil {
		t.Fatal(err)
	}
	left := put(t, must(os.ReadFile(path))(t))
	journal := must(os.ReadFile(path + "-journal"))(t)
	if err := os.WriteFile(left+"-journal", journal, 0o666); err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(must(os.ReadFile(left))(t), closed(t)) {
		t.Fatal("the change has not reached the file: nothing to take back")
	}
	_, err := newBook(t).ImportBook(left)
	isErr[*Damaged](t, err, nil)
	b := mustOpen(t, left)
	if got, err := content(b); err != nil || got != want {
		t.Errorf("%v, read\n%.300s\nwant\n%.300s", err, got, want)
	}
}

func TestDiskFull(t *testing.T) {
	b := newBook(t)
	r := sample(t, b)
	pages := must(column[int](b.write, "PRAGMA page_count"))(t)[0]
	// max_page_count is the way to a full disk that SQLite documents: sqlite.org/rescode.html#full.
	if _, err := b.write.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+20)); err != nil {
		t.Fatal(err)
	}
	want := must(content(b))(t)
	_, err := b.Save(r.Vehicle, 1, Change{Text: "x", Files: []File{{"large", make([]byte, 1<<20)}}})
	isErr(t, err, func(e *DiskFull) bool { return e.Path == b.Path() })
	_, err = b.Create(Change{Name: "sample", Text: strings.Repeat("x", 1<<20)})
	isErr[*DiskFull](t, err, nil)
	if got := must(content(b))(t); got != want {
		t.Errorf("read\n%s\nwant\n%s", got, want)
	}
	must(b.Save(r.Vehicle, 1, Change{Text: "small"}))(t)
	if err := b.Check(); err != nil {
		t.Error(err)
	}
}

// A program was killed while it carried the log over: the first page, which is carried over first, counts pages that have not
// followed. The log has them.
func TestKilledWhileCarryingOver(t *testing.T) {
	path := put(t, closed(t))
	old := must(os.ReadFile(path))(t)
	b := mustOpen(t, path)
	r := must(b.Create(Change{Name: "sample", Text: strings.Repeat("later\n", 9000)}))(t)
	log := must(os.ReadFile(path + "-wal"))(t)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	const page = 4096
	left := put(t, slices.Concat(must(os.ReadFile(path))(t)[:page], old[page:]))
	isErr[*Damaged](t, untouched(t, left), nil)
	if err := os.WriteFile(left+"-wal", log, 0o666); err != nil {
		t.Fatal(err)
	}
	b = mustOpen(t, left)
	if got := must(b.Get(r.Vehicle))(t); !same(got, r) {
		t.Errorf("got %.200v", got)
	}
	if err := b.Check(); err != nil {
		t.Error(err)
	}
}

// TestFlips changes a few bytes anywhere: whatever opens gives no text and no file that was never written. (Names, times and marks
// have no digest: a changed letter of theirs may pass.) It stands in for long fuzzing, which takes a second for each file here.
func TestFlips(t *testing.T) {
	text := closed(t)
	written := map[string]bool{}
	was := mustOpen(t, put(t, text))
	eachText(was, func(text string) { written[text] = true })
	rng := rand.New(rand.NewPCG(8, 8))
	path := put(t, nil)
	counts := map[string]int{}
	for i := range 300 {
		bad := bytes.Clone(text)
		for range 1 + rng.IntN(8) {
			bad[rng.IntN(len(bad))] ^= byte(1 + rng.IntN(255))
		}
		if err := os.WriteFile(path, bad, 0o666); err != nil {
			t.Fatal(err)
		}
		b, err := Open(path)
		if err != nil {
			hasWord(t, err)
			counts["refused"]++
			if !bytes.Equal(bad, must(os.ReadFile(path))(t)) {
				t.Errorf("seed 8, 8, file %d: touched", i)
			}
			continue
		}
		if err := eachText(b, func(text string) {
			if !written[text] {
				t.Errorf("seed 8, 8, file %d: read %.100q", i, text)
			}
		}); err != nil {
			hasWord(t, err)
			counts["found on reading"]++
		} else {
			counts["no text changed"]++
		}
		if err := b.Close(); err != nil {
			hasWord(t, err)
		}
	}
	t.Log(counts)
	if counts["refused"] < 20 || counts["found on reading"] < 20 {
		t.Errorf("the bytes hardly reach anything: %v", counts)
	}
}

// eachText calls f with the text and files of all revisions that can be read.
func eachText(b *Book, f func(string)) error {
	vs, all := b.Vehicles()
	for _, v := range vs {
		history, err := b.History(v.ID)
		all = errors.Join(all, err)
		for _, h := range history {
			r, err := b.GetRevision(v.ID, h.No)
			if err != nil {
				all = errors.Join(all, err)
				continue
			}
			f(r.Text)
			for _, file := range r.Files {
				f(string(file))
			}
		}
	}
	return all
}
