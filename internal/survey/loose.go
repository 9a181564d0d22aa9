package survey

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

const (
	rankTol    = 1e-7 // the singular value, by the largest, below which a motion counts as free
	nearlyFree = 1e-4 // the same, where an adjustment did not settle: a corner that can only just move is why
)

// loose says whether a net of these distances is rigid in general position, and if not, which corners are outside its
// largest rigid part. General position: the corners on an irregular figure, for which the rank of the rigidity matrix is
// the greatest that it can be.
func (n Net) loose() error {
	at := make([]plane.Point, n.Corners)
	for i := range at {
		// Angles and radii by the golden section and its square: no three in line, no symmetry, no conic through all.
		k := float64(i)
		_, f := math.Modf(k * math.Phi)
		_, g := math.Modf(k * math.Phi * math.Phi * math.Sqrt2)
		at[i] = plane.Point{X: 1 + g}.Rotate(2 * math.Pi * (k + 0.4*f) / float64(n.Corners))
	}
	free := n.motions(at, rankTol)
	if len(free) <= 3 {
		return nil
	}
	return &LooseError{Corners: n.outside(at, free), Missing: len(free) - 3}
}

// motions returns an orthonormal base of the velocities (x0 y0 x1 y1 …) that keep every measured distance at the corners given; the
// three of the figure as a whole are among them.
func (n Net) motions(at []plane.Point, tol float64) [][]float64 {
	u := 2 * n.Corners
	a := newDense(max(len(n.Distances), 1), u)
	for i, d := range n.Distances {
		e := at[d.To].Sub(at[d.From]).Unit()
		a[i][2*d.From], a[i][2*d.From+1] = -e.X, -e.Y
		a[i][2*d.To], a[i][2*d.To+1] = e.X, e.Y
	}
	sp := splitOf(a)
	var free [][]float64
	for k, s := range sp.s {
		if s > tol*sp.largest() {
			continue
		}
		m := make([]float64, u)
		for j := range m {
			m[j] = sp.v[j][k]
		}
		free = append(free, m)
	}
	return free
}

// flat says whether the figure leaves a corner free for standing in line with those that it is measured from, though there are
// readings enough: by the measured triangle that does not quite close, where one is the reason.
func (n Net) flat(at []plane.Point, tol float64) error {
	free := n.motions(at, tol)
	if len(free) <= 3 {
		return nil
	}
	l := n.links()
	for i := range l {
		for j := range l[i] {
			l[i][j].unc = min(l[i][j].unc, 1e-9) // any misclosure counts here
		}
	}
	if err := broken(l); err != nil {
		return err
	}
	return &LooseError{Corners: n.outside(at, free), Missing: len(free) - 3, Flat: true}
}

// outside returns the corners that are not in the largest part that every motion moves as one body.
func (n Net) outside(at []plane.Point, free [][]float64) []int {
	var best []int
	for i := range n.Corners {
		for j := i + 1; j < n.Corners; j++ {
			if part := body(at, free, i, j); len(part) > len(best) {
				best = part
			}
		}
	}
	var rest []int
	for k := range n.Corners {
		if !slices.Contains(best, k) {
			rest = append(rest, k)
		}
	}
	return rest
}

// body returns the corners that move with i and j as one body, none where those two do not.
func body(at []plane.Point, free [][]float64, i, j int) []int {
	const still = 1e-5 // a speed, by that of a motion as a whole, that counts as none
	var part []int
	for k := range at {
		with := true
		for _, m := range free {
			v := func(c int) plane.Point { return plane.Point{X: m[2*c], Y: m[2*c+1]} }
			e := at[j].Sub(at[i])
			if math.Abs(v(j).Sub(v(i)).Dot(e)) > still*e.Len() {
				return nil
			}
			turn := e.Cross(v(j).Sub(v(i))) / e.Dot(e)
			with = with && v(k).Sub(v(i)).Sub(at[k].Sub(at[i]).Perp().Scale(turn)).Len() <= still
		}
		if with {
			part = append(part, k)
		}
	}
	return part
}
