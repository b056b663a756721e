package link

import (
	"bytes"
	"compress/flate"
	"io"
)

// MaxBody is the most bytes that Pack takes and Unpack gives.
const MaxBody = 1 << 20

// Pack compresses by DEFLATE (RFC 1951). More than MaxBody gives ErrTooLarge.
func Pack(body []byte) ([]byte, error) {
	if len(body) > MaxBody {
		return nil, ErrTooLarge
	}
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.BestCompression)
	if err != nil {
		panic(err) // the level exists
	}
	w.Write(body) // into memory: neither fails
	w.Close()
	return b.Bytes(), nil
}

// Unpack undoes Pack. What was not packed, is not whole or is followed by more gives ErrLayout; more than MaxBody unpacked gives ErrTooLarge.
func Unpack(packed []byte) ([]byte, error) {
	from := bytes.NewReader(packed)
	body, err := io.ReadAll(io.LimitReader(flate.NewReader(from), MaxBody+1))
	switch {
	case err != nil:
		return nil, ErrLayout
	case len(body) > MaxBody:
		return nil, ErrTooLarge
	case from.Len() > 0:
		return nil, ErrLayout
	}
	return body, nil
}
