package pages

import (
	"strings"
	"testing"

	"github.com/a-h/templ"
)

// The page of patterns, by the names of its golden files.
func init() {
	line := Plate{
		Title: "Line match", Levels: []PlateLevel{{"Plain", "188", false, false}, {"Lit lines", "1of2", false, false}, {"Dark lines", "0", true, false}}, Chosen: 2,
		Screen: "fullscreen", Said: "The link is on the clipboard.", Link: "https://plumb.example/pattern?pattern=match&plain=188",
	}
	for name, c := range map[string]templ.Component{
		"carry-pattern":   Patterns(Site{}),
		"plates":          PlatesPage(Plates{List: []PlateEntry{{"black", "Near black", "Which cell?", "Dark."}, {"steps", "Grey steps", "Do <bars> part?", ""}}, Buttons: []Button{{Action: "fullscreen", Label: "Full screen"}}}),
		"plate-line":      PlateLine(line),
		"plate-line-zero": PlateLine(Plate{}),
	} {
		golden[name] = c
	}
}

// The chosen level alone is marked and moved, and no further than it goes.
func TestPlateLine(t *testing.T) {
	p := Plate{Levels: []PlateLevel{{"Patch", "8", false, true}, {"Cell", "none", true, false}}, Chosen: 1}
	text := render(t, PlateLine(p))
	if strings.Count(text, `aria-pressed="true"`) != 1 || !strings.Contains(text, `data-id="1" aria-pressed="true"`) {
		t.Errorf("not the chosen one is marked: %s", text)
	}
	if !strings.Contains(text, `aria-label="Cell: lower" disabled`) || strings.Contains(text, `aria-label="Cell: higher" disabled`) {
		t.Errorf("it can be moved beyond its end, or not at all: %s", text)
	}
	for _, chosen := range []int{-1, 2} {
		p.Chosen = chosen
		if text := render(t, PlateLine(p)); strings.Contains(text, `data-action="raise"`) || strings.Contains(text, `aria-pressed="true"`) {
			t.Errorf("level %d is moved and is not there", chosen)
		}
	}
	if strings.Contains(text, "full screen") {
		t.Error("full screen is offered where there is none")
	}
}
