//go:build js

package browser

import (
	"errors"
	"fmt"
	"syscall/js"
)

// A Desk is how things leave the program.
type Desk struct{}

// Save offers data as a download.
func (Desk) Save(name, kind string, data []byte) {
	bytes := global.Get("Uint8Array").New(len(data))
	js.CopyBytesToJS(bytes, data)
	download(name, global.Get("Blob").New([]any{bytes}, map[string]any{"type": kind}))
}

// download offers a Blob under a name.
func download(name string, blob js.Value) {
	address := global.Get("URL").Call("createObjectURL", blob)
	a := document.Call("createElement", "a")
	a.Set("href", address)
	a.Set("download", name)
	document.Get("body").Call("append", a)
	a.Call("click")
	a.Call("remove")
	// A browser may start to read the blob some time after the click.
	f, _ := once(func([]js.Value) { global.Get("URL").Call("revokeObjectURL", address) })
	window.Call("setTimeout", f, 60000)
}

// Print opens the browser's print dialogue.
func (Desk) Print() { window.Call("print") }

// FullScreen asks for full screen, or leaves it. The whole document goes, so that everything on it stays in sight. A browser that refuses is
// left alone.
func (Desk) FullScreen(on bool) {
	var p js.Value
	try(func() {
		if on {
			p = document.Get("documentElement").Call("requestFullscreen", map[string]any{"navigationUI": "hide"})
		} else {
			p = document.Call("exitFullscreen")
		}
	})
	if p.Truthy() && has(p, "then") {
		then(p, func(js.Value) {}, func(js.Value) {})
	}
}

// largest is more than any record has, in bytes.
const largest = 32 << 20

// read reads a file and passes it on.
func read(file js.Value, pass func(name string, data []byte, err error)) {
	name := file.Get("name").String()
	if size := file.Get("size").Float(); size > largest {
		pass(name, nil, fmt.Errorf("it has %.0f MB, and no record has as much", size/1e6))
		return
	}
	then(file.Call("arrayBuffer"), func(buffer js.Value) {
		bytes := global.Get("Uint8Array").New(buffer)
		data := make([]byte, bytes.Length())
		js.CopyBytesToGo(data, bytes)
		pass(name, data, nil)
	}, func(why js.Value) { pass(name, nil, errors.New(complaint(why))) })
}

// complaint is what an exception says.
func complaint(thrown js.Value) string {
	if has(thrown, "message") {
		if m := thrown.Get("message").String(); m != "" {
			return m
		}
	}
	if has(thrown, "name") {
		return thrown.Get("name").String()
	}
	return "the browser did not say why"
}
