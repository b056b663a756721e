//go:build js

package browser

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"syscall/js"

	"example.org/plumb/web/carry"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/seal"
)

// ErrOther is the error of a parcel that opens, but to other bytes than were told of.
var ErrOther = errors.New("browser: the parcel holds another file")

// Parcels carry Blobs to a mailbox and back. Their bytes do not pass through the program's memory where Web Crypto is there. All methods wait.
type Parcels struct {
	Store mailbox.Store // best a client.Store over Fetch: its bodies need no copy
	Blobs *Blobs

	mu    sync.Mutex
	begun map[string]begun // what was fetched of parcels whose way broke off, by the key of the Blob
}

type begun struct {
	of     fetched
	opener carry.Opener
	parts  func() js.Value
}

// fetched is what must be the same for fetching to go on.
type fetched struct {
	box  mailbox.Address
	name seal.Parcel
	key  seal.Key
	size int64
}

// Send seals the Blob under a key of Blobs and puts into the box what is not there yet: see carry.Send.
func (p *Parcels) Send(ctx context.Context, box mailbox.Address, name seal.Parcel, k seal.Key, blob string, done func(bytes int64)) error {
	b, err := p.Blobs.Wait(blob)
	if err != nil {
		return err
	}
	return sendBlob(ctx, p.Store, box, name, NewCipher(k), b, done)
}

func sendBlob(ctx context.Context, store mailbox.Store, box mailbox.Address, name seal.Parcel, c seal.Cipher, blob js.Value, done func(bytes int64)) error {
	if web, ok := c.(Cipher); ok {
		s := &sealer{cipher: web, name: name, blob: blob}
		defer s.drop()
		return carry.SendBy(ctx, store, box, name, s, length(blob), done)
	}
	return carry.Send(ctx, store, box, name, c, blobReader{blob}, length(blob), done)
}

// Fetch lays a parcel of size bytes as a Blob of a media type under a key of Blobs, if its SHA-256 is digest. What came before it broke off is not fetched again as long
// as the page is there.
func (p *Parcels) Fetch(ctx context.Context, box mailbox.Address, right mailbox.Right, name seal.Parcel, k seal.Key, size int64, digest [32]byte, blob, kind string, done func(bytes int64)) error {
	of := fetched{box, name, k, size}
	p.mu.Lock()
	b, ok := p.begun[blob]
	delete(p.begun, blob)
	p.mu.Unlock()
	if !ok || b.of != of {
		b = begin(NewCipher(k), name)
		b.of = of
	}
	if err := carry.Fetch(ctx, p.Store, box, right, name, b.opener, size, done); err != nil {
		if b.opener.Opened() > 0 && !errors.Is(err, carry.ErrSize) {
			p.mu.Lock()
			if p.begun == nil {
				p.begun = map[string]begun{}
			}
			p.begun[blob] = b
			p.mu.Unlock()
		}
		return err
	}
	whole := global.Get("Blob").New(b.parts(), map[string]any{"type": kind})
	got, err := Digest(whole)
	if err != nil {
		return err
	}
	if got != digest {
		return ErrOther
	}
	p.Blobs.Put(blob, whole)
	return nil
}

// begin returns an opener at the first chunk, and the Blobs that come of the chunks. They are made of several chunks at once: making one takes longer than opening does.
func begin(c seal.Cipher, name seal.Parcel) begun {
	list := global.Get("Array").New()
	var fresh []any // ArrayBuffers that are in no Blob yet
	gather := func() {
		if len(fresh) == 0 {
			return
		}
		list.Call("push", global.Get("Blob").New(fresh))
		for _, buffer := range fresh {
			free(buffer.(js.Value))
		}
		fresh = nil
	}
	keep := func(buffer js.Value) {
		if fresh = append(fresh, buffer); len(fresh)*seal.ChunkSize >= block {
			gather()
		}
	}
	parts := func() js.Value {
		gather()
		return list
	}
	if web, ok := c.(Cipher); ok {
		return begun{opener: &opener{Reader: seal.NewReader(nil, name), cipher: web, name: name, keep: keep}, parts: parts}
	}
	return begun{opener: carry.NewOpener(c, name, writer(func(b []byte) { keep(array(b).Get("buffer")) })), parts: parts}
}

type writer func(b []byte)

func (w writer) Write(b []byte) (int, error) {
	w(b)
	return len(b), nil
}

// block is how many bytes of a Blob are read at once: in pieces of a chunk the way to the browser's store of Blobs takes longer than sealing does.
const block = 8 * seal.ChunkSize

// sealer is a carry.Sealer of a Blob. While a chunk travels the next one is being sealed.
type sealer struct {
	cipher Cipher
	name   seal.Parcel
	blob   js.Value

	at    int64    // where plain begins
	plain js.Value // a Uint8Array of the Blob, or undefined
	ahead int      // position of the chunk that is being sealed
	next  js.Value // promise of what the cipher makes of it, or undefined
}

