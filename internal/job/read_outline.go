package job

import (
	"fmt"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/source"
)

// outline reads the panel's outline and its edges. Whatever is wrong leaves the outline empty, and the rules that need one
// stay silent.
func (rd *reader) outline(f *source.Fields, pan *Panel) {
	o := f.Child("outline")
	before := len(rd.Faults)
	var cs []corner
	form := o.Exclusive(true, "points", "rectangle", "trapezium", "offsets", "survey", "file")
	if got := rd.pointCorners(o); form == "points" {
		cs = got
	}
	if got := rd.rectangleCorners(o); form == "rectangle" {
		cs = got
	}
	if got := rd.trapeziumCorners(o); form == "trapezium" {
		cs = got
	}
	if got := rd.offsetCorners(o); form == "offsets" {
		cs = got
	}
	if got := rd.surveyCorners(o, pan); form == "survey" {
		cs = got
	}
	rd.importedOutline(f, o, pan)
	if form == "file" && (o.Has("corner radius") || o.Has("corner radii")) {
		for _, k := range []string{"corner radius", "corner radii"} {
			if o.Has(k) {
				o.Fault(k, "one-of", k+" beside file; accepted: one of the two", "round the corners in the drawing")
			}
		}
	}
	rd.radii(o, cs)
	rd.edgeNames(o, cs)
	o.Done()
	if len(rd.Faults) > before || len(cs) == 0 || !rd.spend(2*len(cs), o.Node) {
		return
	}
	var f2 found
	path := sharp(rd.job, cs, &f2)
	if ok := len(f2.list) == 0 && judge(rd.job, path, cs, place{o.Node.Pos, o.Node.Path}, &f2); ok {
		path, cs = anticlockwise(path, cs)
		if out, edges, good := rounded(rd.job, path, cs, place{o.Pos("corner radius"), o.Path("corner radius")}, &f2); good && rd.extent(out, place{o.Node.Pos, o.Node.Path}, &f2) {
			pan.Outline.Outer, pan.Edges = out, edges
			repeatedEdges(pan.Edges, place{o.Node.Pos, o.Node.Path}, &f2)
		}
	}
	rd.Faults = append(rd.Faults, f2.list...)
}

// extent judges how far the panel reaches along x and along y.
func (rd *reader) extent(p plane.Path, at place, f *found) bool {
	b := p.Bounds()
	for _, v := range []float64{b.Max.X - b.Min.X, b.Max.Y - b.Min.Y} {
		if rule, text, hint := rd.outside(boundOf(boundExtent), v); rule != "" {
			f.add(at, rule, "a panel that reaches "+text, hint)
			return false
		}
	}
	return true
}

func repeatedEdges(edges []Edge, at place, f *found) {
	seen := map[string]bool{}
	for _, e := range edges {
		if seen[e.Name] {
			f.add(place{e.Pos, at.path}, RuleDuplicateName, fmt.Sprintf("a second edge %s, not next to the first", source.Quote(e.Name)), "give each edge a name of its own; neighbouring sides of one name are one edge")
		}
		seen[e.Name] = true
	}
}

// pointCorners reads points: each [x, y], or a group with at and what the corner and the side that leaves it are like.
func (rd *reader) pointCorners(o *source.Fields) []corner {
	items := o.OptList("points")
	if !rd.few(o, "points", len(items), mostPoints) {
		return nil
	}
	var cs []corner
	named := ""
	for i, n := range items {
		c := corner{place: place{n.Pos, n.Path}}
		ok := true
		if n.Kind == source.Map {
			c, ok = rd.cornerOf(n)
		} else {
			c.at, ok = rd.coordinates(n)
		}
		if c.side != "" {
			named = c.side
		} else {
			c.side = fmt.Sprintf("side %d", i+1)
		}
		if ok {
			cs = append(cs, c)
		}
	}
	if named != "" && o.Has("edges") {
		o.Fault("edges", "one-of", "edges beside the name of an edge ("+source.Cut(named)+") at a point; accepted: one of the two", "keep one")
	}
	return cs
}

