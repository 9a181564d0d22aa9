package setout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/measure"
)

// pickRounds bounds the passes that make the choices of different groups agree on few part numbers.
const pickRounds = 6

// Pick chooses for every group of stations (same mounting, same layers) the stud, plate, receptacle and shims that give the
// best chance that all its stations close well; among equal chances (within 0.001) those that add the fewest part numbers to
// the job; of these the one whose δ lies deepest inside its band at the worst station (in tenths of the half band), then the
// one whose preload at the low end falls least short of the estimated outward load, then the cheapest, then the first by id.
// Pairs that Refuse sent back are left out. It fills the stations' stacks, choices, shims and closings, and says in
// Panel.Faults what does not fit, by how much, and what would. It needs placed stations, and their loads where the
// estimate is to count.
func Pick(p *Plan) {
	type open struct {
		pan    *Panel
		group  *pickGroup
		trials []*pickTrial
		live   []*pickTrial // those that no check sent back
		chosen *pickTrial
	}
	var all []*open
	for _, pan := range p.Panels {
		pan.Choices, pan.pickFaults = nil, nil
		for _, st := range pan.Stations {
			st.Stack, st.Choice, st.Shims, st.Close = StackSum{}, nil, 0, Closing{}
		}
		for _, g := range pickGroups(pan) {
			trials := pickTrials(p.Job, g)
			all = append(all, &open{pan: pan, group: g, trials: trials, live: pan.refused[g.name].live(trials)})
		}
	}
	for round := 0; round < pickRounds; round++ {
		changed := false
		for i, o := range all {
			used := map[string]bool{}
			for k, other := range all {
				if k != i && other.chosen != nil {
					for _, id := range other.chosen.parts {
						used[id] = true
					}
				}
			}
			if best := pickChoose(o.group, o.live, used); best != o.chosen {
				o.chosen, changed = best, true
			}
		}
		if !changed {
			break
		}
	}
	for _, o := range all {
		o.pan.pickFaults = append(o.pan.pickFaults, pickFaults(p, o.group, o.trials, o.chosen)...)
		if o.chosen != nil {
			o.pan.Choices = append(o.pan.Choices, pickSettle(p, o.pan, o.group, o.trials, o.live, o.chosen, o.pan.refused[o.group.name]))
		}
	}
	for _, pan := range p.Panels {
		pan.pickFaults = append(pan.pickFaults, pickMeasuredNowhere(pan)...)
		pan.setFaults()
	}
}

// pickChoose takes from the trials (best first) the one that the rules of Pick name, given the part numbers that other
// groups use; nil when none can be used.
func pickChoose(g *pickGroup, trials []*pickTrial, used map[string]bool) *pickTrial {
	if len(trials) == 0 || trials[0].reject != "" {
		return nil
	}
	chanceMin := g.pan.Limits.ChanceMin.Value
	added := func(t *pickTrial) (n int) {
		for _, id := range t.parts {
			if !used[id] {
				n++
			}
		}
		return n
	}
	var equal []*pickTrial // the fewest part numbers, and of those the deepest
	fewest, deepest := math.MaxInt, 0
	for _, t := range trials {
		if !t.ties(trials[0], chanceMin) {
			continue
		}
		n, d := added(t), t.depth()
		if n < fewest || n == fewest && d > deepest {
			equal, fewest, deepest = equal[:0], n, d
		}
		if n == fewest && d == deepest {
			equal = append(equal, t)
		}
	}
	classes := pickClasses(g)
	best, bestOpens := equal[0], 0
	if len(equal) > 1 {
		bestOpens = best.opens(g, classes)
	}
	for _, t := range equal[1:] {
		opens := t.opens(g, classes)
		switch {
		case opens != bestOpens:
			if opens < bestOpens {
				best, bestOpens = t, opens
			}
		case t.cost < best.cost || t.cost == best.cost && t.id() < best.id():
			best = t
		}
	}
	return best
}

// pickSettle makes the chosen trial a Choice and gives it to the group's stations.
func pickSettle(p *Plan, pan *Panel, g *pickGroup, trials, live []*pickTrial, t *pickTrial, refused *pickRefusals) *Choice {
	c := &Choice{Panel: g.pan.ID, Group: g.name, Stud: t.stud, Plate: t.plate, Receptacle: t.rec, Shim: t.shim,
		PlateRivet: t.plateRivet, ReceptacleRivet: t.recRivet, Chance: t.chance, ChanceKnown: t.known, WorstChance: t.worst, trial: t, trials: trials}
	c.Reason = pickReason(g, trials, live, t) + refused.keptReason(t) + pan.countNote
	c.Close, c.Rejected = pickRunners(g, trials, live, t, refused)
	for i, class := range pickClasses(g) {
		for _, k := range class.stations {
			st := g.stations[k]
			close := &t.closes[i]
			st.Stack = StackOf(g.pan, st, t.plate.Face, t.rec.Mount)
			st.Choice, st.Shims = c, t.shims[i]
			ifLoose, ifTight := pickCure(p.Job, t, i)
			st.Close = Closing{Result: close.Result, Chance: close.chance, Loose: close.loose, Tight: close.tight, Known: close.known,
				Spread: close.spread(), IfLoose: ifLoose, IfTight: ifTight, Cure: "if loose: " + ifLoose + "; if tight: " + ifTight}
		}
	}
	return c
}

