package job

import (
	"cmp"
	"fmt"
	"os"
	"regexp"
	"slices"
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

// boundsTable is the table of every size without a default.
func boundsTable() string {
	var b strings.Builder
	b.WriteString("| key | what | accepted |\n| --- | --- | --- |\n")
	rd := &reader{job: &Job{}}
	for _, k := range Bounds() {
		fmt.Fprintf(&b, "| %s | %s | %s |\n", k.Key, k.What, rd.span(k))
	}
	return b.String()
}

// materialsTable is the table of the embedded materials.
func materialsTable() string {
	var b strings.Builder
	b.WriteString("| id | name | form | family | source status |\n| --- | --- | --- | --- | --- |\n")
	for _, m := range stock.Materials() {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s |\n", m.ID, m.Name, m.Form, m.Family, m.Status)
	}
	return b.String()
}

// sizesTable is the table of drills and gauges: how a size is written, and what the tables hold. Each spelling in it is read.
func sizesTable() string {
	var b strings.Builder
	b.WriteString("| written | what | sizes |\n| --- | --- | --- |\n")
	row := func(written, what, first, last string, least, most float64) {
		fmt.Fprintf(&b, "| `%s` | %s | %s to %s: %s to %s |\n", written, what, first, last, measure.MM(least), measure.MM(most))
	}
	for _, k := range []struct{ series, written, what string }{
		{"number", `"#30"`, "number drills; also `number 30`, `no. 30`"}, {"letter", "letter F", "letter drills"},
		{"fractional", "3/16 in", "fractional drills"}, {"metric", "4.8 mm", "metric drills"},
	} {
		var of []stock.Drill
		for _, d := range stock.Drills() {
			if d.Series == k.series {
				of = append(of, d)
			}
		}
		slices.SortStableFunc(of, func(a, b stock.Drill) int { return cmp.Compare(a.Diameter, b.Diameter) })
		least, most := of[0], of[len(of)-1]
		row(k.written, k.what, least.Name, most.Name, least.Diameter, most.Diameter)
	}
	for _, k := range []struct{ system, written, what string }{
		{"swg", "16 swg", "standard wire gauge"}, {"awg", "18 awg", "aluminium and brass sheet; also `18 ga awg`"}, {"msg", "20 msg", "bare steel sheet"},
		{"stainless", "16 ga stainless", "stainless sheet; also `16 stainless gauge`"}, {"gsg", "18 gsg", "galvanized sheet; also `18 ga galvanized`"},
	} {
		var of []stock.Gauge
		for _, g := range stock.Gauges() {
			if g.System == k.system {
				of = append(of, g)
			}
		}
		slices.SortStableFunc(of, func(a, b stock.Gauge) int { return cmp.Compare(a.Thickness, b.Thickness) })
		least, most := of[0], of[len(of)-1]
		row(k.written, k.what, least.Name, most.Name, least.Thickness, most.Thickness)
	}
	return b.String()
}

// tableIn replaces the table of the document that has the head of want, and complains when it was another.
func tableIn(t *testing.T, doc, want string) string {
	t.Helper()
	head, _, _ := strings.Cut(want, "\n")
	before, rest, ok := strings.Cut(doc, "\n"+head+"\n")
	if !ok {
		t.Fatalf("docs/formats.md has no table %s", head)
	}
	table, after, _ := strings.Cut(rest, "\n\n")
	if got := head + "\n" + table + "\n"; got != want && !*update {
		t.Errorf("a table of docs/formats.md must read (run the test with -update)\n%s", want)
	}
	return before + "\n" + want + "\n" + after
}

// Every spelling of a drill or gauge that the document's table shows is read, to a size within the row's.
func TestSizesRead(t *testing.T) {
	n := 0
	p := measure.Parser{Named: stock.Named}
	for _, m := range regexp.MustCompile("`\"?([^`\"]+)\"?`").FindAllStringSubmatch(sizesTable(), -1) {
		n++
		if q, err := p.Parse(m[1], measure.Length); err != nil || q.Value <= 0 {
			t.Errorf("%s: %v", m[1], err)
		}
	}
	if n < 12 {
		t.Errorf("only %d spellings", n)
	}
}

// The document's table of defaults is the code's, its rules are the code's, and it names every key of the schema.
func TestFormats(t *testing.T) {
	text, err := os.ReadFile(formatsFile)
	if err != nil {
		t.Fatal(err)
	}
	doc := string(text)
	for _, want := range []string{defaultsTable(), boundsTable(), materialsTable(), sizesTable()} {
		doc = tableIn(t, doc, want)
	}
	if *update {
		if err := os.WriteFile(formatsFile, []byte(doc), 0o644); err != nil {
			t.Fatal(err)
		}
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

// Every YAML block in the document reads without faults: a whole job, which begins with job:, or outlines, each of which
// stands in for that of the shortest job.
func TestFormatsExamples(t *testing.T) {
	text, err := os.ReadFile(formatsFile)
	if err != nil {
		t.Fatal(err)
	}
	const lid = `job: { name: lid (sample), units: mm, drills: any size }
panels:
  - name: Lid
    outer: { material: grp_csm30, thickness: 2.5 mm }
    inner: { material: al5754h22, thickness: 1.5 mm }
    supports: [ { rib: [ [ 200, 100 ], [ 400, 100 ] ], width: 36 } ]
`
	jobs, outlines := 0, 0
	for _, m := range regexp.MustCompile("(?s)```yaml\n(.*?)```").FindAllStringSubmatch(string(text), -1) {
		var read []string
		switch {
		case strings.HasPrefix(m[1], "job:"):
			jobs++
			read = []string{m[1]}
		case strings.HasPrefix(m[1], "outline:"):
			for _, o := range strings.Split("\n"+m[1], "\noutline:")[1:] {
				outlines++
				read = append(read, lid+"    outline:"+strings.ReplaceAll(strings.TrimRight(o, "\n"), "\n", "\n    ")+"\n")
			}
		default:
			t.Errorf("a block that no test reads:\n%s", m[1])
		}
		for _, r := range read {
			files := func(name string) ([]byte, error) { // the document's drawings are of any kind
				if name == "nose.dxf" {
					return []byte("0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n90\n4\n70\n1\n10\n0\n20\n0\n10\n600\n20\n0\n10\n600\n20\n400\n10\n0\n20\n400\n0\nENDSEC\n0\nEOF\n"), nil
				}
				return noFiles(name)
			}
			if _, faults := Read("formats.md", []byte(r), files); len(faults) > 0 {
				t.Errorf("%v\n%s", faults, r)
			}
		}
	}
	if jobs == 0 || outlines < 4 {
		t.Errorf("%d jobs and %d outlines read", jobs, outlines)
	}
}

// The days of the calendar, and what is none.
func TestCalendar(t *testing.T) {
	for s, want := range map[string]bool{"2026-05-04": true, "2028-02-29": true, "2000-02-29": true, "2026-02-29": false, "1900-02-29": false, "2026-13-01": false,
		"2026-00-01": false, "2026-04-31": false, "2026-4-3": false, "3 May": false, "0000-01-01": false, "2026/05/04": false, "-026-05-04": false} {
		if calendar(s) != want {
			t.Errorf("%s: %v", s, !want)
		}
	}
}
