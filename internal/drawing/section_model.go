package drawing

import (
	"math"
	"slices"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// sectionModel is one station cut along its rivet line, in mm: x along the line from the stud's axis, y inwards from the
// outer face of the outer panel. Everything that a drawing of it needs is a number of the plan.
type sectionModel struct {
	st     *setout.Station
	c      *setout.Choice
	half   float64 // the drawing reaches this far to both sides
	seat   float64 // depth of the stud's seat
	mount  float64 // depth of the face that the receptacle is mounted against, before shims
	locked float64 // depth of the locked wire
	free   float64 // depth of the free wire
	layers []sectionBand
	plate  *sectionBand
	foot   sectionBand
	shim   sectionBand // y0 = y1 where there is none; it then says where one would go
	rivets []sectionRivet
	body   float64 // half the width of the receptacle's body
	beside bool    // no hole is drilled in the support: the body goes beside it
	deep   float64 // the deepest thing drawn
	high   float64 // the highest, negative
}

// sectionBand is a flat part between two depths, with holes through it.
type sectionBand struct {
	name     string // "outer", "between 1", "inner", "plate", "receptacle foot", "shim"
	layer    *job.Layer
	y0, y1   float64
	x0, x1   float64
	openings []sectionOpening
}

// sectionOpening is a hole cut by the section plane, with its countersinks.
type sectionOpening struct {
	x, r        float64
	front, back sectionSink
}

// sectionSink is a countersink: its radius at the face and its depth; zero for none.
type sectionSink struct{ r, depth float64 }

// sectionRivet is a set rivet.
type sectionRivet struct {
	joint      *setout.RivetJoint
	x          float64
	head, tail float64 // depths of the faces that head and tail bear on
	out        float64 // −1 when the head is on the outside, +1 when the tail is
	washer     float64 // thickness under the tail
}

// sectionMargin is how far the layers go on beyond the widest part, mm.
const sectionMargin = 5

// sectionOf works out the section through a station with its parts chosen.
func sectionOf(p *setout.Panel, st *setout.Station) *sectionModel {
	c := st.Choice
	m := &sectionModel{st: st, c: c}
	m.half = math.Max(math.Max(c.Plate.Length, c.Receptacle.Length), c.Stud.HeadDiameter)/2 + sectionMargin
	m.stack(p)
	m.parts()
	m.cut(p)
	m.join(p)
	m.extent()
	return m
}

// SectionLayers lists the layers at a station from the outside inwards; a support's own replace the panel's.
func SectionLayers(p *setout.Panel, st *setout.Station) []*job.Layer {
	between, inner := p.Job.Between, &p.Job.Inner
	if s := st.Support; s != nil {
		if s.Between != nil {
			between = s.Between
		}
		if s.Inner != nil {
			inner = s.Inner
		}
	}
	out := []*job.Layer{&p.Job.Outer}
	for i := range between {
		out = append(out, &between[i])
	}
	return append(out, inner)
}

// sectionLayerName is the name by which holes and joints know a layer.
func sectionLayerName(l *job.Layer, i, n int) string {
	switch {
	case l.Name != "":
		return l.Name
	case i == 0:
		return "outer"
	case i == n-1:
		return "inner"
	}
	return "between"
}

// stack lays the layers on each other. Where a measured stack replaces the layers' sum, they are drawn in proportion, so
// that the mounting face lies where it was measured.
func (m *sectionModel) stack(p *setout.Panel) {
	layers := SectionLayers(p, m.st)
	n := len(layers)
	counted := layers
	if m.c.Plate.Face == stock.PlateBehind {
		counted = counted[1:]
		m.seat = layers[0].Thickness.Nom
	}
	if m.c.Receptacle.Mount != stock.Behind {
		counted = counted[:len(counted)-1]
	}
	sum := 0.0
	for _, l := range counted {
		sum += l.Thickness.Nom
	}
	f := 1.0
	if m.st.Stack.Measured && sum > 0 {
		f = m.st.Close.T / sum
	}
	y := 0.0
	for i, l := range layers {
		t := l.Thickness.Nom
		if slices.Contains(counted, l) {
			t *= f
		}
		m.layers = append(m.layers, sectionBand{name: sectionLayerName(l, i, n), layer: l, y0: y, y1: y + t, x0: -m.half, x1: m.half})
		y += t
	}
	m.mount = m.seat + m.st.Close.T
	m.locked = m.seat + m.st.Close.R
	m.free = m.seat + m.st.Close.Z
	if m.c.Receptacle.Mount == stock.FrontUnderPanel {
		// The panel rests on the receptacle, so its support lies deeper by the foot and what is under it.
		in := &m.layers[n-1]
		d := m.c.Receptacle.FootThickness + m.st.Close.S
		in.y0, in.y1 = in.y0+d, in.y1+d
	}
}

// parts places plate, receptacle foot and shim.
func (m *sectionModel) parts() {
	pl, rc := m.c.Plate, m.c.Receptacle
	if pl.Thickness > 0 && pl.Length > 0 && pl.Face != stock.PlateNone {
		b := sectionBand{name: "plate", x0: -pl.Length / 2, x1: pl.Length / 2, y0: -pl.Thickness, y1: 0}
		if pl.Face == stock.PlateBehind {
			b.y0, b.y1 = m.seat, m.seat+pl.Thickness
		}
		r := math.Max(pl.SleeveDiameter, m.c.Stud.Shank.Nom) / 2
		b.openings = append(b.openings, sectionOpening{r: r})
		b.openings = append(b.openings, sectionPattern(pl.Rivets)...)
		m.plate = &b
	}
	m.body = m.c.Stud.Shank.Nom/2 + 2.2
	for _, h := range rc.Rivets {
		// Clear of the rivets' heads beside it.
		if x := math.Abs(h.At.X) - h.Diameter - 1; x > m.c.Stud.Shank.Nom/2+1 {
			m.body = math.Min(math.Max(m.body, rc.CentreHole.Nom/2+1), x)
		}
	}
	s := m.st.Close.S
	foot := sectionBand{name: "receptacle foot", x0: -rc.Length / 2, x1: rc.Length / 2}
	switch rc.Mount {
	case stock.Behind:
		foot.y0 = m.mount + s
		m.shim = sectionBand{name: "shim", y0: m.mount, y1: m.mount + s}
	case stock.FrontBesideSeat:
		foot.y0 = m.mount - s - rc.FootThickness
		m.shim = sectionBand{name: "shim", y0: m.mount - s, y1: m.mount}
	default:
		foot.y0 = m.mount
		m.shim = sectionBand{name: "shim", y0: m.mount + rc.FootThickness, y1: m.mount + rc.FootThickness + s}
	}
	foot.y1 = foot.y0 + rc.FootThickness
	foot.openings = append([]sectionOpening{{r: m.body}}, sectionPattern(rc.Rivets)...)
	m.shim.x0, m.shim.x1, m.shim.openings = foot.x0, foot.x1, foot.openings
	m.foot = foot
}

// sectionPattern is a part's own rivet holes, as far as the section plane cuts them.
func sectionPattern(holes []stock.Hole) []sectionOpening {
	var out []sectionOpening
	for _, h := range holes {
		if r, ok := sectionChord(h.Diameter/2, h.At.Y); ok {
			out = append(out, sectionOpening{x: h.At.X, r: r})
		}
	}
	return out
}

// sectionChord is half the chord that a plane at distance off cuts from a circle.
func sectionChord(r, off float64) (float64, bool) {
	// A plane that only grazes a hole does not show it.
	const least = 0.3
	if math.Abs(off) >= r*(1-least) {
		return 0, false
	}
	return math.Sqrt(r*r - off*off), true
}

// sectionSlot is where the line through at along dir passes a rectangular cut-out: its middle as a distance from at, and half
// its length.
func sectionSlot(h setout.Hole, at, dir plane.Point) (x, half float64, ok bool) {
	lo, hi := math.Inf(-1), math.Inf(1)
	for _, side := range [2]struct{ angle, size float64 }{{h.Dir, h.Length}, {h.Dir + math.Pi/2, h.Width}} {
		n := plane.Point{X: 1}.Rotate(side.angle)
		speed, from := dir.Dot(n), at.Sub(h.At).Dot(n)
		const level = 1e-9 // along the side: it never meets it
		if math.Abs(speed) < level {
			if math.Abs(from) >= side.size/2 {
				return 0, 0, false
			}
			continue
		}
		a, b := (-side.size/2-from)/speed, (side.size/2-from)/speed
		lo, hi = math.Max(lo, math.Min(a, b)), math.Min(hi, math.Max(a, b))
	}
	return (lo + hi) / 2, (hi - lo) / 2, hi > lo
}

// cut opens the layers by the plan's holes at this station.
func (m *sectionModel) cut(p *setout.Panel) {
	dir := plane.Point{X: 1}.Rotate(m.st.Dir)
	for _, h := range p.Holes {
		if h.Station != m.st.ID {
			continue
		}
		off := h.At.Sub(m.st.At)
		o := sectionOpening{x: off.Dot(dir)}
		ok := false
		if h.Length > 0 {
			o.x, o.r, ok = sectionSlot(h, m.st.At, dir)
		} else {
			o.r, ok = sectionChord(HoleDiameter(h)/2, off.Dot(dir.Perp()))
		}
		if !ok {
			continue
		}
		if k := h.Countersink; k != nil {
			sink := sectionSink{r: k.Diameter / 2, depth: k.Depth}
			if k.Face == "back" {
				o.back = sink
			} else {
				o.front = sink
			}
		}
		for i := range m.layers {
			if m.layers[i].name == h.Layer {
				m.layers[i].open(o)
			}
		}
	}
	shank := math.Max(m.c.Stud.Shank.Nom, m.c.Plate.SleeveDiameter) / 2
	for i := range m.layers {
		l := &m.layers[i]
		// A gap is no body; what the stud passes without a hole of the plan's is drawn cut by the stud itself.
		if l.layer.Material == nil || l.y0 >= math.Max(m.locked, m.free) || len(l.openings) > 0 {
			continue
		}
		if r := shank; i < len(m.layers)-1 || m.c.Receptacle.Mount == stock.Behind {
			l.open(sectionOpening{r: r})
			continue
		}
		// On the front of something that is not drilled, the body goes beside it.
		m.beside = true
		// Drawn whole, on one side: two halves about the body would ask for a hole that nobody may drill.
		l.x1 = -(m.body + m.wall() + 0.4)
	}
}

// open adds a hole; one in the same place widens the other.
func (b *sectionBand) open(o sectionOpening) {
	for i := range b.openings {
		q := &b.openings[i]
		if math.Abs(q.x-o.x) > 0.05 {
			continue
		}
		q.r = math.Max(q.r, o.r)
		if o.front.depth > q.front.depth {
			q.front = o.front
		}
		if o.back.depth > q.back.depth {
			q.back = o.back
		}
		return
	}
	b.openings = append(b.openings, o)
}

// band finds a part of the stack by the name that a joint uses.
func (m *sectionModel) band(name string) *sectionBand {
	switch {
	case name == "plate" && m.plate != nil:
		return m.plate
	case name == "shim":
		return &m.shim
	case strings.HasPrefix(name, "receptacle"):
		return &m.foot
	}
	for i := range m.layers {
		if m.layers[i].name == name {
			return &m.layers[i]
		}
	}
	switch name {
	case "outer":
		return &m.layers[0]
	case "inner":
		return &m.layers[len(m.layers)-1]
	}
	return nil
}

// join places the rivets of the station's joints.
func (m *sectionModel) join(p *setout.Panel) {
	for i := range p.Joins {
		j := &p.Joins[i]
		if j.Station != m.st.ID || j.Rivet == nil || len(j.Joins) == 0 {
			continue
		}
		first, last := m.band(j.Joins[0]), m.band(j.Joins[len(j.Joins)-1])
		if first == nil || last == nil {
			continue
		}
		r := sectionRivet{joint: j, head: first.y0, tail: last.y1, out: -1}
		if first.y0 > last.y0 || first == last && strings.HasSuffix(j.HeadOn, "back") {
			r.head, r.tail, r.out = first.y1, last.y0, 1
		}
		r.washer = j.WasherThickness
		pattern := m.c.Plate.Rivets
		if j.Part == "receptacle" {
			pattern = m.c.Receptacle.Rivets
		}
		for _, h := range pattern {
			if _, ok := sectionChord(h.Diameter/2, h.At.Y); ok {
				r.x = h.At.X
				m.rivets = append(m.rivets, r)
			}
		}
	}
}

// headFace is the depth that the stud's head bears on.
func (m *sectionModel) headFace() float64 {
	if m.c.Plate.Face == stock.PlateOutside {
		return -m.c.Plate.Thickness
	}
	return 0
}

// bottom is the depth of the receptacle's deepest point, by the room that the part needs behind its mounting face.
func (m *sectionModel) bottom() float64 {
	face := m.foot.y0
	if m.c.Receptacle.Mount == stock.FrontBesideSeat {
		face = m.foot.y1
	}
	return math.Max(face+m.c.Receptacle.Height, math.Max(m.free, m.foot.y1))
}

func (m *sectionModel) extent() {
	m.high = m.headFace() - m.c.Stud.HeadHeight
	m.deep = math.Max(m.bottom(), m.locked+m.c.Stud.EndBeyondWire)
	m.deep = math.Max(m.deep, m.layers[len(m.layers)-1].y1)
	for _, r := range m.rivets {
		head := r.joint.Rivet.HeadHeight
		if r.joint.Rivet.CountersinkDeg > 0 {
			head = 0
		}
		tail := r.joint.Rivet.TailLength + r.washer
		for _, y := range []float64{r.head + r.out*head, r.tail - r.out*tail} {
			m.high, m.deep = math.Min(m.high, y), math.Max(m.deep, y)
		}
	}
}

// wall is the thickness of the receptacle's walls as drawn, mm: that of its foot.
func (m *sectionModel) wall() float64 { return math.Max(0.8, m.c.Receptacle.FootThickness) }

// notes says where the plan's own figures leave parts in each other's way. The drawing shows it too.
func (m *sectionModel) notes() []string {
	var out []string
	meets := func(what string, b sectionBand) {
		for _, l := range m.layers {
			if l.layer.Material == nil {
				continue
			}
			// Rounding of the figures, not a clash.
			const touch = 0.02
			if slices.ContainsFunc(l.openings, func(o sectionOpening) bool { return o.x-o.r <= b.x0+touch && o.x+o.r >= b.x1-touch }) {
				continue // cut out around it
			}
			if by := math.Min(b.y1, l.y1) - math.Max(b.y0, l.y0); by > touch {
				out = append(out, "Mind: the "+what+" stands "+measure.MM(by)+" into the "+l.name+" layer; it wants a recess or a spacer there.")
			}
		}
	}
	if m.beside {
		out = append(out, "The "+m.layers[len(m.layers)-1].name+" layer is never drilled: the receptacle's body must stand beside it. Where the station lies on its middle, move the station or the receptacle before welding.")
	}
	meets("receptacle's foot", m.foot)
	if m.plate != nil {
		meets("plate", *m.plate)
	}
	return out
}
