package mesh_test

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

type pt = plane.Point

type dom struct{ mesh.Domain }

func rect(x, y, w, h float64) plane.Path {
	return plane.Polygon(pt{X: x, Y: y}, pt{X: x + w, Y: y}, pt{X: x + w, Y: y + h}, pt{X: x, Y: y + h})
}

func domain(max float64, outer plane.Path, cut ...plane.Path) dom {
	return dom{mesh.Domain{Region: plane.Region{Outer: outer, CutOuts: cut}, Size: mesh.Size{Max: max}}}
}

func (d dom) points(p ...plane.Point) dom { d.Points = append(d.Points, p...); return d }
func (d dom) line(step float64, p plane.Path) dom {
	d.Lines = append(d.Lines, mesh.Line{Path: p, Step: step})
	return d
}

// nearlyRound is an outline of one arc of 350° and its chord.
func nearlyRound(r float64) plane.Path {
	a := 5 * math.Pi / 180
	return plane.Path{Closed: true, V: []plane.Vertex{
		{Point: pt{X: r * math.Cos(a), Y: r * math.Sin(a)}, Bulge: math.Tan(350 * math.Pi / 180 / 4)},
		{Point: pt{X: r * math.Cos(a), Y: -r * math.Sin(a)}}}}
}

// hard are domains that a mesh generator stumbles over.
var hard = map[string]dom{
	"plain square":               domain(20, rect(0, 0, 100, 100)),
	"one edge long":              domain(1000, rect(0, 0, 100, 100)),
	"sliver":                     domain(50, rect(0, 0, 1000, 0.5)),
	"corner of 2°":               domain(30, plane.Polygon(pt{}, pt{X: 400}, pt{X: 400, Y: 400 * math.Tan(2*math.Pi/180)})),
	"needle":                     domain(30, plane.Polygon(pt{}, pt{X: 100}, pt{X: 100, Y: 50}, pt{X: 52, Y: 50}, pt{X: 50, Y: 200}, pt{X: 48, Y: 50}, pt{Y: 50})),
	"clockwise outline":          domain(20, rect(0, 0, 100, 60).Reverse(), plane.CircleAt(pt{X: 50, Y: 30}, 10)),
	"arc of 350°":                domain(15, nearlyRound(60)),
	"circle in a circle":         domain(15, plane.CircleAt(pt{}, 80), plane.CircleAt(pt{X: 10}, 40)),
	"thin ring":                  domain(15, plane.CircleAt(pt{}, 80), plane.CircleAt(pt{}, 79)),
	"tiny cut-out":               domain(25, rect(0, 0, 200, 100), plane.CircleAt(pt{X: 77, Y: 33}, 1.6)),
	"point 0.01 mm from a hole":  domain(25, rect(0, 0, 200, 100), rect(50, 40, 30, 20)).points(pt{X: 49.99, Y: 50}),
	"point 0.06 mm from a hole":  domain(25, rect(0, 0, 200, 100), rect(50, 40, 30, 20)).points(pt{X: 49.94, Y: 50}),
	"point 0.06 mm from a round": domain(25, rect(0, 0, 200, 100), plane.CircleAt(pt{X: 60, Y: 50}, 20)).points(pt{X: 39.94, Y: 50}),
	"line 0.1 mm beside a line":  domain(25, rect(0, 0, 200, 100)).line(0, plane.Open(pt{X: 20, Y: 50}, pt{X: 180, Y: 50})).line(0, plane.Open(pt{X: 20, Y: 50.1}, pt{X: 180, Y: 50.1})),
	"line 0.03 mm beside a line": domain(25, rect(0, 0, 200, 100)).line(0, plane.Open(pt{X: 20, Y: 50}, pt{X: 180, Y: 50})).line(0, plane.Open(pt{X: 20, Y: 50.03}, pt{X: 180, Y: 50.03})),
	"coincident points":          domain(25, rect(0, 0, 200, 100)).points(pt{X: 50, Y: 50}, pt{X: 50, Y: 50}, pt{X: 50.03, Y: 50}),
	"points in a row":            domain(25, rect(0, 0, 200, 100)).points(pt{X: 50, Y: 50}, pt{X: 100, Y: 50}, pt{X: 150, Y: 50}, pt{Y: 50}, pt{X: 200, Y: 100}),
	"point on the outline":       domain(25, rect(0, 0, 200, 100)).points(pt{X: 33, Y: 0}, pt{X: 33, Y: 100.02}),
	"hole touches a line":        domain(20, rect(0, 0, 200, 100), rect(80, 50, 30, 20)).line(10, plane.Open(pt{X: 10, Y: 50}, pt{X: 190, Y: 50})),
	"hole tangent to a line":     domain(20, rect(0, 0, 200, 100), plane.CircleAt(pt{X: 90, Y: 65}, 15)).line(10, plane.Open(pt{X: 10, Y: 50}, pt{X: 190, Y: 50})),
	"line across a hole":         domain(20, rect(0, 0, 200, 100), plane.CircleAt(pt{X: 90, Y: 55}, 15)).line(10, plane.Open(pt{X: 10, Y: 50}, pt{X: 190, Y: 50})),
	"line leaves and returns":    domain(20, rect(0, 0, 200, 100)).line(10, plane.Open(pt{X: 20, Y: 80}, pt{X: 60, Y: 130}, pt{X: 100, Y: 130}, pt{X: 150, Y: 20}, pt{X: 250, Y: 20})),
	"line through corners":       domain(20, rect(0, 0, 200, 100)).line(10, plane.Open(pt{X: -50, Y: -25}, pt{X: 250, Y: 125})),
	"line along the outline":     domain(20, rect(0, 0, 200, 100)).line(7, plane.Open(pt{X: 30}, pt{X: 170})).line(0, plane.Open(pt{X: 200, Y: 90}, pt{X: 200, Y: -10})),
	"line along an arc":          domain(20, plane.CircleAt(pt{}, 100)).line(7, plane.Path{V: []plane.Vertex{{Point: pt{X: 100}, Bulge: math.Tan(math.Pi / 8)}, {Point: pt{Y: 100}}}}),
	"line beyond the region":     domain(20, rect(0, 0, 200, 100)).line(7, plane.Open(pt{X: 300}, pt{X: 400, Y: 50})),
	"closed line":                domain(20, rect(0, 0, 200, 100)).line(9, plane.CircleAt(pt{X: 100, Y: 50}, 40)),
	"closed line half outside":   domain(20, rect(0, 0, 200, 100)).line(9, plane.CircleAt(pt{X: 100, Y: 90}, 40)),
	"line crosses itself":        domain(20, rect(0, 0, 200, 100)).line(9, plane.Open(pt{X: 20, Y: 20}, pt{X: 160, Y: 80}, pt{X: 160, Y: 20}, pt{X: 20, Y: 80})),
	"line back on itself":        domain(20, rect(0, 0, 200, 100)).line(9, plane.Open(pt{X: 20, Y: 50}, pt{X: 160, Y: 50}, pt{X: 90, Y: 50})),
	"star of lines": domain(20, rect(0, 0, 200, 100)).line(0, plane.Open(pt{X: 20, Y: 50}, pt{X: 180, Y: 50})).line(0, plane.Open(pt{X: 100, Y: 5}, pt{X: 100, Y: 95})).
		line(0, plane.Open(pt{X: 60, Y: 10}, pt{X: 140, Y: 90})).line(0, plane.Open(pt{X: 20, Y: 45}, pt{X: 180, Y: 55})).points(pt{X: 100, Y: 50}),
	"offset seat":   domain(20, rect(0, 0, 300, 200), plane.CircleAt(pt{X: 150, Y: 100}, 30)).line(12, rect(12, 12, 276, 176)).points(pt{X: 12, Y: 12}, pt{X: 150, Y: 12}, pt{X: 288, Y: 12}, pt{X: 150, Y: 188}),
	"comb":          domain(20, plane.Polygon(pt{}, pt{X: 100}, pt{X: 100, Y: 50}, pt{X: 81, Y: 50}, pt{X: 81, Y: 10}, pt{X: 79, Y: 10}, pt{X: 79, Y: 50}, pt{X: 50.3, Y: 50}, pt{X: 50.3, Y: 5}, pt{X: 50, Y: 5}, pt{X: 50, Y: 50}, pt{Y: 50})),
	"near the edge": domain(30, rect(0, 0, 200, 100), rect(0.3, 40, 60, 20)),
	"short edges":   domain(30, plane.Polygon(pt{}, pt{X: 100}, pt{X: 100, Y: 0.2}, pt{X: 100.2, Y: 0.2}, pt{X: 100.2, Y: 60}, pt{Y: 60})),
}

