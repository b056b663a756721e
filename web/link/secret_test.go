package link

import (
	"bytes"
	"encoding/base64"
	"testing"
)

// payload is what a fragment carries.
func payload(t *testing.T, l Link) []byte {
	t.Helper()
	f, err := Fragment(l)
	if err != nil {
		t.Fatal(err)
	}
	b, err := base64.RawURLEncoding.DecodeString(f[len("1."):])
	if err != nil {
		t.Fatal(err)
	}
	return b[headSize : len(b)-sumSize]
}

// shared tells whether a and b have a run of n bytes in common.
func shared(a, b []byte, n int) bool {
	for i := 0; i+n <= len(a); i++ {
		if bytes.Contains(b, a[i:i+n]) {
			return true
		}
	}
	return false
}

// An owner's link and a recipient's have nothing in common: neither is in the other, and nothing that the owner's secret gives, but the address, is in the
// recipient's. (A run of 4 bytes comes by chance once in three million pairs.)
func TestOwnerAndRecipient(t *testing.T) {
	for range 50 {
		s := NewSecret()
		b := NewBox(s)
		owner, recipient := payload(t, Desk{[]Secret{s}}), payload(t, b)
		if shared(owner, recipient, 4) {
			t.Error("the links share bytes")
		}
		right, seed, sign := s.Right(), s.Seed(), s.Sign()
		if shared(sign[:], recipient, 4) || shared(sign[:], owner, 4) || shared(sign[:], seed[:], 4) || shared(sign[:], right[:], 4) || shared(right[:], recipient, 4) || shared(seed[:], recipient, 4) || shared(right[:], owner, 4) || shared(seed[:], owner, 4) || shared(right[:], seed[:], 4) {
			t.Error("a link shows what follows from the secret")
		}
		if b.Address != s.Address() || b.Seed == [32]byte{} {
			t.Error("the box is elsewhere, or its seed is not random")
		}
		if again := NewBox(s); again.Seed == b.Seed || again.Address != b.Address {
			t.Error("the seed follows from the owner's secret")
		}
	}
}

// Secrets are random, and what follows from two of them has nothing in common.
func TestSecrets(t *testing.T) {
	a, b := NewSecret(), NewSecret()
	aa, ba := a.Address(), b.Address()
	ar, br := a.Right(), b.Right()
	as, bs := a.Seed(), b.Seed()
	aw, bw := a.Sign(), b.Sign()
	if a == b || shared(aw[:], bw[:], 4) || shared(aa[:], ba[:], 4) || shared(ar[:], br[:], 4) || shared(as[:], bs[:], 4) {
		t.Error("two secrets have something in common")
	}
}

// A request is named after its key alone.
func TestRequestAddress(t *testing.T) {
	a, b := Request{Key: stream("key", 33), Body: asked}, Request{Key: stream("another", 33)}
	if a.Address() == b.Address() || a.Address() != (Request{Key: a.Key}).Address() {
		t.Error("a request has another name")
	}
	if at := a.Address(); shared(at[:], a.Key, 4) {
		t.Error("the name shows the key")
	}
}
