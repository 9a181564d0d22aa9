package plane

import (
	"fmt"
	"math"
	"sort"
)

// MeetKind says how two edges meet.
type MeetKind int

// The ways to meet. A meeting within tolerance of an end of either edge, or of a point where the edges run along each other
// without crossing, is a touch: too close to call a crossing.
const (
	Crosses  MeetKind = iota // each passes to the other side of the other
	Touches                  // one point in common, within tolerance
	Overlaps                 // a length in common, within tolerance
)

// String names the kind.
func (k MeetKind) String() string {
	switch k {
	case Crosses:
		return "crosses"
	case Touches:
		return "touches"
	case Overlaps:
		return "overlaps"
	}
	return fmt.Sprintf("MeetKind(%d)", int(k))
}

// Meeting is a place where edge I of one path meets edge J of the same or another path. An overlap runs from At to To;
// otherwise To equals At.
type Meeting struct {
	I, J   int
	At, To Point
	Kind   MeetKind
}

// spot is a common point of two edges, at the fraction s of the first.
type spot struct {
	at   Point
	s    float64
	kind MeetKind
}

// Meet returns the places where two edges meet, in order along g, at most one overlap per common stretch. Lines and arcs
// are met in closed form; tol (mm) is how near counts as touching.
func Meet(g, h Seg, tol float64) []Meeting {
	if !g.Bounds().Grow(tol).Overlaps(h.Bounds()) {
		return nil
	}
	var spots []spot
	add := func(p Point, kind MeetKind) {
		s, f := g.Nearest(p)
		_, e := h.Nearest(p)
		if p.Dist(f) > tol || p.Dist(e) > tol {
			return
		}
		for _, q := range []Point{g.A, g.B, h.A, h.B} {
			if p.Dist(q) <= tol {
				kind = Touches
			}
		}
		for _, o := range spots {
			if o.at.Dist(p) <= 2*tol {
				return
			}
		}
		spots = append(spots, spot{p, s, kind})
	}
	// Ends first: where a crossing falls on an end, the end is the better point, and it is a touch.
	for _, q := range []Point{g.A, g.B} {
		if _, f := h.Nearest(q); q.Dist(f) <= tol {
			add(q, Touches)
		}
	}
	for _, q := range []Point{h.A, h.B} {
		if _, f := g.Nearest(q); q.Dist(f) <= tol {
			add(q, Touches)
		}
	}
	points, tangent := carrierMeet(g, h, tol)
	kind := Crosses
	if tangent {
		kind = Touches
	}
	for _, p := range points {
		add(p, kind)
	}
	sort.SliceStable(spots, func(a, b int) bool { return spots[a].s < spots[b].s })
	return joinOverlaps(g, h, spots, tol)
}

// joinOverlaps turns neighbouring common points into an overlap where the edges stay together between them. Three places
// are looked at: two different circles, or a line and a circle, share at most two points.
func joinOverlaps(g, h Seg, spots []spot, tol float64) []Meeting {
	var out []Meeting
	for i := 0; i < len(spots); i++ {
		m := Meeting{At: spots[i].at, To: spots[i].at, Kind: spots[i].kind}
		for i+1 < len(spots) && together(g, h, spots[i].s, spots[i+1].s, tol) {
			i++
			m.To, m.Kind = spots[i].at, Overlaps
		}
		out = append(out, m)
	}
	return out
}

func together(g, h Seg, s0, s1, tol float64) bool {
	for _, f := range [...]float64{0.25, 0.5, 0.75} {
		p := g.At(s0 + f*(s1-s0))
		if _, q := h.Nearest(p); p.Dist(q) > tol {
			return false
		}
	}
	return true
}

// carrierMeet returns the common points of the full lines or circles that carry g and h. tangent means that they touch
// within tol without passing through each other; the one point is then the place of nearest approach.
func carrierMeet(g, h Seg, tol float64) (points []Point, tangent bool) {
	if g.A == g.B || h.A == h.B {
		return nil, false
	}
	// c is the more curved of the two; l the other.
	c, l := g, h
	if math.Abs(c.Curvature()) < math.Abs(l.Curvature()) {
		c, l = l, c
	}
	if !c.IsArc() {
		return lineLine(c, l)
	}
	if !l.IsArc() {
		return lineCircle(l.A, l.Tangent(0), c, tol)
	}
	// With origin at c.A each circle is κ|p|² − 2g·p + e = 0; the difference, cleared of |p|², is the line through the
	// common points.
	kc, kl := c.Curvature(), l.Curvature()
	nc, nl := c.Tangent(0).Perp(), l.Tangent(0).Perp()
	a := l.A.Sub(c.A)
	gl, el := a.Scale(kl).Add(nl), kl*a.Dot(a)+2*nl.Dot(a)
	r := kl / kc
	normal := gl.Sub(nc.Scale(r)).Scale(2)
	// concentric is where the two centres cannot be told apart in double precision.
	const concentric = 1e-13
	if n2 := normal.Dot(normal); n2 > concentric*concentric {
		foot := c.A.Add(normal.Scale(el / n2))
		return lineCircle(foot, normal.Perp().Unit(), c, tol)
	}
	return nil, false
}

// lineLine returns the common point of two full lines that are not parallel.
func lineLine(g, h Seg) ([]Point, bool) {
	u, v := g.B.Sub(g.A), h.B.Sub(h.A)
	d := u.Cross(v)
	// parallel is the sine of an angle too small for the common point to mean anything.
	const parallel = 1e-13
	if !(math.Abs(d) > parallel*u.Len()*v.Len()) {
		return nil, false
	}
	return []Point{g.A.Add(u.Scale(h.A.Sub(g.A).Cross(v) / d))}, false
}

