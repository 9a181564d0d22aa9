// Package judge looks at every limit of a finished plan again, by code that shares nothing with the search and the checks.
package judge

import (
	"fmt"
	"math"
	"slices"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// The judge's tolerances. Numbers that both sides compute exactly differ by rounding only.
const (
	judgeTol     = 1e-6   // mm, N, …; relative above 1
	judgeDraws   = 20_000 // per kind of station
	judgeSigmas  = 5.0    // a right answer is accused once in two million times
	judgeSeed    = 7_919
	judgeDropOns = 400
)

// Judge looks at every limit of the finished plan again, from the raw numbers of parts and layers, and fills Plan.Judge with
// every disagreement, a sentence each. It shares no helper with the search and the checks: it simulates where they sum,
// samples where they use closed forms, and rebuilds the schedule that they wrote. It is deterministic.
func Judge(p *setout.Plan) {
	j := &judge{plan: p, clouds: map[string][]float64{}}
	for _, pan := range p.Panels {
		j.pan = pan
		j.panel()
	}
	j.pan = nil
	j.order()
	p.Judge = j.found
}

// judge gathers findings; st is the station at hand, nil for the panel as a whole.
type judge struct {
	plan   *setout.Plan
	pan    *setout.Panel
	st     *judged
	found  []setout.Finding
	clouds map[string][]float64 // simulated deflections by what they depend on

	under bearings // of the panel at hand

	edges   []judgeTrack // outline and cut-outs of edgesOf
	edgesOf *setout.Panel
}

// judged is one station with its raw numbers.
type judged struct {
	*setout.Station
	stud        *stock.Stud
	plate       *stock.Plate
	rec         *stock.Receptacle
	front, back *job.Layer // outer panel, inner panel
	mid         []*job.Layer
	gap         float64
	cloud       []float64 // δ, sorted
	stack       []*job.Layer
	measured    *job.Thickness
}

func (j *judge) say(check, format string, args ...any) {
	f := setout.Finding{Check: check, Text: fmt.Sprintf(format, args...)}
	if j.pan != nil {
		f.Panel = j.pan.Job.Name
	}
	if j.st != nil {
		f.Station = j.st.ID
	}
	j.found = append(j.found, f)
}

// judgeSame says whether two numbers agree within rounding; two that are both not known agree.
func judgeSame(a, b float64) bool {
	if math.IsNaN(a) || math.IsNaN(b) {
		return math.IsNaN(a) && math.IsNaN(b)
	}
	return a == b || math.Abs(a-b) <= judgeTol*math.Max(1, math.Abs(b))
}

func (j *judge) panel() {
	j.st = nil
	j.under = j.bearing()
	seen := map[string]bool{}
	for _, st := range j.pan.Stations {
		if seen[st.ID] {
			j.say("id", "two stations are called %s", st.ID)
		}
		seen[st.ID] = true
		j.station(st)
	}
	j.st = nil
	j.given()
	j.schedule()
	j.dropOn()
	j.panelChecks()
}

func (j *judge) station(st *setout.Station) {
	j.st = j.look(st)
	j.place()
	if j.st.stud == nil {
		for _, k := range st.Checks {
			if k.ID == "closes" && k.Verdict == setout.Holds {
				j.say(k.ID, "closes is said to hold, and there are no parts")
			}
		}
		return
	}
	j.parts()
	j.closing()
	j.stationChecks()
}

// look gathers the raw numbers of a station.
func (j *judge) look(st *setout.Station) *judged {
	s := &judged{Station: st, front: &j.pan.Job.Outer, back: &j.pan.Job.Inner}
	mid := j.pan.Job.Between
	if st.Support != nil && st.Support.Inner != nil {
		s.back = st.Support.Inner
	}
	if st.Support != nil && st.Support.Between != nil {
		mid = st.Support.Between
	}
	for i := range mid {
		s.mid = append(s.mid, &mid[i])
		s.gap += mid[i].Thickness.Nom
	}
	c := st.Choice
	if c == nil || c.Stud == nil || c.Plate == nil || c.Receptacle == nil {
		return s
	}
	s.stud, s.plate, s.rec = c.Stud, c.Plate, c.Receptacle
	if s.plate.Face != stock.PlateBehind {
		s.stack = append(s.stack, s.front)
	}
	s.stack = append(s.stack, s.mid...)
	if s.rec.Mount == stock.Behind {
		s.stack = append(s.stack, s.back)
	}
	for i := range j.pan.Job.Measured {
		if m := &j.pan.Job.Measured[i]; m.Station == st.ID {
			s.measured = &m.Thickness
		}
	}
	return s
}

// parts looks at whether the parts exist and go together, and with the support.
func (j *judge) parts() {
	s, r := j.st, j.plan.Job.Range
	in := func(ok bool, kind, id string) {
		if !ok {
			j.say("parts", "the range has no %s %s as planned", kind, id)
		}
	}
	in(slices.ContainsFunc(r.Studs, func(x stock.Stud) bool { return x.ID == s.stud.ID && x.Reach == s.stud.Reach }), "stud", s.stud.ID)
	in(slices.ContainsFunc(r.Plates, func(x stock.Plate) bool { return x.ID == s.plate.ID && x.Face == s.plate.Face }), "plate", s.plate.ID)
	in(slices.ContainsFunc(r.Receptacles, func(x stock.Receptacle) bool { return x.ID == s.rec.ID && x.Depth == s.rec.Depth }), "receptacle", s.rec.ID)
	if !slices.Contains(s.stud.PlateIDs, s.plate.ID) {
		j.say("parts", "stud %s does not go with plate %s", s.stud.ID, s.plate.ID)
	}
	if !slices.Contains(s.rec.StudFamilies, s.stud.Family) {
		j.say("parts", "receptacle %s does not take studs of family %s", s.rec.ID, s.stud.Family)
	}
	if sup := s.Support; sup != nil {
		mount := sup.Mount
		if mount == "" {
			mount = stock.Behind
		}
		if mount != s.rec.Mount || sup.Weld != (s.rec.Fixing == stock.Welded) {
			j.say("parts", "receptacle %s (%s, %s) cannot go on %s", s.rec.ID, s.rec.Mount, s.rec.Fixing, sup.Name)
		}
	}
	for _, q := range []struct {
		rivet *stock.Rivet
		fits  []string
		part  string
	}{{s.Choice.PlateRivet, s.plate.RivetIDs, s.plate.ID}, {s.Choice.ReceptacleRivet, s.rec.RivetIDs, s.rec.ID}} {
		if q.rivet != nil && !slices.Contains(q.fits, q.rivet.ID) {
			j.say("parts", "rivet %s does not go with %s", q.rivet.ID, q.part)
		}
	}
	if s.Shims < 0 || s.Shims > 0 && s.Choice.Shim == nil {
		j.say("shims", "%d shims of no kind", s.Shims)
	} else if s.Shims > 0 {
		if !slices.Contains(s.rec.ShimIDs, s.Choice.Shim.ID) {
			j.say("shims", "shim %s does not go under %s", s.Choice.Shim.ID, s.rec.ID)
		}
		if t := float64(s.Shims) * s.Choice.Shim.Thickness.Nom; t > s.rec.ShimStackMax+judgeTol {
			j.say("shims", "%.2f mm of shims, %s takes %.2f mm", t, s.rec.ID, s.rec.ShimStackMax)
		}
	}
}

// order counts the parts again.
func (j *judge) order() {
	j.st = nil
	need := map[string]int{}
	for _, pan := range j.plan.Panels {
		n := max(1, pan.Job.Quantity)
		for _, st := range pan.Stations {
			c := st.Choice
			if c == nil || c.Stud == nil || c.Plate == nil || c.Receptacle == nil {
				continue
			}
			need[c.Stud.ID] += n
			need[c.Plate.ID] += n
			need[c.Receptacle.ID] += n
			if c.PlateRivet != nil {
				need[c.PlateRivet.ID] += n * len(c.Plate.Rivets)
			}
			if c.ReceptacleRivet != nil {
				need[c.ReceptacleRivet.ID] += n * len(c.Receptacle.Rivets)
			}
			if st.Shims > 0 && c.Shim != nil {
				need[c.Shim.ID] += n * st.Shims
			}
		}
	}
	for _, l := range j.plan.Order {
		want, known := need[l.ID]
		switch {
		case !known:
			j.say("order", "%s is ordered, and nothing needs it", l.ID)
		case l.Need != want:
			j.say("order", "%s: %d needed, the order says %d", l.ID, want, l.Need)
		case l.Buy < l.Need+l.Spare:
			j.say("order", "%s: %d bought for %d needed and %d spare", l.ID, l.Buy, l.Need, l.Spare)
		case l.PackSize > 0 && l.Packs*l.PackSize < l.Need+l.Spare:
			j.say("order", "%s: %d packs of %d do not hold %d", l.ID, l.Packs, l.PackSize, l.Need+l.Spare)
		}
		delete(need, l.ID)
	}
	ids := make([]string, 0, len(need))
	for id, n := range need {
		if n > 0 {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	for _, id := range ids {
		j.say("order", "%s: %d needed and not ordered", id, need[id])
	}
}

// at is where a point of a part's pattern lies on the panel.
func (s *judged) at(q plane.Point) plane.Point {
	sin, cos := math.Sincos(s.Dir)
	return plane.Point{X: s.At.X + cos*q.X - sin*q.Y, Y: s.At.Y + sin*q.X + cos*q.Y}
}
