package drawing

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// The drawing is to scale: outline, stations and witness bars stand where one view of a usual scale puts them.
func TestPanelSheetToScale(t *testing.T) {
	plan := decided.Drawn("A4")
	for _, p := range plan.Panels {
		s := PanelSheet(plan.Job, p, PanelViewFull)
		if s.W != 280 || s.H > 280 {
			t.Errorf("%s: sheet of %.1f × %.1f mm", p.Job.ID, s.W, s.H)
		}
		var outline plane.Box
		var rings, bars []sheet.Item
		for _, it := range s.Items {
			switch it := it.(type) {
			case sheet.Stroke:
				if it.Layer == sheet.LayerOutline && outline == (plane.Box{}) {
					outline = it.Path.Bounds()
				}
				if it.Layer == "witness" {
					bars = append(bars, it)
				}
			case sheet.Circle:
				if it.Layer == "stations" {
					rings = append(rings, it)
				}
			}
		}
		real := p.Job.Outline.Outer.Bounds()
		scale := outline.Width() / real.Width()
		if math.Abs(outline.Height()/real.Height()-scale) > 1e-9 {
			t.Errorf("%s: %.5f across and %.5f down", p.Job.ID, scale, outline.Height()/real.Height())
		}
		if len(rings) != len(p.Stations) || len(bars) != len(p.Stations) {
			t.Fatalf("%s: %d rings and %d bars for %d stations", p.Job.ID, len(rings), len(bars), len(p.Stations))
		}
		view := sheet.View{Scale: scale, Origin: plane.Point{X: outline.Min.X - scale*real.Min.X, Y: outline.Max.Y + scale*real.Min.Y}}
		for i, st := range p.Stations {
			if d := rings[i].(sheet.Circle).At.Dist(view.Map(st.At)); d > 1e-9 {
				t.Errorf("%s station %s: ring %.3f mm off", p.Job.ID, st.ID, d)
			}
			bar := bars[i].(sheet.Stroke).Path
			along := view.Unmap(bar.V[1].Point).Sub(view.Unmap(bar.V[0].Point)).Unit()
			if off := along.Cross(plane.Point{X: 1}.Rotate(st.Dir)); math.Abs(off) > 1e-9 {
				t.Errorf("%s station %s: the witness bar does not lie along the rivet line", p.Job.ID, st.ID)
			}
		}
	}
}

// The SVG is well-formed, the same twice, and tells every station's number and every tape distance.
func TestPanelSVG(t *testing.T) {
	plan := decided.Drawn("A4")
	for _, p := range plan.Panels {
		var a, b bytes.Buffer
		if err := errors.Join(PanelSVG(&a, plan, p), PanelSVG(&b, plan, p)); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: other bytes the second time", p.Job.ID)
		}
		dec := xml.NewDecoder(bytes.NewReader(a.Bytes()))
		for {
			if _, err := dec.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", p.Job.ID, err)
			}
		}
		for _, st := range p.Stations {
			for _, want := range []string{">" + st.ID + "<", ">" + panelTape(plan.Job, TapeOf(p, st).Along) + "<"} {
				if !strings.Contains(a.String(), want) {
					t.Errorf("%s station %s: %q is not in the drawing", p.Job.ID, st.ID, want)
				}
			}
		}
	}
}

// The same plan gives the same templates, byte by byte.
func TestTemplatesAreTheSameTwice(t *testing.T) {
	var out [2]bytes.Buffer
	for i := range out {
		sheets, err := Templates(decided.Drawn("A4"))
		if err != nil {
			t.Fatal(err)
		}
		if err := sheet.WritePDF(&out[i], sheets, sheet.Info{Title: "t"}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(out[0].Bytes(), out[1].Bytes()) {
		t.Error("other bytes the second time")
	}
}

func BenchmarkTemplates(b *testing.B) {
	plan := decided.Drawn("A4")
	for b.Loop() {
		if _, err := Templates(plan); err != nil {
			b.Fatal(err)
		}
	}
}
