package edit

import (
	"strings"

	"panelwright/internal/source"
)

// Get is the function Get on a text that is open.
func (d *Doc) Get(path string) (value string, found bool) {
	n := d.at(path)
	if n == nil {
		return "", false
	}
	lines := strings.Split(strings.ReplaceAll(strings.ReplaceAll(string(d.text[n.start:n.end]), "\r\n", "\n"), "\r", "\n"), "\n")
	margin := 0
	switch {
	case n.src.Kind == source.Scalar && n.src.Quoted && len(lines) > 1:
		margin = max(n.parent, 0)
	case !n.flow && n.src.Kind != source.Scalar:
		margin = n.children
	}
	for i := 1; i < len(lines); i++ {
		blanks := len(lines[i]) - len(strings.TrimLeft(lines[i], " "))
		lines[i] = lines[i][min(margin, blanks):]
	}
	return strings.Join(lines, "\n"), true
}

// Text is the single value at path without quotes; "" when there is none or it is no single value.
func (d *Doc) Text(path string) string {
	if n := d.at(path); n != nil && n.src.Kind == source.Scalar {
		return n.src.Text
	}
	return ""
}

// Kind says what stands at path: source.Null for a key without a value, found false for none.
func (d *Doc) Kind(path string) (kind source.Kind, found bool) {
	if n := d.at(path); n != nil {
		return n.src.Kind, true
	}
	return source.Null, false
}

// Len is how many items the list at path has, or keys the group; 0 of all else.
func (d *Doc) Len(path string) int {
	if n := d.at(path); n != nil {
		return len(n.parts)
	}
	return 0
}

// Keys lists the keys of the group at path in the order of the text.
func (d *Doc) Keys(path string) []string {
	n := d.at(path)
	if n == nil || n.src.Kind != source.Map {
		return nil
	}
	var out []string
	for _, p := range n.parts {
		out = append(out, p.key)
	}
	return out
}

func (d *Doc) at(path string) *node {
	steps, err := parsePath(path)
	if err != nil {
		return nil
	}
	return d.find(steps)
}

// The kinds of what stands at a path, as Doc.Kind gives them.
const (
	Null   = source.Null
	Single = source.Scalar
	List   = source.List
	Map    = source.Map
)
