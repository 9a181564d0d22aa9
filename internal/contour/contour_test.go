package contour

import (
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/plane"
)

// plate is a grid of n × n squares on 100 × 60 mm, each cut in two, with a hole of the middle third when asked for, and shaken
// so that no line is straight.
func plate(n int, hole bool, seed uint64, w func(p plane.Point) float64) Field {
	r := rand.New(rand.NewPCG(seed, 1))
	var f Field
	id := func(i, k int) int32 { return int32(k*(n+1) + i) }
	for k := range n + 1 {
		for i := range n + 1 {
			p := plane.Point{X: 100 * float64(i) / float64(n), Y: 60 * float64(k) / float64(n)}
			if i > 0 && i < n && k > 0 && k < n {
				p.X += (r.Float64() - 0.5) * 50 / float64(n)
				p.Y += (r.Float64() - 0.5) * 30 / float64(n)
			}
			f.Node = append(f.Node, p)
			f.Value = append(f.Value, w(p))
		}
	}
	for k := range n {
		for i := range n {
			if hole && 3*i >= n && 3*i < 2*n && 3*k >= n && 3*k < 2*n {
				continue
			}
			a, b, c, d := id(i, k), id(i+1, k), id(i+1, k+1), id(i, k+1)
			if r.IntN(2) == 0 {
				f.Tris = append(f.Tris, [3]int32{a, b, c}, [3]int32{a, c, d})
			} else {
				f.Tris = append(f.Tris, [3]int32{a, b, d}, [3]int32{b, c, d})
			}
		}
	}
	return f
}

func dome(p plane.Point) float64 { return 3*math.Sin(math.Pi*p.X/100)*math.Sin(math.Pi*p.Y/60) - 0.2 }
func waves(p plane.Point) float64 {
	return math.Sin(p.X/7) * math.Cos(p.Y/5)
}
func tilt(p plane.Point) float64 { return p.X/50 - p.Y/60 }

// steps has whole plains of one value exactly on a level.
func steps(p plane.Point) float64 { return math.Floor(p.X / 25) }

var fields = map[string]func(plane.Point) float64{"dome": dome, "waves": waves, "tilt": tilt, "steps": steps}

// value is the field at a point, from the triangle that holds it; the flag says whether one does.
func (f Field) value(p plane.Point) (float64, bool) {
	for _, t := range f.Tris {
		a, b, c := f.Node[t[0]], f.Node[t[1]], f.Node[t[2]]
		all := b.Sub(a).Cross(c.Sub(a))
		u, v := p.Sub(a).Cross(c.Sub(a))/all, b.Sub(a).Cross(p.Sub(a))/all
		if u >= 0 && v >= 0 && u+v <= 1 {
			return f.Value[t[0]]*(1-u-v) + f.Value[t[1]]*u + f.Value[t[2]]*v, true
		}
	}
	return 0, false
}

func (f Field) area() float64 {
	sum := 0.0
	for _, t := range f.Tris {
		sum += f.Node[t[1]].Sub(f.Node[t[0]]).Cross(f.Node[t[2]].Sub(f.Node[t[0]])) / 2
	}
	return sum
}

func (f Field) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, t := range f.Tris {
		for _, n := range t {
			lo, hi = min(lo, f.Value[n]), max(hi, f.Value[n])
		}
	}
	return lo, hi
}

func sum(loops []Loop) float64 {
	a := 0.0
	for _, l := range loops {
		a += l.Area()
	}
	return a
}

// eachField runs a test on plates with and without a hole, coarse and fine.
func eachField(t *testing.T, test func(t *testing.T, f Field)) {
	for name, w := range fields {
		for _, n := range []int{1, 2, 3, 12, 30} {
			for _, hole := range []bool{false, true} {
				if hole && n < 3 {
					continue
				}
				f := plate(n, hole, uint64(n), w)
				t.Run(name, func(t *testing.T) { test(t, f) })
			}
		}
	}
}

// The bands' areas add up to the mesh's, and each is what the triangles alone give it: the part of a triangle above a level is
// known in closed form.
func TestBandsAddUp(t *testing.T) {
	eachField(t, func(t *testing.T, f Field) {
		lo, hi := f.span()
		levels, _ := Levels(lo, hi, 8)
		cuts := append([]float64{math.Inf(-1)}, levels...)
		all, before := 0.0, 0.0
		for k := len(cuts) - 1; k >= 0; k-- {
			above := sum(f.Above(cuts[k]))
			want := 0.0
			for _, tri := range f.Tris {
				want += f.part(tri, cuts[k])
			}
			if math.Abs(above-want) > 1e-9*f.area() {
				t.Errorf("above %g: area %.9f by the loops, %.9f by the triangles", cuts[k], above, want)
			}
			if above < before-1e-9*f.area() {
				t.Errorf("above %g: area %g, less than above the next level", cuts[k], above)
			}
			all, before = all+above-before, above
		}
		if math.Abs(all-f.area()) > 1e-9*f.area() {
			t.Errorf("bands of %.9f in all, the mesh has %.9f", all, f.area())
		}
	})
}

