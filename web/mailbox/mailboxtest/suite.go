package mailboxtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"sync"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
)

// Run puts a store to all tests. Fresh returns an empty store that takes limit bytes in all.
func Run(t *testing.T, fresh func(t *testing.T, limit int64) Harness) {
	for _, c := range []struct {
		name string
		run  func(*testing.T, Harness)
	}{
		{"open", testOpen}, {"letters", testLetters}, {"pages", testPages}, {"none", testNone}, {"close", testClose}, {"delete", testDelete},
		{"extend", testExtend}, {"chunks", testChunks}, {"torn chunks", testTorn}, {"count limits", testCounts}, {"parcel limit", testParcelLimit},
		{"box limit", testBoxLimit}, {"at once", testAtOnce}, {"expiry", testExpiry}, {"cancelled", testCancelled},
	} {
		t.Run(c.name, func(t *testing.T) { c.run(t, fresh(t, Plenty)) })
	}
	t.Run("store limit", func(t *testing.T) { testStoreLimit(t, fresh(t, 10<<10)) })
}

var background = context.Background()

const day = 24 * time.Hour

// is checks an error.
func is(t testing.TB, what string, got, want error) {
	t.Helper()
	if !errors.Is(got, want) || want == nil && got != nil {
		t.Errorf("%s: error %v, want %v", what, got, want)
	}
}

func testOpen(t *testing.T, h Harness) {
	at, right := NewAddress(), NewRight()
	end := h.now().Add(10 * day)
	is(t, "first", h.Store.Open(background, at, right.Owner(), end), nil)
	is(t, "repeat", h.Store.Open(background, at, right.Owner(), end), nil)
	is(t, "repeat with another end", h.Store.Open(background, at, right.Owner(), end.Add(5*day)), nil)
	is(t, "another owner", h.Store.Open(background, at, NewRight().Owner(), end), mailbox.ErrTaken)
	b, err := h.Store.Look(background, at, mailbox.Right{})
	want := mailbox.Box{Expires: mailbox.Day(end), Bytes: mailbox.Row}
	if err != nil || b != want {
		t.Errorf("a new box: %+v, %v; want %+v", b, err, want)
	}
	for _, c := range []struct {
		what string
		end  time.Time
		want error
	}{
		{"ended yesterday", h.now().Add(-day), mailbox.ErrRange},
		{"ends with the start of this day", mailbox.Today(h.now()), mailbox.ErrRange},
		{"ends with this day", mailbox.Today(h.now()).Add(day), nil},
		{"the longest life", mailbox.Today(h.now()).Add(mailbox.MaxLife), nil},
		{"a longer life", mailbox.Today(h.now()).Add(mailbox.MaxLife + 3*day), mailbox.ErrRange},
		{"the zero time", time.Time{}, mailbox.ErrRange},
		{"a year of five digits", time.Date(12026, 1, 1, 0, 0, 0, 0, time.UTC), mailbox.ErrRange},
	} {
		is(t, c.what, h.Store.Open(background, NewAddress(), right.Owner(), c.end), c.want)
	}
}

