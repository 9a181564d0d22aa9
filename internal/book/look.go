package book

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// look reads the file at path through, and writes nothing, to say whether it is a sound book that this program knows. It
// returns false where only a writer can tell: a change was cut off while the book had no log, and waits to be taken back.
func look(path string, s schema) (bool, error) {
	err := still(path, func(how string) error {
		return peek(path, how, func(q queryer) error {
			if err := uncut(q, path, how); err != nil {
				return err
			}
			return s.inspect(q, path)
		})
	})
	var code *sqlite.Error
	if errors.As(err, &code) && code.Code() == sqlite3.SQLITE_READONLY_ROLLBACK {
		return false, nil
	}
	return true, told(path, err)
}

// The ways in which a book can be opened only to read it: as a file that nobody changes, or with locks.
const (
	immutable = "immutable=1"
	locked    = "mode=ro"
)

// still calls f with the way in which a book can be opened to read it. A book that nobody has open is read as a file that
// does not change: that leaves nothing beside it, and needs no folder that may be written. If it did change, f is called again.
func still(path string, f func(how string) error) error {
	before, err := trace(path)
	if err != nil {
		return err
	}
	if !before.logged {
		err := f(immutable)
		if after, lost := trace(path); lost != nil || after == before {
			return err
		}
	}
	return f(locked)
}

// traces are what a program leaves that writes to a book, or has it open.
type traces struct {
	size, changed int64
	logged        bool
}

func trace(path string) (traces, error) {
	info, err := os.Stat(path)
	if err != nil {
		return traces{}, err
	}
	t := traces{size: info.Size(), changed: info.ModTime().UnixNano()}
	if _, err := os.Stat(path + "-wal"); err == nil {
		t.logged = true
	}
	if journal, err := os.Stat(path + "-journal"); err == nil && journal.Size() > 0 {
		t.logged = true
	}
	return t, nil
}

// peek opens the file at path for reading and calls f in one transaction.
func peek(path, how string, f func(q queryer) error) error {
	db, err := pool(path, 1, how)
	if err != nil {
		return err
	}
	defer db.Close()
	tx, err := db.Begin()
	if err != nil {
		return err
	}
	defer tx.Rollback()
	return f(tx)
}

// uncut finds a file that ends within its last page, which SQLite would read as if zeros followed. A book that has a log may
// end there: the log has the rest.
func uncut(q queryer, path, how string) error {
	var need int64
	if err := q.QueryRow("SELECT page_count * page_size FROM pragma_page_count, pragma_page_size").Scan(&need); err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err == nil && how == immutable && info.Size() < need {
		return &Damaged{path, fmt.Sprintf("it has %d bytes, and its first page says %d", info.Size(), need)}
	}
	return err
}

// inspect holds the whole database against what a book is.
func (s schema) inspect(q queryer, path string) error {
	var id int
	if err := q.QueryRow("PRAGMA application_id").Scan(&id); err != nil {
		return err
	}
	v, err := versionOf(q)
	switch {
	case err != nil:
		return err
	case id != applicationID:
		return &NotABook{path, "a database of another program"}
	case v > len(s.steps):
		return &Newer{path, v, len(s.steps)}
	case v < 1:
		return &Damaged{path, fmt.Sprintf("version %d, which no book has", v)}
	}
	if err := sound(q, "quick_check"); err != nil {
		return err
	}
	if fits, err := s.fits(q, v); err != nil {
		return err
	} else if !fits {
		return &Damaged{path, fmt.Sprintf("its tables are not those of version %d", v)}
	}
	return nil
}

// sound runs one of SQLite's checks: integrity_check, or quick_check, which leaves out whether indexes agree with their tables.
func sound(q queryer, check string) error {
	found, err := column[string](q, "PRAGMA "+check+"(3)")
	if err != nil {
		return err
	}
	if len(found) != 1 || found[0] != "ok" {
		return &Damaged{Found: fmt.Sprint(found)}
	}
	var broken int
	if err := q.QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken); err != nil {
		return err
	}
	if broken > 0 {
		return &Damaged{Found: fmt.Sprintf("%d rows refer to what is not there", broken)}
	}
	return nil
}

// tempPattern names the files that are made beside a book and removed again; a killed process leaves one behind.
const tempPattern = ".book-*.tmp"

// beside calls f with the name of a new empty file beside path, and removes the file afterwards.
func beside(path string, f func(fresh string) error) error {
	file, err := os.CreateTemp(filepath.Dir(path), tempPattern)
	if err != nil {
		return told(path, err)
	}
	fresh := file.Name()
	defer func() {
		for _, rest := range []string{"", "-wal", "-shm", "-journal"} {
			_ = os.Remove(fresh + rest)
		}
	}()
	if err := file.Close(); err != nil {
		return told(path, err)
	}
	return told(path, f(fresh))
}
