package app

import (
	"bytes"
	"encoding/json"
	"html"
	"regexp"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// judged is a record with something of everything that a report shows.
func judged() report.Record {
	span := func(at, by float64) report.Span { return report.Span{At: at, Lo: at - by, Hi: at + by} }
	lines, tint := span(-0.012, 0.02), span(0.004, 0.002)
	return report.Record{
		Program: "test", Plan: check.Plan{Length: check.Long, Aim: "srgb"},
		Conditions: report.Conditions{
			Screen: "studio left", Viewer: "Ines", Started: 1790000000000, Ended: 1790000600000, Width: 1440, Height: 900, PixelRatio: 1.5, Gamut: "p3", DynamicRange: "high", ColorDepth: 30,
			Profile: "ignored", Settings: map[string]string{"night": "yes", "zoom": "no"}, Room: "bright", Distance: 62.5, Pitch: 3.7, Vision: "differs", Even: "no",
			Disturbances: []string{"The window changed its size.", "The window changed its size."},
		},
		Judgements: []check.Judgement{{Kind: check.Catch, Right: true, Latency: 1250}},
		Findings: []report.Finding{
			{Aspect: check.Shadows, Verdict: report.Off, Quantity: "first visible code", Mean: 14.2, Lo: 12.3, Hi: 15.9, AllowedHi: 9, Seen: "Levels up to 13 are lost.", Why: "More judgements would settle it.", Smallest: "one code", Judgements: 12},
			{Aspect: check.Neutrals, Verdict: report.Holds, Quantity: "grey tint", Mean: 0.004, Lo: 0.002, Hi: 0.006, AllowedHi: 0.01, Seen: "Greys are neutral.", Judgements: 24},
			{Aspect: check.Evenness, Verdict: report.NotChecked, Why: "Nobody looked."},
		},
		Faults: []report.Fault{{Name: "crushed blacks", Sure: 0.99, Seen: "Levels up to 13 are lost.", Cause: "The room is bright.", Remedy: "Turn the lamp off."}},
		Curve:  report.Curve{Signal: []float64{0, 0.5, 1}, At: []float64{0, 52.25, 100}, Lo: []float64{0, 50, 100}, Hi: []float64{0, 54, 100}, AimLo: []float64{0, 53.5, 100}, AimHi: []float64{0, 53.5, 100}},
		Greys:  []report.Grey{{Code: 128, Pink: span(0.0035, 0.001), Yellow: span(-0.0035, 0.001)}},
		Places: &report.Places{Rows: 3, Cols: 3, Light: []report.Span{span(-0.2, 0.03), {}, {}, {}, {}, {}, {}, {}, {}}, Tint: &tint},
		Lines:  &lines,
		Reach:  &report.Reach{Red: span(0.6, 0.1), Green: span(0.3, 0.1)},
		Notes:  []string{"A note on the answers."},
	}
}

// A report of a record, and two of them side by side, are said in the language spoken: what pages say, what the program says, and what the record has in English. Numbers have
// its decimals, drawings stay drawings, and the record is left alone.
func TestReportInAnotherLanguage(t *testing.T) {
	said := map[string]string{
		// What pages say.
		"About the answers":      "Zu den Antworten",
		"Estimate":               "Schätzung",
		"Aim [of a screen]":      "Ziel",
		"Signal, %":              "Signal (%)",
		"Tint in figures":        "Farbstich in Zahlen",
		"pinker and bluer":       "rosiger und blauer",
		"top left":               "oben links",
		"first seen %s":          "zuerst gesehen %s",
		"Conditions that differ": "Andere Bedingungen",
		"%s <span class=\"quiet\">earlier</span>, %s <span class=\"quiet\">later</span>":                                                 "<span class=\"quiet\">früher</span> %s, <span class=\"quiet\">später</span> %s",
		"%s: estimate %s, 90 %% interval %s to %s, allowed %s to %s, on an axis from %s to %s.":                                          "%s: Schätzung %s, 90-%%-Intervall %s bis %s, zulässig %s bis %s, Achse %s bis %s.",
		"Lines across look %s %% darker than lines upright (%s to %s). Up to %s %% either way is allowed; beyond it tone is not judged.": "Waagerechte Linien: %s %% dunkler (%s bis %s), zulässig %s %%.",
		"%s: earlier %s, 90 %% interval %s to %s; later %s, 90 %% interval %s to %s; allowed %s to %s.":                                  "%s: früher %s, 90-%%-Intervall %s bis %s; später %s, 90-%%-Intervall %s bis %s; zulässig %s bis %s.",
		"%s to %s [from one figure to another]":                                                                                          "%s bis %s",
		"%.0f %% darker than the middle (%s to %s)":                                                                                      "%.0f %% dunkler (%s bis %s)",
		// What the program says.
		"%s %s (%s to %s), %s":                "%s %s (%s bis %s), %s",
		"allowed up to %s":                    "zulässig bis %s",
		"grey tint in u'v'":                   "Graustich in u'v'",
		"almost certain":                      "so gut wie sicher",
		"colours %s":                          "Farben %s",
		"wider than sRGB (P3)":                "mehr als sRGB (P3)",
		"night tint off":                      "Nachtlicht aus",
		"bright [a room]":                     "hell",
		"%s at a scale of %s; not one to one": "%s bei %s; nicht eins zu eins",
		"ignored by the browser":              "vom Browser ignoriert",
		"%s (%d times)":                       "%s (%d-mal)",
		"The viewer looked.":                  "Es wurde hingesehen.",
		"By %s (%s to %s).":                   "Um %s (%s bis %s).",
		"dark [a room]":                       "dunkel",
		// What the record has in English.
		"shadows":                          "Tiefen",
		"first visible code":               "erster sichtbarer Codewert",
		"Levels up to %d are lost.":        "Stufen bis %d gehen verloren.",
		"More judgements would settle it.": "Mehr Einzelurteile würden es entscheiden.",
		"one code":                         "ein Codewert",
		"crushed blacks":                   "zugelaufene Tiefen",
		"The room is bright.":              "Der Raum ist hell.",
		"Turn the lamp off.":               "Schalten Sie die Lampe aus.",
		"The window changed its size.":     "Das Fenster änderte seine Größe.",
		"A note on the answers.":           "Ein Vermerk zu den Antworten.",
		"Nobody looked.":                   "Niemand hat hingesehen.",
		"long":                             "lang",
	}
	words.Use(&words.Catalogue{Language: "de", Name: "Deutsch", Decimal: ",", Date: "%d. %s %d", Messages: said})
	t.Cleanup(func() { words.Use(nil) })

	r := judged()
	before, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	other := judged()
	other.Conditions.Room, other.Findings[0].Mean, other.Findings[0].Lo, other.Findings[0].Hi = "dark", 6, 5.5, 6.6
	page := html.UnescapeString(rendered(pages.ReportBody(view(r, time.UTC))) + rendered(pages.Compare(comparison(other, r, time.UTC))))
	if after, err := json.Marshal(r); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the record was changed: %s, %v", after, err)
	}
	verbs := regexp.MustCompile(`%[sd]|%\.0f`)
	for message, german := range said {
		for _, part := range verbs.Split(german, -1) {
			if part = strings.ReplaceAll(part, "%%", "%"); !strings.Contains(page, part) && !strings.Contains(page, capital(part)) {
				t.Errorf("%q is not said as %q", message, german)
				break
			}
		}
		english, _, _ := strings.Cut(message, " [")
		for _, part := range verbs.Split(english, -1) {
			if len(part) > 8 && strings.Contains(page, strings.ReplaceAll(part, "%%", "%")) {
				t.Errorf("%q is said in English too", message)
			}
		}
	}
	for _, figure := range []string{"0,0040 (0,0020 bis 0,0060)", ">0,2</text>", "zuerst gesehen 14,2", "0,0035", "50,0 bis 54,0", "−3,2 bis 0,8"} {
		if !strings.Contains(page, figure) {
			t.Errorf("the figure %s is not there", figure)
		}
	}
	if bad := regexp.MustCompile(` (d|x|y|cx|cy|r|width|height|viewBox)="[^"]*,`).FindString(page); bad != "" {
		t.Errorf("a drawing has decimals that no browser reads: %s", bad)
	}
}
