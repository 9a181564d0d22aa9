// Command killbook kills programs that are writing to a book, at random moments, and looks whether anything that they had
// acknowledged is lost: killbook -kills 300 -seed 1. Each round two programs write to one book, with several writers each.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	kills := flag.Int("kills", 300, "how many rounds; in each, two programs are killed")
	seed := flag.Uint64("seed", 1, "where the random moments begin")
	writer := flag.String("writer", "", "be the writing program of this name (used by killbook itself)")
	path := flag.String("book", "", "the book of the writing program")
	full := flag.String("fill", "", "instead, begin this book, on a small disk, and fill the disk")
	flag.Parse()
	var seen any
	var err error
	switch {
	case *writer != "":
		err = write(*path, *writer, os.Stdout)
	case *full != "":
		seen, err = fill(*full)
	default:
		seen, err = run(os.Args[0], *kills, *seed, os.TempDir())
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "killbook:", err)
		os.Exit(1)
	}
	fmt.Println(seen)
}
