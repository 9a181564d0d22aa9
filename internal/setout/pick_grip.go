package setout

import (
	"fmt"
	"math"

	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// pickBandWord is what Result.LoBy and HiBy say when the range's own table decides.
const pickBandWord = "range's band"

// pickClosing is how one station would close with a pair and so many shims.
type pickClosing struct {
	grip.Result
	chance, loose, tight float64
	known                bool
	off                  float64    // distance (mm) of a single listed thickness from the stack; 0 when a band decides
	delta                spread.Sum // δ with its spread
	never                string     // why it cannot close at all
}

// miss is by how much the nominal δ lies outside the band, mm: negative too loose, positive too tight, 0 inside.
func (c *pickClosing) miss() float64 {
	switch {
	case !c.known:
		return c.off
	case c.Delta < c.DeltaLo:
		return c.Delta - c.DeltaLo
	case c.Delta > c.DeltaHi:
		return c.Delta - c.DeltaHi
	}
	return 0
}

// pickShimSign says what a shim does to the depth of the free wire.
func pickShimSign(m stock.Mount) float64 {
	switch m {
	case stock.Behind:
		return 1
	case stock.FrontBesideSeat:
		return -1
	}
	return 0
}

// pickClose computes how a station with the stack closes. δ = z − R, z = T ± s + h by the receptacle's mounting; soft layers
// yield in series with the wire: δ = δ₀·k_s/(k + k_s).
func pickClose(j *job.Job, l *job.Limits, c pickPair, shim *stock.Shim, n int, stack *StackSum) pickClosing {
	out := pickClosing{known: true}
	bands, single, listed := pickBands(j.Range, c, n)
	if listed && len(bands) == 0 && !single {
		out.never = "the range's table does not list the pair with so many shims"
		return out
	}
	s := spread.Sum(nil)
	if n > 0 {
		out.S = float64(n) * shim.Thickness.Nom
		for range n {
			s = append(s, spread.RectangularAbout(shim.Thickness.Nom, shim.Thickness.Tol))
		}
	}
	sign := pickShimSign(c.rec.Mount)
	out.T, out.R, out.H = stack.Nom, c.stud.Reach.Nom, c.rec.Depth.Nom
	out.Z = out.T + sign*out.S + out.H
	free := append(append(spread.Sum{}, stack.Sum...), s.Scaled(sign)...)
	free = append(free, pickAbout(c.rec.Depth), pickAbout(c.stud.Reach).Scaled(-1))
	soft := 1.0
	k := c.rec.Rate.Nom
	give, knownSoft := stackSoft(stack, c.rec.FootArea)
	if !math.IsInf(give, 1) && k > 0 {
		soft = give / (k + give)
	}
	out.Delta, out.delta = (out.Z-out.R)*soft, free.Scaled(soft)
	pickForces(j, c, &out)
	switch {
	case len(bands) > 0:
		pickByBands(bands, stack, &out)
	case single:
		pickByList(j.Range, c, n, stack, &out)
	case c.stud.Reach.Nom <= 0 || k <= 0:
		out.never = fmt.Sprintf("the range states neither reach and rate of %s with %s nor a table for them", c.stud.ID, c.rec.ID)
	case !knownSoft:
		out.never = "a soft layer states no modulus, so its squeeze is not known"
	default:
		pickByFormula(j, l, c, &out)
	}
	return out
}

func pickAbout(t stock.Toleranced) spread.Part { return spread.RectangularAbout(t.Nom, t.Tol) }

// pickForces fills preload and torques at the nominal δ.
func pickForces(j *job.Job, c pickPair, out *pickClosing) {
	mu := j.Conditions.Friction.Value
	out.Preload = math.Max(0, c.rec.Rate.Nom*out.Delta)
	crest := math.Max(0, c.rec.Rate.Nom*(out.Delta+c.stud.Crest))
	lambda, phi := math.Atan2(c.stud.CamLift, c.stud.CamRadius*math.Pi/2), math.Atan(mu)
	out.TurnTorque = crest * pickArm(j, c.stud)
	head := c.stud.HeadFriction
	if head == 0 {
		head = mu
	}
	out.UnlockTorque = math.Max(0, crest*(c.stud.CamRadius*math.Tan(phi-lambda)+head*c.stud.SeatRadius))
	out.CamRunsBack = lambda > phi
}

// pickArm is the turning torque per newton of the wire, mm: r·tan(λ + φ) + μ_h·r_h.
func pickArm(j *job.Job, s *stock.Stud) float64 {
	mu := j.Conditions.Friction.Value
	head := s.HeadFriction
	if head == 0 {
		head = mu
	}
	return s.CamRadius*math.Tan(math.Atan2(s.CamLift, s.CamRadius*math.Pi/2)+math.Atan(mu)) + head*s.SeatRadius
}

// pickByFormula sets the band of δ from preload, wire, torque and rating, with the rate at the unfavourable end of its
// limits, and the chance to lie in it.
func pickByFormula(j *job.Job, l *job.Limits, c pickPair, out *pickClosing) {
	cond := &j.Conditions
	kLo, kHi := c.rec.Rate.Nom-c.rec.Rate.Tol, c.rec.Rate.Nom+c.rec.Rate.Tol
	if kLo <= 0 {
		out.never = fmt.Sprintf("the limits of the rate of %s reach zero", c.rec.ID)
		return
	}
	out.DeltaLo, out.LoBy = l.PreloadMin.Value/kLo+cond.Ageing.Value, "least preload"
	out.DeltaHi, out.HiBy = math.Inf(1), "no limit stated"
	cap := func(delta float64, by string) {
		if delta < out.DeltaHi {
			out.DeltaHi, out.HiBy = delta, by
		}
	}
	if c.rec.DeflectionMax > 0 {
		cap(c.rec.DeflectionMax-c.stud.Crest, "wire limit less crest")
	}
	limit, by := cond.ToolTorque.Value, "tool torque"
	if c.stud.Drive == "hand" {
		limit, by = cond.HandTorque.Value, "hand torque"
	}
	if arm := pickArm(j, c.stud); limit > 0 && arm > 0 {
		cap(limit/(arm*kHi)-c.stud.Crest, by)
	}
	for _, rating := range [...]float64{c.stud.Rating, c.rec.Rating} {
		if rating > 0 && cond.RatingFactor.Value > 0 {
			cap(rating/cond.RatingFactor.Value/kHi-c.stud.Crest, "rating")
		}
	}
	if math.IsInf(out.DeltaHi, 1) {
		out.never = fmt.Sprintf("nothing limits the deflection of %s: the range states neither the wire's limit nor a rating", c.rec.ID)
		return
	}
	if out.DeltaLo > out.DeltaHi {
		out.never = fmt.Sprintf("the least preload needs a deflection of %s, the %s allows %s", measure.MM(out.DeltaLo), out.HiBy, measure.MM(out.DeltaHi))
		return
	}
	out.setChance(out.delta, out.DeltaLo, out.DeltaHi)
}

func (c *pickClosing) setChance(s spread.Sum, lo, hi float64) {
	c.chance = s.Chance(lo, hi)
	c.loose, c.tight = 0, 0
	if rest := 1 - c.chance; rest > 0 {
		c.loose = math.Min(rest, s.CDF(lo))
		c.tight = rest - c.loose
	}
}

// pickBands returns the range's bands for a pair with n shims; single: it lists a single thickness instead; listed: the range
// has a table for the pair at all.
func pickBands(r *stock.Range, c pickPair, n int) (bands []stock.Band, single, listed bool) {
	for _, b := range r.Bands {
		if b.Stud != c.stud.ID || b.Receptacle != c.rec.ID || b.Plate != "" && b.Plate != c.plate.ID {
			continue
		}
		listed = true
		switch {
		case b.Shims != n:
		case b.To > b.From:
			bands = append(bands, b)
		default:
			single = true
		}
	}
	return bands, single && len(bands) == 0, listed
}

// pickByBands takes the supplier's band that the stack falls into most likely, of equal ones the nearest. The limits of δ are
// then those of the band.
func pickByBands(bands []stock.Band, stack *StackSum, out *pickClosing) {
	best, near := math.Inf(-1), 0.0
	for _, b := range bands {
		p, d := stack.Sum.Chance(b.From, b.To), math.Max(0, math.Max(b.From-stack.Nom, stack.Nom-b.To))
		if p < best || p == best && d >= near {
			continue
		}
		best, near = p, d
		out.setChance(stack.Sum, b.From, b.To)
		out.DeltaLo, out.DeltaHi = out.Delta+b.From-stack.Nom, out.Delta+b.To-stack.Nom
		out.LoBy, out.HiBy = pickBandWord, pickBandWord
	}
}

// pickByList takes a single listed thickness: how far it lies from the stack; the chance is not known.
func pickByList(r *stock.Range, c pickPair, n int, stack *StackSum, out *pickClosing) {
	out.known = false
	out.chance, out.loose, out.tight = math.NaN(), math.NaN(), math.NaN()
	out.DeltaLo, out.DeltaHi = math.NaN(), math.NaN()
	out.LoBy, out.HiBy = "nearest listed thickness", "nearest listed thickness"
	out.off = math.Inf(1)
	for _, b := range r.Bands {
		if b.Stud == c.stud.ID && b.Receptacle == c.rec.ID && (b.Plate == "" || b.Plate == c.plate.ID) && b.Shims == n && b.To <= b.From {
			out.off = math.Min(out.off, math.Abs(b.Single-stack.Nom))
		}
	}
}
