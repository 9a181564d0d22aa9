package plane

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func plateWithHoles() Region {
	return Region{
		Outer:   Rectangle(100, 60),
		CutOuts: []Path{CircleAt(Point{30, 30}, 10), Rectangle(20, 20).Transform(Move(Point{60, 20}))},
	}
}

func TestRegionMeasures(t *testing.T) {
	r := plateWithHoles()
	for k := range 3 {
		q := r
		switch k {
		case 1:
			q = r.Normalise()
		case 2:
			q = r.Transform(Mirror(Point{}, Point{0, 1})).Transform(Mirror(Point{}, Point{0, 1}))
			q.Outer = q.Outer.Reverse()
		}
		area := 6000 - 100*math.Pi - 400
		if !near(q.Area(), area, 0, rounding) {
			t.Errorf("area %v, want %v", q.Area(), area)
		}
		// Closed form: outline less disc less square, by their centroids.
		want := Point{(6000*50 - 100*math.Pi*30 - 400*70) / area, 30}
		if c, ok := q.Centroid(); !ok || !nearPoint(c, want, 1e-10) {
			t.Errorf("centroid %v, want %v", c, want)
		}
		for _, tc := range []struct {
			p     Point
			where Where
			dist  float64
		}{
			{Point{5, 30}, Inside, 5}, {Point{45, 30}, Inside, 5}, {Point{30, 30}, Outside, -10}, {Point{40, 30}, OnEdge, 0},
			{Point{70, 30}, Outside, -10}, {Point{60, 25}, OnEdge, 0}, {Point{-3, 30}, Outside, -3}, {Point{103, 64}, Outside, -5},
			{Point{0, 0}, OnEdge, 0}, {Point{50, 5}, Inside, 5},
		} {
			if got := q.Contains(tc.p); got != tc.where {
				t.Errorf("%v: %v, want %v", tc.p, got, tc.where)
			}
			if got := q.Distance(tc.p); !near(got, tc.dist, 1e-9, 0) {
				t.Errorf("%v: distance %v, want %v", tc.p, got, tc.dist)
			}
		}
	}
	n := r.Normalise()
	if n.Outer.Area() < 0 || n.CutOuts[0].Area() > 0 || n.CutOuts[1].Area() > 0 {
		t.Error("Normalise leaves a path running the wrong way")
	}
	if _, ok := (Region{}).Centroid(); ok {
		t.Error("nothing has a centroid")
	}
}

// Area and centroid against counting points.
func TestRegionMonteCarlo(t *testing.T) {
	r := plateWithHoles()
	rng := rand.New(rand.NewPCG(13, 13))
	const n = 40000
	hits, sum := 0, Point{}
	for range n {
		p := Point{100 * rng.Float64(), 60 * rng.Float64()}
		if r.Contains(p) == Inside {
			hits++
			sum = sum.Add(p)
		}
	}
	// Four standard deviations of a share near 0.88, and of a mean over a width of 100.
	if got := 6000 * float64(hits) / n; !near(got, r.Area(), 4*6000*math.Sqrt(0.12*0.88/n), 0) {
		t.Errorf("area %v, counted %v", r.Area(), got)
	}
	c, _ := r.Centroid()
	if got := sum.Scale(1 / float64(hits)); !nearPoint(got, c, 4*100/math.Sqrt(12*0.88*n)*math.Sqrt2) {
		t.Errorf("centroid %v, counted %v", c, got)
	}
}

func TestCutOutFaults(t *testing.T) {
	outer := Rectangle(100, 60)
	at := func(x, y float64) Transform { return Move(Point{x, y}) }
	for _, tc := range []struct {
		name string
		cuts []Path
		want string
	}{
		{"fine", plateWithHoles().CutOuts, ""},
		{"outside", []Path{CircleAt(Point{200, 0}, 5)}, "cut-out 0 lies outside the outline at (205, 0)"},
		{"crosses", []Path{CircleAt(Point{100, 30}, 5)}, "cut-out 0 meets the outline at (100, 35)"},
		{"touches", []Path{Rectangle(20, 20).Transform(at(0, 20))}, "cut-out 0 meets the outline at (0, 20)"},
		{"around", []Path{Rectangle(200, 200).Transform(at(-50, -50))}, "cut-out 0 encloses the outline at (-50, -50)"},
		{"each other", []Path{CircleAt(Point{30, 30}, 10), CircleAt(Point{45, 30}, 10)}, "cut-out 0 overlaps cut-out 1 at "},
		{"inside another", []Path{CircleAt(Point{30, 30}, 10), CircleAt(Point{30, 30}, 5)}, "cut-out 0 overlaps cut-out 1 at (35, 30)"},
		{"around another", []Path{CircleAt(Point{30, 30}, 5), CircleAt(Point{30, 30}, 10)}, "cut-out 0 overlaps cut-out 1 at (35, 30)"},
		{"two at once", []Path{CircleAt(Point{200, 0}, 5), CircleAt(Point{0, 0}, 5)},
			"cut-out 0 lies outside the outline at (205, 0); cut-out 1 meets the outline at (5, 0)"},
	} {
		var got []string
		for _, f := range (Region{outer, tc.cuts}).CutOutFaults() {
			got = append(got, f.String())
		}
		s := strings.Join(got, "; ")
		if s != tc.want && !(strings.HasSuffix(tc.want, " at ") && strings.HasPrefix(s, tc.want)) {
			t.Errorf("%s: %q, want %q", tc.name, s, tc.want)
		}
	}
}
