package form

import (
	"errors"
	"net/url"
	"slices"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/fault"
)

// Saved is what a form that was sent makes of the text.
type Saved struct {
	Text     []byte
	Problems fault.List // fields that could not be written; their text is then as before
	Added    string     // path of an item that a button added, "" for none
	Changed  []string   // labels of what was written, in the order of the form
}

// posted is what was sent for a field, as Values has it; false when it was not sent.
func (f *Field) posted(form url.Values) ([]string, bool) {
	now, sent := form[f.Name]
	if !sent {
		return nil, false
	}
	out := make([]string, 0, len(now))
	for _, v := range now {
		v = strings.TrimSpace(strings.ReplaceAll(v, "\r\n", "\n"))
		if v != "" || f.Kind != "check" && f.Kind != "checks" { // a hidden empty one says that the boxes were sent at all
			out = append(out, v)
		}
	}
	return out, true
}

// same says whether values are those of the text.
func (f *Field) same(now []string) bool {
	if len(f.Values) == 0 {
		return strings.Join(now, "") == ""
	}
	if f.Kind == "lines" && len(now) == 1 {
		return strings.TrimSpace(f.Value()) == now[0]
	}
	return slices.Equal(f.Values, now)
}

// Apply writes what a sent form changes into the text that the form was made from. What was not changed is not written.
func (b *Form) Apply(text []byte, form url.Values) Saved {
	out := Saved{Text: text}
	try := func(path, label string, change func([]byte) ([]byte, error)) {
		next, err := change(out.Text)
		if err != nil {
			f := fault.Fault{Path: path, Rule: "not-written", Text: err.Error()}
			var cannot *edit.Cannot
			if errors.As(err, &cannot) {
				f.Text = "not written: " + cannot.Why
			}
			out.Problems = append(out.Problems, f)
			return
		}
		if string(next) != string(out.Text) {
			out.Text, out.Changed = next, append(out.Changed, label)
		}
	}
	var late []*Field
	write := func(f *Field) {
		if now, sent := f.posted(form); sent && !f.same(now) {
			try(f.Path, f.Label, func(text []byte) ([]byte, error) { return f.write(text, now) })
		}
	}
	b.Each(func(g *Group) {
		for _, f := range g.Fields {
			switch {
			case f.late:
				late = append(late, f)
			case f.write != nil:
				write(f)
			}
		}
	})
	for _, f := range late {
		write(f)
	}
	b.addRows(form, try)
	b.takeAway(form, try)
	if do := form.Get("do"); do != "" && do != "save" {
		b.addItem(do, &out, try)
	}
	return out
}

// addRows writes the spare rows that were filled in.
func (b *Form) addRows(form url.Values, try func(path, label string, change func([]byte) ([]byte, error))) {
	b.Each(func(g *Group) {
		if g.add == nil {
			return
		}
		var now [][]string
		filled := false
		for _, f := range g.Fields {
			v, _ := f.posted(form)
			filled = filled || strings.Join(v, "") != ""
			now = append(now, v)
		}
		if filled {
			path := strings.TrimPrefix(g.Name, "new.")
			path = b.Base + "." + path[:strings.LastIndexByte(path, '.')]
			try(path, g.Title, func(text []byte) ([]byte, error) { return g.add(text, now) })
		}
	})
}

// takeAway deletes the items that are marked, the last first, so that the others keep their places.
func (b *Form) takeAway(form url.Values, try func(path, label string, change func([]byte) ([]byte, error))) {
	var gone []*Group
	b.Each(func(g *Group) {
		if g.Item && (slices.Contains(form["delete"], g.Name) || g.gone) {
			gone = append(gone, g)
		}
	})
	slices.Reverse(gone)
	for _, g := range gone {
		try(g.Path, g.Title, func(text []byte) ([]byte, error) { return drop(text, g.Path) })
	}
}

// addItem does what a button says.
func (b *Form) addItem(do string, out *Saved, try func(path, label string, change func([]byte) ([]byte, error))) {
	b.Each(func(g *Group) {
		for _, a := range g.Add {
			if a.Do != do {
				continue
			}
			try(a.path, a.Words, func(text []byte) ([]byte, error) {
				d, err := edit.Open(text)
				if err != nil {
					return text, err
				}
				if a.single {
					out.Added = a.path
					return edit.Set(text, a.path, a.value)
				}
				out.Added = itemPath(a.path, d.Len(a.path))
				return edit.Append(text, a.path, a.value)
			})
		}
	})
}

// Refill puts what was sent into the fields, to be shown again.
func (b *Form) Refill(form url.Values) {
	b.Each(func(g *Group) {
		for _, f := range g.Fields {
			now, sent := f.posted(form)
			if !sent {
				continue
			}
			f.Values = now
			for i, c := range f.Choice {
				f.Choice[i].On = slices.Contains(now, c.Value)
			}
		}
	})
}
