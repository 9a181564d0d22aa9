package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"

	"panelwright/internal/book"
)

// shelf is the book in the words of the pages. Its errors are ErrNone, ErrNothing, *Outdated, or a *trouble that tells the
// reader what to do without naming files of this machine; what it cannot tell comes through as it is.
type shelf struct{ book *book.Book }

// Vehicle is a row of the list.
type Vehicle struct {
	ID       int64
	Name     string
	Revision int
	Changed  string // RFC 3339
	Archived bool
}

// Content is what a revision holds: the job's text, and the files that it names.
type Content struct {
	Name  string // of the vehicle, as the list shows it
	Text  string
	Files map[string][]byte // by the name that the job gives them
	Note  string            // what was changed, in a few words
}

// Revision is one state of a vehicle.
type Revision struct {
	Vehicle int64
	Number  int
	At      string // RFC 3339
	CanUndo bool   // of the present one
	CanRedo bool
	Content
}

// Open gives the file that the job names, as job.Read wants it.
func (r Revision) Open(name string) ([]byte, error) {
	if data, ok := r.Files[strings.TrimPrefix(name, "./")]; ok {
		return data, nil
	}
	return nil, errors.New("no file of that name is kept with this vehicle: import the job with its files")
}

// Outdated says that a change was made from a revision that is no longer the present one.
type Outdated struct{ Base, Present int }

// Error says both.
func (e *Outdated) Error() string {
	return fmt.Sprintf("made from revision %d, but the vehicle is at revision %d", e.Base, e.Present)
}

// The other errors of a book that a page expects.
var (
	ErrNone    = errors.New("not in the book")
	ErrNothing = errors.New("nothing to undo or redo")
)

func told(err error) error {
	var unknown *book.Unknown
	var outdated *book.Outdated
	var nothing *book.Nothing
	var tooLarge *book.TooLarge
	var badName *book.BadName
	var busy *book.Busy
	var readOnly *book.ReadOnly
	var full *book.DiskFull
	var damaged *book.Damaged
	var failed *book.DiskFailed
	var replaced *book.Replaced
	var notABook *book.NotABook
	switch {
	case errors.As(err, &unknown):
		return ErrNone
	case errors.As(err, &outdated):
		return &Outdated{outdated.Base.No, outdated.Theirs.No}
	case errors.As(err, &nothing):
		return ErrNothing
	case errors.As(err, &tooLarge):
		return refuse(http.StatusRequestEntityTooLarge, "Too large", "The %s has %d %s, and the book takes %d. Nothing was kept.", tooLarge.What, tooLarge.Size, tooLarge.Unit, tooLarge.Max)
	case errors.As(err, &badName):
		return refuse(http.StatusUnprocessableEntity, "Not a name", "The name of the %s cannot be kept: %s. Nothing was kept.", badName.What, badName.Why)
	case errors.As(err, &busy):
		return &trouble{status: http.StatusServiceUnavailable, title: "The book is busy", text: "Another program is writing to it. Nothing was kept: try again, or close that program.", cause: err}
	case errors.As(err, &readOnly):
		return &trouble{status: http.StatusServiceUnavailable, title: "The book may not be written", text: "This bench may read its book and not write to it, so nothing was kept. Whoever keeps this machine must allow both, for the book and its folder.", cause: err}
	case errors.As(err, &full):
		return &trouble{status: http.StatusInsufficientStorage, title: "No room left", text: "The disk of the bench is full. This change was not kept; all earlier ones are. Make room, then try again.", cause: err}
	case errors.As(err, &replaced):
		return &trouble{status: http.StatusServiceUnavailable, title: "The book is gone", text: "The file of the book was moved, deleted or replaced while the bench was open. Nothing was kept: put it back where it was, or stop the bench and start it again to use the file that is there now.", cause: err}
	case errors.As(err, &damaged), errors.As(err, &notABook):
		return &trouble{status: http.StatusInternalServerError, title: "The book is damaged", text: "What the book holds is not what was written into it. Nothing was written over: stop the bench, and read in its terminal what to do.", cause: err}
	case errors.As(err, &failed):
		return &trouble{status: http.StatusInternalServerError, title: "The disk failed", text: "The disk under the book does not answer as it should. This change was not kept. Take a copy of the book, and read the bench's terminal.", cause: err}
	}
	return err
}

// Vehicles lists what is kept, the last made first.
func (s shelf) Vehicles(context.Context) ([]Vehicle, error) {
	all, err := s.book.Vehicles()
	if err != nil {
		return nil, told(err)
	}
	var out []Vehicle
	for _, v := range slices.Backward(all) {
		out = append(out, Vehicle{v.ID, v.Name, v.Head, v.Changed, v.Archived})
	}
	return out, nil
}

// Create keeps a new vehicle and gives its id.
func (s shelf) Create(_ context.Context, c Content, at string) (int64, error) {
	r, err := s.book.Create(changeOf(c, at))
	return r.Vehicle, told(err)
}

