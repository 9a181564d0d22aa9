package jig

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// same is for lengths that a formula gives, mm.
const same = 1e-9

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// pattern is the holes of a station, about its axis and along its line: the centre, opened to a diameter after a pilot, and rivets.
type pattern struct {
	pilot, opened, rivet float64
	rivets               []plane.Point
}

// common is a stud of 12.5 mm with two rivets, all piloted at 3 mm.
var common = pattern{pilot: 3, opened: 12.5, rivet: 3.3, rivets: []plane.Point{pt(-14, 0), pt(14, 0)}}

func drillOf(d float64) *stock.Drill { return &stock.Drill{Name: fmt.Sprintf("%g mm", d), Diameter: d} }

// handPlan is a plan of no panels yet, with the defaults of a job and the embedded bushes.
func handPlan() *setout.Plan {
	set := func(v float64) job.Setting { return job.Setting{Value: v} }
	return &setout.Plan{Job: &job.Job{MarkingOut: job.MarkingOut{Holes: "final", JigLeast: 2, JigPlate: set(8), JigWall: set(3),
		JigClearance: set(0.2), JigFence: set(5), Bushes: stock.Bushes()}}}
}

// add gives the plan one more panel, with stations of one pattern along directions.
func add(p *setout.Plan, outer plane.Path, of pattern, at []plane.Point, dirs []float64) *setout.Panel {
	n := len(p.Panels) + 1
	pan := &setout.Panel{Job: &job.Panel{ID: fmt.Sprintf("p%d", n), Name: fmt.Sprintf("P%d", n), Quantity: 1,
		Outline: plane.Region{Outer: outer}, Outer: job.Layer{Name: "outer", Thickness: job.Thickness{Nom: 2}}}}
	for i, a := range at {
		st := &setout.Station{ID: fmt.Sprint(i + 1), At: a, Dir: dirs[i], Edge: "rim", Choice: &setout.Choice{}}
		pan.Stations = append(pan.Stations, st)
		hole := func(purpose string, local plane.Point, d, pilot float64) {
			h := setout.Hole{Station: st.ID, Layer: "outer", Purpose: purpose, At: a.Add(local.Rotate(st.Dir)), Drill: drillOf(d)}
			if pilot > 0 {
				h.Pilot = drillOf(pilot)
			}
			pan.Holes = append(pan.Holes, h)
		}
		hole(setout.PurposeCentre, pt(0, 0), of.opened, of.pilot)
		for _, r := range of.rivets {
			hole(setout.PurposePlateRivet, r, of.rivet, of.pilot)
		}
	}
	p.Panels = append(p.Panels, pan)
	return pan
}

// one is the only jig that is no row and no mirror image.
func one(t *testing.T, p *setout.Plan) *Jig {
	t.Helper()
	jigs, left := Gather(p)
	var out []*Jig
	for _, j := range jigs {
		if j.Pitch == 0 && !strings.HasSuffix(j.Name, "-mirrored") {
			out = append(out, j)
		}
	}
	if len(out) != 1 || len(left) != 0 {
		t.Fatalf("%d jigs, without one %v: want one jig for all", len(out), left)
	}
	return out[0]
}

func noted(j *Jig, words string) bool {
	return slices.ContainsFunc(j.Notes, func(n string) bool { return strings.Contains(n, words) })
}

// At 20 mm from a straight edge, on all four sides, by hand: the fence 20 mm below the axis and 20 mm to both sides; bushes for 3 mm
// are 6 mm outside (DIN 179, from memory); the middle is as wide as the opened hole; 0.2 mm for clearance; dowels of 8 mm touch the
// line of the fence.
func TestStraightEdge(t *testing.T) {
	p := handPlan()
	add(p, plane.Rectangle(400, 300), common, []plane.Point{pt(150, 20), pt(380, 100), pt(150, 280), pt(20, 150)},
		[]float64{0, math.Pi / 2, math.Pi, -math.Pi / 2})
	j := one(t, p)
	if j.Fence.Distance != 20 || j.Fence.Half != 20 || len(j.Fence.Pins) != 0 || j.Hand != "" || j.Centre != 0 {
		t.Errorf("fence %+v, hand %q, centre %d", j.Fence, j.Hand, j.Centre)
	}
	for i, want := range []Hole{{At: pt(0, 0), Drill: 3, Seat: 12.7, Opened: 12.5}, {At: pt(-14, 0), Drill: 3, Seat: 6.2}, {At: pt(14, 0), Drill: 3, Seat: 6.2}} {
		h := j.Holes[i]
		if h.At.Dist(want.At) > same || h.Drill != want.Drill || math.Abs(h.Seat-want.Seat) > same || h.Opened != want.Opened {
			t.Errorf("hole %d: %+v, want %+v", i, h, want)
		}
	}
	dowels, d := j.Dowels()
	if d != 8 || len(dowels) != 2 || dowels[0].Dist(pt(-16, -24)) > same || dowels[1].Dist(pt(16, -24)) > same {
		t.Errorf("dowels %v of %g mm", dowels, d)
	}
}

