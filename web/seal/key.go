package seal

import (
	"crypto/ecdh"
	"crypto/hpke"
)

// Suites, the first byte of a key. Both use HKDF-SHA256 and AES-256-GCM: the cipher that parcels need too, and that browsers have, so that they can be asked for a
// second opinion. Without instructions for AES, as in WebAssembly, Go's takes time that depends on the key's bytes, which a program beside it might measure.
const (
	short  = 1 // DHKEM(X25519, HKDF-SHA256), RFC 9180: fits a QR code, but a quantum computer would open it
	hybrid = 2 // MLKEM768-X25519 (X-Wing), draft-ietf-hpke-pq: holds as long as one of the two does
)

// kem returns what encapsulates keys in a suite, and how many bytes an encapsulated one has.
func kem(suite byte) (k hpke.KEM, encapsulated int, err error) {
	switch suite {
	case short:
		return hpke.DHKEM(ecdh.X25519()), 32, nil
	case hybrid:
		return hpke.MLKEM768X25519(), 1120, nil
	}
	return nil, 0, ErrVersion
}

// Public is what letters to a reader are sealed with: the suite byte and the bytes of RFC 9180's SerializePublicKey, 33 or 1217 in all.
type Public []byte

// Private opens letters. The zero value opens none.
type Private struct {
	suite byte
	key   hpke.PrivateKey
	bytes []byte // what Bytes returns
}

// Generate makes a key at random, for letters that should stay closed even to quantum computers.
func Generate() (*Private, error) { return generate(hybrid) }

// GenerateShort makes a key at random whose public half has 33 bytes, for requests that fit a QR code. It rests on X25519 alone.
func GenerateShort() (*Private, error) { return generate(short) }

func generate(suite byte) (*Private, error) {
	k, _, err := kem(suite)
	if err != nil {
		return nil, err
	}
	key, err := k.GenerateKey()
	return private(suite, key, err)
}

// Derive makes the key that a seed of 32 random bytes stands for, always the same, by DeriveKeyPair of the suite. It is as safe as the seed is secret.
func Derive(seed []byte) (*Private, error) { return derive(hybrid, seed) }

// DeriveShort is to GenerateShort what Derive is to Generate. One seed may serve both.
func DeriveShort(seed []byte) (*Private, error) { return derive(short, seed) }

func derive(suite byte, seed []byte) (*Private, error) {
	k, _, err := kem(suite)
	if err != nil {
		return nil, err
	}
	if len(seed) != 32 {
		return nil, ErrKey
	}
	key, err := k.DeriveKeyPair(seed)
	return private(suite, key, err)
}

// Parse reads what Bytes returned.
func Parse(b []byte) (*Private, error) {
	if len(b) == 0 {
		return nil, ErrKey
	}
	k, _, err := kem(b[0])
	if err != nil {
		return nil, err
	}
	key, err := k.NewPrivateKey(b[1:])
	return private(b[0], key, err)
}

func private(suite byte, key hpke.PrivateKey, err error) (*Private, error) {
	if err != nil {
		return nil, ErrKey
	}
	b, err := key.Bytes()
	if err != nil {
		return nil, ErrKey
	}
	return &Private{suite, key, append([]byte{suite}, b...)}, nil
}

// Bytes returns the suite byte and the 32 bytes of SerializePrivateKey: a secret. Of the zero value it returns nil.
func (p *Private) Bytes() []byte { return append([]byte(nil), p.bytes...) }

// Public returns the other half, which opens nothing. Of the zero value it returns nil.
func (p *Private) Public() Public {
	if p.key == nil {
		return nil
	}
	return append(Public{p.suite}, p.key.PublicKey().Bytes()...)
}
