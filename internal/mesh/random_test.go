package mesh_test

import (
	"errors"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
	"time"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// star is an outline about c that does not cross itself: corners at rising angles, arcs that stay shallow.
func star(rng *rand.Rand, c pt, r float64) plane.Path {
	n := 3 + rng.IntN(9)
	p := plane.Path{Closed: true}
	for i := range n {
		a := 2 * math.Pi * (float64(i) + 0.6*rng.Float64()) / float64(n)
		d := r * (0.4 + 0.6*rng.Float64())
		v := plane.Vertex{Point: c.Add(pt{X: d * math.Cos(a), Y: d * math.Sin(a)})}
		if rng.IntN(3) == 0 {
			v.Bulge = 0.3 * (rng.Float64() - 0.5)
		}
		p.V = append(p.V, v)
	}
	if rng.IntN(2) == 0 {
		return p.Reverse()
	}
	return p
}

// sound says whether a region is one: its paths cross neither themselves nor each other.
func sound(r plane.Region) bool {
	for _, p := range r.Paths() {
		if len(p.Facts()) > 0 {
			return false
		}
	}
	return len(r.CutOutFaults()) == 0
}

// random is a region with cut-outs, lines every way and points anywhere, many of them just where they hurt: on lines, on the
// outline, beside it, on each other.
func random(rng *rand.Rand) (d dom, ok bool) {
	d = domain(10+60*rng.Float64(), star(rng, pt{}, 200))
	for range rng.IntN(4) {
		a := 2 * math.Pi * rng.Float64()
		d.Region.CutOuts = append(d.Region.CutOuts, star(rng, pt{X: 60 * math.Cos(a), Y: 60 * math.Sin(a)}, 5+25*rng.Float64()))
		if !sound(d.Region) {
			d.Region.CutOuts = d.Region.CutOuts[:len(d.Region.CutOuts)-1]
		}
	}
	if !sound(d.Region) {
		return d, false
	}
	spot := func() pt {
		return pt{X: 400 * (rng.Float64() - 0.5), Y: 400 * (rng.Float64() - 0.5)}
	}
	all := d.Region.Paths()
	on := func() pt { // on an outline or line, or a little beside
		p := all[rng.IntN(len(all))]
		q := p.At(p.Length() * rng.Float64())
		if rng.IntN(3) == 0 {
			q = p.V[rng.IntN(len(p.V))].Point
		}
		if rng.IntN(2) == 0 {
			off := []float64{1e-7, 0.01, 0.04, 0.06, 0.2, 1}[rng.IntN(6)]
			a := 2 * math.Pi * rng.Float64()
			q = q.Add(pt{X: off * math.Cos(a), Y: off * math.Sin(a)})
		}
		return q
	}
	for range rng.IntN(5) {
		var l plane.Path
		switch rng.IntN(4) {
		case 0:
			l = plane.Open(spot(), spot(), spot())
		case 1:
			l = plane.Open(on(), on())
		case 2: // a part of an outline, run along
			p := all[rng.IntN(len(all))]
			n := p.Length()
			s := rng.Float64() * n / 2
			l = p.SubPath(s, s+n*(0.1+0.3*rng.Float64()))
		case 3:
			l = plane.CircleAt(spot(), 5+80*rng.Float64())
		}
		if l.Length() < 1 {
			continue
		}
		d = d.line(20*rng.Float64(), l)
		all = append(all, l)
	}
	for range rng.IntN(8) {
		p := on()
		if len(d.Points) > 0 && rng.IntN(4) == 0 {
			p = d.Points[0].Add(pt{X: 0.02})
		}
		if rng.IntN(3) == 0 {
			p = spot()
		}
		if d.Region.Contains(p) != plane.Outside {
			d = d.points(p)
		}
	}
	if rng.IntN(3) == 0 {
		d.Size.Near = append(d.Size.Near, mesh.Near{At: spot(), Step: 0.5 + 5*rng.Float64()})
	}
	if rng.IntN(3) == 0 {
		d.Size.Edge = 3 + 10*rng.Float64()
	}
	return d, true
}

// tried builds one random domain and checks everything.
func tried(t *testing.T, seed uint64) (built bool) {
	t.Helper()
	d, ok := random(rand.New(rand.NewPCG(seed, 0)))
	if !ok {
		return false
	}
	start := time.Now()
	m, err := mesh.Build(d.Domain)
	if took := time.Since(start); took > 20*time.Second {
		t.Errorf("seed %d took %v", seed, took)
	}
	var large *mesh.TooLarge
	var unfit *mesh.Unfit
	if errors.As(err, &large) || errors.As(err, &unfit) {
		t.Logf("seed %d: %v", seed, err)
		return false
	}
	if err != nil {
		t.Fatalf("seed %d: %v", seed, err)
	}
	for _, f := range faults(d.Domain, m) {
		t.Errorf("seed %d: %s", seed, f)
	}
	return true
}

func TestRandomRegions(t *testing.T) {
	built, seeds := 0, 100
	if testing.Short() {
		seeds = 40
	}
	for seed := range seeds {
		if tried(t, uint64(seed)) {
			built++
		}
	}
	if built < seeds*3/5 {
		t.Errorf("only %d of %d regions could be divided", built, seeds)
	}
}

func FuzzRegions(f *testing.F) {
	for i := range 10 {
		f.Add(uint64(1000 + i))
	}
	f.Fuzz(func(t *testing.T, seed uint64) { tried(t, seed) })
}

// exactInCircle is the determinant in fractions.
func exactInCircle(a, b, c, d pt) int {
	r := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	n := func() *big.Rat { return new(big.Rat) }
	var m [3][3]*big.Rat
	for i, p := range []pt{a, b, c} {
		x, y := n().Sub(r(p.X), r(d.X)), n().Sub(r(p.Y), r(d.Y))
		m[i] = [3]*big.Rat{x, y, n().Add(n().Mul(x, x), n().Mul(y, y))}
	}
	det := n()
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		minor := n().Sub(n().Mul(m[j][0], m[k][1]), n().Mul(m[j][1], m[k][0]))
		det.Add(det, minor.Mul(minor, m[i][2]))
	}
	return det.Sign()
}

