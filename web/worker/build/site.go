package main

import (
	"bytes"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"

	"example.org/plumb/web"
)

// pages are the addresses that the site answers beside its assets.
var pages = []string{"/", "/ask", "/check", "/desk", "/example", "/healthz", "/method", "/r", "/version"}

// missing is an address at which there is nothing.
const missing = "/404.html"

// headers is the file in which the host looks for the headers of files.
const headers = "_headers"

// headings are the headers of an answer that the host cannot know.
var headings = []string{
	"Cache-Control", "Content-Security-Policy", "Content-Type", "Cross-Origin-Embedder-Policy", "Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy",
	"Permissions-Policy", "Referrer-Policy", "X-Content-Type-Options",
}

// site asks the handler for all that it answers, and returns that as files, with the file that gives them their headers.
func site(own map[string][]byte) (map[string][]byte, error) {
	assets, err := web.Pack(own, nil)
	if err != nil {
		return nil, err
	}
	h, err := web.New(assets, web.Version(), nil)
	if err != nil {
		return nil, err
	}
	paths := slices.Clone(pages)
	for name := range own {
		paths = append(paths, assets.Address(name))
	}
	files := map[string][]byte{}
	told := map[string]http.Header{}
	for _, path := range paths {
		a := ask(h, path)
		if a.Code != http.StatusOK {
			return nil, fmt.Errorf("build: %s is answered with %d", path, a.Code)
		}
		files[file(path, a.Header())], told[path] = a.Body.Bytes(), a.Header()
	}
	a := ask(h, missing)
	if a.Code != http.StatusNotFound {
		return nil, fmt.Errorf("build: %s is answered with %d", missing, a.Code)
	}
	files[file(missing, a.Header())] = a.Body.Bytes()
	files[headers] = rules(told)
	return files, nil
}

func ask(h http.Handler, path string) *httptest.ResponseRecorder {
	a := httptest.NewRecorder()
	h.ServeHTTP(a, httptest.NewRequest(http.MethodGet, path, nil))
	return a
}

// file is the name under which the host finds what it is to answer at a path.
func file(path string, h http.Header) string {
	switch name := strings.TrimPrefix(path, "/"); {
	case name == "":
		return "index.html"
	case path != missing && strings.HasPrefix(h.Get("Content-Type"), "text/html"):
		return name + ".html"
	default:
		return name
	}
}

// rules writes what all answers have once, and for each path the rest. All assets have the same, but for their type, which the host tells from their names.
func rules(headers map[string]http.Header) []byte {
	common := http.Header{}
	for _, name := range headings {
		values := map[string]bool{}
		for _, h := range headers {
			values[h.Get(name)] = true
		}
		if len(values) == 1 {
			common.Set(name, slices.Collect(maps.Keys(values))[0])
		}
	}
	var b bytes.Buffer
	rule := func(path string, h http.Header, names []string) {
		fmt.Fprintln(&b, path)
		for _, name := range names {
			if v := h.Get(name); v != "" {
				fmt.Fprintf(&b, "  %s: %s\n", name, v)
			}
		}
	}
	rule("/*", common, headings)
	own := slices.DeleteFunc(slices.Clone(headings), func(name string) bool { return common.Get(name) != "" })
	seen := map[string]bool{}
	for _, path := range slices.Sorted(maps.Keys(headers)) {
		h, names := headers[path], own
		if strings.HasPrefix(path, "/assets/") {
			path, names = "/assets/*", []string{"Cache-Control"}
		}
		if !seen[path] {
			seen[path] = true
			rule(path, h, names)
		}
	}
	return b.Bytes()
}