func (s *sealer) Seal(_ context.Context, i int, last bool, offset int64, n int) (io.ReadSeeker, error) {
	head, err := seal.Header(i, last, n)
	if err != nil {
		return nil, err
	}
	if err := s.reach(offset, n); err != nil {
		return nil, err
	}
	promise := s.next
	if s.next.IsUndefined() || s.ahead != i {
		if promise, err = s.begin(i, last, offset, n); err != nil {
			return nil, seal.ErrCipher
		}
	}
	s.next = js.Undefined()
	if rest := min(seal.ChunkSize, length(s.blob)-offset-int64(n)); rest > 0 && s.holds(offset+int64(n), int(rest)) {
		// If it cannot be begun now, that is told when it is its turn.
		s.ahead = i + 1
		s.next, _ = s.begin(i+1, offset+int64(n)+rest == length(s.blob), offset+int64(n), int(rest))
	}
	sealed, err := await(promise)
	if err != nil || sealed.Get("byteLength").Int() != n+seal.Overhead-seal.HeaderSize {
		return nil, seal.ErrCipher
	}
	chunk := global.Get("Uint8Array").New(n + seal.Overhead)
	js.CopyBytesToJS(chunk, head[:])
	chunk.Call("set", global.Get("Uint8Array").New(sealed), seal.HeaderSize)
	free(sealed)
	return &outside{bytes: chunk}, nil
}

// begin seals the n bytes from the offset on, which are at hand.
func (s *sealer) begin(i int, last bool, offset int64, n int) (promise js.Value, err error) {
	nonce := seal.Nonce(i, last)
	from := offset - s.at
	return s.cipher.begin("encrypt", nonce[:], seal.Additional(s.name), s.plain.Call("subarray", from, from+int64(n)))
}

// holds tells whether bytes are at hand.
func (s *sealer) holds(offset int64, n int) bool {
	return s.plain.Truthy() && offset >= s.at && offset+int64(n) <= s.at+int64(s.plain.Length())
}

// reach reads bytes, and more behind them, if they are not at hand.
func (s *sealer) reach(offset int64, n int) error {
	if s.holds(offset, n) {
		return nil
	}
	s.drop()
	buffer, err := contents(s.blob.Call("slice", offset, offset+block))
	if err != nil {
		return fmt.Errorf("%w: %w", carry.ErrSource, err)
	}
	s.at, s.plain = offset, global.Get("Uint8Array").New(buffer)
	if !s.holds(offset, n) {
		return fmt.Errorf("%w: %w", carry.ErrSource, io.ErrUnexpectedEOF)
	}
	return nil
}

// drop lets go of what is at hand. What is being sealed of it was copied when that began.
func (s *sealer) drop() {
	if s.plain.Truthy() {
		free(s.plain.Get("buffer"))
	}
	s.plain, s.next = js.Undefined(), js.Undefined()
}

// opener is a carry.Opener that hands on each chunk's plain bytes, an ArrayBuffer.
type opener struct {
	*seal.Reader
	cipher Cipher
	name   seal.Parcel
	keep   func(plain js.Value)
}

func (o *opener) Open(_ context.Context, sealed io.Reader, size int64) (int, error) {
	chunk, err := taken(sealed, size)
	if err != nil {
		return 0, err
	}
	var head [seal.HeaderSize]byte
	n := js.CopyBytesToGo(head[:], chunk)
	var plain js.Value
	err = o.Follow(head[:n], int(size), func(nonce [12]byte) (int, error) {
		var err error
		if plain, err = o.cipher.run("decrypt", nonce[:], seal.Additional(o.name), chunk.Call("subarray", seal.HeaderSize)); err != nil {
			return 0, err
		}
		return plain.Get("byteLength").Int(), nil
	})
	if err != nil {
		return 0, err
	}
	o.keep(plain)
	return int(size) - seal.Overhead, nil
}

// taken is a body of size bytes as a Uint8Array.
func taken(body io.Reader, size int64) (js.Value, error) {
	if w, ok := body.(*outside); ok && w.Size() == size {
		return w.bytes, nil
	}
	b := make([]byte, size)
	if _, err := io.ReadFull(body, b); err != nil {
		return js.Undefined(), err
	}
	return array(b), nil
}

// outside is a body whose bytes are a Uint8Array.
type outside struct {
	bytes js.Value
	at    int64
}

var _ client.Whole = (*outside)(nil)

func (o *outside) Whole() any  { return o.bytes }
func (o *outside) Size() int64 { return int64(o.bytes.Length()) }

// Close gives the bytes back.
func (o *outside) Close() error {
	free(o.bytes.Get("buffer"))
	return nil
}

func (o *outside) Read(p []byte) (int, error) {
	if o.at >= o.Size() {
		return 0, io.EOF
	}
	n := js.CopyBytesToGo(p, o.bytes.Call("subarray", o.at))
	o.at += int64(n)
	return n, nil
}

func (o *outside) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += o.at
	case io.SeekEnd:
		offset += o.Size()
	}
	if offset < 0 {
		return 0, errors.New("browser: before the first byte")
	}
	o.at = offset
	return offset, nil
}
