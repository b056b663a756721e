package app

import (
	"strings"
	"testing"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/words"
)

// speak lets all be said by these messages until the test is over, and gives what looks for them on the page: in the other words, and not in English.
func speak(t *testing.T, said map[string]string) (see func(page string, messages ...string)) {
	t.Helper()
	words.Use(&words.Catalogue{Language: "de", Name: "Deutsch", Decimal: ",", Date: "%d. %s %d", Messages: said})
	missed := map[string]bool{}
	for message := range said {
		missed[message] = true
	}
	t.Cleanup(func() {
		words.Use(nil)
		for message := range missed {
			t.Errorf("%q was not looked for", message)
		}
	})
	verbs := strings.NewReplacer("%s", "|", "%d", "|", "%%", "%")
	return func(page string, messages ...string) {
		t.Helper()
		for _, message := range messages {
			delete(missed, message)
			for _, part := range strings.Split(verbs.Replace(said[message]), "|") {
				if !strings.Contains(page, part) {
					t.Errorf("%q is not said as %q: %s", message, said[message], page)
				}
			}
			english, _, _ := strings.Cut(message, " [")
			for _, part := range strings.Split(verbs.Replace(english), "|") {
				if len(part) > 8 && strings.Contains(page, part) {
					t.Errorf("%q is said in English too", message)
				}
			}
		}
	}
}

// What a profile and readings say is told in the language spoken: what pages say, what the program makes of figures, and what the looker found, which comes as finished English.
func TestAfterInAnotherLanguage(t *testing.T) {
	see := speak(t, map[string]string{
		"After calibrating":           "Nach dem Kalibrieren",
		"Held against:":               "Verglichen mit:",
		"tones: %s":                   "Töne: %s",
		"sRGB's curve or gamma 2.2":   "Kurve von sRGB oder Gamma 2,2",
		"gamma %s":                    "Gamma %s",
		"Is it loaded now?":           "Ist sie jetzt geladen?",
		"Correction":                  "Korrektur",
		"not asked yet":               "noch nicht gefragt",
		"Check by eye, %s":            "Nach Augenschein prüfen, %s",
		"about %d minutes":            "etwa %d Minuten",
		"display profile":             "Bildschirmprofil",
		"display":                     "Bildschirm",
		"daylight of %s K":            "Tageslicht von %s K",
		"%s (%s, %s from it in u'v')": "%s (%s; davon um %s in u'v' entfernt)",
		"x %s, y %s":                  "x %s; y %s",
		"Greys follow a gamma of about %s and keep to the aim.":                                             "Grautöne folgen einem Gamma von etwa %s.",
		"It moves %s most, by %s codes at code %d. Where the card sends 8 bits, %s keeps %d of 256 levels.": "Am meisten verschiebt sie %s, um %s Codes bei Code %d; %s behält %d von 256 Stufen.",
		"a table of 256 entries of 16 bits":                                                                 "Eine Tabelle mit 256 Einträgen zu 16 Bit",
		"blue":                                                                                              "Blau",
		"Signal, %":                                                                                         "Signal in %",
		"%s at code %d":                                                                                     "%s bei Code %d",
		"November":                                                                                          "Nebelmond",
		"The readings cannot be read.":                                                                      "Die Messwerte sind nicht zu lesen.",
		"Mend that place in a text editor, or export the readings anew as CGATS or CSV with XYZ or L*a*b*.": "Bessern Sie die Stelle aus.",
		"Not taken":             "Nicht genommen",
		"The file %s is empty.": "Die Datei %s ist leer.",
		"Together":              "Zusammen",
		"Tone":                  "Tonwerte",
		"Colours":               "Farben",
	})
	p := afterPage(t)
	p.lays("studio-left.icc", "studio-left.txt")
	see(p.page["stage"], "After calibrating", "Held against:")
	see(p.page["held"], "tones: %s", "sRGB's curve or gamma 2.2")
	see(p.page["heard"], "Is it loaded now?", "Correction", "not asked yet", "Check by eye, %s", "about %d minutes", "Together", "Tone", "Colours")
	see(p.page["promise"], "display profile", "display", "daylight of %s K", "%s (%s, %s from it in u'v')", "x %s, y %s", "Greys follow a gamma of about %s and keep to the aim.",
		"It moves %s most, by %s codes at code %d. Where the card sends 8 bits, %s keeps %d of 256 levels.", "blue", "a table of 256 entries of 16 bits", "Signal, %", "%s at code %d", "November")
	for _, w := range []string{"x 0,3127; y 0,3290", "0,3127; 0,3290", "Gamma von etwa 2,20.", "20. Nebelmond 2026", "studio left, 20 November: Bildschirmprofil."} {
		if !strings.Contains(p.page["promise"], w) {
			t.Errorf("%q is not in %s", w, p.page["promise"])
		}
	}
	if strings.Contains(p.page["asks"], `value="Gamma`) || !strings.Contains(p.page["asks"], `value="gamma 2.4"`) {
		t.Error("a value that the program listens for was translated")
	}
	p.app.Input("aim", "gamma 2.4")
	p.pass(animation)
	see(p.page["held"], "gamma %s")
	if !strings.Contains(p.page["held"], "Töne: Gamma 2,4, ") {
		t.Errorf("held against %s", p.page["held"])
	}
	p.app.Opened("", "notes.txt", []byte("apples and pears\n"), nil)
	p.pass(animation)
	see(p.page["papers"], "Not taken", "The readings cannot be read.", "Mend that place in a text editor, or export the readings anew as CGATS or CSV with XYZ or L*a*b*.")
	p.app.Opened("", "empty.txt", nil, nil)
	see(p.page["message"], "The file %s is empty.")
}

