package app

import (
	"strings"
	"testing"
)

// What the page says of who can read a request, and of its end, follows who carries it.
func TestWay(t *testing.T) {
	p := visit(t, world(), nil, "ask", "")
	says := func(alone bool, where ...string) {
		t.Helper()
		text := ""
		for _, id := range where {
			text += p.page[id]
		}
		for s, only := range map[string]bool{
			"sealed in this browser and opened in theirs": false, "It can be made longer": false, "or made an owner's link": false, "This site carries sealed letters": false,
			"whoever carries the link for you": true, "it cannot be changed or called back": true,
		} {
			if strings.Contains(text, s) != (only == alone) {
				t.Errorf("with no server %v, %q: %s", alone, s, text)
			}
		}
	}
	says(false, "stage")
	p.app.Input("way", "alone")
	says(true, "travels", "reads")
	p.app.Input("way", "box")
	says(false, "travels", "reads")
	// It is so from the beginning when the page is shown again.
	p.app.Input("way", "alone")
	p.app.askAgain()
	says(true, "stage")
}

// The field that is missing gets the keyboard and a mark, until it is filled in; what is said covers little.
func TestAmiss(t *testing.T) {
	p := visit(t, world(), nil, "ask", "")
	for _, c := range []struct{ field, value string }{{"title", "Orchard catalogue"}, {"from", "Tomas"}} {
		p.press("make", "")
		if p.amiss != c.field {
			t.Fatalf("the mark is at %q, should be at %q", p.amiss, c.field)
		}
		if !strings.Contains(p.page["start"], "Say ") || len(p.said) > 30 {
			t.Errorf("it says %q: %s", p.said, p.page["start"])
		}
		p.app.Input("note", "Before we talk.")
		p.app.Input(c.field, " ")
		if p.amiss != c.field {
			t.Error("the mark is gone while the field is empty")
		}
		p.app.Input(c.field, c.value)
		if p.amiss != "" || strings.Contains(p.page["start"], "Say ") {
			t.Errorf("after it was filled in, %q is marked: %s", p.amiss, p.page["start"])
		}
	}
	p.press("make", "")
	p.stage(Made)
}

// What the server learns is said alike to who asks and to who answers.
func TestKeeps(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	const words = "and no time finer than a day; as every site does, it sees your network address and when you connect."
	asker.must(words)
	other := visit(t, store, nil, "request", asker.ask(false))
	other.must(words, ">Check this screen<")
}
