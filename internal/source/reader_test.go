package source

import (
	"strings"
	"testing"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
)

var inMM = measure.Parser{Units: measure.Units{measure.Length: "mm"}}

func open(t *testing.T, text string) (*Reader, *Fields) {
	t.Helper()
	root, faults := Parse("f", []byte(text))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	r := &Reader{}
	return r, r.Map(root)
}

func TestValues(t *testing.T) {
	r, f := open(t, `
name: no
number: 4.30
quoted: "#30"
thickness: 2.6 ± 0.3 mm
width: 25
count: 12
sealed: yes
open: false
kind: rib
points: [[0, 10], [1-3/16", 20 mm]]
edges: [left, right]
edge: top
loads: {speed: 140 mph}
supports:
  - width: 1 in
  - width: 2 in
empty:
notes: |
  two
  lines
`)
	check := func(what string, good bool) {
		t.Helper()
		if !good {
			t.Error(what)
		}
	}
	check("name", f.Str("name") == "no")
	check("number", f.Str("number") == "4.30")
	check("quoted", f.Str("quoted") == "#30")
	q, ok := f.Quantity("thickness", measure.Length, inMM)
	check("thickness", ok && q.Value == 2.6 && q.Half == 0.3 && q.Text == "2.6 ± 0.3 mm")
	check("width", f.Value("width", measure.Length, inMM) == 25 && f.OptValue("height", measure.Length, inMM, 7) == 7)
	check("count", f.Int("count", 1, 20) == 12 && f.OptInt("quantity", 1, 1, 9) == 1)
	check("flags", f.Bool("sealed") && !f.OptBool("open", true) && f.OptBool("hinged", true))
	check("kind", f.Enum("kind", "flange", "rib") == "rib" && f.OptEnum("mode", "auto", "count") == "auto")
	points := f.List("points")
	check("points", len(points) == 2)
	p, ok := r.Quantities(points[1], measure.Length, inMM, 2)
	check("point", ok && p[0].Value == 30.1625 && p[1].Value == 20)
	check("edges", strings.Join(f.Strs("edges"), "+") == "left+right" && strings.Join(f.Strs("edge"), "+") == "top" && f.OptStrs("none") == nil)
	loads := f.Child("loads")
	check("loads", loads.OK() && loads.Value("speed", measure.Speed, inMM) == 62585.6)
	loads.Done()
	maps := f.Maps("supports")
	check("supports", len(maps) == 2 && maps[1].Value("width", measure.Length, inMM) == 50.8 && maps[1].Path("width") == "supports[2].width")
	check("empty", !f.Has("empty") && !f.Good("empty") && f.OptStr("empty", "def") == "def" && f.Get("empty") == nil)
	check("notes", f.Str("notes") == "two\nlines\n")
	c, is := f.OptChild("nothing")
	check("no child", !is && !c.OK() && c.Str("x") == "" && c.OptInt("y", 5, 0, 9) == 5 && c.Value("z", measure.Force, inMM) == 0)
	c.Done()
	check("one of", f.Exclusive(true, "kind", "missing") == "kind" && f.Exclusive(false, "missing") == "")
	check("place", f.Pos("width") == fault.Pos{File: "f", Line: 6, Col: 8} && f.Pos("missing") == fault.Pos{File: "f", Line: 2, Col: 1})
	check("keys", len(f.Keys()) == 16 && f.Keys()[0] == "name")
	f.Done()
	if faults := r.Sorted(); faults != nil {
		t.Error(faults)
	}
}

