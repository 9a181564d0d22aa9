package peer

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// A vehicle from nothing to its pack, with a hand's means only: keys, mouse, the browser's own downloads. In the end the
// pack holds the very bytes that the command line makes of the job.
func TestBenchFromNothing(t *testing.T) {
	address := openBench(t, nil)
	v := visit(t, chromium(t), address)
	write(t, v, "#name", "Hill climber (sample)")
	press(t, v, `input[name=units][value=mm]`)
	press(t, v, `form[action="/vehicles"] button`)
	reaches(t, v, 1)
	if got := ask[string](t, v, `document.querySelector("h1").textContent`); got != "Hill climber (sample)" {
		t.Errorf("the new vehicle is headed %q", got)
	}
	addPanel(t, v)
	surveyPanel(t, v)
	planPanel(t, v, address)
	dragStation(t, v, address)
	tickCard(t, v, address)
	comparePack(t, v, address)
	say(t, v.complaints())
}

// addPanel fills in the form of a new panel: inches, millimetres and gauges beside each other.
func addPanel(t *testing.T, v *viewer) {
	t.Helper()
	fillPanel(t, v, "Engine lid", "23-5/8 in", "400 mm", "2.5 mm", "16 swg", "1-1/2 in")
	reaches(t, v, 2)
}

// fillPanel types a new panel of glass fibre on aluminium into the form of a vehicle's page, and sends it.
func fillPanel(t *testing.T, v *viewer, values ...string) {
	t.Helper()
	const form = `form[action$="/panels"] `
	for i, field := range []string{"name", "along", "across", "outer-thickness", "inner-thickness", "width"} {
		write(t, v, fmt.Sprintf("%s[name=%q]", form, field), values[i])
	}
	run(t, v, chromedp.SetValue(form+"[name=outer]", "grp_csm30"))
	run(t, v, chromedp.SetValue(form+"[name=inner]", "al5754h22"))
	press(t, v, form+"button")
}

// surveyPanel makes faults on the survey's page, sees each beside its field while typing and after saving, and mends them.
func surveyPanel(t *testing.T, v *viewer) {
	t.Helper()
	beside := func(field string) string {
		return fmt.Sprintf(`(document.querySelector(%q)?.textContent ?? "")`, "#"+field+"-faults")
	}
	const radius, thick = "f-outline-corner-radius", "f-inner-thickness"
	for field, wrong := range map[string]string{radius: "25 furlongs", thick: "16 wsg"} {
		write(t, v, "#"+field, wrong)
		wait(t, v, "a fault beside "+field, beside(field)+` !== "" && !document.querySelector("#bad").hidden`)
	}
	press(t, v, `.save-bar button`)
	reaches(t, v, 3) // a survey in work is kept with its faults
	for _, field := range []string{radius, thick} {
		if ask[string](t, v, beside(field)) == "" {
			t.Errorf("saved, %s stands without its fault", field)
		}
	}
	write(t, v, "#"+radius, "25")
	write(t, v, "#"+thick, "16 swg")
	wait(t, v, "mended faults gone", `!document.querySelector("[data-faults] p") && document.querySelector("#bad").hidden`)
	press(t, v, `.save-bar button`)
	reaches(t, v, 4)
	if ask[bool](t, v, `!document.querySelector("#good") || document.querySelector("#good").hidden`) {
		t.Error("mended and saved, the survey still has faults")
	}
}

// planPanel looks at the vehicle until it is planned.
func planPanel(t *testing.T, v *viewer, address string) {
	t.Helper()
	run(t, v, chromedp.Navigate(address+"v/1/"))
	wait(t, v, "the plan", `document.readyState === "complete" && !document.querySelector("[data-run]") && !!document.querySelector(".card .tally")`)
}

