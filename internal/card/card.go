// Package card is the work card: what is done at the bench, step by step, and the page to take to the vehicle.
package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/report"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Pages draws card.pdf on the job's paper: for every panel its work card, a page or more from the survey to closing, and as
// its last page the one that goes to the vehicle. One card serves one piece: where several equal panels are made, it has a
// box for which piece it is. It fails when the job names a paper that is none.
func Pages(p *setout.Plan) ([]sheet.Sheet, error) {
	paper, err := drawing.PaperOf(p.Job.Paper)
	if err != nil {
		return nil, err
	}
	var out []sheet.Sheet
	for _, panel := range p.Panels {
		out = append(out, cardPages(p, panel, paper)...)
	}
	return out, nil
}

// cardPages is the card of one panel.
func cardPages(p *setout.Plan, panel *setout.Panel, paper sheet.Paper) []sheet.Sheet {
	w := cardWorkOf(p, panel)
	f := newCardFlow(paper, w.several())
	f.facts(w)
	for i, s := range w.steps {
		f.step(i+1, s)
		if s.stage == cardTrial {
			f.stationTable(w)
		}
	}
	pages := append(f.pages, f.vehicle(w))
	sheets := make([]sheet.Sheet, len(pages))
	for i, items := range pages {
		s := sheet.Sheet{Title: fmt.Sprintf("%s, card %d", panel.Job.Name, i+1), W: paper.W, H: paper.H}
		s.Add(f.head(w, i, len(pages))...)
		s.Add(items...)
		s.Add(f.foot()...)
		sheets[i] = s
	}
	return sheets
}

// Sizes of a card's page on A4 and Letter, mm; A3 has them larger in the ratio of the sheets.
const (
	cardMargin  = 12.0
	cardHeadH   = 18.5 // margin to the end of the head
	cardPieceH  = 6.5  // and the line that says which piece, where there are several
	cardFootH   = 7.0
	cardIndent  = 17.0 // of what stands under a step's title
	cardParaGap = 0.8
)

// cardFlow fills pages from the top down.
type cardFlow struct {
	k                float64 // 1 on A4
	w, h             float64
	several          bool // the head has a line for which piece
	left, right      float64
	top, bottom      float64
	pages            [][]sheet.Item
	y                float64
	small, body, big float64 // sizes of text
}

func newCardFlow(paper sheet.Paper, several bool) *cardFlow {
	k := math.Min(paper.W/sheet.A4.W, paper.H/sheet.Letter.H)
	head := cardHeadH
	if several {
		head += cardPieceH
	}
	f := &cardFlow{k: k, w: paper.W, h: paper.H, several: several, left: cardMargin * k, right: paper.W - cardMargin*k,
		top: (cardMargin + head) * k, bottom: paper.H - (cardMargin+cardFootH+2)*k,
		small: k * sheet.Letters18, body: k * sheet.Letters25, big: k * sheet.Letters35}
	f.newPage()
	return f
}

func (f *cardFlow) newPage() {
	f.pages = append(f.pages, nil)
	f.y = f.top
}

func (f *cardFlow) add(items ...sheet.Item) {
	last := len(f.pages) - 1
	f.pages[last] = append(f.pages[last], items...)
}

// need starts a page when less than high is left, unless this one is empty.
func (f *cardFlow) need(high float64) {
	if f.y+high > f.bottom && f.y > f.top {
		f.newPage()
	}
}

// measure tells how high a block is where the page has no end.
func (f *cardFlow) measure(block func(*cardFlow)) float64 {
	g := *f
	g.pages, g.y, g.bottom = [][]sheet.Item{nil}, g.top, math.Inf(1)
	block(&g)
	return g.y - g.top
}

// keep draws a block whole on this page, or on the next when only that has room. One that is higher than a page runs over.
func (f *cardFlow) keep(block func(*cardFlow)) {
	f.need(math.Min(f.measure(block), f.bottom-f.top))
	block(f)
}

// para sets a paragraph, line by line over page ends, from indent to the right margin.
func (f *cardFlow) para(indent, size float64, font sheet.Font, s string) {
	high := sheet.BlockHeight(1, size)
	for _, l := range sheet.Wrap(s, f.right-f.left-indent, size, font) {
		f.need(high)
		items, _ := sheet.Block(f.left+indent, f.y, math.Inf(1), l, size, font)
		f.add(items...)
		f.y += high
	}
	f.y += cardParaGap * f.k
}

// named sets "name: words" with the name in bold and the words beside it in a column of their own.
func (f *cardFlow) named(indent, column float64, name, words string) {
	f.need(sheet.BlockHeight(1, f.body))
	items, h := sheet.Block(f.left+indent, f.y, column-2*f.k, name, f.body, sheet.Bold)
	f.add(items...)
	page, y := len(f.pages), f.y
	f.para(indent+column, f.body, sheet.Regular, words)
	if len(f.pages) == page {
		f.y = math.Max(f.y, y+h+cardParaGap*f.k)
	}
}

