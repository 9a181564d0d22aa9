package peer

import (
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Keys alone, from the top of the page: a station moved on the set-out page, a radius written on the survey page, both kept.
func TestBenchByKeys(t *testing.T) {
	address := openBench(t, packs[:1])
	panel := address + "v/1/p/" + packs[0].plan.Panels[2].ID
	v := visit(t, chromium(t), panel+"/setout")
	const ready = `document.readyState === "complete" && `
	wait(t, v, "the scene", ready+`!!document.querySelector("#scene .station") && !!window.benchTimings`)
	run(t, v, chromedp.EmulateViewport(820, 1180))
	const place = `document.querySelector("#scene .station[data-station='1']").getAttribute("transform")`
	before := ask[string](t, v, place)
	tabTo(t, v, `document.activeElement.dataset.station === "1"`)
	for i := 1; i <= 4; i++ {
		run(t, v, chromedp.KeyEvent(kb.ArrowRight))
		answered(t, v, i)
	}
	run(t, v, chromedp.KeyEvent(kb.Escape))
	if got := ask[string](t, v, place); got != before {
		t.Errorf("Escape leaves the station at %s, it was at %s", got, before)
	}
	run(t, v, chromedp.KeyEvent(kb.ArrowLeft))
	answered(t, v, 5)
	run(t, v, chromedp.KeyEvent(kb.Enter))
	reaches(t, v, 2)
	wait(t, v, "the scene", `!!document.querySelector("#scene .station")`)
	if got := ask[string](t, v, place); got == before {
		t.Errorf("moved and let go with Enter, the station is still at %s", got)
	}

	run(t, v, chromedp.Navigate(panel+"/survey"))
	wait(t, v, "the survey", ready+`!!document.querySelector("#survey")`)
	tabTo(t, v, `document.activeElement.id === "f-outer-thickness"`)
	run(t, v, chromedp.KeyEvent("3/32 in")) // what stood there is marked when the tabulator comes to a field
	run(t, v, chromedp.KeyEvent(kb.Enter))
	reaches(t, v, 3)
	if got := ask[string](t, v, `document.querySelector("#f-outer-thickness").value`); got != "3/32 in" {
		t.Errorf("kept by Enter, the thickness is %q", got)
	}
	say(t, v.complaints())
}

// tabTo presses the tabulator until what has the focus is what is wanted.
func tabTo(t *testing.T, v *viewer, wanted string) {
	t.Helper()
	const most = 200 // more than any page of the bench has
	for range most {
		run(t, v, chromedp.KeyEvent(kb.Tab))
		if ask[bool](t, v, wanted) {
			return
		}
	}
	t.Fatalf("the tabulator never comes to where %s", wanted)
}