func testLetters(t *testing.T, h Harness) {
	at, right := opened(t, h)
	other, _ := opened(t, h)
	var want []mailbox.Letter
	for i, size := range []int{1, 16, 1000, mailbox.MaxLetter} {
		l := mailbox.Letter{Seq: uint64(i + 1), ID: NewID(), Body: Bytes(size)}
		want = append(want, l)
		for _, what := range []string{"first", "repeat"} {
			if seq, err := h.Store.Put(background, at, l.ID, l.Body); err != nil || seq != l.Seq {
				t.Fatalf("%s of letter %d: place %d, %v", what, l.Seq, seq, err)
			}
		}
	}
	// The body is the caller's again once Put has returned.
	kept := bytes.Clone(want[1].Body)
	clear(want[1].Body)
	want[1].Body = kept

	_, err := h.Store.Put(background, at, want[0].ID, []byte{want[0].Body[0] + 1})
	is(t, "other bytes under an id", err, mailbox.ErrConflict)
	_, err = h.Store.Put(background, at, want[0].ID, append(bytes.Clone(want[0].Body), 0))
	is(t, "more bytes under an id", err, mailbox.ErrConflict)
	_, err = h.Store.Put(background, at, NewID(), nil)
	is(t, "an empty letter", err, mailbox.ErrRange)
	_, err = h.Store.Put(background, at, NewID(), make([]byte, mailbox.MaxLetter+1))
	is(t, "a letter too large", err, mailbox.ErrTooLarge)
	if seq, err := h.Store.Put(background, other, want[0].ID, []byte("other")); err != nil || seq != 1 {
		t.Errorf("the same id in another box: place %d, %v", seq, err)
	}

	for _, c := range []struct {
		after uint64
		limit int
		want  []mailbox.Letter
	}{
		{0, 0, want}, {0, mailbox.MaxLetters, want}, {0, -1, want}, {0, 1 << 30, want}, {0, 2, want[:2]}, {1, 2, want[1:3]}, {3, 9, want[3:]},
		{4, 0, nil}, {5, 0, nil}, {1 << 63, 0, nil}, {^uint64(0), 1, nil},
	} {
		for _, shown := range []mailbox.Right{{}, right} {
			for range 2 { // the second may be answered from what the first has left
				got, err := h.Store.Get(background, at, shown, c.after, c.limit)
				if err != nil || !slices.EqualFunc(got, c.want, same) {
					t.Errorf("after %d, at most %d: %s, %v; want %s", c.after, c.limit, tell(got), err, tell(c.want))
				}
			}
		}
	}
	b, err := h.Store.Look(background, at, right)
	if wantBytes := int64(1 + 16 + 1000 + mailbox.MaxLetter + 5*mailbox.Row); err != nil || b.Letters != 4 || b.Bytes != wantBytes {
		t.Errorf("look: %+v, %v; want 4 letters and %d bytes", b, err, wantBytes)
	}
	// A poll that found nothing finds the next letter.
	l := mailbox.Letter{Seq: 5, ID: NewID(), Body: Bytes(9)}
	if _, err := h.Store.Put(background, at, l.ID, l.Body); err != nil {
		t.Fatal(err)
	}
	if got, err := h.Store.Get(background, at, mailbox.Right{}, 4, 0); err != nil || len(got) != 1 || !same(got[0], l) {
		t.Errorf("the letter after an idle poll: %s, %v", tell(got), err)
	}
}

func same(a, b mailbox.Letter) bool {
	return a.Seq == b.Seq && a.ID == b.ID && bytes.Equal(a.Body, b.Body)
}

func tell(letters []mailbox.Letter) string {
	s := fmt.Sprintf("%d letters", len(letters))
	for _, l := range letters {
		s += fmt.Sprintf(" %d(%d bytes)", l.Seq, len(l.Body))
	}
	return s
}

// Many large letters come in pages.
func testPages(t *testing.T, h Harness) {
	at, right := opened(t, h)
	const fits = mailbox.Page / mailbox.MaxLetter
	body := Bytes(mailbox.MaxLetter)
	for range fits + 2 {
		if _, err := h.Store.Put(background, at, NewID(), body); err != nil {
			t.Fatal(err)
		}
	}
	var after uint64
	for _, n := range []int{fits, 2, 0} {
		got, err := h.Store.Get(background, at, right, after, 0)
		if err != nil || len(got) != n {
			t.Fatalf("after %d: %s, %v; want %d", after, tell(got), err, n)
		}
		for _, l := range got {
			if after++; l.Seq != after || !bytes.Equal(l.Body, body) {
				t.Errorf("letter %d is in place %d", l.Seq, after)
			}
		}
	}
}

// commands are all that can be asked of a box, without the right and with one.
func commands(h Harness, at mailbox.Address, right mailbox.Right) (open, shown, owners map[string]error) {
	open, shown, owners = map[string]error{}, map[string]error{}, map[string]error{}
	_, open["put"] = h.Store.Put(background, at, NewID(), []byte("sealed"))
	open["put chunk"] = h.Store.PutChunk(background, at, NewID(), 0, 6, bytes.NewReader([]byte("sealed")))
	for who, right := range map[*map[string]error]mailbox.Right{&open: {}, &shown: right} {
		_, (*who)["get"] = h.Store.Get(background, at, right, 0, 0)
		_, (*who)["look"] = h.Store.Look(background, at, right)
		_, (*who)["chunks"] = h.Store.Chunks(background, at, right, NewID())
	}
	owners["extend"] = h.Store.Extend(background, at, right, h.now().Add(day))
	owners["close"] = h.Store.Close(background, at, right)
	owners["delete"] = h.Store.Delete(background, at, right)
	return open, shown, owners
}

