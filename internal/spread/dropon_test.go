package spread

import (
	"math"
	"math/rand/v2"
	"testing"
)

// eight stands for a lid of 1200 × 800 with eight stations along its edges.
var eight = [][2]float64{{0, 0}, {600, 0}, {1200, 0}, {1200, 400}, {1200, 800}, {600, 800}, {0, 800}, {0, 400}}

func all(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

func TestRoundZone(t *testing.T) {
	// σ = 0.05 in a zone of diameter 0.2: 1 − exp(−2) = 0.864665 (computed).
	if got := RoundZone(0.05, 0.1); !near(got, 0.864665, 5e-7) || !near(got, 1-math.Exp(-2), 1e-15) {
		t.Errorf("%.9g", got)
	}
	if RoundZone(0, 0.1) != 1 || RoundZone(1, 0) != 0 || !near(RoundZone(1, 1e-6), 5e-13, 1e-20) {
		t.Error("ends of the round zone")
	}
	// NormalDisc has its zone's radius at 3σ: what its comment says lies outside.
	if got := 1 - RoundZone(1, 3); !near(got, 0.011, 0.0005) {
		t.Errorf("outside at 3σ: %.4g", got)
	}
}

func TestProportion(t *testing.T) {
	for _, tc := range []struct {
		hits, n   int
		p, lo, hi float64
		tol       float64
		why       string
	}{
		// Worked by hand from the formula: (p + z²/2n ± z√(p(1 − p)/n + z²/4n²))/(1 + z²/n).
		{5, 10, 0.5, 0.2366, 0.7634, 5e-5, "middle"},
		{0, 10, 0, 0, 3.841459 / 13.841459, 1e-6, "none: z²/(n + z²)"},
		{10, 10, 1, 10 / 13.841459, 1, 1e-6, "all: n/(n + z²)"},
		{81, 263, 0.30798, 0.2553, 0.3662, 5e-5, "a survey (Newcombe 1998, table I, method 3; from memory)"},
	} {
		p, lo, hi := Proportion(tc.hits, tc.n)
		if !near(p, tc.p, 1e-5) || !near(lo, tc.lo, tc.tol) || !near(hi, tc.hi, tc.tol) {
			t.Errorf("%d of %d (%s): %.6g [%.6g, %.6g], want %.6g [%.6g, %.6g]", tc.hits, tc.n, tc.why, p, lo, hi, tc.p, tc.lo, tc.hi)
		}
	}
	// The interval holds the true share in about 95 % of trials.
	rng := rand.New(rand.NewPCG(31, 31))
	held := 0
	const trials, n, truth = 2000, 200, 0.13
	for range trials {
		hits := 0
		for range n {
			if rng.Float64() < truth {
				hits++
			}
		}
		if _, lo, hi := Proportion(hits, n); lo <= truth && truth <= hi {
			held++
		}
	}
	if got := float64(held) / trials; !near(got, 0.95, 0.02) {
		t.Errorf("the 95 %% interval held %.4g of the time", got)
	}
}

// With the panel free to shift, one stud always drops on; with as much clearance as zone, all always do; with negative
// clearance none ever.
func TestDropOnCertain(t *testing.T) {
	for _, tc := range []struct {
		name string
		s    Studs
		want float64
	}{
		{"no studs", Studs{}, 1},
		{"one", Studs{At: eight[:1], StudZone: all(1, 5), Clear: all(1, 0.01)}, 1},
		{"one without clearance", Studs{At: eight[:1], StudZone: all(1, 5), Clear: all(1, 0)}, 1},
		{"room for the zone", Studs{At: eight, StudZone: all(8, 1), Clear: all(8, 0.5)}, 1},
		{"fixed fastener: clearance is both zones", Studs{At: eight, StudZone: all(8, 1), HoleZone: all(8, 0.6), Clear: all(8, 0.8)}, 1},
		{"perfect", Studs{At: eight, StudZone: all(8, 0), Clear: all(8, 0)}, 1},
		{"too thick", Studs{At: eight, StudZone: all(8, 0), Clear: append(all(7, 1), -0.01)}, 0},
		{"same place, room", Studs{At: make([][2]float64, 3), StudZone: all(3, 1), Clear: all(3, 0.5)}, 1},
	} {
		r := tc.s.DropOn(500, 1)
		if r.Chance != tc.want && !(tc.name == "one without clearance" && r.Hits+r.Undecided == r.Samples) {
			t.Errorf("%s: %+v", tc.name, r)
		}
	}
}

// Two studs on a line along x: turning frees y, so they drop on when their errors along the line differ by no more than both
// clearances. The error's x in a disc of radius r has density 2√(r² − x²)/(πr²).
func TestDropOnTwo(t *testing.T) {
	const r, n = 0.75, 4000
	cum := func(x float64) float64 {
		x = min(r, max(-r, x))
		return 0.5 + x*math.Sqrt(r*r-x*x)/(math.Pi*r*r) + math.Asin(x/r)/math.Pi
	}
	for _, c := range []float64{0.05, 0.1, 0.2, 0.4} {
		want := 0.0
		for i := range n {
			x := r * (2*(float64(i)+0.5)/n - 1)
			want += 2 * math.Sqrt(r*r-x*x) / (math.Pi * r * r) * (cum(x+2*c) - cum(x-2*c)) * 2 * r / n
		}
		got := DropOn([][2]float64{{-300, 40}, {300, 40}}, all(2, 2*r), all(2, c), 20000, 7)
		if !near(got.Chance, want, 4*math.Sqrt(want*(1-want)/20000)) {
			t.Errorf("clearance %g: %+v, want %.5g", c, got, want)
		}
		// Normal scatter: the difference of two errors along x is normal with σ√2.
		got = Studs{At: [][2]float64{{-300, 40}, {300, 40}}, StudZone: all(2, 2*r), Clear: all(2, c), Scatter: NormalDisc}.DropOn(20000, 8)
		sigma := 2 * r / 6 * math.Sqrt2
		want = math.Erf(2 * c / sigma / math.Sqrt2)
		if !near(got.Chance, want, 4*math.Sqrt(want*(1-want)/20000)) {
			t.Errorf("normal, clearance %g: %+v, want %.5g", c, got, want)
		}
	}
}

// Every verdict against nested golden sections, which share nothing with Newton's method.
func TestDropOnBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 32))
	count := map[verdict]int{}
	for k := range 120 {
		n := 2 + rng.IntN(5)
		at := make([][2]float64, n)
		clear := make([]float64, n)
		for i := range at {
			at[i] = [2]float64{1000 * rng.Float64(), 600 * rng.Float64()}
			clear[i] = 0.1 + 0.5*rng.Float64()
		}
		f := newFitting(at, clear)
		for i := range at {
			f.e[i] = UniformDisc.draw(rng, 2)
		}
		got := f.decide()
		count[got]++
		least := golden(func(w float64) float64 {
			return golden(func(x float64) float64 {
				return golden(func(y float64) float64 { return f.excess(vec{x, y, w}) })
			})
		})
		// resolution is what the nested searches leave.
		const resolution = 1e-5
		if least < -resolution && got != fits || least > resolution && got != jams {
			t.Fatalf("%d: verdict %d, but the least excess is %g", k, got, least)
		}
	}
	if count[fits] < 20 || count[jams] < 20 {
		t.Errorf("verdicts %v: too one-sided to prove anything", count)
	}
}

