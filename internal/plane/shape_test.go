package plane

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

func TestArcThrough(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 11))
	for k := range 500 {
		g := Seg{Point{rng.NormFloat64(), rng.NormFloat64()}, Point{rng.NormFloat64(), rng.NormFloat64()}, 3 * rng.NormFloat64()}
		b, err := ArcThrough(g.A, g.At(0.1+0.8*rng.Float64()), g.B)
		if err != nil || !near(b, g.Bulge, 1e-9, 1e-9) {
			t.Fatalf("%d: bulge %v (%v), want %v", k, b, err, g.Bulge)
		}
	}
	if b, err := ArcThrough(Point{0, 0}, Point{1, 1}, Point{3, 3}); b != 0 || err != nil {
		t.Errorf("on a line: %v, %v", b, err)
	}
	for _, p := range [][3]Point{
		{{0, 0}, {3, 3}, {1, 1}}, {{0, 0}, {0, 0}, {1, 1}}, {{0, 0}, {1, 1}, {1, 1}}, {{1, 1}, {0, 0}, {1, 1}},
	} {
		if _, err := ArcThrough(p[0], p[1], p[2]); !errors.Is(err, ErrNoArc) {
			t.Errorf("%v: %v, want ErrNoArc", p, err)
		}
	}
}

// A rounded corner is tangent to both edges and takes r²(tan(τ/2) − τ/2) off a convex corner of turn τ (closed form).
func TestRoundCorners(t *testing.T) {
	p := Polygon(Point{0, 0}, Point{100, 0}, Point{130, 60}, Point{70, 30}, Point{10, 80})
	radii := []float64{5, 0, 4, 9, 3}
	q, err := RoundCorners(p, radii)
	if err != nil {
		t.Fatal(err)
	}
	want := p.Area()
	for i, r := range radii {
		turn, _ := p.corner(i)
		want -= r * r * (math.Tan(turn/2) - turn/2)
	}
	if !near(q.Area(), want, 0, 1e-12) {
		t.Errorf("area %.12g, want %.12g", q.Area(), want)
	}
	if len(q.V) != 9 || len(q.Facts()) != 0 {
		t.Errorf("%d vertices, %v", len(q.V), q.Facts())
	}
	for i := range q.EdgeCount() {
		g, h := q.Seg(i), q.Seg((i+1)%len(q.V))
		if g.IsArc() || h.IsArc() {
			if !nearPoint(g.Tangent(1), h.Tangent(0), 1e-12) {
				t.Errorf("edges %d and next are not tangent: %v, %v", i, g.Tangent(1), h.Tangent(0))
			}
		}
	}
	// The vertices and arcs know their radius.
	if r := q.Seg(0).Radius(); !near(r, 5, 1e-12, 0) {
		t.Errorf("first arc has radius %v", r)
	}
	open, err := RoundCorners(Open(Point{0, 0}, Point{10, 0}, Point{10, 10}), []float64{0, 4, 0})
	if err != nil || !near(open.Length(), 12+2*math.Pi, 1e-12, 0) {
		t.Errorf("open: %v, %v", open, err)
	}
}

