//go:build !js

package main_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"

	"example.org/plumb/patterns/report"
)

// replace puts something else in the place of what the server answers: change gets the answer's headers and body; a nil body breaks the connection off.
func (w *window) replace(pattern string, change func(h http.Header, body []byte) []byte) {
	w.t.Helper()
	w.check(chromedp.Listen(w.ctx, func(ev any) {
		e, ok := ev.(*fetch.EventRequestPaused)
		if !ok {
			return
		}
		go func() {
			r, err := http.Get(e.Request.URL)
			if err != nil {
				return
			}
			defer r.Body.Close()
			var b bytes.Buffer
			b.ReadFrom(r.Body)
			h := r.Header
			h.Del("Content-Encoding")
			h.Del("Content-Length")
			body := change(h, b.Bytes())
			if body == nil {
				chromedp.Call(w.ctx, fetch.FailRequest, fetch.FailRequestParams{RequestID: e.RequestID, ErrorReason: network.ErrorReasonConnectionReset})
				return
			}
			var headers []*fetch.HeaderEntry
			for name, values := range h {
				for _, v := range values {
					headers = append(headers, &fetch.HeaderEntry{Name: name, Value: v})
				}
			}
			chromedp.Call(w.ctx, fetch.FulfillRequest, fetch.FulfillRequestParams{RequestID: e.RequestID, ResponseCode: int64(r.StatusCode), ResponseHeaders: headers, Body: body})
		}()
	}))
	_, err := chromedp.Call(w.ctx, fetch.Enable, fetch.EnableParams{Patterns: []*fetch.RequestPattern{{URLPattern: pattern}}})
	w.check(err)
}

// What keeps the program from running is said in words, with what is kept and what to do; and there is a button that tries again.
func TestNoProgram(t *testing.T) {
	t.Parallel()
	policy := func(h http.Header, body []byte) []byte {
		h.Set("Content-Security-Policy", strings.Replace(h.Get("Content-Security-Policy"), "'wasm-unsafe-eval'", "", 1))
		return body
	}
	gone := func(http.Header, []byte) []byte { return nil }
	for _, c := range []struct {
		name, script, pattern string
		change                func(http.Header, []byte) []byte
		want                  []string
	}{
		{"no WebAssembly", "delete globalThis.WebAssembly", "", nil, []string{"no WebAssembly", "use a current browser"}},
		{"WebAssembly forbidden", "", "*/check", policy, []string{"WebAssembly is not allowed here", "extension"}},
		{"no canvas", "HTMLCanvasElement.prototype.getContext = () => null", "", nil, []string{"cannot draw the patterns", "Allow canvas drawing"}},
		{"no runtime script", "", "*/wasm_exec*", gone, []string{"could not be loaded", "Check the connection"}},
		{"no program", "", "*.wasm", gone, []string{"could not be loaded", "Check the connection"}},
		{"half a program", "", "*.wasm", func(_ http.Header, b []byte) []byte { return b[:len(b)/2] }, []string{"program", "Try again"}},
		{"another program", "", "*.wasm", func(_ http.Header, b []byte) []byte { return []byte("\x00asm\x01\x00\x00\x00") }, []string{"program", "Try again"}},
		{"no answer", "", "*.wasm", func(_ http.Header, b []byte) []byte { return []byte("<html>not found</html>") }, []string{"program", "Try again"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := room{}
			if c.script != "" {
				r.scripts = []string{c.script}
			}
			w := open(t, r)
			if c.change != nil {
				w.replace(c.pattern, c.change)
			}
			w.visit("")
			s := w.in("trouble")
			if s.Over != "" || s.Mark != "" {
				t.Errorf("the field is still up: %+v", s)
			}
			text := w.text("#stage")
			for _, want := range append(c.want, "Answers given earlier on this page are kept", "Try again") {
				if !strings.Contains(text, want) {
					t.Errorf("the page does not say %q: %q", want, text)
				}
			}
		})
	}
}

// The program is asked for once: by the script inside the page, or where the rules of somebody between forbid that, by the one beside it.
func TestAskedForOnce(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		policy func(string) string
		inside bool // whether the script inside the page runs
	}{
		{"as it is", func(policy string) string { return policy }, true},
		{"no script inside", func(policy string) string { return regexp.MustCompile(`'sha256-[^']*' `).ReplaceAllString(policy, "") }, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{})
			w.replace("*/check", func(h http.Header, body []byte) []byte {
				h.Set("Content-Security-Policy", c.policy(h.Get("Content-Security-Policy")))
				return body
			})
			w.visit("")
			w.in("prepare")
			n, inside := eval[int](w, `performance.getEntriesByType("resource").filter(e => e.name.endsWith(".wasm")).length`), eval[bool](w, `"plumbProgram" in window`)
			if n != 1 || inside != c.inside {
				t.Errorf("asked %d times for the program, by the script inside the page: %v, not %v", n, inside, c.inside)
			}
		})
	}
}

