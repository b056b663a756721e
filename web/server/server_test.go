package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/andybalholm/brotli"
)

func TestConfigure(t *testing.T) {
	plain := config{addr: "127.0.0.1:8440", limit: 256 << 20, rate: 40}
	with := func(change func(*config)) config {
		c := plain
		change(&c)
		return c
	}
	at := func(addr string) config { return with(func(c *config) { c.addr = addr }) }
	open := func(addr string) config { return with(func(c *config) { c.addr, c.open = addr, true }) }
	kept := with(func(c *config) { c.data, c.limit = "letters", 10<<30 })
	for _, c := range []struct {
		args []string
		env  string
		want config
	}{
		{nil, "", plain},
		{nil, "127.0.0.1:9000", at("127.0.0.1:9000")},
		{nil, " localhost:0 ", at("localhost:0")},
		{[]string{"-addr", "[::1]:9001"}, "127.0.0.1:9000", at("[::1]:9001")},
		{[]string{"-addr=127.0.0.2:1"}, "nonsense", at("127.0.0.2:1")},
		{[]string{"-addr", "0.0.0.0:80"}, "", open("0.0.0.0:80")},
		{[]string{"-addr", ":80"}, "", open(":80")},
		{[]string{"-addr", "192.0.2.1:80"}, "", open("192.0.2.1:80")},
		{[]string{"-addr", "plumb.example:80"}, "", open("plumb.example:80")},
		{[]string{"-version"}, "", with(func(c *config) { c.version = true })},
		{[]string{"-export", "site"}, "", with(func(c *config) { c.export = "site" })},
		{[]string{"-data", "letters"}, "", kept},
		{nil, "data letters", kept},
		{[]string{"-data", "letters"}, "data other", kept},
		{[]string{"-limit", "500m"}, "", with(func(c *config) { c.limit = 500 << 20 })},
		{[]string{"-limit", "12345"}, "", with(func(c *config) { c.limit = 12345 })},
		{[]string{"-data", "letters", "-limit", "3K"}, "", with(func(c *config) { c.data, c.limit = "letters", 3<<10 })},
		{[]string{"-rate", "7", "-proxy"}, "", with(func(c *config) { c.rate, c.proxy = 7, true })},
		{[]string{"backup", "b.tar"}, "", with(func(c *config) { c.data, c.limit, c.command, c.file = ".data", 10<<30, "backup", "b.tar" })},
		{[]string{"-data", "letters", "restore", "b.tar"}, "", with(func(c *config) { c.data, c.limit, c.command, c.file = "letters", 10<<30, "restore", "b.tar" })},
		{[]string{"purge"}, "data letters", with(func(c *config) { c.data, c.limit, c.command = "letters", 10<<30, "purge" })},
		{[]string{"verify", "r.txt"}, "", with(func(c *config) { c.command, c.file, c.beside = "verify", "r.txt", []string{} })},
		{[]string{"verify", "r.txt", "a.jpg", "-b.jpg"}, "", with(func(c *config) { c.command, c.file, c.beside = "verify", "r.txt", []string{"a.jpg", "-b.jpg"} })},
	} {
		got, err := configure(c.args, env(c.env))
		if err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%v with %q: %+v, %v; want %+v", c.args, c.env, got, err, c.want)
		}
	}
}

// env is an environment with an address, or after "data " with a folder.
func env(value string) func(string) string {
	folder, ok := strings.CutPrefix(value, "data ")
	return func(name string) string {
		switch {
		case name == "PLUMB_ADDR" && !ok:
			return value
		case name == "PLUMB_DATA" && ok:
			return folder
		case name == "PLUMB_ADDR", name == "PLUMB_DATA":
			return ""
		}
		return "of another variable"
	}
}

func TestConfigureRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		env  string
		want string // in the error
	}{
		{[]string{"-addr", "foo"}, "", `-addr: "foo" is no host:port`},
		{[]string{"-addr", ""}, "127.0.0.1:9000", `-addr: "" is no host:port`},
		{[]string{"-addr", "127.0.0.1:70000"}, "", "the port is no number from 0 to 65535"},
		{[]string{"-addr", "127.0.0.1:http"}, "", "the port is no number"},
		{[]string{"-addr", "127.0.0.1:-1"}, "", "the port is no number"},
		{[]string{"-addr", "http://127.0.0.1:80"}, "", "is no host:port"},
		{[]string{"-addr", "a b:80"}, "", "is no host:port"},
		{[]string{"-port", "80"}, "", "flag provided but not defined: -port"},
		{[]string{"8440"}, "", `"8440" is not understood`},
		{[]string{"-data", ""}, "", "-data: no folder is named"},
		{[]string{"-export", ""}, "", "-export: one folder has to be named"},
		{[]string{"-export", "site", "purge"}, "", "-export: one folder has to be named, and no command"},
		{[]string{"-limit", "0"}, "", `-limit: "0" is no size`},
		{[]string{"-limit", "-5M"}, "", `is no size`},
		{[]string{"-limit", "10 GB"}, "", `is no size`},
		{[]string{"-limit", "9999999999G"}, "", `is no size`},
		{[]string{"-rate", "0"}, "", "-rate: 0 is not from 1"},
		{[]string{"verify"}, "", "verify: a record has to be named"},
		{[]string{"backup"}, "", "backup: one file has to be named"},
		{[]string{"purge", "-data", "x"}, "", "flags stand before the command"},
		{nil, "foo", `PLUMB_ADDR: "foo" is no host:port`},
		{nil, "0.0.0.0:80", "say so with -addr 0.0.0.0:80"},
		{nil, ":80", "say so with -addr :80"},
	} {
		got, err := configure(c.args, env(c.env))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "server: ") {
			t.Errorf("%v with %q: error %v, want %q in it", c.args, c.env, err, c.want)
		}
		if !reflect.DeepEqual(got, config{}) {
			t.Errorf("%v with %q: refused, but %+v", c.args, c.env, got)
		}
	}
	if _, err := configure([]string{"-help"}, env("")); !errors.Is(err, flag.ErrHelp) {
		t.Errorf("-help: error %v", err)
	}
}

// Every flag and every variable is told.
func TestUsage(t *testing.T) {
	for _, word := range []string{"-addr", "-data", "-limit", "-rate", "-proxy", "-export DIR", "-version", "-help", "backup FILE", "restore FILE", "purge", "verify FILE", "PLUMB_ADDR", "PLUMB_DATA", usual, "127.0.0.1:8440", "/healthz", "/version", ".build"} {
		if !strings.Contains(usage, word) {
			t.Errorf("-help does not tell of %s", word)
		}
	}
}

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestPress(t *testing.T) {
	dir := t.TempDir()
	body := bytes.Repeat([]byte("the same again "), 1000)
	first := &press{dir: dir}
	br, err := first.Compress("br", body)
	if err != nil {
		t.Fatal(err)
	}
	if back, err := io.ReadAll(brotli.NewReader(bytes.NewReader(br))); err != nil || !bytes.Equal(back, body) || len(br) >= len(body) {
		t.Fatalf("brotli: %d bytes of %d come back as %d, %v", len(br), len(body), len(back), err)
	}
	if _, err := first.Compress("gzip", body); err != nil {
		t.Fatal(err)
	}
	if _, err := first.Compress("zstd", body); err == nil {
		t.Error("an unknown coding is squeezed")
	}
	kept, _ := filepath.Glob(filepath.Join(dir, "*"))
	if len(kept) != 2 {
		t.Fatalf("%d files are kept, want 2", len(kept))
	}

	// What was kept is used, unless it is damaged.
	for _, name := range kept {
		write(t, name, "cut short")
	}
	second := &press{dir: dir}
	again, err := second.Compress("br", body)
	if err != nil || !bytes.Equal(again, br) {
		t.Errorf("a damaged file was used: %v", err)
	}
	// A file that gives back the same by another way shows that it is read.
	var other bytes.Buffer
	w := brotli.NewWriterLevel(&other, 0)
	w.Write(body)
	w.Close()
	for _, name := range kept {
		if strings.Contains(name, ".br") {
			write(t, name, other.String())
		}
	}
	if used, _ := second.Compress("br", body); !bytes.Equal(used, other.Bytes()) {
		t.Error("what was kept was not used")
	}

	// What this start did not use goes.
	if err := second.tidy(); err != nil {
		t.Fatal(err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) != 1 || !strings.Contains(left[0], ".br") {
		t.Errorf("left: %v", left)
	}
	if err := (&press{dir: filepath.Join(dir, "none")}).tidy(); err != nil {
		t.Errorf("nothing to tidy: %v", err)
	}
	// A folder that cannot be written costs time, not the start.
	write(t, filepath.Join(dir, "file"), "")
	if _, err := (&press{dir: filepath.Join(dir, "file", "in")}).Compress("gzip", body); err != nil {
		t.Errorf("a folder that cannot be made: %v", err)
	}
}

// buffer may be written and read at the same time.
type buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

// within waits for something to become true.
func within(t *testing.T, what string, d time.Duration, f func() bool) {
	t.Helper()
	for end := time.Now().Add(d); !f(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%s: not within %v", what, d)
		}
	}
}

