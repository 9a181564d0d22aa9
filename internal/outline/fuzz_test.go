package outline

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func FuzzReadDXF(f *testing.F) { fuzz(f, ".dxf") }
func FuzzReadSVG(f *testing.F) { fuzz(f, ".svg") }
func FuzzReadCSV(f *testing.F) { fuzz(f, ".csv") }

// slowest is the longest that one input may take; its worst on an idle machine is a tenth of it.
const slowest = time.Second

// fuzz seeds a target from the corpus. Whatever the text: no panic, no wait, only Faults, and finite loops.
func fuzz(f *testing.F, ending string) {
	for _, folder := range []string{"good", "bad"} {
		list, err := filepath.Glob(filepath.Join("testdata", folder, "*"+ending))
		if err != nil || len(list) == 0 {
			f.Fatalf("no seeds: %v", err)
		}
		for _, name := range list {
			text, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text, 1.0)
			f.Add(text, 0.0)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte, unit float64) {
		if math.IsNaN(unit) || math.IsInf(unit, 0) || unit < 0 || unit > 1e4 {
			unit = 1
		}
		start := time.Now()
		d, err := readAs(ending, text, Options{Unit: unit})
		if err == nil {
			checkLoops(t, d)
			_, err = d.Panel(0, "0", "1", "#000000")
		}
		var fault *Fault
		if err != nil && !errors.As(err, &fault) {
			t.Errorf("%T is no *Fault: %v", err, err)
		}
		if took := time.Since(start); took > slowest {
			t.Errorf("took %v", took)
		}
	})
}

func checkLoops(t *testing.T, d *Drawing) {
	t.Helper()
	n := 0
	for _, l := range d.Loops {
		n += len(l.Path.V)
		for _, v := range l.Path.V {
			if !(math.Abs(v.X) <= MostSize && math.Abs(v.Y) <= MostSize) || math.IsNaN(v.Bulge) || math.IsInf(v.Bulge, 0) {
				t.Fatalf("line %d: vertex %v", l.Line, v)
			}
		}
	}
	if n > MostVertices {
		t.Errorf("%d vertices", n)
	}
}