// A script that is missing cannot say so. The page does, after a while.
func TestNoScript(t *testing.T) {
	t.Parallel()
	w := open(t, room{})
	w.replace("*/boot*.js", func(http.Header, []byte) []byte { return nil })
	w.visit("")
	if s := w.text("#stage"); strings.Contains(s, "longer than it should") {
		t.Errorf("it says so at once: %q", s)
	}
	w.eventually("words about what takes so long", func() bool {
		s := w.text("#stage")
		return strings.Contains(s, "longer than it should") && strings.Contains(s, "load the page again") && strings.Contains(s, "kept")
	})
}

// A program that breaks down says so; what was answered before is there when the page is loaded again.
func TestStopped(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 31})
	w.visit("?length=short")
	v := &viewer{}
	w.until(v, func(presentation) bool { return v.asked == 2 })
	w.eventually("two answers are stored", func() bool { return w.rows("judgements") == 2 })
	// The canvas is pulled from under the program.
	w.run(`CanvasRenderingContext2D.prototype.putImageData = () => { throw new Error("out of order") }`)
	w.key("KeyQ")
	w.in("trouble")
	text := w.text("#stage")
	for _, want := range []string{"The program stopped", "kept", "Try again"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q: %q", want, text)
		}
	}
	w.click("#stage button")
	w.in("resume")
	w.eventually("the sitting is offered", func() bool { return strings.Contains(w.text(".found"), "of about") })
}

// A record that cannot be read is refused in words, and nothing else changes. One that can be read is shown as it was saved.
func TestRecords(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 32})
	w.visit("?length=short&screen=kitchen+laptop&viewer=Ines")
	v := &viewer{}
	w.until(v, func(presentation) bool { return v.asked == 4 })
	w.key("Escape")
	w.in("paused")
	w.press("stop")
	w.in("report")
	_, sound := w.record()
	w.press("again")
	w.in("prepare")
	w.click("input[name=viewer]")
	w.do(chromedp.KeyEvent("Tomas"))

	dir := t.TempDir()
	file := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		w.check(os.WriteFile(path, b, 0o600))
		return path
	}
	// A record of the next version may have anything in it.
	newer := bytes.Replace(sound, []byte(fmt.Sprintf(`"version": %d`, report.Version)), []byte(fmt.Sprintf(`"version": %d, "mood": 1`, report.Version+1)), 1)
	unknown := bytes.Replace(sound, []byte(`"curve":`), []byte(`"mood": "fine", "curve":`), 1)
	for _, c := range []struct {
		name string
		b    []byte
		want string
	}{
		{"newer.json", newer, "newer version"},
		{"truncated.json", sound[:len(sound)/2], "breaks off"},
		{"unknown.json", unknown, "mood"},
		{"other.json", []byte(`{"answer": 42}`), "not a record"},
		{"picture.json", []byte("\x89PNG\r\n\x1a\n"), "not a record"},
		{"empty.json", nil, "breaks off"},
	} {
		if c.b != nil && bytes.Equal(c.b, sound) {
			t.Fatalf("%s is the sound record", c.name)
		}
		path := file(c.name, c.b)
		w.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{path}))
		w.eventually("words about "+c.name, func() bool { return strings.Contains(w.text("#message"), c.want) })
		if s := w.now(); s.Stage != "prepare" {
			t.Errorf("%s led to the stage %s", c.name, s.Stage)
		}
		if name := eval[string](w, `document.querySelector("input[name=viewer]").value`); !strings.HasSuffix(name, "Tomas") {
			t.Errorf("%s cost what was typed: %q", c.name, name)
		}
	}
	// Dropped instead of chosen.
	w.run(fmt.Sprintf(`const d = new DataTransfer();
		d.items.add(new File([%s], "dropped.json"));
		document.body.dispatchEvent(new DragEvent("drop", {dataTransfer: d, bubbles: true, cancelable: true}))`, quoted(sound[:len(sound)/3])))
	w.eventually("words about what was dropped", func() bool { return strings.Contains(w.text("#message"), "breaks off") })

	w.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{file("sound.json", sound)}))
	w.in("report")
	if _, b := w.record(); !bytes.Equal(b, sound) {
		t.Error("the record that was opened is not the one that is shown")
	}
	if n := w.rows("records"); n != 1 {
		t.Errorf("%d records are kept, should be the one", n)
	}
}