// table sets a table over as many pages as it takes.
func (f *cardFlow) table(indent float64, t sheet.Table) {
	if t.Size == 0 {
		t.Size = f.body
	}
	pagesMax := 20 + 4*len(t.Rows) // a page takes a row, or 60 mm of a long one
	for range pagesMax {
		items, used, rest := t.Layout(f.left+indent, f.y, f.bottom)
		if keep, ok := cardBalance(t.Rows, rest); ok {
			all := t.Rows
			t.Rows = all[:keep]
			if items, used, rest = t.Layout(f.left+indent, f.y, f.bottom); rest != nil {
				panic("card: fewer rows take more room")
			}
			t.Rows, rest = all, all[keep:]
		}
		f.add(items...)
		f.y += used
		if rest == nil {
			f.y += cardParaGap * f.k
			return
		}
		t.Rows = rest
		f.newPage()
	}
	panic("drawing: a table of the card does not end")
}

// cardBalance says how many of a table's rows to leave on a page, so that the next does not get one or two alone. It is for
// tables long enough, whose last row on the page is whole.
func cardBalance(rows, rest [][]string) (keep int, ok bool) {
	const least = 3
	keep = len(rows) - least
	if len(rest) == 0 || len(rest) >= least || keep < least {
		return 0, false
	}
	return keep, slices.Equal(rest[0], rows[len(rows)-len(rest)])
}

// tickBox is an empty box to tick, side mm wide.
func (f *cardFlow) tickBox(x, y, side float64) sheet.Item {
	pen := sheet.Pen{Width: 0.4 * f.k}
	return sheet.Rectangle(x, y, side, side, &pen, &sheet.White, sheet.LayerTable)
}

// blank is a line across the page to write on, from indent on, with its words before it.
func (f *cardFlow) blank(x, width float64, words string) {
	high := 8 * f.k
	base := f.y + high - 1.5*f.k
	words, size := sheet.FitText(words, 0.6*width, f.body, f.small, sheet.Regular)
	f.add(sheet.Text{At: drawing.At(x, base), Size: size, S: words, Layer: sheet.LayerText})
	from := x + sheet.TextWidth(words, size, sheet.Regular) + 1.5*f.k
	f.add(sheet.Line(drawing.At(from, base+0.6*f.k), drawing.At(x+width-3*f.k, base+0.6*f.k), &sheet.Thin, sheet.LayerTable))
}

// blanks sets several lines to write on side by side.
func (f *cardFlow) blanks(indent float64, words ...string) {
	f.need(9 * f.k)
	wide := (f.right - f.left - indent) / float64(len(words))
	for i, s := range words {
		f.blank(f.left+indent+float64(i)*wide, wide, s)
	}
	f.y += 9 * f.k
}

// head is the top of every page.
func (f *cardFlow) head(w *cardWork, page, pages int) []sheet.Item {
	var c drawing.Canvas
	k, y := f.k, cardMargin*f.k
	j, what := w.plan.Job, "work card"
	if page == pages-1 {
		what = "take to the vehicle"
	}
	count := fmt.Sprintf("%s · page %d of %d", what, page+1, pages)
	c.Bold(f.right, y+6*k, f.big, sheet.Right, count)
	room := f.right - f.left - sheet.TextWidth(count, f.big, sheet.Bold) - 6*k
	name, size := sheet.FitText(w.panel.Job.Name, room, k*sheet.Letters50, f.body, sheet.Bold)
	c.Bold(f.left, y+6*k, size, sheet.Left, name)

	about := []string{j.Name}
	if !f.several {
		about = append(about, "quantity 1")
	}
	if j.Date != "" {
		about = append(about, j.Date)
	}
	right := f.right
	if j.Sample {
		wide := sheet.TextWidth("sample", f.body, sheet.Bold)
		c.Add(sheet.Rectangle(right-wide-3*k, y+8.6*k, wide+3*k, 5.4*k, &sheet.Outline, nil, sheet.LayerTable))
		c.Bold(right-1.5*k, y+12.6*k, f.body, sheet.Right, "sample")
		right -= wide + 6*k
	}
	line, size := sheet.FitText(strings.Join(about, " · "), right-f.left, f.body, f.small, sheet.Regular)
	c.Write(f.left, y+12.6*k, size, sheet.Left, line)
	under := y + 16*k
	if f.several {
		f.piece(&c, w, y+19*k)
		under += cardPieceH * k
	}
	c.Line(drawing.At(f.left, under), drawing.At(f.right, under), sheet.Pen{Width: 0.7 * k}, sheet.LayerTable)
	return c.Items
}

// piece says which piece of several equal ones the card belongs to.
func (f *cardFlow) piece(c *drawing.Canvas, w *cardWork, y float64) {
	k, n := f.k, w.panel.Job.Quantity
	words := fmt.Sprintf("quantity %d: print one card for each. This card is for piece", n)
	c.Write(f.left, y, f.body, sheet.Left, words)
	x := f.left + sheet.TextWidth(words, f.body, sheet.Regular) + 2*k
	c.Add(sheet.Rectangle(x, y-4.6*k, 14*k, 6*k, &sheet.Outline, nil, sheet.LayerTable))
	c.Write(x+16*k, y, f.body, sheet.Left, fmt.Sprintf("of %d", n))
}

// foot says on every page what this is not.
func (f *cardFlow) foot() []sheet.Item {
	lines := sheet.Wrap(report.Scope, f.right-f.left, f.small, sheet.Regular)
	y := f.h - cardMargin*f.k - sheet.BlockHeight(len(lines), f.small)
	items, _ := sheet.Block(f.left, y, f.right-f.left, report.Scope, f.small, sheet.Regular)
	return items
}
