package marking

import (
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// On the strips of the examples no level text stands on the outline, which is laid on the panel's edge.
func TestStripsKeepOutlineClear(t *testing.T) {
	papers(t, func(name string, p *setout.Plan) {
		sheets, strips, err := StripPages(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range strips {
			var outer plane.Path
			for _, pan := range p.Panels {
				if pan.Job.ID == s.Panel {
					outer = pan.Job.Outline.Outer
				}
			}
			for _, x := range drawing.TextsOf(sheets[s.Page].Items) {
				box := drawing.TextQuad(x).Box()
				if x.Turn != 0 || x.Layer == sheet.LayerTable || !s.Box.Has(box.Centre()) {
					continue
				}
				for at := 0.0; at < outer.Length(); at++ {
					if box.Has(s.Map(outer.At(at))) {
						t.Errorf("%s, %s %s: %q stands on the outline", name, s.Panel, s.Name, x.S)
						break
					}
				}
			}
		}
	})
}
