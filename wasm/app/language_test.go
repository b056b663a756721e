package app

import (
	"strings"
	"testing"
	"time"

	"github.com/a-h/templ"

	"example.org/plumb/web/words"
)

// From the preparation to the first question all is said in the language spoken: what pages say, what the program says, and what comes as finished English from the battery.
// What machines read, and what goes into the record, stays as it is.
func TestAnotherLanguage(t *testing.T) {
	said := map[string]string{
		"Prepare this screen":             "Diesen Bildschirm vorbereiten",
		"1. Set the screen":               "1. Bildschirm einstellen",
		"Switched on for 20 minutes":      "Seit 20 Minuten eingeschaltet",
		"Don't know":                      "Weiß nicht",
		"Who is looking":                  "Wer hinsieht",
		"may stay empty":                  "darf leer bleiben",
		"short":                           "kurz",
		"about %d minutes":                "etwa %d Minuten",
		"%s, some %d questions":           "%s, rund %d Fragen",
		"Usual":                           "Üblich",
		"%s device pixels to a CSS pixel": "%s Gerätepixel je CSS-Pixel",
		"Lean back from %d cm to about %d cm, until the lines melt.":                                 "Lehnen Sie sich von %d auf %d cm zurück.",
		"%s pixels to the millimetre, %.0f to the inch.":                                             "%s Pixel je Millimeter, %.0f je Zoll.",
		"The two small squares are lines one pixel thin, lying in one and standing in the other. %s": "Zwei Quadrate aus Linien. %s",
		"Yes, melted and even":            "Ja, verschmolzen",
		"Shadows":                         "Tiefen",
		"shadows":                         "Tiefen",
		"Begin":                           "Beginnen",
		"%s · %d answered":                "%s · %d beantwortet",
		"about %d min left":               "noch etwa %d min",
		"Practice.":                       "Übung.",
		"Which cell holds a square?":      "In welchem Feld liegt ein Quadrat?",
		"top left":                        "oben links",
		"can't tell":                      "nicht zu unterscheiden",
		"Space [a key]":                   "Leertaste",
		"Z [the key below A]":             "Y",
		"You paused.":                     "Sie haben pausiert.",
		"Everything answered is kept: %s": "Alles ist aufbewahrt: %s",
		"%d answered, %s.":                "%d beantwortet, %s.",
	}
	words.Use(&words.Catalogue{Language: "de", Name: "Deutsch", Decimal: ",", Messages: said})
	t.Cleanup(func() { words.Use(nil) })
	missed := map[string]bool{}
	for message := range said {
		missed[message] = true
	}
	h := begin(t, nil)
	// see looks for what is said on the page by these messages, in other words than theirs.
	see := func(ids string, messages ...string) {
		t.Helper()
		var page strings.Builder
		for _, id := range strings.Fields(ids) {
			page.WriteString(h.page[id])
		}
		for _, message := range messages {
			delete(missed, message)
			for _, part := range strings.FieldsFunc(strings.NewReplacer("%s", "|", "%d", "|", "%.0f", "|").Replace(said[message]), func(r rune) bool { return r == '|' }) {
				if !strings.Contains(page.String(), part) {
					t.Errorf("%q is not said as %q in %s", message, said[message], ids)
				}
			}
			if english, _, _ := strings.Cut(message, " ["); strings.Contains(page.String(), ">"+english+"<") {
				t.Errorf("%q is said in English too", english)
			}
		}
	}
	h.stage(Prepare)
	see("stage", "Prepare this screen", "1. Set the screen", "Switched on for 20 minutes", "Don't know", "Who is looking", "may stay empty", "about %d minutes", "%s, some %d questions", "Usual")
	if !strings.Contains(h.page["stage"], "<span>Kurz <span class=\"quiet\">etwa 4 Minuten, rund ") {
		t.Error("the length is not said")
	}
	delete(missed, "short")
	h.app.Input("distance", "62,5")
	h.app.Input("card", "400")
	see("card lean facts", "%s pixels to the millimetre, %.0f to the inch.", "Lean back from %d cm to about %d cm, until the lines melt.", "%s device pixels to a CSS pixel")
	if !strings.Contains(h.page["card"], "4,67 Pixel je Millimeter, 119 je Zoll.") {
		t.Errorf("numbers: %s", h.page["card"])
	}
	if strings.Contains(h.page["stage"]+h.page["facts"]+h.page["start"], `name="Wer`) || !strings.Contains(h.page["stage"], `value="short"`) {
		t.Error("a name that the program listens for was translated")
	}
	h.click("continue", "")
	see("stage", "The two small squares are lines one pixel thin, lying in one and standing in the other. %s", "Yes, melted and even")
	h.click("continue", "")
	h.stage(Intro)
	see("stage bar", "Shadows", "Begin", "%s · %d answered", "about %d min left", "shadows")
	h.toTrial()
	see("bar", "Practice.", "Which cell holds a square?", "can't tell", "Space [a key]", "Z [the key below A]")
	m := h.presentation()
	if m.Question != said["Which cell holds a square?"] || m.Choices[0].Label != said["top left"] || h.said != m.Question {
		t.Errorf("asked %q, read out %q, with the choice %q", m.Question, h.said, m.Choices[0].Label)
	}
	delete(missed, "top left")
	if m.Check != "shadows" || m.Task != "odd cell" || m.Choices[0].Key != "KeyQ" {
		t.Errorf("what machines read was translated: %s, %s, %s", m.Check, m.Task, m.Choices[0].Key)
	}
	h.advance(time.Second)
	h.click("pause", "")
	see("stage", "You paused.", "Everything answered is kept: %s", "%d answered, %s.")
	if list := h.app.sitting.Conditions.Disturbances; len(list) != 1 || list[0] != "You paused." {
		t.Errorf("the record says %q", list)
	}
	for message := range missed {
		t.Errorf("%q was not looked for", message)
	}
}

