package web

import (
	"cmp"
	"encoding/json"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/fault"
	"panelwright/internal/plane"
	"panelwright/internal/report"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// sceneEdge is the room around a panel in its picture, as a share of its greater side.
const sceneEdge = 0.07

// scene is a panel to be handled: everything in page coordinates, one unit to the millimetre, y downwards.
type scene struct {
	W, H             float64
	Thin, Bold, Ring float64 // widths and sizes that suit the panel's size
	Letter           float64
	Outline          []string
	KeepOuts         []sceneShape
	Seats            []string
	Edges            []sceneText
	Stations         []sceneStation
	Axes             sceneAxes
	Reach            string // where x and y begin and end
}

// sceneAxes are the arrows of x and y.
type sceneAxes struct {
	Path string
	X, Y sceneText
}

type sceneShape struct {
	Name, Path string
	X, Y       float64 // where its name stands
}

type sceneText struct {
	Text string
	X, Y float64
}

// sceneStation is one station to drag, or to move with the keys.
type sceneStation struct {
	Index   int
	ID      string
	X, Y    float64
	TextX   float64 // of its number, from the station towards the middle of the panel
	TextY   float64
	Label   string // for those who do not see the picture
	Pinned  bool
	Verdict string
	Class   string
	Rows    stationRow
}

// stationRow is a station in the table.
type stationRow struct {
	Where          string // by tape
	Wire, WireMost string
	Share          float64 // of the limit, 0 to 1 and beyond; −1: not known
	Margin         string
}

// sceneOf draws a planned panel.
func sceneOf(l look, p *setout.Plan, pan *setout.Panel) *scene {
	box := pan.Job.Outline.Bounds()
	size := math.Max(box.Width(), box.Height())
	edge := sceneEdge * size
	v := sheet.View{Scale: 1, Origin: plane.Point{X: edge - box.Min.X, Y: edge + box.Max.Y}}
	s := &scene{W: box.Width() + 2*edge, H: box.Height() + 2*edge, Thin: size / 500, Bold: size / 220, Ring: size / 55, Letter: size / 42}
	for _, path := range pan.Job.Outline.Paths() {
		s.Outline = append(s.Outline, pathData(v.Path(path)))
	}
	for _, k := range pan.Job.KeepOuts {
		b := k.Region.Bounds()
		at := v.Map(b.Min.Add(b.Max).Scale(0.5))
		s.KeepOuts = append(s.KeepOuts, sceneShape{k.Name, pathData(v.Path(k.Region)), at.X, at.Y})
	}
	for _, q := range pan.SeatLines {
		s.Seats = append(s.Seats, pathData(v.Path(q.Path)))
	}
	for _, e := range pan.Job.Edges {
		mid := (e.From + e.To) / 2
		at, t := pan.Job.Outline.Outer.At(mid), pan.Job.Outline.Outer.Tangent(mid)
		at = v.Map(at.Add(plane.Point{X: t.Y, Y: -t.X}.Scale(edge * 0.55)))
		s.Edges = append(s.Edges, sceneText{e.Name, at.X, at.Y})
	}
	s.Axes = axesAt(v.Map(box.Min).Add(plane.Point{X: -edge / 2, Y: edge / 2}), edge)
	s.Reach = fmt.Sprintf("x runs to the right from %s at the leftmost edge to %s, y upwards from %s at the lowest to %s.", l.Length(box.Min.X), l.Length(box.Max.X), l.Length(box.Min.Y), l.Length(box.Max.Y))
	for i, st := range pan.Stations {
		at := v.Map(st.At)
		row := rowOf(l, p, pan, i)
		verdict, class := stationVerdict(st)
		number := plane.Point{X: s.W / 2, Y: s.H / 2}.Sub(at)
		if far := math.Hypot(number.X, number.Y); far > 0 {
			number = number.Scale((s.Ring + s.Letter) / far)
		}
		s.Stations = append(s.Stations, sceneStation{
			Index: i, ID: st.ID, X: at.X, Y: at.Y, TextX: math.Round(number.X*10) / 10, TextY: math.Round(number.Y*10) / 10, Pinned: st.Given, Verdict: verdict, Class: class, Rows: row,
			Label: fmt.Sprintf("Station %s, %s, %s", st.ID, row.Where, verdict),
		})
	}
	return s
}

// axesAt draws the directions of x and y at a corner outside the panel, on the page.
func axesAt(at plane.Point, edge float64) sceneAxes {
	long, head := edge*0.9, edge*0.12
	n := func(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }
	x, y := at.X+long, at.Y-long
	return sceneAxes{
		Path: "M" + n(at.X) + " " + n(y) + "V" + n(at.Y) + "H" + n(x) +
			"M" + n(x-head) + " " + n(at.Y-head/2) + "L" + n(x) + " " + n(at.Y) + "L" + n(x-head) + " " + n(at.Y+head/2) +
			"M" + n(at.X-head/2) + " " + n(y+head) + "L" + n(at.X) + " " + n(y) + "L" + n(at.X+head/2) + " " + n(y+head),
		X: sceneText{"x", x + edge*0.15, at.Y + edge*0.12}, Y: sceneText{"y", at.X, y - edge*0.1},
	}
}

// rowOf is a station's line of figures.
func rowOf(l look, p *setout.Plan, pan *setout.Panel, i int) stationRow {
	st := pan.Stations[i]
	row := stationRow{Where: drawing.TapeOf(pan, st).Words(l.Length), Share: -1, Margin: "not known"}
	if k := checkOf(st.Checks, checkWire); k != nil && k.Limit > 0 {
		row.Share = k.Value / k.Limit
		row.Wire, row.WireMost = l.Figure(k.Value, k.Unit), l.Figure(k.Limit, k.Unit)
		row.Margin = fmt.Sprintf("%.0f %%", 100*k.Margin)
	}
	return row
}

// checkWire is the check whose limit a dragged station is held against.
const checkWire = "wire-force-loaded"

func checkOf(all []setout.Check, id string) *setout.Check {
	for i := range all {
		if all[i].ID == id {
			return &all[i]
		}
	}
	return nil
}

// stationVerdict is the worst of a station's checks, in words, with a class for its sign.
func stationVerdict(st *setout.Station) (words, class string) {
	worst := setout.Holds
	for _, k := range st.Checks {
		switch {
		case k.Verdict == setout.DoesNotHold:
			worst = setout.DoesNotHold
		case k.Verdict == setout.NotKnown && worst == setout.Holds:
			worst = setout.NotKnown
		}
	}
	return worst.String(), verdictClass(worst)
}

func verdictClass(v setout.Verdict) string {
	return map[setout.Verdict]string{setout.Holds: "holds", setout.DoesNotHold: "fails", setout.NotKnown: "unsure"}[v]
}

// pathData writes a path on the page as SVG path data, arcs as arcs.
func pathData(p plane.Path) string {
	if len(p.V) == 0 {
		return ""
	}
	var b strings.Builder
	n := func(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64) }
	fmt.Fprintf(&b, "M%s %s", n(p.V[0].X), n(p.V[0].Y))
	for _, g := range p.Segs() {
		if !g.IsArc() {
			fmt.Fprintf(&b, "L%s %s", n(g.B.X), n(g.B.Y))
			continue
		}
		sweep := 0
		if g.Bulge > 0 {
			sweep = 1
		}
		r := n(g.Radius())
		m := g.At(0.5) // in halves, so that no arc is longer than half a circle
		fmt.Fprintf(&b, "A%s %s 0 0 %d %s %sA%s %s 0 0 %d %s %s", r, r, sweep, n(m.X), n(m.Y), r, r, sweep, n(g.B.X), n(g.B.Y))
	}
	if p.Closed {
		b.WriteByte('Z')
	}
	return b.String()
}

