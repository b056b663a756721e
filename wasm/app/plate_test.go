package app

import (
	"bytes"
	"image"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/plates"
)

// address is what a page did with its address.
type address struct {
	at     []string
	copied string
	app    *App
	refuse bool
}

func (l *address) Copy(text string)  { l.copied = text; l.app.Copied(!l.refuse) }
func (l *address) Share(_, _ string) {}
func (l *address) Open(string)       {}
func (l *address) Whole()            {}
func (l *address) At(path, _ string) { l.at = append(l.at, path) }

// plated opens the page of patterns with a query, on a surface.
func plated(t *testing.T, query string, s Surface) (*host, *address) {
	h := newHost(t, nil)
	l := &address{}
	h.app = New(Host{Canvas: h, Page: h, Clock: clock{h}, Shelf: h, Desk: desk{h}, Locks: locks{h}, Links: l}, Browser{Page: "pattern", Origin: "http://plumb.test", Address: "http://plumb.test/check"}, "test", 7)
	l.app = h.app
	wishes := map[string]string{"?": query}
	h.app.Begin(s, wishes)
	h.stage(Plate)
	return h, l
}

// up waits until a pattern is on the canvas, and tells whether it is that one, byte for byte.
func (h *host) plateIs(query string) {
	h.t.Helper()
	h.until(query, func() bool { return h.body["plate"] == query })
	s, err := plates.Parse(query)
	if err != nil {
		h.t.Fatal(err)
	}
	if want := patterns.Render(s, h.frame.Rect.Dx(), h.frame.Rect.Dy()); !bytes.Equal(want.Pix, h.frame.Pix) {
		h.t.Fatalf("the canvas does not show %s", query)
	}
}

// wholeLight is the light of a frame, as a share of white's.
func wholeLight(f *image.RGBA) float64 {
	sum := 0.0
	for i := 0; i < len(f.Pix); i += 4 {
		sum += luminance(f.Pix, i)
	}
	return sum / float64(len(f.Pix)/4)
}

func TestPlateList(t *testing.T) {
	h, l := plated(t, "", surface())
	for _, n := range plates.Names() {
		s, _ := plates.Usual(n)
		if !strings.Contains(h.page["stage"], `data-action="show" data-id="`+n+`"`) || !strings.Contains(h.page["stage"], s.Plate().Look) {
			t.Errorf("%s is not on the list", n)
		}
	}
	h.click("show", "match")
	h.plateIs("pattern=match&plain=188&lit=1of2&lines=rows&dark=0&light=255&channel=all&ground=119&side=right&degree=47")
	if l.at[len(l.at)-1] != "/pattern?"+h.body["plate"] {
		t.Errorf("the address says %v", l.at)
	}
	h.click("leave", "")
	if h.body["plate"] != "" || h.body["over"] != "" || !h.offers("show") || l.at[len(l.at)-1] != "/pattern" || h.page["bar"] != "" {
		t.Errorf("it was not left: %q, %v", h.body, l.at)
	}
	if len(h.rows) > 0 || h.writes > 0 || len(h.pending) > 0 {
		t.Error("something was kept, or read")
	}
	if h.app.Key("ArrowUp", h.now) || h.app.Key("Escape", h.now) {
		t.Error("keys mean something on the list")
	}
	h.click("show", "no such")
	if !h.offers("show") {
		t.Error("a pattern that is not there was shown")
	}
}

func TestPlateLink(t *testing.T) {
	for query, want := range map[string]string{
		"?pattern=black&patch=3": "pattern=black&patch=3&cell=5&ground=0",
		"?pattern=white":         "pattern=white&patch=250&cell=5&ground=255",
	} {
		h, _ := plated(t, query, surface())
		h.plateIs(want)
	}
	for query, want := range map[string]string{
		"?pattern=snow":            `There is no pattern "snow"; there are black, white`,
		"?pattern=black&patch=99":  `Patch of black cannot be "99"; it takes 0 to 64.`,
		"?patch=3":                 "No pattern is named; the link needs pattern= and one of black",
		"?pattern=black&patch=<b>": `cannot be "<b>"`,
	} {
		h, _ := plated(t, query, surface())
		if !strings.Contains(h.page["stage"], want) || h.body["plate"] != "" || h.body["over"] != "" {
			t.Errorf("%s: %s", query, h.page["stage"])
		}
		h.advance(9 * time.Second)
		if len(h.frames) > 0 {
			t.Errorf("%s: something was painted", query)
		}
		h.click("leave", "")
		if !h.offers("show") {
			t.Errorf("%s: no way to the list", query)
		}
	}
}

