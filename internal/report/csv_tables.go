package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/setout"
)

// HolesCSV writes the hole schedule: a header, then one row for each hole of each layer in the order of work, panel by
// panel. Lengths in mm to 0.001, positions in the panel's own coordinates. An empty field means that it does not apply.
func HolesCSV(w io.Writer, p *setout.Plan) error {
	c := csv.NewWriter(w)
	rows := [][]string{{
		"panel", "no", "stage", "station", "layer", "purpose", "index", "x_mm", "y_mm", "wanted_min_mm", "wanted_max_mm",
		"drill", "drill_mm", "drill_in", "pilot", "clamped", "tool", "rpm",
		"countersink_face", "countersink_angle_deg", "countersink_diameter_mm", "countersink_depth_mm", "countersink_rpm",
		"no_new_hole", "cut_length_mm", "cut_width_mm", "cut_turned_deg", "note",
	}}
	for _, pan := range p.Panels {
		for _, h := range pan.Holes {
			rows = append(rows, holeRow(pan, h))
		}
	}
	return c.WriteAll(rows)
}

func holeRow(pan *setout.Panel, h setout.Hole) []string {
	mm := func(v float64) string { return blankZero(v, 3) }
	row := []string{
		pan.Job.Name, strconv.Itoa(h.No), strconv.Itoa(h.Stage), h.Station, h.Layer, h.Purpose, strconv.Itoa(h.Index),
		measure.Fixed(h.At.X, 3), measure.Fixed(h.At.Y, 3), mm(h.Wanted), mm(h.WantedMax),
	}
	if h.Drill != nil {
		row = append(row, h.Drill.Name, measure.Fixed(h.Drill.Diameter, 3), measure.Fixed(h.Drill.Diameter/25.4, 4))
	} else {
		row = append(row, "", "", "")
	}
	pilot := ""
	if h.Pilot != nil {
		pilot = h.Pilot.Name
	}
	row = append(row, pilot, yesNo(h.Clamped), h.Tool, blankZero(h.RPM, 0))
	if k := h.Countersink; k != nil {
		row = append(row, k.Face, measure.Fixed(k.AngleDeg, 0), mm(k.Diameter), mm(k.Depth), blankZero(k.RPM, 0))
	} else {
		row = append(row, "", "", "", "", "")
	}
	row = append(row, yesNo(h.Operation))
	if h.Length > 0 {
		row = append(row, mm(h.Length), mm(h.Width), measure.Fixed(h.Dir*180/math.Pi, 2))
	} else {
		row = append(row, "", "", "")
	}
	return append(row, JoinSentences(h.NoDrill, h.Note))
}

// OrderCSV writes what to buy: a header, one row for each part, then a row of the total cost and mass. Cost is in the range's currency,
// masses are of the pieces bought.
func OrderCSV(w io.Writer, p *setout.Plan) error {
	c := csv.NewWriter(w)
	currency := ""
	if p.Job.Range != nil {
		currency = p.Job.Range.Currency
	}
	rows := [][]string{{
		"kind", "id", "name", "need", "spare", "buy", "pack_size", "packs", "cost", "currency", "mass_g", "for_panels", "note",
	}}
	var cost, mass float64
	for _, l := range p.Order {
		rows = append(rows, []string{
			l.Kind, l.ID, l.Name, strconv.Itoa(l.Need), strconv.Itoa(l.Spare), strconv.Itoa(l.Buy), strconv.Itoa(l.PackSize),
			strconv.Itoa(l.Packs), measure.Fixed(l.Cost, 2), currency, measure.Fixed(grams(l.Mass), 1),
			strings.Join(l.ForPanels, "; "), l.Note,
		})
		cost, mass = cost+l.Cost, mass+l.Mass
	}
	rows = append(rows, []string{
		"total", "", "", "", "", "", "", "", measure.Fixed(cost, 2), currency,
		measure.Fixed(grams(mass), 1), "", "",
	})
	return c.WriteAll(rows)
}

// grams turns tonnes into grams.
func grams(tonne float64) float64 { return tonne * 1e6 }

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// blankZero shows v, and nothing when it is zero or not known: the field does not apply.
func blankZero(v float64, decimals int) string {
	if v == 0 || math.IsNaN(v) {
		return ""
	}
	return measure.Fixed(v, decimals)
}

// JoinSentences joins what is not empty.
func JoinSentences(parts ...string) string {
	var said []string
	for _, s := range parts {
		if s != "" {
			said = append(said, s)
		}
	}
	return strings.Join(said, "; ")
}
