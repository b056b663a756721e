package pages

import (
	"strings"
	"testing"

	"github.com/a-h/templ"
)

// What is shown around a request, by the name of its golden file.
func init() {
	code := templ.ComponentFunc(Mark().Render) // any drawing
	link := Link{Label: "Link to the request", Address: "https://plumb.example/r#1.AbC", Code: code, Share: true, Buttons: []Button{{Action: "answer-file", Label: "Save it as a file"}}}
	keeping := Keeping{Text: []string{"The keys are here."}, Buttons: []Button{{Action: "save-desk", Label: "Save the desk as a file", Main: true}}, Owner: Link{Label: "Owner's link", Address: "https://plumb.example/r#1.Own"}}
	length := Question{Name: "length", Label: "How long it may take", Options: []Option{{Value: "short", Label: "Short", Text: "about 4 minutes", Chosen: true}, {Value: "long", Label: "Long"}}}
	score := Score{Given: true, At: 71, Lo: 64, Hi: 77}
	for name, c := range map[string]templ.Component{
		"carry-ask":     Ask(Site{}),
		"carry-desk":    Desk(Site{}),
		"carry-request": Requested(Site{}),
		"ask":           AskPage(Asking{Title: "Orchard catalogue", Note: "Shadows\n& lights", From: "Tomas", Choose: []Question{length}, Travel: []Question{length}}),
		"made":          MadePage(Made{Title: "The link is ready", Lead: "Orchard catalogue", Text: []string{"Pass it on."}, Link: link, Keeping: keeping, Buttons: []Button{{Action: "desk", Label: "To my desk"}}}),
		"made-zero":     MadePage(Made{}),
		"asked":         AskedPage(Asked{From: "Tomas", Title: "Orchard catalogue", Note: "<b>Please</b>", Facts: []Fact{{"How long", "about 4 minutes", ""}}, Sent: []string{"The report."}, Kept: []string{"No picture."}, Done: []Item{{"Kitchen laptop", []string{"Sent."}, []Button{{Action: "open", ID: "s1", Label: "See the report"}}}}, Buttons: []Button{{Action: "begin", Label: "Check this screen", Main: true}}}),
		"asked-zero":    AskedPage(Asked{}),
		"asked-gone":    AskedPage(Asked{From: "Tomas", Gone: "It takes no more answers."}),
		"ask-alone":     AskPage(Asking{Alone: true}),
		"trouble-paste": TroublePage(Notice{Title: "This link is cut off", Lead: "Its end is missing.", Text: []string{"Copy it whole."}, Paste: true, Buttons: []Button{{Action: "paste", Label: "Open the pasted link", Main: true}}}),
		"sending":       SendingPanel(Sending{Title: "Send this report to Tomas?", Text: []string{"Nothing has left."}, Choose: []Question{{Name: "whole", Label: "What goes", Options: []Option{{Value: "no", Label: "The report", Chosen: true}}}}, State: "Being sent.", Link: link, Buttons: []Button{{Action: "send", Label: "Send", Main: true}}}),
		"from":          FromNote(Item{"An answer", []string{"It came sealed."}, []Button{{Action: "desk", Label: "Back to my desk", Main: true}}}),
		"desk":          DeskPage(),
		"requests": Requests([]DeskRequest{{ID: "AbC", Title: "orchard catalogue", Text: []string{"Asked today."}, State: "Open until 24 December 2026, 2 answers", Link: link, Buttons: []Button{{Action: "close", ID: "AbC", Label: "Close it"}},
			Answers: []DeskAnswer{
				{ID: "AbC/1", Screen: "kitchen laptop", Made: "Ines · 24 November 2026", Score: score, Purposes: []Purpose{{"Layout and wording", "holds", ""}, {"Colour", "off", ""}}, New: true},
				{ID: "AbC/2", Screen: "écran", Void: true, Score: score, Purposes: []Purpose{{"Colour", "not checked", ""}}, Note: "A note."},
				{ID: "AbC/3", Screen: "a screen without a name", Purposes: []Purpose{{"Colour", "unsure", ""}}},
			}}}),
		"requests-none": Requests(nil),
	} {
		golden[name] = c
	}
}

// A zero panel, link and note of keys show nothing; a sitting that cannot be used claims nothing.
func TestAskingZero(t *testing.T) {
	for name, c := range map[string]templ.Component{"sending": SendingPanel(Sending{}), "link": LinkBox(Link{}), "keys": KeepingNote(Keeping{})} {
		if text := render(t, c); text != "" {
			t.Errorf("%s: %q", name, text)
		}
	}
	text := render(t, answerRow(DeskAnswer{Void: true, Score: Score{Given: true, At: 99}, Purposes: []Purpose{{"Colour", "holds", ""}}}))
	if !strings.Contains(text, "can't be used") || strings.Contains(text, "99") || strings.Contains(text, "Fit to decide") {
		t.Errorf("a sitting that can't be used is shown as %s", text)
	}
	// What others wrote is text.
	text = render(t, AskedPage(Asked{From: "<i>", Title: "<script>", Note: "</blockquote>"}))
	if strings.Contains(text, "<i>") || strings.Contains(text, "<script") || strings.Count(text, "</blockquote>") != 1 {
		t.Errorf("what others wrote is taken for a part of the page: %s", text)
	}
}
