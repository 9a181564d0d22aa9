package panelwright

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// bearJob is a panel of 600 × 400 mm on a flange; the parts of the test's table stand in their places.
func bearJob(outline, outer, supports, loads, stations, extra string) string {
	return fmt.Sprintf(`
job:
  name: Lid (sample)
  units: mm
  drills: any size
  materials:
    - { id: sample-jelly, family: plastic, elastic modulus: 2 MPa, poisson ratio: 0.4, density: 1000 kg/m³ }
    - { id: sample-rock, family: steel, elastic modulus: 500 GPa, poisson ratio: 0.1, density: 9000 kg/m³, yield: 900 MPa }
conditions: { top speed: 40 m/s, acceleration: { forward: 0.5 g, sideways: 0.5 g, vertical: 1 g } }
panels:
  - name: Lid
    outline: %s
    outer: %s
    inner: { material: al5754h22, thickness: 2 mm }
    supports: %s
    loads: %s
    stations: %s
%s`, outline, outer, supports, loads, stations, extra)
}

const (
	bearRect   = "{ rectangle: [600, 400], edges: [a, b, c, d] }"
	bearThick  = "{ material: al5754h22, thickness: 4 mm ± 0.1 mm }"
	bearFlange = "[ { name: flange, flange: [a, b, c, d], width: 40 } ]"
	bearAir    = "{ pressure: 400 Pa }"
)

// Each hard panel ends with an answer or with a clear message: never a panic, never a number that is none.
func TestHardPanels(t *testing.T) {
	for _, c := range []struct {
		name, text string
		check      string         // the check looked at
		want       setout.Verdict // its end
		say        string         // that its words hold
	}{
		{"stiff and well held", bearJob(bearRect, bearThick, bearFlange, bearAir, "auto", ""), "seam-gap", setout.Holds, ""},
		{"one missing of many", bearJob(bearRect, "{ material: al5754h22, thickness: 6 mm ± 0.1 mm }", bearFlange, "{ pressure: 100 Pa }", "{ count: 14 }", ""), "one-missing", setout.Holds, ""},
		{"lifts off: stations on one side only", bearJob(bearRect, bearThick, bearFlange, "{ pressure: 2000 Pa }", "{ given: [ { at: [100, 20] }, { at: [300, 20] }, { at: [500, 20] } ] }", ""), "seam-gap", setout.DoesNotHold, "not held"},
		{"turns about a narrow rib", bearJob(bearRect, bearThick, "[ { name: rib one, rib: [ [20, 380], [580, 380] ], width: 30 }, { name: rib two, rib: [ [20, 20], [580, 20] ], width: 4 } ]", "{ pressure: 2000 Pa }", "{ given: [ { at: [100, 20] }, { at: [300, 20] }, { at: [500, 20] } ] }", ""), "one-missing", setout.DoesNotHold, "not held"},
		{"wires drawn beyond their reach", bearJob(bearRect, "{ material: al5754h22, thickness: 12 mm ± 0.1 mm }", bearFlange, "{ pressure: 6000 Pa }", "{ given: [ { at: [20, 20] }, { at: [580, 20] }, { at: [580, 380] }, { at: [20, 380] } ] }", ""), "wire-deflection-loaded", setout.DoesNotHold, "stiffer wire"},
		{"held at two points only", bearJob(bearRect, bearThick, "[ { name: rib, rib: [ [300, 20], [300, 380] ], width: 30 } ]", "{ pressure: 200 Pa }", "{ given: [ { at: [300, 60] }, { at: [300, 340] } ] }", ""), "balance", setout.DoesNotHold, ""},
		{"of two points the second goes too", bearJob(bearRect, bearThick, "[ { name: rib, rib: [ [300, 20], [300, 380] ], width: 30 } ]", "{ pressure: 200 Pa }", "{ given: [ { at: [300, 60] }, { at: [300, 340] } ] }", ""), "one-missing", setout.DoesNotHold, "no station is left"},
		{"edges that nothing carries, stiff", bearJob(bearRect, "{ material: al5754h22, thickness: 12 mm ± 0.1 mm }", "[ { name: flange, flange: [a, c], width: 40 } ]", bearAir, "auto", ""), "unsupported-edges", setout.Holds, "along b, d"},
		{"edges that nothing carries, under much load", bearJob(bearRect, "{ material: al5754h22, thickness: 12 mm ± 0.1 mm }", "[ { name: flange, flange: [a, c], width: 40 } ]", "{ pressure: 9000 Pa }", "{ count: 14 }", ""), "unsupported-edges", setout.DoesNotHold, "along b, d"},
		{"a rib that the panel leaves", bearJob(bearRect, bearThick, "[ { name: flange, flange: [a, b, c, d], width: 40 }, { name: rib, rib: [ [300, 60], [300, 340] ], width: 30 } ]", "{ pressure: 600 Pa }", "{ given: [ { at: [20, 20] }, { at: [300, 20] }, { at: [580, 20] }, { at: [580, 200] }, { at: [580, 380] }, { at: [300, 380] }, { at: [20, 380] }, { at: [20, 200] } ] }", ""), "load-reactions", setout.Holds, ""},
		{"a seal harder than the preload", bearJob(bearRect, "{ material: al5754h22, thickness: 8 mm ± 0.1 mm }", "[ { name: flange, flange: [a, b, c, d], width: 40, seal: { push: 4 N/mm } } ]", "{ pressure: 0 Pa }", "{ count: 8 }", ""), "seal-push", setout.DoesNotHold, "seal"},
		{"a station at a cut-out's edge", bearJob(bearRect, bearThick, bearFlange, bearAir, "{ given: [ { at: [20, 20] }, { at: [580, 20] }, { at: [580, 380] }, { at: [20, 380] }, { at: [300, 20] } ] }", "    cut-outs: [ { name: slot, rectangle: { at: [280, 20.03], size: [40, 60] } } ]\n"), "load-reactions", setout.Holds, ""},
		{"a cut-out that touches the support", bearJob(bearRect, bearThick, bearFlange, bearAir, "auto", "    cut-outs: [ { name: hole, rectangle: { at: [40, 150], size: [80, 80] } } ]\n"), "load-reactions", setout.Holds, ""},
		{"no load", bearJob(bearRect, bearThick, bearFlange, "{ pressure: 0 Pa }", "auto", ""), "seam-gap", setout.Holds, ""},
		{"soft as jelly", bearJob(bearRect, "{ material: sample-jelly, thickness: 4 mm ± 0.1 mm }", bearFlange, bearAir, "auto", ""), "seam-gap", setout.NotKnown, "half its thickness"},
		{"hard as rock", bearJob(bearRect, "{ material: sample-rock, thickness: 20 mm ± 0.1 mm }", bearFlange, bearAir, "auto", ""), "load-reactions", setout.Holds, ""},
		{"a sliver", bearJob("{ rectangle: [1500, 60], edges: [a, b, c, d] }", bearThick, "[ { name: flange, flange: [a, c], width: 30 } ]", bearAir, "auto", ""), "load-reactions", setout.Holds, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			j, faults := job.Read("lid.yaml", []byte(c.text), nil)
			if len(faults) > 0 {
				t.Fatal(faults)
			}
			p, err := Plan(context.Background(), j, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range p.Judge {
				t.Errorf("judge: %s %s", f.Check, f.Text)
			}
			bearNumbers(t, p.Panels[0])
			found := false
			pan := p.Panels[0]
			checks := append([]setout.Check(nil), pan.Checks...)
			for _, st := range pan.Stations {
				checks = append(checks, st.Checks...)
			}
			worst := setout.Check{}
			for _, k := range checks {
				if k.ID == c.check && (!found || k.Verdict == setout.DoesNotHold) {
					found, worst = true, k
				}
			}
			if !found || worst.Verdict != c.want || !strings.Contains(worst.Basis+worst.Cure+pan.Bearing.Why, c.say) {
				t.Errorf("%s: %v %q, cure %q; bearing %v %q, faults %q", c.check, worst.Verdict, worst.Basis, worst.Cure, pan.Bearing.Known, pan.Bearing.Why, pan.Faults)
			}
		})
	}
}

