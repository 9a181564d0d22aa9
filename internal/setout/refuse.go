package setout

import (
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/measure"
)

// refusalsMax bounds how many pairs Refuse tries for one group of stations.
const refusalsMax = 24

// refuseOfPlace are the checks that other parts would not mend: where a station stands decides them, what lies beside it, what
// drills the shop has, or the estimate of the load. All other checks of a station belong to the parts.
var refuseOfPlace = []string{"edge-distance", "parts-on-panel", "keep-out", "plate-rivet-edge", "receptacle-rivet-edge", "plate-rivet-pitch",
	"receptacle-rivet-pitch", "room-beside", "stays-shut", "wire-deflection-loaded", "seal-push", "in-plane", "drills"}

// refuseLike says for a check which other trials must fail it just as well: those that share what the check looks at. A check
// that is not named here condemns the pair alone.
var refuseLike = map[string]func(a, b *pickTrial) bool{
	"plate-rivet-tail":         refusePlate,
	"plate-rivet-grip":         refusePlate,
	"plate-ligament":           refusePlate,
	"plate-countersink-angle":  refusePlate,
	"plate-countersink-depth":  refusePlate,
	"receptacle-rivet-tail":    refuseFoot,
	"receptacle-rivet-grip":    refuseFoot,
	"plate-room":               func(a, b *pickTrial) bool { return a.plate == b.plate },
	"foot-room":                func(a, b *pickTrial) bool { return a.rec == b.rec },
	"push-out":                 func(a, b *pickTrial) bool { return a.rec == b.rec && a.recRivet == b.recRivet },
	"locating-hole":            refuseHole,
	"stud-through":             refuseHole,
	"thermal-growth":           refusePlay,
	"whole-load-preload":       refusePull,
	"whole-load-rating":        func(a, b *pickTrial) bool { return b.rating() <= a.rating() },
	"centre-countersink-depth": func(a, b *pickTrial) bool { return a.plate == b.plate && a.stud.Family == b.stud.Family },
}

// refuseClosing are the checks that fail where no pair closes well often enough: the panel's faults tell of that, and looking
// through as many pairs would not mend it.
var refuseClosing = []string{"closes", "preload", "wire-deflection", "turning-torque", "wire-force-locked"}

// refuseOfWhole are checks of the panel as a whole that other parts can mend.
var refuseOfWhole = []string{"whole-load-preload", "whole-load-rating"}

// refusePull says whether b pulls no harder than a at any kind of station, so that it fails against the whole load too.
func refusePull(a, b *pickTrial) bool {
	for i := range b.closes {
		if !(b.closes[i].Preload <= a.closes[i].Preload) { // a pull that is not known condemns nobody
			return false
		}
	}
	return true
}

// rating is the lesser of the two that a pull runs through, N.
func (t *pickTrial) rating() float64 { return min(t.stud.Rating, t.rec.Rating) }

func refusePlate(a, b *pickTrial) bool { return a.plate == b.plate && a.plateRivet == b.plateRivet }

func refuseFoot(a, b *pickTrial) bool {
	return a.recRivet == b.recRivet && a.rec.FootThickness == b.rec.FootThickness && a.rec.Mount == b.rec.Mount && a.shimHeight() == b.shimHeight()
}

func refuseHole(a, b *pickTrial) bool {
	return a.rec.CentreHole == b.rec.CentreHole && a.stud.Shank == b.stud.Shank
}

func refusePlay(a, b *pickTrial) bool {
	return refuseHole(a, b) && a.plate.Float == b.plate.Float && a.rec.Slot == b.rec.Slot && a.rec.WireFloat == b.rec.WireFloat
}

// key tells trials apart: the pair, and the kind of shim under it.
func (t *pickTrial) key() string {
	if t.shim == nil {
		return t.id()
	}
	return t.id() + " on " + t.shim.ID
}

// shimHeight is the least and the greatest height of the shims, mm.
func (t *pickTrial) shimHeight() [2]float64 {
	if t.shim == nil {
		return [2]float64{}
	}
	return [2]float64{float64(t.shimsLeast) * t.shim.Thickness.Nom, float64(t.shimsMost) * t.shim.Thickness.Nom}
}

