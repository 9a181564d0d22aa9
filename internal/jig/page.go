package jig

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

// Margins and rooms of a jig's page, mm.
const (
	pageMargin = 12.0
	pageHead   = 24.0
	pageFoot   = 8.0
	viewHigh   = 112.0 // most that the views take
	cornerRoom = 5.0   // over the views: the distance to a corner's second edge stands there
	sideGap    = 26.0  // between plan and side view: dimensions stand there
)

var (
	hiddenPen = sheet.Hidden
	edgePen   = sheet.Pen{Width: 0.7}
)

// Pages draws jigs.pdf: for every jig a page with its plate to scale, its bushes, its parts and how it is used; then the stations that
// have none. It fails when the job names a paper that is none.
func Pages(p *setout.Plan) ([]sheet.Sheet, error) {
	paper, err := drawing.PaperOf(p.Job.Paper)
	if err != nil {
		return nil, err
	}
	if paper.Name == "A3" {
		paper = sheet.A4 // a jig's page has room on it, and lies beside the drill
	}
	jigs, left := Gather(p)
	var out []sheet.Sheet
	for _, j := range jigs {
		g := &page{plan: p, j: j, w: paper.W, h: paper.H}
		out = append(out, g.draw()...)
	}
	g := &page{plan: p, w: paper.W, h: paper.H}
	return append(out, g.rest(jigs, left)...), nil
}

type page struct {
	plan *setout.Plan
	j    *Jig
	w, h float64
	s    sheet.Sheet
	y    float64
}

func (g *page) begin(title, sub string) {
	g.s = sheet.Sheet{Title: title, W: g.w, H: g.h}
	g.text(pageMargin, pageMargin+6, sheet.Letters50, sheet.Bold, title)
	items, used := sheet.Block(pageMargin, pageMargin+9, g.w-2*pageMargin, sub, sheet.Letters25, sheet.Regular)
	g.s.Add(items...)
	g.y = pageMargin + 9 + used + 3
	foot, size := sheet.FitText("Drill jigs · "+drawing.JobWords(g.plan.Job)+" · "+drawing.NoApproval, g.w-2*pageMargin, sheet.Letters25, sheet.Letters18, sheet.Regular)
	g.text(pageMargin, g.h-pageFoot, size, sheet.Regular, foot)
}

func (g *page) text(x, y, size float64, f sheet.Font, s string) {
	g.s.Add(sheet.Text{At: plane.Point{X: x, Y: y}, Size: size, S: s, Font: f, Layer: sheet.LayerText})
}

// draw sets a jig's page; what does not fit goes on on the next.
func (g *page) draw() []sheet.Sheet {
	j := g.j
	g.begin(j.Title(), j.about())
	g.views()
	var done []sheet.Sheet
	t := sheet.Table{Columns: []sheet.Column{{Title: "no.", Width: 10}, {Title: "x, mm", Width: 17, Align: sheet.Right}, {Title: "y, mm", Width: 17, Align: sheet.Right}, {Title: "drill", Width: 24},
		{Title: "bush: bore × outside × length", Width: 44}, {Title: "plate's hole", Width: 22, Align: sheet.Right}, {Title: "for", Width: g.w - 2*pageMargin - 134}}}
	for i, h := range j.Holes {
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), measure.Fixed(h.At.X+0, 2), measure.Fixed(h.At.Y+0, 2), h.Name, j.bushWords(h), "Ø " + j.mm(h.Seat), strings.Join(h.For, ", ")})
	}
	for len(t.Rows) > 0 {
		items, used, rest := t.Layout(pageMargin, g.y, g.h-pageMargin-pageFoot)
		g.s.Add(items...)
		g.y += used + 3
		if t.Rows = rest; len(rest) > 0 {
			done = append(done, g.s)
			g.begin(j.Title()+", continued", j.about())
		}
	}
	for _, para := range j.words() {
		h := sheet.BlockHeight(len(sheet.Wrap(para, g.w-2*pageMargin, sheet.Letters25, sheet.Regular)), sheet.Letters25)
		if g.y+h > g.h-pageMargin-pageFoot {
			done = append(done, g.s)
			g.begin(j.Title()+", continued", j.about())
		}
		items, used := sheet.Block(pageMargin, g.y, g.w-2*pageMargin, para, sheet.Letters25, sheet.Regular)
		g.s.Add(items...)
		g.y += used + 1
	}
	return append(done, g.s)
}

