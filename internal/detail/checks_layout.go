package detail

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// checkSpineSteps is into how many pieces the middle line of a part is cut when its clearance is measured.
const checkSpineSteps = 8

// checkEdge looks at where a station stands: its distance from the edges, its parts within the panel and clear of keep-outs.
func checkEdge(j *job.Job, pan *setout.Panel, st *setout.Station) []setout.Check {
	limit, basis := pan.Job.Limits.EdgeDistance.Value, "the panel's own limit"
	length, width := 0.0, 0.0
	if c := st.Choice; c != nil && c.Plate != nil && c.Receptacle != nil {
		width = math.Max(c.Plate.Width, c.Receptacle.Width)
		length = math.Max(math.Max(c.Plate.Length, c.Receptacle.Length), width)
	}
	if width/2 > limit {
		limit, basis = width/2, "half the width of the parts"
	}
	d := pan.Job.Outline.Distance(st.At)
	k := checkAtLeast("edge-distance", "edge distance", d, limit, "mm", "station to outline and cut-outs; "+basis, setout.RestsEdgeDistance)
	out := []setout.Check{k.CuredBy("move it %s inwards", cureMM(limit-d))}
	if width == 0 {
		return out
	}
	room := math.Inf(1)
	spine := checkSpine(st, length-width)
	for _, q := range spine {
		room = math.Min(room, pan.Job.Outline.Distance(q))
	}
	k = checkAtLeast("parts-on-panel", "parts within the panel", room, width/2, "mm", "from the middle line of plate and receptacle to outline and cut-outs; half their width")
	out = append(out, k.CuredBy("move it %s inwards, or turn the rivet line", cureMM(width/2-room)))
	for i := range pan.Job.KeepOuts {
		ko := &pan.Job.KeepOuts[i]
		room := math.Inf(1)
		for _, q := range spine {
			_, d, _ := ko.Region.Nearest(q)
			if ko.Region.Contains(q) != plane.Outside {
				d = -d
			}
			room = math.Min(room, d)
		}
		if room > 3*length {
			continue // far away: no line on the page for each keep-out
		}
		name := ko.Name
		if name == "" {
			name = fmt.Sprintf("keep-out %d", i+1)
		}
		k := checkAtLeast("keep-out", "clear of "+name, room, width/2, "mm", "from the middle line of plate and receptacle to the keep-out; half their width")
		out = append(out, k.CuredBy("move it %s away", cureMM(width/2-room)))
	}
	return out
}

// checkSpine is the middle line of the parts: the parts' outline is taken as what lies within half their width of it.
func checkSpine(st *setout.Station, length float64) []plane.Point {
	var out []plane.Point
	for i := 0; i <= checkSpineSteps; i++ {
		x := length * (float64(i)/checkSpineSteps - 0.5)
		out = append(out, st.At.Add(plane.Point{X: x}.Rotate(st.Dir)))
	}
	return out
}

// checkHoles looks at the holes: a drill for each, the sleeve and the stud through theirs, the centre's countersink.
func checkHoles(s *checkSite) []setout.Check {
	missing, n := "", 0
	var outer, inner *setout.Hole
	for i := range s.pan.Holes {
		h := &s.pan.Holes[i]
		if h.Station != s.st.ID {
			continue
		}
		if !h.Operation && !h.Cut {
			n++
		}
		if h.NoDrill != "" && missing == "" {
			missing = fmt.Sprintf("%s, %s: %s", h.Layer, h.Purpose, h.NoDrill)
		}
		if h.Purpose == setout.PurposeCentre && h.Layer == s.outer.jointName() && !h.Locates {
			outer = h
		}
		if h.Locates {
			inner = h
		}
	}
	k := checkYes("drills", "a drill for every hole", missing == "", fmt.Sprintf("the shop's own drills against the limits of %d holes", n), setout.RestsHoleFit)
	out := []setout.Check{k.CuredBy("%s", missing)}
	if outer != nil {
		through, what := s.c.Plate.SleeveDiameter, "the sleeve"
		if through <= 0 {
			through, what = s.c.Stud.Shank.Nom+s.c.Stud.Shank.Tol, "the stud"
		}
		k := checkAtLeast("outer-hole", "centre hole of the outer panel", holeDrilled(outer), through, "mm", what+" goes through it")
		out = append(out, k.CuredBy("a larger drill"))
		if sink := outer.Countersink; sink != nil {
			k := sinkCheck("centre-countersink-depth", "countersink depth of the centre hole", sink.Depth, s.outer.Thickness.Nom)
			out = append(out, k.CuredBy("a thicker outer panel, or a raised head"))
		}
	}
	if inner != nil {
		d, shank := holeDrilled(inner), s.c.Stud.Shank
		k := checkAtLeast("stud-through", "stud through the inner panel's hole", d, shank.Nom+shank.Tol, "mm", "the stud at its largest goes through it")
		out = append(out, k.CuredBy("a larger drill"))
		if x := s.job.Conditions.LocateExcessMax.Value; x > 0 {
			k = checkAtMost("locating-hole", "excess of the locating hole over the stud", d-shank.Nom, x, "mm", "this hole locates the panel", setout.RestsLocateExcess)
			out = append(out, k.CuredBy("a smaller drill"))
		}
	}
	return out
}

