package words_test

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/plumb/patterns/plates"
	"example.org/plumb/patterns/report"
	"example.org/plumb/testdata"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/link"
	"example.org/plumb/web/picture"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
	"example.org/plumb/web/words/wordstest"
)

// below are the packages whose English the app finds in the catalogue.
var below = []string{
	"patterns/check", "patterns/report", "patterns/screen", "patterns/plates", "colour/icc", "colour/readings", "colour/cct", "colour/gamut",
	"web/picture", "web/record", "web/link", "web/seal", "web/carry", "web/mailbox", "web/mailbox/client", "wasm/study", "wasm/looker", "wasm/browser",
}

var (
	verb   = regexp.MustCompile(`%[-+# 0]*(?:\[\d+\])?\d*(?:\.\d+)?[a-zA-Z%]`)
	errant = regexp.MustCompile(`^[a-z]+: `)
	script = regexp.MustCompile(`say\(("(?:[^"\\\n]|\\.)*")|("[A-Z](?:[^"\\\n]|\\.)* (?:[^"\\\n]|\\.)*")`) // said, or a sentence that is said further on
	key    = regexp.MustCompile(`^(Key[A-Z]|Arrow[A-Z].*|Digit\d|Enter|Space)$`)
	label  = regexp.MustCompile(`^[A-Z][a-z]`)
)

// worded tells whether a text has words of its own beside its verbs.
func worded(text string) bool {
	return regexp.MustCompile(`[a-z]{2}`).MatchString(verb.ReplaceAllString(text, ""))
}

// texts are what the files of a package write that a person may come to read, with their places: sentences, and whatever is put into an error or a format.
func texts(t *testing.T, dir string) map[string]string {
	files, err := filepath.Glob(filepath.Join("..", "..", filepath.FromSlash(dir), "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no source in %s", dir)
	}
	all := map[string]string{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		take := func(e ast.Expr, always bool) bool {
			text, any := wordstest.Sum(e)
			named := strings.HasPrefix(dir, "patterns/") && label.MatchString(text) && !key.MatchString(text) // of a control, a colour
			if any && worded(text) && (always || named || strings.Contains(strings.Trim(text, " "), " ")) {
				all[text] = filepath.Base(name) + ":" + strconv.Itoa(set.Position(e.Pos()).Line)
			}
			return any
		}
		ast.Inspect(f, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ImportSpec:
				return false
			case *ast.Field:
				n.Tag = nil
			case *ast.ValueSpec:
				if strings.HasPrefix(dir, "patterns/") && n.Type != nil { // what is said by its name: aspects, purposes, verdicts
					for _, v := range n.Values {
						take(v, true)
					}
				}
			case *ast.CallExpr:
				switch called(n) {
				case "panic":
					return false // a fault of the program, which the page shows as it is
				case "errors.New", "fmt.Errorf", "fmt.Sprintf":
					take(n.Args[0], true)
				}
			case *ast.BinaryExpr:
				if n.Op != token.ADD {
					return true
				}
				if take(n, false) {
					for _, x := range inner(n) {
						ast.Inspect(x, func(n ast.Node) bool {
							if e, ok := n.(ast.Expr); ok {
								take(e, false)
							}
							return true
						})
					}
					return false
				}
			case *ast.BasicLit:
				take(n, false)
			}
			return true
		})
	}
	return all
}

func called(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		if x, ok := f.X.(*ast.Ident); ok {
			return x.Name + "." + f.Sel.Name
		}
	}
	return ""
}

// inner are the parts of a sum that are no constants.
func inner(e ast.Expr) []ast.Expr {
	switch e := e.(type) {
	case *ast.BinaryExpr:
		if e.Op == token.ADD {
			return append(inner(e.X), inner(e.Y)...)
		}
	case *ast.ParenExpr:
		return inner(e.X)
	case *ast.BasicLit:
		return nil
	}
	return []ast.Expr{e}
}

func german(t *testing.T) *words.Catalogue {
	b, err := os.ReadFile("de.json")
	if err != nil {
		t.Fatal(err)
	}
	c := new(words.Catalogue)
	if err := json.Unmarshal(b, c); err != nil {
		t.Fatal(err)
	}
	words.Use(c)
	t.Cleanup(func() { words.Use(nil) })
	return c
}

