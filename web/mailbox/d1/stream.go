//go:build js && wasm

package d1

import (
	"errors"
	"io"
	"syscall/js"
)

// stream is a ReadableStream of the host. Whoever copies it with io.Copy to an answer hands it over whole; nothing here reads its bytes.
type stream struct {
	body js.Value
	gone bool // handed over
}

// taker is an answer that takes a stream of the host as its body.
type taker interface{ WriteRawJSBody(js.Value) }

var errInside = errors.New("d1: a chunk goes to an answer of the host and nowhere else")

// WriteTo hands the stream over. The number of bytes is not known then; it is 0.
func (s *stream) WriteTo(w io.Writer) (int64, error) {
	t, ok := w.(taker)
	if !ok || s.gone {
		return 0, errInside
	}
	t.WriteRawJSBody(s.body)
	s.gone = true
	return 0, nil
}

// Read refuses: the bytes of a chunk do not enter the program.
func (s *stream) Read([]byte) (int, error) { return 0, errInside }

// Close ends a stream that was not handed over.
func (s *stream) Close() error {
	if s.gone {
		return nil
	}
	s.gone = true
	_, err := await(s.body.Call("cancel"))
	return err
}

var _ io.WriterTo = (*stream)(nil)
