package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// server is the package that is released, and carried the folder in it that the build tag release embeds.
const (
	server  = "./web/server"
	carried = "web/server/carried"
)

// system is what a program is built for.
type system struct{ os, arch string }

func parse(list []string) (all []system, err error) {
	for _, text := range list {
		os, arch, ok := strings.Cut(text, "/")
		s := system{os, arch}
		if !ok || os == "" || arch == "" || strings.Contains(arch, "/") || slices.Contains(all, s) {
			return nil, fmt.Errorf("release: -for: %q is no system, such as linux/amd64, or comes twice", text)
		}
		all = append(all, s)
	}
	if len(all) == 0 {
		return nil, errors.New("release: -for: no system is named")
	}
	return all, nil
}

// name is the file's.
func (s system) name() string {
	name := "plumb-" + s.os + "-" + s.arch
	if s.os == "windows" {
		name += ".exe"
	}
	return name
}

// plain makes the environment one that has no say in the bytes, and lets git read the source whoever owns it.
func plain(root string) error {
	for name, value := range map[string]string{
		"GOFLAGS": "", "GOEXPERIMENT": "", "GODEBUG": "", "GOWORK": "off", "GOFIPS140": "off", "CGO_ENABLED": "0", "GOAMD64": "v1", "GOARM64": "v8.0", "GOWASM": "", "GOOS": "", "GOARCH": "",
		// The toolchain that runs this is the one that builds, so that the programs' parts are of one release of Go.
		"GOTOOLCHAIN":      strings.Fields(runtime.Version())[0], // experiments stand behind it
		"GIT_CONFIG_COUNT": "1", "GIT_CONFIG_KEY_0": "safe.directory", "GIT_CONFIG_VALUE_0": root,
	} {
		if err := os.Setenv(name, value); err != nil {
			return fmt.Errorf("release: %w", err)
		}
	}
	return nil
}

// overlay writes the packed files aside and returns the file that tells the compiler to take them as if they lay in the source, where nothing is written.
func overlay(root, aside string, packed map[string][]byte) (string, error) {
	replace := map[string]string{}
	for name, text := range packed {
		at := filepath.Join(aside, name)
		if err := os.WriteFile(at, text, 0o644); err != nil {
			return "", fmt.Errorf("release: %w", err)
		}
		replace[filepath.Join(root, filepath.FromSlash(carried), name)] = at
	}
	b, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", fmt.Errorf("release: %w", err)
	}
	at := filepath.Join(aside, "overlay.json")
	if err := os.WriteFile(at, b, 0o644); err != nil {
		return "", fmt.Errorf("release: %w", err)
	}
	return at, nil
}

// build builds the server for a system. The version in it is that of the commit, or none where git keeps none.
func build(ctx context.Context, root, to string, s system, laid string) error {
	_, err := command(ctx, root, []string{"GOOS=" + s.os, "GOARCH=" + s.arch},
		"build", "-trimpath", "-buildvcs=auto", "-mod=readonly", "-tags=release", "-ldflags=-s -w -buildid=", "-overlay="+laid, "-o", to, server)
	return err
}

// command runs the go command and is what it prints.
func command(ctx context.Context, root string, env []string, args ...string) ([]byte, error) {
	c := exec.CommandContext(ctx, "go", args...)
	c.Dir = root
	c.Env = append(os.Environ(), env...)
	var trouble bytes.Buffer
	c.Stderr = &trouble
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("release: go %s: %w\n%s", strings.Join(args, " "), err, bytes.TrimSpace(trouble.Bytes()))
	}
	return out, nil
}

// sums is what sha256sum writes about the files in a folder.
func sums(folder string) ([]byte, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, fmt.Errorf("release: %w", err)
	}
	var b bytes.Buffer
	for _, e := range entries {
		f, err := os.Open(filepath.Join(folder, e.Name()))
		if err != nil {
			return nil, fmt.Errorf("release: %w", err)
		}
		h := sha256.New()
		_, err = io.Copy(h, f)
		if err := errors.Join(err, f.Close()); err != nil {
			return nil, fmt.Errorf("release: %w", err)
		}
		fmt.Fprintf(&b, "%x  %s\n", h.Sum(nil), e.Name())
	}
	return b.Bytes(), nil
}
