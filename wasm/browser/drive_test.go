//go:build !js

package browser_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"example.org/plumb/.ci/browse"
	"example.org/plumb/web"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/mailbox/memory"
)

// The tests of this package that need a browser run in one: they are built for it, and TestInBrowser looks at what they print. What a page cannot do to itself, such
// as looking at its own pixels, they ask for at /ask.

// policy is the site's, but that tests may use eval.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval' 'unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'"

const sheet = `<!doctype html><meta charset="utf-8"><title>tests</title><link rel="stylesheet" href="page.css"><body><canvas id="screen"></canvas><script src="wasm_exec.js"></script><script src="page.js"></script>`

const styles = `html, body { margin: 0; background: #777777 } #screen { display: none }`

// script runs the tests with the arguments behind the # and hands their lines over. That sizes changed once more while they were told is no error: they are told again.
const script = `"use strict";
(async () => {
	const lines = [];
	console.log = console.error = (...words) => { lines.push(words.join(" ")); };
	window.addEventListener("error", (e) => over || /ResizeObserver loop/.test(e.message) || lines.push("page: " + e.message));
	window.addEventListener("unhandledrejection", (e) => over || lines.push("page: " + e.reason));
	document.addEventListener("securitypolicyviolation", (e) => lines.push("policy: " + e.violatedDirective + " " + e.blockedURI));
	let code = 99, over = false;
	try {
		const go = new Go();
		go.argv = ["test", ...JSON.parse(decodeURIComponent(location.hash.slice(1)))];
		go.exit = (c) => { code = c; over = true; }; // what is heard afterwards is heard by nobody
		const loaded = await WebAssembly.instantiateStreaming(fetch("test.wasm"), go.importObject);
		globalThis.goMem = loaded.instance.exports.mem;
		await go.run(loaded.instance);
	} catch (e) {
		lines.push(String(e && e.stack || e));
	}
	await fetch("done", { method: "POST", body: JSON.stringify({ code, lines: lines.join("\n") }) });
})();`

type outcome struct {
	Code  int
	Lines string
}