// exactly checks that each command gave one error and no more than that.
func exactly(t *testing.T, what string, want error, got ...map[string]error) {
	t.Helper()
	for _, m := range got {
		for _, name := range slices.Sorted(maps.Keys(m)) {
			if m[name] != want {
				t.Errorf("%s: %s: error %v, want just %v", what, name, m[name], want)
			}
		}
	}
}

// What is not there, is over, or is another's, cannot be told apart.
func testNone(t *testing.T, h Harness) {
	a, b, c := commands(h, NewAddress(), NewRight())
	exactly(t, "never opened", mailbox.ErrNone, a, b, c)

	at, right := opened(t, h)
	_, b, c = commands(h, at, NewRight())
	exactly(t, "wrong right", mailbox.ErrNone, b, c)
	near := right
	near[31] ^= 1
	_, b, c = commands(h, at, near)
	exactly(t, "right but for a bit", mailbox.ErrNone, b, c)
	_, _, c = commands(h, at, mailbox.Right{})
	exactly(t, "no right", mailbox.ErrNone, c)
	_, _, c = commands(h, at, mailbox.Right(right.Owner()))
	exactly(t, "what is kept of the right", mailbox.ErrNone, c)
	if box, err := h.Store.Look(background, at, right); err != nil || box.Closed {
		t.Errorf("after all that: %+v, %v", box, err)
	}

	is(t, "close", h.Store.Close(background, at, right), nil)
	a, b, c = commands(h, at, NewRight())
	exactly(t, "closed", mailbox.ErrNone, a, b, c)
	is(t, "delete", h.Store.Delete(background, at, right), nil)
	a, b, c = commands(h, at, NewRight())
	exactly(t, "deleted", mailbox.ErrNone, a, b, c)

	at, right = opened(t, h)
	if _, _, err := h.Store.GetChunk(background, at, right, NewID(), 0); err != mailbox.ErrNone {
		t.Errorf("a chunk that is not there: %v", err)
	}
	if _, _, err := h.Store.GetChunk(background, at, right, NewID(), -1); err != mailbox.ErrNone {
		t.Errorf("a chunk that cannot be: %v", err)
	}
	if h.Clock == nil {
		return
	}
	h.Clock.Advance(31 * day)
	a, b, c = commands(h, at, right)
	exactly(t, "expired", mailbox.ErrNone, a, b, c)
}

func testClose(t *testing.T, h Harness) {
	at, right := opened(t, h)
	letter, parcel, chunk := NewID(), NewID(), Bytes(500)
	if _, err := h.Store.Put(background, at, letter, []byte("before")); err != nil {
		t.Fatal(err)
	}
	is(t, "chunk", h.Store.PutChunk(background, at, parcel, 0, 500, bytes.NewReader(chunk)), nil)
	is(t, "close", h.Store.Close(background, at, right), nil)
	is(t, "close again", h.Store.Close(background, at, right), nil)
	_, err := h.Store.Put(background, at, letter, []byte("before"))
	is(t, "a repeat from before", err, mailbox.ErrNone)
	is(t, "a repeat from before", h.Store.PutChunk(background, at, parcel, 0, 500, bytes.NewReader(chunk)), mailbox.ErrNone)
	_, _, err = h.Store.GetChunk(background, at, mailbox.Right{}, parcel, 0)
	is(t, "the chunk without the right", err, mailbox.ErrNone)

	if got, err := h.Store.Get(background, at, right, 0, 0); err != nil || len(got) != 1 || string(got[0].Body) != "before" {
		t.Errorf("the owner reads %s, %v", tell(got), err)
	}
	if b, err := h.Store.Look(background, at, right); err != nil || !b.Closed || b.Letters != 1 {
		t.Errorf("the owner looks: %+v, %v", b, err)
	}
	if got, err := read(h, at, right, parcel, 0); err != nil || !bytes.Equal(got, chunk) {
		t.Errorf("the owner's chunk: %d bytes, %v", len(got), err)
	}
	is(t, "extend", h.Store.Extend(background, at, right, h.now().Add(40*day)), nil)
	is(t, "open again", h.Store.Open(background, at, right.Owner(), h.now().Add(day)), nil)
	if b, err := h.Store.Look(background, at, right); err != nil || !b.Closed {
		t.Errorf("opening has opened what was closed: %+v, %v", b, err)
	}
}

