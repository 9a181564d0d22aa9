package form

import (
	"fmt"
	"iter"

	"panelwright/internal/edit"
	"panelwright/internal/job"
)

// Hints: what is accepted, in the words of the bench.
func (b *Form) lengthHint() string {
	if b.job.Inch {
		return "a bare number is inches; or 12.5 mm, 1-1/2, 3/8 in"
	}
	return "a bare number is millimetres; or 1/8 in, 2.5 cm"
}

func (b *Form) thicknessHint() string {
	return "2.4 ± 0.2 mm, 1/8 in, 16 swg, or what the caliper said: readings [2.5, 2.6, 2.4] mm"
}

func (b *Form) head() {
	g := b.section("Panel", b.Base)
	b.line(g, b.Base+".name", "Name", "letters and figures; files are named after it")
	b.line(g, b.Base+".quantity", "How many alike", "a whole number; 1 when left empty")
	b.front(g)
	b.check(g, b.Base+".opens forward", "The wind can lift it", "it opens forward: a second retention is then asked for")
	b.line(g, b.Base+".crown.along", "Crown along x", "how far the middle stands above a straightedge along x; empty: flat")
	b.line(g, b.Base+".crown.across", "Crown along y", "the same along y")
}

// front asks which edge faces forward.
func (b *Form) front(g *Group) {
	choices := []Choice{{Value: "", Words: "not said"}}
	for _, e := range b.edges {
		choices = append(choices, Choice{Value: e, Words: e})
	}
	b.choice(g, b.Base+".front", "Edge that faces forward", "", choices...)
}

// layer asks for one layer.
func (b *Form) layer(g *Group, path string, gap bool) {
	of := ""
	switch path { // a list of faults names fields, and there are two of these
	case b.Base + ".outer":
		of = " of the outer sheet"
	case b.Base + ".inner":
		of = " of the inner sheet"
	}
	b.choice(g, path+".material", "Material"+of, "", b.materials(gap)...)
	b.line(g, path+".thickness", "Thickness"+of, b.thicknessHint())
	_, named := b.doc.Get(path + ".name")
	if gap || named {
		b.line(g, path+".name", "Name", "as printed")
	}
	if gap {
		b.line(g, path+".stiffness", "Stiffness of a seal", "pressure per squeeze, as 0.4 N/mm³; of seals only")
		b.pair(g, path+".squeezed area", "Area of the seal that a station squeezes", "empty: the receptacle's foot", "length", "width")
	}
}

func (b *Form) sheets() {
	s := b.section("Sheets, from outside inwards", b.Base+".sheets")
	s.Note = "What the fastener clamps. Supports may have an inner sheet of their own."
	outer := s.card(b.group("Outer sheet", b.Base+".outer"))
	b.layer(outer, b.Base+".outer", false)
	b.between(s, b.Base)
	inner := s.card(b.group("Inner sheet, what it rests on", b.Base+".inner"))
	b.layer(inner, b.Base+".inner", false)
}

// between asks for the layers between of a panel or a support.
func (b *Form) between(s *Group, base string) {
	path := base + ".between"
	list := s.card(b.group("Between them", path))
	for i, item := range b.items(path) {
		g := list.card(b.group(fmt.Sprintf("Layer %d between", i+1), item))
		g.Item = true
		b.layer(g, item, true)
	}
	list.Add = append(list.Add, Add{Do: "add " + b.rest(path), Words: "Add a layer: gasket, packing or gap", path: path, value: "{ material: none }"})
}

func (b *Form) supports() {
	path := b.Base + ".supports"
	s := b.section("Supports: what it rests on", path)
	for i, item := range b.items(path) {
		title := fmt.Sprintf("Support %d", i+1)
		if name := b.value(item + ".name"); name != "" {
			title += ": " + name
		}
		g := s.card(b.group(title, item))
		g.Item = true
		b.support(g, item)
	}
	s.Add = append(s.Add,
		Add{Do: "add " + b.rest(path) + " flange", Words: "Add a flange along edges", path: path, value: "{ flange: " + flowList(b.bareEdges()) + " }"},
		Add{Do: "add " + b.rest(path) + " rib", Words: "Add a rib", path: path, value: "{ rib: [ ] }"})
}

