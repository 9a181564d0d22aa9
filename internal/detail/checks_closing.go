package detail

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// checkWire is the wire of one station at the ends of its spread.
type checkWire struct {
	known  bool
	share  float64 // of such stations that lie beyond each end
	lo, hi float64 // δ at the low and the high end, mm
	ageing float64
	forced float64 // preload at the low end, aged, N
	crest  float64 // force at the crest at the high end, N
	torque float64 // turning torque at the high end, N·mm
	field  string  // what is missing when not known
}

// checkWireOf is the wire at the ends of its spread, with the crest and the torque at the high end.
func checkWireOf(s *checkSite) checkWire {
	c, k := s.c, s.c.Receptacle.Rate
	ends := setout.WireOf(s.job, s.pan, s.st)
	w := checkWire{share: ends.Share, lo: ends.Lo, hi: ends.Hi, ageing: ends.Ageing, forced: ends.Forced, field: ends.Field}
	if w.field != "" {
		return w
	}
	w.known = true
	w.crest = math.Max(0, (k.Nom+k.Tol)*(w.hi+c.Stud.Crest))
	w.torque = turningTorque(w.crest, c.Stud.CamRadius, c.Stud.CamLift, s.job.Conditions.Friction.Value, headFriction(s), c.Stud.SeatRadius)
	return w
}

func headFriction(s *checkSite) float64 {
	if f := s.c.Stud.HeadFriction; f > 0 {
		return f
	}
	return s.job.Conditions.Friction.Value
}

// turningTorque is M = F·(r·tan(λ + φ) + μ_h·r_h), tan λ = ℓ/(r·π/2), tan φ = μ: an upper bound, since the cam's slope
// vanishes at the crest. N·mm. NaN when the cam's radius is not known.
func turningTorque(f, r, lift, mu, muHead, rHead float64) float64 {
	if !(r > 0) {
		return math.NaN()
	}
	return f * (r*math.Tan(math.Atan(lift/(r*math.Pi/2))+math.Atan(mu)) + muHead*rHead)
}

// end says which end of the spread a value is of.
func (w checkWire) end() string {
	return fmt.Sprintf("at the end of its spread that %.3g %% of such stations pass", 100*w.share)
}

func checkClosing(s *checkSite) []setout.Check {
	out := []setout.Check{checkCloses(s)}
	if !s.wire.known {
		for _, n := range [][2]string{{"preload", "preload"}, {"wire-deflection", "wire deflection"}, {"turning-torque", "turning torque"}, {"wire-force-locked", "wire force, locked"}} {
			out = append(out, setout.Check{ID: n[0], Name: n[1], NoNumber: true, Basis: "δ = z − R, F = k·δ"}.Missing(s.wire.field))
		}
	} else {
		out = append(out, checkPreload(s), checkDeflection(s), checkTorque(s), checkUnlock(s), checkForceLocked(s))
	}
	return append(out, checkForceLoaded(s), checkDeflectionLoaded(s), checkShut(s), checkSeal(s))
}

func checkCloses(s *checkSite) setout.Check {
	limit := s.pan.Job.Limits.ChanceMin.Value
	k := checkAtLeast("closes", "chance to close well", math.NaN(), 100*limit, "%", "δ_lo ≤ δ ≤ δ_hi, δ = z − R; exact sum of the layers' and parts' spreads", setout.RestsChanceMin, setout.RestsRectangular)
	if !s.st.Close.Known {
		k.Rests = append(k.Rests, setout.RestsNearestListed)
		return k.Missing("thickness bands, or reach, depth and rate, of the pair: a list of single thicknesses gives no chance")
	}
	k = checkAtLeast(k.ID, k.Name, 100*s.st.Close.Chance, 100*limit, "%", k.Basis, k.Rests...)
	return k.CuredBy("%s", s.st.Close.Cure)
}

func checkPreload(s *checkSite) setout.Check {
	k := checkAtLeast("preload", "preload, low end", s.wire.forced, s.pan.Job.Limits.PreloadMin.Value, "N",
		"F = k·(δ − ageing), k at its least, δ "+s.wire.end(), setout.RestsPreload, setout.RestsAgeing)
	return k.CuredBy("deepen the free wire: %s", s.st.Close.Cure)
}

func checkDeflection(s *checkSite) setout.Check {
	c := s.c
	k := checkAtMost("wire-deflection", "wire deflection at the crest", s.wire.hi+c.Stud.Crest, c.Receptacle.DeflectionMax, "mm", "δ + c, δ "+s.wire.end())
	if c.Receptacle.DeflectionMax <= 0 {
		k.Limit = math.NaN()
		return k.Missing(fmt.Sprintf("the wire's deflection limit of %s", c.Receptacle.ID))
	}
	return k.CuredBy("too tight: %s", s.st.Close.Cure)
}

func checkTorque(s *checkSite) setout.Check {
	limit, who, rest := s.job.Conditions.ToolTorque.Value, "a driver in a hand", setout.RestsToolTorque
	if s.c.Stud.Drive == "hand" {
		limit, who, rest = s.job.Conditions.HandTorque.Value, "a hand", setout.RestsHandTorque
	}
	k := checkAtMost("turning-torque", "turning torque, high end", s.wire.torque/1000, limit/1000, "N·m",
		fmt.Sprintf("M = F·(r·tan(λ + φ) + μ_h·r_h), F = k·(δ + c), k at its greatest, δ %s; limit: %s", s.wire.end(), who), rest, setout.RestsFriction)
	if math.IsNaN(k.Value) {
		return k.Missing(fmt.Sprintf("the cam radius of %s", s.c.Stud.ID))
	}
	return k.CuredBy("too tight to turn: %s", s.st.Close.Cure)
}

