package main

import (
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// What the line carries is whole, and takes at least as long as its bytes and its round trips.
func TestLine(t *testing.T) {
	body := strings.Repeat("an orchard in bloom\n", 10_000)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, body) }))
	defer s.Close()
	l, err := lay(s.Listener.Addr().String(), 2e6, 30*time.Millisecond)
	if err != nil {
		t.Fatal(err)
	}
	defer l.open.Close()
	began := time.Now()
	r, err := http.Get("http://" + l.open.Addr().(*net.TCPAddr).String())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil || string(b) != body {
		t.Fatalf("%d of %d bytes came (%v)", len(b), len(body), err)
	}
	if n := l.carried(); n < int64(len(body)) || n > int64(len(body))+1000 {
		t.Errorf("%d bytes are said to have been carried", n)
	}
	if took, least := time.Since(began), l.alone(int64(len(body))); took < least {
		t.Errorf("took %v, but the line alone needs %v", took, least)
	}
}
