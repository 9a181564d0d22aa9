package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/jig"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// makeSteps lists the steps that this panel needs, in the order of work.
func (w *cardWork) makeSteps() {
	w.steps = append(w.steps, w.surveyStep())
	if len(w.kinds) == 0 {
		return
	}
	w.steps = append(w.steps, w.markStep())
	for _, make := range []func() (cardStep, bool){w.pilotStep, w.openStep, w.cutStep, w.sinkStep, w.reliefStep} {
		if s, ok := make(); ok {
			w.steps = append(w.steps, s)
		}
	}
	w.steps = append(w.steps, w.deburrStep(), w.trialStep())
	for _, make := range []func() (cardStep, bool){w.sealStep, w.weldStep, w.primeStep, w.insulateStep, w.rivetStep} {
		if s, ok := make(); ok {
			w.steps = append(w.steps, s)
		}
	}
	w.steps = append(w.steps, w.closeStep())
}

// surveyStep looks behind the sheets, and measures the stack before anything is marked.
func (w *cardWork) surveyStep() cardStep {
	s := cardStep{stage: cardSurvey, title: "Look behind, and measure the stack"}
	if h := w.panel.Job.Hazards; len(h) > 0 {
		s.lines = append(s.lines, "Behind this panel: "+strings.Join(h, ", ")+". Find each, and move or shield it before drilling.")
	} else {
		s.lines = append(s.lines, "The job names nothing that lies behind this panel. Look all the same, at every station.")
	}
	if len(w.kinds) == 0 {
		s.lines = append(s.lines, "Measure every layer at several places. With readings the job can be planned again.")
		return s
	}
	s.lines = append(s.lines, "Measure the layers at several places, soft ones squeezed as they will be when closed. The last column is where "+
		"these parts still close at their nominal sizes: a stack outside it, plan again with the readings before you drill.")
	s.titles = []string{"kind", "stations", "stack T as planned, from the stud's seat inwards", "T", "closes for T"}
	s.widths = []float64{12, 34, 69, 22, 34}
	s.pictures = w.sectionPictures()
	for _, k := range w.kinds {
		for _, row := range cardStackRows(w, k) {
			s.rows = append(s.rows, row)
		}
	}
	return s
}

// cardStackRows gives one row for each stack and shim count that a kind of station has.
func cardStackRows(w *cardWork, k cardKind) [][]string {
	var rows [][]string
	var who [][]*setout.Station
	for _, st := range k.stations {
		var terms []string
		for _, t := range st.Stack.Terms {
			terms = append(terms, measure.Fixed(t.Nom, 2)+" "+t.Name)
		}
		words := strings.Join(terms, " + ")
		if words == "" {
			words = "receptacle and seat share a face"
		}
		row := []string{k.letter, "", words, measure.MM(st.Stack.Nom), cardStackBand(st)}
		i := slices.IndexFunc(rows, func(r []string) bool { return slices.Equal(r, row) })
		if i < 0 {
			i = len(rows)
			rows, who = append(rows, row), append(who, nil)
		}
		who[i] = append(who[i], st)
	}
	for i := range rows {
		rows[i][1] = cardStations(who[i])
	}
	return rows
}

// cardBand says whether the least and greatest deflection of a station are known.
func cardBand(c setout.Closing) bool {
	return c.DeltaHi > c.DeltaLo && !math.IsNaN(c.Delta) && !math.IsInf(c.DeltaHi, 0)
}

// cardStackBand is the stack for which a station closes well with its shims, parts at their nominal sizes: a deeper stack
// deepens the free wire by as much, whatever the mounting.
func cardStackBand(st *setout.Station) string {
	c := st.Close
	if !cardBand(c) {
		return "not known"
	}
	return measure.Fixed(c.T+c.DeltaLo-c.Delta, 2) + "–" + measure.MM(c.T+c.DeltaHi-c.Delta)
}

