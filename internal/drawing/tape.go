package drawing

import (
	"math"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// Tape says how a fitter finds a station with a tape and a square. Nobody can hook a tape in the middle of a rounded corner,
// so distances along a straight side begin at its sharp corner: where it meets the neighbouring straight side when both are
// prolonged, which is where a straightedge held against the neighbour crosses it.
type Tape struct {
	Edge   string  // the edge that In is square to; empty when the station has none, and then Along is x and In is y
	Along  float64 // mm from the place that From names
	In     float64 // mm, square to the edge, inwards
	From   string  // where Along begins, in words that follow "from": "the sharp corner with left"
	Beside string  // the neighbour, where the station lies in a rounded corner: Along is then square to it, as In is to Edge
	Curved bool    // the tape follows a curve
}

// TapeOf finds a station of the panel by tape.
func TapeOf(panel *setout.Panel, st *setout.Station) Tape {
	e := templateEdge(panel.Job, st.Edge)
	if e == nil {
		return Tape{Along: st.At.X, In: st.At.Y, From: "the panel's origin"}
	}
	r := tapeRunOf(panel.Job, *e)
	t := Tape{Edge: e.Name, Along: st.Tape + r.shift, In: st.TapeInset, From: r.from, Curved: r.curved}
	c := r.cornerOf(st)
	if c == nil {
		return t
	}
	v := st.At.Sub(c.at)
	t.Along, t.In = r.readingOf(st), c.along.Cross(v)
	if r.inCorner(c, v.Dot(c.along)) {
		return Tape{Edge: e.Name, In: t.In, Along: c.across.Cross(v), Beside: c.other, From: c.other}
	}
	return t
}

// Words say the two distances as a line of a table, with lengths shown, units and all, by show: "edge rear: 312.0 mm, inset 18.0 mm",
// or in a rounded corner "12.0 mm square from edge rear, 14.0 mm square from edge left".
func (t Tape) Words(show func(float64) string) string {
	switch {
	case t.Edge == "":
		return "x " + show(t.Along) + ", y " + show(t.In)
	case t.Beside != "":
		return show(t.In) + " square from edge " + t.Edge + ", " + show(t.Along) + " square from edge " + t.Beside
	}
	return "edge " + t.Edge + ": " + show(t.Along) + ", inset " + show(t.In)
}

// TapeNotes say where the panel's tape distances begin: once for all straight sides, and a line for every edge that is not
// measured so.
func TapeNotes(p *job.Panel) []string {
	var out []string
	sharp := false
	for _, e := range p.Edges {
		r := tapeRunOf(p, e)
		if r.curved {
			out = append(out, "Edge "+e.Name+": the tape follows the curve, from "+r.from+".")
		} else if r.lead == nil && r.from != "" && r.start != nil {
			out = append(out, "Edge "+e.Name+": from "+r.from+".")
		}
		sharp = sharp || r.lead != nil && r.lead.reach > 0 || r.trail != nil && r.trail.reach > 0
	}
	if sharp {
		out = append([]string{"Tape distances at rounded corners begin at the sharp corner, where the two straight sides meet when prolonged: hold a straightedge against the one side and measure along the other. In a rounded corner both distances are square to a side."}, out...)
	}
	return out
}

// tapeRun is how a tape reads along an edge. A reading is a length along the edge from From, plus shift.
type tapeRun struct {
	edge        job.Edge
	outer       plane.Path
	lead, trail *tapeCorner // at its ends; nil where it does not begin or end straight beside a straight side
	start       *tapeSide   // the side in the middle of which an edge without a lead begins
	shift       float64
	length      float64 // the reading at the end
	curved      bool
	from        string
}

// tapeCorner is where two straight sides meet, prolonged.
type tapeCorner struct {
	at            plane.Point
	along, across plane.Point // unit directions of travel of this edge and of the neighbour
	reach         float64     // from the corner to where the straight begins; 0 for a corner that is sharp
	share         float64     // of the edge's length, the part of the corner's arc that belongs to it
	other         string      // the neighbour
}

// tapeSide is a straight or an arc of the outline, whole: pieces that continue one another are one.
type tapeSide struct {
	from, to  float64 // along the outline; the first may begin below 0
	arc       bool
	radius    float64
	centre    plane.Point
	in, out   plane.Point // unit directions at its ends
	head, end plane.Point
}

// tapeSides lists the sides of a closed outline in order.
func tapeSides(p plane.Path) []tapeSide {
	var out []tapeSide
	s := 0.0
	for _, g := range p.Segs() {
		n := g.Length()
		if n <= plane.EdgeTol {
			s += n
			continue
		}
		side := tapeSide{from: s, to: s + n, arc: g.IsArc(), in: g.Tangent(0), out: g.Tangent(1), head: g.A, end: g.B}
		if side.arc {
			side.radius = g.Radius()
			side.centre, _ = g.Centre()
		}
		s += n
		if k := len(out) - 1; k >= 0 && out[k].continues(side) {
			out[k].to, out[k].out, out[k].end = side.to, side.out, side.end
			continue
		}
		out = append(out, side)
	}
	if k := len(out) - 1; k > 0 && out[k].continues(out[0]) {
		out[0].from, out[0].in, out[0].head = out[k].from-s, out[k].in, out[k].head
		out = out[:k]
	}
	return out
}

// tapeStraight is how far two directions may differ and still count as one, rad.
const tapeStraight = 1e-6

// continues says whether b goes on where a ends, on the same line or circle.
func (a tapeSide) continues(b tapeSide) bool {
	if a.arc != b.arc || math.Abs(a.out.Cross(b.in)) > tapeStraight || a.out.Dot(b.in) < 0 {
		return false
	}
	const same = 1e-4 // mm: the same circle, as drawn
	return !a.arc || a.centre.Dist(b.centre) < same && math.Abs(a.radius-b.radius) < same
}

// tapeRunOf reads an edge as a tape does.
func tapeRunOf(p *job.Panel, e job.Edge) tapeRun {
	r := tapeRun{edge: e, outer: p.Outline.Outer}
	sides := tapeSides(r.outer)
	total := r.outer.Length()
	r.lead = tapeCornerAt(p, sides, total, e.From, true)
	r.trail = tapeCornerAt(p, sides, total, e.To, false)
	clear := r.clear()
	lo, hi := clear.From, clear.To
	if r.lead != nil {
		r.shift = r.lead.reach - r.lead.share
	}
	r.length = e.To - e.From + r.shift
	if r.trail != nil {
		r.length += r.trail.reach - r.trail.share
	}
	for _, side := range sides {
		for _, turn := range []float64{-total, 0, total} {
			if side.arc && math.Min(hi, side.to+turn)-math.Max(lo, side.from+turn) > plane.EdgeTol {
				r.curved = true
			}
		}
	}
	before := tapeEdgeAt(p, total, e.From-0.001, e.Name)
	switch {
	case r.lead != nil && r.lead.reach > 0 && r.lead.other == e.Name:
		r.from = "the sharp corner marked 0"
	case r.lead != nil && r.lead.reach > 0:
		r.from = "the sharp corner with " + r.lead.other
	case before == "":
		r.from = "where it begins, marked 0"
	case r.lead != nil:
		r.from = "the corner with " + before
	default:
		i := tapeSideAt(sides, total, e.From, true)
		r.from = "the corner with " + before
		if s, _ := tapeIn(sides[i], total, e.From); s > plane.EdgeTol || len(sides) > 1 && tapeSmooth(sides, i) {
			r.from = "where " + before + " ends, marked 0"
			r.start = &sides[i]
		}
	}
	return r
}

// tapeSmooth says whether the outline runs without a corner into side i.
func tapeSmooth(sides []tapeSide, i int) bool {
	before := sides[(i+len(sides)-1)%len(sides)]
	return math.Abs(before.out.Cross(sides[i].in)) < 0.02 && before.out.Dot(sides[i].in) > 0
}

// tapeIn is how far s lies behind the beginning of a side and before its end, on the turn round the outline that fits best.
func tapeIn(side tapeSide, total, s float64) (after, before float64) {
	best := math.Inf(-1)
	for _, turn := range []float64{-total, 0, total} {
		a, b := s+turn-side.from, side.to-s-turn
		if m := math.Min(a, b); m > best {
			best, after, before = m, a, b
		}
	}
	return after, before
}

// tapeSideAt is the side on which s lies; where two meet, the later one if forward, else the earlier.
func tapeSideAt(sides []tapeSide, total, s float64, forward bool) int {
	const nudge = 1e-5
	if !forward {
		s -= 2 * nudge
	}
	s += nudge
	best, at := math.Inf(-1), 0
	for i, side := range sides {
		a, b := tapeIn(side, total, s)
		if m := math.Min(a, b); m > best {
			best, at = m, i
		}
	}
	return at
}

// tapeEdgeAt names the edge on which s lies; "" when it is the one named not.
func tapeEdgeAt(p *job.Panel, total, s float64, not string) string {
	for _, e := range p.Edges {
		for _, turn := range []float64{-total, 0, total} {
			if v := s + turn; v >= e.From-plane.EdgeTol && v <= e.To+plane.EdgeTol && e.Name != not {
				return e.Name
			}
		}
	}
	return ""
}

// tapeCornerAt finds the corner of straight sides at the end s of an edge: a sharp one, or a rounded one in whose arc, or at
// whose arc's end, the edge begins (leading) or ends. Nil where there is none.
func tapeCornerAt(p *job.Panel, sides []tapeSide, total, s float64, leading bool) *tapeCorner {
	n := len(sides)
	step := 1
	if !leading {
		step = n - 1
	}
	i := tapeSideAt(sides, total, s, leading)
	own, share := sides[i], 0.0
	back := (i + n - step) % n
	if own.arc { // the corner's arc belongs to the edge in part
		after, before := tapeIn(own, total, s)
		share = before
		if !leading {
			after, before = before, after
			share = before
		}
		if after < plane.EdgeTol { // all of it: it is a side, no corner
			return nil
		}
		own = sides[(i+step)%n]
	}
	other := sides[back]
	if !sides[i].arc && other.arc {
		other = sides[(back+n-step)%n]
		// A straight that begins where an arc ends: the arc is the corner if it is round into both.
		if !tapeRound(sides[back], own, other, leading) {
			return nil
		}
	} else if sides[i].arc && !tapeRound(sides[i], own, other, leading) {
		return nil
	}
	if own.arc || other.arc {
		return nil
	}
	a, b, from, to := other.out, own.in, other.end, own.head
	if !leading {
		a, b, from, to = own.out, other.in, own.end, other.head
	}
	c := &tapeCorner{share: share, along: b, across: a, at: from}
	if !leading {
		c.along, c.across = a, b
	}
	turn := a.Cross(b)
	if from.Dist(to) > plane.EdgeTol {
		const leastTurn = 0.1 // rad: flatter ones meet too far out to be found with a straightedge
		if math.Abs(turn) < leastTurn || a.Dot(b) < -0.5 {
			return nil
		}
		c.at = from.Add(a.Scale(to.Sub(from).Cross(b) / turn))
		if c.reach = c.at.Dist(to); !leading {
			c.reach = c.at.Dist(from)
		}
	} else if math.Abs(turn) < 0.02 {
		return nil // no corner that is felt
	}
	mid := (other.from + other.to) / 2
	c.other = tapeEdgeAt(p, total, mid, "")
	return c
}

// tapeRound says whether an arc runs smoothly into the sides before and behind it.
func tapeRound(arc, own, other tapeSide, leading bool) bool {
	before, behind := other, own
	if !leading {
		before, behind = own, other
	}
	return !before.arc && !behind.arc && math.Abs(before.out.Cross(arc.in)) < tapeStraight*10 && math.Abs(arc.out.Cross(behind.in)) < tapeStraight*10
}

// cornerOf is the corner in whose arc the perpendicular from a station meets its edge, or past which it lies; nil where it
// meets what lies between them.
func (r *tapeRun) cornerOf(st *setout.Station) *tapeCorner {
	switch {
	case r.lead != nil && st.Tape < r.lead.share:
		return r.lead
	case r.trail != nil && st.Tape > r.edge.To-r.edge.From-r.trail.share:
		return r.trail
	}
	return nil
}

// inCorner says whether a place so far from a corner along the edge's direction is in front of a rounded corner's arc, where
// only the distances square to both sides can be measured.
func (r *tapeRun) inCorner(c *tapeCorner, along float64) bool {
	if c == r.trail {
		along = -along
	}
	return c.reach > 0 && along < c.reach && along > -plane.EdgeTol && c.other != "" && c.other != r.edge.Name
}

// frame is the place and outward direction at a reading, on the panel: on the straight sides prolonged where the corner is
// rounded.
func (r *tapeRun) frame(reading float64) (at, out plane.Point) {
	right := func(along plane.Point) plane.Point { return along.Perp().Scale(-1) }
	if c := r.lead; c != nil && reading <= c.reach {
		return c.at.Add(c.along.Scale(reading)), right(c.along)
	}
	if c := r.trail; c != nil && reading >= r.length-c.reach {
		return c.at.Add(c.along.Scale(reading - r.length)), right(c.along)
	}
	s := r.edge.From + reading - r.shift
	const inside = 0.01 // mm: before the corner, where the tangent is still this edge's
	along := r.outer.Tangent(r.edge.From + max(inside, min(reading-r.shift, r.edge.To-r.edge.From-inside)))
	return r.outer.At(s), right(along)
}

// prolonged are the lines on which the tape lies beyond the edge's straight sides: from where the straight ends to the sharp
// corner.
func (r *tapeRun) prolonged() [][2]plane.Point {
	var out [][2]plane.Point
	if c := r.lead; c != nil && c.reach > 0 {
		out = append(out, [2]plane.Point{c.at.Add(c.along.Scale(c.reach)), c.at})
	}
	if c := r.trail; c != nil && c.reach > 0 {
		out = append(out, [2]plane.Point{c.at.Sub(c.along.Scale(c.reach)), c.at})
	}
	return out
}

// clear is the edge without its share of the rounded corners.
func (r *tapeRun) clear() job.Edge {
	e := r.edge
	if r.lead != nil {
		e.From += r.lead.share
	}
	if r.trail != nil {
		e.To -= r.trail.share
	}
	return e
}

// path is the line along which the tape lies: the edge, with its straights prolonged to the sharp corners.
func (r *tapeRun) path() plane.Path {
	clear := r.clear()
	var p plane.Path
	if c := r.lead; c != nil && c.reach > 0 {
		p.V = append(p.V, plane.Vertex{Point: c.at})
	}
	p.V = append(p.V, r.outer.SubPath(clear.From, clear.To).V...)
	if c := r.trail; c != nil && c.reach > 0 {
		p.V[len(p.V)-1].Bulge = 0
		p.V = append(p.V, plane.Vertex{Point: c.at})
	}
	return p
}

// readingOf is the reading at a station, for its mark along the edge.
func (r *tapeRun) readingOf(st *setout.Station) float64 {
	c := r.cornerOf(st)
	switch {
	case c == nil:
		return st.Tape + r.shift
	case c == r.lead:
		return st.At.Sub(c.at).Dot(c.along)
	}
	return r.length + st.At.Sub(c.at).Dot(c.along)
}

// TapeShown shows a distance as a tape does, with its unit: 312.5 mm, and in an inch job the nearest 1/32 in first.
func TapeShown(j *job.Job) func(float64) string {
	return func(v float64) string {
		mm := measure.Fixed(v, 1) + " mm"
		if !j.Inch {
			return mm
		}
		frac, _ := measure.Fraction(v, 32)
		return frac + " (" + mm + ")"
	}
}