// pickRefusals is what was sent back for one group of stations.
type pickRefusals struct {
	tried []pickRefusal
	no    map[string]bool // pairs that are not to be chosen again
	kept  string          // the pair that stays although checks fail; "" while there are others
}

// pickRefusal is one pair that was tried, with how many checks of the parts failed.
type pickRefusal struct {
	pair    string
	failing int
	why     string
}

// why returns why a pair was refused, "" when it was not tried.
func (r *pickRefusals) why(pair string) string {
	if r != nil {
		for _, t := range r.tried {
			if t.pair == pair && pair != r.kept {
				return t.why
			}
		}
	}
	return ""
}

// live returns the trials that may be chosen. When none of these can be used, since the stations have changed under the
// refusals, all may.
func (r *pickRefusals) live(trials []*pickTrial) []*pickTrial {
	if r == nil {
		return trials
	}
	var out []*pickTrial
	for _, t := range trials {
		if r.kept == t.key() || r.kept == "" && !r.no[t.key()] {
			out = append(out, t)
		}
	}
	if len(out) == 0 || out[0].reject != "" {
		return trials
	}
	return out
}

// fewest is the tried pair with the fewest failing checks, the earliest of several.
func (r *pickRefusals) fewest() pickRefusal {
	best := r.tried[0]
	for _, t := range r.tried[1:] {
		if t.failing < best.failing {
			best = t
		}
	}
	return best
}

// Refuse looks, when every station has its checks, for choices whose parts fail some: it sends such a pair back with the
// reason as long as another is left for the group that closes well often enough (or as well as the refused one, where none
// does), and again asks for places and parts anew. What fails by its place is left to its cure. When no pair is left, or
// refusalsMax were tried, the one with the fewest failing checks stays, and the choice and the history say so. The plan
// remembers what was refused, so that the same pair does not come back, and the rounds come to an end.
func Refuse(p *Plan) (reason string, again bool) {
	var said []string
	for _, pan := range p.Panels {
		for _, c := range pan.Choices {
			n, ids := refuseFailing(pan, c)
			r := pan.refused[c.Group]
			if n == 0 || c.trial == nil || r != nil && r.kept != "" {
				continue
			}
			if r == nil {
				r = &pickRefusals{no: map[string]bool{}}
				if pan.refused == nil {
					pan.refused = map[string]*pickRefusals{}
				}
				pan.refused[c.Group] = r
			}
			why := refuseWhy(n, ids)
			r.tried = append(r.tried, pickRefusal{c.trial.key(), n, why})
			alike := r.condemn(c, ids)
			where := fmt.Sprintf("%s, %s", pan.Job.Name, c.Group)
			if r.left(pan, c) && len(r.tried) < refusalsMax {
				if alike > 0 {
					why += fmt.Sprintf(", and %d combinations more for the same cause", alike)
				}
				said, again = append(said, fmt.Sprintf("%s: %s refused: %s", where, c.trial.key(), why)), true
				pan.forgetRoom(c)
				continue
			}
			best := r.fewest()
			r.kept = best.pair
			note := r.keptNote()
			if best.pair == c.trial.key() {
				c.Reason += "; " + note
				p.note(where + ": " + note)
				continue
			}
			said, again = append(said, where+": "+note), true
			pan.forgetRoom(c)
		}
	}
	return strings.Join(said, "; "), again
}

// refuseFailing counts the failing checks that belong to the parts of a choice, with their ids, each once.
func refuseFailing(pan *Panel, c *Choice) (n int, ids []string) {
	poor := c.trial != nil && c.trial.rank(pan.Job.Limits.ChanceMin.Value) == pickPoor
	for _, st := range pan.Stations {
		if st.Choice != c {
			continue
		}
		for _, k := range st.Checks {
			if k.Verdict != DoesNotHold || slices.Contains(refuseOfPlace, k.ID) || poor && slices.Contains(refuseClosing, k.ID) {
				continue
			}
			n++
			if !slices.Contains(ids, k.ID) {
				ids = append(ids, k.ID)
			}
		}
	}
	for _, k := range pan.Checks {
		if k.Verdict == DoesNotHold && slices.Contains(refuseOfWhole, k.ID) {
			n++
			ids = append(ids, k.ID)
		}
	}
	return n, ids
}

