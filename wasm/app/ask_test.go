package app

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/memory"
	"example.org/plumb/web/seal"
)

// A peer is a browser that can ask and answer: a host with a post to a store that several share.
type peer struct {
	*host
	*gallery
	store   mailbox.Store
	ring    time.Duration // -1: no alarm
	down    error         // of every errand
	ran     []Errand
	before  func(e Errand) // called when an errand is sent off
	links   []string       // copied, shared or gone to
	refused bool           // the clipboard is
	path    string         // what the address says
	fills   func(id string)
	hold    bool // what is written does not reach the shelf yet
	held    [][]Row
}

// world is a store with a clock of its own, which stands at start.
func world() mailbox.Store { return memory.New(func() time.Time { return start }, 1<<30) }

// visit opens a page of the program over what an earlier one kept, or over nothing.
func visit(t *testing.T, store mailbox.Store, rows map[string]map[string][]byte, page, fragment string) *peer {
	t.Helper()
	p := arrive(t, store, rows, page)
	wishes := map[string]string{}
	if fragment != "" {
		wishes["#"+fragment] = ""
	}
	p.app.Begin(surface(), wishes)
	p.pass(100 * time.Millisecond)
	return p
}

func arrive(t *testing.T, store mailbox.Store, rows map[string]map[string][]byte, page string) *peer {
	h := newHost(t, rows)
	p := &peer{host: h, gallery: newGallery(h), store: store, ring: -1}
	h.app = New(Host{Canvas: p.host, Page: p, Clock: clock{p.host}, Shelf: p, Desk: desk{p.host}, Locks: locks{p.host}, Post: p, Timer: p, Links: p, Pictures: p.gallery, Easel: p.gallery},
		Browser{Name: "Test 1", Timer: 0.1, Wide: true, Address: "http://plumb.test/check", Page: page, Origin: "http://plumb.test", Host: "plumb.test", Share: true}, "test", 7)
	return p
}

func (p *peer) Run(n int, e Errand) {
	p.ran = append(p.ran, e)
	if p.before != nil {
		p.before(e)
	}
	p.pending = append(p.pending, func() {
		if p.down != nil {
			p.app.Ran(n, Found{}, p.down)
			return
		}
		var f Found
		var err error
		ctx := context.Background()
		switch e.What {
		case OpenBox:
			err = p.store.Open(ctx, e.Box, e.Right.Owner(), e.Until)
		case PutLetter:
			_, err = p.store.Put(ctx, e.Box, e.ID, e.Body)
		case GetLetters:
			f.Letters, err = p.store.Get(ctx, e.Box, e.Right, e.After, e.Limit)
		case LookBox:
			f.Box, err = p.store.Look(ctx, e.Box, e.Right)
		case ExtendBox:
			err = p.store.Extend(ctx, e.Box, e.Right, e.Until)
		case CloseBox:
			err = p.store.Close(ctx, e.Box, e.Right)
		case DeleteBox:
			err = p.store.Delete(ctx, e.Box, e.Right)
		case PutParcel, GetParcel:
			err = p.carries(n, p.store, e)
		}
		f.Date = start.Add(p.now).Truncate(time.Second)
		p.app.Ran(n, f, err)
	})
}

func (p *peer) Fill(id, html string) {
	if p.fills != nil {
		p.fills(id)
	}
	p.host.Fill(id, html)
	p.gallery.filled(id, html)
}

func (p *peer) Ring(after time.Duration) { p.ring = p.now + after }

func (p *peer) Copy(text string) {
	p.links = append(p.links, text)
	p.pending = append(p.pending, func() { p.app.Copied(!p.refused) })
}
func (p *peer) Share(_, address string) { p.links = append(p.links, address) }
func (p *peer) Open(address string)     { p.links = append(p.links, address) }
func (p *peer) Whole()                  { p.t.Error("the whole program asks for itself") }
func (p *peer) At(path, _ string)       { p.path = path }

// Write keeps rows, at once or when they are let go.
func (p *peer) Write(rows []Row) {
	if p.hold {
		p.held = append(p.held, slices.Clone(rows))
		return
	}
	p.host.Write(rows)
}

// let lets go of what was held.
func (p *peer) let() {
	p.hold = false
	for _, rows := range p.held {
		p.host.Write(rows)
	}
	p.held = nil
	p.pass(100 * time.Millisecond)
}

// Read passes on the rows of all drawers.
func (p *peer) Read() {
	var rows []Row
	for _, drawer := range []string{Sittings, Judgements, Records, Requests, Letters, Asks, Replies, Decisions, Screens, Papers} {
		var keys []string
		for k := range p.rows[drawer] {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			rows = append(rows, Row{drawer, k, slices.Clone(p.rows[drawer][k])})
		}
	}
	p.pending = append(p.pending, func() {
		if p.deny != nil {
			p.app.Shelved(nil, p.deny)
		} else {
			p.app.Shelved(rows, nil)
		}
	})
}

