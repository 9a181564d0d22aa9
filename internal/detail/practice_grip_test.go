package detail

import (
	"math"
	"testing"

	"panelwright/internal/grip"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// The part of the practice set that speaks of closing: common practice, no source. TestPractice runs it.

// practiceList is a range that lists one thickness for each part, half a millimetre apart, without bands.
func practiceList() []grip.Pair {
	var out []grip.Pair
	for i := range 8 {
		c := &stock.Receptacle{ID: "receptacle", Mount: stock.Behind}
		out = append(out, grip.Pair{Stud: &stock.Stud{ID: "stud"}, Receptacle: c, Bands: []stock.Band{{Single: 4 + 0.5*float64(i)}}})
	}
	return out
}

// Two panels measure 5.7 mm together, and the part listed for the nearest thickness is chosen; the chance is then not known.
func practiceNearestListed(t *testing.T) {
	const together = 5.7
	best, off := -1, math.Inf(1)
	for i, p := range practiceList() {
		r := p.Close(together, grip.NoSoft, grip.Demand{})
		if !r.Single || r.ClosesWell() || r.LoBy != grip.ByListed {
			t.Errorf("a single thickness says %+v", r)
		}
		if o := p.Chance(spread.Sum{spread.RectangularAbout(together, 0.1)}, grip.NoSoft, grip.Demand{}); o != (grip.Odds{}) {
			t.Errorf("the chance is not known, and reads %+v", o)
		}
		if d := math.Abs(r.T - r.StackLo); d < off {
			best, off = i, d
		}
	}
	if got := practiceList()[best].Bands[0].Single; got != 5.5 {
		t.Errorf("the part listed for %v mm was chosen, want 5.5 mm", got)
	}
	// One pair that lists them all gives the nearest by itself.
	all := practiceList()[0]
	for _, p := range practiceList()[1:] {
		all.Bands = append(all.Bands, p.Bands...)
	}
	if r := all.Close(together, grip.NoSoft, grip.Demand{}); r.StackLo != 5.5 {
		t.Errorf("nearest listed %v mm, want 5.5 mm", r.StackLo)
	}
	if m := all.Miss(together, grip.NoSoft, grip.Demand{}); math.Abs(m.Off-0.2) > 1e-12 || m.By != grip.ByListed {
		t.Errorf("off by %+v, want 0.2 mm above", m)
	}
}

// Receptacle heights step by about half a millimetre: a wire that takes 0.5 mm of variation more than the step has no gaps, and
// each stack is served by the height within a quarter of a millimetre.
func practiceHeightSteps(t *testing.T) {
	const step = 0.5
	demand := grip.Demand{PreloadMin: 50, RatingFactor: 1}
	stud := &stock.Stud{Reach: stock.Toleranced{Nom: 10}}
	var pairs []grip.Pair
	for i := range 6 {
		pairs = append(pairs, grip.Pair{Stud: stud, Receptacle: &stock.Receptacle{Mount: stock.Behind, DeflectionMax: 1.5, // a band 1 mm wide
			Depth: stock.Toleranced{Nom: 4 + step*float64(i)}, Rate: stock.Toleranced{Nom: 100}}})
	}
	lo, hi := pairs[5].Close(0, grip.NoSoft, demand).StackLo, pairs[0].Close(0, grip.NoSoft, demand).StackHi
	for T := lo + 0.25; T <= hi-0.25; T += 0.05 {
		best := 0.0
		for _, p := range pairs {
			best = max(best, p.Chance(spread.Sum{spread.RectangularAbout(T, 0.25)}, grip.NoSoft, demand).Well)
		}
		if best < 1-1e-6 {
			t.Errorf("stack %.2f mm ± 0.25 mm: best chance %v", T, best)
		}
	}
}

// Washers under the receptacle, or a re-set wire, correct a bad station. Behind the panel a washer cures what rattles, and never
// what will not turn; a wire re-set away from the head tightens, towards the head loosens.
func practiceCures(t *testing.T) {
	p := practicePair()
	loose, tight := 6.2, 8.2 // δ 1.2 and 3.2 where 1.0 to 2.6 closes well at F_min 60 N
	demand := grip.Demand{Ageing: 0.2, RatingFactor: 1.5, HandTorque: 1500, ToolTorque: 3000, Friction: 0.15}
	demand.PreloadMin = 90
	for _, c := range []struct {
		T     float64
		sign  float64 // of what Miss says
		cured bool    // by one washer of 0.5 mm
	}{{loose, -1, true}, {tight, 1, false}} {
		p.Shims = 0
		before := p.Miss(c.T, grip.NoSoft, demand)
		if before.Off*c.sign <= 0 {
			t.Fatalf("stack %v: off %v", c.T, before.Off)
		}
		p.Shims = 1
		if after := p.Miss(c.T, grip.NoSoft, demand); (after.Off == 0) != c.cured {
			t.Errorf("stack %v with a washer: off %v, cured %v wanted", c.T, after.Off, c.cured)
		}
		p.Shims = 0
		reset := *p.Receptacle
		reset.Depth.Nom -= 0.7 * c.sign // away from the head is deeper
		q := p
		q.Receptacle = &reset
		if after := q.Miss(c.T, grip.NoSoft, demand); after.Off != 0 {
			t.Errorf("stack %v with the wire re-set: off %v", c.T, after.Off)
		}
	}
}

// practicePair is an invented pair behind the inner panel, with washers of 0.5 mm.
func practicePair() grip.Pair {
	return grip.Pair{
		Stud:  &stock.Stud{ID: "sample stud", Drive: "hand", Reach: stock.Toleranced{Nom: 10, Tol: 0.1}, CamRadius: 4, CamLift: 2, Crest: 0.4, SeatRadius: 6, Rating: 900},
		Plate: &stock.Plate{ID: "sample plate", Face: stock.PlateOutside},
		Receptacle: &stock.Receptacle{ID: "sample receptacle", Mount: stock.Behind, Depth: stock.Toleranced{Nom: 5, Tol: 0.1}, Rate: stock.Toleranced{Nom: 80, Tol: 5},
			DeflectionMax: 3, Rating: 800},
		Shim: &stock.Shim{Thickness: stock.Toleranced{Nom: 0.5, Tol: 0.02}},
	}
}
