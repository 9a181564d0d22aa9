package panelwright

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// readExample reads one of the examples, which must have no faults.
func readExample(t testing.TB, file string) *job.Job {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	j, faults := job.Read(file, text, func(name string) ([]byte, error) {
		return os.ReadFile(filepath.Join(filepath.Dir(file), name))
	})
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return j
}

func exampleFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("examples/*/job.yaml")
	if err != nil || len(files) < 3 {
		t.Fatalf("found the examples %v, %v: want at least three", files, err)
	}
	return files
}

func planExample(t testing.TB, file string) (*setout.Plan, *Pack) {
	t.Helper()
	p, err := Plan(context.Background(), readExample(t, file), nil)
	if err != nil {
		t.Fatal(err)
	}
	pack, err := Draw(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p, pack
}

// Every example plans with nothing that does not hold, is marked as a sample, and gives the same bytes twice.
func TestExamples(t *testing.T) {
	for _, file := range exampleFiles(t) {
		t.Run(filepath.Base(filepath.Dir(file)), func(t *testing.T) {
			p, pack := planExample(t, file)
			if !p.Job.Sample {
				t.Error("an example must say that it is a sample")
			}
			if c := Tally(p); c.Fails+c.Faults > 0 || c.Holds == 0 {
				t.Errorf("tally %+v", c)
				sayFailures(t, p)
			}
			_, again := planExample(t, file)
			for i, f := range pack.Files {
				if !bytes.Equal(f.Data, again.Files[i].Data) {
					t.Errorf("%s differs between two runs", f.Name)
				}
				checkFile(t, f, bears(p))
			}
		})
	}
}

// bears says whether the panel model knows anything of any panel.
func bears(p *setout.Plan) bool {
	return slices.ContainsFunc(p.Panels, func(pan *setout.Panel) bool { return pan.Bearing != nil && pan.Bearing.Known })
}

func sayFailures(t *testing.T, p *setout.Plan) {
	t.Helper()
	for _, pan := range p.Panels {
		for _, f := range pan.Faults {
			t.Logf("%s: %s", pan.Job.Name, f)
		}
		for _, st := range pan.Stations {
			for _, k := range st.Checks {
				if k.Verdict == setout.DoesNotHold {
					t.Logf("%s station %s: %s %.3f, limit %.3f %s; %s", pan.Job.Name, st.ID, k.ID, k.Value, k.Limit, k.Unit, k.Cure)
				}
			}
		}
	}
	for _, f := range p.Judge {
		t.Logf("judge: %+v", f)
	}
}

// checkFile opens a file of the pack as its kind, and looks for what must never be printed.
func checkFile(t *testing.T, f File, bears bool) {
	t.Helper()
	text := string(f.Data)
	switch filepath.Ext(f.Name) {
	case ".csv":
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		empty := !bears && (f.Name == "forces.csv" || f.Name == "gaps.csv")
		if err != nil || len(rows) < 2 && !empty || len(rows) < 1 {
			t.Errorf("%s: %d rows, %v", f.Name, len(rows), err)
		}
	case ".json":
		if !json.Valid(f.Data) {
			t.Errorf("%s is not JSON", f.Name)
		}
	case ".svg":
		d := xml.NewDecoder(strings.NewReader(text))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", f.Name, err)
			}
		}
	case ".pdf":
		if !strings.HasPrefix(text, "%PDF-") {
			t.Errorf("%s is not a PDF", f.Name)
		}
		return
	case ".stl": // numbers in binary; peer measures them
		if len(f.Data) < 84 || len(f.Data) != 84+50*int(binary.LittleEndian.Uint32(f.Data[80:])) {
			t.Errorf("%s: %d bytes are no whole number of facets, or not its own", f.Name, len(f.Data))
		}
		return
	case ".3mf":
		text = unzipped(t, f)
	}
	for _, bad := range []string{"NaN", "Inf", "%!", "<nil>", "-0.00 "} {
		if strings.Contains(text, bad) {
			t.Errorf("%s contains %q", f.Name, bad)
		}
	}
}

// unzipped is the text of all files in a package.
func unzipped(t *testing.T, f File) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(f.Data), int64(len(f.Data)))
	if err != nil || len(z.File) == 0 {
		t.Fatalf("%s is no package: %v", f.Name, err)
	}
	var all strings.Builder
	for _, part := range z.File {
		r, err := part.Open()
		if err == nil {
			_, err = io.Copy(&all, r)
		}
		if err != nil {
			t.Fatalf("%s: %s: %v", f.Name, part.Name, err)
		}
	}
	return all.String()
}

// The sprint car is as large as promised: at least 6 panels and 50 stations.
func TestSprintSize(t *testing.T) {
	p, _ := planExample(t, "examples/01-sprint/job.yaml")
	panels, stations := 0, 0
	for _, pan := range p.Panels {
		panels += pan.Job.Quantity
		stations += pan.Job.Quantity * len(pan.Stations)
	}
	if panels < 6 || stations < 50 {
		t.Errorf("%d panels, %d stations", panels, stations)
	}
}

func BenchmarkSprint(b *testing.B) {
	j := readExample(b, "examples/01-sprint/job.yaml")
	b.ReportAllocs()
	for b.Loop() {
		p, err := Plan(context.Background(), j, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := Draw(context.Background(), p, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// The README's pictures are real output: what the examples give today.
func TestReadmePictures(t *testing.T) {
	p, pack := planExample(t, "examples/01-sprint/job.yaml")
	pictures := map[string][]byte{}
	for _, f := range pack.Files {
		if f.Name == "panel-nose-lid.svg" {
			pictures["panel-nose-lid.svg"] = f.Data
		}
	}
	sections, err := drawing.Sections(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range sections {
		if strings.HasPrefix(s.Title, "Section B") {
			var b bytes.Buffer
			if err := sheet.WriteSVG(&b, s); err != nil {
				t.Fatal(err)
			}
			pictures["section.svg"] = b.Bytes()
		}
	}
	p, _ = planExample(t, "examples/02-launch/job.yaml")
	hatch := p.Panels[0]
	var b bytes.Buffer
	if err := sheet.WriteSVG(&b, drawing.BearingSheet(p.Job, hatch, hatch.Bearing.Worst)); err != nil {
		t.Fatal(err)
	}
	pictures["bearing.svg"] = b.Bytes()
	for _, name := range []string{"panel-nose-lid.svg", "section.svg", "bearing.svg"} {
		file := filepath.Join("docs", "img", name)
		if os.Getenv("PANELWRIGHT_UPDATE") != "" {
			if err := os.WriteFile(file, pictures[name], 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if got, err := os.ReadFile(file); err != nil || len(got) == 0 || !bytes.Equal(got, pictures[name]) {
			t.Errorf("%s is not what the example gives now (%v): run PANELWRIGHT_UPDATE=1 go test -run TestReadmePictures .", file, err)
		}
	}
}
