package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"panelwright"
	"panelwright/internal/fault"
	"panelwright/internal/job"
)

func planCommand() *cobra.Command {
	var outDir string
	var asJSON bool
	c := &cobra.Command{
		Use:   "plan JOB",
		Short: "Plan a job and write its shop pack",
		Long: `plan reads JOB (YAML, see docs/formats.md), decides stations, parts and holes, checks
them, and writes the pack to the folder given with --out:

  plan.html       the plan to read: panels to scale, what was chosen and why, margins
  templates.pdf   full-size templates and sections: print at 100 %, measure the scales
  templates-behind.pdf  the templates mirrored, for marking from behind
  strips.pdf      full-size strips along the edges: less paper
  stickers.pdf    a card for each station, to cut out
  card.pdf        the work card for each panel, its last page to take to the vehicle
  card-*.html     the same as a page, one for each panel
  labels.pdf      a label with a code for each piece, to cut out
  order.csv       parts to buy          holes.csv   every hole, in order of work
  forces.csv      wires under load      gaps.csv    gaps of the seams under load
  plan.json       everything, for other programs     panel-*.svg   one for each panel

The folder is made, or replaced as a whole when it holds a pack of ours and nothing
else. Without --out the plan is only summed up on the terminal.

Exit codes: 0 planned and nothing fails; 1 faults, or something does not hold (the
pack is still written when the job has no faults); 2 usage; 3 our failure.`,
		Example: "  panelwright plan examples/01-sprint/job.yaml --out pack\n  panelwright plan my-car.yaml --json > plan.json",
		Args:    oneJob,
		RunE: func(c *cobra.Command, args []string) error {
			return plan(c.Context(), args[0], outDir, asJSON, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&outDir, "out", "", "folder to write the pack to")
	c.Flags().BoolVar(&asJSON, "json", false, "print the plan as JSON to standard output instead of the summary")
	return c
}

func checkCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "check JOB",
		Short: "Check a job file: all its faults at once, with places and what to do",
		Long: `check reads JOB and reports every fault with file, line, column, what was found, what is
accepted and what to do. It plans nothing and writes nothing. Of outlines by tape it says
which lengths disagree, and which no other checks: that is a warning, no fault.

Exit codes: 0 no faults; 1 faults; 2 usage; 3 our failure.`,
		Args: oneJob,
		RunE: func(c *cobra.Command, args []string) error {
			return check(args[0], asJSON, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the faults as JSON to standard output")
	return c
}

func oneJob(_ *cobra.Command, args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("one job file is needed, found %d: give its name, as examples/01-sprint/job.yaml", len(args))
	}
	return nil
}

// mostRead bounds a file that is read, bytes: more than a job, a range or a drawing may have.
const mostRead = 64 << 20

// readRegular reads a file of the disk whole. Pipes and devices are refused: they may never end.
func readRegular(f *os.File) ([]byte, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is no file of the disk (a folder, a pipe or a device)")
	}
	if info.Size() > mostRead {
		return nil, fmt.Errorf("%d MB; accepted: at most %d MB", info.Size()>>20, mostRead>>20)
	}
	return io.ReadAll(io.LimitReader(f, mostRead))
}

// readJob reads a job file and, beside it, the range and drawings that it names. A name cannot lead out of the job's folder, nor can a
// link.
func readJob(name string) (*job.Job, fault.List, error) {
	text, err := readFile(name)
	if err != nil {
		return nil, nil, fmt.Errorf("read the job: %w; give the name of a job file (YAML)", err)
	}
	open := func(r string) ([]byte, error) {
		root, err := os.OpenRoot(filepath.Dir(name))
		if err != nil {
			return nil, err
		}
		defer root.Close()
		info, err := root.Stat(r)
		if err == nil && !info.Mode().IsRegular() { // before it is opened: a pipe waits for a writer
			err = errors.New("it is no file of the disk (a folder, a pipe or a device)")
		}
		if err != nil {
			return nil, err
		}
		f, err := root.Open(r)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		return readRegular(f)
	}
	j, faults := job.Read(name, text, open)
	return j, faults, nil
}

// readFile reads a file by its name.
func readFile(name string) ([]byte, error) {
	info, err := os.Stat(name)
	if err == nil && !info.Mode().IsRegular() {
		err = fmt.Errorf("%s is no file of the disk (a folder, a pipe or a device)", name)
	}
	if err != nil {
		return nil, err
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readRegular(f)
}

func check(name string, asJSON bool, out, errOut io.Writer) error {
	j, faults, err := readJob(name)
	if err != nil {
		return err
	}
	if len(faults) > 0 {
		return report(faults, asJSON, out, errOut)
	}
	if asJSON {
		return writeFaults(nil, out)
	}
	panels := 0
	for _, p := range j.Panels {
		panels += p.Quantity
	}
	fmt.Fprintf(out, "%s: no faults: %s, %s (%d drawn)\n", name, j.Name, count(panels, "panel"), len(j.Panels))
	surveys(out, j, true)
	return nil
}

func plan(ctx context.Context, name, outDir string, asJSON bool, out, errOut io.Writer) error {
	j, faults, err := readJob(name)
	if err != nil {
		return err
	}
	if len(faults) > 0 {
		return report(faults, asJSON, out, errOut)
	}
	progress, done := progressTo(errOut)
	defer done()
	p, err := panelwright.Plan(ctx, j, progress)
	if err != nil {
		return oursError{err}
	}
	var pack *panelwright.Pack
	if outDir != "" || asJSON {
		if pack, err = panelwright.Draw(ctx, p, progress); err != nil {
			return oursError{err}
		}
	}
	if outDir != "" {
		if err := panelwright.WritePack(outDir, pack); err != nil {
			var strange *panelwright.NotOurs
			var bad *panelwright.BadTarget
			if errors.As(err, &strange) || errors.As(err, &bad) {
				return err // the user's to mend: another folder
			}
			return oursError{err}
		}
	}
	done()
	if asJSON {
		for _, f := range pack.Files {
			if f.Name == "plan.json" {
				if _, err := out.Write(f.Data); err != nil {
					return oursError{err}
				}
			}
		}
	} else {
		summary(out, p, outDir)
	}
	if !panelwright.Tally(p).NothingFails() {
		return errFails
	}
	return nil
}

// report prints faults: one a line to errOut, or as JSON to out.
func report(faults fault.List, asJSON bool, out, errOut io.Writer) error {
	if asJSON {
		if err := writeFaults(faults, out); err != nil {
			return err
		}
		return errFails
	}
	for _, f := range faults {
		fmt.Fprintln(errOut, f.Error())
	}
	fmt.Fprintf(errOut, "%s; nothing was planned.\n", count(len(faults), "fault"))
	return errFails
}

// writeFaults prints the faults for programs.
func writeFaults(faults fault.List, out io.Writer) error {
	if err := faults.WriteJSON(out); err != nil {
		return oursError{err}
	}
	return nil
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
