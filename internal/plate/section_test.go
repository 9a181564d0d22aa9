package plate

import (
	"math"
	"testing"
)

// A sheet is its formulas: D = E·t³/(12(1−ν²)), S = 5/6·G·t, A = E·t/(1−ν²).
func TestSheet(t *testing.T) {
	s := Sheet(68900, 0.33, 1.5, 2.7e-9)
	// The panel of 6061 at 1.5 mm: D = 21.7463 N·m, computed.
	if math.Abs(s.D[0][0]-21746.3) > 0.05 {
		t.Errorf("D %v", s.D[0][0])
	}
	for _, c := range []struct{ got, want float64 }{
		{s.D[0][1], 0.33 * s.D[0][0]}, {s.D[2][2], 0.335 * s.D[0][0]}, {s.A[0][0], 68900 * 1.5 / (1 - 0.33*0.33)},
		{s.S[1][1], 5. / 6 * 68900 / 2.66 * 1.5}, {s.Mass, 4.05e-9}, {s.Fibres[0].Z, 0.75}, {s.Fibres[1].Z, -0.75},
	} {
		if math.Abs(c.got/c.want-1) > 1e-14 {
			t.Errorf("%v, want %v", c.got, c.want)
		}
	}
	if s.B != [3][3]float64{} {
		t.Errorf("B %v", s.B)
	}
	if err := s.check("section"); err != nil {
		t.Error(err)
	}
}

// Turning a section keeps its energy: of a turned curvature in the turned section as before.
func TestSectionTurned(t *testing.T) {
	s := elementOdd()
	for _, angle := range []float64{0.3, -2, math.Pi / 2} {
		c, n := math.Cos(angle), math.Sin(angle)
		o := s.Turned(angle)
		// The curvature tensor κ turned by the angle, and the shear strain γ.
		k, g := [3]float64{2, -1, 0.7}, [2]float64{0.4, 1.1}
		xx, yy, xy := k[0], k[1], k[2]/2
		kt := [3]float64{c*c*xx - 2*c*n*xy + n*n*yy, n*n*xx + 2*c*n*xy + c*c*yy, 2 * (c*n*(xx-yy) + (c*c-n*n)*xy)}
		gt := [2]float64{c*g[0] - n*g[1], n*g[0] + c*g[1]}
		m, mt := elementTimes(&s.D, &k), elementTimes(&o.D, &kt)
		if a, b := elementDot(&m, &k), elementDot(&mt, &kt); math.Abs(a/b-1) > 1e-14 {
			t.Errorf("%g: bending energy %v and %v", angle, a, b)
		}
		q := func(s Section, g [2]float64) float64 {
			return g[0]*(s.S[0][0]*g[0]+s.S[0][1]*g[1]) + g[1]*(s.S[1][0]*g[0]+s.S[1][1]*g[1])
		}
		if a, b := q(s, g), q(o, gt); math.Abs(a/b-1) > 1e-14 {
			t.Errorf("%g: shear energy %v and %v", angle, a, b)
		}
		if err := o.check("turned"); err != nil {
			t.Error(err)
		}
	}
	// An isotropic sheet has no direction.
	a := Sheet(7000, 0.35, 2.5, 0)
	b := a.Turned(0.7)
	for i := range 3 {
		for j := range 3 {
			if math.Abs(a.D[i][j]-b.D[i][j]) > 1e-14*a.D[0][0] || math.Abs(a.Fibres[0].Q[i][j]-b.Fibres[0].Q[i][j]) > 1e-14*a.Fibres[0].Q[0][0] {
				t.Errorf("entry %d, %d changes", i, j)
			}
		}
	}
}

// Three layers of one material are one sheet.
func TestSandwichOfOne(t *testing.T) {
	l := Layer{E: 7000, Nu: 0.35, Thickness: 1, Density: 1e-9}
	a, b := Sandwich(l, l, 1000), Sheet(7000, 0.35, 3, 1e-9)
	for i := range 3 {
		for j := range 3 {
			if math.Abs(a.D[i][j]-b.D[i][j]) > 1e-14*b.D[0][0] || math.Abs(a.A[i][j]-b.A[i][j]) > 1e-14*b.A[0][0] {
				t.Errorf("entry %d, %d: D %v, %v", i, j, a.D[i][j], b.D[i][j])
			}
		}
	}
	if math.Abs(a.Mass/b.Mass-1) > 1e-15 || a.Thickness != b.Thickness {
		t.Error("mass or thickness")
	}
}
