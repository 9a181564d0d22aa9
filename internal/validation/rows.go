// Package validation holds the panel model against what others found: closed forms, handbooks, benchmark lists, outside programs.
// Each check is a row; docs/validation.md is generated from them. Only tests use it.
package validation

import (
	"fmt"
	"math"
	"strings"
)

// Status of a source, as docs/validation.md explains them.
const (
	Seen     = "seen"
	Computed = "computed"
	Closed   = "closed form"
	Memory   = "from memory"
	Program  = "outside program"
)

// Row is one figure beside what a source gives for it.
type Row struct {
	What, Source, Status, Unit string
	Expected, Got              float64
	Allow                      float64 // relative to Expected, or AllowAbs where that is 0
	AllowAbs                   float64 // in Unit
	Reason                     string  // of the allowance
}

// Off is by how much a row misses, as a share of its allowance.
func (r Row) Off() float64 {
	most := math.Max(r.Allow*math.Abs(r.Expected), r.AllowAbs)
	return math.Abs(r.Got-r.Expected) / most
}

// Rows runs every check.
func Rows() []Row {
	var out []Row
	for _, part := range []func() []Row{elements, rectangles, longer, corners, fasteners, grids, bays, discs, rims, skews, strips, beams, sections, edges, frequencies, squares, worked, springs, contact, thinPanels} {
		out = append(out, part()...)
	}
	return out
}

// Table writes rows as a table of a document. Figures are rounded so that machines that round differently write the same.
func Table(rows []Row) string {
	var b strings.Builder
	b.WriteString("| no | what | source | status | unit | expected | got | differs by | allowed | why that much |\n")
	b.WriteString("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n")
	for i, r := range rows {
		allowed := percent(r.Allow)
		differs := percent((r.Got - r.Expected) / math.Abs(r.Expected))
		if r.AllowAbs > 0 {
			allowed = figure(r.AllowAbs)
			differs = fmt.Sprintf("%.1g", r.Got-r.Expected)
		}
		unit := r.Unit
		if unit == "" {
			unit = "–"
		}
		fmt.Fprintf(&b, "| %d | %s | %s | %s | %s | %s | %s | %s | %s | %s |\n", i+1, r.What, r.Source, r.Status, unit, figure(r.Expected), figure(r.Got), differs, allowed, r.Reason)
	}
	return b.String()
}

func figure(v float64) string { return fmt.Sprintf("%.5g", v) }

// percent shows a share to 0.01 %, without a sign before nothing.
func percent(v float64) string {
	s := fmt.Sprintf("%+.2f %%", 100*v)
	if s == "+0.00 %" || s == "-0.00 %" {
		return "0.00 %"
	}
	return strings.TrimPrefix(s, "+")
}
