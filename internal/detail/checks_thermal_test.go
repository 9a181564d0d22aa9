package detail

import (
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

// What the thermal check proposes cures it when it is done.
func TestThermalCuresCure(t *testing.T) {
	hot := func() *job.Job {
		j := worked.Job()
		j.Conditions.TempMax.Value = 120 // glass fibre on aluminium, 100 K: about 0.18 mm at the corners
		j.Range.Receptacles[0].WireFloat = 1.2
		return j
	}
	check := func(j *job.Job) setout.Check {
		return checkNamed(t, settled(j).Panels[0].Stations[0].Checks, "thermal-growth")
	}
	if k := check(hot()); k.Verdict != setout.Holds {
		t.Fatalf("without a frame that grows otherwise it must hold: %+v", k)
	}
	unlike := func(grow float64) *job.Job {
		j := hot()
		m := *j.Panels[0].Inner.Material
		m.CTE = j.Panels[0].Outer.Material.CTE + grow/100/435.0 // mm over 100 K and about 435 mm
		j.Panels[0].Inner.Material = &m
		return j
	}
	for _, c := range []struct {
		name, says string
		grow       float64
		set        func(j *job.Job)
		cure       func(j *job.Job)
	}{
		{"a drill", "`drills`", 0.27, func(j *job.Job) {}, func(j *job.Job) {
			j.Drills = append([]stock.Drill{}, spareDrills(t, "3.3 mm", "8.7 mm", "9.5 mm")...)
		}},
		{"the job's limit", "`locating excess`", 0.3, func(j *job.Job) { j.Conditions.LocateExcessMax.Value = 0.45 }, func(j *job.Job) {
			j.Conditions.LocateExcessMax.Value = 0.7
			j.Drills = spareDrills(t, "3.3 mm", "8.7 mm", "9.5 mm")
		}},
		{"the job's fit", "`hole fit`", 0.5, func(j *job.Job) { j.Range.Receptacles[0].CentreHole.Tol = 0 }, func(j *job.Job) {
			j.Conditions.HoleFit.Value = 0.8
			j.Drills = spareDrills(t, "3.3 mm", "9.1 mm", "9.5 mm")
		}},
		{"the part's hole", "another receptacle", 0.5, func(j *job.Job) {}, func(j *job.Job) { j.Range.Receptacles[0].CentreHole = stock.Toleranced{Nom: 9.1, Tol: 0.2} }},
		{"the wire", "another receptacle", 0.8, func(j *job.Job) {}, nil},
	} {
		j := unlike(c.grow)
		c.set(j)
		k := check(j)
		if k.Verdict != setout.DoesNotHold || !strings.Contains(k.Cure, c.says) || !strings.Contains(k.Cure, "farther than") {
			t.Errorf("%s: %s at %.3f of %.3f, %q", c.name, k.Verdict, k.Value, k.Limit, k.Cure)
		}
		if c.cure == nil {
			continue
		}
		c.cure(j)
		if k := check(j); k.Verdict != setout.Holds {
			t.Errorf("%s, cured: %s at %.3f of %.3f; %s", c.name, k.Verdict, k.Value, k.Limit, k.Cure)
		}
	}
}

func spareDrills(t *testing.T, names ...string) (out []stock.Drill) {
	t.Helper()
	for _, n := range names {
		d, ok := stock.DrillNamed(n)
		if !ok {
			t.Fatalf("no drill %s", n)
		}
		out = append(out, d)
	}
	return out
}
