// Package jig makes drill jigs: plates with bushes that hold a station's holes to each other and to the panel's edge.
//
// Gather finds the few jigs that serve a plan's stations. A Jig then gives its plate as a drawing to cut, as solids to print, and as a
// page that says how to use it: all from the same centres and diameters.
package jig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"panelwright/internal/drawing"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/solid"
	"panelwright/internal/stock"
)

// Jig is one jig. Its coordinates are those of its plate, mm: the station's axis at (0, 0), y inwards from the panel's edge, so that
// the edge is below; seen from outside.
type Jig struct {
	Name   string // "jig-1"
	Hand   string // "left" or "right" where a mirror image of it is one too, else ""
	Pitch  float64
	Serves []Serves
	Holes  []Hole
	Centre int // index of the hole on the axis in Holes; −1: none is drilled there
	Fence  Fence
	Edge   plane.Path // the panel's edge about it, where round pins bear on it
	Plate  plane.Path // outline
	Thick  float64    // of the plate
	Reach  float64    // of the fence below it
	Clear  float64    // by how much holes are larger than what goes in
	Wall   float64
	Outer  float64  // greatest thickness of the outer panels that it serves
	Notes  []string // what a fitter must know of this one
	Twin   bool     // it has a hand, and serves panels of which there are several: its mirror image may be wanted too

	pin      bool        // a pin goes into the opened hole on the axis: its hole in the plate is wide enough, and the pilot has an insert
	inch     bool        // the job is measured in inches
	alone    bool        // the job marks and drills each sheet by itself
	textAt   plane.Point // lower left corner of the identity
	build    sync.Once
	shells   []*solid.Shell
	shellErr error
}

// Serves is the stations of one panel that a jig is for.
type Serves struct {
	Panel, PanelID string
	Quantity       int
	Stations       []string
	Why            string // no jig serves them, for another reason than their number; else ""
}

// Hole is one bush.
type Hole struct {
	At     plane.Point
	Drill  float64 // what is drilled through it
	Name   string  // of that drill
	Bush   *stock.Bush
	Seat   float64  // diameter of the plate's hole
	For    []string // what the holes under it are for
	Opened float64  // diameter to which the panel's hole is opened later, 0: not
}

// Fence is what bears on the panel's edge.
type Fence struct {
	Distance float64       // from the axis to the edge; 0: no fence
	Half     float64       // a straight fence runs from −Half to +Half
	Pins     []plane.Point // centres of round pins, where the edge is curved or a corner
	PinR     float64
	Sides    []plane.Point // about a corner: the feet of the squares from the axis to the two sides, straight ones prolonged
}

// Sizes of jigs, mm; common practice, no source.
const (
	fenceReach  = 60.0 // farther from an edge a station has no fence: pilot the centre from a template, then locate on it
	fenceWide   = 8.0  // of a straight fence: the diameter of the dowels that may stand in its place
	fenceHalf   = 20.0 // least half length
	fencePin    = 4.0  // radius of round pins
	fenceFlat   = 0.05 // off a line that still counts as straight
	alikeTol    = 0.1  // by how much holes and edges of stations may differ that share a jig, and pitches of a row
	longest     = 250.0
	sameHole    = 0.05
	roundedness = 4.0 // of the plate's corners
	letters     = 3.5 / capHeight
	engraved    = 0.6 // deep
	leastWeb    = 0.4 // between holes, and to the fence: less is no plate
	leastSlide  = 0.1 // by which a pin or an insert is smaller than its hole, in diameter
	guide       = 0.1 // by how much a plain guide is wider than its drill
	insertWall  = 0.8 // of an insert
	proudest    = 3.0 // plate thicknesses that a fence may stand below
	twoLines    = 1.2 // what a printer lays in two lines
)

const capHeight = 1493.0 / 2048

// seen is a station as a jig sees it.
type seen struct {
	pan   *setout.Panel
	st    *setout.Station
	x     plane.Point // along the edge, in panel coordinates
	holes []Hole
	fence Fence
	edge  plane.Path // about it, in the jig's coordinates, where round pins bear on it
}

// local gives a place of the panel in the jig's coordinates.
func (v seen) local(p plane.Point) plane.Point {
	q := p.Sub(v.st.At)
	return plane.Point{X: q.Dot(v.x), Y: q.Dot(v.x.Perp())}
}