func init() {
	d := domain(30, rect(0, 0, 200, 100)).points(pt{X: 70, Y: 40})
	d.Size.Near = []mesh.Near{{At: pt{X: 70, Y: 40}, Step: 0.5}}
	hard["fine about a point"] = d
	d = domain(40, rect(0, 0, 200, 100), plane.CircleAt(pt{X: 60, Y: 50}, 20))
	d.Size.Edge = 4
	hard["fine edge"] = d
	d.Size.Grow = 2
	hard["fine edge, fast growth"] = d
}

func TestTable(t *testing.T) {
	for name, d := range hard {
		t.Run(name, func(t *testing.T) {
			m, err := mesh.Build(d.Domain)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range faults(d.Domain, m) {
				t.Error(f)
			}
			again, err := mesh.Build(d.Domain)
			if err != nil || !reflect.DeepEqual(m, again) {
				t.Errorf("the same domain gives another mesh, %v", err)
			}
			q := m.Quality()
			t.Logf("%d nodes, least angle %.1f°, edges %.3g … %.3g", q.Nodes, q.LeastAngle*180/math.Pi, q.EdgeMin, q.EdgeMax)
		})
	}
}

func (d dom) moved(t plane.Transform) dom {
	d.Region = d.Region.Transform(t)
	points, lines, near := d.Points, d.Lines, d.Size.Near
	d.Points, d.Lines, d.Size.Near = nil, nil, nil
	for _, p := range points {
		d.Points = append(d.Points, t.Apply(p))
	}
	for _, l := range lines {
		d.Lines = append(d.Lines, mesh.Line{l.Path.Transform(t), l.Step})
	}
	for _, n := range near {
		d.Size.Near = append(d.Size.Near, mesh.Near{t.Apply(n.At), n.Step})
	}
	return d
}

