package sheet

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"panelwright/internal/plane"
)

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

// want fails unless got is within tol of the value wanted.
func want(t *testing.T, what string, got, wanted, tol float64) {
	t.Helper()
	if !(math.Abs(got-wanted) <= tol) {
		t.Errorf("%s: %.6g, want %.6g ± %g", what, got, wanted, tol)
	}
}

// file puts bytes into a file of the test's own folder.
func file(t *testing.T, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// roundedPlate is 600 × 300 mm with corners of 40 mm and a round cut-out of 100 mm, in panel coordinates.
func roundedPlate() plane.Region {
	b := math.Tan(math.Pi / 8)
	v := func(x, y, bulge float64) plane.Vertex { return plane.Vertex{Point: pt(x, y), Bulge: bulge} }
	return plane.Region{
		Outer: plane.Path{Closed: true, V: []plane.Vertex{v(40, 0, 0), v(560, 0, b), v(600, 40, 0), v(600, 260, b),
			v(560, 300, 0), v(40, 300, b), v(0, 260, 0), v(0, 40, b)}},
		CutOuts: []plane.Path{{Closed: true, V: []plane.Vertex{v(250, 150, 1), v(350, 150, 1)}}},
	}
}

// specimen is a page with one of everything.
func specimen() Sheet {
	s := Sheet{Title: "Specimen, Ø ½ & <more>", W: A4.W, H: A4.H}
	s.Add(Text{At: pt(15, 22), Size: Letters70, S: "Nose lid, sample", Font: Bold, Layer: LayerText})
	letters, _ := Block(15, 25, 180, usedRunes, Letters25, Regular)
	s.Add(letters...)
	v := View{Origin: pt(30, 110), Scale: 0.2}
	reg := v.Region(roundedPlate())
	s.Add(Hatch{Region: reg, Angle: math.Pi / 4, Pitch: 3, Pen: Fine, Layer: LayerHatch})
	s.Add(Stroke{Path: reg.Outer, Pen: &Outline, Layer: LayerOutline}, Stroke{Path: reg.CutOuts[0], Pen: &Outline, Layer: LayerOutline})
	for _, x := range []float64{40, 170, 300, 430, 560} {
		for _, y := range []float64{30, 270} {
			s.Add(Circle{At: v.Map(pt(x, y)), R: 1.6, Pen: &Outline, Fill: &White, Layer: LayerOutline})
			s.Add(CentreMark(v.Map(pt(x, y)), 9)...)
		}
	}
	s.Add(Text{At: v.Map(pt(450, 150)), Size: Letters25, S: "halo on a hatch", Align: Centre, Halo: true, Turn: 0.3, Layer: LayerText})
	s.Add(Dimension(v.Map(pt(0, 0)), v.Map(pt(600, 0)), 9, "600")...)
	s.Add(Dimension(v.Map(pt(600, 0)), v.Map(pt(600, 300)), 9, "300")...)
	s.Add(Dimension(v.Map(pt(0, 300)), v.Map(pt(40, 270)), -5, "50")...)
	s.Add(Dimension(v.Map(pt(170, 270)), v.Map(pt(220, 270)), -9, "50 ± 0.5")...)
	s.Add(Dimension(v.Map(pt(430, 270)), v.Map(pt(455, 270)), -9, "25")...)
	s.Add(Leader(v.Map(pt(560, 270)), v.Map(pt(700, 330)), "station 5\nØ 4.3 sample stud")...)
	s.Add(Leader(v.Map(pt(40, 30)), v.Map(pt(-40, -60)), "1")...)
	s.Add(CheckScale(30, 150, 100, true)...)
	s.Add(CheckScale(190, 140, 100, false)...)
	s.Add(CheckScale(90, 167, 40, true)...)
	s.Add(ScaleBar(30, 163, 0.2, 50, 4)...)
	s.Add(RegistrationMark(pt(15, 150))...)
	s.Add(Arrow(pt(150, 158), pt(165, 158))...)
	items, h, _ := specimenTable().Layout(20, 174, 290)
	s.Add(items...)
	items, _ = Block(20, 174+h+4, 150, "Close every station on skin pins before any rivet is set. Measure the stack and "+
		"the depth of the receptacle at each station, and write both down.\nA second paragraph follows here.", Letters25, Regular)
	s.Add(items...)
	page := plane.Region{Outer: plane.Polygon(pt(0, 0), pt(210, 0), pt(210, 297), pt(0, 297))}
	s.Add(Clip{X: 20, Y: 262, W: 60, H: 20, Items: []Item{
		Circle{At: pt(30, 270), R: 14, Pen: &Hidden, Layer: LayerHidden},
		Clip{X: 40, Y: 250, W: 100, H: 25, Items: []Item{
			Hatch{Region: page, Angle: -math.Pi / 6, Pitch: 2, Cross: true, Pen: Fine, Layer: LayerHatch}}},
	}})
	s.Add(Rectangle(20, 262, 60, 20, &Cut, nil, LayerTable))
	return s
}

func specimenTable() Table {
	return Table{
		Columns: []Column{{"Station", 18, Centre}, {"Stud", 44, Left}, {"Drill mm", 24, Right}, {"Found", 22, Left}, {"What to do where it is off", 50, Left}},
		Rows: [][]string{{"1", "sample-raised-14", "4.3", "▢", "Set one shim more under the receptacle, then close again and look."},
			{"2", "sample-raised-14", "4.3", "▢"}, {"3", "sample-flush-09", "10.0", "✓ 6.2 mm", "No remark."}},
		RowMin: 8, Strong: []bool{true},
	}
}
