package plane

import (
	"fmt"
	"math"
)

// FactKind is what is wrong with a path as an outline.
type FactKind int

// The things that can be wrong.
const (
	NotFinite     FactKind = iota // a coordinate or bulge is not a number
	TooFew                        // fewer vertices than can enclose an area: 3, or 2 with an arc
	ZeroEdge                      // an edge shorter than EdgeTol
	EnclosesNone                  // no area within the rounding of its length
	CrossesItself                 // edges that cross, touch or overlap: Meeting says which
	NotClosed                     // an open path
)

// Fact is one thing wrong with a path: where, and the number that shows it.
type Fact struct {
	Kind    FactKind
	Edge    int     // edge or vertex, −1 when it is the whole path
	At      Point   // where it shows
	Value   float64 // vertices, edge length (mm) or area (mm²), as Kind says
	Meeting Meeting // for CrossesItself
}

// String says the fact in words.
func (f Fact) String() string {
	switch f.Kind {
	case NotFinite:
		return fmt.Sprintf("vertex %d is not a finite number", f.Edge)
	case TooFew:
		return fmt.Sprintf("%d vertices enclose nothing", int(f.Value))
	case ZeroEdge:
		return fmt.Sprintf("edge %d is %.3g mm long", f.Edge, f.Value)
	case EnclosesNone:
		return fmt.Sprintf("encloses %.3g mm²", f.Value)
	case CrossesItself:
		m := f.Meeting
		return fmt.Sprintf("edge %d %s edge %d at (%.6g, %.6g)", m.I, m.Kind, m.J, m.At.X, m.At.Y)
	case NotClosed:
		return "is not closed"
	}
	return fmt.Sprintf("FactKind(%d)", int(f.Kind))
}

// Facts returns all that keeps a closed path from being an outline, in order of kind, then of place; none when it is a
// simple closed path that encloses an area. Numbers that are not finite are reported alone, since nothing else can be said.
func (p Path) Facts() []Fact {
	var out []Fact
	for i, v := range p.V {
		if !v.finite() || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
			out = append(out, Fact{Kind: NotFinite, Edge: i})
		}
	}
	if len(out) > 0 {
		return out
	}
	if !p.Closed {
		out = append(out, Fact{Kind: NotClosed, Edge: -1})
	}
	curved := false
	for i := range p.EdgeCount() {
		curved = curved || p.Seg(i).IsArc()
	}
	if n := len(p.V); n < 2 || n < 3 && !curved {
		return append(out, Fact{Kind: TooFew, Edge: -1, Value: float64(n)})
	}
	for i := range p.EdgeCount() {
		if g := p.Seg(i); g.Chord() <= EdgeTol {
			out = append(out, Fact{Kind: ZeroEdge, Edge: i, At: g.A, Value: g.Chord()})
		}
	}
	if p.Closed {
		if a := p.Area(); math.Abs(a) <= EdgeTol*p.Length() {
			out = append(out, Fact{Kind: EnclosesNone, Edge: -1, At: p.V[0].Point, Value: a})
		}
	}
	for _, m := range p.SelfCrossings() {
		out = append(out, Fact{Kind: CrossesItself, Edge: m.I, At: m.At, Meeting: m})
	}
	return out
}