// limitRow is one limit of the panel that has a number, those that leave least first.
type limitRow struct {
	Name, Where, Value, Limit, Margin, Verdict, Class, Cure string
	margin                                                  float64
}

// limitsOf lists what governs: limits that do not hold first, then by what they leave.
func limitsOf(l look, pan *setout.Panel, most int) []limitRow {
	best := map[string]limitRow{}
	add := func(k setout.Check, where string) {
		if k.NoNumber || math.IsNaN(k.Margin) {
			return
		}
		r := limitRow{Name: k.Name, Where: where, Value: l.Figure(k.Value, k.Unit), Limit: l.Figure(k.Limit, k.Unit), Margin: fmt.Sprintf("%.0f %%", 100*k.Margin),
			Verdict: k.Verdict.String(), Class: verdictClass(k.Verdict), Cure: k.Cure, margin: k.Margin}
		if o, ok := best[k.ID]; !ok || r.margin < o.margin {
			best[k.ID] = r
		}
	}
	for _, k := range pan.Checks {
		add(k, "panel")
	}
	for _, st := range pan.Stations {
		for _, k := range st.Checks {
			add(k, "station "+st.ID)
		}
	}
	var out []limitRow
	for _, r := range best {
		out = append(out, r)
	}
	slices.SortFunc(out, func(a, b limitRow) int {
		if c := cmp.Compare(a.margin, b.margin); c != 0 {
			return c
		}
		return strings.Compare(a.Name, b.Name)
	})
	return out[:min(most, len(out))]
}

// slideReply is what a script is told of a station at a place.
type slideReply struct {
	K       int       `json:"k"`
	X       float64   `json:"x"` // in the picture
	Y       float64   `json:"y"`
	Where   string    `json:"where"`
	Gap     float64   `json:"gap_mm"`
	GapText string    `json:"gap"`
	GapCase string    `json:"gap_case"`
	Wire    []string  `json:"wire"`
	Share   []float64 `json:"share"` // of the limit, by station; −1 not known
	Line    []float64 `json:"line"`  // greatest gap along the seat line, mm
	Loose   string    `json:"loose"`
}

// slidePlaces is what a script is told when a station is taken up.
type slidePlaces struct {
	Station  int          `json:"station"`
	At       int          `json:"at"`
	Places   [][2]float64 `json:"places"` // in the picture
	S        []float64    `json:"s"`      // mm along the seat line
	GapLimit float64      `json:"gap_limit_mm"`
	LimitTxt string       `json:"gap_limit"`
	Valid    bool         `json:"valid"`
	Why      string       `json:"why"`
}

// viewOf is the picture's view: sceneOf's.
func viewOf(pan *setout.Panel) sheet.View {
	box := pan.Job.Outline.Bounds()
	edge := sceneEdge * math.Max(box.Width(), box.Height())
	return sheet.View{Scale: 1, Origin: plane.Point{X: edge - box.Min.X, Y: edge + box.Max.Y}}
}

// setoutBody is the set-out page's own.
type setoutBody struct {
	Rev      int
	Ready    bool
	Words    string     // why there is no plan
	Faults   fault.List // of the job
	Scene    *scene
	Limits   []limitRow
	Tally    *panelView // how many limits hold, and the first that do not
	Seams    []report.SeamFigure
	Bearing  template.HTML
	Why      string // what the panel model cannot say
	Pinned   bool
	Gap      string
	GapCase  string
	GapLimit string
	History  []string
}

func writeJSON(w http.ResponseWriter, v any) error {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	text, err := json.Marshal(v)
	if err != nil {
		return err
	}
	_, err = w.Write(append(text, '\n'))
	return ignoreGone(err)
}