// What the packages below the app say, and the scripts of the pages, is said in German; but for what nobody reads.
func TestBelowTheAppInGerman(t *testing.T) {
	c := german(t)
	used := map[string]bool{}
	for _, dir := range below {
		for text, at := range texts(t, dir) {
			if unread[dir+" "+text] {
				used[dir+" "+text] = true
				continue
			}
			if slices.ContainsFunc([]string{text, errant.ReplaceAllString(text, ""), strings.TrimLeft(text, " ,;"), strings.TrimSuffix(text, " ")}, func(s string) bool { return c.Messages[s] != "" }) {
				continue
			}
			t.Errorf("%s/%s: %q is not in the catalogue, nor among what nobody reads", dir, at, text)
		}
	}
	for text := range unread {
		if !used[text] {
			t.Errorf("nobody reads %q, and nobody writes it any more", text)
		}
	}
	n := 0
	for _, name := range []string{"boot.js", "keep.js", "looker.js"} {
		b, err := os.ReadFile(filepath.Join("..", "assets", name))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range script.FindAllSubmatch(b, -1) {
			text, err := strconv.Unquote(string(m[1]) + string(m[2]))
			if n++; err != nil || c.Messages[text] == "" {
				t.Errorf("%s: %q is not in the catalogue", name, text)
			}
		}
	}
	if n < 20 {
		t.Error("the scripts say nothing")
	}
}

// early are sentences of records of version 1, which nothing writes any more: they are shown as they are.
var early = map[string]bool{
	"There is no check for this yet.": true,
	"of 100: the share of ordinary picture content, in greys, that this screen shows as intended relative to its own white; 99 to 100 with 90 % certainty. White, brightness, primaries and evenness are not in it, and grey tint only as a guess.": true,
}

// standards are named alike in all languages.
var standards = regexp.MustCompile(`^(sRGB|Display P3|Adobe RGB \(1998\)|BT\.2020)$`)

// english are words that no German has, so that a text with one of them was not said in German.
var english = regexp.MustCompile(`(?i)\b(the|is|are|of|and|not|no|than|with|has|have|it|its|this|that|from|to|or|for|be|cannot|than|at|by|on|as|lighter|darker|unsure|holds)\b`)

