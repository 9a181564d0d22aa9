package mesh

import (
	"math"

	"panelwright/internal/plane"
)

// refiner makes triangles good: none sharper than the wanted angle, none longer than the wanted size, by putting points into
// circumcentres and segments' middles ([ruppert95], with the rules of [shewchuk02] for sharp corners of the input).
type refiner struct {
	*network
	g      *drawing
	size   *sizing
	cosBad float64 // cosine of the least angle wanted
	limit  int
	net    []int32 // vertex of the network of each of the drawing, −1 none
	queue  []int32 // triangles to look at
	split  []int32 // segments to look at
	home   []int32 // piece on which a vertex stands between its ends, −1 none
	sharp  []bool  // vertices where segments meet at less than 60°
	hit    []int32
	loose  bool // the triangles last made may not be Delaunay
	err    error
}

const (
	// boxCorners are the first vertices of a network.
	boxCorners = 4
	// leastSegment is what is not divided further (mm): the drawing keeps things apart by clearLeast, so nothing asks for less
	// but a corner too sharp to be meshed well.
	leastSegment = clearLeast / 8
)

// put takes note of a new vertex.
func (r *refiner) put(v, piece int32) {
	for int(v) >= len(r.home) {
		r.home = append(r.home, -1)
	}
	r.home[v] = piece
}

// halve divides a segment at its middle, or near a sharp corner on a circle about it; on an arc the new vertex stands on the
// arc. Sealed says that it is an edge. It returns false when the segment stays as it is.
func (r *refiner) halve(i int32, sealed bool) bool {
	s := r.segs[i]
	long := r.at[s.a].Dist(r.at[s.b])
	if s.gone || long < leastSegment || r.full(r.at[s.a]) {
		return false
	}
	f, mid, p := r.where(s, long)
	v := int32(-1)
	if !sealed {
		v = r.add(p)
	} else if v = r.onto(i, p); v < 0 {
		// Where the arc's point does not fit, the chord's does.
		v = r.onto(i, r.at[s.a].Lerp(r.at[s.b], f))
	}
	if v < 0 {
		return false
	}
	r.put(v, s.piece)
	r.segs[i].gone = true
	k := int32(len(r.segs))
	r.segs = append(r.segs, segment{a: s.a, b: v, piece: s.piece, t0: s.t0, t1: mid}, segment{a: v, b: s.b, piece: s.piece, t0: mid, t1: s.t1})
	if !sealed {
		return true
	}
	for _, t := range r.made {
		q := &r.tris[t]
		for _, e := range [2]int{1, 2} {
			w := q.v[e]
			if e == 2 {
				w = q.v[0]
			}
			switch w {
			case s.a:
				q.s[e], r.segs[k].tri = k, t
			case s.b:
				q.s[e], r.segs[k+1].tri = k+1, t
			}
		}
	}
	if r.loose {
		r.settle()
	}
	r.split = append(r.split, k, k+1)
	return true
}

// onto puts p on or beside segment i, which is an edge and goes. It returns −1 when p does not see what lies round it.
func (r *refiner) onto(i int32, p plane.Point) int32 {
	t := r.segs[i].tri
	seeds := [2]int32{t, -1}
	n := 1
	q := &r.tris[t]
	for e, s := range q.s {
		if s == i && q.n[e] >= 0 {
			seeds[1], n = q.n[e], 2
		}
	}
	trimmed, ok := r.dig(p, seeds[:n], i)
	if !ok {
		return -1
	}
	r.loose = trimmed
	return r.fill(p)
}

// where is the place at which to divide a segment: half way, but from a sharp corner at a power of two of a millimetre, so that
// segments which meet there are divided at the same distances and their triangles stay as good as the corner lets them. f is
// the fraction of its chord, mid that of its piece.
func (r *refiner) where(s segment, long float64) (f, mid float64, p plane.Point) {
	f = 0.5
	a, b := r.sharpAt(s.a), r.sharpAt(s.b)
	if a != b {
		d := math.Exp2(math.Round(math.Log2(long / 2)))
		if d < long/3 {
			d *= 2
		}
		if d > long*2/3 {
			d /= 2
		}
		if f = d / long; b {
			f = 1 - f
		}
	}
	g := r.g.pieces[s.piece].seg
	if g.Bulge == 0 {
		return f, s.t0 + (s.t1-s.t0)*f, r.at[s.a].Lerp(r.at[s.b], f)
	}
	u := f
	if a != b {
		// The chord over the angle x is 2r·sin(x/2).
		half := g.Sweep() * (s.t1 - s.t0) / 2
		if b {
			u = 1 - math.Asin((1-f)*math.Sin(half))/half
		} else {
			u = math.Asin(f*math.Sin(half)) / half
		}
	}
	mid = s.t0 + (s.t1-s.t0)*u
	return f, mid, g.At(mid)
}

func (r *refiner) sharpAt(v int32) bool { return int(v) < len(r.sharp) && r.sharp[v] }

// full says whether the limit is reached, and takes note of it.
func (r *refiner) full(p plane.Point) bool {
	if r.err == nil && len(r.at) >= r.limit+boxCorners {
		r.err = &TooLarge{Limit: r.limit, At: p, Size: r.size.at(p)}
	}
	return r.err != nil
}

// encroached says whether a vertex beside segment i lies within the circle on it.
func (r *refiner) encroached(i int32) bool {
	s := &r.segs[i]
	q := &r.tris[s.tri]
	for e := range 3 {
		if q.s[e] != i {
			continue
		}
		if r.within(s, r.at[q.v[(e+2)%3]]) {
			return true
		}
		if o := q.n[e]; o >= 0 {
			u := &r.tris[o]
			for k := range 3 {
				if u.s[k] == i && r.within(s, r.at[u.v[(k+2)%3]]) {
					return true
				}
			}
		}
	}
	return false
}