// pass lets time pass, in which alarms and timers ring.
func (p *peer) pass(d time.Duration) {
	p.settle()
	for end := p.now + d; p.now < end; {
		p.advance(animation)
		if p.ring >= 0 && p.now >= p.ring {
			p.ring = -1
			p.app.Rang()
		}
		p.settle()
	}
}

// within lets time pass until done, and fails after d.
func (p *peer) within(d time.Duration, what string, done func() bool) {
	p.t.Helper()
	for end := p.now + d; !done(); p.pass(animation) {
		if p.now > end {
			p.t.Fatalf("%s did not happen within %v; stage %q: %v", what, d, p.app.Stage(), p.page)
		}
	}
}

// press presses a button, and answers what the program waits for.
func (p *peer) press(action, id string) {
	p.t.Helper()
	p.app.Action(action, id)
	p.pass(2 * animation)
}

// reads tells whether the page says something.
func (p *peer) reads(text string) bool {
	for _, s := range p.page {
		if strings.Contains(s, text) {
			return true
		}
	}
	return false
}

func (p *peer) must(texts ...string) {
	p.t.Helper()
	for _, s := range texts {
		if !p.reads(s) {
			p.t.Errorf("the page does not say %q: %v", s, p.page)
		}
	}
}

// ask fills in a request and returns its link.
func (p *peer) ask(alone bool) string {
	p.t.Helper()
	p.stage(Asking)
	p.app.Input("title", "Orchard catalogue, spread 4")
	p.app.Input("note", "Before we talk about\nthe shadows in the barn.")
	p.app.Input("from", "Tomas")
	p.app.Input("length", "short")
	if alone {
		p.app.Input("way", "alone")
	}
	p.press("make", "")
	p.stage(Made)
	return p.link()
}

// link is the address that the page shows.
func (p *peer) link() string {
	p.t.Helper()
	for _, s := range p.page {
		if _, after, ok := strings.Cut(s, "http://plumb.test/r#"); ok {
			return after[:strings.IndexAny(after, "<\"")]
		}
	}
	p.t.Fatalf("no link on the page: %v", p.page)
	return ""
}

// glance goes from the request to the report by a sitting that is ended early.
func (p *peer) glance() {
	p.t.Helper()
	p.stage(Asked)
	p.press("begin", "")
	p.app.Input("screen", "kitchen laptop")
	p.toIntro()
	p.answer(4)
	p.toTrial()
	p.app.Key("Escape", p.now)
	p.press("stop", "")
	p.finish()
}

// sit goes from the request to the report.
func (p *peer) sit() {
	p.t.Helper()
	p.stage(Asked)
	p.press("begin", "")
	p.app.Input("screen", "kitchen laptop")
	p.app.Input("viewer", "Ines")
	p.toIntro()
	p.finish()
	p.stage(Report)
}

// letters counts the answers in the only box of a desk.
func (p *peer) answers() int { return len(p.app.mail.letters) }

