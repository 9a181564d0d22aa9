package survey

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"panelwright/internal/plane"
)

// netOf measures the pairs on the figure, each with the uncertainty given.
func netOf(at []plane.Point, unc float64, pairs ...[2]int) Net {
	n := Net{Corners: len(at)}
	for _, p := range pairs {
		n.Distances = append(n.Distances, Distance{p[0], p[1], at[p[0]].Dist(at[p[1]]), unc})
	}
	return n
}

func all(n int) (pairs [][2]int) {
	for i := range n {
		for j := i + 1; j < n; j++ {
			pairs = append(pairs, [2]int{i, j})
		}
	}
	return pairs
}

func must(t *testing.T, n Net) *Result {
	t.Helper()
	r, err := Adjust(n)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// wantAt compares figures in the frame of the result.
func wantAt(t *testing.T, got *Result, want []plane.Point, tol float64) {
	t.Helper()
	want = frame(want)
	for i, c := range got.Corners {
		if d := c.At.Dist(want[i]); !(d <= tol) {
			t.Errorf("corner %d at %v, want %v: %.3g mm off", i, c.At, want[i], d)
		}
	}
}

// An L, so that one corner is reflex; a skew quadrilateral; a hexagon.
var (
	skew = []plane.Point{{X: 0, Y: 0}, {X: 862, Y: 0}, {X: 870, Y: 641}, {X: 12, Y: 650}}
	ell  = []plane.Point{{X: 0, Y: 0}, {X: 800, Y: 0}, {X: 810, Y: 300}, {X: 390, Y: 310}, {X: 400, Y: 700}, {X: -10, Y: 690}}
	six  = []plane.Point{{X: 0, Y: 0}, {X: 500, Y: -60}, {X: 900, Y: 250}, {X: 840, Y: 640}, {X: 400, Y: 760}, {X: -40, Y: 420}}
)

// A rectangle w × h by its four sides and both diagonals, with the sides long by e1 and the diagonals by e2. By symmetry the
// adjusted figure is a rectangle; with equal weights the condition is linear in the small errors.
func TestRectangle(t *testing.T) {
	const w, h = 900.0, 400.0
	n := netOf(plane.Rectangle(w, h).Flatten(1), 1,
		[2]int{0, 1}, [2]int{1, 2}, [2]int{2, 3}, [2]int{3, 0}, [2]int{0, 2}, [2]int{1, 3})
	r := must(t, n)
	wantAt(t, r, []plane.Point{{}, {X: w}, {X: w, Y: h}, {Y: h}}, 1e-8)
	if r.Freedom != 1 || r.ChiSq > 1e-15 || !r.Fits() || len(r.Others) != 0 {
		t.Errorf("freedom %d, chi square %g, others %v", r.Freedom, r.ChiSq, r.Others)
	}
	// The null vector of the transposed rigidity matrix of a rectangle is the self stress (w, h, w, h, −d, −d): closed form.
	// The projector on it is the redundancy matrix: redundancies w²/s², h²/s², d²/s² with s² = 2(w² + h² + d²) = 4d².
	d := math.Hypot(w, h)
	want := []float64{w * w, h * h, w * w, h * h, d * d, d * d}
	for i, q := range r.Readings {
		if !near(q.Redundancy, want[i]/(4*d*d), 1e-9) {
			t.Errorf("redundancy of %d: %v, want %v", i, q.Redundancy, want[i]/(4*d*d))
		}
	}
	// One diagonal long by 1 mm: its residual is −r·1, its misclosure −1, nearly.
	n.Distances[4].Length++
	r = must(t, n)
	if q := r.Readings[4]; !near(q.Residual, -0.25, 1e-3) || !near(q.Misclosure, -1, 4e-3) || !near(q.Standard, -0.5, 2e-3) {
		t.Errorf("a diagonal 1 mm long: %+v", q)
	}
	if q := r.Readings[0]; !near(q.Misclosure, d/w, 4e-3) {
		t.Errorf("the side that would answer for it: %+v, want a misclosure of %v", q, d/w)
	}
}

// Three stations and a fourth point measured from all of them: the data of a worked example of Ghilani and Wolf, Adjustment
// Computations (trilateration, one station unknown; in feet), from memory. The residuals are those of
// scipy.optimize.least_squares for the same data.
func TestTrilateration(t *testing.T) {
	known := []plane.Point{{X: 865.40, Y: 4527.15}, {X: 2432.55, Y: 2047.25}, {X: 2865.22, Y: 27.15}}
	n := netOf(known, 1e-4, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 0})
	n.Corners = 4
	n.Distances = append(n.Distances, Distance{0, 3, 6049.00, 1}, Distance{1, 3, 4736.83, 1}, Distance{2, 3, 5446.49, 1})
	r := must(t, n)
	for i, want := range []float64{-0.03737265, 0.07679284, -0.04736557} {
		if got := r.Readings[3+i].Residual; !near(got, want, 1e-6) {
			t.Errorf("residual %d: %v, want %v", i, got, want)
		}
	}
	if !near(r.Sigma0, 0.09765937, 1e-6) {
		t.Errorf("sigma0 %v", r.Sigma0)
	}
	// The station itself: its coordinates from the same run.
	at := plane.Point{X: 6861.31678772, Y: 3727.81856572}
	for i, k := range known {
		if got, want := r.Corners[i].At.Dist(r.Corners[3].At), k.Dist(at); !near(got, want, 1e-6) {
			t.Errorf("from station %d: %v, want %v", i, got, want)
		}
	}
}

