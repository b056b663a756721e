package web

import (
	"encoding/json"
	"html"
	"io"
	"net/http"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"example.org/plumb/web/words"
)

// backwards is a language for tests: the start page's heading, and what stands where there is nothing.
const backwards = `{"language": "xa", "name": "Sdrawkcab", "decimal": ",", "messages": {"There is nothing at this address": "Sserdda siht ta gnihton", "That can't be done here": "Ereh enod",
	"Is this screen true enough to judge by?": "Eurt neercs siht si?", "Check this screen": "Neercs siht kcehc", "How it judges": "Segduj ti woh"}}`

func tongues(t *testing.T) (http.Handler, Assets) {
	t.Helper()
	files := Own()
	files["xa.json"] = []byte(backwards)
	a, err := Pack(files, nil)
	if err != nil {
		t.Fatal(err)
	}
	h, err := New(a, "1", nil)
	if err != nil {
		t.Fatal(err)
	}
	return h, a
}

func page(t *testing.T, h http.Handler, path string, status int) string {
	t.Helper()
	r := ask(h, "GET", path)
	if r.StatusCode != status {
		t.Errorf("%s is answered with %d, want %d", path, r.StatusCode, status)
	}
	return unsqueeze(t, r.Header.Get("Content-Encoding"), r.Body)
}

// Every page is there in every language, says which it is and where the others are, and leads to pages in its own.
func TestEveryLanguage(t *testing.T) {
	h, a := tongues(t)
	files, err := filepath.Glob("words/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("languages: %q, %v", files, err)
	}
	tags := []string{"xa"}
	for _, f := range files {
		tags = append(tags, strings.TrimSuffix(filepath.Base(f), ".json"))
	}
	slices.Sort(tags)
	want := []string{""}
	for _, tag := range tags {
		want = append(want, "/"+tag)
	}
	if got := a.Folders(); !slices.Equal(got, want) {
		t.Fatalf("the languages are in %q, want %q", got, want)
	}
	tags = slices.Insert(tags, 0, "en")
	links := regexp.MustCompile(`<(?:a|link)\b[^>]*?\bhref="(/[^"]*)"[^>]*>`)
	for _, folder := range a.Folders() {
		tag := strings.TrimPrefix(folder, "/")
		if tag == "" {
			tag = "en"
		}
		for path := range carried {
			at := folder + path
			if !slices.Contains(Paths(a), at) {
				t.Errorf("%s is no address of the site", at)
			}
			text := page(t, h, at, 200)
			if !strings.Contains(text, `<html lang="`+tag+`" data-languages="`+strings.Join(tags, " ")+`">`) {
				t.Errorf("%s does not say that it is %s: %.120s", at, tag, text)
			}
			for _, other := range tags {
				to := strings.TrimPrefix("/"+other, "/en") + path
				if !strings.Contains(text, `<link rel="alternate" hreflang="`+other+`" href="`+to+`">`) {
					t.Errorf("%s does not say that it is %s at %s", at, other, to)
				}
				if lead := `lang="` + other + `" hreflang="` + other + `" href="` + to + `" data-language="` + other + `">`; strings.Contains(text, lead) != (other != tag) {
					t.Errorf("%s and the way to %s: %v", at, to, other == tag)
				}
			}
			for _, m := range links.FindAllStringSubmatch(text, -1) {
				to := html.UnescapeString(m[1])
				if !strings.Contains(m[0], "hreflang=") && !strings.HasPrefix(to, "/assets/") && !strings.HasPrefix(to, folder+"/") {
					t.Errorf("%s leads to %s, which is in another language", at, to)
				}
			}
			program, spoken := strings.Contains(text, "data-program="), strings.Contains(text, `data-words="`+a.Address(tag+".json")+`"`)
			if spoken != (program && tag != "en") || tag == "en" && strings.Contains(text, "data-words") {
				t.Errorf("%s: the program is told its language: %v", at, spoken)
			}
		}
	}
	for path, want := range map[string]string{"/xa/": "Eurt neercs siht si?", "/xa/check": "<title>Neercs siht kcehc · Plumb</title>", "/": "Is this screen true enough"} {
		if text := page(t, h, path, 200); !strings.Contains(text, want) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
}

// Where there is nothing, that is said in the language of the address.
func TestRefusalsInALanguage(t *testing.T) {
	h, _ := tongues(t)
	for path, want := range map[string]string{
		"/nothing": "There is nothing", "/xa/nothing": "Sserdda siht", "/xa/404.html": "Sserdda siht", "/xax/nothing": "There is nothing", "/zz/": "There is nothing",
		"/xa/check/": "Sserdda siht", "/xa/assets/x": "Sserdda siht", "/xa/healthz": "Sserdda siht",
	} {
		if text := page(t, h, path, 404); !strings.Contains(text, want) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	r := ask(h, "POST", "/xa/check")
	if b, _ := io.ReadAll(r.Body); r.StatusCode != 405 || !strings.Contains(string(b), "Ereh enod") {
		t.Errorf("POST /xa/check: %d, %.80s", r.StatusCode, b)
	}
	if r := ask(h, "GET", "/xa?length=short"); r.StatusCode/100 != 3 || !strings.HasPrefix(r.Header.Get("Location"), "/xa/") {
		t.Errorf("/xa: %d to %q", r.StatusCode, r.Header.Get("Location"))
	}
}

// Sites that are made at the same time do not speak with each other's tongue.
func TestAtOnce(t *testing.T) {
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			h, _ := tongues(t)
			for path, want := range map[string]string{"/nothing": "There is nothing", "/xa/nothing": "Sserdda", "/": "Is this screen true enough"} {
				if text := page(t, h, path, map[bool]int{true: 200, false: 404}[path == "/"]); !strings.Contains(text, want) {
					t.Errorf("%s does not say %q", path, want)
				}
			}
		})
	}
	all.Wait()
	if words.Language() != "en" {
		t.Errorf("afterwards %s is spoken", words.Language())
	}
}

func TestNoLanguage(t *testing.T) {
	for name, text := range map[string]string{
		"xa.json":     `{"language": "xb", "name": "X", "messages": {"a": "b"}}`,
		"check.json":  `{"language": "check", "name": "X", "messages": {"a": "b"}}`,
		"assets.json": `{"language": "assets", "name": "X", "messages": {"a": "b"}}`,
		"XA.json":     `{"language": "XA", "name": "X", "messages": {"a": "b"}}`,
		"xc.json":     `{"language": "xc", "messages": {"a": "b"}}`,
		"xd.json":     `{"language": "xd", "name": "X"}`,
		"xe.json":     `null`,
		"xf.json":     `{"language": "xf",`,
	} {
		a, err := Pack(map[string][]byte{name: []byte(text)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := New(a, "", nil); err == nil || !strings.HasPrefix(err.Error(), "web: "+name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The languages that are carried are files by which tests and programs go.
func TestOwnLanguages(t *testing.T) {
	own := Own()
	var c words.Catalogue
	if err := json.Unmarshal(own["de.json"], &c); err != nil || c.Language != "de" || c.Name != "Deutsch" || c.Decimal != "," || len(c.Messages) < 500 {
		t.Errorf("%v; %s has %d messages", err, c.Language, len(c.Messages))
	}
}
