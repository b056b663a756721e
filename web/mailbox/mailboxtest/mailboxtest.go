// Package mailboxtest holds what every mailbox store must do, as tests that any store can be put to.
package mailboxtest

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
)

// Harness is a store under test.
type Harness struct {
	Store mailbox.Store
	Sweep func(ctx context.Context, now time.Time) (removed int, err error) // nil where it cannot be reached; what needs it is skipped
	Clock *Clock                                                            // the store's; nil for the true time, and what needs to set it is skipped
	Far   bool                                                              // bodies travel before the store is asked
}

// now is the time as the store has it.
func (h Harness) now() time.Time {
	if h.Clock == nil {
		return time.Now()
	}
	return h.Clock.Now()
}

// Clock is a clock that is set by hand.
type Clock struct {
	mu sync.Mutex
	t  time.Time
}

// NewClock returns a clock that stands in the middle of a day.
func NewClock() *Clock { return &Clock{t: time.Date(2026, 9, 14, 15, 4, 5, 678, time.UTC)} }

// Now is the time to which the clock is set.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

// Advance sets the clock forward.
func (c *Clock) Advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// Plenty is a limit that no test reaches.
const Plenty = 4 << 30

// names makes addresses, ids and rights that are all different, in this process and from those of others.
var names = struct {
	sync.Mutex
	*rand.ChaCha8
}{ChaCha8: rand.NewChaCha8(sha256.Sum256(binary.BigEndian.AppendUint64(nil, uint64(time.Now().UnixNano()))))}

func fill(b []byte) {
	names.Lock()
	defer names.Unlock()
	names.Read(b)
}

// NewAddress returns an address.
func NewAddress() (a mailbox.Address) { fill(a[:]); return a }

// NewID returns an id.
func NewID() (id mailbox.ID) { fill(id[:]); return id }

// NewRight returns a right.
func NewRight() (r mailbox.Right) { fill(r[:]); return r }

// Bytes returns n bytes that look like sealed ones.
func Bytes(n int) []byte { b := make([]byte, n); fill(b); return b }

// opened opens a new box for 30 days.
func opened(t testing.TB, h Harness) (mailbox.Address, mailbox.Right) {
	t.Helper()
	at, right := NewAddress(), NewRight()
	if err := h.Store.Open(context.Background(), at, right.Owner(), h.now().Add(30*24*time.Hour)); err != nil {
		t.Fatalf("open: %v", err)
	}
	return at, right
}
