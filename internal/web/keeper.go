package web

import (
	"context"
	"fmt"
)

// Keeper is the book as the bench needs it. Times are RFC 3339 texts.
type Keeper interface {
	// Vehicles lists what is kept, the last changed first; with archived those too that were put away.
	Vehicles(ctx context.Context, archived bool) ([]Vehicle, error)
	// Create keeps a new vehicle and gives its id.
	Create(ctx context.Context, c Content, at string) (int64, error)
	// Get gives a vehicle with its present revision; ErrNone when there is none.
	Get(ctx context.Context, id int64) (Revision, error)
	// GetRevision gives any revision of it.
	GetRevision(ctx context.Context, id int64, rev int) (Revision, error)
	// Save keeps a new revision made from revision base; *Outdated when that is no longer the present one.
	Save(ctx context.Context, id int64, base int, c Content, at string) (Revision, error)
	// Undo goes back by one change, Redo forward again; both are guarded by base as Save is.
	Undo(ctx context.Context, id int64, base int, at string) (Revision, error)
	Redo(ctx context.Context, id int64, base int, at string) (Revision, error)
	// History lists the revisions, newest first, without their texts.
	History(ctx context.Context, id int64) ([]Revision, error)
	// Marks gives what was ticked and written on a card; SetMarks changes some of it, "" takes a mark away.
	Marks(ctx context.Context, id int64, card string) (map[string]string, error)
	SetMarks(ctx context.Context, id int64, card string, marks map[string]string, at string) error
	// Archive puts a vehicle away or takes it back.
	Archive(ctx context.Context, id int64, away bool, at string) error
	// Copy gives the whole book as it stands, one file.
	Copy(ctx context.Context) ([]byte, error)
}

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
	Vehicle  int64
	Number   int
	At       string // RFC 3339
	Archived bool
	CanUndo  bool
	CanRedo  bool
	Content
}

// Open gives the file that the job names, as job.Read wants it.
func (r Revision) Open(name string) ([]byte, error) {
	if data, ok := r.Files[name]; ok {
		return data, nil
	}
	return nil, fmt.Errorf("no file of that name is kept with this vehicle: import the job with its files")
}

// Outdated says that a change was made from a revision that is no longer the present one.
type Outdated struct{ Base, Present int }

// Error says both.
func (e *Outdated) Error() string {
	return fmt.Sprintf("made from revision %d, but the vehicle is at revision %d", e.Base, e.Present)
}

// ErrNone says that the book has no such vehicle or revision.
var ErrNone = fmt.Errorf("not in the book")

// ErrNothing says that there is nothing to undo or redo.
var ErrNothing = fmt.Errorf("nothing to undo or redo")
