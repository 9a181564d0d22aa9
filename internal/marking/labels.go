package marking

import (
	"fmt"
	"math"
	"net/url"
	"strings"

	qr "github.com/piglig/go-qr"

	"panelwright/internal/drawing"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Sizes of a label, mm. 70 × 37 is what a third of A4's width gives, a usual size of office labels (common practice, no
// source); these are cut out, since a printer keeps off the edges.
const (
	labelW, labelH = 70.0, 37.0
	labelPad       = 2.0  // from the cut to what is printed
	labelMargin    = 12.0 // of the page: no printer reaches further
	labelHeadH     = 20.0 // title and what to do
	labelCut       = 3.0  // length of a cut mark
)

// A code as it stands on a label.
const (
	labelQuiet  = 4   // modules of white round the code, ISO/IEC 18004 (from memory)
	labelModule = 0.5 // mm, the least that a telephone reads at arm's length (common practice, no source)
	labelMost   = 57  // modules across that a label has room for: version 10
)

// Label is one panel's label: what it says in words, and what its code says.
type Label struct {
	Lines []string // the panel's name first
	Code  string   // the lines, one under the other; with a record address the address of this piece
}

// LabelTooLong is a record address that no code of a label's size holds.
type LabelTooLong struct {
	Code  string
	Bytes int
}

// Error names the address and the way out.
func (e *LabelTooLong) Error() string {
	return fmt.Sprintf("the label's code would carry %d bytes (%q): a code of %.0f mm holds %d at error correction M; give a shorter `record address:`",
		e.Bytes, e.Code, labelModule*(labelMost+2*labelQuiet), labelBytes)
}

// labelBytes is what a code of version 10 holds at error correction M: 216 code words of data, less 4 for mode, count and
// character set (ISO/IEC 18004, table 7, from memory).
const labelBytes = 212

// LabelsOf gives the labels of a plan: one for each piece of each panel, in the plan's order. The words are cut down until
// the code holds them: part ids that are many become their number, long names end in an ellipsis. It fails with
// *LabelTooLong on a record address that is too long.
func LabelsOf(p *setout.Plan) ([]Label, error) {
	var out []Label
	for _, panel := range p.Panels {
		for piece := 1; piece <= max(1, panel.Job.Quantity); piece++ {
			l := labelOf(p, panel, piece)
			if n := len(l.Code); n > labelBytes {
				return nil, &LabelTooLong{l.Code, n}
			}
			out = append(out, l)
		}
	}
	return out, nil
}

// labelOf words one label, in full where code and label hold that, else with parts as a number, else with names cut.
func labelOf(p *setout.Plan, panel *setout.Panel, piece int) Label {
	var l Label
	for _, way := range []struct {
		parts bool
		name  int // most letters of a name
	}{{true, 60}, {false, 60}, {false, 30}, {false, 16}} {
		l = Label{Lines: labelLines(p, panel, piece, way.parts, way.name)}
		l.Code = strings.Join(l.Lines, "\n")
		if _, high := labelWords(l); high <= labelH-2*labelPad && len(l.Code) <= labelBytes {
			break
		}
	}
	if a := p.Job.Record; a != "" {
		l.Code = strings.NewReplacer("{panel}", url.PathEscape(panel.Job.ID), "{piece}", fmt.Sprint(piece)).Replace(a)
	}
	return l
}

// labelLines are what a label says: which panel, which piece of how many, of which job and day, its stations and parts.
func labelLines(p *setout.Plan, panel *setout.Panel, piece int, parts bool, most int) []string {
	lines := []string{labelCutName(panel.Job.Name, most)}
	which := fmt.Sprintf("id %s, piece %d of %d", labelCutName(panel.Job.ID, most), piece, max(1, panel.Job.Quantity))
	lines = append(lines, which, labelCutName(p.Job.Name, most))
	stations := fmt.Sprintf("%d station%s", len(panel.Stations), drawing.Plural(len(panel.Stations)))
	if p.Job.Date != "" {
		stations = p.Job.Date + ", " + stations
	}
	lines = append(lines, stations)
	var studs, receptacles []string
	for _, c := range panel.Choices {
		if c.Stud != nil && c.Receptacle != nil {
			studs, receptacles = labelOnce(studs, c.Stud.ID), labelOnce(receptacles, c.Receptacle.ID)
		}
	}
	for _, kind := range []struct {
		name string
		ids  []string
	}{{"stud", studs}, {"receptacle", receptacles}} {
		switch {
		case len(kind.ids) == 0:
		case parts:
			lines = append(lines, kind.name+" "+strings.Join(kind.ids, ", "))
		default:
			lines = append(lines, fmt.Sprintf("%ss: %d, see card", kind.name, len(kind.ids)))
		}
	}
	return lines
}

func labelOnce(list []string, s string) []string {
	for _, t := range list {
		if t == s {
			return list
		}
	}
	return append(list, s)
}

// labelCutName cuts a name that has more than most letters.
func labelCutName(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return strings.TrimSpace(string(r[:most-1])) + "…"
}

// Labels draws labels.pdf on the job's paper: a label of 70 × 37 mm for each piece of each panel, with cut marks, its code on
// the left and the same in words beside it. It fails when the job names a paper that is none, and with *LabelTooLong.
func Labels(p *setout.Plan) ([]sheet.Sheet, error) {
	paper, err := drawing.PaperOf(p.Job.Paper)
	if err != nil {
		return nil, err
	}
	labels, err := LabelsOf(p)
	if err != nil {
		return nil, err
	}
	columns := int((paper.W - 2*labelMargin) / labelW)
	rows := int((paper.H - 2*labelMargin - labelHeadH) / labelH)
	each := columns * rows
	left := (paper.W - float64(columns)*labelW) / 2
	var out []sheet.Sheet
	for from := 0; from < len(labels); from += each {
		s := sheet.Sheet{Title: fmt.Sprintf("Labels %d", from/each+1), W: paper.W, H: paper.H}
		s.Add(labelHead(p, left, paper.W-left, from/each+1, (len(labels)+each-1)/each)...)
		here := labels[from:min(from+each, len(labels))]
		top := labelMargin + labelHeadH
		for i, l := range here {
			at := drawing.At(left+float64(i%columns)*labelW, top+float64(i/columns)*labelH)
			items, err := l.draw(at.X, at.Y)
			if err != nil {
				return nil, err
			}
			s.Add(items...)
		}
		s.Add(labelCuts(left, top, min(columns, len(here)), (len(here)+columns-1)/columns)...)
		out = append(out, s)
	}
	return out, nil
}

// labelHead says what the page is and what to do with it.
func labelHead(p *setout.Plan, left, right float64, page, pages int) []sheet.Item {
	var c drawing.Canvas
	y := labelMargin
	count := fmt.Sprintf("page %d of %d", page, pages)
	c.Write(right, y+5, sheet.Letters25, sheet.Right, count)
	title, size := sheet.FitText("Labels · "+p.Job.Name, right-left-sheet.TextWidth(count, sheet.Letters25, sheet.Regular)-6, sheet.Letters35, sheet.Letters25, sheet.Bold)
	c.Bold(left, y+5, size, sheet.Left, title)
	words := "A planning aid, no approval. One for each piece. Print at 100 %, cut at the marks, keep the white round codes."
	if p.Job.Sample {
		words = "Sample. " + words
	}
	words, size = sheet.FitText(words, right-left, sheet.Letters25, sheet.Letters18, sheet.Regular)
	c.Write(left, y+11, size, sheet.Left, words)
	return c.Items
}

// labelCuts marks the corners of the labels: a mark at the outside of every line to cut, a cross where four labels meet.
func labelCuts(left, top float64, columns, rows int) []sheet.Item {
	var out []sheet.Item
	for i := 0; i <= columns; i++ {
		for k := 0; k <= rows; k++ {
			x, y := left+float64(i)*labelW, top+float64(k)*labelH
			out = append(out, sheet.Line(drawing.At(x-labelCut/2, y), drawing.At(x+labelCut/2, y), &sheet.Fine, sheet.LayerRegister),
				sheet.Line(drawing.At(x, y-labelCut/2), drawing.At(x, y+labelCut/2), &sheet.Fine, sheet.LayerRegister))
		}
	}
	return out
}

// draw sets a label with its upper left corner at (x, y).
func (l Label) draw(x, y float64) ([]sheet.Item, error) {
	side := labelH - 2*labelPad
	code, err := Code(l.Code, x+labelPad, y+labelPad, side)
	if err != nil {
		return nil, err
	}
	words, high := labelWords(l)
	var c drawing.Canvas
	c.Add(code...)
	base := y + math.Max(labelPad, (labelH-high)/2)
	for _, w := range words {
		items, h := sheet.Block(x+labelPad+side, base, math.Inf(1), w.s, w.size, w.font)
		c.Add(items...)
		base += h
	}
	return c.Items, nil
}

type labelLine struct {
	s    string
	size float64
	font sheet.Font
}

// labelWords breaks a label's lines to the room beside the code, and says how high they stand.
func labelWords(l Label) (out []labelLine, high float64) {
	const width = labelW - 2*labelPad - (labelH - 2*labelPad)
	for i, s := range l.Lines {
		w := labelLine{size: sheet.Letters18}
		if i == 0 {
			w = labelLine{size: sheet.Letters25, font: sheet.Bold}
		}
		for _, w.s = range sheet.Wrap(s, width, w.size, w.font) {
			out = append(out, w)
			high += sheet.BlockHeight(1, w.size)
		}
	}
	return out, high
}

// Code draws text as a QR code (ISO/IEC 18004, error correction M) in a square of side mm with its upper left corner at
// (x, y), four modules of white around it included: dark modules as filled rectangles, each run of a row one. It fails with
// *LabelTooLong where a module would be smaller than 0.5 mm, or where no code holds the text.
func Code(text string, x, y, side float64) ([]sheet.Item, error) {
	code, err := encode(text)
	if err != nil {
		return nil, &LabelTooLong{text, len(text)}
	}
	n := code.Size()
	module := side / float64(n+2*labelQuiet)
	if module < labelModule {
		return nil, &LabelTooLong{text, len(text)}
	}
	var out []sheet.Item
	for row := range n {
		for from := 0; from < n; from++ {
			to := from
			for to < n && code.Module(to, row) {
				to++
			}
			if to > from {
				out = append(out, sheet.Rectangle(x+module*float64(labelQuiet+from), y+module*float64(labelQuiet+row), module*float64(to-from), module,
					nil, &sheet.Black, "code"))
				from = to
			}
		}
	}
	return out, nil
}

// encode makes the code. Text that is not plain ASCII is announced as UTF-8, which readers else have to guess.
func encode(text string) (*qr.QrCode, error) {
	if strings.IndexFunc(text, func(r rune) bool { return r > 126 }) < 0 {
		return qr.EncodeText(text, qr.Medium)
	}
	const utf8 = 26 // the assignment of UTF-8 (AIM ECI, from memory)
	mark, err := qr.MakeEci(utf8)
	if err != nil {
		return nil, err
	}
	bytes, err := qr.MakeBytes([]byte(text))
	if err != nil {
		return nil, err
	}
	return qr.EncodeStandardSegments([]*qr.QrSegment{mark, bytes}, qr.Medium)
}