// A whole round: asked, answered, seen on the desk within two seconds, with the record's own bytes or without the judgements.
func TestRoundTrip(t *testing.T) {
	for _, whole := range []bool{false, true} {
		t.Run(fmt.Sprintf("judgements %v", whole), func(t *testing.T) {
			store := world()
			asker := visit(t, store, nil, "ask", "")
			fragment := asker.ask(false)
			asker.must("in this browser and nowhere else", "Who opens it sees your words")
			asker.press("desk", "")
			asker.must("Open until 24 December 2026, no answers")

			other := visit(t, store, nil, "request", fragment)
			other.must("Tomas asks you to check your screen", "Orchard catalogue, spread 4", "the shadows in the barn", "plumb.test cannot open it", "About 4 minutes", "until 24 December 2026")
			other.press("begin", "")
			other.stage(Prepare)
			other.must("Orchard catalogue, spread 4, asked by Tomas")
			if other.reads(`name="length"`) || other.reads(`name="aim"`) {
				t.Error("the person who is asked may choose what was asked")
			}
			other.app.Input("length", "long")
			other.app.Input("aim", "L*")
			if f := other.app.form; f.length != "short" || f.aim != "usual" {
				t.Errorf("the person who is asked chose %s and %s", f.length, f.aim)
			}
			other = visit(t, store, copied(other.rows), "request", fragment)
			puts := len(other.ran)
			other.sit()
			if l := other.app.shown.record.Plan.Length; l != "short" {
				t.Errorf("the sitting is %s", l)
			}
			other.must("Tomas asked for this report. Nothing of it has left this browser.")
			if len(other.ran) != puts {
				t.Errorf("something was sent before Send was pressed: %v", other.ran[puts:])
			}
			other.press("send", "") // not before it was said what goes where
			if len(other.ran) != puts {
				t.Error("a press of a button that was not there sent the report")
			}
			other.press("sending", "")
			other.must("Send this report to Tomas?", "sealed here for Tomas alone", "plumb.test, which cannot open it")
			if whole {
				other.app.Input("whole", "yes")
			}
			record := string(other.app.shown.bytes)
			other.hold = true
			other.press("send", "")
			other.pass(3 * time.Second)
			if len(other.ran) != puts {
				t.Error("the answer was sent before it was kept")
			}
			other.let()
			other.must("Delivered 24 November 2026")
			if n := len(other.ran) - puts; n != 1 {
				t.Errorf("%d errands for one answer", n)
			}

			asker.app.Visible(true)
			asker.within(2*time.Second, "the answer on the desk", func() bool { return asker.reads("Kitchen laptop") })
			asker.must("New", "Ines", "Open until 24 December 2026, 1 answer", "Layout and wording")
			if !strings.Contains(asker.said, "1 answer has come") {
				t.Errorf("a screen reader hears %q", asker.said)
			}
			key := asker.app.mail.letters[0].key()
			asker.press("read", key)
			asker.stage(Report)
			asker.must("Back to my desk", `An answer to "Orchard catalogue, spread 4"`)
			if asker.reads(`data-action="again"`) {
				t.Error("another person's check can be done again here")
			}
			if asker.reads(" 0 judgements") || asker.reads(`data-action="save-csv"`) != whole {
				t.Error("the report does not know whether it has judgements")
			}
			got := asker.app.shown
			r, err := report.Read(got.bytes)
			if err != nil {
				t.Fatal(err)
			}
			if whole && string(got.bytes) != record {
				t.Error("the record on the desk is not the bytes that were sent")
			}
			if !whole && (len(r.Judgements) != 0 || strings.Contains(string(got.bytes), "stimulus")) {
				t.Errorf("%d judgements were sent that should stay", len(r.Judgements))
			}
			if r.Conditions.Screen != "kitchen laptop" || r.Score != other.app.shown.record.Score {
				t.Errorf("another record came: %+v", r.Conditions)
			}
			asker.press("desk", "")
			asker.stage(MyDesk)
			if asker.reads(">New<") {
				t.Error("an answer that was opened is new")
			}

			// At the next visit everything is there, and nothing is sent again.
			again := visit(t, store, copied(asker.rows), "desk", "")
			again.must("Kitchen laptop", "1 answer")
			other = visit(t, store, copied(other.rows), "request", fragment)
			other.must("Sent 24 November 2026")
			other.press("open", other.app.shelf.sittings[0].ID)
			other.must("Delivered")
			if len(other.ran) != 1 || other.ran[0].What != LookBox {
				t.Errorf("errands after delivery: %v", other.ran)
			}
		})
	}
}

// sent makes a request, answers it and presses Send while the post fails with err; prepared is called just before.
func sent(t *testing.T, store mailbox.Store, err error) (asker, other *peer, fragment string) {
	t.Helper()
	asker = visit(t, store, nil, "ask", "")
	fragment = asker.ask(false)
	asker.press("desk", "")
	other = visit(t, store, nil, "request", fragment)
	other.glance()
	other.down = err
	other.press("sending", "")
	other.press("send", "")
	return asker, other, fragment
}

// An answer that cannot be delivered is kept, tried again ever more rarely, survives a reload, and arrives once.
func TestOutbox(t *testing.T) {
	store := world()
	asker, other, _ := sent(t, store, ErrOffline)
	other.must("plumb.test cannot be reached", "It is tried again", "kept in this browser until it is delivered")
	var at []time.Duration
	other.before = func(e Errand) { at = append(at, other.now) }
	other.pass(5 * time.Minute)
	if len(at) < 6 || len(at) > 14 {
		t.Fatalf("%d tries in 5 minutes", len(at))
	}
	for i := 2; i < len(at); i++ {
		if gap, was := at[i]-at[i-1], at[i-1]-at[i-2]; gap > 80*time.Second || gap < was && was < retryLast {
			t.Errorf("tries %v and then %v apart", was, gap)
		}
	}
	// The browser is closed and opened again, on another page of the site, and the server is back.
	other = visit(t, store, copied(other.rows), "check", "")
	other.stage(Prepare)
	other.within(time.Second, "the delivery", func() bool { return len(other.ran) == 1 })
	other.pass(time.Second)
	asker.app.Visible(true)
	asker.within(2*time.Second, "the answer on the desk", func() bool { return asker.answers() == 1 })

	// Its answer is lost on the way and the browser with it: the same letter is put again, and is there once.
	rows := other.rows[Replies]
	for k, v := range rows {
		var p reply
		if err := json.Unmarshal(v, &p); err != nil || p.State != delivered || len(p.Sealed) > 0 {
			t.Fatalf("reply %s: %v, state %s", k, err, p.State)
		}
	}
	_, other, _ = sent(t, store, nil)
	other.must("Delivered")
	asker, other, fragment := sent(t, store, ErrOffline)
	crashed := copied(other.rows)
	other.down = nil
	other.press("now", "")
	other.must("Delivered")
	other = visit(t, store, crashed, "request", fragment)
	other.pass(time.Second)
	other.press("open", other.app.shelf.sittings[0].ID)
	other.must("Delivered")
	asker.app.Visible(true)
	asker.pass(3 * time.Second)
	if n := asker.answers(); n != 1 {
		t.Errorf("an answer that was put twice is on the desk %d times", n)
	}
}

