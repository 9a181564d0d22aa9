package edit

import (
	"bytes"
	"strings"

	"panelwright/internal/source"
)

// delete takes out what steps lead to.
func (d *Doc) delete(steps []step) ([]splice, error) {
	from := d.find(steps[:len(steps)-1])
	i := from.at(steps[len(steps)-1])
	if len(from.parts) == 1 && !from.flow {
		empty := "{}"
		if from.src.Kind == source.List {
			empty = "[]"
		}
		return d.replace(from, &piece{lines: []string{empty}})
	}
	if from.flow {
		return d.outOfBrackets(from, i), nil
	}
	p := from.parts[i]
	first := d.lineAt(p.start)
	last := d.lineAt(p.value.end)
	if len(bytes.TrimLeft(d.text[first.start:p.start], " ")) > 0 { // behind the dash of the list around it
		next := from.parts[i+1].start
		between := d.text[min(last.next, next):next]
		if len(bytes.TrimSpace(between)) == 0 {
			return []splice{{p.start, next, ""}}, nil
		}
		start := first.start + len(bytes.TrimRight(d.text[first.start:p.start], " "))
		return []splice{{start, last.end, ""}}, nil
	}
	start := first.start
	if from.src.Kind == source.List {
		start = d.lineAt(d.lead(from, i)).start
	}
	if last.next == last.end && start > d.lines[0].start { // the text ends without a line end, and goes on doing so
		return []splice{{d.lineAt(start - 1).end, last.end, ""}}, nil
	}
	return []splice{{start, last.next, ""}}, nil
}

// outOfBrackets takes part i with a comma out of a list or group in brackets.
func (d *Doc) outOfBrackets(n *node, i int) []splice {
	start, end := n.parts[i].start, n.parts[i].value.end
	if comma := d.skip(end, ""); comma < len(d.text) && d.text[comma] == ',' {
		cut := comma + 1
		for cut < len(d.text) && (d.text[cut] == ' ' || d.text[cut] == '\t') {
			cut++
		}
		if l := d.lineAt(start); cut >= l.end && cut <= l.next && len(bytes.TrimSpace(d.text[l.start:start])) == 0 {
			return []splice{{l.start, l.next, ""}} // it had the line to itself
		}
		if l := d.lineAt(comma); cut == l.end {
			cut = comma + 1
		}
		return []splice{{start, end, ""}, {comma, cut, ""}}
	}
	if i == 0 {
		return []splice{{start, end, ""}}
	}
	before := n.parts[i-1].value.end
	comma := d.skip(before, "")
	if len(bytes.TrimSpace(d.text[comma+1:start])) == 0 {
		return []splice{{comma, end, ""}}
	}
	return []splice{{comma, comma + 1, ""}, {start, end, ""}}
}

// lead is where an item of a list in lines begins with the comment lines right above it at its indentation.
func (d *Doc) lead(n *node, i int) int {
	at := n.parts[i].start
	floor := n.after
	if i > 0 {
		floor = n.parts[i-1].value.end
	}
	l := d.lineAt(at)
	if len(bytes.TrimLeft(d.text[l.start:at], " ")) > 0 {
		return at
	}
	for l.start > floor && l.start > d.lines[0].start {
		if l = d.lineAt(l.start - 1); l.start < floor {
			break
		}
		words := strings.TrimLeft(string(d.text[l.start:l.end]), " ")
		if !strings.HasPrefix(words, "#") || l.end-l.start-len(words) != n.children {
			break
		}
		at = l.end - len(words)
	}
	return at
}

// reorder puts the parts of a list in the order given; what stands between them stays.
func (d *Doc) reorder(n *node, order []int) []splice {
	span := func(i int) (int, int) {
		if n.flow {
			return n.parts[i].start, n.parts[i].value.end
		}
		return d.lead(n, i), d.lineAt(n.parts[i].value.end).end
	}
	var cuts []splice
	for place, i := range order {
		if place == i {
			continue
		}
		from, to := span(place)
		a, b := span(i)
		cuts = append(cuts, splice{from, to, string(d.text[a:b])})
	}
	return cuts
}
