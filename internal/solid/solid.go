// Package solid makes closed shells of flat pieces stacked on each other, and writes them as STL and 3MF.
//
// A solid is a list of slabs: between two heights it fills the same regions. Build divides the plan once, so that all slabs share its
// triangles: tops, bottoms and walls then meet in whole edges and the shell is closed by the way it is made. Check proves it again
// from the triangles alone; the writers refuse a shell that fails.
package solid

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// Slab fills regions from one height to another, mm. Regions of one slab may not overlap; they may touch along edges that they share.
type Slab struct {
	From, To float64
	Regions  []plane.Region
}

// Shell is a closed surface: triangles run anticlockwise as seen from outside.
type Shell struct {
	Name string
	At   [][3]float64 // mm
	Tris [][3]int32

	proved int // of triangles and vertices, when Check was last passed: the writers need not ask again
}

// RoundTol is how far (mm) the diameter of a round hole may come out off its own: a circle becomes a polygon of the same area, whose
// corners stand outside it and whose sides cut into it by less.
const RoundTol = 0.004

// roundSides bounds the sides of a full circle.
const (
	roundSidesMin = 32
	roundSidesMax = 720
)

// Build makes the shell of slabs. Arcs become chords that enclose the same area, so that volumes are those of the true shape. It fails
// when slabs overlap in height, when a region is none, and when the solid touches itself along an edge only, which no printer can make.
func Build(name string, slabs []Slab) (*Shell, error) {
	levels, err := solidLevels(slabs)
	if err != nil {
		return nil, err
	}
	flat, box, err := flattenSlabs(slabs)
	if err != nil {
		return nil, err
	}
	m, err := divide(flat, box)
	if err != nil {
		return nil, fmt.Errorf("divide %s: %w", name, err)
	}
	b := builder{mesh: m, levels: levels, shell: &Shell{Name: name}, index: map[[2]int32]int32{}}
	b.fill(slabs, flat)
	b.caps()
	b.walls()
	if err := b.shell.Check(); err != nil {
		return nil, err
	}
	b.shell.proved = len(b.shell.Tris) + len(b.shell.At)
	return b.shell, nil
}

// solidLevels are the heights at which something begins or ends, rising.
func solidLevels(slabs []Slab) ([]float64, error) {
	if len(slabs) == 0 {
		return nil, errors.New("solid: no slabs")
	}
	var levels []float64
	for i, s := range slabs {
		if !(s.To > s.From) || math.IsInf(s.To-s.From, 0) {
			return nil, fmt.Errorf("solid: slab %d from %g to %g mm; accepted: upwards", i, s.From, s.To)
		}
		for j, o := range slabs[:i] {
			if s.From < o.To && o.From < s.To {
				return nil, fmt.Errorf("solid: slabs %d and %d share heights", j, i)
			}
		}
		levels = append(levels, s.From, s.To)
	}
	slices.Sort(levels)
	return slices.Compact(levels), nil
}

// flattenSlabs turns every region into polygons.
func flattenSlabs(slabs []Slab) (flat [][]plane.Region, box plane.Box, err error) {
	box = plane.EmptyBox()
	for i, s := range slabs {
		var rs []plane.Region
		for _, r := range s.Regions {
			for _, p := range r.Paths() {
				if f := p.Facts(); len(f) > 0 {
					return nil, box, fmt.Errorf("solid: slab %d: %s", i, f[0])
				}
			}
			if f := r.CutOutFaults(); len(f) > 0 {
				return nil, box, fmt.Errorf("solid: slab %d: a cut-out %s at (%.4g, %.4g)", i, f[0], f[0].At.X, f[0].At.Y)
			}
			q := plane.Region{Outer: Polygon(r.Outer)}
			for _, c := range r.CutOuts {
				q.CutOuts = append(q.CutOuts, Polygon(c))
			}
			rs = append(rs, q)
			box = box.Union(q.Bounds())
		}
		flat = append(flat, rs)
	}
	if box.Empty() {
		return nil, box, errors.New("solid: no region")
	}
	return flat, box, nil
}

// finer is by how much the plan is enlarged while it is divided: package mesh takes places nearer than mesh.Same for one, which is
// wide for the corners of letters.
const finer = 64

