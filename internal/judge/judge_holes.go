package judge

import (
	"math"
	"math/rand/v2"
	"slices"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// judgeHole is a hole that must be in the schedule.
type judgeHole struct {
	layer, purpose string
	index          int
	at             plane.Point
	lo, hi         float64 // limits of the diameter; hi 0: only at least lo
	angle, sink    float64 // countersink wanted on the row: included angle and surface diameter; 0: none
	face           string
	long, wide     float64 // a cut-out: the least that passes
}

func (s *judged) layerName(i int) string {
	switch {
	case i < 0:
		return judgeName(s.front.Name, "outer")
	case i >= len(s.mid):
		return judgeName(s.back.Name, "inner")
	}
	return judgeName(s.mid[i].Name, "between")
}

func judgeName(name, otherwise string) string {
	if name == "" {
		return otherwise
	}
	return name
}

// wanted rebuilds the holes of a station from its parts: those without which the parts do not go in.
func (j *judge) wanted(s *judged) []judgeHole {
	var out []judgeHole
	cond := &j.plan.Job.Conditions
	fit := func(v stock.Toleranced) float64 {
		if v.Tol > 0 {
			return v.Nom + v.Tol
		}
		return v.Nom + cond.HoleFit.Value
	}
	front, back := s.layerName(-1), s.layerName(len(s.mid))
	if v := s.plate.CentreHole; v.Nom > 0 {
		h := judgeHole{layer: front, purpose: "centre", at: s.At, lo: v.Nom, hi: fit(v)}
		if s.plate.CentreCountersinkDeg > 0 && s.plate.CentreCountersinkDiameter > 0 {
			h.angle, h.sink, h.face = s.plate.CentreCountersinkDeg, s.plate.CentreCountersinkDiameter, "front"
		}
		out = append(out, h)
	}
	behind := s.rec.Mount == stock.Behind
	for i, l := range s.mid {
		if l.Material == nil {
			continue
		}
		h := judgeHole{layer: s.layerName(i), purpose: "centre", at: s.At, lo: max(s.stud.Shank.Nom, s.plate.CentreHole.Nom)}
		if behind {
			h.lo = max(h.lo, s.rec.CentreHole.Nom)
		}
		if h.long, h.wide = s.passing(); h.long > 0 {
			h.purpose, h.lo = "cut-out", 0
		}
		out = append(out, h)
	}
	if v := s.rec.CentreHole; v.Nom > 0 && behind {
		hi := fit(v)
		if x := cond.LocateExcessMax.Value; x > 0 {
			hi = min(hi, s.stud.Shank.Nom+x)
		}
		out = append(out, judgeHole{layer: back, purpose: "centre", at: s.At, lo: v.Nom, hi: hi})
	} else if v.Nom > 0 {
		out = append(out, judgeHole{layer: back, purpose: "receptacle body", at: s.At, lo: v.Nom, hi: fit(v)})
	}
	pattern := func(r *stock.Rivet, holes []stock.Hole, layer, purpose string, sunkHere bool) {
		if r == nil {
			return
		}
		for i, q := range holes {
			h := judgeHole{layer: layer, purpose: purpose, index: i + 1, at: s.at(q.At), lo: r.HoleMin, hi: r.HoleMax}
			if sunkHere && r.Head == "countersunk" {
				h.angle, h.sink, h.face = r.CountersinkDeg, r.HeadDiameter, "front"
			}
			out = append(out, h)
		}
	}
	if s.plate.Face != stock.PlateNone {
		pattern(s.Choice.PlateRivet, s.plate.Rivets, front, "plate rivet", s.plate.Face == stock.PlateBehind)
	}
	if s.rec.Fixing == stock.Riveted {
		pattern(s.Choice.ReceptacleRivet, s.rec.Rivets, back, "receptacle rivet", s.rec.Mount == stock.Behind)
	}
	return out
}

// passing is the size of what lies between the panels and is not the stud: a foot in front beside its seat, a plate behind.
func (s *judged) passing() (long, wide float64) {
	if s.rec.Mount == stock.FrontBesideSeat {
		long, wide = s.rec.Length, s.rec.Width
	}
	if s.plate.Face == stock.PlateBehind {
		long, wide = max(long, s.plate.Length), max(wide, s.plate.Width)
	}
	return long, wide
}

// schedule looks at every hole: those that the parts need are there, in place, with a drill that the shop owns and that lies
// within the limits; nothing else is drilled.
func (j *judge) schedule() {
	used := make([]bool, len(j.pan.Holes))
	for _, st := range j.pan.Stations {
		j.st = j.look(st)
		if j.st.stud == nil {
			continue
		}
		for _, w := range j.wanted(j.st) {
			i := slices.IndexFunc(j.pan.Holes, func(h setout.Hole) bool {
				return h.Station == st.ID && h.Layer == w.layer && h.Purpose == w.purpose && h.Index == w.index && h.At.Dist(w.at) < judgeTol
			})
			if i < 0 {
				j.say("holes", "no hole in %s for %s %d at (%.3f, %.3f)", w.layer, w.purpose, w.index, w.at.X, w.at.Y)
				continue
			}
			if used[i] {
				j.say("holes", "hole no. %d serves twice", j.pan.Holes[i].No)
			}
			used[i] = true
			j.hole(&j.pan.Holes[i], w)
		}
		j.tails(used)
	}
	j.st = nil
	for i := range j.pan.Holes {
		h := &j.pan.Holes[i]
		if !used[i] {
			j.say("holes", "hole no. %d, %s in %s at station %s, serves nothing", h.No, h.Purpose, h.Layer, h.Station)
		}
		if h.No != i+1 || i > 0 && h.Stage < j.pan.Holes[i-1].Stage {
			j.say("holes", "hole no. %d is out of the order of work", h.No)
		}
		j.drilled(h)
	}
}

// hole compares a row with what the part wants.
func (j *judge) hole(h *setout.Hole, w judgeHole) {
	d := h.Wanted
	if h.Drill != nil {
		d = h.Drill.Diameter
	}
	if h.Locates != (h.Purpose == "centre" && j.st.rec.Mount == stock.Behind && h.Layer == j.st.layerName(len(j.st.mid))) {
		j.say("holes", "hole no. %d is said to locate the panel: %v", h.No, h.Locates)
	}
	if w.long > 0 && (h.Length < w.long || h.Width < w.wide || !judgeSame(h.Dir, j.st.Dir)) {
		j.say("holes", "hole no. %d is cut %.1f × %.1f mm at %.3f rad, %.1f × %.1f mm at %.3f rad must pass", h.No, h.Length, h.Width, h.Dir, w.long, w.wide, j.st.Dir)
	}
	if w.hi == 0 && d < w.lo-judgeTol {
		j.say("holes", "hole no. %d is %.2f mm, what goes through needs %.2f mm", h.No, d, w.lo)
	}
	if w.hi > 0 && (!judgeSame(h.Wanted, w.lo) || !judgeSame(h.WantedMax, w.hi)) {
		j.say("holes", "hole no. %d wants %.3f to %.3f mm, the part says %.3f to %.3f mm", h.No, h.Wanted, h.WantedMax, w.lo, w.hi)
	}
	reversed := slices.ContainsFunc(j.pan.Joins, func(jt setout.RivetJoint) bool {
		return jt.Station == h.Station && h.Purpose == jt.Part+" rivet" && jt.HeadSink != nil
	})
	switch k := h.Countersink; {
	case k == nil && w.sink > 0:
		j.say("holes", "hole no. %d has no countersink", h.No)
	case k != nil && w.sink == 0 && !reversed:
		j.say("holes", "hole no. %d has a countersink for nothing", h.No)
	case k != nil && w.sink > 0:
		if !judgeSame(k.AngleDeg, w.angle) || !judgeSame(k.Diameter, w.sink) || k.Face != w.face {
			j.say("holes", "hole no. %d is countersunk %.0f° to %.2f mm on its %s, the part wants %.0f° to %.2f mm on the %s", h.No, k.AngleDeg, k.Diameter, k.Face, w.angle, w.sink, w.face)
		}
	}
}

// drilled looks at drill, pilot, countersink and speed of a row, whatever it is for.
func (j *judge) drilled(h *setout.Hole) {
	owned := j.plan.Job.Drills
	fits := func(d stock.Drill) bool { return d.Diameter >= h.Wanted-judgeTol && d.Diameter <= h.WantedMax+judgeTol }
	switch {
	case h.Operation != (h.Purpose == "rivet tail countersink"):
		j.say("holes", "hole no. %d, %s: said to be work on another row's hole: %v", h.No, h.Purpose, h.Operation)
	case h.Cut != (h.Purpose == "cut-out" || h.Tool == "hole punch"):
		j.say("holes", "hole no. %d, by %s: said to be cut: %v", h.No, h.Tool, h.Cut)
	case h.Cut && (h.Drill != nil || h.NoDrill != ""):
		j.say("holes", "hole no. %d is cut, and speaks of a drill", h.No)
	case h.Cut: // a soft layer, or a cut-out
	case h.Drill == nil && slices.ContainsFunc(owned, fits):
		j.say("holes", "hole no. %d is said to have no drill, and the shop has one", h.No)
	case h.Drill == nil && h.NoDrill == "":
		j.say("holes", "hole no. %d has no drill and no reason", h.No)
	case h.Drill == nil:
	case !fits(*h.Drill):
		j.say("holes", "hole no. %d: %s, %.3f mm, lies outside %.3f to %.3f mm", h.No, h.Drill.Name, h.Drill.Diameter, h.Wanted, h.WantedMax)
	case !slices.ContainsFunc(owned, func(d stock.Drill) bool { return d.Name == h.Drill.Name && d.Diameter == h.Drill.Diameter }):
		j.say("holes", "hole no. %d: the shop has no %s of %.3f mm", h.No, h.Drill.Name, h.Drill.Diameter)
	}
	d := h.Wanted
	if h.Drill != nil {
		d = h.Drill.Diameter
	}
	if h.Pilot != nil && h.Pilot.Diameter >= d {
		j.say("holes", "hole no. %d: the pilot is no smaller than the hole", h.No)
	}
	if k := h.Countersink; k != nil {
		deep := (k.Diameter - d) / 2 * math.Tan(math.Pi/2-k.AngleDeg*math.Pi/360)
		if !judgeSame(k.Depth, max(0, deep)) {
			j.say("holes", "hole no. %d: the countersink is said to be %.3f mm deep, it is %.3f mm", h.No, k.Depth, deep)
		}
		if k.RPM > h.RPM && h.RPM > 0 {
			j.say("holes", "hole no. %d: the countersink runs faster than the drill", h.No)
		}
	}
	// 130 m/min is more than any tool of the schedule may run at the rim with a hand drill.
	if v := h.RPM * math.Pi * d / 1000; v > 130 {
		j.say("holes", "hole no. %d: %.0f rev/min is %.0f m/min at the rim", h.No, h.RPM, v)
	}
}

// tails looks at each rivet's tail: what its treatment needs is in the schedule, and nothing stands proud on a meeting face.
func (j *judge) tails(used []bool) {
	s := j.st
	for _, part := range []string{"plate", "receptacle"} {
		r, holes := s.Choice.PlateRivet, s.plate.Rivets
		if part == "receptacle" {
			r, holes = s.Choice.ReceptacleRivet, s.rec.Rivets
		}
		if r == nil || part == "plate" && s.plate.Face == stock.PlateNone || part == "receptacle" && s.rec.Fixing != stock.Riveted {
			continue
		}
		i := slices.IndexFunc(j.pan.Joins, func(jt setout.RivetJoint) bool { return jt.Station == s.ID && jt.Part == part })
		if i < 0 {
			j.say(part+"-rivet-tail", "nothing says where the %s's rivets lie", part)
			continue
		}
		jt := j.pan.Joins[i]
		if jt.Rivet == nil || jt.Rivet.ID != r.ID {
			j.say(part+"-rivet-tail", "the joint is drawn with another rivet than the one chosen")
		}
		layer := s.layerName(-1)
		if part == "receptacle" {
			layer = s.layerName(len(s.mid))
		}
		relief, sinks := 0, 0
		for k := range j.pan.Holes {
			h := &j.pan.Holes[k]
			if h.Station != s.ID || used[k] || h.Index < 1 || h.Index > len(holes) || h.At.Dist(s.at(holes[h.Index-1].At)) > judgeTol {
				continue
			}
			switch {
			case h.Purpose == "relief" && jt.Relief > 0 && h.Wanted >= jt.Relief-judgeTol:
				used[k], relief = true, relief+1
			case h.Purpose == "rivet tail countersink" && jt.TailSink != nil && h.Countersink != nil && h.Layer == layer:
				used[k], sinks = true, sinks+1
			}
		}
		if jt.Relief > 0 && s.solid() {
			for _, q := range holes {
				if long, wide := s.cutOver(j.pan); 2*math.Abs(q.At.X)+jt.Relief <= long+judgeTol && 2*math.Abs(q.At.Y)+jt.Relief <= wide+judgeTol {
					relief++ // the layers are cut out there already
				}
			}
		}
		j.tail(jt, part, r, len(holes), relief, sinks)
	}
}

func (j *judge) tail(jt setout.RivetJoint, part string, r *stock.Rivet, n, relief, sinks int) {
	s := j.st
	meets := jt.TailOn == "outer back" || jt.TailOn == "inner front"
	need := r.TailDiameter
	if jt.HeadRelief {
		need = r.HeadDiameter
	}
	switch {
	case jt.Trouble != "":
	case jt.Relief > 0 && relief < n && s.solid():
		j.say(part+"-rivet-tail", "%d relief holes for %d rivets", relief, n)
	case jt.Relief > 0 && jt.Relief < need:
		j.say(part+"-rivet-tail", "a relief hole of %.2f mm for %.2f mm", jt.Relief, need)
	case jt.TailSink != nil && sinks != n:
		j.say(part+"-rivet-tail", "%d countersinks for %d tails", sinks, n)
	case meets && jt.Relief == 0 && jt.TailSink == nil && s.gap < r.TailLength:
		j.say(part+"-rivet-tail", "the tail stands %.1f mm proud on a meeting face with a gap of %.1f mm, and nothing takes it", r.TailLength, s.gap)
	}
}

// cutOver is the size of the cut-out at the station, 0 for none.
func (s *judged) cutOver(pan *setout.Panel) (long, wide float64) {
	for i := range pan.Holes {
		if h := &pan.Holes[i]; h.Station == s.ID && h.Purpose == "cut-out" {
			return h.Length, h.Width
		}
	}
	return 0, 0
}

// solid says whether anything between or behind the outer panel needs a relief hole cut: air does not.
func (s *judged) solid() bool {
	for _, l := range s.mid {
		if l.Material != nil {
			return true
		}
	}
	return s.gap == 0
}

// dropOn looks at the chance that the panel drops on: by the sum of zones where that decides, else by a simulation that finds
// a fit by throwing the panel from hole to hole.
func (j *judge) dropOn() {
	d := j.pan.DropOn
	if d == nil {
		return
	}
	for _, st := range j.pan.Stations {
		if st.Choice != nil && st.Choice.Receptacle != nil && st.Choice.Receptacle.Fixing == stock.Welded {
			j.say("drop-on", "the receptacle of station %s is welded: its place, and so the chance to drop on, is not known", st.ID)
			return
		}
	}
	zone := j.plan.Job.Conditions.MatchZone.Value
	switch j.plan.Job.Conditions.Marking {
	case "template":
		zone = j.plan.Job.Conditions.TemplateZone.Value
	case "jig":
		zone = j.plan.Job.Conditions.JigZone.Value
	}
	if !judgeSame(d.Zone, zone) {
		j.say("drop-on", "the zone is said to be %.2f mm, the job marks out within %.2f mm", d.Zone, zone)
	}
	clear := j.clearances()
	least := slices.Min(append([]float64{math.Inf(1)}, clear...))
	if !judgeSame(d.Clear, least) {
		j.say("drop-on", "the clearance is said to be %.3f mm, the holes leave %.3f mm", d.Clear, least)
	}
	if least >= 2*zone-judgeTol {
		if d.Chance != 1 {
			j.say("drop-on", "the clearance takes both zones, and the chance is said to be %.3f", d.Chance)
		}
		return
	}
	rng := rand.New(rand.NewPCG(judgeSeed, 1))
	hits := 0
	for range judgeDropOns {
		if j.throw(rng, zone, clear) {
			hits++
		}
	}
	p := float64(hits) / judgeDropOns
	// A throw that finds no fit proves nothing, so the true chance may be a little higher.
	const missed = 0.03
	if slack := judgeSlack(p, judgeDropOns); d.Chance < p-slack || d.Chance > p+slack+missed {
		j.say("drop-on", "the chance to drop on is said to be %.3f, simulation finds %.3f ± %.3f", d.Chance, p, slack)
	}
}

// clearances are those of the stations, as diameters, in their order.
func (j *judge) clearances() []float64 {
	var out []float64
	for _, st := range j.pan.Stations {
		s := j.look(st)
		if s.stud == nil {
			continue
		}
		out = append(out, j.wander(s))
	}
	return out
}

// wander is how far a stud may stand off its hole's centre, as a diameter.
func (j *judge) wander(s *judged) float64 {
	play := math.Inf(1)
	if s.rec.CentreHole.Nom > 0 && s.rec.Mount == stock.Behind {
		play = s.rec.CentreHole.Nom
		for _, h := range j.pan.Holes {
			if h.Station == s.ID && h.Purpose == "centre" && h.Layer == s.layerName(len(s.mid)) && h.Drill != nil {
				play = h.Drill.Diameter
			}
		}
		play -= s.stud.Shank.Nom + s.stud.Shank.Tol
	}
	if w := min(s.rec.Slot, s.rec.WireFloat); w > 0 {
		play = min(play, w)
	}
	return play + s.plate.Float
}

// throw draws one panel and looks for a place where every stud is in its hole: from hole to hole, each time moved and turned
// just far enough for the one that is farthest out.
func (j *judge) throw(rng *rand.Rand, zone float64, clear []float64) bool {
	n := len(j.pan.Stations)
	if slices.Min(clear) < 0 {
		return false
	}
	disc := func() plane.Point {
		r := zone / 2 * math.Sqrt(rng.Float64())
		a := 2 * math.Pi * rng.Float64()
		return plane.Point{X: r * math.Cos(a), Y: r * math.Sin(a)}
	}
	var mid plane.Point
	for _, st := range j.pan.Stations {
		mid = mid.Add(st.At.Scale(1 / float64(n)))
	}
	size := 1.0
	for _, st := range j.pan.Stations {
		size = math.Max(size, st.At.Dist(mid))
	}
	off, arm := make([]plane.Point, n), make([]plane.Point, n)
	for i, st := range j.pan.Stations {
		off[i] = disc().Sub(disc())
		q := st.At.Sub(mid).Scale(1 / size)
		arm[i] = plane.Point{X: -q.Y, Y: q.X}
	}
	var move plane.Point
	turn := 0.0
	for range 2000 {
		worst, out := -1, 0.0
		var dir plane.Point
		for i := range off {
			r := off[i].Add(move).Add(arm[i].Scale(turn))
			if x := r.Len() - clear[i]/2; x > out+1e-12 {
				worst, out, dir = i, x, r.Scale(1/r.Len())
			}
		}
		if worst < 0 {
			return true
		}
		a := dir.X*arm[worst].X + dir.Y*arm[worst].Y
		f := -1.05 * out / (1 + a*a) // a little further than just in, so that it ends
		move = move.Add(dir.Scale(f))
		turn += f * a
	}
	return false
}
