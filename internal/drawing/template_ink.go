package drawing

import (
	"math"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/tile"
)

// templateTile draws one tile: the marks of the panel inside the window, and their labels.
type templateTile struct {
	plan  *setout.Plan
	panel *setout.Panel
	grid  *tile.Grid
	tile  tile.Tile

	window plane.Box // what is drawn, panel coordinates
	sides  []Cut     // where neighbours are joined
	view   sheet.View
	behind bool     // seen from behind: the inner layers' holes are full
	wide   float64  // widest text at a station, where it is not templateTextWide
	lay    string   // edge whose name says that it is laid on the panel's
	ink    Canvas   // clipped to the window
	bare   []string // stations whose label found no room
	hatch  int      // items of ink before the end of the hatching: what a text there is kept clear of
}

// Prices of writing over a line, for the placer.
const (
	costOutline = 40
	costSeat    = 3
	costArea    = 6
	costCut     = 12
)

// seen says whether a point of the panel lies in the window, d mm inside it.
func (t *templateTile) seen(p plane.Point, d float64) bool { return t.window.Grow(-d).Has(p) }

// draw makes all marks inside the window.
func (t *templateTile) draw() {
	win := viewPageBox(t.view, t.window)
	t.ink.place.frame = win.Grow(-0.8)
	t.areas()
	t.outline()
	t.holes()
	t.cuts()
	t.tape()
	if t.lay == "" {
		t.front()
	}
	t.labels()
	if t.lay != "" { // a strip has less room: what is drilled comes first
		t.front()
	}
	t.edgeNames()
	t.keepOutNames()
}

// viewPageBox is the box on the page that a box on the panel falls on.
func viewPageBox(v sheet.View, b plane.Box) plane.Box {
	return plane.EmptyBox().Include(v.Map(b.Min)).Include(v.Map(b.Max))
}

// areas draws keep-outs and seat lines.
func (t *templateTile) areas() {
	var kept []plane.Path
	for _, k := range t.panel.Job.KeepOuts {
		panel := t.panel.Job.Outline.Outer.Bounds()
		if templateSeen(templateSeen(k.Region.Bounds(), panel), t.window).Empty() {
			continue
		}
		page := t.view.Path(templateOnPanel(k.Region, panel))
		t.ink.Add(sheet.Hatch{Region: plane.Region{Outer: page}, Angle: math.Pi / 4, Pitch: 5, Pen: sheet.Fine, Layer: sheet.LayerHatch})
		t.ink.place.takePath(page, costArea)
		kept = append(kept, page)
	}
	t.hatch = len(t.ink.Items)
	for _, page := range kept {
		t.ink.path(page, sheet.Thin, sheet.LayerHatch)
	}
	for _, s := range t.panel.SeatLines {
		if !s.Path.Bounds().Grow(1).Overlaps(t.window) {
			continue
		}
		page := t.view.Path(s.Path)
		t.ink.path(page, sheet.Chain, sheet.LayerCentre)
		t.ink.place.takePath(page, costSeat)
	}
}

// outline draws the edge of the panel and of its cut-outs, thick.
func (t *templateTile) outline() {
	o := t.panel.Job.Outline
	for i, path := range append([]plane.Path{o.Outer}, o.CutOuts...) {
		page := t.view.Path(path)
		pen := viewBold
		if i > 0 {
			pen.Width = 0.7
		}
		t.ink.path(page, pen, sheet.LayerOutline)
		t.ink.place.takePath(page, costOutline)
	}
}

// holes draws every hole at its true size with centre marks, and the rivet line of each station.
func (t *templateTile) holes() {
	reach := t.window.Grow(30)
	for _, st := range t.panel.Stations {
		if !reach.Has(st.At) {
			continue
		}
		half, holes := 12.0, 0
		for _, h := range t.panel.Holes {
			if h.Station == st.ID {
				holes++
				half = math.Max(half, h.At.Dist(st.At)+HoleDiameter(h)/2+5)
			}
		}
		dir := plane.Point{X: 1}.Rotate(st.Dir)
		a, b := t.view.Map(st.At.Sub(dir.Scale(half))), t.view.Map(st.At.Add(dir.Scale(half)))
		t.ink.Line(a, b, sheet.Thin, sheet.LayerCentre)
		t.ink.place.lines = append(t.ink.place.lines, viewLine{a, b, costArea})
		if holes == 0 { // the place is decided, its parts are not
			t.ink.cross(t.view.Map(st.At), viewDirection(t.view, dir), 5)
			t.ink.place.takeDisc(t.view.Map(st.At), 4)
		}
	}
	for _, st := range t.panel.Stations {
		for _, part := range templateFootprints(st) {
			if reach.Has(st.At) {
				t.ink.path(t.view.Path(part), viewPart, "parts")
			}
		}
	}
	for _, h := range t.panel.Holes {
		if h.Length > 0 && reach.Has(h.At) {
			t.ink.path(t.view.Path(CutOut(h)), sheet.Hidden, "holes")
		}
	}
	for _, c := range templateCircles(t.panel, t.behind) {
		if !reach.Has(c.at) {
			continue
		}
		pen := viewFree
		switch {
		case c.sink:
			pen = sheet.Fine
		case c.near:
			pen = sheet.Pen{Width: 0.35}
		}
		t.ink.circle(t.view.Map(c.at), c.diameter/2, pen, "holes")
	}
	for _, c := range templateCentres(t.panel) {
		if !reach.Has(c.at) {
			continue
		}
		at, dir := t.view.Map(c.at), plane.Point{X: 1}
		if st := t.stationNear(c.at); st != nil {
			dir = viewDirection(t.view, plane.Point{X: 1}.Rotate(st.Dir))
		}
		t.ink.cross(at, dir, c.r+2.5)
		t.ink.place.takeDisc(at, c.r+2.2)
	}
}

