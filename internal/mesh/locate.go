package mesh

import (
	"math"

	"panelwright/internal/plane"
)

// bins is a raster over a mesh: which triangles' boxes reach into each cell. It says only where to look first, so it may be
// out of date.
type bins struct {
	box    plane.Box
	nx, ny int
	start  []int32 // of each cell in tris, one more at the end
	tris   []int32
}

// newBins makes about as many cells as there are triangles.
func newBins(m *Mesh) *bins {
	b := &bins{box: plane.EmptyBox()}
	for _, p := range m.Nodes {
		b.box = b.box.Include(p)
	}
	w, h := b.box.Width(), b.box.Height()
	if !(w > 0 && h > 0) || len(m.Tris) == 0 {
		return nil
	}
	side := math.Sqrt(w * h / float64(len(m.Tris)))
	b.nx = int(min(max(w/side, 1), float64(len(m.Tris))))
	b.ny = int(min(max(h/side, 1), float64(len(m.Tris))))
	b.start = make([]int32, b.nx*b.ny+1)
	each := func(f func(cell int, t int32)) {
		for t, q := range m.Tris {
			box := plane.EmptyBox().Include(m.Nodes[q[0]]).Include(m.Nodes[q[1]]).Include(m.Nodes[q[2]])
			i0, j0 := b.cell(box.Min)
			i1, j1 := b.cell(box.Max)
			for j := j0; j <= j1; j++ {
				for i := i0; i <= i1; i++ {
					f(j*b.nx+i, int32(t))
				}
			}
		}
	}
	each(func(c int, _ int32) { b.start[c+1]++ })
	for c := range b.nx * b.ny {
		b.start[c+1] += b.start[c]
	}
	b.tris = make([]int32, b.start[len(b.start)-1])
	fill := make([]int32, b.nx*b.ny)
	each(func(c int, t int32) {
		b.tris[b.start[c]+fill[c]] = t
		fill[c]++
	})
	return b
}

func (b *bins) cell(p plane.Point) (i, j int) {
	i = int((p.X - b.box.Min.X) / b.box.Width() * float64(b.nx))
	j = int((p.Y - b.box.Min.Y) / b.box.Height() * float64(b.ny))
	return min(max(i, 0), b.nx-1), min(max(j, 0), b.ny-1)
}

// Locate finds the triangle that holds p, and the shares of its corners there. ok is false when none does. Of several the first
// in Tris. Safe for use by several goroutines.
func (m *Mesh) Locate(p plane.Point) (tri int, bary [3]float64, ok bool) {
	if lost(p.X + p.Y) {
		return 0, bary, false
	}
	if b := m.bins; b != nil && b.box.Has(p) {
		i, j := b.cell(p)
		c := j*b.nx + i
		for _, t := range b.tris[b.start[c]:b.start[c+1]] {
			if int(t) < len(m.Tris) && m.holds(int(t), p) {
				return int(t), m.shares(int(t), p), true
			}
		}
	}
	for t := range m.Tris {
		if m.holds(t, p) {
			return t, m.shares(t, p), true
		}
	}
	return 0, bary, false
}

// holds says whether p lies in triangle t or on its edge.
func (m *Mesh) holds(t int, p plane.Point) bool {
	a, b, c := m.Nodes[m.Tris[t][0]], m.Nodes[m.Tris[t][1]], m.Nodes[m.Tris[t][2]]
	return plane.Orient(a, b, p) >= 0 && plane.Orient(b, c, p) >= 0 && plane.Orient(c, a, p) >= 0
}

// shares are the areal coordinates of p in triangle t.
func (m *Mesh) shares(t int, p plane.Point) [3]float64 {
	a, b, c := m.Nodes[m.Tris[t][0]], m.Nodes[m.Tris[t][1]], m.Nodes[m.Tris[t][2]]
	all := b.Sub(a).Cross(c.Sub(a))
	u, v := b.Sub(p).Cross(c.Sub(p))/all, c.Sub(p).Cross(a.Sub(p))/all
	return [3]float64{u, v, 1 - u - v}
}
