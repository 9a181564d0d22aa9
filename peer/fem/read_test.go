package fem

import (
	"bufio"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// outside is what the outside program answers.
type outside struct {
	w     [][]float64 // mm, per case and node
	force [][]float64 // N, per case and interface point, on the panel
	hz    []float64
}

// solve runs the outside program on one thread and reads its answer.
func (p *panel) solve(t testing.TB) *outside {
	t.Helper()
	dir := t.TempDir()
	if err := p.write(filepath.Join(dir, "panel.inp")); err != nil {
		t.Fatal(err)
	}
	return p.read(t, run(t, dir, "panel"))
}

func (p *panel) read(t testing.TB, table string) *outside {
	t.Helper()
	scale := small
	if p.linear {
		scale = 1
	}
	out := &outside{}
	for _, b := range readBlocks(t, table) {
		switch {
		case strings.HasPrefix(b.head, "displacements"):
			w := make([]float64, len(p.nodes))
			for _, r := range b.rows {
				w[int(r[0])-1] = r[3] / scale
			}
			out.w = append(out.w, w)
		case strings.HasPrefix(b.head, "forces"):
			f := make([]float64, len(p.points))
			push := p.steady()
			for k, n := range p.points {
				f[k] = push[n]
			}
			for _, r := range b.rows {
				f[int(r[0])-1-len(p.nodes)] += r[3] / scale
			}
			out.force = append(out.force, f)
		case b.head == "E I G E N V A L U E   O U T P U T":
			for _, r := range b.rows {
				out.hz = append(out.hz, r[3])
			}
		}
	}
	if len(out.w) != len(p.cases) || len(p.points) > 0 && len(out.force) != len(p.cases) || len(out.hz) < p.modes {
		t.Fatalf("%d deflections, %d sets of forces, %d frequencies read for %d cases and %d modes", len(out.w), len(out.force), len(out.hz), len(p.cases), p.modes)
	}
	return out
}

// run runs the outside program on an input in dir and gives the table that it printed.
func run(t testing.TB, dir, name string) string {
	t.Helper()
	said, err := ccx(dir, name)
	if err != nil || strings.Contains(said, "*ERROR") {
		t.Fatalf("ccx: %v\n%s", err, said)
	}
	return filepath.Join(dir, name+".dat")
}

// block is one table of the printed results.
type block struct {
	head string
	rows [][]float64
}

func readBlocks(t testing.TB, path string) (blocks []block) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := bufio.NewScanner(f)
	for s.Scan() {
		line := strings.TrimSpace(s.Text())
		row, ok := numbers(line)
		switch {
		case ok && len(blocks) > 0:
			b := &blocks[len(blocks)-1]
			b.rows = append(b.rows, row)
		case line != "" && line[0] != '(' && !strings.HasPrefix(line, "MODE") && !strings.HasPrefix(line, "REAL"):
			blocks = append(blocks, block{head: line})
		}
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	return blocks
}

// numbers reads a row of numbers, four or more.
func numbers(line string) (row []float64, ok bool) {
	for _, f := range strings.Fields(line) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			return nil, false
		}
		row = append(row, v)
	}
	return row, len(row) >= 4
}
