//go:build js

// Package browser is the browser: canvas, keyboard, pointer, clock, storage and files, and no decisions.
//
// Nothing here waits inside a callback: what takes long answers by another call.
package browser

import (
	"strings"
	"syscall/js"
	"time"
)

var (
	global   = js.Global()
	window   = global
	document = global.Get("document")
)

// A Listener is told what happens. Every field must be set.
type Listener struct {
	Key     func(code string, at time.Duration) bool         // a key went down, repeats left out; returns whether it meant something
	Pointer func(x, y int, at time.Duration)                 // a press on the canvas, in its pixels
	Action  func(name, id string)                            // a click on what carries data-action, and its data-id
	Input   func(name, value string)                         // a form field changed; a checkbox that is off has the value ""
	File    func(field, name string, data []byte, err error) // a file was chosen in a form field, or dropped or pasted: field is empty then
	Picked  func(files []Picked)                             // files were chosen, dropped or pasted, and the page wants them as Blobs: see picks
	Blobs   *Blobs                                           // where they are laid
	Surface func()                                           // something about the canvas or its screen changed; see Canvas.Surface
	Visible func(on bool)                                    // the page was hidden or shown
	Focus   func(on bool)                                    // the window lost or got the keyboard
	Leaving func()                                           // the page is being left
	Online  func()                                           // the connection came back
	Moved   func(fragment string)                            // what stands behind the # of the page's address was changed
}

// on adds a listener that lasts as long as the page.
func on(target js.Value, event string, f func(e js.Value)) {
	target.Call("addEventListener", event, js.FuncOf(func(_ js.Value, args []js.Value) any {
		f(args[0])
		return nil
	}))
}

// once is a callback that may be called one time, and the way to give it up uncalled.
func once(f func(args []js.Value)) (callback js.Func, release func()) {
	var c js.Func
	done := false
	release = func() {
		if !done {
			done = true
			c.Release()
		}
	}
	c = js.FuncOf(func(_ js.Value, args []js.Value) any {
		release()
		f(args)
		return nil
	})
	return c, release
}

// then calls exactly one of the two when a promise is settled.
func then(promise js.Value, kept func(js.Value), broken func(js.Value)) {
	var dropKept, dropBroken func()
	first := func(args []js.Value) js.Value {
		dropKept()
		dropBroken()
		if len(args) == 0 {
			return js.Undefined()
		}
		return args[0]
	}
	var a, b js.Func
	a, dropKept = once(func(args []js.Value) { kept(first(args)) })
	b, dropBroken = once(func(args []js.Value) { broken(first(args)) })
	promise.Call("then", a, b)
}

// try calls f and returns what it threw, or undefined.
func try(f func()) (thrown js.Value) {
	defer func() {
		if r := recover(); r != nil {
			e, ok := r.(js.Error)
			if !ok {
				panic(r)
			}
			thrown = e.Value
		}
	}()
	f()
	return js.Undefined()
}

// has tells whether v has something that is neither undefined nor null at the end of a path of names.
func has(v js.Value, path ...string) bool {
	for _, p := range path {
		if v.Type() != js.TypeObject && v.Type() != js.TypeFunction {
			return false
		}
		v = v.Get(p)
	}
	return !v.IsUndefined() && !v.IsNull()
}

// stamp is a moment that JavaScript tells in ms.
func stamp(ms js.Value) time.Duration { return time.Duration(ms.Float() * float64(time.Millisecond)) }

