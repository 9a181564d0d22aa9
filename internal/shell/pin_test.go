package shell

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plate"
)

// The pin's force is the slope of its energy, its tangent that of its force; inside the clearance it does nothing.
func TestPinDerivatives(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		p := Pin{Clearance: r.Float64(), Rate: 1 + 1000*r.Float64(), Centre: r.Float64()}
		if r.IntN(5) == 0 {
			p.Clearance = 0
		}
		d := [2]float64{2 * r.NormFloat64(), 2 * r.NormFloat64()}
		if math.Abs(math.Hypot(d[0], d[1])-p.Clearance) < 1e-3 {
			continue
		}
		f, k := p.Hold(d), p.tangent(d)
		const h = 1e-5
		for a := range 2 {
			up, down := d, d
			up[a], down[a] = up[a]+h, down[a]-h
			if got := (p.energy(up) - p.energy(down)) / (2 * h); math.Abs(got-f[a]) > 1e-5*(p.Rate+1) {
				t.Fatalf("%+v at %v: force %g, slope of the energy %g", p, d, f[a], got)
			}
			fu, fd := p.Hold(up), p.Hold(down)
			for b := range 2 {
				if got := (fu[b] - fd[b]) / (2 * h); math.Abs(got-k[b][a]) > 1e-4*(p.Rate+1) {
					t.Fatalf("%+v at %v: tangent %g, slope of the force %g", p, d, k[b][a], got)
				}
			}
		}
		if r := math.Hypot(d[0], d[1]); r < p.Clearance && p.energy(d) != p.Centre*r*r/2 {
			t.Fatalf("%+v at %v holds within its clearance", p, d)
		}
	}
}

// strip is a narrow sheet between two pinned ends, hinged, which bows as a shallow arc: N per width from its own stretch.
func strip(clearance, rate float64) (*Model, int) {
	const length, width = 600.0, 20.0
	m := &Model{Mesh: mesh.Grid(length, width, 60, 2, "x"), Sections: []plate.Section{plate.Sheet(70000, 0, 1, 2.7e-9)}}
	ends := 0
	for i, p := range m.Mesh.Nodes {
		switch {
		case p.X == 0 || p.X == length:
			m.Fixed = append(m.Fixed, Fix{Node: int32(i), At: [perNode]bool{W: true, V: true}})
			share := 0.5 // of the end's rate: its corner nodes have half of a middle one
			if p.Y == 0 || p.Y == width {
				share = 0.25
			}
			if p.Y != 0 && p.Y != width && math.Abs(p.Y-width/2) > 1e-9 {
				continue
			}
			m.Pins = append(m.Pins, Pin{Node: int32(i), Clearance: clearance, Rate: rate * share, Centre: 1e-3})
			ends++
		default: // a strip: nothing across
			m.Fixed = append(m.Fixed, Fix{Node: int32(i), At: [perNode]bool{V: true, RX: true}})
		}
	}
	return m, ends
}

