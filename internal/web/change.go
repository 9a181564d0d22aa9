package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"panelwright/internal/edit"
	"panelwright/internal/job"
)

// present gives the vehicle of an address at its present revision.
func (s *server) present(r *http.Request) (Revision, error) {
	id, err := number(r.PathValue("v"), "a vehicle")
	if err != nil {
		return Revision{}, err
	}
	v, err := s.Book.Get(r.Context(), id)
	return v, missing(err, "There is no such vehicle in this book.")
}

// missing turns ErrNone into a page that says so.
func missing(err error, text string) error {
	if errors.Is(err, ErrNone) {
		return refuse(http.StatusNotFound, "Not in the book", "%s", text)
	}
	return err
}

// at is the time of a change as the book keeps it.
func (s *server) at() string { return s.Now().UTC().Format(time.RFC3339) }

// glance is how long a page waits for a plan before it is shown without: a small job is planned by then.
const glance = 400 * time.Millisecond

// status begins to plan a revision, waits for a glance, and tells how it stands.
func (s *server) status(r *http.Request, v Revision) (*Run, Status) {
	ctx, cancel := context.WithTimeout(r.Context(), glance)
	defer cancel()
	run := s.plan(v)
	return run, run.Wait(ctx)
}

// plan is the run of a revision, to be shown.
func (s *server) plan(v Revision) *Run {
	return s.planned.Show(v.Vehicle, v.Number, v.Text, v.Open)
}

// readJob reads a revision's text.
func readJob(v Revision) (*job.Job, bool) {
	j, faults := job.Read("job.yaml", []byte(v.Text), v.Open)
	return j, len(faults) == 0 && j != nil
}

// base reads the revision that a form was made from.
func base(r *http.Request) (int, error) {
	n, err := strconv.Atoi(r.PostForm.Get("rev"))
	if err != nil || n < 1 {
		return 0, refuse(http.StatusBadRequest, "Not readable", "The form does not say from which revision it was made. Reload its page and try again.")
	}
	return n, nil
}

// sent reads the form of a page: the vehicle as it is now, and the revision that the page was made from.
func (s *server) sent(r *http.Request) (now Revision, from int, err error) {
	if now, err = s.present(r); err != nil {
		return now, 0, err
	}
	if err = readForm(r); err != nil {
		return now, 0, err
	}
	from, err = base(r)
	return now, from, err
}

// revisionOf is a vehicle as it was at revision number.
func (s *server) revisionOf(r *http.Request, now Revision, number int) (Revision, error) {
	if number == now.Number {
		return now, nil
	}
	v, err := s.Book.GetRevision(r.Context(), now.Vehicle, number)
	return v, missing(err, "There is no such revision of this vehicle.")
}

// save keeps a changed text as a new revision made from base, and sends the reader to where. When somebody else was quicker
// it shows both versions, and nothing is lost.
func (s *server) save(w http.ResponseWriter, r *http.Request, v Revision, base int, text, what, where string) error {
	return s.saveContent(w, r, v.Vehicle, base, Content{Name: v.Name, Text: text, Files: v.Files, Note: what}, where)
}

func (s *server) saveContent(w http.ResponseWriter, r *http.Request, id int64, base int, c Content, where string) error {
	if err := plainText(c.Text); err != nil {
		return err
	}
	c.Text = strings.ReplaceAll(c.Text, "\r\n", "\n")
	present, err := s.Book.Get(r.Context(), id)
	if err != nil {
		return missing(err, "There is no such vehicle in this book.")
	}
	if present.Number == base && present.Text == c.Text && sameFiles(present.Files, c.Files) {
		see(w, r, where, "same")
		return nil
	}
	if j, _ := job.Read("job.yaml", []byte(c.Text), Revision{Content: c}.Open); j != nil && j.Name != "" {
		c.Name = j.Name
	}
	_, err = s.Book.Save(r.Context(), id, base, c, s.at())
	var outdated *Outdated
	if errors.As(err, &outdated) {
		return s.showChanged(w, r, id, base, c)
	}
	if err != nil {
		return missing(err, "There is no such vehicle in this book.")
	}
	note := "saved"
	if n, err := strconv.Atoi(r.PostForm.Get("rev")); err == nil && n != base {
		note = ontoNote + strconv.Itoa(base)
	}
	see(w, r, where, note)
	return nil
}

// sameAt says whether two revisions have the same text at each of the paths, or both have nothing there: a change there that was
// made from one of them can be put onto the other.
func sameAt(a, b Revision, paths ...string) bool {
	for _, path := range paths {
		was, had := edit.Get([]byte(a.Text), path)
		now, has := edit.Get([]byte(b.Text), path)
		if was != now || had != has {
			return false
		}
	}
	return true
}

func sameFiles(a, b map[string][]byte) bool {
	if len(a) != len(b) {
		return false
	}
	for name, data := range a {
		if other, ok := b[name]; !ok || string(other) != string(data) {
			return false
		}
	}
	return true
}

// plainText refuses what no form of ours sends: broken UTF-8 and control signs.
func plainText(text string) error {
	if !utf8.ValidString(text) {
		return refuse(http.StatusBadRequest, "Not text", "The text is not UTF-8. Save it as UTF-8 and send it again; nothing was changed.")
	}
	for i, c := range text {
		if c == 0x61c || c == 0x200e || c == 0x200f || c >= 0x202a && c <= 0x202e || c >= 0x2066 && c <= 0x2069 {
			return refuse(http.StatusUnprocessableEntity, "Not text", "Line %d has the hidden sign %U, which turns the direction of writing. Take it out and send it again; nothing was changed.",
				1+strings.Count(text[:i], "\n"), c)
		}
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' || c == 0x7f {
			return refuse(http.StatusBadRequest, "Not text", "The text has the control sign %U in line %d. Take it out and send it again; nothing was changed.",
				c, 1+strings.Count(text[:i], "\n"))
		}
	}
	return nil
}

// changedView is the page 'changed meanwhile'.
type changedView struct {
	Base, Present int
	Mine, Theirs  string
	Lines         []diffLine
	Files         []string // how the files of mine differ: they do not travel with the page
}

// showChanged shows what the reader wanted to save beside what somebody else saved meanwhile.
func (s *server) showChanged(w http.ResponseWriter, r *http.Request, id int64, base int, mine Content) error {
	theirs, err := s.Book.Get(r.Context(), id)
	if err != nil {
		return missing(err, "There is no such vehicle in this book.")
	}
	s.show(w, r, http.StatusConflict, "changed", page{Title: "Changed meanwhile", At: "text", Vehicle: &theirs, Body: changedView{
		Base: base, Present: theirs.Number, Mine: mine.Text, Theirs: theirs.Text,
		Lines: diffLines(theirs.Text, mine.Text), Files: filesDiffer(theirs.Files, mine.Files),
	}})
	return nil
}

// changedChoice does what the reader chose on that page.
func (s *server) changedChoice(w http.ResponseWriter, r *http.Request) error {
	v, from, err := s.sent(r)
	if err != nil {
		return err
	}
	where := address(v.Vehicle, "")
	switch r.PostForm.Get("choice") {
	case "mine":
		return s.save(w, r, v, from, r.PostForm.Get("mine"), "mine, over another's change", where)
	case "theirs":
		see(w, r, where, "theirs")
		return nil
	case "edit":
		return s.showText(w, r, v, r.PostForm.Get("mine"), http.StatusOK)
	}
	return refuse(http.StatusBadRequest, "Not a choice", "Choose mine, theirs, or to edit by hand.").back(fmt.Sprintf("/v/%d/text", v.Vehicle), "To the text")
}
