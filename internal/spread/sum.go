package spread

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Mean returns the expected value of the sum.
func (s Sum) Mean() float64 {
	m := 0.0
	for _, p := range s {
		m += p.Mean()
	}
	return m
}

// SD returns the standard deviation of the sum: root of the sum of the parts' variances.
func (s Sum) SD() float64 {
	v := 0.0
	for _, p := range s {
		v += p.Variance()
	}
	return math.Sqrt(v)
}

// Lowest returns the worst case downwards: every part at its least, normal parts k standard deviations below their mean.
// Normal parts have no least value; k says what counts.
func (s Sum) Lowest(k float64) float64 {
	v := 0.0
	for _, p := range s {
		if p.Kind == Normal {
			v += p.A - k*p.B
		} else {
			v += p.Lowest()
		}
	}
	return v
}

// Highest returns the worst case upwards, as Lowest does downwards.
func (s Sum) Highest(k float64) float64 {
	v := 0.0
	for _, p := range s {
		if p.Kind == Normal {
			v += p.A + k*p.B
		} else {
			v += p.Highest()
		}
	}
	return v
}

// Scaled returns the sum multiplied by f.
func (s Sum) Scaled(f float64) Sum {
	t := make(Sum, len(s))
	for i, p := range s {
		t[i] = p.Scaled(f)
	}
	return t
}

// Draw returns one value of the sum from rng; it allocates nothing.
func (s Sum) Draw(rng *rand.Rand) float64 {
	v := 0.0
	for _, p := range s {
		v += p.Draw(rng)
	}
	return v
}

// Tolerance is the greatest error of CDF and Chance: half of it from parts that are left out because they are too narrow to
// matter, the rest from the method (docs/decisions/002-spread.md).
const Tolerance = 1e-9

// Chance returns the chance that the sum lies in the closed band from lo to hi, within Tolerance. Either end may be
// infinite. Where no part varies, the value counts as inside when it is outside by no more than rounding. lo > hi panics.
func (s Sum) Chance(lo, hi float64) float64 {
	if !(lo <= hi) {
		panic(fmt.Sprintf("spread: a band from %v to %v", lo, hi))
	}
	l := s.law()
	if l.certain() {
		if lo <= l.mean+l.rounding && l.mean-l.rounding <= hi {
			return 1
		}
		return 0
	}
	// The difference of two chances can miss [0, 1] by their error; it is the nearest chance that is returned.
	if lo > l.mean {
		// Both ends in the upper tail: take the difference of the small numbers.
		l = l.mirrored()
		lo, hi = -hi, -lo
	}
	return min(1, max(0, l.cdf(hi)-l.cdf(lo)))
}

// CDF returns the chance that the sum is at most x, within Tolerance; with rounding as in Chance where no part varies.
func (s Sum) CDF(x float64) float64 {
	if math.IsNaN(x) {
		panic("spread: CDF of a value that is not a number")
	}
	return s.law().cdf(x)
}

// Quantile returns the x that the sum does not exceed with chance p, to 1e-12 of the spread where the CDF is steep enough to
// tell. p must lie between 0 and 1; 0 and 1 themselves give the least and greatest possible value, ±Inf with normal parts.
func (s Sum) Quantile(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		panic(fmt.Sprintf("spread: quantile at chance %v", p))
	}
	l := s.law()
	switch {
	case l.certain():
		return l.mean
	case p == 0 || p == 1:
		if l.sigma > 0 {
			return math.Inf(int(2*p - 1))
		}
		if p == 0 {
			return s.Lowest(0)
		}
		return s.Highest(0)
	}
	// Beyond 40 sd of the normal part and the ends of the others there is nothing that double precision can hold.
	lo, hi := l.mean-l.below-40*l.sigma, l.mean+l.above+40*l.sigma
	// quantileSteps halvings leave 2⁻⁶⁰ of the bracket: rounding.
	const quantileSteps = 60
	for range quantileSteps {
		mid := lo + (hi-lo)/2
		if l.cdf(mid) < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}

// Interval returns the band that holds the sum with chance p and leaves the same chance outside at both ends
// (JCGM 101:2008, 7.7).
func (s Sum) Interval(p float64) (lo, hi float64) {
	return s.Quantile((1 - p) / 2), s.Quantile((1 + p) / 2)
}

// law is a sum made ready: exact parts and all means taken out, normal parts joined to one, parts too narrow to matter left
// out, each of the rest centred on its own mean. It is in the units of the sum.
type law struct {
	mean     float64
	rounding float64 // by how much the mean may be off
	sigma    float64 // standard deviation of all normal parts together
	wide     []Part  // rectangular and triangular parts about mean 0
	below    float64 // how far the wide parts together reach below their mean
	above    float64

	spline *spline // built when first needed
}

func (l *law) certain() bool { return l.sigma == 0 && len(l.wide) == 0 }

// law prepares s. A part that is left out shifts the CDF by at most E|part|·(greatest density of the rest), where the rest
// is no denser than its widest member.
func (s Sum) law() *law {
	l := &law{}
	variance, density, size := 0.0, math.Inf(1), 0.0
	for _, p := range s {
		m := p.Mean()
		l.mean += m
		size += math.Abs(m)
		switch w := p.Highest() - p.Lowest(); {
		case p.Kind == Normal:
			variance += p.B * p.B
		case p.Kind == Rectangular && w > 0:
			density = min(density, 1/w)
			l.wide = append(l.wide, p.Shifted(-m))
		case p.Kind == Triangular && w > 0:
			density = min(density, 2/w)
			l.wide = append(l.wide, p.Shifted(-m))
		}
	}
	l.rounding = 4 * 0x1p-52 * size
	l.sigma = math.Sqrt(variance)
	density = min(density, 1/(l.sigma*math.Sqrt(2*math.Pi)))
	// Half of Tolerance shared among all parts.
	negligible := Tolerance / 2 / float64(max(1, len(s)))
	keep := l.wide[:0]
	for _, p := range l.wide {
		if math.Sqrt(p.Variance())*density > negligible {
			keep = append(keep, p)
			l.below -= p.Lowest()
			l.above += p.Highest()
		}
	}
	l.wide = keep
	if l.sigma*density <= negligible {
		l.sigma = 0
	}
	return l
}

// mirrored returns the law of the negated sum.
func (l *law) mirrored() *law {
	m := &law{mean: -l.mean, rounding: l.rounding, sigma: l.sigma, below: l.above, above: l.below}
	for _, p := range l.wide {
		m.wide = append(m.wide, p.Scaled(-1))
	}
	return m
}

// cdf returns the chance to be at most x. Three exact methods, the cheapest whose own error bound is good enough.
func (l *law) cdf(x float64) float64 {
	x -= l.mean
	switch {
	case l.certain():
		if x >= -l.rounding {
			return 1
		}
		return 0
	case x <= -l.below-tailSigmas*l.sigma:
		return 0
	case x >= l.above+tailSigmas*l.sigma:
		return 1
	}
	if p, bound := l.byCorners(x); bound <= methodError {
		return min(1, max(0, p)) // rounding may pass the ends
	}
	if n := l.harmonics(); n <= maxHarmonics {
		return l.byFourier(x, n)
	}
	if l.spline == nil {
		l.spline = l.convolve()
	}
	return l.spline.withNormal(x, l.sigma)
}

const (
	// tailSigmas is where the normal distribution has less than 1e-14 left.
	tailSigmas = 7.7
	// methodError is the bound that each method is held to, so that two of them and the parts left out stay within Tolerance.
	methodError = 1e-10
	// maxHarmonics bounds the work of byFourier to about a millisecond.
	maxHarmonics = 20000
)
