package outline

import (
	"math"

	"panelwright/internal/plane"
)

// Thin returns a closed path of fewer lines and arcs that lies within tol (mm) of p, and how far off p it lies at most (at p's vertices
// and the middles of its arcs). Runs of pieces that lie on one line or one circle become one; a tight arc between two straight pieces
// that it nearly touches becomes a fillet, tangent to both. Vertices that stay are p's own, but for the ends of fillets.
//
// What a drawing program writes as a Bézier curve, a spline or short lines, and what was digitised point by point, comes out as a
// fitter would describe it. A path that would cross itself, or cannot be made shorter, comes back as it is.
func Thin(p plane.Path, tol float64) (plane.Path, float64) {
	if !p.Closed || len(p.V) < 4 || !(tol > 0) {
		return p, 0
	}
	// The longest piece begins a run, for nothing before it can be part of it; then the sharpest joint that came out does.
	first := 0
	for i := range p.V {
		if p.Seg(i).Length() > p.Seg(first).Length() {
			first = i
		}
	}
	t := newThinning(p, tol, first)
	if t.greedy(); len(t.runs) > 1 {
		t = newThinning(p, tol, (first+t.sharpest())%len(p.V))
		t.greedy()
	}
	q := t.fillets()
	off := t.off(q)
	if len(q.V) >= len(p.V) || off > 2*tol || len(q.V) > 1 && len(q.Facts()) > 0 || q.Area()*p.Area() <= 0 {
		return p, 0
	}
	return q, off
}

// thinning is a path being thinned: its pieces from a place where they should part.
type thinning struct {
	tol   float64
	segs  []plane.Seg
	marks [][2]plane.Point // of each piece: its middle and its end
	runs  []thinRun
}

// thinRun is pieces from to to−1 that are one.
type thinRun struct {
	from, to int
	bulge    float64
}

func newThinning(p plane.Path, tol float64, first int) *thinning {
	n := len(p.V)
	t := &thinning{tol: tol}
	for k := range n {
		g := p.Seg((first + k) % n)
		t.segs = append(t.segs, g)
		t.marks = append(t.marks, [2]plane.Point{g.At(0.5), g.B})
	}
	return t
}

// greedy lays the longest line or arc that fits from where the last one ended, again and again.
func (t *thinning) greedy() {
	n := len(t.segs)
	for i := 0; i < n; {
		r := thinRun{i, i + 1, t.segs[i].Bulge}
		// Twice as many pieces while they fit, then between the last that did and the first that did not.
		bad := n + 1
		for step := 2; r.to < n; step *= 2 {
			j := min(i+step, n)
			b, ok := t.fit(i, j)
			if !ok {
				bad = j
				break
			}
			r.to, r.bulge = j, b
		}
		for bad-r.to > 1 && bad <= n {
			j := (r.to + bad) / 2
			if b, ok := t.fit(i, j); ok {
				r.to, r.bulge = j, b
			} else {
				bad = j
			}
		}
		t.runs = append(t.runs, r)
		i = r.to
	}
}

// seg is the line or arc of run k, counted round.
func (t *thinning) seg(k int) plane.Seg {
	r := t.runs[(k+len(t.runs))%len(t.runs)]
	return plane.Seg{A: t.segs[r.from].A, B: t.segs[r.to-1].B, Bulge: r.bulge}
}

// sharpest is the piece that begins at the joint of runs with the greatest turn.
func (t *thinning) sharpest() int {
	best, at := -1.0, 0
	for k, r := range t.runs {
		u, v := t.seg(k-1).Tangent(1), t.seg(k).Tangent(0)
		if turn := math.Abs(math.Atan2(u.Cross(v), u.Dot(v))); turn > best {
			best, at = turn, r.from
		}
	}
	return at
}

// fit says whether pieces i to j−1 are one line or one arc, and its bulge.
func (t *thinning) fit(i, j int) (bulge float64, ok bool) {
	a, b := t.segs[i].A, t.segs[j-1].B
	if a.Dist(b) <= plane.EdgeTol {
		return 0, false
	}
	if t.within(i, j, plane.Seg{A: a, B: b}) {
		return 0, true
	}
	// The arc through the ends and the middle of the run, and the mean of those through three places along it.
	sum, n := 0.0, 0
	for _, k := range []float64{0.5, 0.3, 0.7} {
		m := t.segs[min(max(i+int(math.Round(k*float64(j-i))), i+1), j-1)].A
		if v, err := plane.ArcThrough(a, m, b); err == nil {
			if n == 0 && t.within(i, j, plane.Seg{A: a, B: b, Bulge: v}) {
				return v, true
			}
			sum, n = sum+v, n+1
		}
	}
	if n == 0 {
		return 0, false
	}
	v := sum / float64(n)
	return v, t.within(i, j, plane.Seg{A: a, B: b, Bulge: v})
}

// mostBulge is of the longest arc that stands for a run: two thirds of a circle.
var mostBulge = math.Tan(math.Pi / 3)

// within says whether the pieces lie within the tolerance of g, and run along it one after another.
func (t *thinning) within(i, j int, g plane.Seg) bool {
	if math.Abs(g.Bulge) > mostBulge {
		return false
	}
	last := 0.0
	slack := t.tol / max(g.Length(), t.tol)
	sweep := math.Abs(g.Sweep())
	for k := i; k < j; k++ {
		// The middle of a chord lies off the arc that it stands for, by as much as whoever drew it let it.
		chord := !t.segs[k].IsArc() && g.IsArc()
		was := last
		for e, p := range t.marks[k] {
			if chord && e == 0 {
				continue
			}
			at, foot := g.Nearest(p)
			if foot.Dist(p) > t.tol || at < last-slack {
				return false
			}
			last = max(last, at)
		}
		if turn := (last - was) * sweep; chord && (turn > chordTurn || g.Radius()*(1-math.Cos(turn/2)) > chordSag) {
			return false
		}
	}
	return true
}

