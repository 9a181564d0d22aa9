package book

import (
	"database/sql"
	"errors"
	"maps"
	"slices"
)

// Revision is one state of a vehicle, which never changes once it is saved.
type Revision struct {
	Vehicle int64
	No      int // from 1, in the order of saving
	Parent  int // what it was made from; 0 for the first
	Name    string
	Text    string
	Files   map[string][]byte
	What    string
	When    string
}

// RevisionInfo is what a history shows of a revision.
type RevisionInfo struct {
	No, Parent       int
	Name, What, When string
	Head             bool // it stands now
	Undo             bool // Undo would go to it
	Redo             bool // Redo would go to it
}

// The steps by which a head moves.
const (
	stepSave = "save"
	stepUndo = "undo"
	stepRedo = "redo"
)

// Get gives the head of a vehicle.
func (b *Book) Get(id int64) (Revision, error) { return b.get(id, 0) }

// GetRevision gives one revision of a vehicle.
func (b *Book) GetRevision(id int64, no int) (Revision, error) {
	if no < 1 {
		return Revision{}, &Unknown{id, no}
	}
	return b.get(id, no)
}

// get takes number 0 for the head.
func (b *Book) get(id int64, no int) (Revision, error) {
	var r Revision
	err := b.reading(func(tx *sql.Tx) error {
		v, err := vehicle(tx, id)
		if err != nil {
			return err
		}
		if no == 0 {
			no = v.Head
		}
		r, err = revision(tx, id, no)
		return err
	})
	if err != nil {
		return Revision{}, err
	}
	return r, nil
}

func revision(q queryer, id int64, no int) (Revision, error) {
	r := Revision{Vehicle: id, No: no, Files: map[string][]byte{}}
	var digest []byte
	err := q.QueryRow("SELECT coalesce(parent, 0), name, text, what, made FROM revision WHERE vehicle = ? AND no = ?", id, no).
		Scan(&r.Parent, &r.Name, &digest, &r.What, &r.When)
	if errors.Is(err, sql.ErrNoRows) {
		return r, &Unknown{id, no}
	}
	if err != nil {
		return r, err
	}
	text, err := blob(q, digest)
	if err != nil {
		return r, err
	}
	r.Text = string(text)
	rows, err := q.Query("SELECT name, digest FROM file WHERE vehicle = ? AND no = ?", id, no)
	if err != nil {
		return r, err
	}
	digests := map[string][]byte{}
	defer rows.Close()
	for rows.Next() {
		var name string
		var digest []byte
		if err := rows.Scan(&name, &digest); err != nil {
			return r, err
		}
		digests[name] = digest
	}
	if err := rows.Err(); err != nil {
		return r, err
	}
	for name, digest := range digests {
		if r.Files[name], err = blob(q, digest); err != nil {
			return r, err
		}
	}
	return r, nil
}

// revision is what a change makes, before it has a number.
func (c Change) revision(id int64, parent int) Revision {
	r := Revision{Vehicle: id, Parent: parent, Name: c.Name, Text: c.Text, Files: map[string][]byte{}, What: c.What, When: c.When}
	for _, f := range c.Files {
		r.Files[f.Name] = f.Bytes
	}
	return r
}

// put writes a revision under a number, with the move of the head to it.
func (r *Revision) put(tx *sql.Tx, no int) error {
	r.No = no
	text, err := putBlob(tx, []byte(r.Text))
	if err != nil {
		return err
	}
	parent := sql.NullInt64{Int64: int64(r.Parent), Valid: r.Parent != 0}
	if _, err := tx.Exec("INSERT INTO revision (vehicle, no, parent, name, text, what, made) VALUES (?, ?, ?, ?, ?, ?, ?)",
		r.Vehicle, no, parent, r.Name, text, r.What, r.When); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(r.Files)) {
		digest, err := putBlob(tx, r.Files[name])
		if err != nil {
			return err
		}
		if _, err := tx.Exec("INSERT INTO file (vehicle, no, name, digest) VALUES (?, ?, ?, ?)", r.Vehicle, no, name, digest); err != nil {
			return err
		}
	}
	return move(tx, r.Vehicle, stepSave, r.Parent, no, r.When)
}