func (f *fitting) excess(x vec) float64 {
	worst := math.Inf(-1)
	for i, e := range f.e {
		q := f.q[i]
		worst = max(worst, math.Hypot(e[0]+x[0]+x[2]*q[0], e[1]+x[1]+x[2]*q[1])-f.c[i])
	}
	return worst
}

// golden returns the least value of a convex function on [−4, 4].
func golden(f func(float64) float64) float64 {
	const ratio = 0.6180339887498949
	a, b := -4.0, 4.0
	c, d := b-ratio*(b-a), a+ratio*(b-a)
	fc, fd := f(c), f(d)
	for range 34 {
		if fc < fd {
			b, d, fd = d, c, fc
			c = b - ratio*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + ratio*(b-a)
			fd = f(d)
		}
	}
	return min(fc, fd)
}

// The same errors with more clearance, sample by sample: what fitted still fits.
func TestDropOnMonotone(t *testing.T) {
	rng := rand.New(rand.NewPCG(33, 33))
	for range 300 {
		f := newFitting(eight, all(8, 0))
		for i := range f.e {
			f.e[i] = UniformDisc.draw(rng, 1)
		}
		before := jams
		for _, c := range []float64{0.1, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5} {
			g := newFitting(eight, all(8, c))
			g.e = f.e
			v := g.decide()
			if before == fits && v != fits || v == undecided {
				t.Fatalf("clearance %g: verdict %d after %d", c, v, before)
			}
			before = v
		}
		if before != fits {
			t.Fatal("does not drop on with clearance for the whole zone")
		}
	}
	last := -1
	for _, c := range []float64{0.2, 0.3, 0.4, 0.5} {
		r := DropOn(eight, all(8, 1), all(8, c), 1000, 5)
		if r.Hits < last {
			t.Errorf("clearance %g: %d hits, fewer than %d", c, r.Hits, last)
		}
		last = r.Hits
	}
}

