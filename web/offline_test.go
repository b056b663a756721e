package web

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
)

func get(t *testing.T, h http.Handler, path string) *httptest.ResponseRecorder {
	t.Helper()
	a := httptest.NewRecorder()
	h.ServeHTTP(a, httptest.NewRequest(http.MethodGet, path, nil))
	if a.Code != http.StatusOK {
		t.Fatalf("%s is answered with %d", path, a.Code)
	}
	return a
}

// The script that keeps the site names every page and every file, each of which is there, and another script is served as soon as a byte of any of them is another.
func TestKeeper(t *testing.T) {
	held := func(files map[string][]byte, version string) (name string, all []string) {
		a, err := Pack(files, nil)
		if err != nil {
			t.Fatal(err)
		}
		h, err := New(a, version, nil)
		if err != nil {
			t.Fatal(err)
		}
		answer := get(t, h, Offline)
		if k := answer.Header().Get("Content-Type"); !strings.HasPrefix(k, "text/javascript") || answer.Header().Get("Cache-Control") != "no-cache" {
			t.Errorf("the script is %s, to be kept %s", k, answer.Header().Get("Cache-Control"))
		}
		line, _, _ := bytes.Cut(answer.Body.Bytes(), []byte("\n"))
		var list struct {
			Name         string
			Files, Pages []string
		}
		if err := json.Unmarshal(bytes.TrimSuffix(bytes.TrimPrefix(line, []byte("const held = ")), []byte(";")), &list); err != nil {
			t.Fatalf("%v in %s", err, line)
		}
		all = append(list.Files, list.Pages...)
		for _, at := range all {
			get(t, h, at)
		}
		for name := range files {
			if !slices.Contains(list.Files, a.Address(name)) {
				t.Errorf("%s is not kept", name)
			}
		}
		for path := range carried {
			for _, folder := range a.Folders() {
				if !slices.Contains(list.Pages, folder+path) {
					t.Errorf("the page %s is not kept", folder+path)
				}
			}
		}
		return list.Name, all
	}
	files := Own()
	files[Program] = program
	first, _ := held(files, "1")
	if again, _ := held(files, "1"); again != first {
		t.Error("the same site has two names")
	}
	if other, _ := held(files, "2"); other == first {
		t.Error("pages of another version have the same name")
	}
	files[Program] = append(slices.Clone(program), 1)
	if other, _ := held(files, "1"); other == first {
		t.Error("another program has the same name")
	}
}

func TestManifest(t *testing.T) {
	a, err := Pack(Own(), nil)
	if err != nil {
		t.Fatal(err)
	}
	h, err := New(a, "1", nil)
	if err != nil {
		t.Fatal(err)
	}
	var m struct {
		Name, Lang, Start_url string
		Icons                 []struct{ Src, Sizes, Purpose string }
	}
	for _, folder := range a.Folders() {
		answer := get(t, h, folder+Manifest)
		if err := json.Unmarshal(answer.Body.Bytes(), &m); err != nil || answer.Header().Get("Content-Type") != "application/manifest+json" {
			t.Fatalf("%v; %s", err, answer.Header().Get("Content-Type"))
		}
		get(t, h, m.Start_url)
		for _, i := range m.Icons {
			get(t, h, i.Src)
		}
		page := get(t, h, folder+"/check").Body.String()
		if len(m.Icons) != 2 || m.Name == "" || m.Start_url != folder+"/" || !strings.Contains(page, `<html lang="`+m.Lang+`"`) {
			t.Errorf("%+v", m)
		}
		if !strings.Contains(page, `rel="manifest" href="`+folder+Manifest+`"`) {
			t.Error("the page does not name the manifest")
		}
	}
}
