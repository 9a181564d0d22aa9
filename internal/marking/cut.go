package marking

import (
	"fmt"
	"io"
	"math"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Layers of a cutting drawing, by what is done there.
const (
	cutOutline   = "cut"
	cutHoles     = "holes"
	cutSinks     = "countersinks"
	cutMarks     = "marks"
	cutReference = "reference"
	cutText      = "text"
)

// cutLayers are the same in a DXF.
var cutLayers = []sheet.DXFLayer{
	{Layer: cutOutline, Name: "CUT", Colour: 1}, {Layer: cutHoles, Name: "HOLES", Colour: 5}, {Layer: cutSinks, Name: "COUNTERSINK_MARK", Colour: 6},
	{Layer: cutMarks, Name: "MARK", Colour: 3}, {Layer: cutReference, Name: "REFERENCE", Colour: 8}, {Layer: cutText, Name: "TEXT", Colour: 4},
}

// Cutting is the drawing by which one sheet of one panel is cut by laser, water jet or router: layers by operation, the true outline,
// true circles, text as outlines on a layer of its own. Kerf is left to the cutter.
type Cutting struct {
	Name   string // of its files, without an ending
	Panel  string // id
	Layer  string // of the stack, as in the hole schedule
	Pilot  bool   // holes are drawn at the size of their pilots
	Sheet  sheet.Sheet
	Origin plane.Point // where the panel's (0, 0) lies on the sheet
}

// WriteDXF writes it in panel coordinates, mm.
func (c Cutting) WriteDXF(w io.Writer) error {
	return sheet.WriteDXF(w, c.Sheet, c.Origin, cutLayers)
}

// WriteSVG writes it at full size, mm.
func (c Cutting) WriteSVG(w io.Writer) error { return sheet.WriteSVG(w, c.Sheet) }

// Cuttings draws every sheet that has holes or an outline of its own: the outer panel whole, the layers behind it with the outer
// panel's outline for reference. It fails with *sheet.MissingGlyph.
func Cuttings(p *setout.Plan) ([]Cutting, error) {
	var out []Cutting
	used := map[string]bool{}
	inner := Inner(p) // panels without a crown are the same there
	for i, pan := range p.Panels {
		names := []string{pan.Job.Outer.Name}
		for _, h := range pan.Holes { // holes come in the order of work, so layers are gathered from the stack's order
			names = addOnce(names, h.Layer)
		}
		for _, name := range stackOrder(pan, names) {
			outer := name == pan.Job.Outer.Name
			drawn := pan
			if !outer {
				drawn = inner.Panels[i]
			}
			c, err := cutting(p, drawn, name, outer)
			if err != nil {
				return nil, err
			}
			// "Foam 1" and "foam-1" make one word, and so may two panels with their layers.
			for file, n := c.Name, 2; used[c.Name]; n++ {
				c.Name = fmt.Sprintf("%s-%d", file, n)
			}
			used[c.Name] = true
			out = append(out, c)
		}
	}
	return out, nil
}

func addOnce(names []string, name string) []string {
	for _, n := range names {
		if n == name {
			return names
		}
	}
	return append(names, name)
}

// stackOrder sorts the names of layers from outside inwards; those of one support alone come last.
func stackOrder(pan *setout.Panel, names []string) []string {
	var out []string
	for _, st := range pan.Stations {
		for _, l := range drawing.SectionLayers(pan, st) {
			for _, n := range names {
				if n == l.Name {
					out = addOnce(out, n)
				}
			}
		}
	}
	for _, n := range names {
		out = addOnce(out, n)
	}
	return out
}

// Sizes of a cutting drawing, mm.
const (
	cutMargin = 12.0
	cutCross  = 3.0 // half a station's mark
)

// cutPen is what all lines are drawn with: a cutter follows their middle.
var cutPen = sheet.Pen{Width: 0.2}

// cutting draws one layer.
func cutting(p *setout.Plan, pan *setout.Panel, layer string, outer bool) (Cutting, error) {
	j := p.Job
	c := Cutting{Panel: pan.Job.ID, Layer: layer, Pilot: j.MarkingOut.Holes == "pilot", Name: "cut-" + pan.Job.ID + "-" + fileWord(layer)}
	box := pan.Job.Outline.Bounds()
	notes := cutNotes(j, pan, layer, outer, c.Pilot)
	wide := 0.0
	for _, n := range notes {
		wide = math.Max(wide, sheet.TextWidth(n, sheet.Letters35, sheet.Regular))
	}
	again := 0 // lines in bold, before the others
	for _, l := range drawing.AgainLines(j, pan.Job) {
		lines := sheet.Wrap(l, math.Max(wide, box.Width()), sheet.Letters35, sheet.Bold)
		notes = append(append(append([]string{}, notes[:again]...), lines...), notes[again:]...)
		again += len(lines)
	}
	text := float64(len(notes)) * sheet.Letters35 * sheet.Leading
	c.Sheet = sheet.Sheet{Title: pan.Job.Name + ", " + layer, W: math.Max(box.Width(), wide) + 2*cutMargin, H: box.Height() + 3*cutMargin + text}
	c.Origin = plane.Point{X: cutMargin - box.Min.X, Y: cutMargin + box.Max.Y}
	v := sheet.View{Origin: c.Origin, Scale: 1}
	edge := cutReference
	if outer {
		edge = cutOutline
	}
	for _, path := range pan.Job.Outline.Paths() {
		c.Sheet.Add(sheet.Stroke{Path: v.Path(path), Pen: &cutPen, Layer: edge})
	}
	for _, h := range pan.Holes {
		if h.Layer == layer {
			c.hole(v, h)
		}
	}
	for _, st := range pan.Stations {
		at := v.Map(st.At)
		for _, d := range []plane.Point{{X: cutCross}, {Y: cutCross}} {
			c.Sheet.Add(sheet.Line(at.Sub(d), at.Add(d), &cutPen, cutMarks))
		}
		if err := c.write(sheet.Text{At: at.Add(plane.Point{X: cutCross + 1, Y: -cutCross - 1}), S: st.ID, Size: sheet.Letters35}); err != nil {
			return c, err
		}
	}
	y := box.Height() + 2*cutMargin
	for i, n := range notes {
		y += sheet.Letters35 * sheet.Leading
		text := sheet.Text{At: plane.Point{X: cutMargin, Y: y}, S: n, Size: sheet.Letters35}
		if i < again {
			text.Font = sheet.Bold
		}
		if err := c.write(text); err != nil {
			return c, err
		}
	}
	return c, nil
}

// write sets text as the outlines of its letters: a cutter's program has no face of ours.
func (c *Cutting) write(t sheet.Text) error {
	paths, err := sheet.TextPaths(t)
	for _, p := range paths {
		c.Sheet.Add(sheet.Stroke{Path: p, Pen: &cutPen, Layer: cutText})
	}
	return err
}

// hole draws one hole, and the rim of its countersink.
func (c *Cutting) hole(v sheet.View, h setout.Hole) {
	at := v.Map(h.At)
	switch {
	case h.Operation:
	case h.Length > 0:
		c.Sheet.Add(sheet.Stroke{Path: v.Path(drawing.CutOut(h)), Pen: &cutPen, Layer: cutHoles})
	default:
		d := drawing.HoleDiameter(h)
		if c.Pilot && h.Pilot != nil {
			d = h.Pilot.Diameter
		}
		c.Sheet.Add(sheet.Circle{At: at, R: d / 2, Pen: &cutPen, Layer: cutHoles})
	}
	if h.Countersink != nil && !c.Pilot {
		c.Sheet.Add(sheet.Circle{At: at, R: h.Countersink.Diameter / 2, Pen: &cutPen, Layer: cutSinks})
	}
}

// cutNotes are the lines under the drawing.
func cutNotes(j *job.Job, pan *setout.Panel, layer string, outer, pilot bool) []string {
	what := pan.Job.Name + ": " + layer
	if n := pan.Job.Quantity; n > 1 {
		what += fmt.Sprintf(", for %d panels", n)
	}
	if j.Sample {
		what += " (sample)"
	}
	sized := "Holes at final size, by the drill where there is one"
	if pilot {
		sized = "Holes at the size of their pilot drills where they have one, to be opened by hand"
	}
	out := []string{what, "Seen from outside. " + sized + ". Kerf is not taken off: the cutter does that."}
	if outer {
		out = append(out, "CUT: "+drawing.LayerWords(&pan.Job.Outer)+". COUNTERSINK_MARK, MARK, TEXT: do not cut through.")
	} else {
		out = append(out, "REFERENCE: the outer panel's edge, not this sheet's. COUNTERSINK_MARK, MARK, TEXT: do not cut through.")
	}
	if !outer && pan.Inner != "" {
		out = append(out, sheet.Wrap(pan.Inner, math.Max(sheet.TextWidth(out[1], sheet.Letters35, sheet.Regular), pan.Job.Outline.Bounds().Width()), sheet.Letters35, sheet.Regular)...)
	}
	box := pan.Job.Outline.Bounds()
	return append(out, "Check before cutting: "+measure.MM(box.Width())+" across, "+measure.MM(box.Height())+" high. 1 unit is 1 mm.")
}

// fileWord makes a word of a layer's name for a file's.
func fileWord(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s
	}
	return "layer"
}
