package detail

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/judge"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

// practiceRange is a set of parts that the trade talks of: common practice, no source. It stands here and nowhere else.
func practiceRange() *stock.Range {
	const in = 25.4
	pattern := []stock.Hole{{At: plane.Point{X: -in / 2}, Diameter: in / 8}, {At: plane.Point{X: in / 2}, Diameter: in / 8}}
	r := worked.Range()
	r.Plates[0].CentreHole = stock.Toleranced{Nom: in / 2}
	r.Plates[0].SleeveDiameter = 0.492 * in
	r.Plates[0].Rivets = pattern
	r.Receptacles[0].Rivets = pattern
	r.Receptacles[0].CentreHole = stock.Toleranced{Nom: 9, Tol: 1}
	for i := range r.Studs {
		r.Studs[i].Shank = stock.Toleranced{Nom: 8.6}
	}
	r.Rivets[0].Diameter, r.Rivets[0].HoleMin, r.Rivets[0].HoleMax = in/8, in/8, 3.3
	return r
}

func practiceJob() *job.Job {
	j := worked.Job()
	j.Range = practiceRange()
	j.Drills = nil
	for _, name := range []string{"3 mm", "1/8 in", "#30", "9 mm", "10 mm", "1/2 in"} {
		d, ok := stock.DrillNamed(name)
		if !ok {
			panic("no drill " + name)
		}
		j.Drills = append(j.Drills, d)
	}
	j.Panels[0].Limits.EdgeDistance.Value = 15
	return j
}

// The trade's set of check values, all together: common practice, no source. No file carries it as a range.
func TestPractice(t *testing.T) {
	t.Run("nearest listed thickness", practiceNearestListed)
	t.Run("heights in half millimetres", practiceHeightSteps)
	t.Run("washers and a re-set wire", practiceCures)
	t.Run("holes", practiceHoles)
	t.Run("paper never drops on", practicePaperNeverDropsOn)
}