func checkUnlock(s *checkSite) setout.Check {
	basis := "least torque out of the detent; this is what holds against vibration"
	if s.st.Close.CamRunsBack {
		basis += "; the cam runs back (λ > φ), so the detent alone holds"
	}
	k := setout.Check{ID: "unlocking-torque", Name: "unlocking torque", Value: s.st.Close.UnlockTorque / 1000, Limit: math.NaN(), Unit: "N·m", AtLeast: true,
		Margin: math.NaN(), Basis: basis, Rests: []string{setout.RestsFriction}}
	k.Cure = "no source says how much is enough: run the panel on the vehicle and look at the witness marks after the first run"
	return k
}

// checkRating is the least rating of the stud and the receptacle, divided by the factor; NaN when one is not stated.
func checkRating(s *checkSite) (limit float64, field string) {
	a, b := s.c.Stud.Rating, s.c.Receptacle.Rating
	switch {
	case a <= 0:
		return math.NaN(), fmt.Sprintf("the rating of %s", s.c.Stud.ID)
	case b <= 0:
		return math.NaN(), fmt.Sprintf("the rating of %s", s.c.Receptacle.ID)
	}
	return math.Min(a, b) / factor(job.Setting{Value: s.job.RatingFactor(&s.pan.Job.Limits)}), ""
}

func checkForceLocked(s *checkSite) setout.Check {
	limit, field := checkRating(s)
	k := checkAtMost("wire-force-locked", "wire force while locking", s.wire.crest, limit, "N",
		"F = k·(δ + c), k at its greatest, δ "+s.wire.end()+"; limit: the lesser rating over the factor", setout.RestsRatingFactor)
	if field != "" {
		return k.Missing(field)
	}
	return k.CuredBy("the preload alone passes the rating: %s", s.st.Close.Cure)
}

// checkForceLoaded is the wire force with the load on the panel: max(F₀, P). It rests on the load's estimate.
func checkForceLoaded(s *checkSite) setout.Check {
	limit, field := checkRating(s)
	force := math.NaN()
	if s.wire.known {
		force = math.Max(s.wire.crest, s.load)
	}
	k := checkAtMost("wire-force-loaded", "wire force under load", force, limit, "N", "max(k·(δ + c), P), P the load at the station", setout.RestsRatingFactor)
	if field != "" {
		k = k.Missing(field)
		k.Rests = append(k.Rests, setout.RestsTributaryArea)
		return k
	}
	if s.wire.known && s.wire.crest > limit*(1+checkRounding) {
		return k.CuredBy("the preload alone passes the rating")
	}
	return s.byModel(k).CuredBy("more stations, stronger parts, or less load")
}

// checkDeflectionLoaded is how far the wire is drawn with the load on the panel: past the preload the seat opens by (P − F₀)/k, and
// the wire goes with it.
func checkDeflectionLoaded(s *checkSite) setout.Check {
	c, drawn, opens := s.c, math.NaN(), 0.0
	if s.wire.known {
		opens = math.Max(0, s.load-s.wire.forced) / (c.Receptacle.Rate.Nom - c.Receptacle.Rate.Tol)
		drawn = s.wire.hi + opens
	}
	k := checkAtMost("wire-deflection-loaded", "wire deflection under load", drawn, c.Receptacle.DeflectionMax, "mm",
		"δ + w, δ "+s.wire.end()+", w what the seat opens: (P − F₀)/k past the preload, P the load at the station")
	field := s.wire.field
	if c.Receptacle.DeflectionMax <= 0 {
		k.Limit, field = math.NaN(), fmt.Sprintf("the wire's deflection limit of %s", c.Receptacle.ID)
	}
	if field != "" {
		k = k.Missing(field)
		k.Rests = append(k.Rests, setout.RestsTributaryArea)
		return k
	}
	if s.wire.hi > k.Limit*(1+checkRounding) {
		return k.CuredBy("the wire passes its limit without any load")
	}
	return s.byModel(k).CuredBy("more stations, a stiffer wire, more preload, or less load")
}

// checkShut is whether the seat stays shut: the outward load stays below the preload.
func checkShut(s *checkSite) setout.Check {
	forced := math.NaN()
	if s.wire.known {
		forced = s.wire.forced
	}
	k := checkAtLeast("stays-shut", "preload against the outward load", forced, s.load, "N",
		"the seat stays shut while the outward load, seal push included, stays below F₀", setout.RestsAgeing)
	if s.sure && !s.wire.known {
		return k.Missing(s.wire.field)
	}
	return s.byModel(k).CuredBy("the seat opens under this load: more preload (a deeper free wire or a stiffer one), or one more station beside it")
}

func checkSeal(s *checkSite) setout.Check {
	if s.st.Support == nil || s.st.Support.Seal == nil {
		return checkYes("seal-push", "preload against the seal's push", true, "no seal beside this station pushes the panel off")
	}
	forced := math.NaN()
	if s.wire.known {
		forced = s.wire.forced
	}
	if held, sure := bearingRest(s.pan, s.st); sure && s.wire.known {
		k := checkAtLeast("seal-push", "preload against the seal's push", forced, held, "N",
			"F₀ at the low end against what the station holds by the panel model with the seals pushing and no other load", setout.RestsAgeing, setout.RestsPanelModel)
		return k.CuredBy("the seal alone opens the seat: a softer seal, more preload, or stations closer together")
	}
	return checkAtLeast("seal-push", "preload against the seal's push", forced, s.st.Load.SealPush, "N",
		"F₀ at the low end against the push of the seal on the length nearest to the station", setout.RestsAgeing).Estimated()
}
