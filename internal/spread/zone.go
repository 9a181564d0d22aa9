package spread

import (
	"fmt"
	"math"
)

// RoundZone returns the chance that a point whose x and y are independent and normal about the centre, each with standard
// deviation sigma, lies within radius of it: 1 − exp(−r²/2σ²) (Rayleigh's distribution). sigma = 0 gives 1. A negative
// argument panics.
func RoundZone(sigma, radius float64) float64 {
	if !(sigma >= 0 && radius >= 0) {
		panic(fmt.Sprintf("spread: round zone of radius %v, sd %v", radius, sigma))
	}
	if sigma == 0 {
		return 1
	}
	r := radius / sigma
	return -math.Expm1(-r * r / 2)
}

// Z95 is the standard normal's 97.5 % point: what a 95 % interval reaches to either side.
const Z95 = 1.959963984540054

// Proportion returns the share hits/n of a simulation and its 95 % interval by Wilson's score method (E. B. Wilson, Probable
// inference, the law of succession, and statistical inference, J. Am. Stat. Assoc. 22, 1927). Unlike p ± 1.96·sd it stays
// between 0 and 1 and says something at 0 and n hits. n < 1 or hits outside 0 to n panic.
func Proportion(hits, n int) (p, lo, hi float64) {
	if n < 1 || hits < 0 || hits > n {
		panic(fmt.Sprintf("spread: %d hits of %d", hits, n))
	}
	m := float64(n)
	p = float64(hits) / m
	z2 := Z95 * Z95 / m
	mid, half := p+z2/2, math.Sqrt(z2*(p*(1-p)+z2/4))
	lo, hi = (mid-half)/(1+z2), (mid+half)/(1+z2)
	// At the ends the formula gives exactly 0 and 1; rounding must not pass them.
	if hits == 0 {
		lo = 0
	}
	if hits == n {
		hi = 1
	}
	return p, lo, hi
}
