package seal

import (
	"crypto/hpke"
	"encoding/binary"
)

// Kind says what a letter is. It is bound into the seal: a letter that is opened as another kind than it was sealed as does not open.
type Kind string

// MaxLetter is the most bytes that a sealed letter has.
const MaxLetter = 256 << 10

const (
	letterVersion = 1
	letterLabel   = "plumb/letter/1"
	least         = 512 // bytes of the smallest letter
	tag           = 16  // bytes that AES-GCM adds
	lengthSize    = 4
)

// Seal writes a letter that only to's reader can open, and only as the same kind and with the same context. The context says where the letter belongs, as by
// Place, so that it opens nowhere else. Its length is the next of 512, 768, 1024, 1536, 2048, ... bytes. A body that fits no letter gives ErrTooLarge.
func Seal(to Public, kind Kind, context, body []byte) ([]byte, error) {
	if kind == "" {
		return nil, ErrKind
	}
	if len(to) == 0 {
		return nil, ErrKey
	}
	suite := to[0]
	k, encapsulated, err := kem(suite)
	if err != nil {
		return nil, err
	}
	key, err := k.NewPublicKey(to[1:])
	if err != nil {
		return nil, ErrKey
	}
	size, ok := bucket(2 + encapsulated + lengthSize + len(body) + tag)
	if !ok {
		return nil, ErrTooLarge
	}
	plain := make([]byte, size-2-encapsulated-tag)
	binary.BigEndian.PutUint32(plain, uint32(len(body)))
	copy(plain[lengthSize:], body)
	sealed, err := hpke.Seal(key, hpke.HKDFSHA256(), hpke.AES256GCM(), info(suite, kind, context), plain)
	if err != nil {
		return nil, ErrKey // of low order
	}
	return append([]byte{letterVersion, suite}, sealed...), nil
}

// Open returns the body of a letter that was sealed to p's public half as this kind and with this context.
func (p *Private) Open(kind Kind, context, letter []byte) ([]byte, error) {
	if p.key == nil {
		return nil, ErrKey
	}
	if kind == "" {
		return nil, ErrKind
	}
	if len(letter) < 2 {
		return nil, ErrTruncated
	}
	if letter[0] != letterVersion {
		return nil, ErrVersion
	}
	suite := letter[1]
	if _, _, err := kem(suite); err != nil {
		return nil, err
	}
	if len(letter) > MaxLetter {
		return nil, ErrTooLarge
	}
	if size, _ := bucket(len(letter)); size != len(letter) {
		return nil, ErrTruncated
	}
	plain, err := hpke.Open(p.key, hpke.HKDFSHA256(), hpke.AES256GCM(), info(suite, kind, context), letter[2:])
	if err != nil {
		return nil, ErrForeign
	}
	return body(plain)
}

// body returns what stands between the length and the padding.
func body(plain []byte) ([]byte, error) {
	if len(plain) < lengthSize {
		return nil, ErrLayout
	}
	n := binary.BigEndian.Uint32(plain)
	plain = plain[lengthSize:]
	if uint64(n) > uint64(len(plain)) {
		return nil, ErrLayout
	}
	for _, b := range plain[n:] {
		if b != 0 {
			return nil, ErrLayout
		}
	}
	return plain[:n:n], nil
}

// info is HPKE's info: all that reader and writer must agree on, each of variable length behind its length.
func info(suite byte, kind Kind, context []byte) []byte {
	b := append([]byte(letterLabel), suite)
	b = binary.BigEndian.AppendUint32(b, uint32(len(kind)))
	b = append(b, kind...)
	b = binary.BigEndian.AppendUint32(b, uint32(len(context)))
	return append(b, context...)
}

// bucket returns the length of a letter that holds n bytes: the next power of two or one and a half times one. ok is false if there is none.
func bucket(n int) (size int, ok bool) {
	for size = least; size <= MaxLetter; size *= 2 {
		if n <= size {
			return size, true
		}
		if half := size + size/2; n <= half && half < MaxLetter {
			return half, true
		}
	}
	return 0, false
}

// Place is the context of a letter in a box: the box's address and the letter's own name. A letter moved elsewhere, or put there again by another name, does
// not open.
func Place(address, id [16]byte) []byte { return append(address[:], id[:]...) }
