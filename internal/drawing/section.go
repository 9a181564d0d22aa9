package drawing

import (
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/tile"
)

// SectionKind is one kind of station: the same parts, mounting, layers and shims. A section is drawn for each.
type SectionKind struct {
	Name     string // "A", "B", …
	Panel    *setout.Panel
	Station  *setout.Station // the first of them, which is drawn
	Stations []SectionPlace
}

// SectionPlace is the stations of one panel that are of a kind.
type SectionPlace struct {
	Panel    string
	Stations []string
}

// SectionKinds lists the kinds of stations of a plan, in the order in which they first come. Stations without parts are
// of none.
func SectionKinds(p *setout.Plan) []SectionKind {
	var out []SectionKind
	at := map[string]int{}
	for _, panel := range p.Panels {
		for _, st := range panel.Stations {
			c := st.Choice
			if c == nil || c.Stud == nil || c.Plate == nil || c.Receptacle == nil {
				continue
			}
			key := sectionKey(panel, st)
			i, ok := at[key]
			if !ok {
				i = len(out)
				at[key] = i
				out = append(out, SectionKind{Name: tile.RowName(i), Panel: panel, Station: st})
			}
			k := &out[i]
			if n := len(k.Stations); n == 0 || k.Stations[n-1].Panel != panel.Job.Name {
				k.Stations = append(k.Stations, SectionPlace{Panel: panel.Job.Name})
			}
			last := &k.Stations[len(k.Stations)-1]
			last.Stations = append(last.Stations, st.ID)
		}
	}
	return out
}

// sectionKey is equal for stations whose section looks alike to 0.01 mm.
func sectionKey(p *setout.Panel, st *setout.Station) string {
	c := st.Choice
	parts := []string{c.Stud.ID, c.Plate.ID, c.Receptacle.ID, string(c.Receptacle.Mount), fmt.Sprint(st.Shims),
		measure.Fixed(st.Close.T, 2), measure.Fixed(st.Close.S, 2)}
	layers := SectionLayers(p, st)
	for i, l := range layers {
		material := "gap"
		if l.Material != nil {
			material = l.Material.ID
		}
		parts = append(parts, sectionLayerName(l, i, len(layers)), material, measure.Fixed(l.Thickness.Nom, 2))
	}
	for _, j := range p.Joins {
		if j.Station == st.ID && j.Rivet != nil {
			parts = append(parts, j.Part, j.Rivet.ID, j.HeadOn, j.TailTreatment)
		}
	}
	return strings.Join(append(parts, HoleLines(p, st.ID, false)...), "|")
}

// Sections draws a page for every kind of station of a plan: a section through it, enlarged and at full size, with its
// depths and its parts. It fails when the job names a paper that is none.
func Sections(p *setout.Plan) ([]sheet.Sheet, error) {
	paper, err := PaperOf(p.Job.Paper)
	if err != nil {
		return nil, err
	}
	var out []sheet.Sheet
	for _, k := range SectionKinds(p) {
		out = append(out, sectionPages(p, k, paper)...)
	}
	return out, nil
}

// sectionHead writes the title and returns the height at which the drawing may begin.
func sectionHead(c *Canvas, p *setout.Plan, k SectionKind, w float64) float64 {
	title := "Section " + k.Name
	c.Bold(sectionEdge, sectionEdge+7, sheet.Letters70, sheet.Left, title)
	x := sectionEdge + sheet.TextWidth(title, sheet.Letters70, sheet.Bold) + 6
	y := sectionEdge + 7.0
	about := SectionAbout(k.Station)
	if sheet.TextWidth(about, sheet.Letters35, sheet.Regular) > w-sectionEdge-x {
		x, y = sectionEdge, y+7
	}
	about, size := sheet.FitText(about, w-sectionEdge-x, sheet.Letters35, sheet.Letters25, sheet.Regular)
	c.Write(x, y, size, sheet.Left, about)
	y = c.wrapped(sectionEdge, y+7, w-2*sectionEdge, sheet.Letters25, sectionWhere(k, p))
	c.Line(At(sectionEdge, y-2), At(w-sectionEdge, y-2), sheet.Outline, sheet.LayerTable)
	return y
}

