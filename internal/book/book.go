// Package book keeps vehicles in one file: each with every revision of its text and files, and the marks of its work card.
//
// It knows text and bytes and nothing of what they say, and it has no clock: times come in as strings. The file is an SQLite
// database; docs/book.md has the format. What a method has acknowledged is on the disk: it survives a killed process.
package book

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	_ "modernc.org/sqlite" // the driver "sqlite"
)

// readersMax bounds the connections that read at the same time; each holds a page cache of 2 MB at most.
const readersMax = 4

// busyMilliseconds is how long a change waits for another process that is writing before it gives up with *Busy.
const busyMilliseconds = 5000

// walKeep (bytes) is what is kept of the write-ahead log once it has been carried over to the book.
const walKeep = 8 << 20

// Book is an open book. It is safe for use by many goroutines, and several processes may have one file open. Readers never
// wait for a writer. Errors are *Unknown, *Outdated, *Nothing, *TooLarge, *BadName, *Busy, *ReadOnly, *DiskFull,
// *DiskFailed, *Damaged, *Replaced or *Newer, perhaps wrapped; any other has met something that the book has no word for. After any error nothing of the change
// has been kept.
type Book struct {
	path  string
	file  os.FileInfo // which file that was when it was opened
	write *sql.DB     // one connection: changes of this process queue here and never meet
	read  *sql.DB
}

// Open opens the book at path, or makes an empty one where nothing is. A book of an older version is brought forward; that is
// one transaction for each version, so the file is the old one or the new one, whole. The whole book is read through first.
//
// A file that is no book is refused with *NotABook, a book of a later program with *Newer, one that is damaged with *Damaged,
// one that this program may not write with *ReadOnly: none of them is written. The folder of path must exist and must not lie
// on a network share.
func Open(path string) (*Book, error) {
	return open(path, known())
}

func open(path string, s schema) (*Book, error) {
	real, err := place(path)
	if errors.Is(err, os.ErrNotExist) {
		err = create(real, s)
	}
	if err != nil {
		return nil, err
	}
	looked, err := look(real, s)
	if err != nil {
		return nil, err
	}
	b := &Book{path: real}
	if b.file, err = os.Stat(real); err != nil {
		return nil, told(real, err)
	}
	if b.write, err = pool(real, 1, "_txlock=immediate", "mode=rw", "_pragma=journal_mode(WAL)", "_pragma=synchronous(FULL)",
		"_pragma=foreign_keys(1)", fmt.Sprintf("_pragma=journal_size_limit(%d)", walKeep)); err != nil {
		return nil, told(real, err)
	}
	if b.read, err = pool(real, readersMax, "mode=rw", "_query_only=1"); err != nil {
		return nil, errors.Join(told(real, err), b.write.Close())
	}
	if !looked {
		err = b.reading(func(tx *sql.Tx) error { return s.inspect(tx, real) })
	}
	if err == nil {
		err = s.migrate(b.write, real)
	}
	if err == nil {
		err = mayWrite(real)
	}
	if err != nil {
		return nil, errors.Join(told(real, err), b.Close())
	}
	return b, nil
}

// mayWrite makes a change and takes it back: SQLite opens a file that may not be written without a word, for reading.
func mayWrite(path string) error {
	db, err := pool(path, 1, "mode=rw", "_txlock=immediate", "_pragma=busy_timeout(0)")
	if err != nil {
		return err
	}
	defer db.Close()
	back := errors.New("taken back")
	err = within(path, db, func(tx *sql.Tx) error {
		if _, err := tx.Exec(fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
			return err
		}
		return back
	})
	var busy *Busy
	if errors.Is(err, back) || errors.As(err, &busy) { // who would have to wait for another's change may write
		return nil
	}
	return err
}

// Path gives the file that the book is kept in, absolute and with its links followed.
func (b *Book) Path() string { return b.path }

// Close closes the book. What was acknowledged is on the disk before.
func (b *Book) Close() error {
	// The readers go first: the last connection to close carries the log over to the book, and readers may not write.
	return told(b.path, errors.Join(b.read.Close(), b.write.Close()))
}

// Check reads every page, every reference and every text and file of the book and holds them against their digests. It
// returns *Damaged with the first that is wrong. Others may read and write meanwhile.
func (b *Book) Check() error {
	return b.reading(func(tx *sql.Tx) error {
		if err := sound(tx, "integrity_check"); err != nil {
			return err
		}
		return checkBlobs(tx)
	})
}

