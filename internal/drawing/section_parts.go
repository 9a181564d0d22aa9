package drawing

import (
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// sectionWire is the thickness of the wire as drawn, mm. Parts state where its centre lies, not how thick it is.
const sectionWire = 1.2

// stud draws head, shank and the cam slot. A stud is not hatched where it is cut along its axis.
func (s *sectionPlot) stud() {
	m, st := s.m, s.m.c.Stud
	r, end := st.Shank.Nom/2, m.locked+st.EndBeyondWire
	top := m.headFace()
	chamfer := math.Min(0.8, r/3)
	shank := plane.Polygon(At(-r, top), At(-r, end-chamfer), At(-r+chamfer, end), At(r-chamfer, end), At(r, end-chamfer), At(r, top))
	pen := s.edge()
	s.c.area(s.page(shank), &pen, sheet.White, sheet.LayerOutline)
	s.head(top)
	if s.full {
		s.camSlot(r, end)
	}
}

// head draws a raised or a flush head on its face.
func (s *sectionPlot) head(top float64) {
	st := s.m.c.Stud
	pen := s.edge()
	hr, r, h := st.HeadDiameter/2, st.Shank.Nom/2, st.HeadHeight
	if h > 0 {
		// A flat disc with a rounded rim; a head for the hand carries a wing.
		disc := h
		if st.Drive == "hand" {
			disc = h * 0.45
			w := hr * 0.62
			wing := plane.Path{Closed: true, V: []plane.Vertex{{Point: At(-w, top-disc)}, {Point: At(-w*0.8, top-h+w*0.12), Bulge: 0.3},
				{Point: At(-w*0.6, top-h)}, {Point: At(w*0.6, top-h), Bulge: 0.3}, {Point: At(w*0.8, top-h+w*0.12)}, {Point: At(w, top-disc)}}}
			s.c.area(s.page(wing), &pen, sheet.White, sheet.LayerOutline)
		}
		rim := math.Min(disc*0.6, 1.2)
		q := math.Tan(math.Pi / 8)
		head := plane.Path{Closed: true, V: []plane.Vertex{{Point: At(-hr, top)}, {Point: At(-hr, top-disc+rim), Bulge: q},
			{Point: At(-hr+rim, top-disc)}, {Point: At(hr-rim, top-disc), Bulge: q}, {Point: At(hr, top-disc+rim)}, {Point: At(hr, top)}}}
		s.c.area(s.page(head), &pen, sheet.White, sheet.LayerOutline)
		s.slot(top-disc, st.Drive == "tool")
		return
	}
	deg := s.m.c.Plate.CentreCountersinkDeg
	depth := math.Min(1.5, (hr - r)) // no seat stated: drawn at 90°
	if deg > 0 {
		depth = (hr - r) / math.Tan(deg/2*math.Pi/180)
	}
	if depth <= 0 {
		return
	}
	s.c.area(s.page(plane.Polygon(At(-hr, top), At(hr, top), At(r, top+depth), At(-r, top+depth))), &pen, sheet.White, sheet.LayerOutline)
	s.slot(top, true)
}

// slot draws the driver's slot in a head, as thin dashed lines: it lies behind the plane of the section.
func (s *sectionPlot) slot(top float64, has bool) {
	if !has || !s.full {
		return
	}
	const half, deep = 0.7, 1.4
	pen := sheet.Pen{Width: 0.2, Dash: []float64{1.5, 0.8}}
	s.c.path(s.page(plane.Open(At(-half, top), At(-half, top+deep), At(half, top+deep), At(half, top))), pen, sheet.LayerHidden)
}

// camSlot hints at the cam: a slot from the end, rising by the cam's lift over a quarter turn to the detent.
func (s *sectionPlot) camSlot(r, end float64) {
	st := s.m.c.Stud
	const half, steps = 0.75, 12
	entry := math.Min(s.m.locked+st.CamLift, end)
	for _, side := range []float64{-1, 1} {
		pts := []plane.Point{At(side*half, end)}
		for k := 0; k <= steps; k++ {
			a := float64(k) / steps * math.Pi / 2
			x := (r - 0.3) * math.Sin(a)
			y := entry + (s.m.locked-entry)*float64(k)/steps
			pts = append(pts, At(math.Min(x+side*half*math.Cos(a), r), y+side*half*math.Sin(a)))
		}
		s.c.path(s.page(plane.Open(pts...)), sheet.Fine, sheet.LayerOutline)
	}
}

// rivet draws a set blind rivet: head, shank, tail, and a washer under the tail.
func (s *sectionPlot) rivet(v sectionRivet) {
	r := v.joint.Rivet
	pen := s.edge()
	if !s.full {
		pen.Width = 0.15
	}
	rad, out := r.Diameter/2, v.out
	solid := func(p plane.Path) { s.c.area(s.page(p), &pen, sheet.White, sheet.LayerOutline) }
	if v.washer > 0 && v.joint.WasherDiameter > 0 {
		w := v.joint.WasherDiameter / 2
		s.metal(sectionBand{x0: v.x - w, x1: v.x + w, y0: math.Min(v.tail, v.tail-out*v.washer), y1: math.Max(v.tail, v.tail-out*v.washer)}, 1)
	}
	bearing := v.tail - out*v.washer // the tail bears here
	solid(plane.Polygon(At(v.x-rad, v.head), At(v.x+rad, v.head), At(v.x+rad, bearing), At(v.x-rad, bearing)))
	hr := r.HeadDiameter / 2
	switch {
	case r.Head == "countersunk" && r.CountersinkDeg > 0:
		depth := (hr - rad) / math.Tan(r.CountersinkDeg/2*math.Pi/180)
		solid(plane.Polygon(At(v.x-hr, v.head), At(v.x+hr, v.head), At(v.x+rad, v.head-out*depth), At(v.x-rad, v.head-out*depth)))
	case r.HeadHeight > 0:
		// The chord from left to right; the arc stands off it on the head's side.
		b := r.HeadHeight / hr
		if out > 0 {
			b = -b
		}
		solid(plane.Path{Closed: true, V: []plane.Vertex{{Point: At(v.x-hr, v.head), Bulge: b}, {Point: At(v.x+hr, v.head)}}})
	}
	tr := r.TailDiameter / 2
	if k := v.joint.TailSink; k != nil {
		// Spread: as wide as the countersink lets it be, ending below flush.
		const below = 0.2
		wide := math.Min(tr, k.Diameter/2)
		solid(plane.Polygon(At(v.x-rad, v.tail+out*k.Depth), At(v.x+rad, v.tail+out*k.Depth), At(v.x+wide, v.tail+out*below), At(v.x-wide, v.tail+out*below)))
		return
	}
	end := bearing - out*r.TailLength
	q := -0.35 * -out
	solid(plane.Path{Closed: true, V: []plane.Vertex{{Point: At(v.x-tr*0.95, bearing)}, {Point: At(v.x+tr*0.95, bearing), Bulge: -q},
		{Point: At(v.x+rad*0.8, end)}, {Point: At(v.x-rad*0.8, end), Bulge: -q}}})
}

// wire draws the wire twice: free, as a thin chain line straight across the body; locked, full, pulled to the stud's
// detent in the middle.
func (s *sectionPlot) wire() {
	m := s.m
	half := m.body - 0.2
	w := sectionWire / 2
	ghost := viewGhost
	if !s.full {
		ghost.Width, ghost.Dash = 0.13, []float64{2, 0.6, 0.5, 0.6}
	}
	for _, y := range []float64{m.free - w, m.free + w} {
		s.c.Line(s.at(-half, y), s.at(half, y), ghost, "wire free")
	}
	// Ends stay at the free depth, the middle goes to the detent; straight where the stud's slot holds it.
	var top, bottom []plane.Point
	const steps = 16
	hold := math.Min(m.c.Stud.Shank.Nom/2*0.6, half*0.5)
	depth := func(x float64) float64 {
		if math.Abs(x) <= hold {
			return m.locked
		}
		u := (math.Abs(x) - hold) / (half - hold)
		return m.locked + (m.free-m.locked)*u*u*(3-2*u)
	}
	for i := -steps; i <= steps; i++ {
		x := half * float64(i) / steps
		top = append(top, At(x, depth(x)-w))
		bottom = append(bottom, At(x, depth(x)+w))
	}
	pen := s.edge()
	s.c.area(s.page(sectionSolid(top, bottom)), &pen, sheet.Grey(205), "wire locked")
}

// ShimWay says what a shim does under this receptacle, and which way the wire then goes: +1 inwards.
func ShimWay(m stock.Mount) (words string, way float64) {
	switch m {
	case stock.Behind:
		return "a shim here tightens", 1
	case stock.FrontBesideSeat:
		return "a shim here loosens", -1
	}
	return "a shim here changes nothing", 0
}
