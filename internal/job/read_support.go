package job

import (
	"fmt"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/source"
	"panelwright/internal/stock"
)

// mounts are the words of the file for where a receptacle can go.
var mounts = map[string]stock.Mount{
	"behind": stock.Behind, "front beside seat": stock.FrontBesideSeat, "front under panel": stock.FrontUnderPanel,
}

func (rd *reader) supports(f *source.Fields, pan *Panel) {
	items := f.OptMaps("supports")
	if len(items) == 0 && !(f.Has("supports") && !f.Good("supports")) {
		rd.FaultAt(f.Pos("supports"), f.Path("supports"), RuleNoSupport, "no support; accepted: at least one flange or rib", "say what the panel rests on")
	}
	if !rd.few(f, "supports", len(items), mostSupports) {
		return
	}
	for i, m := range items {
		pan.Supports = append(pan.Supports, rd.support(m, i, pan))
	}
}

func (rd *reader) support(m *source.Fields, i int, pan *Panel) *Support {
	s := &Support{Pos: m.Node.Pos, at: placesOf(m)}
	s.Name = rd.optText(m, "name", fmt.Sprintf("support %d", i+1))
	form := m.Exclusive(true, "flange", "rib", "rib layer")
	edges := m.OptStrs("flange")
	pts, ok := rd.pointList(m, "rib")
	switch form {
	case "flange":
		s.Kind, s.Edges = "flange", edges
		if m.Good("flange") && len(edges) == 0 {
			m.Fault("flange", RuleUnknownEdge, "a list of no edges; accepted: names of edges", "name the edges along which the flange runs")
		}
	case "rib layer":
		s.Kind, form = "rib", "rib"
		rd.ribDrawn(m, s, pan)
	case "rib":
		s.Kind = "rib"
		if ok {
			rd.ribLine(m, s, pts)
		}
	}
	s.Width = rd.sized(m, "width", boundWidth)
	s.Inset = rd.optAbove(m, "inset", measure.Length)
	if s.Width > 0 && s.Inset >= s.Width {
		m.Fault("inset", RuleInset, fmt.Sprintf("a seat line %s from the outline on a support %s wide", rd.job.size(s.Inset), rd.job.size(s.Width)), "the inset is measured from the panel's edge: accepted is less than the width")
	}
	if form == "rib" && m.Has("inset") {
		m.Fault("inset", RuleInset, "an inset of a rib; accepted: of a flange", "a rib's line is its seat line: leave the inset out")
	}
	if l, has := m.OptChild("inner"); has {
		inner := rd.layer(l, "inner")
		s.Inner = &inner
	}
	s.Between = rd.layersBetween(m)
	s.Mount = mounts[m.OptEnum("mount", "behind", "behind", "front beside seat", "front under panel")]
	s.Weld = m.OptBool("weld", false)
	s.Room = rd.optSized(m, "room behind", boundRoom, 0)
	s.Upstand = rd.optSized(m, "upstand", boundUpstand, 0)
	if c, has := m.OptChild("seal"); has {
		s.Seal = &SealStrip{PushPerLength: rd.sized(c, "push", boundSealPush), Pos: c.Node.Pos}
		c.Done()
	}
	m.Done()
	return s
}

func (rd *reader) ribLine(m *source.Fields, s *Support, pts []plane.Point) {
	if len(pts) < 2 {
		m.Fault("rib", RuleRibLine, fmt.Sprintf("points in the line: %d; accepted: at least 2", len(pts)), "give its ends")
		return
	}
	line := plane.Open(pts...)
	for k := range line.EdgeCount() {
		if line.Seg(k).Chord() <= plane.EdgeTol {
			rd.Fault(m.Get("rib").Items[k+1], RulePointRepeated, "the same place as the point before it, "+rd.job.point(pts[k]), "delete one")
			return
		}
	}
	if c := line.SelfCrossings(); len(c) > 0 {
		m.Fault("rib", RuleRibLine, "a line that crosses or touches itself at "+rd.job.point(c[0].At), "make two ribs of it")
		return
	}
	if rd.spend(len(pts), m.Node) {
		s.Line = line
	}
}

