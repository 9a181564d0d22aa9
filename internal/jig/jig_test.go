package jig

import (
	"math"
	"testing"

	"panelwright/internal/exampleplan"
)

// Every jig of every example closes, and has the volume that lines and arcs give.
func TestJigsOfExamples(t *testing.T) {
	for name, p := range exampleplan.All(t, "../..") {
		jigs, _ := Gather(p)
		if len(jigs) == 0 {
			t.Errorf("%s: no jigs", name)
		}
		for _, j := range jigs {
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
	}
}
