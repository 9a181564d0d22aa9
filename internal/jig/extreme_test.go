package jig

import (
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"panelwright/internal/exampleplan"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// Whatever a job may say about jigs, every file of them is drawn; stations that no plate can serve are named with the reason.
func TestExtremes(t *testing.T) {
	p := exampleplan.All(t, "../..")["01-sprint"]
	text, err := os.ReadFile("../../examples/01-sprint/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, jig := range []string{
		"bushes: [ { bore: 3.0 mm, outside: 25 mm, length: 12 mm } ]",
		"bushes: [ { bore: 3.0 mm, outside: 100 mm, length: 100 mm } ], clearance: 2 mm",
		"bushes: [ { bore: 3.0 mm, outside: 3.01 mm, length: 0.5 mm } ], clearance: -0.2 mm",
		"bushes: [ { bore: 3.0 mm, outside: 12.4 mm, length: 5 mm } ], wall: 0.4 mm",
		"bushes: [ { bore: 0.5 mm, outside: 0.6 mm, length: 5 mm } ], least stations: 1",
		"clearance: 2 mm, plate: 1 mm", "clearance: -0.2 mm, fence: 0.5 mm",
		"wall: 0.4 mm, clearance: -0.2 mm, fence: 100 mm, plate: 1 mm", "wall: 50 mm, clearance: 2 mm, fence: 0.5 mm, plate: 60 mm",
	} {
		j, faults := job.Read("job.yaml", []byte(strings.Replace(string(text), "\nconditions:", "\nmarking out: { jig: { "+jig+" } }\n\nconditions:", 1)),
			func(string) ([]byte, error) { return nil, os.ErrNotExist })
		if len(faults) > 0 {
			t.Fatalf("%s: %v", jig, faults)
		}
		p.Job.MarkingOut = j.MarkingOut
		if err := drawAll(p); err != nil {
			t.Errorf("%s: %v", jig, err)
		}
	}
}

// drawAll draws every file of a plan's jigs.
func drawAll(p *setout.Plan) error {
	pages, err := Pages(p)
	if err != nil {
		return err
	}
	if err := sheet.WritePDF(io.Discard, pages, sheet.Info{}); err != nil {
		return err
	}
	jigs, _ := Gather(p)
	for _, j := range jigs {
		for _, draw := range []func(io.Writer) error{j.WriteDXF, j.WriteSTL, j.Write3MF} {
			if err := draw(io.Discard); err != nil {
				return fmt.Errorf("%s: %w", j.Name, err)
			}
		}
	}
	return nil
}

// Holes that not even plain guides keep apart have no jig, and jigs.pdf says why; holes of 3.1 mm at 3.2 mm leave 0.1 mm.
func TestNoRoom(t *testing.T) {
	p := handPlan()
	near := common
	near.rivets = []plane.Point{pt(-3.2, 0), pt(3.2, 0)}
	add(p, plane.Rectangle(600, 400), near, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	jigs, left := Gather(p)
	if len(jigs) != 0 || len(left) != 1 || !strings.Contains(left[0].Why, "would leave 0.10 mm between them") {
		t.Fatalf("%d jigs, left %+v", len(jigs), left)
	}
	if words := wordsOf(t, p); !strings.Contains(words, "would leave 0.10 mm") {
		t.Errorf("jigs.pdf does not say why: %s", words)
	}
}

// wordsOf are the texts of jigs.pdf.
func wordsOf(t *testing.T, p *setout.Plan) string {
	t.Helper()
	p.Job.Paper = "A4"
	pages, err := Pages(p)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, s := range pages {
		for _, item := range s.Items {
			if text, ok := item.(sheet.Text); ok {
				out = append(out, text.S)
			}
		}
	}
	return strings.Join(out, " ")
}

// With a bush of 25 mm the rivets 14 mm off are plain guides and the pilot's bush stands in an insert: by hand 25 + 3 mm outside, seat
// 0.2 mm more; 14 − (28.2 + 3.1)/2 mm is less than nothing, so the pin must go; then 14 − (25.2 + 3.1)/2 = −0.15 mm, so the bush too.
func TestBigBush(t *testing.T) {
	p := handPlan()
	p.Job.MarkingOut.Bushes = []stock.Bush{{Over: 3, To: 3, Outside: 25, Length: 12}}
	add(p, plane.Rectangle(600, 400), common, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	j := one(t, p)
	for i, h := range j.Holes {
		if h.Bush != nil || math.Abs(h.Seat-3.1) > same {
			t.Errorf("hole %d: %+v, want a plain guide", i+1, h)
		}
	}
	if !noted(j, "all holes are plain guides") || !noted(j, "no room for a pin") {
		t.Errorf("notes %q", j.Notes)
	}
}

// For a press fit bushes' holes are 0.2 mm smaller than they; pins and inserts slide by 0.1 mm all the same.
func TestPressFit(t *testing.T) {
	p := handPlan()
	p.Job.MarkingOut.JigClearance.Value = -0.2
	add(p, plane.Rectangle(600, 400), common, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	j := one(t, p)
	if math.Abs(j.Holes[0].Seat-12.6) > same || math.Abs(j.Holes[1].Seat-5.8) > same {
		t.Errorf("seats %g and %g, want 12.6 and 5.8", j.Holes[0].Seat, j.Holes[1].Seat)
	}
	parts, err := j.Parts()
	if err != nil || len(parts) != 3 {
		t.Fatal(len(parts), err)
	}
	for i, want := range map[int][]float64{1: {20.5, 12.5}, 2: {20.5, 12.5, 12.4}} {
		for k, d := range want {
			if got := parts[i].Slabs[k].Regions[0].Outer.Bounds().Width(); math.Abs(got-d) > 1e-9 {
				t.Errorf("%s: step %d is %g mm, want %g", parts[i].Name, k, got, d)
			}
		}
	}
	if words := wordsOf(t, p); !strings.Contains(words, "0.10 mm for pins and inserts, which slide") {
		t.Error("the page does not say how pins slide")
	}
}

// A row's page says what stands in the station before, at both sizes of its hole, and there is an insert for each.
func TestRowWords(t *testing.T) {
	j := rowsOf(plane.Rectangle(1000, 300), common, pt(100, 20), pt(300, 20), pt(500, 20))[0]
	parts, err := j.Parts()
	if err != nil || len(parts) != 4 || parts[1].Name != "jig-1-row-1 insert" || parts[2].Name != "jig-1-row-1 insert 2" {
		t.Fatal(len(parts), err)
	}
	for _, want := range []string{"an insert in hole 1, the other in hole 4", "shank of the 3 mm drill", "the pin through hole 4 into the opened hole"} {
		if !noted(j, want) {
			t.Errorf("no %q in %q", want, j.Notes)
		}
	}
}

// A plate of one hole has no rivets to speak of; a bore that no bush has is named once.
func TestWordsThatFit(t *testing.T) {
	p := handPlan()
	p.Job.MarkingOut.Bushes = nil
	add(p, plane.Rectangle(600, 400), pattern{pilot: 3, opened: 12.5}, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	if words := strings.Join(one(t, p).words(), " "); strings.Contains(words, "ivet") {
		t.Error(words)
	}
	p.Panels = p.Panels[:0]
	add(p, plane.Rectangle(600, 400), common, []plane.Point{pt(150, 20), pt(300, 20)}, []float64{0, 0})
	if n := strings.Count(strings.Join(one(t, p).words(), " "), "No bush in the list"); n != 1 {
		t.Errorf("%d times that there is no bush", n)
	}
}
