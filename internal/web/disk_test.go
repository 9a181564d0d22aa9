package web

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"panelwright/internal/book"
	"panelwright/internal/outside"
)

// Whatever is wrong with the book is told with what to do, and without a name of this machine; the log has that.
func TestTroubleWithTheBook(t *testing.T) {
	const secret = "/home/fitter/shop.book"
	for _, c := range []struct {
		err    error
		status int
		say    string // what to do
	}{
		{&book.DiskFull{Path: secret}, http.StatusInsufficientStorage, "Make room"},
		{&book.ReadOnly{Path: secret}, http.StatusServiceUnavailable, "must allow both"},
		{&book.Busy{Path: secret}, http.StatusServiceUnavailable, "try again"},
		{&book.Replaced{Path: secret}, http.StatusServiceUnavailable, "put it back"},
		{&book.Damaged{Path: secret, Found: "x"}, http.StatusInternalServerError, "stop the bench"},
		{&book.NotABook{Path: secret, Found: "x"}, http.StatusInternalServerError, "stop the bench"},
		{&book.DiskFailed{Path: secret, Err: errors.New("x")}, http.StatusInternalServerError, "Take a copy"},
		{&book.TooLarge{What: "text", Size: 9, Max: 8, Unit: "bytes"}, http.StatusRequestEntityTooLarge, "the book takes 8"},
	} {
		var log bytes.Buffer
		s := &server{Options: Options{Log: &log, Now: time.Now}}
		w := httptest.NewRecorder()
		s.showTrouble(w, send("GET", "/", "")(), told(fmt.Errorf("while saving: %w", c.err)))
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.say) || strings.Contains(w.Body.String(), "fitter") {
			t.Errorf("%T: %d: %s", c.err, w.Code, w.Body)
		}
		if c.status >= 500 && !strings.Contains(log.String(), secret) {
			t.Errorf("%T: the log has %q", c.err, log.String())
		}
	}
}

// The book's file is moved away under the bench: changes are refused and not acknowledged, and all is well when it is back.
func TestBookMovedAway(t *testing.T) {
	b := newTestBench(t)
	id := b.add("x", smallJob("x"))
	path := b.book.book.Path()
	if err := os.Rename(path, path+"-away"); err != nil {
		outside.Missing(t, "moving an open file", "is not possible here: "+err.Error())
	}
	change := url.Values{"rev": {"1"}, "text": {smallJob("y")}}
	if w := b.post("/v/1/text", change); w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "put it back") {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
	if err := os.Rename(path+"-away", path); err != nil {
		t.Fatal(err)
	}
	if w := b.post("/v/1/text", change); w.Code != http.StatusSeeOther {
		t.Errorf("back in its place: %d: %s", w.Code, w.Body)
	}
	if v, err := b.book.Get(t.Context(), id); err != nil || v.Number != 2 || v.Text != smallJob("y") {
		t.Error(v.Number, err)
	}
}

// pageSize is that of a book, bytes.
const pageSize = 4096

// Pages of the book's file are overwritten with noise while the bench is open. Each vehicle is then shown as it was, or not at all; what
// cannot be read is not written over.
func TestDamagedWhileOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.book")
	kept, err := book.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	const vehicles = 24
	text := func(i int) string {
		return smallJob(fmt.Sprint("sample ", i)) + strings.Repeat(fmt.Sprintf("# remark of sample %d\n", i), 8000)
	}
	for i := range vehicles {
		if _, err := kept.Create(book.Change{Name: fmt.Sprint("sample ", i), Text: text(i), When: "2026-05-04T10:20:30Z"}); err != nil {
			t.Fatal(err)
		}
	}
	if err := kept.Close(); err != nil {
		t.Fatal(err)
	}
	if kept, err = book.Open(path); err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	b := newTestBench(t, func(o *Options) { o.Book = kept })
	noise(t, path)
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	damaged := 0
	for i := range vehicles {
		w := b.get(fmt.Sprintf("/v/%d/text", i+1))
		switch {
		case w.Code == http.StatusOK && strings.Contains(w.Body.String(), text(i)):
		case w.Code == http.StatusInternalServerError && strings.Contains(w.Body.String(), "Nothing was written over"):
			damaged++
			change := url.Values{"rev": {"1"}, "text": {smallJob("new")}}
			if w := b.post(fmt.Sprintf("/v/%d/text", i+1), change); w.Code != http.StatusInternalServerError {
				t.Errorf("vehicle %d cannot be read, and a change of it has status %d", i+1, w.Code)
			}
		default:
			t.Errorf("vehicle %d: %d: %.300s", i+1, w.Code, w.Body)
		}
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the file was written to: %v", err)
	}
	if w := b.get("/book"); w.Code == http.StatusOK {
		t.Error("a damaged book is given as a copy")
	}
	if damaged == 0 || damaged == vehicles {
		t.Errorf("%d of %d vehicles are damaged: nothing is shown", damaged, vehicles)
	}
	if !strings.Contains(b.log.String(), path) {
		t.Errorf("the log does not say what to do: %.300s", b.log.String())
	}
}

// noise overwrites every fortieth page of a file from its middle on.
func noise(t *testing.T, path string) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for at := info.Size() / pageSize / 2; at < info.Size()/pageSize; at += 40 {
		page := make([]byte, pageSize)
		for i := range page {
			page[i] = byte(rng.Uint32())
		}
		if _, err := f.WriteAt(page, at*pageSize); err != nil {
			t.Fatal(err)
		}
	}
}
