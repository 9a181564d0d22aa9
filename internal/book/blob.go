package book

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
)

// putBlob keeps bytes under their SHA-256, which it returns; what is there already is shared.
func putBlob(tx *sql.Tx, text []byte) ([]byte, error) {
	sum := sha256.Sum256(text)
	var there bool
	if err := tx.QueryRow("SELECT EXISTS (SELECT 1 FROM blob WHERE digest = ?)", sum[:]).Scan(&there); err != nil || there {
		return sum[:], err
	}
	if text == nil {
		text = []byte{} // nil would be NULL
	}
	_, err := tx.Exec("INSERT INTO blob (digest, bytes) VALUES (?, ?)", sum[:], text)
	return sum[:], err
}

// blob gives the bytes of a digest. Bytes that do not have it are never given: SQLite's own check does not see every change.
func blob(q queryer, digest []byte) ([]byte, error) {
	var text []byte
	err := q.QueryRow("SELECT bytes FROM blob WHERE digest = ?", digest).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, &Damaged{Found: fmt.Sprintf("the bytes of %x are not there", digest)}
	}
	if err != nil {
		return nil, err
	}
	if sum := sha256.Sum256(text); !bytes.Equal(sum[:], digest) {
		return nil, &Damaged{Found: fmt.Sprintf("the bytes of %x have changed", digest)}
	}
	return text, nil
}

// checkBlobs reads every blob.
func checkBlobs(q queryer) error {
	digests, err := column[[]byte](q, "SELECT digest FROM blob ORDER BY rowid")
	if err != nil {
		return err
	}
	for _, digest := range digests {
		if _, err := blob(q, digest); err != nil {
			return err
		}
	}
	return nil
}
