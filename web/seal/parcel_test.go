package seal

import (
	"bytes"
	"errors"
	"slices"
	"testing"
)

// Nonces differ by position and by being the last; their bytes are as written.
func TestNonce(t *testing.T) {
	for _, c := range []struct {
		i    int
		last bool
		want []byte
	}{
		{0, false, []byte{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}},
		{0, true, []byte{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1}},
		{1, false, []byte{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0}},
		{0x01020304, true, []byte{0, 0, 0, 0, 0, 0, 0, 1, 2, 3, 4, 1}},
	} {
		if n := Nonce(c.i, c.last); !bytes.Equal(n[:], c.want) {
			t.Errorf("%d, %v: %x", c.i, c.last, n)
		}
	}
	seen := map[[12]byte]bool{}
	for i := range 1000 {
		seen[Nonce(i, false)], seen[Nonce(i, true)] = true, true
	}
	if len(seen) != 2000 {
		t.Errorf("%d nonces of 2000", len(seen))
	}
	if got, want := Additional(Parcel(stream("id", 16))), append([]byte("plumb/parcel/1"), stream("id", 16)...); !bytes.Equal(got, want) {
		t.Errorf("additional data %x", got)
	}
}

// Only chunks as a parcel has them are sealed.
func TestChunkSizes(t *testing.T) {
	var k Key
	for _, c := range []struct {
		i    int
		last bool
		n    int
		want error
	}{
		{0, false, ChunkSize, nil}, {3, false, ChunkSize, nil}, {0, true, 0, nil}, {0, true, 1, nil}, {7, true, ChunkSize, nil}, {maxPosition, true, 1, nil},
		{0, false, ChunkSize - 1, ErrChunk}, {0, false, ChunkSize + 1, ErrChunk}, {0, false, 0, ErrChunk}, {0, true, ChunkSize + 1, ErrChunk},
		{1, true, 0, ErrChunk}, {-1, true, 1, ErrChunk}, {maxPosition + 1, true, 1, ErrChunk},
	} {
		sealed, err := k.SealChunk(Parcel{}, c.i, c.last, make([]byte, c.n))
		if err != c.want {
			t.Errorf("%d, %v, %d bytes: %v, want %v", c.i, c.last, c.n, err, c.want)
		}
		if err != nil {
			continue
		}
		plain, last, err := k.OpenChunk(Parcel{}, c.i, sealed)
		if err != nil || last != c.last || len(plain) != c.n {
			t.Errorf("%d, %v, %d bytes: opens to %d, %v, %v", c.i, c.last, c.n, len(plain), last, err)
		}
	}
	for size, want := range map[int]int{0: 1, 1: 1, ChunkSize: 1, ChunkSize + 1: 2, 64 * ChunkSize: 64} {
		if n := Chunks(size); n != want {
			t.Errorf("%d bytes: %d chunks, want %d", size, n, want)
		}
	}
}

// A chunk that only a sender who breaks the rules seals is refused though it opens.
func TestChunkLayout(t *testing.T) {
	var k Key
	for _, c := range []struct {
		i    int
		last bool
		n    int
	}{{0, false, 5}, {1, true, 0}} {
		n := Nonce(c.i, c.last)
		sealed := slices.Concat([]byte{1, n[11], 0, 0, 0, byte(c.i)}, k.Cipher().Seal(n[:], make([]byte, c.n), Additional(Parcel{})))
		if _, _, err := k.OpenChunk(Parcel{}, c.i, sealed); err != ErrLayout {
			t.Errorf("%v: %v", c, err)
		}
	}
}

// Sealing again gives the same, so what was sent in part can be sent on.
func TestSealedAgain(t *testing.T) {
	k := NewKey()
	a, err := k.SealChunk(Parcel{}, 2, true, []byte("apples"))
	b, again := k.SealChunk(Parcel{}, 2, true, []byte("apples"))
	if err != nil || again != nil || !bytes.Equal(a, b) {
		t.Errorf("%v, %v, or another", err, again)
	}
}

// broken is a cipher that fails, or gives what no AES-GCM gives.
type broken struct {
	sealed []byte
	plain  []byte
	err    error
}

func (b broken) Seal(_, _, _ []byte) []byte          { return b.sealed }
func (b broken) Open(_, _, _ []byte) ([]byte, error) { return b.plain, b.err }

func TestCipherFails(t *testing.T) {
	for _, b := range []broken{{}, {sealed: make([]byte, 5)}} {
		if _, err := SealChunk(b, Parcel{}, 0, true, make([]byte, 5)); err != ErrCipher {
			t.Errorf("sealed: %v", err)
		}
	}
	sealed, err := NewKey().SealChunk(Parcel{}, 0, true, make([]byte, 5))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := OpenChunk(broken{err: errors.New("no")}, Parcel{}, 0, sealed); err != ErrForeign {
		t.Errorf("not opened: %v", err)
	}
	if _, _, err := OpenChunk(broken{plain: make([]byte, 4)}, Parcel{}, 0, sealed); err != ErrCipher {
		t.Errorf("opened to another length: %v", err)
	}
}

