package seal

import (
	"bytes"
	"encoding/binary"
	"slices"
	"testing"
)

// FuzzOpen: no bytes but the writer's open, and none make it panic.
func FuzzOpen(f *testing.F) {
	for _, v := range letters() {
		f.Add(v.Key[0] == hybrid, string(v.Kind), []byte(v.Context), v.Letter)
	}
	keys := map[bool]*Private{}
	authentic := map[string]bool{}
	for _, v := range letters() {
		key, err := Parse(v.Key)
		if err != nil {
			f.Fatal(err)
		}
		keys[v.Key[0] == hybrid] = key
		authentic[string(v.Letter)] = true
	}
	f.Fuzz(func(t *testing.T, large bool, kind string, context, letter []byte) {
		body, err := keys[large].Open(Kind(kind), context, letter)
		if err == nil && !authentic[string(letter)] {
			t.Errorf("opens to %d bytes though nobody wrote it", len(body))
		}
		if err != nil && body != nil {
			t.Error("bytes and an error")
		}
	})
}

// FuzzBody: what reads as a body reads back to the same inside.
func FuzzBody(f *testing.F) {
	for _, b := range [][]byte{nil, {0}, {0, 0, 0, 0}, {0, 0, 0, 1, 7, 0}, {0, 0, 0, 2, 7}, {0xff, 0xff, 0xff, 0xff, 1}, {0, 0, 0, 1, 7, 1}} {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, inside []byte) {
		b, err := body(inside)
		if err != nil {
			return
		}
		again := append(binary.BigEndian.AppendUint32(nil, uint32(len(b))), b...)
		if again = append(again, make([]byte, len(inside)-len(again))...); !bytes.Equal(again, inside) {
			t.Errorf("%x reads as %x", inside, b)
		}
	})
}

// FuzzInfo: two letters of different kind, context or suite share no info.
func FuzzInfo(f *testing.F) {
	f.Add("answer", []byte("x"), "answerx", []byte(""), false)
	f.Add("a", []byte{0, 0, 0, 1, 'b'}, "a\x00\x00\x00\x01b", []byte{}, false)
	f.Add("answer", []byte("x"), "answer", []byte("x"), true)
	f.Fuzz(func(t *testing.T, k1 string, c1 []byte, k2 string, c2 []byte, other bool) {
		second := byte(hybrid)
		if other {
			second = short
		}
		same := k1 == k2 && bytes.Equal(c1, c2) && !other
		if got := bytes.Equal(info(hybrid, Kind(k1), c1), info(second, Kind(k2), c2)); got != same {
			t.Errorf("%q %x and %q %x: %v", k1, c1, k2, c2, got)
		}
	})
}

// FuzzParse: a private key that reads writes the same key again.
func FuzzParse(f *testing.F) {
	f.Add([]byte{})
	f.Add(append([]byte{short}, stream("key", 32)...))
	f.Add(append([]byte{hybrid}, stream("key", 32)...))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Parse(b)
		if err != nil {
			return
		}
		q, err := Parse(p.Bytes())
		if err != nil || !bytes.Equal(q.Bytes(), p.Bytes()) || !bytes.Equal(q.Public(), p.Public()) || len(p.Bytes()) != len(b) {
			t.Errorf("%x reads as another: %v", b, err)
		}
		if b[0] == hybrid && !bytes.Equal(b, p.Bytes()) {
			t.Errorf("%x writes as %x", b, p.Bytes())
		}
	})
}

// FuzzPublic: whatever a public key is, sealing to it fails or gives a letter.
func FuzzPublic(f *testing.F) {
	f.Add([]byte{})
	for _, p := range makers {
		f.Add([]byte(generated(f, p).Public()))
	}
	f.Fuzz(func(t *testing.T, to []byte) {
		letter, err := Seal(to, "answer", nil, []byte("yes"))
		if size, _ := bucket(len(letter)); (err == nil) != (letter != nil) || err == nil && size != len(letter) {
			t.Errorf("%d bytes, %v", len(letter), err)
		}
	})
}

// plainly is a cipher that hides nothing, to get at what lies behind a real one.
type plainly struct{}

func (plainly) Seal(_, plain, _ []byte) []byte {
	return append(slices.Clone(plain), make([]byte, tag)...)
}

func (plainly) Open(_, sealed, _ []byte) ([]byte, error) {
	if n := len(sealed) - tag; bytes.Equal(sealed[n:], make([]byte, tag)) {
		return sealed[:n], nil
	}
	return nil, ErrForeign
}

// FuzzChunk: a chunk that opens seals to the same bytes again, and a real cipher opens none that it did not seal.
func FuzzChunk(f *testing.F) {
	k := Key(stream("key", 32))
	f.Add(0, []byte{})
	for _, i := range []int{0, 1, maxPosition} {
		c, err := SealChunk(plainly{}, Parcel{}, i, true, []byte("apples"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(i, c)
	}
	f.Fuzz(func(t *testing.T, i int, sealed []byte) {
		if _, _, err := k.OpenChunk(Parcel{}, i, sealed); err == nil {
			t.Error("opens though nobody sealed it")
		}
		plain, last, err := OpenChunk(plainly{}, Parcel{}, i, sealed)
		if err != nil {
			return
		}
		if again, err := SealChunk(plainly{}, Parcel{}, i, last, plain); err != nil || !bytes.Equal(again, sealed) {
			t.Errorf("%x seals as %x, %v", sealed, again, err)
		}
	})
}
