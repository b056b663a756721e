package pages

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// The site's Content-Security-Policy blocks styles and scripts inside a page, so no component may hold any.
var forbidden = map[string]*regexp.Regexp{
	"a style attribute":            regexp.MustCompile(`(?i)[\s{"]style\s*\??=`),
	"a style element":              regexp.MustCompile(`(?i)<style\b`),
	"a css component":              regexp.MustCompile(`(?m)^\s*css\s+\w+\s*\(`),
	"a script template":            regexp.MustCompile(`(?m)^\s*script\s+\w+\s*\(`),
	"an event handler":             regexp.MustCompile(`(?i)[\s{"]on[a-z]+\s*\??=\s*[{"']`),
	"a script inside the page":     regexp.MustCompile(`(?i)<script[^>]*>\s*[^<\s]`),
	"a script without an address":  regexp.MustCompile(`(?i)<script(?:\s+(?:type="module"|defer|async))*\s*>`),
	"a call out of a page":         regexp.MustCompile(`\btempl\.(JSFuncCall|JSUnsafeFuncCall|ComponentScript|OnceHandle|NewOnceHandle)\b`),
	"an address of JavaScript":     regexp.MustCompile(`(?i)javascript:`),
	"text past the escaping":       regexp.MustCompile(`\btempl\.(Raw|SafeURL|SafeCSS\w*|SafeScript\w*)\b`),
	"an address of another server": regexp.MustCompile(`(?i)(?:href|src|action)\s*=\s*["{]\s*"?(?:https?:)?//`),
}

// The data block is text past the escaping on purpose; see dataBlock.
var allowed = regexp.MustCompile(`@templ\.Raw\(dataBlock\("record", r\.Record\)\)`)

func TestLint(t *testing.T) {
	files, err := filepath.Glob("*.templ")
	if err != nil || len(files) < 8 {
		t.Fatalf("%d components were found: %v", len(files), err)
	}
	exceptions := 0
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		exceptions += len(allowed.FindAll(b, -1))
		text := allowed.ReplaceAllString(string(b), "")
		for what, pattern := range forbidden {
			if m := pattern.FindString(text); m != "" {
				t.Errorf("%s holds %s: %q", name, what, m)
			}
		}
	}
	if exceptions != 1 {
		t.Errorf("%d data blocks, want 1", exceptions)
	}
}

func TestLintSees(t *testing.T) {
	for what, text := range map[string]string{
		"a style attribute":            `<p style="color:red">`,
		"a style element":              `<style>`,
		"a css component":              "\ncss red() {",
		"a script template":            "\nscript graph(data []int) {",
		"an event handler":             `<button onclick={ f() }>`,
		"a script inside the page":     `<script>alert(1)</script>`,
		"a script without an address":  `<script type="module">`,
		"a call out of a page":         `{ templ.JSFuncCall("f") }`,
		"an address of JavaScript":     `<a href="javascript:f()">`,
		"text past the escaping":       `@templ.Raw(r.Notes)`,
		"an address of another server": `<img src="//example.org/x.png">`,
	} {
		if !forbidden[what].MatchString(text) {
			t.Errorf("%q is not seen as %s", text, what)
		}
	}
	if len(forbidden) != 11 {
		t.Errorf("%d rules; show here that each one sees", len(forbidden))
	}
}
