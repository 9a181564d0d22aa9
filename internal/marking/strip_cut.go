package marking

import (
	"fmt"
	"math"

	"panelwright/internal/drawing"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// Sizes of a strip, mm.
const (
	stripOut     = 14.0  // paper outside the edge: the tape's readings stand there
	stripIn      = 50.0  // paper inside the edge, at least
	stripRib     = 32.0  // paper on either side of a rib's line, at least
	stripClear   = 6.0   // paper beyond the holes' far side
	stripOverlap = 10.0  // how far neighbours repeat each other
	stripBow     = 25.0  // how far the edge may leave its chord within one strip
	stripReach   = 220.0 // how far a rib's strip is made longer to reach the panel's edge
	stripsMost   = 99    // along one edge
)

// stripRun is one seat line that is followed, with its stations. Lengths are along line.
type stripRun struct {
	panel    *setout.Panel
	name     string
	edge     string // "" along a rib
	line     plane.Path
	length   float64
	closed   bool    // the edge closes on itself
	lead     float64 // of a rib's line, before the rib itself begins
	in, out  float64 // paper on the left of line and on its right
	from     string  // where tape distances begin
	stations []*setout.Station
}

// stripRuns lists the seat lines of a panel that carry stations, edges first, in order; rest are the stations that stand on
// none.
func stripRuns(p *setout.Panel) (runs []stripRun, rest []string) {
	taken := map[string]bool{}
	add := func(r stripRun, mine func(st *setout.Station) bool) {
		for _, st := range p.Stations {
			if !taken[st.ID] && mine(st) {
				taken[st.ID] = true
				r.stations = append(r.stations, st)
			}
		}
		if len(r.stations) == 0 {
			return
		}
		r.panel, r.length = p, r.line.Length()
		for _, st := range r.stations {
			if t := drawing.TapeOf(p, st); r.from == "" && t.Beside == "" {
				r.from = t.From
			}
		}
		r.widen()
		runs = append(runs, r)
	}
	var ribs []stripRun
	for _, s := range p.Job.Supports {
		if s.Kind == "rib" {
			r := stripRun{name: s.Name, line: s.Line, in: stripRib, out: stripRib}
			r.reachEdge(p.Job.Outline.Outer)
			ribs = append(ribs, r)
			add(r, func(st *setout.Station) bool { return st.Support == s })
		}
	}
	n := len(runs)
	for _, e := range p.Job.Edges {
		if p.Job.Flange(e.Name) == nil {
			continue
		}
		line := drawing.TapeLine(p.Job, e)
		ends := line.V[0].Dist(line.V[len(line.V)-1].Point)
		add(stripRun{name: e.Name, edge: e.Name, line: line, closed: ends < plane.EdgeTol, in: stripIn, out: stripOut},
			func(st *setout.Station) bool { return st.Edge == e.Name })
	}
	runs = append(runs[n:len(runs):len(runs)], runs[:n]...)
	for _, st := range p.Stations {
		if !taken[st.ID] {
			rest = append(rest, st.ID)
		}
	}
	return runs, rest
}

// reachEdge makes a rib's line longer at both ends, straight on to the panel's edge, where that is near: the strip is laid by
// the edge.
func (r *stripRun) reachEdge(outer plane.Path) {
	ray := func(from, dir plane.Point) (plane.Point, bool) {
		hits := plane.Open(from, from.Add(dir.Scale(stripReach))).Meetings(outer)
		if len(hits) == 0 {
			return from, false
		}
		best := hits[0].At
		for _, h := range hits {
			if h.At.Dist(from) < best.Dist(from) {
				best = h.At
			}
		}
		return best, best.Dist(from) > plane.EdgeTol
	}
	long := r.line.Length()
	v := append([]plane.Vertex(nil), r.line.V...)
	if at, ok := ray(r.line.At(0), r.line.Tangent(0).Scale(-1)); ok {
		r.lead = at.Dist(v[0].Point)
		v = append([]plane.Vertex{{Point: at}}, v...)
	}
	if at, ok := ray(r.line.At(long), r.line.Tangent(long)); ok {
		v = append(v, plane.Vertex{Point: at})
	}
	r.line = plane.Path{V: v}
}

// widen gives the strip the room that its stations need on both sides of the line.
func (r *stripRun) widen() {
	for _, st := range r.stations {
		b := drawing.StationReach(r.panel, st)
		for _, c := range []plane.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}} {
			s, _, foot := r.line.Nearest(c)
			side := r.line.Tangent(s).Cross(c.Sub(foot))
			r.in, r.out = math.Max(r.in, side+stripClear), math.Max(r.out, stripClear-side)
		}
	}
}

// at is the place and the direction of travel at length s; a closed edge goes on round, others straight on past their ends.
func (r *stripRun) at(s float64) (at, along plane.Point) {
	if r.closed {
		s = math.Mod(s+2*r.length, r.length)
	}
	const inside = 1e-3 // mm: before a corner, where the tangent is still this line's
	t := math.Max(inside, math.Min(s, r.length-inside))
	along = r.line.Tangent(t)
	return r.line.At(t).Add(along.Scale(s - t)), along
}

