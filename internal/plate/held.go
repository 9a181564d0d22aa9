package plate

import (
	"fmt"
	"math"
)

// heldTolerance is how small, against the greatest, the least eigenvalue of the holding of rigid motions may be before the
// panel counts as not held: 1e-8 is points that stand off one line by a tenth of a millimetre for each metre
// of the panel, which no shop tells from a line, and on which no panel may be said to be held.
const heldTolerance = 1e-8

// held tells whether fixed nodes, with all interface points held still too, stop every rigid motion of every connected piece
// of the mesh.
func (s *System) held() *NotHeld {
	piece, n := s.pieces()
	for p := range n {
		if err := s.pieceHeld(piece, int32(p)); err != nil {
			if n > 1 {
				err.Reason = fmt.Sprintf("piece %d of %d: %s", p+1, n, err.Reason)
			}
			return err
		}
	}
	return nil
}

// pieces numbers the connected pieces of the mesh, node by node, in the order of their first nodes.
func (s *System) pieces() (of []int32, n int) {
	root := make([]int32, s.Nodes())
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, t := range s.Model.Mesh.Tris {
		for _, v := range t[1:] {
			a, b := find(t[0]), find(v)
			root[max(a, b)] = min(a, b)
		}
	}
	of = make([]int32, len(root))
	for i := range root {
		if r := find(int32(i)); r == int32(i) {
			of[i] = int32(n)
			n++
		} else {
			of[i] = of[r]
		}
	}
	return of, n
}

// pieceHeld looks for a rigid motion w = m0 + m1·x + m2·y (θx = m2, θy = −m1) of one piece that nothing stops.
func (s *System) pieceHeld(piece []int32, p int32) *NotHeld {
	motions := s.pieceMotions(piece, p, s.Model.Points)
	if len(motions) == 0 {
		return nil
	}
	return &NotHeld{Motion: motions[0], Reason: [4]string{
		1: "supports and stations stand on one line, and the panel can turn about it",
		2: "supports and stations stand at one point, and the panel can tip about it",
		3: "it has neither supports nor stations",
	}[len(motions)]}
}

// pieceMotions returns the rigid motions of one piece that neither the model's fixed nodes stop nor the w of the given points,
// the least held first.
func (s *System) pieceMotions(piece []int32, p int32, points []int32) (out [][3]float64) {
	var x0, y0, count, size float64
	nodes := s.Model.Mesh.Nodes
	for i, q := range nodes {
		if piece[i] == p {
			x0, y0, count = x0+q.X, y0+q.Y, count+1
		}
	}
	x0, y0 = x0/count, y0/count
	for i, q := range nodes {
		if piece[i] == p {
			size = max(size, math.Hypot(q.X-x0, q.Y-y0))
		}
	}
	var g [9]float64 // of what is held, on (m0, m1·size, m2·size) about the middle
	hold := func(r [3]float64) {
		for i := range 3 {
			for j := range 3 {
				g[3*i+j] += r[i] * r[j]
			}
		}
	}
	at := func(node int32) [3]float64 {
		return [3]float64{1, (nodes[node].X - x0) / size, (nodes[node].Y - y0) / size}
	}
	for _, node := range points {
		if piece[node] == p {
			hold(at(node))
		}
	}
	for _, f := range s.Model.Fixed {
		if piece[f.Node] != p {
			continue
		}
		c, n := math.Cos(f.Dir), math.Sin(f.Dir)
		if f.W {
			hold(at(f.Node))
		}
		if f.Along {
			hold([3]float64{0, -n, c})
		}
		if f.Cross {
			hold([3]float64{0, -c, -n})
		}
	}
	values, vectors := denseEigen(g[:], 3)
	for free := 0; free < 3 && values[free] <= heldTolerance*values[2]; free++ {
		v := [3]float64{vectors[free], vectors[3+free], vectors[6+free]}
		out = append(out, [3]float64{v[0] - (v[1]*x0+v[2]*y0)/size, v[1] / size, v[2] / size})
	}
	return out
}
