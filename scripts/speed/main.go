//go:build linux

// Command speed runs our programs and the outside ones in turns, and prints medians, ratios and the cost of growing panels.
// scripts/speed.sh builds what it needs.
package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"time"
)

// side is one of two programs that do the same.
type side struct {
	name string
	args []string
	env  []string
}

// run is what one run of a program took.
type run struct {
	seconds float64
	mb      float64 // greatest resident memory
	out     []byte
}

func main() {
	dir := flag.String("dir", "", "folder with the built programs and the outside program's input files")
	runs := flag.Int("runs", 5, "runs of each program, of which the median is taken")
	only := flag.String("only", "factor,linear,contact,growth", "which parts to run")
	flag.Parse()
	machine()
	for _, part := range strings.Split(*only, ",") {
		f, ok := map[string]func(string, int) error{"factor": factor, "linear": linear, "contact": contact, "growth": growth}[part]
		err := fmt.Errorf("no such part")
		if ok {
			err = f(*dir, *runs)
		}
		if err != nil {
			fmt.Fprintf(os.Stderr, "speed: %s: %v\n", part, err)
			os.Exit(1)
		}
	}
}

// machine says where the figures come from.
func machine() {
	model, load := "unknown processor", ""
	if text, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		for line := range strings.Lines(string(text)) {
			if name, ok := strings.CutPrefix(line, "model name"); ok {
				model = strings.Trim(name, "\t :\n")
				break
			}
		}
	}
	if text, err := os.ReadFile("/proc/loadavg"); err == nil {
		load = ", load at the start " + strings.Fields(string(text))[0]
	}
	fmt.Printf("%s, %d cores, %s%s\n", model, runtime.NumCPU(), runtime.Version(), load)
}

// start runs a program once, in dir.
func start(dir string, s side) (run, error) {
	c := exec.Command(s.args[0], s.args[1:]...)
	var out, said bytes.Buffer
	c.Dir, c.Stdout, c.Stderr = dir, &out, &said
	c.Env = append(os.Environ(), s.env...)
	from := time.Now()
	err := c.Run()
	r := run{seconds: time.Since(from).Seconds(), out: out.Bytes()}
	if err != nil {
		return r, fmt.Errorf("%s: %w\n%s%s", strings.Join(s.args, " "), err, tail(out.String()), said.Bytes())
	}
	if usage, ok := c.ProcessState.SysUsage().(*syscall.Rusage); ok {
		r.mb = float64(usage.Maxrss) / 1024
	}
	return r, nil
}

func tail(s string) string { return s[max(0, len(s)-500):] }

// turns runs programs in turns, so that whatever else the machine does falls on all of them.
func turns(dir string, n int, sides ...side) ([][]run, error) {
	all := make([][]run, len(sides))
	for range n {
		for i, s := range sides {
			r, err := start(dir, s)
			if err != nil {
				return nil, err
			}
			all[i] = append(all[i], r)
		}
	}
	return all, nil
}

func median(v []float64) float64 {
	v = slices.Sorted(slices.Values(v))
	return (v[len(v)/2] + v[(len(v)-1)/2]) / 2
}

func seconds(runs []run) float64 {
	var v []float64
	for _, r := range runs {
		v = append(v, r.seconds)
	}
	return median(v)
}

func memory(runs []run) float64 {
	m := 0.0
	for _, r := range runs {
		m = max(m, r.mb)
	}
	return m
}

// figures are the medians of what our programs print: a JSON object of numbers.
func figures(runs []run) (map[string]float64, error) {
	all := map[string][]float64{}
	for _, r := range runs {
		var one map[string]float64
		if err := json.Unmarshal(r.out, &one); err != nil {
			return nil, fmt.Errorf("%w: %s", err, tail(string(r.out)))
		}
		for k, v := range one {
			all[k] = append(all[k], v)
		}
	}
	out := map[string]float64{}
	for k, v := range all {
		out[k] = median(v)
	}
	return out, nil
}

// pair prints a row for the whole processes of each outside program against ours, the first.
func pair(what string, sides []side, all [][]run) {
	for i := range sides[1:] {
		ours, theirs := all[0], all[i+1]
		fmt.Printf("| %s | %s | %.3f s, %.0f MB | %.3f s, %.0f MB | %.1f × |\n", what, sides[i+1].name, seconds(ours), memory(ours), seconds(theirs), memory(theirs), seconds(theirs)/seconds(ours))
	}
}

func head(title string) {
	fmt.Printf("\n%s\n\n| what | against | ours | outside | outside / ours |\n| --- | --- | --- | --- | --- |\n", title)
}

