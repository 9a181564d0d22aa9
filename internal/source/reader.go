package source

import (
	"fmt"
	"strconv"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
)

// Reader collects the faults of one file while its nodes are read. The zero value is ready.
type Reader struct {
	Faults fault.List
}

// Fault reports something wrong with n: at its place, under its path. n may be nil: then the fault has no place.
func (r *Reader) Fault(n *Node, rule, text, hint string) {
	f := fault.Fault{Rule: rule, Text: text, Hint: hint}
	if n != nil {
		f.Pos, f.Path = n.Pos, n.Path
	}
	r.Faults = append(r.Faults, f)
}

// FaultAt reports something wrong at a place that was kept from earlier.
func (r *Reader) FaultAt(pos fault.Pos, path, rule, text, hint string) {
	r.Faults = append(r.Faults, fault.Fault{Pos: pos, Path: path, Rule: rule, Text: text, Hint: hint})
}

// Sorted puts the faults in the order of the file and returns them; nil when there are none.
func (r *Reader) Sorted() fault.List {
	r.Faults.Sort()
	return r.Faults
}

// wrongKind reports a node that is not what was wanted.
func (r *Reader) wrongKind(n *Node, want string) {
	hint := ""
	if n.Kind == Null && looksMeant(n.comment) {
		hint = fmt.Sprintf("# begins a comment in YAML: put quotes around it, as %s", quoted(Cut(n.comment)))
	}
	text := n.Kind.String()
	if v, ok := n.colonPair(); ok {
		hint = "put quotes around text that holds a colon, as " + quoted(Cut(v))
	}
	if n.Kind == Scalar {
		text = Quote(n.Text)
		if i := strings.Index(n.Text, ":"); i > 0 && !n.Quoted {
			hint = "write a space after the colon"
		}
	}
	r.Fault(n, "kind", fmt.Sprintf("%s; accepted: %s", text, want), hint)
}

