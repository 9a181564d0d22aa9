package web

import (
	"bytes"
	"html/template"
	"net/http"

	"panelwright/internal/drawing"
	"panelwright/internal/edit"
	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// surveyView is how the panel is drawn beside its survey.
var surveyView = drawing.PanelView{Width: 190, HeightMax: 190, Marks: drawing.PanelMarks{
	Supports: true, KeepOuts: true, Size: true, Front: true, ScaleBar: true, EdgeName: true}}

// revisionsTried is how many older revisions are looked through for an outline that can be drawn.
const revisionsTried = 12

// drawSurvey draws a panel as it was read, without stations. False when its outline is faulty.
func drawSurvey(j *job.Job, pan *job.Panel) (template.HTML, bool, error) {
	if pan == nil || len(pan.Outline.Outer.V) == 0 {
		return "", false, nil
	}
	shown := *pan
	shown.Supports = nil
	for _, s := range pan.Supports { // a support that could not be read has nothing to draw
		if s.Kind == "flange" && s.Width > 0 && len(s.Edges) > 0 || s.Kind == "rib" && s.Width > 0 && len(s.Line.V) > 1 {
			shown.Supports = append(shown.Supports, s)
		}
	}
	var svg bytes.Buffer
	err := sheet.SVGFragment(&svg, drawing.PanelSheet(j, &setout.Panel{Job: &shown}, surveyView), sheet.Fragment{ID: "surveyed", Label: pan.Name + " to scale, seen from outside"})
	return template.HTML(svg.String()), err == nil, err
}

// surveyDrawing is the drawing of the survey page.
type surveyDrawing struct {
	SVG   template.HTML
	From  string // says of which revision it is, when the outline of this one is faulty
	edges []string
}

// drawn draws a panel of a text, or as it was last drawn when its outline is faulty now.
func (s *server) drawn(r *http.Request, v Revision, j *job.Job, pan *job.Panel, index int) (surveyDrawing, error) {
	svg, good, err := drawSurvey(j, pan)
	if good || err != nil {
		return surveyDrawing{SVG: svg}, err
	}
	for number, tried := v.Number, 0; number > 0 && tried < revisionsTried; number, tried = number-1, tried+1 {
		old, err := s.Book.GetRevision(r.Context(), v.Vehicle, number)
		if err != nil {
			continue // a gap in the book is no reason to show nothing
		}
		was, _ := job.Read("job.yaml", []byte(old.Text), old.Open)
		before := panelAt(old.Text, was, index)
		if before == nil || before.Name != pan.Name && before.ID != pan.ID {
			continue
		}
		svg, good, err := drawSurvey(was, before)
		if err != nil {
			return surveyDrawing{}, err
		}
		if good {
			d := surveyDrawing{SVG: svg, From: "The outline is faulty now. This is how it was in revision " + itoa(number) + "."}
			for _, e := range before.Edges {
				d.edges = append(d.edges, e.Name)
			}
			return d, nil
		}
	}
	return surveyDrawing{From: "The outline is faulty, and was not drawn before. The drawing comes when its fields are right."}, nil
}

// panelAt is the panel at an index of the text's list, nil when none was read there.
func panelAt(text string, j *job.Job, index int) *job.Panel {
	d, err := edit.Open([]byte(text))
	if err != nil || j == nil {
		return nil
	}
	for _, p := range j.Panels {
		if i, pan := panelIndex(d, j, p.ID); i == index {
			return pan
		}
	}
	return nil
}
