package report

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"slices"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// A seam's plot: small, so that two stand beside each other on a desk's screen and one fills a hand's.
const (
	seamWidth  = 118.0
	seamHeight = 52.0
	seamLeft   = 14.0
	seamRight  = 4.0
	seamTop    = 15.0
	seamFoot   = 40.0 // of the axis
	seamThin   = 0.05 // page mm that a curve may leave its place to have fewer points
)

// seamSeatLine is what Seam.Along says of a seat line; anything else is an edge of the support.
const seamSeatLine = "seat line"

type htmlSeam struct {
	Figure  template.HTML
	Caption string
}

// SeamFigure is the plot of the gap along one seam, as an SVG element for a page, and what it shows in a sentence.
type SeamFigure struct {
	SVG     template.HTML
	Caption string
}

// SeamFigures draws the gap along the seams of a panel that the panel model knows, as plan.html shows them. It fails when a name has
// letters that the drawing's face lacks.
func SeamFigures(pan *setout.Panel) ([]SeamFigure, error) {
	if pan.Bearing == nil || !pan.Bearing.Known {
		return nil, nil
	}
	plots, err := seamPlots(pan)
	var out []SeamFigure
	for _, p := range plots {
		out = append(out, SeamFigure{p.Figure, p.Caption})
	}
	return out, err
}

// seamPlots draws the gap along every seat line, and along the edge of a support where the panel stands off more than on the
// seat line itself. All plots of a panel have one scale of gaps, so that they compare. It fails when a name has letters that the
// drawing's face lacks.
func seamPlots(pan *setout.Panel) ([]htmlSeam, error) {
	b := pan.Bearing
	shown := seamsShown(b)
	limit := pan.Job.Limits.SeamGap.Value
	low, high := 0.0, limit
	for _, i := range shown {
		least, greatest, _ := seamEnds(b.Seams[i])
		low, high = min(low, least), max(high, greatest)
	}
	var out []htmlSeam
	for _, i := range shown {
		p := seamPlot{pan: pan, seam: b.Seams[i], limit: limit}
		p.seam.Stations = seamMarks(pan, i)
		if c := b.Cases; b.Worst < len(c) && i < len(c[b.Worst].Gap) {
			p.worst, p.worstName = c[b.Worst].Gap[i], c[b.Worst].Name
		}
		p.axes(low, high)
		label := fmt.Sprintf("Gap along %s of %s over the distance along it", seamName(p.seam), pan.Job.Name)
		var w bytes.Buffer
		if err := sheet.SVGFragment(&w, p.draw(), sheet.Fragment{ID: fmt.Sprintf("seam--%s-%d", pan.Job.ID, i), Label: label}); err != nil {
			return nil, fmt.Errorf("plot of %s: %w", seamName(p.seam), err)
		}
		out = append(out, htmlSeam{template.HTML(w.String()), p.caption()})
	}
	return out, nil
}

// seamsShown are the seams to plot, by index: every seat line, and any other that opens more than the seat line beside it.
func seamsShown(b *setout.Bearing) []int {
	seat := map[[2]string]float64{}
	for _, s := range b.Seams {
		if s.Along == seamSeatLine && len(s.Gap) > 0 {
			_, most, _ := seamEnds(s)
			seat[[2]string{s.Support, s.Name}] = most
		}
	}
	var out []int
	for i, s := range b.Seams {
		if n := len(s.S); n < 2 || len(s.Gap) != n || !(s.S[n-1] > 0) { // nothing to plot along
			continue
		}
		_, most, _ := seamEnds(s)
		beside, ok := seat[[2]string{s.Support, s.Name}]
		const shows = 0.005 // mm: less is no difference on the page
		if s.Along == seamSeatLine || !ok || most > beside+shows {
			out = append(out, i)
		}
	}
	return out
}

