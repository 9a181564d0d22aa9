package job

import (
	"bytes"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"panelwright/internal/fault"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// good reads a job without faults.
func good(t *testing.T, text string) *Job {
	t.Helper()
	j, faults := Read("job.yaml", []byte(text), nil)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return j
}

const lidText = `job: { name: lid (sample), units: mm, drills: [ 3.3 mm, "#30", "1/4 in" ] }
panels:
  - name: Lid
    outline: { rectangle: [600, 400], edges: [front, right, rear, left] }
    outer: { material: grp_csm30, thickness: "readings [2.4, 2.6, 2.5, 2.5] mm" }
    inner: { material: al5754h22, thickness: 1.5 mm }
    supports:
      - { name: flange, flange: [front, right, rear, left], width: 36 }
`

// What a job leaves out stands as its default, marked as assumed; what it gives is the job's.
func TestDefaultsStand(t *testing.T) {
	j := good(t, lidText)
	c := &j.Conditions
	for _, s := range []struct {
		name  string
		got   Setting
		value float64
	}{
		{"density", c.AirDensity, 1.225e-12}, // 1.225 kg/m³, ISO 2533
		{"friction", c.Friction, 0.15},
		{"hand", c.HandTorque, 1000},
		{"spares", c.SpareShare, 0.1},
		{"seam", j.Panels[0].Limits.SeamGap, 1},
	} {
		if s.got.Value != s.value || !s.got.Assumed || s.got.Source == "" || s.got.Source == sourceJob {
			t.Errorf("%s: %+v", s.name, s.got)
		}
	}
	if p := j.Panels[0]; p.Loads.HasCp || p.Loads.HasPressure || p.Stations.Mode != "auto" || p.Quantity != 1 || j.Paper != "A4" || !c.MarkingAssumed {
		t.Errorf("%+v", p)
	}
	fast := good(t, strings.Replace(lidText, "panels:", "conditions: { top speed: 62 m/s, friction: 0.2, marking: jig }\npanels:", 1))
	if l := fast.Panels[0].Loads; !l.HasCp || !l.CpAssumed || l.CpOutside != cpOutsideDefault {
		t.Errorf("at speed without coefficients: %+v", l)
	}
	if s := fast.Conditions.Friction; s.Value != 0.2 || s.Assumed || s.Source != sourceJob || s.Pos.Line != 2 {
		t.Errorf("given: %+v", s)
	}
	if s := fast.Conditions.TopSpeed; s.Value != 62000 || s.Assumed {
		t.Errorf("given: %+v", s)
	}
}

// Readings over a layer say where the next place lies: s·√(1 + 1/n). Readings at one station say what is there: s/√n. Both
// with a caliper's resolution of 0.05 mm, rectangular.
func TestReadings(t *testing.T) {
	j := good(t, lidText+"    measured stacks: [ { station: 3, stack: \"readings [2.4, 2.6, 2.5, 2.5] mm\" } ]\n")
	p := j.Panels[0]
	s := math.Sqrt(0.02 / 3) // of 2.4, 2.6, 2.5, 2.5, by hand: Σ(x−2.5)² = 0.02
	res := 0.05 / math.Sqrt(12)
	if got, want := p.Outer.Thickness.StdUnc, math.Hypot(s*math.Sqrt(1.25), res); math.Abs(got-want) > 1e-12 {
		t.Errorf("layer: %g, want %g", got, want)
	}
	if got, want := p.Measured[0].Thickness.StdUnc, math.Hypot(s/2, res); math.Abs(got-want) > 1e-12 {
		t.Errorf("station: %g, want %g", got, want)
	}
	if in := p.Inner.Thickness; !in.Assumed || math.Abs(in.Half-0.075) > 1e-12 { // metal sheet ± 5 %
		t.Errorf("default spread %+v", in)
	}
}

func TestDrills(t *testing.T) {
	j := good(t, lidText)
	var names []string
	for _, d := range j.Drills {
		names = append(names, d.Series+" "+d.Name)
	}
	if got := strings.Join(names, ", "); got != "number #30, metric 3.3 mm, fractional 1/4 in" {
		t.Errorf("drills %s", got)
	}
	any := good(t, strings.Replace(lidText, `[ 3.3 mm, "#30", "1/4 in" ]`, "any size", 1))
	if !any.AnySize || len(any.Drills) != len(stock.Drills()) {
		t.Errorf("any size gives %d drills", len(any.Drills))
	}
}

// The range is opened by the name in the job; faults in it carry its name.
func TestRangeOpened(t *testing.T) {
	text := strings.Replace(lidText, "units: mm", "units: mm, range: ours.yaml", 1)
	var asked string
	j, faults := Read("job.yaml", []byte(text), func(name string) ([]byte, error) {
		asked = name
		return stock.SampleText(), nil
	})
	if len(faults) > 0 || asked != "ours.yaml" || j.Range == nil || j.RangeName != "ours.yaml" {
		t.Errorf("asked for %q: %v", asked, faults)
	}
	_, faults = Read("job.yaml", []byte(text), func(string) ([]byte, error) { return []byte("range: [ ]\n"), nil })
	if len(faults) == 0 || faults[len(faults)-1].Pos.File != "ours.yaml" {
		t.Errorf("a bad range gives %v", faults)
	}
	_, faults = Read("job.yaml", []byte(text), func(string) ([]byte, error) { return nil, errors.New("locked") })
	if len(faults) != 1 || faults[0].Rule != RuleRangeFile || !strings.Contains(faults[0].Text, "locked") {
		t.Errorf("a locked range gives %v", faults)
	}
}

// A job's own material takes its place among the known ones, for this job only.
func TestOwnMaterial(t *testing.T) {
	text := strings.Replace(lidText, "units: mm", "units: mm, materials: [ { id: ours, family: glass-fibre, elastic modulus: 12 GPa, density: 1600 kg/m³, shear: 70 MPa } ]", 1)
	j := good(t, strings.Replace(text, "grp_csm30", "ours", 1))
	m := j.Panels[0].Outer.Material
	if m == nil || m.E != 12000 || math.Abs(m.Rho-1.6e-9) > 1e-20 || m.Status != "user" || m.Galvanic >= 0 {
		t.Errorf("%+v", m)
	}
	if good(t, lidText).Materials["ours"] != nil {
		t.Error("a job's material is known to the next job")
	}
}

// A station by edge and tape stands on the seat line, square to its place on the tape.
func TestTape(t *testing.T) {
	j := good(t, lidText+"    stations: { given: [ { id: A, edge: right, tape: 100 }, { id: B, edge: rear, tape: 50 } ] }\n")
	g := j.Panels[0].Stations.Given
	if d := g[0].At.Dist(plane.Point{X: 582, Y: 100}); d > 1e-9 {
		t.Errorf("A at %v", g[0].At)
	}
	if d := g[1].At.Dist(plane.Point{X: 550, Y: 382}); d > 1e-9 {
		t.Errorf("B at %v", g[1].At)
	}
}

// Check judges a job that was not read from a file, too.
func TestCheckAlone(t *testing.T) {
	j := &Job{Panels: []*Panel{{Name: "bare"}}}
	if f := j.Check(); len(f) != 1 || f[0].Rule != RuleOutlineArea {
		t.Errorf("no outline: %v", f)
	}
	j = good(t, lidText)
	if f := j.Check(); len(f) > 0 {
		t.Errorf("a good job: %v", f)
	}
	j.Panels[0].Front = "bow"
	j.Panels[0].Loads.Masses = []LumpedMass{{Name: "lamp", Mass: 1e-3, At: plane.Point{X: -5}}}
	if f := j.Check(); len(f) != 2 {
		t.Errorf("two faults put in: %v", f)
	}
}

// Small damage to a good file never crashes the reader, and what it says always has a place and a rule.
func FuzzRead(f *testing.F) {
	for _, list := range [][]string{exampleFiles(f), faultFiles(f)} {
		for _, file := range list {
			text, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		start := time.Now()
		j, faults := Read("f.yaml", text, noFiles)
		if took := time.Since(start); took > 2*time.Second { // seeds need milliseconds; the bound is against blow-up
			t.Errorf("took %v", took)
		}
		if j == nil && len(faults) == 0 {
			t.Error("no job and no fault")
		}
		for _, x := range faults {
			if x.Rule == "" || x.Text == "" || x.Pos.File != "f.yaml" {
				t.Errorf("%+v", x)
			}
		}
		again := append(fault.List(nil), faults...)
		again.Sort()
		if again.Error() != faults.Error() {
			t.Error("faults are not sorted")
		}
		if len(faults) == 0 {
			sound(t, j)
		}
	})
}

// sound demands of a job without faults what later steps rely on.
func sound(t *testing.T, j *Job) {
	t.Helper()
	for _, p := range j.Panels {
		checkEdges(t, p)
		if len(p.Outline.Outer.Facts()) > 0 || len(p.Outline.CutOutFaults()) > 0 {
			t.Errorf("outline of %s", p.Name)
		}
		if !(p.Outer.Thickness.Nom > 0) || p.Outer.Material == nil || p.Inner.Material == nil || len(p.Supports) == 0 || p.ID == "" {
			t.Errorf("%+v", p)
		}
		for _, g := range p.Stations.Given {
			if p.Outline.Outer.Contains(g.At) == plane.Outside {
				t.Errorf("station at %v", g.At)
			}
		}
	}
}

// The largest job that is read: time stays bounded.
func TestLargest(t *testing.T) {
	var b bytes.Buffer
	b.WriteString(headText)
	for i := range mostPanels {
		b.WriteString(strings.ReplaceAll(lidText[strings.Index(lidText, "  - name"):], "name: Lid", "name: Lid "+strconv.Itoa(i)))
		b.WriteString("    cut-outs:\n")
		for k := range mostCutOuts {
			x, y := 80+60*(k%8), 80+50*(k/8)
			b.WriteString("      - { circle: { at: [" + strconv.Itoa(x) + ", " + strconv.Itoa(y) + "], diameter: 20 } }\n")
		}
	}
	start := time.Now()
	j, faults := Read("large.yaml", b.Bytes(), nil)
	if len(faults) != 1 || faults[0].Rule != RuleTooMany { // 100 panels of 88 points: over the bound of the job
		t.Errorf("%d panels, %v", len(j.Panels), faults)
	}
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("took %v", took)
	}
}

func BenchmarkRead(b *testing.B) {
	file := exampleFiles(b)[0]
	text, err := os.ReadFile(file)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, faults := Read(file, text, nil); len(faults) > 0 {
			b.Fatal(faults)
		}
	}
}