// A fragment of a page leads to pages in the language spoken.
func TestLinksOfFragments(t *testing.T) {
	link := templ.Raw(`<a href="/desk">x</a>`)
	if got := rendered(link); got != `<a href="/desk">x</a>` {
		t.Errorf("in English %s", got)
	}
	words.Use(&words.Catalogue{Language: "de", Messages: map[string]string{"x": "y"}})
	t.Cleanup(func() { words.Use(nil) })
	if got := rendered(link); got != `<a href="/de/desk">x</a>` {
		t.Errorf("in German %s", got)
	}
	h := begin(t, nil)
	h.app.browser.Origin = "http://127.0.0.1"
	h.app.openPlates("pattern=steps")
	if got := h.app.plateLink(); !strings.HasPrefix(got, "http://127.0.0.1/de/pattern?") {
		t.Errorf("the link of a pattern is %s", got)
	}
}

func TestTimesInAnotherLanguage(t *testing.T) {
	at := time.Date(2026, 3, 5, 9, 7, 0, 0, time.UTC)
	if got := day(at); got != "5 March 2026, 09:07" {
		t.Errorf("in English %s", got)
	}
	words.Use(&words.Catalogue{Language: "de", Date: "%d. %s %d", Messages: map[string]string{"March": "März", "%d hours ago": "vor %d Stunden", "%s and %s": "%s und %s"}})
	t.Cleanup(func() { words.Use(nil) })
	if got := day(at); got != "5. März 2026, 09:07" {
		t.Errorf("in German %s", got)
	}
	if got := ago(3 * time.Hour); got != "vor 3 Stunden" {
		t.Errorf("in German %s", got)
	}
	if got := listed([]string{"a", "b", "c"}); got != "a, b und c" {
		t.Errorf("in German %s", got)
	}
	if got := spell(305 * time.Second); got != "5 min 5 s" { // it stands in records
		t.Errorf("in German %s", got)
	}
}
