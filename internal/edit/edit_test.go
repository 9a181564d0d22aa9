package edit

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"panelwright/internal/source"
)

// Texts before and after, to the byte.
func TestSet(t *testing.T) {
	for _, c := range []struct{ before, path, value, after string }{
		{"a: 1\nb: 2\n", "a", "3", "a: 3\nb: 2\n"},
		{"a: 1   # one\nb: 2\n", "a", "3 mm", "a: 3 mm   # one\nb: 2\n"},
		{"a: 1", "a", "3", "a: 3"},
		{"a: 1", "b", "3", "a: 1\nb: 3"},
		{"\ufeffa: 1\r\nb: 2\r\n", "b", "3", "\ufeffa: 1\r\nb: 3\r\n"},
		{"\ufeffa: 1\r\nb: 2\r\n", "c", "3", "\ufeffa: 1\r\nb: 2\r\nc: 3\r\n"},
		{"a: '1'\n", "a", `"#30"`, "a: \"#30\"\n"},
		{"a: \"1\" # c\n", "a", "2", "a: 2 # c\n"},
		{"a: it is\n  long\nb: 2\n", "a", "2", "a: 2\nb: 2\n"},
		{"a: |\n  one\n  two\n\nb: 2\n", "a", "2", "a: 2\n\nb: 2\n"},
		{"a: 1\nb: 2\n", "a", "|\n  one\n  two", "a: |\n  one\n  two\nb: 2\n"},
		{"a:\nb: 2\n", "a", "1", "a: 1\nb: 2\n"},
		{"a:   # to come\nb: 2\n", "a", "1", "a: 1   # to come\nb: 2\n"},
		{"a: ~\n", "a", "1", "a: 1\n"},
		{"a: null # c\n", "a", "1", "a: 1 # c\n"},
		{"a: 1 # c\n", "a", "", "a: # c\n"},
		{"a:\n", "a.b.c d", "1", "a: { b: { c d: 1 } }\n"},
		{"x: 1\n", "a.b", "1", "x: 1\na: { b: 1 }\n"},
		{"x: {y: 1}\n", "x.z", "2", "x: {y: 1, z: 2}\n"},
		{"x: { y: 1 }\n", "x.z.k", "2", "x: { y: 1, z: { k: 2 } }\n"},
		{"x: {}\n", "x.z", "2", "x: { z: 2 }\n"},
		{"x: { y }\n", "x.y", "2", "x: { y: 2 }\n"},
		{"x: {y: , z: 1}\n", "x.y", "2", "x: {y: 2, z: 1}\n"},
		{"x: { y: [ 1, 2 ], z: '}' }\n", "x.y[2]", "5", "x: { y: [ 1, 5 ], z: '}' }\n"},
		{"x: { y: [ 1, 2 ], z: '}' }\n", "x.z", "5", "x: { y: [ 1, 2 ], z: 5 }\n"},
		{"x: { y: [ 1, 2 ] } # c\n", "x.y", "{ k: v }", "x: { y: { k: v } } # c\n"},
		{"a:\n  b: 1\n  # in\n  c: 2 # last\n# out\nd: 4\n", "a.e", "3", "a:\n  b: 1\n  # in\n  c: 2 # last\n  e: 3\n# out\nd: 4\n"},
		{"a: # group\n  b: 1\n  c: 2\nd: 4\n", "a", "3", "a: 3 # group\nd: 4\n"},
		{"a: # group\n  b: 1\n  c: 2\nd: 4\n", "a", "- x\n- y: 1\n  z: 2", "a: # group\n  - x\n  - y: 1\n    z: 2\nd: 4\n"},
		{"a: 5 # five\nd: 4\n", "a", "b: 1\nc: 2", "a: # five\n  b: 1\n  c: 2\nd: 4\n"},
		{"l:\n- a: 1\n  b: 2\n- c\n", "l[1].d", "3", "l:\n- a: 1\n  b: 2\n  d: 3\n- c\n"},
		{"l:\n  - a: 1\n    b: 2\n  - c # c\n", "l[2]", "{ x: 1 }", "l:\n  - a: 1\n    b: 2\n  - { x: 1 } # c\n"},
		{"l:\n  - a: 1\n    b: 2\n  - c # c\n", "l[1]", "x: 1\ny: 2", "l:\n  - x: 1\n    y: 2\n  - c # c\n"},
		{"l:\n  -\n  - c\n", "l[1]", "x", "l:\n  - x\n  - c\n"},
		{"panels:\n  - name: X\n    outer: { material: m, thickness: \"2.5\" }  # laid up\n", "panels[1].outer.thickness", "2 ± 0.1 mm",
			"panels:\n  - name: X\n    outer: { material: m, thickness: 2 ± 0.1 mm }  # laid up\n"},
		{"o:\n  points:\n    - { at: [ 60, 0 ], edge: front }\n    - { at: [ 9, 0 ], edge: right, bow: 15 }\n", "o.points[2].at[1]", "7.5 in",
			"o:\n  points:\n    - { at: [ 60, 0 ], edge: front }\n    - { at: [ 7.5 in, 0 ], edge: right, bow: 15 }\n"},
		{"d: [ 1 mm, \"#30\",   # small\n  9 mm ]\n", "d[3]", "10 mm", "d: [ 1 mm, \"#30\",   # small\n  10 mm ]\n"},
		{"é: { ü: 1, \"ö ä\": 2 }\n", "é.ö ä", "3", "é: { ü: 1, \"ö ä\": 3 }\n"},
		{"a:\n  1\nb: 2\n", "a", "3", "a: 3\nb: 2\n"},
	} {
		got, err := Set([]byte(c.before), c.path, c.value)
		if err != nil || string(got) != c.after {
			t.Errorf("%q %s = %q:\n got %q %v\nwant %q", c.before, c.path, c.value, got, err, c.after)
			continue
		}
		again, err := Set(got, c.path, c.value)
		if err != nil || string(again) != c.after {
			t.Errorf("%q %s = %q again: %q %v", c.after, c.path, c.value, again, err)
		}
	}
}

