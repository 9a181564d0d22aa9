package peer

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// pack is one example, planned by the built command.
type pack struct {
	name string // of the example's folder
	dir  string
	plan plan
}

// plan is as much of plan.json as these tests compare the other files with.
type plan struct {
	Job struct {
		Name, Paper string
		Sample      bool
	}
	Tally struct {
		Holds       int
		DoesNotHold int `json:"does_not_hold"`
		NotKnown    int `json:"not_known"`
	}
	Panels []struct {
		Name, ID string
		Quantity int
		Stations []struct{ ID string }
	}
}

var packs []pack

func TestMain(m *testing.M) {
	tmp, err := os.MkdirTemp("", "panelwright-peer-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := 1
	if err := planExamples(tmp); err != nil {
		fmt.Fprintln(os.Stderr, err)
	} else {
		code = m.Run()
	}
	os.RemoveAll(tmp)
	os.Exit(code)
}

// planExamples builds the command once and plans every example below tmp.
func planExamples(tmp string) error {
	command := filepath.Join(tmp, "panelwright")
	if _, err := runIn("..", "go", "build", "-o", command, "./cmd/panelwright"); err != nil {
		return err
	}
	jobs, err := filepath.Glob("../examples/*/job.yaml")
	if err != nil || len(jobs) < 3 {
		return fmt.Errorf("found the examples %v, %v: want at least three", jobs, err)
	}
	for _, job := range jobs {
		p := pack{name: filepath.Base(filepath.Dir(job))}
		p.dir = filepath.Join(tmp, p.name)
		if _, err := runIn("..", command, "plan", strings.TrimPrefix(job, "../"), "--out", p.dir); err != nil {
			return fmt.Errorf("the example must plan with nothing that does not hold: %w", err)
		}
		if p.plan, err = readPlan(p.dir); err != nil {
			return err
		}
		packs = append(packs, p)
	}
	return nil
}

func readPlan(dir string) (plan, error) {
	var p plan
	text, err := os.ReadFile(filepath.Join(dir, "plan.json"))
	if err == nil {
		err = json.Unmarshal(text, &p)
	}
	if err == nil && len(p.Panels) == 0 {
		err = fmt.Errorf("%s: plan.json has no panels", dir)
	}
	return p, err
}

// eachPack runs a test on every example's pack, side by side.
func eachPack(t *testing.T, test func(t *testing.T, p pack)) {
	for _, p := range packs {
		t.Run(p.name, func(t *testing.T) {
			t.Parallel()
			test(t, p)
		})
	}
}

// say reports what a reader found wrong; a pack with hundreds of findings is no clearer than one with twenty.
func say(t *testing.T, findings []string) {
	t.Helper()
	for i, f := range findings {
		if i == 20 {
			t.Errorf("and %d more", len(findings)-i)
			break
		}
		t.Error(f)
	}
}

// need skips a test whose program is missing, but fails it where the environment says CI=true.
func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err == nil {
			continue
		}
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s is missing: .ci/run installs it", p)
		}
		t.Skipf("%s is missing", p)
	}
}

// pythonWith is a Python that has the modules: Debian's own, where another stands before it on the path.
func pythonWith(t *testing.T, modules ...string) string {
	t.Helper()
	need(t, "python3")
	for _, python := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(python, "-c", "import "+strings.Join(modules, ", ")).Run() == nil {
			return python
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("python3 has no %v: .ci/run installs them", modules)
	}
	t.Skipf("python3 has no %v", modules)
	return ""
}

// runIn runs a program in a folder and gives what it printed; a failure carries what it said. Times are UTC and words
// English, whatever the machine has.
func runIn(dir, program string, args ...string) ([]byte, error) {
	c := exec.Command(program, args...)
	var out, said bytes.Buffer
	c.Dir, c.Stdout, c.Stderr = dir, &out, &said
	c.Env = append(os.Environ(), "LC_ALL=C.UTF-8", "TZ=UTC")
	if err := c.Run(); err != nil {
		return out.Bytes(), fmt.Errorf("%s %s: %w\n%s%s", program, strings.Join(args, " "), err, out.Bytes(), said.Bytes())
	}
	return out.Bytes(), nil
}

// must is runIn for a test that cannot go on without it.
func must(t *testing.T, dir, program string, args ...string) []byte {
	t.Helper()
	out, err := runIn(dir, program, args...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// copyPack copies a pack, so that a test can damage it.
func copyPack(t *testing.T, p pack) pack {
	t.Helper()
	to := t.TempDir()
	if err := os.CopyFS(to, os.DirFS(p.dir)); err != nil {
		t.Fatal(err)
	}
	p.dir = to
	return p
}

// alter changes the first place of a file that reads old.
func alter(t *testing.T, p pack, file, old, new string) {
	t.Helper()
	path := filepath.Join(p.dir, file)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(text, []byte(old)) {
		t.Fatalf("%s has no %q to alter", file, old)
	}
	if err := os.WriteFile(path, bytes.Replace(text, []byte(old), []byte(new), 1), 0o644); err != nil {
		t.Fatal(err)
	}
}

// alterCells changes a column's field in the first n rows of a table; in all when n is negative.
func alterCells(t *testing.T, p pack, file, column string, n int, change func(string) string) {
	t.Helper()
	path := filepath.Join(p.dir, file)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatal(file, len(rows), err)
	}
	i := slices.Index(rows[0], column)
	if i < 0 {
		t.Fatalf("%s has no column %s", file, column)
	}
	for k := 1; k < len(rows) && n != 0; k, n = k+1, n-1 {
		rows[k][i] = change(rows[k][i])
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
