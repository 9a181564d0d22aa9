package card

import (
	"bytes"
	_ "embed" // the page's template and style
	"fmt"
	"html/template"
	"io"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/report"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

//go:embed page/card.html.tmpl
var htmlTemplate string

//go:embed page/card.css
var htmlStyle string

var htmlPage = template.Must(template.New("card").Parse(htmlTemplate))

// HTML writes the work card of one panel as a page of its own, to print or to fill in on a screen: the steps, tables and
// pictures of card.pdf, with boxes. It loads nothing, has no script, and keeps nothing that is filled in.
func HTML(w io.Writer, p *setout.Plan, panel *setout.Panel) error {
	doc, err := htmlDocOf(cardWorkOf(p, panel))
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
	Form                               bool // of a page that keeps what is filled in
	given                              func(Box) Given
	Name, About, Scope                 string
	CSS                                template.CSS
	Sample                             bool
	Quantity                           int
	WrongTitle, DoubtTitle, DoubtWords string
	AgainTitle                         string
	Again, Wrong, Doubts               []string
	Unknown                            string
	Cautions, VehicleCautions          []string
	FittedTitle, MapWords, Nothing     string
	Map                                template.HTML
	Fitted, Bench                      [][2]string
	Parts                              [][]string
	Steps                              []htmlStep
	StationTitle, StationWords         string
	Stations                           []htmlStation
	Boxes, Ticks                       []string
	Witness, OrderSource, NotToVehicle string
	Orders                             []htmlOrder
	Retention                          string
	Strong                             bool
	RecheckTitle                       string
	RecheckColumns, RecheckRows        []string
}

// boxShims is the reading that is a count.
const boxShims = "shims used"

type htmlStep struct {
	No               int
	Title, GateTitle string
	Trial            string // what stands before the signature; empty for other steps
	Long             bool   // may run over a page's end
	Cautions, Gates  []string
	Lines, After     []string
	Columns          []htmlColumn
	Rows             [][]string
	Pictures         []htmlPicture
}

type htmlColumn struct {
	Title  string
	Number bool
}

type htmlPicture struct {
	Figure  template.HTML
	Caption string
	Width   template.CSS // mm
}

type htmlStation struct{ ID, Kind, Where, Holes, Stack, Shims, Deflection string }

type htmlOrder struct{ Name, Rule, List string }

func htmlDocOf(w *cardWork) (htmlDoc, error) {
	j := w.plan.Job
	doc := htmlDoc{
		Name: w.panel.Job.Name, About: j.Name, Scope: report.Scope, CSS: template.CSS(report.Style() + htmlStyle), Sample: j.Sample,
		Quantity: w.panel.Job.Quantity, AgainTitle: drawing.Again, Again: j.MeasureAgain(w.panel.Job), WrongTitle: cardWrongTitle, DoubtTitle: cardDoubtTitle, DoubtWords: cardDoubtWords,
		Doubts: w.doubtful(), Cautions: w.cautions[cardFirst], VehicleCautions: w.cautions[cardVehicle], FittedTitle: cardFittedTitle,
		Fitted: w.fitted(), StationTitle: cardStationTitle, StationWords: cardStationWords,
		Boxes: []string{"stack found", "depth found", boxShims}, Ticks: []string{"easy", "firm", "hard", "ok"},
		Witness: cardWitnessWords, OrderSource: cardOrderSource, NotToVehicle: cardNotToVehicle, RecheckTitle: cardRecheckTitle,
		RecheckColumns: cardRecheckColumns, RecheckRows: cardRecheckRows,
	}
	if j.Date != "" {
		doc.About += " · " + j.Date
	}
	var unknown int
	if doc.Wrong, unknown = w.wrong(); unknown > 0 {
		doc.Unknown = cardUnknownWords(unknown)
	}
	var err error
	if doc.Map, err = w.htmlMap(); err != nil {
		return doc, err
	}
	doc.MapWords = "The panel seen from outside, to scale, with its stations and their tape distances."
	if len(w.kinds) == 0 {
		doc.Nothing = cardNothing
	} else {
		doc.Fitted = append(doc.Fitted, [2]string{"shims", w.shimWords()})
		doc.Parts, doc.Bench = w.partRows(), w.benchRows()
	}
	for i, s := range w.steps {
		hs, err := htmlStepOf(i+1, s)
		if err != nil {
			return doc, err
		}
		doc.Steps = append(doc.Steps, hs)
	}
	doc.Stations = w.htmlStations()
	for _, o := range w.orders() {
		ids := make([]string, len(o.list))
		for i, st := range o.list {
			ids[i] = st.ID
		}
		doc.Orders = append(doc.Orders, htmlOrder{strings.ToUpper(o.name[:1]) + o.name[1:], o.rule, strings.Join(ids, " · ")})
	}
	doc.Retention, doc.Strong = w.retention()
	return doc, nil
}

// htmlMap is the panel to scale, as plan.html has it.
func (w *cardWork) htmlMap() (template.HTML, error) {
	view := drawing.PanelViewFull
	view.Title = false
	return htmlFigure(drawing.PanelSheet(w.plan.Job, w.panel, view), "map",
		fmt.Sprintf("%s to scale with its %d stations, cut-outs and tape distances", w.panel.Job.Name, len(w.panel.Stations)))
}

func htmlFigure(s sheet.Sheet, id, label string) (template.HTML, error) {
	var b bytes.Buffer
	if err := sheet.SVGFragment(&b, s, sheet.Fragment{ID: id, Label: label}); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}

// htmlStepOf is a step of the card as the page has it. One with a long table may run over a page's end when it is printed.
func htmlStepOf(no int, s cardStep) (htmlStep, error) {
	const longRows = 14
	hs := htmlStep{No: no, Title: s.title, GateTitle: cardGateTitle(s), Cautions: s.cautions, Gates: s.gates, Lines: s.lines, After: s.after,
		Long: len(s.rows) > longRows || len(s.pictures) > 3}
	if s.stage == cardTrial {
		hs.Trial = cardTrialWords
	}
	for _, row := range s.rows {
		cells := make([]string, len(row))
		for i, c := range row {
			cells[i] = strings.ReplaceAll(c, " mm", "\u00a0mm")
		}
		hs.Rows = append(hs.Rows, cells)
	}
	for _, t := range s.titles {
		hs.Columns = append(hs.Columns, htmlColumn{t, cardNumberColumn(t)})
	}
	for i, p := range s.pictures {
		figure, err := htmlFigure(p.sheet, fmt.Sprintf("picture-%d-%d", no, i+1), p.label)
		if err != nil {
			return hs, err
		}
		hs.Pictures = append(hs.Pictures, htmlPicture{figure, p.caption, template.CSS(measure.Fixed(p.sheet.W, 1))})
	}
	return hs, nil
}

// htmlStations are the rows of the station table.
func (w *cardWork) htmlStations() []htmlStation {
	var out []htmlStation
	rows := w.stationRows()
	for i, st := range w.panel.Stations {
		r := rows[i]
		hs := htmlStation{ID: r[0], Where: r[1], Stack: r[2], Shims: r[3], Deflection: r[4], Holes: w.stationHoles(st)}
		for _, k := range w.kinds {
			if st.Choice == k.choice {
				hs.Kind = k.letter
			}
		}
		out = append(out, hs)
	}
	return out
}

// stationHoles lists what is drilled at a station, layer by layer: the same holes once, with their number.
func (w *cardWork) stationHoles(st *setout.Station) string {
	var rows [][]string
	for _, h := range w.panel.Holes {
		if h.Station != st.ID || h.Operation {
			continue
		}
		size := "Ø " + measure.Fixed(holeDiameter(h), 2)
		if h.Length > 0 {
			size = measure.Fixed(h.Length, 1) + " × " + measure.Fixed(h.Width, 1)
		}
		rows = append(rows, []string{h.Layer, "", size})
	}
	var lines []string
	layer := ""
	for _, r := range cardTally(rows, 1) {
		words := strings.ReplaceAll(r[2], " ", "\u00a0")
		if r[1] != "1" {
			words = r[1] + "\u00a0×\u00a0" + words
		}
		if r[0] == layer {
			lines[len(lines)-1] += ", " + words
			continue
		}
		layer = r[0]
		lines = append(lines, layer+" "+words)
	}
	return strings.Join(lines, "\n")
}
