package job

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"panelwright/internal/plane"
)

// bonnet is an invented panel, measured with a tape (sample): the true corners are (0, 0), (862, 0), (870, 641), (12, 650).
const (
	bonnetEdges = "A-B: 862, B-C: 641, C-D: 858, D-A: 650"
	bonnet      = "{ survey: { corners: [ A, B, C, D ], lengths: { " + bonnetEdges + ", %s } } }"
)

func surveyed(t *testing.T, lengths string) (*Job, *Panel) {
	t.Helper()
	p := onePanel(t, fmt.Sprintf(bonnet, lengths), "[ A-B, B-C, C-D, D-A ]")
	return &Job{Panels: []*Panel{p}}, p
}

// A survey gives corners as points would: the first at the origin, the second on +x, sides named by their ends.
func TestSurveyOutline(t *testing.T) {
	j, p := surveyed(t, "A-C: 1080.6, B-D: 1070.1")
	checkEdges(t, p)
	want := []plane.Point{{X: 0, Y: 0}, {X: 862, Y: 0}, {X: 870, Y: 641}, {X: 12, Y: 650}}
	for i, v := range p.Outline.Outer.V {
		if v.Point.Dist(want[i]) > 0.2 { // lengths as a tape gives them, to half a millimetre and better
			t.Errorf("corner %d at %v, want %v", i, v.Point, want[i])
		}
	}
	for i, name := range []string{"A-B", "B-C", "C-D", "D-A"} {
		if p.Edges[i].Name != name {
			t.Errorf("edge %d is %s, want %s", i, p.Edges[i].Name, name)
		}
	}
	s := p.Survey
	if s == nil || len(s.Lengths) != 6 || s.Lengths[4].Name != "A-C" || !s.Tape.Assumed || s.Tape.Value != 1.5 || s.Tape.Source != sourcePractice {
		t.Fatalf("%+v", s)
	}
	if math.Abs(s.Lengths[0].StdUnc-1.5/math.Sqrt(3)) > 1e-12 {
		t.Errorf("standard uncertainty %v of ± 1.5 mm", s.Lengths[0].StdUnc)
	}
	if w, n := j.SurveyWarnings(p), j.SurveyNotes(p); len(w)+len(n) != 0 {
		t.Errorf("says %q %q", w, n)
	}
	for i := range s.Lengths {
		if s.Verdict(i) != SurveyAgrees {
			t.Errorf("%s: %s", s.Lengths[i].Name, s.Verdict(i))
		}
	}
}

// Radii and names work as for points, and a corner list round a reflex corner too.
func TestSurveyRounded(t *testing.T) {
	p := onePanel(t, "{ survey: { corners: [ fl, fr, rr, rl ], lengths: { fl-fr: 800, fr-rr: 600, rr-rl: 800, rl-fl: 600, fl-rr: 1000, fr-rl: 1000 }, tape: ± 2 mm }, corner radius: 40, edges: [ front, right, rear, left ] }", "[ front, rear ]")
	checkEdges(t, p)
	if want := 800*600 - (4-math.Pi)*40*40; math.Abs(p.Outline.Outer.Area()-want) > 1e-6 || p.Edges[1].Name != "right" {
		t.Errorf("area %v, want %v; edges %v", p.Outline.Outer.Area(), want, p.Edges)
	}
	if tape := p.Survey.Tape; tape.Value != 2 || tape.Assumed || tape.Source != sourceJob {
		t.Errorf("tape %+v", tape)
	}
}

// What a length says of itself goes before the tape.
func TestSurveyOwnUncertainty(t *testing.T) {
	_, p := surveyed(t, `A-C: 1080.6 ± 3, B-D: "readings [1069, 1071, 1070, 1074] mm"`)
	// Readings: mean 1071, s = √(14/3), s/√4 = 1.0801 > 1.5/√3 = 0.866.
	for i, want := range map[int]float64{4: 3 / math.Sqrt(3), 5: math.Sqrt(14.0/3) / 2} {
		if got := p.Survey.Lengths[i].StdUnc; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: %v, want %v", p.Survey.Lengths[i].Name, got, want)
		}
	}
	if p.Survey.Lengths[5].Measured != 1071 {
		t.Errorf("mean %v", p.Survey.Lengths[5].Measured)
	}
}

// A mistake is told: which length where the others can tell, all of them where not; and what nothing checks.
func TestSurveyWarnings(t *testing.T) {
	j, p := surveyed(t, "A-C: 1080.6")
	if w, n := j.SurveyWarnings(p), j.SurveyNotes(p); len(w) != 0 || len(n) != 1 || !strings.HasPrefix(n[0], "No length is checked") || !strings.Contains(n[0], "Measure B-D too") {
		t.Errorf("one diagonal: %q %q", w, n)
	}
	if v := p.Survey.Verdict(0); v != SurveyUnchecked {
		t.Errorf("one diagonal: %s", v)
	}
	j, p = surveyed(t, "A-C: 1080.6, B-D: 1090.1")
	if w := j.SurveyWarnings(p); len(w) != 1 || !strings.HasPrefix(w[0], "One of the lengths is suspected") || p.Survey.Verdict(5) != SurveyOneOf || p.Survey.Verdict(0) != SurveyOneOf {
		t.Errorf("a diagonal 20 mm long: %q", w)
	}
	// Five corners, all ten lengths: (0,0) (800,0) (900,500) (400,800) (-50,450); the seventh is long by 10 mm.
	const five = "{ survey: { corners: [ A, B, C, D, E ], lengths: { A-B: 800, B-C: 509.9, C-D: 583.1, D-E: 570.1, E-A: 452.8, A-C: 1029.6, A-D: %s, B-D: 894.4, B-E: 961.8, C-E: 951.3 }, tape: 1 mm } }"
	for length, want := range map[string]string{"894.4": "", "904.4": "Length A-D, measured as 904.4 mm, is suspected of a gross error: the other lengths make it"} {
		p := onePanel(t, fmt.Sprintf(five, length), "[ A-B ]")
		w := strings.Join((&Job{}).SurveyWarnings(p), " ")
		if !strings.HasPrefix(w, want) || want == "" && w != "" || want != "" && (!strings.Contains(w, " mm less.") || p.Survey.Verdict(6) != SurveySuspect) {
			t.Errorf("A-D %s: %q", length, w)
		}
	}
	// All a little off: none stands out, but the whole does not agree.
	p = onePanel(t, strings.Replace(fmt.Sprintf(five, "897.0"), "B-E: 961.8", "B-E: 958.8", 1), "[ A-B ]")
	if w := (&Job{}).SurveyWarnings(p); len(w) != 1 || !strings.HasPrefix(w[0], "The lengths disagree") {
		t.Errorf("a poor survey: %q; chi square %v of %v", w, p.Survey.Result.ChiSq, p.Survey.Result.Limit)
	}
	// A kite by one diagonal: the dart has the same lengths, and the other diagonal tells.
	p = onePanel(t, "{ survey: { corners: [ A, B, C, D ], lengths: { A-B: 721.1, B-C: 565.7, C-D: 447.2, D-A: 632.5, A-C: 1000 } } }", "[ A-B ]")
	if w := strings.Join((&Job{}).SurveyWarnings(p), " "); !strings.Contains(w, "Another shape has the same lengths") || !strings.Contains(w, "Measure B-D") {
		t.Errorf("a kite: %q", w)
	}
}
