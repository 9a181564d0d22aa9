package detail

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// Sizes that no part states; common practice, no source.
const (
	jointWasherRatio = 2.5 // outside diameter of a backing washer over the rivet's
	jointTailSlack   = 0.3 // mm, how much wider than the set tail its countersink is cut
	jointTailDeg     = 90  // included angle of a tail's countersink where neither part nor rivet states one
)

// jointLayer is one layer at a station with its part in the joint: "outer", "between" or "inner".
type jointLayer struct {
	*job.Layer
	role string
}

// jointLayers lists the layers at a station from the outside inwards. A support's own layers replace the panel's.
func jointLayers(pan *setout.Panel, st *setout.Station) []jointLayer {
	out := []jointLayer{{&pan.Job.Outer, "outer"}}
	between, inner := pan.Job.Between, &pan.Job.Inner
	if s := st.Support; s != nil {
		if s.Between != nil {
			between = s.Between
		}
		if s.Inner != nil {
			inner = s.Inner
		}
	}
	for i := range between {
		out = append(out, jointLayer{&between[i], "between"})
	}
	return append(out, jointLayer{inner, "inner"})
}

// jointName is the layer's name as the schedule prints it.
func (l jointLayer) jointName() string {
	if l.Name != "" {
		return l.Name
	}
	return l.role
}

// jointSite is what the rule for one station needs to know.
type jointSite struct {
	job          *job.Job
	pan          *setout.Panel
	st           *setout.Station
	c            *setout.Choice
	outer, inner jointLayer
	between      []jointLayer
	gap          float64 // room between outer and inner, mm, all layers between
	zone, play   float64
}

func jointSiteOf(j *job.Job, pan *setout.Panel, st *setout.Station) jointSite {
	l := jointLayers(pan, st)
	s := jointSite{job: j, pan: pan, st: st, c: st.Choice, outer: l[0], inner: l[len(l)-1], between: l[1 : len(l)-1]}
	for _, b := range s.between {
		s.gap += b.Thickness.Nom
	}
	s.zone, _ = dropOnZone(j)
	switch rc := s.c.Receptacle; {
	case rc.Mount != stock.Behind: // no hole locates: the stud wanders with the wire in its slot
		s.play = math.Min(rc.Slot, rc.WireFloat)
	case rc.CentreHole.Nom > 0:
		s.play = math.Max(0, rc.CentreHole.Nom-s.c.Stud.Shank.Nom)
	}
	s.play += s.c.Plate.Float
	return s
}

// jointsAt says how the plate and the receptacle of a station are riveted: head, tail, grip and what becomes of the tail.
func jointsAt(j *job.Job, pan *setout.Panel, st *setout.Station) []setout.RivetJoint {
	if st.Choice == nil || st.Choice.Plate == nil || st.Choice.Receptacle == nil || st.Choice.Stud == nil {
		return nil
	}
	s := jointSiteOf(j, pan, st)
	var out []setout.RivetJoint
	if r := s.c.PlateRivet; r != nil && s.c.Plate.Face != stock.PlateNone {
		if s.c.Plate.Face == stock.PlateBehind {
			out = append(out, s.plateBehind(r))
		} else {
			out = append(out, s.plateOutside(r))
		}
	}
	if r := s.c.ReceptacleRivet; r != nil && s.c.Receptacle.Fixing == stock.Riveted {
		if s.c.Receptacle.Mount == stock.Behind {
			out = append(out, s.receptacleBehind(r))
		} else {
			out = append(out, s.receptacleFront(r))
		}
	}
	return out
}

