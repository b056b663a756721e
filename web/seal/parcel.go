package seal

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/rand"
	"encoding/binary"
	"math"
)

const (
	// ChunkSize is how many plain bytes each chunk of a parcel but the last has.
	ChunkSize = 1 << 20
	// Overhead is how many bytes longer a sealed chunk is: a header and the tag of AES-GCM.
	Overhead = HeaderSize + tag
	// HeaderSize is how many bytes of a sealed chunk stand before what the cipher sealed: version, last, position.
	HeaderSize = 6

	chunkVersion = 1
	parcelLabel  = "plumb/parcel/1"
	maxPosition  = math.MaxInt32
)

// A Key seals the chunks of one parcel. One key seals one sequence of bytes, cut into chunks in one way: sealing the same again gives the same, which makes
// resuming safe, but other bytes at the same position would give both away.
type Key [32]byte

// NewKey makes a key at random.
func NewKey() (k Key) {
	rand.Read(k[:]) // never fails
	return k
}

// Parcel names a parcel.
type Parcel [16]byte

// A Cipher is AES-256-GCM with one key, a nonce of 12 bytes and a tag of 16 at the end of what is sealed. Seal returns nil if it fails.
type Cipher interface {
	Seal(nonce, plain, additional []byte) []byte
	Open(nonce, sealed, additional []byte) ([]byte, error)
}

// Cipher returns Go's.
func (k Key) Cipher() Cipher {
	block, err := aes.NewCipher(k[:])
	if err != nil {
		panic(err) // 32 bytes are a key
	}
	aead, err := cipher.NewGCM(block)
	if err != nil {
		panic(err) // AES has the right block
	}
	return gcm{aead}
}

type gcm struct{ aead cipher.AEAD }

func (g gcm) Seal(nonce, plain, additional []byte) []byte {
	return g.aead.Seal(nil, nonce, plain, additional)
}

func (g gcm) Open(nonce, sealed, additional []byte) ([]byte, error) {
	return g.aead.Open(nil, nonce, sealed, additional)
}

// Nonce is the nonce of the chunk at position i, counted from 0: three bytes of zero, the position as 8 bytes, most significant first, and 1 for the last chunk.
// It follows STREAM: Hoang, Reyhanitabar, Rogaway and Vizár, "Online authenticated-encryption and its nonce-reuse misuse-resistance", CRYPTO 2015. Nonces of
// one key never repeat, for a key seals one parcel; NIST SP 800-38D, 8.2.1, has such counters as its deterministic construction.
func Nonce(i int, last bool) (n [12]byte) {
	binary.BigEndian.PutUint64(n[3:], uint64(i))
	if last {
		n[11] = 1
	}
	return n
}

// Additional is the additional data of all chunks of a parcel: the version and the parcel's name.
func Additional(id Parcel) []byte { return append([]byte(parcelLabel), id[:]...) }

// SealChunk seals the chunk at position i, counted from 0. All but the last have ChunkSize bytes, and only a parcel of nothing ends in an empty one.
func SealChunk(c Cipher, id Parcel, i int, last bool, plain []byte) ([]byte, error) {
	head, err := Header(i, last, len(plain))
	if err != nil {
		return nil, err
	}
	n := Nonce(i, last)
	sealed := c.Seal(n[:], plain, Additional(id))
	if len(sealed) != len(plain)+tag {
		return nil, ErrCipher
	}
	return append(append(make([]byte, 0, HeaderSize+len(sealed)), head[:]...), sealed...), nil
}

// Header is what stands before the sealed bytes of the chunk at position i with so many plain bytes: for those who seal them elsewhere, by Nonce and Additional.
func Header(i int, last bool, plain int) (head [HeaderSize]byte, err error) {
	if i < 0 || i > maxPosition || !fits(i, last, plain) {
		return head, ErrChunk
	}
	head[0] = chunkVersion
	if last {
		head[1] = 1
	}
	binary.BigEndian.PutUint32(head[2:], uint32(i))
	return head, nil
}