// markStep tapes and marks, in the way that the job relies on.
func (w *cardWork) markStep() cardStep {
	s := cardStep{stage: cardMark, title: "Tape and mark"}
	switch w.plan.Job.Conditions.Marking {
	case "template":
		s.lines = append(s.lines, "Mark each sheet from the paper templates: "+w.panel.Job.Name+" in templates.pdf, printed at 100 %, both scales measured.")
	case "jig":
		s.lines = append(s.lines, "Mark each sheet by itself, with a jig where there is one. Check the jig against the tape distances below before the first hole.")
	default:
		behind := "What lies behind is set from the panel's own holes."
		if slices.ContainsFunc(w.pilotSpots(), func(p cardPilotSpot) bool { return len(p.layers) > 1 }) {
			behind = "The sheets behind are match-drilled through it."
		}
		s.lines = append(s.lines, "Mark the outer panel only, from its templates in templates.pdf (printed at 100 %, both scales measured). "+behind)
	}
	s.lines = append(s.lines, w.jigs()...)
	punch := "Punch lightly in metal; in laminate drill through the tape without a punch mark."
	switch {
	case !w.metal():
		punch = "No punch mark in laminate: drill through the tape."
	case !w.laminate():
		punch = "Punch lightly."
	}
	s.lines = append(s.lines, "Masking tape over each place, then the mark, then the tape distances of the station table: the tape wins over the paper. "+punch)
	s.lines = append(s.lines, drawing.TapeNotes(w.panel.Job)...)
	if d := w.panel.DropOn; d != nil {
		chance := measure.Percent(d.Chance)
		if d.Samples > 0 {
			chance += fmt.Sprintf(" (simulated; 95 %% interval from %s)", measure.Percent(d.Lo))
		}
		s.lines = append(s.lines, fmt.Sprintf("Marked and drilled so (%s, zone %s for each part, clearance %s), the whole panel drops on with a chance of %s.",
			d.Marking, measure.MM(d.Zone), measure.MM(d.Clear), chance))
	}
	return s
}

// jigs say which stations of the panel a jig serves, and what a job that relies on jigs does about the others.
func (w *cardWork) jigs() []string {
	var served, lines []string
	all, _ := jig.Gather(w.plan)
	for _, j := range all {
		for _, s := range j.Serves {
			if s.PanelID != w.panel.Job.ID {
				continue
			}
			lines = append(lines, j.Title()+" for "+drawing.StationRuns(s.Stations))
			for _, id := range s.Stations {
				if !slices.Contains(served, id) {
					served = append(served, id)
				}
			}
		}
	}
	var rest []string
	for _, st := range w.panel.Stations {
		if st.Choice != nil && !slices.Contains(served, st.ID) {
			rest = append(rest, st.ID)
		}
	}
	var out []string
	if len(lines) > 0 {
		out = append(out, "Jigs, in jigs.pdf: "+strings.Join(lines, "; ")+".")
	}
	if w.plan.Job.Conditions.Marking == "jig" && len(rest) > 0 {
		out = append(out, "No jig serves "+drawing.StationRuns(rest)+": mark there from templates.pdf or stickers.pdf, which are not as true as a jig.")
	}
	return out
}

// matched says whether the sheets are drilled through each other.
func (w *cardWork) matched() bool {
	m := w.plan.Job.Conditions.Marking
	return m != "template" && m != "jig"
}

// cardSameSpot is how near to each other holes of two sheets are one drilling, mm.
const cardSameSpot = 0.01

// cardPilotSpot is one pilot hole through one or more layers.
type cardPilotSpot struct {
	at      plane.Point
	drill   *stock.Drill
	layers  []string
	rpm     float64
	clamped bool
}

// pilotSpots gathers the pilots of the panel: holes of several layers at one place that are drilled clamped are one. Sheets
// that are marked each by itself are piloted each by itself.
func (w *cardWork) pilotSpots() []cardPilotSpot {
	var out []cardPilotSpot
	for _, h := range w.panel.Holes {
		if h.Pilot == nil {
			continue
		}
		rpm, together := cardPilotRPM(h), h.Clamped && w.matched()
		i := slices.IndexFunc(out, func(p cardPilotSpot) bool {
			return p.at.Dist(h.At) < cardSameSpot && (p.clamped && together || slices.Contains(p.layers, h.Layer))
		})
		if i < 0 {
			out = append(out, cardPilotSpot{at: h.At, drill: h.Pilot, layers: []string{h.Layer}, rpm: rpm, clamped: together})
			continue
		}
		if !slices.Contains(out[i].layers, h.Layer) {
			out[i].layers = append(out[i].layers, h.Layer)
		}
		out[i].rpm = math.Min(out[i].rpm, rpm)
	}
	return out
}

// cardPilotRPM is the speed at which a pilot's rim runs as fast as that of the drill that follows, rounded down to 100
// rev/min, at most what most hand drills reach (common practice, no source); 0 when the plan knows no speed.
func cardPilotRPM(h setout.Hole) float64 {
	const most, step = 3000, 100
	d := h.Wanted
	if h.Drill != nil {
		d = h.Drill.Diameter
	}
	if !(h.RPM > 0) || !(h.Pilot.Diameter > 0) {
		return 0
	}
	return math.Min(most, step*math.Floor(h.RPM*d/h.Pilot.Diameter/step))
}

