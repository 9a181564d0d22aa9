package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

// TestMain lets the test's own program be the one that is killed.
func TestMain(m *testing.M) {
	if os.Getenv("KILLBOOK_WRITER") != "" {
		main()
		return
	}
	flag.Parse()
	os.Exit(m.Run())
}

// The short form of scripts/kill-book.sh.
func TestKilled(t *testing.T) {
	sum, err := run(os.Args[0], 5, 1, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Log(sum)
	if sum.kills != 10 || sum.revisions < 10 {
		t.Errorf("hardly anything was written: %v", sum)
	}
}

// A check that finds nothing is no check: what was never written is missed.
func TestLossIsSeen(t *testing.T) {
	for name, said := range map[string]string{
		"revision": "head 2 9 00\n",
		"content":  "shared 1 00\n",
		"mark":     "mark 1 5 step 1\n",
	} {
		t.Run(name, func(t *testing.T) {
			a, path := noAcks(), filepath.Join(t.TempDir(), "bench.book")
			if err := begin(path); err != nil {
				t.Fatal(err)
			}
			var sum tally
			if err := a.read(said+"head 2", &sum); err != nil {
				t.Fatal(err)
			}
			if err := a.check(path, &sum, 0); err == nil {
				t.Error("not seen")
			}
		})
	}
}