// The header is what a sealed chunk begins with, and is refused where the chunk is.
func TestHeader(t *testing.T) {
	var k Key
	for _, c := range []struct {
		i    int
		last bool
		n    int
	}{{0, true, 0}, {0, false, ChunkSize}, {258, true, 5}, {maxPosition, true, 1}, {0, false, 5}, {-1, true, 1}, {maxPosition + 1, true, 1}, {1, true, 0}, {0, true, ChunkSize + 1}} {
		sealed, want := k.SealChunk(Parcel{}, c.i, c.last, make([]byte, c.n))
		head, err := Header(c.i, c.last, c.n)
		if err != want || err == nil && !bytes.Equal(head[:], sealed[:HeaderSize]) {
			t.Errorf("%v: %x, %v", c, head, err)
		}
	}
}

// Follow reads what Next reads and refuses what Next refuses, with no more of a chunk than its header.
func TestFollow(t *testing.T) {
	k, id := Key(stream("key", 32)), Parcel(stream("id", 16))
	var list [][]byte
	for i := range 2 {
		c, err := k.SealChunk(id, i, i == 1, stream("plain", ChunkSize))
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	bad := slices.Clone(list[0])
	bad[9] ^= 1
	next, follow := NewReader(k.Cipher(), id), NewReader(nil, id)
	for step, c := range [][]byte{{}, {2}, {1}, list[0][:HeaderSize], bad, list[1], append(slices.Clone(list[0]), 0), list[0], list[0], list[1], list[1]} {
		_, want := next.Next(c)
		err := follow.Follow(c[:min(len(c), HeaderSize)], len(c), func(nonce [12]byte) (int, error) {
			plain, err := k.Cipher().Open(nonce[:], c[HeaderSize:], Additional(id))
			return len(plain), err
		})
		if err != want || follow.Opened() != next.Opened() || follow.Ended() != next.Ended() {
			t.Errorf("step %d: %v, want %v; %d chunks, want %d", step, err, want, follow.Opened(), next.Opened())
		}
	}
	if next.Opened() != 2 || !next.Ended() {
		t.Error("not read to the end")
	}
	r := NewReader(nil, id)
	if err := r.Follow(list[0], len(list[0]), func([12]byte) (int, error) { return ChunkSize - 1, nil }); err != ErrCipher {
		t.Errorf("opened to another length: %v", err)
	}
	if err := r.Follow(list[0][:3], len(list[0]), func([12]byte) (int, error) { return ChunkSize, nil }); err != ErrTruncated {
		t.Errorf("half a header: %v", err)
	}
}

// What is given is not written to.
func TestChunkIsLeftAlone(t *testing.T) {
	k := NewKey()
	plain := append(stream("plain", 100), 0xaa)[:100]
	sealed, err := k.SealChunk(Parcel{}, 0, true, plain)
	if err != nil {
		t.Fatal(err)
	}
	kept := slices.Clone(sealed)
	if _, _, err := k.OpenChunk(Parcel{}, 0, sealed); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(plain[:101], append(stream("plain", 100), 0xaa)) || !bytes.Equal(sealed, kept) {
		t.Error("written to")
	}
}

func BenchmarkChunk(b *testing.B) {
	k := NewKey()
	plain := make([]byte, ChunkSize)
	sealed, err := k.SealChunk(Parcel{}, 0, false, plain)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("seal", func(b *testing.B) {
		b.SetBytes(ChunkSize)
		for b.Loop() {
			k.SealChunk(Parcel{}, 0, false, plain)
		}
	})
	b.Run("open", func(b *testing.B) {
		b.SetBytes(ChunkSize)
		for b.Loop() {
			k.OpenChunk(Parcel{}, 0, sealed)
		}
	})
}

func BenchmarkLetter(b *testing.B) {
	for i, p := range makers {
		name := []string{"hybrid", "short"}[i]
		key := generated(b, p)
		body := make([]byte, 8000)
		letter, err := Seal(key.Public(), "answer", nil, body)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name+"/generate", func(b *testing.B) {
			for b.Loop() {
				generated(b, p)
			}
		})
		b.Run(name+"/seal", func(b *testing.B) {
			for b.Loop() {
				Seal(key.Public(), "answer", nil, body)
			}
		})
		b.Run(name+"/open", func(b *testing.B) {
			for b.Loop() {
				key.Open("answer", nil, letter)
			}
		})
	}
}
