package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/report"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// wrong frames what does not hold: a card for such a panel must say so before anything else.
func (f *cardFlow) wrong(w *cardWork) {
	lines, unknown := w.wrong()
	if again := w.plan.Job.MeasureAgain(w.panel.Job); len(again) > 0 {
		f.framed(0, func(f *cardFlow, in float64) {
			f.para(in, f.big, sheet.Bold, drawing.Again)
			for _, l := range again {
				f.para(in, f.body, sheet.Bold, "– "+l)
			}
		})
	}
	if len(lines) > 0 {
		f.framed(0, func(f *cardFlow, in float64) {
			f.para(in, f.big, sheet.Bold, cardWrongTitle)
			for _, l := range lines {
				f.para(in, f.body, sheet.Regular, "– "+l)
			}
		})
	}
	if doubt := w.doubtful(); len(doubt) > 0 {
		f.framed(0, func(f *cardFlow, in float64) {
			f.para(in, f.big, sheet.Bold, cardDoubtTitle)
			f.para(in, f.body, sheet.Regular, cardDoubtWords)
			for _, l := range doubt {
				f.para(in, f.body, sheet.Regular, "– "+l)
			}
		})
	}
	if unknown > 0 {
		f.para(0, f.body, sheet.Regular, cardUnknownWords(unknown))
		f.y += f.k
	}
}

// What stands at the head of a card when something does not hold, or may not.
const (
	cardWrongTitle = "Does not hold as planned: do not build from this card"
	cardDoubtTitle = "Do not drive on it before this is known"
	cardDoubtWords = "By an estimate, or an assumed spread, these miss their limit:"
)

func cardUnknownWords(n int) string {
	return fmt.Sprintf("Not known: %d kind%s of check that no model here can decide. plan.html lists them; not known is not the same as good.", n, drawing.Plural(n))
}

// wrong is all that does not hold, a sentence each, and how many kinds of check are not known.
func (w *cardWork) wrong() (lines []string, unknown int) {
	lines = slices.Clone(w.panel.Faults)
	failing, unknown := w.failing()
	lines = append(lines, failing...)
	for _, k := range w.plan.Judge {
		if k.Panel == w.panel.Job.Name || k.Panel == w.panel.Job.ID {
			lines = append(lines, report.JoinSentences("the judge disagrees", "station "+k.Station, k.Check, k.Text))
		}
	}
	return lines, unknown
}

// doubtful gives a sentence for each kind of check that is not known but misses its limit by an estimate.
func (w *cardWork) doubtful() []string {
	var out []string
	for _, d := range setout.Doubts(w.panel) {
		where := "the panel as a whole"
		if d.Station != nil {
			where = "station " + d.Station.ID
		}
		out = append(out, report.DoubtWords(d, where))
	}
	return out
}

// failing gives a sentence for each kind of check that does not hold, at its worst place, with what would cure it there; and
// how many kinds are not known somewhere.
func (w *cardWork) failing() (lines []string, unknown int) {
	type worst struct {
		k     setout.Check
		where string
		n     int
	}
	var order []*worst
	missing := map[string]bool{}
	add := func(checks []setout.Check, where string) {
		for _, k := range checks {
			if k.Verdict == setout.NotKnown {
				missing[k.ID] = true
			}
			if k.Verdict != setout.DoesNotHold {
				continue
			}
			i := slices.IndexFunc(order, func(f *worst) bool { return f.k.ID == k.ID })
			if i < 0 {
				i = len(order)
				order = append(order, &worst{k, where, 0})
			} else if report.Worse(k, order[i].k) {
				order[i].k, order[i].where = k, where
			}
			order[i].n++
		}
	}
	add(w.panel.Checks, "")
	for _, st := range w.panel.Stations {
		add(st.Checks, "station "+st.ID)
	}
	for _, f := range order {
		words := f.k.Name
		if !f.k.NoNumber {
			words += fmt.Sprintf(": %s, must be %s %s %s", report.CheckNumber(f.k.Value, f.k.Unit), map[bool]string{true: "≥", false: "≤"}[f.k.AtLeast], report.CheckNumber(f.k.Limit, f.k.Unit), f.k.Unit)
		}
		switch {
		case f.n > 1:
			words += fmt.Sprintf(" (at %d stations, worst at %s)", f.n, f.where)
		case f.where != "":
			words += " (at " + f.where + ")"
		}
		if f.k.Cure != "" {
			words += ": " + f.k.Cure
		}
		lines = append(lines, words)
	}
	return lines, len(missing)
}

