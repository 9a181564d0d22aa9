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
	// Sharp counts triangles with an angle under DefaultAngle: beside corners of the input sharper than 60° some stay. Sharpest
	// is where LeastAngle is.
	Sharp    int
	Sharpest plane.Point
}

// Quality works it out anew.
func (m *Mesh) Quality() Quality {
	q := Quality{Nodes: len(m.Nodes), Tris: len(m.Tris), LeastAngle: math.Pi, EdgeMin: math.Inf(1)}
	for _, t := range m.Tris {
		least := math.Pi
		for i := range 3 {
			a, b, c := m.Nodes[t[i]], m.Nodes[t[(i+1)%3]], m.Nodes[t[(i+2)%3]]
			u, v := b.Sub(a), c.Sub(a)
			if angle := math.Atan2(u.Cross(v), u.Dot(v)); angle < least {
				if least = angle; angle < q.LeastAngle {
					q.LeastAngle, q.Sharpest = angle, a
				}
			}
			q.EdgeMin, q.EdgeMax = min(q.EdgeMin, u.Len()), max(q.EdgeMax, u.Len())
			if i == 0 {
				q.Area += u.Cross(v) / 2
			}
		}
		if least < DefaultAngle*(1-1e-9) {
			q.Sharp++
		}
	}
	return q
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
	m.bins = newBins(m)
	return m
}
