package spread

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

func TestReferenceSums(t *testing.T) {
	text, err := os.ReadFile("testdata/sums.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Sets []struct {
			Name   string
			Params struct {
				N    [][2]float64
				U    [][2]float64
				Tri  [3]float64
				Band [2]float64
			}
			Quadrature float64 `json:"P_exact_quadrature"`
			Charfn     float64 `json:"P_exact_charfn"`
			Below      float64 `json:"P_below"`
			Above      float64 `json:"P_above"`
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Sets) != 2 {
		t.Fatalf("%d sets", len(file.Sets))
	}
	for _, set := range file.Sets {
		var s Sum
		for _, p := range set.Params.N {
			s = append(s, NormalOf(p[0], p[1]))
		}
		for _, p := range set.Params.U {
			s = append(s, RectangularOf(p[0], p[1]))
		}
		s = append(s, TriangularOf(set.Params.Tri[0], set.Params.Tri[1], set.Params.Tri[2]))
		lo, hi := set.Params.Band[0], set.Params.Band[1]
		// The two routes of the source differ by up to 4e-10: that is how well each is known.
		got := s.Chance(lo, hi)
		if !near(got, set.Quadrature, Tolerance) || !near(got, set.Charfn, Tolerance) {
			t.Errorf("%s: %.13g, want %.13g and %.13g", set.Name, got, set.Quadrature, set.Charfn)
		}
		if !near(s.CDF(lo), set.Below, Tolerance) || !near(s.Chance(hi, math.Inf(1)), set.Above, Tolerance) {
			t.Errorf("%s: below %.13g, above %.13g", set.Name, s.CDF(lo), s.Chance(hi, math.Inf(1)))
		}
	}
}

// JCGM 101:2008, 9.2, from memory and checked by an outside simulation with 4e6 trials: standard uncertainty and 95 % interval
// of the sum of four parts.
func TestSupplementOne(t *testing.T) {
	four := func(p Part) Sum { return Sum{p, p, p, p} }
	unit := RectangularAbout(0, math.Sqrt(3)) // standard deviation 1
	for _, tc := range []struct {
		name       string
		s          Sum
		u, end     float64
		tolU, tolE float64
	}{
		{"9.2.2 normal", four(NormalOf(0, 1)), 2.00, 3.92, 0.005, 0.005},
		{"9.2.3 rectangular", four(unit), 2.00, 3.88, 0.005, 0.005},
		// The standard prints three digits: 10.1 and 17.0.
		{"9.2.4 one ten times wider", Sum{unit, unit, unit, unit.Scaled(10)}, 10.1, 17.0, 0.05, 0.05},
	} {
		if !near(tc.s.SD(), tc.u, tc.tolU) {
			t.Errorf("%s: u = %.6g, want %.4g", tc.name, tc.s.SD(), tc.u)
		}
		lo, hi := tc.s.Interval(0.95)
		if !near(lo, -tc.end, tc.tolE) || !near(hi, tc.end, tc.tolE) {
			t.Errorf("%s: 95 %% in [%.6g, %.6g], want ±%.4g", tc.name, lo, hi, tc.end)
		}
		if got := tc.s.Chance(lo, hi); !near(got, 0.95, 2*Tolerance) {
			t.Errorf("%s: the interval holds %.12g", tc.name, got)
		}
	}
	// GUM H.1 (JCGM 100:2008): 25, 9.7, 2.9 and 16.6 nm give 32 nm; from memory, arithmetic checked (31.67).
	h1 := Sum{NormalOf(0, 25), NormalOf(0, 9.7), NormalOf(0, 2.9), NormalOf(0, 16.6)}
	if got := h1.SD(); !near(got, 31.67, 0.01) || math.Round(got) != 32 {
		t.Errorf("H.1: %.6g nm", got)
	}
}

