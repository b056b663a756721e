// Package memory is a mailbox store that forgets everything when the program ends.
package memory

import (
	"bytes"
	"context"
	"io"
	"sync"
	"time"

	"example.org/plumb/web/mailbox"
)

// Store is a mailbox.Store in memory.
type Store struct {
	now   func() time.Time
	limit int64

	mu    sync.Mutex
	boxes map[mailbox.Address]*box
	bytes int64 // of all boxes
}

var _ mailbox.Store = (*Store)(nil)

type box struct {
	owner   mailbox.Owner
	expires time.Time
	closed  bool
	deleted bool
	letters []mailbox.Letter
	parcels map[mailbox.ID]map[int][]byte
	bytes   int64
}

// New returns an empty store, whose boxes together may count limit bytes, as mailbox.Box.Bytes does.
func New(now func() time.Time, limit int64) *Store {
	return &Store{now: now, limit: limit, boxes: map[mailbox.Address]*box{}}
}

// readable returns a box that is open, or that is the right's.
func (s *Store) readable(at mailbox.Address, right mailbox.Right) (*box, error) {
	b := s.boxes[at]
	if b == nil {
		b = &box{deleted: true}
	}
	mine := b.owner.Admits(right)
	if b.deleted || !b.expires.After(s.now()) || !mine && (b.closed || right != mailbox.Right{}) {
		return nil, mailbox.ErrNone
	}
	return b, nil
}

// writable returns a box that is open.
func (s *Store) writable(at mailbox.Address) (*box, error) { return s.readable(at, mailbox.Right{}) }

// owned returns a box of the right's, a deleted one too.
func (s *Store) owned(at mailbox.Address, right mailbox.Right) (*box, error) {
	b := s.boxes[at]
	if b == nil {
		b = &box{}
	}
	if !b.owner.Admits(right) || !b.expires.After(s.now()) {
		return nil, mailbox.ErrNone
	}
	return b, nil
}

// room tells whether a box takes a body.
func (s *Store) room(b *box, size int) error {
	cost := int64(size) + mailbox.Row
	if b.bytes+cost > mailbox.MaxBox || s.bytes+cost > s.limit {
		return mailbox.ErrFull
	}
	return nil
}

// count counts a body.
func (s *Store) count(b *box, size int) {
	b.bytes += int64(size) + mailbox.Row
	s.bytes += int64(size) + mailbox.Row
}

// Open makes a box.
func (s *Store) Open(_ context.Context, at mailbox.Address, owner mailbox.Owner, expires time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	end, err := mailbox.Life(s.now(), expires)
	if err != nil {
		return err
	}
	if b := s.boxes[at]; b != nil {
		if !b.owner.Equal(owner) || b.deleted || !b.expires.After(s.now()) {
			return mailbox.ErrTaken
		}
		return nil
	}
	b := &box{owner: owner, expires: end, parcels: map[mailbox.ID]map[int][]byte{}}
	if err := s.room(b, 0); err != nil {
		return err
	}
	s.count(b, 0)
	s.boxes[at] = b
	return nil
}

