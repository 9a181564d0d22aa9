package drawing

import (
	"math"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// A keep-out that is larger than its panel is drawn on the panel only, and asks for no sheet beside it.
func TestKeepOutsEndAtThePanel(t *testing.T) {
	plan := decided.Drawn("A4")
	p := plan.Panels[0]
	_, before, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	b := p.Job.Outline.Outer.Bounds()
	p.Job.KeepOuts = append(p.Job.KeepOuts, job.KeepOut{Name: "engine", Region: plane.Polygon(b.Min.Sub(At(900, 900)), At(b.Max.X+900, b.Min.Y-900), b.Centre().Add(At(900, 0)), b.Centre().Sub(At(900, 0)))})
	f := DrawPanel(plan.Job, p, plane.Box{Max: At(280, 280)}, PanelViewFull.Marks)
	panel, drawn := viewPageBox(f.view, b).Grow(1e-9), 0
	for _, it := range f.Canvas.Items {
		if h, ok := it.(sheet.Hatch); ok && h.Layer == sheet.LayerHatch {
			drawn++
			if l := h.Region.Bounds(); !panel.Has(l.Min) || !panel.Has(l.Max) {
				t.Errorf("hatched in %v, the panel lies in %v", l, panel)
			}
		}
	}
	if drawn != len(p.Job.KeepOuts) {
		t.Errorf("%d of %d keep-outs are hatched", drawn, len(p.Job.KeepOuts))
	}
	_, after, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	grid, _, _ := templateGrid(p, sheet.A4)
	if !b.Grow(70).Has(grid.Bounds.Min) || !b.Grow(70).Has(grid.Bounds.Max) {
		t.Errorf("sheets for %v, the panel lies in %v", grid.Bounds, b)
	}
	if len(after) > len(before)+12 {
		t.Errorf("%d sheets, %d without the keep-out", len(after), len(before))
	}
}

// Inch jobs have a scale of 4 in beside that of 100 mm, both ways on every sheet; others have none.
func TestInchScale(t *testing.T) {
	for _, across := range []bool{true, false} {
		b := plane.EmptyBox()
		ticks := 0
		for _, it := range InchScale(20, 30, across) {
			if s, ok := it.(sheet.Stroke); ok {
				b = b.Union(s.Path.Bounds())
				ticks++
			}
		}
		long, wide := b.Width(), b.Height()
		if !across {
			long, wide = wide, long
		}
		// Clear of the other scale's line, which is to be measured by itself.
		near := b.Min.Y - 30
		if !across {
			near = b.Min.X - 20
		}
		if math.Abs(long-101.6) > 1e-9 || wide > 2 || ticks != 6 || near < 1 {
			t.Errorf("across %v: %g × %g, %d lines", across, long, wide, ticks)
		}
	}
	for _, inch := range []bool{true, false} {
		plan := decided.Drawn("Letter")
		plan.Job.Inch = inch
		sheets, tiles, err := TemplatePages(plan)
		if err != nil {
			t.Fatal(err)
		}
		for _, tile := range tiles {
			n := 0
			for _, x := range TextsOf(sheets[tile.Page].Items) {
				if x.S == "4 in" {
					n++
				}
			}
			if want := map[bool]int{true: 2}[inch]; n != want {
				t.Errorf("inch %v, sheet %s: %d scales of 4 in", inch, tile.Tile.Name, n)
			}
		}
	}
}

// The feet and plates of the parts stand on the sheets at their true size, turned as the rivet line.
func TestFootprints(t *testing.T) {
	plan := decided.Drawn("A4")
	for _, p := range plan.Panels {
		for _, st := range p.Stations {
			parts := templateFootprints(st)
			want := 0
			for _, size := range [][2]float64{{st.Choice.Plate.Length, st.Choice.Plate.Width}, {st.Choice.Receptacle.Length, st.Choice.Receptacle.Width}} {
				if want == 0 && st.Choice.Plate.Face == stock.PlateNone && size[0] == st.Choice.Plate.Length && len(parts) == 1 {
					continue
				}
				if want >= len(parts) {
					t.Fatalf("%s station %s: %d outlines", p.Job.ID, st.ID, len(parts))
				}
				v := parts[want].V
				along := v[1].Sub(v[0].Point)
				if math.Abs(along.Len()-size[0]) > 1e-9 || math.Abs(v[2].Dist(v[1].Point)-size[1]) > 1e-9 || math.Abs(along.Cross(plane.Point{X: 1}.Rotate(st.Dir))) > 1e-9 {
					t.Errorf("%s station %s: outline %v for %v", p.Job.ID, st.ID, v, size)
				}
				want++
			}
		}
	}
	sheets, tiles, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	drawn := 0
	for _, tile := range tiles {
		for _, it := range sheets[tile.Page].Items {
			if c, ok := it.(sheet.Clip); ok {
				for _, in := range c.Items {
					if s, ok := in.(sheet.Stroke); ok && s.Layer == "parts" {
						drawn++
					}
				}
			}
		}
	}
	if drawn == 0 {
		t.Error("no part is drawn on any sheet")
	}
}

// A number that does not stand beside its station is joined with it.
func TestFigureLeader(t *testing.T) {
	if _, _, ok := figureLeader(At(0, 0), At(3, 0)); ok {
		t.Error("a leader to a number that stands close")
	}
	a, b, ok := figureLeader(At(0, 0), At(9, 0))
	if !ok || math.Abs(a.X-2.2) > 1e-9 || math.Abs(b.X-8.6) > 1e-9 {
		t.Errorf("from %v to %v, %v", a, b, ok)
	}
}

// What is left of a path has the area of its part in the box.
func TestTemplateOnPanel(t *testing.T) {
	box := plane.Box{Max: At(100, 60)}
	for _, c := range []struct {
		p    plane.Path
		area float64
	}{
		{plane.Polygon(At(-10, -10), At(900, -10), At(900, 900), At(-10, 900)), 6000},
		{plane.Polygon(At(50, 30), At(150, 30), At(150, 90), At(50, 90)), 1500},
		{plane.Polygon(At(200, 0), At(300, 0), At(300, 50)), 0},
		{plane.CircleAt(At(0, 0), 20), 100 * math.Pi},
		{plane.CircleAt(At(50, 30), 20), 400 * math.Pi},
	} {
		if got := math.Abs(templateOnPanel(c.p, box).Area()); math.Abs(got-c.area) > 0.005*c.area {
			t.Errorf("%v: area %g, want %g", c.p.Bounds(), got, c.area)
		}
	}
}
