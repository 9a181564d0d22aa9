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
	r := &refiner{network: newNetwork(d.Region.Bounds()), g: g, cosBad: math.Cos(d.Size.Angle), limit: d.Size.Nodes}
	r.size = newSizing(&d, g)
	r.findSharp()
	if len(g.at) > r.limit {
		return nil, &TooLarge{Limit: r.limit, At: g.at[r.limit], Size: r.size.at(g.at[r.limit])}
	}
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
	return r.mesh(), nil
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
		}
		r.last = int32(t)
	}
	// Vertices of the box have no triangle any more; nothing asks for them.
	live := false
	for t := range r.tris {
		live = live || !r.dead[t]
	}
	if !live {
		r.err = &Unfit{Reason: "nothing is left inside the outline", At: r.g.at[0]}
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
		if o.line < 0 && (o.to > o.from) != (v == s.a) {
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
		m.Points = append(m.Points, number[p+boxCorners])
	}
	r.trace(m, number)
	return m
}

// run is a segment as one of its owners sees it.
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
			if w.to < w.from {
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
		for i, w := range list {
			if i == 0 || list[i-1].b != w.a {
				if n := len(m.Lines[l]); n > 0 {
					m.Lines[l][n-1].Gap = true
				}
				m.Lines[l] = append(m.Lines[l], LineNode{Node: w.a, S: w.from})
			}
			m.Lines[l] = append(m.Lines[l], LineNode{Node: w.b, S: w.to})
		}
	}
}

// source asks for edges of at most step at a place.
type source struct {
	at   plane.Point
	step float64
}

// sizing says how long edges may be anywhere.
type sizing struct {
	max, grow float64
	src       []source
	// A raster of cells, each with the least wanted length at its middle.
	box   plane.Box
	cell  float64
	nx    int
	value []float64
}

func newSizing(d *Domain, g *drawing) *sizing {
	z := &sizing{max: d.Size.Max, grow: d.Size.Grow, box: d.Region.Bounds()}
	add := func(p plane.Point, step float64) {
		if step > 0 && step < z.max {
			z.src = append(z.src, source{p, step})
		}
	}
	for _, n := range d.Size.Near {
		add(n.At, n.Step)
	}
	for _, p := range g.pieces {
		long := g.at[p.a].Dist(g.at[p.b])
		// A piece that arcs or meetings made short is met by edges not much longer than itself.
		add(g.at[p.a].Lerp(g.at[p.b], 0.5), max(p.step, 0))
		if long < z.max/2 {
			add(g.at[p.a].Lerp(g.at[p.b], 0.5), 2*long)
		}
	}
	z.cell = max(z.max/3, max(z.box.Width(), z.box.Height())/300)
	z.nx = int(z.box.Width()/z.cell) + 1
	ny := int(z.box.Height()/z.cell) + 1
	z.value = make([]float64, z.nx*ny)
	for i := range z.value {
		z.value[i] = -1
	}
	return z
}

// at returns the longest edge wanted at p, mm.
func (z *sizing) at(p plane.Point) float64 {
	if len(z.src) == 0 {
		return z.max
	}
	i, j := int((p.X-z.box.Min.X)/z.cell), int((p.Y-z.box.Min.Y)/z.cell)
	i, j = min(max(i, 0), z.nx-1), min(max(j, 0), len(z.value)/z.nx-1)
	v := &z.value[j*z.nx+i]
	mid := plane.Point{X: z.box.Min.X + (float64(i)+0.5)*z.cell, Y: z.box.Min.Y + (float64(j)+0.5)*z.cell}
	if *v < 0 {
		*v = z.exact(mid)
	}
	if far := z.grow * z.cell; *v > z.max+far { // no source reaches this cell
		return z.max
	}
	return min(z.max, z.exact(p))
}

// exact is the least of all that the sources ask for at p.
func (z *sizing) exact(p plane.Point) float64 {
	h := math.Inf(1)
	for i := range z.src {
		s := &z.src[i]
		h = min(h, s.step+z.grow*s.at.Dist(p))
	}
	return h
}
