package setout

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// wholePlan runs every step of this package in the order that NewPlan states.
func wholePlan(j *job.Job) *Plan {
	p := NewPlan(j)
	for range 6 {
		Place(p)
		Load(p)
		Pick(p)
		if _, again := Again(p); !again {
			break
		}
	}
	Order(p)
	Finish(p)
	return p
}

// wholeJob is a lid of every shape with seal, masses, hazards and a welded rib.
func wholeJob(t testing.TB) *job.Job {
	j := pickJob()
	lid := j.Panels[0]
	j.Panels = nil
	for _, name := range assumeSorted(placeShapes(t)) {
		s := placeShapes(t)[name]
		one := placeJob(s.region, placeByEdges(s.region.Outer)).Panels[0]
		pan := *lid
		pan.ID, pan.Name, pan.Outline, pan.Edges, pan.Supports, pan.KeepOuts = name, name, one.Outline, one.Edges, one.Supports, nil
		pan.Stations, pan.Limits.PitchMax.Value = job.StationsSpec{Mode: "auto"}, 250
		pan.Supports[0].Seal = &job.SealStrip{PushPerLength: 0.1}
		pan.Loads = job.Loads{HasPressure: true, Pressure: 5e-4, Masses: []job.LumpedMass{{Name: "latch", Mass: 5e-4, At: plane.Point{X: 300, Y: 300}}}}
		j.Panels = append(j.Panels, &pan)
	}
	j.Panels[0].Hazards = []string{"fuel line", "isolator"}
	j.Panels[1].OpensForward = true
	return j
}

// Whole plans leave no fault, and every station closes well.
func TestWholePlanStands(t *testing.T) {
	p := wholePlan(wholeJob(t))
	for _, pan := range p.Panels {
		if len(pan.Faults) > 0 || len(pan.Stations) < 4 {
			t.Errorf("%s: %d stations, faults %q", pan.Job.Name, len(pan.Stations), pan.Faults)
		}
		for _, st := range pan.Stations {
			if st.Choice == nil || st.Close.Chance < 0.95 || st.Load.Area <= 0 {
				t.Errorf("%s: station %s: %+v", pan.Job.Name, st.ID, st.Close)
			}
		}
	}
}

// The same job twice decides the same, to the last word.
func TestWholePlanRepeats(t *testing.T) {
	show := func() string {
		p := wholePlan(wholeJob(t))
		var b strings.Builder
		for _, pan := range p.Panels {
			for _, st := range pan.Stations {
				fmt.Fprintf(&b, "%s %v %v %s %g %+v %+v %d\n", st.ID, st.At, st.Dir, st.Edge, st.Tape, st.Close, st.Load, st.Shims)
			}
			for _, c := range pan.Choices {
				fmt.Fprintf(&b, "%s %s %s %s %+v %+v\n", c.Stud.ID, c.Plate.ID, c.Receptacle.ID, c.Reason, c.Close, c.Rejected)
			}
		}
		fmt.Fprintf(&b, "%+v %+v %+v %q", p.Order, p.Assumptions, p.Cautions, p.History)
		return b.String()
	}
	if show() != show() {
		t.Error("two plans of one job differ")
	}
}

// Order by hand: two lids of eight stations, two rivets in plate and receptacle, a tenth spare, in packs.
func TestOrder(t *testing.T) {
	j := pickJob()
	for i := range j.Range.Rivets {
		j.Range.Rivets[i].PackSize, j.Range.Rivets[i].Cost, j.Range.Rivets[i].Mass = 50, 0.1, 1e-6
	}
	pan := j.Panels[0]
	pan.Between = []job.Layer{{Name: "spacer", Material: pan.Inner.Material, Thickness: job.Thickness{Nom: 2, Half: 0.1}}}
	p := pickPlan(j)
	Order(p)
	got := map[string]OrderLine{}
	for _, l := range p.Order {
		got[l.Kind] = l
	}
	c := p.Panels[0].Choices[0]
	if c.PlateRivet != c.ReceptacleRivet {
		t.Fatalf("%s and %s: the figures below want one rivet", c.PlateRivet.ID, c.ReceptacleRivet.ID)
	}
	for kind, want := range map[string][4]int{"stud": {16, 2, 20, 2}, "plate": {16, 2, 18, 18}, "receptacle": {16, 2, 18, 18}, "rivet": {64, 7, 100, 2}} {
		l := got[kind]
		if [4]int{l.Need, l.Spare, l.Buy, l.Packs} != want {
			t.Errorf("%s: %+v, want %v", kind, l, want)
		}
	}
	if l := got["rivet"]; math.Abs(l.Cost-10) > 1e-9 || math.Abs(l.Mass-100e-6) > 1e-15 || strings.Join(l.ForPanels, ",") != "lid" {
		t.Errorf("rivets: %+v", l)
	}
}