func practiceHoles(t *testing.T) {
	j := practiceJob()
	p := settled(j)
	pan := p.Panels[0]
	rows := map[string][]setout.Hole{}
	for _, h := range pan.Holes {
		if h.Station == "2" { // its rivet line lies along x
			rows[h.Layer+" "+h.Purpose] = append(rows[h.Layer+" "+h.Purpose], h)
		}
	}
	one := func(key string, n int) []setout.Hole {
		t.Helper()
		if len(rows[key]) != n {
			t.Fatalf("%s: %d holes, want %d", key, len(rows[key]), n)
		}
		return rows[key]
	}
	centre := one("outer centre", 1)[0]
	rivets := one("outer plate rivet", 2)
	if d := rivets[0].At.Dist(rivets[1].At); math.Abs(d-25.4) > 1e-9 {
		t.Errorf("rivet holes %.3f mm apart, want 1 in", d)
	}
	for _, h := range rivets {
		if d := h.At.Dist(centre.At); math.Abs(d-12.7) > 1e-9 {
			t.Errorf("rivet hole %.3f mm from the centre hole, want 1/2 in", d)
		}
		if h.At.Y != centre.At.Y {
			t.Errorf("rivet hole off the centre line by %v", h.At.Y-centre.At.Y)
		}
		if h.Drill == nil || h.Drill.Name != "1/8 in" {
			t.Errorf("rivet hole drilled %v, want 1/8 in", h.Drill)
		}
	}
	if centre.Drill == nil || centre.Drill.Name != "1/2 in" {
		t.Errorf("sleeve of 0.492 in: drilled %v, want 1/2 in", centre.Drill)
	}
	if k := checkNamed(t, pan.Stations[1].Checks, "outer-hole"); k.Verdict != setout.Holds || math.Abs(k.Limit-0.492*25.4) > 1e-9 {
		t.Errorf("sleeve through its hole: %+v", k)
	}
	inner := one("inner centre", 1)[0]
	if inner.Drill == nil || inner.Drill.Diameter != 9 || inner.WantedMax > 10+1e-9 {
		t.Errorf("stud of 8.6 mm: drilled %v, at most %.2f; want 9 mm, at most 10 mm", inner.Drill, inner.WantedMax)
	}
	for _, h := range []setout.Hole{centre, inner} {
		if h.Pilot == nil || h.Pilot.Diameter != 3 || !h.Clamped {
			t.Errorf("%s %s: pilot %v, clamped %v; want 3 mm through both panels clamped", h.Layer, h.Purpose, h.Pilot, h.Clamped)
		}
	}
	for _, h := range one("inner receptacle rivet", 2) {
		if h.Countersink == nil || h.Countersink.AngleDeg != 90 || h.Countersink.RPM >= h.RPM ||
			!strings.Contains(h.Note, "slowly") || !strings.Contains(h.Note, "light oil") {
			t.Errorf("countersink in metal: %+v, %q; want 90°, slowly, with a drop of light oil", h.Countersink, h.Note)
		}
	}
	for _, h := range one("outer rivet tail countersink", 2) {
		if h.Countersink.AngleDeg != 90 || h.Countersink.Face != "back" || !strings.Contains(h.Note, "below flush") {
			t.Errorf("tail on the meeting face: %+v, %q", h.Countersink, h.Note)
		}
		if strings.Contains(h.Note, "light oil") {
			t.Errorf("oil on laminate: %q", h.Note)
		}
	}
	if jt := pan.Joins[0]; jt.TailTreatment != setout.TailSpread || jt.TailOn != "outer back" {
		t.Errorf("set tail: %s on %s; want it spread into a countersink, below flush", jt.TailTreatment, jt.TailOn)
	}
	// The hole that locates is at most 10 mm even where the part would allow more.
	j.Range.Receptacles[0].CentreHole.Tol = 3
	if _, hi := holeLocating(&j.Range.Receptacles[0], &j.Range.Studs[0], &j.Conditions); math.Abs(hi-10) > 1e-9 {
		t.Errorf("locating hole at most %.2f mm, want 10 mm", hi)
	}
	// 3 mm or 1/8 in rivets serve: both have a drill in the set.
	for _, lo := range []float64{3, 3.175} {
		if d, why := holeDrill(j.Drills, lo, lo+0.1); d == nil {
			t.Errorf("rivet of %.3f mm: %s", lo, why)
		}
	}
	judge.Judge(p)
	for _, f := range p.Judge {
		t.Errorf("judge: %s %s: %s", f.Station, f.Check, f.Text)
	}
}

// Two holes of a drill's own clearance over eight stations marked from paper: common practice, no source, says that a stud of
// 8.6 mm in 9 mm practically never drops on.
func practicePaperNeverDropsOn(t *testing.T) {
	j := practiceJob()
	j.Conditions.Marking = "template"
	d := settled(j).Panels[0].DropOn
	if d == nil || d.Hi > 0.01 {
		t.Errorf("eight stations, 9 mm over 8.6 mm, from paper: %+v; want practically never", d)
	}
	j.Conditions.Marking = "match"
	if d := settled(j).Panels[0].DropOn; d == nil || d.Lo < 0.99 {
		t.Errorf("match-drilled: %+v; want practically always", d)
	}
}

// What the fitter reads when the set lacks a drill.
func TestNoDrillSaysWhatToBuy(t *testing.T) {
	thirty, ok := stock.DrillNamed("#30")
	if !ok {
		t.Fatal("no #30")
	}
	_, why := holeDrill([]stock.Drill{thirty}, 3.3, 3.4)
	const want = "none of yours fits: needs 3.30 to 3.40 mm; buy 3.3 mm; #30, 3.264 mm, is too small"
	if why != want {
		t.Errorf("got  %s\nwant %s", why, want)
	}
	if measure.MM(3.4) != "3.40 mm" {
		t.Error("the message above rests on two decimals")
	}
}
