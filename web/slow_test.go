package web_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// proxied serves a store behind a proxy that tells of each client.
func proxied(t *testing.T, s mailbox.Store) *httptest.Server {
	terms := free(t)
	terms.From = func(r *http.Request) string { return r.Header.Get("X-Forwarded-For") }
	server := httptest.NewServer(web.Mailbox(s, terms))
	t.Cleanup(server.Close)
	return server
}

// hang begins n requests of one client and leaves them where they are until the test ends.
func hang(t *testing.T, s *httptest.Server, from string, n int, request func(i int) string) {
	t.Helper()
	for i := range n {
		c, err := net.Dial("tcp", s.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		head, rest, _ := strings.Cut(request(i), "\n")
		fmt.Fprintf(c, "%s HTTP/1.1\r\nHost: x\r\nX-Forwarded-For: %s\r\n%s", head, from, rest)
	}
	time.Sleep(200 * time.Millisecond) // all have come
}

// One client that begins uploads and does not go on keeps no other from sending and reading.
func TestSlowClient(t *testing.T) {
	t.Parallel()
	for name, fresh := range stores {
		for _, kind := range []string{"letters to unknown boxes", "letters to a box", "chunks to unknown boxes", "chunks to a box"} {
			t.Run(name+", "+kind, func(t *testing.T) {
				h := fresh(t, mailboxtest.Plenty)
				s := proxied(t, h.Store)
				_, _, own := opened(t, h)
				other, _, _ := opened(t, h)
				n := 80
				if strings.HasPrefix(kind, "chunks") {
					n = 280
				}
				hang(t, s, "192.0.2.1", n, func(int) string {
					box := own
					if strings.HasSuffix(kind, "unknown boxes") {
						box = mailbox.Root + mailboxtest.NewAddress().String()
					}
					if strings.HasPrefix(kind, "letters") {
						return "PUT " + box + "/letters/" + mailboxtest.NewID().String() + "\nContent-Length: 100000\r\n\r\nx"
					}
					return "PUT " + box + "/parcels/" + mailboxtest.NewID().String() + "/0\nContent-Length: 4000000\r\n\r\nx"
				})
				c := &client.Store{Do: mailboxtest.Dial(s.URL, &http.Client{Transport: from{"192.0.2.2"}})}
				began := time.Now()
				_, letter := c.Put(background, other, mailboxtest.NewID(), []byte("sealed"))
				chunk := c.PutChunk(background, other, mailbox.ID{1}, 0, 6, strings.NewReader("sealed"))
				letters, page := c.Get(background, other, mailbox.Right{}, 0, 0)
				if err := errors.Join(letter, chunk, page); err != nil || len(letters) != 1 || time.Since(began) > time.Second {
					t.Errorf("another client: %d letters after %v, %v", len(letters), time.Since(began), err)
				}
			})
		}
	}
}

// from is a transport through a proxy.
type from struct{ client string }

func (f from) RoundTrip(r *http.Request) (*http.Response, error) {
	r.Header.Set("X-Forwarded-For", f.client)
	return http.DefaultTransport.RoundTrip(r)
}

// An office whose people have one address, each on a line that pauses, sends at once and comes through.
func TestOffice(t *testing.T) {
	h := inMemory(t, mailboxtest.Plenty)
	s := proxied(t, h.Store)
	at, _, path := opened(t, h)
	var all sync.WaitGroup
	for range 100 {
		all.Go(func() {
			body := io.MultiReader(strings.NewReader("first "), &rest{after: 100 * time.Millisecond, Reader: strings.NewReader("second")})
			r, _ := http.NewRequest("PUT", s.URL+path+"/letters/"+mailboxtest.NewID().String(), body)
			r.ContentLength = 12
			a, err := from{"192.0.2.1"}.RoundTrip(r)
			if err != nil {
				t.Error(err)
				return
			}
			defer a.Body.Close()
			if a.StatusCode != 200 {
				t.Errorf("a letter: %s", a.Status)
			}
		})
	}
	all.Wait()
	if b, err := h.Store.Look(background, at, mailbox.Right{}); err != nil || b.Letters != 100 {
		t.Errorf("there is %+v, %v", b, err)
	}
}

// rest is a reader that begins late.
type rest struct {
	io.Reader
	after time.Duration
	once  sync.Once
}

func (r *rest) Read(p []byte) (int, error) {
	r.once.Do(func() { time.Sleep(r.after) })
	return r.Reader.Read(p)
}

// lined is an answer over a line that notes until when it would be read.
type lined struct {
	*httptest.ResponseRecorder
	until []time.Time
}

func (l *lined) SetReadDeadline(t time.Time) error { l.until = append(l.until, t); return nil }

// A letter is waited for by its length, and no longer.
func TestLetterDeadline(t *testing.T) {
	h := inMemory(t, mailboxtest.Plenty)
	m := web.Mailbox(h.Store, free(t))
	_, _, path := opened(t, h)
	for size, want := range map[int]time.Duration{1: 5 * time.Second, 150_000: 15 * time.Second} {
		l := &lined{ResponseRecorder: httptest.NewRecorder()}
		now := time.Now()
		m.ServeHTTP(l, httptest.NewRequest("PUT", path+"/letters/"+mailboxtest.NewID().String(), bytes.NewReader(make([]byte, size))))
		if l.Code != 200 || len(l.until) != 2 || l.until[0].Sub(now).Round(time.Second) != want || !l.until[1].IsZero() {
			t.Errorf("%d bytes: %d, %v; want %v and then none", size, l.Code, l.until, want)
		}
	}
}

// A letter that does not come is given up, whatever the server allows.
func TestSlowLetter(t *testing.T) {
	t.Parallel()
	h := inMemory(t, mailboxtest.Plenty)
	s := proxied(t, h.Store)
	at, _, path := opened(t, h)
	c, err := net.Dial("tcp", s.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "PUT %s/letters/%s HTTP/1.1\r\nHost: x\r\nContent-Length: 6\r\n\r\nsea", path, mailboxtest.NewID())
	c.SetReadDeadline(time.Now().Add(8 * time.Second))
	if b, err := io.ReadAll(c); err != nil || len(b) > 0 && !strings.HasPrefix(string(b), "HTTP/1.1 408 ") {
		t.Errorf("a slow letter: %q, %v", b, err)
	}
	if b, err := h.Store.Look(background, at, mailbox.Right{}); err != nil || b.Letters != 0 {
		t.Errorf("there is %+v, %v", b, err)
	}
}