// sectionEnlarged draws the section as large as a usual scale lets it, between the numbers and the depths.
func sectionEnlarged(c *Canvas, m *sectionModel, rows []sectionRow, room plane.Box) {
	in := plane.Box{Min: At(room.Min.X+sectionBalloon, room.Min.Y+9), Max: At(room.Max.X-sectionDims, room.Max.Y-8)}
	scale := FitScale(2*m.half, m.deep-m.high, in.Width(), in.Height(), 10)
	mid := in.Centre()
	plot := sectionPlot{m: m, c: c, scale: scale, full: true, origin: At(mid.X, mid.Y-scale*(m.high+m.deep)/2)}
	plot.draw()
	plot.depths(in.Max.X + 8)
	plot.shimArrow(in.Max.X + 8)
	plot.balloons(room.Min.X+3.2, rows, room.Min.Y+6, room.Max.Y-6)
	c.Write(room.Max.X, room.Min.Y+4, sheet.Letters35, sheet.Right, viewScaleName(scale))
}

// sectionTablePages sets a long table of parts on pages of its own.
func sectionTablePages(table sheet.Table, p *setout.Plan, k SectionKind, w, h float64) []sheet.Sheet {
	var out []sheet.Sheet
	for len(table.Rows) > 0 {
		s := sheet.Sheet{Title: "Section " + k.Name + ", parts", W: w, H: h}
		var c Canvas
		y := sectionHead(&c, p, k, w)
		c.Write(sectionEdge, y+3, sheet.Letters35, sheet.Left, "Parts")
		items, _, rest := table.Layout(sectionEdge, y+6, h-sectionEdge)
		s.Add(c.Items...)
		s.Add(items...)
		out = append(out, s)
		table.Rows = rest
	}
	return out
}

// SectionAbout says what kind of station it is.
func SectionAbout(st *setout.Station) string {
	c := st.Choice
	words := []string{c.Stud.Head + " head", map[string]string{"outside": "plate on the outer face", "behind": "plate behind the outer panel", "none": "grommet"}[string(c.Plate.Face)]}
	switch c.Receptacle.Mount {
	case "behind":
		words = append(words, "receptacle behind the inner panel")
	case "front-beside-seat":
		words = append(words, "receptacle on the front, the panel rests beside it")
	default:
		words = append(words, "receptacle on the front, the panel rests on it")
	}
	if n := st.Shims; n > 0 {
		words = append(words, fmt.Sprintf("%d shim%s", n, Plural(n)))
	}
	return strings.Join(words, ", ")
}

// sectionWhere lists the stations of a kind.
func sectionWhere(k SectionKind, p *setout.Plan) string {
	var parts []string
	for _, s := range k.Stations {
		parts = append(parts, s.Panel+": "+StationRuns(s.Stations))
	}
	return JobWords(p.Job) + " · " + strings.Join(parts, " · ")
}

// StationRuns shortens a list of numbers: 1–4, 7, left, 9.
func StationRuns(ids []string) string {
	number := func(s string) int {
		n := 0
		if _, err := fmt.Sscanf(s, "%d", &n); err != nil || fmt.Sprint(n) != s {
			return -1
		}
		return n
	}
	var out []string
	for i := 0; i < len(ids); {
		j := i
		for j+1 < len(ids) && number(ids[i]) >= 0 && number(ids[j+1]) == number(ids[j])+1 {
			j++
		}
		if j-i >= 2 {
			out = append(out, ids[i]+"–"+ids[j])
		} else {
			out = append(out, ids[i:j+1]...)
		}
		i = j + 1
	}
	return strings.Join(out, ", ")
}

// sectionFullSize draws the section at 1:1, or smaller where the paper is, with its scale. It returns how far down it goes.
func sectionFullSize(c *Canvas, m *sectionModel, room plane.Box) float64 {
	scale := FitScale(2*m.half, m.deep-m.high, room.Width(), room.Height()-14, 1)
	top := room.Min.Y + 9
	plot := sectionPlot{m: m, c: c, scale: scale, origin: plane.Point{X: room.Centre().X, Y: top - scale*m.high}}
	plot.draw()
	c.Write(room.Max.X, room.Min.Y+4, sheet.Letters35, sheet.Right, viewScaleName(scale))
	return top + scale*(m.deep-m.high) + 5
}

// sectionWords are the depths in figures, and what they say against the drawing, in lines of a column.
func sectionWords(p *setout.Plan, m *sectionModel, width float64) []string {
	var out []string
	for _, l := range append(sectionFigures(p.Job, m.st), m.notes()...) {
		out = append(out, sheet.Wrap(l, width, sheet.Letters25, sheet.Regular)...)
	}
	return out
}

// sectionLeading is the distance of the base lines of figures, mm.
const sectionLeading = sheet.Letters25 * 1.25

func sectionFiguresHigh(p *setout.Plan, m *sectionModel, width float64) float64 {
	return float64(len(sectionWords(p, m, width))) * sectionLeading
}