// stripPiece is one strip: the part of a run between two cuts, in coordinates turned so that its chord runs to the right.
type stripPiece struct {
	run        *stripRun
	index, of  int
	a, b       float64 // along the run's line, its own part
	cutA, cutB bool
	turn       plane.Transform
	angle      float64
	panel      *setout.Panel // turned, with the stations that the window shows whole
	window     plane.Box     // turned
}

// name is what neighbours call the strip.
func (p *stripPiece) name() string {
	if p.of == 1 {
		return p.run.name
	}
	return fmt.Sprintf("%s %d", p.run.name, p.index+1)
}

// stripCut cuts a run into the fewest strips that are no wider and no higher than room says, all alike in length, or with full
// as long as the paper but for the last; none when none do.
func stripCut(r *stripRun, roomW, roomH float64, full bool) []stripPiece {
	first := 1
	if r.closed {
		first = 2
	}
next:
	for n := first; n <= stripsMost; n++ {
		stops := r.stops(n, full, roomW)
		pieces := make([]stripPiece, n)
		for i := range pieces {
			pieces[i] = stripPiece{run: r, index: i, of: n, a: stops[i], b: stops[i+1], cutA: r.closed || i > 0, cutB: r.closed || i < n-1}
			if !pieces[i].lay() || pieces[i].window.Width() > roomW || pieces[i].window.Height() > roomH {
				continue next
			}
		}
		return r.needed(pieces)
	}
	return nil
}

// needed leaves out what follows the last strip with a station of the edge's own: nothing is marked there.
func (r *stripRun) needed(pieces []stripPiece) []stripPiece {
	n := len(pieces)
	for !r.closed && n > 1 && len(pieces[n-1].own()) == 0 {
		n--
	}
	if n < len(pieces) {
		pieces[n-1].cutB = false
	}
	for i := range pieces {
		pieces[i].of = n
	}
	return pieces[:n]
}

// own lists the stations of the run that stand on the strip's own part.
func (p *stripPiece) own() (ids []string) {
	for _, st := range p.run.stations {
		if s, _, _ := p.run.line.Nearest(st.At); p.has(s) {
			ids = append(ids, st.ID)
		}
	}
	return ids
}

// stops are the ends of n strips, at even distances but for what keeps the cuts off the holes. A closed edge is cut so that
// its start lies within the first strip. With full the strips are as long as the paper and the last takes what is left, where
// that is no mere end.
func (r *stripRun) stops(n int, full bool, roomW float64) []float64 {
	const leastEnd = 45
	each := r.length / float64(n)
	out := make([]float64, n+1)
	out[n] = r.length
	if r.closed {
		for i := range n {
			out[i] = r.quiet((float64(i)-0.5)*each, min(each/4, quietMost))
		}
		out[n] = out[0] + r.length
		return out
	}
	long := roomW - stripOut - stripOverlap/2
	full = full && r.length-float64(n-1)*long > leastEnd
	for i := 1; i < n; i++ {
		if full {
			// The shift for the holes goes back only: further the paper does not reach.
			out[i] = r.quiet(out[i-1]+long-quietMost/2, quietMost/2)
			long = roomW - stripOverlap
			continue
		}
		out[i] = r.quiet(float64(i)*each, min(each/4, quietMost))
	}
	return out
}

// quietMost is how far a cut is moved to keep off the holes, mm.
const quietMost = 24.0

// quiet is the length nearest to s, at most d away, at which a cut keeps off the holes; where none does, the one that comes
// nearest to it.
func (r *stripRun) quiet(s, d float64) float64 {
	const clear, step = 4.0, 1.0
	best, room := s, math.Inf(-1)
	for k := 0.0; k <= d; k += step {
		for _, v := range []float64{s + k, s - k} {
			at, along := r.at(v)
			free := math.Inf(1)
			for _, st := range r.panel.Stations {
				free = math.Min(free, r.fromCut(drawing.StationReach(r.panel, st), at, along))
			}
			if free > room {
				best, room = v, free
			}
			if free >= clear {
				return v
			}
		}
	}
	return best
}

// fromCut is how far what stands at a station keeps from the cut at a place: below 0 when the cut goes through it, endless
// when it stands off the strip.
func (r *stripRun) fromCut(b plane.Box, at, along plane.Point) float64 {
	lo, hi, near := math.Inf(1), math.Inf(-1), false
	for _, c := range []plane.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}} {
		d := c.Sub(at)
		lo, hi = math.Min(lo, d.Dot(along)), math.Max(hi, d.Dot(along))
		side := along.Cross(d)
		near = near || side > -r.out && side < r.in
	}
	switch {
	case !near:
		return math.Inf(1)
	case lo > 0:
		return lo
	case hi < 0:
		return -hi
	}
	return math.Max(lo, -hi)
}

