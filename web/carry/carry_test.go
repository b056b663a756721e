package carry_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"example.org/plumb/web/carry"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
	"example.org/plumb/web/seal"
)

const full = seal.ChunkSize

// line is a store whose line can be watched and cut.
type line struct {
	mailbox.Store
	left     int // chunks until it breaks; negative: never
	put, got []int
	most     int64 // bytes of a body
	cut      func()
}

var errLine = errors.New("the line broke")

func (l *line) breaks() bool {
	if l.left == 0 {
		if l.cut != nil {
			l.cut()
			return false
		}
		return true
	}
	l.left--
	return false
}

func (l *line) PutChunk(ctx context.Context, at mailbox.Address, id mailbox.ID, i int, size int64, body io.Reader) error {
	if l.breaks() {
		return errLine
	}
	l.put = append(l.put, i)
	l.most = max(l.most, size)
	return l.Store.PutChunk(ctx, at, id, i, size, body)
}

func (l *line) GetChunk(ctx context.Context, at mailbox.Address, right mailbox.Right, id mailbox.ID, i int) (io.ReadCloser, int64, error) {
	if l.breaks() {
		return nil, 0, errLine
	}
	l.got = append(l.got, i)
	r, size, err := l.Store.GetChunk(ctx, at, right, id, i)
	if err != nil {
		return nil, 0, err
	}
	return &watched{r, l, 0}, size, nil
}

// watched is a body whose bytes are counted.
type watched struct {
	io.ReadCloser
	line *line
	n    int64
}

func (w *watched) Read(p []byte) (int, error) {
	n, err := w.ReadCloser.Read(p)
	w.n += int64(n)
	w.line.most = max(w.line.most, w.n)
	return n, err
}

// world is a box in a store, and a parcel to be carried.
type world struct {
	*line
	box  mailbox.Address
	own  mailbox.Right
	name seal.Parcel
	key  seal.Key
}

// kinds are the stores that parcels are carried to.
var kinds = map[string]func(t *testing.T) mailbox.Store{
	"memory": func(*testing.T) mailbox.Store { return memory.New(time.Now, mailboxtest.Plenty) },
}

func stores(t *testing.T, f func(t *testing.T, w func() *world)) {
	for name, open := range kinds {
		t.Run(name, func(t *testing.T) {
			store := open(t)
			f(t, func() *world {
				w := &world{&line{Store: store, left: -1}, mailboxtest.NewAddress(), mailboxtest.NewRight(), seal.Parcel(mailboxtest.NewID()), seal.NewKey()}
				if err := store.Open(t.Context(), w.box, w.own.Owner(), time.Now().Add(48*time.Hour)); err != nil {
					t.Fatal(err)
				}
				return w
			})
		})
	}
}

func some(n int) []byte {
	b := make([]byte, n)
	rand.NewChaCha8([32]byte{byte(n)}).Read(b)
	return b
}

func (w *world) send(ctx context.Context, b []byte, done func(int64)) error {
	return carry.Send(ctx, w, w.box, w.name, w.key.Cipher(), bytes.NewReader(b), int64(len(b)), done)
}

func (w *world) fetch(ctx context.Context, size int, sink io.Writer, done func(int64)) error {
	return carry.Fetch(ctx, w, w.box, mailbox.Right{}, w.name, carry.NewOpener(w.key.Cipher(), w.name, sink), int64(size), done)
}

// lay puts a chunk as it is, past Send.
func (w *world) lay(t *testing.T, name seal.Parcel, i int, sealed []byte) {
	t.Helper()
	if err := w.Store.PutChunk(t.Context(), w.box, mailbox.ID(name), i, int64(len(sealed)), bytes.NewReader(sealed)); err != nil {
		t.Fatal(err)
	}
}

