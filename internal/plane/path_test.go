package plane

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// near says whether two numbers agree within abs + rel·size.
func near(got, want, abs, rel float64) bool {
	return math.Abs(got-want) <= abs+rel*math.Abs(want)
}

// rounding is the tolerance of closed forms: some hundred roundings.
const rounding = 1e-13

func nearPoint(a, b Point, abs float64) bool { return a.Dist(b) <= abs }

// blob returns a random simple closed path with arcs, anticlockwise: corners at growing angles about the origin, radii apart
// enough and bulges flat enough that no edge can meet another.
func blob(rng *rand.Rand, n int) Path {
	p := Path{Closed: true}
	for i := range n {
		a := 2 * math.Pi * (float64(i) + 0.3*rng.Float64()) / float64(n)
		r := 100 + 20*rng.Float64()
		v := Vertex{Point: Point{r, 0}.Rotate(a)}
		if rng.IntN(3) > 0 {
			v.Bulge = 0.2 * (rng.Float64() - 0.5)
		}
		p.V = append(p.V, v)
	}
	return p
}

func randomSimilarity(rng *rand.Rand) Transform {
	t := Turn(7*rng.Float64(), Point{rng.Float64(), 3}).Then(Move(Point{1000 * rng.NormFloat64(), 1000 * rng.NormFloat64()}))
	t = t.Then(Scale(0.2+3*rng.Float64(), Point{50, 60 * rng.Float64()}))
	if rng.IntN(2) == 0 {
		t = t.Then(Mirror(Point{rng.Float64(), 5}, Point{40, 50 * rng.Float64()}))
	}
	return t
}

func TestAreaClosedForms(t *testing.T) {
	rounded, err := RoundedRectangle(200, 120, 15)
	if err != nil {
		t.Fatal(err)
	}
	stadium, err := RoundedRectangle(200, 120, 60)
	if err != nil {
		t.Fatal(err)
	}
	// A half disc: its centroid stands 4r/3π above the diameter (closed form).
	half := Path{V: []Vertex{{Point{-10, 0}, 0}, {Point{10, 0}, 1}}, Closed: true}
	// Three quarters of a disc, cut by a chord: the bulge of 270° is tan(67.5°).
	c := 10 * math.Sqrt2 / 2
	major := Path{V: []Vertex{{Point{c, -c}, math.Tan(math.Pi * 3 / 8)}, {Point{-c, -c}, 0}}, Closed: true}
	for _, tc := range []struct {
		name         string
		p            Path
		area, length float64
		c            Point
	}{
		{"rectangle", Rectangle(30, 20), 600, 100, Point{15, 10}},
		{"trapezium", Trapezium(40, 20, 10, 0), 300, 60 + 2*math.Sqrt(200), Point{20, 40.0 / 9}},
		{"circle", CircleAt(Point{3, 4}, 5), 25 * math.Pi, 10 * math.Pi, Point{3, 4}},
		{"rounded", rounded, 200*120 - (4-math.Pi)*225, 640 - (8-2*math.Pi)*15, Point{100, 60}},
		{"stadium", stadium, 80*120 + math.Pi*3600, 160 + 120*math.Pi, Point{100, 60}},
		{"half disc", half, 50 * math.Pi, 20 + 10*math.Pi, Point{0, 40 / (3 * math.Pi)}},
		// Segment of sweep 3π/2: R²/2(θ − sin θ), 4R sin³(θ/2)/(3(θ − sin θ)) up from the centre (closed form).
		{"major", major, 50 * (1.5*math.Pi + 1), 15*math.Pi + 2*c, Point{0, 40 * math.Pow(c/10, 3) / (3 * (1.5*math.Pi + 1))}},
	} {
		if got := tc.p.Area(); !near(got, tc.area, 0, rounding) {
			t.Errorf("%s: area %.15g, want %.15g", tc.name, got, tc.area)
		}
		if got := tc.p.Length(); !near(got, tc.length, 0, rounding) {
			t.Errorf("%s: length %.15g, want %.15g", tc.name, got, tc.length)
		}
		got, ok := tc.p.Centroid()
		if !ok || !nearPoint(got, tc.c, 1e-11) {
			t.Errorf("%s: centroid %v, want %v", tc.name, got, tc.c)
		}
		if f := tc.p.Facts(); len(f) != 0 {
			t.Errorf("%s: %v", tc.name, f)
		}
	}
}

