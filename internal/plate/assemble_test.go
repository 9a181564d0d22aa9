package plate

import (
	"errors"
	"math"
	"runtime"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/sparse"
)

// assembleFree is a free rectangle on interface points at the given places of an 8 × 6 grid.
func assembleFree(points ...int32) *Model {
	s := Sheet(7000, 0.35, 12, 1.6e-9)
	return &Model{Mesh: mesh.Grid(1200, 800, 8, 6, "/"), Sections: []Section{s}, Points: points}
}

// The whole load vector adds up to p·A and to its moments, exactly but for rounding; so does inertia to mass × acceleration.
func TestLoadSums(t *testing.T) {
	m := assembleFree()
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	per := make([]float64, len(m.Mesh.Tris))
	for i := range per {
		per[i] = 1e-4
	}
	f := s.Load(Load{Pressure: 2e-4, PressureOf: per, Accel: 9810, Points: []PointLoad{{Node: 5, Force: 7}}})
	var sum, mx, my float64
	for i, p := range m.Mesh.Nodes {
		u := s.Deflection(int32(i))
		sum += f[u]
		mx += f[u]*p.Y + f[u+1]
		my += -f[u]*p.X + f[u+2]
	}
	even := (3e-4 + 9810*m.Sections[0].Mass) * 1200 * 800
	at := m.Mesh.Nodes[5]
	const rounding = 1e-13
	if want := even + 7; math.Abs(sum-want) > rounding*want {
		t.Errorf("sum %.17g, want %.17g", sum, want)
	}
	if want := even*400 + 7*at.Y; math.Abs(mx-want) > rounding*want {
		t.Errorf("moment about x %.17g, want %.17g", mx, want)
	}
	if want := -even*600 - 7*at.X; math.Abs(my-want) > rounding*-want {
		t.Errorf("moment about y %.17g, want %.17g", my, want)
	}
}

// Both mass matrices weigh the panel: 1ᵀ·M·1.
func TestMassSums(t *testing.T) {
	m := assembleFree()
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	want := m.Sections[0].Mass * 1200 * 800
	for _, lumped := range []bool{false, true} {
		x, y := make([]float64, s.Unknowns()), make([]float64, s.Unknowns())
		for i := range m.Mesh.Nodes {
			x[s.Deflection(int32(i))] = 1
		}
		s.Mass(lumped).MulAdd(y, x)
		sum := 0.0
		for i := range x {
			sum += x[i] * y[i]
		}
		if math.Abs(sum-want) > 1e-13*want {
			t.Errorf("lumped %v: mass %.17g, want %.17g", lumped, sum, want)
		}
	}
}

// A panel on springs at its interface points, solved by way of S and solved whole: the same field.
func TestCondensedIsWhole(t *testing.T) {
	const spring = 150.0
	m := assembleFree(0, 8, 54, 62, 31, 4)
	l := Load{Pressure: 2e-3, Points: []PointLoad{{Node: 20, Force: -30}, {Node: 8, Force: 5}}}
	_, it := condensed(t, m, 0)
	r := it.Reduce([]Load{{Accel: 9810}, l})
	n := it.Points()
	a := append([]float64(nil), it.S...)
	for i := range n {
		a[i*n+i] += spring
	}
	w := denseSolve(a, r.F[1])
	got := it.Field(r, 1, w)

	whole, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range m.Points {
		whole.k.Add(whole.Deflection(p), whole.Deflection(p), spring)
	}
	factor, err := whole.plan.Factor(whole.k, sparse.Options{})
	if err != nil {
		t.Fatal(err)
	}
	x := whole.Load(l)
	if err := factor.Solve(x); err != nil {
		t.Fatal(err)
	}
	want := whole.Expand(x)
	sum := 0.0
	for i := range want.W {
		// Rounding through a matrix whose condition is about 1e6.
		if math.Abs(got.W[i]-want.W[i]) > 1e-9*math.Abs(want.W[31]) || math.Abs(got.TX[i]-want.TX[i]) > 1e-11*math.Abs(want.W[31]) {
			t.Errorf("node %d: w %.12g, whole %.12g", i, got.W[i], want.W[i])
		}
	}
	for i, p := range m.Points {
		if math.Abs(got.W[p]-w[i]) > 0 {
			t.Errorf("point %d: w %g, given %g", i, got.W[p], w[i])
		}
		sum += spring * w[i]
	}
	if want := 2e-3*1200*800 - 25; math.Abs(sum-want) > 1e-9*want {
		t.Errorf("springs carry %.12g of %.12g", sum, want)
	}
}

