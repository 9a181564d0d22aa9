package edit

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/source"
)

// splice puts with in the place of text[from:to].
type splice struct {
	from, to int
	with     string
}

// splice gives the text with the cuts made; they do not overlap.
func (d *Doc) splice(cuts []splice) []byte {
	slices.SortStableFunc(cuts, func(a, b splice) int { return a.from - b.from })
	var out []byte
	i := 0
	for _, c := range cuts {
		if c.from < i {
			continue // overlapping cuts: the guard sees what came of it
		}
		out = append(append(out, d.text[i:c.from]...), c.with...)
		i = c.to
	}
	return append(out, d.text[i:]...)
}

// piece is a value to be put in.
type piece struct {
	lines []string // without line ends; of a value in lines at the left margin
	block bool     // lists, groups or | text in lines; else one value or brackets
	text  bool     // | or > text: it begins behind the colon
	tree  *tree
}

// pieceOf reads a value.
func pieceOf(value string) (*piece, error) {
	value = strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(value, "\r\n", "\n"), "\r", "\n"))
	if value == "" {
		return &piece{lines: []string{""}, tree: &tree{}}, nil
	}
	src, faults := source.Parse("", []byte(value+"\n"))
	if len(faults) > 0 || src == nil {
		return nil, fmt.Errorf("the value %s is no YAML that a job may use (%s); put quotes around text, or write { } or [ ]", source.Quote(value), faults[0].Text)
	}
	d, err := Open([]byte(value + "\n"))
	if err != nil {
		return nil, err
	}
	r := d.root
	p := &piece{lines: strings.Split(value, "\n"), tree: treeOf(r.src)}
	p.text = r.src.Kind == source.Scalar && r.src.Quoted && value[r.start] != '"' && value[r.start] != '\''
	p.block = p.text || !r.flow && r.src.Kind != source.Scalar && r.src.Kind != source.Null
	switch {
	case r.start != 0 || r.end != len(value):
		return nil, fmt.Errorf("%s is more than one value: no comment may stand before or behind it, and no mark of a byte order or document; put quotes around text with #", source.Quote(value))
	case p.text:
		p.justify()
	case !p.block && !r.flow && len(p.lines) > 1:
		return nil, fmt.Errorf("text over several lines; put it in double quotes with \\n between lines")
	}
	return p, nil
}

// justify indents the lines below | or > by two, unless it says by how much they are.
func (p *piece) justify() {
	if strings.ContainsAny(p.lines[0], "123456789") {
		return
	}
	least := -1
	for _, l := range p.lines[1:] {
		if n := len(l) - len(strings.TrimLeft(l, " ")); n < len(l) && (least < 0 || n < least) {
			least = n
		}
	}
	for i, l := range p.lines[1:] {
		if p.lines[i+1] = ""; least >= 0 && len(l) > least {
			p.lines[i+1] = "  " + l[least:]
		}
	}
}

// pad is how far the lines of a piece are indented below a parent that is itself indented so far.
func (p *piece) pad(parent int) int {
	if p.text {
		return parent // its own lines are indented already
	}
	return parent + 2
}

// in writes the piece with its lines but the first indented.
func (p *piece) in(indent int, ending string) string {
	var b strings.Builder
	for i, l := range p.lines {
		if i > 0 {
			b.WriteString(ending)
			if p.block && l != "" {
				b.WriteString(strings.Repeat(" ", indent))
			}
		}
		b.WriteString(l)
	}
	return b.String()
}

// under makes a piece the value of the keys in steps.
func (p *piece) under(steps []step) *piece {
	for i := len(steps) - 1; i >= 0; i-- {
		key := Scalar(steps[i].key)
		switch {
		case p.block && p.text:
			p = &piece{lines: slices.Concat([]string{key + ": " + p.lines[0]}, p.lines[1:]), block: true}
		case p.block:
			p = &piece{lines: slices.Concat([]string{key + ":"}, indented(p.lines)), block: true}
		default:
			p = &piece{lines: strings.Split(strings.TrimRight("{ "+key+": "+strings.Join(p.lines, "\n"), " ")+" }", "\n")}
		}
	}
	return p
}

func indented(lines []string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		if l != "" {
			out[i] = "  " + l
		}
	}
	return out
}

// asList makes a piece the only item of a list.
func (p *piece) asList(inFlow bool) *piece {
	brace := !p.block && strings.HasPrefix(p.lines[0], "{")
	if !p.block && (inFlow || !brace) {
		return &piece{lines: strings.Split("[ "+strings.Join(p.lines, "\n")+" ]", "\n")}
	}
	rest := p.lines[1:]
	if !p.text {
		rest = indented(rest)
	}
	return &piece{lines: slices.Concat([]string{"- " + p.lines[0]}, rest), block: true}
}

var errBrackets = fmt.Errorf("several lines cannot stand within brackets; write the value in { } or [ ]")

