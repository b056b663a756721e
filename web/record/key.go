package record

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
)

// version is what is written, and the highest that is read.
const version = 1

// Labels of what is signed, so that a signature under a text of one kind is none under another.
const (
	requestLabel = "plumb/request/1\n"
	recordLabel  = "plumb/record/1\n"
)

const signatureName = "signature "

// Digest is how texts name each other: the SHA-256 of all bytes of a request or a record.
func Digest(text []byte) [32]byte { return sha256.Sum256(text) }

// public returns the public half of a key. A key of the wrong length, or another than was named (zero names none), gives ErrKey.
func public(key ed25519.PrivateKey, named [32]byte) ([32]byte, error) {
	if len(key) != ed25519.PrivateKeySize {
		return [32]byte{}, ErrKey
	}
	p := [32]byte(key[ed25519.SeedSize:])
	if named != [32]byte{} && named != p || weak(p) {
		return [32]byte{}, ErrKey
	}
	return p, nil
}

// sign puts the signature line under a text. A key whose halves do not belong together gives ErrKey.
func sign(key ed25519.PrivateKey, label, text string) ([]byte, error) {
	message := []byte(label + text)
	s := ed25519.Sign(key, message)
	if !ed25519.Verify(ed25519.PublicKey(key[ed25519.SeedSize:]), message, s) {
		return nil, ErrKey
	}
	return []byte(text + signatureName + hex.EncodeToString(s) + "\n"), nil
}

// signs reports whether a key signed a text with this signature. The bytes of R and S are as RFC 8032 has them: S is below the order.
func signs(key [32]byte, label, text string, signature []byte) bool {
	return !weak(key) && ed25519.Verify(key[:], []byte(label+text), signature)
}

// small is the points of edwards25519 whose order divides 8, as their y-coordinate is encoded with the sign bit off (RFC 8032, section 5.1.2), p and p+1 for 0 and 1
// among them. Under such a key a signature can fit many texts.
var small = [...]string{
	"0000000000000000000000000000000000000000000000000000000000000000",
	"0100000000000000000000000000000000000000000000000000000000000000",
	"26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
	"c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
	"ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
	"edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
	"eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
}

func weak(key [32]byte) bool {
	key[31] &= 0x7f
	text := hex.EncodeToString(key[:])
	for _, s := range small {
		if text == s {
			return true
		}
	}
	return false
}
