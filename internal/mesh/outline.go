package mesh

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

// curve is an edge of the outline, of a cut-out or of a line, with the places where it must be cut.
type curve struct {
	seg       plane.Seg
	loop      int // of the region, −1 for a line's
	edge      int
	line      int // −1 for a loop's
	from, len float64
	step      float64 // longest edge along it, mm
	cuts      []float64
}

// owner says that a piece lies on an edge of a loop or on a line: from and to are lengths along the line's path, or fractions
// of no meaning for a loop.
type owner struct {
	loop, edge, line int
	from, to         float64 // to < from: the piece runs the other way
}

// piece is a straight run between two input vertices, with all that lies on it.
type piece struct {
	a, b   int32
	step   float64 // mm, longest edge along it
	owners []owner
}

// chain is a divided part of a curve: another curve that runs along it is divided alike.
type chain struct {
	mid plane.Point
	v   []int32
}

// drawing is the input made straight: vertices and pieces that meet at vertices alone.
type drawing struct {
	d      *Domain
	curves []curve
	at     []plane.Point
	cell   map[[2]int32][]int32 // looked up by cell, never ranged over
	pieces []piece
	index  map[[2]int32]int32
	chains map[[2]int32][]chain
	points []int32
}

// draw makes a domain straight.
func draw(d *Domain) (*drawing, error) {
	g := &drawing{d: d, cell: map[[2]int32][]int32{}, index: map[[2]int32]int32{}, chains: map[[2]int32][]chain{}}
	for l, p := range d.Region.Paths() {
		step := d.Size.Edge
		if step <= 0 {
			step = d.Size.Max
		}
		g.addPath(p, l, -1, step)
	}
	for i, l := range d.Lines {
		step := l.Step
		if step <= 0 {
			step = d.Size.Max
		}
		g.addPath(l.Path, -1, i, step)
	}
	g.cutAtMeetings()
	if err := g.cutAtPoints(); err != nil {
		return nil, err
	}
	for i := range g.curves {
		g.pieceUp(&g.curves[i])
	}
	for _, p := range d.Points {
		g.points = append(g.points, g.vertex(p))
	}
	if len(g.pieces) < 3 {
		return nil, &Unfit{Reason: "the outline is smaller than what counts as one place", At: d.Region.Bounds().Centre()}
	}
	return g, nil
}

func (g *drawing) addPath(p plane.Path, loop, line int, step float64) {
	s := 0.0
	for i, e := range p.Segs() {
		n := e.Length()
		if n > 0 {
			g.curves = append(g.curves, curve{seg: e, loop: loop, edge: i, line: line, from: s, len: n, step: min(step, g.d.Size.Max)})
		}
		s += n
	}
}

// cutAtMeetings cuts curves where they meet others.
func (g *drawing) cutAtMeetings() {
	boxes := make([]plane.Box, len(g.curves))
	for i := range g.curves {
		boxes[i] = g.curves[i].seg.Bounds().Grow(Same)
	}
	for i := range g.curves {
		a := &g.curves[i]
		a.cuts = append(a.cuts, 0, 1)
		for j := i + 1; j < len(g.curves); j++ {
			b := &g.curves[j]
			if a.loop >= 0 && b.loop >= 0 || !boxes[i].Overlaps(boxes[j]) {
				continue // loops do not meet; neighbours share their corner
			}
			for _, m := range plane.Meet(a.seg, b.seg, plane.EdgeTol) {
				for _, p := range []plane.Point{m.At, m.To} {
					t, _ := a.seg.Nearest(p)
					u, _ := b.seg.Nearest(p)
					a.cuts, b.cuts = append(a.cuts, t), append(b.cuts, u)
				}
			}
			// Ends that lie beside the other curve, nearer than what counts as one place.
			for _, p := range []plane.Point{b.seg.A, b.seg.B} {
				if t, foot := a.seg.Nearest(p); foot.Dist(p) <= Same {
					a.cuts = append(a.cuts, t)
				}
			}
			for _, p := range []plane.Point{a.seg.A, a.seg.B} {
				if t, foot := b.seg.Nearest(p); foot.Dist(p) <= Same {
					b.cuts = append(b.cuts, t)
				}
			}
		}
	}
}

