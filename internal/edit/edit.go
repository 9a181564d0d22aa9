// Package edit changes one field of a job's text and leaves every other byte as the user wrote it: comments, order,
// quotes, brackets or lines, line ends.
//
// A field is named by the path that a fault shows: panels[1].outer.thickness, lists counted from 1; keys may hold blanks.
// A value is a piece of YAML: a single value (Scalar quotes text where it must be), a group in { } or [ ], or several
// lines, which are indented to fit. After each change the new text is read again; unless it says exactly what the old one
// said but for the change, the answer is a *Cannot and the old text stands.
package edit

import (
	"fmt"
	"strings"

	"panelwright/internal/source"
)

// Cannot says why a text was left as it is.
type Cannot struct {
	Path string // the field that was to be changed
	Why  string // what stands in the way, and what to do
}

// Error names the field, the reason and the way out.
func (c *Cannot) Error() string {
	if c.Path == "" {
		return c.Why
	}
	return c.Path + ": " + c.Why
}

// Get is the value at path as it stands in the text, quotes and brackets included; what is written on several lines is
// moved to the left margin. found is false when nothing is there, "" with true is a key without a value. Set with what Get
// gave changes nothing.
func Get(text []byte, path string) (value string, found bool) {
	d, err := Open(text)
	if err != nil {
		return "", false
	}
	return d.Get(path)
}

// Set gives the field at path a value: it replaces the value that is there, or adds the key at the end of its group.
// Groups that are missing on the way are made; list items are not (see Append). An empty value leaves the key with nothing
// after it. It fails with *Cannot.
func Set(text []byte, path, value string) ([]byte, error) {
	return change(text, path, value, func(d *Doc, steps []step, v *piece) ([]splice, *tree, error) {
		want := treeOf(d.root.src)
		if err := want.set(steps, v.tree); err != nil {
			return nil, nil, err
		}
		cuts, err := d.set(steps, v)
		return cuts, want, err
	})
}

// Append adds an item at the end of the list at path, which is made when it is missing. It fails with *Cannot.
func Append(text []byte, path, value string) ([]byte, error) {
	return change(text, path, value, func(d *Doc, steps []step, v *piece) ([]splice, *tree, error) {
		want := treeOf(d.root.src)
		if err := want.add(steps, v.tree); err != nil {
			return nil, nil, err
		}
		cuts, err := d.add(steps, v)
		return cuts, want, err
	})
}

// Delete takes out the key or list item at path, with the comment beside it, and of a list item on lines of its own the
// comment lines right above it at its indentation. Other comments stay. What loses its last key or item stays as {} or
// []. It fails with *Cannot.
func Delete(text []byte, path string) ([]byte, error) {
	return change(text, path, "", func(d *Doc, steps []step, _ *piece) ([]splice, *tree, error) {
		want := treeOf(d.root.src)
		if err := want.delete(steps); err != nil {
			return nil, nil, err
		}
		cuts, err := d.delete(steps)
		return cuts, want, err
	})
}

// Move puts item from of the list at path where item to stands (both counted from 1); those between move up. Comments
// beside an item, and right above one at its indentation, go with it. It fails with *Cannot.
func Move(text []byte, path string, from, to int) ([]byte, error) {
	return change(text, path, "", func(d *Doc, steps []step, _ *piece) ([]splice, *tree, error) {
		list := d.find(steps)
		if list == nil || list.src.Kind != source.List {
			return nil, nil, fmt.Errorf("there is no list here")
		}
		n := len(list.parts)
		if from < 1 || to < 1 || from > n || to > n {
			return nil, nil, fmt.Errorf("item %d to place %d of a list of %d; accepted: 1 to %d", from, to, n, n)
		}
		order := moved(n, from-1, to-1)
		want := treeOf(d.root.src)
		want.find(steps).reorder(order)
		return d.reorder(list, order), want, nil
	})
}

// moved is the order of n things after from was put at to.
func moved(n, from, to int) []int {
	var order []int
	for i := range n {
		if i != from {
			order = append(order, i)
		}
	}
	order = append(order, 0)
	copy(order[to+1:], order[to:])
	order[to] = from
	return order
}

// change runs one edit: the old text and the value are read, the edit gives the cuts and the tree that must come out, and
// the new text is read again.
func change(text []byte, path, value string, edit func(*Doc, []step, *piece) ([]splice, *tree, error)) ([]byte, error) {
	cannot := func(err error) ([]byte, error) { return text, &Cannot{Path: path, Why: err.Error()} }
	steps, err := parsePath(path)
	if err != nil {
		return cannot(err)
	}
	d, err := Open(text)
	if err != nil {
		return text, err
	}
	v, err := pieceOf(value)
	if err != nil {
		return cannot(err)
	}
	cuts, want, err := edit(d, steps, v)
	if err != nil {
		return cannot(err)
	}
	out := d.splice(cuts)
	root, faults := source.Parse("", out)
	if len(faults) > 0 || root == nil || !treeOf(root).equal(want) {
		return cannot(fmt.Errorf("the text is laid out in a way that does not let this be changed safely; change it in the text itself"))
	}
	return out, nil
}

// step is a key, or an item of a list counted from 0.
type step struct {
	key   string
	index int // -1: a key
}

// parsePath reads a path; "" is the whole text.
func parsePath(path string) ([]step, error) {
	var steps []step
	if path == "" {
		return nil, nil
	}
	for n, part := range strings.Split(path, ".") {
		key, rest, _ := strings.Cut(part, "[")
		if key != "" {
			steps = append(steps, step{key: key, index: -1})
		} else if n > 0 || rest == "" {
			return nil, fmt.Errorf("a path with an empty name; accepted: as panels[1].outer.thickness")
		}
		if len(key) == len(part) {
			continue
		}
		for _, number := range strings.Split(rest, "[") {
			digits, closed := strings.CutSuffix(number, "]")
			i := 0
			for _, c := range digits {
				if c < '0' || c > '9' || i > 1_000_000 {
					closed = false
					break
				}
				i = 10*i + int(c-'0')
			}
			if !closed || i < 1 {
				return nil, fmt.Errorf("a path with [%s; accepted: a number from 1 in brackets, as panels[1].outer.thickness", source.Cut(number))
			}
			steps = append(steps, step{index: i - 1})
		}
	}
	return steps, nil
}
