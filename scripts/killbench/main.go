// Command killbench kills a bench that is being worked on, at random moments, and looks whether anything that it had
// acknowledged is lost: killbench -bench ./panelwright -kills 60 -seed 1. Between two kills the book is opened and read whole.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	program := flag.String("bench", "./panelwright", "the built program whose bench is killed")
	kills := flag.Int("kills", 60, "how often it is killed")
	seed := flag.Uint64("seed", 1, "where the random moments begin")
	flag.Parse()
	seen, err := run(bench(*program), *kills, *seed, os.TempDir())
	if err != nil {
		fmt.Fprintln(os.Stderr, "killbench:", err)
		os.Exit(1)
	}
	fmt.Println(seen)
}
