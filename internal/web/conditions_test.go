package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// The conditions are set by their form: what was changed is written, what is wrong stands beside its field, what is emptied
// goes back to what is assumed.
func TestConditionsForm(t *testing.T) {
	b := newTestBench(t)
	id := b.add("x", smallJob("x"))
	w := b.post("/v/1/conditions", url.Values{"rev": {"1"}, "conditions.top speed": {"140 furlongs"}})
	_, after, _ := strings.Cut(w.Body.String(), `id="c-0-faults">`)
	if w.Code != http.StatusUnprocessableEntity || !strings.HasPrefix(after, "<p>") || !strings.Contains(w.Body.String(), `value="140 furlongs"`) {
		t.Fatal(w.Code, w.Body)
	}
	w = b.post("/v/1/conditions", url.Values{"rev": {"1"}, "conditions.top speed": {"140 mph"}, "conditions.acceleration.forward": {"1.5 g"},
		"job.record address": {"http://bench.local/p/{panel}"}, "conditions.torque.hand": {""}})
	v, _ := b.book.Get(context.Background(), id)
	j, good := readJob(v)
	if w.Code != http.StatusSeeOther || !good || j.Conditions.TopSpeed.Assumed || j.Conditions.AccelForward.Assumed || !strings.Contains(v.Text, "record address") || strings.Contains(v.Text, "torque") {
		t.Fatal(w.Code, v.Text)
	}
	b.post("/v/1/conditions", url.Values{"rev": {"2"}, "conditions.top speed": {""}})
	v, _ = b.book.Get(context.Background(), id)
	if j, _ := readJob(v); !j.Conditions.TopSpeed.Assumed || j.Conditions.AccelForward.Assumed {
		t.Error(v.Text)
	}
}
