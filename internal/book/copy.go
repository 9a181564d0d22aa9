package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// Copy writes a copy of the whole book to w, as one file that Open takes. The copy is one state of the book, whatever is
// written meanwhile, and holds up nobody. It needs as much room beside the book as the copy has.
func (b *Book) Copy(w io.Writer) error {
	return beside(b.path, func(fresh string) error {
		if err := copyInto(b.path, locked, fresh); err != nil {
			return err
		}
		f, err := os.Open(fresh) // no book: SQLite has no lock on it that closing could drop
		if err != nil {
			return err
		}
		defer f.Close()
		if _, err := io.Copy(w, f); err != nil {
			return fmt.Errorf("send the copy of %s: %w", b.path, err)
		}
		return nil
	})
}

// CopyTo puts a copy as Copy makes it at path, where nothing may be yet (*Exists). It is whole and on the disk before it has
// that name.
func (b *Book) CopyTo(path string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	if _, err := os.Lstat(path); err == nil {
		return &Exists{path}
	} else if err := absent(path, err); !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return beside(path, func(fresh string) error {
		if err := copyInto(b.path, locked, fresh); err != nil {
			return err
		}
		if err := putNew(fresh, path); errors.Is(err, os.ErrExist) {
			return &Exists{path}
		} else if err != nil {
			return err
		}
		return nil
	})
}

// copyInto makes a compact copy of the book at from in the file fresh, in the form in which books are kept.
func copyInto(from, how, fresh string) error {
	if err := os.Truncate(fresh, 0); err != nil { // from an earlier attempt
		return err
	}
	db, err := pool(from, 1, how)
	if err != nil {
		return told(from, err)
	}
	_, err = db.Exec("VACUUM INTO ?", fresh)
	if err := errors.Join(err, db.Close()); err != nil {
		return told(fresh, err)
	}
	db, err = pool(fresh, 1, "mode=rw", "_pragma=journal_mode(WAL)", "_pragma=synchronous(FULL)")
	if err != nil {
		return told(fresh, err)
	}
	return told(fresh, db.Close())
}

// putNew gives the file fresh the name path, if nothing has it, once its bytes are on the disk.
func putNew(fresh, path string) error {
	if err := syncFile(fresh); err != nil {
		return err
	}
	err := os.Link(fresh, path)
	if err != nil && !errors.Is(err, os.ErrExist) {
		// A file system without links: the name is taken first, so that nothing is overwritten.
		f, taken := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
		if taken != nil {
			return taken
		}
		err = errors.Join(f.Close(), os.Rename(fresh, path))
	}
	if err != nil {
		return err
	}
	if runtime.GOOS == "windows" {
		return nil // folders cannot be synced there
	}
	return syncFile(filepath.Dir(path))
}

func syncFile(path string) error {
	mode := os.O_RDWR
	if info, err := os.Stat(path); err != nil {
		return err
	} else if info.IsDir() {
		mode = os.O_RDONLY
	}
	f, err := os.OpenFile(path, mode, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// ImportBook adds every vehicle of the book at path to this one, archived ones too, with all revisions, moves and marks, and
// returns them under their new numbers. The other book is only read, even one of an older version, and every byte of it is
// checked first; it is refused as Open refuses it. All of it is added or nothing.
func (b *Book) ImportBook(path string) ([]Vehicle, error) {
	s := known()
	real, err := place(path)
	if err != nil {
		if errors.Is(err, os.ErrNotExist) {
			err = &NotABook{real, "nothing"}
		}
		return nil, err
	}
	var added []Vehicle
	if looked, err := look(real, s); err != nil {
		return nil, err
	} else if !looked {
		return nil, &Damaged{real, "a change of it was cut off and waits to be taken back: open it once by itself"}
	}
	err = beside(b.path, func(fresh string) error {
		if err := still(real, func(how string) error { return copyInto(real, how, fresh) }); err != nil {
			return err
		}
		if err := prepare(fresh, real, s); err != nil {
			return err
		}
		added, err = b.attach(fresh)
		return err
	})
	return added, err
}

// prepare brings a copy forward and checks what a look leaves out: each digest, and each name.
func prepare(fresh, original string, s schema) error {
	db, err := pool(fresh, 1, "_txlock=immediate", "mode=rw")
	if err != nil {
		return told(fresh, err)
	}
	err = s.migrate(db, fresh)
	if err == nil {
		err = sound(db, "integrity_check")
	}
	if err == nil {
		err = checkBlobs(db)
	}
	var names []string
	if err == nil {
		names, err = column[string](db, "SELECT DISTINCT name FROM file")
	}
	for _, name := range names {
		if bad := checkFileName(name); bad != nil {
			err = &Damaged{Found: bad.Error()}
		}
	}
	return told(original, errors.Join(err, db.Close()))
}

// importing adds the rows of the attached book "other" with their vehicles' numbers raised by ?1.
const importing = `
INSERT INTO blob (digest, bytes) SELECT digest, bytes FROM other.blob WHERE true ORDER BY rowid ON CONFLICT DO NOTHING;
INSERT INTO vehicle (id, head, changed, archived) SELECT id + ?1, head, changed, archived FROM other.vehicle ORDER BY id;
INSERT INTO revision (vehicle, no, parent, name, text, what, made)
  SELECT vehicle + ?1, no, parent, name, text, what, made FROM other.revision ORDER BY vehicle, no;
INSERT INTO file (vehicle, no, name, digest) SELECT vehicle + ?1, no, name, digest FROM other.file ORDER BY vehicle, no, name;
INSERT INTO move (vehicle, step, came, went, made) SELECT vehicle + ?1, step, came, went, made FROM other.move ORDER BY id;
INSERT INTO mark (vehicle, key, value, made, no, seen) SELECT vehicle + ?1, key, value, made, no, seen FROM other.mark ORDER BY vehicle, key;
INSERT INTO mark_log (vehicle, key, value, made) SELECT vehicle + ?1, key, value, made FROM other.mark_log ORDER BY id;`

func (b *Book) attach(fresh string) ([]Vehicle, error) {
	ctx := context.Background()
	conn, err := b.write.Conn(ctx) // a book is attached to a connection
	if err != nil {
		return nil, told(b.path, err)
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, "ATTACH ? AS other", fresh); err != nil {
		return nil, told(fresh, err)
	}
	tx, err := conn.BeginTx(ctx, nil)
	if err != nil {
		return nil, errors.Join(told(b.path, err), detach(conn))
	}
	added, err := importInto(tx)
	if err == nil {
		err = tx.Commit()
	}
	if err != nil {
		_ = tx.Rollback()
		return nil, errors.Join(told(b.path, err), detach(conn))
	}
	return added, detach(conn)
}

func detach(conn *sql.Conn) error {
	_, err := conn.ExecContext(context.Background(), "DETACH other")
	return err
}

func importInto(tx *sql.Tx) ([]Vehicle, error) {
	var last int64
	if err := tx.QueryRow("SELECT coalesce(max(id), 0) FROM vehicle").Scan(&last); err != nil {
		return nil, err
	}
	for _, statement := range strings.Split(strings.TrimSpace(importing), ";\n") {
		var args []any
		if strings.Contains(statement, "?1") {
			args = append(args, last)
		}
		if _, err := tx.Exec(statement, args...); err != nil {
			return nil, err
		}
	}
	return vehicles(tx, last)
}
