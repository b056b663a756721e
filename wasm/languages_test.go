//go:build !js

package main_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"example.org/plumb/patterns/check"
	"example.org/plumb/web/words"
)

// german is the language that is carried beside English.
func german(t *testing.T) words.Catalogue {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "web", "words", "de.json"))
	if err != nil {
		t.Fatal(err)
	}
	var c words.Catalogue
	if err := json.Unmarshal(b, &c); err != nil {
		t.Fatal(err)
	}
	return c
}

// said is a message in a language, as it is read on the page.
func said(t *testing.T, c words.Catalogue, message string) string {
	t.Helper()
	s := c.Messages[message]
	if s == "" {
		t.Errorf("%s has nothing for %q", c.Language, message)
	}
	return s
}

// at is where a window is, behind the origin.
func (w *window) at() string {
	w.t.Helper()
	return eval[string](w, "location.pathname + location.search + location.hash")
}

// spoken is the language that the page says it is in.
func (w *window) spoken() string {
	w.t.Helper()
	return eval[string](w, "document.documentElement.lang")
}

// Whoever's browser asks for German gets German, from the start page to the first question; what leaves the page for others has no language; and who chooses English has it from then on.
func TestGerman(t *testing.T) {
	t.Parallel()
	de := german(t)
	s := newServer(t)
	w := open(t, room{flags: map[string]any{"accept-lang": "de-DE,de"}})
	if asks := eval[[]string](w, "navigator.languages"); asks[0] != "de-DE" {
		t.Fatalf("this browser asks for %v", asks)
	}
	w.load(s.site + "/")
	w.eventually("the start page is German", func() bool { return w.at() == "/de/" && w.spoken() == "de" })
	w.reads(said(t, de, "Is this screen true enough to judge by?"))

	// What stands behind the address comes along, and none of what stands behind the # is sent.
	tap := listenWhole(w)
	w.load(s.site + "/check?length=short#kept-to-myself")
	w.in("prepare")
	if at := w.at(); at != "/de/check?length=short#kept-to-myself" {
		t.Errorf("the check is at %s", at)
	}
	if tap.to("", "kept-to-myself") > 0 || tap.to("GET", "/de/check?length=short") == 0 {
		t.Error("what stands behind the # was sent, or nothing was asked for")
	}
	w.reads(said(t, de, "Prepare this screen"))
	w.press("continue")
	w.wait(`n.over === "field"`)
	w.press("continue")
	w.in("intro")
	w.run("document.querySelector('[data-action=continue]').click()")
	p := w.parse(w.wait(`n.mark !== ""`).Mark)
	question := ""
	for message, other := range de.Messages {
		if other == p.Question && strings.HasSuffix(message, "?") {
			question = message
		}
	}
	if question == "" || question == p.Question || !strings.Contains(w.text("#bar"), p.Question) {
		t.Errorf("the first question is %q; the page says %q", p.Question, w.text("#bar"))
	}
	if p.Task != string(check.OddCell) {
		t.Errorf("the task is %q, which is for programs and is to stay", p.Task)
	}
	w.key("Escape")
	w.in("paused")

	// A link for others opens in their language.
	w.load(s.site + "/ask")
	w.in("ask")
	w.fill("title", "Obstkatalog, Seite 4")
	w.fill("from", "Tomas")
	w.click("[name=length][value=short]")
	w.press("make")
	w.in("made")
	w.reads(said(t, de, "The link is ready"))
	link := eval[string](w, `document.querySelector("[data-link]").value`)
	if !strings.HasPrefix(link, s.site+"/r#1.") {
		t.Errorf("the link is %s", link)
	}
	other := open(t, room{})
	other.load(link)
	other.in("asked")
	other.reads("Tomas asks you")
	w.press("desk") // goes to another page of the site, or shows it here
	w.in("desk")
	if at := w.at(); at != "/de/desk" {
		t.Errorf("my desk is at %s", at)
	}

	w.click(`[data-language="en"]`)
	w.eventually("English is spoken", func() bool { return w.at() == "/desk" && w.spoken() == "en" })
	w.in("desk")
	w.reads("My desk")
	w.load(s.site + "/de/check?length=short")
	w.in("resume")
	if at := w.at(); at != "/check?length=short" {
		t.Errorf("after the choice of English, the German check opens %s", at)
	}
	// Without a mouse: the page before lets go of its sitting about now, and what is said of it moves the link.
	w.run(`document.querySelector("[data-language=de]").click()`)
	w.eventually("German is spoken again", func() bool { return w.at() == "/de/check?length=short" && w.spoken() == "de" }) // what is up is the same stage in both
	w.in("resume")
	w.load(s.site + "/")
	w.eventually("German is chosen again", func() bool { return w.at() == "/de/" })
}

