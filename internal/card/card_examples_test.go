package card

import (
	"testing"

	"panelwright/internal/exampleplan"
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