// A pressed strip between ends that give: plate in cylindrical bending with the axial tie found by hand from the same equation
// [timoshenko59, art. 2 to 6]: deflection w = w₀·(1 − …) in closed form for hinged ends under pull S, the ends' approach equal to
// ½∫w'² − S·l/(E·h), and S itself = rate·(approach/2 − clearance).
func TestPinnedStrip(t *testing.T) {
	const e, h, l, width = 70000.0, 1.0, 600.0, 20.0
	d := e * h * h * h / 12
	for _, c := range []struct{ clearance, rate, q float64 }{
		{0, 1e7, 0.001}, {0, 2000, 0.001}, {0.2, 2000, 0.001}, {0.2, 2000, 0.004}, {5, 2000, 0.0002},
	} {
		m, ends := strip(c.clearance, c.rate)
		if ends != 6 {
			t.Fatalf("%d pins", ends)
		}
		s, err := Assemble(m)
		if err != nil {
			t.Fatal(err)
		}
		a, err := s.Solve(context.Background(), s.Load(Load{Pressure: c.q}), Options{})
		if err != nil {
			t.Fatalf("%+v: %v", c, err)
		}
		f := s.Expand(a.X)
		var got, pull float64
		for i, p := range m.Mesh.Nodes {
			if math.Abs(p.X-l/2) < 1e-9 && math.Abs(p.Y-width/2) < 1e-9 {
				got = f[W][i]
			}
		}
		for _, p := range m.Pins {
			if m.Mesh.Nodes[p.Node].X == 0 {
				pull += p.Hold(s.moved(p.Node, a.X))[0]
			}
		}
		// By hand: w(x) of the hinged tie; S found by halving.
		closing := func(pull float64) float64 { // ends' approach without the stretch, by Simpson's rule
			k := math.Sqrt(pull / d)
			slope := func(x float64) float64 {
				y := x - l/2
				if pull < 1e-9 {
					return c.q / (24 * d) * (l*l*l - 6*l*x*x + 4*x*x*x)
				}
				return c.q/pull*(math.Sinh(k*y)/(k*math.Cosh(k*l/2))) - c.q*y/pull
			}
			const n = 2000
			sum := 0.0
			for i := range n {
				x0, x1 := l*float64(i)/n, l*float64(i+1)/n
				s0, sm, s1 := slope(x0), slope((x0+x1)/2), slope(x1)
				sum += (x1 - x0) / 6 * (s0*s0 + 4*sm*sm + s1*s1) / 2
			}
			return sum
		}
		lo, hi := 1e-6, 1e3
		for range 200 {
			mid := math.Sqrt(lo * hi)
			if give := closing(mid) - mid*l/(e*h) - 2*(mid*width/c.rate+c.clearance); give > 0 {
				lo = mid
			} else {
				hi = mid
			}
		}
		tie := lo
		if tie < 1e-5 {
			tie = 0
		}
		want := 5 * c.q * l * l * l * l / (384 * d)
		if tie > 0 {
			k := math.Sqrt(tie / d)
			want = c.q*l*l/(8*tie) - c.q*d/(tie*tie)*(1-1/math.Cosh(k*l/2))
		}
		t.Logf("clearance %g, rate %g, q %g: w %.4f mm, by hand %.4f; pull %.4f N/mm, by hand %.4f; %d iterations", c.clearance, c.rate, c.q, got, want, -pull/width, tie, a.Iterations)
		if math.Abs(got-want) > 0.005*want || math.Abs(math.Abs(pull)/width-tie) > 0.01*tie+1e-3 {
			t.Errorf("clearance %g, rate %g, q %g: w %.4f mm, by hand %.4f; pull %.4f N/mm, by hand %.4f", c.clearance, c.rate, c.q, got, want, pull/width, tie)
		}
	}
}

// The thin panel again, held in the plane by studs in holes that are loose by c all round: the looser, the more it bows, the less they pull,
// and the studs' pulls sum to nothing by themselves.
func TestContactOnPins(t *testing.T) {
	var bow, pull float64
	for n, clearance := range []float64{0, 0.25, 1} {
		m, points, laws, stations := flanged(t, 2.5, 0, 40)
		m.Fixed = nil
		for _, k := range stations {
			m.Pins = append(m.Pins, Pin{Node: points[k], Clearance: clearance, Rate: 5000, Centre: 0.5})
		}
		s, err := Assemble(m)
		if err != nil {
			t.Fatal(err)
		}
		c, err := NewContact(s, points, laws)
		if err != nil {
			t.Fatal(err)
		}
		a, err := c.Solve(context.Background(), s.Load(Load{Pressure: 0.002}), nil, Options{})
		if err != nil {
			t.Fatalf("clearance %g: %v", clearance, err)
		}
		var sum [2]float64
		most := 0.0
		for _, p := range m.Pins {
			f := p.Hold(s.moved(p.Node, a.X))
			sum[0], sum[1], most = sum[0]+f[0], sum[1]+f[1], max(most, math.Hypot(f[0], f[1]))
		}
		if math.Hypot(sum[0], sum[1]) > 1e-6*most {
			t.Errorf("clearance %g: the studs' pulls leave %g N", clearance, sum)
		}
		w := 0.0
		for _, v := range s.Expand(a.X)[W] {
			w = max(w, v)
		}
		t.Logf("clearance %g mm: bows %.2f mm, studs pull %.0f N; %d iterations in %d steps", clearance, w, most, a.Iterations, a.Steps)
		if n > 0 && !(w > bow && most < pull) {
			t.Errorf("clearance %g mm: bows %.2f mm after %.2f, studs pull %.1f N after %.1f", clearance, w, bow, most, pull)
		}
		bow, pull = w, most
	}
}
