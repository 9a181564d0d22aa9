package peer

import (
	"context"
	_ "embed"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

//go:embed testdata/bench.js
var benchJS string

// thumb is the least height of what is pressed, px.
const thumb = 44

// benchSizes are a telephone, a tablet and a desk.
var benchSizes = []struct{ w, h int64 }{{360, 780}, {820, 1180}, {1440, 900}}

// benchPage is a page of the bench, and how to come to it.
type benchPage struct {
	name, path string
	begin      string // what to do there, in script
	then       string // what to wait for after that
	status     string // an answer of the server that is no complaint here
}

// Every page of the bench in a browser, on three sizes, by day and by night: no wider than its window, legible, all that is
// pressed as high as a thumb is broad, the focus seen, nothing serious found by axe-core; it asks for nothing from elsewhere and complains of nothing. With
// BENCH_SHOTS=FOLDER pictures of all are kept there.
func TestBenchPages(t *testing.T) {
	audited := axe(t)
	address := openBench(t, packs[:1])
	fetch(t, address+"v/1/pack.zip") // it is there when everything is planned and drawn
	eachBenchPage(t, address, func(t *testing.T, v *viewer, p benchPage) {
		ask[any](t, v, audited+"; 0")
		ask[any](t, v, pageJS)
		ask[any](t, v, benchJS)
		for _, scheme := range []string{"light", "dark"} {
			light(t, v, scheme)
			for _, size := range benchSizes {
				run(t, v, chromedp.EmulateViewport(size.w, size.h))
				settle(t, v)
				lookOver(t, v, fmt.Sprintf("%d × %d, %s", size.w, size.h, scheme))
				shoot(t, v, fmt.Sprintf("%s-%d-%s", p.name, size.w, scheme))
			}
			if audited != "" {
				auditPage(t, v, scheme)
			}
			found, seen := look[int](t, v, "contrast")
			for _, f := range found {
				t.Errorf("%s: %s", scheme, f)
			}
			if seen < 5 {
				t.Errorf("%s: only %d texts were seen", scheme, seen)
			}
		}
		tabThrough(t, v)
	})
}

// eachBenchPage opens each page in a tab of its own, and says what it complained of.
func eachBenchPage(t *testing.T, address string, test func(t *testing.T, v *viewer, p benchPage)) {
	browser := chromium(t)
	panel := "v/1/p/" + packs[0].plan.Panels[0].ID
	faulty := benchFaulty(t, browser, address)
	for _, p := range []benchPage{
		{name: "vehicles"}, {name: "vehicle", path: "v/1/"}, {name: "text", path: "v/1/text"}, {name: "history", path: "v/1/history"},
		{name: "range", path: "v/1/range"}, {name: "order", path: "v/1/order"}, {name: "prints", path: "v/1/prints"},
		{name: "survey", path: panel + "/survey"}, {name: "card", path: panel + "/card"}, {name: "settings", path: "settings"},
		{name: "setout", path: panel + "/setout", then: `!!document.querySelector("#scene")`},
		{name: "setout-pods", path: "v/1/p/" + packs[0].plan.Panels[1].ID + "/setout", then: `!!document.querySelector("#scene")`},
		{name: "enter", path: "enter"}, {name: "trouble", path: "no/such/page", status: "404"},
		{name: "faulty", path: faulty}, {name: "faulty-text", path: faulty + "text"}, {name: "faulty-survey", path: faulty + "p/lid/survey"},
		{name: "compare", path: faulty + "history?old=1&new=3"},
		{name: "refused-panel", path: faulty, status: "422", then: `!!document.querySelector("[role=alert]")`,
			begin: `for (const i of document.querySelectorAll("form[action$='/panels'] input:not([type=hidden])")) i.value = "40 furlong"; document.querySelector("form[action$='/panels'] button").click()`},
		{name: "changed", path: faulty + "text", status: "409", then: `document.querySelector("h1").textContent === "Changed meanwhile"`,
			begin: `document.querySelector("[name=rev]").value = 1; text.value = text.value.replace("450", "460"); document.querySelector(".text-form button").click()`},
	} {
		t.Run(p.name, func(t *testing.T) {
			v := visit(t, browser, address+p.path)
			if p.begin != "" {
				ask[any](t, v, p.begin)
			}
			if p.then != "" {
				wait(t, v, p.name, `document.readyState === "complete" && `+p.then)
			}
			test(t, v, p)
			for _, c := range v.complaints() {
				if p.status == "" || !strings.Contains(c, "responded with a status of "+p.status) {
					t.Error(c)
				}
			}
		})
	}
}

// benchFaulty makes a vehicle whose one panel has faults, in three revisions, and gives its address.
func benchFaulty(t *testing.T, browser context.Context, address string) string {
	t.Helper()
	v := visit(t, browser, address)
	write(t, v, "#name", `Trailer, "old" & <new> (sample)`)
	press(t, v, `form[action="/vehicles"] button`)
	reaches(t, v, 1)
	fillPanel(t, v, "Lid", "450", "12 in", "2.5 mm", "16 swg", "40 mm")
	reaches(t, v, 2)
	write(t, v, "#f-outer-thickness", "2.5 furlong")
	write(t, v, "#f-inner-thickness", "16 ± 1 stone")
	press(t, v, `.save-bar button`)
	reaches(t, v, 3)
	say(t, v.complaints())
	return strings.TrimPrefix(ask[string](t, v, `location.pathname.match(/^\/(v\/\d+\/)/)[1]`), "/")
}

// settle lets the page's own scripts answer to a new size.
func settle(t *testing.T, v *viewer) {
	t.Helper()
	const frames = `new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(true)))))`
	run(t, v, chromedp.Evaluate[bool](frames, chromedp.EvalAwaitPromise))
}

// lookOver finds what is too wide and what is too low.
func lookOver(t *testing.T, v *viewer, where string) {
	t.Helper()
	found, _ := look[int](t, v, "narrow")
	for _, f := range found {
		t.Errorf("%s: %s", where, f)
	}
	low := ask[struct {
		Found []string
		N     int
	}](t, v, fmt.Sprintf("targets(%d)", thumb))
	for _, f := range low.Found {
		t.Errorf("%s: %s", where, f)
	}
	if low.N == 0 {
		t.Errorf("%s: nothing to press was seen", where)
	}
}

// tabThrough goes from one thing to the next with the tabulator and looks where the focus is.
func tabThrough(t *testing.T, v *viewer) {
	t.Helper()
	const most = 30 // then the kinds of things of a page have come by
	call(t, v, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}, // scrolled there at once
	})
	been := map[string]bool{}
	for range most {
		run(t, v, chromedp.KeyEvent("\t"))
		f := ask[struct {
			At         string
			Shown, Low bool
		}](t, v, "focused()")
		if !f.Shown || f.Low {
			t.Errorf("the focus on %s is not seen (out of the window: %t)", f.At, f.Low)
		}
		been[f.At] = true
	}
	if len(been) < 3 {
		t.Errorf("the tabulator reaches only %d things", len(been))
	}
}

// shoot keeps a picture where BENCH_SHOTS says.
func shoot(t *testing.T, v *viewer, name string) {
	t.Helper()
	dir := os.Getenv("BENCH_SHOTS")
	if dir == "" {
		return
	}
	picture := run(t, v, chromedp.FullScreenshot(85))
	if err := os.WriteFile(filepath.Join(dir, name+".jpg"), picture, 0o644); err != nil {
		t.Fatal(err)
	}
}