func TestWorstCase(t *testing.T) {
	// A common textbook chain (Shigley, Mechanical Engineering Design, ch. 1; worst case from memory, arithmetic checked):
	// 1.750 ± .003 less .750 ± .001, .120 ± .005 and .875 ± .001 in leaves a gap of .005 ± .010; root of squares .0060 (added).
	s := Sum{RectangularAbout(1.750, .003)}
	for _, p := range []Part{RectangularAbout(.750, .001), RectangularAbout(.120, .005), RectangularAbout(.875, .001)} {
		s = append(s, p.Scaled(-1))
	}
	if !near(s.Mean(), .005, 1e-15) || !near(s.Lowest(3), -.005, 1e-15) || !near(s.Highest(3), .015, 1e-15) {
		t.Errorf("gap %.6g, %.6g to %.6g", s.Mean(), s.Lowest(3), s.Highest(3))
	}
	if got := s.SD() * math.Sqrt(3); !near(got, .0060, 5e-5) {
		t.Errorf("root of squares %.6g", got)
	}
	// Five parts ± 0.1: worst 0.5, root of squares 0.2236 (computed).
	s = nil
	for range 5 {
		s = append(s, RectangularAbout(0, .1))
	}
	if !near(s.Highest(0), .5, 1e-15) || !near(s.SD()*math.Sqrt(3), .2236, 5e-5) {
		t.Errorf("five parts: %.6g, %.6g", s.Highest(0), s.SD()*math.Sqrt(3))
	}
	s = Sum{NormalOf(2, 0.5), ExactAt(1)}
	if s.Lowest(3) != 1.5 || s.Highest(2) != 4 {
		t.Errorf("normal at k sd: %v to %v", s.Lowest(3), s.Highest(2))
	}
}

// Closed forms: one part of each kind, Irwin–Hall for equal rectangles, two unequal rectangles.
func TestClosedForms(t *testing.T) {
	phi := func(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
	u := RectangularOf(0, 1)
	for _, tc := range []struct {
		name    string
		s       Sum
		x, want float64
	}{
		{"normal", Sum{NormalOf(3, 2)}, 4, phi(0.5)},
		{"two normals", Sum{NormalOf(3, 3), NormalOf(-1, 4)}, -3, phi(-1)},
		{"rectangular", Sum{RectangularOf(-2, 3)}, 0, 0.4},
		{"rectangular and shift", Sum{RectangularOf(-2, 3), ExactAt(10)}, 9, 0.2},
		{"triangular left", Sum{TriangularOf(0, 1, 4)}, 0.5, 0.0625},
		{"triangular right", Sum{TriangularOf(0, 1, 4)}, 3, 1 - 1.0/12},
		{"mode at the start", Sum{TriangularOf(0, 0, 2)}, 1, 0.75},
		{"mode at the end", Sum{TriangularOf(0, 2, 2)}, 1, 0.25},
		// Irwin–Hall (closed form): x³/6 for three up to 1; 1/24·(x⁴ − 4(x − 1)⁴) for four.
		{"three rectangles", Sum{u, u, u}, 0.5, 0.125 / 6},
		{"four rectangles", Sum{u, u, u, u}, 1.5, (5.0625 - 4*0.0625) / 24},
		{"two unequal", Sum{u, RectangularOf(0, 4)}, 0.5, 0.125 / 4},
		{"two unequal, middle", Sum{u, RectangularOf(0, 4)}, 2, 1.5 / 4},
		{"below all", Sum{u, u}, -0.1, 0},
		{"above all", Sum{u, u}, 2.1, 1},
		{"minus infinity", Sum{u, NormalOf(0, 1)}, math.Inf(-1), 0},
		{"plus infinity", Sum{u, NormalOf(0, 1)}, math.Inf(1), 1},
	} {
		if got := tc.s.CDF(tc.x); !near(got, tc.want, 1e-12) {
			t.Errorf("%s: %.15g, want %.15g", tc.name, got, tc.want)
		}
	}
	// E Φ((x − U)/σ) = (G(x) − G(x − 1)), G(y) = yΦ(y/σ) + σφ(y/σ) (closed form).
	for _, sigma := range []float64{1e-6, 1e-3, 0.1, 1, 10, 1e4} {
		g := func(y float64) float64 {
			return y*phi(y/sigma) + sigma*math.Exp(-y*y/sigma/sigma/2)/math.Sqrt(2*math.Pi)
		}
		for _, x := range []float64{-2 * sigma, -0.1, 0, 0.3, 1, 1 + sigma, 2} {
			s := Sum{u, NormalOf(0, sigma)}
			// The closed form itself loses σ times rounding.
			if got, want := s.CDF(x), g(x)-g(x-1); !near(got, want, Tolerance/10+sigma*4e-16) {
				t.Errorf("rectangle and σ = %g at %g: %.14g, want %.14g", sigma, x, got, want)
			}
		}
	}
}

func TestExactSums(t *testing.T) {
	s := Sum{ExactAt(3), ExactAt(1.5), ExactAt(1.2)}
	inf := math.Inf(1)
	for _, tc := range []struct{ lo, hi, want float64 }{
		{5, 6, 1}, {5.7, 6, 1}, {5, 5.7, 1}, {5.7, 5.7, 1}, {5.71, 6, 0}, {5, 5.69, 0}, {-inf, inf, 1}, {5.7, inf, 1}, {-inf, 5.6, 0},
	} {
		if got := s.Chance(tc.lo, tc.hi); got != tc.want {
			t.Errorf("[%g, %g]: %g, want %g", tc.lo, tc.hi, got, tc.want)
		}
	}
	if s.CDF(5.7) != 1 || s.CDF(5.699) != 0 || !near(s.Quantile(0.3), 5.7, 1e-14) || s.SD() != 0 {
		t.Error("distribution of an exact sum")
	}
	none := Sum(nil)
	if none.Chance(-1, 1) != 1 || none.Chance(1, 2) != 0 || none.Mean() != 0 || none.Chance(0, 0) != 1 {
		t.Error("empty sum")
	}
	flat := Sum{NormalOf(1, 0), RectangularOf(2, 2), TriangularOf(3, 3, 3)}
	if flat.Chance(6, 6) != 1 || flat.Chance(6.1, 7) != 0 {
		t.Error("parts without spread")
	}
}

// randomSum mixes kinds and widths over several powers of ten.
func randomSum(rng *rand.Rand, n int, decades float64) Sum {
	var s Sum
	for range n {
		w, m := math.Pow(10, -decades*rng.Float64()), rng.NormFloat64()
		switch rng.IntN(5) {
		case 0:
			s = append(s, ExactAt(m))
		case 1:
			s = append(s, NormalOf(m, w/3))
		case 2:
			s = append(s, RectangularOf(m, m+w))
		case 3:
			s = append(s, RectangularAbout(m, w))
		case 4:
			s = append(s, TriangularOf(m, m+w*rng.Float64(), m+w))
		}
	}
	return s
}

// The three methods share nothing but the parts. Wherever two apply they must agree.
func TestMethodsAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 21))
	compared := map[string]int{}
	for k := range 150 {
		s := randomSum(rng, 1+rng.IntN(9), float64(rng.IntN(6)))
		l := s.law()
		if l.certain() {
			continue
		}
		spline := l.convolve()
		n := l.harmonics()
		for range 12 {
			x := (l.below+l.above+3*l.sigma)*(rng.Float64()-0.5)*0.9 + (l.above-l.below)/2
			c := spline.withNormal(x, l.sigma)
			if p, bound := l.byCorners(x); bound <= methodError {
				compared["corners"]++
				if !near(p, c, methodError) {
					t.Fatalf("%d: %v at %g: corners %.14g ± %.1g, convolution %.14g", k, s, x, p, bound, c)
				}
			}
			if n <= maxHarmonics {
				compared["fourier"]++
				if f := l.byFourier(x, n); !near(f, c, methodError) {
					t.Fatalf("%d: %v at %g: Fourier with %d %.14g, convolution %.14g", k, s, x, n, f, c)
				}
			}
		}
	}
	if compared["corners"] < 300 || compared["fourier"] < 300 {
		t.Errorf("compared only %v", compared)
	}
}

