package book

import (
	"database/sql"
	"fmt"
	"slices"
	"sync"
)

// applicationID marks a file as a book, in the header of the database: the letters PWbk.
const applicationID = 0x5057626b

// schema is the list of steps that make a book, one for each version: step 0 makes version 1 of an empty file.
type schema struct {
	steps []string
	want  func() ([]string, error) // the definitions that a file of the latest version holds
}

// known is the schema of this program. A step that has been released is never changed: a new version is a new step.
func known() schema {
	return schema{steps: []string{version1, version2, version3}, want: knownDefinitions}
}

// version1: revisions, files and blobs are only ever added; the triggers hold even against a mistake of ours. Text and files
// of revisions are blobs under their SHA-256, so that revisions share what did not change between them.
const version1 = `
CREATE TABLE blob (
  digest BLOB NOT NULL UNIQUE CHECK (length(digest) = 32),
  bytes BLOB NOT NULL
) STRICT;
CREATE TABLE vehicle (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  head INTEGER NOT NULL,
  changed TEXT NOT NULL,
  archived INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1)),
  FOREIGN KEY (id, head) REFERENCES revision (vehicle, no) DEFERRABLE INITIALLY DEFERRED
) STRICT;
CREATE TABLE revision (
  vehicle INTEGER NOT NULL REFERENCES vehicle (id),
  no INTEGER NOT NULL CHECK (no > 0),
  parent INTEGER CHECK (parent < no),
  name TEXT NOT NULL,
  text BLOB NOT NULL REFERENCES blob (digest),
  what TEXT NOT NULL,
  made TEXT NOT NULL,
  PRIMARY KEY (vehicle, no),
  FOREIGN KEY (vehicle, parent) REFERENCES revision (vehicle, no)
) STRICT, WITHOUT ROWID;
CREATE TABLE file (
  vehicle INTEGER NOT NULL,
  no INTEGER NOT NULL,
  name TEXT NOT NULL,
  digest BLOB NOT NULL REFERENCES blob (digest),
  PRIMARY KEY (vehicle, no, name),
  FOREIGN KEY (vehicle, no) REFERENCES revision (vehicle, no)
) STRICT, WITHOUT ROWID;
CREATE TABLE move (
  id INTEGER PRIMARY KEY,
  vehicle INTEGER NOT NULL,
  step TEXT NOT NULL CHECK (step IN ('save', 'undo', 'redo')),
  came INTEGER,
  went INTEGER NOT NULL,
  made TEXT NOT NULL,
  FOREIGN KEY (vehicle, came) REFERENCES revision (vehicle, no),
  FOREIGN KEY (vehicle, went) REFERENCES revision (vehicle, no)
) STRICT;
CREATE INDEX move_went ON move (vehicle, went);
CREATE TABLE mark (
  vehicle INTEGER NOT NULL REFERENCES vehicle (id),
  key TEXT NOT NULL,
  value TEXT NOT NULL,
  made TEXT NOT NULL,
  PRIMARY KEY (vehicle, key)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER blob_stays BEFORE UPDATE ON blob BEGIN SELECT RAISE(ABORT, 'blobs are never changed'); END;
CREATE TRIGGER blob_kept BEFORE DELETE ON blob BEGIN SELECT RAISE(ABORT, 'blobs are never removed'); END;
CREATE TRIGGER revision_stays BEFORE UPDATE ON revision BEGIN SELECT RAISE(ABORT, 'revisions are never changed'); END;
CREATE TRIGGER revision_kept BEFORE DELETE ON revision BEGIN SELECT RAISE(ABORT, 'revisions are never removed'); END;
CREATE TRIGGER file_stays BEFORE UPDATE ON file BEGIN SELECT RAISE(ABORT, 'files are never changed'); END;
CREATE TRIGGER file_kept BEFORE DELETE ON file BEGIN SELECT RAISE(ABORT, 'files are never removed'); END;
CREATE TRIGGER move_stays BEFORE UPDATE ON move BEGIN SELECT RAISE(ABORT, 'moves are never changed'); END;
CREATE TRIGGER move_kept BEFORE DELETE ON move BEGIN SELECT RAISE(ABORT, 'moves are never removed'); END;
CREATE TRIGGER vehicle_kept BEFORE DELETE ON vehicle BEGIN SELECT RAISE(ABORT, 'vehicles are never removed'); END;
`

