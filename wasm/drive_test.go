//go:build !js

// Package main_test runs the real program in a real browser, from outside: what is seen is a screenshot, what is done is a key, a click or a touch.
//
// A virtual viewer stands in for a person. What it knows of the page is the automation contract (DEVELOPERS.md), and what a person reads off its buttons.
package main_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"example.org/plumb/.ci/browse"
	"example.org/plumb/colour"
	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
)

// site is the address of the server under test, which the whole package shares; empty where no browser was found or under -short.
var site string

// chromium is the browser under test.
var chromium string

func TestMain(m *testing.M) {
	flag.Parse()
	// A browser mostly waits: for rests, for fields that fade, for the viewer. Unless told otherwise more tests run at once than there are processors.
	told := false
	flag.Visit(func(f *flag.Flag) { told = told || f.Name == "test.parallel" })
	if !told {
		flag.Set("test.parallel", "6")
	}
	os.Exit(func() int {
		chromium = browse.Find()
		if testing.Short() || chromium == "" {
			return m.Run()
		}
		if err := lookAtSource(".."); err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		stop, err := serve("..")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer stop()
		return m.Run()
	}())
}

// lookAtSource touches every file that the server and the browser program are built from. The go command keeps the outcome of a test as long as what
// the test read is unchanged, and does not see what a go command inside the test reads.
func lookAtSource(root string) error {
	n := 0
	for _, dir := range []string{"colour", "patterns", "wasm", "web"} {
		err := filepath.WalkDir(filepath.Join(root, dir), func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			n++
			_, err = os.Stat(path)
			return err
		})
		if err != nil {
			return fmt.Errorf("wasm: %w", err)
		}
	}
	if n < 50 {
		return fmt.Errorf("wasm: only %d files of the source were found", n)
	}
	return nil
}

// serve builds web/server and starts it on a free port of this computer, in root. It sets site.
func serve(root string) (stop func(), err error) {
	dir, err := os.MkdirTemp("", "plumb-server-")
	if err != nil {
		return nil, fmt.Errorf("wasm: %w", err)
	}
	program, err := browse.Build(context.Background(), root, dir)
	var s *browse.Server
	if err == nil {
		s, err = browse.Serve(root, program, "-addr", "127.0.0.1:0")
	}
	if err != nil {
		os.RemoveAll(dir)
		return nil, err
	}
	site = s.Site
	return func() {
		s.Stop()
		os.RemoveAll(dir)
	}, nil
}

// A room is where a browser runs: its screen, and what its maker set.
type room struct {
	width, height int     // of the screen, device pixels; 800 x 600 when 0
	ratio         float64 // real device pixels to a CSS pixel; 1 when 0
	profile       string  // --force-color-profile; srgb when empty
	seed          uint64  // the browser's source of random numbers is replaced by one with this seed; left alone when 0
	scripts       []string
	flags         map[string]any
	touch         bool   // the pointer is a finger
	dir           string // user data; a fresh one when empty
}

// A window is one tab of a browser, with the program in it.
type window struct {
	t     *testing.T
	ctx   context.Context
	room  room
	wired *wired // of an engine that is driven by WebDriver; nil for Chromium
}

