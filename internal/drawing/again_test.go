package drawing

import (
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/job"
	"panelwright/internal/outline"
	"panelwright/internal/sheet"
)

// What must be measured again stands in bold on the overview of its panel, seen from outside and from behind, and on no other.
func TestAgainOnOverview(t *testing.T) {
	plan := decided.Drawn("A4")
	plan.Panels[0].Job.Imported = &job.Imported{File: "edge.csv", Developed: &outline.Developed{Ruled: 3.25}}
	for _, draw := range []func() ([]sheet.Sheet, error){
		func() ([]sheet.Sheet, error) { return Templates(plan) }, func() ([]sheet.Sheet, error) { return TemplatesBehind(plan) },
	} {
		sheets, err := draw()
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range sheets {
			bold := ""
			for _, it := range s.Items {
				if x, ok := it.(sheet.Text); ok && x.Font == sheet.Bold {
					bold += x.S + " "
				}
			}
			if got := strings.Contains(bold, Again) && strings.Contains(bold, "3.25 mm off the cylinder"); got != (i == 0) {
				t.Errorf("%s: the warning stands there: %v", s.Title, got)
			}
		}
	}
}