// Without readings to spare the figure is exact and nothing is said to be checked.
func TestExact(t *testing.T) {
	for name, c := range map[string]struct {
		at    []plane.Point
		pairs [][2]int
	}{
		"triangle":      {skew[:3], all(3)},
		"quadrilateral": {skew, [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 0}, {0, 2}}},
		"reflex":        {ell, [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {4, 5}, {5, 0}, {3, 0}, {3, 1}, {3, 5}}},
		"six":           {six, [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {4, 5}, {5, 0}, {0, 2}, {0, 3}, {0, 4}}},
	} {
		t.Run(name, func(t *testing.T) {
			r := must(t, netOf(c.at, 1.5, c.pairs...))
			wantAt(t, r, c.at, 1e-7)
			if r.Freedom != 0 || r.ChiSq != 0 || r.Sigma0 != 0 || r.Limit != 0 || len(r.Suspects) != 0 {
				t.Errorf("%+v", r)
			}
			for i, q := range r.Readings {
				if q.Checked || q.Residual != 0 || q.Misclosure != 0 || q.Redundancy != 0 {
					t.Errorf("reading %d: %+v", i, q)
				}
			}
		})
	}
}

// A strip of triangles across a panel of many corners leaves each corner two places, half a million shapes in all: the convex
// one is found, and that there are others is said.
func TestManyShapes(t *testing.T) {
	const n = 22
	var at []plane.Point
	for i := range n {
		at = append(at, plane.Point{X: 1000}.Rotate(2*math.Pi*(float64(i)+0.3*math.Sin(float64(7*i)))/n))
	}
	var pairs [][2]int
	for i := range n {
		pairs = append(pairs, [2]int{i, (i + 1) % n})
	}
	for a, b := 1, n-1; b-a > 1; {
		pairs = append(pairs, [2]int{a, b})
		if (a+b)%2 == 0 {
			a++
		} else {
			b--
		}
	}
	r := must(t, netOf(at, 1, pairs...))
	wantAt(t, r, at, 1e-5)
	if r.Freedom != 0 || len(r.Others) == 0 {
		t.Errorf("freedom %d, %d other shapes", r.Freedom, len(r.Others))
	}
}

// A net that no sequence of triangles reaches: six corners, the six edges and the three long diagonals.
func TestNoTriangles(t *testing.T) {
	n := netOf(six, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 3}, [2]int{3, 4}, [2]int{4, 5}, [2]int{5, 0}, [2]int{0, 3}, [2]int{1, 4}, [2]int{2, 5})
	if _, order := n.sequence(n.links()); len(order) == 6 {
		t.Fatal("triangles reach every corner")
	}
	r := must(t, n)
	for i, d := range n.Distances {
		if got := r.Corners[d.From].At.Dist(r.Corners[d.To].At); !near(got, d.Length, 1e-6) {
			t.Errorf("distance %d: %v, want %v", i, got, d.Length)
		}
	}
}

