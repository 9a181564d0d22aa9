package web

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

// surveyForm is the form of one panel, made from the job's text.
type surveyForm struct {
	Index     int    // of the panel in the text, from 1
	Base      string // its path, as panels[1]
	Sections  []*surveyGroup
	Elsewhere fault.List // faults that are no field's of this panel
	Count     int        // of its own faults
	Bad       []surveyBad

	doc    *edit.Doc
	job    *job.Job
	pan    *job.Panel
	files  []string
	edges  []string // known names
	fields map[string]*surveyField
	groups map[string]*surveyGroup
}

// surveyBad is a fault of the list at the top, with the place in the form where it stands.
type surveyBad struct {
	fault.Fault
	ID, Label string
}

func itemPath(path string, i int) string { return path + "[" + strconv.Itoa(i+1) + "]" }

// panelIndex is where the panel with an id stands in the list of the text, from 1: items that are no group are not read.
func panelIndex(d *edit.Doc, j *job.Job, id string) (int, *job.Panel) {
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

// newSurveyForm makes the form of a panel. edges are the names to choose from beside those of the panel as read.
func newSurveyForm(d *edit.Doc, j *job.Job, index int, pan *job.Panel, files, edges []string) *surveyForm {
	b := &surveyForm{Index: index, Base: fmt.Sprintf("panels[%d]", index), doc: d, job: j, pan: pan, files: files,
		fields: map[string]*surveyField{}, groups: map[string]*surveyGroup{}}
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
func (b *surveyForm) rest(path string) string {
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

func (b *surveyForm) section(title, path string) *surveyGroup {
	g := b.group(title, path)
	b.Sections = append(b.Sections, g)
	return g
}

func (b *surveyForm) group(title, path string) *surveyGroup {
	g := &surveyGroup{Title: title, Path: path, ID: "g" + idOf(b.rest(path))[1:], Name: b.rest(path)}
	if b.groups[path] == nil {
		b.groups[path] = g
	}
	return g
}

func (g *surveyGroup) card(c *surveyGroup) *surveyGroup {
	g.Groups = append(g.Groups, c)
	return c
}

// field puts a field into a group.
func (b *surveyForm) field(g *surveyGroup, f *surveyField) *surveyField {
	rest := b.rest(f.Path)
	f.ID, f.Name = idOf(rest), "f."+rest
	if b.fields[f.Path] == nil {
		b.fields[f.Path] = f
	}
	g.Fields = append(g.Fields, f)
	return f
}

// value is what stands at path as the user wrote it, without quotes; lists and groups as YAML.
func (b *surveyForm) value(path string) string {
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
func (b *surveyForm) list(path string) []string {
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

func (b *surveyForm) line(g *surveyGroup, path, label, hint string) *surveyField {
	return b.field(g, &surveyField{Path: path, Label: label, Hint: hint, Kind: "line", Values: []string{b.value(path)}, write: writeLine(path)})
}

// pair asks for a list of two or so, each in a box.
func (b *surveyForm) pair(g *surveyGroup, path, label, hint string, labels ...string) *surveyField {
	values := b.list(path)
	for len(values) < len(labels) {
		values = append(values, "")
	}
	for len(labels) < len(values) {
		labels = append(labels, strconv.Itoa(len(labels)+1))
	}
	return b.field(g, &surveyField{Path: path, Label: label, Hint: hint, Kind: "boxes", Values: values, Labels: labels, write: writeList(path)})
}

// words asks for a list in one line, parted by commas.
func (b *surveyForm) words(g *surveyGroup, path, label, hint string) *surveyField {
	return b.field(g, &surveyField{Path: path, Label: label, Hint: hint, Kind: "line", Values: []string{strings.Join(b.list(path), ", ")}, write: writeWords(path)})
}

// choice asks for one of some words. What stands there and is none of them stays to be chosen.
func (b *surveyForm) choice(g *surveyGroup, path, label, hint string, choices ...surveyChoice) *surveyField {
	v := b.value(path)
	known := false
	for i := range choices {
		choices[i].On = choices[i].Value == v
		known = known || choices[i].On
	}
	if !known {
		choices = append(choices, surveyChoice{Value: v, Words: v + " (as written; not known)", On: true})
	}
	return b.field(g, &surveyField{Path: path, Label: label, Hint: hint, Kind: "choice", Values: []string{v}, Choice: choices, write: writeLine(path)})
}

func (b *surveyForm) check(g *surveyGroup, path, label, hint string) *surveyField {
	f := &surveyField{Path: path, Label: label, Hint: hint, Kind: "check", write: writeCheck(path)}
	if v := strings.ToLower(b.value(path)); v == "true" || v == "yes" {
		f.Values = []string{"true"}
	}
	return b.field(g, f)
}

// set asks which of some words apply.
func (b *surveyForm) set(g *surveyGroup, path, label, hint string, all []string) *surveyField {
	on := b.list(path)
	f := &surveyField{Path: path, Label: label, Hint: hint, Kind: "checks", Values: on, write: writeSet(path)}
	seen := map[string]bool{}
	for _, w := range slices.Concat(all, on) {
		if !seen[w] {
			seen[w] = true
			f.Choice = append(f.Choice, surveyChoice{Value: w, Words: w, On: slices.Contains(on, w)})
		}
	}
	return b.field(g, f)
}

func plainChoices(words ...string) []surveyChoice {
	out := []surveyChoice{{Value: "", Words: "any"}}
	for _, w := range words {
		out = append(out, surveyChoice{Value: w, Words: w})
	}
	return out
}

// materials are the choices for a layer.
func (b *surveyForm) materials(gap bool) []surveyChoice {
	out := []surveyChoice{{Value: "", Words: "choose"}}
	if gap {
		out = append(out, surveyChoice{Value: "none", Words: "none: a gap"})
	}
	var own []string
	embedded := map[string]bool{}
	for _, m := range stock.Materials() {
		embedded[m.ID] = true
		if m.Family != stock.Seal || gap {
			out = append(out, surveyChoice{Value: m.ID, Words: m.Name})
		}
	}
	for id, m := range b.job.Materials {
		if !embedded[id] && (m.Family != stock.Seal || gap) {
			own = append(own, id)
		}
	}
	slices.Sort(own)
	for _, id := range own {
		out = append(out, surveyChoice{Value: id, Words: b.job.Materials[id].Name + " (your own)"})
	}
	return out
}

// lay puts faults where they belong: at the field of their path, else at the closest group around it.
func (b *surveyForm) lay(faults fault.List) {
	b.Elsewhere, b.Bad, b.Count = nil, nil, 0
	for _, f := range faults {
		if f.Path != b.Base && !strings.HasPrefix(f.Path, b.Base+".") {
			b.Elsewhere = append(b.Elsewhere, f)
			continue
		}
		b.Count++
		bad := surveyBad{Fault: f}
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

// each visits every group of the form.
func (b *surveyForm) each(visit func(*surveyGroup)) {
	var walk func([]*surveyGroup)
	walk = func(groups []*surveyGroup) {
		for _, g := range groups {
			visit(g)
			walk(g.Groups)
		}
	}
	walk(b.Sections)
}
