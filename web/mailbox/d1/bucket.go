//go:build js && wasm

package d1

import (
	"context"
	"errors"
	"fmt"
	"io"
	"syscall/js"

	"example.org/plumb/web/mailbox"
)

// bucket is an R2 bucket.
type bucket struct{ binding js.Value }

// handedOver is the body of a request as the library hands it over: unread, it still is the host's own stream.
type handedOver interface{ GetRawJSBody() js.Value }

var errWrapped = errors.New("d1: the body is not the request's own")

// Put hands the request's own stream to R2, which refuses a stream that is not as long as the request said. The digest is the MD5 that R2 keeps of every object put at
// once: it tells a repeat from other bytes where nobody is deceived but the sender.
func (b bucket) Put(_ context.Context, name string, size int64, body io.Reader) ([]byte, error) {
	h, ok := body.(handedOver)
	if !ok {
		return nil, errWrapped
	}
	object, err := await(b.binding.Call("put", name, h.GetRawJSBody()))
	if err != nil {
		return nil, fmt.Errorf("d1: the bucket took no chunk: %w", err)
	}
	if err := length(object.Get("size").Float(), size); err != nil {
		return nil, err
	}
	return toGo(object.Get("checksums").Get("md5")), nil
}

// Sum reads the stream outside the program.
func (b bucket) Sum(_ context.Context, size int64, body io.Reader) ([]byte, error) {
	h, ok := body.(handedOver)
	if !ok {
		return nil, errWrapped
	}
	md5 := js.Global().Get("crypto").Get("DigestStream").New("MD5")
	if _, err := await(h.GetRawJSBody().Call("pipeTo", md5)); err != nil {
		return nil, fmt.Errorf("d1: the chunk broke off: %w", err)
	}
	if err := length(js.Global().Call("Number", md5.Get("bytesWritten")).Float(), size); err != nil {
		return nil, err
	}
	sum, err := await(md5.Get("digest"))
	if err != nil {
		return nil, fmt.Errorf("d1: %w", err)
	}
	return toGo(sum), nil
}

// length compares what came with what was to come.
func length(came float64, size int64) error {
	switch {
	case came < float64(size):
		return io.ErrUnexpectedEOF
	case came > float64(size):
		return mailbox.ErrRange
	}
	return nil
}

// Get returns an object's stream.
func (b bucket) Get(_ context.Context, name string) (io.ReadCloser, int64, error) {
	object, err := await(b.binding.Call("get", name))
	if err != nil {
		return nil, 0, fmt.Errorf("d1: the bucket gave no chunk: %w", err)
	}
	if object.IsNull() {
		return nil, 0, mailbox.ErrNone // its box was deleted a moment ago
	}
	return &stream{body: object.Get("body")}, int64(object.Get("size").Float()), nil
}

// Remove removes objects.
func (b bucket) Remove(_ context.Context, names ...string) error {
	list := make([]any, len(names))
	for i, n := range names {
		list[i] = n
	}
	if _, err := await(b.binding.Call("delete", list)); err != nil {
		return fmt.Errorf("d1: the bucket kept what was to go: %w", err)
	}
	return nil
}
