package job

import (
	"errors"
	"fmt"
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/source"
)

// corner is one corner of an outline as described: the side that leaves it may be curved, and has a name.
type corner struct {
	at      plane.Point
	radius  float64 // of the rounded corner, 0: sharp
	shared  bool    // the radius is one for all corners: left out where it cannot be
	curve   curveKind
	through plane.Point
	size    float64 // bow or arc radius, mm, positive away from the panel
	side    string  // name of the side that leaves
	bend    bool    // a point on a curve of an offset table, no corner
	place   place
}

// curveKind says how a side's curve was described.
type curveKind int

const (
	straight curveKind = iota
	through            // an arc through a third point
	bow                // an arc that stands so far off the chord at its middle
	arc                // an arc of a radius, the shorter way
)

// sharp returns the closed path with sharp corners in the order described; curves that cannot be are faults.
func sharp(j *Job, cs []corner, f *found) plane.Path {
	pts := make([]plane.Point, len(cs))
	for i := range cs {
		pts[i] = cs[i].at
	}
	turns := 1.0 // +1 when the corners run anticlockwise
	if plane.Polygon(pts...).Area() < 0 {
		turns = -1
	}
	path := plane.Path{Closed: true}
	for i := range cs {
		path.V = append(path.V, plane.Vertex{Point: cs[i].at, Bulge: bulgeOf(j, cs[i], cs[(i+1)%len(cs)].at, turns, f)})
	}
	return path
}

// anticlockwise turns path and corners round where they run the other way: each side then leaves the corner at which it
// arrived; the first corner stays first.
func anticlockwise(path plane.Path, cs []corner) (plane.Path, []corner) {
	if path.Area() >= 0 {
		return path, cs
	}
	n := len(cs)
	out := make([]corner, n)
	for i := range out {
		out[i] = cs[(n-i)%n]
		out[i].side = cs[n-1-i].side
	}
	return path.Reverse(), out
}

// bulgeOf is the bulge of the side from c to the next corner.
func bulgeOf(j *Job, c corner, next plane.Point, turns float64, f *found) float64 {
	chord := c.at.Dist(next)
	if chord <= plane.EdgeTol {
		return 0 // a repeated point is reported as such
	}
	switch c.curve {
	case through:
		b, err := plane.ArcThrough(c.at, c.through, next)
		if err != nil {
			f.add(c.place, RuleCurve, fmt.Sprintf("no curve goes from %s through %s to %s", j.point(c.at), j.point(c.through), j.point(next)), "give a place between the ends, off their line")
			return 0
		}
		return b
	case bow:
		if math.Abs(c.size) > 10*chord {
			f.add(c.place, RuleCurve, fmt.Sprintf("a bow of %s on a side of %s; accepted: up to 10 times the side", j.size(c.size), j.size(chord)), "give the greatest distance of the curve from the straight line between its ends")
			return 0
		}
		return turns * 2 * c.size / chord
	case arc:
		s := chord / 2 / math.Abs(c.size)
		if s > 1+1e-9 { // a half circle may miss by rounding
			f.add(c.place, RuleCurve, fmt.Sprintf("an arc of radius %s on a side of %s; accepted: a radius of %s or more", j.size(math.Abs(c.size)), j.size(chord), j.size(chord/2)), "give a larger radius, or a bow")
			return 0
		}
		return turns * math.Copysign(math.Tan(math.Asin(min(1, s))/2), c.size)
	}
	return 0
}

// mostMeetings bounds the faults of one outline: a scribble crosses itself everywhere.
const mostMeetings = 5

// judge reports what keeps the sharp path from being an outline. Sides and points are told by name and number.
func judge(j *Job, path plane.Path, cs []corner, whole place, f *found) bool {
	facts := path.Facts()
	crossings, proper := 0, 0
	none := false
	for _, k := range facts {
		none = none || k.Kind == plane.EnclosesNone || k.Kind == plane.TooFew
		if k.Kind == plane.CrossesItself && k.Meeting.Kind == plane.Crosses {
			proper++
		}
	}
	for _, k := range facts {
		switch k.Kind {
		case plane.ZeroEdge:
			if k.Edge == len(cs)-1 {
				f.add(cs[k.Edge].place, RulePointRepeated, "the same place as the first point, "+j.point(k.At), "delete it: the outline closes itself")
				continue
			}
			f.add(cs[k.Edge+1].place, RulePointRepeated, "the same place as the point before it, "+j.point(k.At), "delete one")
		case plane.EnclosesNone, plane.TooFew:
			if proper > 0 {
				continue // a bow tie's halves cancel: the crossing is what is wrong
			}
			f.add(whole, RuleOutlineArea, fmt.Sprintf("%d points that enclose no area", len(cs)), "give at least three corners that do not lie in one line")
		case plane.CrossesItself:
			if none && proper == 0 {
				continue // points in one line run along each other
			}
			if crossings++; crossings > mostMeetings {
				continue
			}
			m := k.Meeting
			verb := map[plane.MeetKind]string{plane.Crosses: "crosses", plane.Touches: "touches", plane.Overlaps: "runs along"}[m.Kind]
			f.add(cs[m.I].place, RuleOutlineCrosses, fmt.Sprintf("the side from here (%s) %s the side that leaves %s (%s), at %s",
				source.Cut(cs[m.I].side), verb, j.point(cs[m.J].at), source.Cut(cs[m.J].side), j.point(m.At)), "check the order of the points")
		default:
			panic("job: outline " + k.String())
		}
	}
	if crossings > mostMeetings {
		f.add(whole, RuleOutlineCrosses, fmt.Sprintf("%d more crossings", crossings-mostMeetings), "list the points in order round the panel")
	}
	return len(facts) == 0
}

