package sheet

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"panelwright/internal/plane"
)

func randomPath(rng *rand.Rand) plane.Path {
	p := plane.Path{Closed: rng.Intn(2) == 0}
	for range 2 + rng.Intn(6) {
		v := plane.Vertex{Point: pt(rng.NormFloat64()*300, rng.NormFloat64()*300)}
		if rng.Intn(2) == 0 {
			v.Bulge = rng.NormFloat64()
		}
		p.V = append(p.V, v)
	}
	return p
}

// A view keeps shapes: the point at a fraction of an edge maps onto the same fraction of the mapped edge, whatever is
// turned over. Were the sign of a bulge wrong, the arc would lie on the other side of its chord.
func TestViewKeepsPoints(t *testing.T) {
	rng := rand.New(rand.NewSource(2))
	for _, mirror := range []bool{false, true} {
		for range 200 {
			v := View{Origin: pt(rng.Float64()*200, rng.Float64()*200), Scale: 0.1 + rng.Float64(), Mirror: mirror}
			p := randomPath(rng)
			q := v.Path(p)
			if q.Closed != p.Closed || len(q.V) != len(p.V) {
				t.Fatal("another path")
			}
			for i := range p.EdgeCount() {
				for _, f := range []float64{0, 0.2, 0.5, 0.9, 1} {
					a, b := v.Map(p.Seg(i).At(f)), q.Seg(i).At(f)
					if a.Dist(b) > 1e-9*(1+p.Seg(i).Length()) {
						t.Fatalf("mirror %v: edge %d at %g: %v and %v", mirror, i, f, a, b)
					}
					if back := v.Unmap(a); back.Dist(p.Seg(i).At(f)) > 1e-9*(1+back.Len()) {
						t.Fatalf("mirror %v: %v came back as %v", mirror, p.Seg(i).At(f), back)
					}
				}
			}
			want(t, "length", q.Length(), v.Scale*p.Length(), 1e-9*p.Length())
		}
	}
}

func TestViewRegion(t *testing.T) {
	r := roundedPlate()
	for _, mirror := range []bool{false, true} {
		v := View{Origin: pt(10, 200), Scale: 0.5, Mirror: mirror}
		m := v.Region(r)
		want(t, "outline's area", math.Abs(m.Outer.Area()), 0.25*math.Abs(r.Outer.Area()), 1e-6)
		want(t, "cut-out's area", math.Abs(m.CutOuts[0].Area()), 0.25*math.Pi*50*50, 1e-6)
	}
	r.Outer.V[0].X = 12345 // the page's region is in memory of its own
	if v := (View{Scale: 1}); v.Region(roundedPlate()).Outer.V[0].X == 12345 {
		t.Error("shared memory")
	}
}

var wholePage = rect{0, 0, 400, 400}

// Length of the lines times their pitch tends to the area; each line lies inside, its ends on the edge.
func TestHatchFillsTheRegion(t *testing.T) {
	reg := View{Origin: pt(50, 350), Scale: 0.5}.Region(roundedPlate())
	area := math.Abs(reg.Outer.Area()) - math.Abs(reg.CutOuts[0].Area())
	reversed := plane.Region{Outer: reg.Outer.Reverse(), CutOuts: reg.CutOuts}
	for deg := -90.0; deg <= 180; deg += 15 {
		for name, r := range map[string]plane.Region{"": reg, "reversed": reversed} {
			h := Hatch{Region: r, Angle: deg * math.Pi / 180, Pitch: 0.5}
			lines := h.lines(wholePage)
			sum := 0.0
			for _, l := range lines {
				sum += l[0].Dist(l[1])
				mid := l[0].Lerp(l[1], 0.5)
				if l[0].Dist(l[1]) > 0.1 && (r.Outer.Contains(mid) == plane.Outside || r.CutOuts[0].Contains(mid) == plane.Inside) {
					t.Fatalf("%g° %s: line %v outside", deg, name, l)
				}
				for _, end := range l {
					_, d, _ := r.Outer.Nearest(end)
					_, dc, _ := r.CutOuts[0].Nearest(end)
					if math.Min(d, dc) > flat+1e-9 {
						t.Fatalf("%g° %s: end %v is %.3f mm off the edge", deg, name, end, math.Min(d, dc))
					}
				}
				// Anticlockwise as seen: with y downwards the direction is (cos, −sin).
				dir := l[1].Sub(l[0]).Unit()
				if off := dir.Cross(pt(math.Cos(h.Angle), -math.Sin(h.Angle))); math.Abs(off) > 1e-6 && l[0].Dist(l[1]) > 0.1 {
					t.Fatalf("%g°: line along %v", deg, dir)
				}
			}
			want(t, fmt.Sprintf("%g° %s: hatched area", deg, name), sum*h.Pitch, area, 0.005*area) // half a line at either side
			if cross := (Hatch{Region: r, Angle: h.Angle, Pitch: 0.5, Cross: true}).lines(wholePage); len(cross) <= len(lines) {
				t.Errorf("%g°: %d lines, crossed %d", deg, len(lines), len(cross))
			}
		}
	}
}

