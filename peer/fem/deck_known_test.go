package fem

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// known is a panel of 1200 × 800 mm whose answers by the same outside program were worked out by others, with other input
// files (status: computed). Cells are 40 mm, finer at the edges.
func known() *panel {
	x, y := edgeLines(1200), edgeLines(800)
	q := quadsOf(len(x)-1, len(y)-1, func(u, v float64) plane.Point { return plane.Point{X: between(x, u), Y: between(y, v)} }, nil)
	p := &panel{quads: q, t: 12, e: 7000, nu: 0.35, rho: 1.5e-9}
	for _, at := range []plane.Point{{X: 20, Y: 20}, {X: 600, Y: 20}, {X: 1180, Y: 20}, {X: 20, Y: 400}, {X: 1180, Y: 400}, {X: 20, Y: 780}, {X: 600, Y: 780}, {X: 1180, Y: 780}} {
		p.points = append(p.points, q.node(at))
	}
	return p
}

func edgeLines(length float64) []float64 {
	lines := []float64{0, 10, 20}
	for x := 40.0; x < length-20; x += 40 {
		lines = append(lines, x)
	}
	return append(lines, length-20, length-10, length)
}

// between gives the place at u among lines, in steps of half.
func between(lines []float64, u float64) float64 {
	i := min(int(u), len(lines)-2)
	return lines[i] + (u-float64(i))*(lines[i+1]-lines[i])
}

// The input files that are written here and the reader of their results: the outside program's answers for a panel on eight
// springs, t = 12 mm, 150 N/mm, 2 kPa, and its frequencies, as others got them from it (computed).
func TestDecksReproduceKnownSprings(t *testing.T) {
	need(t, "ccx")
	p := known()
	for range p.points {
		p.laws = append(p.laws, spring(150))
	}
	p.linear, p.cases = true, []loads{{pressure: 0.002}}
	got := p.solve(t)
	within(t, "greatest deflection", slices.Max(got.w[0]), 8.659455, 3e-4)
	for i, want := range []float64{101.2212, 476.616, 101.2212, 280.94175, 280.94175, 101.2212, 476.616, 101.2212} {
		within(t, fmt.Sprint("force at ", i), -got.force[0][i], want, 3e-4)
	}
	p.cases, p.modes = nil, 5
	got = p.solve(t)
	for i, want := range []float64{21.517, 32.00226, 40.52399, 44.30171, 60.63308} {
		within(t, fmt.Sprint("frequency ", i), got.hz[i], want, 2e-4)
	}
}

// The same panel with preload, on a rigid flange of 384 pads, at 2 kPa (computed).
func TestDecksReproduceKnownContact(t *testing.T) {
	need(t, "ccx")
	p := known()
	for range p.points {
		p.laws = append(p.laws, station(60, 150, 5000))
	}
	put := func(x, y float64) {
		p.points, p.laws = append(p.points, p.node(plane.Point{X: x, Y: y})), append(p.laws, pad(2000))
	}
	for _, in := range []float64{0, 40} {
		for x := in; x <= 1200-in; x += 20 {
			put(x, in)
			put(x, 800-in)
		}
		for y := in + 20; y < 800-in; y += 20 {
			put(in, y)
			put(1200-in, y)
		}
	}
	p.cases = []loads{{pressure: 0.002}}
	got := p.solve(t)
	within(t, "greatest deflection", slices.Max(got.w[0]), 8.20804, 3e-4)
	for i, want := range []float64{133.6914, 475.404, 133.6914, 282.99975, 282.99975, 133.6914, 475.404, 133.6914} {
		within(t, fmt.Sprint("force at ", i), -got.force[0][i], want, 1e-3)
	}
}

// spring is a support that pushes and pulls in proportion, pad one that only pushes, station a fastener with a preload (N), the
// rate of its wire, and the rate of its seat, which is added to it when the panel is pressed into the seat.
func spring(k float64) plate.Law { return plate.Law{Knots: []plate.Knot{{}}, Before: -k, After: -k} }
func pad(k float64) plate.Law    { return plate.Law{Knots: []plate.Knot{{}}, Before: -k} }
func station(preload, wire, seat float64) plate.Law {
	return plate.Law{Knots: []plate.Knot{{F: -preload}}, Before: -wire - seat, After: -wire}
}

func within(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s is %.7g, want %.7g ± %.2g %%", what, got, want, 100*rel)
	}
}
