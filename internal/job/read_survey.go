package job

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/source"
	"panelwright/internal/survey"
)

// surveyCorners reads survey: {corners, lengths, tape}, and adjusts the lengths to corners. What it found stays in the panel.
func (rd *reader) surveyCorners(o *source.Fields, pan *Panel) []corner {
	s, ok := o.OptChild("survey")
	if !ok {
		return nil
	}
	before := len(rd.Faults)
	out := &Survey{Pos: s.Node.Pos}
	out.Corners = rd.surveyNames(s)
	out.Tape = rd.tape(s)
	lengths := s.Child("lengths")
	if len(rd.Faults) == before { // without names and tape nothing can be said of lengths
		rd.surveyLengths(lengths, out)
	}
	s.Done()
	if len(rd.Faults) > before {
		return nil
	}
	net := survey.Net{Corners: len(out.Corners)}
	for _, l := range out.Lengths {
		net.Distances = append(net.Distances, survey.Distance{From: l.From, To: l.To, Length: l.Measured, StdUnc: l.StdUnc})
	}
	var err error
	if out.Result, err = survey.Adjust(net); err != nil {
		rd.surveyFault(s, out, err)
		return nil
	}
	pan.Survey = out
	items := s.Get("corners").Items
	var cs []corner
	for i, k := range out.Result.Corners {
		cs = append(cs, corner{at: k.At, side: out.Corners[i] + "-" + out.Corners[(i+1)%len(out.Corners)], place: place{items[i].Pos, items[i].Path}})
	}
	return cs
}

// surveyNames reads corners: the names in order, each another.
func (rd *reader) surveyNames(s *source.Fields) []string {
	names := s.Strs("corners")
	if !s.Good("corners") || !rd.few(s, "corners", len(names), survey.MostCorners) {
		return nil
	}
	if len(names) < 3 {
		s.Fault("corners", RuleOutlineArea, fmt.Sprintf("%d corners; accepted: at least three", len(names)), "name every corner, anticlockwise as seen from outside")
		return nil
	}
	for i, name := range names {
		names[i] = rd.short(s, "corners", name)
		if slices.Contains(names[:i], names[i]) {
			rd.Fault(s.Get("corners").Items[i], RuleDuplicateName, "a second corner "+source.Quote(name), "give each corner a name of its own")
		}
	}
	return names
}

// tape reads what one reading may be off by, either way: 1.5 mm, or ± 1.5 mm.
func (rd *reader) tape(s *source.Fields) Setting {
	d := defaultOf(keyTape)
	set := d.setting()
	n := s.Get("tape")
	if n == nil {
		return set
	}
	bare := *n
	for _, sign := range []string{"±", "+/-", "+-"} {
		if rest, ok := strings.CutPrefix(strings.TrimSpace(bare.Text), sign); ok {
			bare.Text = strings.TrimSpace(rest)
			break
		}
	}
	q, ok := rd.Quantity(&bare, d.Dim, rd.p)
	switch {
	case !ok:
		return set
	case q.Spread != measure.Unstated:
		rd.Fault(n, "no-spread", fmt.Sprintf("%s with a spread; accepted: one value", source.Quote(q.Text)), "give how far one reading may be off, either way")
		return set
	case !(q.Value >= d.Least && q.Value <= d.Most):
		rd.Fault(n, RuleOutOfRange, fmt.Sprintf("%s; accepted: %s to %s", rd.show(q.Value, d.Dim), rd.show(d.Least, d.Dim), rd.show(d.Most, d.Dim)), "check the value and its unit")
		return set
	}
	return Setting{Value: q.Value, Source: sourceJob, Pos: n.Pos}
}

// surveyLengths reads lengths: each key names two corners.
func (rd *reader) surveyLengths(f *source.Fields, s *Survey) {
	if !f.OK() {
		return
	}
	most := len(s.Corners) * (len(s.Corners) - 1) / 2
	if len(f.Node.Entries) > most { // no more pairs than that differ
		rd.Fault(f.Node, RuleTooMany, fmt.Sprintf("%d lengths; %d corners have %d between them", len(f.Node.Entries), len(s.Corners), most), "give each length once")
		return
	}
	seen := map[[2]int]string{}
	before := len(rd.Faults)
	for _, key := range f.Keys() {
		q, ok := f.Quantity(key, measure.Length, rd.p)
		l := SurveyLength{Name: key, Pos: f.Pos(key)}
		named := true
		if l.From, l.To, named = rd.ends(f, key, s.Corners); !named {
			continue
		}
		pair := [2]int{min(l.From, l.To), max(l.From, l.To)}
		if other, twice := seen[pair]; twice {
			f.Fault(key, RuleLengthTwice, fmt.Sprintf("the length %s, again as %s; accepted: each length once", source.Cut(other), source.Cut(key)), "write repeated readings as readings [862, 863] mm")
			continue
		}
		seen[pair] = key
		if ok && rd.surveyLength(f, key, q, s.Tape.Value, &l) {
			s.Lengths = append(s.Lengths, l)
		}
	}
	if len(rd.Faults) > before {
		return
	}
	n := len(s.Corners)
	for i := range n {
		if _, ok := seen[[2]int{min(i, (i+1)%n), max(i, (i+1)%n)}]; !ok {
			rd.Fault(f.Node, RuleEdgeLength, fmt.Sprintf("no length of the edge %s-%s; accepted: every edge, and diagonals", source.Cut(s.Corners[i]), source.Cut(s.Corners[(i+1)%n])), "measure it, or list the corners in order round the panel")
		}
	}
}

