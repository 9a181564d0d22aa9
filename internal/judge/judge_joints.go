package judge

import (
	"math"
	"slices"
	"strings"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// placeClaim covers where the station stands, its holes, and the room about it.
func (j *judge) placeClaim(s *judged, k setout.Check) (judgeClaim, bool) {
	cond := &j.plan.Job.Conditions
	wide := math.Max(s.plate.Width, s.rec.Width)
	long := max(s.plate.Length, s.rec.Length, wide)
	switch k.ID {
	case "edge-distance":
		d := j.clear(s.At)
		return judgeLeast(judgeSpan{d - judgeGap, d + judgeGap}, math.Max(wide/2, j.pan.Job.Limits.EdgeDistance.Value)), true
	case "parts-on-panel":
		d := s.along(long-wide, j.clear)
		return judgeLeast(judgeSpan{d - judgeGap, d + judgeGap}, wide/2), true
	case "keep-out":
		// The name of the keep-out ends the check's: of several, each has its own check.
		for i := range j.pan.Job.KeepOuts {
			ko := &j.pan.Job.KeepOuts[i]
			if ko.Name == "" || !strings.HasSuffix(k.Name, ko.Name) {
				continue
			}
			d := s.along(long-wide, func(q plane.Point) float64 {
				if judgeInside(ko.Region, q) {
					return -judgeNear(ko.Region, q)
				}
				return judgeNear(ko.Region, q)
			})
			return judgeLeast(judgeSpan{d - judgeGap, d + judgeGap}, wide/2), true
		}
		return judgeLeast(judgeAt(k.Value), wide/2), true
	case "drills":
		ok := !slices.ContainsFunc(j.pan.Holes, func(h setout.Hole) bool {
			return h.Station == s.ID && h.Drill == nil && h.Purpose != "cut-out" && h.Tool != "hole punch"
		})
		return judgeYes(ok), true
	case "outer-hole", "stud-through", "locating-hole", "centre-countersink-depth":
		return j.holeClaim(s, k.ID), true
	case "galvanic":
		return j.galvanic(s), true
	case "thermal-growth":
		a, b := s.front.Material, s.back.Material
		play := j.wander(s)
		mid, ok := j.pan.Job.Outline.Centroid()
		if a == nil || b == nil || a.CTE == 0 || b.CTE == 0 || math.IsInf(play, 1) || !ok {
			return judgeNot, true
		}
		heat := max(cond.TempMax.Value-cond.TempFit.Value, cond.TempFit.Value-cond.TempMax.Value, cond.TempMin.Value-cond.TempFit.Value, cond.TempFit.Value-cond.TempMin.Value)
		return judgeMost(judgeAt(math.Abs(a.CTE-b.CTE)*heat*math.Hypot(mid.X-s.At.X, mid.Y-s.At.Y)), play/2), true
	}
	return j.roomClaim(s, k)
}

// roomClaim covers the room behind, beside, outside and between.
func (j *judge) roomClaim(s *judged, k setout.Check) (judgeClaim, bool) {
	switch k.ID {
	case "room-behind":
		t := 0.0
		for _, l := range s.stack {
			t += l.Thickness.Nom
		}
		if s.measured != nil {
			t = s.measured.Nom
		}
		need, body := s.stud.Reach.Nom+s.stud.EndBeyondWire-t, s.rec.Height
		if s.rec.Mount == stock.Behind {
			body += s.shimPile()
		} else if s.rec.Mount == stock.FrontBesideSeat {
			body -= s.shimPile()
		}
		need = math.Max(need, body)
		if s.Support == nil {
			return judgeNot, true
		}
		return judgeMost(judgeAt(need), s.Support.Room).needs(s.Support.Room), true
	case "body-room":
		return judgeNot, s.hangsFree()
	case "head-height":
		return judgeYes(k.NoNumber), true
	case "room-beside":
		need := math.Max(s.plate.Width, s.rec.Width) / 2
		for _, q := range []struct {
			r     *stock.Rivet
			holes []stock.Hole
			there bool
		}{{s.Choice.PlateRivet, s.plate.Rivets, s.plate.Face != stock.PlateNone}, {s.Choice.ReceptacleRivet, s.rec.Rivets, s.rec.Fixing == stock.Riveted}} {
			for _, h := range q.holes {
				if q.r != nil && q.there {
					need = math.Max(need, math.Abs(h.At.Y)+q.r.NoseDiameter/2)
				}
			}
		}
		if s.Support == nil {
			return judgeNot, true
		}
		return judgeMost(judgeAt(need), s.Support.Upstand).needs(s.Support.Upstand), true
	case "foot-room":
		if s.rec.Mount != stock.FrontBesideSeat {
			return judgeYes(true), true
		}
		return judgeLeast(judgeAt(s.gap), s.rec.FootThickness), true
	case "plate-room":
		if s.plate.Face != stock.PlateBehind {
			return judgeYes(true), true
		}
		return judgeLeast(judgeAt(s.gap), s.plate.Thickness), true
	}
	return judgeNot, false
}

// hangsFree says whether the receptacle is in front and states no hole for its body.
func (s *judged) hangsFree() bool { return s.rec.Mount != stock.Behind && s.rec.CentreHole.Nom <= 0 }

// along is the least of a distance along the middle line of the parts.
func (s *judged) along(length float64, far func(plane.Point) float64) float64 {
	least := math.Inf(1)
	for _, f := range []float64{-0.5, -0.375, -0.25, -0.125, 0, 0.125, 0.25, 0.375, 0.5} {
		least = math.Min(least, far(s.at(plane.Point{X: f * length})))
	}
	return least
}

// holeClaim covers what goes through the centre holes.
func (j *judge) holeClaim(s *judged, id string) judgeClaim {
	layer := s.layerName(-1)
	if id == "stud-through" || id == "locating-hole" {
		layer = s.layerName(len(s.mid))
	}
	for _, h := range j.pan.Holes {
		if h.Station != s.ID || h.Layer != layer || h.Purpose != "centre" {
			continue
		}
		d := h.Wanted
		if h.Drill != nil {
			d = h.Drill.Diameter
		}
		stud := s.stud.Shank.Nom + s.stud.Shank.Tol
		switch id {
		case "outer-hole":
			if s.plate.SleeveDiameter > 0 {
				stud = s.plate.SleeveDiameter
			}
			return judgeLeast(judgeAt(d), stud)
		case "stud-through":
			return judgeLeast(judgeAt(d), stud)
		case "locating-hole":
			return judgeMost(judgeAt(d-s.stud.Shank.Nom), j.plan.Job.Conditions.LocateExcessMax.Value)
		}
		deep := (s.plate.CentreCountersinkDiameter - d) / 2 / math.Tan(s.plate.CentreCountersinkDeg*math.Pi/360)
		return judgeMost(judgeAt(math.Max(0, deep)), s.front.Thickness.Nom)
	}
	return judgeNot
}

// jointClaim covers the rivets of plate and receptacle: layout, countersinks, grip, tails.
func (j *judge) jointClaim(s *judged, k setout.Check) (judgeClaim, bool) {
	part, what, ok := strings.Cut(k.ID, "-")
	if !ok || part != "plate" && part != "receptacle" {
		return judgeNot, false
	}
	i := slices.IndexFunc(j.pan.Joins, func(jt setout.RivetJoint) bool { return jt.Station == s.ID && jt.Part == part })
	if i < 0 {
		return judgeNot, false
	}
	jt := &j.pan.Joins[i]
	r, holes, angle := s.Choice.PlateRivet, s.plate.Rivets, s.plate.CountersinkDeg
	if part == "receptacle" {
		r, holes, angle = s.Choice.ReceptacleRivet, s.rec.Rivets, s.rec.CountersinkDeg
	}
	switch what {
	case "rivet-edge":
		return j.rivetEdge(s, part, r, holes), true
	case "rivet-pitch":
		return judgeLeast(judgeAt(j.rivetPitch(s, part, holes)), 3*r.Diameter), true
	case "ligament":
		if len(holes) == 0 {
			return judgeNot, true
		}
		return judgeLeast(judgeAt(j.ligament(s, part, holes)), 0), true
	case "countersink-angle":
		switch onPart := strings.HasPrefix(jt.HeadOn, part); {
		case r.Head == "countersunk" && r.CountersinkDeg <= 0:
			return judgeNot, true
		case r.Head == "countersunk" && angle > 0:
			return judgeYes(math.Abs(angle-r.CountersinkDeg) < 0.5), true
		case r.Head == "countersunk":
			return judgeYes(!onPart), true
		default:
			return judgeYes(angle <= 0 || !onPart), true
		}
	case "countersink-depth":
		deep := 0.0
		if jt.HeadSink != nil {
			deep = (r.HeadDiameter - r.HoleMin) / 2 / math.Tan(r.CountersinkDeg*math.Pi/360)
		}
		if t := jt.TailSink; t != nil {
			deep = math.Max(deep, (t.Diameter-r.HoleMin)/2/math.Tan(t.AngleDeg*math.Pi/360))
		}
		in := s.front.Thickness.Nom
		if part == "receptacle" {
			in = s.back.Thickness.Nom
		}
		return judgeMost(judgeAt(deep), in), true
	case "rivet-grip":
		return s.gripClaim(part, jt.WasherThickness, r), true
	case "rivet-tail":
		return s.tailClaim(jt), true
	}
	return judgeNot, false
}

// gripClaim: what is joined, at its thinnest and its thickest, lies within what the rivet grips.
func (s *judged) gripClaim(part string, washer float64, r *stock.Rivet) judgeClaim {
	sheet, rest, loose := s.front.Thickness, s.plate.Thickness+washer, 0.0
	if part == "receptacle" {
		sheet, rest = s.back.Thickness, s.shimPile()+s.rec.FootThickness+washer
		if s.Choice.Shim != nil {
			loose = float64(s.Shims) * s.Choice.Shim.Thickness.Tol
		}
	}
	loose += sheet.Half + 2*sheet.StdUnc
	thin, thick := sheet.Nom+rest-loose, sheet.Nom+rest+loose
	serves := sheet.Nom+rest >= r.GripMin-judgeTol && sheet.Nom+rest <= r.GripMax+judgeTol
	c := judgeMost(judgeAt(thick), r.GripMax)
	if thin < r.GripMin-judgeTol {
		c = judgeLeast(judgeAt(thin), r.GripMin)
	}
	if v, _ := c.verdict(); v == setout.DoesNotHold && serves && sheet.Assumed {
		return judgeNot // no spread was stated: the rivet serves the nominal joint, and more is not known
	}
	return c.needs(r.GripMax)
}

// tailClaim: a tail that nothing takes does not hold; one spread into bare laminate is not known.
func (s *judged) tailClaim(jt *setout.RivetJoint) judgeClaim {
	on := s.front
	if strings.HasPrefix(jt.TailOn, "inner") {
		on = s.back
	}
	sheet := strings.HasPrefix(jt.TailOn, "inner") || strings.HasPrefix(jt.TailOn, "outer")
	fibre := on.Material != nil && (on.Material.Family == stock.GlassFibre || on.Material.Family == stock.CarbonFibre)
	if jt.TailSink != nil && jt.TailSink.Depth > on.Thickness.Nom*2/3+judgeTol || jt.Trouble != "" {
		return judgeYes(false)
	}
	if sheet && fibre && jt.WasherDiameter == 0 {
		return judgeNot
	}
	return judgeYes(true)
}

func (j *judge) rivetEdge(s *judged, part string, r *stock.Rivet, holes []stock.Hole) judgeClaim {
	d := math.Inf(1)
	for _, h := range holes {
		q := s.at(h.At)
		edge := j.clear(q)
		d = math.Min(d, edge)
		if sup := s.Support; part == "receptacle" && sup != nil {
			if sup.Width <= 0 {
				return judgeNot
			}
			if sup.Kind == "rib" && len(sup.Line.V) > 1 {
				d = math.Min(d, judgeRib(sup.Line, sup.Width, q))
			} else {
				d = math.Min(d, sup.Width-edge)
			}
		}
	}
	if len(holes) == 0 {
		return judgeNot
	}
	want := 2 * r.Diameter
	if r.Head == "countersunk" {
		want = 2.5 * r.Diameter
	}
	return judgeLeast(judgeSpan{d - judgeGap, d + judgeGap}, want)
}

// judgeRib is the distance of q from the edges of a rib that ends square: inside it, the least of the way to a side and to an
// end; past an end, minus the way back.
func judgeRib(line plane.Path, width float64, q plane.Point) float64 {
	where, dist := judgeFoot(line, q)
	total := line.Length()
	back := math.Min(where, total-where)
	if back < 1e-3 { // at an end: the part of the distance along the line is past it, the rest is sideways
		from, to := line.At(0), line.At(judgeTol*total)
		if where > total/2 {
			from, to = line.At(total), line.At(total*(1-judgeTol))
		}
		v, w := q.Sub(from), to.Sub(from).Unit()
		back = v.X*w.X + v.Y*w.Y
		dist = math.Sqrt(math.Max(0, dist*dist-back*back))
	}
	return math.Min(width/2-dist, back)
}

func (j *judge) rivetPitch(s *judged, part string, holes []stock.Hole) float64 {
	d := math.Inf(1)
	for _, other := range j.pan.Stations {
		if other == s.Station {
			continue
		}
		o := j.look(other)
		if o.stud == nil || part == "receptacle" && o.rec.Fixing != stock.Riveted {
			continue
		}
		theirs := o.plate.Rivets
		if part == "receptacle" {
			theirs = o.rec.Rivets
		}
		for _, a := range holes {
			for _, b := range theirs {
				p, q := s.at(a.At), o.at(b.At)
				d = math.Min(d, math.Hypot(p.X-q.X, p.Y-q.Y))
			}
		}
	}
	return d
}

func (j *judge) ligament(s *judged, part string, holes []stock.Hole) float64 {
	layer := s.layerName(-1)
	if part == "receptacle" {
		layer = s.layerName(len(s.mid))
	}
	wide := map[string]float64{}
	for _, h := range j.pan.Holes {
		if h.Station != s.ID || h.Layer != layer {
			continue
		}
		d, key := h.Wanted, h.Purpose
		if h.Drill != nil {
			d = h.Drill.Diameter
		}
		if h.Countersink != nil {
			d = math.Max(d, h.Countersink.Diameter)
		}
		switch key {
		case "rivet tail countersink":
			key = part + " rivet"
		case "receptacle body":
			key = "centre"
		}
		wide[key] = math.Max(wide[key], d)
	}
	least := math.Inf(1)
	for _, h := range holes {
		least = math.Min(least, math.Hypot(h.At.X, h.At.Y)-wide["centre"]/2-wide[part+" rivet"]/2)
	}
	return least
}

// galvanic walks the station from outside to inside and looks for bare metals and carbon that touch and differ too much; the
// plan may say that such a couple holds only if it names what keeps them apart.
func (j *judge) galvanic(s *judged) judgeClaim {
	table := j.plan.Job.Materials
	row := []*stock.Material{}
	known := true
	named := func(id string) *stock.Material {
		m := table[id]
		if m == nil && id != "" {
			known = false
		}
		return m
	}
	plate, rec := named(s.plate.Material), named(s.rec.Material)
	row = append(row, plate, s.front.Material)
	if s.plate.Face == stock.PlateBehind {
		row = []*stock.Material{s.front.Material, plate}
	}
	for _, l := range s.mid {
		row = append(row, l.Material)
	}
	if s.rec.Mount == stock.Behind {
		row = append(row, s.back.Material, rec)
	} else {
		row = append(row, rec, s.back.Material)
	}
	worst, any := 0.0, false
	touch := func(a, b *stock.Material) {
		for _, m := range []*stock.Material{a, b} {
			if m == nil || m.Family != stock.CarbonFibre && !m.Family.Metal() {
				return
			}
		}
		if a.Galvanic < 0 || b.Galvanic < 0 {
			known = false
			return
		}
		any = true
		worst = math.Max(worst, math.Abs(a.Galvanic-b.Galvanic))
	}
	for i := range row[1:] {
		touch(row[i], row[i+1])
	}
	for _, jt := range j.pan.Joins {
		if jt.Station != s.ID || jt.Rivet == nil {
			continue
		}
		m := named(jt.Rivet.Material)
		if jt.Part == "plate" {
			touch(m, s.front.Material)
			touch(m, plate)
		} else {
			touch(m, s.back.Material)
			touch(m, rec)
		}
	}
	switch {
	case !known:
		return judgeNot
	case !any:
		return judgeYes(true)
	case worst > 0.25+judgeTol:
		said := slices.ContainsFunc(s.Checks, func(k setout.Check) bool {
			return k.ID == "galvanic" && k.NoNumber && k.Cure != "" && strings.Contains(k.Basis, "bare it does not hold")
		})
		return judgeYes(said)
	}
	return judgeMost(judgeAt(worst), 0.25)
}