func testDelete(t *testing.T, h Harness) {
	at, right := opened(t, h)
	parcel := NewID()
	if _, err := h.Store.Put(background, at, NewID(), []byte("gone soon")); err != nil {
		t.Fatal(err)
	}
	is(t, "chunk", h.Store.PutChunk(background, at, parcel, 3, 9, bytes.NewReader([]byte("gone soon"))), nil)
	is(t, "delete", h.Store.Delete(background, at, right), nil)
	is(t, "delete again", h.Store.Delete(background, at, right), nil)
	for _, shown := range []mailbox.Right{{}, right} {
		_, err := h.Store.Get(background, at, shown, 0, 0)
		is(t, "get", err, mailbox.ErrNone)
		_, err = h.Store.Look(background, at, shown)
		is(t, "look", err, mailbox.ErrNone)
		_, _, err = h.Store.GetChunk(background, at, shown, parcel, 3)
		is(t, "get chunk", err, mailbox.ErrNone)
	}
	is(t, "close", h.Store.Close(background, at, right), mailbox.ErrNone)
	is(t, "extend", h.Store.Extend(background, at, right, h.now().Add(40*day)), mailbox.ErrNone)
	is(t, "open by the owner", h.Store.Open(background, at, right.Owner(), h.now().Add(day)), mailbox.ErrTaken)
	is(t, "open by another", h.Store.Open(background, at, NewRight().Owner(), h.now().Add(day)), mailbox.ErrTaken)
}

func testExtend(t *testing.T, h Harness) {
	at, right := opened(t, h)
	for _, c := range []struct {
		to, want time.Duration
		err      error
	}{
		{40 * day, 40 * day, nil}, {40 * day, 40 * day, nil}, {35 * day, 40 * day, nil}, {mailbox.MaxLife + 5*day, 40 * day, mailbox.ErrRange},
		{-3 * day, 40 * day, mailbox.ErrRange}, {mailbox.MaxLife, mailbox.MaxLife, nil},
	} {
		is(t, fmt.Sprint("extend to ", c.to), h.Store.Extend(background, at, right, h.now().Add(c.to)), c.err)
		b, err := h.Store.Look(background, at, mailbox.Right{})
		if want := mailbox.Day(h.now().Add(c.want)); err != nil || !b.Expires.Equal(want) {
			t.Errorf("extended to %v: expires %v, %v; want %v", c.to, b.Expires, err, want)
		}
	}
}

// read returns a chunk as a whole.
func read(h Harness, at mailbox.Address, right mailbox.Right, parcel mailbox.ID, i int) ([]byte, error) {
	r, size, err := h.Store.GetChunk(background, at, right, parcel, i)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	b, err := io.ReadAll(r)
	if err == nil && int64(len(b)) != size {
		err = fmt.Errorf("%d bytes, told were %d", len(b), size)
	}
	return b, err
}

func testChunks(t *testing.T, h Harness) {
	at, right := opened(t, h)
	parcel := NewID()
	if p, err := h.Store.Chunks(background, at, right, parcel); err != nil || p.ID != parcel || len(p.Chunks) != 0 {
		t.Errorf("before it begins: %+v, %v", p, err)
	}
	want := map[int][]byte{0: Bytes(1), 2: Bytes(100_000), 1: Bytes(mailbox.MaxChunk), 5: Bytes(77), mailbox.MaxChunks - 1: Bytes(5)}
	for _, i := range []int{2, 0, 1, 5, mailbox.MaxChunks - 1, 2, 1} {
		c := want[i]
		is(t, fmt.Sprint("chunk ", i), h.Store.PutChunk(background, at, parcel, i, int64(len(c)), bytes.NewReader(c)), nil)
	}
	other := bytes.Clone(want[2])
	other[99_999]++
	is(t, "other bytes", h.Store.PutChunk(background, at, parcel, 2, int64(len(other)), bytes.NewReader(other)), mailbox.ErrConflict)
	is(t, "fewer bytes", h.Store.PutChunk(background, at, parcel, 2, 99, bytes.NewReader(want[2][:99])), mailbox.ErrConflict)
	for _, c := range []struct {
		what string
		i    int
		size int
		want error
	}{
		{"empty", 3, 0, mailbox.ErrRange}, {"too large", 3, mailbox.MaxChunk + 1, mailbox.ErrTooLarge},
		{"before the first", -1, 5, mailbox.ErrRange}, {"after the last", mailbox.MaxChunks, 5, mailbox.ErrRange},
	} {
		is(t, c.what, h.Store.PutChunk(background, at, parcel, c.i, int64(c.size), bytes.NewReader(make([]byte, c.size))), c.want)
	}
	sizes := make([]int, mailbox.MaxChunks)
	total := int64(mailbox.Row)
	for i, c := range want {
		sizes[i] = len(c)
		total += int64(len(c)) + mailbox.Row
	}
	for _, shown := range []mailbox.Right{{}, right} {
		if p, err := h.Store.Chunks(background, at, shown, parcel); err != nil || p.ID != parcel || !slices.Equal(p.Chunks, sizes) {
			t.Errorf("what has arrived: %+v, %v; want %v", p, err, sizes)
		}
		for i, c := range want {
			if got, err := read(h, at, shown, parcel, i); err != nil || !bytes.Equal(got, c) {
				t.Errorf("chunk %d: %d bytes of %d, %v", i, len(got), len(c), err)
			}
		}
	}
	if b, err := h.Store.Look(background, at, right); err != nil || b.Bytes != total {
		t.Errorf("look: %+v, %v; want %d bytes", b, err, total)
	}
	if p, err := h.Store.Chunks(background, at, right, NewID()); err != nil || len(p.Chunks) != 0 {
		t.Errorf("another parcel: %+v, %v", p, err)
	}
	if h.Far {
		return
	}
	untouched := reader(func([]byte) (int, error) { t.Error("the body was read before the box was looked up"); return 0, io.EOF })
	is(t, "no box", h.Store.PutChunk(background, NewAddress(), parcel, 0, 5, untouched), mailbox.ErrNone)
}

