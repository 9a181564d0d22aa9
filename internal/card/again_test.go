package card

import (
	"bytes"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/drawing"
	"panelwright/internal/job"
	"panelwright/internal/outline"
	"panelwright/internal/sheet"
)

// What must be measured again stands at the head of the panel's card, on paper and on the page, and on no other card.
func TestAgainAtHead(t *testing.T) {
	plan := decided.Drawn("A4")
	plan.Panels[0].Job.Imported = &job.Imported{File: "edge.csv", Developed: &outline.Developed{Ruled: 3.25}}
	for i, p := range plan.Panels {
		first, bold := cardPages(plan, p, sheet.A4)[0], ""
		for _, it := range first.Items {
			if x, ok := it.(sheet.Text); ok && x.Font == sheet.Bold {
				bold += x.S + " "
			}
		}
		var page bytes.Buffer
		if err := HTML(&page, plan, p); err != nil {
			t.Fatal(err)
		}
		head, _, _ := strings.Cut(page.String(), `id="fitted"`)
		for what, s := range map[string]string{"card.pdf": bold, "card.html": head} {
			if got := strings.Contains(s, drawing.Again) && strings.Contains(s, "3.25 mm off"); got != (i == 0) {
				t.Errorf("%s of %s: the warning stands there: %v", what, p.Job.Name, got)
			}
		}
	}
}
