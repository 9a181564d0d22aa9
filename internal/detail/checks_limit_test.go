package detail

import (
	"testing"

	"panelwright/internal/setout"
)

// A place that was written down and read back is off by less than the length that checks take for none: what held there still holds.
func TestOnItsLimit(t *testing.T) {
	for _, c := range []struct {
		value float64
		want  setout.Verdict
	}{{8, setout.Holds}, {8 - 9e-7, setout.Holds}, {8 - 2e-6, setout.DoesNotHold}, {8.1, setout.Holds}} {
		k := checkAtLeast("edge-distance", "edge distance", c.value, 8, "mm", "a test")
		if k.Verdict != c.want {
			t.Errorf("%.7f mm of 8 mm: %v", c.value, k.Verdict)
		}
	}
	for _, c := range []struct {
		lacks float64
		want  string
	}{{2e-6, "0.1 mm"}, {0.1, "0.1 mm"}, {0.1000001, "0.1 mm"}, {0.11, "0.2 mm"}, {3, "3.0 mm"}} {
		if got := cureMM(c.lacks); got != c.want {
			t.Errorf("%g mm are lacking: move it %s, want %s", c.lacks, got, c.want)
		}
	}
}
