//go:build !js

package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"example.org/plumb/web/words"
)

//go:embed offline/offline.js
var offline embed.FS

// Addresses of what lets a browser keep the site: the script of its service worker, and the manifest by which the site is installed (W3C, Web Application Manifest).
const (
	Offline  = "/offline.js"
	Manifest = "/plumb.webmanifest"
)

// keeper is the script of the service worker for these assets and pages. It changes when any byte of them does, which is how a browser learns of a newer version.
// Pages are by path, each with a digest of its text.
func keeper(a Assets, texts map[string][]byte) ([]byte, error) {
	script, err := offline.ReadFile("offline/offline.js")
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	var held struct {
		Name  string   `json:"name"`
		Files []string `json:"files"`
		Pages []string `json:"pages"`
	}
	held.Files, held.Pages = slices.Sorted(maps.Keys(a.at)), slices.Sorted(maps.Keys(texts))
	all := sha256.New()
	all.Write(script)
	for _, f := range held.Files {
		fmt.Fprintln(all, f) // with the digest of its bytes
	}
	for _, p := range held.Pages {
		fmt.Fprintf(all, "%s %x\n", p, sha256.Sum256(texts[p]))
	}
	held.Name = hex.EncodeToString(all.Sum(nil)[:8])
	line, err := json.Marshal(held)
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	return fmt.Appendf(nil, "const held = %s;\n%s", line, script), nil
}

// manifest says how the site looks as an installed program, in the language spoken, l. It is the same program in each.
func manifest(a Assets, l language) ([]byte, error) {
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose"`
	}
	b, err := json.Marshal(struct {
		ID          string `json:"id"`
		Lang        string `json:"lang"`
		Name        string `json:"name"`
		ShortName   string `json:"short_name"`
		Description string `json:"description"`
		StartURL    string `json:"start_url"`
		Scope       string `json:"scope"`
		Display     string `json:"display"`
		Background  string `json:"background_color"`
		Theme       string `json:"theme_color"`
		Icons       []icon `json:"icons"`
	}{
		"/", l.tag(), "Plumb", "Plumb", words.Say("Is this screen true enough to judge by? A check by eye, with no instrument."), l.folder + "/", "/", "standalone", "#2b2b2b", "#2b2b2b",
		[]icon{{a.Address("icon.svg"), "any", "image/svg+xml", "any"}, {a.Address("icon-whole.svg"), "any", "image/svg+xml", "maskable"}},
	})
	if err != nil {
		return nil, fmt.Errorf("web: %w", err)
	}
	return b, nil
}
