package job

import (
	"errors"
	"fmt"
	"path"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/outline"
	"panelwright/internal/plane"
	"panelwright/internal/source"
)

// Imported is how an outline came out of a file.
type Imported struct {
	File  string
	Unit  float64 // mm for one unit of the file
	From  string  // what says so: "the file's header", "stated", …
	Notes []outline.Note
	Pos   fault.Pos

	Developed *outline.Developed // how an edge measured in space came out flat; nil for one drawn flat

	named []outline.Loop // on layers or in colours that keep-outs and ribs ask for
}

// drawingUnits are the words for a file's unit, in mm.
var drawingUnits = map[string]float64{"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "ft": 304.8}

// importedOutline reads file: the outline with its cut-outs out of a drawing or a table of points beside the job. It sets the panel's
// outline and edges itself: sides are parted by the corners that importCorners finds.
func (rd *reader) importedOutline(f, o *source.Fields, pan *Panel) {
	name := rd.optText(o, "file", "")
	unit := o.OptEnum("units", "", "mm", "cm", "m", "in", "ft")
	join := rd.optAbove(o, "join", measure.Length)
	within := rd.optAbove(o, "within", measure.Length)
	mirrored := o.OptBool("mirrored", false)
	edges := o.OptStrs("edges")
	if !o.Has("file") {
		for _, k := range []string{"units", "join", "within", "mirrored"} {
			if o.Has(k) {
				o.Fault(k, "one-of", k+" without file; accepted: with an outline out of a file", "leave it out")
			}
		}
		return
	}
	for _, k := range []string{"file", "units", "join", "within", "edges"} {
		if o.Has(k) && !o.Good(k) {
			return
		}
	}
	d, p := rd.drawnPanel(o, name, outline.Options{Unit: drawingUnits[unit], Join: join, Bare: rd.declaredLength()}, namedLayers(f))
	if p == nil {
		return
	}
	at := place{o.Node.Pos, o.Node.Path}
	region, notes := thinned(p, name, within)
	if mirrored {
		t := plane.Mirror(plane.Point{}, plane.Point{Y: 1})
		region = region.Transform(t).Normalise()
		for i := range p.Named {
			p.Named[i].Path = p.Named[i].Path.Transform(t)
		}
	}
	points := 0
	for _, q := range region.Paths() {
		points += len(q.V)
	}
	var f2 found
	if !rd.spend(points, o.Node) || !rd.extent(region.Outer, at, &f2) {
		rd.Faults = append(rd.Faults, f2.list...)
		return
	}
	pan.Imported = &Imported{File: name, Unit: d.Unit, From: d.From, Notes: append(p.Notes, notes...), Pos: o.Pos("file"), Developed: p.Outer.Developed, named: p.Named}
	outer, sides := importSides(region.Outer)
	names, good := rd.sideNames(o, edges, outer, sides)
	if !good {
		return
	}
	pan.Outline.Outer = outer
	for i, s := range sides {
		if k := len(pan.Edges); k > 0 && pan.Edges[k-1].Name == names[i] {
			pan.Edges[k-1].To = s[1]
			continue
		}
		pan.Edges = append(pan.Edges, Edge{Name: names[i], From: s[0], To: s[1], Pos: o.Pos("file")})
	}
	repeatedEdges(pan.Edges, at, &f2)
	rd.Faults = append(rd.Faults, f2.list...)
	for i, c := range region.CutOuts {
		pan.at[fmt.Sprintf("cut-out %d", i)] = place{o.Pos("file"), o.Path("file")}
		pan.Outline.CutOuts = append(pan.Outline.CutOuts, c)
		pan.CutOutNames = append(pan.CutOutNames, fmt.Sprintf("cut-out %d", i+1))
	}
}

// How far an outline may lie off what was drawn, or off points that were digitised, where the job does not say, mm. Common practice, no
// source: what a cutter keeps, and what a hand keeps that follows an edge.
const (
	withinDrawn  = 0.05
	withinPoints = 0.3
)

// thinned is the region with fewer lines and arcs, as a fitter would describe it, and what was made of what.
func thinned(p *outline.Panel, file string, within float64) (plane.Region, []outline.Note) {
	if within == 0 {
		within = withinDrawn
		if p.Outer.Source == "points" {
			within = withinPoints
		}
	}
	out := p.Region
	var notes []outline.Note
	thin := func(path plane.Path, l outline.Loop) plane.Path {
		q, off := outline.Thin(path, within)
		if len(q.V) < len(path.V) {
			notes = append(notes, outline.Note{Line: l.Line, What: l.Source, Text: fmt.Sprintf("%d pieces taken as %d lines and arcs, which lie within %s of them", len(path.V), len(q.V), measure.MM(off))})
		}
		return q
	}
	out.Outer = thin(p.Region.Outer, p.Outer)
	out.CutOuts = nil
	for i, c := range p.Region.CutOuts {
		out.CutOuts = append(out.CutOuts, thin(c, p.Holes[i]))
	}
	if len(out.CutOutFaults()) > 0 { // cut-outs so near to each other that what was put straight would meet
		return p.Region, nil
	}
	return out, notes
}

// declaredLength is what a bare length of the job is, mm; 0 when the job does not say.
func (rd *reader) declaredLength() float64 {
	name := rd.p.Units[measure.Length]
	if name == "" {
		return 0
	}
	v, ok := measure.InUnit(1, measure.Length, name)
	if !ok || !(v > 0) {
		return 0
	}
	return 1 / v
}

// drawnPanel reads a drawing by the kind that its name says; nil where a fault was found.
func (rd *reader) drawnPanel(o *source.Fields, name string, opt outline.Options, named []string) (*outline.Drawing, *outline.Panel) {
	read := map[string]func([]byte, outline.Options) (*outline.Drawing, error){
		".dxf": outline.ReadDXF, ".svg": outline.ReadSVG, ".csv": outline.ReadCSV, ".txt": outline.ReadCSV,
	}[strings.ToLower(path.Ext(name))]
	if read == nil {
		o.Fault("file", RuleOutlineFile, source.Quote(name)+"; accepted: a file that ends in .dxf, .svg, .csv or .txt", "save the outline as one of them")
		return nil, nil
	}
	text, ok := rd.drawingFile(o, name)
	if !ok {
		return nil, nil
	}
	d, err := read(text, opt)
	var p *outline.Panel
	if err == nil {
		p, err = d.Panel(opt.Join, named...)
	}
	if err != nil {
		rd.drawingFault(o, name, err)
		return nil, nil
	}
	return d, p
}

// drawingFile opens a file beside the job.
func (rd *reader) drawingFile(o *source.Fields, name string) ([]byte, bool) {
	switch {
	case !beside(name):
		o.Fault("file", RuleOutlineFile, source.Quote(name)+"; accepted: a file beside the job or in a folder below it, folders divided by /", "copy the file beside the job")
		return nil, false
	case rd.open == nil:
		o.Fault("file", RuleOutlineFile, source.Quote(name)+", and no files can be opened here; accepted: an outline in the job", "describe the outline by points, rectangle, trapezium, offsets or survey")
		return nil, false
	}
	text, err := rd.open(path.Clean(name))
	if err != nil {
		o.Fault("file", RuleOutlineFile, fmt.Sprintf("%s cannot be opened: %s", source.Quote(name), source.Cut(innermost(err).Error())), "give the name of a drawing beside the job")
		return nil, false
	}
	return text, true
}

// drawingFault reports what is wrong in a drawing at its own place.
func (rd *reader) drawingFault(o *source.Fields, name string, err error) {
	var f *outline.Fault
	if !errors.As(err, &f) {
		panic("job: outline: " + err.Error())
	}
	rd.FaultAt(fault.Pos{File: name, Line: f.Line, Col: f.Col}, o.Path("file"), RuleOutlineFile, f.What+": "+f.Text, f.Hint)
}

// namedLayers are the layers or colours that keep-outs and ribs of the panel ask for: what is drawn there is no outline.
func namedLayers(f *source.Fields) []string {
	var out []string
	look := func(list, key string) {
		n := f.Get(list)
		if n == nil || n.Kind != source.List {
			return
		}
		for _, item := range n.Items {
			if item.Kind != source.Map {
				continue
			}
			for _, e := range item.Entries {
				if e.Key == key && e.Value.Kind == source.Scalar {
					out = append(out, e.Value.Text)
				}
			}
		}
	}
	look("keep-outs", "layer")
	look("supports", "rib layer")
	return out
}

// fromLayer finds the loops of a layer or colour in the panel's outline file.
func (rd *reader) fromLayer(m *source.Fields, key string, pan *Panel) []outline.Loop {
	name := rd.optText(m, key, "")
	if !m.Good(key) {
		return nil
	}
	if pan.Imported == nil {
		if len(pan.Outline.Outer.V) > 0 { // a file that could not be read has its own fault
			m.Fault(key, RuleOutlineFile, "the layer "+source.Quote(name)+" of a panel whose outline is not out of a file", "describe the shape here")
		}
		return nil
	}
	var out []outline.Loop
	for _, l := range pan.Imported.named {
		if strings.EqualFold(l.Layer, name) || strings.EqualFold(l.Colour, name) {
			out = append(out, l)
		}
	}
	if len(out) == 0 {
		m.Fault(key, RuleOutlineFile, fmt.Sprintf("nothing on the layer or in the colour %s of %s", source.Quote(name), source.Quote(pan.Imported.File)), "check the layer's name")
	}
	return out
}

// keepOutsDrawn are the closed loops of a layer, each a keep-out.
func (rd *reader) keepOutsDrawn(m *source.Fields, pan *Panel) []plane.Path {
	for _, k := range []string{"circle", "rectangle", "points"} {
		if m.Has(k) {
			m.Fault(k, "one-of", k+" beside layer; accepted: one of the two", "keep one")
			return nil
		}
	}
	var out []plane.Path
	for _, l := range rd.fromLayer(m, "layer", pan) {
		if !l.Path.Closed || len(l.Path.Facts()) > 0 {
			rd.FaultAt(fault.Pos{File: pan.Imported.File, Line: l.Line}, m.Path("layer"), RuleOutlineFile, fmt.Sprintf("an open run of lines, or one that crosses itself, as a keep-out, from %s", rd.job.point(l.Path.V[0].Point)), "close it in the drawing")
			continue
		}
		if rd.spend(len(l.Path.V), m.Node) {
			out = append(out, l.Path)
		}
	}
	return out
}

// ribDrawn takes the one run of lines of a layer as a rib.
func (rd *reader) ribDrawn(m *source.Fields, s *Support, pan *Panel) {
	loops := rd.fromLayer(m, "rib layer", pan)
	if len(loops) == 0 {
		return
	}
	l := loops[0]
	switch {
	case len(loops) > 1:
		m.Fault("rib layer", RuleOutlineFile, fmt.Sprintf("%d runs of lines on one layer; accepted: one for each rib", len(loops)), "draw each rib on a layer of its own")
	case l.Path.Closed || len(l.Path.SelfCrossings()) > 0:
		rd.FaultAt(fault.Pos{File: pan.Imported.File, Line: l.Line}, m.Path("rib layer"), RuleRibLine, "a line that closes or crosses itself, as a rib", "draw its middle line, from end to end")
	case rd.spend(len(l.Path.V), m.Node):
		s.Line = l.Path
	}
}

// sideNames gives every side its name: those of the list in order, or side 1, side 2, …
func (rd *reader) sideNames(o *source.Fields, names []string, outer plane.Path, sides [][2]float64) ([]string, bool) {
	if len(names) == 0 {
		for i := range sides {
			names = append(names, fmt.Sprintf("side %d", i+1))
		}
		return names, true
	}
	if len(names) == len(sides) {
		return names, true
	}
	var list []string
	for i, s := range sides {
		if i == 6 {
			list = append(list, "…")
			break
		}
		list = append(list, fmt.Sprintf("%d from %s to %s", i+1, rd.job.point(outer.At(s[0])), rd.job.point(outer.At(s[1]))))
	}
	o.Fault("edges", RuleEdgeCount, fmt.Sprintf("%s for %s; accepted: one for each side, anticlockwise from the lowest: %s", things(len(names), "name"), things(len(sides), "side"), strings.Join(list, "; ")), "neighbouring sides may have the same name: they are then one edge")
	return nil, false
}

// ImportNotes says where an outline came from and what was guessed or left out, one sentence each.
func (j *Job) ImportNotes(pan *Panel) []string {
	m := pan.Imported
	if m == nil {
		return nil
	}
	out := []string{fmt.Sprintf("%s: outline of %s: 1 unit is %s (%s).", pan.Name, m.File, j.unitWords(m.Unit), m.From)}
	for _, n := range m.Notes {
		out = append(out, fmt.Sprintf("%s: %s, %s.", pan.Name, m.File, n))
	}
	return out
}

// unitWords shows what one unit of a drawing is.
func (j *Job) unitWords(mm float64) string {
	return strings.TrimRight(strings.TrimRight(measure.Fixed(mm, 6), "0"), ".") + " mm"
}
