package stock

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"panelwright/internal/measure"
)

// The format's page has an example that reads, and names every key that the sample range and that example use.
func TestFormatPage(t *testing.T) {
	text, err := os.ReadFile("../../docs/formats-range.md")
	if err != nil {
		t.Fatal(err)
	}
	page := string(text)
	_, rest, _ := strings.Cut(page, "```yaml\n")
	example, prose, ok := strings.Cut(rest, "```\n")
	if !ok {
		t.Fatal("no example on the page")
	}
	r, faults := ReadRange("example.yaml", []byte(example))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	if _, ok := r.ReceptacleByID("box-4.6"); !ok || len(r.Plates[0].RivetIDs) != 2 {
		t.Errorf("%+v", r)
	}
	table := "| what | accepted |\n| --- | --- |\n"
	for _, s := range SaneLimits() {
		table += fmt.Sprintf("| %s | at most %s |\n", s.What, measure.Show(s.Most, s.Dim))
	}
	if !strings.Contains(page, "\n"+table+"\n") {
		t.Errorf("the page's table of limits must read\n%s", table)
	}
	key := regexp.MustCompile(`(?m)(?:^\s*(?:- )?|[{,] )([a-z][a-z -]*[a-z]|id|at):(?: |$)`)
	seen := map[string]bool{}
	for _, m := range key.FindAllStringSubmatch(string(SampleText())+example, -1) {
		seen[m[1]] = true
	}
	if len(seen) < 50 {
		t.Errorf("only %d keys found: the test has lost its eyes", len(seen))
	}
	for k := range seen {
		if !regexp.MustCompile("`"+regexp.QuoteMeta(k)+"[:`]").MatchString(prose) && !strings.Contains(prose, "## "+k+"\n") {
			t.Errorf("the page does not explain %q", k)
		}
	}
}
