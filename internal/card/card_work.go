package card

import (
	"fmt"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// cardStage is a place in the order of work at which a caution can matter.
type cardStage int

const (
	cardFirst cardStage = iota // before everything: the head of the card
	cardSurvey
	cardMark
	cardPilot
	cardOpen
	cardCut
	cardSink
	cardRelief
	cardDeburr
	cardTrial
	cardSeal
	cardWeld
	cardPrime
	cardInsulate
	cardRivet
	cardClose
	cardVehicle
	cardFoot // the foot of every page says it
)

// cardStep is one step with its box to tick.
type cardStep struct {
	stage    cardStage
	title    string
	cautions []string
	gates    []string // cautions to be signed before the step
	lines    []string
	titles   []string // of the table's columns
	widths   []float64
	rows     [][]string
	after    []string // lines under the table
	pictures []picture
}

// cardKind is what stations with the same parts have in common.
type cardKind struct {
	letter   string
	choice   *setout.Choice
	stations []*setout.Station
}

// cardWork is what a card says of one panel, before it is laid out.
type cardWork struct {
	plan     *setout.Plan
	panel    *setout.Panel
	kinds    []cardKind
	families map[stock.Family]bool // of the layers at stations
	sealed   bool
	welded   bool
	steps    []cardStep
	cautions map[cardStage][]string
}

func cardWorkOf(p *setout.Plan, panel *setout.Panel) *cardWork {
	w := &cardWork{plan: p, panel: panel, families: map[stock.Family]bool{}}
	for _, c := range panel.Choices {
		kind := cardKind{choice: c}
		for _, st := range panel.Stations {
			if st.Choice == c {
				kind.stations = append(kind.stations, st)
			}
		}
		if len(kind.stations) > 0 && c.Stud != nil && c.Plate != nil && c.Receptacle != nil {
			kind.letter = cardLetter(len(w.kinds))
			w.kinds = append(w.kinds, kind)
			w.welded = w.welded || c.Receptacle.Fixing == stock.Welded
		}
	}
	layers := []*job.Layer{&panel.Job.Outer, &panel.Job.Inner}
	for _, st := range panel.Stations {
		layers = append(layers, drawing.SectionLayers(panel, st)...)
	}
	for _, l := range layers {
		if l.Material != nil {
			w.families[l.Material.Family] = true
		}
		w.sealed = w.sealed || l.Soft
	}
	for _, s := range panel.Job.Supports {
		w.sealed = w.sealed || s.Seal != nil
	}
	w.makeSteps()
	w.spreadCautions()
	return w
}

// cardLetter names kinds A, B, …, Z, A2, B2, …
func cardLetter(i int) string {
	s := string(rune('A' + i%26))
	if i >= 26 {
		s += fmt.Sprint(i/26 + 1)
	}
	return s
}

// several says whether more than one such panel is made.
func (w *cardWork) several() bool { return w.panel.Job.Quantity > 1 }

func (w *cardWork) laminate() bool {
	return w.families[stock.GlassFibre] || w.families[stock.CarbonFibre]
}

func (w *cardWork) metal() bool {
	for f := range w.families {
		if f.Metal() {
			return true
		}
	}
	return false
}

// length shows a length; in a job measured in inches these follow in brackets.
func (w *cardWork) length(v float64) string { return drawing.Across(w.plan.Job, v) }

// tape shows a tape distance: mm, and in an inch job the nearest 1/32 in brackets.
func (w *cardWork) tape(v float64) string {
	s := measure.Fixed(v, 1) + " mm"
	if w.plan.Job.Inch {
		frac, _ := measure.Fraction(v, 32)
		s += " (" + strings.ReplaceAll(frac, " ", "\u00a0") + ")"
	}
	return s
}

// cardStations lists stations: 1–9, 12.
func cardStations(list []*setout.Station) string {
	ids := make([]string, len(list))
	for i, st := range list {
		ids[i] = st.ID
	}
	return drawing.StationRuns(ids)
}

// cardDrill shows a drill: its diameter, and its name where that says something else.
func cardDrill(d *stock.Drill) string {
	if d == nil {
		return ""
	}
	mm := measure.MM(d.Diameter)
	if d.Series == "metric" {
		return mm
	}
	return mm + " (" + d.Name + ")"
}

// cardHoleSize shows what cuts a hole to which size.
func cardHoleSize(h setout.Hole) string {
	if h.Length > 0 {
		return fmt.Sprintf("%s × %s", measure.MM(h.Length), measure.MM(h.Width))
	}
	wanted := measure.MM(h.Wanted)
	if h.WantedMax > h.Wanted {
		wanted = measure.Fixed(h.Wanted, 2) + "–" + measure.MM(h.WantedMax)
	}
	switch {
	case h.Drill != nil:
		return cardDrill(h.Drill)
	case h.NoDrill != "":
		return "none of yours; " + wanted
	}
	return wanted
}

func cardRPM(rpm float64) string {
	if !(rpm > 0) {
		return "not known"
	}
	return measure.Fixed(rpm, 0)
}

// cardTally joins rows that are equal but for column at, which gets their number; in order of first appearance.
func cardTally(rows [][]string, at int) [][]string {
	var out [][]string
	var counts []int
	place := map[string]int{}
	for _, r := range rows {
		key := strings.Join(r[:at], "\x00") + "\x00\x00" + strings.Join(r[at+1:], "\x00")
		i, ok := place[key]
		if !ok {
			i = len(out)
			place[key] = i
			out = append(out, slices.Clone(r))
			counts = append(counts, 0)
		}
		counts[i]++
	}
	for i := range out {
		out[i][at] = fmt.Sprint(counts[i])
	}
	return out
}

// cardOnce keeps the first of equal strings, and drops empty ones.
func cardOnce(list []string) []string {
	var out []string
	for _, s := range list {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// cardCautionStages says before which steps a caution stands, by its id. A caution that is not named here stands in the head.
var cardCautionStages = map[string][]cardStage{
	setout.CautionScope: {cardFoot},
	"eyes":              {cardFirst, cardPilot, cardRivet},
	"far-side":          {cardPilot},
	"glass-dust":        {cardPilot},
	"carbon-dust":       {cardPilot},
	"laminate-oil":      {cardOpen},
	"sharp-edges":       {cardOpen},
	"large-drill":       {cardOpen},
	"metal-dust":        {cardDeburr},
	"carbon-aluminium":  {cardSeal},
	"bare-steel":        {cardPrime},
	"rivet-stems":       {cardRivet},
	"fuel":              {cardSurvey, cardWeld},
	"brake":             {cardSurvey},
	"harness":           {cardSurvey},
	"battery":           {cardSurvey, cardWeld},
	"high-voltage":      {cardSurvey, cardPilot},
	"airbag":            {cardSurvey, cardPilot},
	"exhaust":           {cardSurvey, cardVehicle},
	"access":            {cardMark, cardVehicle},
	"welding":           {cardWeld},
	"cage":              {cardMark, cardWeld},
	"second-retention":  {cardClose}, // the vehicle's page asks for it with a box of its own
	// Gates stand, to be signed, before the first step of theirs that the panel has.
	setout.CautionDrillGate:   {cardPilot, cardOpen, cardCut, cardSink, cardRelief},
	setout.CautionHotWorkGate: {cardWeld},
	"trial-fit":               {cardTrial},
	"recheck":                 {cardClose}, // the vehicle's page has its log
}

// spreadCautions puts each of the panel's cautions before the steps where it matters. One whose steps this panel does not
// have stands in the head.
func (w *cardWork) spreadCautions() {
	w.cautions = map[cardStage][]string{}
	texts := map[string]string{}
	for _, c := range w.plan.Cautions {
		texts[c.ID] = c.Text
	}
	for _, id := range w.panel.Cautions {
		text, ok := texts[id]
		if !ok {
			panic("drawing: panel " + w.panel.Job.ID + " names caution " + id + ", which the plan does not hold")
		}
		placed := false
		for _, stage := range cardCautionStages[id] {
			if stage == cardFirst || stage == cardFoot || stage == cardVehicle {
				w.cautions[stage] = append(w.cautions[stage], text)
				placed = placed || stage != cardVehicle
				continue
			}
			if i := slices.IndexFunc(w.steps, func(s cardStep) bool { return s.stage == stage }); i >= 0 {
				if id == setout.CautionDrillGate || id == setout.CautionHotWorkGate {
					if !placed {
						w.steps[i].gates = append(w.steps[i].gates, text)
					}
					placed = true
					continue
				}
				w.steps[i].cautions = append(w.steps[i].cautions, text)
				placed = true
			}
		}
		if !placed {
			w.cautions[cardFirst] = append(w.cautions[cardFirst], text)
		}
	}
}
