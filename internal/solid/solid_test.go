package solid

import (
	"bytes"
	"math"
	"testing"

	"panelwright/internal/plane"
)

func plateWithHoles(t testing.TB) (slabs []Slab, volume float64) {
	outer, err := plane.RoundedRectangle(120, 70, 6)
	if err != nil {
		t.Fatal(err)
	}
	base := plane.Region{Outer: outer}
	area := 120*70 - (4-math.Pi)*36.0
	for _, h := range []struct{ x, y, r float64 }{{40, 35, 8.25}, {20, 35, 1.65}, {60, 35, 1.65}, {90, 20, 12.5}} {
		base.CutOuts = append(base.CutOuts, plane.CircleAt(plane.Point{X: h.x, Y: h.y}, h.r).Reverse())
		area -= math.Pi * h.r * h.r
	}
	fence := plane.Region{Outer: plane.Rectangle(96, 8).Transform(plane.Move(plane.Point{X: 12}))}
	pin := plane.Region{Outer: plane.CircleAt(plane.Point{X: 105, Y: 50}, 4)}
	volume = area*6 + (96*8+math.Pi*16)*9.5
	return []Slab{{0, 6, []plane.Region{base}}, {6, 15.5, []plane.Region{fence, pin}}}, volume
}

// Volumes are by the closed forms of rectangle and circle.
func TestVolumeClosedForm(t *testing.T) {
	slabs, want := plateWithHoles(t)
	s, err := Build("plate", slabs)
	if err != nil {
		t.Fatal(err)
	}
	if v := s.Volume(); math.Abs(v-want) > 1e-9*want {
		t.Errorf("%.9g mm³, by closed form %.9g", v, want)
	}
	t.Log(len(s.At), len(s.Tris), want)
	var b bytes.Buffer
	if err := s.WriteSTL(&b); err != nil || b.Len() != 84+50*len(s.Tris) {
		t.Error(err, b.Len())
	}
	var z, y bytes.Buffer
	if err := Write3MF(&z, "plate", []*Shell{s, s}); err != nil {
		t.Error(err)
	}
	Write3MF(&y, "plate", []*Shell{s, s})
	if !bytes.Equal(z.Bytes(), y.Bytes()) {
		t.Error("not the same bytes twice")
	}
}

func BenchmarkBuild(b *testing.B) {
	slabs, _ := plateWithHoles(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Build("plate", slabs); err != nil {
			b.Fatal(err)
		}
	}
}
