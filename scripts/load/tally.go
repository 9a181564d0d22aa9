package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"
	"time"
)

// outcome is how a request ended.
type outcome int

const (
	good     outcome = iota
	outdated         // a change or a slide from a revision that is no longer the present one: refused with both, as it must be
	busy             // refused, because too much was being planned, and said so
	waiting          // a page that was shown while its plan was still being made, and said so
	bad
)

// tally keeps what came of every request.
type tally struct {
	mu     sync.Mutex
	kinds  map[string]*kind
	errors []string // the first of them, in words
	count  int      // of all of them
}

// kind is one kind of request.
type kind struct {
	took [bad + 1]int
	all  []time.Duration
}

// errorsKept bounds how many errors are told.
const errorsKept = 20

func (t *tally) add(name string, o outcome, took time.Duration, words string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.kinds == nil {
		t.kinds = map[string]*kind{}
	}
	k := t.kinds[name]
	if k == nil {
		k = &kind{}
		t.kinds[name] = k
	}
	k.took[o]++
	k.all = append(k.all, took)
	if o == bad {
		t.count++
		if len(t.errors) < errorsKept {
			t.errors = append(t.errors, name+": "+words)
		}
	}
}

// failed is an error when any answer was not what it had to be.
func (t *tally) failed() error {
	if t.count == 0 {
		return nil
	}
	all := []error{fmt.Errorf("%d answers were not what they had to be, the first of them:", t.count)}
	for _, e := range t.errors {
		all = append(all, errors.New(e))
	}
	return errors.Join(all...)
}

// table writes a row for each kind of request, in Markdown. Times are until the whole answer was read, ms.
func (t *tally) table(out io.Writer) {
	fmt.Fprintln(out, "| request | count | median, ms | 95 % | 99 % | max | plan still being made | from an old revision | busy | errors |")
	fmt.Fprintln(out, "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
	var names []string
	for name := range t.kinds {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int { return cmp.Compare(a, b) })
	var whole kind
	for _, name := range names {
		k := t.kinds[name]
		k.row(out, name)
		whole.all = append(whole.all, k.all...)
		for o, n := range k.took {
			whole.took[o] += n
		}
	}
	whole.row(out, "all")
}

func (k *kind) row(out io.Writer, name string) {
	slices.Sort(k.all)
	at := func(share float64) float64 {
		if len(k.all) == 0 {
			return 0
		}
		return float64(k.all[int(share*float64(len(k.all)-1))].Microseconds()) / 1000
	}
	fmt.Fprintf(out, "| %s | %d | %.1f | %.0f | %.0f | %.0f | %d | %d | %d | %d |\n", name, len(k.all), at(0.5), at(0.95), at(0.99), at(1),
		k.took[waiting], k.took[outdated], k.took[busy], k.took[bad])
}