// seamMarks are the stations along a seam: its own, or those of the seat line beside it, each at the nearest point.
func seamMarks(pan *setout.Panel, i int) []setout.SeamMark {
	b := pan.Bearing
	s := b.Seams[i]
	if len(s.Stations) > 0 || s.Along == seamSeatLine {
		return s.Stations
	}
	var out []setout.SeamMark
	for _, seat := range b.Seams {
		if seat.Along != seamSeatLine || seat.Support != s.Support || seat.Name != s.Name {
			continue
		}
		for _, m := range seat.Stations {
			if k, _ := seamNearest(s, pan.Stations[m.Station].At); k >= 0 {
				out = append(out, setout.SeamMark{Station: m.Station, S: s.S[k]})
			}
		}
	}
	return out
}

// seamNearest is the point of the seam that is nearest to q, −1 of none, and how far it is.
func seamNearest(s setout.Seam, q plane.Point) (at int, dist float64) {
	at, dist = -1, math.Inf(1)
	for k, p := range s.At {
		const same = 1e-9 // mm: the earlier of equals, whatever the last bits say
		if d := p.Dist(q); d < dist-same {
			at, dist = k, d
		}
	}
	return at, dist
}

// seamEnds are the least and greatest gap over all cases, and at which point the greatest is.
func seamEnds(s setout.Seam) (least, greatest float64, at int) {
	least, greatest = math.Inf(1), math.Inf(-1)
	for i, g := range s.Gap {
		least = min(least, g[0])
		if g[1] > greatest {
			greatest, at = g[1], i
		}
	}
	return least, greatest, at
}

// seamName is the seam in words: "rear", "rear, outer edge of the flange".
func seamName(s setout.Seam) string {
	if s.Along == seamSeatLine {
		return s.Name + ", seat line"
	}
	return s.Name + ", " + s.Along + " of the " + s.Support
}

type seamPlot struct {
	pan       *setout.Panel
	seam      setout.Seam
	worst     []float64 // gap in the worst case, as seam.S; nil: not known
	worstName string
	limit     float64

	low, high, stepY float64 // mm of gap
	long, stepX      float64 // mm along
}

// axes sets round scales: the gap from low to high, the distance as long as the seam.
func (p *seamPlot) axes(low, high float64) {
	p.stepY = seamStep((high-low)*1.04, 4)
	if -low > 0.02*(high-low) { // less is pressed on by next to nothing: no axis for it
		p.low = low * 1.1
	}
	p.high = max(math.Ceil(high*1.04/p.stepY-1e-9)*p.stepY, p.low+p.stepY)
	p.long = p.seam.S[len(p.seam.S)-1]
	p.stepX = seamStep(p.long, 6)
}

// seamStep is the least step of the series 1, 2, 5 of which most cover a span; a span of nothing has 1.
func seamStep(span float64, most int) float64 {
	if !(span > 0) || math.IsInf(span, 0) {
		return 1
	}
	step := math.Pow(10, math.Floor(math.Log10(span/float64(most))))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*step*float64(most) >= span*(1-1e-9) {
			return m * step
		}
	}
	return 10 * step
}

func seamDecimals(step float64) int { return max(0, int(-math.Floor(math.Log10(step)+1e-9))) }

func (p *seamPlot) x(s float64) float64 {
	return seamLeft + s/p.long*(seamWidth-seamLeft-seamRight)
}

func (p *seamPlot) y(gap float64) float64 {
	return seamFoot - (gap-p.low)/(p.high-p.low)*(seamFoot-seamTop)
}

func (p *seamPlot) draw() sheet.Sheet {
	s := sheet.Sheet{Title: "Gap along " + seamName(p.seam), W: seamWidth, H: seamHeight}
	const limitRoom = 36.0 // to the right of the name
	name, size := sheet.FitText(seamName(p.seam), seamWidth-limitRoom-2, sheet.Letters25, sheet.Letters18, sheet.Bold)
	s.Add(sheet.Rectangle(0, 0, s.W, s.H, nil, &sheet.White, "paper"),
		sheet.Text{At: drawing.At(1, 5), Size: size, S: name, Font: sheet.Bold, Layer: "words"})
	p.band(&s)
	p.grid(&s)
	p.stations(&s)
	p.curve(&s)
	p.limitLine(&s)
	p.greatest(&s)
	return s
}

