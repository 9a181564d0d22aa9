// Package detail is what is worked out once places and parts are settled: rivet joints, holes, local checks, and whether the
// panel drops on.
package detail

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// checkRounding is how far, relative to the limit, a value may pass it and still count as on it: inputs converted from inches
// and sums of thicknesses round in the sixteenth digit.
const checkRounding = 1e-9

// checkLength is how far, in mm, a length may pass its limit and still count as on it: places written to the job and read
// back are this exact and no more, and no tool of the shop shows a thousandth of it.
const checkLength = 1e-6

// cureMM is a length that a cure asks for: rounded up to what a rule shows, so that who does as it says is done, and never 0.0.
func cureMM(v float64) string {
	return fmt.Sprintf("%.1f mm", math.Max(math.Ceil(10*(v-checkLength)), 1)/10)
}

// Checks looks at every limit of the plan and fills the checks of each station and each panel. The plan must be placed,
// picked, loaded, and its holes set out. A check that lacks a number is NotKnown and names the number.
func Checks(p *setout.Plan) {
	for _, pan := range p.Panels {
		for _, st := range pan.Stations {
			st.Checks = checkStation(p.Job, pan, st)
		}
		pan.Checks = checkPanel(p.Job, pan)
	}
}

func checkStation(j *job.Job, pan *setout.Panel, st *setout.Station) []setout.Check {
	if st.Choice == nil || st.Choice.Stud == nil || st.Choice.Plate == nil || st.Choice.Receptacle == nil {
		k := checkYes("closes", "closes", false, "no parts of the range close this station")
		k.Cure = "see the panel's faults: they say by how much, and which part would"
		return append([]setout.Check{k}, checkEdge(j, pan, st)...)
	}
	s := &checkSite{jointSite: jointSiteOf(j, pan, st), joins: checkJoins(pan, st)}
	s.wire = checkWireOf(s)
	s.load, s.loadCase, s.sure = bearingHeld(pan, st)
	if !s.sure {
		s.load = st.Load.Outward
	}
	var out []setout.Check
	out = append(out, checkClosing(s)...)
	out = append(out, checkStrength(s)...)
	out = append(out, checkRivets(s)...)
	out = append(out, checkEdge(j, pan, st)...)
	out = append(out, checkHoles(s)...)
	out = append(out, checkRoom(s)...)
	return append(out, checkMaterials(s)...)
}

// checkSite is what the checks of one station share.
type checkSite struct {
	jointSite
	joins []setout.RivetJoint
	wire  checkWire

	load     float64 // N, outward, worst case: by the panel model where it may be believed (sure), else by the area estimate
	loadCase string
	sure     bool
}

// byModel ends a check whose value rests on the load at the station: as it stands where the panel model gave the load, else it is
// an estimate, which decides nothing.
func (s *checkSite) byModel(k setout.Check) setout.Check {
	if !s.sure {
		return k.Estimated()
	}
	k.Rests = append(k.Rests, setout.RestsPanelModel)
	k.Basis += "; load by the panel model, worst: " + s.loadCase
	return k
}

func checkJoins(pan *setout.Panel, st *setout.Station) []setout.RivetJoint {
	var out []setout.RivetJoint
	for _, jt := range pan.Joins {
		if jt.Station == st.ID {
			out = append(out, jt)
		}
	}
	return out
}

func (s *checkSite) join(part string) *setout.RivetJoint {
	for i := range s.joins {
		if s.joins[i].Part == part {
			return &s.joins[i]
		}
	}
	return nil
}

// checkAtMost is a check of value ≤ limit. A value or limit that is not a number is not known.
func checkAtMost(id, name string, value, limit float64, unit, basis string, rests ...string) setout.Check {
	k := setout.Check{ID: id, Name: name, Value: value, Limit: limit, Unit: unit, Basis: basis, Rests: rests, Margin: math.NaN()}
	if limit != 0 && !math.IsInf(limit, 0) {
		k.Margin = (limit - value) / math.Abs(limit)
	}
	slack := checkRounding * math.Abs(limit)
	if unit == "mm" {
		slack = math.Max(slack, checkLength)
	}
	switch {
	case math.IsNaN(value) || math.IsNaN(limit):
	case value <= limit+slack:
		k.Verdict = setout.Holds
		if k.Margin < 0 {
			k.Margin = 0 // on its limit: nothing is left
		}
	default:
		k.Verdict = setout.DoesNotHold
	}
	return k
}

// checkAtLeast is a check of value ≥ limit.
func checkAtLeast(id, name string, value, limit float64, unit, basis string, rests ...string) setout.Check {
	k := checkAtMost(id, name, -value, -limit, unit, basis, rests...)
	k.Value, k.Limit, k.AtLeast = value, limit, true
	return k
}

// checkYes is a check without a number.
func checkYes(id, name string, ok bool, basis string, rests ...string) setout.Check {
	k := setout.Check{ID: id, Name: name, NoNumber: true, Verdict: setout.DoesNotHold, Basis: basis, Rests: rests, Margin: math.NaN()}
	if ok {
		k.Verdict = setout.Holds
	}
	return k
}

// checkUnknown is a check that nothing here can decide; cure says what would.
func checkUnknown(id, name, basis, cure string, rests ...string) setout.Check {
	return setout.Check{ID: id, Name: name, NoNumber: true, Verdict: setout.NotKnown, Basis: basis, Cure: cure, Rests: rests, Margin: math.NaN()}
}

// factor is a factor of safety; one that the job left at zero divides by 1.
func factor(s job.Setting) float64 {
	if s.Value > 0 {
		return s.Value
	}
	return 1
}
