package plane

import (
	"fmt"
	"math"
)

// OffsetReason is why a path has no offset.
type OffsetReason int

// The reasons.
const (
	Unfit     OffsetReason = iota // the path itself is no simple path with edges
	Collapsed                     // nothing is left
	NoJoint                       // neighbouring edges, moved, do not meet
	TooClose                      // the offset comes nearer to the path than the distance, or meets itself
)

// OffsetError says that a path has no offset at this distance.
type OffsetError struct {
	Distance float64 // asked, mm
	Reason   OffsetReason
	Edge     int     // of the path given, −1 when it is no single one
	At       Point   // where it shows
	Largest  float64 // Inset: a distance of the same sign that works and is within 1 % of the greatest; 0 when none was found
}

// Error says it in words.
func (e *OffsetError) Error() string {
	var why string
	switch e.Reason {
	case Unfit:
		why = "the path crosses itself or has no edges"
	case Collapsed:
		why = "nothing is left"
	case NoJoint:
		why = fmt.Sprintf("edge %d and the next do not meet when moved", e.Edge)
	case TooClose:
		why = fmt.Sprintf("it comes too near to itself at (%.6g, %.6g)", e.At.X, e.At.Y)
	}
	s := fmt.Sprintf("no offset by %.6g mm: %s", e.Distance, why)
	if e.Largest != 0 {
		s += fmt.Sprintf("; %.4g mm works", e.Largest)
	}
	return s
}

// Inset returns a simple closed path moved inwards by d (mm), outwards for d < 0, whichever way it runs: edges move
// parallel, joints are mitred, arcs keep their centres, and edges that the move consumes drop out. Every point of the
// result keeps its distance |d| from p, which must be more than EdgeTol or 0. An inset that would fall apart or vanish is a *OffsetError, with a distance that
// works. An open path panics.
func (p Path) Inset(d float64) (Path, error) {
	if !p.Closed {
		panic("plane: Inset of an open path")
	}
	q, err := p.insetOnce(d)
	if err == nil {
		return q, nil
	}
	if err.Reason != Unfit {
		// Halve the doubt: works at lo, fails at hi. The bound leaves 1/128 of d where lo is near hi.
		lo, hi := 0.0, d
		for range 14 {
			mid := (lo + hi) / 2
			if _, e := p.insetOnce(mid); e == nil {
				lo = mid
			} else {
				hi = mid
			}
			if math.Abs(hi-lo) <= 0.01*math.Abs(lo) {
				break
			}
		}
		err.Largest = lo
	}
	return Path{}, err
}

func (p Path) insetOnce(d float64) (Path, *OffsetError) {
	if len(p.Facts()) > 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return Path{}, &OffsetError{Distance: d, Reason: Unfit, Edge: -1}
	}
	left := d
	if p.Area() < 0 {
		left = -d
	}
	q, err := p.offset(left)
	if err == nil && q.Area()*p.Area() <= 0 {
		err = &OffsetError{Reason: Collapsed, Edge: -1, At: q.V[0].Point}
	}
	if err != nil {
		err.Distance = d
		return Path{}, err
	}
	return q, nil
}

// OffsetOpen returns an open path moved to its left by d (mm), to its right for d < 0: edges move parallel, joints are
// mitred, arcs keep their centres, inner edges that the move consumes drop out, and the ends stay square to the path's ends.
// Every point of the result keeps its distance |d| from p, which must be more than EdgeTol or 0; where that cannot be, the
// error is *OffsetError. A closed path panics.
func (p Path) OffsetOpen(d float64) (Path, error) {
	if p.Closed {
		panic("plane: OffsetOpen of a closed path")
	}
	if len(p.SelfCrossings()) > 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return Path{}, &OffsetError{Distance: d, Reason: Unfit, Edge: -1}
	}
	q, err := p.offset(d)
	if err != nil {
		err.Distance = d
		return Path{}, err
	}
	return q, nil
}

// moved is an edge that the offset has moved, with the edge it came from.
type moved struct {
	Seg
	from int
}

// offset moves p to its left by d and checks the result against p.
func (p Path) offset(d float64) (Path, *OffsetError) {
	if d == 0 {
		return Path{V: append([]Vertex(nil), p.V...), Closed: p.Closed}, nil
	}
	pieces := p.movedEdges(d)
	// Each round drops at least one edge.
	for range len(pieces) + 1 {
		if len(pieces) == 0 || p.Closed && len(pieces) < 2 {
			return Path{}, &OffsetError{Reason: Collapsed, Edge: -1, At: p.firstPoint()}
		}
		q, worst, err := joinMoved(pieces, p.Closed)
		if err != nil {
			if p.Closed && len(pieces) < p.EdgeCount() {
				err.Reason = Collapsed // what stood between the two is used up
			}
			return Path{}, err
		}
		if worst < 0 {
			return q, p.checkOffset(q, d)
		}
		pieces = append(pieces[:worst:worst], pieces[worst+1:]...)
	}
	panic("plane: offset did not end")
}