// Every assumption has words and a source, ids are sorted and single, and every id that a check rests on is listed or is a
// number that the job gave.
func TestAssumptions(t *testing.T) {
	j := wholeJob(t)
	j.Conditions.Friction.Assumed = false
	p := wholePlan(j)
	have := map[string]bool{}
	last := ""
	for _, a := range p.Assumptions {
		if a.ID <= last || a.Text == "" || a.Source == "" {
			t.Errorf("%+v after %s", a, last)
		}
		last = a.ID
		have[a.ID] = true
	}
	for _, id := range []string{RestsTributaryArea, RestsIndependent, RestsRectangular, RestsHandTorque, RestsAgeing, RestsMatchZone, RestsSamplePartsOnly} {
		if !have[id] {
			t.Errorf("%s is not listed", id)
		}
	}
	if have[RestsFriction] || have[RestsTemplateZone] {
		t.Error("a number that the job gave, or does not use, is listed")
	}
	p.Panels[0].Stations[0].Checks = append(p.Panels[0].Stations[0].Checks, Check{ID: "x", Rests: []string{"no such thing"}})
	defer func() {
		if recover() == nil {
			t.Error("an unknown assumption did not panic")
		}
	}()
	Finish(p)
}

// Cautions stand where they apply, and the scope everywhere.
func TestCautions(t *testing.T) {
	j := wholeJob(t)
	p := wholePlan(j)
	on := func(id string) string {
		for _, c := range p.Cautions {
			if c.ID == id {
				return strings.Join(c.Panels, ",")
			}
		}
		return ""
	}
	all := make([]string, 0, len(j.Panels))
	for _, pan := range j.Panels {
		all = append(all, pan.Name)
	}
	for id, want := range map[string]string{CautionScope: strings.Join(all, ","), "fuel": "disc", "access": "disc", "second-retention": "ell", "airbag": "", "welding": "",
		"glass-dust": strings.Join(all, ","), "carbon-dust": "", "rivet-stems": strings.Join(all, ",")} {
		if got := on(id); got != want {
			t.Errorf("%s on %q, want %q", id, got, want)
		}
	}
	j.Panels[2].Supports[0].Weld, j.Panels[2].Supports[0].Mount = true, stock.FrontBesideSeat
	p = wholePlan(j)
	if got := on("welding"); got != j.Panels[2].Name {
		t.Errorf("welding on %q", got)
	}
	if got := on(CautionDrillGate); got != j.Panels[0].Name {
		t.Errorf("gate before drilling on %q", got)
	}
	if got := on(CautionHotWorkGate); got != "" {
		t.Errorf("gate before hot work on %q", got)
	}
	for _, h := range []string{"fuel line", "airbag", "high voltage", "battery"} {
		j.Panels[2].Hazards = []string{h}
		p = wholePlan(j)
		if got := on(CautionHotWorkGate); got != j.Panels[2].Name {
			t.Errorf("%s: gate before hot work on %q", h, got)
		}
	}
	for _, c := range p.Cautions {
		for _, contrary := range []string{"no hot work", "do not drill"} {
			if strings.Contains(c.Text, contrary) {
				t.Errorf("%s says %q on a card that may do just that", c.ID, contrary)
			}
		}
	}
	if p := wholePlan(&job.Job{Range: pickRange()}); len(p.Cautions) != 1 || p.Cautions[0].ID != CautionScope {
		t.Errorf("without panels: %+v", p.Cautions)
	}
}

func BenchmarkPlan(b *testing.B) {
	j := wholeJob(b)
	for b.Loop() {
		wholePlan(j)
	}
}
