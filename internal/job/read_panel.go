package job

import (
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/source"
	"panelwright/internal/stock"
)

// Hazards are the words for what lies behind a panel.
var Hazards = []string{"fuel line", "brake line", "harness", "battery", "high voltage", "airbag", "exhaust", "isolator", "extinguisher", "occupant"}

func (rd *reader) panels(f *source.Fields) {
	items := f.Maps("panels")
	if f.Good("panels") && len(items) == 0 {
		f.Fault("panels", "missing-key", "no panel; accepted: at least one", "describe a panel")
	}
	if !rd.few(f, "panels", len(items), mostPanels) {
		items = items[:mostPanels]
	}
	seen := map[string]string{}
	for i, m := range items {
		pan := rd.panel(m, i)
		if other, twice := seen[pan.ID]; twice && pan.Name != "" {
			m.Fault("name", RuleDuplicateName, fmt.Sprintf("a second panel %s (the first is %s); file names are made from letters and figures alone", source.Quote(pan.Name), source.Quote(other)), "give it another name")
		}
		seen[pan.ID] = pan.Name
		rd.job.Panels = append(rd.job.Panels, pan)
	}
}

func (rd *reader) panel(f *source.Fields, i int) *Panel {
	pan := &Panel{Pos: f.Node.Pos, at: placesOf(f)}
	pan.Name = rd.text(f, "name")
	pan.ID = slug(pan.Name)
	if len(pan.ID) > mostID {
		pan.ID = strings.Trim(pan.ID[:mostID], "-")
	}
	if pan.ID == "" {
		pan.ID = fmt.Sprintf("panel-%d", i+1)
	}
	pan.Quantity = f.OptInt("quantity", 1, 1, 1000)
	rd.outline(f, pan)
	pan.Front = rd.optText(f, "front", "")
	pan.OpensForward = f.OptBool("opens forward", false)
	c, _ := f.OptChild("crown")
	pan.Crown = Crown{Along: rd.optSized(c, "along", boundCrown, 0), Across: rd.optSized(c, "across", boundCrown, 0)}
	rd.crown(c, pan)
	c.Done()
	rd.cutOuts(f, pan)
	rd.keepOuts(f, pan)
	pan.Outer = rd.layer(f.Child("outer"), "outer")
	pan.Between = rd.layersBetween(f)
	pan.Inner = rd.layer(f.Child("inner"), "inner")
	rd.supports(f, pan)
	rd.loads(f, pan)
	rd.limits(f, pan)
	s, _ := f.OptChild("style")
	pan.Style.Head = s.OptEnum("head", "", "raised", "flush")
	pan.Style.Drive = s.OptEnum("drive", "", "hand", "tool")
	pan.Style.Plate = stock.Face(s.OptEnum("plate", "", string(stock.PlateOutside), string(stock.PlateBehind), string(stock.PlateNone)))
	s.Done()
	rd.stations(f, pan)
	rd.measured(f, pan)
	rd.behind(f, pan)
	pan.Notes = rd.notes(f, "notes")
	f.Done()
	return pan
}

// mostID is the longest id of a panel: file names hold it, with more before and behind.
const mostID = 60

