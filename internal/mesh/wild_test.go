package mesh_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// nonsense is a path that crosses itself, with arcs from flat to nearly whole circles, often on a coarse grid so that
// corners fall together.
func nonsense(rng *rand.Rand, closed bool) plane.Path {
	p := plane.Path{Closed: closed}
	grid := rng.IntN(2) == 0
	for range 2 + rng.IntN(7) {
		v := plane.Vertex{Point: pt{X: 100 * rng.Float64(), Y: 100 * rng.Float64()}}
		if grid {
			v.X, v.Y = math.Round(v.X/25)*25, math.Round(v.Y/25)*25
		}
		switch rng.IntN(5) {
		case 0:
			v.Bulge = rng.NormFloat64()
		case 1:
			v.Bulge = 1
		case 2:
			v.Bulge = math.Exp(20 * rng.NormFloat64())
		}
		p.V = append(p.V, v)
	}
	return p
}

// What is no region at all still ends: with triangles the right way round, or an error that says why.
func TestNonsense(t *testing.T) {
	built := 0
	for seed := range 1000 {
		rng := rand.New(rand.NewPCG(uint64(seed), 5))
		d := domain(5+30*rng.Float64(), nonsense(rng, true))
		for range rng.IntN(3) {
			d.Region.CutOuts = append(d.Region.CutOuts, nonsense(rng, true))
		}
		for range rng.IntN(4) {
			d = d.line(5, nonsense(rng, rng.IntN(2) == 0))
		}
		for range rng.IntN(4) {
			d = d.points(pt{X: 100 * rng.Float64(), Y: 100 * rng.Float64()})
		}
		d.Size.Nodes = 5000
		m, err := mesh.Build(d.Domain)
		var large *mesh.TooLarge
		var unfit *mesh.Unfit
		if errors.As(err, &large) || errors.As(err, &unfit) {
			continue
		}
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		built++
		for i, q := range m.Tris {
			if plane.Orient(m.Nodes[q[0]], m.Nodes[q[1]], m.Nodes[q[2]]) <= 0 {
				t.Fatalf("seed %d: triangle %d is not anticlockwise", seed, i)
			}
		}
	}
	if built < 100 {
		t.Errorf("only %d of 1000 were divided", built)
	}
}

// Sizes from a stamp to a field: the same promises.
func TestScaled(t *testing.T) {
	for seed := range 40 {
		d, ok := random(rand.New(rand.NewPCG(uint64(9000+seed), 0)))
		if !ok {
			continue
		}
		k := []float64{0.3, 30}[seed%2]
		scaled := func(p plane.Path) plane.Path {
			q := plane.Path{Closed: p.Closed}
			for _, v := range p.V {
				q.V = append(q.V, plane.Vertex{Point: v.Scale(k), Bulge: v.Bulge})
			}
			return q
		}
		d.Region.Outer = scaled(d.Region.Outer)
		for i, c := range d.Region.CutOuts {
			d.Region.CutOuts[i] = scaled(c)
		}
		for i, l := range d.Lines {
			d.Lines[i] = mesh.Line{Path: scaled(l.Path), Step: l.Step * k}
		}
		for i, p := range d.Points {
			d.Points[i] = p.Scale(k)
		}
		d.Size.Max *= k
		d.Size.Edge *= k
		m, err := mesh.Build(d.Domain)
		var large *mesh.TooLarge
		if errors.As(err, &large) {
			continue
		}
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		for _, f := range faults(d.Domain, m) {
			t.Errorf("seed %d: %s", seed, f)
		}
	}
}
