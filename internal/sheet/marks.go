package sheet

import (
	"math"
	"strconv"
	"strings"

	"panelwright/internal/plane"
)

func splitLines(s string) []string { return strings.Split(s, "\n") }

func stroke(layer string, pen *Pen, pts ...plane.Point) Item {
	return Stroke{Path: plane.Open(pts...), Pen: pen, Layer: layer}
}

// CheckScale draws the scale by which a reader tells whether the page was printed at full size. Its main line runs from
// (x, y) exactly length mm to the right, or down when not horizontal; it has a tick every 10 mm (every fifth one longer
// and numbered) and one at its end, and says what it must measure. It takes 7 mm above the line, or to the left of it; one
// shorter than 50 mm has its label on the other side, 4 mm more.
func CheckScale(x, y, length float64, horizontal bool) []Item {
	turn := 0.0
	along, up := plane.Point{X: 1}, plane.Point{Y: -1}
	if !horizontal {
		turn = math.Pi / 2
		along, up = plane.Point{Y: 1}, plane.Point{X: -1}
	}
	at := func(u, v float64) plane.Point { return plane.Point{X: x, Y: y}.Add(along.Scale(u)).Add(up.Scale(v)) }
	out := []Item{stroke(LayerScale, &Outline, at(0, 0), at(length, 0))}
	const step = 10.0
	for k := 0; float64(k)*step < length-step/100; k++ {
		high := 2.0
		if k%5 == 0 {
			high = 3.5
		}
		out = append(out, stroke(LayerScale, &Thin, at(float64(k)*step, 0), at(float64(k)*step, high)))
		if k%5 == 0 && float64(k)*step < length-step/2 {
			out = append(out, scaleText(at(float64(k)*step, 4.2), turn, strconv.Itoa(k*10)))
		}
	}
	out = append(out, stroke(LayerScale, &Thin, at(length, 0), at(length, 3.5)),
		scaleText(at(length, 4.2), turn, short(length, 2)))
	label := Text{At: at(25, 4.2), Size: Letters25, S: "check: " + short(length, 2) + " mm", Align: Centre, Turn: turn, Layer: LayerScale}
	if length < 50 { // no room between the first numbers: under the line
		label.At = at(length/2, -1.2-CapHeight*Letters25)
	}
	return append(out, label)
}

func scaleText(at plane.Point, turn float64, s string) Item {
	return Text{At: at, Size: Letters25, S: s, Align: Centre, Turn: turn, Layer: LayerScale}
}

// ScaleBar draws a divided bar for a drawing that is not 1:1: divisions boxes of step mm on the part, black and white by
// turns, numbered with the length on the part. scale is page mm per part mm. It runs from (x, y), its lower left corner, to
// the right and takes 7 mm above y.
func ScaleBar(x, y, scale, step float64, divisions int) []Item {
	const high = 1.6
	var out []Item
	for i := range divisions {
		x0, x1 := x+float64(i)*step*scale, x+float64(i+1)*step*scale
		box := Stroke{Path: plane.Polygon((rect{x0, y - high, x1, y}).points()...), Pen: &Thin, Layer: LayerScale}
		if i%2 == 0 {
			box.Fill = &Black
		}
		out = append(out, box, scaleText(plane.Point{X: x0, Y: y - high - textGap}, 0, short(float64(i)*step, 3)))
	}
	last := short(float64(divisions)*step, 3)
	end := Text{At: plane.Point{X: x + float64(divisions)*step*scale - TextWidth(last, Letters25, Regular)/2, Y: y - high - textGap},
		Size: Letters25, S: last + " mm", Layer: LayerScale}
	return append(out, end)
}

func (r rect) points() []plane.Point {
	c := r.corners()
	return c[:]
}

// RegistrationMark is a cross in a circle by which neighbouring pages are laid on each other: the same panel point on both.
// It is 10 mm wide; its centre stays free for 1 mm, so that a point below it can be seen.
func RegistrationMark(at plane.Point) []Item {
	out := []Item{Circle{At: at, R: 3, Pen: &Thin, Layer: LayerRegister}}
	for _, d := range []plane.Point{{X: 1}, {Y: 1}, {X: -1}, {Y: -1}} {
		out = append(out, stroke(LayerRegister, &Thin, at.Add(d.Scale(0.5)), at.Add(d.Scale(5))))
	}
	return out
}

// CentreMark marks the centre of a hole by crossing chain lines of size mm overall. The crossing is always a solid cross,
// so that a centre punch has its place, with chain lines out from it.
func CentreMark(at plane.Point, size float64) []Item {
	pen := Chain
	long := math.Min(6, size/2)
	pen.Dash = []float64{long / 2, 1, 0.75, 1} // from the centre outwards: half of the middle dash, gap, dot, gap
	var out []Item
	for _, d := range []plane.Point{{X: 1}, {Y: 1}, {X: -1}, {Y: -1}} {
		out = append(out, stroke(LayerCentre, &pen, at, at.Add(d.Scale(size/2))))
	}
	return out
}

// Rectangle is a stroke round a rectangle, with pen or fill or both.
func Rectangle(x, y, w, h float64, pen *Pen, fill *Tone, layer string) Item {
	return Stroke{Path: plane.Polygon((rect{x, y, x + w, y + h}).points()...), Pen: pen, Fill: fill, Layer: layer}
}

// Line is a stroke from a to b.
func Line(a, b plane.Point, pen *Pen, layer string) Item { return stroke(layer, pen, a, b) }