// A flat arc must go over into its chord without a jump: length, area and centroid against the series in the bulge.
func TestFlatArcs(t *testing.T) {
	for e := 1; e < 310; e++ {
		b := math.Pow(10, -float64(e)/2)
		g := Seg{Point{}, Point{10, 0}, b}
		area, moment := g.sliver()
		// c(1 + 2b²/3 − …), c²(b/3 + 2b³/15…)…: the next terms are below b⁴ of the first.
		tol := 1e-12 + b*b*b*b
		if !near(g.Length(), 10*(1+2*b*b/3), 0, tol) {
			t.Errorf("b = %g: length %.17g", b, g.Length())
		}
		if !near(area, 100*b/3, 1e-300, 1e-12+b*b) {
			t.Errorf("b = %g: area %g, want about %g", b, area, 100*b/3)
		}
		// The circle's formula keeps c³ times rounding over b².
		if !near(moment, 1000*b*b/15, 1e-300, 2*b*b+1e-6) {
			t.Errorf("b = %g: moment %g, want about %g", b, moment, 1000*b*b/15)
		}
		if mid := g.At(0.5); !near(mid.Y, -5*b, 1e-300, rounding) || !near(mid.X, 5, 0, rounding) {
			t.Errorf("b = %g: middle %v", b, mid)
		}
		if s, f := g.Nearest(Point{2, 3}); !nearPoint(f, g.At(s), 1e-12) || b < 1e-9 && !nearPoint(f, Point{2, 0}, 1e-7) {
			t.Errorf("b = %g: nearest %v", b, f)
		}
	}
}

func TestInvariance(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for k := range 300 {
		p := blob(rng, 3+rng.IntN(9))
		tr := randomSimilarity(rng)
		q := p.Transform(tr)
		f := tr.Factor()
		sign := 1.0
		if tr.Mirrors() {
			sign = -1
		}
		if !near(q.Area(), sign*f*f*p.Area(), 0, 1e-9) || !near(q.Length(), f*p.Length(), 0, 1e-9) {
			t.Fatalf("%d: area %g, length %g do not follow", k, q.Area(), q.Length())
		}
		cp, _ := p.Centroid()
		cq, _ := q.Centroid()
		if !nearPoint(tr.Apply(cp), cq, 1e-7) {
			t.Fatalf("%d: centroid %v, want %v", k, cq, tr.Apply(cp))
		}
		s := rng.Float64() * p.Length()
		if !nearPoint(tr.Apply(p.At(s)), q.At(f*s), 1e-8) {
			t.Fatalf("%d: place along the path does not follow", k)
		}
		at := Point{160 * (rng.Float64() - 0.5), 160 * (rng.Float64() - 0.5)}.Scale(2)
		if p.Contains(at) != q.Contains(tr.Apply(at)) {
			t.Fatalf("%d: %v is %v, then %v", k, at, p.Contains(at), q.Contains(tr.Apply(at)))
		}
		_, dp, fp := p.Nearest(at)
		_, dq, fq := q.Nearest(tr.Apply(at))
		if !near(dq, f*dp, 1e-8, 0) || !nearPoint(tr.Apply(fp), fq, 1e-6) {
			t.Fatalf("%d: nearest does not follow", k)
		}
		r := p.Reverse()
		if r.Area() != -p.Area() && !near(r.Area(), -p.Area(), 0, rounding) || r.Contains(at) != p.Contains(at) {
			t.Fatalf("%d: reversed: area %g of %g", k, r.Area(), p.Area())
		}
		if !nearPoint(r.At(s), p.At(p.Length()-s), 1e-9) {
			t.Fatalf("%d: reversed: place along the path", k)
		}
		if len(p.SelfCrossings()) != 0 || len(q.SelfCrossings()) != 0 {
			t.Fatalf("%d: crossings %v %v", k, p.SelfCrossings(), q.SelfCrossings())
		}
	}
}

func TestTransformOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	for range 200 {
		a, b := randomSimilarity(rng), randomSimilarity(rng)
		p := Point{rng.NormFloat64(), rng.NormFloat64()}
		if got, want := a.Then(b).Apply(p), b.Apply(a.Apply(p)); !nearPoint(got, want, 1e-9*(1+want.Len())) {
			t.Fatalf("%v, want %v", got, want)
		}
	}
	m := Mirror(Point{1, 1}, Point{2, 2})
	if got := m.Apply(Point{3, 0}); !nearPoint(got, Point{0, 3}, rounding) {
		t.Errorf("mirror in the diagonal: %v", got)
	}
	if got := m.Then(m).Apply(Point{3, 1}); !nearPoint(got, Point{3, 1}, 4*rounding) {
		t.Errorf("mirror twice: %v", got)
	}
}

