package spread

import (
	"math"
	"math/cmplx"
)

// harmonics returns how many terms byFourier needs to keep what it leaves out below methodError; more than maxHarmonics when
// the characteristic function fades too slowly.
func (l *law) harmonics() int {
	// What is left out beyond frequency t is at most (2/π)·envelope(t)/fade: an algebraic tail of power p sums to 1/p of its
	// first term times n, a normal one to 1/(σt)².
	step := 2 * math.Pi / l.period()
	n := 16
	for n <= maxHarmonics {
		t := step * float64(n)
		env, power := l.envelope(t)
		fade := max(float64(power), l.sigma*l.sigma*t*t)
		if fade > 0 && 2/math.Pi*env/fade <= methodError/4 {
			return n
		}
		n += n/4 + 1
	}
	return maxHarmonics + 1
}

// period returns a length around the mean that holds the sum but for less than 1e-13.
func (l *law) period() float64 { return 2 * (max(l.below, l.above) + tailSigmas*l.sigma) }

// envelope returns an upper bound of the characteristic function at t > 0 that falls with t, and the power of 1/t that it
// falls with at least.
func (l *law) envelope(t float64) (bound float64, power int) {
	bound = math.Exp(-l.sigma * l.sigma * t * t / 2)
	for _, p := range l.wide {
		if p.Kind == Rectangular {
			if f := 2 / (t * (p.B - p.A)); f < 1 {
				bound *= f
				power++
			}
			continue
		}
		u, v := p.B-p.A, p.C-p.B
		one, two := 4/(t*(u+v)), 4/(t*t*u*v)
		switch {
		case two < one && two < 1:
			bound *= two
			power += 2
		case one < 1:
			bound *= one
			power++
		}
	}
	return bound, power
}

// byFourier returns the chance to be at most x (measured from the mean) by the Fourier series of the density on a period L
// that holds it, integrated from −L/2:
//
//	F(x) = 1/2 + x/L − Σ Im[φ(ωₙ)(exp(−iωₙx) − (−1)ⁿ)]/(πn), ωₙ = 2πn/L,
//
// the discrete form of the inversion theorem (Gil-Pelaez 1951). The error is what lies outside the period plus the terms left
// out, which harmonics bounds.
func (l *law) byFourier(x float64, n int) float64 {
	length := l.period()
	step := 2 * math.Pi / length
	f := 0.5 + x/length
	sign := 1.0
	for k := 1; k <= n; k++ {
		sign = -sign
		t := step * float64(k)
		phi := l.characteristic(t)
		sin, cos := math.Sincos(t * x)
		f -= imag(phi*complex(cos-sign, -sin)) / (math.Pi * float64(k))
	}
	return min(1, max(0, f))
}

// characteristic returns E exp(itX) for the sum about its mean.
func (l *law) characteristic(t float64) complex128 {
	phi := complex(math.Exp(-l.sigma*l.sigma*t*t/2), 0)
	for _, p := range l.wide {
		if p.Kind == Rectangular {
			phi *= complex(sinc(t*(p.B-p.A)/2), 0)
			continue
		}
		u, v := p.B-p.A, p.C-p.B
		left, right := ramping(-t*u), ramping(t*v)
		phi *= cmplx.Exp(complex(0, t*p.B)) * (complex(u/(u+v), 0)*left + complex(v/(u+v), 0)*right)
	}
	return phi
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(x) / x
}

// ramping returns 2∫₀¹(1 − r)exp(ivr)dr, the characteristic function of a falling triangle.
func ramping(v float64) complex128 {
	s := sinc(v / 2)
	if math.Abs(v) > 1 {
		return complex(s*s, 2*(v-math.Sin(v))/(v*v))
	}
	// 2(v − sin v)/v² = v/3·(1 − v²/20·(1 − …)), which does not cancel.
	u, im := v*v, 1.0
	for _, d := range [...]float64{16 * 17, 14 * 15, 12 * 13, 10 * 11, 8 * 9, 6 * 7, 4 * 5} {
		im = 1 - u/d*im
	}
	return complex(s*s, v/3*im)
}
