package mesh

import (
	"math"

	"panelwright/internal/plane"
)

// source asks for edges of at most step at a place.
type source struct {
	at   plane.Point
	step float64
	soft bool // nobody asked for it: it may be taken for a neighbour that asks for nearly the same
}

// sizing says how long edges may be anywhere: at each place the least of what the sources ask for, each growing with the
// distance from it.
type sizing struct {
	max, grow float64
	src       []source
	cells     []sizeCell
	lists     []int32
}

// sizeCell is a square with the sources that can be the least anywhere in it. It is divided when first asked for.
type sizeCell struct {
	mid      plane.Point
	half     float64
	from, to int32 // in lists
	kid      int32 // the first of four, 0 none yet
	rest     bool  // nothing to gain from dividing
}

const (
	// sizeCellFew is how few sources need no division of their cell.
	sizeCellFew = 4
	// sizeSoft is by how much (share of the length) a soft source may be passed over.
	sizeSoft = 0.05
)

func newSizing(d *Domain, g *drawing) *sizing {
	z := &sizing{max: d.Size.Max, grow: d.Size.Grow}
	add := func(p plane.Point, step float64, soft bool) {
		if step > 0 && step < z.max {
			z.lists = append(z.lists, int32(len(z.src)))
			z.src = append(z.src, source{p, step, soft})
		}
	}
	for _, n := range d.Size.Near {
		add(n.At, n.Step, false)
	}
	for i := range g.pieces {
		if p := &g.pieces[i]; !p.gone {
			// A piece that arcs or meetings made short is met by edges not much longer than itself.
			long := p.seg.Chord()
			if math.IsInf(z.grow, 1) && 2*long < p.step {
				continue // nobody asked for it, and lengths may change at once
			}
			add(p.seg.A.Lerp(p.seg.B, 0.5), min(p.step, 2*long), 2*long < p.step)
		}
	}
	box := d.Region.Bounds()
	z.cells = append(z.cells, sizeCell{mid: box.Centre(), half: max(box.Width(), box.Height()) / 2, to: int32(len(z.lists))})
	return z
}

// at returns the longest edge wanted at p, mm.
func (z *sizing) at(p plane.Point) float64 {
	c := int32(0)
	for {
		q := &z.cells[c]
		if q.to-q.from <= sizeCellFew || q.rest {
			break
		}
		if q.kid == 0 {
			z.divide(c)
			continue
		}
		c = q.kid
		if p.X > q.mid.X {
			c++
		}
		if p.Y > q.mid.Y {
			c += 2
		}
	}
	h := z.max
	for _, i := range z.lists[z.cells[c].from:z.cells[c].to] {
		s := &z.src[i]
		if d := math.Sqrt(dist2(s.at, p)); d > 0 {
			h = min(h, s.step+z.grow*d)
		} else {
			h = min(h, s.step)
		}
	}
	return h
}

// divide makes the four kids of a cell. A source stays where it can be the least: within a cell each changes by no more than
// grow times its half diagonal.
func (z *sizing) divide(c int32) {
	q := z.cells[c]
	if q.half < Same {
		z.cells[c].rest = true
		return
	}
	z.cells[c].kid = int32(len(z.cells))
	h := q.half / 2
	for k := range 4 {
		kid := sizeCell{mid: plane.Point{X: q.mid.X - h, Y: q.mid.Y - h}, half: h}
		if k&1 != 0 {
			kid.mid.X += q.half
		}
		if k&2 != 0 {
			kid.mid.Y += q.half
		}
		slack := z.grow * h * math.Sqrt2
		least := z.max + slack
		list := z.lists[q.from:q.to]
		best := int32(-1)
		for _, i := range list {
			if v := z.src[i].step + z.grow*z.src[i].at.Dist(kid.mid) + 2*slack; v < least {
				least, best = v, i
			}
		}
		kid.from = int32(len(z.lists))
		for _, i := range list {
			s := &z.src[i]
			v := s.step + z.grow*s.at.Dist(kid.mid)
			if v > least {
				continue
			}
			// Anywhere, the best of the middle asks for no more than this above what s does.
			if s.soft && i != best && best >= 0 && z.src[best].step-s.step+z.grow*s.at.Dist(z.src[best].at) <= sizeSoft*(v-slack) {
				continue
			}
			z.lists = append(z.lists, i)
		}
		kid.to = int32(len(z.lists))
		z.cells = append(z.cells, kid)
	}
}
