package plate

import (
	"errors"
	"math/rand/v2"
	"testing"
)

// Descent alone finds what the search by blocks finds: the same answer, or that nothing holds. Now and then it stands still on
// rounding first.
func TestContactDescent(t *testing.T) {
	held, loose, rounded := 0, 0, 0
	for seed := range uint64(1500) {
		r := rand.New(rand.NewPCG(seed, 23))
		n := 3 + r.IntN(30)
		c := endlessCase(r, n, 100)
		want, errWant := c.solve(nil)
		k, err := NewCompliance(c.s, c.laws, c.at)
		if err != nil {
			t.Fatal(err)
		}
		k.bound = 0
		got, err := k.Solve(c.f, c.laws, nil)
		var off *NotHeld
		var late *NotConverged
		switch {
		case errors.As(err, &late) && late.Residual < 1e-6:
			rounded++
		case (err == nil) != (errWant == nil):
			t.Errorf("seed %d, %d points: %v, by blocks %v", seed, n, err, errWant)
		case errors.As(err, &off):
			loose++
		case err != nil:
			t.Errorf("seed %d, %d points: %v", seed, n, err)
		default:
			held++
			if e := c.fault(got.W, got.Force, 1e-9); e != nil {
				t.Errorf("seed %d, %d points: %v", seed, n, e)
			}
			if d := contactFar(got.Force, want.Force); d > 1e-7 {
				t.Errorf("seed %d, %d points: forces %.3g apart", seed, n, d)
			}
		}
	}
	if held < 500 || loose < 100 || rounded > 15 {
		t.Errorf("%d held, %d not, %d stuck on rounding", held, loose, rounded)
	}
	t.Logf("%d held, %d not, %d stuck on rounding", held, loose, rounded)
}
