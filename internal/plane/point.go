package plane

import (
	"math"
	"math/big"
)

// Add returns a + b.
func (a Point) Add(b Point) Point { return Point{a.X + b.X, a.Y + b.Y} }

// Sub returns a − b.
func (a Point) Sub(b Point) Point { return Point{a.X - b.X, a.Y - b.Y} }

// Scale returns f·a.
func (a Point) Scale(f float64) Point { return Point{f * a.X, f * a.Y} }

// Dot returns the inner product a·b, mm².
func (a Point) Dot(b Point) float64 { return a.X*b.X + a.Y*b.Y }

// Cross returns a.X·b.Y − a.Y·b.X, mm²: positive when b lies to the left of a.
func (a Point) Cross(b Point) float64 { return a.X*b.Y - a.Y*b.X }

// Len returns the length of a, mm.
func (a Point) Len() float64 { return math.Hypot(a.X, a.Y) }

// Dist returns the distance from a to b, mm.
func (a Point) Dist(b Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// Unit returns a with length 1. The zero vector has no direction and stays zero.
func (a Point) Unit() Point {
	n := a.Len()
	if n == 0 {
		return Point{}
	}
	return Point{a.X / n, a.Y / n}
}

// Perp returns a turned a quarter turn to the left.
func (a Point) Perp() Point { return Point{-a.Y, a.X} }

// Rotate returns a turned by angle (rad, anticlockwise) about the origin.
func (a Point) Rotate(angle float64) Point {
	s, c := math.Sincos(angle)
	return Point{c*a.X - s*a.Y, s*a.X + c*a.Y}
}

// Lerp returns the point at fraction t of the way from a to b; t = 0 and t = 1 give a and b exactly.
func (a Point) Lerp(b Point, t float64) Point {
	if t == 1 {
		return b
	}
	return Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}
}

// finite says whether both coordinates are numbers.
func (a Point) finite() bool {
	return !math.IsNaN(a.X) && !math.IsInf(a.X, 0) && !math.IsNaN(a.Y) && !math.IsInf(a.Y, 0)
}

const (
	// orientFilter bounds the relative rounding error of the determinant in Orient: (3 + 16ε)ε with ε = 2⁻⁵³
	// (Shewchuk, Adaptive precision floating-point arithmetic and fast robust geometric predicates, 1997).
	orientFilter = (3 + 16*0x1p-53) * 0x1p-53
	// orientTiny is where products may underflow, and the bound above no longer holds.
	orientTiny = 1e-280
)

// Orient says on which side of the directed line a → b the point c lies: +1 left, −1 right, 0 exactly on it. The answer
// is exact for the coordinates as given: a floating-point filter decides nearly always, rational arithmetic the rest.
// Coordinates that are not finite panic.
func Orient(a, b, c Point) int {
	// The conversions forbid fused multiply-add, which would break the error bound's assumptions.
	l := float64((a.X - c.X) * (b.Y - c.Y))
	r := float64((a.Y - c.Y) * (b.X - c.X))
	det := l - r
	sum := math.Abs(l) + math.Abs(r)
	if sum > orientTiny && math.Abs(det) > orientFilter*sum {
		if det > 0 {
			return 1
		}
		return -1
	}
	return orientExact(a, b, c)
}

func orientExact(a, b, c Point) int {
	if !a.finite() || !b.finite() || !c.finite() {
		panic("plane: Orient of a point that is not finite")
	}
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	sub := func(u, v float64) *big.Rat { return new(big.Rat).Sub(rat(u), rat(v)) }
	l := new(big.Rat).Mul(sub(a.X, c.X), sub(b.Y, c.Y))
	r := new(big.Rat).Mul(sub(a.Y, c.Y), sub(b.X, c.X))
	return l.Cmp(r)
}

// Box is an upright rectangle; it is empty while Min is beyond Max.
type Box struct{ Min, Max Point }

// EmptyBox holds nothing; Union with it changes nothing.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Min: Point{inf, inf}, Max: Point{-inf, -inf}}
}

// Empty says whether the box holds no point.
func (b Box) Empty() bool { return !(b.Min.X <= b.Max.X && b.Min.Y <= b.Max.Y) }

// Width returns the extent along x, mm; an empty box has none.
func (b Box) Width() float64 {
	if b.Empty() {
		return 0
	}
	return b.Max.X - b.Min.X
}

// Height returns the extent along y, mm; an empty box has none.
func (b Box) Height() float64 {
	if b.Empty() {
		return 0
	}
	return b.Max.Y - b.Min.Y
}

// Union returns the least box around both.
func (b Box) Union(c Box) Box {
	return Box{
		Min: Point{min(b.Min.X, c.Min.X), min(b.Min.Y, c.Min.Y)},
		Max: Point{max(b.Max.X, c.Max.X), max(b.Max.Y, c.Max.Y)},
	}
}

// Include returns the least box around b and p.
func (b Box) Include(p Point) Box { return b.Union(Box{p, p}) }

// Grow returns the box widened by d (mm) on every side; an empty box stays empty.
func (b Box) Grow(d float64) Box {
	if b.Empty() {
		return b
	}
	return Box{Point{b.Min.X - d, b.Min.Y - d}, Point{b.Max.X + d, b.Max.Y + d}}
}

// Overlaps says whether the boxes share a point.
func (b Box) Overlaps(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y
}

// Has says whether p lies in the box or on its edge.
func (b Box) Has(p Point) bool {
	return b.Min.X <= p.X && p.X <= b.Max.X && b.Min.Y <= p.Y && p.Y <= b.Max.Y
}

// Centre returns the middle of the box.
func (b Box) Centre() Point { return b.Min.Lerp(b.Max, 0.5) }
