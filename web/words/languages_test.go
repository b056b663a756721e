package words_test

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/words"
	"example.org/plumb/web/words/wordstest"
)

var (
	tags  = regexp.MustCompile(`</?[a-z][^<>]*>`)
	verbs = regexp.MustCompile(`%[-+# 0]*(?:\[(\d+)\])?(?:\d+|\*)?(?:\.\d+)?(?:\[(\d+)\])?([%a-zA-Z])`)
)

// verbsOf are the verbs of a message by the place of what they say, each with its kind: text or number. A sign of a share, as in "100 % of it", is none.
func verbsOf(message string) map[int]string {
	list, next := map[int]string{}, 1
	for _, m := range verbs.FindAllStringSubmatch(message, -1) {
		kind := m[3]
		switch {
		case strings.HasPrefix(m[0], "% ") || !strings.Contains("dfgeqsvwxXTtc", kind):
			continue
		case strings.Contains("wvq", kind):
			kind = "s"
		}
		if at := m[1] + m[2]; at != "" {
			next = 0
			for _, d := range at {
				next = 10*next + int(d-'0')
			}
		}
		list[next] += kind
		next++
	}
	return list
}

// fault is what is wrong with how a message is said in another language, or nothing.
func fault(message, said string) string {
	bare := func(s string) string { return tags.ReplaceAllString(s, "") }
	sorted := func(s string) []string { return slices.Sorted(slices.Values(tags.FindAllString(s, -1))) }
	edge := func(s string) [2]bool { return [2]bool{strings.HasPrefix(s, " "), strings.HasSuffix(s, " ")} }
	switch {
	case strings.TrimSpace(said) == "":
		return "nothing is said"
	case !maps.Equal(verbsOf(message), verbsOf(said)):
		return "the verbs are others"
	case !slices.Equal(sorted(message), sorted(said)):
		return "the tags are others"
	case edge(message) != edge(said):
		return "white space at an end is lost or new"
	case strings.Contains(bare(said), `"`):
		return "quotes are not those of a typesetter"
	}
	return ""
}

// Every language says all that is said, nothing that nobody says, and each message with the verbs, tags and links of the English.
func TestLanguages(t *testing.T) {
	source, err := wordstest.Read(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range source.Unread {
		t.Errorf("%s: what is said is no constant, so that nobody can tell what to translate", at)
	}
	if len(source.Said) < 500 {
		t.Fatalf("only %d messages were found in the source", len(source.Said))
	}
	for m := time.January; m <= time.December; m++ {
		source.Written[m.String()] = true
	}
	files, err := filepath.Glob("*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no language: %v", err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var c words.Catalogue
		if err := json.Unmarshal(b, &c); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, key := range slices.Sorted(maps.Keys(source.Said)) {
			if c.Messages[key] == "" {
				t.Errorf("%s says nothing for %q (%s)", name, key, source.Said[key])
			}
		}
		for _, key := range slices.Sorted(maps.Keys(c.Messages)) {
			if source.Said[key] == "" && !source.Writes(key) {
				t.Errorf("%s has %q, which nobody says", name, key)
			}
			message := key
			if at := strings.LastIndex(key, " ["); at > 0 && strings.HasSuffix(key, "]") {
				message = key[:at]
			}
			if f := fault(message, c.Messages[key]); f != "" {
				t.Errorf("%s: %s\n\t%s\n\t%s", name, f, key, c.Messages[key])
			}
		}
	}
}

func TestFault(t *testing.T) {
	for _, c := range []struct{ message, said, want string }{
		{"%d of %s", "%[2]s: %[1]d", ""},
		{"%d of %s", "%s: %d", "the verbs are others"},
		{"%d of %s", "%d", "the verbs are others"},
		{"line %d: %w", "Zeile %d: %v", ""},
		{"%.2f of it", "davon %.1f", ""},
		{"100 % of it", "100 % davon", ""},
		{"%d %% of it", "davon %d %%", ""},
		{`<b>a</b> <a href="/x">y</a>`, `<a href="/x">y</a> <b>a</b>`, ""},
		{`<a href="/x">y</a>`, `<a href="/z">y</a>`, "the tags are others"},
		{"<b>a</b>", "a", "the tags are others"},
		{"a ", "b", "white space at an end is lost or new"},
		{`"a"`, "„a“", ""},
		{`"a"`, `"a"`, "quotes are not those of a typesetter"},
		{"a", " ", "nothing is said"},
	} {
		if got := fault(c.message, c.said); got != c.want {
			t.Errorf("%q said as %q: %q, want %q", c.message, c.said, got, c.want)
		}
	}
}
