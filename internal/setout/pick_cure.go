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

// pickCure says what a fitter does at stations of class i when the trial fit finds them too loose or too tight: what can be
// done with this mounting and these parts, and nothing else.
func pickCure(j *job.Job, t *pickTrial, i int) (ifLoose, ifTight string) {
	loose, tight := pickStudCures(j.Range, t)
	shims, when := t.shims[i], ""
	if t.rec.Fixing == stock.Welded {
		when = ", before it is welded"
	}
	if s, step := pickAnyShim(j.Range, t); s != nil {
		each := measure.MM(s.Thickness.Nom)
		var add, take []string
		if room := int(math.Floor(t.rec.ShimStackMax/s.Thickness.Nom+1e-9)) - shims; room > 0 {
			add = []string{fmt.Sprintf("put a shim %s under the receptacle%s (%s each, room for %d more)", s.ID, when, each, room)}
		}
		if shims > 0 {
			take = []string{fmt.Sprintf("take a shim out from under the receptacle%s (%s each, %d fitted)", when, each, shims)}
		}
		if step > 0 {
			loose, tight = append(loose, add...), append(tight, take...)
		} else {
			loose, tight = append(loose, take...), append(tight, add...)
		}
	}
	if t.rec.ResetMax > 0 {
		loose = append(loose, fmt.Sprintf("re-set the wire away from the head, once, by %s at most", measure.MM(t.rec.ResetMax)))
		tight = append(tight, fmt.Sprintf("re-set the wire towards the head, once, by %s at most", measure.MM(t.rec.ResetMax)))
	}
	say := func(list []string) string {
		if len(list) == 0 {
			return "the range has no part for it: measure the stack at this station, give it in the job, and plan again"
		}
		return strings.Join(list, ", or ")
	}
	return say(loose), say(tight)
}

// pickStudCures names the next shorter and the next longer stud that goes with the same plate and receptacle.
func pickStudCures(r *stock.Range, t *pickTrial) (loose, tight []string) {
	var shorter, longer *stock.Stud
	for i := range r.Studs {
		s := &r.Studs[i]
		if s.Family != t.stud.Family || s.Head != t.stud.Head || s.Drive != t.stud.Drive || !slices.Contains(s.PlateIDs, t.plate.ID) {
			continue
		}
		d := s.Reach.Nom - t.stud.Reach.Nom
		if d < 0 && (shorter == nil || s.Reach.Nom > shorter.Reach.Nom) {
			shorter = s
		}
		if d > 0 && (longer == nil || s.Reach.Nom < longer.Reach.Nom) {
			longer = s
		}
	}
	if shorter != nil {
		loose = []string{fmt.Sprintf("fit stud %s (%s shorter)", shorter.ID, measure.MM(t.stud.Reach.Nom-shorter.Reach.Nom))}
	}
	if longer != nil {
		tight = []string{fmt.Sprintf("fit stud %s (%s longer)", longer.ID, measure.MM(longer.Reach.Nom-t.stud.Reach.Nom))}
	}
	return loose, tight
}

// pickAnyShim is the trial's shim, else the thinnest that goes under its receptacle, with its step of δ.
func pickAnyShim(r *stock.Range, t *pickTrial) (*stock.Shim, float64) {
	sign := float64(grip.ShimEffect(t.rec.Mount))
	if sign == 0 {
		return nil, 0
	}
	best := t.shim
	if best == nil {
		for i := range r.Shims {
			s := &r.Shims[i]
			if slices.Contains(t.rec.ShimIDs, s.ID) && s.Thickness.Nom > 0 && (best == nil || s.Thickness.Nom < best.Thickness.Nom) {
				best = s
			}
		}
	}
	if best == nil {
		return nil, 0
	}
	return best, sign * best.Thickness.Nom
}

