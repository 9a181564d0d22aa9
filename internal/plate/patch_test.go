package plate

import (
	"math"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// patchMesh is the patch of MacNeal & Harder, Finite Elements in Analysis and Design 1 (1985) 3–20, from memory: a rectangle of
// 0.24 × 0.12 cut into five quadrangles by four nodes inside, each of which is cut in two.
func patchMesh() *mesh.Mesh {
	m := &mesh.Mesh{Nodes: []plane.Point{
		{X: 0, Y: 0}, {X: 0.24, Y: 0}, {X: 0.24, Y: 0.12}, {X: 0, Y: 0.12},
		{X: 0.04, Y: 0.02}, {X: 0.18, Y: 0.03}, {X: 0.16, Y: 0.08}, {X: 0.08, Y: 0.08},
	}}
	for _, q := range [][4]int32{{0, 1, 5, 4}, {1, 2, 6, 5}, {2, 3, 7, 6}, {3, 0, 4, 7}, {4, 5, 6, 7}} {
		m.Tris = append(m.Tris, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

// patchSolve imposes w and β on the outer nodes and returns the field.
func patchSolve(t *testing.T, section Section, f func(x, y float64) (w, bx, by float64)) (*System, *Field) {
	t.Helper()
	m := &Model{Mesh: patchMesh(), Sections: []Section{section}}
	given := &Field{W: make([]float64, 8), TX: make([]float64, 8), TY: make([]float64, 8)}
	for i := range 4 {
		m.Fixed = append(m.Fixed, Fix{Node: int32(i), W: true, Along: true, Cross: true})
		w, bx, by := f(m.Mesh.Nodes[i].X, m.Mesh.Nodes[i].Y)
		given.W[i], given.TX[i], given.TY[i] = w, -by, bx
	}
	s, field := textbookSolveVector(t, m, func(s *System) []float64 {
		force := make([]float64, s.Unknowns())
		for tri, nodes := range m.Mesh.Tris {
			e, section := s.triangle(tri)
			var ke [elementEntries]float64
			e.stiffness(section, &ke)
			u := given.element(nodes)
			for i, node := range nodes {
				var v [perNode]float64
				for a := range perNode {
					for b := range elementSize {
						v[a] -= ke[(perNode*i+a)*elementSize+b] * u[b]
					}
				}
				s.addNode(force, node, v[:])
			}
		}
		return force
	})
	for i := range 4 {
		field.W[i], field.TX[i], field.TY[i] = given.W[i], given.TX[i], given.TY[i]
	}
	return s, field
}

// Even curvature imposed on the edge of the patch: exact inside, moments and surface stress those that MacNeal & Harder give
// (from memory; checked by arithmetic).
func TestPatchCurvature(t *testing.T) {
	for name, section := range map[string]Section{
		"thin": Sheet(1e6, 0.25, 0.001, 0).Thin(), "with shear": Sheet(1e6, 0.25, 0.001, 0), "thick": Sheet(1e6, 0.25, 0.1, 0),
		"odd": elementOdd(),
	} {
		w := func(x, y float64) (w, bx, by float64) {
			return 1e-3 * (x*x + x*y + y*y) / 2, -1e-3 * (x + y/2), -1e-3 * (y + x/2)
		}
		s, f := patchSolve(t, section, w)
		const rounding = 1e-12
		for i, p := range s.Model.Mesh.Nodes {
			ww, bx, by := w(p.X, p.Y)
			if math.Abs(f.W[i]-ww) > rounding*1e-5 || math.Abs(f.TX[i]+by) > rounding*1e-4 || math.Abs(f.TY[i]-bx) > rounding*1e-4 {
				t.Errorf("%s: node %d: %g %g %g, want %g %g %g", name, i, f.W[i], f.TX[i], f.TY[i], ww, -by, bx)
			}
		}
		st := s.Stress(f)
		m := elementTimes(&section.D, &[3]float64{-1e-3, -1e-3, -1e-3})
		for p := range st.Node {
			for n := range 3 {
				if math.Abs(st.M[p][n]-m[n]) > 1e-10*math.Abs(m[0]) {
					t.Errorf("%s: place %d: M %v, want %v", name, p, st.M[p], m)
				}
			}
			// Of D·κ/size of the patch: the same rounding, through one more derivative.
			if q := st.Q[p]; math.Hypot(q[0], q[1]) > 1e-9*math.Abs(m[0])/0.1 {
				t.Errorf("%s: place %d: Q %v under even moments", name, p, q)
			}
			if name == "thin" {
				want := [3]float64{-0.6667, -0.6667, -0.2}
				for n, v := range st.At(p, 0) {
					if math.Abs(v-want[n]) > 1e-4 {
						t.Errorf("surface stress %v, want %v", st.At(p, 0), want)
					}
				}
			}
		}
		if name == "thin" && (math.Abs(st.M[0][0]+1.1111e-7) > 1e-11 || math.Abs(st.M[0][2]+3.3333e-8) > 1e-12) {
			t.Errorf("M %v, want 1.1111e-7, 3.3333e-8", st.M[0])
		}
		if st.Error > 1e-9 {
			t.Errorf("%s: error estimate %g of an exact field", name, st.Error)
		}
	}
}

// Even shear strain imposed on a patch that hardly bends, φ ≫ 1: exact inside as 1/φ.
func TestPatchShear(t *testing.T) {
	section := elementOdd()
	for i := range 3 {
		for j := range 3 {
			section.D[i][j] *= 1e6
		}
	}
	s, f := patchSolve(t, section, func(x, y float64) (w, bx, by float64) { return 2e-3*x - 1e-3*y, 0, 0 })
	for i, p := range s.Model.Mesh.Nodes {
		if want := 2e-3*p.X - 1e-3*p.Y; math.Abs(f.W[i]-want) > 1e-7*2e-4 || math.Abs(f.TX[i]) > 1e-10 || math.Abs(f.TY[i]) > 1e-10 {
			t.Errorf("node %d: %g %g %g, want %g", i, f.W[i], f.TX[i], f.TY[i], want)
		}
	}
}

// Rigid motion imposed on the patch: no moments.
func TestPatchRigid(t *testing.T) {
	section := Sheet(1e6, 0.25, 0.001, 0)
	s, f := patchSolve(t, section, func(x, y float64) (w, bx, by float64) { return 3 + 2*x - y, -2, 1 })
	for i, m := range s.Stress(f).M {
		for _, v := range m {
			// D·β/size of the patch is what moments of this size of turning would be.
			if math.Abs(v) > 1e-12*section.D[0][0]*2/0.1 {
				t.Errorf("place %d: M %v", i, m)
			}
		}
	}
}
