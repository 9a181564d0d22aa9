package plate

import (
	"math"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// Elements that were weighed against ours, as far as they fit three corners with w, θx, θy. Written after their formulas, for
// comparison only; from memory, checked by the properties below.

// rivalRow is a strain as a row over the unknowns of a triangle and of an inner node with βx, βy.
type rivalRow [elementSize + 2]float64

func (r *rivalRow) add(f float64, o *rivalRow) {
	for i := range r {
		r[i] += f * o[i]
	}
}

// rivalShape is a triangle with linear w and rotations that are linear but for a bubble 27·λ1λ2λ3 at an inner node.
type rivalShape struct {
	p    [3]plane.Point
	grad [3][2]float64
	area float64
	rise float64 // of the bubble, 27 or none
}

func newRivalShape(p [3]plane.Point, s *Section) rivalShape {
	e := newElementShape(&p, s)
	return rivalShape{p: p, grad: e.grad, area: e.area}
}

// rotation gives βx and βy at area coordinates l; gradient gives them derived along direction d.
func (e *rivalShape) rotation(l [3]float64) (bx, by rivalRow) {
	bubble := e.rise * l[0] * l[1] * l[2]
	for i := range 3 {
		h := l[i] - bubble/3
		by[perNode*i+unknownX], bx[perNode*i+unknownY] = -h, h
	}
	bx[elementSize], by[elementSize+1] = bubble, bubble
	return bx, by
}

func (e *rivalShape) curvature(l [3]float64) (k [3]rivalRow) {
	for d := range 2 {
		g := [3]float64{e.grad[0][d], e.grad[1][d], e.grad[2][d]}
		bubble := e.rise * (g[0]*l[1]*l[2] + l[0]*g[1]*l[2] + l[0]*l[1]*g[2])
		x, y := &k[0], &k[2] // ∂βx/∂x, ∂βy/∂x
		if d == 1 {
			x, y = &k[2], &k[1]
		}
		for i := range 3 {
			h := g[i] - bubble/3
			y[perNode*i+unknownX] -= h
			x[perNode*i+unknownY] += h
		}
		x[elementSize] += bubble
		y[elementSize+1] += bubble
	}
	return k
}

// covariant gives the shear strain along the sides from corner 0: w,r + β·x,r and w,s + β·x,s at (r, s).
func (e *rivalShape) covariant(r, s float64) (er, es rivalRow) {
	bx, by := e.rotation([3]float64{1 - r - s, r, s})
	for i, row := range []*rivalRow{&er, &es} {
		x, y := e.p[i+1].X-e.p[0].X, e.p[i+1].Y-e.p[0].Y
		row.add(x, &bx)
		row.add(y, &by)
		row[unknownW]--
		row[perNode*(i+1)+unknownW]++
	}
	return er, es
}

// assumed is the shear of MITC3+ (Lee, Lee, Bathe, Computers & Structures 138, 2014).
func (e *rivalShape) assumed(r, s float64) (er, es rivalRow) {
	const d = 1e-4
	rA, sA := e.covariant(1./6, 2./3)
	rB, sB := e.covariant(2./3, 1./6)
	rC, sC := e.covariant(1./6, 1./6)
	rD, _ := e.covariant(1./3+d, 1./3-2*d)
	_, sE := e.covariant(1./3-2*d, 1./3+d)
	rF, sF := e.covariant(1./3+d, 1./3+d)
	var c rivalRow
	c.add(1, &rF)
	c.add(-1, &rD)
	c.add(-1, &sF)
	c.add(1, &sE)
	er.add(2./3, &rB)
	er.add(-1./3, &sB)
	es.add(2./3, &sA)
	es.add(-1./3, &rA)
	for _, row := range []*rivalRow{&er, &es} {
		row.add(1./3, &rC)
		row.add(1./3, &sC)
	}
	er.add((3*s-1)/3, &c)
	es.add((1-3*r)/3, &c)
	return er, es
}

// rivalRule is the seven-point rule of degree five: area coordinates and weights over the area.
func rivalRule() (l [7][3]float64, w [7]float64) {
	q := math.Sqrt(15)
	l[0], w[0] = [3]float64{1. / 3, 1. / 3, 1. / 3}, 9./40
	for g, a := range []float64{(6 - q) / 21, (6 + q) / 21} {
		for i := range 3 {
			p := [3]float64{a, a, a}
			p[i] = 1 - 2*a
			l[1+3*g+i], w[1+3*g+i] = p, []float64{(155 - q) / 1200, (155 + q) / 1200}[g]
		}
	}
	return l, w
}

// rivalStiffness fills ke with a triangle of Mindlin and Reissner: MITC3+ when assumed, else the plain linear triangle.
func rivalStiffness(p [3]plane.Point, s *Section, assumed bool, ke *[elementEntries]float64) {
	const n = elementSize + 2
	e := newRivalShape(p, s)
	if assumed {
		e.rise = 27
	}
	var k [n][n]float64
	put := func(f float64, a, b *rivalRow) {
		for i := range n {
			for j := range n {
				k[i][j] += f * a[i] * b[j]
			}
		}
	}
	// Derivatives along r and s to those along x and y.
	x1, y1, x2, y2 := p[1].X-p[0].X, p[1].Y-p[0].Y, p[2].X-p[0].X, p[2].Y-p[0].Y
	det := x1*y2 - x2*y1
	rule, weights := rivalRule()
	for q, l := range rule {
		w := weights[q] * e.area
		kappa := e.curvature(l)
		for a := range 3 {
			for b := range 3 {
				put(w*s.D[a][b], &kappa[a], &kappa[b])
			}
		}
		er, es := e.covariant(l[1], l[2])
		if assumed {
			er, es = e.assumed(l[1], l[2])
		}
		var g [2]rivalRow
		g[0].add(y2/det, &er)
		g[0].add(-y1/det, &es)
		g[1].add(-x2/det, &er)
		g[1].add(x1/det, &es)
		for a := range 2 {
			for b := range 2 {
				put(w*s.S[a][b], &g[a], &g[b])
			}
		}
	}
	if assumed {
		// The inner node goes.
		for c := n - 1; c >= elementSize; c-- {
			for i := range c {
				for j := range c {
					k[i][j] -= k[i][c] * k[c][j] / k[c][c]
				}
			}
		}
	}
	for i := range elementSize {
		for j := range elementSize {
			ke[i*elementSize+j] = k[i][j]
		}
	}
}

// rivalSolve solves a model with elements of the given kind and lumped load, which is theirs.
func rivalSolve(t testing.TB, m *Model, assumed bool, l Load) *Field {
	t.Helper()
	_, f := textbookSolveVector(t, m, func(s *System) []float64 { return s.load(l, textbookLumped) }, func(s *System, tri int, ke *[elementEntries]float64) {
		var p [3]plane.Point
		for i, n := range m.Mesh.Tris[tri] {
			p[i] = m.Mesh.Nodes[n]
		}
		_, section := s.triangle(tri)
		rivalStiffness(p, section, assumed, ke)
	})
	return f
}

// The rivals are what they claim: no energy in rigid motion, even curvature exact, and MITC3+ does not lock while the plain
// triangle does.
func TestRivals(t *testing.T) {
	s := Sheet(7000, 0.35, 2.5, 0)
	for _, assumed := range []bool{false, true} {
		var ke [elementEntries]float64
		rivalStiffness(elementTriangle, &s, assumed, &ke)
		u := elementField(elementTriangle, func(x, y float64) (w, bx, by float64) { return 1 + 2*x - 3*y, -2, 3 })
		if energy, size := elementEnergy(&ke, &u); math.Abs(energy) > 1e-12*size {
			t.Errorf("assumed %v: energy %g of rigid motion", assumed, energy)
		}
	}
	g := mesh.Grid(0.5, 0.5, 8, 8, "x")
	m := &Model{Mesh: g, Sections: []Section{Sheet(1e7, 0.3, 1e-3, 0)}, Fixed: textbookFix(g, 0.5, 0.5, [4]int{textbookHard, textbookHard, textbookMirror, textbookMirror})}
	last := len(g.Nodes) - 1
	d := m.Sections[0].D[0][0]
	if w := rivalSolve(t, m, true, Load{Pressure: 1}).W[last] * d; math.Abs(w/0.00406235-1) > 0.03 {
		t.Errorf("MITC3+: w %.6f", w)
	}
	if w := rivalSolve(t, m, false, Load{Pressure: 1}).W[last] * d; w > 0.1*0.00406235 {
		t.Errorf("the plain triangle does not lock: w %.6f", w)
	}
}
