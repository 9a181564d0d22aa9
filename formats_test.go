package panelwright

import (
	"context"
	"os"
	"strings"
	"testing"

	"panelwright/internal/job"
)

// yamlBlock is the first YAML block of a document that begins with want.
func yamlBlock(t *testing.T, file, want string) string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range strings.Split(string(text), "```yaml\n")[1:] {
		if block, _, ok := strings.Cut(b, "```"); ok && strings.HasPrefix(block, want) {
			return block
		}
	}
	t.Fatalf("%s has no block %s", file, want)
	return ""
}

// The shortest job of the document plans, with the embedded range and with the range of the document: an answer, and a
// judge who agrees.
func TestDocumentsPlan(t *testing.T) {
	short, shop := yamlBlock(t, "docs/formats.md", "job:"), yamlBlock(t, "docs/formats-range.md", "range:")
	for _, text := range []string{short, strings.Replace(short, "  units: mm\n", "  units: mm\n  range: parts/shop.yaml\n", 1)} {
		j, faults := job.Read("job.yaml", []byte(text), func(name string) ([]byte, error) {
			if name != "parts/shop.yaml" {
				t.Errorf("asks for %s", name)
			}
			return []byte(shop), nil
		})
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		p, err := Plan(context.Background(), j, nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Judge) > 0 {
			t.Errorf("range %s: the judge says %v", j.RangeName, p.Judge)
		}
		if c := Tally(p); c.Faults > 0 || c.Holds == 0 {
			t.Errorf("range %s: %+v", j.RangeName, c)
		}
		if !Tally(p).NothingFails() {
			t.Errorf("range %s: something does not hold", j.RangeName)
		}
	}
}
