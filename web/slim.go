//go:build !js

package web

import (
	"embed"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

//go:embed slim
var slim embed.FS

// standIns are the packages of the standard library that templ and crypto/hpke name and the browser program never calls, each with the file of slim that stands in
// for it. They weigh a quarter of the program: the linker cannot tell that they are not needed.
var standIns = map[string]string{
	"net/http":                     "nethttp.go.txt",
	"html/template":                "htmltemplate.go.txt",
	"regexp":                       "regexp.go.txt",
	"crypto/internal/fips140/ecdh": "nist.go.txt",
}

// plainStandIns are more of them, for the program of a check: it imports what seals and signs, and does neither.
var plainStandIns = map[string]string{
	"crypto/hpke":    "hpke.go.txt",
	"crypto/ed25519": "ed25519.go.txt",
}

// position is what templ writes at each expression of a page: where in its source the expression failed. A page is written into memory there, which does not fail.
var position = regexp.MustCompile("return templ\\.Error\\{Err: templ_7745c5c3_Err, FileName: `[^`]*`, Line: \\d+, Col: \\d+\\}")

// Slim returns the flag of go build with which the browser program is built without packages it has no use for, and without the positions in the pages' source that an
// error would tell. root is the folder of this module, goroot what go env GOROOT says; what the flag names is written into dir, which must last as long as the build.
// It is for the browser program alone: a server needs the real packages.
func Slim(root, goroot, dir string) ([]string, error) { return slimmed(root, goroot, dir, standIns) }

// SlimPlain returns the flags with which the program of a check is built instead: those of Slim, for more packages, and PlainFlag.
func SlimPlain(root, goroot, dir string) ([]string, error) {
	all := maps.Clone(standIns)
	maps.Copy(all, plainStandIns)
	flags, err := slimmed(root, goroot, dir, all)
	if err != nil {
		return nil, err
	}
	return append(flags, PlainFlag), nil
}

func slimmed(root, goroot, dir string, all map[string]string) ([]string, error) {
	replace, err := placeless(root, dir)
	if err != nil {
		return nil, err
	}
	for path, name := range all {
		from := filepath.Join(goroot, "src", filepath.FromSlash(path))
		list, err := os.ReadDir(from)
		if err != nil {
			return nil, fmt.Errorf("web: %w; this Go installation lacks its source, install Go as a whole", err)
		}
		text, err := slim.ReadFile("slim/" + name)
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		to := filepath.Join(dir, strings.TrimSuffix(name, ".txt"))
		if err := os.WriteFile(to, text, 0o644); err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		for _, f := range list {
			if filepath.Ext(f.Name()) == ".go" {
				replace[filepath.Join(from, f.Name())] = "" // as if it were not there
			}
		}
		replace[filepath.Join(from, filepath.Base(to))] = to
	}
	b, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	overlay := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(overlay, b, 0o644); err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	return []string{"-overlay=" + overlay}, nil
}

// placeless writes the pages' Go without positions into dir, and returns where each file of it is by the file it stands in for.
func placeless(root, dir string) (map[string]string, error) {
	root, err := filepath.Abs(root)
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	files, err := filepath.Glob(filepath.Join(root, "web", "pages", "*_templ.go"))
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("web: %s has no web/pages made by templ; name the folder of this module", root)
	}
	replace := map[string]string{}
	for _, from := range files {
		text, err := os.ReadFile(from)
		if err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		to := filepath.Join(dir, filepath.Base(from))
		if err := os.WriteFile(to, position.ReplaceAll(text, []byte("return templ_7745c5c3_Err")), 0o644); err != nil {
			return nil, fmt.Errorf("web: %w", err)
		}
		replace[from] = to
	}
	return replace, nil
}
