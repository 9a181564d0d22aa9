package plate

import (
	"fmt"
	"math"
	"slices"
)

// Rigid is a support that only pushes, and does not yield: no force while w > 0, any push at w = 0, never w < 0.
func Rigid() Law { return Law{Knots: []Knot{{0, 0}}, Before: math.Inf(-1)} }

// Pad is a support that only pushes, with stiffness k (N/mm): k·(−w)₊.
func Pad(k float64) Law { return Law{Knots: []Knot{{0, 0}}, Before: -k} }

// Seal is a seal of stiffness k (N/mm) squeezed by squeeze (mm) when the panel is shut: k·(squeeze − w)₊.
func Seal(k, squeeze float64) Law { return Law{Knots: []Knot{{squeeze, 0}}, Before: -k} }

// Steady is a push (N) that does not change with w: a seal of which only its push when shut is known.
func Steady(push float64) Law { return Law{Knots: []Knot{{0, push}}} }

// Station is a fastener: its wire of rate k (N/mm) is drawn by delta (mm) when the panel is shut and pulls k·(delta + w)₊; its
// seat pushes seat·(−w)₊, seat in N/mm, +Inf for a rigid one, 0 for none.
func Station(k, delta, seat float64) Law {
	wire := Law{Knots: []Knot{{-delta, 0}}, After: -k}
	switch {
	case math.IsInf(seat, 1):
		return Sum(wire, Rigid())
	case seat > 0:
		return Sum(wire, Pad(seat))
	}
	return wire
}

// Spring is a two-sided spring of stiffness k (N/mm) that is slack at w = 0.
func Spring(k float64) Law { return Law{Knots: []Knot{{0, 0}}, Before: -k, After: -k} }

// Held keeps w = 0 whatever force that takes.
func Held() Law { return Law{Knots: []Knot{{0, 0}}, Before: math.Inf(-1), After: math.Inf(-1)} }

// Fault says what is wrong with a law; nil when it is one.
func (l Law) Fault() error {
	if len(l.Knots) == 0 {
		if l.Before != 0 || l.After != 0 {
			return fmt.Errorf("plate: a law without knots has slopes %g and %g", l.Before, l.After)
		}
		return nil
	}
	if !(l.Before <= 0) || !(l.After <= 0) {
		return fmt.Errorf("plate: a law rises: slopes %g before and %g after", l.Before, l.After)
	}
	for i, k := range l.Knots {
		if math.IsNaN(k.W+k.F) || math.IsInf(k.W, 0) || math.IsInf(k.F, 0) {
			return fmt.Errorf("plate: knot %d of a law stands at (%g, %g)", i, k.W, k.F)
		}
		if i > 0 && (k.W < l.Knots[i-1].W || k.F > l.Knots[i-1].F) {
			return fmt.Errorf("plate: a law rises or runs back from (%g, %g) to (%g, %g)", l.Knots[i-1].W, l.Knots[i-1].F, k.W, k.F)
		}
	}
	return nil
}

// At returns the force (N) that the law gives at w (mm): between least and most where it runs straight down, ±Inf beyond a
// rigid stop.
func (l Law) At(w float64) (least, most float64) {
	n := len(l.Knots)
	if n == 0 {
		return 0, 0
	}
	first, last := l.Knots[0], l.Knots[n-1]
	switch {
	case w < first.W:
		f := first.F + l.Before*(w-first.W)
		return f, f
	case w > last.W:
		f := last.F + l.After*(w-last.W)
		return f, f
	}
	least, most = math.Inf(1), math.Inf(-1)
	for i, k := range l.Knots {
		if k.W == w {
			least, most = min(least, k.F), max(most, k.F)
		} else if i > 0 && l.Knots[i-1].W < w && w < k.W {
			p := l.Knots[i-1]
			f := p.F + (k.F-p.F)*(w-p.W)/(k.W-p.W)
			return f, f
		}
	}
	if w == first.W && math.IsInf(l.Before, -1) {
		most = math.Inf(1)
	}
	if w == last.W && math.IsInf(l.After, -1) {
		least = math.Inf(-1)
	}
	return least, most
}

