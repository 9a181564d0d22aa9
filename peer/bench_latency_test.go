package peer

import (
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// How long it takes from a station's move to its figures on the screen, measured in the page: by arrow keys and by mouse, sixty
// places each, on the nose lid with its twelve stations. Times are told, not judged: what the machine does besides is not ours.
// scripts/bench-latency.sh prints them as a table.
func TestBenchLatency(t *testing.T) {
	address := openBench(t, packs[:1])
	v := visit(t, chromium(t), address+"v/1/p/"+packs[0].plan.Panels[0].ID+"/setout")
	run(t, v, chromedp.EmulateViewport(1440, 900))
	wait(t, v, "the scene", `document.readyState === "complete" && !!document.querySelector("#scene .station") && !!window.benchTimings`)
	if n := ask[int](t, v, `document.querySelectorAll("#scene .station").length`); n != 12 {
		t.Errorf("the nose lid has %d stations, want 12", n)
	}
	const moves = 60
	for _, way := range []struct {
		name string
		move func(station string)
	}{
		{"arrow keys", func(station string) { moveByKeys(t, v, station, moves) }},
		{"mouse", func(station string) { moveByMouse(t, v, station, moves) }},
	} {
		for _, station := range []string{"1", "5", "9"} { // on three edges
			ask[any](t, v, `benchTimings.length = 0`)
			before := time.Now()
			way.move(station)
			ready := time.Since(before)
			times := ask[[]float64](t, v, `benchTimings`)
			if len(times) < moves/2 { // quicker than it is answered, a move is overtaken by the next
				t.Errorf("%s, station %s: %d moves, figures of %d", way.name, station, moves, len(times))
			}
			if len(times) == 0 {
				continue
			}
			slices.Sort(times)
			at := func(share float64) float64 { return times[min(len(times)-1, int(share*float64(len(times))))] }
			row := fmt.Sprintf("| %s | %s | %d | %.1f | %.1f | %.1f |", way.name, station, len(times), at(0.5), at(0.95), times[len(times)-1])
			t.Logf("%s  (all of it %s)", row, ready.Round(time.Millisecond))
			keepRow(t, row)
		}
	}
	say(t, v.complaints())
}

// keepRow adds a row to the file that BENCH_LATENCY names.
func keepRow(t *testing.T, row string) {
	t.Helper()
	name := os.Getenv("BENCH_LATENCY")
	if name == "" {
		return
	}
	f, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err == nil {
		_, err = f.WriteString(row + "\n")
		f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}

// station is the mark of a station by its number on the panel.
func stationMark(id string) string { return fmt.Sprintf(`#scene .station[data-name=%q]`, id) }

const taken = `document.querySelector("#said").textContent.includes("drag it")`

// answered waits until the figures of the move before are on the screen.
func answered(t *testing.T, v *viewer, n int) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(4 * time.Millisecond) {
		if ask[int](t, v, `benchTimings.length`) >= n {
			return
		}
	}
	t.Fatalf("move %d is never answered", n)
}

// moveByKeys takes a station along its seat line and back by arrow keys, and puts it back with Escape.
func moveByKeys(t *testing.T, v *viewer, station string, moves int) {
	t.Helper()
	ask[any](t, v, fmt.Sprintf(`document.querySelector(%q).focus()`, stationMark(station)))
	run(t, v, chromedp.KeyEvent(kb.ArrowRight))
	answered(t, v, 1)
	for i := 2; i <= moves; i++ {
		key := kb.ArrowRight
		if i > moves/2 {
			key = kb.ArrowLeft
		}
		run(t, v, chromedp.KeyEvent(key))
		answered(t, v, i)
	}
	run(t, v, chromedp.KeyEvent(kb.Escape))
	wait(t, v, "the station back", `!document.querySelector(".held")`)
}

// moveByMouse drags a station along its edge, a place at a time, and puts it back with Escape.
func moveByMouse(t *testing.T, v *viewer, station string, moves int) {
	t.Helper()
	x, y := spot(t, v, stationMark(station)+" .ring")
	// The way of the edge on the screen, from this station to its neighbour.
	way := ask[[]float64](t, v, fmt.Sprintf(`(() => { const r = (e) => e.querySelector(".ring").getBoundingClientRect(), a = document.querySelector(%q);
		const all = [...document.querySelectorAll("#scene .station")], b = all[all.indexOf(a) + 1], p = r(a), q = r(b);
		const far = Math.hypot(q.x - p.x, q.y - p.y); return [(q.x - p.x) / far, (q.y - p.y) / far, document.querySelector("#scene").getScreenCTM().a]; })()`, stationMark(station)))
	mouse(t, v, input.DispatchMouseEventTypeMousePressed, x, y)
	wait(t, v, "the station taken up", taken)
	for i := 1; i <= moves; i++ {
		far := float64(min(i, moves+1-i)) * 5.2 * way[2] // a little more than a place each
		n := ask[int](t, v, `benchTimings.length`)
		mouse(t, v, input.DispatchMouseEventTypeMouseMoved, x+far*way[0], y+far*way[1])
		for end := time.Now().Add(500 * time.Millisecond); time.Now().Before(end) && ask[int](t, v, `benchTimings.length`) == n; time.Sleep(4 * time.Millisecond) {
		} // the nearest place can be the same as before: then nothing is asked
	}
	run(t, v, chromedp.KeyEvent(kb.Escape))
	mouse(t, v, input.DispatchMouseEventTypeMouseReleased, x, y)
	wait(t, v, "the station back", `!document.querySelector(".held")`)
}
