package mesh

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

// curve is an edge of the outline, of a cut-out or of a line, with the places where it must be cut.
type curve struct {
	seg       plane.Seg
	box       plane.Box
	loop      int // of the region, −1 for a line's
	edge      int
	line      int // −1 for a loop's
	from, len float64
	step      float64 // longest edge along it, mm
	cuts      []float64
}

// owner says that a piece lies on an edge of a loop or on a line: from and to are lengths along its path.
type owner struct {
	curve            int // of the drawing
	loop, edge, line int
	from, to         float64 // at the piece's ends a and b
	back             bool    // the piece runs the other way
}

// piece is a short run of line or arc between two input vertices, with all that lies on it.
type piece struct {
	a, b   int32
	seg    plane.Seg // from a's place to b's
	step   float64   // mm, longest edge along it
	owners []owner
	gone   bool // replaced by others
}

// chain is a divided part of a curve: another curve that runs along it is divided alike.
type chain struct {
	mid plane.Point
	v   []int32
}

// drawing is the input as vertices and pieces that meet at vertices alone.
type drawing struct {
	d      *Domain
	curves []curve
	at     []plane.Point
	cell   map[[2]int64]int32 // last vertex of a cell of Same
	older  []int32            // the vertex before it in its cell, −1 none
	pieces []piece
	index  map[[2]int32][]int32 // pieces between two vertices, lesser first
	chains map[[2]int32][]chain
	points []int32
}

// draw makes a drawing of a domain.
func draw(d *Domain) (*drawing, error) {
	g := &drawing{d: d, cell: map[[2]int64]int32{}, index: map[[2]int32][]int32{}, chains: map[[2]int32][]chain{}}
	for l, p := range d.Region.Paths() {
		step := d.Size.Edge
		if step <= 0 {
			step = d.Size.Max
		}
		g.addPath(p, l, -1, step)
	}
	loops := len(g.curves)
	for i, l := range d.Lines {
		step := l.Step
		if step <= 0 {
			step = d.Size.Max
		}
		g.addPath(l.Path, -1, i, step)
	}
	if n := g.fewest(); n > d.Size.Nodes {
		return nil, &TooLarge{Limit: d.Size.Nodes, At: d.Region.Bounds().Centre(), Size: d.Size.Max}
	}
	g.cutAtMeetings()
	// Corners of the outline stay where they are; points come next, and what is cut after them falls onto them.
	for i := range g.curves[:loops] {
		g.vertex(g.curves[i].seg.A)
	}
	if err := g.cutAtPoints(); err != nil {
		return nil, err
	}
	for i := range g.curves {
		if err := g.pieceUp(i); err != nil {
			return nil, err
		}
	}
	if err := g.clear(); err != nil {
		return nil, err
	}
	if len(g.pieces) < 3 {
		return nil, &Unfit{Reason: "the outline is smaller than what counts as one place", At: d.Region.Bounds().Centre()}
	}
	return g, nil
}

// fewest is a lower bound on the nodes along outline and lines.
func (g *drawing) fewest() int {
	n := 0.0
	for i := range g.curves {
		if c := &g.curves[i]; c.line < 0 {
			n += c.len / c.step
		}
	}
	return int(min(n, 1e9))
}

func (g *drawing) addPath(p plane.Path, loop, line int, step float64) {
	s := 0.0
	for i, e := range p.Segs() {
		n := e.Length()
		if n > 0 {
			g.curves = append(g.curves, curve{seg: e, box: e.Bounds().Grow(Same), loop: loop, edge: i, line: line, from: s, len: n, step: min(step, g.d.Size.Max), cuts: []float64{0, 1}})
		}
		s += n
	}
}

