// Command paint times the painting of test patterns natively, as WebAssembly in a browser and in plain JavaScript, and adaptive updates in the browser, and
// prints a table of each.
//
//	go run ./.ci/paint
//
// It builds its page, serves it on the loopback interface, and drives a Chromium. It fails if a frame is not the same in all
// three, or if the canvas does not hold the bytes that were painted; times alone never fail it.
package main

import (
	"context"
	"crypto/sha256"
	_ "embed"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"image"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/chromedp/chromedp"

	"example.org/plumb/.ci/browse"
	"example.org/plumb/.ci/paint/screens"
)

var (
	//go:embed page/index.html
	index []byte
	//go:embed page/page.js
	script []byte
)

const frame60 = 1000. / 60 // ms

// A row is what is known of one screen; times are medians in ms. The row copies were timed by turns with the screen, so that a
// busy machine slows both.
type row struct {
	Name               string
	First, Wasm, JS    float64
	WasmCopy, JSCopy   float64
	Put, JSPut         float64
	Same, Shown        bool
	Digest             string
	native, nativeCopy float64
}

func main() {
	width := flag.Int("width", 3840, "frame width in pixels")
	height := flag.Int("height", 2160, "frame height in pixels")
	runs := flag.Int("runs", 21, "runs of which the median is taken")
	browser := flag.String("browser", "chromium", "the browser to drive")
	flag.Parse()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	if err := run(ctx, *width, *height, *runs, *browser); err != nil {
		fmt.Fprintln(os.Stderr, "paint:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, width, height, runs int, browser string) error {
	dir, err := os.MkdirTemp("", "paint")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	wasm, exec, err := build(ctx, dir)
	if err != nil {
		return err
	}

	dst := image.NewRGBA(image.Rect(0, 0, width, height))
	var names, digests []string
	var native, nativeCopy []float64
	timed := func(f func()) {
		a, b := medians(runs, f, func() { screens.RowCopy(dst) })
		native, nativeCopy = append(native, a), append(nativeCopy, b)
	}
	for _, s := range screens.For(dst.Rect) {
		names = append(names, s.Name)
		timed(func() { s.Paint(dst, dst.Rect) })
		s.Paint(dst, dst.Rect)
		digests = append(digests, fmt.Sprintf("%x", sha256.Sum256(dst.Pix)))
	}
	names = append(names, "row copy")
	timed(func() { screens.RowCopy(dst) })

	url, stop, err := serve(wasm, exec)
	if err != nil {
		return err
	}
	defer stop()
	seen, err := drive(ctx, url, browser, names, width, height, runs)
	if err != nil {
		return err
	}
	if len(seen.Rows) != len(names) {
		return fmt.Errorf("%d rows from the page, want %d", len(seen.Rows), len(names))
	}
	for i := range seen.Rows {
		seen.Rows[i].native, seen.Rows[i].nativeCopy = native[i], nativeCopy[i]
	}
	table(seen, width, height)
	return verify(seen.Rows, digests)
}

// build builds the page's program and finds the script that starts it.
func build(ctx context.Context, dir string) (wasm, start []byte, err error) {
	root, err := output(ctx, "go", "list", "-m", "-f", "{{.Dir}}", "example.org/plumb")
	if err != nil {
		return nil, nil, err
	}
	out := filepath.Join(dir, "page.wasm")
	c := exec.CommandContext(ctx, "go", "build", "-trimpath", "-ldflags=-s -w", "-o", out, "./.ci/paint/page")
	c.Dir = root
	c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if b, err := c.CombinedOutput(); err != nil {
		return nil, nil, fmt.Errorf("building the page: %w\n%s", err, b)
	}
	if wasm, err = os.ReadFile(out); err != nil {
		return nil, nil, err
	}
	goroot, err := output(ctx, "go", "env", "GOROOT")
	if err != nil {
		return nil, nil, err
	}
	start, err = os.ReadFile(filepath.Join(goroot, "lib", "wasm", "wasm_exec.js"))
	return wasm, start, err
}

func output(ctx context.Context, name string, args ...string) (string, error) {
	b, err := exec.CommandContext(ctx, name, args...).Output()
	if err != nil {
		return "", fmt.Errorf("%s: %w", name, err)
	}
	return strings.TrimSpace(string(b)), nil
}

// medians is the middle times of f and g in ms, by turns and each first every other time, after a few runs that are not counted.
func medians(runs int, f, g func()) (float64, float64) {
	for range 4 {
		f()
		g()
	}
	once := func(f func()) float64 {
		start := time.Now()
		f()
		return float64(time.Since(start)) / float64(time.Millisecond)
	}
	fs, gs := make([]float64, runs), make([]float64, runs)
	for i := range runs {
		if i%2 == 0 {
			fs[i], gs[i] = once(f), once(g)
		} else {
			gs[i], fs[i] = once(g), once(f)
		}
	}
	slices.Sort(fs)
	slices.Sort(gs)
	return fs[runs/2], gs[runs/2]
}

// serve serves the page on a free port of the loopback interface until stop is called.
func serve(wasm, start []byte) (url string, stop func(), err error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", nil, err
	}
	mux := http.NewServeMux()
	for path, f := range map[string]struct {
		kind string
		body []byte
	}{
		"/{$}":          {"text/html; charset=utf-8", index},
		"/page.js":      {"text/javascript; charset=utf-8", script},
		"/wasm_exec.js": {"text/javascript; charset=utf-8", start},
		"/page.wasm":    {"application/wasm", wasm},
	} {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", f.kind)
			// An isolated page has a finer clock.
			w.Header().Set("Cross-Origin-Opener-Policy", "same-origin")
			w.Header().Set("Cross-Origin-Embedder-Policy", "require-corp")
			w.Write(f.body)
		})
	}
	s := &http.Server{Handler: mux}
	go s.Serve(l)
	return "http://" + l.Addr().String() + "/", func() { s.Close() }, nil
}

