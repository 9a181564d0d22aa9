package fem

import (
	"math"

	"panelwright/internal/plane"
)

// quads is the outside program's mesh of a panel: eight-node quadrilaterals, corners anticlockwise, then the nodes on the
// middles of the edges that leave them. No triangle of ours has a part in it.
type quads struct {
	nodes []plane.Point
	elems [][8]int
}

// quadsOf makes them from a grid of corners, n+1 by m+1, of which cells may be left out. at gives the place at u of n and v of
// m; it is also asked halfway, so that edges may be curved.
func quadsOf(n, m int, at func(u, v float64) plane.Point, out func(i, j int) bool) *quads {
	q := &quads{}
	number := map[[2]int]int{}
	node := func(i, j int) int { // in half cells
		k, ok := number[[2]int{i, j}]
		if !ok {
			k = len(q.nodes)
			number[[2]int{i, j}] = k
			q.nodes = append(q.nodes, at(float64(i)/2, float64(j)/2))
		}
		return k
	}
	for j := range m {
		for i := range n {
			if out != nil && out(i, j) {
				continue
			}
			a, b := 2*i, 2*j
			q.elems = append(q.elems, [8]int{
				node(a, b), node(a+2, b), node(a+2, b+2), node(a, b+2),
				node(a+1, b), node(a+2, b+1), node(a+1, b+2), node(a, b+1),
			})
		}
	}
	return q
}

// rectangleQuads divides a rectangle with a corner at the origin into n by m.
func rectangleQuads(w, h float64, n, m int, out func(i, j int) bool) *quads {
	return quadsOf(n, m, func(u, v float64) plane.Point {
		return plane.Point{X: w * u / float64(n), Y: h * v / float64(m)}
	}, out)
}

// node gives the node at a place, which must be one.
func (q *quads) node(p plane.Point) int {
	for i, n := range q.nodes {
		if n.Dist(p) < 1e-6 {
			return i
		}
	}
	panic("fem: no node of the outside mesh is there")
}

// nearest gives the node nearest to a place.
func (q *quads) nearest(p plane.Point) int {
	best, at := math.Inf(1), 0
	for i, n := range q.nodes {
		if d := n.Dist(p); d < best {
			best, at = d, i
		}
	}
	return at
}
