package drawing

import (
	"cmp"
	"math"
	"slices"

	"panelwright/internal/plane"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// sectionPlot draws a section at one scale: page = origin + scale·(x, y).
type sectionPlot struct {
	m      *sectionModel
	c      *Canvas
	origin plane.Point
	scale  float64
	full   bool // enlarged: everything; else the full-size view, whose thin sheets are blackened
}

func (s *sectionPlot) at(x, y float64) plane.Point {
	return plane.Point{X: s.origin.X + s.scale*x, Y: s.origin.Y + s.scale*y}
}

// Pens of a section: visible edges and, at full size, finer ones.
func (s *sectionPlot) edge() sheet.Pen {
	if s.full {
		return sheet.Pen{Width: 0.4}
	}
	return sheet.Pen{Width: 0.2}
}

// draw makes the whole section, from behind to the front.
func (s *sectionPlot) draw() {
	s.body()
	for i := range s.m.layers {
		s.layer(i)
	}
	s.breaks()
	s.sleeve()
	if s.m.plate != nil {
		s.metal(*s.m.plate, -1)
	}
	s.shim()
	s.metal(s.m.foot, -1)
	s.stud()
	for _, r := range s.m.rivets {
		s.rivet(r)
	}
	s.wire()
	axis := sheet.Chain
	if !s.full {
		axis.Dash = []float64{3, 0.8, 0.6, 0.8}
		axis.Width = 0.15
	}
	s.c.Line(s.at(0, s.m.high).Add(At(0, -4)), s.at(0, s.m.deep).Add(At(0, 4)), axis, sheet.LayerCentre)
	for _, r := range s.m.rivets {
		s.c.Line(s.at(r.x, math.Min(r.head, r.tail)).Add(At(0, -3-3*s.scale/2)), s.at(r.x, math.Max(r.head, r.tail)).Add(At(0, 3+4*s.scale/2)), axis, sheet.LayerCentre)
	}
}

// solids returns the outlines of what is left of a band between its openings, in mm.
func (b sectionBand) solids() []plane.Path {
	open := slices.Clone(b.openings)
	slices.SortFunc(open, func(a, c sectionOpening) int { return cmp.Compare(a.x, c.x) })
	var out []plane.Path
	left := []plane.Point{{X: b.x0, Y: b.y0}, {X: b.x0, Y: b.y1}}
	reached := b.x0
	for _, o := range open {
		wall := b.wall(o)
		if o.x-o.r > reached+0.05 {
			right := make([]plane.Point, len(wall))
			for i, w := range wall {
				right[i] = plane.Point{X: o.x - w.X, Y: w.Y}
			}
			out = append(out, sectionSolid(left, right))
		}
		if o.x+o.r > reached {
			reached = o.x + o.r
			left = left[:0:0]
			for _, w := range wall {
				left = append(left, plane.Point{X: o.x + w.X, Y: w.Y})
			}
		}
	}
	if b.x1 > reached+0.05 {
		out = append(out, sectionSolid(left, []plane.Point{{X: b.x1, Y: b.y0}, {X: b.x1, Y: b.y1}}))
	}
	return out
}

// sectionSolid closes a solid from its left wall and its right wall, both from the front to the back.
func sectionSolid(left, right []plane.Point) plane.Path {
	pts := slices.Clone(left)
	for i := len(right) - 1; i >= 0; i-- {
		pts = append(pts, right[i])
	}
	return plane.Polygon(viewDistinct(pts)...)
}

// wall is the profile of an opening from the front to the back: X is the distance from its axis, Y the depth.
func (b sectionBand) wall(o sectionOpening) []plane.Point {
	t := b.y1 - b.y0
	front, back := o.front, o.back
	pts := []plane.Point{{X: o.r, Y: b.y0}}
	if front.depth > 0 && front.r > o.r {
		pts[0].X = front.r
		if front.depth < t {
			pts = append(pts, plane.Point{X: o.r, Y: b.y0 + front.depth})
		} else { // a knife edge: the cone comes out at the back
			return append(pts, plane.Point{X: front.r - (front.r-o.r)*t/front.depth, Y: b.y1})
		}
	}
	if back.depth > 0 && back.r > o.r {
		if back.depth < t {
			pts = append(pts, plane.Point{X: o.r, Y: b.y1 - back.depth})
		} else {
			pts = []plane.Point{{X: back.r - (back.r-o.r)*t/back.depth, Y: b.y0}}
		}
		return append(pts, plane.Point{X: back.r, Y: b.y1})
	}
	return append(pts, plane.Point{X: o.r, Y: b.y1})
}

// page maps a path in mm of the section to the page.
func (s *sectionPlot) page(p plane.Path) plane.Path {
	out := plane.Path{Closed: p.Closed, V: make([]plane.Vertex, len(p.V))}
	for i, v := range p.V {
		out.V[i] = plane.Vertex{Point: s.at(v.X, v.Y), Bulge: v.Bulge}
	}
	return out
}

// sectionBlack is the thickness on the page below which a cut sheet is blackened, as ISO 128 allows for thin parts; a
// white gap then parts neighbours.
const sectionBlack = 2.0

// layer draws one layer, hatched after its material; neighbours differ in angle.
func (s *sectionPlot) layer(i int) {
	b := s.m.layers[i]
	if b.layer.Material == nil {
		return
	}
	for _, solid := range b.solids() {
		s.cutBody(solid, sectionHatch(b.layer.Material.Family, i), (b.y1-b.y0)*s.scale)
	}
}

// metal draws a part of pressed sheet.
func (s *sectionPlot) metal(b sectionBand, turn float64) {
	for _, solid := range b.solids() {
		s.cutBody(solid, sheet.Hatch{Angle: turn * math.Pi / 4, Pitch: 0.9, Pen: sheet.Fine}, (b.y1-b.y0)*s.scale)
	}
}

func (s *sectionPlot) cutBody(solid plane.Path, h sheet.Hatch, thick float64) {
	page := s.page(solid)
	pen := s.edge()
	if thick < sectionBlack && !s.full {
		white := sheet.Pen{Width: 0.3, Tone: sheet.White}
		s.c.area(page, &white, sheet.Black, sheet.LayerOutline)
		return
	}
	s.c.area(page, nil, sheet.White, sheet.LayerOutline)
	h.Region, h.Layer = plane.Region{Outer: page}, sheet.LayerHatch
	s.c.Add(h)
	s.c.path(page, pen, sheet.LayerOutline)
}

// sectionHatch is the hatching of a family of materials, for layer i of the stack: metals one way, laminates another with
// a wider pitch, soft layers crossed; every second layer is turned so that neighbours differ.
func sectionHatch(f stock.Family, i int) sheet.Hatch {
	angle := math.Pi / 4
	if i%2 == 1 {
		angle = -angle
	}
	h := sheet.Hatch{Angle: angle, Pitch: 1.8, Pen: sheet.Fine}
	switch f {
	case stock.Steel, stock.Stainless, stock.Titanium:
		h.Pitch = 1.2
	case stock.GlassFibre:
		h.Pitch, h.Angle = 2.6, angle*2/3
	case stock.CarbonFibre:
		h.Pitch, h.Angle, h.Cross = 2.2, math.Pi/6, true
	case stock.Plastic, stock.Wood:
		h.Pitch, h.Angle = 2.6, angle*4/3
	case stock.Seal:
		h.Pitch, h.Angle, h.Cross = 0.8, math.Pi/4, true
	}
	return h
}

// breaks draws the wavy ends where the layers go on.
func (s *sectionPlot) breaks() {
	for _, side := range []float64{-1, 1} {
		for _, b := range s.m.layers {
			if b.layer.Material == nil {
				continue
			}
			x := side * s.m.half
			a, z := s.at(x, b.y0), s.at(x, b.y1)
			cover := sheet.Pen{Width: s.edge().Width + 0.3, Tone: sheet.White}
			s.c.Line(a, z, cover, sheet.LayerOutline)
			mid := a.Lerp(z, 0.5)
			wave := plane.Path{V: []plane.Vertex{{Point: a, Bulge: 0.35}, {Point: mid, Bulge: -0.35}, {Point: z}}}
			s.c.path(wave, sheet.Fine, sheet.LayerOutline)
		}
	}
}

// rectangle draws a plain part, white.
func (s *sectionPlot) rectangle(x0, y0, x1, y1 float64) {
	pen := s.edge()
	s.c.area(s.page(plane.Polygon(At(x0, y0), At(x1, y0), At(x1, y1), At(x0, y1))), &pen, sheet.White, sheet.LayerOutline)
}

// sleeve draws the tube that goes through the outer panel's centre hole, where the plate has one.
func (s *sectionPlot) sleeve() {
	pl := s.m.c.Plate
	outer, inner := pl.SleeveDiameter/2, s.m.c.Stud.Shank.Nom/2
	if outer <= inner {
		return
	}
	y0, y1 := math.Min(0, s.m.headFace()), s.m.layers[0].y1
	if pl.Face == stock.PlateBehind && s.m.plate != nil {
		y1 = s.m.plate.y1
	}
	for _, side := range []float64{-1, 1} {
		solid := plane.Polygon(At(side*inner, y0), At(side*outer, y0), At(side*outer, y1), At(side*inner, y1))
		s.cutBody(solid, sheet.Hatch{Angle: -math.Pi / 4, Pitch: 0.9, Pen: sheet.Fine}, sectionBlack)
	}
}

// shim draws the shims, or in the enlarged view shows by a thin dashed line where one would go.
func (s *sectionPlot) shim() {
	if s.m.shim.y1 > s.m.shim.y0 {
		for _, solid := range s.m.shim.solids() {
			pen := s.edge()
			s.c.area(s.page(solid), &pen, sheet.Black, sheet.LayerOutline)
		}
	}
}

// body draws the receptacle's walls, plainly: their distance is drawn, not measured; their depth is the part's.
func (s *sectionPlot) body() {
	m := s.m
	wall := m.wall()
	y0, y1 := m.foot.y0, m.bottom()
	for _, side := range []float64{-1, 1} {
		solid := plane.Polygon(At(side*m.body, y0), At(side*(m.body+wall), y0), At(side*(m.body+wall), y1),
			At(side*(m.body-1), y1), At(side*(m.body-1), y1-wall), At(side*m.body, y1-wall))
		s.cutBody(solid, sheet.Hatch{Angle: -math.Pi / 4, Pitch: 0.9, Pen: sheet.Fine}, wall*s.scale)
	}
}
