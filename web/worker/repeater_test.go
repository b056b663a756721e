//go:build !js

package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// What waits in vain is sent anew with all of its body, a few times; what cannot be sent twice is given up.
func TestRepeater(t *testing.T) {
	for _, c := range []struct {
		silent, size int
		tell         bool // the length of the body
		lost         int64
		ok           bool
	}{{0, 5, true, 0, true}, {1, 5, true, 1, true}, {2, 0, true, 2, true}, {3, 5, true, 3, false}, {1, 5, false, 1, false}} {
		left := c.silent
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			b, _ := io.ReadAll(r.Body)
			if left > 0 {
				left--
				<-r.Context().Done()
				return
			}
			if len(b) != c.size {
				t.Errorf("%+v: a body of %d bytes", c, len(b))
			}
		}))
		transport := http.DefaultTransport.(*http.Transport).Clone()
		transport.ResponseHeaderTimeout = 100 * time.Millisecond
		line := &repeater{RoundTripper: transport}
		var body io.Reader
		if c.size > 0 {
			body = strings.NewReader(strings.Repeat("x", c.size))
			if !c.tell {
				body = io.MultiReader(body)
			}
		}
		a, err := (&http.Client{Transport: line}).Post(s.URL, "text/plain", body)
		if err == nil {
			a.Body.Close()
		}
		if (err == nil) != c.ok || line.lost.Load() != c.lost {
			t.Errorf("%+v: %v after %d in vain", c, err, line.lost.Load())
		}
		transport.CloseIdleConnections()
		s.Close()
	}
}
