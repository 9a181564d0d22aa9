package peer

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/outline"
)

const outlines = "../internal/outline/testdata"

// outlineRow is a row of good.json, as far as it says how to read a file.
type outlineRow struct {
	File      string   `json:"file"`
	Unit      float64  `json:"unit"`
	Named     []string `json:"named"`
	Join      float64  `json:"join"`
	Tolerance float64  `json:"tolerance"`
}

// readOutlines is what ezdxf finds in the files now: for each, loops of area and perimeter, the largest first.
func readOutlines(t *testing.T, python string, rows []outlineRow) [][][2]float64 {
	t.Helper()
	text, err := json.Marshal(rows)
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(python, "testdata/outlines.py", outlines)
	var said bytes.Buffer
	c.Stdin, c.Stderr = bytes.NewReader(text), &said
	out, err := c.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, said.Bytes())
	}
	var found []struct {
		Opened int
		Loops  [][2]float64
	}
	if err := json.Unmarshal(out, &found); err != nil || len(found) != len(rows) {
		t.Fatalf("%d answers for %d files: %v", len(found), len(rows), err)
	}
	var loops [][][2]float64
	for i, f := range found {
		if f.Opened > 0 || len(f.Loops) == 0 {
			t.Errorf("%s: ezdxf leaves %d open, %d closed", rows[i].File, f.Opened, len(f.Loops))
		}
		loops = append(loops, f.Loops)
	}
	return loops
}

// compareOutline says in what a panel differs from the loops.
func compareOutline(row outlineRow, p *outline.Panel, loops [][2]float64) []string {
	tol := row.Tolerance
	if tol == 0 {
		tol = 1e-6 // curves are drawn as arcs within outline.CurveTol, which cross them
	}
	var ours, theirs []float64
	ours = append(ours, p.Region.Outer.Length(), p.Region.Outer.Area())
	theirs = append(theirs, loops[0][1], loops[0][0])
	for _, h := range p.Region.CutOuts {
		ours = append(ours, -h.Area())
	}
	for _, l := range loops[1:] {
		theirs = append(theirs, l[0])
	}
	if len(ours) != len(theirs) {
		return []string{fmt.Sprintf("%s: %d cut-outs, ezdxf finds %d", row.File, len(ours)-2, len(theirs)-2)}
	}
	slices.Sort(ours[2:])
	slices.Sort(theirs[2:])
	var found []string
	for i, what := range ours {
		if diff := math.Abs(what-theirs[i]) / theirs[i]; !(diff <= tol) {
			found = append(found, fmt.Sprintf("%s: %.9g, ezdxf finds %.9g: off by %.2g, allowed %.2g", row.File, what, theirs[i], diff, tol))
		}
	}
	return found
}

func outlineRows(t *testing.T) []outlineRow {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(outlines, "good.json"))
	if err != nil {
		t.Fatal(err)
	}
	var rows []outlineRow
	if err := json.Unmarshal(text, &rows); err != nil {
		t.Fatal(err)
	}
	rows = slices.DeleteFunc(rows, func(r outlineRow) bool { return !strings.HasSuffix(r.File, ".dxf") })
	if len(rows) < 30 {
		t.Fatalf("%d DXF files", len(rows))
	}
	return rows
}

func ourOutline(t *testing.T, row outlineRow) *outline.Panel {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(outlines, "good", row.File))
	if err != nil {
		t.Fatal(err)
	}
	d, err := outline.ReadDXF(text, outline.Options{Unit: row.Unit, Join: row.Join})
	if err != nil {
		t.Fatalf("%s: %v", row.File, err)
	}
	p, err := d.Panel(row.Join, row.Named...)
	if err != nil {
		t.Fatalf("%s: %v", row.File, err)
	}
	return p
}

// Outlines drawn as DXF by many programs: area, perimeter and cut-outs as ezdxf reads them in this run, by integrals of our own
// over its entities.
func TestOutlines(t *testing.T) {
	python := pythonWith(t, "ezdxf")
	rows := outlineRows(t)
	loops := readOutlines(t, python, rows)
	for i, row := range rows {
		say(t, compareOutline(row, ourOutline(t, row), loops[i]))
	}
}

// A file read in the wrong unit, or with a cut-out less, is found out.
func TestOutlinesSeeDamage(t *testing.T) {
	python := pythonWith(t, "ezdxf")
	rows := outlineRows(t)
	i := slices.IndexFunc(rows, func(r outlineRow) bool { return r.File == "ezdxf-r2000-inch.dxf" })
	loops := readOutlines(t, python, rows[i:i+1])[0]
	ours := ourOutline(t, rows[i])
	wrong := rows[i]
	wrong.Unit = 25.4001
	if len(compareOutline(rows[i], ourOutline(t, wrong), loops)) == 0 {
		t.Error("a wrong unit was not found")
	}
	ours.Region.CutOuts = ours.Region.CutOuts[1:]
	if len(compareOutline(rows[i], ours, loops)) == 0 {
		t.Error("a lost cut-out was not found")
	}
}