// stationTable is filled in by hand at the trial fit: one row for each station, high enough for a pencil.
func (f *cardFlow) stationTable(w *cardWork) {
	k := f.k
	const rowMin = 9.0
	f.need(40 * k)
	f.para(0, f.big, sheet.Bold, cardStationTitle)
	t := sheet.Table{RowMin: rowMin * k, Strong: []bool{true}, Columns: []sheet.Column{
		{Title: "st.", Width: w.idWidth()}, {Title: "where: tape along the edge, inset", Width: 38}, {Title: "T plan", Width: 16}, {Title: "shims plan", Width: 13.5, Align: sheet.Centre},
		{Title: "deflection plan, range", Width: 24}, {Title: "stack found", Width: 15}, {Title: "depth found", Width: 15},
		{Title: "shims used", Width: 13.5}, {Title: "easy", Width: 11.5}, {Title: "firm", Width: 11}, {Title: "hard", Width: 11.5}, {Title: "ok", Width: 10},
	}}
	t.Rows = w.stationRows()
	f.table(0, f.scaled(0, t))
	f.para(0, f.body, sheet.Regular, cardStationWords)
	f.y += 3 * k
}

const (
	cardStationTitle = "Stations, as found at the trial fit"
	cardStationWords = "Lengths in mm. Easy, firm, hard: how it turns; tick one. Tick ok when it closes and opens again as it should."
)

// stationRows are the stations as planned: id, place by the tape, stack, shims, deflection and its range.
func (w *cardWork) stationRows() (rows [][]string) {
	for _, st := range w.panel.Stations {
		row := []string{st.ID, w.where(st), "–", "–", "–"}
		if len(st.Stack.Terms) > 0 {
			row[2] = measure.Fixed(st.Stack.Nom, 2)
			if w.plan.Job.Inch {
				row[2] += "\n" + strings.ReplaceAll(measure.Inch(st.Stack.Nom), " ", "\u00a0")
			}
		}
		if st.Choice != nil {
			row[3] = fmt.Sprint(st.Shims)
			row[4] = "by the list"
			if cardBand(st.Close) {
				row[4] = measure.Fixed(st.Close.Delta, 2) + "\n" + measure.Fixed(st.Close.DeltaLo, 2) + "–" + measure.Fixed(st.Close.DeltaHi, 2)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// idWidth is the width of the column of stations on A4, mm: as the longest of their words asks, within reason.
func (w *cardWork) idWidth() float64 {
	const least, most, pads = 10.5, 24.0, 3.0
	wide := least
	for _, st := range w.panel.Stations {
		for _, word := range strings.Fields(st.ID) {
			wide = math.Max(wide, sheet.TextWidth(word, sheet.Letters25, sheet.Bold)+pads)
		}
	}
	return math.Min(wide, most)
}

// where says how a tape finds a station.
func (w *cardWork) where(st *setout.Station) string {
	t := drawing.TapeOf(w.panel, st)
	switch {
	case t.Edge == "":
		return "x " + w.tape(t.Along) + ", y " + w.tape(t.In)
	case t.Beside != "":
		return w.tape(t.In) + " square from edge " + t.Edge + "\n" + w.tape(t.Along) + " square from edge " + t.Beside
	}
	return "edge " + t.Edge + ": " + w.tape(t.Along) + "\ninset " + w.tape(t.In)
}