func TestPlateKeys(t *testing.T) {
	h, l := plated(t, "?pattern=quarters", surface())
	h.plateIs("pattern=quarters&by=1&cell=1&base=96&ground=80")
	press := func(codes ...string) {
		t.Helper()
		for _, c := range codes {
			if !h.app.Key(c, h.now) {
				t.Fatalf("%s means nothing", c)
			}
			h.advance(600 * time.Millisecond)
		}
	}
	press("ArrowUp", "ArrowUp")
	h.plateIs("pattern=quarters&by=3&cell=1&base=96&ground=80")
	press("ArrowDown", "ArrowRight", "ArrowUp")
	h.plateIs("pattern=quarters&by=2&cell=2&base=96&ground=80")
	press("ArrowLeft", "ArrowLeft", "ArrowDown") // round to the last
	h.plateIs("pattern=quarters&by=2&cell=2&base=96&ground=72")
	press("Digit3", "ArrowUp", "Digit9", "ArrowUp") // there is no ninth
	h.plateIs("pattern=quarters&by=2&cell=2&base=112&ground=72")
	for _, c := range []string{"Enter", "Space", "Tab", "KeyX", "Digit0"} {
		if h.app.Key(c, h.now) {
			t.Errorf("%s means something, and buttons need it", c)
		}
	}
	press("KeyC")
	if l.copied != "http://plumb.test/pattern?pattern=quarters&by=2&cell=2&base=112&ground=72" || !strings.Contains(h.page["bar"], "The link is on the clipboard.") {
		t.Errorf("%q was copied: %s", l.copied, h.page["bar"])
	}
	l.refuse = true
	press("KeyC")
	if !strings.Contains(h.page["bar"], "The address of the page is the link.") || l.at[len(l.at)-1] != strings.TrimPrefix(l.copied, "http://plumb.test") {
		t.Errorf("%v: %s", l.at, h.page["bar"])
	}
	press("KeyF")
	if !h.full {
		t.Error("no full screen")
	}
	press("PageDown")
	h.plateIs("pattern=evenness&ground=128&place=none&by=8&red=0&blue=0&marks=off")
	press("PageUp")
	h.plateIs("pattern=quarters&by=1&cell=1&base=96&ground=80")
	press("Escape")
	if !h.offers("show") || h.body["plate"] != "" {
		t.Error("Escape does not leave")
	}
	h.click("show", "colour")
	h.plateIs("pattern=colour&red=128&green=128&blue=128")
	press("PageDown")
	h.plateIs("pattern=black&patch=8&cell=5&ground=0")
	// A finger has buttons.
	h.click("level", "1")
	h.click("raise", "")
	h.plateIs("pattern=black&patch=8&cell=6&ground=0")
	h.click("lower", "")
	h.plateIs("pattern=black&patch=8&cell=5&ground=0")
	h.click("other", "")
	h.click("other", "")
	h.click("other", "") // round to the same
	h.click("raise", "")
	h.plateIs("pattern=black&patch=8&cell=6&ground=0")
	h.click("lower", "")
	h.click("level", "99")
	h.click("level", "x")
	h.click("next", "")
	h.plateIs("pattern=white&patch=250&cell=5&ground=255")
	h.click("before", "")
	h.plateIs("pattern=black&patch=8&cell=5&ground=0")
}

// The line is there for a while after a key, stays away once it was put away, and comes back to a press on the canvas.
func TestPlateLine(t *testing.T) {
	h, l := plated(t, "?pattern=black", surface())
	line := func(want bool) {
		t.Helper()
		if has := strings.Contains(h.page["bar"], "Near black"); has != want {
			t.Fatalf("line up: %v", has)
		}
	}
	h.plateIs("pattern=black&patch=8&cell=5&ground=0")
	line(true)
	h.advance(lineTime)
	line(false)
	h.app.Key("ArrowUp", h.now)
	line(true)
	if !strings.Contains(h.page["bar"], ">9</b>") {
		t.Errorf("the line does not say the level: %s", h.page["bar"])
	}
	h.advance(lineTime - time.Second)
	h.app.Key("Tab", h.now) // somebody goes through its buttons
	h.advance(2 * time.Second)
	line(true)
	h.advance(lineTime)
	line(false)
	if l.at[len(l.at)-1] != "/pattern?pattern=black&patch=9&cell=5&ground=0" {
		t.Errorf("the address says %v", l.at)
	}
	h.app.Key("Tab", h.now)
	line(false)
	h.app.Key("KeyH", h.now)
	line(true)
	h.app.Key("KeyH", h.now)
	line(false)
	h.app.Key("ArrowUp", h.now)
	line(false)
	h.plateIs("pattern=black&patch=10&cell=5&ground=0")
	h.advance(lineTime)
	if l.at[len(l.at)-1] != "/pattern?pattern=black&patch=10&cell=5&ground=0" {
		t.Errorf("without the line the address says %v", l.at)
	}
	h.app.Key("PageDown", h.now)
	h.plateIs("pattern=white&patch=250&cell=5&ground=255")
	if h.page["bar"] != "" {
		t.Error("the line is back with another pattern")
	}
	h.app.Key("PageUp", h.now)
	h.plateIs("pattern=black&patch=8&cell=5&ground=0")
	h.app.Pointer(9, 9, h.now)
	line(true)
	h.app.Pointer(9, 9, h.now)
	line(false)
	h.app.Key("KeyH", h.now)
	line(true)
}

