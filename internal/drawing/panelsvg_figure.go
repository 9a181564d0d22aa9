package drawing

import (
	"math"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// PanelMarks says what a drawing of a whole panel shows beside its outline, cut-outs, seat lines and numbered stations.
type PanelMarks struct {
	Supports bool // what the panel rests on, lightly hatched
	KeepOuts bool
	Size     bool // overall dimensions
	Tape     bool // running dimensions along every edge
	Witness  bool // a bar across every station along its rivet line: the witness mark when locked
	Front    bool // arrow to the front
	ScaleBar bool
	EdgeName bool

	behind bool // mirrored: the panel's back
}

// Figure draws a whole panel to scale.
type Figure struct {
	job    *job.Job
	panel  *setout.Panel
	marks  PanelMarks
	view   sheet.View
	Canvas Canvas
	reach  float64 // how far the running dimensions reach out of the outline, page mm
	Bare   []string
}

// panelBorder is the room around the outline that the marks need, page mm: left and below, right and above.
func (m PanelMarks) Border(j *job.Job) (low, high float64) {
	high = 6.0
	if m.EdgeName {
		high = 9
	}
	if m.Tape {
		high = 28
		if j.Inch {
			high = 31
		}
	}
	low = high
	if m.Size {
		low += 9
	}
	if m.ScaleBar && low < 14 {
		low = 14
	}
	return low, high
}

// DrawPanel draws the panel into room (page coordinates) at the largest usual scale that fits.
func DrawPanel(j *job.Job, p *setout.Panel, room plane.Box, marks PanelMarks) *Figure {
	f := fitPanel(j, p, room, marks)
	f.areas()
	f.outlines()
	f.stations()
	if marks.Size {
		f.size()
	}
	if marks.Tape {
		f.tape()
	}
	f.numbers()
	if marks.Front {
		f.frontArrow()
	}
	if marks.EdgeName {
		f.edgeNames()
	}
	f.keepOutNames()
	return f
}

// fitPanel prepares a figure at the largest usual scale that fits, with nothing drawn yet.
func fitPanel(j *job.Job, p *setout.Panel, room plane.Box, marks PanelMarks) *Figure {
	f := &Figure{job: j, panel: p, marks: marks}
	low, high := marks.Border(j)
	b := p.Job.Outline.Outer.Bounds()
	roomW, roomH := room.Width()-low-high, room.Height()-low-high
	scale := FitScale(b.Width(), b.Height(), roomW, roomH, 1)
	// Centred in what is left when the borders are taken off.
	x := room.Min.X + low + (roomW-scale*b.Width())/2
	y := room.Min.Y + high + (roomH-scale*b.Height())/2
	f.view = sheet.View{Scale: scale, Origin: plane.Point{X: x - scale*b.Min.X, Y: y + scale*b.Max.Y}, Mirror: marks.behind}
	if marks.behind {
		f.view.Origin.X = x + scale*b.Max.X
	}
	f.Canvas.place.frame = room
	return f
}

// areas hatches the supports lightly and the keep-outs more densely.
func (f *Figure) areas() {
	if f.marks.Supports {
		for _, s := range f.panel.SeatLines {
			band := panelBand(s)
			if len(band.V) == 0 {
				continue
			}
			f.Canvas.Add(sheet.Hatch{Region: plane.Region{Outer: f.view.Path(band)}, Angle: -math.Pi / 4, Pitch: 1.6, Pen: viewHair, Layer: "supports"})
		}
	}
	if f.marks.KeepOuts {
		for _, k := range f.panel.Job.KeepOuts {
			page := f.view.Path(templateOnPanel(k.Region, f.panel.Job.Outline.Outer.Bounds()))
			if len(page.V) == 0 {
				continue
			}
			f.Canvas.Add(sheet.Hatch{Region: plane.Region{Outer: page}, Angle: math.Pi / 4, Pitch: 1.8, Cross: true, Pen: viewHair, Layer: sheet.LayerHatch})
			f.Canvas.path(page, sheet.Thin, sheet.LayerHatch)
			f.Canvas.place.takePath(page, costArea)
		}
	}
	for _, s := range f.panel.SeatLines {
		page := f.view.Path(s.Path)
		pen := sheet.Chain
		pen.Width = 0.18
		f.Canvas.path(page, pen, sheet.LayerCentre)
		f.Canvas.place.takePath(page, costSeat)
	}
}

// panelBand is the strip of a support along its seat line: as wide as the support, on both sides of the line.
func panelBand(s setout.SeatLine) plane.Path {
	if s.Support == nil || !(s.Support.Width > 0) {
		return plane.Path{}
	}
	long := s.Path.Length()
	right := viewOffset(s.Path, 0, long, s.Support.Width/2)
	left := viewOffset(s.Path, 0, long, -s.Support.Width/2)
	for i := len(left) - 1; i >= 0; i-- {
		right = append(right, left[i])
	}
	return plane.Polygon(right...)
}

func (f *Figure) outlines() {
	o := f.panel.Job.Outline
	for i, path := range append([]plane.Path{o.Outer}, o.CutOuts...) {
		page := f.view.Path(path)
		pen := sheet.Pen{Width: 0.6}
		if i > 0 {
			white := sheet.White
			pen.Width = 0.4
			f.Canvas.Add(sheet.Stroke{Path: page, Pen: &pen, Fill: &white, Layer: sheet.LayerOutline})
		} else {
			f.Canvas.path(page, pen, sheet.LayerOutline)
		}
		f.Canvas.place.takePath(page, costOutline)
	}
}

// panelSpot is the radius of a station's symbol on the page.
const panelSpot = 1.5

// stations draws a symbol at each station: a ring with a point, and the witness bar.
func (f *Figure) stations() {
	white := sheet.White
	for _, st := range f.panel.Stations {
		at := f.view.Map(st.At)
		dir := viewDirection(f.view, plane.Point{X: 1}.Rotate(st.Dir))
		pen := sheet.Pen{Width: 0.3}
		r := panelSpot
		if f.marks.Witness {
			bar := sheet.Pen{Width: 0.9}
			f.Canvas.Add(sheet.Circle{At: at, R: 2, Pen: &pen, Fill: &white, Layer: "stations"})
			f.Canvas.Line(at.Sub(dir.Scale(3.4)), at.Add(dir.Scale(3.4)), bar, "witness")
			r = 3.4
		} else {
			f.Canvas.Add(sheet.Circle{At: at, R: panelSpot, Pen: &pen, Fill: &white, Layer: "stations"})
			f.Canvas.Add(sheet.Circle{At: at, R: 0.35, Fill: &sheet.Black, Layer: "stations"})
		}
		f.Canvas.place.takeDisc(at, r+0.4)
	}
}

// numbers writes each station's number beside it, inwards if there is room.
func (f *Figure) numbers() {
	var keeps []Quad
	if f.marks.KeepOuts {
		for _, k := range f.panel.Job.KeepOuts {
			b := viewPageBox(f.view, k.Region.Bounds())
			keeps = append(keeps, viewBoxQuad(b.Min.X, b.Min.Y, b.Width(), b.Height()))
		}
	}
	for _, st := range f.panel.Stations {
		at := f.view.Map(st.At)
		const size = sheet.Letters25
		w := sheet.TextWidth(st.ID, size, sheet.Bold)
		quads, anchors := viewRing(at, w, size*(viewAscent+viewDescent), []float64{2.4, 3.6, 5, 7, 9, 12})
		i, ok := f.Canvas.place.best(quads, func(i int) float64 {
			price := float64(i/16) * 1.5
			if f.panel.Job.Outline.Outer.Contains(f.view.Unmap(quads[i].Box().Centre())) != plane.Inside {
				price += 6
			}
			for _, k := range keeps {
				if quads[i].Meets(k) {
					price += 4 // hatching hides it
				}
			}
			return price
		})
		if !ok {
			f.Bare = append(f.Bare, st.ID)
			continue
		}
		q := quads[i]
		if a, b, ok := figureLeader(at, anchors[i]); ok {
			f.Canvas.Line(a, b, sheet.Fine, sheet.LayerDimension)
		}
		f.Canvas.text(sheet.Text{At: At(q[0].X, q[0].Y+size*viewAscent), Size: size, S: st.ID, Font: sheet.Bold, Halo: true})
		f.Canvas.place.takeBox(q)
	}
}

// figureLeader joins a number with its station where it does not stand beside it.
func figureLeader(at, anchor plane.Point) (a, b plane.Point, ok bool) {
	const near, ring = 4.5, 2.2
	if anchor.Dist(at) < near {
		return a, b, false
	}
	dir := anchor.Sub(at).Unit()
	return at.Add(dir.Scale(ring)), anchor.Sub(dir.Scale(0.4)), true
}

// size draws the overall dimensions: below and on the left, outside the running ones.
func (f *Figure) size() {
	b := viewPageBox(f.view, f.panel.Job.Outline.Outer.Bounds())
	_, high := f.marks.Border(f.job)
	real := f.panel.Job.Outline.Outer.Bounds()
	off := high + 1
	if !f.marks.Tape {
		off = 8
	}
	f.dimension(At(b.Min.X, b.Max.Y), b.Max, off, Across(f.job, real.Width()))
	f.dimension(b.Min, At(b.Min.X, b.Max.Y), off, Across(f.job, real.Height()))
}

// dimension draws a dimension of package sheet and keeps labels off its text. a to b runs with the offset on its right as
// the page shows it.
func (f *Figure) dimension(a, b plane.Point, offset float64, text string) {
	for _, it := range sheet.Dimension(a, b, offset, text) {
		if t, ok := it.(sheet.Text); ok {
			f.Canvas.text(t)
			continue
		}
		f.Canvas.Add(it)
		if s, ok := it.(sheet.Stroke); ok && s.Fill == nil {
			f.Canvas.place.takePath(s.Path, costArea)
		}
	}
}

// frontArrow puts the arrow to the front inside the front edge, where nothing is covered.
func (f *Figure) frontArrow() {
	e := templateEdge(f.panel.Job, f.panel.Job.Front)
	if e == nil {
		return
	}
	const long, wide, size = 11.0, 5.5, sheet.Letters25
	const word = "front"
	w := sheet.TextWidth(word, size, sheet.Bold)
	for _, in := range []float64{2, 6, 10, 16, 24} {
		for _, k := range []float64{0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75, 0.15, 0.85} {
			at, out := templateEdgeFrame(f.view, f.panel.Job.Outline.Outer, e.From+k*(e.To-e.From))
			tip, tail := at.Sub(out.Scale(in)), at.Sub(out.Scale(in+long))
			side := out.Perp().Scale(wide / 2)
			aq := Quad{tip.Add(side), tip.Sub(side), tail.Sub(side), tail.Add(side)}
			mid := tail.Sub(out.Scale(1.2 + math.Abs(out.X)*w/2 + math.Abs(out.Y)*size*viewAscent/2))
			text := sheet.Text{At: mid.Add(plane.Point{Y: size * sheet.CapHeight / 2}), Size: size, S: word, Font: sheet.Bold, Align: sheet.Centre, Halo: true}
			ca, okA := f.Canvas.place.cost(aq)
			ct, okT := f.Canvas.place.cost(TextQuad(text))
			if !okA || !okT || ca+ct >= costArea {
				continue
			}
			f.Canvas.bigArrow(tail, tip, wide)
			f.Canvas.place.takeBox(aq)
			f.Canvas.text(text)
			return
		}
	}
}

// edgeNames writes each edge's name along it, inside.
func (f *Figure) edgeNames() {
	for _, e := range f.panel.Job.Edges {
		var middles []plane.Point
		turn := 0.0
		for i, k := range []float64{0.5, 0.4, 0.6, 0.3, 0.7} {
			at, out := templateEdgeFrame(f.view, f.panel.Job.Outline.Outer, e.From+k*(e.To-e.From))
			if i == 0 {
				turn, _ = viewUpright(out.Perp())
			}
			in := -1.0
			if !f.marks.Tape {
				in = 1
			}
			for _, d := range []float64{7, 10, 4, 14} {
				middles = append(middles, at.Add(out.Scale(in*d)))
			}
		}
		f.Canvas.label(sheet.Text{S: e.Name, Size: sheet.Letters25, Turn: turn, Align: sheet.Centre, Halo: true}, middles)
	}
}

// keepOutNames writes the names of keep-outs and cut-outs that have room for them.
func (f *Figure) keepOutNames() {
	if !f.marks.KeepOuts {
		return
	}
	for _, k := range f.panel.Job.KeepOuts {
		seen := templateSeen(k.Region.Bounds(), f.panel.Job.Outline.Outer.Bounds())
		if seen.Empty() {
			continue
		}
		b := viewPageBox(f.view, seen)
		mid := b.Centre()
		f.Canvas.label(sheet.Text{S: k.Name, Size: sheet.Letters25, Align: sheet.Centre, Halo: true}, []plane.Point{
			mid, {X: mid.X, Y: b.Max.Y + 3}, {X: mid.X, Y: b.Min.Y - 3}, {X: mid.X, Y: b.Max.Y + 6}, {X: mid.X, Y: b.Min.Y - 6}})
	}
}

// TapeBrief is TapeShown where there is little room: 312.5 mm, and in an inch job the nearest 1/32 alone, 12-5/16".
func TapeBrief(j *job.Job, v float64) string {
	if j.Inch {
		return panelTape(j, v)
	}
	return panelTape(j, v) + " mm"
}

// panelTape shows a running dimension as the job's tape does: mm, or in an inch job the nearest 1/32 in.
func panelTape(j *job.Job, v float64) string {
	if j.Inch {
		frac, _ := measure.Fraction(v, 32)
		return strings.TrimSuffix(frac, " in") + "\""
	}
	return measure.Fixed(v, 1)
}
