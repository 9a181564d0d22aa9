package outline

import (
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/plane"
)

// A rounded rectangle comes back as four lines and four tangent arcs, however it was drawn: short lines, a Bézier corner, points with
// noise.
func TestThinRoundedRectangle(t *testing.T) {
	round, err := plane.RoundedRectangle(600, 400, 30)
	if err != nil {
		t.Fatal(err)
	}
	noisy := func(step, noise float64) plane.Path {
		rng := rand.New(rand.NewPCG(1, 2))
		var pts []plane.Point
		for s := 0.0; s < round.Length(); s += step {
			pts = append(pts, round.At(s).Add(plane.Point{X: noise * (rng.Float64() - 0.5), Y: noise * (rng.Float64() - 0.5)}))
		}
		return plane.Polygon(pts...)
	}
	bezier, err := ReadSVG([]byte(`<svg width="600mm" height="400mm" viewBox="0 0 600 400"><path d="M30 0H570C586.569 0 600 13.431 600 30V370C600 386.569 586.569 400 570 400H30C13.431 400 0 386.569 0 370V30C0 13.431 13.431 0 30 0Z"/></svg>`), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name       string
		path       plane.Path
		tol, wrong float64 // wrong: how far a radius may come out off 30 mm
	}{
		{"short lines", plane.Polygon(round.Flatten(0.2)...), 0.05, 0.3}, {"coarse lines", plane.Polygon(round.Flatten(0.5)...), 0.6, 2.5},
		{"Bézier", bezier.Loops[0].Path, 0.05, 0.1}, {"points", noisy(1, 0.02), 0.05, 0.5}, {"rough points", noisy(3, 0.2), 0.3, 3}, {"dense", noisy(0.3, 0.02), 0.05, 0.5},
	} {
		q, off := Thin(c.path, c.tol)
		if len(q.V) != 8 || off > 2*c.tol {
			t.Errorf("%s: %d pieces of %d, off by %.3f mm", c.name, len(q.V), len(c.path.V), off)
			continue
		}
		for i := range q.V {
			g := q.Seg(i)
			if g.IsArc() && math.Abs(g.Radius()-30) > c.wrong {
				t.Errorf("%s: radius %.3f mm", c.name, g.Radius())
			}
			if u, v := g.Tangent(1), q.Seg((i+1)%8).Tangent(0); math.Abs(u.Cross(v)) > 1e-9 {
				t.Errorf("%s: pieces %d and %d meet at %.2g rad", c.name, i, i+1, u.Cross(v))
			}
		}
	}
}

// What is as short as it can be comes back as it is; an ellipse is thinned within its bound.
func TestThinLeavesAlone(t *testing.T) {
	for _, p := range []plane.Path{plane.Rectangle(600, 400), plane.CircleAt(plane.Point{}, 100), plane.Trapezium(800, 500, 300, 20)} {
		if q, off := Thin(p, 0.05); len(q.V) != len(p.V) || off != 0 {
			t.Errorf("%d pieces of %d, off %g", len(q.V), len(p.V), off)
		}
	}
	d, err := ReadSVG([]byte(`<svg width="600mm" height="400mm" viewBox="0 0 600 400"><ellipse cx="300" cy="200" rx="300" ry="150"/></svg>`), Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := d.Loops[0].Path
	q, off := Thin(p, 0.05)
	if len(q.V) > len(p.V)/4 || off > 0.05 || math.Abs(q.Area()-p.Area()) > 0.05*p.Length() {
		t.Errorf("ellipse: %d pieces of %d, off %.4f mm", len(q.V), len(p.V), off)
	}
	t.Logf("ellipse: %d pieces of %d, off %.4f mm", len(q.V), len(p.V), off)
}
