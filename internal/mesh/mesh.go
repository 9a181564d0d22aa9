// Package mesh divides a flat region into triangles for the finite element method: arcs, cut-outs, places that must be nodes,
// lines that must be edges, fine where it is asked to be, no angle below the wanted one except where the outline itself is
// sharper. The same domain gives the same mesh, byte for byte.
package mesh

import (
	"fmt"

	"panelwright/internal/plane"
)

// Domain is what is to be divided.
type Domain struct {
	Region plane.Region  // outline anticlockwise, cut-outs clockwise, as Normalise leaves them
	Points []plane.Point // places that must be nodes; those outside the region are an error; one within Same of outline or lines is drawn onto them, and those within Same of each other share a node
	Lines  []Line        // lines that mesh edges must follow; they may meet each other and the outline; what lies outside the region is left out
	Size   Size
}

// Line is a support line: mesh edges follow it, with nodes along it.
type Line struct {
	Path plane.Path // open or closed
	Step float64    // mm, longest edge along it; 0: the domain's
}

// Size says how long edges may be.
type Size struct {
	Max   float64 // mm, longest edge anywhere
	Edge  float64 // mm, longest edge along outline and cut-outs; 0: Max
	Near  []Near  // finer about places
	Grow  float64 // by how much the wanted length grows per mm of distance from where it is finer; 0: DefaultGrow; +Inf: not graded at all, for few triangles of any size
	Flat  float64 // mm, how far a chord may stay off its arc; 0: DefaultFlat
	Angle float64 // rad, least angle wanted; 0: DefaultAngle
	Nodes int     // limit on nodes; 0: DefaultNodes
}

// Near asks for edges of at most Step about a place.
type Near struct {
	At   plane.Point
	Step float64 // mm
}

// Mesh is a division into triangles.
type Mesh struct {
	Nodes  []plane.Point
	Tris   [][3]int32   // anticlockwise
	Border []BorderEdge // every edge of outline and cut-outs, in order round each loop
	Points []int32      // node of each of Domain.Points
	Lines  [][]LineNode // nodes along each of Domain.Lines, in order

	bins *bins // where Locate looks first; nil for a mesh put together by hand
}

// BorderEdge is a triangle edge on the outline (loop 0) or on a cut-out (loop 1 and up), region on its left.
type BorderEdge struct {
	From, To   int32
	Loop, Edge int // edge of that path
}

// LineNode is a node on a line, at length S (mm) along its path. Gap says that the line is not a mesh edge from this node to
// the next, since it leaves the region there.
type LineNode struct {
	Node int32
	S    float64
	Gap  bool
}

// TooLarge says that a mesh would need more nodes than the limit.
type TooLarge struct {
	Limit int
	At    plane.Point // where it was being refined
	Size  float64     // mm, edge length wanted there
}

// Error says it in words.
func (e *TooLarge) Error() string {
	return fmt.Sprintf("the mesh needs more than %d nodes: edges of %.3g mm are wanted at (%.1f, %.1f); ask for longer edges, or cut the panel", e.Limit, e.Size, e.At.X, e.At.Y)
}

// Unfit says that a domain cannot be divided.
type Unfit struct {
	Reason string
	At     plane.Point
}

// Error says it in words.
func (e *Unfit) Error() string {
	return fmt.Sprintf("no mesh: %s at (%.3f, %.3f)", e.Reason, e.At.X, e.At.Y)
}