// Put adds a letter.
func (s *Store) Put(_ context.Context, at mailbox.Address, id mailbox.ID, body []byte) (uint64, error) {
	if err := mailbox.CheckLetter(len(body)); err != nil {
		return 0, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.writable(at)
	if err != nil {
		return 0, err
	}
	for _, l := range b.letters {
		if l.ID == id {
			if !bytes.Equal(l.Body, body) {
				return 0, mailbox.ErrConflict
			}
			return l.Seq, nil
		}
	}
	if len(b.letters) >= mailbox.MaxLetters {
		return 0, mailbox.ErrFull
	}
	if err := s.room(b, len(body)); err != nil {
		return 0, err
	}
	s.count(b, len(body))
	seq := uint64(len(b.letters) + 1)
	b.letters = append(b.letters, mailbox.Letter{Seq: seq, ID: id, Body: bytes.Clone(body)})
	return seq, nil
}

// Get returns letters.
func (s *Store) Get(_ context.Context, at mailbox.Address, right mailbox.Right, after uint64, limit int) ([]mailbox.Letter, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.readable(at, right)
	if err != nil {
		return nil, err
	}
	if limit < 1 || limit > mailbox.MaxLetters {
		limit = mailbox.MaxLetters
	}
	var letters []mailbox.Letter
	size := 0
	for _, l := range b.letters[min(after, uint64(len(b.letters))):] {
		if size += len(l.Body); len(letters) == limit || size > mailbox.Page {
			break
		}
		l.Body = bytes.Clone(l.Body)
		letters = append(letters, l)
	}
	return letters, nil
}

// Look returns what is known about a box.
func (s *Store) Look(_ context.Context, at mailbox.Address, right mailbox.Right) (mailbox.Box, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.readable(at, right)
	if err != nil {
		return mailbox.Box{}, err
	}
	return mailbox.Box{Expires: b.expires, Letters: len(b.letters), Bytes: b.bytes, Closed: b.closed}, nil
}

// PutChunk stores a chunk, which is read into memory.
func (s *Store) PutChunk(_ context.Context, at mailbox.Address, parcel mailbox.ID, i int, size int64, body io.Reader) error {
	if err := mailbox.CheckChunk(i, size); err != nil {
		return err
	}
	s.mu.Lock()
	_, _, err := s.place(at, parcel, i, size)
	s.mu.Unlock()
	if err != nil {
		return err
	}
	chunk, err := io.ReadAll(mailbox.Exact(body, size))
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	b, there, err := s.place(at, parcel, i, size)
	if err != nil {
		return err
	}
	if there != nil {
		if !bytes.Equal(there, chunk) {
			return mailbox.ErrConflict
		}
		return nil
	}
	if b.parcels[parcel] == nil {
		b.parcels[parcel] = map[int][]byte{}
	}
	s.count(b, len(chunk))
	b.parcels[parcel][i] = chunk
	return nil
}

// place returns a box and the chunk that is in a place of it, or tells that none of this size can be put there.
func (s *Store) place(at mailbox.Address, parcel mailbox.ID, i int, size int64) (*box, []byte, error) {
	b, err := s.writable(at)
	if err != nil {
		return nil, nil, err
	}
	p := b.parcels[parcel]
	if c := p[i]; c != nil {
		if int64(len(c)) != size {
			return nil, nil, mailbox.ErrConflict
		}
		return b, c, nil
	}
	sum := size
	for _, c := range p {
		sum += int64(len(c))
	}
	switch {
	case sum > mailbox.MaxParcel:
		return nil, nil, mailbox.ErrTooLarge
	case p == nil && len(b.parcels) >= mailbox.MaxParcels:
		return nil, nil, mailbox.ErrFull
	}
	return b, nil, s.room(b, int(size))
}

// Chunks returns what has arrived of a parcel.
func (s *Store) Chunks(_ context.Context, at mailbox.Address, right mailbox.Right, parcel mailbox.ID) (mailbox.Parcel, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.readable(at, right)
	if err != nil {
		return mailbox.Parcel{}, err
	}
	p := mailbox.Parcel{ID: parcel}
	for left, i := len(b.parcels[parcel]), 0; left > 0; i++ {
		c := b.parcels[parcel][i]
		if c != nil {
			left--
		}
		p.Chunks = append(p.Chunks, len(c))
	}
	return p, nil
}

// GetChunk returns a chunk.
func (s *Store) GetChunk(_ context.Context, at mailbox.Address, right mailbox.Right, parcel mailbox.ID, i int) (io.ReadCloser, int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.readable(at, right)
	if err != nil {
		return nil, 0, err
	}
	c := b.parcels[parcel][i]
	if c == nil {
		return nil, 0, mailbox.ErrNone
	}
	return io.NopCloser(bytes.NewReader(c)), int64(len(c)), nil
}

// Extend moves the end of a box.
func (s *Store) Extend(_ context.Context, at mailbox.Address, right mailbox.Right, expires time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	end, err := mailbox.Life(s.now(), expires)
	if err != nil {
		return err
	}
	b, err := s.ruled(at, right)
	if err != nil {
		return err
	}
	if end.After(b.expires) {
		b.expires = end
	}
	return nil
}

// ruled is a box that its owner can still change.
func (s *Store) ruled(at mailbox.Address, right mailbox.Right) (*box, error) {
	b, err := s.owned(at, right)
	if err == nil && b.deleted {
		return nil, mailbox.ErrNone
	}
	return b, err
}

// Close ends a box for all but its owner.
func (s *Store) Close(_ context.Context, at mailbox.Address, right mailbox.Right) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.ruled(at, right)
	if err != nil {
		return err
	}
	b.closed = true
	return nil
}

// Delete empties a box for good.
func (s *Store) Delete(_ context.Context, at mailbox.Address, right mailbox.Right) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.owned(at, right)
	if err != nil {
		return err
	}
	s.bytes -= b.bytes - mailbox.Row
	b.deleted, b.letters, b.parcels, b.bytes = true, nil, nil, mailbox.Row
	return nil
}

// Sweep removes the boxes that have expired, and returns their number.
func (s *Store) Sweep(_ context.Context, now time.Time) (removed int, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for at, b := range s.boxes {
		if !b.expires.After(now) {
			s.bytes -= b.bytes
			delete(s.boxes, at)
			removed++
		}
	}
	return removed, nil
}

// Content counts what the store holds.
func (s *Store) Content(context.Context) (c mailbox.Content, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	c.Boxes, c.Bytes = len(s.boxes), s.bytes
	for _, b := range s.boxes {
		c.Letters += len(b.letters)
		for _, p := range b.parcels {
			c.Chunks += len(p)
		}
	}
	return c, nil
}
