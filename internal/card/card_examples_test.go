package card

import (
	"strings"
	"testing"

	"panelwright/internal/exampleplan"
	"panelwright/internal/sheet"
)

// The examples' cards: texts stand free on every paper, every caution has its place in the order of work.
func TestCardsOfExamples(t *testing.T) {
	for name, p := range exampleplan.All(t, "../..") {
		for _, c := range p.Cautions {
			if len(cardCautionStages[c.ID]) == 0 {
				t.Errorf("%s: caution %s has no place on the card", name, c.ID)
			}
		}
		for _, paper := range []string{"A4", "A3", "Letter"} {
			p.Job.Paper = paper
			sheets, err := Pages(p)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			for i, s := range sheets {
				for _, f := range sheetFaults(s, 10) {
					t.Errorf("%s, %s, page %d (%s): %s", name, paper, i+1, s.Title, f)
				}
			}
		}
	}
}

// A check that holds only by "a step of the card" has that step on the card.
func TestCardHasTheStepsThatChecksCite(t *testing.T) {
	for name, p := range exampleplan.All(t, "../..") {
		sheets, err := Pages(p)
		if err != nil {
			t.Fatal(err)
		}
		words := ""
		for _, s := range sheets {
			for _, it := range s.Items {
				if x, ok := it.(sheet.Text); ok {
					words += x.S + " "
				}
			}
		}
		words = strings.Join(strings.Fields(words), " ")
		for _, pan := range p.Panels {
			for _, st := range pan.Stations {
				for _, k := range st.Checks {
					if strings.Contains(k.Basis, "a step of the card") && !strings.Contains(words, "would touch: "+k.Cure) {
						t.Fatalf("%s, %s station %s: %s cites a step that the card lacks: %s", name, pan.Job.Name, st.ID, k.ID, k.Cure)
					}
				}
			}
		}
	}
}
