package web

import (
	"net/http"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/job"
)

// textView is the job's YAML, to read and edit.
type textView struct {
	Text   string
	Faults fault.List
	Lines  []textLine
	Rows   int
	Files  []fileRow
}

type textLine struct {
	No    int
	Text  string
	Wrong bool
}

type fileRow struct {
	Name string
	Size int
}

// faultsShown bounds the list of faults on a page.
const faultsShown = 200

func (s *server) text(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	return s.showText(w, r, v, v.Text, http.StatusOK)
}

// showText shows a text for editing on top of revision v, with its faults.
func (s *server) showText(w http.ResponseWriter, r *http.Request, v Revision, text string, status int) error {
	_, faults := job.Read("job.yaml", []byte(text), v.Open)
	view := textView{Text: text, Faults: faults}
	if len(view.Faults) > faultsShown {
		view.Faults = view.Faults[:faultsShown]
	}
	wrong := map[int]bool{}
	for _, f := range view.Faults {
		if f.Pos.File == "" || f.Pos.File == "job.yaml" {
			wrong[f.Pos.Line] = true
		}
	}
	if len(wrong) > 0 {
		for i, l := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
			view.Lines = append(view.Lines, textLine{i + 1, l, wrong[i+1]})
		}
	}
	view.Rows = min(40, 8+strings.Count(text, "\n"))
	view.Files = filesOf(v)
	s.show(w, r, status, "text", page{Title: "Text", At: "text", Vehicle: &v, Script: "text.js", Body: view})
	return nil
}

func (s *server) saveText(w http.ResponseWriter, r *http.Request) error {
	v, from, err := s.sent(r)
	if err != nil {
		return err
	}
	return s.save(w, r, v, from, r.PostForm.Get("text"), "text edited", address(v.Vehicle, "text"))
}
