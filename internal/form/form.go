// Package form is the survey of a panel as a form: sections, cards and fields made from the job's text, the faults of reading it
// beside the fields that they are about, and the text with what was changed in the form, every other byte as it was.
//
// It knows names and values as a browser sends them, and no pages.
package form

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/fault"
	"panelwright/internal/job"
	"panelwright/internal/stock"
)

// Form is the form of one panel, made from the job's text.
type Form struct {
	Index     int    // of the panel in the text, from 1
	Base      string // its path, as panels[1]
	Sections  []*Group
	Panel     *job.Panel // as far as it was read
	Elsewhere fault.List // faults that are no field's of this panel
	Bad       []Bad
	Warns     []string // what the lengths of a tape survey say against each other; beside the lengths too

	doc    *edit.Doc
	job    *job.Job
	files  []string
	edges  []string // known names
	fields map[string]*Field
	groups map[string]*Group
}

// Bad is a fault of the list at the top, with the place in the form where it stands.
type Bad struct {
	fault.Fault
	ID, Label string
}

func itemPath(path string, i int) string { return path + "[" + strconv.Itoa(i+1) + "]" }

// PanelIndex is where the panel with an id stands in the list of the text, from 1: items that are no group are not read.
func PanelIndex(d *edit.Doc, j *job.Job, id string) (int, *job.Panel) {
	if d == nil || j == nil {
		return 0, nil
	}
	k := 0
	for i := range d.Len("panels") {
		if kind, _ := d.Kind(itemPath("panels", i)); kind != edit.Map {
			continue
		}
		if k < len(j.Panels) && j.Panels[k].ID == id {
			return i + 1, j.Panels[k]
		}
		k++
	}
	return 0, nil
}

// New makes the form of a panel. edges are the names to choose from beside those of the panel as read.
func New(d *edit.Doc, j *job.Job, index int, pan *job.Panel, files, edges []string) *Form {
	b := &Form{Index: index, Base: fmt.Sprintf("panels[%d]", index), doc: d, job: j, Panel: pan, files: files,
		fields: map[string]*Field{}, groups: map[string]*Group{}}
	for _, e := range pan.Edges {
		b.edges = append(b.edges, e.Name)
	}
	if len(b.edges) == 0 {
		b.edges = slices.Clone(edges)
	}
	b.head()
	b.outline()
	b.shapes()
	b.sheets()
	b.supports()
	b.loads()
	b.limits()
	b.stations()
	b.behind()
	return b
}

// rest is a path within the panel.
func (b *Form) rest(path string) string {
	return strings.TrimPrefix(strings.TrimPrefix(path, b.Base), ".")
}

// idOf makes a path an id of the page.
func idOf(rest string) string {
	var out strings.Builder
	out.WriteString("f-")
	for _, c := range rest {
		switch {
		case c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9':
			out.WriteRune(c)
		case c == ']':
		case c < 0x80:
			out.WriteByte('-')
		default:
			fmt.Fprintf(&out, "_%x", c)
		}
	}
	return out.String()
}

func (b *Form) section(title, path string) *Group {
	g := b.group(title, path)
	b.Sections = append(b.Sections, g)
	return g
}

func (b *Form) group(title, path string) *Group {
	g := &Group{Title: title, Path: path, ID: "g" + idOf(b.rest(path))[1:], Name: b.rest(path)}
	if b.groups[path] == nil {
		b.groups[path] = g
	}
	return g
}

func (g *Group) card(c *Group) *Group {
	g.Groups = append(g.Groups, c)
	return c
}

// field puts a field into a group.
func (b *Form) field(g *Group, f *Field) *Field {
	rest := b.rest(f.Path)
	f.ID, f.Name = idOf(rest), "f."+rest
	if b.fields[f.Path] == nil {
		b.fields[f.Path] = f
	}
	g.Fields = append(g.Fields, f)
	return f
}

// value is what stands at path as the user wrote it, without quotes; lists and groups as YAML.
func (b *Form) value(path string) string {
	kind, found := b.doc.Kind(path)
	switch {
	case !found || kind == edit.Null:
		return ""
	case kind == edit.Single:
		return strings.TrimSpace(b.doc.Text(path))
	}
	v, _ := b.doc.Get(path)
	return v
}

// list is the single values of the list at path; a single value is a list of one.
func (b *Form) list(path string) []string {
	if kind, _ := b.doc.Kind(path); kind != edit.List {
		if v := b.value(path); v != "" {
			return []string{v}
		}
		return nil
	}
	var out []string
	for i := range b.doc.Len(path) {
		out = append(out, b.value(itemPath(path, i)))
	}
	return out
}

func (b *Form) line(g *Group, path, label, hint string) *Field {
	return b.field(g, &Field{Path: path, Label: label, Hint: hint, Kind: "line", Values: []string{b.value(path)}, write: writeLine(path)})
}

// pair asks for a list of two or so, each in a box.
func (b *Form) pair(g *Group, path, label, hint string, labels ...string) *Field {
	values := b.list(path)
	for len(values) < len(labels) {
		values = append(values, "")
	}
	for len(labels) < len(values) {
		labels = append(labels, strconv.Itoa(len(labels)+1))
	}
	return b.field(g, &Field{Path: path, Label: label, Hint: hint, Kind: "boxes", Values: values, Labels: labels, write: writeList(path)})
}

// words asks for a list in one line, parted by commas.
func (b *Form) words(g *Group, path, label, hint string) *Field {
	return b.field(g, &Field{Path: path, Label: label, Hint: hint, Kind: "line", Values: []string{strings.Join(b.list(path), ", ")}, write: writeWords(path)})
}