// Gather finds the jigs of a plan: one for all stations whose holes and edge lie alike, where there are enough of them, and one more
// for every row of at least three with one pitch. left names the stations that no jig serves.
func Gather(p *setout.Plan) (jigs []*Jig, left []Serves) {
	if len(p.Panels) == 0 {
		return nil, nil
	}
	var kinds []*kind
	for _, pan := range p.Panels {
		for _, st := range pan.Stations {
			if st.Choice == nil {
				continue
			}
			ways := looks(pan, st)
			i, v := -1, ways[0]
			for n, k := range kinds {
				if at := lies(k.all[0].holes, k.all[0].fence, ways); at >= 0 {
					i, v = n, ways[at]
					break
				}
			}
			if i < 0 {
				i = len(kinds)
				kinds = append(kinds, &kind{ways: ways})
			}
			kinds[i].all = append(kinds[i].all, v)
		}
	}
	var made, few []*kind
	add := func(k *kind) {
		var why string
		if k.jig, why = newJig(p, k.all, fmt.Sprintf("jig-%d", len(made)+1)); why != "" {
			left = addServes(left, k.all, why)
			return
		}
		made, jigs = append(made, k), append(jigs, k.jig)
	}
	for _, k := range kinds {
		n := 0
		for _, v := range k.all {
			n += v.pan.Job.Quantity
		}
		if n < p.Job.MarkingOut.JigLeast {
			few = append(few, k)
			continue
		}
		add(k)
	}
	// A mirror image that is made anyway serves stations that are too few for a jig of their own.
	for _, k := range few {
		if slices.ContainsFunc(made, func(o *kind) bool { return o.several() && k.mirrors(o) }) {
			add(k)
			continue
		}
		left = addServes(left, k.all, "")
	}
	hands(made)
	for _, k := range made {
		jigs = append(jigs, rows(p, k.jig, k.all)...)
		if k.jig.Twin {
			jigs = append(jigs, k.jig.mirrored())
		}
	}
	return jigs, left
}

func addServes(to []Serves, all []seen, why string) []Serves {
	for _, v := range all {
		i := slices.IndexFunc(to, func(s Serves) bool { return s.PanelID == v.pan.Job.ID && s.Why == why })
		if i < 0 {
			i = len(to)
			to = append(to, Serves{Panel: v.pan.Job.Name, PanelID: v.pan.Job.ID, Quantity: v.pan.Job.Quantity, Why: why})
		}
		to[i].Stations = append(to[i].Stations, v.st.ID)
	}
	return to
}

// look finds a station's holes and its edge in the jig's coordinates, by the edge that nearestEdge chooses.
func look(pan *setout.Panel, st *setout.Station) seen { return looks(pan, st)[0] }

// looks is the ways in which a jig may lie on a station, the one that it is made by first: along each edge that is as near, and without
// an edge turned round.
func looks(pan *setout.Panel, st *setout.Station) []seen {
	outer := pan.Job.Outline.Outer
	feet := nearestEdges(outer, st.At)
	if d := feet[0].d; d > fenceReach || d <= 1 {
		var out []seen
		for _, x := range []float64{1, -1} {
			v := seen{pan: pan, st: st, x: plane.Point{X: x}.Rotate(st.Dir)}
			v.holes = patternOf(pan, st, v.local)
			out = append(out, v)
		}
		return out
	}
	var out []seen
	for _, f := range feet {
		v := seen{pan: pan, st: st}
		inward := st.At.Sub(f.at).Scale(1 / f.d)
		v.x = plane.Point{X: inward.Y, Y: -inward.X}
		v.holes = patternOf(pan, st, v.local)
		v.fence = fenceOf(outer, f.s, f.d, reachOf(v.holes), v.local)
		if len(v.fence.Pins) > 0 {
			v.edge = edgeAbout(outer, f.s, v.local)
		}
		out = append(out, v)
	}
	return out
}

// foot is a place of the outline that is nearest to a station.
type foot struct {
	s, d float64 // along the outline; how far off
	at   plane.Point
}

// nearestEdges are the outline's nearest places. In a corner two edges may be as near, and which of them is nearer by a hair must not tell
// corners apart: the first is the one from which the way to the other, along the outline, is the shorter.
func nearestEdges(outer plane.Path, at plane.Point) []foot {
	var first foot
	first.s, first.d, first.at = outer.Nearest(at)
	out := []foot{first}
	start, total := 0.0, outer.Length()
	for _, g := range outer.Segs() {
		t, f := g.Nearest(at)
		o := foot{s: start + t*g.Length(), d: at.Dist(f), at: f}
		start += g.Length()
		if o.d > first.d+sameHole || slices.ContainsFunc(out, func(p foot) bool { return p.at.Dist(f) < 1 }) {
			continue
		}
		if ahead := math.Mod(out[0].s-o.s+total, total); ahead < total/2 {
			out = slices.Insert(out, 0, o)
		} else {
			out = append(out, o)
		}
	}
	return out
}