// outside is the finite element program on one of the pairs' input files, with a number of threads.
func outside(name string, threads int) side {
	return side{fmt.Sprintf("ccx, %d thread(s)", threads), []string{"ccx", "-i", name}, []string{fmt.Sprintf("OMP_NUM_THREADS=%d", threads)}}
}

// factor pairs our factor with CHOLMOD's better one of two orderings, each on one and on two threads.
func factor(dir string, n int) error {
	matrix := filepath.Join(dir, "matrix")
	if _, err := start(dir, side{"", []string{filepath.Join(dir, "factor"), "-write", matrix}, nil}); err != nil {
		return err
	}
	fmt.Printf("\nFactor of one matrix, an irregular panel's, in seconds\n\n| threads | what | ours | CHOLMOD | CHOLMOD with METIS | ours / the better |\n| --- | --- | --- | --- | --- | --- |\n")
	for _, threads := range []int{1, 2} {
		all, err := turns(dir, n, side{"ours", []string{filepath.Join(dir, "factor"), "-workers", fmt.Sprint(threads)}, nil},
			side{"CHOLMOD", []string{filepath.Join(dir, "cholmod"), matrix}, []string{fmt.Sprintf("OPENBLAS_NUM_THREADS=%d", threads), fmt.Sprintf("OMP_NUM_THREADS=%d", threads)}})
		if err != nil {
			return err
		}
		ours, err := figures(all[0])
		if err != nil {
			return err
		}
		theirs, err := figures(all[1])
		if err != nil {
			return err
		}
		row := func(what string, ours, a, b float64) {
			fmt.Printf("| %d | %s | %.4f | %.4f | %.4f | %.2f |\n", threads, what, ours, a, b, ours/min(a, b))
		}
		row(fmt.Sprintf("numeric factor, %.0f unknowns", ours["unknowns"]), ours["factor s"], theirs["default factor s"], theirs["metis factor s"])
		row("analysis and factor", ours["factor s"]+ours["analyse s"], theirs["default factor s"]+theirs["default analyse s"], theirs["metis factor s"]+theirs["metis analyse s"])
		row("entries of the factor, 1e6", ours["entries"]/1e6, theirs["default entries"]/1e6, theirs["metis entries"]/1e6)
		row("answer off by, 1e-9", ours["off"]*1e9, theirs["default off"]*1e9, theirs["metis off"]*1e9)
	}
	return nil
}

func linear(dir string, n int) error {
	sides := []side{{"ours", []string{filepath.Join(dir, "panel"), "-unknowns", "24400"}, nil}, outside("linear", 1), outside("linear", 2)}
	all, err := turns(dir, n, sides...)
	if err != nil {
		return err
	}
	head("Linear panel on springs, about 24,400 plate unknowns, mesh to stresses, whole processes")
	pair("linear panel", sides, all)
	return phases(all[0])
}

func contact(dir string, n int) error {
	sides := []side{{"ours", []string{filepath.Join(dir, "flange")}, nil}, outside("contact", 1), outside("contact", 2)}
	all, err := turns(dir, n, sides...)
	if err != nil {
		return err
	}
	head("Panel on a rigid flange with preload, about 22,200 plate unknowns, 5 levels, mesh to forces, whole processes")
	pair("contact panel", sides, all)
	if err := phases(all[0]); err != nil {
		return err
	}
	after, err := turns(dir, n, side{"ours", []string{filepath.Join(dir, "flange"), "-after"}, nil})
	if err != nil {
		return err
	}
	fmt.Printf("\nThe same with what comes after the compliance:\n")
	return phases(after[0])
}

// phases prints the medians of what our program says of itself.
func phases(runs []run) error {
	f, err := figures(runs)
	if err != nil {
		return err
	}
	fmt.Printf("\nours:")
	for _, k := range slices.Sorted(maps.Keys(f)) {
		fmt.Printf(" %s %.4g;", k, f[k])
	}
	fmt.Println()
	return nil
}

func growth(dir string, n int) error {
	fmt.Printf("\nCost of growing panels, ours, linear, seconds\n\n| unknowns | mesh | assemble | factor | solve | stress | whole process | peak MB |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n")
	for _, size := range []int{5000, 10000, 20000, 50000, 100000, 200000} {
		all, err := turns(dir, n, side{"ours", []string{filepath.Join(dir, "panel"), "-unknowns", fmt.Sprint(size)}, nil})
		if err != nil {
			return err
		}
		f, err := figures(all[0])
		if err != nil {
			return err
		}
		fmt.Printf("| %.0f | %.4f | %.4f | %.4f | %.4f | %.4f | %.3f | %.0f |\n", f["unknowns"], f["mesh s"], f["assemble s"], f["factor s"], f["solve s"], f["stress s"], seconds(all[0]), memory(all[0]))
	}
	return nil
}