// A language that cannot be had leaves a program that works, in English. One that takes its time is waited for.
func TestLanguageMissing(t *testing.T) {
	t.Parallel()
	const without = `const real = fetch; window.fetch = (a, ...more) => String(a).endsWith("/de.json") ? Promise.reject(new TypeError("gone")) : real(a, ...more)`
	for name, script := range map[string]string{"refused": without, "broken": strings.Replace(without, `Promise.reject(new TypeError("gone"))`, `Promise.resolve(new Response("{"))`, 1)} {
		t.Run(name, func(t *testing.T) {
			w := open(t, room{flags: map[string]any{"accept-lang": "de"}, scripts: []string{script}})
			w.load(site + "/de/check")
			w.in("prepare")
			w.reads("Prepare this screen")
			if w.spoken() != "en" {
				t.Errorf("English says that it is %q", w.spoken())
			}
		})
	}
}

// With JavaScript gone the other language is a link away.
func TestLanguageWithoutScripts(t *testing.T) {
	t.Parallel()
	w := open(t, room{flags: map[string]any{"accept-lang": "de", "blink-settings": "scriptEnabled=false"}})
	w.load(site + "/method")
	_, err := chromedp.Run(w.ctx, chromedp.Text(chromedp.CSS("footer a[hreflang=de]")))
	w.check(err)
}

// pseudo is a language that is not one: English with accents, longer by 40 % and in brackets, so that what is too narrow for it and what never went through it are seen.
// Verbs and tags stay.
const pseudoTag = "en-xa"

var untouched = regexp.MustCompile(`<[^<>]+>|&[a-zA-Z#0-9]+;|%[-+# 0]*(?:\[\d+\])?\d*(?:\.\d+)?[%dfgeqsvwxXTtc]`)

var accents = strings.NewReplacer("a", "à", "e", "é", "i", "ï", "o", "ö", "u", "ü", "A", "Å", "E", "Ë", "I", "Î", "O", "Ø", "U", "Û", "y", "ÿ", "n", "ñ")

func pseudo(messages map[string]string) words.Catalogue {
	c := words.Catalogue{Language: pseudoTag, Name: "Accents", Decimal: ",", Date: "%d. %s %d", Messages: map[string]string{}}
	for key := range messages {
		message := key
		if at := strings.LastIndex(key, " ["); at > 0 && strings.HasSuffix(key, "]") {
			message = key[:at]
		}
		var b strings.Builder
		end, letters := 0, 0
		for _, m := range append(untouched.FindAllStringIndex(message, -1), []int{len(message), len(message)}) {
			b.WriteString(accents.Replace(message[end:m[0]]))
			letters += m[0] - end
			b.WriteString(message[m[0]:m[1]])
			end = m[1]
		}
		// What is added breaks where words do.
		more := strings.Repeat(" löñg", (letters*2/5+4)/5)
		if letters < 10 {
			more = strings.Repeat("ö", (letters*2+4)/5)
		}
		lead, text := "", b.String()
		if t := strings.TrimLeft(text, " "); t != text {
			lead, text = " ", t
		}
		tail := ""
		if t := strings.TrimRight(text, " "); t != text {
			tail, text = " ", t
		}
		c.Messages[key] = lead + "[" + text + more + "]" + tail
	}
	return c
}

