package app

import (
	"context"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/words"
)

// Who asks reads the page of a request, its link and the desk in the language spoken. The link that is passed on names no language, what was typed stays as it is, and what is kept of a
// letter that cannot be read is English.
func TestAskInAnotherLanguage(t *testing.T) {
	said := map[string]string{
		"Ask for a check":               "Prüfung anfragen",
		"What it is for":                "Wofür es ist",
		"the name they know you by":     "der Name, unter dem man Sie dort kennt",
		"How long the link lasts":       "Wie lange der Link gilt",
		"short":                         "kurz",
		"%d days":                       "%d Tage",
		"Say who asks.":                 "Sagen Sie, wer fragt.",
		"Make the link":                 "Link machen",
		"The link is ready":             "Der Link ist fertig",
		"Link to the request":           "Link zur Anfrage",
		"My desk":                       "Mein Pult",
		"Open until %s, %s":             "Offen bis zum %s, %s",
		"December":                      "Dezember",
		"until %s":                      "bis zum %s",
		"no answers":                    "keine Antworten",
		"%d answer":                     "%d Antwort",
		"%[2]s: %[1]d answer has come.": "%[2]s: %[1]d Antwort ist gekommen.",
		"%d letter could not be read.":  "%d Brief ließ sich nicht lesen.",
		"It is not whole.":              "Er ist nicht vollständig.",
		"Delete":                        "Löschen",
		"%s cannot be reached: it is down, or there is no connection.": "%s ist nicht zu erreichen.",
		"Answers that wait there are not lost.":                        "Antworten dort sind nicht verloren.",
		"You are asked to check your screen":                           "Sie werden gebeten",
		"%s asks you to check your screen":                             "%s bittet Sie, Ihren Bildschirm zu prüfen",
		"Paste a link":                                                 "Link einfügen",
	}
	words.Use(&words.Catalogue{Language: "de", Name: "Deutsch", Decimal: ",", Date: "%d. %s %d", Messages: said})
	t.Cleanup(func() { words.Use(nil) })
	store := world()
	p := visit(t, store, nil, "ask", "")
	p.must(">Prüfung anfragen</h1>", "<label>Wofür es ist <input", `placeholder="der Name, unter dem man Sie dort kennt"`, "Wie lange der Link gilt", "Kurz", `value="short"`, "30 Tage", "Link machen")
	p.app.Input("title", "Catalogue, short")
	p.press("make", "")
	if p.must("Sagen Sie, wer fragt."); p.amiss != "from" || p.said != "Sagen Sie, wer fragt." {
		t.Errorf("amiss is %q, said is %q", p.amiss, p.said)
	}
	fragment := p.ask(false) // it finds the address by its origin and /r#
	p.must("Der Link ist fertig", "Link zur Anfrage")
	for id, html := range p.page {
		if strings.Contains(html, "plumb.test/de") {
			t.Errorf("%s passes on an address in one language: %s", id, html)
		}
	}
	l, err := link.Read(fragment)
	box, ok := l.(link.Box)
	if err != nil || !ok {
		t.Fatalf("the link carries %T: %v", l, err)
	}
	p.press("desk", "")
	p.must(">Mein Pult</h1>", "Offen bis zum 24. Dezember 2026, keine Antworten", ">Orchard catalogue, spread 4</h2>", "Löschen", "Link einfügen", `href="/de/ask"`)

	if _, err := store.Put(context.Background(), mailbox.Address(box.Address), mailbox.ID(chance(16)), []byte("\x01\x02rubbish")); err != nil {
		t.Fatal(err)
	}
	p.app.Visible(true)
	p.within(2*time.Second, "a letter", func() bool { return p.answers() == 1 })
	p.must("Offen bis zum 24. Dezember 2026, 1 Antwort<", "1 Brief ließ sich nicht lesen. Er ist nicht vollständig.")
	if p.said != "Orchard catalogue, spread 4: 1 Antwort ist gekommen." {
		t.Errorf("a screen reader hears %q", p.said)
	}
	if kept := p.app.mail.letters[0].Fault; kept != "It is not whole." {
		t.Errorf("kept of the letter: %q", kept)
	}
	p.down = ErrOffline
	p.pass(40 * time.Second)
	p.must("plumb.test ist nicht zu erreichen. Antworten dort sind nicht verloren.")
	for message, other := range said {
		if !strings.Contains(message, "%") && len(message) > 8 && message != other && p.reads(message) {
			t.Errorf("%q is said in English", message)
		}
	}

	other := visit(t, store, nil, "request", fragment)
	other.must("Tomas bittet Sie, Ihren Bildschirm zu prüfen", "Orchard catalogue, spread 4", "bis zum 24. Dezember 2026")
}