func TestDelete(t *testing.T) {
	for _, c := range []struct{ before, path, after string }{
		{"a: 1\nb: 2 # c\nc: 3\n", "b", "a: 1\nc: 3\n"},
		{"a: 1\nb: 2", "b", "a: 1"},
		{"a: 1\r\nb: 2\r\nc: 3", "b", "a: 1\r\nc: 3"},
		{"a:\n  b: 1\n", "a.b", "a: {}\n"},
		{"a:\n  - b\nc: 1\n", "a[1]", "a: []\nc: 1\n"},
		{"a: {b: 1, c: 2, d: 3}\n", "a.b", "a: {c: 2, d: 3}\n"},
		{"a: { b: 1, c: 2, d: 3 }\n", "a.c", "a: { b: 1, d: 3 }\n"},
		{"a: { b: 1, c: 2, d: 3 } # c\n", "a.d", "a: { b: 1, c: 2 } # c\n"},
		{"a: { b: 1 }\n", "a.b", "a: {  }\n"},
		{"a: [ 1,\n  2, # two\n  3 ]\n", "a[2]", "a: [ 1,\n  # two\n  3 ]\n"},
		{"a: [\n  1,\n  2,\n  3,\n]\n", "a[2]", "a: [\n  1,\n  3,\n]\n"},
		{"l:\n  - a: 1\n    b: 2\n  - c\n", "l[1].a", "l:\n  - b: 2\n  - c\n"},
		{"l:\n  - a: 1\n    # why\n    b: 2\n", "l[1].a", "l:\n  -\n    # why\n    b: 2\n"},
		{"l:\n  # one\n  - a: 1\n    b: 2\n\n  # two\n  - c\n", "l[1]", "l:\n\n  # two\n  - c\n"},
		{"l:\n  # one\n  - a: 1\n    b: 2\n\n  # two\n  - c\n", "l[2]", "l:\n  # one\n  - a: 1\n    b: 2\n\n"},
		{"a:\n  x: 1\n  y:\n    z: 1\n    k: 2 # k\n  # after\nb: 1\n", "a.y", "a:\n  x: 1\n  # after\nb: 1\n"},
	} {
		got, err := Delete([]byte(c.before), c.path)
		if err != nil || string(got) != c.after {
			t.Errorf("%q %s:\n got %q %v\nwant %q", c.before, c.path, got, err, c.after)
		}
	}
}

func TestAppend(t *testing.T) {
	for _, c := range []struct{ before, path, value, after string }{
		{"l:\n  - a\n  - b # c\nd: 1\n", "l", "x", "l:\n  - a\n  - b # c\n  - x\nd: 1\n"},
		{"l:\n- a", "l", "{ x: 1 }", "l:\n- a\n- { x: 1 }"},
		{"l:\r\n- a\r\n", "l", "x: 1\ny:\n  - 2", "l:\r\n- a\r\n- x: 1\r\n  y:\r\n    - 2\r\n"},
		{"l: [a, b]\n", "l", "c", "l: [a, b, c]\n"},
		{"l: []\n", "l", "c", "l: [ c ]\n"},
		{"l: [ ] # none\n", "l", "x: 1\ny: 2", "l: # none\n  - x: 1\n    y: 2\n"},
		{"l:\n", "l", "c", "l: [ c ]\n"},
		{"a: 1\n", "l", "{ x: 1 }", "a: 1\nl:\n  - { x: 1 }\n"},
		{"a: { b: 1 }\n", "a.l", "{ x: 1 }", "a: { b: 1, l: [ { x: 1 } ] }\n"},
		{"a: { l: [ { x: 1 } ] }\n", "a.l", "{ x: 2 }", "a: { l: [ { x: 1 }, { x: 2 } ] }\n"},
		{"p:\n  - n: 1\n    c:\n      - { a: 1 }\n  - n: 2\n", "p[1].c", "{ a: 2 }", "p:\n  - n: 1\n    c:\n      - { a: 1 }\n      - { a: 2 }\n  - n: 2\n"},
	} {
		got, err := Append([]byte(c.before), c.path, c.value)
		if err != nil || string(got) != c.after {
			t.Errorf("%q %s + %q:\n got %q %v\nwant %q", c.before, c.path, c.value, got, err, c.after)
		}
	}
}

