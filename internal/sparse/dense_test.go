package sparse

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
)

// plain is a dense matrix, row after row, worked by plain loops: what the package is held against shares no code with it.
type plain struct {
	n int
	v []float64
}

func newPlain(n int) *plain { return &plain{n, make([]float64, n*n)} }

func (a *plain) at(i, j int) *float64 { return &a.v[i*a.n+j] }

// times returns A·x.
func (a *plain) times(x []float64) []float64 {
	y := make([]float64, a.n)
	for i := range y {
		for j, v := range x {
			y[i] += *a.at(i, j) * v
		}
	}
	return y
}

// solve returns A⁻¹·b by Gaussian elimination with row exchanges, which needs no definiteness.
func (a *plain) solve(b []float64) []float64 {
	n := a.n
	m := append([]float64(nil), a.v...)
	x := append([]float64(nil), b...)
	for k := range n {
		p := k
		for i := k; i < n; i++ {
			if math.Abs(m[i*n+k]) > math.Abs(m[p*n+k]) {
				p = i
			}
		}
		for j := range n {
			m[k*n+j], m[p*n+j] = m[p*n+j], m[k*n+j]
		}
		x[k], x[p] = x[p], x[k]
		for i := k + 1; i < n; i++ {
			f := m[i*n+k] / m[k*n+k]
			for j := k; j < n; j++ {
				m[i*n+j] -= f * m[k*n+j]
			}
			x[i] -= f * x[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		for j := k + 1; j < n; j++ {
			x[k] -= m[k*n+j] * x[j]
		}
		x[k] /= m[k*n+k]
	}
	return x
}

// part returns the rows and columns asked for.
func (a *plain) part(rows, cols []int) [][]float64 {
	out := make([][]float64, len(rows))
	for i, r := range rows {
		for _, c := range cols {
			out[i] = append(out[i], *a.at(r, c))
		}
	}
	return out
}

// condensed returns A_kk − A_kr·A_rr⁻¹·A_rk and, for a load, f_k − A_kr·A_rr⁻¹·f_r.
func (a *plain) condensed(keep []int32, load []float64) (s [][]float64, f []float64) {
	kept := make([]bool, a.n)
	var k, r []int
	for _, u := range keep {
		kept[u] = true
		k = append(k, int(u))
	}
	for u := range a.n {
		if !kept[u] {
			r = append(r, u)
		}
	}
	rr := newPlain(len(r))
	for i, row := range a.part(r, r) {
		copy(rr.v[i*len(r):], row)
	}
	kr := a.part(k, r)
	s = a.part(k, k)
	under := func(row, x []float64) (sum float64) {
		for i, v := range row {
			sum += v * x[i]
		}
		return sum
	}
	for j := range k {
		x := rr.solve(kr[j])
		for i := range k {
			s[i][j] -= under(kr[i], x)
		}
	}
	fr := make([]float64, len(r))
	for i, u := range r {
		fr[i] = load[u]
	}
	x := rr.solve(fr)
	for i, u := range k {
		f = append(f, load[u]-under(kr[i], x))
	}
	return s, f
}

func largest(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		m = max(m, math.Abs(v))
	}
	return m
}

// near says whether two vectors differ by no more than tol of the greater of b and 1.
func near(t *testing.T, what string, a, b []float64, tol float64) {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%s: %d entries, want %d", what, len(a), len(b))
	}
	scale := max(largest(b), 1)
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= tol*scale) {
			t.Fatalf("%s: entry %d is %.17g, want %.17g", what, i, a[i], b[i])
		}
	}
}