// OpenChunk opens the chunk at position i and tells whether it is the last. A chunk of this parcel from another position gives ErrOrder.
func OpenChunk(c Cipher, id Parcel, i int, sealed []byte) (plain []byte, last bool, err error) {
	last, err = open(i, sealed, len(sealed), func(nonce [12]byte) (int, error) {
		plain, err = c.Open(nonce[:], sealed[HeaderSize:], Additional(id))
		return len(plain), err
	})
	if err != nil {
		return nil, false, err
	}
	return plain, last, nil
}

// open checks the chunk at position i, of size bytes that begin with head; unseal opens what follows its header and tells how many bytes come of it.
func open(i int, head []byte, size int, unseal func(nonce [12]byte) (int, error)) (last bool, err error) {
	if size == 0 || len(head) == 0 {
		return false, ErrTruncated
	}
	if head[0] != chunkVersion {
		return false, ErrVersion
	}
	if size < Overhead || len(head) < HeaderSize {
		return false, ErrTruncated
	}
	if size > ChunkSize+Overhead {
		return false, ErrTooLarge
	}
	if head[1] > 1 {
		return false, ErrForeign
	}
	last = head[1] == 1
	at := binary.BigEndian.Uint32(head[2:])
	n, err := unseal(Nonce(int(at), last))
	if err != nil {
		return false, ErrForeign
	}
	if n != size-Overhead {
		return false, ErrCipher
	}
	if int(at) != i {
		return false, ErrOrder
	}
	if !fits(i, last, n) {
		return false, ErrLayout
	}
	return last, nil
}

// fits tells whether a chunk of n plain bytes may be at position i.
func fits(i int, last bool, n int) bool {
	if last {
		return n <= ChunkSize && (n > 0 || i == 0)
	}
	return n == ChunkSize
}

// Chunks returns how many chunks a parcel of so many bytes has: at least one.
func Chunks(size int) int { return max(1, (size+ChunkSize-1)/ChunkSize) }

// A Reader opens the chunks of one parcel in their order and sees to it that none is left out, repeated, moved or added.
type Reader struct {
	cipher Cipher
	id     Parcel
	next   int
	ended  bool
}

// NewReader returns a Reader at the first chunk.
func NewReader(c Cipher, id Parcel) *Reader { return &Reader{cipher: c, id: id} }

// Next opens the chunk that follows. After an error it still waits for that chunk, so that it can be fetched once more.
func (r *Reader) Next(sealed []byte) (plain []byte, err error) {
	if r.ended {
		return nil, ErrExtra
	}
	plain, r.ended, err = OpenChunk(r.cipher, r.id, r.next, sealed)
	if err != nil {
		return nil, err
	}
	r.next++
	return plain, nil
}

// Follow is Next where the bytes lie elsewhere: a chunk of size bytes that begins with head, of HeaderSize bytes at least. unseal opens what follows the header, by
// the nonce given and Additional, and tells how many bytes came of it.
func (r *Reader) Follow(head []byte, size int, unseal func(nonce [12]byte) (plain int, err error)) error {
	if r.ended {
		return ErrExtra
	}
	last, err := open(r.next, head, size, unseal)
	if err != nil {
		return err
	}
	r.ended = last
	r.next++
	return nil
}

// Opened is how many chunks were opened.
func (r *Reader) Opened() int { return r.next }

// Ended tells whether the last chunk was opened.
func (r *Reader) Ended() bool { return r.ended }

// Close returns ErrTruncated unless the last chunk was opened: what came before is then not the whole parcel.
func (r *Reader) Close() error {
	if !r.ended {
		return ErrTruncated
	}
	return nil
}

// SealChunk is SealChunk with Go's cipher.
func (k Key) SealChunk(id Parcel, i int, last bool, plain []byte) ([]byte, error) {
	return SealChunk(k.Cipher(), id, i, last, plain)
}

// OpenChunk is OpenChunk with Go's cipher.
func (k Key) OpenChunk(id Parcel, i int, sealed []byte) (plain []byte, last bool, err error) {
	return OpenChunk(k.Cipher(), id, i, sealed)
}
