package marking

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// 6 mm of stack under a crown of 30 mm on 1200 mm: the back is shorter by 6 mm times the angle that the arc spans. Circle: R = (4c² +
// L²)/8c = 6015 mm, angle = L/R, so 6·1200/6015 = 1.197 mm.
func TestInnerLength(t *testing.T) {
	outer := plane.Rectangle(1200, 800)
	jp := &job.Panel{Name: "lid", Outline: plane.Region{Outer: outer}, Crown: job.Crown{Along: 30}, Edges: []job.Edge{{Name: "front", From: 0, To: 1200}, {Name: "rest", From: 1200, To: 4000}}}
	st := &setout.Station{ID: "1", At: plane.Point{X: 20, Y: 400}}
	st.Stack.Nom = 6
	pan := &setout.Panel{Job: jp, Stations: []*setout.Station{st}, Holes: []setout.Hole{{At: st.At, Wanted: 8}}}
	p := Inner(&setout.Plan{Job: &job.Job{}, Panels: []*setout.Panel{pan}})
	got := p.Panels[0]
	if d := 1200 - got.Job.Outline.Outer.Bounds().Width(); math.Abs(d-6*1200/6015.0) > 1e-9 {
		t.Errorf("shorter by %.6f mm", d)
	}
	if h := got.Job.Outline.Outer.Bounds().Height(); h != 800 {
		t.Errorf("%g mm high", h)
	}
	if x := got.Holes[0].At.X; math.Abs(x-(600-580*(1-6/6015.0))) > 1e-9 || got.Holes[0].Wanted != 8 {
		t.Errorf("hole at %g", x)
	}
	if e := got.Job.Edges; math.Abs(e[0].To-1200*(1-6/6015.0)) > 1e-9 || math.Abs(e[1].To-got.Job.Outline.Outer.Length()) > 1e-9 {
		t.Errorf("%+v", e)
	}
	if !strings.Contains(got.Inner, "6.00 mm deeper") || !strings.Contains(got.Inner, "1.20 mm shorter along x and 0.00 mm along y") {
		t.Error(got.Inner)
	}
	if len(jp.CrownNotes()) != 0 {
		t.Error("a panel crowned one way can be laid flat")
	}
	// Both ways: a sphere of R = 4000 has K = 1/R²; a strip 400 mm off the middle misses by K·r²/6 = 1/600 of its length [docarmo76].
	both := &job.Panel{Outline: plane.Region{Outer: outer}}
	both.Crown.Along, both.Crown.Across = 4000-math.Sqrt(4000*4000-600*600), 4000-math.Sqrt(4000*4000-400*400)
	if u := both.Undevelopable(); math.Abs(u-1200.0/600) > 1e-6 {
		t.Errorf("misses by %g mm", u)
	}
}
