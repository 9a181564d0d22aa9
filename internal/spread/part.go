package spread

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
)

// ExactAt returns the part that is always v. A v that is not finite panics.
func ExactAt(v float64) Part { return Part{Kind: Exact, A: v}.checked() }

// NormalOf returns the normal part with the given mean and standard deviation; sd = 0 is exact. sd < 0 panics.
func NormalOf(mean, sd float64) Part { return Part{Kind: Normal, A: mean, B: sd}.checked() }

// RectangularOf returns the part that lies anywhere between lo and hi alike. This is what limits without readings mean
// (JCGM 100:2008, 4.3.7). lo > hi panics.
func RectangularOf(lo, hi float64) Part { return Part{Kind: Rectangular, A: lo, B: hi}.checked() }

// RectangularAbout returns RectangularOf(mid − half, mid + half): "mid ± half" without readings. half < 0 panics.
func RectangularAbout(mid, half float64) Part { return RectangularOf(mid-half, mid+half) }

// TriangularOf returns the part between lo and hi whose density rises to mode and falls from there (JCGM 100:2008, 4.3.9
// for the symmetric one). lo ≤ mode ≤ hi, otherwise it panics.
func TriangularOf(lo, mode, hi float64) Part {
	return Part{Kind: Triangular, A: lo, B: mode, C: hi}.checked()
}

// ErrReadings is why OfReadings fails: one reading says nothing of its spread.
var ErrReadings = errors.New("fewer than two readings")

// OfReadings returns the normal part for the mean of repeated readings of one fixed length: their mean, and the standard
// uncertainty of the mean s/√n (JCGM 100:2008, 4.2.3). Fewer than two readings are ErrReadings. With few readings s itself is
// doubtful (4.3.2 note there); that is not widened here.
func OfReadings(x []float64) (Part, error) {
	if len(x) < 2 {
		return Part{}, fmt.Errorf("%d: %w", len(x), ErrReadings)
	}
	n := float64(len(x))
	mean := 0.0
	for _, v := range x {
		mean += v / n
	}
	ss := 0.0
	for _, v := range x {
		ss += (v - mean) * (v - mean)
	}
	return NormalOf(mean, math.Sqrt(ss/(n-1)/n)), nil
}

// checked returns p, or panics when p is no distribution: whoever builds one has checked the user's numbers before.
func (p Part) checked() Part {
	for _, v := range [...]float64{p.A, p.B, p.C} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			panic(fmt.Sprintf("spread: %+v is not finite", p))
		}
	}
	bad := false
	switch p.Kind {
	case Exact:
	case Normal:
		bad = p.B < 0
	case Rectangular:
		bad = p.A > p.B
	case Triangular:
		bad = p.A > p.B || p.B > p.C
	default:
		bad = true
	}
	if bad {
		panic(fmt.Sprintf("spread: %+v is no distribution", p))
	}
	return p
}

// Mean returns the expected value.
func (p Part) Mean() float64 {
	switch p.checked().Kind {
	case Rectangular:
		return p.A + (p.B-p.A)/2
	case Triangular:
		return p.A + ((p.B-p.A)+(p.C-p.A))/3
	}
	return p.A
}

// Variance returns the square of the standard deviation: w²/12 for a rectangular part of width w, (u² + v² + uv)/18 for a
// triangular one with legs u and v.
func (p Part) Variance() float64 {
	switch p.checked().Kind {
	case Normal:
		return p.B * p.B
	case Rectangular:
		return (p.B - p.A) * (p.B - p.A) / 12
	case Triangular:
		u, v := p.B-p.A, p.C-p.B
		return (u*u + v*v + u*v) / 18
	}
	return 0
}

// Lowest returns the least possible value; −Inf for a normal part with spread.
func (p Part) Lowest() float64 {
	if p.checked().Kind == Normal && p.B > 0 {
		return math.Inf(-1)
	}
	return p.A
}

// Highest returns the greatest possible value; +Inf for a normal part with spread.
func (p Part) Highest() float64 {
	switch p.checked().Kind {
	case Normal:
		if p.B > 0 {
			return math.Inf(1)
		}
	case Rectangular:
		return p.B
	case Triangular:
		return p.C
	}
	return p.A
}

// Scaled returns the part multiplied by f; a negative f turns it round.
func (p Part) Scaled(f float64) Part {
	a, b, c := f*p.A, f*p.B, f*p.C
	switch p.checked().Kind {
	case Normal:
		return NormalOf(a, math.Abs(b))
	case Rectangular:
		return RectangularOf(min(a, b), max(a, b))
	case Triangular:
		return TriangularOf(min(a, c), b, max(a, c))
	}
	return ExactAt(a)
}

// Shifted returns the part with d added.
func (p Part) Shifted(d float64) Part {
	switch p.checked().Kind {
	case Normal:
		return NormalOf(p.A+d, p.B)
	case Rectangular:
		return RectangularOf(p.A+d, p.B+d)
	case Triangular:
		return TriangularOf(p.A+d, p.B+d, p.C+d)
	}
	return ExactAt(p.A + d)
}

// Draw returns one value of the part from rng; it allocates nothing.
func (p Part) Draw(rng *rand.Rand) float64 {
	switch p.Kind {
	case Exact:
		return p.A
	case Normal:
		return p.A + p.B*rng.NormFloat64()
	case Rectangular:
		return p.A + (p.B-p.A)*rng.Float64()
	case Triangular:
		return p.drawTriangular(rng.Float64())
	}
	panic(fmt.Sprintf("spread: %+v is no distribution", p))
}

// drawTriangular inverts the distribution function: both legs are parabolas.
func (p Part) drawTriangular(u float64) float64 {
	w := p.C - p.A
	if w == 0 {
		return p.A
	}
	left := p.B - p.A
	if u*w < left {
		return p.A + math.Sqrt(u*w*left)
	}
	return p.C - math.Sqrt((1-u)*w*(p.C-p.B))
}
