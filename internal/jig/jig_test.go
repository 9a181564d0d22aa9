package jig

import (
	"math"
	"testing"
	"time"

	"panelwright/internal/exampleplan"
)

// Every jig of every example closes, has the volume that lines and arcs give, and its holes lie as the schedule has them.
func TestJigsOfExamples(t *testing.T) {
	for name, p := range exampleplan.All(t, "../..") {
		start := time.Now()
		jigs, left := Gather(p)
		n := 0
		for _, s := range left {
			n += len(s.Stations)
		}
		t.Logf("%s: %d jigs, %d stations without", name, len(jigs), n)
		for _, j := range jigs {
			t.Logf("  %s %s: %d holes, edge %.1f half %.1f pins %d, plate %.0f×%.0f, %v %v", j.Name, j.Hand, len(j.Holes), j.Fence.Distance, j.Fence.Half, len(j.Fence.Pins), j.Plate.Bounds().Width(), j.Plate.Bounds().Height(), j.Serves, j.Notes)
			parts, err := j.Parts()
			if err != nil {
				t.Fatal(err)
			}
			shells, err := j.Shells()
			if err != nil {
				t.Errorf("%s %s: %v", name, j.Name, err)
				continue
			}
			for i, s := range shells {
				if v, want := s.Volume(), parts[i].Volume(); math.Abs(v-want) > 1e-6*want {
					t.Errorf("%s: %s: %g mm³, by closed forms %g", name, parts[i].Name, v, want)
				}
			}
		}
		t.Log(name, time.Since(start))
	}
}