// part is the area of a triangle where the value is above level: with the values sorted a ≤ b ≤ c, the corner at c is cut off
// in the ratio (c−level)²/((c−a)(c−b)) of the whole, that at a likewise (closed form, similar triangles).
func (f Field) part(t [3]int32, level float64) float64 {
	whole := f.Node[t[1]].Sub(f.Node[t[0]]).Cross(f.Node[t[2]].Sub(f.Node[t[0]])) / 2
	a, b, c := f.Value[t[0]], f.Value[t[1]], f.Value[t[2]]
	a, b, c = min(a, b, c), a+b+c-min(a, b, c)-max(a, b, c), max(a, b, c)
	switch {
	case level <= a:
		return whole
	case level > c || level == c && b < c:
		return 0
	case level > b:
		return whole * (c - level) * (c - level) / ((c - a) * (c - b))
	}
	return whole * (1 - (level-a)*(level-a)/((c-a)*(b-a)))
}

// What the brush leaves at any place is the band of the value there, and nothing where the mesh has a hole.
func TestLayersPaintEveryPlace(t *testing.T) {
	eachField(t, func(t *testing.T, f Field) {
		lo, hi := f.span()
		levels, step := Levels(lo, hi, 7)
		layers := f.Layers(levels)
		r := rand.New(rand.NewPCG(7, 7))
		for range 300 {
			p := plane.Point{X: 100 * r.Float64(), Y: 60 * r.Float64()}
			v, ok := f.value(p)
			want, clear := 0, true
			for _, level := range levels {
				if v >= level {
					want++
				}
				clear = clear && math.Abs(v-level) > 1e-9*step
			}
			if !ok {
				want, clear = -1, true
			}
			got := -1
			for _, l := range layers {
				if plane.Polygon(l.Loop.At...).ContainsWithin(p, 0) == plane.Inside {
					got = l.Band
				}
			}
			if clear && got != want && !nearEdge(f, p) {
				t.Fatalf("at %v the value is %g: band %d of %v, painted %d", p, v, want, levels, got)
			}
		}
	})
}

// nearEdge says whether a point lies on the border of a triangle but for rounding, where neighbours may disagree.
func nearEdge(f Field, p plane.Point) bool {
	for _, l := range f.Above(math.Inf(-1)) {
		if _, d, _ := plane.Polygon(l.At...).Nearest(p); d < 1e-9 {
			return true
		}
	}
	return false
}

// Every point of a line has the line's value, and lies on the border where the line ends.
func TestLinesLieOnTheirLevel(t *testing.T) {
	eachField(t, func(t *testing.T, f Field) {
		lo, hi := f.span()
		levels, step := Levels(lo, hi, 9)
		border := f.Above(math.Inf(-1))
		n := 0
		for _, level := range levels {
			for _, loop := range f.Above(level) {
				for _, line := range loop.Lines() {
					n++
					for _, p := range line.At {
						if v, ok := f.value(p); ok && math.Abs(v-level) > 1e-9*step {
							t.Fatalf("the line of %g has the value %g at %v", level, v, p)
						}
					}
					if line.Closed {
						continue
					}
					for _, end := range []plane.Point{line.At[0], line.At[len(line.At)-1]} {
						if !onBorder(border, end) {
							t.Fatalf("the line of %g ends at %v, inside the mesh", level, end)
						}
					}
				}
			}
		}
		if len(levels) > 0 && n == 0 {
			t.Error("no line at all")
		}
	})
}

func onBorder(border []Loop, p plane.Point) bool {
	for _, b := range border {
		if _, d, _ := plane.Polygon(b.At...).Nearest(p); d < 1e-9 {
			return true
		}
	}
	return false
}

