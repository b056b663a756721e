//go:build !js

package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// send sends a request as it is written and returns the answer with its body.
func (r *rig) send(t testing.TB, method, path string, header map[string]string, body io.Reader) (*http.Response, []byte) {
	t.Helper()
	q, err := http.NewRequest(method, r.Origin+path, body)
	if err != nil {
		t.Fatal(err)
	}
	q.Header.Set("Accept-Encoding", "identity")
	for name, value := range header {
		q.Header.Set(name, value)
	}
	a, err := http.DefaultTransport.RoundTrip(q)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil {
		t.Fatal(err)
	}
	return a, b
}

// What the library does to requests and answers is mended: the handler sees what it sees elsewhere.
func TestBridge(t *testing.T) {
	r := onHost(t)
	store, ctx := r.dial(nil), context.Background()
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	if _, err := store.Put(ctx, at, mailboxtest.NewID(), []byte("sealed, with a comma")); err != nil {
		t.Fatal(err)
	}
	parcel := mailboxtest.NewID()
	if err := store.PutChunk(ctx, at, parcel, 0, 5, strings.NewReader("chunk")); err != nil {
		t.Fatal(err)
	}
	box := mailbox.Root + at.String()

	letters, body := r.send(t, "GET", box+"/letters", nil, nil)
	tag := letters.Header.Get("ETag")
	if letters.StatusCode != 200 || tag == "" || !bytes.HasSuffix(body, []byte("sealed, with a comma")) {
		t.Fatalf("letters: %d, tag %s, %d bytes", letters.StatusCode, tag, len(body))
	}
	// A header with commas arrives whole.
	a, body := r.send(t, "GET", box+"/letters", map[string]string{"If-None-Match": `"no,not,this", ` + tag}, nil)
	if a.StatusCode != 304 || len(body) > 0 || a.Header.Get("ETag") != tag {
		t.Errorf("a tag after another with a comma in it: %d with %d bytes, tag %s", a.StatusCode, len(body), a.Header.Get("ETag"))
	}
	a, _ = r.send(t, "GET", box+"/letters", map[string]string{"If-None-Match": `"no", ` + tag[:4] + "," + tag[4:]}, nil)
	if a.StatusCode != 200 {
		t.Errorf("a tag that differs by a comma: %d", a.StatusCode)
	}
	// An answer to HEAD has the headers of one to GET, the length of the body included, and no body.
	for _, path := range []string{box, box + "/letters", box + "/parcels/" + parcel.String(), box + "/parcels/" + parcel.String() + "/0"} {
		get, _ := r.send(t, "GET", path, nil, nil)
		head, body := r.send(t, "HEAD", path, nil, nil)
		if get.StatusCode != 200 || head.StatusCode != 200 || len(body) > 0 || fmt.Sprint(get.Header) != fmt.Sprint(head.Header) || get.Header.Get("Content-Length") == "" {
			t.Errorf("%s: GET %d %v; HEAD %d %v with %d bytes", path[len(box):], get.StatusCode, get.Header, head.StatusCode, head.Header, len(body))
		}
	}
	// What is not told of a length is not taken for one.
	chunk := box + "/parcels/" + parcel.String() + "/1"
	if a, _ = r.send(t, "PUT", chunk, nil, io.MultiReader(strings.NewReader("of no length"))); a.StatusCode != 411 {
		t.Errorf("a chunk whose length is not told: %d", a.StatusCode)
	}
	if a, _ = r.send(t, "PUT", chunk, nil, nil); a.StatusCode != 400 {
		t.Errorf("an empty chunk: %d", a.StatusCode)
	}
	if a, _ = r.send(t, "POST", box+"/close", map[string]string{"Authorization": mailbox.Bearer + right.Text()}, nil); a.StatusCode != 200 {
		t.Errorf("a command without a body: %d", a.StatusCode)
	}
	// A page of another site is refused by the host that it asked for.
	for origin, want := range map[string]int{r.Origin: 404, "https://elsewhere.example": 403} {
		if a, _ := r.send(t, "GET", box, map[string]string{"Origin": origin}, nil); a.StatusCode != want {
			t.Errorf("from %s: %d, want %d", origin, a.StatusCode, want)
		}
	}
	// An address that Go cannot read is refused, and no program is lost over it.
	before := r.memory(t).Runtimes
	if a, body := r.send(t, "GET", "/api/lab/mangled", nil, nil); a.StatusCode != 400 || string(body) != "Bad Request\n" {
		t.Errorf("an address with a broken escape: %d %q", a.StatusCode, body)
	}
	if m := r.memory(t); m.Runtimes != before {
		t.Errorf("%d runtimes are left of %d", m.Runtimes, before)
	}
	// A client is known by its network address.
	r.ask(t, "fresh?RATE=2", nil)
	spent := 0
	for range 500 {
		a, _ := r.send(t, "GET", mailbox.Root+"nothing", map[string]string{"CF-Connecting-IP": "203.0.113.7"}, nil)
		if a.StatusCode == 429 {
			if a.Header.Get("Retry-After") == "" {
				t.Error("too many requests, and no word on when to come again")
			}
			break
		}
		spent++
	}
	if a, _ := r.send(t, "GET", mailbox.Root+"nothing", map[string]string{"CF-Connecting-IP": "203.0.113.8"}, nil); a.StatusCode != 404 || spent == 500 {
		t.Errorf("after %d requests of another client: %d", spent, a.StatusCode)
	}
}

