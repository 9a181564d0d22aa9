package form

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"panelwright/internal/edit"
	"panelwright/internal/job"
)

// Every fault of the fault files that is a panel's stands in the form of that panel, at a field or the group around it, once
// at the top and once below, and leads there.
func TestFaultsLand(t *testing.T) {
	files, err := filepath.Glob("../../testdata/faults/*.yaml")
	if err != nil || len(files) < 100 {
		t.Fatal(len(files), err)
	}
	atField, landed := 0, 0
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		d, err := edit.Open(text)
		if err != nil {
			continue // faults of the YAML are the text's
		}
		j, faults := job.Read("job.yaml", text, func(string) ([]byte, error) { return nil, errors.New("no file of that name") })
		if j == nil {
			continue
		}
		for _, p := range j.Panels {
			index, pan := PanelIndex(d, j, p.ID)
			if pan != p {
				continue // a second panel of that name: the first has the address
			}
			asked := New(d, j, index, pan, nil, nil)
			asked.Lay(faults)
			if len(asked.Bad)+len(asked.Elsewhere) != len(faults) {
				t.Errorf("%s: %d faults, %d of the form and %d elsewhere", file, len(faults), len(asked.Bad), len(asked.Elsewhere))
			}
			shown := 0
			asked.Each(func(g *Group) {
				shown += len(g.Faults)
				for _, f := range g.Fields {
					shown += len(f.Faults)
				}
			})
			if shown != len(asked.Bad) {
				t.Errorf("%s: %d faults, %d shown at their places", file, len(asked.Bad), shown)
			}
			for _, f := range asked.Bad {
				landed++
				if strings.HasPrefix(f.ID, "f-") {
					atField++
				} else if f.ID == asked.Sections[0].ID {
					t.Errorf("%s: %s fell to the panel as a whole", file, f.Path)
				}
			}
		}
	}
	if landed < 90 || atField < 70 {
		t.Errorf("%d faults landed, %d at a field", landed, atField)
	}
}
