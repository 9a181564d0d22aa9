package panelwright

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// mayImport is the import table of docs/architecture.md: who may import whom, inside the module and outside it. The
// standard library is free, except for what forbidden lists. Tests may import more.
//
// worked, decided, exampleplan, outside and validation serve tests: no row of another package names them.
var mayImport = map[string][]string{
	"internal/fault":       {},
	"internal/measure":     {},
	"internal/plane":       {},
	"internal/survey":      {"internal/plane"},
	"internal/spread":      {"gonum.org/v1/gonum"},
	"internal/source":      {"internal/fault", "internal/measure", "github.com/goccy/go-yaml"},
	"internal/sheet":       {"internal/plane", "codeberg.org/go-pdf/fpdf", "golang.org/x/image"},
	"internal/stock":       {"internal/fault", "internal/measure", "internal/plane", "internal/source", "embed"},
	"internal/edit":        {"internal/fault", "internal/source"},
	"internal/form":        {"internal/edit", "internal/fault", "internal/job", "internal/measure", "internal/stock"},
	"internal/grip":        {"internal/stock", "internal/spread"},
	"internal/outline":     {"internal/plane"},
	"internal/job":         {"internal/outline", "internal/fault", "internal/measure", "internal/plane", "internal/stock", "internal/source", "internal/survey"},
	"internal/mesh":        {"internal/plane"},
	"internal/sparse":      {},
	"internal/plate":       {"internal/mesh", "internal/plane", "internal/sparse"},
	"internal/solid":       {"internal/mesh", "internal/plane"},
	"internal/shell":       {"internal/mesh", "internal/plane", "internal/plate", "internal/sparse"},
	"internal/setout":      {"internal/fault", "internal/grip", "internal/job", "internal/measure", "internal/plane", "internal/spread", "internal/stock"},
	"internal/bearing":     {"internal/job", "internal/measure", "internal/mesh", "internal/plane", "internal/plate", "internal/setout", "internal/stock"},
	"internal/detail":      {"internal/job", "internal/measure", "internal/plane", "internal/setout", "internal/spread", "internal/stock"},
	"internal/judge":       {"internal/job", "internal/plane", "internal/setout", "internal/spread", "internal/stock"},
	"internal/worked":      {"internal/job", "internal/plane", "internal/stock"},
	"internal/outside":     {},
	"internal/decided":     {"internal/grip", "internal/job", "internal/plane", "internal/setout", "internal/stock"},
	"internal/validation":  {"internal/mesh", "internal/plane", "internal/plate", "internal/sparse"},
	"internal/exampleplan": {"internal/bearing", "internal/detail", "internal/job", "internal/setout"},
	"internal/book":        {"modernc.org/sqlite"},
	// What is timed against outside programs, by a script.
	"scripts/speed":        {},
	"scripts/speed/factor": {"internal/mesh", "internal/plane", "internal/plate", "internal/sparse"},
	"scripts/speed/flange": {"internal/mesh", "internal/plane", "internal/plate"},
	"scripts/speed/panel":  {"internal/mesh", "internal/plane", "internal/plate", "internal/sparse"},
	"scripts/killbook":     {"internal/book"},
	"scripts/killbench":    {"internal/book"},
	"scripts/load":         {},
	// What is shown.
	"internal/contour": {"internal/plane"},
	"internal/tile":    {"internal/plane"},
	"internal/drawing": {"internal/contour", "internal/job", "internal/measure", "internal/plane", "internal/setout", "internal/sheet", "internal/stock", "internal/tile"},
	"internal/report":  {"internal/drawing", "internal/measure", "internal/plane", "internal/setout", "internal/sheet", "internal/stock", "embed"},
	"internal/jig":     {"internal/drawing", "internal/measure", "internal/plane", "internal/setout", "internal/sheet", "internal/solid", "internal/stock"},
	"internal/marking": {"internal/drawing", "internal/job", "internal/measure", "internal/plane", "internal/setout", "internal/sheet", "internal/stock",
		"github.com/piglig/go-qr"},
	"internal/card": {"internal/drawing", "internal/jig", "internal/job", "internal/measure", "internal/plane", "internal/report", "internal/setout", "internal/sheet",
		"internal/stock", "embed"},
	"internal/web": {".", "internal/book", "internal/card", "internal/drawing", "internal/edit", "internal/fault", "internal/form", "internal/job", "internal/measure", "internal/plane",
		"internal/report", "internal/setout", "internal/sheet", "internal/stock", "embed"},
	".": {"internal/bearing", "internal/card", "internal/jig", "internal/marking", "internal/report", "internal/detail", "internal/drawing", "internal/fault", "internal/job", "internal/judge", "internal/setout", "internal/sheet", "internal/stock",
		"golang.org/x/sys"},
	"cmd/panelwright": {".", "internal/book", "internal/web", "internal/fault", "internal/job", "internal/measure", "internal/setout", "internal/stock",
		"github.com/piglig/go-qr", "github.com/spf13/cobra", "golang.org/x/term"},
}