// Sum of redundancies, orthogonality of the residuals, and what turning and renumbering leave alone.
func TestProperties(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for name, at := range map[string][]plane.Point{"skew": skew, "ell": ell, "six": six} {
		t.Run(name, func(t *testing.T) {
			n := netOf(at, 1, all(len(at))...)
			for i := range n.Distances {
				n.Distances[i].StdUnc = 0.5 + rnd.Float64()
				n.Distances[i].Length += rnd.NormFloat64() * n.Distances[i].StdUnc
			}
			r := must(t, n)
			sum := 0.0
			for _, q := range r.Readings {
				sum += q.Redundancy
			}
			if want := len(n.Distances) - 2*n.Corners + 3; r.Freedom != want || !near(sum, float64(want), 1e-9) {
				t.Errorf("redundancies add up to %v, freedom %d, want %d", sum, r.Freedom, want)
			}
			// At the least sum of squares no corner feels a force from the residuals, weighted: aᵀ·P·v = 0.
			force := make([]plane.Point, n.Corners)
			for i, d := range n.Distances {
				e := r.Corners[d.To].At.Sub(r.Corners[d.From].At).Unit().Scale(r.Readings[i].Residual / (d.StdUnc * d.StdUnc))
				force[d.From], force[d.To] = force[d.From].Sub(e), force[d.To].Add(e)
			}
			for c, f := range force {
				if f.Len() > 1e-7 {
					t.Errorf("corner %d is pulled by %v", c, f)
				}
			}
			sameRenumbered(t, n, r)
		})
	}
}

// sameRenumbered numbers the corners from another one on and turns every reading round.
func sameRenumbered(t *testing.T, n Net, r *Result) {
	t.Helper()
	for shift := 1; shift < n.Corners; shift++ {
		m := Net{Corners: n.Corners}
		for _, d := range n.Distances {
			m.Distances = append(m.Distances, Distance{(d.To + shift) % n.Corners, (d.From + shift) % n.Corners, d.Length, d.StdUnc})
		}
		s := must(t, m)
		for i := range r.Readings {
			a, b := r.Readings[i], s.Readings[i]
			if !near(a.Residual, b.Residual, 1e-7) || !near(a.Redundancy, b.Redundancy, 1e-7) || !near(a.Standard, b.Standard, 1e-7) || a.Checked != b.Checked {
				t.Errorf("renumbered by %d, reading %d: %+v, was %+v", shift, i, b, a)
			}
		}
		for i := range n.Corners {
			for j := range i {
				a := r.Corners[i].At.Dist(r.Corners[j].At)
				if b := s.Corners[(i+shift)%n.Corners].At.Dist(s.Corners[(j+shift)%n.Corners].At); !near(a, b, 1e-7) {
					t.Errorf("renumbered by %d: %d to %d is %v, was %v", shift, i, j, b, a)
				}
			}
		}
	}
}

// Misclosure by the formula residual / redundancy against an adjustment without the reading: the truth it stands for.
func TestMisclosure(t *testing.T) {
	n := netOf(six, 1, all(6)...)
	rnd := rand.New(rand.NewPCG(3, 4))
	for i := range n.Distances {
		n.Distances[i].Length += 2 * rnd.NormFloat64()
	}
	r := must(t, n)
	for i, d := range n.Distances {
		m := Net{n.Corners, slices.Delete(slices.Clone(n.Distances), i, i+1)}
		s := must(t, m)
		want := s.Corners[d.From].At.Dist(s.Corners[d.To].At) - d.Length
		if got := r.Readings[i].Misclosure; !near(got, want, 0.05) {
			t.Errorf("reading %d: misclosure %.3f, left out %.3f", i, got, want)
		}
	}
}

// A reading wrong by 5 mm of a tape good to 0.5 mm is found in a net that checks every reading well; where only one reading is
// to spare, all six are named, since none can be told from the others.
func TestGrossError(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for bad := range all(6) {
		n := netOf(six, 0.5, all(6)...)
		for i := range n.Distances {
			n.Distances[i].Length += 0.25 * rnd.NormFloat64()
		}
		n.Distances[bad].Length += 5
		r := must(t, n)
		if len(r.Suspects) != 1 || r.Suspects[0] != bad || r.Fits() {
			t.Errorf("5 mm on reading %d: suspected %v", bad, r.Suspects)
		} else if got := r.Readings[bad].Misclosure; !near(got, -5, 2) {
			t.Errorf("5 mm on reading %d: misclosure %v", bad, got)
		}
	}
	n := netOf(skew, 0.5, all(4)...)
	n.Distances[2].Length += 8 // by its Findable, 6.9 mm, 5 mm would not be found
	if r := must(t, n); len(r.Suspects) != 6 || r.Fits() {
		t.Errorf("one reading to spare: suspected %v", r.Suspects)
	}
	n = netOf(skew, 0.5, all(4)...)
	if r := must(t, n); len(r.Suspects) != 0 || !r.Fits() {
		t.Errorf("nothing wrong: suspected %v", r.Suspects)
	}
}