// inBrowser runs this package's tests in a browser with so many device pixels to a CSS pixel, with arguments as go test has them, and returns what they print.
func inBrowser(t testing.TB, ratio float64, wait time.Duration, args ...string) outcome {
	t.Helper()
	if testing.Short() {
		t.Skip("takes a browser")
	}
	chromium := browse.Find()
	if chromium == "" {
		t.Skip("no Chromium here")
	}
	lookAtSource(t)
	program, err := built()
	if err != nil {
		t.Fatal(err)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}

	options := append(chromedp.DefaultExecAllocatorOptions[:len(chromedp.DefaultExecAllocatorOptions):len(chromedp.DefaultExecAllocatorOptions)],
		chromedp.ExecPath(chromium),
		browse.Alone,
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("force-color-profile", "srgb"),
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
		chromedp.Flag("screen-info", fmt.Sprintf("{2400x1800 devicePixelRatio=%g}", ratio)),
		chromedp.WindowSize(800, 600),
	)
	if os.Getuid() == 0 {
		options = append(options, chromedp.NoSandbox)
	}
	ctx, cancel := context.WithTimeout(context.Background(), wait)
	defer cancel()
	ctx, end := chromedp.NewExecAllocator(ctx, options...)
	defer end()
	ctx, end = chromedp.NewContext(ctx)
	defer end()
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("the browser did not start: %v", err)
	}

	done := make(chan outcome, 1)
	mux := http.NewServeMux()
	give := func(path, kind string, read func() ([]byte, error)) {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			b, err := read()
			if err != nil {
				http.Error(w, err.Error(), 500)
				return
			}
			w.Header().Set("Content-Type", kind)
			w.Header().Set("Content-Security-Policy", policy)
			w.Header().Set("Cross-Origin-Opener-Policy", "same-origin") // an isolated page has a finer clock
			w.Header().Set("Cross-Origin-Embedder-Policy", "require-corp")
			w.Write(b)
		})
	}
	text := func(s string) func() ([]byte, error) { return func() ([]byte, error) { return []byte(s), nil } }
	give("/{$}", "text/html; charset=utf-8", text(sheet))
	give("/page.css", "text/css; charset=utf-8", text(styles))
	give("/page.js", "text/javascript; charset=utf-8", text(script))
	give("/wasm_exec.js", "text/javascript; charset=utf-8", func() ([]byte, error) {
		return os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	})
	give("/test.wasm", "application/wasm", func() ([]byte, error) { return program, nil })
	mux.Handle("/api/", web.Mailbox(memory.New(time.Now, mailboxtest.Plenty), web.Terms{
		Client: web.Rate{Burst: 1e6, Each: 1e6}, Address: web.Rate{Burst: 1e6, Each: 1e6},
	}))
	mux.HandleFunc("POST /sink", func(_ http.ResponseWriter, r *http.Request) { io.Copy(io.Discard, r.Body) })
	mux.HandleFunc("POST /ask", func(w http.ResponseWriter, r *http.Request) {
		var ask struct {
			What          string
			Width, Height int64
			Ratio, X, Y   float64
			Delta         float64
			Shift         bool
			Text          string
		}
		err := json.NewDecoder(r.Body).Decode(&ask)
		var answer []byte
		if err == nil {
			mouse := func(kind input.DispatchMouseEventType) error {
				p := input.DispatchMouseEventParams{Type: kind, X: ask.X, Y: ask.Y, DeltaX: 1e-3, DeltaY: ask.Delta} // a wheel that does not turn sideways at all is refused
				if kind != input.DispatchMouseEventTypeMouseWheel {
					p.Button, p.ClickCount, p.Buttons = input.MouseButtonLeft, 1, 1
				}
				if ask.Shift {
					p.Modifiers = 8
				}
				_, err := chromedp.Call(ctx, input.DispatchMouseEvent, p)
				return err
			}
			switch ask.What {
			case "shot":
				var r page.CaptureScreenshotResult
				r, err = chromedp.Run(ctx, func(ctx context.Context, t *chromedp.Target) (page.CaptureScreenshotResult, error) {
					return cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng})
				})
				answer = r.Data
			case "down":
				err = mouse(input.DispatchMouseEventTypeMousePressed)
			case "move":
				err = mouse(input.DispatchMouseEventTypeMouseMoved)
			case "up":
				err = mouse(input.DispatchMouseEventTypeMouseReleased)
			case "type":
				err = chromedp.Do(ctx, chromedp.KeyEvent(ask.Text))
			case "wheel":
				err = mouse(input.DispatchMouseEventTypeMouseWheel)
			default:
				err = errors.New("nobody knows how")
			}
		}
		if err != nil {
			http.Error(w, err.Error(), 500)
			return
		}
		w.Write(answer)
	})
	mux.HandleFunc("POST /done", func(w http.ResponseWriter, r *http.Request) {
		var o outcome
		if err := json.NewDecoder(r.Body).Decode(&o); err != nil {
			o = outcome{98, err.Error()}
		}
		done <- o
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: mux}
	go server.Serve(l)
	defer server.Close()

	list, err := json.Marshal(args)
	if err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(fmt.Sprintf("http://%s/#%s", l.Addr(), escape(list)))); err != nil {
		t.Fatal(err)
	}
	select {
	case o := <-done:
		return o
	case <-ctx.Done():
		t.Fatal("the tests in the browser did not end in time")
		return outcome{}
	}
}

// built is the program of this package's tests for a browser.
var built = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "plumb-browser-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, "test.wasm")
	build := exec.Command("go", "test", "-c", "-o", name, ".")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("building: %w\n%s", err, out)
	}
	return os.ReadFile(name)
})

// escape is encodeURIComponent, and a little more.
func escape(text []byte) string {
	var b bytes.Buffer
	for _, c := range text {
		fmt.Fprintf(&b, "%%%02x", c)
	}
	return b.String()
}

