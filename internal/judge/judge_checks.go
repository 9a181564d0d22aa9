package judge

import (
	"math"
	"slices"
	"strings"

	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// judgeClaim is what the judge finds for one check.
type judgeClaim struct {
	unknown bool // nothing known decides it
	yesNo   bool // no number: yes is the answer
	yes     bool
	value   judgeSpan
	limit   float64
	least   bool // value must be at least limit
	never   bool // it does not hold, whatever the numbers say
}

func judgeMost(v judgeSpan, limit float64) judgeClaim { return judgeClaim{value: v, limit: limit} }

func judgeLeast(v judgeSpan, limit float64) judgeClaim {
	return judgeClaim{value: v, limit: limit, least: true}
}

func judgeYes(ok bool) judgeClaim { return judgeClaim{yesNo: true, yes: ok} }

var judgeNot = judgeClaim{unknown: true}

// needs is a claim that is not known unless every one of the numbers is.
func (c judgeClaim) needs(numbers ...float64) judgeClaim {
	for _, v := range numbers {
		if !(v > 0) {
			return judgeNot
		}
	}
	return c
}

// verdict is what the claim comes to; open is true when a simulated interval straddles the limit.
func (c judgeClaim) verdict() (v setout.Verdict, open bool) {
	switch {
	case c.unknown:
		return setout.NotKnown, false
	case c.yesNo && c.yes:
		return setout.Holds, false
	case c.yesNo, c.never:
		return setout.DoesNotHold, false
	}
	slack := judgeTol * math.Max(1, math.Abs(c.limit))
	lo, hi := c.value.lo-c.limit, c.value.hi-c.limit
	if c.least {
		lo, hi = -hi, -lo
	}
	switch {
	case hi <= -slack:
		return setout.Holds, false
	case lo > slack:
		return setout.DoesNotHold, false
	}
	return setout.Holds, true
}

// rest on the load's estimate: never known.
var judgeEstimated = []string{"wire-force-loaded", "wire-deflection-loaded", "stays-shut", "pull-through-loaded", "plate-rivets-tension-loaded", "receptacle-rivets-tension-loaded", "in-plane", "receptacle-welds", "unlocking-torque"}

// always are the checks that every station with parts must have.
var judgeAlways = []string{"closes", "preload", "wire-deflection", "turning-torque", "wire-force-locked", "wire-force-loaded", "wire-deflection-loaded", "stays-shut", "seal-push",
	"pull-through-locked", "pull-through-loaded", "bearing-receptacle", "in-plane", "edge-distance", "parts-on-panel", "drills", "room-behind", "head-height",
	"room-beside", "plate-room", "foot-room", "galvanic", "thermal-growth"}

// judgePerJoint are those that every riveted part must have, after its name.
var judgePerJoint = []string{"-rivet-edge", "-rivet-pitch", "-ligament", "-countersink-angle", "-rivet-grip", "-rivet-tail"}

func (j *judge) stationChecks() {
	must := slices.Clone(judgeAlways)
	if j.st.hangsFree() {
		must = append(must, "body-room")
	} else if j.st.rec.Mount == stock.Behind && j.st.rec.CentreHole.Nom > 0 {
		must = append(must, "stud-through")
	}
	for _, jt := range j.pan.Joins {
		if jt.Station == j.st.ID {
			for _, id := range judgePerJoint {
				must = append(must, jt.Part+id)
			}
		}
	}
	j.compare(j.st.Checks, must, func(k setout.Check) (judgeClaim, bool) {
		if slices.Contains(judgeEstimated, k.ID) {
			return j.estimated(k), true
		}
		for _, derive := range []func(*judged, setout.Check) (judgeClaim, bool){j.wireClaim, j.strengthClaim, j.placeClaim, j.jointClaim} {
			if c, ok := derive(j.st, k); ok {
				return c, true
			}
		}
		return judgeNot, false
	})
}

// estimated is a claim that rests on the load at the station. Without a panel model that may be believed it is not known, unless
// the force of locking alone is already too much.
func (j *judge) estimated(k setout.Check) judgeClaim {
	held, sure := j.held(&j.under)
	if k.ID == "stays-shut" && sure {
		if j.st.cloud == nil {
			return judgeNot
		}
		low, _ := j.wireEnds(j.st)
		return judgeLeast(low, held)
	}
	if k.ID == "wire-deflection-loaded" {
		return j.drawnClaim(k, held, sure)
	}
	part, ok := strings.CutSuffix(k.ID, "-loaded")
	if !ok {
		return judgeNot
	}
	k.ID = part + "-locked"
	c, ok := j.wireClaim(j.st, k)
	if !ok {
		c, _ = j.strengthClaim(j.st, k)
	}
	v, open := c.verdict()
	if !sure || c.unknown {
		if v == setout.DoesNotHold || open && k.Verdict == setout.DoesNotHold {
			return judgeYes(false)
		}
		return judgeNot
	}
	// What the force of locking does in proportion, the load does too.
	if _, force := j.wireEnds(j.st); force.hi > 0 {
		c.value.lo, c.value.hi = math.Max(c.value.lo, held*c.value.lo/force.lo), math.Max(c.value.hi, held*c.value.hi/force.hi)
	}
	return c
}

// drawnClaim is how far the wire is drawn with a load at the station: by as much more as the load is beyond the preload. A wire that
// passes its limit without any load needs none.
func (j *judge) drawnClaim(k setout.Check, held float64, sure bool) judgeClaim {
	s, rate := j.st, j.st.rec.Rate.Nom-j.st.rec.Rate.Tol
	if s.cloud == nil || s.rec.DeflectionMax <= 0 {
		return judgeNot
	}
	low, crest := j.wireEnds(s)
	drawn := crest.times(1 / (s.rec.Rate.Nom + s.rec.Rate.Tol)).plus(-s.stud.Crest)
	v, open := judgeMost(drawn, s.rec.DeflectionMax).verdict()
	switch {
	case sure:
		drawn.lo += math.Max(0, held-low.hi) / rate
		drawn.hi += math.Max(0, held-low.lo) / rate
		return judgeMost(drawn, s.rec.DeflectionMax)
	case v == setout.DoesNotHold || open && k.Verdict == setout.DoesNotHold:
		return judgeYes(false)
	}
	return judgeNot
}

// wireEnds are the preload at the low end, aged, and the force at the crest at the high end, N.
func (j *judge) wireEnds(s *judged) (low, crest judgeSpan) {
	share := 0.5
	if m := j.pan.Job.Limits.ChanceMin.Value; m > 0 && m < 1 {
		share = 1 - m
	}
	low = s.quantile(share).plus(-j.plan.Job.Conditions.Ageing.Value).times(s.rec.Rate.Nom - s.rec.Rate.Tol).atLeast(0)
	crest = s.quantile(1 - share).plus(s.stud.Crest).times(s.rec.Rate.Nom + s.rec.Rate.Tol).atLeast(0)
	return low, crest
}

// compare holds checks against what the judge finds: none missing, none unknown to it, no verdict, number or limit different.
func (j *judge) compare(checks []setout.Check, must []string, derive func(setout.Check) (judgeClaim, bool)) {
	for _, id := range must {
		if !slices.ContainsFunc(checks, func(k setout.Check) bool { return k.ID == id }) {
			j.say(id, "%s was not looked at", id)
		}
	}
	for _, k := range checks {
		if k.Verdict == setout.Holds && slices.Contains(k.Rests, "tributary-area") {
			j.say(k.ID, "%s is said to hold, and rests on an estimate that can be low by half", k.Name)
		}
		c, ok := derive(k)
		if !ok {
			j.say(k.ID, "the judge has no rule for %s", k.ID)
			continue
		}
		want, open := c.verdict()
		if k.Verdict != want && !(open && k.Verdict != setout.NotKnown) {
			j.say(k.ID, "%s is said to be “%s”, the judge finds “%s”", k.Name, k.Verdict, want)
		}
		if c.unknown || c.yesNo || k.NoNumber {
			continue
		}
		slack := judgeTol * math.Max(1, math.Abs(k.Value))
		if k.Value < c.value.lo-slack || k.Value > c.value.hi+slack || !judgeSame(k.Limit, c.limit) || k.AtLeast != c.least {
			j.say(k.ID, "%s is said to be %.4g against %.4g %s, the judge finds %.4g to %.4g against %.4g", k.Name, k.Value, k.Limit, k.Unit, c.value.lo, c.value.hi, c.limit)
		}
	}
}

// wireClaim covers the closing: chance, preload, torque, wire.
func (j *judge) wireClaim(s *judged, k setout.Check) (judgeClaim, bool) {
	limits, cond := &j.pan.Job.Limits, &j.plan.Job.Conditions
	known := s.cloud != nil
	share := 0.5
	if m := limits.ChanceMin.Value; m > 0 && m < 1 {
		share = 1 - m
	}
	var low, crest judgeSpan
	if known {
		low = s.quantile(share).plus(-cond.Ageing.Value).times(s.rec.Rate.Nom - s.rec.Rate.Tol).atLeast(0)
		crest = s.quantile(1 - share).plus(s.stud.Crest)
	}
	force := crest.times(s.rec.Rate.Nom + s.rec.Rate.Tol).atLeast(0)
	var c judgeClaim
	switch k.ID {
	case "closes":
		if !s.Close.Known {
			return judgeNot, true
		}
		// The chance itself was judged with the band.
		return judgeLeast(judgeAt(100*s.Close.Chance), 100*limits.ChanceMin.Value), true
	case "preload":
		c = judgeLeast(low, limits.PreloadMin.Value)
	case "wire-deflection":
		c = judgeMost(crest, s.rec.DeflectionMax).needs(s.rec.DeflectionMax)
	case "turning-torque":
		c = judgeMost(force.times(j.lever(s)/1000), j.turnLimit(s)/1000).needs(s.stud.CamRadius)
	case "wire-force-locked":
		c = judgeMost(force, math.Min(s.stud.Rating, s.rec.Rating)/judgeFactor(j.ratings())).needs(s.stud.Rating, s.rec.Rating)
	case "seal-push":
		if s.Support != nil && s.Support.Seal != nil {
			return j.sealClaim(), true
		}
		return judgeYes(true), true
	default:
		return judgeNot, false
	}
	if !known {
		return judgeNot, true
	}
	return c, true
}

// strengthClaim covers what the sheets, rivets and feet carry at the force of locking.
func (j *judge) strengthClaim(s *judged, k setout.Check) (judgeClaim, bool) {
	factor := judgeFactor(j.plan.Job.Conditions.JointFactor)
	share := 0.5
	if m := j.pan.Job.Limits.ChanceMin.Value; m > 0 && m < 1 {
		share = 1 - m
	}
	var force judgeSpan
	if s.cloud != nil {
		force = s.quantile(1 - share).plus(s.stud.Crest).times(s.rec.Rate.Nom + s.rec.Rate.Tol).atLeast(0)
	}
	plateN, recN := float64(len(s.plate.Rivets)), float64(len(s.rec.Rivets))
	var c judgeClaim
	switch k.ID {
	case "pull-through-locked":
		shear := 0.0
		if s.front.Material != nil {
			shear = s.front.Material.ShearUltimate
		}
		round := math.Pi * s.plate.BearingDiameter
		if s.plate.Face == stock.PlateBehind {
			round = 0
			if r := s.Choice.PlateRivet; r != nil {
				round = plateN * math.Pi * r.HeadDiameter
			}
		} else if round <= 0 && s.plate.Face == stock.PlateNone {
			round = math.Pi * s.stud.HeadDiameter
		} else if round <= 0 {
			round = 2 * (s.plate.Length + s.plate.Width)
		}
		c = judgeMost(force, round*s.front.Thickness.Nom*shear/factor).needs(round, shear)
	case "bearing-receptacle":
		if s.rec.Mount != stock.Behind {
			return judgeYes(true), true
		}
		yield := 0.0
		if m := s.back.Material; m != nil && m.Family != stock.GlassFibre && m.Family != stock.CarbonFibre {
			yield = m.Yield
		}
		c = judgeMost(force.times(1/math.Max(s.rec.FootArea, judgeTol)), yield/factor).needs(s.rec.FootArea, yield)
	case "plate-rivets-tension-locked":
		c = judgeMost(force.times(1/math.Max(1, plateN)), s.Choice.PlateRivet.Tension/factor).needs(plateN, s.Choice.PlateRivet.Tension)
	case "receptacle-rivets-tension-locked":
		c = judgeMost(force.times(1/math.Max(1, recN)), s.Choice.ReceptacleRivet.Tension/factor).needs(recN, s.Choice.ReceptacleRivet.Tension)
	case "receptacle-rivets-shear":
		span := 0.0
		for i, a := range s.rec.Rivets {
			for _, b := range s.rec.Rivets[i+1:] {
				span = math.Max(span, math.Hypot(a.At.X-b.At.X, a.At.Y-b.At.Y))
			}
		}
		c = judgeMost(force.times(j.lever(s)/math.Max(span, judgeTol)), s.Choice.ReceptacleRivet.Shear/factor).needs(span, s.Choice.ReceptacleRivet.Shear, s.stud.CamRadius)
	case "push-out":
		push := j.plan.Job.Conditions.DriverPush.Value / math.Max(1, recN)
		return judgeMost(judgeAt(push), s.Choice.ReceptacleRivet.Tension/factor).needs(recN, s.Choice.ReceptacleRivet.Tension), true
	case "receptacle-rivets":
		return judgeNot, true
	default:
		return judgeNot, false
	}
	if s.cloud == nil {
		return judgeNot, true
	}
	return c, true
}

// panelChecks looks at the panel as a whole.
func (j *judge) panelChecks() {
	least, most := j.pitches()
	limits := &j.pan.Job.Limits
	must := []string{"whole-load-rating", "whole-load-preload", "balance", "drop-on", "load-reactions", "seam-gap", "sheet-stress", "one-missing", "natural-frequency", "fan-out"}
	if len(j.bareEdges()) > 0 {
		must = append(must, "unsupported-edges")
	}
	if j.pan.Job.OpensForward {
		must = append(must, "second-retention")
	}
	if len(j.pan.Stations) > 1 {
		must = append(must, "pitch-min")
	}
	if most > 0 && limits.PitchMax.Value > 0 {
		must = append(must, "pitch-max")
	}
	j.compare(j.pan.Checks, must, func(k setout.Check) (judgeClaim, bool) {
		switch k.ID {
		case "pitch-min":
			return judgeLeast(judgeAt(least), limits.PitchMin.Value), true
		case "pitch-max":
			c := judgeMost(judgeSpan{most - judgeGap, most + judgeGap}, limits.PitchMax.Value)
			return c, true
		case "drop-on":
			d := j.pan.DropOn
			if d == nil || d.Lo < limits.ChanceMin.Value && d.Hi >= limits.ChanceMin.Value {
				return judgeNot, true
			}
			return judgeLeast(judgeAt(100*d.Chance), 100*limits.ChanceMin.Value), true
		case "whole-load-rating", "whole-load-preload":
			return j.wholeClaim(k), true
		case "balance":
			return j.balanceClaim(), true
		case "fan-out", "second-retention":
			return judgeNot, true
		}
		return j.bearingClaim(&j.under, k)
	})
}
