package panelwright

import (
	"bytes"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The house style, as far as a program can see it. Limits count lines.
const (
	fileLinesMax    = 450
	funcLinesMax    = 75
	packageLinesMax = 5000
)

var unwantedPackages = []string{"util", "utils", "common", "types", "model", "models", "helpers", "helper", "misc"}

// notOurs finds words that must not stand in the tree: paths of one machine, and work that is not done.
var notOurs = regexp.MustCompile(`/wor` + `k/|/roo` + `t/|\bTO` + `DO\b|\bFIX` + `ME\b|\bXX` + `X\b`)

func TestTidy(t *testing.T) {
	lines := map[string]int{}
	eachGoFile(t, func(path string) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if want, err := format.Source(text); err != nil || !bytes.Equal(text, want) {
			t.Errorf("%s: gofmt would change it", path)
		}
		if m := notOurs.Find(text); m != nil {
			t.Errorf("%s: has %q", path, m)
		}
		fset := token.NewFileSet()
		f, err := parser.ParseFile(fset, path, text, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		if slices.Contains(unwantedPackages, f.Name.Name) {
			t.Errorf("%s: a package named %s says nothing", path, f.Name.Name)
		}
		n := fset.Position(f.FileEnd).Line
		if strings.HasSuffix(path, "_test.go") {
			return
		}
		lines[filepath.Dir(path)] += n
		if n > fileLinesMax {
			t.Errorf("%s: %d lines, at most %d: cut it where its facts differ", path, n, fileLinesMax)
		}
		tidyDecls(t, fset, f)
	})
	for dir, n := range lines {
		if n > packageLinesMax {
			t.Errorf("%s: %d lines, at most %d", dir, n, packageLinesMax)
		}
	}
}

// tidyDecls checks the length of functions, and that everything exported says what it is.
func tidyDecls(t *testing.T, fset *token.FileSet, f *ast.File) {
	t.Helper()
	for _, d := range f.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			at := fset.Position(d.Pos())
			if n := fset.Position(d.End()).Line - at.Line + 1; n > funcLinesMax {
				t.Errorf("%s: %s has %d lines, at most %d", at, d.Name.Name, n, funcLinesMax)
			}
			if d.Name.IsExported() && d.Doc == nil && (d.Recv == nil || exportedReceiver(d.Recv)) {
				t.Errorf("%s: %s has no comment", at, d.Name.Name)
			}
		case *ast.GenDecl:
			tidyGen(t, fset, d)
		}
	}
}

func tidyGen(t *testing.T, fset *token.FileSet, d *ast.GenDecl) {
	t.Helper()
	for _, s := range d.Specs {
		var names []*ast.Ident
		var doc, line *ast.CommentGroup
		switch s := s.(type) {
		case *ast.TypeSpec:
			names, doc, line = []*ast.Ident{s.Name}, s.Doc, s.Comment
		case *ast.ValueSpec:
			names, doc, line = s.Names, s.Doc, s.Comment
		}
		for _, n := range names {
			if n.IsExported() && d.Doc == nil && doc == nil && line == nil {
				t.Errorf("%s: %s has no comment", fset.Position(n.Pos()), n.Name)
			}
		}
	}
}

func exportedReceiver(r *ast.FieldList) bool {
	typ := r.List[0].Type
	if star, ok := typ.(*ast.StarExpr); ok {
		typ = star.X
	}
	id, ok := typ.(*ast.Ident)
	return ok && id.IsExported()
}

// A key in brackets in a comment, such as [timoshenko59, art. 30], must stand in docs/references.bib.
func TestReferences(t *testing.T) {
	bib, err := os.ReadFile("docs/references.bib")
	if err != nil {
		t.Fatal(err)
	}
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^@\w+\{([a-z0-9-]+),`).FindAllSubmatch(bib, -1) {
		known[string(m[1])] = true
	}
	key := regexp.MustCompile(`\[([a-z]{4,}\d{2,4}[a-z]?)(?:,[^\]]*)?\]`)
	eachGoFile(t, func(path string) {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range f.Comments {
			for _, m := range key.FindAllStringSubmatch(c.Text(), -1) {
				if !known[m[1]] {
					t.Errorf("%s: [%s] is not in docs/references.bib", path, m[1])
				}
			}
		}
	})
}
