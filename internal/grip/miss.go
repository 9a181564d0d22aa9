package grip

import "math"

// Miss is how far a station lies outside its band, and what would put it in the middle, all else the same.
type Miss struct {
	Off        float64 // mm of stack: negative too loose, positive too tight, 0 in the band
	By         string  // what sets the end that is missed; "" in the band
	Impossible bool    // the band is empty: the least preload already passes what By allows; no reach or depth cures that
	Reach      float64 // mm, the reach that would close in the middle of the band; NaN when Impossible or not stated
	Depth      float64 // mm, the receptacle depth that would
}

// Miss says by how much the pair misses at a nominal stack T, and which reach or which depth would close in the middle of its
// band: a stud longer by what the stack lies above the middle, or a receptacle shallower by that. With a band that is open
// upwards the middle is not known, and reach and depth bring δ to its low end. A pair that is not Usable panics.
func (p Pair) Miss(T float64, soft Soft, d Demand) Miss {
	r := p.Close(T, soft, d)
	nan := math.NaN()
	m := Miss{Reach: nan, Depth: nan, Impossible: r.StackLo > r.StackHi}
	switch {
	case m.Impossible:
		m.By = r.HiBy
		return m
	case T < r.StackLo:
		m.Off, m.By = T-r.StackLo, r.LoBy
	case T > r.StackHi:
		m.Off, m.By = T-r.StackHi, r.HiBy
	}
	if !p.geometry() {
		return m
	}
	middle := (r.StackLo + r.StackHi) / 2
	if math.IsInf(r.StackHi, 1) {
		middle = r.StackLo
	}
	m.Reach, m.Depth = r.R+(T-middle), r.H-(T-middle)
	return m
}
