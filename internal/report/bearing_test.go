package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// borne is the hand-made lid with a bearing, its dome mm high.
func borne(mm float64) *setout.Plan {
	p := settled()
	for _, pan := range p.Panels {
		decided.Bear(pan, mm)
	}
	return p
}

// drawn is the plan that drawings are tested on, with open seat lines along edges and the edges of their supports.
func drawn(mm float64) *setout.Plan {
	p := decided.Drawn("A4")
	for _, pan := range p.Panels {
		pan.Job.Limits.SeamGap.Value = 0.5
		decided.Bear(pan, mm)
	}
	return p
}

var svgTag = regexp.MustCompile(`(?s)<svg.*?</svg>`)

// The words and figures of a panel under load as a reader sees them, the pictures taken out, inside the range and outside.
func TestBearingGolden(t *testing.T) {
	for name, mm := range map[string]float64{"bearing.html": 1, "bearing-outside.html": 4} {
		page := text(t, func(w io.Writer) error { return HTML(w, borne(mm)) })
		from, to := strings.Index(page, "<h3>Under load"), strings.Index(page, "<h3>Holes")
		if from < 0 || to < from {
			t.Fatal("the page has no section of a panel under load")
		}
		golden(t, name, svgTag.ReplaceAllString(page[from:to], "[picture]"))
	}
	p := drawn(1)
	p.Panels = p.Panels[2:] // the smallest
	golden(t, "forces.csv", text(t, func(w io.Writer) error { return ForcesCSV(w, p) }))
	golden(t, "gaps.csv", text(t, func(w io.Writer) error { return GapsCSV(w, p) }))
	golden(t, "seam.svg", string(plotsOf(t, p.Panels[0])[1].Figure))
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil || got != string(want) {
		t.Errorf("%s differs from its golden file (%v): look at the difference, then go test -update", name, err)
	}
}