// Along the path: equal steps of length are equal steps of s, tangents are difference quotients, SubPath is a part.
func TestAlong(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for k := range 100 {
		p := blob(rng, 3+rng.IntN(6))
		p.Closed = k%2 == 0
		total := p.Length()
		s := total * (0.01 + 0.9*rng.Float64())
		i, u := p.Locate(s)
		if !near(p.EdgeStart(i)+u*p.Seg(i).Length(), s, 1e-10, 0) {
			t.Fatalf("%d: Locate(%g) = %d, %g", k, s, i, u)
		}
		// h is near the cube root of rounding times size.
		const h = 1e-3
		j, v := p.Locate(s + h)
		if i == j {
			d := p.Seg(i).At(v).Sub(p.Seg(i).At(u)).Scale(1 / h)
			if !nearPoint(d, p.Seg(i).Tangent((u+v)/2), 1e-6) || !nearPoint(p.Tangent(s), d, 1e-3) {
				t.Fatalf("%d: tangent %v, difference quotient %v", k, p.Tangent(s), d)
			}
		}
		s1 := s + (total-s)*rng.Float64()
		part := p.SubPath(s, s1)
		if !near(part.Length(), s1-s, 1e-9, 0) || !nearPoint(part.At(0), p.At(s), 1e-9) || part.Closed {
			t.Fatalf("%d: part of %g, want %g", k, part.Length(), s1-s)
		}
		m := (s1 - s) * rng.Float64()
		if !nearPoint(part.At(m), p.At(s+m), 1e-8) {
			t.Fatalf("%d: part leaves the path", k)
		}
		if p.Closed {
			rest := p.SubPath(s1, s)
			if !near(rest.Length()+part.Length(), total, 1e-9, 0) {
				t.Fatalf("%d: parts of %g and %g, whole %g", k, part.Length(), rest.Length(), total)
			}
			if whole := p.SubPath(s, s); !near(whole.Length(), total, 1e-9, 0) {
				t.Fatalf("%d: whole way round is %g of %g", k, whole.Length(), total)
			}
			if !nearPoint(p.At(s-total), p.At(s), 1e-9) {
				t.Fatalf("%d: s does not wrap", k)
			}
		}
	}
}

// A place at a joint, as sums of lengths give it, belongs to the edge that leaves: parts between joints have no slivers.
func TestPartsBetweenJoints(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 15))
	for k := range 200 {
		p := blob(rng, 3+rng.IntN(9)).Transform(Turn(rng.Float64(), Point{1e3, 2e3}))
		n := len(p.V)
		i, j := rng.IntN(n), rng.IntN(n)
		if i == j {
			continue // that is the whole way round, tested above
		}
		part := p.SubPath(p.EdgeStart(i)+1e-12*rng.NormFloat64(), p.EdgeStart(j)+1e-12*rng.NormFloat64())
		want := (j - i + n) % n
		if part.EdgeCount() != want || part.V[0].Point != p.V[i].Point {
			t.Fatalf("%d: %d edges from vertex %d to %d of %d", k, part.EdgeCount(), i, j, n)
		}
		if !nearPoint(part.Tangent(0), p.Seg(i).Tangent(0), 1e-12) {
			t.Fatalf("%d: starts along %v", k, part.Tangent(0))
		}
	}
}

func TestNearestAgainstSampling(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for k := range 100 {
		p := blob(rng, 3+rng.IntN(5))
		for i := range p.V {
			p.V[i].Bulge *= 30 // beyond half circles too
		}
		q := Point{300 * (rng.Float64() - 0.5), 300 * (rng.Float64() - 0.5)}
		s, d, foot := p.Nearest(q)
		if !nearPoint(p.At(s), foot, 1e-8) || !near(q.Dist(foot), d, rounding, 0) {
			t.Fatalf("%d: s, distance and foot disagree", k)
		}
		best := math.Inf(1)
		for _, f := range p.Flatten(1e-4) {
			best = min(best, q.Dist(f))
		}
		n := 4000
		for i := range n {
			best = min(best, q.Dist(p.At(p.Length()*float64(i)/float64(n))))
		}
		// Samples are at most 2 mm apart: on a curve the nearest one is within 2²/8d of the foot, or a millimetre close in.
		if best < d-1e-9 || best > d+1 {
			t.Fatalf("%d: distance %g, sampled %g", k, d, best)
		}
	}
}

