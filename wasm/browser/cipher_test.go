//go:build js

package browser

import (
	"bytes"
	"crypto/sha256"
	"syscall/js"
	"testing"

	"example.org/plumb/web/seal"
)

// noise are bytes that look like nothing, always the same.
func noiseOf(n int) []byte {
	b := make([]byte, n)
	x := uint32(2463534242)
	for i := range b {
		x ^= x << 13
		x ^= x >> 17
		x ^= x << 5
		b[i] = byte(x >> 11)
	}
	return b
}

// Web Crypto seals to the same bytes as Go and each opens what the other sealed.
func TestCipher(t *testing.T) {
	k := seal.Key(noiseOf(32))
	name := seal.Parcel(noiseOf(16))
	web, ok := NewCipher(k).(Cipher)
	if !ok {
		t.Fatal("no Web Crypto here")
	}
	for _, c := range []struct {
		i, n int
		last bool
	}{{0, 0, true}, {0, 1, true}, {0, seal.ChunkSize, false}, {1, 17, true}, {70000, 1000, true}, {3, seal.ChunkSize, true}} {
		plain := noiseOf(c.n)
		ours, err := k.SealChunk(name, c.i, c.last, plain)
		if err != nil {
			t.Fatal(err)
		}
		theirs, err := seal.SealChunk(web, name, c.i, c.last, plain)
		if err != nil || !bytes.Equal(theirs, ours) {
			t.Errorf("%+v: sealed to other bytes, %v", c, err)
		}
		for way, cipher := range map[string]seal.Cipher{"Go": k.Cipher(), "Web Crypto": web} {
			got, last, err := seal.OpenChunk(cipher, name, c.i, theirs)
			if err != nil || last != c.last || !bytes.Equal(got, plain) {
				t.Errorf("%+v opened by %s: %v, %v", c, way, last, err)
			}
		}
		for _, at := range []int{0, 1, 5, 6, len(ours) - 1} {
			b := bytes.Clone(ours)
			b[at] ^= 4
			_, _, want := k.OpenChunk(name, c.i, b)
			if _, _, err := seal.OpenChunk(web, name, c.i, b); err != want || err == nil {
				t.Errorf("%+v with byte %d changed: %v, want %v", c, at, err, want)
			}
		}
	}
}

// without runs f where the browser has no Web Crypto.
func without(f func()) {
	c := global.Get("crypto")
	object := global.Get("Object")
	object.Call("defineProperty", c, "subtle", map[string]any{"value": js.Undefined(), "configurable": true})
	defer global.Get("Reflect").Call("deleteProperty", c, "subtle")
	f()
}

func TestNoWebCrypto(t *testing.T) {
	without(func() {
		if _, ok := NewCipher(seal.Key{}).(Cipher); ok {
			t.Error("a cipher of nothing")
		}
		blob := blobOf(noiseOf(600_000), "")
		if got, err := Digest(blob); err != nil || got != sha256.Sum256(noiseOf(600_000)) {
			t.Errorf("digest in Go: %v", err)
		}
	})
	if _, ok := NewCipher(seal.Key{}).(Cipher); !ok {
		t.Error("Web Crypto did not come back")
	}
}

func TestDigest(t *testing.T) {
	for _, n := range []int{0, 1, 63, 64, 1 << 20} {
		if got, err := Digest(blobOf(noiseOf(n), "image/png")); err != nil || got != sha256.Sum256(noiseOf(n)) {
			t.Errorf("%d bytes: %x, %v", n, got, err)
		}
	}
}