// reachOf is how far the holes go along the edge.
func reachOf(holes []Hole) (far float64) {
	for _, h := range holes {
		far = max(far, math.Abs(h.At.X))
	}
	return far
}

// patternOf gathers where the jig guides a drill: every place once, with the first drill that starts a hole there. What is punched or
// cut without a drill is left out.
func patternOf(pan *setout.Panel, st *setout.Station, local func(plane.Point) plane.Point) []Hole {
	var out []Hole
	for _, h := range pan.Holes {
		if h.Station != st.ID || h.Operation {
			continue
		}
		at := local(h.At)
		first := h.Pilot
		if first == nil {
			first = h.Drill
		}
		i := slices.IndexFunc(out, func(o Hole) bool { return o.At.Dist(at) < sameHole })
		if i < 0 {
			if first == nil || h.Length > 0 {
				continue
			}
			i = len(out)
			out = append(out, Hole{At: at, Drill: first.Diameter, Name: first.Name})
		}
		o := &out[i]
		if first != nil && first.Diameter < o.Drill {
			o.Drill, o.Name = first.Diameter, first.Name
		}
		if h.Length == 0 && st.At.Dist(h.At) < sameHole && h.Purpose == setout.PurposeCentre {
			if d := drawing.HoleDiameter(h); d > o.Drill && templateOuter(pan, h.Layer) {
				o.Opened = d
			}
		}
		if !slices.Contains(o.For, h.Purpose) {
			o.For = append(o.For, h.Purpose)
		}
	}
	sortHoles(out)
	return out
}

// sortHoles puts the hole on the axis first, the others by their places.
func sortHoles(holes []Hole) {
	off := func(h Hole) int {
		if h.At.Len() > sameHole {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(holes, func(a, b Hole) int {
		if c := off(a) - off(b); c != 0 {
			return c
		}
		if math.Abs(a.At.X-b.At.X) > sameHole {
			return cmp.Compare(a.At.X, b.At.X)
		}
		return cmp.Compare(a.At.Y, b.At.Y)
	})
}

func templateOuter(pan *setout.Panel, layer string) bool { return layer == pan.Job.Outer.Name }

// fenceOf is what bears on the edge about the place s of the outline: a straight fence where the edge is straight for its length, two
// round pins where it is curved, three about a corner. Pins touch the true edge.
func fenceOf(outer plane.Path, s, d, reach float64, local func(plane.Point) plane.Point) Fence {
	f := Fence{Distance: d, Half: max(fenceHalf, reach+4)}
	total := outer.Length()
	straight := true
	for i := -8; i <= 8; i++ {
		at := local(outer.At(s + f.Half*float64(i)/8))
		straight = straight && math.Abs(at.Y+d) < fenceFlat
	}
	if straight {
		return f
	}
	f.PinR = fencePin
	half := f.Half
	turn := func(a, b float64) float64 {
		u, v := outer.Tangent(s+a), outer.Tangent(s+b)
		return math.Abs(math.Atan2(u.Cross(v), u.Dot(v)))
	}
	const bend = 0.5 // rad: more than a bowed edge turns
	places := []float64{-half, half}
	if turn(-half, half) > bend {
		// Out of the bend on both sides, and a third pin on the side that then is straighter.
		for half < 2*fenceReach && (turn(half-12, half) > 0.05 || turn(-half, -half+12) > 0.05) {
			half += 4
		}
		places = []float64{-half, half, half + 26}
		if turn(-half-26, -half) < turn(half, half+26) {
			places = []float64{-half - 26, -half, half}
		}
		for _, a := range []float64{-half, half} {
			k, _ := outer.Locate(s + a)
			g := outer.Seg(k)
			g.A, g.B = local(g.A), local(g.B)
			along := g.Tangent(0)
			side := g.A.Sub(along.Scale(g.A.Dot(along)))
			if g.IsArc() {
				_, side = g.Nearest(plane.Point{})
			}
			f.Sides = append(f.Sides, side)
		}
	}
	if 4*half > total {
		places = places[:min(2, len(places))]
	}
	for _, a := range places {
		t := outer.Tangent(s + a)
		out := plane.Point{X: t.Y, Y: -t.X} // to the right of the travel: away from the panel
		f.Pins = append(f.Pins, local(outer.At(s+a).Add(out.Scale(fencePin))))
	}
	return f
}

// edgeAbout is the outline for a good way on both sides of the place s, in the jig's coordinates, as short lines.
func edgeAbout(outer plane.Path, s float64, local func(plane.Point) plane.Point) plane.Path {
	way := min(4*fenceReach, 0.49*outer.Length())
	var pts []plane.Point
	for _, p := range outer.SubPath(s-way, s+way).Flatten(0.02) {
		pts = append(pts, local(p))
	}
	return plane.Open(pts...)
}
