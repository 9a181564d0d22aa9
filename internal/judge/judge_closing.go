package judge

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"panelwright/internal/job"
	"panelwright/internal/stock"
)

// deflection is δ for a stack T, a shim pile s, a receptacle depth h and a reach R, by where the receptacle is mounted; soft
// layers in the clamp path give way as springs in series with the wire.
func (s *judged) deflection(t, shims, h, r float64) float64 {
	d := t + h - r
	switch s.rec.Mount {
	case stock.Behind:
		d += shims
	case stock.FrontBesideSeat:
		d -= shims
	}
	if s.measured != nil {
		return d
	}
	compliance := 0.0
	for _, l := range s.stack {
		if !l.Soft {
			continue
		}
		area := l.Area
		if area == 0 {
			area = s.rec.FootArea
		}
		if l.Modulus > 0 && area > 0 {
			compliance += 1 / (l.Modulus * area)
		}
	}
	return d / (1 + s.rec.Rate.Nom*compliance)
}

// nominal is δ with every part at its nominal size.
func (s *judged) nominal() float64 {
	t := 0.0
	for _, l := range s.stack {
		t += l.Thickness.Nom
	}
	if s.measured != nil {
		t = s.measured.Nom
	}
	return s.deflection(t, s.shimPile(), s.rec.Depth.Nom, s.stud.Reach.Nom)
}

func (s *judged) shimPile() float64 {
	if s.Choice.Shim == nil {
		return 0
	}
	return float64(s.Shims) * s.Choice.Shim.Thickness.Nom
}

// simulate draws δ judgeDraws times, sorted. Stations of the same parts and layers share their draws.
func (j *judge) simulate(s *judged) []float64 {
	key := fmt.Sprintf("%s %s %s %d %v", s.stud.ID, s.plate.ID, s.rec.ID, s.Shims, s.measured)
	for _, l := range s.stack {
		key += fmt.Sprintf("|%v %v %v %v", l.Thickness, l.Soft, l.Modulus, l.Area)
	}
	if c, ok := j.clouds[key]; ok {
		return c
	}
	rng := rand.New(rand.NewPCG(judgeSeed, uint64(len(j.clouds))))
	even := func(v stock.Toleranced) float64 { return v.Nom + v.Tol*(2*rng.Float64()-1) }
	out := make([]float64, judgeDraws)
	for i := range out {
		t := s.drawStack(rng)
		shims := 0.0
		for range s.Shims {
			shims += even(s.Choice.Shim.Thickness)
		}
		out[i] = s.deflection(t, shims, even(s.rec.Depth), even(s.stud.Reach))
	}
	sort.Float64s(out)
	j.clouds[key] = out
	return out
}

// drawStack draws one stack.
func (s *judged) drawStack(rng *rand.Rand) float64 {
	one := func(t *job.Thickness) float64 {
		if len(t.Readings) > 0 {
			return t.Nom + t.StdUnc*rng.NormFloat64()
		}
		return t.Nom + t.Half*(2*rng.Float64()-1)
	}
	if s.measured != nil {
		return one(s.measured)
	}
	t := 0.0
	for _, l := range s.stack {
		t += one(&l.Thickness)
	}
	return t
}

// stacks draws the stack judgeDraws times.
func (j *judge) stacks(s *judged) []float64 {
	rng := rand.New(rand.NewPCG(judgeSeed, 2))
	out := make([]float64, judgeDraws)
	for i := range out {
		out[i] = s.drawStack(rng)
	}
	return out
}

// lever is the turning torque over the wire's force.
func (j *judge) lever(s *judged) float64 {
	mu := j.plan.Job.Conditions.Friction.Value
	head := mu
	if s.stud.HeadFriction > 0 {
		head = s.stud.HeadFriction
	}
	slope := s.stud.CamLift / (math.Pi / 2 * s.stud.CamRadius)
	// tan(λ + φ) by the sum of tangents
	return s.stud.CamRadius*(slope+mu)/(1-slope*mu) + head*s.stud.SeatRadius
}

// turnLimit is what may be turned with.
func (j *judge) turnLimit(s *judged) float64 {
	if s.stud.Drive == "hand" {
		return j.plan.Job.Conditions.HandTorque.Value
	}
	return j.plan.Job.Conditions.ToolTorque.Value
}

func judgeFactor(f job.Setting) float64 {
	if f.Value > 0 {
		return f.Value
	}
	return 1
}

// band is the deflection within which the station closes well.
func (j *judge) band(s *judged) (lo, hi float64) {
	k := s.rec.Rate.Nom + s.rec.Rate.Tol
	lo = j.pan.Job.Limits.PreloadMin.Value/(s.rec.Rate.Nom-s.rec.Rate.Tol) + j.plan.Job.Conditions.Ageing.Value
	hi = math.Inf(1)
	least := func(v float64) { hi = math.Min(hi, v-s.stud.Crest) }
	if s.rec.DeflectionMax > 0 {
		least(s.rec.DeflectionMax)
	}
	if s.stud.CamRadius > 0 {
		least(j.turnLimit(s) / j.lever(s) / k)
	}
	for _, r := range []float64{s.stud.Rating, s.rec.Rating} {
		if r > 0 {
			least(r / judgeFactor(j.ratings()) / k)
		}
	}
	return lo, hi
}

