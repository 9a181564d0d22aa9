package plate

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// wildMesh is a panel with round corners and a round cut-out, with twelve interface points, of which two lie near its edges.
func wildMesh(t *testing.T, edge float64) *mesh.Mesh {
	t.Helper()
	outer, err := plane.RoundedRectangle(600, 400, 40)
	if err != nil {
		t.Fatal(err)
	}
	d := mesh.Domain{Region: plane.Region{Outer: outer, CutOuts: []plane.Path{plane.CircleAt(plane.Point{X: 380, Y: 220}, 60)}}.Normalise()}
	for _, p := range [][2]float64{{30, 30}, {220, 20}, {400, 20}, {570, 30}, {580, 200}, {570, 370}, {380, 380}, {200, 380}, {30, 370}, {20, 210}, {381, 152}, {300.5, 399.2}} {
		d.Points = append(d.Points, plane.Point{X: p[0], Y: p[1]})
	}
	d.Size.Max = edge
	g, err := mesh.Build(d)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// Whatever the sheets' stiffness ratio, on uneven meshes with cut-outs: S takes no force from rigid motions, the condensed
// load balances the whole load in force and moments, and the field has the given w and is finite.
func TestWildPanels(t *testing.T) {
	for _, ratio := range []float64{1e-6, 1e-3, 1, 1e3, 1e6} {
		for _, edge := range []float64{60, 15} {
			g := wildMesh(t, edge)
			soft := Sheet(7000, 0.35, 2.5, 1.5e-9)
			stiff := Sheet(7000*ratio, 0.35, 2.5, 1.5e-9)
			m := &Model{Mesh: g, Sections: []Section{soft, stiff}, Of: make([]int32, len(g.Tris)), Points: g.Points}
			for i, tri := range g.Tris {
				if g.Nodes[tri[0]].X > 300 {
					m.Of[i] = 1
				}
			}
			name := fmt.Sprintf("ratio %g, edges %g", ratio, edge)
			s, err := Assemble(m)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			it, err := s.Condense(0)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			l := Load{Pressure: 1e-3, Accel: 9810, Points: []PointLoad{{Node: int32(len(g.Nodes) / 2), Force: 20}}}
			r := it.Reduce([]Load{l})
			wildBalance(t, name, it, l, r.F[0])
			w := make([]float64, it.Points())
			for i := range w {
				w[i] = math.Sin(float64(i))
			}
			f := it.Field(r, 0, w)
			for i, p := range m.Points {
				if f.W[p] != w[i] {
					t.Errorf("%s: point %d stands at %g, given %g", name, i, f.W[p], w[i])
				}
			}
			st := s.Stress(f)
			for _, v := range slices.Concat(f.W, f.TX, f.TY, []float64{st.Error}) {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: %g in the field", name, v)
				}
			}
			for p := range st.M {
				for _, v := range []float64{st.M[p][0], st.M[p][1], st.M[p][2], st.Q[p][0], st.Q[p][1]} {
					if math.IsNaN(v) || math.IsInf(v, 0) {
						t.Fatalf("%s: %g at place %d", name, v, p)
					}
				}
			}
		}
	}
}

// wildBalance checks S and a condensed load against the three rigid motions.
func wildBalance(t *testing.T, name string, it *Interface, l Load, f []float64) {
	t.Helper()
	m := it.System.Model
	var whole, mx, my, lever float64
	add := func(force float64, p plane.Point) {
		whole, mx, my = whole+force, mx+force*p.X, my+force*p.Y
		lever += math.Abs(force) * 600
	}
	for i, tri := range m.Mesh.Tris {
		e, section := it.System.triangle(i)
		a, b, c := m.Mesh.Nodes[tri[0]], m.Mesh.Nodes[tri[1]], m.Mesh.Nodes[tri[2]]
		add((l.Pressure+l.Accel*section.Mass)*e.area, plane.Point{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3})
	}
	for _, p := range l.Points {
		add(p.Force, m.Mesh.Nodes[p.Node])
	}
	all := lever / 600
	n := it.Points()
	top := 0.0
	for _, v := range it.S {
		top = max(top, math.Abs(v))
	}
	for i, p := range m.Points {
		whole, mx, my = whole-f[i], mx-f[i]*m.Mesh.Nodes[p].X, my-f[i]*m.Mesh.Nodes[p].Y
		for motion, w := range []func(p plane.Point) float64{
			func(plane.Point) float64 { return 1 }, func(p plane.Point) float64 { return p.X / 600 }, func(p plane.Point) float64 { return p.Y / 600 },
		} {
			force, size := 0.0, 0.0
			for j, q := range m.Points {
				force += it.S[i*n+j] * w(m.Mesh.Nodes[q])
				size += math.Abs(it.S[i*n+j])
			}
			// A soft row beside stiff ones has the stiff ones' rounding.
			if math.Abs(force) > 1e-8*max(size, top/100) {
				t.Errorf("%s: point %d: force %g of %g in rigid motion %d", name, i, force, size, motion)
			}
		}
	}
	// The condensed load is worked out through the factor: its rounding grows with the condition of the soft part.
	if math.Abs(whole) > 1e-8*all || math.Abs(mx) > 1e-8*lever || math.Abs(my) > 1e-8*lever {
		t.Errorf("%s: out of balance: %g of %g N, %g and %g of %g N·mm", name, whole, all, mx, my, lever)
	}
}

// A clamped disc on a mesh without order, from its outline: closed form w = q·a⁴/(64·D), M = (1+ν)·q·a²/16.
func TestUnevenDisc(t *testing.T) {
	d := mesh.Domain{Region: plane.Region{Outer: plane.CircleAt(plane.Point{X: 50, Y: -20}, 100)}.Normalise(), Points: []plane.Point{{X: 50, Y: -20}}}
	for _, c := range []struct{ edge, w, m float64 }{{12, 0.006, 0.015}, {6, 0.002, 0.006}, {3, 0.001, 0.002}} {
		d.Size = mesh.Size{Max: c.edge, Flat: 0.002 * c.edge}
		g, err := mesh.Build(d)
		if err != nil {
			t.Fatal(err)
		}
		m := &Model{Mesh: g, Sections: []Section{Sheet(70000, 0.3, 1, 2.7e-9)}}
		for _, b := range g.Border {
			m.Fixed = append(m.Fixed, Fix{Node: b.From, W: true, Along: true, Cross: true})
		}
		s, f := textbookSolve(t, m, Load{Pressure: 1e-3})
		st := s.Stress(f)
		at := g.Points[0]
		wantW, wantM := 1e-3*1e8/(64*m.Sections[0].D[0][0]), 1.3*1e-3*1e4/16
		if math.Abs(f.W[at]/wantW-1) > c.w || math.Abs(st.M[at][0]/wantM-1) > c.m {
			t.Errorf("edges of %g: w %.5f of %.5f, M %.4f of %.4f", c.edge, f.W[at], wantW, st.M[at][0], wantM)
		}
		t.Logf("edges of %g, %d nodes: w %+.3f %%, M %+.3f %%, estimate %.3f", c.edge, len(g.Nodes), 100*(f.W[at]/wantW-1), 100*(st.M[at][0]/wantM-1), st.Error)
	}
}
