package shell

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// square is a plate side a on an n × n grid with its edges held.
func square(a, h, e, nu float64, n int, inPlane bool) *Model {
	m := &Model{Mesh: mesh.Grid(a, a, n, n, "x"), Sections: []plate.Section{plate.Sheet(e, nu, h, 1e-9)}}
	for i, p := range m.Mesh.Nodes {
		if p.X < 1e-9 || p.Y < 1e-9 || p.X > a-1e-9 || p.Y > a-1e-9 {
			m.Fixed = append(m.Fixed, Fix{Node: int32(i), At: [perNode]bool{U: inPlane, V: inPlane, W: true}})
		}
	}
	return m
}

// Forces is the derivative of Energy and Tangent that of Forces, by difference quotients, on a curved sheet with springs.
func TestDerivatives(t *testing.T) {
	m := square(100, 2, 7000, 0.3, 4, false)
	rng := rand.New(rand.NewPCG(3, 4))
	for range m.Mesh.Nodes {
		m.Height = append(m.Height, 4*rng.Float64())
	}
	m.Springs = []Spring{{Node: 12, At: U, Rate: 30}, {Node: 12, At: W, Rate: 5}}
	for _, q := range m.Mesh.Tris[:6] {
		m.Beams = append(m.Beams, Beam{From: q[0], To: q[1], EA: 3e5, EI: 2e6, GJ: 1e6, Offset: -8})
	}
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	x, d := make([]float64, s.Unknowns()), make([]float64, s.Unknowns())
	for i := range x {
		x[i], d[i] = 0.3*(rng.Float64()-0.5), rng.Float64()-0.5
	}
	const step = 1e-5
	at := func(k float64) []float64 {
		y := make([]float64, len(x))
		for i := range y {
			y[i] = x[i] + k*step*d[i]
		}
		return y
	}
	want := (s.Energy(at(1)) - s.Energy(at(-1))) / (2 * step)
	if got := dot(s.Forces(x), d); math.Abs(got-want) > 1e-7*math.Abs(want) {
		t.Errorf("forces along d %g, by energies %g", got, want)
	}
	hi, lo := s.Forces(at(1)), s.Forces(at(-1))
	kd := make([]float64, len(x))
	s.Tangent(x).MulAdd(kd, d)
	worst, most := 0.0, norm(kd)
	for i := range kd {
		worst = max(worst, math.Abs(kd[i]-(hi[i]-lo[i])/(2*step)))
	}
	if worst > 1e-6*most {
		t.Errorf("tangent off by %g of %g", worst, most)
	}
}

// Square plate, simply supported, edges immovable, uniform pressure: w/h at Q = qa⁴/Eh⁴, by a Ritz code of our own with 13 terms each way
// and by CalculiX 2.20 with large deflections, which agree to 0.02 %.
func TestSquareImmovable(t *testing.T) {
	const a, h, e = 1000.0, 2.0, 70000.0
	s, err := Assemble(square(a, h, e, 0.3, 24, true))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ q, w float64 }{{10, 0.370666103}, {100, 1.26330299}, {1000, 2.86317585}} {
		load := s.Load(Load{Pressure: c.q * e * h * h * h * h / (a * a * a * a)})
		ans, err := s.Solve(context.Background(), load, Options{})
		if err != nil {
			t.Fatal(err)
		}
		w := s.Expand(ans.X)[W]
		most := 0.0
		for _, v := range w {
			most = max(most, v)
		}
		if math.Abs(most/h-c.w) > 0.01*c.w {
			t.Errorf("Q = %g: w/h %.5f, outside %.5f", c.q, most/h, c.w)
		}
	}
}

// panel is the panel of 1200 × 800 × 2.5 mm glass-fibre on an n × m grid, its middle at (0, 0), with a crown of cx along and cy across.
func panel(nx, ny int, cx, cy float64) *Model {
	m := &Model{Mesh: mesh.Grid(1200, 800, nx, ny, "x"), Sections: []plate.Section{plate.Sheet(7000, 0.35, 2.5, 1.5e-9)}}
	for _, p := range m.Mesh.Nodes {
		x, y := (p.X-600)/600, (p.Y-400)/400
		m.Height = append(m.Height, cx*(1-x*x)+cy*(1-y*y))
	}
	return m
}

// node is the node at (x, y), the middle of the panel being (0, 0).
func node(t *testing.T, m *Model, x, y float64) int32 {
	t.Helper()
	for i, p := range m.Mesh.Nodes {
		if math.Hypot(p.X-600-x, p.Y-400-y) < 1e-6 {
			return int32(i)
		}
	}
	t.Fatalf("no node at (%g, %g)", x, y)
	return 0
}

