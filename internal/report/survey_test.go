package report

import (
	"io"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// Invented panels by tape (sample): five corners with A-D read 15 mm long; four corners with one diagonal.
const (
	tapedWrong     = "corners: [ A, B, C, D, E ], lengths: { A-B: 800, B-C: 509.9, C-D: 583.1, D-E: 570.1, E-A: 452.8, A-C: 1029.6, A-D: 909.4, B-D: 894.4 ± 2 mm, B-E: 961.8 }"
	tapedUnchecked = "corners: [ A, B, C, D ], lengths: { A-B: 862, B-C: 641, C-D: 858, D-A: 650, A-C: 1080.6 }, tape: ± 1 mm"
)

// taped is the hand-made lid with the survey of another panel beside it: what is shown of a survey rests on nothing else.
func taped(t *testing.T, survey string) *setout.Plan {
	t.Helper()
	j, faults := job.Read("job.yaml", []byte(`job: { name: tape (sample), units: mm, drills: any size }
panels:
  - name: Lid
    outline: { survey: { `+survey+` } }
    outer: { material: grp_csm30, thickness: 2.5 mm }
    inner: { material: al5754h22, thickness: 1.5 mm }
    supports: [ { flange: [ A-B ], width: 36 } ]
`), nil)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	p := asRead(settled())
	p.Panels[0].Job.Survey = j.Panels[0].Survey
	setout.Finish(p)
	return p
}

// The part of the page that shows a survey, as a reader sees it; the warning stands at the head of the page too.
func TestSurveyOnPage(t *testing.T) {
	for name, survey := range map[string]string{"survey.html": tapedWrong, "survey-unchecked.html": tapedUnchecked} {
		page := text(t, func(w io.Writer) error { return HTML(w, taped(t, survey)) })
		from := strings.Index(page, "<h3>The outline, by tape</h3>")
		if from < 0 {
			t.Fatalf("%s: the page shows no survey", name)
		}
		to := from + strings.Index(page[from:], "<h3>Chosen")
		golden(t, name, page[from:to])
		head := page[:strings.Index(page, "<section")]
		if warned := strings.Contains(head, "What must be measured again") && strings.Contains(head, "Length A-D"); warned != (survey == tapedWrong) {
			t.Errorf("%s: the head of the page warns: %v", name, warned)
		}
	}
	if page := text(t, func(w io.Writer) error { return HTML(w, settled()) }); strings.Contains(page, "The outline, by tape") {
		t.Error("a panel that was not surveyed shows a survey")
	}
}

// Every verdict has its mark, and a tape's default is among what the plan rests on.
func TestSurveyWords(t *testing.T) {
	for _, v := range []string{job.SurveyAgrees, job.SurveySuspect, job.SurveyOneOf, job.SurveyWaits, job.SurveyUnchecked} {
		if surveyMarks[v][1] == "" {
			t.Errorf("%q has no mark", v)
		}
	}
	for survey, want := range map[string]bool{tapedWrong: true, tapedUnchecked: false} {
		found := false
		for _, a := range taped(t, survey).Assumptions {
			found = found || a.ID == setout.RestsSurveyTape && a.Value == "± 1.50 mm"
		}
		if found != want {
			t.Errorf("tape assumed: %v, want %v", found, want)
		}
	}
	for v, want := range map[float64]string{-3: "-3.00", 3: "+3.00", 0: "0.00", -0.001: "0.00"} {
		shown := strings.TrimPrefix(want, "-")
		if got := signed(strings.TrimPrefix(shown, "+"), v); got != want {
			t.Errorf("%v is shown as %s, want %s", v, got, want)
		}
	}
}
