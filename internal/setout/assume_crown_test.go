package setout

import (
	"strings"
	"testing"

	"panelwright/internal/job"
)

// What a plan rests on says of the crown what the job says.
func TestAssumeCrown(t *testing.T) {
	for _, c := range []struct {
		crown job.Crown
		want  string
	}{{job.Crown{}, "the job states no crown"}, {job.Crown{Along: 30}, "serves marking out alone"}, {job.Crown{Across: 5}, "serves marking out alone"}} {
		p := &Plan{Job: &job.Job{}, Panels: []*Panel{{Job: &job.Panel{}}, {Job: &job.Panel{Crown: c.crown}}}}
		found := ""
		for _, a := range assumeList(p) {
			if a.ID == RestsSheetFlat {
				found = a.Text
			}
		}
		if !strings.Contains(found, c.want) || strings.Contains(found, "states no crown") != (c.crown == job.Crown{}) {
			t.Errorf("%+v: %q", c.crown, found)
		}
	}
}