// move sets the head and keeps how it came there.
func move(tx *sql.Tx, id int64, step string, from, to int, when string) error {
	came := sql.NullInt64{Int64: int64(from), Valid: from != 0}
	if _, err := tx.Exec("INSERT INTO move (vehicle, step, came, went, made) VALUES (?, ?, ?, ?, ?)", id, step, came, to, when); err != nil {
		return err
	}
	_, err := tx.Exec("UPDATE vehicle SET head = ?, changed = ? WHERE id = ?", to, when, id)
	return err
}

// Save makes a new revision of a vehicle, from the revision base, which must be its head: if it is not, *Outdated has all three,
// and nothing is written. A change that changes nothing is a revision too.
func (b *Book) Save(id int64, base int, c Change) (Revision, error) {
	if err := c.check(); err != nil {
		return Revision{}, err
	}
	var r Revision
	err := b.writing(func(tx *sql.Tx) error {
		v, err := vehicle(tx, id)
		if err != nil {
			return err
		}
		r = c.revision(id, base)
		if c.Name == "" || c.Files == nil || base != v.Head {
			was, err := revision(tx, id, base)
			if err != nil {
				return err
			}
			if c.Name == "" {
				r.Name = was.Name
			}
			if c.Files == nil {
				r.Files = was.Files
			}
			if base != v.Head {
				return outdated(tx, v, was, r)
			}
		}
		var last int
		if err := tx.QueryRow("SELECT max(no) FROM revision WHERE vehicle = ?", id).Scan(&last); err != nil {
			return err
		}
		if err := carry(tx, id, c.Carry, c.When); err != nil {
			return err
		}
		return r.put(tx, last+1)
	})
	if err != nil {
		return Revision{}, err
	}
	return r, nil
}

func outdated(q queryer, v Vehicle, base, yours Revision) error {
	theirs, err := revision(q, v.ID, v.Head)
	if err != nil {
		return err
	}
	return &Outdated{Base: base, Yours: yours, Theirs: theirs}
}

// Undo moves the head back to the revision that it was made from. base must be the head, else *Outdated; the first revision
// has *Nothing to undo. The revision that was left is kept, and Redo finds it. Marks are carried in the same transaction.
func (b *Book) Undo(id int64, base int, when string, carried ...Carry) (Revision, error) {
	return b.step(id, base, when, stepUndo, carried)
}

// Redo moves the head on to the revision that was last left for it by Undo. base must be the head, else *Outdated; after a
// Save there is *Nothing to redo. Marks are carried as Undo does.
func (b *Book) Redo(id int64, base int, when string, carried ...Carry) (Revision, error) {
	return b.step(id, base, when, stepRedo, carried)
}

func (b *Book) step(id int64, base int, when, step string, carried []Carry) (Revision, error) {
	if err := checkWords("time", when); err != nil {
		return Revision{}, err
	}
	var r Revision
	err := b.writing(func(tx *sql.Tx) error {
		v, err := vehicle(tx, id)
		if err != nil {
			return err
		}
		if base != v.Head {
			was, err := revision(tx, id, base)
			if err != nil {
				return err
			}
			return outdated(tx, v, was, Revision{})
		}
		to := v.Undo
		if step == stepRedo {
			to = v.Redo
		}
		if to == 0 {
			return &Nothing{Vehicle: id, No: base, Step: step}
		}
		if r, err = revision(tx, id, to); err != nil {
			return err
		}
		if err := carry(tx, id, carried, when); err != nil {
			return err
		}
		return move(tx, id, step, base, to, when)
	})
	if err != nil {
		return Revision{}, err
	}
	return r, nil
}

// History lists every revision of a vehicle in the order of saving.
func (b *Book) History(id int64) ([]RevisionInfo, error) {
	var all []RevisionInfo
	err := b.reading(func(tx *sql.Tx) error {
		v, err := vehicle(tx, id)
		if err != nil {
			return err
		}
		rows, err := tx.Query("SELECT no, coalesce(parent, 0), name, what, made FROM revision WHERE vehicle = ? ORDER BY no", id)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var r RevisionInfo
			if err := rows.Scan(&r.No, &r.Parent, &r.Name, &r.What, &r.When); err != nil {
				return err
			}
			r.Head, r.Undo, r.Redo = r.No == v.Head, r.No == v.Undo, r.No == v.Redo
			all = append(all, r)
		}
		return rows.Err()
	})
	return all, err
}