// Real texts of the packages below are found whole: what records hold, refusals of what is no good, and what is said of profiles and readings.
func TestRealTextsAreFound(t *testing.T) {
	german(t)
	seen := map[string]bool{}
	check := func(text string) {
		if seen[text] || early[text] || !worded(text) || standards.MatchString(text) {
			return
		}
		seen[text] = true
		if got := words.Found(text); got == text && strings.Contains(text, " ") || english.MatchString(got) {
			t.Errorf("%q is found as %q", text, got)
		}
	}
	// Every text of a value, but names and machines' words, which skip tells.
	var walk func(v any, key string, skip func(string) bool)
	walk = func(v any, key string, skip func(string) bool) {
		switch v := v.(type) {
		case map[string]any:
			for k, x := range v {
				walk(x, k, skip)
			}
		case []any:
			for _, x := range v {
				walk(x, key, skip)
			}
		case string:
			if !skip(key) {
				check(v)
			}
		}
	}
	all := func(b []byte, skip ...string) {
		var v any
		if err := json.Unmarshal(b, &v); err != nil {
			t.Fatal(err)
		}
		walk(v, "", func(key string) bool { return slices.Contains(skip, key) })
	}
	for _, name := range []string{"ines.json", "ines-1.json", "ines-2.json"} {
		b, err := testdata.FS.ReadFile("screens/" + name)
		if err != nil {
			t.Fatal(err)
		}
		read, err := report.Read(b)
		if err != nil {
			t.Fatal(err)
		}
		now, err := json.Marshal(read)
		if err != nil {
			t.Fatal(err)
		}
		var r struct{ Findings, Purposes, Score, Notes, Scatter, Aspects json.RawMessage }
		if err := json.Unmarshal(now, &r); err != nil {
			t.Fatal(err)
		}
		for _, part := range []json.RawMessage{r.Findings, r.Purposes, r.Score, r.Notes, r.Scatter} {
			if part != nil {
				all(part, "id", "key", "unit")
			}
		}
		for cut := 1; cut < len(b); cut += 997 {
			if _, err := report.Read(b[:cut]); err != nil {
				check(err.Error())
			}
		}
		for _, change := range [][2]string{{`"version":`, `"strange":1,"version":`}, {`"version": 3`, `"version": 99`}, {`"findings":`, `"findings":3,"findings":`}, {`"number": 2`, `"number": 7`}} {
			if _, err := report.Read([]byte(strings.Replace(string(b), change[0], change[1], 1))); err != nil {
				check(err.Error())
			}
		}
	}
	for _, query := range []string{"", "pattern=x", "pattern=ground&ground=900", "pattern=ground&pattern=white", "pattern=ground&x=1", "%zz"} {
		if _, err := plates.Parse(query); err != nil {
			check(err.Error())
		}
	}
	check(plates.Fits(1, 1).Error())
	check(plates.Fits(1e6, 1e6).Error())

	describe := func(name string, file []byte) {
		b, err := json.Marshal(study.Task{What: study.Describe, Name: name, File: file}.Describe())
		if err != nil {
			t.Fatal(err)
		}
		all(b, "name", "Name", "id", "ID", "Kind", "kind", "Codes", "codes", "Made", "made", "unit", "Unit", "Size", "Aim", "aim", "AimName", "Held", "Formula", "formula", "Group", "result", "what", "digest",
			"Copyright", "copyright", "class", "space", "Keywords", "keywords", "worst", "Worst", "Version", "version", "connection", "creator")
	}
	n := 0
	err := fs.WalkDir(testdata.FS, ".", func(at string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || !strings.HasPrefix(at, "readings/") && !strings.HasPrefix(at, "icc/made/") {
			return err
		}
		b, err := fs.ReadFile(testdata.FS, at)
		if err != nil {
			return err
		}
		n++
		describe(at, b)
		for _, share := range []int{2, 3, 5, 9} {
			describe(at, b[:len(b)/share])
		}
		for i := 0; i < 40; i++ { // a byte that is wrong, at places all over the file
			c := slices.Clone(b)
			c[len(c)*i/40] ^= 0x5a
			describe(at, c)
		}
		return nil
	})
	if err != nil || n < 20 {
		t.Errorf("only %d files: %v", n, err)
	}
	for _, text := range []string{"SAMPLE_ID,RGB_R,RGB_G,RGB_B,XYZ_X,XYZ_Y,XYZ_Z\n1,300,0,0,1,2\n", "RGB_R,XYZ_X\n1,2\n", "LGOROWLENGTH\n", "RGB_R,RGB_G,RGB_B,XYZ_X,XYZ_Y,XYZ_Z\n1,2,3,x,5,6\n", "", "Red;Green\n1;2\n"} {
		describe("a.csv", []byte(text))
	}
	for _, head := range []string{"", "GIF89a", "%PDF-1.7", "8BPS", "II*\x00\x08\x00\x00\x00", "\xff\xd8\xff\xe0", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "PK\x03\x04", "<svg", "apples", "RIFF\x00\x00\x00\x00WEBPVP8X"} {
		b := []byte(head + strings.Repeat("\x00", 64))
		if head == "" {
			b = nil
		}
		if _, err := picture.Read(bytes.NewReader(b), int64(len(b))); err != nil {
			check(err.Error())
		} else {
			t.Errorf("%q is a picture", head)
		}
	}
	if _, err := link.Read("https://example.org/#1.x"); err != nil {
		check(err.Error())
	}
	for _, text := range []string{"", "plumb record 99\n", "plumb record 1\nname x\n", "plumb request 1\n"} {
		if _, err := record.Read([]byte(text)); err != nil {
			check(err.Error())
		}
		if _, err := record.ReadRequest([]byte(text)); err != nil {
			check(err.Error())
		}
	}
	if len(seen) < 150 {
		t.Errorf("only %d texts", len(seen))
	}
}

// unread is what nobody reads, by the package that has it.
var unread = map[string]bool{}

func init() {
	for _, u := range []struct {
		dir, why string
		texts    []string
	}{
		{"patterns/check", "kinds of answers, for machines: in records and for whoever drives a page by its contract", []string{
			"odd cell", "odd quadrant", "mark", "set", "smoother", "place lighter", "place pinker", "place yellower", "white pinker", "white yellower",
		}},
		{"patterns/report", "faults of the data that are built in, which a test finds", []string{
			"report: content: %w", "report: content ends within a colour", "report: content has no weight for colour %d, or one beyond the whole", "report: content lacks %d parts of %d",
		}},
		{"patterns/report", "looked for in the errors of encoding/json", []string{"json: unknown field ", "unexpected end of JSON input", "invalid character ' '"}},
		{"colour/icc", "the name of the package alone", []string{"icc: %w", "icc: %s"}},
		{"colour/icc", "how a curve is written, which study says in words", []string{"parametric %s"}},
		{"colour/readings", "looked for in a file", []string{"cd m-2"}},
		{"colour/gamut", "names of standards", []string{"Display P3", "Adobe RGB (1998)"}},
		{"colour/gamut", "the name of the package alone", []string{"gamut: %w"}},
		{"web/picture", "looked for in a file", []string{"<!doctype html"}},
		{"web/picture", "the name of the package before sentences of their own", []string{"picture: %s %s", "picture: %w"}},
		{"web/record", "signed text, which stays as it was signed", []string{
			"plumb %s", "plumb record %d", "plumb request %d", "model %s", "made %s", "report %x", "%d pictures, of %d in the request", "ended %s", "needs %s", "earlier %s", "purposes %d",
			"what was on a screen that nobody checked: what it hid is not known", "what the screen above could show: what is listed as not seen is not covered",
			"and not seen, in pixels of 1000 with a 90 % interval:", "nothing of the screen", "as sent", "sent %x", "asker %x", "screen %s", "notes %d", "source %x", "source %s",
			"note at", "note at %d,%d: %s", "note at %d,%d size %d x %d: %s", "hidden %s", "approval covers", "approval covers %s", "from %s", "request of", "request of %d lines", "pictures %d",
			"asked %s", "%s: screen unchecked", "mailbox %s%s", "mailbox %s", "title %s", "signer %x", "decision %s", "picture %d of %d %s", " by the mailbox's clock", " by the signer's clock",
			"told %s%s", "told no time", "screen checked %s", "place %x", "kind %s", "size %d x %d pixels, %d bytes", "purpose %s: %s", "%s: %d, %d to %d", "name %s", "round %d",
		}},
		{"web/link", "what keys are derived from", []string{"plumb/owner/1 address", "plumb/owner/1 right", "plumb/owner/1 seed", "plumb/owner/1 sign"}},
		{"web/mailbox/client", "how HTTP writes a time", []string{"Mon, 02 Jan 2006 15:04:05 GMT"}},
		{"web/mailbox/client", "the name of the package alone", []string{"client: %w"}},
		{"wasm/study", "what a screen model begins with, and how icc writes a curve", []string{"plumb screen 1\n", "parametric 0"}},
		{"wasm/study", "faults of what the program tells its own other thread", []string{"study: answer: %w", "study: task: %w", "study: %w"}},
		{"wasm/browser", "for the browser: style, selectors, media queries, keys of storage and locks", []string{
			"(resolution: %sdppx)", "(prefers-color-scheme: light)", "(color-gamut: p3)", "(color-gamut: rec2020)", "(prefers-contrast: more)", "(forced-colors: active)", "(dynamic-range: high)",
			"linear-gradient(to right, #000 50%, #fff 50%)", "inset(0 %s 0 %s)", "input, textarea", "header nav a", "h1, h2, h3, [tabindex=\"0\"]", "plumb whole", "plumb sitting ",
		}},
		{"wasm/browser", "the browser's own words behind the name of the package", []string{"browser: %s", "browser: %s: %s"}},
		{"wasm/browser", "names: of a browser, of the program behind a title, of a property of style", []string{"Chromium %s", "%s · Plumb", "filter %s"}},
	} {
		for _, text := range u.texts {
			unread[u.dir+" "+text] = u.why != ""
		}
	}
}