// The journal tells what has moved in the language spoken, with its numbers and days; what people typed and what pages send back stays.
func TestJournalInAnotherLanguage(t *testing.T) {
	see := speak(t, map[string]string{
		"All screens":                        "Alle Bildschirme",
		"Moved since the baseline: %s.":      "Verschoben seit dem Ausgangspunkt: %s.",
		"tone":                               "Tonwerte",
		"gamma":                              "Gamma",
		"%s against the baseline (%s to %s)": "%s gegenüber dem Ausgangspunkt (%s bis %s)",
		"moved, %s, since %s.":               "verschoben, %s, seit dem %s.",
		"October":                            "Weinmond",
		"The middle tones are darker.":       "Die Mitteltöne sind dunkler.",
		"%s to %s [an interval]":             "%s bis %s",
		"The aims differ: %s, then %s.":      "Die Ziele sind verschieden: %s, dann %s.",
		"%d sitting":                         "%d Sitzung",
		"%d sittings":                        "%d Sitzungen",
		"%s, since %s.":                      "%s, seit dem %s.",
		"Every %d weeks":                     "Alle %d Wochen",
		"%s a look is due, from now on.":     "%s ist ab jetzt eine Prüfung fällig.",
		"Rename it":                          "Umbenennen",
		"short":                              "kurz",
		"Last looked at %s, %s.":             "Zuletzt geprüft %s, am %s.",
		"%d days ago":                        "vor %d Tagen",
		"the browser's storage is full":      "der Speicher ist voll",
		"Nothing was changed: %s.":           "Nichts wurde geändert: %s.",
		"Baseline":                           "Ausgangspunkt",
	})
	rows := drawers{}
	for i, gamma := range []float64{2.2, 2.21, 2.55, 2.54} {
		looked(t, rows, "a"+string(rune('1'+i)), "studio left", "native", start.AddDate(0, 0, 20*i-100), toned(gamma))
	}
	looked(t, rows, "a5", "studio left", "native", start.AddDate(0, 0, -10), func(r *report.Record) {
		toned(2.2)(r)
		r.Plan.Aim = "wide"
	})
	looked(t, rows, "b1", "Okke's corner", "", start.AddDate(0, 0, -50), nil)
	kept := string(rows[Records]["a1"])
	p := reads(t, rows)
	see(p.page["journal"], "Moved since the baseline: %s.", "tone", "%d sitting", "%d sittings", "Last looked at %s, %s.", "%d days ago")
	if !strings.Contains(p.page["journal"], "Okke's corner") {
		t.Errorf("a name was translated: %s", p.page["journal"])
	}
	v := p.chapter("Studio left, native")
	see(p.page["stage"], "All screens")
	page := p.page["journal"]
	see(page, "gamma", "%s against the baseline (%s to %s)", "moved, %s, since %s.", "October", "The middle tones are darker.", "%s to %s [an interval]", "The aims differ: %s, then %s.", "%s, since %s.", "Every %d weeks",
		"Rename it", "short", "Baseline")
	for _, w := range []string{"Tonwerte, Gamma: verschoben, +0,3", `text-anchor="end">2,`, "Weinmond 2026", `value="28"`, `data-action="rename"`, `value="studio left"`} {
		if !strings.Contains(page, w) {
			t.Errorf("%q is not in %s", w, page)
		}
	}
	p.app.Input("interval", "28")
	p.pass(animation)
	see(p.page["message"], "Every %d weeks", "%s a look is due, from now on.")
	p.refuse = ErrFull
	p.app.Input("interval", "14")
	p.pass(animation)
	see(p.page["message"], "Nothing was changed: %s.", "the browser's storage is full")
	if string(p.rows[Records]["a1"]) != kept || p.app.volume(v.ID).Interval != 28 {
		t.Error("what is kept was changed")
	}
}

// What became of a chapter is worked out once, and anew when its sittings or its baseline change.
func TestFollowedOnce(t *testing.T) {
	rows := drawers{}
	for i, gamma := range []float64{2.2, 2.21, 2.19} {
		looked(t, rows, "a"+string(rune('1'+i)), "studio left", "", start.AddDate(0, 0, 20*i-100), toned(gamma))
	}
	p := reads(t, rows)
	v := p.chapter("Studio left")
	_, first := p.app.follow(p.app.volume(v.ID))
	p.app.reread()
	p.pass(animation)
	if _, again := p.app.follow(p.app.volume(v.ID)); len(again) == 0 || &again[0] != &first[0] {
		t.Error("it is worked out again though nothing has changed")
	}
	p.press("sitting-baseline", "a2")
	p.pass(animation)
	_, other := p.app.follow(p.app.volume(v.ID))
	if len(other) == 0 || &other[0] == &first[0] || other[0].Points[0].Why == "" {
		t.Errorf("against another baseline: %+v", other)
	}
	p.press("sitting-delete", "a3")
	p.press("sitting-delete", "a3")
	p.pass(animation)
	if list, fewer := p.app.follow(p.app.volume(v.ID)); len(list) != 2 || &fewer[0] == &other[0] {
		t.Errorf("%d sittings after one was deleted", len(list))
	}
}
