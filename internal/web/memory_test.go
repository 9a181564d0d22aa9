package web

import (
	"context"
	"maps"
	"slices"
	"strings"
	"sync"
)

// memory keeps vehicles in memory: the pages' tests run on it, and on the book beside it.
type memory struct {
	mu  sync.Mutex
	all []*kept
}

type kept struct {
	id       int64
	archived bool
	revs     []Revision
	undo     []int // revisions to go back to
	redo     []int
	marks    map[string]map[string]string
}

func (m *memory) find(id int64) (*kept, error) {
	if id < 1 || id > int64(len(m.all)) {
		return nil, ErrNone
	}
	return m.all[id-1], nil
}

func (k *kept) head() Revision {
	r := k.revs[len(k.revs)-1]
	r.Archived, r.CanUndo, r.CanRedo = k.archived, len(k.undo) > 0, len(k.redo) > 0
	return r
}

func (k *kept) push(c Content, at string) Revision {
	k.revs = append(k.revs, Revision{Vehicle: k.id, Number: len(k.revs) + 1, At: at, Content: c})
	return k.head()
}

func (m *memory) Vehicles(_ context.Context, archived bool) ([]Vehicle, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []Vehicle
	for _, k := range slices.Backward(m.all) {
		if r := k.head(); archived || !k.archived {
			out = append(out, Vehicle{k.id, r.Name, r.Number, r.At, k.archived})
		}
	}
	return out, nil
}

func (m *memory) Create(_ context.Context, c Content, at string) (int64, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k := &kept{id: int64(len(m.all) + 1), marks: map[string]map[string]string{}}
	m.all = append(m.all, k)
	k.push(c, at)
	return k.id, nil
}

func (m *memory) Get(_ context.Context, id int64) (Revision, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err != nil {
		return Revision{}, err
	}
	return k.head(), nil
}

func (m *memory) GetRevision(_ context.Context, id int64, rev int) (Revision, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err != nil || rev < 1 || rev > len(k.revs) {
		return Revision{}, ErrNone
	}
	return k.revs[rev-1], nil
}

func (m *memory) change(id int64, base int, f func(k *kept) (Revision, error)) (Revision, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err != nil {
		return Revision{}, err
	}
	if base != len(k.revs) {
		return Revision{}, &Outdated{base, len(k.revs)}
	}
	return f(k)
}

func (m *memory) Save(_ context.Context, id int64, base int, c Content, at string) (Revision, error) {
	return m.change(id, base, func(k *kept) (Revision, error) {
		k.undo, k.redo = append(k.undo, len(k.revs)), nil
		return k.push(c, at), nil
	})
}

func (m *memory) Undo(_ context.Context, id int64, base int, at string) (Revision, error) {
	return m.change(id, base, func(k *kept) (Revision, error) {
		if len(k.undo) == 0 {
			return Revision{}, ErrNothing
		}
		to := k.undo[len(k.undo)-1]
		k.undo, k.redo = k.undo[:len(k.undo)-1], append(k.redo, len(k.revs))
		return k.push(k.revs[to-1].Content, at), nil
	})
}

func (m *memory) Redo(_ context.Context, id int64, base int, at string) (Revision, error) {
	return m.change(id, base, func(k *kept) (Revision, error) {
		if len(k.redo) == 0 {
			return Revision{}, ErrNothing
		}
		to := k.redo[len(k.redo)-1]
		k.redo, k.undo = k.redo[:len(k.redo)-1], append(k.undo, len(k.revs))
		return k.push(k.revs[to-1].Content, at), nil
	})
}

func (m *memory) History(_ context.Context, id int64) ([]Revision, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err != nil {
		return nil, err
	}
	out := slices.Clone(k.revs)
	slices.Reverse(out)
	return out, nil
}

func (m *memory) Marks(_ context.Context, id int64, card string) (map[string]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err != nil {
		return nil, err
	}
	return maps.Clone(k.marks[card]), nil
}

func (m *memory) SetMarks(_ context.Context, id int64, card string, marks map[string]string, _ string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err != nil {
		return err
	}
	if k.marks[card] == nil {
		k.marks[card] = map[string]string{}
	}
	for name, value := range marks {
		if k.marks[card][name] = value; value == "" {
			delete(k.marks[card], name)
		}
	}
	return nil
}

func (m *memory) Archive(_ context.Context, id int64, away bool, _ string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	k, err := m.find(id)
	if err == nil {
		k.archived = away
	}
	return err
}

func (m *memory) Copy(context.Context) ([]byte, error) { return []byte(strings.Repeat("book", 4)), nil }
