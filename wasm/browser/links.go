//go:build js

package browser

import (
	"strings"
	"syscall/js"

	"example.org/plumb/web/words"
)

// Links are how an address leaves the program, and how another one is gone to. Copied is told whether what was copied is on the clipboard.
type Links struct {
	Copied func(ok bool)
}

// Copy puts text on the clipboard.
func (l Links) Copy(text string) {
	if !has(global, "navigator", "clipboard", "writeText") {
		l.Copied(copySelected(text))
		return
	}
	then(global.Get("navigator").Get("clipboard").Call("writeText", text), func(js.Value) { l.Copied(true) }, func(js.Value) { l.Copied(copySelected(text)) })
}

// copySelected copies the way that also works without encryption: it selects the field that shows the text.
func copySelected(text string) (ok bool) {
	fields := document.Call("querySelectorAll", "[data-link]")
	for i := range fields.Length() {
		f := fields.Index(i)
		if f.Get("value").String() == text {
			try(func() {
				f.Call("select")
				ok = document.Call("execCommand", "copy").Truthy()
			})
		}
	}
	return ok
}

// Shares tells whether the browser has a share sheet.
func Shares() bool { return has(global, "navigator", "share") }

// Share opens the share sheet. What becomes of it is between the person and the system.
func (Links) Share(title, address string) {
	if Shares() {
		ignore := func(js.Value) {}
		try(func() {
			then(global.Get("navigator").Call("share", map[string]any{"title": title, "url": address}), ignore, ignore)
		})
	}
}

// Open goes to another address of this site, in the language of this page; an empty one loads this page anew.
func (Links) Open(address string) {
	if address == "" {
		window.Get("location").Call("reload")
		return
	}
	origin, _ := Origin()
	if path, ok := strings.CutPrefix(address, origin+"/"); ok {
		address = "/" + path
	}
	window.Get("location").Call("assign", words.Path(address))
}

// Whole loads this page anew with the whole program, now and from now on: what starts it looks for the mark.
func (Links) Whole() {
	try(func() { global.Get("localStorage").Call("setItem", "plumb whole", "yes") })
	window.Get("location").Call("reload")
}

// At says in the address what the page is now, without leaving it: the path, in the language of this page, takes the place of what stood there, and what was behind the # goes.
func (Links) At(path, title string) {
	path = words.Path(path)
	window.Get("history").Call("replaceState", js.Null(), "", path)
	document.Set("title", title+" · Plumb")
	places := document.Call("querySelectorAll", "header nav a")
	for i := range places.Length() {
		if p := places.Index(i); p.Call("getAttribute", "href").String() == path {
			p.Call("setAttribute", "aria-current", "page")
		} else {
			p.Call("removeAttribute", "aria-current")
		}
	}
}

// Origin is the origin of the site, and its host as a person names it.
func Origin() (origin, host string) {
	l := window.Get("location")
	return l.Get("origin").String(), l.Get("host").String()
}
