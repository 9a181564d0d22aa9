package setout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/stock"
)

// pickTie is the difference of chances (absolute) that counts as none: far below what anyone can tell on the car.
const pickTie = 0.001

// pickClass is the stations of a group with the same stack: one computation serves them all.
type pickClass struct {
	stations []int // indices into the group's
	measured string
}

func pickClasses(g *pickGroup) []pickClass {
	var out []pickClass
	for i, st := range g.stations {
		id := ""
		if slices.ContainsFunc(g.pan.Measured, func(m job.MeasuredStack) bool { return m.Station == st.ID }) {
			id = st.ID
		}
		k := slices.IndexFunc(out, func(c pickClass) bool { return c.measured == id })
		if k < 0 || id != "" {
			out = append(out, pickClass{measured: id})
			k = len(out) - 1
		}
		out[k].stations = append(out[k].stations, i)
	}
	return out
}

// pickTrial is one pair with one kind of shim (or none) tried on all stations of a group.
type pickTrial struct {
	pickPair
	shim                  *stock.Shim
	plateRivet, recRivet  *stock.Rivet
	stacks                []StackSum // per class
	shims                 []int
	closes                []pickClosing
	chance, worst         float64 // product over the stations, and the least; NaN when not known
	worstClass            int
	known                 bool
	off                   float64 // greatest distance of a single listed thickness
	reject                string  // why it cannot be used at all
	parts                 []string
	cost                  float64
	shimsLeast, shimsMost int
	missing               float64 // greatest distance of a stack outside what the pair serves
}

// pickTry tries a pair with one kind of shim, nil for none.
func pickTry(j *job.Job, g *pickGroup, classes []pickClass, pair pickPair, shim *stock.Shim) *pickTrial {
	t := &pickTrial{pickPair: pair, shim: shim, known: true, chance: 1, worst: math.Inf(1)}
	for i, class := range classes {
		stack := StackOf(g.pan, g.stations[class.stations[0]], pair.plate.Face, pair.rec.Mount)
		n, close := pickShims(j, g, pair, shim, &stack)
		t.stacks, t.shims, t.closes = append(t.stacks, stack), append(t.shims, n), append(t.closes, close)
		switch {
		case close.never != "":
			t.reject = close.never
			return t
		case !close.known:
			t.known = false
			t.off = math.Max(t.off, math.Abs(close.off))
		default:
			t.chance *= math.Pow(close.chance, float64(len(class.stations)))
			if close.chance < t.worst {
				t.worst, t.worstClass = close.chance, i
			}
		}
		if m := math.Abs(close.off); m > t.missing {
			t.missing = m
			if close.known && close.chance == t.worst {
				t.worstClass = i
			}
		}
	}
	if !t.known {
		t.chance, t.worst = math.NaN(), math.NaN()
	}
	t.shimsLeast, t.shimsMost = slices.Min(t.shims), slices.Max(t.shims)
	if t.shimsMost == 0 {
		t.shim = nil
	}
	t.fix(j.Range, g)
	t.count(g, classes)
	return t
}

// pickShims finds the fewest shims whose chance is within pickTie of the best.
func pickShims(j *job.Job, g *pickGroup, pair pickPair, shim *stock.Shim, stack *StackSum) (int, pickClosing) {
	most := 0
	if shim != nil && shim.Thickness.Nom > 0 && grip.ShimEffect(pair.rec.Mount) != 0 {
		most = min(pickShimsMax, int(math.Floor(pair.rec.ShimStackMax/shim.Thickness.Nom+1e-9)))
	}
	all := make([]pickClosing, most+1)
	best := -1
	for n := range all {
		all[n] = pickClose(j, &g.pan.Limits, pair, shim, n, stack)
		if best < 0 || pickCloser(&all[n], &all[best]) {
			best = n
		}
	}
	return best, all[best]
}

// pickShimsMax bounds the shims under one receptacle, whatever their thickness.
const pickShimsMax = 12

// pickCloser says whether a, with more shims, is better than b by more than a tie.
func pickCloser(a, b *pickClosing) bool {
	switch {
	case a.never != "" || b.never != "":
		return a.never == "" && b.never != ""
	case a.known != b.known:
		return a.known && a.chance > pickTie || !a.known && b.chance <= pickTie
	case !a.known:
		return math.Abs(a.off) < math.Abs(b.off)-placeSame
	case a.chance > pickTie || b.chance > pickTie:
		return a.chance > b.chance+pickTie
	}
	return math.Abs(a.off) < math.Abs(b.off)-placeSame
}

