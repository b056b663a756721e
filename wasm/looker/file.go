//go:build js

package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"syscall/js"
	"unsafe"

	"example.org/plumb/wasm/study"
)

// address is where a slice lies, for the browser. The slice is to stay in use until the browser is done.
func address(b []byte) float64 { return float64(uintptr(unsafe.Pointer(unsafe.SliceData(b)))) }

// A file reads a Blob.
type file struct {
	blob js.Value
	size int64
	near []byte // bytes about the last that were asked for
	from int64
}

// near is how much is read at once; headers are read in small pieces.
const near = 1 << 18

func open(blob js.Value) *file { return &file{blob: blob, size: int64(blob.Get("size").Float())} }

func (f *file) ReadAt(p []byte, at int64) (int, error) {
	if at < 0 {
		return 0, errors.New("looker: read before the begin of a file")
	}
	n := 0
	for n < len(p) && at < f.size {
		if at < f.from || at >= f.from+int64(len(f.near)) {
			want := min(f.size-at, max(near, int64(len(p)-n)))
			b := make([]byte, want)
			got, err := await(hand.Call("bytes", f.blob, float64(at), float64(at+want), address(b)))
			if err != nil {
				return n, err
			}
			if f.near, f.from = b[:got.Int()], at; len(f.near) == 0 {
				return n, io.ErrUnexpectedEOF
			}
		}
		k := copy(p[n:], f.near[at-f.from:])
		n, at = n+k, at+int64(k)
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// digest returns the SHA-256 of a file.
func (f *file) digest() (sum study.Digest, err error) {
	// The browser wants all of the file in memory; it is ten times as fast.
	if text, err := await(hand.Call("digest", f.blob)); err == nil && text.Type() == js.TypeString {
		b, err := hex.DecodeString(text.String())
		if err == nil && copy(sum[:], b) == len(sum) {
			return sum, nil
		}
	}
	h := sha256.New()
	if _, err := io.CopyBuffer(onlyWriter{h}, io.NewSectionReader(f, 0, f.size), make([]byte, 4<<20)); err != nil {
		return sum, err
	}
	copy(sum[:], h.Sum(nil))
	return sum, nil
}

type onlyWriter struct{ io.Writer }
