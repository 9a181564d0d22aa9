package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// facts sets what comes before the first step: what does not hold, the cautions for everything, and what is fitted.
func (f *cardFlow) facts(w *cardWork) {
	f.wrong(w)
	if c := w.cautions[cardFirst]; len(c) > 0 {
		f.keep(func(f *cardFlow) { f.caution(0, c) })
		f.y += 2 * f.k
	}
	f.keep(func(f *cardFlow) {
		f.para(0, f.big, sheet.Bold, "What is fitted here")
		f.named(0, 28*f.k, "panel", w.aboutPanel())
		for _, k := range w.kinds {
			st := *k.stations[0]
			st.Shims = 0
			f.named(0, 28*f.k, "kind "+k.letter, fmt.Sprintf("%d station%s, %s: %s", len(k.stations), viewPlural(len(k.stations)), cardStations(k.stations), sectionAbout(&st)))
		}
	})
	if len(w.kinds) == 0 {
		f.para(0, f.body, sheet.Bold, "Nothing is fitted: no station of this panel has parts. Measure, and plan again.")
		f.y += 3 * f.k
		return
	}
	f.named(0, 28*f.k, "shims", w.shimWords())
	f.y += f.k
	f.table(0, f.scaled(0, sheet.Table{Columns: []sheet.Column{{Title: "parts to bring", Width: 98}, {Title: "for", Width: 38}, {Title: "kind", Width: 18},
		{Title: "number", Width: 18, Align: sheet.Right}, {Title: "here", Width: 14}}, Rows: w.partRows()}))
	f.y += f.k
	for _, row := range w.benchRows() {
		f.named(0, 28*f.k, row[0], row[1])
	}
	f.y += 3 * f.k
}

// scaled stretches a table's columns to reach from indent to the right margin.
func (f *cardFlow) scaled(indent float64, t sheet.Table) sheet.Table {
	sum, full := t.Width(), f.right-f.left-indent
	t.Columns = slices.Clone(t.Columns)
	for i := range t.Columns {
		t.Columns[i].Width *= full / sum
	}
	return t
}

// wrong frames what does not hold: a card for such a panel must say so before anything else.
func (f *cardFlow) wrong(w *cardWork) {
	lines := slices.Clone(w.panel.Faults)
	failing, unknown := w.failing()
	lines = append(lines, failing...)
	for _, k := range w.plan.Judge {
		if k.Panel == w.panel.Job.Name || k.Panel == w.panel.Job.ID {
			lines = append(lines, joinSentences("the judge disagrees", "station "+k.Station, k.Check, k.Text))
		}
	}
	if len(lines) > 0 {
		f.framed(0, func(f *cardFlow, in float64) {
			f.para(in, f.big, sheet.Bold, "Does not hold as planned: do not build from this card")
			for _, l := range lines {
				f.para(in, f.body, sheet.Regular, "– "+l)
			}
		})
	}
	if unknown > 0 {
		f.para(0, f.body, sheet.Regular, fmt.Sprintf("Not known: %d kind%s of check that no model here can decide. plan.html lists them; not known is not the same as good.", unknown, viewPlural(unknown)))
		f.y += f.k
	}
}

// failing gives a sentence for each kind of check that does not hold, at its worst place, with what would cure it there; and
// how many kinds are not known somewhere.
func (w *cardWork) failing() (lines []string, unknown int) {
	type worst struct {
		k     setout.Check
		where string
		n     int
	}
	var order []*worst
	missing := map[string]bool{}
	add := func(checks []setout.Check, where string) {
		for _, k := range checks {
			if k.Verdict == setout.NotKnown {
				missing[k.ID] = true
			}
			if k.Verdict != setout.DoesNotHold {
				continue
			}
			i := slices.IndexFunc(order, func(f *worst) bool { return f.k.ID == k.ID })
			if i < 0 {
				i = len(order)
				order = append(order, &worst{k, where, 0})
			} else if worseCheck(k, order[i].k) {
				order[i].k, order[i].where = k, where
			}
			order[i].n++
		}
	}
	add(w.panel.Checks, "")
	for _, st := range w.panel.Stations {
		add(st.Checks, "station "+st.ID)
	}
	for _, f := range order {
		words := f.k.Name
		if !f.k.NoNumber {
			words += fmt.Sprintf(": %s, must be %s %s %s", checkNumber(f.k.Value, f.k.Unit), map[bool]string{true: "≥", false: "≤"}[f.k.AtLeast], checkNumber(f.k.Limit, f.k.Unit), f.k.Unit)
		}
		switch {
		case f.n > 1:
			words += fmt.Sprintf(" (at %d stations, worst at %s)", f.n, f.where)
		case f.where != "":
			words += " (at " + f.where + ")"
		}
		if f.k.Cure != "" {
			words += ": " + f.k.Cure
		}
		lines = append(lines, words)
	}
	return lines, len(missing)
}

