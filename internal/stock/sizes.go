package stock

import (
	"math"
	"sort"
	"strconv"
	"strings"
	"sync"

	"panelwright/internal/measure"
)

// The series of drills.
const (
	SeriesNumber     = "number"
	SeriesLetter     = "letter"
	SeriesFractional = "fractional"
	SeriesMetric     = "metric"
)

// inch is exact, by definition.
const inch = 25.4

// sameSize is how far two diameters may differ and still be one size: conversions round, and the closest two sizes in the
// tables differ by 1 µm.
const sameSize = 1e-6

var drills = sync.OnceValue(func() []Drill {
	var out []Drill
	for _, t := range readTable("drills.csv") {
		d := Drill{Series: t.text("series"), Name: t.text("name"), Diameter: t.number("mm"), Origin: t.origin()}
		if d.Series == SeriesFractional {
			d.Diameter = fractionOfInch(d.Name) // the table rounds
		}
		out = append(out, d)
	}
	sort.SliceStable(out, func(i, k int) bool { return out[i].Diameter < out[k].Diameter })
	return out
})

// fractionOfInch gives 25.4·n/d mm for "n/d in" or "n in".
func fractionOfInch(name string) float64 {
	num, den, ok := strings.Cut(strings.TrimSuffix(name, " in"), "/")
	if !ok {
		den = "1"
	}
	n, err1 := strconv.Atoi(num)
	d, err2 := strconv.Atoi(den)
	if err1 != nil || err2 != nil || d <= 0 {
		panic("stock: drill " + name)
	}
	return inch * float64(n) / float64(d)
}

// Drills lists the sizes that can be bought, ascending by diameter (mm). The caller owns the slice.
func Drills() []Drill { return append([]Drill(nil), drills()...) }

// DrillNamed finds a listed drill as people name it: "#30", "number 30", "letter F", "F", "1/8 in", "3.3 mm", "0.1285 in".
// A size that several series have is given by the series that its unit suggests. False: it is not listed.
func DrillNamed(text string) (Drill, bool) {
	text = strings.TrimSpace(text)
	if len(text) == 1 && isASCIILetter(text[0]) {
		text = "letter " + text
	}
	wanted := ""
	p := measure.Parser{Named: func(series, name string) (float64, bool) {
		if series != SeriesNumber && series != SeriesLetter {
			return 0, false // a gauge is no drill
		}
		wanted = series
		return Named(series, name)
	}}
	q, err := p.Parse(text, measure.Length)
	if err != nil || q.Spread != measure.Unstated {
		return Drill{}, false
	}
	order := []string{wanted}
	if wanted == "" {
		order = []string{SeriesFractional, SeriesMetric, SeriesNumber, SeriesLetter}
		if strings.Contains(text, "mm") {
			order = []string{SeriesMetric, SeriesFractional, SeriesNumber, SeriesLetter}
		}
	}
	for _, series := range order {
		for _, d := range drills() {
			if d.Series == series && math.Abs(d.Diameter-q.Value) < sameSize {
				return d, true
			}
		}
	}
	return Drill{}, false
}

func isASCIILetter(c byte) bool { return c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' }

var gauges = sync.OnceValue(func() []Gauge {
	var out []Gauge
	for _, t := range readTable("gauges.csv") {
		out = append(out, Gauge{System: t.text("system"), Name: t.text("name"), Thickness: t.number("mm"), Origin: t.origin()})
	}
	return out
})

// Gauges lists the sheet and wire gauges in the order of their table, thick to thin in each system. The caller owns the slice.
func Gauges() []Gauge { return append([]Gauge(nil), gauges()...) }

// Named resolves a drill or gauge name to millimetres, as measure.Parser.Named wants it: series "number", "letter", "swg",
// "awg", "msg", "gsg" or "stainless", name "30", "F", "16". False: not listed.
func Named(series, name string) (mm float64, ok bool) {
	switch series {
	case SeriesNumber:
		name = "#" + strings.TrimPrefix(name, "#")
	case SeriesLetter:
		name = strings.ToUpper(name)
	default:
		for _, g := range gauges() {
			if g.System == series && g.Name == name {
				return g.Thickness, true
			}
		}
		return 0, false
	}
	for _, d := range drills() {
		if d.Series == series && d.Name == name {
			return d.Diameter, true
		}
	}
	return 0, false
}
