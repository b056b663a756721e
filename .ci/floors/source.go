package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"slices"
	"strconv"
)

// impure lists, by package, the names that make a result depend on more than arguments. For math/rand it lists the names that do not: all others there
// draw from the global source.
var (
	impure = map[string][]string{
		"time": {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer"},
		"os":   {"Getenv", "LookupEnv", "Environ", "ExpandEnv", "Args", "Hostname", "Getpid", "UserHomeDir", "UserCacheDir", "UserConfigDir"},
	}
	seededRand = []string{"New", "NewSource", "NewZipf", "NewPCG", "NewChaCha8", "Rand", "Source", "Source64", "Zipf", "PCG", "ChaCha8"}
)

// source returns the impure names used by packages that must be pure.
func source(packages []pkg, floors map[string]int) (faults []string, err error) {
	for _, p := range packages {
		floor, ok := floors[p.name]
		program := slices.Contains(seeded, p.name)
		if !ok || floor >= pure && !program {
			continue
		}
		for _, f := range p.files {
			used, err := impurities(f, nil)
			if err != nil {
				return nil, err
			}
			for _, u := range used {
				if program && u == "os.Args" || slices.Contains(keyed, p.name) && u == "crypto/rand.Read" {
					continue
				}
				faults = append(faults, fmt.Sprintf("%s/%s uses %s; times, seeds and settings come in as arguments there", p.name, path.Base(f), u))
			}
		}
	}
	return faults, nil
}

// impurities returns the impure names of a file, read from text if that is not nil. A variable named as a package is taken for the package.
func impurities(file string, text any) (used []string, err error) {
	tree, err := parser.ParseFile(token.NewFileSet(), file, text, parser.SkipObjectResolution)
	if err != nil {
		return nil, fmt.Errorf("floors: %w", err)
	}
	bans := map[string]func(string) bool{} // by the name that the file has for the package
	full := map[string]string{}
	for _, i := range tree.Imports {
		at, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			return nil, fmt.Errorf("floors: %s: %w", file, err)
		}
		var banned func(string) bool
		local := path.Base(at)
		switch names, ok := impure[at]; {
		case ok:
			banned = func(n string) bool { return slices.Contains(names, n) }
		case at == "math/rand", at == "math/rand/v2":
			local = "rand"
			banned = func(n string) bool { return !slices.Contains(seededRand, n) }
		case at == "crypto/rand":
			banned = func(string) bool { return true }
		default:
			continue
		}
		if i.Name != nil {
			local = i.Name.Name
		}
		if local == "." {
			used = append(used, at+" without its name")
			continue
		}
		bans[local], full[local] = banned, at
	}
	ast.Inspect(tree, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && bans[x.Name] != nil && bans[x.Name](s.Sel.Name) {
				used = append(used, full[x.Name]+"."+s.Sel.Name)
			}
		}
		return true
	})
	return used, nil
}
