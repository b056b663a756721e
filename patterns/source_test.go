//go:build !js

package patterns_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// source is the files of the package itself.
func source(t *testing.T) map[string]*ast.File {
	t.Helper()
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]*ast.File{}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = f
	}
	if len(files) == 0 {
		t.Fatal("no source")
	}
	return files
}

// TestNoPatternIsLeftOut finds each type with a Paint method and wants samples of it: what has none is held against nothing here.
func TestNoPatternIsLeftOut(t *testing.T) {
	var painters, sampled []string
	for _, f := range source(t) {
		for _, d := range f.Decls {
			if m, ok := d.(*ast.FuncDecl); ok && m.Recv != nil && m.Name.Name == "Paint" {
				painters = append(painters, "patterns."+m.Recv.List[0].Type.(*ast.Ident).Name)
			}
		}
	}
	for _, s := range portraits() {
		sampled = append(sampled, fmt.Sprintf("%T", s.Pattern))
	}
	slices.Sort(painters)
	slices.Sort(sampled)
	if !slices.Equal(painters, sampled) {
		t.Errorf("the package paints %v, the samples have %v", painters, sampled)
	}
}

// TestNoFunctionThatDiffers: of package math only Sqrt is the same to the last bit everywhere.
func TestNoFunctionThatDiffers(t *testing.T) {
	uses := 0
	for name, f := range source(t) {
		for _, i := range f.Imports {
			p, _ := strconv.Unquote(i.Path.Value)
			if !slices.Contains([]string{"image", "math", "math/bits"}, p) {
				t.Errorf("%s imports %s", name, p)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := s.X.(*ast.Ident); ok && x.Name == "math" {
				uses++
				if s.Sel.Name != "Sqrt" {
					t.Errorf("%s uses math.%s", name, s.Sel.Name)
				}
			}
			return true
		})
	}
	if uses == 0 {
		t.Error("math is used nowhere: the test has nothing to look at")
	}
}