// One fault each, with its whole message; nothing is said twice.
func TestReaderFaults(t *testing.T) {
	length := func(f *Fields) { f.Value("a", measure.Length, inMM) }
	const lengths = "a length in mm, in, cm, m, ft, thou or µm, a drill (#30, letter F) or a gauge (16 swg)"
	for _, c := range []struct {
		text string
		read func(*Fields)
		want string
	}{
		{"a: #30\n", length, `f:1:1: a: nothing; accepted: a length (rule kind); # begins a comment in YAML: put quotes around it, as "#30"`},
		{"a: #1-3/16\"\n", length, `f:1:1: a: nothing; accepted: a length (rule kind); # begins a comment in YAML: put quotes around it, as '#1-3/16"'`},
		{"a: number #30\n", length, `f:1:4: a: "number", and no table of drills and gauges is at hand; accepted: number drills #1 to #80 and letter drills A to Z, as #30 or letter F (rule unknown-drill); # begins a comment in YAML: put quotes around the whole, as "number #30"`},
		{"a: # to be measured\n", length, "f:1:1: a: nothing; accepted: a length (rule kind)"},
		{"a: ~\n", length, "f:1:4: a: nothing; accepted: a length (rule kind)"},
		{"b: 1\n", func(f *Fields) { length(f); f.Has("b") }, "f:1:1: a: a is missing; accepted: a length (rule missing-key)"},
		{"a: 4,3 # from the old sheet\n", length, `f:1:4: a: "4,3"; accepted: a point before the decimals (rule decimal-comma); write 4.3`},
		{"a: 4.3 kg\n", length, `f:1:8: a: "kg", a unit of mass, in "4.3 kg"; accepted: ` + lengths + ` (rule wrong-dimension)`},
		{"a: \"4.3 kg\"\n", length, `f:1:4: a: "kg", a unit of mass, in "4.3 kg"; accepted: ` + lengths + ` (rule wrong-dimension)`},
		{"a: 2.6 ± 0.3\n", length, `f:1:4: a: "2.6 ± 0.3" with a spread; accepted: one value (rule no-spread); leave the spread out: this field does not use it`},
		{"a: [6.1, 6.3]\n", length, `f:1:4: a: a list; accepted: a length (rule kind); write readings as one text: "readings [6.1, 6.3, 6.2] mm"`},
		{"a: {b: 1}\n", length, "f:1:4: a: a group of keys; accepted: a length (rule kind)"},
		{"a: 3\n", func(f *Fields) { f.Value("a", measure.Angle, inMM) }, `f:1:4: a: "3" without a unit; accepted: an angle in °, rad or mrad (rule missing-unit); write the unit, as 3 °`},
		{"a:\n", func(f *Fields) { f.Value("a", measure.Angle, inMM) }, "f:1:1: a: nothing; accepted: an angle (rule kind)"},
		{"a: ''\n", func(f *Fields) { f.Str("a") }, "f:1:4: a: empty text; accepted: text (rule empty); write something, or leave the key out"},
		{"a: [x]\n", func(f *Fields) { f.Str("a") }, "f:1:4: a: a list; accepted: text (rule kind)"},
		{"a: [x, [y], {z: 1}]\n", func(f *Fields) { f.Strs("a") }, "f:1:8: a[2]: a list; accepted: text (rule kind)\nf:1:13: a[3]: a group of keys; accepted: text (rule kind)"},
		{"a: 2.5\n", func(f *Fields) { f.Int("a", 1, 9) }, `f:1:4: a: "2.5"; accepted: a whole number from 1 to 9 (rule whole-number)`},
		{"a: 10\n", func(f *Fields) { f.OptInt("a", 1, 1, 9) }, `f:1:4: a: "10"; accepted: a whole number from 1 to 9 (rule whole-number)`},
		{"a: 99999999999999999999\n", func(f *Fields) { f.Int("a", 1, 9) }, `f:1:4: a: "99999999999999999999"; accepted: a whole number from 1 to 9 (rule whole-number)`},
		{"a: maybe\n", func(f *Fields) { f.Bool("a") }, `f:1:4: a: "maybe"; accepted: true or false (rule true-or-false)`},
		{"a: ribb\n", func(f *Fields) { f.Enum("a", "flange", "rib") }, `f:1:4: a: "ribb"; accepted: flange, rib (rule choice); did you mean "rib"?`},
		{"a: xyz\n", func(f *Fields) { f.Enum("a", "flange", "rib") }, `f:1:4: a: "xyz"; accepted: flange, rib (rule choice)`},
		{"a: 3\n", func(f *Fields) { f.Maps("a") }, `f:1:4: a: "3"; accepted: a list (rule kind)`},
		{"a: [3, {b: 1}]\n", func(f *Fields) {
			for _, m := range f.Maps("a") {
				m.Int("b", 1, 1)
				m.Done()
			}
		}, `f:1:5: a[1]: "3"; accepted: a group of keys, as name: value (rule kind)`},
		{"a: b:3\n", func(f *Fields) { f.Child("a").Str("b") }, `f:1:4: a: "b:3"; accepted: a group of keys, as name: value (rule kind); write a space after the colon`},
		{"b: 1\n", func(f *Fields) { f.Has("b"); f.Child("a").Str("b") }, "f:1:1: a: a is missing; accepted: a group of keys (rule missing-key)"},
		{"a: [1, 2, 3]\n", func(f *Fields) { f.Quantities("a", measure.Length, inMM, 2) }, "f:1:4: a: a list of 3; accepted: a list of 2, each a length (rule list-length)"},
		{"a: [1 kg, 2, 3 N]\n", func(f *Fields) { f.Quantities("a", measure.Length, inMM, -1) },
			`f:1:7: a[1]: "kg", a unit of mass, in "1 kg"; accepted: ` + lengths + ` (rule wrong-dimension)` + "\n" + `f:1:16: a[3]: "N", a unit of force, in "3 N"; accepted: ` + lengths + ` (rule wrong-dimension)`},
		{"a: 1\nb: 2\n", func(f *Fields) { f.Exclusive(true, "a", "b") }, "f:2:4: b: b beside a; accepted: one of a, b (rule one-of); keep one"},
		{"c: 1\n", func(f *Fields) { f.Has("c"); f.Exclusive(true, "a", "b") }, "f:1:1: none of a, b is given (rule missing-key); write one of them"},
		{"a: 1\nthikness: 2\n", func(f *Fields) { f.Has("a"); f.Has("thickness") }, `f:2:1: thikness: no key "thikness" is known here (rule unknown-key); did you mean "thickness"?`},
		{"a: 1\nzzz: 2\n", func(f *Fields) { f.Has("a"); f.Has("thickness") }, `f:2:1: zzz: no key "zzz" is known here (rule unknown-key); known here: a, thickness`},
		{"{a: 1, b: 0,9 in}\n", func(f *Fields) { f.Has("a"); f.Has("b") }, `f:1:13: 9 in: no key "9 in" is known here (rule unknown-key); a comma within { } divides keys: write decimals with a point, or put quotes around the value`},
		{"{a: [b:c]}\n", func(f *Fields) { f.Strs("a") }, `f:1:6: a[1]: a group of keys; accepted: text (rule kind); put quotes around text that holds a colon, as "b:c"`},
		{"- a\n", func(f *Fields) { f.Str("a"); f.Done() }, "f:1:1: a list; accepted: a group of keys, as name: value (rule kind)"},
		{"just text\n", func(f *Fields) { length(f) }, `f:1:1: "just text"; accepted: a group of keys, as name: value (rule kind)`},
	} {
		r, f := open(t, c.text)
		c.read(f)
		f.Done()
		if got := r.Sorted().Error(); got != c.want {
			t.Errorf("%q:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
}

// Good tells whether a value may be used; Has only whether it is there.
func TestGood(t *testing.T) {
	_, f := open(t, "a: 3 kg\nb: 3\nc:\nd: #30\ne: [x, [y]]\nf: [1]\n")
	f.Value("a", measure.Length, inMM)
	f.Value("b", measure.Length, inMM)
	f.OptValue("c", measure.Length, inMM, 1)
	f.OptValue("d", measure.Length, inMM, 1)
	f.Strs("e")
	f.Maps("f")
	f.Str("g")
	for key, want := range map[string][2]bool{"a": {true, false}, "b": {true, true}, "c": {}, "d": {}, "e": {true, false}, "f": {true, false}, "g": {}} {
		if f.Has(key) != want[0] || f.Good(key) != want[1] {
			t.Errorf("%s: has %v, good %v", key, f.Has(key), f.Good(key))
		}
	}
}

// A fault that was reported by Parse is not reported again by the getter.
func TestAliasIsSaidOnce(t *testing.T) {
	root, faults := Parse("f", []byte("a: &x 3\nb: *x\n"))
	r := Reader{Faults: faults}
	f := r.Map(root)
	f.Value("a", measure.Length, inMM)
	f.Value("b", measure.Length, inMM)
	f.Done()
	if len(r.Sorted()) != 2 {
		t.Error(r.Faults)
	}
}

// Reading goes on: all faults of a file come out of one reading, in the order of the file.
func TestAllFaultsAtOnce(t *testing.T) {
	r, f := open(t, "width: 4,3\nname:\ncount: x\nkind: ribb\nextra: 1\nlist: 3\nchild: 4\n")
	f.Child("child")
	f.List("list")
	f.Enum("kind", "rib")
	f.Int("count", 0, 5)
	f.Str("name")
	f.Value("width", measure.Length, inMM)
	f.Done()
	if len(r.Sorted()) != 7 {
		t.Errorf("%d faults:\n%v", len(r.Faults), r.Faults)
	}
	for i, x := range r.Faults {
		if x.Pos.Line != i+1 {
			t.Errorf("fault %d stands in line %d", i, x.Pos.Line)
		}
	}
}

func TestFaultAtANode(t *testing.T) {
	r, f := open(t, "a: 3 mm\n")
	f.Fault("a", "positive", "no", "yes")
	r.Fault(f.Node.Get("a"), "x", "text", "")
	r.Fault(nil, "y", "no place", "")
	want := "no place (rule y)\nf:1:4: a: no (rule positive); yes\nf:1:4: a: text (rule x)"
	if got := r.Sorted().Error(); got != want || f.Good("a") {
		t.Errorf("got %s", got)
	}
}

func TestMapOfNothing(t *testing.T) {
	root, faults := Parse("f", nil)
	r := Reader{Faults: faults}
	f := r.Map(root)
	if f.OK() || f.Str("a") != "" || f.OptBool("b", true) != true || len(f.Maps("c")) != 0 {
		t.Error("blank fields gave something")
	}
	f.Done()
	if len(r.Faults) != 1 {
		t.Error(r.Faults)
	}
}
