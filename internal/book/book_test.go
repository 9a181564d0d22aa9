package book

import (
	"path/filepath"
	"testing"
)

func newBook(t testing.TB) *Book {
	t.Helper()
	return reopen(t, filepath.Join(t.TempDir(), "bench.book"))
}

func reopen(t testing.TB, path string) *Book {
	t.Helper()
	b, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func TestSmoke(t *testing.T) {
	b := newBook(t)
	r, err := b.Create(Change{Name: "sample", Text: "a: 1\n", When: "2026-01-01"})
	if err != nil {
		t.Fatal(err)
	}
	t.Log(r)
	got, err := b.Get(r.Vehicle)
	t.Log(got, err)
	t.Log(b.Vehicles())
	b.Close()
	m, _ := filepath.Glob(filepath.Dir(b.path) + "/*")
	m2, _ := filepath.Glob(filepath.Dir(b.path) + "/.*")
	t.Log(m, m2)
	b = reopen(t, b.path)
	t.Log(b.Vehicles())
	t.Log(b.Check())
	c := filepath.Dir(b.path) + "/copy.book"
	t.Log(b.CopyTo(c), b.CopyTo(c))
	t.Log(b.ImportBook(c))
	m, _ = filepath.Glob(filepath.Dir(b.path) + "/*")
	t.Log(m)
}