// quoted puts a text in the quotes that YAML needs for it.
func quoted(s string) string {
	if strings.ContainsAny(s, `"\`) {
		return "'" + strings.ReplaceAll(s, "'", "''") + "'"
	}
	return `"` + s + `"`
}

// one names a value of dim with its article.
func one(dim measure.Dimension) string {
	if strings.ContainsRune("aeiou", rune(dim.String()[0])) {
		return "an " + dim.String()
	}
	return "a " + dim.String()
}

// looksMeant tells #30 from # a comment.
func looksMeant(comment string) bool {
	return len(comment) > 1 && comment[1] != ' ' && comment[1] != '#'
}

// Str reads text. Numbers and words such as no and true are text, as written. Empty text is a fault, and so is one with
// characters that the pack could not print.
func (r *Reader) Str(n *Node) (string, bool) {
	if n == nil || n.Kind != Scalar {
		r.mustNode(n, "text")
		return "", false
	}
	if strings.TrimSpace(n.Text) == "" {
		r.Fault(n, "empty", "empty text; accepted: text", "write something, or leave the key out")
		return "", false
	}
	return n.Text, r.characters(n)
}

// mustNode reports n as not what was wanted. A nil node is our mistake: a getter reports a missing key itself.
func (r *Reader) mustNode(n *Node, want string) {
	if n == nil {
		panic("source: nil node")
	}
	r.wrongKind(n, want)
}

// Quantity reads a quantity of dimension dim, as measure.Parser reads it. The source text reaches measure unchanged.
func (r *Reader) Quantity(n *Node, dim measure.Dimension, p measure.Parser) (measure.Quantity, bool) {
	if n == nil || n.Kind == Null || n.Kind == Map {
		r.mustNode(n, one(dim))
		return measure.Quantity{}, false
	}
	if n.Kind == List {
		hint := ""
		if dim == measure.Length {
			hint = `write readings as one text: "readings [6.1, 6.3, 6.2] mm"`
		}
		r.Fault(n, "kind", "a list; accepted: "+one(dim), hint)
		return measure.Quantity{}, false
	}
	q, err := p.Parse(n.Text, dim)
	if err == nil {
		return q, true
	}
	text, hint := err.Found, err.Hint
	if !strings.Contains(text, n.Text) && !strings.Contains(text, Cut(n.Text)) && n.Text != "" {
		text += ", in " + Quote(n.Text)
	}
	if err.Accept != "" {
		text += "; accepted: " + err.Accept
	}
	if looksMeant(n.comment) && (err.Rule == measure.RuleUnknownDrill || err.Rule == measure.RuleQuantity) {
		hint = fmt.Sprintf("# begins a comment in YAML: put quotes around the whole, as %s", quoted(Cut(strings.TrimSpace(n.Text+" "+n.comment))))
	}
	at := n.Pos
	if n.onLine {
		at.Col += err.Offset
	}
	r.FaultAt(at, n.Path, err.Rule, text, hint)
	return measure.Quantity{}, false
}

// Int reads a whole number from least to most, both allowed.
func (r *Reader) Int(n *Node, least, most int) (int, bool) {
	want := fmt.Sprintf("a whole number from %d to %d", least, most)
	if n == nil || n.Kind != Scalar {
		r.mustNode(n, want)
		return 0, false
	}
	v, err := strconv.Atoi(strings.ReplaceAll(n.Text, "−", "-"))
	if err != nil || v < least || v > most {
		r.Fault(n, "whole-number", Quote(n.Text)+"; accepted: "+want, "")
		return 0, false
	}
	return v, true
}

// Bool reads true or false, yes or no.
func (r *Reader) Bool(n *Node) (value, ok bool) {
	const want = "true or false"
	if n == nil || n.Kind != Scalar {
		r.mustNode(n, want)
		return false, false
	}
	switch strings.ToLower(n.Text) {
	case "true", "yes":
		return true, true
	case "false", "no":
		return false, true
	}
	r.Fault(n, "true-or-false", Quote(n.Text)+"; accepted: "+want, "")
	return false, false
}

// Enum reads one of the words allowed.
func (r *Reader) Enum(n *Node, allowed ...string) (string, bool) {
	want := strings.Join(allowed, ", ")
	if n == nil || n.Kind != Scalar {
		r.mustNode(n, want)
		return "", false
	}
	for _, a := range allowed {
		if n.Text == a {
			return a, true
		}
	}
	hint := ""
	if near, ok := fault.Nearest(n.Text, allowed); ok {
		hint = "did you mean " + Quote(near) + "?"
	}
	r.Fault(n, "choice", Quote(n.Text)+"; accepted: "+want, hint)
	return "", false
}

// List gives the items of a list.
func (r *Reader) List(n *Node) []*Node {
	if n == nil || n.Kind != List {
		r.mustNode(n, "a list")
		return nil
	}
	return n.Items
}

// Quantities reads a list of count quantities, such as the two of a point; count < 0: any number. One fault in it and ok
// is false, but each is reported.
func (r *Reader) Quantities(n *Node, dim measure.Dimension, p measure.Parser, count int) (out []measure.Quantity, ok bool) {
	want := fmt.Sprintf("a list of %d, each %s", count, one(dim))
	if count < 0 {
		want = "a list, each " + one(dim)
	}
	if n == nil || n.Kind != List {
		r.mustNode(n, want)
		return nil, false
	}
	if count >= 0 && len(n.Items) != count {
		r.Fault(n, "list-length", fmt.Sprintf("a list of %d; accepted: %s", len(n.Items), want), "")
		return nil, false
	}
	ok = true
	for _, i := range n.Items {
		q, good := r.Quantity(i, dim, p)
		ok = ok && good
		out = append(out, q)
	}
	return out, ok
}

// Map opens n for reading by key. When n is no map that is a fault, and the Fields are blank: every getter then gives its
// zero or default without another fault, so that reading can go on. OK tells.
func (r *Reader) Map(n *Node) *Fields {
	f := &Fields{Node: n, r: r, asked: map[string]bool{}, bad: map[string]bool{}}
	if n == nil {
		f.Node, f.blank = &Node{Kind: Null}, true
		return f
	}
	if n.Kind != Map {
		r.wrongKind(n, "a group of keys, as name: value")
		f.blank = true
	}
	return f
}
