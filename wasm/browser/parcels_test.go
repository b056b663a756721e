//go:build js

package browser

import (
	"bytes"
	"context"
	"crypto/sha256"
	"crypto/sha3"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"syscall/js"
	"testing"
	"time"

	"example.org/plumb/testdata"
	"example.org/plumb/web/carry"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/seal"
)

// vectors are testdata/seal/parcels.json: see web/seal.
type vectors struct {
	Parcels []struct {
		Name, Key, ID string
		Size          int
		Chunks        []string
	}
	Arrivals []struct {
		Name, Of       string
		Chunks, Errors []string
	}
}

func readVectors(t *testing.T) (v vectors) {
	t.Helper()
	text, err := testdata.FS.ReadFile("seal/parcels.json")
	if err == nil {
		err = json.Unmarshal(text, &v)
	}
	if err != nil {
		t.Fatal(err)
	}
	if len(v.Parcels) < 4 || len(v.Arrivals) < 20 {
		t.Fatal("too few vectors")
	}
	return v
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// What is sealed outside the program's memory is the same as what Go seals, and the errors of what arrives are the same.
func TestParcelVectors(t *testing.T) {
	v := readVectors(t)
	sealed := map[string][][]byte{}
	type parcel struct {
		key   seal.Key
		id    seal.Parcel
		plain []byte
	}
	all := map[string]parcel{}
	for _, p := range v.Parcels {
		q := parcel{seal.Key(unhex(t, p.Key)), seal.Parcel(unhex(t, p.ID)), sha3.SumSHAKE256([]byte(p.Name), p.Size)}
		all[p.Name] = q
		s := &sealer{cipher: NewCipher(q.key).(Cipher), name: q.id, blob: blobOf(q.plain, "")}
		for i, want := range p.Chunks {
			at := i * seal.ChunkSize
			n := min(seal.ChunkSize, len(q.plain)-at)
			body, err := s.Seal(t.Context(), i, i == len(p.Chunks)-1, int64(at), n)
			if err != nil {
				t.Fatalf("%s, chunk %d: %v", p.Name, i, err)
			}
			b := slice(body.(*outside).bytes)
			if sum := sha256.Sum256(b); hex.EncodeToString(sum[:]) != want {
				t.Errorf("%s: chunk %d is another", p.Name, i)
			}
			read, err := io.ReadAll(body)
			if err != nil || !bytes.Equal(read, b) {
				t.Errorf("%s: chunk %d reads as another, %v", p.Name, i, err)
			}
			sealed[p.Name] = append(sealed[p.Name], b)
		}
	}
	byName := map[string]error{"": nil, "version": seal.ErrVersion, "foreign": seal.ErrForeign, "truncated": seal.ErrTruncated, "order": seal.ErrOrder, "extra": seal.ErrExtra,
		"layout": seal.ErrLayout, "too large": seal.ErrTooLarge}
	for _, a := range v.Arrivals {
		p := all[a.Of]
		begun := begin(NewCipher(p.key), p.id)
		for i, word := range a.Chunks {
			b := chunkOf(t, word, sealed)
			want, known := byName[a.Errors[i]]
			_, err := begun.opener.Open(t.Context(), &outside{bytes: array(b)}, int64(len(b)))
			if err != want || !known {
				t.Errorf("%s: step %d gives %v, want %q", a.Name, i, err, a.Errors[i])
			}
		}
		last := a.Errors[len(a.Errors)-1]
		if begun.opener.Ended() != (last == "") {
			t.Errorf("%s: ended: %v", a.Name, begun.opener.Ended())
		}
		whole := bytesOf(t, global.Get("Blob").New(begun.parts()))
		if !bytes.HasPrefix(p.plain, whole) || last == "" && len(whole) != len(p.plain) {
			t.Errorf("%s: opens to other bytes", a.Name)
		}
	}
}

// chunkOf makes what an arrival's word says; see web/seal.
func chunkOf(t *testing.T, word string, from map[string][][]byte) []byte {
	number := func(s string) int {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	end := strings.IndexAny(word, "^<>=")
	if end < 0 {
		return from[word[:1]][number(word[1:])]
	}
	b := slices.Clone(from[word[:1]][number(word[1:end])])
	first, second, _ := strings.Cut(word[end+1:], "=")
	switch n := number(first); word[end] {
	case '^':
		b[n] ^= 1
	case '<':
		b = b[:n]
	case '>':
		b = append(b, make([]byte, n)...)
	default:
		b[n] = byte(number(second))
	}
	return b
}

func random16() []byte {
	k := seal.NewKey()
	return k[:16]
}

// box opens a box at the server that the page came from.
func box(t testing.TB, s mailbox.Store) mailbox.Address {
	t.Helper()
	at := mailbox.Address(random16())
	if err := s.Open(t.Context(), at, mailbox.Right(seal.NewKey()).Owner(), time.Now().Add(48*time.Hour)); err != nil {
		t.Fatal(err)
	}
	return at
}

// flaky is a store whose line breaks off after some chunks.
type flaky struct {
	mailbox.Store
	left     int
	put, got []int
}

func (f *flaky) PutChunk(ctx context.Context, at mailbox.Address, id mailbox.ID, i int, size int64, body io.Reader) error {
	if f.left--; f.left < 0 {
		return errTest
	}
	f.put = append(f.put, i)
	return f.Store.PutChunk(ctx, at, id, i, size, body)
}

func (f *flaky) GetChunk(ctx context.Context, at mailbox.Address, right mailbox.Right, id mailbox.ID, i int) (io.ReadCloser, int64, error) {
	if f.left--; f.left < 0 {
		return nil, 0, errTest
	}
	f.got = append(f.got, i)
	return f.Store.GetChunk(ctx, at, right, id, i)
}

// Pictures go to the server and back, with Web Crypto and without, and go on where they stopped.
func TestParcels(t *testing.T) {
	page(t)
	run := func(t *testing.T, n int) {
		store := &flaky{Store: &client.Store{Do: Fetch{}}, left: 2}
		at := box(t, store)
		blobs := NewBlobs("parcels test")
		p := &Parcels{Store: store, Blobs: blobs}
		k, name, plain := seal.NewKey(), seal.Parcel(random16()), noiseOf(n)
		blobs.Put("source", blobOf(plain, "image/png"))
		var told []int64
		done := func(b int64) { told = append(told, b) }
		chunks := seal.Chunks(n)
		err := p.Send(t.Context(), at, name, k, "source", done)
		if chunks > 2 {
			if err != errTest {
				t.Fatalf("sent over a broken line: %v", err)
			}
			store.left = chunks
			err = p.Send(t.Context(), at, name, k, "source", done)
		}
		if err != nil || len(store.put) != chunks {
			t.Fatalf("sent: %v, chunks %v", err, store.put)
		}
		if !slices.IsSorted(told) || told[len(told)-1] != int64(n) {
			t.Errorf("told %v", told)
		}
		for i := range chunks {
			from := i * seal.ChunkSize
			want, err := k.SealChunk(name, i, i == chunks-1, plain[from:min(from+seal.ChunkSize, n)])
			if err != nil {
				t.Fatal(err)
			}
			r, _, err := store.Store.GetChunk(t.Context(), at, mailbox.Right{}, mailbox.ID(name), i)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := io.ReadAll(r); err != nil || !bytes.Equal(got, want) {
				t.Errorf("chunk %d is not the one that Go seals: %v", i, err)
			}
		}
		told, store.left = nil, 2
		sum := sha256.Sum256(plain)
		fetch := func() error {
			return p.Fetch(t.Context(), at, mailbox.Right{}, name, k, int64(n), sum, "fetched", "image/png", done)
		}
		err = fetch()
		if chunks > 2 {
			if err != errTest {
				t.Fatalf("fetched over a broken line: %v", err)
			}
			store.left = chunks
			err = fetch()
		}
		if err != nil || len(store.got) != chunks {
			t.Fatalf("fetched: %v, chunks %v", err, store.got)
		}
		if !slices.IsSorted(told) || told[len(told)-1] != int64(n) {
			t.Errorf("told %v", told)
		}
		got, err := blobs.Wait("fetched")
		if err != nil || got.Get("type").String() != "image/png" || !bytes.Equal(bytesOf(t, got), plain) {
			t.Errorf("fetched another file: %v", err)
		}
		if chunks > 2 { // what was begun of another parcel is not gone on with
			store.left = 1
			if err := p.Fetch(t.Context(), at, mailbox.Right{}, name, k, int64(n), sum, "wrong", "", nil); err != errTest {
				t.Errorf("over a broken line: %v", err)
			}
			store.left = 99
			if err := p.Fetch(t.Context(), at, mailbox.Right{}, name, seal.NewKey(), int64(n), sum, "wrong", "", nil); err != seal.ErrForeign {
				t.Errorf("going on with another key: %v", err)
			}
		}
		store.left = 99
		if err := p.Fetch(t.Context(), at, mailbox.Right{}, name, k, int64(n), [32]byte{1}, "wrong", "", nil); err != ErrOther {
			t.Errorf("another digest: %v", err)
		}
		if err := p.Fetch(t.Context(), at, mailbox.Right{}, name, k, int64(n)+1, sum, "wrong", "", nil); !errors.Is(err, carry.ErrSize) && !errors.Is(err, carry.ErrPart) {
			t.Errorf("another size: %v", err)
		}
		if err := p.Fetch(t.Context(), at, mailbox.Right{}, name, seal.NewKey(), int64(n), sum, "wrong", "", nil); err != seal.ErrForeign {
			t.Errorf("another key: %v", err)
		}
		if _, err := blobs.Wait("wrong"); err != ErrNoBlob {
			t.Errorf("what was refused is there: %v", err)
		}
		if err := p.Send(t.Context(), at, name, k, "nothing", nil); err != ErrNoBlob {
			t.Errorf("nothing to send: %v", err)
		}
		other := n - 1
		if n == 0 {
			other = 1
		}
		blobs.Put("other", blobOf(noiseOf(other), ""))
		if err := p.Send(t.Context(), at, name, k, "other", nil); !errors.Is(err, carry.ErrConflict) {
			t.Errorf("another file under the same name: %v", err)
		}
	}
	for _, n := range []int{0, 1, seal.ChunkSize, 3*seal.ChunkSize + 5} {
		t.Run("Web Crypto/"+strconv.Itoa(n), func(t *testing.T) { run(t, n) })
		t.Run("Go/"+strconv.Itoa(n), func(t *testing.T) { without(func() { run(t, n) }) })
	}
}

// What is sealed in an order with gaps, as where some chunks lie there already, is the same.
func TestSealer(t *testing.T) {
	k, name := seal.NewKey(), seal.Parcel(random16())
	const n = 10*seal.ChunkSize + 3
	plain := noiseOf(n)
	s := &sealer{cipher: NewCipher(k).(Cipher), name: name, blob: blobOf(plain, "")}
	for _, i := range []int{0, 2, 3, 1, 7, 9, 10, 0, 10} {
		from := i * seal.ChunkSize
		part := plain[from:min(from+seal.ChunkSize, n)]
		body, err := s.Seal(t.Context(), i, i == 10, int64(from), len(part))
		if err != nil {
			t.Fatal(err)
		}
		want, err := k.SealChunk(name, i, i == 10, part)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := io.ReadAll(body); err != nil || !bytes.Equal(got, want) {
			t.Errorf("chunk %d is another: %v", i, err)
		}
	}
	if _, err := s.Seal(t.Context(), 10, true, 10*seal.ChunkSize, 4); !errors.Is(err, carry.ErrSource) {
		t.Errorf("more than there is: %v", err)
	}
	if _, err := s.Seal(t.Context(), 1, false, seal.ChunkSize, 5); err != seal.ErrChunk {
		t.Errorf("a chunk that is not full: %v", err)
	}
	s.drop()
	if s.plain.Truthy() {
		t.Error("kept")
	}
}

// A body that the Doer gives as it is does not pass through the program's memory; one that must be read is read.
func TestOutside(t *testing.T) {
	o := &outside{bytes: array([]byte("apples and pears"))}
	if w, ok := any(o).(client.Whole); !ok || w.Size() != 16 || !w.Whole().(js.Value).Equal(o.bytes) {
		t.Error("not whole")
	}
	head := make([]byte, 6)
	if n, err := o.Read(head); n != 6 || err != nil || string(head) != "apples" {
		t.Errorf("%d, %v, %q", n, err, head)
	}
	if at, err := o.Seek(-5, io.SeekEnd); at != 11 || err != nil {
		t.Error(at, err)
	}
	if b, err := io.ReadAll(o); string(b) != "pears" || err != nil {
		t.Errorf("%q, %v", b, err)
	}
	if _, err := o.Seek(-1, io.SeekStart); err == nil {
		t.Error("before the first byte")
	}
	if v, err := taken(o, 16); err != nil || !v.Equal(o.bytes) {
		t.Error("copied")
	}
	if v, err := taken(strings.NewReader("pears"), 5); err != nil || string(slice(v)) != "pears" {
		t.Error("not read")
	}
	if _, err := taken(strings.NewReader("pear"), 5); err == nil {
		t.Error("too short")
	}
	o.Close()
	if n := o.Size(); n != 0 && has(o.bytes.Get("buffer"), "transfer") {
		t.Errorf("%d bytes are kept", n)
	}
	if b, err := io.ReadAll(o); len(b) > 0 || err != nil {
		t.Errorf("%q, %v", b, err)
	}
}

// unread is a body that must not be read.
type unread struct{ *outside }

func (unread) Read([]byte) (int, error) { return 0, errTest }

// A body outside the program's memory is sent without being read; any other is read.
func TestFetchWhole(t *testing.T) {
	page(t)
	body := unread{&outside{bytes: array([]byte("pears"))}}
	if a, err := (Fetch{}).Do(t.Context(), client.Request{Method: "POST", Path: "/sink", Body: body, Size: 5}); err != nil || a.Status != 200 {
		t.Errorf("%d, %v", a.Status, err)
	}
	if _, err := (Fetch{}).Do(t.Context(), client.Request{Method: "POST", Path: "/sink", Body: struct{ io.Reader }{body}, Size: 5}); err != errTest {
		t.Errorf("not read: %v", err)
	}
}