func TestFlattenError(t *testing.T) {
	for _, tol := range []float64{1, 0.1, 1e-3, 1e-5} {
		for _, p := range []Path{CircleAt(Point{1, 2}, 50), {V: []Vertex{{Point{0, 0}, 2.4}, {Point{30, 4}, -0.3}}, Closed: true}} {
			pts := p.Flatten(tol)
			worst := 0.0
			for i := range pts {
				_, d, _ := p.Nearest(pts[i].Lerp(pts[(i+1)%len(pts)], 0.5))
				worst = max(worst, d)
			}
			if worst > tol*(1+1e-9) || worst < tol/5 {
				t.Errorf("tol %g: error %g with %d points", tol, worst, len(pts))
			}
			if a := Polygon(pts...).Area(); math.Abs(a-p.Area()) > tol*p.Length() {
				t.Errorf("tol %g: area %g, want %g", tol, a, p.Area())
			}
		}
	}
}

func TestBoundsOfArcs(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for k := range 300 {
		g := Seg{Point{rng.NormFloat64(), rng.NormFloat64()}, Point{rng.NormFloat64(), rng.NormFloat64()}, 2 * rng.NormFloat64()}
		b := g.Bounds()
		seen := EmptyBox()
		for i := range 2001 {
			seen = seen.Include(g.At(float64(i) / 2000))
		}
		if !b.Grow(1e-12).Has(seen.Min) || !b.Grow(1e-12).Has(seen.Max) ||
			!seen.Grow(1e-4*(1+g.Length())).Has(b.Min) || !seen.Grow(1e-4*(1+g.Length())).Has(b.Max) {
			t.Fatalf("%d: %+v: bounds %v, sampled %v", k, g, b, seen)
		}
	}
	if b := (Path{}).Bounds(); !b.Empty() || b.Width() != 0 {
		t.Errorf("bounds of nothing: %v", b)
	}
}

func TestOrientExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for range 2000 {
		// Points on a line with a slope that has an exact step: any rounding would show.
		a := Point{rng.Float64(), rng.Float64()}
		k := float64(int(rng.Uint32()))
		d := Point{math.Ldexp(float64(rng.IntN(1000)), -30), math.Ldexp(float64(rng.IntN(1000)), -30)}
		a = Point{math.Ldexp(math.Round(math.Ldexp(a.X, 30)), -30), math.Ldexp(math.Round(math.Ldexp(a.Y, 30)), -30)}
		b, c := a.Add(d.Scale(k)), a.Add(d.Scale(1+float64(rng.IntN(5))))
		if o := Orient(a, b, c); o != 0 {
			t.Fatalf("Orient(%v, %v, %v) = %d on a line", a, b, c, o)
		}
		up := Point{c.X, math.Nextafter(c.Y, math.Inf(1))}
		if want := sign(b.X - a.X); Orient(a, b, up) != want {
			t.Fatalf("Orient(%v, %v, %v) = %d a hair above, want %d", a, b, up, Orient(a, b, up), want)
		}
	}
	tiny := math.SmallestNonzeroFloat64
	if Orient(Point{}, Point{tiny, 0}, Point{0, tiny}) != 1 {
		t.Error("Orient of the smallest triangle")
	}
}

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// Containment against even–odd ray casting on a fine polygon, which shares nothing with winding.
func TestContainsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for k := range 200 {
		p := blob(rng, 3+rng.IntN(6))
		if k%4 == 0 { // integer corners and points: ties of every kind
			for i := range p.V {
				p.V[i].Point = Point{math.Round(p.V[i].X / 20), math.Round(p.V[i].Y / 20)}
				if rng.IntN(2) == 0 {
					p.V[i].Bulge = 0
				}
			}
		}
		if len(p.Facts()) > 0 {
			continue
		}
		flat := p.Flatten(1e-3)
		for range 50 {
			q := Point{250 * (rng.Float64() - 0.5), 250 * (rng.Float64() - 0.5)}
			if k%4 == 0 {
				q = Point{math.Round(q.X / 20), math.Round(q.Y / 20)}
			}
			if _, d, _ := p.Nearest(q); d < 2e-3 {
				continue
			}
			odd := false
			for i := range flat {
				a, b := flat[i], flat[(i+1)%len(flat)]
				if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
					odd = !odd
				}
			}
			if got := p.Contains(q); (got == Inside) != odd {
				t.Fatalf("%d: %v in %v is %v, ray casting says %v", k, q, p, got, odd)
			}
		}
	}
}