// A stop lets an answer under way come to its end.
func TestServeStops(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	entered := make(chan bool)
	slow := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		entered <- true
		<-ctx.Done()
		time.Sleep(50 * time.Millisecond)
		io.WriteString(w, "whole")
	})
	var out, log buffer
	ended := make(chan error, 1)
	go func() { ended <- serve(ctx, l, slow, &out, &log) }()
	within(t, "the link", 5*time.Second, func() bool { return out.String() == "Plumb is at http://"+l.Addr().String()+"/\n" })
	answer := make(chan string, 1)
	go func() {
		r, err := http.Get("http://" + l.Addr().String())
		if err != nil {
			answer <- err.Error()
			return
		}
		defer r.Body.Close()
		b, _ := io.ReadAll(r.Body)
		answer <- string(b)
	}()
	<-entered
	stop()
	if got := <-answer; got != "whole" {
		t.Errorf("the answer under way: %q", got)
	}
	if err := <-ended; err != nil {
		t.Errorf("the stop: %v", err)
	}
	if _, err := net.DialTimeout("tcp", l.Addr().String(), time.Second); err == nil {
		t.Error("it listens after its end")
	}
}

func TestLink(t *testing.T) {
	for addr, want := range map[string]string{
		"127.0.0.1:8440": "http://127.0.0.1:8440/",
		"[::1]:8440":     "http://[::1]:8440/",
		"0.0.0.0:80":     "http://127.0.0.1:80/",
		"[::]:80":        "http://127.0.0.1:80/",
		"192.0.2.1:80":   "http://192.0.2.1:80/",
	} {
		a, err := net.ResolveTCPAddr("tcp", addr)
		if err != nil {
			t.Fatal(err)
		}
		if got := link(a); got != want {
			t.Errorf("%s: %s, want %s", addr, got, want)
		}
	}
}

func TestTaken(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	err = run(context.Background(), config{addr: l.Addr().String(), limit: 1 << 20, rate: 40}, io.Discard, io.Discard)
	if err == nil || !strings.Contains(err.Error(), "-addr") || !strings.Contains(err.Error(), l.Addr().String()) {
		t.Errorf("an address that is taken: error %v", err)
	}
}

// A whole start in a source of its own, whose browser programs do nothing.
func TestStart(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program")
	}
	root := small(t)
	t.Chdir(filepath.Join(root, "wasm"))
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	var out, log buffer
	ended := make(chan error, 1)
	go func() { ended <- run(ctx, config{addr: "127.0.0.1:0", limit: 1 << 20, rate: 40}, &out, &log) }()
	within(t, "the start", 2*time.Minute, func() bool {
		select {
		case err := <-ended:
			t.Fatalf("ended with %v\n%s", err, log.String())
		default:
		}
		return out.String() != ""
	})
	home := strings.TrimSpace(strings.TrimPrefix(out.String(), "Plumb is at "))
	get := func(at string) (int, string) {
		r, err := http.Get(strings.TrimSuffix(home, "/") + at)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		b, err := io.ReadAll(r.Body)
		if err != nil {
			t.Fatal(err)
		}
		return r.StatusCode, string(b)
	}
	if status, text := get("/"); status != 200 || !strings.Contains(text, "Is this screen true enough") {
		t.Errorf("the start page: status %d", status)
	}
	_, page := get("/check")
	for attribute, begins := range map[string]string{"data-program": "\x00asm", "defer src": "// Copyright"} {
		m := regexp.MustCompile(attribute + `="([^"]+)"`).FindStringSubmatch(page)
		if m == nil {
			t.Fatalf("no %s on the check's page", attribute)
		}
		if status, text := get(m[1]); status != 200 || !strings.HasPrefix(text, begins) {
			t.Errorf("%s: status %d, begins %.12q", m[1], status, text)
		}
	}
	var about struct{ Version, Program string }
	if _, text := get("/version"); json.Unmarshal([]byte(text), &about) != nil || about.Version == "" || len(about.Program) != 64 {
		t.Errorf("/version: %s", text)
	}
	if left, _ := filepath.Glob(filepath.Join(root, ".build", "program-*")); len(left) != 0 {
		t.Errorf("the build leaves %v", left)
	}
	if kept, _ := filepath.Glob(filepath.Join(root, ".build", "squeezed", "*")); len(kept) < 4 {
		t.Errorf("kept: %v", kept)
	}
	stop()
	if err := <-ended; err != nil {
		t.Errorf("the stop: %v", err)
	}
}

// A browser program that does not build is told with what the compiler said.
func TestBuildFails(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program")
	}
	root := t.TempDir()
	write(t, filepath.Join(root, "go.mod"), "module example.org/plumb\n\ngo 1.26.0\n")
	write(t, filepath.Join(root, "wasm", "main.go"), "package main\n\nfunc main() { wrong }\n")
	_, err := assemble(context.Background(), root, io.Discard)
	if err == nil || !strings.Contains(err.Error(), "undefined: wrong") || !strings.Contains(err.Error(), "go build") {
		t.Errorf("error %v", err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := assemble(gone, root, io.Discard); err == nil || !strings.Contains(err.Error(), "stopped while running go ") {
		t.Errorf("stopped: error %v", err)
	}
}
