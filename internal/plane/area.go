package plane

// Area returns the signed area that a closed path encloses, mm²: positive when it runs anticlockwise; exact with arcs, by
// the polygon of the chords plus the circular segments. A path that crosses itself counts each part with its winding. An
// open path panics.
func (p Path) Area() float64 {
	a, _ := p.moments()
	return a
}

// Centroid returns the centroid of the enclosed area. ok is false when the path encloses no area to speak of: less than
// EdgeTol times its length. An open path panics.
func (p Path) Centroid() (c Point, ok bool) {
	a, m := p.moments()
	if !(a > EdgeTol*p.Length() || -a > EdgeTol*p.Length()) {
		return Point{}, false
	}
	return p.V[0].Add(m.Scale(1 / a)), true
}

// moments returns the signed area and its first moment about the first vertex, which keeps a path far from the origin
// accurate.
func (p Path) moments() (area float64, first Point) {
	if !p.Closed {
		panic("plane: area of an open path")
	}
	if len(p.V) == 0 {
		return 0, Point{}
	}
	origin := p.V[0].Point
	for i := range p.EdgeCount() {
		g := p.Seg(i)
		a, b := g.A.Sub(origin), g.B.Sub(origin)
		tri := a.Cross(b) / 2
		area += tri
		first = first.Add(a.Add(b).Scale(tri / 3))
		if !g.IsArc() {
			continue
		}
		s, m := g.sliver()
		area += s
		// A left-turning arc bulges to the right of its chord and adds area there; a right-turning one lies to the left and
		// takes it away. So the moment along the right normal is positive for both.
		out := b.Sub(a).Unit().Perp().Scale(-m)
		first = first.Add(a.Add(b).Scale(s / 2)).Add(out)
	}
	return area, first
}
