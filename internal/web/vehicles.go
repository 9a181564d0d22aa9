package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/fault"
	"panelwright/internal/form"
	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// nameMax bounds the name of a vehicle or a panel, in letters.
const nameMax = 80

type vehiclesView struct {
	Vehicles, Away []Vehicle
}

// vehicles is the first page: what is kept in the book.
func (s *server) vehicles(w http.ResponseWriter, r *http.Request) error {
	all, err := s.Book.Vehicles(r.Context())
	if err != nil {
		return err
	}
	var view vehiclesView
	for _, v := range all {
		if v.Archived {
			view.Away = append(view.Away, v)
		} else {
			view.Vehicles = append(view.Vehicles, v)
		}
	}
	s.show(w, r, http.StatusOK, "vehicles", page{Title: "Vehicles", Body: view})
	return nil
}

// newVehicle begins a job: a name, and nothing assumed but what formats.md says of the shortest job.
func (s *server) newVehicle(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	name, err := nameOf(r.PostForm.Get("name"), "The vehicle")
	if err != nil {
		return err
	}
	units := "mm"
	if r.PostForm.Get("units") == "inch" {
		units = "inch"
	}
	text := fmt.Sprintf("job:\n  name: %s\n  units: %s\n  drills: any size\n", edit.Scalar(name), units)
	id, err := s.Book.Create(r.Context(), Content{Name: name, Text: text, Note: "made"}, s.at())
	if err != nil {
		return err
	}
	see(w, r, address(id, ""), "made")
	return nil
}

// nameOf cleans a name that a person typed.
func nameOf(text, what string) (string, error) {
	name := strings.Join(strings.Fields(text), " ")
	switch n := len([]rune(name)); {
	case n == 0:
		return "", refuse(http.StatusUnprocessableEntity, "No name", "%s needs a name. Go back and give it one.", what)
	case n > nameMax:
		return "", refuse(http.StatusUnprocessableEntity, "Long name", "A name has at most %d letters, this one has %d. Go back and shorten it.", nameMax, n)
	}
	return name, nil
}

func (s *server) archive(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	if err := readForm(r); err != nil {
		return err
	}
	away := r.PostForm.Get("away") == "yes"
	if err := s.Book.Archive(r.Context(), v.Vehicle, away); err != nil {
		return err
	}
	see(w, r, "/", map[bool]string{true: "away", false: "back"}[away])
	return nil
}

// copiesAtOnce bounds how many copies are sent at a time: each stands on the disk beside the book until it is sent.
const copiesAtOnce = 2

// bookCopy gives the whole book as a file, taken while it is in use.
func (s *server) bookCopy(w http.ResponseWriter, r *http.Request) error {
	select {
	case s.copies <- struct{}{}:
		defer func() { <-s.copies }()
	default:
		return refuse(http.StatusServiceUnavailable, "Busy", "%d copies of the book are being sent already. Try again when they are through.", copiesAtOnce)
	}
	out := &attachment{w: w, kind: "application/vnd.sqlite3", name: "bench.book"}
	err := s.Book.Copy(r.Context(), out)
	if err != nil && out.begun { // what was sent is no book: the line is broken off, so that nobody takes it for one
		panic(http.ErrAbortHandler)
	}
	return err
}

// attachment sends what is written to it as a file to be kept; its head goes out with the first bytes.
type attachment struct {
	w          http.ResponseWriter
	kind, name string
	begun      bool
}

// Write sends.
func (a *attachment) Write(p []byte) (int, error) {
	if !a.begun {
		a.begun = true
		a.w.Header().Set("Content-Type", a.kind)
		a.w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", a.name))
	}
	return a.w.Write(p)
}

// vehicleView is the page of one vehicle.
type vehicleView struct {
	Status      Status
	Panels      []panelView
	Unread      bool // the text cannot be planned
	Empty       bool // for want of a panel alone: a beginning, no fault of its reader
	Conditions  [][2]string
	Notes       []string
	Judge       []string
	Materials   []stock.Material
	Units       string
	HasPanels   bool
	WholeHolds  int
	WholeFails  int
	WholeUnsure int
	New         newPanelForm
}

