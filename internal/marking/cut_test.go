package marking

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// cutPlan is one panel of 400 × 300 mm from (−10, 5), with a gasket between and two stations.
func cutPlan(holes ...setout.Hole) *setout.Plan {
	pan := &setout.Panel{Job: &job.Panel{ID: "lid", Name: "Lid", Quantity: 1,
		Outline: plane.Region{Outer: plane.Rectangle(400, 300).Transform(plane.Move(plane.Point{X: -10, Y: 5}))},
		Outer:   job.Layer{Name: "outer"}, Between: []job.Layer{{Name: "Gasket 1"}}, Inner: job.Layer{Name: "inner"}}}
	pan.Job.Outline.CutOuts = []plane.Path{plane.CircleAt(plane.Point{X: 200, Y: 150}, 30).Reverse()}
	for _, id := range []string{"1", "2"} {
		pan.Stations = append(pan.Stations, &setout.Station{ID: id, At: plane.Point{X: 100, Y: 25}, Choice: &setout.Choice{}})
	}
	pan.Holes = holes
	return &setout.Plan{Job: &job.Job{Name: "Sample", MarkingOut: job.MarkingOut{Holes: "final"}}, Panels: []*setout.Panel{pan}}
}

func drill(d float64) *stock.Drill { return &stock.Drill{Diameter: d} }

// drawnCircle is a circle in panel coordinates: x, y, diameter.
type drawnCircle [3]float64

// circlesOn are the circles of a layer, and its strokes, in panel coordinates.
func circlesOn(c Cutting, layer string) (circles []drawnCircle, paths []plane.Path) {
	back := plane.Mirror(plane.Point{}, plane.Point{X: 1}).Then(plane.Move(plane.Point{X: -c.Origin.X, Y: c.Origin.Y}))
	for _, item := range c.Sheet.Items {
		switch m := item.(type) {
		case sheet.Circle:
			if m.Layer == layer {
				at := back.Apply(m.At)
				circles = append(circles, drawnCircle{round6(at.X), round6(at.Y), round6(2 * m.R)})
			}
		case sheet.Stroke:
			if m.Layer == layer {
				paths = append(paths, m.Path.Transform(back))
			}
		}
	}
	return circles, paths
}

func round6(v float64) float64 { return math.Round(v*1e6) / 1e6 }

// Each layer has its own holes: at the drill's diameter, else at what is wanted, at the pilot's when pilots are asked for; a slot is a
// closed outline; a row that works on another's hole makes none, but its countersink's rim is marked.
func TestCuttings(t *testing.T) {
	at := func(x float64) plane.Point { return plane.Point{X: x, Y: 25} }
	sink := &setout.Countersink{Diameter: 6}
	p := cutPlan(
		setout.Hole{Station: "1", Layer: "inner", At: at(100), Wanted: 8.4, Drill: drill(8.5), Pilot: drill(3)},
		setout.Hole{Station: "1", Layer: "outer", At: at(100), Wanted: 12.4, Drill: drill(12.5), Pilot: drill(3)},
		setout.Hole{Station: "1", Layer: "outer", At: at(86), Wanted: 3.2, Countersink: sink},
		setout.Hole{Station: "1", Layer: "outer", At: at(86), Wanted: 3.2, Operation: true, Countersink: &setout.Countersink{Diameter: 5.3}},
		setout.Hole{Station: "1", Layer: "Gasket 1", At: at(100), Length: 36, Width: 20, Dir: math.Pi / 2, Wanted: 20, Cut: true},
	)
	for _, c := range []struct {
		holes                      string
		outer, inner, sunk, gasket []drawnCircle
	}{
		{"final", []drawnCircle{{100, 25, 12.5}, {86, 25, 3.2}}, []drawnCircle{{100, 25, 8.5}}, []drawnCircle{{86, 25, 6}, {86, 25, 5.3}}, nil},
		{"pilot", []drawnCircle{{100, 25, 3}, {86, 25, 3.2}}, []drawnCircle{{100, 25, 3}}, nil, nil},
	} {
		p.Job.MarkingOut.Holes = c.holes
		cuts, err := Cuttings(p)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, cut := range cuts {
			names = append(names, cut.Name)
		}
		if want := []string{"cut-lid-outer", "cut-lid-gasket-1", "cut-lid-inner"}; !slices.Equal(names, want) {
			t.Fatalf("%s: drawings %q, want %q: from outside inwards", c.holes, names, want)
		}
		for i, want := range [][]drawnCircle{c.outer, c.gasket, c.inner} {
			if got, _ := circlesOn(cuts[i], cutHoles); !slices.Equal(got, want) {
				t.Errorf("%s: %s has the holes %v, want %v", c.holes, names[i], got, want)
			}
		}
		if got, _ := circlesOn(cuts[0], cutSinks); !slices.Equal(got, c.sunk) {
			t.Errorf("%s: countersinks %v, want %v", c.holes, got, c.sunk)
		}
		// By hand: 36 mm long upwards, 20 mm across, about (100, 25).
		_, slots := circlesOn(cuts[1], cutHoles)
		if len(slots) != 1 || !slots[0].Closed {
			t.Fatalf("%s: %d slots, closed %v", c.holes, len(slots), slots)
		}
		if box := slots[0].Bounds(); box.Min.Dist(plane.Point{X: 90, Y: 7}) > 1e-9 || box.Max.Dist(plane.Point{X: 110, Y: 43}) > 1e-9 {
			t.Errorf("%s: the slot spans %v", c.holes, box)
		}
	}
}