// refuseWhy says what failed, three ids at most.
func refuseWhy(n int, ids []string) string {
	say, checks := strings.Join(ids[:min(3, len(ids))], ", "), "checks fail"
	if len(ids) > 3 {
		say += ", …"
	}
	if n == 1 {
		checks = "check fails"
	}
	return fmt.Sprintf("%d %s (%s)", n, checks, say)
}

// condemn marks the pair of a choice, and every other that must fail the same checks; it returns how many others.
func (r *pickRefusals) condemn(c *Choice, ids []string) (alike int) {
	r.no[c.trial.key()] = true
	for _, t := range c.trials {
		if t.reject != "" || r.no[t.key()] {
			continue
		}
		if slices.ContainsFunc(ids, func(id string) bool { like := refuseLike[id]; return like != nil && like(c.trial, t) }) {
			r.no[t.key()] = true
			alike++
		}
	}
	return alike
}

// left says whether a pair is left that may take the place of the refused one.
func (r *pickRefusals) left(pan *Panel, c *Choice) bool {
	chanceMin := pan.Job.Limits.ChanceMin.Value
	return slices.ContainsFunc(c.trials, func(t *pickTrial) bool {
		if r.no[t.key()] {
			return false
		}
		return t.rank(chanceMin) == pickGood || t.ties(c.trial, chanceMin)
	})
}

// forgetRoom drops the room that a refused choice's parts asked for: the next may need less.
func (pan *Panel) forgetRoom(c *Choice) {
	for _, sup := range pan.Job.Supports {
		if pickServes(pan, c, sup) {
			delete(pan.feet, sup)
		}
	}
}

// keptNote says which pair stays, and out of how many.
func (r *pickRefusals) keptNote() string {
	best, more := r.fewest(), ""
	if n := len(r.no) - len(r.tried); n > 0 {
		more = fmt.Sprintf(", %d more fail for the same cause", n)
	}
	return fmt.Sprintf("no pair was found that passes every check of its parts (tried: %d%s); %s stays, with the fewest that fail: %s", len(r.tried), more, best.pair, best.why)
}

// keptReason is what a choice says that stays although checks of its parts fail; "" otherwise.
func (r *pickRefusals) keptReason(t *pickTrial) string {
	if r == nil || r.kept != t.key() {
		return ""
	}
	return "; " + r.keptNote()
}

// depthSteps is into how many steps the half width of a band is cut when depths are compared: differences below one are none.
const depthSteps = 10

// depth says how deep δ lies inside its band at the station where it lies least deep, in steps: depthSteps in the middle of
// the band, 0 at its ends and outside. Where a table of stacks decides, the stack and its band are compared.
func (t *pickTrial) depth() int {
	least := depthSteps
	for i := range t.closes {
		c := &t.closes[i]
		x, lo, hi := c.Delta, c.DeltaLo, c.DeltaHi
		if len(c.pair.Bands) > 0 {
			x, lo, hi = c.T, c.StackLo, c.StackHi
		}
		if !(hi > lo) {
			return 0
		}
		least = min(least, max(0, int(2*depthSteps*min(x-lo, hi-x)/(hi-lo)+1e-9)))
	}
	return least
}

// opens is by how much (N, whole) the estimated outward load passes the preload at the low end, at the worst station of a
// group; 0 where it does not, or where the preload is not known.
func (t *pickTrial) opens(g *pickGroup, classes []pickClass) int {
	worst := 0.0
	for i, class := range classes {
		c := &t.closes[i]
		rate := t.rec.Rate.Nom - t.rec.Rate.Tol
		sum := c.spread()
		if len(sum) == 0 || rate <= 0 {
			continue
		}
		low := rate * (sum.Quantile(1-g.pan.Limits.ChanceMin.Value) - c.demand.Ageing)
		for _, k := range class.stations {
			worst = max(worst, g.stations[k].Load.Outward-max(0, low))
		}
	}
	return int(worst)
}

// pickOpensWhy says how much better the chosen trial stays shut.
func pickOpensWhy(n int) string {
	return fmt.Sprintf("closes as well; the estimated load passes its preload by %s more", measure.Newton(float64(n)))
}
