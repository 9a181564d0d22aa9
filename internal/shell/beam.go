package shell

import (
	"math"

	"panelwright/internal/plane"
)

// Beam is a stiffener along one edge of the mesh: a rib, a return, a swage or a tube that is bonded or folded to the sheet all along. Its
// section moves with the sheet's normal, so that its axis, Offset outward of the sheet's middle, stretches when the sheet bends.
//
// Its energy per length is ½·EA·ε² + ½·EI·κ² + ½·GJ·τ², with ε the mean stretch of its axis over the edge, ends' rotations included (so
// that offset bending does not lock against it), κ the curvature of the cubic that the edge's deflections and slopes give, τ its twist.
type Beam struct {
	From, To int32   // nodes of one triangle's edge
	EA       float64 // N
	EI       float64 // N·mm², out of the sheet, about its own axis
	GJ       float64 // N·mm²
	Offset   float64 // mm, of its axis outward of the sheet's middle
}

// beamPart is what stays of a beam while the sheet moves.
type beamPart struct {
	Beam
	tri    int // a triangle that has the edge: where its stiffness goes
	corner [2]int
	dir    plane.Point // unit, from From to To
	length float64
	slope  float64 // ∇w₀ along it
	bend   [10][10]float64
}

// beamAt finds the triangle of a beam's edge.
func (m *Model) beamAt(b Beam) (tri int, corner [2]int, ok bool) {
	for t, q := range m.Mesh.Tris {
		for i := range 3 {
			j := (i + 1) % 3
			if q[i] == b.From && q[j] == b.To {
				return t, [2]int{i, j}, true
			}
			if q[i] == b.To && q[j] == b.From {
				return t, [2]int{j, i}, true
			}
		}
	}
	return 0, corner, false
}

func newBeam(m *Model, b Beam, tri int, corner [2]int) beamPart {
	p := beamPart{Beam: b, tri: tri, corner: corner}
	d := m.Mesh.Nodes[b.To].Sub(m.Mesh.Nodes[b.From])
	p.length = d.Len()
	p.dir = d.Scale(1 / p.length)
	if m.Height != nil {
		p.slope = (m.Height[b.To] - m.Height[b.From]) / p.length
	}
	// κ at ξ in [0, 1] of the cubic through w and w' at both ends; w' = −β·t, β = (RY, −RX).
	const points = 2
	for q := range points {
		xi := 0.5 + (float64(q)-0.5)/math.Sqrt(3)
		l := p.length
		h := [4]float64{(12*xi - 6) / (l * l), (6*xi - 4) / l, (6 - 12*xi) / (l * l), (6*xi - 2) / l} // of w1, w1', w2, w2'
		var row [10]float64
		for end := range 2 {
			row[5*end+W] = h[2*end]
			bx, by := p.rotation(end)
			row[bx.at] -= h[2*end+1] * bx.by
			row[by.at] -= h[2*end+1] * by.by
		}
		for a := range row {
			for c := range row {
				p.bend[a][c] += b.EI * row[a] * row[c] * l / points
			}
		}
	}
	// Twist: the difference of the normal's turn about the axis.
	var row [10]float64
	for end := range 2 {
		sign := float64(2*end-1) / p.length
		row[5*end+RX] = sign * p.dir.X
		row[5*end+RY] = sign * p.dir.Y
	}
	for a := range row {
		for c := range row {
			p.bend[a][c] += b.GJ * row[a] * row[c] * p.length
		}
	}
	return p
}

// beamTerm is an unknown of the beam's ten with its factor.
type beamTerm struct {
	at int
	by float64
}

// rotation is the normal's turn towards the beam's direction at an end, β·t = RY·tx − RX·ty, as two terms.
func (p *beamPart) rotation(end int) (a, b beamTerm) {
	return beamTerm{5*end + RY, p.dir.X}, beamTerm{5*end + RX, -p.dir.Y}
}

// unknowns takes the beam's ten unknowns out of its triangle's.
func (p *beamPart) unknowns(u *[15]float64) (q [10]float64) {
	for end, c := range p.corner {
		copy(q[5*end:], u[5*c:5*c+5])
	}
	return q
}

// stretch is the mean stretch of the beam's axis, its derivatives, and what w adds to the edge's slope.
func (p *beamPart) stretch(q *[10]float64) (eps float64, row [10]float64, g float64) {
	l := p.length
	g = (q[5+W] - q[W]) / l
	for end := range 2 {
		sign := float64(2*end-1) / l
		row[5*end+U] = sign * p.dir.X
		row[5*end+V] = sign * p.dir.Y
		a, b := p.rotation(end)
		row[a.at] += sign * p.Offset * a.by
		row[b.at] += sign * p.Offset * b.by
	}
	for a := range row {
		eps += row[a] * q[a]
	}
	eps += g*g/2 + p.slope*g
	for end := range 2 {
		row[5*end+W] += float64(2*end-1) / l * (g + p.slope)
	}
	return eps, row, g
}

// energy is ½·EA·ε²·l and the rest.
func (p *beamPart) energy(u *[15]float64) float64 {
	q := p.unknowns(u)
	eps, _, _ := p.stretch(&q)
	e := p.EA * eps * eps * p.length / 2
	for a := range q {
		for c := range q {
			e += q[a] * p.bend[a][c] * q[c] / 2
		}
	}
	return e
}

// addForces adds what the beam pushes back with to its triangle's forces, and the magnitudes of its terms to mag.
func (p *beamPart) addForces(u, out, mag *[15]float64) {
	q := p.unknowns(u)
	eps, row, _ := p.stretch(&q)
	for a := range q {
		at := 5*p.corner[a/5] + a%5
		v := p.EA * eps * row[a] * p.length
		out[at], mag[at] = out[at]+v, mag[at]+math.Abs(v)
		for c := range q {
			v := p.bend[a][c] * q[c]
			out[at], mag[at] = out[at]+v, mag[at]+math.Abs(v)
		}
	}
}

// addTangent adds the beam's stiffness to its triangle's.
func (p *beamPart) addTangent(u *[15]float64, ke *[15][15]float64, safe bool) {
	q := p.unknowns(u)
	eps, row, _ := p.stretch(&q)
	for a := range q {
		for c := range q {
			ke[5*p.corner[a/5]+a%5][5*p.corner[c/5]+c%5] += p.EA*row[a]*row[c]*p.length + p.bend[a][c]
		}
	}
	// The stretch is not linear in w: N·∂²ε/∂w².
	n := p.EA * eps / p.length
	if safe {
		n = max(n, 0)
	}
	for i, a := range p.corner {
		for j, c := range p.corner {
			sign := float64((2*i - 1) * (2*j - 1))
			ke[5*a+W][5*c+W] += n * sign
		}
	}
}

// BeamForce is the axial force (N, tension positive) of beam i at x, and its mean bending moment (N·mm) about its own axis, positive where
// it stretches what lies outward of the axis.
func (s *System) BeamForce(i int, x []float64) (axial, moment float64) {
	p := &s.beams[i]
	u := s.gather(&s.tris[p.tri], x)
	q := p.unknowns(&u)
	eps, _, _ := p.stretch(&q)
	// Mean κ over the edge is the difference of end slopes: −Δw'/l = Δ(β·t)/l.
	turn := 0.0
	for end := range 2 {
		a, b := p.rotation(end)
		turn += float64(2*end-1) * (a.by*q[a.at] + b.by*q[b.at])
	}
	return p.EA * eps, p.EI * turn / p.length
}
