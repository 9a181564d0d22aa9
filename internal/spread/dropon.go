package spread

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Scatter is how a feature's true place lies about its nominal one, in a position zone of diameter d.
type Scatter int

// The scatters.
const (
	UniformDisc Scatter = iota // anywhere in the zone alike: limits without readings (JCGM 100:2008, 4.3.7)
	NormalDisc                 // normal in x and y with standard deviation d/6, so that 1.1 % lie outside the zone
)

// Studs is a rigid panel with studs that must enter a rigid frame's holes all at once.
type Studs struct {
	At       [][2]float64 // nominal places, mm
	StudZone []float64    // diameter of each stud's position zone, mm
	HoleZone []float64    // of each hole's; nil when StudZone is all of it
	Clear    []float64    // radial clearance (hole less stud) / 2, mm; negative never goes in
	Scatter  Scatter
}

// DropOnResult is what a simulation of dropping on found.
type DropOnResult struct {
	Chance    float64 // share of the samples that drop on
	Lo, Hi    float64 // its 95 % interval; Hi also counts what is undecided as dropping on
	Hits      int
	Samples   int
	Undecided int // samples so near the limit that neither a fit nor a proof against it was found; counted as not dropping on
}

// DropOn returns the chance that a panel with studs at the places at drops on when each stud stands anywhere in a position
// zone of diameter zone[i] about its hole, with radial clearance clear[i]. It is Studs.DropOn with one zone for each station.
func DropOn(at [][2]float64, zone, clear []float64, samples int, seed uint64) DropOnResult {
	return Studs{At: at, StudZone: zone, Clear: clear}.DropOn(samples, seed)
}

// DropOn simulates the chance that all studs enter their holes at once, the panel free to shift and to turn a little: a sample
// with stud errors eᵢ drops on when there are dx, dy and a small angle θ with |eᵢ + d + θ·perp(Pᵢ − P̄)| ≤ cᵢ for every i.
// Each sample is decided with a proof: a motion that fits, or a weighting of the stations that no motion can satisfy. No studs
// always drop on. Slices of unequal length, fewer than one sample, and negative zones panic.
func (s Studs) DropOn(samples int, seed uint64) DropOnResult {
	n := len(s.At)
	if len(s.StudZone) != n || len(s.Clear) != n || s.HoleZone != nil && len(s.HoleZone) != n {
		panic("spread: DropOn with slices of unequal length")
	}
	if samples < 1 {
		panic(fmt.Sprintf("spread: DropOn with %d samples", samples))
	}
	rng := rand.New(rand.NewPCG(seed, 0))
	f := newFitting(s.At, s.Clear)
	res := DropOnResult{Samples: samples}
	for range samples {
		for i := range n {
			e := s.Scatter.draw(rng, s.StudZone[i])
			if s.HoleZone != nil {
				h := s.Scatter.draw(rng, s.HoleZone[i])
				e[0], e[1] = e[0]-h[0], e[1]-h[1]
			}
			f.e[i] = e
		}
		switch f.decide() {
		case fits:
			res.Hits++
		case undecided:
			res.Undecided++
		}
	}
	res.Chance, res.Lo, _ = Proportion(res.Hits, samples)
	_, _, res.Hi = Proportion(res.Hits+res.Undecided, samples)
	return res
}

// draw returns a place in a zone of diameter d.
func (k Scatter) draw(rng *rand.Rand, d float64) [2]float64 {
	if !(d >= 0) {
		panic(fmt.Sprintf("spread: position zone of %v mm", d))
	}
	switch k {
	case UniformDisc:
		r := d / 2 * math.Sqrt(rng.Float64())
		sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
		return [2]float64{r * cos, r * sin}
	case NormalDisc:
		return [2]float64{d / 6 * rng.NormFloat64(), d / 6 * rng.NormFloat64()}
	}
	panic(fmt.Sprintf("spread: Scatter(%d)", int(k)))
}
