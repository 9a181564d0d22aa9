package grip

import (
	"math"

	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// Demand is what is asked of a station, and under which conditions.
type Demand struct {
	PreloadMin   float64 // N, least preload after ageing
	Ageing       float64 // mm of δ that wire set and creep will eat
	RatingFactor float64 // ratings are divided by this; > 0
	HandTorque   float64 // N·mm that a hand can turn
	ToolTorque   float64 // N·mm that a driver in a hand can turn
	Friction     float64 // μ of cam and head
}

// What sets an end of the band.
const (
	ByPreload = "least preload"
	ByWire    = "wire limit less crest"
	ByHand    = "hand torque"
	ByTool    = "tool torque"
	ByRating  = "rating"
	ByBand    = "range's band"
	ByListed  = "nearest listed thickness"
	ByNothing = "no limit stated"
)

// torqueLimit is what may be needed to turn the stud.
func (d Demand) torqueLimit(s *stock.Stud) (limit float64, by string) {
	if s.Drive == "hand" {
		return d.HandTorque, ByHand
	}
	return d.ToolTorque, ByTool
}

// Band returns the deflections between which the pair closes well, and what sets each end. The rate enters at its worst: its
// least for the preload, its greatest for torque and rating, so that the band needs no chance of its own.
//
//	δ_lo = F_min/(k − t_k) + ageing
//	δ_hi = the least of  wire limit − c,  M_max/((k + t_k)·arm) − c,  rating/(factor·(k + t_k)) − c
//
// Limits that no part states leave that end open: +Inf by ByNothing. lo > hi means that nothing can close well. A rate that is
// not positive panics.
func Band(s *stock.Stud, c *stock.Receptacle, d Demand) (lo, hi float64, loBy, hiBy string) {
	least, most := c.Rate.Nom-c.Rate.Tol, c.Rate.Nom+c.Rate.Tol
	if !(least > 0) {
		panic("grip: Band of a receptacle without a rate: " + c.ID)
	}
	lo, loBy = d.PreloadMin/least+d.Ageing, ByPreload
	hi, hiBy = math.Inf(1), ByNothing
	lower := func(v float64, by string) {
		if v < hi {
			hi, hiBy = v, by
		}
	}
	if c.DeflectionMax > 0 {
		lower(c.DeflectionMax-s.Crest, ByWire)
	}
	if arm := turnArm(s, d.Friction); arm > 0 { // false for NaN: not stated
		if limit, by := d.torqueLimit(s); limit > 0 {
			lower(limit/arm/most-s.Crest, by)
		}
	}
	for _, rating := range []float64{s.Rating, c.Rating} {
		if rating > 0 && d.RatingFactor > 0 {
			lower(rating/d.RatingFactor/most-s.Crest, ByRating)
		}
	}
	return lo, hi, loBy, hiBy
}

// window is the range of stacks in which the pair closes well, and what sets its ends.
type window struct {
	lo, hi     float64 // of T
	dLo, dHi   float64 // of δ, for a pair with geometry
	loBy, hiBy string
	stated     bool // by a band of the range
	single     bool // a list of single thicknesses: no window, no chance
}

// window finds the stacks that the pair serves: the range's band where it states one, else the formula's. T chooses among
// several bands, or single thicknesses, the nearest.
func (p Pair) window(T float64, soft Soft, d Demand) window {
	nan := math.NaN()
	b, ok := p.band(T)
	switch {
	case ok && b.Single > 0:
		return window{single: true, stated: true, lo: b.Single, hi: b.Single, dLo: nan, dHi: nan, loBy: ByListed, hiBy: ByListed}
	case ok:
		w := window{stated: true, lo: b.From, hi: b.To, dLo: nan, dHi: nan, loBy: ByBand, hiBy: ByBand}
		if p.geometry() {
			w.dLo, _ = soft.Squeeze(p.free(w.lo), p.Receptacle.Rate.Nom)
			w.dHi, _ = soft.Squeeze(p.free(w.hi), p.Receptacle.Rate.Nom)
		}
		return w
	}
	lo, hi, loBy, hiBy := Band(p.Stud, p.Receptacle, d)
	give := soft.share(p.Receptacle.Rate.Nom)
	at0 := p.free(0) // δ₀ = at0 + T
	return window{lo: lo/give - at0, hi: hi/give - at0, dLo: lo, dHi: hi, loBy: loBy, hiBy: hiBy}
}

// band is the range's statement for this plate and count of shims, of several the nearest to T. One that names the plate goes
// before one that names none. Where none is stated for the count, one without shims holds for stacks that are moved by what the
// shims do: they move the free wire by exactly their thickness.
func (p Pair) band(T float64) (stock.Band, bool) {
	if b, ok := p.nearest(T, p.Shims); ok || p.Shim == nil {
		return b, ok
	}
	move := float64(ShimEffect(p.Receptacle.Mount)) * p.thick()
	b, ok := p.nearest(T+move, 0)
	if b.Single > 0 {
		b.Single -= move
	} else {
		b.From, b.To = b.From-move, b.To-move
	}
	return b, ok
}

// nearest finds the band for a count of shims whose stacks lie nearest to T.
func (p Pair) nearest(T float64, shims int) (best stock.Band, found bool) {
	least, named := 0.0, false
	for _, b := range p.Bands {
		ours := p.Plate != nil && b.Plate == p.Plate.ID
		if b.Shims != shims || b.Plate != "" && !ours {
			continue
		}
		off := math.Max(0, math.Max(b.From-T, T-b.To))
		if b.Single > 0 {
			off = math.Abs(b.Single - T)
		}
		if !found || ours && !named || ours == named && off < least {
			best, least, named, found = b, off, ours, true
		}
	}
	return best, found
}

// Usable says whether the pair can be judged: it has geometry, or a band for its count of shims.
func (p Pair) Usable() bool {
	_, ok := p.band(0)
	return ok || p.geometry()
}

// Close returns how the pair closes at a nominal stack T, with soft layers in the clamp path at their free thickness within T.
// Figures that the range does not state are NaN. A pair that is not Usable panics.
func (p Pair) Close(T float64, soft Soft, d Demand) Result {
	if !p.Usable() {
		panic("grip: Close of a pair with neither geometry nor band: " + p.Stud.ID + ", " + p.Receptacle.ID)
	}
	nan := math.NaN()
	r := Result{T: T, R: nan, H: nan, S: p.thick(), Z: nan, Delta: nan, DeltaLo: nan, DeltaHi: nan, Preload: nan, TurnTorque: nan, UnlockTorque: nan, UnlockNoFriction: nan}
	w := p.window(T, soft, d)
	r.StackLo, r.StackHi, r.LoBy, r.HiBy, r.Single = w.lo, w.hi, w.loBy, w.hiBy, w.single
	if p.Stud.CamRadius > 0 && p.Stud.CamLift > 0 {
		r.CamRunsBack = RunsBack(Lead(p.Stud.CamLift, p.Stud.CamRadius), d.Friction)
	}
	if !p.geometry() {
		return r
	}
	k := p.Receptacle.Rate.Nom
	r.R, r.H = p.Stud.Reach.Nom, p.Receptacle.Depth.Nom
	r.Delta, r.Squeeze = soft.Squeeze(p.free(T), k)
	r.Z = r.R + r.Delta
	r.DeltaLo, r.DeltaHi = w.dLo, w.dHi
	r.Preload = math.Max(0, k*r.Delta)
	r.TurnTorque = TurnTorque(p.Stud, k, r.Delta, d.Friction)
	r.UnlockTorque = UnlockTorque(p.Stud, k, r.Delta, d.Friction, headFriction(p.Stud, d.Friction))
	r.UnlockNoFriction = UnlockTorque(p.Stud, k, r.Delta, 0, 0)
	return r
}

// Odds are the chances of one station: they add up to 1. Known is false for a list of single thicknesses.
type Odds struct {
	Well, Loose, Tight float64
	Known              bool
}

// Chance returns the chance that the pair closes well, is too loose, is too tight, for a stack with the given spread; exact for
// sums of rectangular, normal and triangular parts (spread.Tolerance). By the formula the limits of reach, depth and shims vary
// with the stack, and the rate stands at its worst in the band; a band of the range covers its own parts, so the stack varies
// alone. A pair that is not Usable panics; a band with lo > hi closes never:
// loose below its middle, tight above.
func (p Pair) Chance(stack spread.Sum, soft Soft, d Demand) Odds {
	if !p.Usable() {
		panic("grip: Chance of a pair with neither geometry nor band: " + p.Stud.ID + ", " + p.Receptacle.ID)
	}
	w := p.window(stack.Mean(), soft, d)
	if w.single {
		return Odds{}
	}
	sum, lo, hi := stack, w.lo, w.hi
	if !w.stated {
		sum = p.DeltaSum(stack)
		at0 := p.free(0)
		lo, hi = lo+at0, hi+at0
	}
	if lo > hi {
		loose := sum.CDF((lo + hi) / 2)
		return Odds{Loose: loose, Tight: 1 - loose, Known: true}
	}
	return odds(sum, lo, hi)
}

// odds shares out certainty so that the three add up to exactly 1 within rounding.
func odds(sum spread.Sum, lo, hi float64) Odds {
	well := sum.Chance(lo, hi)
	tight := 0.0
	if !math.IsInf(hi, 1) && well < 1 {
		tight = math.Min(1-well, 1-sum.CDF(hi))
	}
	return Odds{Well: well, Loose: math.Max(0, 1-well-tight), Tight: tight, Known: true}
}
