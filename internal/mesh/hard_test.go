package mesh

import (
	"errors"
	"math"
	"testing"
	"time"

	"panelwright/internal/plane"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

func circle(x, y, r float64) plane.Path { return plane.CircleAt(pt(x, y), r) }

func moved(p plane.Path, x, y float64) plane.Path { return p.Transform(plane.Move(pt(x, y))) }

func rounded(w, h, r float64) plane.Path {
	p, err := plane.RoundedRectangle(w, h, r)
	if err != nil {
		panic(err)
	}
	return p
}

func arc(a, b plane.Point, bulge float64) plane.Path {
	return plane.Path{V: []plane.Vertex{{Point: a, Bulge: bulge}, {Point: b}}}
}

// panel is a vehicle panel as they come: rounded, with a window, holes, support lines and stations.
func panel(w, h, edge float64) Domain {
	d := Domain{Region: plane.Region{Outer: rounded(w, h, 60), CutOuts: []plane.Path{circle(w*0.4, h/2, h/6), moved(rounded(w/8, h/6, 15), w*0.7, h*0.3)}}}
	in := 12.0
	d.Lines = []Line{
		{Path: moved(rounded(w-2*in, h-2*in, 48), in, in), Step: edge / 2},
		{Path: plane.Open(pt(w*0.55, -10), pt(w*0.55, h+10)), Step: edge / 2},
		{Path: plane.Open(pt(0, h*0.8), pt(w, h*0.75))},
	}
	for i := range 8 {
		p := pt(60+(w-120)*float64(i)/7, in)
		q := pt(p.X, h-in)
		d.Points = append(d.Points, p, q)
		d.Size.Near = append(d.Size.Near, Near{p, edge / 8}, Near{q, edge / 8})
	}
	d.Size.Max, d.Size.Edge = edge, edge/2
	return d
}

type hardCase struct {
	name  string
	d     Domain
	least float64 // least angle, degrees; 0: a sharp input
	fails bool    // *TooLarge or *Unfit is the answer
}

func hardCases() []hardCase {
	rect := func(w, h float64) plane.Region { return plane.Region{Outer: plane.Rectangle(w, h)} }
	size := func(v float64) Size { return Size{Max: v} }
	corner := func(deg float64) plane.Path {
		return plane.Polygon(pt(0, 0), pt(400, 0), pt(400*math.Cos(deg*math.Pi/180), 400*math.Sin(deg*math.Pi/180)))
	}
	star := func(n int) (l []Line) {
		for i := range n {
			a := math.Pi * float64(i) / float64(n)
			l = append(l, Line{Path: plane.Open(pt(300-500*math.Cos(a), 200-500*math.Sin(a)), pt(300+500*math.Cos(a), 200+500*math.Sin(a)))})
		}
		return l
	}
	parallel := func(dy ...float64) (l []Line) {
		for _, y := range dy {
			l = append(l, Line{Path: plane.Open(pt(50, 100+y), pt(250, 100+y))})
		}
		return l
	}
	holed := func(c ...plane.Path) plane.Region { return plane.Region{Outer: plane.Rectangle(600, 400), CutOuts: c} }
	return []hardCase{
		{"panel", panel(1000, 600, 40), 20, false},
		{"panel, fine", panel(1000, 600, 15), 20, false},
		{"sliver 1000 by 0.5", Domain{Region: rect(1000, 0.5), Size: size(40)}, 20, false},
		{"sliver 1000 by 0.06", Domain{Region: rect(1000, 0.06), Size: size(40)}, 20, false},
		{"sliver thinner than one place", Domain{Region: rect(1000, 0.03), Size: size(40)}, 0, true},
		{"corner of 2°", Domain{Region: plane.Region{Outer: corner(2)}, Size: size(30)}, 0, false},
		{"corner of 0.1°", Domain{Region: plane.Region{Outer: corner(0.1)}, Size: size(30)}, 0, false},
		{"corner of 45°", Domain{Region: plane.Region{Outer: corner(45)}, Size: size(30)}, 0, false},
		{"station beside a cut-out", Domain{Region: holed(circle(300, 200, 50)), Points: []plane.Point{pt(350.01, 200), pt(300, 250.2), pt(300, 149.9)}, Size: size(40)}, 20, false},
		{"station in the chord of an arc", Domain{Region: plane.Region{Outer: circle(0, 0, 200)}, Points: []plane.Point{pt(199.9*math.Cos(0.11), 199.9*math.Sin(0.11)), pt(0, 199.85)}, Size: size(60)}, 20, false},
		{"station out of the chord of a cut-out", Domain{Region: holed(circle(300, 200, 150)), Points: []plane.Point{pt(300+150.12*math.Cos(0.11), 200+150.12*math.Sin(0.11))}, Size: size(60)}, 20, false},
		{"line 0.1 beside a line", Domain{Region: rect(300, 200), Lines: parallel(0, 0.1), Size: size(30)}, 20, false},
		{"line 0.06 beside a line", Domain{Region: rect(300, 200), Lines: parallel(0, 0.06), Size: size(30)}, 20, false},
		{"lines that fall together", Domain{Region: rect(300, 200), Lines: parallel(0, 0.03, 0.04, 1e-7), Size: size(30)}, 20, false},
		{"line beside the outline", Domain{Region: rect(300, 200), Lines: []Line{{Path: plane.Open(pt(0, 0.1), pt(300, 0.1))}, {Path: plane.Open(pt(0, 200), pt(300, 200)), Step: 5}}, Size: size(30)}, 20, false},
		{"line along an arc of the outline", Domain{Region: plane.Region{Outer: circle(0, 0, 200)}, Lines: []Line{{Path: circle(0, 0, 200), Step: 8}, {Path: circle(0, 0, 199.9).Transform(plane.Turn(0.3, pt(0, 0)))}, {Path: circle(0, 0, 150)}}, Size: size(30)}, 20, false},
		{"star of 36 lines", Domain{Region: rect(600, 400), Lines: star(36), Size: size(40)}, 0, false},
		{"star of 300 lines", Domain{Region: rect(600, 400), Lines: star(300), Size: size(40)}, 0, true},
		{"lines at 0.5°", Domain{Region: rect(600, 400), Lines: []Line{{Path: plane.Open(pt(50, 200), pt(550, 200))}, {Path: plane.Open(pt(50, 198), pt(550, 202.4))}}, Size: size(40)}, 0, false},
		{"touching arcs", Domain{Region: rect(600, 400), Lines: []Line{{Path: circle(300, 200, 100)}, {Path: circle(300, 150, 50)}, {Path: plane.Open(pt(100, 100), pt(500, 100))}}, Size: size(40)}, 0, false},
		{"cut-outs 0.2 apart", Domain{Region: holed(circle(200, 200, 80), circle(360.2, 200, 80)), Size: size(40)}, 20, false},
		{"cut-out 0.1 from the outline", Domain{Region: holed(moved(plane.Rectangle(100, 100), 200, 0.1)), Size: size(40)}, 20, false},
		{"arcs within one another", Domain{Region: plane.Region{Outer: circle(0, 0, 300), CutOuts: []plane.Path{circle(0, 0, 299.7)}}, Size: size(40)}, 20, false},
		{"notch of 0.1", Domain{Region: plane.Region{Outer: plane.Polygon(pt(0, 0), pt(300, 0), pt(300, 200), pt(150.1, 200), pt(150.1, 50), pt(150, 50), pt(150, 200), pt(0, 200))}, Size: size(40)}, 20, false},
		{"crescent", Domain{Region: plane.Region{Outer: plane.Path{Closed: true, V: []plane.Vertex{{Point: pt(0, 0), Bulge: 0.5}, {Point: pt(400, 0), Bulge: -0.45}}}}, Size: size(40)}, 0, false},
		{"lens", Domain{Region: plane.Region{Outer: plane.Path{Closed: true, V: []plane.Vertex{{Point: pt(0, 0), Bulge: 0.02}, {Point: pt(400, 0), Bulge: 0.02}}}}, Size: size(40)}, 0, false},
		{"many points on one spot", Domain{Region: rect(300, 200), Points: []plane.Point{pt(100, 100), pt(100.02, 100), pt(100.06, 100), pt(100, 100.04), pt(100.04, 100.1), pt(0.04, 0.04), pt(0, 100), pt(-0.03, 50)}, Size: size(30)}, 20, false},
		{"point outside", Domain{Region: rect(300, 200), Points: []plane.Point{pt(100, 100), pt(-1, 50)}, Size: size(30)}, 0, true},
		{"point in a cut-out", Domain{Region: holed(circle(300, 200, 80)), Points: []plane.Point{pt(300, 200)}, Size: size(30)}, 0, true},
		{"tiny arcs", Domain{Region: plane.Region{Outer: rounded(300, 200, 0.1), CutOuts: []plane.Path{circle(100, 100, 0.2)}}, Size: size(40)}, 20, false},
		{"too many", Domain{Region: rect(1000, 1000), Size: Size{Max: 2}}, 0, true},
		{"line across the outline and a cut-out", Domain{Region: holed(circle(300, 200, 80)), Lines: []Line{{Path: plane.Open(pt(-50, 210), pt(650, 190))}, {Path: arc(pt(100, 390), pt(500, 390), 0.6)}, {Path: plane.Open(pt(700, 0), pt(800, 0))}}, Size: size(30)}, 20, false},
		{"near to nothing", Domain{Region: rect(300, 200), Size: Size{Max: 30, Near: []Near{{pt(150, 100), 0.05}, {pt(150, 100), 0.2}, {pt(-100, 100), 1}}}}, 20, false},
		{"far from the origin", Domain{Region: plane.Region{Outer: moved(rounded(300, 200, 30), 1e6, -2e6), CutOuts: []plane.Path{circle(1e6+100, -2e6+100, 30)}}, Size: size(30)}, 20, false},
		{"line that ends 0.06 before the outline", Domain{Region: rect(300, 200), Lines: []Line{{Path: plane.Open(pt(0.06, 100), pt(299.96, 100))}}, Size: size(30)}, 20, false},
		{"line through a corner, nearly", Domain{Region: rect(300, 200), Lines: []Line{{Path: plane.Open(pt(-10, -10.03), pt(310, 190))}, {Path: plane.Open(pt(0, 0), pt(300, 200))}}, Size: size(30)}, 0, false},
		{"thorn", Domain{Region: plane.Region{Outer: plane.Polygon(pt(0, 0), pt(300, 0), pt(300, 99), pt(600, 100), pt(300, 101), pt(300, 200), pt(0, 200))}, Size: size(30)}, 0, false},
		{"comb of cusps", Domain{Region: plane.Region{Outer: plane.Path{Closed: true, V: []plane.Vertex{{Point: pt(0, 0)}, {Point: pt(300, 0)}, {Point: pt(300, 100), Bulge: -0.99}, {Point: pt(200, 100), Bulge: -1}, {Point: pt(100, 100), Bulge: -1}, {Point: pt(0, 100)}}}}, Size: size(30)}, 0, false},
	}
}

func TestHard(t *testing.T) {
	for _, c := range hardCases() {
		t.Run(c.name, func(t *testing.T) {
			start := time.Now()
			m, err := Build(c.d)
			took := time.Since(start)
			var large *TooLarge
			var unfit *Unfit
			if err != nil {
				if !errors.As(err, &large) && !errors.As(err, &unfit) {
					t.Fatalf("an error of no type: %v", err)
				}
				if !c.fails {
					t.Fatal(err)
				}
				t.Logf("%v in %v", err, took)
				return
			}
			q := m.Quality()
			t.Logf("%d nodes, least angle %.1f°, edges %.3g to %.3g, in %v", q.Nodes, q.LeastAngle*180/math.Pi, q.EdgeMin, q.EdgeMax, took)
			if c.fails {
				t.Error("no error")
			}
			for _, f := range faults(c.d, m) {
				t.Error(f)
			}
			if deg := q.LeastAngle * 180 / math.Pi; deg < c.least {
				t.Errorf("least angle %.2f°, wanted %g°", deg, c.least)
			}
		})
	}
}
