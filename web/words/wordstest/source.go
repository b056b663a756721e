// Package wordstest reads from the source what is said to people, for tests that hold the languages to it.
package wordstest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// A Source is what the source says.
type Source struct {
	Said    map[string]string // where each message is said, by its key in a catalogue: by words.Say, words.Some, words.As, say and says of pages, and in boot.js
	Written map[string]bool   // every constant text, whatever becomes of it, with %s for what is put into one by +: what words.Found may find is among them
	Unread  []string          // where a message is no constant, so that it cannot be looked up here

	parts   map[string]bool // of what is written
	formats []*regexp.Regexp
}

// Read reads the Go files, but for tests, the scripts of browsers and the example, below the folders colour, patterns, wasm and web of a source. Generated files are read and not what they are made from.
func Read(root string) (Source, error) {
	s := Source{Said: map[string]string{}, Written: map[string]bool{}}
	type file struct {
		*ast.File
		set *token.FileSet
		dir string
	}
	var files []file
	constants := map[string]map[string]string{} // by package and name
	for _, folder := range []string{"colour", "patterns", "wasm", "web"} {
		err := filepath.WalkDir(filepath.Join(root, folder), func(at string, e fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case e.IsDir() && slices.Contains([]string{"testdata", "node_modules"}, e.Name()):
				return fs.SkipDir
			case strings.HasSuffix(at, ".js") && filepath.Base(filepath.Dir(at)) == "assets", filepath.Base(at) == "example.json":
				b, err := os.ReadFile(at)
				for _, m := range quoted.FindAll(b, -1) {
					if text, err := strconv.Unquote(string(m)); err == nil {
						s.Written[text] = true
						if e.Name() == "boot.js" && sentence.MatchString(text) {
							s.Said[text] = at
						}
					}
				}
				return err
			case !strings.HasSuffix(at, ".go") || strings.HasSuffix(at, "_test.go"):
				return nil
			}
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, at, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			files = append(files, file{f, set, filepath.Dir(at)})
			for _, d := range f.Decls {
				g, ok := d.(*ast.GenDecl)
				if !ok || g.Tok != token.CONST {
					continue
				}
				for _, spec := range g.Specs {
					v := spec.(*ast.ValueSpec)
					for i, name := range v.Names {
						if i < len(v.Values) {
							if text, ok := constant(v.Values[i], nil, nil); ok {
								for _, by := range []string{filepath.Dir(at), f.Name.Name} {
									if constants[by] == nil {
										constants[by] = map[string]string{}
									}
									constants[by][name.Name] = text
								}
							}
						}
					}
				}
			}
			return nil
		})
		if err != nil {
			return s, fmt.Errorf("wordstest: %w", err)
		}
	}
	for _, f := range files {
		own := filepath.ToSlash(f.dir)
		speaks := !strings.HasSuffix(own, "/words") // which hands on what it is given
		ast.Inspect(f.File, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.FuncDecl:
				if f.Name.Name == "pages" && slices.Contains([]string{"say", "says", "Render"}, n.Name.Name) {
					return false // it hands on what it is given, too
				}
			case ast.Expr:
				if text, any := Sum(n); any {
					s.Written[text] = true
					// Found knows an error without its package, and a sentence without what it is put behind or before.
					s.Written[strings.TrimSuffix(strings.TrimLeft(prefix.ReplaceAllString(text, ""), " ,;"), " %s")] = true
				}
				call, ok := n.(*ast.CallExpr)
				if !ok || !speaks {
					return true
				}
				take := func(i int, context string) {
					if i >= len(call.Args) {
						return
					}
					at := f.set.Position(call.Args[i].Pos())
					text, ok := constant(call.Args[i], constants[f.dir], constants)
					if !ok {
						s.Unread = append(s.Unread, fmt.Sprintf("%s:%d", at.Filename, at.Line))
						return
					}
					s.Said[text+context] = fmt.Sprintf("%s:%d", at.Filename, at.Line)
				}
				switch name(call.Fun, f.Name.Name) {
				case "Say", "say", "says":
					take(0, "")
				case "Some":
					take(1, "")
					take(2, "")
				case "As":
					context := ""
					if len(call.Args) > 1 {
						context, _ = constant(call.Args[1], constants[f.dir], constants)
					}
					take(0, " ["+context+"]")
				}
			}
			return true
		})
	}
	return s, nil
}

