package marking

import (
	"fmt"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Strip says what one strip of strips.pdf shows and where.
type Strip struct {
	Page     int // index of the page
	Panel    string
	Name     string
	Stations []string   // whose holes it shows whole
	Angle    float64    // rad: the panel is turned by it clockwise about its origin first
	View     sheet.View // of the turned panel
	Window   plane.Box  // what it shows, turned panel coordinates
	Box      plane.Box  // the same on the page
}

// Map returns the place on the page of a panel point.
func (s Strip) Map(p plane.Point) plane.Point { return s.View.Map(p.Rotate(-s.Angle)) }

// Unmap returns the panel point that lies at a place on the page.
func (s Strip) Unmap(p plane.Point) plane.Point { return s.View.Unmap(p).Rotate(s.Angle) }

// Sizes of a page of strips, mm.
const (
	pageMargin  = 8.0  // what no printer reaches
	pageColumn  = 11.0 // of the upright scale
	pageFoot    = 15.0 // level scale, under what to do
	stripGap    = 3.0  // between strips: the shears pass
	stripText   = 90.0 // widest text at a station
	stripNarrow = 88.0 // least width of a strip's heading
	stripTitle  = sheet.Letters35 * sheet.Leading
)

// Strips draws strips.pdf: for every seat line with stations (a flange's edge, a rib) paper at full size that follows it alone,
// cut from the plan and turned so that the edge runs along the paper; several on a page. It fails when the job names a paper
// that is none.
func Strips(p *setout.Plan) ([]sheet.Sheet, error) {
	sheets, _, err := StripPages(p)
	return sheets, err
}

// StripPages is Strips with the place of every strip.
func StripPages(p *setout.Plan) ([]sheet.Sheet, []Strip, error) {
	paper, err := drawing.PaperOf(p.Job.Paper)
	if err != nil {
		return nil, nil, err
	}
	var best *stripBook
	for _, size := range [2][2]float64{{paper.W, paper.H}, {paper.H, paper.W}} {
		for _, full := range []bool{false, true} {
			b := &stripBook{plan: p, w: size[0], h: size[1], full: full, again: stripAgain(p)}
			b.foothold = b.footHigh()
			b.fill()
			if len(b.notes) > 0 { // they need room in the foot
				b.foothold = b.footHigh()
				b.fill()
			}
			if best == nil || len(b.pages) < len(best.pages) {
				best = b
			}
		}
	}
	sheets, strips := best.draw()
	return sheets, strips, nil
}

// stripBook lays strips on pages of one size.
type stripBook struct {
	plan  *setout.Plan
	w, h  float64
	full  bool // strips are as long as the paper, see stripCut
	pages [][]stripPlace
	notes []string // what has no strip, and why
	again []string // panels that must be measured again, and why

	foothold float64 // height of the foot
}

// stripPlace is where a strip with its heading stands on a page: its top left corner.
type stripPlace struct {
	piece stripPiece
	x, y  float64
	w, h  float64
	lines []string // of the heading, under the title
}

// room is what a page has for strips.
func (b *stripBook) room() plane.Box {
	return plane.Box{Min: drawing.At(pageMargin+pageColumn, pageMargin), Max: drawing.At(b.w-pageMargin, b.h-pageMargin-b.foothold)}
}

// fill cuts every seat line of every panel and lays each strip on the first page with room.
func (b *stripBook) fill() {
	room := b.room()
	b.pages, b.notes = nil, nil
	var rows [][]stripRow
	for _, pan := range b.plan.Panels {
		runs, rest := stripRuns(pan)
		if len(rest) > 0 {
			b.notes = append(b.notes, pan.Job.Name+": stations "+drawing.StationRuns(rest)+" stand on no seat line, see templates.pdf.")
		}
		for i := range runs {
			const heading = stripTitle + 3*sheet.Letters25*sheet.Leading
			pieces := stripCut(&runs[i], room.Width(), room.Height()-heading, b.full)
			if pieces == nil {
				b.notes = append(b.notes, pan.Job.Name+": "+runs[i].name+" bends too much for strips of this paper, see templates.pdf.")
			}
			for _, piece := range pieces {
				place := b.heading(piece)
				for k := 0; ; k++ {
					if k == len(rows) {
						rows, b.pages = append(rows, nil), append(b.pages, nil)
					}
					if stripInto(&rows[k], &place, room) {
						b.pages[k] = append(b.pages[k], place)
						break
					}
				}
			}
		}
	}
}

// stripRow is a row of strips on a page: its upper edge, its height and where the next one may begin.
type stripRow struct{ y, h, x float64 }

// stripInto gives a strip its place on a page: in a row that is high enough, or in the last one, which may grow, or below. A
// page without rows takes any strip.
func stripInto(rows *[]stripRow, place *stripPlace, room plane.Box) bool {
	n := len(*rows)
	for i := range *rows {
		r := &(*rows)[i]
		high := place.h <= r.h || i == n-1 && r.y+place.h <= room.Max.Y
		if high && r.x+place.w <= room.Max.X {
			place.x, place.y = r.x, r.y
			r.x, r.h = r.x+place.w+stripGap, max(r.h, place.h)
			return true
		}
	}
	y := room.Min.Y
	if n > 0 {
		y = (*rows)[n-1].y + (*rows)[n-1].h + stripGap
	}
	if n > 0 && y+place.h > room.Max.Y {
		return false
	}
	place.x, place.y = room.Min.X, y
	*rows = append(*rows, stripRow{y, place.h, room.Min.X + place.w + stripGap})
	return true
}

// heading says what a strip is, over it.
func (b *stripBook) heading(p stripPiece) stripPlace {
	place := stripPlace{piece: p, w: max(stripNarrow, p.window.Width())}
	r := p.run
	ids := p.own()
	show := drawing.TapeShown(b.plan.Job)
	stations := "no station of its own"
	if len(ids) > 0 {
		stations = "station" + drawing.Plural(len(ids)) + " " + drawing.StationRuns(ids)
	}
	parts := []string{stations}
	if len(b.again) > 0 && len(b.plan.Job.MeasureAgain(p.panel.Job)) > 0 {
		parts = append([]string{"MEASURE AGAIN before cutting, see the foot"}, parts...)
	}
	begin := show
	if !b.plan.Job.Inch { // the unit stands once
		begin = func(v float64) string { return measure.Fixed(v, 1) }
	}
	from, to := p.a, p.b
	switch {
	case r.edge == "":
		from, to = from-r.lead, to-r.lead
		parts = append(parts, "rib, along its chain line "+begin(max(0, from))+" to "+show(to))
	case r.closed && from < 0:
		parts = append(parts, "start marked 0; tape "+begin(from+r.length)+" round to "+show(to))
	default:
		parts = append(parts, "tape "+begin(from)+" to "+show(to)+" from "+r.from)
	}
	if r.edge != "" && r.edge == p.panel.Job.Front {
		parts = append(parts, "this edge to the front")
	}
	if q := p.panel.Job.Quantity; q > 1 {
		parts = append(parts, fmt.Sprintf("for %d panels", q))
	}
	place.lines = sheet.Wrap(strings.Join(parts, " · "), place.w, sheet.Letters25, sheet.Regular)
	place.h = stripTitle + float64(len(place.lines))*sheet.Letters25*sheet.Leading + 1 + p.window.Height()
	return place
}

// title names a strip in full.
func (p *stripPiece) title() string {
	s := p.panel.Job.Name + ", " + p.run.name
	if p.of > 1 {
		s += fmt.Sprintf(", strip %d of %d", p.index+1, p.of)
	}
	return s
}

func (b *stripBook) draw() (sheets []sheet.Sheet, strips []Strip) {
	for i, places := range b.pages {
		s := sheet.Sheet{Title: fmt.Sprintf("Strips, sheet %d of %d", i+1, len(b.pages)), W: b.w, H: b.h}
		for _, place := range places {
			strips = append(strips, b.strip(&s, place, i))
		}
		b.foot(&s, i)
		sheets = append(sheets, s)
	}
	return sheets, strips
}

// strip draws one strip with its heading.
func (b *stripBook) strip(s *sheet.Sheet, place stripPlace, page int) Strip {
	p := &place.piece
	top := place.y + place.h - p.window.Height()
	view := sheet.View{Scale: 1, Origin: drawing.At(place.x-p.window.Min.X, top+p.window.Max.Y)}
	piece := drawing.Piece{Plan: b.plan, Panel: p.panel, Window: p.window, View: view, Cuts: p.cuts(), Lay: p.run.edge, TextWide: stripText}
	items, bare := piece.Draw()
	full := p.title()
	if len(bare) > 0 {
		full += ", no room for the text of " + drawing.StationRuns(bare)
	}
	var c drawing.Canvas
	title, size := sheet.FitText(full, place.w, sheet.Letters35, sheet.Letters25, sheet.Bold)
	y := place.y + sheet.Letters35*0.8
	c.Bold(place.x, y, size, sheet.Left, title)
	y += sheet.Letters25*sheet.Leading + 0.4
	for _, l := range place.lines {
		c.Write(place.x, y, sheet.Letters25, sheet.Left, l)
		y += sheet.Letters25 * sheet.Leading
	}
	s.Add(c.Items...)
	box := piece.PageBox()
	s.Add(sheet.Clip{X: box.Min.X, Y: box.Min.Y, W: box.Width(), H: box.Height(), Items: items})
	s.Add(sheet.Rectangle(box.Min.X, box.Min.Y, box.Width(), box.Height(), &sheet.Thin, nil, sheet.LayerTable))
	out := Strip{Page: page, Panel: p.panel.Job.ID, Name: p.name(), Angle: p.angle, View: view, Window: p.window, Box: box}
	for _, st := range p.panel.Stations {
		out.Stations = append(out.Stations, st.ID)
	}
	return out
}

// words say how strips are used, and what has none, as lines of the foot.
func (b *stripBook) words() []string {
	words := "Print at 100 %, measure both scales. Cut out a strip along its frame; lay its thick line on the panel's edge and the ring at 0 on the corner. The tape wins over the paper."
	if len(b.notes) > 0 {
		words += " " + strings.Join(b.notes, " ")
	}
	return sheet.Wrap(words, b.w-2*pageMargin, sheet.Letters25, sheet.Regular)
}

func (b *stripBook) footHigh() float64 {
	var c drawing.Canvas
	return pageFoot + float64(len(b.words()))*sheet.Letters25*1.2 + c.Boxed(0, 0, b.w-2*pageMargin, sheet.Letters25, b.again)
}

// stripAgain says for the foot which panels must be measured again before anything is cut, and why; where that would take more than
// its share of the page it names the panels, and the overviews say why.
func stripAgain(p *setout.Plan) []string {
	const most = 700 // letters: about six lines of A4
	var out, names []string
	letters := 0
	for _, pan := range p.Panels {
		for _, w := range p.Job.MeasureAgain(pan.Job) {
			out = append(out, pan.Job.Name+": "+w)
			letters += len(out[len(out)-1])
			if len(names) == 0 || names[len(names)-1] != pan.Job.Name {
				names = append(names, pan.Job.Name)
			}
		}
	}
	switch {
	case len(out) == 0:
		return nil
	case letters > most:
		return []string{drawing.Again + ": " + strings.Join(names, ", ") + ". The overviews in templates.pdf say why."}
	}
	return append([]string{drawing.Again}, out...)
}

// foot has the scales of a page and says how strips are used.
func (b *stripBook) foot(s *sheet.Sheet, page int) {
	pageScales(s, b.plan)
	var c drawing.Canvas
	y := c.Boxed(pageMargin, b.h-pageMargin-b.foothold+1.5, b.w-2*pageMargin, sheet.Letters25, b.again) + 3.5
	for _, l := range b.words() {
		c.Write(pageMargin, y, sheet.Letters25, sheet.Left, l)
		y += sheet.Letters25 * 1.2
	}
	right := b.w - pageMargin
	name, size := sheet.FitText(drawing.JobWords(b.plan.Job), right-pageMargin-2-112, sheet.Letters25, sheet.Letters18, sheet.Regular)
	c.Write(right, b.h-pageMargin-5.6, size, sheet.Right, name)
	c.Write(right, b.h-pageMargin-1, sheet.Letters25, sheet.Right, fmt.Sprintf("%s · strips, sheet %d of %d", drawing.NoApproval, page+1, len(b.pages)))
	s.Add(c.Items...)
}

// pageScales draws the check scales of a page: one down its left side, one along its foot.
func pageScales(s *sheet.Sheet, p *setout.Plan) {
	x, y := pageMargin+9.5, s.H-pageMargin-2.5
	if p.Job.Inch {
		x, y = x-drawing.InchOff, y-drawing.InchOff
		s.Add(drawing.InchScale(x, pageMargin+6, false)...)
		s.Add(drawing.InchScale(pageMargin+2, y, true)...)
	}
	s.Add(sheet.CheckScale(x, pageMargin+6, 100, false)...)
	s.Add(sheet.CheckScale(pageMargin+2, y, 100, true)...)
}
