// Command load opens a built bench on a fresh book with the three examples and lets many clients work on it at once: they read
// pages, slide stations, save changes, tick marks and plan over the API. Every answer is checked. It prints how long each kind
// of request took, and whether the server's memory stayed flat: load -bench ./panelwright -clients 50 -time 10m.
package main

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"time"
)

func main() {
	program := flag.String("bench", "./panelwright", "the built program whose bench is opened")
	clients := flag.Int("clients", 50, "how many clients work at once")
	long := flag.Duration("time", 10*time.Minute, "how long they work")
	seed := flag.Uint64("seed", 1, "where their choices begin")
	flag.Parse()
	if err := measure(*program, *clients, *long, *seed, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

// measure opens the bench, loads it, and writes what was seen. An error is a bench that did not hold.
func measure(program string, clients int, long time.Duration, seed uint64, out io.Writer) (err error) {
	dir, err := os.MkdirTemp("", "load-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	server, at, err := open(program, filepath.Join(dir, "bench.book"))
	if err != nil {
		return err
	}
	defer func() {
		err = errors.Join(err, stop(server))
	}()
	l, err := newLoad(at, "examples")
	if err != nil {
		return err
	}
	before := loadAverage()
	memory := watch(server.Process.Pid, memoryEach)
	l.run(clients, long, seed)
	samples := memory()
	fmt.Fprintf(out, "%d clients, %.0f s, %s; load average %s before, %s after\n\n", clients, long.Seconds(), machine(), before, loadAverage())
	l.table(out)
	return errors.Join(l.failed(), flat(samples, long, out))
}

// open starts the bench on a book and gives its address.
func open(program, path string) (*exec.Cmd, string, error) {
	c := exec.Command(program, "bench", "--book", path, "--address", "127.0.0.1:0")
	c.Stderr = os.Stderr
	pipe, err := c.StdoutPipe()
	if err != nil {
		return nil, "", err
	}
	if err := c.Start(); err != nil {
		return nil, "", err
	}
	address := regexp.MustCompile(`http://[0-9.:]+`)
	lines := bufio.NewScanner(pipe)
	for lines.Scan() {
		if at := address.FindString(lines.Text()); at != "" {
			go func() { _, _ = io.Copy(io.Discard, pipe) }() // what it says later is of no use here
			return c, at, nil
		}
	}
	return nil, "", errors.Join(errors.New("the bench did not open"), c.Process.Kill(), c.Wait())
}

// stop asks the bench to end, as Ctrl-C does.
func stop(c *exec.Cmd) error {
	if err := c.Process.Signal(os.Interrupt); err != nil {
		return fmt.Errorf("the bench was no longer there: %w", err)
	}
	if err := c.Wait(); err != nil {
		return fmt.Errorf("the bench ended badly: %w", err)
	}
	return nil
}