// rounded returns the outline with its corners rounded. An edge begins and ends in the middle of a rounded corner, so the
// path has a vertex there, and begins with that of the first corner. shared is where a radius for all corners stands.
func rounded(j *Job, path plane.Path, cs []corner, shared place, f *found) (plane.Path, []Edge, bool) {
	radii := make([]float64, len(cs))
	for i, c := range cs {
		n := len(cs)
		meetsArc := path.Seg(i).IsArc() || path.Seg((i+n-1)%n).IsArc()
		if !c.shared || !c.bend && !meetsArc {
			radii[i] = c.radius
		}
	}
	_, err := plane.RoundCorners(path, radii)
	tightest := -1.0 // of corners that share one radius: one fault for all of them
	for _, e := range radiusErrors(err) {
		c := cs[e.Vertex]
		if c.shared {
			if tightest < 0 || e.Largest < tightest {
				tightest = e.Largest
			}
			continue
		}
		f.add(c.place, RuleCornerRadius, fmt.Sprintf("corner %s: radius %s does not fit: %s", j.point(c.at), j.size(e.Radius), e.Reason), largestRadius(j, e.Largest))
	}
	if tightest >= 0 {
		f.add(shared, RuleCornerRadius, fmt.Sprintf("radius %s does not fit every corner: their edges are too short", j.size(sharedRadius(cs))), largestRadius(j, tightest))
	}
	if err != nil {
		return plane.Path{}, nil, false
	}
	out, edges := layCorners(path, cs, radii)
	if facts := out.Facts(); len(facts) > 0 {
		f.add(cs[0].place, RuleCornerRadius, "the corners' radii make the outline cross itself, at "+j.point(facts[0].At), "give smaller radii")
		return plane.Path{}, nil, false
	}
	return out, edges, true
}

// largestRadius says what would fit, rounded down to what MM shows.
func largestRadius(j *Job, largest float64) string {
	if largest <= 0 {
		return "leave this corner sharp"
	}
	return "the largest that fits is " + j.size(math.Floor(largest*100)/100)
}

func sharedRadius(cs []corner) float64 {
	for _, c := range cs {
		if c.shared {
			return c.radius
		}
	}
	return 0
}

func radiusErrors(err error) []*plane.RadiusError {
	var many interface{ Unwrap() []error }
	var one *plane.RadiusError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &many):
		var out []*plane.RadiusError
		for _, e := range many.Unwrap() {
			out = append(out, radiusErrors(e)...)
		}
		return out
	case errors.As(err, &one):
		return []*plane.RadiusError{one}
	}
	panic("job: " + err.Error())
}

// layCorners builds the path, and the edges along it: neighbouring sides of one name are one edge.
func layCorners(path plane.Path, cs []corner, radii []float64) (plane.Path, []Edge) {
	n := len(cs)
	first := 0 // the corner where an edge begins, so that no edge runs through the path's start
	for i := range cs {
		if cs[i].side != cs[(i+n-1)%n].side {
			first = i
			break
		}
	}
	out := plane.Path{Closed: true}
	var edges []Edge
	var tail []plane.Vertex // first half of the first corner's arc, which ends the path
	length := 0.0
	put := func(v plane.Vertex) {
		if k := len(out.V); k > 0 {
			g := plane.Seg{A: out.V[k-1].Point, B: v.Point, Bulge: out.V[k-1].Bulge}
			if g.Chord() <= plane.EdgeTol { // two arcs that meet
				out.V[k-1] = v
				return
			}
			length += g.Length()
		}
		out.V = append(out.V, v)
	}
	for k := range n {
		i := (first + k) % n
		in, leaving := path.Seg((i+n-1)%n), path.Seg(i)
		middle := path.V[i]
		if radii[i] > 0 {
			u, v := in.Tangent(1), leaving.Tangent(0)
			turn := math.Atan2(u.Cross(v), u.Dot(v))
			cut := radii[i] * math.Abs(math.Tan(turn/2))
			a, b := middle.Point.Sub(u.Scale(cut)), middle.Point.Add(v.Scale(cut))
			half := math.Tan(turn / 8)
			middle = plane.Vertex{Point: plane.Seg{A: a, B: b, Bulge: math.Tan(turn / 4)}.At(0.5), Bulge: half}
			if k == 0 {
				tail = []plane.Vertex{{Point: a, Bulge: half}}
			} else {
				put(plane.Vertex{Point: a, Bulge: half})
			}
			put(middle)
			edges = startEdge(edges, cs[i], length)
			put(plane.Vertex{Point: b})
			continue
		}
		put(middle)
		edges = startEdge(edges, cs[i], length)
	}
	for _, v := range tail {
		put(v)
	}
	if last := len(out.V) - 1; out.V[last].Point.Dist(out.V[0].Point) <= plane.EdgeTol {
		out.V = out.V[:last] // a rounded corner that takes the whole last side
	}
	edges[len(edges)-1].To = out.Length()
	return out, edges
}

func startEdge(edges []Edge, c corner, at float64) []Edge {
	if k := len(edges); k > 0 {
		if edges[k-1].Name == c.side {
			return edges
		}
		edges[k-1].To = at
	}
	return append(edges, Edge{Name: c.side, From: at, Pos: c.place.pos})
}