// bareEdges are the edges along which no flange runs yet.
func (b *Form) bareEdges() []string {
	var out []string
	for _, e := range b.edges {
		if b.Panel.Flange(e) == nil {
			out = append(out, e)
		}
	}
	return out
}

func (b *Form) support(g *Group, item string) {
	b.line(g, item+".name", "Name", "as printed")
	switch _, drawn := b.doc.Get(item + ".rib layer"); {
	case has2(b.doc, item+".rib"):
		b.pointList(g, item+".rib", "Middle line of the rib")
	case drawn:
		b.line(g, item+".rib layer", "Layer of the drawing with its middle line", "")
	default:
		b.set(g, item+".flange", "Runs along the edges", "", b.edges)
	}
	b.line(g, item+".width", "Width", b.lengthHint())
	if !has2(b.doc, item+".rib") || has2(b.doc, item+".inset") {
		b.line(g, item+".inset", "Seat line from the outline", "empty: half the width")
	}
	b.choice(g, item+".mount", "Where a receptacle can go", "", Choice{Value: "", Words: "behind the inner sheet (if nothing is said)"},
		Choice{Value: "behind", Words: "behind the inner sheet"}, Choice{Value: "front beside seat", Words: "on its front, the panel rests beside it"},
		Choice{Value: "front under panel", Words: "on its front, the panel rests on it"})
	b.check(g, item+".weld", "Receptacles are welded on", "steel and stainless only")
	b.line(g, item+".room behind", "Room behind the mounting face", "empty: not known")
	b.line(g, item+".upstand", "Nearest upstand from the seat line", "empty: none, or not known")
	b.line(g, item+".seal.push", "Push of a closed seal beside the clamp path", "as 0.35 N/mm; empty: no seal")
	if has2(b.doc, item+".inner") {
		own := g.card(b.group("Inner sheet of this support", item+".inner"))
		own.Item = true
		b.layer(own, item+".inner", false)
	} else {
		g.Add = append(g.Add, Add{Do: "add " + b.rest(item) + ".inner", Words: "Give it an inner sheet of its own", path: item + ".inner", value: "{}", single: true})
	}
	if has2(b.doc, item+".between") {
		b.between(g, item)
	}
}

func has2(d *edit.Doc, path string) bool {
	_, found := d.Kind(path)
	return found
}

// items are the groups of a list, with their paths; what else stands in the list is no part of a form.
func (b *Form) items(list string) iter.Seq2[int, string] {
	return func(yield func(int, string) bool) {
		for i := range b.doc.Len(list) {
			item := itemPath(list, i)
			if kind, _ := b.doc.Kind(item); kind == edit.Map && !yield(i, item) {
				return
			}
		}
	}
}

func (b *Form) loads() {
	path := b.Base + ".loads"
	s := b.section("Loads", path)
	s.Note = "Either a pressure outwards, or the two pressure coefficients at top speed (suction is negative). With neither, −0.6 outside and 0.2 inside are assumed."
	b.line(s, path+".pressure", "Pressure outwards", "as 250 Pa")
	b.line(s, path+".cp outside", "Coefficient outside", "as −0.5")
	b.line(s, path+".cp inside", "Coefficient inside", "as 0.2")
	masses := path + ".masses"
	for i, item := range b.items(masses) {
		g := s.card(b.group(fmt.Sprintf("Mass %d", i+1), item))
		g.Item = true
		b.line(g, item+".name", "Name", "latch, lamp, filler")
		b.line(g, item+".mass", "Mass", "as 350 g, 2.5 lb")
		b.pair(g, item+".at", "Where", b.lengthHint(), "x", "y")
	}
	s.Add = append(s.Add, Add{Do: "add " + b.rest(masses), Words: "Add a mass", path: masses, value: "{}"})
}

