package app

import (
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/mailbox/memory"
)

// later opens a page of the program some time after the start of the world.
func later(t *testing.T, by time.Duration, from *peer, page, fragment string) *peer {
	t.Helper()
	p := arrive(t, from.store, copied(from.rows), page)
	p.now = by
	p.app.Begin(surface(), map[string]string{"#" + fragment: ""})
	p.pass(time.Second)
	return p
}

// A request that was made to last longer lasts longer for whoever has its link, whether they opened it before or not, and on the owner's other desks.
func TestLonger(t *testing.T) {
	const day = 24 * time.Hour
	now := start
	store := memory.New(func() time.Time { return now }, 1<<30)
	asker := visit(t, store, nil, "ask", "")
	fragment := asker.ask(false)
	asker.press("desk", "")
	owner := asker.app.ownerLink()
	elsewhere := visit(t, store, nil, "request", owner[strings.Index(owner, "#")+1:])
	elsewhere.press("take-desk", "")
	elsewhere.within(2*time.Second, "the request", func() bool { return elsewhere.reads("Open until 24 December 2026") })
	other := visit(t, store, nil, "request", fragment)
	other.must("until 24 December 2026")
	asker.press("extend", asker.app.mail.requests[0].Ask.name())
	asker.must("Open until 23 January 2027")

	now = start.Add(33 * day)
	for name, p := range map[string]*peer{"opened before": later(t, 33*day, other, "request", fragment), "opened now": later(t, 33*day, visit(t, store, nil, "check", ""), "request", fragment)} {
		if p.app.Stage() != Asked || !p.reads("until 23 January 2027") || p.reads("unless it was") {
			t.Errorf("%s: stage %q: %v", name, p.app.Stage(), p.page["stage"])
		}
		for _, b := range p.rows[Asks] {
			if !strings.Contains(string(b), "1800") { // ms of 23 January 2027 begin so, not those of 24 December 2026
				t.Errorf("%s: what is kept still has the old end: %s", name, b)
			}
		}
	}
	desk := later(t, 33*day, elsewhere, "desk", "")
	desk.must("Open until 23 January 2027")
	fresh := arrive(t, store, nil, "request")
	fresh.now = 33 * day
	fresh.app.Begin(surface(), map[string]string{"#" + owner[strings.Index(owner, "#")+1:]: ""})
	fresh.pass(time.Second)
	fresh.press("take-desk", "")
	fresh.within(2*time.Second, "the last day", func() bool { return fresh.reads("Open until 23 January 2027") })

	// While the server cannot be reached, what is kept is shown for what it is.
	p := arrive(t, store, copied(other.rows), "request")
	p.now, p.down = 33*day, ErrOffline
	p.app.Begin(surface(), map[string]string{"#" + fragment: ""})
	p.pass(time.Second)
	p.stage(Asked)
	p.must("until 24 December 2026, unless it was made to last longer since")

	// Closed in one browser, it is closed in the other.
	asker.press("close", asker.app.mail.requests[0].Ask.name())
	desk = later(t, 33*day, elsewhere, "desk", "")
	desk.must("Closed, no answers")
}

// Who opened a request before sees it again at once, and is told before the check that it takes no more answers.
func TestGoneBeside(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	fragment := asker.ask(false)
	asker.press("desk", "")
	other := visit(t, store, nil, "request", fragment)
	if other.reads("takes no more answers") {
		t.Fatal("a request that is open is said to be over")
	}
	for _, what := range []string{"close", "delete"} {
		asker.press(what, asker.app.mail.requests[0].Ask.name())
		if what == "delete" {
			asker.press(what, asker.app.mail.requests[0].Ask.name())
		}
		p := visit(t, store, copied(other.rows), "request", fragment)
		p.stage(Asked)
		text := p.page["stage"]
		gone, begin := strings.Index(text, "takes no more answers"), strings.Index(text, `data-action="begin"`)
		if gone < 0 || begin < gone {
			t.Errorf("%s: %s", what, text)
		}
		if n := slices.IndexFunc(p.ran, func(e Errand) bool { return e.What != LookBox }); n >= 0 || len(p.ran) != 1 {
			t.Errorf("%s: errands %v", what, p.ran)
		}
	}
}

// A desk that was opened by its owner's link shows what was asked as soon as it was fetched, answers or none; and says so where that cannot be read.
func TestSoughtShown(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	asker.ask(false)
	asker.press("desk", "")
	owner := asker.app.ownerLink()
	p := visit(t, store, nil, "request", owner[strings.Index(owner, "#")+1:])
	p.press("take-desk", "")
	p.within(2*time.Second, "the request", func() bool { return p.reads("Orchard catalogue, spread 4") })
	p.must("Open until 24 December 2026, no answers")
	if p.reads("A request from another desk") || p.reads("It is being fetched") {
		t.Errorf("it is still being fetched: %v", p.page["requests"])
	}

	// A box without the owner's copy.
	empty := world()
	r := asker.app.mail.requests[0]
	if err := empty.Open(t.Context(), r.box(), r.right().Owner(), start.Add(24*time.Hour)); err != nil {
		t.Fatal(err)
	}
	p = visit(t, empty, nil, "request", owner[strings.Index(owner, "#")+1:])
	p.press("take-desk", "")
	p.pass(time.Second)
	p.must("What it asks cannot be read")
}
