package book

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"panelwright/internal/outside"
)

func TestCopy(t *testing.T) {
	b := mustOpen(t, put(t, closed(t)))
	want := must(content(b))(t)
	var sent bytes.Buffer
	if err := b.Copy(&sent); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "copy.book")
	if err := b.CopyTo(path); err != nil {
		t.Fatal(err)
	}
	isErr(t, b.CopyTo(path), func(e *Exists) bool { return e.Path == path })
	for _, p := range []string{path, put(t, sent.Bytes())} {
		before := folder(t, p)
		if len(before) != 1 {
			t.Errorf("beside the copy: %v", before)
		}
		if got, err := content(mustOpen(t, p)); err != nil || got != want {
			t.Errorf("%v, read\n%.300s\nwant\n%.300s", err, got, want)
		}
	}
	isErr[*NoFolder](t, b.CopyTo(filepath.Join(t.TempDir(), "no", "copy.book")), nil)
	if err := b.Copy(failing{}); !errors.Is(err, io.ErrShortWrite) {
		t.Errorf("got %v", err)
	}
	for name := range folder(t, b.Path()) {
		if strings.HasSuffix(name, ".tmp") {
			t.Errorf("left behind: %s", name)
		}
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

// Two vehicles are always changed one after the other; so a copy that is one state of the book has them at most one apart.
func TestCopyWhileInUse(t *testing.T) {
	b := newBook(t)
	first, second := sample(t, b), sample(t, b)
	done := make(chan bool)
	var wg sync.WaitGroup
	wg.Go(func() {
		for no := 1; ; no++ {
			select {
			case <-done:
				return
			default:
			}
			for _, r := range []Revision{first, second} {
				if _, err := b.Save(r.Vehicle, no, Change{Text: strings.Repeat("x", no*50)}); err != nil {
					t.Error(err)
					return
				}
			}
		}
	})
	last := 0
	for range 15 {
		var sent bytes.Buffer
		if err := b.Copy(&sent); err != nil {
			t.Fatal(err)
		}
		c := mustOpen(t, put(t, sent.Bytes()))
		one, two := must(c.Vehicle(first.Vehicle))(t), must(c.Vehicle(second.Vehicle))(t)
		if d := one.Head - two.Head; d != 0 && d != 1 || one.Head < last {
			t.Errorf("heads %d and %d after %d", one.Head, two.Head, last)
		}
		last = one.Head
		if err := c.Check(); err != nil {
			t.Error(err)
		}
		c.Close()
	}
	close(done)
	wg.Wait()
	if last < 2 {
		t.Errorf("nothing was written meanwhile: head %d", last)
	}
}

func TestImport(t *testing.T) {
	b := newBook(t)
	sample(t, b)
	old := put(t, must(os.ReadFile(version1File))(t))
	before := folder(t, old)
	added := must(b.ImportBook(old))(t)
	if after := folder(t, old); len(after) != 1 || !bytes.Equal(before["bench.book"], after["bench.book"]) {
		t.Error("the other book has changed")
	}
	if len(added) != 2 || added[0].ID != 2 || added[0].Redo != 2 || added[1].Name != "sample van" || !added[1].Archived {
		t.Errorf("added %+v", added)
	}
	other := mustOpen(t, old)
	for i, v := range added {
		got := must(b.History(v.ID))(t)
		if want := must(other.History(int64(i) + 1))(t); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("history %v, want %v", got, want)
		}
		if got, want := must(b.MarkLog(v.ID))(t), must(other.MarkLog(int64(i)+1))(t); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("log %v, want %v", got, want)
		}
	}
	if r := must(b.GetRevision(2, 2))(t); r.Text != "job: sample, changed\n" || r.Vehicle != 2 {
		t.Errorf("got %v", r)
	}
	must(b.Save(2, 1, Change{Text: "goes on"}))(t)
	if err := b.Check(); err != nil {
		t.Error(err)
	}
	if again := must(b.ImportBook(b.Path()))(t); len(again) != 3 { // itself, while it is open
		t.Errorf("added %v", again)
	}
}

