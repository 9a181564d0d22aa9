package sheet

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

const (
	// PitchMin is the least pitch of a hatch, mm: closer lines of the finest pen run together on an office printer.
	PitchMin = 0.2
	// flat is how far the chord of an arc may stand off the arc where a hatch meets it, mm: a fifth of a thin line.
	flat = 0.05
)

// hatchLines returns the lines of h inside frame, as pairs of ends. Arcs of the region are flattened to within 0.05 mm; by the
// even-odd rule cut-outs stay free whichever way they run. A region without area gives none.
//
// Each line is cut with every edge: n edges and m lines cost m·n. The frame bounds m by its diagonal over PitchMin.
func (h Hatch) lines(frame rect) [][2]plane.Point {
	var edges [][2]plane.Point
	for _, p := range append([]plane.Path{h.Region.Outer}, h.Region.CutOuts...) {
		p.Closed = true
		pts := p.Flatten(flat)
		for i := range pts {
			edges = append(edges, [2]plane.Point{pts[i], pts[(i+1)%len(pts)]})
		}
	}
	out := scan(edges, h.Angle, h.Pitch, frame)
	if h.Cross {
		out = append(out, scan(edges, h.Angle+math.Pi/2, h.Pitch, frame)...)
	}
	return out
}

// scan cuts the edges by parallel lines at multiples of pitch from the page's origin.
func scan(edges [][2]plane.Point, angle, pitch float64, frame rect) [][2]plane.Point {
	// Along the line u, across it v; the page has y downwards, so anticlockwise to the reader is −angle.
	sin, cos := math.Sincos(-angle)
	across := func(p plane.Point) float64 { return -p.X*sin + p.Y*cos }
	along := func(p plane.Point) float64 { return p.X*cos + p.Y*sin }
	page := func(u, v float64) plane.Point { return plane.Point{X: u*cos - v*sin, Y: u*sin + v*cos} }
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, e := range edges {
		v := across(e[0])
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	frameLo, frameHi := math.Inf(1), math.Inf(-1)
	for _, p := range frame.corners() {
		v := across(p)
		frameLo, frameHi = math.Min(frameLo, v), math.Max(frameHi, v)
	}
	lo, hi = math.Max(lo, frameLo), math.Min(hi, frameHi)
	var out [][2]plane.Point
	var cuts []float64
	for k := math.Ceil(lo / pitch); k*pitch < hi; k++ {
		v := k * pitch
		cuts = cuts[:0]
		for _, e := range edges {
			a, b := across(e[0]), across(e[1])
			// Half open: an end on the line belongs to the edge that goes below it, so each crossing counts once.
			if (a < v) == (b < v) {
				continue
			}
			t := (v - a) / (b - a)
			cuts = append(cuts, along(e[0])+t*(along(e[1])-along(e[0])))
		}
		slices.Sort(cuts)
		for i := 0; i+1 < len(cuts); i += 2 {
			line := [2]plane.Point{page(cuts[i], v), page(cuts[i+1], v)}
			if line, ok := frame.clipLine(line); ok {
				out = append(out, line)
			}
		}
	}
	return out
}
