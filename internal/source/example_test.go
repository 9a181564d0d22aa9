package source_test

import (
	"fmt"

	"panelwright/internal/measure"
	"panelwright/internal/source"
)

// A reader asks for every key that it knows, and goes on after a fault.
func Example() {
	const text = `
name: sample hatch
thickness: 2.6 ± 0.3 mm
drill: #30
supports:
  - {kind: flange, width: 25}
  - {knid: rib, kind: ribb, width: 0.9 IN.}
`
	p := measure.Parser{Units: measure.Units{measure.Length: "mm"}}
	root, faults := source.Parse("hatch.yaml", []byte(text))
	r := source.Reader{Faults: faults}
	f := r.Map(root)

	name := f.Str("name")
	t, ok := f.Quantity("thickness", measure.Length, p) // with its spread
	drill := f.OptValue("drill", measure.Length, p, 3.3)
	f.OptBool("sealed", false)
	for _, s := range f.OptMaps("supports") {
		kind := s.Enum("kind", "flange", "rib")
		width := s.Value("width", measure.Length, p)
		if s.Good("width") && width <= 0 {
			s.Fault("width", "positive", "width "+measure.MM(width)+"; accepted: more than 0", "")
		}
		fmt.Printf("%s %s, width stands at %s\n", kind, measure.MM(width), s.Pos("width"))
		s.Done()
	}
	f.Done()

	fmt.Println(name, measure.MM(t.Value), ok, measure.MM(drill))
	fmt.Println(r.Sorted().Error())
	// Output:
	// flange 25.00 mm, width stands at hatch.yaml:6:27
	//  0.00 mm, width stands at hatch.yaml:7:36
	// sample hatch 2.60 mm true 3.30 mm
	// hatch.yaml:4:1: drill: nothing; accepted: a length (rule kind); # begins a comment in YAML: put quotes around it, as "#30"
	// hatch.yaml:7:6: supports[2].knid: no key "knid" is known here (rule unknown-key); did you mean "kind"?
	// hatch.yaml:7:23: supports[2].kind: "ribb"; accepted: flange, rib (rule choice); did you mean "rib"?
	// hatch.yaml:7:40: supports[2].width: "IN.", which is no unit known here, in "0.9 IN."; accepted: a length in mm, in, cm, m, ft, thou or µm, a drill (#30, letter F) or a gauge (16 swg) (rule unknown-unit); did you mean "in"? Capitals count in units
}
