package grip

import (
	"fmt"
	"slices"
	"testing"

	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// coverDemand is what a careful job asks of the sample range: twice the preload that a job asks for by default.
var coverDemand = Demand{PreloadMin: 60, Ageing: 0.2, RatingFactor: 1.5, HandTorque: 1000, ToolTorque: 3000, Friction: 0.15}

// For each kind of stud, plate and mounting of the sample range, every stack finds a pair that closes well with a chance of 0.95 at
// ± 0.25 mm, without any shim: no gaps. Stacks from 2 to 14 mm for all; 1.0 to 16 mm behind the panel, nominally.
func TestSampleRangeCovers(t *testing.T) {
	r := stock.SampleRange()
	kinds := coverKinds(r)
	if len(kinds) < 5*5 {
		t.Errorf("%d kinds of station, want 5 plates × 5 mountings or more", len(kinds))
	}
	for name, pairs := range kinds {
		for i := 20; i <= 140; i++ {
			T := float64(i) / 10
			if best := coverBest(pairs, T, 0.25); best < 0.95 {
				t.Errorf("%s: stack %.1f mm: best chance %.3f of %d pairs", name, T, best, len(pairs))
			}
		}
		if pairs[0].Receptacle.Mount != stock.Behind {
			continue
		}
		for _, T := range []float64{1, 1.2, 1.5, 14.5, 15, 15.5, 16} {
			if best := coverBest(pairs, T, 0); best < 0.95 {
				t.Errorf("%s: exact stack %.1f mm: best chance %.3f", name, T, best)
			}
		}
	}
}

// coverKinds groups the pairs of the range by stud family, plate and receptacle family.
func coverKinds(r *stock.Range) map[string][]Pair {
	out := map[string][]Pair{}
	for i := range r.Studs {
		for k := range r.Receptacles {
			s, c := &r.Studs[i], &r.Receptacles[k]
			if !slices.Contains(c.StudFamilies, s.Family) {
				continue
			}
			for _, id := range s.PlateIDs {
				p, ok := r.PlateByID(id)
				if !ok {
					panic("no plate " + id)
				}
				name := fmt.Sprintf("%s, %s, %s (%s)", s.Family, id, c.Family, c.Mount)
				out[name] = append(out[name], Pair{Stud: s, Plate: p, Receptacle: c})
			}
		}
	}
	return out
}

func coverBest(pairs []Pair, T, half float64) float64 {
	best := 0.0
	for _, p := range pairs {
		if r := p.Close(T, NoSoft, coverDemand); !r.ClosesWell() {
			continue // a nominal stack outside the band closes at most half of the time
		}
		best = max(best, p.Chance(spread.Sum{spread.RectangularAbout(T, half)}, NoSoft, coverDemand).Well)
	}
	return best
}

// What the sample range promises in figures: preloads and torques that a hand can turn, at the middle and the ends of every band.
func TestSampleRangeFigures(t *testing.T) {
	r := stock.SampleRange()
	for i := range r.Studs {
		for k := range r.Receptacles {
			s, c := &r.Studs[i], &r.Receptacles[k]
			lo, hi, _, by := Band(s, c, coverDemand)
			if w := hi - lo; w < 1.0 || w > 1.8 {
				t.Errorf("%s, %s: a band of %.2f mm", s.ID, c.ID, w)
			}
			if by != ByWire {
				t.Errorf("%s, %s: %s limits, want the wire", s.ID, c.ID, by)
			}
			if mid := c.Rate.Nom * (lo + hi) / 2; mid < 60 || mid > 150 {
				t.Errorf("%s, %s: preload %.0f N in the middle", s.ID, c.ID, mid)
			}
			if s.CamLift < hi+s.Crest-1e-9 {
				t.Errorf("%s, %s: the cam lifts %.2f mm and must draw the wire %.2f mm", s.ID, c.ID, s.CamLift, hi+s.Crest)
			}
		}
	}
}
