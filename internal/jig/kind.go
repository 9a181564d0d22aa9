package jig

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

// kind is stations that are alike, and the jig made for them.
type kind struct {
	all  []seen
	ways []seen // in which a jig may lie on the first of them
	jig  *Jig
}

// lies finds the first of a station's ways in which a jig with these holes and this fence serves it, −1: in none.
func lies(holes []Hole, f Fence, ways []seen) int {
	return slices.IndexFunc(ways, func(v seen) bool { return alike(holes, f, v) })
}

// alike says whether a jig with these holes and this fence serves a station: every hole lies on one of the station's, with the same
// drill, and the fence bears on its edge. Both have the holes' number.
func alike(holes []Hole, f Fence, v seen) bool {
	const sameDrill = 0.005
	g := v.fence
	if len(holes) != len(v.holes) || len(f.Pins) != len(g.Pins) || (f.Distance > 0) != (g.Distance > 0) ||
		math.Abs(f.Distance-g.Distance) > alikeTol || math.Abs(f.Half-g.Half) > alikeTol {
		return false
	}
	for _, h := range holes {
		if !slices.ContainsFunc(v.holes, func(o Hole) bool {
			return o.At.Dist(h.At) <= alikeTol && math.Abs(o.Drill-h.Drill) < sameDrill && math.Abs(o.Opened-h.Opened) < sameDrill
		}) {
			return false
		}
	}
	for _, p := range f.Pins {
		if _, d, _ := v.edge.Nearest(p); math.Abs(d-f.PinR) > alikeTol {
			return false
		}
	}
	return true
}

// mirror is the holes and fence turned over about the axis square to the edge.
func mirror(holes []Hole, f Fence) ([]Hole, Fence) {
	out := slices.Clone(holes)
	for i := range out {
		out[i].At.X = -out[i].At.X
	}
	sortHoles(out)
	g := f
	g.Pins, g.Sides = nil, nil
	for _, q := range f.Sides {
		g.Sides = append([]plane.Point{{X: -q.X, Y: q.Y}}, g.Sides...)
	}
	for i := len(f.Pins) - 1; i >= 0; i-- {
		g.Pins = append(g.Pins, plane.Point{X: -f.Pins[i].X, Y: f.Pins[i].Y})
	}
	return out, g
}

// mirrors says whether the mirror image of o's jig lies on k's stations.
func (k *kind) mirrors(o *kind) bool {
	holes, fence := mirror(o.jig.Holes, o.jig.Fence)
	return lies(holes, fence, k.ways) >= 0
}

// several says whether a panel of the kind comes more than once, so that there may be mirror images of it.
func (k *kind) several() bool {
	return slices.ContainsFunc(k.all, func(v seen) bool { return v.pan.Job.Quantity > 1 })
}

// hands names jigs that are each other's mirror image, in whatever way that lies on the station: in a corner it may be turned to the other
// edge.
func hands(made []*kind) {
	for i, k := range made {
		j := k.jig
		if j.Hand != "" {
			continue
		}
		if k.mirrors(k) {
			continue
		}
		o := slices.IndexFunc(made, func(o *kind) bool { return o != k && o.jig.Hand == "" && o.mirrors(k) })
		if o > i {
			other := made[o].jig
			j.Hand, other.Hand = "left", "right"
			j.Notes = append(j.Notes, "Left hand: "+other.Name+" is its mirror image.")
			other.Notes = append(other.Notes, "Right hand: "+j.Name+" is its mirror image.")
			continue
		}
		j.Hand = "one"
		j.Twin = k.several()
		j.Notes = append(j.Notes, "It has a hand: turned over it is wrong. A mirrored panel needs its mirror image.")
	}
}

// mirrored is the jig for panels that are the mirror image of those that j is for.
func (j *Jig) mirrored() *Jig {
	m := &Jig{Name: j.Name + "-mirrored", Hand: j.Hand, Pitch: j.Pitch, Serves: j.Serves, Centre: j.Centre, Thick: j.Thick, Reach: j.Reach,
		Clear: j.Clear, Wall: j.Wall, Outer: j.Outer, inch: j.inch, alone: j.alone, pin: j.pin}
	m.Holes, m.Fence = mirror(j.Holes, j.Fence)
	m.Edge = j.Edge.Transform(plane.Mirror(plane.Point{}, plane.Point{Y: 1}))
	m.Notes = append([]string{"The mirror image of " + j.Name + ", for panels of the other hand."}, j.Notes[:len(j.Notes)-1]...)
	m.outline()
	return m
}
