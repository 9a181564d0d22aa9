package mesh

import "panelwright/internal/plane"

// triangle has corners anticlockwise; edge i runs from corner i to corner i+1. n[i] is the triangle across it, −1 none; s[i]
// the segment that lies on it, −1 none.
type triangle struct {
	v, n, s [3]int32
}

// segment is a straight piece of outline or line that mesh edges must follow. It runs along its piece from fraction t0 to t1.
type segment struct {
	a, b   int32
	piece  int32
	tri    int32 // a triangle beside it, once it is sealed
	t0, t1 float64
	gone   bool
}

// network is the triangulation at work: Delaunay but for segments, which no triangle crosses.
type network struct {
	at     []plane.Point
	of     []int32 // a triangle at each vertex
	tris   []triangle
	dead   []bool
	free   []int32 // places of dead triangles
	segs   []segment
	fresh  []int32 // triangles made since last asked
	cavity []int32
	stamp  []int32
	now    int32
	rim    []rimEdge
	made   []int32 // triangles round the last vertex, as fill made them
	flips  []int32
	last   int32
}

// rimEdge is an edge of a cavity, the cavity on its left: triangle in belongs to it.
type rimEdge struct {
	a, b, out, seg, in int32
}

// newNetwork starts with two triangles around everything.
func newNetwork(box plane.Box) *network {
	w := 10 * (box.Width() + box.Height() + 1)
	c := box.Centre()
	m := &network{at: []plane.Point{{X: c.X - w, Y: c.Y - w}, {X: c.X + w, Y: c.Y - w}, {X: c.X + w, Y: c.Y + w}, {X: c.X - w, Y: c.Y + w}}}
	m.of = []int32{0, 0, 0, 1}
	m.tris = []triangle{{v: [3]int32{0, 1, 2}, n: [3]int32{-1, -1, 1}, s: [3]int32{-1, -1, -1}}, {v: [3]int32{0, 2, 3}, n: [3]int32{0, -1, -1}, s: [3]int32{-1, -1, -1}}}
	m.dead, m.stamp = make([]bool, 2), make([]int32, 2)
	return m
}

// locate walks from a triangle towards p. It returns the triangle that holds p, or, where a segment or the end of the
// triangulation lies between (barred), the triangle before it and the number of the edge.
func (m *network) locate(p plane.Point, from int32, barred bool) (t int32, edge int, found bool) {
	t = from
	// In a Delaunay triangulation each step brings p deeper into the triangle's circle, so no walk circles; the bound is for
	// the places that are not Delaunay.
	for step := range len(m.tris) + 16 {
		q := &m.tris[t]
		next := int32(-2)
		for k := range 3 {
			i := (k + step) % 3
			if plane.Orient(m.at[q.v[i]], m.at[q.v[(i+1)%3]], p) < 0 {
				if q.n[i] < 0 || barred && q.s[i] >= 0 {
					edge, next = i, -1
					continue
				}
				next = q.n[i]
				break
			}
		}
		switch next {
		case -2:
			return t, 0, true
		case -1:
			return t, edge, false
		}
		t = next
	}
	return t, 0, false
}

// edgeOf finds the triangle and the number of its edge that runs from a to b.
func (m *network) edgeOf(a, b int32) (t int32, i int, ok bool) {
	start := m.of[a]
	// Round a, anticlockwise, and where that ends at a rim, clockwise from the start.
	t = start
	for range len(m.tris) {
		q := &m.tris[t]
		i := corner(q, a)
		if q.v[(i+1)%3] == b {
			return t, i, true
		}
		t = q.n[(i+2)%3]
		if t < 0 {
			break
		}
		if t == start {
			return 0, 0, false
		}
	}
	t = start
	for range len(m.tris) {
		q := &m.tris[t]
		i := corner(q, a)
		if q.v[(i+1)%3] == b {
			return t, i, true
		}
		t = q.n[i]
		if t < 0 || t == start {
			return 0, 0, false
		}
	}
	return 0, 0, false
}

