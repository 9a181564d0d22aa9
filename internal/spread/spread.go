// Package spread says how variation adds up: sums of independent parts, the chance to lie inside a band, simulation.
package spread

// Kind is the shape of one part's distribution.
type Kind int

// The shapes that a stack or a part can have.
const (
	Exact       Kind = iota // no variation: always A
	Normal                  // mean A, standard deviation B
	Rectangular             // between A and B
	Triangular              // between A and C with mode B
)

// Part is one independent contribution. A, B, C as its Kind says; see the constructors. The zero value is exactly 0.
type Part struct {
	Kind    Kind
	A, B, C float64
}

// Sum is the sum of independent parts. An empty sum is exactly 0.
type Sum []Part
