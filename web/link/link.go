// Package link writes and reads what stands behind the # of a link, the part of an address that browsers send to no server: a box to answer to, a whole request, a
// whole answer, or a desk.
//
// A link is ORIGIN/r#1.PAYLOAD: the version in decimal digits, a full stop, and in base64url without padding (RFC 4648, section 5) a byte for the kind, three
// bytes for the number of bytes in its fields, most significant first, the fields, and the first four bytes of the SHA-256 of "plumb/link/1" and all before.
// Length and sum tell a link that was cut short or mistyped from one whose box is gone; they prove nothing about who made it.
//
// Whoever has a link has what it opens. Errors do not quote it.
package link

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"strconv"
)

// Errors of reading. Writing knows ErrLayout and ErrTooLarge.
var (
	ErrEmpty     = errors.New("link: none here")
	ErrNewer     = errors.New("link: made by a later version")
	ErrTruncated = errors.New("link: cut short")
	ErrMistyped  = errors.New("link: some of its characters are wrong")
	ErrLayout    = errors.New("link: not laid out as its kind is")
	ErrTooLarge  = errors.New("link: too large")
)

const (
	// Version is the version that is written, and the highest that is read.
	Version = 1
	// Path is where links lead to below an origin.
	Path = "/r"
	// MaxFields is the most bytes that the fields of a link have. What carries it on may take less: a QR code has room for 2953 characters.
	MaxFields = 1<<24 - 1

	label    = "plumb/link/1"
	headSize = 4 // kind, length
	headText = 6 // characters that hold them
	sumSize  = 4
)

// A Link is a Box, a Request, an Answer or a Desk.
type Link interface {
	kind() kind
	fields() ([]byte, error)
}

type kind byte

const (
	box     kind = 1
	request kind = 2
	answer  kind = 3
	desk    kind = 4
)

// Write returns the link below an origin, such as "https://plumb.example" without a slash at its end.
func Write(origin string, l Link) (string, error) {
	f, err := Fragment(l)
	if err != nil {
		return "", err
	}
	return origin + Path + "#" + f, nil
}

// Fragment returns what stands behind the #.
func Fragment(l Link) (string, error) {
	fields, err := l.fields()
	if err != nil {
		return "", err
	}
	if len(fields) > MaxFields {
		return "", ErrTooLarge
	}
	return encode(l.kind(), fields), nil
}

func encode(k kind, fields []byte) string {
	b := make([]byte, 0, headSize+len(fields)+sumSize)
	b = binary.BigEndian.AppendUint32(b, uint32(k)<<24|uint32(len(fields)))
	b = append(b, fields...)
	b = append(b, sum(b)...)
	return strconv.Itoa(Version) + "." + base64.RawURLEncoding.EncodeToString(b)
}

// Read finds a link in a text: as it was written, its fragment alone with or without #, as it came through a mail program, or inside another link. It forgives
// what find forgives. The origin is not looked at.
func Read(text string) (Link, error) {
	characters, whole, err := find(text)
	if err != nil {
		return nil, err
	}
	k, fields, err := decode(characters)
	switch {
	case err == ErrTruncated && !whole:
		return nil, ErrMistyped
	case err != nil:
		return nil, err
	}
	switch k {
	case box:
		return readBox(fields)
	case request:
		return readRequest(fields)
	case answer:
		return readAnswer(fields)
	case desk:
		return readDesk(fields)
	}
	return nil, ErrNewer
}

// decode returns the kind and the fields that are written in the first of the characters given.
func decode(characters string) (k kind, fields []byte, err error) {
	if len(characters) < headText {
		return 0, nil, ErrTruncated
	}
	head, err := base64.RawURLEncoding.DecodeString(characters[:headText])
	if err != nil {
		return 0, nil, ErrMistyped
	}
	size := headSize + int(binary.BigEndian.Uint32(head)&MaxFields) + sumSize
	need := base64.RawURLEncoding.EncodedLen(size)
	if len(characters) < need {
		return 0, nil, ErrTruncated
	}
	b, err := base64.RawURLEncoding.Strict().DecodeString(characters[:need])
	if err != nil {
		return 0, nil, ErrMistyped
	}
	covered := b[:size-sumSize]
	if string(sum(covered)) != string(b[size-sumSize:]) {
		return 0, nil, ErrMistyped
	}
	return kind(head[0]), covered[headSize:], nil
}

// sum is the checksum of what stands before it.
func sum(b []byte) []byte {
	h := sha256.New()
	h.Write([]byte(label))
	h.Write(b)
	return h.Sum(nil)[:sumSize]
}