// chunks are those of a parcel, sealed by seal itself.
func (w *world) chunks(t *testing.T, key seal.Key, name seal.Parcel, b []byte) (list [][]byte) {
	t.Helper()
	n := seal.Chunks(len(b))
	for i := range n {
		c, err := key.SealChunk(name, i, i == n-1, b[i*full:min((i+1)*full, len(b))])
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	return list
}

// A parcel of any size comes back the same, in the chunks that seal makes, with nothing larger than a chunk on the way.
func TestWhole(t *testing.T) {
	stores(t, func(t *testing.T, open func() *world) {
		for _, n := range []int{0, 1, full - 1, full, full + 1, 2 * full, 3*full + 7} {
			w, b := open(), some(n)
			var sent, fetched []int64
			if err := w.send(t.Context(), b, func(n int64) { sent = append(sent, n) }); err != nil {
				t.Fatalf("%d bytes: %v", n, err)
			}
			for i, want := range w.chunks(t, w.key, w.name, b) {
				r, size, err := w.Store.GetChunk(t.Context(), w.box, mailbox.Right{}, mailbox.ID(w.name), i)
				if err != nil {
					t.Fatal(err)
				}
				if got, err := io.ReadAll(r); err != nil || !bytes.Equal(got, want) || size != int64(len(want)) {
					t.Errorf("%d bytes: chunk %d is another, %v", n, i, err)
				}
				r.Close()
			}
			var sink bytes.Buffer
			if err := w.fetch(t.Context(), n, &sink, func(n int64) { fetched = append(fetched, n) }); err != nil || !bytes.Equal(sink.Bytes(), b) {
				t.Errorf("%d bytes: fetched %d, %v", n, sink.Len(), err)
			}
			want := []int64{0}
			for i := range seal.Chunks(n) {
				want = append(want, int64(min((i+1)*full, n)))
			}
			if !slices.Equal(sent, want) || !slices.Equal(fetched, want) {
				t.Errorf("%d bytes: told %v and %v, want %v", n, sent, fetched, want)
			}
			if len(w.put) != seal.Chunks(n) || w.most > full+seal.Overhead {
				t.Errorf("%d bytes: chunks %v of up to %d bytes", n, w.put, w.most)
			}
			// Again, nothing is sent; without anybody to be told; by the owner, too.
			w.put = nil
			if err := w.send(t.Context(), b, nil); err != nil || len(w.put) > 0 {
				t.Errorf("%d bytes, again: chunks %v, %v", n, w.put, err)
			}
			if err := carry.Fetch(t.Context(), w, w.box, w.own, w.name, carry.NewOpener(w.key.Cipher(), w.name, io.Discard), int64(n), nil); err != nil {
				t.Errorf("%d bytes, by the owner: %v", n, err)
			}
		}
	})
}

// counted is a source that counts what is read of it.
type counted struct {
	*bytes.Reader
	read int
}

func (c *counted) ReadAt(p []byte, offset int64) (int, error) {
	c.read += len(p)
	return c.Reader.ReadAt(p, offset)
}

// Sending goes on where it stopped, also where something in the middle is missing; fetching goes on with the same Opener.
func TestResumed(t *testing.T) {
	stores(t, func(t *testing.T, open func() *world) {
		w, b := open(), some(4*full+9)
		w.left = 2
		if err := w.send(t.Context(), b, nil); err != errLine {
			t.Fatal(err)
		}
		var sink bytes.Buffer
		w.left = -1
		if err := w.fetch(t.Context(), len(b), &sink, nil); err != carry.ErrPart || !bytes.Equal(sink.Bytes(), b[:2*full]) {
			t.Errorf("half of it: %d bytes, %v", sink.Len(), err)
		}
		list := w.chunks(t, w.key, w.name, b)
		w.lay(t, w.name, 3, list[3])
		w.put = nil
		var told []int64
		source := &counted{Reader: bytes.NewReader(b)}
		if err := carry.Send(t.Context(), w, w.box, w.name, w.key.Cipher(), source, int64(len(b)), func(n int64) { told = append(told, n) }); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(w.put, []int{2, 4}) || !slices.Equal(told, []int64{3 * full, 4 * full, 4*full + 9}) || source.read != full+9 {
			t.Errorf("chunks %v, told %v, read %d", w.put, told, source.read)
		}
		sink.Reset()
		opener := carry.NewOpener(w.key.Cipher(), w.name, &sink)
		told, w.got, w.left = nil, nil, 3
		fetch := func() error {
			return carry.Fetch(t.Context(), w, w.box, mailbox.Right{}, w.name, opener, int64(len(b)), func(n int64) { told = append(told, n) })
		}
		if err := fetch(); err != errLine {
			t.Fatal(err)
		}
		w.left = -1
		if err := fetch(); err != nil || !bytes.Equal(sink.Bytes(), b) {
			t.Errorf("%d bytes, %v", sink.Len(), err)
		}
		if !slices.Equal(w.got, []int{0, 1, 2, 3, 4}) || !slices.Equal(told, []int64{0, full, 2 * full, 3 * full, 3 * full, 4 * full, 4*full + 9}) {
			t.Errorf("chunks %v, told %v", w.got, told)
		}
	})
}

// What is not this parcel is refused, each for its reason, and what was written before is the parcel's beginning.
func TestRefused(t *testing.T) {
	stores(t, func(t *testing.T, open func() *world) {
		b := some(2*full + 5)
		for _, c := range []struct {
			name   string
			size   int
			chunks func(own, other, moved [][]byte) [][]byte // nil for one that is not there
			want   error
		}{
			{"whole", len(b), func(own, _, _ [][]byte) [][]byte { return own }, nil},
			{"swapped", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[1], own[0], own[2]} }, seal.ErrOrder},
			{"repeated", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[0], own[0], own[2]} }, seal.ErrOrder},
			{"the last too early", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[0], own[2], own[1]} }, seal.ErrOrder},
			{"the last is missing", len(b), func(own, _, _ [][]byte) [][]byte { return own[:2] }, carry.ErrPart},
			{"nothing is there", len(b), func(own, _, _ [][]byte) [][]byte { return nil }, carry.ErrPart},
			{"one in the middle is missing", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[0], nil, own[2]} }, carry.ErrPart},
			{"cut short", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[0], own[1][:full], own[2]} }, seal.ErrForeign},
			{"cut to its header", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[0], own[1][:6], own[2]} }, seal.ErrTruncated},
			{"longer", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{own[0], own[1], append(own[2], 0)} }, seal.ErrForeign},
			{"longer than a chunk is", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{append(own[0], 0), own[1], own[2]} }, seal.ErrTooLarge},
			{"far longer", len(b), func(own, _, _ [][]byte) [][]byte { return [][]byte{append(own[0], own[1]...), own[1], own[2]} }, seal.ErrTooLarge},
			{"altered", len(b), func(own, _, _ [][]byte) [][]byte { own[1][5000] ^= 1; return own }, seal.ErrForeign},
			{"of another version", len(b), func(own, _, _ [][]byte) [][]byte { own[0][0]++; return own }, seal.ErrVersion},
			{"with another key", len(b), func(own, other, _ [][]byte) [][]byte { return [][]byte{own[0], other[1], own[2]} }, seal.ErrForeign},
			{"of another parcel", len(b), func(own, _, moved [][]byte) [][]byte { return moved }, seal.ErrForeign},
			{"more than was told", len(b) - 1, func(own, _, _ [][]byte) [][]byte { return own }, carry.ErrSize},
			{"less than was told", len(b) + 1, func(own, _, _ [][]byte) [][]byte { return own }, carry.ErrSize},
			{"a chunk more than was told", 2 * full, func(own, _, _ [][]byte) [][]byte { return own }, carry.ErrSize},
			{"a chunk less than was told", 3*full + 1, func(own, _, _ [][]byte) [][]byte { return own }, carry.ErrSize},
			{"nothing was told", 0, func(own, _, _ [][]byte) [][]byte { return own }, carry.ErrSize},
			{"less than nothing was told", -1, func(own, _, _ [][]byte) [][]byte { return own }, carry.ErrSize},
			{"too much was told", carry.MaxSize + 1, func(own, _, _ [][]byte) [][]byte { return own }, mailbox.ErrTooLarge},
		} {
			w := open()
			other := seal.Parcel(mailboxtest.NewID())
			for i, chunk := range c.chunks(w.chunks(t, w.key, w.name, b), w.chunks(t, seal.NewKey(), w.name, b), w.chunks(t, w.key, other, b)) {
				if chunk != nil {
					w.lay(t, w.name, i, chunk)
				}
			}
			var sink bytes.Buffer
			err := w.fetch(t.Context(), c.size, &sink, nil)
			if err != c.want && !(c.want != nil && errors.Is(err, c.want)) {
				t.Errorf("%s: %v, want %v", c.name, err, c.want)
			}
			if !bytes.HasPrefix(b, sink.Bytes()) || err == nil && sink.Len() != len(b) {
				t.Errorf("%s: wrote what is not the parcel's beginning", c.name)
			}
			if w.most > full+seal.Overhead {
				t.Errorf("%s: %d bytes of a chunk were read", c.name, w.most)
			}
		}
		w := open()
		if err := w.send(t.Context(), b, nil); err != nil {
			t.Fatal(err)
		}
		if err := w.Store.Delete(t.Context(), w.box, w.own); err != nil {
			t.Fatal(err)
		}
		if err := w.fetch(t.Context(), len(b), io.Discard, nil); err != mailbox.ErrNone {
			t.Errorf("fetched from a box that is gone: %v", err)
		}
		if err := w.send(t.Context(), b, nil); err != mailbox.ErrNone {
			t.Errorf("sent to a box that is gone: %v", err)
		}
	})
}

