package detail

import (
	"math"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

// D = 1/8 in: edge 6.35 mm, countersunk 7.94 mm, pitch 9.5 mm (TM 10-5410-229-13&P p. 5-4; AC 43.13-1B 4-57; NAVEDTRA 14018).
func TestRivetRules(t *testing.T) {
	near(t, "edge, dome", RivetEdgeDistance(3.175, false), 6.35, 1e-9)
	near(t, "edge, countersunk", RivetEdgeDistance(3.175, true), 7.94, 0.005)
	near(t, "pitch", RivetPitch(3.175), 9.5, 0.03)
}

// 1 m of aluminium (23.4e-6) on steel (12e-6) over 40 K: 0.456 mm; glass fibre (27e-6) on steel: 0.600 mm. Computed.
func TestThermalGrowth(t *testing.T) {
	near(t, "aluminium on steel", thermalGrowth(23.4e-6-12e-6, 1000, 40), 0.456, 1e-9)
	near(t, "glass fibre on steel", thermalGrowth(12e-6-27e-6, 1000, 40), 0.600, 1e-9)
}

// A cam that lifts at 20° with μ 0.15 on 4 mm under 200 N needs 0.43492 N·m; 20° and μ 0.10, 0.38520; 30°, 0.63705. Computed.
func TestTurningTorque(t *testing.T) {
	for _, c := range []struct{ lambda, mu, want float64 }{{20, 0.15, 434.92}, {20, 0.10, 385.20}, {30, 0.15, 637.05}} {
		lift := 4 * math.Pi / 2 * math.Tan(c.lambda*math.Pi/180)
		near(t, "torque", turningTorque(200, 4, lift, c.mu, 0, 0), c.want, 0.01)
	}
	near(t, "head", turningTorque(200, 4, 0, 0, 0.2, 5), 200, 1e-9)
	if !math.IsNaN(turningTorque(200, 0, 1, 0.1, 0, 0)) {
		t.Error("a cam of unknown radius has a torque")
	}
}

// galvanicPanel plans a panel with the given materials outside, inside and of all fasteners.
func galvanicCheck(t *testing.T, index map[string]float64, outer, inner, fasteners string) setout.Check {
	t.Helper()
	j := worked.Job()
	j.Materials = map[string]*stock.Material{}
	for id, v := range index {
		f := stock.Aluminium
		if id == "cfrp" {
			f = stock.CarbonFibre
		}
		j.Materials[id] = &stock.Material{ID: id, Family: f, Galvanic: v, CTE: 1e-5}
	}
	j.Panels[0].Outer.Material, j.Panels[0].Inner.Material = j.Materials[outer], j.Materials[inner]
	j.Range.Plates[0].Material, j.Range.Receptacles[0].Material, j.Range.Rivets[0].Material = fasteners, fasteners, fasteners
	return checkNamed(t, settled(j).Panels[0].Stations[0].Checks, "galvanic")
}

// Differences of the anodic index: 6061 with 18-8 stainless 0.40 V; 6061 with zinc 0.35; 2024 with plain steel 0.10; carbon
// with 6061 0.85: never bare (values from two public tables, the pairs by subtraction). Limit 0.25 V normal.
func TestGalvanicCouples(t *testing.T) {
	index := map[string]float64{"6061": 0.90, "188": 0.50, "zinc": 1.25, "2024": 0.75, "steel": 0.85, "cfrp": 0.05}
	for _, c := range []struct {
		outer, inner, parts, says string
		bare                      bool
	}{
		{"6061", "6061", "188", "0.40 V", false},
		{"6061", "6061", "zinc", "0.35 V", false},
		{"2024", "2024", "steel", "", true},
		{"cfrp", "6061", "6061", "0.85 V", false},
	} {
		k := galvanicCheck(t, index, c.outer, c.inner, c.parts)
		if c.bare {
			near(t, "bare", k.Value, 0.10, 1e-9)
			if k.NoNumber || k.Verdict != setout.Holds {
				t.Errorf("%v: %+v", c, k)
			}
			continue
		}
		if k.Verdict != setout.Holds || !k.NoNumber || k.Cure == "" || !strings.Contains(k.Basis, "bare it does not hold") || !strings.Contains(k.Basis, c.says) {
			t.Errorf("%v: it must hold only with the named layer, and say so: %+v", c, k)
		}
	}
	if k := galvanicCheck(t, map[string]float64{"6061": 0.9, "odd": -1}, "6061", "6061", "odd"); k.Verdict != setout.NotKnown || !strings.Contains(k.Cure, "odd") {
		t.Errorf("a metal without index: %+v", k)
	}
}

// Each spoils one thing of a job; the named check must fail, or become not known, and say what would cure it.
func TestChecksFindTheFault(t *testing.T) {
	for _, c := range []struct {
		name, id string
		want     setout.Verdict
		set      func(j *job.Job)
	}{
		{"too loose", "closes", setout.DoesNotHold, func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 10.2 }},
		{"too loose", "preload", setout.DoesNotHold, func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 10.2 }},
		{"too tight", "wire-deflection", setout.DoesNotHold, func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 7 }},
		{"too tight", "wire-force-locked", setout.DoesNotHold, func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 6.5 }},
		{"too tight", "wire-force-loaded", setout.DoesNotHold, func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 6.5 }},
		{"weak hand", "turning-torque", setout.DoesNotHold, func(j *job.Job) { j.Conditions.HandTorque.Value = 200 }},
		{"no cam radius", "turning-torque", setout.NotKnown, func(j *job.Job) { j.Range.Studs[0].CamRadius = 0 }},
		{"no reach", "preload", setout.NotKnown, func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 0 }},
		{"a seal", "seal-push", setout.NotKnown, func(j *job.Job) { j.Panels[0].Supports[0].Seal = &job.SealStrip{PushPerLength: 1} }},
		{"laminate", "pull-through-locked", setout.NotKnown, func(j *job.Job) {}},
		{"foil", "pull-through-locked", setout.DoesNotHold, func(j *job.Job) {
			j.Panels[0].Outer.Material, j.Panels[0].Outer.Thickness.Nom = j.Materials["al6061t6"], 0.02
			j.Range.Studs[0].Reach.Nom = 6
		}},
		{"small feet", "bearing-receptacle", setout.DoesNotHold, func(j *job.Job) { j.Range.Receptacles[0].FootArea = 1 }},
		{"laminate flange", "bearing-receptacle", setout.NotKnown, func(j *job.Job) { j.Panels[0].Inner.Material = j.Materials["grp_csm30"] }},
		{"weak rivets", "receptacle-rivets-shear", setout.DoesNotHold, func(j *job.Job) { j.Range.Rivets[0].Shear = 10 }},
		{"weak rivets", "push-out", setout.DoesNotHold, func(j *job.Job) { j.Range.Rivets[0].Tension = 10 }},
		{"hanging plate, weak rivets", "plate-rivets-tension-locked", setout.DoesNotHold, func(j *job.Job) {
			j.Range.Plates[0].Face, j.Range.Rivets[0].Tension, j.Range.Studs[0].Reach.Nom = stock.PlateBehind, 10, 6
		}},
		{"welded", "receptacle-welds", setout.NotKnown, func(j *job.Job) { j.Range.Receptacles[0].Fixing = stock.Welded }},
		{"narrow flange", "receptacle-rivet-edge", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Supports[0].Width = 34 }},
		{"width not known", "receptacle-rivet-edge", setout.NotKnown, func(j *job.Job) { j.Panels[0].Supports[0].Width = 0 }},
		{"near the edge", "plate-rivet-edge", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Stations.Given[0].At.Y = 20 }},
		{"near the edge", "edge-distance", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Stations.Given[0].At.X = 6 }},
		{"near the edge", "parts-on-panel", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Stations.Given[0].At.X = 6 }},
		{"a keep-out", "keep-out", setout.DoesNotHold, func(j *job.Job) {
			j.Panels[0].KeepOuts = []job.KeepOut{{Name: "wires", Region: plane.CircleAt(plane.Point{X: 30, Y: 70}, 30)}}
		}},
		{"stations on each other", "plate-rivet-pitch", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Stations.Given[7].At = plane.Point{X: 30, Y: 64} }},
		{"holes run together", "plate-ligament", setout.DoesNotHold, func(j *job.Job) { j.Range.Plates[0].CentreHole.Nom = 26 }},
		{"another angle", "plate-countersink-angle", setout.DoesNotHold, func(j *job.Job) { j.Range.Plates[0].CountersinkDeg = 100 }},
		{"no seats", "plate-countersink-angle", setout.DoesNotHold, func(j *job.Job) { j.Range.Plates[0].CountersinkDeg = 0 }},
		{"thin flange", "receptacle-countersink-depth", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Inner.Thickness.Nom = 1.2 }},
		{"short rivet", "plate-rivet-grip", setout.DoesNotHold, func(j *job.Job) { j.Range.Rivets[0].GripMax = 3 }},
		{"long rivet", "receptacle-rivet-grip", setout.DoesNotHold, func(j *job.Job) { j.Range.Rivets[0].GripMin = 4 }},
		{"a tail with no place", "plate-rivet-tail", setout.DoesNotHold, func(j *job.Job) {
			j.Panels[0].Outer.Thickness.Nom, j.Range.Rivets[0].TailDiameter = 1, 6
		}},
		{"a tail in laminate", "plate-rivet-tail", setout.NotKnown, func(j *job.Job) {}},
		{"no drills", "drills", setout.DoesNotHold, func(j *job.Job) { j.Drills = nil }},
		{"fat sleeve", "outer-hole", setout.DoesNotHold, func(j *job.Job) { j.Range.Plates[0].SleeveDiameter = 9.6 }},
		{"fat stud", "stud-through", setout.DoesNotHold, func(j *job.Job) { j.Range.Studs[0].Shank.Nom = 8.6 }},
		{"no room", "room-behind", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Supports[0].Room = 10 }},
		{"room not given", "room-behind", setout.NotKnown, func(j *job.Job) { j.Panels[0].Supports[0].Room = 0 }},
		{"upstand", "room-beside", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Supports[0].Upstand = 7 }},
		{"plate pinched", "plate-room", setout.DoesNotHold, func(j *job.Job) { j.Range.Plates[0].Face = stock.PlateBehind }},
		{"foot pinched", "foot-room", setout.DoesNotHold, func(j *job.Job) { j.Range.Receptacles[0].Mount = stock.FrontBesideSeat }},
		{"off the rib's end", "receptacle-rivet-edge", setout.DoesNotHold, func(j *job.Job) {
			sup := j.Panels[0].Supports[0]
			sup.Kind, sup.Edges, sup.Width, sup.Line = "rib", nil, 60, plane.Open(plane.Point{X: 30, Y: 20}, plane.Point{X: 30, Y: 400})
		}},
		{"on the rib", "receptacle-rivet-edge", setout.Holds, func(j *job.Job) {
			sup := j.Panels[0].Supports[0]
			sup.Kind, sup.Edges, sup.Width, sup.Line = "rib", nil, 60, plane.Open(plane.Point{X: 30, Y: 8}, plane.Point{X: 30, Y: 400})
		}},
		{"hot", "thermal-growth", setout.DoesNotHold, func(j *job.Job) { j.Conditions.TempMax.Value = 200 }},
		{"expansion not given", "thermal-growth", setout.NotKnown, func(j *job.Job) { m := *j.Panels[0].Outer.Material; m.CTE = 0; j.Panels[0].Outer.Material = &m }},
	} {
		j := worked.Job()
		c.set(j)
		st := settled(j).Panels[0].Stations[0]
		k := checkNamed(t, st.Checks, c.id)
		if k.Verdict != c.want {
			t.Errorf("%s: %s is %q: %+v", c.name, c.id, k.Verdict, k)
		}
		if k.Verdict != setout.Holds && k.Cure == "" {
			t.Errorf("%s: %s says nothing of what would cure it", c.name, c.id)
		}
	}
}

