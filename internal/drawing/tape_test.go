package drawing

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/exampleplan"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// tapePanel is a panel on that outline whose edges begin and end in the middle of its rounded corners.
func tapePanel(t *testing.T, corners []plane.Point, radius float64, names ...string) *job.Panel {
	t.Helper()
	radii := make([]float64, len(corners))
	for i := range radii {
		radii[i] = radius
	}
	round, err := plane.RoundCorners(plane.Polygon(corners...), radii)
	if err != nil {
		t.Fatal(err)
	}
	jp := &job.Panel{ID: "p", Name: "p", Outline: plane.Region{Outer: round}}
	var starts []float64
	for _, c := range corners {
		s, _, _ := round.Nearest(c)
		starts = append(starts, s)
	}
	// The path may begin anywhere; edges run from each corner to the next.
	for i, name := range names {
		to := starts[(i+1)%len(starts)]
		for to <= starts[i] {
			to += round.Length()
		}
		jp.Edges = append(jp.Edges, job.Edge{Name: name, From: starts[i], To: to})
	}
	return jp
}

func tapeStation(jp *job.Panel, edge string, at plane.Point) *setout.Station {
	e := templateEdge(jp, edge)
	side := jp.Outline.Outer.SubPath(e.From, e.To)
	s, d, _ := side.Nearest(at)
	return &setout.Station{ID: "1", At: at, Edge: edge, Tape: s, TapeInset: d}
}

// On a rounded rectangle the distances are the coordinates from the sharp corners, for every place and radius.
func TestTapeRectangle(t *testing.T) {
	corners := []plane.Point{{}, {X: 400}, {X: 400, Y: 300}, {Y: 300}}
	for _, r := range []float64{0, 5, 40, 120} {
		jp := tapePanel(t, corners, r, "low", "right", "high", "left")
		p := &setout.Panel{Job: jp}
		for _, x := range []float64{130, 200, 270} {
			got := TapeOf(p, tapeStation(jp, "low", plane.Point{X: x, Y: 18}))
			if math.Abs(got.Along-x) > 1e-6 || math.Abs(got.In-18) > 1e-6 || got.Beside != "" || got.Curved {
				t.Errorf("radius %g, x %g: %+v", r, x, got)
			}
			if r > 0 && got.From != "the sharp corner with left" {
				t.Errorf("radius %g: from %q", r, got.From)
			}
			high := TapeOf(p, tapeStation(jp, "high", plane.Point{X: x, Y: 288}))
			if math.Abs(high.Along-(400-x)) > 1e-6 || math.Abs(high.In-12) > 1e-6 {
				t.Errorf("radius %g, x %g on the far side: %+v", r, x, high)
			}
		}
		for _, e := range jp.Edges {
			run := tapeRunOf(jp, e)
			want := 400.0
			if e.Name == "right" || e.Name == "left" {
				want = 300
			}
			if math.Abs(run.length-want) > 1e-6 {
				t.Errorf("radius %g, edge %s: %g long, want %g", r, e.Name, run.length, want)
			}
		}
	}
}

// In front of a corner's arc no square to the edge meets anything straight: both distances are then square to a side.
func TestTapeInCorner(t *testing.T) {
	jp := tapePanel(t, []plane.Point{{}, {X: 400}, {X: 400, Y: 300}, {Y: 300}}, 60, "low", "right", "high", "left")
	p := &setout.Panel{Job: jp}
	for edge, other := range map[string]string{"low": "left", "left": "low"} {
		got := TapeOf(p, tapeStation(jp, edge, plane.Point{X: 30, Y: 30.5}))
		if got.Edge != edge || got.Beside != other {
			t.Fatalf("%+v", got)
		}
		in, along := 30.5, 30.0
		if edge == "left" {
			in, along = along, in
		}
		if math.Abs(got.In-in) > 1e-6 || math.Abs(got.Along-along) > 1e-6 {
			t.Errorf("edge %s: %+v", edge, got)
		}
	}
	got := TapeOf(p, tapeStation(jp, "low", plane.Point{X: 380, Y: 22})).Words(func(v float64) string { return templateMM(v) })
	if !strings.Contains(got, "square from edge low") || !strings.Contains(got, "square from edge right") {
		t.Error(got)
	}
}