// corner is the number of vertex a in a triangle.
func corner(q *triangle, a int32) int {
	switch a {
	case q.v[0]:
		return 0
	case q.v[1]:
		return 1
	case q.v[2]:
		return 2
	}
	panic("mesh: a triangle without its vertex")
}

// dig finds the cavity of p: the triangles whose circle holds it, from the seeds on, not across segments, and all of them
// seen from p. The rim is left in m.rim, without the edges of segment skip. trimmed says that some were left out because p
// does not see them, ok that p sees the whole rim: seeds are never left out.
func (m *network) dig(p plane.Point, seeds []int32, skip int32) (trimmed, ok bool) {
	m.now += 2 // now: in the cavity; now − 1: banned from it
	for {
		m.cavity, m.rim = m.cavity[:0], m.rim[:0]
		for _, s := range seeds {
			if m.stamp[s] != m.now {
				m.stamp[s] = m.now
				m.cavity = append(m.cavity, s)
			}
		}
		m.spread(p)
		for _, t := range m.cavity {
			q := &m.tris[t]
			for i, o := range q.n {
				if skip >= 0 && q.s[i] == skip || o >= 0 && q.s[i] < 0 && m.stamp[o] == m.now {
					continue
				}
				m.rim = append(m.rim, rimEdge{q.v[i], q.v[(i+1)%3], o, q.s[i], t})
			}
		}
		unseen, banned := false, false
		for _, e := range m.rim {
			if plane.Orient(m.at[e.a], m.at[e.b], p) > 0 {
				continue
			}
			unseen = true
			if m.stamp[e.in] == m.now && !has(seeds, e.in) {
				m.stamp[e.in], banned = m.now-1, true
			}
		}
		if !banned {
			return trimmed, !unseen
		}
		trimmed = true
		for _, t := range m.cavity {
			if m.stamp[t] == m.now {
				m.stamp[t] = 0
			}
		}
	}
}

// spread grows the cavity from what is in it.
func (m *network) spread(p plane.Point) {
	for k := 0; k < len(m.cavity); k++ {
		q := m.tris[m.cavity[k]]
		for i, o := range q.n {
			if o < 0 || q.s[i] >= 0 || m.stamp[o] >= m.now-1 {
				continue
			}
			r := &m.tris[o]
			if inCircle(m.at[r.v[0]], m.at[r.v[1]], m.at[r.v[2]], p) > 0 {
				m.stamp[o] = m.now
				m.cavity = append(m.cavity, o)
			}
		}
	}
}

func has(list []int32, v int32) bool {
	for _, w := range list {
		if w == v {
			return true
		}
	}
	return false
}

// fill puts p into the cavity that dig found, and returns its vertex.
func (m *network) fill(p plane.Point) int32 {
	v := int32(len(m.at))
	m.at = append(m.at, p)
	m.of = append(m.of, -1)
	for _, t := range m.cavity {
		m.dead[t] = true
		m.free = append(m.free, t)
	}
	m.made = m.made[:0]
	for _, e := range m.rim {
		t := m.place(triangle{v: [3]int32{e.a, e.b, v}, n: [3]int32{e.out, -1, -1}, s: [3]int32{e.seg, -1, -1}})
		if e.out >= 0 {
			o := &m.tris[e.out]
			for i := range 3 {
				if o.v[i] == e.b && o.v[(i+1)%3] == e.a {
					o.n[i] = t
				}
			}
		}
		if e.seg >= 0 {
			m.segs[e.seg].tri = t
		}
		m.made = append(m.made, t)
		m.of[e.b] = t
	}
	for _, t := range m.made {
		m.of[m.tris[t].v[0]] = t
	}
	// Neighbours round v: the triangle that leaves a rim vertex meets the one that arrives there.
	for _, t := range m.made {
		q := &m.tris[t]
		if u := m.of[q.v[1]]; m.tris[u].v[0] == q.v[1] {
			q.n[1], m.tris[u].n[2] = u, t
		}
	}
	m.of[v] = m.made[0]
	m.last = m.made[0]
	return v
}

