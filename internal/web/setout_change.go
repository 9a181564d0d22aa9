package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// changeStations moves, adds, removes or pins stations: the panel's layout becomes one of given places, or the program's again.
func (s *server) changeStations(w http.ResponseWriter, r *http.Request) error {
	rev, from, err := s.sent(r)
	if err != nil {
		return err
	}
	id := r.PathValue("panel")
	// The places are those of the plan that the page showed.
	was, err := s.revisionOf(r, rev, from)
	if err != nil {
		return err
	}
	e, ready := s.panels.of(r.Context(), was, id)
	if err := e.refusal(ready); err != nil {
		return err
	}
	value, note, err := newLayout(r, e)
	if err != nil {
		return err
	}
	text, err := withStations(was, id, value)
	if err != nil {
		return err
	}
	return s.save(w, r, was, from, text, note, address(rev.Vehicle, "p/"+id+"/setout"))
}

// newLayout is the YAML of the panel's stations after the change, "" where the program is to place them, and what was done.
func newLayout(r *http.Request, e *panelPlan) (value, note string, err error) {
	pan := e.plan.Panels[0]
	at := make([]plane.Point, len(pan.Stations))
	ids := make([]string, len(pan.Stations))
	for i, st := range pan.Stations {
		at[i], ids[i] = st.At, st.ID
	}
	do := r.PostForm.Get("do")
	station, notStation := strconv.Atoi(r.PostForm.Get("station"))
	needs := do == "move" || do == "remove" || do == "nudge"
	if needs && (notStation != nil || station < 0 || station >= len(at)) {
		return "", "", refuse(http.StatusBadRequest, "No such station", "Reload the page and choose one that is there.")
	}
	switch do {
	case "unpin":
		return "", "stations placed by the program", nil
	case "pin":
		note = "stations pinned where they stand"
	case "remove":
		if len(at) == 1 {
			return "", "", refuse(http.StatusBadRequest, "The last station", "A panel needs one. Add another before this one goes.")
		}
		note = "station " + ids[station] + " taken away"
		at, ids = slices.Delete(at, station, station+1), slices.Delete(ids, station, station+1)
	case "add":
		p, err := placeOf(r, pan)
		if err != nil {
			return "", "", err
		}
		name := freeID(ids)
		at, ids, note = append(at, p), append(ids, name), "station "+name+" added"
	case "move", "nudge":
		p, err := movedTo(r, e, station, do)
		if err != nil {
			return "", "", err
		}
		at[station], note = p, "station "+ids[station]+" moved"
	default:
		return "", "", refuse(http.StatusBadRequest, "Not done", "Accepted: move, nudge, add, remove, pin, unpin.")
	}
	return layoutYAML(ids, at), note, nil
}

// movedTo is where a station goes: a place of its slide, or so many millimetres along its seat line.
func movedTo(r *http.Request, e *panelPlan, station int, do string) (plane.Point, error) {
	pan := e.plan.Panels[0]
	slide, err := e.slide(station)
	if err != nil {
		return placeOf(r, pan)
	}
	places := slide.Places()
	if do == "nudge" {
		by, err := lengthIn(r, "by")
		if err != nil {
			return plane.Point{}, err
		}
		line := slide.Line()
		s, _, _ := line.Nearest(pan.Stations[station].At)
		return line.At(min(max(s+by, 0), line.Length())), nil
	}
	k, err := strconv.Atoi(r.PostForm.Get("k"))
	if err != nil || k < 0 || k >= len(places) {
		return plane.Point{}, refuse(http.StatusBadRequest, "No such place", "Reload the page and drag again.")
	}
	return places[k].At, nil
}

// placeOf reads x and y, mm in panel coordinates, on the panel.
func placeOf(r *http.Request, pan *setout.Panel) (plane.Point, error) {
	x, err := lengthIn(r, "x")
	if err != nil {
		return plane.Point{}, err
	}
	y, err := lengthIn(r, "y")
	if err != nil {
		return plane.Point{}, err
	}
	p := plane.Point{X: x, Y: y}
	if pan.Job.Outline.Contains(p) != plane.Inside {
		return p, backToSetout(r, "Not on the panel", fmt.Sprintf("x %s, y %s is not inside the outline.", measure.MM(x), measure.MM(y)))
	}
	return p, nil
}

// lengthMost is further than any panel reaches, mm.
const lengthMost = 20_000

var lengthNames = map[string]string{"by": "the distance", "x": "x", "y": "y"}

// lengthIn reads a length of a form as people write it, bare ones in millimetres as the page says beside the field.
func lengthIn(r *http.Request, field string) (float64, error) {
	text := r.PostForm.Get(field)
	q, err := measure.Parser{Units: measure.Units{measure.Length: "mm"}}.Parse(text, measure.Length)
	if err != nil {
		return 0, backToSetout(r, "Not a length", fmt.Sprintf("%s: %q: %v.", lengthNames[field], text, err))
	}
	if math.Abs(q.Value) > lengthMost {
		return 0, backToSetout(r, "Too far", fmt.Sprintf("%q: at most %s either way.", text, measure.MM(lengthMost)))
	}
	return q.Value, nil
}

// backToSetout refuses what a form of the set-out asked for, and leads back there.
func backToSetout(r *http.Request, title, words string) error {
	return refuse(http.StatusBadRequest, title, "%s Accepted: a length such as 12.5, -5 mm or 3/4 in.", words).back("/v/"+r.PathValue("v")+"/p/"+r.PathValue("panel")+"/setout", "To the set-out")
}

// freeID is the first number that no station has.
func freeID(ids []string) string {
	for n := 1; ; n++ {
		if s := strconv.Itoa(n); !slices.Contains(ids, s) {
			return s
		}
	}
}

// layoutYAML writes given stations to 1e-7 mm: an order below what the checks take for the same length, so
// that what held where the program placed it holds there when it is given.
func layoutYAML(ids []string, at []plane.Point) string {
	n := func(v float64) string {
		v = math.Round(v*1e7)/1e7 + 0 // no −0
		return strconv.FormatFloat(v, 'f', -1, 64) + " mm"
	}
	var items []string
	for i := range ids {
		items = append(items, fmt.Sprintf("{ id: %s, at: [ %s, %s ] }", edit.Scalar(ids[i]), n(at[i].X), n(at[i].Y)))
	}
	return "{ given: [ " + strings.Join(items, ", ") + " ] }"
}

// withStations writes a panel's stations into the job's text; "" takes them out.
func withStations(v Revision, panel, value string) (string, error) {
	j, _ := job.Read("job.yaml", []byte(v.Text), v.Open)
	n := -1
	if j != nil {
		n = slices.IndexFunc(j.Panels, func(p *job.Panel) bool { return p.ID == panel })
	}
	if n < 0 {
		return "", refuse(http.StatusNotFound, "No such panel", "This vehicle has no panel of that name.")
	}
	path := fmt.Sprintf("panels[%d].stations", n+1)
	if value == "" {
		out, err := edit.Delete([]byte(v.Text), path)
		return string(out), err
	}
	out, err := edit.Set([]byte(v.Text), path, value)
	return string(out), err
}
