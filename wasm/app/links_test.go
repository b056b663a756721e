package app

import (
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/link"
)

// What can be done about a link that cannot be opened comes first: another one is pasted, and a page is loaded again only for its newer version.
func TestPaste(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	good := asker.ask(false)
	gone := visit(t, world(), nil, "ask", "").ask(false)
	foreign, err := link.Read("#" + good)
	if err != nil {
		t.Fatal(err)
	}
	b := foreign.(link.Box)
	b.Seed[0] ^= 1
	seed, err := link.Fragment(b)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ fragment, main string }{
		"empty":     {"", "paste"},
		"cut off":   {good[:len(good)-9], "paste"},
		"mistyped":  {good[:30] + flip(good[30]) + good[31:], "paste"},
		"seed":      {seed, "paste"},
		"newer":     {"2" + good[1:], "reload"},
		"elsewhere": {gone, "check"},
	} {
		t.Run(name, func(t *testing.T) {
			p := visit(t, store, nil, "request", c.fragment)
			p.stage(Trouble)
			text := p.page["stage"]
			if !strings.Contains(text, `<button type="button" data-action="`+c.main+`"`) || strings.Contains(text, `name="paste"`) != (c.main == "paste") {
				t.Errorf("the main button should be %s: %s", c.main, text)
			}
			if strings.Contains(text, "as a file") || strings.Contains(text, `data-action="reload"`) != (c.main == "reload") {
				t.Errorf("it offers what does not help: %s", text)
			}
			if c.main != "paste" {
				return
			}
			p.press("paste", "")
			p.must("There is no request in this link")
			p.app.Input("paste", good[:len(good)-5])
			p.press("paste", "")
			p.must("This link is cut off")
			if len(p.links) > 0 {
				t.Fatalf("went to %q", p.links)
			}
			p.app.Input("paste", "Here:\n<http://plumb.test/r#"+good+">")
			p.press("paste", "")
			if len(p.links) != 1 || p.links[0] != "http://plumb.test/r#"+good {
				t.Errorf("went to %q", p.links)
			}
		})
	}
	// Secrets stay out of the address.
	asker.press("desk", "")
	p := visit(t, store, nil, "request", good[:40])
	p.app.Input("paste", asker.app.ownerLink())
	p.press("paste", "")
	p.must("A desk from elsewhere")
	if len(p.links) > 0 || p.reads("in its history") {
		t.Errorf("went to %q: %v", p.links, p.page["stage"])
	}
}

// An owner's link in the address bar stays in the browser's history, and the page says so; one that is pasted does not.
func TestHistory(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	asker.ask(false)
	asker.press("desk", "")
	asker.press("owner-link", "")
	asker.must("Paste it on the desk there", "stays in the history")
	owner := asker.link()
	const words = "The browser keeps this link in its history; paste it on the desk instead, or remove it there."
	p := visit(t, store, nil, "request", owner)
	p.must("A desk from elsewhere", words)
	p.press("desk", "")
	p.app.Input("paste", "http://plumb.test/r#"+owner)
	p.must("A desk from elsewhere")
	if p.reads("in its history") {
		t.Error("a link that was pasted is said to be in the history")
	}
	p.press("take-desk", "")
	p.within(2*time.Second, "the request", func() bool { return p.reads("Orchard catalogue, spread 4") })
}