// A circular hill has circles for lines: radius within the mesh's chord error (closed form), and a simplified one stays within
// the tolerance that was asked for, both ways.
func TestCirclesAndSimplify(t *testing.T) {
	mid := plane.Point{X: 50, Y: 30}
	f := plate(60, false, 3, func(p plane.Point) float64 { return 30 - p.Dist(mid) })
	for _, r := range []float64{5, 12, 25} {
		loops := f.Above(30 - r)
		if len(loops) != 1 || len(loops[0].Lines()) != 1 || !loops[0].Lines()[0].Closed {
			t.Fatalf("radius %g: %d loops", r, len(loops))
		}
		line := loops[0].Lines()[0]
		// A cone is not linear on triangles: across an edge of 3 mm it stands off by up to 3²/(8 r).
		off := 3.0 * 3 / (8 * r)
		for _, p := range line.At {
			if d := p.Dist(mid); math.Abs(d-r) > off {
				t.Errorf("radius %g: a point at %g", r, d)
			}
		}
		if want := 2 * math.Pi * r; math.Abs(line.Length()-want) > 0.03*want {
			t.Errorf("radius %g: length %g, want %g", r, line.Length(), want)
		}
		const tol = 0.3
		short := loops[0].Simplify(tol)
		if len(short.At) >= len(line.At) || len(short.At) < 4 {
			t.Errorf("radius %g: %d points of %d remain", r, len(short.At), len(line.At))
		}
		for _, p := range line.At {
			if _, d, _ := plane.Polygon(short.At...).Nearest(p); d > tol {
				t.Errorf("radius %g: a point lies %g off the simplified line", r, d)
			}
		}
	}
}

// Where a loop leaves the border it does so after simplifying, too, and both parts keep their kind.
func TestSimplifyKeepsTheTurns(t *testing.T) {
	f := plate(20, true, 5, tilt)
	for _, loop := range f.Above(0.5) {
		var turns, kept []plane.Point
		list := func(l Loop) (out []plane.Point) {
			for i := range l.At {
				if l.Border[i] != l.Border[(i+len(l.At)-1)%len(l.At)] {
					out = append(out, l.At[i])
				}
			}
			return out
		}
		turns, kept = list(loop), list(loop.Simplify(1))
		if len(turns) == 0 || len(turns) != len(kept) {
			t.Fatalf("%d turns, %d after", len(turns), len(kept))
		}
		for i := range turns {
			if kept[i] != turns[i] && !contains(turns, kept[i]) {
				t.Errorf("a turn at %v that was none", kept[i])
			}
		}
	}
}

func contains(pts []plane.Point, p plane.Point) bool {
	for _, q := range pts {
		if q == p {
			return true
		}
	}
	return false
}

// Levels are whole multiples of a step 1, 2 or 5 times a power of ten, inside the values, in as many bands as asked at most and
// more than a fifth of them.
func TestLevels(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 2))
	for range 2000 {
		lo := (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(9)-5))
		hi := lo + r.Float64()*math.Pow(10, float64(r.IntN(9)-5))
		most := 2 + r.IntN(12)
		levels, step := Levels(lo, hi, most)
		if len(levels) >= most || 5*(len(levels)+2) < most {
			t.Fatalf("%g to %g: %d levels for %d bands", lo, hi, len(levels), most)
		}
		for i, l := range levels {
			if !(l > lo && l < hi) || math.Abs(l/step-math.Round(l/step)) > 1e-9+1e-15*math.Abs(l/step) || i > 0 && math.Abs(l-levels[i-1]-step) > 1e-9*step+1e-15*math.Abs(l) {
				t.Fatalf("%g to %g: %v by %g", lo, hi, levels, step)
			}
		}
		m := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
		if math.Min(math.Abs(m-1), math.Min(math.Abs(m-2), math.Abs(m-5))) > 1e-9 {
			t.Fatalf("step %g", step)
		}
	}
	for _, c := range [][2]float64{{0, 0}, {2, 1}, {math.NaN(), 1}, {0, math.Inf(1)}} {
		if l, step := Levels(c[0], c[1], 5); len(l) != 0 || step != 0 {
			t.Errorf("%v: %v by %g", c, l, step)
		}
	}
	if l, _ := Levels(1e6, 1e6+1e-9, 5); len(l) >= 5 {
		t.Errorf("%d levels between neighbours", len(l))
	}
}

// Mistakes of the caller stop the program.
func TestPanics(t *testing.T) {
	for name, f := range map[string]func(){
		"lengths":  func() { Field{Node: make([]plane.Point, 3), Value: make([]float64, 2)}.Above(0) },
		"NaN":      func() { Field{Node: make([]plane.Point, 1), Value: []float64{math.NaN()}}.Above(0) },
		"levels":   func() { plate(2, false, 1, tilt).Layers([]float64{1, 0}) },
		"one band": func() { Levels(0, 1, 1) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
	if got := (Field{}).Layers(nil); len(got) != 0 {
		t.Errorf("nothing has %d layers", len(got))
	}
}

func BenchmarkLayers(b *testing.B) {
	f := plate(100, true, 1, waves) // 10,000 nodes
	lo, hi := f.span()
	levels, _ := Levels(lo, hi, 8)
	b.ReportAllocs()
	for b.Loop() {
		f.Layers(levels)
	}
}