// suppliers returns the range's own bands for the pair, in terms of the stack. What names the plate goes before what names
// none. Where nothing is stated for so many shims, what is stated without shims holds, moved by what the pile does to the
// wire: behind, a pile of s serves stacks thinner by s; under a foot in front, thicker by s.
func (j *judge) suppliers(s *judged) (bands []stock.Band, single bool) {
	for _, want := range []struct {
		shims int
		plate string
	}{{s.Shims, s.plate.ID}, {s.Shims, ""}, {0, s.plate.ID}, {0, ""}} {
		move := 0.0
		if want.shims != s.Shims {
			switch s.rec.Mount {
			case stock.Behind:
				move = -s.shimPile()
			case stock.FrontBesideSeat:
				move = s.shimPile()
			}
		}
		for _, b := range j.plan.Job.Range.Bands {
			switch {
			case b.Stud != s.stud.ID || b.Receptacle != s.rec.ID || b.Plate != want.plate || b.Shims != want.shims:
			case b.To > b.From:
				b.From, b.To = b.From+move, b.To+move
				bands = append(bands, b)
			default:
				single = true
			}
		}
		if single || len(bands) > 0 {
			return bands, single
		}
	}
	return nil, false
}

// closing looks at stack, deflection, band and chance again.
func (j *judge) closing() {
	s, c := j.st, &j.st.Close
	t := 0.0
	for _, l := range s.stack {
		t += l.Thickness.Nom
	}
	if s.measured != nil {
		t = s.measured.Nom
	}
	if !judgeSame(s.Stack.Nom, t) {
		j.say("stack", "the stack is said to be %.3f mm, the layers make %.3f mm", s.Stack.Nom, t)
	}
	if s.rec.Rate.Nom <= 0 || s.stud.Reach.Nom <= 0 {
		return
	}
	s.cloud = j.simulate(s)
	d := s.nominal()
	if !judgeSame(c.Delta, d) {
		j.say("closes", "the wire is said to be drawn %.3f mm, the parts make %.3f mm", c.Delta, d)
	}
	if want := math.Max(0, s.rec.Rate.Nom*d); !judgeSame(c.Preload, want) {
		j.say("preload", "the preload is said to be %.1f N, k·δ makes %.1f N", c.Preload, want)
	}
	bands, single := j.suppliers(s)
	if single && len(bands) == 0 {
		if c.Known {
			j.say("closes", "a chance is given, and the range lists only a single thickness")
		}
		return
	}
	if !c.Known {
		return
	}
	cloud := s.cloud
	lo, hi := j.band(s)
	if len(bands) > 0 { // the supplier's bands are of the stack, and the likeliest counts
		cloud = j.stacks(s)
		slices.SortFunc(bands, func(a, b stock.Band) int {
			return cmp.Compare(j.share(cloud, b.From, b.To), j.share(cloud, a.From, a.To))
		})
		lo, hi = bands[0].From, bands[0].To
		if !judgeSame(c.StackLo, lo) || !judgeSame(c.StackHi, hi) {
			j.say("closes", "the pair is said to serve stacks of %.3f to %.3f mm, the range says %.3f to %.3f mm", c.StackLo, c.StackHi, lo, hi)
		}
	} else if !judgeSame(c.DeltaLo, lo) || !judgeSame(c.DeltaHi, hi) {
		j.say("closes", "the band is said to be %.3f to %.3f mm, the limits make %.3f to %.3f mm", c.DeltaLo, c.DeltaHi, lo, hi)
	}
	p := j.share(cloud, lo, hi)
	if slack := judgeSlack(c.Chance, len(cloud)); math.Abs(p-c.Chance) > slack {
		j.say("closes", "the chance to close well is said to be %.4f, simulation finds %.4f ± %.4f", c.Chance, p, slack)
	}
	if sum := c.Chance + c.Loose + c.Tight; math.Abs(sum-1) > 1e-6 {
		j.say("closes", "the chances of well, loose and tight make %.6f, not 1", sum)
	}
}

// share is how many of the draws lie in the band.
func (j *judge) share(cloud []float64, lo, hi float64) float64 {
	n := 0
	for _, d := range cloud {
		if d >= lo-judgeTol && d <= hi+judgeTol {
			n++
		}
	}
	return float64(n) / float64(len(cloud))
}

// judgeSlack is how far a simulated share may stray from the true one: judgeSigmas standard deviations, at least those of
// one event in the draws.
func judgeSlack(p float64, n int) float64 {
	return judgeSigmas * math.Sqrt(math.Max(p*(1-p), 1/float64(n))/float64(n))
}

// quantile is the band of simulated deflections in which the true p-quantile lies.
func (s *judged) quantile(p float64) judgeSpan {
	n := len(s.cloud)
	slack := judgeSlack(p, n)
	at := func(q float64) float64 {
		i := int(q * float64(n-1))
		return s.cloud[min(max(i, 0), n-1)]
	}
	return judgeSpan{at(p - slack), at(p + slack)}
}

// ratings is the factor on ratings: the panel's own where its limits give one.
func (j *judge) ratings() job.Setting {
	if own := j.pan.Job.Limits.RatingFactor; own.Value > 0 {
		return own
	}
	return j.plan.Job.Conditions.RatingFactor
}
