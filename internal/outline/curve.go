package outline

import (
	"math"

	"panelwright/internal/plane"
)

// curve is a smooth plane curve over t from 0 to 1: its place and its direction, which need not be a unit vector and may
// vanish at a cusp.
type curve struct {
	at, dir func(t float64) plane.Point
}

// affine maps p to (a·x + c·y + e, b·x + d·y + f), the order in which SVG writes a matrix.
type affine struct{ a, b, c, d, e, f float64 }

var identity = affine{a: 1, d: 1}

func scaling(x, y float64) affine { return affine{a: x, d: y} }

func moving(x, y float64) affine { return affine{a: 1, d: 1, e: x, f: y} }

func turning(angle float64) affine {
	s, c := math.Sincos(angle)
	return affine{a: c, b: s, c: -s, d: c}
}

// then is the map that applies m first and n after it.
func (m affine) then(n affine) affine {
	return affine{
		a: n.a*m.a + n.c*m.b, b: n.b*m.a + n.d*m.b,
		c: n.a*m.c + n.c*m.d, d: n.b*m.c + n.d*m.d,
		e: n.a*m.e + n.c*m.f + n.e, f: n.b*m.e + n.d*m.f + n.f,
	}
}

func (m affine) point(p plane.Point) plane.Point {
	return plane.Point{X: m.a*p.X + m.c*p.Y + m.e, Y: m.b*p.X + m.d*p.Y + m.f}
}

func (m affine) vector(p plane.Point) plane.Point {
	return plane.Point{X: m.a*p.X + m.c*p.Y, Y: m.b*p.X + m.d*p.Y}
}

func (m affine) det() float64 { return m.a*m.d - m.b*m.c }

// similar says whether circles stay circles. The bound is of rounding: angles written in degrees to 12 figures.
func (m affine) similar() bool {
	const rounding = 1e-9
	size := math.Hypot(m.a, m.b) + math.Hypot(m.c, m.d)
	turned := math.Hypot(m.a-m.d, m.b+m.c)   // kept in sense
	mirrored := math.Hypot(m.a+m.d, m.b-m.c) // mirrored
	return min(turned, mirrored) <= rounding*size
}

// pen draws one run of lines, arcs and curves through a map.
type pen struct {
	m    affine
	path plane.Path
	n    int // vertices, compared with the bound of a file
}

// start begins at p, before the map.
func (k *pen) start(p plane.Point) {
	k.path.V = append(k.path.V, plane.Vertex{Point: k.m.point(p)})
}

// line goes on to p.
func (k *pen) line(p plane.Point) { k.put(0, k.m.point(p)) }

func (k *pen) put(bulge float64, to plane.Point) {
	k.path.V[len(k.path.V)-1].Bulge = bulge
	k.path.V = append(k.path.V, plane.Vertex{Point: to})
}

// arc draws g, of which A is where the pen stands.
func (k *pen) arc(g plane.Seg) {
	switch {
	case !g.IsArc():
		k.line(g.B)
	case k.m.similar():
		k.put(math.Copysign(1, k.m.det())*g.Bulge, k.m.point(g.B))
	default:
		centre, _ := g.Centre()
		v, sweep := g.A.Sub(centre), g.Sweep()
		at := func(t float64) plane.Point {
			switch t {
			case 0:
				return g.A
			case 1:
				return g.B
			}
			return centre.Add(v.Rotate(t * sweep))
		}
		dir := func(t float64) plane.Point { return v.Rotate(t * sweep).Perp().Scale(sweep) }
		// In quarters, so that no piece is longer than a fit can judge.
		for n, i := max(1, int(math.Ceil(math.Abs(sweep)/(math.Pi/2)))), 0; i < n; i++ {
			k.curve(part(curve{at, dir}, float64(i)/float64(n), float64(i+1)/float64(n)))
		}
	}
}

// part is the curve between two parameters.
func part(c curve, t0, t1 float64) curve {
	return curve{
		func(t float64) plane.Point { return c.at(t0 + t*(t1-t0)) },
		func(t float64) plane.Point { return c.dir(t0 + t*(t1-t0)).Scale(t1 - t0) },
	}
}

// fitDepth bounds how often a curve is halved: 2^12 pieces of one span. A cusp ends there as a straight line, shorter than
// any tolerance of the work.
const fitDepth = 12

// curve draws c by pairs of arcs that leave and arrive in its directions, halved until they lie within CurveTol of it.
func (k *pen) curve(c curve) {
	m := k.m
	mapped := curve{func(t float64) plane.Point { return m.point(c.at(t)) }, func(t float64) plane.Point { return m.vector(c.dir(t)) }}
	k.fit(mapped, 0, 1, 0)
}

func (k *pen) fit(c curve, t0, t1 float64, depth int) {
	a, b := c.at(t0), c.at(t1)
	if depth == fitDepth || k.n+len(k.path.V) > MostVertices {
		k.put(0, b)
		return
	}
	u, v := direction(c, t0, t1), direction(c, t1, t0).Scale(-1)
	// A span is looked at in halves at least once: a curve that crosses itself can leave and arrive in one line.
	if segs, ok := biarc(a, u, b, v); ok && depth > 0 && near(c, t0, t1, segs) {
		for _, g := range segs {
			k.put(g.Bulge, g.B)
		}
		return
	}
	mid := (t0 + t1) / 2
	k.fit(c, t0, mid, depth+1)
	k.fit(c, mid, t1, depth+1)
}

