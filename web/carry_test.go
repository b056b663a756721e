package web

import (
	"strings"
	"testing"
)

// The pages around a request carry the browser program and tell it what it is to do there; what a link asks is no part of any address that is asked for.
func TestCarriers(t *testing.T) {
	s, a := site(t)
	for path, page := range map[string]string{"/check": "check", "/ask": "ask", "/proof": "proof", "/desk": "desk", "/r": "request", "/record": "record"} {
		r := ask(s, "GET", path)
		text := unsqueeze(t, r.Header.Get("Content-Encoding"), r.Body)
		program := a.Address(Program)
		if page == "check" { // nothing is done with pictures there
			program = a.Address(Plain)
		}
		for _, must := range []string{`data-page="` + page + `"`, `data-program="` + program + `"`, `<canvas id="screen"`, "<noscript>", `<main id="stage"`} {
			if r.StatusCode != 200 || !strings.Contains(text, must) {
				t.Errorf("%s: status %d, no %s in the page", path, r.StatusCode, must)
			}
		}
		if current := strings.Count(text, "aria-current"); strings.HasPrefix(path, "/r") && current != 0 || !strings.HasPrefix(path, "/r") && !strings.Contains(text, `href="`+path+`" aria-current="page"`) {
			t.Errorf("%s: %d links are marked as where one is", path, current)
		}
	}
	for _, path := range []string{"/r/", "/r/anything", "/desk/", "/ask/x", "/proof/", "/record/x"} {
		if r := ask(s, "GET", path); r.StatusCode != 404 {
			t.Errorf("%s: status %d", path, r.StatusCode)
		}
	}
}
