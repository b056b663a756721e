package words

import "testing"

func speak(t *testing.T, messages map[string]string) {
	Use(&Catalogue{Language: "de", Name: "Deutsch", Decimal: ",", Date: "%d. %s %d", Messages: messages})
	t.Cleanup(func() { Use(nil) })
}

func TestEnglishNeedsNoCatalogue(t *testing.T) {
	for got, want := range map[string]string{
		Say("Which side is lighter?"):                          "Which side is lighter?",
		Say("about %d of 100 %%", 7):                           "about 7 of 100 %",
		Some(1, "%d answer", "%d answers"):                     "1 answer",
		Some(2, "%d answer of %s", "%d answers of %s", "Ines"): "2 answers of Ines",
		As("open", "a box"):                                    "open",
		Number(2.25, 2):                                        "2.25",
		Number(0.5, -1):                                        "0.5",
		Found("anything: at all"):                              "anything: at all",
		Path("/check"):                                         "/check",
		Day(3, "May", 2026):                                    "3 May 2026",
		Language():                                             "en",
	} {
		if got != want {
			t.Errorf("said %q, want %q", got, want)
		}
	}
}

func TestAnotherLanguage(t *testing.T) {
	speak(t, map[string]string{
		"Which side is lighter?": "Welche Seite ist heller?", "%d answer": "%d Antwort", "%d answers": "%d Antworten", "open [a box]": "offen", "May": "Mai",
		"%s of %s": "%[2]s: %[1]s", "empty": "",
	})
	for got, want := range map[string]string{
		Say("Which side is lighter?"):      "Welche Seite ist heller?",
		Say("not there"):                   "not there",
		Say("empty"):                       "empty", // an empty translation says nothing, so the message stays
		Say("%s of %s", "a", "b"):          "b: a",
		Some(1, "%d answer", "%d answers"): "1 Antwort",
		Some(0, "%d answer", "%d answers"): "0 Antworten",
		As("open", "a box"):                "offen",
		As("open", "a door"):               "open",
		Number(2.25, 2):                    "2,25",
		Path("/check?length=short"):        "/de/check?length=short",
		Path("/"):                          "/de/",
		Path("/assets/x.css"):              "/assets/x.css",
		Path("/de/check"):                  "/de/check",
		Path("https://example.org/"):       "https://example.org/",
		Day(3, "May", 2026):                "3. Mai 2026",
		Language():                         "de",
	} {
		if got != want {
			t.Errorf("said %q, want %q", got, want)
		}
	}
}

func TestFoundAgain(t *testing.T) {
	speak(t, map[string]string{
		"shadows": "Tiefen", "Nothing is lost.": "Nichts geht verloren.",
		"picture: %s is %d x %d, too large": "picture: %[2]d x %[3]d ist zu groß für %[1]s",
		"gamma %.2f of %s":                  "Gamma %.2f bei %s", "line %d: %w": "Zeile %d: %w",
		"%d of 100 %% of %s": "%d von 100 %% von %s", "%s of %s": "%s (%s)", "as it is %s": "so: %s",
		"tone": "Ton", " and ": " und ", "cut short": "abgeschnitten", "it ends": "es endet", "Not fit: %s off.": "Ungeeignet: %s.", "the file %s": "die Datei %s", "the file is empty": "sie ist leer",
		"as it is %s now": "jetzt: %s", "\"%s\"": "„%s“", "aim %q is not known": "das Ziel %q ist nicht bekannt",
	})
	for text, want := range map[string]string{
		"shadows": "Tiefen",
		"picture: apple.png is 20000 x 3, too large": "picture: 20000 x 3 ist zu groß für apple.png",
		"gamma 2.20 of shadows":                      "Gamma 2,20 bei Tiefen",
		"line 7: gamma 1.80 of shadows":              "Zeile 7: Gamma 1,80 bei Tiefen",
		"line x: gamma":                              "line x: gamma", // no number where one has to be
		"5 of 100 % of shadows":                      "5 von 100 % von Tiefen",
		"as it is here now":                          "jetzt: here", // the form with more of the text wins
		"Nothing is lost. gamma 1.80 of shadows":     "Nichts geht verloren. Gamma 1,80 bei Tiefen",
		"Nothing is lost.\nkitchen laptop":           "Nichts geht verloren.\nkitchen laptop",
		"kitchen laptop":                             "kitchen laptop",
		"link: cut short":                            "abgeschnitten",       // without the name of the package
		"note: cut short":                            "note: abgeschnitten", // which this is none of
		"It ends.":                                   "Es endet.",           // as a sentence
		"Line 7: the file is empty.":                 "Zeile 7: sie ist leer.",
		"Not fit: shadows, tone and XYZ off.":        "Ungeeignet: Tiefen, Ton und XYZ.",
		"shadows and tone of mine":                   "shadows and tone of mine", // no list of messages
		`check: aim "a \"b\"" is not known`:          `das Ziel „a "b"“ ist nicht bekannt`,
		"aim x is not known":                         "das Ziel x ist nicht bekannt",
		"":                                           "",
	} {
		if got := Found(text); got != want {
			t.Errorf("found %q for %q, want %q", got, text, want)
		}
	}
}

func FuzzFound(f *testing.F) {
	f.Add("%d of %[2]s", "3 of it")
	f.Add("%", "%")
	f.Add("%[9999999999999999999]d x", "1 x")
	f.Fuzz(func(t *testing.T, message, text string) {
		Use(&Catalogue{Language: "de", Messages: map[string]string{message: message, "x": "y"}})
		defer Use(nil)
		Found(text) // whatever is in a catalogue or a text, it comes to an end without a panic
	})
}
