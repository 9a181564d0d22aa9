package plate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// modesOf assembles a model and returns its modes, with their residuals looked at.
func modesOf(t testing.TB, m *Model, springs []float64, n int, lumped bool) []Mode {
	t.Helper()
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	modes, err := s.Modes(springs, n, lumped)
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range modes {
		if f.Residual > 1e-7 {
			t.Errorf("mode %d: residual %.2g", i, f.Residual)
		}
		first := slices.IndexFunc(f.W, func(w float64) bool { return math.Abs(w) > 1-0.99e-6 })
		if most := max(slices.Max(f.W), -slices.Min(f.W)); math.Abs(most-1) > 1e-8 || f.W[first] < 0 {
			t.Errorf("mode %d: its largest deflection is %g, the first such %g", i, most, f.W[first])
		}
		if i > 0 && f.Omega < modes[i-1].Omega*(1-1e-9) {
			t.Errorf("modes %d and %d are out of order", i-1, i)
		}
		if math.Abs(f.Hz*2*math.Pi-f.Omega) > 1e-12*f.Omega {
			t.Errorf("mode %d: %g Hz, %g rad/s", i, f.Hz, f.Omega)
		}
	}
	return modes
}

// Thin squares of n = 16 cells by both masses: simply supported π²(m² + n²) (closed form); clamped, free after three rigid motions, on
// four corner points (computed by a Ritz series, other code). ω·a²·√(ρh/D), ν = 0.3. The error goes with the square of the edge
// over the wave length, so with ω/n²; lumped masses cost more, most along free edges.
func TestModesOfSquares(t *testing.T) {
	const n = 16
	g := mesh.Grid(1, 1, n, n, "x")
	corner := []Fix{{Node: 0, W: true}, {Node: n, W: true}, {Node: n * (n + 1), W: true}, {Node: n*(n+1) + n, W: true}}
	all := func(kind int) []Fix { return textbookFix(g, 1, 1, [4]int{kind, kind, kind, kind}) }
	for _, c := range []struct {
		name  string
		fixed []Fix
		rigid int
		want  []float64
	}{
		{"simply supported", all(textbookHard), 0, []float64{19.7392, 49.3480, 49.3480, 78.9568, 98.6960, 98.6960}},
		{"clamped", all(textbookClamp), 0, []float64{35.9852, 73.3938, 73.3938, 108.2165}},
		{"free", nil, 3, []float64{13.4682, 19.5961, 24.2702, 34.8009, 34.8009}},
		{"four corners", corner, 0, []float64{7.11088, 15.77024, 15.77024, 19.59614, 38.43154}},
	} {
		for _, lumped := range []bool{false, true} {
			modes := modesOf(t, &Model{Mesh: g, Sections: []Section{textbookUnit()}, Fixed: c.fixed}, nil, c.rigid+len(c.want), lumped)
			for i, f := range modes {
				if i < c.rigid {
					if f.Omega != 0 {
						t.Errorf("%s: rigid motion %d swings with %g", c.name, i, f.Omega)
					}
					continue
				}
				want := c.want[i-c.rigid]
				allow := 0.03*want/n/n + 0.002
				if lumped {
					allow = 0.2 * want / n / n
				}
				if off := f.Omega/want - 1; math.Abs(off) > allow {
					t.Errorf("%s, lumped %v: mode %d: %.5g, want %.5g: %.2f %%", c.name, lumped, i, f.Omega, want, 100*off)
				}
			}
		}
	}
}

// A free square's lowest shape is a saddle with nodes along the middle lines, w(x, y) = −w(1−x, y) = −w(x, 1−y), greatest in the
// corners; a supported one's is sin πx·sin πy.
func TestModesShapes(t *testing.T) {
	const n = 12
	g := mesh.Grid(1, 1, n, n, "x")
	f := modesOf(t, &Model{Mesh: g, Sections: []Section{textbookUnit()}}, nil, 4, false)[3]
	at := func(x, y int) float64 { return f.W[y*(n+1)+x] }
	if math.Abs(math.Abs(at(0, 0))-1) > 1e-3 || math.Abs(at(n/2, n/2)) > 1e-6 {
		t.Errorf("corner %g, middle %g", at(0, 0), at(n/2, n/2))
	}
	for i := range n + 1 {
		for j := range n + 1 {
			if math.Abs(at(i, j)+at(n-i, j)) > 1e-6 || math.Abs(at(i, j)+at(i, n-j)) > 1e-6 {
				t.Fatalf("no saddle at %d, %d: %g %g %g", i, j, at(i, j), at(n-i, j), at(i, n-j))
			}
		}
	}
	e := textbookHard
	f = modesOf(t, &Model{Mesh: g, Sections: []Section{textbookUnit()}, Fixed: textbookFix(g, 1, 1, [4]int{e, e, e, e})}, nil, 1, false)[0]
	for i, p := range g.Nodes {
		if want := math.Sin(math.Pi*p.X) * math.Sin(math.Pi*p.Y); math.Abs(f.W[i]-want) > 0.005 {
			t.Fatalf("w %g at %v, want %g", f.W[i], p, want)
		}
	}
}

