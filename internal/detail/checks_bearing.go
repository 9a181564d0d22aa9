package detail

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// bearingBalance is how far loads and reactions of the panel model may be out of balance, relative.
const bearingBalance = 1e-9

// checkUnderLoad looks at what the panel model decides for the panel as a whole.
func checkUnderLoad(j *job.Job, pan *setout.Panel) []setout.Check {
	return []setout.Check{bearingReactions(pan), bearingGap(pan), bearingStress(j, pan), bearingMissing(pan), bearingFrequency(pan)}
}

// bearingUnknown is a check that the model could not look at; where nothing holds the panel it does not hold.
func bearingUnknown(pan *setout.Panel, id, name, basis string, rests ...string) (setout.Check, bool) {
	b := pan.Bearing
	if b != nil && b.Known {
		return setout.Check{}, false
	}
	rests = append([]string{setout.RestsPanelModel}, rests...)
	if b != nil && b.Off {
		k := checkYes(id, name, false, basis+"; "+b.Why, rests...)
		return k.CuredBy("a station or a support is missing where the panel comes off: see the balance of the panel, and give one there"), true
	}
	return checkUnknown(id, name, basis, b.Beyond(), rests...), true
}

// bearingAtMost compares a figure of the model with its limit: beyond the model's range a figure decides nothing, but what fails
// within it fails.
func bearingAtMost(pan *setout.Panel, id, name string, limit float64, unit, basis string, figure func(c *setout.BearingCase) float64, rests ...string) setout.Check {
	if k, unknown := bearingUnknown(pan, id, name, basis, rests...); unknown {
		return k
	}
	rests = append([]string{setout.RestsPanelModel}, rests...)
	most, at, sure, sureAt := pan.Bearing.Most(figure)
	if sure > limit*(1+checkRounding) {
		return checkAtMost(id, name, sure, limit, unit, basis+"; worst within the model's range: "+sureAt, rests...)
	}
	k := checkAtMost(id, name, most, limit, unit, basis+"; worst: "+at, rests...)
	if why := pan.Bearing.Beyond(); why != "" {
		k.Verdict = setout.NotKnown
		k.Cure = why
	}
	return k
}

// bearingReactions is the model's own balance: no verdict of it may rest on forces that do not add up.
func bearingReactions(pan *setout.Panel) setout.Check {
	const id, name = "load-reactions", "loads against reactions in the panel model"
	if k, unknown := bearingUnknown(pan, id, name, "forces and moments of the whole panel, worked out anew from the elements"); unknown {
		if pan.Bearing != nil && pan.Bearing.Off { // that has its own checks
			return checkUnknown(id, name, k.Basis, "nothing to balance while nothing holds the panel", k.Rests...)
		}
		return k
	}
	worst, at, fault := 0.0, "", ""
	find := func(where string, faults []string) {
		if len(faults) > 0 && fault == "" {
			fault = where + ": " + faults[0]
		}
	}
	find(pan.Bearing.Rest.Name, pan.Bearing.Rest.CertificateFaults)
	for i := range pan.Bearing.Cases {
		c := &pan.Bearing.Cases[i]
		if v := math.Max(c.Balance, c.Moment); v > worst || at == "" {
			worst, at = v, c.Name
		}
		find(c.Name, c.CertificateFaults)
	}
	for _, m := range pan.Bearing.Miss {
		find(fmt.Sprintf("%s without station %s", pan.Bearing.Cases[m.Case].Name, pan.Stations[m.Station].ID), m.CertificateFaults)
	}
	if fault != "" {
		k := checkYes(id, name, false, fault, setout.RestsPanelModel)
		return k.CuredBy("this is a fault of the program: please report it with the job")
	}
	return checkAtMost(id, name, worst/bearingBalance, 1, "× 10⁻⁹", "greatest imbalance of forces or moments, as a share of them all; worst: "+at, setout.RestsPanelModel)
}

func bearingGap(pan *setout.Panel) setout.Check {
	k := bearingAtMost(pan, "seam-gap", "seam gap under load", pan.Job.Limits.SeamGap.Value, "mm", "greatest gap along the supports",
		func(c *setout.BearingCase) float64 { return math.Max(c.GapMax, 0) }, setout.RestsSeamGap)
	if k.NoNumber {
		return k
	}
	return k.CuredBy("stations closer together, a stiffer sheet, or more preload")
}

// bearingStress compares the sheet's stress with what it bears: yield of a metal, a laminate's ultimate, over the joint factor.
func bearingStress(j *job.Job, pan *setout.Panel) setout.Check {
	const id, name = "sheet-stress", "stress in the outer panel under load"
	m := pan.Job.Outer.Material
	limit, what := bearingStrength(m)
	basis := fmt.Sprintf("greatest stress away from the heads, against %s over the factor", what)
	k := bearingAtMost(pan, id, name, limit/factor(j.Conditions.JointFactor), "MPa", basis, func(c *setout.BearingCase) float64 { return c.Stress }, setout.RestsJointFactor, setout.RestsMaterialTables)
	if k.NoNumber {
		return k
	}
	if math.IsNaN(limit) {
		who := "the outer panel's material"
		if m != nil {
			who = m.ID
		}
		return k.Missing(fmt.Sprintf("the strength of %s", who))
	}
	return k.CuredBy("a thicker sheet, or stations closer together")
}