func (rd *reader) loads(f *source.Fields, pan *Panel) {
	l := &pan.Loads
	m, _ := f.OptChild("loads")
	l.Pos = m.Node.Pos
	form := m.Exclusive(false, "pressure", "cp outside")
	if form == "pressure" && m.Has("cp inside") {
		m.Fault("cp inside", "one-of", "cp inside beside pressure; accepted: one of pressure, or cp outside with cp inside", "keep one")
	}
	l.Pressure = rd.optSized(m, "pressure", boundPressure, 0)
	l.HasPressure = m.Good("pressure")
	out := rd.optSized(m, "cp outside", boundCp, cpOutsideDefault)
	in := rd.optSized(m, "cp inside", boundCp, cpInsideDefault)
	switch {
	case m.Has("cp outside") != m.Has("cp inside") && !l.HasPressure:
		have, want := "cp outside", "cp inside"
		if !m.Has(have) {
			have, want = want, have
		}
		rd.FaultAt(m.Pos(have), m.Path(want), "missing-key", want+" is missing beside "+have+"; accepted: both, or neither", "")
	case m.Good("cp outside") && m.Good("cp inside"):
		l.CpOutside, l.CpInside, l.HasCp = out, in, true
	case !l.HasPressure && rd.job.Conditions.TopSpeed.Value > 0:
		l.CpOutside, l.CpInside, l.HasCp, l.CpAssumed = out, in, true, true
	}
	items := m.OptMaps("masses")
	if rd.few(m, "masses", len(items), mostMasses) {
		for i, k := range items {
			mass := LumpedMass{Name: rd.optText(k, "name", fmt.Sprintf("mass %d", i+1)), Pos: k.Node.Pos}
			mass.Mass = rd.sized(k, "mass", boundMass)
			at, ok := rd.placeAt(k, "at")
			mass.At = at
			k.Done()
			if ok {
				pan.at[fmt.Sprintf("mass %d", len(l.Masses))] = place{k.Pos("at"), k.Path("at")}
				l.Masses = append(l.Masses, mass)
			}
		}
	}
	m.Done()
}

func (rd *reader) limits(f *source.Fields, pan *Panel) {
	m, _ := f.OptChild("limits")
	l := &pan.Limits
	l.SeamGap = rd.setting(m, "seam gap", keySeamGap)
	l.PitchMin = rd.setting(m, "least pitch", keyPitchMin)
	l.PitchMax = rd.setting(m, "greatest pitch", keyPitchMax)
	l.PreloadMin = rd.setting(m, "least preload", keyPreloadMin)
	l.ChanceMin = rd.setting(m, "least chance", keyChanceMin)
	l.EdgeDistance = rd.setting(m, "edge distance", keyEdgeDistance)
	if d := defaultOf(keyRatings); m.Has("factor on ratings") {
		l.RatingFactor = Setting{Value: rd.between(m, "factor on ratings", d.Dim, 0, d.Least, d.Most), Source: sourceJob, Pos: m.Pos("factor on ratings")}
	}
	if l.PitchMax.Value < l.PitchMin.Value && !(l.PitchMin.Assumed && l.PitchMax.Assumed) {
		key, said := "greatest pitch", [2]string{rd.job.size(l.PitchMin.Value), rd.job.size(l.PitchMax.Value)}
		if l.PitchMin.Assumed {
			said[0] += " (default)"
		}
		if l.PitchMax.Assumed {
			key = "least pitch"
			said[1] += " (default)"
		}
		m.Fault(key, RulePitchOrder, "least pitch "+said[0]+", greatest "+said[1]+"; accepted: least below greatest", "give both")
	}
	m.Done()
}

