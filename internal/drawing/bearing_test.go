package drawing

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

func layerOf(items []sheet.Item, layer string) (strokes []sheet.Stroke, circles []sheet.Circle) {
	for _, it := range items {
		switch it := it.(type) {
		case sheet.Stroke:
			if it.Layer == layer {
				strokes = append(strokes, it)
			}
		case sheet.Circle:
			if it.Layer == layer {
				circles = append(circles, it)
			}
		}
	}
	return strokes, circles
}

// borne gives the panels of the drawn plan a bearing, with a dome of mm.
func borne(mm float64) *setout.Plan {
	plan := decided.Drawn("A4")
	for _, p := range plan.Panels {
		decided.Bear(p, mm)
	}
	return plan
}

// pictureView is how the picture maps the panel: the middles of the stations' rings say it.
func pictureView(t *testing.T, p *setout.Panel, s sheet.Sheet) sheet.View {
	t.Helper()
	_, rings := layerOf(s.Items, "stations")
	var at []plane.Point
	for _, c := range rings {
		if c.Pen != nil {
			at = append(at, c.At)
		}
	}
	if len(at) != len(p.Stations) {
		t.Fatalf("%d rings for %d stations", len(at), len(p.Stations))
	}
	a, b := p.Stations[0].At, p.Stations[len(at)/2].At
	scale := at[0].Dist(at[len(at)/2]) / a.Dist(b)
	v := sheet.View{Scale: scale, Origin: plane.Point{X: at[0].X - scale*a.X, Y: at[0].Y + scale*a.Y}}
	for i, st := range p.Stations {
		if v.Map(st.At).Dist(at[i]) > 1e-9 {
			t.Errorf("station %s stands at %v, not to scale", st.ID, at[i])
		}
	}
	return v
}

// legendLevels are the values that stand between the boxes of the legend, with the tones of the boxes.
func legendLevels(t *testing.T, s sheet.Sheet) (levels []float64, tones []sheet.Tone) {
	t.Helper()
	boxes, _ := layerOf(s.Items, "legend")
	y := 0.0
	for _, b := range boxes {
		if b.Pen != nil && b.Fill != nil {
			tones = append(tones, *b.Fill)
			y = b.Path.Bounds().Max.Y
		}
	}
	for _, w := range TextsOf(s.Items) {
		if w.At.Y > y && w.At.Y < y+6 && w.Align == sheet.Centre && w.At.X < s.W*0.75 {
			v, err := strconv.ParseFloat(w.S, 64)
			if err != nil {
				t.Fatal(err)
			}
			levels = append(levels, v)
		}
	}
	return levels, tones
}

// The picture read back: at any place of the mesh the last band painted there has the tone that the legend gives to the value.
func TestBearingBandsReadBack(t *testing.T) {
	plan := borne(1.1)
	for _, p := range plan.Panels {
		s := BearingSheet(plan.Job, p, 0)
		v := pictureView(t, p, s)
		levels, tones := legendLevels(t, s)
		if len(tones) != len(levels)+1 || len(tones) < 4 || len(tones) > bearingBands {
			t.Fatalf("%s: %d greys for the levels %v", p.Job.Name, len(tones), levels)
		}
		bands, _ := layerOf(s.Items, "bands")
		r := rand.New(rand.NewPCG(5, 5))
		seen := 0
		for range 400 {
			tri := p.Bearing.Tris[r.IntN(len(p.Bearing.Tris))]
			a, b := r.Float64(), r.Float64()
			if a+b > 1 {
				a, b = 1-a, 1-b
			}
			at, w := plane.Point{}, 0.0
			lo, hi := math.Inf(1), math.Inf(-1)
			for i, share := range []float64{1 - a - b, a, b} {
				at = at.Add(p.Bearing.Node[tri[i]].Scale(share))
				value := p.Bearing.Cases[0].W[tri[i]]
				w += share * value
				lo, hi = min(lo, value), max(hi, value)
			}
			// A line may lie off its place by the thinning and the grid; the slope of this triangle says what that is in w.
			slack := (hi-lo)/(20*v.Scale)*2*(bearingThin+bearingGrid) + levels[1]/40
			want, clear := 0, true
			for _, l := range levels {
				if w >= l {
					want++
				}
				clear = clear && math.Abs(w-l) > slack
			}
			var got sheet.Tone
			for _, band := range bands {
				if band.Path.Contains(v.Map(at)) == plane.Inside {
					got = *band.Fill
				}
			}
			if !clear {
				continue
			}
			seen++
			if got != tones[want] {
				t.Fatalf("%s: w is %g at %v: grey %v, the legend has %v", p.Job.Name, w, at, got, tones[want])
			}
		}
		if seen < 150 {
			t.Errorf("%s: only %d places were clear of lines", p.Job.Name, seen)
		}
	}
}

