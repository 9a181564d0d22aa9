package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/job"
)

// A station is taken up, slid, let go and undone: each step a revision, the text changed at the panel's stations alone.
func TestSetoutMoves(t *testing.T) {
	b := newTestBench(t)
	text := example(t, "01-sprint")
	id := b.add("sprint", text)
	at := address(id, "p/nose-lid/")
	page := b.get(at + "setout")
	if page.Code != http.StatusOK || !strings.Contains(page.Body.String(), `data-station="11"`) {
		t.Fatalf("%d: %s", page.Code, page.Body)
	}
	for _, word := range []string{`class="tally"`, "x runs to the right from 9.22 mm", `class="axes"`} {
		if !strings.Contains(page.Body.String(), word) {
			t.Errorf("the page lacks %q", word)
		}
	}
	for _, inline := range []string{" style=", "<script>", "onclick"} {
		if strings.Contains(page.Body.String(), inline) {
			t.Errorf("the page has %q, which its policy forbids", inline)
		}
	}
	var places slidePlaces
	reply := b.post(at+"slide", url.Values{"rev": {"1"}, "station": {"2"}})
	if err := json.Unmarshal(reply.Body.Bytes(), &places); err != nil || len(places.Places) < 50 {
		t.Fatalf("%d, %v: %s", reply.Code, err, reply.Body)
	}
	k := places.At + 6
	var move slideReply
	reply = b.get(at + "slide?rev=1&station=2&k=" + strconv.Itoa(k))
	if err := json.Unmarshal(reply.Body.Bytes(), &move); err != nil || len(move.Wire) != 12 || move.GapText == "" || move.Loose != "" {
		t.Fatalf("%d, %v: %s", reply.Code, err, reply.Body)
	}
	done := b.post(at+"stations", url.Values{"rev": {"1"}, "do": {"move"}, "station": {"2"}, "k": {strconv.Itoa(k)}})
	if done.Code != http.StatusSeeOther {
		t.Fatalf("%d: %s", done.Code, done.Body)
	}
	v, err := b.book.Get(t.Context(), id)
	if err != nil || v.Number != 2 {
		t.Fatal(v.Number, err)
	}
	j, faults := job.Read("job.yaml", []byte(v.Text), nil)
	if len(faults) > 0 || len(j.Panels[0].Stations.Given) != 12 || j.Panels[0].Stations.Mode != "given" {
		t.Fatal(faults)
	}
	if was, now := strings.Count(text, "#"), strings.Count(v.Text, "#"); was != now {
		t.Errorf("%d remarks of %d are left", now, was)
	}
	for _, c := range []struct {
		form url.Values
		code int
	}{
		{url.Values{"rev": {"1"}, "do": {"remove"}, "station": {"3"}}, http.StatusConflict}, // made from what is no longer there
		{url.Values{"rev": {"2"}, "do": {"remove"}, "station": {"99"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"add"}, "x": {"9999"}, "y": {"1"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"nonsense"}, "station": {"1"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"add"}, "x": {"NaN"}, "y": {"1"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"add"}, "x": {"430"}, "y": {"1e999"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"nudge"}, "station": {"1"}, "by": {"NaN"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"nudge"}, "station": {"1"}, "by": {"Inf"}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"nudge"}, "station": {"1"}, "by": {""}}, http.StatusBadRequest},
		{url.Values{"rev": {"2"}, "do": {"nudge"}, "station": {"1"}, "by": {"-5/8 in"}}, http.StatusSeeOther},
		{url.Values{"rev": {"3"}, "do": {"add"}, "x": {"17 in"}, "y": {"600"}}, http.StatusSeeOther},
		{url.Values{"rev": {"4"}, "do": {"unpin"}}, http.StatusSeeOther},
	} {
		if got := b.post(at+"stations", c.form); got.Code != c.code {
			t.Errorf("%v: %d, want %d: %.300s", c.form, got.Code, c.code, got.Body)
		}
	}
	v, _ = b.book.Get(t.Context(), id)
	if j, faults := job.Read("job.yaml", []byte(v.Text), nil); len(faults) > 0 || j.Panels[0].Stations.Mode == "given" {
		t.Error("unpinned, and still given", faults)
	}
	for _, bad := range []string{"slide?rev=9&station=2&k=1", "slide?rev=5&station=-1&k=1", "slide?rev=5&station=2&k=99999"} {
		if got := b.get(at + bad); got.Code < 400 || got.Code > 499 {
			t.Errorf("%s: %d", bad, got.Code)
		}
	}
	if got := b.get(address(id, "p/no-such/setout")); got.Code != http.StatusNotFound {
		t.Errorf("no such panel: %d", got.Code)
	}
}