func TestImportIsWholeOrNothing(t *testing.T) {
	b := newBook(t)
	sample(t, b)
	want := must(content(b))(t)
	text := closed(t)
	at := bytes.LastIndex(text, bytes.Repeat([]byte{1, 2}, 1000))
	text[at] = 3 // in a file, where only its digest shows it
	bad := put(t, text)
	_, err := b.ImportBook(bad)
	isErr(t, err, func(e *Damaged) bool { return e.Path == bad })
	_, err = b.ImportBook(put(t, nil))
	isErr[*NotABook](t, err, nil)
	_, err = b.ImportBook(filepath.Join(t.TempDir(), "none.book"))
	isErr[*NotABook](t, err, nil)
	if _, err := b.write.Exec(`CREATE TEMP TRIGGER t BEFORE INSERT ON main.mark_log BEGIN SELECT RAISE(ABORT, 'cut'); END`); err != nil {
		t.Fatal(err)
	}
	if _, err = b.ImportBook(put(t, closed(t))); err == nil || !strings.Contains(err.Error(), "cut") {
		t.Errorf("got %v", err)
	}
	if _, err := b.write.Exec(`DROP TRIGGER t`); err != nil {
		t.Fatal(err)
	}
	if got := must(content(b))(t); got != want {
		t.Errorf("read\n%s\nwant\n%s", got, want)
	}
	if got := must(b.ImportBook(put(t, closed(t))))(t); len(got) != 3 { // nothing is still attached
		t.Errorf("added %v", got)
	}
}

// A name that would lead out of a folder does not come in with a book, though no book of ours has one.
func TestImportNames(t *testing.T) {
	other := newBook(t)
	r := sample(t, other)
	if _, err := other.write.Exec("INSERT INTO file SELECT vehicle, no, '../../evil', digest FROM file"); err != nil {
		t.Fatal(err)
	}
	if len(must(other.Get(r.Vehicle))(t).Files) != 2 {
		t.Fatal("not doctored")
	}
	_, err := newBook(t).ImportBook(other.Path())
	isErr[*Damaged](t, err, nil)
}

const readByPython = `
import sqlite3, hashlib, json, sys
d = sqlite3.connect(sys.argv[1])
bad = [x.hex() for x, b in d.execute("SELECT digest, bytes FROM blob") if hashlib.sha256(b).digest() != x]
print(json.dumps({
  "check": [r[0] for r in d.execute("PRAGMA integrity_check")] + bad,
  "version": d.execute("PRAGMA user_version").fetchone()[0],
  "application": d.execute("PRAGMA application_id").fetchone()[0],
  "texts": {"%d/%d" % (v, n): b.hex() for v, n, b in d.execute("SELECT vehicle, no, bytes FROM revision JOIN blob ON text = digest")},
}))`

// What is written is read by another program: Python's own sqlite3 and hashlib.
func TestReadByOthers(t *testing.T) {
	const python = "/usr/bin/python3"
	outside.Need(t, python)
	b := mustOpen(t, put(t, closed(t)))
	path := filepath.Join(t.TempDir(), "copy.book")
	if err := b.CopyTo(path); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, "-c", readByPython, path).Output()
	if err != nil {
		outside.Missing(t, "sqlite3 in Python", err.Error())
	}
	var read struct {
		Check                []string
		Version, Application int
		Texts                map[string]string
	}
	if err := json.Unmarshal(out, &read); err != nil {
		t.Fatal(err)
	}
	if len(read.Check) != 1 || read.Check[0] != "ok" || read.Version != len(known().steps) || read.Application != applicationID || len(read.Texts) != 6 {
		t.Errorf("read %.500s", out)
	}
	for _, v := range must(b.Vehicles())(t) {
		for _, h := range must(b.History(v.ID))(t) {
			text := must(b.GetRevision(v.ID, h.No))(t).Text
			if got := read.Texts[fmt.Sprintf("%d/%d", v.ID, h.No)]; got != hex.EncodeToString([]byte(text)) {
				t.Errorf("vehicle %d revision %d: sha256 %x, read %.80s", v.ID, h.No, sha256.Sum256([]byte(text)), got)
			}
		}
	}
}
