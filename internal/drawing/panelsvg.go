package drawing

import (
	"fmt"
	"io"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// PanelView says how large a drawing of a panel may be and what it shows.
type PanelView struct {
	Width     float64 // mm, of the whole sheet
	HeightMax float64 // mm; the sheet is as high as the drawing needs, at most this
	Marks     PanelMarks
	Title     bool // name and sizes over the drawing
}

// PanelViewFull is the view of the panel's own SVG: everything, 280 mm wide.
var PanelViewFull = PanelView{Width: 280, HeightMax: 280, Title: true, Marks: PanelMarks{
	Supports: true, KeepOuts: true, Size: true, Tape: true, Witness: true, Front: true, ScaleBar: true, EdgeName: true}}

// PanelViewMap is the map of stations for the card and the page: numbers, edges, front, witness marks; no dimensions.
var PanelViewMap = PanelView{Width: 180, HeightMax: 150, Marks: PanelMarks{
	KeepOuts: true, Witness: true, Front: true, EdgeName: true, ScaleBar: true}}

// PanelSheet draws one panel to scale on a sheet of its own, as the view asks: the outline with its cut-outs, seat lines and
// numbered stations always. Nothing is drawn that the plan does not hold. A view without width or height panics.
func PanelSheet(j *job.Job, p *setout.Panel, view PanelView) sheet.Sheet {
	if !(view.Width > 0 && view.HeightMax > 0) {
		panic(fmt.Sprintf("drawing: panel view of %g × %g mm", view.Width, view.HeightMax))
	}
	const edge = 3.0
	b := p.Job.Outline.Outer.Bounds()
	low, high := view.Marks.Border(j)
	head, foot := 0.0, panelFoot(view.Marks)
	if view.Title {
		head = 15
	}
	scale := FitScale(b.Width(), b.Height(), view.Width-2*edge-low-high, view.HeightMax-2*edge-low-high-head-foot, 1)
	h := math.Min(view.HeightMax, scale*b.Height()+low+high+head+foot+2*edge)
	s := sheet.Sheet{Title: p.Job.Name, W: view.Width, H: h}
	s.Add(sheet.Rectangle(0, 0, s.W, s.H, nil, &sheet.White, "paper"))
	room := plane.Box{Min: At(edge, edge+head), Max: At(view.Width-edge, h-edge-foot)}
	f := DrawPanel(j, p, room, view.Marks)
	if view.Title {
		f.title(edge, view.Width-2*edge)
	}
	f.footLine(edge, h-edge, view.Width-2*edge)
	s.Add(f.Canvas.Items...)
	return s
}

// panelFoot is the height of the line of explanations under the drawing, mm.
func panelFoot(m PanelMarks) float64 {
	if m.Witness || m.ScaleBar {
		return 11
	}
	return 0
}

// title writes the panel's name and what it is over the drawing.
func (f *Figure) title(x, width float64) {
	p := f.panel.Job
	name, size := sheet.FitText(p.Name, width, sheet.Letters50, sheet.Letters25, sheet.Bold)
	f.Canvas.Bold(x, 9, size, sheet.Left, name)
	b := p.Outline.Outer.Bounds()
	words := fmt.Sprintf("%s × %s · %s · %d stations · scale %s", Across(f.job, b.Width()), Across(f.job, b.Height()),
		LayerWords(&p.Outer), len(f.panel.Stations), viewScaleName(f.view.Scale))
	if p.Quantity > 1 {
		words += fmt.Sprintf(" · %d of this panel", p.Quantity)
	}
	if f.job.Sample {
		words += " · sample"
	}
	words, size = sheet.FitText(words, width, sheet.Letters25, sheet.Letters25*0.8, sheet.Regular)
	f.Canvas.Write(x, 15, size, sheet.Left, words)
}

// LayerWords says what a layer is: "2.50 mm glass fibre".
func LayerWords(l *job.Layer) string {
	t := templateMM(l.Thickness.Nom)
	if l.Material == nil {
		return t + " gap"
	}
	return t + " " + l.Material.Name
}

// footLine draws the scale bar and explains the symbols.
func (f *Figure) footLine(x, y, width float64) {
	if f.marks.ScaleBar {
		step := panelScaleStep(f.view.Scale)
		f.Canvas.addMarks(sheet.ScaleBar(x+2, y-1, f.view.Scale, step, 4))
		x += 4*step*f.view.Scale + 22
	}
	words := "ring: station · chain line: seat line"
	if f.marks.Witness {
		words = "bar across a station: witness mark when locked"
	}
	if f.marks.Supports {
		words += " · hatched band: support"
	}
	if f.marks.KeepOuts && len(f.panel.Job.KeepOuts) > 0 {
		words += " · cross-hatched: keep-out"
	}
	if f.marks.Tape {
		words += " · tape from the ring, at the sharp corner where an edge is straight"
	}
	lines := sheet.Wrap(words, width-x, sheet.Letters25, sheet.Regular)
	for i, l := range lines {
		f.Canvas.Write(x, y-1-float64(len(lines)-1-i)*4.4, sheet.Letters25, sheet.Left, l)
	}
}

// panelScaleStep is the round length on the part of which four make a handy scale bar, mm.
func panelScaleStep(scale float64) float64 {
	for _, step := range []float64{250, 200, 100, 50, 25, 20} {
		if 4*step*scale <= 70 {
			return step
		}
	}
	return 10
}

// addMarks adds marks of package sheet, and keeps labels off their texts.
func (c *Canvas) addMarks(items []sheet.Item) {
	for _, it := range items {
		if t, ok := it.(sheet.Text); ok {
			c.text(t)
		} else {
			c.Add(it)
		}
	}
}

// PanelSVG writes a panel's drawing as an SVG file of its own, 280 mm wide at most as high.
func PanelSVG(w io.Writer, plan *setout.Plan, p *setout.Panel) error {
	return sheet.WriteSVG(w, PanelSheet(plan.Job, p, PanelViewFull))
}
