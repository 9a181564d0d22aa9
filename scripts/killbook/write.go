package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"sync"

	"panelwright/internal/book"
)

// writers is how many goroutines of one program write at the same time, each to a vehicle of its own and all to a shared one.
const writers = 3

// write changes the book at path for ever. Each writer says on out, in one line, what it will try, and then what the book has
// acknowledged: the program may be killed between any two bytes.
func write(path, name string, out io.Writer) error {
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	var mu sync.Mutex
	say := func(format string, a ...any) error {
		mu.Lock()
		defer mu.Unlock()
		_, err := fmt.Fprintf(out, format+"\n", a...)
		return err
	}
	errs := make(chan error)
	for i := range writers {
		go func() {
			w := &author{b: b, say: say, rng: rand.New(rand.NewPCG(uint64(i), uint64(len(name)))), name: fmt.Sprint(name, "-", i)}
			errs <- w.work()
		}()
	}
	return <-errs
}

// author writes one vehicle.
type author struct {
	b    *book.Book
	say  func(format string, a ...any) error
	rng  *rand.Rand
	name string
	id   int64
	head int
	n    int // counts what was done
}

func (w *author) work() error {
	r, err := w.b.Create(book.Change{Name: w.name, Text: w.name, When: "0"})
	if err != nil {
		return err
	}
	w.id, w.head = r.Vehicle, r.No
	if err := w.said(r); err != nil {
		return err
	}
	for {
		w.n++
		var err error
		switch w.rng.IntN(6) {
		case 0:
			err = w.step("undo", w.b.Undo)
		case 1:
			err = w.step("redo", w.b.Redo)
		case 2:
			err = w.mark()
		case 3:
			err = w.shared()
		default:
			err = w.save()
		}
		if err != nil {
			return err
		}
	}
}

// said acknowledges a head.
func (w *author) said(r book.Revision) error {
	return w.say("head %d %d %x", r.Vehicle, r.No, digest(r))
}

// digest is over all that a revision holds.
func digest(r book.Revision) [32]byte {
	return sha256.Sum256(fmt.Appendf(nil, "%d %d %d %q %q %v %q %q", r.Vehicle, r.No, r.Parent, r.Name, r.Text, r.Files, r.What, r.When))
}

func (w *author) change() book.Change {
	c := book.Change{Text: strings.Repeat(fmt.Sprintf("%s %d\n", w.name, w.n), w.rng.IntN(800)), What: "save", When: fmt.Sprint(w.n)}
	if w.rng.IntN(4) == 0 {
		c.Files = []book.File{{Name: "a.dxf", Bytes: make([]byte, w.rng.IntN(60000))}}
		for i := range c.Files[0].Bytes {
			c.Files[0].Bytes[i] = byte(w.rng.Uint32())
		}
	}
	return c
}

func (w *author) save() error {
	if err := w.say("try %d save", w.id); err != nil {
		return err
	}
	r, err := w.b.Save(w.id, w.head, w.change())
	if err != nil {
		return err
	}
	w.head = r.No
	return w.said(r)
}

func (w *author) step(what string, do func(id int64, base int, when string, carried ...book.Carry) (book.Revision, error)) error {
	if err := w.say("try %d %s", w.id, what); err != nil {
		return err
	}
	r, err := do(w.id, w.head, fmt.Sprint(w.n))
	var nothing *book.Nothing
	if errors.As(err, &nothing) {
		return w.say("nothing %d", w.id)
	}
	if err != nil {
		return err
	}
	w.head = r.No
	return w.said(r)
}

func (w *author) mark() error {
	key := fmt.Sprint("step ", w.rng.IntN(5))
	if err := w.b.SetMark(w.id, key, fmt.Sprint(w.n), "t"); err != nil {
		return err
	}
	return w.say("mark %d %d %s", w.id, w.n, key)
}

// shared saves to the vehicle 1 that all programs write to; who comes too late is told so, and says nothing.
func (w *author) shared() error {
	v, err := w.b.Vehicle(1)
	if err != nil {
		return err
	}
	r, err := w.b.Save(1, v.Head, w.change())
	var outdated *book.Outdated
	if errors.As(err, &outdated) {
		return nil
	}
	if err != nil {
		return err
	}
	return w.say("shared %d %x", r.No, digest(r))
}