// open starts a browser whose window covers its screen. It ends with the test.
func open(t *testing.T, r room) *window {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a browser")
	}
	if chromium == "" {
		t.Fatal("no Chromium was found ($CHROMIUM, /usr/bin/chromium, chromium on the path): bash .ci/test installs one and runs all tests; go test -short leaves the browser out")
	}
	if r.width == 0 {
		r.width, r.height = 800, 600
	}
	if r.ratio == 0 {
		r.ratio = 1
	}
	if r.profile == "" {
		r.profile = "srgb"
	}
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]),
		chromedp.ExecPath(chromium),
		browse.Alone,
		chromedp.Flag("enable-automation", false), // its bar takes a part of the screen
		chromedp.Flag("test-type", true),          // and so does the one that warns of --no-sandbox
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"), // nothing beyond this computer is to be reached
		chromedp.Flag("force-color-profile", r.profile),
		chromedp.Flag("screen-info", fmt.Sprintf("{%dx%d devicePixelRatio=%g}", r.width, r.height, r.ratio)),
	)
	if os.Getuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	if r.dir != "" {
		options = append(options, chromedp.UserDataDir(r.dir))
	}
	for name, value := range r.flags {
		options = append(options, chromedp.Flag(name, value))
	}
	var ctx context.Context
	for again := false; ; again = true {
		allocator, stop := chromedp.NewExecAllocator(context.Background(), options...)
		tab, end := chromedp.NewContext(allocator)
		err := chromedp.Do(tab)
		if err != nil {
			end()
			stop()
			if again {
				t.Fatalf("the browser did not start: %v", err)
			}
			t.Logf("the browser is started once more: %v", err) // many start at once, on a machine that may be busy
			continue
		}
		t.Cleanup(stop)
		t.Cleanup(func() {
			// A browser that is asked to end cleans up behind itself; one that does not answer is stopped.
			last, cancel := context.WithTimeout(tab, 10*time.Second)
			defer cancel()
			chromedp.Cancel(last)
			end()
		})
		ctx = tab
		break
	}
	w := &window{t: t, ctx: ctx, room: r}
	w.settle()
	return w
}

// settle makes a new tab what the room says.
func (w *window) settle() {
	w.t.Helper()
	bounds, err := chromedp.Call(w.ctx, browser.GetWindowForTarget, browser.GetWindowForTargetParams{})
	w.check(err)
	_, err = chromedp.Call(w.ctx, browser.SetWindowBounds, browser.SetWindowBoundsParams{WindowID: bounds.WindowID, Bounds: &browser.Bounds{WindowState: browser.WindowStateFullscreen}})
	w.check(err)
	scripts := w.room.scripts
	if w.room.seed != 0 {
		scripts = append(slices.Clone(scripts), fmt.Sprintf(chance, w.room.seed))
	}
	for _, s := range scripts {
		_, err := chromedp.Call(w.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: s})
		w.check(err)
	}
}

// chance replaces the browser's source of random numbers by xorshift32 (Marsaglia 2003, "Xorshift RNGs"), from which the program draws the seed of a
// sitting. With the viewer's seed fixed as well, a sitting comes out the same every time.
const chance = `{
	let x = (%d * 2654435761) >>> 0 || 1;
	Crypto.prototype.getRandomValues = function (a) {
		const bytes = new Uint8Array(a.buffer, a.byteOffset, a.byteLength);
		for (let i = 0; i < bytes.length; i++) {
			x ^= x << 13; x >>>= 0; x ^= x >>> 17; x ^= x << 5; x >>>= 0;
			bytes[i] = x >>> 11;
		}
		return a;
	};
}`

func (w *window) check(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatalf("%v\nthe page says: %s", err, w.words())
	}
}

// words is what can be read on the page, for messages.
func (w *window) words() string {
	text, err := evaluate[string](w, 5*time.Second, `(document.body?.dataset.stage || "no stage") + ": " + document.body?.innerText`)
	if err != nil {
		return "(" + err.Error() + ")"
	}
	return text
}

// slow is more than anything takes that the program should do, on a machine that is busy with ten other things. Only what never happens takes that long.
const slow = 3 * time.Minute

func (w *window) do(steps ...chromedp.Action[chromedp.Void]) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(w.ctx, slow)
	defer cancel()
	w.check(chromedp.Do(ctx, steps...))
}

