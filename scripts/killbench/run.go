package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"panelwright/internal/book"
)

// server is a way to start the bench on a book.
type server func(path string) *exec.Cmd

func bench(program string) server {
	return func(path string) *exec.Cmd {
		return exec.Command(program, "bench", "--book", path, "--address", "127.0.0.1:0")
	}
}

// What is done in each round.
const (
	vehicles = 2 // that all clients work on
	clients  = 8
	killMin  = 30 * time.Millisecond // after the clients begin
	killMax  = 1500 * time.Millisecond
)

// job has one panel, so that there is a card to tick.
const job = `job: { name: sample, units: mm, drills: any size }
panels:
  - name: Lid
    quantity: 9
    outline: { rectangle: [ 300, 200 ] }
    outer: { material: al5754h22, thickness: 1.5 mm }
    inner: { material: al5754h22, thickness: 1.5 mm }
    supports:
      - { name: flange, flange: [ bottom, right, top, left ], width: 36 }
`

// tally is what a run has seen.
type tally struct {
	kills, revisions, marks, cut, refused int
	size                                  int64
}

// String is a line to report.
func (s tally) String() string {
	return fmt.Sprintf("the bench was killed %d times: %d acknowledged changes, %d acknowledged ticks, none lost; %d requests were cut off, "+
		"%d changes from outdated revisions were refused; the book is whole, %d bytes", s.kills, s.revisions, s.marks, s.cut, s.refused, s.size)
}

// acks is what was acknowledged over HTTP, in all rounds.
type acks struct {
	mu        sync.Mutex
	revisions map[[2]int64]string // text by vehicle and number
	marks     map[string][]string // by vehicle and box: the value that was acknowledged last, then those that were tried after it
	sum       *tally
	wrong     error // the first answer that no bench should give
}

// run kills the bench so many times, on one book in a folder of its own under temp.
func run(start server, kills int, seed uint64, temp string) (tally, error) {
	dir, err := os.MkdirTemp(temp, "killbench-*")
	if err != nil {
		return tally{}, err
	}
	var sum tally
	a := &acks{revisions: map[[2]int64]string{}, marks: map[string][]string{}, sum: &sum}
	path := filepath.Join(dir, "bench.book")
	if err := begin(path, a); err != nil {
		return sum, err
	}
	rng := rand.New(rand.NewPCG(seed, 0))
	for round := range kills {
		if err := a.round(start(path), round, rng); err != nil {
			return sum, fmt.Errorf("seed %d, round %d, book %s: %w", seed, round, path, err)
		}
		if err := a.check(path); err != nil {
			return sum, fmt.Errorf("seed %d, after round %d, book %s: %w", seed, round, path, err)
		}
	}
	info, err := os.Stat(path)
	if err != nil {
		return sum, err
	}
	sum.size = info.Size()
	return sum, os.RemoveAll(dir)
}

func begin(path string, a *acks) error {
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	for range vehicles {
		r, err := b.Create(book.Change{Name: "sample", Text: job, When: "2026-05-04T10:20:30Z"})
		if err != nil {
			return err
		}
		a.revisions[[2]int64{r.Vehicle, int64(r.No)}] = job
	}
	return b.Close()
}

// round lets clients work on a bench until it is killed.
func (a *acks) round(c *exec.Cmd, round int, rng *rand.Rand) error {
	var said strings.Builder
	c.Stderr = &said
	pipe, err := c.StdoutPipe()
	if err != nil {
		return err
	}
	if err := c.Start(); err != nil {
		return err
	}
	at, lines := "", bufio.NewScanner(pipe)
	for address := regexp.MustCompile(`http://[0-9.:]+`); at == "" && lines.Scan(); {
		at = address.FindString(lines.Text())
	}
	if at == "" {
		return errors.Join(errors.New("the bench did not open"), c.Process.Kill(), c.Wait(), errors.New(said.String()))
	}
	go func() { _, _ = io.Copy(io.Discard, pipe) }() // what it says later is of no use here
	var all sync.WaitGroup
	dead := make(chan struct{})
	for n := range clients {
		w := newWorker(a, at, fmt.Sprintf("client %d", n), round, dead, rand.New(rand.NewPCG(rng.Uint64(), 0)))
		all.Add(1)
		go func() {
			defer all.Done()
			w.work()
		}()
	}
	time.Sleep(killMin + time.Duration(rng.Int64N(int64(killMax-killMin))))
	err = c.Process.Kill()
	close(dead)
	all.Wait()
	if waited := c.Wait(); waited == nil || err != nil {
		return fmt.Errorf("the bench ended by itself: %w %s", err, said.String())
	}
	a.sum.kills++
	return a.wrong
}

// check opens the book, reads it whole, and looks for all that was acknowledged.
func (a *acks) check(path string) error {
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	if err := b.Check(); err != nil {
		return err
	}
	for at, want := range a.revisions {
		r, err := b.GetRevision(at[0], int(at[1]))
		if err != nil {
			return fmt.Errorf("acknowledged, but lost: %w", err)
		}
		if r.Text != want {
			return fmt.Errorf("vehicle %d revision %d is %q, acknowledged was %q", at[0], at[1], r.Text, want)
		}
	}
	for v := int64(1); v <= vehicles; v++ {
		kept, err := b.Marks(v)
		if err != nil {
			return err
		}
		for box, values := range a.marks {
			if !strings.HasPrefix(box, fmt.Sprintf("vehicle %d ", v)) {
				continue
			}
			got := kept["card/lid/"+strings.TrimPrefix(box, fmt.Sprintf("vehicle %d ", v))].Value
			if !slices.Contains(values, got) {
				return fmt.Errorf("%s is %q, acknowledged was %q", box, got, values)
			}
			a.marks[box] = []string{got} // what has been read stays
		}
	}
	return b.Close()
}
