package drawing

import (
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// Quad is an upright or turned rectangle on the page, its corners in order.
type Quad [4]plane.Point

// Extent of letters over and under the base line, over the text's Size: the tallest lower-case letters and the deepest.
const (
	viewAscent  = 0.76
	viewDescent = 0.236
)

// TextQuad is the rectangle that a text covers.
func TextQuad(t sheet.Text) Quad {
	w := sheet.TextWidth(t.S, t.Size, t.Font)
	x0 := 0.0
	switch t.Align {
	case sheet.Centre:
		x0 = -w / 2
	case sheet.Right:
		x0 = -w
	}
	var q Quad
	for i, c := range [4]plane.Point{{X: x0, Y: -viewAscent * t.Size}, {X: x0 + w, Y: -viewAscent * t.Size}, {X: x0 + w, Y: viewDescent * t.Size}, {X: x0, Y: viewDescent * t.Size}} {
		q[i] = t.At.Add(c.Rotate(-t.Turn)) // the page has y downwards
	}
	return q
}

func viewBoxQuad(x, y, w, h float64) Quad {
	return Quad{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}}
}

// viewClear is the least distance of a label from a panel's edge, mm.
const viewClear = 1

// grown is the rectangle with d more on every side.
func (q Quad) grown(d float64) Quad {
	u, v := q[1].Sub(q[0]).Unit().Scale(d), q[3].Sub(q[0]).Unit().Scale(d)
	return Quad{q[0].Sub(u).Sub(v), q[1].Add(u).Sub(v), q[2].Add(u).Add(v), q[3].Sub(u).Add(v)}
}

// Meets says whether two convex quads overlap by more than a hair; touching does not count.
func (q Quad) Meets(r Quad) bool {
	return !viewApart(q[:], r[:]) && !viewApart(r[:], q[:])
}

// viewTouch is how far two rectangles may run into each other and still count as touching, mm.
const viewTouch = 0.01

// viewApart says whether an edge of a has all of b on its outer side. a may be a line of two points.
func viewApart(a, b []plane.Point) bool {
	for i := range a {
		e := a[(i+1)%len(a)].Sub(a[i])
		if e.Len() == 0 {
			continue
		}
		n := e.Perp().Unit()
		aLo, aHi := viewSpan(a, n)
		bLo, bHi := viewSpan(b, n)
		if aHi <= bLo+viewTouch || bHi <= aLo+viewTouch {
			return true
		}
	}
	return false
}

func viewSpan(pts []plane.Point, n plane.Point) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range pts {
		d := p.Dot(n)
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	return lo, hi
}

// meetsLine says whether the line from a to b passes through the quad.
func (q Quad) meetsLine(a, b plane.Point) bool {
	line := []plane.Point{a, b}
	if viewApart(q[:], line) {
		return false
	}
	n := b.Sub(a).Perp().Unit()
	lo, hi := viewSpan(q[:], n)
	d := a.Dot(n)
	return lo < d && d < hi
}

// meetsDisc says whether the quad comes within r of at.
func (q Quad) meetsDisc(at plane.Point, r float64) bool {
	path := plane.Polygon(q[:]...)
	if path.Contains(at) != plane.Outside {
		return true
	}
	_, d, _ := path.Nearest(at)
	return d < r
}

// Box is the smallest upright rectangle around q.
func (q Quad) Box() plane.Box {
	b := plane.EmptyBox()
	for _, p := range q {
		b = b.Include(p)
	}
	return b
}

type viewDisc struct {
	at plane.Point
	r  float64
}

type viewLine struct {
	a, b plane.Point
	cost float64
}

// viewPlacer finds room for labels. Texts and discs are never covered; lines cost what they say.
type viewPlacer struct {
	frame plane.Box // labels stay inside; the zero box is no limit
	texts []Quad
	discs []viewDisc
	lines []viewLine
}

func (p *viewPlacer) takeText(t sheet.Text) { p.texts = append(p.texts, TextQuad(t)) }

func (p *viewPlacer) takeBox(q Quad) { p.texts = append(p.texts, q) }

func (p *viewPlacer) takeDisc(at plane.Point, r float64) {
	p.discs = append(p.discs, viewDisc{at, r})
}

// takePath makes a path on the page costly to write over.
func (p *viewPlacer) takePath(path plane.Path, cost float64) {
	pts := path.Flatten(0.2)
	if path.Closed && len(pts) > 0 {
		pts = append(pts, pts[0])
	}
	for i := 1; i < len(pts); i++ {
		p.lines = append(p.lines, viewLine{pts[i-1], pts[i], cost})
	}
}

