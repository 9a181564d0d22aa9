package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"panelwright/internal/book"
)

// tally is what a run has seen.
type tally struct {
	rounds, kills, revisions, marks, cut int
	vehicles                             int
	size                                 int64
}

// String is a line to report.
func (s tally) String() string {
	return fmt.Sprintf("%d rounds, %d programs killed: %d acknowledged revisions and moves, %d acknowledged marks, none lost; "+
		"%d changes were cut off; the book is whole, %d vehicles, %d bytes", s.rounds, s.kills, s.revisions, s.marks, s.cut, s.vehicles, s.size)
}

// acks is what the killed programs had acknowledged.
type acks struct {
	revisions map[[2]int64]string // digest by vehicle and number
	heads     map[int64]int64     // the head that was acknowledged last
	trying    map[int64]string    // what was begun after that
	marks     map[int64]map[string]int
	seen      map[[2]int64]bool // revisions that a check has found; the last check looks at all again
}

func noAcks() acks {
	return acks{map[[2]int64]string{}, map[int64]int64{}, map[int64]string{}, map[int64]map[string]int{}, map[[2]int64]bool{}}
}

// begin makes the book, with the vehicle that all share.
func begin(path string) error {
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	_, err = b.Create(book.Change{Name: "shared", When: "0"})
	return errors.Join(err, b.Close())
}

// run does rounds with one book in a folder of its own under temp.
func run(self string, rounds int, seed uint64, temp string) (tally, error) {
	dir, err := os.MkdirTemp(temp, "killbook-*")
	if err != nil {
		return tally{}, err
	}
	path := filepath.Join(dir, "bench.book")
	if err := begin(path); err != nil {
		return tally{}, err
	}
	var sum tally
	all := noAcks()
	rng := rand.New(rand.NewPCG(seed, 0))
	for round := range rounds {
		if err := all.round(self, path, rng, &sum); err != nil {
			return sum, fmt.Errorf("seed %d, round %d, book %s: %w", seed, round, path, err)
		}
	}
	if err := all.check(path, &sum, 0); err != nil { // all of it once more
		return sum, fmt.Errorf("seed %d, at the end, book %s: %w", seed, path, err)
	}
	return sum, os.RemoveAll(dir)
}

// round starts two programs, kills one and then the other, and checks the book.
func (a *acks) round(self, path string, rng *rand.Rand, sum *tally) error {
	var outs [2]bytes.Buffer
	var errs [2]bytes.Buffer
	var programs [2]*exec.Cmd
	for i := range programs {
		p := exec.Command(self, "-writer", "ab"[:i+1], "-book", path)
		p.Env = append(os.Environ(), "KILLBOOK_WRITER=1") // for the test, whose program is its own
		p.Stdout, p.Stderr = &outs[i], &errs[i]
		if err := p.Start(); err != nil {
			return err
		}
		programs[i] = p
	}
	for i, p := range programs {
		time.Sleep(time.Duration(20+rng.IntN(180)) * time.Millisecond)
		if err := p.Process.Kill(); err != nil {
			return err
		}
		if err := p.Wait(); err == nil || errs[i].Len() > 0 {
			return fmt.Errorf("a program ended by itself: %v %s", err, errs[i].String())
		}
		sum.kills++
	}
	sum.rounds++
	before := int64(sum.vehicles)
	for i := range outs {
		if err := a.read(outs[i].String(), sum); err != nil {
			return err
		}
	}
	return a.check(path, sum, before)
}

