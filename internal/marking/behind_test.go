package marking

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/drawing"
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
	if !strings.Contains(got.Inner, "6.00 mm deeper") || !strings.Contains(got.Inner, "makes it 1.20 mm shorter along x, about its middle") {
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

// A rectangle with corners of 25 mm, crowned by 30 mm along its 1200 mm, by hand: about the middle lengths along x are shorter by 6 mm of
// stack in R = 6015 mm, from TestInnerLength. Its corners stay tangent arcs of 25 mm, so that tapes begin at the sharp corners as on the
// outer panel, and each reading differs by its own shortening alone.
func TestInnerTapes(t *testing.T) {
	const factor = 1 - 6/6015.0
	outer, err := plane.RoundedRectangle(1200, 800, 25)
	if err != nil {
		t.Fatal(err)
	}
	jp := &job.Panel{Name: "lid", Outline: plane.Region{Outer: outer}, Crown: job.Crown{Along: 30}}
	corners := []plane.Point{{}, {X: 1200}, {X: 1200, Y: 800}, {Y: 800}}
	for i, name := range []string{"front", "right", "rear", "left"} { // from the middle of one corner to that of the next
		from, _, _ := outer.Nearest(corners[i])
		to, _, _ := outer.Nearest(corners[(i+1)%4])
		if to <= from {
			to += outer.Length()
		}
		jp.Edges = append(jp.Edges, job.Edge{Name: name, From: from, To: to})
	}
	pan := &setout.Panel{Job: jp}
	put := func(edge int, at plane.Point) {
		e := jp.Edges[edge]
		s, d, _ := outer.SubPath(e.From, e.To).Nearest(at)
		st := &setout.Station{ID: "1", At: at, Edge: e.Name, Tape: s, TapeInset: d}
		st.Stack.Nom = 6
		pan.Stations = append(pan.Stations, st)
	}
	put(0, plane.Point{X: 300, Y: 20})
	put(0, plane.Point{X: 900, Y: 20})
	put(1, plane.Point{X: 1180, Y: 300})
	put(3, plane.Point{X: 20, Y: 500})
	got := Inner(&setout.Plan{Job: &job.Job{}, Panels: []*setout.Panel{pan}}).Panels[0]
	path := got.Job.Outline.Outer
	if len(path.V) != len(outer.V) {
		t.Fatalf("%d vertices, were %d", len(path.V), len(outer.V))
	}
	for i, g := range path.Segs() {
		next := path.Seg((i + 1) % len(path.V))
		if g.IsArc() && math.Abs(g.Radius()-25) > 1e-9 {
			t.Errorf("edge %d has a radius of %.9f mm", i, g.Radius())
		}
		if turn := math.Abs(g.Tangent(1).Cross(next.Tangent(0))); turn > 1e-9 {
			t.Errorf("edge %d turns by %g where it meets the next", i, turn)
		}
	}
	for i, st := range got.Stations {
		was, is := drawing.TapeOf(pan, pan.Stations[i]), drawing.TapeOf(got, st)
		if was.From != is.From || !strings.Contains(is.From, "sharp corner") || is.Edge != was.Edge {
			t.Errorf("%s: from %q, was %q", st.Edge, is.From, was.From)
		}
		along, in := was.Along*factor, was.In
		if i >= 2 { // along y nothing is shorter, but what stands in from left or right is
			along, in = was.Along, was.In*factor
		}
		if math.Abs(is.Along-along) > 1e-6 || math.Abs(is.In-in) > 1e-6 {
			t.Errorf("%s: %.6f along, %.6f in; want %.6f and %.6f", st.Edge, is.Along, is.In, along, in)
		}
	}
}
