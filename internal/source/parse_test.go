package source

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"panelwright/internal/measure"
)

// Every fault of the YAML itself, with its whole message.
func TestYAMLFaults(t *testing.T) {
	const odd = "look for a missing quote, bracket or colon, or uneven indentation, here or just above"
	for _, c := range []struct{ text, want string }{
		{"", "f:1:1: nothing in the file (rule empty-file)"},
		{"# only a comment\n", "f:1:1: nothing in the file (rule empty-file)"},
		{"---\n", "f:1:1: nothing in the file (rule empty-file)"},
		{"a: 1\n---\nb: 2\n", "f:2:1: a second document in the file (rule one-document); keep one; delete the line --- and what follows"},
		{"%YAML 1.2\n---\na: 1\n", "f:1:1: a directive (%), which this file may not use (rule yaml); delete the line"},
		{"a: [1, 2\nb: 3\n", "f:2:1: not YAML: ',' or ']' must be specified (rule yaml); close the bracket, and put quotes around values that hold brackets, commas or colons"},
		{"a: {t: readings [6.1, 6.2] mm}\n", `f:1:17: not YAML: ',' or '}' must be specified (rule yaml); within { } put quotes around it: "readings [6.1, 6.2] mm"`},
		{"a:\n\t- b\n", "f:2:1: not YAML: found character '\t' that cannot start any token (rule yaml); indent with spaces, not tabs"},
		{"é: b: c\n", "f:1:4: not YAML: mapping value is not allowed in this context (rule yaml); one key on each line, those of one group indented alike; put quotes around a value that holds a colon and a space"},
		{"a: 1\n b: 2\n", "f:1:4: not YAML: mapping value is not allowed in this context (rule yaml); one key on each line, those of one group indented alike; put quotes around a value that holds a colon and a space"},
		{"a: \"open\nb: 1\n", `f:1:4: not YAML: could not find end character of double-quoted text (rule yaml); close the quotes; text that holds an inch mark needs the other kind, as '1-3/16"'`},
		{"a: 'it's'\n", "f:1:8: not YAML: value is not allowed in this context. map key-value is pre-defined (rule yaml); check the quotes: within ' ' an apostrophe is written twice"},
		{"a: @x\n", "f:1:4: not YAML: '@' is a reserved character (rule yaml); put the value in quotes"},
		{"a: [1, 2]]\n", "f:1:10: not YAML: value is not allowed in this context (rule yaml); delete the closing bracket that is too many, or open it"},
		{"a: [1,,2]\n", "f:1:7: not YAML: unexpected scalar value type (rule yaml); delete the comma that is too many"},
		{"a: - b\n", "f:1:4: not YAML: block sequence entries are not allowed in this context (rule yaml); begin a list on the line below its key, or write it as [a, b]"},
		{"? [a, b]\n: 1\n", "f:2:1: not YAML: found an invalid key for this map (rule yaml); " + odd},
		{"a: \"\\q\"\n", "f:1:6: not YAML: found unknown escape character 'q' (rule yaml); put single quotes around text that holds a backslash"},
		{"a: *\n", "f:1:4: not YAML: undefined alias name (rule yaml); put quotes around text that begins with & or *"},
		{"a: !!str x\n", "f:1:4: a: a tag (!!str), which this file may not use (rule tag); delete it; put quotes around text that begins with !"},
		{"a: &x 3\n", "f:1:4: a: an anchor (&), which this file may not use (rule anchor); delete it, and write the value out where it is needed"},
		{"a: *x\n", "f:1:4: a: an alias (*), which this file may not use (rule anchor); write the value out; put quotes around text that begins with *"},
		{"<<: {a: 1}\n", "f:1:1: a merge key (<<), which this file may not use (rule anchor); write the keys out"},
		{"? a\n: 1\n", "f:1:1: a key that is not a word, which this file may not use (rule yaml); write a word before the colon"},
		{"a: 1\nb: 2\na: 3\na: 4\n", "f:3:1: a: a stands twice, first on line 1 (rule duplicate-key); keep one\nf:4:1: a: a stands twice, first on line 1 (rule duplicate-key); keep one"},
		{"é: {b: 1, b: 2}\n", "f:1:11: é.b: b stands twice, first on line 1 (rule duplicate-key); keep one"},
		{"a: é\x00\n", "f:1:5: the control character U+0000 (rule encoding); delete it"},
		{"a: é\xff\n", "f:1:5: bytes that are no UTF-8 text (rule encoding); save the file as UTF-8"},
		{"\xff\xfea\x00", "f:1:1: bytes that are no UTF-8 text (rule encoding); save the file as UTF-8"},
		{strings.Repeat("[", 65), "f:1:65: more than 64 groups within each other (rule file-size); check brackets and indentation"},
		{strings.Repeat("- ", 65), "f:1:129: more than 64 groups within each other (rule file-size); check brackets and indentation"},
		{strings.Repeat("x", MaxBytes+1), "f: 4194305 bytes, at most 4194304 are read (rule file-size); check that this is the right file"},
	} {
		_, faults := Parse("f", []byte(c.text))
		if got := faults.Error(); got != c.want {
			t.Errorf("%.60q:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
}

// What is allowed: 64 groups within each other, the most keys, and text that looks odd.
func TestAtTheBounds(t *testing.T) {
	deep := strings.Repeat("[", 64) + strings.Repeat("]", 64)
	var wide, many strings.Builder
	for i := range maxInMap {
		fmt.Fprintf(&wide, "k%d: 1\n", i)
	}
	for range 20_000 {
		many.WriteString("- {x: 1 mm, y: 2 mm}\n")
	}
	for name, text := range map[string]string{"deep": deep, "wide": wide.String(), "many": many.String(), "end mark": "---\na: 1\n...\n", "indented": "  a: 1\n  b: 2\n"} {
		if root, faults := Parse("f", []byte(text)); len(faults) > 0 || root == nil {
			t.Errorf("%s: %.200s", name, faults.Error())
		}
	}
	if _, faults := Parse("f", []byte(wide.String()+"more: 1\n")); len(faults) != 1 || faults[0].Pos.Line != maxInMap+1 {
		t.Errorf("one key more: %.200s", faults.Error())
	}
}

// Files made to take long end within seconds even on a slow machine. Without the bounds the first took 77 s.
func TestHostileFilesEnd(t *testing.T) {
	const limit = 5 * time.Second // about ten times what the slowest takes here
	for name, text := range map[string]string{
		"keys":      strings.Repeat("a: 1\n", 200_000),
		"open":      strings.Repeat("[", 1_000_000),
		"explicit":  strings.Repeat("? ", 1_000_000),
		"anchors":   strings.Repeat("&a ", 300_000),
		"aliases":   "a: &a [" + strings.Repeat("*a, ", 200_000) + "]",
		"tags":      strings.Repeat("!a ", 300_000),
		"texts":     strings.Repeat("\"a\" ", 200_000),
		"one line":  "[" + strings.Repeat("1, ", 190_000) + "]",
		"documents": strings.Repeat("---\n", 300_000),
		"billion":   "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n",
	} {
		start := time.Now()
		Parse("f", []byte(text))
		if took := time.Since(start); took > limit {
			t.Errorf("%s: %v", name, took)
		}
	}
}

// FuzzSource reads anything without a crash, every place lies in the file, and a plain scalar stands where it says.
func FuzzSource(f *testing.F) {
	for seed := range uint64(12) {
		w := newWriter(seed)
		w.block("", 0, 0, true)
		f.Add([]byte(w.b.String()))
	}
	for _, s := range []string{"a: #30\n", "a: !t x\n", "- &a 1\n- *a\n", "a: {t: readings [6.1, 6.2] mm}", "? [a]\n: b", "a: |\n  x\n", "\ufeffa: 1\r\nb: 2\r", "<<: {a: 1}", "{a, b: 1}", "a: [,]", "%Y\n---\na", "a: >-\n\n"} {
		f.Add([]byte(s))
	}
	p := measure.Parser{Units: measure.Units{measure.Length: "mm"}}
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 20_000 {
			return
		}
		root, faults := Parse("f", text)
		if root == nil && len(faults) == 0 {
			t.Fatal("nothing read and nothing said")
		}
		lines := strings.Split(strings.ReplaceAll(strings.ReplaceAll(strings.TrimPrefix(string(text), "\ufeff"), "\r\n", "\n"), "\r", "\n"), "\n")
		r := Reader{Faults: faults}
		visit(t, root, lines)
		read(&r, root, p, 0)
		for _, x := range r.Sorted() {
			if x.Rule == "" || x.Text == "" || x.Pos.File != "f" || x.Pos.Line > len(lines) || x.Pos.Line < 0 || x.Pos.Col < 0 {
				t.Fatalf("%+v of %d lines", x, len(lines))
			}
		}
	})
}

func visit(t *testing.T, n *Node, lines []string) {
	if n == nil {
		return
	}
	if n.Pos.Line < 1 || n.Pos.Line > len(lines) || n.Pos.Col < 1 || n.Pos.Col > len([]rune(lines[n.Pos.Line-1]))+1 {
		t.Fatalf("%q stands at %v of %d lines", n.Path, n.Pos, len(lines))
	}
	for _, i := range n.Items {
		visit(t, i, lines)
	}
	for _, e := range n.Entries {
		visit(t, e.Value, lines)
	}
}

// read asks for every node in every way.
func read(r *Reader, n *Node, p measure.Parser, depth int) {
	if n == nil || depth > 3*MaxDepth {
		return
	}
	r.Str(n)
	r.Quantity(n, measure.Length, p)
	r.Int(n, 0, 9)
	r.Bool(n)
	r.Enum(n, "rib", "flange")
	r.Quantities(n, measure.Number, p, -1)
	for _, i := range r.List(n) {
		read(r, i, p, depth+1)
	}
	f := r.Map(n)
	f.OptMaps("a")
	f.Strs("b")
	f.Child("c").Value("d", measure.Speed, p)
	f.Exclusive(true, "a", "b")
	f.Done()
	for _, e := range n.Entries {
		read(r, e.Value, p, depth+1)
	}
}

func BenchmarkParse(b *testing.B) {
	var text strings.Builder
	text.WriteString("panels:\n")
	for i := range 50 {
		fmt.Fprintf(&text, "  - name: panel %d\n    thickness: 2.6 ± 0.3 mm\n    outline: [[0, 0], [400, 0], [400, 300], [0, 300]]\n    supports:\n      - {kind: flange, edges: [left, right], width: 25 mm}\n", i)
	}
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, faults := Parse("f", []byte(text.String())); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
