package web

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"path"
	"strconv"
	"strings"

	"panelwright/internal/edit"
	"panelwright/internal/form"
	"panelwright/internal/job"
)

func itoa(n int) string { return strconv.Itoa(n) }

// surveyBody is the page of a panel's survey.
type surveyBody struct {
	Form    *form.Form
	Drawing surveyDrawing
	Rev     int
	Unsaved bool
}

// surveyOf makes the form of a panel out of a revision's text.
func (s *server) surveyOf(r *http.Request, v Revision) (*form.Form, surveyDrawing, error) {
	d, err := edit.Open([]byte(v.Text))
	var cannot *edit.Cannot
	if errors.As(err, &cannot) {
		return nil, surveyDrawing{}, refuse(http.StatusConflict, "The text comes first", "The job's text cannot be read, so it has no form: %s.", cannot.Why).back(address(v.Vehicle, "text"), "To the text")
	}
	if err != nil {
		return nil, surveyDrawing{}, err
	}
	j, faults := job.Read("job.yaml", []byte(v.Text), v.Open)
	index, pan := form.PanelIndex(d, j, r.PathValue("panel"))
	if pan == nil {
		return nil, surveyDrawing{}, refuse(http.StatusNotFound, "No such panel", "This vehicle has no panel of that name.").back(address(v.Vehicle, ""), "To the vehicle")
	}
	drawn, err := s.drawn(r, v, j, pan, index)
	if err != nil {
		return nil, drawn, err
	}
	asked := form.New(d, j, index, pan, fileNames(v.Files), drawn.edges)
	asked.Lay(faults)
	return asked, drawn, nil
}

// survey is the page on which a panel is described.
func (s *server) survey(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	asked, drawn, err := s.surveyOf(r, v)
	if err != nil {
		return err
	}
	s.showSurvey(w, r, http.StatusOK, v, surveyBody{Form: asked, Drawing: drawn, Rev: v.Number})
	return nil
}

func (s *server) showSurvey(w http.ResponseWriter, r *http.Request, status int, v Revision, body surveyBody) {
	name := body.Form.Panel.Name
	if name == "" {
		name = body.Form.Panel.ID
	}
	s.show(w, r, status, "survey", page{Title: "Survey of " + name, At: "survey", Vehicle: &v, Panel: &panelHead{body.Form.Panel.ID, name}, Script: "survey.js", Body: body})
}

// sentSurvey reads a sent form and the revision that it was made from.
func (s *server) sentSurvey(r *http.Request) (v, from Revision, err error) {
	v, number, err := s.sent(r)
	if err != nil {
		return v, v, err
	}
	from, err = s.revisionOf(r, v, number)
	return v, from, err
}

// saveSurvey keeps what was changed as a new revision.
func (s *server) saveSurvey(w http.ResponseWriter, r *http.Request) error {
	v, from, err := s.sentSurvey(r)
	if err != nil {
		return err
	}
	asked, drawn, err := s.surveyOf(r, from)
	if err != nil {
		return err
	}
	if from.Number != v.Number && sameAt(from, v, asked.Base, "job.units") { // what others changed is elsewhere
		from = v
	}
	saved := asked.Apply([]byte(from.Text), r.PostForm)
	if after, _ := job.Read("job.yaml", saved.Text, from.Open); after != nil {
		if twin := twinOf(string(saved.Text), after, asked.Index); twin != nil && twin.ID != asked.Panel.ID {
			saved.Problems = append(saved.Problems, twinFault(twin, asked.Base+".name"))
		}
	}
	if len(saved.Problems) > 0 {
		asked.Refill(r.PostForm)
		asked.Lay(saved.Problems)
		s.showSurvey(w, r, http.StatusUnprocessableEntity, v, surveyBody{Form: asked, Drawing: drawn, Rev: from.Number, Unsaved: true})
		return nil
	}
	return s.save(w, r, v, from.Number, string(saved.Text), surveyNote(asked, saved), s.backTo(v, asked, saved))
}

// surveyNote says in a few words what was changed.
func surveyNote(asked *form.Form, saved form.Saved) string {
	const most = 3
	list := saved.Changed
	more := ""
	if len(list) > most {
		more = fmt.Sprintf(" and %d more", len(list)-most)
		list = list[:most]
	}
	return asked.Panel.Name + ": " + strings.Join(list, ", ") + more
}

// backTo is the page of the panel after the change: its id follows its name.
func (s *server) backTo(v Revision, asked *form.Form, saved form.Saved) string {
	id, anchor := asked.Panel.ID, ""
	j, _ := job.Read("job.yaml", saved.Text, v.Open)
	if pan := form.PanelAt(string(saved.Text), j, asked.Index); pan != nil {
		id = pan.ID
	}
	if saved.Added != "" {
		anchor = "#" + asked.Anchor(saved.Added)
	}
	return address(v.Vehicle, "p/"+id+"/survey"+anchor)
}

