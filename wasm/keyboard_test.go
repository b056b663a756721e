//go:build !js

package main_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"example.org/plumb/testdata"
	"example.org/plumb/web/picture/picturetest"
)

// A typist uses a page by keys alone. Wherever the keyboard comes to, it has to show, and what changes the page must not lose it.
type typist struct{ *window }

// The modifiers of input.DispatchKeyEvent.
const (
	ctrl  = 2
	shift = 8
)

// stroke presses and lets go of a key: its KeyboardEvent.code and key, what it writes, Windows' virtual key code, and the modifiers that are held.
func (p typist) stroke(code, key, text string, virtual, held int64, commands ...string) {
	p.t.Helper()
	down := input.DispatchKeyEventTypeRawKeyDown
	if text != "" {
		down = input.DispatchKeyEventTypeKeyDown
	}
	for _, kind := range []input.DispatchKeyEventType{down, input.DispatchKeyEventTypeKeyUp} {
		_, err := chromedp.Call(p.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: kind, Code: code, Key: key, Text: text, WindowsVirtualKeyCode: virtual, Modifiers: held, Commands: commands})
		p.check(err)
		text, commands = "", nil
	}
}

// tab moves the keyboard on, or back.
func (p typist) tab(back bool) {
	p.t.Helper()
	if back {
		p.stroke("Tab", "Tab", "", 9, shift)
	} else {
		p.stroke("Tab", "Tab", "", 9, 0)
	}
}

// space is a press of Space on what has the keyboard.
func (p typist) space() { p.t.Helper(); p.stroke("Space", " ", " ", 32, 0) }

// types writes over what a field holds.
func (p typist) types(text string) {
	p.t.Helper()
	p.stroke("KeyA", "a", "", 65, ctrl, "selectAll")
	for _, r := range text {
		p.stroke("", string(r), string(r), 0, 0)
	}
	if got := eval[string](p.window, "document.activeElement.value"); got != text {
		p.t.Fatalf("the field says %q after %q was typed\nthe page says: %s", got, text, p.words())
	}
}

// shows is a JavaScript expression: what is wrong with how the page shows where the keyboard is, or nothing. A heading that is read after a change of the page cannot be pressed and needs no frame.
const shows = `(() => {
	const e = document.activeElement, name = () => e.outerHTML.slice(0, 200);
	if (!e || e === document.body || e === document.documentElement) return "nothing has the keyboard";
	if (e.tabIndex < 0) return "";
	const s = getComputedStyle(e), r = e.getBoundingClientRect();
	if (s.outlineStyle === "none" || parseFloat(s.outlineWidth) < 2 || /^rgba.* 0\)$/.test(s.outlineColor)) return name() + " has the keyboard and does not show it: " + s.outline;
	// Some of it is in the window, with nothing over it.
	const left = Math.max(r.left, 0), right = Math.min(r.right, innerWidth), top = Math.max(r.top, 0), bottom = Math.min(r.bottom, innerHeight);
	for (let i = 1; i < 8; i++) for (let k = 1; k < 8; k++) {
		const x = left + (right - left) * i / 8, y = top + (bottom - top) * k / 8, hit = document.elementFromPoint(x, y);
		if (hit && (e.contains(hit) || hit.contains(e) || hit.closest("label")?.contains(e))) return "";
	}
	return name() + " has the keyboard and cannot be seen: " + [r.left, r.top, r.right, r.bottom].map(Math.round);
})()`

// held checks that something has the keyboard and shows it.
func (p typist) held(after string) {
	p.t.Helper()
	if wrong := eval[string](p.window, shows); wrong != "" {
		p.t.Errorf("%s: %s", after, wrong)
	}
}

// to moves the keyboard on until it is on an element, and looks at every place on the way.
func (p typist) to(selector string) { p.t.Helper(); p.walk(selector, false) }

// back moves it back.
func (p typist) back(selector string) { p.t.Helper(); p.walk(selector, true) }

