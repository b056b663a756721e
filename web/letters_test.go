package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/sqlite"
)

// flood puts n letters of 2 KiB by so many writers at once, and returns how many a second were taken.
func flood(t testing.TB, s mailbox.Store, writers, n int) float64 {
	body := mailboxtest.Bytes(2 << 10)
	var next atomic.Int64
	var all sync.WaitGroup
	began := time.Now()
	for range writers {
		all.Go(func() {
			var at mailbox.Address
			for i := 0; next.Add(1) <= int64(n); i++ {
				if i%mailbox.MaxLetters == 0 {
					at = mailboxtest.NewAddress()
					if err := s.Open(background, at, mailboxtest.NewRight().Owner(), time.Now().Add(24*time.Hour)); err != nil {
						t.Errorf("open: %v", err)
						return
					}
				}
				if _, err := s.Put(background, at, mailboxtest.NewID(), body); err != nil {
					t.Errorf("put: %v", err)
					return
				}
			}
		})
	}
	all.Wait()
	return float64(n) / time.Since(began).Seconds()
}

// Letters a second into the store itself and through the server before it, in turns, each on a disk of its own folder. The server takes at least half as many
// as the store alone, the client's work included: where -benchtime asks for enough letters to tell, less fails.
func BenchmarkLetters(b *testing.B) {
	for _, writers := range []int{1, 16, 64} {
		b.Run(fmt.Sprint("writers=", writers), func(b *testing.B) {
			bare, behind := rates(b, writers, max(b.N, 500))
			b.ReportMetric(bare, "bare/s")
			b.ReportMetric(behind, "served/s")
			b.ReportMetric(bare/behind, "times")
			if b.N >= 8000 && bare > 2*behind {
				b.Errorf("%.0f letters a second bare, %.0f served: more than twice", bare, behind)
			}
		})
	}
}

// rates are letters a second, bare and served, the better of two rounds each.
func rates(t testing.TB, writers, n int) (bare, behind float64) {
	open := func() *sqlite.Store {
		s, err := sqlite.Open(t.TempDir(), sqlite.Settings{Now: time.Now, Limit: mailboxtest.Plenty})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { s.Shut() })
		return s
	}
	store, stored := open(), open()
	terms := free(t)
	terms.From = func(r *http.Request) string { // each connection is another client's
		port := netip.MustParseAddrPort(r.RemoteAddr).Port()
		return netip.AddrFrom4([4]byte{10, 0, byte(port >> 8), byte(port)}).String()
	}
	server := httptest.NewServer(web.Mailbox(stored, terms))
	defer server.Close()
	c := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: writers}}
	defer c.CloseIdleConnections()
	served := &client.Store{Do: mailboxtest.Dial(server.URL, c)}
	for range 2 {
		bare = max(bare, flood(t, store, writers, n/2))
		behind = max(behind, flood(t, served, writers, n/2))
	}
	return bare, behind
}
