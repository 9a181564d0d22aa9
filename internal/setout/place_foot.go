package setout

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// Rivets keep this many diameters from an edge, by their heads; the sources stand with RestsRivetEdge.
const (
	placeEdgeDome        = 2.0
	placeEdgeCountersunk = 2.5
)

// placeFoot is the room that a station's parts take on the panel: a stadium of length by width along the rivet line that
// stands for the outlines of plate and receptacle, and the rivet holes.
type placeFoot struct {
	length, width float64
	edge          float64 // least distance from the station to the outline or a cut-out
	edgeBy        string
	rivets        []placeRivet
	parts         string  // what the sizes are of
	flange, inset float64 // width of the flange and the seat line's distance from its edge; 0: not known, or a rib
}

// placeRivet is a rivet's place in the outer panel or the flange and what it keeps from an edge.
type placeRivet struct {
	at    plane.Point // X along the rivet line
	need  float64
	inner bool // in the flange, whose other edge counts too
}

// inFlange is what a rivet in the flange keeps from its inner edge: its need, or what a straight flange gives where that is
// less. A flange that is too narrow everywhere is for the checks to tell, not for the places to flee from.
func (f placeFoot) inFlange(r placeRivet) float64 {
	return math.Min(r.need, f.flange-f.inset-math.Abs(r.at.Y))
}

// half is the radius of the disc that keep-outs stay clear of.
func (f placeFoot) half() float64 { return f.length / 2 }

// placeFootOf returns the room for a plate and a receptacle with their rivets, any of which may be nil.
func placeFootOf(l *job.Limits, plate *stock.Plate, rec *stock.Receptacle, plateRivet, recRivet *stock.Rivet) placeFoot {
	f := placeFoot{}
	if plate != nil {
		f.length, f.width = plate.Length, plate.Width
		f.parts = plate.Name
		f.addRivets(plate.Rivets, plateRivet, false)
	}
	if rec != nil {
		f.length, f.width = math.Max(f.length, rec.Length), math.Max(f.width, rec.Width)
		if f.parts != "" {
			f.parts += " and "
		}
		f.parts += rec.Name
		if rec.Fixing == stock.Riveted {
			f.addRivets(rec.Rivets, recRivet, true)
		}
	}
	f.length = math.Max(f.length, f.width)
	f.edge, f.edgeBy = f.width/2, "the width of "+f.parts
	for _, r := range f.rivets {
		// On a straight edge along the rivet line a rivet off the line needs the station that much further in.
		if need := r.need + math.Abs(r.at.Y); need > f.edge {
			f.edge, f.edgeBy = need, "the rivets of "+f.parts
		}
	}
	if l.EdgeDistance.Value > f.edge {
		f.edge, f.edgeBy = l.EdgeDistance.Value, "the panel's edge distance"
	}
	return f
}

// bowed returns the room that the parts need beside an outline that bows outwards with radius R: what lies x to the side of a
// station e from the edge is R − √((R − e)² + x²) from it, so it keeps w when e ≥ R − √((R − w)² − x²). A radius too small for
// that changes nothing: the station then has no room, and says so.
func (f placeFoot) bowed(radius float64) placeFoot {
	if math.IsInf(radius, 1) {
		return f
	}
	bow := func(w, x float64) {
		if in := (radius-w)*(radius-w) - x*x; radius > w && in > 0 && radius-math.Sqrt(in) > f.edge {
			f.edge, f.edgeBy = radius-math.Sqrt(in), "parts beside a bowed edge"
		}
	}
	straight := f // grow from the straight edge's needs, not from one another
	bow(straight.width/2, (straight.length-straight.width)/2)
	for _, r := range straight.rivets {
		bow(r.need+math.Abs(r.at.Y), r.at.X)
	}
	return f
}

func (f *placeFoot) addRivets(holes []stock.Hole, r *stock.Rivet, inner bool) {
	for _, h := range holes {
		need := placeEdgeDome * h.Diameter
		if r != nil {
			need = placeEdgeDome * r.Diameter
			if r.Head == "countersunk" {
				need = placeEdgeCountersunk * r.Diameter
			}
		}
		f.rivets = append(f.rivets, placeRivet{h.At, need, inner})
	}
}

// placeFeet returns the room for each support's stations: of the parts chosen in the last round, or before that of the
// smallest parts that the range has for the mounting.
func placeFeet(p *Plan, pan *Panel) map[*job.Support]placeFoot {
	feet := map[*job.Support]placeFoot{}
	for _, sup := range pan.Job.Supports {
		f, ok := pan.feet[sup]
		if !ok {
			f = placeSmallest(p, pan, sup)
		}
		if f.flange, f.inset = 0, 0; sup.Kind == "flange" && sup.Width > 0 {
			f.flange = sup.Width
			f.inset, _ = placeInset(sup, f.bowed(placeBow(pan.Job, sup, f)))
		}
		feet[sup] = f
	}
	return feet
}