// The connection coming back and the tab being woken cut the waiting short.
func TestHurry(t *testing.T) {
	_, other, _ := sent(t, world(), ErrOffline)
	for name, wake := range map[string]func(){"online": other.app.Online, "visible": func() { other.app.Visible(true) }, "focus": func() { other.app.Focus(true) }} {
		other.pass(3 * time.Minute)
		n := len(other.ran)
		wake()
		other.pass(2 * animation)
		if len(other.ran) != n+1 {
			t.Errorf("%s: %d errands", name, len(other.ran)-n)
		}
	}
}

// A server that asks for patience gets it.
func TestBusy(t *testing.T) {
	_, other, _ := sent(t, world(), mailbox.Busy{After: 90 * time.Second})
	n := len(other.ran)
	other.pass(89 * time.Second)
	if len(other.ran) != n {
		t.Errorf("%d errands before the time", len(other.ran)-n)
	}
	other.down = nil
	other.pass(40 * time.Second)
	other.must("Delivered")
}

// A box that was closed takes no answer. What was sealed can be handed over as a file, and the desk opens it.
func TestClosed(t *testing.T) {
	store := world()
	asker, other, fragment := sent(t, store, ErrOffline)
	id := asker.app.mail.requests[0].Ask.name()
	asker.press("close", id)
	asker.must("Closed, no answers", "Nothing more comes in")
	other.down = nil
	other.press("now", "")
	other.must("Not delivered", "was closed or deleted")
	other.press("answer-file", "")
	var file []byte
	for name, b := range other.files {
		if strings.HasSuffix(name, ".txt") {
			file = b
		}
	}
	if len(file) == 0 {
		t.Fatal("no file was saved")
	}
	asker.app.Opened("", "answer.txt", file, nil)
	asker.must("Kitchen laptop", "It is on the desk now")
	asker.app.Opened("letter", "answer.txt", file, nil)
	asker.must("on the desk already")

	late := visit(t, store, nil, "request", fragment)
	late.stage(Trouble)
	late.must("not there any more", "Ask them for a new link", "Nothing was sent")

	asker.press("delete", id)
	asker.must("for good")
	asker.press("spare", id)
	asker.press("delete", id)
	asker.press("delete", id)
	asker.must("Nothing was asked from this browser yet")
	if len(asker.rows[Requests])+len(asker.rows[Letters]) != 0 {
		t.Errorf("after deleting, rows are left: %v", asker.rows)
	}
}

// A request that no server carries: link there, link or file back.
func TestAlone(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	fragment := asker.ask(true)
	if !asker.reads("<svg") {
		t.Error("the link has no QR code")
	}
	asker.press("desk", "")
	other := visit(t, store, nil, "request", fragment)
	other.must("Tomas asks you", "this page sends nothing", "learns nothing of the request")
	other.glance()
	other.press("sending", "")
	other.press("send", "")
	other.must("Sealed for Tomas", "Save it as a file")
	answer := other.link()
	if len(asker.ran)+len(other.ran) > 0 {
		t.Fatalf("errands without a server: %v, %v", asker.ran, other.ran)
	}
	asker.app.Input("paste", "It is here:\n<http://plumb.test/r#"+answer[:60]+"\n"+answer[60:]+">")
	asker.settle()
	asker.must("Kitchen laptop", "1 answer")
	// The same as a link that is opened.
	again := visit(t, store, copied(asker.rows), "request", answer)
	again.stage(MyDesk)
	again.must("on the desk already")
	// Another browser has no key to it.
	stranger := visit(t, store, nil, "request", answer)
	stranger.stage(MyDesk)
	stranger.must("not made in this browser")
	// At the next visit the answer can still be passed on.
	other = visit(t, store, copied(other.rows), "request", fragment)
	other.press("open", other.app.shelf.sittings[0].ID)
	if other.link() != answer {
		t.Error("the answer has another link after a reload")
	}
}