// framed draws a heavy frame round a block that fits on a page; a longer one stands without a frame, under a heavy rule.
func (f *cardFlow) framed(indent float64, block func(f *cardFlow, in float64)) {
	pad := 3 * f.k
	inner := func(f *cardFlow) {
		old := f.right
		f.right -= pad
		block(f, indent+pad)
		f.right = old
	}
	h := f.measure(inner)
	pen := sheet.Pen{Width: 1.1 * f.k}
	x0 := f.left + indent
	if h+2*pad > f.bottom-f.top {
		f.add(sheet.Line(viewAt(x0, f.y), viewAt(f.right, f.y), &pen, sheet.LayerTable))
		f.y += pad
		inner(f)
		f.y += pad
		return
	}
	f.need(h + 2*pad)
	f.add(sheet.Rectangle(x0+0.5*f.k, f.y, f.right-x0-f.k, h+2*pad-f.k, &pen, nil, sheet.LayerTable))
	f.y += pad
	inner(f)
	f.y += pad + f.k
}

// cardCautionIn is how far the words of a caution stand in from its sign, mm.
const cardCautionIn = 12.5

// caution sets warnings behind a triangle and a heavy bar.
func (f *cardFlow) caution(indent float64, texts []string) {
	k := f.k
	const tall, bar = 6.5, 10.0
	in := indent + cardCautionIn*k
	h := f.measure(func(f *cardFlow) {
		for _, t := range texts {
			f.para(in, f.body, sheet.Regular, t)
		}
	})
	high := math.Max(h, (tall+0.6)*k)
	f.need(math.Min(high, f.bottom-f.top))
	x := f.left + indent
	f.add(cardTriangle(x+1.5*k, f.y, tall*k)...)
	if f.y+high <= f.bottom {
		f.add(sheet.Line(viewAt(x+bar*k, f.y+0.4*k), viewAt(x+bar*k, f.y+high-0.4*k), &sheet.Pen{Width: 1.1 * k}, sheet.LayerTable))
	}
	page, y := len(f.pages), f.y
	for _, t := range texts {
		f.para(in, f.body, sheet.Regular, t)
	}
	if len(f.pages) == page {
		f.y = math.Max(f.y, y+high)
	}
	f.y += 1.2 * k
}

// cardTriangle is a warning sign, high mm high, its box's upper left corner at (x, y).
func cardTriangle(x, y, high float64) []sheet.Item {
	wide := high * 1.1
	pen := sheet.Pen{Width: high * 0.11}
	return []sheet.Item{
		sheet.Stroke{Path: plane.Polygon(viewAt(x+wide/2, y+high*0.06), viewAt(x+wide, y+high), viewAt(x, y+high)), Pen: &pen, Layer: sheet.LayerTable},
		sheet.Text{At: viewAt(x+wide/2, y+high*0.86), Size: high * 0.72, S: "!", Font: sheet.Bold, Align: sheet.Centre, Layer: sheet.LayerText},
	}
}

// step sets one step: its cautions, its box and number, its lines and its table. The trial fit stands in a heavy frame.
func (f *cardFlow) step(n int, s cardStep) {
	in := cardIndent * f.k
	start := func(f *cardFlow) {
		if len(s.cautions) > 0 {
			f.caution(in-cardCautionIn*f.k, s.cautions)
		}
		f.stepTitle(n, s)
		for i, l := range s.lines {
			if i < 2 {
				f.para(in, f.body, sheet.Regular, l)
			}
		}
	}
	whole := func(f *cardFlow) {
		start(f)
		for i, l := range s.lines {
			if i >= 2 {
				f.para(in, f.body, sheet.Regular, l)
			}
		}
		if len(s.rows) > 0 {
			f.table(in, f.stepTable(s))
		}
		for _, l := range s.after {
			f.para(in, f.body, sheet.Regular, "– "+l)
		}
		f.y += 2.5 * f.k
	}
	if s.stage == cardTrial {
		f.gate(n, s)
		return
	}
	const keepShare = 0.4 // of a page: a step higher than this may run over
	if h := f.measure(whole); h <= keepShare*(f.bottom-f.top) {
		f.need(h)
	} else {
		f.need(math.Min(f.measure(start)+24*f.k, f.bottom-f.top))
	}
	whole(f)
}

