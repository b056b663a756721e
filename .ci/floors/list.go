package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// A platform is one for which packages are built. A package with no files for it is passed over.
type platform struct{ os, arch string }

var platforms = []platform{{"linux", "amd64"}, {"js", "wasm"}}

// A pkg is what a package of ours is made of on one platform, tests left out.
type pkg struct {
	module  string   // the module's path
	name    string   // the path below it; "." for the module's own folder
	files   []string // with their folders
	imports []string // whole paths
	deps    []string // whole paths of all that it reaches
}

// own returns the path of an import below the module's, and whether it is one of the module's packages.
func (p pkg) own(path string) (string, bool) {
	if path == p.module {
		return ".", true
	}
	return strings.CutPrefix(path, p.module+"/")
}

// list asks the go command for the packages of the module at root.
func list(root string, on platform) ([]pkg, error) {
	// With -e, for a package may rest on one of another module that this platform has not. Who builds it there is told by the compiler.
	c := exec.Command("go", "list", "-e", "-json=ImportPath,Module,Dir,GoFiles,CgoFiles,Imports,Deps,Error", "./...")
	c.Dir = root
	c.Env = append(os.Environ(), "GOOS="+on.os, "GOARCH="+on.arch)
	var trouble bytes.Buffer
	c.Stderr = &trouble
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("floors: go list for %s: %w\n%s", on.os, err, bytes.TrimSpace(trouble.Bytes()))
	}
	var packages []pkg
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var l struct {
			ImportPath, Dir                  string
			Module                           struct{ Path string }
			GoFiles, CgoFiles, Imports, Deps []string
			Error                            *struct{ Err string }
		}
		if err := d.Decode(&l); err == io.EOF {
			return packages, nil
		} else if err != nil {
			return nil, fmt.Errorf("floors: what go list printed: %w", err)
		}
		if l.Error != nil {
			return nil, fmt.Errorf("floors: go list for %s: %s: %s", on.os, l.ImportPath, l.Error.Err)
		}
		p := pkg{module: l.Module.Path, imports: l.Imports, deps: l.Deps}
		p.name, _ = p.own(l.ImportPath)
		for _, f := range slices.Concat(l.GoFiles, l.CgoFiles) {
			p.files = append(p.files, filepath.Join(l.Dir, f))
		}
		packages = append(packages, p)
	}
}

// top lists what may lie in the module's own folder beside names that begin with a dot.
var top = []string{"colour", "patterns", "wasm", "web", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}

// strays returns what else is kept there. Where git keeps nothing, such as in an unpacked archive, all that is there counts.
func strays(root string) (faults []string, err error) {
	var names []string
	if _, err := os.Stat(filepath.Join(root, ".git")); errors.Is(err, fs.ErrNotExist) {
		entries, err := os.ReadDir(root)
		if err != nil {
			return nil, fmt.Errorf("floors: %w", err)
		}
		for _, e := range entries {
			names = append(names, e.Name())
		}
	} else {
		c := exec.Command("git", "ls-files", "-z")
		c.Dir = root
		var trouble bytes.Buffer
		c.Stderr = &trouble
		out, err := c.Output()
		if err != nil {
			return nil, fmt.Errorf("floors: git ls-files: %w\n%s", err, bytes.TrimSpace(trouble.Bytes()))
		}
		for f := range strings.SplitSeq(strings.TrimSuffix(string(out), "\x00"), "\x00") {
			first, _, _ := strings.Cut(f, "/")
			names = append(names, first)
		}
	}
	for _, n := range names {
		if !slices.Contains(top, n) && !strings.HasPrefix(n, ".") {
			faults = append(faults, fmt.Sprintf("%s lies beside the five folders; the top holds %s and names with a dot", n, strings.Join(top, ", ")))
		}
	}
	return unique(faults), nil
}

func unique(s []string) []string {
	slices.Sort(s)
	return slices.Compact(s)
}
