package peer

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// The forms of our own pages are taken from a real browser, which says by itself where they come from; a tick is kept at once, and by
// the button where there is no script.
func TestBenchForms(t *testing.T) {
	browser := chromium(t)
	address := openBench(t, packs)
	fetch(t, address+"v/2/pack.zip") // its card is there when this is
	v := visit(t, browser, address)
	send := func(form, fill string) {
		t.Helper()
		run(t, v, chromedp.Evaluate[any](fmt.Sprintf(`{ window.old = true; const f = document.querySelector(%q); %s; f.requestSubmit(); }`, form, fill)))
		until(t, v, `!window.old && document.readyState === "complete"`)
	}
	send(`form[action="/vehicles"]`, `f.elements.name.value = "Trailer (sample)"`)
	if at := run(t, v, chromedp.Evaluate[string](`location.pathname + " " + document.querySelector("h1").innerText`)); at != fmt.Sprintf("/v/%d/ Trailer (sample)", len(packs)+1) {
		t.Fatalf("a new vehicle leads to %s", at)
	}
	panel := packs[1].plan.Panels[0]
	card := address + "v/2/p/" + panel.ID + "/card"
	box := fmt.Sprintf(`document.querySelector('[name="station %s: easy"]')`, panel.Stations[0].ID)
	if err := chromedp.Do(v.ctx, chromedp.Navigate(card)); err != nil {
		t.Fatal(err)
	}
	run(t, v, chromedp.Evaluate[any](box+`.click()`))
	until(t, v, `document.getElementById("kept").innerText.includes("✓")`)
	reload := func() bool {
		t.Helper()
		if err := chromedp.Do(v.ctx, chromedp.Navigate(card)); err != nil {
			t.Fatal(err)
		}
		return run(t, v, chromedp.Evaluate[bool](box+`.checked`))
	}
	if !reload() {
		t.Error("a tick is gone after a reload")
	}
	send("form.card-form", box+`.checked = false`) // set by a program: no script of the page hears of it
	if reload() {
		t.Error("what the button saved is not what stands")
	}
}

// until waits for a page to be as a script says.
func until(t *testing.T, v *viewer, script string) {
	t.Helper()
	for range 200 {
		if ok, err := chromedp.Run(v.ctx, chromedp.Evaluate[bool](script)); err == nil && ok {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("in ten seconds it is not so: %s", script)
}
