package web

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"panelwright/internal/book"
	"panelwright/internal/outside"
)

// The disk under the book is full: a change is refused with 507 and what to do, all earlier ones are shown, and once there is room the
// same change is kept.
func TestDiskFull(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=4m"); err != nil {
		outside.Missing(t, "a small disk", "cannot be mounted here: "+err.Error())
	}
	t.Cleanup(func() { syscall.Unmount(dir, 0) })
	kept, err := book.Open(filepath.Join(dir, "bench.book"))
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	b := newTestBench(t, func(o *Options) { o.Book = kept })
	b.add("x", smallJob("x"))
	if w := b.post("/v/1/marks", url.Values{"panel": {"lid"}, "station 1: easy": {"yes"}}); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	stuff := filepath.Join(dir, "stuff")
	full := os.WriteFile(stuff, make([]byte, 8<<20), 0o666)
	if full == nil {
		t.Fatal("the disk is not small")
	}
	change := url.Values{"rev": {"1"}, "text": {smallJob("y") + strings.Repeat("# a long remark\n", 30000)}}
	for name, form := range map[string]url.Values{
		"/v/1/text": change, "/vehicles": {"name": {"another"}, "units": {"mm"}}, "/v/1/marks": {"panel": {"lid"}, "station 1: firm": {"yes"}},
	} {
		w := b.post(name, form)
		if name != "/v/1/text" && w.Code == http.StatusSeeOther {
			continue // what is small may still find room in the log
		}
		if w.Code != http.StatusInsufficientStorage || !strings.Contains(w.Body.String(), "Make room") || strings.Contains(w.Body.String(), dir) {
			t.Errorf("%s: %d: %s", name, w.Code, w.Body)
		}
	}
	if w := b.get("/book"); w.Code != http.StatusInsufficientStorage {
		t.Errorf("a copy without room: %d: %s", w.Code, w.Body)
	}
	if w := b.get("/v/1/text"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "name: x,") {
		t.Errorf("what was kept before is not shown: %d", w.Code)
	}
	if err := os.Remove(stuff); err != nil {
		t.Fatal(err)
	}
	if w := b.post("/v/1/text", change); w.Code != http.StatusSeeOther {
		t.Errorf("with room again: %d: %s", w.Code, w.Body)
	}
	if err := kept.Check(); err != nil {
		t.Error(err)
	}
	if marks, err := kept.Marks(1); err != nil || marks["card/lid/1/station 1: easy"].Value != "yes" {
		t.Error("the tick is lost", err)
	}
}
