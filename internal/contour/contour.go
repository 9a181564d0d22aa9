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

// spot is a corner of a cut triangle: a node twice over, or the place on the edge of two nodes where the level crosses it.
// Two triangles that share an edge give the same spot the same name, so that their common sides cancel without a tolerance.
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
	type way struct{ from, to spot }
	var all []side
	met := map[way]bool{}
	for _, t := range f.Tris {
		for _, s := range f.cut(t, level) {
			all = append(all, s)
			met[way{s.from, s.to}] = true
		}
	}
	var rim []side
	leaving := map[spot][]int{}
	for _, s := range all {
		if met[way{s.to, s.from}] {
			continue // the neighbour has it the other way round
		}
		leaving[s.from] = append(leaving[s.from], len(rim))
		rim = append(rim, s)
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

// cut returns the sides of the part of a triangle that lies at or above the level, anticlockwise.
func (f Field) cut(t [3]int32, level float64) []side {
	var corners []spot
	var crossing []bool
	for i, a := range t {
		b := t[(i+1)%3]
		in, next := f.Value[a] >= level, f.Value[b] >= level
		if in {
			corners, crossing = append(corners, spot{a, a}), append(crossing, false)
		}
		if in != next {
			corners, crossing = append(corners, spot{min(a, b), max(a, b)}), append(crossing, true)
		}
	}
	out := make([]side, 0, len(corners))
	for i, c := range corners {
		k := (i + 1) % len(corners)
		out = append(out, side{c, corners[k], crossing[i] && crossing[k]})
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