// set gives what steps lead to the value v, and adds the key when it is not there.
func (d *Doc) set(steps []step, v *piece) ([]splice, error) {
	n := d.root
	for i, s := range steps {
		next := n.child(s)
		if next == nil {
			return d.into(n, steps[i:], v)
		}
		n = next
	}
	return d.replace(n, v)
}

// into puts v under keys that n lacks.
func (d *Doc) into(n *node, steps []step, v *piece) ([]splice, error) {
	v2 := v.under(steps[1:])
	switch {
	case n.src.Kind == source.Null:
		return d.replace(n, v.under(steps))
	case n.flow && v2.block:
		return nil, errBrackets
	case n.flow:
		return d.intoBrackets(n, strings.TrimRight(Scalar(steps[0].key)+": "+v2.in(0, d.ending()), " ")), nil
	case n.inFlow:
		return nil, fmt.Errorf("the pair within brackets has no { } of its own; write them in the text first")
	}
	key := v.under(steps)
	if !v2.block {
		key = &piece{lines: strings.Split(strings.TrimRight(Scalar(steps[0].key)+": "+strings.Join(v2.lines, "\n"), " "), "\n")}
	}
	end := d.lineAt(n.end).end
	return []splice{{end, end, d.ending() + strings.Repeat(" ", n.children) + key.in(n.children, d.ending())}}, nil
}

// intoBrackets puts a last part into a list or group in brackets.
func (d *Doc) intoBrackets(n *node, with string) []splice {
	if len(n.parts) > 0 {
		end := n.parts[len(n.parts)-1].value.end
		return []splice{{end, end, ", " + with}}
	}
	if inside := d.text[n.start+1 : n.end-1]; len(bytes.TrimSpace(inside)) > 0 { // a comment
		return []splice{{n.end - 1, n.end - 1, with + " "}}
	}
	return []splice{{n.start + 1, n.end - 1, " " + with + " "}}
}

// replace puts v in the place of n.
func (d *Doc) replace(n *node, v *piece) ([]splice, error) {
	eol := d.ending()
	line := d.lineAt(n.after)
	empty := n.start == n.end
	later := n.start > line.end // it begins on a line below its key or dash
	pad := v.pad(n.parent)
	switch {
	case n.inFlow && v.block:
		return nil, errBrackets
	case n == d.root:
		return []splice{{n.start, n.end, v.in(n.children, eol)}}, nil
	case v.block && later && !v.text:
		return []splice{{n.start, n.end, v.in(d.column(n.start), eol)}}, nil
	case v.block && (v.text || n.item && empty):
		end := n.end
		if l := d.lineAt(end); len(bytes.TrimSpace(d.text[end:l.end])) == 0 {
			end = l.end
		}
		return []splice{{n.after, end, " " + v.in(pad, eol)}}, nil
	case v.block && n.item:
		return []splice{{n.start, n.end, v.in(d.column(n.start), eol)}}, nil
	case v.block:
		end := d.lineAt(n.end).end
		return []splice{{n.after, n.end, ""}, {end, end, eol + strings.Repeat(" ", pad) + v.in(pad, eol)}}, nil
	}
	with := v.in(0, eol)
	switch {
	case n.bare:
		return []splice{{n.after, n.end, strings.TrimRight(": "+with, " ")}}, nil
	case later:
		return []splice{{n.after, n.after, strings.TrimRight(" "+with, " ")}, {line.end, n.end, ""}}, nil
	case with == "":
		return []splice{{n.after, n.end, ""}}, nil
	case !empty || n.inFlow && n.item:
		return []splice{{n.start, n.end, with}}, nil
	}
	end := n.after
	if next := d.skip(end, ""); n.inFlow && next <= line.end && next < len(d.text) && d.text[next] == ',' {
		end = next
	}
	return []splice{{n.after, end, " " + with}}, nil
}

// column is how many bytes stand before i in its line.
func (d *Doc) column(i int) int { return i - d.lineAt(i).start }

// add puts v at the end of the list that steps lead to.
func (d *Doc) add(steps []step, v *piece) ([]splice, error) {
	n := d.find(steps)
	switch {
	case n == nil:
		inFlow := false
		for i := range steps {
			if above := d.find(steps[:i]); above != nil {
				inFlow = above.flow || above.inFlow
			}
		}
		return d.set(steps, v.asList(inFlow))
	case n.src.Kind == source.Null || n.flow && len(n.parts) == 0 && v.block && !n.inFlow:
		return d.replace(n, v.asList(n.inFlow))
	case n.flow && v.block:
		return nil, errBrackets
	case n.flow:
		return d.intoBrackets(n, v.in(0, d.ending())), nil
	}
	end := d.lineAt(n.end).end
	return []splice{{end, end, d.ending() + strings.Repeat(" ", n.children) + strings.TrimRight("- "+v.in(v.pad(n.children), d.ending()), " ")}}, nil
}