func (rd *reader) cornerOf(n *source.Node) (corner, bool) {
	m := rd.Map(n)
	c := corner{place: place{n.Pos, n.Path}}
	var ok bool
	c.at, ok = rd.placeAt(m, "at")
	c.radius = rd.optAbove(m, "corner radius", measure.Length)
	c.side = rd.optText(m, "edge", "")
	kind := m.Exclusive(false, "through", "bow", "arc radius")
	if m.Has("through") {
		var good bool
		c.through, good = rd.placeAt(m, "through")
		ok = ok && good
	}
	bowed := rd.between(m, "bow", measure.Length, 0, -mostLength, mostLength)
	round := rd.between(m, "arc radius", measure.Length, 0, -mostLength, mostLength)
	switch kind {
	case "through":
		c.curve = through
	case "bow":
		c.curve, c.size = bow, bowed
	case "arc radius":
		c.curve, c.size = arc, round
		if m.Good("arc radius") && round == 0 {
			m.Fault("arc radius", RuleCurve, "a radius of 0; accepted: a radius, negative to curve inwards", "leave it out for a straight side")
		}
	}
	m.Done()
	return c, ok
}

// rectangleCorners reads rectangle: [width, height].
func (rd *reader) rectangleCorners(o *source.Fields) []corner {
	q := o.OptQuantities("rectangle", measure.Length, rd.p, 2)
	ok := q != nil && o.Good("rectangle")
	if !ok {
		return nil
	}
	for i, v := range q {
		n := o.Get("rectangle").Items[i]
		switch {
		case v.Spread != measure.Unstated:
			rd.Fault(n, "no-spread", fmt.Sprintf("%s with a spread; accepted: one value", source.Quote(v.Text)), "leave the spread out")
			ok = false
		case v.Value <= 0:
			rd.Fault(n, RulePositive, rd.job.size(v.Value)+"; accepted: more than 0", "check the sign")
			ok = false
		case v.Value > mostLength:
			rd.Fault(n, RuleOutOfRange, rd.job.size(v.Value)+"; accepted: at most "+rd.job.size(mostLength), "check the unit")
			ok = false
		}
	}
	if !ok {
		return nil
	}
	return rd.boxCorners(o, "rectangle", plane.Rectangle(q[0].Value, q[1].Value))
}

// trapeziumCorners reads trapezium: {bottom, top, height, shift}.
func (rd *reader) trapeziumCorners(o *source.Fields) []corner {
	t, ok := o.OptChild("trapezium")
	before := len(rd.Faults)
	var bottom, top, height, shift float64
	if ok {
		bottom, top = rd.above(t, "bottom", measure.Length), rd.above(t, "top", measure.Length)
		height = rd.above(t, "height", measure.Length)
		shift = rd.between(t, "shift", measure.Length, 0, -mostLength, mostLength)
	}
	t.Done()
	if !ok || len(rd.Faults) > before {
		return nil
	}
	return rd.boxCorners(o, "trapezium", plane.Trapezium(bottom, top, height, shift))
}

func (rd *reader) boxCorners(o *source.Fields, key string, path plane.Path) []corner {
	var cs []corner
	for i, side := range []string{"bottom", "right", "top", "left"} {
		cs = append(cs, corner{at: path.V[i].Point, side: side, place: place{o.Pos(key), o.Path(key)}})
	}
	return cs
}

// offsetCorners reads an offset table: ordinates square to a straight baseline at stations along it, joined by straight
// lines. On both sides, the baseline is a centre line and the panel is its mirror image about it.
func (rd *reader) offsetCorners(o *source.Fields) []corner {
	t, ok := o.OptChild("offsets")
	before := len(rd.Faults)
	var x, y []float64
	var both bool
	if ok {
		form := t.Exclusive(true, "stations", "spacing")
		y = rd.lengths(t, "ordinates", true)
		x = rd.lengths(t, "stations", false)
		step := rd.optAbove(t, "spacing", measure.Length)
		if form == "spacing" {
			x = nil
			for i := range y {
				x = append(x, float64(i)*step)
			}
		}
		both = t.OptBool("both sides", false)
		if len(rd.Faults) == before {
			rd.checkOffsets(t, form, x, y)
		}
	}
	t.Done()
	if !ok || len(rd.Faults) > before {
		return nil
	}
	at := place{o.Pos("offsets"), o.Path("offsets")}
	last := len(x) - 1
	var cs []corner
	put := func(px, py float64, side string, bend bool) {
		p := plane.Point{X: px, Y: py}
		if k := len(cs); k > 0 && cs[k-1].at == p { // an end ordinate of nought: the side at this end has no length
			cs[k-1].side, cs[k-1].bend = side, false
			return
		}
		cs = append(cs, corner{at: p, side: side, bend: bend, place: at})
	}
	lower := "baseline"
	if both {
		lower = "lower curve"
		for i := range last {
			put(x[i], -y[i], lower, i > 0)
		}
	} else {
		put(x[0], 0, lower, false)
	}
	if both {
		put(x[last], -y[last], "end", false)
	} else {
		put(x[last], 0, "end", false)
	}
	upper := "curve"
	if both {
		upper = "upper curve"
	}
	for i := last; i > 0; i-- {
		put(x[i], y[i], upper, i < last)
	}
	put(x[0], y[0], "start", false)
	if k := len(cs) - 1; cs[k].at == cs[0].at {
		cs = cs[:k]
	}
	return cs
}

