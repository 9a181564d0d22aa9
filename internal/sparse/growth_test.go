package sparse

import (
	"errors"
	"strings"
	"testing"
)

// A small pivot in front of entries that are not small: 1/δ is what the factor grows to.
func TestGrowthIsTold(t *testing.T) {
	for _, keep := range [][]int32{nil, {1}, {0, 1}} {
		s := Shape{Start: []int32{0, 2}, X: []float64{0}, Y: []float64{0}, Elements: [][]int32{{0}}, Keep: keep}
		p := analyse(t, s)
		for _, delta := range []float64{1e-3, 1e-9} {
			m := p.NewMatrix()
			m.Add(0, 0, delta)
			m.Add(0, 1, 1)
			m.Add(1, 1, 1)
			f, err := p.Factor(m, Options{Indefinite: true})
			var pos, neg int
			if err == nil {
				pos, neg, err = f.Inertia()
			}
			var e *NotPositive
			if delta < 1/growthLimit {
				if !errors.As(err, &e) || e.Growth < 0.9/delta || e.Unknown != 1 || !strings.Contains(err.Error(), "singular") {
					t.Errorf("kept %v, pivot of %g: %v, %+v", keep, delta, err, e)
				}
			} else if err != nil || pos != 1 || neg != 1 {
				t.Errorf("kept %v, pivot of %g: %d positive, %d negative, %v", keep, delta, pos, neg, err)
			}
		}
	}
}
