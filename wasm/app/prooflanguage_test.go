package app

import (
	"strings"
	"testing"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// What a screen hides of a picture, and what approving it covers and does not, is said in the language spoken before anything is approved; what is signed is English, byte for byte.
func TestProofInAnotherLanguage(t *testing.T) {
	said := map[string]string{
		"What this screen hides": "Was dieser Bildschirm verbirgt",
		"%s are hidden or shifted in one way or another. A pixel may be in several.": "%s sind verborgen oder verschoben.",
		"about %s of its pixels (with 90 %% certainty %s to %s)":                     "etwa %s der Pixel (mit 90 %% Sicherheit %s bis %s)",
		"Shadows shown as black": "Tiefen, die schwarz gezeigt werden",
		"There is detail in dark parts that this screen shows as plain black.": "In dunklen Teilen ist Zeichnung, die schwarz gezeigt wird.",
		"Hatch where: %s":  "Stelle schraffieren: %s",
		"Approving covers": "Die Freigabe deckt ab",
		"\"%s\", %s pixels, exactly the bytes that were sent.":                                                                "„%s“, %s Pixel, genau die gesendeten Bytes.",
		"What this screen shows of it. What is listed below is not seen here, as far as the check can tell, and not covered.": "Was dieser Bildschirm davon zeigt. Unten Aufgeführtes ist nicht abgedeckt.",
		"The record lists as not seen":                                        "Das Protokoll führt als nicht gesehen",
		"detail in shadows that this screen shows as black":                   "Zeichnung in den Tiefen, die dieser Bildschirm schwarz zeigt",
		"Approve \"%s\" as seen on this screen, with all that is said above?": "„%s“ freigeben, mit allem, was oben steht?",
		"Worked out from this picture's own %s pixels on %d screens, all of which your answers allow: the interval is what they differ by.": "Errechnet aus %s Pixeln auf %d Bildschirmen.",
		"not seen or shifted: %s": "nicht gesehen oder verschoben: %s",
		"Undecided":               "Unentschieden",
		"Approved":                "Freigegeben",
		"approved":                "freigegeben",
		"It is seen on a screen that nobody checked: what this screen hides of it is not known, and the record says so.": "Den Bildschirm hat niemand geprüft: Was er verbirgt, ist nicht bekannt.",
		"A screen that is good enough for %s was asked for. This one was not checked: the record says so.":               "Verlangt war ein Bildschirm für %s. Dieser wurde nicht geprüft.",
		"light and shade": "Licht und Schatten",
	}
	store := world()
	asker, fragment := prove(t, store, "light and shade", named{"barn.png", barn(t)})
	rows := checkedRows(t)
	words.Use(&words.Catalogue{Language: "de", Decimal: ",", Messages: said})
	t.Cleanup(func() { words.Use(nil) })

	p := visit(t, store, rows, "request", fragment)
	p.press("use", p.sittingID())
	p.looks()
	found := screen.Hidden{Pixels: 24159, Draws: 200, Shadows: share(0.142, 0.117, 0.168), Any: share(0.142, 0.117, 0.168)}
	p.app.viewing.sights[0].hidden = found
	p.app.viewing.sheet.Pictures[0].Hidden = hiddenOf(found)
	p.app.fillDecisions()
	p.app.fillHides()
	extent := "twa 14 % der Pixel (mit 90 % Sicherheit 12 % bis 17 %)"
	p.must("Was dieser Bildschirm verbirgt", "E"+extent+" sind verborgen oder verschoben.", "Tiefen, die schwarz gezeigt werden", "In dunklen Teilen ist Zeichnung", `aria-label="Stelle schraffieren: Tiefen, die schwarz gezeigt werden"`,
		"Die Freigabe deckt ab", "„barn.png“, 60 × 40 Pixel, genau die gesendeten Bytes.", "Unten Aufgeführtes ist nicht abgedeckt.", "Das Protokoll führt als nicht gesehen",
		"Zeichnung in den Tiefen, die dieser Bildschirm schwarz zeigt: e"+extent, "nicht gesehen oder verschoben: e"+extent, "Errechnet aus 24.159 Pixeln auf 200 Bildschirmen.", "Unentschieden")
	for message := range said {
		if !strings.Contains(message, "%") && len(message) > 20 && p.reads(message) {
			t.Errorf("%q is said in English", message)
		}
	}
	if got, want := percent(0.0123), "1,2 %"; got != want {
		t.Errorf("a share is %q, want %q", got, want)
	}
	p.press("approve", "0")
	p.must("„barn.png“ freigeben, mit allem, was oben steht?")
	if d := p.app.viewing.sheet.Pictures[0].Decision; d != record.Undecided {
		t.Fatalf("%q after the first press", d)
	}
	p.press("covers-yes", "0")
	p.must("Freigegeben")
	if d := p.app.decideView(); rendered(pages.DecisionShape(d.Decision)) == rendered(pages.DecisionShape("")) || p.app.viewing.sheet.Pictures[0].Decision != record.Approved {
		t.Error("what is approved is not drawn as that")
	}
	s := p.signs("Ines")
	text := string(s.Record)
	if !strings.Contains(text, "approved") || !strings.Contains(text, "light and shade") || !strings.Contains(text, "shadows") {
		t.Errorf("the signed text: %s", text)
	}
	for message, other := range said {
		if other != message && strings.Contains(text, other) {
			t.Errorf("%q is in the signed text", other)
		}
	}
	if _, err := first(p.decisions(asker)).stands(asker.app.mail.requests[0].Ask.Proof.Request); err != nil {
		t.Errorf("it does not stand for who asked: %v", err)
	}

	// Unchecked it says so, and nothing of what is hidden.
	q := visit(t, store, nil, "request", fragment)
	q.press("unchecked", "")
	q.looks()
	q.must("Den Bildschirm hat niemand geprüft: Was er verbirgt, ist nicht bekannt.", "Verlangt war ein Bildschirm für Licht und Schatten. Dieser wurde nicht geprüft.")
	if q.reads("Das Protokoll führt als nicht gesehen") || q.reads("nicht abgedeckt") {
		t.Error("something is said to be hidden on a screen that nobody checked")
	}
}
