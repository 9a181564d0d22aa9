package book

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// NotABook says that a file is no book. It has not been touched.
type NotABook struct{ Path, Found string }

// Error says what was found instead.
func (e *NotABook) Error() string {
	return fmt.Sprintf("%s: %s, not a book of panelwright; it was not touched: name a book, or a file that does not exist yet to begin one",
		e.Path, e.Found)
}

// NoFolder says that the folder for a new book does not exist.
type NoFolder struct{ Path string }

// Error names the folder to make.
func (e *NoFolder) Error() string {
	return fmt.Sprintf("%s: there is no folder %s to begin a book in: make the folder, or name another", e.Path, filepath.Dir(e.Path))
}

// Newer says that a book was written by a later program. It has not been touched.
type Newer struct {
	Path        string
	Have, Known int // the version of the book, and the latest that this program knows
}

// Error gives both versions.
func (e *Newer) Error() string {
	return fmt.Sprintf("%s: a book of version %d; this program knows versions 1 to %d; it was not touched: open it with a newer panelwright",
		e.Path, e.Have, e.Known)
}

// Damaged says that what the book's file holds is not what was written into it. Found at opening, the file has not been
// touched; found later, what is damaged has not been used.
type Damaged struct{ Path, Found string }

// Error says what was found and how to go on.
func (e *Damaged) Error() string {
	return fmt.Sprintf("%s is damaged: %s; it was not written: keep this file and the files %s-* beside it aside, and put your last copy "+
		"of the book in its place (sqlite3 FILE .recover may save what came after the copy)", e.Path, e.Found, filepath.Base(e.Path))
}

// Busy says that another process kept the book locked for too long. Nothing was written.
type Busy struct{ Path string }

// Error says what to do.
func (e *Busy) Error() string {
	return fmt.Sprintf("%s: another program has been writing to the book for %d s; nothing was written: try again, or close that program",
		e.Path, busyMilliseconds/1000)
}

// ReadOnly says that the book, or its folder, may not be written by this program.
type ReadOnly struct{ Path string }

// Error says what to do.
func (e *ReadOnly) Error() string {
	return fmt.Sprintf("%s: this program may not write to the book, or not to its folder, where its log stands; nothing was written: "+
		"allow both, or copy the book to a folder of your own", e.Path)
}

// DiskFull says that the disk, or the largest size of the book, is reached. Nothing was written; what was in the book is whole.
type DiskFull struct{ Path string }

// Error says what to do.
func (e *DiskFull) Error() string {
	return fmt.Sprintf("%s: there is no room left for the book; this change was not kept, and all earlier ones are: free some room on the disk, "+
		"then try again", e.Path)
}

// DiskFailed says that the system could not read or write the book's file.
type DiskFailed struct {
	Path string
	Err  error
}

// Error gives the system's words.
func (e *DiskFailed) Error() string {
	return fmt.Sprintf("%s: the system could not read or write the book: %v; this change was not kept: look after the disk, and copy the book elsewhere",
		e.Path, e.Err)
}

// Unwrap gives the system's error.
func (e *DiskFailed) Unwrap() error { return e.Err }

// Replaced says that the file under the book's name is no longer the one that was opened. Nothing was written.
type Replaced struct{ Path string }

// Error says what to do.
func (e *Replaced) Error() string {
	return fmt.Sprintf("%s: the book was moved, deleted or replaced while it was open; nothing was written: put back the file and the files %s-* "+
		"that were there, or close this program and start it again to use the file that is there now", e.Path, filepath.Base(e.Path))
}

// Exists says that a copy would overwrite a file. It has not been touched.
type Exists struct{ Path string }

// Error says what to do.
func (e *Exists) Error() string {
	return fmt.Sprintf("%s: is there already, and was not touched: name a new file", e.Path)
}

// Unknown says that a book has no such vehicle, or the vehicle no such revision.
type Unknown struct {
	Vehicle int64
	No      int // 0 where the vehicle is meant
}

