// Command panelwright plans body panels that come off with quarter-turn fasteners.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"

	"context"

	"github.com/spf13/cobra"

	"panelwright"
)

// Exit codes, as the help prints them.
const (
	exitPlanned = 0
	exitFails   = 1
	exitUsage   = 2
	exitOurs    = 3
)

// errFails ends a command whose job has faults or whose plan does not hold; what is wrong has been printed.
var errFails = errors.New("the job has faults, or something does not hold")

// oursError marks a failure that is not the user's: a disk that is full, a drawing that could not be made.
type oursError struct{ err error }

func (e oursError) Error() string { return e.err.Error() }
func (e oursError) Unwrap() error { return e.err }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is the whole program: it gives the exit code, and writes nowhere but to out, errOut and the files that it is told.
func run(ctx context.Context, args []string, out, errOut io.Writer) (code int) {
	defer func() {
		if r := recover(); r != nil {
			fmt.Fprintf(errOut, "panelwright: our mistake: %v\n%s\nNothing was written. Please report this with the job file.\n", r, debug.Stack())
			code = exitOurs
		}
	}()
	root := rootCommand(out, errOut)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var ours oursError
	switch {
	case err == nil:
		return exitPlanned
	case errors.Is(err, errFails):
		return exitFails
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errOut, "panelwright: interrupted; nothing was written")
		return exitOurs
	case errors.As(err, &ours):
		fmt.Fprintf(errOut, "panelwright: %v\n", err)
		return exitOurs
	}
	fmt.Fprintf(errOut, "panelwright: %s\nSee 'panelwright --help'.\n", strings.TrimSpace(err.Error()))
	return exitUsage
}

const long = `panelwright plans body panels that come off with quarter-turn fasteners: it reads a
job file (your panels, as measured) and makes a shop pack: where the fasteners go,
which stud, receptacle and shims close each one, every hole, full-size templates, a
work card, and the order.

It is a planning aid and no approval. It is not for aircraft, structural,
occupant-restraint or fuel-containing joints. Local rules, the series' or road
regulations and licensed practice come first.

Exit codes: 0 planned and nothing fails (the count of 'not known' is said);
1 the job has faults, or something does not hold; 2 usage; 3 our failure.`

func rootCommand(out, errOut io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:           "panelwright",
		Short:         "Plan body panels that come off with quarter-turn fasteners",
		Long:          long,
		Example:       "  panelwright plan examples/01-sprint/job.yaml --out pack\n  panelwright check my-car.yaml",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(out)
	root.SetErr(errOut)
	root.AddCommand(planCommand(), checkCommand(), benchCommand(), versionCommand())
	root.CompletionOptions.HiddenDefaultCmd = true
	return root
}

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version",
		Args:  cobra.NoArgs,
		Run:   func(c *cobra.Command, _ []string) { fmt.Fprintln(c.OutOrStdout(), "panelwright "+panelwright.Version) },
	}
}
