package web

import (
	"bytes"
	"html/template"
	"net/http"

	"panelwright/internal/drawing"
	"panelwright/internal/form"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// The drawing beside the survey: a small sheet, so that its letters are legible in a column, mm.
const (
	surveyWidth   = 120.0
	surveyHighest = 130.0
	surveyEdge    = 3.0
)

var surveyMarks = drawing.PanelMarks{Supports: true, KeepOuts: true, Size: true, Front: true, EdgeName: true}

// surveySheet draws a panel with what surveyMarks say, without a line that explains stations, which it has none of.
func surveySheet(j *job.Job, p *setout.Panel) sheet.Sheet {
	b := p.Job.Outline.Outer.Bounds()
	low, high := surveyMarks.Border(j)
	around := low + high + 2*surveyEdge
	scale := drawing.FitScale(b.Width(), b.Height(), surveyWidth-around, surveyHighest-around, 1)
	s := sheet.Sheet{Title: p.Job.Name, W: surveyWidth, H: min(surveyHighest, scale*b.Height()+around)}
	s.Add(sheet.Rectangle(0, 0, s.W, s.H, nil, &sheet.White, "paper"))
	room := plane.Box{Min: drawing.At(surveyEdge, surveyEdge), Max: drawing.At(s.W-surveyEdge, s.H-surveyEdge)}
	s.Add(drawing.DrawPanel(j, p, room, surveyMarks).Canvas.Items...)
	return s
}

// revisionsTried is how many older revisions are looked through for an outline that can be drawn.
const revisionsTried = 12

// drawSurvey draws a panel as it was read, without stations. False when its outline is faulty.
func drawSurvey(j *job.Job, pan *job.Panel) (template.HTML, bool, error) {
	if pan == nil || len(pan.Outline.Outer.V) == 0 {
		return "", false, nil
	}
	shown := &setout.Panel{Job: pan}
	for _, sup := range pan.Supports {
		shown.SeatLines = append(shown.SeatLines, seatsOf(pan, sup)...)
	}
	var svg bytes.Buffer
	err := sheet.SVGFragment(&svg, surveySheet(j, shown), sheet.Fragment{ID: "surveyed", Label: pan.Name + " to scale, seen from outside"})
	return template.HTML(svg.String()), err == nil, err
}

// seatsOf are the seat lines of a support before they are joined; none of a support that could not be read.
func seatsOf(pan *job.Panel, sup *job.Support) []setout.SeatLine {
	if !(sup.Width > 0) {
		return nil
	}
	if sup.Kind == "rib" {
		if len(sup.Line.V) < 2 {
			return nil
		}
		return []setout.SeatLine{{Support: sup, Path: sup.Line}}
	}
	var out []setout.SeatLine
	for _, name := range sup.Edges {
		e, found := pan.Edge(name)
		if !found {
			continue
		}
		if path, err := pan.SeatPath(e, sup.SeatInset()); err == nil && len(path.V) > 1 { // one that fails has its fault beside it
			out = append(out, setout.SeatLine{Support: sup, Edge: name, Path: path})
		}
	}
	return out
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
		before := form.PanelAt(old.Text, was, index)
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