// about says what a jig serves.
func (j *Jig) about() string {
	var of []string
	for _, s := range j.Serves {
		w := s.Panel + " " + drawing.StationRuns(s.Stations)
		if s.Quantity > 1 {
			w += fmt.Sprintf(" (%d panels)", s.Quantity)
		}
		of = append(of, w)
	}
	out := "For " + strings.Join(of, "; ") + ". Seen from outside, the panel's edge below."
	switch f := j.Fence; {
	case len(f.Sides) == 2:
		out += " Edge distances " + j.mm(f.Sides[0].Len()) + " and " + j.mm(f.Sides[1].Len()) + "."
	case f.Distance > 0:
		out += " Edge distance " + j.mm(f.Distance) + "."
	}
	if j.Pitch > 0 {
		out += " Pitch " + j.mm(j.Pitch) + "."
	}
	return out
}

// views draws the plate from above and from the side, to one scale.
func (g *page) views() {
	j := g.j
	box := j.Plate.Bounds()
	deep := j.Thick + j.Reach
	roomW, roomH := g.w-2*pageMargin-sideGap-30, viewHigh-22
	scale := drawing.FitScale(box.Width()+deep, box.Height(), roomW, roomH, 2)
	left := pageMargin + 20.0
	if len(j.Fence.Sides) > 0 {
		g.y += cornerRoom
	}
	v := sheet.View{Scale: scale, Origin: plane.Point{X: left - scale*box.Min.X, Y: g.y + 8 + scale*box.Max.Y}}
	g.s.Add(sheet.Stroke{Path: v.Path(j.Plate), Pen: &sheet.Outline, Layer: sheet.LayerOutline})
	for _, r := range j.fenceRegions() {
		g.s.Add(sheet.Stroke{Path: v.Path(r.Outer), Pen: &hiddenPen, Layer: sheet.LayerHidden})
	}
	for i, h := range j.Holes {
		at := v.Map(h.At)
		g.s.Add(sheet.Circle{At: at, R: scale * h.Seat / 2, Pen: &sheet.Outline, Layer: sheet.LayerOutline})
		if h.Seat > h.Drill+0.5 {
			g.s.Add(sheet.Circle{At: at, R: scale * h.Drill / 2, Pen: &sheet.Thin, Layer: sheet.LayerOutline})
		}
		g.s.Add(sheet.CentreMark(at, scale*h.Seat+5)...)
		g.s.Add(sheet.Text{At: at.Add(plane.Point{X: scale*h.Seat/2*0.72 + 0.8, Y: -scale*h.Seat/2*0.72 - 0.8}), Size: sheet.Letters25, S: fmt.Sprint(i + 1), Font: sheet.Bold, Halo: true, Layer: sheet.LayerText})
	}
	g.edge(v)
	g.dimensions(v, scale)
	g.side(v, scale)
	g.y += 8 + scale*box.Height() + 20
	g.text(left, g.y+2, sheet.Letters25, sheet.Regular, "Scale "+drawing.ScaleName(scale)+". Lengths in mm.")
	g.y += 7
}

// edge draws the run of the panel's edge that the jig's pins touch, where it is no straight line.
func (g *page) edge(v sheet.View) {
	if len(g.j.Edge.V) == 0 {
		return
	}
	box := g.j.Plate.Bounds()
	a, b := v.Map(plane.Point{X: box.Min.X, Y: box.Max.Y}), v.Map(plane.Point{X: box.Max.X, Y: box.Min.Y})
	g.s.Add(sheet.Clip{X: a.X, Y: a.Y, W: b.X - a.X, H: b.Y - a.Y, Items: []sheet.Item{sheet.Stroke{Path: v.Path(g.j.Edge), Pen: &edgePen, Layer: sheet.LayerOutline}}})
}

// dimensions puts lengths on the plan.
func (g *page) dimensions(v sheet.View, scale float64) {
	j := g.j
	box := j.Plate.Bounds()
	at := func(x, y float64) plane.Point { return v.Map(plane.Point{X: x, Y: y}) }
	short := func(x float64) string { return measure.Fixed(x, 1) }
	f := j.Fence
	if f.Distance > 0 && len(f.Pins) == 0 {
		g.s.Add(sheet.Stroke{Path: plane.Open(at(-f.Half, -f.Distance), at(f.Half, -f.Distance)), Pen: &edgePen, Layer: sheet.LayerOutline})
		x := box.Min.X
		g.s.Add(sheet.Dimension(at(x, 0), at(x, -f.Distance), 9, short(f.Distance))...)
	}
	if len(f.Pins) > 0 {
		g.edgeDistances(v)
	}
	low := box.Min.Y
	if j.Pitch > 0 {
		g.s.Add(sheet.Dimension(at(-j.Pitch, low), at(0, low), 7, short(j.Pitch))...)
	} else {
		xs := []float64{}
		for _, h := range j.Holes {
			if math.Abs(h.At.X) > sameHole {
				xs = append(xs, h.At.X)
			}
		}
		for _, x := range xs {
			a, b := at(min(x, 0), low), at(max(x, 0), low)
			g.s.Add(sheet.Dimension(a, b, 7, short(math.Abs(x)))...)
			if len(xs) > 2 {
				break
			}
		}
	}
	g.s.Add(sheet.Dimension(at(box.Min.X, low), at(box.Max.X, low), 14, short(box.Width()))...)
}