func changeOf(c Content, at string) book.Change {
	files := []book.File{}
	for _, name := range fileNames(c.Files) {
		files = append(files, book.File{Name: name, Bytes: c.Files[name]})
	}
	return book.Change{Name: c.Name, Text: c.Text, Files: files, What: c.Note, When: at}
}

func revisionOf(r book.Revision) Revision {
	return Revision{Vehicle: r.Vehicle, Number: r.No, At: r.When, Content: Content{Name: r.Name, Text: r.Text, Files: r.Files, Note: r.What}}
}

// Get gives a vehicle with its present revision.
func (s shelf) Get(_ context.Context, id int64) (Revision, error) {
	r, err := s.book.Get(id)
	if err != nil {
		return Revision{}, told(err)
	}
	v, err := s.book.Vehicle(id)
	if err != nil {
		return Revision{}, told(err)
	}
	out := revisionOf(r)
	out.CanUndo, out.CanRedo = v.Undo > 0, v.Redo > 0
	return out, nil
}

// GetRevision gives any revision of a vehicle.
func (s shelf) GetRevision(_ context.Context, id int64, rev int) (Revision, error) {
	r, err := s.book.GetRevision(id, rev)
	return revisionOf(r), told(err)
}

// Save keeps a new revision made from revision base.
func (s shelf) Save(_ context.Context, id int64, base int, c Content, at string) (Revision, error) {
	change := changeOf(c, at)
	if old, err := s.book.GetRevision(id, base); err == nil {
		change.Carry = carried(revisionOf(old), Revision{Content: c})
	}
	r, err := s.book.Save(id, base, change)
	return revisionOf(r), told(err)
}

// Undo goes back to the revision that the present one, base, was made from.
func (s shelf) Undo(_ context.Context, id int64, base int, at string) (Revision, error) {
	v, _ := s.book.Vehicle(id)
	r, err := s.book.Undo(id, base, at, s.carriedTo(id, base, v.Undo)...)
	return revisionOf(r), told(err)
}

// Redo goes forward again.
func (s shelf) Redo(_ context.Context, id int64, base int, at string) (Revision, error) {
	v, _ := s.book.Vehicle(id)
	r, err := s.book.Redo(id, base, at, s.carriedTo(id, base, v.Redo)...)
	return revisionOf(r), told(err)
}

// carriedTo is carried between two revisions of the book; what is not there carries nothing, and the step itself says so.
func (s shelf) carriedTo(id int64, from, to int) []book.Carry {
	a, err1 := s.book.GetRevision(id, from)
	b, err2 := s.book.GetRevision(id, to)
	if err1 != nil || err2 != nil {
		return nil
	}
	return carried(revisionOf(a), revisionOf(b))
}

// carried takes the marks of renamed panels to their new names.
func carried(old, fresh Revision) (out []book.Carry) {
	for from, to := range renamed(old, fresh) {
		out = append(out, book.Carry{From: "card/" + from + "/", To: "card/" + to + "/"})
	}
	return out
}

// History lists the revisions, newest first, without their texts.
func (s shelf) History(_ context.Context, id int64) ([]Revision, error) {
	all, err := s.book.History(id)
	if err != nil {
		return nil, told(err)
	}
	var out []Revision
	for _, r := range slices.Backward(all) {
		out = append(out, Revision{Vehicle: id, Number: r.No, At: r.When, Content: Content{Name: r.Name, Note: r.What}})
	}
	return out, nil
}

// Marks gives what was ticked and written on a card.
func (s shelf) Marks(ctx context.Context, id int64, card string) (map[string]string, error) {
	all, err := s.MarksOf(ctx, id, card)
	out := map[string]string{}
	for name, m := range all {
		out[name] = m.Value
	}
	return out, err
}

// MarksOf gives it with the revisions at which it was made.
func (s shelf) MarksOf(_ context.Context, id int64, card string) (map[string]book.Mark, error) {
	all, err := s.book.Marks(id)
	out := map[string]book.Mark{}
	for key, m := range all {
		if name, ok := strings.CutPrefix(key, card+"/"); ok && m.Value != "" {
			out[name] = m
		}
	}
	return out, told(err)
}

// SetMarks changes some of it, made at a revision of what was seen; "" takes a mark away.
func (s shelf) SetMarks(_ context.Context, id int64, card string, marks map[string]string, no int, seen map[string]string, at string) error {
	all, of := map[string]string{}, map[string]string{}
	for name, value := range marks {
		all[card+"/"+name], of[card+"/"+name] = value, seen[name]
	}
	return told(s.book.SetMarksOf(id, all, no, of, at))
}

// Archive puts a vehicle away or takes it back.
func (s shelf) Archive(_ context.Context, id int64, away bool) error {
	if away {
		return told(s.book.Archive(id))
	}
	return told(s.book.Restore(id))
}

// Copy writes the whole book as it stands.
func (s shelf) Copy(_ context.Context, w io.Writer) error { return told(s.book.Copy(w)) }