func (p typist) walk(selector string, back bool) {
	p.t.Helper()
	seen := map[string]int{}
	var trail []string
	for range 250 {
		p.tab(back)
		at := eval[struct {
			There       bool
			Name, Wrong string
		}](p.window, fmt.Sprintf(`(() => {
			const e = document.activeElement, path = [];
			if (!e) return {name: "a page that is being loaded " + performance.now()};
			for (let n = e; n?.parentElement; n = n.parentElement) path.push([...n.parentElement.children].indexOf(n));
			return {there: e.matches(%q), name: path.join(" ") + " " + e.outerHTML.slice(0, 160), wrong: e === document.body ? "" : %s};
		})()`, selector, shows))
		if at.Wrong != "" {
			p.t.Errorf("on the way to %s: %s", selector, at.Wrong)
		}
		if at.There {
			return
		}
		if n := len(trail); n > 0 && at.Name == trail[n-1] {
			p.t.Fatalf("Tab does not leave %s\nthe page says: %s", at.Name, p.words())
		}
		trail = append(trail, at.Name)
		if seen[at.Name]++; seen[at.Name] > 2 {
			p.t.Fatalf("the keyboard goes round and never comes to %s, by way of\n%s\nthe page says: %s", selector, strings.Join(trail, "\n"), p.words())
		}
	}
	p.t.Fatalf("the keyboard does not come to %s\nthe page says: %s", selector, p.words())
}

// round goes through everything on the page that takes the keyboard until it is where it began, and checks that this is all that can be pressed or filled in. Between the last
// and the first the keyboard is with the browser, which may take more than one press.
func (p typist) round(what string) {
	p.t.Helper()
	p.run("globalThis.reached = new Set()")
	for n, around := 0, false; !around; n++ {
		if n > 300 {
			p.t.Fatalf("%s: the keyboard does not come round", what)
		}
		p.tab(false)
		at := eval[struct {
			Around bool
			Wrong  string
		}](p.window, `(() => {
			const e = document.activeElement, again = reached.has(e);
			if (e === document.body) return {around: false, wrong: ""};
			reached.add(e);
			return {around: again && e === reached.values().next().value && reached.size > 1, wrong: again ? "" : `+shows+`};
		})()`)
		if at.Wrong != "" {
			p.t.Errorf("%s: %s", what, at.Wrong)
		}
		around = at.Around
	}
	for _, e := range eval[[]string](p.window, `[...document.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex='0']")].filter(e => {
		if (reached.has(e) || e.disabled || e.tabIndex < 0 || !e.checkVisibility({visibilityProperty: true})) return false;
		return e.type !== "radio" || ![...reached].some(r => r.type === "radio" && r.name === e.name);
	}).map(e => e.outerHTML.slice(0, 160))`) {
		p.t.Errorf("%s: the keyboard does not come to %s", what, e)
	}
}

func button(action string) string { return fmt.Sprintf("[data-action=%q]", action) }

// enters goes to what carries a data-action and presses Enter.
func (p typist) enters(action string) { p.t.Helper(); p.to(button(action)); p.key("Enter") }

// puts goes to a field and writes into it.
func (p typist) puts(name, text string) {
	p.t.Helper()
	p.to(fmt.Sprintf("[name=%q]", name))
	p.types(text)
}

// turns goes to each of some switches, and turns it and turns it back; the keyboard stays there.
func (p typist) turns(selectors ...string) {
	p.t.Helper()
	for _, s := range selectors {
		p.to(s)
		is := func() string {
			return eval[string](p.window, "document.activeElement.getAttribute('aria-pressed') ?? ''")
		}
		was := is()
		for _, want := range []string{map[string]string{"true": "false", "false": "true"}[was], was} {
			p.key("Enter")
			p.eventually("the switch "+s+" is turned", func() bool { return is() == want && want != "" })
			p.held(s + " is turned")
		}
	}
}

// picks goes to a group of choices and moves in it by arrow keys until the one of that value is chosen.
func (p typist) picks(name, value string) {
	p.t.Helper()
	p.to(fmt.Sprintf("[name=%q]", name))
	for range 12 {
		if eval[bool](p.window, fmt.Sprintf("document.activeElement.matches('[name=%q][value=%q]:checked')", name, value)) {
			p.held("choosing " + value)
			return
		}
		p.stroke("ArrowDown", "ArrowDown", "", 40, 0)
	}
	p.t.Fatalf("the arrow keys do not come to %s of %s\nthe page says: %s", value, name, p.words())
}

// onHeading checks that after a change of the page the keyboard is on its heading.
func (p typist) onHeading(text string) {
	p.t.Helper()
	p.eventually("the heading "+text, func() bool { return strings.Contains(p.text("h1"), text) })
	p.eventually("the keyboard is on the heading", func() bool { return eval[string](p.window, "document.activeElement.tagName") == "H1" })
}

