package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// deploy is the folder of files that deploy the server.
const deploy = "web/server/deploy"

// accompany puts beside the programs what deploys them, and the licences of all that they are made of: most ask for their text to come with every copy.
func accompany(ctx context.Context, root, to string, s system) error {
	from := filepath.Join(root, filepath.FromSlash(deploy))
	entries, err := os.ReadDir(from)
	if err != nil {
		return fmt.Errorf("release: %w", err)
	}
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(from, e.Name()))
		if err != nil {
			return fmt.Errorf("release: %w", err)
		}
		if err := os.WriteFile(filepath.Join(to, e.Name()), text, 0o644); err != nil {
			return fmt.Errorf("release: %w", err)
		}
	}
	text, err := licences(ctx, root, s)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(to, "LICENCES.txt"), text, 0o644); err != nil {
		return fmt.Errorf("release: %w", err)
	}
	return nil
}

// made is a module that programs are made of.
type made struct{ path, version, folder string }

// licences is the licence of each module that the server and the browser programs are made of, of Go, and of the typeface.
func licences(ctx context.Context, root string, s system) ([]byte, error) {
	goroot, err := command(ctx, root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	all := []made{{"Go", "", strings.TrimSpace(string(goroot))}}
	for _, l := range []struct {
		env  []string
		args []string
	}{
		{[]string{"GOOS=" + s.os, "GOARCH=" + s.arch}, []string{server}},
		{[]string{"GOOS=js", "GOARCH=wasm"}, []string{"./wasm", "./wasm/looker"}},
	} {
		out, err := command(ctx, root, l.env, append([]string{"list", "-deps", "-json=Module"}, l.args...)...)
		if err != nil {
			return nil, err
		}
		for d := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct {
				Module *struct {
					Path, Version, Dir string
					Main               bool
				}
			}
			if err := d.Decode(&p); err == io.EOF {
				break
			} else if err != nil {
				return nil, fmt.Errorf("release: what go list printed: %w", err)
			}
			if m := p.Module; m != nil && !m.Main {
				all = append(all, made{m.Path, m.Version, m.Dir})
			}
		}
	}
	slices.SortStableFunc(all[1:], func(a, b made) int { return strings.Compare(a.path, b.path) })
	all = slices.Compact(all)
	var b bytes.Buffer
	b.WriteString("The programs beside this file contain parts of the following, under these licences.\n")
	for _, m := range all {
		texts, err := licenceFiles(m.folder)
		if err != nil {
			return nil, fmt.Errorf("release: %s: %w", m.path, err)
		}
		for _, text := range texts {
			fmt.Fprintf(&b, "\n%s\n%s\n\n%s\n", strings.Repeat("=", 79), strings.TrimSpace(m.path+" "+m.version), bytes.TrimSpace(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))))
		}
	}
	font, err := os.ReadFile(filepath.Join(root, "web", "assets", "OFL.txt"))
	if err != nil {
		return nil, fmt.Errorf("release: %w", err)
	}
	fmt.Fprintf(&b, "\n%s\nAtkinson Hyperlegible Next\n\n%s\n", strings.Repeat("=", 79), bytes.TrimSpace(font))
	return b.Bytes(), nil
}

// licence is what files with licences and what belongs to them are called.
var licence = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([-.].*)?$`)

func licenceFiles(folder string) (texts [][]byte, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if !licence.MatchString(e.Name()) || filepath.Ext(e.Name()) == ".go" || e.IsDir() {
			continue
		}
		text, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			return nil, err
		}
		texts = append(texts, text)
	}
	if len(texts) == 0 {
		return nil, fmt.Errorf("no licence is found in %s", folder)
	}
	return texts, nil
}