// A site without a mailbox says so, carries requests inside their links by itself, and is asked for nothing.
func TestNoMailbox(t *testing.T) {
	store := world()
	alone := func(rows map[string]map[string][]byte, page, fragment string) *peer {
		p := arrive(t, store, rows, page)
		p.app.browser.Alone, p.down = true, ErrAlone
		p.app.Begin(surface(), map[string]string{"#" + fragment: ""})
		p.pass(100 * time.Millisecond)
		return p
	}
	asker := alone(nil, "ask", "")
	asker.must("plumb.test has no mailbox", "travels inside its link", "This site learns nothing of them")
	if asker.reads(`value="box"`) || asker.reads("This site carries sealed letters") {
		t.Errorf("the page offers a mailbox: %v", asker.page)
	}
	fragment := asker.ask(false)
	asker.press("desk", "")
	asker.must("plumb.test has no mailbox", "open them below", "No server carries it", "Save the desk as a file")
	if asker.reads("either will do") || asker.reads("owner-link") {
		t.Errorf("an owner's link is offered that opens nothing: %v", asker.page)
	}
	asker.pass(time.Minute)
	other := alone(nil, "request", fragment)
	other.must("Tomas asks you", "this page sends nothing")
	if len(asker.ran)+len(other.ran) > 0 {
		t.Errorf("errands without a mailbox: %v, %v", asker.ran, other.ran)
	}

	// A link to a box, an owner's link, and what was asked while the site had a mailbox.
	before := visit(t, store, nil, "ask", "")
	boxed := before.ask(false)
	p := alone(nil, "request", boxed)
	p.stage(Trouble)
	p.must("cannot be opened here", "has no mailbox", "one that needs no server", "Nothing was sent")
	owner := before.app.ownerLink()
	p = alone(nil, "desk", "")
	p.app.Input("paste", owner)
	p.pass(time.Second)
	p.must("has no mailbox", "where it was made", "Nothing was asked from this browser yet")
	p = alone(copied(before.rows), "desk", "")
	p.pass(time.Minute)
	if len(p.ran) > 0 {
		t.Errorf("a box is looked for where there is none: %v", p.ran)
	}
	id := p.app.mail.requests[0].Ask.name()
	p.press("delete", id)
	p.press("delete", id)
	p.must("Nothing was asked from this browser yet")
}

// A link that cannot be opened says what happened and what to do, and never that nothing is wrong.
func TestBadLinks(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	good := asker.ask(false)
	gone := visit(t, world(), nil, "ask", "").ask(false)
	old := visit(t, store, nil, "ask", "").ask(true)
	for name, c := range map[string]struct{ fragment, want string }{
		"empty":     {"", "There is no request in this link"},
		"cut off":   {good[:len(good)-9], "This link is cut off"},
		"mistyped":  {good[:30] + flip(good[30]) + good[31:], "not as it was made"},
		"newer":     {"2" + good[1:], "made by a newer version"},
		"elsewhere": {gone, "not there any more"},
		"garbage":   {"1.====", "This link"},
	} {
		t.Run(name, func(t *testing.T) {
			p := visit(t, store, nil, "request", c.fragment)
			p.stage(Trouble)
			p.must(c.want, "Nothing was sent", "kept in it")
		})
	}
	// A server that is down is no fault of the link: it is fetched as soon as it can be.
	p := arrive(t, store, nil, "request")
	p.down = ErrOffline
	p.app.Begin(surface(), map[string]string{"#" + good: ""})
	p.pass(time.Second)
	p.stage(Trouble)
	p.must("cannot be reached", "Your link is all right")
	p.down = nil
	p.pass(5 * time.Second)
	p.stage(Asked)
	// Once opened, it needs no server.
	p = arrive(t, store, copied(p.rows), "request")
	p.down = ErrOffline
	p.app.Begin(surface(), map[string]string{"#" + good: ""})
	p.pass(time.Second)
	p.stage(Asked)
	// Time passes.
	p = arrive(t, store, nil, "request")
	p.now = 31 * 24 * time.Hour
	p.app.Begin(surface(), map[string]string{"#" + old: ""})
	p.pass(time.Second)
	p.stage(Trouble)
	p.must("The time for this request is over", "until 24 December 2026")
}

// flip is another character of base64url.
func flip(c byte) string {
	if c == 'A' {
		return "B"
	}
	return "A"
}

// While nothing comes the desk looks ever more rarely; being woken makes it look at once; while it is hidden it does not look.
func TestPace(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	asker.ask(false)
	asker.press("desk", "")
	var at []time.Duration
	asker.before = func(e Errand) { at = append(at, asker.now) }
	asker.pass(20 * time.Minute)
	if len(at) < 100 || at[1]-at[0] > 1100*time.Millisecond {
		t.Fatalf("%d looks, the first %v apart", len(at), at[1]-at[0])
	}
	if last := at[len(at)-1] - at[len(at)-2]; last < 29*time.Second || last > 31*time.Second {
		t.Errorf("after 20 minutes it looks every %v", last)
	}
	n := len(at)
	asker.app.Focus(true)
	asker.pass(3 * time.Second)
	if got := len(at) - n; got < 3 || got > 4 {
		t.Errorf("%d looks in 3 s after it was woken", got)
	}
	asker.app.Visible(false)
	asker.pass(time.Second)
	n = len(at)
	asker.pass(5 * time.Minute)
	if len(at) != n {
		t.Errorf("%d looks while it was hidden", len(at)-n)
	}
	asker.app.Visible(true)
	asker.pass(100 * time.Millisecond)
	if len(at) == n {
		t.Error("it does not look when it is shown again")
	}
}

