package plate

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// contactBeam is a stiffness of points in a rectangle of 1000 × 800 mm, with nothing else about it random but the panel.
func contactBeam(at [][2]float64) []float64 {
	r := rand.New(rand.NewPCG(9, 10))
	n := len(at)
	s := make([]float64, n*n)
	basis := contactRigid(at)
	for range n {
		b := make([]float64, n)
		for i := range b {
			b[i] = 10 * r.NormFloat64()
		}
		for range 2 {
			for _, q := range basis {
				d := contactDot(b, q)
				for i := range b {
					b[i] -= d * q[i]
				}
			}
		}
		for i := range n {
			contactAdd(b[i], b, s[i*n:i*n+n])
		}
	}
	return s
}

var contactCorners = [][2]float64{{0, 0}, {1000, 0}, {1000, 800}, {0, 800}, {500, 400}, {500, 0}}

// Cases whose end is known beforehand: all six points of contactCorners, load on each alike.
func TestContactNamed(t *testing.T) {
	inf := math.Inf(1)
	all := func(l Law) []Law { return []Law{l, l, l, l, l, l} }
	only := func(l Law, at ...int) []Law {
		out := make([]Law, 6)
		for _, i := range at {
			out[i] = l
		}
		return out
	}
	for _, c := range []struct {
		name   string
		laws   []Law
		load   float64 // N on each point
		w      float64 // of all points; NaN: it does not hold
		reason string
	}{
		{"no load, shut without preload", all(Station(10, 0, inf)), 0, 0, ""},
		{"no load, preload", all(Station(10, 2, inf)), 0, 0, ""},
		{"less than preload", all(Station(10, 2, inf)), 19.9, 0, ""},
		{"just preload", all(Station(10, 2, inf)), 20, 0, ""},
		{"more than preload", all(Station(10, 2, inf)), 25, 0.5, ""},
		{"no preload, no slack", all(Station(10, 0, inf)), 25, 2.5, ""},
		{"a wire with play", all(Station(10, -1, inf)), 25, 3.5, ""},
		{"pressed in on a soft seat", all(Station(10, 2, 90)), -30, -0.5, ""},
		{"a seal that pushes harder than the preload: the seat is open", all(Sum(Station(10, 2, inf), Seal(5, 10))), 0, 2, ""},
		{"a steady push harder than the preload", all(Sum(Station(10, 2, inf), Steady(35))), 0, 1.5, ""},
		{"two stations at each point", all(Sum(Station(10, 2, inf), Station(30, 1, inf))), 70, 0.5, ""},
		{"held", all(Held()), 1e6, 0, ""},
		{"on rigid supports", all(Rigid()), -7, 0, ""},
		{"on soft supports", all(Pad(5)), -7, -1.4, ""},
		{"no load on supports", all(Pad(5)), 0, 0, ""},
		{"nothing at all, no load", all(Law{}), 0, 0, ""},
		{"nothing at all", all(Law{}), 1, math.NaN(), "lifts off"},
		{"supports, and drawn off them", all(Rigid()), 1, math.NaN(), "lifts off"},
		{"pads, and drawn off them", all(Pad(50)), 1, math.NaN(), "lifts off"},
		{"wires without a seat, slack, pressed in", all(Station(10, 2, 0)), -40, math.NaN(), "falls through"},
		{"two points across the middle", only(Station(10, 2, inf), 0, 4), 1, math.NaN(), "tips"},
		{"two points of an edge", only(Station(10, 2, inf), 0, 1), 1, math.NaN(), "turns about"},
		{"one corner", only(Held(), 0), 1, math.NaN(), "turns about"},
	} {
		k := contactCase{s: contactBeam(contactCorners), laws: c.laws, at: contactCorners}
		for range 6 {
			k.f = append(k.f, c.load)
		}
		a, err := k.solve(nil)
		var no *NotHeld
		switch {
		case math.IsNaN(c.w):
			if !errors.As(err, &no) || !strings.Contains(no.Reason, c.reason) {
				t.Errorf("%s: %v, %+v; want %q", c.name, err, a, c.reason)
				continue
			}
			contactMotion(t, c.name, no.Motion, c.laws, c.load)
		case err != nil:
			t.Errorf("%s: %v", c.name, err)
		default:
			if e := k.fault(a.W, a.Force, 1e-10); e != nil {
				t.Errorf("%s: %v", c.name, e)
			}
			for i, w := range a.W {
				if math.Abs(w-c.w) > 1e-9 {
					t.Errorf("%s: point %d at %g, want %g", c.name, i, w, c.w)
				}
			}
		}
	}
}