// lengths reads a list of lengths without spreads.
func (rd *reader) lengths(t *source.Fields, key string, need bool) []float64 {
	read := t.OptQuantities
	if need {
		read = t.Quantities
	}
	q := read(key, measure.Length, rd.p, -1)
	if !rd.few(t, key, len(q), mostPoints/2) {
		return nil
	}
	var out []float64
	for i, v := range q {
		n := t.Get(key).Items[i]
		switch {
		case v.Spread != measure.Unstated:
			rd.Fault(n, "no-spread", fmt.Sprintf("%s with a spread; accepted: one value", source.Quote(v.Text)), "leave the spread out")
		case v.Value > mostLength || v.Value < -mostLength:
			rd.Fault(n, RuleOutOfRange, rd.job.size(v.Value)+"; accepted: at most "+rd.job.size(mostLength), "check the unit")
		}
		out = append(out, v.Value)
	}
	return out
}

func (rd *reader) checkOffsets(t *source.Fields, form string, x, y []float64) {
	if len(y) < 2 {
		t.Fault("ordinates", RuleOffsets, fmt.Sprintf("%d ordinates; accepted: at least 2", len(y)), "measure at more stations")
		return
	}
	if len(x) != len(y) {
		t.Fault("stations", RuleOffsets, fmt.Sprintf("%d stations for %d ordinates; accepted: one station for each ordinate", len(x), len(y)), "add what is missing")
		return
	}
	for i := range y {
		if y[i] < 0 || y[i] == 0 && i > 0 && i < len(y)-1 {
			rd.Fault(t.Get("ordinates").Items[i], RuleOffsets, fmt.Sprintf("ordinate %s at station %s; accepted: more than 0, or 0 at the ends", rd.job.size(y[i]), rd.job.size(x[i])), "move the baseline clear of the panel, or use points")
		}
		if i > 0 && x[i] <= x[i-1] && form == "stations" {
			rd.Fault(t.Get("stations").Items[i], RuleOffsets, fmt.Sprintf("station %s after %s; accepted: stations in rising order", rd.job.size(x[i]), rd.job.size(x[i-1])), "sort the table")
		}
	}
}

// radii reads corner radius, one for all corners, or corner radii, one for each of them in order.
func (rd *reader) radii(o *source.Fields, cs []corner) {
	form := o.Exclusive(false, "corner radius", "corner radii")
	one := rd.optAbove(o, "corner radius", measure.Length)
	many := rd.lengths(o, "corner radii", false)
	var real []int
	for i, c := range cs {
		if !c.bend {
			real = append(real, i)
		}
	}
	switch {
	case form == "corner radius":
		for i := range cs {
			if cs[i].radius == 0 {
				cs[i].radius, cs[i].shared = one, true
			}
		}
	case form == "corner radii" && o.Good("corner radii") && len(cs) > 0:
		if len(many) != len(real) {
			o.Fault("corner radii", RuleEdgeCount, fmt.Sprintf("%d radii for %d corners; accepted: one for each corner, 0 for a sharp one", len(many), len(real)), "write them in the order of the corners")
			return
		}
		for k, i := range real {
			if many[k] < 0 {
				rd.Fault(o.Get("corner radii").Items[k], RulePositive, rd.job.size(many[k])+"; accepted: 0 or more", "check the sign")
			}
			cs[i].radius = many[k]
		}
	}
}

// edgeNames reads edges: a name for each side, in order from the first corner. The points of a curve are one side.
func (rd *reader) edgeNames(o *source.Fields, cs []corner) {
	names := o.OptStrs("edges")
	if !o.Good("edges") || len(cs) == 0 {
		return
	}
	var starts []int // corners where a side begins
	for i := range cs {
		if i == 0 || cs[i].side != cs[i-1].side {
			starts = append(starts, i)
		}
	}
	if len(names) != len(starts) {
		o.Fault("edges", RuleEdgeCount, fmt.Sprintf("%s for %s; accepted: one for each side, from the first corner on", things(len(names), "name"), things(len(starts), "side")), "neighbouring sides may have the same name: they are then one edge")
		return
	}
	name := ""
	for i, k := 0, 0; i < len(cs); i++ {
		if k < len(starts) && starts[k] == i {
			name = names[k]
			k++
		}
		cs[i].side = name
	}
}