// The bound that byCorners gives must hold, also where it is large.
func TestCornerBoundHolds(t *testing.T) {
	rng := rand.New(rand.NewPCG(22, 22))
	large := 0
	for k := range 100 {
		s := randomSum(rng, 2+rng.IntN(5), 4)
		l := s.law()
		if l.certain() {
			continue
		}
		spline := l.convolve()
		for range 5 {
			x := (l.below + l.above + l.sigma) * (rng.Float64() - 0.5) * 0.8
			p, bound := l.byCorners(x)
			if bound > methodError {
				large++
			}
			if c := spline.withNormal(x, l.sigma); math.Abs(p-c) > bound+1e-11 {
				t.Fatalf("%d: %v at %g: %.14g, bound %.2g, but %.14g", k, s, x, p, bound, c)
			}
		}
	}
	if large < 10 {
		t.Errorf("only %d large bounds seen", large)
	}
}

// Laws that hold for every sum.
func TestProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 23))
	inf := math.Inf(1)
	for k := range 120 {
		s := randomSum(rng, 1+rng.IntN(7), 3)
		sd := s.SD()
		if sd == 0 {
			continue
		}
		a, b := s.Mean()+2*sd*rng.NormFloat64(), s.Mean()+2*sd*rng.NormFloat64()
		lo, hi := min(a, b), max(a, b)
		p := s.Chance(lo, hi)
		if sum := s.Chance(-inf, lo) + p + s.Chance(hi, inf); !near(sum, 1, 3*Tolerance) {
			t.Fatalf("%d: %v: the chances sum to %.12g", k, s, sum)
		}
		if m := s.Scaled(-1).Chance(-hi, -lo); !near(m, p, 2*Tolerance) {
			t.Fatalf("%d: %v: mirrored %.12g of %.12g", k, s, m, p)
		}
		if m := append(s.Scaled(3), ExactAt(7)).Chance(3*lo+7, 3*hi+7); !near(m, p, 2*Tolerance) {
			t.Fatalf("%d: %v: scaled and shifted %.12g of %.12g", k, s, m, p)
		}
		rng.Shuffle(len(s), func(i, j int) { s[i], s[j] = s[j], s[i] })
		if m := s.Chance(lo, hi); !near(m, p, 2*Tolerance) {
			t.Fatalf("%d: %v: shuffled %.12g of %.12g", k, s, m, p)
		}
		if s.Chance(lo, hi+sd/10) < p-2*Tolerance || s.CDF(lo) > s.CDF(hi)+2*Tolerance {
			t.Fatalf("%d: %v: a wider band holds less", k, s)
		}
		q := rng.Float64()
		if x := s.Quantile(q); !near(s.CDF(x), q, 2*Tolerance) {
			t.Fatalf("%d: %v: CDF(Quantile(%g)) = %g", k, s, q, s.CDF(x))
		}
		if k%10 == 0 && s.Quantile(1) < s.Quantile(0.999) {
			t.Fatalf("%d: quantiles fall", k)
		}
	}
}

