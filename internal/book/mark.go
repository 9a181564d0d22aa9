package book

import (
	"database/sql"
	"errors"
	"maps"
	"slices"
)

// Mark is a tick or a reading as it stands.
type Mark struct{ Value, When string }

// MarkChange is one line of the log of marks.
type MarkChange struct{ Key, Value, When string }

// SetMark sets a mark of a vehicle's work card, and keeps the change in its log. The last to set a mark wins; an empty value
// is one too. A mark that has the value already is left with its time.
func (b *Book) SetMark(id int64, key, value, when string) error {
	return b.SetMarks(id, map[string]string{key: value}, when)
}

// SetMarks sets several marks as SetMark does, all of them or none; the log has them in order of their keys.
func (b *Book) SetMarks(id int64, marks map[string]string, when string) error {
	keys := slices.Sorted(maps.Keys(marks))
	for _, key := range keys {
		if key == "" {
			return &BadName{"mark", key, "a mark needs a name"}
		}
		if err := checkWords("name of a mark", key, "mark", marks[key], "time", when); err != nil {
			return err
		}
	}
	return b.writing(func(tx *sql.Tx) error {
		if _, err := vehicle(tx, id); err != nil {
			return err
		}
		for _, key := range keys {
			if err := setMark(tx, id, key, marks[key], when); err != nil {
				return err
			}
		}
		return nil
	})
}

func setMark(tx *sql.Tx, id int64, key, value, when string) error {
	var was string
	err := tx.QueryRow("SELECT value FROM mark WHERE vehicle = ? AND key = ?", id, key).Scan(&was)
	if err == nil && was == value {
		return nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if _, err := tx.Exec(`INSERT INTO mark (vehicle, key, value, made) VALUES (?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET value = excluded.value, made = excluded.made`, id, key, value, when); err != nil {
		return err
	}
	_, err = tx.Exec("INSERT INTO mark_log (vehicle, key, value, made) VALUES (?, ?, ?, ?)", id, key, value, when)
	return err
}

// Marks gives every mark of a vehicle by its key.
func (b *Book) Marks(id int64) (map[string]Mark, error) {
	all := map[string]Mark{}
	lines, err := b.marks(id, "SELECT key, value, made FROM mark WHERE vehicle = ?")
	for _, l := range lines {
		all[l.Key] = Mark{l.Value, l.When}
	}
	return all, err
}

// MarkLog lists every change of a vehicle's marks in the order in which they were made.
func (b *Book) MarkLog(id int64) ([]MarkChange, error) {
	return b.marks(id, "SELECT key, value, made FROM mark_log WHERE vehicle = ? ORDER BY id")
}

func (b *Book) marks(id int64, query string) ([]MarkChange, error) {
	var all []MarkChange
	err := b.reading(func(tx *sql.Tx) error {
		if _, err := vehicle(tx, id); err != nil {
			return err
		}
		rows, err := tx.Query(query, id)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var m MarkChange
			if err := rows.Scan(&m.Key, &m.Value, &m.When); err != nil {
				return err
			}
			all = append(all, m)
		}
		return rows.Err()
	})
	return all, err
}
