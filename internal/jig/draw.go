package jig

import (
	"fmt"
	"io"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
	"panelwright/internal/solid"
)

// Layers of the plate's drawing.
const (
	layerCut    = "cut"
	layerSeats  = "seats"
	layerDowels = "dowels"
	layerMarks  = "marks"
	layerText   = "text"
)

var dxfLayers = []sheet.DXFLayer{
	{Layer: layerCut, Name: "CUT", Colour: 1}, {Layer: layerSeats, Name: "BUSH_HOLES", Colour: 5}, {Layer: layerDowels, Name: "DOWEL_HOLES", Colour: 6},
	{Layer: layerMarks, Name: "MARK", Colour: 3}, {Layer: layerText, Name: "TEXT", Colour: 4},
}

// hair is what all lines of a drawing to cut are drawn with.
var hair = sheet.Pen{Width: 0.2}

// Dowels are where round pins stand in for a printed fence, each with its diameter: they touch the edge where the fence does.
func (j *Jig) Dowels() (at []plane.Point, diameter float64) {
	f := j.Fence
	if len(f.Pins) > 0 {
		return f.Pins, 2 * f.PinR
	}
	if f.Distance > 0 {
		y := -f.Distance - fencePin
		x := f.Half - fencePin
		return []plane.Point{{X: -x, Y: y}, {X: x, Y: y}}, 2 * fencePin
	}
	return nil, 0
}

// Drawing is the plate as it is cut: its outline, the holes for bushes and dowels, the panel's edge and the centre lines as marks. The
// jig's (0, 0), the station's axis, lies at origin on the sheet.
func (j *Jig) Drawing() (s sheet.Sheet, origin plane.Point, err error) {
	const margin = 10.0
	box := j.Plate.Bounds()
	notes := []string{
		j.Title() + ": plate, " + j.mm(j.Thick) + " thick.",
		"BUSH_HOLES are the bushes' outside with " + j.mm(j.Clear) + " for clearance, " + j.mm(j.slide()) + " for pins and inserts; kerf is not taken off.",
	}
	wide := box.Width()
	for _, n := range notes {
		wide = max(wide, sheet.TextWidth(n, sheet.Letters25, sheet.Regular))
	}
	foot := float64(len(notes)) * sheet.Letters25 * sheet.Leading
	s = sheet.Sheet{Title: j.Title(), W: wide + 2*margin, H: box.Height() + 2*margin + foot + 4}
	origin = plane.Point{X: margin - box.Min.X, Y: margin + box.Max.Y}
	v := sheet.View{Origin: origin, Scale: 1}
	s.Add(sheet.Stroke{Path: v.Path(j.Plate), Pen: &hair, Layer: layerCut})
	for _, h := range j.Holes {
		s.Add(sheet.Circle{At: v.Map(h.At), R: h.Seat / 2, Pen: &hair, Layer: layerSeats})
		for _, d := range []plane.Point{{X: 2}, {Y: 2}} {
			s.Add(sheet.Line(v.Map(h.At.Sub(d)), v.Map(h.At.Add(d)), &hair, layerMarks))
		}
	}
	dowels, d := j.Dowels()
	for _, at := range dowels {
		s.Add(sheet.Circle{At: v.Map(at), R: d / 2, Pen: &hair, Layer: layerDowels})
	}
	if f := j.Fence; f.Distance > 0 && len(f.Pins) == 0 {
		s.Add(sheet.Line(v.Map(plane.Point{X: -f.Half, Y: -f.Distance}), v.Map(plane.Point{X: f.Half, Y: -f.Distance}), &hair, layerMarks))
	}
	text, err := j.textRegions()
	if err != nil {
		return s, origin, err
	}
	for _, t := range text {
		for _, p := range t.Paths() {
			s.Add(sheet.Stroke{Path: v.Path(p), Pen: &hair, Layer: layerText})
		}
	}
	y := box.Height() + 2*margin
	for _, n := range notes {
		y += sheet.Letters25 * sheet.Leading
		paths, err := sheet.TextPaths(sheet.Text{At: plane.Point{X: margin, Y: y}, S: n, Size: sheet.Letters25})
		if err != nil {
			return s, origin, err
		}
		for _, p := range paths {
			s.Add(sheet.Stroke{Path: p, Pen: &hair, Layer: layerText})
		}
	}
	return s, origin, nil
}

// WriteDXF writes the plate's drawing, mm, (0, 0) on the station's axis.
func (j *Jig) WriteDXF(w io.Writer) error {
	s, origin, err := j.Drawing()
	if err != nil {
		return err
	}
	return sheet.WriteDXF(w, s, origin, dxfLayers)
}

// WriteSTL writes all parts as one binary STL, side by side, as they lie on a printer's bed.
func (j *Jig) WriteSTL(w io.Writer) error {
	shells, err := j.Shells()
	if err != nil {
		return err
	}
	return solid.Join(j.Title(), shells).WriteSTL(w)
}

// Write3MF writes the parts as objects of one 3MF package.
func (j *Jig) Write3MF(w io.Writer) error {
	shells, err := j.Shells()
	if err != nil {
		return err
	}
	return solid.Write3MF(w, j.Title(), shells)
}

// mm shows a length, with inches behind it in a job that is measured in inches.
func (j *Jig) mm(v float64) string {
	if j.inch {
		return measure.MMInch(v)
	}
	return measure.MM(v)
}

// Title names the jig and its hand.
func (j *Jig) Title() string {
	switch j.Hand {
	case "left", "right":
		return j.Name + ", " + j.Hand + " hand"
	}
	return j.Name
}

// bushWords says what stands in a hole of the plate.
func (j *Jig) bushWords(h Hole) string {
	if h.Bush == nil {
		return "plain guide"
	}
	s := fmt.Sprintf("%s × %s × %s mm", measure.Fixed(h.Drill, 1), measure.Fixed(h.Bush.Outside, 1), measure.Fixed(h.Bush.Length, 0))
	if j.inch {
		s += fmt.Sprintf(" (%s × %s × %s)", strings.TrimSuffix(measure.Inch(h.Drill), " in"), strings.TrimSuffix(measure.Inch(h.Bush.Outside), " in"), measure.Inch(h.Bush.Length))
	}
	if h.Bush.Name != "" {
		s = h.Bush.Name + ", " + s
	}
	return s
}