// plateOutside joins plate and outer panel: the head lies on the plate, so the tail comes out on the face that meets the
// inner panel.
func (s jointSite) plateOutside(r *stock.Rivet) setout.RivetJoint {
	t := s.outer.Thickness.Nom
	jt := setout.RivetJoint{Station: s.st.ID, Part: "plate", Rivet: r, Joins: []string{"plate", "outer"}, Grip: s.c.Plate.Thickness + t,
		HeadOn: "plate front", TailOn: "outer back", TailLayer: "outer"}
	s.washer(&jt, s.outer)
	s.tailOnMeetingFace(&jt, s.outer, "back", s.c.Plate.CountersinkDeg, s.c.Plate.Rivets)
	if jt.TailTreatment == setout.TailReversed {
		jt.Joins, jt.HeadOn, jt.TailOn, jt.TailLayer = []string{"outer", "plate"}, "outer back", "plate front", "plate"
	}
	return jt
}

// plateBehind hangs the plate under the outer panel: the head is outside, the tail lies on the plate's back, over the gap.
func (s jointSite) plateBehind(r *stock.Rivet) setout.RivetJoint {
	t := s.outer.Thickness.Nom
	jt := setout.RivetJoint{Station: s.st.ID, Part: "plate", Rivet: r, Joins: []string{"outer", "plate"}, Grip: t + s.c.Plate.Thickness,
		HeadOn: "outer front", TailOn: "plate back", TailLayer: "plate", TailTreatment: setout.TailPlain}
	if r.Head == "countersunk" {
		jointSinkInto(&jt, s.outer, jointHeadSink(r, "front"), nil)
	}
	room := s.gap - s.c.Plate.Thickness
	d := r.TailDiameter + 2*s.zone + s.play
	switch {
	case room >= r.TailLength:
		jt.Reason = fmt.Sprintf("the gap of %.2f mm takes the plate and the tail", s.gap)
	case s.reliefFits(d, r.TailLength-room, s.c.Plate.Rivets):
		jt.TailTreatment, jt.Relief = setout.TailReliefInner, d
		jt.Reason = "the tail reaches past the gap, so the inner panel is relieved for it"
	default:
		jt.Trouble = fmt.Sprintf("the tail reaches %.2f mm past the gap behind the plate and no relief hole fits beside the inner panel's own holes; a spacer of that thickness between the panels cures it", r.TailLength-room)
	}
	return jt
}

// receptacleBehind joins the inner panel and the receptacle's foot behind it.
func (s jointSite) receptacleBehind(r *stock.Rivet) setout.RivetJoint {
	rc := s.c.Receptacle
	joins := []string{"inner"}
	if s.st.Shims > 0 {
		joins = append(joins, "shim")
	}
	joins = append(joins, "receptacle foot")
	jt := setout.RivetJoint{Station: s.st.ID, Part: "receptacle", Rivet: r, Joins: joins,
		Grip:   s.inner.Thickness.Nom + s.shims() + rc.FootThickness,
		HeadOn: "inner front", TailOn: "receptacle back", TailLayer: "receptacle foot", TailTreatment: setout.TailPlain}
	switch {
	case r.Head == "countersunk":
		jointSinkInto(&jt, s.inner, jointHeadSink(r, "front"), nil)
		jt.Reason = "the head is countersunk into the meeting face, the tail is free behind the receptacle"
	case s.gap >= r.HeadHeight && s.gap > 0:
		jt.Relief, jt.HeadRelief = r.HeadDiameter+2*s.zone+s.play, true
		jt.TailTreatment = setout.TailPlain
		jt.Reason = "the layers between are cut out over the head; the tail is free behind the receptacle"
	default:
		jt.Joins = jointTurned(joins)
		jt.HeadOn, jt.TailOn, jt.TailLayer = "receptacle back", "inner front", "inner"
		s.tailSpread(&jt, s.inner, "front", rc.CountersinkDeg)
	}
	return jt
}

