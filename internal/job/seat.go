package job

import "panelwright/internal/plane"

// SeatPath is the edge e moved inwards by inset (mm): the seat line of a flange before it is joined to its neighbours. A
// corner whose radius the move uses up is left out, so that the line ends where the edge's straight part does; the joint
// with the next line makes it sharp. An edge that is the whole outline, as of a round hatch, comes back as a loop that
// begins beside the edge's beginning. It fails as plane's offsets do.
func (p *Panel) SeatPath(e Edge, inset float64) (plane.Path, error) {
	outer := p.Outline.Outer
	if e.To-e.From >= outer.Length()-plane.EdgeTol {
		loop, err := outer.Inset(inset)
		if err != nil {
			return plane.Path{}, err
		}
		s, _, _ := loop.Nearest(outer.At(e.From))
		return loop.SubPath(s, s), nil
	}
	from, to := 0.0, e.To-e.From
	edge := outer.SubPath(e.From, e.To)
	usedUp := func(g plane.Seg) bool {
		return g.IsArc() && g.Bulge > 0 && g.Radius() <= inset+plane.EdgeTol
	}
	segs := edge.Segs()
	for len(segs) > 1 && usedUp(segs[0]) {
		from += segs[0].Length()
		segs = segs[1:]
	}
	for len(segs) > 1 && usedUp(segs[len(segs)-1]) {
		to -= segs[len(segs)-1].Length()
		segs = segs[:len(segs)-1]
	}
	return edge.SubPath(from, to).OffsetOpen(inset)
}
