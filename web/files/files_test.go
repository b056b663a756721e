package files

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A page that is not laid out as the pages here are is refused, rather than written without its policy.
func TestPlainRefuses(t *testing.T) {
	head, stage := `<html><meta charset="utf-8">`, `<main id="stage" data-program="/p">`
	for page, ok := range map[string]bool{head: true, head + stage: true, "<html>": false, head + head: false, head + `<main data-program="/p">`: false} {
		list, err := Plain(map[string]Answer{"/ask": {http.Header{"Content-Type": {"text/html; charset=utf-8"}, "Content-Security-Policy": {"a 'b'"}}, []byte(page)}})
		if ok != (err == nil) || ok != strings.Contains(string(list["ask/index.html"]), "a &#39;b&#39;") {
			t.Errorf("%s: %q, %v", page, list, err)
		}
	}
}

func TestWrite(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "a", "b")
	if err := Empty(folder); err != nil {
		t.Errorf("a folder that is not there: %v", err)
	}
	if err := Write(folder, map[string][]byte{"c/d": []byte("e")}); err != nil {
		t.Fatal(err)
	}
	if b, err := os.ReadFile(filepath.Join(folder, "c", "d")); err != nil || string(b) != "e" {
		t.Errorf("%q, %v", b, err)
	}
	if err := Empty(folder); err == nil || !strings.HasPrefix(err.Error(), "files: ") {
		t.Errorf("a folder that holds something: %v", err)
	}
	if err := Write(filepath.Join(folder, "c", "d"), map[string][]byte{"f": nil}); err == nil || !strings.HasPrefix(err.Error(), "files: ") {
		t.Errorf("into a file: %v", err)
	}
}
