package web_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
	"example.org/plumb/web/mailbox/sqlite"
)

var background = context.Background()

// free are terms that no test comes up against.
func free(t testing.TB) web.Terms {
	return web.Terms{
		Client: web.Rate{Burst: 1e6, Each: 1e6}, Address: web.Rate{Burst: 1e6, Each: 1e6}, Drain: true,
		Fault: func(err error) { t.Errorf("a fault: %v", err) },
	}
}

// served is a store's harness with the store behind the handler and the client.
func served(t *testing.T, h mailboxtest.Harness) mailboxtest.Harness {
	s := httptest.NewServer(web.Mailbox(h.Store, free(t)))
	t.Cleanup(s.Close)
	h.Store, h.Far = &client.Store{Do: mailboxtest.Dial(s.URL, s.Client())}, true
	return h
}

func inMemory(_ *testing.T, limit int64) mailboxtest.Harness {
	clock := mailboxtest.NewClock()
	s := memory.New(clock.Now, limit)
	return mailboxtest.Harness{Store: s, Sweep: s.Sweep, Clock: clock}
}

func inFolder(t *testing.T, limit int64) mailboxtest.Harness {
	clock := mailboxtest.NewClock()
	s, err := sqlite.Open(t.TempDir(), sqlite.Settings{Now: clock.Now, Limit: limit})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Shut(); err != nil {
			t.Error(err)
		}
	})
	return mailboxtest.Harness{Store: s, Sweep: s.Sweep, Clock: clock}
}

var stores = map[string]func(*testing.T, int64) mailboxtest.Harness{"memory": inMemory, "sqlite": inFolder}

func TestMailbox(t *testing.T) {
	for name, fresh := range stores {
		t.Run(name, func(t *testing.T) {
			mailboxtest.Run(t, func(t *testing.T, limit int64) mailboxtest.Harness { return served(t, fresh(t, limit)) })
		})
	}
}

