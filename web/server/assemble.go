package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"example.org/plumb/web"
)

// module is the path in go.mod.
const module = "example.org/plumb"

// findRoot is the nearest folder from dir upwards that holds this module.
func findRoot(dir string) (string, error) {
	for at := dir; ; {
		text, err := os.ReadFile(filepath.Join(at, "go.mod"))
		if err == nil && declares(text, module) {
			return at, nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("server: %w", err)
		}
		up := filepath.Dir(at)
		if up == at {
			return "", fmt.Errorf("server: neither %s nor a folder above it is the source of Plumb (module %s), which the browser program is built from; start it inside a clone, with go run ./web/server", dir, module)
		}
		at = up
	}
}

// declares tells whether a go.mod is that of a module.
func declares(mod []byte, path string) bool {
	for line := range strings.Lines(string(mod)) {
		if f := strings.Fields(line); len(f) >= 2 && f[0] == "module" {
			return strings.Trim(f[1], "\"`") == path
		}
	}
	return false
}

// assemble makes the site: it builds the browser program and packs it with the other assets.
func assemble(ctx context.Context, root string, log io.Writer) (http.Handler, error) {
	kept := filepath.Join(root, ".build")
	if err := os.MkdirAll(kept, 0o755); err != nil {
		return nil, fmt.Errorf("server: %w", err)
	}
	began := time.Now()
	fmt.Fprintln(log, "Building the browser program (about half a minute the first time).")
	program, err := build(ctx, root, kept)
	if err != nil {
		return nil, err
	}
	script, err := runtimeScript(ctx, root)
	if err != nil {
		return nil, err
	}
	fmt.Fprintf(log, "Built in %.1f s: %.2f MB. Squeezing it.\n", time.Since(began).Seconds(), float64(len(program))/1e6)
	files := web.Own()
	files[web.Program] = program
	files[web.Runtime] = script
	p := &press{dir: filepath.Join(kept, "squeezed")}
	assets, err := web.Pack(files, p)
	if err != nil {
		return nil, err
	}
	site, err := web.New(assets, web.Version(), p)
	if err != nil {
		return nil, err
	}
	return site, p.tidy()
}

// build is the browser program, built from the source at root. The Go command keeps what has not changed.
func build(ctx context.Context, root, kept string) ([]byte, error) {
	dir, err := os.MkdirTemp(kept, "program-")
	if err != nil {
		return nil, fmt.Errorf("server: %w", err)
	}
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, web.Program)
	goroot, err := command(ctx, root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	slim, err := web.Slim(strings.TrimSpace(string(goroot)), dir)
	if err != nil {
		return nil, err
	}
	args := append(append(append([]string{"build"}, web.ProgramFlags...), slim...), "-o", name, "./wasm")
	if _, err := command(ctx, root, []string{"GOOS=js", "GOARCH=wasm"}, args...); err != nil {
		return nil, err
	}
	program, err := os.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("server: %w", err)
	}
	return program, nil
}

// runtimeScript is wasm_exec.js of the Go release that builds the browser program; another release's does not fit.
func runtimeScript(ctx context.Context, root string) ([]byte, error) {
	out, err := command(ctx, root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	script, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(out)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, fmt.Errorf("server: %w; this Go installation lacks its lib folder, install Go as a whole", err)
	}
	return script, nil
}

// command runs the Go command in root and is what it prints.
func command(ctx context.Context, root string, env []string, args ...string) ([]byte, error) {
	c := exec.CommandContext(ctx, "go", args...)
	c.Dir = root
	c.Env = append(os.Environ(), env...)
	var out, trouble bytes.Buffer
	c.Stdout, c.Stderr = &out, &trouble
	if err := c.Run(); err != nil {
		if errors.Is(err, exec.ErrNotFound) {
			return nil, errors.New("server: the go command is not on the path; the browser program is built with it")
		}
		if ctx.Err() != nil {
			return nil, fmt.Errorf("server: stopped while running go %s", args[0])
		}
		return nil, fmt.Errorf("server: go %s: %w\n%s", strings.Join(args, " "), err, bytes.TrimSpace(trouble.Bytes()))
	}
	return out.Bytes(), nil
}
