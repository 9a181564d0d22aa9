package drawing

import (
	"os"
	"path/filepath"
	"testing"

	"panelwright/internal/exampleplan"
)

// The examples draw: every hole on a page, no text over another or off its page.
func TestTemplatesOfExamples(t *testing.T) {
	for name, plan := range exampleplan.All(t, "../..") {
		sheets, infos, err := TemplatePages(plan)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, s := range sheets {
			checkTexts(t, s)
		}
		for _, p := range plan.Panels {
			checkTexts(t, PanelSheet(plan.Job, p, PanelViewFull))
			checkTexts(t, PanelSheet(plan.Job, p, PanelViewMap))
			for _, h := range p.Holes {
				n := 0
				for _, info := range infos {
					if info.Panel == p.Job.ID && info.Tile.Cell.Grow(1e-9).Has(h.At) {
						n++
					}
				}
				if n == 0 {
					t.Errorf("%s %s: hole %d at %v is on no page", name, p.Job.ID, h.No, h.At)
				}
			}
		}
		if dir := os.Getenv("PANELWRIGHT_LOOK"); dir != "" {
			b, err := os.ReadFile(writePDF(t, sheets))
			if err == nil {
				err = os.WriteFile(filepath.Join(dir, name+".pdf"), b, 0o644)
			}
			if err != nil {
				t.Error(err)
			}
		}
	}
}
