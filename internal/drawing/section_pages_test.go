package drawing

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/exampleplan"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// A section is shown at least twice as large as it is on the papers of all examples, its table of parts in one piece, and
// each of its pages says whose job it is.
func TestSectionPagesOfExamples(t *testing.T) {
	for name, plan := range exampleplan.All(t, "../..") {
		for _, paper := range []sheet.Paper{sheet.A4, sheet.A3, sheet.Letter} {
			for _, k := range SectionKinds(plan) {
				m := sectionOf(k.Panel, k.Station)
				rows := sectionParts(plan.Job, k.Panel, m)
				l := sectionChoose(sectionLayouts(plan, k, m, rows, paper), m, len(rows))
				if l.scale(m) < 2 {
					t.Errorf("%s section %s on %s: scale %g", name, k.Name, paper.Name, l.scale(m))
				}
				pages := sectionPages(plan, k, paper)
				for i, page := range pages {
					numbers := 0
					head := false
					for _, text := range TextsOf(page.Items) {
						head = head || strings.Contains(text.S, plan.Job.Name) && strings.Contains(text.S, plan.Job.Date)
						if text.S == "no." {
							numbers++
						}
					}
					if !head {
						t.Errorf("%s section %s page %d does not name its job", name, k.Name, i+1)
					}
					if want := map[bool]int{true: 1, false: 0}[l.apart == (i == 1)]; numbers != want {
						t.Errorf("%s section %s on %s page %d of %d: %d tables of parts", name, k.Name, paper.Name, i+1, len(pages), numbers)
					}
				}
				if want := map[bool]int{true: 2, false: 1}[l.apart]; len(pages) != want {
					t.Errorf("%s section %s on %s: %d pages, want %d", name, k.Name, paper.Name, len(pages), want)
				}
			}
		}
	}
}

// Every full-size sheet names its job, its date and that it is a sample.
func TestTilesNameTheirJob(t *testing.T) {
	plan := decided.Drawn("A4")
	plan.Job.Date, plan.Job.Sample = "2026-01-02", true
	sheets, tiles, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	for _, tile := range tiles {
		found := false
		for _, text := range TextsOf(sheets[tile.Page].Items) {
			found = found || text.S == plan.Job.Name+" · 2026-01-02 · sample"
		}
		if !found {
			t.Errorf("sheet %s of %s does not name its job", tile.Tile.Name, tile.Panel)
		}
	}
}

// A rectangular cut-out is as wide in the section as the rivet line's way through it, turned or not.
func TestSectionSlot(t *testing.T) {
	at := plane.Point{X: 100, Y: 50}
	hole := setout.Hole{At: at, Length: 36, Width: 20, Dir: 0.7}
	along := plane.Point{X: 1}.Rotate(0.7)
	for _, c := range []struct {
		from, dir plane.Point
		x, half   float64
		ok        bool
	}{
		{at, along, 0, 18, true},
		{at, along.Perp(), 0, 10, true},
		{at.Add(along.Scale(5)), along, -5, 18, true},
		{at.Add(along.Perp().Scale(9)), along, 0, 18, true},
		{at.Add(along.Perp().Scale(11)), along, 0, 0, false},
		{at, along.Rotate(math.Pi / 6), 0, 20, true}, // the width is met first: 10/sin 30°
	} {
		x, half, ok := sectionSlot(hole, c.from, c.dir)
		if ok != c.ok || ok && (math.Abs(x-c.x) > 1e-9 || math.Abs(half-c.half) > 1e-9) {
			t.Errorf("from %v along %v: %g ± %g, %v; want %g ± %g, %v", c.from, c.dir, x, half, ok, c.x, c.half, c.ok)
		}
	}
}

// Where a layer between is cut out around a receptacle's foot, the section shows it and warns of no clash; a welded foot
// without shims is offered none.
func TestSectionCutOut(t *testing.T) {
	found := 0
	for _, plan := range exampleplan.All(t, "../..") {
		for _, k := range SectionKinds(plan) {
			m := sectionOf(k.Panel, k.Station)
			rows := sectionParts(plan.Job, k.Panel, m)
			work := ""
			for _, r := range rows {
				work += r.work + "\n"
			}
			var c Canvas
			sectionEnlarged(&c, m, rows, plane.Box{Max: At(280, 120)})
			words := ""
			for _, text := range TextsOf(c.Items) {
				words += text.S + "\n"
			}
			if welded := m.c.Receptacle.Fixing == stock.Welded && m.st.Shims == 0; welded == strings.Contains(words, "a shim here") {
				t.Errorf("section %s: welded %v, and it says:\n%s", k.Name, welded, words)
			}
			for _, h := range k.Panel.Holes {
				if h.Station != k.Station.ID || h.Length == 0 {
					continue
				}
				found++
				if want := "cut-out " + viewTrim(h.Length, 1) + "\u00a0×\u00a0" + viewTrim(h.Width, 1) + "\u00a0mm"; !strings.Contains(work, want) {
					t.Errorf("section %s: %q is not in\n%s", k.Name, want, work)
				}
				if notes := strings.Join(m.notes(), " "); strings.Contains(notes, "into the "+h.Layer) {
					t.Errorf("section %s: %s", k.Name, notes)
				}
			}
		}
	}
	if found == 0 {
		t.Error("no example has a cut-out")
	}
}

// A countersink for a rivet's tail is work on a hole, not a hole: the sheets count the hole once.
func TestHoleLinesCountOperationsApart(t *testing.T) {
	plan := decided.Drawn("A4")
	p := plan.Panels[0]
	st := p.Stations[0]
	before := strings.Join(HoleLines(p, st.ID, false), "\n")
	var extra []setout.Hole
	for _, h := range p.Holes {
		if h.Station == st.ID && h.Purpose == "plate rivet" {
			h.Purpose, h.Operation, h.Countersink = "rivet tail countersink", true, &setout.Countersink{AngleDeg: 120, Diameter: 6, Face: "back"}
			extra = append(extra, h)
		}
	}
	if len(extra) == 0 {
		t.Fatal("no plate rivet")
	}
	p.Holes = append(p.Holes, extra...)
	got := strings.Join(HoleLines(p, st.ID, false), "\n")
	if !strings.HasPrefix(got, before) && !strings.Contains(got, "2 plate rivets") {
		t.Errorf("before:\n%s\nnow:\n%s", before, got)
	}
	want := "2 rivet tail countersinks csk\u00a0120° Ø\u00a06.0\u00a0back"
	if !strings.Contains(got, want) {
		t.Errorf("%q is not in:\n%s", want, got)
	}
}

// A hole that nothing drills says what makes it.
func TestHoleSizeNamesItsTool(t *testing.T) {
	for _, c := range []struct {
		h    setout.Hole
		want string
	}{
		{setout.Hole{Wanted: 14.5, Tool: "punch"}, "Ø\u00a014.5\u00a0mm, punch"},
		{setout.Hole{Wanted: 14.5, Tool: "punch", NoDrill: "buy 14.5 mm"}, "Ø\u00a014.50\u00a0mm, no drill for it"},
		{setout.Hole{Length: 34, Width: 18}, "34\u00a0×\u00a018\u00a0mm"},
	} {
		if got := templateSize(c.h); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
