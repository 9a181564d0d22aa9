package marking

import (
	"math"
	"slices"
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/exampleplan"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// roundPlan has one panel: a round hatch with one edge that closes on itself, and stations of an example's parts round it.
func roundPlan(of setout.Plan, radius float64, stations int) *setout.Plan {
	model := of.Panels[0]
	jp := *model.Job
	outer := plane.CircleAt(plane.Point{X: 500, Y: 300}, radius)
	jp.ID, jp.Name, jp.Quantity, jp.Front = "round", "Round hatch", 2, ""
	jp.Outline = plane.Region{Outer: outer}
	jp.Edges = []job.Edge{{Name: "rim", From: 0, To: outer.Length()}}
	support := *model.Job.Supports[0]
	support.Edges = []string{"rim"}
	jp.Supports, jp.KeepOuts = []*job.Support{&support}, nil
	inset := model.Stations[0].TapeInset
	seat := plane.CircleAt(plane.Point{X: 500, Y: 300}, radius-inset)
	p := &setout.Panel{Job: &jp, SeatLines: []setout.SeatLine{{Support: &support, Edge: "rim", Path: seat}}}
	for i := range stations {
		angle := (float64(i) + 0.2) / float64(stations) * 2 * math.Pi
		from := model.Stations[1]
		st := *from
		st.ID = string(rune('a' + i))
		st.At = plane.Point{X: 500, Y: 300}.Add(plane.Point{X: radius - inset}.Rotate(angle))
		st.Dir = angle + math.Pi/2
		st.Support, st.Edge, st.Tape, st.TapeInset, st.Corner = &support, "rim", radius*angle, inset, false
		p.Stations = append(p.Stations, &st)
		for _, h := range holesOf(model, from.ID) {
			h.Panel, h.Station = jp.Name, st.ID
			h.At = st.At.Add(h.At.Sub(from.At).Rotate(st.Dir - from.Dir))
			p.Holes = append(p.Holes, h)
		}
	}
	of.Panels = []*setout.Panel{p}
	return &of
}

// A rim that closes on itself: strips go round it, each joined to the next and the last to the first, at cuts of which both show
// the same targets; the start is marked within the first; every hole stands on a strip.
func TestRoundRim(t *testing.T) {
	sprint := exampleplan.All(t, "../..")["01-sprint"]
	for _, radius := range []float64{110, 250, 600} {
		plan := roundPlan(*sprint, radius, 8)
		for _, paper := range []string{"A4", "A3", "Letter"} {
			plan.Job.Paper = paper
			sheets, strips, err := StripPages(plan)
			if err != nil {
				t.Fatal(err)
			}
			look(t, "round-"+paper+"-"+string(rune('0'+int(radius/100))), sheets)
			p, starts := plan.Panels[0], 0
			for _, s := range sheets {
				checkTexts(t, paper, s)
				for _, x := range drawing.TextsOf(s.Items) {
					if x.S == "0 rim" || x.S == "0" && x.Size == sheet.Letters25 && x.Turn != 0 {
						starts++
					}
				}
			}
			if starts == 0 {
				t.Errorf("radius %.0f, %s: the start is nowhere marked", radius, paper)
			}
			checkApart(t, paper, strips)
			for _, st := range p.Stations {
				on := false
				for _, s := range strips {
					if !slices.Contains(s.Stations, st.ID) {
						continue
					}
					on = true
					for _, h := range holesOf(p, st.ID) {
						if at := s.Map(h.At); !s.Box.Has(at) || !drawn(sheets[s.Page], at, h) {
							t.Errorf("radius %.0f, %s, %s: hole %d of %s is not at %v", radius, paper, s.Name, h.No, st.ID, at)
						}
					}
				}
				if !on {
					t.Errorf("radius %.0f, %s: station %s is on no strip", radius, paper, st.ID)
				}
			}
		}
		checkJoins(t, plan.Panels[0])
	}
}

// checkJoins wants every cut of a run on both its strips, with the same targets and inside both windows.
func checkJoins(t *testing.T, p *setout.Panel) {
	t.Helper()
	runs, rest := stripRuns(p)
	if len(runs) != 1 || len(rest) > 0 {
		t.Fatalf("%d runs, %v on none", len(runs), rest)
	}
	pieces := stripCut(&runs[0], 270, 150, false)
	if len(pieces) < 2 {
		t.Fatalf("%d strips", len(pieces))
	}
	for i := range pieces {
		a, b := &pieces[i], &pieces[(i+1)%len(pieces)]
		ends, begins := a.cuts(), b.cuts()
		end, begin := ends[len(ends)-1], begins[0]
		if len(end.Targets) != len(begin.Targets) || len(end.Targets) < 2 {
			t.Fatalf("%s: %d and %d targets", a.name(), len(end.Targets), len(begin.Targets))
		}
		for k := range end.Targets {
			on, same := end.Targets[k].Rotate(a.angle), begin.Targets[k].Rotate(b.angle)
			if on.Dist(same) > 1e-6 || !a.window.Has(end.Targets[k]) || !b.window.Has(begin.Targets[k]) {
				t.Errorf("%s and %s: targets at %v and %v", a.name(), b.name(), on, same)
			}
		}
	}
}
