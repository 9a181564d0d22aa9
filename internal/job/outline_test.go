package job

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"panelwright/internal/plane"
)

const (
	headText  = "job: { name: test (sample), units: mm, drills: any size }\npanels:\n"
	panelText = "  - name: P\n    outline: %s\n    outer: { material: grp_csm30, thickness: 2 mm }\n    inner: { material: dc01, thickness: 2 mm }\n    supports: [ { flange: %s, width: 4 } ]\n"
)

// onePanel reads a job of one panel with this outline.
func onePanel(t *testing.T, outline, flange string) *Panel {
	t.Helper()
	text := headText + fmt.Sprintf(panelText, outline, flange)
	j, faults := Read("job.yaml", []byte(text), nil)
	if len(faults) > 0 {
		t.Fatalf("%v\n%s", faults, text)
	}
	return j.Panels[0]
}

// near is the tolerance of lengths in these tests, mm: rounding of coordinates of a metre, many times over.
const near = 1e-9

// checkEdges demands that edges follow one another from nought to the outline's length.
func checkEdges(t *testing.T, p *Panel) {
	t.Helper()
	at := 0.0
	for _, e := range p.Edges {
		if math.Abs(e.From-at) > near || e.To <= e.From {
			t.Errorf("edge %s from %g to %g after %g", e.Name, e.From, e.To, at)
		}
		at = e.To
	}
	if l := p.Outline.Outer.Length(); math.Abs(at-l) > near {
		t.Errorf("edges end at %g, the outline at %g", at, l)
	}
	if p.Outline.Outer.Area() <= 0 {
		t.Errorf("the outline runs clockwise")
	}
}

// A rounded rectangle: each edge is its side less both radii plus two eighths of a circle, and begins in the middle of a
// corner. Closed form.
func TestRoundedEdges(t *testing.T) {
	p := onePanel(t, "{ rectangle: [ 600, 400 ], corner radius: 40, edges: [ a, b, c, d ] }", "[ a, b, c, d ]")
	checkEdges(t, p)
	for i, e := range p.Edges {
		side := []float64{600, 400, 600, 400}[i]
		if want := side - 80 + math.Pi/2*40; math.Abs(e.To-e.From-want) > near || e.Name != string("abcd"[i]) {
			t.Errorf("edge %s is %g long, want %g", e.Name, e.To-e.From, want)
		}
	}
	mid := 40 - 40/math.Sqrt2
	if v := p.Outline.Outer.V[0]; v.Dist(plane.Point{X: mid, Y: mid}) > near {
		t.Errorf("begins at %v, want (%g, %g)", v, mid, mid)
	}
	if want := 600*400 - (4-math.Pi)*1600; math.Abs(p.Outline.Outer.Area()-want) > 1e-6 {
		t.Errorf("area %g, want %g", p.Outline.Outer.Area(), want)
	}
}

// Corners rounded until the sides between them vanish still make an outline.
func TestFullRound(t *testing.T) {
	for _, outline := range []string{"{ rectangle: [ 600, 400 ], corner radius: 200 }", "{ rectangle: [ 400, 400 ], corner radius: 200 }",
		"{ rectangle: [ 400, 300 ], corner radii: [ 0, 300, 0, 0 ] }", "{ rectangle: [ 400, 300 ], corner radii: [ 300, 0, 0, 0 ] }"} {
		p := onePanel(t, outline, "[ bottom ]")
		checkEdges(t, p)
		if f := p.Outline.Outer.Facts(); len(f) > 0 {
			t.Errorf("%s: %v", outline, f)
		}
	}
}

// star is a polygon that sees all its corners from the middle: never crossing itself.
func star(rng *rand.Rand) []plane.Point {
	n := 3 + rng.IntN(8)
	var pts []plane.Point
	for i := range n {
		r := 200 + 200*rng.Float64()
		a := 2 * math.Pi * (float64(i) + 0.6*rng.Float64()) / float64(n)
		pts = append(pts, plane.Point{X: math.Round(100*(r*math.Cos(a)+500)) / 100, Y: math.Round(100*(r*math.Sin(a)+500)) / 100})
	}
	return pts
}

