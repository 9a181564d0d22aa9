package mesh

import (
	"cmp"
	"math"
	"slices"

	"panelwright/internal/plane"
)

const (
	// clearRounds bounds how often pieces are divided to keep clear of each other. Each round halves arcs that are too close,
	// which few take more than five times; the others lead lines through vertices, one by one where two run nearly together.
	clearRounds = 200
	// clearWork bounds the pairs looked at in all rounds together: a second's work or two.
	clearWork = 1 << 29
	// clearLeast is how near (mm) a vertex may lie to a piece that does not end there; nearer, the piece is led through it.
	clearLeast = Same / 2
	// clearAngle (rad) is the angle under which a line counts as running through a vertex near its end.
	clearAngle = 0.04
	// clearFlat is the height (mm) of an arc over its chord under which it counts as straight where something else is close.
	clearFlat = clearLeast / 8
)

// clear divides pieces until nothing crosses but at vertices, no vertex lies on a piece that it does not end, and the room
// between each arc and its chord is free: then nodes can move onto arcs, whatever is divided later.
func (g *drawing) clear() error {
	work, old, seen := 0, int32(0), []bool{}
	for round := range clearRounds {
		c := clearing{g: g, last: round == clearRounds-1, mark: make([]clearCut, len(g.pieces)), old: old, seen: seen}
		found := c.find()
		old, seen = int32(len(g.pieces)), c.used
		if work += c.work; work > clearWork {
			return &TooLarge{Limit: g.d.Size.Nodes, At: c.at, Size: Same}
		}
		if !found {
			g.cancel()
			return nil
		}
		if c.last {
			return &Unfit{Reason: "lines lie too close together to tell apart", At: c.at}
		}
		for i := range c.mark {
			g.cut(int32(i), c.mark[i])
		}
		if n := g.live(); n > g.d.Size.Nodes {
			return &TooLarge{Limit: g.d.Size.Nodes, At: c.at, Size: g.pieces[len(g.pieces)-1].seg.Chord()}
		}
	}
	return nil
}

// cancel takes off owners that run along a piece there and back: loops where the region, or what is cut out of it, is thinner
// than one place, and an edge of a line that drawing places together has led back a little.
func (g *drawing) cancel() {
	for i := range g.pieces {
		p := &g.pieces[i]
		for k := 0; k < len(p.owners) && !p.gone; k++ {
			o := p.owners[k]
			for n, q := range p.owners[:k] {
				if o.back != q.back && (o.line < 0 && q.line < 0 || o.line == q.line && o.edge == q.edge) {
					p.owners = slices.Delete(slices.Delete(p.owners, k, k+1), n, n+1)
					k -= 2
					break
				}
			}
		}
		p.gone = p.gone || len(p.owners) == 0
	}
}

func (g *drawing) live() (n int) {
	for i := range g.pieces {
		if !g.pieces[i].gone {
			n++
		}
	}
	return n
}

// clearCut is what a round found for a piece: halve it, straighten it, or lead it through vertices.
type clearCut struct {
	halve, straight bool
	through         []clearStop
}

// clearStop is a vertex at fraction t of a piece.
type clearStop struct {
	t float64
	v int32
}

// clearing is one round.
type clearing struct {
	g    *drawing
	last bool
	mark []clearCut
	hull [][3]plane.Point // ends of each piece and where their tangents meet
	at   plane.Point      // of the last thing found
	some bool
	old  int32  // pieces before this one were looked at against each other in an earlier round
	seen []bool // and so were these vertices
	used []bool // vertices that count
	work int
}

// find looks for what is too close, by sweeping askew, so that edges of panels seldom lie across.
func (c *clearing) find() bool {
	var items []clearItem
	used := make([]bool, len(c.g.at))
	c.used = used
	c.hull = make([][3]plane.Point, len(c.g.pieces))
	for i := range c.g.pieces {
		p := &c.g.pieces[i]
		if p.gone {
			continue
		}
		used[p.a], used[p.b] = true, true
		c.hull[i] = hull(p.seg)
		b := plane.EmptyBox()
		for _, q := range c.hull[i] {
			b = b.Include(q)
		}
		items = append(items, newClearItem(b.Grow(clearLeast), int32(i)))
	}
	for _, v := range c.g.points {
		used[v] = true
	}
	for v, u := range used {
		if u {
			items = append(items, newClearItem(plane.EmptyBox().Include(c.g.at[v]), int32(-1-v)))
		}
	}
	slices.SortStableFunc(items, func(p, q clearItem) int { return cmp.Compare(p.lo, q.lo) })
	var open []clearItem
	for _, it := range items {
		keep := open[:0]
		c.work += len(open)
		for _, o := range open {
			if o.hi < it.lo {
				continue
			}
			keep = append(keep, o)
			if !o.box.Overlaps(it.box) || c.known(o.i) && c.known(it.i) {
				continue
			}
			switch {
			case o.i >= 0 && it.i >= 0:
				c.pair(o.i, it.i)
			case o.i >= 0:
				c.spot(o.i, -1-it.i)
			case it.i >= 0:
				c.spot(it.i, -1-o.i)
			}
		}
		open = append(keep, it)
	}
	return c.some
}

