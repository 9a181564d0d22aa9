package sheet

import (
	"fmt"
	"math/rand"
	"strings"
	"testing"
)

// Over pages, each row comes once, in order and whole; nothing stands below the bottom; text keeps inside its column.
func TestTableOverPages(t *testing.T) {
	rng := rand.New(rand.NewSource(5))
	for n := range 40 {
		tb := specimenTable()
		tb.Rows = nil
		want := ""
		for i := range rng.Intn(60) {
			row := []string{fmt.Sprint(i), "sample", "4.3", "", strings.Repeat("word ", rng.Intn(60))}
			if rng.Intn(30) == 0 {
				row[4] = strings.Repeat("a long remark of many words ", 120) // higher than a page
			}
			tb.Rows = append(tb.Rows, row)
			want += strings.Join(row, "")
		}
		total := tb.Height()
		got, sum, pages := map[int]string{}, 0.0, 0
		for rows := tb.Rows; rows != nil || pages == 0; pages++ {
			if pages > 500 {
				t.Fatalf("case %d: no end", n)
			}
			tb.Rows = rows
			var items []Item
			var used float64
			top := 20.0
			if pages == 0 {
				top = 100 + 180*rng.Float64() // starts somewhere on the first page
			}
			items, used, rows = tb.Layout(20, top, 280)
			if used > 280-top+1e-9 && len(rows) != len(tb.Rows) {
				t.Errorf("case %d: page %d uses %.1f mm of %.1f", n, pages, used, 280-top)
			}
			sum += used
			collect(t, tb, items, top+used, got)
			if len(tb.Rows) == 0 {
				break
			}
		}
		all := ""
		for c := range len(tb.Columns) {
			all += got[c]
		}
		if len(squeeze(all)) != len(squeeze(want)) {
			t.Errorf("case %d: %d letters set of %d", n, len(squeeze(all)), len(squeeze(want)))
		}
		if pages <= 1 && sum > 0 && total > 0 && sum < total-1e-9 {
			t.Errorf("case %d: Height says %.1f, Layout used %.1f", n, total, sum)
		}
	}
}

// collect gathers the body text by column and checks that it keeps inside.
func collect(t *testing.T, tb Table, items []Item, bottom float64, got map[int]string) {
	t.Helper()
	heads := map[string]bool{}
	for _, c := range tb.Columns {
		for _, l := range Wrap(c.Title, c.Width-2*pad, tb.size(), Bold) {
			heads[l] = true
		}
	}
	for _, x := range textsOf(items) {
		w := TextWidth(x.S, x.Size, x.Font)
		left := x.At.X - map[Align]float64{Left: 0, Centre: w / 2, Right: w}[x.Align]
		col, edge := -1, 20.0
		for i, c := range tb.Columns {
			if left >= edge+pad-1e-9 && left+w <= edge+c.Width-pad+1e-9 {
				col = i
			}
			edge += c.Width
		}
		if col < 0 {
			t.Fatalf("%q from %.1f to %.1f is in no column", x.S, left, left+w)
		}
		if x.At.Y > bottom {
			t.Fatalf("%q stands at %.1f, the table ends at %.1f", x.S, x.At.Y, bottom)
		}
		if !(heads[x.S] && x.Font == Bold) {
			got[col] += x.S
		}
	}
}

func TestTableWithoutRoom(t *testing.T) {
	tb := specimenTable()
	items, used, rest := tb.Layout(20, 275, 280)
	if items != nil || used != 0 || len(rest) != len(tb.Rows) {
		t.Errorf("no room: %d marks, %.1f mm, %d rows left", len(items), used, len(rest))
	}
	tb.Rows = nil
	if _, used, rest := tb.Layout(0, 0, 280); used <= 0 || rest != nil {
		t.Errorf("a head alone: %.1f mm, rest %v", used, rest)
	}
	for i := range tb.Columns {
		tb.Columns[i].Title = ""
	}
	if items, used, _ := tb.Layout(0, 0, 280); used != 0 || len(items) != 0 {
		t.Errorf("neither head nor rows: %.1f mm", used)
	}
	defer func() {
		if recover() == nil {
			t.Error("a row with more cells than columns passed")
		}
	}()
	tb.Rows = [][]string{make([]string, 9)}
	tb.Layout(0, 0, 280)
}

func TestBlock(t *testing.T) {
	items, h := Block(10, 20, 50, "one two three four five six seven eight nine ten\nend", Letters25, Regular)
	lines := textsOf(items)
	if len(lines) < 2 {
		t.Fatalf("%d lines", len(lines))
	}
	want(t, "height", h, BlockHeight(len(lines), Letters25), 1e-12)
	first, last := lines[0], lines[len(lines)-1]
	if top := first.At.Y - CapHeight*first.Size; top < 20 {
		t.Errorf("letters begin at %.2f, above the block", top)
	}
	if deep := last.At.Y + descender*last.Size; deep > 20+h {
		t.Errorf("letters end at %.2f, the block at %.2f", deep, 20+h)
	}
	want(t, "leading", lines[1].At.Y-lines[0].At.Y, Leading*Letters25, 1e-12)
}

func BenchmarkTable(b *testing.B) {
	tb := specimenTable()
	for range 6 {
		tb.Rows = append(tb.Rows, tb.Rows...)
	}
	for b.Loop() {
		for rows := tb.Rows; rows != nil; {
			page := tb
			page.Rows = rows
			_, _, rows = page.Layout(20, 20, 280)
		}
	}
}
