package plane

import (
	"fmt"
	"math"
)

// EdgeTol is the distance, mm, within which geometry counts as touching: far below any tool, far above the rounding of
// coordinates of some metres (about 1e-12 mm).
const EdgeTol = 1e-6

// Open returns an open path of straight edges through pts.
func Open(pts ...Point) Path { return Path{V: corners(pts)} }

// Polygon returns a closed path of straight edges through pts, in the order given.
func Polygon(pts ...Point) Path { return Path{V: corners(pts), Closed: true} }

func corners(pts []Point) []Vertex {
	v := make([]Vertex, len(pts))
	for i, p := range pts {
		v[i].Point = p
	}
	return v
}

// EdgeCount returns the number of edges; fewer than two vertices make none.
func (p Path) EdgeCount() int {
	switch {
	case len(p.V) < 2:
		return 0
	case p.Closed:
		return len(p.V)
	}
	return len(p.V) - 1
}

// Seg returns edge i, which leaves vertex i.
func (p Path) Seg(i int) Seg {
	return Seg{p.V[i].Point, p.V[(i+1)%len(p.V)].Point, p.V[i].Bulge}
}

// Segs returns all edges in order.
func (p Path) Segs() []Seg {
	s := make([]Seg, p.EdgeCount())
	for i := range s {
		s[i] = p.Seg(i)
	}
	return s
}

// Length returns the length along the path, mm.
func (p Path) Length() float64 {
	sum := 0.0
	for i := range p.EdgeCount() {
		sum += p.Seg(i).Length()
	}
	return sum
}

// EdgeStart returns the length along the path at which edge i starts, mm; i = EdgeCount gives the whole length.
func (p Path) EdgeStart(i int) float64 {
	sum := 0.0
	for k := range i {
		sum += p.Seg(k).Length()
	}
	return sum
}

// Locate returns the edge at length s (mm) along the path and the fraction t of that edge's length. Within 1e-9 mm of where
// two edges meet, which is what sums of lengths round by, it is the start of the later one. On a closed path s wraps round. On
// an open path s may pass an end by EdgeTol; further out, and on a path without length, it panics.
func (p Path) Locate(s float64) (edge int, t float64) {
	total := p.Length()
	if !(total > 0) || math.IsInf(total, 0) || math.IsNaN(s) || math.IsInf(s, 0) {
		panic(fmt.Sprintf("plane: no place at %v along a path of length %v", s, total))
	}
	if p.Closed {
		if s = math.Mod(s, total); s < 0 {
			s += total
		}
	} else if s < -EdgeTol || s > total+EdgeTol {
		panic(fmt.Sprintf("plane: %v mm along a path of %v mm", s, total))
	}
	const jointTol = 1e-9
	first, last := -1, 0
	for i := range p.EdgeCount() {
		n := p.Seg(i).Length()
		if n == 0 {
			continue
		}
		if first < 0 {
			first = i
		}
		switch {
		case s < min(jointTol, n/2):
			return i, 0
		case s < n-jointTol:
			return i, s / n
		}
		s -= n
		last = i
	}
	if p.Closed {
		return first, 0
	}
	return last, 1
}

// At returns the point at length s along the path; s as for Locate.
func (p Path) At(s float64) Point {
	i, t := p.Locate(s)
	return p.Seg(i).At(t)
}

// Tangent returns the unit direction of travel at length s along the path; s as for Locate. At a corner it is that of the
// edge that leaves.
func (p Path) Tangent(s float64) Point {
	i, t := p.Locate(s)
	return p.Seg(i).Tangent(t)
}

// Bounds returns the least upright box around the path; a path without vertices has an empty one.
func (p Path) Bounds() Box {
	b := EmptyBox()
	for _, v := range p.V {
		b = b.Include(v.Point)
	}
	for i := range p.EdgeCount() {
		if g := p.Seg(i); g.IsArc() {
			b = b.Union(g.Bounds())
		}
	}
	return b
}