// slug makes an id from a name: small letters and figures, hyphens between.
func slug(name string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(name) {
		switch {
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9':
			b.WriteRune(c)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	return strings.Trim(b.String(), "-")
}

func (rd *reader) behind(f *source.Fields, pan *Panel) {
	n := f.Get("behind")
	if n == nil {
		return
	}
	items := []*source.Node{n}
	if n.Kind == source.List {
		items = n.Items
	}
	if !rd.few(f, "behind", len(items), mostNotes) {
		return
	}
	for _, i := range items {
		if s, ok := rd.Enum(i, Hazards...); ok {
			pan.Hazards = append(pan.Hazards, s)
		}
	}
}

// shape reads one of circle, rectangle and points; false when there is none that is right.
func (rd *reader) shape(m *source.Fields) (plane.Path, bool) {
	before := len(rd.Faults)
	form := m.Exclusive(true, "circle", "rectangle", "points")
	var circle, box, outline plane.Path
	if c, ok := m.OptChild("circle"); ok {
		at, _ := rd.placeAt(c, "at")
		d := rd.sized(c, "diameter", boundCutOut)
		c.Done()
		circle = plane.CircleAt(at, d/2)
	}
	if b, ok := m.OptChild("rectangle"); ok {
		at, _ := rd.placeAt(b, "at")
		size, good := rd.placeAt(b, "size")
		if good {
			rd.each(b, "size", boundCutOut, size, "give the lower left corner, then the size")
		}
		r := rd.optAbove(b, "corner radius", measure.Length)
		box = plane.Rectangle(size.X, size.Y).Transform(plane.Move(at))
		if r > 0 && len(rd.Faults) == before {
			round, err := plane.RoundCorners(box, []float64{r, r, r, r})
			if err != nil {
				b.Fault("corner radius", RuleCornerRadius, fmt.Sprintf("radius %s on a rectangle of %s by %s", rd.job.size(r), rd.job.size(size.X), rd.job.size(size.Y)), "the largest that fits is "+rd.job.size(min(size.X, size.Y)/2))
			}
			box = round
		}
		b.Done()
	}
	if pts, ok := rd.pointList(m, "points"); ok {
		outline = plane.Polygon(pts...)
		if len(rd.Faults) == before {
			rd.shapeFacts(m, outline)
		}
	}
	path := map[string]plane.Path{"circle": circle, "rectangle": box, "points": outline}[form]
	return path, len(rd.Faults) == before && len(path.V) > 0 && rd.spend(len(path.V), m.Node)
}

// pointList reads a list of [x, y].
func (rd *reader) pointList(m *source.Fields, key string) ([]plane.Point, bool) {
	items := m.OptList(key)
	if !rd.few(m, key, len(items), mostPoints) {
		return nil, false
	}
	var pts []plane.Point
	ok := m.Good(key)
	for _, n := range items {
		p, good := rd.coordinates(n)
		ok = ok && good
		pts = append(pts, p)
	}
	return pts, ok
}

// shapeFacts reports the first thing that keeps a cut-out or keep-out from being one.
func (rd *reader) shapeFacts(m *source.Fields, p plane.Path) {
	facts := p.Facts()
	if len(facts) == 0 {
		return
	}
	k := facts[0]
	for _, other := range facts { // a bow tie's halves cancel: the crossing is what is wrong
		if k.Kind == plane.EnclosesNone && other.Kind == plane.CrossesItself && other.Meeting.Kind == plane.Crosses {
			k = other
		}
	}
	at := m.Get("points")
	switch k.Kind {
	case plane.ZeroEdge:
		if k.Edge == len(at.Items)-1 {
			rd.Fault(at.Items[k.Edge], RulePointRepeated, "the same place as the first point, "+rd.job.point(k.At), "delete it: the shape closes itself")
			return
		}
		rd.Fault(at.Items[k.Edge+1], RulePointRepeated, "the same place as the point before it, "+rd.job.point(k.At), "delete one")
	case plane.CrossesItself:
		rd.Fault(at, RuleShape, "crosses or touches itself at "+rd.job.point(k.At), "check the order of the points")
	default:
		rd.Fault(at, RuleShape, fmt.Sprintf("%d points that enclose no area", len(p.V)), "give at least three corners that do not lie in one line")
	}
}

func (rd *reader) cutOuts(f *source.Fields, pan *Panel) {
	items := f.OptMaps("cut-outs")
	if !rd.few(f, "cut-outs", len(items), mostCutOuts) {
		return
	}
	for _, m := range items {
		name := rd.optText(m, "name", fmt.Sprintf("cut-out %d", len(pan.CutOutNames)+1))
		path, ok := rd.shape(m)
		m.Done()
		if !ok {
			continue
		}
		pan.at[fmt.Sprintf("cut-out %d", len(pan.CutOutNames))] = place{m.Node.Pos, m.Node.Path}
		pan.Outline.CutOuts = append(pan.Outline.CutOuts, path)
		pan.CutOutNames = append(pan.CutOutNames, name)
	}
	if len(pan.Outline.Outer.V) > 0 {
		pan.Outline = pan.Outline.Normalise()
	}
}

func (rd *reader) keepOuts(f *source.Fields, pan *Panel) {
	items := f.OptMaps("keep-outs")
	if !rd.few(f, "keep-outs", len(items), mostCutOuts) {
		return
	}
	for i, m := range items {
		k := KeepOut{Name: rd.optText(m, "name", fmt.Sprintf("keep-out %d", i+1)), Pos: m.Node.Pos}
		var paths []plane.Path
		if m.Has("layer") {
			paths = rd.keepOutsDrawn(m, pan)
		} else if path, ok := rd.shape(m); ok {
			paths = []plane.Path{path}
		}
		m.Done()
		name := k.Name
		for n, path := range paths {
			if k.Region = path; len(paths) > 1 {
				k.Name = fmt.Sprintf("%s %d", name, n+1)
			}
			if slices.ContainsFunc(pan.KeepOuts, func(o KeepOut) bool { return o.Name == k.Name }) {
				m.Fault("name", RuleDuplicateName, "a second keep-out "+source.Quote(k.Name), "give each keep-out a name of its own: checks speak of them by it")
			}
			pan.at[fmt.Sprintf("keep-out %d", len(pan.KeepOuts))] = place{m.Node.Pos, m.Node.Path}
			pan.KeepOuts = append(pan.KeepOuts, k)
		}
	}
}