// divide triangulates the plan with every outline of every slab as lines of edges.
func divide(flat [][]plane.Region, box plane.Box) (*mesh.Mesh, error) {
	box = plane.Box{Min: box.Min.Scale(finer), Max: box.Max.Scale(finer)}
	size := math.Hypot(box.Width(), box.Height())
	frame := box.Grow(0.1 * size)
	d := mesh.Domain{
		Region: plane.Region{Outer: plane.Rectangle(frame.Width(), frame.Height()).Transform(plane.Move(frame.Min))},
		// No edge is too long and hardly any triangle too sharp: the plan needs the fewest that a slicer takes without trouble.
		Size: mesh.Size{Max: 4 * size, Angle: 8 * math.Pi / 180, Grow: math.Inf(1)},
	}
	for _, rs := range flat {
		for _, r := range rs {
			for _, p := range r.Paths() {
				d.Lines = append(d.Lines, mesh.Line{Path: p.Transform(plane.Scale(finer, plane.Point{}))})
			}
		}
	}
	m, err := mesh.Build(d)
	if err != nil {
		return nil, err
	}
	for i := range m.Nodes {
		m.Nodes[i] = m.Nodes[i].Scale(1.0 / finer)
	}
	return m, nil
}

// Polygon is a closed path with every arc replaced by chords that enclose the same area: the corners between an arc's ends stand a
// little outside it. A circle of two or more arcs becomes a regular polygon.
func Polygon(p plane.Path) plane.Path {
	if c, r, ok := fullCircle(p); ok {
		n := roundSides(r)
		// n/2·r'²·sin(2π/n) = π·r²
		out := r * math.Sqrt(2*math.Pi/(float64(n)*math.Sin(2*math.Pi/float64(n))))
		q := plane.Path{Closed: true}
		turn := 1.0
		if p.Area() < 0 {
			turn = -1
		}
		for i := range n {
			q.V = append(q.V, plane.Vertex{Point: c.Add(plane.Point{X: out}.Rotate(turn * 2 * math.Pi * float64(i) / float64(n)))})
		}
		return q
	}
	q := plane.Path{Closed: true}
	for _, g := range p.Segs() {
		q.V = append(q.V, plane.Vertex{Point: g.A})
		if !g.IsArc() {
			continue
		}
		c, _ := g.Centre()
		sweep, r := g.Sweep(), g.Radius()
		n := max(2, int(math.Ceil(float64(roundSides(r))*math.Abs(sweep)/(2*math.Pi))))
		// Ends stay on the arc, the others at r': 2·½·r·r'·sin s + (n−2)·½·r'²·sin s = ½·r²·θ with s = θ/n.
		s := math.Abs(sweep) / float64(n)
		k := float64(n-2) / 2 * math.Sin(s)
		half := r * math.Sin(s) / 2
		want := r * r * math.Abs(sweep) / 2
		out := want / (2 * half)
		if k > 0 {
			out = (-half + math.Sqrt(half*half+k*want)) / k
		}
		for i := 1; i < n; i++ {
			v := g.A.Sub(c).Rotate(sweep * float64(i) / float64(n))
			q.V = append(q.V, plane.Vertex{Point: c.Add(v.Scale(out / r))})
		}
	}
	return q
}

// roundSides is how many sides keep a circle's diameter within RoundTol: a polygon of equal area has its corners r·(2π/n)²/12 outside.
func roundSides(r float64) int {
	n := int(math.Ceil(2 * math.Pi * math.Sqrt(2*r/(12*RoundTol))))
	n = max(roundSidesMin, min(roundSidesMax, n))
	return (n + 3) / 4 * 4
}

// fullCircle says whether a path is one circle.
func fullCircle(p plane.Path) (c plane.Point, r float64, ok bool) {
	const same = 1e-7 // mm
	for i, g := range p.Segs() {
		if !g.IsArc() {
			return c, 0, false
		}
		at, _ := g.Centre()
		if i == 0 {
			c, r = at, g.Radius()
		} else if at.Dist(c) > same || math.Abs(g.Radius()-r) > same {
			return c, 0, false
		}
	}
	return c, r, len(p.V) > 1
}

// builder makes the shell from the divided plan.
type builder struct {
	mesh   *mesh.Mesh
	levels []float64
	in     [][]bool         // by interval between levels, by triangle of the plan
	beside map[[2]int32]int // triangle of the plan on the left of an edge
	shell  *Shell
	index  map[[2]int32]int32 // vertex of (node, level)
}

