package fault_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/fault"
)

func ExampleFault() {
	f := fault.Fault{
		Pos:  fault.Pos{File: "job.yaml", Line: 14, Col: 9},
		Path: "panels[1].stations[3]",
		Rule: "edge-distance",
		Text: "edge distance 7.2 mm, needs 9.0 mm",
		Hint: "move it 1.8 mm inwards",
	}
	fmt.Println(f.Error())
	// Output:
	// job.yaml:14:9: panels[1].stations[3]: edge distance 7.2 mm, needs 9.0 mm (rule edge-distance); move it 1.8 mm inwards
}

func ExampleNearest() {
	known := []string{"name", "thickness", "material", "limits"}
	for _, word := range []string{"thikness", "Limit", "thick", "colour"} {
		near, ok := fault.Nearest(word, known)
		fmt.Printf("%s → %q %v\n", word, near, ok)
	}
	fmt.Println(fault.Meant("colour", known))
	// Output:
	// thikness → "thickness" true
	// Limit → "limits" true
	// thick → "thickness" true
	// colour → "" false
	// known here: limits, material, name, thickness
}

func TestErrorLeavesOutWhatIsNotKnown(t *testing.T) {
	pos := fault.Pos{File: "a.yaml", Line: 2, Col: 3}
	for _, c := range []struct {
		f    fault.Fault
		want string
	}{
		{fault.Fault{}, ""},
		{fault.Fault{Text: "text"}, "text"},
		{fault.Fault{Text: "text", Rule: "r"}, "text (rule r)"},
		{fault.Fault{Text: "text", Hint: "do"}, "text; do"},
		{fault.Fault{Pos: fault.Pos{File: "a.yaml"}, Text: "text"}, "a.yaml: text"},
		{fault.Fault{Pos: fault.Pos{File: "a.yaml", Line: 2}, Text: "text"}, "a.yaml:2: text"},
		{fault.Fault{Pos: pos, Path: "p", Text: "text", Rule: "r", Hint: "h"}, "a.yaml:2:3: p: text (rule r); h"},
	} {
		if got := c.f.Error(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestListErr(t *testing.T) {
	if err := (fault.List)(nil).Err(); err != nil {
		t.Errorf("no faults gave the error %v", err)
	}
	l := fault.List{{Text: "one"}, {Text: "two"}}
	if err := l.Err(); err == nil || err.Error() != "one\ntwo" {
		t.Errorf("got %v", err)
	}
}

// However the faults come, they read the same once sorted.
func TestSortIsTotal(t *testing.T) {
	var l fault.List
	for _, file := range []string{"a", "b"} {
		for i := range 3 {
			for _, rule := range []string{"r", "s"} {
				l = append(l, fault.Fault{Pos: fault.Pos{File: file, Line: i, Col: 3 - i}, Path: "p", Rule: rule, Text: "t"},
					fault.Fault{Pos: fault.Pos{File: file, Line: i, Col: 3}, Path: "q", Rule: rule, Text: "u"})
			}
		}
	}
	l.Sort()
	want := l.Error()
	rng := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		m := slices.Clone(l)
		rng.Shuffle(len(m), func(i, j int) { m[i], m[j] = m[j], m[i] })
		m.Sort()
		if m.Error() != want {
			t.Fatalf("seed 1,2: another order:\n%s", m.Error())
		}
	}
	if !strings.HasPrefix(want, "a:") {
		t.Errorf("starts with %.20s", want)
	}
}

func TestNearest(t *testing.T) {
	known := []string{"kind", "name", "width", "inner", "edges", "top speed", "seam-gap", "id"}
	for word, want := range map[string]string{
		"knid": "kind", "nmae": "name", "Width": "width", "with": "width", "iner": "inner", "edge": "edges",
		"top_speed": "top speed", "topspeed": "top speed", "seam gap": "seam-gap", "seam": "seam-gap", "ID": "id",
		"": "", "x": "", "zz": "", "pressure": "", "i": "", strings.Repeat("a", 5000): "",
	} {
		got, ok := fault.Nearest(word, known)
		if got != want || ok != (want != "") {
			t.Errorf("Nearest(%.20q) = %q %v, want %q", word, got, ok, want)
		}
	}
	if got, ok := fault.Nearest("x", nil); ok {
		t.Errorf("nothing known gave %q", got)
	}
}

// The answer may not hang on the order of the known words, nor on which of two ties comes first.
func TestNearestOrder(t *testing.T) {
	known := []string{"rib1", "rib2", "rib3", "ribs"}
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		rng.Shuffle(len(known), func(i, j int) { known[i], known[j] = known[j], known[i] })
		if got, _ := fault.Nearest("rib9", known); got != "rib1" {
			t.Fatalf("seed 3,4: %v gave %q", known, got)
		}
	}
}

func TestMeantKnowsNothing(t *testing.T) {
	if got := fault.Meant("x", nil); got != "" {
		t.Errorf("got %q", got)
	}
}

func BenchmarkNearest(b *testing.B) {
	known := strings.Fields("name date paper range drills notes conditions panels outline layers supports loads limits stations quantity")
	for b.Loop() {
		fault.Nearest("conditons", known)
	}
}
