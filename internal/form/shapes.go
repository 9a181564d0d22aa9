package form

import (
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/measure"
)

// outlineForms are the ways to give an outline.
var outlineForms = []Choice{
	{Value: "rectangle", Words: "rectangle"}, {Value: "trapezium", Words: "trapezium"}, {Value: "points", Words: "corners by coordinates"},
	{Value: "survey", Words: "lengths taken with a tape"}, {Value: "offsets", Words: "offsets from a line"}, {Value: "file", Words: "a drawing or table in a file"},
}

// rowsSpare is how many empty rows a table offers.
const rowsSpare = 3

func (b *Form) outline() {
	path := b.Base + ".outline"
	s := b.section("Outline, flat, seen from outside", path)
	form := b.formOf(path, outlineForms)
	b.form(s, path, "Given by", form, outlineForms, b.outlineStart, "corner radius", "corner radii")
	switch form {
	case "rectangle":
		b.pair(s, path+".rectangle", "Size", b.lengthHint(), "along x", "along y")
	case "trapezium":
		b.line(s, path+".trapezium.bottom", "Bottom", b.lengthHint())
		b.line(s, path+".trapezium.top", "Top", b.lengthHint())
		b.line(s, path+".trapezium.height", "Height between them", b.lengthHint())
		b.line(s, path+".trapezium.shift", "Top's middle to the right of the bottom's", "empty: none")
	case "points":
		b.points(s, path+".points")
	case "survey":
		b.tape(s, path+".survey")
	case "offsets":
		b.line(s, path+".offsets.spacing", "Every", "distance between ordinates; or the distances themselves:")
		b.words(s, path+".offsets.stations", "At", "rising distances, parted by commas")
		b.words(s, path+".offsets.ordinates", "Ordinates", "square to the line, parted by commas")
		b.check(s, path+".offsets.both sides", "Both sides of the line", "it is a centre line")
	case "file":
		b.file(s, path)
	}
	if form != "file" {
		b.line(s, path+".corner radius", "Radius of every corner", "empty: sharp")
		b.words(s, path+".corner radii", "or of each corner", "in order, parted by commas; 0 for a sharp one")
	}
	b.words(s, path+".edges", "Names of the edges", "in order from the first corner, parted by commas; a rectangle begins with its lower edge and goes round anticlockwise")
}

// formOf finds which of the keys is there.
func (b *Form) formOf(path string, forms []Choice) string {
	for _, f := range forms {
		if has2(b.doc, path+"."+f.Value) {
			return f.Value
		}
	}
	return ""
}

// form asks by which of several keys a shape is given. Another choice begins the new form and takes the old one out, with what
// goes only with it.
func (b *Form) form(g *Group, path, label, now string, forms []Choice, start func(form string) string, with ...string) {
	choices := slices.Clone(forms)
	for i := range choices {
		choices[i].On = choices[i].Value == now
	}
	if now == "" {
		choices = append([]Choice{{Words: "choose", On: true}}, choices...)
	}
	f := &Field{Path: path + ".form", Label: label, Hint: "save to see the fields of another form", Kind: "choice", Values: []string{now}, Choice: choices, late: true}
	f.write = func(text []byte, to []string) ([]byte, error) {
		if !slices.ContainsFunc(forms, func(c Choice) bool { return c.Value == to[0] }) {
			return text, &edit.Cannot{Path: path, Why: "no such form; choose one of the list"}
		}
		text, err := edit.Set(text, path+"."+to[0], start(to[0]))
		if err != nil || now == "" {
			return text, err
		}
		if text, err = drop(text, path+"."+now); err != nil {
			return text, err
		}
		if to[0] == "file" {
			for _, k := range with {
				if text, err = drop(text, path+"."+k); err != nil {
					return text, err
				}
			}
		}
		if now == "file" {
			for _, k := range []string{"units", "join", "mirrored"} {
				if text, err = drop(text, path+"."+k); err != nil {
					return text, err
				}
			}
		}
		return text, nil
	}
	b.field(g, f)
}

// outlineStart is what a new form of the outline begins with: the box around the old outline, where there was one. Lengths by
// tape begin empty, since they are to be measured.
func (b *Form) outlineStart(form string) string {
	w, h := "", ""
	if out := b.Panel.Outline.Outer; len(out.V) > 0 {
		box := out.Bounds()
		w, h = measure.Fixed(box.Width(), 1)+" mm", measure.Fixed(box.Height(), 1)+" mm"
	}
	switch form {
	case "rectangle":
		return flowList([]string{w, h})
	case "trapezium":
		if w == "" {
			return "{}"
		}
		return fmt.Sprintf("{ bottom: %s, top: %s, height: %s }", w, w, h)
	case "points":
		if w == "" {
			return "[ ]"
		}
		return fmt.Sprintf("[ [ 0, 0 ], [ %s, 0 ], [ %s, %s ], [ 0, %s ] ]", w, w, h, h)
	case "survey":
		return "{ corners: [ A, B, C, D ], lengths: {} }"
	case "file":
		if len(b.files) > 0 {
			return edit.Scalar(b.files[0])
		}
		return `""`
	}
	return "{}"
}

