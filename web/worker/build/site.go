package main

import (
	"bytes"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"

	"example.org/plumb/web/files"
)

// headers is the file in which the host looks for the headers of files.
const headers = "_headers"

// headings are the headers of an answer that the host cannot know.
var headings = []string{
	"Cache-Control", "Content-Security-Policy", "Content-Type", "Cross-Origin-Embedder-Policy", "Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy",
	"Permissions-Policy", "Referrer-Policy", "X-Content-Type-Options",
}

// site returns what the site answers as files, with the file that gives them their headers.
func site(own map[string][]byte) (map[string][]byte, error) {
	answers, err := files.Site(own)
	if err != nil {
		return nil, err
	}
	list := map[string][]byte{}
	told := map[string]http.Header{}
	for path, a := range answers {
		list[file(path, a)] = a.Body
		if !files.IsMissing(path) {
			told[path] = a.Header
		}
	}
	list[headers] = rules(told)
	return list, nil
}

// file is the name under which the host finds what it is to answer at a path.
func file(path string, a files.Answer) string {
	switch name := strings.TrimPrefix(path, "/"); {
	case name == "" || strings.HasSuffix(name, "/"):
		return name + "index.html"
	case !files.IsMissing(path) && a.Page():
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