// Layout and errors turned together give the same verdict; the layout turned alone gives the same chance.
func TestDropOnTurned(t *testing.T) {
	rng := rand.New(rand.NewPCG(34, 34))
	turn := func(p [][2]float64, a float64) [][2]float64 {
		q := make([][2]float64, len(p))
		s, c := math.Sincos(a)
		for i, v := range p {
			q[i] = [2]float64{c*v[0] - s*v[1] + 90, s*v[0] + c*v[1] - 30}
		}
		return q
	}
	for k := range 200 {
		f := newFitting(eight, all(8, 0.33))
		for i := range f.e {
			f.e[i] = UniformDisc.draw(rng, 1)
		}
		a := 7 * rng.Float64()
		g := newFitting(turn(eight, a), all(8, 0.33))
		for i, e := range turn(f.e, a) {
			g.e[i] = [2]float64{e[0] - 90, e[1] + 30}
		}
		if v, w := f.decide(), g.decide(); v != w {
			t.Fatalf("%d: verdict %d, turned %d", k, v, w)
		}
	}
	r := DropOn(eight, all(8, 1), all(8, 0.33), 3000, 9)
	for _, a := range []float64{0.3, 1, 2} {
		s := DropOn(turn(eight, a), all(8, 1), all(8, 0.33), 3000, 9)
		if s.Lo > r.Hi || s.Hi < r.Lo {
			t.Errorf("turned by %g: %+v, was %+v", a, s, r)
		}
	}
	if r.Chance < 0.05 || r.Chance > 0.95 {
		t.Errorf("%+v: too certain to prove anything", r)
	}
}

// Common practice, no source: a paper template places within 1.5 mm diameter, a jig within 0.3 mm; 9 mm holes over 8.6 mm studs
// then practically never take eight stations drilled from paper at once, while from a jig most panels drop on, and all do
// when the hole has both zones more than the stud (fixed fastener, ASME Y14.5, app. B).
func TestDropOnPaper(t *testing.T) {
	paper := Studs{At: eight, StudZone: all(8, 1.5), HoleZone: all(8, 1.5), Clear: all(8, 0.2)}
	if r := paper.DropOn(4000, 3); r.Hi > 0.002 || r.Undecided > 0 {
		t.Errorf("from paper: %+v", r)
	}
	jig := Studs{At: eight, StudZone: all(8, 0.3), HoleZone: all(8, 0.3), Clear: all(8, 0.2)}
	if r := jig.DropOn(4000, 3); r.Lo < 0.5 || r.Hi > 0.99 {
		t.Errorf("from a jig: %+v", r)
	}
	jig.Clear = all(8, 0.3)
	if r := jig.DropOn(4000, 3); r.Chance != 1 {
		t.Errorf("from a jig with both zones as clearance: %+v", r)
	}
	a, b := paper.DropOn(500, 3), paper.DropOn(500, 3)
	if a != b {
		t.Error("the same seed gives another answer")
	}
}

// Undecided must be rare: it is only for samples within about 1e-8 of the limit.
func TestDropOnDecides(t *testing.T) {
	total := 0
	for seed := range uint64(5) {
		for _, c := range []float64{0.1, 0.3, 0.33, 0.36, 0.45} {
			total += DropOn(eight, all(8, 1), all(8, c), 1000, seed).Undecided
		}
	}
	if total > 0 {
		t.Errorf("%d of 25000 samples undecided", total)
	}
}

func TestDrawAllocatesNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(35, 35))
	s := Sum{ExactAt(1), NormalOf(0, 1), RectangularOf(0, 1), TriangularOf(0, 0.3, 1)}
	if n := testing.AllocsPerRun(100, func() { s.Draw(rng) }); n != 0 {
		t.Errorf("%g allocations a draw", n)
	}
}
