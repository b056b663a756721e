package link

import (
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
)

// A Secret is what the owner of one request keeps. All else that the owner needs follows from it by HKDF-Expand with SHA-256 (RFC 5869), and none of that tells
// the secret or another part.
type Secret [32]byte

// NewSecret makes a secret at random.
func NewSecret() (s Secret) {
	rand.Read(s[:]) // never fails
	return s
}

// Address is where the owner's box is.
func (s Secret) Address() (a [16]byte) {
	s.expand("plumb/owner/1 address", a[:])
	return a
}

// Right is what shows a store that the box is the owner's.
func (s Secret) Right() (r [32]byte) {
	s.expand("plumb/owner/1 right", r[:])
	return r
}

// Seed is the seed of the key that opens the answers, for seal.Derive, or for seal.DeriveShort where no server carries them.
func (s Secret) Seed() (k [32]byte) {
	s.expand("plumb/owner/1 seed", k[:])
	return k
}

// Sign is the seed of the key that signs what is asked: Ed25519 (RFC 8032), for ed25519.NewKeyFromSeed.
func (s Secret) Sign() (k [32]byte) {
	s.expand("plumb/owner/1 sign", k[:])
	return k
}

func (s Secret) expand(info string, to []byte) {
	b, err := hkdf.Expand(sha256.New, s[:], info, len(to))
	if err != nil {
		panic(err) // up to 8160 bytes can be had
	}
	copy(to, b)
}