// fill says for every interval which triangles of the plan are solid: all within one set of lines alike, so one of each is asked.
func (b *builder) fill(slabs []Slab, flat [][]plane.Region) {
	piece, first := b.pieces()
	b.in = make([][]bool, len(b.levels)-1)
	for k := range b.in {
		full := make([]bool, len(first))
		mid := (b.levels[k] + b.levels[k+1]) / 2
		for i, s := range slabs {
			if mid < s.From || mid > s.To {
				continue
			}
			for p, t := range first {
				n, tri := b.mesh.Nodes, b.mesh.Tris[t]
				c := n[tri[0]].Add(n[tri[1]]).Add(n[tri[2]]).Scale(1.0 / 3)
				full[p] = slices.ContainsFunc(flat[i], func(r plane.Region) bool { return r.Contains(c) == plane.Inside })
			}
		}
		b.in[k] = make([]bool, len(b.mesh.Tris))
		for t, p := range piece {
			b.in[k][t] = full[p]
		}
	}
}

// pieces parts the plan along its lines: the piece of every triangle, and the first triangle of every piece.
func (b *builder) pieces() (piece []int, first []int) {
	wall := map[[2]int32]bool{}
	for _, l := range b.mesh.Lines {
		for i := 1; i < len(l); i++ {
			u, v := l[i-1].Node, l[i].Node
			wall[[2]int32{u, v}], wall[[2]int32{v, u}] = true, true
		}
		if n := len(l); n > 0 && l[0].Node != l[n-1].Node { // closed paths end where they began
			u, v := l[n-1].Node, l[0].Node
			wall[[2]int32{u, v}], wall[[2]int32{v, u}] = true, true
		}
	}
	b.beside = make(map[[2]int32]int, 3*len(b.mesh.Tris))
	for t, tri := range b.mesh.Tris {
		for i := range tri {
			b.beside[[2]int32{tri[i], tri[(i+1)%3]}] = t
		}
	}
	piece = make([]int, len(b.mesh.Tris))
	for t := range piece {
		piece[t] = -1
	}
	for t := range piece {
		if piece[t] >= 0 {
			continue
		}
		p := len(first)
		first = append(first, t)
		piece[t] = p
		for stack := []int{t}; len(stack) > 0; {
			tri := b.mesh.Tris[stack[len(stack)-1]]
			stack = stack[:len(stack)-1]
			for i := range tri {
				e := [2]int32{tri[(i+1)%3], tri[i]}
				if o, ok := b.beside[e]; ok && !wall[e] && piece[o] < 0 {
					piece[o] = p
					stack = append(stack, o)
				}
			}
		}
	}
	return piece, first
}

func (b *builder) vertex(node int32, level int) int32 {
	key := [2]int32{node, int32(level)}
	if v, ok := b.index[key]; ok {
		return v
	}
	v := int32(len(b.shell.At))
	b.index[key] = v
	p := b.mesh.Nodes[node]
	b.shell.At = append(b.shell.At, [3]float64{p.X, p.Y, b.levels[level]})
	return v
}

// caps closes bottoms and tops: wherever a triangle of the plan is solid on one side of a level only.
func (b *builder) caps() {
	for k := range b.levels {
		for t, tri := range b.mesh.Tris {
			below, above := k > 0 && b.in[k-1][t], k < len(b.in) && b.in[k][t]
			if below == above {
				continue
			}
			x, y, z := b.vertex(tri[0], k), b.vertex(tri[1], k), b.vertex(tri[2], k)
			if above { // a bottom looks down
				y, z = z, y
			}
			b.shell.Tris = append(b.shell.Tris, [3]int32{x, y, z})
		}
	}
}

// walls stands a wall on every edge of the plan of which one side only is solid.
func (b *builder) walls() {
	for k := range b.in {
		for t, tri := range b.mesh.Tris {
			if !b.in[k][t] {
				continue
			}
			for i := range tri {
				u, v := tri[i], tri[(i+1)%3]
				if o, ok := b.beside[[2]int32{v, u}]; ok && b.in[k][o] {
					continue
				}
				u0, v0, u1, v1 := b.vertex(u, k), b.vertex(v, k), b.vertex(u, k+1), b.vertex(v, k+1)
				b.shell.Tris = append(b.shell.Tris, [3]int32{u0, v0, v1}, [3]int32{u0, v1, u1})
			}
		}
	}
}