// checkRoom looks at the room behind, outside and beside the station.
func checkRoom(s *checkSite) []setout.Check {
	out := []setout.Check{s.roomBehind(), s.headHeight(), s.roomBeside(), s.plateRoom(), s.footRoom()}
	if rc := s.c.Receptacle; rc.Mount != stock.Behind && rc.CentreHole.Nom <= 0 {
		_, need := s.behind()
		out = append(out, checkUnknown("body-room", "room beside the support for body and stud", fmt.Sprintf("%s states no hole for its body, and no tube is drilled: body and stud reach %.1f mm past the mounting face", rc.ID, need),
			fmt.Sprintf("they must pass beside the tube: set the station so, %.1f mm wide at least, or state the centre hole of %s for a sheet", rc.Width, rc.ID)))
	}
	return out
}

// behind is how far the stud's end reaches past the mounting face, and how far the farthest of stud and receptacle does.
func (s *checkSite) behind() (end, need float64) {
	rc := s.c.Receptacle
	end = s.st.Close.R + s.c.Stud.EndBeyondWire - s.st.Stack.Nom
	body := rc.Height
	switch rc.Mount {
	case stock.Behind:
		body += s.shims()
	case stock.FrontBesideSeat:
		body -= s.shims()
	}
	return end, math.Max(end, body)
}

// roomBehind is what the receptacle and the stud's end need behind the mounting face.
func (s *checkSite) roomBehind() setout.Check {
	end, need := s.behind()
	room := 0.0
	if s.st.Support != nil {
		room = s.st.Support.Room
	}
	k := checkAtMost("room-behind", "room behind the mounting face", need, room, "mm", fmt.Sprintf("the stud's end reaches %.1f mm past the face; the receptacle needs its height", end))
	if room <= 0 {
		k.Limit = math.NaN()
		return k.Missing("the room behind the support")
	}
	return k.CuredBy("a shorter stud, a lower receptacle, or %s more room", cureMM(need-room))
}

// headHeight reports how far the parts stand proud outside.
func (s *checkSite) headHeight() setout.Check {
	h := s.c.Stud.HeadHeight
	if s.c.Plate.Face == stock.PlateOutside {
		h += s.c.Plate.Thickness
	}
	if s.c.Plate.Face == stock.PlateOutside || s.c.Plate.Face == stock.PlateBehind {
		if jt := s.join("plate"); jt != nil && jt.Rivet.Head != "countersunk" {
			base := 0.0
			if s.c.Plate.Face == stock.PlateOutside {
				base = s.c.Plate.Thickness
			}
			h = math.Max(h, base+jt.Rivet.HeadHeight)
		}
	}
	return checkYes("head-height", "height outside", true, fmt.Sprintf("plate, head and rivet heads stand %.1f mm above the outer face; no limit is asked for", h))
}

// roomBeside is the room beside an upstand for the parts and for the nose of the rivet tool.
func (s *checkSite) roomBeside() setout.Check {
	need, what := math.Max(s.c.Plate.Width, s.c.Receptacle.Width)/2, "the parts"
	for _, jt := range s.joins {
		pattern := s.c.Plate.Rivets
		if jt.Part == "receptacle" {
			pattern = s.c.Receptacle.Rivets
		}
		for _, q := range pattern {
			if n := math.Abs(q.At.Y) + jt.Rivet.NoseDiameter/2; n > need {
				need, what = n, "the rivet tool's nose"
			}
		}
	}
	up := 0.0
	if s.st.Support != nil {
		up = s.st.Support.Upstand
	}
	k := checkAtMost("room-beside", "room beside the upstand", need, up, "mm", what+" beside the nearest upstand; the drill's chuck needs a long drill where it is wider")
	if up <= 0 {
		k.Limit = math.NaN()
		return k.Missing("the distance of the nearest upstand from the seat line, if there is one")
	}
	return k.CuredBy("move the seat line %s from the upstand", cureMM(need-up))
}

// footRoom is the room for a receptacle's foot on the front of the support: the panel rests elsewhere, so the foot must fit
// into the layers between.
func (s *checkSite) footRoom() setout.Check {
	const id, name = "foot-room", "room for the receptacle's foot between the panels"
	if s.c.Receptacle.Mount != stock.FrontBesideSeat {
		return checkYes(id, name, true, "the foot does not hold the panels apart")
	}
	k := checkAtLeast(id, name, s.gap, s.c.Receptacle.FootThickness, "mm", "the layers between, cut out around the receptacle, are at least as thick as its foot")
	return k.CuredBy("a spacer of %s more between the panels", cureMM(s.c.Receptacle.FootThickness-s.gap))
}

// plateRoom is the room for a plate behind the outer panel: the layers between must take it, or it holds the panels apart.
func (s *checkSite) plateRoom() setout.Check {
	const id, name = "plate-room", "room for the plate between the panels"
	if s.c.Plate.Face != stock.PlateBehind {
		return checkYes(id, name, true, "the plate is not between the panels")
	}
	k := checkAtLeast(id, name, s.gap, s.c.Plate.Thickness, "mm", "the layers between, cut out around the plate, are at least as thick as it")
	return k.CuredBy("a spacer of %s between the panels, or a plate outside", cureMM(s.c.Plate.Thickness-s.gap))
}
