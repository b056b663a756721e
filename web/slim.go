//go:build !js

package web

import (
	"embed"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
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

// Slim returns the flag of go build with which the browser program is built without packages it has no use for. goroot is what go env GOROOT says; what the
// flag names is written into dir, which must last as long as the build. It is for the browser program alone: a server needs the real packages.
func Slim(goroot, dir string) ([]string, error) { return slimmed(goroot, dir, standIns) }

// SlimPlain returns the flags with which the program of a check is built instead: those of Slim, for more packages, and PlainFlag.
func SlimPlain(goroot, dir string) ([]string, error) {
	all := maps.Clone(standIns)
	maps.Copy(all, plainStandIns)
	flags, err := slimmed(goroot, dir, all)
	if err != nil {
		return nil, err
	}
	return append(flags, PlainFlag), nil
}

func slimmed(goroot, dir string, all map[string]string) ([]string, error) {
	replace := map[string]string{}
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
