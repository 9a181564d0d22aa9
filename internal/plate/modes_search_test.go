package plate

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"panelwright/internal/sparse"
)

// modesDense is a problem of a dense K (row after row) and a diagonal M; below counts by known λ, when there are any.
func modesDense(t testing.TB, n int, k, m []float64, sigma float64, known []float64) *modesProblem {
	t.Helper()
	l := slices.Clone(k)
	for i := range n {
		l[i*n+i] += sigma * m[i]
	}
	if err := sparse.Cholesky(l, n); err != nil {
		t.Fatal(err)
	}
	return &modesProblem{
		n: n, sigma: sigma,
		mass: func(dst, x []float64) {
			for i := range n {
				dst[i] += m[i] * x[i]
			}
		},
		stiff: func(dst, x []float64) {
			for i := range n {
				dst[i] += contactDot(k[i*n:(i+1)*n], x)
			}
		},
		solve: func(x []float64, count int) error {
			sparse.CholeskySolve(l, n, x, count)
			return nil
		},
		below: func(mu float64) (c int, _ error) {
			for _, v := range known {
				if v < mu {
					c++
				}
			}
			return c, nil
		},
	}
}

// modesGrid is the Laplacian of a grid of nx × ny points inside a square: 2 − 2cos(iπ/(nx+1)) + 2 − 2cos(jπ/(ny+1)).
func modesGrid(nx, ny int) (k, known []float64) {
	n := nx * ny
	k = make([]float64, n*n)
	for i := range n {
		x, y := i%nx, i/nx
		k[i*n+i] = 4
		for _, d := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			if a, b := x+d[0], y+d[1]; a >= 0 && a < nx && b >= 0 && b < ny {
				k[i*n+b*nx+a] = -1
			}
		}
		known = append(known, 4-2*math.Cos(float64(x+1)*math.Pi/float64(nx+1))-2*math.Cos(float64(y+1)*math.Pi/float64(ny+1)))
	}
	slices.Sort(known)
	return k, known
}

func modesOnes(n int) []float64 { return slices.Repeat([]float64{1}, n) }

// modesAgree checks values, residuals and that the vectors are orthonormal by M.
func modesAgree(t *testing.T, p *modesProblem, got []modesPair, known []float64) {
	t.Helper()
	if len(got) != len(known) {
		t.Fatalf("%d found, want %d", len(got), len(known))
	}
	for i, g := range got {
		if math.Abs(g.lambda-known[i]) > 1e-11*(known[i]+p.sigma) {
			t.Errorf("λ%d = %.15g, want %.15g", i, g.lambda, known[i])
		}
		if g.residual > 1e-7 {
			t.Errorf("λ%d: residual %.2g", i, g.residual)
		}
		m := make([]float64, p.n)
		p.mass(m, g.x)
		for j, h := range got[:i+1] {
			want := 0.0
			if j == i {
				want = 1
			}
			if math.Abs(contactDot(h.x, m)-want) > 1e-9 {
				t.Errorf("vectors %d, %d: product %g", i, j, contactDot(h.x, m))
			}
		}
	}
}

// Grids in a line, a rectangle and a square, whose λ are double; a shift below, and one far above the lowest.
func TestModesOfGrids(t *testing.T) {
	for _, c := range []struct{ nx, ny, want int }{{1, 1, 1}, {60, 1, 12}, {17, 12, 9}, {16, 16, 1}, {16, 16, 2}, {16, 16, 7}, {16, 16, 14}, {5, 5, 24}, {5, 5, 25}, {3, 3, 40}} {
		for _, sigma := range []float64{1e-3, 1} {
			k, known := modesGrid(c.nx, c.ny)
			p := modesDense(t, c.nx*c.ny, k, modesOnes(c.nx*c.ny), sigma, known)
			got, err := p.lowest(c.want)
			if err != nil {
				t.Errorf("%v: %v", c, err)
				continue
			}
			modesAgree(t, p, got, known[:min(c.want, len(known))])
		}
	}
}

// A λ that occurs more often than a block has vectors stays out of the first search; the count finds that, and the search goes on.
func TestModesManyEqual(t *testing.T) {
	const copies, n = 11, 20
	known1 := func(i int) float64 { return 2 - 2*math.Cos(float64(i+1)*math.Pi/(n+1)) }
	k := make([]float64, copies*n*copies*n)
	var known []float64
	for c := range copies {
		for i := range n {
			row := (c*n + i) * copies * n
			k[row+c*n+i] = 2
			if i > 0 {
				k[row+c*n+i-1] = -1
			}
			if i < n-1 {
				k[row+c*n+i+1] = -1
			}
			known = append(known, known1(i))
		}
	}
	slices.Sort(known)
	p := modesDense(t, copies*n, k, modesOnes(copies*n), 0.01, known)
	for _, want := range []int{1, 5, 11, 12, 23} {
		got, err := p.lowest(want)
		if err != nil {
			t.Fatal(err)
		}
		modesAgree(t, p, got, known[:want])
	}
}

