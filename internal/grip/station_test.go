package grip

import (
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// near compares within rounding of sums of a few lengths.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(1, math.Abs(b)) }

func about3(t *testing.T, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s = %.12g, want %.12g ± %.3g", what, got, want, abs)
	}
}

// testPair is a plain pair with round figures; mount may be changed.
func testPair(m stock.Mount) Pair {
	return Pair{
		Stud: &stock.Stud{ID: "sample stud", Drive: "hand", Reach: stock.Toleranced{Nom: 10, Tol: 0.1}, CamRadius: 4, CamLift: 2, Crest: 0.4,
			SeatRadius: 6, Rating: 900},
		Plate: &stock.Plate{ID: "sample plate", Face: stock.PlateOutside},
		Receptacle: &stock.Receptacle{ID: "sample receptacle", Mount: m, Depth: stock.Toleranced{Nom: 5, Tol: 0.1}, Rate: stock.Toleranced{Nom: 80, Tol: 5},
			DeflectionMax: 3, Rating: 800},
		Shim: &stock.Shim{Thickness: stock.Toleranced{Nom: 0.5, Tol: 0.02}},
	}
}

var testDemand = Demand{PreloadMin: 60, Ageing: 0.2, RatingFactor: 1.5, HandTorque: 1500, ToolTorque: 3000, Friction: 0.15}

var mounts = []stock.Mount{stock.Behind, stock.FrontBesideSeat, stock.FrontUnderPanel}

// The free wire by the mounting, on round numbers: T 6, h 5, s 0.5.
func TestFreeWire(t *testing.T) {
	for m, want := range map[stock.Mount]float64{stock.Behind: 11.5, stock.FrontBesideSeat: 10.5, stock.FrontUnderPanel: 11} {
		if z := FreeWire(m, 6, 5, 0.5); !near(z, want) {
			t.Errorf("%s: z = %v, want %v", m, z, want)
		}
	}
	if d := Deflection(11.5, 10); d != 1.5 {
		t.Errorf("δ = %v", d)
	}
}

func TestShimTightensBehindTheInnerPanel(t *testing.T) { shimMoves(t, stock.Behind, 1) }

func TestShimLoosensInFrontBesideTheSeat(t *testing.T) { shimMoves(t, stock.FrontBesideSeat, -1) }

func TestShimDoesNothingWhereThePanelRestsOnIt(t *testing.T) { shimMoves(t, stock.FrontUnderPanel, 0) }

// shimMoves closes a station without and with one shim of 0.5 mm.
func shimMoves(t *testing.T, m stock.Mount, sign int) {
	t.Helper()
	if got := ShimEffect(m); got != sign {
		t.Errorf("ShimEffect(%s) = %d, want %d", m, got, sign)
	}
	p := testPair(m)
	before := p.Close(7, NoSoft, testDemand)
	p.Shims = 1
	after := p.Close(7, NoSoft, testDemand)
	if want := before.Delta + 0.5*float64(sign); !near(after.Delta, want) {
		t.Errorf("%s: δ from %v to %v with a shim, want %v", m, before.Delta, after.Delta, want)
	}
	// What it serves moves the other way.
	if want := before.StackLo - 0.5*float64(sign); !near(after.StackLo, want) {
		t.Errorf("%s: least stack from %v to %v with a shim, want %v", m, before.StackLo, after.StackLo, want)
	}
	stack := spread.Sum{spread.RectangularAbout(before.StackHi-0.1, 0.3)} // near the tight end
	p.Shims = 0
	few := p.Chance(stack, NoSoft, testDemand)
	p.Shims = 1
	more := p.Chance(stack, NoSoft, testDemand)
	switch {
	case sign > 0 && !(more.Tight > few.Tight), sign < 0 && !(more.Tight < few.Tight), sign == 0 && more != few:
		t.Errorf("%s: odds %+v without, %+v with a shim", m, few, more)
	}
}

func TestCountsOuter(t *testing.T) {
	for f, want := range map[stock.Face]bool{stock.PlateOutside: true, stock.PlateNone: true, stock.PlateBehind: false} {
		if CountsOuter(f) != want {
			t.Errorf("%s: %v", f, !want)
		}
	}
}