func TestMove(t *testing.T) {
	for _, c := range []struct {
		before   string
		from, to int
		after    string
	}{
		{"l: [ a, {b: 1}, c ] # c\n", 1, 3, "l: [ {b: 1}, c, a ] # c\n"},
		{"l:\n  # one\n  - a: 1 # x\n    b: 2\n\n  # two\n  - c\n  - d", 2, 1, "l:\n  # two\n  - c\n\n  # one\n  - a: 1 # x\n    b: 2\n  - d"},
		{"l:\n- a\n- b\n- c\n", 3, 1, "l:\n- c\n- a\n- b\n"},
		{"l:\n- a\n- b\n", 2, 2, "l:\n- a\n- b\n"},
	} {
		got, err := Move([]byte(c.before), "l", c.from, c.to)
		if err != nil || string(got) != c.after {
			t.Errorf("%q %d to %d:\n got %q %v\nwant %q", c.before, c.from, c.to, got, err, c.after)
		}
	}
}

// What cannot be done is said with the field and the way out, and the old text stands.
func TestCannot(t *testing.T) {
	for _, c := range []struct{ text, path, value, want string }{
		{"a: 1\n", "a.b", "1", `a.b: the key "b" is to go into what is a single value; delete that first`},
		{"l: [ 1 ]\n", "l[2]", "1", "l[2]: item 2 of a list of 1; accepted: 1 to 1"},
		{"l: [ 1 ]\n", "l[0]", "1", "l[0]: a path with [0]; accepted: a number from 1 in brackets, as panels[1].outer.thickness"},
		{"a: { b: 1 }\n", "a.b", "x: 1\ny: 2", "a.b: several lines cannot stand within brackets; write the value in { } or [ ]"},
		{"a: 1\n", "a", "#30", `a: the value "#30" is no YAML that a job may use (nothing in the file); put quotes`},
		{"a: 1\n", "a", "5 # five", `a: "5 # five" is more than one value`},
		{"a: 1\n", "a", "[ 1", `a: the value "[ 1" is no YAML`},
		{"a: &x 1\n", "a", "2", "the text cannot be read, so no field of it can be changed: line 1: a: an anchor (&), which this file may not use (rule anchor); delete it, and write the value out where it is needed; mend the text first"},
		{"a: 1\n---\nb: 1\n", "a", "2", "the text cannot be read"},
		{"", "a", "2", "the text cannot be read"},
	} {
		got, err := Set([]byte(c.text), c.path, c.value)
		var cannot *Cannot
		if !errors.As(err, &cannot) || !strings.HasPrefix(err.Error(), c.want) || string(got) != c.text {
			t.Errorf("%q %s = %q:\n got %v\nwant %s", c.text, c.path, c.value, err, c.want)
		}
	}
	if _, err := Delete([]byte("a: 1\n"), "b"); err == nil || err.Error() != "b: there is nothing here to delete" {
		t.Error(err)
	}
	if _, err := Append([]byte("a: 1\n"), "a", "2"); err == nil || err.Error() != "a: an item is to go into what is a single value; accepted: a list" {
		t.Error(err)
	}
	if _, err := Move([]byte("a: [ 1 ]\n"), "a", 1, 2); err == nil || err.Error() != "a: item 1 to place 2 of a list of 1; accepted: 1 to 1" {
		t.Error(err)
	}
}

// An edit that would touch more than it says, or not do what it says, is refused by the second reading.
func TestGuard(t *testing.T) {
	const text = "a: 1\nb: { c: 2, d: 3 } # why\n"
	for name, cut := range map[string]splice{
		"another field too": {3, 13, "5\nb: { c: 7"}, "a key gone": {3, 5, "5 #"}, "not done": {3, 4, "1"}, "no YAML": {3, 4, "[5"}, "quoted": {3, 4, "'5'"},
		"another order": {0, 27, "b: { d: 3, c: 2 }\na: 5"}, "an anchor": {3, 4, "&x 5"},
	} {
		got, err := change([]byte(text), "a", "5", func(d *Doc, steps []step, v *piece) ([]splice, *tree, error) {
			want := treeOf(d.root.src)
			return []splice{cut}, want, want.set(steps, v.tree)
		})
		if err == nil || string(got) != text {
			t.Errorf("%s: %q %v", name, got, err)
		}
	}
}