// cutAtMeetings cuts curves where they meet others.
func (g *drawing) cutAtMeetings() {
	for i := range g.curves {
		a := &g.curves[i]
		for j := i + 1; j < len(g.curves); j++ {
			b := &g.curves[j]
			if a.loop >= 0 && b.loop >= 0 || !a.box.Overlaps(b.box) {
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

// cutAtPoints makes vertices of the wanted points, on a curve where they lie beside one, which is cut there. It refuses points
// outside the region.
func (g *drawing) cutAtPoints() error {
	for _, p := range g.d.Points {
		if lost(p.X + p.Y) {
			return &Unfit{Reason: "a point without a place", At: p}
		}
		to, near, loop := p, math.Inf(1), false
		for i := range g.curves {
			c := &g.curves[i]
			if !c.box.Has(p) || loop && c.loop < 0 {
				continue
			}
			t, foot := c.seg.Nearest(p)
			if d := foot.Dist(p); d <= Same {
				c.cuts = append(c.cuts, t)
				if d < near {
					to, near = foot, d
				}
				loop = loop || c.loop >= 0
			}
		}
		if !loop && g.d.Region.Contains(p) == plane.Outside {
			return &Unfit{Reason: "a point outside the region", At: p}
		}
		g.points = append(g.points, g.vertex(to))
	}
	return nil
}

// pieceUp divides a curve at its cuts, and what lies between them evenly.
func (g *drawing) pieceUp(i int) error {
	c := &g.curves[i]
	slices.Sort(c.cuts)
	flat := g.d.Size.Flat
	last, lastT := int32(-1), 0.0
	for _, t := range c.cuts[1:] {
		if (t-lastT)*c.len <= Same && t < 1 || t == lastT {
			continue
		}
		sub := c.seg.Sub(lastT, t)
		if c.line >= 0 && g.d.Region.Contains(sub.At(0.5)) == plane.Outside {
			last, lastT = -1, t
			continue
		}
		if last < 0 {
			last = g.vertex(sub.A)
		}
		end := g.vertex(sub.B)
		if end == last {
			lastT = t
			continue
		}
		n := 1
		if sub.IsArc() {
			// A chord over the angle a stays r·(1 − cos(a/2)) off its arc.
			a := 2 * math.Acos(math.Max(0, 1-flat/sub.Radius()))
			n = max(1, wholes(math.Abs(sub.Sweep())/math.Min(a, math.Pi/6)))
		}
		n = max(n, wholes(sub.Length()/c.step))
		if limit := g.d.Size.Nodes; n > limit || len(g.at) > limit {
			return &TooLarge{Limit: limit, At: sub.At(0.5), Size: sub.Length() / float64(n)}
		}
		g.chords(i, sub, last, end, lastT, t, n)
		last, lastT = end, t
	}
	return nil
}

// wholes rounds up, but not what is over a whole number by rounding alone.
func wholes(v float64) int { return int(min(math.Ceil(v-1e-9), 1e9)) }

// chords adds the part of a curve from vertex a to b as n pieces.
func (g *drawing) chords(i int, sub plane.Seg, a, b int32, t0, t1 float64, n int) {
	c := &g.curves[i]
	v := g.chain(sub, a, b, n)
	last := float64(len(v) - 1)
	for k, to := range v[1:] {
		if from := v[k]; to != from {
			u0, u1 := t0+(t1-t0)*float64(k)/last, t0+(t1-t0)*float64(k+1)/last
			p := piece{a: from, b: to, seg: plane.Seg{A: g.at[from], B: g.at[to], Bulge: math.Tan(sub.Sweep() / last / 4)}, step: c.step}
			p.owners = []owner{{curve: i, loop: c.loop, edge: c.edge, line: c.line, from: c.from + u0*c.len, to: c.from + u1*c.len}}
			g.addPiece(p)
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

// addPiece adds a piece, or its owners to the piece that is there.
func (g *drawing) addPiece(p piece) {
	k := [2]int32{min(p.a, p.b), max(p.a, p.b)}
	mid := p.seg.At(0.5)
	for _, i := range g.index[k] {
		q := &g.pieces[i]
		if q.gone || q.seg.At(0.5).Dist(mid) > Same {
			continue
		}
		for _, o := range p.owners {
			if q.a != p.a {
				o.from, o.to, o.back = o.to, o.from, !o.back
			}
			q.owners = append(q.owners, o)
		}
		q.step = min(q.step, p.step)
		return
	}
	g.index[k] = append(g.index[k], int32(len(g.pieces)))
	g.pieces = append(g.pieces, p)
}

// vertex returns the vertex at a place, the one that is there already where one lies within Same.
func (g *drawing) vertex(p plane.Point) int32 {
	cx, cy := int64(math.Floor(p.X/Same)), int64(math.Floor(p.Y/Same))
	best, near := int32(-1), Same
	for dx := int64(-1); dx <= 1; dx++ {
		for dy := int64(-1); dy <= 1; dy++ {
			v, ok := g.cell[[2]int64{cx + dx, cy + dy}]
			for ; ok && v >= 0; v = g.older[v] {
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
	k := [2]int64{cx, cy}
	old, ok := g.cell[k]
	if !ok {
		old = -1
	}
	g.older = append(g.older, old)
	g.cell[k] = v
	return v
}
