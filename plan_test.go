package panelwright

import (
	"context"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

const roundHatch = `
job: { name: Round hatch (sample), units: mm, drills: any size }
panels:
  - name: Round
    outline:
      points:
        - { at: [0, 200], edge: rim, arc radius: 200 }
        - { at: [400, 200], edge: rim, arc radius: 200 }
    outer: { material: al2024t3, thickness: 2 mm }
    inner: { material: grp_csm30, thickness: 6 mm }
    supports: [ { name: rim, flange: [rim], width: 40 } ]
    loads: { pressure: 500 Pa }
`

// planRound plans the round hatch after weaken has spoilt parts of its range.
func planRound(t *testing.T, weaken func(*stock.Range)) *setout.Plan {
	t.Helper()
	j, faults := job.Read("round.yaml", []byte(roundHatch), nil)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	weaken(j.Range)
	p, err := Plan(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The plan holds as the range is. When the parts first chosen would pull through the sheet, others are, and the history
// and the choice tell why.
func TestPlanUntilItHolds(t *testing.T) {
	p := planRound(t, func(*stock.Range) {})
	if c := Tally(p); !c.NothingFails() {
		t.Errorf("%+v", c)
		sayFailures(t, p)
	}
	first := p.Panels[0].Choices[0].Plate.ID
	p = planRound(t, func(r *stock.Range) { spoil(r, func(pl *stock.Plate) bool { return pl.ID == first }) })
	if c := Tally(p); !c.NothingFails() {
		t.Errorf("%+v", c)
		sayFailures(t, p)
	}
	c := p.Panels[0].Choices[0]
	if c.Plate.ID == first {
		t.Errorf("%s is still chosen", first)
	}
	if h := strings.Join(p.History, "\n"); !strings.Contains(h, first) || !strings.Contains(h, "refused: ") || !strings.Contains(h, "pull-through-locked") {
		t.Errorf("history %q", p.History)
	}
	if r := c.Rejected[0]; r.Plate != first || !strings.Contains(r.Why, "pull-through-locked") {
		t.Errorf("rejected %+v", r)
	}
}

// When every pair fails, the loop ends, keeps the one with the fewest failing checks, and says so.
func TestPlanEndsWhereNothingHolds(t *testing.T) {
	p := planRound(t, func(r *stock.Range) { spoil(r, func(*stock.Plate) bool { return true }) })
	if c := Tally(p); c.NothingFails() {
		t.Error("the spoilt plates hold")
	}
	h := strings.Join(p.History, "\n")
	if n := strings.Count(h, "refused: "); n == 0 || n > 24 {
		t.Errorf("%d refusals", n)
	}
	if r := p.Panels[0].Choices[0].Reason; !strings.Contains(h, "with the fewest that fail") || !strings.Contains(r, "with the fewest that fail") {
		t.Errorf("history %q\nreason %q", p.History, r)
	}
}

// spoil makes plates bear on next to nothing.
func spoil(r *stock.Range, which func(*stock.Plate) bool) {
	for i := range r.Plates {
		if which(&r.Plates[i]) {
			r.Plates[i].BearingDiameter = 0.1
		}
	}
}

const lFloor = `
job: { name: L floor (sample), units: mm, drills: any size }
conditions: { top speed: 80 m/s }
panels:
  - name: Floor L
    outline: { points: [[0, 0], [900, 0], [900, 300], [300, 300], [300, 700], [0, 700]], edges: [a, b, c, d, e, f] }
    outer: { material: al5754h22, thickness: 2 mm }
    inner: { material: s235jr, thickness: 2 mm }
    supports: [ { name: flange, flange: [a, b, c, d, e, f], width: 40, weld: true, mount: front under panel } ]
`

// Parts that together pull less than the whole load are sent back too, where others pull harder; the history says so.
func TestPlanPullsAgainstTheWholeLoad(t *testing.T) {
	j, faults := job.Read("l.yaml", []byte(lFloor), nil)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	p, err := Plan(context.Background(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if c := Tally(p); !c.NothingFails() {
		t.Errorf("%+v", c)
		sayFailures(t, p)
	}
	if h := strings.Join(p.History, "\n"); !strings.Contains(h, "refused: ") || !strings.Contains(h, "whole-load-preload") {
		t.Errorf("history %q", p.History)
	}
	for _, k := range p.Panels[0].Checks {
		if k.ID == "whole-load-preload" && k.Value > k.Limit {
			t.Errorf("%.0f N of load, %.0f N of preload", k.Value, k.Limit)
		}
	}
}