// scalars gives the path of every single value and every empty one.
func scalars(n *source.Node) []string {
	var out []string
	for _, e := range n.Entries {
		out = append(out, scalars(e.Value)...)
	}
	for _, i := range n.Items {
		out = append(out, scalars(i)...)
	}
	if n.Kind == source.Scalar || n.Kind == source.Null {
		out = append(out, n.Path)
	}
	return out
}

func jobs(t testing.TB) map[string][]byte {
	names, err := filepath.Glob("../../examples/*/job.yaml")
	if err != nil || len(names) < 3 {
		t.Fatal(names, err)
	}
	more, _ := filepath.Glob("../../testdata/faults/*.yaml")
	out := map[string][]byte{}
	for _, n := range append(names, more...) {
		text, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		out[n] = text
	}
	return out
}

// Every single value of the examples set to another and back leaves the bytes as they were; so does CR LF.
func TestThereAndBack(t *testing.T) {
	count := 0
	for name, text := range jobs(t) {
		if !strings.Contains(name, "examples") {
			continue
		}
		for _, text := range [][]byte{text, []byte("\ufeff" + strings.ReplaceAll(strings.TrimSuffix(string(text), "\n"), "\n", "\r\n"))} {
			root, faults := source.Parse("", text)
			if len(faults) > 0 {
				t.Fatal(name, faults)
			}
			d, err := Open(text)
			if err != nil {
				t.Fatal(name, err)
			}
			for i, path := range scalars(root) {
				if text[0] == 0xef && i%5 > 0 {
					continue // each change reads the text twice
				}
				count++
				old, found := d.Get(path)
				if !found {
					t.Fatal(name, path, "not found")
				}
				changed, err := Set(text, path, `"another: #1"`)
				if err != nil {
					t.Fatal(name, err)
				}
				back, err := Set(changed, path, old)
				if err != nil || string(back) != string(text) {
					t.Fatalf("%s: %s: not back to the same bytes: %v", name, path, err)
				}
			}
		}
	}
	if count < 550 {
		t.Errorf("only %d values", count)
	}
}

// Every value of every job file, groups and lists too, can be found, set to itself and deleted.
func TestEveryValue(t *testing.T) {
	n := 0
	for name, text := range jobs(t) {
		root, faults := source.Parse("", text)
		if n++; len(faults) > 0 || n%8 > 0 && !strings.Contains(name, "examples") { // some of the many small ones: a change reads the text twice
			continue
		}
		d, err := Open(text)
		if err != nil {
			t.Fatal(name, err)
		}
		var visit func(n *source.Node)
		visit = func(n *source.Node) {
			if n.Path != "" && !strings.Contains(n.Path, "…") { // a long key is cut in its path
				value, found := d.Get(n.Path)
				if !found {
					t.Errorf("%s: %s: not found", name, n.Path)
				}
				if same, err := Set(text, n.Path, value); err != nil || string(same) != string(text) {
					t.Errorf("%s: %s set to itself: %v", name, n.Path, err)
				}
				if _, err := Delete(text, n.Path); err != nil {
					t.Errorf("%s: delete %v", name, err)
				}
			}
			for _, e := range n.Entries {
				visit(e.Value)
			}
			for _, i := range n.Items {
				visit(i)
			}
		}
		visit(root)
	}
}

// Scalar reads back as it was, in brackets and in lines.
func TestScalar(t *testing.T) {
	for s, want := range map[string]string{
		"2.5": "2.5", "-0.5": "-0.5", "1/8 in": "1/8 in", "#30": `"#30"`, "": `""`, "null": `"null"`, "~": `"~"`, "16 swg": "16 swg", "2.4 ± 0.2 mm": "2.4 ± 0.2 mm",
		"readings [2.5, 2.6] mm": `"readings [2.5, 2.6] mm"`, `1-3/16"`: `'1-3/16"'`, `it's "so"`: `'it''s "so"'`, "a\nb": `"a\nb"`, "- x": `"- x"`, "no": "no", "5 %": "5 %",
		"0 °C": "0 °C", "a: b": `"a: b"`, "12:30": `"12:30"`, " x": `" x"`, "µ": "µ", "½ in": "½ in", "---": `"---"`, "front beside seat": "front beside seat", "!x": `"!x"`,
	} {
		if got := Scalar(s); got != want {
			t.Errorf("%q: %s, want %s", s, got, want)
		}
	}
}

func BenchmarkSet(b *testing.B) {
	text, err := os.ReadFile("../../examples/01-sprint/job.yaml")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Set(text, "panels[5].outer.thickness", "3 mm"); err != nil {
			b.Fatal(err)
		}
	}
}