func (f *cardFlow) stepTable(s cardStep) sheet.Table {
	t := sheet.Table{Rows: s.rows}
	for i, title := range s.titles {
		c := sheet.Column{Title: title, Width: s.widths[i]}
		if title == "number" || title == "rev/min" || title == "holes" {
			c.Align = sheet.Right
		}
		t.Columns = append(t.Columns, c)
	}
	return f.scaled(cardIndent*f.k, t)
}

func (f *cardFlow) stepTitle(n int, s cardStep) {
	k := f.k
	high := sheet.BlockHeight(1, f.big)
	f.need(high + sheet.BlockHeight(2, f.body))
	f.add(f.tickBox(f.left, f.y, 5.2*k))
	items, _ := sheet.Block(f.left+7.2*k, f.y, 10*k, fmt.Sprint(n), f.big, sheet.Bold)
	f.add(items...)
	f.para(cardIndent*k, f.big, sheet.Bold, s.title)
}

// gate is the trial fit: what to do and the line to sign, in a heavy frame, then what to do where a station does not close.
func (f *cardFlow) gate(n int, s cardStep) {
	k := f.k
	if len(s.cautions) > 0 {
		f.caution((cardIndent-cardCautionIn)*k, s.cautions)
	}
	f.y += k
	f.framed(0, func(f *cardFlow, in float64) {
		size := k * sheet.Letters50
		f.add(f.tickBox(f.left+in, f.y+0.6*k, 7*k))
		num := fmt.Sprint(n)
		items, _ := sheet.Block(f.left+in+9.5*k, f.y, 14*k, num, size, sheet.Bold)
		f.add(items...)
		f.para(in+9.5*k+sheet.TextWidth(num+"  ", size, sheet.Bold), size, sheet.Bold, s.title)
		f.y += k
		for _, l := range s.lines {
			f.para(in, f.body, sheet.Regular, "– "+l)
		}
		f.y += k
		f.para(in, f.big, sheet.Bold, "Do not rivet until every box of the table is filled and every station closes.")
		f.blanks(in, "all filled, all close: signed", "date")
	})
	f.y += k
	if len(s.rows) > 0 {
		f.table(0, f.scaled(0, sheet.Table{Columns: []sheet.Column{{Title: s.titles[0], Width: 13}, {Title: s.titles[1], Width: 38}, {Title: s.titles[2], Width: 135}}, Rows: s.rows}))
	}
	f.y += 3 * k
}

// stationTable is filled in by hand at the trial fit: one row for each station, high enough for a pencil.
func (f *cardFlow) stationTable(w *cardWork) {
	k := f.k
	const rowMin = 9.0
	f.need(40 * k)
	f.para(0, f.big, sheet.Bold, "Stations, as found at the trial fit")
	t := sheet.Table{RowMin: rowMin * k, Strong: []bool{true}, Columns: []sheet.Column{
		{Title: "st.", Width: w.idWidth()}, {Title: "where: tape along the edge, inset", Width: 38}, {Title: "T plan", Width: 16}, {Title: "shims plan", Width: 13.5, Align: sheet.Centre},
		{Title: "deflection plan, range", Width: 22}, {Title: "stack found", Width: 15}, {Title: "depth found", Width: 15},
		{Title: "shims used", Width: 13.5}, {Title: "easy", Width: 11.5}, {Title: "firm", Width: 11}, {Title: "hard", Width: 11.5}, {Title: "ok", Width: 10},
	}}
	for _, st := range w.panel.Stations {
		row := []string{st.ID, w.where(st), "–", "–", "–"}
		if len(st.Stack.Terms) > 0 {
			row[2] = measure.Fixed(st.Stack.Nom, 2)
			if w.plan.Job.Inch {
				row[2] += "\n" + strings.ReplaceAll(measure.Inch(st.Stack.Nom), " ", "\u00a0")
			}
		}
		if st.Choice != nil {
			row[3] = fmt.Sprint(st.Shims)
			row[4] = "by the list"
			if cardBand(st.Close) {
				row[4] = measure.Fixed(st.Close.Delta, 2) + "\n" + measure.Fixed(st.Close.DeltaLo, 2) + "–" + measure.Fixed(st.Close.DeltaHi, 2)
			}
		}
		t.Rows = append(t.Rows, row)
	}
	f.table(0, f.scaled(0, t))
	f.para(0, f.body, sheet.Regular, "Lengths in mm. Easy, firm, hard: how it turns; tick one. Tick ok when it closes and opens again as it should.")
	f.y += 3 * k
}