// contactMotion checks a motion that is said to be free: its greatest part is 1, it goes with the load, and what holds the panel
// keeps it from none of it.
func contactMotion(t *testing.T, name string, m [3]float64, laws []Law, load float64) {
	most, work := 0.0, 0.0
	for i, p := range contactCorners {
		v := m[0] + m[1]*p[0] + m[2]*p[1]
		most, work = max(most, math.Abs(v)), work+load*v
		l := laws[i]
		if far := v * 1e9; v > 1e-6 && math.IsInf(l.After, -1) || v < -1e-6 && math.IsInf(l.Before, -1) {
			t.Errorf("%s: motion %g at point %d goes through a stop", name, v, i)
		} else if f, _ := l.At(far); math.Abs(v) > 1e-6 && math.Abs(f) > 1e3 {
			t.Errorf("%s: motion %g at point %d is held by %g N", name, v, i, f)
		}
	}
	if math.Abs(most-1) > 1e-9 || !(work > 0) {
		t.Errorf("%s: motion %v: greatest %g, work of the load %g", name, m, most, work)
	}
}

// A search that is cut short says so.
func TestContactBound(t *testing.T) {
	c := contactCase{s: contactBeam(contactCorners), at: contactCorners, f: []float64{-90, 20, 40, 30, -60, 20}}
	for range 6 {
		c.laws = append(c.laws, Sum(Station(10, 1, math.Inf(1)), Seal(3, 4)))
	}
	k, err := NewCompliance(c.s, c.laws, c.at)
	if err != nil {
		t.Fatal(err)
	}
	a, err := k.Solve(c.f, c.laws, nil)
	if err != nil || a.Iterations < 2 {
		t.Fatalf("%+v, %v: a case that takes rounds is wanted", a, err)
	}
	k.bound, k.steps = 1, 0
	var late *NotConverged
	if _, err = k.Solve(c.f, c.laws, nil); !errors.As(err, &late) || late.Iterations != 1 || !(late.Residual >= 0) {
		t.Errorf("bound of one round: %v", err)
	}
}

// On rigid supports more load in the same sense never lets a point come back: closed ones push more. What holds for any
// stiffness: the change of load does no negative work on the change of w.
func TestContactMonotone(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	told := 0
	for range 400 {
		c := contactRandom(r, 3+r.IntN(20), 30)
		a, err := c.solve(nil)
		if err != nil {
			continue
		}
		d := c
		d.f = make([]float64, len(c.f))
		for i := range d.f {
			d.f[i] = c.f[i] + 20*r.NormFloat64()
		}
		b, err := d.solve(nil)
		if err != nil {
			continue
		}
		told++
		work, most := 0.0, 0.0
		for i := range c.f {
			v := (d.f[i] - c.f[i]) * (b.W[i] - a.W[i])
			work, most = work+v, most+math.Abs(v)
		}
		if work < -1e-9*most {
			t.Errorf("%d points: a change of load does %g N·mm on the change of w", len(c.f), work)
		}
	}
	if told < 100 {
		t.Errorf("%d cases tell", told)
	}
}

// Preload never opens a seat: the potential energy rises with each wire's preload and the gaps, weighed by the wires' rates, shrink.
func TestContactPreload(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for range 300 {
		n := 4 + r.IntN(10)
		c := contactRandom(r, n, 10)
		rate := make([]float64, n)
		draw := func(more []float64) (out []Law) {
			for i := range n {
				out = append(out, Station(rate[i], 1+more[i], math.Inf(1)))
			}
			return out
		}
		more := make([]float64, n)
		for i := range n {
			rate[i] = 5 + 20*r.Float64()
		}
		c.laws = draw(more)
		a, err := c.solve(nil)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			more[i] = r.Float64()
		}
		c.laws = draw(more)
		b, err := c.solve(nil)
		if err != nil {
			t.Fatal(err)
		}
		change := 0.0 // −k·more is a load: its work on the change of gap
		for i := range n {
			change += rate[i] * more[i] * (b.W[i] - a.W[i])
		}
		if change > 1e-9 {
			t.Errorf("%d points: more preload opens gaps, by %g N·mm", n, change)
		}
	}
}
