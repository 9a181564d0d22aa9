package book

import (
	"database/sql"
	"fmt"
	"io/fs"
	"strings"
)

// What a book takes at most.
const (
	TextMax     = 4 << 20  // bytes of a text
	FileMax     = 16 << 20 // bytes of one file
	FilesMax    = 64       // files of one revision
	TogetherMax = 64 << 20 // bytes of all files of one revision
	WordsMax    = 4096     // bytes of a name, of what a change was, of a time, of a mark's key or value
)

// Vehicle is what a list shows of a vehicle.
type Vehicle struct {
	ID         int64
	Name       string // of its head
	Head       int    // the revision that stands now
	Undo, Redo int    // the revision that Undo, or Redo, would move the head to; 0 where there is none
	Changed    string // when the head was last saved or moved, in the words that came with it
	Archived   bool
}

// File is a file that belongs to a revision. Its name is a relative path with slashes, as fs.ValidPath has it.
type File struct {
	Name  string
	Bytes []byte
}

// Change is what Create and Save make a revision of.
type Change struct {
	Name  string // of the vehicle; Save takes an empty one to be the name that it had
	Text  string
	Files []File  // Save takes nil to be the files that it had, and an empty list to be none
	What  string  // what was changed, in the user's words
	When  string  // the time, in any form; the book only keeps it
	Carry []Carry // marks that go elsewhere with a Save
}

// check holds a change against what a book takes.
func (c Change) check() error {
	if len(c.Text) > TextMax {
		return &TooLarge{"text", len(c.Text), TextMax, "bytes"}
	}
	if len(c.Files) > FilesMax {
		return &TooLarge{"files of a revision", len(c.Files), FilesMax, "files"}
	}
	seen, together := map[string]bool{}, 0
	for _, f := range c.Files {
		if err := checkFileName(f.Name); err != nil {
			return err
		}
		if seen[f.Name] {
			return &BadName{"file", f.Name, "the change has two files of this name"}
		}
		seen[f.Name] = true
		if len(f.Bytes) > FileMax {
			return &TooLarge{fmt.Sprintf("file %q", f.Name), len(f.Bytes), FileMax, "bytes"}
		}
		together += len(f.Bytes)
	}
	if together > TogetherMax {
		return &TooLarge{"files of a revision together", together, TogetherMax, "bytes"}
	}
	return checkWords("name", c.Name, "what was changed", c.What, "time", c.When)
}

// checkFileName refuses what could not be laid out in a folder again, on any system.
func checkFileName(name string) error {
	switch {
	case len(name) > 255:
		return &BadName{"file", name, "longer than 255 bytes"}
	case !fs.ValidPath(name) || name == ".":
		return &BadName{"file", name, "not a relative path as a/b.dxf, without .. and without empty parts"}
	case strings.ContainsAny(name, "\x00\\:"):
		return &BadName{"file", name, `has a \, a : or a zero byte, which some systems read as a path`}
	}
	return nil
}

// checkWords takes pairs of what something is and the thing.
func checkWords(pairs ...string) error {
	for i := 0; i < len(pairs); i += 2 {
		if n := len(pairs[i+1]); n > WordsMax {
			return &TooLarge{pairs[i], n, WordsMax, "bytes"}
		}
	}
	return nil
}

// vehicleQuery finds Redo as the child from which Undo last came back to the head.
const vehicleQuery = `SELECT v.id, r.name, v.head, coalesce(r.parent, 0), coalesce((SELECT came FROM move m
		WHERE m.vehicle = v.id AND m.went = v.head AND m.step = 'undo' ORDER BY m.id DESC LIMIT 1), 0), v.changed, v.archived
	FROM vehicle v JOIN revision r ON r.vehicle = v.id AND r.no = v.head`

// fields are where the columns of vehicleQuery go.
func (v *Vehicle) fields() []any {
	return []any{&v.ID, &v.Name, &v.Head, &v.Undo, &v.Redo, &v.Changed, &v.Archived}
}

// Vehicles lists every vehicle, archived ones too, in the order in which they were made.
func (b *Book) Vehicles() ([]Vehicle, error) {
	var all []Vehicle
	err := b.reading(func(tx *sql.Tx) (err error) {
		all, err = vehicles(tx, 0)
		return err
	})
	return all, err
}

// vehicles lists those with numbers above last.
func vehicles(q queryer, last int64) ([]Vehicle, error) {
	rows, err := q.Query(vehicleQuery+" WHERE v.id > ? ORDER BY v.id", last)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Vehicle
	for rows.Next() {
		var v Vehicle
		if err := rows.Scan(v.fields()...); err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, rows.Err()
}

// Vehicle gives one line of the list.
func (b *Book) Vehicle(id int64) (Vehicle, error) {
	var v Vehicle
	err := b.reading(func(tx *sql.Tx) (err error) {
		v, err = vehicle(tx, id)
		return err
	})
	return v, err
}

func vehicle(q queryer, id int64) (Vehicle, error) {
	var v Vehicle
	err := q.QueryRow(vehicleQuery+" WHERE v.id = ?", id).Scan(v.fields()...)
	if err == sql.ErrNoRows {
		return v, &Unknown{Vehicle: id}
	}
	return v, err
}

// Create adds a vehicle, whose first revision is the change. Its name may not be empty; another vehicle may have the same.
func (b *Book) Create(c Change) (Revision, error) {
	if strings.TrimSpace(c.Name) == "" {
		return Revision{}, &BadName{"vehicle", c.Name, "a vehicle needs a name"}
	}
	if err := c.check(); err != nil {
		return Revision{}, err
	}
	r := c.revision(0, 0)
	err := b.writing(func(tx *sql.Tx) error {
		made, err := tx.Exec("INSERT INTO vehicle (head, changed) VALUES (1, ?)", c.When)
		if err != nil {
			return err
		}
		id, err := made.LastInsertId()
		if err != nil {
			return err
		}
		r.Vehicle = id
		return r.put(tx, 1)
	})
	if err != nil {
		return Revision{}, err
	}
	return r, nil
}

// Archive marks a vehicle as put away. It keeps everything, and can still be read and changed.
func (b *Book) Archive(id int64) error { return b.archive(id, true) }

// Restore takes back Archive.
func (b *Book) Restore(id int64) error { return b.archive(id, false) }

func (b *Book) archive(id int64, archived bool) error {
	return b.writing(func(tx *sql.Tx) error {
		if _, err := vehicle(tx, id); err != nil {
			return err
		}
		_, err := tx.Exec("UPDATE vehicle SET archived = ? WHERE id = ?", archived, id)
		return err
	})
}