// Something else under the parcel's name is told, and left as it is.
func TestConflict(t *testing.T) {
	stores(t, func(t *testing.T, open func() *world) {
		b := some(2*full + 5)
		for name, before := range map[string]func(w *world){
			"a shorter one": func(w *world) { w.lay(t, w.name, 2, w.chunks(t, w.key, w.name, b[:2*full+4])[2]) },
			"a longer one":  func(w *world) { w.lay(t, w.name, 3, []byte("pears")) },
		} {
			w := open()
			before(w)
			if err := w.send(t.Context(), b, nil); !errors.Is(err, carry.ErrConflict) || !errors.Is(err, mailbox.ErrConflict) || len(w.put) > 0 {
				t.Errorf("%s: chunks %v, %v", name, w.put, err)
			}
		}
		// One that comes in between.
		w := open()
		other := w.chunks(t, seal.NewKey(), w.name, b)
		err := w.send(t.Context(), b, func(n int64) {
			if n == full {
				w.lay(t, w.name, 1, other[1])
			}
		})
		if !errors.Is(err, carry.ErrConflict) || !errors.Is(err, mailbox.ErrConflict) || !slices.Equal(w.put, []int{0, 1}) {
			t.Errorf("in between: chunks %v, %v", w.put, err)
		}
		if errors.Is(errLine, carry.ErrConflict) {
			t.Error("every error is a conflict")
		}
	})
}

