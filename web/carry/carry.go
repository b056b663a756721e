// Package carry sends a parcel to a mailbox chunk by chunk, and fetches one, each going on where it stopped.
//
// It seals and opens through web/seal and holds one chunk at a time. It does not wait and try again: whoever calls may do so, with the same parcel.
package carry

import (
	"context"
	"errors"
	"fmt"
	"io"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/seal"
)

// Errors beside those of mailbox, seal, the store and the context.
var (
	ErrConflict = errors.New("carry: something else lies under the parcel's name") // with mailbox.ErrConflict
	ErrPart     = errors.New("carry: not all of the parcel is there")              // the box is, but a chunk is not
	ErrSize     = errors.New("carry: the parcel is not of the size told")          // it opens, but to more or fewer bytes
	ErrSource   = errors.New("carry: what is to be sent cannot be read")           // with what reading gave
	ErrSink     = errors.New("carry: what was fetched cannot be kept")             // with what writing gave
)

// MaxSize is how many plain bytes a parcel may have: the greatest that a mailbox takes, sealed.
const MaxSize = 64 << 20

// A Source is what is sent.
type Source interface{ io.ReaderAt }

// A Sealer makes the chunks of one parcel ready to travel. The same chunk is sealed to the same bytes each time.
type Sealer interface {
	// Seal seals the n bytes from the offset on as the chunk at position i. What it returns is closed after it was sent if it is an io.Closer.
	Seal(ctx context.Context, i int, last bool, offset int64, n int) (io.ReadSeeker, error)
}

// An Opener opens the chunks of one parcel in their order and keeps what comes of them.
type Opener interface {
	// Open opens the chunk that follows those that were opened, of size bytes, and tells how many bytes came of it. After an error it still waits for that chunk.
	Open(ctx context.Context, sealed io.Reader, size int64) (plain int, err error)
	Opened() int // chunks
	Ended() bool // the last chunk was opened
}

// Send seals size bytes of src as a parcel and puts into the box what is not there yet. One cipher, name and sequence of bytes belong together, as seal.Key says. done is
// called with how many of the bytes have arrived, rising, first with those that were there already; nil is not.
func Send(ctx context.Context, store mailbox.Store, box mailbox.Address, name seal.Parcel, c seal.Cipher, src Source, size int64, done func(bytes int64)) error {
	return SendBy(ctx, store, box, name, &sealer{c, name, src, nil}, size, done)
}

// SendBy is Send where sealer seals.
func SendBy(ctx context.Context, store mailbox.Store, box mailbox.Address, name seal.Parcel, sealer Sealer, size int64, done func(bytes int64)) error {
	chunks, err := count(size)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	there, err := store.Chunks(ctx, box, mailbox.Right{}, mailbox.ID(name))
	if err != nil {
		return err
	}
	arrived := int64(0)
	missing := make([]int, 0, chunks)
	for i := range max(chunks, len(there.Chunks)) {
		has := 0
		if i < len(there.Chunks) {
			has = there.Chunks[i]
		}
		switch {
		case has == 0:
			missing = append(missing, i)
		case i >= chunks || has != plain(i, size)+seal.Overhead:
			return conflict(mailbox.ErrConflict)
		default:
			arrived += int64(plain(i, size))
		}
	}
	told(done, arrived)
	for _, i := range missing {
		if i >= chunks {
			break
		}
		n := plain(i, size)
		body, err := sealer.Seal(ctx, i, i == chunks-1, int64(i)*seal.ChunkSize, n)
		if err != nil {
			return err
		}
		if err = ctx.Err(); err == nil {
			err = store.PutChunk(ctx, box, mailbox.ID(name), i, int64(n+seal.Overhead), body)
		}
		if c, ok := body.(io.Closer); ok {
			c.Close()
		}
		if err != nil {
			return conflict(err)
		}
		arrived += int64(n)
		told(done, arrived)
	}
	return nil
}

// Fetch has opener open a parcel of exactly size bytes, chunk by chunk: what was opened before an error is the parcel's beginning. It begins after the chunks that opener has
// opened, so that it may be called again after an error. done is called as by Send.
func Fetch(ctx context.Context, store mailbox.Store, box mailbox.Address, right mailbox.Right, name seal.Parcel, opener Opener, size int64, done func(bytes int64)) error {
	chunks, err := count(size)
	if err != nil {
		return err
	}
	for i := opener.Opened(); ; i++ {
		arrived := min(int64(i)*seal.ChunkSize, size)
		told(done, arrived)
		if err := ctx.Err(); err != nil {
			return err
		}
		if opener.Ended() != (i == chunks) || i > chunks {
			return ErrSize
		}
		if i == chunks {
			return nil
		}
		n, err := next(ctx, store, box, right, name, opener, i)
		if err != nil {
			return err
		}
		if n != plain(i, size) {
			return ErrSize
		}
	}
}

// next fetches and opens the chunk at position i.
func next(ctx context.Context, store mailbox.Store, box mailbox.Address, right mailbox.Right, name seal.Parcel, opener Opener, i int) (int, error) {
	body, n, err := store.GetChunk(ctx, box, right, mailbox.ID(name), i)
	if errors.Is(err, mailbox.ErrNone) {
		// Either the box is gone or this chunk has not come.
		if _, err := store.Chunks(ctx, box, right, mailbox.ID(name)); err != nil {
			return 0, err
		}
		return 0, ErrPart
	}
	if err != nil {
		return 0, err
	}
	defer body.Close()
	if n > seal.ChunkSize+seal.Overhead {
		return 0, seal.ErrTooLarge
	}
	return opener.Open(ctx, body, n)
}

// count is how many chunks a parcel has.
func count(size int64) (int, error) {
	if size < 0 {
		return 0, ErrSize
	}
	if size > MaxSize {
		return 0, mailbox.ErrTooLarge
	}
	return seal.Chunks(int(size)), nil
}

// plain is how many plain bytes the chunk at position i has.
func plain(i int, size int64) int { return int(min(seal.ChunkSize, size-int64(i)*seal.ChunkSize)) }

func told(done func(int64), bytes int64) {
	if done != nil {
		done(bytes)
	}
}

func conflict(err error) error {
	if errors.Is(err, mailbox.ErrConflict) {
		return fmt.Errorf("%w: %w", ErrConflict, err)
	}
	return err
}