// idWidth is the width of the column of stations on A4, mm: as the longest of their words asks, within reason.
func (w *cardWork) idWidth() float64 {
	const least, most, pads = 10.5, 24.0, 3.0
	wide := least
	for _, st := range w.panel.Stations {
		for _, word := range strings.Fields(st.ID) {
			wide = math.Max(wide, sheet.TextWidth(word, sheet.Letters25, sheet.Bold)+pads)
		}
	}
	return math.Min(wide, most)
}

// where says how a tape finds a station.
func (w *cardWork) where(st *setout.Station) string {
	if st.Edge == "" {
		return "x " + w.tape(st.At.X) + ", y " + w.tape(st.At.Y)
	}
	return st.Edge + ": " + w.tape(st.Tape) + "\nin " + w.tape(st.TapeInset)
}

// aboutPanel says what the panel is.
func (w *cardWork) aboutPanel() string {
	j := w.panel.Job
	b := j.Outline.Outer.Bounds()
	parts := []string{w.length(b.Width()) + " × " + w.length(b.Height()), "outer " + layerWords(&j.Outer), "inner " + layerWords(&j.Inner)}
	if n := len(w.panel.Stations); n > 0 {
		parts = append(parts, fmt.Sprintf("%d station%s", n, viewPlural(n)))
	}
	if m := w.panel.Load.Mass; m > 0 {
		parts = append(parts, "about "+measure.Kilogram(m))
	}
	return strings.Join(parts, "; ")
}

// shimWords says how many shims go where.
func (w *cardWork) shimWords() string {
	by := map[int][]*setout.Station{}
	most := 0
	for _, k := range w.kinds {
		for _, st := range k.stations {
			by[st.Shims] = append(by[st.Shims], st)
			most = max(most, st.Shims)
		}
	}
	if most == 0 {
		return "none under any receptacle, as planned; the trial fit may ask for some"
	}
	var parts []string
	for n := 1; n <= most; n++ {
		if len(by[n]) > 0 {
			parts = append(parts, fmt.Sprintf("%d at station%s %s", n, viewPlural(len(by[n])), cardStations(by[n])))
		}
	}
	if len(by[0]) > 0 {
		parts = append(parts, "none at the others")
	}
	return strings.Join(parts, "; ")
}

// partRows lists the parts of one panel, each once.
func (w *cardWork) partRows() [][]string {
	type part struct {
		name, use string
		kinds     []string
		n         int
	}
	var order []*part
	add := func(id, name, use, kind string, n int) {
		if n == 0 {
			return
		}
		i := slices.IndexFunc(order, func(p *part) bool { return p.name == name && p.use == use })
		if i < 0 {
			i = len(order)
			order = append(order, &part{name: name, use: use})
		}
		order[i].kinds = cardOnce(append(order[i].kinds, kind))
		order[i].n += n
	}
	for _, k := range w.kinds {
		c, n := k.choice, len(k.stations)
		add(c.Stud.ID, c.Stud.Name, "stud", k.letter, n)
		add(c.Plate.ID, c.Plate.Name, map[bool]string{true: "stud held by", false: "stud's plate"}[c.Plate.Face == stock.PlateNone], k.letter, n)
		add(c.Receptacle.ID, c.Receptacle.Name, "receptacle", k.letter, n)
		if c.PlateRivet != nil {
			add(c.PlateRivet.ID, c.PlateRivet.Name, "plate to panel", k.letter, n*len(c.Plate.Rivets))
		}
		if c.ReceptacleRivet != nil {
			add(c.ReceptacleRivet.ID, c.ReceptacleRivet.Name, "receptacle", k.letter, n*len(c.Receptacle.Rivets))
		}
		shims := 0
		for _, st := range k.stations {
			shims += st.Shims
		}
		if c.Shim != nil {
			add(c.Shim.ID, c.Shim.Name, "under receptacles", k.letter, shims)
		}
		for _, j := range w.panel.Joins {
			if j.WasherDiameter > 0 && slices.ContainsFunc(k.stations, func(st *setout.Station) bool { return st.ID == j.Station }) {
				add("", "backing washer "+measure.MM(j.WasherDiameter)+" × "+measure.MM(j.WasherThickness), "under rivet tails", k.letter, w.jointRivets(j))
			}
		}
	}
	var rows [][]string
	for _, p := range order {
		rows = append(rows, []string{p.name, p.use, strings.Join(p.kinds, " "), fmt.Sprint(p.n), ""})
	}
	return rows
}