// copies is what the field that has the keyboard gives to who selects all of it.
func (p typist) copies() string {
	p.t.Helper()
	p.stroke("KeyA", "a", "", 65, ctrl, "selectAll")
	return eval[string](p.window, "(f => f.value.slice(f.selectionStart, f.selectionEnd))(document.activeElement)")
}

// chars is a press of a key that writes c.
func (p typist) chars(c string) { p.t.Helper(); p.stroke("", c, c, 0, 0) }

// holds presses Enter and lets it go late, so that it comes again and again.
func (p typist) holds() {
	p.t.Helper()
	for i := range 5 {
		kind := input.DispatchKeyEventTypeKeyDown
		if i == 4 {
			kind = input.DispatchKeyEventTypeKeyUp
		}
		_, err := chromedp.Call(p.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: kind, Code: "Enter", Key: "Enter", Text: map[bool]string{true: "\r"}[i < 4], WindowsVirtualKeyCode: 13, AutoRepeat: new(i > 0 && i < 4)})
		p.check(err)
	}
}

// gives goes to the one field for files and lets it have some; the dialogue of the system that Enter opens there is not part of the page.
func (p typist) gives(field string, files ...string) {
	p.t.Helper()
	p.to("input[type=file][name=" + field + "]")
	p.do(chromedp.SetUploadFiles(chromedp.CSS("input[name="+field+"]"), files))
}

// answers goes from the preparation through n presentations and stops there, at the stage that follows.
func (p typist) answers(n int, then string) {
	p.t.Helper()
	p.enters("continue")
	p.wait(`n.over === "field"`)
	p.held("the look at fine lines")
	p.enters("continue")
	p.in("intro")
	quick := &viewer{}
	for quick.asked < n {
		s := p.wait(fmt.Sprintf(`n.mark ? JSON.parse(n.mark).seq !== %d : n.stage === "intro"`, quick.seq))
		if s.Mark != "" {
			quick.look(p.window, s)
			continue
		}
		p.held("an introduction")
		p.enters("continue")
		p.wait(`n.stage !== "intro"`)
	}
	if p.wait(`n.mark !== "" || n.stage === "intro"`).Stage == "sitting" {
		p.key("Escape")
		p.in("paused")
	}
	p.held("a pause")
	p.enters("stop")
	p.in(then)
	if e := eval[string](p.window, "document.activeElement.tagName"); !strings.HasPrefix(e, "H") {
		p.t.Errorf("after a sitting the keyboard is on %s and not on a heading", e)
	}
}

// A check is asked for, done, sent and read by keys alone.
func TestKeyboardAsk(t *testing.T) {
	t.Parallel()
	p := typist{open(t, room{width: 1280, height: 800})}
	p.do(chromedp.Navigate(site + "/"))
	p.to(`nav a[href="/ask"]`)
	p.key("Enter")
	p.in("ask")
	p.onHeading("Ask for a check")
	p.enters("make")
	p.saying("#start", "Say what it is for")
	p.eventually("the field that is empty has the keyboard", func() bool { return eval[string](p.window, "document.activeElement.name") == "title" })
	p.held("what is missing")
	p.types("Orchard catalogue, spread 4")
	p.puts("from", "Tomas")
	p.puts("note", "Before we talk about the shadows in the barn.")
	p.picks("length", "short")
	p.picks("way", "alone")
	p.back("[name=length]")
	p.to("[name=way]")
	p.stroke("ArrowUp", "ArrowUp", "", 38, 0)
	p.held("choosing how it travels")
	p.enters("make")
	p.in("made")
	p.onHeading("The link is ready")
	p.to("[data-link]")
	link := p.copies()
	if !strings.HasPrefix(link, site+"/r#1.") {
		t.Fatalf("the link is %q", link)
	}
	p.enters("copy")
	p.saying("#message", "link")
	p.held("after copying")
	p.enters("owner-link")
	p.held("the owner's link is shown")
	p.enters("owner-link")
	p.held("the owner's link is hidden")
	p.enters("desk")
	p.in("desk")
	p.onHeading("My desk")

	other := typist{open(t, room{width: 1280, height: 800})}
	other.do(chromedp.Navigate(link))
	other.in("asked")
	other.onHeading("Tomas asks you")
	other.enters("begin")
	other.in("prepare")
	other.held("the preparation")
	other.puts("screen", "kitchen laptop")
	other.puts("viewer", "Ines")
	other.answers(10, "report")
	other.enters("sending")
	other.saying("#sending", "Send this report")
	other.held("the choice to send it")
	other.picks("whole", "yes")
	other.enters("send")
	other.saying("#sending", "Delivered")
	other.held("it is sent")

	p.saying("#requests", "Kitchen laptop")
	p.held("an answer came")
	p.enters("link")
	p.held("the link is shown")
	p.enters("link")
	p.held("the link is hidden")
	p.enters("read")
	p.in("report")
	p.held("the report of an answer")
	p.enters("desk")
	p.in("desk")
	p.onHeading("My desk")
	p.to("[data-action=delete]")
	p.holds()
	p.saying("#requests", "for good")
	p.held("deleting is to be confirmed")
	p.enters("delete")
	p.saying("#requests", "Nothing was asked")
	p.held("it is deleted")
}