// place stores a triangle, in the room of a dead one where there is any.
func (m *network) place(q triangle) int32 {
	var t int32
	if n := len(m.free); n > 0 {
		t = m.free[n-1]
		m.free = m.free[:n-1]
		m.tris[t], m.dead[t] = q, false
		m.stamp[t] = 0
	} else {
		t = int32(len(m.tris))
		m.tris = append(m.tris, q)
		m.dead = append(m.dead, false)
		m.stamp = append(m.stamp, 0)
	}
	m.fresh = append(m.fresh, t)
	return t
}

// add inserts a point that is no vertex yet, anywhere inside the two first triangles. It returns −1 when p stands on a vertex
// or on a segment.
func (m *network) add(p plane.Point) int32 {
	t, _, found := m.locate(p, m.last, false)
	if !found {
		t, found = m.search(p)
	}
	if !found {
		panic("mesh: a point outside the triangulation")
	}
	for _, v := range m.tris[t].v {
		if m.at[v] == p {
			return -1
		}
	}
	trimmed, ok := m.dig(p, []int32{t}, -1)
	if !ok {
		return -1
	}
	v := m.fill(p)
	if trimmed {
		m.settle()
	}
	return v
}

// search looks for p in every triangle: for a walk that went astray.
func (m *network) search(p plane.Point) (int32, bool) {
	for t := range m.tris {
		if q := m.tris[t].v; !m.dead[t] && plane.Orient(m.at[q[0]], m.at[q[1]], p) >= 0 && plane.Orient(m.at[q[1]], m.at[q[2]], p) >= 0 && plane.Orient(m.at[q[2]], m.at[q[0]], p) >= 0 {
			return int32(t), true
		}
	}
	return 0, false
}

// settle turns edges round the triangles last made until they are Delaunay again.
func (m *network) settle() {
	m.flips = append(m.flips[:0], m.made...)
	// Each turn takes an edge away for good, so the square of their number bounds
	// them; what is common is a handful.
	for n := 0; len(m.flips) > 0 && n < 1<<20; n++ {
		t := m.flips[len(m.flips)-1]
		m.flips = m.flips[:len(m.flips)-1]
		for i := range 3 {
			if u := m.turn(t, i); u >= 0 {
				m.flips = append(m.flips, t, u)
				m.fresh = append(m.fresh, t, u)
				break
			}
		}
	}
}

// turn replaces edge i of triangle t by the other diagonal, where that makes it Delaunay. It returns the other triangle, −1
// when the edge stays.
func (m *network) turn(t int32, i int) int32 {
	q := m.tris[t]
	u := q.n[i]
	if u < 0 || q.s[i] >= 0 {
		return -1
	}
	r := m.tris[u]
	a, b, c := q.v[i], q.v[(i+1)%3], q.v[(i+2)%3]
	j := corner(&r, b) // edge j of r runs from b to a
	d := r.v[(j+2)%3]
	if inCircle(m.at[a], m.at[b], m.at[c], m.at[d]) <= 0 || plane.Orient(m.at[d], m.at[c], m.at[a]) <= 0 || plane.Orient(m.at[c], m.at[d], m.at[b]) <= 0 {
		return -1
	}
	// a d c and d b c, from a b c and b a d.
	i1, i2, j1, j2 := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
	m.tris[t] = triangle{v: [3]int32{a, d, c}, n: [3]int32{r.n[j1], u, q.n[i2]}, s: [3]int32{r.s[j1], -1, q.s[i2]}}
	m.tris[u] = triangle{v: [3]int32{d, b, c}, n: [3]int32{r.n[j2], q.n[i1], t}, s: [3]int32{r.s[j2], q.s[i1], -1}}
	m.relink(r.n[j1], u, t)
	m.relink(q.n[i1], t, u)
	for _, k := range []int32{t, u} {
		for e, s := range m.tris[k].s {
			m.of[m.tris[k].v[e]] = k
			if s >= 0 {
				m.segs[s].tri = k
			}
		}
	}
	return u
}

// relink tells triangle o that its neighbour was has become is.
func (m *network) relink(o, was, is int32) {
	if o < 0 {
		return
	}
	for i, n := range m.tris[o].n {
		if n == was {
			m.tris[o].n[i] = is
			return
		}
	}
}
