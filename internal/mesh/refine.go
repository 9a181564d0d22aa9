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
	queue  []int32 // triangles to look at
	split  []int32 // segments to look at
	home   []int32 // piece on which a vertex stands between its ends, −1 none
	sharp  []bool  // vertices where segments meet at less than 60°
	base   int     // vertices before the mesh proper: the corners of the box
	err    error
}

// boxCorners are the first vertices of a network.
const boxCorners = 4

// seal puts the drawing into a fresh network and makes every piece an edge.
func (r *refiner) seal() {
	for _, p := range r.g.at {
		if r.add(p) < 0 && r.err == nil {
			r.err = &Unfit{Reason: "two places too close to tell apart", At: p}
			return
		}
		r.home = append(r.home, -1)
	}
	for i, p := range r.g.pieces {
		r.segs = append(r.segs, segment{a: p.a + boxCorners, b: p.b + boxCorners, piece: int32(i), t1: 1})
	}
	// A segment that is no edge is divided until its parts are. What is sealed stays: triangles may not cross it from then on.
	for i := 0; i < len(r.segs) && r.err == nil; i++ {
		s := &r.segs[i]
		if s.gone {
			continue
		}
		t, e, ok := r.edgeOf(s.a, s.b)
		u, f, ok2 := r.edgeOf(s.b, s.a)
		if ok && ok2 {
			r.tris[t].s[e], r.tris[u].s[f] = int32(i), int32(i)
			continue
		}
		r.halve(int32(i), false)
	}
}

// halve divides a segment at its middle, or near a sharp corner on a circle about it. Sealed says that it is an edge.
func (r *refiner) halve(i int32, sealed bool) {
	s := r.segs[i]
	if s.gone {
		return
	}
	f := r.where(s)
	p := r.at[s.a].Lerp(r.at[s.b], f)
	if r.full(p) {
		return
	}
	if long := r.at[s.a].Dist(r.at[s.b]); long < Same/4 {
		r.err = &Unfit{Reason: "lines that run into each other at too sharp an angle, or too close together,", At: p}
		return
	}
	var v int32
	if !sealed {
		if v = r.add(p); v < 0 {
			r.err = &Unfit{Reason: "lines that cross where they should meet", At: p}
			return
		}
	} else {
		var seeds []int32
		for _, ab := range [][2]int32{{s.a, s.b}, {s.b, s.a}} {
			if t, e, ok := r.edgeOf(ab[0], ab[1]); ok {
				seeds = append(seeds, t)
				r.tris[t].s[e] = i
			}
		}
		r.dig(p, seeds, i)
		if !r.sees(p) {
			r.err = &Unfit{Reason: "the mesh degenerates", At: p}
			return
		}
		v = r.fill(p)
	}
	for len(r.home) < len(r.at)-boxCorners {
		r.home = append(r.home, -1)
	}
	r.home[v-boxCorners] = s.piece
	r.segs[i].gone = true
	mid := s.t0 + (s.t1-s.t0)*f
	k := int32(len(r.segs))
	r.segs = append(r.segs, segment{a: s.a, b: v, piece: s.piece, t0: s.t0, t1: mid}, segment{a: v, b: s.b, piece: s.piece, t0: mid, t1: s.t1})
	if sealed {
		for _, n := range []int32{k, k + 1} {
			q := r.segs[n]
			for _, ab := range [][2]int32{{q.a, q.b}, {q.b, q.a}} {
				if t, e, ok := r.edgeOf(ab[0], ab[1]); ok {
					r.tris[t].s[e] = n
				}
			}
			r.split = append(r.split, n)
		}
	}
}

// where is the fraction at which to divide a segment: half, but from a sharp corner at a power of two of a millimetre, so that
// segments which meet there are divided at the same distances and their triangles stay as good as the corner lets them.
func (r *refiner) where(s segment) float64 {
	a, b := r.sharpAt(s.a), r.sharpAt(s.b)
	if a == b {
		return 0.5
	}
	long := r.at[s.a].Dist(r.at[s.b])
	d := math.Exp2(math.Round(math.Log2(long / 2)))
	if d < long/3 {
		d *= 2
	}
	if d > long*2/3 {
		d /= 2
	}
	if a {
		return d / long
	}
	return 1 - d/long
}

func (r *refiner) sharpAt(v int32) bool {
	i := int(v) - boxCorners
	return i < len(r.sharp) && r.sharp[i]
}

