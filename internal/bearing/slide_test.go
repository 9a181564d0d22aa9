package bearing_test

import (
	"context"
	"math"
	"testing"

	"panelwright/internal/bearing"
	"panelwright/internal/exampleplan"
	"panelwright/internal/setout"
)

// A station that is slid to a place answers as the plan made with it there: same forces, same gaps, but for the mesh, which is another.
func TestSlideAgreesWithPlan(t *testing.T) {
	const (
		wire = 0.005 // of the hardest pulled wire, as TestBearRefined has it
		gap  = 0.08  // either mesh is off by up to 4 % (TestBearRefined)
		feel = 0.02  // mm
	)
	for name, p := range exampleplan.All(t, "../..") {
		for i, pan := range p.Panels {
			if name == "01-sprint" && i > 2 {
				continue // slow
			}
			n := len(pan.Stations) / 2
			s, err := bearing.NewSlide(context.Background(), p.Job, pan, n, 10)
			if err != nil {
				t.Errorf("%s %s: %v", name, pan.Job.Name, err)
				continue
			}
			for _, k := range []int{s.Nearest(pan.Stations[n].At), len(s.Places()) / 3} {
				a := s.At(k)
				moved := movedPanel(pan, n, s.Places()[k])
				q := bearing.Refined(p.Job, moved, 1)
				if !q.Known {
					if a.Loose == "" {
						t.Errorf("%s %s, place %d: %s, and the slide holds", name, pan.Job.Name, k, q.Why)
					}
					continue
				}
				for c := range q.Cases {
					if x, y := hardest(a.Cases[c].Wire), hardest(q.Cases[c].Wire); math.Abs(x-y) > wire*y {
						t.Errorf("%s %s, place %d, %s: wire %.2f N, by the plan %.2f N", name, pan.Job.Name, k, a.Cases[c].Name, x, y)
					}
					if x, y := a.Cases[c].GapMax, q.Cases[c].GapMax; math.Abs(x-y) > max(gap*y, feel) {
						t.Errorf("%s %s, place %d, %s: gap %.3f mm, by the plan %.3f mm", name, pan.Job.Name, k, a.Cases[c].Name, x, y)
					}
				}
			}
		}
	}
}

func movedPanel(pan *setout.Panel, n int, to bearing.SlidePlace) *setout.Panel {
	out := *pan
	out.Stations = append([]*setout.Station(nil), pan.Stations...)
	st := *pan.Stations[n]
	st.At = to.At
	out.Stations[n] = &st
	return &out
}

func BenchmarkSlide(b *testing.B) {
	p := exampleplan.All(b, "../..")["01-sprint"]
	pan := p.Panels[0]
	b.Run("prepare", func(b *testing.B) {
		for b.Loop() {
			if _, err := bearing.NewSlide(context.Background(), p.Job, pan, 3, 5); err != nil {
				b.Fatal(err)
			}
		}
	})
	s, err := bearing.NewSlide(context.Background(), p.Job, pan, 3, 5)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("move", func(b *testing.B) {
		b.ReportAllocs()
		k := 0
		for b.Loop() {
			s.At(k % len(s.Places()))
			k++
		}
	})
	b.Logf("%d places, %d points", len(s.Places()), 0)
}