func (w *cardWork) pilotStep() (cardStep, bool) {
	spots := w.pilotSpots()
	if len(spots) == 0 {
		return cardStep{}, false
	}
	s := cardStep{stage: cardPilot, title: "Pilot", titles: []string{"through", "pilot drill", "holes", "rev/min"}, widths: []float64{78, 42, 22, 29}}
	clamped := 0
	slowest := map[string]float64{} // one setting serves all pilots of a drill through the same layers
	for _, p := range spots {
		key := strings.Join(p.layers, "+") + cardDrill(p.drill)
		if v, ok := slowest[key]; !ok || p.rpm < v {
			slowest[key] = p.rpm
		}
	}
	for _, p := range spots {
		through := strings.Join(p.layers, " + ")
		if p.clamped && len(p.layers) > 1 {
			through += ", clamped together"
			clamped++
		}
		s.rows = append(s.rows, []string{through, cardDrill(p.drill), "", cardRPM(slowest[strings.Join(p.layers, "+")+cardDrill(p.drill)])})
	}
	s.rows = cardTally(s.rows, 2)
	if clamped > 0 {
		s.title = "Pilot, with the panels clamped together"
		s.lines = append(s.lines, fmt.Sprintf("Clamp the panel in place. Drill one pilot, put a skin pin in it, and only then drill the next: %d pins.", clamped))
	}
	switch {
	case !w.matched():
		s.lines = append(s.lines, "Each sheet by itself, as marked. A skin pin through sheets that are laid on each other shows at once whether they agree.")
	case clamped < len(spots):
		s.lines = append(s.lines, "What is in one sheet alone is piloted there.")
	}
	s.lines = append(s.lines, w.oilWords())
	s.after = []string{"Speeds: rim of the pilot as fast as that of the drill that follows, the slowest layer rules."}
	return s, true
}

// oilWords says where oil belongs.
func (w *cardWork) oilWords() string {
	switch {
	case w.laminate() && w.metal():
		return "A drop of light oil in metal only, and none while laminate is clamped to it. A backing board behind laminate. Collect the dust at the tool."
	case w.laminate():
		return "No oil. A backing board behind laminate. Collect the dust at the tool."
	case w.metal():
		return "A drop of light oil."
	}
	return "Let the drill cool between holes."
}

// holeNotes gathers the remarks of holes, each once with the holes that it is for: none named when it is for all, a layer's
// name when it is for all of that layer.
func holeNotes(holes []setout.Hole) []string {
	var order []string
	who := map[string][]string{}   // by note: "layer, purpose"
	kinds := map[string][]string{} // by layer
	count := 0
	for _, h := range holes {
		name := h.Layer + ", " + h.Purpose
		if !slices.Contains(kinds[h.Layer], name) {
			kinds[h.Layer] = append(kinds[h.Layer], name)
			count++
		}
		for _, n := range append(strings.Split(h.Note, "; "), h.NoDrill) {
			if n == "" {
				continue
			}
			if who[n] == nil {
				order = append(order, n)
			}
			who[n] = cardOnce(append(who[n], name))
		}
	}
	var out []string
	for _, n := range order {
		text := strings.ToUpper(n[:1]) + n[1:]
		if len(who[n]) == count {
			out = append(out, text+".")
			continue
		}
		var names []string
		for _, name := range who[n] {
			layer, _, _ := strings.Cut(name, ", ")
			all := !slices.ContainsFunc(kinds[layer], func(k string) bool { return !slices.Contains(who[n], k) })
			if all {
				name = layer
			}
			names = cardOnce(append(names, name))
		}
		out = append(out, text+" ("+strings.Join(names, "; ")+").")
	}
	return out
}

func (w *cardWork) holesOf(want func(setout.Hole) bool) []setout.Hole {
	var out []setout.Hole
	for _, h := range w.panel.Holes {
		if want(h) {
			out = append(out, h)
		}
	}
	return out
}

// drillTable fills a step's table with drillings that are alike.
func (s *cardStep) drillTable(holes []setout.Hole) {
	s.titles = []string{"layer", "hole", "number", "open out to", "after pilot", "with", "rev/min"}
	s.widths = []float64{24, 27, 17, 36, 20, 31, 16}
	for _, h := range holes {
		pilot := "–"
		if h.Pilot != nil {
			pilot = measure.MM(h.Pilot.Diameter)
		}
		s.rows = append(s.rows, []string{h.Layer, h.Purpose, "", cardHoleSize(h), pilot, h.Tool, cardRPM(h.RPM)})
	}
	s.rows = cardTally(s.rows, 2)
	s.after = append(s.after, holeNotes(holes)...)
}