// ask asks a handler, header names and values in turn.
func ask(h http.Handler, method, path string, body io.Reader, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, body)
	for i := 0; i < len(header); i += 2 {
		r.Header.Add(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// opened opens a box by the store itself.
func opened(t testing.TB, h mailboxtest.Harness) (at mailbox.Address, right mailbox.Right, path string) {
	t.Helper()
	at, right = mailboxtest.NewAddress(), mailboxtest.NewRight()
	if err := h.Store.Open(background, at, right.Owner(), h.Clock.Now().Add(10*24*time.Hour)); err != nil {
		t.Fatal(err)
	}
	return at, right, mailbox.Root + at.String()
}

// What is not there, is over or is another's is answered by the same bytes and the same headers, over the line.
func TestNoneIsNone(t *testing.T) {
	for name, fresh := range stores {
		t.Run(name, func(t *testing.T) {
			h := fresh(t, mailboxtest.Plenty)
			s := httptest.NewServer(web.Mailbox(h.Store, free(t)))
			defer s.Close()
			letter, parcel := mailboxtest.NewID(), mailboxtest.NewID()
			var expired, open mailbox.Address
			var expiredRight mailbox.Right
			expired, expiredRight, _ = opened(t, h)
			h.Clock.Advance(11 * 24 * time.Hour)
			closed, closedRight, _ := opened(t, h)
			deleted, deletedRight, _ := opened(t, h)
			for _, at := range []mailbox.Address{closed, deleted} {
				if _, err := h.Store.Put(background, at, letter, []byte("sealed")); err != nil {
					t.Fatal(err)
				}
				if err := h.Store.PutChunk(background, at, parcel, 0, 6, strings.NewReader("sealed")); err != nil {
					t.Fatal(err)
				}
			}
			if err := errors.Join(h.Store.Close(background, closed, closedRight), h.Store.Delete(background, deleted, deletedRight)); err != nil {
				t.Fatal(err)
			}
			open, _, _ = opened(t, h)
			other := mailboxtest.NewRight()
			raw := func(method, path string, right *mailbox.Right, body string) string {
				c, err := net.Dial("tcp", s.Listener.Addr().String())
				if err != nil {
					t.Fatal(err)
				}
				defer c.Close()
				shown := ""
				if right != nil {
					shown = "Authorization: Bearer " + right.Text() + "\r\n"
				}
				fmt.Fprintf(c, "%s %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n%sPlumb-Expires: %s\r\nContent-Length: %d\r\n\r\n%s",
					method, path, s.Listener.Addr(), shown, mailbox.FormatDay(h.Clock.Now().Add(48*time.Hour)), len(body), body)
				b, err := io.ReadAll(c)
				if err != nil {
					t.Fatal(err)
				}
				var lines []string
				for line := range strings.SplitSeq(string(b), "\r\n") {
					if !strings.HasPrefix(line, "Date: ") {
						lines = append(lines, line)
					}
				}
				return strings.Join(lines, "\r\n")
			}
			want := raw("GET", mailbox.Root+mailboxtest.NewAddress().String(), nil, "")
			if !strings.HasPrefix(want, "HTTP/1.1 404 Not Found\r\n") || !strings.HasSuffix(want, "\r\n\r\nNot Found\n") {
				t.Fatalf("an unknown box: %q", want)
			}
			checked := 0
			same := func(what, method, path string, right *mailbox.Right, body string) {
				checked++
				if got := raw(method, path, right, body); got != want {
					t.Errorf("%s: %s %s: %q\nwant %q", what, method, path, got, want)
				}
			}
			for what, c := range map[string]struct {
				at    mailbox.Address
				right mailbox.Right
			}{
				"unknown": {mailboxtest.NewAddress(), other}, "closed": {closed, other}, "deleted": {deleted, other},
				"expired": {expired, other}, "expired, by its owner": {expired, expiredRight},
			} {
				box := mailbox.Root + c.at.String()
				for _, right := range []*mailbox.Right{nil, &c.right} {
					same(what, "GET", box, right, "")
					same(what, "GET", box+"/letters?after=0", right, "")
					same(what, "GET", box+"/parcels/"+parcel.String(), right, "")
					same(what, "GET", box+"/parcels/"+parcel.String()+"/0", right, "")
					same(what, "PUT", box+"/letters/"+letter.String(), right, "sealed")
					same(what, "PUT", box+"/parcels/"+parcel.String()+"/0", right, "sealed")
					same(what, "PUT", box+"/parcels/"+parcel.String()+"/1", right, strings.Repeat("sealed", 100_000))
					same(what, "POST", box+"/close", right, "")
					same(what, "POST", box+"/extend", right, "")
					same(what, "DELETE", box, right, "")
				}
			}
			box := mailbox.Root + open.String()
			for _, right := range []*mailbox.Right{nil, &other} {
				same("another's", "POST", box+"/close", right, "")
				same("another's", "POST", box+"/extend", right, "")
				same("another's", "DELETE", box, right, "")
			}
			same("another's", "GET", box, &other, "")
			same("another's", "GET", box+"/letters", &other, "")
			same("no chunk", "GET", box+"/parcels/"+parcel.String()+"/0", nil, "")
			same("no address", "GET", mailbox.Root+"short", nil, "")
			same("no id", "PUT", box+"/letters/short", nil, "sealed")
			same("no place", "GET", box+"/parcels/"+parcel.String()+"/01", nil, "")
			same("no command", "PATCH", box, nil, "")
			same("no command", "GET", "/api/v2/", nil, "")
			same("no command", "GET", box+"/", nil, "")
			same("a path to be cleaned", "GET", mailbox.Root+"/"+open.String(), nil, "")
			same("a path to be cleaned", "GET", box+"/x/..", nil, "")
			same("a path to be read", "GET", box+"/%6cetters", nil, "")
			if checked < 110 {
				t.Errorf("only %d answers were compared", checked)
			}
		})
	}
}

// Other sites' pages get nothing, and no answer invites them.
func TestForeign(t *testing.T) {
	h := inMemory(t, mailboxtest.Plenty)
	m := web.Mailbox(h.Store, free(t))
	_, _, path := opened(t, h)
	for _, c := range []struct {
		header []string
		want   int
	}{
		{nil, 200},
		{[]string{"Sec-Fetch-Site", "same-origin"}, 200},
		{[]string{"Sec-Fetch-Site", "same-origin", "Origin", "http://example.com"}, 200},
		{[]string{"Origin", "https://example.com"}, 200},
		{[]string{"Sec-Fetch-Site", "none"}, 403},
		{[]string{"Sec-Fetch-Site", "same-site"}, 403},
		{[]string{"Sec-Fetch-Site", "cross-site"}, 403},
		{[]string{"Sec-Fetch-Site", "same-origin", "Sec-Fetch-Site", "cross-site"}, 403},
		{[]string{"Origin", "https://example.org"}, 403},
		{[]string{"Origin", "https://example.com:444"}, 403},
		{[]string{"Origin", "https://example.com.example.org"}, 403},
		{[]string{"Origin", "null"}, 403},
		{[]string{"Origin", ""}, 403},
		{[]string{"Origin", "::"}, 403},
		{[]string{"Sec-Fetch-Site", "same-origin", "Origin", "https://example.org"}, 403},
	} {
		for _, method := range []string{"GET", "OPTIONS"} {
			a := ask(m, method, path, nil, append(c.header, "Access-Control-Request-Method", "PUT")...)
			want := c.want
			if method == "OPTIONS" && want == 200 {
				want = 404
			}
			if a.Code != want {
				t.Errorf("%s with %q: %d, want %d", method, c.header, a.Code, want)
			}
			for name := range a.Header() {
				if strings.HasPrefix(name, "Access-Control") {
					t.Errorf("%s with %q: %s is set", method, c.header, name)
				}
			}
			if a.Header().Get("Cross-Origin-Resource-Policy") != "same-origin" || a.Header().Get("Cache-Control") != "no-store" {
				t.Errorf("%s with %q: headers %v", method, c.header, a.Header())
			}
		}
	}
}

// endless is a body that counts what is read of it.
type endless struct{ read int }

func (e *endless) Read(p []byte) (int, error) { e.read += len(p); return len(p), nil }

func TestRefusals(t *testing.T) {
	h := inMemory(t, mailboxtest.Plenty)
	m := web.Mailbox(h.Store, free(t))
	at, right, path := opened(t, h)
	letter, chunk := path+"/letters/"+mailboxtest.NewID().String(), path+"/parcels/"+mailboxtest.NewID().String()
	tomorrow := mailbox.FormatDay(h.Clock.Now().Add(24 * time.Hour))
	owner := mailboxtest.NewRight().Owner().String()
	fresh := func() string { return mailbox.Root + mailboxtest.NewAddress().String() }
	bearer := "Bearer " + right.Text()
	for _, c := range []struct {
		what, method, path string
		size               int // -1 for a body that is not told how long
		header             []string
		want               int
	}{
		{"a letter", "PUT", letter, 5, nil, 200},
		{"the same id, other bytes", "PUT", letter, 6, nil, 409},
		{"an empty letter", "PUT", path + "/letters/" + mailboxtest.NewID().String(), 0, nil, 400},
		{"a large letter", "PUT", letter, mailbox.MaxLetter + 1, nil, 413},
		{"a large letter, not told", "PUT", letter, -1, nil, 413},
		{"a chunk", "PUT", chunk + "/0", 5, nil, 200},
		{"a chunk, not told", "PUT", chunk + "/0", -1, nil, 411},
		{"a large chunk", "PUT", chunk + "/1", mailbox.MaxChunk + 1, nil, 413},
		{"an empty chunk", "PUT", chunk + "/1", 0, nil, 400},
		{"a chunk too far", "PUT", fmt.Sprint(chunk, "/", mailbox.MaxChunks), 5, nil, 400},
		{"a chunk much too far", "PUT", chunk + "/99999999999999999999", 5, nil, 404},
		{"a chunk by another name", "GET", chunk + "/00", 0, nil, 404},
		{"another chunk in its place", "PUT", chunk + "/0", 6, nil, 409},
		{"a box", "PUT", fresh(), 0, []string{"Plumb-Owner", owner, "Plumb-Expires", tomorrow}, 200},
		{"a box that is taken", "PUT", path, 0, []string{"Plumb-Owner", owner, "Plumb-Expires", tomorrow}, 409},
		{"a box without an owner", "PUT", fresh(), 0, []string{"Plumb-Expires", tomorrow}, 400},
		{"a box without an end", "PUT", fresh(), 0, []string{"Plumb-Owner", owner}, 400},
		{"a box that ended", "PUT", fresh(), 0, []string{"Plumb-Owner", owner, "Plumb-Expires", "2020-01-01"}, 400},
		{"a box for ever", "PUT", fresh(), 0, []string{"Plumb-Owner", owner, "Plumb-Expires", "2999-01-01"}, 400},
		{"extending to nothing", "POST", path + "/extend", 0, []string{"Authorization", bearer}, 400},
		{"extending", "POST", path + "/extend", 0, []string{"Authorization", bearer, "Plumb-Expires", tomorrow}, 200},
		{"after what", "GET", path + "/letters?after=x", 0, nil, 400},
		{"after less than nothing", "GET", path + "/letters?after=-1", 0, nil, 400},
		{"at most what", "GET", path + "/letters?limit=1e3", 0, nil, 400},
		{"after much", "GET", path + "/letters?after=18446744073709551615&limit=18446744073709551615", 0, nil, 200},
		{"after too much", "GET", path + "/letters?after=18446744073709551616", 0, nil, 400},
		{"two rights", "GET", path, 0, []string{"Authorization", bearer, "Authorization", bearer}, 404},
		{"a right of another kind", "GET", path, 0, []string{"Authorization", "Basic " + right.Text()}, 404},
		{"half a right", "GET", path, 0, []string{"Authorization", bearer[:30]}, 404},
		{"the zero right", "POST", path + "/close", 0, []string{"Authorization", "Bearer " + mailbox.Right{}.Text()}, 404},
		{"the right", "GET", path, 0, []string{"Authorization", bearer}, 200},
		{"only the head", "HEAD", chunk + "/0", 0, nil, 200},
		{"only the head of letters", "HEAD", path + "/letters", 0, nil, 200},
	} {
		var body io.Reader = strings.NewReader(strings.Repeat("x", max(0, c.size)))
		count := &endless{}
		if c.size < 0 || c.want == 413 {
			body = count
		}
		r := httptest.NewRequest(c.method, c.path, body)
		r.ContentLength = int64(c.size)
		for i := 0; i < len(c.header); i += 2 {
			r.Header.Add(c.header[i], c.header[i+1])
		}
		a := httptest.NewRecorder()
		m.ServeHTTP(a, r)
		if a.Code != c.want {
			t.Errorf("%s: %d, want %d", c.what, a.Code, c.want)
		}
		if count.read > 2*mailbox.MaxLetter || c.size > 0 && count.read > 0 {
			t.Errorf("%s: %d bytes of the body were read", c.what, count.read)
		}
		if s := a.Body.String(); a.Code != 200 && s != http.StatusText(a.Code)+"\n" {
			t.Errorf("%s: says %q", c.what, s)
		}
	}
	if b, err := h.Store.Look(background, at, right); err != nil || b.Letters != 1 || b.Bytes != 3*mailbox.Row+10 {
		t.Errorf("in the end: %+v, %v", b, err)
	}
}

// A poll that finds nothing new is answered without a body.
func TestIdlePoll(t *testing.T) {
	h := inMemory(t, mailboxtest.Plenty)
	m := web.Mailbox(h.Store, free(t))
	at, _, path := opened(t, h)
	poll := func(tag string) *httptest.ResponseRecorder {
		return ask(m, "GET", path+"/letters?after=0", nil, "If-None-Match", tag)
	}
	first := poll("")
	tag := first.Header().Get("ETag")
	if first.Code != 200 || tag == "" || first.Body.Len() != 0 || first.Header().Get("Cache-Control") != "no-cache" {
		t.Fatalf("an empty box: %d, %v", first.Code, first.Header())
	}
	if a := poll(tag); a.Code != 304 || a.Body.Len() != 0 || a.Header().Get("ETag") != tag {
		t.Errorf("nothing new: %d, %d bytes, %v", a.Code, a.Body.Len(), a.Header())
	}
	if _, err := h.Store.Put(background, at, mailboxtest.NewID(), []byte("new")); err != nil {
		t.Fatal(err)
	}
	a := poll(tag)
	if letters, err := mailbox.ParseLetters(a.Body.Bytes()); a.Code != 200 || err != nil || len(letters) != 1 || a.Header().Get("ETag") == tag {
		t.Errorf("something new: %d, %v, %v", a.Code, letters, err)
	}
	if a := poll(a.Header().Get("ETag")); a.Code != 304 {
		t.Errorf("nothing new after that: %d", a.Code)
	}
}

func TestRates(t *testing.T) {
	h := inMemory(t, mailboxtest.Plenty)
	var mu sync.Mutex
	now := time.Unix(1e9, 0)
	terms := free(t)
	terms.Client, terms.Address = web.Rate{Burst: 10, Each: 1}, web.Rate{Burst: 25, Each: 5}
	terms.Now = func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	m := web.Mailbox(h.Store, terms)
	_, _, path := opened(t, h)
	from := func(client, path string, n int) (through int, last *httptest.ResponseRecorder) {
		for range n {
			r := httptest.NewRequest("GET", path, nil)
			r.RemoteAddr = client
			last = httptest.NewRecorder()
			if m.ServeHTTP(last, r); last.Code != 429 {
				through++
			}
		}
		return through, last
	}
	n, last := from("192.0.2.1:1111", path, 12)
	if n != 10 || last.Code != 429 || last.Header().Get("Retry-After") != "1" {
		t.Errorf("one client: %d got through, then %d, Retry-After %q", n, last.Code, last.Header().Get("Retry-After"))
	}
	if n, _ := from("192.0.2.1:2222", mailbox.Root+"nothing", 1); n != 0 {
		t.Error("the same client by another port and path got through")
	}
	if n, _ := from("192.0.2.2:1111", path, 10); n != 10 {
		t.Errorf("another client: %d got through", n)
	}
	// The box has had 20 by now.
	if n, last = from("192.0.2.3:1111", path, 8); n != 5 || last.Header().Get("Retry-After") != "1" {
		t.Errorf("one box: %d got through, Retry-After %q", n, last.Header().Get("Retry-After"))
	}
	if n, _ := from("192.0.2.3:1111", mailbox.Root+mailboxtest.NewAddress().String(), 2); n != 2 {
		t.Errorf("a box that is not there: %d got through", n)
	}
	mu.Lock()
	now = now.Add(3 * time.Second)
	mu.Unlock()
	if n, _ := from("192.0.2.1:1111", path, 5); n != 3 {
		t.Errorf("three seconds later: %d got through", n)
	}
	// One that is not there is limited like one that is.
	unknown := mailbox.Root + mailboxtest.NewAddress().String()
	through := 0
	for i := range 30 {
		n, _ := from(fmt.Sprintf("198.51.100.%d:1", i), unknown, 1)
		through += n
	}
	if through != 25 {
		t.Errorf("of requests for an unknown box %d got through", through)
	}
}

// A disk without room refuses cleanly over the line, and what is there can be read.
func TestFull(t *testing.T) {
	clock := mailboxtest.NewClock()
	small, err := sqlite.Open(t.TempDir(), sqlite.Settings{Now: clock.Now, Limit: mailboxtest.Plenty, Pages: 100})
	if err != nil {
		t.Fatal(err)
	}
	defer small.Shut()
	limited := memory.New(clock.Now, 100_000)
	for what, store := range map[string]mailbox.Store{"no more pages": small, "a limit for all": limited} {
		h := mailboxtest.Harness{Store: store, Clock: clock}
		m := web.Mailbox(store, free(t))
		at, _, path := opened(t, h)
		n, status := 0, 200
		for ; status == 200 && n < 100; n++ {
			status = ask(m, "PUT", path+"/letters/"+mailboxtest.NewID().String(), bytes.NewReader(mailboxtest.Bytes(15_000))).Code
		}
		if status != 507 || n < 4 {
			t.Errorf("%s: after %d letters %d", what, n, status)
		}
		if a := ask(m, "GET", path+"/letters", nil); a.Code != 200 || a.Body.Len() < 15_000*(n-1) {
			t.Errorf("%s: reading gives %d and %d bytes", what, a.Code, a.Body.Len())
		}
		if b, err := store.Look(background, at, mailbox.Right{}); err != nil || b.Letters != n-1 {
			t.Errorf("%s: %+v, %v; %d letters were taken", what, b, err, n-1)
		}
	}
}

// failing fails in one way.
type failing struct {
	mailbox.Store
	err error
}

func (f failing) Look(context.Context, mailbox.Address, mailbox.Right) (mailbox.Box, error) {
	return mailbox.Box{}, f.err
}

func TestFaults(t *testing.T) {
	path := mailbox.Root + mailboxtest.NewAddress().String()
	for _, c := range []struct {
		err   error
		want  int
		retry string
		told  bool
	}{
		{mailbox.Busy{After: 1500 * time.Millisecond}, 503, "2", false},
		{fmt.Errorf("wrapped: %w", mailbox.Busy{}), 503, "1", false},
		{errors.New("sqlite: disk I/O error"), 500, "", true},
		{fmt.Errorf("wrapped: %w", mailbox.ErrFull), 507, "", false},
		{&net.OpError{Op: "read", Err: errors.New("reset by 192.0.2.1")}, 400, "", false},
	} {
		var told error
		terms := free(t)
		terms.Fault = func(err error) { told = err }
		a := ask(web.Mailbox(failing{err: c.err}, terms), "GET", path, nil)
		if a.Code != c.want || a.Header().Get("Retry-After") != c.retry || (told != nil) != c.told || strings.Contains(a.Body.String(), "disk") {
			t.Errorf("%v: %d, Retry-After %q, told %v", c.err, a.Code, a.Header().Get("Retry-After"), told)
		}
	}
}

func (f failing) GetChunk(context.Context, mailbox.Address, mailbox.Right, mailbox.ID, int) (io.ReadCloser, int64, error) {
	return io.NopCloser(io.MultiReader(strings.NewReader(strings.Repeat("half", 2000)), pause{f.err})), 16_000, nil
}

// A chunk that the store cannot give whole does not look whole to the client.
func TestBroken(t *testing.T) {
	for _, err := range []error{errors.New("sqlite: disk I/O error"), io.EOF} {
		terms := free(t)
		var told atomic.Bool
		terms.Fault = func(err error) {
			told.Store(true)
			if strings.Contains(err.Error(), "127.0.0.1") {
				t.Errorf("a fault tells of the client: %v", err)
			}
		}
		s := httptest.NewServer(web.Mailbox(failing{err: err}, terms))
		defer func() {
			s.Close()
			if told.Load() != (err != io.EOF) {
				t.Errorf("%v: a fault was told: %t", err, told.Load())
			}
		}()
		c := &client.Store{Do: mailboxtest.Dial(s.URL, s.Client())}
		r, size, err := c.GetChunk(background, mailbox.Address{}, mailbox.Right{}, mailbox.ID{}, 0)
		if errors.Is(err, client.ErrOffline) {
			continue // nothing had left yet
		}
		if err != nil || size != 16_000 {
			t.Errorf("%d bytes, %v", size, err)
			continue
		}
		if got, err := io.ReadAll(r); !errors.Is(err, client.ErrOffline) {
			t.Errorf("%d bytes, %v", len(got), err)
		}
		r.Close()
	}
}

// A line that breaks in the middle of a chunk is nobody's fault, and leaves nothing.
func TestCut(t *testing.T) {
	h := inFolder(t, mailboxtest.Plenty)
	s := httptest.NewServer(web.Mailbox(h.Store, free(t)))
	defer s.Close()
	at, _, path := opened(t, h)
	parcel := mailboxtest.NewID()
	for _, reset := range []bool{false, true} {
		c, err := net.Dial("tcp", s.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "PUT %s/parcels/%s/0 HTTP/1.1\r\nHost: x\r\nContent-Length: 100000\r\n\r\n%s", path, parcel, strings.Repeat("x", 50_000))
		time.Sleep(20 * time.Millisecond)
		if reset {
			c.(*net.TCPConn).SetLinger(0)
		}
		c.Close()
	}
	// And one that breaks while a chunk is read.
	if err := h.Store.PutChunk(background, at, mailbox.ID{1}, 0, mailbox.MaxChunk, bytes.NewReader(make([]byte, mailbox.MaxChunk))); err != nil {
		t.Fatal(err)
	}
	for _, reset := range []bool{false, true} {
		c, err := net.Dial("tcp", s.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		c.(*net.TCPConn).SetReadBuffer(4096)
		fmt.Fprintf(c, "GET %s/parcels/%s/0 HTTP/1.1\r\nHost: x\r\n\r\n", path, mailbox.ID{1})
		c.Read(make([]byte, 100))
		if reset {
			c.(*net.TCPConn).SetLinger(0)
		}
		c.Close()
	}
	s.Close() // waits for all
	if p, err := h.Store.Chunks(background, at, mailbox.Right{}, parcel); err != nil || len(p.Chunks) != 0 {
		t.Errorf("left is %+v, %v", p, err)
	}
}

// A chunk may take longer than the server gives other requests.
func TestSlow(t *testing.T) {
	h := inFolder(t, mailboxtest.Plenty)
	s := httptest.NewUnstartedServer(web.Mailbox(h.Store, free(t)))
	s.Config.ReadTimeout, s.Config.WriteTimeout = 200*time.Millisecond, 200*time.Millisecond
	s.Start()
	defer s.Close()
	at, _, _ := opened(t, h)
	c := &client.Store{Do: mailboxtest.Dial(s.URL, s.Client())}
	slow := io.MultiReader(strings.NewReader("first "), pause{io.EOF}, strings.NewReader("second"))
	if err := c.PutChunk(background, at, mailbox.ID{1}, 0, 12, slow); err != nil {
		t.Errorf("a slow chunk: %v", err)
	}
	if p, err := h.Store.Chunks(background, at, mailbox.Right{}, mailbox.ID{1}); err != nil || len(p.Chunks) != 1 || p.Chunks[0] != 12 {
		t.Errorf("there is %+v, %v", p, err)
	}
}

// pause is a reader that takes its time to fail or end.
type pause struct{ err error }

func (p pause) Read([]byte) (int, error) { time.Sleep(500 * time.Millisecond); return 0, p.err }

// FuzzMailbox gives the handler requests of all kinds. It never fails, keeps its headers, and tells nothing but words of its own.
func FuzzMailbox(f *testing.F) {
	clock := mailboxtest.NewClock()
	store := memory.New(clock.Now, 1<<20)
	at, right, id := mailbox.Address{1}, mailbox.Right{1}, mailbox.ID{1}
	if err := store.Open(background, at, right.Owner(), clock.Now().Add(24*time.Hour)); err != nil {
		f.Fatal(err)
	}
	if _, err := store.Put(background, at, id, []byte("sealed")); err != nil {
		f.Fatal(err)
	}
	if err := store.PutChunk(background, at, id, 0, 6, strings.NewReader("sealed")); err != nil {
		f.Fatal(err)
	}
	box := mailbox.Root + at.String()
	bearer := mailbox.Bearer + right.Text()
	for _, path := range []string{box, box + "/letters", box + "/letters?after=1&limit=2", box + "/letters/" + id.String(), box + "/parcels/" + id.String(), box + "/parcels/" + id.String() + "/0",
		box + "/close", box + "/extend", mailbox.Root, "/", "/api/v1//", box + "/..", box + "/%2e%2e/", box + "/letters;"} {
		for _, method := range []string{"GET", "PUT", "POST", "HEAD", "DELETE", "OPTIONS", "CONNECT"} {
			f.Add(method, path, bearer, "2026-09-20", `"x"`, []byte("sealed"))
		}
	}
	f.Fuzz(func(t *testing.T, method, path, bearer, expires, tag string, body []byte) {
		r, err := http.NewRequest(method, "http://example.com"+path, bytes.NewReader(body))
		if err != nil || r.URL.Host != "example.com" {
			return
		}
		if method == "DELETE" || strings.HasSuffix(path, "/close") {
			bearer = "" // the box is needed again
		}
		r.RemoteAddr, r.RequestURI = "192.0.2.1:1", path
		r.Header = http.Header{"Authorization": {bearer}, "Plumb-Expires": {expires}, "Plumb-Owner": {right.Owner().String()}, "If-None-Match": {tag}, "Range": {tag}}
		a := httptest.NewRecorder()
		web.Mailbox(store, free(t)).ServeHTTP(a, r)
		if !slices.Contains([]int{200, 304, 400, 404, 409, 411, 413, 507}, a.Code) {
			t.Errorf("status %d", a.Code)
		}
		if a.Header().Get("X-Content-Type-Options") != "nosniff" || a.Header().Get("Cache-Control") == "" {
			t.Errorf("headers %v", a.Header())
		}
		if a.Code == 404 && a.Body.String() != "Not Found\n" {
			t.Errorf("404 says %q", a.Body)
		}
		for name := range a.Header() {
			if strings.HasPrefix(name, "Access-Control") {
				t.Errorf("%s is set", name)
			}
		}
	})
}
