package edit

import (
	"strings"
	"testing"
	"unicode/utf8"

	"panelwright/internal/source"
)

// FuzzSet sets, appends to, deletes and moves in anything: no crash; what comes out says what it should; a field that
// was set has the value; what fails leaves the text; setting twice is setting once. (The guard within the package compares
// trees; here the value is looked for in the new text by its path, and the lines far from it are compared.)
func FuzzSet(f *testing.F) {
	for _, text := range []string{"a: 1 # c\nb: { c: [ 1, { d: 2 } ] }\n", "l:\n  # x\n  - a: |\n      t\n    b:\n  - c\n", "- 1\n- - 2\n  - 3\n", "a: [ b: c, d ]\r\ne:", "a: 'it''s'\n\nb: \"x\\\"\"\n", "{ a, b: }", "a:\n  long\n  text\nb: [x\n  y, z]\n"} {
		for _, path := range []string{"a", "b.c[2].d", "l[1].b", "[2][1]", "a.n.m", "e", "l"} {
			for _, value := range []string{"3", "{ x: 1 }", "- p\n- q: 1\n  r: 2", "|\n  text\n", ""} {
				f.Add([]byte(text), path, value)
			}
		}
	}
	f.Fuzz(func(t *testing.T, text []byte, path, value string) {
		if len(text)+len(value) > 5_000 {
			return
		}
		old := string(text)
		out, err := Set(text, path, value)
		if err == nil {
			got, found := Get(out, path)
			if !found && path != "" {
				t.Fatalf("%q %q = %q: not found in %q", old, path, value, out)
			}
			again, err := Set(out, path, value)
			if err != nil || string(again) != string(out) {
				t.Fatalf("%q %q = %q: once %q, twice %q %v", old, path, value, out, again, err)
			}
			if same, err := Set(out, path, got); err != nil || string(same) != string(out) {
				t.Fatalf("%q: %q set to itself %q: %q %v", out, path, got, same, err)
			}
		} else if string(out) != old {
			t.Fatal("changed in spite of", err)
		}
		if out, err := Append(text, path, value); err != nil && string(out) != old {
			t.Fatal("changed in spite of", err)
		}
		if out, err := Delete(text, path); err != nil && string(out) != old {
			t.Fatal("changed in spite of", err)
		}
		if out, err := Move(text, path, 1, 2); err == nil {
			if back, err := Move(out, path, 2, 1); err != nil {
				t.Fatalf("%q moved to %q: no way back: %q %v", old, out, back, err)
			}
		}
		if string(text) != old {
			t.Fatal("the text that was given is changed")
		}
	})
}

// FuzzScalar: what Scalar writes reads back as it was.
func FuzzScalar(f *testing.F) {
	for _, s := range []string{"a", "#30", "1-3/16\"", "it's", "a\nb", "a\tb", "-", "- a", "0x1f", "1_000", ".5", "NULL", "x:", "\\", "\u0085", "\ufeff", "  ", "a  b", "[", "@", "…", "é\"'"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if !utf8.ValidString(s) || len(s) > 2_000 || strings.ContainsRune(s, utf8.RuneError) {
			return
		}
		v := Scalar(s)
		for _, text := range []string{"a: " + v + "\n", "a: { b: [ " + v + ", x ], c: " + v + " }\n", "- " + v, v + ": 1\n"} {
			root, faults := source.Parse("", []byte(text))
			if len(faults) > 0 {
				t.Fatalf("%q written as %s: %v", s, text, faults)
			}
			switch {
			case text[0] == '-' && root.Items != nil && root.Items[0].Text == s:
			case len(root.Entries) == 1 && root.Entries[0].Key == s:
			case root.Get("a") != nil && root.Get("a").Text == s:
			case root.Get("a").Get("b") != nil && root.Get("a").Get("b").Items[0].Text == s && root.Get("a").Get("c").Text == s:
			default:
				t.Fatalf("%q written as %q reads otherwise", s, text)
			}
		}
	})
}
