//go:build !js

package plates

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"image"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Every painter of the package patterns has a plate, but for the lines that fill a whole frame: those are seen inside the line match alone.
func TestEveryPatternHasAPlate(t *testing.T) {
	names, err := filepath.Glob("../*.go")
	if err != nil || len(names) == 0 {
		t.Fatalf("no source: %v", err)
	}
	var painters, shown []string
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range f.Decls {
			if m, ok := d.(*ast.FuncDecl); ok && m.Recv != nil && m.Name.Name == "Paint" {
				painters = append(painters, "patterns."+m.Recv.List[0].Type.(*ast.Ident).Name)
			}
		}
	}
	for _, n := range Names() {
		s, _ := Usual(n)
		shown = append(shown, fmt.Sprintf("%T", s.Pattern(image.Rect(0, 0, 640, 480))))
	}
	shown = append(shown, "patterns.Mix")
	slices.Sort(painters)
	slices.Sort(shown)
	if shown = slices.Compact(shown); !slices.Equal(painters, shown) {
		t.Errorf("there are %v, and plates show %v", painters, shown)
	}
}