func TestCholeskyAgainstPlainLoops(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{0, 1, 2, 3, 4, 5, 31, 32, 33, 37, 64, 65, 97} {
		a := newPlain(n)
		g := make([]float64, n*n)
		for i := range g {
			g[i] = rng.NormFloat64()
		}
		for i := range n {
			for j := range n {
				for k := range n {
					*a.at(i, j) += g[i*n+k] * g[j*n+k]
				}
			}
			*a.at(i, i) += 1
		}
		l := append([]float64(nil), a.v...)
		for j := range n {
			for i := range j {
				l[j*n+i] = math.NaN() // what stands in the upper half must not matter
			}
		}
		if err := Cholesky(l, n); err != nil {
			t.Fatalf("n = %d: %v", n, err)
		}
		for i := range n {
			for j := range i + 1 {
				sum := 0.0
				for k := range j + 1 {
					sum += l[k*n+i] * l[k*n+j]
				}
				if !(math.Abs(sum-*a.at(i, j)) <= 1e-13*float64(n)*(1+math.Abs(*a.at(i, i)))) {
					t.Fatalf("n = %d: L·Lᵀ at (%d, %d) is %g, want %g", n, i, j, sum, *a.at(i, j))
				}
			}
		}
		b := make([]float64, 3*n)
		for i := range b {
			b[i] = rng.NormFloat64()
		}
		x := append([]float64(nil), b...)
		CholeskySolve(l, n, x, 3)
		for r := range 3 {
			near(t, "A·x", a.times(x[r*n:(r+1)*n]), b[r*n:(r+1)*n], 1e-10)
		}
	}
}

func TestCholeskySaysWhatIsNotPositive(t *testing.T) {
	cases := map[string]struct {
		a  []float64
		at int
	}{
		"negative":        {[]float64{-1}, 0},
		"zero":            {[]float64{0}, 0},
		"not a number":    {[]float64{math.NaN()}, 0},
		"rank one":        {[]float64{1, 2, 2, 4}, 1},
		"indefinite":      {[]float64{1, 2, 2, 1}, 1},
		"nothing is left": {[]float64{1, 1, 1, 1 + 1e-15}, 1},
	}
	for name, c := range cases {
		n := int(math.Sqrt(float64(len(c.a))))
		var e *NotPositive
		if err := Cholesky(c.a, n); !errors.As(err, &e) || e.Unknown != c.at {
			t.Errorf("%s: %v, want a failure at unknown %d", name, err, c.at)
		} else if e.Error() == "" {
			t.Errorf("%s: no words", name)
		}
	}
	// Four times the tolerance above nothing is still accepted: a stiff panel is not a loose one.
	if err := Cholesky([]float64{1, 1, 1, 1 + 4*pivotTolerance}, 2); err != nil {
		t.Errorf("a small pivot that counts: %v", err)
	}
}

// Whoever has nothing to do helps with large fronts, and changes no digit.
func TestIdleWorkersChangeNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	const m = 331
	for _, s := range []int{5, 90, 331} {
		for _, indefinite := range []bool{false, true} {
			a0 := make([]float64, m*s)
			for i := range a0 {
				a0[i] = rng.NormFloat64()
			}
			for j := range s {
				a0[j*m+j] = 2 * m
			}
			var want, wantRest []float64
			for helpers := range int32(6) {
				a, rest := slices.Clone(a0), make([]float64, (m-s)*(m-s))
				var idle atomic.Int32
				idle.Store(helpers)
				if j := eliminate(a, m, s, rest, make([]float64, s), indefinite, &idle); j >= 0 {
					t.Fatalf("pivot %d is nothing", j)
				}
				if helpers == 0 {
					want, wantRest = a, rest
				} else if !slices.Equal(a, want) || !slices.Equal(rest, wantRest) {
					t.Errorf("%d pivots of %d: %d helpers change digits", s, m, helpers)
				}
			}
		}
	}
	covered := make([]int, m)
	var mu sync.Mutex
	var idle atomic.Int32
	idle.Store(4)
	calls := 0
	split(m, 40, 321, 32, &idle, func(from, to int) {
		mu.Lock()
		defer mu.Unlock()
		calls++
		for j := from; j < to; j++ {
			covered[j]++
		}
	})
	for j, c := range covered {
		if want := j >= 40 && j < 321; (c == 1) != want || c > 1 {
			t.Errorf("column %d worked %d times", j, c)
		}
	}
	if calls != 5 {
		t.Errorf("%d shares, want 5", calls)
	}
}
