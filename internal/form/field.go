package form

import (
	"slices"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/fault"
)

// Field is one field of the survey form: where its value stands in the job's text, how it is asked for, and how a new
// value is written back. What the user did not touch is not written, so that the text stays the user's.
type Field struct {
	Path   string // in the job, as faults name it
	ID     string // in the page
	Name   string // in the form
	Label  string
	Hint   string
	Kind   string   // line, lines, boxes, choice, check, checks, curve, pair
	Values []string // as the user wrote them
	Labels []string // of boxes
	Choice []Choice
	Faults fault.List
	late   bool // written after all others: it changes what fields there are
	write  func(text []byte, now []string) ([]byte, error)
}

// Choice is a word that a field may have.
type Choice struct {
	Value, Words string
	On           bool
}

// Value is the value of a field that has one.
func (f *Field) Value() string {
	if len(f.Values) == 0 {
		return ""
	}
	return f.Values[0]
}

// Box is the i-th value of a field with several.
func (f *Field) Box(i int) string {
	if i >= len(f.Values) {
		return ""
	}
	return f.Values[i]
}

// Group is a section, a card of a list, or a row of a table.
type Group struct {
	Title, Note string
	Path        string // in the job
	ID, Name    string // in the page, and in the form
	Faults      fault.List
	Warns       []string // what is no fault, and to be looked at before anything is cut
	Fields      []*Field
	Groups      []*Group
	Columns     []string // of a table; its rows are the groups
	Item        bool     // can be taken away
	gone        bool     // a row whose place was cleared in the form that was sent
	Add         []Add
	add         func(text []byte, now [][]string) ([]byte, error) // of a row that is not in the text yet
}

// Add is a button that adds an item to a list.
type Add struct {
	Do, Words string
	path      string
	single    bool // it is no list: set, not appended to
	value     string
}

// has says whether the text has anything at path.
func has(text []byte, path string) bool {
	_, found := edit.Get(text, path)
	return found
}

// drop deletes what is at path, if anything is.
func drop(text []byte, path string) ([]byte, error) {
	if !has(text, path) {
		return text, nil
	}
	return edit.Delete(text, path)
}

// writeLine writes a single value; an empty one takes the key out. A value that stands as a list or group in the text, where
// one value is asked for, is shown and taken as YAML.
func writeLine(path string) func([]byte, []string) ([]byte, error) {
	return func(text []byte, now []string) ([]byte, error) {
		v := strings.TrimSpace(strings.Join(now, " "))
		if v == "" {
			return drop(text, path)
		}
		if old, _ := edit.Get(text, path); strings.HasPrefix(old, "[") || strings.HasPrefix(old, "{") {
			return edit.Set(text, path, v)
		}
		return edit.Set(text, path, edit.Scalar(v))
	}
}

// writeList writes a list of single values: only those that changed where their number is the same.
func writeList(path string) func([]byte, []string) ([]byte, error) {
	return func(text []byte, now []string) ([]byte, error) {
		if strings.Join(now, "") == "" {
			return drop(text, path)
		}
		d, err := edit.Open(text)
		if err != nil {
			return text, err
		}
		if kind, _ := d.Kind(path); kind == edit.List && d.Len(path) == len(now) {
			for i, v := range now {
				item := itemPath(path, i)
				if d.Text(item) == v {
					continue
				}
				if text, err = edit.Set(text, item, edit.Scalar(v)); err != nil {
					return text, err
				}
			}
			return text, nil
		}
		return edit.Set(text, path, flowList(now))
	}
}

// flowList writes a list in brackets.
func flowList(values []string) string {
	quoted := make([]string, len(values))
	for i, v := range values {
		quoted[i] = edit.Scalar(v)
	}
	if len(quoted) == 0 {
		return "[ ]"
	}
	return "[ " + strings.Join(quoted, ", ") + " ]"
}

// writeWords writes what is parted by commas in one line as a list.
func writeWords(path string) func([]byte, []string) ([]byte, error) {
	list := writeList(path)
	return func(text []byte, now []string) ([]byte, error) { return list(text, words(strings.Join(now, ","))) }
}

// words parts a line at its commas.
func words(line string) []string {
	if strings.TrimSpace(line) == "" {
		return nil
	}
	out := strings.Split(strings.Trim(strings.TrimSpace(line), ","), ",")
	for i := range out {
		out[i] = strings.TrimSpace(out[i])
	}
	return out
}

// writeSet writes which words of a list are chosen: those that go are taken out where they stand, new ones come last.
func writeSet(path string) func([]byte, []string) ([]byte, error) {
	return func(text []byte, now []string) ([]byte, error) {
		now = slices.DeleteFunc(slices.Clone(now), func(s string) bool { return s == "" })
		if len(now) == 0 {
			return drop(text, path)
		}
		d, err := edit.Open(text)
		if err != nil {
			return text, err
		}
		if kind, found := d.Kind(path); found && kind != edit.List {
			return edit.Set(text, path, flowList(now))
		}
		for i := d.Len(path) - 1; i >= 0; i-- {
			word := d.Text(itemPath(path, i))
			if at := slices.Index(now, word); at >= 0 {
				now = slices.Delete(now, at, at+1)
				continue
			}
			if text, err = edit.Delete(text, itemPath(path, i)); err != nil {
				return text, err
			}
		}
		for _, w := range now {
			if text, err = edit.Append(text, path, edit.Scalar(w)); err != nil {
				return text, err
			}
		}
		return text, nil
	}
}

// writeLines writes a list of texts, one a line.
func writeLines(path string) func([]byte, []string) ([]byte, error) {
	return func(text []byte, now []string) ([]byte, error) {
		var lines []string
		for _, l := range strings.Split(strings.ReplaceAll(strings.Join(now, "\n"), "\r\n", "\n"), "\n") {
			if l = strings.TrimSpace(l); l != "" {
				lines = append(lines, l)
			}
		}
		if len(lines) == 0 {
			return drop(text, path)
		}
		d, err := edit.Open(text)
		if err != nil {
			return text, err
		}
		if kind, found := d.Kind(path); found && kind != edit.List {
			return edit.Set(text, path, flowList(lines))
		}
		n := d.Len(path)
		for i := n - 1; i >= len(lines); i-- {
			if text, err = edit.Delete(text, itemPath(path, i)); err != nil {
				return text, err
			}
		}
		for i, l := range lines {
			switch {
			case i >= n:
				text, err = edit.Append(text, path, edit.Scalar(l))
			case d.Text(itemPath(path, i)) != l:
				text, err = edit.Set(text, itemPath(path, i), edit.Scalar(l))
			}
			if err != nil {
				return text, err
			}
		}
		return text, nil
	}
}

// writeCheck writes true, or takes the key out.
func writeCheck(path string) func([]byte, []string) ([]byte, error) {
	return func(text []byte, now []string) ([]byte, error) {
		if slices.Contains(now, "true") {
			return edit.Set(text, path, "true")
		}
		return drop(text, path)
	}
}
