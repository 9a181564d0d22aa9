package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// command runs the program as a shell would.
func command(args ...string) (code int, out, errOut string) {
	var o, e bytes.Buffer
	code = run(context.Background(), args, &o, &e)
	return code, o.String(), e.String()
}

const example = "../../examples/02-launch/job.yaml"

func TestExitCodes(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.yaml")
	if err := os.WriteFile(bad, []byte("job: { name: bad }\npanels: []\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args string
		code int
		out  string // part of standard output
		err  string // part of standard error
	}{
		{"--help", exitPlanned, "Exit codes: 0 planned", ""},
		{"plan --help", exitPlanned, "templates.pdf", ""},
		{"", exitPlanned, "planning aid and no approval", ""},
		{"version", exitPlanned, "panelwright 0.", ""},
		{"plan", exitUsage, "", "one job file is needed, found 0"},
		{"plan a b", exitUsage, "", "one job file is needed, found 2"},
		{"pln x.yaml", exitUsage, "", "unknown command"},
		{"plan --nope x.yaml", exitUsage, "", "unknown flag"},
		{"plan no-such-file.yaml", exitUsage, "", "no-such-file.yaml"},
		{"check " + example, exitPlanned, "no faults", ""},
		{"check " + bad, exitFails, "", "nothing was planned"},
		{"plan " + bad, exitFails, "", "nothing was planned"},
		{"plan " + example, exitPlanned, "not known", ""},
	} {
		code, out, errOut := command(strings.Fields(c.args)...)
		if code != c.code || !strings.Contains(out, c.out) || !strings.Contains(errOut, c.err) {
			t.Errorf("panelwright %s: code %d, want %d\nout: %s\nerr: %s", c.args, code, c.code, out, errOut)
		}
	}
}

func TestJSONIsOnlyJSON(t *testing.T) {
	code, out, errOut := command("plan", example, "--json")
	if code != exitPlanned || errOut != "" {
		t.Fatalf("code %d, err %s", code, errOut)
	}
	var plan struct {
		Format int                     `json:"format"`
		Panels []struct{ Name string } `json:"panels"`
		Tally  struct {
			Holds int `json:"holds"`
			Fails int `json:"does_not_hold"`
		} `json:"tally"`
	}
	if err := json.Unmarshal([]byte(out), &plan); err != nil {
		t.Fatal(err)
	}
	if plan.Format != 1 || len(plan.Panels) == 0 || plan.Tally.Holds == 0 || plan.Tally.Fails != 0 {
		t.Errorf("%+v", plan)
	}
}

func TestFaultsAsJSON(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.yaml")
	if err := os.WriteFile(bad, []byte("job: { nmae: x }\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	code, out, _ := command("check", bad, "--json")
	var doc struct {
		Faults []struct {
			Line int    `json:"line"`
			Rule string `json:"rule"`
			Hint string `json:"hint"`
		} `json:"faults"`
	}
	if err := json.Unmarshal([]byte(out), &doc); err != nil || code != exitFails || len(doc.Faults) == 0 || doc.Faults[0].Line != 1 {
		t.Errorf("code %d, %v, %s", code, err, out)
	}
}

// A stranger's file in the folder survives, the message says what to do, and the code is the user's, not ours.
func TestStrangersFolder(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "mine.txt")
	if err := os.WriteFile(mine, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	code, _, errOut := command("plan", example, "--out", dir)
	if code != exitUsage || !strings.Contains(errOut, "mine.txt") || !strings.Contains(errOut, "another folder") {
		t.Errorf("code %d, %s", code, errOut)
	}
	if got, err := os.ReadFile(mine); err != nil || string(got) != "mine" {
		t.Errorf("the stranger's file: %q, %v", got, err)
	}
}
