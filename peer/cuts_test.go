package peer

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// reads runs a script of testdata on a folder; each line that it prints is a finding.
func reads(t *testing.T, python, script string, args ...string) []string {
	t.Helper()
	path, err := filepath.Abs(filepath.Join("testdata", script))
	if err != nil {
		t.Fatal(err)
	}
	out, err := runIn(".", python, append([]string{path}, args...)...)
	found := strings.FieldsFunc(string(out), func(r rune) bool { return r == '\n' })
	if err != nil {
		found = append(found, err.Error())
	}
	return found
}

// The cutting drawings open in ezdxf with nothing to mend, in mm, their outlines closed; they have every hole, countersink and slot of
// holes.csv within a hundredth of a mm and no other, and enclose the areas of plan.json. The SVG, read by svgelements, is at full size
// and holds the same.
func TestCuttingDrawings(t *testing.T) {
	python := pythonWith(t, "ezdxf", "svgelements")
	eachPack(t, func(t *testing.T, p pack) { say(t, reads(t, python, "cuts.py", p.dir)) })
}

// With holes: pilot they have the pilots, and no countersinks.
func TestCuttingDrawingsOfPilots(t *testing.T) {
	python := pythonWith(t, "ezdxf", "svgelements")
	p := planWith(t, packs[0].name, "\nmarking out:\n  holes: pilot\n")
	say(t, reads(t, python, "cuts.py", p.dir, "pilot"))
	if len(reads(t, python, "cuts.py", p.dir)) == 0 {
		t.Error("they fit the drills of holes.csv, too")
	}
}

// planWith plans a copy of an example whose job ends with more text.
func planWith(t *testing.T, name, more string) pack {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("../examples", name))); err != nil {
		t.Fatal(err)
	}
	job := filepath.Join(dir, "job.yaml")
	text, err := os.ReadFile(job)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(job, append(text, more...), 0o644); err != nil {
		t.Fatal(err)
	}
	p := pack{name: name, dir: filepath.Join(dir, "pack")}
	must(t, ".", filepath.Join(filepath.Dir(packs[0].dir), "panelwright"), "plan", job, "--out", p.dir)
	if p.plan, err = readPlan(p.dir); err != nil {
		t.Fatal(err)
	}
	return p
}

// A hole moved, left out or of another size, a slot moved, a drawing in other units, an outline that is open, a picture of another
// size: each is found out.
func TestCuttingDrawingsSeeDamage(t *testing.T) {
	python := pythonWith(t, "ezdxf", "svgelements")
	dxf, svg := "cut-tail-lid-outer.dxf", "cut-tail-lid-outer.svg"
	for name, damage := range map[string]struct {
		says string
		do   func(t *testing.T, p pack)
	}{
		"hole moved": {"circle of HOLES", func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "x_mm", 1, addTo(t, 0.05)) }},
		"hole size":  {"circle of HOLES", func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "drill_mm", 1, addTo(t, 0.05)) }},
		"operation": {"circle of HOLES", func(t *testing.T, p pack) {
			alterCells(t, p, "holes.csv", "no_new_hole", 1, func(string) string { return "yes" })
		}},
		"countersink size": {"COUNTERSINK_MARK", func(t *testing.T, p pack) { alterFilled(t, p, "holes.csv", "countersink_diameter_mm", addTo(t, 0.05)) }},
		"slot longer":      {"slot", func(t *testing.T, p pack) { alterFilled(t, p, "holes.csv", "cut_length_mm", addTo(t, 0.05)) }},
		"slot turned":      {"slot", func(t *testing.T, p pack) { alterFilled(t, p, "holes.csv", "cut_turned_deg", addTo(t, 0.1)) }},
		"layer renamed":    {"is none of", func(t *testing.T, p pack) { alter(t, p, dxf, "\n  8\nCUT\n", "\n  8\nHOLE\n") }},
		"inches":           {"$INSUNITS", func(t *testing.T, p pack) { alter(t, p, dxf, "$INSUNITS\n 70\n4\n", "$INSUNITS\n 70\n1\n") }},
		"open outline":     {"is open", func(t *testing.T, p pack) { openPolyline(t, p, dxf) }},
		"picture unit": {"mm wide", func(t *testing.T, p pack) {
			alter(t, p, svg, `mm" height="`, `cm" height="`)
			alter(t, p, svg, `mm" viewBox="`, `cm" viewBox="`)
		}},
		"circle of the picture":  {"circle of group holes", func(t *testing.T, p pack) { alter(t, p, svg, `<circle cx="`, `<circle cx="1`) }},
		"outline of the picture": {"encloses", func(t *testing.T, p pack) { alter(t, p, svg, "A", "L10 10A") }},
		"area":                   {"enclose", func(t *testing.T, p pack) { alter(t, p, "plan.json", `"area_mm2": 4`, `"area_mm2": 5`) }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := copyPack(t, packs[0])
			damage.do(t, p)
			sees(t, reads(t, python, "cuts.py", p.dir), damage.says)
		})
	}
}

// sees wants a finding with these words in it.
func sees(t *testing.T, found []string, words string) {
	t.Helper()
	if !strings.Contains(strings.Join(found, "\n"), words) {
		t.Errorf("nothing was found of %q: %q", words, found)
	}
}

// alterFilled changes a column's fields where they hold something.
func alterFilled(t *testing.T, p pack, file, column string, change func(string) string) {
	t.Helper()
	alterCells(t, p, file, column, -1, func(s string) string {
		if s == "" {
			return s
		}
		return change(s)
	})
}

// openPolyline takes the flag of a closed polyline from the first loop of layer CUT.
func openPolyline(t *testing.T, p pack, file string) {
	t.Helper()
	path := filepath.Join(p.dir, file)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, after, ok := strings.Cut(string(text), "\n  8\nCUT\n100\nAcDbPolyline\n")
	opened := strings.Replace(after, " 70\n1\n", " 70\n0\n", 1)
	if !ok || opened == after {
		t.Fatalf("%s has no closed polyline on CUT", file)
	}
	if err := os.WriteFile(path, []byte(before+"\n  8\nCUT\n100\nAcDbPolyline\n"+opened), 0o644); err != nil {
		t.Fatal(err)
	}
}
