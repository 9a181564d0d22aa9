package sheet

import (
	"math"

	"panelwright/internal/plane"
)

// Block sets paragraphs in a column width mm wide whose top left corner is (x, y); paragraphs end at "\n". It returns the
// marks and the height that they take, mm.
func Block(x, y, width float64, text string, size float64, f Font) (items []Item, height float64) {
	lines := Wrap(text, width, size, f)
	for i, l := range lines {
		items = append(items, Text{At: plane.Point{X: x, Y: y + baseline(i, size)}, Size: size, S: l, Font: f, Layer: LayerText})
	}
	return items, BlockHeight(len(lines), size)
}

// BlockHeight is the height of n lines of text at a Size, mm: from the top of the tallest letters to below the deepest.
func BlockHeight(n int, size float64) float64 { return float64(n) * Leading * size }

// baseline is where line i of a block stands below its top: half of the free space over the letters, then the letters.
func baseline(i int, size float64) float64 {
	return size * (Leading*float64(i) + (Leading+CapHeight)/2 - descender/4)
}

// Column is one column of a Table.
type Column struct {
	Title string
	Width float64 // mm, with the padding
	Align Align
}

// Table is rows of text in ruled columns. Cells wrap; a row is as high as its highest cell.
type Table struct {
	Columns []Column
	Rows    [][]string // as many cells as columns, or fewer; more panics
	Size    float64    // of the text; 0: Letters25
	RowMin  float64    // least height of a row, mm, for tables that are filled in by hand (8 or more)
	Strong  []bool     // per column: cells in Bold; may be shorter than Columns
}

// pad is the space between a cell's rule and its text, mm.
const pad = 1.2

// Width is the sum of the columns, mm.
func (t Table) Width() float64 {
	w := 0.0
	for _, c := range t.Columns {
		w += c.Width
	}
	return w
}

func (t Table) size() float64 {
	if t.Size == 0 {
		return Letters25
	}
	return t.Size
}

// Layout sets the head and as many whole rows as end above bottom, from the top left corner (x, y). It returns the marks,
// the height that they take and the rows left for the next page, nil when none are. When not even one row fits it draws
// nothing and returns all rows: go on at the top of a fresh page. A first row that is higher than the room, where the room
// under the head is splitRoom or more, is cut between its lines; so a loop over pages with that much room always ends.
func (t Table) Layout(x, y, bottom float64) (items []Item, used float64, rest [][]string) {
	if len(t.Rows) == 0 {
		items, used = t.head(x, y)
		return items, used, nil
	}
	items, used = t.head(x, y)
	n := 0
	for _, row := range t.Rows {
		cells, high := t.cells(row)
		if y+used+high > bottom {
			break
		}
		items = append(items, t.row(x, y+used, cells, high, false)...)
		used += high
		n++
	}
	if n > 0 {
		if n == len(t.Rows) {
			return items, used, nil
		}
		return items, used, t.Rows[n:]
	}
	if bottom-y-used < splitRoom {
		return nil, 0, t.Rows
	}
	first, second := t.split(t.Rows[0], bottom-y-used)
	cells, high := t.cells(first)
	items = append(items, t.row(x, y+used, cells, high, false)...)
	return items, used + high, append([][]string{second}, t.Rows[1:]...)
}

// splitRoom is how much room under its head, mm, a Table must have to cut a row in two.
const splitRoom = 60.0

// Height is what the whole table takes on one page, mm.
func (t Table) Height() float64 {
	_, h := t.head(0, 0)
	for _, row := range t.Rows {
		_, high := t.cells(row)
		h += high
	}
	return h
}

func (t Table) font(col int) Font {
	if col < len(t.Strong) && t.Strong[col] {
		return Bold
	}
	return Regular
}

// cells wraps a row, and says how high it is.
func (t Table) cells(row []string) (lines [][]string, high float64) {
	if len(row) > len(t.Columns) {
		panic("sheet: a table row has more cells than columns")
	}
	most := 1
	for i, s := range row {
		l := Wrap(s, t.Columns[i].Width-2*pad, t.size(), t.font(i))
		lines = append(lines, l)
		most = max(most, len(l))
	}
	return lines, math.Max(t.RowMin, BlockHeight(most, t.size())+pad)
}

// split cuts a row so that the first part is no higher than room.
func (t Table) split(row []string, room float64) (first, second []string) {
	n := max(1, int((room-pad)/(Leading*t.size())))
	for i, s := range row {
		l := Wrap(s, t.Columns[i].Width-2*pad, t.size(), t.font(i))
		k := min(n, len(l))
		first = append(first, joinLines(l[:k]))
		second = append(second, joinLines(l[k:]))
	}
	return first, second
}

func joinLines(l []string) string {
	s := ""
	for i, x := range l {
		if i > 0 {
			s += "\n"
		}
		s += x
	}
	return s
}

func (t Table) head(x, y float64) (items []Item, high float64) {
	titled := false
	var lines [][]string
	most := 1
	for _, c := range t.Columns {
		l := Wrap(c.Title, c.Width-2*pad, t.size(), Bold)
		lines = append(lines, l)
		most = max(most, len(l))
		titled = titled || c.Title != ""
	}
	if !titled {
		return nil, 0
	}
	high = BlockHeight(most, t.size()) + pad
	return t.row(x, y, lines, high, true), high
}

// row draws one row: its box, its column rules and its text. Text stands at the top, as it is read; a row that is one line
// high and kept high for writing has it in the middle.
func (t Table) row(x, y float64, cells [][]string, high float64, head bool) []Item {
	var fill *Tone
	if head {
		fill = &Shade
	}
	out := []Item{Rectangle(x, y, t.Width(), high, &Thin, fill, LayerTable)}
	left, size := x, t.size()
	for i, c := range t.Columns {
		if i > 0 {
			out = append(out, Line(plane.Point{X: left, Y: y}, plane.Point{X: left, Y: y + high}, &Thin, LayerTable))
		}
		if i < len(cells) {
			f := t.font(i)
			if head {
				f = Bold
			}
			top := y + pad/2
			if len(cells[i]) == 1 && high <= t.RowMin {
				top = y + (high-BlockHeight(1, size))/2
			}
			for k, s := range cells[i] {
				out = append(out, cellText(s, left, top+baseline(k, size), c, size, f))
			}
		}
		left += c.Width
	}
	return out
}

func cellText(s string, left, base float64, c Column, size float64, f Font) Item {
	x := map[Align]float64{Left: left + pad, Centre: left + c.Width/2, Right: left + c.Width - pad}[c.Align]
	return Text{At: plane.Point{X: x, Y: base}, Size: size, S: s, Font: f, Align: c.Align, Layer: LayerTable}
}
