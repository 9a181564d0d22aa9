package validation

import (
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/sparse"
)

// hold says what is held at a place: w, the rotation about x, the rotation about y.
type hold func(p plane.Point) (w, tx, ty bool)

// fixed lists what hold holds.
func fixed(m *mesh.Mesh, h hold) []plate.Fix {
	var out []plate.Fix
	for i, p := range m.Nodes {
		if w, tx, ty := h(p); w || tx || ty {
			out = append(out, plate.Fix{Node: int32(i), W: w, Along: tx, Cross: ty})
		}
	}
	return out
}

// solution is a solved sheet.
type solution struct {
	m *mesh.Mesh
	s *plate.System
	f *plate.Field
	t *plate.Stress
	x []float64
}

// solve solves a sheet held at fixed nodes.
func solve(model *plate.Model, l plate.Load) solution {
	s, err := plate.Assemble(model)
	if err != nil {
		panic("validation: " + err.Error())
	}
	f, err := s.Plan().Factor(s.Stiffness(), sparse.Options{})
	if err != nil {
		panic("validation: " + err.Error())
	}
	x := s.Load(l)
	if err := f.Solve(x); err != nil {
		panic("validation: " + err.Error())
	}
	out := solution{m: model.Mesh, s: s, f: s.Expand(x), x: x}
	out.t = s.Stress(out.f)
	return out
}

// node is the node nearest to a place.
func node(m *mesh.Mesh, p plane.Point) int32 {
	best, near := int32(0), math.Inf(1)
	for i, q := range m.Nodes {
		if d := p.Dist(q); d < near {
			best, near = int32(i), d
		}
	}
	return best
}

func (s solution) w(x, y float64) float64 { return s.f.W[node(s.m, plane.Point{X: x, Y: y})] }

// moment is Mx, My or Mxy (k = 0, 1, 2) at the node nearest to a place, smoothed.
func (s solution) moment(x, y float64, k int) float64 {
	return s.momentAt(node(s.m, plane.Point{X: x, Y: y}), k)
}

// momentAt is the same at a node. A sheet of one section has a place of stress for each node, in their order.
func (s solution) momentAt(n int32, k int) float64 {
	if s.t.Node[n] != n {
		panic("validation: a node without stress")
	}
	return s.t.M[n][k]
}

const same = 1e-9 // mm: nodes of grids stand exactly where they should, but for rounding

func at(a, b float64) bool { return math.Abs(a-b) < same }

// unit is a sheet whose bending stiffness D is 1 and which does not shear: results are the books' coefficients.
func unit(nu float64) plate.Section { return plate.Sheet(12*(1-nu*nu), nu, 1, 1).Thin() }
