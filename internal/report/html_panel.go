package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
)

type htmlPanel struct {
	ID, Name, Facts      string
	Quantity, Stations   int
	Faults               []string
	Figure               template.HTML
	FigureNote, LoadNote string
	Choices              []htmlChoice
	Rows                 []htmlRow
	Cures                []htmlCure
	TapeNotes            []string
	Checks               []htmlCheck
	Cases                []htmlCase
	Holes                []htmlHole
	DropOn               string
	Bearing              *htmlBearing
	Survey               *htmlSurvey
	Imported             []string
}

type htmlChoice struct {
	Heading, Parts, ShimWords, Worst, Reason string
	Count                                    int
	List                                     []htmlNameValue
	Bite                                     template.HTML
	BiteNote                                 string
	Runners                                  []htmlRunner
}

type htmlNameValue struct{ Name, Value string }

type htmlRunner struct{ Parts, Shims, Chance, Why string }

type htmlCure struct{ Who, What string }

type htmlRow struct{ ID, Edge, Along, In, Stack, Shims, Delta, Band, Preload, Torque, Chance, Pull string }

type htmlCheck struct{ Name, Where, Value, Limit, Margin, Class, Mark, Verdict, Mixed, Basis string }

type htmlCase struct{ Name, Outward, InPlane, Formula string }

type htmlHole struct {
	Layer, Purpose, Wanted, Drill, Tool, RPM, Countersink string
	Count                                                 int
}

func htmlPanelOf(p *setout.Plan, pan *setout.Panel) (htmlPanel, error) {
	j := pan.Job
	b := j.Outline.Outer.Bounds()
	facts := []string{
		tableMM(p, b.Max.X-b.Min.X) + " × " + tableMM(p, b.Max.Y-b.Min.Y),
		"outer: " + drawing.LayerWords(&j.Outer),
	}
	if j.Inner.Material != nil {
		facts = append(facts, "over "+drawing.LayerWords(&j.Inner))
	}
	out := htmlPanel{
		ID: j.ID, Name: j.Name, Quantity: j.Quantity, Stations: len(pan.Stations), Faults: pan.Faults,
		Facts: strings.Join(facts, " · "), LoadNote: pan.Load.Note,
		FigureNote: "To scale. Numbers are stations; the bar across a station is the witness mark when locked.",
	}
	var err error
	if out.Figure, err = htmlFigure(p, pan); err != nil {
		return out, err
	}
	for _, c := range pan.Choices {
		out.Choices = append(out.Choices, htmlChoiceOf(pan, c))
	}
	for _, st := range pan.Stations {
		out.Rows = append(out.Rows, htmlRowOf(p, pan, st))
	}
	out.Cures = htmlCures(pan)
	for _, n := range drawing.TapeNotes(pan.Job) {
		out.TapeNotes = append(out.TapeNotes, strings.TrimSuffix(n, "."))
	}
	out.Checks = htmlChecksOf(pan)
	for _, c := range pan.Load.Cases {
		out.Cases = append(out.Cases, htmlCase{c.Name, measure.Newton(c.Outward), measure.Newton(c.InPlane), c.Formula})
	}
	if out.Bearing, err = htmlBearingOf(p, pan); err != nil {
		return out, err
	}
	out.Survey = htmlSurveyOf(p, pan)
	out.Imported = p.Job.ImportNotes(pan.Job)
	out.Holes = htmlHolesOf(pan)
	if d := pan.DropOn; d != nil {
		how := "certain by arithmetic, nothing simulated"
		if d.Samples > 0 {
			how = fmt.Sprintf("95 %% interval %s to %s, %d samples", measure.Percent(d.Lo), measure.Percent(d.Hi), d.Samples)
		}
		out.DropOn = fmt.Sprintf("Chance that the whole panel drops over its studs: %s (%s; holes by %s, zone %s per part, clearance %s). %s",
			measure.Percent(d.Chance), how, d.Marking, measure.MM(d.Zone), measure.MM(d.Clear), sentence(d.Basis))
	}
	return out, nil
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return capital(strings.TrimSuffix(s, ".")) + "."
}