// reader is a reader made of a function.
type reader func([]byte) (int, error)

func (r reader) Read(p []byte) (int, error) { return r(p) }

// A chunk that does not come whole is not there, and can come again.
func testTorn(t *testing.T, h Harness) {
	at, right := opened(t, h)
	parcel, whole := NewID(), Bytes(200_000)
	cut := errors.New("the line was cut")
	for _, c := range []struct {
		what string
		body io.Reader
		want error
	}{
		{"cut", io.MultiReader(bytes.NewReader(whole[:150_000]), reader(func([]byte) (int, error) { return 0, cut })), cut},
		{"short", bytes.NewReader(whole[:199_999]), io.ErrUnexpectedEOF},
		{"nothing", bytes.NewReader(nil), io.ErrUnexpectedEOF},
		{"long", io.MultiReader(bytes.NewReader(whole), bytes.NewReader(whole[:1])), mailbox.ErrRange},
	} {
		is(t, c.what, h.Store.PutChunk(background, at, parcel, 0, int64(len(whole)), c.body), c.want)
		if p, err := h.Store.Chunks(background, at, right, parcel); err != nil || len(p.Chunks) != 0 {
			t.Errorf("after %s: %+v, %v", c.what, p, err)
		}
	}
	is(t, "whole", h.Store.PutChunk(background, at, parcel, 0, int64(len(whole)), bytes.NewReader(whole)), nil)
	is(t, "repeat cut", h.Store.PutChunk(background, at, parcel, 0, int64(len(whole)), bytes.NewReader(whole[:5])), io.ErrUnexpectedEOF)
	if got, err := read(h, at, right, parcel, 0); err != nil || !bytes.Equal(got, whole) {
		t.Errorf("in the end: %d bytes, %v", len(got), err)
	}
}

func testCounts(t *testing.T, h Harness) {
	at, right := opened(t, h)
	first := NewID()
	for i := range mailbox.MaxLetters {
		id := NewID()
		if i == 0 {
			id = first
		}
		if _, err := h.Store.Put(background, at, id, []byte("one of many")); err != nil {
			t.Fatalf("letter %d: %v", i, err)
		}
	}
	_, err := h.Store.Put(background, at, NewID(), []byte("too many"))
	is(t, "one letter more", err, mailbox.ErrFull)
	if seq, err := h.Store.Put(background, at, first, []byte("one of many")); err != nil || seq != 1 {
		t.Errorf("a repeat in a full box: %d, %v", seq, err)
	}
	if got, err := h.Store.Get(background, at, right, 0, 0); err != nil || len(got) != mailbox.MaxLetters {
		t.Errorf("all: %d letters, %v", len(got), err)
	}
	parcel := func(id mailbox.ID, i int) error {
		return h.Store.PutChunk(background, at, id, i, 3, bytes.NewReader([]byte("any")))
	}
	for i := range mailbox.MaxParcels - 1 {
		id := NewID()
		if i == 0 {
			id = first
		}
		if err := parcel(id, 0); err != nil {
			t.Fatalf("parcel %d: %v", i, err)
		}
	}
	oneOf(t, h, mailbox.ErrFull, rival{at, NewID(), 0, 3}, rival{at, NewID(), 0, 3})
	is(t, "one parcel more", parcel(NewID(), 0), mailbox.ErrFull)
	is(t, "another chunk of the first", parcel(first, 1), nil)
}

