//go:build js

package browser

import (
	"bytes"
	"encoding/json"
	"errors"
	"image"
	"image/draw"
	"image/png"
	"syscall/js"
	"testing"
	"time"

	"example.org/plumb/web/mailbox/client"
)

// page skips a test where there is no page to test on.
func page(t testing.TB) {
	t.Helper()
	if !document.Truthy() {
		t.Skip("no page here; see TestInBrowser")
	}
}

// ask asks the program that drives the browser for what a page cannot do.
func ask(t testing.TB, what map[string]any) []byte {
	t.Helper()
	text, err := json.Marshal(what)
	if err != nil {
		t.Fatal(err)
	}
	a, err := Fetch{}.Do(t.Context(), client.Request{Method: "POST", Path: "/ask", Body: bytes.NewReader(text), Size: int64(len(text))})
	if err != nil {
		t.Fatal(err)
	}
	b := slice(a.Body.(*outside).bytes)
	if a.Status != 200 {
		t.Fatalf("%v: %s", what, b)
	}
	return b
}

// shot is the page as it is on the screen, in device pixels.
func shot(t testing.TB) *image.RGBA {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(ask(t, map[string]any{"what": "shot"})))
	if err != nil {
		t.Fatal(err)
	}
	dst := image.NewRGBA(img.Bounds())
	draw.Draw(dst, dst.Rect, img, img.Bounds().Min, draw.Src)
	return dst
}

// frames waits until so many frames were painted.
func frames(n int) {
	for range n {
		next := make(chan bool, 1)
		f, _ := once(func([]js.Value) { next <- true })
		window.Call("requestAnimationFrame", f)
		<-next
	}
}

// until waits for something for at most some seconds.
func until(t testing.TB, what string, is func() bool) {
	t.Helper()
	for range 500 {
		if is() {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("still not: %s", what)
}

var errTest = errors.New("made up")

// blobOf is a Blob of bytes.
func blobOf(b []byte, kind string) js.Value {
	return global.Get("Blob").New([]any{array(b)}, map[string]any{"type": kind})
}

// bytesOf are the bytes of a Blob.
func bytesOf(t testing.TB, blob js.Value) []byte {
	t.Helper()
	buffer, err := contents(blob)
	if err != nil {
		t.Fatal(err)
	}
	return slice(global.Get("Uint8Array").New(buffer))
}

// fileOf is a File of bytes.
func fileOf(b []byte, name, kind string) js.Value {
	return global.Get("File").New([]any{array(b)}, name, map[string]any{"type": kind})
}
