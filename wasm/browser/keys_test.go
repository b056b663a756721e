//go:build js

package browser

import (
	"slices"
	"strings"
	"syscall/js"
	"testing"
)

// What is typed into a field stays there and means nothing else; what is typed beside it is told.
func TestTyping(t *testing.T) {
	h := listen(t)
	const text = "hnds01-+ "
	for _, tag := range []string{"textarea", "input"} {
		f := document.Call("createElement", tag)
		f.Set("name", "note-text")
		document.Get("body").Call("append", f)
		*h = heard{}
		f.Call("focus")
		ask(t, map[string]any{"what": "type", "text": text})
		until(t, "it is typed", func() bool { return len(f.Get("value").String()) >= len(text) })
		if got := f.Get("value").String(); got != text || len(h.keys) > 0 {
			t.Errorf("%s: %q, told %v", tag, got, h.keys)
		}
		f.Call("blur")
		ask(t, map[string]any{"what": "type", "text": "hn"})
		until(t, "it is told", func() bool { return len(h.keys) >= 2 })
		if got := f.Get("value").String(); got != text || !slices.Equal(h.keys, []string{"KeyH", "KeyN"}) {
			t.Errorf("beside %s: %q, told %v", tag, got, h.keys)
		}
		f.Call("remove")
	}
}

// The number pad means what the other keys with the same words on them mean; without its lock its figures are arrows, and mean nothing.
func TestNumberPad(t *testing.T) {
	h := listen(t)
	for _, c := range []struct{ code, key, want string }{
		{"NumpadEnter", "Enter", "Enter"}, {"Numpad7", "7", "Digit7"}, {"Numpad0", "0", "Digit0"}, {"Numpad7", "Home", "Numpad7"}, {"NumpadAdd", "+", "NumpadAdd"}, {"Digit7", "7", "Digit7"},
	} {
		*h = heard{}
		document.Get("body").Call("dispatchEvent", global.Get("KeyboardEvent").New("keydown", map[string]any{"code": c.code, "key": c.key, "bubbles": true, "cancelable": true}))
		if !slices.Equal(h.keys, []string{c.want}) {
			t.Errorf("%s with %q is told as %v, not %s", c.code, c.key, h.keys, c.want)
		}
	}
}

// Beside an easel the arrow keys belong to what has the keyboard; on it, and where nothing has it, they are told, also again and again.
func TestEaselKeys(t *testing.T) {
	h := listen(t)
	press := func(at js.Value, code string, repeat bool) (left bool) {
		return at.Call("dispatchEvent", global.Get("KeyboardEvent").New("keydown", map[string]any{"code": code, "repeat": repeat, "bubbles": true, "cancelable": true})).Bool()
	}
	body := document.Get("body")
	easel, link := child(body, "div", ""), child(body, "button", "")
	defer easel.Call("remove")
	defer link.Call("remove")
	for _, there := range []bool{false, true} {
		if there {
			easel.Set("id", "easel")
		}
		*h = heard{}
		for _, at := range []js.Value{body, easel, link} {
			press(at, "ArrowLeft", false)
			press(at, "ArrowLeft", true)
			press(at, "KeyH", false)
		}
		told := strings.ReplaceAll(strings.Join(h.keys, " "), "ArrowLeft", "left")
		want := "left KeyH left KeyH left KeyH"
		if there {
			want = "left left KeyH left left KeyH KeyH"
		}
		if told != want {
			t.Errorf("easel %v: told %s, want %s", there, told, want)
		}
	}
	if press(easel, "ArrowLeft", false) || !press(link, "ArrowLeft", false) {
		t.Error("a key that is told scrolls, or one that is not does not")
	}
}

// Beside an easel the character that a keyboard gives counts; where that says nothing, and without an easel, the place of the key.
func TestEaselCharacters(t *testing.T) {
	page(t)
	for _, there := range []bool{false, true} {
		if there {
			easel := child(document.Get("body"), "div", "")
			defer easel.Call("remove")
			easel.Set("id", "easel")
		}
		for _, k := range [][3]string{
			{"BracketRight", "+", "NumpadAdd"}, {"Slash", "-", "Minus"}, {"KeyY", "z", "KeyZ"}, {"KeyO", "S", "KeyS"}, {"Digit5", "[", "BracketLeft"},
			{"KeyH", "р", "KeyH"}, {"Digit1", "&", "Digit1"}, {"ArrowLeft", "ArrowLeft", "ArrowLeft"},
		} {
			want := k[0]
			if there {
				want = k[2]
			}
			if got := meaning(k[0], js.ValueOf(k[1])); got != want {
				t.Errorf("easel %v: %q at %s is %s, want %s", there, k[1], k[0], got, want)
			}
		}
	}
}
