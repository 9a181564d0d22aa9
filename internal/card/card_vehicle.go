package card

import (
	"fmt"
	"math"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Height of the map on the page for the vehicle, mm on A4: what it keeps while its words can still shrink.
const (
	cardMapMin  = 70.0
	cardMapWant = 100.0
)

// vehicle draws the page that goes to the vehicle: the map as large as its words leave room, then the orders and checks. The
// words shrink before the map does; where even small words leave it too little, the orders are given by their rule alone.
func (f *cardFlow) vehicle(w *cardWork) []sheet.Item {
	k := f.k
	g := newCardFlow(sheet.Paper{W: f.w, H: f.h}, f.several)
	b := w.panel.Job.Outline.Outer.Bounds()
	want := math.Max(cardMapMin*k, math.Min(cardMapWant*k, (g.right-g.left)*b.Height()/b.Width()))
	var words func(*cardFlow)
	high := math.Inf(1)
	for _, try := range []struct {
		size, keep float64
		lists      bool
	}{{sheet.Letters50, want, true}, {sheet.Letters35, want, true}, {sheet.Letters25, cardMapMin * k, true}, {sheet.Letters25, 0, false}} {
		words = func(f *cardFlow) { f.vehicleWords(w, try.size*k, try.lists) }
		high = g.measure(words)
		if high <= g.bottom-g.top-try.keep {
			break
		}
	}
	room := plane.Box{Min: drawing.At(g.left, g.top), Max: drawing.At(g.right, math.Max(g.top+30*k, g.bottom-high))}
	g.add(vehicleMap(w, room, k)...)
	g.y = room.Max.Y
	g.bottom = math.Inf(1) // one page, whatever it holds: measured above
	words(g)
	return g.pages[0]
}

// vehicleMap draws the panel with its stations and witness marks, enlarged so that it reads at arm's length: of the usual
// enlargements the one that shows the panel largest.
func vehicleMap(w *cardWork, room plane.Box, k float64) []sheet.Item {
	marks := drawing.PanelMarks{KeepOuts: true, Witness: true, Front: true, EdgeName: true}
	const size = sheet.Letters25
	room.Max.Y -= 1.4 * size * k // for what the map had no room to write
	b := w.panel.Job.Outline.Outer.Bounds()
	low, high := marks.Border(w.plan.Job)
	enlarge, most := 0.0, 0.0
	for _, e := range []float64{1.8, 1.75, 1.7, 1.65, 1.6, 1.55, 1.5, 1.45, 1.4, 1.35, 1.3} {
		scale := e * drawing.FitScale(b.Width(), b.Height(), room.Width()/(e*k)-low-high, room.Height()/(e*k)-low-high, 1)
		if scale > 1.01*most {
			enlarge, most = e*k, scale
		}
	}
	best := drawing.DrawPanel(w.plan.Job, w.panel, plane.Box{Max: drawing.At(room.Width()/enlarge, room.Height()/enlarge)}, marks)
	items := cardEnlarge(best.Canvas.Items, enlarge, room.Min)
	if n := len(best.Bare); n > 0 {
		words, s := sheet.FitText(fmt.Sprintf("%d without its number on the map: %s", n, strings.Join(best.Bare, ", ")), room.Width(), size*k, size*k, sheet.Regular)
		items = append(items, sheet.Text{At: drawing.At(room.Min.X, room.Max.Y+size*k), Size: s, S: words, Layer: sheet.LayerText})
	}
	return items
}

// cardEnlarge scales marks by k and moves their origin to at.
func cardEnlarge(items []sheet.Item, k float64, at plane.Point) []sheet.Item {
	v := func(p plane.Point) plane.Point { return at.Add(p.Scale(k)) }
	path := func(p plane.Path) plane.Path {
		out := plane.Path{Closed: p.Closed, V: make([]plane.Vertex, len(p.V))}
		for i, a := range p.V {
			out.V[i] = plane.Vertex{Point: v(a.Point), Bulge: a.Bulge}
		}
		return out
	}
	pen := func(p sheet.Pen) sheet.Pen {
		dash := make([]float64, len(p.Dash))
		for i, d := range p.Dash {
			dash[i] = d * k
		}
		p.Width *= k
		p.Dash = dash
		return p
	}
	penAt := func(p *sheet.Pen) *sheet.Pen {
		if p == nil {
			return nil
		}
		q := pen(*p)
		return &q
	}
	out := make([]sheet.Item, 0, len(items))
	for _, it := range items {
		switch it := it.(type) {
		case sheet.Stroke:
			it.Path, it.Pen = path(it.Path), penAt(it.Pen)
			out = append(out, it)
		case sheet.Circle:
			it.At, it.R, it.Pen = v(it.At), it.R*k, penAt(it.Pen)
			out = append(out, it)
		case sheet.Text:
			it.At, it.Size = v(it.At), it.Size*k
			out = append(out, it)
		case sheet.Hatch:
			r := plane.Region{Outer: path(it.Region.Outer)}
			for _, c := range it.Region.CutOuts {
				r.CutOuts = append(r.CutOuts, path(c))
			}
			it.Region, it.Pitch, it.Pen = r, it.Pitch*k, pen(it.Pen)
			out = append(out, it)
		case sheet.Clip:
			corner := v(drawing.At(it.X, it.Y))
			out = append(out, sheet.Clip{X: corner.X, Y: corner.Y, W: it.W * k, H: it.H * k, Items: cardEnlarge(it.Items, k, at)})
		default:
			panic(fmt.Sprintf("drawing: cannot enlarge a %T", it))
		}
	}
	return out
}

// vehicleWords is all that stands under the map.
func (f *cardFlow) vehicleWords(w *cardWork, size float64, lists bool) {
	k := f.k
	f.y += 2 * k
	if len(w.kinds) == 0 {
		f.para(0, size, sheet.Bold, cardNotToVehicle)
		return
	}
	f.para(0, f.body, sheet.Regular, cardWitnessWords)
	f.y += k
	f.orders(w, size, lists)
	f.retention(w, size)
	for _, t := range w.cautions[cardVehicle] {
		f.caution(0, []string{t})
	}
	f.recheck(w)
}

// cardOrder is an order in which stations are closed or opened, with its rule.
type cardOrder struct {
	name, rule string
	list       []*setout.Station
}

// orders gives the orders of closing and opening.
func (w *cardWork) orders() []cardOrder {
	j := w.panel.Job
	closing := cardClosing(w.panel, w.sealed)
	openRule := cardOpenRule
	opening := cardOpening(closing, "")
	if j.Front != "" && w.plan.Job.Conditions.TopSpeed.Value > 0 || j.OpensForward {
		if o := cardOpening(closing, j.Front); j.Front != "" && len(o) > 0 && o[len(o)-1].Edge == j.Front {
			opening, openRule = o, fmt.Sprintf(cardOpenEdgeRule, j.Front)
		}
	}
	return []cardOrder{{"close", cardClosingRule(w.panel, w.sealed), closing}, {"open", openRule, opening}}
}

// orders sets them.
func (f *cardFlow) orders(w *cardWork, size float64, lists bool) {
	for _, o := range w.orders() {
		column := 22 * f.k
		items, h := sheet.Block(f.left, f.y, column, o.name, f.k*sheet.Letters50, sheet.Bold)
		f.add(items...)
		y := f.y
		f.y += (h - sheet.BlockHeight(1, f.body)) / 2
		f.para(column, f.body, sheet.Regular, o.rule)
		if lists {
			ids := make([]string, len(o.list))
			for i, st := range o.list {
				ids[i] = strings.ReplaceAll(st.ID, " ", "\u00a0")
			}
			f.para(column, size, sheet.Bold, strings.Join(ids, "\u00a0· "))
		}
		f.y = math.Max(f.y, y+h) + f.k
	}
	f.para(0, f.small, sheet.Regular, cardOrderSource)
	f.y += f.k
}

// retention asks for what holds the panel when every station has let go; strong where the wind can lift it. Empty: no need.
func (w *cardWork) retention() (words string, strong bool) {
	speed := w.plan.Job.Conditions.TopSpeed.Value
	switch {
	case w.panel.Job.OpensForward:
		return "The wind can lift this panel: it opens forwards. Fit a second retention (a latch, pin or lanyard) that holds it when every station has let go.", true
	case speed > 0:
		return fmt.Sprintf("This panel meets wind up to %s. Decide whether it needs a second retention (a latch, pin or lanyard):", measure.MetrePerSecond(speed)), false
	}
	return "", false
}

func (f *cardFlow) retention(w *cardWork, size float64) {
	words, strong := w.retention()
	if words == "" {
		return
	}
	f.add(f.tickBox(f.left, f.y+0.3*f.k, 6*f.k))
	font := sheet.Regular
	if strong {
		font = sheet.Bold
	}
	f.para(9*f.k, math.Min(size, f.big), font, words)
	f.blanks(9*f.k, "what, and where", "checked")
	f.y += f.k
}

const (
	cardNotToVehicle = "No station of this panel has parts. Do not take it to the vehicle."
	cardWitnessWords = "Bar across a station: its witness mark. Locked, the paint on head and panel stands in one line, along the bar. Not in line: not locked."
	cardRecheckTitle = "Check every station again after the first run, then at each service"
)

// recheck is the log of checks on the vehicle.
func (f *cardFlow) recheck(w *cardWork) {
	k := f.k
	f.para(0, f.big, sheet.Bold, cardRecheckTitle)
	t := sheet.Table{RowMin: 8.5 * k}
	for i, title := range cardRecheckColumns {
		t.Columns = append(t.Columns, sheet.Column{Title: title, Width: []float64{34, 40, 36, 44, 32}[i]})
	}
	for _, when := range cardRecheckRows {
		t.Rows = append(t.Rows, []string{when})
	}
	f.table(0, f.scaled(0, t))
}

// What the log of checks on the vehicle asks for, and when.
var (
	cardRecheckColumns = []string{"when", "all witness marks in line", "seam shut all round", "stations that had moved", "signed, date"}
	cardRecheckRows    = []string{"as fitted", "after the first run", "service"}
)
