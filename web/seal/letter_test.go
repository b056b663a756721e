package seal

import (
	"bytes"
	"errors"
	"slices"
	"testing"
)

func generated(t testing.TB, make func() (*Private, error)) *Private {
	t.Helper()
	p, err := make()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var makers = []func() (*Private, error){Generate, GenerateShort}

// Every body fits the next size that is large enough, and the longest that fits at all opens again.
func TestSizes(t *testing.T) {
	for _, p := range makers {
		key := generated(t, p)
		_, enc, err := kem(key.suite)
		if err != nil {
			t.Fatal(err)
		}
		room := func(size int) int { return size - 2 - enc - 4 - 16 }
		previous := -1
		for _, size := range sizes() {
			if room(size) < 0 {
				continue
			}
			for _, n := range []int{previous + 1, room(size)} {
				body := stream("body", n)
				letter, err := Seal(key.Public(), "answer", nil, body)
				if err != nil || len(letter) != size {
					t.Errorf("suite %d: %d bytes give a letter of %d, %v", key.suite, n, len(letter), err)
				}
				if got, err := key.Open("answer", nil, letter); err != nil || !bytes.Equal(got, body) {
					t.Errorf("suite %d: %d bytes: %v", key.suite, n, err)
				}
			}
			previous = room(size)
		}
		if _, err := Seal(key.Public(), "answer", nil, make([]byte, room(MaxLetter)+1)); err != ErrTooLarge {
			t.Errorf("suite %d: a body too long by one: %v", key.suite, err)
		}
		if _, err := key.Open("answer", nil, append([]byte{1, key.suite}, make([]byte, 2*MaxLetter-2)...)); err != ErrTooLarge {
			t.Errorf("suite %d: a letter too long: %v", key.suite, err)
		}
	}
}

// A body and its neighbour of almost the same length cannot be told apart by the letter's length, and the size is the slow twin's.
func TestBucket(t *testing.T) {
	all := sizes()
	for n := 0; n <= MaxLetter+1; n++ {
		want, ok := 0, false
		if i, _ := slices.BinarySearch(all, n); i < len(all) {
			want, ok = all[i], true
		}
		if got, found := bucket(n); got != want || found != ok {
			t.Fatalf("%d bytes: %d, %v, want %d, %v", n, got, found, want, ok)
		}
	}
}

// Each letter is another, though all is the same: its key is fresh.
func TestFresh(t *testing.T) {
	for _, p := range makers {
		key := generated(t, p)
		a, err := Seal(key.Public(), "answer", nil, []byte("yes"))
		if err != nil {
			t.Fatal(err)
		}
		b, err := Seal(key.Public(), "answer", nil, []byte("yes"))
		if err != nil {
			t.Fatal(err)
		}
		same := 0
		for i := range a {
			if a[i] == b[i] {
				same++
			}
		}
		if same > 2+len(a)/16 {
			t.Errorf("suite %d: %d of %d bytes are the same", key.suite, same, len(a))
		}
		if bytes.Equal(generated(t, p).Bytes(), key.Bytes()) {
			t.Errorf("suite %d: two keys are one", key.suite)
		}
	}
	if one, other := NewKey(), NewKey(); one == other {
		t.Error("two keys of parcels are one")
	}
}

// No bit of a letter can be changed.
func TestEveryBit(t *testing.T) {
	for _, p := range makers {
		key := generated(t, p)
		letter, err := Seal(key.Public(), "answer", stream("place", 32), []byte("yes"))
		if err != nil {
			t.Fatal(err)
		}
		step := 1
		if testing.Short() {
			step = 13
		}
		for i := 0; i < 8*len(letter); i += step {
			b := slices.Clone(letter)
			b[i/8] ^= 1 << (i % 8)
			if _, err := key.Open("answer", stream("place", 32), b); err == nil {
				t.Fatalf("suite %d: opens with bit %d changed", key.suite, i)
			}
		}
	}
}

func TestKeys(t *testing.T) {
	seed := stream("seed", 32)
	for i, derive := range []func([]byte) (*Private, error){Derive, DeriveShort} {
		a, err := derive(seed)
		if err != nil {
			t.Fatal(err)
		}
		b, err := derive(seed)
		if err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) || !bytes.Equal(a.Public(), b.Public()) {
			t.Error("a seed gives two keys")
		}
		c, err := derive(stream("another seed", 32))
		if err != nil || bytes.Equal(a.Bytes(), c.Bytes()) {
			t.Error("two seeds give one key")
		}
		if bytes.Contains(a.Bytes(), seed[:8]) || bytes.Contains(a.Public(), a.Bytes()[1:9]) {
			t.Error("a key shows its seed, or its public half the key")
		}
		if n := []int{1217, 33}[i]; len(a.Public()) != n || len(a.Bytes()) != 33 {
			t.Errorf("%d and %d bytes", len(a.Public()), len(a.Bytes()))
		}
		read, err := Parse(a.Bytes())
		if err != nil || !bytes.Equal(read.Bytes(), a.Bytes()) || !bytes.Equal(read.Public(), a.Public()) {
			t.Errorf("read again: %v", err)
		}
		out := a.Bytes()
		out[5] ^= 1
		if bytes.Equal(out, a.Bytes()) {
			t.Error("the key can be changed from outside")
		}
		for _, n := range []int{0, 16, 31, 33, 64} {
			if _, err := derive(make([]byte, n)); err != ErrKey {
				t.Errorf("a seed of %d bytes: %v", n, err)
			}
		}
	}
	if short, err := DeriveShort(seed); err != nil || bytes.Equal(short.Public()[1:], generated(t, func() (*Private, error) { return Derive(seed) }).Public()[1185:]) {
		t.Error("one seed shows the same X25519 key in both suites")
	}
	for _, c := range []struct {
		b    []byte
		want error
	}{
		{nil, ErrKey}, {[]byte{short}, ErrKey}, {make([]byte, 33), ErrVersion}, {append([]byte{3}, make([]byte, 32)...), ErrVersion},
		{append([]byte{short}, make([]byte, 33)...), ErrKey}, {append([]byte{hybrid}, make([]byte, 31)...), ErrKey},
	} {
		if _, err := Parse(c.b); err != c.want {
			t.Errorf("parse %x: %v, want %v", c.b, err, c.want)
		}
	}
}

