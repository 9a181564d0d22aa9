// Package outline reads outlines that were drawn or digitised elsewhere: DXF, SVG, and points as CSV.
//
// A reader turns a file's text into a Drawing: loops of lines and arcs in mm, y upwards, each with the layer or colour that
// it was drawn on and the place in the file that it came from. Joined makes closed loops of loose pieces, Panel takes the
// largest loop as outline and what lies in it as cut-outs.
//
// What cannot be read is a *Fault with line, entity and way out; what had to be guessed or left out is a Note. Every loop
// is bounded by the text's size and by the limits below, so that a broken file ends in a Fault and never in a crash.
package outline

import (
	"fmt"

	"panelwright/internal/plane"
)

// Bounds on what one file may hold. Common practice, no source: far beyond what an outline needs.
const (
	MostBytes    = 16 << 20 // of a file
	MostEntities = 50_000   // entities or path commands, after blocks are inserted
	MostVertices = 200_000  // lines and arcs in all
	MostDepth    = 16       // blocks within blocks, groups within groups
	MostPanel    = 20_000   // lines and arcs of one panel's closed loops: each is compared with those beside it
	MostSpace    = 5_000    // points of an edge in space: each direction of rulings is tried on all
	MostSize     = 1e5      // mm: a coordinate beyond this is no body panel
)

// CurveTol is how far, mm, the lines and arcs that stand for a spline, an ellipse or a Bézier curve may lie off it.
const CurveTol = 5e-5

// Options say what a file does not.
type Options struct {
	Unit float64 // mm for one unit of the file; 0: what the file states. Stated here, it wins, and a Note says so
	Join float64 // mm: how far apart ends may lie that belong together; 0: JoinTol
	Bare float64 // mm: what one unit of a table of points is that does not say; 0: the Options or the table must
}

// JoinTol is the distance, mm, within which ends are joined when nothing is stated. Common practice, no source.
const JoinTol = 0.05

// Drawing is what a file holds.
type Drawing struct {
	Loops []Loop
	Notes []Note  // what was guessed, joined or left out, in the order of the file
	Unit  float64 // mm for one unit of the file
	From  string  // where Unit comes from: "the file's header", "stated", …
}

// Loop is one run of lines and arcs, closed or not.
type Loop struct {
	Path   plane.Path
	Layer  string // DXF layer; SVG: the id or label of the nearest named group, else ""
	Colour string // DXF colour number; SVG stroke colour as #rrggbb; "" when not stated
	Source string // the first piece: "LWPOLYLINE", "path", …
	Line   int    // of the first piece, from 1
	Gap    float64

	Developed *Developed // how an edge in space came out flat; nil for what was drawn flat
}

// Note is one thing that a reader decided or left out.
type Note struct {
	Line int // 0: the whole file
	What string
	Text string
}

// String says it with its line.
func (n Note) String() string {
	if n.Line == 0 {
		return n.What + ": " + n.Text
	}
	return fmt.Sprintf("line %d: %s: %s", n.Line, n.What, n.Text)
}

// Fault is why a file, or a piece of it, cannot be read.
type Fault struct {
	Line int // 0: the whole file
	Col  int // 0: not known
	What string
	Text string // what was found, and what is accepted
	Hint string // what to do
}

// Error says it with its place.
func (f *Fault) Error() string {
	s := f.What + ": " + f.Text
	if f.Line > 0 && f.Col > 0 {
		s = fmt.Sprintf("line %d, column %d: %s", f.Line, f.Col, s)
	} else if f.Line > 0 {
		s = fmt.Sprintf("line %d: %s", f.Line, s)
	}
	if f.Hint != "" {
		s += "; " + f.Hint
	}
	return s
}

// Panel is a drawing taken as a panel.
type Panel struct {
	Region plane.Region // outline anticlockwise, cut-outs clockwise
	Outer  Loop         // where the outline came from
	Holes  []Loop       // as Region.CutOuts
	Named  []Loop       // loops on layers or in colours that were asked for by name, open or closed, in the order of the file
	Notes  []Note
}