// eval is the value of a JavaScript expression; a promise is waited for.
func eval[T any](w *window, expression string) T {
	w.t.Helper()
	v, err := evaluate[T](w, slow, expression)
	// A page that is being loaded takes its questions with it.
	for end := time.Now().Add(slow); err != nil && strings.Contains(err.Error(), "navigated") && time.Now().Before(end); {
		v, err = evaluate[T](w, slow, expression)
	}
	if err != nil {
		w.t.Fatalf("%v\nin %s\nthe page says: %s", err, expression, w.words())
	}
	return v
}

func evaluate[T any](w *window, within time.Duration, expression string) (T, error) {
	ctx, cancel := context.WithTimeout(w.ctx, within)
	defer cancel()
	if w.wired != nil {
		var v T
		return v, w.wired.evaluate(ctx, expression, &v)
	}
	return chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
}

// run does JavaScript that has no value.
func (w *window) run(statements string) {
	w.t.Helper()
	eval[bool](w, "(() => {"+statements+"; return true})()")
}

// A state is what the page says of itself.
type state struct {
	Stage, Over, Mark string
	Box               [4]float64 // of the canvas in the window, CSS pixels: left, top, width, height
	Ratio             float64
	Width, Height     int // of the canvas, device pixels
}

func milliseconds(d time.Duration) string { return strconv.FormatInt(d.Milliseconds(), 10) }

// stateOf is a JavaScript function that makes a state.
const stateOf = `() => {
	const d = document.body?.dataset ?? {}, c = document.getElementById("screen"), r = c ? c.getBoundingClientRect() : {left: 0, top: 0, width: 0, height: 0};
	return {stage: d.stage || "", over: d.over || "", mark: c && c.dataset.presentation || "", box: [r.left, r.top, r.width, r.height], ratio: devicePixelRatio,
		width: c ? c.width : 0, height: c ? c.height : 0};
}`

// wait returns the state of the page once the condition, a JavaScript expression over the state n, holds.
func (w *window) wait(condition string) state {
	w.t.Helper()
	type outcome struct {
		state
		Late bool
	}
	s := eval[outcome](w, `new Promise(done => {
		const now = `+stateOf+`, holds = n => `+condition+`;
		const first = now();
		if (holds(first)) { done(first); return }
		let timer = 0;
		const o = new MutationObserver(() => { const n = now(); if (holds(n)) { o.disconnect(); clearTimeout(timer); done(n) } });
		o.observe(document, {attributes: true, subtree: true, attributeFilter: ["data-stage", "data-over", "data-presentation"]});
		timer = setTimeout(() => { o.disconnect(); done({...now(), late: true}) }, `+milliseconds(slow*3/4)+`);
	})`)
	if s.Late {
		w.t.Fatalf("waited in vain for %s\nthe page says: %s", condition, w.words())
	}
	return s.state
}

// in waits for a stage.
func (w *window) in(stage string) state {
	w.t.Helper()
	return w.wait(fmt.Sprintf("n.stage === %q", stage))
}

// now is the state of the page at once.
func (w *window) now() state { w.t.Helper(); return eval[state](w, "("+stateOf+")()") }

// visit loads the page of the check.
func (w *window) visit(query string) {
	w.t.Helper()
	w.load(site + "/check" + query)
}

// load goes to an address.
func (w *window) load(address string) {
	w.t.Helper()
	if w.wired != nil {
		w.wired.navigate(w, address)
		return
	}
	w.do(chromedp.Navigate(address))
}

// click presses the mouse in the middle of an element, as a person would: it is scrolled to, and must not be covered by anything but its own label.
func (w *window) click(selector string) {
	w.t.Helper()
	at := w.find(selector)
	if w.wired != nil {
		w.wired.click(w, at)
		return
	}
	w.do(chromedp.MouseClickXY(at[0], at[1]))
}