// edgeDistances are the squares from the axis to a curved edge, or to both sides of a corner: beside the plate where they run
// along it, else from the axis itself.
func (g *page) edgeDistances(v sheet.View) {
	f := g.j.Fence
	feet := f.Sides
	if len(feet) == 0 {
		feet = []plane.Point{{Y: -f.Distance}}
	}
	axis, box := v.Map(plane.Point{}), g.j.Plate.Bounds()
	for _, foot := range feet {
		off := 0.0
		switch {
		case math.Abs(foot.X) < 0.5: // to the left of the plate
			off = axis.X - v.Map(box.Min).X + 9
		case math.Abs(foot.Y) < 0.5: // above it
			off = math.Copysign(axis.Y-v.Map(box.Max).Y+cornerRoom, -foot.X)
		}
		g.s.Add(sheet.Dimension(axis, v.Map(foot), off, measure.Fixed(foot.Len(), 1))...)
	}
}

// side draws the plate from its end: outer face to the right, fence to the left, where the panel lies.
func (g *page) side(v sheet.View, scale float64) {
	j := g.j
	box := j.Plate.Bounds()
	x := v.Map(box.Max).X + sideGap
	y0, y1 := v.Map(box.Max).Y, v.Map(box.Min).Y
	rect := func(x0, ya, x1, yb float64, pen *sheet.Pen) {
		g.s.Add(sheet.Rectangle(min(x0, x1), min(ya, yb), math.Abs(x1-x0), math.Abs(yb-ya), pen, nil, sheet.LayerOutline))
	}
	face := x + scale*j.Reach // the panel lies against it
	rect(face, y0, face+scale*j.Thick, y1, &sheet.Outline)
	for _, r := range j.fenceRegions() {
		b := r.Bounds()
		rect(face, v.Map(b.Max).Y, face-scale*j.Reach, v.Map(b.Min).Y, &sheet.Outline)
	}
	if f := j.Fence; f.Distance > 0 {
		top := v.Map(plane.Point{Y: -f.Distance}).Y
		thin := sheet.Chain
		panel := face - scale*max(j.Outer, 0.8)
		g.s.Add(sheet.Rectangle(panel, y0-4, face-panel, top-y0+4, &thin, nil, sheet.LayerHidden))
		g.s.Add(sheet.Text{At: plane.Point{X: panel - 1.2, Y: (y0 + top) / 2}, Size: sheet.Letters25, S: "panel", Align: sheet.Centre, Turn: math.Pi / 2, Layer: sheet.LayerText})
	}
	g.s.Add(sheet.Dimension(plane.Point{X: face, Y: y1}, plane.Point{X: face + scale*j.Thick, Y: y1}, 7, measure.Fixed(j.Thick, 1))...)
	if j.Fence.Distance > 0 {
		g.s.Add(sheet.Dimension(plane.Point{X: face - scale*j.Reach, Y: y1}, plane.Point{X: face, Y: y1}, 14, measure.Fixed(j.Reach, 1))...)
	}
}

