package grip

import (
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// The chance agrees with drawing the parts one by one and closing each: 20,000 stations, so within 4 standard errors.
func TestChanceAgainstDrawing(t *testing.T) {
	const seed, n = 13, 20_000
	rng := rand.New(rand.NewPCG(seed, seed))
	for _, m := range mounts {
		for _, soft := range []Soft{NoSoft, SoftRate(250)} {
			p := testPair(m)
			p.Shims = 2
			stack := spread.Sum{spread.RectangularAbout(4.4, 0.5), spread.NormalOf(2.0, 0.1), spread.TriangularOf(0.4, 0.5, 0.9)}
			got := p.Chance(stack, soft, testDemand)
			var loose, tight int
			lo, hi, _, _ := Band(p.Stud, p.Receptacle, testDemand)
			rect := func(t stock.Toleranced) float64 { return t.Nom + t.Tol*(2*rng.Float64()-1) }
			for range n {
				s := rect(p.Shim.Thickness) + rect(p.Shim.Thickness)
				z := FreeWire(m, stack.Draw(rng), rect(p.Receptacle.Depth), s)
				d, _ := soft.Squeeze(Deflection(z, rect(p.Stud.Reach)), p.Receptacle.Rate.Nom)
				switch {
				case d < lo:
					loose++
				case d > hi:
					tight++
				}
			}
			for _, c := range []struct {
				name string
				got  float64
				hits int
			}{{"loose", got.Loose, loose}, {"tight", got.Tight, tight}, {"well", got.Well, n - loose - tight}} {
				f := float64(c.hits) / n
				if math.Abs(c.got-f) > 4*math.Sqrt(0.25/n) {
					t.Errorf("seed %d: %s, soft %v: %s %v, drawn %v", seed, m, soft.Rate(), c.name, c.got, f)
				}
			}
			if sum := got.Well + got.Loose + got.Tight; !got.Known || math.Abs(sum-1) > 1e-12 {
				t.Errorf("odds %+v add up to %v", got, sum)
			}
		}
	}
}

// Closed form: only the stack varies, rectangular ± 1 about the low end of the band: half of all are loose.
func TestChanceAtTheEnd(t *testing.T) {
	p := testPair(stock.Behind)
	p.Stud.Reach.Tol, p.Receptacle.Depth.Tol = 0, 0
	r := p.Close(7, NoSoft, testDemand)
	o := p.Chance(spread.Sum{spread.RectangularAbout(r.StackLo, 1)}, NoSoft, testDemand)
	about3(t, "loose", o.Loose, 0.5, 1e-9)
	about3(t, "well", o.Well, 0.5, 1e-9) // the band is 1.6 wide, the half above is 1
	for T, want := range map[float64]Odds{r.StackLo - 0.01: {Loose: 1, Known: true}, 7: {Well: 1, Known: true}, r.StackHi + 0.01: {Tight: 1, Known: true}} {
		if o := p.Chance(spread.Sum{spread.ExactAt(T)}, NoSoft, testDemand); o != want {
			t.Errorf("an exact stack of %v: %+v, want %+v", T, o, want)
		}
	}
}

// A band that asks for more than it allows never closes well, and says so.
func TestImpossibleBand(t *testing.T) {
	p, d := testPair(stock.Behind), testDemand
	d.PreloadMin = 400
	o := p.Chance(spread.Sum{spread.RectangularAbout(7, 1)}, NoSoft, d)
	if o.Well != 0 || !o.Known || math.Abs(o.Loose+o.Tight-1) > 1e-12 {
		t.Errorf("%+v", o)
	}
	if m := p.Miss(7, NoSoft, d); !m.Impossible || m.By != ByWire || !math.IsNaN(m.Reach) {
		t.Errorf("%+v", m)
	}
}

// The reach, and the depth, that Miss advises do close in the middle, for every mounting, seal or not.
func TestMissAdvice(t *testing.T) {
	const seed = 14
	rng := rand.New(rand.NewPCG(seed, seed))
	for range 100 {
		p := testPair(mounts[rng.IntN(3)])
		p.Shims = rng.IntN(3)
		soft := NoSoft
		if rng.IntN(2) == 0 {
			soft = SoftRate(100 + 500*rng.Float64())
		}
		T := 2 + 10*rng.Float64()
		m := p.Miss(T, soft, testDemand)
		r := p.Close(T, soft, testDemand)
		if (m.Off == 0) != r.ClosesWell() || (m.Off < 0) != (r.Delta < r.DeltaLo) {
			t.Fatalf("seed %d: T %v: off %v with δ %v in %v to %v", seed, T, m.Off, r.Delta, r.DeltaLo, r.DeltaHi)
		}
		longer, deeper := *p.Stud, *p.Receptacle
		longer.Reach.Nom, deeper.Depth.Nom = m.Reach, m.Depth
		q := p
		q.Stud = &longer
		about3(t, "δ with the reach advised", q.Close(T, soft, testDemand).Delta, (r.DeltaLo+r.DeltaHi)/2, 1e-9)
		q = p
		q.Receptacle = &deeper
		about3(t, "δ with the depth advised", q.Close(T, soft, testDemand).Delta, (r.DeltaLo+r.DeltaHi)/2, 1e-9)
	}
}

// A supplier's bands go before the formula, and shims move them by their thickness in the direction of the mounting.
func TestBandsOverride(t *testing.T) {
	for _, m := range mounts {
		p := testPair(m)
		p.Bands = []stock.Band{{From: 6, To: 7}, {Shims: 2, From: 1, To: 2}, {Plate: "another plate", From: 20, To: 21}}
		stack := spread.Sum{spread.RectangularAbout(6, 0.5)}
		r, o := p.Close(6, NoSoft, testDemand), p.Chance(stack, NoSoft, testDemand)
		if r.StackLo != 6 || r.StackHi != 7 || r.LoBy != ByBand || r.HiBy != ByBand {
			t.Errorf("%s: %+v", m, r)
		}
		about3(t, "well", o.Well, 0.5, 1e-9)
		about3(t, "loose", o.Loose, 0.5, 1e-9)
		p.Shims = 1 // not stated: the band without shims, moved
		move := -0.5 * float64(ShimEffect(m))
		if r := p.Close(6, NoSoft, testDemand); !near(r.StackLo, 6+move) || !near(r.StackHi, 7+move) {
			t.Errorf("%s: one shim: %v to %v", m, r.StackLo, r.StackHi)
		}
		p.Shims = 2 // stated
		if r := p.Close(6, NoSoft, testDemand); r.StackLo != 1 || r.StackHi != 2 {
			t.Errorf("%s: two shims: %v to %v", m, r.StackLo, r.StackHi)
		}
		p.Shims, p.Plate = 0, &stock.Plate{ID: "another plate"}
		if r := p.Close(6, NoSoft, testDemand); r.StackLo != 20 {
			t.Errorf("%s: a band that names the plate goes first: %v", m, r.StackLo)
		}
	}
}

// Bands alone, without reach, depth and rate: the chance is known, forces are not.
func TestBandsAlone(t *testing.T) {
	p := testPair(stock.Behind)
	p.Stud = &stock.Stud{ID: "sample stud"}
	p.Receptacle = &stock.Receptacle{ID: "sample receptacle", Mount: stock.Behind}
	if p.Usable() {
		t.Error("usable with nothing stated")
	}
	p.Bands = []stock.Band{{From: 6, To: 7}}
	o := p.Chance(spread.Sum{spread.RectangularAbout(6.5, 1)}, NoSoft, testDemand)
	about3(t, "well", o.Well, 0.5, 1e-9)
	r := p.Close(7.5, NoSoft, testDemand)
	for name, v := range map[string]float64{"δ": r.Delta, "preload": r.Preload, "torque": r.TurnTorque, "z": r.Z, "reach": r.R} {
		if !math.IsNaN(v) {
			t.Errorf("%s is %v, and nothing states it", name, v)
		}
	}
	if m := p.Miss(7.5, NoSoft, testDemand); !near(m.Off, 0.5) || m.By != ByBand || !math.IsNaN(m.Reach) {
		t.Errorf("%+v", m)
	}
}

func BenchmarkChanceRange(b *testing.B) {
	r := stock.SampleRange()
	stack := spread.Sum{spread.RectangularAbout(4, 0.3), spread.RectangularAbout(1.5, 0.1), spread.RectangularAbout(0.8, 0.2)}
	n := 0
	for b.Loop() {
		n = 0
		for i := range r.Studs {
			for k := range r.Receptacles {
				for s := range 3 {
					p := Pair{Stud: &r.Studs[i], Receptacle: &r.Receptacles[k], Shim: &r.Shims[0], Shims: s}
					p.Chance(stack, NoSoft, testDemand)
					n++
				}
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/pair")
}

// Of several bands, or listed thicknesses, that are stated without shims, shims choose the one that is nearest once moved: behind
// the panel a shim of 0.5 mm makes the part that is listed for 5.5 serve 5.0.
func TestShimsMoveListedThicknesses(t *testing.T) {
	for m, want := range map[stock.Mount]float64{
		stock.Behind:          5.0,  // they serve 3.5, 4.25, 5.0
		stock.FrontBesideSeat: 5.25, // they serve 4.5, 5.25, 6.0
		stock.FrontUnderPanel: 4.75, // as listed
	} {
		p := testPair(m)
		p.Shims = 1
		p.Bands = []stock.Band{{Single: 4.0}, {Single: 4.75}, {Single: 5.5}}
		if r := p.Close(4.9, NoSoft, testDemand); !r.Single || !near(r.StackLo, want) {
			t.Errorf("%s: nearest %v, want %v", m, r.StackLo, want)
		}
	}
	p := testPair(stock.Behind)
	p.Shims = 1
	p.Bands = []stock.Band{{From: 4, To: 4.4}, {From: 5, To: 5.4}} // serve 3.5 to 3.9 and 4.5 to 4.9
	if r := p.Close(4.35, NoSoft, testDemand); !near(r.StackLo, 4.5) || !near(r.StackHi, 4.9) {
		t.Errorf("nearest band %v to %v, want 4.5 to 4.9", r.StackLo, r.StackHi)
	}
}