func TestPseudo(t *testing.T) {
	got := pseudo(map[string]string{"Open": "", "open [a box]": "", `About %[2]d %% of <a href="/check">it all</a>, here &amp; there.`: "", " and ": ""}).Messages
	for key, want := range map[string]string{
		"Open": "[Øpéñöö]", "open [a box]": "[öpéñöö]", " and ": " [àñdöö] ",
		`About %[2]d %% of <a href="/check">it all</a>, here &amp; there.`: `[Åböüt %[2]d %% öf <a href="/check">ït àll</a>, héré &amp; théré. löñg löñg löñg]`,
	} {
		if got[key] != want {
			t.Errorf("%q is %q, want %q", key, got[key], want)
		}
	}
}

// carrying is a server whose site has one more language.
func carrying(t *testing.T, c words.Catalogue) *server {
	t.Helper()
	dir := t.TempDir()
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	file, overlay := filepath.Join(dir, "language.json"), filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(file, text, 0o644); err != nil {
		t.Fatal(err)
	}
	place, err := filepath.Abs(filepath.Join("..", "web", "words", c.Language+".json"))
	if err != nil {
		t.Fatal(err)
	}
	list, err := json.Marshal(map[string]map[string]string{"Replace": {place: file}})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(overlay, list, 0o644); err != nil {
		t.Fatal(err)
	}
	return newServer(t, "-overlay", overlay)
}

// cut lists what is cut off on the page: text in a box that hides what is beyond it, a button that is narrower than what it says, words of a drawing beyond its edge.
const cut = `(() => {
	const list = [], shown = e => e.checkVisibility?.({visibilityProperty: true}) !== false && !e.closest(".unseen, .skip, [hidden]");
	const say = (what, e) => list.push(what + ": " + (e.textContent || e.value || e.outerHTML).trim().replace(/\s+/g, " ").slice(0, 90));
	for (const e of document.body.querySelectorAll("*")) {
		if (!shown(e) || e.closest("svg") && e.tagName !== "text") continue;
		const s = getComputedStyle(e), wide = e.scrollWidth > e.clientWidth + 1, high = e.scrollHeight > e.clientHeight + 1;
		if (e.tagName === "text") {
			const r = e.getBoundingClientRect(), box = e.ownerSVGElement.getBoundingClientRect();
			if (getComputedStyle(e.ownerSVGElement).overflow !== "visible" && r.width > 0 && (r.left < box.left - 1 || r.right > box.right + 1 || r.top < box.top - 3 || r.bottom > box.bottom + 3)) say("beyond its drawing", e);
			if (r.width > 0 && (r.left < -1 || r.right > document.documentElement.clientWidth + 1) && !e.closest("[class*=scroll], .wide, table")) say("a drawing's words beyond the window", e);
		} else if (e.tagName === "BUTTON" || e.matches("a.button")) {
			if (e.scrollWidth > e.clientWidth + 2 && s.display !== "inline") say("wider than its button", e);
		} else if (e.tagName === "SELECT" || e.tagName === "INPUT" || e.tagName === "TEXTAREA" || e.tagName === "CANVAS" || e.tagName === "PROGRESS") {
		} else if (e.innerText && s.display !== "inline" && (wide && /hidden|clip/.test(s.overflowX) || high && /hidden|clip/.test(s.overflowY))) say("cut off in " + e.tagName + "." + e.className + "#" + e.id + " " + [e.scrollWidth, e.clientWidth, e.scrollHeight, e.clientHeight], e);
	}
	return list;
})()`

