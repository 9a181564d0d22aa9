package outline

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// goodRow is a row of testdata/good.json: a file with the sums that an outside reader found in it.
type goodRow struct {
	File      string
	Unit      float64  // stated, mm; 0: the file says
	Join      float64  // mm
	Named     []string // layers or colours that are no outline
	Tolerance float64  // relative; 0: sumTol
	Area      float64  // mm², within the outline, cut-outs not taken off
	Perimeter float64  // mm, of the outline
	Holes     []float64
	Notes     []string // what the notes must speak of
	By        string
}

// badRow is a row of testdata/bad.json.
type badRow struct {
	File      string
	Unit      float64
	Says      []string // all of them, in the error
	Line      int      // 0: none, or whichever when Somewhere
	Somewhere bool
}

// sumTol is how far, relatively, area and perimeter may differ from an outside reader's: lines and arcs stand for curves within
// CurveTol, and the area between is less than that by far, for they cross the curve.
const sumTol = 1e-6

func rows[T any](t testing.TB, name string) []T {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	var out []T
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&out); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return out
}

// read reads a file of the corpus by its ending.
func read(t testing.TB, folder, name string, o Options) (*Drawing, error) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", folder, name))
	if err != nil {
		t.Fatal(err)
	}
	return readAs(name, text, o)
}

func readAs(name string, text []byte, o Options) (*Drawing, error) {
	switch filepath.Ext(name) {
	case ".dxf":
		return ReadDXF(text, o)
	case ".svg":
		return ReadSVG(text, o)
	default:
		return ReadCSV(text, o)
	}
}

// Every good file gives the area, the perimeter and the cut-outs that an outside reader finds in it: ezdxf for DXF, svgelements
// for SVG, closed forms for points.
func TestGoodFiles(t *testing.T) {
	for _, row := range rows[goodRow](t, "good.json") {
		t.Run(row.File, func(t *testing.T) {
			d, err := read(t, "good", row.File, Options{Unit: row.Unit, Join: row.Join})
			if err != nil {
				t.Fatal(err)
			}
			p, err := d.Panel(row.Join, row.Named...)
			if err != nil {
				t.Fatalf("%v\nnotes %v", err, d.Notes)
			}
			tol := row.Tolerance
			if tol == 0 {
				tol = sumTol
			}
			off := func(what string, got, want float64) {
				t.Helper()
				if diff := math.Abs(got-want) / want; !(diff <= tol) {
					t.Errorf("%s: %.9g, %s has %.9g: off by %.2g, allowed %.2g", what, got, row.By, want, diff, tol)
				}
			}
			off("area", p.Region.Outer.Area(), row.Area)
			off("perimeter", p.Region.Outer.Length(), row.Perimeter)
			var holes []float64
			for i, h := range p.Region.CutOuts {
				holes = append(holes, -h.Area())
				if got := math.Abs(p.Holes[i].Path.Area()); math.Abs(got+h.Area()) > 1e-9*got {
					t.Errorf("cut-out %d: %g mm² in the region, %g mm² where it came from", i, -h.Area(), got)
				}
			}
			slices.Sort(holes)
			slices.Reverse(holes)
			if len(holes) != len(row.Holes) {
				t.Fatalf("%d cut-outs, %s has %d; notes %v", len(holes), row.By, len(row.Holes), p.Notes)
			}
			for i := range holes {
				off("cut-out", holes[i], row.Holes[i])
			}
			if len(row.Named) > 0 && len(p.Named) == 0 {
				t.Errorf("nothing on %v", row.Named)
			}
			var notes strings.Builder
			for _, n := range append(slices.Clone(d.Notes), p.Notes...) {
				notes.WriteString(n.String() + "\n")
			}
			for _, want := range row.Notes {
				if !strings.Contains(notes.String(), want) {
					t.Errorf("no note speaks of %q:\n%s", want, notes.String())
				}
			}
		})
	}
}

// Every file of testdata/good and testdata/bad has a row, and every row a file.
func TestCorpusComplete(t *testing.T) {
	for folder, names := range map[string][]string{"good": files(rows[goodRow](t, "good.json"), func(r goodRow) string { return r.File }),
		"bad": files(rows[badRow](t, "bad.json"), func(r badRow) string { return r.File })} {
		list, err := os.ReadDir(filepath.Join("testdata", folder))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			if !slices.Contains(names, e.Name()) {
				t.Errorf("%s/%s has no row", folder, e.Name())
			}
		}
		if len(names) != len(list) {
			t.Errorf("%s: %d rows, %d files", folder, len(names), len(list))
		}
	}
}

func files[T any](list []T, name func(T) string) []string {
	var out []string
	for _, r := range list {
		out = append(out, name(r))
	}
	return out
}

