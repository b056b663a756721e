package mailboxtest

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
)

// Twin gives two stores the same random commands, on few boxes, rights and names so that they meet, and compares all answers. Both must have clocks.
func Twin(t *testing.T, a, b Harness, seed uint64, commands int) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 0))
	seen := map[string]int{}
	for i := range commands {
		name, run := command(r, a.Clock.Now())
		got, want := run(a), run(b)
		if got != want {
			t.Fatalf("seed %d, command %d, %s: %s and %s", seed, i, name, got, want)
		}
		seen[name]++
	}
	if commands >= 1000 && len(seen) < 12 {
		t.Errorf("only %d kinds of commands: %v", len(seen), seen)
	}
}

// command draws a command, which tells its answer in words.
func command(r *rand.Rand, now time.Time) (string, func(Harness) string) {
	at := mailbox.Address{byte(r.IntN(3))}
	rights := []mailbox.Right{{}, {1}, {1}, {1}, {2}}
	right := rights[r.IntN(len(rights))]
	id := mailbox.ID{byte(r.IntN(4))}
	body := bytes.Repeat([]byte{byte(r.IntN(2))}, []int{1, 700, 1500}[r.IntN(3)])
	at0 := r.IntN(3)
	days := time.Duration(r.IntN(9)-1) * day
	after, limit := uint64(r.IntN(4)), r.IntN(4)
	outcome := func(v any, err error) string {
		if err != nil {
			v = nil
		}
		return fmt.Sprint(v, " ", kind(err))
	}
	switch n := r.IntN(100); {
	case n < 15:
		return "open", func(h Harness) string {
			return outcome(nil, h.Store.Open(background, at, right.Owner(), now.Add(days)))
		}
	case n < 35:
		return "put", func(h Harness) string { return outcome(h.Store.Put(background, at, id, body)) }
	case n < 45:
		return "get", func(h Harness) string { return outcome(h.Store.Get(background, at, right, after, limit)) }
	case n < 55:
		return "look", func(h Harness) string { return outcome(h.Store.Look(background, at, right)) }
	case n < 70:
		return "put chunk", func(h Harness) string {
			return outcome(nil, h.Store.PutChunk(background, at, id, at0, int64(len(body)), bytes.NewReader(body)))
		}
	case n < 75:
		return "torn chunk", func(h Harness) string {
			return outcome(nil, h.Store.PutChunk(background, at, id, at0, int64(len(body))+1, bytes.NewReader(body)))
		}
	case n < 80:
		return "chunks", func(h Harness) string { return outcome(h.Store.Chunks(background, at, right, id)) }
	case n < 85:
		return "get chunk", func(h Harness) string { return outcome(read(h, at, right, id, at0)) }
	case n < 90:
		return "extend", func(h Harness) string {
			return outcome(nil, h.Store.Extend(background, at, right, now.Add(days)))
		}
	case n < 92:
		return "close", func(h Harness) string { return outcome(nil, h.Store.Close(background, at, right)) }
	case n < 94:
		return "delete", func(h Harness) string { return outcome(nil, h.Store.Delete(background, at, right)) }
	case n < 97:
		pass := time.Duration(r.IntN(40)) * time.Hour
		return "time", func(h Harness) string { h.Clock.Advance(pass); return "" }
	default:
		return "sweep", func(h Harness) string { return outcome(h.Sweep(background, h.Clock.Now())) }
	}
}

// kind is the error of the protocol that an error is.
func kind(err error) error {
	for _, e := range []error{mailbox.ErrNone, mailbox.ErrTaken, mailbox.ErrConflict, mailbox.ErrRange, mailbox.ErrTooLarge, mailbox.ErrFull} {
		if errors.Is(err, e) {
			return e
		}
	}
	return err
}