// dragStation slides a station with the mouse, then takes that back and does it again.
func dragStation(t *testing.T, v *viewer, address string) {
	t.Helper()
	at := address + "v/1/p/engine-lid/setout"
	run(t, v, chromedp.Navigate(at))
	wait(t, v, "the scene", `document.readyState === "complete" && !!document.querySelector("#scene .station")`)
	const places = `[...document.querySelectorAll("#scene .station")].map((s) => s.getAttribute("transform")).join()`
	const pinned = `[...document.querySelectorAll("tr[data-row] th .soft")].filter((e) => e.textContent === "pinned").length`
	before, n := ask[string](t, v, places), ask[int](t, v, `document.querySelectorAll("#scene .station").length`)
	if k := ask[int](t, v, pinned); k != 0 || n < 4 {
		t.Fatalf("%d stations, %d pinned, before one was moved", n, k)
	}
	x, y := spot(t, v, `#scene .station[data-station="0"] .ring`)
	mouse(t, v, input.DispatchMouseEventTypeMousePressed, x, y)
	wait(t, v, "the station taken up", `document.querySelector("#said").textContent.includes("drag it")`)
	for i := 1; i <= 12; i++ { // to the right along its edge and a little inwards
		mouse(t, v, input.DispatchMouseEventTypeMouseMoved, x+float64(5*i), y-float64(i))
		time.Sleep(10 * time.Millisecond)
	}
	wait(t, v, "figures of the moved station", `benchTimings.length > 0 && document.querySelector("[data-live=where]").textContent !== "as planned"`)
	mouse(t, v, input.DispatchMouseEventTypeMouseReleased, x+60, y-12)
	reaches(t, v, 5)
	wait(t, v, "the scene", `!!document.querySelector("#scene .station")`)
	after := ask[string](t, v, places)
	if k := ask[int](t, v, pinned); k != n {
		t.Errorf("%d of %d stations are pinned after one was moved", k, n)
	}
	if a, b := strings.Split(before, "translate"), strings.Split(after, "translate"); len(a) != len(b) || a[1] == b[1] || len(a) > 2 && a[2] != b[2] {
		t.Errorf("station 1 should have moved, and no other: %s, then %s", before, after)
	}
	for i, c := range []struct{ way, want string }{{"undo", before}, {"redo", after}} {
		press(t, v, fmt.Sprintf(`form[action$="/%s"] button`, c.way))
		wait(t, v, c.way, fmt.Sprintf(`document.readyState === "complete" && %s !== %d && !!document.querySelector("#scene .station")`, revision, 5-i))
		if got := ask[string](t, v, places); got != c.want {
			t.Errorf("%s leads to %s, want %s", c.way, got, c.want)
		}
	}
}

// tickCard ticks boxes and writes a reading, and finds them after a reload.
func tickCard(t *testing.T, v *viewer, address string) {
	t.Helper()
	run(t, v, chromedp.Navigate(address+"v/1/p/engine-lid/card"))
	wait(t, v, "the card", `document.readyState === "complete" && document.querySelectorAll(".card-form input[type=checkbox]").length > 3`)
	names := ask[[]string](t, v, `[...document.querySelectorAll(".card-form input[type=checkbox]")].slice(0, 3).map((b) => b.name)`)
	for _, name := range names {
		press(t, v, fmt.Sprintf(`.card-form input[name=%q]`, name))
		wait(t, v, "the tick kept", `document.querySelector("#kept").textContent.startsWith("✓")`)
	}
	run(t, v, chromedp.Reload())
	wait(t, v, "the card again", `document.readyState === "complete" && document.querySelectorAll(".card-form input[type=checkbox]").length > 3`)
	if got := ask[[]string](t, v, `[...document.querySelectorAll(".card-form input[type=checkbox]:checked")].map((b) => b.name)`); strings.Join(got, " ") != strings.Join(names, " ") {
		t.Errorf("ticked %q, after a reload %q are", names, got)
	}
}

// comparePack has the browser keep the pack and the job, and plans the job with the command line.
func comparePack(t *testing.T, v *viewer, address string) {
	t.Helper()
	dir := t.TempDir()
	yes := true
	_, err := chromedp.CallBrowser(v.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir, EventsEnabled: &yes})
	if err != nil {
		t.Fatal(err)
	}
	run(t, v, chromedp.Navigate(address+"v/1/"))
	wait(t, v, "the plan", `document.readyState === "complete" && !!document.querySelector("a[href$='pack.zip']")`)
	files := map[string]map[string][]byte{}
	for _, name := range []string{"pack.zip", "job.zip"} {
		press(t, v, fmt.Sprintf(`a[href$=%q]`, name))
		files[name] = unzipped(t, filepath.Join(dir, name))
	}
	job := t.TempDir()
	for name, data := range files["job.zip"] {
		if err := os.WriteFile(filepath.Join(job, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	// 1 says that something does not hold, or is not known: the pack is written all the same.
	if out, err := runIn(job, command(), "plan", "job.yaml", "--out", "pack"); err != nil && !strings.Contains(err.Error(), "exit status 1") {
		t.Fatalf("%v\n%s", err, out)
	}
	made, err := filepath.Glob(filepath.Join(job, "pack", "*"))
	if err != nil || len(made) < 10 || len(made) != len(files["pack.zip"]) {
		t.Errorf("the command line makes %d files, the bench %d, %v", len(made), len(files["pack.zip"]), err)
	}
	for _, file := range made {
		want, err := os.ReadFile(file)
		if got := files["pack.zip"][filepath.Base(file)]; err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s: %d bytes by the command line, %d by the bench, not the same; %v", filepath.Base(file), len(want), len(got), err)
		}
	}
}

// unzipped waits for a download and reads it.
func unzipped(t *testing.T, path string) map[string][]byte {
	t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(30 * time.Millisecond) {
		if _, err := os.Stat(path); err == nil {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("%s never came", path)
		}
	}
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	files := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return files
}