// stations reads auto, or a group with count, pitch or given.
func (rd *reader) stations(f *source.Fields, pan *Panel) {
	s := &pan.Stations
	s.Mode, s.Pos = "auto", f.Pos("stations")
	n := f.Get("stations")
	if n == nil {
		return
	}
	if n.Kind != source.Map {
		if n.Kind != source.Scalar || n.Text != "auto" {
			said := n.Kind.String()
			if n.Kind == source.Scalar {
				said = source.Quote(n.Text)
			}
			f.Fault("stations", "choice", said+"; accepted: auto, or a group with one of count, pitch, given", "write stations: auto, or stations: { count: 8 }")
		}
		return
	}
	m, _ := f.OptChild("stations")
	if mode := m.Exclusive(true, "count", "pitch", "given"); mode != "" {
		s.Mode = mode
	}
	s.Count = m.OptInt("count", 0, 2, mostStations)
	s.Pitch = rd.optSized(m, "pitch", boundPitch, 0)
	if least := pan.Limits.PitchMin; s.Pitch > 0 && s.Pitch < least.Value {
		said := rd.job.size(least.Value)
		if least.Assumed {
			said += " (default)"
		}
		m.Fault("pitch", RulePitchOrder, "pitch "+rd.job.size(s.Pitch)+", least pitch "+said+"; accepted: the least pitch or more", "give both")
	}
	if most := pan.Limits.PitchMax; s.Pitch > most.Value {
		said := rd.job.size(most.Value)
		if most.Assumed {
			said += " (default)"
		}
		m.Fault("pitch", RulePitchOrder, "pitch "+rd.job.size(s.Pitch)+", greatest pitch "+said+"; accepted: the greatest pitch or less", "give both")
	}
	items := m.OptMaps("given")
	if m.Good("given") && len(items) < 2 {
		m.Fault("given", "list-length", fmt.Sprintf("%d stations; accepted: at least 2", len(items)), "a panel on one station turns about it")
	}
	if rd.few(m, "given", len(items), mostStations) {
		for i, g := range items {
			rd.given(g, i, pan)
		}
	}
	m.Done()
}

func (rd *reader) given(m *source.Fields, i int, pan *Panel) {
	g := GivenStation{Pos: m.Node.Pos}
	g.ID = rd.optText(m, "id", "")
	form := m.Exclusive(true, "at", "edge")
	if m.Has("at") {
		at, ok := rd.placeAt(m, "at")
		if g.At = at; !ok {
			form = ""
		}
	}
	g.Edge = rd.optText(m, "edge", "")
	if form == "edge" {
		g.Tape = rd.between(m, "tape", measure.Length, 0, 0, mostLength)
		if !m.Has("tape") {
			m.Value("tape", measure.Length, rd.p) // reports that it is missing
		}
		if !m.Good("tape") {
			form = ""
		}
	} else if m.Has("tape") {
		m.Fault("tape", "one-of", "tape beside at; accepted: at, or edge with tape", "keep one")
	}
	m.Done()
	if form == "" {
		pan.Stations.Given = append(pan.Stations.Given, GivenStation{ID: g.ID, Pos: g.Pos})
		pan.at[fmt.Sprintf("unread station %d", i)] = place{}
		return
	}
	pan.at[fmt.Sprintf("station %d", i)] = place{m.Pos(form), m.Path(form)}
	pan.Stations.Given = append(pan.Stations.Given, g)
}

// measured reads measured stacks: readings repeated at one station.
func (rd *reader) measured(f *source.Fields, pan *Panel) {
	items := f.OptMaps("measured stacks")
	if !rd.few(f, "measured stacks", len(items), mostStations) {
		return
	}
	for i, m := range items {
		k := MeasuredStack{Station: rd.text(m, "station"), Pos: m.Node.Pos}
		if q, ok := m.Quantity("stack", measure.Length, rd.p); ok {
			if q.Spread == measure.Unstated {
				m.Fault("stack", RuleNoUncertainty, fmt.Sprintf("%s without its uncertainty; accepted: readings or limits", source.Quote(strings.TrimSpace(q.Text))), `write "readings [6.1, 6.3, 6.2] mm", or 6.2 ± 0.1 mm`)
			}
			k.Thickness = rd.thickness(q, m.Pos("stack"), m.Path("stack"), stock.Steel, boundStack)
		}
		m.Done()
		pan.at[fmt.Sprintf("measured %d", i)] = place{m.Pos("station"), m.Path("station")}
		pan.Measured = append(pan.Measured, k)
	}
}