func (b *Form) file(s *Group, path string) {
	choices := []Choice{{Value: "", Words: "choose; send one with the form below"}}
	for _, f := range b.files {
		choices = append(choices, Choice{Value: f, Words: f})
	}
	b.choice(s, path+".file", "File", "DXF, SVG, CSV or TXT that is kept with this vehicle", choices...)
	b.choice(s, path+".units", "One unit of the file is", "", Choice{Value: "", Words: "as the file says"}, Choice{Value: "mm", Words: "1 mm"},
		Choice{Value: "cm", Words: "1 cm"}, Choice{Value: "m", Words: "1 m"}, Choice{Value: "in", Words: "1 in"}, Choice{Value: "ft", Words: "1 ft"})
	b.line(s, path+".join", "Ends that lie this near belong together", "empty: 0.05 mm")
	b.check(s, path+".mirrored", "Drawn as seen from inside", "x is turned over")
}

// curves are how the side that leaves a corner may run.
var curves = []Choice{{Value: "", Words: "straight"}, {Value: "bow", Words: "bows out by"}, {Value: "through", Words: "arc through x, y"}, {Value: "arc radius", Words: "arc of radius"}}

// points asks for corners, a row for each.
func (b *Form) points(s *Group, path string) {
	table := s.card(b.group("Corners in order", path))
	table.Note = "The last joins the first. A corner's side runs from it to the next; name it there, or name all sides above."
	table.Columns = []string{"x, y", "its side", "curve of the side", "radius"}
	n := b.doc.Len(path)
	for i := range n {
		item := itemPath(path, i)
		row := table.card(b.group(fmt.Sprintf("Corner %d", i+1), item))
		row.Item = true
		kind, _ := b.doc.Kind(item)
		at, asMap := item+".at", asMapping(item)
		if kind == edit.List {
			at = item
		} else {
			asMap = nil
		}
		place := b.pair(row, at, fmt.Sprintf("Corner %d", i+1), "", "x", "y")
		plain := place.write
		place.write = func(text []byte, now []string) ([]byte, error) {
			if strings.Join(now, "") == "" { // the row goes away, after all others are written
				row.gone = true
				return text, nil
			}
			return plain(text, now)
		}
		for _, f := range []*Field{
			b.line(row, item+".edge", fmt.Sprintf("Name of the side from corner %d", i+1), ""),
			b.curve(row, item, fmt.Sprintf("Curve of the side from corner %d", i+1)),
			b.line(row, item+".corner radius", fmt.Sprintf("Radius of corner %d", i+1), ""),
		} {
			if plain := f.write; asMap != nil {
				f.write = func(text []byte, now []string) ([]byte, error) {
					text, err := asMap(text)
					if err != nil {
						return text, err
					}
					return plain(text, now)
				}
			}
		}
	}
	for i := range rowsSpare {
		row := table.card(&Group{Title: fmt.Sprintf("Corner %d", n+i+1), Name: fmt.Sprintf("new.%s.%d", b.rest(path), i)})
		row.ID = "g" + idOf(row.Name)[1:]
		b.spare(row, "at", &Field{Label: row.Title, Kind: "boxes", Values: []string{"", ""}, Labels: []string{"x", "y"}})
		b.spare(row, "edge", &Field{Label: "Name of the side from " + row.Title, Kind: "line"})
		b.spare(row, "curve", &Field{Label: "Curve of the side from " + row.Title, Kind: "curve", Choice: curves})
		b.spare(row, "radius", &Field{Label: "Radius of " + row.Title, Kind: "line"})
		row.add = func(text []byte, now [][]string) ([]byte, error) { return edit.Append(text, path, newCorner(now)) }
	}
}

// newCorner writes a corner out of a spare row: x and y, side, curve, radius.
func newCorner(now [][]string) string {
	at := flowList(now[0])
	keys := []string{"at: " + at}
	if v := joined(now[1]); v != "" {
		keys = append(keys, "edge: "+edit.Scalar(v))
	}
	if len(now[2]) == 2 && now[2][0] != "" {
		keys = append(keys, now[2][0]+": "+curveValue(now[2]))
	}
	if v := joined(now[3]); v != "" {
		keys = append(keys, "corner radius: "+edit.Scalar(v))
	}
	if len(keys) == 1 {
		return at
	}
	return "{ " + strings.Join(keys, ", ") + " }"
}

