package web

import (
	"errors"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func TestAsset(t *testing.T) {
	s, a := site(t)
	at := a.Address(Program)
	if !regexp.MustCompile(`^/assets/[0-9a-f]{16}/plumb\.wasm$`).MatchString(at) {
		t.Fatalf("address %q", at)
	}
	tags := map[string]bool{}
	for accept, want := range map[string]string{"": "", "identity": "", "gzip": "gzip", "gzip, deflate, br, zstd": "br", "br;q=0.1, gzip": "gzip", "br;q=0, *": "gzip"} {
		r := ask(s, "GET", at, "Accept-Encoding", accept)
		if got := r.Header.Get("Content-Encoding"); got != want {
			t.Errorf("accepting %q: coding %q, want %q", accept, got, want)
		}
		if n, _ := strconv.Atoi(r.Header.Get("Content-Length")); n <= 0 || want != "" && n >= len(program) {
			t.Errorf("accepting %q: length %d of %d", accept, n, len(program))
		}
		if got := unsqueeze(t, r.Header.Get("Content-Encoding"), r.Body); got != string(program) {
			t.Errorf("accepting %q: %d bytes come out, want %d", accept, len(got), len(program))
		}
		for name, want := range map[string]string{"Content-Type": "application/wasm", "Cache-Control": "public, max-age=31536000, immutable", "Vary": "Accept-Encoding"} {
			if got := r.Header.Get(name); got != want {
				t.Errorf("accepting %q: %s is %q, want %q", accept, name, got, want)
			}
		}
		tags[r.Header.Get("ETag")] = true
	}
	if len(tags) != 3 || tags[""] {
		t.Errorf("three codings have the tags %v", tags)
	}
}

func TestConditional(t *testing.T) {
	s, a := site(t)
	for _, at := range []string{"/", a.Address(Program)} {
		first := ask(s, "GET", at, "Accept-Encoding", "br")
		tag := first.Header.Get("ETag")
		again := ask(s, "GET", at, "Accept-Encoding", "br", "If-None-Match", tag)
		if again.StatusCode != 304 || again.Header.Get("ETag") != tag || again.Header.Get("Cache-Control") == "" || again.Header.Get("Vary") == "" {
			t.Errorf("%s: unchanged, status %d %v", at, again.StatusCode, again.Header)
		}
		if r := ask(s, "GET", at, "Accept-Encoding", "gzip", "If-None-Match", tag); r.StatusCode != 200 {
			t.Errorf("%s: the tag of one coding holds for another, status %d", at, r.StatusCode)
		}
		if r := ask(s, "GET", at, "If-Match", `"other"`); r.StatusCode != 412 {
			t.Errorf("%s: a failed If-Match, status %d", at, r.StatusCode)
		}
	}
}

func TestRange(t *testing.T) {
	s, a := site(t)
	at := a.Address(Program)
	r := ask(s, "GET", at, "Range", "bytes=4-9", "Accept-Encoding", "br, gzip")
	if got := unsqueeze(t, "", r.Body); r.StatusCode != 206 || got != string(program[4:10]) || r.Header.Get("Content-Encoding") != "" {
		t.Errorf("a range: status %d, %q, coding %q", r.StatusCode, got, r.Header.Get("Content-Encoding"))
	}
	if r := ask(s, "GET", at, "Range", "bytes=99999999-"); r.StatusCode != 416 {
		t.Errorf("a range beyond the end: status %d", r.StatusCode)
	}
	whole := ask(s, "GET", at, "Accept-Encoding", "br").Header.Get("ETag")
	r = ask(s, "GET", at, "Range", "bytes=4-9", "If-Range", whole)
	if got := unsqueeze(t, "", r.Body); r.StatusCode != 200 || got != string(program) {
		t.Errorf("a range of another coding: status %d, %d bytes", r.StatusCode, len(got))
	}
}

func TestNotAcceptable(t *testing.T) {
	s, a := site(t)
	r := ask(s, "GET", a.Address(Program), "Accept-Encoding", "zstd, identity;q=0")
	if r.StatusCode != 406 || r.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("status %d, %q", r.StatusCode, r.Header.Get("Cache-Control"))
	}
}

// Some hosts hand on a list as several values of one header.
func TestSplitHeader(t *testing.T) {
	s, a := site(t)
	r := ask(s, "GET", a.Address(Program), "Accept-Encoding", "gzip;q=0.5", "Accept-Encoding", " br")
	if got := r.Header.Get("Content-Encoding"); got != "br" {
		t.Errorf("coding %q, want br", got)
	}
}

func TestPack(t *testing.T) {
	a, err := Pack(map[string][]byte{"a.css": []byte(`@font-face{src:url( 'f.woff2' )}`), "f.woff2": []byte("font")}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if css := string(a.at[a.Address("a.css")].plain); css != `@font-face{src:url("`+a.Address("f.woff2")+`")}` {
		t.Errorf("the style sheet became %s", css)
	}
	b, _ := Pack(map[string][]byte{"a.css": []byte(`@font-face{src:url( 'f.woff2' )}`), "f.woff2": []byte("other")}, nil)
	if a.Address("a.css") == b.Address("a.css") {
		t.Error("a style sheet keeps its address though a file it refers to changed")
	}
	for name, files := range map[string]map[string][]byte{
		"names no file":   {"a.css": []byte(`url(missing.woff2)`)},
		"elsewhere":       {"a.css": []byte(`url(https://example.org/x.svg)`)},
		"no content type": {"a.exe": nil},
	} {
		if _, err := Pack(files, nil); err == nil || !strings.HasPrefix(err.Error(), "web: a.") {
			t.Errorf("%s: error %v", name, err)
		}
	}
	if _, err := Pack(map[string][]byte{"a.js": []byte("x")}, broken{}); !errors.Is(err, errBroken) {
		t.Errorf("a compressor that fails: error %v", err)
	}
}

var errBroken = errors.New("broken")

type broken struct{}

func (broken) Compress(string, []byte) ([]byte, error) { return nil, errBroken }

// What the pages refer to by name is carried, with the licence beside the typeface.
func TestOwn(t *testing.T) {
	own := Own()
	for _, name := range []string{"look.css", "atkinson-400.woff2", "atkinson-600.woff2", "OFL.txt", "icon.svg"} {
		if len(own[name]) == 0 {
			t.Errorf("no %s", name)
		}
	}
	if !strings.Contains(string(own["OFL.txt"]), "SIL OPEN FONT LICENSE Version 1.1") {
		t.Error("OFL.txt is not the licence of the typeface")
	}
	for name, b := range own {
		if strings.HasSuffix(name, ".woff2") && !strings.HasPrefix(string(b), "wOF2") {
			t.Errorf("%s is no WOFF2 file", name)
		}
	}
}
