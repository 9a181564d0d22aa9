package outline

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"panelwright/internal/plane"
)

// closedForms are shapes whose area and perimeter are known by closed forms of geometry.
func TestSVGClosedForms(t *testing.T) {
	// Perimeter of an ellipse with half axes 100 and 50: 4·a·E(√(1 − b²/a²)) = 484.4224110273838 (complete elliptic integral of
	// the second kind, by scipy.special.ellipe 1.10).
	for _, c := range []struct {
		name, body      string
		area, perimeter float64
	}{
		{"rectangle", `<rect x="1" y="2" width="300" height="200"/>`, 60000, 1000},
		{"rounded rectangle", `<rect width="300" height="200" rx="20"/>`, 60000 - (4-math.Pi)*400, 1000 - 160 + 40*math.Pi},
		{"circle", `<circle cx="5" cy="5" r="40"/>`, math.Pi * 1600, 80 * math.Pi},
		{"ellipse", `<ellipse rx="100" ry="50"/>`, math.Pi * 5000, 484.4224110273838},
		{"ellipse by a scale", `<g transform="scale(2 1)"><circle r="50"/></g>`, math.Pi * 5000, 484.4224110273838},
		{"ellipse by arcs", `<path d="M100 0A100 50 0 01-100 0A100 50 0 0 1 100 0Z"/>`, math.Pi * 5000, 484.4224110273838},
		{"parabola under a chord", `<path d="M0 0Q50 100 100 0Z"/>`, 100 * 100 / 3.0, 100 + 147.89428575445978}, // arc: 2·∫₀^50 √(1+(2−t/25)²)dt = 50·(√5·… ): ½·100·√(1+4) + (100/4)·asinh 2
		{"skewed square", `<path transform="skewX(45)" d="m0 0h100v100h-100z"/>`, 10000, 200 + 2*math.Sqrt2*100},
	} {
		d, err := ReadSVG([]byte(`<svg width="500mm" height="500mm" viewBox="0 0 500 500">`+c.body+`</svg>`), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		p, err := d.Panel(0)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if a := p.Region.Outer.Area(); math.Abs(a-c.area) > 1e-6*c.area {
			t.Errorf("%s: area %.9g, by geometry %.9g", c.name, a, c.area)
		}
		if l := p.Region.Outer.Length(); math.Abs(l-c.perimeter) > 1e-6*c.perimeter {
			t.Errorf("%s: perimeter %.9g, by geometry %.9g", c.name, l, c.perimeter)
		}
	}
}

// A cylinder of radius 400, rulings turned by 30° in plan, lies flat true: lengths round it are R·angle.
func TestDevelopCylinder(t *testing.T) {
	const radius, wide, long = 400.0, 500.0, 300.0
	var flat []plane.Point
	var rows strings.Builder
	rows.WriteString("x mm,y mm,z mm\n")
	edge := plane.Rectangle(wide, long)
	for i := range 64 {
		p := edge.At(edge.Length() * float64(i) / 64)
		flat = append(flat, p)
		a := (p.X - wide/2) / radius
		q := plane.Point{X: radius * math.Sin(a), Y: p.Y}.Rotate(math.Pi / 6)
		fmt.Fprintf(&rows, "%.6f,%.6f,%.6f\n", q.X, q.Y, radius*math.Cos(a))
	}
	d, err := ReadCSV([]byte(rows.String()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	got := d.Loops[0].Path.V
	for i := range flat {
		for j := range i {
			if w, g := flat[i].Dist(flat[j]), got[i].Point.Dist(got[j].Point); math.Abs(w-g) > 0.005 {
				t.Fatalf("points %d and %d: %.4f mm apart, on the cylinder %.4f mm", i, j, g, w)
			}
		}
	}
	if !strings.Contains(d.Notes[0].String(), "up to 0.00 mm off the cylinder") {
		t.Error(d.Notes)
	}
}

// The edge of a rectangle on a sphere lies on no cylinder: the report says by how much it stands off. With half sides a = 200 and
// b = 150 on R = 1000 the sides' sagittas, R − √(R² − a²) and R − √(R² − b²) less the corner's part, are 20.2 and 11.3 mm: unrolled
// along one pair, the other stands off by a good part of its own.
func TestDevelopSphere(t *testing.T) {
	var rows strings.Builder
	const radius = 1000.0
	edge := plane.Rectangle(400, 300)
	for i := range 60 {
		p := edge.At(edge.Length() * float64(i) / 60).Sub(plane.Point{X: 200, Y: 150})
		fmt.Fprintf(&rows, "%.6f %.6f %.6f\n", p.X, p.Y, math.Sqrt(radius*radius-p.Dot(p)))
	}
	d, err := ReadCSV([]byte(rows.String()), Options{Unit: 1})
	if err != nil {
		t.Fatal(err)
	}
	var pts [][3]float64
	for i := range 60 {
		p := edge.At(edge.Length() * float64(i) / 60).Sub(plane.Point{X: 200, Y: 150})
		pts = append(pts, [3]float64{p.X, p.Y, math.Sqrt(radius*radius - p.Dot(p))})
	}
	_, r, err := develop(pts)
	if err != nil || r.Ruled < 3 || r.Ruled > 11.3 {
		t.Errorf("%v %+v %v", err, r, d.Notes)
	}
}