func solve(t *testing.T, m *Model, l Load) (*System, *Answer, Field) {
	t.Helper()
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	a, err := s.Solve(context.Background(), s.Load(l), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s, a, s.Expand(a.X)
}

// Doubly curved panel, edges held in place, outward pressure: Marguerre's theory by a Ritz code with 16 terms each way and by bicubic
// elements, which agree to 1e-6; 2 kPa.
func TestCurvedPanel(t *testing.T) {
	for _, c := range []struct{ q, centre, quarter float64 }{{0.0005, 0.249832722, 0.250934822}, {0.002, 1.03728303, 0.934022006}} {
		m := panel(48, 32, 30, 20)
		for i, p := range m.Mesh.Nodes {
			if math.Abs(p.X-600) > 600-1e-6 || math.Abs(p.Y-400) > 400-1e-6 {
				m.Fixed = append(m.Fixed, Fix{Node: int32(i), At: [perNode]bool{U: true, V: true, W: true}})
			}
		}
		_, _, f := solve(t, m, Load{Pressure: c.q})
		centre, quarter := f[W][node(t, m, 0, 0)], f[W][node(t, m, 300, 200)]
		if math.Abs(centre-c.centre) > 0.01*c.centre || math.Abs(quarter-c.quarter) > 0.01*c.quarter {
			t.Errorf("%g MPa: centre %.5f, quarter %.5f mm; outside %.5f and %.5f mm", c.q, centre, quarter, c.centre, c.quarter)
		}
	}
}

// The flat panel on eight springs, 150 N/mm outward and 1000 N/mm in the plane: mean of bicubic elements (Marguerre) and of CalculiX 2.20
// (solids, full rotations), which agree to 0.8 %.
func TestPanelOnSprings(t *testing.T) {
	m := panel(60, 40, 0, 0)
	at := [][2]float64{{580, 380}, {-580, 380}, {580, -380}, {-580, -380}, {0, 380}, {0, -380}, {580, 0}, {-580, 0}}
	for _, p := range at {
		n := node(t, m, p[0], p[1])
		m.Springs = append(m.Springs, Spring{n, W, 150}, Spring{n, U, 1000}, Spring{n, V, 1000})
	}
	_, _, f := solve(t, m, Load{Pressure: 0.002})
	force := func(k, place int) float64 {
		return map[int]float64{W: 150, U: 1000, V: 1000}[place] * f[place][node(t, m, at[k][0], at[k][1])]
	}
	for _, c := range []struct {
		name             string
		got, want, allow float64
	}{
		{"centre, mm", f[W][node(t, m, 0, 0)], 36.5760017, 0.02}, {"quarter, mm", f[W][node(t, m, 300, 200)], 27.644239, 0.02},
		{"corner, N", force(0, W), 142.678815, 0.02}, {"middle of the long edge, N", force(4, W), 395.453342, 0.02}, {"middle of the short edge, N", force(6, W), 279.189028, 0.02},
		{"in the plane, short edge, N", force(6, U), -1396.25957, 0.03}, {"in the plane, long edge, N", force(4, V), -1723.54627, 0.03},
		{"in the plane, corner, N", force(0, U), -876.434088, 0.03},
	} {
		if math.Abs(c.got-c.want) > c.allow*math.Abs(c.want) {
			t.Errorf("%s: %.4g, outside %.4g", c.name, c.got, c.want)
		}
	}
}

// disc is a round sheet of radius a and thickness 1 mm with its edge clamped, and a height h·(1 − (r/a)²).
func disc(t *testing.T, a, h, e, nu, step float64) *Model {
	t.Helper()
	g, err := mesh.Build(mesh.Domain{Region: plane.Region{Outer: plane.CircleAt(plane.Point{}, a)}, Points: []plane.Point{{}}, Size: mesh.Size{Max: step, Flat: step * step / (16 * a)}})
	if err != nil {
		t.Fatal(err)
	}
	m := &Model{Mesh: g, Sections: []plate.Section{plate.Sheet(e, nu, 1, 1e-9)}}
	for i, p := range g.Nodes {
		r := p.Len() / a
		m.Height = append(m.Height, h*(1-r*r))
		if r > 1-1e-6 {
			m.Fixed = append(m.Fixed, Fix{Node: int32(i), At: [perNode]bool{true, true, true, true, true}})
		}
	}
	return m
}

// Clamped shallow spherical cap, λ = 4, under outward and inward pressure, by a Ritz code and a boundary-value solver of our own and by
// CalculiX: deflections over the thickness, and the limit of the inward pressure, Q = 15.9968. Clamped flat disc, edge immovable: w/h
// 1.051957 at Q = 10 and 3.663744 at Q = 200.
func TestCap(t *testing.T) {
	const a, e = 100.0, 1000.0
	for _, c := range []struct{ h, q, w, allow float64 }{
		{2.42091013, 28.3769686, 0.519357034, 0.01}, {2.42091013, -9.59809024, -0.318132217, 0.01}, {2.42091013, -15.1969762, -0.734492148, 0.02},
		{0, 10, 1.051957, 0.01}, {0, 200, 3.663744, 0.01},
	} {
		m := disc(t, a, c.h, e, 0.3, 6)
		_, _, f := solve(t, m, Load{Pressure: c.q * e / (a * a * a * a)})
		w := f[W][m.Mesh.Points[0]]
		if math.Abs(w-c.w) > c.allow*math.Abs(c.w) {
			t.Errorf("H %g, Q %g: w/h %.5f, outside %.5f", c.h, c.q, w, c.w)
		}
	}
	m := disc(t, a, 2.42091013, e, 0.3, 7)
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	const limit = 15.9968171
	_, err = s.Solve(context.Background(), s.Load(Load{Pressure: -1.2 * limit * e / (a * a * a * a)}), Options{Steps: 4})
	var lost *Lost
	if !errors.As(err, &lost) || !lost.Unstable {
		t.Fatalf("beyond its limit the cap answers %v", err)
	}
	if math.Abs(lost.Share*1.2-1) > 0.01 {
		t.Errorf("it snaps at Q = %.4f, outside %.4f", lost.Share*1.2*limit, limit)
	}
}

// Simply supported aluminium sheet of 800 × 400 × 1.5 mm with a rib of 20 × 3 mm along its middle, on one side, 1 kPa, small deflections:
// bicubic elements of our own with an eccentric Bernoulli rib, and CalculiX 2.20 with solids, whose rib shears too (0.6 %). Without the rib
// 11.736 mm.
func TestRibbedSheet(t *testing.T) {
	const e, nu, wide, high = 70000.0, 0.33, 3.0, 20.0
	build := func(rib bool) (*System, *Model) {
		m := &Model{Mesh: mesh.Grid(800, 400, 48, 24, "x"), Sections: []plate.Section{plate.Sheet(e, nu, 1.5, 2.7e-9)}}
		at := map[int]int32{}
		for i, p := range m.Mesh.Nodes {
			f := Fix{Node: int32(i)}
			f.At[W] = p.X < 1e-6 || p.Y < 1e-6 || p.X > 800-1e-6 || p.Y > 400-1e-6
			if p.Dist(plane.Point{X: 400, Y: 200}) < 1e-6 { // nothing else holds it in its plane
				f.At[U], f.At[V] = true, true
			}
			if p.Dist(plane.Point{X: 800, Y: 200}) < 1e-6 {
				f.At[V] = true
			}
			m.Fixed = append(m.Fixed, f)
			if math.Abs(p.Y-200) < 1e-6 {
				if k := p.X / (800.0 / 48); math.Abs(k-math.Round(k)) < 1e-6 {
					at[int(math.Round(k))] = int32(i)
				}
			}
		}
		for k := 0; rib && k < 48; k++ {
			m.Beams = append(m.Beams, Beam{From: at[k], To: at[k+1], EA: e * wide * high, EI: e * wide * high * high * high / 12, GJ: e / 2 / (1 + nu) * high * wide * wide * wide / 3, Offset: -10.75})
		}
		s, err := Assemble(m)
		if err != nil {
			t.Fatal(err)
		}
		return s, m
	}
	const tiny = 1e-4 // of the load: what small deflections are
	for _, c := range []struct {
		rib  bool
		want float64
	}{{true, 1.9888}, {false, 11.7362}} {
		s, m := build(c.rib)
		a, err := s.Solve(context.Background(), s.Load(Load{Pressure: 1e-3 * tiny}), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var centre float64
		for i, p := range m.Mesh.Nodes {
			if p.Dist(plane.Point{X: 400, Y: 200}) < 1e-6 {
				centre = s.Expand(a.X)[W][i] / tiny
			}
		}
		if math.Abs(centre-c.want) > 0.01*c.want {
			t.Errorf("rib %v: %.4f mm, outside %.4f", c.rib, centre, c.want)
		}
		if !c.rib {
			continue
		}
		n1, m1 := s.BeamForce(23, a.X)
		n2, m2 := s.BeamForce(24, a.X)
		tip := ((n1+n2)/2/(wide*high) - (m1+m2)/2/(wide*high*high/6)) / tiny
		if math.Abs(tip+39.90) > 0.01*39.90 {
			t.Errorf("the rib's tip bears %.3f MPa, outside -39.90", tip)
		}
	}
}
