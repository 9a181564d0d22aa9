package job

import (
	"errors"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/fault"
)

var update = flag.Bool("update", false, "write the expected messages anew; then read them")

const faultsDir = "../../testdata/faults"

// noFiles is an open that finds nothing.
func noFiles(string) ([]byte, error) { return nil, fs.ErrNotExist }

func faultFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob(faultsDir + "/*.yaml")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d fault files, %v: want at least 40", len(files), err)
	}
	return files
}

// ruleOf is the rule that a fault file is for: its name is number-rule, or number-rule-variant.
func ruleOf(file string, rules []string) string {
	name := strings.TrimSuffix(filepath.Base(file), ".yaml")
	_, name, _ = strings.Cut(name, "-")
	best := ""
	for _, r := range rules {
		if (name == r || strings.HasPrefix(name, r+"-")) && len(r) > len(best) {
			best = r
		}
	}
	return best
}

// Every bad job file gives its whole expected message, and every rule that reading a job can emit has a file.
func TestFaultFiles(t *testing.T) {
	rules := emitted(t)
	covered := map[string]bool{}
	for _, file := range faultFiles(t) {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".yaml"), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			_, faults := Read(filepath.Base(file), text, noFiles)
			rule := ruleOf(file, rules)
			seen := map[string]bool{}
			for _, f := range faults {
				seen[f.Rule] = true
				checkFault(t, f)
			}
			seven := strings.HasSuffix(file, "seven.yaml")
			switch {
			case seven && (len(faults) != 7 || len(seen) != 7):
				t.Errorf("%d faults of %d rules, want seven of each", len(faults), len(seen))
			case !seven && (!seen[rule] || len(seen) != 1):
				t.Errorf("reports %v, want %q alone", seen, rule)
			}
			covered[rule] = true
			compare(t, strings.TrimSuffix(file, ".yaml")+".txt", faults.Error()+"\n")
		})
	}
	for _, r := range rules {
		if !covered[r] {
			t.Errorf("rule %s has no file in testdata/faults", r)
		}
	}
}

// checkFault demands of each fault what a message needs: a place, a rule, what is accepted or a way out.
func checkFault(t *testing.T, f fault.Fault) {
	t.Helper()
	if f.Pos.File == "" || f.Pos.Line < 1 || f.Pos.Col < 1 {
		t.Errorf("no place: %v", f)
	}
	if f.Rule == "" || f.Text == "" || f.Hint == "" && !strings.Contains(f.Text, "accepted: ") {
		t.Errorf("says no way out: %v", f)
	}
}

func compare(t *testing.T, golden, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if errors.Is(err, fs.ErrNotExist) {
		t.Fatalf("no %s; run the test with -update and read what it writes", golden)
	} else if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("reports\n%swant\n%s", got, want)
	}
}

// ruleArgument says which argument of a call is a rule, by the called name.
var ruleArgument = map[string]int{"Fault": 1, "FaultAt": 2, "fault": 3, "refuse": 2, "add": 1}

// emitted lists every rule that the code of job, source and measure can emit, read from the code itself.
func emitted(t *testing.T) []string {
	t.Helper()
	found := map[string]bool{}
	for _, r := range Rules() {
		found[r] = true
	}
	for _, dir := range []string{".", "../source", "../measure"} {
		files, err := filepath.Glob(dir + "/*.go")
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(f, func(n ast.Node) bool {
				ruleIn(n, found)
				return true
			})
		}
	}
	var out []string
	for r := range found {
		out = append(out, r)
	}
	slices.Sort(out)
	return out
}

// ruleIn collects the rule of a call that reports a fault, and of a constant named Rule….
func ruleIn(n ast.Node, found map[string]bool) {
	var lit ast.Expr
	switch n := n.(type) {
	case *ast.CallExpr:
		name := ""
		switch fun := n.Fun.(type) {
		case *ast.SelectorExpr:
			name = fun.Sel.Name
		case *ast.Ident:
			name = fun.Name
		}
		if i, ok := ruleArgument[name]; ok && i < len(n.Args) {
			lit = n.Args[i]
		}
	case *ast.ValueSpec:
		if len(n.Names) == 1 && strings.HasPrefix(n.Names[0].Name, "Rule") && len(n.Values) == 1 {
			lit = n.Values[0]
		}
	}
	if l, ok := lit.(*ast.BasicLit); ok && l.Kind == token.STRING {
		if s, err := strconv.Unquote(l.Value); err == nil && s != "" && !strings.ContainsAny(s, " .") {
			found[s] = true
		}
	}
}

// Rules lists the constants, each once.
func TestRulesListed(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "rules.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	constants := map[string]bool{}
	ast.Inspect(f, func(n ast.Node) bool {
		if _, ok := n.(*ast.FuncDecl); ok {
			return false
		}
		ruleIn(n, constants)
		return true
	})
	listed := Rules()
	slices.Sort(listed)
	if n := len(listed); n != len(slices.Compact(listed)) || n != len(constants) {
		t.Errorf("Rules lists %d, the constants are %d", n, len(constants))
	}
	for _, r := range listed {
		if !constants[r] {
			t.Errorf("%s is no constant", r)
		}
	}
}
