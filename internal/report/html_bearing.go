package report

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// htmlBearing is what the page says of a panel under load.
type htmlBearing struct {
	Known       bool
	Off         bool   // nothing holds the panel in some case
	Why         string // not known: what is missing
	Model       string
	InRange     bool
	Range       string // whether the model may be believed here, with the number
	Figure      template.HTML
	FigureNote  string
	Seams       []htmlSeam
	SeamNote    string
	Cases       []htmlBearCase
	Stations    []htmlBearStation
	Misses      []htmlBearMiss
	Frequencies string
	Mesh        string
}

type htmlBearCase struct {
	Name, Load, Reaction, Balance, Gap, GapAt, Wire, Prying, InTouch, Stress, Range, Why string
	InRange                                                                              bool
}

type htmlBearStation struct{ ID, Wire, Case, Preload, Seat, Held, Estimate string }

type htmlBearMiss struct{ ID, Case, Gap, GapAt, Wire, Gone, Class, Mark, Verdict, Why string }

// htmlBearingOf tells how a panel bears its loads; nil when the model was not asked.
func htmlBearingOf(p *setout.Plan, pan *setout.Panel) (*htmlBearing, error) {
	b := pan.Bearing
	if b == nil {
		return nil, nil
	}
	out := &htmlBearing{Known: b.Known, Off: b.Off && !b.Known, Why: sentence(b.Why)}
	if !b.Known || len(b.Cases) == 0 {
		out.Known = false
		return out, nil
	}
	out.Model = fmt.Sprintf("Reckoned as a flat sheet of %s that bends in proportion to its load, on supports that push but never pull, held by the wires of its %d stations alone.",
		measure.MM(b.Thickness), len(pan.Stations))
	out.InRange, out.Range = bearRange(b)
	if err := out.draw(p, pan); err != nil {
		return nil, err
	}
	for i := range b.Cases {
		out.Cases = append(out.Cases, bearCaseOf(p, pan, &b.Cases[i]))
	}
	for i := range pan.Stations {
		out.Stations = append(out.Stations, bearStationOf(p, pan, i))
	}
	for _, m := range b.Miss {
		out.Misses = append(out.Misses, bearMissOf(pan, m))
	}
	out.Frequencies = bearFrequencies(b)
	out.Mesh = fmt.Sprintf("%d nodes, %d unknowns, edges of at most %s, %d points at which stations and supports act; no angle of a triangle below %s.",
		b.Nodes, b.Unknowns, measure.MM(b.MeshSize), b.Points, measure.Degree(b.LeastAngle))
	return out, nil
}

// draw makes the picture of the worst case and the plots along the seams.
func (out *htmlBearing) draw(p *setout.Plan, pan *setout.Panel) error {
	b := pan.Bearing
	worst := &b.Cases[b.Worst]
	var w bytes.Buffer
	label := fmt.Sprintf("How far %s bends outward under load, to scale: lines of equal deflection, stations, seat lines", pan.Job.Name)
	if err := sheet.SVGFragment(&w, drawing.BearingSheet(p.Job, pan, b.Worst), sheet.Fragment{ID: "bearing--" + pan.Job.ID, Label: label}); err != nil {
		return err
	}
	out.Figure = template.HTML(w.String())
	out.FigureNote = fmt.Sprintf("Worst case, %s: how far each place bends outward, mm. Darker: farther out. Greatest: %s.", worst.Name, measure.MM(worst.WMax))
	if !worst.Valid {
		out.FigureNote += " Beyond what this model can say: for comparison only."
	}
	var err error
	if out.Seams, err = seamPlots(pan); err != nil {
		return err
	}
	out.SeamNote = fmt.Sprintf("Gap between panel and support along each seam; where the support's edge opens more than its seat line, that edge too. Line: %s. Grey: from the least to the greatest of all %d cases. Dot: greatest of all. Dotted uprights: stations.",
		worst.Name, len(b.Cases))
	return nil
}

