package marking

import (
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/drawing"
	"panelwright/internal/job"
	"panelwright/internal/outline"
	"panelwright/internal/sheet"
)

func boldText(s sheet.Sheet) string {
	bold := ""
	for _, it := range s.Items {
		if x, ok := it.(sheet.Text); ok && x.Font == sheet.Bold {
			bold += x.S + " "
		}
	}
	return bold
}

// What must be measured again stands at the foot of every page of strips, in full or, where it would take the page, by the panels'
// names; a cutting drawing, whose letters are outlines, has more of them than without.
func TestAgainOnStripsAndCuts(t *testing.T) {
	plan := decided.Drawn("A4")
	plain, err := Cuttings(plan)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"edge.csv", strings.Repeat("edge", 200) + ".csv"} {
		plan.Panels[0].Job.Imported = &job.Imported{File: name, Developed: &outline.Developed{Ruled: 3.25}}
		sheets, err := Strips(plan)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sheets {
			if bold := boldText(s); !strings.Contains(bold, drawing.Again) || !strings.Contains(bold, plan.Panels[0].Job.Name) || strings.Contains(bold, "3.25 mm off") != (name == "edge.csv") {
				t.Errorf("%s: %s", s.Title, bold)
			}
		}
	}
	cuts, err := Cuttings(plan)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range cuts {
		if more := len(c.Sheet.Items) > len(plain[i].Sheet.Items)+100; more != (c.Panel == plan.Panels[0].Job.ID) || len(cuts) != len(plain) {
			t.Errorf("%s: the warning stands there: %v", c.Name, more)
		}
	}
}
