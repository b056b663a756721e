package wordstest

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

func TestRead(t *testing.T) {
	root := t.TempDir()
	for name, text := range map[string]string{
		"web/pages/a.go":        "package pages\nconst Keeps = \"kept \" + \"here\"\nfunc say(m string) { words.Say(m) }\nfunc f() { say(\"a \" + \"b\"); says(`c %d`, 1); words.Some(2, \"one\", \"many\"); words.As(\"open\", \"a box\") }\n",
		"wasm/app/b.go":         "package app\nimport \"fmt\"\nfunc g(x string) { words.Say(pages.Keeps); words.Say(x); fmt.Errorf(\"app: %s\", other.Say(\"not this\")) }\n",
		"wasm/app/b_test.go":    "package app\nfunc h() { words.Say(\"in a test\") }\n",
		"web/words/words.go":    "package words\nfunc Say(m string) { told(m) }\n",
		"web/assets/boot.js":    "const a = \"a script's\", b = \"It stopped.\", c = \"Content-Type\"; // and \"this\"\n",
		"colour/c.go":           "package colour\n",
		"patterns/p/c.go":       "package p\nvar x = (\"grey\" + \" ramp\") + y + \".\"\n",
		"web/node_modules/x.go": "not Go at all",
	} {
		at := filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	s, err := Read(root)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := slices.Sorted(maps.Keys(s.Said)), []string{"It stopped.", "a b", "c %d", "kept here", "many", "one", "open [a box]"}; !slices.Equal(got, want) {
		t.Errorf("said: %q, want %q", got, want)
	}
	for _, text := range []string{"app: %s", "grey ramp", "grey ramp%s.", "a script's", "not this"} {
		if !s.Written[text] {
			t.Errorf("%q is not seen as written", text)
		}
	}
	if s.Written["in a test"] || s.Written["fmt"] {
		t.Error("tests or imports count as written")
	}
	for _, text := range []string{"grey ramp", "grey ramp in the barn.", "kept here"} {
		if !s.Writes(text) {
			t.Errorf("%q is written by nobody", text)
		}
	}
	s.Written["app: line %d: no such %s. Look again."] = true
	s.parts = nil
	for text, want := range map[string]bool{"line %d: no such %s. Look again.": true, "no such %s.": true, "no such %s": true, "Look again.": true, "no such barn": true, "a grey ramp in it": false, "app: line %d: no such %s. Look again. And again.": true, "grey rump": false, "Look at it.": false, "": false} {
		if s.Writes(text) != want {
			t.Errorf("%q is written: %v", text, !want)
		}
	}
	if len(s.Unread) != 1 || filepath.Base(filepath.Dir(s.Unread[0])) != "app" {
		t.Errorf("no constants at %v", s.Unread)
	}
	if _, err := Read(t.TempDir()); err == nil {
		t.Error("a folder without source is read")
	}
}