// A stiff plate on soft springs at its corners moves as a rigid body (closed form): up and down with √(4k/m), and about
// either middle line with √(12k/m), since its inertia is m·a²/12. Springs from soft to very soft: what is small beside the
// sheet's own frequencies keeps its figures.
func TestModesBounce(t *testing.T) {
	const n = 8
	g := mesh.Grid(300, 300, n, n, "x")
	m := &Model{Mesh: g, Sections: []Section{Sheet(70000, 0.3, 10, 2.7e-9)}, Points: []int32{0, n, n * (n + 1), n*(n+1) + n}}
	mass := 300 * 300 * 10 * 2.7e-9
	for _, k := range []float64{1, 1e-3, 1e-6} {
		f := modesOf(t, m, []float64{k, k, k, k}, 4, false)
		allow := 2e-3*k + 1e-9/k // the sheet gives too; rounding
		for i, want := range []float64{4, 12, 12} {
			if got := f[i].Omega * f[i].Omega * mass / k; math.Abs(got/want-1) > allow {
				t.Errorf("k %g: mode %d: ω²·m/k = %.9g, want %g", k, i, got, want)
			}
		}
		if f[3].Hz < 20*f[2].Hz {
			t.Errorf("k %g: the fourth mode swings with %g Hz, it should be the sheet's own", k, f[3].Hz)
		}
	}
}

// What holds a panel in part leaves rigid motions, as many as theory says: two points one, one point two, nothing three, springs
// of nothing too; three points none. Two pieces that touch nowhere have their own.
func TestModesRigid(t *testing.T) {
	const n = 6
	g := mesh.Grid(200, 100, n, n, "/")
	section := []Section{Sheet(70000, 0.3, 2, 2.7e-9)}
	last := int32(len(g.Nodes) - 1)
	points := []int32{0, n, last}
	for _, c := range []struct {
		name    string
		fixed   []Fix
		springs []float64
		rigid   int
	}{
		{"free", nil, nil, 3},
		{"springs of nothing", nil, []float64{0, 0, 0}, 3},
		{"one spring", nil, []float64{5, 0, 0}, 2},
		{"two springs", nil, []float64{5, 0, 8}, 1},
		{"three springs", nil, []float64{5, 1, 8}, 0},
		{"a hinge", []Fix{{Node: 2, W: true, Cross: true, Dir: 0.3}}, nil, 1},
		{"a hinge and a spring on its line", []Fix{{Node: 2, W: true, Cross: true}}, []float64{9, 0, 0}, 1},
		{"a hinge and a spring off its line", []Fix{{Node: 2, W: true, Cross: true}}, []float64{0, 0, 9}, 0},
	} {
		f := modesOf(t, &Model{Mesh: g, Sections: section, Points: points, Fixed: c.fixed}, c.springs, 5, true)
		rigid := 0
		for _, m := range f {
			if m.Hz == 0 {
				rigid++
			} else if m.Hz < 1e-3 {
				t.Errorf("%s: a mode of %g Hz", c.name, m.Hz)
			}
		}
		if rigid != c.rigid {
			t.Errorf("%s: %d rigid motions, want %d", c.name, rigid, c.rigid)
		}
		if c.name == "two springs" { // on the diagonal, about which it turns: nothing moves there
			if w := f[0].W; math.Abs(w[0]) > 1e-9 || math.Abs(w[last]) > 1e-9 || math.Abs(math.Abs(w[n])-1) > 1e-9 {
				t.Errorf("it turns by %g %g %g", w[0], w[n], w[last])
			}
		}
	}
	two := &mesh.Mesh{Nodes: slices.Clone(g.Nodes), Tris: slices.Clone(g.Tris)}
	for _, p := range g.Nodes {
		two.Nodes = append(two.Nodes, plane.Point{X: p.X + 500, Y: p.Y})
	}
	for _, tri := range g.Tris {
		two.Tris = append(two.Tris, [3]int32{tri[0] + last + 1, tri[1] + last + 1, tri[2] + last + 1})
	}
	f := modesOf(t, &Model{Mesh: two, Sections: section}, nil, 10, false)
	one := modesOf(t, &Model{Mesh: g, Sections: section}, nil, 5, false)
	for i, m := range f {
		want := 0.0
		if i >= 6 {
			want = one[3+(i-6)/2].Hz
		}
		if math.Abs(m.Hz-want) > 1e-9*want {
			t.Errorf("two pieces, mode %d: %g Hz, want %g", i, m.Hz, want)
		}
	}
}