// roundedOff is how far a point is from the edge of a rectangle [0, w] × [0, h] with corners of radius r, outside positive.
func roundedOff(p plane.Point, w, h, r float64) float64 {
	x, y := math.Abs(p.X-w/2)-(w/2-r), math.Abs(p.Y-h/2)-(h/2-r)
	return math.Hypot(max(x, 0), max(y, 0)) + min(max(x, y), 0) - r
}

// About a corner of radius 40 pins touch the true edge. By hand: the arc is 20π mm long, its middle is nearest; the pins stand
// 44 mm along the edge to both sides, where it is straight again, and a third 26 mm farther.
func TestRoundedCorner(t *testing.T) {
	const w, h, r = 600.0, 400.0, 40.0
	outer, err := plane.RoundedRectangle(w, h, r)
	if err != nil {
		t.Fatal(err)
	}
	p := handPlan()
	pan := add(p, outer, common, []plane.Point{pt(25, 25)}, []float64{-math.Pi / 4})
	v := look(pan, pan.Stations[0])
	if want := r - 15*math.Sqrt2; math.Abs(v.fence.Distance-want) > same || len(v.fence.Pins) != 3 {
		t.Fatalf("%g mm from the edge with %d pins, want %g with 3", v.fence.Distance, len(v.fence.Pins), want)
	}
	var at []plane.Point
	for _, q := range v.fence.Pins {
		on := pan.Stations[0].At.Add(v.x.Scale(q.X)).Add(v.x.Perp().Scale(q.Y))
		at = append(at, on)
		if off := roundedOff(on, w, h, r); math.Abs(off-4) > same {
			t.Errorf("a pin of radius 4 stands %.12f mm off the edge", off)
		}
	}
	far := 40 + 44 - 10*math.Pi
	for _, want := range []plane.Point{pt(-4, far), pt(far, -4)} {
		if !slices.ContainsFunc(at, func(q plane.Point) bool { return q.Dist(want) < 1e-6 }) {
			t.Errorf("pins at %v, want one at %v", at, want)
		}
	}
	if third := []plane.Point{pt(-4, far+26), pt(far+26, -4)}; !slices.ContainsFunc(at, func(q plane.Point) bool {
		return q.Dist(third[0]) < 1e-6 || q.Dist(third[1]) < 1e-6
	}) {
		t.Errorf("pins at %v, want a third at one of %v", at, third)
	}
}

// On a disc of radius R the two pins lie on a circle of R + 4 mm, at the angles 20/R to both sides.
func TestBowedEdge(t *testing.T) {
	for _, r := range []float64{400, 1000} {
		p := handPlan()
		pan := add(p, plane.CircleAt(pt(0, 0), r), common, []plane.Point{pt(0, r-20)}, []float64{0})
		f := look(pan, pan.Stations[0]).fence
		want := pt((r+4)*math.Sin(20/r), (r-20)-(r+4)*math.Cos(20/r))
		if len(f.Pins) != 2 || f.Pins[0].Dist(pt(-want.X, want.Y)) > same || f.Pins[1].Dist(want) > same {
			t.Errorf("radius %g: pins %v, want ±%v", r, f.Pins, want)
		}
	}
	// Less than 0.05 mm off a line is a straight fence.
	p := handPlan()
	pan := add(p, plane.CircleAt(pt(0, 0), 4100), common, []plane.Point{pt(0, 4080)}, []float64{0})
	if f := look(pan, pan.Stations[0]).fence; len(f.Pins) != 0 {
		t.Errorf("radius 4100: pins %v for an edge that is 400/8200 = 0.049 mm off a line", f.Pins)
	}
}

// Edges that are bowed otherwise have jigs of their own: at 20 mm aside a radius of 400 mm falls off by 0.5 mm, one of 1000 mm by
// 0.2 mm, and one of 1010 mm by nothing that a tenth of a mm tells.
func TestAlikeEdges(t *testing.T) {
	p := handPlan()
	for _, r := range []float64{400, 1000, 1010} {
		add(p, plane.CircleAt(pt(0, 0), r), common, []plane.Point{pt(0, r-20), pt(0, 20-r)}, []float64{0, math.Pi})
	}
	jigs, left := Gather(p)
	if len(jigs) != 2 || len(left) != 0 || len(jigs[0].Serves) != 1 || len(jigs[1].Serves) != 2 {
		t.Fatalf("%d jigs, left %v", len(jigs), left)
	}
	// 20.05 mm, where a rounding to tenths parts.
	p = handPlan()
	add(p, plane.Rectangle(400, 300), common, []plane.Point{pt(150, 20.05), pt(250, 20.05-1e-9), pt(100, 20.05+1e-9)}, []float64{0, 0, 0})
	if j := one(t, p); len(j.Serves[0].Stations) != 3 {
		t.Errorf("it serves %v", j.Serves)
	}
	p = handPlan()
	p.Job.MarkingOut.JigLeast = 1
	add(p, plane.Rectangle(400, 300), common, []plane.Point{pt(150, 20), pt(250, 20.12)}, []float64{0, 0})
	if jigs, _ := Gather(p); len(jigs) != 2 {
		t.Errorf("%d jigs for stations at 20 and 20.12 mm, want 2", len(jigs))
	}
}

