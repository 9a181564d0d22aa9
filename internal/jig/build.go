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

// newJig makes the jig of stations that are alike: bushes, plate, fence.
func newJig(p *setout.Plan, all []seen, name string) *Jig {
	m := &p.Job.MarkingOut
	j := &Jig{Name: name, Holes: slices.Clone(all[0].holes), Fence: all[0].fence, Edge: all[0].edge, Centre: -1,
		Thick: m.JigPlate.Value, Reach: m.JigFence.Value, Clear: m.JigClearance.Value, Wall: m.JigWall.Value}
	j.Serves = addServes(nil, all)
	for _, v := range all {
		j.Outer = max(j.Outer, v.pan.Job.Outer.Thickness.Nom)
	}
	for i, h := range j.Holes {
		if h.At.Len() < sameHole {
			j.Centre = i
		}
	}
	j.seat(m.Bushes)
	if j.Fence.Distance == 0 {
		j.Notes = append(j.Notes, "No edge within "+measure.MM(fenceReach)+": mark the centre from the template, pilot it, and locate the jig on a drill in it.")
	} else if j.Reach <= j.Outer {
		j.Notes = append(j.Notes, "The fence reaches "+measure.MM(j.Reach)+" below the plate, no farther than the outer panel is thick: a longer one sits better (marking out, jig, fence).")
	}
	j.outline()
	return j
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
// wide hole on the axis to one for its bush alone.
func (j *Jig) seat(bushes []stock.Bush) {
	const guide = 0.1 // by how much a plain guide is wider than its drill
	plainGuides := false
	for try := 0; ; try++ {
		for i := range j.Holes {
			h := &j.Holes[i]
			h.Bush = bushFor(bushes, h.Drill)
			if h.Bush != nil && i != j.Centre && plainGuides {
				h.Bush = nil
			}
			h.Seat = h.Drill + guide
			if h.Bush != nil {
				h.Seat = h.Bush.Outside + j.Clear
			}
			if i == j.Centre && h.Opened > 0 && try < 2 {
				h.Seat = max(h.Seat, h.Opened+j.Clear)
				if h.Bush != nil && h.Opened < h.Bush.Outside+2*j.Wall/2 && h.Opened > h.Bush.Outside {
					h.Seat = h.Bush.Outside + j.Wall + j.Clear // an insert needs a wall around its bush
				}
			}
		}
		a, b, gap := j.tightest()
		if gap >= j.Wall || try == 2 {
			if try > 0 {
				j.Notes = append(j.Notes, "Bushes would leave too little between them: the rivet holes are plain guides, which wear. Drill them slowly, and make the plate anew when a drill rattles.")
			}
			if try == 2 && j.Centre >= 0 && j.Holes[j.Centre].Opened > 0 {
				j.Notes = append(j.Notes, "There is no room for a pin in the opened hole: drill all holes of a station before the centre is opened.")
			}
			if gap < j.Wall {
				j.Notes = append(j.Notes, fmt.Sprintf("Only %s is left between the holes for %s and %s: make the plate of metal.", measure.MM(gap), j.Holes[a].Name, j.Holes[b].Name))
			}
			break
		}
		plainGuides = true
	}
	for _, h := range j.Holes {
		if h.Bush == nil && !plainGuides {
			j.Notes = append(j.Notes, "No bush in the list has a bore of "+h.Name+": a plain guide, which wears.")
		}
	}
}

// tightest finds the two holes with the least material between them.
func (j *Jig) tightest() (a, b int, gap float64) {
	gap = math.Inf(1)
	for i := range j.Holes {
		for k := range i {
			if g := j.Holes[i].At.Dist(j.Holes[k].At) - (j.Holes[i].Seat+j.Holes[k].Seat)/2; g < gap {
				a, b, gap = k, i, g
			}
		}
	}
	return a, b, gap
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
		box = box.Include(plane.Point{X: -f.Half, Y: -f.Distance - 2*fencePin - j.Wall}).Include(plane.Point{X: f.Half})
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
	r := min(roundedness, box.Width()/3, box.Height()/3)
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
		head += fmt.Sprintf(" edge %s", measure.Fixed(j.Fence.Distance, 1))
	}
	second := j.Serves[0].PanelID
	if len(j.Serves) > 1 {
		second += fmt.Sprintf(" +%d", len(j.Serves)-1)
	}
	if j.Pitch > 0 {
		second += " pitch " + measure.Fixed(j.Pitch, 1)
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
		j := newJig(p, r.list, fmt.Sprintf("%s-row-%d", base.Name, len(out)+1))
		j.Hand, j.Pitch = base.Hand, r.pitch
		pin := j.Holes[j.Centre]
		pin.At = plane.Point{X: -r.pitch}
		pin.For = []string{"the station before: pin"}
		j.Holes = append(j.Holes, pin)
		j.Fence.Half = max(j.Fence.Half, 0)
		j.outline()
		j.Notes = append(j.Notes, fmt.Sprintf("For a row at %s: drill the first station with %s, put the pin into it, and go on from station to station in the order of their numbers.", measure.MM(r.pitch), base.Name))
		if w := j.Plate.Bounds().Width(); w > longest {
			j.Notes = append(j.Notes, "It is "+measure.MM(w)+" long: longer than many printers make. Cut it from the drawing.")
		}
		out, pitches = append(out, j), append(pitches, r.pitch)
	}
	return out
}

func mergeServes(to []Serves, all []seen) []Serves {
	for _, v := range all {
		i := slices.IndexFunc(to, func(s Serves) bool { return s.PanelID == v.pan.Job.ID })
		if i >= 0 && slices.Contains(to[i].Stations, v.st.ID) {
			continue
		}
		to = addServes(to, []seen{v})
	}
	return to
}
