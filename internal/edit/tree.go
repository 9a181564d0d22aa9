package edit

import (
	"fmt"
	"slices"

	"panelwright/internal/source"
)

// tree is what a text says, without places: what the guard compares.
type tree struct {
	kind   source.Kind
	text   string
	quoted bool
	keys   []string // of a map, as kids
	kids   []*tree
}

func treeOf(n *source.Node) *tree {
	t := &tree{kind: n.Kind}
	switch n.Kind {
	case source.Scalar:
		t.text, t.quoted = n.Text, n.Quoted
	case source.List:
		for _, i := range n.Items {
			t.kids = append(t.kids, treeOf(i))
		}
	case source.Map:
		for _, e := range n.Entries {
			t.keys = append(t.keys, e.Key)
			t.kids = append(t.kids, treeOf(e.Value))
		}
	}
	return t
}

func (t *tree) equal(o *tree) bool {
	return t.kind == o.kind && t.text == o.text && t.quoted == o.quoted && slices.Equal(t.keys, o.keys) &&
		slices.EqualFunc(t.kids, o.kids, (*tree).equal)
}

// child finds what a step leads to; nil when it is not there.
func (t *tree) child(s step) *tree {
	i := s.index
	if i < 0 && t.kind == source.Map {
		i = slices.Index(t.keys, s.key)
	} else if t.kind != source.List {
		return nil
	}
	if i < 0 || i >= len(t.kids) {
		return nil
	}
	return t.kids[i]
}

func (t *tree) find(steps []step) *tree {
	for _, s := range steps {
		if t = t.child(s); t == nil {
			return nil
		}
	}
	return t
}

// reach finds what steps lead to and makes the keys that are missing.
func (t *tree) reach(steps []step) (*tree, error) {
	for _, s := range steps {
		next := t.child(s)
		switch {
		case next != nil:
		case s.index >= 0 && t.kind == source.List:
			return nil, fmt.Errorf("item %d of a list of %d; accepted: 1 to %d", s.index+1, len(t.kids), len(t.kids))
		case s.index >= 0:
			return nil, fmt.Errorf("item %d of what is %s", s.index+1, t.kind)
		case t.kind == source.List || t.kind == source.Scalar:
			return nil, fmt.Errorf("the key %s is to go into what is %s; delete that first", source.Quote(s.key), t.kind)
		default:
			next = &tree{}
			t.kind, t.keys, t.kids = source.Map, append(t.keys, s.key), append(t.kids, next)
		}
		t = next
	}
	return t, nil
}

func (t *tree) set(steps []step, v *tree) error {
	at, err := t.reach(steps)
	if err == nil {
		*at = *v
	}
	return err
}

func (t *tree) add(steps []step, v *tree) error {
	at, err := t.reach(steps)
	if err != nil {
		return err
	}
	if at.kind != source.List && at.kind != source.Null {
		return fmt.Errorf("an item is to go into what is %s; accepted: a list", at.kind)
	}
	at.kind, at.text, at.kids = source.List, "", append(at.kids, v)
	return nil
}

func (t *tree) delete(steps []step) error {
	if len(steps) == 0 {
		return fmt.Errorf("the whole text cannot be deleted")
	}
	last := steps[len(steps)-1]
	from := t.find(steps[:len(steps)-1])
	if from == nil || from.child(last) == nil {
		return fmt.Errorf("there is nothing here to delete")
	}
	i := last.index
	if i < 0 {
		i = slices.Index(from.keys, last.key)
		from.keys = slices.Delete(from.keys, i, i+1)
	}
	from.kids = slices.Delete(from.kids, i, i+1)
	return nil
}

func (t *tree) reorder(order []int) {
	kids := make([]*tree, len(order))
	for i, o := range order {
		kids[i] = t.kids[o]
	}
	t.kids = kids
}
