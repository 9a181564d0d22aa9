package sparse

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
)

// wild is a shape of no particular order: groups of 0 … 6 unknowns, elements of one to four groups, some groups in none.
func wild(rng *rand.Rand, groups int, share float64) Shape {
	s := Shape{Start: []int32{0}}
	for range groups {
		s.Start = append(s.Start, s.Start[len(s.Start)-1]+int32(rng.IntN(7)))
		x, y := float64(rng.IntN(8)), rng.Float64()*8 // places that coincide in x
		s.X, s.Y = append(s.X, x), append(s.Y, y)
	}
	for range groups * 3 / 2 {
		n := 1 + rng.IntN(min(4, groups))
		e := []int32{int32(rng.IntN(groups))}
		for len(e) < n {
			// Mostly near the first, so that the graph falls into pieces and has separators.
			g := (e[0] + int32(rng.IntN(7)) + 3*int32(groups) - 3) % int32(groups)
			if rng.IntN(12) == 0 || slices.Contains(e, g) {
				g = int32(rng.IntN(groups))
			}
			if !slices.Contains(e, g) {
				e = append(e, g)
			}
		}
		s.Elements = append(s.Elements, e)
	}
	for _, u := range rng.Perm(int(s.Start[groups])) {
		if rng.Float64() < share {
			s.Keep = append(s.Keep, int32(u))
		}
	}
	return s
}

// unknowns lists those of an element in its order.
func unknowns(s Shape, e int) []int {
	var u []int
	for _, g := range s.Elements[e] {
		for k := s.Start[g]; k < s.Start[g+1]; k++ {
			u = append(u, int(k))
		}
	}
	return u
}

// fill puts random elements, semidefinite and diagonal springs into a matrix and its dense double.
func fill(rng *rand.Rand, s Shape, p *Plan, spring float64) (*Matrix, *plain) {
	m, a := p.NewMatrix(), newPlain(p.Unknowns())
	for e := range s.Elements {
		u := unknowns(s, e)
		n := len(u)
		ke := make([]float64, n*n)
		for range max(1, n/2) {
			v := make([]float64, n)
			for i := range v {
				v[i] = rng.NormFloat64()
			}
			for i := range n {
				for j := range n {
					ke[i*n+j] += v[i] * v[j]
				}
			}
		}
		for i := range n {
			for j := range n {
				*a.at(u[i], u[j]) += ke[i*n+j]
				if j > i {
					ke[i*n+j] = math.NaN() // only the lower half is read
				}
			}
		}
		m.AddElement(e, ke)
	}
	for u := range p.Unknowns() {
		v := spring * (1 + rng.Float64())
		m.Add(u, u, v)
		*a.at(u, u) += v
	}
	return m, a
}

func random(rng *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	return x
}