// sectionWriteFigures writes the words in a column from the base line at on.
func sectionWriteFigures(c *Canvas, p *setout.Plan, m *sectionModel, at plane.Point, width float64) {
	for i, l := range sectionWords(p, m, width) {
		c.Write(at.X, at.Y+float64(i)*sectionLeading, sheet.Letters25, sheet.Left, l)
	}
}

// sectionFigures are the depths in figures, measured from the seat.
func sectionFigures(j *job.Job, st *setout.Station) []string {
	r := st.Close.Result
	z := "z = T + s + h"
	switch st.Choice.Receptacle.Mount {
	case "front-beside-seat":
		z = "z = T − s + h"
	case "front-under-panel":
		z = "z = T + h"
	}
	t := "stack T"
	if st.Stack.Measured {
		t = "stack T, measured"
	}
	lines := []string{
		fmt.Sprintf("%s %s · shims s %s", t, Across(j, r.T), measure.MM(r.S)),
		fmt.Sprintf("receptacle depth h %s", measure.MM(r.H)),
		fmt.Sprintf("free wire %s = %s", z, measure.MM(r.Z)),
		fmt.Sprintf("reach of the stud R %s", measure.MM(r.R)),
		fmt.Sprintf("deflection δ = z − R = %s", Across(j, r.Delta)),
	}
	if r.DeltaHi > 0 {
		lines = append(lines, fmt.Sprintf("closes well from %s to %s", measure.MM(r.DeltaLo), measure.MM(r.DeltaHi)))
	}
	return lines
}

// sectionTarget is where the number of a part points, mm of the section.
type sectionTarget struct {
	row  int
	at   plane.Point
	page plane.Point
}

// balloons writes the parts' numbers in a column on the left and joins each with its part.
func (s *sectionPlot) balloons(x float64, rows []sectionRow, top, bottom float64) {
	var targets []sectionTarget
	for i, r := range rows {
		if r.points {
			targets = append(targets, sectionTarget{row: i, at: r.at, page: s.at(r.at.X, r.at.Y)})
		}
	}
	slices.SortStableFunc(targets, func(a, b sectionTarget) int {
		switch {
		case a.page.Y < b.page.Y:
			return -1
		case a.page.Y > b.page.Y:
			return 1
		}
		return 0
	})
	const r = 2.9
	pitch := 7.6
	if n := float64(len(targets) - 1); n > 0 {
		pitch = max(2*r+0.3, min(pitch, (bottom-top-2*r)/n))
	}
	ys := sectionSpread(targets, pitch, top+r, bottom-r)
	sectionUncross(targets, ys, x)
	for i, t := range targets {
		at := At(x, ys[i])
		dir := t.page.Sub(at).Unit()
		s.c.Line(at.Add(dir.Scale(r)), t.page, sheet.Pen{Width: 0.18}, sheet.LayerDimension)
		s.c.Add(sheet.Circle{At: t.page, R: 0.55, Fill: &sheet.Black, Layer: sheet.LayerDimension})
		s.c.Add(sheet.Circle{At: at, R: r, Pen: &sheet.Thin, Fill: &sheet.White, Layer: sheet.LayerDimension})
		s.c.Bold(x, at.Y+sheet.Letters25*sheet.CapHeight/2, sheet.Letters25, sheet.Centre, fmt.Sprint(t.row+1))
	}
}

// sectionUncross swaps the places of two numbers as long as their leaders cross; every swap shortens the leaders, so it ends,
// and the bound is never met by as few parts as a station has.
func sectionUncross(targets []sectionTarget, ys []float64, x float64) {
	for range len(targets) * len(targets) {
		swapped := false
		for i := range targets {
			for j := range i {
				if viewCross(At(x, ys[i]), targets[i].page, At(x, ys[j]), targets[j].page) {
					targets[i], targets[j] = targets[j], targets[i]
					swapped = true
				}
			}
		}
		if !swapped {
			return
		}
	}
}

// sectionSpread gives each target a place in the column, near its own height, at least pitch apart and inside the limits
// as far as there is room.
func sectionSpread(targets []sectionTarget, pitch, lo, hi float64) []float64 {
	ys := make([]float64, len(targets))
	for i, t := range targets {
		ys[i] = max(t.page.Y, lo)
		if i > 0 {
			ys[i] = max(ys[i], ys[i-1]+pitch)
		}
	}
	for i := len(ys) - 1; i >= 0; i-- {
		limit := hi
		if i+1 < len(ys) {
			limit = ys[i+1] - pitch
		}
		ys[i] = min(ys[i], limit)
	}
	for i := range ys { // too many for the room: rather run on below than over the title
		ys[i] = max(ys[i], lo+float64(i)*pitch)
	}
	return ys
}