// In a square corner two edges are as near. All four corners of a rectangle have one jig, whichever edge is nearer by rounding.
func TestSquareCorners(t *testing.T) {
	p := handPlan()
	single := pattern{pilot: 3, opened: 12.5}
	const hair = 1e-12
	add(p, plane.Rectangle(600, 400), single, []plane.Point{pt(19, 19+hair), pt(581+hair, 19), pt(581, 381-hair), pt(19, 381)},
		[]float64{0, 0, math.Pi, math.Pi})
	j := one(t, p)
	if len(j.Fence.Pins) != 3 || len(j.Serves[0].Stations) != 4 {
		t.Errorf("%d pins for %v", len(j.Fence.Pins), j.Serves)
	}
}

// A station farther than 60 mm from an edge has no fence, and is told so.
func TestNoEdgeNear(t *testing.T) {
	p := handPlan()
	add(p, plane.Rectangle(400, 300), common, []plane.Point{pt(150, 150), pt(250, 150)}, []float64{0, 0.3})
	if j := one(t, p); j.Fence.Distance != 0 || !noted(j, "No edge within 60.00 mm") {
		t.Errorf("fence %+v, notes %q", j.Fence, j.Notes)
	}
}

// About a corner both sides' distances are dimensions on the page: by hand 25 and 30 mm for a rounded one, square to the sides prolonged.
func TestCornerDistances(t *testing.T) {
	outer, err := plane.RoundedRectangle(600, 400, 40)
	if err != nil {
		t.Fatal(err)
	}
	p := handPlan()
	pan := add(p, outer, common, []plane.Point{pt(25, 30)}, []float64{0})
	pan.Job.Quantity = 2
	v := look(pan, pan.Stations[0])
	if s := v.fence.Sides; len(s) != 2 || math.Abs(min(s[0].Len(), s[1].Len())-25) > same || math.Abs(max(s[0].Len(), s[1].Len())-30) > same {
		t.Errorf("sides %v, want them 25 and 30 mm off", s)
	}
	words := strings.Fields(wordsOf(t, p))
	if !slices.Contains(words, "25.0") || !slices.Contains(words, "30.0") {
		t.Errorf("no dimensions of 25.0 and 30.0 among %q", words)
	}
}

// The fence, with its wall, stays within the plate's outline for every wall that a job may give, and what is engraved has its unit.
func TestFenceWithinPlate(t *testing.T) {
	for _, wall := range []float64{0.4, 1, 3, 50} {
		p := handPlan()
		p.Job.MarkingOut.JigWall.Value = wall
		wide := common // its fence is longer than what is engraved
		wide.rivets = []plane.Point{pt(-60, 0), pt(60, 0)}
		add(p, plane.Rectangle(600, 400), wide, []plane.Point{pt(150, 18), pt(300, 18)}, []float64{0, 0})
		j := one(t, p)
		for _, r := range j.fenceRegions() {
			for _, q := range r.Outer.V {
				if _, d, _ := j.Plate.Nearest(q.Point); j.Plate.Contains(q.Point) != plane.Inside || d < wall/2 {
					t.Errorf("wall %g: the fence's corner %v is %.2f mm from the plate's edge", wall, q.Point, d)
				}
			}
		}
		if j.identity()[0] != "jig-1 edge 18.0 mm" {
			t.Errorf("engraved %q", j.identity())
		}
		if noted(j, "two lines of a printer") != (wall < 1.2) {
			t.Errorf("wall %g: notes %q", wall, j.Notes)
		}
	}
	for fence, proud := range map[float64]bool{24: false, 24.1: true} { // three times 8 mm
		p := handPlan()
		p.Job.MarkingOut.JigFence.Value = fence
		add(p, plane.Rectangle(600, 400), common, []plane.Point{pt(150, 18), pt(300, 18)}, []float64{0, 0})
		if j := one(t, p); noted(j, "more than three times") != proud {
			t.Errorf("fence %g: notes %q", fence, j.Notes)
		}
	}
}
