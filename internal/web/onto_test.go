package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// Two fitters on two panels do not collide: the later change goes onto the newest revision, and the page says so. On the same
// panel they do, and nothing is kept.
func TestChangesElsewhereDoNotCollide(t *testing.T) {
	b := newTestBench(t)
	id := b.add("x", "job: { name: x, units: mm, drills: any size }\n")
	b.post("/v/1/panels", newPanelOf("1", "Hood"))
	b.post("/v/1/panels", newPanelOf("2", "Roof"))
	hood, roof := formIn(t, b.get("/v/1/p/hood/survey").Body.String()), formIn(t, b.get("/v/1/p/roof/survey").Body.String())
	hood.Set("f.quantity", "2")
	roof.Set("f.quantity", "3")
	b.post("/v/1/p/hood/survey", hood)
	w := b.post("/v/1/p/roof/survey", roof)
	if w.Code != http.StatusSeeOther || !strings.Contains(b.get(w.Header().Get("Location")).Body.String(), "put onto revision 4, which changed elsewhere meanwhile") {
		t.Fatal(w.Code, w.Body)
	}
	w = b.post("/v/1/conditions", url.Values{"rev": {"3"}, "conditions.top speed": {"140 mph"}})
	v, _ := b.book.Get(context.Background(), id)
	j, _ := readJob(v)
	if w.Code != http.StatusSeeOther || j.Panels[0].Quantity != 2 || j.Panels[1].Quantity != 3 || j.Conditions.TopSpeed.Assumed {
		t.Fatal(w.Code, v.Text)
	}
	hood.Set("f.quantity", "5")
	if w := b.post("/v/1/p/hood/survey", hood); w.Code != http.StatusConflict {
		t.Error(w.Code, w.Body)
	}
	if w := b.post("/v/1/conditions", url.Values{"rev": {"3"}, "conditions.top speed": {"90 mph"}}); w.Code != http.StatusConflict {
		t.Error(w.Code, w.Body)
	}
	if now, _ := b.book.Get(context.Background(), id); now.Text != v.Text {
		t.Error(now.Text)
	}
}