// bearRange says whether the small deflections that the model needs are what comes out, with the number.
func bearRange(b *setout.Bearing) (bool, string) {
	far, outside := 0, []string(nil)
	for i := range b.Cases {
		if c := &b.Cases[i]; math.Abs(c.Sag) > math.Abs(b.Cases[far].Sag) {
			far = i
		}
		if !b.Cases[i].Valid {
			outside = append(outside, b.Cases[i].Name)
		}
	}
	c := &b.Cases[far]
	number := fmt.Sprintf("between its supports the panel bends by at most %s (%s); the model may be believed up to half the sheet's thickness, %s",
		measure.MM(math.Abs(c.Sag)), c.Name, measure.MM(b.Thickness/2))
	if len(outside) == 0 {
		return true, sentence(number)
	}
	which := "It may be believed in none of the cases."
	if len(outside) < len(b.Cases) {
		which = "It may not be believed in " + bearSome(outside, len(b.Cases)) + "."
	}
	return false, sentence(number) + " " + which + " A sheet that bends so far also stretches, which stiffens it and is not reckoned here: " +
		"figures of such a case are shown to compare by, and are neither a yes nor a no. " +
		"A thicker or stiffer sheet, a rib under it, or less load would bring the panel into range."
}

// together keeps a figure and its unit on one line.
func together(s string) string { return strings.ReplaceAll(s, " ", " ") }

// bearSome names a few of all cases, and counts more of them.
func bearSome(names []string, all int) string {
	const few = 2
	if len(names) <= few {
		return strings.Join(names, " and ")
	}
	return fmt.Sprintf("%d of the %d cases", len(names), all)
}

func bearCaseOf(p *setout.Plan, pan *setout.Panel, c *setout.BearingCase) htmlBearCase {
	out := htmlBearCase{
		Name: c.Name, Load: measure.Newton(c.Load), Reaction: measure.Newton(c.Reaction), Balance: bearBalance(max(c.Balance, c.Moment)),
		Gap: measure.MM(c.GapMax), GapAt: capital(bearWhere(pan, c.GapAt)), Prying: measure.Newton(c.Prying), InTouch: measure.Percent(c.InTouch),
		Stress: together(measure.Pa(c.Stress)), InRange: c.Valid, Range: "inside", Wire: "–",
	}
	if i := bearHardest(c.Wire); i >= 0 && i < len(pan.Stations) {
		out.Wire = fmt.Sprintf("%s at station %s, locked at %s", together(measure.Newton(c.Wire[i])), pan.Stations[i].ID, together(measure.Newton(bearPreload(p, pan, i))))
	}
	if c.StressKind != "" {
		out.Stress += ", " + c.StressKind
	}
	if !c.Valid {
		out.Range, out.Why = "not known", sentence(c.Reason)
		if half := pan.Bearing.Thickness / 2; math.Abs(c.Sag) > half { // the words over the table say what that means
			out.Why = fmt.Sprintf("bends by %s, more than %s", together(measure.MM(math.Abs(c.Sag))), together(measure.MM(half)))
		}
	}
	if !c.Certified {
		out.Why = JoinSentences("the check by separate code does not agree: "+strings.Join(c.CertificateFaults, ", "), out.Why)
	}
	return out
}

// bearPreload is the pull (N) of a locked wire that the model reckons with: at the low end of its spread, aged. NaN: not known.
func bearPreload(p *setout.Plan, pan *setout.Panel, i int) float64 {
	w := setout.WireOf(p.Job, pan, pan.Stations[i])
	if w.Field != "" {
		return math.NaN()
	}
	return w.Forced
}

// bearHardest is the index of the greatest force, −1 of none.
func bearHardest(wire []float64) int {
	at := -1
	for i, f := range wire {
		if at < 0 || f > wire[at] {
			at = i
		}
	}
	return at
}

// bearBalance shows by how much forces do not balance, as a power of ten that it stays below. From 10⁻⁹ down it is rounding,
// whose digits say nothing.
func bearBalance(v float64) string {
	if math.IsNaN(v) {
		return measure.Fixed(v, 0)
	}
	const least = 9
	for n := least; n > 0; n-- {
		if v <= math.Pow(10, -float64(n)) {
			return "≤ 10⁻" + string([]rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[n])
		}
	}
	return measure.Fixed(v, 2)
}