// Readings without a net to hold them are refused, and the corners that can move are named.
func TestLoose(t *testing.T) {
	for name, c := range map[string]struct {
		n       Net
		corners []int
		missing int
	}{
		"no diagonal":      {netOf(skew, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 3}, [2]int{3, 0}), []int{2, 3}, 1},
		"one corner once":  {netOf(skew, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 0}, [2]int{3, 0}), []int{3}, 1},
		"a corner never":   {netOf(skew, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 0}), []int{3}, 2},
		"nothing":          {Net{Corners: 3}, []int{0, 1, 2}, 3},
		"twice is no more": {netOf(skew, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 3}, [2]int{3, 0}, [2]int{1, 0}, [2]int{3, 2}), []int{2, 3}, 1},
		"over-measured half": {netOf(six, 1, [2]int{0, 1}, [2]int{0, 2}, [2]int{0, 3}, [2]int{1, 2}, [2]int{1, 3}, [2]int{2, 3},
			[2]int{3, 4}, [2]int{4, 5}, [2]int{5, 0}), []int{4, 5}, 1},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Adjust(c.n)
			var e *LooseError
			if !errors.As(err, &e) {
				t.Fatalf("%v, want a LooseError", err)
			}
			if !slices.Equal(e.Corners, c.corners) || e.Missing != c.missing || e.Flat {
				t.Errorf("%+v, want corners %v, %d missing", e, c.corners, c.missing)
			}
		})
	}
}

func TestTriangle(t *testing.T) {
	n := netOf(skew, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{2, 3}, [2]int{3, 0}, [2]int{0, 2})
	n.Distances[4].Length = 862 + n.Distances[1].Length + 40
	_, err := Adjust(n)
	var e *TriangleError
	if !errors.As(err, &e) || !near(e.By, 40, 1e-9) || e.Corners != [3]int{0, 2, 1} || e.Computed {
		t.Errorf("%v, want the triangle 0 2 1 open by 40 mm", err)
	}
	// A middle corner in line: 0.4 mm open is within the tape, but with nothing else to hold it the corner is free.
	line := []plane.Point{{X: 0}, {X: 400}, {X: 800}, {X: 400, Y: 500}}
	n = netOf(line, 1, [2]int{0, 1}, [2]int{1, 2}, [2]int{0, 2}, [2]int{0, 3}, [2]int{2, 3})
	var l *LooseError
	if _, err := Adjust(n); !errors.As(err, &l) || !l.Flat || !slices.Equal(l.Corners, []int{1}) {
		t.Errorf("a corner in line that nothing holds: %v", err)
	}
	n.Distances[2].Length += 0.4
	if _, err := Adjust(n); !errors.As(err, &e) || !near(e.By, 0.4, 1e-9) {
		t.Errorf("the same, 0.4 mm open: %v", err)
	}
	n.Distances = append(n.Distances, Distance{1, 3, 500, 1})
	wantAt(t, must(t, n), line, 0.5)
}

// Two shapes with the same distances: the one that does not cross itself, else the convex one, and the other is reported.
func TestAmbiguous(t *testing.T) {
	// Corner 3 mirrored over the diagonal 0–2 makes a dart, which does not cross either.
	kite := []plane.Point{{X: 0}, {X: 600, Y: -400}, {X: 1000}, {X: 600, Y: 200}}
	edges := [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 0}, {0, 2}}
	r := must(t, netOf(kite, 1, edges...))
	wantAt(t, r, kite, 1e-7)
	if len(r.Others) != 1 || !slices.Contains(r.Others[0].Moved, 3) {
		t.Errorf("others: %+v", r.Others)
	}
	// With the other diagonal there is one shape only.
	dart := []plane.Point{{X: 0}, {X: 600, Y: -400}, {X: 1000}, {X: 600, Y: -200}}
	r = must(t, netOf(dart, 1, append(edges, [2]int{1, 3})...))
	wantAt(t, r, dart, 1e-7)
	if len(r.Others) != 0 {
		t.Errorf("others: %+v", r.Others)
	}
	// A rectangle's mirrored corner makes it cross itself, so that nothing is to report.
	if r := must(t, netOf(skew, 1, edges...)); len(r.Others) != 0 {
		t.Errorf("others: %+v", r.Others)
	}
}