// words say what the jig is made of and how it is used.
func (j *Jig) words() []string {
	var out []string
	dowels, d := j.Dowels()
	if len(dowels) > 0 {
		out = append(out, fmt.Sprintf("Fence: printed with the plate, or %d dowels of %s in a cut plate (layer DOWEL_HOLES), to stand %s proud below.", len(dowels), j.mm(d), j.mm(j.Reach)))
	}
	if j.pin {
		h := j.Holes[j.Centre]
		inserts, holes := "an insert", "hole 1"
		if j.Pitch > 0 {
			inserts, holes = "two inserts, each", fmt.Sprintf("holes 1 and %d", len(j.Holes))
		}
		out = append(out, fmt.Sprintf("Parts beside the plate: %s Ø %s that guides %s in %s; a pin Ø %s, stepped to Ø %s, for the same when the panel's hole is opened to Ø %s.",
			inserts, j.mm(h.Seat-j.slide()), h.Name, holes, j.mm(h.Seat-j.slide()), j.mm(h.Opened-j.slide()), j.mm(h.Opened)))
	}
	through := "through all layers"
	step := []string{"Clamp the panels as they will stand, their edges together. Hold the fence hard against the edge, at the place along it that the template or the tape gives."}
	if j.Fence.Distance == 0 {
		step = []string{"Clamp the panels. Mark the centre from the template and pilot it; stand the drill in it and turn the jig along the seat line."}
	}
	if j.alone {
		through = "through the sheet"
		step = []string{"Each sheet by itself, as it will stand: hold the fence hard against its edge, at the place along it that the template or the tape gives. In a sheet whose holes differ drill those that are its own (see the work card)."}
		if j.Fence.Distance == 0 {
			step = []string{"Each sheet by itself. Mark the centre from the template and pilot it; stand the drill in it and turn the jig along the seat line."}
		}
	}
	own := len(j.Holes) // without the row's
	if j.Pitch > 0 {
		own--
	}
	if own == 1 {
		step = append(step, "Drill "+through+".")
	} else {
		step = append(step, "Drill hole 1 "+through+", put a skin pin or the drill's shank in it, then the others, each with its pin before the next.")
	}
	if j.pin && own > 1 {
		step = append(step, "Rivet holes that are drilled after the centre was opened: put the pin through hole 1 into the opened hole, then the fence to the edge.")
	}
	for i, s := range step {
		out = append(out, fmt.Sprintf("%d. %s", i+1, s))
	}
	for _, n := range j.Notes {
		out = append(out, "Note: "+n)
	}
	return append(out, "Take care: goggles; swarf and the dust of laminate; nothing behind that a drill can reach (see the work card). Try the jig on scrap and measure before the panel is drilled: printed holes shrink.",
		"Clearance "+j.mm(j.Clear)+" for bushes, "+j.mm(j.slide())+" for pins and inserts, which slide; wall "+j.mm(j.Wall)+", plate "+j.mm(j.Thick)+", fence "+j.mm(j.Reach)+": common practice, no source, unless the job says so (marking out). Bushes: "+j.bushSource()+".")
}

func (j *Jig) bushSource() string {
	for _, h := range j.Holes {
		if h.Bush != nil && h.Bush.Origin.Status == "memory" {
			return h.Bush.Origin.Source + ", from memory: look them up before the plate is cut"
		}
		if h.Bush != nil {
			return "the job's own"
		}
	}
	return "none"
}

// rest lists all jigs, and the stations without one.
func (g *page) rest(jigs []*Jig, left []Serves) (done []sheet.Sheet) {
	about := fmt.Sprintf("A jig is made where it serves %d stations or more (marking out, jig, least stations); the others are marked from the templates or stickers.", g.plan.Job.MarkingOut.JigLeast)
	t := sheet.Table{Columns: []sheet.Column{{Title: "jig", Width: 34}, {Title: "edge", Width: 22, Align: sheet.Right}, {Title: "pitch", Width: 22, Align: sheet.Right}, {Title: "for", Width: g.w - 2*pageMargin - 78}}, Strong: []bool{true}}
	row := func(name, edge, pitch, why string, s []Serves) {
		var of []string
		for _, x := range s {
			of = append(of, x.Panel+" "+drawing.StationRuns(x.Stations))
		}
		t.Rows = append(t.Rows, []string{name, edge, pitch, strings.Join(of, "; ") + why})
	}
	for _, j := range jigs {
		edge, pitch := "–", "–"
		if j.Fence.Distance > 0 {
			edge = j.mm(j.Fence.Distance)
		}
		if j.Pitch > 0 {
			pitch = j.mm(j.Pitch)
		}
		row(j.Title(), edge, pitch, "", j.Serves)
	}
	for len(left) > 0 {
		why := left[0].Why
		now := slices.DeleteFunc(slices.Clone(left), func(s Serves) bool { return s.Why != why })
		left = slices.DeleteFunc(slices.Clone(left), func(s Serves) bool { return s.Why == why })
		if why != "" {
			why = ": " + why
		}
		row("no jig", "–", "–", why, now)
	}
	for len(t.Rows) > 0 {
		g.begin("All jigs", about)
		items, _, more := t.Layout(pageMargin, g.y, g.h-pageMargin-pageFoot)
		g.s.Add(items...)
		done, t.Rows = append(done, g.s), more
	}
	if len(done) == 0 {
		g.begin("No jigs", about)
		done = append(done, g.s)
	}
	return done
}
