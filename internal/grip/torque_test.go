package grip

import (
	"math"
	"testing"

	"panelwright/internal/stock"
)

const degree = math.Pi / 180

// Cam and screw, square thread: F 200 N, r 4 mm. COMPUTED from T = F·r·tan(φ ± λ), independent of this package; N·m.
func TestTorqueAgainstTable(t *testing.T) {
	for _, c := range []struct{ leadDeg, mu, raise, lower, efficiency float64 }{
		{20, 0.15, 0.43492, -0.16231, 0.6695}, // COMPUTED
		{20, 0.10, 0.38520, -0.20376, 0.7559}, // COMPUTED
		{30, 0.15, 0.63705, -0.31463, 0.7250}, // COMPUTED
	} {
		lead := c.leadDeg * degree
		raise := RaiseTorque(200, 4, lead, c.mu)
		about3(t, "raise, N·m", raise/1000, c.raise, 5e-6)
		about3(t, "lower, N·m", LowerTorque(200, 4, lead, c.mu)/1000, c.lower, 5e-6)
		about3(t, "efficiency", 200*4*math.Tan(lead)/raise, c.efficiency, 5e-5)
		if !RunsBack(lead, c.mu) {
			t.Errorf("λ %v°, μ %v must run back", c.leadDeg, c.mu)
		}
	}
}

// A power screw with square thread and collar, Shigley, Mechanical Engineering Design, ch. 8, example 8-1: d 32, pitch 4, double
// start, mean diameter 30, F 6.4 kN, μ 0.08, collar 40: raise 15.937 + 10.240 N·m, lower −0.466 + 10.240. MEMORY+CHECKED.
func TestTorqueAgainstPowerScrew(t *testing.T) {
	lead := math.Atan(8 / (math.Pi * 30))
	about3(t, "raise, thread, N·m", RaiseTorque(6400, 15, lead, 0.08)/1000, 15.937, 6e-4)
	about3(t, "lower, thread, N·m", LowerTorque(6400, 15, lead, 0.08)/1000, -0.466, 6e-4)
	about3(t, "collar, N·m", 6400*0.08*20/1000, 10.240, 6e-4)
	// The same screw as a stud: a quarter turn lifts a quarter of the lead, the collar is the head on its seat.
	s := &stock.Stud{CamRadius: 15, CamLift: 2, SeatRadius: 20}
	about3(t, "cam's slope", Lead(s.CamLift, s.CamRadius), lead, 1e-15)
	about3(t, "turning torque, N·m", TurnTorque(s, 6400, 1, 0.08)/1000, 26.18, 6e-3)
}

func TestTorqueEnds(t *testing.T) {
	s := &stock.Stud{CamRadius: 4, CamLift: 2, Crest: 0.4, SeatRadius: 6}
	if m := TurnTorque(s, 80, -1, 0.15); m != 0 {
		t.Errorf("a wire that is not reached needs %v", m)
	}
	if m := UnlockTorque(s, 80, -1, 0.15, 0.15); m != 0 {
		t.Errorf("a wire that is not reached holds %v", m)
	}
	if m := TurnTorque(&stock.Stud{Crest: 0.4}, 80, 2, 0.15); !math.IsNaN(m) {
		t.Errorf("no cam stated: %v", m)
	}
	if m := UnlockTorque(&stock.Stud{Crest: 0.4}, 80, 2, 0, 0); !math.IsNaN(m) {
		t.Errorf("no cam stated: %v", m)
	}
	if m := RaiseTorque(1, 1, 80*degree, 0.5); !math.IsInf(m, 1) {
		t.Errorf("past a right angle: %v, want +Inf", m)
	}
	if RunsBack(5*degree, 0.15) {
		t.Errorf("λ 5° with μ 0.15 (φ 8.5°) holds by itself")
	}
}

// Without friction the torque out of the detent does the work of the climb: for any shape of crest the mean torque over an angle
// θ ≤ π/2 is ½k((δ+c)² − δ²)/θ, which the bound may not pass.
func TestUnlockTorqueIsALowerBound(t *testing.T) {
	s := &stock.Stud{CamRadius: 3.2, CamLift: 3.2, Crest: 0.4, SeatRadius: 6}
	const k = 70.0
	for _, delta := range []float64{0, 0.5, 1, 2, 2.8} {
		bound := UnlockTorque(s, k, delta, 0, 0)
		for _, theta := range []float64{math.Pi / 16, math.Pi / 8, math.Pi / 4, math.Pi / 2} {
			mean := k / 2 * (math.Pow(delta+s.Crest, 2) - delta*delta) / theta
			if bound > mean {
				t.Errorf("δ %v, crest over %v rad: bound %v, mean %v", delta, theta, bound, mean)
			}
		}
		if cam := UnlockTorque(s, k, delta, 0.15, 0); cam < bound {
			t.Errorf("friction of the cam lowers the torque: %v to %v", bound, cam)
		}
		about3(t, "friction of the head alone", UnlockTorque(s, k, delta, 0, 0.15)-bound, 0.15*k*delta*6, 1e-9)
	}
}

// At δ_hi each limit is met exactly, with the rate at its greatest.
func TestBandLimitsAreMet(t *testing.T) {
	k := 85.0 // 80 + 5
	for _, c := range []struct {
		by   string
		with func(*Pair, *Demand)
		left func(Pair, Demand, float64) float64
	}{
		{ByWire, func(*Pair, *Demand) {}, func(p Pair, _ Demand, hi float64) float64 { return p.Receptacle.DeflectionMax - p.Stud.Crest - hi }},
		{ByHand, func(_ *Pair, d *Demand) { d.HandTorque = 500 }, func(p Pair, d Demand, hi float64) float64 { return 500 - TurnTorque(p.Stud, k, hi, d.Friction) }},
		{ByTool, func(p *Pair, d *Demand) { p.Stud.Drive = "tool"; d.ToolTorque = 550 }, func(p Pair, d Demand, hi float64) float64 { return 550 - TurnTorque(p.Stud, k, hi, d.Friction) }},
		{ByRating, func(_ *Pair, d *Demand) { d.RatingFactor = 4 }, func(p Pair, _ Demand, hi float64) float64 { return 800.0/4 - k*(hi+p.Stud.Crest) }},
	} {
		p, d := testPair(stock.Behind), testDemand
		c.with(&p, &d)
		lo, hi, loBy, by := Band(p.Stud, p.Receptacle, d)
		if by != c.by || loBy != ByPreload {
			t.Errorf("by %s and %s, want %s", loBy, by, c.by)
		}
		about3(t, c.by, c.left(p, d, hi), 0, 1e-9)
		about3(t, ByPreload, 75*(lo-d.Ageing), d.PreloadMin, 1e-9)
	}
	p := testPair(stock.Behind)
	p.Stud.Rating, p.Receptacle.Rating, p.Receptacle.DeflectionMax, p.Stud.CamRadius = 0, 0, 0, 0
	if _, hi, _, by := Band(p.Stud, p.Receptacle, testDemand); !math.IsInf(hi, 1) || by != ByNothing {
		t.Errorf("nothing stated: %v by %s", hi, by)
	}
}
