package book

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// FuzzOpen gives any bytes as a book: they open, or are refused with an error that says why; nothing panics, and whatever opens
// can be read or says that it is damaged.
func FuzzOpen(f *testing.F) {
	text := closed(f)
	f.Add(text)
	f.Add(must(os.ReadFile(version1File))(f))
	f.Add(text[:len(text)/2])
	f.Add([]byte("SQLite format 3\x00"))
	f.Add([]byte("panels: []\n"))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, text []byte) {
		path := filepath.Join(dir, "bench.book")
		for _, rest := range []string{"-wal", "-shm", "-journal"} {
			os.Remove(path + rest)
		}
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		b, err := Open(path)
		if err != nil {
			hasWord(t, err)
			return
		}
		defer b.Close()
		if _, err := content(b); err != nil {
			hasWord(t, err)
		}
		if _, err := b.Create(Change{Name: "sample"}); err != nil {
			hasWord(t, err)
		}
	})
}

func hasWord(t *testing.T, err error) {
	t.Helper()
	var damaged *Damaged
	var other *NotABook
	var newer *Newer
	if !errors.As(err, &damaged) && !errors.As(err, &other) && !errors.As(err, &newer) {
		t.Errorf("got %v", err)
	}
}
