package sheet

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// pageMax is the greatest side of a page, mm: 14400 units of 1/72 in, the limit that PDF readers commonly have (ISO 32000-1
// annex C, from memory). It also bounds the lines of a hatch.
const pageMax = 5080.0

// rect is a rectangle on the page, mm. It is empty unless x0 < x1 and y0 < y1.
type rect struct{ x0, y0, x1, y1 float64 }

func (r rect) empty() bool { return !(r.x0 < r.x1 && r.y0 < r.y1) }

func (r rect) meet(s rect) rect {
	return rect{math.Max(r.x0, s.x0), math.Max(r.y0, s.y0), math.Min(r.x1, s.x1), math.Min(r.y1, s.y1)}
}

func (r rect) corners() [4]plane.Point {
	return [4]plane.Point{{X: r.x0, Y: r.y0}, {X: r.x1, Y: r.y0}, {X: r.x1, Y: r.y1}, {X: r.x0, Y: r.y1}}
}

// clipLine returns the part of a line inside r, by cutting its parameter range at each of the four sides.
func (r rect) clipLine(l [2]plane.Point) ([2]plane.Point, bool) {
	t0, t1 := 0.0, 1.0
	d := l[1].Sub(l[0])
	for _, side := range [4][2]float64{
		{-d.X, l[0].X - r.x0}, {d.X, r.x1 - l[0].X}, {-d.Y, l[0].Y - r.y0}, {d.Y, r.y1 - l[0].Y},
	} {
		speed, room := side[0], side[1]
		switch {
		case speed == 0 && room < 0:
			return l, false
		case speed < 0:
			t0 = math.Max(t0, room/speed)
		case speed > 0:
			t1 = math.Min(t1, room/speed)
		}
	}
	if t0 >= t1 {
		return l, false
	}
	out := l
	if t0 > 0 {
		out[0] = l[0].Lerp(l[1], t0)
	}
	if t1 < 1 {
		out[1] = l[0].Lerp(l[1], t1)
	}
	return out, true
}

// BadMark says that a sheet holds a mark that no page can show: a coordinate that is no number, a pen without width, a
// hatch closer than PitchMin. It is a mistake of the drawing, not of a user.
type BadMark struct {
	Sheet string // title of the sheet
	Index int    // which of the sheet's items, counted through clips; −1 for the sheet itself
	Why   string
}

// Error tells where and why.
func (e *BadMark) Error() string {
	if e.Index < 0 {
		return fmt.Sprintf("sheet %q: %s", e.Sheet, e.Why)
	}
	return fmt.Sprintf("sheet %q: mark %d: %s", e.Sheet, e.Index, e.Why)
}

// mark is a Stroke, Circle or Text with the rectangle that limits it; clipped is false when that is the whole page.
type mark struct {
	item    Item
	clip    rect
	clipped bool
	layer   string
}

// flatten checks every item and lists what is to be drawn, in order: clips met with each other, hatches as lines, marks in
// empty clips left out. Clips nest no deeper than the caller built them.
func flatten(s Sheet) ([]mark, error) {
	if !(finite(s.W, s.H) && s.W > 0 && s.H > 0 && s.W <= pageMax && s.H <= pageMax) {
		return nil, &BadMark{s.Title, -1, fmt.Sprintf("page of %g × %g mm, above 0 and at most %g each way", s.W, s.H, pageMax)}
	}
	f := flattener{sheet: s}
	if err := f.add(s.Items, rect{0, 0, s.W, s.H}, false); err != nil {
		return nil, err
	}
	return f.out, nil
}

type flattener struct {
	sheet Sheet
	n     int
	out   []mark
}

func (f *flattener) add(items []Item, frame rect, clipped bool) error {
	for _, it := range items {
		why := faultOf(it)
		if why != "" {
			return &BadMark{f.sheet.Title, f.n, why}
		}
		f.n++
		switch it := it.(type) {
		case Clip:
			if err := f.add(it.Items, frame.meet(rect{it.X, it.Y, it.X + it.W, it.Y + it.H}), true); err != nil {
				return err
			}
		case Hatch:
			if frame.empty() {
				continue
			}
			pen := it.Pen
			for _, l := range it.lines(frame) {
				f.out = append(f.out, mark{Stroke{Path: plane.Open(l[0], l[1]), Pen: &pen}, frame, clipped, it.Layer})
			}
		case Text:
			if err := checkText(it, f.sheet.Title); err != nil {
				return err
			}
			f.put(it, frame, clipped, it.Layer)
		case Circle:
			f.put(it, frame, clipped, it.Layer)
		case Stroke:
			f.put(it, frame, clipped, it.Layer)
		}
	}
	return nil
}

func (f *flattener) put(it Item, frame rect, clipped bool, layer string) {
	if !frame.empty() {
		f.out = append(f.out, mark{it, frame, clipped, layer})
	}
}

func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// faultOf says what is wrong with one item, "" when nothing is.
func faultOf(it Item) string {
	switch it := it.(type) {
	case Stroke:
		return firstOf(pathFault(it.Path), penFault(it.Pen))
	case Circle:
		if !finite(it.At.X, it.At.Y, it.R) || it.R < 0 {
			return fmt.Sprintf("circle of radius %g at (%g, %g)", it.R, it.At.X, it.At.Y)
		}
		return penFault(it.Pen)
	case Text:
		if !finite(it.At.X, it.At.Y, it.Size, it.Turn) || it.Size <= 0 {
			return fmt.Sprintf("text %q of size %g at (%g, %g)", it.S, it.Size, it.At.X, it.At.Y)
		}
	case Hatch:
		if !finite(it.Angle, it.Pitch) || it.Pitch < PitchMin {
			return fmt.Sprintf("hatch of pitch %g mm, at least %g", it.Pitch, PitchMin)
		}
		why := firstOf(penFault(&it.Pen), pathFault(it.Region.Outer))
		for _, c := range it.Region.CutOuts {
			why = firstOf(why, pathFault(c))
		}
		return why
	case Clip:
		if !finite(it.X, it.Y, it.W, it.H) {
			return fmt.Sprintf("clip (%g, %g) %g × %g", it.X, it.Y, it.W, it.H)
		}
	default:
		return fmt.Sprintf("mark of a kind not known here: %T", it)
	}
	return ""
}

func firstOf(whys ...string) string {
	for _, w := range whys {
		if w != "" {
			return w
		}
	}
	return ""
}

func pathFault(p plane.Path) string {
	for i, v := range p.V {
		if !finite(v.X, v.Y, v.Bulge) {
			return fmt.Sprintf("path: vertex %d at (%g, %g), bulge %g", i, v.X, v.Y, v.Bulge)
		}
	}
	return ""
}

func penFault(p *Pen) string {
	if p == nil {
		return ""
	}
	if !finite(p.Width) || p.Width <= 0 {
		return fmt.Sprintf("pen %g mm wide", p.Width)
	}
	sum := 0.0
	for _, d := range p.Dash {
		if !finite(d) || d < 0 {
			return fmt.Sprintf("pen with dashes %g", p.Dash)
		}
		sum += d
	}
	if len(p.Dash) > 0 && sum <= 0 {
		return fmt.Sprintf("pen with dashes %g", p.Dash)
	}
	return ""
}