func (b *Form) limits() {
	path := b.Base + ".limits"
	s := b.section("Limits and style", path)
	s.Note = "Left empty, the usual value stands and is printed as assumed."
	b.line(s, path+".seam gap", "Gap allowed at the seam", b.lengthHint())
	b.line(s, path+".least pitch", "Least pitch", b.lengthHint())
	b.line(s, path+".greatest pitch", "Greatest pitch", b.lengthHint())
	b.line(s, path+".least preload", "Least preload", "as 40 N")
	b.line(s, path+".least chance", "Least chance that a station closes well", "as 98 %")
	b.line(s, path+".edge distance", "Least distance from the edge", "empty: by the parts")
	b.line(s, path+".factor on ratings", "Factor on ratings", "1 to 10; empty: that of the conditions")
	style := s.card(b.group("Fasteners wanted", b.Base+".style"))
	b.choice(style, b.Base+".style.head", "Head", "", plainChoices("raised", "flush")...)
	b.choice(style, b.Base+".style.drive", "Turned by", "", plainChoices("hand", "tool")...)
	b.choice(style, b.Base+".style.plate", "Mounting plate", "", plainChoices("outside", "behind", "none")...)
}

func (b *Form) stations() {
	path := b.Base + ".stations"
	s := b.section("Stations", path)
	s.Note = "Left empty, the program places them. A count, a pitch, or places of your own: one of the three."
	b.stationLine(s, path, "count", "How many in all", "a whole number from 2")
	b.stationLine(s, path, "pitch", "Greatest pitch", b.lengthHint())
	given := path + ".given"
	for i, item := range b.items(given) {
		title := fmt.Sprintf("Place %d", i+1)
		if id := b.value(item + ".id"); id != "" {
			title = "Station " + id
		}
		g := s.card(b.group(title, item))
		g.Item = true
		b.line(g, item+".id", "Name", "empty: numbered")
		b.pair(g, item+".at", "At", "or by edge and tape", "x", "y")
		choices := []Choice{{Value: "", Words: "none"}}
		for _, e := range b.edges {
			choices = append(choices, Choice{Value: e, Words: e})
		}
		b.choice(g, item+".edge", "Along the edge", "", choices...)
		b.line(g, item+".tape", "Tape from where the edge begins", "anticlockwise as seen from outside")
	}
	add := Add{Do: "add " + b.rest(given), Words: "Add a place", path: given, value: "{}"}
	if kind, found := b.doc.Kind(path); found && kind == edit.Single { // auto
		add.path, add.value, add.single = path, "{ given: [ {} ] }", true
	}
	s.Add = append(s.Add, add)
	b.measured(s)
}

// stationLine asks for a key of stations, which may stand as the word auto.
func (b *Form) stationLine(s *Group, path, key, label, hint string) {
	f := b.line(s, path+"."+key, label, hint)
	plain := f.write
	f.write = func(text []byte, now []string) ([]byte, error) {
		v := edit.Scalar(now[0])
		d, err := edit.Open(text)
		if err != nil {
			return text, err
		}
		if kind, found := d.Kind(path); found && kind == edit.Single {
			return edit.Set(text, path, "{ "+key+": "+v+" }")
		}
		if text, err = plain(text, now); err != nil {
			return text, err
		}
		if v, _ := edit.Get(text, path); v == "{}" {
			return edit.Delete(text, path)
		}
		return text, nil
	}
}

func (b *Form) measured(s *Group) {
	path := b.Base + ".measured stacks"
	list := s.card(b.group("Stacks measured at a station", path))
	for i, item := range b.items(path) {
		g := list.card(b.group(fmt.Sprintf("Measured stack %d", i+1), item))
		g.Item = true
		b.line(g, item+".station", "Station", "its name, or the number that the plan gave")
		b.line(g, item+".stack", "Stack", "with readings or limits: readings [3.7, 3.6, 3.7] mm, or 3.7 ± 0.1 mm")
	}
	list.Add = append(list.Add, Add{Do: "add " + b.rest(path), Words: "Add a measured stack", path: path, value: "{}"})
}

func (b *Form) behind() {
	s := b.section("What lies behind", b.Base+".behind at all")
	b.set(s, b.Base+".behind", "Cautions follow from it", "", job.Hazards)
	path := b.Base + ".notes"
	n := b.section("Notes", b.Base+".notes at all")
	f := &Field{Path: path, Label: "One a line; printed on the work card", Kind: "lines", write: writeLines(path)}
	for _, l := range b.list(path) {
		if f.Values == nil {
			f.Values = []string{l}
		} else {
			f.Values[0] += "\n" + l
		}
	}
	b.field(n, f)
}
