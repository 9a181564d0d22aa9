package edit

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/source"
)

// Doc is a text that was read, with the bytes that each of its values takes.
type Doc struct {
	text  []byte
	lines []line
	root  *node
}

// line is a line of the text by its bytes: from start to end, and with its line end to next.
type line struct{ start, end, next int }

// node is a value and its bytes, text[start:end]; of a missing value both are where it would stand.
type node struct {
	src        *source.Node
	start, end int
	flow       bool   // a list or group in brackets
	parts      []part // of a list its items, of a group its keys

	// Where it hangs.
	after    int  // right behind the colon or dash; of a root the start
	bare     bool // a key without a colon, in brackets
	inFlow   bool // within brackets
	item     bool // of a list
	parent   int  // blanks before the parent's keys or dashes, when the parent is in lines; -1 at the root
	children int  // blanks before its own keys or dashes, when they are in lines
}

// part is a key with its value, or an item; start is where the key or the dash, or within brackets the item, stands.
type part struct {
	key   string
	start int
	value *node
}

// Open reads a text. It fails with *Cannot when the text is no YAML that a job may use.
func Open(text []byte) (*Doc, error) {
	src, faults := source.Parse("", text)
	if len(faults) > 0 || src == nil {
		why := "nothing in it"
		if len(faults) > 0 {
			f := faults[0]
			line := f.Pos.Line
			f.Pos = fault.Pos{}
			why = fmt.Sprintf("line %d: %s", line, f.Error())
		}
		return nil, &Cannot{Why: "the text cannot be read, so no field of it can be changed: " + why + "; mend the text first"}
	}
	d := &Doc{text: text, lines: linesOf(text)}
	after := d.lines[0].start
	if i := d.skip(after, ""); bytes.HasPrefix(text[i:], []byte("---")) {
		after = i + 3
	}
	root, err := d.node(src, hang{after: after, parent: -1})
	if err != nil {
		return nil, &Cannot{Why: err.Error()}
	}
	d.root = root
	return d, nil
}

func linesOf(text []byte) []line {
	start := 0
	if bytes.HasPrefix(text, []byte("\ufeff")) {
		start = 3
	}
	var out []line
	for i := start; i < len(text); i++ {
		end := i
		switch {
		case text[i] == '\r' && i+1 < len(text) && text[i+1] == '\n':
			i++
		case text[i] != '\n' && text[i] != '\r':
			continue
		}
		out = append(out, line{start, end, i + 1})
		start = i + 1
	}
	return append(out, line{start, len(text), len(text)})
}

// lineAt is the line that holds the byte at i.
func (d *Doc) lineAt(i int) line {
	n, found := slices.BinarySearchFunc(d.lines, i, func(l line, i int) int { return l.start - i })
	if !found {
		n--
	}
	return d.lines[max(n, 0)]
}

// ending is the line end that the text uses.
func (d *Doc) ending() string {
	if l := d.lines[0]; l.next > l.end {
		return string(d.text[l.end:l.next])
	}
	return "\n"
}

// hang is where a value hangs: see node.
type hang struct {
	after        int
	inFlow, item bool
	parent       int
}

func lost(n *source.Node) error {
	return fmt.Errorf("line %d is laid out in a way that cannot be followed here (%s); change it in the text itself", n.Pos.Line, source.Cut(n.Path))
}

// node finds the bytes of n: those that follow the colon, dash, bracket or comma. (The library's columns are not used: they
// count blanks at the end of a line.)
func (d *Doc) node(n *source.Node, h hang) (*node, error) {
	out := &node{src: n, after: h.after, inFlow: h.inFlow, item: h.item, parent: h.parent}
	out.start, out.end = h.after, h.after
	if n.Kind == source.Null && n.Text == "" {
		return out, nil
	}
	if out.start = d.skip(h.after, ""); out.start >= len(d.text) {
		return nil, lost(n)
	}
	switch n.Kind {
	case source.Null, source.Scalar:
		end, ok := d.scalarEnd(out.start, n.Text, n.Quoted, h)
		out.end = end
		if !ok {
			return nil, lost(n)
		}
		return out, nil
	}
	c := d.text[out.start]
	out.flow = n.Kind == source.List && c == '[' || n.Kind == source.Map && c == '{'
	switch {
	case out.flow:
		return out, d.inBrackets(out)
	case h.inFlow && n.Kind == source.List:
		return nil, lost(n)
	}
	return out, d.inLines(out)
}

// inBrackets finds the parts of a list or group in brackets, and its end.
func (d *Doc) inBrackets(out *node) error {
	n, i := out.src, out.start+1
	for _, e := range n.Entries {
		p, err := d.entry(e, i, hang{inFlow: true, parent: -1})
		if err != nil {
			return err
		}
		out.parts, i = append(out.parts, p), p.value.end
	}
	for _, it := range n.Items {
		i = d.skip(i, ",")
		v, err := d.node(it, hang{after: i, inFlow: true, item: true, parent: -1})
		if err != nil {
			return err
		}
		out.parts, i = append(out.parts, part{start: v.start, value: v}), v.end
	}
	i = d.skip(i, ",")
	if i >= len(d.text) || d.text[i] != '}' && d.text[i] != ']' {
		return lost(n)
	}
	out.end = i + 1
	return nil
}

