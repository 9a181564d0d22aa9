package main

import (
	"context"
	"flag"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"panelwright/internal/book"
	"panelwright/internal/web"
)

// TestMain lets the test's own program be the bench that is killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("KILLBENCH_BOOK"); path != "" {
		serve(path)
		return
	}
	flag.Parse()
	os.Exit(m.Run())
}

func serve(path string) {
	kept, err := book.Open(path)
	if err != nil {
		panic(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		panic(err)
	}
	fmt.Printf("http://%s\n", l.Addr())
	panic(web.NewServer(web.New(web.Options{Book: kept, Address: l.Addr().String()})).Serve(l))
}

func itself(path string) *exec.Cmd {
	c := exec.CommandContext(context.Background(), os.Args[0])
	c.Env = append(os.Environ(), "KILLBENCH_BOOK="+path)
	return c
}

// The short form of scripts/kill-bench.sh.
func TestKilled(t *testing.T) {
	sum, err := run(itself, 4, 1, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Log(sum)
	if sum.kills != 4 || sum.revisions < 4 || sum.marks < 4 {
		t.Errorf("hardly anything was written: %v", sum)
	}
}

// A check that finds nothing is no check: what was never written is missed.
func TestLossIsSeen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bench.book")
	for name, a := range map[string]*acks{
		"revision": {revisions: map[[2]int64]string{{1, 9}: job}},
		"text":     {revisions: map[[2]int64]string{{1, 1}: "another"}},
		"tick":     {marks: map[string][]string{"vehicle 2 box 1 of client 1": {"round 1, 1"}}},
	} {
		if err := begin(path, &acks{revisions: map[[2]int64]string{}}); err != nil {
			t.Fatal(err)
		}
		if a.check(path) == nil {
			t.Errorf("a lost %s is not seen", name)
		}
	}
}