func quoted(b []byte) string {
	q, _ := json.Marshal(string(b))
	return string(q)
}

// Storage that is denied or full is told in one line, on every page and in the bar; answers stay in the page, and can be saved as a file.
func TestStorage(t *testing.T) {
	t.Parallel()
	full := func(w *window, to *float64) {
		_, err := chromedp.Call(w.ctx, storage.OverrideQuotaForOrigin, storage.OverrideQuotaForOriginParams{Origin: site, QuotaSize: to})
		w.check(err)
	}
	for _, c := range []struct {
		name, script, want string
		full               bool
	}{
		{"denied", `IDBFactory.prototype.open = () => { throw new DOMException("no", "SecurityError") }`, "does not let this page store anything", false},
		{"no database", `delete globalThis.indexedDB; delete Window.prototype.indexedDB`, "does not let this page store anything", false},
		{"full", "", "full", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := open(t, room{seed: 33, scripts: []string{c.script}})
			w.visit("?length=short")
			w.in("prepare")
			if c.full {
				full(w, new(1000.0))
			} else {
				w.eventually("the preparation page says it", func() bool { return strings.Contains(w.text("#storage"), c.want) })
			}
			v := &viewer{}
			w.until(v, func(presentation) bool { return v.asked == 3 })
			w.eventually("the bar says it", func() bool { return strings.Contains(w.text("#bar .storage"), c.want) })
			w.key("Escape")
			w.in("paused")
			w.eventually("the pause says it", func() bool { return strings.Contains(w.text(".over"), c.want) })

			dir := t.TempDir()
			_, err := chromedp.CallBrowser(w.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir})
			w.check(err)
			w.press("answers")
			var b []byte
			w.eventually("a file of the answers", func() bool {
				list, _ := filepath.Glob(filepath.Join(dir, "*.json"))
				if len(list) == 1 {
					b, _ = os.ReadFile(list[0])
				}
				return len(b) > 0
			})
			r, err := report.Read(b)
			w.check(err)
			if len(r.Judgements) != 4 { // and the one that was disturbed
				t.Errorf("the file has %d judgements", len(r.Judgements))
			}

			if c.full {
				full(w, nil)
				w.press("retry")
				w.eventually("all answers are stored", func() bool { return w.rows("judgements") == 4 })
				w.eventually("the trouble is over", func() bool { return !strings.Contains(w.text(".over"), c.want) })
			}
			w.press("stop")
			w.in("report")
			if r, _ := w.record(); len(r.Judgements) != 4 {
				t.Errorf("the record has %d judgements", len(r.Judgements))
			}
			if !c.full {
				w.eventually("the report says that it is not kept", func() bool { return strings.Contains(w.text("#stage"), "not kept in this browser") })
			}
		})
	}
}

// A window with no room for a pattern, or none at all, is told; when there is room the program goes on.
func TestRoom(t *testing.T) {
	t.Parallel()
	w := open(t, room{seed: 34})
	w.visit("?length=short")
	w.in("prepare")
	field := func(css string) { w.run(`document.getElementById("screen").style.cssText = "` + css + `"`) }
	for _, c := range []struct{ css, want string }{
		{"width: 0; height: 0", "no room for a pattern"},
		{"width: 250px; height: 200px", "250 × 200 pixels"},
	} {
		field(c.css)
		w.eventually("the preparation page says "+c.want, func() bool { return strings.Contains(w.text("#start"), c.want) })
		w.poke("continue")
		w.in("trouble")
		text := w.text("#stage")
		for _, want := range []string{c.want, "at least 300 × 300", "kept"} {
			if !strings.Contains(text, want) {
				t.Errorf("the page does not say %q: %q", want, text)
			}
		}
		field("")
		w.in("prepare")
	}
	// In the middle of a sitting.
	v := &viewer{}
	w.until(v, func(presentation) bool { return v.asked == 2 })
	field("width: 0; height: 0")
	w.in("paused")
	w.eventually("the pause says why", func() bool { return strings.Contains(w.text(".over"), "no room for a pattern") })
	if s := w.text(".over"); strings.Contains(s, "Continue") {
		t.Errorf("going on is offered without a canvas: %q", s)
	}
	field("")
	w.eventually("it can go on", func() bool { return strings.Contains(w.text(".over"), "Continue") })
	w.press("continue")
	w.until(v, func(presentation) bool { return v.asked == 3 })
}
