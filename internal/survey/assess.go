package survey

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

// assess says what an adjusted figure is worth.
func (n Net) assess(s shape) (*Result, error) {
	if err := n.flat(s.at, rankTol); err != nil {
		return nil, err
	}
	a, w := n.design(s.at)
	sp := splitOf(a)
	r := &Result{Freedom: len(n.Distances) - (2*n.Corners - 3), ChiSq: s.phi, Steps: s.steps}
	r.cofactors(s.at, sp)
	hat := hatOf(sp.u)
	for i, d := range n.Distances {
		residual := -w[i] * d.StdUnc
		q := Reading{Residual: residual, Adjusted: d.Length + residual, Redundancy: max(1-hat[i][i], 0)}
		if r.Freedom == 0 || q.Redundancy < unchecked {
			if math.Abs(residual) > 1e-3*d.StdUnc+1e-9*d.Length { // nothing else pulls at this reading, yet it is not met
				if err := n.flat(s.at, 0.01); err != nil {
					return nil, err
				}
				return nil, &ConvergeError{Steps: s.steps, Moved: math.Abs(residual)}
			}
			q.Redundancy, q.Residual, q.Adjusted = 0, 0, d.Length // what is left is rounding
		} else {
			root := math.Sqrt(q.Redundancy)
			q.Checked = true
			q.Standard = residual / (d.StdUnc * root)
			q.Misclosure = residual / q.Redundancy
			q.Findable = found * d.StdUnc / root
		}
		r.Readings = append(r.Readings, q)
	}
	if r.Freedom == 0 {
		r.ChiSq = 0
		return r, nil
	}
	r.Limit = chiLimit(r.Freedom, Confidence)
	r.Sigma0 = math.Sqrt(r.ChiSq / float64(r.Freedom))
	r.suspect(hat)
	return r, nil
}

// hatOf returns the matrix that takes readings to adjusted ones, both by their standard uncertainty.
func hatOf(u dense) dense {
	hat := newDense(len(u), len(u))
	for i := range hat {
		for j := range hat {
			hat[i][j] = dot(u[i], u[j])
		}
	}
	return hat
}

// cofactors fills in the corners and their covariances: V S⁻² Vᵀ.
func (r *Result) cofactors(at []plane.Point, sp split) {
	index := func(k int) int { // the unknown of coordinate k of x0 y0 x1 …
		if k < 2 || k == 3 {
			return -1
		}
		return column(k/2, k%2)
	}
	r.Covariance = make([][]float64, 2*len(at))
	for i := range r.Covariance {
		r.Covariance[i] = make([]float64, 2*len(at))
		for j := range r.Covariance[i] {
			a, b := index(i), index(j)
			if a < 0 || b < 0 {
				continue
			}
			sum := 0.0
			for k, s := range sp.s {
				sum += sp.v[a][k] * sp.v[b][k] / (s * s)
			}
			r.Covariance[i][j] = sum
		}
	}
	for c, p := range at {
		xx, yy, xy := r.Covariance[2*c][2*c], r.Covariance[2*c+1][2*c+1], r.Covariance[2*c][2*c+1]
		half, turn := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
		k := Corner{At: p, SX: math.Sqrt(xx), SY: math.Sqrt(yy), Major: math.Sqrt(half + turn), Minor: math.Sqrt(max(half-turn, 0))}
		if turn > 0 {
			k.Angle = math.Atan2(2*xy, xx-yy) / 2
		}
		r.Corners = append(r.Corners, k)
	}
}

// alike is the correlation of two standardised residuals above which the net cannot tell which reading is wrong.
const alike = 0.99

// suspect looks for the largest standardised residual, and for the readings that the net cannot tell from it.
func (r *Result) suspect(hat dense) {
	worst := -1
	for i, q := range r.Readings {
		if q.Checked && math.Abs(q.Standard) > Critical && (worst < 0 || math.Abs(q.Standard) > math.Abs(r.Readings[worst].Standard)) {
			worst = i
		}
	}
	if worst < 0 {
		return
	}
	r.Suspects = []int{worst}
	for i, q := range r.Readings {
		if i != worst && q.Checked && math.Abs(hat[i][worst])/math.Sqrt(q.Redundancy*r.Readings[worst].Redundancy) > alike {
			r.Suspects = append(r.Suspects, i)
		}
	}
	slices.SortStableFunc(r.Suspects[1:], func(a, b int) int {
		return a - b
	})
}

// others returns the shapes whose outline does not cross itself.
func (n Net) others(r *Result, shapes []shape) []Other {
	var out []Other
	for _, s := range shapes {
		if crossings(s.at) > 0 {
			continue
		}
		o := Other{At: s.at}
		for c, p := range s.at {
			if p.Dist(r.Corners[c].At) > Critical*r.Corners[c].Major+1e-3 {
				o.Moved = append(o.Moved, c)
			}
		}
		if len(o.Moved) > 0 {
			out = append(out, o)
		}
	}
	return out
}