func (w *cardWork) openStep() (cardStep, bool) {
	holes := w.holesOf(func(h setout.Hole) bool { return h.Stage <= 2 && !cardCutOut(h) })
	for i := range holes {
		holes[i].Note = cardWithoutSink(holes[i].Note)
	}
	s := cardStep{stage: cardOpen, title: "Open out each layer by itself"}
	if len(holes) == 0 {
		return s, false
	}
	s.drillTable(holes)
	s.pictures = w.openPictures()
	return s, true
}

// cardCutOut says whether a row is cut or punched rather than drilled.
func cardCutOut(h setout.Hole) bool { return h.Length > 0 || h.Cut }

// cutStep cuts layers between away where a part or a hole passes them.
func (w *cardWork) cutStep() (cardStep, bool) {
	holes := w.holesOf(func(h setout.Hole) bool { return cardCutOut(h) && (h.Stage <= 2 || h.Length > 0) })
	s := cardStep{stage: cardCut, title: "Cut the layers between", titles: []string{"layer", "for", "number", "size", "with"}, widths: []float64{36, 40, 17, 42, 36}}
	for _, h := range holes {
		s.rows = append(s.rows, []string{h.Layer, h.Purpose, "", cardHoleSize(h), h.Tool})
	}
	s.rows = cardTally(s.rows, 2)
	s.after = holeNotes(holes)
	s.pictures = w.cutPictures()
	return s, len(holes) > 0
}

// cardWithoutSink leaves out what a note says of countersinking: that is a step of its own.
func cardWithoutSink(note string) string {
	return strings.Join(slices.DeleteFunc(strings.Split(note, "; "), func(s string) bool { return strings.Contains(s, "countersink") }), "; ")
}

func (w *cardWork) sinkStep() (cardStep, bool) {
	holes := w.holesOf(func(h setout.Hole) bool { return h.Countersink != nil })
	s := cardStep{stage: cardSink, title: "Countersink, slowly"}
	if len(holes) == 0 {
		return s, false
	}
	s.titles = []string{"layer, face", "hole", "number", "angle", "to Ø", "depth", "rev/min"}
	s.widths = []float64{36, 39, 17, 15, 24, 24, 16}
	for i, h := range holes {
		c := h.Countersink
		what := h.Purpose
		if c.Purpose != "" {
			what = c.Purpose
		}
		s.rows = append(s.rows, []string{h.Layer + ", " + c.Face, what, "", measure.Fixed(c.AngleDeg, 0) + "°", measure.MM(c.Diameter), measure.MM(c.Depth), cardRPM(c.RPM)})
		if c.Knife {
			s.after = append(s.after, fmt.Sprintf("Knife edge in %s (%s): the countersink goes through the sheet. Stop at a rim, and ask for a thicker layer or a smaller head.", h.Layer, what))
		}
		keep := slices.DeleteFunc(strings.Split(h.Note, "; "), func(n string) bool { return !strings.Contains(n, "countersink") })
		holes[i].Note, holes[i].NoDrill = strings.Join(keep, "; "), ""
	}
	s.rows = cardTally(s.rows, 2)
	s.lines = []string{"Try the seat with the part itself. Stop when it is flush, not at a number of turns."}
	s.after = cardOnce(append(s.after, holeNotes(holes)...))
	s.pictures = w.sinkPictures()
	return s, true
}

func (w *cardWork) reliefStep() (cardStep, bool) {
	holes := w.holesOf(func(h setout.Hole) bool { return h.Stage >= 4 && h.Length == 0 })
	s := cardStep{stage: cardRelief, title: "Relief holes for rivet tails and heads"}
	if len(holes) == 0 {
		return s, false
	}
	s.lines = []string{"Only where the table says. They clear what stands proud on a meeting face, so that the panels can touch."}
	s.drillTable(holes)
	s.pictures = w.reliefPictures()
	return s, true
}

func (w *cardWork) deburrStep() cardStep {
	s := cardStep{stage: cardDeburr, title: "Take apart, deburr, clear the swarf",
		lines: []string{"Number the sheets before they come apart. Deburr both sides of every hole. Wipe all swarf from between the sheets: one chip there shows as a thicker stack."}}
	if w.laminate() {
		s.lines = append(s.lines, "Laminate: break the edges with abrasive paper, vacuum the dust, do not blow it about.")
	}
	return s
}
