package survey

import (
	"cmp"
	"math"
	"slices"

	"panelwright/internal/plane"
)

const (
	mostSteps = 200
	settled   = 1e-12 // the largest move of a corner, by the longest distance, at which the adjustment ends
	clearly   = 3.84  // by how much less a sum of squares makes a shape the likelier: 5 % point of chi-square with one freedom
)

// shape is an adjusted figure.
type shape struct {
	at    []plane.Point
	phi   float64 // sum of squared standardised misfits
	steps int
}

// settle adjusts a figure by Gauss–Newton steps, damped after Levenberg and Marquardt while they do not help.
func (n Net) settle(at []plane.Point) (shape, error) {
	s := shape{at: frame(at)}
	s.phi = n.misfit(s.at)
	size := 0.0
	for _, d := range n.Distances {
		size = max(size, d.Length)
	}
	damp, moved := 0.0, math.Inf(1)
	for s.steps < mostSteps {
		s.steps++
		next, step := n.step(s.at, damp)
		phi := n.misfit(next)
		better := phi <= s.phi+n.grain(s.phi, size)
		if better {
			s.at, s.phi = next, phi
		}
		// Near the end steps shrink to what the rounding of the equations leaves, and no further.
		if step <= settled*size || better && step <= 1e3*settled*size && step >= moved/2 {
			s.at = turned(s.at)
			return s, nil
		}
		moved = step
		switch {
		case !better:
			damp = max(10*damp, 1e-4)
		case damp > 1e-9:
			damp *= 0.1
		default:
			damp = 0
		}
	}
	if err := n.flat(s.at, nearlyFree); err != nil {
		return s, err
	}
	return s, &ConvergeError{Steps: s.steps, Moved: moved}
}

// grain is what the sum of squares can differ by for the rounding of coordinates alone.
func (n Net) grain(phi, size float64) float64 {
	const eps = 0x1p-51
	g := 0.0
	for _, d := range n.Distances {
		e := eps * size / d.StdUnc
		g += e * e
	}
	return 2*math.Sqrt(g*phi) + g
}

func (n Net) misfit(at []plane.Point) float64 {
	phi := 0.0
	for _, d := range n.Distances {
		e := (at[d.From].Dist(at[d.To]) - d.Length) / d.StdUnc
		phi += e * e
	}
	return phi
}

// step returns the figure moved by one step, and how far the corner that moves most does: endlessly, where the equations want
// more damping. damp is by the largest diagonal element of the normal equations.
func (n Net) step(at []plane.Point, damp float64) ([]plane.Point, float64) {
	a, w := n.design(at)
	x, ok := solve(a, w, damp)
	if !ok {
		return at, math.Inf(1)
	}
	next, most := slices.Clone(at), 0.0
	for c := 1; c < len(at); c++ {
		d := plane.Point{X: x[column(c, 0)]}
		if c > 1 {
			d.Y = x[column(c, 1)]
		}
		next[c] = at[c].Add(d)
		most = max(most, d.Len())
	}
	return next, most
}

// column is the unknown of a corner's coordinate: the x of corner 1 is the first, since corner 0 and the y of corner 1 are held.
func column(c, axis int) int {
	if c == 1 {
		return 0
	}
	return 2*c - 3 + axis
}

// design returns the observation equations, each by its standard uncertainty: a·x = w with w the measured less the computed.
func (n Net) design(at []plane.Point) (dense, []float64) {
	a, w := newDense(len(n.Distances), 2*n.Corners-3), make([]float64, len(n.Distances))
	for i, d := range n.Distances {
		v := at[d.To].Sub(at[d.From])
		w[i] = (d.Length - v.Len()) / d.StdUnc
		e := v.Unit().Scale(1 / d.StdUnc)
		for _, end := range []struct {
			c    int
			sign float64
		}{{d.From, -1}, {d.To, 1}} {
			if end.c > 0 {
				a[i][column(end.c, 0)] = end.sign * e.X
			}
			if end.c > 1 {
				a[i][column(end.c, 1)] = end.sign * e.Y
			}
		}
	}
	return a, w
}

