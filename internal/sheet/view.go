package sheet

import "panelwright/internal/plane"

// Map returns the place on the page of panel point p, mm.
func (v View) Map(p plane.Point) plane.Point {
	x := p.X
	if v.Mirror {
		x = -x
	}
	return plane.Point{X: v.Origin.X + v.Scale*x, Y: v.Origin.Y - v.Scale*p.Y}
}

// Unmap returns the panel point that falls on page point p: the inverse of Map.
func (v View) Unmap(p plane.Point) plane.Point {
	x := (p.X - v.Origin.X) / v.Scale
	if v.Mirror {
		x = -x
	}
	return plane.Point{X: x, Y: (v.Origin.Y - p.Y) / v.Scale}
}

// Path returns the path on the page, in memory of its own. Turning y over reverses the sense of every arc, and a mirror
// reverses it again: bulges change sign without Mirror and keep it with Mirror.
func (v View) Path(p plane.Path) plane.Path {
	sign := -1.0
	if v.Mirror {
		sign = 1
	}
	out := plane.Path{V: make([]plane.Vertex, len(p.V)), Closed: p.Closed}
	for i, a := range p.V {
		out.V[i] = plane.Vertex{Point: v.Map(a.Point), Bulge: sign * a.Bulge}
	}
	return out
}

// Region returns the region on the page, in memory of its own.
func (v View) Region(r plane.Region) plane.Region {
	out := plane.Region{Outer: v.Path(r.Outer)}
	for _, c := range r.CutOuts {
		out.CutOuts = append(out.CutOuts, v.Path(c))
	}
	return out
}
