package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// check and plan warn of a taped outline whose lengths cannot all be true; check also says which lengths nothing checks. An
// invented lid (sample).
func TestSurveyWarned(t *testing.T) {
	const lid = `job: { name: lid (sample), sample: true, units: mm, drills: any size }
panels:
  - name: Lid
    outline: { survey: { corners: [ A, B, C, D ], lengths: { A-B: 862, B-C: 641, C-D: 858, D-A: 650, A-C: 1080.6DIAGONAL } } }
    outer: { material: grp_csm30, thickness: 2.5 ± 0.2 mm }
    inner: { material: al5754h22, thickness: 1.5 ± 0.05 mm }
    supports: [ { name: flange, flange: [ A-B, B-C, C-D, D-A ], width: 36 } ]
`
	for diagonal, c := range map[string]struct{ check, plan string }{
		"":               {"No length is checked by any other", ""},
		", B-D: 1070.1":  {"", ""},
		", B-D: 1100.1 ": {"measure again: Lid: One of the lengths is suspected", "measure again: Lid: One of the lengths is suspected"},
	} {
		file := filepath.Join(t.TempDir(), "lid.yaml")
		if err := os.WriteFile(file, []byte(strings.Replace(lid, "DIAGONAL", diagonal, 1)), 0o644); err != nil {
			t.Fatal(err)
		}
		code, out, _ := command("check", file)
		if code != exitPlanned || !strings.Contains(out, c.check) || c.check == "" && strings.Count(out, "\n") != 1 {
			t.Errorf("%q: check: code %d, %s", diagonal, code, out)
		}
		_, out, _ = command("plan", file)
		if !strings.Contains(out, c.plan) || c.plan == "" && strings.Contains(out, "measure again") {
			t.Errorf("%q: plan: %s", diagonal, out)
		}
	}
}