// within says whether p lies within the circle on a segment.
func (r *refiner) within(s *segment, p plane.Point) bool {
	return r.at[s.a].Sub(p).Dot(r.at[s.b].Sub(p)) < 0
}

// segments divides what is encroached or too long, until nothing is.
func (r *refiner) segments() {
	for len(r.split) > 0 && r.err == nil {
		i := r.split[len(r.split)-1]
		r.split = r.split[:len(r.split)-1]
		s := &r.segs[i]
		if s.gone {
			continue
		}
		if r.encroached(i) || r.at[s.a].Dist(r.at[s.b]) > r.g.pieces[s.piece].step*(1+1e-9) {
			r.halve(i, true)
			r.look()
		}
	}
}

// look queues the triangles made since, and the segments on their edges.
func (r *refiner) look() {
	for _, t := range r.fresh {
		if r.dead[t] {
			continue
		}
		r.queue = append(r.queue, t)
		for _, s := range r.tris[t].s {
			if s >= 0 {
				r.split = append(r.split, s)
			}
		}
	}
	r.fresh = r.fresh[:0]
}

// run refines until all is good.
func (r *refiner) run() {
	for i := range r.segs {
		if !r.segs[i].gone {
			r.split = append(r.split, int32(i))
		}
	}
	for t := range r.tris {
		if !r.dead[t] {
			r.queue = append(r.queue, int32(t))
		}
	}
	r.fresh = r.fresh[:0]
	r.segments()
	for head := 0; head < len(r.queue) && r.err == nil; head++ {
		t := r.queue[head]
		if r.dead[t] || !r.bad(t) {
			continue
		}
		r.mend(t)
		r.segments()
		if head > 1<<16 && head > len(r.queue)/2 {
			r.queue = append(r.queue[:0], r.queue[head+1:]...)
			head = -1
		}
	}
}

// mend puts a point where triangle t stops being bad.
func (r *refiner) mend(t int32) {
	q := &r.tris[t]
	p := circumcentre(r.at[q.v[0]], r.at[q.v[1]], r.at[q.v[2]])
	if r.full(p) {
		return
	}
	u, e, found := r.locate(p, t, true)
	r.hit = r.hit[:0]
	if !found {
		if s := r.tris[u].s[e]; s >= 0 {
			r.hit = append(r.hit, s)
			r.again(t)
		}
		return
	}
	for _, v := range r.tris[u].v {
		if r.at[v] == p {
			return
		}
	}
	trimmed, ok := r.dig(p, []int32{u}, -1)
	for _, e := range r.rim {
		if e.seg >= 0 && r.within(&r.segs[e.seg], p) {
			r.hit = append(r.hit, e.seg)
		}
	}
	if len(r.hit) > 0 {
		r.again(t)
		return
	}
	if !ok {
		return
	}
	r.put(r.fill(p), -1)
	if trimmed {
		r.settle()
	}
	r.look()
}

// again divides the segments that stand in the way of triangle t, and looks at it once more if any was.
func (r *refiner) again(t int32) {
	done := false
	for _, s := range r.hit {
		if r.err == nil && r.halve(s, true) {
			done = true
			r.look()
		}
	}
	r.segments()
	if done && !r.dead[t] {
		r.queue = append(r.queue, t)
	}
}

// bad says whether a triangle is too sharp or too long.
func (r *refiner) bad(t int32) bool {
	q := &r.tris[t]
	a, b, c := r.at[q.v[0]], r.at[q.v[1]], r.at[q.v[2]]
	ab, bc, ca := dist2(a, b), dist2(b, c), dist2(c, a)
	mid := plane.Point{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3}
	if h := r.size.at(mid); max(ab, bc, ca) > h*h {
		return true
	}
	// The least angle lies opposite the shortest side.
	i, s, l2, m2 := 0, ab, bc, ca
	if bc < s {
		i, s, l2, m2 = 1, bc, ca, ab
	}
	if ca < s {
		i, s, l2, m2 = 2, ca, ab, bc
	}
	if (l2+m2-s)/(2*math.Sqrt(l2*m2)) <= r.cosBad || s < leastSegment*leastSegment {
		return false
	}
	return !r.sharpPair(q.v[i], q.v[(i+1)%3])
}

// sharpPair says whether the short side between two vertices spans a sharp corner of the input, at the same distance on both its
// segments: then no point makes it better.
func (r *refiner) sharpPair(u, v int32) bool {
	a, b := r.home[u], r.home[v]
	if a < 0 || b < 0 || a == b {
		return false
	}
	p, q := &r.g.pieces[a], &r.g.pieces[b]
	w := int32(-1)
	switch {
	case p.a == q.a || p.a == q.b:
		w = p.a
	case p.b == q.a || p.b == q.b:
		w = p.b
	default:
		return false
	}
	if !r.sharpAt(r.net[w]) {
		return false
	}
	at := r.g.at[w]
	d, e := at.Dist(r.at[u]), at.Dist(r.at[v])
	return math.Abs(d-e) <= 1e-3*max(d, e)
}

func dist2(a, b plane.Point) float64 { d := a.Sub(b); return d.Dot(d) }

// circumcentre is the centre of the circle through three points, worked out from the first to keep the rounding small.
func circumcentre(a, b, c plane.Point) plane.Point {
	b, c = b.Sub(a), c.Sub(a)
	d := 2 * b.Cross(c)
	b2, c2 := b.Dot(b), c.Dot(c)
	return a.Add(plane.Point{X: (b2*c.Y - c2*b.Y) / d, Y: (c2*b.X - b2*c.X) / d})
}