func TestInput(t *testing.T) {
	for name, n := range map[string]Net{
		"corners":     {Corners: 2},
		"many":        {Corners: MostCorners + 1},
		"range":       {3, []Distance{{0, 3, 1, 1}}},
		"negative":    {3, []Distance{{-1, 2, 1, 1}}},
		"itself":      {3, []Distance{{1, 1, 1, 1}}},
		"length":      {3, []Distance{{0, 1, 0, 1}}},
		"nan":         {3, []Distance{{0, 1, math.NaN(), 1}}},
		"endless":     {3, []Distance{{0, 1, math.Inf(1), 1}}},
		"uncertainty": {3, []Distance{{0, 1, 1, 0}}},
	} {
		var e *InputError
		if _, err := Adjust(n); !errors.As(err, &e) {
			t.Errorf("%s: %v, want an InputError", name, err)
		}
	}
}

// Upper 5 % points of chi-square, as any table prints them (Abramowitz and Stegun, table 26.8), from memory.
func TestChiSquare(t *testing.T) {
	for k, want := range map[int]float64{1: 3.841, 2: 5.991, 3: 7.815, 4: 9.488, 5: 11.070, 10: 18.307, 20: 31.410, 30: 43.773, 100: 124.342} {
		if got := chiLimit(k, 0.95); !near(got, want, 6e-4) {
			t.Errorf("%d degrees of freedom: %v, want %v", k, got, want)
		}
	}
}

// The standard ellipse against the covariance's eigenvalues by a turn of the axes: along Angle the variance is Major², across
// it Minor².
func TestEllipse(t *testing.T) {
	r := must(t, netOf(six, 1, all(6)...))
	for c, k := range r.Corners {
		xx, xy, yy := r.Covariance[2*c][2*c], r.Covariance[2*c][2*c+1], r.Covariance[2*c+1][2*c+1]
		e := plane.Point{X: 1}.Rotate(k.Angle)
		along := e.X*e.X*xx + 2*e.X*e.Y*xy + e.Y*e.Y*yy
		e = e.Perp()
		across := e.X*e.X*xx + 2*e.X*e.Y*xy + e.Y*e.Y*yy
		if !near(along, k.Major*k.Major, 1e-12) || !near(across, k.Minor*k.Minor, 1e-12) || k.Minor > k.Major {
			t.Errorf("corner %d: %+v, variances %v and %v", c, k, along, across)
		}
	}
}

// The standard deviations that the covariance promises are those of repeated measuring: 2000 simulated surveys, whose sample
// standard deviations scatter by 1/√4000 = 1.6 %.
func TestSpreadOfRepeats(t *testing.T) {
	exact := netOf(six, 0.8, append(all(6)[:11], [2]int{3, 5})...)
	want := must(t, exact)
	rnd := rand.New(rand.NewPCG(7, 8))
	const runs = 2000
	sum := make([]plane.Point, 6)
	fails := 0
	for range runs {
		n := Net{6, slices.Clone(exact.Distances)}
		for i := range n.Distances {
			n.Distances[i].Length += n.Distances[i].StdUnc * rnd.NormFloat64()
		}
		s, err := n.settle(six)
		if err != nil {
			t.Fatal(err)
		}
		if s.phi > want.Limit {
			fails++
		}
		for c := range sum {
			d := s.at[c].Sub(want.Corners[c].At)
			sum[c] = sum[c].Add(plane.Point{X: d.X * d.X, Y: d.Y * d.Y})
		}
	}
	for c, k := range want.Corners {
		sx, sy := math.Sqrt(sum[c].X/runs), math.Sqrt(sum[c].Y/runs)
		if math.Abs(sx-k.SX) > 0.07*k.SX+1e-12 || math.Abs(sy-k.SY) > 0.07*k.SY+1e-12 {
			t.Errorf("corner %d: simulated %v %v, computed %v %v", c, sx, sy, k.SX, k.SY)
		}
	}
	if p := float64(fails) / runs; math.Abs(p-0.05) > 0.02 {
		t.Errorf("%.3f of sound surveys fail the test of the net, want 0.05", p)
	}
}

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }
