package pages

import (
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
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

// unnamed lists what is wrong in a page for those who hear it or use no pointer: fields and buttons without a name, buttons that would send a form, and labels,
// names and descriptions by the id of something that is not there. It counts the controls.
func unnamed(text string) (bad []string, controls int) {
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict = false
	d.Entity = xml.HTMLEntity
	ids, refers := map[string]bool{}, map[string]string{}
	labels := 0
	var button string // the open one's start tag, while nothing was said in it
	for {
		token, err := d.RawToken()
		if err != nil {
			if err != io.EOF {
				bad = append(bad, err.Error())
			}
			break
		}
		switch e := token.(type) {
		case xml.StartElement:
			a := map[string]string{}
			for _, x := range e.Attr {
				a[x.Name.Local] = x.Value
			}
			said := a["aria-label"] != "" || a["aria-labelledby"] != ""
			tag := "<" + e.Name.Local + " " + a["name"] + a["data-action"] + a["id"] + ">"
			if a["id"] != "" {
				ids[a["id"]] = true
			}
			for _, by := range []string{"aria-labelledby", "aria-describedby"} {
				for _, id := range strings.Fields(a[by]) {
					refers[id] = tag
				}
			}
			switch e.Name.Local {
			case "label":
				labels++
			case "input", "textarea", "select", "progress":
				controls++
				if labels == 0 && !said {
					bad = append(bad, tag+" has no name")
				}
			case "button":
				controls++
				if a["type"] != "button" {
					bad = append(bad, tag+" sends a form")
				}
				if !said {
					button = tag
				}
			case "svg":
				if a["aria-hidden"] != "true" && a["role"] != "img" {
					bad = append(bad, tag+" is neither hidden nor an image")
				}
			}
			if (a["role"] == "group" || a["role"] == "region" || a["role"] == "application") && !said {
				bad = append(bad, tag+" is a "+a["role"]+" without a name")
			}
		case xml.EndElement:
			switch e.Name.Local {
			case "label":
				labels--
			case "button":
				if button != "" {
					bad = append(bad, button+" has no name")
				}
				button = ""
			}
		case xml.CharData:
			if strings.TrimSpace(string(e)) != "" {
				button = ""
			}
		}
	}
	for id, tag := range refers {
		if !ids[id] {
			bad = append(bad, tag+" refers to "+id+", which is not there")
		}
	}
	return bad, controls
}

func TestControlsAreNamed(t *testing.T) {
	total := 0
	for name, c := range golden {
		bad, n := unnamed(render(t, c))
		total += n
		for _, b := range bad {
			t.Errorf("%s: %s", name, b)
		}
	}
	if total < 100 {
		t.Errorf("only %d controls were found", total)
	}
}

func TestUnnamedSees(t *testing.T) {
	for _, s := range []string{
		`<input name="a">`, `<label>A</label><textarea name="a"></textarea>`, `<progress></progress>`, `<button type="button"></button>`, `<button type="button"><svg aria-hidden="true"></svg></button>`,
		`<button>Go</button>`, `<p aria-labelledby="x"></p>`, `<svg></svg>`, `<div role="group"></div>`,
	} {
		if bad, _ := unnamed(s); len(bad) == 0 {
			t.Errorf("%s passes", s)
		}
	}
	if bad, n := unnamed(`<label>A <input name="a"></label><button type="button">Go</button><h2 id="x">X</h2><section aria-labelledby="x"></section><progress aria-label="p"></progress>`); len(bad) > 0 || n != 3 {
		t.Errorf("%d controls, %v", n, bad)
	}
}