// A context that ends ends it.
func TestCancelled(t *testing.T) {
	stores(t, func(t *testing.T, open func() *world) {
		w, b := open(), some(3*full)
		gone, end := context.WithCancel(t.Context())
		w.left, w.cut = 1, end
		if err := w.send(gone, b, nil); !errors.Is(err, context.Canceled) {
			t.Errorf("sent: %v", err)
		}
		if len(w.put) > 2 {
			t.Errorf("sent on: chunks %v", w.put)
		}
		w.put = nil
		if err := w.send(gone, b, nil); err != context.Canceled || len(w.put) > 0 {
			t.Errorf("sent after the end: chunks %v, %v", w.put, err)
		}
		w.left, w.cut = -1, nil
		if err := w.send(t.Context(), b, nil); err != nil {
			t.Fatal(err)
		}
		gone, end = context.WithCancel(t.Context())
		w.left, w.cut = 1, end
		var sink bytes.Buffer
		if err := w.fetch(gone, len(b), &sink, nil); !errors.Is(err, context.Canceled) || sink.Len() > 2*full {
			t.Errorf("fetched %d: %v", sink.Len(), err)
		}
		w.got = nil
		if err := w.fetch(gone, len(b), &sink, nil); err != context.Canceled || len(w.got) > 0 {
			t.Errorf("fetched after the end: chunks %v, %v", w.got, err)
		}
	})
}

