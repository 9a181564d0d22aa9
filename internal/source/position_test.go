package source

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"panelwright/internal/fault"
)

// writer writes YAML of its own and notes where each thing went.
type writer struct {
	b     strings.Builder
	line  int
	col   int
	where map[string]fault.Pos // by path; keys under path + "!"
	text  map[string]string
	rng   *rand.Rand
}

func newWriter(seed uint64) *writer {
	return &writer{line: 1, col: 1, where: map[string]fault.Pos{}, text: map[string]string{}, rng: rand.New(rand.NewPCG(seed, 11))}
}

func (w *writer) put(s string) {
	for _, c := range s {
		w.b.WriteRune(c)
		if w.col++; c == '\n' {
			w.line, w.col = w.line+1, 1
		}
	}
}

func (w *writer) mark(path string) { w.where[path] = fault.Pos{File: "f", Line: w.line, Col: w.col} }

var plainTexts = []string{"4.30", "1-3/16\"", "-1.2", "2.6 ± 0.3 mm", "no", "naïve", "5 mm", "µm — ok", "0x1F", "1e3", "a:b", "x#y", "16 ga stainless", ".5", "62:30", "true", "-", "é"}

func (w *writer) scalar(path string, flow bool) {
	s := plainTexts[w.rng.IntN(len(plainTexts))]
	if flow {
		s = strings.ReplaceAll(s, ":", "") // the library takes 62:30 within brackets for a key and a value
	}
	if s == "-" {
		s = "- 1.2"
		w.mark(path)
		w.text[path] = s
		w.put("'" + s + "'")
		return
	}
	w.mark(path)
	w.text[path] = s
	switch w.rng.IntN(5) {
	case 0:
		w.put(`"` + strings.ReplaceAll(s, `"`, `\"`) + `"`)
	case 1:
		w.put("'" + s + "'")
	default:
		w.put(s)
	}
}

// flow writes a value inside brackets.
func (w *writer) flow(path string, depth int) {
	switch k := w.rng.IntN(4); {
	case k == 0 && depth < 3:
		w.mark(path)
		w.put("[")
		for i := range w.rng.IntN(4) {
			if i > 0 {
				w.put(", ")
			}
			if w.rng.IntN(6) == 0 {
				w.put("\n" + strings.Repeat(" ", 30))
			}
			w.flow(item(path, i), depth+1)
		}
		w.put("]")
	case k == 1 && depth < 3:
		w.mark(path)
		w.put("{")
		for i := range w.rng.IntN(4) {
			if i > 0 {
				w.put(",  ")
			}
			key := fmt.Sprintf("ké%d", i)
			w.mark(child(path, key) + "!")
			w.put(key + ": ")
			w.flow(child(path, key), depth+1)
		}
		w.put("}")
	default:
		w.scalar(path, true)
	}
}

func (w *writer) end() {
	switch w.rng.IntN(6) {
	case 0:
		w.put("   # a comment: [x] é")
	case 1:
		w.put("\n")
	case 2:
		w.put("\n# a comment on its own line")
	}
	w.put("\n")
}

// block writes a map or list at an indent; the cursor stands at that column.
func (w *writer) block(path string, indent, depth int, first bool) {
	n := 1 + w.rng.IntN(4)
	pad := strings.Repeat(" ", indent)
	list := w.rng.IntN(3) == 0
	for i := range n {
		if i > 0 || !first {
			w.put(pad)
		}
		p := item(path, i)
		if list {
			if i == 0 {
				w.mark(path)
			}
			w.put("- ")
		} else {
			p = child(path, []string{"name", "größe", "k k", "9"}[i])
			w.mark(p + "!")
			if i == 0 {
				w.mark(path)
			}
			w.put([]string{"name", "größe", "k k", "9"}[i] + ": ")
		}
		switch k := w.rng.IntN(7); {
		case k < 2 && depth < 4 && !list:
			w.put("\n")
			w.block(p, indent+2, depth+1, false)
		case k < 2 && depth < 4:
			w.block(p, indent+2, depth+1, true)
		case k == 2:
			w.flow(p, 0)
			w.end()
		case k == 3:
			w.mark(p)
			w.put("|\n" + pad + "   two\n" + pad + "   lines\n")
			w.text[p] = "two\nlines\n"
		case k == 4 && !list:
			w.where[p] = w.where[p+"!"] // nothing: stands at its key
			w.end()
		default:
			w.scalar(p, false)
			w.end()
		}
	}
}

// walk compares every node with where it was written.
func (w *writer) check(t *testing.T, n *Node) {
	if want, ok := w.where[n.Path]; !ok || n.Pos != want {
		t.Errorf("%q (%s) stands at %v, not %v", n.Path, n.Kind, want, n.Pos)
	}
	if n.Text != w.text[n.Path] {
		t.Errorf("%q is %q, not %q", n.Path, w.text[n.Path], n.Text)
	}
	delete(w.where, n.Path)
	for _, i := range n.Items {
		w.check(t, i)
	}
	for _, e := range n.Entries {
		if key := e.Value.Path + "!"; w.where[key] != e.KeyPos {
			t.Errorf("key %q stands at %v, not %v", e.Value.Path, w.where[key], e.KeyPos)
		} else {
			delete(w.where, key)
		}
		w.check(t, e.Value)
	}
}

// Every key and value of a file stands where it was written, with any line ends, and with a byte order mark or without.
func TestPositions(t *testing.T) {
	for seed := range uint64(400) {
		w := newWriter(seed)
		w.block("", 0, 0, true)
		text := w.b.String()
		switch seed % 4 {
		case 1:
			text = strings.ReplaceAll(text, "\n", "\r\n")
		case 2:
			text = "\ufeff" + text
		case 3:
			text = strings.TrimRight(text, "\n") + "\n"
		}
		root, faults := Parse("f", []byte(text))
		if len(faults) > 0 || root == nil {
			t.Fatalf("seed %d: %v\n%s", seed, faults, numbered(text))
		}
		w.check(t, root)
		for p := range w.where {
			t.Errorf("%q was lost", p)
		}
		if t.Failed() {
			t.Fatalf("seed %d:\n%s", seed, numbered(text))
		}
	}
}

func numbered(text string) string {
	var b strings.Builder
	for i, line := range strings.Split(text, "\n") {
		fmt.Fprintf(&b, "%3d %s\n", i+1, line)
	}
	return b.String()
}
