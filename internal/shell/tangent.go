package shell

import (
	"math"

	"panelwright/internal/sparse"
)

// Tangent is the derivative of Forces at x.
func (s *System) Tangent(x []float64) *sparse.Matrix { return s.tangent(s.plan, x, false) }

// tangent is Tangent by a plan of its own. With safe, compression does not soften the sheet against w: such a matrix is never indefinite for
// want of a state, and its steps lead to one; where one is, the true tangent says whether it stays.
func (s *System) tangent(plan *sparse.Plan, x []float64, safe bool) *sparse.Matrix {
	k := plan.NewMatrix()
	for i := range s.tris {
		e := &s.tris[i]
		u := s.gather(e, x)
		eps, g := e.strain(&u)
		n := e.force(eps)
		rows := e.rows(g)
		var ke [15][15]float64
		for a := range rows {
			an := e.force(rows[a]) // A·∂ε/∂u
			for b := range rows {
				ke[a][b] = e.area * (an[0]*rows[b][0] + an[1]*rows[b][1] + an[2]*rows[b][2])
			}
		}
		if safe {
			n = pulling(n)
		}
		for a := range 3 {
			for b := range 3 {
				ga, gb := e.grad[a], e.grad[b]
				ke[5*a+W][5*b+W] += e.area * (n[0]*ga[0]*gb[0] + n[1]*ga[1]*gb[1] + n[2]*(ga[0]*gb[1]+ga[1]*gb[0]))
			}
		}
		for a, p := range bendingPlace {
			for b, q := range bendingPlace {
				ke[p][q] += e.bending[9*a+b]
			}
		}
		for _, b := range s.on[i] {
			s.beams[b].addTangent(&u, &ke, safe)
		}
		s.addTriangle(k, i, &ke)
	}
	for _, p := range s.Model.Springs {
		if u := s.number[perNode*int(p.Node)+p.At]; u >= 0 {
			k.Add(int(u), int(u), p.Rate)
		}
	}
	for _, p := range s.Model.Pins {
		kp := p.tangent(s.moved(p.Node, x))
		at := [2]int32{s.number[perNode*int(p.Node)+U], s.number[perNode*int(p.Node)+V]}
		for a := range 2 {
			for b := range a + 1 {
				if at[a] >= 0 && at[b] >= 0 {
					k.Add(int(at[a]), int(at[b]), kp[a][b])
				}
			}
		}
	}
	return k
}

// pulling is the part of the membrane forces n that pulls: its principal forces, those that press left out.
func pulling(n [3]float64) [3]float64 {
	mid, half := (n[0]+n[1])/2, (n[0]-n[1])/2
	r := math.Hypot(half, n[2])
	hi, lo := mid+r, mid-r
	switch {
	case lo >= 0:
		return n
	case hi <= 0:
		return [3]float64{}
	}
	// hi·t⊗t with t along the greater.
	c2, s2 := 1.0, 0.0
	if r > 0 {
		c2, s2 = half/r, n[2]/r
	}
	return [3]float64{hi * (1 + c2) / 2, hi * (1 - c2) / 2, hi * s2 / 2}
}

// addTriangle adds a triangle's matrix over its free unknowns.
func (s *System) addTriangle(k *sparse.Matrix, t int, ke *[15][15]float64) {
	var free [15]int
	m := 0
	for c, node := range s.tris[t].node {
		for a := range perNode {
			if s.number[perNode*int(node)+a] >= 0 {
				free[m] = 5*c + a
				m++
			}
		}
	}
	var dense [225]float64
	for a := range m {
		for b := range m {
			dense[a*m+b] = ke[free[a]][free[b]]
		}
	}
	k.AddElement(t, dense[:m*m])
}
