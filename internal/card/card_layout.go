package card

import (
	"fmt"
	"math"
	"slices"

	"panelwright/internal/drawing"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// facts sets what comes before the first step: what does not hold, the cautions for everything, and what is fitted.
func (f *cardFlow) facts(w *cardWork) {
	f.wrong(w)
	if c := w.cautions[cardFirst]; len(c) > 0 {
		f.keep(func(f *cardFlow) { f.caution(0, c) })
		f.y += 2 * f.k
	}
	f.keep(func(f *cardFlow) {
		f.para(0, f.big, sheet.Bold, cardFittedTitle)
		for _, row := range w.fitted() {
			f.named(0, 28*f.k, row[0], row[1])
		}
	})
	if len(w.kinds) == 0 {
		f.para(0, f.body, sheet.Bold, cardNothing)
		f.y += 3 * f.k
		return
	}
	f.named(0, 28*f.k, "shims", w.shimWords())
	f.y += f.k
	f.table(0, f.scaled(0, sheet.Table{Columns: []sheet.Column{{Title: "parts to bring", Width: 98}, {Title: "for", Width: 38}, {Title: "kind", Width: 18},
		{Title: "number", Width: 18, Align: sheet.Right}, {Title: "here", Width: 14}}, Rows: w.partRows()}))
	f.y += f.k
	for _, row := range w.benchRows() {
		f.named(0, 28*f.k, row[0], row[1])
	}
	f.y += 3 * f.k
}

// scaled stretches a table's columns to reach from indent to the right margin.
func (f *cardFlow) scaled(indent float64, t sheet.Table) sheet.Table {
	sum, full := t.Width(), f.right-f.left-indent
	t.Columns = slices.Clone(t.Columns)
	for i := range t.Columns {
		t.Columns[i].Width *= full / sum
	}
	return t
}

// framed draws a heavy frame round a block that fits on a page; a longer one stands without a frame, under a heavy rule.
func (f *cardFlow) framed(indent float64, block func(f *cardFlow, in float64)) {
	pad := 3 * f.k
	inner := func(f *cardFlow) {
		old := f.right
		f.right -= pad
		block(f, indent+pad)
		f.right = old
	}
	h := f.measure(inner)
	pen := sheet.Pen{Width: 1.1 * f.k}
	x0 := f.left + indent
	if h+2*pad > f.bottom-f.top {
		f.add(sheet.Line(drawing.At(x0, f.y), drawing.At(f.right, f.y), &pen, sheet.LayerTable))
		f.y += pad
		inner(f)
		f.y += pad
		return
	}
	f.need(h + 2*pad)
	f.add(sheet.Rectangle(x0+0.5*f.k, f.y, f.right-x0-f.k, h+2*pad-f.k, &pen, nil, sheet.LayerTable))
	f.y += pad
	inner(f)
	f.y += pad + f.k
}

// cardCautionIn is how far the words of a caution stand in from its sign, mm.
const cardCautionIn = 12.5

// caution sets warnings behind a triangle and a heavy bar.
func (f *cardFlow) caution(indent float64, texts []string) {
	k := f.k
	const tall, bar = 6.5, 10.0
	in := indent + cardCautionIn*k
	h := f.measure(func(f *cardFlow) {
		for _, t := range texts {
			f.para(in, f.body, sheet.Regular, t)
		}
	})
	high := math.Max(h, (tall+0.6)*k)
	f.need(math.Min(high, f.bottom-f.top))
	x := f.left + indent
	f.add(cardTriangle(x+1.5*k, f.y, tall*k)...)
	if f.y+high <= f.bottom {
		f.add(sheet.Line(drawing.At(x+bar*k, f.y+0.4*k), drawing.At(x+bar*k, f.y+high-0.4*k), &sheet.Pen{Width: 1.1 * k}, sheet.LayerTable))
	}
	page, y := len(f.pages), f.y
	for _, t := range texts {
		f.para(in, f.body, sheet.Regular, t)
	}
	if len(f.pages) == page {
		f.y = math.Max(f.y, y+high)
	}
	f.y += 1.2 * k
}

// cardTriangle is a warning sign, high mm high, its box's upper left corner at (x, y).
func cardTriangle(x, y, high float64) []sheet.Item {
	wide := high * 1.1
	pen := sheet.Pen{Width: high * 0.11}
	return []sheet.Item{
		sheet.Stroke{Path: plane.Polygon(drawing.At(x+wide/2, y+high*0.06), drawing.At(x+wide, y+high), drawing.At(x, y+high)), Pen: &pen, Layer: sheet.LayerTable},
		sheet.Text{At: drawing.At(x+wide/2, y+high*0.86), Size: high * 0.72, S: "!", Font: sheet.Bold, Align: sheet.Centre, Layer: sheet.LayerText},
	}
}

// step sets one step: its cautions, its box and number, its lines and its table. The trial fit stands in a heavy frame.
func (f *cardFlow) step(n int, s cardStep) {
	in := cardIndent * f.k
	for _, g := range s.gates {
		f.signedGate(s, g)
	}
	start := func(f *cardFlow) {
		if len(s.cautions) > 0 {
			f.caution(in-cardCautionIn*f.k, s.cautions)
		}
		f.stepTitle(n, s)
		for i, l := range s.lines {
			if i < 2 {
				f.para(in, f.body, sheet.Regular, l)
			}
		}
	}
	whole := func(f *cardFlow) {
		start(f)
		for i, l := range s.lines {
			if i >= 2 {
				f.para(in, f.body, sheet.Regular, l)
			}
		}
		if len(s.rows) > 0 {
			f.table(in, f.stepTable(s))
		}
		for _, l := range s.after {
			f.para(in, f.body, sheet.Regular, "– "+l)
		}
		f.pictures(in, s.pictures)
		f.y += 2.5 * f.k
	}
	if s.stage == cardTrial {
		f.gate(n, s)
		return
	}
	const keepShare = 0.4 // of a page: a step higher than this may run over
	if h := f.measure(whole); h <= keepShare*(f.bottom-f.top) {
		f.need(h)
	} else {
		f.need(math.Min(f.measure(start)+24*f.k, f.bottom-f.top))
	}
	whole(f)
}

// pictures sets a step's pictures from the left on, as many beside each other as have room, each with its caption below. A row
// stays on one page.
func (f *cardFlow) pictures(indent float64, list []picture) {
	const apart = 3.0
	k, room := f.k, f.right-f.left-indent
	for len(list) > 0 {
		n, wide := 0, 0.0
		for n < len(list) && (n == 0 || wide+list[n].sheet.W*k <= room) {
			wide += (list[n].sheet.W + apart) * k
			n++
		}
		row := list[:n]
		list = list[n:]
		high, words := 0.0, make([][]string, n)
		for i, p := range row {
			words[i] = sheet.Wrap(p.caption, p.sheet.W*k, f.body, sheet.Regular)
			high = math.Max(high, p.sheet.H*k+sheet.BlockHeight(len(words[i]), f.body))
		}
		f.y += k
		f.need(high)
		x := f.left + indent
		for i, p := range row {
			f.add(cardEnlarge(p.sheet.Items, k, drawing.At(x, f.y))...)
			for n, l := range words[i] {
				items, _ := sheet.Block(x, f.y+p.sheet.H*k+sheet.BlockHeight(n, f.body), math.Inf(1), l, f.body, sheet.Regular)
				f.add(items...)
			}
			x += (p.sheet.W + apart) * k
		}
		f.y += high + k
	}
}

func (f *cardFlow) stepTable(s cardStep) sheet.Table {
	t := sheet.Table{Rows: s.rows}
	for i, title := range s.titles {
		c := sheet.Column{Title: title, Width: s.widths[i]}
		if cardNumberColumn(title) {
			c.Align = sheet.Right
		}
		t.Columns = append(t.Columns, c)
	}
	return f.scaled(cardIndent*f.k, t)
}

// cardNumberColumn says whether a column holds numbers, which stand on the right.
func cardNumberColumn(title string) bool {
	return title == "number" || title == "rev/min" || title == "holes"
}

func (f *cardFlow) stepTitle(n int, s cardStep) {
	k := f.k
	high := sheet.BlockHeight(1, f.big)
	f.need(high + sheet.BlockHeight(2, f.body))
	f.add(f.tickBox(f.left, f.y, 5.2*k))
	items, _ := sheet.Block(f.left+7.2*k, f.y, 10*k, fmt.Sprint(n), f.big, sheet.Bold)
	f.add(items...)
	f.para(cardIndent*k, f.big, sheet.Bold, s.title)
}

const cardTrialWords = "Do not rivet or weld until every box of the table is filled and every station closes."

func cardGateTitle(s cardStep) string { return "GATE before: " + s.title }

// signedGate is what must be done, and signed for, before a step: a heavy frame of its own.
func (f *cardFlow) signedGate(s cardStep, text string) {
	f.framed(0, func(f *cardFlow, in float64) {
		f.add(f.tickBox(f.left+in, f.y, 5.2*f.k))
		f.para(in+7.2*f.k, f.big, sheet.Bold, cardGateTitle(s))
		f.para(in, f.body, sheet.Regular, text)
		f.blanks(in, "done: signed", "date")
	})
}

// gate is the trial fit: what to do and the line to sign, in a heavy frame, then what to do where a station does not close.
func (f *cardFlow) gate(n int, s cardStep) {
	k := f.k
	f.y += k
	f.framed(0, func(f *cardFlow, in float64) {
		if len(s.cautions) > 0 {
			f.caution(in-1.5*k, s.cautions)
		}
		size := k * sheet.Letters50
		f.add(f.tickBox(f.left+in, f.y+0.6*k, 7*k))
		num := fmt.Sprint(n)
		items, _ := sheet.Block(f.left+in+9.5*k, f.y, 14*k, num, size, sheet.Bold)
		f.add(items...)
		f.para(in+9.5*k+sheet.TextWidth(num+"  ", size, sheet.Bold), size, sheet.Bold, s.title)
		f.y += k
		for _, l := range s.lines {
			f.para(in, f.body, sheet.Regular, "– "+l)
		}
		f.y += k
		f.para(in, f.big, sheet.Bold, cardTrialWords)
		f.blanks(in, "all filled, all close: signed", "date")
	})
	f.y += k
	if len(s.rows) > 0 {
		f.table(0, f.scaled(0, sheet.Table{Columns: []sheet.Column{{Title: s.titles[0], Width: 13}, {Title: s.titles[1], Width: 38}, {Title: s.titles[2], Width: 135}}, Rows: s.rows}))
	}
	f.y += 3 * k
}