// pickReason says in a sentence why the trial was chosen.
func pickReason(g *pickGroup, trials, live []*pickTrial, t *pickTrial) string {
	equal, usable := 0, 0
	for _, u := range trials {
		if u.reject == "" {
			usable++
		}
	}
	for _, u := range live {
		if u != t && u.ties(live[0], g.pan.Limits.ChanceMin.Value) {
			equal++
		}
	}
	n := fmt.Sprintf("%d of %d combinations of stud, plate, receptacle and shim can be used here", usable, len(trials))
	switch {
	case !t.known:
		return fmt.Sprintf("the range lists single thicknesses: this one is nearest to the stack, %s off; the chance is not known; %s", measure.MM(t.off), n)
	case equal > 0:
		return fmt.Sprintf("best chance that all %d close well, %s; of %d equally good ones it adds the fewest part numbers, then lies deepest in its band, then holds best against the estimated load, then costs least; %s",
			len(g.stations), measure.Percent(t.chance), equal+1, n)
	}
	return fmt.Sprintf("best chance that all %d close well, %s; %s", len(g.stations), measure.Percent(t.chance), n)
}

// Runners-up: those within pickNear of the chosen chance, at least pickFew where so many exist, at most pickMany; and
// pickFew of those that do not fit.
const (
	pickNear = 0.02
	pickFew  = 3
	pickMany = 8
)

// pickRunners lists the other pairs, each once with its best shims: those that were close; those that checks sent back, and
// the best that did not fit.
func pickRunners(g *pickGroup, trials, live []*pickTrial, chosen *pickTrial, refused *pickRefusals) (near, rejected []RunnerUp) {
	var misfit []RunnerUp
	chanceMin := g.pan.Limits.ChanceMin.Value
	seen := map[string]bool{chosen.id(): true}
	for _, t := range trials {
		sentBack := refused.why(t.key())
		if sentBack == "" && seen[t.id()] {
			continue
		}
		seen[t.id()] = true
		shims := fmt.Sprint(t.shimsLeast)
		if t.shimsMost > t.shimsLeast {
			shims = fmt.Sprintf("%d–%d", t.shimsLeast, t.shimsMost)
		}
		r := RunnerUp{Stud: t.stud.ID, Plate: t.plate.ID, Receptacle: t.rec.ID, Shims: shims, Chance: t.chance}
		fits := t.rank(chanceMin) <= pickListed
		switch {
		case sentBack != "":
			r.Why = "refused: " + sentBack
		case refused != nil && refused.no[t.key()] && t.key() != refused.kept:
			continue // it would fail like one that is listed
		case t.reject != "":
			r.Chance, r.Why = math.NaN(), t.reject
		case !t.known:
			r.Why = fmt.Sprintf("listed for a thickness %s off", measure.MM(t.off))
		case t.ties(live[0], chanceMin):
			r.Why = pickTieWhy(g, t, chosen)
		default:
			r.Why = pickMissWhy(g, t)
		}
		close := !chosen.known && !t.known || t.chance >= chosen.chance-pickNear
		switch {
		case sentBack != "":
			if len(rejected) < pickMany {
				rejected = append(rejected, r)
			}
		case fits && len(near) < pickMany && (close || len(near) < pickFew):
			near = append(near, r)
		case !fits && len(misfit) < pickFew:
			misfit = append(misfit, r)
		}
	}
	return near, append(rejected, misfit...)
}

// pickTieWhy says what decided between two trials with the same chance.
func pickTieWhy(g *pickGroup, t, chosen *pickTrial) string {
	var other []string
	for _, id := range t.parts {
		if !slices.Contains(chosen.parts, id) {
			other = append(other, id)
		}
	}
	switch {
	case len(t.parts) > len(chosen.parts):
		return "closes as well; has more part numbers"
	case t.depth() < chosen.depth():
		return fmt.Sprintf("closes as well; lies less deep in its band (%d against %d tenths), or adds to the job's part numbers", t.depth(), chosen.depth())
	case t.opens(g, pickClasses(g)) > chosen.opens(g, pickClasses(g)):
		return pickOpensWhy(t.opens(g, pickClasses(g)) - chosen.opens(g, pickClasses(g)))
	case t.cost > chosen.cost && len(other) > 0:
		return fmt.Sprintf("closes as well; costs more, or adds %s to the job's part numbers", strings.Join(other, ", "))
	}
	return "closes as well; adds part numbers to the job, or comes later by id"
}

// pickMissWhy says how a trial closes worse: which way, and by how much where it is worst.
func pickMissWhy(g *pickGroup, t *pickTrial) string {
	c := &t.closes[t.worstClass]
	st := g.stations[pickClasses(g)[t.worstClass].stations[0]].ID
	switch m := c.off; {
	case m < 0:
		return fmt.Sprintf("%s too loose at station %s", measure.MM(-m), st)
	case m > 0:
		return fmt.Sprintf("%s too tight at station %s (%s)", measure.MM(m), st, c.HiBy)
	}
	if c.loose > c.tight {
		return fmt.Sprintf("too loose with a chance of %s at station %s", measure.Percent(c.loose), st)
	}
	return fmt.Sprintf("too tight with a chance of %s at station %s (%s)", measure.Percent(c.tight), st, c.HiBy)
}

// pickMeasuredNowhere says which measured stacks belong to stations that the panel does not have: a reading must not be lost
// without a word.
func pickMeasuredNowhere(pan *Panel) []string {
	var out []string
	for i := range pan.Job.Measured {
		id := pan.Job.Measured[i].Station
		if !slices.ContainsFunc(pan.Stations, func(st *Station) bool { return st.ID == id }) && len(pan.Stations) > 0 {
			out = append(out, fmt.Sprintf("a stack was measured at station %s, which this plan does not have; it has %s to %s: correct the number in the job",
				id, pan.Stations[0].ID, pan.Stations[len(pan.Stations)-1].ID))
		}
	}
	return out
}
