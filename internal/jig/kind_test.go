package jig

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// A jig whose holes are not their own mirror image has a hand; where its panel comes twice its mirror image is made, turned over about
// the line square to the edge.
func TestMirrored(t *testing.T) {
	lopsided := common
	lopsided.rivets = []plane.Point{pt(14, 0), pt(-10, 12)}
	p := handPlan()
	add(p, plane.Rectangle(600, 400), lopsided, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0}).Job.Quantity = 2
	jigs, _ := Gather(p)
	if len(jigs) != 2 || jigs[1].Name != "jig-1-mirrored" {
		t.Fatalf("%d jigs, want jig-1 and its mirror image", len(jigs))
	}
	isMirror(t, jigs[0], jigs[1])

	corner := handPlan()
	add(corner, plane.Rectangle(600, 400), common, []plane.Point{pt(15, 18), pt(585, 382)}, []float64{0, math.Pi}).Job.Quantity = 2
	jigs, _ = Gather(corner)
	if len(jigs) != 2 || len(jigs[0].Fence.Pins) != 3 {
		t.Fatalf("%d jigs, %d pins", len(jigs), len(jigs[0].Fence.Pins))
	}
	isMirror(t, jigs[0], jigs[1])

	// Two panels of which one is the other's mirror image: left and right, and none more.
	hands := handPlan()
	right := lopsided
	right.rivets = []plane.Point{pt(-14, 0), pt(10, 12)}
	add(hands, plane.Rectangle(600, 400), lopsided, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	add(hands, plane.Rectangle(600, 400), right, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	jigs, _ = Gather(hands)
	if len(jigs) != 2 || jigs[0].Hand != "left" || jigs[1].Hand != "right" {
		t.Fatalf("%d jigs, hands %q", len(jigs), jigs[0].Hand)
	}
	isMirror(t, jigs[0], jigs[1])
}

// In a square corner a jig may be turned to the other edge. One hole as far from both is its own mirror image; rivets along one edge make
// two hands that serve all four corners of every piece, and no third plate; one corner alone of the other hand is served as well.
func TestTurnedInCorners(t *testing.T) {
	corners := []plane.Point{pt(19, 19), pt(581, 19), pt(581, 381), pt(19, 381)}
	along := []float64{0, 0, math.Pi, math.Pi}
	p := handPlan()
	add(p, plane.Rectangle(600, 400), pattern{pilot: 3, opened: 12.5}, corners, along).Job.Quantity = 2
	if jigs, _ := Gather(p); len(jigs) != 1 || jigs[0].Hand != "" || jigs[0].Twin {
		t.Errorf("one hole: %d jigs, hand %q", len(jigs), jigs[0].Hand)
	}
	for n := 4; n >= 2; n-- {
		p = handPlan()
		pan := add(p, plane.Rectangle(600, 400), common, corners[:n], along)
		pan.Job.Quantity = 2
		jigs, left := Gather(p)
		if len(jigs) != 2 || len(left) != 0 || jigs[0].Hand != "left" || jigs[1].Hand != "right" {
			t.Errorf("rivets in %d corners: %d jigs, left %v", n, len(jigs), left)
		}
	}
	// Three corners of two pieces: four stations of one hand, two of the other, which are too few alone.
	p = handPlan()
	p.Job.MarkingOut.JigLeast = 3
	add(p, plane.Rectangle(600, 400), common, corners[:3], along).Job.Quantity = 2
	if jigs, left := Gather(p); len(jigs) != 2 || len(left) != 0 || len(jigs[1].Serves[0].Stations) != 1 {
		t.Errorf("three corners: %d jigs, left %v", len(jigs), left)
	}
}

// isMirror compares two jigs hole by hole and pin by pin: as a set, since their order may differ.
func isMirror(t *testing.T, a, b *Jig) {
	t.Helper()
	over := func(p plane.Point) plane.Point { return pt(-p.X, p.Y) }
	for _, h := range a.Holes {
		found := false
		for _, o := range b.Holes {
			found = found || o.At.Dist(over(h.At)) < 1e-9 && o.Seat == h.Seat && o.Drill == h.Drill && o.Opened == h.Opened
		}
		if !found {
			t.Errorf("%s has a hole at %v, %s none at its mirror image", a.Name, h.At, b.Name)
		}
	}
	for _, p := range a.Fence.Pins {
		found := false
		for _, q := range b.Fence.Pins {
			found = found || q.Dist(over(p)) < 1e-9
		}
		if !found {
			t.Errorf("%s has a pin at %v, %s none at its mirror image", a.Name, p, b.Name)
		}
	}
	if len(a.Holes) != len(b.Holes) || len(a.Fence.Pins) != len(b.Fence.Pins) || a.Fence.Distance != b.Fence.Distance {
		t.Errorf("%s and %s have %d and %d holes, %d and %d pins", a.Name, b.Name, len(a.Holes), len(b.Holes), len(a.Fence.Pins), len(b.Fence.Pins))
	}
}

// rowsOf are the long jigs for stations of a pattern.
func rowsOf(outer plane.Path, of pattern, at ...plane.Point) []*Jig {
	p := handPlan()
	add(p, outer, of, at, make([]float64, len(at)))
	jigs, _ := Gather(p)
	var out []*Jig
	for _, j := range jigs {
		if j.Pitch > 0 {
			out = append(out, j)
		}
	}
	return out
}

// A row of one pitch has a long jig with a pin in the station before; rows of two pitches, of two stations, and past a bend have none.
func TestRows(t *testing.T) {
	long := plane.Rectangle(1000, 300)
	jigs := rowsOf(long, common, pt(100, 20), pt(300, 20), pt(500, 20), pt(700, 20))
	if len(jigs) != 1 {
		t.Fatalf("%d long jigs, want 1", len(jigs))
	}
	j := jigs[0]
	pin := j.Holes[len(j.Holes)-1]
	if j.Name != "jig-1-row-1" || math.Abs(j.Pitch-200) > same || len(j.Holes) != 4 || pin.At.Dist(pt(-200, 0)) > same || math.Abs(pin.Seat-12.7) > same {
		t.Errorf("%s: pitch %g, %d holes, pin %+v", j.Name, j.Pitch, len(j.Holes), pin)
	}
	if got := fmt.Sprint(j.Serves[0].Stations); got != "[1 2 3 4]" {
		t.Errorf("it serves %s", got)
	}
	// Past a bend the station before lies at the same distance along the edge, but 15 mm off it: 2a·cos θ = 200/cos θ.
	a := 100 * (1 + math.Pow(30.0/400, 2))
	for name, none := range map[string][]*Jig{
		"two pitches":  rowsOf(long, common, pt(100, 20), pt(300, 20), pt(500.3, 20)),
		"two stations": rowsOf(long, common, pt(100, 20), pt(300, 20)),
		"a bend":       rowsOf(plane.Polygon(pt(0, 0), pt(400, -30), pt(800, 0), pt(800, 300), pt(0, 300)), pattern{pilot: 3, opened: 12.5}, bent(400-a-200), bent(400-a), bent(400+a), bent(400+a+200)),
	} {
		if len(none) != 0 {
			t.Errorf("%s: %d long jigs, pitch %g, for %v", name, len(none), none[0].Pitch, none[0].Serves)
		}
	}
}

// bent is a place 20 mm off the lower edge that falls 30 mm from 0 to 400 and rises as much to 800.
func bent(x float64) plane.Point {
	slope := math.Atan2(30, 400)
	return pt(x, -30+math.Abs(x-400)*math.Tan(slope)+20/math.Cos(slope))
}

// Holes too near each other, by hand: seats of 12.7 and 6.2 mm with rivets 12 mm off leave 2.55 mm, less than the wall of 3 mm: plain
// guides of 3.1 mm then leave 4.1 mm. At 8 mm the pin's hole must go too: 6.2 and 3.1 mm leave 3.35 mm. At 7 mm only 2.35 mm are left.
func TestBushesOverlap(t *testing.T) {
	for _, c := range []struct {
		off, centre, rivet float64
		notes              []string
		none               string
	}{
		{12.5, 12.7, 6.2, nil, "too little between them"},
		{12, 12.7, 3.1, []string{"too little between them"}, "no room for a pin"},
		{8, 6.2, 3.1, []string{"too little between them", "no room for a pin"}, "make the plate of metal"},
		{7, 6.2, 3.1, []string{"too little between them", "no room for a pin", "Only 2.35 mm is left"}, "No bush"},
	} {
		close := common
		close.rivets = []plane.Point{pt(-c.off, 0), pt(c.off, 0)}
		p := handPlan()
		add(p, plane.Rectangle(600, 400), close, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
		j := one(t, p)
		if math.Abs(j.Holes[0].Seat-c.centre) > same || math.Abs(j.Holes[1].Seat-c.rivet) > same || (j.Holes[1].Bush == nil) != (c.rivet == 3.1) {
			t.Errorf("rivets at %g: seats %g and %g, want %g and %g", c.off, j.Holes[0].Seat, j.Holes[1].Seat, c.centre, c.rivet)
		}
		for _, n := range c.notes {
			if !noted(j, n) {
				t.Errorf("rivets at %g: no note of %q in %q", c.off, n, j.Notes)
			}
		}
		if noted(j, c.none) {
			t.Errorf("rivets at %g: %q in %q", c.off, c.none, j.Notes)
		}
	}
}

// A drill without a bush gets a plain guide, a tenth wider than itself, and a note that names it.
func TestNoBush(t *testing.T) {
	p := handPlan()
	p.Job.MarkingOut.Bushes = []stock.Bush{{Name: "shop", Over: 12.5, To: 12.5, Outside: 22, Length: 16}}
	add(p, plane.Rectangle(600, 400), pattern{opened: 12.5, rivet: 3.3, rivets: []plane.Point{pt(0, 18)}}, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	j := one(t, p)
	if j.Holes[0].Bush == nil || math.Abs(j.Holes[0].Seat-22.2) > same || j.Holes[1].Bush != nil || math.Abs(j.Holes[1].Seat-3.4) > same {
		t.Errorf("holes %+v", j.Holes)
	}
	if !noted(j, "No bush in the list has a bore of 3.3 mm") {
		t.Errorf("notes %q", j.Notes)
	}
}

// What serves fewer stations than the job asks for is left out and named; each of a panel's pieces counts.
func TestLeastStations(t *testing.T) {
	plan := func(quantity int) *setout.Plan {
		p := handPlan()
		p.Job.MarkingOut.JigLeast = 3
		add(p, plane.Rectangle(600, 400), common, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0}).Job.Quantity = quantity
		return p
	}
	jigs, left := Gather(plan(1))
	if len(jigs) != 0 || len(left) != 1 || strings.Join(left[0].Stations, " ") != "1 2" {
		t.Errorf("%d jigs, left %v", len(jigs), left)
	}
	if jigs, left = Gather(plan(2)); len(jigs) != 1 || len(left) != 0 {
		t.Errorf("of two pieces: %d jigs, left %v", len(jigs), left)
	}
	if jigs, left = Gather(handPlan()); len(jigs)+len(left) != 0 {
		t.Errorf("no panels: %d jigs, left %v", len(jigs), left)
	}
}

// Plate, insert and pin by hand, for a pilot of 2.5 mm opened to 8 mm in a sheet of 2 mm; (8 + 0.2) − 0.2 is less than 8 to a computer.
func TestParts(t *testing.T) {
	p := handPlan()
	add(p, plane.Rectangle(600, 400), pattern{pilot: 2.5, opened: 8}, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	parts, err := one(t, p).Parts()
	if err != nil {
		t.Fatal(err)
	}
	disc := func(d float64) float64 { return math.Pi * d * d / 4 }
	want := map[string]float64{
		// A bush for 2.5 mm is 5 mm outside (DIN 179, from memory).
		"jig-1 insert": 3*(disc(16)-disc(5.2)) + 8*(disc(8)-disc(5.2)),
		"jig-1 pin":    3*disc(16) + 8*disc(8) + 2*disc(7.8),
	}
	if len(parts) != 3 {
		t.Fatalf("%d parts, want plate, insert and pin", len(parts))
	}
	for _, q := range parts[1:] {
		if v := q.Volume(); math.Abs(v-want[q.Name]) > 1e-6 {
			t.Errorf("%s: %g mm³, want %g", q.Name, v, want[q.Name])
		}
	}
}

// Stations punched or cut without a drill give no bush.
func TestNoDrill(t *testing.T) {
	p := handPlan()
	pan := add(p, plane.Rectangle(600, 400), common, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	for i := range pan.Holes {
		if h := &pan.Holes[i]; h.Purpose == setout.PurposeCentre {
			h.Drill, h.Pilot, h.Cut, h.Wanted = nil, nil, true, 12.5
		}
	}
	if j := one(t, p); len(j.Holes) != 2 || j.Centre != -1 {
		t.Errorf("%d holes, centre %d: want the two rivets", len(j.Holes), j.Centre)
	}
}
