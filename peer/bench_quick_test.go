package peer

import (
	"testing"

	"github.com/chromedp/cdproto/input"
)

// A drag that is over before the bench has said where the station may stand is kept, not lost; and a bench that does not answer is said,
// with the station back where it stood. The page's own fetch is made slow, then made to fail.
func TestBenchQuickDrag(t *testing.T) {
	address := openBench(t, packs[1:2])
	v := visit(t, chromium(t), address+"v/1/p/"+packs[1].plan.Panels[0].ID+"/setout")
	const ready = `document.readyState === "complete" && !!document.querySelector("#scene .station") && !!window.benchTimings`
	const place = `document.querySelector("#scene .station[data-station='0']").getAttribute("transform")`
	const ring = `#scene .station[data-station="0"] .ring`
	wait(t, v, "the scene", ready)
	before := ask[string](t, v, place)
	x, y := spot(t, v, ring)
	drag := func() {
		mouse(t, v, input.DispatchMouseEventTypeMousePressed, x, y)
		mouse(t, v, input.DispatchMouseEventTypeMouseMoved, x+60, y)
		mouse(t, v, input.DispatchMouseEventTypeMouseReleased, x+60, y)
	}
	ask[any](t, v, `window.trueFetch = window.fetch, window.fetch = () => Promise.reject(new TypeError("no network")), 0`)
	drag()
	wait(t, v, "the word of a bench that does not answer", `document.querySelector("#said").textContent.includes("does not answer")`)
	if now := ask[string](t, v, place); now != before {
		t.Errorf("without an answer station 1 stands at %s, not %s", now, before)
	}
	ask[any](t, v, `window.fetch = (...a) => new Promise((done) => setTimeout(done, 400)).then(() => trueFetch(...a)), 0`)
	drag()
	if now := ask[string](t, v, place); now != before {
		t.Fatalf("the station moved before the bench had answered: this tests nothing")
	}
	reaches(t, v, 2)
	wait(t, v, "the scene", ready)
	if now := ask[string](t, v, place); now == before {
		t.Errorf("a quick drag is lost: station 1 still stands at %s", now)
	}
	say(t, v.complaints())
}