// band is the envelope over the cases: a grey strip from the least to the greatest gap.
func (p *seamPlot) band(s *sheet.Sheet) {
	least, greatest := make([]float64, len(p.seam.S)), make([]float64, len(p.seam.S))
	for i, g := range p.seam.Gap {
		least[i], greatest[i] = g[0], g[1]
	}
	pts, back := p.points(greatest), p.points(least)
	slices.Reverse(back)
	fill := sheet.Grey(215)
	s.Add(sheet.Stroke{Path: plane.Polygon(append(pts, back...)...), Fill: &fill, Layer: "envelope"})
}

// points are the gaps as a line on the plot, without those that no eye would miss: each lies within seamThin of what remains.
func (p *seamPlot) points(gap []float64) []plane.Point {
	all := make([]plane.Point, len(gap))
	for i, g := range gap {
		all[i] = p.at(p.seam.S[i], g)
	}
	keep := make([]bool, len(all))
	keep[0], keep[len(all)-1] = true, true
	for open := [][2]int{{0, len(all) - 1}}; len(open) > 0; {
		a, b := open[len(open)-1][0], open[len(open)-1][1]
		open = open[:len(open)-1]
		far, most := -1, seamThin
		for i := a + 1; i < b; i++ {
			t := 0.0
			if all[b].X > all[a].X {
				t = (all[i].X - all[a].X) / (all[b].X - all[a].X)
			}
			if d := math.Abs(all[i].Y - all[a].Y - t*(all[b].Y-all[a].Y)); d > most {
				far, most = i, d
			}
		}
		if far >= 0 {
			keep[far] = true
			open = append(open, [2]int{a, far}, [2]int{far, b})
		}
	}
	var out []plane.Point
	for i, q := range all {
		if keep[i] {
			out = append(out, q)
		}
	}
	return out
}

// at is a place of the plot, on a grid of 0.05 mm that no eye sees, so that the file stays small.
func (p *seamPlot) at(along, gap float64) plane.Point {
	const grid = 0.05
	return drawing.At(math.Round(p.x(along)/grid)*grid, math.Round(p.y(max(gap, p.low))/grid)*grid)
}

func (p *seamPlot) grid(s *sheet.Sheet) {
	thin, zero, axis := sheet.Pen{Width: 0.13, Tone: sheet.Grey(150)}, sheet.Pen{Width: 0.2}, sheet.Pen{Width: 0.3}
	left, right := p.x(0), p.x(p.long)
	text := func(x, y float64, align sheet.Align, words string) {
		s.Add(sheet.Text{At: drawing.At(x, y), Size: sheet.Letters25 * 0.9, S: words, Align: align, Layer: "words"})
	}
	const slack = 1e-9
	for k := math.Ceil(p.low/p.stepY - slack); k*p.stepY <= p.high+slack*p.stepY; k++ {
		v, pen := k*p.stepY, &thin
		if k == 0 {
			pen = &zero
		}
		s.Add(sheet.Line(drawing.At(left, p.y(v)), drawing.At(right, p.y(v)), pen, "grid"))
		text(left-1.2, p.y(v)+1.1, sheet.Right, measure.Fixed(v, seamDecimals(p.stepY)))
	}
	for k := 0.0; k*p.stepX <= p.long*(1+slack); k++ {
		x := p.x(k * p.stepX)
		s.Add(sheet.Line(drawing.At(x, seamFoot), drawing.At(x, seamFoot+1.2), &axis, "axes"))
		text(x, seamFoot+4.8, sheet.Centre, measure.Fixed(k*p.stepX, seamDecimals(p.stepX)))
	}
	s.Add(sheet.Line(drawing.At(left, seamTop-1), drawing.At(left, seamFoot), &axis, "axes"),
		sheet.Line(drawing.At(left, seamFoot), drawing.At(right, seamFoot), &axis, "axes"))
	text(right, seamFoot+10, sheet.Right, "along the seam, mm")
	text(1, seamFoot+10, sheet.Left, "gap, mm")
}