func joined(v []string) string { return strings.TrimSpace(strings.Join(v, " ")) }

func curveValue(now []string) string {
	if now[0] == "through" {
		return flowList(words(now[1]))
	}
	return edit.Scalar(strings.TrimSpace(now[1]))
}

// spare puts a field into a row that is not in the text yet.
func (b *Form) spare(row *Group, key string, f *Field) {
	f.Name = row.Name + "." + key
	f.ID = idOf(f.Name)
	row.Fields = append(row.Fields, f)
}

// asMapping turns a corner [x, y] into a group, so that it can have keys.
func asMapping(item string) func([]byte) ([]byte, error) {
	return func(text []byte) ([]byte, error) {
		if v, _ := edit.Get(text, item); strings.HasPrefix(v, "[") {
			return edit.Set(text, item, "{ at: "+v+" }")
		}
		return text, nil
	}
}

// curve asks how a side runs: the kind and its measure.
func (b *Form) curve(g *Group, item, label string) *Field {
	f := &Field{Path: item + ".curve", Label: label, Kind: "curve", Values: []string{"", ""}, Choice: slices.Clone(curves)}
	for i, c := range f.Choice {
		if path := item + "." + c.Value; c.Value != "" && has2(b.doc, path) && f.Values[0] == "" {
			f.Values = []string{c.Value, strings.Join(b.list(path), ", ")}
			f.Choice[i].On = true
			b.fields[path] = f
		}
	}
	was := f.Values[0]
	f.write = func(text []byte, now []string) ([]byte, error) {
		if len(now) != 2 || !slices.ContainsFunc(curves, func(c Choice) bool { return c.Value == now[0] }) {
			return text, &edit.Cannot{Path: item, Why: "no such curve; choose one of the list"}
		}
		var err error
		if now[0] == "through" {
			if text, err = writeList(item+".through")(text, words(now[1])); err != nil {
				return text, err
			}
		} else if now[0] != "" {
			if text, err = edit.Set(text, item+"."+now[0], edit.Scalar(strings.TrimSpace(now[1]))); err != nil {
				return text, err
			}
		}
		if was != "" && was != now[0] {
			return drop(text, item+"."+was)
		}
		return text, nil
	}
	return b.field(g, f)
}

// tape asks for what a tape found: corners, and lengths between them.
func (b *Form) tape(s *Group, path string) {
	b.words(s, path+".corners", "Names of the corners", "anticlockwise as seen from outside, parted by commas")
	b.line(s, path+".tape", "One reading may be off by", "either way, as ± 1.5 mm")
	lengths := path + ".lengths"
	table := s.card(b.group("Lengths between corners", lengths))
	table.Note = "Every edge and some diagonals, between where the edges would meet were the corners sharp. Two diagonals check each other."
	table.Columns = []string{"from corner to corner", "length"}
	b.Warns = b.job.SurveyWarnings(b.Panel)
	table.Warns = b.Warns
	for i, key := range b.doc.Keys(lengths) {
		if strings.ContainsAny(key, ".[") {
			continue // no path can name it: it is changed in the text
		}
		at := lengths + "." + key
		row := table.card(&Group{Title: key, Path: at, ID: fmt.Sprintf("g-length-%d", i), Name: b.rest(at), Item: true})
		b.lengthKey(row, lengths, key).ID = fmt.Sprintf("f-length-between-%d", i)
		f := b.line(row, at, "Length "+key, b.lengthHint())
		f.ID = fmt.Sprintf("f-length-%d", i)
	}
	// Every side and two diagonals are asked for at once, and always a few rows more than there are.
	for i := range max(rowsSpare, min(len(b.list(path+".corners")), 12)+2-b.doc.Len(lengths)) {
		row := table.card(&Group{Title: "another length", Name: fmt.Sprintf("new.%s.%d", b.rest(lengths), i)})
		row.ID = "g" + idOf(row.Name)[1:]
		b.spare(row, "key", &Field{Label: "From corner to corner", Hint: "as A-C", Kind: "line"})
		b.spare(row, "length", &Field{Label: "Length", Kind: "line"})
		row.add = func(text []byte, now [][]string) ([]byte, error) {
			key := joined(now[0])
			switch {
			case key == "" || strings.ContainsAny(key, ".["):
				return text, &edit.Cannot{Path: lengths, Why: "a length from nowhere to nowhere, or a name with . or [; accepted: two corners joined by a hyphen, as A-C"}
			case has(text, lengths+"."+key):
				return text, &edit.Cannot{Path: lengths, Why: "the length " + key + " stands there already; change it in its own row"}
			}
			return edit.Set(text, lengths+"."+key, edit.Scalar(joined(now[1])))
		}
	}
}

