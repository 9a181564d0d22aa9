// Package outside runs programs that are not ours, for the tests that compare with them. Only tests import it.
package outside

import (
	"os"
	"os/exec"
	"testing"
)

// Need skips the test where one of the programs is missing, but fails it where the environment says CI=true: .ci/run installs them all.
func Need(t testing.TB, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			Missing(t, p, "is not installed")
		}
	}
}

// Missing skips the test for want of what, but fails it where the environment says CI=true.
func Missing(t testing.TB, what, why string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s %s", what, why)
	}
	t.Skipf("%s %s", what, why)
}

// Run runs a program that reads what we wrote, and gives all that it said. A program that fails fails the test.
func Run(t testing.TB, program string, args ...string) string {
	t.Helper()
	Need(t, program)
	out, err := exec.Command(program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", program, args, err, out)
	}
	return string(out)
}
