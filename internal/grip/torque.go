package grip

import (
	"fmt"
	"math"

	"panelwright/internal/stock"
)

// Lead returns λ (rad), tan λ = ℓ/(r·π/2): the slope of a cam of mean radius r (mm) that lifts ℓ (mm) in a quarter turn.
// r must be positive, otherwise it panics.
func Lead(lift, r float64) float64 {
	if !(r > 0) {
		panic(fmt.Sprintf("grip: a cam of radius %v", r))
	}
	return math.Atan(lift / (r * math.Pi / 2))
}

// RaiseTorque returns F·r·tan(λ + φ) (N·mm), the torque of a square thread that raises a load; tan φ = μ (Shigley, Mechanical
// Engineering Design, ch. 8, from memory, arithmetic checked). Where λ + φ reaches a right angle it locks: +Inf.
func RaiseTorque(force, r, lead, mu float64) float64 {
	a := lead + math.Atan(mu)
	if a >= math.Pi/2 {
		return math.Inf(1)
	}
	return force * r * math.Tan(a)
}

// LowerTorque returns F·r·tan(φ − λ) (N·mm): what it takes to lower the load; negative when the load runs back by itself.
func LowerTorque(force, r, lead, mu float64) float64 {
	return force * r * math.Tan(math.Atan(mu)-lead)
}

// RunsBack says whether a cam of that slope runs back by itself: λ > φ. The detent alone then holds it.
func RunsBack(lead, mu float64) bool { return lead > math.Atan(mu) }

// headFriction is μ_h: the stud's own, or the default.
func headFriction(s *stock.Stud, mu float64) float64 {
	if s.HeadFriction > 0 {
		return s.HeadFriction
	}
	return mu
}

// turnArm is M/F (mm): r·tan(λ + φ) + μ_h·r_h. NaN when the stud does not state its cam.
func turnArm(s *stock.Stud, mu float64) float64 {
	if s.CamRadius <= 0 || s.CamLift <= 0 {
		return math.NaN()
	}
	return RaiseTorque(1, s.CamRadius, Lead(s.CamLift, s.CamRadius), mu) + headFriction(s, mu)*s.SeatRadius
}

// TurnTorque returns M = F·(r·tan(λ + φ) + μ_h·r_h) (N·mm) with F = k·(δ + c): an upper bound of the torque of locking, since
// the cam's slope vanishes at the crest. NaN when the stud does not state its cam; 0 when the wire is not reached.
func TurnTorque(s *stock.Stud, k, delta, mu float64) float64 {
	return math.Max(0, k*(delta+s.Crest)) * turnArm(s, mu)
}

// UnlockTorque returns a lower bound (N·mm) of the torque that turns the stud back out of the detent, against vibration. Out of
// the detent the wire is pulled from δ to δ + c. The angle that this takes is not stated for any part; it is at most the whole
// quarter turn, so somewhere the slope is at least c/(r·π/2), and the force is at least k·δ:
//
//	M ≥ k·δ·(r·tan(λ_c + φ) + μ_h·r_h),  tan λ_c = c/(r·π/2)
//
// With mu = muHead = 0 that is what the detent alone holds when vibration has shaken all friction off. NaN when the stud does
// not state its cam; 0 when the wire is not deflected.
func UnlockTorque(s *stock.Stud, k, delta, mu, muHead float64) float64 {
	if s.CamRadius <= 0 {
		return math.NaN()
	}
	force := math.Max(0, k*delta)
	return RaiseTorque(force, s.CamRadius, Lead(s.Crest, s.CamRadius), mu) + force*muHead*s.SeatRadius
}
