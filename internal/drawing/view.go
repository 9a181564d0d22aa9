package drawing

import (
	"math"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// Pens of the templates and views, beside those of package sheet.
var (
	viewBold  = sheet.Pen{Width: 0.9}                                           // a panel's edge, to be seen at arm's length
	viewHair  = sheet.Pen{Width: 0.13}                                          // light hatching of areas
	viewFree  = sheet.Pen{Width: 0.25, Dash: []float64{4, 1.2}}                 // what lies in the layer behind
	viewPart  = sheet.Pen{Width: 0.13, Dash: []float64{1.5, 1}}                 // a part's foot or plate
	viewGhost = sheet.Pen{Width: 0.25, Dash: []float64{6, 1.2, 1, 1.2, 1, 1.2}} // another position of a part
)

// viewFlat is how far a chord may stand off its arc where a curve is cut into lines, mm on the panel.
const viewFlat = 0.05

// At is the place (x, y), mm.
func At(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// Canvas gathers the marks of one page or figure, and remembers where texts stand.
type Canvas struct {
	Items []sheet.Item
	place viewPlacer
}

// Add puts marks on the canvas as they are.
func (c *Canvas) Add(items ...sheet.Item) { c.Items = append(c.Items, items...) }

// Line draws from a to b.
func (c *Canvas) Line(a, b plane.Point, pen sheet.Pen, layer string) {
	c.Add(sheet.Stroke{Path: plane.Open(a, b), Pen: &pen, Layer: layer})
}

// path draws a path in page coordinates.
func (c *Canvas) path(p plane.Path, pen sheet.Pen, layer string) {
	if len(p.V) > 0 {
		c.Add(sheet.Stroke{Path: p, Pen: &pen, Layer: layer})
	}
}

// area fills a path, and outlines it when pen is not nil.
func (c *Canvas) area(p plane.Path, pen *sheet.Pen, fill sheet.Tone, layer string) {
	c.Add(sheet.Stroke{Path: p, Pen: pen, Fill: &fill, Layer: layer})
}

func (c *Canvas) circle(at plane.Point, r float64, pen sheet.Pen, layer string) {
	c.Add(sheet.Circle{At: at, R: r, Pen: &pen, Layer: layer})
}

// text sets a text where it is asked for, and keeps later labels off it.
func (c *Canvas) text(t sheet.Text) {
	if t.Layer == "" {
		t.Layer = sheet.LayerText
	}
	c.Add(t)
	c.place.takeText(t)
}

// Write is text for the usual case: level, regular face.
func (c *Canvas) Write(x, y, size float64, align sheet.Align, s string) {
	c.text(sheet.Text{At: At(x, y), Size: size, S: s, Align: align})
}

// Bold is write in the bold face.
func (c *Canvas) Bold(x, y, size float64, align sheet.Align, s string) {
	c.text(sheet.Text{At: At(x, y), Size: size, S: s, Align: align, Font: sheet.Bold})
}

// wrapped sets s in lines of at most width from base line y on, and returns the base line after the last.
func (c *Canvas) wrapped(x, y, width, size float64, s string) float64 {
	for _, l := range sheet.Wrap(s, width, size, sheet.Regular) {
		c.Write(x, y, size, sheet.Left, l)
		y += size * sheet.Leading
	}
	return y
}

// JobWords names the job on a page that may lie among those of another: its name, its date, and that it is a sample.
func JobWords(j *job.Job) string {
	words := j.Name
	if j.Date != "" {
		words += " · " + j.Date
	}
	if j.Sample {
		words += " · sample"
	}
	return words
}

// NoApproval is the scope of a plan in short, for prints with little room.
const NoApproval = "a planning aid, no approval"

// Again heads what must be measured again before a panel is cut.
const Again = "Measure again before anything is cut"

// Boxed sets lines in bold in a heavy frame whose upper left corner is (x, y), and returns where it ends. No lines make no frame.
func (c *Canvas) Boxed(x, y, width, size float64, lines []string) float64 {
	if len(lines) == 0 {
		return y
	}
	const pad = 1.6
	from := y
	y += pad
	for _, l := range lines {
		items, high := sheet.Block(x+2*pad, y, width-4*pad, l, size, sheet.Bold)
		c.Add(items...)
		y += high
	}
	y += pad
	c.Add(sheet.Rectangle(x, from, width, y-from, &viewBold, nil, sheet.LayerTable))
	return y
}

// AgainLines are the lines of a box about a panel that must be measured again; none where nothing asks for it.
func AgainLines(j *job.Job, p *job.Panel) []string {
	if w := j.MeasureAgain(p); len(w) > 0 {
		return append([]string{Again}, w...)
	}
	return nil
}

// arrow draws a slim filled head with its tip at tip, pointing along the unit vector dir.
func (c *Canvas) arrow(tip, dir plane.Point, length float64, layer string) {
	back := tip.Sub(dir.Scale(length))
	side := dir.Perp().Scale(length * 0.17)
	c.area(plane.Polygon(tip, back.Add(side), back.Sub(side)), nil, sheet.Black, layer)
}

// cross draws a centre mark of two thin lines through at, reaching r along dir and across it.
func (c *Canvas) cross(at, dir plane.Point, r float64) {
	across := dir.Perp()
	for _, d := range []plane.Point{dir, across} {
		c.Line(at.Sub(d.Scale(r)), at.Add(d.Scale(r)), sheet.Fine, sheet.LayerCentre)
	}
}

// bigArrow draws a broad outlined arrow, to be seen from afar, from the middle of its tail to its tip.
func (c *Canvas) bigArrow(tail, tip plane.Point, width float64) {
	dir := tip.Sub(tail).Unit()
	n := dir.Perp()
	neck := tip.Sub(dir.Scale(width * 1.1))
	c.area(plane.Polygon(
		tail.Add(n.Scale(width/4)), neck.Add(n.Scale(width/4)), neck.Add(n.Scale(width/2)), tip,
		neck.Sub(n.Scale(width/2)), neck.Sub(n.Scale(width/4)), tail.Sub(n.Scale(width/4))),
		nil, sheet.Black, sheet.LayerDimension)
}

// viewDirection turns a direction on the panel into one on the page.
func viewDirection(v sheet.View, d plane.Point) plane.Point {
	return v.Map(d).Sub(v.Map(plane.Point{})).Unit()
}

// viewUpright returns the turn of a text that runs along dir (page coordinates) and is not upside down: it reads from below
// or from the right. along is the direction in which its letters then run.
func viewUpright(dir plane.Point) (turn float64, along plane.Point) {
	// downwards is read from the right, so a line that points straight down is turned round.
	const slack = 1e-9
	if dir.X < -slack || math.Abs(dir.X) <= slack && dir.Y > 0 {
		dir = dir.Scale(-1)
	}
	return math.Atan2(-dir.Y, dir.X), dir
}

// viewScales are the scales of ISO 5455 and their neighbours, from large to small, as page mm per mm.
var viewScales = []float64{10, 5, 4, 3, 2.5, 2, 1, 1 / 1.5, 1 / 2.0, 1 / 2.5, 1 / 3.0, 1 / 4.0, 1 / 5.0, 1 / 6.0, 1 / 7.5, 1 / 8.0, 1 / 10.0, 1 / 12.5, 1 / 15.0, 1 / 20.0, 1 / 25.0, 1 / 30.0, 1 / 40.0, 1 / 50.0}

// FitScale returns the largest scale of the list, at most most, at which w × h fits into room; a smaller thing than the
// list's last serves gets the exact ratio.
func FitScale(w, h, roomW, roomH, most float64) float64 {
	for _, s := range viewScales {
		if s <= most && w*s <= roomW && h*s <= roomH {
			return s
		}
	}
	return math.Min(roomW/w, roomH/h)
}

// viewScaleName writes a scale as drawings do: 1:5, 3:1.
func viewScaleName(s float64) string {
	trim := func(v float64) string { return viewTrim(v, 2) }
	if s >= 1 {
		return trim(s) + ":1"
	}
	return "1:" + trim(1/s)
}

// viewOffset returns the run of a path between lengths s0 and s1 shifted by d to its right (page or panel units alike), as
// points. Corners are mitred, up to viewMitre times d.
func viewOffset(p plane.Path, s0, s1, d float64) []plane.Point {
	if !(s1 > s0) {
		return nil
	}
	total := p.Length()
	sub := p
	if !p.Closed || s1-s0 < total-plane.EdgeTol {
		if !p.Closed {
			s0, s1 = math.Max(0, s0), math.Min(total, s1)
		}
		sub = p.SubPath(s0, s1)
	}
	pts := viewDistinct(sub.Flatten(viewFlat))
	if sub.Closed && len(pts) > 0 {
		pts = append(pts, pts[0])
	}
	const viewMitre = 3
	out := make([]plane.Point, 0, len(pts))
	for i, a := range pts {
		var before, after plane.Point
		if i > 0 {
			before = a.Sub(pts[i-1]).Unit()
		}
		if i+1 < len(pts) {
			after = pts[i+1].Sub(a).Unit()
		}
		if i == 0 {
			before = after
		}
		if i+1 == len(pts) {
			after = before
		}
		n := before.Add(after).Unit().Perp().Scale(-1)
		cos := n.Dot(after.Perp().Scale(-1))
		f := float64(viewMitre)
		if cos > 1.0/viewMitre {
			f = 1 / cos
		}
		out = append(out, a.Add(n.Scale(d*f)))
	}
	return out
}

func viewDistinct(pts []plane.Point) []plane.Point {
	out := pts[:0:0]
	for _, p := range pts {
		if len(out) == 0 || out[len(out)-1].Dist(p) > plane.EdgeTol {
			out = append(out, p)
		}
	}
	return out
}

// viewTrim shows v with at most so many decimals, without trailing zeros.
func viewTrim(v float64, decimals int) string {
	s := measure.Fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
	}
	return s
}
