package jig

import (
	"fmt"
	"math"
	"slices"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// newJig makes the jig of stations that are alike: bushes, plate, fence. Where no plate holds the holes, why says so.
func newJig(p *setout.Plan, all []seen, name string) (j *Jig, why string) {
	m := &p.Job.MarkingOut
	j = &Jig{Name: name, Holes: slices.Clone(all[0].holes), Fence: all[0].fence, Edge: all[0].edge, Centre: -1, inch: p.Job.Inch,
		alone: p.Job.Conditions.Marking == "jig" || p.Job.Conditions.Marking == "template",
		Thick: m.JigPlate.Value, Reach: m.JigFence.Value, Clear: m.JigClearance.Value, Wall: m.JigWall.Value}
	j.Serves = addServes(nil, all, "")
	for _, v := range all {
		j.Outer = max(j.Outer, v.pan.Job.Outer.Thickness.Nom)
	}
	for i, h := range j.Holes {
		if h.At.Len() < sameHole {
			j.Centre = i
		}
	}
	if len(j.Holes) == 0 {
		return nil, "nothing there is drilled"
	}
	if left := j.seat(m.Bushes); left < leastWeb {
		return nil, "holes and fence would leave " + j.mm(max(left, 0)) + " between them, even as plain guides; least is " + j.mm(leastWeb)
	}
	switch {
	case j.Fence.Distance == 0:
		j.Notes = append(j.Notes, "No edge within "+j.mm(fenceReach)+": mark the centre from the template, pilot it, and locate the jig on a drill in it.")
	case j.Reach <= j.Outer:
		j.Notes = append(j.Notes, "The fence reaches "+j.mm(j.Reach)+" below the plate, no farther than the outer panel is thick: a longer one sits better (marking out, jig, fence).")
	case j.Reach > proudest*j.Thick:
		j.Notes = append(j.Notes, "The fence stands "+j.mm(j.Reach)+" proud of a plate of "+j.mm(j.Thick)+": more than three times its thickness bends or breaks off (common practice, no source). Make the plate thicker or the fence shorter.")
	}
	if j.Wall < twoLines {
		j.Notes = append(j.Notes, "Walls of "+j.mm(j.Wall)+" are thinner than two lines of a printer, "+j.mm(twoLines)+" (common practice, no source): cut the plate from metal, or make them wider.")
	}
	j.outline()
	return j, ""
}

// bushFor finds the bush with the bore for a drill.
func bushFor(bushes []stock.Bush, d float64) *stock.Bush {
	for i := range bushes {
		if bushes[i].Fits(d) {
			return &bushes[i]
		}
	}
	return nil
}

// seat chooses bushes and the plate's holes for them. The hole on the axis is as wide as the hole that it opens in the panel, so that a
// pin can locate the jig there afterwards. Where holes would leave too little between them, bushes give way to plain guides, then the
// wide hole on the axis to one for its bush alone, and last that bush. It gives the material that is left at the tightest place.
func (j *Jig) seat(bushes []stock.Bush) (left float64) {
	const (
		guidesAlone = iota + 1 // tries: from here on rivet holes are plain guides,
		noPin                  // the hole on the axis is for its bush alone,
		noBush                 // and that is a plain guide too
	)
	try := 0
	for ; ; try++ {
		for i := range j.Holes {
			h := &j.Holes[i]
			h.Bush = nil
			if try < guidesAlone || i == j.Centre && try < noBush {
				h.Bush = bushFor(bushes, h.Drill)
			}
			pin := i == j.Centre && try < noPin && h.Opened >= h.Drill+guide+2*insertWall
			if i == j.Centre {
				j.pin = pin
			}
			h.Seat = j.seatOf(*h, pin)
		}
		t := j.tightest()
		if t.fence >= leastWeb && (t.holes >= j.Wall || try == noPin && t.holes >= leastWeb) || try == noBush {
			j.seatNotes(try >= guidesAlone, t, bushes)
			return min(t.holes, t.fence)
		}
	}
}

// seatOf is the diameter of the plate's hole for a hole's bush or guide, wide enough for the pin where there is to be one.
func (j *Jig) seatOf(h Hole, pin bool) float64 {
	seat := h.Drill + guide
	if h.Bush != nil {
		seat = h.Bush.Outside + j.Clear
	}
	if !pin {
		return seat
	}
	if least := max(j.Wall, 2*insertWall+j.Clear); h.Bush != nil && h.Opened < h.Bush.Outside+least {
		return h.Bush.Outside + least + j.slide() // an insert needs a wall around its bush
	}
	return max(seat, h.Opened+j.slide())
}

// slide is by how much pins and inserts are smaller than their holes, in diameter: they go in and out by hand, whatever the fit of
// bushes is.
func (j *Jig) slide() float64 { return max(j.Clear, leastSlide) }

// seatNotes say what a fitter must know of the bushes.
func (j *Jig) seatNotes(guidesAlone bool, t tight, bushes []stock.Bush) {
	if guidesAlone {
		which := "the rivet holes are plain guides"
		if len(j.Holes) == 1 {
			which = "the hole is a plain guide"
		} else if c := j.Centre; c < 0 || j.Holes[c].Bush == nil {
			which = "all holes are plain guides"
		}
		j.Notes = append(j.Notes, "Bushes would leave too little between them or to the fence: "+which+", which wear. Drill slowly, and make the plate anew when a drill rattles.")
	}
	if !j.pin && j.Centre >= 0 && j.Holes[j.Centre].Opened > 0 {
		j.Notes = append(j.Notes, "There is no room for a pin in the opened hole: drill all holes of a station before the centre is opened.")
	}
	if t.holes < j.Wall {
		j.Notes = append(j.Notes, fmt.Sprintf("Only %s is left between the holes for %s and %s: make the plate of metal.", j.mm(t.holes), j.Holes[t.a].Name, j.Holes[t.b].Name))
	}
	var none []string
	for _, h := range j.Holes {
		if bushFor(bushes, h.Drill) == nil && !slices.Contains(none, h.Name) {
			none = append(none, h.Name)
			j.Notes = append(j.Notes, "No bush in the list has a bore of "+h.Name+": a plain guide, which wears.")
		}
	}
}

// tight is how little is left of a plate.
type tight struct {
	holes float64 // between two holes, a and b
	a, b  int
	fence float64 // between holes and fence, or between its pins
}

// tightest finds the places with the least material. To the fence the wall does not bind: the panel's own edge distance is what it is.
func (j *Jig) tightest() tight {
	t := tight{holes: math.Inf(1), fence: math.Inf(1)}
	f := j.Fence
	for i, h := range j.Holes {
		for k, o := range j.Holes[:i] {
			if g := h.At.Dist(o.At) - (h.Seat+o.Seat)/2; g < t.holes {
				t.holes, t.a, t.b = g, k, i
			}
		}
		if len(f.Pins) == 0 && f.Distance > 0 {
			t.fence = min(t.fence, h.At.Y-h.Seat/2+f.Distance)
		}
		for _, p := range f.Pins {
			t.fence = min(t.fence, h.At.Dist(p)-h.Seat/2-f.PinR)
		}
	}
	for i, p := range f.Pins {
		for _, q := range f.Pins[:i] {
			t.fence = min(t.fence, p.Dist(q)-2*f.PinR)
		}
	}
	return t
}

// outline lays the plate around holes, fence and identity.
func (j *Jig) outline() {
	box := plane.EmptyBox()
	for _, h := range j.Holes {
		box = box.Union(plane.Box{Min: h.At, Max: h.At}.Grow(h.Seat/2 + j.Wall))
	}
	f := j.Fence
	switch {
	case len(f.Pins) > 0:
		for _, p := range f.Pins {
			box = box.Union(plane.Box{Min: p, Max: p}.Grow(f.PinR + j.Wall))
		}
	case f.Distance > 0:
		box = box.Include(plane.Point{X: -f.Half - j.Wall, Y: -f.Distance - fenceWide - j.Wall}).Include(plane.Point{X: f.Half + j.Wall})
	}
	lines := j.identity()
	wide := 0.0
	for _, l := range lines {
		wide = max(wide, sheet.TextWidth(l, letters, sheet.Bold))
	}
	if short := wide + 2*j.Wall + 2 - box.Width(); short > 0 {
		box.Min.X, box.Max.X = box.Min.X-short/2, box.Max.X+short/2
	}
	j.textAt = plane.Point{X: box.Min.X + j.Wall + 1, Y: box.Max.Y + 1}
	box.Max.Y += float64(len(lines))*letters*1.15 + j.Wall/2 + 1
	// A radius of two walls leaves more than half a wall at the fence's corner: r − (r − wall)·√2.
	r := min(roundedness, 2*j.Wall, box.Width()/3, box.Height()/3)
	p, err := plane.RoundedRectangle(box.Width(), box.Height(), r)
	if err != nil {
		panic("jig: " + err.Error())
	}
	j.Plate = p.Transform(plane.Move(box.Min))
}

// identity is what is engraved: the jig, its edge, the first panel that it serves.
func (j *Jig) identity() []string {
	head := j.Name
	if j.Hand == "left" || j.Hand == "right" {
		head += " " + j.Hand
	}
	if j.Fence.Distance > 0 {
		head += fmt.Sprintf(" edge %s mm", measure.Fixed(j.Fence.Distance, 1))
	}
	second := j.Serves[0].PanelID
	if len(j.Serves) > 1 {
		second += fmt.Sprintf(" +%d", len(j.Serves)-1)
	}
	if j.Pitch > 0 {
		second += " pitch " + measure.Fixed(j.Pitch, 1) + " mm"
	}
	return []string{head, second}
}

// rows makes the long jigs of a kind: one for every pitch that at least three stations in a row along a straight edge keep. It drills
// a station while a pin stands in the one before.
func rows(p *setout.Plan, base *Jig, all []seen) []*Jig {
	if base.Fence.Distance == 0 || len(base.Fence.Pins) > 0 || base.Centre < 0 {
		return nil
	}
	type run struct {
		pitch float64
		list  []seen
	}
	var runs []run
	for i := 1; i < len(all); i++ {
		a, b := all[i-1], all[i]
		if a.pan != b.pan || a.st.Edge != b.st.Edge || a.st.Edge == "" {
			continue
		}
		before := b.local(a.st.At)
		d := -before.X
		if d <= 0 || math.Abs(before.Y) > alikeTol {
			continue // the edge bends or bows between them: no pin stands there at the same distance from it
		}
		if n := len(runs); n > 0 && math.Abs(runs[n-1].pitch-d) <= alikeTol && runs[n-1].list[len(runs[n-1].list)-1].st == a.st {
			runs[n-1].list = append(runs[n-1].list, b)
			continue
		}
		runs = append(runs, run{d, []seen{a, b}})
	}
	var out []*Jig
	var pitches []float64
	for _, r := range runs {
		if len(r.list) < 3 {
			continue
		}
		i := slices.IndexFunc(pitches, func(d float64) bool { return math.Abs(d-r.pitch) <= alikeTol })
		if i >= 0 {
			out[i].Serves = mergeServes(out[i].Serves, r.list)
			continue
		}
		j := rowJig(p, base, r.pitch, r.list, fmt.Sprintf("%s-row-%d", base.Name, len(out)+1))
		if j == nil {
			continue
		}
		out, pitches = append(out, j), append(pitches, r.pitch)
	}
	return out
}

// rowJig is the long jig of one row; nil, with a note on its base, where the pin's hole has no room in the plate.
func rowJig(p *setout.Plan, base *Jig, pitch float64, list []seen, name string) *Jig {
	j, why := newJig(p, list, name)
	if why != "" {
		return nil
	}
	j.Hand, j.Pitch = base.Hand, pitch
	pin := j.Holes[j.Centre]
	pin.At = plane.Point{X: -pitch}
	pin.For = []string{"the station before: insert or pin"}
	j.Holes = append(j.Holes, pin)
	if t := j.tightest(); t.holes < j.Wall || t.fence < leastWeb {
		base.Notes = append(base.Notes, "No long jig for the row at "+j.mm(pitch)+": it would leave too little between the holes.")
		return nil
	}
	j.outline()
	n := len(j.Holes)
	row := fmt.Sprintf("For a row at %s: drill the first station with %s, and go on from station to station in the order of their numbers. ", j.mm(pitch), base.Name)
	shank := fmt.Sprintf("a skin pin or the shank of the %s drill through hole %d into the station before", pin.Name, n)
	if j.pin {
		row += fmt.Sprintf("While holes are at pilot size: an insert in hole 1, the other in hole %d, and %s. Where they are opened: the pin through hole %d into the opened hole of the station before.", n, shank, n)
	} else {
		row += "Put " + shank + " while its hole is at pilot size."
	}
	j.Notes = append(j.Notes, row)
	if w := j.Plate.Bounds().Width(); w > longest {
		j.Notes = append(j.Notes, "It is "+j.mm(w)+" long: longer than many printers make. Cut it from the drawing.")
	}
	return j
}

func mergeServes(to []Serves, all []seen) []Serves {
	for _, v := range all {
		i := slices.IndexFunc(to, func(s Serves) bool { return s.PanelID == v.pan.Job.ID })
		if i >= 0 && slices.Contains(to[i].Stations, v.st.ID) {
			continue
		}
		to = addServes(to, []seen{v}, "")
	}
	return to
}
