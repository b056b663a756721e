package web

import (
	"hash/maphash"
	"net"
	"net/http"
	"net/netip"
	"sync/atomic"
	"time"
)

// Rate is how often something may happen: Burst times at once, and from then on Each second as many again.
type Rate struct{ Burst, Each int }

// What a client and a box may ask unless the terms say otherwise. A parcel of 64 MiB is some 70 requests, a desk that looks every few seconds one for each of its boxes.
var (
	ClientRate  = Rate{Burst: 1200, Each: 40}
	AddressRate = Rate{Burst: 600, Each: 20}
)

// limiter counts what happens under keys without keeping them: a key is hashed with a secret of this process to one of a fixed number of places. Keys that share a place share
// its rate; nobody can choose to share one.
type limiter struct {
	step   time.Duration // between two of a steady row
	burst  time.Duration // what a row may be ahead of its steady pace
	now    func() time.Time
	began  time.Time
	seed   maphash.Seed
	places [places]atomic.Int64 // nanoseconds since began at which a steady row would go on
}

func newLimiter(r Rate, now func() time.Time) *limiter {
	step := time.Second / time.Duration(max(1, r.Each))
	return &limiter{step: step, burst: step * time.Duration(max(1, r.Burst)), now: now, began: now(), seed: maphash.MakeSeed()}
}

// take counts one under a key and returns 0, or counts nothing and returns how long to wait.
func (l *limiter) take(key string) time.Duration {
	place := &l.places[maphash.String(l.seed, key)%uint64(len(l.places))]
	now := int64(l.now().Sub(l.began))
	for {
		was := place.Load()
		next := max(was, now) + int64(l.step)
		if wait := next - now - int64(l.burst); wait > 0 {
			return time.Duration(wait)
		}
		if place.CompareAndSwap(was, next) {
			return 0
		}
	}
}

// peer is the address of the connection's other end.
func peer(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// network is what one client is taken to be: an IPv4 address, or the 64 bits of an IPv6 address that one household has (RFC 6177).
func network(client string) string {
	a, err := netip.ParseAddr(client)
	if err != nil {
		return client
	}
	a = a.Unmap().WithZone("")
	if a.Is6() {
		p, _ := a.Prefix(64) // fails for other lengths only
		a = p.Masked().Addr()
	}
	return string(a.AsSlice())
}
