// Package program builds Plumb's programs for WebAssembly with the go command, from the source at hand.
package program

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"example.org/plumb/web"
)

// module is the path in go.mod.
const module = "example.org/plumb"

// Root is the nearest folder from dir upwards that holds this module.
func Root(dir string) (string, error) {
	for at := dir; ; {
		text, err := os.ReadFile(filepath.Join(at, "go.mod"))
		if err == nil && declares(text, module) {
			return at, nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("program: %w", err)
		}
		up := filepath.Dir(at)
		if up == at {
			return "", fmt.Errorf("program: neither %s nor a folder above it is the source of Plumb (module %s); start this inside a clone", dir, module)
		}
		at = up
	}
}

// Here is the Root of the folder that the program was started in.
func Here() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", fmt.Errorf("program: %w", err)
	}
	return Root(dir)
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

// Browser builds the browser program from the source at root. The go command keeps what has not changed.
func Browser(ctx context.Context, root string) ([]byte, error) {
	return browser(ctx, root, web.Slim)
}

// Plain builds the browser program without what is done with pictures.
func Plain(ctx context.Context, root string) ([]byte, error) {
	return browser(ctx, root, web.SlimPlain)
}

func browser(ctx context.Context, root string, slim func(root, goroot, dir string) ([]string, error)) ([]byte, error) {
	goroot, err := command(ctx, root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "plumb-")
	if err != nil {
		return nil, fmt.Errorf("program: %w", err)
	}
	defer os.RemoveAll(dir)
	flags, err := slim(root, goroot, dir)
	if err != nil {
		return nil, err
	}
	return build(ctx, root, "./wasm", slices.Concat(flags, web.ProgramFlags))
}

// Looker builds the program that looks at pictures from the source at root.
func Looker(ctx context.Context, root string) ([]byte, error) {
	return build(ctx, root, "./wasm/looker", web.ProgramFlags)
}

// Worker builds the program of the worker from the source at root.
func Worker(ctx context.Context, root string) ([]byte, error) {
	return build(ctx, root, "./web/worker", []string{"-trimpath", "-ldflags=-s -w"})
}

// Script is wasm_exec.js of the Go release that builds the programs; another release's does not fit.
func Script(ctx context.Context, root string) ([]byte, error) {
	goroot, err := command(ctx, root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	script, err := os.ReadFile(filepath.Join(goroot, "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, fmt.Errorf("program: %w; this Go installation lacks its lib folder, install Go as a whole", err)
	}
	return script, nil
}

// Assets returns the site's own assets by name, with the browser programs and the script that runs them built from the source at root.
func Assets(ctx context.Context, root string) (map[string][]byte, error) {
	whole, err := Browser(ctx, root)
	if err != nil {
		return nil, err
	}
	plain, err := Plain(ctx, root)
	if err != nil {
		return nil, err
	}
	looker, err := Looker(ctx, root)
	if err != nil {
		return nil, err
	}
	script, err := Script(ctx, root)
	if err != nil {
		return nil, err
	}
	own := web.Own()
	own[web.Program], own[web.Plain], own[web.Looker], own[web.Runtime] = whole, plain, looker, script
	return own, nil
}

func build(ctx context.Context, root, path string, flags []string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "plumb-")
	if err != nil {
		return nil, fmt.Errorf("program: %w", err)
	}
	defer os.RemoveAll(dir)
	to := filepath.Join(dir, "program.wasm")
	args := append(append([]string{"build"}, flags...), "-o", to, path)
	if _, err := command(ctx, root, []string{"GOOS=js", "GOARCH=wasm"}, args...); err != nil {
		return nil, err
	}
	text, err := os.ReadFile(to)
	if err != nil {
		return nil, fmt.Errorf("program: %w", err)
	}
	return text, nil
}

// command runs the go command in root and is what it prints, without space around it.
func command(ctx context.Context, root string, env []string, args ...string) (string, error) {
	c := exec.CommandContext(ctx, "go", args...)
	c.Dir = root
	c.Env = append(os.Environ(), env...)
	var out, trouble bytes.Buffer
	c.Stdout, c.Stderr = &out, &trouble
	if err := c.Run(); err != nil {
		if errors.Is(err, exec.ErrNotFound) {
			return "", errors.New("program: the go command is not on the path; programs are built with it")
		}
		if ctx.Err() != nil {
			return "", fmt.Errorf("program: stopped while running go %s", args[0])
		}
		return "", fmt.Errorf("program: go %s: %w\n%s", strings.Join(args, " "), err, bytes.TrimSpace(trouble.Bytes()))
	}
	return strings.TrimSpace(out.String()), nil
}
