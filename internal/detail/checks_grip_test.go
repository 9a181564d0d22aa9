package detail

import (
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/worked"
)

// The receptacle's joint by hand: flange 2.00 ± 0.05 mm and foot 1.00 mm, so 2.95 to 3.05 mm.
func TestGripAtTheEndsOfTheLimits(t *testing.T) {
	for _, c := range []struct {
		name     string
		min, max float64
		thick    job.Thickness
		want     setout.Verdict
		value    float64
		cure     string
	}{
		{"room at both ends", 1, 5, job.Thickness{Nom: 2, Half: 0.05}, setout.Holds, 3.05, ""},
		{"nominal on the greatest grip", 1, 3, job.Thickness{Nom: 2, Half: 0.05}, setout.DoesNotHold, 3.05, "longer"},
		{"nominal on the least grip", 3, 5, job.Thickness{Nom: 2, Half: 0.05}, setout.DoesNotHold, 2.95, "shorter"},
		{"both ends", 2.98, 3.02, job.Thickness{Nom: 2, Half: 0.05}, setout.DoesNotHold, 2.95, "2.95 to 3.05"},
		{"exact, on the greatest grip", 1, 3, job.Thickness{Nom: 2}, setout.Holds, 3, ""},
		{"assumed limits", 1, 3, job.Thickness{Nom: 2, Half: 0.05, Assumed: true, Source: "test"}, setout.NotKnown, 3.05, "give inner with its limits"},
		{"not even the nominal serves", 1, 2.9, job.Thickness{Nom: 2, Half: 0.05, Assumed: true, Source: "test"}, setout.DoesNotHold, 3.05, "longer"},
		{"readings", 1, 3.05, job.Thickness{Nom: 2, Readings: []float64{2}, StdUnc: 0.03}, setout.DoesNotHold, 3.06, "longer"},
	} {
		j := worked.Job()
		j.Panels[0].Inner.Thickness = c.thick
		j.Range.Rivets[0].GripMin, j.Range.Rivets[0].GripMax = c.min, c.max
		k := checkNamed(t, settled(j).Panels[0].Stations[0].Checks, "receptacle-rivet-grip")
		near(t, c.name, k.Value, c.value, 1e-9)
		if k.Verdict != c.want || !strings.Contains(k.Cure, c.cure) {
			t.Errorf("%s: %s, %q", c.name, k.Verdict, k.Cure)
		}
	}
}
