package card

import (
	"math"
	"slices"

	"panelwright/internal/drawing"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// cutStack is what a plane through one hole's axis cuts at a station: flat bodies from the outside inwards, in mm from the
// outer face of the outer panel. It knows this one axis only; the whole station is drawing's section.
type cutStack struct {
	bodies []cutBody
	half   float64 // the picture reaches this far to both sides of the axis
	rivets []*setRivet
}

// cutBody is one layer, or a part's flat, and the hole that is in it at the axis.
type cutBody struct {
	name   string
	family stock.Family
	part   bool // pressed sheet of a part, not a layer of the panel
	gap    bool // air: nothing is there
	y0, y1 float64
	hole   float64 // its diameter, 0: none
	front  sinkCut
	back   sinkCut
}

// sinkCut is a countersink of a body: diameter at the face and depth; none when the depth is 0.
type sinkCut struct{ wide, deep, angleDeg float64 }

func sinkOf(k *setout.Countersink) sinkCut { return sinkCut{k.Diameter, k.Depth, k.AngleDeg} }

// setRivet is a rivet as set in a cutStack.
type setRivet struct {
	joint      *setout.RivetJoint
	head, tail float64 // depths of the faces that they bear on
	out        float64 // −1: the head is on the outside; +1: the tail is
	ghost      bool
}

// sameAxis is how near a hole's middle lies to an axis that it shares, mm.
const sameAxis = 0.05

// stackAt gives the bodies at a place of a station: at is relative to the stud's axis, x along the rivet line. Parts that do
// not reach it are left out. No body has a hole yet.
func stackAt(p *setout.Panel, st *setout.Station, at plane.Point) []cutBody {
	c := st.Choice
	layers := drawing.SectionLayers(p, st)
	var out []cutBody
	y := 0.0
	for i, l := range layers {
		b := cutBody{name: l.Name, y0: y, y1: y + l.Thickness.Nom, gap: l.Material == nil}
		switch { // the names by which holes know a layer
		case b.name != "":
		case i == 0:
			b.name = "outer"
		case i == len(layers)-1:
			b.name = "inner"
		default:
			b.name = "between"
		}
		if !b.gap {
			b.family = l.Material.Family
		}
		y = b.y1
		out = append(out, b)
	}
	flat := func(name string, y0, thick, long, wide float64) (cutBody, bool) {
		covers := math.Abs(at.X) < long/2 && math.Abs(at.Y) < wide/2 && thick > 0
		return cutBody{name: name, part: true, y0: y0, y1: y0 + thick}, covers
	}
	seat := 0.0
	if pl := c.Plate; pl.Face != stock.PlateNone {
		y0 := -pl.Thickness
		if pl.Face == stock.PlateBehind {
			seat = layers[0].Thickness.Nom
			y0 = seat
		}
		if b, ok := flat("plate", y0, pl.Thickness, pl.Length, pl.Width); ok {
			out = append(out, b)
		}
	}
	out = append(out, footAt(st, seat, &out[len(layers)-1], flat)...)
	slices.SortStableFunc(out, func(a, b cutBody) int {
		switch d := a.y0 + a.y1 - b.y0 - b.y1; {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	return out
}

// footAt places the receptacle's foot and the shims, and moves the inner layer where the panel rests on the foot.
func footAt(st *setout.Station, seat float64, inner *cutBody, flat func(name string, y0, thick, long, wide float64) (cutBody, bool)) []cutBody {
	rc, s := st.Choice.Receptacle, st.Close.S
	mount := inner.y1 // behind: the inner layer's back
	var foot, shim float64
	switch rc.Mount {
	case stock.Behind:
		shim, foot = mount, mount+s
	case stock.FrontBesideSeat:
		shim, foot = inner.y0-s, inner.y0-s-rc.FootThickness
	default:
		foot, shim = inner.y0, inner.y0+rc.FootThickness
		d := rc.FootThickness + s
		inner.y0, inner.y1 = inner.y0+d, inner.y1+d
	}
	var out []cutBody
	for _, b := range []struct {
		name      string
		y0, thick float64
	}{{"shim", shim, s}, {"receptacle foot", foot, rc.FootThickness}} {
		if body, ok := flat(b.name, b.y0, b.thick, rc.Length, rc.Width); ok {
			out = append(out, body)
		}
	}
	return out
}

// holeDiameter is what a hole is drilled to.
func holeDiameter(h setout.Hole) float64 {
	if h.Drill != nil {
		return h.Drill.Diameter
	}
	return h.Wanted
}

// drilledAt puts the plan's holes that want accepts into the bodies: those on the axis at at, and those so large that the
// whole picture lies in them, which take the body away. With sinks they have their countersinks.
func drilledAt(bodies []cutBody, p *setout.Panel, st *setout.Station, at plane.Point, half float64, sinks bool, want func(setout.Hole) (float64, bool)) []cutBody {
	world := st.At.Add(at.Rotate(st.Dir))
	out := slices.Clone(bodies)
	for _, h := range p.Holes {
		if h.Station != st.ID {
			continue
		}
		d, ok := want(h)
		if !ok {
			continue
		}
		i := slices.IndexFunc(out, func(b cutBody) bool { return !b.part && b.name == h.Layer })
		if i < 0 {
			continue
		}
		off := h.At.Dist(world)
		size := d
		if h.Length > 0 {
			size = math.Min(h.Length, h.Width)
			d = h.Length
		}
		switch {
		case off <= sameAxis:
			out[i].hole = math.Max(out[i].hole, d)
			if k := h.Countersink; k != nil && sinks {
				if k.Face == "back" {
					out[i].back = sinkOf(k)
				} else {
					out[i].front = sinkOf(k)
				}
			}
		case off+half <= size/2:
			out[i].gap = true
		}
	}
	return out
}

// holed gives a part's flat its own hole at the axis: a rivet's, or the way through it for the stud.
func holed(bodies []cutBody, c *setout.Choice, at plane.Point) {
	own := func(pattern []stock.Hole) float64 {
		for _, h := range pattern {
			if h.At.Dist(at) <= sameAxis {
				return h.Diameter
			}
		}
		return 0
	}
	for i := range bodies {
		switch b := &bodies[i]; b.name {
		case "plate":
			b.hole = own(c.Plate.Rivets)
			if at.Len() <= sameAxis {
				b.hole = math.Max(c.Plate.SleeveDiameter, c.Stud.Shank.Nom)
			}
		case "receptacle foot", "shim":
			b.hole = own(c.Receptacle.Rivets)
			if at.Len() <= sameAxis {
				b.hole = c.Receptacle.CentreHole.Nom
			}
		}
	}
}
