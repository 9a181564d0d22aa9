// Package tile cuts a drawing that is larger than the paper into pages.
package tile

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// Frame is the drawing area of one page of a template, mm, and how far neighbours repeat each other.
type Frame struct{ W, H, Overlap float64 }

// Tile is one page's part of a panel. Row 0 is the top row, column 0 the left one.
type Tile struct {
	Row, Col int
	Name     string    // "B3": row letter, column number
	Window   plane.Box // what the page shows, panel coordinates
	Cell     plane.Box // its own part, between the cut lines in the middle of the overlaps; cells do not overlap
}

// Grid is how a panel is cut into pages. Every mark lies in the cell of a printed tile.
type Grid struct {
	Frame      Frame
	Rows, Cols int
	Bounds     plane.Box // of the whole grid, panel coordinates
	Tiles      []Tile    // printed, row by row
	LeftOut    []string  // names of tiles that hold nothing
	NearCut    int       // spots that a cut line comes close to
}

const (
	steps = 9 // places tried for the grid in each direction
	clear = 4 // mm that a spot should keep from an overlap
)

// Layout cuts a drawing that lies within bounds into pages of the frame. marks are the lines to be drawn, as pairs of
// ends: a tile whose cell none of them touches is left out. spots are the centres of holes: where the pages have room to
// spare, the grid is shifted so that fewest tiles are printed, then fewest spots lie on an overlap, then it is centred.
//
// The same input gives the same grid. A frame that is not larger than twice its overlap, or empty bounds, panics.
func Layout(bounds plane.Box, marks [][2]plane.Point, spots []plane.Point, f Frame) Grid {
	if !(f.Overlap >= 0 && f.W > 2*f.Overlap && f.H > 2*f.Overlap) {
		panic(fmt.Sprintf("tile: tiles of %g × %g mm with an overlap of %g mm", f.W, f.H, f.Overlap))
	}
	if bounds.Empty() {
		panic("tile: tiles of nothing")
	}
	cols, slackX := count(bounds.Width(), f.W, f.Overlap)
	rows, slackY := count(bounds.Height(), f.H, f.Overlap)
	var best Grid
	var bestScore [3]float64
	for iy := range steps {
		for ix := range steps {
			// From the middle outwards does not matter: the score has the distance from the middle.
			fx, fy := float64(ix)/(steps-1), float64(iy)/(steps-1)
			corner := plane.Point{X: bounds.Min.X - fx*slackX, Y: bounds.Max.Y + fy*slackY}
			g := grid(corner, rows, cols, f)
			g.keep(marks)
			g.NearCut = g.nearCut(spots)
			score := [3]float64{float64(len(g.Tiles)), float64(g.NearCut), math.Hypot(fx-0.5, fy-0.5)}
			if ix+iy == 0 || less(score, bestScore) {
				best, bestScore = g, score
			}
		}
	}
	return best
}

func less(a, b [3]float64) bool {
	for i := range a {
		if a[i] != b[i] {
			return a[i] < b[i]
		}
	}
	return false
}

// count returns how many windows with that overlap span a length, and what is to spare.
func count(length, window, overlap float64) (n int, slack float64) {
	step := window - overlap
	n = max(1, int(math.Ceil((length-overlap)/step-plane.EdgeTol)))
	return n, math.Max(0, float64(n)*step+overlap-length)
}

// grid makes all tiles of a grid with its top left corner at corner.
func grid(corner plane.Point, rows, cols int, f Frame) Grid {
	stepX, stepY := f.W-f.Overlap, f.H-f.Overlap
	g := Grid{Frame: f, Rows: rows, Cols: cols, Bounds: plane.Box{
		Min: plane.Point{X: corner.X, Y: corner.Y - float64(rows)*stepY - f.Overlap},
		Max: plane.Point{X: corner.X + float64(cols)*stepX + f.Overlap, Y: corner.Y},
	}}
	for r := range rows {
		for c := range cols {
			x0, y1 := corner.X+float64(c)*stepX, corner.Y-float64(r)*stepY
			t := Tile{Row: r, Col: c, Name: name(r, c)}
			t.Window = plane.Box{Min: plane.Point{X: x0, Y: y1 - f.H}, Max: plane.Point{X: x0 + f.W, Y: y1}}
			t.Cell = t.Window
			if c > 0 {
				t.Cell.Min.X += f.Overlap / 2
			}
			if c < cols-1 {
				t.Cell.Max.X -= f.Overlap / 2
			}
			if r > 0 {
				t.Cell.Max.Y -= f.Overlap / 2
			}
			if r < rows-1 {
				t.Cell.Min.Y += f.Overlap / 2
			}
			g.Tiles = append(g.Tiles, t)
		}
	}
	return g
}