// All modes of a small model, and no more than there are: with lumped masses as many as free nodes.
func TestModesAll(t *testing.T) {
	g := mesh.Grid(100, 100, 2, 2, "/")
	m := &Model{Mesh: g, Sections: []Section{Sheet(70000, 0.3, 1, 2.7e-9)}, Fixed: []Fix{{Node: 0, W: true}, {Node: 2, W: true}, {Node: 6, W: true}}}
	if f := modesOf(t, m, nil, 100, true); len(f) != 6 {
		t.Errorf("%d modes of 6 masses", len(f))
	}
	if f := modesOf(t, m, nil, 100, false); len(f) != 24 {
		t.Errorf("%d modes of 24 unknowns", len(f))
	}
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	if f, err := s.Modes(nil, 0, false); err != nil || f != nil {
		t.Errorf("no modes wanted: %v, %v", f, err)
	}
}

// Edges of 1 mm at the points of a panel of 1 m: the answer is that of the even mesh, and residuals stay small.
func TestModesUnevenMesh(t *testing.T) {
	d := mesh.Domain{Region: plane.Region{Outer: plane.Rectangle(1000, 600)}, Size: mesh.Size{Max: 50}}
	at := []plane.Point{{X: 20, Y: 20}, {X: 500, Y: 20}, {X: 980, Y: 20}, {X: 20, Y: 580}, {X: 500, Y: 580}, {X: 980, Y: 580}}
	d.Points = at
	var hz [2][]Mode
	for i, fine := range []bool{false, true} {
		if fine {
			d.Size.Grow = 0.5
			for _, p := range at {
				d.Size.Near = append(d.Size.Near, mesh.Near{At: p, Step: 1})
			}
		} else {
			d.Size.Max = 25
		}
		g, err := mesh.Build(d)
		if err != nil {
			t.Fatal(err)
		}
		m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, 2.5, 1.5e-9)}, Points: g.Points}
		hz[i] = modesOf(t, m, slices.Repeat([]float64{150}, len(at)), 8, fine)
		d.Size.Max = 50
	}
	for i := range hz[0] {
		if a, b := hz[0][i].Hz, hz[1][i].Hz; math.Abs(a/b-1) > 0.02 {
			t.Errorf("mode %d: %g and %g Hz", i, a, b)
		}
	}
}

// The same model, the same bits.
func TestModesDeterministic(t *testing.T) {
	g := mesh.Grid(1, 1, 10, 10, "x")
	m := &Model{Mesh: g, Sections: []Section{textbookUnit()}}
	a, b := modesOf(t, m, nil, 9, false), modesOf(t, m, nil, 9, false)
	for i := range a {
		if a[i].Hz != b[i].Hz || !slices.Equal(a[i].W, b[i].W) {
			t.Errorf("mode %d differs", i)
		}
	}
}

func TestModesRefused(t *testing.T) {
	g := mesh.Grid(1, 1, 2, 2, "x")
	section := textbookUnit()
	section.Mass = 0
	s, err := Assemble(&Model{Mesh: g, Sections: []Section{section}, Points: []int32{0}})
	if err != nil {
		t.Fatal(err)
	}
	var unsound *Unsound
	if _, err := s.Modes(nil, 1, false); !errors.As(err, &unsound) {
		t.Errorf("a panel without mass: %v", err)
	}
	s.Model.Sections[0].Mass = 1
	for _, k := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := s.Modes([]float64{k}, 1, false); !errors.As(err, &unsound) {
			t.Errorf("a spring of %g: %v", k, err)
		}
	}
}

// Ten modes of a panel on six springs.
func BenchmarkModes(b *testing.B) {
	for _, n := range []int{40, 80, 160} {
		g := mesh.Grid(1200, 800, n*3/2, n, "x")
		m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, 2.5, 1.5e-9)}}
		for i, p := range g.Nodes {
			if (p.Y == 0 || p.Y == 800) && (p.X == 0 || p.X == 600 || p.X == 1200) {
				m.Points = append(m.Points, int32(i))
			}
		}
		s, err := Assemble(m)
		if err != nil {
			b.Fatal(err)
		}
		springs := slices.Repeat([]float64{150}, len(m.Points))
		for _, wanted := range []int{1, 10} {
			b.Run(fmt.Sprintf("unknowns=%d/modes=%d", s.Unknowns(), wanted), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := s.Modes(springs, wanted, false); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
