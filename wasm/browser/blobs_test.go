//go:build js

package browser

import (
	"bytes"
	"errors"
	"io"
	"syscall/js"
	"testing"
)

// keep waits for Keep.
func keep(b *Blobs, key string) error {
	done := make(chan error, 1)
	b.Keep(key, func(err error) { done <- err })
	return <-done
}

// What is kept outlives the program, what is not does not, and what is dropped is gone. Another Blobs of the same name is what there is after a reload.
func TestBlobs(t *testing.T) {
	page(t)
	const name = "blobs test"
	b := NewBlobs(name)
	kept, held := b.Key(), b.Key()
	if kept == held || len(kept) < 16 {
		t.Errorf("keys %q and %q", kept, held)
	}
	b.Put(kept, blobOf([]byte("apples"), "image/png"))
	b.Put(held, fileOf([]byte("pears"), "pears.jpg", "image/jpeg"))
	if err := keep(b, kept); err != nil {
		t.Fatal(err)
	}
	after := NewBlobs(name)
	got, err := after.Wait(kept)
	if err != nil || string(bytesOf(t, got)) != "apples" || got.Get("type").String() != "image/png" {
		t.Errorf("kept: %v", err)
	}
	if _, err := after.Wait(held); err != ErrNoBlob {
		t.Errorf("not kept: %v", err)
	}
	if got, err := b.Wait(held); err != nil || string(bytesOf(t, got)) != "pears" {
		t.Errorf("held: %v", err)
	}
	if err := keep(after, kept); err != nil {
		t.Errorf("kept again: %v", err)
	}
	if err := keep(NewBlobs(name), kept); err != nil {
		t.Errorf("kept again, not read before: %v", err)
	}
	if err := keep(after, held); err != ErrNoBlob {
		t.Errorf("kept though it is nowhere: %v", err)
	}
	// One put in its place is not kept by that.
	b.Put(kept, blobOf([]byte("plums"), ""))
	if got, err := b.Wait(kept); err != nil || string(bytesOf(t, got)) != "plums" {
		t.Errorf("replaced: %v", err)
	}
	b.Drop(kept, held)
	for _, key := range []string{kept, held} {
		if _, err := b.Wait(key); err != ErrNoBlob {
			t.Errorf("dropped: %v", err)
		}
	}
	if _, err := NewBlobs(name).Wait(kept); err != ErrNoBlob {
		t.Errorf("dropped, after a reload: %v", err)
	}
	// What is dropped while it is being looked for does not come back.
	b.Put("c", blobOf([]byte("cherries"), ""))
	if err := keep(b, "c"); err != nil {
		t.Fatal(err)
	}
	after = NewBlobs(name)
	after.Get("c", func(js.Value, error) {})
	after.Drop("c")
	if _, err := after.Wait("c"); err != ErrNoBlob {
		t.Errorf("came back: %v", err)
	}
}

// A database that takes nothing says why, as the other one does.
func TestBlobsRefused(t *testing.T) {
	page(t)
	b := NewBlobs("refusing test")
	b.Put("a", blobOf([]byte("apples"), ""))
	if err := keep(b, "a"); err != nil {
		t.Fatal(err)
	}
	proto := global.Get("IDBObjectStore").Get("prototype")
	put := proto.Get("put")
	for name, want := range map[string]error{"QuotaExceededError": ErrFull, "InvalidStateError": ErrDenied, "UnknownError": ErrCorrupt} {
		proto.Set("put", global.Get("Function").New("throw new DOMException('made up', '"+name+"')"))
		b.Put("b", blobOf([]byte("pears"), ""))
		if err := keep(b, "b"); !errors.Is(err, want) {
			t.Errorf("%s: %v", name, err)
		}
		if got, err := b.Wait("b"); err != nil || string(bytesOf(t, got)) != "pears" {
			t.Errorf("%s: no longer held: %v", name, err)
		}
	}
	proto.Set("put", put)
	if err := keep(b, "b"); err != nil {
		t.Errorf("afterwards: %v", err)
	}
	b.Drop("a", "b")
}

func TestBlobReader(t *testing.T) {
	r := blobReader{blobOf([]byte("apples"), "")}
	p := make([]byte, 4)
	if n, err := r.ReadAt(p, 1); n != 4 || err != nil || string(p) != "pple" {
		t.Errorf("%d, %v, %q", n, err, p)
	}
	if n, err := r.ReadAt(p, 4); n != 2 || err != io.EOF || string(p[:2]) != "es" {
		t.Errorf("%d, %v, %q", n, err, p)
	}
	for _, at := range []int64{6, 7, -1} {
		if n, err := r.ReadAt(p, at); n != 0 || err != io.EOF {
			t.Errorf("at %d: %d, %v", at, n, err)
		}
	}
	if got, err := io.ReadAll(io.NewSectionReader(r, 0, 6)); err != nil || !bytes.Equal(got, []byte("apples")) {
		t.Errorf("%q, %v", got, err)
	}
}

// A picture is saved under its name, as it is.
func TestSave(t *testing.T) {
	page(t)
	b := NewBlobs("saving test")
	b.Put("a", blobOf([]byte("apples"), "image/png"))
	var name string
	var saved js.Value
	url := global.Get("URL")
	create := url.Get("createObjectURL")
	watch := js.FuncOf(func(_ js.Value, args []js.Value) any {
		saved = args[0]
		return create.Call("call", url, saved)
	})
	url.Set("createObjectURL", watch)
	defer url.Set("createObjectURL", create)
	stop := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if a := args[0].Get("target"); a.Get("download").Truthy() {
			args[0].Call("preventDefault")
			name = a.Get("download").String()
		}
		return nil
	})
	document.Call("addEventListener", "click", stop)
	defer document.Call("removeEventListener", "click", stop)
	errs := make(chan error, 2)
	b.Save("a", "apples.png", func(err error) { errs <- err })
	if err := <-errs; err != nil || name != "apples.png" || !isBlob(saved) || string(bytesOf(t, saved)) != "apples" {
		t.Errorf("saved as %q, %v", name, err)
	}
	b.Save("nothing", "nothing.png", func(err error) { errs <- err })
	if err := <-errs; err != ErrNoBlob {
		t.Errorf("nothing was saved: %v", err)
	}
}
