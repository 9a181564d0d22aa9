package drawing

import (
	"fmt"
	"math"
	"slices"

	"panelwright/internal/contour"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

const (
	bearingWidth  = 130.0 // so that its letters still read when the page is as wide as a hand
	bearingHeight = 150.0 // at most
	bearingFoot   = 28.0  // under the drawing: scale of greys, scale bar, what the marks are
	bearingEdge   = 2.0
	bearingBands  = 8   // at most: more greys no printer keeps apart
	bearingThin   = 0.1 // page mm that a line may leave its place to have fewer points
	bearingGrid   = 0.05
)

// bearingPicture is the deflection of a panel in one case, as bands and lines.
type bearingPicture struct {
	*Figure
	layers      []contour.Layer // simplified, in painting order
	paths       [][]plane.Path  // lines on the page, of each level
	levels      []float64
	step        float64
	least, most float64 // mm, least and greatest value shown
	c           *setout.BearingCase
}

// BearingSheet draws to scale how far each place of a panel bends outward in case c of its bearing: bands of grey, darker
// outwards, with lines of equal deflection that carry their value in mm, the seat lines and supports, the numbered stations (full
// where the seat has opened), and marks where the seam opens most and where the stress is greatest. A panel whose bearing is
// not known, or a case that it does not have, panics.
func BearingSheet(j *job.Job, p *setout.Panel, c int) sheet.Sheet {
	if p.Bearing == nil || !p.Bearing.Known || c < 0 || c >= len(p.Bearing.Cases) {
		panic(fmt.Sprintf("drawing: no case %d in the bearing of %s", c, p.Job.Name))
	}
	marks := PanelMarks{Supports: true, EdgeName: true}
	low, high := marks.Border(j)
	b := p.Job.Outline.Outer.Bounds()
	scale := FitScale(b.Width(), b.Height(), bearingWidth-2*bearingEdge-low-high, bearingHeight-2*bearingEdge-low-high-bearingFoot, 1)
	h := math.Min(bearingHeight, scale*b.Height()+low+high+bearingFoot+2*bearingEdge)
	s := sheet.Sheet{Title: p.Job.Name + " under load", W: bearingWidth, H: h}
	s.Add(sheet.Rectangle(0, 0, s.W, s.H, nil, &sheet.White, "paper"))
	room := plane.Box{Min: At(bearingEdge, bearingEdge), Max: At(s.W-bearingEdge, h-bearingEdge-bearingFoot)}
	d := &bearingPicture{Figure: fitPanel(j, p, room, marks), c: &p.Bearing.Cases[c]}
	d.cut(p.Bearing)
	d.bands()
	d.supports()
	d.lines()
	d.outlines()
	d.stations()
	d.opened()
	d.places()
	d.numbers()
	d.edgeNames()
	d.values()
	d.legend(h - bearingEdge - bearingFoot)
	s.Add(d.Canvas.Items...)
	return s
}

// cut chooses the levels and cuts the field. What lies within a fiftieth of a step of zero counts as zero there: the panel
// touches.
func (d *bearingPicture) cut(b *setout.Bearing) {
	field := contour.Field{Node: b.Node, Tris: b.Tris, Value: slices.Clone(d.c.W)}
	if len(field.Value) == 0 {
		return
	}
	_, d.step = contour.Levels(slices.Min(field.Value), slices.Max(field.Value), bearingBands)
	for i, w := range field.Value {
		if math.Abs(w) < d.step/50 {
			field.Value[i] = 0
		}
	}
	d.least, d.most = slices.Min(field.Value), slices.Max(field.Value)
	d.levels, d.step = contour.Levels(d.least, d.most, bearingBands)
	d.paths = make([][]plane.Path, len(d.levels))
	for _, l := range field.Layers(d.levels) {
		l.Loop = l.Loop.Simplify(bearingThin / d.view.Scale)
		d.layers = append(d.layers, l)
		for _, line := range l.Loop.Lines() {
			if path := plane.Open(d.page(line.At)...); len(path.V) > 1 {
				path.Closed = line.Closed
				d.paths[l.Level] = append(d.paths[l.Level], path)
			}
		}
	}
}

// tone is the grey of a band: light where the panel stays, darker outwards; never so dark that black letters drown.
func (d *bearingPicture) tone(band int) sheet.Tone {
	const light, dark = 250, 140
	if band < 0 {
		return sheet.White
	}
	if len(d.levels) == 0 {
		return sheet.Grey(light)
	}
	return sheet.Grey(uint8(light - (light-dark)*band/len(d.levels)))
}

func (d *bearingPicture) bands() {
	for _, l := range d.layers {
		path := plane.Polygon(d.page(l.Loop.At)...)
		if len(path.V) > 2 {
			d.Canvas.area(path, nil, d.tone(l.Band), "bands")
		}
	}
}

// supports hatches what the panel rests on, more lightly than on the other drawings: the bands must stay to be seen.
func (d *bearingPicture) supports() {
	hair := sheet.Pen{Width: 0.13, Tone: sheet.Grey(70)}
	chain := sheet.Chain
	chain.Width = 0.18
	for _, s := range d.panel.SeatLines {
		if band := panelBand(s); len(band.V) > 0 {
			d.Canvas.Add(sheet.Hatch{Region: plane.Region{Outer: d.view.Path(band)}, Angle: -math.Pi / 4, Pitch: 2.4, Pen: hair, Layer: "supports"})
		}
	}
	for _, s := range d.panel.SeatLines {
		page := d.view.Path(s.Path)
		d.Canvas.path(page, chain, sheet.LayerCentre)
		d.Canvas.place.takePath(page, costSeat)
	}
}

// page maps points to the page, on a grid that an eye cannot see, so that the file stays small.
func (d *bearingPicture) page(pts []plane.Point) []plane.Point {
	var out []plane.Point
	for _, p := range pts {
		q := d.view.Map(p)
		q = At(math.Round(q.X/bearingGrid)*bearingGrid, math.Round(q.Y/bearingGrid)*bearingGrid)
		if len(out) == 0 || out[len(out)-1] != q {
			out = append(out, q)
		}
	}
	return out
}

// lines draws the lines of equal deflection, that of zero heavier.
func (d *bearingPicture) lines() {
	for i, level := range d.levels {
		pen := sheet.Pen{Width: 0.18}
		if level == 0 {
			pen.Width = 0.35
		}
		for _, path := range d.paths[i] {
			d.Canvas.path(path, pen, "lines")
		}
	}
}

// values writes each line's value on it, where there is room.
func (d *bearingPicture) values() {
	const least, far = 12, 150 // page mm: a shorter line needs no value, a longer one a second
	for i, level := range d.levels {
		for _, path := range d.paths[i] {
			long := path.Length()
			if long < least {
				continue
			}
			starts := []float64{0.5}
			if long > far {
				starts = []float64{0.25, 0.75}
			}
			for _, k := range starts {
				d.value(d.number(level), func(off float64) plane.Point { return path.At((k + off) * long) })
			}
		}
	}
}

// value writes a line's value on the line, near the middle of its share, unless it would cover an outline or another text.
func (d *bearingPicture) value(words string, at func(off float64) plane.Point) {
	t := sheet.Text{S: words, Size: sheet.Letters25, Align: sheet.Centre, Halo: true}
	var quads []Quad
	var texts []sheet.Text
	for _, off := range []float64{0, 0.04, -0.04, 0.08, -0.08, 0.14, -0.14, 0.2, -0.2} {
		t.At = at(off).Add(At(0, t.Size*sheet.CapHeight/2))
		texts, quads = append(texts, t), append(quads, TextQuad(t).grown(0.6))
	}
	i, ok := d.Canvas.place.best(quads, func(i int) float64 { return float64(i) * 0.3 })
	if !ok {
		return
	}
	if cost, _ := d.Canvas.place.cost(quads[i]); cost < costOutline {
		d.Canvas.text(texts[i])
	}
}

// number shows a level with as many decimals as its step has.
func (d *bearingPicture) number(level float64) string {
	if level == 0 {
		return "0"
	}
	return measure.Fixed(level, d.decimals())
}

func (d *bearingPicture) decimals() int {
	if !(d.step > 0) {
		return 2
	}
	return max(0, int(-math.Floor(math.Log10(d.step)+1e-9)))
}

// opened fills the rings of the stations whose seat has opened.
func (d *bearingPicture) opened() {
	for i, st := range d.panel.Stations {
		if i < len(d.c.Open) && d.c.Open[i] {
			d.Canvas.Add(sheet.Circle{At: d.view.Map(st.At), R: panelSpot, Fill: &sheet.Black, Layer: "stations"})
		}
	}
}

// places marks where the seam opens most and where the stress is greatest, each with its figure.
func (d *bearingPicture) places() {
	const r = 1.9
	white := sheet.Pen{Width: 0.5, Tone: sheet.White}
	mark := func(at plane.Point, words string, corners ...plane.Point) {
		at = d.view.Map(at)
		for i := range corners {
			corners[i] = at.Add(corners[i].Scale(r))
		}
		d.Canvas.area(plane.Polygon(corners...), &white, sheet.Black, "places")
		d.Canvas.place.takeDisc(at, r+0.4)
		d.callout(at, words)
	}
	if d.c.Stress > 0 {
		mark(d.c.StressAt, measure.Pa(d.c.Stress), At(-0.8, -0.8), At(0.8, -0.8), At(0.8, 0.8), At(-0.8, 0.8))
	}
	if d.c.GapMax > 0 {
		mark(d.c.GapAt, measure.MM(d.c.GapMax), At(0, -1), At(0.95, 0.75), At(-0.95, 0.75))
	}
}

// callout writes words beside a mark where there is room.
func (d *bearingPicture) callout(at plane.Point, words string) {
	const size = sheet.Letters25
	w := sheet.TextWidth(words, size, sheet.Bold)
	quads, anchors := viewRing(at, w, size*(viewAscent+viewDescent), []float64{2.8, 4, 6, 9, 13, 18})
	i, ok := d.Canvas.place.best(quads, func(i int) float64 { return float64(i/16) * 2 })
	if !ok {
		return // the legend and the table say it
	}
	if a, b, ok := figureLeader(at, anchors[i]); ok {
		d.Canvas.Line(a, b, sheet.Fine, sheet.LayerDimension)
	}
	d.Canvas.text(sheet.Text{At: At(quads[i][0].X, quads[i][0].Y+size*viewAscent), Size: size, S: words, Font: sheet.Bold, Halo: true})
}

// legend draws the scale of greys, the scale bar, and says what the marks are, from y on.
func (d *bearingPicture) legend(y float64) {
	const size = sheet.Letters25
	left := bearingEdge + 1
	room := bearingWidth - 2*left
	d.Canvas.Write(left, y+3, size, sheet.Left, "bends outward, mm")
	n := len(d.levels) + 1
	box, thin := math.Min(10, room*0.55/float64(n)), sheet.Pen{Width: 0.18}
	for k := range n {
		fill := d.tone(k)
		d.Canvas.Add(sheet.Rectangle(left+float64(k)*box, y+5, box, 5, &thin, &fill, "legend"))
	}
	for k, level := range d.levels {
		d.Canvas.Write(left+float64(k+1)*box, y+14, size, sheet.Centre, d.number(level))
	}
	ends := "from " + bearingTrim(d.least, max(2, d.decimals()+1)) + " to " + bearingTrim(d.most, max(2, d.decimals()+1))
	d.Canvas.Write(left+sheet.TextWidth("bends outward, mm", size, sheet.Regular)+2, y+3, size, sheet.Left, ends)
	const bar, label = 36.0, 11.0 // the scale bar at most, and the half of its last number with the unit
	step := bearingStep(bar / 2 / d.view.Scale)
	d.Canvas.addMarks(sheet.ScaleBar(bearingWidth-left-2*step*d.view.Scale-label, y+10, d.view.Scale, step, 2))
	d.key(left, y+20, room)
}

// bearingStep is the greatest number of the series 1, 2, 5 that is not above v.
func bearingStep(v float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{5, 2} {
		if m*ten <= v {
			return m * ten
		}
	}
	return ten
}

func bearingTrim(v float64, decimals int) string { return viewTrim(v, min(decimals, 9)) }

// key says what the marks are, mark by mark.
func (d *bearingPicture) key(x, y, room float64) {
	const size, gap, r = sheet.Letters25, 5.0, 1.5
	left, ring, white := x, sheet.Pen{Width: 0.3}, sheet.White
	entry := func(words string, symbol func(at plane.Point) sheet.Item) {
		w := sheet.TextWidth(words, size, sheet.Regular)
		if x+4+w > left+room {
			x, y = left, y+5.5
		}
		d.Canvas.Add(symbol(At(x+r, y-size*sheet.CapHeight/2)))
		d.Canvas.Write(x+4, y, size, sheet.Left, words)
		x += 4 + w + gap
	}
	fill := func(corners ...plane.Point) func(at plane.Point) sheet.Item {
		return func(at plane.Point) sheet.Item {
			for i := range corners {
				corners[i] = at.Add(corners[i].Scale(r))
			}
			return sheet.Stroke{Path: plane.Polygon(corners...), Fill: &sheet.Black, Layer: "legend"}
		}
	}
	entry("seam opens most", fill(At(0, -1), At(0.95, 0.75), At(-0.95, 0.75)))
	entry("greatest stress", fill(At(-0.8, -0.8), At(0.8, -0.8), At(0.8, 0.8), At(-0.8, 0.8)))
	entry("station, seat shut", func(at plane.Point) sheet.Item {
		return sheet.Circle{At: at, R: r, Pen: &ring, Fill: &white, Layer: "legend"}
	})
	entry("station, seat open", func(at plane.Point) sheet.Item {
		return sheet.Circle{At: at, R: r, Fill: &sheet.Black, Layer: "legend"}
	})
	entry("hatched: support", func(at plane.Point) sheet.Item {
		return sheet.Hatch{Region: plane.Region{Outer: plane.Polygon(At(at.X-r, at.Y-r), At(at.X+r, at.Y-r), At(at.X+r, at.Y+r), At(at.X-r, at.Y+r))},
			Angle: -math.Pi / 4, Pitch: 0.8, Pen: viewHair, Layer: "legend"}
	})
}