func TestInCircle(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	check := func(a, b, c, d pt) {
		t.Helper()
		if plane.Orient(a, b, c) < 0 {
			b, c = c, b
		}
		if got, want := mesh.InCircle(a, b, c, d), exactInCircle(a, b, c, d); got != want {
			t.Errorf("%v %v %v, %v: %d, want %d", a, b, c, d, got, want)
		}
	}
	at := func(scale float64) pt { return pt{X: scale * rng.NormFloat64(), Y: scale * rng.NormFloat64()} }
	for range 700 {
		check(at(100), at(100), at(100), at(100))
		// Corners of a rectangle turned and moved: on the circle but for rounding.
		o, u := at(1000), at(100)
		v := u.Perp().Scale(rng.Float64())
		a, b, c, d := o, o.Add(u), o.Add(u).Add(v), o.Add(v)
		check(a, b, c, d)
		d.X = math.Nextafter(d.X, math.Inf(1))
		check(a, b, c, d)
		// On a grid many lie on the circle exactly.
		g := func() pt { return pt{X: float64(rng.IntN(6)), Y: float64(rng.IntN(6))} }
		check(g(), g(), g(), g())
		// Places of very different size.
		check(at(1e-9), at(1e-9), at(1e9), at(1))
	}
	zero := 0
	for range 300 {
		o := pt{X: float64(rng.IntN(1000)), Y: float64(rng.IntN(1000))}
		if mesh.InCircle(o, o.Add(pt{X: 3}), o.Add(pt{X: 3, Y: 5}), o.Add(pt{Y: 5})) == 0 {
			zero++
		}
	}
	if zero != 300 {
		t.Errorf("%d of 300 rectangles lie on their circle", zero)
	}
}

func FuzzInCircle(f *testing.F) {
	f.Add(0.0, 0.0, 1.0, 0.0, 1.0, 1.0, 0.0, 1.0)
	f.Add(1e6, 1e6, 1e6+1e-3, 1e6, 1e6, 1e6+1e-3, 1e6+1e-3, 1e6+1e-3)
	f.Fuzz(func(t *testing.T, ax, ay, bx, by, cx, cy, dx, dy float64) {
		for _, v := range []float64{ax, ay, bx, by, cx, cy, dx, dy} {
			if a := math.Abs(v); !(a <= 1e12) || a != 0 && a < 1e-30 {
				return // no place of a panel
			}
		}
		a, b, c, d := pt{X: ax, Y: ay}, pt{X: bx, Y: by}, pt{X: cx, Y: cy}, pt{X: dx, Y: dy}
		if got, want := mesh.InCircle(a, b, c, d), exactInCircle(a, b, c, d); got != want {
			t.Errorf("%d, want %d", got, want)
		}
	})
}