// benchRows lists drills, countersinks and tools, as the plan's holes and joints need them.
func (w *cardWork) benchRows() [][2]string {
	var drills, missing, sinks, cutters []string
	sizes := map[string]float64{}
	add := func(d *stock.Drill, words string) {
		if d != nil && sizes[words] == 0 {
			sizes[words] = d.Diameter
			drills = append(drills, words)
		}
	}
	for _, h := range w.panel.Holes {
		add(h.Pilot, cardDrill(h.Pilot))
		add(h.Drill, cardDrill(h.Drill))
		if h.NoDrill != "" {
			missing = append(missing, h.NoDrill)
		}
		if c := h.Countersink; c != nil {
			sinks = append(sinks, fmt.Sprintf("%s°, at least %s", measure.Fixed(c.AngleDeg, 0), measure.MM(c.Diameter)))
		}
		cutters = append(cutters, h.Tool)
	}
	slices.SortStableFunc(drills, func(a, b string) int {
		switch {
		case sizes[a] < sizes[b]:
			return -1
		case sizes[a] > sizes[b]:
			return 1
		}
		return 0
	})
	rows := [][2]string{{"drills", strings.Join(drills, " · ")}}
	for _, m := range cardOnce(missing) {
		rows = append(rows, [2]string{"missing drill", m})
	}
	if sinks = cardOnce(sinks); len(sinks) > 0 {
		rows = append(rows, [2]string{"countersinks", strings.Join(sinks, " · ")})
	}
	tools := cardOnce(append(cutters, w.handTools()...))
	return append(rows, [2]string{"tools", strings.Join(tools, ", ")})
}

// pinCount is how many skin pins the work takes: one in each clamped pilot, later one in each rivet hole of the trial fit.
func (w *cardWork) pinCount() int {
	clamped, rivets := 0, 0
	for _, p := range w.pilotSpots() {
		if p.clamped && len(p.layers) > 1 {
			clamped++
		}
	}
	for _, j := range w.panel.Joins {
		rivets += w.jointRivets(j)
	}
	return max(clamped, rivets)
}

// handTools lists what else has to lie on the bench.
func (w *cardWork) handTools() []string {
	tools := []string{"tape measure", "masking tape", "caliper with depth rod", "clamps"}
	if n := w.pinCount(); n > 0 {
		tools = append(tools, fmt.Sprintf("skin pins (%d)", n))
	}
	tools = append(tools, "deburring tool")
	nose := 0.0
	for _, j := range w.panel.Joins {
		nose = math.Max(nose, j.Rivet.NoseDiameter)
	}
	if len(w.panel.Joins) > 0 {
		tool := "blind rivet tool"
		if nose > 0 {
			tool += " (nose Ø " + measure.MM(nose) + ")"
		}
		tools = append(tools, tool)
	}
	for _, k := range w.kinds {
		if k.choice.Stud.Drive == "tool" {
			tools = append(tools, "driver for the studs")
		}
	}
	if w.laminate() {
		tools = append(tools, "vacuum at the tool", "mask against dust")
	}
	if w.welded {
		tools = append(tools, "welding set and screens")
	}
	return append(tools, "eye protection", "gloves for handling sheets")
}
