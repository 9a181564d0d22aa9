package marking

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/exampleplan"
	"panelwright/internal/sheet"
)

func TestStripsOfExamples(t *testing.T) {
	for name, plan := range exampleplan.All(t, "../..") {
		for _, paper := range []string{"A4", "A3", "Letter"} {
			plan.Job.Paper = paper
			sheets, _, err := StripPages(plan)
			if err != nil {
				t.Fatal(err)
			}
			look(t, name+"-strips-"+paper, sheets)
		}
	}
}

// look writes sheets where somebody wants to see them.
func look(t *testing.T, name string, sheets []sheet.Sheet) {
	t.Helper()
	dir := os.Getenv("PANELWRIGHT_LOOK")
	if dir == "" {
		return
	}
	var b bytes.Buffer
	err := sheet.WritePDF(&b, sheets, sheet.Info{Title: name})
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, name+".pdf"), b.Bytes(), 0o644)
	}
	if err != nil {
		t.Error(err)
	}
}

func TestPaperX(t *testing.T) {
	for name, plan := range exampleplan.All(t, "../..") {
		for _, paper := range []string{"A4", "A3", "Letter"} {
			plan.Job.Paper = paper
			sheets, _, _ := StripPages(plan)
			_, infos, _ := drawing.TemplatePages(plan)
			t.Log(name, paper, len(sheets), len(infos))
		}
	}
}
