package report

import (
	"encoding/csv"
	"io"
	"math"

	"panelwright/internal/measure"
	"panelwright/internal/setout"
)

// ForcesCSV writes what each station bears by the panel model: a header, then one row for each station in each load case, panel
// by panel. A panel of which nothing is known has no rows. An empty field means that it is not known.
func ForcesCSV(w io.Writer, p *setout.Plan) error {
	c := csv.NewWriter(w)
	rows := [][]string{{
		"panel", "case", "in_range", "station", "x_mm", "y_mm", "wire_N", "least_preload_N", "seat", "gap_mm", "load_held_N", "load_by_area_N",
	}}
	for _, pan := range p.Panels {
		if pan.Bearing == nil || !pan.Bearing.Known {
			continue
		}
		for i := range pan.Bearing.Cases {
			for k := range pan.Stations {
				rows = append(rows, forceRow(p, pan, i, k))
			}
		}
	}
	return c.WriteAll(rows)
}

func forceRow(p *setout.Plan, pan *setout.Panel, i, k int) []string {
	c, st := &pan.Bearing.Cases[i], pan.Stations[k]
	row := []string{pan.Job.Name, c.Name, yesNo(c.Valid), st.ID, measure.Fixed(st.At.X, 3), measure.Fixed(st.At.Y, 3), "",
		blankUnknown(bearPreload(p, pan, k), 2), "", "", "", blankUnknown(st.Load.Outward, 2)}
	if k < len(c.Wire) {
		row[6] = blankUnknown(c.Wire[k], 2)
	}
	if k < len(c.Open) {
		row[8] = map[bool]string{true: "open", false: "shut"}[c.Open[k]]
	}
	if k < len(c.Held) {
		row[10] = blankUnknown(c.Held[k], 2)
	}
	if gap, ok := gapAtStation(pan, i, k); ok {
		row[9] = blankUnknown(gap, 4)
	}
	return row
}

// gapAtStation is w on the seat line at a station, between the points of the line straight.
func gapAtStation(pan *setout.Panel, i, k int) (float64, bool) {
	for n, s := range pan.Bearing.Seams {
		for _, m := range s.Stations {
			if m.Station == k && s.Along == seamSeatLine && n < len(pan.Bearing.Cases[i].Gap) {
				return alongSeam(s.S, pan.Bearing.Cases[i].Gap[n], m.S)
			}
		}
	}
	return 0, false
}

// alongSeam is the value at length at of values given at rising lengths s.
func alongSeam(s, value []float64, at float64) (float64, bool) {
	if len(s) == 0 || len(s) != len(value) {
		return 0, false
	}
	for i := 1; i < len(s); i++ {
		if at <= s[i] && s[i] > s[i-1] {
			t := max(0, (at-s[i-1])/(s[i]-s[i-1]))
			return value[i-1] + t*(value[i]-value[i-1]), true
		}
	}
	return value[len(value)-1], true
}

// GapsCSV writes the gap along every seam by the panel model: a header, then one row for each point of each seam, in the order
// along it, panel by panel: the least and the greatest of all cases, and that of the worst case. A panel of which nothing is
// known has no rows.
func GapsCSV(w io.Writer, p *setout.Plan) error {
	c := csv.NewWriter(w)
	rows := [][]string{{
		"panel", "support", "seam", "line", "along_mm", "x_mm", "y_mm", "least_gap_mm", "greatest_gap_mm", "worst_case", "in_range", "worst_case_gap_mm",
	}}
	for _, pan := range p.Panels {
		if b := pan.Bearing; b != nil && b.Known && b.Worst < len(b.Cases) {
			for n := range b.Seams {
				rows = append(rows, gapRows(pan, n)...)
			}
		}
	}
	return c.WriteAll(rows)
}

func gapRows(pan *setout.Panel, n int) (rows [][]string) {
	s, worst := pan.Bearing.Seams[n], &pan.Bearing.Cases[pan.Bearing.Worst]
	for k := range s.Gap {
		row := []string{pan.Job.Name, s.Support, s.Name, s.Along, measure.Fixed(s.S[k], 2), measure.Fixed(s.At[k].X, 3), measure.Fixed(s.At[k].Y, 3),
			blankUnknown(s.Gap[k][0], 4), blankUnknown(s.Gap[k][1], 4), worst.Name, yesNo(worst.Valid), ""}
		if n < len(worst.Gap) && k < len(worst.Gap[n]) {
			row[11] = blankUnknown(worst.Gap[n][k], 4)
		}
		rows = append(rows, row)
	}
	return rows
}

// blankUnknown shows v, zero too, and nothing when it is not known or has no bound.
func blankUnknown(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return measure.Fixed(v, decimals)
}
