package spread

import (
	"fmt"
	"math"
	"sort"
)

// The third method: the distribution function of the wide parts as a piecewise polynomial, convolved one part at a time.
// Each step is an average of the one before, so errors do not grow, however different the widths.

const (
	degree     = 15    // of each piece
	gaussNodes = 9     // exact for a piece times a linear weight: degree 17
	fitError   = 3e-13 // how small the last coefficients of a piece must be
	maxDepth   = 48    // halvings of one interval: the finest piece is 2⁻⁴⁸ of it
	maxSplits  = 1 << 14
)

// piece is a polynomial on [lo, hi] as Chebyshev coefficients, with its integral and first moment about lo.
type piece struct {
	lo, hi  float64
	c       [degree + 1]float64
	area    float64
	moment  float64
	average float64
}

// spline is a distribution function: 0 below the first piece, 1 above the last.
type spline struct{ pieces []piece }

// convolve returns the distribution function of all wide parts about their mean.
func (l *law) convolve() *spline {
	parts := append([]Part(nil), l.wide...)
	// The widest first: its corners are then exact, and each later part only rounds what stands.
	sort.SliceStable(parts, func(i, j int) bool {
		return parts[i].Highest()-parts[i].Lowest() > parts[j].Highest()-parts[j].Lowest()
	})
	if len(parts) == 0 {
		return nil
	}
	first := parts[0]
	knots := partKnots(first)
	s := fit(knots, first.cdf)
	for _, p := range parts[1:] {
		knots = sumKnots(knots, partKnots(p))
		prev := s
		s = fit(knots, func(x float64) float64 { return prev.smoothed(x, p) })
	}
	return s
}

// cdf returns the distribution function of one wide part.
func (p Part) cdf(x float64) float64 {
	switch {
	case x <= p.Lowest():
		return 0
	case x >= p.Highest():
		return 1
	case p.Kind == Rectangular:
		return (x - p.A) / (p.B - p.A)
	case x < p.B:
		return (x - p.A) * (x - p.A) / ((p.C - p.A) * (p.B - p.A))
	}
	return 1 - (p.C-x)*(p.C-x)/((p.C-p.A)*(p.C-p.B))
}

func partKnots(p Part) []float64 {
	if p.Kind == Rectangular {
		return []float64{p.A, p.B}
	}
	return apart([]float64{p.A, p.B, p.C})
}

// apart leaves out knots so near to the one before, or to the end, that no piece fits between.
func apart(sorted []float64) []float64 {
	end := sorted[len(sorted)-1]
	least := 0x1p-48 * (end - sorted[0])
	out := sorted[:1:1]
	for _, v := range sorted[1 : len(sorted)-1] {
		if v-out[len(out)-1] > least && end-v > least {
			out = append(out, v)
		}
	}
	return append(out, end)
}

// sumKnots returns where the convolution can have corners, while they are few; beyond that they are weak enough for the
// halving in fit to find.
func sumKnots(a, b []float64) []float64 {
	// manyKnots is about what five parts have.
	const manyKnots = 40
	if len(a)*len(b) > manyKnots {
		lo, hi := a[0]+b[0], a[len(a)-1]+b[len(b)-1]
		out := []float64{lo}
		for _, v := range a {
			if v > lo && v < hi {
				out = append(out, v)
			}
		}
		return apart(append(out, hi))
	}
	var all []float64
	for _, u := range a {
		for _, v := range b {
			all = append(all, u+v)
		}
	}
	sort.Float64s(all)
	return apart(all)
}

// fit returns the piecewise polynomial that follows f between the knots, halving where one polynomial will not do.
func fit(knots []float64, f func(float64) float64) *spline {
	s := &spline{}
	var split func(lo, hi float64, depth int)
	split = func(lo, hi float64, depth int) {
		p, ok := newPiece(lo, hi, f)
		if ok || depth == maxDepth {
			s.pieces = append(s.pieces, p)
			return
		}
		if len(s.pieces) > maxSplits {
			panic(fmt.Sprintf("spread: more than %d pieces", maxSplits))
		}
		mid := lo + (hi-lo)/2
		split(lo, mid, depth+1)
		split(mid, hi, depth+1)
	}
	for i := range len(knots) - 1 {
		split(knots[i], knots[i+1], 0)
	}
	return s
}

// newPiece interpolates f at the Chebyshev points of [lo, hi]; ok says that the last coefficients have faded away, and that
// the polynomial meets f between the points too.
func newPiece(lo, hi float64, f func(float64) float64) (piece, bool) {
	p := piece{lo: lo, hi: hi}
	const n = degree + 1
	var v [n]float64
	mid, half := lo+(hi-lo)/2, (hi-lo)/2
	for j := range n {
		v[j] = f(mid + half*chebCos[(2*j+1)%(4*n)])
	}
	for k := range n {
		sum := 0.0
		for j := range n {
			sum += v[j] * chebCos[k*(2*j+1)%(4*n)]
		}
		p.c[k] = 2 * sum / n
	}
	p.c[0] /= 2
	for k := 0; k < gaussNodes; k++ {
		u := half * (1 + gaussX[k])
		w := half * gaussW[k] * p.at(lo+u)
		p.area += w
		p.moment += w * u
	}
	ok := true
	for k := degree - 2; k <= degree; k++ {
		ok = ok && math.Abs(p.c[k]) <= fitError
	}
	for _, t := range [...]float64{-0.97, -0.31, 0.64} {
		x := mid + half*t
		ok = ok && math.Abs(p.at(x)-f(x)) <= 4*fitError
	}
	return p, ok
}