// read takes what a program said; its last line may be cut off.
func (a *acks) read(out string, sum *tally) error {
	lines := strings.Split(out, "\n")
	for _, line := range lines[:len(lines)-1] {
		f := strings.Fields(line)
		if len(f) < 2 {
			return fmt.Errorf("a program said %q", line)
		}
		first, err1 := strconv.ParseInt(f[1], 10, 64)
		var second int64
		var err2 error
		switch f[0] {
		case "head":
			second, err2 = strconv.ParseInt(f[2], 10, 64)
			a.revisions[[2]int64{first, second}] = f[3]
			a.heads[first] = second
			delete(a.trying, first)
			sum.revisions++
		case "shared":
			a.revisions[[2]int64{1, first}] = f[2]
			sum.revisions++
		case "try":
			a.trying[first] = f[2]
		case "nothing":
			delete(a.trying, first)
		case "mark":
			second, err2 = strconv.ParseInt(f[2], 10, 64)
			if a.marks[first] == nil {
				a.marks[first] = map[string]int{}
			}
			a.marks[first][strings.Join(f[3:], " ")] = int(second)
			sum.marks++
		default:
			return fmt.Errorf("a program said %q", line)
		}
		if err := errors.Join(err1, err2); err != nil {
			return err
		}
	}
	return nil
}

// check opens the book, checks it, and looks for what was acknowledged since the last check, of the vehicles above a number;
// 0 is all of it, from the beginning.
func (a *acks) check(path string, sum *tally, above int64) error {
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	if err := errors.Join(b.Check(), a.checkRevisions(b, above), a.checkHeads(b, above, sum), a.checkMarks(b, above)); err != nil {
		return err
	}
	all, err := b.Vehicles()
	if err != nil {
		return err
	}
	sum.vehicles = int(all[len(all)-1].ID)
	if err := b.Close(); err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err == nil {
		sum.size = info.Size()
	}
	return err
}

func (a *acks) checkRevisions(b *book.Book, above int64) error {
	for at, want := range a.revisions {
		if above > 0 && a.seen[at] {
			continue
		}
		r, err := b.GetRevision(at[0], int(at[1]))
		if err != nil {
			return fmt.Errorf("acknowledged, but lost: %w", err)
		}
		if got := fmt.Sprintf("%x", digest(r)); got != want {
			return fmt.Errorf("vehicle %d revision %d is not what was acknowledged", at[0], at[1])
		}
		a.seen[at] = true
	}
	return nil
}

// checkHeads: each vehicle's head is the last that was acknowledged, or what the change that was cut off after it makes.
func (a *acks) checkHeads(b *book.Book, above int64, sum *tally) error {
	for id, want := range a.heads {
		if id <= above {
			continue
		}
		history, err := b.History(id)
		if err != nil {
			return err
		}
		var head book.RevisionInfo
		for _, r := range history {
			if r.Head {
				head = r
			}
		}
		acked := history[want-1]
		ok := head.No == acked.No
		switch a.trying[id] {
		case "save":
			ok = ok || head.No == len(history) && head.Parent == acked.No
		case "undo":
			ok = ok || head.No == acked.Parent
		case "redo":
			ok = ok || head.Parent == acked.No
		}
		if !ok {
			return fmt.Errorf("vehicle %d: head %d was acknowledged, then %q was begun, but %d stands", id, want, a.trying[id], head.No)
		}
		if a.trying[id] != "" {
			sum.cut++
		}
	}
	return nil
}

// checkMarks: a writer counts up, so a mark has the number that was acknowledged or a later one, and the log ends with it.
func (a *acks) checkMarks(b *book.Book, above int64) error {
	for id, want := range a.marks {
		if id <= above {
			continue
		}
		marks, err := b.Marks(id)
		if err != nil {
			return err
		}
		log, err := b.MarkLog(id)
		if err != nil {
			return err
		}
		last := map[string]string{}
		for _, l := range log {
			last[l.Key] = l.Value
		}
		for key, n := range want {
			got, err := strconv.Atoi(marks[key].Value)
			if err != nil || got < n || last[key] != marks[key].Value {
				return fmt.Errorf("vehicle %d, mark %s: %d was acknowledged, but %q stands, and %q in the log", id, key, n, marks[key].Value, last[key])
			}
		}
	}
	return nil
}