// Widths of very different size, and many parts: against the same sum in parts that are known alone.
func TestExtremes(t *testing.T) {
	u := RectangularOf(0, 1)
	// A part of width w rounds a corner of the density: at x = 0 the chance is w/8 (closed form for w ≤ 1, both centred).
	for _, w := range []float64{1, 1e-2, 1e-4, 1e-6, 1e-8, 1e-10, 1e-14, 1e-300} {
		s := Sum{u, RectangularAbout(0, w/2)}
		if got := s.CDF(0); !near(got, w/8, Tolerance) {
			t.Errorf("width %g: %.12g, want %.12g", w, got, w/8)
		}
	}
	// Three decades apart thrice: at the end of the widest, symmetric smoothing of a ramp gives E|Y|/2, Y the rest.
	s := Sum{u, RectangularAbout(0, 5e-4), RectangularAbout(0, 5e-7)}
	// E|A + B| for rectangles of width a > b: a/4 + b²/(12a) (closed form).
	if got, want := s.CDF(0), (1e-3/4+1e-12/12e-3)/2; !near(got, want, Tolerance) {
		t.Errorf("three scales: %.12g, want %.12g", got, want)
	}
	// Twenty equal rectangles, by Irwin–Hall in exact arithmetic: P(sum ≤ 7) = Σ(−1)ᵏ C(20, k)(7 − k)²⁰/20!.
	var many Sum
	for range 20 {
		many = append(many, u)
	}
	if got := many.CDF(7); !near(got, irwinHall(20, 7), Tolerance) {
		t.Errorf("twenty rectangles: %.12g, want %.12g", got, irwinHall(20, 7))
	}
	// Twenty mixed parts over ten decades stay a distribution.
	rng := rand.New(rand.NewPCG(24, 24))
	for range 5 {
		s := randomSum(rng, 20, 10)
		if p := s.Chance(s.Mean()-s.SD(), s.Mean()+s.SD()); p < 0.5 || p > 0.75 {
			t.Errorf("%v: %g within one sd", s, p)
		}
	}
	// Tails keep their size: Φ(−6) (from the complementary error function).
	if got := (Sum{NormalOf(0, 1)}).Chance(6, 7); !near(got, 9.865876e-10-1.28e-12, 1e-15) {
		t.Errorf("tail %.8g", got)
	}
}

// irwinHall is exact for whole x, in integers of any size.
func irwinHall(n, x int) float64 {
	num, den := newInt(0), newInt(1)
	for k := 0; k <= x; k++ {
		term := newInt(1)
		for range n {
			term.Mul(term, newInt(int64(x-k)))
		}
		term.Mul(term, binomial(n, k))
		if k%2 == 1 {
			term.Neg(term)
		}
		num.Add(num, term)
	}
	for k := 2; k <= n; k++ {
		den.Mul(den, newInt(int64(k)))
	}
	return ratio(num, den)
}