type broken struct{ n int }

func (b broken) ReadAt(p []byte, _ int64) (int, error) { return min(b.n, len(p)), errLine }

func (b broken) Write(p []byte) (int, error) { return 0, errLine }

// What cannot be read or written is told with its reason, and nothing of it is sent.
func TestBroken(t *testing.T) {
	stores(t, func(t *testing.T, open func() *world) {
		w := open()
		err := carry.Send(t.Context(), w, w.box, w.name, w.key.Cipher(), broken{3}, 5, nil)
		if !errors.Is(err, carry.ErrSource) || !errors.Is(err, errLine) || len(w.put) > 0 {
			t.Errorf("%v, chunks %v", err, w.put)
		}
		// A file that became shorter since.
		err = carry.Send(t.Context(), w, w.box, w.name, w.key.Cipher(), bytes.NewReader([]byte("pears")), 6, nil)
		if !errors.Is(err, carry.ErrSource) || !errors.Is(err, io.ErrUnexpectedEOF) || len(w.put) > 0 {
			t.Errorf("%v, chunks %v", err, w.put)
		}
		if err := carry.Send(t.Context(), w, w.box, w.name, w.key.Cipher(), broken{5}, 5, nil); err != nil {
			t.Errorf("an error with all of the bytes: %v", err)
		}
		if err := w.fetch(t.Context(), 5, broken{}, nil); !errors.Is(err, carry.ErrSink) || !errors.Is(err, errLine) {
			t.Error(err)
		}
		if err := carry.Send(t.Context(), w, w.box, w.name, w.key.Cipher(), broken{}, carry.MaxSize+1, nil); err != mailbox.ErrTooLarge {
			t.Error(err)
		}
		if err := carry.Send(t.Context(), w, w.box, w.name, w.key.Cipher(), broken{}, -1, nil); err != carry.ErrSize {
			t.Error(err)
		}
	})
}

// The greatest parcel is one that a mailbox takes, and not by chance.
func TestMaxSize(t *testing.T) {
	n := seal.Chunks(carry.MaxSize)
	if n > mailbox.MaxChunks || carry.MaxSize+n*seal.Overhead > mailbox.MaxParcel || full+seal.Overhead > mailbox.MaxChunk {
		t.Errorf("%d chunks", n)
	}
}

func BenchmarkSend(b *testing.B) {
	data := some(8 * full)
	for _, way := range []string{"sealed alone", "sent to memory"} {
		b.Run(way, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			for b.Loop() {
				key, name := seal.NewKey(), seal.Parcel(mailboxtest.NewID())
				if way == "sealed alone" {
					for i := range 8 {
						key.SealChunk(name, i, i == 7, data[i*full:(i+1)*full])
					}
					continue
				}
				store, at := memory.New(time.Now, mailboxtest.Plenty), mailboxtest.NewAddress()
				if err := store.Open(b.Context(), at, mailboxtest.NewRight().Owner(), time.Now().Add(48*time.Hour)); err != nil {
					b.Fatal(err)
				}
				if err := carry.Send(b.Context(), store, at, name, key.Cipher(), bytes.NewReader(data), int64(len(data)), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func ExampleSend() {
	store := memory.New(time.Now, mailboxtest.Plenty)
	box, right := mailbox.Address{1}, mailbox.Right{2}
	if err := store.Open(context.Background(), box, right.Owner(), time.Now().Add(48*time.Hour)); err != nil {
		panic(err)
	}
	name, key := seal.Parcel{3}, seal.NewKey()
	picture := []byte("an orchard in bloom")
	if err := carry.Send(context.Background(), store, box, name, key.Cipher(), bytes.NewReader(picture), int64(len(picture)), nil); err != nil {
		panic(err)
	}
	var got bytes.Buffer
	if err := carry.Fetch(context.Background(), store, box, mailbox.Right{}, name, carry.NewOpener(key.Cipher(), name, &got), int64(len(picture)), nil); err != nil {
		panic(err)
	}
	fmt.Println(got.String())
	// Output: an orchard in bloom
}
