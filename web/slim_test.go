package web

import (
	"encoding/json"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The flag leaves nothing of the packages it stands in for: no file of theirs is compiled but ours.
func TestSlim(t *testing.T) {
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	flags, err := SlimPlain("..", strings.TrimSpace(string(goroot)), dir)
	if err != nil || len(flags) != 2 || flags[1] != PlainFlag {
		t.Fatalf("%v, %v", flags, err)
	}
	standIns := maps.Clone(standIns)
	maps.Copy(standIns, plainStandIns)
	if some, err := Slim("..", strings.TrimSpace(string(goroot)), t.TempDir()); err != nil || len(some) != 1 {
		t.Errorf("%v, %v", some, err)
	}
	_, overlay, _ := strings.Cut(flags[0], "=")
	b, err := os.ReadFile(overlay)
	if err != nil {
		t.Fatal(err)
	}
	var v struct{ Replace map[string]string }
	if err := json.Unmarshal(b, &v); err != nil {
		t.Fatal(err)
	}
	stand, pages := 0, 0
	for from, to := range v.Replace {
		if strings.HasSuffix(from, "_templ.go") {
			pages++
			was, err := os.ReadFile(from)
			is, err2 := os.ReadFile(to)
			if err != nil || err2 != nil {
				t.Fatal(err, err2)
			}
			if strings.Contains(string(is), "FileName:") || strings.Count(string(is), "return templ") != strings.Count(string(was), "return templ") {
				t.Errorf("%s still tells positions, or lost an error", filepath.Base(from))
			}
		} else if to != "" {
			stand++
			if _, err := os.Stat(to); err != nil {
				t.Error(err)
			}
		}
	}
	if stand != len(standIns) || stand < 6 || len(v.Replace) < 50 || pages < 20 {
		t.Errorf("%d files stand in for %d", stand, len(v.Replace)-stand-pages)
	}
	for path, name := range standIns {
		c := exec.Command("go", "list", flags[0], "-f", "{{join .GoFiles \" \"}}", path)
		c.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
		out, err := c.CombinedOutput()
		if got := strings.TrimSpace(string(out)); err != nil || got != strings.TrimSuffix(name, ".txt") {
			t.Errorf("%s is made of %q, %v", path, got, err)
		}
	}
	if _, err := Slim("..", filepath.Join(dir, "nowhere"), dir); err == nil {
		t.Error("a Go installation without source is taken")
	}
	if _, err := Slim(dir, strings.TrimSpace(string(goroot)), dir); err == nil {
		t.Error("a folder without pages is taken")
	}
}