// Writes tells whether a finished text, or one of the parts in which words.Found looks for it, may be made from what is written: as it stands, as an error without the name of its package,
// by filling in a format, or by adding to a text that is no message itself.
func (s *Source) Writes(key string) bool {
	if s.parts == nil {
		s.parts = map[string]bool{}
		for text := range s.Written {
			add(s.parts, text)
		}
		for text := range s.parts {
			if f := verb.ReplaceAllString(text, ""); f != text && len(strings.TrimSpace(f)) >= 7 {
				var b strings.Builder
				end := 0
				for _, m := range verb.FindAllStringIndex(text, -1) {
					b.WriteString(regexp.QuoteMeta(text[end:m[0]]) + "(.+)")
					end = m[1]
				}
				s.formats = append(s.formats, regexp.MustCompile("(?s)^"+b.String()+regexp.QuoteMeta(text[end:])+"$"))
			}
		}
	}
	if s.parts[key] || slices.ContainsFunc(s.formats, func(f *regexp.Regexp) bool { return f.MatchString(key) }) {
		return true
	}
	for text := range s.parts {
		if len(text) >= 12 && s.Said[text] == "" && strings.Contains(key, text) {
			return true
		}
	}
	return false
}

// add adds a text, and its parts.
func add(to map[string]bool, text string) {
	if text == "" || to[text] {
		return
	}
	to[text] = true
	add(to, strings.Trim(text, " ,;("))
	for _, between := range []string{"\n", ". ", "; ", ": "} {
		if before, after, ok := strings.Cut(text, between); ok {
			add(to, before)
			add(to, before+strings.TrimSpace(between))
			add(to, after)
		}
	}
}

// verb is one of fmt.
var verb = regexp.MustCompile(`%[-+# 0]*(?:\[\d+\])?\d*(?:\.\d+)?[dfgeqsvwxXTtc]`)

// sentence is what the script that starts the program says, rather than what it works with.
var sentence = regexp.MustCompile(`^[A-Z][^ ]* `)

// quoted is a text in a script, or in JSON.
var quoted = regexp.MustCompile(`"(?:[^"\\\n]|\\.)*"`)

// prefix is what errors begin with.
var prefix = regexp.MustCompile(`^[a-z]+: `)

// name is that of the function called if it is one that says what it is given.
func name(f ast.Expr, in string) string {
	switch f := f.(type) {
	case *ast.Ident:
		if in == "pages" && (f.Name == "say" || f.Name == "says") {
			return f.Name
		}
	case *ast.SelectorExpr:
		if x, ok := f.X.(*ast.Ident); ok && x.Name == "words" && slices.Contains([]string{"Say", "Some", "As"}, f.Sel.Name) {
			return f.Sel.Name
		}
	}
	return ""
}

// Sum is a text that is put together by +, with %s for what is no constant, and whether any of it is one.
func Sum(e ast.Expr) (text string, any bool) {
	switch x := e.(type) {
	case *ast.BinaryExpr:
		if x.Op == token.ADD {
			a, some := Sum(x.X)
			b, more := Sum(x.Y)
			return a + b, some || more
		}
	case *ast.ParenExpr:
		return Sum(x.X)
	}
	if text, ok := constant(e, nil, nil); ok {
		return text, true
	}
	return "%s", false
}

// constant is the value of a constant text. Names are looked for among those of the package, own, and those of others by the package's name, all.
func constant(e ast.Expr, own map[string]string, all map[string]map[string]string) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			s, err := strconv.Unquote(e.Value)
			return s, err == nil
		}
	case *ast.BinaryExpr:
		a, ok := constant(e.X, own, all)
		b, also := constant(e.Y, own, all)
		return a + b, ok && also && e.Op == token.ADD
	case *ast.ParenExpr:
		return constant(e.X, own, all)
	case *ast.Ident:
		s, ok := own[e.Name]
		return s, ok
	case *ast.SelectorExpr:
		if x, ok := e.X.(*ast.Ident); ok {
			s, ok := all[x.Name][e.Sel.Name]
			return s, ok
		}
	}
	return "", false
}