// lay turns the strip so that its chord runs to the right and finds its window; false when the edge bows too much for one
// strip.
func (p *stripPiece) lay() bool {
	r := p.run
	const lines = 48
	var pts []plane.Point
	for i := 0; i <= lines; i++ {
		at, _ := r.at(p.a + (p.b-p.a)*float64(i)/lines)
		pts = append(pts, at)
	}
	chord := pts[lines].Sub(pts[0])
	if !(chord.Len() > 0.5*(p.b-p.a)) {
		return false
	}
	for _, q := range pts {
		if math.Abs(chord.Unit().Cross(q.Sub(pts[0]))) > stripBow {
			return false
		}
	}
	p.angle = math.Atan2(chord.Y, chord.X)
	p.turn = plane.Turn(-p.angle, plane.Point{})
	p.window = plane.EmptyBox()
	for i, q := range pts {
		_, along := r.at(p.a + (p.b-p.a)*float64(i)/lines)
		p.span(q, along, 0)
	}
	for _, end := range []struct {
		s, way float64
		cut    bool
	}{{p.a, -1, p.cutA}, {p.b, 1, p.cutB}} {
		far := stripOut
		if end.cut {
			far = stripOverlap / 2
		}
		at, along := r.at(end.s)
		p.span(at, along, end.way*far)
	}
	turned := turnPanel(r.panel, p.turn, -p.angle)
	for _, st := range turned.Stations {
		for _, own := range r.stations {
			if s, _, _ := r.line.Nearest(own.At); st.ID == own.ID && p.has(s) {
				p.window = p.window.Union(drawing.StationReach(turned, st).Grow(2))
			}
		}
	}
	whole := map[string]bool{}
	for _, st := range turned.Stations {
		if b := drawing.StationReach(turned, st).Grow(1); p.window.Has(b.Min) && p.window.Has(b.Max) {
			whole[st.ID] = true
		}
	}
	p.panel = onlyStations(turned, whole)
	return true
}

// has says whether a length along the run is the strip's own.
func (p *stripPiece) has(s float64) bool {
	if s >= p.a && s <= p.b {
		return true
	}
	return p.run.closed && (s-p.run.length >= p.a && s-p.run.length <= p.b || s+p.run.length >= p.a && s+p.run.length <= p.b)
}

// span widens the window by the paper across the line at a place, moved by far along it.
func (p *stripPiece) span(at, along plane.Point, far float64) {
	in := along.Perp()
	for _, q := range []plane.Point{at.Add(in.Scale(p.run.in)), at.Sub(in.Scale(p.run.out))} {
		p.window = p.window.Include(p.turn.Apply(q.Add(along.Scale(far))))
	}
}

// cuts are the lines towards the neighbours, turned.
func (p *stripPiece) cuts() []drawing.Cut {
	var out []drawing.Cut
	neighbour := func(step int) string {
		q := stripPiece{run: p.run, of: p.of, index: (p.index + step + p.of) % p.of}
		return q.name()
	}
	add := func(s, way float64, words string) {
		at, along := p.run.at(s)
		in := along.Perp()
		a, b := at.Sub(in.Scale(p.run.out)), at.Add(in.Scale(p.run.in))
		c := drawing.Cut{A: p.turn.Apply(a), B: p.turn.Apply(b), Words: words}
		c.Out = p.turn.Apply(along.Scale(way)).Sub(p.turn.Apply(plane.Point{}))
		for _, t := range p.run.targets(a, b) {
			c.Targets = append(c.Targets, p.turn.Apply(t))
		}
		out = append(out, c)
	}
	if p.cutA {
		add(p.a, -1, "cut here, join to "+neighbour(-1))
	}
	if p.cutB {
		add(p.b, 1, "lay "+neighbour(1)+" on this line")
	}
	return out
}

// targets are two places on a cut line from outside to inside, as far apart as holes and outline let them stand.
func (r *stripRun) targets(a, b plane.Point) (out []plane.Point) {
	const ends, step = 6.5, 1.0
	long := a.Dist(b)
	free := func(at plane.Point) bool {
		for _, h := range r.panel.Holes {
			if h.At.Dist(at) < 9+h.Wanted/2 {
				return false
			}
		}
		o := r.panel.Job.Outline
		for _, path := range append([]plane.Path{o.Outer}, o.CutOuts...) {
			if _, d, _ := path.Nearest(at); d < 5.5 {
				return false
			}
		}
		return true
	}
	pick := func(from, to float64) {
		way := math.Copysign(step, to-from)
		for k := from; (to-k)*way >= 0; k += way {
			if at := a.Lerp(b, k/long); free(at) {
				out = append(out, at)
				return
			}
		}
	}
	pick(ends, long/2-8)
	pick(long-ends, long/2+8)
	return out
}