// A mesh is as good wherever the panel lies and whichever way it is turned; it need not be the same.
func TestMoved(t *testing.T) {
	for name, d := range hard {
		one, err := mesh.Build(d.Domain)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for k, f := range []plane.Transform{plane.Move(pt{X: 1e4, Y: -3333.3}), plane.Turn(0.7, pt{X: 10, Y: 20}), plane.Mirror(pt{}, pt{X: 1, Y: 0.4})} {
			d := d.moved(f)
			m, err := mesh.Build(d.Domain)
			if err != nil {
				t.Errorf("%s, way %d: %v", name, k, err)
				continue
			}
			for _, f := range faults(d.Domain, m) {
				t.Errorf("%s, way %d: %s", name, k, f)
			}
			if a, b := len(one.Nodes), len(m.Nodes); math.Abs(float64(a-b)) > 20+0.25*float64(a) {
				t.Errorf("%s, way %d: %d nodes, unmoved %d", name, k, b, a)
			}
		}
	}
}

func TestUnfit(t *testing.T) {
	square := domain(20, rect(0, 0, 100, 100))
	for name, c := range map[string]struct {
		d    dom
		says string
	}{
		"point outside":     {square.points(pt{X: 100.2, Y: 50}), "outside"},
		"point in a hole":   {domain(20, rect(0, 0, 100, 100), rect(40, 40, 20, 20)).points(pt{X: 50, Y: 50}), "outside"},
		"NaN point":         {square.points(pt{X: math.NaN()}), "without a place"},
		"infinite point":    {square.points(pt{X: math.Inf(1)}), "without a place"},
		"NaN vertex":        {domain(20, plane.Polygon(pt{}, pt{X: math.NaN()}, pt{X: 1, Y: 1})), "without a place"},
		"infinite bulge":    {domain(20, plane.Path{Closed: true, V: []plane.Vertex{{Bulge: math.Inf(1)}, {Point: pt{X: 1}}, {Point: pt{Y: 1}}}}), "without a place"},
		"NaN line":          {square.line(0, plane.Open(pt{X: 1, Y: 1}, pt{X: math.NaN(), Y: 5})), "without a place"},
		"NaN near":          {dom{mesh.Domain{Region: square.Region, Size: mesh.Size{Max: 20, Near: []mesh.Near{{At: pt{Y: math.NaN()}, Step: 1}}}}}, "without a place"},
		"no outline":        {domain(20, plane.Path{Closed: true}), "without edges"},
		"tiny outline":      {domain(20, rect(0, 0, 0.03, 0.03)), "smaller"},
		"flat outline":      {domain(20, rect(0, 0, 100, 0.01)), ""},
		"outline of a line": {domain(20, plane.Polygon(pt{}, pt{X: 100}, pt{X: 50})), ""},
		"hole is all":       {domain(20, rect(0, 0, 100, 100), rect(0, 0, 100, 100)), ""},
	} {
		m, err := mesh.Build(c.d.Domain)
		var u *mesh.Unfit
		if !errors.As(err, &u) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, %v, want *Unfit that says %q", name, m != nil, err, c.says)
		}
	}
}

