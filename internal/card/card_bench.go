package card

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// aboutPanel says what the panel is.
func (w *cardWork) aboutPanel() string {
	j := w.panel.Job
	b := j.Outline.Outer.Bounds()
	parts := []string{w.length(b.Width()) + " × " + w.length(b.Height()), "outer " + drawing.LayerWords(&j.Outer), "inner " + drawing.LayerWords(&j.Inner)}
	if n := len(w.panel.Stations); n > 0 {
		parts = append(parts, fmt.Sprintf("%d station%s", n, drawing.Plural(n)))
	}
	if m := w.panel.Load.Mass; m > 0 {
		parts = append(parts, "about "+measure.Kilogram(m))
	}
	return strings.Join(parts, "; ")
}

const (
	cardFittedTitle = "What is fitted here"
	cardNothing     = "Nothing is fitted: no station of this panel has parts. Measure, and plan again."
)

// fitted says what the panel and each kind of its stations are.
func (w *cardWork) fitted() [][2]string {
	rows := [][2]string{{"panel", w.aboutPanel()}}
	for _, k := range w.kinds {
		st := *k.stations[0]
		st.Shims = 0
		rows = append(rows, [2]string{"kind " + k.letter, fmt.Sprintf("%d station%s, %s: %s", len(k.stations), drawing.Plural(len(k.stations)), cardStations(k.stations), drawing.SectionAbout(&st))})
	}
	return rows
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
	if most == 0 && !slices.ContainsFunc(w.kinds, func(k cardKind) bool { return k.choice.Receptacle.Fixing != stock.Welded }) {
		return "none: every receptacle is welded on"
	}
	if most == 0 {
		return "none under any receptacle, as planned; the trial fit may ask for some"
	}
	var parts []string
	for n := 1; n <= most; n++ {
		if len(by[n]) > 0 {
			parts = append(parts, fmt.Sprintf("%d at station%s %s", n, drawing.Plural(len(by[n])), cardStations(by[n])))
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
