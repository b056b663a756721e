package web

import (
	"context"
	"sync"
	"time"

	"example.org/plumb/web/mailbox"
)

// moment is how long a request waits for a place.
const moment = 3 * time.Second

// room is a number of places, of which each client may have a part. A client is known for as long as it is here.
type room struct {
	places chan struct{}
	most   int // places of a client

	mu    sync.Mutex
	parts map[string]*part
}

// part is what one client has of a room.
type part struct {
	places chan struct{}
	here   int // requests that have a place or wait for one
}

func newRoom(places, most int) *room {
	return &room{places: make(chan struct{}, places), most: most, parts: map[string]*part{}}
}

// scarce reports whether more than half of the places are taken.
func (r *room) scarce() bool { return 2*len(r.places) > cap(r.places) }

// seat is a place in a room.
type seat struct {
	room   *room
	client string
	part   *part
	shared bool // it is one of the room's places, not of the client's alone
}

// enter waits for a place of the client's and then for one of the room's, a moment for both, so that who waits for its own takes none from others.
// Errors: mailbox.Busy, and that of ctx.
func (r *room) enter(ctx context.Context, client string) (*seat, error) {
	t := time.NewTimer(moment)
	defer t.Stop()
	s := &seat{room: r, client: client, part: r.come(client)}
	if err := sit(ctx, s.part.places, t.C); err != nil {
		r.forget(client, s.part)
		return nil, err
	}
	if err := sit(ctx, r.places, t.C); err != nil {
		s.leave()
		return nil, err
	}
	s.shared = true
	return s, nil
}

// sit takes one of the places until late.
func sit(ctx context.Context, places chan struct{}, late <-chan time.Time) error {
	select {
	case places <- struct{}{}:
		return nil
	default:
	}
	select {
	case places <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-late:
		return mailbox.Busy{After: moment}
	}
}

func (r *room) come(client string) *part {
	r.mu.Lock()
	defer r.mu.Unlock()
	p := r.parts[client]
	if p == nil {
		p = &part{places: make(chan struct{}, r.most)}
		r.parts[client] = p
	}
	p.here++
	return p
}

func (r *room) forget(client string, p *part) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if p.here--; p.here == 0 {
		delete(r.parts, client)
	}
}

// yield gives the room's place to others, while the client's stays taken.
func (s *seat) yield() {
	if s.shared {
		s.shared = false
		<-s.room.places
	}
}

// leave gives both back.
func (s *seat) leave() {
	s.yield()
	<-s.part.places
	s.room.forget(s.client, s.part)
}
