package tile

import (
	"math"
	"math/rand"
	"reflect"
	"testing"

	"panelwright/internal/plane"
)

var frames = map[string]Frame{
	"A4 upright": {183, 251, 10}, "A4 across": {270, 164, 10}, "A3": {270, 374, 10}, "no overlap": {200, 200, 0}, "large overlap": {100, 90, 40},
}

// Properties of any layout: every point of every mark lies in the window, and in the cell, of a printed tile; neighbours
// share exactly the overlap; cells tile the grid without overlapping; tiles that are left out hold no point; the same input
// gives the same grid.
func TestLayout(t *testing.T) {
	rng := rand.New(rand.NewSource(3))
	for name, f := range frames {
		for range 60 {
			w, h := 30+rng.Float64()*1500, 30+rng.Float64()*900
			at := plane.Point{X: rng.NormFloat64() * 500, Y: rng.NormFloat64() * 500}
			outline := plane.Polygon(at, at.Add(plane.Point{X: w, Y: 0}), at.Add(plane.Point{X: w * 0.8, Y: h}), at.Add(plane.Point{X: w * 0.1, Y: h * 0.9}))
			marks, spots := marksOf(outline)
			bounds := outline.Bounds().Grow(11)
			g := Layout(bounds, marks, spots, f)
			if again := Layout(bounds, marks, spots, f); !reflect.DeepEqual(g, again) {
				t.Fatalf("%s: another grid the second time", name)
			}
			if len(g.Tiles)+len(g.LeftOut) != g.Rows*g.Cols {
				t.Fatalf("%s: %d printed, %d left out of %d × %d", name, len(g.Tiles), len(g.LeftOut), g.Rows, g.Cols)
			}
			checkCover(t, name, g, outline, bounds)
			for _, a := range g.Tiles {
				if math.Abs(a.Window.Width()-f.W) > 1e-9 || math.Abs(a.Window.Height()-f.H) > 1e-9 {
					t.Fatalf("%s: window %v", name, a.Window)
				}
				for _, b := range g.Tiles {
					if a.Row == b.Row && b.Col == a.Col+1 {
						near(t, name+" overlap across", a.Window.Max.X-b.Window.Min.X, f.Overlap)
						near(t, name+" cut line across", a.Cell.Max.X, b.Cell.Min.X)
					}
					if a.Col == b.Col && b.Row == a.Row+1 {
						near(t, name+" overlap down", b.Window.Max.Y-a.Window.Min.Y, f.Overlap)
						near(t, name+" cut line down", a.Cell.Min.Y, b.Cell.Max.Y)
					}
				}
			}
		}
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9 {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
}

func marksOf(p plane.Path) (marks [][2]plane.Point, spots []plane.Point) {
	for _, s := range p.Segs() {
		marks = append(marks, [2]plane.Point{s.A, s.B})
		spots = append(spots, s.At(0.3), s.At(0.8))
	}
	return marks, spots
}

// checkCover walks along the outline.
func checkCover(t *testing.T, name string, g Grid, outline plane.Path, bounds plane.Box) {
	t.Helper()
	left := map[string]bool{}
	for _, n := range g.LeftOut {
		left[n] = true
	}
	full := grid(plane.Point{X: g.Bounds.Min.X, Y: g.Bounds.Max.Y}, g.Rows, g.Cols, g.Frame)
	long := outline.Length()
	for s := 0.0; s < long; s += 1.7 {
		p, cells, windows := outline.At(s), 0, 0
		for _, tile := range g.Tiles {
			if tile.Cell.Grow(1e-9).Has(p) {
				cells++
			}
			if tile.Window.Has(p) {
				windows++
			}
		}
		if cells == 0 || windows == 0 {
			t.Fatalf("%s: %v lies in %d cells and %d windows", name, p, cells, windows)
		}
		for _, tile := range full.Tiles {
			if left[tile.Name] && tile.Cell.Grow(-1e-9).Has(p) {
				t.Fatalf("%s: %s is left out but holds %v", name, tile.Name, p)
			}
		}
	}
	if b := g.Bounds.Grow(1e-6); !b.Has(bounds.Min) || !b.Has(bounds.Max) {
		t.Fatalf("%s: grid %v does not span %v", name, g.Bounds, bounds)
	}
}

// An empty middle is left out; a panel that fits takes one page; a grid with room to spare moves off the holes.
func TestLayoutCases(t *testing.T) {
	f := Frame{200, 200, 10}
	square := func(w float64) (plane.Path, plane.Box) {
		p := plane.Polygon(plane.Point{X: 0, Y: 0}, plane.Point{X: w, Y: 0}, plane.Point{X: w, Y: w}, plane.Point{X: 0, Y: w})
		return p, p.Bounds()
	}
	p, b := square(570)
	marks, _ := marksOf(p)
	g := Layout(b, marks, nil, f)
	if g.Rows != 3 || g.Cols != 3 || !reflect.DeepEqual(g.LeftOut, []string{"B2"}) {
		t.Errorf("3 × 3 with an empty middle: %d × %d, left out %v", g.Rows, g.Cols, g.LeftOut)
	}
	p, b = square(200)
	marks, _ = marksOf(p)
	if g = Layout(b, marks, nil, f); len(g.Tiles) != 1 || g.Tiles[0].Name != "A1" {
		t.Errorf("one page: %+v", g.Tiles)
	}
	p, b = square(201)
	marks, _ = marksOf(p)
	if g = Layout(b, marks, nil, f); g.Rows != 2 || g.Cols != 2 {
		t.Errorf("a hair too large for one page: %d × %d", g.Rows, g.Cols)
	}
	p, b = square(330)
	marks, _ = marksOf(p)
	spots := []plane.Point{plane.Point{X: 165, Y: 0}, plane.Point{X: 165, Y: 330}, plane.Point{X: 0, Y: 165}, plane.Point{X: 330, Y: 165}}
	if g = Layout(b, marks, spots, f); g.NearCut != 0 {
		t.Errorf("%d holes lie at a cut line, though there is room", g.NearCut)
	}
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 52: "BA", 702: "AAA"} {
		if got := RowName(i); got != want {
			t.Errorf("row %d is %q, want %q", i, got, want)
		}
	}
}

// A mark that only touches a cell at its corner or lies on a cut line is not lost.
func TestTouches(t *testing.T) {
	box := plane.Box{Min: plane.Point{X: 0, Y: 0}, Max: plane.Point{X: 10, Y: 10}}
	for _, c := range []struct {
		a, b plane.Point
		want bool
	}{
		{plane.Point{X: -5, Y: 5}, plane.Point{X: 15, Y: 5}, true}, {plane.Point{X: 5, Y: 5}, plane.Point{X: 5, Y: 5}, true}, {plane.Point{X: 10, Y: -5}, plane.Point{X: 10, Y: 15}, true},
		{plane.Point{X: -5, Y: 5}, plane.Point{X: 5, Y: -5}, true}, {plane.Point{X: -5, Y: 4.9}, plane.Point{X: 4.9, Y: -5}, false}, {plane.Point{X: 11, Y: 11}, plane.Point{X: 20, Y: 20}, false},
		{plane.Point{X: 10.1, Y: -5}, plane.Point{X: 10.1, Y: 15}, false},
	} {
		if got := touches(box, c.a, c.b); got != c.want {
			t.Errorf("%v to %v: %v", c.a, c.b, got)
		}
	}
}

func BenchmarkLayout(b *testing.B) {
	p := plane.Polygon(plane.Point{X: 0, Y: 0}, plane.Point{X: 2000, Y: 0}, plane.Point{X: 1800, Y: 1200}, plane.Point{X: 100, Y: 1100})
	marks, spots := marksOf(p)
	for b.Loop() {
		Layout(p.Bounds().Grow(11), marks, spots, Frame{183, 251, 10})
	}
}