// worldly are the standard packages that reach files, networks, clocks or hidden state. No package under internal but those
// of mayReach may import them: kernels and drawings take bytes and give bytes.
var worldly = []string{"os", "net", "net/http", "log", "log/slog", "time", "math/rand", "os/exec", "syscall"}

// mayReach are the few packages under internal that exist to reach something, and what.
var mayReach = map[string][]string{
	"internal/exampleplan": worldly,
	"internal/outside":     {"os", "os/exec"},           // runs other programs, for tests
	"internal/book":        {"os", "syscall"},           // the book is a file; no clock
	"internal/web":         {"net", "net/http", "time"}, // pages over a network; no files
}

func TestImports(t *testing.T) {
	seen := map[string]bool{}
	eachGoFile(t, func(path string) {
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		dir := filepath.ToSlash(filepath.Dir(path))
		allowed, ok := mayImport[dir]
		if !ok {
			t.Errorf("%s: package %s is not in the import table", path, dir)
			return
		}
		seen[dir] = true
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		for _, imp := range f.Imports {
			name, _ := strconv.Unquote(imp.Path.Value)
			checkImport(t, path, dir, name, allowed)
		}
	})
	for dir := range mayImport {
		if !seen[dir] {
			t.Errorf("the import table names %s, which has no code", dir)
		}
	}
}

func checkImport(t *testing.T, path, dir, name string, allowed []string) {
	t.Helper()
	switch {
	case name == "panelwright":
		name = "."
	case strings.HasPrefix(name, "panelwright/"):
		name = strings.TrimPrefix(name, "panelwright/")
	case name == "C":
		t.Errorf("%s: cgo", path)
	case !strings.Contains(strings.Split(name, "/")[0], "."): // standard library
		if strings.HasPrefix(dir, "internal/") && slices.Contains(worldly, name) && !slices.Contains(mayReach[dir], name) {
			t.Errorf("%s: imports %q: packages under internal know no files, clocks or networks", path, name)
		}
		if name == "embed" && !slices.Contains(allowed, "embed") && dir != "internal/sheet" {
			t.Errorf("%s: %s may not embed", path, dir)
		}
		return
	}
	if !slices.ContainsFunc(allowed, func(a string) bool { return name == a || a != "." && strings.HasPrefix(name, a+"/") }) {
		t.Errorf("%s: %s may not import %q", path, dir, name)
	}
}

// eachGoFile calls f with every Go file of the module but those of nested modules and testdata.
func eachGoFile(t *testing.T, f func(path string)) {
	t.Helper()
	err := filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != "." && (d.Name() == "testdata" || d.Name() == "peer" || strings.HasPrefix(d.Name(), ".")):
			return filepath.SkipDir
		case strings.HasSuffix(path, ".go"):
			f(path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