// cutAtPoints cuts curves where a wanted point lies on them, and refuses points outside the region.
func (g *drawing) cutAtPoints() error {
	for _, p := range g.d.Points {
		if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			return &Unfit{Reason: "a point without a place", At: p}
		}
		on := false
		for i := range g.curves {
			c := &g.curves[i]
			if t, foot := c.seg.Nearest(p); foot.Dist(p) <= Same {
				c.cuts = append(c.cuts, t)
				on = on || c.loop >= 0
			}
		}
		if !on && g.d.Region.Contains(p) == plane.Outside {
			return &Unfit{Reason: "a point outside the region", At: p}
		}
	}
	return nil
}

// pieceUp divides a curve at its cuts, and what lies between them evenly.
func (g *drawing) pieceUp(c *curve) {
	slices.Sort(c.cuts)
	flat := g.d.Size.Flat
	last := g.vertex(c.seg.A)
	lastT := 0.0
	for _, t := range c.cuts[1:] {
		if (t-lastT)*c.len <= Same && t < 1 {
			continue
		}
		end := g.vertex(c.seg.At(t))
		if end == last {
			lastT = t
			continue
		}
		sub := c.seg.Sub(lastT, t)
		n := 1
		if sub.IsArc() {
			// A chord over the angle a stays r·(1 − cos(a/2)) off its arc.
			a := 2 * math.Acos(math.Max(0, 1-flat/sub.Radius()))
			n = max(1, int(math.Ceil(math.Abs(sub.Sweep())/math.Min(a, math.Pi/6)-1e-9)))
		}
		if c.line < 0 || g.keeps(sub) {
			g.chords(c, sub, last, end, lastT, t, n)
		}
		last, lastT = end, t
	}
}

// keeps says whether a part of a line between its cuts lies in the region.
func (g *drawing) keeps(s plane.Seg) bool { return g.d.Region.Contains(s.At(0.5)) != plane.Outside }

// chords adds the part of a curve from vertex a to b as n pieces, or more where they would be longer than its step.
func (g *drawing) chords(c *curve, sub plane.Seg, a, b int32, t0, t1 float64, n int) {
	v := g.chain(sub, a, b, max(n, int(math.Ceil(sub.Length()/c.step-1e-9))))
	last := float64(len(v) - 1)
	for k, to := range v[1:] {
		if from := v[k]; to != from {
			u0, u1 := t0+(t1-t0)*float64(k)/last, t0+(t1-t0)*float64(k+1)/last
			g.addPiece(from, to, c.step, owner{loop: c.loop, edge: c.edge, line: c.line, from: c.from + u0*c.len, to: c.from + u1*c.len})
		}
	}
}

// chain returns the vertices along a part of a curve, n pieces, or those of the curve that it runs along.
func (g *drawing) chain(sub plane.Seg, a, b int32, n int) []int32 {
	mid := sub.At(0.5)
	for _, c := range g.chains[[2]int32{a, b}] {
		if c.mid.Dist(mid) <= Same {
			return c.v
		}
	}
	for _, c := range g.chains[[2]int32{b, a}] {
		if c.mid.Dist(mid) <= Same {
			v := slices.Clone(c.v)
			slices.Reverse(v)
			return v
		}
	}
	v := []int32{a}
	for k := 1; k < n; k++ {
		v = append(v, g.vertex(sub.At(float64(k)/float64(n))))
	}
	v = append(v, b)
	k := [2]int32{a, b}
	g.chains[k] = append(g.chains[k], chain{mid, v})
	return v
}

// addPiece adds a piece, or one more owner to the piece that is there.
func (g *drawing) addPiece(a, b int32, step float64, o owner) {
	k := [2]int32{min(a, b), max(a, b)}
	i, ok := g.index[k]
	if !ok {
		i = int32(len(g.pieces))
		g.index[k] = i
		g.pieces = append(g.pieces, piece{a: a, b: b, step: step})
	}
	p := &g.pieces[i]
	if p.a != a {
		o.from, o.to = o.to, o.from
	}
	p.step = min(p.step, step)
	p.owners = append(p.owners, o)
}

// vertex returns the vertex at a place, the one that is there already where one lies within Same.
func (g *drawing) vertex(p plane.Point) int32 {
	cx, cy := int32(math.Floor(p.X/Same)), int32(math.Floor(p.Y/Same))
	best, near := int32(-1), Same
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for _, v := range g.cell[[2]int32{cx + dx, cy + dy}] {
				if d := g.at[v].Dist(p); d < near {
					best, near = v, d
				}
			}
		}
	}
	if best >= 0 {
		return best
	}
	v := int32(len(g.at))
	g.at = append(g.at, p)
	k := [2]int32{cx, cy}
	g.cell[k] = append(g.cell[k], v)
	return v
}