// While a viewer judges, nothing is sent.
func TestQuietSitting(t *testing.T) {
	store := world()
	_, other, fragment := sent(t, store, ErrOffline)
	other = arrive(t, store, copied(other.rows), "request")
	other.down = ErrOffline
	other.app.Begin(surface(), map[string]string{"#" + fragment: ""})
	other.pass(time.Second)
	other.press("begin", "")
	other.toIntro()
	n := len(other.ran)
	for range 8 {
		other.answer(1)
		other.pass(2 * time.Second)
		other.app.Online()
		other.pass(time.Second)
	}
	if len(other.ran) != n {
		t.Errorf("%d errands during a sitting", len(other.ran)-n)
	}
	other.toTrial()
	other.app.Key("Escape", other.now)
	other.stage(Paused)
	other.down = nil
	other.pass(time.Second)
	if len(other.ran) != n+1 {
		t.Errorf("%d errands in the pause", len(other.ran)-n)
	}
}

// A desk lives on elsewhere: as a file with all that came, and by the owner's link with what the site carries.
func TestDeskElsewhere(t *testing.T) {
	store := world()
	asker, other, _ := sent(t, store, nil)
	other.must("Delivered")
	asker.app.Visible(true)
	asker.pass(3 * time.Second)
	asker.must("The keys to your request are in this browser and nowhere else")
	asker.press("save-desk", "")
	asker.must("and in what you saved")
	var file []byte
	for name, b := range asker.files {
		if strings.HasPrefix(name, "plumb-desk-") {
			file = b
		}
	}
	asker.press("owner-link", "")
	owner := asker.link()
	asker.press("owner-link", "")

	ends := []string{"24 December 2026", "23 January 2027", "22 February 2027"}
	for name, open := range map[string]func() *peer{
		"file": func() *peer {
			p := visit(t, store, nil, "desk", "")
			p.app.Opened("letter", "desk.json", file, nil)
			return p
		},
		"link": func() *peer { return visit(t, store, nil, "request", owner) },
	} {
		t.Run(name, func(t *testing.T) {
			p := open()
			p.stage(Trouble)
			p.must("A desk from elsewhere", "1 request with their keys", "Do not open it on a computer that others use too")
			if len(p.rows[Requests]) > 0 {
				t.Fatal("keys were kept before that was agreed to")
			}
			p.press("take-desk", "")
			p.stage(MyDesk)
			p.within(2*time.Second, "the answer", func() bool { return p.reads("Kitchen laptop") })
			p.within(2*time.Second, "the last day of its box", func() bool { return p.reads("Open until " + ends[0] + ", 1 answer") })
			p.must("Orchard catalogue, spread 4")
			ends = ends[1:]
			if len(p.rows[Requests]) != 1 || len(p.rows[Letters]) != 1 {
				t.Errorf("%d requests and %d answers are kept", len(p.rows[Requests]), len(p.rows[Letters]))
			}
			// It is an owner's desk in full.
			id := p.app.mail.requests[0].Ask.name()
			p.press("extend", id)
			p.must("Open until " + ends[0])
			p.press("link", id)
			if got := visit(t, store, nil, "request", p.link()); got.app.Stage() != Asked {
				t.Errorf("the link that it shows leads to %q", got.app.Stage())
			}
			// Taken in again, nothing doubles.
			p.app.Opened("", "desk.json", file, nil)
			p.press("take-desk", "")
			if len(p.app.mail.requests) != 1 || p.answers() != 1 {
				t.Errorf("%d requests and %d answers after taking it in twice", len(p.app.mail.requests), p.answers())
			}
		})
	}
	p := visit(t, store, nil, "desk", "")
	for what, b := range map[string][]byte{
		"half a desk":   file[:len(file)/2],
		"a newer desk":  []byte(strings.Replace(string(file), `"version": 1`, `"version": 3`, 1)),
		"a broken desk": []byte(strings.Replace(string(file), `"secret": "`, `"secret": "AA`, 1)),
		"nothing":       nil,
	} {
		p.app.Opened("letter", "desk.json", b, nil)
		p.stage(MyDesk)
		if len(p.rows[Requests]) > 0 || !(p.reads("cannot be opened") || p.reads("can be opened")) {
			t.Errorf("%s: %v", what, p.page["message"])
		}
	}
}

// Where nothing can be stored, the page says so before it matters, and asking works all the same.
func TestUnstored(t *testing.T) {
	p := arrive(t, world(), nil, "ask")
	p.deny, p.refuse = ErrDenied, ErrDenied
	p.app.Begin(surface(), nil)
	p.pass(100 * time.Millisecond)
	p.ask(false)
	p.must("This browser does not keep the keys", "save the desk as a file")
}

