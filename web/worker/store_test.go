//go:build !js

package main

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/mailbox/mailboxtest"
)

// caller is a transport that sets the worker's clock and gives each request a network address of its own, so that no rate is reached.
type caller struct {
	clock *mailboxtest.Clock // nil for the true time
	count atomic.Uint64
}

func (c *caller) RoundTrip(r *http.Request) (*http.Response, error) {
	r = r.Clone(r.Context())
	n := c.count.Add(1)
	r.Header.Set("CF-Connecting-IP", fmt.Sprintf("198.51.%d.%d", n>>8&0xff, n&0xff))
	if c.clock != nil {
		r.Header.Set("Lab-Now", strconv.FormatInt(c.clock.Now().UnixMilli(), 10))
	}
	return again.RoundTrip(r)
}

// dial returns the store behind the worker.
func (r *rig) dial(clock *mailboxtest.Clock) *client.Store {
	return &client.Store{Do: mailboxtest.Dial(r.Origin, &http.Client{Transport: &caller{clock: clock}}), Wait: patient}
}

func TestStore(t *testing.T) {
	r := onHost(t)
	mailboxtest.Run(t, func(t *testing.T, limit int64) mailboxtest.Harness {
		r.ask(t, fmt.Sprint("fresh?LIMIT=", limit), nil)
		clock := mailboxtest.NewClock()
		sweep := func(ctx context.Context, now time.Time) (int, error) {
			var swept struct{ Removed int }
			r.ask(t, fmt.Sprint("sweep?now=", now.UnixMilli()), &swept)
			return swept.Removed, nil
		}
		return mailboxtest.Harness{Store: r.dial(clock), Clock: clock, Sweep: sweep, Far: true}
	})
}