// capital begins with a capital.
func capital(s string) string {
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

// tableMM shows a length, with inches behind when the job is measured in inches.
func tableMM(p *setout.Plan, v float64) string {
	if p.Job.Inch {
		return measure.MMInch(v)
	}
	return measure.MM(v)
}

func htmlChoiceOf(pan *setout.Panel, c *setout.Choice) htmlChoice {
	out := htmlChoice{Heading: "Chosen", Reason: sentence(c.Reason), Worst: "not known"}
	if c.Group != "" {
		out.Heading = "Chosen: " + c.Group
	}
	if c.ChanceKnown {
		out.Worst = measure.Percent(c.WorstChance)
	}
	names := []string{c.Stud.Name}
	out.List = append(out.List, htmlNameValue{"Stud", c.Stud.Name + " · reach R " + measure.MM(c.Stud.Reach.Nom) + " · " + c.Stud.ID})
	if c.Plate != nil {
		names = append(names, c.Plate.Name)
		out.List = append(out.List, htmlNameValue{"Stud held by", c.Plate.Name + " · " + c.Plate.ID})
	}
	names = append(names, c.Receptacle.Name)
	out.List = append(out.List, htmlNameValue{"Receptacle", fmt.Sprintf("%s · depth h %s · wire %s N/mm · %s",
		c.Receptacle.Name, measure.MM(c.Receptacle.Depth.Nom), measure.Fixed(c.Receptacle.Rate.Nom, 0), c.Receptacle.ID)})
	if c.PlateRivet != nil {
		out.List = append(out.List, htmlNameValue{"Rivets of the plate", c.PlateRivet.Name})
	}
	if c.ReceptacleRivet != nil {
		out.List = append(out.List, htmlNameValue{"Rivets of the receptacle", c.ReceptacleRivet.Name})
	} else {
		out.List = append(out.List, htmlNameValue{"Receptacle fixed by", string(c.Receptacle.Fixing)})
	}
	if c.Shim != nil {
		out.List = append(out.List, htmlNameValue{"Shim", c.Shim.Name})
	}
	out.Parts = strings.Join(names, " + ")
	shims := 0
	for _, st := range pan.Stations {
		if st.Choice == c {
			out.Count++
			shims += st.Shims
		}
	}
	out.ShimWords = "none"
	if shims > 0 {
		out.ShimWords = fmt.Sprint(shims)
	}
	for _, r := range append(slices.Clone(c.Close), c.Rejected...) {
		out.Runners = append(out.Runners, htmlRunnerOf(r))
	}
	out.Bite, out.BiteNote = biteFigure(pan, c)
	return out
}

func htmlRunnerOf(r setout.RunnerUp) htmlRunner {
	parts := []string{r.Stud}
	if r.Plate != "" {
		parts = append(parts, r.Plate)
	}
	return htmlRunner{strings.Join(append(parts, r.Receptacle), " + "), r.Shims, measure.Percent(r.Chance), r.Why}
}

func htmlRowOf(p *setout.Plan, pan *setout.Panel, st *setout.Station) htmlRow {
	tape := drawing.TapeOf(pan, st)
	r := htmlRow{ID: st.ID, Edge: tape.Edge, Along: tableMM(p, tape.Along), In: tableMM(p, tape.In), Chance: "not known", Stack: "–", Delta: "–", Band: "–", Preload: "–", Torque: "–"}
	switch {
	case tape.Edge == "":
		r.Edge, r.Along, r.In = "from the panel's origin", "x "+r.Along, "y "+r.In
	case tape.Beside != "":
		r.Edge = tape.Edge + "; along: square from " + tape.Beside
	}
	if len(st.Stack.Sum) > 0 {
		r.Stack = measure.MM(st.Stack.Nom)
		if st.Stack.Measured {
			r.Stack += " measured"
		}
	}
	r.Pull = measure.Newton(st.Load.Outward)
	if st.Choice == nil {
		return r
	}
	c := st.Close
	r.Shims, r.Delta = fmt.Sprint(st.Shims), measure.MM(c.Delta)
	r.Band = measure.Fixed(c.DeltaLo, 2) + "–" + measure.MM(c.DeltaHi)
	r.Preload, r.Torque = measure.Newton(c.Preload), measure.NewtonMetre(c.TurnTorque)
	if c.Known {
		r.Chance = measure.Percent(c.Chance)
	}
	return r
}

// htmlCures says once for all stations with the same cure what to do when one is loose or tight.
func htmlCures(pan *setout.Panel) []htmlCure {
	var out []htmlCure
	at := map[string]int{}
	for _, st := range pan.Stations {
		cure := st.Close.Cure
		if cure == "" {
			continue
		}
		if i, ok := at[cure]; ok {
			out[i].Who += ", " + st.ID
			continue
		}
		at[cure] = len(out)
		out = append(out, htmlCure{st.ID, cure})
	}
	for i := range out {
		word := "Station "
		if strings.Contains(out[i].Who, ",") {
			word = "Stations "
		}
		out[i].Who = word + out[i].Who
	}
	return out
}

// htmlChecksOf gives one row for each check, at its worst station: a failing one first, then one not known, then the
// least margin.
func htmlChecksOf(pan *setout.Panel) []htmlCheck {
	type worst struct {
		k        setout.Check
		where    string
		n        map[setout.Verdict]int
		stations bool
	}
	var order []string
	all := map[string]*worst{}
	add := func(k setout.Check, where string, station bool) {
		w := all[k.ID]
		if w == nil {
			w = &worst{k: k, where: where, n: map[setout.Verdict]int{}, stations: station}
			all[k.ID] = w
			order = append(order, k.ID)
		} else if Worse(k, w.k) {
			w.k, w.where = k, where
		}
		w.n[k.Verdict]++
	}
	for _, k := range pan.Checks {
		add(k, "panel", false)
	}
	for _, st := range pan.Stations {
		for _, k := range st.Checks {
			add(k, "station "+st.ID, true)
		}
	}
	var out []htmlCheck
	for _, id := range order {
		w := all[id]
		row := htmlCheckOf(w.k, w.where)
		if w.stations && len(w.n) > 1 {
			var parts []string
			for _, v := range []setout.Verdict{setout.DoesNotHold, setout.NotKnown, setout.Holds} {
				if w.n[v] > 0 {
					parts = append(parts, fmt.Sprintf("%d %s", w.n[v], v))
				}
			}
			row.Mixed = strings.Join(parts, ", ")
		}
		out = append(out, row)
	}
	return out
}

// Worse says whether a is to be shown rather than b.
func Worse(a, b setout.Check) bool {
	rank := map[setout.Verdict]int{setout.DoesNotHold: 0, setout.NotKnown: 1, setout.Holds: 2}
	if rank[a.Verdict] != rank[b.Verdict] {
		return rank[a.Verdict] < rank[b.Verdict]
	}
	return !math.IsNaN(a.Margin) && (math.IsNaN(b.Margin) || a.Margin < b.Margin)
}

func htmlCheckOf(k setout.Check, where string) htmlCheck {
	out := htmlCheck{Name: k.Name, Where: where, Verdict: k.Verdict.String(), Basis: JoinSentences(k.Basis, k.Cure)}
	switch k.Verdict {
	case setout.Holds:
		out.Class, out.Mark = "v-holds", "✓"
	case setout.DoesNotHold:
		out.Class, out.Mark = "v-fails", "✗"
	default:
		out.Class, out.Mark = "v-unknown", "?"
	}
	if k.NoNumber {
		return out
	}
	known := func(v float64, shown string) string {
		if math.IsNaN(v) {
			return "–"
		}
		return shown + " " + k.Unit
	}
	value, limit := checkNumbers(k)
	out.Value, out.Limit = known(k.Value, value), known(k.Limit, limit)
	if out.Limit != "–" {
		out.Limit = map[bool]string{true: "≥ ", false: "≤ "}[k.AtLeast] + out.Limit
	}
	if !math.IsNaN(k.Margin) && !math.IsInf(k.Margin, 0) {
		out.Margin = fmt.Sprintf("%+.0f %%", k.Margin*100)
		if k.Margin > -0.005 && k.Margin < 0.005 {
			out.Margin = "0 %"
		}
	}
	return out
}

// htmlHolesOf counts holes that are alike, in the order of work.
func htmlHolesOf(pan *setout.Panel) []htmlHole {
	var out []htmlHole
	at := map[htmlHole]int{}
	for _, h := range pan.Holes {
		row := htmlHole{Layer: h.Layer, Purpose: h.Purpose, Tool: h.Tool}
		if h.Wanted > 0 {
			row.Wanted = measure.Fixed(h.Wanted, 2) + " mm"
			if h.WantedMax > h.Wanted {
				row.Wanted = measure.Fixed(h.Wanted, 2) + "–" + measure.Fixed(h.WantedMax, 2) + " mm"
			}
		}
		row.Drill = h.NoDrill
		if h.Drill != nil {
			row.Drill = h.Drill.Name + " (" + measure.MM(h.Drill.Diameter) + ")"
		}
		if h.RPM > 0 {
			row.RPM = measure.Fixed(h.RPM, 0) + " rpm"
		}
		if k := h.Countersink; k != nil {
			row.Countersink = fmt.Sprintf("%s, %.0f°, to %s, %s deep", k.Face, k.AngleDeg, measure.MM(k.Diameter), measure.MM(k.Depth))
		}
		if i, ok := at[row]; ok {
			out[i].Count++
			continue
		}
		at[row] = len(out) // before the count: rows that are alike have none yet
		row.Count = 1
		out = append(out, row)
	}
	return out
}
