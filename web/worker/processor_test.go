//go:build !js

package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"net/http"
	"testing"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// more is how much of the processor's time a request may take above what the host and a worker in JavaScript alone take for the like of it, in ms.
const more = 2.0

// Requests that meet a runtime which runs already, beside the same without Go: one that is refused without a look, and one for which the database is asked.
func BenchmarkRequest(b *testing.B) {
	r := onHost(b)
	r.ask(b, "fresh?watched=no", nil)
	store, ctx := r.dial(nil), context.Background()
	var boxes, rows []string // many, so that the rate of none is reached
	for range 20 {
		at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
		if err := store.Open(ctx, at, right.Owner(), month()); err != nil {
			b.Fatal(err)
		}
		boxes = append(boxes, mailbox.Root+at.String())
		rows = append(rows, fmt.Sprintf("/api/lab/row?name=%x", sha256.Sum256(at[:]))[:len("/api/lab/row?name=")+32])
	}
	for _, c := range []struct {
		name   string
		script []string
		plain  int
		paths  []string
		want   int
	}{
		{"refused", []string{"/api/lab/plain"}, 400, []string{mailbox.Root + "nothing"}, 404},
		{"look", rows, 200, boxes, 200},
	} {
		b.Run(c.name, func(b *testing.B) {
			client := &http.Client{Transport: &caller{}}
			run := func(want int, paths ...string) float64 {
				const each = 25
				began := r.processor(b)
				for i := range each {
					path := paths[i%len(paths)]
					a, err := client.Get(r.Origin + path)
					if err != nil {
						b.Fatal(err)
					}
					a.Body.Close()
					if a.StatusCode != want {
						b.Fatalf("%s: %d", path, a.StatusCode)
					}
				}
				return (r.processor(b) - began) * 1000 / each
			}
			for range 40 { // the host translates once more what runs often
				run(c.plain, c.script...)
				run(c.want, c.paths...)
			}
			var without, with float64
			n := 0
			for b.Loop() {
				for range 10 {
					without += run(c.plain, c.script...)
					with += run(c.want, c.paths...)
					n++
				}
			}
			without, with = without/float64(n), with/float64(n)
			b.ReportMetric(without, "js-cpu-ms/request")
			b.ReportMetric(with, "go-cpu-ms/request")
			b.ReportMetric(0, "ns/op")
			if with-without > more {
				b.Errorf("a request takes %.2f ms more than without Go; at most %.1f are wanted", with-without, more)
			}
		})
	}
}
