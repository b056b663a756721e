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
		{nil, "ADDR=127.0.0.1:9000", at("127.0.0.1:9000")},
		{nil, "ADDR= localhost:0 ", at("localhost:0")},
		{[]string{"-addr", "[::1]:9001"}, "ADDR=127.0.0.1:9000", at("[::1]:9001")},
		{[]string{"-addr=127.0.0.2:1"}, "ADDR=nonsense", at("127.0.0.2:1")},
		{[]string{"-addr", "0.0.0.0:80"}, "", open("0.0.0.0:80")},
		{[]string{"-addr", ":80"}, "", open(":80")},
		{[]string{"-addr", "192.0.2.1:80"}, "", open("192.0.2.1:80")},
		{[]string{"-addr", "plumb.example:80"}, "", open("plumb.example:80")},
		{[]string{"-version"}, "", with(func(c *config) { c.version = true })},
		{[]string{"-export", "site"}, "", with(func(c *config) { c.export = "site" })},
		{[]string{"-data", "letters"}, "", kept},
		{nil, "DATA=letters", kept},
		{[]string{"-data", "letters"}, "DATA=other", kept},
		{[]string{"-limit", "500m"}, "", with(func(c *config) { c.limit = 500 << 20 })},
		{[]string{"-limit", "12345"}, "", with(func(c *config) { c.limit = 12345 })},
		{[]string{"-data", "letters", "-limit", "3K"}, "", with(func(c *config) { c.data, c.limit = "letters", 3<<10 })},
		{nil, "LIMIT=2G", with(func(c *config) { c.limit = 2 << 30 })},
		{[]string{"-limit", "3G"}, "LIMIT=much", with(func(c *config) { c.limit = 3 << 30 })},
		{nil, "RATE=9; PROXY=true; REQUESTS=1; LOG=json", with(func(c *config) { c.rate, c.proxy, c.requests, c.json = 9, true, true, true })},
		{[]string{"-rate=8", "-proxy=false", "-requests=false", "-log", "text"}, "RATE=none; PROXY=true; REQUESTS=true; LOG=json", with(func(c *config) { c.rate = 8 })},
		{[]string{"-requests", "-log=json"}, "", with(func(c *config) { c.requests, c.json = true, true })},
		{nil, "METRICS=127.0.0.1:9100", with(func(c *config) { c.metrics = "127.0.0.1:9100" })},
		{[]string{"-metrics", "localhost:9100"}, "METRICS=nonsense", with(func(c *config) { c.metrics = "localhost:9100" })},
		{[]string{"-metrics", ":9100"}, "", with(func(c *config) { c.metrics, c.bare = ":9100", true })},
		{[]string{"-addr", "127.0.0.1:0", "-metrics", "127.0.0.1:0"}, "", with(func(c *config) { c.addr, c.metrics = "127.0.0.1:0", "127.0.0.1:0" })},
		{[]string{"ready"}, "", with(func(c *config) { c.command = "ready" })},
		{[]string{"-rate", "7", "-proxy"}, "", with(func(c *config) { c.rate, c.proxy = 7, true })},
		{[]string{"backup", "b.tar"}, "", with(func(c *config) { c.data, c.limit, c.command, c.file = ".data", 10<<30, "backup", "b.tar" })},
		{[]string{"-data", "letters", "restore", "b.tar"}, "", with(func(c *config) { c.data, c.limit, c.command, c.file = "letters", 10<<30, "restore", "b.tar" })},
		{[]string{"purge"}, "DATA=letters", with(func(c *config) { c.data, c.limit, c.command = "letters", 10<<30, "purge" })},
		{[]string{"verify", "r.txt"}, "", with(func(c *config) { c.command, c.file, c.beside = "verify", "r.txt", []string{} })},
		{[]string{"verify", "r.txt", "a.jpg", "-b.jpg"}, "", with(func(c *config) { c.command, c.file, c.beside = "verify", "r.txt", []string{"a.jpg", "-b.jpg"} })},
	} {
		got, err := configure(c.args, env(c.env))
		if err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%v with %q: %+v, %v; want %+v", c.args, c.env, got, err, c.want)
		}
	}
}

// env is an environment of "NAME=value; NAME=value", to each of whose names PLUMB_ belongs.
func env(text string) func(string) string {
	set := map[string]string{}
	for pair := range strings.SplitSeq(text, ";") {
		name, value, _ := strings.Cut(strings.TrimLeft(pair, " "), "=")
		set["PLUMB_"+name] = value
	}
	return func(name string) string { return set[name] }
}

func TestConfigureRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		env  string
		want string // in the error
	}{
		{[]string{"-addr", "foo"}, "", `-addr: "foo" is no host:port`},
		{[]string{"-addr", ""}, "ADDR=127.0.0.1:9000", `-addr: "" is no host:port`},
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
		{[]string{"-rate", "0"}, "", `-rate: "0" is no whole number from 1 to 1000000`},
		{nil, "RATE=many", `PLUMB_RATE: "many" is no whole number from 1`},
		{nil, "LIMIT=10 GB", `PLUMB_LIMIT: "10 GB" is no size, such as 500M or 10G`},
		{nil, "PROXY=perhaps", `PLUMB_PROXY: "perhaps" is neither true nor false`},
		{nil, "REQUESTS=no", `PLUMB_REQUESTS: "no" is neither true nor false`},
		{[]string{"-proxy=perhaps"}, "", `invalid boolean value "perhaps" for -proxy`},
		{[]string{"-log", "xml"}, "", `-log: "xml" is no form of a log; it is text or json`},
		{[]string{"-log", ""}, "", `-log: "" is no form of a log`},
		{nil, "LOG=JSON", `PLUMB_LOG: "JSON" is no form of a log`},
		{[]string{"-metrics", ""}, "", `-metrics: "" is no host:port`},
		{[]string{"-metrics", "9100"}, "", `-metrics: "9100" is no host:port`},
		{nil, "METRICS=:9100", "PLUMB_METRICS: other computers can reach :9100; if that is meant, say so with -metrics :9100"},
		{[]string{"-metrics", "127.0.0.1:8440"}, "", "-metrics: the site is served at 127.0.0.1:8440 already"},
		{[]string{"ready", "now"}, "", "ready: nothing stands after it"},
		{[]string{"verify"}, "", "verify: a record has to be named"},
		{[]string{"backup"}, "", "backup: one file has to be named"},
		{[]string{"purge", "-data", "x"}, "", "flags stand before the command"},
		{nil, "ADDR=foo", `PLUMB_ADDR: "foo" is no host:port`},
		{nil, "ADDR=0.0.0.0:80", "say so with -addr 0.0.0.0:80"},
		{nil, "ADDR=:80", "say so with -addr :80"},
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

// Every flag, every variable and every command is told, and what is told is understood.
func TestUsage(t *testing.T) {
	told := usage("plumb")
	for _, word := range []string{"\tplumb [flags]\n", "-addr", "-data", "-limit", "-rate", "-proxy", "-metrics", "-log text|json", "-requests", "-export DIR", "-version", "-help",
		"backup FILE", "restore FILE", "purge", "ready", "verify FILE", usual, home, "/healthz", "/readyz", "/version", "/metrics", ".build"} {
		if !strings.Contains(told, word) {
			t.Errorf("-help does not tell of %s", word)
		}
	}
	set := map[string]string{"addr": "127.0.0.1:1", "data": "letters", "limit": "1", "rate": "1", "proxy": "true", "metrics": "127.0.0.1:2", "log": "json", "requests": "true"}
	variables := regexp.MustCompile(`PLUMB_[A-Z]+`).FindAllString(help, -1)
	if len(variables) != len(set) {
		t.Errorf("%d variables are told, want %d: %v", len(variables), len(set), variables)
	}
	nothing, _ := configure(nil, env(""))
	for name, value := range set {
		variable := "PLUMB_" + strings.ToUpper(name)
		if !strings.Contains(told, "-"+name) || !strings.Contains(told, "\t "+variable+" ") {
			t.Errorf("-help does not tell of -%s and %s", name, variable)
		}
		byFlag, err := configure([]string{"-" + name + "=" + value}, env(""))
		byEnv, other := configure(nil, env(strings.ToUpper(name)+"="+value))
		if err != nil || other != nil || !reflect.DeepEqual(byFlag, byEnv) || reflect.DeepEqual(byFlag, nothing) {
			t.Errorf("%s: by flag %+v, %v; by environment %+v, %v", name, byFlag, err, byEnv, other)
		}
	}
	for line := range strings.Lines(told) {
		if len(strings.ReplaceAll(line, "\t", "        ")) > 90 {
			t.Errorf("too long a line: %s", line)
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

// nobody reads this log.
var nobody = journal(io.Discard, false)

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
	ended := make(chan error, 1)
	go func() { ended <- serve(ctx, l, slow, nobody) }()
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
	err = run(context.Background(), config{addr: l.Addr().String(), limit: 1 << 20, rate: 40}, io.Discard, nobody)
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
	go func() {
		ended <- run(ctx, config{addr: "127.0.0.1:0", limit: 1 << 20, rate: 40}, &out, journal(&log, false))
	}()
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
	write(t, filepath.Join(root, "web", "pages", "small_templ.go"), "package pages\n")
	write(t, filepath.Join(root, "wasm", "main.go"), "package main\n\nfunc main() { wrong }\n")
	_, err := assemble(context.Background(), builder{root: root}, nobody)
	if err == nil || !strings.Contains(err.Error(), "undefined: wrong") || !strings.Contains(err.Error(), "go build") {
		t.Errorf("error %v", err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := assemble(gone, builder{root: root}, nobody); err == nil || !strings.Contains(err.Error(), "stopped while running go ") {
		t.Errorf("stopped: error %v", err)
	}
}
