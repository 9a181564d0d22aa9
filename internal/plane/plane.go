// Package plane is flat geometry in millimetres: points, paths of lines and arcs, regions with cut-outs.
package plane

// Point is a place or a vector, mm.
type Point struct{ X, Y float64 }

// Vertex is a corner of a path. Bulge describes the edge that leaves it: 0 is a straight line, otherwise the tangent of a
// quarter of the arc's included angle, positive when the arc turns to the left (anticlockwise); a half circle is ±1.
type Vertex struct {
	Point
	Bulge float64
}

// Path is a run of vertices joined by lines and arcs; Closed joins the last to the first.
type Path struct {
	V      []Vertex
	Closed bool
}

// Region is an outline with cut-outs. After Normalise the outline runs anticlockwise and the cut-outs clockwise.
type Region struct {
	Outer   Path
	CutOuts []Path
}