// stations are ticks over the whole height with the station's number over them; numbers that would run together stand in two
// rows, and what has no room in either is left out.
func (p *seamPlot) stations(s *sheet.Sheet) {
	pen := sheet.Pen{Width: 0.18, Dash: []float64{0.7, 0.9}, Tone: sheet.Grey(60)}
	marks := slices.Clone(p.seam.Stations)
	slices.SortFunc(marks, func(a, b setout.SeamMark) int {
		if a.S != b.S {
			return map[bool]int{true: -1, false: 1}[a.S < b.S]
		}
		return a.Station - b.Station
	})
	const size = sheet.Letters25 * 0.9
	ends := [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, m := range marks {
		x, id := p.x(m.S), p.pan.Stations[m.Station].ID
		s.Add(sheet.Line(drawing.At(x, seamTop-1), drawing.At(x, seamFoot), &pen, "stations"))
		half := sheet.TextWidth(id, size, sheet.Bold) / 2
		for row := range ends {
			if x-half > ends[row]+0.8 {
				ends[row] = x + half
				s.Add(sheet.Text{At: drawing.At(x, seamTop-2-3.4*float64(row)), Size: size, S: id, Font: sheet.Bold, Align: sheet.Centre, Layer: "stations"})
				break
			}
		}
	}
}

// curve is the worst case.
func (p *seamPlot) curve(s *sheet.Sheet) {
	if len(p.worst) != len(p.seam.S) {
		return
	}
	s.Add(sheet.Stroke{Path: plane.Open(p.points(p.worst)...), Pen: &sheet.Pen{Width: 0.55}, Layer: "worst"})
}

func (p *seamPlot) limitLine(s *sheet.Sheet) {
	y := p.y(p.limit)
	if !(p.limit > 0) || y < seamTop-1 {
		return
	}
	pen := sheet.Pen{Width: 0.4, Dash: []float64{2.4, 1.2}}
	words := "limit " + measure.MM(p.limit)
	s.Add(sheet.Line(drawing.At(p.x(0), y), drawing.At(p.x(p.long), y), &pen, "limit"),
		sheet.Text{At: drawing.At(seamWidth-1, 5), Size: sheet.Letters25 * 0.9, S: "dashed: " + words, Align: sheet.Right, Layer: "words"})
}

// greatest is a dot on the greatest gap of all cases.
func (p *seamPlot) greatest(s *sheet.Sheet) {
	_, _, i := seamEnds(p.seam)
	white := sheet.Pen{Width: 0.4, Tone: sheet.White}
	s.Add(sheet.Circle{At: p.at(p.seam.S[i], p.seam.Gap[i][1]), R: 1.1, Pen: &white, Fill: &sheet.Black, Layer: "greatest"})
}

func (p *seamPlot) caption() string {
	_, most, i := seamEnds(p.seam)
	if !(most > 0) {
		return fmt.Sprintf("%s: no gap anywhere along %s.", capital(seamName(p.seam)), measure.MM(p.long))
	}
	words := fmt.Sprintf("%s: opens at most %s, %s from its start", capital(seamName(p.seam)), measure.MM(most), measure.MM(p.seam.S[i]))
	if near := seamBetween(p.pan, p.seam.Stations, p.seam.S[i]); near != "" {
		words += ", " + near
	}
	return words + "."
}

// seamBetween says between which stations a place along a seam lies; nothing when it has none.
func seamBetween(pan *setout.Panel, marks []setout.SeamMark, at float64) string {
	before, after := -1, -1
	for i, m := range marks {
		if m.S <= at && (before < 0 || m.S > marks[before].S) {
			before = i
		}
		if m.S >= at && (after < 0 || m.S < marks[after].S) {
			after = i
		}
	}
	id := func(i int) string { return pan.Stations[marks[i].Station].ID }
	switch {
	case before < 0 && after < 0:
		return ""
	case before == after:
		return "at station " + id(before)
	case before < 0:
		return "before station " + id(after)
	case after < 0:
		return "beyond station " + id(before)
	}
	return "between stations " + id(before) + " and " + id(after)
}