func testParcelLimit(t *testing.T, h Harness) {
	if testing.Short() {
		t.Skip("moves 64 MiB")
	}
	at, right := opened(t, h)
	parcel, chunk := NewID(), Bytes(mailbox.MaxChunk)
	put := func(i, size int) error {
		return h.Store.PutChunk(background, at, parcel, i, int64(size), bytes.NewReader(chunk[:size]))
	}
	const whole, rest = mailbox.MaxParcel / mailbox.MaxChunk, mailbox.MaxParcel % mailbox.MaxChunk
	for i := range whole {
		is(t, fmt.Sprint("chunk ", i), put(i, mailbox.MaxChunk), nil)
	}
	is(t, "a byte too many", put(whole, rest+1), mailbox.ErrTooLarge)
	oneOf(t, h, mailbox.ErrTooLarge, rival{at, parcel, whole, rest}, rival{at, parcel, whole + 1, rest})
	is(t, "one byte", put(whole+2, 1), mailbox.ErrTooLarge)
	is(t, "a repeat", put(0, mailbox.MaxChunk), nil)
	if p, err := h.Store.Chunks(background, at, right, parcel); err != nil || len(p.Chunks) < whole+1 {
		t.Errorf("arrived: %d chunks, %v", len(p.Chunks), err)
	}
}

func testBoxLimit(t *testing.T, h Harness) {
	if testing.Short() || h.Far {
		t.Skip("moves 256 MiB")
	}
	at, right := opened(t, h)
	chunk := Bytes(4 << 20)
	left := int64(mailbox.MaxBox - mailbox.Row)
	var parcel mailbox.ID
	for i := 0; left > int64(len(chunk))+mailbox.Row; i++ {
		if i%16 == 0 {
			parcel = NewID()
		}
		if err := h.Store.PutChunk(background, at, parcel, i%16, int64(len(chunk)), bytes.NewReader(chunk)); err != nil {
			t.Fatalf("chunk %d: %v", i, err)
		}
		left -= int64(len(chunk)) + mailbox.Row
	}
	left -= mailbox.Row // of the next
	is(t, "a byte too many", h.Store.PutChunk(background, at, NewID(), 0, left+1, bytes.NewReader(chunk[:left+1])), mailbox.ErrFull)
	left -= 100 + mailbox.Row
	oneOf(t, h, mailbox.ErrFull, rival{at, NewID(), 0, int(left)}, rival{at, NewID(), 0, int(left)})
	_, err := h.Store.Put(background, at, NewID(), make([]byte, 101))
	is(t, "a letter that is a byte too long", err, mailbox.ErrFull)
	_, err = h.Store.Put(background, at, NewID(), make([]byte, 100))
	is(t, "a letter that fits", err, nil)
	_, err = h.Store.Put(background, at, NewID(), []byte{1})
	is(t, "one byte", err, mailbox.ErrFull)
	if b, err := h.Store.Look(background, at, right); err != nil || b.Bytes != mailbox.MaxBox {
		t.Errorf("look: %+v, %v", b, err)
	}
}

// rival is a chunk that comes at the same time as another.
type rival struct {
	at     mailbox.Address
	parcel mailbox.ID
	i      int
	size   int
}

// oneOf puts two chunks of which there is room for one: both are under way before either ends. One is stored, the other refused.
func oneOf(t *testing.T, h Harness, refused error, rivals ...rival) {
	t.Helper()
	var under, all sync.WaitGroup
	under.Add(len(rivals))
	errs := make([]error, len(rivals))
	for i, r := range rivals {
		body := Bytes(r.size)
		var once sync.Once
		meet := reader(func([]byte) (int, error) {
			once.Do(under.Done)
			under.Wait()
			return 0, io.EOF
		})
		all.Go(func() {
			errs[i] = h.Store.PutChunk(background, r.at, r.parcel, r.i, int64(r.size), io.MultiReader(bytes.NewReader(body[:1]), meet, bytes.NewReader(body[1:])))
			once.Do(under.Done) // one that was refused at once
		})
	}
	all.Wait()
	stored := 0
	for _, err := range errs {
		if err == nil {
			stored++
		} else if !errors.Is(err, refused) {
			t.Errorf("of two at once: %v", err)
		}
	}
	if stored != 1 {
		t.Errorf("of two at once %d were stored: %v", stored, errs)
	}
}

