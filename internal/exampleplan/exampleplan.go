// Package exampleplan plans the examples of the tree for tests. Only tests import it.
package exampleplan

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"panelwright/internal/bearing"
	"panelwright/internal/detail"
	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// All decides every example under root, by folder name. It stops the test when one has a fault.
func All(t testing.TB, root string) map[string]*setout.Plan {
	t.Helper()
	jobs, err := filepath.Glob(filepath.Join(root, "examples", "*", "job.yaml"))
	if err != nil || len(jobs) == 0 {
		t.Fatalf("no examples under %s: %v", root, err)
	}
	out := map[string]*setout.Plan{}
	for _, path := range jobs {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		j, faults := job.Read(path, text, func(name string) ([]byte, error) {
			return os.ReadFile(filepath.Join(filepath.Dir(path), name))
		})
		if len(faults) > 0 {
			t.Fatalf("%s: %v", path, faults)
		}
		p := setout.NewPlan(j)
		settle(t, p)
		setout.Order(p)
		setout.Finish(p)
		out[filepath.Base(filepath.Dir(path))] = p
	}
	return out
}

// settle is the loop of the root's Plan, which the packages under test cannot import.
func settle(t testing.TB, p *setout.Plan) {
	const roundsMax = 200
	var bench bearing.Bench
	for range roundsMax {
		setout.Place(p)
		setout.Load(p)
		setout.Pick(p)
		_, again := setout.Again(p)
		if !again {
			bench.Bear(context.Background(), p)
			detail.Holes(p)
			detail.Checks(p)
			_, again = setout.Refuse(p)
		}
		if !again {
			return
		}
	}
	t.Fatalf("%s does not settle in %d rounds", p.Job.Name, roundsMax)
}