// Whatever deepens the free wire or shortens the reach makes it tighter (docs/theory.md), for each mounting, at random.
func TestTighterAndLooser(t *testing.T) {
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, seed))
	for range 200 {
		p := testPair(mounts[rng.IntN(3)])
		T, soft := 5+4*rng.Float64(), NoSoft
		if rng.IntN(2) == 0 {
			soft = SoftRate(50 + 500*rng.Float64())
		}
		base := p.Close(T, soft, testDemand)
		step := 0.01 + rng.Float64()
		if thicker := p.Close(T+step, soft, testDemand); !(thicker.Delta > base.Delta) {
			t.Fatalf("seed %d: a stack of %v more: δ %v to %v", seed, step, base.Delta, thicker.Delta)
		}
		q := testPair(p.Receptacle.Mount)
		q.Stud.Reach.Nom += step
		if longer := q.Close(T, soft, testDemand); !(longer.Delta < base.Delta) {
			t.Fatalf("seed %d: a stud %v longer: δ %v to %v", seed, step, base.Delta, longer.Delta)
		}
		q = testPair(p.Receptacle.Mount)
		q.Receptacle.Depth.Nom += step
		if deeper := q.Close(T, soft, testDemand); !(deeper.Delta > base.Delta) {
			t.Fatalf("seed %d: a receptacle %v deeper: δ %v to %v", seed, step, base.Delta, deeper.Delta)
		}
	}
}

// Two springs in series, closed form: k 80, k_s 240, δ₀ 2: the wire keeps 2·240/320 = 1.5, the seal yields 0.5, and each feels
// 120 N. COMPUTED by hand.
func TestSqueezeInSeries(t *testing.T) {
	delta, x := SoftRate(240).Squeeze(2, 80)
	if !near(delta, 1.5) || !near(x, 0.5) || !near(80*delta, 240*x) {
		t.Errorf("δ %v, squeeze %v", delta, x)
	}
	if d, x := NoSoft.Squeeze(2, 80); d != 2 || x != 0 {
		t.Errorf("no soft layer: δ %v, squeeze %v", d, x)
	}
	if d, x := SoftRate(240).Squeeze(-1, 80); d != -1 || x != 0 {
		t.Errorf("wire not reached: δ %v, squeeze %v: nothing pulls, so nothing yields", d, x)
	}
	const seed = 12
	rng := rand.New(rand.NewPCG(seed, seed))
	for range 100 {
		k, ks, free := 1+200*rng.Float64(), 1+2000*rng.Float64(), 5*rng.Float64()
		delta, x := SoftRate(ks).Squeeze(free, k)
		if !near(k*delta, ks*x) || !near(delta+x, free) {
			t.Fatalf("seed %d: k %v, k_s %v, δ₀ %v: δ %v, squeeze %v", seed, k, ks, free, delta, x)
		}
	}
}

// The band in stacks and the band in deflections are one: at StackLo and StackHi δ stands at its ends, seal or not.
func TestStackEndsAreDeflectionEnds(t *testing.T) {
	for _, m := range mounts {
		for _, soft := range []Soft{NoSoft, SoftRate(300)} {
			p := testPair(m)
			r := p.Close(7, soft, testDemand)
			about3(t, "δ at StackLo", p.Close(r.StackLo, soft, testDemand).Delta, r.DeltaLo, 1e-12)
			about3(t, "δ at StackHi", p.Close(r.StackHi, soft, testDemand).Delta, r.DeltaHi, 1e-12)
			if soft != NoSoft {
				plain := p.Close(7, NoSoft, testDemand)
				if !(r.StackHi-r.StackLo > plain.StackHi-plain.StackLo) {
					t.Errorf("%s: a soft layer must widen the stacks served", m)
				}
			}
		}
	}
}

// The whole of one station by hand: T 7, h 5, R 10: z 12, δ 2, F₀ 160 N at 80 N/mm; with a crest of 0.4 mm the cam pulls 192 N.
func TestCloseByHand(t *testing.T) {
	r := testPair(stock.Behind).Close(7, NoSoft, testDemand)
	if !near(r.Z, 12) || !near(r.Delta, 2) || !near(r.Preload, 160) {
		t.Errorf("z %v, δ %v, F₀ %v", r.Z, r.Delta, r.Preload)
	}
	if !near(r.DeltaLo, 60.0/75+0.2) || r.LoBy != ByPreload || !near(r.DeltaHi, 2.6) || r.HiBy != ByWire {
		t.Errorf("band %v (%s) to %v (%s)", r.DeltaLo, r.LoBy, r.DeltaHi, r.HiBy)
	}
	lambda, phi := math.Atan(2/(4*math.Pi/2)), math.Atan(0.15)
	if want := 192 * (4*math.Tan(lambda+phi) + 0.15*6); !near(r.TurnTorque, want) {
		t.Errorf("M = %v, want %v", r.TurnTorque, want)
	}
	if !r.CamRunsBack || !r.ClosesWell() {
		t.Errorf("runs back %v, closes well %v", r.CamRunsBack, r.ClosesWell())
	}
}