// receptacleFront joins the receptacle's foot and the bracket or tube behind it; the tail is out of the way of the panels.
func (s jointSite) receptacleFront(r *stock.Rivet) setout.RivetJoint {
	joins := []string{"receptacle foot", "inner"}
	if s.st.Shims > 0 {
		joins = []string{"receptacle foot", "shim", "inner"}
	}
	jt := setout.RivetJoint{Station: s.st.ID, Part: "receptacle", Rivet: r, Joins: joins,
		Grip:   s.c.Receptacle.FootThickness + s.shims() + s.inner.Thickness.Nom,
		HeadOn: "receptacle front", TailOn: "inner back", TailLayer: "inner", TailTreatment: setout.TailPlain,
		Reason: "the tail is free behind the support"}
	s.washer(&jt, s.inner)
	if jt.WasherDiameter > 0 {
		jt.TailTreatment = setout.TailWasher
		jt.Reason = "a tail that bears on laminate gets a backing washer"
	}
	return jt
}

func (s jointSite) shims() float64 {
	if s.c.Shim == nil {
		return 0
	}
	return float64(s.st.Shims) * s.c.Shim.Thickness.Nom
}

// washer puts a backing washer under a tail that bears on laminate.
func (s jointSite) washer(jt *setout.RivetJoint, under jointLayer) {
	if under.Material == nil || !under.Material.Family.Laminate() {
		return
	}
	jt.TailOnLaminate = true
	jt.WasherDiameter = math.Max(jointWasherRatio*jt.Rivet.Diameter, jt.Rivet.TailDiameter)
	jt.WasherThickness = setout.WasherThickness
	jt.Grip += jt.WasherThickness
}

// tailOnMeetingFace decides what becomes of a tail that comes out between the panels, by this rule, the first that serves:
// the gap is deep enough; the layers between are cut out over it; a relief hole in the inner panel; the tail spread into a
// countersink; the rivet reversed, its head countersunk into the meeting face.
func (s jointSite) tailOnMeetingFace(jt *setout.RivetJoint, in jointLayer, face string, angle float64, pattern []stock.Hole) {
	r := jt.Rivet
	tall := r.TailLength + jt.WasherThickness
	wide := math.Max(r.TailDiameter, jt.WasherDiameter) + 2*s.zone + s.play
	open := 0.0 // clear air next to the tail's face
	for _, b := range s.between {
		if b.Material != nil {
			break
		}
		open += b.Thickness.Nom
	}
	switch {
	case open >= tall:
		jt.TailTreatment, jt.Reason = setout.TailPlain, fmt.Sprintf("the gap of %.2f mm takes the tail", open)
		if jt.WasherDiameter > 0 {
			jt.TailTreatment, jt.Reason = setout.TailWasher, jt.Reason+"; it bears on laminate, so a washer goes under it"
		}
	case s.gap >= tall:
		jt.TailTreatment, jt.Relief = setout.TailReliefBetween, wide
		jt.Reason = fmt.Sprintf("the layers between, %.2f mm thick, are cut out over the tail", s.gap)
	case s.reliefFits(wide, tall-s.gap, pattern):
		jt.TailTreatment, jt.Relief = setout.TailReliefInner, wide
		jt.Reason = "the tail stands proud on a meeting face, and the inner panel has room for a relief hole"
	default:
		s.tailSpread(jt, in, face, angle)
	}
}

// TailSpread spreads the tail into a countersink in the layer, or else reverses the rivet, or else says that nothing serves.
func (s jointSite) tailSpread(jt *setout.RivetJoint, in jointLayer, face string, angle float64) {
	r, t := jt.Rivet, in.Thickness.Nom
	if angle == 0 {
		angle = r.CountersinkDeg
	}
	if angle == 0 {
		angle = jointTailDeg
	}
	sink := jointSink(face, angle, r.TailDiameter+jointTailSlack, r.HoleMin, "set tail")
	jt.TailOnLaminate = in.Material != nil && in.Material.Family.Laminate()
	if jt.WasherThickness > 0 { // no washer goes into a countersink
		jt.Grip -= jt.WasherThickness
		jt.WasherDiameter, jt.WasherThickness = 0, 0
	}
	if sink.Depth <= setout.SinkShareMax*t {
		jt.TailTreatment = setout.TailSpread
		jointSinkInto(jt, in, nil, sink)
		jt.Reason = "no relief hole fits, so the set tail is spread into a countersink and ends below flush"
		return
	}
	head := jointHeadSink(r, face)
	if head != nil && head.Depth <= setout.SinkShareMax*t {
		jt.TailTreatment, jt.TailOnLaminate = setout.TailReversed, false
		jointSinkInto(jt, in, head, nil)
		jt.Reason = "neither a relief hole nor a tail's countersink fits, so the head is countersunk into the meeting face"
		return
	}
	jt.TailTreatment = setout.TailSpread
	jointSinkInto(jt, in, nil, sink)
	jt.Trouble = fmt.Sprintf("the tail lies on a meeting face and no relief hole fits; its countersink would be %.2f mm deep in %.2f mm of %s; a layer of at least %.1f mm, or a countersunk rivet of smaller head, cures it",
		sink.Depth, t, in.jointName(), math.Ceil(sink.Depth/setout.SinkShareMax*10)/10)
}

