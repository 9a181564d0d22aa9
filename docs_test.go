package panelwright

import (
	"encoding/csv"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/setout"
)

const validationFile = "docs/validation.md"

// testFuncs gives every test function of the tree, those of nested modules too, as folder.Name, with its text: comment,
// signature and body.
func testFuncs(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(".", func(file string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && file != "." && (d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".")):
			return filepath.SkipDir
		case !strings.HasSuffix(file, "_test.go"):
			return nil
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, file, text, parser.ParseComments)
		if err != nil {
			return err
		}
		for _, decl := range f.Decls {
			fn, ok := decl.(*ast.FuncDecl)
			if !ok || fn.Recv != nil || !strings.HasPrefix(fn.Name.Name, "Test") || fn.Name.Name == "TestMain" {
				continue
			}
			from := fn.Pos()
			if fn.Doc != nil {
				from = fn.Doc.Pos()
			}
			out[filepath.ToSlash(filepath.Dir(file))+"."+fn.Name.Name] = string(text[fset.Position(from).Offset:fset.Position(fn.End()).Offset])
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// tableRows gives the rows of every table of a document that has the given head, cell by cell.
func tableRows(t *testing.T, file string, head ...string) (rows [][]string) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	inside := false
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		switch {
		case !strings.HasPrefix(line, "|"):
			inside = false
		case slices.Equal(cells, head):
			inside = true
		case inside && !strings.HasPrefix(cells[0], "---"):
			if len(cells) != len(head) {
				t.Fatalf("%s: a row of %d cells under %q: %s", file, len(cells), head, line)
			}
			rows = append(rows, cells)
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no table %q", file, head)
	}
	return rows
}

// validated gives the tests that the tables of docs/validation.md name.
func validated(t *testing.T) map[string]bool {
	t.Helper()
	rows := tableRows(t, validationFile, "what", "source", "status", "test")
	rows = append(rows, tableRows(t, validationFile, "what", "program", "test")...)
	named := map[string]bool{}
	for _, row := range rows {
		for _, name := range strings.Split(row[len(row)-1], ", ") {
			if named[name] {
				t.Errorf("%s names %s twice", validationFile, name)
			}
			named[name] = true
		}
	}
	return named
}

// Every test that docs/validation.md names exists, and every status is one that it explains.
func TestValidationExists(t *testing.T) {
	tests := testFuncs(t)
	for name := range validated(t) {
		if _, ok := tests[name]; !ok {
			t.Errorf("%s names %s, which is no test of the tree", validationFile, name)
		}
	}
	statuses := map[string]bool{}
	for _, row := range tableRows(t, validationFile, "status", "means") {
		statuses[row[0]] = true
	}
	remark := regexp.MustCompile(` \([^)]*\)$`)
	for _, row := range tableRows(t, validationFile, "what", "source", "status", "test") {
		for _, s := range strings.Split(row[2], "; ") {
			if !statuses[remark.ReplaceAllString(s, "")] {
				t.Errorf("%s: %q is none of the statuses that it explains (%s)", validationFile, s, row[0])
			}
		}
		if row[0] == "" || row[1] == "" {
			t.Errorf("%s: a row without subject or source: %q", validationFile, row)
		}
	}
	// The generated table follows the same rules; its own test sees to it that it is up to date.
	for i, row := range tableRows(t, validationFile, "no", "what", "source", "status", "unit", "expected", "got", "differs by", "allowed", "why that much") {
		if !statuses[remark.ReplaceAllString(row[3], "")] {
			t.Errorf("%s: %q is none of the statuses that it explains (%s)", validationFile, row[3], row[1])
		}
		if row[0] != strconv.Itoa(i+1) || slices.Contains(row, "") {
			t.Errorf("%s: row %d of the panel model lacks something: %q", validationFile, i+1, row)
		}
	}
}

// fromOutside finds a test that compares with something outside the program: the status of a value, a standard, a book, or
// the call of a program that is not ours.
var fromOutside = regexp.MustCompile(`\bSEEN\b|\bMEMORY\b|\bCOMPUTED\b|[Cc]ommon practice|[Ff]rom memory|// seen\b` +
	`|\b(ISO|ASME|ASTM|JCGM|NIST|MIL-STD|NAVEDTRA|RFC) ?\d|\bASME [BY]\d|\bAC 43|\bNIST SP|\bShigley\b|\basmey145\b` +
	`|\breader\(t, "|\bneed\(t, "|\bpythonWith\(t, "|\bjsonschema\.`)

// Every test that compares with something outside stands in docs/validation.md.
func TestValidationIsWhole(t *testing.T) {
	named := validated(t)
	n := 0
	for name, text := range testFuncs(t) {
		found := fromOutside.FindString(text)
		if found == "" || strings.HasPrefix(name, ".") { // this package compares with documents of our own
			continue
		}
		n++
		if !named[name] {
			t.Errorf("%s speaks of %q, and has no row in %s: what is compared, source, status", name, found, validationFile)
		}
	}
	if n < 40 {
		t.Errorf("only %d such tests found: the test has lost its eyes", n)
	}
}

var (
	mdLink    = regexp.MustCompile(`!?\[[^\]]*\]\(([^)\s]+)\)`)
	mdCode    = regexp.MustCompile("(?s)```.*?```|`[^`\n]*`")
	mdHeading = regexp.MustCompile(`(?m)^#{1,6} +(.+)$`)
	notSlug   = regexp.MustCompile(`[^\p{L}\p{N} _-]`)
)

// anchors are the names under which a document's headings can be linked to.
func anchors(text string) []string {
	var out []string
	for _, m := range mdHeading.FindAllStringSubmatch(text, -1) {
		out = append(out, strings.ReplaceAll(notSlug.ReplaceAllString(strings.ToLower(strings.TrimSpace(m[1])), ""), " ", "-"))
	}
	return out
}

// Every link of a document to another place of the tree leads somewhere.
func TestDocumentLinks(t *testing.T) {
	n := 0
	err := filepath.WalkDir(".", func(file string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && file != "." && strings.HasPrefix(d.Name(), "."):
			return filepath.SkipDir
		case filepath.Ext(file) != ".md":
			return nil
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		for _, m := range mdLink.FindAllStringSubmatch(mdCode.ReplaceAllString(string(text), ""), -1) {
			n++
			checkLink(t, file, string(text), m[1])
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if n < 15 {
		t.Errorf("only %d links found: the test has lost its eyes", n)
	}
}

func checkLink(t *testing.T, file, text, link string) {
	t.Helper()
	u, err := url.Parse(link)
	if err != nil {
		t.Errorf("%s: link %s: %v", file, link, err)
		return
	}
	if u.Scheme != "" { // the world's, which a test may not ask
		return
	}
	if u.Path != "" {
		target := path.Join(path.Dir(filepath.ToSlash(file)), u.Path)
		info, err := os.Stat(target)
		if err != nil || strings.HasPrefix(u.Path, "/") || strings.HasPrefix(target, "../") {
			t.Errorf("%s: the link %s leads nowhere in the tree", file, link)
			return
		}
		if u.Fragment == "" || info.IsDir() {
			return
		}
		other, err := os.ReadFile(target)
		if err != nil {
			t.Error(err)
			return
		}
		text = string(other)
	}
	if u.Fragment != "" && !slices.Contains(anchors(text), u.Fragment) {
		t.Errorf("%s: the link %s names no heading", file, link)
	}
}

// docs/formats-pack.md names every file of a pack, and every column of its tables in order.
func TestPackDocument(t *testing.T) {
	const file = "docs/formats-pack.md"
	var named []string
	for _, row := range tableRows(t, file, "file", "for", "holds") {
		named = append(named, strings.Trim(row[0], "`"))
	}
	var files []string
	fixed, err := packFiles(&setout.Plan{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range fixed {
		files = append(files, f.name)
	}
	files = append(files, "card-….html", "panel-….svg", "cut-….dxf", "cut-….svg", "jig-….dxf", "jig-….stl", "jig-….3mf", manifestName)
	slices.Sort(files)
	slices.Sort(named)
	if !slices.Equal(named, files) {
		t.Errorf("%s names the files %q, a pack has %q", file, named, files)
	}
	var columns, want []string
	for _, row := range tableRows(t, file, "column", "unit", "holds") {
		columns = append(columns, strings.Trim(row[0], "`"))
	}
	for _, golden := range []string{"internal/report/testdata/order.csv", "internal/report/testdata/holes.csv", "internal/report/testdata/forces.csv", "internal/report/testdata/gaps.csv"} {
		f, err := os.Open(golden)
		if err != nil {
			t.Fatal(err)
		}
		header, err := csv.NewReader(f).Read()
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		want = append(want, header...)
	}
	if !slices.Equal(columns, want) {
		t.Errorf("%s has the columns\n%q, the tables have\n%q", file, columns, want)
	}
}