// A program that ends takes the request that it served with it, and no other.
func TestProgramEnds(t *testing.T) {
	r := onHost(t)
	r.ask(t, "fresh", nil)
	r.ask(t, "hold", nil)
	r.ask(t, "release", nil)
	most := r.memory(t).Most
	for i, how := range []string{"end", "pierce", "end", "pierce", "pierce"} {
		if a, body := r.send(t, "GET", "/api/lab/"+how, nil, nil); a.StatusCode != 500 || string(body) != "Internal Server Error\n" {
			t.Errorf("%s: %d %q", how, a.StatusCode, body)
		}
		if m := r.memory(t); m.Runtimes != most-i-1 {
			t.Errorf("after %s %d runtimes are left of %d", how, m.Runtimes, most)
		}
	}
	each(30, func(int) {
		if a, _ := r.send(t, "GET", mailbox.Root+"nothing", nil, nil); a.StatusCode != 404 {
			t.Errorf("after that: %d", a.StatusCode)
		}
	})
}

// Clients that break off leave neither a chunk nor a runtime that serves nobody.
func TestBrokenOff(t *testing.T) {
	r := onHost(t)
	r.ask(t, "fresh", nil)
	store, ctx := r.dial(nil), context.Background()
	at, right, parcel := mailboxtest.NewAddress(), mailboxtest.NewRight(), mailboxtest.NewID()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	request := func(after time.Duration, head string, body int) {
		c, err := net.Dial("tcp", strings.TrimPrefix(r.Origin, "http://"))
		if err != nil {
			t.Error(err)
			return
		}
		w := bufio.NewWriter(c)
		fmt.Fprintf(w, "%s HTTP/1.1\r\nHost: plumb.example\r\nContent-Length: %d\r\n\r\n", head, 4*body)
		w.Write(mailboxtest.Bytes(body))
		w.Flush()
		time.Sleep(after)
		c.Close()
	}
	each(20, func(i int) {
		request(time.Duration(i)*20*time.Millisecond, fmt.Sprintf("PUT %s%s/parcels/%s/%d", mailbox.Root, at, parcel, i), 250_000)
	})
	each(60, func(i int) {
		request(time.Duration(i)*2*time.Millisecond, "GET "+mailbox.Root+at.String(), 0)
	})
	r.waitFor(t)
	if p, err := store.Chunks(ctx, at, right, parcel); err != nil || len(p.Chunks) != 0 {
		t.Errorf("what has arrived: %v, %v", p.Chunks, err)
	}
	// One that is refused while it sends hears why.
	each(20, func(i int) {
		body := bytes.NewReader(mailboxtest.Bytes(mailbox.MaxChunk))
		if err := store.PutChunk(ctx, mailboxtest.NewAddress(), parcel, 0, mailbox.MaxChunk, body); err != mailbox.ErrNone {
			t.Errorf("to a box that is not there: %v", err)
		}
	})
	if err := store.PutChunk(ctx, at, parcel, 0, 6, strings.NewReader("whole\n")); err != nil {
		t.Errorf("afterwards: %v", err)
	}
}
