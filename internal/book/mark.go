package book

import (
	"database/sql"
	"errors"
	"maps"
	"slices"
	"strings"
)

// Mark is a tick or a reading as it stands: made at revision No, 0 where that is not known, of what the caller calls Seen.
type Mark struct {
	Value, When string
	No          int
	Seen        string
}

// MarkChange is one line of the log of marks.
type MarkChange struct{ Key, Value, When string }

// SetMark sets a mark of a vehicle's work card, and keeps the change in its log. The last to set a mark wins; an empty value
// is one too. A mark that has the value already is left with its time.
func (b *Book) SetMark(id int64, key, value, when string) error {
	return b.SetMarks(id, map[string]string{key: value}, when)
}

// SetMarks sets several marks as SetMark does, all of them or none; the log has them in order of their keys.
func (b *Book) SetMarks(id int64, marks map[string]string, when string) error {
	return b.SetMarksOf(id, marks, 0, nil, when)
}

// SetMarksOf is SetMarks for marks made at revision no; seen has for each what was seen of it.
func (b *Book) SetMarksOf(id int64, marks map[string]string, no int, seen map[string]string, when string) error {
	keys := slices.Sorted(maps.Keys(marks))
	for _, key := range keys {
		if key == "" {
			return &BadName{"mark", key, "a mark needs a name"}
		}
		if err := checkWords("name of a mark", key, "mark", marks[key], "time", when, "what was seen", seen[key]); err != nil {
			return err
		}
	}
	return b.writing(func(tx *sql.Tx) error {
		if _, err := vehicle(tx, id); err != nil {
			return err
		}
		for _, key := range keys {
			if err := setMark(tx, id, key, Mark{marks[key], when, no, seen[key]}); err != nil {
				return err
			}
		}
		return nil
	})
}

func setMark(tx *sql.Tx, id int64, key string, m Mark) error {
	var was string
	err := tx.QueryRow("SELECT value FROM mark WHERE vehicle = ? AND key = ?", id, key).Scan(&was)
	if err == nil && was == m.Value {
		return nil
	}
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if _, err := tx.Exec(`INSERT INTO mark (vehicle, key, value, made, no, seen) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET value = excluded.value, made = excluded.made, no = excluded.no, seen = excluded.seen`,
		id, key, m.Value, m.When, m.No, m.Seen); err != nil {
		return err
	}
	_, err = tx.Exec("INSERT INTO mark_log (vehicle, key, value, made) VALUES (?, ?, ?, ?)", id, key, m.Value, m.When)
	return err
}

// Marks gives every mark of a vehicle by its key.
func (b *Book) Marks(id int64) (map[string]Mark, error) {
	all := map[string]Mark{}
	err := b.reading(func(tx *sql.Tx) error {
		if _, err := vehicle(tx, id); err != nil {
			return err
		}
		rows, err := tx.Query("SELECT key, value, made, no, seen FROM mark WHERE vehicle = ?", id)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var key string
			var m Mark
			if err := rows.Scan(&key, &m.Value, &m.When, &m.No, &m.Seen); err != nil {
				return err
			}
			all[key] = m
		}
		return rows.Err()
	})
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

// Carry says that the marks whose keys begin with From begin with To from now on, and the other way about: none is written over, and
// the same carry brings all back.
type Carry struct{ From, To string }

// carry exchanges the marks of each pair; the log has every key that changed.
func carry(tx *sql.Tx, id int64, pairs []Carry, when string) error {
	for _, c := range pairs {
		old, err := column[string](tx, "SELECT key FROM mark WHERE vehicle = ?1 AND (substr(key, 1, length(?2)) = ?2 OR substr(key, 1, length(?3)) = ?3) ORDER BY key",
			id, c.From, c.To)
		if err != nil {
			return err
		}
		for _, step := range []string{
			// By way of keys that no mark has: each must be free when it is taken.
			"UPDATE mark SET key = char(1) || ?3 || substr(key, length(?2) + 1) WHERE vehicle = ?1 AND substr(key, 1, length(?2)) = ?2",
			"UPDATE mark SET key = char(1) || ?2 || substr(key, length(?3) + 1) WHERE vehicle = ?1 AND substr(key, 1, length(?3)) = ?3",
			"UPDATE mark SET key = substr(key, 2) WHERE vehicle = ?1 AND substr(key, 1, 1) = char(1) AND ?2 <> ?3",
		} {
			if _, err := tx.Exec(step, id, c.From, c.To); err != nil {
				return err
			}
		}
		for _, key := range old {
			from, to := c.From, c.To
			if strings.HasPrefix(key, to) {
				from, to = to, from
			}
			for _, key := range []string{key, to + strings.TrimPrefix(key, from)} {
				if _, err := tx.Exec(`INSERT INTO mark_log (vehicle, key, value, made)
					VALUES (?1, ?2, coalesce((SELECT value FROM mark WHERE vehicle = ?1 AND key = ?2), ''), ?3)`, id, key, when); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