// The store as a whole is full at 10 KiB.
func testStoreLimit(t *testing.T, h Harness) {
	at, right := opened(t, h)
	other, _ := opened(t, h)
	fits := 10<<10 - 4*mailbox.Row - 1000 // beside two boxes, a letter of 1000 bytes and a chunk
	put := func() error { _, err := h.Store.Put(background, at, NewID(), make([]byte, 1000)); return err }
	chunk := func(size int) error {
		return h.Store.PutChunk(background, other, NewID(), 0, int64(size), bytes.NewReader(make([]byte, size)))
	}
	is(t, "letter", put(), nil)
	is(t, "a byte too many", chunk(fits+1), mailbox.ErrFull)
	oneOf(t, h, mailbox.ErrFull, rival{other, NewID(), 0, fits}, rival{other, NewID(), 0, fits})
	is(t, "another chunk", chunk(1), mailbox.ErrFull)
	is(t, "another letter", put(), mailbox.ErrFull)
	is(t, "another box", h.Store.Open(background, NewAddress(), right.Owner(), h.now().Add(day)), mailbox.ErrFull)
	is(t, "a box that is there", h.Store.Open(background, at, right.Owner(), h.now().Add(day)), nil)
	// Deleting makes room, but for the box itself.
	is(t, "delete", h.Store.Delete(background, at, right), nil)
	is(t, "delete again", h.Store.Delete(background, at, right), nil)
	is(t, "a byte too many", chunk(1001), mailbox.ErrFull)
	is(t, "as much as has gone", chunk(1000), nil)
	if h.Sweep == nil || h.Clock == nil {
		return
	}
	h.Clock.Advance(31 * day)
	if n, err := h.Sweep(background, h.Clock.Now()); n != 2 || err != nil {
		t.Errorf("sweep: %d boxes, %v", n, err)
	}
	other, _ = opened(t, h)
	most := 10<<10 - 2*mailbox.Row
	is(t, "a byte more than an empty store takes", chunk(most+1), mailbox.ErrFull)
	is(t, "all that an empty store takes", chunk(most), nil)
}

// What comes at once gets places without gaps, and each repeat the same; readers miss nothing.
func testAtOnce(t *testing.T, h Harness) {
	at, right := opened(t, h)
	const writers, each = 8, 12
	var mu sync.Mutex
	places := map[uint64]mailbox.ID{}
	parcel, chunk := NewID(), Bytes(50_000)
	shared, sharedBody := NewID(), Bytes(300)
	var all sync.WaitGroup
	for range writers {
		all.Go(func() {
			for j := range each {
				id, body := NewID(), Bytes(100)
				if j == each/2 {
					id, body = shared, sharedBody
				}
				seq, err := h.Store.Put(background, at, id, body)
				if err != nil {
					t.Errorf("put: %v", err)
					continue
				}
				mu.Lock()
				if was, ok := places[seq]; ok && was != id {
					t.Errorf("place %d was given twice", seq)
				}
				places[seq] = id
				mu.Unlock()
				if err := h.Store.PutChunk(background, at, parcel, j%3, int64(len(chunk)), bytes.NewReader(chunk)); err != nil {
					t.Errorf("chunk: %v", err)
				}
			}
		})
	}
	const total = writers*(each-1) + 1
	seen := map[uint64]mailbox.ID{}
	var last uint64
	for end := time.Now().Add(30 * time.Second); len(seen) < total && time.Now().Before(end); {
		got, err := h.Store.Get(background, at, mailbox.Right{}, last, 7)
		if err != nil {
			t.Errorf("get: %v", err)
			break
		}
		for _, l := range got {
			if l.Seq != last+1 {
				t.Errorf("after %d came %d", last, l.Seq)
			}
			last = l.Seq
			seen[l.Seq] = l.ID
		}
	}
	all.Wait()
	if len(seen) != total || !maps.Equal(seen, places) {
		t.Errorf("%d letters were seen, %d places given, %d letters put", len(seen), len(places), total)
	}
	b, err := h.Store.Look(background, at, right)
	if want := int64(mailbox.Row + (total-1)*(100+mailbox.Row) + 300 + mailbox.Row + 3*(50_000+mailbox.Row)); err != nil || b.Letters != total || b.Bytes != want {
		t.Errorf("look: %+v, %v; want %d letters and %d bytes", b, err, total, want)
	}
	for i := range 3 {
		if got, err := read(h, at, right, parcel, i); err != nil || !bytes.Equal(got, chunk) {
			t.Errorf("chunk %d: %d bytes, %v", i, len(got), err)
		}
	}
}

