package report

import (
	"math"

	"panelwright/internal/setout"
)

type jsonSurvey struct {
	Corners  []jsonSurveyCorner `json:"corners"`
	Lengths  []jsonSurveyLength `json:"lengths"`
	Freedom  int                `json:"lengths_to_spare"`
	ChiSq    *float64           `json:"chi_square"`
	Limit    *float64           `json:"chi_square_limit"`
	Sigma0   *float64           `json:"sigma_0"`
	Warnings []string           `json:"warnings"`
	Notes    []string           `json:"notes"`
}

type jsonSurveyCorner struct {
	Name     string   `json:"name"`
	XMM      float64  `json:"x_mm"`
	YMM      float64  `json:"y_mm"`
	MajorMM  *float64 `json:"ellipse_major_mm"`
	MinorMM  *float64 `json:"ellipse_minor_mm"`
	MajorDeg float64  `json:"ellipse_deg"`
}

type jsonSurveyLength struct {
	Name       string   `json:"name"`
	MeasuredMM float64  `json:"measured_mm"`
	StdUncMM   float64  `json:"standard_uncertainty_mm"`
	AdjustedMM float64  `json:"adjusted_mm"`
	ResidualMM float64  `json:"residual_mm"`
	Redundancy float64  `json:"redundancy"`
	Standard   *float64 `json:"standardised_residual"`
	Misclosure *float64 `json:"misclosure_mm"`
	Findable   *float64 `json:"findable_mm"`
	Verdict    string   `json:"verdict"`
}

// fine keeps six decimals: what is left of nought after an adjustment does not show.
func fine(v float64) float64 { return math.Round(v*1e6)/1e6 + 0 }

func numFine(v float64) *float64 { return num(fine(v)) }

// jsonSurveyOf is nil for a panel that was not surveyed.
func jsonSurveyOf(p *setout.Plan, pan *setout.Panel) *jsonSurvey {
	s := pan.Job.Survey
	if s == nil {
		return nil
	}
	r := s.Result
	out := &jsonSurvey{Corners: []jsonSurveyCorner{}, Lengths: []jsonSurveyLength{}, Freedom: r.Freedom,
		Warnings: list(p.Job.SurveyWarnings(pan.Job)), Notes: list(p.Job.SurveyNotes(pan.Job))}
	if r.Freedom > 0 {
		out.ChiSq, out.Limit, out.Sigma0 = numFine(r.ChiSq), numFine(r.Limit), numFine(r.Sigma0)
	}
	for i, c := range r.Corners {
		out.Corners = append(out.Corners, jsonSurveyCorner{s.Corners[i], fine(c.At.X), fine(c.At.Y), numFine(c.Major), numFine(c.Minor), fine(c.Angle * 180 / math.Pi)})
	}
	for i, l := range s.Lengths {
		q := r.Readings[i]
		row := jsonSurveyLength{Name: l.Name, MeasuredMM: fine(l.Measured), StdUncMM: fine(l.StdUnc), AdjustedMM: fine(q.Adjusted),
			ResidualMM: fine(q.Residual), Redundancy: fine(q.Redundancy), Verdict: s.Verdict(i)}
		if q.Checked {
			row.Standard, row.Misclosure, row.Findable = numFine(q.Standard), numFine(q.Misclosure), numFine(q.Findable)
		}
		out.Lengths = append(out.Lengths, row)
	}
	return out
}

// jsonImported is the file that an outline came out of.
type jsonImported struct {
	File     string   `json:"file"`
	UnitMM   float64  `json:"unit_mm"`
	UnitFrom string   `json:"unit_from"`
	Notes    []string `json:"notes"`
}

// jsonImportedOf is nil for a panel whose outline is in the job.
func jsonImportedOf(pan *setout.Panel) *jsonImported {
	m := pan.Job.Imported
	if m == nil {
		return nil
	}
	out := &jsonImported{File: m.File, UnitMM: m.Unit, UnitFrom: m.From, Notes: []string{}}
	for _, n := range m.Notes {
		out.Notes = append(out.Notes, n.String())
	}
	return out
}
