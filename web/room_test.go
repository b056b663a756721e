package web

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"

	"example.org/plumb/web/mailbox"
)

// A client that fills its part waits in it, takes nothing more from others, and is forgotten once it has left.
func TestRoom(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(3, 2)
		enter := func(client string) *seat {
			t.Helper()
			s, err := r.enter(t.Context(), client)
			if err != nil {
				t.Fatalf("%s: %v", client, err)
			}
			return s
		}
		refused := func(client string) {
			t.Helper()
			if _, err := r.enter(t.Context(), client); !errors.Is(err, mailbox.Busy{After: moment}) {
				t.Errorf("%s: %v, want busy", client, err)
			}
		}
		a, b := enter("a"), enter("a")
		refused("a")
		c := enter("c")
		refused("d") // all places are taken
		a.yield()    // the room's is free, the client's is not
		refused("a")
		d := enter("d")
		a.leave()
		refused("a") // now the client's is, and the room's is not
		gone, cancel := context.WithCancel(t.Context())
		cancel()
		for _, client := range []string{"a", "e"} {
			if _, err := r.enter(gone, client); err != context.Canceled {
				t.Errorf("%s, gone: %v", client, err)
			}
		}
		for _, s := range []*seat{b, c, d} {
			s.leave()
		}
		if len(r.places) != 0 || len(r.parts) != 0 {
			t.Errorf("left are %d places and %d clients", len(r.places), len(r.parts))
		}
	})
}

func TestParts(t *testing.T) {
	for what, c := range map[string][2]int{"letters": {maxLetters, lettersEach}, "pages": {maxPages, pagesEach}, "chunks": {maxChunks, chunksEach}} {
		if c[1] < 8 || 2*c[1] > c[0] {
			t.Errorf("%s: %d of %d for a client; want enough for an office, and as many for another", what, c[1], c[0])
		}
	}
}
