package plate

import (
	"math"
	"slices"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// A free panel of 1200 × 800 mm, E 7000 MPa, ν 0.35, on eight springs of 150 N/mm under 2 kPa of suction, by way of the condensed
// interface: w in the middle and the springs' forces at corner, long and short edge. Expected: thin theory by separate code of
// bicubic rectangles, at 5 mm (computed); with shear, an outside program's quadratic thick shells at 10 mm (computed). 0.1 % is
// what the mesh of 20 mm is off by; 0.2 % what separates shear by shells from shear by Mindlin's theory.
func TestPanelOnSprings(t *testing.T) {
	for _, c := range []struct {
		name                   string
		thick                  float64
		thin                   bool
		w, corner, long, short float64
		allow                  float64
	}{
		{"2.5 mm, thin theory", 2.5, true, 619.13279, 69.4124, 501.2785, 319.8966, 0.001},
		{"2.5 mm", 2.5, false, 619.992, 69.5925, 501.1605, 319.6545, 0.003},
		{"12 mm, thin theory", 12, true, 8.62460531, 100.7870, 477.0287, 281.3973, 0.001},
		{"12 mm", 12, false, 8.6626, 101.2503, 476.5905, 280.908, 0.003},
	} {
		g := mesh.Grid(1200, 800, 60, 40, "x")
		m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, c.thick, 1.5e-9)}}
		if c.thin {
			m.Sections[0] = m.Sections[0].Thin()
		}
		for _, p := range [][2]float64{{20, 20}, {600, 20}, {1180, 20}, {20, 400}, {1180, 400}, {20, 780}, {600, 780}, {1180, 780}} {
			m.Points = append(m.Points, int32(slices.IndexFunc(g.Nodes, func(q plane.Point) bool { return math.Hypot(q.X-p[0], q.Y-p[1]) < 1e-6 })))
		}
		_, it := condensed(t, m, 0)
		r := it.Reduce([]Load{{Pressure: 2e-3}})
		const spring = 150.0
		a := slices.Clone(it.S)
		sum := 0.0
		for i := range m.Points {
			a[i*len(m.Points)+i] += spring
			sum += r.F[0][i]
		}
		w := denseSolve(a, r.F[0])
		middle := 20*61 + 30
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got/want-1) > c.allow {
				t.Errorf("%s: %s %.5g, want %.5g", c.name, what, got, want)
			}
		}
		near("w", it.Field(r, 0, w).W[middle], c.w)
		near("corner", spring*w[0], c.corner)
		near("long edge", spring*w[1], c.long)
		near("short edge", spring*w[3], c.short)
		// The condensed load is the whole load.
		if math.Abs(sum/1920-1) > 1e-9 {
			t.Errorf("%s: condensed load %.12g of 1920 N", c.name, sum)
		}
		// The panel has two mirrors.
		for _, i := range []int{2, 5, 7} {
			if math.Abs(w[i]/w[0]-1) > 1e-6 {
				t.Errorf("%s: corners pull %.9g and %.9g", c.name, spring*w[0], spring*w[i])
			}
		}
	}
}

// A panel of 25,000 unknowns on 200 interface points, from mesh to stresses.
func BenchmarkPanel25000(b *testing.B) {
	g := mesh.Grid(1200, 800, 112, 74, "x")
	m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, 2.5, 1.5e-9)}}
	for i := range g.Nodes {
		if x, y := i%113, i/113; (y == 2 || y == 72) && x%2 == 0 || (x == 2 || x == 110) && y%2 == 0 && y > 2 && y < 72 {
			m.Points = append(m.Points, int32(i))
		}
	}
	w := make([]float64, len(m.Points))
	loads := []Load{{Pressure: 2e-3}, {Accel: 9810}}
	b.ReportAllocs()
	for b.Loop() {
		s, err := Assemble(m)
		if err != nil {
			b.Fatal(err)
		}
		it, err := s.Condense(0)
		if err != nil {
			b.Fatal(err)
		}
		r := it.Reduce(loads)
		for c := range loads {
			s.Stress(it.Field(r, c, w))
		}
	}
}
