// Package shell is a shallow sheet that bends and stretches: the plate of package plate with the membrane under it, by the strains of von
// Kármán and Marguerre [marguerre38]
//
//	ε = ∇ₛu + ½·∇w⊗∇w + (∇w₀⊗∇w)ₛ ,  κ = −∇∇w
//
// on the sheet's plan, w₀ its height before loading. Deflections may be many thicknesses, slopes stay small: SlopeMost says how small.
//
// Bending is by the discrete Kirchhoff–Mindlin triangle. The membrane runs u, v, w and w₀ linearly over each triangle, so that its strain
// is that of its three sides' lengths, and neighbours share a side's: a sheet of flat triangles, which bends without stretching where the
// sheet does. Curvature within a triangle, which locks thin curved elements of higher order, does not arise; what is left is the mesh's
// own error, of second order.
package shell

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/sparse"
)

// SlopeMost is the slope of the unloaded or the loaded sheet up to which shallow-shell strains are taken to hold: at 0.3 what they leave
// out of a length, ⅛·slope⁴, is 0.1 %, of a curvature, some slope²/2, 5 %. Common practice, no source for the bound.
const SlopeMost = 0.3

// The unknowns of a node, in this order: movement in the plane (mm), outward deflection (mm), rotation vector (rad).
const (
	U = iota
	V
	W
	RX
	RY
	perNode
)

// Model is a sheet as the computation sees it.
type Model struct {
	Mesh     *mesh.Mesh
	Sections []plate.Section // A, D, S and Mass; B is not modelled yet
	Of       []int32         // section of each triangle; nil: all the first
	Height   []float64       // w₀ of each node, mm; nil: flat
	Fixed    []Fix
	Springs  []Spring
	Pins     []Pin
	Beams    []Beam
}

// Fix holds unknowns of a node where they are.
type Fix struct {
	Node int32
	At   [perNode]bool
}

// Spring holds one unknown of a node with a rate, N/mm or N·mm/rad, about where it was unloaded.
type Spring struct {
	Node int32
	At   int // U, V, W, RX or RY
	Rate float64
}

// Load is what acts. Pressure and PointLoad are dead: they keep their direction.
type Load struct {
	Pressure float64 // MPa on the plan, outward
	Points   []PointLoad
}

// PointLoad is a force (N) on an unknown of a node, or a moment (N·mm).
type PointLoad struct {
	Node  int32
	At    int
	Force float64
}

// System is a model as equations. It is safe for use by several goroutines.
type System struct {
	Model  *Model
	plan   *sparse.Plan
	shape  sparse.Shape
	number []int32 // perNode·node + place → unknown, −1 where fixed
	tris   []triangle
	beams  []beamPart
	on     map[int][]int // beams by the triangle that they are added to
	n      int
}

// triangle is what stays of an element while the sheet moves.
type triangle struct {
	node    [3]int32
	area    float64
	grad    [3][2]float64 // of the area coordinates
	slope   [2]float64    // ∇w₀
	bending [81]float64
	section *plate.Section
}

// Unsound says what is wrong with a model.
type Unsound struct{ Place, Reason string }

// Error says it in words.
func (e *Unsound) Error() string { return "shell model: " + e.Place + ": " + e.Reason }

