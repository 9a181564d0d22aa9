package mesh

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

// The defaults of Size.
const (
	DefaultGrow  = 0.35
	DefaultFlat  = 0.25               // mm: no panel is cut truer
	DefaultAngle = 25 * math.Pi / 180 // rad: refinement is sure to end up to about 20.7° and does so in practice to about 30°
	DefaultNodes = 60000
)

// Same is how near (mm) two places may lie and still be told apart: holes are marked no better.
const Same = 0.05

// Build divides a domain. *TooLarge when that takes more nodes than the limit, *Unfit when the domain cannot be divided. Angles
// are at least Size.Angle, except beside corners of the input that are sharper than 60°, where a few stay sharper.
func Build(d Domain) (*Mesh, error) {
	if err := d.complete(); err != nil {
		return nil, err
	}
	g, err := draw(&d)
	if err != nil {
		return nil, err
	}
	r := &refiner{network: newNetwork(g.bounds()), g: g, cosBad: math.Cos(d.Size.Angle), limit: d.Size.Nodes}
	r.size = newSizing(&d, g)
	r.seal()
	if r.err == nil {
		r.strip()
	}
	if r.err == nil {
		r.run()
	}
	if r.err != nil {
		return nil, r.err
	}
	m := r.mesh()
	if r.err != nil {
		return nil, r.err
	}
	m.bins = newBins(m)
	return m, nil
}

// complete fills in the defaults and refuses sizes that mean nothing.
func (d *Domain) complete() error {
	s := &d.Size
	if !(s.Max > 0) || math.IsInf(s.Max, 0) {
		panic("mesh: Size.Max must be positive")
	}
	def := func(v *float64, to float64) {
		if *v <= 0 {
			*v = to
		}
	}
	def(&s.Grow, DefaultGrow)
	def(&s.Flat, DefaultFlat)
	def(&s.Angle, DefaultAngle)
	if s.Nodes <= 0 {
		s.Nodes = DefaultNodes
	}
	d.Region = d.Region.Normalise()
	for _, p := range d.Region.Paths() {
		if len(p.V) < 2 {
			return &Unfit{Reason: "an outline without edges"}
		}
		if err := placed(p); err != nil {
			return err
		}
	}
	for _, l := range d.Lines {
		if err := placed(l.Path); err != nil {
			return err
		}
	}
	for _, n := range s.Near {
		if lost(n.At.X + n.At.Y + n.Step) {
			return &Unfit{Reason: "a wanted size without a place", At: n.At}
		}
	}
	return nil
}

// placed refuses paths with vertices that are nowhere.
func placed(p plane.Path) error {
	for _, v := range p.V {
		if lost(v.X + v.Y + v.Bulge) {
			return &Unfit{Reason: "a vertex without a place", At: v.Point}
		}
	}
	return nil
}