func TestHatchDegenerate(t *testing.T) {
	for name, r := range map[string]plane.Region{
		"nothing": {}, "a point": {Outer: plane.Polygon(pt(5, 5))}, "a line": {Outer: plane.Polygon(pt(5, 5), pt(90, 50))},
		"off the page": {Outer: plane.Polygon(pt(500, 500), pt(600, 500), pt(600, 600))},
	} {
		if l := (Hatch{Region: r, Pitch: 1, Angle: 0.3}).lines(wholePage); len(l) > 0 && name != "a line" {
			t.Errorf("%s: %d lines", name, len(l))
		} else {
			for _, x := range l {
				want(t, name, x[0].Dist(x[1]), 0, 1e-9)
			}
		}
	}
	// Edges along the lines and corners on them count neither twice nor not at all.
	square := plane.Region{Outer: plane.Polygon(pt(10, 10), pt(20, 10), pt(20, 20), pt(10, 20))}
	sum := 0.0
	for _, l := range (Hatch{Region: square, Pitch: 1}).lines(wholePage) {
		want(t, "line in a square", l[0].Dist(l[1]), 10, 1e-9)
		sum += 10
	}
	want(t, "hatched square", sum, 100, 10.0001)
}

func TestHatchStopsAtTheFrame(t *testing.T) {
	big := plane.Region{Outer: plane.Polygon(pt(-1e6, -1e6), pt(1e6, -1e6), pt(1e6, 1e6), pt(-1e6, 1e6))}
	frame := rect{10, 20, 110, 70}
	sum := 0.0
	for _, l := range (Hatch{Region: big, Pitch: 0.5, Angle: 0.7}).lines(frame) {
		for _, p := range l {
			if p.X < 10-1e-6 || p.X > 110+1e-6 || p.Y < 20-1e-6 || p.Y > 70+1e-6 {
				t.Fatalf("end %v out of the frame", p)
			}
		}
		sum += l[0].Dist(l[1])
	}
	want(t, "hatched frame", sum*0.5, 5000, 50)
}

// The part of a line in a rectangle, against points tried along it one by one.
func TestClipLine(t *testing.T) {
	rng := rand.New(rand.NewSource(3))
	r := rect{10, 20, 50, 40}
	for range 500 {
		l := [2]plane.Point{pt(rng.Float64()*60, rng.Float64()*60), pt(rng.Float64()*60, rng.Float64()*60)}
		if rng.Intn(4) == 0 {
			l[1].Y = l[0].Y
		}
		got, ok := r.clipLine(l)
		in := 0
		const n = 4000
		for i := range n {
			p := l[0].Lerp(l[1], (float64(i)+0.5)/n)
			if p.X > r.x0 && p.X < r.x1 && p.Y > r.y0 && p.Y < r.y1 {
				in++
			}
		}
		long := 0.0
		if ok {
			long = got[0].Dist(got[1])
		}
		want(t, fmt.Sprintf("%v inside", l), long, float64(in)/n*l[0].Dist(l[1]), 2*l[0].Dist(l[1])/n+1e-9)
	}
}

// The curves that stand for an arc stay on it, whatever its size.
func TestBeziersStandOnTheArc(t *testing.T) {
	worst := 0.0
	for _, radius := range []float64{0.1, 1, 10, 100, 1000, 20000} {
		for _, bulge := range []float64{-2, -1, -0.4, 0.001, 0.1, 0.5, 1, 3} {
			half := radius * 2 * math.Abs(bulge) / (1 + bulge*bulge) // half chord of a bulge at a radius
			g := plane.Seg{A: pt(5, 7), B: pt(5, 7).Add(pt(2*half, 0).Rotate(0.3)), Bulge: bulge}
			centre, ok := g.Centre()
			if !ok {
				t.Fatal("no centre")
			}
			from := g.A
			for _, c := range beziers(g) {
				for u := 0.0; u <= 1; u += 1.0 / 32 {
					w := 1 - u
					p := from.Scale(w * w * w).Add(c[0].Scale(3 * w * w * u)).Add(c[1].Scale(3 * w * u * u)).Add(c[2].Scale(u * u * u))
					worst = math.Max(worst, math.Abs(p.Dist(centre)-g.Radius()))
				}
				from = c[2]
			}
			if from.Dist(g.B) > 1e-9*radius {
				t.Errorf("R %g bulge %g ends at %v, not %v", radius, bulge, from, g.B)
			}
		}
	}
	if worst > arcTol*1.05 { // the count of curves rests on the first term of a series
		t.Errorf("curves stand %.6f mm off their arc, at most %g", worst, arcTol)
	}
	if worst < arcTol/1000 {
		t.Errorf("worst deviation %.3g mm: was nothing measured?", worst)
	}
}

func BenchmarkHatch(b *testing.B) {
	h := Hatch{Region: View{Origin: pt(50, 350), Scale: 0.5}.Region(roundedPlate()), Angle: math.Pi / 4, Pitch: 1, Pen: Fine}
	for b.Loop() {
		h.lines(wholePage)
	}
}
