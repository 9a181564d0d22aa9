package detail

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// Rivets keep these distances, in diameters: from an edge by their heads (TM 10-5410-229-13&P p. 5-4; AC 43.13-1B 4-57; 2.5
// from study text), and from other rivets in a row (NAVEDTRA 14018). A washer's or tail's size does not enter.
const (
	rivetEdgeDome        = 2.0
	rivetEdgeCountersunk = 2.5
	rivetPitchLeast      = 3.0
)

// RivetEdgeDistance is the least distance (mm) of a rivet of diameter d (mm) from a sheet's edge, by its head.
func RivetEdgeDistance(d float64, countersunk bool) float64 {
	if countersunk {
		return rivetEdgeCountersunk * d
	}
	return rivetEdgeDome * d
}

// RivetPitch is the least distance (mm) between rivets of diameter d (mm) in a row.
func RivetPitch(d float64) float64 { return rivetPitchLeast * d }

func checkRivets(s *checkSite) []setout.Check {
	var out []setout.Check
	for i := range s.joins {
		jt := &s.joins[i]
		out = append(out, checkRivetEdge(s, jt), checkRivetPitch(s, jt), checkLigament(s, jt), checkAngle(s, jt))
		if jt.HeadSink != nil || jt.TailSink != nil {
			out = append(out, checkSinkDepth(jt))
		}
		out = append(out, checkGrip(s, jt), checkTail(jt))
	}
	return out
}

// checkPattern is where a part's rivets stand on the panel.
func checkPattern(st *setout.Station, part string) []plane.Point {
	pattern := st.Choice.Plate.Rivets
	if part == "receptacle" {
		pattern = st.Choice.Receptacle.Rivets
	}
	out := make([]plane.Point, len(pattern))
	for i, h := range pattern {
		out[i] = st.At.Add(h.At.Rotate(st.Dir))
	}
	return out
}

// checkRivetEdge is the distance of the rivets from the edge of the sheet that they pull on: the outline and the cut-outs, and
// for a rivet in the support also the support's other edge.
func checkRivetEdge(s *checkSite, jt *setout.RivetJoint) setout.Check {
	id, name := jt.Part+"-rivet-edge", "edge distance of the "+jt.Part+"'s rivets"
	value, missing := math.Inf(1), ""
	for _, at := range checkPattern(s.st, jt.Part) {
		value = math.Min(value, s.pan.Job.Outline.Distance(at))
		sup := s.st.Support
		if jt.Part != "receptacle" || sup == nil {
			continue
		}
		switch {
		case sup.Width <= 0:
			missing = fmt.Sprintf("the width of %s", sup.Name)
		case sup.Kind == "rib" && sup.Line.EdgeCount() > 0:
			value = math.Min(value, checkRibEdge(sup.Line, sup.Width, at))
		default:
			value = math.Min(value, sup.Width-s.pan.Job.Outline.Distance(at))
		}
	}
	d := jt.Rivet.Diameter
	limit := RivetEdgeDistance(d, jt.Rivet.Head == "countersunk")
	k := checkAtLeast(id, name, value, limit, "mm", fmt.Sprintf("%.1f D to the nearest edge (TM 10-5410-229-13&P p. 5-4; AC 43.13-1B 4-57; countersunk 2.5 D)", limit/d), setout.RestsRivetEdge)
	switch {
	case math.IsInf(value, 1):
		k.Value = math.NaN()
		return k.Missing("the hole pattern of the " + jt.Part)
	case missing != "":
		return k.Missing(missing)
	}
	return k.CuredBy("move the station %s from the edge, turn the rivet line, widen the support, or draw a rib on to where it ends", cureMM(limit-value))
}

// checkRibEdge is the distance of q from the edges of a rib: its sides lie half its width from its line, and it ends square
// where the line ends. Negative off the rib.
func checkRibEdge(line plane.Path, width float64, q plane.Point) float64 {
	total := line.Length()
	s, d, foot := line.Nearest(q)
	end := math.Min(s, total-s)
	if end > plane.EdgeTol {
		return math.Min(width/2-d, end)
	}
	along := line.Tangent(s)
	if s > total/2 {
		along = along.Scale(-1)
	}
	v := q.Sub(foot)
	return math.Min(width/2-math.Abs(v.Cross(along)), v.Dot(along))
}