// findSharp marks the vertices where pieces meet at less than 60°.
func (r *refiner) findSharp() {
	r.sharp = make([]bool, len(r.g.at))
	rays := make([][]plane.Point, len(r.g.at))
	for _, p := range r.g.pieces {
		d := r.g.at[p.b].Sub(r.g.at[p.a]).Unit()
		rays[p.a], rays[p.b] = append(rays[p.a], d), append(rays[p.b], d.Scale(-1))
	}
	for v, list := range rays {
		for i, d := range list {
			for _, e := range list[:i] {
				if d.Dot(e) > 0.5+1e-9 {
					r.sharp[v] = true
				}
			}
		}
	}
}

// full says whether the limit is reached, and takes note of it.
func (r *refiner) full(p plane.Point) bool {
	if r.err == nil && len(r.at) >= r.limit+boxCorners {
		r.err = &TooLarge{Limit: r.limit, At: p, Size: r.size.at(p)}
	}
	return r.err != nil
}

// encroached says whether a vertex beside the segment lies within the circle on it.
func (r *refiner) encroached(s segment) bool {
	for _, ab := range [][2]int32{{s.a, s.b}, {s.b, s.a}} {
		if t, e, ok := r.edgeOf(ab[0], ab[1]); ok {
			if p := r.at[r.tris[t].v[(e+2)%3]]; r.within(s, p) {
				return true
			}
		}
	}
	return false
}

// within says whether p lies within the circle on a segment.
func (r *refiner) within(s segment, p plane.Point) bool {
	return r.at[s.a].Sub(p).Dot(r.at[s.b].Sub(p)) < 0
}

// segments divides what is encroached or too long, until nothing is.
func (r *refiner) segments() {
	for len(r.split) > 0 && r.err == nil {
		i := r.split[len(r.split)-1]
		r.split = r.split[:len(r.split)-1]
		s := r.segs[i]
		if s.gone {
			continue
		}
		if r.encroached(s) || r.at[s.a].Dist(r.at[s.b]) > r.g.pieces[s.piece].step*(1+1e-9) {
			r.halve(i, true)
		}
		r.look()
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
	if !found {
		if s := r.tris[u].s[e]; s >= 0 {
			r.again(t, []int32{s})
		}
		return
	}
	for _, v := range r.tris[u].v {
		if r.at[v] == p {
			return
		}
	}
	r.dig(p, []int32{u}, -1)
	var hit []int32
	for _, e := range r.rim {
		if e.seg >= 0 && r.within(r.segs[e.seg], p) {
			hit = append(hit, e.seg)
		}
	}
	if len(hit) > 0 {
		r.again(t, hit)
		return
	}
	if !r.sees(p) {
		return
	}
	r.fill(p)
	r.home = append(r.home, -1)
	r.look()
}

// again divides segments that stand in the way of triangle t, and looks at it once more.
func (r *refiner) again(t int32, segs []int32) {
	for _, s := range segs {
		if r.err == nil {
			r.halve(s, true)
			r.look()
		}
	}
	r.segments()
	if !r.dead[t] {
		r.queue = append(r.queue, t)
	}
}

// bad says whether a triangle is too sharp or too long.
func (r *refiner) bad(t int32) bool {
	q := &r.tris[t]
	a, b, c := r.at[q.v[0]], r.at[q.v[1]], r.at[q.v[2]]
	ab, bc, ca := dist2(a, b), dist2(b, c), dist2(c, a)
	long := math.Sqrt(max(ab, bc, ca))
	mid := plane.Point{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3}
	if long > r.size.at(mid) {
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
	if (l2+m2-s)/(2*math.Sqrt(l2*m2)) <= r.cosBad {
		return false
	}
	return !r.sharpPair(q.v[i], q.v[(i+1)%3])
}

// sharpPair says whether the short side between two vertices spans a sharp corner of the input, at the same distance on both its
// segments: then no point makes it better.
func (r *refiner) sharpPair(u, v int32) bool {
	a, b := r.home[u-boxCorners], r.home[v-boxCorners]
	if a < 0 || b < 0 || a == b {
		return false
	}
	p, q := r.g.pieces[a], r.g.pieces[b]
	w := int32(-1)
	switch {
	case p.a == q.a || p.a == q.b:
		w = p.a
	case p.b == q.a || p.b == q.b:
		w = p.b
	default:
		return false
	}
	if !r.sharp[w] {
		return false
	}
	d, e := r.g.at[w].Dist(r.at[u]), r.g.at[w].Dist(r.at[v])
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