// A picture is sent, looked at, noted on, decided on twice, read on the desk and its record checked, by keys alone.
func TestKeyboardProof(t *testing.T) {
	t.Parallel()
	plain, err := fs.ReadFile(testdata.Photos, "photos/dusk.jpg")
	if err != nil {
		t.Fatal(err)
	}
	var versions [2]string
	for i, b := range [][]byte{plain, picturetest.Embed(plain, nil, 3)} {
		versions[i] = filepath.Join(t.TempDir(), "dusk.jpg")
		if err := os.WriteFile(versions[i], b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	p := typist{open(t, room{width: 1280, height: 800})}
	p.do(chromedp.Navigate(site + "/proof"))
	p.in("proof")
	p.onHeading("Send a proof")
	taken := func(n int) {
		t.Helper()
		p.eventually("the picture is taken", func() bool {
			return eval[int](p.window, `document.querySelectorAll("#pictures ol.plates > li").length - 1e6 * document.querySelectorAll("#pictures progress").length`) == n
		})
		p.held("a picture is taken")
	}
	p.gives("pictures", versions[0])
	taken(1)
	p.enters("remove")
	p.saying("#pictures", "No picture yet")
	p.held("the picture is taken out")
	p.gives("pictures", versions[0])
	taken(1)
	p.puts("title", "Orchard at dusk")
	p.puts("from", "Tomas")
	p.puts("note", "Please look at the shadows.")
	p.picks("needs", "light and shade")
	p.enters("make")
	p.in("made")
	p.saying("#stage h1", "The link is ready")
	p.held("the link")
	p.to("[data-link]")
	link := p.copies()
	p.enters("desk")
	p.in("desk")

	o := typist{open(t, room{width: 1280, height: 800})}
	scale := func() string { return o.text("#tools .scalenow") }
	notes := func() int { return eval[int](o.window, `document.querySelectorAll("#notes .notes > li").length`) }
	look := func(version int) {
		t.Helper()
		o.afresh(link)
		o.in("asked")
		o.onHeading("Tomas asks you")
		if version > 1 {
			o.saying("#stage", fmt.Sprintf("ersion %d", version))
			o.held("a version came")
		}
		o.enters("unchecked")
		o.in("view")
		o.onHeading("Orchard at dusk")
		o.hangs("dusk.jpg")
		o.held("the pictures")
	}
	look(1)
	o.to("#easel")
	whole := scale()
	for _, c := range []struct{ key, scale string }{{"1", "100 %"}, {"+", "141 %"}, {"+", "200 %"}, {"-", "141 %"}, {"0", whole}, {"1", "100 %"}, {"+", "141 %"}, {"+", "200 %"}, {"+", "283 %"}, {"+", "400 %"}} {
		o.chars(c.key)
		o.eventually("the size "+c.scale, func() bool { return scale() == c.scale })
	}
	place := func() string { return eval[string](o.window, `document.querySelector("#easel img").style.transform`) }
	for _, k := range []string{"ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp"} {
		was := place()
		o.key(k)
		o.eventually("the picture moves", func() bool { return place() != was })
	}
	o.held("the picture")
	o.chars("n")
	o.saying("#tools", "Press a point")
	o.key("Escape")
	o.eventually("no note is pinned", func() bool { return !strings.Contains(o.text("#tools"), "Press a point") })
	o.held("no note is pinned")
	for i, c := range []struct{ where, text string }{{"note-middle", "Is there still bark in here?"}, {"note-sight", "All of this is too blue."}} {
		o.chars("n")
		o.enters(c.where)
		o.eventually("the note has the keyboard", func() bool { return eval[string](o.window, "document.activeElement.name") == "note-text" })
		o.held("a note")
		o.types(c.text)
		o.enters("note-done")
		o.eventually("the note is pinned", func() bool { return notes() == i+1 })
		o.saying("#notes", c.text)
		if at := eval[string](o.window, "document.activeElement.id"); at != "easel" {
			t.Errorf("after a note the keyboard is on %q and not on the picture", at)
		}
		o.held("a note is pinned")
	}
	o.to("#easel .mark")
	o.key("Enter")
	o.eventually("the note is open again", func() bool {
		return eval[string](o.window, "document.activeElement.value ?? ''") == "Is there still bark in here?"
	})
	o.enters("note-done")
	o.held("the note is closed")
	o.to("[data-action=note-delete]")
	o.key("Enter")
	o.eventually("the note is deleted", func() bool { return notes() == 1 })
	o.held("the note is deleted")
	o.enters("approve")
	o.saying("#decide", "Yes, approve it")
	o.held("approving is to be confirmed")
	o.enters("covers-yes")
	o.saying("#decide .now", "Approved")
	o.held("it is approved")
	o.enters("changes")
	o.saying("#decide .now", "Changes asked")
	o.held("changes are asked")
	o.puts("name", "Ines")
	signs := func() {
		t.Helper()
		o.enters("sign")
		o.saying("#signing", "Sign and send")
		o.held("signing is to be confirmed")
		o.enters("sign-yes")
		o.saying("#signed", "Delivered")
		o.held("it is signed")
	}
	signs()

	p.saying("#requests", "Changes asked")
	p.held("the decision came")
	p.enters("seen")
	p.in("seen")
	p.onHeading("As Ines saw it")
	p.hangs("dusk.jpg")
	p.to("#easel")
	p.chars("1")
	p.eventually("it is as large as it is", func() bool { return p.text("#tools .scalenow") == "100 %" })
	p.enters("note-show")
	p.held("a note is shown")
	p.enters("round")
	p.in("proof")
	p.onHeading("Send a new version")
	p.gives("pictures", versions[1])
	taken(1)
	p.enters("make")
	p.in("made")
	p.saying("#stage h1", "Version 2 is there")
	p.held("the new version")

	look(2)
	for _, way := range []string{"beside", "swap", "divider"} {
		o.to(fmt.Sprintf("[data-action=way][data-id=%s]", way))
		o.key("Enter")
		o.eventually("the way "+way, func() bool {
			return eval[bool](o.window, fmt.Sprintf(`document.querySelector("[data-action=way][data-id=%s]").getAttribute("aria-pressed") === "true"`, way))
		})
		o.held("the way " + way)
		if way == "swap" {
			was := o.text("#tools .front")
			o.enters("swap")
			o.eventually("the other version", func() bool { return o.text("#tools .front") != was })
			o.held("the other version")
		}
	}
	o.to("[name=divider]")
	was := eval[string](o.window, "document.activeElement.value")
	o.key("ArrowRight")
	o.eventually("the divider moves", func() bool { return eval[string](o.window, "document.activeElement.value") != was })
	o.held("the divider")
	o.to("[data-action=way][data-id=one]")
	o.key("Enter")
	o.enters("approve")
	o.enters("covers-yes")
	o.saying("#decide .now", "Approved")
	signs()
	text := o.savedAs(func() { o.enters("save-record") }, "*.txt")
	if !bytes.Contains(text, []byte("Ines")) {
		t.Errorf("the record is %s", text)
	}

	file := filepath.Join(t.TempDir(), "record.txt")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Navigate(site + "/record"))
	p.in("record")
	p.onHeading("Check a record")
	p.gives("evidence", file, versions[1])
	p.saying("#signed", "Stands")
	p.held("the record")
	p.enters("remove")
	p.eventually("it is taken away", func() bool { return !strings.Contains(p.text("#files"), "record.txt") })
	p.held("the record is taken away")
}

// A profile and readings are laid down, the eye is asked, and the language is changed, by keys alone.
func TestKeyboardAfter(t *testing.T) {
	t.Parallel()
	p := typist{open(t, room{width: 1280, height: 800})}
	p.do(chromedp.Navigate(site + "/after"))
	p.in("after")
	p.onHeading("After calibrating")
	p.to("input[name=paper]")
	for kind, name := range map[string]string{"Profile": "studio-left.icc", "Readings": "studio-left.txt"} {
		at, err := filepath.Abs(filepath.Join("..", "testdata", "calibrated", name))
		p.check(err)
		p.do(chromedp.SetUploadFiles(chromedp.CSS("input[name=paper]"), []string{at}))
		p.saying("#papers", kind)
	}
	p.saying("#measured", "held against the profile")
	// What they say stands above the field, which keeps the keyboard further down.
	if name := eval[string](p.window, "document.activeElement.name"); name != "paper" {
		t.Errorf("after the files are read the keyboard is on %q", name)
	}
	p.puts("screen", "studio left")
	p.to(".whose summary")
	p.key("Enter")
	p.held("what they are held against")
	p.puts("luminance", "120")
	p.to("[data-action=remove]")
	p.back("[name=luminance]")
	p.enters("eye")
	p.in("prepare")
	p.held("the preparation")
	p.picks("twin", "yes")
	p.answers(6, "after")
	p.to("[data-action=remove]")
	p.key("Enter")
	p.eventually("a file is taken away", func() bool { return eval[int](p.window, `document.querySelectorAll("#papers li").length`) == 1 })
	p.held("a file is taken away")
	p.to("[data-language=de]")
	p.key("Enter")
	p.eventually("the page in German", func() bool { return eval[string](p.window, "document.documentElement?.lang ?? ''") == "de" })
	p.in("after")
	p.to("[data-language=en]")
	p.key("Enter")
	p.eventually("the page in English", func() bool { return eval[string](p.window, "document.documentElement?.lang ?? ''") == "en" })
}

// A screen of the journal is read, renamed and cleared, and patterns are gone through, by keys alone.
func TestKeyboardJournal(t *testing.T) {
	t.Parallel()
	rows, err := testdata.FS.ReadFile("shelf/3.json")
	if err != nil {
		t.Fatal(err)
	}
	p := typist{open(t, room{width: 1280, height: 800})}
	p.shelve(3, rows)
	p.do(chromedp.Navigate(site + "/journal"))
	p.in("journal")
	p.onHeading("Journal")
	p.to(`[data-action=chapter][aria-label*="tudio left"]`)
	p.key("Enter")
	p.onHeading("Studio left")
	p.picks("interval", "28")
	p.saying("#message", "4 weeks")
	p.held("how often it is looked at")
	p.to(".courses summary")
	p.key("Enter")
	p.to(".courses .scroll")
	p.puts("mode", "sRGB preset")
	p.enters("rename")
	p.saying("h1", "Studio left, sRGB preset")
	p.held("it is renamed")
	sittings := func() int { return eval[int](p.window, `document.querySelectorAll(".looks > li").length`) }
	n := sittings()
	p.to(".looks details:has([data-action=sitting-delete]) summary")
	p.space()
	p.enters("sitting-delete")
	p.saying(".looks", "Delete it for good")
	p.held("deleting is to be confirmed")
	p.enters("spare")
	p.held("it is spared")
	p.to(".looks details:has([data-action=sitting-delete]) summary")
	p.space()
	p.enters("sitting-delete")
	p.key("Enter")
	p.eventually("it is deleted", func() bool { return sittings() == n-1 })
	p.held("it is deleted")
	p.enters("overview")
	p.onHeading("Journal")

	p.do(chromedp.Navigate(site + "/pattern"))
	p.in("plate")
	p.onHeading("Patterns")
	p.to("[data-action=show][data-id=black]")
	p.key("Enter")
	shown := func(name string) {
		t.Helper()
		p.eventually("the pattern "+name, func() bool {
			return strings.HasPrefix(eval[string](p.window, `document.body.dataset.plate || ""`), "pattern="+name)
		})
	}
	query := func() string { return eval[string](p.window, "document.body.dataset.plate") }
	shown("black")
	was := query()
	p.key("ArrowUp")
	p.eventually("a level moves", func() bool { return query() != was })
	p.to("[data-action=raise]")
	was = query()
	p.key("Enter")
	p.eventually("a level moves by its button", func() bool { return query() != was })
	p.held("a level moved")
	p.to("[data-action=next]")
	p.space()
	p.eventually("the next pattern", func() bool { return !strings.HasPrefix(query(), "pattern=black") })
	p.back("[data-action=before]")
	p.key("Enter")
	shown("black")
	p.key("Escape")
	p.onHeading("Patterns")
	p.to("[data-action=show]")
}