func TestPanelChecksFindTheFault(t *testing.T) {
	for _, c := range []struct {
		name, id string
		want     setout.Verdict
		set      func(j *job.Job)
	}{
		{"too near", "pitch-min", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Limits.PitchMin.Value = 300 }},
		{"too far", "pitch-max", setout.DoesNotHold, func(j *job.Job) { j.Panels[0].Limits.PitchMax.Value = 300 }},
		{"paper", "drop-on", setout.DoesNotHold, func(j *job.Job) { j.Conditions.Marking = "template" }},
		{"play not stated", "drop-on", setout.NotKnown, func(j *job.Job) {
			r := &j.Range.Receptacles[0]
			r.CentreHole.Nom, r.Slot, r.WireFloat = 0, 0, 0
		}},
		{"opens forwards", "second-retention", setout.NotKnown, func(j *job.Job) { j.Panels[0].OpensForward = true }},
		{"no model", "seam-gap", setout.NotKnown, func(j *job.Job) {}},
		{"no model", "one-missing", setout.NotKnown, func(j *job.Job) {}},
		{"no model", "natural-frequency", setout.NotKnown, func(j *job.Job) {}},
	} {
		j := worked.Job()
		c.set(j)
		k := checkNamed(t, settled(j).Panels[0].Checks, c.id)
		if k.Verdict != c.want || k.Cure == "" && k.Verdict != setout.Holds {
			t.Errorf("%s: %s is %q: %+v", c.name, c.id, k.Verdict, k)
		}
	}
}