// fix finds the rivets and looks at the room.
func (t *pickTrial) fix(r *stock.Range, g *pickGroup) {
	if len(t.plate.Rivets) > 0 && t.plate.Face != stock.PlateNone {
		if t.plateRivet, t.reject = pickRivet(r, t.plate.RivetIDs, pickPlateJoint(g, t.plate)); t.reject != "" {
			return
		}
	}
	lo, hi := 0.0, 0.0
	if t.shim != nil {
		lo, hi = float64(t.shimsLeast)*t.shim.Thickness.Nom, float64(t.shimsMost)*t.shim.Thickness.Nom
	}
	if t.rec.Fixing == stock.Riveted && len(t.rec.Rivets) > 0 {
		if t.recRivet, t.reject = pickRivet(r, t.rec.RivetIDs, pickReceptacleJoint(g, t.rec, lo, hi)); t.reject != "" {
			return
		}
	}
	if part, high := t.between(); high > g.gap()+placeSame {
		t.reject = fmt.Sprintf("%s needs %s between the panels, there is %s: a spacer would make the room", part, measure.MM(high), measure.MM(g.gap()))
		return
	}
	if g.room == 0 {
		return
	}
	need := t.rec.Height
	if t.rec.Mount == stock.Behind {
		need += hi
		for i := range t.closes {
			need = math.Max(need, t.stud.Reach.Nom+t.stud.EndBeyondWire-t.stacks[i].Nom)
		}
	}
	if need > g.room+placeSame {
		t.reject = fmt.Sprintf("needs %s behind, there is %s", measure.MM(need), measure.MM(g.room))
	}
}

// between is what lies between the panels beside the layers, and would hold them apart: a plate behind the outer panel, or
// the foot of a receptacle beside the seat.
func (t *pickTrial) between() (part string, high float64) {
	if t.plate.Face == stock.PlateBehind {
		part, high = t.plate.ID, t.plate.Thickness
	}
	if t.rec.Mount == stock.FrontBesideSeat && t.rec.FootThickness > high {
		part, high = t.rec.ID, t.rec.FootThickness
	}
	return part, high
}

// count lists the parts and adds their cost over the group's stations.
func (t *pickTrial) count(g *pickGroup, classes []pickClass) {
	n := float64(len(g.stations))
	t.parts = []string{t.stud.ID, t.plate.ID, t.rec.ID}
	t.cost = n * (t.stud.Cost + t.plate.Cost + t.rec.Cost)
	if r := t.plateRivet; r != nil {
		t.parts = append(t.parts, r.ID)
		t.cost += n * float64(len(t.plate.Rivets)) * r.Cost
	}
	if r := t.recRivet; r != nil {
		if !slices.Contains(t.parts, r.ID) {
			t.parts = append(t.parts, r.ID)
		}
		t.cost += n * float64(len(t.rec.Rivets)) * r.Cost
	}
	if t.shim != nil {
		t.parts = append(t.parts, t.shim.ID)
		for i, c := range classes {
			t.cost += float64(t.shims[i]*len(c.stations)) * t.shim.Cost
		}
	}
}

// pickTrials tries every pair of the range with every kind of shim on the group, best first. Several kinds of shim with the
// same counts of zero are one trial.
func pickTrials(j *job.Job, g *pickGroup) []*pickTrial {
	classes := pickClasses(g)
	var out []*pickTrial
	for _, pair := range pickPairs(j.Range, &g.pan.Style, g.pickMount) {
		out = append(out, pickTry(j, g, classes, pair, nil))
		for _, id := range pair.rec.ShimIDs {
			i := slices.IndexFunc(j.Range.Shims, func(s stock.Shim) bool { return s.ID == id })
			if i < 0 {
				continue
			}
			if t := pickTry(j, g, classes, pair, &j.Range.Shims[i]); t.shim != nil {
				out = append(out, t)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b *pickTrial) int {
		switch {
		case pickBetter(a, b, g.pan.Limits.ChanceMin.Value):
			return -1
		case pickBetter(b, a, g.pan.Limits.ChanceMin.Value):
			return 1
		}
		return strings.Compare(a.id(), b.id())
	})
	return out
}

// pickBetter orders trials: what can be used before what cannot; a known chance that is high enough before a listed
// thickness, and that before a known chance that is not; then by chance, or by distance.
func pickBetter(a, b *pickTrial, chanceMin float64) bool {
	ra, rb := a.rank(chanceMin), b.rank(chanceMin)
	switch {
	case ra != rb:
		return ra < rb
	case ra == pickRejected:
		return false
	case ra == pickListed:
		return a.off < b.off
	case a.chance != b.chance && (a.chance > 0 || b.chance > 0):
		return a.chance > b.chance
	}
	return a.missing < b.missing
}

const (
	pickGood = iota // every station closes with the chance that is wanted
	pickListed
	pickPoor
	pickRejected
)

func (t *pickTrial) rank(chanceMin float64) int {
	switch {
	case t.reject != "":
		return pickRejected
	case !t.known:
		return pickListed
	case t.worst >= chanceMin:
		return pickGood
	}
	return pickPoor
}

// ties says whether t is as good as the best trial, which is never worse than t.
func (t *pickTrial) ties(best *pickTrial, chanceMin float64) bool {
	if t.rank(chanceMin) != best.rank(chanceMin) {
		return false
	}
	switch t.rank(chanceMin) {
	case pickRejected:
		return false
	case pickListed:
		return t.off <= best.off+placeSame
	case pickPoor:
		if best.chance <= pickTie {
			return t.missing <= best.missing+placeSame
		}
	}
	return t.chance >= best.chance-pickTie
}