// name names a tile by row letter (A … Z, AA …) and column number.
func name(row, col int) string { return RowName(row) + fmt.Sprint(col+1) }

// RowName is the letter, or letters, of a row: A … Z, AA ….
func RowName(row int) string {
	if row >= 26 {
		return RowName(row/26-1) + string(rune('A'+row%26))
	}
	return string(rune('A' + row))
}

// keep drops the tiles that no mark touches.
func (g *Grid) keep(marks [][2]plane.Point) {
	used := make([]bool, len(g.Tiles))
	stepX, stepY := g.Frame.W-g.Frame.Overlap, g.Frame.H-g.Frame.Overlap
	index := func(v, step float64, n int) int { return min(n-1, max(0, int(math.Floor(v/step)))) }
	for _, m := range marks {
		b := plane.EmptyBox().Include(m[0]).Include(m[1])
		// The first cell is longer by half an overlap, so a mark may lie one cell before the one that its place gives.
		c0, c1 := index(b.Min.X-g.Bounds.Min.X, stepX, g.Cols), index(b.Max.X-g.Bounds.Min.X, stepX, g.Cols)
		r0, r1 := index(g.Bounds.Max.Y-b.Max.Y, stepY, g.Rows), index(g.Bounds.Max.Y-b.Min.Y, stepY, g.Rows)
		for r := max(0, r0-1); r <= r1; r++ {
			for c := max(0, c0-1); c <= c1; c++ {
				i := r*g.Cols + c
				if !used[i] && touches(g.Tiles[i].Cell, m[0], m[1]) {
					used[i] = true
				}
			}
		}
	}
	kept := g.Tiles[:0:0]
	g.LeftOut = nil
	for i, t := range g.Tiles {
		if used[i] {
			kept = append(kept, t)
		} else {
			g.LeftOut = append(g.LeftOut, t.Name)
		}
	}
	g.Tiles = kept
}

// touches says whether the line from a to b shares a point with the box.
func touches(box plane.Box, a, b plane.Point) bool {
	t0, t1 := 0.0, 1.0
	d := b.Sub(a)
	for _, s := range [...][2]float64{
		{-d.X, a.X - box.Min.X}, {d.X, box.Max.X - a.X}, {-d.Y, a.Y - box.Min.Y}, {d.Y, box.Max.Y - a.Y},
	} {
		switch speed, room := s[0], s[1]; {
		case speed == 0 && room < 0:
			return false
		case speed < 0:
			t0 = math.Max(t0, room/speed)
		case speed > 0:
			t1 = math.Min(t1, room/speed)
		}
	}
	return t0 <= t1
}

// nearCut counts the spots that lie in an overlap or closer than clear to one.
func (g *Grid) nearCut(spots []plane.Point) int {
	n := 0
	half := g.Frame.Overlap/2 + clear
	near := func(v, step float64, count int) bool {
		// Cut lines lie at k·step + overlap/2 for k = 1 … count−1.
		k := math.Round((v - g.Frame.Overlap/2) / step)
		return k >= 1 && k <= float64(count-1) && math.Abs(v-g.Frame.Overlap/2-k*step) < half
	}
	for _, p := range spots {
		if near(p.X-g.Bounds.Min.X, g.Frame.W-g.Frame.Overlap, g.Cols) || near(g.Bounds.Max.Y-p.Y, g.Frame.H-g.Frame.Overlap, g.Rows) {
			n++
		}
	}
	return n
}

// Printed returns the printed tile of that row and column.
func (g *Grid) Printed(row, col int) (Tile, bool) {
	for _, t := range g.Tiles {
		if t.Row == row && t.Col == col {
			return t, true
		}
	}
	return Tile{}, false
}