// inLines finds the parts of a list or group on lines of its own, and its end. A group of one key that stands in a list in
// brackets without its own is taken here too.
func (d *Doc) inLines(out *node) error {
	n := out.src
	out.children = len([]rune(string(d.text[d.lineAt(out.start).start:out.start])))
	h := hang{inFlow: out.inFlow, parent: out.children}
	i := out.start
	for _, e := range n.Entries {
		p, err := d.entry(e, i, h)
		if err != nil {
			return err
		}
		out.parts, i = append(out.parts, p), p.value.end
	}
	for _, it := range n.Items {
		dash := d.skip(i, "")
		if dash >= len(d.text) || d.text[dash] != '-' {
			return lost(it)
		}
		h.after, h.item = dash+1, true
		v, err := d.node(it, h)
		if err != nil {
			return err
		}
		out.parts, i = append(out.parts, part{start: dash, value: v}), v.end
	}
	if len(out.parts) == 0 {
		return lost(n)
	}
	out.end = i
	return nil
}

// entry finds a key and its value, at or behind from.
func (d *Doc) entry(e source.Entry, from int, h hang) (part, error) {
	signs := ""
	if h.inFlow {
		signs = ","
	}
	start := d.skip(from, signs)
	if start >= len(d.text) {
		return part{}, lost(e.Value)
	}
	end := start + len(e.Key)
	if c := d.text[start]; c == '"' || c == '\'' {
		end = d.quotedEnd(start)
	} else if !bytes.HasPrefix(d.text[start:], []byte(e.Key)) {
		return part{}, lost(e.Value)
	}
	colon := end
	for colon >= 0 && colon < len(d.text) && (d.text[colon] == ' ' || d.text[colon] == '\t') {
		colon++
	}
	bare := colon < 0 || colon >= len(d.text) || d.text[colon] != ':'
	if bare && !h.inFlow || end < 0 {
		return part{}, lost(e.Value)
	}
	h.after = colon + 1
	if bare {
		h.after = end
	}
	v, err := d.node(e.Value, h)
	if err != nil {
		return part{}, err
	}
	v.bare = bare
	return part{key: e.Key, start: start, value: v}, nil
}

// skip goes over blanks, line ends, comments and the signs given.
func (d *Doc) skip(i int, signs string) int {
	for i < len(d.text) {
		switch c := d.text[i]; {
		case c == '#' && (i == d.lines[0].start || strings.IndexByte(" \t\r\n,[]{}", d.text[i-1]) >= 0):
			i = d.lineAt(i).end
		case strings.IndexByte(" \t\r\n"+signs, c) >= 0:
			i++
		default:
			return i
		}
	}
	return i
}

// scalarEnd is where a single value ends that begins at start and reads as text.
func (d *Doc) scalarEnd(start int, text string, quoted bool, h hang) (int, bool) {
	switch c := d.text[start]; {
	case quoted && (c == '"' || c == '\''):
		end := d.quotedEnd(start)
		return end, end > 0
	case quoted: // | or >
		return d.blockEnd(start, h.parent), true
	case text != "" && bytes.HasPrefix(d.text[start:], []byte(text)):
		return start + len(text), true
	}
	if h.inFlow {
		return d.foldedEnd(start), true
	}
	return d.trimmed(start, d.blockEnd(start, h.parent)), true
}

// quotedEnd is behind the closing quote, -1 without one.
func (d *Doc) quotedEnd(start int) int {
	quote := d.text[start]
	for i := start + 1; i < len(d.text); i++ {
		switch {
		case d.text[i] == '\\' && quote == '"':
			i++
		case d.text[i] == quote && quote == '\'' && i+1 < len(d.text) && d.text[i+1] == quote:
			i++
		case d.text[i] == quote:
			return i + 1
		}
	}
	return -1
}

// blockEnd is the end of the last line that is indented by more than parent blanks, from the line of start on.
func (d *Doc) blockEnd(start, parent int) int {
	first := d.lineAt(start)
	end := first.end
	for i := first.next; i < len(d.text); {
		l := d.lineAt(i)
		if words := bytes.TrimLeft(d.text[l.start:l.end], " "); len(bytes.TrimSpace(words)) > 0 {
			if l.end-l.start-len(words) <= parent {
				break
			}
			end = l.end
		}
		if i = l.next; l.next == l.end {
			break
		}
	}
	return end
}

// trimmed ends a plain text before the blanks and the comment at its end.
func (d *Doc) trimmed(start, end int) int {
	l := d.lineAt(end)
	from := max(start, l.start)
	if i := bytes.Index(d.text[from:end], []byte(" #")); i >= 0 {
		end = from + i
	}
	return start + len(bytes.TrimRight(d.text[start:end], " \t\r\n"))
}

// foldedEnd ends a plain text of several lines within brackets.
func (d *Doc) foldedEnd(start int) int {
	end := start
	for end < len(d.text) && strings.IndexByte(",]}", d.text[end]) < 0 && !bytes.HasPrefix(d.text[end:], []byte(" #")) {
		end++
	}
	return start + len(bytes.TrimRight(d.text[start:end], " \t\r\n"))
}

func (d *Doc) find(steps []step) *node {
	n := d.root
	for _, s := range steps {
		if n = n.child(s); n == nil {
			return nil
		}
	}
	return n
}

func (n *node) child(s step) *node {
	if i := n.at(s); i >= 0 {
		return n.parts[i].value
	}
	return nil
}

// at is the part that a step leads to, -1 when it is not there.
func (n *node) at(s step) int {
	if s.index < 0 && n.src.Kind == source.Map {
		return slices.IndexFunc(n.parts, func(p part) bool { return p.key == s.key })
	}
	if s.index >= 0 && n.src.Kind == source.List && s.index < len(n.parts) {
		return s.index
	}
	return -1
}
