package sheet

import (
	"math"

	"panelwright/internal/plane"
)

// Proportions of dimensions, mm, after the habit of ISO 129 (from memory).
const (
	arrowLong = 3.0  // length of an arrow head
	arrowWide = 1.0  // its width
	overrun   = 1.5  // extension lines past the dimension line
	feature   = 0.75 // gap between what is measured and its extension line
	textGap   = 1.1  // between a dimension line and its text; a halo reaches 0.8 below the base line
)

// Dimension marks the distance from a to b, page coordinates: extension lines, a dimension line with arrows and the text
// along it. The line stands offset mm from a–b: for an offset above zero on the right of somebody who walks from a to b as
// the page shows it (so from left to right: below), for one below zero on the left. Text reads from below or from the
// right. Where arrows and text have no room between the extension lines, the arrows come from outside; where the text
// alone has none, it stands past b.
//
// Points that coincide have no direction: the result then is the text alone.
func Dimension(a, b plane.Point, offset float64, text string) []Item {
	dir := b.Sub(a).Unit()
	if dir == (plane.Point{}) {
		return []Item{Text{At: a, Size: Letters25, S: text, Halo: true, Layer: LayerDimension}}
	}
	normal := dir.Perp() // on the page, with y downwards, this is to the right
	side := 1.0
	if offset < 0 {
		side = -1
	}
	pa, pb := a.Add(normal.Scale(offset)), b.Add(normal.Scale(offset))
	var out []Item
	if math.Abs(offset) > feature {
		for _, e := range [][2]plane.Point{{a, pa}, {b, pb}} {
			out = append(out, dimLine(e[0].Add(normal.Scale(side*feature)), e[1].Add(normal.Scale(side*overrun))))
		}
	}
	long := a.Dist(b)
	width := TextWidth(text, Letters25, Regular)
	fits := width+2*textGap <= long
	mid, past := pa.Lerp(pb, 0.5), 0.0 // past: how far the line goes on beyond b
	if !fits {
		past = overrun + 2*textGap + width
		mid = pb.Add(dir.Scale(past - textGap - width/2))
	}
	if long >= 2*arrowLong+2 {
		out = append(out, dimLine(pa, pb.Add(dir.Scale(past))), arrowHead(pa, dir.Scale(-1)), arrowHead(pb, dir))
	} else {
		past = math.Max(past, 2*arrowLong)
		out = append(out, dimLine(pa.Sub(dir.Scale(2*arrowLong)), pb.Add(dir.Scale(past))),
			arrowHead(pa, dir), arrowHead(pb, dir.Scale(-1)))
	}
	return append(out, alongLine(mid, dir, text))
}

func dimLine(a, b plane.Point) Item {
	return Stroke{Path: plane.Open(a, b), Pen: &Thin, Layer: LayerDimension}
}

// alongLine sets text over a line through mid along dir, so that it reads from below or from the right.
func alongLine(mid, dir plane.Point, text string) Item {
	turn := readable(math.Atan2(-dir.Y, dir.X))
	up := plane.Point{X: 0, Y: -textGap}.Rotate(-turn)
	return Text{At: mid.Add(up), Size: Letters25, S: text, Align: Centre, Turn: turn, Halo: true, Layer: LayerDimension}
}

// readable turns text by half a turn where it would stand on its head; upright text is turned to read from the right.
func readable(turn float64) float64 {
	const nearlyUpright = 1e-6 // so that a vertical line reads the same whichever way rounding leans it
	for turn > math.Pi/2+nearlyUpright {
		turn -= math.Pi
	}
	for turn <= -math.Pi/2+nearlyUpright {
		turn += math.Pi
	}
	return turn
}

// arrowHead is a filled head whose tip is at tip and that points along dir, a unit vector.
func arrowHead(tip, dir plane.Point) Item {
	back := tip.Sub(dir.Scale(arrowLong))
	wing := dir.Perp().Scale(arrowWide / 2)
	return Stroke{Path: plane.Polygon(tip, back.Add(wing), back.Sub(wing)), Fill: &Black, Layer: LayerDimension}
}

// Arrow draws a line with a head at to. Points that coincide give nothing.
func Arrow(from, to plane.Point) []Item {
	dir := to.Sub(from).Unit()
	if dir == (plane.Point{}) {
		return nil
	}
	end := to
	if from.Dist(to) > arrowLong {
		end = to.Sub(dir.Scale(arrowLong * 0.9)) // the line must not blunt the tip
	}
	return []Item{Stroke{Path: plane.Open(from, end), Pen: &Thin, Layer: LayerDimension}, arrowHead(to, dir)}
}

// Leader points from a text at to towards at, with an arrow head at at. The text stands on a short shoulder that leads
// away from at: to the right when to is right of at, else to the left. Lines of text are separated by "\n", the first on
// the shoulder, the others below.
func Leader(at, to plane.Point, text string) []Item {
	const shoulder = 2.0 // mm
	away, align := 1.0, Left
	if to.X < at.X {
		away, align = -1, Right
	}
	end := to.Add(plane.Point{X: away * shoulder})
	out := Arrow(to, at)
	out = append(out, dimLine(to, end))
	pos := end.Add(plane.Point{X: away * textGap, Y: CapHeight * Letters25 / 2})
	for i, line := range splitLines(text) {
		out = append(out, Text{At: pos.Add(plane.Point{Y: float64(i) * Leading * Letters25}), Size: Letters25, S: line,
			Align: align, Halo: true, Layer: LayerDimension})
	}
	return out
}
