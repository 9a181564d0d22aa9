// Package contour cuts a field over a mesh of triangles at levels of its value: the regions above a level, the bands between
// levels, the lines of equal value. The field is linear on each triangle, so that every cut is exact.
package contour

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// Field is one value at each node of a mesh, linear on each triangle. Nothing in it is changed.
type Field struct {
	Node  []plane.Point
	Tris  [][3]int32 // anticlockwise
	Value []float64  // at each node, finite
}

// Loop is a closed line round a part of the mesh that lies at or above a level: anticlockwise round the part, clockwise round
// what is cut out of it.
type Loop struct {
	At     []plane.Point
	Border []bool // the side from At[i] to the next runs along the border of the mesh, not along the level
}

// Area is what the loop surrounds: above zero when it runs anticlockwise.
func (l Loop) Area() float64 {
	twice := 0.0
	for i, p := range l.At { // from the first point, so that large coordinates cost no digits
		q := l.At[(i+1)%len(l.At)]
		twice += p.Sub(l.At[0]).Cross(q.Sub(l.At[0]))
	}
	return twice / 2
}

// spot is a corner of a rim: a node twice over, or the place on the edge of two nodes where the level crosses it. Two triangles
// that share an edge give the spot on it the same name, so that their sides join without a tolerance.
type spot struct{ a, b int32 }

type side struct {
	from, to spot
	level    bool // along the level, through the triangle
}

// check stops what is no field: a mistake of the caller.
func (f Field) check() {
	if len(f.Node) != len(f.Value) {
		panic(fmt.Sprintf("contour: %d values at %d nodes", len(f.Value), len(f.Node)))
	}
	for i, v := range f.Value {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			panic(fmt.Sprintf("contour: value %g at node %d", v, i))
		}
	}
}

// Above returns the loops round where the value is at least level, in an order that depends on the mesh alone. A level of −Inf
// gives the border of the mesh. A node exactly on the level counts as above. A field of unequal lengths, or one with a value
// that is not finite, panics.
func (f Field) Above(level float64) []Loop {
	f.check()
	return f.above(level, f.border())
}

// border lists the edges that one triangle only has, in the order of the triangles, the mesh on their left.
func (f Field) border() (edges [][2]int32) {
	met := make(map[[2]int32]bool, 3*len(f.Tris))
	for _, t := range f.Tris {
		for i, a := range t {
			met[[2]int32{a, t[(i+1)%3]}] = true
		}
	}
	for _, t := range f.Tris {
		for i, a := range t {
			if b := t[(i+1)%3]; !met[[2]int32{b, a}] {
				edges = append(edges, [2]int32{a, b})
			}
		}
	}
	return edges
}

// above gathers the rim: what the level cuts through triangles, and what of the border lies above. Sides between two triangles
// that both lie above are no rim, and nothing is spent on them.
func (f Field) above(level float64, border [][2]int32) []Loop {
	in := func(n int32) bool { return f.Value[n] >= level }
	var rim []side
	for _, t := range f.Tris {
		var leave, enter spot
		crossed := false
		for i, a := range t {
			b := t[(i+1)%3]
			switch {
			case in(a) && !in(b):
				leave, crossed = spot{min(a, b), max(a, b)}, true
			case !in(a) && in(b):
				enter = spot{min(a, b), max(a, b)}
			}
		}
		if crossed {
			rim = append(rim, side{leave, enter, true})
		}
	}
	for _, e := range border {
		from, to, cross := spot{e[0], e[0]}, spot{e[1], e[1]}, spot{min(e[0], e[1]), max(e[0], e[1])}
		switch {
		case in(e[0]) && in(e[1]):
			rim = append(rim, side{from, to, false})
		case in(e[0]):
			rim = append(rim, side{from, cross, false})
		case in(e[1]):
			rim = append(rim, side{cross, to, false})
		}
	}
	leaving := make(map[spot][]int, len(rim))
	for i, s := range rim {
		leaving[s.from] = append(leaving[s.from], i)
	}
	return f.chain(rim, leaving, level)
}

// chain joins the sides of a rim to loops. As many sides leave a spot as reach it, so that every walk ends where it began.
func (f Field) chain(rim []side, leaving map[spot][]int, level float64) []Loop {
	var out []Loop
	used := make([]bool, len(rim))
	for i := range rim {
		if used[i] {
			continue
		}
		var l Loop
		for k := i; ; {
			used[k] = true
			l.At = append(l.At, f.place(rim[k].from, level))
			l.Border = append(l.Border, !rim[k].level)
			if rim[k].to == rim[i].from {
				break
			}
			next := -1
			for _, n := range leaving[rim[k].to] {
				if !used[n] {
					next = n
					break
				}
			}
			if next < 0 {
				panic("contour: a rim that does not close: triangles overlap, or turn both ways")
			}
			k = next
		}
		out = append(out, l)
	}
	return out
}

// place is where a spot lies.
func (f Field) place(s spot, level float64) plane.Point {
	if s.a == s.b {
		return f.Node[s.a]
	}
	a, b := f.Value[s.a], f.Value[s.b]
	t := (level - a) / (b - a) // one is below the level and one is not, so they differ
	return f.Node[s.a].Lerp(f.Node[s.b], t)
}
