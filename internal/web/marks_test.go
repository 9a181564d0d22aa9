package web

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// wasOf is what a card's page says of the marks that it shows.
func wasOf(t *testing.T, page string) string {
	t.Helper()
	m := regexp.MustCompile(`name="was" value="([^"]*)"`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("the page does not say what stands in it")
	}
	return html.UnescapeString(m[1])
}

// cardBench is a bench with the card of a small lid, planned.
func cardBench(t *testing.T) (b *testBench, page func() string, save func(was string, pairs ...string) (int, string)) {
	b = newTestBench(t)
	b.add("Lid", smallJob("Lid"))
	b.planned(1)
	page = func() string { return b.get("/v/1/p/lid/card").Body.String() }
	save = func(was string, pairs ...string) (int, string) {
		form := url.Values{"panel": {"lid"}, "piece": {"1"}, "whole": {"yes"}, "was": {was}}
		for i := 0; i+1 < len(pairs); i += 2 {
			form.Set(pairs[i], pairs[i+1])
		}
		w := b.post("/v/1/marks", form)
		return w.Code, w.Body.String()
	}
	return b, page, save
}

// Two tablets have one card open: each writes what it changed and nothing else. Where both changed the same box, neither is lost.
func TestMarksOfTwo(t *testing.T) {
	_, page, save := cardBench(t)
	const firm, easy, stack, depth = "station 1: firm", "station 2: easy", "station 1: stack found", "station 1: depth found"
	save("{}", firm, "yes")
	a, b := wasOf(t, page()), wasOf(t, page())
	if code, body := save(b, firm, "yes", easy, "yes", stack, "2.75"); code != http.StatusSeeOther {
		t.Fatal(code, body)
	}
	if code, body := save(a, depth, "3.5", stack, ""); code != http.StatusSeeOther { // firm taken off
		t.Fatal(code, body)
	}
	now := page()
	for _, want := range []string{`name="` + easy + `" checked`, `name="` + stack + `" value="2.75"`, `name="` + depth + `" value="3.5"`} {
		if !strings.Contains(now, want) {
			t.Errorf("lost: %s", want)
		}
	}
	if strings.Contains(now, `name="`+firm+`" checked`) {
		t.Error("a tick that was taken off stands")
	}
	code, body := save(a, firm, "yes", stack, "2.9", depth, "3.5")
	if code != http.StatusConflict || !strings.Contains(body, "wrote “2.75” here") || !strings.Contains(body, `name="`+stack+`" value="2.9"`) {
		t.Errorf("both changed the same box: %d", code)
	}
	if !strings.Contains(page(), `name="`+stack+`" value="2.75"`) {
		t.Error("theirs was overwritten")
	}
	if code, _ = save(wasOf(t, body), easy, "yes", firm, "yes", stack, "2.9", depth, "3.5"); code != http.StatusSeeOther || !strings.Contains(page(), `value="2.9"`) {
		t.Errorf("saved again: %d", code)
	}
}

// A signature and readings say when the plan has changed since, and are as they were when it comes back; none goes with its station.
func TestMarksOfOlderPlan(t *testing.T) {
	b, page, save := cardBench(t)
	if code, body := save("{}", "trial: signed", "Sample", "station 1: stack found", "2.75", "rev", "1"); code != http.StatusSeeOther {
		t.Fatal(code, body)
	}
	const since = " at revision 1, the plan has changed since (revision 2)"
	if strings.Contains(page(), "changed since") {
		t.Error("nothing has changed yet")
	}
	b.post("/v/1/text", url.Values{"rev": {"1"}, "text": {strings.Replace(smallJob("Lid"), "[600, 400]", "[640, 400]", 1)}})
	b.planned(1)
	if now := page(); !strings.Contains(now, "signed"+since) {
		t.Error("the signature says nothing of the new plan")
	}
	save(wasOf(t, page()), "trial: signed", "Sample", "station 1: stack found", "2.75", "trial: date", "today", "rev", "1")
	if now := page(); !strings.Contains(now, `value="today"`) || strings.Count(now, "written"+since) == 0 {
		t.Error("what was written on an older page passes for new")
	}
	b.post("/v/1/undo", url.Values{"rev": {"2"}})
	b.planned(1)
	if strings.Contains(page(), "signed at revision") {
		t.Error("the plan is as it was signed")
	}
}

// A renamed panel keeps its marks, by undo and redo too, and those of an earlier panel of the new name are not lost.
func TestMarksOfRenamed(t *testing.T) {
	b, page, save := cardBench(t)
	save("{}", "trial: signed", "Sample A")
	if err := b.book.SetMarks(t.Context(), 1, cardName("cover", 1), map[string]string{"trial: date": "of the cover that was"}, 0, nil, "t"); err != nil {
		t.Fatal(err)
	}
	shows := func(id, step string) {
		t.Helper()
		b.planned(1)
		if body := b.get("/v/1/p/" + id + "/card").Body.String(); !strings.Contains(body, `value="Sample A"`) || strings.Contains(body, "cover that was") {
			t.Errorf("%s: the card of %s does not have its marks", step, id)
		}
	}
	older := wasOf(t, page())
	b.post("/v/1/text", url.Values{"rev": {"1"}, "text": {strings.Replace(smallJob("Lid"), "- name: Lid", "- name: Cover", 1)}})
	shows("cover", "renamed")
	if code, body := save(older, "trial: signed", "Sample A", "station 1: depth found", "3.5", "rev", "1"); code != http.StatusSeeOther || !strings.Contains(b.get("/v/1/p/cover/card").Body.String(), `value="3.5"`) {
		t.Errorf("a page of before the new name: %d %s", code, body)
	}
	b.post("/v/1/undo", url.Values{"rev": {"2"}})
	shows("lid", "undone")
	if m, err := b.book.Marks(t.Context(), 1, cardName("cover", 1)); err != nil || m["trial: date"] != "of the cover that was" {
		t.Error("the marks of another panel are lost", m, err)
	}
	b.post("/v/1/redo", url.Values{"rev": {"1"}})
	shows("cover", "done again")
}

// What is no reading is refused beside its box, kept on the page, and all else is saved; a box that the card does not have is refused.
func TestMarksRefused(t *testing.T) {
	b, page, save := cardBench(t)
	const stack, depth, shims = "station 1: stack found", "station 1: depth found", "station 1: shims used"
	code, body := save("{}", stack, "2,75 mm <b>", depth, "2,75", shims, "two", "station 2: easy", "yes", "no such box", "x")
	for _, want := range []string{`name="` + stack + `" value="2,75 mm &lt;b&gt;"`, "is no length: accepted are millimetres up to 500", "is no number of shims", "no such box: “x” is not kept"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %s", want)
		}
	}
	m, err := b.book.Marks(t.Context(), 1, cardName("lid", 1))
	if code != http.StatusConflict || err != nil || len(m) != 2 || m[depth] != "2,75" || m["station 2: easy"] != "yes" {
		t.Error(code, m, err)
	}
	for _, ok := range []string{"2.75", "2,75 mm", "0", "3/32 in", "2.75mm"} {
		if code, _ := save(wasOf(t, page()), stack, ok, depth, "2,75", "station 2: easy", "yes"); code != http.StatusSeeOther {
			t.Errorf("%q is refused", ok)
		}
	}
	for _, bad := range []string{"-1", "1,234,5", "900", "about 3", "NaN"} {
		if code, _ := save(wasOf(t, page()), stack, bad, depth, "2,75", "station 2: easy", "yes"); code != http.StatusConflict {
			t.Errorf("%q is taken", bad)
		}
	}
}
