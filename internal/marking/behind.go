package marking

import (
	"fmt"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Behind draws templates-behind.pdf: the full-size templates mirrored, for marking from behind. A panel with a crown is drawn at the
// inner panel's own length there: its back lies deeper, at a smaller radius, by the stack. It fails when the job names a paper that is
// none.
func Behind(p *setout.Plan) ([]sheet.Sheet, error) {
	return drawing.TemplatesBehind(Inner(p))
}

// Inner is the plan as its inner panels' backs have it: panels with a crown at their own, shorter length about their middle, holes as
// large as they are. Panels without a crown are shared.
func Inner(p *setout.Plan) *setout.Plan {
	out := *p
	out.Panels = nil
	for _, pan := range p.Panels {
		depth := 0.0
		for _, st := range pan.Stations {
			depth = max(depth, st.Stack.Nom)
		}
		fx, fy := pan.Job.InnerFactors(depth)
		if fx == 1 && fy == 1 {
			out.Panels = append(out.Panels, pan)
			continue
		}
		q := scalePanel(pan, fx, fy)
		b := pan.Job.Outline.Outer.Bounds()
		q.Inner = fmt.Sprintf("Drawn at the inner panel's own length: its back lies %s deeper than the outer face, so the panel's crown makes it %s, about its middle.",
			measure.MM(depth), shorter((1-fx)*b.Width(), (1-fy)*b.Height()))
		out.Panels = append(out.Panels, q)
	}
	return &out
}

// shorter says by how much a panel is shorter along x and along y, mm, in the directions in which it is at all.
func shorter(x, y float64) string {
	switch {
	case y == 0:
		return measure.MM(x) + " shorter along x"
	case x == 0:
		return measure.MM(y) + " shorter along y"
	}
	return measure.MM(x) + " shorter along x and " + measure.MM(y) + " along y"
}

// scalePanel is the panel drawn shorter by fx and fy about the middle of its box, by scaledPath.
func scalePanel(p *setout.Panel, fx, fy float64) *setout.Panel {
	c := p.Job.Outline.Outer.Bounds().Centre()
	at := func(q plane.Point) plane.Point {
		return plane.Point{X: c.X + fx*(q.X-c.X), Y: c.Y + fy*(q.Y-c.Y)}
	}
	path := func(q plane.Path) plane.Path { return scaledPath(q, at) }
	jp := *p.Job
	whole := jp.Outline.Outer
	jp.Outline.Outer = path(whole)
	jp.Outline.CutOuts = nil
	for _, q := range p.Job.Outline.CutOuts {
		jp.Outline.CutOuts = append(jp.Outline.CutOuts, path(q))
	}
	jp.Edges = nil
	for _, e := range p.Job.Edges { // lengths along the outline change with it
		e.From, e.To = alongScaled(whole, jp.Outline.Outer, e.From), alongScaled(whole, jp.Outline.Outer, e.To)
		jp.Edges = append(jp.Edges, e)
	}
	jp.KeepOuts = nil
	for _, k := range p.Job.KeepOuts {
		k.Region = path(k.Region)
		jp.KeepOuts = append(jp.KeepOuts, k)
	}
	out := *p
	out.Job = &jp
	out.SeatLines, out.Stations, out.Holes = nil, nil, nil
	for _, s := range p.SeatLines {
		s.Path = path(s.Path)
		out.SeatLines = append(out.SeatLines, s)
	}
	for _, st := range p.Stations {
		moved := *st
		moved.At = at(st.At)
		for i, e := range p.Job.Edges {
			if e.Name == st.Edge {
				moved.Tape = alongScaled(whole, jp.Outline.Outer, e.From+st.Tape) - jp.Edges[i].From
				// Along a straight edge between fillets, which keep their size, a foot of a square lies a hair beside the one mapped.
				k, t := jp.Outline.Outer.Locate(jp.Edges[i].From + moved.Tape)
				g := jp.Outline.Outer.Seg(k)
				u, foot := g.Nearest(moved.At)
				moved.Tape += (u - t) * g.Length()
				moved.TapeInset += moved.At.Dist(foot) - st.At.Dist(whole.At(e.From+st.Tape))
			}
		}
		out.Stations = append(out.Stations, &moved)
	}
	for _, h := range p.Holes {
		h.At = at(h.At)
		out.Holes = append(out.Holes, h)
	}
	return &out
}

// alongScaled is the length along the scaled path of the place that is at s along the path as it was.
func alongScaled(was, is plane.Path, s float64) float64 {
	if total := was.Length(); s >= total {
		return is.Length() + alongScaled(was, is, s-total)
	}
	edge, t := was.Locate(s)
	return is.EdgeStart(edge) + t*is.Seg(edge).Length()
}