func testExpiry(t *testing.T, h Harness) {
	if h.Clock == nil || h.Sweep == nil {
		t.Skip("the store's clock cannot be set")
	}
	ends := mailbox.Day(h.now().Add(2 * day))
	at, right := NewAddress(), NewRight()
	is(t, "open", h.Store.Open(background, at, right.Owner(), ends), nil)
	is(t, "open another", h.Store.Open(background, NewAddress(), right.Owner(), ends.Add(day)), nil)
	parcel := NewID()
	if _, err := h.Store.Put(background, at, NewID(), []byte("for a while")); err != nil {
		t.Fatal(err)
	}
	is(t, "chunk", h.Store.PutChunk(background, at, parcel, 0, 3, bytes.NewReader([]byte("any"))), nil)
	for range 120 { // more than one batch of a sweep
		is(t, "open", h.Store.Open(background, NewAddress(), right.Owner(), ends), nil)
	}
	is(t, "delete a box in time", func() error {
		at, right := NewAddress(), NewRight()
		return errors.Join(h.Store.Open(background, at, right.Owner(), ends), h.Store.Delete(background, at, right))
	}(), nil)

	h.Clock.Advance(ends.Sub(h.now()) - 1)
	if n, err := h.Sweep(background, h.Clock.Now()); n != 0 || err != nil {
		t.Errorf("sweep in the last moment: %d boxes, %v", n, err)
	}
	_, err := h.Store.Get(background, at, mailbox.Right{}, 0, 0)
	is(t, "get in the last moment", err, nil)
	h.Clock.Advance(1)
	_, err = h.Store.Get(background, at, right, 0, 0)
	is(t, "get at the end", err, mailbox.ErrNone)
	is(t, "open before the sweep", h.Store.Open(background, at, right.Owner(), h.now().Add(day)), mailbox.ErrTaken)
	is(t, "extend at the end", h.Store.Extend(background, at, right, h.now().Add(3*day)), mailbox.ErrNone)
	if n, err := h.Sweep(background, h.Clock.Now()); n != 122 || err != nil {
		t.Errorf("sweep at the end: %d boxes, %v; want 122", n, err)
	}
	if n, err := h.Sweep(background, h.Clock.Now()); n != 0 || err != nil {
		t.Errorf("sweep again: %d boxes, %v", n, err)
	}
	is(t, "open by another after the sweep", h.Store.Open(background, at, NewRight().Owner(), h.now().Add(day)), nil)
	if got, err := h.Store.Get(background, at, mailbox.Right{}, 0, 0); err != nil || len(got) != 0 {
		t.Errorf("letters of before: %s, %v", tell(got), err)
	}
	if p, err := h.Store.Chunks(background, at, mailbox.Right{}, parcel); err != nil || len(p.Chunks) != 0 {
		t.Errorf("chunks of before: %+v, %v", p, err)
	}
}

// A command whose caller has gone leaves the box as it was, or is carried out.
func testCancelled(t *testing.T, h Harness) {
	at, right := opened(t, h)
	gone, cancel := context.WithCancel(background)
	cancel()
	id := NewID()
	seq, err := h.Store.Put(gone, at, id, []byte("any"))
	if err == nil && seq != 1 || err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("put: place %d, %v", seq, err)
	}
	if seq, err := h.Store.Put(background, at, id, []byte("any")); err != nil || seq != 1 {
		t.Errorf("repeat: place %d, %v", seq, err)
	}
	parcel := NewID()
	if err := h.Store.PutChunk(gone, at, parcel, 0, 3, bytes.NewReader([]byte("any"))); err != nil && !errors.Is(err, context.Canceled) {
		t.Errorf("chunk: %v", err)
	}
	is(t, "repeat", h.Store.PutChunk(background, at, parcel, 0, 3, bytes.NewReader([]byte("any"))), nil)
	if b, err := h.Store.Look(background, at, right); err != nil || b.Letters != 1 || b.Bytes != 3*mailbox.Row+6 {
		t.Errorf("look: %+v, %v", b, err)
	}
}