// denseSolve solves a symmetric positive definite system by Cholesky's way.
func denseSolve(a, b []float64) []float64 {
	n := len(b)
	x := append([]float64(nil), b...)
	for j := range n {
		for k := range j {
			for i := j; i < n; i++ {
				a[i*n+j] -= a[i*n+k] * a[j*n+k]
			}
		}
		d := math.Sqrt(a[j*n+j])
		for i := j; i < n; i++ {
			a[i*n+j] /= d
		}
	}
	for i := range n {
		for k := range i {
			x[i] -= a[i*n+k] * x[k]
		}
		x[i] /= a[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= a[k*n+i] * x[k]
		}
		x[i] /= a[i*n+i]
	}
	return x
}

// S is symmetric, and rigid motions of the free panel need no force at any point.
func TestInterfaceStiffness(t *testing.T) {
	m := assembleFree(0, 8, 54, 62, 31)
	_, it := condensed(t, m, 0)
	n := it.Points()
	for _, motion := range []func(p plane.Point) float64{
		func(plane.Point) float64 { return 1 }, func(p plane.Point) float64 { return p.X / 1000 }, func(p plane.Point) float64 { return p.Y / 1000 },
	} {
		for i := range n {
			f, size := 0.0, 0.0
			for j, p := range m.Points {
				f += it.S[i*n+j] * motion(m.Mesh.Nodes[p])
				size += math.Abs(it.S[i*n+j])
				if it.S[i*n+j] != it.S[j*n+i] {
					t.Errorf("S[%d][%d] is not symmetric", i, j)
				}
			}
			if math.Abs(f) > 1e-9*size {
				t.Errorf("point %d: force %g of %g under a rigid motion", i, f, size)
			}
		}
	}
}

// Reciprocity: a force at a moves b as one at b moves a.
func TestReciprocity(t *testing.T) {
	g := mesh.Grid(1200, 800, 8, 6, "\\")
	m := &Model{Mesh: g, Sections: []Section{elementOdd()}, Fixed: textbookFix(g, 1200, 800, [4]int{textbookClamp, textbookSoft, textbookFree, textbookFree})}
	a, b := int32(40), int32(25)
	_, fa := textbookSolve(t, m, Load{Points: []PointLoad{{Node: a, Force: 1}}})
	_, fb := textbookSolve(t, m, Load{Points: []PointLoad{{Node: b, Force: 1}}})
	if math.Abs(fa.W[b]-fb.W[a]) > 1e-11*fa.W[a] || fa.W[b] == 0 {
		t.Errorf("%.15g and %.15g", fa.W[b], fb.W[a])
	}
}

// A panel turned in the plane, its edges' axes with it, bends the same.
func TestTurnedPanel(t *testing.T) {
	edges := [4]int{textbookHard, textbookClamp, textbookMirror, textbookSoft}
	straight := mesh.Grid(1200, 800, 8, 6, "/")
	m := &Model{Mesh: straight, Sections: []Section{elementOdd()}, Fixed: textbookFix(straight, 1200, 800, edges)}
	_, want := textbookSolve(t, m, Load{Pressure: 1e-5})
	for _, angle := range []float64{0.3, math.Pi / 2, 2.5, -1} {
		c, n := math.Cos(angle), math.Sin(angle)
		turned := &mesh.Mesh{Tris: straight.Tris}
		for _, p := range straight.Nodes {
			turned.Nodes = append(turned.Nodes, plane.Point{X: c*p.X - n*p.Y, Y: n*p.X + c*p.Y})
		}
		o := &Model{Mesh: turned, Sections: []Section{elementOdd().Turned(angle)}}
		for _, f := range m.Fixed {
			f.Dir += angle
			o.Fixed = append(o.Fixed, f)
		}
		_, got := textbookSolve(t, o, Load{Pressure: 1e-5})
		for i := range want.W {
			tx, ty := c*want.TX[i]-n*want.TY[i], n*want.TX[i]+c*want.TY[i]
			if math.Abs(got.W[i]-want.W[i]) > 1e-9*want.W[31] || math.Abs(got.TX[i]-tx) > 1e-12*want.W[31] || math.Abs(got.TY[i]-ty) > 1e-12*want.W[31] {
				t.Fatalf("%g: node %d: %v %v %v, want %v %v %v", angle, i, got.W[i], got.TX[i], got.TY[i], want.W[i], tx, ty)
			}
		}
	}
}

