//go:build !js

package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/plumb/web"
)

// elsewhere returns the site as a server on one's own computer has it, of the same files.
func (r *rig) elsewhere(t *testing.T) (http.Handler, []string) {
	t.Helper()
	own := map[string][]byte{}
	found, err := filepath.Glob(filepath.Join(r.Folder, "site", "assets", "*", "*"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no assets: %v", err)
	}
	for _, f := range found {
		if own[filepath.Base(f)], err = os.ReadFile(f); err != nil {
			t.Fatal(err)
		}
	}
	for name, text := range web.Own() {
		own[name] = text // style sheets as they are before they hold addresses
	}
	assets, err := web.Pack(own, nil)
	if err != nil {
		t.Fatal(err)
	}
	paths := []string{"/", "/version", "/healthz"}
	for name := range own {
		paths = append(paths, assets.Address(name))
	}
	_, text := r.send(t, "GET", "/version", nil, nil)
	var about struct{ Version string }
	if err := json.Unmarshal(text, &about); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	h, err := web.New(assets, about.Version, nil)
	if err != nil {
		t.Fatal(err)
	}
	return h, paths
}

var local = regexp.MustCompile(`(?:href|src|action|data-words)="(/[^"#?]*)`)

// The host answers what the server on one's own computer answers: the same pages and assets, with the same headers.
func TestSite(t *testing.T) {
	r := onHost(t)
	h, paths := r.elsewhere(t)
	known := map[string]bool{}
	for ; len(paths) > 0; paths = paths[1:] {
		path := paths[0]
		if known[path] {
			continue
		}
		known[path] = true
		want := httptest.NewRecorder()
		h.ServeHTTP(want, httptest.NewRequest("GET", path, nil))
		got, body := r.send(t, "GET", path, nil, nil)
		if got.StatusCode != want.Code || want.Code != 200 || !bytes.Equal(body, want.Body.Bytes()) {
			t.Errorf("%s: %d with %d bytes, elsewhere %d with %d", path, got.StatusCode, len(body), want.Code, want.Body.Len())
		}
		for name := range want.Header() {
			switch name {
			case "Etag", "Vary", "Accept-Ranges", "Content-Length": // the host's own
			default:
				if got, want := got.Header.Get(name), want.Header().Get(name); got != want {
					t.Errorf("%s: %s: %q, elsewhere %q", path, name, got, want)
				}
			}
		}
		if strings.HasPrefix(want.Header().Get("Content-Type"), "text/html") {
			for _, m := range local.FindAllStringSubmatch(want.Body.String(), -1) {
				paths = append(paths, m[1])
			}
		}
	}
	if len(known) < 15 || !known["/method"] || !known["/de/method"] || !known["/assets/"+r.digest(t)+"/plumb.wasm"] {
		t.Errorf("only %d paths were looked at: %v", len(known), known)
	}
	for _, path := range []string{"/nothing", "/de/nothing"} {
		want := httptest.NewRecorder()
		h.ServeHTTP(want, httptest.NewRequest("GET", path, nil))
		if got, body := r.send(t, "GET", path, nil, nil); got.StatusCode != 404 || !bytes.Equal(body, want.Body.Bytes()) ||
			got.Header.Get("Content-Security-Policy") != want.Header().Get("Content-Security-Policy") {
			t.Errorf("where there is nothing, %s: %d with %d bytes, elsewhere %d with %d", path, got.StatusCode, len(body), want.Code, want.Body.Len())
		}
	}
	// The page that a link opens is not linked from others.
	if got, body := r.send(t, "GET", "/r", nil, nil); got.StatusCode != 200 || !bytes.Contains(body, []byte("<main")) {
		t.Errorf("/r: %d with %d bytes", got.StatusCode, len(body))
	}
}

// digest is the folder of the browser program's address.
func (r *rig) digest(t *testing.T) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(r.Folder, "site", "assets", "*", web.Program))
	if err != nil || len(found) != 1 {
		t.Fatalf("the browser program: %v, %v", found, err)
	}
	return filepath.Base(filepath.Dir(found[0]))
}

// heaviest is how large the worker may be, compressed as the host counts: 2 MB.
const heaviest = 2_000_000

func TestSize(t *testing.T) {
	r := onHost(t)
	total := 0
	for _, name := range []string{"worker.wasm", "worker.mjs", "pool.mjs", "wasm_exec.js"} {
		f, err := os.Open(filepath.Join(r.Folder, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		var b bytes.Buffer
		z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
		if _, err := io.Copy(z, f); err != nil {
			t.Fatal(err)
		}
		z.Close()
		total += b.Len()
	}
	if total > heaviest {
		t.Errorf("the worker has %d bytes after gzip, at most %d are wanted", total, heaviest)
	}
	t.Logf("the worker has %d bytes after gzip", total)
}
