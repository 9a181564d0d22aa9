package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// newPanelOf is a form of a new panel as the page sends it.
func newPanelOf(rev, name string) url.Values {
	return url.Values{"rev": {rev}, "name": {name}, "along": {"600"}, "across": {"400"}, "outer": {"grp_csm30"}, "outer-thickness": {"2.5 ± 0.2 mm"},
		"inner": {"al5754h22"}, "inner-thickness": {"1.5 mm"}, "width": {"36"}}
}

// A name that gives a panel the address of another is refused beside its field, when it is added and when it is renamed.
func TestTwinNamesAreRefused(t *testing.T) {
	b := newTestBench(t)
	id := b.add("x", "job: { name: x, units: mm, drills: any size }\n")
	b.post("/v/1/panels", newPanelOf("1", "Hood"))
	w := b.post("/v/1/panels", newPanelOf("2", "hood!"))
	page := w.Body.String()
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, "the panel &#34;Hood&#34; has this name already") || !strings.Contains(page, `value="hood!"`) {
		t.Fatal(w.Code, page)
	}
	b.post("/v/1/panels", newPanelOf("2", "Roof"))
	form := formIn(t, b.get("/v/1/p/roof/survey").Body.String())
	form.Set("f.name", "HOOD")
	w = b.post("/v/1/p/roof/survey", form)
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "the panel &#34;Hood&#34; has this name already") {
		t.Fatal(w.Code, w.Body)
	}
	if v, _ := b.book.Get(context.Background(), id); v.Number != 3 || b.get("/v/1/p/roof/survey").Code != http.StatusOK {
		t.Error(v.Number, v.Text)
	}
	bad := newPanelOf("3", "Door")
	bad.Set("inner-thickness", "thick")
	w = b.post("/v/1/panels", bad)
	_, after, _ := strings.Cut(w.Body.String(), `id="p-inner-thickness-faults">`)
	if w.Code != http.StatusUnprocessableEntity || !strings.HasPrefix(after, "<p>") {
		t.Error(w.Code, w.Body)
	}
}
