package plate

import (
	"fmt"
	"math"
	"testing"

	"panelwright/internal/mesh"
)

// textbookUnit is a sheet with D = 1 and ν = 0.3 that knows no shear.
func textbookUnit() Section {
	return Section{D: [3][3]float64{{1, 0.3, 0}, {0.3, 1, 0}, {0, 0, 0.35}}, Mass: 1, Thickness: 1,
		Fibres: []Fibre{{Name: "outer face", Z: 0.5, Q: [3][3]float64{{12, 3.6, 0}, {3.6, 12, 0}, {0, 0, 4.2}}}}}
}

// Edges that textbookSquare knows.
const (
	textbookFree  = iota
	textbookSoft  // w = 0
	textbookHard  // w = 0, no rotation of the edge's normal along the edge
	textbookClamp // all still
	textbookMirror
)

// textbookFix holds an edge of a rectangle w × h: left, bottom, right, top.
func textbookFix(g *mesh.Mesh, w, h float64, edges [4]int) (out []Fix) {
	for i, p := range g.Nodes {
		on := [4]bool{p.X == 0, p.Y == 0, p.X == w, p.Y == h}
		for e, kind := range edges {
			if !on[e] || kind == textbookFree {
				continue
			}
			// The edge's direction: y for left and right.
			f := Fix{Node: int32(i), Dir: []float64{math.Pi / 2, 0, math.Pi / 2, 0}[e]}
			f.W = kind != textbookMirror
			// Rotation about an axis along the edge is the slope across it.
			f.Along = kind == textbookClamp || kind == textbookMirror
			f.Cross = kind == textbookClamp || kind == textbookHard
			out = append(out, f)
		}
	}
	return out
}

// textbookSolve solves a model that is held without interface points.
func textbookSolve(t testing.TB, m *Model, l Load) (*System, *Field) {
	t.Helper()
	return textbookSolveVector(t, m, func(s *System) []float64 { return s.Load(l) })
}

// textbookSolveVector solves for a load vector, with the stiffness of other elements when they are given.
func textbookSolveVector(t testing.TB, m *Model, load func(*System) []float64, elements ...func(s *System, tri int, ke *[elementEntries]float64)) (*System, *Field) {
	t.Helper()
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, fill := range elements {
		s.k = s.gather(func(tri int, ke *[elementEntries]float64) { fill(s, tri, ke) })
	}
	it, err := s.Condense(1)
	if err != nil {
		t.Fatal(err)
	}
	x := load(s)
	it.factor.Forward(x, 1)
	it.factor.Backward(x, 1)
	return s, s.Expand(x)
}

// textbookLumped puts a third of each triangle's load on the w of its corners.
func textbookLumped(e *elementShape, p float64, fe *[elementSize]float64) {
	for i := range elementNodes {
		fe[perNode*i+unknownW] += p * e.area / 3
	}
}