// place finds the file that path names. With an error that is os.ErrNotExist the path is the one to make it at.
func place(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	real, err := filepath.EvalSymlinks(abs)
	if err != nil {
		return abs, absent(abs, err)
	}
	// Only Stat: closing any other file of ours on the book would drop the locks that SQLite holds on it for this process.
	info, err := os.Stat(real)
	switch {
	case err != nil:
		return real, absent(real, err)
	case !info.Mode().IsRegular():
		return real, &NotABook{Path: real, Found: "no file but a folder or a device"}
	case info.Size() == 0:
		return real, &NotABook{Path: real, Found: "an empty file"}
	}
	return real, nil
}

// absent keeps err where the file is not there but could be made, and otherwise says what stands in the way.
func absent(path string, err error) error {
	if !errors.Is(err, os.ErrNotExist) {
		return told(path, err)
	}
	if _, err := os.Lstat(path); err == nil {
		return &NotABook{Path: path, Found: "a link that leads nowhere"}
	}
	if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
		return &NoFolder{Path: path}
	}
	return err
}

// create makes an empty book at path. It is made beside and linked in whole, so that no moment shows half a book, and a book
// that another process makes meanwhile stands.
func create(path string, s schema) error {
	for _, rest := range []string{"-wal", "-journal"} {
		// A log that lost its book would be carried over to the new one.
		if info, err := os.Stat(path + rest); err == nil && info.Size() > 0 {
			return &Damaged{Path: path, Found: fmt.Sprintf("the book is gone, but its log %s is there and may hold changes: "+
				"put the book back beside it, or move the log away", filepath.Base(path)+rest)}
		}
	}
	return beside(path, func(fresh string) error {
		db, err := pool(fresh, 1, "_txlock=immediate", "mode=rw", "_pragma=journal_mode(WAL)", "_pragma=synchronous(FULL)")
		if err != nil {
			return err
		}
		if err := s.migrate(db, fresh); err != nil {
			return errors.Join(err, db.Close())
		}
		if err := db.Close(); err != nil {
			return err
		}
		if err := putNew(fresh, path); !errors.Is(err, os.ErrExist) {
			return err
		}
		return nil // another process was quicker
	})
}

// pool opens connections to the file at path, at most n, and tries one. Each has what every connection needs: patience, no
// trust in what a doctored file defines, and a look at each page's order before it is used.
func pool(path string, n int, params ...string) (*sql.DB, error) {
	slashed := filepath.ToSlash(path)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // C:/…
	}
	params = append([]string{fmt.Sprintf("_busy_timeout=%d", busyMilliseconds), "_dqs=0", "_defensive=1", "_error_rc=1",
		"_pragma=trusted_schema(0)", "_pragma=cell_size_check(1)"}, params...)
	name := url.URL{Scheme: "file", Path: slashed, RawQuery: strings.Join(params, "&")}
	db, err := sql.Open("sqlite", name.String())
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(n)
	db.SetMaxIdleConns(n)
	if err := db.Ping(); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// reading calls f with one state of the book, whatever others write meanwhile.
func (b *Book) reading(f func(tx *sql.Tx) error) error {
	return b.within(b.read, f)
}

// writing calls f in a transaction, and keeps what it did only if f, and the disk, had no error.
func (b *Book) writing(f func(tx *sql.Tx) error) error {
	return b.within(b.write, f)
}

func (b *Book) within(db *sql.DB, f func(tx *sql.Tx) error) error {
	return within(b.path, db, func(tx *sql.Tx) error {
		if file, err := os.Stat(b.path); err != nil || !os.SameFile(file, b.file) {
			return &Replaced{b.path}
		}
		return f(tx)
	})
}

func within(path string, db *sql.DB, f func(tx *sql.Tx) error) error {
	tx, err := db.BeginTx(context.Background(), nil)
	if err != nil {
		return told(path, err)
	}
	if err := f(tx); err != nil {
		_ = tx.Rollback() // SQLite may have rolled back itself; err says why
		return told(path, err)
	}
	if err := tx.Commit(); err != nil {
		_ = tx.Rollback()
		return told(path, err)
	}
	return nil
}
