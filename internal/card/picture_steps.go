package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// picture is a drawing of one step, and what it says in words. PDF and page draw the same sheet.
type picture struct {
	sheet   sheet.Sheet
	label   string // for those who do not see it
	caption string
}

// pictureRoom is how far a picture shows bodies beyond the widest hole or head, mm.
const pictureRoom = 3.5

// pictures gathers a step's pictures: what would be drawn alike is drawn once, for all of its stations.
type pictures struct {
	w    *cardWork
	list []picture
	keys []string
	who  [][]*setout.Station
	what []string // caption without its stations
}

// add draws a picture unless one of the same states stands already; it is then for this station too.
func (ps *pictures) add(st *setout.Station, what, label string, states []workState, sizes []workSize) {
	key := fmt.Sprint(what, sizes)
	for _, s := range states {
		key += fmt.Sprint(s.title, s.half, s.bodies)
	}
	for i, k := range ps.keys {
		if k == key {
			if last := ps.who[i]; last[len(last)-1] != st {
				ps.who[i] = append(last, st)
			}
			return
		}
	}
	ps.keys = append(ps.keys, key)
	ps.who = append(ps.who, []*setout.Station{st})
	ps.what = append(ps.what, what)
	ps.list = append(ps.list, picture{sheet: drawStates(states, sizes), label: label})
}

// done gives the pictures, their stations in their captions: none where they are for all that the panel has.
func (ps *pictures) done() []picture {
	for i := range ps.list {
		words := ps.what[i]
		if len(ps.who[i]) < len(ps.w.panel.Stations) {
			words += fmt.Sprintf(" (station%s %s)", drawing.Plural(len(ps.who[i])), cardStations(ps.who[i]))
		}
		ps.list[i].caption = words
		ps.list[i].label += ": " + words
		ps.list[i].sheet.Title = words
	}
	return ps.list
}

// chosen calls f with every station that has parts.
func (w *cardWork) chosen(f func(st *setout.Station)) {
	for _, k := range w.kinds {
		for _, st := range k.stations {
			f(st)
		}
	}
}

// sectionPictures draws a finished station of each kind, to scale and with its depths.
func (w *cardWork) sectionPictures() []picture {
	const wide, high = 160, 74
	var out []picture
	for _, k := range w.kinds {
		st := k.stations[0]
		s := drawing.SectionFigure(w.panel, st, wide, high)
		words := fmt.Sprintf("Kind %s, at station %s, cut along its rivet line: stack T, reach R, free wire z, deflection δ, in mm.", k.letter, st.ID)
		s.Title = words
		out = append(out, picture{sheet: s, label: "Section to scale. " + words, caption: words})
	}
	return out
}

// openPictures show the centre of each kind of station: piloted, and each layer opened to its own size.
func (w *cardWork) openPictures() []picture {
	ps := &pictures{w: w}
	w.chosen(func(st *setout.Station) {
		axis := plane.Point{}
		layers := onlyLayers(stackAt(w.panel, st, axis))
		wide := 0.0
		for _, h := range w.panel.Holes {
			if h.Station == st.ID && onAxis(h, st, axis) && h.Length == 0 {
				wide = math.Max(wide, holeDiameter(h))
			}
		}
		half := wide/2 + 1.2*pictureRoom
		piloted := drilledAt(layers, w.panel, st, axis, half, false, func(h setout.Hole) (float64, bool) {
			if h.Pilot == nil {
				return 0, false
			}
			return h.Pilot.Diameter, true
		})
		opened := drilledAt(layers, w.panel, st, axis, half, false, func(h setout.Hole) (float64, bool) { return holeDiameter(h), h.Stage <= 2 && h.Length == 0 && !h.Cut })
		var sizes []workSize
		for _, b := range opened {
			if b.hole > 0 {
				sizes = append(sizes, workSize{(b.y0 + b.y1) / 2, "Ø " + measure.Fixed(b.hole, 2)})
			}
		}
		if len(sizes) == 0 {
			return
		}
		ps.add(st, "Centre of the station, layers in place, sizes in mm", "Section before and after opening out",
			[]workState{{"piloted", cutStack{bodies: piloted, half: half}}, {"opened out", cutStack{bodies: opened, half: half}}}, sizes)
	})
	return ps.done()
}

// onAxis says whether a hole's middle lies at a place of its station.
func onAxis(h setout.Hole, st *setout.Station, at plane.Point) bool {
	return h.At.Dist(st.At.Add(at.Rotate(st.Dir))) <= sameAxis
}

func onlyLayers(bodies []cutBody) []cutBody {
	var out []cutBody
	for _, b := range bodies {
		if !b.part {
			out = append(out, b)
		}
	}
	return out
}

// place is where a hole lies from its station's axis.
func place(h setout.Hole, st *setout.Station) plane.Point { return h.At.Sub(st.At).Rotate(-st.Dir) }

// eachHole calls f with every hole of every station that has parts.
func (w *cardWork) eachHole(f func(st *setout.Station, h setout.Hole)) {
	w.chosen(func(st *setout.Station) {
		for _, h := range w.panel.Holes {
			if h.Station == st.ID {
				f(st, h)
			}
		}
	})
}