// The same corners listed from any one of them, either way round, give the same panel: equal area, and each name on the
// same side.
func TestOutlineOrder(t *testing.T) {
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, 5))
		pts := star(rng)
		n := len(pts)
		radius := 10 * rng.Float64()
		side := func(i int) string { return fmt.Sprintf("s%d", i%n) } // from corner i to i+1
		list := func(first, step int) string {
			var b strings.Builder
			for k := range n {
				i := ((first+k*step)%n + n) % n
				name := side(i)
				if step < 0 {
					name = side(i + n - 1)
				}
				fmt.Fprintf(&b, "{ at: [ %.2f, %.2f ], edge: %s }, ", pts[i].X, pts[i].Y, name)
			}
			return fmt.Sprintf("{ points: [ %s ], corner radius: %.3f }", strings.TrimSuffix(b.String(), ", "), radius)
		}
		want := onePanel(t, list(0, 1), "[ s0 ]")
		for _, p := range []*Panel{want, onePanel(t, list(rng.IntN(n), 1), "[ s0 ]"), onePanel(t, list(rng.IntN(n), -1), "[ s0 ]")} {
			checkEdges(t, p)
			if math.Abs(p.Outline.Outer.Area()-want.Outline.Outer.Area()) > 1e-6 {
				t.Fatalf("seed %d: area %g, want %g", seed, p.Outline.Outer.Area(), want.Outline.Outer.Area())
			}
			for i := range n {
				e, ok := p.Edge(side(i))
				s, d, _ := p.Outline.Outer.Nearest(pts[i].Lerp(pts[(i+1)%n], 0.5))
				if !ok || d > near || s < e.From-near || s > e.To+near {
					t.Fatalf("seed %d: the middle of side %d lies at %g (%g off), edge %s runs from %g to %g", seed, i, s, d, e.Name, e.From, e.To)
				}
			}
		}
	}
}

// A half circle of radius 200 on top of a square, described by bow, by a third place and by its radius. Closed form.
func TestCurves(t *testing.T) {
	want := 400*400 + math.Pi/2*200*200
	for _, curve := range []string{"bow: 200", "through: [ 200, 600 ]", "arc radius: 200", "through: [ 300, 573.205080756888 ]"} {
		for _, order := range []string{
			"[ 0, 0 ], [ 400, 0 ], { at: [ 400, 400 ], %s }, [ 0, 400 ]",
			"[ 0, 0 ], { at: [ 0, 400 ], %s }, [ 400, 400 ], [ 400, 0 ]",
		} {
			p := onePanel(t, "{ points: [ "+fmt.Sprintf(order, curve)+" ], edges: [ a, b, c, d ] }", "[ a ]")
			checkEdges(t, p)
			if got := p.Outline.Outer.Area(); math.Abs(got-want) > 1e-6 {
				t.Errorf("%s: area %g, want %g", curve, got, want)
			}
		}
	}
	p := onePanel(t, "{ points: [ [ 0, 0 ], [ 400, 0 ], { at: [ 400, 400 ], bow: -50 }, [ 0, 400 ] ] }", "[ side 1 ]")
	if p.Outline.Outer.Area() >= 400*400 {
		t.Errorf("a negative bow does not curve inwards")
	}
}

// An offset table is the polygon through its ordinates; on both sides, twice that. Area by the trapezium rule, exact here.
func TestOffsets(t *testing.T) {
	const table = "{ offsets: { stations: [ 0, 100, 250, 400 ], ordinates: [ 0, 80, 120, 60 ]%s } }"
	area := 100*80/2.0 + 150*(80+120)/2 + 150*(120+60)/2
	one := onePanel(t, fmt.Sprintf(table, ""), "[ baseline, end, curve ]")
	checkEdges(t, one)
	two := onePanel(t, fmt.Sprintf(table, ", both sides: true"), "[ lower curve, end, upper curve ]")
	checkEdges(t, two)
	if a := one.Outline.Outer.Area(); math.Abs(a-area) > 1e-6 || len(one.Edges) != 3 {
		t.Errorf("area %g, want %g; edges %v", a, area, one.edgeNames())
	}
	if a := two.Outline.Outer.Area(); math.Abs(a-2*area) > 1e-6 || len(two.Edges) != 3 {
		t.Errorf("area %g, want %g; edges %v", a, 2*area, two.edgeNames())
	}
}

// Neighbouring sides of one name are one edge, also through the first corner; one name all round is one edge.
func TestMergedEdges(t *testing.T) {
	p := onePanel(t, "{ rectangle: [ 600, 400 ], edges: [ a, b, b, a ] }", "[ a ]")
	checkEdges(t, p)
	if got := p.edgeNames(); len(got) != 2 || got[0] != "b" || got[1] != "a" {
		t.Errorf("edges %v", got)
	}
	p = onePanel(t, "{ rectangle: [ 600, 400 ], corner radius: 20, edges: [ rim, rim, rim, rim ] }", "[ rim ]")
	checkEdges(t, p)
	if len(p.Edges) != 1 {
		t.Errorf("edges %v", p.edgeNames())
	}
}

// A scribble is reported in a handful of faults.
func TestScribble(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var b strings.Builder
	for range mostPoints {
		fmt.Fprintf(&b, "[ %d, %d ], ", rng.IntN(1000), rng.IntN(1000))
	}
	text := headText + fmt.Sprintf(panelText, "{ points: [ "+strings.TrimSuffix(b.String(), ", ")+" ] }", "[ side 1 ]")
	_, faults := Read("job.yaml", []byte(text), nil)
	if n := len(faults); n < 2 || n > mostMeetings+5 {
		t.Errorf("%d faults", n)
	}
}