// Whatever the plan: no verdict that rests on the load's estimate is holds; margins have the sign of the verdict; every
// check that does not hold or is not known says what would help; ids are stable in form.
func TestChecksKeepTheirWord(t *testing.T) {
	for _, v := range worked.Variants {
		j := worked.Job()
		v.Set(j)
		p := settled(j)
		setout.Finish(p) // panics when a check rests on what is no assumption
		if !slices.ContainsFunc(p.Assumptions, func(a setout.Assumption) bool { return a.ID == setout.RestsDropOn }) {
			t.Errorf("%s: the drop-on's assumption is not listed", v.Name)
		}
		all := slices.Clone(p.Panels[0].Checks)
		for _, st := range p.Panels[0].Stations {
			all = append(all, st.Checks...)
		}
		for _, k := range all {
			if k.Verdict == setout.Holds && slices.Contains(k.Rests, setout.RestsTributaryArea) {
				t.Errorf("%s: %s holds on an estimate", v.Name, k.ID)
			}
			if k.Verdict != setout.Holds && k.Cure == "" {
				t.Errorf("%s: %s is %s and says nothing of a cure", v.Name, k.ID, k.Verdict)
			}
			if k.ID != strings.ToLower(k.ID) || strings.Contains(k.ID, " ") || k.Name == "" || k.Basis == "" {
				t.Errorf("%s: %q, %q, %q", v.Name, k.ID, k.Name, k.Basis)
			}
			if !k.NoNumber && k.Verdict == setout.DoesNotHold && k.Margin > 1e-9 || !k.NoNumber && k.Verdict == setout.Holds && k.Margin < -1e-9 {
				t.Errorf("%s: %s %s with a margin of %g", v.Name, k.ID, k.Verdict, k.Margin)
			}
		}
	}
}