// Points on chords of arcs, on the level of corners, on the edge: the places where careless tests fail.
func TestContainsTies(t *testing.T) {
	disc := CircleAt(Point{}, 10)
	lens := Path{V: []Vertex{{Point{0, 0}, 0.5}, {Point{10, 0}, 0.5}}, Closed: true}
	tray := Path{V: []Vertex{{Point{0, 0}, 1}, {Point{10, 0}, 0}, {Point{10, 10}, 0}, {Point{0, 10}, -0.5}}, Closed: true}
	ear := Path{V: []Vertex{{Point{1, 0}, 5}, {Point{-1, 0}, 0}}, Closed: true}
	for _, tc := range []struct {
		p    Path
		q    Point
		want Where
	}{
		{disc, Point{0, 0}, Inside}, {disc, Point{3, 0}, Inside}, {disc, Point{10, 0}, OnEdge}, {disc, Point{0, -10}, OnEdge},
		{disc, Point{10 + 2e-6, 0}, Outside}, {disc, Point{0, 10 - 2e-6}, Inside}, {disc, Point{-12, 0}, Outside},
		{disc, Point{0, 10 + 5e-7}, OnEdge},
		{lens, Point{5, 0}, Inside}, {lens, Point{1, 0}, Inside}, {lens, Point{-1, 0}, Outside}, {lens, Point{11, 0}, Outside},
		{tray, Point{5, 0}, Inside}, {tray, Point{5, -4.9}, Inside}, {tray, Point{0, 5}, Outside}, {tray, Point{1, 5}, Outside},
		{tray, Point{2.6, 5}, Inside}, {tray, Point{-1, 0}, Outside}, {tray, Point{12, 10}, Outside},
		{ear, Point{0, 4.9}, Inside}, {ear, Point{0, 5}, OnEdge}, {ear, Point{0, 1}, Inside}, {ear, Point{0, -1}, Outside}, {ear, Point{2, 2}, Inside},
		{ear, Point{2, 0}, Outside}, {ear.Reverse(), Point{0, 4.9}, Inside}, {Path{Closed: true}, Point{}, Outside},
		{Polygon(Point{1, 1}), Point{1, 1}, OnEdge}, {Polygon(Point{1, 1}), Point{1, 2}, Outside},
	} {
		if got := tc.p.Contains(tc.q); got != tc.want {
			t.Errorf("%v in %v: %v, want %v", tc.q, tc.p, got, tc.want)
		}
		for k := range 12 {
			tr := Turn(float64(k)*math.Pi/6, Point{}).Then(Move(Point{float64(k), 1}))
			if got := tc.p.Transform(tr).Contains(tr.Apply(tc.q)); got != tc.want {
				t.Errorf("turned %d times: %v in %v: %v, want %v", k, tc.q, tc.p, got, tc.want)
			}
		}
	}
}

func TestPanics(t *testing.T) {
	line := Open(Point{}, Point{1, 0})
	for name, f := range map[string]func(){
		"area of open":      func() { line.Area() },
		"contains in open":  func() { line.Contains(Point{}) },
		"inset of open":     func() { _, _ = line.Inset(1) },
		"offset of closed":  func() { _, _ = Rectangle(1, 1).OffsetOpen(1) },
		"past the end":      func() { line.At(1.1) },
		"before the start":  func() { line.At(-0.1) },
		"no length":         func() { Open(Point{}).At(0) },
		"not a number":      func() { line.At(math.NaN()) },
		"backwards":         func() { line.SubPath(0.7, 0.2) },
		"flatten within 0":  func() { line.Flatten(0) },
		"mirror in a point": func() { Mirror(Point{1, 1}, Point{1, 1}) },
		"radii":             func() { _, _ = RoundCorners(line, []float64{1}) },
		"orient of NaN":     func() { Orient(Point{math.NaN(), 0}, Point{}, Point{}) },
		"nearest to none":   func() { Path{}.Nearest(Point{}) },
	} {
		func() {
			defer func() {
				if s := fmt.Sprint(recover()); len(s) < 7 || s[:7] != "plane: " {
					t.Errorf("%s: recovered %q", name, s)
				}
			}()
			f()
		}()
	}
}