// checkRivetPitch is the distance to the nearest rivet of another station in the same sheet. A part's own pattern is accepted
// as its maker drew it.
func checkRivetPitch(s *checkSite, jt *setout.RivetJoint) setout.Check {
	id, name := jt.Part+"-rivet-pitch", "pitch of the "+jt.Part+"'s rivets to other stations'"
	value, to := math.Inf(1), ""
	mine := checkPattern(s.st, jt.Part)
	for _, o := range s.pan.Stations {
		if o == s.st || o.Choice == nil || o.Choice.Plate == nil || o.Choice.Receptacle == nil || jt.Part == "receptacle" && o.Choice.Receptacle.Fixing != stock.Riveted {
			continue
		}
		for _, q := range checkPattern(o, jt.Part) {
			for _, p := range mine {
				if d := p.Dist(q); d < value {
					value, to = d, o.ID
				}
			}
		}
	}
	if to == "" {
		return checkYes(id, name, true, "no other station has rivets in this sheet")
	}
	basis := "3 D in a row (NAVEDTRA 14018)"
	basis += "; nearest: station " + to
	limit := RivetPitch(jt.Rivet.Diameter)
	k := checkAtLeast(id, name, value, limit, "mm", basis)
	return k.CuredBy("move station %s or %s apart by %s", s.st.ID, to, cureMM(limit-value))
}

// checkLigament reports the metal left between the centre hole, at its countersunk diameter, and the rivet holes.
func checkLigament(s *checkSite, jt *setout.RivetJoint) setout.Check {
	layer, pattern := s.outer.jointName(), s.c.Plate.Rivets
	purpose := setout.PurposePlateRivet
	if jt.Part == "receptacle" {
		layer, pattern, purpose = s.inner.jointName(), s.c.Receptacle.Rivets, setout.PurposeReceptacleRivet
	}
	centre, rivet := 0.0, 0.0
	for i := range s.pan.Holes {
		h := &s.pan.Holes[i]
		if h.Station != s.st.ID || h.Layer != layer {
			continue
		}
		d := holeDrilled(h)
		if h.Countersink != nil {
			d = math.Max(d, h.Countersink.Diameter)
		}
		switch h.Purpose {
		case setout.PurposeCentre, setout.PurposeBody:
			centre = math.Max(centre, d)
		case purpose, setout.PurposeTailCountersink:
			rivet = math.Max(rivet, d)
		}
	}
	value := math.Inf(1)
	for _, q := range pattern {
		value = math.Min(value, q.At.Len()-centre/2-rivet/2)
	}
	k := checkAtLeast(jt.Part+"-ligament", "sheet left between centre hole and "+jt.Part+"'s rivets", value, 0, "mm",
		"at the countersunk diameters; the part's own pattern is accepted as its maker drew it, so long as the holes do not run together")
	if len(pattern) == 0 {
		k.Value, k.Limit = math.NaN(), math.NaN()
		return k.Missing("the hole pattern of the " + jt.Part)
	}
	if value <= 0 {
		k.Verdict = setout.DoesNotHold
	}
	return k.CuredBy("the holes run together: a smaller centre hole or other rivets")
}

// checkAngle compares the included angle of the part's seats with the rivet's.
func checkAngle(s *checkSite, jt *setout.RivetJoint) setout.Check {
	part, id := s.c.Plate.CountersinkDeg, s.c.Plate.ID
	if jt.Part == "receptacle" {
		part, id = s.c.Receptacle.CountersinkDeg, s.c.Receptacle.ID
	}
	r := jt.Rivet
	sunk := r.Head == "countersunk"
	name := "countersink angle of the " + jt.Part
	k := checkYes(jt.Part+"-countersink-angle", name, true, "dome heads on flat faces: no countersink")
	headOnPart := jt.HeadOn == jt.Part+" front" || jt.HeadOn == jt.Part+" back"
	switch {
	case sunk && r.CountersinkDeg <= 0:
		return k.Missing(fmt.Sprintf("the countersink angle of %s", r.ID))
	case sunk && part > 0:
		ok := math.Abs(part-r.CountersinkDeg) < 0.5 // angles are stated in whole degrees
		k = checkYes(k.ID, name, ok, fmt.Sprintf("%s wants %.0f°, %s has %.0f°: the angles must be the same", id, part, r.ID, r.CountersinkDeg))
		return k.CuredBy("a countersunk rivet of %.0f°", part)
	case sunk && headOnPart:
		k = checkYes(k.ID, name, false, fmt.Sprintf("%s is countersunk, %s has no seats for it", r.ID, id))
		return k.CuredBy("a dome rivet, or a part with seats of %.0f°", r.CountersinkDeg)
	case sunk:
		k.Basis = fmt.Sprintf("the sheet is countersunk %.0f° for %s; the part has no seats of its own", r.CountersinkDeg, r.ID)
	case part > 0 && headOnPart:
		k = checkYes(k.ID, name, false, fmt.Sprintf("%s has seats of %.0f°, the dome head of %s bears on their rims only", id, part, r.ID))
		return k.CuredBy("a countersunk rivet of %.0f°", part)
	}
	return k
}

