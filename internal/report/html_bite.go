package report

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// biteRow is one kind of station: the same stack, shims and band.
type biteRow struct {
	stations []string
	st       *setout.Station
	lo, hi   float64 // where 95 % of such stations fall
}

// biteFigure shows, for each kind of station of a choice, the band of δ that closes well, and where the station falls: the
// dot at nominal, the bar over 95 % of what the stated spreads give.
func biteFigure(pan *setout.Panel, c *setout.Choice) (template.HTML, string) {
	rows := biteRows(pan, c)
	if len(rows) == 0 {
		return "", ""
	}
	s := biteSheet(rows)
	var b bytes.Buffer
	id := fmt.Sprintf("bite-%s-%d", pan.Job.ID, choiceIndex(pan, c))
	label := "Deflection of the wire at each kind of station against the band that closes well"
	if err := sheet.SVGFragment(&b, s, sheet.Fragment{ID: id, Label: label}); err != nil {
		panic("drawing: bite figure: " + err.Error())
	}
	return template.HTML(b.String()), "Bite of the wire, δ. Box: closes well; left of it loose, right of it tight. Dot: nominal; bar: 95 % of such stations, by the stated spreads."
}

func choiceIndex(pan *setout.Panel, c *setout.Choice) int {
	for i, x := range pan.Choices {
		if x == c {
			return i
		}
	}
	return -1
}

func biteRows(pan *setout.Panel, c *setout.Choice) []*biteRow {
	var rows []*biteRow
	for _, st := range pan.Stations {
		if st.Choice != c || !st.Close.Known || len(st.Close.Spread) == 0 {
			continue
		}
		same := false
		for _, r := range rows {
			if sameBite(r.st, st) {
				r.stations, same = append(r.stations, st.ID), true
				break
			}
		}
		if !same {
			lo, hi := st.Close.Spread.Quantile(0.025), st.Close.Spread.Quantile(0.975)
			rows = append(rows, &biteRow{[]string{st.ID}, st, lo, hi})
		}
	}
	return rows
}

func sameBite(a, b *setout.Station) bool {
	return a.Shims == b.Shims && a.Close.Delta == b.Close.Delta && a.Close.DeltaLo == b.Close.DeltaLo &&
		a.Close.DeltaHi == b.Close.DeltaHi && a.Close.Chance == b.Close.Chance
}

const (
	biteWidth  = 170.0
	biteLeft   = 60.0
	biteRight  = 20.0
	biteHeight = 9.0
)

func biteSheet(rows []*biteRow) sheet.Sheet {
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range rows {
		low = min(low, r.lo, r.st.Close.DeltaLo, r.st.Close.Delta, 0)
		high = max(high, r.hi, r.st.Close.DeltaHi, r.st.Close.Delta)
	}
	low, high = math.Floor(low*2)/2, math.Ceil(high*2)/2
	s := sheet.Sheet{Title: "Bite of the wire", W: biteWidth, H: biteHeight*float64(len(rows)) + 13}
	x := func(d float64) float64 { return biteLeft + (d-low)/(high-low)*(biteWidth-biteLeft-biteRight) }
	foot := s.H - 10
	pen, thin, thick := sheet.Pen{Width: 0.35}, sheet.Pen{Width: 0.18, Tone: sheet.Grey(150)}, sheet.Pen{Width: 0.9}
	for d := low; d <= high+1e-9; d += 0.5 {
		s.Add(sheet.Line(drawing.At(x(d), 2), drawing.At(x(d), foot), &thin, "grid"),
			sheet.Text{At: drawing.At(x(d), foot+4), Size: 3, S: measure.Fixed(d, 1), Align: sheet.Centre, Layer: "words"})
	}
	s.Add(sheet.Text{At: drawing.At(biteWidth-biteRight, foot+8.5), Size: 3, S: "δ, mm", Align: sheet.Right, Layer: "words"})
	light := sheet.Grey(225)
	for i, r := range rows {
		c := r.st.Close
		mid := 2 + biteHeight*(float64(i)+0.5)
		s.Add(sheet.Rectangle(x(c.DeltaLo), mid-3, x(c.DeltaHi)-x(c.DeltaLo), 6, &pen, &light, "band"),
			sheet.Line(drawing.At(x(r.lo), mid), drawing.At(x(r.hi), mid), &thick, "spread"),
			sheet.Circle{At: drawing.At(x(c.Delta), mid), R: 1.4, Pen: &pen, Fill: &sheet.Black, Layer: "nominal"},
			sheet.Text{At: drawing.At(biteWidth-biteRight+2, mid+1.2), Size: 3.2, S: measure.Percent(c.Chance), Layer: "words"})
		words, size := sheet.FitText(biteWords(r), biteLeft-3, 3.2, 2.4, sheet.Regular)
		s.Add(sheet.Text{At: drawing.At(1, mid+1.2), Size: size, S: words, Layer: "words"})
	}
	return s
}

func biteWords(r *biteRow) string {
	n := len(r.stations)
	who := "station " + r.stations[0]
	if n > 1 {
		who = "stations " + strings.Join(r.stations, ", ")
		if n > 6 {
			who = fmt.Sprintf("%d stations", n)
		}
	}
	shims := fmt.Sprintf("%d shims", r.st.Shims)
	switch r.st.Shims {
	case 0:
		shims = "no shim"
	case 1:
		shims = "1 shim"
	}
	return fmt.Sprintf("%s: stack %s, %s", who, measure.MM(r.st.Stack.Nom), shims)
}
