package card

import (
	"strings"
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/exampleplan"
	"panelwright/internal/jig"
	"panelwright/internal/sheet"
)

func wordsOf(sheets []sheet.Sheet) string {
	out := ""
	for _, s := range sheets {
		for _, x := range drawing.TextsOf(s.Items) {
			out += x.S + " "
		}
	}
	return strings.Join(strings.Fields(out), " ")
}

// Card, jigs and templates say the same of how holes are marked, whichever way the job states.
func TestMarkingAgrees(t *testing.T) {
	plan := exampleplan.All(t, "../..")["01-sprint"]
	for marking, want := range map[string]struct {
		alone, zone bool
	}{"match": {false, true}, "template": {true, true}, "jig": {true, false}} {
		j := *plan.Job
		j.Conditions.Marking = marking
		p := *plan
		p.Job = &j
		var text [3]string
		for i, draw := range []func() ([]sheet.Sheet, error){
			func() ([]sheet.Sheet, error) { return Pages(&p) }, func() ([]sheet.Sheet, error) { return jig.Pages(&p) }, func() ([]sheet.Sheet, error) { return drawing.Templates(&p) },
		} {
			sheets, err := draw()
			if err != nil {
				t.Fatal(err)
			}
			text[i] = wordsOf(sheets)
		}
		if got := strings.Contains(text[1], "Each sheet by itself"); got != want.alone || strings.Contains(text[1], "Clamp the panels") == want.alone {
			t.Errorf("%s: jigs.pdf marks each sheet by itself: %v", marking, got)
		}
		if got := strings.Contains(text[0], "Each sheet by itself, as marked"); got != want.alone || !strings.Contains(text[0], "Jigs, in jigs.pdf: ") {
			t.Errorf("%s: the card marks each sheet by itself: %v; or it names no jigs", marking, got)
		}
		if got := strings.Contains(text[2], "marked from paper lies within"); got != want.zone || strings.Contains(text[2], "clamped together") == want.alone {
			t.Errorf("%s: templates.pdf states the zone of paper: %v", marking, got)
		}
	}
}