// Masses that differ by a million, and masses that are nothing: λ against those of M^(−½)·K·M^(−½), by turns; with half of the
// masses nothing, those of K with the others eliminated.
func TestModesMass(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	const nx, ny = 6, 5
	const n = nx * ny
	k, _ := modesGrid(nx, ny)
	m := make([]float64, n)
	for i := range m {
		m[i] = math.Pow(10, 6*r.Float64()-3)
	}
	a := make([]float64, n*n)
	for i := range n {
		for j := range n {
			a[i*n+j] = k[i*n+j] / math.Sqrt(m[i]*m[j])
		}
	}
	known, _ := denseEigen(a, n)
	p := modesDense(t, n, k, m, 1e-3, known)
	got, err := p.lowest(10)
	if err != nil {
		t.Fatal(err)
	}
	modesAgree(t, p, got, known[:10])

	// A string of 9 masses, each second one nothing, is one of 4 with springs half as stiff.
	const s = 9
	ks, ms := make([]float64, s*s), make([]float64, s)
	for i := range s {
		ks[i*s+i] = 2
		if i > 0 {
			ks[i*s+i-1], ks[(i-1)*s+i] = -1, -1
		}
		ms[i] = float64(i % 2)
	}
	known = known[:0]
	for i := range 4 {
		known = append(known, 1-math.Cos(float64(i+1)*math.Pi/5))
	}
	p = modesDense(t, s, ks, ms, 1e-3, known)
	for _, want := range []int{2, 4, 7} {
		got, err = p.lowest(want)
		if err != nil {
			t.Fatal(err)
		}
		modesAgree(t, p, got, known[:min(want, 4)])
	}
}

// A ring swings as a whole: its rigid motion is given, and comes out as nothing exactly.
func TestModesRigidGiven(t *testing.T) {
	const n = 24
	k := make([]float64, n*n)
	var known []float64
	for i := range n {
		k[i*n+i], k[i*n+(i+1)%n], k[((i+1)%n)*n+i] = 2, -1, -1
		known = append(known, 2-2*math.Cos(2*math.Pi*float64(i)/n))
	}
	known[0] = 0
	slices.Sort(known)
	p := modesDense(t, n, k, modesOnes(n), 0.01, known)
	p.rigid = [][]float64{modesOnes(n)}
	for _, want := range []int{1, 2, 8} {
		got, err := p.lowest(want)
		if err != nil {
			t.Fatal(err)
		}
		modesAgree(t, p, got, known[:want])
		if got[0].lambda != 0 {
			t.Errorf("the rigid motion has λ %g", got[0].lambda)
		}
	}
}

// What the count says is not brushed aside: one more than there are, and one less.
func TestModesCountIsHeard(t *testing.T) {
	k, known := modesGrid(7, 6)
	for _, wrong := range []int{-1, 1} {
		p := modesDense(t, 42, k, modesOnes(42), 0.1, known)
		count := p.below
		p.below = func(mu float64) (int, error) {
			n, err := count(mu)
			return n + wrong, err
		}
		_, err := p.lowest(5)
		var missing *ModesNotFound
		if !errors.As(err, &missing) || missing.Counted < 0 && wrong < 0 || missing.Error() == "" {
			t.Errorf("count off by %d: %v", wrong, err)
		}
	}
	// A pivot that is nothing moves μ.
	p := modesDense(t, 42, k, modesOnes(42), 0.1, known)
	count, calls := p.below, 0
	p.below = func(mu float64) (int, error) {
		if calls++; calls < 3 {
			return 0, &sparse.NotPositive{}
		}
		return count(mu)
	}
	if _, err := p.lowest(5); err != nil {
		t.Error(err)
	}
}

// denseEigen: vectors are orthonormal, and the matrix is put together again from them; a graded one keeps its small values.
func TestModesJacobi(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, n := range []int{0, 1, 2, 3, 10, 41} {
		a := make([]float64, n*n)
		for i := range n {
			for j := range i + 1 {
				v := r.NormFloat64()
				a[i*n+j], a[j*n+i] = v, v
			}
		}
		values, vectors := denseEigen(slices.Clone(a), n)
		if !slices.IsSorted(values) {
			t.Errorf("n %d: %v", n, values)
		}
		for i := range n {
			for j := range n {
				sum, unit := 0.0, 0.0
				for e := range n {
					sum += vectors[i*n+e] * values[e] * vectors[j*n+e]
					unit += vectors[i*n+e] * vectors[j*n+e]
				}
				if i == j {
					unit--
				}
				if math.Abs(sum-a[i*n+j]) > 1e-13*float64(n) || math.Abs(unit) > 1e-13*float64(n) {
					t.Errorf("n %d: entry %d, %d: off by %g, unit off by %g", n, i, j, sum-a[i*n+j], unit)
				}
			}
		}
	}
	// [[1, 1e-9], [1e-9, 1e-12]]: the smaller value is 1e-12 − 1e-18.
	values, _ := denseEigen([]float64{1, 1e-9, 1e-9, 1e-12}, 2)
	if math.Abs(values[0]/(1e-12-1e-18)-1) > 1e-12 {
		t.Errorf("small value %.17g", values[0])
	}
}
