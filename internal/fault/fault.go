// Package fault says what is wrong in something the user made: where, which rule, and what to do about it.
package fault

import (
	"fmt"
	"slices"
	"strings"
)

// Pos is a place in a text file. Line and Col count from 1; Col counts runes. Zero means not known.
type Pos struct {
	File      string
	Line, Col int
}

// String gives file:line:column, leaving out what is not known.
func (p Pos) String() string {
	switch {
	case p.File == "" && p.Line == 0:
		return ""
	case p.Line == 0:
		return p.File
	case p.Col == 0:
		return fmt.Sprintf("%s:%d", p.File, p.Line)
	}
	return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Col)
}

// Fault is one thing that the user can mend.
type Fault struct {
	Pos  Pos    // where it stands
	Path string // the field, as panels[1].stations[3]
	Rule string // stable id of the broken rule, lower case with hyphens
	Text string // what was found and what is accepted
	Hint string // what to do
}

// Error gives the whole message on one line:
//
//	job.yaml:14:9: panels[1].stations[3]: edge distance 7.2 mm, needs 9.0 mm (rule edge-distance); move it 1.8 mm inwards
func (f Fault) Error() string {
	var b strings.Builder
	if p := f.Pos.String(); p != "" {
		b.WriteString(p + ": ")
	}
	if f.Path != "" {
		b.WriteString(f.Path + ": ")
	}
	b.WriteString(f.Text)
	if f.Rule != "" {
		b.WriteString(" (rule " + f.Rule + ")")
	}
	if f.Hint != "" {
		b.WriteString("; " + f.Hint)
	}
	return b.String()
}

// List is every fault found, in the order in which a reader meets them once sorted.
type List []Fault

// Error joins the messages, one a line.
func (l List) Error() string {
	s := make([]string, len(l))
	for i, f := range l {
		s[i] = f.Error()
	}
	return strings.Join(s, "\n")
}

// Err is nil for an empty list, so that callers may return l.Err().
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Sort orders by file, line, column, path, rule, text. The order is total, so the same faults always read the same.
func (l List) Sort() {
	slices.SortFunc(l, func(a, b Fault) int {
		return cmpAll(strings.Compare(a.Pos.File, b.Pos.File), a.Pos.Line-b.Pos.Line, a.Pos.Col-b.Pos.Col,
			strings.Compare(a.Path, b.Path), strings.Compare(a.Rule, b.Rule), strings.Compare(a.Text, b.Text))
	})
}

func cmpAll(cs ...int) int {
	for _, c := range cs {
		if c != 0 {
			return c
		}
	}
	return 0
}
