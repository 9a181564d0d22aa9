package sheet

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"panelwright/internal/outline"
	"panelwright/internal/plane"
)

// The area of a letter's outlines: capital I of the face is a bar, and O has a hole.
func TestTextPathsTurnRight(t *testing.T) {
	paths, err := TextPaths(Text{S: "O", Size: 20})
	if err != nil || len(paths) != 2 {
		t.Fatal(len(paths), err)
	}
	if a, b := paths[0].Area(), paths[1].Area(); a*b >= 0 {
		t.Errorf("areas %g and %g: outline and hole run alike", a, b)
	}
	for _, p := range paths {
		if f := p.Facts(); len(f) > 0 {
			t.Error(f)
		}
	}
	// Aligned as the text is.
	w := TextWidth("HOH", 10, Bold)
	right, _ := TextPaths(Text{S: "HOH", Size: 10, Font: Bold, Align: Right})
	box := plane.EmptyBox()
	for _, p := range right {
		box = box.Union(p.Bounds())
	}
	if box.Max.X > 0.1 || box.Min.X < -w-0.1 || math.Abs(box.Min.Y+10*CapHeight) > 0.3 {
		t.Errorf("%+v, %g wide", box, w)
	}
}

func TestDXFRefusesClips(t *testing.T) {
	s := Sheet{W: 100, H: 100, Items: []Item{Clip{X: 0, Y: 0, W: 50, H: 50, Items: []Item{Line(plane.Point{}, plane.Point{X: 9}, &Outline, "a")}}}}
	var bad *BadMark
	if err := WriteDXF(&bytes.Buffer{}, s, plane.Point{}, []DXFLayer{{"a", "A", 1}}); !errors.As(err, &bad) {
		t.Error(err)
	}
}

// What is written is read back by the project's own reader; outside programs read it in peer.
func TestDXFReadBack(t *testing.T) {
	s := Sheet{W: 200, H: 100}
	r, err := plane.RoundedRectangle(80, 50, 8)
	if err != nil {
		t.Fatal(err)
	}
	v := View{Origin: plane.Point{X: 10, Y: 90}, Scale: 1}
	s.Add(Stroke{Path: v.Path(r), Pen: &Outline, Layer: "cut"}, Circle{At: plane.Point{X: 50, Y: 50}, R: 4.25, Pen: &Outline, Layer: "hole"},
		Text{At: plane.Point{X: 20, Y: 80}, S: "Ø 8.5", Size: 7, Layer: "text"}, Line(plane.Point{}, plane.Point{X: 9}, &Outline, "not listed"))
	var b bytes.Buffer
	if err := WriteDXF(&b, s, plane.Point{Y: 100}, []DXFLayer{{"cut", "CUT", 1}, {"hole", "HOLE", 5}, {"text", "TEXT", 3}}); err != nil {
		t.Fatal(err)
	}
	d, err := outline.ReadDXF(b.Bytes(), outline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := d.Panel(0, "TEXT")
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Notes) > 0 || len(p.Region.CutOuts) != 1 || len(p.Named) < 6 {
		t.Errorf("%d cut-outs, %d letters, %v", len(p.Region.CutOuts), len(p.Named), p.Notes)
	}
	want := 80*50 - (4-math.Pi)*64 - math.Pi*4.25*4.25
	if a := p.Region.Area(); math.Abs(a-want) > 1e-6*want {
		t.Errorf("area %g, by closed form %g", a, want)
	}
	if c, ok := p.Region.CutOuts[0].Centroid(); !ok || c.Dist(plane.Point{X: 50, Y: 50}) > 1e-6 {
		t.Errorf("hole at %v", c)
	}
}
