package judge

import (
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// judgeAir is how far, relative, the judge's own load may differ from what the panel model reports: it takes the outline with its
// arcs, the model takes chords.
const judgeAir = 2e-3

// judgeFlat is how much of its thickness a sheet may bow, as the judge knows the rule.
const judgeFlat = 0.5

// bearings is what the judge makes of the panel model: whether it may be believed, by its own arithmetic from the reported
// deflections and forces.
type bearings struct {
	known, off bool
	valid      []bool
	all        bool
}

// bearing looks at the panel model's report: its forces must carry the judge's own load, deflections must be small, and the
// figures that checks use must be those of its lists.
func (j *judge) bearing() bearings {
	b := j.pan.Bearing
	if b == nil {
		return bearings{}
	}
	out := bearings{known: b.Known, off: b.Off && !b.Known, all: b.Known}
	if !b.Known {
		return out
	}
	if len(b.Cases) != len(j.pan.Load.Cases) {
		j.say("panel-model", "the panel model has %d cases, the loads have %d", len(b.Cases), len(j.pan.Load.Cases))
		return bearings{}
	}
	for i := range b.Cases {
		c := &b.Cases[i]
		if !j.carries(i, c) || len(c.Wire) != len(j.pan.Stations) || len(c.W) != len(b.Node) {
			out.known, out.all = false, false
			return out
		}
		ok := j.bow(c) <= judgeFlat*j.pan.Job.Outer.Thickness.Nom*(1+judgeTol)
		if _, accel := j.caseOf(i); accel > 0 && (j.pan.Job.Outer.Material == nil || j.pan.Job.Outer.Material.Rho <= 0) {
			ok = false // the panel's own mass is not in it
		}
		out.valid, out.all = append(out.valid, ok), out.all && ok
		if ok != c.Valid {
			j.say("panel-model", "%s: the panel model is said to be in its range: %v, the judge finds %v", c.Name, c.Valid, ok)
		}
	}
	return out
}

// carries adds up the reported forces of case i against the judge's own load: in sum, and in moments about both axes through the
// middle of the panel.
func (j *judge) carries(i int, c *setout.BearingCase) bool {
	air, accel := j.caseOf(i)
	box := j.pan.Job.Outline.Outer.Bounds()
	mid := box.Centre()
	reach := math.Max(box.Width(), box.Height()) / 2
	var sum, all float64
	var turn plane.Point
	add := func(f float64, at plane.Point) {
		d := at.Sub(mid)
		sum, all = sum+f, all+math.Abs(f)
		turn = turn.Add(d.Scale(f / reach))
	}
	for _, p := range j.pushes(air, accel) {
		add(p.force, p.at)
	}
	for s, f := range c.Wire {
		add(-f, j.pan.Stations[s].At)
	}
	if len(c.Push) != len(j.pan.Bearing.Support) {
		j.say("panel-model", "%s: %d forces at %d support points", c.Name, len(c.Push), len(j.pan.Bearing.Support))
		return false
	}
	for p, f := range c.Push {
		if f < -judgeTol*math.Max(1, all) {
			j.say("panel-model", "%s: a support pulls with %.3g N", c.Name, -f)
		}
		add(f, j.pan.Bearing.Support[p])
	}
	slack := judgeAir * math.Max(all, judgeTol)
	if math.Abs(sum) > slack || math.Abs(turn.X) > slack || math.Abs(turn.Y) > slack {
		j.say("panel-model", "%s: loads and forces of the panel model are out of balance by %.3g N, of %.3g N in all", c.Name, math.Max(math.Abs(sum), turn.Len()), all)
		return false
	}
	return true
}

// caseOf is load case i as the judge counts them: air alone, then for each direction with air and without.
func (j *judge) caseOf(i int) (air bool, accel float64) {
	c := &j.plan.Job.Conditions
	a := []float64{c.AccelForward.Value, c.AccelSideways.Value, c.AccelVertical.Value}
	if i == 0 {
		return true, 0
	}
	return i%2 == 1, a[(i-1)/2]
}

// bow is how far the sheet stands off the plane that lies best through its supports, found by taking out the mean and then the two
// slopes in turn until they are gone.
func (j *judge) bow(c *setout.BearingCase) float64 {
	b := j.pan.Bearing
	at := map[plane.Point]float64{}
	for n, p := range b.Node {
		at[p] = c.W[n]
	}
	var pts []plane.Point
	var w []float64
	var mid plane.Point
	for _, p := range b.Support {
		pts, w = append(pts, p), append(w, at[p])
		mid = mid.Add(p.Scale(1 / float64(len(b.Support))))
	}
	var m, sx, sy float64
	const rounds = 400
	for range rounds {
		var r, rx, ry, xx, yy float64
		for i, p := range pts {
			d := p.Sub(mid)
			e := w[i] - m - sx*d.X - sy*d.Y
			r += e / float64(len(pts))
			rx, xx = rx+e*d.X, xx+d.X*d.X
			ry, yy = ry+e*d.Y, yy+d.Y*d.Y
		}
		m += r
		if xx > 0 {
			sx += 0.7 * rx / xx
		}
		if yy > 0 {
			sy += 0.7 * ry / yy
		}
	}
	most := 0.0
	for n, p := range b.Node {
		d := p.Sub(mid)
		most = math.Max(most, math.Abs(c.W[n]-m-sx*d.X-sy*d.Y))
	}
	return most
}

// most is the greatest of a figure over the cases, and over those that may be believed.
func (b *bearings) most(cases []setout.BearingCase, figure func(c *setout.BearingCase) float64) (all, sure float64) {
	all, sure = math.Inf(-1), math.Inf(-1)
	for i := range cases {
		v := figure(&cases[i])
		all = math.Max(all, v)
		if b.valid[i] {
			sure = math.Max(sure, v)
		}
	}
	return all, sure
}

// bearingClaim is what the judge makes of a check that rests on the panel model.
func (j *judge) bearingClaim(b *bearings, k setout.Check) (judgeClaim, bool) {
	var figure func(c *setout.BearingCase) float64
	limit := 0.0
	switch k.ID {
	case "natural-frequency":
		return judgeNot, true
	case "load-reactions":
		if !b.known {
			return judgeNot, true
		}
		if j.faulted() {
			return judgeYes(false), true
		}
		figure, limit = func(c *setout.BearingCase) float64 { return 1e9 * math.Max(c.Balance, c.Moment) }, 1
		all, _ := b.most(j.pan.Bearing.Cases, figure)
		return judgeMost(judgeAt(all), limit), true
	case "one-missing":
		return j.missingClaim(b), true
	case "seam-gap":
		limit = j.pan.Job.Limits.SeamGap.Value
		figure = func(c *setout.BearingCase) float64 {
			most := 0.0
			for _, line := range c.Gap {
				for _, g := range line {
					most = math.Max(most, g)
				}
			}
			return most
		}
	case "unsupported-edges":
		limit = j.pan.Job.Limits.SeamGap.Value
		figure = j.bareGap()
	case "sheet-stress":
		limit = j.sheetLimit()
		figure = func(c *setout.BearingCase) float64 { return c.Stress }
	default:
		return judgeNot, false
	}
	switch {
	case b.off:
		return judgeYes(false), true
	case !b.known || math.IsNaN(limit):
		return judgeNot, true
	}
	all, sure := b.most(j.pan.Bearing.Cases, figure)
	if sure > limit*(1+judgeTol) {
		return judgeMost(judgeAt(sure), limit), true
	}
	if !b.all {
		return judgeNot, true
	}
	return judgeMost(judgeAt(all), limit), true
}

// faulted says whether the certificate found anything, in any case or with a station left out.
func (j *judge) faulted() bool {
	b := j.pan.Bearing
	n := len(b.Rest.CertificateFaults)
	for i := range b.Cases {
		n += len(b.Cases[i].CertificateFaults)
	}
	for i := range b.Miss {
		n += len(b.Miss[i].CertificateFaults)
	}
	return n > 0
}

// sheetLimit is what the outer panel's stress may be; NaN when its strength is not known.
func (j *judge) sheetLimit() float64 {
	m := j.pan.Job.Outer.Material
	if m == nil {
		return math.NaN()
	}
	s := m.Yield
	if m.Family == stock.GlassFibre || m.Family == stock.CarbonFibre {
		s = m.Ultimate
	}
	if s <= 0 {
		return math.NaN()
	}
	return s / judgeFactor(j.plan.Job.Conditions.JointFactor)
}

// missingClaim: the panel comes off without some station, stays on without any, or it is not known.
func (j *judge) missingClaim(b *bearings) judgeClaim {
	switch {
	case b.off:
		return judgeYes(false)
	case !b.known || len(j.pan.Bearing.Miss) != len(j.pan.Stations):
		return judgeNot
	}
	claim := judgeYes(true)
	for _, m := range j.pan.Bearing.Miss {
		switch {
		case m.Off && m.Valid:
			return judgeYes(false)
		case !m.Held || !m.Valid || !b.valid[m.Case]:
			claim = judgeNot
		}
	}
	return claim
}

// sealClaim: at a station beside a seal the preload must hold what the seals push, with no other load.
func (j *judge) sealClaim() judgeClaim {
	b := j.pan.Bearing
	if !j.under.known || j.st.cloud == nil || j.bow(&b.Rest) > judgeFlat*j.pan.Job.Outer.Thickness.Nom*(1+judgeTol) {
		return judgeNot
	}
	for i, st := range j.pan.Stations {
		if st == j.st.Station {
			low, _ := j.wireEnds(j.st)
			return judgeLeast(low, b.Rest.Held[i])
		}
	}
	return judgeNot
}

// held is the greatest load that station s holds, by the panel model.
func (j *judge) held(b *bearings) (float64, bool) {
	if !b.all {
		return 0, false
	}
	for i, st := range j.pan.Stations {
		if st == j.st.Station {
			all, _ := b.most(j.pan.Bearing.Cases, func(c *setout.BearingCase) float64 { return c.Held[i] })
			return all, true
		}
	}
	return 0, false
}