func lost(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

// strip takes off what lies outside the outline and in the cut-outs: what a walk from the box reaches without crossing a loop,
// and what lies behind a loop's edge.
func (r *refiner) strip() {
	out := make([]bool, len(r.tris))
	var stack []int32
	visit := func(t int32) {
		if t >= 0 && !out[t] {
			out[t] = true
			stack = append(stack, t)
		}
	}
	for t := range r.tris {
		if r.dead[t] {
			continue
		}
		q := &r.tris[t]
		for i := range 3 {
			if q.n[i] < 0 {
				visit(int32(t))
			}
			if s := q.s[i]; s >= 0 && r.behind(r.segs[s], q.v[i]) {
				visit(int32(t))
			}
		}
	}
	for len(stack) > 0 {
		t := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		q := &r.tris[t]
		for i := range 3 {
			if s := q.s[i]; s < 0 || !r.onLoop(s) {
				visit(q.n[i])
			}
		}
	}
	for t := range out {
		if r.dead[t] {
			continue
		}
		if out[t] {
			r.dead[t] = true
			r.free = append(r.free, int32(t))
			continue
		}
		q := &r.tris[t]
		for i := range 3 {
			if q.n[i] >= 0 && out[q.n[i]] {
				q.n[i] = -1
			}
			r.of[q.v[i]] = int32(t)
			if q.s[i] >= 0 {
				r.segs[q.s[i]].tri = int32(t)
			}
		}
		r.last = int32(t)
	}
	// Vertices of the box have no triangle any more; nothing asks for them. Nor for what lies where the region is thinner than
	// one place: its segments go.
	for i := range r.segs {
		if s := &r.segs[i]; !s.gone && r.dead[s.tri] {
			s.gone = true
		}
	}
	live := false
	for t := range r.tris {
		live = live || !r.dead[t]
	}
	if !live {
		r.err = &Unfit{Reason: "nothing is left inside the outline", At: r.g.d.Region.Bounds().Centre()}
	}
}

func (r *refiner) onLoop(s int32) bool {
	for _, o := range r.g.pieces[r.segs[s].piece].owners {
		if o.line < 0 {
			return true
		}
	}
	return false
}

// behind says whether the triangle whose edge starts at v and lies on the segment is outside: loops have the region on their
// left.
func (r *refiner) behind(s segment, v int32) bool {
	for _, o := range r.g.pieces[s.piece].owners {
		if o.line < 0 && o.back == (v == s.a) {
			return true
		}
	}
	return false
}

// mesh hands out what was made.
func (r *refiner) mesh() *Mesh {
	m := &Mesh{}
	number := make([]int32, len(r.at))
	for i := range number {
		number[i] = -1
	}
	for t := range r.tris {
		if r.dead[t] {
			continue
		}
		for _, v := range r.tris[t].v {
			if number[v] < 0 {
				number[v] = 0
			}
		}
	}
	for v, used := range number {
		if used >= 0 {
			number[v] = int32(len(m.Nodes))
			m.Nodes = append(m.Nodes, r.at[v])
		}
	}
	for t := range r.tris {
		if !r.dead[t] {
			q := r.tris[t].v
			m.Tris = append(m.Tris, [3]int32{number[q[0]], number[q[1]], number[q[2]]})
		}
	}
	for _, p := range r.g.points {
		v := number[r.net[p]]
		if v < 0 {
			r.err = &Unfit{Reason: "a point where the region is thinner than what counts as one place", At: r.g.at[p]}
			return nil
		}
		m.Points = append(m.Points, v)
	}
	r.trace(m, number)
	return m
}

// stretch is a segment as one of its owners sees it.
type stretch struct {
	edge     int
	from, to float64
	a, b     int32
}

// trace gathers border and lines from the segments.
func (r *refiner) trace(m *Mesh, number []int32) {
	loops := make([][]stretch, len(r.g.d.Region.Paths()))
	lines := make([][]stretch, len(r.g.d.Lines))
	for i := range r.segs {
		s := &r.segs[i]
		if s.gone {
			continue
		}
		for _, o := range r.g.pieces[s.piece].owners {
			w := stretch{edge: o.edge, from: o.from + (o.to-o.from)*s.t0, to: o.from + (o.to-o.from)*s.t1, a: number[s.a], b: number[s.b]}
			if o.back {
				w.from, w.to, w.a, w.b = w.to, w.from, w.b, w.a
			}
			if o.line < 0 {
				loops[o.loop] = append(loops[o.loop], w)
			} else {
				lines[o.line] = append(lines[o.line], w)
			}
		}
	}
	byFrom := func(list []stretch) {
		slices.SortFunc(list, func(p, q stretch) int {
			switch {
			case p.from < q.from:
				return -1
			case p.from > q.from:
				return 1
			}
			return 0
		})
	}
	for l, list := range loops {
		byFrom(list)
		for _, w := range list {
			m.Border = append(m.Border, BorderEdge{w.a, w.b, l, w.edge})
		}
	}
	m.Lines = make([][]LineNode, len(lines))
	for l, list := range lines {
		byFrom(list)
		t := tape{path: r.g.d.Lines[l].Path, m: m}
		for i, w := range list {
			// A line can come back at the node where it left.
			if i == 0 || list[i-1].b != w.a || w.from-list[i-1].to > 4*Same {
				if n := len(t.out); n > 0 {
					t.out[n-1].Gap = true
				}
				t.add(w.a, w.edge, w.from)
			}
			t.add(w.b, w.edge, w.to)
		}
		// A node that was drawn to stands for the end of the line too.
		if n, all := len(t.out), t.path.Length(); n > 0 {
			if t.out[0].S <= Same {
				t.out[0].S = 0
			}
			if all-t.out[n-1].S <= Same {
				t.out[n-1].S = all
			}
		}
		m.Lines[l] = t.out
	}
}

// tape measures nodes along a line.
type tape struct {
	path plane.Path
	m    *Mesh
	out  []LineNode
}

// add puts a node at the length of the place of the edge that is nearest to it. Where vertices were drawn together that may be
// behind the node before: then about is what the division says.
func (t *tape) add(node int32, edge int, about float64) {
	seg := t.path.Seg(edge)
	u, _ := seg.Nearest(t.m.Nodes[node])
	s := t.path.EdgeStart(edge) + u*seg.Length()
	if n := len(t.out); n > 0 && t.out[n-1].Gap {
		s = max(s, t.out[n-1].S)
	} else if n > 0 && s <= t.out[n-1].S {
		s = max(about, t.out[n-1].S+1e-6)
	}
	t.out = append(t.out, LineNode{Node: node, S: s})
}
