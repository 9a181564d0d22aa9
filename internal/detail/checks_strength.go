package detail

import (
	"fmt"
	"math"

	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

func checkStrength(s *checkSite) []setout.Check {
	out := checkPullThrough(s)
	out = append(out, checkBearing(s))
	if jt := s.join("plate"); jt != nil && s.c.Plate.Face == stock.PlateBehind {
		out = append(out, checkHanging(s, "plate", jt.Rivet, len(s.c.Plate.Rivets), s.c.Plate.ID)...)
	}
	out = append(out, checkReceptacleHold(s)...)
	return append(out, checkInPlane(s))
}

// checkLocked returns the pair of checks that a strength gives: at the force of locking, which is known, and under load, which
// rests on the load's estimate. share is the part of the force that value carries; missing names a field that is not stated.
func checkLocked(s *checkSite, id, name string, share, limit float64, basis, missing string, rests ...string) []setout.Check {
	crest, loaded := math.NaN(), math.NaN()
	if s.wire.known {
		crest, loaded = share*s.wire.crest, share*math.Max(s.wire.crest, s.load)
	} else if missing == "" {
		missing = s.wire.field
	}
	rests = append(rests, setout.RestsJointFactor)
	locked := checkAtMost(id+"-locked", name+", while locking", crest, limit, "N", basis+"; F = k·(δ + c) at the high end", rests...)
	load := checkAtMost(id+"-loaded", name+", under load", loaded, limit, "N", basis+"; F = max(k·(δ + c), P)", append([]string{}, rests...)...)
	if missing != "" {
		locked, load = locked.Missing(missing), load.Missing(missing)
		load.Rests = append(load.Rests, setout.RestsTributaryArea)
		return []setout.Check{locked, load}
	}
	locked = locked.CuredBy("less preload, or parts that press on more of the sheet, or a backing plate")
	if locked.Verdict == setout.DoesNotHold {
		load.Cure = "the preload alone passes the limit"
	} else {
		load = s.byModel(load).CuredBy("more stations, or parts that press on more of the sheet")
	}
	return []setout.Check{locked, load}
}

// checkPullThrough is the punching of the outer panel: around what presses on it, or at the heads of hanging rivets.
func checkPullThrough(s *checkSite) []setout.Check {
	pl, t, m := s.c.Plate, s.outer.Thickness.Nom, s.outer.Material
	perimeter, what, missing := math.Pi*pl.BearingDiameter, "under the plate", ""
	switch {
	case pl.Face == stock.PlateBehind:
		if jt := s.join("plate"); jt != nil {
			perimeter, what = float64(len(pl.Rivets))*math.Pi*jt.Rivet.HeadDiameter, "at the heads of the hanging rivets"
		} else {
			perimeter, missing = 0, fmt.Sprintf("the rivets of %s", pl.ID)
		}
	case pl.BearingDiameter <= 0 && pl.Face == stock.PlateNone:
		perimeter, what = math.Pi*s.c.Stud.HeadDiameter, "under the head"
	case pl.BearingDiameter <= 0:
		perimeter = 2 * (pl.Length + pl.Width)
	}
	shear := 0.0
	if m != nil {
		shear = m.ShearUltimate
	}
	limit := perimeter * t * shear / factor(s.job.Conditions.JointFactor)
	switch {
	case missing != "":
	case perimeter <= 0:
		missing = fmt.Sprintf("the bearing diameter of %s", pl.ID)
	case shear <= 0 && m != nil:
		missing = fmt.Sprintf("the through-thickness shear strength of %s", m.ID)
	case shear <= 0:
		missing = "the outer panel's material"
	}
	if missing != "" {
		limit = math.NaN()
	}
	return checkLocked(s, "pull-through", "pull-through of the outer panel", 1, limit,
		fmt.Sprintf("punching %s: perimeter %.1f mm × t × shear strength over the joint factor", what, perimeter), missing, setout.RestsMaterialTables)
}

// checkBearing is the pressure of the receptacle's feet on the back of the inner panel.
func checkBearing(s *checkSite) setout.Check {
	const id, name = "bearing-receptacle", "bearing under the receptacle"
	if s.c.Receptacle.Mount != stock.Behind {
		return checkYes(id, name, true, "the receptacle hangs in front: its feet are not pressed on")
	}
	area, m := s.c.Receptacle.FootArea, s.inner.Material
	limit, missing := math.NaN(), ""
	switch {
	case area <= 0:
		missing = fmt.Sprintf("the foot area of %s", s.c.Receptacle.ID)
	case m == nil:
		missing = "the inner panel's material"
	case m.Yield <= 0 || m.Family.Laminate():
		missing = fmt.Sprintf("the through-thickness compressive strength of %s", m.ID)
	case !s.wire.known:
		missing = s.wire.field
	default:
		limit = m.Yield / factor(s.job.Conditions.JointFactor)
	}
	value := math.NaN()
	if area > 0 && s.wire.known {
		value = s.wire.crest / area
	}
	k := checkAtMost(id, name, value, limit, "MPa", "k·(δ + c) at the high end over the feet's area; limit: yield over the joint factor", setout.RestsJointFactor, setout.RestsMaterialTables)
	if missing != "" {
		return k.Missing(missing)
	}
	return k.CuredBy("a backing plate of %.0f mm² under the feet", s.wire.crest/limit)
}

// checkHanging is the tension of rivets that carry the whole wire force.
func checkHanging(s *checkSite, part string, r *stock.Rivet, n int, id string) []setout.Check {
	missing, limit := "", math.NaN()
	switch {
	case n < 1:
		missing, n = fmt.Sprintf("the hole pattern of %s", id), 1
	case r.Tension <= 0:
		missing = fmt.Sprintf("the tension strength of %s", r.ID)
	default:
		limit = r.Tension / factor(s.job.Conditions.JointFactor)
	}
	return checkLocked(s, part+"-rivets-tension", "tension of the "+part+"'s rivets", 1/float64(n), limit,
		fmt.Sprintf("F/%d each; the ears' prying is not modelled, the joint factor stands for it", n), missing)
}

// checkReceptacleHold is what the receptacle's rivets or welds carry, by its mounting.
func checkReceptacleHold(s *checkSite) []setout.Check {
	rc := s.c.Receptacle
	if rc.Fixing == stock.Welded {
		k := checkUnknown("receptacle-welds", "welds of the receptacle", "F and the turning torque on its welds",
			fmt.Sprintf("give the strength of the %d welds of %s, or pull a test piece of the same sheet apart", rc.Welds, rc.ID), setout.RestsTributaryArea)
		return []setout.Check{k}
	}
	jt := s.join("receptacle")
	if jt == nil {
		return []setout.Check{checkUnknown("receptacle-rivets", "rivets of the receptacle", "F and the turning torque on its rivets",
			fmt.Sprintf("give the rivets of %s", rc.ID))}
	}
	out := []setout.Check{checkTurning(s, jt.Rivet)}
	if rc.Mount != stock.Behind {
		return append(out, checkHanging(s, "receptacle", jt.Rivet, len(rc.Rivets), rc.ID)...)
	}
	return append(out, checkPushOut(s, jt.Rivet))
}

// checkTurning is the turning torque as shear on the receptacle's rivets: M over their spacing, each.
func checkTurning(s *checkSite, r *stock.Rivet) setout.Check {
	spacing := 0.0
	for _, a := range s.c.Receptacle.Rivets {
		for _, b := range s.c.Receptacle.Rivets {
			spacing = math.Max(spacing, a.At.Dist(b.At))
		}
	}
	k := checkAtMost("receptacle-rivets-shear", "shear of the receptacle's rivets", s.wire.torque/spacing, r.Shear/factor(s.job.Conditions.JointFactor), "N",
		fmt.Sprintf("turning torque at the high end over the rivets' spacing of %.1f mm", spacing), setout.RestsJointFactor, setout.RestsFriction)
	switch {
	case !s.wire.known:
		k.Value = math.NaN()
		return k.Missing(s.wire.field)
	case spacing <= 0:
		k.Value = math.NaN()
		return k.Missing(fmt.Sprintf("the hole pattern of %s", s.c.Receptacle.ID))
	case r.Shear <= 0:
		k.Limit = math.NaN()
		return k.Missing(fmt.Sprintf("the shear strength of %s", r.ID))
	case math.IsNaN(s.wire.torque):
		return k.Missing(fmt.Sprintf("the cam radius of %s", s.c.Stud.ID))
	}
	return k.CuredBy("stronger rivets, or less preload")
}

// checkPushOut is the fitter's push on the driver, which tries to push a receptacle off the back.
func checkPushOut(s *checkSite, r *stock.Rivet) setout.Check {
	n := len(s.c.Receptacle.Rivets)
	k := checkAtMost("push-out", "push-out by the driver", s.job.Conditions.DriverPush.Value/math.Max(1, float64(n)), r.Tension/factor(s.job.Conditions.JointFactor), "N",
		fmt.Sprintf("the push on the driver over %d rivets, in tension", n), setout.RestsDriverPush, setout.RestsJointFactor)
	switch {
	case n < 1:
		k.Value = math.NaN()
		return k.Missing(fmt.Sprintf("the hole pattern of %s", s.c.Receptacle.ID))
	case r.Tension <= 0:
		k.Limit = math.NaN()
		return k.Missing(fmt.Sprintf("the tension strength of %s", r.ID))
	}
	return k.CuredBy("stronger rivets")
}

func checkInPlane(s *checkSite) setout.Check {
	k := checkAtMost("in-plane", "load in the plane of the panel", s.st.Load.InPlane, math.NaN(), "N",
		"bearing of the stud, tear-out and shear need the panel's stretch, which an area estimate does not know")
	k.Verdict = setout.NotKnown
	k = k.Estimated()
	k.Cure = "how a sheet stretches between its stations is not modelled"
	return k
}