// drilled is the diameter of the hole that a row works on: its own, or that of the layer's row at the same place.
func (w *cardWork) drilled(h setout.Hole) float64 {
	for _, q := range w.panel.Holes {
		if h.Operation && !q.Operation && q.Station == h.Station && q.Layer == h.Layer && q.At.Dist(h.At) <= sameAxis {
			return holeDiameter(q)
		}
	}
	return holeDiameter(h)
}

// sinkPictures show each kind of countersink in its layer: before and after.
func (w *cardWork) sinkPictures() []picture {
	ps := &pictures{w: w}
	w.eachHole(func(st *setout.Station, h setout.Hole) {
		k := h.Countersink
		if k == nil {
			return
		}
		var body cutBody
		for _, b := range onlyLayers(stackAt(w.panel, st, place(h, st))) {
			if b.name == h.Layer {
				body = b
			}
		}
		if body.name == "" {
			return
		}
		body.y0, body.y1 = 0, body.y1-body.y0
		body.hole = w.drilled(h)
		sunk := body
		face, floor := 0.0, k.Depth
		if sunk.front = sinkOf(k); k.Face == "back" {
			sunk.front, sunk.back = sinkCut{}, sinkOf(k)
			face, floor = body.y1, body.y1-k.Depth
		}
		half := k.Diameter/2 + pictureRoom
		sizes := []workSize{{face, fmt.Sprintf("Ø %s, %s°", measure.Fixed(k.Diameter, 2), measure.Fixed(k.AngleDeg, 0))},
			{(face + floor) / 2, measure.Fixed(k.Depth, 2) + " deep"}}
		if rest := body.y1 - k.Depth; rest > 0 {
			sizes = append(sizes, workSize{math.Abs(face - k.Depth - rest/2), measure.Fixed(rest, 2) + " left"})
		}
		what := k.Purpose
		if what == "" {
			what = h.Purpose
		}
		ps.add(st, fmt.Sprintf("Seat of the %s: %s layer, %s face, sizes in mm; hole Ø %s", what, h.Layer, k.Face, measure.Fixed(body.hole, 2)),
			"Section before and after countersinking",
			[]workState{{"before", cutStack{bodies: []cutBody{body}, half: half}}, {"after", cutStack{bodies: []cutBody{sunk}, half: half}}}, sizes)
	})
	return ps.done()
}

// jointsAt are the joints whose rivets go through a place of a station.
func (w *cardWork) jointsAt(st *setout.Station, at plane.Point) []*setout.RivetJoint {
	var out []*setout.RivetJoint
	for i := range w.panel.Joins {
		j := &w.panel.Joins[i]
		if j.Station != st.ID {
			continue
		}
		for _, q := range jointPattern(st, j) {
			if q.Dist(at) <= sameAxis {
				out = append(out, j)
				break
			}
		}
	}
	return out
}

// jointPattern is where a joint's rivets are, from the stud's axis.
func jointPattern(st *setout.Station, j *setout.RivetJoint) []plane.Point {
	holes := st.Choice.Plate.Rivets
	if j.Part == "receptacle" {
		holes = st.Choice.Receptacle.Rivets
	}
	out := make([]plane.Point, len(holes))
	for i, h := range holes {
		out[i] = h.At
	}
	return out
}

// rivetStack is all that a plane through the rivets of joints at one place cuts, holes and seats made; relief says whether
// relief holes are.
func (w *cardWork) rivetStack(st *setout.Station, joints []*setout.RivetJoint, at plane.Point, relief bool) cutStack {
	half := rivetHalf(joints)
	bodies := stackAt(w.panel, st, at)
	holed(bodies, st.Choice, at)
	bodies = drilledAt(bodies, w.panel, st, at, half, true, func(h setout.Hole) (float64, bool) {
		return w.drilled(h), (relief || h.Purpose != setout.PurposeRelief) && (!h.Operation || h.Countersink != nil)
	})
	s := cutStack{half: half}
	for _, j := range joints {
		if v, ok := setIn(bodies, j); ok {
			s.rivets = append(s.rivets, v)
			seatOfPart(bodies, st, v)
		}
	}
	s.bodies = bodies
	return s
}

// seatOfPart countersinks a part whose own seat takes the head.
func seatOfPart(bodies []cutBody, st *setout.Station, v *setRivet) {
	j := v.joint
	deg := st.Choice.Plate.CountersinkDeg
	if j.Part == "receptacle" {
		deg = st.Choice.Receptacle.CountersinkDeg
	}
	for i := range bodies {
		b := &bodies[i]
		if !b.part || deg == 0 || j.Rivet.CountersinkDeg == 0 {
			continue
		}
		seat := sinkCut{wide: j.Rivet.HeadDiameter, deep: (j.Rivet.HeadDiameter - b.hole) / 2 / math.Tan(deg/2*math.Pi/180), angleDeg: deg}
		switch {
		case v.out < 0 && b.y0 == v.head:
			b.front = seat
		case v.out > 0 && b.y1 == v.head:
			b.back = seat
		}
	}
}

