// Package files writes a site as files, for hosts that serve files by themselves.
package files

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"

	"example.org/plumb/web"
)

// Missing is the path of the page that is shown where there is nothing, behind the folder of its language.
const Missing = "/404.html"

// IsMissing tells whether a path is that of such a page.
func IsMissing(path string) bool { return strings.HasSuffix(path, Missing) }

// An Answer is what the site says at one path.
type Answer struct {
	Header http.Header
	Body   []byte
}

// Page tells whether the answer is a page.
func (a Answer) Page() bool { return strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") }

// Site asks the site made of some assets for all that it answers, by path.
func Site(own map[string][]byte) (map[string]Answer, error) {
	assets, err := web.Pack(own, nil)
	if err != nil {
		return nil, err
	}
	h, err := web.New(assets, web.Version(), nil)
	if err != nil {
		return nil, err
	}
	all := web.Paths(assets)
	for _, folder := range assets.Folders() {
		all = append(all, folder+Missing)
	}
	for name := range own {
		all = append(all, assets.Address(name))
	}
	answers := map[string]Answer{}
	for _, path := range all {
		a, want := httptest.NewRecorder(), http.StatusOK
		if IsMissing(path) {
			want = http.StatusNotFound
		}
		h.ServeHTTP(a, httptest.NewRequest(http.MethodGet, path, nil))
		if a.Code != want {
			return nil, fmt.Errorf("files: %s is answered with %d", path, a.Code)
		}
		answers[path] = Answer{a.Header(), a.Body.Bytes()}
	}
	return answers, nil
}

// Empty is nil for a folder that is not there, or holds nothing.
func Empty(folder string) error {
	switch entries, err := os.ReadDir(folder); {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("files: %w", err)
	case len(entries) > 0:
		return fmt.Errorf("files: %s holds something; name an empty folder, or one that is not there yet", folder)
	}
	return nil
}

// Write puts files into a folder, by their names in it with slashes; folders are made as they are needed.
func Write(folder string, list map[string][]byte) error {
	for name, text := range list {
		at := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			return fmt.Errorf("files: %w", err)
		}
		if err := os.WriteFile(at, text, 0o644); err != nil {
			return fmt.Errorf("files: %w", err)
		}
	}
	return nil
}