// On a corner that is not square the distance along the side is still from where the sides meet, whatever the angle.
func TestTapeSlantedCorner(t *testing.T) {
	corners := []plane.Point{{}, {X: 500}, {X: 420, Y: 300}, {X: 120, Y: 300}}
	jp := tapePanel(t, corners, 45, "low", "right", "high", "left")
	p := &setout.Panel{Job: jp}
	along := corners[2].Sub(corners[1]).Unit()
	const from, in = 140.0, 17.0
	at := corners[1].Add(along.Scale(from)).Add(along.Perp().Scale(in))
	got := TapeOf(p, tapeStation(jp, "right", at))
	if math.Abs(got.Along-from) > 1e-6 || math.Abs(got.In-in) > 1e-6 {
		t.Errorf("%+v, want %g and %g", got, from, in)
	}
	r := tapeRunOf(jp, *templateEdge(jp, "right"))
	if foot, _ := r.frame(from); foot.Dist(corners[1].Add(along.Scale(from))) > 1e-6 {
		t.Errorf("the mark stands at %v", foot)
	}
}

// A curved side is measured along its curve, and the sheet says so; so is a round panel.
func TestTapeCurve(t *testing.T) {
	bow := plane.Path{Closed: true, V: []plane.Vertex{{}, {Point: plane.Point{X: 400}}, {Point: plane.Point{X: 400, Y: 200}, Bulge: 0.1}, {Point: plane.Point{Y: 200}}}}
	n := bow.EdgeStart(4)
	jp := &job.Panel{Outline: plane.Region{Outer: bow}, Edges: []job.Edge{{Name: "low", To: 400}, {Name: "right", From: 400, To: 600},
		{Name: "bow", From: 600, To: n - 200}, {Name: "left", From: n - 200, To: n}}}
	p := &setout.Panel{Job: jp}
	st := tapeStation(jp, "bow", plane.Point{X: 200, Y: 190})
	got := TapeOf(p, st)
	if !got.Curved || math.Abs(got.Along-st.Tape) > 1e-9 || got.From != "the corner with right" {
		t.Errorf("%+v", got)
	}
	if low := TapeOf(p, tapeStation(jp, "left", plane.Point{X: 20, Y: 100})); low.Curved || math.Abs(low.Along-100) > 1e-6 || low.From != "the corner with bow" {
		t.Errorf("%+v", low)
	}
	if notes := strings.Join(TapeNotes(jp), " "); !strings.Contains(notes, "Edge bow: the tape follows the curve, from the corner with right.") {
		t.Error(notes)
	}
	round := plane.CircleAt(plane.Point{}, 150)
	jp = &job.Panel{Outline: plane.Region{Outer: round}, Edges: []job.Edge{{Name: "rim", To: round.Length()}}}
	if notes := strings.Join(TapeNotes(jp), " "); notes != "Edge rim: the tape follows the curve, from where it begins, marked 0." {
		t.Error(notes)
	}
}

// Whoever goes back by the words finds every station of the examples again: along the straight from the sharp corner and
// square in, or square from both sides.
func TestTapeFindsStations(t *testing.T) {
	for name, plan := range exampleplan.All(t, "../..") {
		for _, p := range plan.Panels {
			for _, st := range p.Stations {
				tape := TapeOf(p, st)
				if tape.Edge == "" || tape.Curved {
					continue
				}
				r := tapeRunOf(p.Job, *templateEdge(p.Job, tape.Edge))
				if tape.Beside != "" {
					for _, c := range []*tapeCorner{r.lead, r.trail} {
						if c != nil && c.other == tape.Beside && (math.Abs(c.along.Cross(st.At.Sub(c.at))-tape.In) > 1e-6 || math.Abs(c.across.Cross(st.At.Sub(c.at))-tape.Along) > 1e-6) {
							t.Errorf("%s %s station %s: %+v", name, p.Job.ID, st.ID, tape)
						}
					}
					continue
				}
				foot, out := r.frame(tape.Along)
				if d := foot.Sub(out.Scale(tape.In)).Dist(st.At); d > 1e-4 {
					t.Errorf("%s %s station %s: %+v ends %g away", name, p.Job.ID, st.ID, tape, d)
				}
			}
		}
	}
}

// A name that ends in a number, and an inset, are not read as part of a distance or as inches.
func TestTapeWords(t *testing.T) {
	for _, c := range []struct {
		inch bool
		tape Tape
		want string
	}{
		{false, Tape{Edge: "side 1", Along: 261.8, In: 18}, "edge side 1: 261.8 mm, inset 18.0 mm"},
		{true, Tape{Edge: "side 1", Along: 254, In: 19.05}, "edge side 1: 10 in (254.0 mm), inset 3/4 in (19.1 mm)"},
		{false, Tape{Edge: "rear", Along: 14, In: 12, Beside: "left"}, "12.0 mm square from edge rear, 14.0 mm square from edge left"},
		{false, Tape{Along: 1, In: 2}, "x 1.0 mm, y 2.0 mm"},
	} {
		if got := c.tape.Words(TapeShown(&job.Job{Inch: c.inch})); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if got := TapeBrief(&job.Job{}, 1261.8) + " " + TapeBrief(&job.Job{Inch: true}, 482.6); got != "1261.8 mm 19\"" {
		t.Error(got)
	}
}
