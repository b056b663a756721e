//go:build !js

package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"
)

//go:embed assets words/*.json
var own embed.FS

// Own is the style sheets, typeface and scripts that pages refer to and the languages other than English, by name. The browser program is not among them: it is built, not written.
func Own() map[string][]byte {
	files := map[string][]byte{}
	err := fs.WalkDir(own, ".", func(at string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			files[e.Name()], err = own.ReadFile(at)
		}
		return err
	})
	if err != nil {
		panic("web: " + err.Error())
	}
	// Every page that carries the browser program has both, and a file more is a connection less for the program to come by.
	files["stage.css"] = slices.Concat(files["sitting.css"], []byte("\n"), files["proof.css"])
	delete(files, "sitting.css")
	delete(files, "proof.css")
	return files
}

// A Compressor squeezes a body for a content coding of RFC 9110, "br" or "gzip".
type Compressor interface {
	Compress(coding string, body []byte) ([]byte, error)
}

// Assets are files under addresses that hold their digest, so that they may be kept for ever. The zero Assets holds none.
type Assets struct {
	at   map[string]*body  // by address
	name map[string]string // address by name
}

// Address is where a file is served. A file that is not here is taken to be served by the host, under its bare name.
func (a Assets) Address(name string) string {
	if at, ok := a.name[name]; ok {
		return at
	}
	return "/assets/" + name
}

// Size is the size of a file in bytes, as decoded; 0 for a file that is not here.
func (a Assets) Size(name string) int {
	if b := a.at[a.name[name]]; b != nil {
		return len(b.plain)
	}
	return 0
}

// Digest is the SHA-256 of a file as decoded, in hexadecimal; empty for a file that is not here.
func (a Assets) Digest(name string) string {
	if b := a.at[a.name[name]]; b != nil {
		return b.digest
	}
	return ""
}

// Pack gives every file its address and, if c is not nil, squeezes it once for all. A style sheet's url() must name another of the files and is
// set to that file's address.
func Pack(files map[string][]byte, c Compressor) (Assets, error) {
	a := Assets{map[string]*body{}, map[string]string{}}
	names := make([]string, 0, len(files))
	for n := range files {
		names = append(names, n)
	}
	// Style sheets last: they hold the addresses of others.
	sort.Slice(names, func(i, j int) bool {
		if x, y := path.Ext(names[i]) == ".css", path.Ext(names[j]) == ".css"; x != y {
			return y
		}
		return names[i] < names[j]
	})
	for _, n := range names {
		text := files[n]
		if path.Ext(n) == ".css" {
			var err error
			if text, err = a.link(text); err != nil {
				return Assets{}, fmt.Errorf("web: %s: %w", n, err)
			}
		}
		b, err := pack(n, text, c)
		if err != nil {
			return Assets{}, err
		}
		b.keep = "public, max-age=31536000, immutable"
		at := "/assets/" + b.digest[:16] + "/" + n
		a.at[at], a.name[n] = b, at
	}
	return a, nil
}

var reference = regexp.MustCompile(`url\(\s*["']?([^"')]*)["']?\s*\)`)

// link sets each url() of a style sheet to the address of the file it names.
func (a Assets) link(css []byte) ([]byte, error) {
	var err error
	out := reference.ReplaceAllFunc(css, func(m []byte) []byte {
		name := string(reference.FindSubmatch(m)[1])
		at, ok := a.name[name]
		if !ok && err == nil {
			err = fmt.Errorf("url(%s) names no file that is packed with it", name)
		}
		return []byte(`url("` + at + `")`)
	})
	return out, err
}

// A body is one thing to serve, in each coding it has.
type body struct {
	kind   string // content type
	keep   string // Cache-Control
	digest string // SHA-256 of plain, hexadecimal
	plain  []byte
	coded  map[string][]byte
}

var kinds = map[string]string{
	".css":         "text/css; charset=utf-8",
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".json":        "application/json",
	".svg":         "image/svg+xml",
	".txt":         "text/plain; charset=utf-8",
	".wasm":        "application/wasm",
	".webmanifest": "application/manifest+json",
	".woff2":       "font/woff2",
}

func pack(name string, text []byte, c Compressor) (*body, error) {
	kind, ok := kinds[path.Ext(name)]
	if !ok {
		return nil, fmt.Errorf("web: %s: no content type is known for files ending in %q; add it to kinds", name, path.Ext(name))
	}
	sum := sha256.Sum256(text)
	b := &body{kind: kind, digest: hex.EncodeToString(sum[:]), plain: text, coded: map[string][]byte{}}
	if c == nil || kind == "font/woff2" { // woff2 is brotli inside
		return b, nil
	}
	for _, coding := range []string{"br", "gzip"} {
		small, err := c.Compress(coding, text)
		if err != nil {
			return nil, fmt.Errorf("web: %s: %w", name, err)
		}
		if len(small) < len(text) {
			b.coded[coding] = small
		}
	}
	return b, nil
}

// ServeHTTP answers GET and HEAD with the coding that the client likes best. Ranges are of the plain form, so that parts fetched at different times fit.
func (b *body) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Add("Vary", "Accept-Encoding")
	var have []string
	whole := r.Header.Get("Range") == "" && r.Header.Get("If-Match") == ""
	for _, coding := range []string{"br", "gzip"} {
		if _, ok := b.coded[coding]; ok && whole {
			have = append(have, coding)
		}
	}
	// A host may hand on one header line as several values.
	coding, ok := choose(strings.Join(r.Header.Values("Accept-Encoding"), ","), have)
	if !ok {
		h.Set("Cache-Control", "no-store")
		http.Error(w, "This can be had as it is, or squeezed by brotli or gzip; the request accepts none of them.", http.StatusNotAcceptable)
		return
	}
	h.Set("Content-Type", b.kind)
	h.Set("Cache-Control", b.keep)
	text, tag := b.plain, b.digest[:32]
	if coding != "identity" {
		text, tag = b.coded[coding], tag+"-"+coding
		h.Set("Content-Encoding", coding)
		h.Set("Content-Length", strconv.Itoa(len(text))) // ServeContent leaves it out for a coded body
	}
	h.Set("ETag", `"`+tag+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(text))
}
