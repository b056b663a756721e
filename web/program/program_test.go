package program

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/plumb/web"
)

func write(t *testing.T, name, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestRoot(t *testing.T) {
	root, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	deep, other := filepath.Join(root, "a", "b"), filepath.Join(root, "a", "other")
	write(t, filepath.Join(root, "go.mod"), "// a comment\nmodule example.org/plumb // another\n\ngo 1.26\n")
	write(t, filepath.Join(deep, "file"), "")
	write(t, filepath.Join(other, "go.mod"), "module example.org/plumbline\n")
	for _, dir := range []string{root, deep, other} {
		if got, err := Root(dir); err != nil || got != root {
			t.Errorf("from %s: %s, %v; want %s", dir, got, err, root)
		}
	}
	if got, err := Root(t.TempDir()); err == nil || !strings.Contains(err.Error(), "start this inside a clone") {
		t.Errorf("outside: %s, %v", got, err)
	}
	// The constant is this module's path.
	wd, _ := os.Getwd()
	if got, err := Root(wd); err != nil || got != filepath.Dir(filepath.Dir(wd)) {
		t.Errorf("from this package: %s, %v", got, err)
	}
}

func TestBuilds(t *testing.T) {
	root, ctx := t.TempDir(), context.Background()
	write(t, filepath.Join(root, "go.mod"), "module example.org/plumb\n\ngo 1.26.0\n")
	write(t, filepath.Join(root, "web", "pages", "small_templ.go"), "package pages\n")
	browser, looker, worker := filepath.Join(root, "wasm", "main.go"), filepath.Join(root, "wasm", "looker", "main.go"), filepath.Join(root, "web", "worker", "main.go")
	write(t, browser, "package main\n\nfunc main() { pictures() }\n")
	write(t, filepath.Join(root, "wasm", "pictures.go"), "//go:build !plain\n\npackage main\n\nfunc pictures() { println(4, 5, 6) }\n")
	write(t, filepath.Join(root, "wasm", "plain.go"), "//go:build plain\n\npackage main\n\nfunc pictures() {}\n")
	write(t, worker, "package main\n\nfunc main() { println(1) }\n")
	write(t, looker, "package main\n\nfunc main() { println(2, 3) }\n")
	a, err := Browser(ctx, root)
	b, other := Worker(ctx, root)
	c, third := Looker(ctx, root)
	d, fourth := Plain(ctx, root)
	for i, p := range [][]byte{a, b, c, d} {
		if !bytes.HasPrefix(p, []byte("\x00asm")) {
			t.Errorf("program %d has %d bytes", i, len(p))
		}
	}
	if fourth != nil || bytes.Equal(a, d) || bytes.Equal(b, d) {
		t.Fatalf("plain: %d bytes, %v", len(d), fourth)
	}
	if err != nil || other != nil || third != nil || bytes.Equal(a, b) || bytes.Equal(b, c) || bytes.Equal(c, a) {
		t.Fatalf("browser: %d bytes, %v; worker: %d bytes, %v; looker: %d bytes, %v", len(a), err, len(b), other, len(c), third)
	}
	if all, err := Assets(ctx, root); err != nil || !bytes.Equal(all[web.Program], a) || !bytes.Equal(all[web.Plain], d) || !bytes.Equal(all[web.Looker], c) || len(all[web.Runtime]) == 0 || len(all["looker.js"]) == 0 {
		t.Errorf("assets: %v", err)
	}
	if script, err := Script(ctx, root); err != nil || !bytes.Contains(script, []byte("globalThis.Go = class")) {
		t.Errorf("script: %d bytes, %v", len(script), err)
	}

	write(t, browser, "package main\n\nfunc main() { wrong }\n")
	if _, err := Browser(ctx, root); err == nil || !strings.Contains(err.Error(), "undefined: wrong") || !strings.HasPrefix(err.Error(), "program: go build") {
		t.Errorf("of a broken program: %v", err)
	}
	gone, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := Browser(gone, root); err == nil || !strings.Contains(err.Error(), "stopped while running go ") {
		t.Errorf("stopped: %v", err)
	}
}