// bearWhere names a place by the seam that is nearest, and the stations beside it there.
func bearWhere(pan *setout.Panel, q plane.Point) string {
	best, at, near := -1, 0, math.Inf(1)
	for i, s := range pan.Bearing.Seams {
		if k, d := seamNearest(s, q); d < near-1e-9 {
			best, at, near = i, k, d
		}
	}
	const beside = 5 // mm: farther off it is not on the seam
	if best < 0 || near > beside {
		return fmt.Sprintf("x %s, y %s", measure.MM(q.X), measure.MM(q.Y))
	}
	s := pan.Bearing.Seams[best]
	name := s.Name
	if s.Along != seamSeatLine {
		name += ", " + s.Along
	}
	if between := seamBetween(pan, seamMarks(pan, best), s.S[at]); between != "" {
		return name + ", " + between
	}
	return name + ", " + measure.MM(s.S[at]) + " from its start"
}

func bearStationOf(p *setout.Plan, pan *setout.Panel, i int) htmlBearStation {
	st, b := pan.Stations[i], pan.Bearing
	out := htmlBearStation{ID: st.ID, Wire: "–", Case: "–", Preload: measure.Newton(bearPreload(p, pan, i)), Seat: "shut", Held: "–", Estimate: measure.Newton(st.Load.Outward)}
	worst, opens := -1, []string(nil)
	for k := range b.Cases {
		c := &b.Cases[k]
		if i < len(c.Wire) && (worst < 0 || c.Wire[i] > b.Cases[worst].Wire[i]) {
			worst = k
		}
		if i < len(c.Open) && c.Open[i] {
			opens = append(opens, c.Name)
		}
	}
	if worst >= 0 {
		out.Wire, out.Case = measure.Newton(b.Cases[worst].Wire[i]), b.Cases[worst].Name
	}
	held := math.Inf(-1)
	for k := range b.Cases {
		if i < len(b.Cases[k].Held) {
			held = max(held, b.Cases[k].Held[i])
		}
	}
	if !math.IsInf(held, -1) {
		out.Held = measure.Newton(held)
	}
	switch {
	case len(opens) == len(b.Cases):
		out.Seat = "opens in every case"
	case len(opens) > 0:
		out.Seat = "opens in " + bearSome(opens, len(b.Cases))
	}
	return out
}

func bearMissOf(pan *setout.Panel, m setout.BearingMiss) htmlBearMiss {
	id := func(i int) string {
		if i < 0 || i >= len(pan.Stations) {
			return "–"
		}
		return pan.Stations[i].ID
	}
	out := htmlBearMiss{ID: id(m.Station), Case: "–", Gap: measure.MM(m.GapMax), GapAt: bearWhere(pan, m.GapAt),
		Wire: fmt.Sprintf("%s at %s", together(measure.Newton(m.Wire)), id(m.At)), Gone: "none", Why: sentence(m.Why)}
	if m.Case >= 0 && m.Case < len(pan.Bearing.Cases) {
		out.Case = pan.Bearing.Cases[m.Case].Name
	}
	if len(m.Gone) > 0 {
		var gone []string
		for _, g := range m.Gone {
			gone = append(gone, id(g))
		}
		out.Gone = strings.Join(gone, ", then ")
	}
	switch {
	case !m.Valid:
		out.Class, out.Mark, out.Verdict = "v-unknown", "?", "not known"
	case m.Held:
		out.Class, out.Mark, out.Verdict = "v-holds", "✓", "stays on"
	default:
		out.Class, out.Mark, out.Verdict = "v-fails", "✗", "comes off"
	}
	return out
}

func bearFrequencies(b *setout.Bearing) string {
	if len(b.Frequencies) == 0 {
		if b.FrequencyWhy == "" {
			return ""
		}
		return "Natural frequencies are not known: " + sentence(b.FrequencyWhy)
	}
	var words []string
	for _, f := range b.Frequencies {
		words = append(words, bearHertz(f))
	}
	said := "Lowest natural frequency, fastened: " + words[0]
	if n := len(words); n > 1 {
		said = "Lowest natural frequencies, fastened: " + strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.TrimSpace(said + " Hz. " + sentence(b.FrequencyWhy))
}

// bearHertz shows a frequency with three figures.
func bearHertz(f float64) string {
	decimals := 0
	if f > 0 && f < 100 {
		decimals = min(6, 2-int(math.Floor(math.Log10(f))))
	}
	return measure.Fixed(f, decimals)
}