func (t *templateTile) stationNear(at plane.Point) *setout.Station {
	var best *setout.Station
	for _, st := range t.panel.Stations {
		if best == nil || st.At.Dist(at) < best.At.Dist(at) {
			best = st
		}
	}
	return best
}

// tape marks, beside the edge, where the tape finds each station, and the zero of every edge.
func (t *templateTile) tape() {
	type mark struct {
		at, out     plane.Point
		text, short string
	}
	var marks []mark
	add := func(r *tapeRun, reading, in float64, text, short string) {
		at, out := r.frame(reading)
		if !t.seen(at, 1) {
			return
		}
		at, out = t.view.Map(at), viewDirection(t.view, out)
		t.tick(at.Sub(out.Scale(in)), at.Add(out.Scale(6)))
		marks = append(marks, mark{at, out, text, short})
	}
	for _, e := range t.panel.Job.Edges {
		r := tapeRunOf(t.panel.Job, e)
		t.prolong(&r)
		add(&r, 0, 3, "0, edge "+e.Name, "0")
		for _, st := range t.panel.Stations {
			if st.Edge != e.Name {
				continue
			}
			tape := TapeOf(t.panel, st)
			text, short := TapeShown(t.plan.Job)(tape.Along), TapeBrief(t.plan.Job, tape.Along)
			if tape.Beside != "" {
				text, short = text+" from edge "+tape.Beside, short+" from "+tape.Beside
			}
			add(&r, r.readingOf(st), 4, "no. "+st.ID+": "+text, short)
		}
	}
	for _, m := range marks { // after all ticks, so that no text stands on one
		if !t.besideEdge(m.at, m.out, m.text, sheet.Letters25) {
			t.besideEdge(m.at, m.out, m.short, sheet.Letters25)
		}
	}
}

// prolong draws the straight sides on to the sharp corner of a rounded one, and the datum there: a ring.
func (t *templateTile) prolong(r *tapeRun) {
	for _, line := range r.prolonged() {
		a, b := t.view.Map(line[0]), t.view.Map(line[1])
		t.ink.Line(a, b, viewFree, sheet.LayerDimension)
		t.ink.place.lines = append(t.ink.place.lines, viewLine{a, b, costArea})
	}
	at, _ := r.frame(0)
	t.ink.circle(t.view.Map(at), 1.2, sheet.Thin, sheet.LayerDimension)
}

// tick draws a mark across the edge that texts should leave free.
func (t *templateTile) tick(a, b plane.Point) {
	t.ink.Line(a, b, sheet.Thin, sheet.LayerDimension)
	t.ink.place.lines = append(t.ink.place.lines, viewLine{a, b, costCut})
}

// templateEdgeFrame returns the place on the page at length s along the outline, and the outward direction there.
func templateEdgeFrame(v sheet.View, outer plane.Path, s float64) (at, out plane.Point) {
	return v.Map(outer.At(s)), viewDirection(v, outer.Tangent(s).Perp().Scale(-1))
}

func templateEdge(p *job.Panel, name string) *job.Edge {
	for i := range p.Edges {
		if p.Edges[i].Name == name {
			return &p.Edges[i]
		}
	}
	return nil
}

// besideEdge writes a text along the edge, outside it, beside the tick at at, as near as there is room.
func (t *templateTile) besideEdge(at, out plane.Point, s string, size float64) bool {
	turn, along := viewUpright(out.Perp())
	return t.ink.label(sheet.Text{S: s, Size: size, Turn: turn, Align: sheet.Centre}, func() []plane.Point {
		w := sheet.TextWidth(s, size, sheet.Regular)
		var middles []plane.Point
		for _, far := range []float64{3.4, 7.6} {
			for _, k := range []float64{0.5, -0.5, 0.8, -0.8, 1.3, -1.3, 1.9, -1.9} {
				middles = append(middles, at.Add(out.Scale(far)).Add(along.Scale(k*(w+3))))
			}
		}
		return middles
	}())
}

// label sets a text with its middle at the first and cheapest of the places that is free.
func (c *Canvas) label(t sheet.Text, middles []plane.Point) bool {
	down := plane.Point{Y: 1}.Rotate(-t.Turn) // from the middle of the letters to their base line
	quads := make([]Quad, len(middles))
	texts := make([]sheet.Text, len(middles))
	for i, m := range middles {
		texts[i] = t
		texts[i].At = m.Add(down.Scale(t.Size * sheet.CapHeight / 2))
		wide := texts[i]
		wide.S = " " + t.S + " " // so that two labels in a row stay apart
		quads[i] = TextQuad(wide)
	}
	i, ok := c.place.best(quads, func(i int) float64 { return float64(i) * 0.2 })
	if ok {
		c.text(texts[i])
	}
	return ok
}