// checkSinkDepth compares the deeper countersink of a joint with its sheet: h < t, better h ≤ ⅔ t, or the edge becomes a
// knife edge (common joint-design rule, from memory).
func checkSinkDepth(jt *setout.RivetJoint) setout.Check {
	h := 0.0
	for _, k := range []*setout.Countersink{jt.HeadSink, jt.TailSink} {
		if k != nil {
			h = math.Max(h, k.Depth)
		}
	}
	k := sinkCheck(jt.Part+"-countersink-depth", "countersink depth for the "+jt.Part+"'s rivets", h, jt.SinkLayerThick)
	return k.CuredBy("a thicker %s, of more than %.2f mm, a rivet of smaller head, or a dimpled sheet", jt.SinkLayer, h)
}

func sinkCheck(id, name string, h, t float64) setout.Check {
	k := checkAtMost(id, name, h, t, "mm", "h = (D − d)/(2·tan(A/2)) below the sheet's thickness, or the edge becomes a knife edge (from memory)")
	if h >= t {
		k.Verdict = setout.DoesNotHold
	} else if h > setout.SinkShareMax*t {
		k.Basis += "; more than the ⅔ t that is better"
	}
	return k
}

// gripReadings is how many standard uncertainties a sheet of readings counts for, about 95 % (JCGM 100:2008 6.3.3).
const gripReadings = 2.0

// gripHalf is how far the joint may differ from its nominal grip: the limits of its sheet, and of the shims under a foot.
func gripHalf(s *checkSite, part string) float64 {
	t := s.outer.Thickness
	half := 0.0
	if part == "receptacle" {
		t = s.inner.Thickness
		if s.c.Shim != nil {
			half = float64(s.st.Shims) * s.c.Shim.Thickness.Tol
		}
	}
	return half + t.Half + gripReadings*t.StdUnc
}

// checkGrip holds the joint at its thin and thick ends against the rivet's range.
func checkGrip(s *checkSite, jt *setout.RivetJoint) setout.Check {
	r := jt.Rivet
	id, name := jt.Part+"-rivet-grip", "grip of the "+jt.Part+"'s rivets"
	half := gripHalf(s, jt.Part)
	thin, thick := jt.Grip-half, jt.Grip+half
	basis := fmt.Sprintf("layers joined, %.2f mm nominal, %.2f to %.2f mm at their limits; %s grips %.1f to %.1f mm", jt.Grip, thin, thick, r.ID, r.GripMin, r.GripMax)
	sheet := &s.outer
	if jt.Part == "receptacle" {
		sheet = &s.inner
	}
	k := checkAtMost(id, name, thick, r.GripMax, "mm", basis)
	if thin < r.GripMin-checkRounding {
		k = checkAtLeast(id, name, thin, r.GripMin, "mm", basis)
	}
	switch {
	case r.GripMax <= 0:
		return checkAtMost(id, name, jt.Grip, math.NaN(), "mm", basis).Missing(fmt.Sprintf("the grip range of %s", r.ID))
	case k.Verdict == setout.DoesNotHold && sheet.Thickness.Assumed && jt.Grip >= r.GripMin-checkRounding && jt.Grip <= r.GripMax+checkRounding:
		margin := k.Margin
		k = k.Missing(fmt.Sprintf("%s with its limits or readings: by the assumed spread the layers joined are %.2f to %.2f mm, and the rivet serves the nominal %.2f mm", sheet.jointName(), thin, thick, jt.Grip))
		k.Margin, k.Rests = margin, append(k.Rests, setout.RestsSpreadDefault)
		return k
	case k.AtLeast && thick > r.GripMax:
		return k.CuredBy("a rivet that grips %.2f to %.2f mm, or closer limits of the sheet", thin, thick)
	case k.AtLeast:
		return k.CuredBy("a shorter rivet, or closer limits of the sheet: the layers joined are %.2f to %.2f mm", thin, thick)
	}
	return k.CuredBy("a longer rivet, or closer limits of the sheet: the layers joined are %.2f to %.2f mm", thin, thick)
}

// checkTail says whether the rivet's head and tail have a place: on a meeting face, on laminate.
func checkTail(jt *setout.RivetJoint) setout.Check {
	k := checkYes(jt.Part+"-rivet-tail", "tail of the "+jt.Part+"'s rivets", jt.Trouble == "", fmt.Sprintf("head on %s, tail on %s: %s", jt.HeadOn, jt.TailOn, jt.TailTreatment), setout.RestsBlindTail)
	if jt.Reason != "" {
		k.Basis += "; " + jt.Reason
	}
	k.Cure = jt.Trouble
	if k.Verdict == setout.Holds && jt.TailOnLaminate && jt.WasherDiameter == 0 {
		k.Verdict = setout.NotKnown
		k.Cure = "a tail spread into laminate without a washer: no data says what it holds; set two in a piece of the same laminate and pull them"
	}
	return k
}
