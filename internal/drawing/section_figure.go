package drawing

import (
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// SectionFigure draws the section through a station with its parts chosen, as large as a usual scale lets it stand in w × h,
// at most 3:1, with its depths on the right and its scale. The sheet is as high as the figure asks, at most h.
func SectionFigure(p *setout.Panel, st *setout.Station, w, h float64) sheet.Sheet {
	const above, below, gap = 9.0, 9.0, 8.0
	m := sectionOf(p, st)
	room := w - sectionDims - gap
	scale := FitScale(2*m.half, m.deep-m.high, room, h-above-below, 3)
	var c Canvas
	plot := sectionPlot{m: m, c: &c, scale: scale, full: true, origin: At(room/2, above-scale*m.high)}
	plot.draw()
	plot.depths(room/2 + scale*m.half + gap)
	c.Write(0, 3.5, sheet.Letters25, sheet.Left, ScaleName(scale))
	return sheet.Sheet{Title: "Section", W: w, H: above + below + scale*(m.deep-m.high), Items: c.Items}
}

// ScaleName writes a scale as drawings do: 1:5, 3:1.
func ScaleName(s float64) string { return viewScaleName(s) }

// LayerHatch is the hatching of a family of materials in section, for layer i of the stack, whose region the caller fills in.
func LayerHatch(f stock.Family, i int) sheet.Hatch { return sectionHatch(f, i) }