// The rule of tails: which treatment each situation gets, and that nothing stands proud on a meeting face.
func TestTailTreatments(t *testing.T) {
	far := []stock.Hole{{At: plane.Point{X: -26}}, {At: plane.Point{X: 26}}}
	for _, c := range []struct {
		name, part, want string
		set              func(j *job.Job)
	}{
		{"same pattern as the receptacle", "plate", setout.TailSpread, func(j *job.Job) {}},
		{"clear of the receptacle", "plate", setout.TailReliefInner, func(j *job.Job) { j.Range.Plates[0].Rivets = far }},
		{"a thick gasket", "plate", setout.TailReliefBetween, func(j *job.Job) {
			j.Panels[0].Between = []job.Layer{{Name: "gasket", Material: &stock.Material{Family: stock.Seal}, Soft: true, Thickness: job.Thickness{Nom: 5}}}
		}},
		{"air, and laminate", "plate", setout.TailWasher, func(j *job.Job) { j.Panels[0].Between = []job.Layer{{Name: "gap", Thickness: job.Thickness{Nom: 8}}} }},
		{"air, and metal", "plate", setout.TailPlain, func(j *job.Job) {
			j.Panels[0].Between = []job.Layer{{Name: "gap", Thickness: job.Thickness{Nom: 8}}}
			j.Panels[0].Outer.Material = j.Materials["al6061t6"]
		}},
		{"a tail too wide to spread", "plate", setout.TailReversed, func(j *job.Job) { j.Range.Rivets[0].TailDiameter = 7 }},
		{"countersunk head in the flange", "receptacle", setout.TailPlain, func(j *job.Job) {}},
		{"dome head behind a flange", "receptacle", setout.TailSpread, func(j *job.Job) { j.Range.Rivets[0].Head = "dome" }},
		{"laminate bracket", "receptacle", setout.TailWasher, func(j *job.Job) {
			j.Range.Receptacles[0].Mount = stock.FrontBesideSeat
			j.Panels[0].Supports[0].Mount = stock.FrontBesideSeat
			j.Panels[0].Inner.Material = j.Materials["grp_csm30"]
		}},
	} {
		j := worked.Job()
		c.set(j)
		for _, jt := range settled(j).Panels[0].Joins {
			if jt.Part == c.part && jt.Station == "1" && jt.TailTreatment != c.want {
				t.Errorf("%s: %q (%s), want %q", c.name, jt.TailTreatment, jt.Reason, c.want)
			}
		}
	}
}