// newPanelForm is the form of a new panel as it was sent, when it could not be taken: what stood in it, and what is wrong with
// which field.
type newPanelForm struct {
	Sent       url.Values
	Faults     map[string][]fault.Fault
	Conditions []conditionField // of the form of conditions
}

type panelView struct {
	panelHead
	Quantity, Stations   int
	Planned              bool
	Holds, Fails, Unsure int
	First                []failing
	Faults               []string
	Doubts               []string // not known, and beyond the limit by the estimate
	Unknown              []string
	Survey               []string // what the lengths of a tape survey say against each other
}

// failing is a check that does not hold, and what would cure it.
type failing struct{ Where, Name, Value, Limit, Cure string }

func (s *server) vehicle(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	return s.showVehicle(w, r, http.StatusOK, v, newPanelForm{})
}

func (s *server) showVehicle(w http.ResponseWriter, r *http.Request, status int, v Revision, sent newPanelForm) error {
	_, now := s.status(r, v)
	if sent.Conditions == nil {
		sent.Conditions, _ = conditionsForm(v.Text, nil, nil)
	}
	view := vehicleView{Status: now, Materials: stock.Materials(), Units: "mm", New: sent}
	if j := now.Job; j != nil {
		view.Notes, view.Conditions, view.HasPanels = j.Notes, conditionsOf(j), len(j.Panels) > 0
		if j.Inch {
			view.Units = "inch"
		}
		for _, p := range j.Panels {
			view.Panels = append(view.Panels, panelView{panelHead: panelHead{p.ID, p.Name}, Quantity: p.Quantity})
		}
	}
	view.Unread = len(now.Faults) > 0
	view.Empty = len(now.Faults) == 1 && now.Faults[0].Path == "panels" && now.Faults[0].Rule == "missing-key"
	if now.Plan != nil {
		look := lookOf(r)
		for i, p := range now.Plan.Panels {
			pv := panelViewOf(p, look)
			view.WholeHolds, view.WholeFails, view.WholeUnsure = view.WholeHolds+pv.Holds, view.WholeFails+pv.Fails, view.WholeUnsure+pv.Unsure
			view.Panels[i] = pv
		}
		for _, f := range now.Plan.Judge {
			view.Judge = append(view.Judge, fmt.Sprintf("%s %s: %s", f.Panel, f.Station, f.Text))
		}
	}
	if j := now.Job; j != nil {
		for i := range view.Panels {
			view.Panels[i].Survey = j.SurveyWarnings(j.Panels[i])
		}
	}
	s.show(w, r, status, "vehicle", page{Title: v.Name, At: "panels", Vehicle: &v, Script: "run.js", Body: view})
	return nil
}

// failsShown is how many failing checks of a panel stand on the vehicle's page.
const failsShown = 3

func panelViewOf(p *setout.Panel, l look) panelView {
	pv := panelView{panelHead: panelHead{p.Job.ID, p.Job.Name}, Quantity: p.Job.Quantity, Stations: len(p.Stations), Planned: true, Faults: p.Faults}
	seen := map[string]bool{}
	add := func(where string, checks []setout.Check) {
		for _, k := range checks {
			switch k.Verdict {
			case setout.Holds:
				pv.Holds++
			case setout.DoesNotHold:
				pv.Fails++
				f := failing{Where: where, Name: k.Name, Cure: k.Cure}
				if !k.NoNumber {
					f.Value, f.Limit = l.Figure(k.Value, k.Unit), l.Figure(k.Limit, k.Unit)
				}
				if len(pv.First) < failsShown {
					pv.First = append(pv.First, f)
				}
			default:
				pv.Unsure++
				if !seen[k.ID] {
					seen[k.ID] = true
					pv.Unknown = append(pv.Unknown, k.Name)
				}
			}
		}
	}
	add("the panel", p.Checks)
	for _, st := range p.Stations {
		add("station "+st.ID, st.Checks)
	}
	for _, d := range setout.Doubts(p) {
		where := "the panel as a whole"
		if d.Station != nil {
			where = "station " + d.Station.ID
		}
		pv.Doubts = append(pv.Doubts, doubtWords(l, d, where))
	}
	return pv
}