// What is no public key is not sealed to: wrong lengths, unknown suites, points of low order, values that ML-KEM does not have.
func TestSealToNoKey(t *testing.T) {
	good := generated(t, Generate).Public()
	large := slices.Clone(good)
	large[1], large[2] = 0xff, 0xff // a coefficient of 4095, above 3328
	for _, c := range []struct {
		name string
		to   Public
		want error
	}{
		{"none", nil, ErrKey},
		{"no suite", make(Public, 33), ErrVersion},
		{"a suite of later", append(Public{3}, make([]byte, 32)...), ErrVersion},
		{"too short", good[:1216], ErrKey},
		{"too long", append(slices.Clone(good), 0), ErrKey},
		{"a short one too long", append(Public{short}, make([]byte, 33)...), ErrKey},
		{"the point at 0", append(Public{short}, make([]byte, 32)...), ErrKey},
		{"the point at 1", append(Public{short, 1}, make([]byte, 31)...), ErrKey},
		{"hybrid with a point of low order", append(slices.Clone(good[:1185]), make([]byte, 32)...), ErrKey},
		{"hybrid with a value that is none", large, ErrKey},
	} {
		if _, err := Seal(c.to, "answer", nil, nil); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, err := Seal(good, "", nil, nil); err != ErrKind {
		t.Errorf("no kind: %v", err)
	}
}

// The zero value opens nothing and holds nothing.
func TestZero(t *testing.T) {
	var p Private
	if _, err := p.Open("answer", nil, make([]byte, 512)); err != ErrKey {
		t.Errorf("%v", err)
	}
	if _, err := generated(t, GenerateShort).Open("", nil, make([]byte, 512)); err != ErrKind {
		t.Errorf("no kind: %v", err)
	}
	if p.Public() != nil || p.Bytes() != nil {
		t.Error("the zero value has a key")
	}
}

// What is given is not written to, even where there is room behind it.
func TestGivenIsLeftAlone(t *testing.T) {
	room := func(b []byte) []byte {
		b = append(b, bytes.Repeat([]byte{0xaa}, 2000)...)
		return b[:len(b)-2000]
	}
	clean := func(what string, b []byte) {
		if got := b[:len(b)+2000][len(b):]; !bytes.Equal(got, bytes.Repeat([]byte{0xaa}, 2000)) {
			t.Errorf("%s: written behind", what)
		}
	}
	for _, p := range makers {
		key := generated(t, p)
		to, context, body := room(key.Public()), room(stream("context", 32)), room(stream("body", 100))
		sealed, err := Seal(to, "answer", context, body)
		if err != nil {
			t.Fatal(err)
		}
		letter := room(sealed)
		got, err := key.Open("answer", context, letter)
		if err != nil || !bytes.Equal(got, stream("body", 100)) {
			t.Fatal(err)
		}
		_ = append(got, 1) // must not reach what lies behind the body
		clean("key", to)
		clean("context", context)
		clean("body", body)
		clean("letter", letter)
		if cap(got) != len(got) {
			t.Error("a body has room behind it")
		}
	}
}

// A letter's place is the box's address and then its own name.
func TestPlace(t *testing.T) {
	address, id := [16]byte(stream("address", 16)), [16]byte(stream("id", 16))
	p := Place(address, id)
	if !bytes.Equal(p, slices.Concat(stream("address", 16), stream("id", 16))) {
		t.Errorf("%x", p)
	}
}
