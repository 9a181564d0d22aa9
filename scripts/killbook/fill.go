package main

import (
	"errors"
	"fmt"
	"io"

	"panelwright/internal/book"
)

// fill saves to a book on a small disk until the disk is full, and looks whether all that was acknowledged is there: before and
// after the book is closed and opened again, and once there is room.
func fill(path string) (string, error) {
	b, err := book.Open(path)
	if err != nil {
		return "", err
	}
	a := noAcks()
	r, err := b.Create(book.Change{Name: "sample", Text: "0"})
	if err != nil {
		return "", err
	}
	w := &author{b: b, name: "fill"}
	for {
		a.revisions[[2]int64{r.Vehicle, int64(r.No)}] = fmt.Sprintf("%x", digest(r))
		w.n++
		file := make([]byte, 40000)
		copy(file, fmt.Sprint(w.n))
		next, err := b.Save(r.Vehicle, r.No, book.Change{Text: fmt.Sprint(w.n), Files: []book.File{{Name: "a", Bytes: file}}})
		var full *book.DiskFull
		if errors.As(err, &full) {
			break
		}
		if err != nil {
			return "", err
		}
		r = next
	}
	var full *book.DiskFull
	if err := b.Copy(io.Discard); !errors.As(err, &full) {
		return "", fmt.Errorf("a copy on the full disk: %w", err)
	}
	if err := errors.Join(b.Check(), a.checkRevisions(b, 0)); err != nil {
		return "", fmt.Errorf("on the full disk: %w", err)
	}
	if err := b.Close(); err != nil {
		return "", fmt.Errorf("close on the full disk: %w", err)
	}
	if err := a.check(path, &tally{}, 0); err != nil {
		return "", fmt.Errorf("opened again on the full disk: %w", err)
	}
	return fmt.Sprintf("the disk was full after %d revisions; none is lost", r.No), nil
}
