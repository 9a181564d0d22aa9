package plane

import "math"

// Seg is one edge: a line from A to B, or the arc between them that Bulge describes (see Vertex). Formulas here are
// written so that an arc that flattens towards a line loses no accuracy: nothing divides by the bulge.
type Seg struct {
	A, B  Point
	Bulge float64
}

// IsArc says whether the edge is curved.
func (g Seg) IsArc() bool { return g.Bulge != 0 && g.A != g.B }

// Sweep returns the arc's included angle, rad, positive to the left; 0 for a line.
func (g Seg) Sweep() float64 { return 4 * math.Atan(g.Bulge) }

// Chord returns the straight distance between the ends, mm.
func (g Seg) Chord() float64 { return g.A.Dist(g.B) }

// Length returns the length of the edge, mm: c·(1 + b²)·atan(b)/b with chord c and bulge b.
func (g Seg) Length() float64 {
	c, b := g.Chord(), g.Bulge
	if b == 0 || c == 0 {
		return c
	}
	return c * (1 + b*b) * math.Atan(b) / b
}

// Curvature returns 1/radius, 1/mm, positive when the edge turns to the left; 0 for a line.
func (g Seg) Curvature() float64 {
	if !g.IsArc() {
		return 0
	}
	return 4 * g.Bulge / (g.Chord() * (1 + g.Bulge*g.Bulge))
}

// Radius returns the arc's radius, mm; +Inf for a line.
func (g Seg) Radius() float64 { return math.Abs(1 / g.Curvature()) }

// Centre returns the arc's centre; ok is false for a line.
func (g Seg) Centre() (c Point, ok bool) {
	if !g.IsArc() {
		return Point{}, false
	}
	b := g.Bulge
	return g.A.Lerp(g.B, 0.5).Add(g.B.Sub(g.A).Perp().Scale((1 - b*b) / (4 * b))), true
}

// Tangent returns the unit direction of travel at fraction t of the length. An edge without length has none: zero.
func (g Seg) Tangent(t float64) Point {
	dir := g.B.Sub(g.A).Unit()
	if g.Bulge == 0 {
		return dir
	}
	return dir.Rotate((t - 0.5) * g.Sweep())
}

// At returns the point at fraction t of the length, 0 ≤ t ≤ 1; both ends are exact.
func (g Seg) At(t float64) Point {
	switch {
	case t == 0:
		return g.A
	case t == 1:
		return g.B
	case !g.IsArc():
		return g.A.Lerp(g.B, t)
	}
	// The chord from A to the point stands at half the remaining sweep to the chord from A to B.
	half := g.Sweep() / 2
	f := math.Sin(t*half) / math.Sin(half)
	return g.A.Add(g.B.Sub(g.A).Rotate(-(1 - t) * half).Scale(f))
}

// Reverse returns the same edge travelled the other way.
func (g Seg) Reverse() Seg { return Seg{g.B, g.A, -g.Bulge} }

// Sub returns the part of the edge between fractions t0 and t1 of its length; t0 > t1 gives it reversed.
func (g Seg) Sub(t0, t1 float64) Seg {
	s := Seg{A: g.At(t0), B: g.At(t1)}
	switch {
	case g.Bulge == 0:
	case t0 == 0 && t1 == 1:
		s.Bulge = g.Bulge
	default:
		s.Bulge = math.Tan((t1 - t0) * g.Sweep() / 4)
	}
	return s
}

// turning returns, for p seen from the arc's centre, the angle travelled from A, rad, in (−π, π], signed as the sweep.
func (g Seg) turning(p Point) float64 {
	k, tau := g.Curvature(), g.Tangent(0)
	q := p.Sub(g.A)
	return math.Atan2(k*q.Dot(tau), 1-k*q.Dot(tau.Perp()))
}

// fromCircle returns the signed distance of p from the arc's full circle, mm, positive outside; for a line, from the full
// line, positive to the right. With κ the curvature, n the left normal at A and q = p − A it is ±(κ|q|² − 2q·n)/(1 + √…).
func (g Seg) fromCircle(p Point) float64 {
	k, n := g.Curvature(), g.Tangent(0).Perp()
	q := p.Sub(g.A)
	m := k*q.Dot(q) - 2*q.Dot(n)
	d := m / (1 + math.Sqrt(max(0, 1+k*m)))
	if k < 0 {
		return -d
	}
	return d
}

// Nearest returns the point of the edge nearest to p: its fraction t of the length, and itself. Of several, the first.
func (g Seg) Nearest(p Point) (t float64, foot Point) {
	if g.A == g.B {
		return 0, g.A
	}
	if !g.IsArc() {
		v := g.B.Sub(g.A)
		t = min(1, max(0, p.Sub(g.A).Dot(v)/v.Dot(v)))
		return t, g.At(t)
	}
	sweep, phi := g.Sweep(), g.turning(p)
	if phi*sweep < 0 {
		phi += math.Copysign(2*math.Pi, sweep)
	}
	if t = phi / sweep; t >= 0 && t <= 1 {
		return t, g.At(t)
	}
	if p.Dist(g.A) <= p.Dist(g.B) {
		return 0, g.A
	}
	return 1, g.B
}

// Bounds returns the least upright box around the edge.
func (g Seg) Bounds() Box {
	b := EmptyBox().Include(g.A).Include(g.B)
	if !g.IsArc() {
		return b
	}
	// The arc is extreme where its tangent is level or upright.
	sweep, tau := g.Sweep(), g.Tangent(0)
	start := math.Atan2(tau.Y, tau.X)
	for k := range 4 {
		phi := math.Mod(float64(k)*math.Pi/2-start, 2*math.Pi)
		if phi*sweep < 0 {
			phi += math.Copysign(2*math.Pi, sweep)
		}
		if t := phi / sweep; t > 0 && t < 1 {
			b = b.Include(g.At(t))
		}
	}
	return b
}

// angleMinusSin returns x − sin x without cancellation.
func angleMinusSin(x float64) float64 {
	if math.Abs(x) > 1 {
		return x - math.Sin(x)
	}
	// x³/3! − x⁵/5! + …, nested; the first term left out is below 1e-16 of the sum at |x| = 1.
	u, s := x*x, 1.0
	for _, d := range [...]float64{16 * 17, 14 * 15, 12 * 13, 10 * 11, 8 * 9, 6 * 7, 4 * 5} {
		s = 1 - u/d*s
	}
	return x * u / 6 * s
}

// sliver returns what the arc adds to the polygon of its chord: the signed area between arc and chord (mm², positive when
// the arc turns left), and the distance of that area's centroid from the chord times the area (mm³, positive).
func (g Seg) sliver() (area, moment float64) {
	if !g.IsArc() {
		return 0, 0
	}
	// Below flatArea b² is lost against 1, so the parabola's area is exact; below flatMoment the circle's formula for the
	// moment has lost ten digits to cancellation, and the parabola's is true to b².
	const flatArea, flatMoment = 1e-9, 1e-4
	c, b, half := g.Chord(), g.Bulge, g.Sweep()/2
	if math.Abs(b) < flatArea {
		return c * c * b / 3, c * c * c * b * b / 15
	}
	sin := 2 * b / (1 + b*b)
	area = c * c / 8 * angleMinusSin(2*half) / (sin * sin)
	if math.Abs(b) < flatMoment {
		return area, c * c * c * b * b / 15
	}
	// First moment of the circular segment about the centre is c³/12; R·cos(half) is the centre's height over the chord.
	return area, math.Abs(c*c*c/12 - math.Abs(area)*c/(2*math.Abs(sin))*math.Cos(half))
}