func TestTooLarge(t *testing.T) {
	d := domain(1, rect(0, 0, 400, 300))
	d.Size.Nodes = 1500
	_, err := mesh.Build(d.Domain)
	var e *mesh.TooLarge
	if !errors.As(err, &e) || e.Limit != 1500 || e.Size <= 0 || e.Size > 1 || d.Region.Contains(e.At) == plane.Outside {
		t.Fatalf("%v", err)
	}
	want := fmt.Sprintf("the mesh needs more than 1500 nodes: edges of %.3g mm are wanted at (%.1f, %.1f); ask for longer edges, or cut the panel", e.Size, e.At.X, e.At.Y)
	if err.Error() != want {
		t.Errorf("%q, want %q", err, want)
	}
	// The input alone is more than the limit.
	d.Size = mesh.Size{Max: 50, Nodes: 3}
	if _, err := mesh.Build(d.Domain); !errors.As(err, &e) {
		t.Errorf("four corners, three nodes: %v", err)
	}
	// The limit counts the nodes handed out: what just fits is built.
	d.Size = mesh.Size{Max: 20}
	m, err := mesh.Build(d.Domain)
	if err != nil {
		t.Fatal(err)
	}
	d.Size.Nodes = len(m.Nodes)
	if _, err := mesh.Build(d.Domain); err != nil {
		t.Errorf("a limit that is just kept: %v", err)
	}
	d.Size.Nodes--
	if _, err := mesh.Build(d.Domain); !errors.As(err, &e) {
		t.Errorf("one node short: %v", err)
	}
}

func TestLocate(t *testing.T) {
	d := hard["line across a hole"]
	m, err := mesh.Build(d.Domain)
	if err != nil {
		t.Fatal(err)
	}
	for k := range 500 {
		p := pt{X: math.Mod(float64(k)*61.8034, 220) - 10, Y: math.Mod(float64(k)*38.1966, 120) - 10}
		i, b, ok := m.Locate(p)
		if clear := d.Region.Distance(p); ok != (clear > 0) && math.Abs(clear) > mesh.DefaultFlat {
			t.Errorf("%v: found %v, %g mm inside", p, ok, clear)
		}
		if !ok {
			continue
		}
		var q pt
		for c, v := range m.Tris[i] {
			if b[c] < -1e-12 {
				t.Errorf("%v: share %g", p, b[c])
			}
			q = q.Add(m.Nodes[v].Scale(b[c]))
		}
		if q.Dist(p) > 1e-10 {
			t.Errorf("%v: the corners say %v", p, q)
		}
	}
}

func TestGridIs(t *testing.T) {
	for _, diagonal := range []string{"/", "\\", "x"} {
		m := mesh.Grid(30, 20, 5, 3, diagonal)
		d := domain(100, rect(0, 0, 30, 20))
		if len(m.Nodes) != 24 || len(m.Tris) != 30 || len(m.Border) != 16 {
			t.Errorf("%d nodes, %d triangles, %d border edges", len(m.Nodes), len(m.Tris), len(m.Border))
		}
		for _, f := range faults(d.Domain, m) {
			if !strings.Contains(f, "circle") {
				t.Errorf("%s: %s", diagonal, f)
			}
		}
	}
	a, b := mesh.Grid(30, 20, 5, 3, "/"), mesh.Grid(30, 20, 5, 3, "\\")
	if reflect.DeepEqual(a.Tris, b.Tris) || a.Tris[0] != [3]int32{0, 1, 7} || b.Tris[0] != [3]int32{0, 1, 6} {
		t.Error("diagonals run the wrong way")
	}
}

func TestSizeIsKeptAboutPoints(t *testing.T) {
	d := hard["fine about a point"]
	m, err := mesh.Build(d.Domain)
	if err != nil {
		t.Fatal(err)
	}
	for _, tri := range m.Tris {
		for k := range 3 {
			a, b, c := m.Nodes[tri[k]], m.Nodes[tri[(k+1)%3]], m.Nodes[tri[(k+2)%3]]
			mid := pt{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3}
			if want := min(30, 0.5+mesh.DefaultGrow*mid.Dist(pt{X: 70, Y: 40})); a.Dist(b) > want*(1+1e-9) {
				t.Errorf("an edge of %g mm at %v, wanted %g", a.Dist(b), mid, want)
			}
		}
	}
}
