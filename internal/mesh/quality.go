package mesh

import (
	"math"

	"panelwright/internal/plane"
)

// Quality is what can be said of a mesh from its nodes alone.
type Quality struct {
	Nodes, Tris      int
	LeastAngle       float64 // rad
	EdgeMin, EdgeMax float64 // mm
	Area             float64 // mm²
}

// Quality works it out anew.
func (m *Mesh) Quality() Quality {
	q := Quality{Nodes: len(m.Nodes), Tris: len(m.Tris), LeastAngle: math.Pi, EdgeMin: math.Inf(1)}
	for _, t := range m.Tris {
		for i := range 3 {
			a, b, c := m.Nodes[t[i]], m.Nodes[t[(i+1)%3]], m.Nodes[t[(i+2)%3]]
			u, v := b.Sub(a), c.Sub(a)
			q.LeastAngle = min(q.LeastAngle, math.Atan2(u.Cross(v), u.Dot(v)))
			q.EdgeMin, q.EdgeMax = min(q.EdgeMin, u.Len()), max(q.EdgeMax, u.Len())
			if i == 0 {
				q.Area += u.Cross(v) / 2
			}
		}
	}
	return q
}

// Locate finds the triangle that holds p, and the shares of its corners there. ok is false when none does.
func (m *Mesh) Locate(p plane.Point) (tri int, bary [3]float64, ok bool) {
	for i, t := range m.Tris {
		a, b, c := m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]
		if plane.Orient(a, b, p) < 0 || plane.Orient(b, c, p) < 0 || plane.Orient(c, a, p) < 0 {
			continue
		}
		all := b.Sub(a).Cross(c.Sub(a))
		u, v := b.Sub(p).Cross(c.Sub(p))/all, c.Sub(p).Cross(a.Sub(p))/all
		return i, [3]float64{u, v, 1 - u - v}, true
	}
	return 0, bary, false
}

// Grid divides the rectangle from (0, 0) to (w, h) into nx by ny cells of two triangles each, for textbook cases: diagonal "/"
// runs up to the right, "\\" down to the right, "x" changes from cell to cell. Nodes run along x first. Points and Lines stay
// empty.
func Grid(w, h float64, nx, ny int, diagonal string) *Mesh {
	if nx < 1 || ny < 1 {
		panic("mesh: a grid needs cells")
	}
	m := &Mesh{}
	for j := range ny + 1 {
		for i := range nx + 1 {
			m.Nodes = append(m.Nodes, plane.Point{X: w * float64(i) / float64(nx), Y: h * float64(j) / float64(ny)})
		}
	}
	at := func(i, j int) int32 { return int32(j*(nx+1) + i) }
	for j := range ny {
		for i := range nx {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			if diagonal == "/" || diagonal == "x" && (i+j)%2 == 0 {
				m.Tris = append(m.Tris, [3]int32{a, b, c}, [3]int32{a, c, d})
			} else {
				m.Tris = append(m.Tris, [3]int32{a, b, d}, [3]int32{b, c, d})
			}
		}
	}
	for i := range nx {
		m.Border = append(m.Border, BorderEdge{at(i, 0), at(i+1, 0), 0, 0})
	}
	for j := range ny {
		m.Border = append(m.Border, BorderEdge{at(nx, j), at(nx, j+1), 0, 1})
	}
	for i := range nx {
		m.Border = append(m.Border, BorderEdge{at(nx-i, ny), at(nx-i-1, ny), 0, 2})
	}
	for j := range ny {
		m.Border = append(m.Border, BorderEdge{at(0, ny-j), at(0, ny-j-1), 0, 3})
	}
	return m
}
