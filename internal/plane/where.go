package plane

import "fmt"

// Where is the place of a point against a closed path or a region.
type Where int

// OnEdge means within tolerance of the boundary: too close to tell.
const (
	Outside Where = iota
	OnEdge
	Inside
)

// String names the place.
func (w Where) String() string {
	switch w {
	case Outside:
		return "outside"
	case OnEdge:
		return "on the edge"
	case Inside:
		return "inside"
	}
	return fmt.Sprintf("Where(%d)", int(w))
}

// Contains says whether q lies inside a closed path, or within EdgeTol of its edge. Inside means wound round at least once,
// either way. An open path panics.
func (p Path) Contains(q Point) Where { return p.ContainsWithin(q, EdgeTol) }

// ContainsWithin is Contains with a tolerance (mm) of the caller's.
func (p Path) ContainsWithin(q Point, tol float64) Where {
	if !p.Closed {
		panic("plane: Contains of an open path")
	}
	if len(p.V) == 0 {
		return Outside
	}
	if _, d, _ := p.Nearest(q); d <= tol {
		return OnEdge
	}
	if p.winding(q) != 0 {
		return Inside
	}
	return Outside
}

// winding counts the turns of the path around q, which must not lie on it. It is the winding of the polygon of the chords,
// plus one turn for every arc that has q between itself and its chord. Both parts use side, so a point on a chord cannot
// fall between them.
func (p Path) winding(q Point) int {
	w := 0
	for i := range p.EdgeCount() {
		g := p.Seg(i)
		if g.A == g.B {
			continue
		}
		left := side(g.A, g.B, q) > 0
		switch {
		case g.A.Y <= q.Y && q.Y < g.B.Y && left:
			w++
		case g.B.Y <= q.Y && q.Y < g.A.Y && !left:
			w--
		}
		switch {
		case g.Bulge > 0 && !left && g.fromCircle(q) < 0:
			w++
		case g.Bulge < 0 && left && g.fromCircle(q) < 0:
			w--
		}
	}
	return w
}

// side is Orient with ties broken as if q stood a hair further along x, and a hair of that hair further along y.
func side(a, b, q Point) int {
	if o := Orient(a, b, q); o != 0 {
		return o
	}
	if a.Y != b.Y {
		if b.Y > a.Y {
			return -1
		}
		return 1
	}
	if b.X > a.X {
		return 1
	}
	return -1
}