// Assemble builds the equations of a model. *Unsound when it is none.
func Assemble(m *Model) (*System, error) {
	if m.Mesh == nil || len(m.Mesh.Tris) == 0 || len(m.Sections) == 0 {
		return nil, &Unsound{"mesh", "no triangles, or no section"}
	}
	if m.Height != nil && len(m.Height) != len(m.Mesh.Nodes) || m.Of != nil && len(m.Of) != len(m.Mesh.Tris) {
		return nil, &Unsound{"mesh", "heights or sections are not one for each node or triangle"}
	}
	for i, s := range m.Sections {
		for a := range 3 {
			for b := range 3 {
				if s.B[a][b] != 0 {
					return nil, &Unsound{fmt.Sprintf("section %d", i), "stretching and bending are coupled (B): not modelled"}
				}
			}
		}
		if !(s.A[0][0] > 0) || !(s.D[0][0] > 0) {
			return nil, &Unsound{fmt.Sprintf("section %d", i), "no stiffness"}
		}
	}
	for i, p := range m.Pins {
		if p.Node < 0 || int(p.Node) >= len(m.Mesh.Nodes) {
			return nil, &Unsound{fmt.Sprintf("pin %d", i), fmt.Sprintf("node %d of %d", p.Node, len(m.Mesh.Nodes))}
		}
		if !(p.Clearance >= 0 && p.Rate > 0 && p.Centre >= 0) || math.IsInf(p.Clearance+p.Rate+p.Centre, 0) {
			return nil, &Unsound{fmt.Sprintf("pin %d", i), fmt.Sprintf("clearance %g mm, rate %g N/mm, centring rate %g N/mm: none may be negative, the rate more than nothing", p.Clearance, p.Rate, p.Centre)}
		}
	}
	s := &System{Model: m}
	s.number = make([]int32, perNode*len(m.Mesh.Nodes))
	for _, f := range m.Fixed {
		if f.Node < 0 || int(f.Node) >= len(m.Mesh.Nodes) {
			return nil, &Unsound{"fixed", fmt.Sprintf("node %d of %d", f.Node, len(m.Mesh.Nodes))}
		}
		for k, on := range f.At {
			if on {
				s.number[perNode*int(f.Node)+k] = -1
			}
		}
	}
	shape := sparse.Shape{Start: make([]int32, 1, len(m.Mesh.Nodes)+1)}
	next := int32(0)
	for i, p := range m.Mesh.Nodes {
		shape.X, shape.Y = append(shape.X, p.X), append(shape.Y, p.Y)
		for k := range perNode {
			if u := &s.number[perNode*i+k]; *u == 0 {
				*u = next
				next++
			}
		}
		shape.Start = append(shape.Start, next)
	}
	s.n = int(next)
	for t := range m.Mesh.Tris {
		shape.Elements = append(shape.Elements, m.Mesh.Tris[t][:])
		s.tris = append(s.tris, newTriangle(m, t))
	}
	s.on = map[int][]int{}
	for i, b := range m.Beams {
		t, corner, ok := m.beamAt(b)
		if !ok {
			return nil, &Unsound{fmt.Sprintf("beam %d", i), fmt.Sprintf("nodes %d and %d are no edge of the mesh", b.From, b.To)}
		}
		s.on[t] = append(s.on[t], len(s.beams))
		s.beams = append(s.beams, newBeam(m, b, t, corner))
	}
	plan, err := sparse.Analyse(shape)
	if err != nil {
		return nil, err
	}
	s.plan, s.shape = plan, shape
	return s, nil
}

func newTriangle(m *Model, t int) triangle {
	tri := m.Mesh.Tris[t]
	e := triangle{node: tri, section: &m.Sections[0]}
	if m.Of != nil {
		e.section = &m.Sections[m.Of[t]]
	}
	var p [3]plane.Point
	for k := range 3 {
		p[k] = m.Mesh.Nodes[tri[k]]
	}
	twice := p[1].Sub(p[0]).Cross(p[2].Sub(p[0]))
	e.area = twice / 2
	for k := range 3 {
		side := p[(k+2)%3].Sub(p[(k+1)%3])
		e.grad[k] = [2]float64{-side.Y / twice, side.X / twice}
		if m.Height != nil {
			h := m.Height[tri[k]]
			e.slope[0] += h * e.grad[k][0]
			e.slope[1] += h * e.grad[k][1]
		}
	}
	e.bending = plate.BendingStiffness(p, e.section)
	return e
}

// Unknowns is how many unknowns are free.
func (s *System) Unknowns() int { return s.n }

// Load gives the load vector. Pressure acts on w alone, by thirds of each triangle.
func (s *System) Load(l Load) []float64 {
	f := make([]float64, s.n)
	add := func(node int32, at int, v float64) {
		if u := s.number[perNode*int(node)+at]; u >= 0 {
			f[u] += v
		}
	}
	for i := range s.tris {
		e := &s.tris[i]
		for _, n := range e.node {
			add(n, W, l.Pressure*e.area/3)
		}
	}
	for _, p := range l.Points {
		add(p.Node, p.At, p.Force)
	}
	return f
}

// Field is a sheet that has moved: U, V, W, RX, RY of each node.
type Field [perNode][]float64

// Expand turns free unknowns into a field over the nodes.
func (s *System) Expand(x []float64) (f Field) {
	for k := range f {
		f[k] = make([]float64, len(s.Model.Mesh.Nodes))
		for i := range f[k] {
			if u := s.number[perNode*i+k]; u >= 0 {
				f[k][i] = x[u]
			}
		}
	}
	return f
}

// strain is a triangle's membrane strain (engineering shear last) and what w adds to its slope.
func (e *triangle) strain(u *[15]float64) (eps [3]float64, g [2]float64) {
	for k := range 3 {
		b := e.grad[k]
		eps[0] += b[0] * u[5*k+U]
		eps[1] += b[1] * u[5*k+V]
		eps[2] += b[1]*u[5*k+U] + b[0]*u[5*k+V]
		g[0] += b[0] * u[5*k+W]
		g[1] += b[1] * u[5*k+W]
	}
	eps[0] += g[0]*g[0]/2 + e.slope[0]*g[0]
	eps[1] += g[1]*g[1]/2 + e.slope[1]*g[1]
	eps[2] += g[0]*g[1] + e.slope[0]*g[1] + e.slope[1]*g[0]
	return eps, g
}

