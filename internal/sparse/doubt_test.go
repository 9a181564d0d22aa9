package sparse

import (
	"errors"
	"math"
	"slices"
	"testing"
)

// bending is a grid of deflections that resists second differences and twist, as a plate does: what is free moves rigidly in three
// ways, without any energy.
func bending(nx, ny int) (Shape, [][]float64) {
	s := lattice(nx, ny, 1)
	s.Elements = nil
	var ke [][]float64
	add := func(v []float64, nodes ...int32) {
		m := make([]float64, len(v)*len(v))
		for i := range v {
			for j := range v {
				m[i*len(v)+j] = v[i] * v[j]
			}
		}
		s.Elements, ke = append(s.Elements, nodes), append(ke, m)
	}
	for y := range int32(ny) {
		for x := range int32(nx) {
			g, row := y*int32(nx)+x, int32(nx)
			if x+2 < row {
				add([]float64{1, -2, 1}, g, g+1, g+2)
			}
			if y+2 < int32(ny) {
				add([]float64{1, -2, 1}, g, g+row, g+2*row)
			}
			if x+1 < row && y+1 < int32(ny) {
				add([]float64{1, -1, -1, 1}, g, g+1, g+row, g+row+1)
			}
		}
	}
	return s, ke
}

// A sheet that floats, or is held at too few points, is told from one on soft springs, whatever rounding leaves.
func TestFloatingSheet(t *testing.T) {
	for _, size := range [][2]int{{9, 7}, {30, 21}, {64, 50}, {110, 90}} {
		nx, ny := size[0], size[1]
		s, ke := bending(nx, ny)
		corners := []int32{0, int32(nx - 1), int32(nx * (ny - 1)), int32(nx*ny - 1)}
		for held := range 5 {
			s.Keep = corners[:held]
			p := analyse(t, s)
			a := p.NewMatrix()
			for e := range ke {
				a.AddElement(e, ke[e])
			}
			for _, indefinite := range []bool{false, true} {
				f, err := p.Factor(a, Options{Indefinite: indefinite})
				var e *NotPositive
				if held < 3 {
					if !errors.As(err, &e) {
						t.Errorf("%d × %d, %d kept: %v, want *NotPositive", nx, ny, held, err)
					}
					continue
				}
				if err != nil {
					t.Fatalf("%d × %d, %d kept: %v", nx, ny, held, err)
				}
				// Three points carry no load of their own, four resist twist alone.
				if err := f.Solve(make([]float64, p.n)); !errors.As(err, &e) || !slices.Contains(s.Keep, int32(e.Unknown)) {
					t.Errorf("%d × %d, %d kept: Solve gives %v, want *NotPositive at a kept unknown", nx, ny, held, err)
				}
			}
			for i, u := range corners[:3] {
				a.Add(int(u), int(u), 1e-4*float64(i+1))
			}
			f, err := p.Factor(a, Options{})
			if err != nil {
				t.Fatalf("%d × %d on soft springs, %d kept: %v", nx, ny, held, err)
			}
			// A load of one at the fourth corner: springs carry 1, 1 and −1 of it.
			x := make([]float64, p.n)
			x[corners[3]] = 1
			if err := f.Solve(x); err != nil {
				t.Fatal(err)
			}
			for i, want := range []float64{-1, 1, 1} {
				if got := 1e-4 * float64(i+1) * x[corners[i]]; math.Abs(got-want) > 1e-4 {
					t.Errorf("%d × %d, %d kept: spring %d carries %g, want %g", nx, ny, held, i, got, want)
				}
			}
		}
	}
}
