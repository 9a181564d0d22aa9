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
	at    map[[2]int64]int
}

// nodeGrid is the distance within which nodes are one, mm.
const nodeGrid = 1e-5

func gridOf(p plane.Point) [2]int64 {
	return [2]int64{int64(math.Round(p.X / nodeGrid)), int64(math.Round(p.Y / nodeGrid))}
}

// add adds a block of n by m cells, some of which may be left out. at gives the place at u of n and v of m; it is also asked
// halfway, so that edges may be curved. Blocks are joined where their nodes coincide.
func (q *quads) add(n, m int, at func(u, v float64) plane.Point, out func(i, j int) bool) *quads {
	if q.at == nil {
		q.at = map[[2]int64]int{}
	}
	node := func(i, j int) int { // in half cells
		p := at(float64(i)/2, float64(j)/2)
		k, ok := q.at[gridOf(p)]
		if !ok {
			k = len(q.nodes)
			q.at[gridOf(p)] = k
			q.nodes = append(q.nodes, p)
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

// squares divides a rectangle with a corner at the origin into square cells, some of which may be left out, by their lower left
// corner.
func squares(w, h, cell float64, out func(x, y float64) bool) *quads {
	n, m := int(math.Round(w/cell)), int(math.Round(h/cell))
	return new(quads).add(n, m, func(u, v float64) plane.Point { return plane.Point{X: cell * u, Y: cell * v} }, func(i, j int) bool {
		return out != nil && out(cell*float64(i), cell*float64(j))
	})
}

// node gives the node at a place, which must be one.
func (q *quads) node(p plane.Point) int {
	k, ok := q.at[gridOf(p)]
	if !ok {
		panic("fem: no node of the outside mesh is there")
	}
	return k
}

// rounded is a mesh of a convex panel of four sides with rounded corners: a block in the middle, and about it a ring whose
// outermost row lies between the outline and the seat line.
type rounded struct {
	*quads
	outline, seat plane.Path
	seatNodes     []plane.Point // corners of cells along the seat line, from the middle of the first corner round
	edgeNodes     []plane.Point // the same on the outline
	middle        plane.Point   // a corner of cells near the middle
}

// roundedQuads makes it with n cells along sides 0 and 2 and m along 1 and 3, and rows rows from the block to the seat line.
func roundedQuads(corners plane.Path, radius, inset float64, n, m, rows int) (*rounded, error) {
	outline, err := plane.RoundCorners(corners, []float64{radius, radius, radius, radius})
	if err != nil {
		return nil, err
	}
	seat, err := outline.Inset(inset)
	if err != nil {
		return nil, err
	}
	r := &rounded{quads: new(quads), outline: outline, seat: seat}
	centre, _ := outline.Centroid()
	edge := [2][]float64{} // lengths along outline and seat line, at the middles of their four corners
	var block [4]plane.Point
	for i, v := range corners.V {
		for k, path := range []plane.Path{outline, seat} {
			s, _, _ := path.Nearest(v.Point)
			edge[k] = append(edge[k], s)
		}
		block[i] = seat.At(edge[1][i]).Lerp(centre, 0.4)
	}
	r.add(n, m, func(u, v float64) plane.Point {
		u, v = u/float64(n), v/float64(m)
		return block[0].Lerp(block[1], u).Lerp(block[3].Lerp(block[2], u), v)
	}, nil)
	r.middle = block[0].Lerp(block[1], 0.5).Lerp(block[3].Lerp(block[2], 0.5), 0.5)
	for side := range 4 {
		cells := []int{n, m, n, m}[side]
		onPath := func(k int, f float64) plane.Point { // the same share of a side on either line
			path := []plane.Path{outline, seat}[k]
			from, to := edge[k][side], edge[k][(side+1)%4]
			if to < from {
				to += path.Length()
			}
			return path.At(from + f*(to-from))
		}
		r.add(cells, rows+1, func(u, v float64) plane.Point { // v from the outline inwards
			f := u / float64(cells)
			if v <= 1 {
				return onPath(0, f).Lerp(onPath(1, f), v)
			}
			return onPath(1, f).Lerp(block[side].Lerp(block[(side+1)%4], f), (v-1)/float64(rows))
		}, nil)
		for i := range cells {
			r.edgeNodes = append(r.edgeNodes, onPath(0, float64(i)/float64(cells)))
			r.seatNodes = append(r.seatNodes, onPath(1, float64(i)/float64(cells)))
		}
	}
	return r, nil
}
