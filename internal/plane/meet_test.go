package plane

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Each case: two edges as "x y x y bulge", and what they do.
func TestMeet(t *testing.T) {
	for _, tc := range []struct{ g, h, want string }{
		{"0 0 10 0 0", "5 -5 5 5 0", "crosses 5 0"},
		{"0 0 10 0 0", "5 0 5 5 0", "touches 5 0"},
		{"0 0 10 0 0", "10 0 20 5 0", "touches 10 0"},
		{"0 0 10 0 0", "5 1e-7 5 5 0", "touches 5 0"},
		{"0 0 10 0 0", "5 1e-5 5 5 0", ""},
		{"0 0 10 0 0", "0 1 10 1 0", ""},
		{"0 0 10 0 0", "4 0 20 0 0", "overlaps 4 0 10 0"},
		{"0 0 10 0 0", "20 0 4 0 0", "overlaps 4 0 10 0"},
		{"0 0 10 0 0", "2 0 7 0 0", "overlaps 2 0 7 0"},
		{"0 0 10 0 0", "0 0 10 0 0", "overlaps 0 0 10 0"},
		{"0 0 10 0 0", "10 0 20 0 0", "touches 10 0"},
		{"0 0 10 0 0", "11 0 20 0 0", ""},
		// A line through a half circle about (5, 0): bulge 1 goes below.
		{"0 0 10 0 1", "5 -10 5 10 0", "crosses 5 -5"},
		{"0 0 10 0 1", "0 -5 10 -5 0", "touches 5 -5"},
		{"0 0 10 0 1", "0 -5.1 10 -5.1 0", ""},
		{"0 0 10 0 1", "0 -3 10 -3 0", "crosses 1 -3; crosses 9 -3"},
		{"0 0 10 0 1", "-1 0 11 0 0", "touches 0 0; touches 10 0"},
		{"0 0 10 0 -1", "0 -3 10 -3 0", ""},
		// Circles of radius 5: about (5, 0) and (11, 0) they cross at x = 8, about (15, 0) they touch.
		{"0 0 10 0 1", "6 0 16 0 1", "crosses 8 -4"},
		{"0 0 10 0 1", "6 0 16 0 -1", ""},
		{"5 -5 5 5 1", "15 -5 15 5 -1", "touches 10 0"},
		{"5 -5 5 5 1", "15.1 -5 15.1 5 -1", ""},
		// Inner touch at (10, 0) of radius 5 and 2; concentric ones; the same circle.
		{"5 -5 5 5 1", "8 -2 8 2 1", "touches 10 0"},
		{"0 0 10 0 1", "1 0 9 0 1", ""},
		{"0 0 10 0 1", "5 -5 0 0 -0.41421356237309503", "overlaps 0 0 5 -5"},
		{"0 0 10 0 1", "5 5 5 -5 1", "overlaps 0 0 5 -5"},
		{"0 0 10 0 1", "10 0 0 0 1", "touches 0 0; touches 10 0"},
		// Bulge 2⁻³⁰: a line to the eye, an arc to the code.
		{"0 0 10 0 9.3e-10", "5 -5 5 5 0", "crosses 5 0"},
		{"0 0 10 0 9.3e-10", "5 -5 5 5 9.3e-10", "crosses 5 0"},
		{"0 0 10 0 9.3e-10", "4 0 20 0 0", "overlaps 4 0 10 0"},
		{"0 0 10 0 9.3e-10", "0 1 10 1 9.3e-10", ""},
		{"0 0 0 0 0", "-1 0 1 0 0", "touches 0 0"},
		{"0 0 0 0 1", "3 0 4 0 0", ""},
	} {
		g, h := parseSeg(t, tc.g), parseSeg(t, tc.h)
		if got := meetText(g, h); got != tc.want {
			t.Errorf("%q and %q: %q, want %q", tc.g, tc.h, got, tc.want)
		}
		// Either edge turned round, either order, moved about: the same kinds.
		want := kinds(Meet(g, h, EdgeTol))
		for k := range 8 {
			tr := Turn(float64(k), Point{}).Then(Move(Point{100 * float64(k), -70}))
			if k%2 == 1 {
				tr = tr.Then(Mirror(Point{}, Point{1, 2}))
			}
			p := fromSegs([]Seg{g}).Transform(tr).Seg(0)
			q := fromSegs([]Seg{h}).Transform(tr).Seg(0)
			for _, pair := range [][2]Seg{{p, q}, {q, p}, {p.Reverse(), q}, {p, q.Reverse()}} {
				if got := kinds(Meet(pair[0], pair[1], EdgeTol)); got != want {
					t.Errorf("%q and %q moved (%d): %q, want %q", tc.g, tc.h, k, got, want)
				}
			}
		}
	}
}

