// Package report is the plan to be read: as a page, as tables for a spreadsheet, as JSON for other programs.
package report

import (
	"bytes"
	_ "embed" // the page's template and style
	"fmt"
	"html/template"
	"io"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

//go:embed page/plan.html.tmpl
var htmlTemplate string

//go:embed page/bearing.html.tmpl
var htmlBearingTemplate string

//go:embed page/plan.css
var htmlStyle string

var htmlPage = template.Must(template.Must(template.Must(template.New("plan").Parse(htmlTemplate)).Parse(htmlBearingTemplate)).Parse(htmlSurveyTemplate))

// Style is the style sheet that the pages of a pack share.
func Style() string { return htmlStyle }

// HTML writes the plan as one self-contained page to read, on a screen or printed: no script, no other file.
func HTML(w io.Writer, p *setout.Plan) error {
	doc, err := htmlDocOf(p)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := htmlPage.Execute(&b, doc); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

type htmlDoc struct {
	Title, Scope, Currency string
	Sample                 bool
	Head                   []string
	CSS                    template.CSS
	Facts                  []htmlFact
	Wrong                  []string
	Doubtful               []string
	Unknown                []htmlUnknown
	Surveys                []string
	Panels                 []htmlPanel
	Order                  []htmlOrder
	TotalCost, TotalMass   string
	Assumptions            []setout.Assumption
	Cautions               []htmlCaution
	History, Notes         []string
}

type htmlFact struct{ Big, Small string }

type htmlUnknown struct{ Name, Where, Why string }

type htmlOrder struct{ Name, Kind, Need, Spare, Packs, Cost, Mass, For string }

type htmlCaution struct{ Text, Panels string }

func htmlDocOf(p *setout.Plan) (htmlDoc, error) {
	doc := htmlDoc{
		Title: p.Job.Name, Scope: Scope, Sample: p.Job.Sample, CSS: template.CSS(htmlStyle),
		Head: htmlHead(p), Assumptions: p.Assumptions, History: p.History, Notes: p.Job.Notes,
	}
	if p.Job.Range != nil {
		doc.Currency = p.Job.Range.Currency
	}
	doc.Wrong, doc.Unknown = htmlWrong(p), htmlUnknowns(p)
	doc.Doubtful = htmlDoubtful(p)
	doc.Surveys = htmlSurveys(p)
	doc.Facts = htmlFacts(p)
	for _, pan := range p.Panels {
		hp, err := htmlPanelOf(p, pan)
		if err != nil {
			return doc, fmt.Errorf("panel %s: %w", pan.Job.Name, err)
		}
		doc.Panels = append(doc.Panels, hp)
	}
	cost, mass := 0.0, 0.0
	for _, l := range p.Order {
		cost, mass = cost+l.Cost, mass+l.Mass
		doc.Order = append(doc.Order, htmlOrder{
			Name: l.Name, Kind: l.Kind, Need: fmt.Sprint(l.Need), Spare: fmt.Sprint(l.Spare),
			Packs: fmt.Sprintf("%d × %d", l.Packs, l.PackSize), Cost: measure.Fixed(l.Cost, 2),
			Mass: measure.Kilogram(l.Mass), For: JoinSentences(strings.Join(l.ForPanels, ", "), l.Note),
		})
	}
	doc.TotalCost, doc.TotalMass = measure.Fixed(cost, 2), measure.Kilogram(mass)
	for _, c := range p.Cautions {
		doc.Cautions = append(doc.Cautions, htmlCaution{c.Text, strings.Join(c.Panels, ", ")})
	}
	return doc, nil
}

func htmlHead(p *setout.Plan) []string {
	head := []string{"range: " + p.Job.RangeName}
	if p.Job.Range != nil {
		head[0] = "range: " + p.Job.Range.Name
	}
	if p.Job.Date != "" {
		head = append([]string{p.Job.Date}, head...)
	}
	if v := p.Job.Conditions.TopSpeed.Value; v > 0 {
		head = append(head, "top speed "+measure.MetrePerSecond(v))
	}
	return append(head, "templates on "+p.Job.Paper)
}

func htmlFacts(p *setout.Plan) []htmlFact {
	panels, stations, holds, fails, unknown := 0, 0, 0, 0, 0
	count := func(cs []setout.Check) {
		for _, c := range cs {
			switch c.Verdict {
			case setout.Holds:
				holds++
			case setout.DoesNotHold:
				fails++
			default:
				unknown++
			}
		}
	}
	for _, pan := range p.Panels {
		panels += pan.Job.Quantity
		stations += pan.Job.Quantity * len(pan.Stations)
		count(pan.Checks)
		for _, st := range pan.Stations {
			count(st.Checks)
		}
	}
	lines := 0
	for _, l := range p.Order {
		if l.Kind != "rivet" {
			lines++
		}
	}
	return []htmlFact{
		{fmt.Sprint(panels), "panels"}, {fmt.Sprint(stations), "stations"}, {fmt.Sprint(lines), "part numbers, rivets aside"},
		{fmt.Sprint(holds), "checks hold"}, {fmt.Sprint(fails), "do not hold"}, {fmt.Sprint(unknown), "not known"},
	}
}

// htmlWrong is everything that fails, as sentences.
func htmlWrong(p *setout.Plan) []string {
	var out []string
	for _, pan := range p.Panels {
		for _, f := range pan.Faults {
			out = append(out, pan.Job.Name+": "+f)
		}
		out = append(out, htmlFailing(pan.Job.Name, pan.Checks)...)
		for _, st := range pan.Stations {
			out = append(out, htmlFailing(pan.Job.Name+" station "+st.ID, st.Checks)...)
		}
	}
	for _, f := range p.Judge {
		out = append(out, fmt.Sprintf("%s %s: the judge disagrees on %s: %s", f.Panel, f.Station, f.Check, f.Text))
	}
	return out
}

func htmlFailing(where string, checks []setout.Check) []string {
	var out []string
	for _, k := range checks {
		if k.Verdict != setout.DoesNotHold {
			continue
		}
		s := where + ": " + k.Name
		if !k.NoNumber {
			value, limit := checkNumbers(k)
			s += fmt.Sprintf(" %s, limit %s %s", value, limit, k.Unit)
		}
		out = append(out, JoinSentences(s, k.Cure))
	}
	return out
}

// htmlDoubtful is what is not known and misses its limit by an estimate: each kind once, at its worst place.
func htmlDoubtful(p *setout.Plan) []string {
	var out []string
	for _, d := range setout.Doubts(p.Panels...) {
		out = append(out, DoubtWords(d, d.Where()))
	}
	return out
}

// DoubtWords says a doubt in one line, with its worst place as the caller names it.
func DoubtWords(d setout.Doubt, where string) string {
	s := fmt.Sprintf("%s: worst at %s, %s %s against a limit of %s %s", d.Check.Name, where,
		CheckNumber(d.Check.Value, d.Check.Unit), d.Check.Unit, CheckNumber(d.Check.Limit, d.Check.Unit), d.Check.Unit)
	if d.Places > 1 {
		s += fmt.Sprintf(" (%d places)", d.Places)
	}
	return s
}

// htmlUnknowns groups what is not known by check, in order of first appearance, with the reason said once.
func htmlUnknowns(p *setout.Plan) []htmlUnknown {
	type group struct {
		name, why string
		panels    []string
		n         int
	}
	var order []string
	groups := map[string]*group{}
	add := func(panel string, station bool, k setout.Check) {
		if k.Verdict != setout.NotKnown {
			return
		}
		key := k.ID + "\x00" + k.Cure
		g := groups[key]
		if g == nil {
			why := k.Cure
			if why == "" {
				why = k.Basis
			}
			g = &group{name: k.Name, why: why}
			groups[key] = g
			order = append(order, key)
		}
		if station {
			g.n++
		}
		if len(g.panels) == 0 || g.panels[len(g.panels)-1] != panel {
			g.panels = append(g.panels, panel)
		}
	}
	for _, pan := range p.Panels {
		for _, k := range pan.Checks {
			add(pan.Job.Name, false, k)
		}
		for _, st := range pan.Stations {
			for _, k := range st.Checks {
				add(pan.Job.Name, true, k)
			}
		}
	}
	var out []htmlUnknown
	for _, key := range order {
		g := groups[key]
		where := strings.Join(g.panels, ", ")
		if len(g.panels) == len(p.Panels) && len(p.Panels) > 1 {
			where = "all panels"
		}
		switch {
		case g.n == 1:
			where += ", 1 station"
		case g.n > 1:
			where += fmt.Sprintf(", %d stations", g.n)
		}
		out = append(out, htmlUnknown{g.name, where, g.why})
	}
	return out
}

// CheckNumber shows a check's figure with as many decimals as its unit bears.
func CheckNumber(v float64, unit string) string {
	switch unit {
	case "%": // a chance below one is never shown as certain
		return strings.TrimSuffix(measure.Percent(v/100), " %")
	case "N", "V·1000", "rpm":
		return measure.Fixed(v, 0)
	case "MPa", "°C":
		return measure.Fixed(v, 1)
	}
	return measure.Fixed(v, 2)
}

// checkNumbers shows a check's value and limit; of one that fails so that they read differently.
func checkNumbers(k setout.Check) (value, limit string) {
	value, limit = CheckNumber(k.Value, k.Unit), CheckNumber(k.Limit, k.Unit)
	if k.Verdict == setout.DoesNotHold && value == limit {
		return measure.Apart(k.Value, k.Limit, 2)
	}
	return value, limit
}

// htmlFigure is the panel to scale, inline.
func htmlFigure(p *setout.Plan, pan *setout.Panel) (template.HTML, error) {
	var b bytes.Buffer
	view := drawing.PanelViewFull
	view.Title = false
	s := drawing.PanelSheet(p.Job, pan, view)
	label := fmt.Sprintf("%s to scale with its %d stations, seat lines, cut-outs and tape distances", pan.Job.Name, len(pan.Stations))
	if err := sheet.SVGFragment(&b, s, sheet.Fragment{ID: "figure-" + pan.Job.ID, Label: label}); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}