// bearNumbers looks for numbers that are none, and for cases out of balance.
func bearNumbers(t *testing.T, pan *setout.Panel) {
	t.Helper()
	if pan.Bearing == nil {
		t.Fatal("not reckoned")
	}
	bearFinite(t, "bearing", reflect.ValueOf(*pan.Bearing))
	for _, c := range pan.Bearing.Cases {
		if !c.Certified || c.Balance > 1e-9 || c.Moment > 1e-9 {
			t.Errorf("%s: %q, balance %g, moment %g", c.Name, c.CertificateFaults, c.Balance, c.Moment)
		}
	}
}

func bearFinite(t *testing.T, at string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			t.Errorf("%s is %g", at, f)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			bearFinite(t, fmt.Sprintf("%s[%d]", at, i), v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			bearFinite(t, at+"."+v.Type().Field(i).Name, v.Field(i))
		}
	}
}

// Two stations on one spot, and two panels of one name: said by the reader, or borne.
func TestHardNames(t *testing.T) {
	text := bearJob(bearRect, bearThick, bearFlange, bearAir, "{ given: [ { at: [20, 20] }, { at: [20, 20] }, { at: [580, 20] }, { at: [580, 380] }, { at: [20, 380] } ] }", "")
	if _, faults := job.Read("lid.yaml", []byte(text), nil); len(faults) == 0 {
		t.Error("stations on one spot are not told")
	}
	two := bearJob(bearRect, bearThick, bearFlange, bearAir, "auto", "")
	two += two[strings.Index(two, "  - name: Lid"):]
	if _, faults := job.Read("lid.yaml", []byte(two), nil); len(faults) == 0 {
		t.Error("panels of one name are not told")
	}
}

// In every case of every example the loads equal the reactions to 1e-9, no number is none, and the judge agrees.
func TestExamplesBalance(t *testing.T) {
	files, _ := filepath.Glob("examples/*/job.yaml")
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		j, faults := job.Read(file, text, func(name string) ([]byte, error) { return os.ReadFile(filepath.Join(filepath.Dir(file), name)) })
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		p, err := Plan(context.Background(), j, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, pan := range p.Panels {
			if !pan.Bearing.Known {
				t.Errorf("%s %s: %s", file, pan.Job.Name, pan.Bearing.Why)
			}
			bearNumbers(t, pan)
			if pan.Bearing.LeastAngle < 20*math.Pi/180 {
				t.Errorf("%s %s: least angle %.1f°", file, pan.Job.Name, pan.Bearing.LeastAngle*180/math.Pi)
			}
		}
	}
}