// bearingStrength is what a sheet's stress is compared with; NaN when it is not known.
func bearingStrength(m *stock.Material) (limit float64, what string) {
	switch {
	case m == nil:
		return math.NaN(), "its strength"
	case m.Family == stock.GlassFibre || m.Family == stock.CarbonFibre:
		if m.Ultimate > 0 {
			return m.Ultimate, "the laminate's ultimate strength"
		}
		return math.NaN(), "the laminate's ultimate strength"
	case m.Yield > 0:
		return m.Yield, "yield"
	}
	return math.NaN(), "yield"
}

// bearingMissing is whether the panel stays on with any one station missing.
func bearingMissing(pan *setout.Panel) setout.Check {
	const id, name = "one-missing", "one station missing"
	basis := "each station left out in turn, in every case; those that then pass rating or reach of their wire go too, until it stops or the panel is off"
	if l := &pan.Job.Loads; pan.Load.Pressure != 0 && (pan.Job.Front == "" || l.HasPressure || !l.HasCp) {
		basis += "; air that comes to rest behind an opened seam is not looked at: that takes pressure coefficients and the name of the front edge"
	}
	if k, unknown := bearingUnknown(pan, id, name, basis); unknown {
		return k
	}
	var doubt *setout.BearingMiss
	for i := range pan.Bearing.Miss {
		m := &pan.Bearing.Miss[i]
		at := fmt.Sprintf("%s; without station %s, %s: %s", basis, pan.Stations[m.Station].ID, pan.Bearing.Cases[m.Case].Name, m.Why)
		if m.Off && m.Valid {
			k := checkYes(id, name, false, at, setout.RestsPanelModel, setout.RestsRatingFactor)
			return k.CuredBy("one more station beside %s, so that none is alone in holding its part of the panel", pan.Stations[m.Station].ID)
		}
		if !m.Held && doubt == nil {
			doubt = m
		}
	}
	if doubt != nil {
		return checkUnknown(id, name, fmt.Sprintf("%s; without station %s, %s: %s", basis, pan.Stations[doubt.Station].ID, pan.Bearing.Cases[doubt.Case].Name, doubt.Why),
			"a sheet that stays within half its thickness, or a trial on the vehicle with that station left open, at rest, loaded by hand", setout.RestsPanelModel)
	}
	gap, which := 0.0, ""
	for i := range pan.Bearing.Miss {
		if m := &pan.Bearing.Miss[i]; m.GapMax > gap {
			gap, which = m.GapMax, pan.Stations[m.Station].ID
		}
	}
	if which != "" {
		basis += fmt.Sprintf("; it stays on, and opens most without station %s: %.2f mm", which, gap)
		if limit := pan.Job.Limits.SeamGap.Value; gap > limit {
			basis += fmt.Sprintf(", past the limit of %.2f mm for a seam: stop and close it", limit)
		}
	}
	return checkYes(id, name, true, basis, setout.RestsPanelModel, setout.RestsRatingFactor)
}

// bearingFrequency reports the first natural frequency. No job names what shakes the panel, so nothing judges it.
func bearingFrequency(pan *setout.Panel) setout.Check {
	const id, name = "natural-frequency", "first natural frequency"
	basis := "about the shut state without load, flat sheet"
	if _, unknown := bearingUnknown(pan, id, name, basis); unknown {
		return checkUnknown(id, name, basis, pan.Bearing.Beyond(), setout.RestsPanelModel)
	}
	b := pan.Bearing
	if len(b.Frequencies) == 0 {
		return checkUnknown(id, name, basis, b.FrequencyWhy, setout.RestsPanelModel)
	}
	return setout.Check{ID: id, Name: name, Value: b.Frequencies[0], Limit: math.NaN(), Unit: "Hz", AtLeast: true, Margin: math.NaN(), Basis: basis,
		Cure:  "compare it with what shakes the vehicle (engine speed over 60, twice that, wheel speed): a panel is best well above, and nothing in the job says what that is",
		Rests: []string{setout.RestsPanelModel}}
}

// bearingRest is the outward load that a station holds with nothing but the seals pushing, by the model.
func bearingRest(pan *setout.Panel, st *setout.Station) (held float64, sure bool) {
	b := pan.Bearing
	if b == nil || !b.Known {
		return math.NaN(), false
	}
	for i, s := range pan.Stations {
		if s == st {
			return b.Rest.Held[i], b.Rest.Valid
		}
	}
	return math.NaN(), false
}

// bearingHeld is the outward load that a station holds by the model, worst case; sure says that the model may be believed in every
// case.
func bearingHeld(pan *setout.Panel, st *setout.Station) (held float64, at string, sure bool) {
	b := pan.Bearing
	if b == nil || !b.Known {
		return math.NaN(), "", false
	}
	for i, s := range pan.Stations {
		if s == st {
			held, at, _, _ = b.Most(func(c *setout.BearingCase) float64 { return c.Held[i] })
			return held, at, b.Valid()
		}
	}
	return math.NaN(), "", false
}