func analyse(t testing.TB, s Shape) *Plan {
	t.Helper()
	p, err := Analyse(s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// hold checks everything that a factor promises against plain dense loops.
func hold(t *testing.T, rng *rand.Rand, s Shape, o Options, spring float64) {
	t.Helper()
	p := analyse(t, s)
	n := p.Unknowns()
	if n != int(s.Start[len(s.Start)-1]) || p.Kept() != len(s.Keep) {
		t.Fatalf("%d unknowns, %d kept", n, p.Kept())
	}
	m, a := fill(rng, s, p, spring)
	x := random(rng, n)
	y := random(rng, n)
	got := slices.Clone(y)
	m.MulAdd(got, x)
	want := a.times(x)
	for i := range want {
		want[i] += y[i]
	}
	near(t, "y + A·x", got, want, 1e-13)
	diag := make([]float64, n)
	for i := range diag {
		diag[i] = *a.at(i, i)
	}
	near(t, "diagonal", m.Diagonal(), diag, 1e-14)

	f, err := p.Factor(m, o)
	if err != nil {
		t.Fatal(err)
	}
	const cols = 7
	b := random(rng, n*cols)
	b2 := slices.Clone(b)
	if err := f.SolveMany(b2, cols); err != nil {
		t.Fatal(err)
	}
	for c := range cols {
		rhs := b[c*n : (c+1)*n]
		near(t, "A·x − b", a.times(b2[c*n:(c+1)*n]), rhs, 1e-9)
		near(t, "x", b2[c*n:(c+1)*n], a.solve(rhs), 1e-8)
		one := slices.Clone(rhs)
		if err := f.Solve(one); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(b2[c*n:(c+1)*n], one) {
			t.Fatal("SolveMany and Solve differ in digits")
		}
	}

	schur, load := a.condensed(s.Keep, b[:n])
	k := len(s.Keep)
	flat := f.Schur()
	for i := range k {
		near(t, "condensed matrix", flat[i*k:(i+1)*k], schur[i], 1e-9)
		for j := range i {
			if flat[i*k+j] != flat[j*k+i] {
				t.Fatal("the condensed matrix is not symmetric")
			}
		}
	}
	half := slices.Clone(b[:n*3])
	f.Forward(half, 3)
	for i, u := range s.Keep {
		if math.Abs(half[u]-load[i]) > 1e-9*(1+largest(load)) {
			t.Fatalf("condensed load at %d: %g, want %g", u, half[u], load[i])
		}
	}
	// Backward: with the kept values given, every other row must balance.
	given := random(rng, k)
	for i, u := range s.Keep {
		half[u] = given[i]
	}
	f.Backward(half, 3)
	left := a.times(half[:n])
	for i, u := range s.Keep {
		if half[u] != given[i] {
			t.Fatal("Backward changed a kept value")
		}
		left[u] = b[u]
	}
	near(t, "rows that are not kept", left, b[:n], 1e-9)
}

func TestAgainstPlainLoops(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, groups := range []int{1, 2, 3, 9, 11, 12, 25, 40} {
		for _, share := range []float64{0, 0.1, 0.6, 1.1} { // none kept … all kept
			for range 3 {
				s := wild(rng, groups, share)
				hold(t, rng, s, Options{Workers: 1}, 1)
				hold(t, rng, s, Options{Indefinite: true}, 1)
			}
		}
	}
}

func TestNoGroupsAtAll(t *testing.T) {
	hold(t, rand.New(rand.NewPCG(1, 1)), Shape{Start: []int32{0}}, Options{}, 1)
	hold(t, rand.New(rand.NewPCG(1, 1)), Shape{Start: []int32{0, 0, 0}, X: make([]float64, 2), Y: make([]float64, 2), Elements: [][]int32{{0, 1}}}, Options{}, 1)
}

// lattice is an nx × ny grid of one unknown per node with an element on every edge: the discrete Laplacian.
func lattice(nx, ny, dof int) Shape {
	s := Shape{Start: []int32{0}}
	for j := range ny {
		for i := range nx {
			s.X, s.Y = append(s.X, float64(i)), append(s.Y, float64(j))
			s.Start = append(s.Start, s.Start[len(s.Start)-1]+int32(dof))
		}
	}
	for j := range ny {
		for i := range nx {
			g := int32(j*nx + i)
			if i+1 < nx {
				s.Elements = append(s.Elements, []int32{g, g + 1})
			}
			if j+1 < ny {
				s.Elements = append(s.Elements, []int32{g, g + int32(nx)})
			}
		}
	}
	return s
}

// laplace fills the five-point Laplacian with values of zero beyond the border, less a shift.
func laplace(s Shape, p *Plan, shift float64) *Matrix {
	m := p.NewMatrix()
	for _, e := range s.Elements {
		m.Add(int(e[0]), int(e[1]), -1)
	}
	for u := range p.Unknowns() {
		m.Add(u, u, 4-shift)
	}
	return m
}

// Source: the eigenvalues of the five-point Laplacian on an m × n grid are 4 − 2·cos(iπ/(m+1)) − 2·cos(jπ/(n+1)), closed form.
func TestInertiaCountsEigenvalues(t *testing.T) {
	const nx, ny = 13, 9
	s := lattice(nx, ny, 1)
	for _, keep := range [][]int32{nil, {0, 58, 116, 30}} {
		s.Keep = keep
		p := analyse(t, s)
		for _, shift := range []float64{-1, 0.05, 0.2, 0.7, 1.3, 2.9, 3.55, 4.45, 6.1, 7.6, 7.9, 9} {
			below := 0
			for i := 1; i <= nx; i++ {
				for j := 1; j <= ny; j++ {
					if 4-2*math.Cos(float64(i)*math.Pi/(nx+1))-2*math.Cos(float64(j)*math.Pi/(ny+1)) < shift {
						below++
					}
				}
			}
			f, err := p.Factor(laplace(s, p, shift), Options{Indefinite: true})
			if err != nil {
				t.Fatal(err)
			}
			pos, neg, err := f.Inertia()
			if err != nil || neg != below || pos != nx*ny-below {
				t.Errorf("shift %g: %d positive, %d negative, %v; want %d negative", shift, pos, neg, err, below)
			}
		}
	}
}

func TestShiftByAddScaled(t *testing.T) {
	s := lattice(8, 7, 1)
	p := analyse(t, s)
	k, unit := laplace(s, p, 0), p.NewMatrix()
	for u := range p.Unknowns() {
		unit.Add(u, u, 1)
	}
	c := k.Clone()
	c.AddScaled(-1.25, unit)
	if !slices.Equal(c.v, laplace(s, p, 1.25).v) {
		t.Error("K − σM differs from what was filled at once")
	}
	if !slices.Equal(k.v, laplace(s, p, 0).v) {
		t.Error("a clone shares values with its original")
	}
}

func TestSingular(t *testing.T) {
	// A chain without a hold: every row sums to nothing.
	s := lattice(30, 4, 1)
	loose := func(p *Plan) *Matrix {
		m := p.NewMatrix()
		for e := range s.Elements {
			m.AddElement(e, []float64{1, -1, -1, 1})
		}
		return m
	}
	var e *NotPositive
	p := analyse(t, s)
	for _, indefinite := range []bool{false, true} {
		if _, err := p.Factor(loose(p), Options{Indefinite: indefinite}); !errors.As(err, &e) {
			t.Errorf("nothing kept: %v, want *NotPositive", err)
		} else if e.Of <= 0 || math.Abs(e.Pivot) > 1e-12*e.Of || e.Unknown < 0 || e.Unknown >= p.Unknowns() {
			t.Errorf("nothing kept: %+v", *e)
		}
	}
	// With two places kept the rest is definite; the condensed matrix is that of one spring, and singular.
	s.Keep = []int32{0, 119}
	p = analyse(t, s)
	f, err := p.Factor(loose(p), Options{})
	if err != nil {
		t.Fatal(err)
	}
	c := f.Schur()
	if c[0] <= 0 || math.Abs(c[0]+c[1]) > 1e-13 || math.Abs(c[3]-c[0]) > 1e-13 {
		t.Errorf("condensed matrix %v", c)
	}
	if err := f.Solve(make([]float64, p.Unknowns())); !errors.As(err, &e) || e.Unknown != 119 && e.Unknown != 0 {
		t.Errorf("Solve: %v, want *NotPositive at a kept unknown", err)
	}
	if _, _, err := f.Inertia(); !errors.As(err, &e) {
		t.Errorf("Inertia: %v", err)
	}
	// A negative spring is not positive, but has an inertia.
	s.Keep = nil
	p = analyse(t, s)
	if _, err := p.Factor(laplace(s, p, 5), Options{}); !errors.As(err, &e) || e.Pivot >= 0 {
		t.Errorf("negative: %v", err)
	}
	// An unknown in no element, with nothing on its diagonal.
	s = Shape{Start: []int32{0, 1, 2}, X: []float64{0, 1}, Y: []float64{0, 0}, Elements: [][]int32{{0}}}
	p = analyse(t, s)
	m := p.NewMatrix()
	m.Add(0, 0, 1)
	if _, err := p.Factor(m, Options{}); !errors.As(err, &e) || e.Unknown != 1 {
		t.Errorf("unheld unknown: %v", err)
	}
	m.Add(1, 1, math.NaN())
	if _, err := p.Factor(m, Options{}); !errors.As(err, &e) || e.Unknown != 1 {
		t.Errorf("NaN: %v", err)
	}
}

// The same failure is told whatever the number of workers.
func TestSameFailure(t *testing.T) {
	s := lattice(40, 40, 1)
	p := analyse(t, s)
	m := laplace(s, p, 0)
	m.Add(77, 77, -40)
	m.Add(1500, 1500, -40)
	var first NotPositive
	for i, w := range []int{1, 2, 3, 8} {
		var e *NotPositive
		if _, err := p.Factor(m, Options{Workers: w}); !errors.As(err, &e) {
			t.Fatal(err)
		}
		if i == 0 {
			first = *e
		} else if *e != first {
			t.Errorf("%d workers: %v, one: %v", w, *e, first)
		}
	}
}

func TestWorkersChangeNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	s := lattice(45, 37, 3)
	for u := int32(10); u < 3*45*37; u += 190 {
		s.Keep = append(s.Keep, u)
	}
	p := analyse(t, s)
	m, _ := fill2(rng, s, p)
	for _, indefinite := range []bool{false, true} {
		var one *Factor
		for _, w := range []int{1, 2, 3, 8, 0} {
			f, err := p.Factor(m, Options{Workers: w, Indefinite: indefinite})
			if err != nil {
				t.Fatal(err)
			}
			if one == nil {
				one = f
			} else if !slices.Equal(f.l, one.l) || !slices.Equal(f.schur, one.schur) {
				t.Errorf("%d workers change the factor", w)
			}
		}
	}
	if q := analyse(t, s); !slices.Equal(q.order, p.order) || q.stats != p.stats {
		t.Error("two analyses of one shape differ")
	}
}

// fill2 is fill without the dense double, for shapes that are too large for one.
func fill2(rng *rand.Rand, s Shape, p *Plan) (*Matrix, float64) {
	m := p.NewMatrix()
	for e := range s.Elements {
		n := len(unknowns(s, e))
		ke := make([]float64, n*n)
		v := random(rng, n)
		for i := range n {
			for j := range n {
				ke[i*n+j] += v[i] * v[j]
			}
		}
		m.AddElement(e, ke)
	}
	for u := range p.Unknowns() {
		m.Add(u, u, 0.5)
	}
	return m, 0.5
}

// One factor is used by many at once: run with -race.
func TestManyAtOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	s := lattice(17, 15, 3)
	s.Keep = []int32{3, 99, 300}
	p := analyse(t, s)
	m, _ := fill2(rng, s, p)
	n := p.Unknowns()
	b := random(rng, 5*n)
	ref, err := p.Factor(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want, wantHalf := slices.Clone(b), slices.Clone(b)
	if err := ref.SolveMany(want, 5); err != nil {
		t.Fatal(err)
	}
	ref.Forward(wantHalf, 5)
	f, err := p.Factor(m, Options{}) // fresh: the condensed matrix is factored by whoever comes first
	if err != nil {
		t.Fatal(err)
	}
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			x, h := slices.Clone(b), slices.Clone(b)
			if err := f.SolveMany(x, 5); err != nil || !slices.Equal(x, want) {
				t.Errorf("SolveMany differs, %v", err)
			}
			f.Forward(h, 5)
			if !slices.Equal(h, wantHalf) {
				t.Error("Forward differs")
			}
			if c := f.Schur(); !slices.Equal(c, ref.Schur()) {
				t.Error("Schur differs")
			}
		})
	}
	all.Wait()
}

