package web

import (
	"errors"
	"io"
	"net/http"
	"strconv"
	"time"

	"example.org/plumb/web/mailbox"
)

// slow is how long a chunk may be on its way: at 120 kbit/s the largest takes less.
const slow = 5 * time.Minute

// linger gives a chunk the time that it may take, where the server would give less.
func linger(w http.ResponseWriter) {
	c := http.NewResponseController(w)
	end := time.Now().Add(slow)
	c.SetReadDeadline(end) // a host that has no deadlines has its own
	c.SetWriteDeadline(end.Add(moment))
}

// place returns the parcel and the position that a path names.
func place(r *http.Request) (mailbox.ID, int, error) {
	id, err := mailbox.ParseID(r.PathValue("id"))
	if err != nil {
		return id, 0, mailbox.ErrNone
	}
	text := r.PathValue("place")
	i, err := strconv.ParseUint(text, 10, 16)
	if err != nil || strconv.FormatUint(i, 10) != text {
		return id, 0, mailbox.ErrNone
	}
	return id, int(i), nil
}

// putChunk hands the body of the request itself to the store, which looks for the box before it reads, and may know a shorter way for the body than through here.
// What is read of a chunk that is refused takes no place from other clients.
func (b *boxes) putChunk(w http.ResponseWriter, r *http.Request, at mailbox.Address) (err error) {
	id, i, err := place(r)
	if err != nil {
		return err
	}
	if r.ContentLength < 0 {
		return errLength
	}
	if err := mailbox.CheckChunk(i, r.ContentLength); err != nil {
		return err
	}
	seat, err := b.chunks.enter(r.Context(), b.client(r))
	if err != nil {
		return err
	}
	defer seat.leave()
	linger(w)
	if err := b.store.PutChunk(r.Context(), at, id, i, r.ContentLength, r.Body); err != nil {
		if b.terms.Drain && r.Context().Err() == nil {
			seat.yield()
			io.Copy(io.Discard, r.Body)
		}
		return err
	}
	return done(w)
}

func (b *boxes) getParcel(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	id, err := mailbox.ParseID(r.PathValue("id"))
	if err != nil {
		return mailbox.ErrNone
	}
	right, err := shown(r)
	if err != nil {
		return err
	}
	p, err := b.store.Chunks(r.Context(), at, right, id)
	if err != nil {
		return err
	}
	return tell(w, p.Marshal())
}

func (b *boxes) getChunk(w http.ResponseWriter, r *http.Request, at mailbox.Address) error {
	id, i, err := place(r)
	if err != nil {
		return err
	}
	right, err := shown(r)
	if err != nil {
		return err
	}
	seat, err := b.chunks.enter(r.Context(), b.client(r))
	if err != nil {
		return err
	}
	defer seat.leave()
	chunk, size, err := b.store.GetChunk(r.Context(), at, right, id, i)
	if err != nil {
		return err
	}
	linger(w)
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Length", strconv.FormatInt(size, 10))
	_, err = io.Copy(w, chunk)
	if err := errors.Join(err, chunk.Close()); err != nil {
		b.fault(r, err)
		panic(http.ErrAbortHandler) // the length was told: an answer cut short must not look whole
	}
	return nil
}
