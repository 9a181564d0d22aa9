package detail

import (
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// settled is a plan made without the search, with its joints, holes and checks.
func settled(j *job.Job) *setout.Plan {
	p := decided.Plan(j)
	Holes(p)
	Checks(p)
	return p
}

func checkNamed(t testing.TB, checks []setout.Check, id string) setout.Check {
	t.Helper()
	for _, k := range checks {
		if k.ID == id {
			return k
		}
	}
	t.Fatalf("no check %s among %d", id, len(checks))
	return setout.Check{}
}