// surveyAnswer is what the page's script is told while the form is filled in.
type surveyAnswer struct {
	Faults  []surveyFault `json:"faults"`
	Else    int           `json:"elsewhere"`
	Drawing string        `json:"drawing"`
	From    string        `json:"from"`
	Changed bool          `json:"changed"`
}

type surveyFault struct {
	ID    string `json:"id"`
	Label string `json:"label"`
	Text  string `json:"text"`
	Hint  string `json:"hint"`
}

// checkSurvey says what is wrong with a form as it stands, and draws it. Nothing is kept.
func (s *server) checkSurvey(w http.ResponseWriter, r *http.Request) error {
	_, from, err := s.sentSurvey(r)
	if err != nil {
		return err
	}
	asked, _, err := s.surveyOf(r, from)
	if err != nil {
		return err
	}
	r.PostForm.Del("do")
	saved := asked.Apply([]byte(from.Text), r.PostForm)
	d, err := edit.Open(saved.Text)
	if err != nil {
		return err
	}
	j, faults := job.Read("job.yaml", saved.Text, from.Open)
	pan := form.PanelAt(string(saved.Text), j, asked.Index)
	if pan == nil {
		return refuse(http.StatusConflict, "No such panel", "The panel is gone.")
	}
	drawn, err := s.drawn(r, from, j, pan, asked.Index)
	if err != nil {
		return err
	}
	now := form.New(d, j, asked.Index, pan, fileNames(from.Files), drawn.edges)
	now.Lay(append(saved.Problems, faults...))
	out := surveyAnswer{Else: len(now.Elsewhere), Drawing: string(drawn.SVG), From: drawn.From, Changed: len(saved.Changed) > 0, Faults: []surveyFault{}}
	for _, b := range now.Bad {
		out.Faults = append(out.Faults, surveyFault{b.ID, b.Label, b.Text, b.Hint})
	}
	return writeJSON(w, out)
}

// surveyFile takes a drawing for the outline: it is kept with the vehicle, and the outline is taken out of it.
func (s *server) surveyFile(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	number, name, data, err := sentFile(r)
	if err != nil {
		return err
	}
	from, err := s.revisionOf(r, v, number)
	if err != nil {
		return err
	}
	here := address(v.Vehicle, "p/"+r.PathValue("panel")+"/survey")
	asked, _, err := s.surveyOf(r, from)
	if err != nil {
		return err
	}
	c := Content{Name: from.Name, Files: map[string][]byte{}, Note: asked.Panel.Name + ": outline out of " + name}
	for k, data := range from.Files {
		if k != name {
			c.Files[k] = data
		}
	}
	if err := addFile(&c, name, data); err != nil {
		return err
	}
	text, err := asked.TakeFile([]byte(from.Text), name)
	var cannot *edit.Cannot
	if errors.As(err, &cannot) {
		return refuse(http.StatusUnprocessableEntity, "Not taken", "%s. Nothing was changed.", cannot.Error()).back(here, "Back to the survey")
	}
	if err != nil {
		return err
	}
	c.Text = string(text)
	return s.saveContent(w, r, v.Vehicle, number, c, here)
}

// sentFile reads the form with a drawing.
func sentFile(r *http.Request) (rev int, name string, data []byte, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return 0, "", nil, refuse(http.StatusUnsupportedMediaType, "Not a form", "This address takes the form of its page only.")
	}
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return 0, "", nil, brokenUpload(err)
		}
		text, err := io.ReadAll(part)
		if err != nil {
			return 0, "", nil, brokenUpload(err)
		}
		switch part.FormName() {
		case "rev":
			rev, _ = strconv.Atoi(string(text))
		case "file":
			name, data = part.FileName(), text
		}
	}
	switch {
	case rev < 1:
		return 0, "", nil, refuse(http.StatusBadRequest, "Not readable", "The form does not say from which revision it was made. Reload its page and try again.")
	case name == "" || len(data) == 0:
		return 0, "", nil, refuse(http.StatusUnprocessableEntity, "No file", "Choose a drawing first: DXF, SVG, CSV or TXT.")
	case !plainName(name) || !strings.Contains(".dxf.svg.csv.txt", strings.ToLower(path.Ext(name))) || path.Ext(name) == "":
		return 0, "", nil, refuse(http.StatusUnprocessableEntity, "Not a drawing", "Accepted: a file that ends in .dxf, .svg, .csv or .txt, with letters, digits, blanks, . - _ in its name.")
	}
	return rev, name, data, nil
}