// Listen begins to tell l what happens on the page and on c.
func Listen(l Listener, c *Canvas) {
	look := func() {
		if c.restyled() {
			l.Surface()
		}
	}
	meant := false
	on(window, "keydown", func(e js.Value) {
		if e.Get("ctrlKey").Bool() || e.Get("altKey").Bool() || e.Get("metaKey").Bool() || e.Get("isComposing").Bool() {
			return
		}
		// A press that takes long is one press: the second one of a button may delete.
		if e.Get("repeat").Bool() && e.Get("key").String() == "Enter" && has(e.Get("target"), "closest") && !e.Get("target").Call("closest", "button").IsNull() {
			e.Call("preventDefault")
			return
		}
		if elsewhere(e) {
			meant = false
			return
		}
		// A key that is held down goes on moving what hangs on an easel, and nothing else.
		if e.Get("repeat").Bool() && !document.Call("getElementById", "easel").Truthy() {
			if meant {
				e.Call("preventDefault")
			}
			return
		}
		look()
		meant = l.Key(meaning(e.Get("code").String(), e.Get("key")), stamp(e.Get("timeStamp")))
		if meant {
			e.Call("preventDefault")
		}
	})
	// A button that has the keyboard would take Space as a click when it goes up.
	on(window, "keyup", func(e js.Value) {
		if meant && e.Get("code").String() == "Space" {
			e.Call("preventDefault")
		}
	})
	on(c.element, "pointerdown", func(e js.Value) {
		if !e.Get("isPrimary").Bool() || e.Get("button").Int() != 0 {
			return
		}
		look()
		r := c.element.Call("getBoundingClientRect")
		w, h := r.Get("width").Float(), r.Get("height").Float()
		if w <= 0 || h <= 0 {
			return
		}
		x := (e.Get("clientX").Float() - r.Get("left").Float()) * c.element.Get("width").Float() / w
		y := (e.Get("clientY").Float() - r.Get("top").Float()) * c.element.Get("height").Float() / h
		l.Pointer(int(x), int(y), stamp(e.Get("timeStamp")))
	})
	on(document, "click", func(e js.Value) {
		if !has(e.Get("target"), "closest") {
			return
		}
		b := e.Get("target").Call("closest", "[data-action]")
		if b.IsNull() {
			return
		}
		id := ""
		if v := b.Get("dataset").Get("id"); v.Type() == js.TypeString {
			id = v.String()
		}
		look()
		l.Action(b.Get("dataset").Get("action").String(), id)
	})
	on(document, "submit", func(e js.Value) { e.Call("preventDefault") })
	on(document, "input", func(e js.Value) {
		f := e.Get("target")
		kind, name := f.Get("type"), f.Get("name")
		if name.Type() != js.TypeString || name.String() == "" || kind.Type() != js.TypeString {
			return
		}
		switch kind.String() {
		case "file":
			files := list(f.Get("files"))
			f.Set("value", "") // so that the same file may be chosen again
			l.take(name.String(), files)
		case "checkbox":
			if f.Get("checked").Bool() {
				l.Input(name.String(), "on")
			} else {
				l.Input(name.String(), "")
			}
		default:
			l.Input(name.String(), f.Get("value").String())
		}
	})
	on(document, "dragover", func(e js.Value) { e.Call("preventDefault") })
	on(document, "drop", func(e js.Value) {
		e.Call("preventDefault")
		if !has(e, "dataTransfer", "files") {
			return
		}
		l.take("", list(e.Get("dataTransfer").Get("files")))
	})
	on(document, "paste", func(e js.Value) {
		if picks() == "" || !has(e, "clipboardData", "files") || typing(e) {
			return
		}
		if files := list(e.Get("clipboardData").Get("files")); len(files) > 0 {
			e.Call("preventDefault")
			l.take("", files)
		}
	})
	on(document, "visibilitychange", func(js.Value) { l.Visible(document.Get("visibilityState").String() == "visible") })
	on(window, "blur", func(js.Value) { l.Focus(false) })
	on(window, "focus", func(js.Value) { l.Focus(true) })
	on(window, "pagehide", func(js.Value) { l.Leaving() })
	on(window, "online", func(js.Value) { l.Online() })
	on(window, "hashchange", func(js.Value) { l.Moved(strings.TrimPrefix(window.Get("location").Get("hash").String(), "#")) })
	c.watch(l.Surface)
}

// easelKeys is the place on the keyboard of the United States that stands for a character, of those that mean something to an easel and lie elsewhere on other keyboards.
var easelKeys = map[string]string{
	"+": "NumpadAdd", "=": "Equal", "-": "Minus", "0": "Digit0", "1": "Digit1", "[": "BracketLeft", "]": "BracketRight", ",": "Comma", ".": "Period",
}

// meaning is the key that went down, as an Easel's page knows it: beside one a letter, a figure or a sign that the keyboard at hand gives counts, and not where it lies.
// Where it gives none of these, as a Cyrillic one does, or without an easel, it is the place. The number pad's Enter and figures are as those of the other keys.
func meaning(code string, key js.Value) string {
	if code == "NumpadEnter" {
		return "Enter"
	}
	if n, ok := strings.CutPrefix(code, "Numpad"); ok && key.Type() == js.TypeString && key.String() == n {
		return "Digit" + n
	}
	if key.Type() != js.TypeString || !document.Call("getElementById", "easel").Truthy() {
		return code
	}
	text := key.String()
	if c, ok := easelKeys[text]; ok {
		return c
	}
	if len(text) == 1 {
		if c := text[0] &^ 0x20; c >= 'A' && c <= 'Z' {
			return "Key" + string(rune(c))
		}
	}
	return code
}

// elsewhere tells whether a key that went down belongs to what has the keyboard: it is typed into a field or moves a choice. Beside an easel the arrow keys scroll the page,
// unless the easel has the keyboard or nothing has.
func elsewhere(e js.Value) bool {
	t := e.Get("target")
	if t.Get("tagName").Type() != js.TypeString { // the window or the document
		return false
	}
	switch t.Get("tagName").String() {
	case "TEXTAREA", "SELECT":
		return true
	case "INPUT":
		switch t.Get("type").String() {
		case "button", "submit", "checkbox", "file":
		default:
			return true
		}
	}
	if t.Get("isContentEditable").Truthy() {
		return true
	}
	easel := document.Call("getElementById", "easel")
	if !easel.Truthy() || t.Equal(document.Get("body")) || easel.Call("contains", t).Bool() {
		return false
	}
	switch e.Get("code").String() {
	case "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown":
		return true
	}
	return false
}
