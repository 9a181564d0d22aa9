package drawing

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// A label costs the panel's edge not only on it but beside it too, where its halo would bite into the bold line.
func TestPlacerKeepsOffEdges(t *testing.T) {
	var p viewPlacer
	p.lines = []viewLine{{At(0, -50), At(0, 50), costOutline}, {At(100, -50), At(100, 50), costSeat}}
	for x, want := range map[float64]float64{-5: costOutline, 0: costOutline, 0.9: costOutline, 1.1: 0, 100: 0, 95: costSeat} {
		if got, ok := p.cost(viewBoxQuad(x, 0, 10, 4)); !ok || got != want {
			t.Errorf("from %g mm on: %g, %v, want %g", x, got, ok, want)
		}
	}
	turned := Quad{At(0, 0), At(3, 3), At(1, 5), At(-2, 2)}.grown(1)
	if d := turned[0].Dist(At(0, 0)); math.Abs(d-math.Sqrt2) > 1e-9 {
		t.Errorf("a corner moved by %g", d)
	}
}

// checkTexts fails for texts of a sheet that run into each other, off the page or are too small to read.
func checkTexts(t *testing.T, s sheet.Sheet) {
	t.Helper()
	texts := TextsOf(s.Items)
	page := plane.Box{Max: At(s.W, s.H)}.Grow(-2)
	quads := make([]Quad, len(texts))
	for i, x := range texts {
		quads[i] = TextQuad(x)
		if b := quads[i].Box(); !page.Has(b.Min) || !page.Has(b.Max) {
			t.Errorf("%s: %q at (%.1f, %.1f) leaves the page", s.Title, x.S, x.At.X, x.At.Y)
		}
		if x.Size < 2.4 { // foot lines and the names of neighbours are 2.46 mm by the em, all else 3.4 and more
			t.Errorf("%s: %q is %.2f mm small", s.Title, x.S, x.Size)
		}
		for k := range i {
			if quads[i].Meets(quads[k]) {
				t.Errorf("%s: %q and %q overlap at (%.1f, %.1f)", s.Title, texts[k].S, x.S, x.At.X, x.At.Y)
			}
		}
	}
}

// No text of any page runs into another, on any paper, in mm and in inches.
func TestNoTextsOverlap(t *testing.T) {
	for _, paper := range []string{"A4", "A3", "Letter"} {
		for _, inch := range []bool{false, true} {
			plan := decided.Drawn(paper)
			plan.Job.Inch = inch
			sheets, _, err := TemplatePages(plan)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range sheets {
				checkTexts(t, s)
			}
			for _, p := range plan.Panels {
				checkTexts(t, PanelSheet(plan.Job, p, PanelViewFull))
				checkTexts(t, PanelSheet(plan.Job, p, PanelViewMap))
			}
		}
	}
}

// No text on a template covers a hole, and every station that a page shows has its number there.
func TestTextsKeepOffHoles(t *testing.T) {
	plan := decided.Drawn("A4")
	sheets, infos, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	for _, info := range infos {
		texts := TextsOf(sheets[info.Page].Items)
		for _, p := range plan.Panels {
			if p.Job.ID != info.Panel {
				continue
			}
			for _, c := range templateCentres(p) {
				at := info.View.Map(c.at)
				for _, x := range texts {
					if info.Tile.Window.Has(c.at) && TextQuad(x).meetsDisc(at, c.r) {
						t.Errorf("%s %s: %q covers the hole at %v", info.Panel, info.Tile.Name, x.S, c.at)
					}
				}
			}
			for _, st := range p.Stations {
				if !info.Tile.Window.Grow(-1).Has(st.At) {
					continue
				}
				n := 0
				for _, x := range texts {
					if x.S == st.ID && x.Font == sheet.Bold {
						n++
					}
				}
				if n != 1 {
					t.Errorf("%s %s: the number of station %s stands %d times", info.Panel, info.Tile.Name, st.ID, n)
				}
			}
		}
	}
}

func TestQuadsMeet(t *testing.T) {
	a := viewBoxQuad(0, 0, 10, 4)
	turned := TextQuad(sheet.Text{At: At(0, 0), Size: 4, S: "turned", Turn: math.Pi / 4})
	for _, c := range []struct {
		name string
		got  bool
		want bool
	}{
		{"itself", a.Meets(a), true},
		{"inside", a.Meets(viewBoxQuad(2, 1, 1, 1)), true},
		{"touching", a.Meets(viewBoxQuad(10, 0, 5, 4)), false},
		{"beside", a.Meets(viewBoxQuad(10.5, 0, 5, 4)), false},
		{"corner in the box of a turned one, not in it", turned.Meets(viewBoxQuad(turned.Box().Max.X-1, turned.Box().Max.Y-1, 1, 1)), false},
		{"line through", a.meetsLine(At(5, -5), At(5, 9)), true},
		{"line beside", a.meetsLine(At(11, -5), At(11, 9)), false},
		{"line that ends before", a.meetsLine(At(5, -5), At(5, -1)), false},
		{"disc round it", a.meetsDisc(At(5, 2), 0.1), true},
		{"disc near", a.meetsDisc(At(12, 2), 2.1), true},
		{"disc far", a.meetsDisc(At(12, 2), 1.9), false},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v", c.name, c.got)
		}
	}
}

// What the placer calls free covers nothing that was taken.
func TestPlacerKeepsLabelsApart(t *testing.T) {
	rng := rand.New(rand.NewSource(11))
	for round := range 20 {
		var c Canvas
		c.place.frame = plane.Box{Max: At(200, 200)}
		set := 0
		for i := range 60 {
			at := At(rng.Float64()*200, rng.Float64()*200)
			if i%3 == 0 {
				c.place.takeDisc(at, 4)
				continue
			}
			var middles []plane.Point
			for k := range 12 {
				middles = append(middles, at.Add(At(20, 0).Rotate(float64(k))))
			}
			if c.label(sheet.Text{S: fmt.Sprint("label ", i), Size: 4, Align: sheet.Centre, Turn: rng.Float64() * 6}, middles) {
				set++
			}
		}
		if set < 10 {
			t.Fatalf("round %d: only %d labels found room", round, set)
		}
		texts := TextsOf(c.Items)
		for i, x := range texts {
			for k := range i {
				if TextQuad(x).Meets(TextQuad(texts[k])) {
					t.Fatalf("round %d: %q over %q", round, x.S, texts[k].S)
				}
			}
		}
	}
}
