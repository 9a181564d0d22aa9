package marking

import (
	"math"

	"panelwright/internal/plane"
)

// scaledPath maps a path by a scaling along x and y. A fillet, one arc or two of one circle that are tangent to the straight edges before
// and behind, is laid anew with its own radius about its scaled corner: a scaled arc would not be tangent, and tapes that begin at the
// sharp corner would find none. Other arcs keep their bulges: with factors so near to 1 they are off by less than a thousandth of their
// rise. The path keeps its vertices' number, so that places along it map edge by edge.
func scaledPath(p plane.Path, at func(plane.Point) plane.Point) plane.Path {
	out := plane.Path{Closed: p.Closed}
	for _, v := range p.V {
		out.V = append(out.V, plane.Vertex{Point: at(v.Point), Bulge: v.Bulge})
	}
	plain := plane.Path{Closed: p.Closed, V: append([]plane.Vertex{}, out.V...)}
	for i := range p.EdgeCount() {
		if f, ok := filletAt(p, i); ok {
			f.lay(out, at)
		}
	}
	for i, g := range out.Segs() { // an edge that the fillets at its ends have eaten up: leave all as it was
		if was := plain.Seg(i); !g.IsArc() && g.B.Sub(g.A).Dot(was.B.Sub(was.A)) <= 0 {
			return plain
		}
	}
	return out
}

// fillet is a rounded corner of a path.
type fillet struct {
	first, arcs int         // edges
	corner      plane.Point // where the straight edges would meet
	before      plane.Point // direction of the edge before
	behind      plane.Point // and of the one behind
	radius      float64
	share       float64 // of the first arc in the sweep
}

// filletAt finds the fillet that begins with edge i.
func filletAt(p plane.Path, i int) (f fillet, ok bool) {
	const tangent = 1e-6 // sine of the angle by which an arc may miss its edges; coordinates of some metres are good to 1e-12 mm
	n := p.EdgeCount()
	edge := func(k int) (plane.Seg, bool) {
		if !p.Closed && (k < 0 || k >= n) {
			return plane.Seg{}, false
		}
		return p.Seg((k%n + n) % n), true
	}
	a, okA := edge(i - 1)
	arc := p.Seg(i)
	if !okA || a.IsArc() || !arc.IsArc() {
		return f, false
	}
	f = fillet{first: i, arcs: 1, radius: arc.Radius(), share: 1}
	sweep, last := arc.Sweep(), arc
	b, okB := edge(i + 1)
	if okB && b.IsArc() {
		c, _ := arc.Centre()
		d, _ := b.Centre()
		if c.Dist(d) > tangent*f.radius || math.Abs(b.Radius()-f.radius) > tangent*f.radius || sweep*b.Sweep() < 0 {
			return f, false
		}
		f.arcs, f.share, last = 2, sweep/(sweep+b.Sweep()), b
		sweep += b.Sweep()
		b, okB = edge(i + 2)
	}
	if !okB || b.IsArc() || n < f.arcs+2 || math.Abs(sweep) > math.Pi-0.01 {
		return f, false
	}
	f.before, f.behind = a.B.Sub(a.A).Unit(), b.B.Sub(b.A).Unit()
	if math.Abs(f.before.Cross(arc.Tangent(0))) > tangent || math.Abs(f.behind.Cross(last.Tangent(1))) > tangent {
		return f, false
	}
	f.corner = arc.A.Add(f.before.Scale(f.radius * math.Tan(math.Abs(sweep)/2)))
	return f, true
}

// lay puts the fillet into the mapped path.
func (f fillet) lay(out plane.Path, at func(plane.Point) plane.Point) {
	c := at(f.corner)
	before := c.Sub(at(f.corner.Sub(f.before))).Unit()
	behind := at(f.corner.Add(f.behind)).Sub(c).Unit()
	sweep := math.Atan2(before.Cross(behind), before.Dot(behind))
	back := f.radius * math.Tan(math.Abs(sweep)/2)
	n := len(out.V)
	start := c.Sub(before.Scale(back))
	out.V[f.first] = plane.Vertex{Point: start, Bulge: math.Tan(f.share * sweep / 4)}
	if f.arcs == 2 {
		centre := start.Add(before.Perp().Scale(math.Copysign(f.radius, sweep)))
		out.V[(f.first+1)%n] = plane.Vertex{Point: centre.Add(start.Sub(centre).Rotate(f.share * sweep)), Bulge: math.Tan((1 - f.share) * sweep / 4)}
	}
	out.V[(f.first+f.arcs)%n].Point = c.Add(behind.Scale(back))
}
