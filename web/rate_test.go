package web

import (
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

func TestLimiter(t *testing.T) {
	now := time.Unix(1e9, 0)
	l := newLimiter(Rate{Burst: 5, Each: 2}, func() time.Time { return now })
	take := func(key string) int {
		n := 0
		for l.take(key) == 0 {
			n++
		}
		return n
	}
	if n := take("a"); n != 5 {
		t.Errorf("%d at once, want 5", n)
	}
	if wait := l.take("a"); wait != 500*time.Millisecond {
		t.Errorf("then a wait of %v", wait)
	}
	if n := take("b"); n != 5 {
		t.Errorf("%d of another, want 5", n)
	}
	now = now.Add(1500 * time.Millisecond)
	if n := take("a"); n != 3 {
		t.Errorf("%d after 1.5 s, want 3", n)
	}
	now = now.Add(time.Hour)
	if n := take("a"); n != 5 {
		t.Errorf("%d after an hour, want 5", n)
	}
	// A refusal costs nothing.
	for range 100 {
		l.take("a")
	}
	now = now.Add(500 * time.Millisecond)
	if n := take("a"); n != 1 {
		t.Errorf("%d after half a second, want 1", n)
	}
}

// Of many at once no more get through than of as many in a row.
func TestLimiterAtOnce(t *testing.T) {
	now := time.Unix(1e9, 0)
	const burst = 500_000
	l := newLimiter(Rate{Burst: burst, Each: 1}, func() time.Time { return now })
	var through atomic.Int64
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range burst / 4 {
				if l.take("a") == 0 {
					through.Add(1)
				}
			}
		})
	}
	all.Wait()
	if through.Load() != burst {
		t.Errorf("%d got through, want %d", through.Load(), burst)
	}
}

// Many clients do not get into each other's way, and take no more memory than few.
func TestLimiterMany(t *testing.T) {
	now := time.Unix(1e9, 0)
	l := newLimiter(Rate{Burst: 3, Each: 1}, func() time.Time { return now })
	refused := 0
	for i := range 2000 {
		for range 3 {
			if l.take(string([]byte{byte(i), byte(i >> 8), 1, 2})) > 0 {
				refused++
				break
			}
		}
	}
	if refused > 120 { // 2000 in 65536 places: 30 are expected to meet another
		t.Errorf("%d of 2000 clients were refused for another's sake", refused)
	}
}

func TestNetwork(t *testing.T) {
	same := func(a, b string) bool { return network(a) == network(b) }
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"192.0.2.1", "192.0.2.1", true}, {"192.0.2.1", "192.0.2.2", false}, {"192.0.2.1", "::ffff:192.0.2.1", true},
		{"2001:db8:1:2::1", "2001:db8:1:2:ffff::9", true}, {"2001:db8:1:2::1", "2001:db8:1:3::1", false},
		{"fe80::1%eth0", "fe80::1%eth1", true}, {"", "", true}, {"", "192.0.2.1", false}, {"a name", "another", false},
	} {
		if same(c.a, c.b) != c.want {
			t.Errorf("%q and %q are one: %t", c.a, c.b, !c.want)
		}
	}
}

func TestPeer(t *testing.T) {
	for from, want := range map[string]string{"192.0.2.1:5": "192.0.2.1", "[2001:db8::1]:5": "2001:db8::1", "odd": "odd", "": ""} {
		if got := peer(&http.Request{RemoteAddr: from}); got != want {
			t.Errorf("%q: %q", from, got)
		}
	}
}
