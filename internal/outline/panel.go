package outline

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/plane"
)

func equalFold(a, b string) bool { return strings.EqualFold(a, b) }

// Panel joins the drawing's pieces (join as for Joined) and takes the loop of greatest area as outline and those within it as
// cut-outs. Loops on the layers or in the colours named are given back as they are, for supports and keep-outs. Errors are
// *Fault: no closed loop, a loop beside the outline or within a cut-out, one that crosses itself or another, an open run that
// does not lie within the outline.
func (d *Drawing) Panel(join float64, named ...string) (*Panel, error) {
	j := d.Joined(join, named...)
	out := &Panel{Notes: j.Notes}
	var closed, open []Loop
	for _, l := range j.Loops {
		switch {
		case l.nameIn(named) != "":
			out.Named = append(out.Named, l)
		case l.Path.Closed:
			closed = append(closed, l)
		default:
			open = append(open, l)
		}
	}
	if len(closed) == 0 {
		return nil, noLoop(open, len(out.Named), out.Notes)
	}
	edges := 0
	for _, l := range closed {
		if edges += len(l.Path.V); edges > MostPanel {
			return nil, &Fault{Line: l.Line, What: l.Source, Text: fmt.Sprintf("more than %d lines and arcs in closed loops; accepted: at most that many for one panel", MostPanel), Hint: "thin the points out, or save the outline alone"}
		}
	}
	for i := range closed {
		if err := sound(closed[i]); err != nil {
			return nil, err
		}
	}
	outer := 0
	for i, l := range closed {
		if math.Abs(l.Path.Area()) > math.Abs(closed[outer].Path.Area()) {
			outer = i
		}
	}
	out.Outer = closed[outer]
	out.Region.Outer = closed[outer].Path
	for i, l := range closed {
		if i != outer {
			out.Holes = append(out.Holes, l)
			out.Region.CutOuts = append(out.Region.CutOuts, l.Path)
		}
	}
	if err := out.within(); err != nil {
		return nil, err
	}
	if err := out.strays(open); err != nil {
		return nil, err
	}
	out.Region = out.Region.Normalise()
	return out, nil
}

// noLoop says why a drawing has no outline, and where it comes nearest to one.
func noLoop(open []Loop, named int, notes []Note) *Fault {
	if len(open) == 0 {
		text := "nothing drawn that can be an outline"
		if named > 0 {
			text += fmt.Sprintf(" besides %d lines on the layers named for something else", named)
		}
		const most = 3 // notes: what was left out is often what was meant
		for i, n := range notes[:min(len(notes), most)] {
			text += [...]string{" (", ", "}[min(i, 1)] + n.String()
		}
		if len(notes) > 0 {
			text += ")"
		}
		return &Fault{What: "outline", Text: text, Hint: "draw the outline as a closed polyline, or as lines and arcs that meet"}
	}
	longest := 0
	for i, l := range open {
		if l.Path.Length() > open[longest].Path.Length() {
			longest = i
		}
	}
	a, b := open[longest].ends()
	l := open[longest]
	return &Fault{Line: l.Line, What: l.Source, Text: fmt.Sprintf("no closed loop: the longest run, %.1f mm, begins at (%.3f, %.3f) mm and ends at (%.3f, %.3f) mm, %.4g mm apart", l.Path.Length(), a.X, a.Y, b.X, b.Y, a.Dist(b)),
		Hint: "close it in the drawing, or state with join how far apart ends may lie that belong together"}
}

// sound says what keeps a loop from being an outline.
func sound(l Loop) error {
	facts := l.Path.Facts()
	// Lobes that run against each other can cancel: that they cross is then what is wrong, not the area.
	crossing := func(k plane.Fact) bool { return k.Kind == plane.CrossesItself && k.Meeting.Kind == plane.Crosses }
	if i := slices.IndexFunc(facts, crossing); i > 0 && facts[0].Kind == plane.EnclosesNone {
		facts = facts[i:]
	}
	for _, k := range facts {
		text := k.String()
		switch k.Kind {
		case plane.CrossesItself:
			text = fmt.Sprintf("it meets itself at (%.3f, %.3f) mm, y upwards", k.Meeting.At.X, k.Meeting.At.Y)
		case plane.EnclosesNone, plane.TooFew:
			text = "it encloses no area"
		}
		return &Fault{Line: l.Line, What: l.Source, Text: text, Hint: "mend it in the drawing: an outline goes round once"}
	}
	return nil
}

// within judges how the cut-outs lie.
func (p *Panel) within() error {
	for _, k := range p.Region.CutOutFaults() {
		h := p.Holes[k.CutOut]
		how := map[plane.CutOutKind]string{plane.CutOutOutside: "it lies outside the outline", plane.CutOutMeets: "it meets the outline", plane.CutOutAround: "it encloses the outline"}[k.Kind]
		text := fmt.Sprintf("%s, at (%.3f, %.3f) mm: the loop of line %d is taken as the outline, being the largest", how, k.At.X, k.At.Y, p.Outer.Line)
		hint := "keep one outline in the file, or name the other's layer as something else"
		if k.Other >= 0 {
			text = fmt.Sprintf("it meets, or lies in, the cut-out of line %d, at (%.3f, %.3f) mm", p.Holes[k.Other].Line, k.At.X, k.At.Y)
			hint = "keep one of the two"
		}
		return &Fault{Line: h.Line, What: h.Source, Text: text, Hint: hint}
	}
	return nil
}

// strays judges open runs that nobody asked for: within the outline they are notes, elsewhere they may be an outline that does
// not close.
func (p *Panel) strays(open []Loop) error {
	box := p.Region.Outer.Bounds()
	for _, l := range open {
		b := l.Path.Bounds()
		if box.Has(b.Min) && box.Has(b.Max) {
			p.Notes = append(p.Notes, Note{l.Line, l.Source, fmt.Sprintf("left out: an open run of %.1f mm within the outline, on layer %q", l.Path.Length(), l.Layer)})
			continue
		}
		from, to := l.ends()
		return &Fault{Line: l.Line, What: l.Source, Text: fmt.Sprintf("an open run of %.1f mm that reaches outside the largest closed loop (line %d): from (%.3f, %.3f) to (%.3f, %.3f) mm", l.Path.Length(), p.Outer.Line, from.X, from.Y, to.X, to.Y),
			Hint: "close it, delete it, or name its layer as something else"}
	}
	return nil
}

// tidy returns the path without repeated vertices.
func tidy(p plane.Path) plane.Path {
	v := slices.Clone(p.V)
	out := plane.Path{Closed: p.Closed}
	n := len(v)
	for i := range v {
		next := v[(i+1)%n]
		if (p.Closed || i < n-1) && v[i].Point.Dist(next.Point) <= plane.EdgeTol {
			continue // the vertex after it carries on
		}
		out.V = append(out.V, v[i])
	}
	return out
}
