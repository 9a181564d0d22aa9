package web

import (
	"errors"
	"net/http"

	"panelwright/internal/job"
)

// historyView is the list of revisions, and the comparison of two.
type historyView struct {
	Rows       []Revision
	Old, New   int
	Lines      []diffLine
	Compared   bool
	SameText   bool
	FilesNotes []string
}

func (s *server) history(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	view := historyView{New: v.Number, Old: max(1, v.Number-1)}
	if view.Rows, err = s.Book.History(r.Context(), v.Vehicle); err != nil {
		return err
	}
	if q := r.URL.Query(); q.Has("old") || q.Has("new") {
		old, err := number(q.Get("old"), "a revision")
		if err != nil {
			return err
		}
		new, err := number(q.Get("new"), "a revision")
		if err != nil {
			return err
		}
		a, err := s.Book.GetRevision(r.Context(), v.Vehicle, int(old))
		if err != nil {
			return missing(err, "There is no such revision of this vehicle.")
		}
		b, err := s.Book.GetRevision(r.Context(), v.Vehicle, int(new))
		if err != nil {
			return missing(err, "There is no such revision of this vehicle.")
		}
		view.Old, view.New, view.Compared = int(old), int(new), true
		view.SameText = a.Text == b.Text
		if !view.SameText {
			view.Lines = diffLines(a.Text, b.Text)
		}
		view.FilesNotes = filesDiffer(a.Files, b.Files)
	}
	s.show(w, r, http.StatusOK, "history", page{Title: "History", At: "history", Vehicle: &v, Body: view})
	return nil
}

// filesDiffer says which files were added, taken away or changed.
func filesDiffer(a, b map[string][]byte) []string {
	var out []string
	for _, name := range fileNames(a) {
		if data, ok := b[name]; !ok {
			out = append(out, name+" is no longer there")
		} else if string(data) != string(a[name]) {
			out = append(out, name+" was changed")
		}
	}
	for _, name := range fileNames(b) {
		if _, ok := a[name]; !ok {
			out = append(out, name+" was added")
		}
	}
	return out
}

func (s *server) undo(w http.ResponseWriter, r *http.Request) error { return s.step(w, r, true) }
func (s *server) redo(w http.ResponseWriter, r *http.Request) error { return s.step(w, r, false) }

// step undoes or redoes one change, and comes back to the page that asked.
func (s *server) step(w http.ResponseWriter, r *http.Request, back bool) error {
	v, from, err := s.sent(r)
	if err != nil {
		return err
	}
	where := address(v.Vehicle, "history")
	if f := r.PostForm.Get("from"); f != "" {
		where = ours(f)
	}
	move, note := s.Book.Undo, "undone"
	if !back {
		move, note = s.Book.Redo, "redone"
	}
	_, err = move(r.Context(), v.Vehicle, from, s.at())
	var outdated *Outdated
	switch {
	case errors.As(err, &outdated):
		return refuse(http.StatusConflict, "Changed meanwhile", "The page was of revision %d, and somebody has saved revision %d since. Nothing was undone: look at theirs first.",
			outdated.Base, outdated.Present).back(where, "Look at it")
	case errors.Is(err, ErrNothing):
		return refuse(http.StatusConflict, "Nothing there", "There is nothing to %s.", map[bool]string{true: "undo", false: "redo"}[back]).back(where, "Back")
	case err != nil:
		return missing(err, "There is no such vehicle in this book.")
	}
	see(w, r, where, note)
	return nil
}

// readPanel finds a panel of a job by its id.
func readPanel(j *job.Job, id string) (*job.Panel, int, bool) {
	if j == nil {
		return nil, 0, false
	}
	for i, p := range j.Panels {
		if p.ID == id {
			return p, i, true
		}
	}
	return nil, 0, false
}