// version2 keeps each change of a mark; what a book of version 1 has of marks becomes the beginning of the log.
const version2 = `
CREATE TABLE mark_log (
  id INTEGER PRIMARY KEY,
  vehicle INTEGER NOT NULL REFERENCES vehicle (id),
  key TEXT NOT NULL,
  value TEXT NOT NULL,
  made TEXT NOT NULL
) STRICT;
CREATE INDEX mark_log_vehicle ON mark_log (vehicle);
INSERT INTO mark_log (vehicle, key, value, made) SELECT vehicle, key, value, made FROM mark ORDER BY made, vehicle, key;
CREATE TRIGGER mark_log_stays BEFORE UPDATE ON mark_log BEGIN SELECT RAISE(ABORT, 'the log is never changed'); END;
CREATE TRIGGER mark_log_kept BEFORE DELETE ON mark_log BEGIN SELECT RAISE(ABORT, 'the log is never shortened'); END;
`

// version3 keeps with a mark the revision that it was made at, and what its maker saw of it; of older marks neither is known.
const version3 = `
ALTER TABLE mark ADD COLUMN no INTEGER NOT NULL DEFAULT 0;
ALTER TABLE mark ADD COLUMN seen TEXT NOT NULL DEFAULT '';
`

// knownDefinitions makes the schema in memory and reads it back, so that there is one source of it.
var knownDefinitions = sync.OnceValues(func() ([]string, error) { return definitionsOf([]string{version1, version2, version3}) })

func definitionsOf(steps []string) ([]string, error) {
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1) // each connection to :memory: is a database of its own
	for i, step := range steps {
		if _, err := db.Exec(step); err != nil {
			panic(fmt.Sprintf("book: version %d: %v", i+1, err))
		}
	}
	return definitions(db)
}

// queryer is a database or a transaction.
type queryer interface {
	Query(query string, args ...any) (*sql.Rows, error)
	QueryRow(query string, args ...any) *sql.Row
}

// definitions lists what a database defines, in order of names.
func definitions(q queryer) ([]string, error) {
	return column[string](q, "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_schema ORDER BY type, name")
}

// column gives the first column of a query.
func column[T any](q queryer, query string, args ...any) ([]T, error) {
	rows, err := q.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		var v T
		if err := rows.Scan(&v); err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, rows.Err()
}

// versionOf reads the version of a book, 0 for an empty database.
func versionOf(q queryer) (int, error) {
	var v int
	err := q.QueryRow("PRAGMA user_version").Scan(&v)
	return v, err
}

// migrate brings the database forward to the latest version, one transaction for each. It reads the version again inside it:
// another process may have been quicker.
func (s schema) migrate(db *sql.DB, path string) error {
	for {
		v, err := versionOf(db)
		if err != nil || v == len(s.steps) {
			return err
		}
		err = within(path, db, func(tx *sql.Tx) error {
			v, err := versionOf(tx)
			switch {
			case err != nil || v == len(s.steps):
				return err
			case v > len(s.steps):
				return &Newer{path, v, len(s.steps)}
			}
			_, err = tx.Exec(fmt.Sprintf("%s; PRAGMA application_id = %d; PRAGMA user_version = %d", s.steps[v], applicationID, v+1))
			return err
		})
		if err != nil {
			return fmt.Errorf("bring the book to version %d: %w", v+1, err)
		}
	}
}

// fits says whether a database of version v holds the definitions that a book of that version has.
func (s schema) fits(q queryer, v int) (bool, error) {
	want, err := s.want()
	if v != len(s.steps) {
		want, err = definitionsOf(s.steps[:v])
	}
	if err != nil {
		return false, err
	}
	have, err := definitions(q)
	return slices.Equal(have, want), err
}