// Every bad file is refused, and the error says what it must: by the reader or, where the drawing can be read and is no panel,
// by Panel.
func TestBadFiles(t *testing.T) {
	for _, row := range rows[badRow](t, "bad.json") {
		t.Run(row.File, func(t *testing.T) {
			start := time.Now()
			d, err := read(t, "bad", row.File, Options{Unit: row.Unit})
			if err == nil {
				_, err = d.Panel(0)
			}
			if err == nil {
				t.Fatalf("it was read; notes %v", d.Notes)
			}
			mustSay(t, err, row.Says...)
			var f *Fault
			if !errors.As(err, &f) {
				t.Fatalf("%T is no *Fault", err)
			}
			if row.Line > 0 && f.Line != row.Line || row.Somewhere && f.Line == 0 {
				t.Errorf("line %d, expected %d: %v", f.Line, row.Line, err)
			}
			if f.Hint == "" {
				t.Errorf("does not say what to do: %v", err)
			}
			if took := time.Since(start); took > time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}

func mustSay(t *testing.T, err error, says ...string) {
	t.Helper()
	for _, want := range says {
		if !strings.Contains(strings.ToLower(err.Error()), strings.ToLower(want)) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
}

// A file beyond MostBytes is refused before it is taken apart.
func TestTooLargeFiles(t *testing.T) {
	for name, piece := range map[string]string{
		"a.dxf": "0\nLINE\n8\n0\n10\n0\n20\n0\n11\n1\n21\n1\n",
		"a.svg": "<path d='M0 0h1v1z'/>",
		"a.csv": "1.25,3.5\n",
	} {
		text := bytes.Repeat([]byte(piece), 20<<20/len(piece)+1)
		_, err := readAs(name, text, Options{Unit: 1})
		if err == nil {
			t.Fatalf("%s: %d MB were read", name, len(text)>>20)
		}
		mustSay(t, err, "MB")
	}
}

// More pieces than the limits allow end in an error, in little time: lines of a DXF, commands of a path, rows of a table.
func TestTooManyPieces(t *testing.T) {
	for name, text := range map[string]string{
		"a.dxf":       "0\nSECTION\n2\nENTITIES\n" + strings.Repeat("0\nLINE\n8\n0\n10\n0\n20\n0\n11\n1\n21\n1\n", MostEntities+1) + "0\nENDSEC\n0\nEOF\n",
		"a.svg":       `<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm"><path d="M0 0` + strings.Repeat("h1v1", MostVertices/2+1) + `"/></svg>`,
		"a.csv":       strings.Repeat("1.25,3.5\n", MostVertices+2),
		"space.csv":   "x_mm,y_mm,z_mm\n" + round(MostSpace+1, ",7"),
		"panel.csv":   "x_mm,y_mm\n" + round(MostPanel+1, ""),
		"circles.dxf": "0\nSECTION\n2\nENTITIES\n" + circles(MostPanel/2+1) + "0\nENDSEC\n0\nEOF\n",
	} {
		start := time.Now()
		d, err := readAs(name, []byte(text), Options{Unit: 1})
		if err == nil {
			_, err = d.Panel(0)
		}
		if err == nil {
			t.Errorf("%s: read", name)
		} else {
			mustSay(t, err, "000")
		}
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%s: took %v", name, took)
		}
	}
}

// round is n points of a circle as rows of a table, each with more behind it.
func round(n int, more string) string {
	var b strings.Builder
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		fmt.Fprintf(&b, "%.6f,%.6f%s\n", 500*c, 500*s, more)
	}
	return b.String()
}

// circles are n entities side by side, two arcs each.
func circles(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "0\nCIRCLE\n8\n0\n10\n%d\n20\n%d\n40\n1\n", 3*(i%200), 3*(i/200))
	}
	return b.String()
}

// An edge on a sphere lies on no cylinder, and the note says by how much: the least that any cylinder is off must be more than a
// tenth of a millimetre here, where the edge rises 100 mm out of its plane.
func TestEdgeOnSphere(t *testing.T) {
	var text strings.Builder
	text.WriteString("x_mm,y_mm,z_mm\n")
	const n, r = 64, 2000.0
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		u, v := 0.2*math.Cos(a), 0.16*math.Sin(a)+0.04*math.Cos(2*a)
		fmt.Fprintf(&text, "%.9f,%.9f,%.9f\n", r*math.Cos(v)*math.Sin(u), r*math.Sin(v), r*math.Cos(v)*math.Cos(u))
	}
	d, err := ReadCSV([]byte(text.String()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`up to ([0-9.]+) mm off the cylinder`).FindStringSubmatch(fmt.Sprint(d.Notes))
	if found == nil {
		t.Fatalf("notes %v", d.Notes)
	}
	if off, err := strconv.ParseFloat(found[1], 64); err != nil || off < 0.1 {
		t.Errorf("%s mm off: notes %v", found[1], d.Notes)
	}
}

// Rules of style are compared with every element: too many end in an error, and comments cost no more than their length.
func TestManyRules(t *testing.T) {
	const open, shut = `<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><style>`, `</style><path d="M0 0h9v9z"/></svg>`
	for text, says := range map[string]string{
		strings.Repeat(".a{fill:red}", 40_000): "rules",
		strings.Repeat("/**/", 500_000):        "",
		strings.Repeat("<!--x-->a", 200_000):   "",
	} {
		start := time.Now()
		_, err := ReadSVG([]byte(open+text+shut), Options{})
		if (err != nil) != (says != "") {
			t.Errorf("%.20s: %v", text, err)
		} else if err != nil {
			mustSay(t, err, says)
		}
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%.20s: took %v", text, took)
		}
	}
}
