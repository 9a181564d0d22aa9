package stock

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"panelwright/internal/measure"
)

// Sane is the greatest value that a range may give for a dimension, house units: a value beyond it is taken for a slip of
// the unit or of the digits. Common practice, no source: far beyond any such part.
type Sane struct {
	Dim  measure.Dimension
	What string
	Most float64
}

var saneLimits = []Sane{
	{measure.Length, "lengths and diameters", 500},
	{measure.Mass, "masses of parts", 0.01},
	{measure.Force, "ratings and strengths of parts", 100_000},
	{measure.Rate, "rates of wires", 10_000},
	{measure.Pressure, "moduli and strengths of materials", 1e6},
	{measure.Density, "densities", 25_000e-12},
	{measure.Expansion, "expansion in heat", 500e-6},
	{measure.Number, "costs and plain numbers", 1e6},
}

// SaneLimits lists the limits in the order of the document. The caller owns the slice.
func SaneLimits() []Sane { return append([]Sane(nil), saneLimits...) }

// sane reports a value that no part has.
func (w rangeRow) sane(key string, v float64, dim measure.Dimension) float64 {
	for _, s := range saneLimits {
		if s.Dim == dim && v > s.Most && w.Good(key) {
			w.Fault(key, "out-of-range", fmt.Sprintf("%s; accepted: at most %s", measure.Show(v, dim), measure.Show(s.Most, dim)), "check the value and its unit")
			return 0
		}
	}
	return v
}

// textMost bounds a text of a range, runes, as a job's.
const textMost = 300

// Str reads a text as it is printed: on one line, and not too long.
func (w rangeRow) Str(key string) string { return w.line(key, w.Fields.Str(key)) }

// OptStr is Str for a key that may be missing.
func (w rangeRow) OptStr(key, def string) string { return w.line(key, w.Fields.OptStr(key, def)) }

// Strs reads a list of texts, each as Str.
func (w rangeRow) Strs(key string) []string { return w.lines(key, w.Fields.Strs(key)) }

// OptStrs is Strs for a key that may be missing.
func (w rangeRow) OptStrs(key string) []string { return w.lines(key, w.Fields.OptStrs(key)) }

func (w rangeRow) line(key, s string) string {
	if n := utf8.RuneCountInString(s); n > textMost {
		w.Fault(key, "text-length", fmt.Sprintf("%d characters; accepted: at most %d", n, textMost), "shorten it")
		return ""
	}
	return strings.Join(strings.Fields(s), " ")
}

func (w rangeRow) lines(key string, list []string) []string {
	for i, s := range list {
		list[i] = w.line(key, s)
	}
	return list
}
