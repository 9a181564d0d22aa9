package mesh

import (
	"math"
	"math/big"

	"panelwright/internal/plane"
)

// inCircle says where d lies against the circle through a, b, c, which run anticlockwise: +1 inside, −1 outside, 0 on it.
// Exact for the coordinates as given: a floating-point filter decides nearly always, long arithmetic the rest.
func inCircle(a, b, c, d plane.Point) int {
	ax, ay := a.X-d.X, a.Y-d.Y
	bx, by := b.X-d.X, b.Y-d.Y
	cx, cy := c.X-d.X, c.Y-d.Y
	a2, b2, c2 := ax*ax+ay*ay, bx*bx+by*by, cx*cx+cy*cy
	bc1, bc2 := bx*cy, by*cx
	ca1, ca2 := cx*ay, cy*ax
	ab1, ab2 := ax*by, ay*bx
	det := a2*(bc1-bc2) + b2*(ca1-ca2) + c2*(ab1-ab2)
	// The bound of [shewchuk97, sec. 4.4], (10 + 96ε)ε with ε = 2⁻⁵³, rounded up.
	const bound = 1.2e-15
	most := a2*(math.Abs(bc1)+math.Abs(bc2)) + b2*(math.Abs(ca1)+math.Abs(ca2)) + c2*(math.Abs(ab1)+math.Abs(ab2))
	switch {
	case det > bound*most:
		return 1
	case det < -bound*most:
		return -1
	}
	return inCircleExact(a, b, c, d)
}

// inCircleBits hold every product of four differences of coordinates between 1e-30 and 1e15 without rounding.
const inCircleBits = 1600

func inCircleExact(a, b, c, d plane.Point) int {
	f := func(v float64) *big.Float { return new(big.Float).SetPrec(inCircleBits).SetFloat64(v) }
	n := func() *big.Float { return new(big.Float).SetPrec(inCircleBits) }
	dx, dy := f(d.X), f(d.Y)
	diff := func(p plane.Point) (x, y, sq *big.Float) {
		x, y = n().Sub(f(p.X), dx), n().Sub(f(p.Y), dy)
		return x, y, n().Add(n().Mul(x, x), n().Mul(y, y))
	}
	ax, ay, a2 := diff(a)
	bx, by, b2 := diff(b)
	cx, cy, c2 := diff(c)
	cross := func(ux, uy, vx, vy *big.Float) *big.Float { return n().Sub(n().Mul(ux, vy), n().Mul(uy, vx)) }
	det := n().Mul(a2, cross(bx, by, cx, cy))
	det.Add(det, n().Mul(b2, cross(cx, cy, ax, ay)))
	det.Add(det, n().Mul(c2, cross(ax, ay, bx, by)))
	return det.Sign()
}
