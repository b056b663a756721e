package web

import (
	"strings"
	"testing"
)

// The pages around a request carry the browser program and tell it what it is to do there; what a link asks is no part of any address that is asked for.
func TestCarriers(t *testing.T) {
	s, a := site(t)
	for path, page := range map[string]string{"/check": "check", "/ask": "ask", "/desk": "desk", "/r": "request"} {
		r := ask(s, "GET", path)
		text := unsqueeze(t, r.Header.Get("Content-Encoding"), r.Body)
		for _, must := range []string{`data-page="` + page + `"`, `data-program="` + a.Address(Program) + `"`, `<canvas id="screen"`, "<noscript>", `<main id="stage"`} {
			if r.StatusCode != 200 || !strings.Contains(text, must) {
				t.Errorf("%s: status %d, no %s in the page", path, r.StatusCode, must)
			}
		}
		if current := strings.Count(text, "aria-current"); path == "/r" && current != 0 || path != "/r" && !strings.Contains(text, `href="`+path+`" aria-current="page"`) {
			t.Errorf("%s: %d links are marked as where one is", path, current)
		}
	}
	for _, path := range []string{"/r/", "/r/anything", "/desk/", "/ask/x"} {
		if r := ask(s, "GET", path); r.StatusCode != 404 {
			t.Errorf("%s: status %d", path, r.StatusCode)
		}
	}
}