// The outer panel's outline is cut in its own drawing, in panel coordinates, and stands for reference in the others.
func TestCuttingOutline(t *testing.T) {
	cuts, err := Cuttings(cutPlan(setout.Hole{Layer: "inner", At: plane.Point{X: 100, Y: 25}, Drill: drill(8.5)}))
	if err != nil || len(cuts) != 2 {
		t.Fatal(len(cuts), err)
	}
	for i, layers := range [][2]string{{cutOutline, cutReference}, {cutReference, cutOutline}} {
		_, has := circlesOn(cuts[i], layers[0])
		_, none := circlesOn(cuts[i], layers[1])
		if len(has) != 2 || len(none) != 0 {
			t.Fatalf("%s: %d loops on %s, %d on %s", cuts[i].Name, len(has), layers[0], len(none), layers[1])
		}
		if box := has[0].Bounds(); box.Min.Dist(plane.Point{X: -10, Y: 5}) > 1e-9 || box.Max.Dist(plane.Point{X: 390, Y: 305}) > 1e-9 {
			t.Errorf("%s: outline spans %v", cuts[i].Name, box)
		}
		if a := math.Abs(has[1].Area()); math.Abs(a-900*math.Pi) > 1e-6 {
			t.Errorf("%s: cut-out of %g mm²", cuts[i].Name, a)
		}
	}
}

// Layers whose names make one word have files of their own; a station's number that no letters show is an error, not left out.
func TestCuttingNames(t *testing.T) {
	p := cutPlan(setout.Hole{Layer: "Gasket 1", Drill: drill(3)}, setout.Hole{Layer: "gasket-1", Drill: drill(3)}, setout.Hole{Layer: "–", Drill: drill(3)})
	cuts, err := Cuttings(p)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, c := range cuts {
		names = append(names, c.Name)
	}
	if want := []string{"cut-lid-outer", "cut-lid-gasket-1", "cut-lid-gasket-1-2", "cut-lid-layer"}; !slices.Equal(names, want) {
		t.Errorf("files %q, want %q", names, want)
	}
	p.Panels[0].Stations[1].ID = "\U0001F527"
	var missing *sheet.MissingGlyph
	if _, err := Cuttings(p); !errors.As(err, &missing) {
		t.Errorf("a number without a letter: %v, want a missing glyph", err)
	}
}

// With a crown of 8 mm along 400 mm a stack of 3 mm makes the layers behind shorter about the middle, x = 190: R = (4·8² + 400²)/(8·8) =
// 2504 mm, factor 1 − 3/2504. The outer panel keeps its length, and without a crown every layer does.
func TestCuttingCrown(t *testing.T) {
	at := plane.Point{X: 100, Y: 25}
	for _, crown := range []float64{0, 8} {
		p := cutPlan(setout.Hole{Station: "1", Layer: "outer", At: at, Drill: drill(12.5)}, setout.Hole{Station: "1", Layer: "inner", At: at, Drill: drill(8.5)})
		p.Panels[0].Job.Crown.Along = crown
		p.Panels[0].Stations[0].Stack.Nom = 3
		factor := 1.0
		if crown > 0 {
			factor = 1 - 3/2504.0
		}
		cuts, err := Cuttings(p)
		if err != nil || len(cuts) != 2 {
			t.Fatal(len(cuts), err)
		}
		for i, f := range []float64{1, factor} {
			holes, _ := circlesOn(cuts[i], cutHoles)
			_, edge := circlesOn(cuts[i], []string{cutOutline, cutReference}[i])
			if x := 190 + f*(100-190); len(holes) != 1 || math.Abs(holes[0][0]-x) > 1e-6 || holes[0][1] != 25 {
				t.Errorf("crown %g: %s has a hole at %v, want x = %.6f", crown, cuts[i].Name, holes, x)
			}
			if w := edge[0].Bounds().Width(); math.Abs(w-400*f) > 1e-9 {
				t.Errorf("crown %g: %s is %.6f mm across, want %.6f", crown, cuts[i].Name, w, 400*f)
			}
		}
		notes := cutNotes(p.Job, Inner(p).Panels[0], "inner", false, false)
		said := strings.Contains(strings.Join(notes, " "), "inner panel's own length")
		if said != (crown > 0) {
			t.Errorf("crown %g: that it is shorter is said: %v", crown, said)
		}
	}
}
