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
	last   int32
}

// rimEdge is an edge of a cavity, the cavity on its left.
type rimEdge struct {
	a, b, out, seg int32
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
	for step := 0; step < 4*len(m.tris)+16; step++ {
		q := &m.tris[t]
		next := int32(-2)
		// The edge to try first changes from step to step, so that a walk cannot circle.
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

// dig finds the cavity of p: the triangles whose circle holds it, from the seeds on, not across segments. The rim is left in
// m.rim, without the edges of segment skip.
func (m *network) dig(p plane.Point, seeds []int32, skip int32) {
	m.now++
	m.cavity, m.rim = m.cavity[:0], m.rim[:0]
	for _, s := range seeds {
		if m.stamp[s] != m.now {
			m.stamp[s] = m.now
			m.cavity = append(m.cavity, s)
		}
	}
	for k := 0; k < len(m.cavity); k++ {
		q := m.tris[m.cavity[k]]
		for i, o := range q.n {
			if o < 0 || q.s[i] >= 0 || m.stamp[o] == m.now {
				continue
			}
			r := &m.tris[o]
			if inCircle(m.at[r.v[0]], m.at[r.v[1]], m.at[r.v[2]], p) > 0 {
				m.stamp[o] = m.now
				m.cavity = append(m.cavity, o)
			}
		}
	}
	for _, t := range m.cavity {
		q := &m.tris[t]
		for i, o := range q.n {
			if skip >= 0 && q.s[i] == skip || o >= 0 && q.s[i] < 0 && m.stamp[o] == m.now {
				continue
			}
			m.rim = append(m.rim, rimEdge{q.v[i], q.v[(i+1)%3], o, q.s[i]})
		}
	}
}

// sees says whether p lies strictly to the left of every edge of the rim.
func (m *network) sees(p plane.Point) bool {
	for _, e := range m.rim {
		if plane.Orient(m.at[e.a], m.at[e.b], p) <= 0 {
			return false
		}
	}
	return true
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
	first := int32(-1)
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
		m.of[e.a], m.of[e.b] = t, t
		first = t
	}
	m.of[v] = first
	// Neighbours round v: the triangle that leaves a rim vertex meets the one that arrives there.
	made := m.fresh[len(m.fresh)-len(m.rim):]
	for _, t := range made {
		q := &m.tris[t]
		for _, u := range made {
			if r := &m.tris[u]; r.v[0] == q.v[1] {
				q.n[1], r.n[2] = u, t
				break
			}
		}
	}
	m.last = first
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

// add inserts a point that is no vertex yet, anywhere inside the two first triangles. It returns −1 when p stands on a vertex.
func (m *network) add(p plane.Point) int32 {
	t, _, found := m.locate(p, m.last, false)
	if !found {
		panic("mesh: a point outside the triangulation")
	}
	for _, v := range m.tris[t].v {
		if m.at[v] == p {
			return -1
		}
	}
	m.dig(p, []int32{t}, -1)
	if !m.sees(p) {
		// p stands on an edge: the triangle across belongs to the cavity too, and its circle holds p already; on a segment it is
		// not reached.
		return -1
	}
	return m.fill(p)
}
