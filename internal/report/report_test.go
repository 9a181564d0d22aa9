package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/detail"
	"panelwright/internal/exampleplan"
	"panelwright/internal/setout"
	"panelwright/internal/worked"
)

var update = flag.Bool("update", false, "write the golden files anew")

// settled is the hand-made lid with its holes and checks.
func settled() *setout.Plan {
	p := decided.Plan(worked.Job())
	detail.Holes(p)
	detail.Checks(p)
	setout.Finish(p)
	return p
}

func text(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// The tables as a reader sees them.
func TestTablesGolden(t *testing.T) {
	p := settled()
	for name, got := range map[string]string{
		"holes.csv": text(t, func(w io.Writer) error { return HolesCSV(w, p) }),
		"order.csv": text(t, func(w io.Writer) error { return OrderCSV(w, p) }),
	} {
		file := filepath.Join("testdata", name)
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil || got != string(want) {
			t.Errorf("%s differs from its golden file (%v): look at the difference, then go test -update", name, err)
		}
	}
}

// Every hole of the plan has one row, at its place to 0.001 mm, and the order's total is the sum of its rows.
func TestTablesOfExamples(t *testing.T) {
	for name, p := range exampleplan.All(t, "../..") {
		rows, err := csv.NewReader(strings.NewReader(text(t, func(w io.Writer) error { return HolesCSV(w, p) }))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		n := 1
		for _, pan := range p.Panels {
			for _, h := range pan.Holes {
				x, _ := strconv.ParseFloat(rows[n][7], 64)
				y, _ := strconv.ParseFloat(rows[n][8], 64)
				if d := max(x-h.At.X, h.At.X-x, y-h.At.Y, h.At.Y-y); d > 0.00051 || rows[n][0] != pan.Job.Name || rows[n][3] != h.Station {
					t.Fatalf("%s: row %d is %v for hole %d of %s", name, n, rows[n], h.No, pan.Job.Name)
				}
				n++
			}
		}
		if n != len(rows) {
			t.Errorf("%s: %d rows for %d holes", name, len(rows)-1, n-1)
		}
		rows, err = csv.NewReader(strings.NewReader(text(t, func(w io.Writer) error { return OrderCSV(w, p) }))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, r := range rows[1 : len(rows)-1] {
			v, err := strconv.ParseFloat(r[8], 64)
			if err != nil {
				t.Error(err)
			}
			sum += v
		}
		if total, _ := strconv.ParseFloat(rows[len(rows)-1][8], 64); total-sum > 0.005*float64(len(rows)) || sum-total > 0.005*float64(len(rows)) {
			t.Errorf("%s: the order's rows sum to %.2f, its total is %.2f", name, sum, total)
		}
	}
}

// The page stands alone, and what the user wrote is text, never markup.
func TestPageIsSelfContained(t *testing.T) {
	p := settled()
	p.Job.Name = `<script>alert("x")</script> & Söhne`
	p.Panels[0].Job.Name = `<b>lid</b>`
	page := text(t, func(w io.Writer) error { return HTML(w, p) })
	for _, bad := range []string{"<script", "<b>lid", "<link", "<img", "url(", "http-equiv", "ZgotmplZ"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page contains %q", bad)
		}
	}
	for _, m := range regexp.MustCompile(`https?://[^"' )]+`).FindAllString(page, -1) {
		if m != "http://www.w3.org/2000/svg" {
			t.Errorf("the page names %s", m)
		}
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		if ids[m[1]] {
			t.Errorf("id %s stands twice", m[1])
		}
		ids[m[1]] = true
	}
}

// A panel where nothing fits still has its page, its JSON and its tables, and says so.
func TestNothingFits(t *testing.T) {
	p := settled()
	pan := p.Panels[0]
	pan.Choices, pan.Holes, pan.Joins, pan.DropOn = nil, nil, nil, nil
	pan.Faults = []string{"nothing fits: 3.2 mm too tight"}
	for _, st := range pan.Stations {
		st.Choice, st.Close, st.Stack, st.Checks = nil, setout.Closing{}, setout.StackSum{}, nil
	}
	p.Order = nil
	page := text(t, func(w io.Writer) error { return HTML(w, p) })
	if !strings.Contains(page, "3.2 mm too tight") || !strings.Contains(page, "nothing fits") {
		t.Error("the page does not say that nothing fits")
	}
	doc := text(t, func(w io.Writer) error { return PlanJSON(w, p, "test") })
	var plan struct {
		Panels []struct {
			Stations []struct {
				Choice *int `json:"choice"`
			} `json:"stations"`
		} `json:"panels"`
		Faults []struct{ Text string } `json:"faults"`
	}
	if err := json.Unmarshal([]byte(doc), &plan); err != nil || len(plan.Faults) != 1 || plan.Panels[0].Stations[0].Choice != nil {
		t.Errorf("%v: %+v", err, plan)
	}
}

// A worse check is one that fails, then one that is not known, then the least margin.
func TestWorse(t *testing.T) {
	mk := func(v setout.Verdict, m float64) setout.Check { return setout.Check{Verdict: v, Margin: m} }
	order := []setout.Check{mk(setout.DoesNotHold, -2), mk(setout.DoesNotHold, -1), mk(setout.NotKnown, 0), mk(setout.Holds, 0.1), mk(setout.Holds, 3)}
	for i := range order {
		for k := range order {
			if got := Worse(order[i], order[k]); got != (i < k) {
				t.Errorf("%+v before %+v: %v", order[i], order[k], got)
			}
		}
	}
}

func BenchmarkHTML(b *testing.B) {
	p := settled()
	b.ReportAllocs()
	for b.Loop() {
		if err := HTML(io.Discard, p); err != nil {
			b.Fatal(err)
		}
	}
}