func plotsOf(t *testing.T, pan *setout.Panel) []htmlSeam {
	t.Helper()
	out, err := seamPlots(pan)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// plotOf is a seam's plot as its reader takes it: scales from the numbers at the axes, then everything in mm.
type plotOf struct {
	group                  map[string]string // SVG of each layer
	x0, xPer, y0, yPer     float64           // page mm at 0, page mm per mm
	left, right, top, foot float64
}

var (
	svgGroup = regexp.MustCompile(`(?s)<g id="[^"]*" class="([^"]*)">\n(.*?)</g>`)
	svgText  = regexp.MustCompile(`<text x="([^"]*)" y="([^"]*)"[^>]*>([^<]*)</text>`)
	svgAnchr = regexp.MustCompile(`<text x="([^"]*)" y="([^"]*)"[^>]*text-anchor="(middle|end)"[^>]*>(-?[\d.]+)</text>`)
	svgPair  = regexp.MustCompile(`(-?[\d.]+) (-?[\d.]+)`)
)

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// readPlot finds the scales by the first and last number of each axis and the tick that belongs to it.
func readPlot(t *testing.T, svg string) plotOf {
	t.Helper()
	p := plotOf{group: map[string]string{}}
	for _, g := range svgGroup.FindAllStringSubmatch(svg, -1) {
		p.group[g[1]] += g[2]
	}
	type tick struct{ at, value float64 }
	var along, gap []tick
	for _, m := range svgAnchr.FindAllStringSubmatch(p.group["words"], -1) {
		if m[3] == "middle" {
			along = append(along, tick{number(t, m[1]), number(t, m[4])})
		} else {
			gap = append(gap, tick{number(t, m[2]), number(t, m[4])})
		}
	}
	if len(along) < 2 || len(gap) < 2 {
		t.Fatalf("%d numbers along, %d of the gap", len(along), len(gap))
	}
	p.xPer = (along[len(along)-1].at - along[0].at) / (along[len(along)-1].value - along[0].value)
	p.x0 = along[0].at - p.xPer*along[0].value
	// The numbers of the gap stand beside their grid lines, which are in the same order.
	lines := p.lines(t, "grid")
	if len(lines) != len(gap) {
		t.Fatalf("%d grid lines, %d numbers", len(lines), len(gap))
	}
	p.yPer = (lines[len(lines)-1][0].Y - lines[0][0].Y) / (gap[len(gap)-1].value - gap[0].value)
	p.y0 = lines[0][0].Y - p.yPer*gap[0].value
	return p
}

// lines are the paths of a layer, page mm.
func (p plotOf) lines(t *testing.T, layer string) (out [][]plane.Point) {
	t.Helper()
	for _, d := range regexp.MustCompile(` d="([^"]*)"`).FindAllStringSubmatch(p.group[layer], -1) {
		var pts []plane.Point
		for _, m := range svgPair.FindAllStringSubmatch(d[1], -1) {
			pts = append(pts, plane.Point{X: number(t, m[1]), Y: number(t, m[2])})
		}
		out = append(out, pts)
	}
	return out
}

func (p plotOf) mm(q plane.Point) (along, gap float64) {
	return (q.X - p.x0) / p.xPer, (q.Y - p.y0) / p.yPer
}

// Each plot read back from its SVG, by its own axes: the line is the worst case, the strip the envelope, the limit and the
// stations stand where they belong, and the dot on the greatest gap. Allowance: the plot's grid of 0.05 mm on the page, and as much for points left out.
func TestSeamPlotsReadBack(t *testing.T) {
	for _, mm := range []float64{0.4, 6} {
		p := drawn(mm)
		pressed := p.Panels[0].Bearing // into a seal: its plots go below zero
		for k, s := range pressed.Seams {
			for i := range s.Gap {
				s.Gap[i][0] -= 0.2 * mm
				pressed.Cases[0].Gap[k][i] -= 0.1 * mm
			}
		}
		for _, pan := range p.Panels {
			b := pan.Bearing
			plots := plotsOf(t, pan)
			shown := seamsShown(b)
			if len(plots) != len(shown) || len(plots) < 4 {
				t.Fatalf("%s: %d plots of %d seams", pan.Job.Name, len(plots), len(b.Seams))
			}
			for n, plot := range plots {
				testPlot(t, pan, shown[n], readPlot(t, string(plot.Figure)))
			}
		}
	}
}

func testPlot(t *testing.T, pan *setout.Panel, i int, plot plotOf) {
	t.Helper()
	s, b := pan.Bearing.Seams[i], pan.Bearing
	where := pan.Job.Name + ", " + seamName(s)
	slackX, slackY := 0.06/plot.xPer, (0.06+seamThin)/-plot.yPer
	near := func(what string, q plane.Point, along, gap float64) {
		t.Helper()
		x, y := plot.mm(q)
		if !(math.Abs(x-along) <= slackX && math.Abs(y-gap) <= slackY) {
			t.Errorf("%s: %s stands at %.3f, %.3f, want %.3f, %.3f", where, what, x, y, along, gap)
		}
	}
	_, low := plot.mm(plane.Point{Y: seamFoot})
	worst := plot.lines(t, "worst")
	if len(worst) != 1 {
		t.Fatalf("%s: the worst case has %d lines", where, len(worst))
	}
	strip := plot.lines(t, "envelope")[0]
	turn := 1 // where the strip turns back
	for turn < len(strip) && strip[turn].X > strip[turn-1].X {
		turn++
	}
	back := slices.Clone(strip[turn:])
	slices.Reverse(back)
	for k := range s.S {
		at := func(line []plane.Point) plane.Point {
			return plane.Point{X: plot.x0 + plot.xPer*s.S[k], Y: heightAt(line, plot.x0+plot.xPer*s.S[k])}
		}
		near("the worst case", at(worst[0]), s.S[k], max(low, b.Cases[b.Worst].Gap[i][k]))
		near("the greatest", at(strip[:turn]), s.S[k], max(low, s.Gap[k][1]))
		near("the least", at(back), s.S[k], max(low, s.Gap[k][0]))
	}
	limit := plot.lines(t, "limit")[0]
	near("the limit", limit[0], 0, pan.Job.Limits.SeamGap.Value)
	near("the limit", limit[1], s.S[len(s.S)-1], pan.Job.Limits.SeamGap.Value)
	ticks, marks := plot.lines(t, "stations"), seamMarks(pan, i)
	if len(ticks) != len(marks) || len(marks) == 0 {
		t.Fatalf("%s: %d ticks for %d stations", where, len(ticks), len(marks))
	}
	for k, m := range marks { // the marks of the made-up seams rise
		if x, _ := plot.mm(ticks[k][0]); math.Abs(x-m.S) > slackX {
			t.Errorf("%s: station %s at %.2f, want %.2f", where, pan.Stations[m.Station].ID, x, m.S)
		}
	}
	ids := svgText.FindAllStringSubmatch(plot.group["stations"], -1)
	if len(ids) != len(marks) || ids[0][3] != pan.Stations[marks[0].Station].ID {
		t.Errorf("%s: the stations are called %v", where, ids)
	}
	c := regexp.MustCompile(`<circle cx="([^"]*)" cy="([^"]*)"`).FindStringSubmatch(plot.group["greatest"])
	_, most, at := seamEnds(s)
	near("the dot", plane.Point{X: number(t, c[1]), Y: number(t, c[2])}, s.S[at], most)
}

// heightAt is where a line that runs to the right stands at x, page mm.
func heightAt(line []plane.Point, x float64) float64 {
	for i := 1; i < len(line); i++ {
		if x <= line[i].X+0.05 {
			a, b := line[i-1], line[i]
			return a.Y + (x-a.X)/(b.X-a.X)*(b.Y-a.Y)
		}
	}
	return math.NaN()
}

// A support's edge is shown only where it opens more than the seat line beside it.
func TestSeamsShown(t *testing.T) {
	seam := func(name, along string, most float64) setout.Seam {
		return setout.Seam{Support: "flange", Name: name, Along: along, S: []float64{0, 1}, At: make([]plane.Point, 2), Gap: [][2]float64{{0, 0}, {0, most}}}
	}
	b := &setout.Bearing{Seams: []setout.Seam{seam("rear", "seat line", 1), seam("rear", "outer edge", 0.9), seam("rear", "inner edge", 1.1),
		seam("left", "outer edge", 0.2), seam("right", "seat line", 0), {Support: "flange", Name: "front", Along: "seat line"},
		{Support: "flange", Name: "stub", Along: "seat line", S: []float64{0, 0}, Gap: make([][2]float64, 2)}}}
	if got := fmt.Sprint(seamsShown(b)); got != "[0 2 3 4]" {
		t.Errorf("shown are %s", got)
	}
}

// Steps are 1, 2 or 5 times a power of ten, and no more of them are needed than asked.
func TestSeamStep(t *testing.T) {
	for _, c := range []struct {
		span float64
		most int
		want float64
	}{{1, 4, 0.5}, {0.8, 4, 0.2}, {4, 4, 1}, {4.1, 4, 2}, {795, 6, 200}, {0.03, 4, 0.01}, {0, 4, 1}, {math.Inf(1), 4, 1}, {1e9, 4, 5e8}} {
		if got := seamStep(c.span, c.most); math.Abs(got-c.want) > 1e-9*c.want {
			t.Errorf("%g in %d: %g, want %g", c.span, c.most, got, c.want)
		}
	}
}

// A seam that nothing opens, under no limit, still has axes of a length; so has one that gapes by metres.
func TestSeamAxesAtTheEnds(t *testing.T) {
	for _, c := range [][2]float64{{0, 0}, {-1e-13, 0}, {0, 5e3}, {-3, 0}, {-2e-6, 1e-6}} {
		p := seamPlot{seam: setout.Seam{S: []float64{0, 700}}}
		p.axes(c[0], c[1])
		if n := (p.high - p.low) / p.stepY; !(p.high > p.low) || p.high < c[1] || p.low > c[0] && -c[0] > 0.02*(c[1]-c[0]) || n > 6.5 {
			t.Errorf("%v: from %g to %g by %g", c, p.low, p.high, p.stepY)
		}
	}
}

func TestSeamBetween(t *testing.T) {
	pan := drawn(1).Panels[0]
	marks := []setout.SeamMark{{Station: 1, S: 50}, {Station: 0, S: 10}, {Station: 2, S: 90}}
	for at, want := range map[float64]string{0: "before station 1", 10: "at station 1", 20: "between stations 1 and 2", 89: "between stations 2 and 3", 95: "beyond station 3"} {
		if got := seamBetween(pan, marks, at); got != want {
			t.Errorf("at %g: %q, want %q", at, got, want)
		}
	}
	if got := seamBetween(pan, nil, 5); got != "" {
		t.Errorf("without stations: %q", got)
	}
}

// By how much forces miss each other is shown as the power of ten that it stays below, and never better than it is.
func TestBearBalance(t *testing.T) {
	for v, want := range map[float64]string{0: "≤ 10⁻⁹", 3e-14: "≤ 10⁻⁹", 1.1e-9: "≤ 10⁻⁸", 1e-3: "≤ 10⁻³", 0.02: "≤ 10⁻¹", 0.4: "0.40", math.NaN(): "not known"} {
		if got := bearBalance(v); got != want {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
}

func TestBearHertz(t *testing.T) {
	for v, want := range map[float64]string{0.52344: "0.523", 3.14159: "3.14", 31.45: "31.5", 99.96: "100.0", 123.4: "123", 0: "0", 0.0012345: "0.00123"} {
		if got := bearHertz(v); got != want {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
}

// Outside of its range, or when nothing was computed, the page says not known, and no verdict beside it says more.
func TestBearingNotKnown(t *testing.T) {
	p := borne(1)
	b := p.Panels[0].Bearing
	page := func() string { return text(t, func(w io.Writer) error { return HTML(w, p) }) }
	if s := page(); !strings.Contains(s, "✓ Inside the model's range.") {
		t.Error("a panel inside the range is not said to be")
	}
	b.Cases[1].Valid, b.Cases[1].Reason = false, "bends by 9 mm"
	if s := page(); !strings.Contains(s, "outside the model's range") || !strings.Contains(s, "It may not be believed in made-up case 2.") || !strings.Contains(s, "Bends by 9 mm.") {
		t.Error("one case outside of the range is not said to be")
	}
	for i := range b.Miss {
		b.Miss[i].Valid = false
	}
	if s := page(); strings.Contains(s, "stays on</span>") || strings.Contains(s, "comes off</span>") {
		t.Error("a verdict on what is not known")
	}
	*b = setout.Bearing{Why: "the stiffness of the sample laminate is not stated; state it"}
	s := page()
	if !strings.Contains(s, "Not known how the panel bears its loads.") || !strings.Contains(s, "The stiffness of the sample laminate is not stated; state it.") {
		t.Error("what was not computed is not said")
	}
	p.Panels[0].Bearing = nil
	if s := page(); strings.Contains(s, "<h3>Under load") {
		t.Error("a model that was not asked has a section")
	}
	for _, write := range []func(io.Writer, *setout.Plan) error{ForcesCSV, GapsCSV} {
		if rows := strings.Count(text(t, func(w io.Writer) error { return write(w, p) }), "\n"); rows != 1 {
			t.Errorf("%d rows of nothing", rows)
		}
	}
}

// forces.csv adds up to what plan.json says: the wires of a case, less its load, are the prying.
func TestForcesAddUp(t *testing.T) {
	p := drawn(1)
	rows, err := csv.NewReader(strings.NewReader(text(t, func(w io.Writer) error { return ForcesCSV(w, p) }))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	sum := map[string]float64{}
	for _, r := range rows[1:] {
		sum[r[0]+r[1]] += number(t, r[6])
	}
	n := 1
	for _, pan := range p.Panels {
		for _, c := range pan.Bearing.Cases {
			n += len(pan.Stations)
			if got := sum[pan.Job.Name+c.Name] - c.Load; math.Abs(got-c.Prying) > 0.005*float64(len(pan.Stations)) {
				t.Errorf("%s: prying %.3f by the rows, %.3f", pan.Job.Name, got, c.Prying)
			}
		}
	}
	if len(rows) != n {
		t.Errorf("%d rows, want %d", len(rows), n)
	}
	// At a station w is what the seat line has there, straight between its points 10 mm apart.
	st := p.Panels[0].Stations[1]
	want := decided.Deflection(p.Panels[0], 1, st.At)
	if got := number(t, rows[2][9]); rows[2][3] != st.ID || math.Abs(got-want) > 0.01 {
		t.Errorf("station %s: gap %g, want %g", rows[2][3], got, want)
	}
}

// No number that is not one reaches the page or the tables, and odd indices are no crash.
func TestBearingNumbersNotKnown(t *testing.T) {
	p := borne(1)
	b := p.Panels[0].Bearing
	nan := math.NaN()
	for i := range b.Cases {
		c := &b.Cases[i]
		c.Load, c.Reaction, c.Balance, c.Prying, c.InTouch, c.Stress, c.GapMax, c.Sag = nan, nan, nan, nan, nan, nan, nan, nan
		c.GapSeam, c.Wire, c.Open = -1, nil, nil
		c.StressAt, c.GapAt = plane.Point{X: nan}, plane.Point{Y: nan}
	}
	b.Miss = []setout.BearingMiss{{Station: 0, Case: -1, At: -1, GapMax: nan, Wire: nan}}
	b.Frequencies = nil
	for name, write := range map[string]func(io.Writer) error{
		"page": func(w io.Writer) error { return HTML(w, p) }, "json": func(w io.Writer) error { return PlanJSON(w, p, "test") },
		"forces": func(w io.Writer) error { return ForcesCSV(w, p) }, "gaps": func(w io.Writer) error { return GapsCSV(w, p) },
	} {
		if s := text(t, write); strings.Contains(s, "NaN") {
			t.Errorf("%s: NaN", name)
		}
	}
	if s := bearCaseOf(p, p.Panels[0], &b.Cases[0]); s.Load != measure.Newton(nan) || s.Wire != "–" {
		t.Errorf("%+v", s)
	}
}

// What the page shows of the worst case is the picture of that case.
func TestBearingPictureIsOfTheWorst(t *testing.T) {
	p := drawn(1)
	pan := p.Panels[1]
	pan.Bearing.Worst = 1
	b, err := htmlBearingOf(p, pan)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.FigureNote, "made-up case 2") || !strings.Contains(string(b.Figure), measure.MM(pan.Bearing.Cases[1].GapMax)) ||
		strings.Contains(string(b.Figure), ">"+measure.MM(pan.Bearing.Cases[0].GapMax)) {
		t.Errorf("%q", b.FigureNote)
	}
	if !strings.Contains(string(b.Figure), `id="`+"bearing--"+pan.Job.ID) || sheet.Letters25 < 3 {
		t.Error("the picture has no id of its own")
	}
}
