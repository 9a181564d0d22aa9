package job

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"panelwright/internal/outline"
	"panelwright/internal/plane"
)

// An edge on a cylinder lies flat true, and nothing warns; one on a sphere of R = 1000 does not: with half sides 200 and 150 its sides'
// sagittas are 20.2 and 11.3 mm, and what is unrolled along one pair stands off by a good part of the other.
func TestImportWarnings(t *testing.T) {
	const radius = 1000.0
	text, _, _ := strings.Cut(importJob, "    supports:")
	text = strings.Replace(strings.Replace(text, "    keep-outs:\n      - { name: lamp, layer: LAMPS }\n", "", 1), "OUTLINE", "file: lid.csv", 1)
	for _, sphere := range []bool{false, true} {
		rows := "x mm,y mm,z mm\n"
		for i := range 60 {
			edge := plane.Rectangle(400, 300)
			p := edge.At(edge.Length() * float64(i) / 60).Sub(plane.Point{X: 200, Y: 150})
			z := math.Sqrt(radius*radius - p.X*p.X)
			if sphere {
				z = math.Sqrt(radius*radius - p.Dot(p))
			}
			rows += fmt.Sprintf("%.6f,%.6f,%.6f\n", p.X, p.Y, z)
		}
		j, faults := Read("job.yaml", []byte(text), func(string) ([]byte, error) { return []byte(rows), nil })
		if len(j.Panels) != 1 || j.Panels[0].Imported == nil {
			t.Fatal(faults)
		}
		p := j.Panels[0]
		d, w := p.Imported.Developed, j.ImportWarnings(p)
		if d == nil || (len(w) == 1) != sphere || (d.Ruled > 3 && d.Ruled < 11.3) != sphere || len(j.MeasureAgain(p)) != len(w) {
			t.Errorf("sphere %v: %+v %q", sphere, d, w)
		}
		for _, s := range w {
			if !strings.Contains(s, j.size(d.Ruled)) || !strings.Contains(s, "before anything is cut") || !strings.Contains(s, "lid.csv") {
				t.Error(s)
			}
		}
	}
	for _, d := range []outline.Developed{{Ruled: 1.01}, {Step: -1.01, StepAt: 3}} { // either is enough
		if w := (&Job{}).ImportWarnings(&Panel{Imported: &Imported{Developed: &d}}); len(w) != 1 {
			t.Errorf("%+v: %q", d, w)
		}
	}
	if w := (&Job{}).ImportWarnings(&Panel{Imported: &Imported{Developed: &outline.Developed{Ruled: 1, Step: 1}}}); len(w) != 0 {
		t.Error(w)
	}
}
