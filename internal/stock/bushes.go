package stock

import "sync"

// Bush is a drill bush without head, pressed into a plate: what bores there are of one outside diameter. Lengths in mm.
type Bush struct {
	Name     string  // of the shop's own; "" for a row of the table
	Over, To float64 // bores: more than Over, up to To; equal where the bush has one bore
	Outside  float64 // what the plate's hole is made to
	Length   float64
	Origin   Origin
}

// Fits says whether there is such a bush with the bore for a drill of diameter d.
func (b Bush) Fits(d float64) bool {
	const same = 1e-6
	if b.Over == b.To {
		return d > b.To-same && d < b.To+same
	}
	return d > b.Over+same && d < b.To+same
}

var bushes = sync.OnceValue(func() []Bush {
	var out []Bush
	for _, t := range readTable("bushes.csv") {
		out = append(out, Bush{Over: t.number("bore_over_mm"), To: t.number("bore_to_mm"), Outside: t.number("outside_mm"), Length: t.number("length_mm"), Origin: t.origin()})
	}
	return out
})

// Bushes is the embedded table of drill bushes, rising. The caller owns the slice.
func Bushes() []Bush { return append([]Bush(nil), bushes()...) }