// The longest chord that may stand for an arc. Common practice, no source: what drawing programs write of a curve is finer, and what is
// coarser was meant to have corners.
const (
	chordTurn = 20 * math.Pi / 180 // rad
	chordSag  = 0.5                // mm
)

// off is how far the pieces lie off q at most: of straight pieces their ends, of arcs their middles too.
func (t *thinning) off(q plane.Path) (most float64) {
	for k, m := range t.marks {
		for e, p := range m {
			if e == 0 && !t.segs[k].IsArc() {
				continue
			}
			_, d, _ := q.Nearest(p)
			most = max(most, d)
		}
	}
	return most
}

// filletSlack is by how much (rad) an arc may miss the direction of the straight piece beside it and still be its fillet.
const filletSlack = 0.15

// fillets returns the runs as a path, arcs between two straight ones laid tangent to both: the straight ones by least squares over what
// lies well within them, the radius so that the worst place of the arc is as near as it can be.
func (t *thinning) fillets() plane.Path {
	n := len(t.runs)
	out := plane.Path{Closed: true}
	for k := range n {
		g := t.seg(k)
		out.V = append(out.V, plane.Vertex{Point: g.A, Bulge: g.Bulge})
	}
	if n < 3 {
		return out
	}
	for k := range n {
		g, in, on := t.seg(k), t.seg(k-1), t.seg(k+1)
		if !g.IsArc() || in.IsArc() || on.IsArc() {
			continue
		}
		if math.Abs(in.Tangent(1).Cross(g.Tangent(0))) > filletSlack || math.Abs(on.Tangent(0).Cross(g.Tangent(1))) > filletSlack {
			continue
		}
		p, u := t.straight(k - 1)
		q, v := t.straight(k + 1)
		turn := math.Atan2(u.Cross(v), u.Dot(v))
		if math.Abs(turn) < 0.05 || math.Abs(turn) > 3 || turn*g.Bulge <= 0 {
			continue
		}
		corner := p.Add(u.Scale(q.Sub(p).Cross(v) / u.Cross(v)))
		f := fillet{corner, u, v, turn}
		r := f.best(t.marksOf(k), corner.Dist(g.At(0.5))/(1/math.Cos(turn/2)-1))
		arc := f.arc(r)
		if arc.A.Sub(in.A).Dot(u) <= plane.EdgeTol || on.B.Sub(arc.B).Dot(v) <= plane.EdgeTol {
			continue
		}
		out.V[k] = plane.Vertex{Point: arc.A, Bulge: arc.Bulge}
		out.V[(k+1)%n].Point = arc.B
	}
	return out
}

// straight is a place on run k and its direction: those of a piece that is most of it, else by least squares over its vertices but for a tenth at either end, which may belong to
// a curve beside it.
func (t *thinning) straight(k int) (at, dir plane.Point) {
	g := t.seg(k)
	r := t.runs[(k+len(t.runs))%len(t.runs)]
	u := g.B.Sub(g.A).Unit()
	for i := r.from; i < r.to; i++ { // a piece that is most of the run is what was meant
		if s := t.segs[i]; !s.IsArc() && s.Chord() > g.Length()/2 {
			return s.A, s.B.Sub(s.A).Unit()
		}
	}
	var pts []plane.Point
	for i := r.from; i < r.to; i++ {
		p := t.segs[i].A
		if s := p.Sub(g.A).Dot(u) / g.Length(); s > 0.1 && s < 0.9 {
			pts = append(pts, p)
		}
	}
	const few = 6 // with fewer the run's own ends say it better
	if len(pts) < few {
		return g.A, u
	}
	var c plane.Point
	for _, p := range pts {
		c = c.Add(p.Scale(1 / float64(len(pts))))
	}
	var xx, xy, yy float64
	for _, p := range pts {
		d := p.Sub(c)
		xx, xy, yy = xx+d.X*d.X, xy+d.X*d.Y, yy+d.Y*d.Y
	}
	a := math.Atan2(2*xy, xx-yy) / 2
	dir = plane.Point{X: 1}.Rotate(a)
	if dir.Dot(u) < 0 {
		dir = dir.Scale(-1)
	}
	return c, dir
}

// marksOf are the places of run k that its arc should pass.
func (t *thinning) marksOf(k int) (out []plane.Point) {
	r := t.runs[k]
	for i := r.from; i < r.to; i++ {
		if t.segs[i].IsArc() {
			out = append(out, t.marks[i][0])
		}
		if i > r.from {
			out = append(out, t.segs[i].A)
		}
	}
	return out
}

// fillet is a corner with the directions that lead to it and from it, and the turn between them.
type fillet struct {
	corner, u, v plane.Point
	turn         float64
}

func (f fillet) arc(r float64) plane.Seg {
	cut := r * math.Tan(math.Abs(f.turn)/2)
	return plane.Seg{A: f.corner.Sub(f.u.Scale(cut)), B: f.corner.Add(f.v.Scale(cut)), Bulge: math.Tan(f.turn / 4)}
}

// best is the radius near r whose fillet passes all places nearest, by golden section.
func (f fillet) best(places []plane.Point, r float64) float64 {
	miss := func(r float64) (most float64) {
		g := f.arc(r)
		c, _ := g.Centre()
		for _, p := range places {
			most = max(most, math.Abs(p.Dist(c)-r))
		}
		return most
	}
	if len(places) == 0 {
		return r
	}
	golden := (math.Sqrt(5) - 1) / 2
	lo, hi := 0.6*r, 1.6*r
	for range 48 {
		a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
		if miss(a) < miss(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return (lo + hi) / 2
}