// pickFaults says why nothing fits a group, by how much, and what would; empty when the chosen trial is good.
func pickFaults(p *Plan, g *pickGroup, trials []*pickTrial, chosen *pickTrial) []string {
	chanceMin := g.pan.Limits.ChanceMin.Value
	switch {
	case len(trials) == 0:
		return []string{pickNone(p.Job.Range, g)}
	case chosen == nil:
		return []string{fmt.Sprintf("%s: none of %d combinations can be used; %s", g.name, len(trials), pickRejects(trials))}
	case !chosen.known:
		if step := pickListStep(p.Job.Range); step > 0 && chosen.off > step/2+placeSame {
			return []string{fmt.Sprintf("%s: the nearest thickness that the range lists is %s off, more than half its step of %s: nothing is listed for this stack",
				g.name, measure.MM(chosen.off), measure.MM(step))}
		}
		return nil
	case chosen.worst >= chanceMin:
		return nil
	}
	i := chosen.worstClass
	c := &chosen.closes[i]
	st := g.stations[pickClasses(g)[i].stations[0]].ID
	s := fmt.Sprintf("%s: nothing closes well often enough: the best, %s with %s, does so at station %s with a chance of %s, wanted %s; ", g.name,
		chosen.stud.ID, chosen.rec.ID, st, measure.Percent(c.chance), measure.Percent(chanceMin))
	switch m := c.off; {
	case m < 0:
		s += fmt.Sprintf("it is %s too loose at nominal thickness (%s)", measure.MM(-m), c.LoBy)
	case m > 0:
		s += fmt.Sprintf("it is %s too tight at nominal thickness (%s)", measure.MM(m), c.HiBy)
	default:
		s += fmt.Sprintf("too loose %s, too tight %s", measure.Percent(c.loose), measure.Percent(c.tight))
	}
	return []string{s + "; " + pickWould(p.Job.Range, g, chosen)}
}

// pickWould says which reach and which depth would close the worst station best, and whether that is often enough.
func pickWould(r *stock.Range, g *pickGroup, t *pickTrial) string {
	c := &t.closes[t.worstClass]
	if c.LoBy == grip.ByBand {
		return "the range's table has no band for this stack: ask its supplier"
	}
	reach, depth, chance := c.middle()
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range r.Studs {
		if r.Studs[i].Family == t.stud.Family {
			lo, hi = math.Min(lo, r.Studs[i].Reach.Nom), math.Max(hi, r.Studs[i].Reach.Nom)
		}
	}
	s := fmt.Sprintf("a reach of %s (the family has %s to %s), or a receptacle depth of %s, would give %s", measure.MM(reach),
		measure.MM(lo), measure.MM(hi), measure.MM(depth), measure.Percent(chance))
	if chance < g.pan.Limits.ChanceMin.Value {
		s += fmt.Sprintf(", still too little: the stack varies too much for a band of %s; measure it at the stations and give the readings",
			measure.MM(c.StackHi-c.StackLo))
	}
	return s
}

// pickNone says which wish leaves no pair.
func pickNone(r *stock.Range, g *pickGroup) string {
	if n := len(pickPairs(r, &job.Style{}, g.pickMount)); n > 0 {
		s := g.pan.Style
		return fmt.Sprintf("%s: the range has %d pairs for this mounting, but none with the style asked for (head %s, drive %s, plate %s)", g.name, n,
			pickOrAny(s.Head), pickOrAny(s.Drive), pickOrAny(string(s.Plate)))
	}
	return fmt.Sprintf("%s: the range has no receptacle for this mounting with a stud and plate that go with it", g.name)
}

func pickOrAny(s string) string {
	if s == "" {
		return "any"
	}
	return s
}

// pickRejects lists the different reasons of rejection, the commonest first, three at most.
func pickRejects(trials []*pickTrial) string {
	count := map[string]int{}
	for _, t := range trials {
		count[t.reject]++
	}
	why := assumeSorted(count)
	slices.SortStableFunc(why, func(a, b string) int { return count[b] - count[a] })
	var say []string
	for _, w := range why[:min(3, len(why))] {
		say = append(say, fmt.Sprintf("%d times: %s", count[w], w))
	}
	return strings.Join(say, "; ")
}

// pickListStep is the widest step between neighbouring single thicknesses of the range, 0 when it lists fewer than two.
func pickListStep(r *stock.Range) float64 {
	var list []float64
	for _, b := range r.Bands {
		if b.To <= b.From {
			list = append(list, b.Single)
		}
	}
	slices.Sort(list)
	step := 0.0
	for i := 1; i < len(list); i++ {
		step = math.Max(step, list[i]-list[i-1])
	}
	return step
}