// doubtWords says a doubt in one line, with lengths in the reader's unit.
func doubtWords(l look, d setout.Doubt, where string) string {
	words := fmt.Sprintf("%s: worst at %s, %s against a limit of %s", d.Check.Name, where, l.Figure(d.Check.Value, d.Check.Unit), l.Figure(d.Check.Limit, d.Check.Unit))
	if d.Places > 1 {
		words += fmt.Sprintf(" (%d places)", d.Places)
	}
	return words
}

// newPanel adds a panel to the job: a rectangle on a flange all round, to be surveyed further.
func (s *server) newPanel(w http.ResponseWriter, r *http.Request) error {
	v, _, err := s.sent(r)
	if err != nil {
		return err
	}
	name, err := nameOf(r.PostForm.Get("name"), "The panel")
	if err != nil {
		return err
	}
	field := func(key string) string { return edit.Scalar(strings.TrimSpace(r.PostForm.Get(key))) }
	panel := fmt.Sprintf("name: %s\noutline: { rectangle: [ %s, %s ] }\nouter: { material: %s, thickness: %s }\n"+
		"inner: { material: %s, thickness: %s }\nsupports:\n  - { name: flange, flange: [ bottom, right, top, left ], width: %s }\n",
		edit.Scalar(name), field("along"), field("across"), field("outer"), field("outer-thickness"), field("inner"), field("inner-thickness"), field("width"))
	text, err := edit.Append([]byte(v.Text), "panels", panel)
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "Not added", "%s", err.Error()).back(address(v.Vehicle, "text"), "To the text")
	}
	after, faults := job.Read("job.yaml", text, v.Open)
	d, err := edit.Open(text)
	if err != nil || after == nil {
		return refuse(http.StatusUnprocessableEntity, "Not added", "The job's text has faults that hide its panels: mend them first.").back(address(v.Vehicle, "text"), "To the text")
	}
	n := d.Len("panels")
	if wrong := newPanelFaults(fmt.Sprintf("panels[%d]", n), faults); len(wrong) > 0 {
		return s.showVehicle(w, r, http.StatusUnprocessableEntity, v, newPanelForm{Sent: r.PostForm, Faults: wrong})
	}
	if twin := twinOf(string(text), after, n); twin != nil {
		return s.showVehicle(w, r, http.StatusUnprocessableEntity, v, newPanelForm{Sent: r.PostForm, Faults: map[string][]fault.Fault{"name": {twinFault(twin, "name")}}})
	}
	return s.save(w, r, v, v.Number, string(text), "panel "+name, address(v.Vehicle, "p/"+after.Panels[len(after.Panels)-1].ID+"/survey"))
}

// twinOf is another panel that has the address and the file names of the panel at an index of the text's list; nil for none.
func twinOf(text string, j *job.Job, index int) *job.Panel {
	pan := form.PanelAt(text, j, index)
	if j == nil || pan == nil {
		return nil
	}
	for _, other := range j.Panels {
		if other != pan && other.ID == pan.ID {
			return other
		}
	}
	return nil
}

func twinFault(twin *job.Panel, path string) fault.Fault {
	return fault.Fault{Path: path, Rule: job.RuleDuplicateName, Text: fmt.Sprintf("the panel %q has this name already: only letters and figures count, for files are named after it", twin.Name),
		Hint: "give this one another name"}
}

// newPanelFields says which field of the form asks for what stands at a path of the new panel.
var newPanelFields = []struct{ path, field string }{{".outline.rectangle[1]", "along"}, {".outline.rectangle[2]", "across"}, {".outline", "along"},
	{".outer.material", "outer"}, {".outer", "outer-thickness"}, {".inner.material", "inner"}, {".inner", "inner-thickness"}, {".supports", "width"}, {"", "name"}}

// newPanelFaults puts the faults of the new panel at base beside the fields of its form.
func newPanelFaults(base string, faults fault.List) map[string][]fault.Fault {
	out := map[string][]fault.Fault{}
	for _, f := range faults {
		rest, ours := strings.CutPrefix(f.Path, base)
		if !ours {
			continue
		}
		for _, at := range newPanelFields {
			if strings.HasPrefix(rest, at.path) && f.Rule != job.RuleDuplicateName {
				out[at.field] = append(out[at.field], form.Plain(f))
				break
			}
		}
	}
	return out
}