// ends finds the two corners that a key names, joined by a hyphen.
func (rd *reader) ends(f *source.Fields, key string, corners []string) (from, to int, ok bool) {
	const accepted = "accepted: two corners joined by a hyphen, as A-B"
	var parts []string
	for i, c := range key {
		if c != '-' {
			continue
		}
		parts = []string{strings.TrimSpace(key[:i]), strings.TrimSpace(key[i+1:])}
		from, to = slices.Index(corners, parts[0]), slices.Index(corners, parts[1])
		if from >= 0 && to >= 0 {
			if from == to {
				f.Fault(key, RuleUnknownCorner, fmt.Sprintf("from corner %s to itself; accepted: two corners", source.Cut(parts[0])), "name its other end")
			}
			return from, to, from != to
		}
	}
	if len(parts) == 0 {
		f.Fault(key, RuleUnknownCorner, fmt.Sprintf("%s names no two corners; %s", source.Quote(key), accepted), "known here: "+cornerNames(corners, seq(len(corners))))
		return 0, 0, false
	}
	for _, p := range parts {
		if !slices.Contains(corners, p) {
			f.Fault(key, RuleUnknownCorner, fmt.Sprintf("no corner %s is listed; %s", source.Quote(p), accepted), source.Meant(p, corners))
			return 0, 0, false
		}
	}
	panic("job: a key whose parts are corners, and no corners")
}

func seq(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// surveyLength judges a length and finds its standard uncertainty.
func (rd *reader) surveyLength(f *source.Fields, key string, q measure.Quantity, tape float64, l *SurveyLength) bool {
	if rule, text, hint := rd.outside(boundOf(boundSurvey), q.Value); rule != "" {
		f.Fault(key, rule, text, hint)
		return false
	}
	l.Measured = q.Value
	switch q.Spread {
	case measure.Limits:
		if d := defaultOf(keyTape); !(q.Half >= d.Least && q.Half <= d.Most) {
			f.Fault(key, RuleSpread, fmt.Sprintf("± %s; accepted: %s to %s", rd.show(q.Half, d.Dim), rd.show(d.Least, d.Dim), rd.show(d.Most, d.Dim)), "give how far this reading may be off, either way")
			return false
		}
		l.StdUnc = q.Half / math.Sqrt(3)
	case measure.Readings:
		l.StdUnc = max(q.StdUnc, tape/math.Sqrt(3)) // readings with one tape, set the same way, share its error
	case measure.Unstated:
		l.StdUnc = tape / math.Sqrt(3)
	}
	return true
}

// surveyFault says why lengths make no shape.
func (rd *reader) surveyFault(s *source.Fields, out *Survey, err error) {
	var loose *survey.LooseError
	var triangle *survey.TriangleError
	name := func(i int) string { return source.Cut(out.Corners[i]) }
	switch {
	case errors.As(err, &loose) && loose.Flat:
		s.Fault("lengths", RuleSurveyLoose, fmt.Sprintf("nothing holds %s square to the line that it stands in; accepted: lengths that fix every corner", cornerNames(out.Corners, loose.Corners)), "measure from there to a corner well off that line")
	case errors.As(err, &loose):
		s.Fault("lengths", RuleSurveyLoose, fmt.Sprintf("%s can move though every length stays; accepted: lengths that fix every corner", cornerNames(out.Corners, loose.Corners)),
			fmt.Sprintf("measure %d more, a diagonal from there to a corner that is fixed", loose.Missing))
	case errors.As(err, &triangle):
		a, b, c := name(triangle.Corners[0]), name(triangle.Corners[1]), name(triangle.Corners[2])
		how := "measured as"
		if triangle.Computed {
			how = "by the other lengths"
		}
		s.Fault("lengths", RuleSurveyMisfit, fmt.Sprintf("the triangle %s, %s, %s does not close: %s-%s, %s %s, is %s longer than the way by %s; accepted: triangles that close", a, b, c, a, b, how, rd.job.size(triangle.Long), rd.show(triangle.By, measure.Length), c),
			fmt.Sprintf("measure %s-%s, %s-%s and %s-%s again", a, b, a, c, c, b))
	default:
		s.Fault("lengths", RuleSurveyMisfit, "no shape fits these lengths: "+err.Error()+"; accepted: lengths of one panel", "look for a length given to the wrong corners, and measure again")
	}
}