// cost returns what a label over q would cover; ok is false when it may not stand there at all.
func (p *viewPlacer) cost(q Quad) (cost float64, ok bool) {
	box := q.Box()
	if p.frame != (plane.Box{}) && !(p.frame.Has(box.Min) && p.frame.Has(box.Max)) {
		return 0, false
	}
	for _, t := range p.texts {
		if box.Overlaps(t.Box()) && q.Meets(t) {
			return 0, false
		}
	}
	for _, d := range p.discs {
		if box.Grow(d.r).Has(d.at) && q.meetsDisc(d.at, d.r) {
			return 0, false
		}
	}
	wide := q.grown(viewClear)
	for _, l := range p.lines {
		r := q
		if l.cost >= costOutline { // a bold line, and a halo beside it would bite into it
			r = wide
		}
		if box.Grow(viewClear).Overlaps(plane.EmptyBox().Include(l.a).Include(l.b)) && r.meetsLine(l.a, l.b) {
			cost += l.cost
		}
	}
	return cost, true
}

// hides says whether a label over q would cover part of an outline. The price does not tell: a curve that is cheap to write over has
// many short pieces.
func (p *viewPlacer) hides(q Quad) bool {
	wide := q.grown(viewClear)
	for _, l := range p.lines {
		if l.cost >= costOutline && wide.meetsLine(l.a, l.b) {
			return true
		}
	}
	return false
}

// best returns the cheapest of the quads that may stand, the earliest of equals; extra is the price of the place itself.
func (p *viewPlacer) best(quads []Quad, extra func(i int) float64) (index int, ok bool) {
	least := math.Inf(1)
	for i, q := range quads {
		c, free := p.cost(q)
		if !free {
			continue
		}
		if extra != nil {
			c += extra(i)
		}
		if c < least {
			least, index, ok = c, i, true
		}
	}
	return index, ok
}

// viewRing returns boxes of w × h around at, from near to far: at each distance on four sides, in line with the middle or
// with either end, and at the four corners. anchors are the points of the boxes nearest to at.
func viewRing(at plane.Point, w, h float64, distances []float64) (quads []Quad, anchors []plane.Point) {
	for _, d := range distances {
		c := d * math.Sqrt2 / 2
		for _, p := range [...]plane.Point{
			{X: d, Y: -h / 2}, {X: -d - w, Y: -h / 2}, {X: -w / 2, Y: -d - h}, {X: -w / 2, Y: d},
			{X: c, Y: -c - h}, {X: c, Y: c}, {X: -c - w, Y: -c - h}, {X: -c - w, Y: c},
			{X: -2, Y: -d - h}, {X: -2, Y: d}, {X: 2 - w, Y: -d - h}, {X: 2 - w, Y: d},
			{X: d, Y: -2}, {X: -d - w, Y: -2}, {X: d, Y: 2 - h}, {X: -d - w, Y: 2 - h},
		} {
			x, y := at.X+p.X, at.Y+p.Y
			quads = append(quads, viewBoxQuad(x, y, w, h))
			anchors = append(anchors, plane.Point{X: math.Max(x, math.Min(x+w, at.X)), Y: math.Max(y, math.Min(y+h, at.Y))})
		}
	}
	return quads, anchors
}

// leaderPrice is what a leader from a to b would cross: texts, holes, lines.
func (p *viewPlacer) leaderPrice(a, b plane.Point) float64 {
	price := 0.0
	for _, t := range p.texts {
		if t.meetsLine(a, b) {
			price += 60
		}
	}
	seg := plane.Open(a, b)
	for _, d := range p.discs {
		if _, dist, _ := seg.Nearest(d.at); dist < d.r {
			price += 25
		}
	}
	for _, l := range p.lines {
		if viewCross(a, b, l.a, l.b) {
			price += l.cost / 4
		}
	}
	return price
}

// viewCross says whether two lines cross within both.
func viewCross(a, b, c, d plane.Point) bool {
	return plane.Orient(a, b, c)*plane.Orient(a, b, d) < 0 && plane.Orient(c, d, a)*plane.Orient(c, d, b) < 0
}

// TextsOf lists every text of a display list, clips opened.
func TextsOf(items []sheet.Item) []sheet.Text {
	var out []sheet.Text
	for _, it := range items {
		switch it := it.(type) {
		case sheet.Text:
			out = append(out, it)
		case sheet.Clip:
			out = append(out, TextsOf(it.Items)...)
		}
	}
	return out
}