// seen is the answer of the page.
type seen struct {
	Isolated bool
	Touch    float64 // the row copy in memory never touched before
	Cadence  float64
	Rows     []row
	Steps    []update
}

// An update is how long it took, in ms, from an answer to the next stimulus of a check, by its place in screens.Checks; beyond them, to the first of another check, and planning a round.
type update struct {
	Check, Count      int
	Median, P99, Most float64
}

func drive(ctx context.Context, url, browser string, names []string, width, height, runs int) (seen, error) {
	ctx, stop, err := browse.Start(ctx, browser,
		chromedp.Flag("enable-automation", false), // its bar would take a part of the window
		chromedp.Flag("disable-infobars", true),
		chromedp.Flag("screen-info", fmt.Sprintf("{%dx%d}", width, height)),
		chromedp.WindowSize(width, height),
	)
	if err != nil {
		return seen{}, err
	}
	defer stop()
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		return seen{}, err
	}
	list, err := json.Marshal(names)
	if err != nil {
		return seen{}, err
	}
	s, err := chromedp.Run(ctx, chromedp.Evaluate[seen](fmt.Sprintf("measure(%s, %d, %d, %d)", list, width, height, runs), chromedp.EvalAwaitPromise))
	if err == nil && (len(s.Rows) == 0 || len(s.Steps) == 0) {
		err = errors.New("the page measured nothing")
	}
	return s, err
}

func table(s seen, width, height int) {
	fmt.Printf("%d x %d, medians in ms; fine clock: %v\n", width, height, s.Isolated)
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "pattern\tnative\twasm\twasm first\tplain JS\tcopy native\tcopy wasm\tcopy JS\twasm/JS\tnative/copy\twasm/copy\tJS/copy\twasm+put\tJS+put\tof 60 Hz\t")
	for _, r := range s.Rows {
		fmt.Fprintf(w, "%s\t%.2f\t%.2f\t%.1f\t%.2f\t%.2f\t%.2f\t%.2f\t%.2f\t%.2f\t%.2f\t%.2f\t%.2f\t%.2f\t%.0f %%\t\n",
			r.Name, r.native, r.Wasm, r.First, r.JS, r.nativeCopy, r.WasmCopy, r.JSCopy,
			r.Wasm/r.JS, r.native/r.nativeCopy, r.Wasm/r.WasmCopy, r.JS/r.JSCopy, r.Put, r.JSPut, 100*r.Put/frame60)
	}
	w.Flush()
	fmt.Printf("row copy into memory never touched before: %.0f ms; a frame every %.1f ms while each is painted anew\n\n", s.Touch, s.Cadence)
	fmt.Println("adaptive updates in the browser, ms from an answer to the next stimulus, long sittings")
	fmt.Fprintln(w, "check\tcount\tmedian\t99 %\tmost\t")
	for _, u := range s.Steps {
		name := "to another check"
		switch {
		case u.Check < len(screens.Checks):
			name = string(screens.Checks[u.Check])
		case u.Check > len(screens.Checks):
			name = "to a planned round"
		}
		fmt.Fprintf(w, "%s\t%d\t%.2f\t%.2f\t%.2f\t\n", name, u.Count, u.Median, u.P99, u.Most)
	}
	w.Flush()
}

// verify wants each frame the same natively, as WebAssembly and in plain JavaScript, and the canvas to hold it.
func verify(rows []row, digests []string) error {
	var errs []error
	for i, d := range digests {
		r := rows[i]
		if r.Digest != d {
			errs = append(errs, fmt.Errorf("%s: the frame differs from the native one", r.Name))
		}
		if !r.Same {
			errs = append(errs, fmt.Errorf("%s: plain JavaScript paints another frame", r.Name))
		}
		if !r.Shown {
			errs = append(errs, fmt.Errorf("%s: the canvas holds other bytes than were painted", r.Name))
		}
	}
	return errors.Join(errs...)
}
