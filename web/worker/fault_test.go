//go:build !js

package main

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// What fails at the host is told apart, and logged without a word of what was asked.
func TestFaults(t *testing.T) {
	r := onHost(t)
	defer r.ask(t, "fresh", nil)
	at := mailboxtest.NewAddress().String()
	owner := map[string]string{mailbox.OwnerHeader: mailboxtest.NewRight().Owner().String(), mailbox.ExpiresHeader: mailbox.FormatDay(month())}
	for _, c := range []struct {
		fault string
		want  int
		after string
		log   string // a part of what is logged; "" for nothing
	}{
		{"D1_ERROR: D1 DB is overloaded. Too many requests queued.", http.StatusServiceUnavailable, "1", ""},
		{"D1_ERROR: Exceeded maximum DB size", http.StatusInsufficientStorage, "", ""},
		{"D1_ERROR: the line to the database was cut", http.StatusInternalServerError, "", "worker: d1: "},
	} {
		r.ask(t, "fresh?FAULT="+url.QueryEscape(c.fault), nil)
		before := len(r.Lines())
		for method, path := range map[string]string{
			"GET": "/letters", // reads by the driver
			"PUT": "",         // writes as a batch
		} {
			a, _ := r.send(t, method, mailbox.Root+at+path, owner, nil)
			if a.StatusCode != c.want || a.Header.Get("Retry-After") != c.after {
				t.Errorf("%s: %s is answered with %d, to come again after %q; want %d, %q", c.fault, method, a.StatusCode, a.Header.Get("Retry-After"), c.want, c.after)
			}
		}
		wanted := 2
		if c.log == "" {
			wanted = 0
		}
		logged := r.logged(before, wanted)
		n := bytes.Count(logged, []byte("worker: "))
		if c.log == "" && n > 0 || c.log != "" && n != 2 || !strings.Contains(string(logged), c.log) {
			t.Errorf("%s: logged was %q", c.fault, logged)
		}
		for _, s := range []string{at, owner[mailbox.OwnerHeader]} {
			if bytes.Contains(logged, []byte(s)) {
				t.Errorf("%s: the log holds what was asked: %q", c.fault, logged)
			}
		}
	}
	// A number that JavaScript has not exactly is neither given to the database nor taken from it.
	for _, variable := range []string{"LIMIT=9007199254740993", "COLUMN=0.5", "COLUMN=9007199254740994", "COLUMN=true"} {
		r.ask(t, "fresh?"+variable, nil)
		before := len(r.Lines())
		a, _ := r.send(t, "PUT", mailbox.Root+at, owner, nil)
		if log := r.logged(before, 1); a.StatusCode != http.StatusInternalServerError || !bytes.Contains(log, []byte("worker: d1: ")) {
			t.Errorf("%s: %d, logged was %q", variable, a.StatusCode, log)
		}
	}
}

// logged returns what was logged behind a place, once it is as many lines as are wanted or a while has passed: they take a moment from the host to the file.
func (r *rig) logged(behind, wanted int) (log []byte) {
	for range 40 {
		log = tool.ReplaceAll(r.Lines()[behind:], nil)
		if bytes.Count(log, []byte("worker: ")) >= wanted {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	return log
}

// A chunk is as long as was told, or is not there.
func TestTorn(t *testing.T) {
	r := onHost(t)
	r.ask(t, "fresh", nil)
	store, ctx := r.dial(nil), context.Background()
	at, right, parcel := mailboxtest.NewAddress(), mailboxtest.NewRight(), mailboxtest.NewID()
	if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
		t.Fatal(err)
	}
	for told, want := range map[int]int{4: 400, 6: 400, 5: 200} {
		for _, what := range []string{"first", "repeat"} {
			path := fmt.Sprintf("%s%s/parcels/%s/%d", mailbox.Root, at, parcel, told)
			if a, _ := r.send(t, "GET", fmt.Sprintf("/api/lab/five?told=%d&path=%s", told, path), nil, nil); a.StatusCode != want {
				t.Errorf("%s of 5 bytes where %d were told: %d, want %d", what, told, a.StatusCode, want)
			}
		}
	}
	if p, err := store.Chunks(ctx, at, right, parcel); err != nil || !slices.Equal(p.Chunks, []int{0, 0, 0, 0, 0, 5}) {
		t.Errorf("what has arrived: %v, %v", p.Chunks, err)
	}
	// Where a whole chunk is, one that is not as long as was told is no repeat.
	for told, body := range map[int]string{4: "abcd", 6: "abcdef"} {
		if err := store.PutChunk(ctx, at, parcel, told, int64(told), strings.NewReader(body)); err != nil {
			t.Fatal(err)
		}
		path := fmt.Sprintf("%s%s/parcels/%s/%d", mailbox.Root, at, parcel, told)
		if a, _ := r.send(t, "GET", fmt.Sprintf("/api/lab/five?told=%d&path=%s", told, path), nil, nil); a.StatusCode != 400 {
			t.Errorf("5 bytes where %d were told, over a chunk of %d: %d", told, told, a.StatusCode)
		}
	}
}