// past lists what is read on the page and never went through the language: words with a plain vowel. Names, what is typed, keys and figures are none.
const past = `((names) => {
	const list = new Set(), word = /[A-Za-z]{3,}/g, shown = e => e.checkVisibility?.({visibilityProperty: true}) !== false && !e.closest("script, style, pre, code, kbd, textarea, .version, [lang][hreflang], [data-link]");
	const look = (text, where) => {
		const plain = (text.match(word) || []).filter(w => /[aeiou]/.test(w) && !names.includes(w));
		if (plain.length) list.add(where + plain.join(" ").slice(0, 60) + ": " + text.trim().replace(/\s+/g, " ").slice(0, 90));
	};
	const all = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	for (let n; (n = all.nextNode()); ) if (n.parentElement && shown(n.parentElement)) look(n.data, "");
	const drawn = (e, part) => look((getComputedStyle(e, part).content.match(/"(?:[^"\\]|\\.)*"/g) || []).join(" "), "drawn ");
	for (const e of document.body.querySelectorAll("*")) if (shown(e)) drawn(e, "::before"), drawn(e, "::after");
	for (const e of document.querySelectorAll("[aria-label], [title], [placeholder], [alt]")) if (shown(e)) for (const a of ["aria-label", "title", "placeholder", "alt"]) look(e.getAttribute(a) || "", a + " ");
	look(document.title, "title ");
	return [...list];
})`

// names are words that every language shares on these pages.
var names = []string{"Plumb", "Chromium", "Display", "Ines", "Tomas", "Okke", "kitchen", "laptop", "studio", "left", "min"}

// widths of the window at which every page has to fit, in CSS pixels.
var widths = []int{320, 390, 1440}

// stages are the pages that carry the program, with the stage that each opens in.
var stages = map[string]string{"/check": "prepare", "/ask": "ask", "/desk": "desk", "/r": "trouble", "/proof": "proof", "/record": "record", "/pattern": "plate", "/after": "after", "/journal": "journal"}

// Every page has room for longer words, at every width and in German, and says nothing that did not go through the language.
func TestOtherWords(t *testing.T) {
	t.Parallel()
	de := german(t)
	s := carrying(t, pseudo(de.Messages))
	files, err := filepath.Glob(filepath.Join("..", "web", "words", "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no languages: %v", err)
	}
	languages := []string{pseudoTag}
	for _, f := range files {
		languages = append(languages, strings.TrimSuffix(filepath.Base(f), ".json"))
	}
	for _, language := range languages {
		for _, width := range widths {
			t.Run(fmt.Sprintf("%s %d", language, width), func(t *testing.T) {
				t.Parallel()
				w := open(t, room{width: width, height: 800, scripts: []string{`try { localStorage.setItem("plumb language", ` + fmt.Sprintf("%q", language) + `) } catch {}`}})
				look := func(what string, all bool) {
					t.Helper()
					if width == 320 && language != pseudoTag { // the rules know words, and have none of accents
						w.fits(what)
					} else if d := eval[float64](w, "document.documentElement.scrollWidth - document.documentElement.clientWidth"); d > 0 {
						t.Errorf("%s is %v CSS pixels wider than the window", what, d)
					}
					for _, c := range eval[[]string](w, cut) {
						t.Errorf("%s: %s", what, c)
					}
					if got := w.spoken(); got != language {
						t.Errorf("%s is in %q: %s", what, got, w.at())
					}
					if language == pseudoTag && all {
						list, err := json.Marshal(names)
						w.check(err)
						for _, p := range eval[[]string](w, past+"("+string(list)+")") {
							t.Errorf("%s: past the language: %s", what, p)
						}
					}
				}
				for _, p := range []string{"/", "/method", "/example", "/tour", "/nowhere"} {
					w.load(s.site + "/" + language + p)
					look(p, true)
				}
				for _, p := range slices.Sorted(maps.Keys(stages)) {
					w.load(s.site + "/" + language + p)
					w.in(stages[p])
					look(p, true)
				}
				w.load(s.site + "/" + language + "/check?length=short")
				w.in("prepare")
				w.press("continue")
				w.wait(`n.over === "field"`)
				look("the look at fine lines", true)
				w.press("continue")
				w.in("intro")
				look("an introduction", true)
				quick := &viewer{}
				for quick.asked < 3 {
					w.turn(quick)
				}
				w.wait(`n.mark !== ""`)
				look("a question", true)
				w.key("Escape")
				w.in("paused")
				look("a pause", true)
				w.press("stop")
				w.in("report")
				look("a report", false)
			})
		}
	}
}
