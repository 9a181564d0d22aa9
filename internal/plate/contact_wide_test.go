package plate

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
)

// Larger interfaces, stiffnesses from 1e-6 to 1e6 of one another: an answer is one, by its laws and its balance, or there is none;
// the order of the points and the units of length and force do not matter, nor where the search starts.
func TestContactWide(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	held, rounded := 0, 0
	for trial := range 1500 {
		n := 3 + r.IntN(40)
		spread := []float64{3, 100, 1e3, 1e6}[trial%4]
		c := contactRandom(r, n, spread)
		if trial%3 == 0 {
			for i := range n { // pressed on supports: many close
				c.f[i] -= 100
			}
		}
		a, err := c.solve(nil)
		var no *NotHeld
		if spread == 1e6 && contactRounded(err) {
			rounded++
			continue
		}
		if err != nil && !errors.As(err, &no) {
			t.Fatalf("trial %d, %d points, spread %g: %v", trial, n, spread, err)
		}
		if err == nil {
			held++
			if e := c.fault(a.W, a.Force, 1e-9); e != nil {
				t.Fatalf("trial %d, %d points, spread %g: %v", trial, n, spread, e)
			}
		}
		for name, d := range map[string]contactCase{"other order": c.shuffled(r.Perm(n)), "other units": c.scaled(1024, 0.125)} {
			b, errB := d.solve(nil)
			if spread == 1e6 && contactRounded(errB) {
				rounded++
				continue
			}
			if (err == nil) != (errB == nil) {
				t.Fatalf("trial %d, %d points, spread %g, %s: %v and %v", trial, n, spread, name, err, errB)
			}
			if err == nil {
				if e := d.fault(b.W, b.Force, 1e-9); e != nil {
					t.Fatalf("trial %d, %d points, spread %g, %s: %v", trial, n, spread, name, e)
				}
			}
		}
		start := &Answer{W: make([]float64, n), Piece: make([]int32, n)}
		for i := range n {
			start.W[i], start.Piece[i] = r.NormFloat64()*10, int32(r.IntN(4))
		}
		b, errB := c.solve(start)
		if spread == 1e6 && contactRounded(errB) {
			rounded++
			continue
		}
		if (err == nil) != (errB == nil) {
			t.Fatalf("trial %d, %d points, spread %g: %v, from elsewhere %v", trial, n, spread, err, errB)
		}
		if err == nil {
			if e := c.fault(b.W, b.Force, 1e-9); e != nil {
				t.Fatalf("trial %d, %d points, spread %g, from elsewhere: %v", trial, n, spread, e)
			}
		}
	}
	if held < 1000 || rounded > 30 {
		t.Errorf("%d of 1500 held, %d lost to rounding", held, rounded)
	}
}

// contactRounded says that rounding stood in the way of an answer, as it may where stiffnesses are 1e12 apart.
func contactRounded(err error) bool {
	var late *NotConverged
	return errors.As(err, &late) && late.Residual < 1e-6
}

// shuffled is the same with the points in another order.
func (c contactCase) shuffled(order []int) contactCase {
	n := len(order)
	d := contactCase{s: make([]float64, n*n)}
	for i, a := range order {
		d.f, d.laws, d.at = append(d.f, c.f[a]), append(d.laws, c.laws[a]), append(d.at, c.at[a])
		for j, b := range order {
			d.s[i*n+j] = c.s[a*n+b]
		}
	}
	return d
}

// scaled is the same with forces times force and lengths times length.
func (c contactCase) scaled(force, length float64) contactCase {
	d := contactCase{at: c.at}
	for _, v := range c.s {
		d.s = append(d.s, v*force/length)
	}
	for i, l := range c.laws {
		d.f = append(d.f, c.f[i]*force)
		k := slices.Clone(l.Knots)
		for j := range k {
			k[j] = Knot{k[j].W * length, k[j].F * force}
		}
		d.laws = append(d.laws, Law{Knots: k, Before: l.Before * force / length, After: l.After * force / length})
	}
	return d
}