func TestStats(t *testing.T) {
	s := lattice(30, 30, 2)
	s.Keep = []int32{0, 17}
	p := analyse(t, s)
	st := p.Stats()
	if st.FactorEntries < int64(p.Unknowns()) || st.Fronts < 2 || st.LargestFront < 1 || st.Flops <= 0 || st.Bytes < 8*st.FactorEntries {
		t.Errorf("%+v", st)
	}
	if st.Working <= 0 || st.Working > st.Bytes {
		t.Errorf("%d bytes wait beside %d kept", st.Working, st.Bytes)
	}
	// A dissection of a square grid keeps the factor within a multiple of n·log₂ n [george73]; a band would take n·√n.
	n := float64(p.Unknowns())
	if most := 10 * n * math.Log2(n); float64(st.FactorEntries) > most {
		t.Errorf("%d entries, want at most %.0f", st.FactorEntries, most)
	}
}

func TestOurMistakesPanic(t *testing.T) {
	s := lattice(3, 3, 1)
	p := analyse(t, s)
	q := analyse(t, s)
	f, err := p.Factor(laplace(s, p, 0), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, call := range map[string]func(){
		"places": func() { _, _ = Analyse(Shape{Start: []int32{0, 1}}) },
		"kept twice": func() {
			_, _ = Analyse(Shape{Start: []int32{0, 2}, X: []float64{0}, Y: []float64{0}, Keep: []int32{1, 1}})
		},
		"another entry":  func() { p.NewMatrix().Add(0, 8, 1) },
		"element size":   func() { p.NewMatrix().AddElement(0, make([]float64, 9)) },
		"two plans":      func() { p.NewMatrix().AddScaled(1, q.NewMatrix()) },
		"another plan":   func() { _, _ = p.Factor(q.NewMatrix(), Options{}) },
		"length of load": func() { f.Forward(make([]float64, 8), 1) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}

func FuzzFactor(f *testing.F) {
	f.Add(uint64(1), uint8(12), uint8(3))
	f.Add(uint64(9), uint8(1), uint8(0))
	f.Add(uint64(77), uint8(30), uint8(11))
	f.Fuzz(func(t *testing.T, seed uint64, groups, share uint8) {
		rng := rand.New(rand.NewPCG(seed, 0))
		s := wild(rng, 1+int(groups)%32, float64(share%12)/10)
		hold(t, rng, s, Options{Workers: 1 + int(seed%3), Indefinite: seed%2 == 0}, 1)
	})
}
