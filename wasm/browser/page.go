//go:build js

package browser

import "syscall/js"

// A Page is the document around the canvas.
type Page struct{}

// Set sets data-name of the body.
func (Page) Set(name, value string) { document.Get("body").Get("dataset").Set(name, value) }

// Fill replaces what is inside the element with the given id. The keyboard stays with the button or field that had it, if that is there again;
// else it goes to what carries data-focus.
func (Page) Fill(id, html string) {
	e := document.Call("getElementById", id)
	if !e.Truthy() {
		return
	}
	had := held(e)
	e.Set("innerHTML", html)
	if had != "" {
		if again := e.Call("querySelector", had); again.Truthy() {
			again.Call("focus", map[string]any{"preventScroll": true})
			return
		}
	}
	if f := e.Call("querySelector", "[data-focus]"); f.Truthy() {
		f.Call("focus", map[string]any{"preventScroll": true})
		window.Call("scrollTo", 0, 0)
	}
}

// held is a selector for what has the keyboard inside e, or empty.
func held(e js.Value) string {
	a := document.Get("activeElement")
	if !a.Truthy() || !e.Call("contains", a).Bool() {
		return ""
	}
	quote := func(v js.Value) string { return "\"" + global.Get("CSS").Call("escape", v).String() + "\"" }
	if v := a.Get("dataset").Get("action"); v.Type() == js.TypeString {
		s := "[data-action=" + quote(v) + "]"
		if id := a.Get("dataset").Get("id"); id.Type() == js.TypeString {
			s += "[data-id=" + quote(id) + "]"
		}
		return s
	}
	if v := a.Get("name"); v.Type() == js.TypeString && v.String() != "" {
		s := "[name=" + quote(v) + "]"
		if a.Get("type").String() == "radio" {
			s += ":checked"
		}
		return s
	}
	return ""
}

// Amiss gives the keyboard to the form field of that name and marks it, and no other. An empty name takes the mark away.
func (Page) Amiss(field string) {
	marked := document.Call("querySelectorAll", "[aria-invalid]")
	for i := range marked.Length() {
		marked.Index(i).Call("removeAttribute", "aria-invalid")
	}
	if field == "" {
		return
	}
	if f := document.Call("querySelector", "[name=\""+field+"\"]"); f.Truthy() {
		f.Call("setAttribute", "aria-invalid", "true")
		f.Call("focus")
	}
}

// Say tells a screen reader.
func (Page) Say(text string) {
	if e := document.Call("getElementById", "live"); e.Truthy() {
		e.Set("textContent", text)
	}
}

// Wishes are the parameters of the page's address, the first of each name, and its fragment with the # before it.
func Wishes() map[string]string {
	wishes := map[string]string{}
	query := global.Get("URLSearchParams").New(window.Get("location").Get("search"))
	f := js.FuncOf(func(_ js.Value, args []js.Value) any {
		if _, ok := wishes[args[1].String()]; !ok {
			wishes[args[1].String()] = args[0].String()
		}
		return nil
	})
	defer f.Release()
	query.Call("forEach", f)
	if h := window.Get("location").Get("hash").String(); len(h) > 1 {
		wishes[h] = ""
	}
	return wishes
}

// Data is data-name of the element with the given id; empty where there is none.
func Data(id, name string) string {
	e := document.Call("getElementById", id)
	if !e.Truthy() {
		return ""
	}
	if v := e.Get("dataset").Get(name); v.Type() == js.TypeString {
		return v.String()
	}
	return ""
}

// Seed is 53 random bits.
func Seed() uint64 {
	words := global.Get("Uint32Array").New(2)
	global.Get("crypto").Call("getRandomValues", words)
	return (uint64(words.Index(0).Float())<<32 | uint64(words.Index(1).Float())) >> 11
}
