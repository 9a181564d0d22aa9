package detail

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// checkPanel looks at what concerns the panel as a whole.
func checkPanel(j *job.Job, pan *setout.Panel) []setout.Check {
	out := checkWhole(j, pan)
	out = append(out, checkPitches(pan)...)
	out = append(out, checkDropOn(pan))
	out = append(out, checkUnderLoad(j, pan)...)
	why, cure := "studs on a crown fan out and may not all enter at once; the job states no crown", "the setting out is flat: measure the crown, and try the panel before riveting"
	if pan.Job.Crown.Along > 0 || pan.Job.Crown.Across > 0 {
		why, cure = "studs on a crown fan out and may not all enter at once; the job's crown serves marking out alone", "the setting out is flat: try the panel before riveting"
	}
	out = append(out, checkUnknown("fan-out", "studs entering together on a crown", why, cure, setout.RestsSheetFlat))
	if pan.Job.OpensForward {
		out = append(out, checkUnknown("second-retention", "second retention", "the wind can lift a panel that opens forwards",
			"fit a latch, a pin or a lanyard that holds it when every station has let go, and note it on the card"))
	}
	return out
}

// checkPitches looks at the distance between neighbours: least between any two, greatest along each seat line.
func checkPitches(pan *setout.Panel) []setout.Check {
	var out []setout.Check
	least, who := math.Inf(1), ""
	for i, a := range pan.Stations {
		for _, b := range pan.Stations[:i] {
			if d := a.At.Dist(b.At); d < least {
				least, who = d, fmt.Sprintf("stations %s and %s", b.ID, a.ID)
			}
		}
	}
	if who != "" {
		limit := pan.Job.Limits.PitchMin.Value
		k := checkAtLeast("pitch-min", "least pitch", least, limit, "mm", who, setout.RestsPitch)
		out = append(out, k.CuredBy("move %s %s apart", who, cureMM(limit-least)))
	}
	most, who := checkGreatestPitch(pan)
	if limit := pan.Job.Limits.PitchMax.Value; who != "" && limit > 0 {
		k := checkAtMost("pitch-max", "greatest pitch", most, limit, "mm", who, setout.RestsPitch)
		out = append(out, k.CuredBy("one station more between %s", who))
	}
	return out
}

// checkGreatestPitch is the greatest length along a seat line between neighbours on it. A station counts on every seat line
// within half the support's width of it, so that a corner ends both its lines.
func checkGreatestPitch(pan *setout.Panel) (most float64, who string) {
	for _, l := range pan.SeatLines {
		if l.Path.EdgeCount() == 0 {
			continue
		}
		reach := 1.0 // mm, where the width is not known
		if l.Support != nil && l.Support.Width > 0 {
			reach = l.Support.Width / 2
		}
		type on struct {
			s  float64
			id string
		}
		var along []on
		for _, st := range pan.Stations {
			if s, d, _ := l.Path.Nearest(st.At); d <= reach {
				along = append(along, on{s, st.ID})
			}
		}
		sort.SliceStable(along, func(i, k int) bool { return along[i].s < along[k].s })
		for i := 1; i < len(along); i++ {
			if d := along[i].s - along[i-1].s; d > most {
				most, who = d, fmt.Sprintf("stations %s and %s", along[i-1].id, along[i].id)
			}
		}
		if n := len(along); l.Path.Closed && n > 1 {
			if d := l.Path.Length() - along[n-1].s + along[0].s; d > most {
				most, who = d, fmt.Sprintf("stations %s and %s", along[n-1].id, along[0].id)
			}
		}
	}
	return most, who
}

// checkDropOn compares the interval of the chance that the panel drops on with the least chance wanted.
func checkDropOn(pan *setout.Panel) setout.Check {
	limit := pan.Job.Limits.ChanceMin.Value
	k := checkAtLeast("drop-on", "chance to drop on", math.NaN(), 100*limit, "%", "", setout.RestsDropOn, setout.RestsChanceMin, setout.RestsMarking)
	d := pan.DropOn
	if d == nil {
		k.Basis = "every stud into its hole at once"
		if slices.ContainsFunc(pan.Stations, dropOnWelded) {
			return checkUnknown(k.ID, k.Name, "a welded receptacle stands where the weld holds it: no zone is stated for that, and that of the drilling does not count",
				"tack every receptacle with the panel closed on it, and try the whole panel before welding out", k.Rests...)
		}
		return k.Missing("the play of stud, hole and receptacle of every station")
	}
	k = checkAtLeast(k.ID, k.Name, 100*d.Chance, 100*limit, "%", fmt.Sprintf("%s, zones of %.2f mm, clearance %.2f mm; %s", d.Marking, d.Zone, d.Clear, d.Basis), k.Rests...)
	switch {
	case d.Lo >= limit:
		k.Verdict = setout.Holds
	case d.Hi < limit:
		k.Verdict = setout.DoesNotHold
	default:
		k.Verdict = setout.NotKnown
		k.Cure = fmt.Sprintf("the simulation cannot tell: between %.1f and %.1f %%", 100*d.Lo, 100*d.Hi)
	}
	return k.CuredBy("match-drill the holes, use a jig, or larger locating holes: the hole that takes both zones is %s larger", cureMM(2*d.Zone-d.Clear))
}