// Every mix against its own simulation with a fixed seed.
func TestAgainstSimulation(t *testing.T) {
	rng := rand.New(rand.NewPCG(25, 25))
	const n = 40000
	for k := range 25 {
		s := randomSum(rng, 1+rng.IntN(6), 1)
		sd := s.SD()
		if sd == 0 {
			continue
		}
		lo, hi := s.Mean()-sd*rng.Float64()*2, s.Mean()+sd*rng.Float64()*2
		hits, sum, squares := 0, 0.0, 0.0
		for range n {
			v := s.Draw(rng)
			if lo <= v && v <= hi {
				hits++
			}
			sum += v
			squares += (v - s.Mean()) * (v - s.Mean())
		}
		p := s.Chance(lo, hi)
		// Four and a half standard deviations: 25 fixed draws pass unless something is wrong.
		if got := float64(hits) / n; !near(got, p, 4.5*math.Sqrt(p*(1-p)/n)) {
			t.Errorf("%d: %v in [%g, %g]: drawn %.5g, exact %.5g", k, s, lo, hi, got, p)
		}
		if got := sum / n; !near(got, s.Mean(), 4.5*sd/math.Sqrt(n)) {
			t.Errorf("%d: %v: drawn mean %.6g, want %.6g", k, s, got, s.Mean())
		}
		if got := math.Sqrt(squares / n); !near(got, sd, 4.5*sd/math.Sqrt(n)) {
			t.Errorf("%d: %v: drawn sd %.6g, want %.6g", k, s, got, sd)
		}
	}
}

func TestParts(t *testing.T) {
	for _, tc := range []struct {
		p                         Part
		mean, variance, low, high float64
	}{
		{ExactAt(3), 3, 0, 3, 3},
		{NormalOf(3, 2), 3, 4, math.Inf(-1), math.Inf(1)},
		{NormalOf(3, 0), 3, 0, 3, 3},
		{RectangularOf(1, 7), 4, 3, 1, 7},
		{RectangularAbout(4, 3), 4, 3, 1, 7},
		// Symmetric triangle of half width a: a²/6 (JCGM 100:2008, 4.3.9).
		{TriangularOf(-3, 0, 3), 0, 1.5, -3, 3},
		{TriangularOf(0, 0, 3), 1, 0.5, 0, 3},
	} {
		for _, f := range []float64{1, -2, 0.5, 0} {
			q := tc.p.Scaled(f).Shifted(10)
			lo, hi := f*tc.low+10, f*tc.high+10
			if f < 0 {
				lo, hi = hi, lo
			}
			if f == 0 {
				lo, hi = 10, 10
			}
			if !near(q.Mean(), f*tc.mean+10, 1e-14) || !near(q.Variance(), f*f*tc.variance, 1e-13) || q.Lowest() != lo || q.Highest() != hi {
				t.Errorf("%v times %g: mean %g, variance %g, %g to %g", tc.p, f, q.Mean(), q.Variance(), q.Lowest(), q.Highest())
			}
		}
	}
	if p, err := OfReadings([]float64{6.1, 6.3, 6.2}); err != nil || !near(p.A, 6.2, 1e-14) || !near(p.B, 0.1/math.Sqrt(3), 1e-14) {
		t.Errorf("readings: %v, %v", p, err)
	}
	if _, err := OfReadings([]float64{6.1}); err == nil {
		t.Error("one reading has a spread")
	}
}

func TestPanics(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func(){
		"backwards":       func() { RectangularOf(2, 1) },
		"half":            func() { RectangularAbout(2, -1) },
		"sd":              func() { NormalOf(2, -1) },
		"mode":            func() { TriangularOf(0, 3, 2) },
		"not a number":    func() { ExactAt(nan) },
		"infinite":        func() { RectangularOf(0, math.Inf(1)) },
		"unknown kind":    func() { Part{Kind: 9}.Mean() },
		"draw unknown":    func() { Part{Kind: 9}.Draw(rand.New(rand.NewPCG(1, 1))) },
		"band":            func() { Sum{}.Chance(2, 1) },
		"band NaN":        func() { Sum{}.Chance(nan, 1) },
		"CDF":             func() { Sum{}.CDF(nan) },
		"quantile":        func() { Sum{}.Quantile(1.1) },
		"proportion":      func() { Proportion(3, 2) },
		"proportion of 0": func() { Proportion(0, 0) },
		"zone":            func() { RoundZone(-1, 1) },
		"slices":          func() { DropOn([][2]float64{{0, 0}}, nil, nil, 1, 1) },
		"no samples":      func() { DropOn(nil, nil, nil, 0, 1) },
		"negative zone":   func() { DropOn([][2]float64{{0, 0}}, []float64{-1}, []float64{1}, 1, 1) },
		"scatter":         func() { Scatter(7).draw(rand.New(rand.NewPCG(1, 1)), 1) },
	} {
		func() {
			defer func() {
				if s := fmt.Sprint(recover()); len(s) < 8 || s[:8] != "spread: " {
					t.Errorf("%s: recovered %q", name, s)
				}
			}()
			f()
		}()
	}
}