// Where pixels are not the screen's own nothing is shown, in words; and what was asked for comes when that is put right.
func TestPlateIsRefused(t *testing.T) {
	small := surface()
	small.Width, small.BoxWidth, small.SheetWidth = 150, 150, 150
	pinched := surface()
	pinched.Pinch = 1.5
	faded := surface()
	faded.Blending = []string{"opacity 0.99"}
	for name, c := range map[string]struct {
		s    Surface
		want string
	}{
		"small": {small, "150 x 480 pixels leave no room; each side needs 160 at least."}, "pinched": {pinched, "pinching"}, "faded": {faded, "opacity 0.99"},
	} {
		h, _ := plated(t, "?pattern=black", c.s)
		h.advance(9 * time.Second)
		if !strings.Contains(h.page["stage"], c.want) || h.body["over"] != "" || len(h.frames) > 0 || h.page["bar"] != "" {
			t.Fatalf("%s: %d frames, %s", name, len(h.frames), h.page["stage"])
		}
		if h.app.Key("ArrowUp", h.now) {
			t.Errorf("%s: keys move what is not there", name)
		}
		h.app.Surface(surface())
		h.plateIs("pattern=black&patch=8&cell=5&ground=0")
		h.app.Surface(c.s)
		if h.body["plate"] != "" || h.body["over"] != "" || !strings.Contains(h.page["stage"], c.want) {
			t.Errorf("%s: it stays: %s", name, h.page["stage"])
		}
		h.click("leave", "")
		if !h.offers("show") {
			t.Errorf("%s: no way to the list", name)
		}
	}
	// Another window is another frame of the same pattern.
	h, _ := plated(t, "?pattern=steps", surface())
	h.plateIs("pattern=steps&steps=17&from=0&to=255&direction=across")
	wide := surface()
	wide.Width, wide.BoxWidth, wide.SheetWidth = 800, 800, 800
	h.app.Surface(wide)
	h.plateIs("pattern=steps&steps=17&from=0&to=255&direction=across")
	if h.frame.Rect.Dx() != 800 {
		t.Errorf("the frame is %v", h.frame.Rect)
	}
}

// watched is a canvas that notes the light of every frame and when it came.
type watched struct {
	*host
	seen []lit
}

type lit struct {
	at    time.Duration
	light float64
	grey  bool
}

func (w *watched) Show(f *image.RGBA, wide bool) {
	w.host.Show(f, wide)
	w.seen = append(w.seen, lit{w.now, wholeLight(f), w.frames[len(w.frames)-1].plain})
}

// However keys are hammered, the window as a whole changes by a tenth of white's light at most from frame to frame, and what can be seen to change does so
// twice a second at most.
func TestPlatesDoNotFlash(t *testing.T) {
	small := surface()
	small.Width, small.Height, small.BoxWidth, small.BoxHeight, small.SheetWidth, small.SheetHeight = 240, 180, 240, 180, 240, 180
	h := newHost(t, nil)
	w := &watched{host: h}
	h.app = New(Host{Canvas: w, Page: h, Clock: clock{h}, Shelf: h, Desk: desk{h}, Locks: locks{h}}, Browser{Page: "pattern"}, "test", 7)
	h.app.Begin(small, map[string]string{"?": ""})
	n := 0
	for _, name := range plates.Names() {
		h.click("show", name)
		h.until(name, func() bool { return h.body["plate"] != "" })
		s, _ := plates.Usual(name)
		for i := range s.Levels() {
			h.click("level", string(rune('0'+i)))
			for k := range 24 { // back and forth as fast as a hand can
				h.app.Key([]string{"ArrowUp", "ArrowDown"}[k/3%2], h.now)
				h.advance(70 * time.Millisecond)
				n++
			}
		}
		h.app.Key("Escape", h.now)
		w.seen = append(w.seen, lit{h.now, math.NaN(), true}) // the page covers what follows
	}
	worst, at := 0.0, time.Duration(-1)
	for i := 1; i < len(w.seen); i++ {
		a, b := w.seen[i-1], w.seen[i]
		d := math.Abs(a.light - b.light)
		if math.IsNaN(d) {
			at = -1
			continue
		}
		worst = max(worst, d)
		if d >= hastyWhole {
			if at >= 0 && b.at-at < 400*time.Millisecond {
				t.Errorf("the window changes by %.3f at %v, %v after it changed last", d, b.at, b.at-at)
			}
			at = b.at
		}
	}
	t.Logf("%d presses, %d frames, at most %.4f of white's light", n, len(w.seen), worst)
	if worst > 0.1 || worst < 0.03 || len(w.seen) < 400 {
		t.Errorf("%d frames, and the whole window changes by %.3f", len(w.seen), worst)
	}
}