// choice asks for one of some words. What stands there and is none of them stays to be chosen.
func (b *Form) choice(g *Group, path, label, hint string, choices ...Choice) *Field {
	v := b.value(path)
	known := false
	for i := range choices {
		choices[i].On = choices[i].Value == v
		known = known || choices[i].On
	}
	if !known {
		choices = append(choices, Choice{Value: v, Words: v + " (as written; not known)", On: true})
	}
	return b.field(g, &Field{Path: path, Label: label, Hint: hint, Kind: "choice", Values: []string{v}, Choice: choices, write: writeLine(path)})
}

func (b *Form) check(g *Group, path, label, hint string) *Field {
	f := &Field{Path: path, Label: label, Hint: hint, Kind: "check", write: writeCheck(path)}
	if v := strings.ToLower(b.value(path)); v == "true" || v == "yes" {
		f.Values = []string{"true"}
	}
	return b.field(g, f)
}

// set asks which of some words apply.
func (b *Form) set(g *Group, path, label, hint string, all []string) *Field {
	on := b.list(path)
	f := &Field{Path: path, Label: label, Hint: hint, Kind: "checks", Values: on, write: writeSet(path)}
	seen := map[string]bool{}
	for _, w := range slices.Concat(all, on) {
		if !seen[w] {
			seen[w] = true
			f.Choice = append(f.Choice, Choice{Value: w, Words: w, On: slices.Contains(on, w)})
		}
	}
	return b.field(g, f)
}

func plainChoices(words ...string) []Choice {
	out := []Choice{{Value: "", Words: "any"}}
	for _, w := range words {
		out = append(out, Choice{Value: w, Words: w})
	}
	return out
}

// materials are the choices for a layer.
func (b *Form) materials(gap bool) []Choice {
	out := []Choice{{Value: "", Words: "choose"}}
	if gap {
		out = append(out, Choice{Value: "none", Words: "none: a gap"})
	}
	var own []string
	embedded := map[string]bool{}
	for _, m := range stock.Materials() {
		embedded[m.ID] = true
		if m.Family != stock.Seal || gap {
			words := m.Name
			if m.Form != "" { // two of one name differ in it
				words += ", " + m.Form
			}
			out = append(out, Choice{Value: m.ID, Words: words})
		}
	}
	for id, m := range b.job.Materials {
		if !embedded[id] && (m.Family != stock.Seal || gap) {
			own = append(own, id)
		}
	}
	slices.Sort(own)
	for _, id := range own {
		out = append(out, Choice{Value: id, Words: b.job.Materials[id].Name + " (your own)"})
	}
	return out
}

// Lay puts faults where they belong: at the field of their path, else at the closest group around it.
func (b *Form) Lay(faults fault.List) {
	b.Elsewhere, b.Bad = nil, nil
	for _, f := range faults {
		if f.Path != b.Base && !strings.HasPrefix(f.Path, b.Base+".") {
			b.Elsewhere = append(b.Elsewhere, f)
			continue
		}
		f = Plain(f)
		bad := Bad{Fault: f}
		for path := f.Path; ; {
			if at := b.fields[path]; at != nil {
				at.Faults = append(at.Faults, f)
				bad.ID, bad.Label = at.ID, at.Label
				break
			}
			if g := b.groups[path]; g != nil {
				g.Faults = append(g.Faults, f)
				bad.ID, bad.Label = g.ID, g.Title
				break
			}
			cut := strings.LastIndexAny(path, ".[")
			if cut < len(b.Base) {
				b.Sections[0].Faults = append(b.Sections[0].Faults, f)
				bad.ID, bad.Label = b.Sections[0].ID, b.Sections[0].Title
				break
			}
			path = path[:cut]
		}
		b.Bad = append(b.Bad, bad)
	}
}

// Plain says a fault for a reader of a form, who sees no keys: what is missing is a field that is not filled in.
func Plain(f fault.Fault) fault.Fault {
	if f.Rule == "missing-key" {
		what, wanted, _ := strings.Cut(f.Text, " is missing; accepted: ")
		for _, k := range [][2]string{{"outer", "outer sheet"}, {"inner", "inner sheet"}} {
			if strings.Contains(f.Path, "."+k[0]+".") {
				what = k[1] + ": " + what
			}
		}
		if what == "at" {
			what = "the place"
		}
		f.Text = what + " is not filled in"
		if wanted != "" && wanted != "a list" && wanted != "a group" {
			f.Text += "; accepted: " + wanted
		}
	}
	return f
}

// Each visits every group of the form.
func (b *Form) Each(visit func(*Group)) {
	var walk func([]*Group)
	walk = func(groups []*Group) {
		for _, g := range groups {
			visit(g)
			walk(g.Groups)
		}
	}
	walk(b.Sections)
}

// PanelAt is the panel at an index of the text's list, nil when none was read there.
func PanelAt(text string, j *job.Job, index int) *job.Panel {
	d, err := edit.Open([]byte(text))
	if err != nil || j == nil {
		return nil
	}
	k := 0 // items that are no group are not read
	for i := range d.Len("panels") {
		kind, _ := d.Kind(itemPath("panels", i))
		switch {
		case kind != edit.Map:
			continue
		case i+1 == index && k < len(j.Panels):
			return j.Panels[k]
		}
		k++
	}
	return nil
}

// Anchor is the id in the page of the group at a path.
func (b *Form) Anchor(path string) string { return "g" + idOf(b.rest(path))[1:] }

// TakeFile makes the outline come out of a file that is kept beside the job. It fails with *edit.Cannot.
func (b *Form) TakeFile(text []byte, name string) ([]byte, error) {
	if f := b.fields[b.Base+".outline.form"]; f.Value() != "file" {
		var err error
		if text, err = f.write(text, []string{"file"}); err != nil {
			return text, err
		}
	}
	return edit.Set(text, b.Base+".outline.file", edit.Scalar(name))
}
