package detail

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/worked"
)

// The whole load by hand: 1 kPa on 0.4 m² is 400 N; eight stations of rating 250 N over 1.5 hold 1333.3 N, and of preload
// k·δ = 40 N/mm × 2.1 mm, 672 N.
func TestWholeLoadByHand(t *testing.T) {
	for _, c := range []struct {
		pressure         float64 // MPa
		rating, preload  setout.Verdict
		lacksPre, lacksR string
	}{
		{1e-3, setout.Holds, setout.Holds, "", ""},
		{2e-3, setout.Holds, setout.DoesNotHold, "lack 128 N", ""},
		{4e-3, setout.DoesNotHold, setout.DoesNotHold, "lack 928 N", "lack 267 N"},
	} {
		j := worked.Job()
		j.Panels[0].Loads = job.Loads{HasPressure: true, Pressure: c.pressure}
		checks := settled(j).Panels[0].Checks
		r, p := checkNamed(t, checks, "whole-load-rating"), checkNamed(t, checks, "whole-load-preload")
		near(t, "load", r.Value, c.pressure*400_000, 1e-6)
		near(t, "ratings", r.Limit, 8*250/1.5, 1e-6)
		near(t, "preloads", p.Limit, 8*40*2.1, 1e-6)
		if r.Verdict != c.rating || p.Verdict != c.preload || !strings.Contains(p.Cure, c.lacksPre) || !strings.Contains(r.Cure, c.lacksR) {
			t.Errorf("%v MPa: ratings %s (%s), preloads %s (%s)", c.pressure, r.Verdict, r.Cure, p.Verdict, p.Cure)
		}
		if !strings.Contains(r.Basis, "necessary") {
			t.Errorf("the basis does not say that it is only necessary: %s", r.Basis)
		}
	}
	j := worked.Job() // without its own mass the load can prove a no, but no yes
	m := *j.Panels[0].Outer.Material
	m.Rho = 0
	j.Panels[0].Outer.Material = &m
	if k := checkNamed(t, settled(j).Panels[0].Checks, "whole-load-rating"); k.Verdict != setout.NotKnown {
		t.Errorf("a panel of unknown mass: %s", k.Verdict)
	}
	j.Panels[0].Loads = job.Loads{HasPressure: true, Pressure: 1}
	if k := checkNamed(t, settled(j).Panels[0].Checks, "whole-load-rating"); k.Verdict != setout.DoesNotHold {
		t.Errorf("too much even without the mass: %s", k.Verdict)
	}
}

// The middle of an 800 × 500 panel within given stations.
func TestBalance(t *testing.T) {
	for _, c := range []struct {
		name  string
		at    []plane.Point
		value float64
		want  setout.Verdict
		cure  string
	}{
		{"all round", worked.Places, 220, setout.Holds, ""},
		{"a triangle about the middle", []plane.Point{{X: 30, Y: 30}, {X: 770, Y: 30}, {X: 400, Y: 470}}, 370 * 220 / math.Hypot(370, 440), setout.Holds, ""},
		{"one edge", worked.Places[:3], -220, setout.DoesNotHold, "edge top"},
		{"two in a corner's line", []plane.Point{{X: 30, Y: 30}, {X: 770, Y: 470}}, 0, setout.DoesNotHold, "line"},
		{"across the middle", []plane.Point{{X: 30, Y: 250}, {X: 400, Y: 250}, {X: 770, Y: 250.5}}, 0, setout.DoesNotHold, "edge bottom"},
		{"one station", []plane.Point{{X: 400, Y: 470}}, -220, setout.DoesNotHold, "edge bottom"},
	} {
		j := worked.Job()
		j.Panels[0].Stations.Given = nil
		for _, q := range c.at {
			j.Panels[0].Stations.Given = append(j.Panels[0].Stations.Given, job.GivenStation{At: q})
		}
		k := checkNamed(t, settled(j).Panels[0].Checks, "balance")
		if math.Abs(k.Value-c.value) > 0.3 || k.Verdict != c.want || !strings.Contains(k.Cure+k.Basis, c.cure) {
			t.Errorf("%s: %.4f, %s; %s", c.name, k.Value, k.Verdict, k.Cure)
		}
	}
}

// A heavy lamp in the corner moves the load's middle past the stations, but only as far as its share.
func TestBalanceWithAMass(t *testing.T) {
	j := worked.Job()
	j.Conditions.AccelVertical = job.Setting{Value: 10_000}
	pan := j.Panels[0]
	own := pan.Outer.Material.Rho * pan.Outer.Thickness.Nom * 400_000
	pan.Loads.Masses = []job.LumpedMass{{Name: "lamp", Mass: own, At: plane.Point{X: 400, Y: 0}}} // as heavy as the panel
	k := checkNamed(t, settled(j).Panels[0].Checks, "balance")
	near(t, "middle at y 125, stations from 30", k.Value, 95, 1e-6)
	pan.Loads.Masses[0].Mass = 20 * own
	if k := checkNamed(t, settled(j).Panels[0].Checks, "balance"); k.Verdict != setout.DoesNotHold || !strings.Contains(k.Cure, "edge bottom") {
		t.Errorf("a mass beyond the stations: %+v", k)
	}
}

func TestUnsupportedEdges(t *testing.T) {
	j := worked.Job()
	for _, k := range settled(j).Panels[0].Checks {
		if k.ID == "unsupported-edges" {
			t.Errorf("every edge has its flange: %+v", k)
		}
	}
	j.Panels[0].Supports[0].Edges = []string{"bottom", "top"}
	if k := checkNamed(t, settled(j).Panels[0].Checks, "unsupported-edges"); k.Verdict != setout.NotKnown || !strings.Contains(k.Basis, "right, left") {
		t.Errorf("%+v", k)
	}
}