// The table of the discrete Kirchhoff triangle: quarter [0, ½]² of the unit square, supported on x = 0 and y = 0, mirrored on
// the others, N × N squares cut in two, D = 1, ν = 0.3, lumped load: w in the middle under q = 1, under P = 1, and the mean of
// Mx there. Computed by separate code; to the figures that it gives, half a unit in the last.
func TestKirchhoffTable(t *testing.T) {
	rows := []struct {
		n        int
		edge     int
		diagonal string
		q, p, m  float64
	}{
		{1, textbookHard, "/", .0041615, .0124844, .064919}, {1, textbookHard, "\\", .0023386, .0140314, .045880},
		{1, textbookClamp, "/", .0018896, .0056689, .044218}, {1, textbookClamp, "\\", .0010365, .0062189, .032338},
		{2, textbookHard, "/", .0040559, .0116879, .051562}, {2, textbookHard, "\\", .0036756, .0128389, .048373},
		{2, textbookClamp, "/", .0015474, .0058555, .030776}, {2, textbookClamp, "\\", .0012144, .0063598, .024733},
		{4, textbookHard, "/", .0040648, .0116343, .048849}, {4, textbookHard, "\\", .0039725, .0119995, .048186},
		{4, textbookClamp, "/", .0013474, .0057076, .025245}, {4, textbookClamp, "\\", .0012578, .0059108, .023471},
		{8, textbookHard, "/", .0040637, .0116139, .048109}, {8, textbookHard, "\\", .0040406, .0117208, .047988},
		{8, textbookClamp, "/", .0012865, .0056410, .023522}, {8, textbookClamp, "\\", .0012636, .0057078, .023023},
		{16, textbookHard, "/", .0040628, .0116053, .047936}, {16, textbookHard, "\\", .0040570, .0116358, .047918},
		{16, textbookClamp, "/", .0012707, .0056204, .023065}, {16, textbookClamp, "\\", .0012649, .0056409, .022927},
		{32, textbookHard, "/", .0040625, .0116022, .047897}, {32, textbookHard, "\\", .0040610, .0116108, .047896},
		{32, textbookClamp, "/", .0012667, .0056144, .022947}, {32, textbookClamp, "\\", .0012652, .0056205, .022909},
	}
	const half = 0.51 // of a unit in the last figure of the table
	for _, r := range rows {
		t.Run(fmt.Sprintf("%d %s edge %d", r.n, r.diagonal, r.edge), func(t *testing.T) {
			g := mesh.Grid(0.5, 0.5, r.n, r.n, r.diagonal)
			m := &Model{Mesh: g, Sections: []Section{textbookUnit()}, Fixed: textbookFix(g, 0.5, 0.5, [4]int{r.edge, r.edge, textbookMirror, textbookMirror})}
			middle := len(g.Nodes) - 1
			s, f := textbookSolveVector(t, m, func(s *System) []float64 { return s.load(Load{Pressure: 1}, textbookLumped) })
			near := func(what string, got, want, unit float64) {
				if math.Abs(got-want) > half*unit {
					t.Errorf("%s %.8f, the table says %.8f", what, got, want)
				}
			}
			near("w under q", f.W[middle], r.q, 1e-7)
			near("M under q", s.Stress(f).M[middle][0], r.m, 1e-6)
			_, f = textbookSolve(t, m, Load{Points: []PointLoad{{Node: int32(middle), Force: 0.25}}})
			near("w under P", f.W[middle], r.p, 1e-7)
		})
	}
}

// The same element, the whole square on its four corners, diagonals "/", lumped load: w in the middle and in the middle of an
// edge. Computed by separate code, to its seven figures; the limits are 0.0255065 and 0.0177474.
func TestKirchhoffCorners(t *testing.T) {
	for _, c := range []struct {
		n            int
		middle, edge float64
	}{
		{2, .0184494, .0122333}, {4, .0230344, .0157635}, {8, .0247887, .0171813}, {16, .0253166, .0175992}, {32, .0254580, .0177097},
	} {
		g := mesh.Grid(1, 1, c.n, c.n, "/")
		m := &Model{Mesh: g, Sections: []Section{textbookUnit()}}
		for _, i := range []int{0, c.n, c.n * (c.n + 1), c.n*(c.n+1) + c.n} {
			m.Fixed = append(m.Fixed, Fix{Node: int32(i), W: true})
		}
		_, f := textbookSolveVector(t, m, func(s *System) []float64 { return s.load(Load{Pressure: 1}, textbookLumped) })
		if got := f.W[c.n/2*(c.n+1)+c.n/2]; math.Abs(got-c.middle) > 0.51e-7 {
			t.Errorf("%d: w in the middle %.8f, the table says %.7f", c.n, got, c.middle)
		}
		if got := f.W[c.n/2]; math.Abs(got-c.edge) > 0.51e-7 {
			t.Errorf("%d: w at the edge %.8f, the table says %.7f", c.n, got, c.edge)
		}
	}
}