// reliefFits says whether a relief hole of diameter d, through which a tail still reaches by deep, can be cut into the inner
// panel at every place of the pattern: a sheet, not a tube; clear of its own holes by a rivet's diameter; the tail neither
// longer than the sheet is thick where the receptacle's foot lies behind.
func (s jointSite) reliefFits(d, deep float64, pattern []stock.Hole) bool {
	if s.st.Support != nil && s.st.Support.Weld || s.inner.Material == nil || s.c.Receptacle.Mount == stock.FrontUnderPanel {
		return false
	}
	rc := s.c.Receptacle
	for _, h := range pattern {
		clear := h.At.Len() - d/2 - rc.CentreHole.Nom/2
		if rc.Fixing == stock.Riveted {
			for _, q := range rc.Rivets {
				clear = math.Min(clear, h.At.Dist(q.At)-d/2-q.Diameter/2)
			}
		}
		if clear < jointLigament(s.c) {
			return false
		}
		under := math.Abs(h.At.X) < rc.Length/2+d/2 && math.Abs(h.At.Y) < rc.Width/2+d/2
		if rc.Mount == stock.Behind && under && deep > s.inner.Thickness.Nom {
			return false
		}
	}
	return true
}

// jointLigament is the least metal between a relief hole and a neighbour: one rivet diameter (common practice, no source).
func jointLigament(c *setout.Choice) float64 {
	d := 0.0
	for _, r := range []*stock.Rivet{c.PlateRivet, c.ReceptacleRivet} {
		if r != nil {
			d = math.Max(d, r.Diameter)
		}
	}
	return d
}

func jointSinkInto(jt *setout.RivetJoint, in jointLayer, head, tail *setout.Countersink) {
	jt.HeadSink, jt.TailSink, jt.SinkLayer, jt.SinkLayerThick = head, tail, in.jointName(), in.Thickness.Nom
	for _, k := range []*setout.Countersink{head, tail} {
		if k != nil {
			k.Knife = k.Depth >= in.Thickness.Nom
		}
	}
}

// jointHeadSink is the seat of a countersunk head, nil for a dome.
func jointHeadSink(r *stock.Rivet, face string) *setout.Countersink {
	if r.Head != "countersunk" || r.CountersinkDeg <= 0 {
		return nil
	}
	return jointSink(face, r.CountersinkDeg, r.HeadDiameter, r.HoleMin, "rivet head")
}

// jointSink returns a countersink of surface diameter D in a hole of diameter d: its depth below the surface is
// h = (D − d)/(2·tan(A/2)).
func jointSink(face string, angleDeg, surface, hole float64, purpose string) *setout.Countersink {
	return &setout.Countersink{Face: face, AngleDeg: angleDeg, Diameter: surface, Depth: setout.SinkDepth(surface, hole, angleDeg), Purpose: purpose}
}

func jointTurned(s []string) []string {
	out := make([]string, len(s))
	for i, v := range s {
		out[len(s)-1-i] = v
	}
	return out
}