// Sum is the law of several that act on one point.
func Sum(laws ...Law) Law {
	var at []float64
	from, to := math.Inf(-1), math.Inf(1)
	for _, l := range laws {
		if len(l.Knots) == 0 {
			continue
		}
		for _, k := range l.Knots {
			at = append(at, k.W)
		}
		if math.IsInf(l.Before, -1) {
			from = max(from, l.Knots[0].W)
		}
		if math.IsInf(l.After, -1) {
			to = min(to, l.Knots[len(l.Knots)-1].W)
		}
	}
	if len(at) == 0 {
		return Law{}
	}
	if from > to {
		panic("plate: laws that no w can obey together")
	}
	slices.Sort(at)
	var out Law
	for _, l := range laws {
		if len(l.Knots) > 0 {
			out.Before += l.Before
			out.After += l.After
		}
	}
	if !math.IsInf(from, -1) {
		out.Before = math.Inf(-1)
	}
	if !math.IsInf(to, 1) {
		out.After = math.Inf(-1)
	}
	for _, w := range slices.Compact(at) {
		if w < from || w > to {
			continue
		}
		most, least := 0.0, 0.0
		for _, l := range laws {
			lo, hi := l.finite(w)
			least, most = least+lo, most+hi
		}
		out.Knots = append(out.Knots, Knot{w, most})
		if least < most {
			out.Knots = append(out.Knots, Knot{w, least})
		}
	}
	return out
}

// finite is At without what a rigid stop may add.
func (l Law) finite(w float64) (least, most float64) {
	least, most = l.At(w)
	if n := len(l.Knots); n > 0 {
		if math.IsInf(most, 1) {
			most = l.Knots[0].F
		}
		if math.IsInf(least, -1) {
			least = l.Knots[n-1].F
		}
	}
	return least, most
}

// contactPiece is a straight piece of a law.
type contactPiece struct {
	stop   bool    // runs straight down at w0
	w0, w1 float64 // its reach; −Inf and +Inf at the ends
	lo, hi float64 // of a stop: the forces that it takes
	k, c   float64 // otherwise F = c − k·w
}

// contactPieces cuts a law into its pieces, from −∞ to +∞. Answer.Piece counts them.
func contactPieces(l Law) []contactPiece {
	inf := math.Inf(1)
	if len(l.Knots) == 0 {
		return []contactPiece{{w0: -inf, w1: inf}}
	}
	n := len(l.Knots)
	var out []contactPiece
	ray := func(k Knot, slope, w0, w1, lo, hi float64) {
		if math.IsInf(slope, -1) {
			out = append(out, contactPiece{stop: true, w0: k.W, w1: k.W, lo: lo, hi: hi})
			return
		}
		out = append(out, contactPiece{w0: w0, w1: w1, k: -slope, c: k.F - slope*k.W})
	}
	first, last := l.Knots[0], l.Knots[n-1]
	ray(first, l.Before, -inf, first.W, first.F, inf)
	for i := 1; i < n; i++ {
		p, q := l.Knots[i-1], l.Knots[i]
		if p.W == q.W {
			out = append(out, contactPiece{stop: true, w0: p.W, w1: p.W, lo: q.F, hi: p.F})
			continue
		}
		s := (q.F - p.F) / (q.W - p.W)
		near := p // the corner that leaves less rounding
		if math.Abs(q.F)+math.Abs(s*q.W) < math.Abs(p.F)+math.Abs(s*p.W) {
			near = q
		}
		out = append(out, contactPiece{w0: p.W, w1: q.W, k: -s, c: near.F - s*near.W})
	}
	ray(last, l.After, last.W, inf, -inf, last.F)
	return contactMerge(out)
}

// contactMerge joins stops at one place.
func contactMerge(in []contactPiece) []contactPiece {
	out := in[:1]
	for _, p := range in[1:] {
		if q := &out[len(out)-1]; q.stop && p.stop && q.w0 == p.w0 {
			q.lo = p.lo
			continue
		}
		out = append(out, p)
	}
	return out
}
