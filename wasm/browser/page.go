//go:build js

package browser

import "syscall/js"

// A Page is the document around the canvas.
type Page struct{}

// Set sets data-name of the body.
func (Page) Set(name, value string) { document.Get("body").Get("dataset").Set(name, value) }

// Fill replaces what is inside the element with the given id. The keyboard stays with the button, field or other part of the page that had it, if that is there again;
// else it goes to what carries data-focus. Where nothing does, it stays in that part of the page, and is not lost.
func (Page) Fill(id, html string) {
	e := document.Call("getElementById", id)
	if !e.Truthy() {
		return
	}
	had, label, inside := held(e)
	seen := inside && inSight(document.Get("activeElement"))
	e.Set("innerHTML", html)
	if had != "" {
		if again := e.Call("querySelector", had); focused(again, false) {
			if seen && !inSight(again) {
				again.Call("scrollIntoView", map[string]any{"block": "nearest"})
			}
			return
		}
	}
	if f := e.Call("querySelector", "[data-focus]"); focused(f, false) {
		window.Call("scrollTo", 0, 0)
		return
	}
	if inside {
		settle(e, label)
	}
}

// focused gives the keyboard to v and tells whether v has it now. A button that is disabled takes none.
func focused(v js.Value, scroll bool) bool {
	if !v.Truthy() {
		return false
	}
	v.Call("focus", map[string]any{"preventScroll": !scroll})
	return document.Get("activeElement").Equal(v)
}

// inSight tells whether some of an element is in the window.
func inSight(v js.Value) bool {
	r := v.Call("getBoundingClientRect")
	return r.Get("bottom").Float() > 0 && r.Get("top").Float() < window.Get("innerHeight").Float()
}

// settle gives the keyboard to the heading with the id label if there is one, else to e, or to the nearest around it that is not empty: to its heading or to what in it takes keys, if
// there is any. Nothing happens where e is no part of the page and empty.
func settle(e js.Value, label string) {
	if label != "" {
		if h := document.Call("getElementById", label); h.Truthy() {
			h.Set("tabIndex", -1)
			if focused(h, true) {
				return
			}
		}
	}
	for n := e; n.Truthy(); n = n.Get("parentElement") {
		if n.Get("childElementCount").Int() > 0 {
			f := n.Call("querySelector", "h1, h2, h3, [tabindex=\"0\"]")
			if !f.Truthy() {
				f = n
			}
			if !f.Call("hasAttribute", "tabindex").Bool() {
				f.Set("tabIndex", -1)
			}
			focused(f, true)
			return
		}
		if !n.Call("closest", "#stage").Truthy() || n.Get("id").String() == "stage" {
			return
		}
	}
}

// held tells whether something inside e has the keyboard, with a selector for it and the id of the heading of its section; both are empty where there is none.
func held(e js.Value) (selector, label string, inside bool) {
	a := document.Get("activeElement")
	if !a.Truthy() || a.Equal(e) || !e.Call("contains", a).Bool() {
		return "", "", false
	}
	if s := a.Call("closest", "[aria-labelledby]"); s.Truthy() && e.Call("contains", s).Bool() {
		label = s.Call("getAttribute", "aria-labelledby").String()
	}
	quote := func(v js.Value) string { return "\"" + global.Get("CSS").Call("escape", v).String() + "\"" }
	if v := a.Get("dataset").Get("action"); v.Type() == js.TypeString {
		s := "[data-action=" + quote(v) + "]"
		if id := a.Get("dataset").Get("id"); id.Type() == js.TypeString {
			s += "[data-id=" + quote(id) + "]"
		}
		return s, label, true
	}
	if v := a.Get("name"); v.Type() == js.TypeString && v.String() != "" {
		s := "[name=" + quote(v) + "]"
		if a.Get("type").String() == "radio" {
			s += ":checked"
		}
		return s, label, true
	}
	if id := a.Get("id").String(); id != "" && a.Get("tabIndex").Int() >= 0 {
		return "#" + global.Get("CSS").Call("escape", id).String(), label, true
	}
	return "", label, true
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
