package marking

import (
	"testing"

	"panelwright/internal/exampleplan"
)

func TestStickersOfExamples(t *testing.T) {
	for name, plan := range exampleplan.All(t, "../..") {
		for _, paper := range []string{"A4", "A3", "Letter"} {
			plan.Job.Paper = paper
			sheets, _, err := StickerPages(plan)
			if err != nil {
				t.Fatal(err)
			}
			look(t, name+"-stickers-"+paper, sheets)
		}
	}
}
