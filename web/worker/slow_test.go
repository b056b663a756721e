//go:build !js

package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// One client whose letters or chunks do not arrive keeps no other from sending.
func TestSlowClient(t *testing.T) {
	r := onHost(t)
	for kind, path := range map[string]string{"letters": "/letters/%s", "chunks": "/parcels/%s/0"} {
		for _, known := range []bool{false, true} {
			r.ask(t, "fresh", nil)
			store, ctx := r.dial(nil), context.Background()
			at := mailboxtest.NewAddress()
			if err := store.Open(ctx, at, mailboxtest.NewRight().Owner(), month()); err != nil {
				t.Fatal(err)
			}
			r.ask(t, "hold", nil) // all runtimes are there
			r.ask(t, "release", nil)
			var lines []net.Conn
			for i := range 70 {
				c, err := net.Dial("tcp", strings.TrimPrefix(r.Origin, "http://"))
				if err != nil {
					t.Fatal(err)
				}
				lines = append(lines, c)
				to := at
				if !known {
					to = mailboxtest.NewAddress()
				}
				fmt.Fprintf(c, "PUT %s%s"+path+" HTTP/1.1\r\nHost: plumb.example\r\nCF-Connecting-IP: 2001:db8:1:2:%x::1\r\nContent-Length: 100000\r\n\r\nx", mailbox.Root, to, mailboxtest.NewID(), i)
			}
			time.Sleep(2 * time.Second) // those that found no place were sent away
			began := time.Now()
			for _, put := range []string{"/letters/%s", "/parcels/%s/0"} {
				a, _ := r.send(t, "PUT", mailbox.Root+at.String()+fmt.Sprintf(put, mailboxtest.NewID()), map[string]string{"CF-Connecting-IP": "2001:db8:1:3::1"}, strings.NewReader("sealed"))
				if a.StatusCode != 200 || time.Since(began) > time.Second {
					t.Errorf("%s of another client to boxes that are known (%t): %d after %v", kind, known, a.StatusCode, time.Since(began))
				}
			}
			for _, c := range lines {
				c.Close()
			}
			r.waitFor(t)
		}
	}
}

// waitFor waits until all runtimes can be had.
func (r *rig) waitFor(t *testing.T) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		var held int
		r.ask(t, "hold", &held)
		r.ask(t, "release", nil)
		if m := r.memory(t); held == m.Most {
			return
		} else if time.Now().After(end) {
			t.Fatalf("%d of %d runtimes can be had", held, m.Most)
		}
	}
}

// A letter that does not come is given up; one whose length is not told arrives whole.
func TestSlowLetter(t *testing.T) {
	r := onHost(t)
	store, ctx := r.dial(nil), context.Background()
	at := mailboxtest.NewAddress()
	if err := store.Open(ctx, at, mailboxtest.NewRight().Owner(), month()); err != nil {
		t.Fatal(err)
	}
	letter := func() string { return mailbox.Root + at.String() + "/letters/" + mailboxtest.NewID().String() }
	for _, c := range []struct{ size, want int }{{0, 400}, {1, 200}, {mailbox.MaxLetter, 200}} {
		body := io.MultiReader(strings.NewReader(strings.Repeat("x", c.size))) // of no told length
		if a, _ := r.send(t, "PUT", letter(), nil, body); a.StatusCode != c.want {
			t.Errorf("a letter of %d bytes: %d, want %d", c.size, a.StatusCode, c.want)
		}
	}
	c, err := net.Dial("tcp", strings.TrimPrefix(r.Origin, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	fmt.Fprintf(c, "PUT %s HTTP/1.1\r\nHost: plumb.example\r\nContent-Length: 6\r\n\r\nsea", letter())
	c.SetReadDeadline(time.Now().Add(8 * time.Second))
	b := make([]byte, 13)
	if _, err := io.ReadFull(c, b); err != nil || string(b) != "HTTP/1.1 408 " {
		t.Errorf("a letter that does not come: %q, %v", b, err)
	}
}
