//go:build js

package browser

import (
	"errors"
	"io"
	"strconv"
	"syscall/js"
)

// ErrNoBlob is the error of a key under which nothing lies.
var ErrNoBlob = errors.New("browser: no file under this key")

// Blobs are files that stay outside the program's memory, as the browser's own Blobs. Each has a key. They are gone with the page, but for those that are kept: these
// are in a database of their own.
type Blobs struct {
	held map[string]js.Value
	last map[string]int // how often something was put under a key
	kept Database
}

const blobDrawer = "pictures"

// NewBlobs names the database that keeps; it is opened when it is first used.
func NewBlobs(name string) *Blobs {
	return &Blobs{held: map[string]js.Value{}, last: map[string]int{}, kept: Database{name: name, version: 1, drawers: []string{blobDrawer}}}
}

// Key is a new key, at random.
func (b *Blobs) Key() string { return strconv.FormatUint(Seed(), 36) + strconv.FormatUint(Seed(), 36) }

// Put lays a Blob under a key, in the place of what was there, until the page is left.
func (b *Blobs) Put(key string, blob js.Value) {
	b.held[key] = blob
	b.last[key]++
}

// Get passes on the Blob under a key, of this page or kept; ErrNoBlob where there is none. One of this page is passed on before Get returns.
func (b *Blobs) Get(key string, done func(blob js.Value, err error)) {
	if blob, ok := b.held[key]; ok {
		done(blob, nil)
		return
	}
	turn := b.last[key]
	b.with("readonly", func(store js.Value) js.Value { return store.Call("get", key) }, func(found js.Value, err error) {
		switch {
		case err != nil:
			done(js.Undefined(), err)
		case !isBlob(found):
			done(js.Undefined(), ErrNoBlob)
		default:
			if b.last[key] == turn { // neither replaced nor dropped meanwhile
				b.held[key] = found
			}
			done(found, nil)
		}
	})
}

// Wait is Get for a goroutine of its own.
func (b *Blobs) Wait(key string) (js.Value, error) {
	type outcome struct {
		blob js.Value
		err  error
	}
	got := make(chan outcome, 1)
	b.Get(key, func(blob js.Value, err error) { got <- outcome{blob, err} })
	o := <-got
	return o.blob, o.err
}

// Keep lets what lies under a key survive the page. When done is called without an error it is on the disk, as far as the browser knows.
func (b *Blobs) Keep(key string, done func(error)) {
	blob, ok := b.held[key]
	if !ok { // then it is kept already, or it is nowhere
		b.Get(key, func(_ js.Value, err error) { done(err) })
		return
	}
	b.with("readwrite", func(store js.Value) js.Value { return store.Call("put", blob, key) }, func(_ js.Value, err error) { done(err) })
}

// Drop forgets what lies under keys, kept or not.
func (b *Blobs) Drop(keys ...string) {
	for _, key := range keys {
		delete(b.held, key)
		b.last[key]++
	}
	if len(keys) > 0 {
		b.with("readwrite", func(store js.Value) (request js.Value) {
			for _, key := range keys {
				request = store.Call("delete", key)
			}
			return request
		}, func(js.Value, error) {})
	}
}

// Save offers a Blob as a download, under a name.
func (b *Blobs) Save(key, name string, done func(error)) {
	b.Get(key, func(blob js.Value, err error) {
		if err == nil {
			download(name, blob)
		}
		done(err)
	})
}

// with runs requests in a transaction of its own and passes on what the last of them found.
func (b *Blobs) with(mode string, ask func(store js.Value) (request js.Value), done func(found js.Value, err error)) {
	b.kept.use(func(db js.Value) {
		var t, request js.Value
		thrown := try(func() {
			t = db.Call("transaction", blobDrawer, mode, map[string]any{"durability": "strict"})
			request = ask(t.Call("objectStore", blobDrawer))
		})
		if !thrown.IsUndefined() {
			b.kept.open = js.Undefined()
			if t.Truthy() {
				try(func() { t.Call("abort") })
			}
			done(js.Undefined(), failure(thrown))
			return
		}
		handle(t, map[string]func(){
			"complete": func() { done(request.Get("result"), nil) },
			"abort":    func() { done(js.Undefined(), failure(t.Get("error"))) },
		})
	}, func(err error) { done(js.Undefined(), err) })
}

func isBlob(v js.Value) bool { return v.Truthy() && v.InstanceOf(global.Get("Blob")) }

// length is the size of a Blob in bytes.
func length(blob js.Value) int64 { return int64(blob.Get("size").Float()) }

// contents are a Blob's bytes as an ArrayBuffer. It waits.
func contents(blob js.Value) (js.Value, error) {
	promise, err := called(blob, "arrayBuffer")
	if err != nil {
		return js.Undefined(), err
	}
	return await(promise)
}

// blobReader reads a Blob. It waits.
type blobReader struct{ blob js.Value }

func (r blobReader) ReadAt(p []byte, offset int64) (int, error) {
	size := length(r.blob)
	if offset < 0 || offset > size {
		return 0, io.EOF
	}
	buffer, err := contents(r.blob.Call("slice", offset, min(size, offset+int64(len(p)))))
	if err != nil {
		return 0, err
	}
	n := js.CopyBytesToGo(p, global.Get("Uint8Array").New(buffer))
	free(buffer)
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}
