package job

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"panelwright/internal/measure"
	"panelwright/internal/stock"
)

const formatsFile = "../../docs/formats.md"

// defaultsTable is the table of docs/formats.md: every number that a job may leave out.
func defaultsTable() string {
	var b strings.Builder
	b.WriteString("| key | what | default | accepted | source |\n| --- | --- | --- | --- | --- |\n")
	show := func(v float64, d measure.Dimension) string { return measure.Show(v, d) }
	for _, d := range Defaults() {
		key := strings.ReplaceAll(d.Key, ".", " · ")
		fmt.Fprintf(&b, "| %s | %s | %s | %s to %s | %s |\n", key, d.What, show(d.Value, d.Dim), show(d.Least, d.Dim), show(d.Most, d.Dim), d.Source)
	}
	return b.String()
}

// The document's table of defaults is the code's, its rules are the code's, and it names every key of the schema.
func TestFormats(t *testing.T) {
	text, err := os.ReadFile(formatsFile)
	if err != nil {
		t.Fatal(err)
	}
	doc := string(text)
	if want := defaultsTable(); !strings.Contains(doc, want) {
		t.Errorf("the table of defaults in docs/formats.md must read\n%s", want)
	}
	for path, keys := range schemaKeys(t) {
		for _, k := range keys {
			if !strings.Contains(doc, "`"+k+"`") && !strings.Contains(doc, k+":") && !strings.Contains(doc, "· "+k+" |") {
				t.Errorf("docs/formats.md does not name the key %q of %q", k, path)
			}
		}
	}
	for _, h := range Hazards {
		if !strings.Contains(doc, h) {
			t.Errorf("docs/formats.md does not name the hazard %q", h)
		}
	}
	for _, v := range []float64{cpOutsideDefault, cpInsideDefault, 100 * spreadShare(stock.GlassFibre), 100 * spreadShare(stock.Steel), 100 * spreadShare(stock.Seal)} {
		if !strings.Contains(doc, strings.ReplaceAll(fmt.Sprint(v), "-", "−")) {
			t.Errorf("docs/formats.md does not give %g", v)
		}
	}
}

// Each whole example in the document, a YAML block that begins with job:, reads without faults.
func TestFormatsExamples(t *testing.T) {
	text, err := os.ReadFile(formatsFile)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, m := range regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(string(text), -1) {
		if !strings.HasPrefix(m[1], "job:") {
			continue
		}
		n++
		if _, faults := Read("formats.md", []byte(m[1]), noFiles); len(faults) > 0 {
			t.Errorf("%v", faults)
		}
	}
	if n == 0 {
		t.Error("no example of a whole job")
	}
}