// placeSmallest is the room of the smallest pair that could stand on the support, by length and then width.
func placeSmallest(p *Plan, pan *Panel, sup *job.Support) placeFoot {
	best, found := placeFootOf(&pan.Job.Limits, nil, nil, nil, nil), false
	best.edgeBy = "the panel's edge distance"
	if p.Job.Range == nil {
		return best
	}
	for _, c := range pickPairs(p.Job.Range, &pan.Job.Style, pickMountOf(sup)) {
		f := placeFootOf(&pan.Job.Limits, c.plate, c.rec, nil, nil)
		if !found || f.length < best.length || f.length == best.length && f.width < best.width {
			best, found = f, true
		}
	}
	return best
}

// placeGrow says whether f needs more room than g anywhere, and in which words.
func placeGrow(f, g placeFoot) (string, bool) {
	switch {
	case f.length > g.length+placeSame:
		return fmt.Sprintf("%s is %s long, not %s", f.parts, measure.MM(f.length), measure.MM(g.length)), true
	case f.edge > g.edge+placeSame:
		return fmt.Sprintf("%s needs %s to the edge, not %s", f.parts, measure.MM(f.edge), measure.MM(g.edge)), true
	}
	for _, r := range f.rivets {
		covered := false
		for _, q := range g.rivets {
			covered = covered || q.at.Dist(r.at) <= placeSame && q.need >= r.need-placeSame && (q.inner || !r.inner)
		}
		if !covered {
			return fmt.Sprintf("%s has other rivets than were allowed for", f.parts), true
		}
	}
	return "", false
}

// placeJoinFeet returns the room that takes both: sizes only grow from round to round, so the rounds end.
func placeJoinFeet(f, g placeFoot) placeFoot {
	out := f
	out.length, out.width = math.Max(f.length, g.length), math.Max(f.width, g.width)
	if g.edge > f.edge {
		out.edge, out.edgeBy = g.edge, g.edgeBy
	}
	out.rivets = append([]placeRivet(nil), f.rivets...)
	for _, q := range g.rivets {
		found := false
		for i, r := range out.rivets {
			if q.at.Dist(r.at) <= placeSame && q.inner == r.inner {
				out.rivets[i].need, found = math.Max(r.need, q.need), true
			}
		}
		if !found {
			out.rivets = append(out.rivets, q)
		}
	}
	return out
}

// placeRoom says whether a station at the point with the rivet line along dir has room: short is how much is missing (mm),
// 0 when nothing is, and why says of what.
func placeRoom(pan *job.Panel, f placeFoot, at plane.Point, dir float64) (short float64, why string) {
	worse := func(miss float64, text func() string) {
		if miss > placeSame && miss > short {
			short, why = miss, text()
		}
	}
	d := pan.Outline.Distance(at)
	worse(f.edge-d, func() string {
		return fmt.Sprintf("%s to the nearest edge or cut-out, needs %s for %s", measure.MM(d), measure.MM(f.edge), f.edgeBy)
	})
	along := plane.Point{X: 1}.Rotate(dir)
	place := func(q plane.Point) plane.Point { return at.Add(along.Scale(q.X)).Add(along.Perp().Scale(q.Y)) }
	for _, r := range f.rivets {
		d := pan.Outline.Distance(place(r.at))
		worse(r.need-d, func() string {
			return fmt.Sprintf("a rivet of %s lies %s from an edge or cut-out, needs %s", f.parts, measure.MM(d), measure.MM(r.need))
		})
		if r.inner && f.flange > 0 {
			in := f.flange - d
			worse(f.inFlange(r)-in, func() string {
				return fmt.Sprintf("a rivet of %s lies %s from the flange's inner edge, needs %s", f.parts, measure.MM(in), measure.MM(f.inFlange(r)))
			})
		}
	}
	// The stadium: its middle line keeps half the width. Five places on it find every cut-out that is not much smaller than
	// a rivet pattern.
	if core := (f.length - f.width) / 2; core > 0 {
		for _, t := range [...]float64{-1, -0.5, 0, 0.5, 1} {
			d := pan.Outline.Distance(place(plane.Point{X: t * core}))
			worse(f.width/2-d, func() string { return fmt.Sprintf("%s overhangs the edge or a cut-out", f.parts) })
		}
	}
	for _, k := range pan.KeepOuts {
		_, dist, _ := k.Region.Nearest(at)
		if k.Region.Contains(at) == plane.Inside {
			dist = -dist
		}
		worse(f.half()-dist, func() string { return fmt.Sprintf("keep-out %s", k.Name) })
	}
	return short, why
}