// clearItem is a piece, or −1 − a vertex, in its box.
type clearItem struct {
	box    plane.Box
	lo, hi float64 // extent along the sweep
	i      int32
}

func newClearItem(b plane.Box, i int32) clearItem {
	const x, y = 0.8776, 0.4794 // half a radian up
	return clearItem{box: b, lo: b.Min.X*x + b.Min.Y*y, hi: b.Max.X*x + b.Max.Y*y, i: i}
}

// known says whether an item was there in an earlier round.
func (c *clearing) known(i int32) bool {
	if i >= 0 {
		return i < c.old
	}
	v := int(-1 - i)
	return v < len(c.seen) && c.seen[v]
}

// hull is a triangle that holds a piece: its ends and where its end tangents meet; the chord's middle for a line.
func hull(s plane.Seg) [3]plane.Point {
	mid := s.A.Lerp(s.B, 0.5)
	if s.Bulge != 0 {
		half := s.Sweep() / 2
		mid = mid.Add(s.B.Sub(s.A).Perp().Scale(-math.Tan(half) / 2))
	}
	return [3]plane.Point{s.A, mid, s.B}
}

// spot looks at a vertex beside a piece.
func (c *clearing) spot(i, v int32) {
	p := &c.g.pieces[i]
	if p.a == v || p.b == v {
		return
	}
	at := c.g.at[v]
	t, foot := p.seg.Nearest(at)
	// Beside an end the room shrinks, so that lines which part at an angle are not drawn together one vertex after the other.
	room := min(clearLeast, clearAngle*min(at.Dist(p.seg.A), at.Dist(p.seg.B)))
	if foot.Dist(at) < room && t > 0 && t < 1 && c.g.lies(at, p) {
		c.mark[i].through = append(c.mark[i].through, clearStop{t, v})
		c.note(at)
		return
	}
	if p.seg.Bulge == 0 {
		return
	}
	h := c.hull[i]
	if s := plane.Orient(h[0], h[2], h[1]); s != 0 && s*plane.Orient(h[0], h[2], at) >= 0 && s*plane.Orient(h[0], h[1], at) <= 0 && s*plane.Orient(h[1], h[2], at) <= 0 {
		c.bend(i, at)
	}
}

// lies says whether a place counts as one on all the edges that a piece is part of.
func (g *drawing) lies(at plane.Point, p *piece) bool {
	for _, o := range p.owners {
		if _, foot := g.curves[o.curve].seg.Nearest(at); foot.Dist(at) > Same {
			return false
		}
	}
	return true
}

func (c *clearing) note(at plane.Point) { c.some, c.at = true, at }

// bend has an arc halved, or taken for straight where it is too short or too flat for that.
func (c *clearing) bend(i int32, at plane.Point) bool {
	p := &c.g.pieces[i]
	if p.seg.Bulge == 0 {
		return false
	}
	if p.seg.Chord() > 4*Same && math.Abs(p.seg.Bulge)*p.seg.Chord()/2 > clearFlat {
		c.mark[i].halve = true
	} else {
		c.mark[i].straight = true
	}
	c.note(at)
	return true
}

// pair looks at two pieces.
func (c *clearing) pair(i, j int32) {
	p, q := &c.g.pieces[i], &c.g.pieces[j]
	shared := 0
	var w int32
	for _, v := range []int32{p.a, p.b} {
		if v == q.a || v == q.b {
			shared++
			w = v
		}
	}
	switch shared {
	case 2:
		if !c.bend(i, p.seg.A) && !c.bend(j, p.seg.A) {
			panic("mesh: one piece stands twice")
		}
	case 1:
		if p.seg.Bulge == 0 && q.seg.Bulge == 0 {
			return
		}
		if wedgesMeet(wedge(p, w), wedge(q, w)) {
			c.bend(i, c.g.at[w])
			c.bend(j, c.g.at[w])
		}
	case 0:
		c.apart(i, j)
	}
}

// wedge gives the directions of chord and tangent of a piece at its end w.
func wedge(p *piece, w int32) [2]plane.Point {
	s := p.seg
	if p.b == w {
		s = s.Reverse()
	}
	return [2]plane.Point{s.B.Sub(s.A).Unit(), s.Tangent(0)}
}