// The number of processors changes no bit.
func TestAssembleDeterministic(t *testing.T) {
	solve := func() ([]float64, []float64) {
		m := assembleFree(0, 8, 54, 62)
		m.Mesh = mesh.Grid(1200, 800, 40, 30, "/")
		m.Points = []int32{0, 40, 1230, 1270}
		_, it := condensed(t, m, 0)
		return it.S, it.Reduce([]Load{{Pressure: 1}}).F[0]
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	s1, f1 := solve()
	for _, workers := range []int{2, 5} {
		runtime.GOMAXPROCS(workers)
		s2, f2 := solve()
		for i := range s1 {
			if s1[i] != s2[i] {
				t.Fatalf("%d processors: S[%d] is %v, with one %v", workers, i, s2[i], s1[i])
			}
		}
		for i := range f1 {
			if f1[i] != f2[i] {
				t.Fatalf("%d processors: F[%d] is %v, with one %v", workers, i, f2[i], f1[i])
			}
		}
	}
}

func TestHeld(t *testing.T) {
	far := func(m *Model, points ...int32) *Model { m.Points = points; return m }
	fixed := func(f ...Fix) *Model { m := assembleFree(); m.Fixed = f; return m }
	two := assembleFree(0, 8, 54)
	for _, p := range two.Mesh.Nodes[:63] {
		two.Mesh.Nodes = append(two.Mesh.Nodes, plane.Point{X: p.X + 2000, Y: p.Y})
	}
	for _, tri := range two.Mesh.Tris[:96] {
		two.Mesh.Tris = append(two.Mesh.Tris, [3]int32{tri[0] + 63, tri[1] + 63, tri[2] + 63})
	}
	for _, c := range []struct {
		name   string
		m      *Model
		motion []float64 // w at some nodes, up to a factor; nil: held
		nodes  []int32
	}{
		{"three points", assembleFree(0, 8, 54), nil, nil},
		{"nothing", assembleFree(), nil, []int32{}},
		{"one point", assembleFree(31), []float64{0}, []int32{31}},
		{"two points", assembleFree(0, 8), []float64{0, 0, 1, 1}, []int32{0, 8, 54, 62}},
		{"points on a line", far(assembleFree(), 0, 1, 2, 8), []float64{0, 0, 1, 1}, []int32{0, 8, 54, 62}},
		{"an edge hinged", fixed(Fix{Node: 0, W: true}, Fix{Node: 8, W: true}), []float64{0, 0, 1, 1}, []int32{0, 8, 54, 62}},
		{"one node clamped", fixed(Fix{Node: 0, W: true, Along: true, Cross: true}), nil, nil},
		{"one node clamped, askew", fixed(Fix{Node: 0, W: true, Along: true, Dir: 0.4}, Fix{Node: 0, Along: true, Dir: 2}), nil, nil},
		{"one axis twice", fixed(Fix{Node: 0, W: true, Along: true, Dir: 0.4}, Fix{Node: 0, Along: true, Dir: 0.4 + math.Pi}), []float64{0}, []int32{0}},
		{"two pieces, one held", two, nil, []int32{}},
	} {
		s, err := Assemble(c.m)
		if err != nil {
			t.Fatal(err)
		}
		_, err = s.Condense(0)
		if c.motion == nil && c.nodes == nil {
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		var not *NotHeld
		if !errors.As(err, &not) {
			t.Errorf("%s: %v, want not held", c.name, err)
			continue
		}
		at := func(n int32) float64 {
			p := c.m.Mesh.Nodes[n]
			return not.Motion[0] + not.Motion[1]*p.X + not.Motion[2]*p.Y
		}
		for i, n := range c.nodes {
			want := c.motion[i] * at(c.nodes[len(c.nodes)-1])
			if math.Abs(at(n)-want) > 1e-9 {
				t.Errorf("%s: node %d moves %g, want %g", c.name, n, at(n), want)
			}
		}
		if not.Motion == [3]float64{} {
			t.Errorf("%s: no motion named", c.name)
		}
	}
}

// Each nonsense is refused by name.
func TestCheck(t *testing.T) {
	spoil := map[string]func(m *Model){
		"no mesh":            func(m *Model) { m.Mesh = nil },
		"no triangles":       func(m *Model) { m.Mesh.Tris = nil },
		"no section":         func(m *Model) { m.Sections = nil },
		"section missing":    func(m *Model) { m.Of = make([]int32, len(m.Mesh.Tris)); m.Of[3] = 1 },
		"too few sections":   func(m *Model) { m.Of = make([]int32, 3) },
		"node missing":       func(m *Model) { m.Mesh.Tris[0][1] = 999 },
		"clockwise":          func(m *Model) { m.Mesh.Tris[2][0], m.Mesh.Tris[2][1] = m.Mesh.Tris[2][1], m.Mesh.Tris[2][0] },
		"no area":            func(m *Model) { m.Mesh.Tris[0][1] = m.Mesh.Tris[0][0] },
		"lonely node":        func(m *Model) { m.Mesh.Nodes = append(m.Mesh.Nodes, plane.Point{X: 1}) },
		"not a number":       func(m *Model) { m.Mesh.Nodes[0].X = math.NaN() },
		"no thickness":       func(m *Model) { m.Sections[0] = Sheet(7000, 0.35, 0, 0) },
		"nu of one half":     func(m *Model) { m.Sections[0] = Sheet(7000, 1, 2, 0) },
		"nu beyond":          func(m *Model) { m.Sections[0] = Sheet(7000, -1.2, 2, 0) },
		"D skew":             func(m *Model) { m.Sections[0].D[0][1] *= 2 },
		"S negative":         func(m *Model) { m.Sections[0].S[1][1] = -1 },
		"S half":             func(m *Model) { m.Sections[0].S[1][1] = 0 },
		"mass negative":      func(m *Model) { m.Sections[0].Mass = -1 },
		"point missing":      func(m *Model) { m.Points[0] = 63 },
		"point twice":        func(m *Model) { m.Points[0] = m.Points[1] },
		"point fixed":        func(m *Model) { m.Fixed = []Fix{{Node: 8, W: true}} },
		"fixed node missing": func(m *Model) { m.Fixed = []Fix{{Node: -1, W: true}} },
		"fixed to no angle":  func(m *Model) { m.Fixed = []Fix{{Node: 1, Along: true, Dir: math.Inf(1)}} },
	}
	for name, f := range spoil {
		m := assembleFree(0, 8, 54)
		f(m)
		var bad *Unsound
		if _, err := Assemble(m); !errors.As(err, &bad) {
			t.Errorf("%s: %v", name, err)
		}
	}
	m := assembleFree(0, 8, 54)
	m.Sections[0].B[0][0] = 1
	var not *NotModelled
	if _, err := Assemble(m); !errors.As(err, &not) {
		t.Errorf("coupled sheet: %v", err)
	}
}

func BenchmarkAssemble15000(b *testing.B) {
	m := assembleFree()
	m.Mesh = mesh.Grid(1200, 800, 100, 75, "/")
	s, err := Assemble(m)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s.gather(func(t int, ke *[elementEntries]float64) {
			e, section := s.triangle(t)
			e.stiffness(section, ke)
		})
	}
}

// condensed assembles a model and condenses it to its interface.
func condensed(t testing.TB, m *Model, workers int) (*System, *Interface) {
	t.Helper()
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	it, err := s.Condense(workers)
	if err != nil {
		t.Fatal(err)
	}
	return s, it
}