// firstPoint returns the first vertex, or the origin when there is none.
func (p Path) firstPoint() Point {
	if len(p.V) == 0 {
		return Point{}
	}
	return p.V[0].Point
}

// movedEdges moves each edge with length to the left by d. An arc whose radius is used up drops out.
func (p Path) movedEdges(d float64) []moved {
	var out []moved
	for i := range p.EdgeCount() {
		g := p.Seg(i)
		if g.Chord() <= EdgeTol {
			continue
		}
		if g.IsArc() && (1-d*g.Curvature())*g.Radius() <= EdgeTol {
			continue
		}
		a := g.A.Add(g.Tangent(0).Perp().Scale(d))
		b := g.B.Add(g.Tangent(1).Perp().Scale(d))
		out = append(out, moved{Seg{a, b, g.Bulge}, i})
	}
	return out
}

// joinMoved mitres the moved edges into a path. Where a joint leaves an edge running backwards, worst is the one that runs
// back furthest against its own length; otherwise −1.
func joinMoved(e []moved, closed bool) (q Path, worst int, err *OffsetError) {
	n := len(e)
	start, end := make([]Point, n), make([]Point, n)
	for i := range e {
		start[i], end[i] = e[i].A, e[i].B
	}
	joints := n - 1
	if closed {
		joints = n
	}
	for i := range joints {
		j := (i + 1) % n
		at, ok := joint(e[i].Seg, e[j].Seg)
		if !ok {
			return q, -1, &OffsetError{Reason: NoJoint, Edge: e[i].from, At: e[i].B}
		}
		end[i], start[j] = at, at
	}
	q.Closed = closed
	worst = -1
	least := 0.0
	for i, m := range e {
		bulge, share := trimmed(m.Seg, start[i], end[i])
		if share <= least {
			worst, least = i, share
		}
		q.V = append(q.V, Vertex{start[i], bulge})
	}
	if !closed {
		q.V = append(q.V, Vertex{Point: end[n-1]})
	}
	return q, worst, nil
}

// joint returns where the carriers of two successive moved edges meet, nearest to their ends.
func joint(g, h Seg) (Point, bool) {
	mid := g.B.Lerp(h.A, 0.5)
	if g.B.Dist(h.A) <= EdgeTol {
		return mid, true
	}
	points, _ := carrierMeet(g, h, EdgeTol)
	best, found := Point{}, false
	for _, p := range points {
		if p.finite() && (!found || p.Dist(mid) < best.Dist(mid)) {
			best, found = p, true
		}
	}
	return best, found
}

// trimmed returns the bulge of the edge g when it runs from a to b on the same line or circle, and its length as a share of
// g's, negative when it runs backwards.
func trimmed(g Seg, a, b Point) (bulge, share float64) {
	if !g.IsArc() {
		v := g.B.Sub(g.A)
		return 0, b.Sub(a).Dot(v) / v.Dot(v)
	}
	sweep := g.Sweep()
	// An end can move by up to half a turn either way.
	from := math.Remainder(g.turning(a), 2*math.Pi)
	to := sweep + math.Remainder(g.turning(b)-sweep, 2*math.Pi)
	if math.Abs(to-from) >= 2*math.Pi {
		return g.Bulge, -math.MaxFloat64
	}
	return math.Tan((to - from) / 4), (to - from) / sweep
}

// checkOffset makes sure that q is an offset of p by d: simple, no meeting with p, and nowhere nearer to p than |d|. Lines that
// do not meet are nearest at an end of one of them, so the ends of both are measured; along arcs, places in between too.
func (p Path) checkOffset(q Path, d float64) *OffsetError {
	for _, v := range q.V {
		if !v.finite() || math.IsNaN(v.Bulge) {
			return &OffsetError{Reason: NoJoint, Edge: -1}
		}
	}
	if c := q.SelfCrossings(); len(c) > 0 {
		return &OffsetError{Reason: TooClose, Edge: -1, At: c[0].At}
	}
	if c := q.Meetings(p); len(c) > 0 {
		return &OffsetError{Reason: TooClose, Edge: -1, At: c[0].At}
	}
	least := math.Abs(d) - EdgeTol - 1e-9*math.Abs(d) // mitres round relative to the distance
	for _, pair := range [...][2]Path{{q, p}, {p, q}} {
		for _, at := range pair[0].probes() {
			if _, dist, _ := pair[1].Nearest(at); dist < least {
				return &OffsetError{Reason: TooClose, Edge: -1, At: at}
			}
		}
	}
	return nil
}

// probes returns the vertices, the middles of lines, and places along arcs.
func (p Path) probes() []Point {
	var out []Point
	for _, v := range p.V {
		out = append(out, v.Point)
	}
	for i := range p.EdgeCount() {
		g, n := p.Seg(i), 2
		if g.IsArc() {
			n = 6
		}
		for k := 1; k < n; k++ {
			out = append(out, g.At(float64(k)/float64(n)))
		}
	}
	return out
}
