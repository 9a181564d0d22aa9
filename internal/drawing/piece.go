package drawing

import (
	"math"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Piece is a part of a panel at full size, for prints other than the templates.
type Piece struct {
	Plan   *setout.Plan
	Panel  *setout.Panel
	Window plane.Box  // what it shows, panel coordinates
	View   sheet.View // of scale 1
	Cuts   []Cut
	Lay    string // name of the edge that is laid on the panel's: it says so

	TextWide float64 // widest text at a station, mm; 0: as on the templates
}

func (p Piece) tile() *templateTile {
	t := &templateTile{plan: p.Plan, panel: p.Panel, window: p.Window, sides: p.Cuts, view: p.View, lay: p.Lay, wide: p.TextWide}
	t.ink.place.frame = viewPageBox(p.View, p.Window).Grow(-0.8)
	return t
}

// Draw makes the marks and labels that a template's page has inside Window, to be clipped to it. bare lists the stations whose
// label found no room.
func (p Piece) Draw() (items []sheet.Item, bare []string) {
	t := p.tile()
	t.draw()
	return t.ink.Items, t.bare
}

// DrawHoles makes the outline and the holes alone, with the feet and plates of the parts.
func (p Piece) DrawHoles() []sheet.Item {
	t := p.tile()
	t.outline()
	t.holes()
	return t.ink.Items
}

// PageBox is what Window covers on the page.
func (p Piece) PageBox() plane.Box { return viewPageBox(p.View, p.Window) }

// TapeLine is the line along which a tape lies that measures an edge: the edge, its straight ends prolonged to the sharp
// corners where the corners are rounded. Lengths along it are the readings of Tape.Along.
func TapeLine(p *job.Panel, e job.Edge) plane.Path {
	r := tapeRunOf(p, e)
	return r.path()
}

// StationReach is the least box around what is made and fitted at a station: its holes with their centre marks, the feet and
// plates of its parts.
func StationReach(p *setout.Panel, st *setout.Station) plane.Box {
	const mark = 2.5
	b := plane.EmptyBox().Include(st.At)
	for _, h := range p.Holes {
		if h.Station != st.ID {
			continue
		}
		r := HoleDiameter(h) / 2
		if h.Countersink != nil {
			r = math.Max(r, h.Countersink.Diameter/2)
		}
		b = b.Union(plane.Box{Min: h.At, Max: h.At}.Grow(r + mark))
		if h.Length > 0 {
			b = b.Union(CutOut(h).Bounds())
		}
	}
	for _, part := range templateFootprints(st) {
		b = b.Union(part.Bounds())
	}
	return b
}
