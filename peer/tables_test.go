package peer

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The tables and plan.json, read by Python's csv and json modules: rectangular, plain numbers, sums, the order counted again
// from the stations, the schedule against the plan, the tally against the verdicts.
func TestTables(t *testing.T) {
	need(t, "python3")
	eachPack(t, func(t *testing.T, p pack) { say(t, checkTables(t, p)) })
}

func checkTables(t *testing.T, p pack) []string {
	t.Helper()
	script, err := filepath.Abs("testdata/tables.py")
	if err != nil {
		t.Fatal(err)
	}
	out, err := runIn(p.dir, "python3", script, p.dir)
	found := strings.FieldsFunc(string(out), func(r rune) bool { return r == '\n' })
	if err != nil {
		found = append(found, err.Error())
	}
	return found
}

// One wrong figure in any of the tables is found out.
func TestTablesSeeDamage(t *testing.T) {
	need(t, "python3")
	add := func(v float64) func(string) string {
		return func(s string) string {
			f, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Errorf("%q is no number to damage", s)
			}
			_, decimals, _ := strings.Cut(s, ".")
			return strconv.FormatFloat(f+v, 'f', len(decimals), 64)
		}
	}
	put := func(s string) func(string) string { return func(string) string { return s } }
	for name, damage := range map[string]func(t *testing.T, p pack){
		"need":      func(t *testing.T, p pack) { alterCells(t, p, "order.csv", "need", 1, add(1)) },
		"packs":     func(t *testing.T, p pack) { alterCells(t, p, "order.csv", "packs", 1, add(1)) },
		"cost":      func(t *testing.T, p pack) { alterCells(t, p, "order.csv", "cost", 1, add(0.5)) },
		"total":     func(t *testing.T, p pack) { alter(t, p, "order.csv", "\ntotal,,,", "\ntotal,,,5") },
		"no number": func(t *testing.T, p pack) { alterCells(t, p, "order.csv", "mass_g", 1, put("1e3")) },
		"comma":     func(t *testing.T, p pack) { alter(t, p, "order.csv", ".", ",") },
		"drill":     func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "drill_mm", 1, add(-1)) },
		"inch":      func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "drill_in", 1, add(0.001)) },
		"place":     func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "x_mm", 1, add(0.002)) },
		"stage":     func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "stage", 1, put("9")) },
		"station":   func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "station", 1, put("stranger")) },
		"wire":      func(t *testing.T, p pack) { alterCells(t, p, "forces.csv", "wire_N", 1, add(1)) },
		"seat":      func(t *testing.T, p pack) { alterCells(t, p, "forces.csv", "seat", 1, put("ajar")) },
		"gap":       func(t *testing.T, p pack) { alterCells(t, p, "gaps.csv", "worst_case_gap_mm", 1, add(-500)) },
		"seam":      func(t *testing.T, p pack) { alterCells(t, p, "gaps.csv", "seam", 1, put("nowhere")) },
		"push":      func(t *testing.T, p pack) { alter(t, p, "plan.json", `"supports_push_N": `, `"supports_push_N": 1`) },
		"reaction":  func(t *testing.T, p pack) { alter(t, p, "plan.json", `"reaction_N": -`, `"reaction_N": -1`) },
		"tally":     func(t *testing.T, p pack) { alter(t, p, "plan.json", `"not_known": `, `"not_known": 1`) },
		"verdict":   func(t *testing.T, p pack) { alter(t, p, "plan.json", `"verdict": "holds"`, `"verdict": "not known"`) },
		"infinity":  func(t *testing.T, p pack) { alter(t, p, "plan.json", `"value": `, `"value": Infinity, "was": `) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := copyPack(t, packs[0])
			damage(t, p)
			if len(checkTables(t, p)) == 0 {
				t.Error("nothing was found")
			}
		})
	}
}

// pack.sha256 lists every other file of the pack, and their sums are right.
func TestChecksums(t *testing.T) {
	need(t, "sha256sum")
	eachPack(t, func(t *testing.T, p pack) {
		must(t, p.dir, "sha256sum", "--check", "--strict", "--quiet", "pack.sha256")
		list, err := os.ReadFile(filepath.Join(p.dir, "pack.sha256"))
		if err != nil {
			t.Fatal(err)
		}
		listed := []string{"pack.sha256"}
		for _, line := range strings.Split(strings.TrimSpace(string(list)), "\n") {
			_, name, _ := strings.Cut(line, "  ")
			listed = append(listed, name)
		}
		entries, err := os.ReadDir(p.dir)
		if err != nil {
			t.Fatal(err)
		}
		var there []string
		for _, e := range entries {
			there = append(there, e.Name())
		}
		slices.Sort(listed)
		if !slices.Equal(listed, there) {
			t.Errorf("listed are %v, there are %v", listed, there)
		}
		want := []string{"card.pdf", "forces.csv", "gaps.csv", "holes.csv", "jigs.pdf", "labels.pdf", "order.csv", "pack.sha256", "plan.html", "plan.json", "stickers.pdf", "strips.pdf", "templates-behind.pdf", "templates.pdf"}
		for _, panel := range p.plan.Panels {
			want = append(want, "panel-"+panel.ID+".svg", "card-"+panel.ID+".html")
		}
		slices.Sort(want)
		// TestCuttingDrawings and TestJigs know which of these there must be.
		there = slices.DeleteFunc(there, func(name string) bool {
			return strings.HasPrefix(name, "cut-") || strings.HasPrefix(name, "jig-")
		})
		if !slices.Equal(there, want) {
			t.Errorf("the pack has %v, want %v", there, want)
		}

		damaged := copyPack(t, p)
		alter(t, damaged, "holes.csv", "outer", "inner")
		if _, err := runIn(damaged.dir, "sha256sum", "--check", "--quiet", "pack.sha256"); err == nil {
			t.Error("a damaged pack passes its checksums")
		}
	})
}
