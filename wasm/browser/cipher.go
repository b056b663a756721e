//go:build js

package browser

import (
	"crypto/sha256"
	"errors"
	"syscall/js"

	"example.org/plumb/web/seal"
)

// subtle is the browser's own cryptography, or undefined: it is there only where the page came by HTTPS or from this computer.
func subtle() js.Value {
	if !has(global, "crypto", "subtle") {
		return js.Undefined()
	}
	return global.Get("crypto").Get("subtle")
}

// A Cipher is a seal.Cipher by Web Crypto. It waits, so it is used from a goroutine of its own and never inside a callback.
type Cipher struct{ key js.Value }

// NewCipher returns a cipher by Web Crypto, or Go's where the browser has none. It waits, too.
func NewCipher(k seal.Key) seal.Cipher {
	if key, err := importKey(k); err == nil {
		return Cipher{key}
	}
	return k.Cipher()
}

func importKey(k seal.Key) (js.Value, error) {
	s := subtle()
	if !s.Truthy() {
		return js.Undefined(), errors.New("browser: no Web Crypto")
	}
	raw := array(k[:])
	promise, err := called(s, "importKey", "raw", raw, "AES-GCM", false, []any{"encrypt", "decrypt"})
	if err != nil {
		return js.Undefined(), err
	}
	key, err := await(promise)
	raw.Call("fill", 0)
	return key, err
}

// Seal returns nil where the browser fails.
func (c Cipher) Seal(nonce, plain, additional []byte) []byte {
	sealed, err := c.through("encrypt", nonce, additional, plain)
	if err != nil {
		return nil
	}
	return sealed
}

// Open returns what was sealed. Its error says nothing of the reason, as the browser's does not.
func (c Cipher) Open(nonce, sealed, additional []byte) ([]byte, error) {
	return c.through("decrypt", nonce, additional, sealed)
}

// through encrypts or decrypts bytes of this program.
func (c Cipher) through(way string, nonce, additional, bytes []byte) ([]byte, error) {
	given := array(bytes)
	buffer, err := c.run(way, nonce, additional, given)
	free(given.Get("buffer"))
	if err != nil {
		return nil, err
	}
	defer free(buffer)
	return slice(global.Get("Uint8Array").New(buffer)), nil
}

// run encrypts or decrypts bytes of JavaScript: an ArrayBuffer comes of them.
func (c Cipher) run(way string, nonce, additional []byte, bytes js.Value) (js.Value, error) {
	promise, err := c.begin(way, nonce, additional, bytes)
	if err != nil {
		return js.Undefined(), err
	}
	return await(promise)
}

func (c Cipher) begin(way string, nonce, additional []byte, bytes js.Value) (js.Value, error) {
	how := map[string]any{"name": "AES-GCM", "iv": array(nonce), "additionalData": array(additional), "tagLength": 128}
	return called(subtle(), way, how, c.key, bytes)
}

// Digest is the SHA-256 of a Blob. It waits.
func Digest(blob js.Value) (d [sha256.Size]byte, err error) {
	s := subtle()
	if !s.Truthy() {
		return digestInGo(blob)
	}
	buffer, err := contents(blob)
	if err != nil {
		return d, err
	}
	promise, err := called(s, "digest", "SHA-256", buffer)
	if err != nil {
		return d, err
	}
	sum, err := await(promise)
	free(buffer)
	if err != nil {
		return d, err
	}
	js.CopyBytesToGo(d[:], global.Get("Uint8Array").New(sum))
	return d, nil
}

// digestInGo reads the Blob piece by piece, so that the page answers in between.
func digestInGo(blob js.Value) (d [sha256.Size]byte, err error) {
	const piece = 256 << 10
	h := sha256.New()
	b := make([]byte, piece)
	source := blobReader{blob}
	for at, size := int64(0), length(blob); at < size; at += piece {
		n := int(min(piece, size-at))
		if _, err := source.ReadAt(b[:n], at); err != nil {
			return d, err
		}
		h.Write(b[:n])
	}
	return [sha256.Size]byte(h.Sum(nil)), nil
}

// free gives back the memory of an ArrayBuffer that nobody looks at any more. Else it would stay until this program collects its own garbage, which knows nothing of
// how large it is. Old browsers cannot; there it stays so long.
func free(buffer js.Value) {
	if has(buffer, "transfer") {
		try(func() { buffer.Call("transfer", 0) })
	}
}

// array is a copy of bytes as a Uint8Array.
func array(b []byte) js.Value {
	a := global.Get("Uint8Array").New(len(b))
	js.CopyBytesToJS(a, b)
	return a
}

// slice is a copy of a Uint8Array.
func slice(a js.Value) []byte {
	b := make([]byte, a.Length())
	js.CopyBytesToGo(b, a)
	return b
}

// called calls a method that may throw.
func called(v js.Value, method string, args ...any) (result js.Value, err error) {
	if thrown := try(func() { result = v.Call(method, args...) }); !thrown.IsUndefined() {
		return js.Undefined(), errors.New("browser: " + complaint(thrown))
	}
	return result, nil
}
