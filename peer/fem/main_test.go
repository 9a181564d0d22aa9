package fem

import (
	"bytes"
	"os"
	"os/exec"
	"testing"
)

// need skips a test whose program is missing, but fails it where the environment says CI=true.
func need(t *testing.T, program string) {
	t.Helper()
	if _, err := exec.LookPath(program); err == nil {
		return
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is missing: .ci/run installs it", program)
	}
	t.Skipf("%s is missing", program)
}

// ccx runs the outside program on one thread, which is what small panels are fastest with, and gives all that it said.
func ccx(dir, name string) (string, error) {
	c := exec.Command("ccx", "-i", name)
	var said bytes.Buffer
	c.Dir, c.Stdout, c.Stderr = dir, &said, &said
	c.Env = append(os.Environ(), "OMP_NUM_THREADS=1", "LC_ALL=C.UTF-8")
	err := c.Run()
	return said.String(), err
}
