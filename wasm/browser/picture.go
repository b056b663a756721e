//go:build js

package browser

import "syscall/js"

// Decode lets the browser decode a picture as it would on a page, and passes on its pixels, RGBA row by row in sRGB; none where it cannot be decoded or read.
func Decode(picture []byte, kind string, done func(pixels []byte)) {
	bytes := global.Get("Uint8Array").New(len(picture))
	js.CopyBytesToJS(bytes, picture)
	blob := global.Get("Blob").New([]any{bytes}, map[string]any{"type": kind})
	address := global.Get("URL").Call("createObjectURL", blob)
	image := global.Get("Image").New()
	var drops []func()
	handler := func(event string, f func()) {
		c, drop := once(func([]js.Value) {
			for _, d := range drops {
				d()
			}
			global.Get("URL").Call("revokeObjectURL", address)
			f()
		})
		drops = append(drops, drop)
		image.Set(event, c)
	}
	handler("onerror", func() { done(nil) })
	handler("onload", func() {
		var pixels []byte
		try(func() {
			c := document.Call("createElement", "canvas")
			w, h := image.Get("naturalWidth").Int(), image.Get("naturalHeight").Int()
			c.Set("width", w)
			c.Set("height", h)
			x := c.Call("getContext", "2d", map[string]any{"willReadFrequently": true})
			x.Call("drawImage", image, 0, 0)
			got := make([]byte, 4*w*h)
			js.CopyBytesToGo(got, x.Call("getImageData", 0, 0, w, h).Get("data"))
			pixels = got
		})
		done(pixels)
	})
	image.Set("src", address)
}