// find waits until an element can be pointed at, and returns where, in CSS pixels of the window.
func (w *window) find(selector string) [2]float64 {
	w.t.Helper()
	var at []float64
	w.eventually(selector+" can be pointed at", func() bool {
		at = eval[[]float64](w, fmt.Sprintf(`(() => {
			const e = document.querySelector(%q);
			if (!e) return [];
			e.scrollIntoView({block: "center", behavior: "instant"});
			const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2, hit = document.elementFromPoint(x, y);
			return hit && (e.contains(hit) || hit.closest("label")?.contains(e)) && r.width > 0 ? [x, y] : [];
		})()`, selector))
		return len(at) == 2
	})
	return [2]float64{at[0], at[1]}
}

// poke clicks on what carries a data-action, without a mouse.
func (w *window) poke(action string) {
	w.t.Helper()
	w.run(fmt.Sprintf("document.querySelector('[data-action=%q]').click()", action))
}

// press presses what carries a data-action.
func (w *window) press(action string) { w.t.Helper(); w.click(fmt.Sprintf("[data-action=%q]", action)) }

// text is what can be read in an element.
func (w *window) text(selector string) string {
	w.t.Helper()
	return eval[string](w, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? ""`, selector))
}

// keys are the keys of the contract with KeyboardEvent.key and Windows' virtual key code.
var keys = map[string]struct {
	key  string
	code int64
}{
	"ArrowLeft": {"ArrowLeft", 37}, "ArrowUp": {"ArrowUp", 38}, "ArrowRight": {"ArrowRight", 39}, "ArrowDown": {"ArrowDown", 40},
	"Space": {" ", 32}, "Enter": {"Enter", 13}, "Escape": {"Escape", 27}, "Backspace": {"Backspace", 8}, "Tab": {"Tab", 9},
}

// key presses and lets go of a key, named by KeyboardEvent.code.
func (w *window) key(code string) {
	w.t.Helper()
	k, ok := keys[code]
	if digit, cut := strings.CutPrefix(code, "Digit"); cut {
		k.key, k.code, ok = digit, int64(digit[0]), true
	}
	if letter, cut := strings.CutPrefix(code, "Key"); cut {
		k.key, k.code, ok = strings.ToLower(letter), int64(letter[0]), true
	}
	if !ok {
		w.t.Fatalf("no key %q on this keyboard", code)
	}
	if w.wired != nil {
		w.wired.key(w, code, k.key)
		return
	}
	down, text := input.DispatchKeyEventTypeRawKeyDown, ""
	if code == "Enter" { // on a button it is a press by what it would write
		down, text = input.DispatchKeyEventTypeKeyDown, "\r"
	}
	for _, kind := range []input.DispatchKeyEventType{down, input.DispatchKeyEventTypeKeyUp} {
		_, err := chromedp.Call(w.ctx, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: kind, Code: code, Key: k.key, Text: text, WindowsVirtualKeyCode: k.code})
		w.check(err)
		text = ""
	}
}

// captured is the window as a PNG file. Chromium waits for a frame before it answers, which on a busy machine may not come; then it is asked again.
func (w *window) captured() []byte {
	w.t.Helper()
	const tries = 6
	var err error
	for range tries {
		ctx, cancel := context.WithTimeout(w.ctx, slow/6)
		var r page.CaptureScreenshotResult
		r, err = chromedp.Run(ctx, func(ctx context.Context, t *chromedp.Target) (page.CaptureScreenshotResult, error) {
			return cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng, OptimizeForSpeed: new(true)})
		})
		cancel()
		if err == nil {
			return r.Data
		}
		if !errors.Is(err, context.DeadlineExceeded) {
			break
		}
	}
	w.t.Fatalf("no shot of the window: %v\nthe page says: %s", err, w.words())
	return nil
}

// shot is the window as it is on the screen, in device pixels, with the codes that would reach a display.
func (w *window) shot() *image.RGBA {
	w.t.Helper()
	var data []byte
	if w.wired != nil {
		ctx, cancel := context.WithTimeout(w.ctx, slow)
		defer cancel()
		data = w.wired.shot(ctx, w)
	} else {
		data = w.captured()
	}
	img, err := png.Decode(bytes.NewReader(data))
	w.check(err)
	dst := image.NewRGBA(img.Bounds().Sub(img.Bounds().Min))
	draw.Draw(dst, dst.Rect, img, img.Bounds().Min, draw.Src)
	return dst
}

// canvas is the part of a shot that the canvas covers, laid out from (0, 0).
func (w *window) canvas(s state) *image.RGBA {
	w.t.Helper()
	all := w.shot()
	at := image.Pt(int(math.Round(s.Box[0]*s.Ratio)), int(math.Round(s.Box[1]*s.Ratio)))
	r := image.Rectangle{at, at.Add(image.Pt(s.Width, s.Height))}
	if !r.In(all.Rect) || r.Empty() {
		w.t.Fatalf("the canvas is at %v of a screen of %v", r, all.Rect)
	}
	dst := image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	draw.Draw(dst, dst.Rect, all, r.Min, draw.Src)
	return dst
}

// A presentation is what data-presentation says, with nothing else in it.
type presentation struct {
	Seq      int      `json:"seq"`
	Check    string   `json:"check"`
	Task     string   `json:"task"`
	Question string   `json:"question"`
	Choices  []choice `json:"choices"`
}

type choice struct {
	Key   string `json:"key"`
	Label string `json:"label"`
	Rect  struct {
		X      int `json:"x"`
		Y      int `json:"y"`
		Width  int `json:"width"`
		Height int `json:"height"`
	} `json:"rect"`
}

func (c choice) rect() image.Rectangle {
	return image.Rect(c.Rect.X, c.Rect.Y, c.Rect.X+c.Rect.Width, c.Rect.Y+c.Rect.Height)
}

// parse reads data-presentation. Fields that the contract does not name are refused.
func (w *window) parse(mark string) presentation {
	w.t.Helper()
	d := json.NewDecoder(strings.NewReader(mark))
	d.DisallowUnknownFields()
	var p presentation
	if err := d.Decode(&p); err != nil {
		w.t.Fatalf("data-presentation is not as the contract says: %v\n%s", err, mark)
	}
	return p
}

// A viewer sits before a window. Without an observer it does not look: it takes the first choice at once, and moves a setting once.
type viewer struct {
	*observer.Viewer
	seq   int  // of the frame last answered
	asked int  // presentations answered, settings counted once
	moved bool // the setting that is up
	blunt bool // buttons are pressed without a mouse
	rapid bool // answers come at once

	reference colour.XYZ                                    // a white beside the screen
	shown     func(p presentation, look func() *image.RGBA) // called before every answer, where it is not nil; look is what the canvas shows
	answer    func(w *window, p presentation, key string)   // how an answer is given; by key when nil
}

// thought is the least time a viewer takes for an answer. Half of all answers within 500 ms would void a sitting (patterns/report).
const thought = 530 * time.Millisecond

// seat puts a virtual viewer of a kind before a display of the given description; seed is that of all its noise.
func seat(t *testing.T, kind string, d display.Description, seed uint64) *viewer {
	t.Helper()
	k, ok := observer.KindByName(kind)
	if !ok {
		t.Fatalf("no viewer of the kind %q", kind)
	}
	m := d.Model()
	return &viewer{Viewer: observer.New(k, &m, rand.New(rand.NewPCG(seed, 0x73637265656e73)))}
}

// choose looks at a frame and names the key.
func (v *viewer) choose(p presentation, look func() *image.RGBA) string {
	n := len(p.Choices) - 1
	last := p.Choices[n]
	if v.Viewer == nil {
		if last.Key != "Enter" {
			return p.Choices[0].Key
		}
		v.moved = !v.moved
		if v.moved {
			return p.Choices[0].Key
		}
		return last.Key
	}
	frame := look()
	if last.Key == "Enter" { // a setting
		switch v.Adjust(frame, p.Choices[0].rect(), last.rect()) {
		case 1:
			return p.Choices[0].Key
		case -1:
			return p.Choices[1].Key
		}
		return last.Key
	}
	places := make([]image.Rectangle, n)
	for i := range places {
		places[i] = p.Choices[i].rect()
	}
	at, known := v.Answer(p.Task, frame, places, false) // a screenshot holds the codes of the display
	switch check.Task(p.Task) {
	case check.RefPinker:
		at, known = v.Reference(frame, places[0], v.reference, observer.PinkGreen), true
	case check.RefYellower:
		at, known = v.Reference(frame, places[0], v.reference, observer.BlueYellow), true
	}
	if !known {
		panic("no viewer knows the task " + p.Task)
	}
	if at == observer.CantTell {
		return last.Key
	}
	return p.Choices[at].Key
}

// turn waits until the page wants something, lets the viewer do it, and returns the state it was done in. A report wants nothing.
func (w *window) turn(v *viewer) state {
	w.t.Helper()
	s := w.wait(fmt.Sprintf(`n.mark ? JSON.parse(n.mark).seq !== %d : n.stage !== "sitting" && n.stage !== ""`, v.seq))
	forward := func(until string) {
		if v.blunt {
			w.poke("continue")
		} else {
			w.press("continue")
		}
		w.wait(until)
	}
	switch {
	case s.Mark != "":
		v.look(w, s)
	case s.Stage == "prepare" && s.Over == "":
		forward(`n.over === "field" || n.stage !== "prepare"`)
	case s.Stage == "prepare":
		forward(`n.stage !== "prepare"`)
	case s.Stage == "intro":
		// It may go on by itself meanwhile.
		w.run("if (document.body.dataset.stage === 'intro') document.querySelector('[data-action=continue]')?.click()")
		w.wait(`n.stage !== "intro"`)
	case s.Stage == "report", s.Stage == "after":
	default:
		w.t.Fatalf("nobody told the viewer what to do in this stage: %s", w.words())
	}
	return s
}

// look answers one presentation, or makes one step of a setting.
func (v *viewer) look(w *window, s state) {
	w.t.Helper()
	came := time.Now()
	p := w.parse(s.Mark)
	v.seq = p.Seq
	look := sync.OnceValue(func() *image.RGBA { return w.canvas(s) })
	if v.shown != nil {
		v.shown(p, look)
	}
	key := v.choose(p, look)
	setting := p.Choices[len(p.Choices)-1].Key == "Enter"
	if !setting && v.Viewer != nil && !v.rapid {
		time.Sleep(thought - time.Since(came))
	}
	if v.answer != nil {
		v.answer(w, p, key)
	} else {
		w.key(key)
	}
	if !setting || key == "Enter" {
		v.asked++
	}
}

// sit goes on to the report, and reads the record from it.
func (w *window) sit(v *viewer) report.Record {
	w.t.Helper()
	for w.turn(v).Stage != "report" {
	}
	r, _ := w.record()
	return r
}

// record reads the record that the report page carries.
func (w *window) record() (report.Record, []byte) {
	w.t.Helper()
	b := []byte(eval[string](w, `document.getElementById("record").textContent`))
	r, err := report.Read(b)
	w.check(err)
	return r, b
}

// eventually tries until f is true.
func (w *window) eventually(what string, f func() bool) {
	w.t.Helper()
	for end := time.Now().Add(slow); !f(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			w.t.Fatalf("%s did not happen\nthe page says: %s", what, w.words())
		}
	}
}

// tab opens another tab in the same window, before the others. It shares their storage.
func (w *window) tab() (other *window, shut func()) {
	w.t.Helper()
	ctx, end := chromedp.NewContext(w.ctx, chromedp.WithNewWindow(false))
	if err := chromedp.Do(ctx); err != nil {
		w.t.Fatal(err)
	}
	o := &window{t: w.t, ctx: ctx, room: w.room}
	o.settle()
	return o, end
}
