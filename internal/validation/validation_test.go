package validation

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the generated table into docs/validation.md")

const (
	file  = "../../docs/validation.md"
	begin = "<!-- generated: the panel model; go test ./internal/validation -update -->\n"
	end   = "<!-- end of what is generated -->\n"
)

// The panel model against books, benchmark lists and outside programs: every row inside its allowance, and the table in
// docs/validation.md up to date.
func TestPanelModel(t *testing.T) {
	rows := Rows()
	sources := map[string]bool{}
	for i, r := range rows {
		if !(r.Off() <= 1) {
			t.Errorf("row %d, %s: got %.6g, expected %.6g, off by %.3g times the allowance", i+1, r.What, r.Got, r.Expected, r.Off())
		}
		if r.Source == "" || r.Reason == "" || r.Status == "" {
			t.Errorf("row %d, %s: lacks source, status or reason", i+1, r.What)
		}
		sources[r.Source] = true
	}
	if len(rows) < 35 || len(sources) < 8 {
		t.Errorf("%d rows from %d sources", len(rows), len(sources))
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(text), begin)
	_, after, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatalf("%s lacks the marks of the generated part", file)
	}
	want := before + begin + fmt.Sprintf("\n%d figures from %d sources. Lengths without a unit are coefficients.\n\n", len(rows), len(sources)) + Table(rows) + "\n" + end + after
	if want == string(text) {
		return
	}
	if !*update {
		t.Fatalf("%s is stale: go test ./internal/validation -update", file)
	}
	if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
		t.Fatal(err)
	}
}

// A row outside its allowance is told from one inside it, whichever way the allowance is stated.
func TestRowOff(t *testing.T) {
	for _, c := range []struct {
		r  Row
		in bool
	}{
		{Row{Expected: 2, Got: 2.01, Allow: 0.01}, true}, {Row{Expected: 2, Got: 2.03, Allow: 0.01}, false}, {Row{Expected: -2, Got: -2.03, Allow: 0.01}, false},
		{Row{Expected: 0.01, Got: 0.012, AllowAbs: 0.003}, true}, {Row{Expected: 0.01, Got: 0.02, AllowAbs: 0.003}, false},
	} {
		if got := c.r.Off() <= 1; got != c.in {
			t.Errorf("%+v: inside %v", c.r, got)
		}
	}
}

func BenchmarkRows(b *testing.B) {
	for b.Loop() {
		Rows()
	}
}