// direction is the unit direction at t towards other, by the derivative or, where that vanishes, by a chord to a place
// close by.
func direction(c curve, t, other float64) plane.Point {
	d := c.dir(t)
	if other < t {
		d = d.Scale(-1)
	}
	chord := c.at(t + (other-t)*1e-4).Sub(c.at(t))
	// A derivative far below what the chord shows is one that vanishes.
	if d.Len()*math.Abs(other-t)*1e-4 < 1e-3*chord.Len() || d.Len() == 0 {
		d = chord
	}
	if n := d.Len(); n > 0 && !math.IsInf(n, 0) {
		return d.Scale(1 / n)
	}
	return plane.Point{}
}

// biarc joins a and b by two arcs that meet in one direction, leaving a along u and arriving at b along v, with equal
// lengths of tangent [bolton75]. ok is false where there are none of less than a third of a circle each.
func biarc(a, u, b, v plane.Point) (segs []plane.Seg, ok bool) {
	w := b.Sub(a)
	n := w.Len()
	if !(n > 0) || u == (plane.Point{}) || v == (plane.Point{}) {
		return nil, false
	}
	const straight = 1e-12 // rad
	if math.Abs(w.Cross(u)) < straight*n && math.Abs(w.Cross(v)) < straight*n && w.Dot(u) > 0 && w.Dot(v) > 0 {
		return []plane.Seg{{A: a, B: b}}, true
	}
	// |a + d·u − (b − d·v)| = 2d, a quadratic in d.
	sum := u.Add(v)
	qa, qb, qc := 2*(1-u.Dot(v)), 2*w.Dot(sum), -w.Dot(w)
	var d float64
	if math.Abs(qa) < 1e-9 {
		if !(qb > 0) {
			return nil, false
		}
		d = -qc / qb
		// One step of Newton takes up what was left out.
		d -= (qa*d*d + qb*d + qc) / (2*qa*d + qb)
	} else {
		d = (-qb + math.Sqrt(qb*qb-4*qa*qc)) / (2 * qa)
	}
	if !(d > 0) || d > 10*n {
		return nil, false
	}
	p, q := a.Add(u.Scale(d)), b.Sub(v.Scale(d))
	m := p.Lerp(q, 0.5)
	g, ok1 := tangentArc(a, u, m)
	h, ok2 := tangentArc(b, v.Scale(-1), m)
	return []plane.Seg{g, h.Reverse()}, ok1 && ok2
}

// tangentArc is the arc that leaves a along u and ends at b.
func tangentArc(a, u, b plane.Point) (plane.Seg, bool) {
	w := b.Sub(a)
	half := math.Atan2(u.Cross(w), u.Dot(w)) // half the sweep
	const third = math.Pi / 3
	return plane.Seg{A: a, B: b, Bulge: math.Tan(half / 2)}, math.Abs(half) < third
}

// near says whether the arcs lie within CurveTol of the curve, by places along it.
func near(c curve, t0, t1 float64, segs []plane.Seg) bool {
	const places = 8
	for i := 1; i < places; i++ {
		p := c.at(t0 + (t1-t0)*float64(i)/places)
		least := math.Inf(1)
		for _, g := range segs {
			_, foot := g.Nearest(p)
			least = min(least, foot.Dist(p))
		}
		if !(least <= CurveTol) {
			return false
		}
	}
	return true
}

// bezier is a Bézier curve of degree 2 or 3.
func bezier(p ...plane.Point) curve {
	if len(p) == 3 { // raised to a cubic, exactly
		p = []plane.Point{p[0], p[0].Lerp(p[1], 2.0/3), p[2].Lerp(p[1], 2.0/3), p[2]}
	}
	return curve{
		func(t float64) plane.Point {
			s := 1 - t
			return p[0].Scale(s * s * s).Add(p[1].Scale(3 * s * s * t)).Add(p[2].Scale(3 * s * t * t)).Add(p[3].Scale(t * t * t))
		},
		func(t float64) plane.Point {
			s := 1 - t
			return p[1].Sub(p[0]).Scale(3 * s * s).Add(p[2].Sub(p[1]).Scale(6 * s * t)).Add(p[3].Sub(p[2]).Scale(3 * t * t))
		},
	}
}

// ellipse draws an ellipse from angle t0 to t1 (rad, in the sense from x to y), half axes x and y about centre; the pen
// stands at its start. A circle comes out as arcs.
func (k *pen) ellipse(centre, x, y plane.Point, t0, t1 float64) {
	m := affine{x.X, x.Y, y.X, y.Y, centre.X, centre.Y}
	on := func(t float64) plane.Point { return plane.Point{X: math.Cos(t), Y: math.Sin(t)} }
	whole := k.m
	k.m = m.then(whole)
	n := max(1, int(math.Ceil(math.Abs(t1-t0)/math.Pi-1e-9)))
	for i := range n {
		a, b := t0+(t1-t0)*float64(i)/float64(n), t0+(t1-t0)*float64(i+1)/float64(n)
		k.arc(plane.Seg{A: on(a), B: on(b), Bulge: math.Tan((b - a) / 4)})
	}
	k.m = whole
}