// A server that is down when a request is made: nothing that was filled in is lost, and it gets its link later, or one that needs no server.
func TestUnplaced(t *testing.T) {
	store := world()
	make := func() *peer {
		p := visit(t, store, nil, "ask", "")
		p.app.Input("title", "Orchard catalogue")
		p.app.Input("from", "Tomas")
		p.down = ErrOffline
		p.press("make", "")
		p.must("There is no link yet", "cannot be reached", "kept on your desk")
		return p
	}
	p := make()
	p.down = nil
	p.pass(5 * time.Second)
	p.must("The link is ready")

	p = make()
	p.press("alone", "")
	p.must("The link is ready", "The whole request is in the link")
	if len(p.app.mail.requests) != 1 || len(p.rows[Requests]) != 1 {
		t.Errorf("%d requests are left", len(p.app.mail.requests))
	}

	p = make()
	p = visit(t, store, copied(p.rows), "desk", "")
	p.pass(time.Second)
	p.must("Open until")

	// For good.
	full := visit(t, memory.New(func() time.Time { return start }, 1), nil, "ask", "")
	full.app.Input("title", "Orchard catalogue")
	full.app.Input("from", "Tomas")
	full.press("make", "")
	full.must("There is no link yet", "no more room")
	full.press("back", "")
	full.stage(Asking)
	full.must("Orchard catalogue")
}

// A link leaves by the clipboard or the share sheet, and the page says what became of it.
func TestPassingOn(t *testing.T) {
	p := visit(t, world(), nil, "ask", "")
	address := "http://plumb.test/r#" + p.ask(false)
	p.press("copy", address)
	p.must("on the clipboard")
	p.refused = true
	p.press("copy", address)
	p.must("copy it by hand")
	p.press("share", address)
	if len(p.links) != 3 || p.links[0] != address || p.links[2] != address {
		t.Errorf("what left is %q", p.links)
	}
	p.press("desk", "")
	if p.path != "/desk" {
		t.Errorf("on the desk the address is %q", p.path)
	}
}

// Another link in the address bar is opened; the way to the content is none.
func TestMoved(t *testing.T) {
	store := world()
	fragment := visit(t, store, nil, "ask", "").ask(false)
	p := visit(t, store, nil, "request", fragment)
	for _, same := range []string{fragment, "stage"} {
		p.app.Moved(same)
	}
	if len(p.links) > 0 {
		t.Fatalf("went to %q", p.links)
	}
	p.app.Moved(fragment[:40])
	if len(p.links) != 1 || p.links[0] != "" {
		t.Errorf("went to %q, should load the page anew", p.links)
	}
	c := visit(t, store, nil, "check", "")
	c.app.Moved("white")
	if len(c.links) > 0 {
		t.Errorf("on the page of a check: went to %q", c.links)
	}
}

// A sitting for a request that was left unfinished comes first when its link is opened again, and its report is still for who asked.
func TestUnfinished(t *testing.T) {
	store := world()
	fragment := visit(t, store, nil, "ask", "").ask(false)
	p := visit(t, store, nil, "request", fragment)
	p.press("begin", "")
	p.toIntro()
	p.answer(4)
	p = visit(t, store, copied(p.rows), "request", fragment)
	p.stage(Resume)
	p.must("Asked for by Tomas: Orchard catalogue, spread 4.", "4 of about")
	p.press("continue", p.app.shelf.sittings[0].ID)
	p.toTrial()
	p.app.Key("Escape", p.now)
	p.press("stop", "")
	p.finish()
	p.must("Tomas asked for this report")
	// The same from the page of a check, where nobody mentioned the request.
	p = visit(t, store, copied(p.rows), "check", "")
	p.press("open", p.app.shelf.sittings[0].ID)
	p.must("Tomas asked for this report")
	p.press("sending", "")
	p.press("send", "")
	p.must("Delivered")
}

// What is tried again and again does not fill the page anew.
func TestCalm(t *testing.T) {
	_, other, _ := sent(t, world(), ErrOffline)
	other.pass(time.Minute)
	fills := 0
	other.fills = func(string) { fills++ }
	n := len(other.ran)
	other.pass(3 * time.Minute)
	if len(other.ran) == n || fills > 0 {
		t.Errorf("%d tries filled the page %d times", len(other.ran)-n, fills)
	}
}

// The keys are kept before anything leaves the browser.
func TestKeysFirst(t *testing.T) {
	p := visit(t, world(), nil, "ask", "")
	p.app.Input("title", "Orchard catalogue")
	p.app.Input("from", "Tomas")
	p.hold = true
	p.press("make", "")
	p.pass(3 * time.Second)
	p.must("Making the link")
	if len(p.ran) > 0 || p.reads("/r#") {
		t.Fatalf("before the keys were kept there were errands: %v", p.ran)
	}
	p.let()
	p.must("The link is ready")
}

