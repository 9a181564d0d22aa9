package card

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"panelwright/internal/exampleplan"
	"panelwright/internal/sheet"
)

// A cone of 120° narrows by 2·tan 60° = 3.464 mm across for each mm of depth: a tail of 5.0 mm in a mouth of 5.3 mm lies
// 0.3/3.464 = 0.0866 mm deep (plane geometry); one of 90° narrows by 2 mm for each mm.
func TestBelowFlush(t *testing.T) {
	for _, c := range []struct {
		sink sinkCut
		wide float64
		want float64
	}{
		{sinkCut{5.3, 0.58, 120}, 5.0, 0.0866}, {sinkCut{6, 0.78, 120}, 6, 0}, {sinkCut{6, 0.78, 120}, 6.5, 0}, {sinkCut{7, 1, 90}, 6, 0.5}, {sinkCut{}, 6, 0},
	} {
		if got := below(c.sink, c.wide); math.Abs(got-c.want) > 5e-5 {
			t.Errorf("a head of %.2f mm lies %.4f mm below the mouth of %+v, want %.4f", c.wide, got, c.sink, c.want)
		}
	}
}

// What is drawn is to the scale that the picture names: layer 2 mm, hole 3.3 mm, countersunk to 6 mm, 0.78 mm deep.
func TestPictureToScale(t *testing.T) {
	plain := cutBody{name: "inner", y0: 0, y1: 2, hole: 3.3}
	sunk := plain
	sunk.front = sinkCut{6, 0.78, 120}
	s := drawStates([]workState{{"before", cutStack{bodies: []cutBody{plain}, half: 6.5}}, {"after", cutStack{bodies: []cutBody{sunk}, half: 6.5}}}, nil)
	scale := 0.0
	for _, it := range s.Items {
		if x, ok := it.(sheet.Text); ok && strings.HasSuffix(x.S, ":1") {
			fmt.Sscanf(x.S, "%g:1", &scale)
		}
	}
	if scale == 0 {
		t.Fatal("the picture does not say its scale")
	}
	var solids [][2]float64 // left and right end of each solid, as filled
	var deep, high []float64
	for _, it := range s.Items {
		if x, ok := it.(sheet.Stroke); ok && x.Fill == &sheet.White {
			b := x.Path.Bounds()
			solids, deep, high = append(solids, [2]float64{b.Min.X, b.Max.X}), append(deep, b.Max.Y), append(high, b.Min.Y)
		}
	}
	if len(solids) != 4 {
		t.Fatalf("%d solids, want two on each side of two holes", len(solids))
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want*scale) > 1e-9 {
			t.Errorf("%s: %.3f mm on the page, want %.3f at %g:1", what, got, want*scale, scale)
		}
	}
	for i := 0; i < 4; i += 2 { // the narrowest place of the hole is its drilled diameter, before and after
		near("hole", math.Abs(solids[i+1][0]-solids[i][1]), 3.3)
		near("thickness", deep[i]-high[i], 2)
	}
	mouth := 0.0
	for _, it := range s.Items { // the mouth is the widest thin line across the hole
		if x, ok := it.(sheet.Stroke); ok && x.Pen != nil && x.Pen.Width == sheet.Fine.Width && len(x.Path.V) == 2 && x.Path.Bounds().Height() == 0 {
			mouth = math.Max(mouth, x.Path.Bounds().Width())
		}
	}
	near("mouth", mouth, 6)
}

// Every step that drills, sinks, clears or rivets has its picture, and no picture is wider than a page has room for.
func TestStepsHavePictures(t *testing.T) {
	const room = 169 // of A4 beside a step's number
	for name, p := range exampleplan.All(t, "../..") {
		for _, pan := range p.Panels {
			w := cardWorkOf(p, pan)
			for _, s := range w.steps {
				switch s.stage {
				case cardSurvey, cardOpen, cardSink, cardRelief, cardRivet:
					if len(s.pictures) == 0 {
						t.Errorf("%s, %s: step %q has no picture", name, pan.Job.Name, s.title)
					}
				}
				for _, pic := range s.pictures {
					if pic.sheet.W > room || pic.label == "" || pic.caption == "" {
						t.Errorf("%s, %s, %s: a picture %.0f mm wide, %q, %q", name, pan.Job.Name, s.title, pic.sheet.W, pic.label, pic.caption)
					}
					for _, it := range pic.sheet.Items {
						if x, ok := it.(sheet.Text); ok && x.Turn == 0 && x.Align == sheet.Left && x.At.X+sheet.TextWidth(x.S, x.Size, x.Font) > pic.sheet.W {
							t.Errorf("%s, %s, %s: %q runs out of its picture", name, pan.Job.Name, s.title, x.S)
						}
					}
				}
			}
			testCardPage(t, w)
		}
	}
}

var loads = regexp.MustCompile(`(?i)<script|<link|<img|@import|url\((?:[^#])|\b(?:src|href)=`)

// testCardPage wants the page to hold every step and station and to load nothing; the same plan gives the same bytes.
func testCardPage(t *testing.T, w *cardWork) {
	t.Helper()
	var a, b bytes.Buffer
	if err := HTML(&a, w.plan, w.panel); err != nil {
		t.Fatal(err)
	}
	if err := HTML(&b, w.plan, w.panel); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Errorf("%s: the same plan gives another page, %v", w.panel.Job.Name, err)
	}
	if found := loads.FindString(a.String()); found != "" {
		t.Errorf("%s: the page has %q", w.panel.Job.Name, found)
	}
	for i := range w.steps {
		if !strings.Contains(a.String(), fmt.Sprintf(`id="step-%d"`, i+1)) {
			t.Errorf("%s: no step %d", w.panel.Job.Name, i+1)
		}
	}
	for _, st := range w.panel.Stations {
		if n := strings.Count(a.String(), `="`+st.ID+`"`); n < 2 {
			t.Errorf("%s: station %s stands in %d tables", w.panel.Job.Name, st.ID, n)
		}
	}
	if n := strings.Count(a.String(), "A planning aid, no approval"); n < 2 {
		t.Errorf("%s: what the plan is not stands %d times", w.panel.Job.Name, n)
	}
}

// A panel that nothing fits still gets its page, which says so.
func TestCardPageWithoutParts(t *testing.T) {
	p := cardFixture("A4")
	pan := p.Panels[0]
	pan.Choices = nil
	for _, st := range pan.Stations {
		st.Choice = nil
	}
	var b bytes.Buffer
	if err := HTML(&b, p, pan); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "Nothing is fitted") || !strings.Contains(b.String(), "Do not take it to the vehicle") {
		t.Error("the page does not say that nothing is fitted")
	}
}