// lineCircle returns the common points of the line through o along the unit vector dir with the circle of the arc c: the
// roots of κu² + 2bu + e = 0, taken so that neither loses digits when κ is small.
func lineCircle(o, dir Point, c Seg, tol float64) ([]Point, bool) {
	k, n := c.Curvature(), c.Tangent(0).Perp()
	q := o.Sub(c.A)
	// Start from the point of the line nearest to c.A, which keeps the numbers small.
	o = o.Sub(dir.Scale(q.Dot(dir)))
	q = o.Sub(c.A)
	b, e := k*q.Dot(dir)-n.Dot(dir), k*q.Dot(q)-2*q.Dot(n)
	if low := o.Add(dir.Scale(-b / k)); low.finite() && math.Abs(c.fromCircle(low)) <= tol {
		return []Point{low}, true
	}
	disc := b*b - k*e
	if !(disc > 0) {
		return nil, false
	}
	w := -(b + math.Copysign(math.Sqrt(disc), b))
	pts := []Point{o.Add(dir.Scale(w / k))}
	if w != 0 {
		pts = append(pts, o.Add(dir.Scale(e/w)))
	}
	return pts, false
}

// Meetings returns every place where an edge of p meets an edge of q, sorted by I, then J, then along edge I.
func (p Path) Meetings(q Path) []Meeting {
	var out []Meeting
	p.eachMeeting(q, func(m Meeting) bool {
		out = append(out, m)
		return true
	})
	return out
}

// meets is the first of Meetings.
func (p Path) meets(q Path) (first Meeting, ok bool) {
	p.eachMeeting(q, func(m Meeting) bool {
		first, ok = m, true
		return false
	})
	return first, ok
}

// eachMeeting calls f with one meeting after the other while it returns true.
func (p Path) eachMeeting(q Path, f func(Meeting) bool) {
	a, b := p.Segs(), q.Segs()
	boxes := make([]Box, len(b))
	for j, h := range b {
		boxes[j] = h.Bounds()
	}
	for i, g := range a {
		box := g.Bounds().Grow(EdgeTol)
		for j, h := range b {
			if !box.Overlaps(boxes[j]) || apart(g, h) {
				continue
			}
			for _, m := range Meet(g, h, EdgeTol) {
				if m.I, m.J = i, j; !f(m) {
					return
				}
			}
		}
	}
}

// mostCrossings bounds what SelfCrossings lists: a path of many edges can cross itself their number squared times.
const mostCrossings = 1000

// SelfCrossings returns the places where the path meets itself other than edge to next edge at their common vertex: pairs
// of edges that cross, touch or overlap within EdgeTol, sorted by I, then J > I. Edges without length are left out. A
// simple path has none. Of more than a thousand, only so many are listed.
func (p Path) SelfCrossings() []Meeting {
	segs := p.Segs()
	boxes := make([]Box, len(segs))
	var order []int // edges by where their boxes begin in x, so that each is compared with those beside it alone
	for i, g := range segs {
		if boxes[i] = g.Bounds().Grow(EdgeTol); g.Chord() > EdgeTol {
			order = append(order, i)
		}
	}
	sort.Slice(order, func(a, b int) bool {
		i, j := order[a], order[b]
		return boxes[i].Min.X < boxes[j].Min.X || boxes[i].Min.X == boxes[j].Min.X && i < j
	})
	next := p.nextEdges(segs)
	var out []Meeting
	for k, a := range order {
		for _, b := range order[k+1:] {
			if boxes[b].Min.X > boxes[a].Max.X || len(out) >= mostCrossings {
				break
			}
			if !boxes[a].Overlaps(boxes[b]) || apart(segs[a], segs[b]) {
				continue
			}
			i, j := min(a, b), max(a, b)
			for _, m := range Meet(segs[i], segs[j], EdgeTol) {
				shared := next[i] == j && m.At.Dist(segs[i].B) <= EdgeTol || next[j] == i && m.At.Dist(segs[i].A) <= EdgeTol
				if m.Kind != Overlaps && shared {
					continue
				}
				m.I, m.J = i, j
				out = append(out, m)
			}
		}
	}
	sort.SliceStable(out, func(a, b int) bool { return out[a].I < out[b].I || out[a].I == out[b].I && out[a].J < out[b].J })
	return out
}

// apart says of two straight edges that one lies well on one side of the other's line, at small cost: they do not meet.
func apart(g, h Seg) bool {
	if g.IsArc() || h.IsArc() {
		return false
	}
	beside := func(g, h Seg) bool {
		u := g.B.Sub(g.A)
		a, b := u.Cross(h.A.Sub(g.A)), u.Cross(h.B.Sub(g.A))
		if a < 0 {
			a, b = -a, -b
		}
		const well = 10 * EdgeTol // beyond what counts as touching, with room for rounding
		return min(a, b) > well*(math.Abs(u.X)+math.Abs(u.Y))
	}
	return beside(g, h) || beside(h, g)
}

// nextEdges returns, for every edge, the next one that has a length (−1 at the end of an open path).
func (p Path) nextEdges(segs []Seg) []int {
	n := len(segs)
	next := make([]int, n)
	for i := range segs {
		next[i] = -1
		for k := 1; k < n; k++ {
			j := i + k
			if j >= n && !p.Closed {
				break
			}
			if segs[j%n].Chord() > EdgeTol {
				next[i] = j % n
				break
			}
		}
	}
	return next
}
