package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/term"
)

// quietTime is how long work may take before the terminal hears of it.
const quietTime = time.Second

// terminal says whether w is a terminal that may be written over and coloured.
func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd())) && os.Getenv("TERM") != "dumb"
}

// progressTo shows what is being done on one line of a terminal, once work has taken longer than quietTime. On anything
// else it is silent. done clears the line; it may be called twice.
func progressTo(w io.Writer) (progress func(string), done func()) {
	if !terminal(w) {
		return nil, func() {}
	}
	var mu sync.Mutex
	var doing string
	shown := false
	start := time.Now()
	show := func() {
		if doing != "" && time.Since(start) >= quietTime {
			fmt.Fprintf(w, "\r\x1b[K%s …", doing)
			shown = true
		}
	}
	timer := time.AfterFunc(quietTime, func() { mu.Lock(); defer mu.Unlock(); show() })
	progress = func(s string) { mu.Lock(); defer mu.Unlock(); doing = s; show() }
	return progress, func() {
		mu.Lock()
		defer mu.Unlock()
		timer.Stop()
		doing = ""
		if shown {
			fmt.Fprint(w, "\r\x1b[K")
			shown = false
		}
	}
}

// paint colours words on a terminal, unless NO_COLOR asks for none.
type paint bool

func paintFor(w io.Writer) paint {
	return paint(terminal(w) && os.Getenv("NO_COLOR") == "")
}

func (p paint) with(code, s string) string {
	if !p {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

func (p paint) bold(s string) string { return p.with("1", s) }
func (p paint) bad(s string) string  { return p.with("1;31", s) }