// at evaluates the polynomial by Clenshaw's recurrence.
func (p *piece) at(x float64) float64 {
	t := ((x - p.lo) - (p.hi - x)) / (p.hi - p.lo)
	b1, b2 := 0.0, 0.0
	for k := degree; k >= 1; k-- {
		b1, b2 = 2*t*b1-b2+p.c[k], b1
	}
	return t*b1 - b2 + p.c[0]
}

// smoothed returns E F(x − Y) for the part Y: the average of F over the part's reach, with its density as weight.
func (s *spline) smoothed(x float64, y Part) float64 {
	// The weights are made from the limits as rounded, so that they sum to 1 however narrow the part.
	if y.Kind == Rectangular {
		a, b := x-y.B, x-y.A
		return s.weighted(a, b, 1/(b-a), 0)
	}
	// The density rises over the leg u and falls over v; in terms of the argument it is the other way about.
	a, m, b := x-y.C, x-y.B, x-y.A
	u, v, w := b-m, m-a, b-a
	sum := 0.0
	if v > 0 {
		sum += s.weighted(a, m, 0, 2/(w*v))
	}
	if u > 0 {
		top := 2 / w
		sum += s.weighted(m, b, top, -top/u)
	}
	return sum
}

// weighted returns ∫ F(t)(c0 + c1(t − a))dt from a to b.
func (s *spline) weighted(a, b, c0, c1 float64) float64 {
	end := s.pieces[len(s.pieces)-1].hi
	sum := 0.0
	if from := max(a, end); b > from {
		d, e := from-a, b-a
		sum += (e - d) * (c0 + c1*(d+e)/2)
	}
	i := sort.Search(len(s.pieces), func(i int) bool { return s.pieces[i].hi > a })
	for ; i < len(s.pieces) && s.pieces[i].lo < b; i++ {
		p := &s.pieces[i]
		if a <= p.lo && p.hi <= b {
			sum += p.area*(c0+c1*(p.lo-a)) + p.moment*c1
			continue
		}
		// Differences of neighbours are exact; a place rounded before it is taken relative to a narrow window is not.
		lo, hi := max(a, p.lo), min(b, p.hi)
		from, half := lo-a, (hi-lo)/2
		for k := range gaussNodes {
			u := half * (1 + gaussX[k])
			sum += half * gaussW[k] * p.at(lo+u) * (c0 + c1*(from+u))
		}
	}
	return sum
}

// cdf returns F(x).
func (s *spline) cdf(x float64) float64 {
	n := len(s.pieces)
	if x <= s.pieces[0].lo {
		return 0
	}
	if x >= s.pieces[n-1].hi {
		return 1
	}
	i := sort.Search(n, func(i int) bool { return s.pieces[i].hi > x })
	return min(1, max(0, s.pieces[i].at(x)))
}

// withNormal returns the chance that the wide parts plus a normal part of standard deviation sigma are at most x:
// ∫ F(t)φ((x − t)/σ)dt/σ in panels no wider than σ, within tailSigmas.
func (s *spline) withNormal(x, sigma float64) float64 {
	if s == nil {
		return math.Erfc(-x/sigma/math.Sqrt2) / 2
	}
	if sigma == 0 {
		return s.cdf(x)
	}
	// Places are measured from x: a difference of neighbours is exact, and sigma may be tiny against x.
	reach := tailSigmas * sigma
	sum := math.Erfc(-(x-s.pieces[len(s.pieces)-1].hi)/sigma/math.Sqrt2) / 2
	i := sort.Search(len(s.pieces), func(i int) bool { return s.pieces[i].hi-x > -reach })
	for ; i < len(s.pieces) && s.pieces[i].lo-x < reach; i++ {
		p := &s.pieces[i]
		lo, hi := max(-reach, p.lo-x), min(reach, p.hi-x)
		// A panel of σ/2 keeps the Gauss rule's error on polynomial times normal density near rounding.
		n := int(math.Ceil((hi - lo) / sigma * 2))
		half := (hi - lo) / (2 * float64(n))
		for j := range n {
			from := lo + float64(2*j)*half
			for k := range gaussNodes {
				d := from + half*(1+gaussX[k])
				z := d / sigma
				sum += half * gaussW[k] * p.at(x+d) * math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi))
			}
		}
	}
	return min(1, max(0, sum))
}

// chebCos[k] is cos(kπ/32): all that the Chebyshev points and transform of 16 terms need.
var chebCos = func() (c [4 * (degree + 1)]float64) {
	for k := range c {
		c[k] = math.Cos(float64(k) * math.Pi / (2 * (degree + 1)))
	}
	return c
}()

// gaussX and gaussW are the nodes and weights of the nine-point Gauss–Legendre rule, by Newton's method on P₉.
var gaussX, gaussW = func() (x, w [gaussNodes]float64) {
	for i := range gaussNodes {
		z := math.Cos(math.Pi * (float64(i) + 0.75) / (gaussNodes + 0.5))
		var slope float64
		for range 20 {
			p, q := 1.0, 0.0
			for j := range gaussNodes {
				p, q = ((2*float64(j)+1)*z*p-float64(j)*q)/float64(j+1), p
			}
			slope = gaussNodes * (z*p - q) / (z*z - 1)
			z -= p / slope
		}
		x[i], w[i] = z, 2/((1-z*z)*slope*slope)
	}
	return x, w
}()