// force is N = A·ε, N/mm.
func (e *triangle) force(eps [3]float64) (n [3]float64) {
	for a := range 3 {
		for b := range 3 {
			n[a] += e.section.A[a][b] * eps[b]
		}
	}
	return n
}

// rows is how each of the 15 unknowns changes the strain: ∂ε/∂u.
func (e *triangle) rows(g [2]float64) (r [15][3]float64) {
	tx, ty := e.slope[0]+g[0], e.slope[1]+g[1]
	for k := range 3 {
		b := e.grad[k]
		r[5*k+U] = [3]float64{b[0], 0, b[1]}
		r[5*k+V] = [3]float64{0, b[1], b[0]}
		r[5*k+W] = [3]float64{tx * b[0], ty * b[1], tx*b[1] + ty*b[0]}
	}
	return r
}

// gather takes a triangle's unknowns out of x.
func (s *System) gather(e *triangle, x []float64) (u [15]float64) {
	for k, n := range e.node {
		for a := range perNode {
			if at := s.number[perNode*int(n)+a]; at >= 0 {
				u[5*k+a] = x[at]
			}
		}
	}
	return u
}

// Energy is the strain energy of the sheet and its springs at x, N·mm.
func (s *System) Energy(x []float64) (sum float64) {
	for i := range s.tris {
		e := &s.tris[i]
		u := s.gather(e, x)
		eps, _ := e.strain(&u)
		n := e.force(eps)
		for a := range 3 {
			sum += e.area * n[a] * eps[a] / 2
		}
		q := bendingOf(&u)
		for a := range 9 {
			for b := range 9 {
				sum += q[a] * e.bending[9*a+b] * q[b] / 2
			}
		}
		for _, b := range s.on[i] {
			sum += s.beams[b].energy(&u)
		}
	}
	for _, p := range s.Model.Springs {
		if u := s.number[perNode*int(p.Node)+p.At]; u >= 0 {
			sum += p.Rate * x[u] * x[u] / 2
		}
	}
	for _, p := range s.Model.Pins {
		sum += p.energy(s.moved(p.Node, x))
	}
	return sum
}

// bendingPlace is where the bending element's unknowns stand among a triangle's.
var bendingPlace = [9]int{W, RX, RY, 5 + W, 5 + RX, 5 + RY, 10 + W, 10 + RX, 10 + RY}

func bendingOf(u *[15]float64) (q [9]float64) {
	for a, p := range bendingPlace {
		q[a] = u[p]
	}
	return q
}

// Forces is what the sheet and its springs push back with at x: the derivative of Energy.
func (s *System) Forces(x []float64) []float64 {
	f, _ := s.forces(x)
	return f
}

// forces is Forces, and the sum of the magnitudes that each of them was added up from: what rounding is measured by.
func (s *System) forces(x []float64) (f, of []float64) {
	f, of = make([]float64, s.n), make([]float64, s.n)
	for i := range s.tris {
		e := &s.tris[i]
		u := s.gather(e, x)
		eps, g := e.strain(&u)
		n := e.force(eps)
		rows := e.rows(g)
		var out, mag [15]float64
		for a := range rows {
			for k := range 3 {
				v := e.area * rows[a][k] * n[k]
				out[a], mag[a] = out[a]+v, mag[a]+math.Abs(v)
			}
		}
		q := bendingOf(&u)
		for a, p := range bendingPlace {
			for b := range 9 {
				v := e.bending[9*a+b] * q[b]
				out[p], mag[p] = out[p]+v, mag[p]+math.Abs(v)
			}
		}
		for _, b := range s.on[i] {
			s.beams[b].addForces(&u, &out, &mag)
		}
		for k, node := range e.node {
			for a := range perNode {
				if at := s.number[perNode*int(node)+a]; at >= 0 {
					f[at], of[at] = f[at]+out[5*k+a], of[at]+mag[5*k+a]
				}
			}
		}
	}
	for _, p := range s.Model.Springs {
		if u := s.number[perNode*int(p.Node)+p.At]; u >= 0 {
			f[u], of[u] = f[u]+p.Rate*x[u], of[u]+math.Abs(p.Rate*x[u])
		}
	}
	for _, p := range s.Model.Pins {
		d := s.moved(p.Node, x)
		hold := p.Hold(d)
		for k, at := range [2]int{U, V} {
			if u := s.number[perNode*int(p.Node)+at]; u >= 0 {
				f[u], of[u] = f[u]+hold[k], of[u]+p.Rate*(math.Abs(d[k])+p.Clearance)
			}
		}
	}
	return f, of
}

// Slope is the greatest slope of the sheet at x, unloaded height included.
func (s *System) Slope(x []float64) (most float64) {
	for i := range s.tris {
		e := &s.tris[i]
		u := s.gather(e, x)
		_, g := e.strain(&u)
		most = max(most, math.Hypot(e.slope[0], e.slope[1]), math.Hypot(e.slope[0]+g[0], e.slope[1]+g[1]))
	}
	return most
}
