package report

import (
	_ "embed" // the survey's template
	"fmt"
	"math"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/setout"
)

//go:embed page/survey.html.tmpl
var htmlSurveyTemplate string

// surveyWithin turns the half axis of a standard ellipse into that of one which holds the corner with a chance of 95 %: √χ² of
// two degrees of freedom, √(−2 ln 0.05).
var surveyWithin = math.Sqrt(-2 * math.Log(0.05))

// htmlSurvey is how the outline was taken with a tape.
type htmlSurvey struct {
	Warnings, Notes []string
	Sum             string
	Lengths         []htmlSurveyLength
	Corners         []htmlSurveyCorner
}

type htmlSurveyLength struct{ Name, Measured, Tape, Adjusted, Residual, Standard, Misclosure, Findable, Class, Mark, Verdict string }

type htmlSurveyCorner struct{ Name, X, Y, Within string }

// Marks of a length's verdict; the words are job's.
var surveyMarks = map[string][2]string{ // class, mark
	"agrees with the others":           {"v-holds", "✓"},
	"not checked by any other":         {"v-unknown", "?"},
	"suspected of a gross error":       {"v-fails", "✗"},
	"to be judged when that is mended": {"v-unknown", "?"},
	"one of those suspected":           {"v-fails", "!"},
}

// htmlSurveyOf is nil for a panel that was not surveyed.
func htmlSurveyOf(p *setout.Plan, pan *setout.Panel) *htmlSurvey {
	s := pan.Job.Survey
	if s == nil {
		return nil
	}
	r := s.Result
	out := &htmlSurvey{Warnings: p.Job.SurveyWarnings(pan.Job), Notes: p.Job.SurveyNotes(pan.Job)}
	needed := len(s.Lengths) - r.Freedom
	out.Sum = fmt.Sprintf("%d lengths fix %d corners; %d would do, so none is to spare and none is checked.", len(s.Lengths), len(s.Corners), needed)
	if r.Freedom > 0 {
		fit := "they agree as well as the tape promises"
		if r.ChiSq > r.Limit {
			fit = "they agree worse than the tape promises"
		}
		out.Sum = fmt.Sprintf("%d lengths fix %d corners; %d would do, so %d to spare. As a whole %s: the squares of what was put right, each by its standard uncertainty, add up to %s; of sound surveys 19 in 20 stay below %s.",
			len(s.Lengths), len(s.Corners), needed, r.Freedom, fit, measure.Fixed(r.ChiSq, 2), measure.Fixed(r.Limit, 2))
	}
	for i, l := range s.Lengths {
		q := r.Readings[i]
		row := htmlSurveyLength{Name: l.Name, Measured: tableMM(p, l.Measured), Tape: tableMM(p, l.StdUnc), Adjusted: tableMM(p, q.Adjusted),
			Residual: signedMM(p, q.Residual), Standard: "–", Misclosure: "–", Findable: "none", Verdict: s.Verdict(i)}
		if q.Checked {
			row.Standard, row.Misclosure, row.Findable = signed(measure.Fixed(math.Abs(q.Standard), 2), q.Standard), signedMM(p, q.Misclosure), tableMM(p, q.Findable)
		}
		if !p.Job.Inch { // a number and its unit stay on one line
			for _, cell := range []*string{&row.Measured, &row.Tape, &row.Adjusted, &row.Residual, &row.Misclosure, &row.Findable} {
				*cell = strings.ReplaceAll(*cell, " ", "\u00a0")
			}
		}
		mark := surveyMarks[row.Verdict]
		row.Class, row.Mark = mark[0], mark[1]
		out.Lengths = append(out.Lengths, row)
	}
	for i, c := range r.Corners {
		row := htmlSurveyCorner{Name: s.Corners[i], X: tableMM(p, c.At.X), Y: tableMM(p, c.At.Y), Within: tableMM(p, surveyWithin*c.Major)}
		switch i {
		case 0:
			row.Within = "held: the origin"
		case 1:
			row.Within += " along x; y is held"
		}
		out.Corners = append(out.Corners, row)
	}
	return out
}

// signed puts a sign before the figures of |v|; none where they show nought.
func signed(figures string, v float64) string {
	nought := true
	for _, c := range figures {
		if c >= '1' && c <= '9' {
			nought = false
		}
	}
	switch {
	case nought:
		return figures
	case v < 0:
		return "-" + figures
	}
	return "+" + figures
}

func signedMM(p *setout.Plan, v float64) string { return signed(tableMM(p, math.Abs(v)), v) }

// htmlSurveys lists what must be measured again before anything is cut, of every panel, for the head of the page.
func htmlSurveys(p *setout.Plan) []string {
	var out []string
	for _, pan := range p.Panels {
		for _, w := range p.Job.MeasureAgain(pan.Job) {
			out = append(out, pan.Job.Name+": "+w)
		}
	}
	return out
}