// Lines of value: every written value stands on a line where the field has it.
func TestBearingValuesStandOnTheirLines(t *testing.T) {
	plan := borne(1.1)
	p := plan.Panels[0]
	s := BearingSheet(plan.Job, p, 0)
	v := pictureView(t, p, s)
	levels, _ := legendLevels(t, s)
	n := 0
	for _, w := range TextsOf(s.Items) {
		value, err := strconv.ParseFloat(w.S, 64)
		if err != nil || !w.Halo || w.Font == sheet.Bold {
			continue
		}
		n++
		at := v.Unmap(w.At.Sub(At(0, w.Size*sheet.CapHeight/2)))
		if got := decided.Deflection(p, 1.1, at); math.Abs(got-value) > 0.25*(levels[1]-levels[0]) {
			t.Errorf("%s stands where w is %.3f", w.S, got)
		}
	}
	if n < len(levels)-1 {
		t.Errorf("%d values on %d levels", n, len(levels))
	}
}

// The marks stand where the gap and the stress are greatest, stations with an open seat are full, and greys fall outwards.
func TestBearingMarks(t *testing.T) {
	plan := borne(1.1)
	for _, p := range plan.Panels {
		c := &p.Bearing.Cases[0]
		s := BearingSheet(plan.Job, p, 0)
		v := pictureView(t, p, s)
		marks, _ := layerOf(s.Items, "places")
		for _, want := range []plane.Point{c.GapAt, c.StressAt} {
			near := math.Inf(1)
			for _, m := range marks {
				near = min(near, m.Path.Bounds().Centre().Dist(v.Map(want)))
			}
			if near > 0.5 {
				t.Errorf("%s: no mark within 0.5 mm of %v: %g", p.Job.Name, want, near)
			}
		}
		_, discs := layerOf(s.Items, "stations")
		full := map[plane.Point]bool{}
		for _, d := range discs {
			if d.R > 1 && d.Fill != nil && *d.Fill == sheet.Black {
				full[d.At] = true
			}
		}
		for i, st := range p.Stations {
			if full[v.Map(st.At)] != c.Open[i] {
				t.Errorf("%s station %s: open %v, drawn %v", p.Job.Name, st.ID, c.Open[i], full[v.Map(st.At)])
			}
		}
		_, tones := legendLevels(t, s)
		for i := 1; i < len(tones); i++ {
			if tones[i-1].R < tones[i].R+8 {
				t.Errorf("%s: greys %v do not fall by enough", p.Job.Name, tones)
			}
		}
		for _, w := range TextsOf(s.Items) {
			b := TextQuad(w).Box()
			if b.Min.X < 0 || b.Max.X > s.W || b.Min.Y < 0 || b.Max.Y > s.H {
				t.Errorf("%s: %q leaves the sheet: %v", p.Job.Name, w.S, b)
			}
		}
	}
}

// A panel that does not move, one that moves by next to nothing, one pressed in only, and one far outside of the range all have
// their picture, and the same bytes each time.
func TestBearingAtTheEnds(t *testing.T) {
	for _, dome := range []float64{0, 1e-7, -0.8, 400} {
		plan := borne(dome)
		for _, p := range plan.Panels {
			var a, b bytes.Buffer
			if err := sheet.WriteSVG(&a, BearingSheet(plan.Job, p, 1)); err != nil {
				t.Fatalf("dome %g: %v", dome, err)
			}
			if err := sheet.WriteSVG(&b, BearingSheet(plan.Job, p, 1)); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("dome %g: two drawings differ, %v", dome, err)
			}
			if bytes.Contains(a.Bytes(), []byte("NaN")) {
				t.Errorf("dome %g: NaN on the page", dome)
			}
		}
	}
	plan := borne(0)
	p := plan.Panels[0]
	for i := range p.Bearing.Cases[0].W {
		p.Bearing.Cases[0].W[i] = 0
	}
	if levels, tones := legendLevels(t, BearingSheet(plan.Job, p, 0)); len(levels) != 0 || len(tones) != 1 {
		t.Errorf("a panel that does not move has the levels %v and %d greys", levels, len(tones))
	}
}

// A case that is not there is a mistake of the caller.
func TestBearingPanics(t *testing.T) {
	plan := borne(1)
	p := plan.Panels[0]
	known := *p.Bearing
	for name, spoil := range map[string]func() int{
		"no bearing":  func() int { p.Bearing = nil; return 0 },
		"not known":   func() int { p.Bearing = &setout.Bearing{}; return 0 },
		"a case past": func() int { p.Bearing = &known; return 2 },
	} {
		c := spoil()
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			BearingSheet(plan.Job, p, c)
		}()
	}
}

func TestBearingStep(t *testing.T) {
	for _, c := range []struct{ v, want float64 }{{1, 1}, {1.99, 1}, {2, 2}, {4.9, 2}, {5, 5}, {9.99, 5}, {99, 50}, {230, 200}, {0.3, 0.2}} {
		if got := bearingStep(c.v); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g: %g, want %g", c.v, got, c.want)
		}
	}
}

func BenchmarkBearingSheet(b *testing.B) {
	plan := borne(1.1)
	b.ReportAllocs()
	for b.Loop() {
		BearingSheet(plan.Job, plan.Panels[0], 0)
	}
}