// What another tab changed is seen when the desk is looked at again.
func TestTwoDesks(t *testing.T) {
	store := world()
	a := visit(t, store, nil, "ask", "")
	a.ask(false)
	a.press("desk", "")
	b := visit(t, store, a.rows, "desk", "")
	id := b.app.mail.requests[0].Ask.name()
	b.press("delete", id)
	b.press("delete", id)
	b.must("Nothing was asked from this browser yet")
	a.app.Focus(true)
	a.pass(3 * time.Second)
	a.must("Nothing was asked from this browser yet")
	if len(a.rows[Requests]) > 0 {
		t.Error("what was deleted in one tab was written again by the other")
	}
}

// A letter or a link of a newer revision is told by its number.
func TestNewer(t *testing.T) {
	// Rows of sittings have versions of their own, which say nothing about what travels.
	var here App
	here.take([]Row{{Drawer: Records, Key: "a", Value: []byte(`{"version":99}`)}, {Drawer: Screens, Key: "b", Value: []byte(`{"version":99}`)}, {Drawer: Letters, Key: "c/d", Value: []byte(`{"version":99}`)}})
	if here.mail.newer != 1 {
		t.Errorf("%d rows are taken for newer ones, should be the letter alone", here.mail.newer)
	}
	inside, err := pack(answer{Version: letters + 1}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, _, err := readAnswer(inside); err != errLetterNewer {
		t.Errorf("a newer answer: %v", err)
	}
	key, err := seal.GenerateShort()
	if err != nil {
		t.Fatal(err)
	}
	for body, want := range map[string]string{
		`{"version":2,"title":"Orchard catalogue","aim":"usual","length":"short"}`:   "made by a newer version",
		`{"version":1,"title":"Orchard catalogue","aim":"unheard","length":"short"}`: "made by a newer version",
		`{"version":1,"title":"Orchard catalogue","aim":"usual","length":"endless"}`: "made by a newer version",
		`{"version":1,"title":"Orchard catalogue","aim":"usual","length":"short","a`: "cannot be read",
		`{"version":1,"title":"Orchard catalogue","from":7,"aim":"usual"}`:           "cannot be read",
	} {
		f, err := link.Fragment(link.Request{Key: key.Public(), Body: []byte(body)})
		if err != nil {
			t.Fatal(err)
		}
		p := visit(t, world(), nil, "request", f)
		p.stage(Trouble)
		p.must(want)
	}
}

// What a request lacks is asked for; nothing is made of it before.
func TestLacking(t *testing.T) {
	p := visit(t, world(), nil, "ask", "")
	p.press("make", "")
	p.stage(Asking)
	p.must("Say what it is for")
	p.app.Input("title", "Orchard catalogue")
	p.press("make", "")
	p.must("Say who asks")
	if len(p.ran) > 0 || len(p.rows[Requests]) > 0 {
		t.Error("something was made of half a request")
	}
}

// Letters that do not open are counted and do no harm; one of a newer version is kept until it can be read.
func TestStrayLetters(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	asker.ask(false)
	asker.press("desk", "")
	at := mailbox.Address(asker.app.mail.requests[0].Ask.ID)
	put := func(id byte, body []byte) {
		t.Helper()
		if _, err := store.Put(context.Background(), at, mailbox.ID{id}, body); err != nil {
			t.Fatal(err)
		}
	}
	put(1, []byte("\x01\x02rubbish"))
	put(2, append([]byte{1, 2}, make([]byte, 2046)...))
	asker.app.Visible(true)
	asker.within(3*time.Second, "word of them", func() bool { return asker.reads("could not be read") })
	newer := append([]byte{9}, make([]byte, 2047)...)
	put(3, newer)
	asker.within(3*time.Second, "word of the newer one", func() bool { return asker.reads("written by a newer version") })
	asker.settle()
	var l letter
	for _, b := range asker.rows[Letters] {
		var one letter
		if json.Unmarshal(b, &one) == nil && len(one.Sealed) > 0 {
			l = one
		}
	}
	if string(l.Sealed) != string(newer) {
		t.Error("a letter of a newer version is not kept as it came")
	}
}

// What is kept or sent by others never stops the program.
func FuzzTravels(f *testing.F) {
	store := world()
	asker := visit(&testing.T{}, store, nil, "ask", "")
	f.Add(asker.ask(false), []byte(`{"version":1}`))
	f.Add("1.AAAA", []byte(`{"version":1,"kind":"plumb desk","requests":[null],"letters":[{"key":"a/b"}]}`))
	f.Fuzz(func(t *testing.T, fragment string, b []byte) {
		rows := map[string]map[string][]byte{}
		for _, d := range []string{Requests, Letters, Asks, Replies, Decisions} {
			rows[d] = map[string][]byte{"a": b, "b/c": b}
		}
		visit(t, store, rows, "request", fragment)
		p := visit(t, store, rows, "desk", "")
		p.app.Opened("", "file", b, nil)
		p.app.Input("paste", fragment)
		readAnswer(b)
		readAsk(b)
		readDesk(b)
		unpack(b, proofs)
		readDecision(b)
		readRound(b, b)
	})
}