// Error names what is not there.
func (e *Unknown) Error() string {
	if e.No == 0 {
		return fmt.Sprintf("the book has no vehicle %d: choose one of its list", e.Vehicle)
	}
	return fmt.Sprintf("vehicle %d has no revision %d: choose one of its history", e.Vehicle, e.No)
}

// Outdated says that a change was made from a revision that is no longer the head. Nothing was written.
type Outdated struct {
	Base   Revision // what the change was made from
	Yours  Revision // what would have been saved, with number 0; empty for Undo and Redo
	Theirs Revision // the head
}

// Error gives both revisions.
func (e *Outdated) Error() string {
	return fmt.Sprintf("vehicle %d was changed meanwhile: this change was made from revision %d, but revision %d (%s) stands now; nothing was "+
		"written: compare the two, then save again from revision %d", e.Theirs.Vehicle, e.Base.No, e.Theirs.No, e.Theirs.What, e.Theirs.No)
}

// Nothing says that there is nothing to undo or redo.
type Nothing struct {
	Vehicle int64
	No      int
	Step    string // undo or redo
}

// Error says why.
func (e *Nothing) Error() string {
	if e.Step == stepUndo {
		return fmt.Sprintf("vehicle %d: nothing to undo: revision %d is its first", e.Vehicle, e.No)
	}
	return fmt.Sprintf("vehicle %d: nothing to redo: no step back to revision %d has been made", e.Vehicle, e.No)
}

// TooLarge says that something is larger than a book takes. Nothing was written.
type TooLarge struct {
	What      string // as text, or file "roof.dxf"
	Size, Max int
	Unit      string // bytes, files
}

// Error gives size and limit.
func (e *TooLarge) Error() string {
	return fmt.Sprintf("%s: %d %s, a book takes at most %d; nothing was written: make it smaller", e.What, e.Size, e.Unit, e.Max)
}

// BadName says that a name cannot be kept. Nothing was written.
type BadName struct{ What, Name, Why string }

// Error says what is accepted.
func (e *BadName) Error() string {
	return fmt.Sprintf("%s %q: %s; nothing was written: give another name", e.What, e.Name, e.Why)
}

// told gives errors of the database and of the system as errors of the book, and leaves all others as they are.
func told(path string, err error) error {
	var lite *sqlite.Error
	var damaged *Damaged
	switch {
	case err == nil:
		return nil
	case errors.As(err, &damaged) && damaged.Path == "":
		return &Damaged{path, damaged.Found}
	case errors.As(err, &lite):
		return toldCode(path, lite)
	case errors.Is(err, syscall.ENOSPC):
		return &DiskFull{path}
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return &ReadOnly{path}
	}
	return err
}

func toldCode(path string, err *sqlite.Error) error {
	switch err.Code() { // the codes with detail, where that decides
	case sqlite3.SQLITE_IOERR_SHMSIZE:
		return &DiskFull{path} // the log's index could not grow
	case sqlite3.SQLITE_IOERR_CORRUPTFS:
		return &Damaged{path, err.Error()}
	}
	switch err.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return &Busy{path}
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return &ReadOnly{path}
	case sqlite3.SQLITE_CANTOPEN: // the book, or the log beside it; SQLite does not say why
		if !mayMake(path) {
			return &ReadOnly{path}
		}
		return &DiskFailed{path, fmt.Errorf("%w: perhaps this program may not read it", err)}
	case sqlite3.SQLITE_FULL:
		return &DiskFull{path}
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_ERROR: // the statements are ours and known to be right: the second is a definition that was changed
		return &Damaged{path, err.Error()}
	case sqlite3.SQLITE_NOTADB:
		return &NotABook{path, "no SQLite database"}
	case sqlite3.SQLITE_IOERR, sqlite3.SQLITE_PROTOCOL:
		return &DiskFailed{path, err}
	}
	return fmt.Errorf("%s: %w", path, err)
}

// mayMake says whether a file can be made beside path, by making one.
func mayMake(path string) bool {
	f, err := os.CreateTemp(filepath.Dir(path), tempPattern)
	if err != nil {
		return false
	}
	return errors.Join(f.Close(), os.Remove(f.Name())) == nil
}
