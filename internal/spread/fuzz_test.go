package spread

import (
	"math"
	"testing"
)

// FuzzChance builds a sum of up to 20 parts from bytes, kind, exponent and two mantissas each, so that widths differ by up to
// 10¹⁵, and holds it to the laws of chance.
func FuzzChance(f *testing.F) {
	f.Add([]byte{1, 7, 100, 50, 2, 7, 10, 20, 3, 5, 30, 200}, 0.1, 0.9)
	f.Add([]byte{2, 15, 1, 1, 2, 8, 1, 1, 2, 1, 1, 1, 3, 4, 0, 9}, -0.5, 0.5)
	f.Add([]byte{0, 0, 0, 0, 2, 0, 0, 0}, 0.0, 0.0)
	f.Add([]byte{}, -1.0, 1.0)
	f.Fuzz(func(t *testing.T, b []byte, u, v float64) {
		if !(math.Abs(u) < 10 && math.Abs(v) < 10) {
			return // bands far outside say nothing
		}
		var s Sum
		for len(b) >= 4 && len(s) < 20 {
			w := math.Pow(10, float64(b[1]%16)-15) * float64(1+b[2])
			m := float64(b[3])/32 - 4
			switch b[0] % 4 {
			case 0:
				s = append(s, ExactAt(m))
			case 1:
				s = append(s, NormalOf(m, w))
			case 2:
				s = append(s, RectangularOf(m, m+w))
			case 3:
				s = append(s, TriangularOf(m, m+w*float64(b[0]/4)/63, m+w))
			}
			b = b[4:]
		}
		scale := s.SD() + 1e-9
		lo, hi := s.Mean()+scale*min(u, v), s.Mean()+scale*max(u, v)
		below, p, above := s.Chance(math.Inf(-1), lo), s.Chance(lo, hi), s.Chance(hi, math.Inf(1))
		sum := below + p + above
		// Without spread a value on the edge of the band, which is closed, belongs to both sides.
		if !near(sum, 1, 3*Tolerance) && !(s.law().certain() && sum >= 1) {
			t.Errorf("%v in [%g, %g]: %v + %v + %v", s, lo, hi, below, p, above)
		}
		if m := s.Scaled(-1).Chance(-hi, -lo); !near(m, p, 2*Tolerance) {
			t.Errorf("%v in [%g, %g]: %v, mirrored %v", s, lo, hi, p, m)
		}
		// Cantelli's inequality: one-sided, no more than 1/(1 + k²) lies beyond k standard deviations.
		if k := (hi - s.Mean()) / scale; k > 0 && !s.law().certain() && above > 1/(1+k*k)+2*Tolerance {
			t.Errorf("%v: %v lies %v sd above", s, above, k)
		}
	})
}