// lookAtSource touches what the tests in the browser are built from: the go command keeps an outcome as long as what the test read is unchanged.
func lookAtSource(t testing.TB) {
	n := 0
	for _, dir := range []string{".", "../../web/seal", "../../web/carry", "../../web/mailbox", "../../web/mailbox/client"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if _, err := os.Stat(f); err != nil {
				t.Fatal(err)
			}
			n++
		}
	}
	if n < 25 {
		t.Fatalf("only %d files of the source were found", n)
	}
}

var only = flag.String("only", "", "run the tests in the browser that match")

var turns = flag.Int("turns", 12, "how often each way is timed in a benchmark, by turns")

var ways = flag.String("ways", ".", "the ways that are timed in a benchmark, as a pattern")

var verbose = flag.Bool("lines", false, "print what the tests in the browser print")

var ran = regexp.MustCompile(`(?m)^--- (PASS|FAIL|SKIP): (\w+)`)

// All tests of this package, in a browser. None that needs one is left out there.
func TestInBrowser(t *testing.T) {
	if passed := passes(t, 1, *only); passed < 20 && *only == "" {
		t.Errorf("only %d tests passed", passed)
	}
}

// What is laid out on device pixels is so on screens of other densities.
func TestInDenseBrowsers(t *testing.T) {
	for _, ratio := range []float64{1.25, 2.625} {
		t.Run(fmt.Sprint(ratio), func(t *testing.T) {
			if passed := passes(t, ratio, "TestEaselExact|TestEaselSize|TestEaselPointer|TestEaselHatch"); passed < 4 {
				t.Errorf("only %d tests passed", passed)
			}
		})
	}
}

// passes runs tests in a browser and returns how many passed.
func passes(t *testing.T, ratio float64, names string) (passed int) {
	o := inBrowser(t, ratio, 3*time.Minute, "-test.v", "-test.run="+names)
	if *verbose {
		t.Log(o.Lines)
	}
	if o.Code != 0 || strings.Contains(o.Lines, "policy: ") || strings.Contains(o.Lines, "page: ") {
		t.Errorf("ended with %d:\n%s", o.Code, o.Lines)
	}
	for _, m := range ran.FindAllStringSubmatch(o.Lines, -1) {
		switch m[1] {
		case "PASS":
			passed++
		case "SKIP":
			if m[2] != "TestNoStorage" {
				t.Errorf("%s was left out", m[2])
			}
		}
	}
	return passed
}

// Sealing and opening against bare Web Crypto on the same bytes, by turns in one run in a browser: MB/s of both, and how many times as fast this program is.
func BenchmarkParcels(b *testing.B) {
	o := inBrowser(b, 1, 10*time.Minute, "-test.run=^$", "-test.bench=Parcels/"+*ways, fmt.Sprintf("-test.benchtime=%dx", *turns))
	rows := regexp.MustCompile(`(?m)^BenchmarkParcels/(\S+)\s+\d+\s(.*)$`).FindAllStringSubmatch(o.Lines, -1)
	if o.Code != 0 || len(rows) == 0 {
		b.Fatalf("ended with %d:\n%s", o.Code, o.Lines)
	}
	for _, r := range rows {
		b.Run(r[1], func(b *testing.B) {
			b.ReportMetric(0, "ns/op") // of nothing
			fields := strings.Fields(r[2])
			for i := 0; i+1 < len(fields); i += 2 {
				v, err := strconv.ParseFloat(fields[i], 64)
				if err != nil {
					b.Fatal(err)
				}
				if fields[i+1] != "ns/op" {
					b.ReportMetric(v, fields[i+1])
				}
				// A busy machine blurs what few turns tell.
				if fields[i+1] == "times" && v < 0.95 && *turns >= 40 && slices.Contains([]string{"seal", "seal_and_send", "open"}, r[1]) {
					b.Errorf("%.2f times as fast as bare Web Crypto", v)
				}
			}
		})
	}
}
