package plate

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// endlessCase is a random interface with points on a raster, which meet, stand on lines, or all on one, and any laws.
func endlessCase(r *rand.Rand, n int, spread float64) contactCase {
	c := contactRandom(r, n, spread)
	line := r.IntN(8) == 0
	for i := range n {
		c.at[i] = [2]float64{float64(r.IntN(13)) * 100, float64(r.IntN(9)) * 100}
		if line {
			c.at[i][1] = 100
		}
	}
	basis := contactRigid(c.at)
	clear(c.s)
	for range n {
		b := make([]float64, n)
		for i := range b {
			b[i] = 10 * r.NormFloat64()
		}
		for range 2 {
			for _, q := range basis {
				contactAdd(-contactDot(b, q), q, b)
			}
		}
		for i := range n {
			contactAdd(b[i], b, c.s[i*n:i*n+n])
		}
	}
	if len(basis) == n { // no other way to move: nothing but rounding
		clear(c.s)
	}
	way := r.IntN(3) // outwards, inwards, either way
	for i := range n {
		if way < 2 {
			c.f[i] = math.Abs(c.f[i]) * float64(1-2*way)
		}
		if r.IntN(6) == 0 {
			c.laws[i] = Steady(float64(r.IntN(5)-2) * 20)
		}
	}
	return c
}

// goes is the greatest work that loads, and the laws' forces far out, do in a rigid motion whose greatest is 1: above nothing the panel
// goes, whatever else. Extreme motions turn about two points, or about one where all stand on a line.
func (c contactCase) goes() float64 {
	n := len(c.f)
	most := math.Inf(-1)
	try := func(m [3]float64) {
		z, top := make([]float64, n), 0.0
		for i, p := range c.at {
			z[i] = m[0] + m[1]*p[0] + m[2]*p[1]
			top = max(top, math.Abs(z[i]))
		}
		for _, way := range []float64{1, -1} {
			work := 0.0
			for i := range n {
				if v := way * z[i] / top; math.Abs(v) > 1e-12 {
					work += (c.f[i] + endlessForce(c.laws[i], v)) * v
				}
			}
			if top > 0 {
				most = max(most, work)
			}
		}
	}
	try([3]float64{1, 0, 0})
	for i, p := range c.at {
		for _, q := range c.at[:i] {
			try([3]float64{p[0]*q[1] - q[0]*p[1], p[1] - q[1], q[0] - p[0]})
		}
		try([3]float64{-p[0], 1, 0})
		try([3]float64{-p[1], 0, 1})
	}
	return most
}

// endlessForce is the force of a law far out.
func endlessForce(l Law, way float64) float64 {
	n := len(l.Knots)
	switch {
	case n == 0:
		return 0
	case way > 0 && l.After < 0:
		return math.Inf(-1)
	case way > 0:
		return l.Knots[n-1].F
	case l.Before < 0:
		return math.Inf(1)
	}
	return l.Knots[0].F
}

// There is an answer exactly where no rigid motion is driven without end; laws and the sheet then hold it. Where there is none, the
// motion named is one of those.
func TestContactEndless(t *testing.T) {
	held, loose := 0, 0
	for _, kind := range []struct {
		n, times int
		spread   float64
	}{{1, 200, 10}, {2, 200, 10}, {3, 500, 100}, {4, 500, 30}, {6, 1500, 30}, {8, 800, 1000}} {
		for seed := range kind.times {
			c := endlessCase(rand.New(rand.NewPCG(uint64(seed), uint64(kind.n))), kind.n, kind.spread)
			a, err := c.solve(nil)
			goes := c.goes()
			var off *NotHeld
			switch {
			case err == nil && goes > 1e-9*contactMost(c.f):
				t.Errorf("%d points, seed %d: w up to %g, where the panel goes by %g", kind.n, seed, contactMost(a.W), goes)
			case err == nil:
				held++
				if e := c.fault(a.W, a.Force, 1e-9); e != nil {
					t.Errorf("%d points, seed %d: %v", kind.n, seed, e)
				}
			case !errors.As(err, &off):
				t.Errorf("%d points, seed %d: %v, goes by %g", kind.n, seed, err, goes)
			case goes <= 0:
				t.Errorf("%d points, seed %d: %v, where it is held by %g", kind.n, seed, err, goes)
			default:
				loose++
			}
		}
	}
	if held < 1000 || loose < 500 {
		t.Errorf("%d held, %d not: the cases do not tell", held, loose)
	}
	t.Logf("%d held, %d not", held, loose)
}
