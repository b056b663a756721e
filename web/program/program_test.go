package program

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
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
	browser, worker := filepath.Join(root, "wasm", "main.go"), filepath.Join(root, "web", "worker", "main.go")
	write(t, browser, "package main\n\nfunc main() {}\n")
	write(t, worker, "package main\n\nfunc main() { println(1) }\n")
	a, err := Browser(ctx, root)
	b, other := Worker(ctx, root)
	if err != nil || other != nil || !bytes.HasPrefix(a, []byte("\x00asm")) || !bytes.HasPrefix(b, []byte("\x00asm")) || bytes.Equal(a, b) {
		t.Fatalf("browser: %d bytes, %v; worker: %d bytes, %v", len(a), err, len(b), other)
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