func rivetHalf(joints []*setout.RivetJoint) float64 {
	wide := 0.0
	for _, j := range joints {
		wide = max(wide, j.Rivet.HeadDiameter, j.Rivet.TailDiameter, j.WasherDiameter, j.Relief)
	}
	return wide/2 + pictureRoom
}

// reliefPictures show a relief hole round what it clears: before and after.
func (w *cardWork) reliefPictures() []picture {
	ps := &pictures{w: w}
	w.eachHole(func(st *setout.Station, h setout.Hole) {
		at := place(h, st)
		joints := slices.DeleteFunc(w.jointsAt(st, at), func(j *setout.RivetJoint) bool { return j.Relief == 0 })
		if h.Purpose != setout.PurposeRelief || len(joints) == 0 {
			return
		}
		before, after := w.rivetStack(st, joints, at, false), w.rivetStack(st, joints, at, true)
		for _, v := range append(slices.Clone(before.rivets), after.rivets...) {
			v.ghost = true
		}
		var sizes []workSize
		for _, b := range after.bodies {
			if b.name == h.Layer && !b.part {
				sizes = append(sizes, workSize{(b.y0 + b.y1) / 2, "Ø " + measure.Fixed(holeDiameter(h), 2)})
			}
		}
		what := "tail"
		if joints[0].HeadRelief {
			what = "head"
		}
		ps.add(st, fmt.Sprintf("Relief in the %s layer for the rivet's %s (dashed: the rivet, as it will be), sizes in mm", h.Layer, what),
			"Section before and after the relief hole", []workState{{"before", before}, {"after", after}}, sizes)
	})
	return ps.done()
}

// cutPictures show a layer between before and after it is cut away round a part.
func (w *cardWork) cutPictures() []picture {
	ps := &pictures{w: w}
	w.eachHole(func(st *setout.Station, h setout.Hole) {
		if h.Length == 0 {
			return
		}
		axis := place(h, st)
		half := h.Length/2 + 2*pictureRoom
		layers := onlyLayers(stackAt(w.panel, st, axis))
		drill := func(cut bool) []cutBody {
			return drilledAt(layers, w.panel, st, axis, half, false, func(q setout.Hole) (float64, bool) {
				return holeDiameter(q), (cut || q.Length == 0) && q.Stage <= 2 || cut && q.Length > 0
			})
		}
		before, after := drill(false), drill(true)
		var sizes []workSize
		for _, b := range after {
			if b.name == h.Layer {
				sizes = append(sizes, workSize{(b.y0 + b.y1) / 2, measure.Fixed(h.Length, 1) + " × " + measure.Fixed(h.Width, 1)})
			}
		}
		ps.add(st, fmt.Sprintf("The %s layer cut away about the station, sizes in mm", h.Layer), "Section before and after cutting",
			[]workState{{"before", cutStack{bodies: before, half: half}}, {"after", cutStack{bodies: after, half: half}}}, sizes)
	})
	return ps.done()
}

// rivetPictures show each kind of set rivet in the closed stack, with what becomes of head and tail. Rivets on one axis are
// shown together.
func (w *cardWork) rivetPictures() []picture {
	ps := &pictures{w: w}
	w.chosen(func(st *setout.Station) {
		seen := map[*setout.RivetJoint]bool{}
		for i := range w.panel.Joins {
			j := &w.panel.Joins[i]
			if j.Station != st.ID || seen[j] || len(jointPattern(st, j)) == 0 {
				continue
			}
			at := jointPattern(st, j)[0]
			joints := w.jointsAt(st, at)
			s := w.rivetStack(st, joints, at, true)
			var parts []string
			var sizes []workSize
			for _, v := range s.rivets {
				seen[v.joint] = true
				parts = append(parts, v.joint.Part)
				sizes = append(sizes, rivetSizes(v)...)
			}
			if len(parts) == 0 {
				continue
			}
			words := "Rivet of the " + strings.Join(parts, " and of the ")
			ps.add(st, words+", set, the panel closed, sizes in mm", "Section of the set rivet", []workState{{"set", s}}, sizes)
		}
	})
	return ps.done()
}

// rivetSizes says where head and tail end against the faces that they bear on.
func rivetSizes(v *setRivet) []workSize {
	j, r := v.joint, v.joint.Rivet
	head := workSize{v.head, "head " + measure.Fixed(r.HeadHeight, 2) + " proud"}
	if r.CountersinkDeg > 0 {
		head.words = "head flush"
		if j.HeadSink != nil {
			if d := below(sinkOf(j.HeadSink), r.HeadDiameter); d >= 0.005 {
				head.words = "head " + measure.Fixed(d, 2) + " below"
			}
		}
	} else {
		head.y += v.out * r.HeadHeight / 2
	}
	tail := workSize{v.tail - v.out*(j.WasherThickness+r.TailLength/2), "tail " + measure.Fixed(r.TailLength, 1) + " high"}
	if k := j.TailSink; k != nil {
		tail = workSize{v.tail, "tail " + measure.Fixed(below(sinkOf(k), r.TailDiameter), 2) + " below"}
	}
	return []workSize{head, tail}
}