// frame moves a figure so that corner 0 is the origin, and turns it so that corner 1 is on +x; a figure that runs clockwise
// is mirrored first.
func frame(at []plane.Point) []plane.Point {
	out := make([]plane.Point, len(at))
	e := at[1].Sub(at[0]).Unit()
	for i, p := range at {
		v := p.Sub(at[0])
		out[i] = plane.Point{X: v.Dot(e), Y: e.Cross(v)}
	}
	out[0], out[1].Y = plane.Point{}, 0
	return turned(out)
}

// turned returns a figure in the frame so that it runs anticlockwise and corner 1 is on +x, whatever the adjustment made of it.
func turned(at []plane.Point) []plane.Point {
	out := slices.Clone(at)
	if out[1].X < 0 {
		for i := range out {
			out[i] = plane.Point{X: -out[i].X, Y: -out[i].Y}
		}
	}
	if plane.Polygon(out...).Area() < 0 {
		for i := range out {
			out[i].Y = -out[i].Y
		}
	}
	out[0], out[1].Y = plane.Point{}, 0 // no negative zero
	return out
}

// likely sorts the shapes that the readings allow as Adjust prefers them, and drops repeats and those that they rule out, as
// a suspected reading is ruled out.
func likely(shapes []shape) []shape {
	slices.SortStableFunc(shapes, func(a, b shape) int { return cmp.Compare(a.phi, b.phi) })
	best := shapes[0].phi
	var out []shape
	for _, s := range shapes {
		if s.phi > best+Critical*Critical {
			break
		}
		if !slices.ContainsFunc(out, func(o shape) bool { return same(o.at, s.at) }) {
			out = append(out, s)
		}
	}
	rank := func(s shape) (crosses, misfit int) {
		if crossings(s.at) > 0 {
			crosses = 1
		}
		if s.phi > best+clearly {
			misfit = 1
		}
		return crosses, misfit
	}
	slices.SortStableFunc(out, func(a, b shape) int {
		ac, am := rank(a)
		bc, bm := rank(b)
		return cmp.Or(cmp.Compare(ac, bc), cmp.Compare(am, bm), cmp.Compare(reflex(a.at), reflex(b.at)),
			cmp.Compare(plane.Polygon(b.at...).Area(), plane.Polygon(a.at...).Area()))
	})
	return out
}

func same(a, b []plane.Point) bool {
	for i := range a {
		if a[i].Dist(b[i]) > 1e-3 {
			return false
		}
	}
	return true
}

// reflex counts the corners at which an anticlockwise outline turns to the right; a convex one has none.
func reflex(at []plane.Point) int {
	n, count := len(at), 0
	for i := range at {
		if plane.Orient(at[i], at[(i+1)%n], at[(i+2)%n]) < 0 {
			count++
		}
	}
	return count
}

// crossings counts the pairs of outline edges, both of whose ends stand, that have a point in common.
func crossings(at []plane.Point) int {
	n, count := len(at), 0
	edge := func(i int) (plane.Point, plane.Point, bool) {
		a, b := at[i], at[(i+1)%n]
		return a, b, placed(a) && placed(b)
	}
	for i := range at {
		a, b, ok := edge(i)
		for j := i + 2; ok && j < n && (j+1)%n != i; j++ {
			c, d, there := edge(j)
			if there && plane.Orient(a, b, c)*plane.Orient(a, b, d) <= 0 && plane.Orient(c, d, a)*plane.Orient(c, d, b) <= 0 && boxesMeet(a, b, c, d) {
				count++
			}
		}
	}
	return count
}

// boxesMeet says whether the upright boxes of two edges meet, which tells edges in one line apart.
func boxesMeet(a, b, c, d plane.Point) bool {
	return math.Max(a.X, b.X) >= math.Min(c.X, d.X) && math.Max(c.X, d.X) >= math.Min(a.X, b.X) &&
		math.Max(a.Y, b.Y) >= math.Min(c.Y, d.Y) && math.Max(c.Y, d.Y) >= math.Min(a.Y, b.Y)
}