// wedgesMeet says whether the wedges between chord and tangent of two pieces at one vertex have directions in common, beyond
// what rounding makes of tangents that are one.
func wedgesMeet(a, b [2]plane.Point) bool {
	const tiny = 1e-7 // rad
	angle := func(d plane.Point) float64 { return math.Atan2(a[0].Cross(d), a[0].Dot(d)) }
	// About the chord of a as zero.
	a0, a1 := min(0, angle(a[1])), max(0, angle(a[1]))
	b0, b1 := angle(b[0]), angle(b[1])
	if math.Abs(b0-b1) > math.Pi { // about the back
		return false
	}
	b0, b1 = min(b0, b1), max(b0, b1)
	return min(a1, b1)-max(a0, b0) > tiny || b0 > a0+tiny && b1 < a1-tiny || a0 > b0+tiny && a1 < b1-tiny
}

// apart looks at two pieces without a common vertex.
func (c *clearing) apart(i, j int32) {
	p, q := &c.g.pieces[i], &c.g.pieces[j]
	if p.seg.Bulge == 0 && q.seg.Bulge == 0 {
		a, b, u, v := p.seg.A, p.seg.B, q.seg.A, q.seg.B
		if plane.Orient(a, b, u)*plane.Orient(a, b, v) >= 0 || plane.Orient(u, v, a)*plane.Orient(u, v, b) >= 0 {
			return // what touches only, a vertex lies on
		}
		d, e := b.Sub(a), v.Sub(u)
		w := c.g.vertex(a.Lerp(b, min(1, max(0, u.Sub(a).Cross(e)/d.Cross(e)))))
		for _, k := range []int32{i, j} {
			t, _ := c.g.pieces[k].seg.Nearest(c.g.at[w])
			c.mark[k].through = append(c.mark[k].through, clearStop{t, w})
		}
		c.note(c.g.at[w])
		return
	}
	if !trianglesApart(c.hull[i], c.hull[j]) {
		c.bend(i, p.seg.A)
		c.bend(j, q.seg.A)
	}
}

// trianglesApart says whether a side of one of two triangles, or a direction across it, keeps them apart.
func trianglesApart(a, b [3]plane.Point) bool {
	for range 2 {
		for k := range 3 {
			n := a[(k+1)%3].Sub(a[k]).Perp()
			lo, hi := math.Inf(1), math.Inf(-1)
			for _, p := range a {
				d := p.Sub(a[0]).Dot(n)
				lo, hi = min(lo, d), max(hi, d)
			}
			under, over := true, true
			for _, p := range b {
				d := p.Sub(a[0]).Dot(n)
				under, over = under && d < lo, over && d > hi
			}
			if under || over {
				return true
			}
		}
		a, b = b, a
	}
	return false
}

// cut does to a piece what was found.
func (g *drawing) cut(i int32, m clearCut) {
	p := g.pieces[i]
	if m.halve && len(m.through) == 0 {
		m.through = []clearStop{{0.5, g.vertex(p.seg.At(0.5))}}
	}
	if len(m.through) == 0 {
		if m.straight {
			g.pieces[i].gone = true
			p.seg.Bulge = 0
			g.addPiece(p)
		}
		return
	}
	slices.SortStableFunc(m.through, func(a, b clearStop) int {
		switch {
		case a.t < b.t:
			return -1
		case a.t > b.t:
			return 1
		}
		return 0
	})
	// Vertices drawn together may lie a little out of order: lengths along the path still rise.
	const step = 1e-6
	for k := range m.through {
		t := &m.through[k].t
		*t = min(max(*t, step*float64(k+1)), 1-step*float64(len(m.through)-k))
		if k > 0 {
			*t = max(*t, m.through[k-1].t+step)
		}
	}
	g.pieces[i].gone = true
	sweep := p.seg.Sweep()
	if m.straight || p.seg.Chord() < 4*Same {
		sweep = 0
	}
	from, fromT := p.a, 0.0
	for _, s := range append(m.through, clearStop{1, p.b}) {
		if s.v == from {
			continue
		}
		sub := piece{a: from, b: s.v, step: p.step, seg: plane.Seg{A: g.at[from], B: g.at[s.v], Bulge: math.Tan(sweep * (s.t - fromT) / 4)}}
		for _, o := range p.owners {
			d := o.to - o.from
			o.from, o.to = o.from+d*fromT, o.from+d*s.t
			sub.owners = append(sub.owners, o)
		}
		g.addPiece(sub)
		from, fromT = s.v, s.t
	}
}
