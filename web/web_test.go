package web

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"
)

// squeezer is a Compressor at the fastest levels.
type squeezer struct{}

func (squeezer) Compress(coding string, body []byte) ([]byte, error) {
	var b bytes.Buffer
	var w io.WriteCloser
	switch coding {
	case "br":
		w = brotli.NewWriterLevel(&b, 1)
	case "gzip":
		w = gzip.NewWriter(&b)
	default:
		return nil, fmt.Errorf("coding %q", coding)
	}
	w.Write(body)
	err := w.Close()
	return b.Bytes(), err
}

func unsqueeze(t *testing.T, coding string, body io.Reader) string {
	t.Helper()
	switch coding {
	case "br":
		body = brotli.NewReader(body)
	case "gzip":
		z, err := gzip.NewReader(body)
		if err != nil {
			t.Fatal(err)
		}
		body = z
	case "":
	default:
		t.Fatalf("unexpected content coding %q", coding)
	}
	b, err := io.ReadAll(body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// program stands in for the browser program: long enough to be worth squeezing.
var program = bytes.Repeat([]byte("\x00asm not really"), 400)

// lesser stands in for the one without pictures.
var lesser = bytes.Repeat([]byte("\x00asm, and less"), 300)

func pack4test(t *testing.T) Assets {
	t.Helper()
	files := Own()
	files[Program], files[Plain], files[Runtime] = program, lesser, []byte("// runtime")
	if _, ok := files["boot.js"]; !ok {
		files["boot.js"] = []byte("// boot")
	}
	a, err := Pack(files, squeezer{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func site(t *testing.T) (http.Handler, Assets) {
	t.Helper()
	a := pack4test(t)
	s, err := New(a, "0123456789ab, 2026-11-24", squeezer{})
	if err != nil {
		t.Fatal(err)
	}
	return s, a
}

// ask puts a request to the site; header is pairs of name and value.
func ask(s http.Handler, method, target string, header ...string) *http.Response {
	r := httptest.NewRequest(method, target, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Add(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w.Result()
}

func TestPages(t *testing.T) {
	s, _ := site(t)
	for path, want := range map[string]string{
		"/":                    "Is this screen true enough to judge by?",
		"/check":               `<canvas id="screen"`,
		"/check?length=short":  `<main id="stage"`,
		"/method":              "What no eye can tell",
		"/example":             "An invented example.",
		"/example?anything=at": "kitchen laptop",
	} {
		r := ask(s, "GET", path)
		text := unsqueeze(t, r.Header.Get("Content-Encoding"), r.Body)
		if r.StatusCode != 200 || !strings.Contains(text, want) {
			t.Errorf("%s: status %d, %q in the page: %v", path, r.StatusCode, want, strings.Contains(text, want))
		}
		if got := r.Header.Get("Content-Type"); got != "text/html; charset=utf-8" {
			t.Errorf("%s: content type %q", path, got)
		}
		if got := r.Header.Get("Cache-Control"); got != "no-cache" {
			t.Errorf("%s: Cache-Control %q", path, got)
		}
		for _, must := range []string{"<!doctype html>", `<html lang="en"`, "<title>", `href="#stage"`, "not a measurement"} {
			if !strings.Contains(text, must) {
				t.Errorf("%s: no %q in the page", path, must)
			}
		}
	}
}

// The check's page is a contract with the browser program.
func TestCheckPage(t *testing.T) {
	s, a := site(t)
	text := unsqueeze(t, "", ask(s, "GET", "/check").Body)
	for _, must := range []string{
		`<canvas id="screen"`, `<p id="live"`, `aria-live="polite"`, `<progress id="loading"`, "<noscript>", `<section id="field" `,
		fmt.Sprintf(`<script data-program="%s" data-size="%d" data-whole="%s" data-whole-size="%d">`, a.Address(Plain), len(lesser), a.Address(Program), len(program)) + within("early.js") + "</script>", `data-version="0123456789ab, 2026-11-24"`,
		`<script type="module" async fetchpriority="high" src="` + a.Address("boot.js") + `">`, `<script defer src="` + a.Address(Runtime) + `">`,
	} {
		if !strings.Contains(text, must) {
			t.Errorf("no %s in the page", must)
		}
	}
	if other := unsqueeze(t, "", ask(s, "GET", "/").Body); strings.Count(other, "<script") != 1 || !strings.Contains(other, "<script>"+within("language.js")+"</script>") {
		t.Error("the start page carries another script than the one that chooses its language")
	}
}

// Every address that a page refers to is there.
func TestLinks(t *testing.T) {
	s, _ := site(t)
	links := regexp.MustCompile(`(?:href|src|data-program|data-words)="([^"#]+)`)
	seen := map[string]bool{}
	for _, path := range []string{"/", "/check", "/method", "/example", "/nothing", "/de/", "/de/check", "/de/method", "/de/nothing"} {
		text := unsqueeze(t, "", ask(s, "GET", path).Body)
		for _, m := range links.FindAllStringSubmatch(text, -1) {
			if seen[m[1]] {
				continue
			}
			seen[m[1]] = true
			if !strings.HasPrefix(m[1], "/") || strings.HasPrefix(m[1], "//") {
				t.Errorf("%s refers to %s, which is elsewhere", path, m[1])
			} else if r := ask(s, "GET", m[1]); r.StatusCode != 200 {
				t.Errorf("%s refers to %s: status %d", path, m[1], r.StatusCode)
			}
		}
	}
	if len(seen) < 10 {
		t.Errorf("only %d links were found in all pages", len(seen))
	}
}

func TestEveryAnswerIsProtected(t *testing.T) {
	s, a := site(t)
	for _, q := range [][2]string{
		{"GET", "/"}, {"HEAD", "/check"}, {"GET", "/healthz"}, {"GET", "/version"}, {"GET", "/nothing"}, {"POST", "/"}, {"GET", "//check"}, {"GET", "/a/../check"},
		{"GET", a.Address(Program)}, {"GET", a.Address("look.css")}, {"OPTIONS", "*"}, {"DELETE", "/assets/x"},
	} {
		h := ask(s, q[0], q[1]).Header
		for name, want := range map[string]string{
			"Content-Security-Policy":      "'wasm-unsafe-eval'; style-src 'self';",
			"Permissions-Policy":           "camera=()",
			"Cross-Origin-Opener-Policy":   "same-origin",
			"Cross-Origin-Embedder-Policy": "require-corp",
			"Cross-Origin-Resource-Policy": "same-origin",
			"Referrer-Policy":              "no-referrer",
			"X-Content-Type-Options":       "nosniff",
		} {
			if got := h.Get(name); !strings.Contains(got, want) {
				t.Errorf("%s %s: %s is %q, want %q in it", q[0], q[1], name, got, want)
			}
		}
		if h.Get("Set-Cookie") != "" {
			t.Errorf("%s %s sets a cookie", q[0], q[1])
		}
	}
	// The digests are those of TestScriptsInsidePages.
	if !regexp.MustCompile(`^default-src 'none'; script-src 'self' ('sha256-[^']{44}' ){2}'wasm-unsafe-eval'; `).MatchString(policy) ||
		strings.Contains(policy, "unsafe-inline") || strings.Contains(policy, "unsafe-eval'") && !strings.Contains(policy, "'wasm-unsafe-eval'") {
		t.Error("the policy allows any script or style inside a page")
	}
}

func TestRefusals(t *testing.T) {
	s, a := site(t)
	for _, c := range []struct {
		method, target string
		status         int
		want           string
	}{
		{"GET", "/nothing", 404, "There is nothing at this address"},
		{"GET", "/check/", 404, "There is nothing at this address"},
		{"GET", "/assets/", 404, "There is nothing at this address"},
		{"GET", "/assets/look.css", 404, "There is nothing at this address"},
		{"GET", "/assets/0000000000000000/look.css", 404, "There is nothing at this address"},
		{"GET", a.Address("look.css") + "/", 404, "There is nothing at this address"},
		{"GET", "/assets/..%2fweb.go", 404, "There is nothing at this address"},
		{"GET", "/assets/%2e%2e/%2e%2e/go.mod", 404, "There is nothing at this address"},
		{"GET", `/assets/..\..\go.mod`, 404, "There is nothing at this address"},
		{"GET", "/assets/%00", 404, "There is nothing at this address"},
		{"POST", "/nothing", 404, "There is nothing at this address"},
		{"POST", "/", 405, "That can't be done here"},
		{"PUT", "/check", 405, "That can't be done here"},
		{"DELETE", a.Address("look.css"), 405, "That can't be done here"},
		{"POST", "/healthz", 405, "That can't be done here"},
	} {
		r := ask(s, c.method, c.target)
		text := unsqueeze(t, r.Header.Get("Content-Encoding"), r.Body)
		if r.StatusCode != c.status || !strings.Contains(text, c.want) && !strings.Contains(text, strings.ReplaceAll(c.want, "'", "&#39;")) {
			t.Errorf("%s %s: status %d, want %d with %q\n%.200s", c.method, c.target, r.StatusCode, c.status, c.want, text)
		}
		if allow := r.Header.Get("Allow"); (allow == "GET, HEAD") != (c.status == 405) {
			t.Errorf("%s %s: Allow is %q", c.method, c.target, allow)
		}
		if got := r.Header.Get("Cache-Control"); got != "no-store" {
			t.Errorf("%s %s: Cache-Control %q", c.method, c.target, got)
		}
	}
	// The path is cleaned before anything is looked up, and never leads off the site.
	for _, target := range []string{"/a/../check", "//example.org/..//check"} {
		r := ask(s, "GET", target)
		if to := r.Header.Get("Location"); r.StatusCode/100 != 3 || strings.HasPrefix(to, "//") || !strings.HasPrefix(to, "/") {
			t.Errorf("%s: status %d to %q", target, r.StatusCode, to)
		}
	}
}

func TestMachines(t *testing.T) {
	s, a := site(t)
	r := ask(s, "GET", "/healthz")
	if text := unsqueeze(t, "", r.Body); r.StatusCode != 200 || text != "live\n" || r.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("/healthz: %d %q", r.StatusCode, text)
	}
	r = ask(s, "GET", "/version")
	want := `{"version":"0123456789ab, 2026-11-24","program":"` + a.Digest(Program) + `","plain":"` + a.Digest(Plain) + `","go":"` + runtime.Version() + "\"}\n"
	if text := unsqueeze(t, "", r.Body); text != want || r.Header.Get("Content-Type") != "application/json" {
		t.Errorf("/version: %q, want %q", text, want)
	}
}

// HEAD over a real connection: the length of GET, and no body.
func TestHead(t *testing.T) {
	s, a := site(t)
	host := httptest.NewServer(s)
	defer host.Close()
	client := &http.Client{Transport: &http.Transport{DisableCompression: true}}
	for _, path := range []string{"/", "/healthz", "/version", "/nothing", a.Address(Program)} {
		for _, accept := range []string{"identity", "gzip, br"} {
			var length [2]int64
			for i, method := range []string{"GET", "HEAD"} {
				q, _ := http.NewRequest(method, host.URL+path, nil)
				q.Header.Set("Accept-Encoding", accept)
				r, err := client.Do(q)
				if err != nil {
					t.Fatal(err)
				}
				b, _ := io.ReadAll(r.Body)
				r.Body.Close()
				length[i] = r.ContentLength
				if want := length[0]; method == "GET" && int64(len(b)) != want || method == "HEAD" && len(b) != 0 {
					t.Errorf("%s %s (%s): %d bytes", method, path, accept, len(b))
				}
			}
			if length[0] <= 0 || length[0] != length[1] {
				t.Errorf("%s (%s): GET has length %d, HEAD %d", path, accept, length[0], length[1])
			}
		}
	}
}

// Without assets, as on a host that serves them itself, pages refer to bare names.
func TestWithoutAssets(t *testing.T) {
	s, err := New(Assets{}, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	text := unsqueeze(t, "", ask(s, "GET", "/check", "Accept-Encoding", "br").Body)
	for _, must := range []string{`href="/assets/look.css"`, `data-program="/assets/check.wasm"`, `data-size="0"`} {
		if !strings.Contains(text, must) {
			t.Errorf("no %s in the page", must)
		}
	}
	if r := ask(s, "GET", "/assets/look.css"); r.StatusCode != 404 {
		t.Errorf("an asset that is not here: status %d", r.StatusCode)
	}
}