func TestRoundCornersRefuses(t *testing.T) {
	arc := Path{V: []Vertex{{Point{0, 0}, 0.3}, {Point{10, 0}, 0}, {Point{10, 10}, 0}}, Closed: true}
	for _, tc := range []struct {
		name    string
		p       Path
		radii   []float64
		largest []float64 // of each vertex that fails, in order
		vertex  []int
	}{
		{"all too large", Rectangle(40, 20), []float64{12, 12, 12, 12}, []float64{10, 10, 10, 10}, []int{0, 1, 2, 3}},
		{"one too large", Rectangle(40, 20), []float64{0, 25, 0, 0}, []float64{20}, []int{1}},
		{"two on one edge", Rectangle(40, 20), []float64{30, 20, 0, 0}, []float64{20, 16}, []int{0, 1}},
		{"negative", Rectangle(40, 20), []float64{-1, 0, 0, 0}, []float64{0}, []int{0}},
		{"not a number", Rectangle(40, 20), []float64{0, 0, math.NaN(), 0}, []float64{0}, []int{2}},
		{"beside an arc", arc, []float64{1, 1, 0}, []float64{0, 0}, []int{0, 1}},
		{"end of an open path", Open(Point{}, Point{1, 0}, Point{1, 1}), []float64{0.1, 0, 0}, []float64{0}, []int{0}},
		{"fold", Open(Point{}, Point{1, 0}, Point{0, 0}), []float64{0, 0.1, 0}, []float64{0}, []int{1}},
	} {
		_, err := RoundCorners(tc.p, tc.radii)
		joined, ok := err.(interface{ Unwrap() []error })
		if !ok {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		var got []*RadiusError
		for _, e := range joined.Unwrap() {
			var re *RadiusError
			if errors.As(e, &re) {
				got = append(got, re)
			}
		}
		if len(got) != len(tc.vertex) {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		for i, e := range got {
			if e.Vertex != tc.vertex[i] || !near(e.Largest, tc.largest[i], 0, 1e-12) {
				t.Errorf("%s: %v, want vertex %d, %g mm", tc.name, e, tc.vertex[i], tc.largest[i])
			}
		}
	}
	// What it says fits, fits.
	if _, err := RoundCorners(Rectangle(40, 20), []float64{20, 16, 0, 0}); err != nil {
		t.Error(err)
	}
	if p, err := RoundedRectangle(20, 20, 10); err != nil || len(p.V) != 4 || !near(p.Area(), 100*math.Pi, 0, rounding) {
		t.Errorf("circle by corners: %v, %v", p, err)
	}
}

func TestInsetClosedForms(t *testing.T) {
	rounded, _ := RoundedRectangle(200, 120, 15)
	ell := Polygon(Point{0, 0}, Point{100, 0}, Point{100, 40}, Point{40, 40}, Point{40, 100}, Point{0, 100})
	for _, tc := range []struct {
		name string
		p    Path
		d    float64
		area float64
	}{
		{"rectangle", Rectangle(100, 60), 10, 80 * 40},
		{"rectangle outwards", Rectangle(100, 60), -10, 120 * 80},
		{"circle", CircleAt(Point{5, 5}, 20), 6, math.Pi * 196},
		{"circle outwards", CircleAt(Point{5, 5}, 20), -6, math.Pi * 676},
		{"rounded within the radius", rounded, 5, 190*110 - (4-math.Pi)*100},
		{"rounded past the radius", rounded, 20, 160 * 80},
		{"rounded outwards", rounded, -20, 240*160 - (4-math.Pi)*35*35},
		{"ell", ell, 5, 90*30 + 30*60},
		{"ell outwards", ell, -5, 110*50 + 50*60},
		{"no inset", ell, 0, 6400},
		// A chamfer 4 long across a corner is used up at 4/(2·tan 22.5°) = 4.83.
		{"chamfer used up", Polygon(Point{0, 0}, Point{100, 0}, Point{100, 100}, Point{math.Sqrt(8), 100}, Point{0, 100 - math.Sqrt(8)}),
			20, 3600},
	} {
		for k := range 4 {
			p := tc.p
			tr := Turn(float64(k), Point{}).Then(Move(Point{30 * float64(k), 7}))
			if k%2 == 1 {
				tr = tr.Then(Mirror(Point{}, Point{1, 3}))
			}
			p = p.Transform(tr)
			if k > 1 {
				p = p.Reverse()
			}
			q, err := p.Inset(tc.d)
			if err != nil {
				t.Errorf("%s (%d): %v", tc.name, k, err)
				continue
			}
			if !near(math.Abs(q.Area()), tc.area, 0, 1e-10) || q.Area()*p.Area() <= 0 {
				t.Errorf("%s (%d): area %.12g, want %.12g", tc.name, k, q.Area(), tc.area)
			}
		}
	}
}

func TestInsetRefuses(t *testing.T) {
	dumbbell := Polygon(Point{0, 0}, Point{40, 0}, Point{40, 15}, Point{80, 15}, Point{80, 0}, Point{120, 0}, Point{120, 40},
		Point{80, 40}, Point{80, 25}, Point{40, 25}, Point{40, 40}, Point{0, 40})
	for _, tc := range []struct {
		name    string
		p       Path
		d       float64
		largest float64
	}{
		{"rectangle", Rectangle(100, 60), 31, 30},
		{"circle", CircleAt(Point{}, 20), 21, 20},
		{"neck", dumbbell, 6, 5},
		{"bow tie", Polygon(Point{0, 0}, Point{4, 4}, Point{4, 0}, Point{0, 2}), 0.1, 0},
	} {
		_, err := tc.p.Inset(tc.d)
		var oe *OffsetError
		if !errors.As(err, &oe) {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		if oe.Distance != tc.d || oe.Largest > tc.largest || oe.Largest < 0.98*tc.largest {
			t.Errorf("%s: %v; want a little under %g", tc.name, err, tc.largest)
		}
		if tc.largest > 0 {
			if _, err := tc.p.Inset(oe.Largest); err != nil {
				t.Errorf("%s: what works does not: %v", tc.name, err)
			}
		}
	}
}

// Whatever an inset returns lies at its distance: no point nearer, and every edge's middle at exactly d.
func TestInsetDistance(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 12))
	done := 0
	for k := range 200 {
		p := blob(rng, 3+rng.IntN(8))
		d := 40 * (rng.Float64() - 0.3)
		q, err := p.Inset(d)
		if err != nil {
			continue
		}
		done++
		for i := range 400 {
			at := q.At(q.Length() * float64(i) / 400)
			_, dist, _ := p.Nearest(at)
			if dist < math.Abs(d)-1e-5 {
				t.Fatalf("%d: inset %g comes within %g", k, d, dist)
			}
			if w := p.Contains(at); (w == Inside) != (d > 0) {
				t.Fatalf("%d: inset %g is %v", k, d, w)
			}
		}
	}
	if done < 100 {
		t.Fatalf("only %d of 200 insets came about", done)
	}
}

func TestOffsetOpen(t *testing.T) {
	ell := Open(Point{0, 0}, Point{100, 0}, Point{100, 50})
	for _, tc := range []struct {
		name string
		p    Path
		d    float64
		want Path
	}{
		{"line", Open(Point{0, 0}, Point{10, 0}), 3, Open(Point{0, 3}, Point{10, 3})},
		{"line to the right", Open(Point{0, 0}, Point{10, 0}), -3, Open(Point{0, -3}, Point{10, -3})},
		{"ell inside", ell, 10, Open(Point{0, 10}, Point{90, 10}, Point{90, 50})},
		{"ell outside", ell, -10, Open(Point{0, -10}, Point{110, -10}, Point{110, 50})},
		{"arc", Path{V: []Vertex{{Point{10, 0}, 1}, {Point{-10, 0}, 0}}}, 4, Path{V: []Vertex{{Point{6, 0}, 1}, {Point{-6, 0}, 0}}}},
		// A line into a half circle that stands square to it: at 4 the corner slides to x = −√(14² − 4²).
		{"line into arc", Path{V: []Vertex{{Point{-30, 0}, 0}, {Point{-10, 0}, -1}, {Point{10, 0}, 0}}}, 4,
			Path{V: []Vertex{{Point{-30, 4}, 0}, {Point{-math.Sqrt(180), 4}, -math.Tan((math.Pi - math.Atan2(4, math.Sqrt(180))) / 4)},
				{Point{14, 0}, 0}}}},
		{"nothing", ell, 0, ell},
	} {
		got, err := tc.p.OffsetOpen(tc.d)
		if err != nil || len(got.V) != len(tc.want.V) {
			t.Errorf("%s: %v, %v", tc.name, got, err)
			continue
		}
		for i, v := range got.V {
			if !nearPoint(v.Point, tc.want.V[i].Point, 1e-9) || !near(v.Bulge, tc.want.V[i].Bulge, 1e-9, 0) {
				t.Errorf("%s: vertex %d %v, want %v", tc.name, i, v, tc.want.V[i])
			}
		}
	}
	for name, p := range map[string]Path{
		"narrow U":       Open(Point{0, 50}, Point{0, 0}, Point{10, 0}, Point{10, 50}),
		"tight arc":      {V: []Vertex{{Point{5, 0}, 1}, {Point{-5, 0}, 0}}},
		"fold":           Open(Point{0, 0}, Point{10, 0}, Point{0, 0}),
		"crosses":        Open(Point{0, 0}, Point{10, 0}, Point{5, 5}, Point{5, -5}),
		"one point":      Open(Point{}),
		"not a distance": Open(Point{0, math.NaN()}, Point{1, 0}),
	} {
		var oe *OffsetError
		if q, err := p.OffsetOpen(8); !errors.As(err, &oe) {
			t.Errorf("%s: %v, %v", name, q, err)
		}
	}
}
