package survey

import "math"

// chiLimit returns the value that a chi-square variable with k degrees of freedom stays below with chance p, to 1e-10 of it, by
// halving.
func chiLimit(k int, p float64) float64 {
	lo, hi := 0.0, float64(k)+1
	for chiBelow(k, hi) < p {
		hi *= 2
	}
	for range 200 {
		mid := (lo + hi) / 2
		if hi-lo <= 1e-12*hi {
			break
		}
		if chiBelow(k, mid) < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// chiBelow is the distribution function: the regularised incomplete gamma function P(k/2, x/2), by its series
// (Abramowitz and Stegun, 6.5.29), all of whose terms are positive.
func chiBelow(k int, x float64) float64 {
	if x <= 0 {
		return 0
	}
	a, z := float64(k)/2, x/2
	lg, _ := math.Lgamma(a + 1)
	term := math.Exp(a*math.Log(z) - z - lg)
	sum := term
	for i := 1.0; term > 1e-17*sum; i++ {
		term *= z / (a + i)
		sum += term
	}
	return min(sum, 1)
}
