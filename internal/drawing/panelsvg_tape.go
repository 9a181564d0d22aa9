package drawing

import (
	"cmp"
	"slices"

	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// panelStop is one value of a running dimension.
type panelStop struct {
	s    float64 // reading of the tape
	text string
}

// tape draws running dimensions outside every edge, as a tape along it reads: from a ring at the edge's datum, a value at
// each station and at the end.
func (f *Figure) tape() {
	for _, e := range f.panel.Job.Edges {
		r := tapeRunOf(f.panel.Job, e)
		var stops []panelStop
		for _, st := range f.panel.Stations {
			if st.Edge == e.Name {
				s := r.readingOf(st)
				stops = append(stops, panelStop{s, panelTape(f.job, s)})
			}
		}
		stops = append(stops, panelStop{r.length, panelTape(f.job, r.length)})
		slices.SortStableFunc(stops, func(a, b panelStop) int { return cmp.Compare(a.s, b.s) })
		f.tapeAlong(&r, slices.CompactFunc(stops, func(a, b panelStop) bool { return a.text == b.text }))
	}
}

const (
	tapeOff  = 6.0 // from the outline to the line of the running dimension, page mm
	tapeText = 8.5 // from the outline to its values
)

func (f *Figure) tapeAlong(r *tapeRun, stops []panelStop) {
	path := r.path()
	run := viewOffset(path, 0, path.Length(), tapeOff/f.view.Scale)
	line := f.view.Path(plane.Open(run...))
	f.Canvas.path(line, sheet.Thin, sheet.LayerDimension)
	f.Canvas.place.takePath(line, costArea)
	for _, l := range r.prolonged() {
		f.Canvas.Line(f.view.Map(l[0]), f.view.Map(l[1]), sheet.Pen{Width: sheet.Fine.Width, Dash: []float64{1.6, 0.8}}, sheet.LayerDimension)
	}
	at, out := f.frame(r, 0)
	f.Canvas.circle(at.Add(out.Scale(tapeOff)), 0.8, sheet.Thin, sheet.LayerDimension)
	f.Canvas.Line(at.Add(out.Scale(1)), at.Add(out.Scale(tapeOff+1)), sheet.Fine, sheet.LayerDimension)
	for _, stop := range stops {
		f.tapeStop(r, stop)
	}
}

// frame is the place of a reading of the tape and the outward direction there, on the page.
func (f *Figure) frame(r *tapeRun, reading float64) (at, out plane.Point) {
	at, out = r.frame(reading)
	return f.view.Map(at), viewDirection(f.view, out)
}

// tapeStop draws the tick and the value of one stop. Values stand across the edge; one that would run into another moves
// along the edge, on a bent line.
func (f *Figure) tapeStop(r *tapeRun, stop panelStop) {
	at, out := f.frame(r, stop.s)
	along := out.Perp().Scale(-1)
	foot := at.Add(out.Scale(tapeOff))
	f.Canvas.Line(at.Add(out.Scale(1)), foot.Add(out.Scale(1)), sheet.Fine, sheet.LayerDimension)
	f.Canvas.arrow(foot, panelAlong(out, f.view.Mirror), 2, sheet.LayerDimension)
	turn, reads := viewUpright(out)
	align := sheet.Left
	if reads.Dot(out) < 0 {
		align = sheet.Right
	}
	const size = sheet.Letters25
	down := plane.Point{Y: 1}.Rotate(-turn).Scale(size * sheet.CapHeight / 2)
	shifts := []float64{0, -2, 2, -4, 4, -6, 6, -8, 8, -11, 11}
	var quads []Quad
	var texts []sheet.Text
	var starts []plane.Point
	for _, far := range []float64{tapeText, tapeText + 3} {
		for _, k := range shifts {
			start := at.Add(out.Scale(far)).Add(along.Scale(k))
			t := sheet.Text{At: start.Add(down), Size: size, S: stop.text, Align: align, Turn: turn, Layer: sheet.LayerDimension}
			starts = append(starts, start)
			texts = append(texts, t)
			quads = append(quads, TextQuad(t))
		}
	}
	i, ok := f.Canvas.place.best(quads, func(i int) float64 { return float64(i) * 0.5 })
	if !ok {
		f.Bare = append(f.Bare, r.edge.Name+" "+stop.text)
		return
	}
	if starts[i].Dist(at.Add(out.Scale(tapeText))) > 0.1 {
		f.Canvas.Line(foot.Add(out.Scale(1)), starts[i].Sub(out.Scale(0.5)), sheet.Fine, sheet.LayerDimension)
	}
	f.Canvas.text(texts[i])
}

// panelAlong is the direction on the page in which the tape runs where outward is out.
func panelAlong(out plane.Point, mirror bool) plane.Point {
	if mirror {
		out = out.Scale(-1)
	}
	// Outward is to the right of travel on the panel; on the page, with y downwards, travel is out turned by a quarter.
	return plane.Point{X: out.Y, Y: -out.X}
}
