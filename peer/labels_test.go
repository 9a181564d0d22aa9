package peer

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// labelPlan is what plan.json says of what labels carry.
type labelPlan struct {
	Job    struct{ Name, Date string }
	Panels []struct {
		Name, ID string
		Quantity int
		Stations []struct{}
		Choices  []struct{ Stud, Receptacle string }
	}
}

// wantLabels words the labels once more, from plan.json.
func wantLabels(t *testing.T, dir string) []string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "plan.json"))
	if err != nil {
		t.Fatal(err)
	}
	var p labelPlan
	if err := json.Unmarshal(text, &p); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, panel := range p.Panels {
		var studs, receptacles []string
		for _, c := range panel.Choices {
			if !slices.Contains(studs, c.Stud) {
				studs = append(studs, c.Stud)
			}
			if !slices.Contains(receptacles, c.Receptacle) {
				receptacles = append(receptacles, c.Receptacle)
			}
		}
		for piece := range panel.Quantity {
			out = append(out, fmt.Sprintf("%s\nid %s, piece %d of %d\n%s\n%s, %d stations\nstud %s\nreceptacle %s", panel.Name, panel.ID, piece+1, panel.Quantity,
				p.Job.Name, p.Job.Date, len(panel.Stations), strings.Join(studs, ", "), strings.Join(receptacles, ", ")))
		}
	}
	slices.Sort(out)
	return out
}

// labelPages renders labels.pdf at 200 dpi.
func labelPages(t *testing.T, dir string) (to string, pages []string) {
	t.Helper()
	to = t.TempDir()
	must(t, to, "pdftoppm", "-r", "200", "-gray", "-png", filepath.Join(dir, "labels.pdf"), "page")
	pages, err := filepath.Glob(filepath.Join(to, "page*.png"))
	if err != nil || len(pages) == 0 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	return to, pages
}

// readCodes has zbarimg read every code of labels.pdf, sorted.
func readCodes(t *testing.T, dir string) []string {
	t.Helper()
	to, pages := labelPages(t, dir)
	out := must(t, to, "zbarimg", append([]string{"--quiet", "--xml"}, pages...)...)
	var doc struct {
		Symbols []struct {
			Type string `xml:"type,attr"`
			Data string `xml:"data"`
		} `xml:"source>index>symbol"`
	}
	if err := xml.Unmarshal(out, &doc); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var codes []string
	for _, s := range doc.Symbols {
		if s.Type != "QR-Code" {
			t.Errorf("a symbol of type %s", s.Type)
		}
		codes = append(codes, s.Data)
	}
	slices.Sort(codes)
	return codes
}

// Every code of the rendered page reads back as exactly the panel's words.
func TestLabelsReadBack(t *testing.T) {
	need(t, "pdftoppm", "zbarimg")
	eachPack(t, func(t *testing.T, p pack) {
		got, want := readCodes(t, p.dir), wantLabels(t, p.dir)
		if !slices.Equal(got, want) {
			t.Errorf("the codes read\n%q\nwant\n%q", got, want)
		}
	})
}

// readCode reads the only code of labels.pdf. zbarimg 0.23 garbles other letters than ASCII in its XML, not in its raw text,
// which in turn does not tell where one code ends.
func readCode(t *testing.T, dir string) string {
	t.Helper()
	to, pages := labelPages(t, dir)
	return strings.TrimSuffix(string(must(t, to, "zbarimg", "--quiet", "--raw", pages[0])), "\n")
}

// Names with letters of other tongues read back whole; a record address reads back with the panel's id in its place.
func TestLabelsOtherLetters(t *testing.T) {
	need(t, "pdftoppm", "zbarimg")
	text, err := os.ReadFile("../examples/02-launch/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	const name = "Harbour launch, engine hatch (sample)"
	plan := func(change string) string {
		dir := t.TempDir()
		job := filepath.Join(dir, "job.yaml")
		altered := strings.Replace(string(text), name, change, 1)
		if altered == string(text) {
			t.Fatalf("the example has no %q", name)
		}
		if err := os.WriteFile(job, []byte(altered), 0o644); err != nil {
			t.Fatal(err)
		}
		must(t, "..", "go", "run", "./cmd/panelwright", "plan", job, "--out", filepath.Join(dir, "pack"))
		return filepath.Join(dir, "pack")
	}
	dir := plan("Bärenboot «Żółw» Łódź 3 µm (sample)")
	if got, want := readCode(t, dir), wantLabels(t, dir); got != want[0] || !strings.Contains(got, "Żółw") {
		t.Errorf("the code reads %q, want %q", got, want)
	}
	dir = plan(name + "\n  record address: https://bench.example/r/{panel}?piece={piece}&from=label")
	if got, want := readCode(t, dir), "https://bench.example/r/engine-hatch?piece=1&from=label"; got != want {
		t.Errorf("the code reads %q, want %q", got, want)
	}
}
