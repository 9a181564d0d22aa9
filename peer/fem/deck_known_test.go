package fem

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// The input files that are written here and the reader of their results: the outside program's answers for a panel on eight
// springs, t = 12 mm, 150 N/mm, 2 kPa, and its frequencies, as others got them from it (computed).
func TestDecksReproduceKnownSprings(t *testing.T) {
	need(t, "ccx")
	p := flange(edgeLines(1200), edgeLines(800))
	p.support(plate.Spring(150), fasteners...)
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
	p := flange(edgeLines(1200), edgeLines(800))
	p.support(station(60, 150, 5000), fasteners...)
	p.support(plate.Pad(2000), flangePads()...)
	p.cases = []loads{{pressure: 0.002}}
	got := p.solve(t)
	within(t, "greatest deflection", slices.Max(got.w[0]), 8.20804, 3e-4)
	for i, want := range []float64{133.6914, 475.404, 133.6914, 282.99975, 282.99975, 133.6914, 475.404, 133.6914} {
		within(t, fmt.Sprint("force at ", i), -got.force[0][i], want, 1e-3)
	}
}

// A square sandwich under 1 kPa by solids, of which others got 2.1304 mm (computed; the sum of bending and shear is 2.1309).
func TestDecksReproduceKnownSandwich(t *testing.T) {
	need(t, "ccx")
	s := sandwich{width: 1000, height: 1000, cell: 62.5, face: 0.5, core: 10, faceE: 70000, faceNu: 0.3, shearG: 30, coreNu: 0.3, pressure: 0.001,
		on: func(plane.Point) bool { return true }, looks: at(500, 500)}
	within(t, "deflection", s.solve(t)[0], 2.1304, 2e-4)
}

func within(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s is %.7g, want %.7g ± %.2g %%", what, got, want, 100*rel)
	}
}
