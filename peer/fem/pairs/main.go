// Command pairs writes the outside program's input files for the speed script into the folder that it is given.
package main

import (
	"fmt"
	"os"

	"panelwright/peer/fem"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: pairs FOLDER")
		os.Exit(2)
	}
	if err := fem.WritePairs(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
