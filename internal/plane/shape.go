package plane

import (
	"errors"
	"fmt"
	"math"
)

// Rectangle returns the closed anticlockwise path with corners (0, 0) and (w, h). Sizes are not judged here: Facts says
// whether the result encloses anything.
func Rectangle(w, h float64) Path {
	return Polygon(Point{}, Point{w, 0}, Point{w, h}, Point{0, h})
}

// RoundedRectangle returns Rectangle with all corners rounded to radius r; *RadiusError when that does not fit.
func RoundedRectangle(w, h, r float64) (Path, error) {
	return RoundCorners(Rectangle(w, h), []float64{r, r, r, r})
}

// Trapezium returns the closed anticlockwise path with its bottom edge from (0, 0) to (bottom, 0) and a level top edge at
// height, whose middle stands shift to the right of the bottom's middle; shift = 0 is the symmetric one.
func Trapezium(bottom, top, height, shift float64) Path {
	mid := bottom/2 + shift
	return Polygon(Point{}, Point{bottom, 0}, Point{mid + top/2, height}, Point{mid - top/2, height})
}

// CircleAt returns the closed anticlockwise path of two half circles about c with radius r, starting at c + (r, 0).
func CircleAt(c Point, r float64) Path {
	return Path{
		V:      []Vertex{{Point{c.X + r, c.Y}, 1}, {Point{c.X - r, c.Y}, 1}},
		Closed: true,
	}
}

// ErrNoArc is why ArcThrough fails: two of the points are one, or the last lies between the others.
var ErrNoArc = errors.New("no arc goes through these three points in this order")

// ArcThrough returns the bulge of the edge from a to c that passes through b: 0 when b lies on the line between them. With
// γ the turn from a→b to b→c, half the sweep, it is tan(γ/2).
func ArcThrough(a, b, c Point) (bulge float64, err error) {
	u, v := b.Sub(a), c.Sub(b)
	if u == (Point{}) || v == (Point{}) || a == c {
		return 0, fmt.Errorf("(%g, %g), (%g, %g), (%g, %g): %w", a.X, a.Y, b.X, b.Y, c.X, c.Y, ErrNoArc)
	}
	o := Orient(a, b, c)
	if o == 0 {
		if u.Dot(v) < 0 {
			return 0, fmt.Errorf("(%g, %g), (%g, %g), (%g, %g): %w", a.X, a.Y, b.X, b.Y, c.X, c.Y, ErrNoArc)
		}
		return 0, nil
	}
	return math.Tan(math.Atan2(u.Cross(v), u.Dot(v)) / 2), nil
}

// RadiusError says that a corner cannot be rounded as asked.
type RadiusError struct {
	Vertex  int
	Radius  float64 // asked, mm
	Largest float64 // the largest that fits when the radii at the ends of the tight edge shrink alike; 0: none does
	Reason  string
}

// Error says it in words.
func (e *RadiusError) Error() string {
	return fmt.Sprintf("corner %d: radius %.6g mm does not fit (%s); the largest that does is %.6g mm",
		e.Vertex, e.Radius, e.Reason, e.Largest)
}

// RoundCorners replaces each vertex i of p by an arc of radius radii[i] (mm) tangent to both its edges; 0 leaves it sharp.
// The result has the arc's start and end in place of the vertex. It rounds corners between straight edges. Every corner that
// does not fit is reported, as *RadiusError values joined. An open path's end vertices must have radius 0. A slice of
// another length than p.V panics.
func RoundCorners(p Path, radii []float64) (Path, error) {
	n := len(p.V)
	if len(radii) != n {
		panic("plane: len(radii) != len(p.V)")
	}
	cut := make([]float64, n) // length that the arc takes from both edges
	turn := make([]float64, n)
	var errs []error
	for i, r := range radii {
		reason := ""
		turn[i], reason = p.corner(i)
		switch {
		case r == 0:
		case !(r > 0) || math.IsInf(r, 0):
			errs = append(errs, &RadiusError{i, r, 0, "a radius is positive"})
		case reason != "":
			errs = append(errs, &RadiusError{i, r, 0, reason})
		default:
			cut[i] = r * math.Abs(math.Tan(turn[i]/2))
		}
	}
	for i, r := range radii {
		if share := p.cornerShare(i, cut); share < 1 && cut[i] > 0 {
			errs = append(errs, &RadiusError{i, r, r * share, "its edges are too short"})
		}
	}
	if len(errs) > 0 {
		return Path{}, errors.Join(errs...)
	}
	q := Path{Closed: p.Closed}
	for i, v := range p.V {
		if cut[i] == 0 {
			q.V = append(q.V, v)
			continue
		}
		in, out := p.Seg((i+n-1)%n), p.Seg(i)
		q.V = append(q.V,
			Vertex{v.Point.Sub(in.Tangent(1).Scale(cut[i])), math.Tan(turn[i] / 4)},
			Vertex{v.Point.Add(out.Tangent(0).Scale(cut[i])), 0})
	}
	return q.withoutZeroEdges(), nil
}

// corner returns the turn at vertex i, rad, positive to the left, or why it cannot be rounded.
func (p Path) corner(i int) (turn float64, reason string) {
	n := len(p.V)
	if n < 3 || !p.Closed && (i == 0 || i == n-1) {
		return 0, "it is no corner between two edges"
	}
	in, out := p.Seg((i+n-1)%n), p.Seg(i)
	if in.IsArc() || out.IsArc() {
		return 0, "it meets an arc"
	}
	u, v := in.Tangent(1), out.Tangent(0)
	if u == (Point{}) || v == (Point{}) {
		return 0, "it meets an edge without length"
	}
	turn = math.Atan2(u.Cross(v), u.Dot(v))
	// foldBack is a corner so sharp that the arc's tangents are 10⁶ radii long.
	const foldBack = math.Pi - 2e-6
	if math.Abs(turn) > foldBack {
		return 0, "its edges fold back on each other"
	}
	return turn, ""
}

// cornerShare returns by what factor the cuts at both ends of vertex i's tighter edge must shrink to fit; ≥ 1 fits.
func (p Path) cornerShare(i int, cut []float64) float64 {
	n := len(p.V)
	share := math.Inf(1)
	if cut[i] == 0 {
		return share
	}
	for _, e := range [...]int{(i + n - 1) % n, i} {
		length := p.Seg(e).Length()
		need := cut[e] + cut[(e+1)%n]
		// A full round, whose arcs meet in the middle of the edge, may miss by rounding.
		if need > length && need <= length+EdgeTol {
			need = length
		}
		share = min(share, length/need)
	}
	return share
}

// withoutZeroEdges drops the edges that two arcs which meet leave between them.
func (p Path) withoutZeroEdges() Path {
	q := Path{Closed: p.Closed}
	for i, v := range p.V {
		if i < p.EdgeCount() && p.Seg(i).Chord() <= EdgeTol && p.EdgeCount() > 2 {
			// The next vertex stands in for this one; its place differs by less than the tolerance.
			continue
		}
		q.V = append(q.V, v)
	}
	return q
}