func parseSeg(t *testing.T, s string) Seg {
	t.Helper()
	var g Seg
	if _, err := fmt.Sscan(s, &g.A.X, &g.A.Y, &g.B.X, &g.B.Y, &g.Bulge); err != nil {
		t.Fatalf("%q: %v", s, err)
	}
	return g
}

func meetText(g, h Seg) string {
	var parts []string
	for _, m := range Meet(g, h, EdgeTol) {
		r := func(v float64) float64 { return math.Round(v*1e5)/1e5 + 0 }
		s := fmt.Sprintf("%s %g %g", m.Kind, r(m.At.X), r(m.At.Y))
		if m.Kind == Overlaps {
			s += fmt.Sprintf(" %g %g", r(m.To.X), r(m.To.Y))
		}
		parts = append(parts, s)
	}
	return strings.Join(parts, "; ")
}

func kinds(ms []Meeting) string {
	n := map[MeetKind]int{}
	for _, m := range ms {
		n[m.Kind]++
	}
	return fmt.Sprint(n[Crosses], n[Touches], n[Overlaps])
}

// Random lines on an integer grid against exact orientation alone, all ties included.
func TestMeetLinesBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	pt := func() Point { return Point{float64(rng.IntN(6)), float64(rng.IntN(6))} }
	for range 20000 {
		g, h := Seg{A: pt(), B: pt()}, Seg{A: pt(), B: pt()}
		if g.A == g.B || h.A == h.B {
			continue
		}
		a, b := Orient(g.A, g.B, h.A), Orient(g.A, g.B, h.B)
		c, d := Orient(h.A, h.B, g.A), Orient(h.A, h.B, g.B)
		on := func(s Seg, p Point) bool { return Orient(s.A, s.B, p) == 0 && s.Bounds().Has(p) }
		ends := map[Point]bool{}
		for _, p := range []Point{h.A, h.B} {
			if on(g, p) {
				ends[p] = true
			}
		}
		for _, p := range []Point{g.A, g.B} {
			if on(h, p) {
				ends[p] = true
			}
		}
		want := "0 0 0"
		switch {
		case a*b < 0 && c*d < 0:
			want = "1 0 0"
		case len(ends) == 1:
			want = "0 1 0"
		case len(ends) == 2:
			want = "0 0 1"
		}
		if got := kinds(Meet(g, h, EdgeTol)); got != want {
			t.Fatalf("%v and %v: %s, want %s", g, h, got, want)
		}
	}
}

// Random arcs against sign changes of the distance to the other's circle along finely cut pieces.
func TestMeetArcsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	arc := func() Seg {
		g := Seg{Point{rng.NormFloat64(), rng.NormFloat64()}, Point{rng.NormFloat64(), rng.NormFloat64()}, rng.NormFloat64()}
		if rng.IntN(4) == 0 {
			g.Bulge = 0
		}
		return g
	}
	seen := 0
	for k := range 400 {
		g, h := arc(), arc()
		want := 0
		const n = 2000
		prev := h.fromCircle(g.A)
		for i := 1; i <= n; i++ {
			p := g.At(float64(i) / n)
			d := h.fromCircle(p)
			if (d > 0) != (prev > 0) {
				if _, f := h.Nearest(p); f.Dist(p) < 2*g.Length()/n && f != h.A && f != h.B {
					want++
				}
			}
			prev = d
		}
		got := Meet(g, h, EdgeTol)
		seen += want
		if len(got) != want {
			// A pair of crossings closer than a piece is what cutting cannot see.
			if len(got) == want+2 && got[0].At.Dist(got[1].At) < 0.2 {
				continue
			}
			t.Fatalf("%d: %+v and %+v meet %d times %v, cutting finds %d", k, g, h, len(got), got, want)
		}
		for _, m := range got {
			if math.Abs(g.fromCircle(m.At)) > 1e-9 || math.Abs(h.fromCircle(m.At)) > 1e-9 {
				t.Fatalf("%d: %v is not on both", k, m.At)
			}
		}
	}
	if seen < 100 {
		t.Fatalf("only %d crossings tried", seen)
	}
}

