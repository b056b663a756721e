//go:build !js

package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// isolate is what all that an isolate of the host holds may take, in bytes: 128 MB.
const isolate = 128_000_000

// refusals is a transport that counts the answers that say when to come again.
type refusals struct {
	caller
	told, silent atomic.Int64
	odd          atomic.Value // headers of one that does not, as text
}

func (c *refusals) RoundTrip(r *http.Request) (*http.Response, error) {
	a, err := c.caller.RoundTrip(r)
	if err == nil && a.StatusCode == http.StatusServiceUnavailable {
		if a.Header.Get("Retry-After") == "1" {
			c.told.Add(1)
		} else {
			c.silent.Add(1)
			c.odd.Store(fmt.Sprint(a.Header))
		}
	}
	return a, err
}

// each runs n calls at once and waits for them.
func each(n int, f func(i int)) {
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() { f(i) })
	}
	all.Wait()
}

func month() time.Time { return time.Now().Add(30 * 24 * time.Hour) }

// With more clients than runtimes none meets an error: some wait at the door, and those who are sent away come again.
func TestCrowd(t *testing.T) {
	const clients, rounds = 60, 2
	r := onHost(t)
	r.ask(t, "fresh", nil)
	c := &refusals{}
	store := &client.Store{Do: mailboxtest.Dial(r.Origin, &http.Client{Transport: c}), Wait: patient}
	ctx := context.Background()
	session := func(int) {
		at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
		if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
			t.Errorf("open: %v", err)
			return
		}
		for n := range uint64(rounds) {
			body := mailboxtest.Bytes(2000)
			if seq, err := store.Put(ctx, at, mailboxtest.NewID(), body); err != nil || seq != n+1 {
				t.Errorf("put: place %d, %v", seq, err)
			}
			got, err := store.Get(ctx, at, mailbox.Right{}, n, 0)
			if err != nil || len(got) != 1 || !bytes.Equal(got[0].Body, body) {
				t.Errorf("get: %d letters, %v", len(got), err)
			}
		}
	}
	each(clients, session)

	// Nobody is served for longer than anyone waits at the door.
	r.ask(t, "hold", nil)
	time.AfterFunc(2500*time.Millisecond, func() { r.ask(t, "release", nil) })
	each(clients, session)
	if c.told.Load() == 0 {
		t.Error("nobody was sent away; the pool was never full")
	}
	if n := c.silent.Load(); n > 0 {
		t.Errorf("%d were sent away without a word on when to come again, such as %v", n, c.odd.Load())
	}
	m := r.memory(t)
	if m.Runtimes != m.Most || m.Peak >= isolate {
		t.Errorf("%d of %d runtimes hold at most %d bytes; want less than %d with the pool full", m.Runtimes, m.Most, m.Peak, isolate)
	}
	t.Logf("%d clients: %d sent away; %d runtimes held at most %.1f MB", clients, c.told.Load(), m.Runtimes, float64(m.Peak)/1e6)
}

// A runtime that serves one request after another keeps the memory that it has, and is kept.
func TestSteady(t *testing.T) {
	r := onHost(t)
	r.ask(t, "fresh", nil)
	store, ctx := r.dial(nil), context.Background()
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	for range 400 {
		if _, err := store.Get(ctx, at, right, 0, 0); err != nil {
			t.Fatal(err)
		}
	}
	if m := r.memory(t); m.Runtimes != 1 || m.Held != m.Bytes || m.Bytes > 8<<20 {
		t.Errorf("after 400 requests: %+v; want one runtime of at most 8 MiB", m)
	}
}

// Pages of large letters, asked for by as many as are served at a time.
func TestLargePages(t *testing.T) {
	r := onHost(t)
	r.ask(t, "fresh", nil)
	store, ctx := r.dial(nil), context.Background()
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	body := mailboxtest.Bytes(mailbox.MaxLetter)
	const letters = mailbox.Page / mailbox.MaxLetter
	for range letters {
		if _, err := store.Put(ctx, at, mailboxtest.NewID(), body); err != nil {
			t.Fatal(err)
		}
	}
	r.ask(t, "hold", nil)
	r.ask(t, "release", nil)
	m := r.memory(t)
	each(m.Most, func(int) {
		if got, err := store.Get(ctx, at, mailbox.Right{}, 0, 0); err != nil || len(got) != letters {
			t.Errorf("get: %d letters of %d, %v", len(got), letters, err)
		}
	})
	if m = r.memory(t); m.Peak >= isolate {
		t.Errorf("%d runtimes held %d bytes; want less than %d", m.Runtimes, m.Peak, isolate)
	}
	t.Logf("%d pages of %d KiB at once: at most %.1f MB", m.Most, mailbox.Page>>10, float64(m.Peak)/1e6)
}

// The bytes of a parcel pass by the program, however many come.
func TestParcel(t *testing.T) {
	const chunks, size = 8, 4<<20 + 16
	r := onHost(t)
	r.ask(t, "fresh", nil)
	store, ctx := r.dial(nil), context.Background()
	at, right, parcel := mailboxtest.NewAddress(), mailboxtest.NewRight(), mailboxtest.NewID()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	whole := mailboxtest.Bytes(chunks * size)
	for _, what := range []string{"first", "repeat"} {
		each(chunks, func(i int) {
			if err := store.PutChunk(ctx, at, parcel, i, size, bytes.NewReader(whole[i*size:][:size])); err != nil {
				t.Errorf("%s of chunk %d: %v", what, i, err)
			}
		})
	}
	for i := range chunks {
		chunk, n, err := store.GetChunk(ctx, at, right, parcel, i)
		if err != nil || n != size {
			t.Fatalf("chunk %d: %d bytes, %v", i, n, err)
		}
		got, err := io.ReadAll(chunk)
		if err != nil || !bytes.Equal(got, whole[i*size:][:size]) {
			t.Errorf("chunk %d came back with %d bytes, %v", i, len(got), err)
		}
		chunk.Close()
	}
	m := r.memory(t)
	if m.Copied == 0 || m.Copied > size/100 {
		t.Errorf("%d bytes went in and out of the program while %d passed by it; want some, and few", m.Copied, 3*len(whole))
	}
	t.Logf("%.1f MiB in and out: %.1f kB entered the program or left it", float64(len(whole))/(1<<20), float64(m.Copied)/1e3)
}