// Nearest returns the point of the path nearest to q: the length along the path, the distance, mm, and the point itself. Of
// several, the first along the path. A path without vertices panics.
func (p Path) Nearest(q Point) (s, dist float64, foot Point) {
	if len(p.V) == 0 {
		panic("plane: Nearest on a path without vertices")
	}
	foot = p.V[0].Point
	dist = q.Dist(foot)
	start := 0.0
	for i := range p.EdgeCount() {
		g := p.Seg(i)
		n := g.Length()
		t, f := g.Nearest(q)
		if d := q.Dist(f); d < dist {
			s, dist, foot = start+t*n, d, f
		}
		start += n
	}
	return s, dist, foot
}

// SubPath returns the open path from length s0 to s1; both as for Locate. On a closed path it runs forwards, through the
// start where s1 is not beyond s0 (so s0 = s1, as Locate tells them apart, gives the whole way round). On an open path s1 < s0 panics.
func (p Path) SubPath(s0, s1 float64) Path {
	if !p.Closed && s1 < s0 {
		panic(fmt.Sprintf("plane: SubPath from %v back to %v", s0, s1))
	}
	i, t0 := p.Locate(s0)
	j, t1 := p.Locate(s1)
	n := p.EdgeCount()
	if i == j && t0 <= t1 && !(p.Closed && t0 == t1) {
		return fromSegs([]Seg{p.Seg(i).Sub(t0, t1)})
	}
	var segs []Seg
	add := func(g Seg) {
		if g.A != g.B {
			segs = append(segs, g)
		}
	}
	add(p.Seg(i).Sub(t0, 1))
	for k := (i + 1) % n; k != j; k = (k + 1) % n {
		add(p.Seg(k))
	}
	add(p.Seg(j).Sub(0, t1))
	return fromSegs(segs)
}

// fromSegs joins edges that follow one another to an open path.
func fromSegs(segs []Seg) Path {
	var p Path
	for _, g := range segs {
		p.V = append(p.V, Vertex{g.A, g.Bulge})
	}
	if n := len(segs); n > 0 {
		p.V = append(p.V, Vertex{Point: segs[n-1].B})
	}
	return p
}

// Reverse returns the path travelled the other way. It starts at the last vertex of an open path, and at the same vertex
// of a closed one.
func (p Path) Reverse() Path {
	n := len(p.V)
	r := Path{V: make([]Vertex, n), Closed: p.Closed}
	for i := range n {
		from, edge := n-1-i, n-2-i // vertex, and the edge that arrives there when travelled forwards
		if p.Closed {
			from, edge = (n-i)%n, n-1-i
		}
		r.V[i].Point = p.V[from].Point
		if edge >= 0 && edge < n {
			r.V[i].Bulge = -p.V[edge].Bulge
		}
	}
	return r
}

// maxPieces bounds the pieces that Flatten makes of one arc; a whole turn then has a chord error of 1.2e-9 of the radius.
const maxPieces = 1 << 16

// Flatten returns points along the path such that straight lines between them stay within tol (mm) of it, or as near as
// 65536 lines per arc allow. Vertices are kept exactly. A closed path's first point is not repeated. The caller owns the
// slice. A tol that is not positive panics.
func (p Path) Flatten(tol float64) []Point {
	if !(tol > 0) {
		panic(fmt.Sprintf("plane: Flatten within %v mm", tol))
	}
	pts := make([]Point, 0, len(p.V))
	for i, v := range p.V {
		pts = append(pts, v.Point)
		if i >= p.EdgeCount() {
			break
		}
		g := p.Seg(i)
		n := pieces(g, tol)
		for k := 1; k < n; k++ {
			pts = append(pts, g.At(float64(k)/float64(n)))
		}
	}
	return pts
}

// pieces returns into how many equal parts an arc must be cut for a chord error R(1 − cos(sweep/2n)) within tol.
func pieces(g Seg, tol float64) int {
	if !g.IsArc() {
		return 1
	}
	u := math.Sqrt(min(1, tol/2*math.Abs(g.Curvature()))) // sin of a quarter of the greatest sweep per piece
	if n := math.Ceil(math.Abs(g.Sweep()) / (4 * math.Asin(u))); n < maxPieces {
		return max(1, int(n))
	}
	return maxPieces
}
