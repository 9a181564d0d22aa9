package drawing

import (
	"math"
	"slices"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// templateTextWide is the widest that a station's text may be before it is broken, mm.
const templateTextWide = 56

// labels writes at every station its number and what is drilled there: beside it, where nothing else is covered, with a
// leader when that is not next to it. Where several stations on one page are drilled alike, the first has the text and the
// others name it. A station that finds no room for all gets its number only.
func (t *templateTile) labels() {
	var here []*setout.Station
	first := map[string]string{}
	count := map[string]int{}
	text := map[*setout.Station]string{}
	for _, st := range t.panel.Stations {
		if !t.seen(st.At, 1) {
			continue
		}
		here = append(here, st)
		text[st] = strings.Join(HoleLines(t.panel, st.ID, t.behind), "\n")
		count[text[st]]++
	}
	// Two in one place can both be read; more would only hide each other.
	alike := 2
	if t.wide > 0 {
		alike = 1 // a strip has room for one
	}
	for _, st := range here {
		same := text[st]
		var lines []string
		if of, ok := first[same]; ok && count[same] > alike {
			lines = append(lines, "holes as no. "+of)
		} else if same != "" {
			first[same] = st.ID
			lines = strings.Split(same, "\n")
		}
		if same == "" {
			lines = append(lines, "no parts fit here: do not drill")
		}
		if st.Edge != "" {
			lines = append(lines, TapeOf(t.panel, st).Words(func(v float64) string { return strings.ReplaceAll(TapeBrief(t.plan.Job, v), " ", "\u00a0") }))
		}
		if !t.write(st, lines) {
			t.bare = append(t.bare, st.ID)
		}
	}
}

// write sets a station's label, in broken lines or as the number alone where there is no room; on a strip rather so than over
// the edge that is laid on the panel's.
func (t *templateTile) write(st *setout.Station, lines []string) bool {
	if t.wide > 0 {
		for _, try := range []labelWay{{size: sheet.Letters25, off: true, clear: true}, {size: sheet.Letters25, off: true}, {size: sheet.Letters18, off: true}} {
			for _, try.wide = range []float64{t.wide, templateTextWide, 46, 42, 38, 36, 34, 32, 30, 26} {
				if t.block(st, lines, try) {
					return true
				}
			}
		}
	}
	wide, narrow := labelWay{wide: templateTextWide, size: sheet.Letters25}, labelWay{wide: 38, size: sheet.Letters25}
	return t.block(st, lines, wide) || t.block(st, lines, narrow) || t.block(st, nil, narrow)
}

// labelWay is how a label may be set.
type labelWay struct {
	wide, size float64 // where lines are broken, and their letters
	off, clear bool    // it covers no outline; no hatching
}

// block sets a station's number over its lines as one label.
func (t *templateTile) block(st *setout.Station, lines []string, way labelWay) bool {
	const big = sheet.Letters50
	small := way.size
	var set []string
	for _, l := range lines {
		for i, part := range sheet.Wrap(l, way.wide, small, sheet.Regular) {
			if i > 0 {
				part = "   " + part
			}
			set = append(set, part)
		}
	}
	w := sheet.TextWidth(st.ID, big, sheet.Bold)
	for _, l := range set {
		w = math.Max(w, sheet.TextWidth(l, small, sheet.Regular))
	}
	under := (sheet.Letters25 - small) * 1.25 // the number keeps its distance from small letters
	h := big*viewAscent + under + float64(len(set))*small*1.25 + small*0.3
	at := t.view.Map(st.At)
	gap := t.gap(at)
	quads, anchors := viewRing(at, w, h, []float64{7, 10, 14, 19, 25, 32, 40, 50, 62, 76})
	if t.wide > 0 { // a strip is hardly higher than a text: under its upper edge there may be room when there is none beside
		for d := 8.0; d < 46; d++ {
			for _, x := range []float64{at.X + d, at.X - d - w} {
				q := viewBoxQuad(x, t.ink.place.frame.Min.Y+0.2, w, h)
				quads = append(quads, q)
				anchors = append(anchors, plane.Point{X: math.Max(x, math.Min(x+w, at.X)), Y: math.Max(q[0].Y, math.Min(q[2].Y, at.Y))})
			}
		}
	}
	i, ok := t.ink.place.best(quads, func(i int) float64 {
		price := anchors[i].Dist(at) * 0.35
		if t.panel.Job.Outline.Outer.Contains(t.view.Unmap(quads[i].Box().Centre())) != plane.Inside {
			price += 25
		}
		const never = 1e6 // any other place is cheaper
		if t.hatched(quads[i]) {
			price += map[bool]float64{true: never, false: costOutline / 2}[way.clear]
		}
		if way.off && t.ink.place.hides(quads[i]) {
			price += never
		}
		if a, b, ok := templateLeader(at, anchors[i], gap); ok {
			price += t.ink.place.leaderPrice(a, b)
		}
		return price
	})
	if !ok {
		return false
	}
	q := quads[i]
	if way.off && t.ink.place.hides(q) || way.clear && t.hatched(q) {
		return false
	}
	t.unhatch(q)
	y := q[0].Y + big*viewAscent
	t.ink.Add(sheet.Text{At: At(q[0].X, y), Size: big, S: st.ID, Font: sheet.Bold, Halo: true, Layer: sheet.LayerText})
	y += under
	for _, l := range set {
		y += small * 1.25
		t.ink.Add(sheet.Text{At: At(q[0].X, y), Size: small, S: l, Halo: true, Layer: sheet.LayerText})
	}
	t.ink.place.takeBox(q)
	if a, b, ok := templateLeader(at, anchors[i], gap); ok {
		t.ink.Line(a, b, sheet.Fine, sheet.LayerDimension)
		side := b.Sub(a).Unit().Perp().Scale(0.4)
		t.ink.place.takeBox(Quad{a.Add(side), b.Add(side), b.Sub(side), a.Sub(side)}) // no later text crosses it
	}
	return true
}

// hatched says whether a box on the page lies over a keep-out, in part.
func (t *templateTile) hatched(q Quad) bool {
	box := plane.EmptyBox()
	for _, c := range q {
		box = box.Include(t.view.Unmap(c))
	}
	for _, k := range t.panel.Job.KeepOuts {
		if !k.Region.Bounds().Overlaps(box) {
			continue
		}
		for i := range 5 {
			for n := range 4 {
				at := q[0].Lerp(q[1], float64(i)/4).Add(q[3].Sub(q[0]).Scale(float64(n) / 3))
				if k.Region.Contains(t.view.Unmap(at)) == plane.Inside {
					return true
				}
			}
		}
	}
	return false
}

// unhatch leaves the hatching out where a text stands; lines over it stay.
func (t *templateTile) unhatch(q Quad) {
	if t.hatched(q) {
		white := sheet.White
		t.ink.Items = slices.Insert(t.ink.Items, t.hatch, sheet.Item(sheet.Stroke{Path: plane.Polygon(q[:]...), Fill: &white, Layer: sheet.LayerHatch}))
	}
}

// gap is how far a leader stays from a station's centre: outside the hole and its marks.
func (t *templateTile) gap(at plane.Point) float64 {
	gap := 4.0
	for _, d := range t.ink.place.discs {
		if d.at.Dist(at) < 0.5 {
			gap = math.Max(gap, d.r)
		}
	}
	return gap
}

// templateLeader returns the line that joins a label that stands away from its station with it; ok is false for one that
// stands close.
func templateLeader(at, anchor plane.Point, gap float64) (a, b plane.Point, ok bool) {
	const close = 6
	if anchor.Dist(at) <= gap+close {
		return a, b, false
	}
	dir := anchor.Sub(at).Unit()
	return at.Add(dir.Scale(gap + 0.1)), anchor.Sub(dir.Scale(0.8)), true
}

// visible returns the middle of the longest run of an edge inside the window, d mm within, as a length along the outline.
func (t *templateTile) visible(e job.Edge, d float64) (s, length float64) {
	const step = 1.0
	outer := t.panel.Job.Outline.Outer
	n := max(1, int(math.Ceil((e.To-e.From)/step)))
	run, best, bestEnd := 0, 0, 0
	for i := 0; i <= n; i++ {
		if !t.seen(outer.At(e.From+(e.To-e.From)*float64(i)/float64(n)), d) {
			run = 0
			continue
		}
		if run++; run > best {
			best, bestEnd = run, i
		}
	}
	each := (e.To - e.From) / float64(n)
	return e.From + (float64(bestEnd)-float64(best-1)/2)*each, float64(best-1) * each
}

// front draws the arrow that says which edge faces forward, on every tile that shows enough of it.
func (t *templateTile) front() {
	e := templateEdge(t.panel.Job, t.panel.Job.Front)
	if e == nil {
		return
	}
	const words, size, tall = "this edge to the front", sheet.Letters35, 16.0
	w := sheet.TextWidth(words, size, sheet.Bold)
	s, length := t.visible(*e, 3)
	if length < 40 {
		return
	}
	for _, k := range []float64{0, 0.2, -0.2, 0.35, -0.35} {
		at, out := templateEdgeFrame(t.view, t.panel.Job.Outline.Outer, s+k*length)
		turn, along := viewUpright(out.Perp())
		// Arrow first, words after it, both just inside the edge.
		tip, tail := at.Sub(out.Scale(2)), at.Sub(out.Scale(2+tall))
		mid := at.Sub(out.Scale(2 + tall/2))
		text := sheet.Text{At: mid.Add(along.Scale(7)), Size: size, S: words, Font: sheet.Bold, Turn: turn}
		text.At = text.At.Add(plane.Point{Y: 1}.Rotate(-turn).Scale(size * sheet.CapHeight / 2))
		tq := TextQuad(text)
		side := along.Scale(5)
		aq := Quad{tip.Add(side), tip.Sub(side), tail.Sub(side), tail.Add(side)}
		if w > length {
			continue
		}
		if i, ok := t.ink.place.best([]Quad{tq}, nil); !ok || i != 0 {
			continue
		}
		if _, ok := t.ink.place.cost(aq); !ok {
			continue
		}
		text.Halo = true
		t.ink.bigArrow(tail, tip, 9)
		t.ink.text(text)
		t.ink.place.takeBox(aq)
		return
	}
}

// edgeNames writes each edge's name outside it, where a tile shows enough of it.
func (t *templateTile) edgeNames() {
	outer := t.panel.Job.Outline.Outer
	for _, e := range t.panel.Job.Edges {
		r := tapeRunOf(t.panel.Job, e)
		s, length := t.visible(r.clear(), 4)
		if length < 30 {
			continue
		}
		words := "edge " + e.Name + ": " + TapeShown(t.plan.Job)(r.length) + " long"
		if sheet.TextWidth(words, sheet.Letters25, sheet.Regular) > length {
			words = "edge " + e.Name
		}
		if e.Name == t.lay {
			words = "lay this line on the panel's edge " + e.Name
		}
		for _, k := range []float64{0, 0.12, -0.12, 0.25, -0.25} {
			at, out := templateEdgeFrame(t.view, outer, s+k*length)
			if t.besideEdge(at, out, words, sheet.Letters25) {
				break
			}
		}
	}
}

// keepOutNames says what the hatched regions are, where a page shows enough of one.
func (t *templateTile) keepOutNames() {
	for _, k := range t.panel.Job.KeepOuts {
		seen := templateSeen(templateSeen(k.Region.Bounds(), t.panel.Job.Outline.Outer.Bounds()), t.window)
		if seen.Empty() {
			continue
		}
		at := viewPageBox(t.view, seen)
		mid := at.Centre()
		middles := []plane.Point{mid, {X: mid.X, Y: at.Max.Y + 3.5}, {X: mid.X, Y: at.Min.Y - 3.5}, {X: at.Min.X - 24, Y: mid.Y}, {X: at.Max.X + 24, Y: mid.Y}}
		for _, y := range []float64{0.5, 0.25, 0.75, 0.1, 0.9} {
			for _, x := range []float64{0.3, 0.7, 0.15, 0.85, 0.5} {
				middles = append(middles, at.Min.Add(plane.Point{X: x * at.Width(), Y: y * at.Height()}))
			}
		}
		for _, words := range []string{"keep out: " + k.Name, "keep out"} {
			if t.keepOutName(words, middles) {
				break
			}
		}
	}
}

// keepOutName writes words at the cheapest of the places, unless that would hide part of the outline.
func (t *templateTile) keepOutName(words string, middles []plane.Point) bool {
	text := sheet.Text{S: words, Size: sheet.Letters25, Align: sheet.Centre, Halo: true}
	quads := make([]Quad, len(middles))
	for i, m := range middles {
		text.At = m.Add(plane.Point{Y: text.Size * sheet.CapHeight / 2})
		quads[i] = TextQuad(text)
	}
	i, ok := t.ink.place.best(quads, func(i int) float64 { return float64(i) * 0.2 })
	if !ok {
		return false
	}
	if t.ink.place.hides(quads[i]) {
		return false
	}
	text.At = middles[i].Add(plane.Point{Y: text.Size * sheet.CapHeight / 2})
	t.unhatch(quads[i])
	t.ink.text(text)
	return true
}

// Cut is a line along which two full-size prints are cut and laid together, in panel coordinates.
type Cut struct {
	A, B    plane.Point
	Out     plane.Point // unit direction towards the neighbour
	Words   string      // what to do there
	Targets []plane.Point
}

// neighbours lists the cut lines towards the printed neighbours of a tile.
func (t *templateTile) neighbours() []Cut {
	var out []Cut
	c := t.tile.Cell
	for _, side := range []struct {
		row, col int
		a, b     plane.Point
		out      plane.Point // towards the neighbour
	}{
		{0, -1, c.Min, plane.Point{X: c.Min.X, Y: c.Max.Y}, plane.Point{X: -1}},
		{0, 1, plane.Point{X: c.Max.X, Y: c.Min.Y}, c.Max, plane.Point{X: 1}},
		{-1, 0, plane.Point{X: c.Min.X, Y: c.Max.Y}, c.Max, plane.Point{Y: 1}},
		{1, 0, c.Min, plane.Point{X: c.Max.X, Y: c.Min.Y}, plane.Point{Y: -1}},
	} {
		next, ok := t.grid.Printed(t.tile.Row+side.row, t.tile.Col+side.col)
		if !ok {
			continue
		}
		cut := Cut{A: side.a, B: side.b, Out: side.out, Words: "lay " + next.Name + " on this line"}
		for _, k := range templateTargets(t.panel, side.a, side.b) {
			cut.Targets = append(cut.Targets, side.a.Lerp(side.b, k))
		}
		if side.row+side.col < 0 {
			cut.Words = "cut here, join to " + next.Name
		}
		out = append(out, cut)
	}
	return out
}

// cuts draws the lines along which neighbours are cut and laid together, with targets that both pages show.
func (t *templateTile) cuts() {
	for _, side := range t.sides {
		a, b := t.view.Map(side.A), t.view.Map(side.B)
		t.ink.Line(a, b, sheet.Cut, sheet.LayerRegister)
		t.ink.place.lines = append(t.ink.place.lines, viewLine{a, b, costCut})
		for _, target := range side.Targets {
			at := t.view.Map(target)
			t.ink.Add(sheet.RegistrationMark(at)...)
			t.ink.place.takeDisc(at, 5)
		}
		out := viewDirection(t.view, side.Out)
		turn, _ := viewUpright(out.Perp())
		var middles []plane.Point
		for _, k := range []float64{0.5, 0.4, 0.6, 0.15, 0.85} {
			middles = append(middles, a.Lerp(b, k).Add(out.Scale(templateOverlap/4)))
		}
		t.ink.label(sheet.Text{S: side.Words, Size: sheet.Letters18, Turn: turn, Align: sheet.Centre, Halo: true}, middles)
	}
}

// templateTargets returns where on a cut line from a to b the targets stand, as fractions: two places that keep off the
// holes and the outline. It depends on the line and the panel only, so neighbours agree.
func templateTargets(p *setout.Panel, a, b plane.Point) []float64 {
	const clear = 9
	pick := func(wanted float64) float64 {
		for _, step := range []float64{0, 0.05, -0.05, 0.1, -0.1} {
			at, free := a.Lerp(b, wanted+step), true
			for _, h := range p.Holes {
				free = free && h.At.Dist(at) > clear+HoleDiameter(h)/2
			}
			for _, path := range append([]plane.Path{p.Job.Outline.Outer}, p.Job.Outline.CutOuts...) {
				_, d, _ := path.Nearest(at)
				free = free && d > clear-2
			}
			if free {
				return wanted + step
			}
		}
		return wanted
	}
	return []float64{pick(0.25), pick(0.75)}
}

// Across is a length as overview pages show it.
func Across(j *job.Job, v float64) string {
	if j.Inch {
		return measure.MM(v) + " (" + measure.Inch(v) + ")"
	}
	return measure.MM(v)
}