func TestSelfCrossings(t *testing.T) {
	rounded, _ := RoundedRectangle(40, 20, 10)
	for _, tc := range []struct {
		name string
		p    Path
		want string
	}{
		{"square", Rectangle(10, 10), ""},
		{"circle", CircleAt(Point{}, 3), ""},
		{"stadium", rounded, ""},
		{"bow tie", Polygon(Point{0, 0}, Point{10, 10}, Point{10, 0}, Point{0, 10}), "0 crosses 2"},
		{"spike", Polygon(Point{0, 0}, Point{10, 0}, Point{10, 10}, Point{10, -5}), "0 touches 2, 1 overlaps 2"},
		{"pinch", Polygon(Point{0, 0}, Point{10, 0}, Point{10, 10}, Point{5, 0}, Point{0, 10}), "0 touches 2, 0 touches 3"},
		{"back over itself", Polygon(Point{0, 0}, Point{10, 0}, Point{5, 0}), "0 overlaps 1, 0 overlaps 2"},
		{"same arc twice", Path{V: []Vertex{{Point{0, 0}, 1}, {Point{10, 0}, -1}}, Closed: true}, "0 overlaps 1"},
		{"arc through the far side", Path{V: []Vertex{{Point{0, 0}, 0}, {Point{10, 0}, 0}, {Point{10, 4}, 1.5}, {Point{0, 4}, 0}},
			Closed: true}, ""},
		{"arc over its base", Path{V: []Vertex{{Point{0, 0}, 0}, {Point{10, 0}, 0}, {Point{10, 4}, -1}, {Point{0, 4}, 0}},
			Closed: true}, "0 crosses 2, 0 crosses 2"},
		{"open hook", Open(Point{0, 0}, Point{10, 0}, Point{10, 5}, Point{5, 5}, Point{5, -5}), "0 crosses 3"},
		{"open end on start", Open(Point{0, 0}, Point{10, 0}, Point{10, 5}, Point{0, 0}), "0 touches 2"},
		{"zero edge", Polygon(Point{0, 0}, Point{10, 0}, Point{10, 0}, Point{10, 10}), ""},
	} {
		var got []string
		for _, m := range tc.p.SelfCrossings() {
			got = append(got, fmt.Sprintf("%d %s %d", m.I, m.Kind, m.J))
		}
		if s := strings.Join(got, ", "); s != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, s, tc.want)
		}
	}
}

// Random polygons: as many proper crossings as exact orientation counts, pair by pair.
func TestSelfCrossingsBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 10))
	for k := range 300 {
		p := Path{Closed: k%2 == 0}
		n := 3 + rng.IntN(12)
		for range n {
			// Large against EdgeTol, so that a chance touch does not happen.
			p.V = append(p.V, Vertex{Point: Point{1e5 * rng.Float64(), 1e5 * rng.Float64()}})
		}
		want := 0
		for i := range p.EdgeCount() {
			for j := range i {
				g, h := p.Seg(i), p.Seg(j)
				if Orient(g.A, g.B, h.A)*Orient(g.A, g.B, h.B) < 0 && Orient(h.A, h.B, g.A)*Orient(h.A, h.B, g.B) < 0 {
					want++
				}
			}
		}
		if got := p.SelfCrossings(); len(got) != want {
			t.Fatalf("%d: %d crossings, want %d: %v in %v", k, len(got), want, got, p)
		}
	}
}

func TestFacts(t *testing.T) {
	nan := math.NaN()
	for _, tc := range []struct {
		name string
		p    Path
		want string
	}{
		{"square", Rectangle(2, 3), ""},
		{"nothing", Path{Closed: true}, "0 vertices enclose nothing"},
		{"a line", Polygon(Point{0, 0}, Point{1, 0}), "2 vertices enclose nothing"},
		{"open", Open(Point{0, 0}, Point{1, 0}, Point{0, 1}), "is not closed"},
		{"not a number", Polygon(Point{0, 0}, Point{nan, 0}, Point{0, 1}), "vertex 1 is not a finite number"},
		{"double corner", Polygon(Point{0, 0}, Point{0, 0}, Point{1, 0}, Point{0, 1}), "edge 0 is 0 mm long"},
		{"on a line", Polygon(Point{0, 0}, Point{1, 0}, Point{3, 0}),
			"encloses 0 mm²; edge 0 overlaps edge 2 at (0, 0); edge 1 overlaps edge 2 at (1, 0)"},
		{"bow tie", Polygon(Point{0, 0}, Point{4, 4}, Point{4, 0}, Point{0, 2}), "edge 0 crosses edge 2 at (1.33333, 1.33333)"},
		{"empty bow tie", Polygon(Point{0, 0}, Point{4, 4}, Point{4, 0}, Point{0, 4}),
			"encloses 0 mm²; edge 0 crosses edge 2 at (2, 2)"},
	} {
		var got []string
		for _, f := range tc.p.Facts() {
			got = append(got, f.String())
		}
		if s := strings.Join(got, "; "); s != tc.want {
			t.Errorf("%s: %q, want %q", tc.name, s, tc.want)
		}
	}
}