// lengthKey asks between which corners a length was taken. It is written after the length, which goes with it.
func (b *Form) lengthKey(row *Group, lengths, key string) *Field {
	old := lengths + "." + key
	f := &Field{Path: old + ".between", Label: "From corner to corner, " + key, Kind: "line", Values: []string{key}, late: true}
	f.write = func(text []byte, now []string) ([]byte, error) {
		to := joined(now)
		switch value, found := edit.Get(text, old); {
		case !found:
			return text, nil
		case to == "" || strings.ContainsAny(to, ".["):
			return text, &edit.Cannot{Path: f.Path, Why: "no corners, or a name with . or [; accepted: two corners joined by a hyphen, as A-C. To take the length away, mark it so"}
		case has(text, lengths+"."+to):
			return text, &edit.Cannot{Path: f.Path, Why: "the length " + to + " stands there already; take one of the two away"}
		default:
			out, err := edit.Set(text, lengths+"."+to, value)
			if err == nil {
				out, err = edit.Delete(out, old)
			}
			if err != nil {
				return text, err
			}
			return out, nil
		}
	}
	return b.field(row, f)
}

// pointList asks for the corners of a shape or the line of a rib in one field.
func (b *Form) pointList(g *Group, path, label string) {
	var rows []string
	for i := range b.doc.Len(path) {
		rows = append(rows, strings.Join(b.list(itemPath(path, i)), ", "))
	}
	f := &Field{Path: path, Label: label, Hint: "a point in each line, as 120, 290", Kind: "lines", Values: []string{strings.Join(rows, "\n")}}
	f.write = func(text []byte, now []string) ([]byte, error) {
		var points [][]string
		for _, l := range strings.Split(strings.ReplaceAll(joined(now), "\r\n", "\n"), "\n") {
			if w := words(l); len(w) > 0 {
				points = append(points, w)
			}
		}
		d, err := edit.Open(text)
		if err != nil {
			return text, err
		}
		for i := d.Len(path) - 1; i >= len(points); i-- {
			if text, err = edit.Delete(text, itemPath(path, i)); err != nil {
				return text, err
			}
		}
		for i, p := range points {
			item := itemPath(path, i)
			if i >= d.Len(path) {
				text, err = edit.Append(text, path, flowList(p))
			} else if i < len(rows) && strings.Join(p, ", ") != rows[i] {
				text, err = writeList(item)(text, p)
			}
			if err != nil {
				return text, err
			}
		}
		return text, nil
	}
	b.field(g, f)
}

// shapeForms are the ways to give a cut-out or keep-out.
var shapeForms = []Choice{{Value: "circle", Words: "circle"}, {Value: "rectangle", Words: "rectangle"}, {Value: "points", Words: "corners by coordinates"}}

func (b *Form) shapes() {
	for _, k := range []struct{ key, title, one string }{{"cut-outs", "Cut-outs", "Cut-out"}, {"keep-outs", "Keep-outs: no station stands there", "Keep-out"}} {
		path := b.Base + "." + k.key
		s := b.section(k.title, path)
		for i, item := range b.items(path) {
			title := fmt.Sprintf("%s %d", k.one, i+1)
			if name := b.value(item + ".name"); name != "" {
				title += ": " + name
			}
			g := s.card(b.group(title, item))
			g.Item = true
			b.shape(g, item)
		}
		for _, f := range shapeForms[:2] {
			s.Add = append(s.Add, Add{Do: "add " + k.key + " " + f.Value, Words: "Add a " + f.Words, path: path, value: "{ " + f.Value + ": {} }"})
		}
	}
}

func (b *Form) shape(g *Group, item string) {
	b.line(g, item+".name", "Name", "as printed")
	if has2(b.doc, item+".layer") {
		b.line(g, item+".layer", "Layer or colour of the drawing", "each closed loop there is one")
		return
	}
	form := b.formOf(item, shapeForms)
	b.form(g, item, "Form", form, shapeForms, func(form string) string {
		if form == "points" {
			return "[ ]"
		}
		return "{}"
	})
	path := item + "." + form
	switch form {
	case "circle":
		b.pair(g, path+".at", "Centre", b.lengthHint(), "x", "y")
		b.line(g, path+".diameter", "Diameter", b.lengthHint())
	case "rectangle":
		b.pair(g, path+".at", "Lower left corner", b.lengthHint(), "x", "y")
		b.pair(g, path+".size", "Size", b.lengthHint(), "along x", "along y")
		b.line(g, path+".corner radius", "Corner radius", "empty: sharp")
	case "points":
		b.pointList(g, path, "Corners")
	}
}
