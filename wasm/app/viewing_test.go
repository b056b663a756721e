package app

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"image/png"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// Pictures of the demo world. The barn has deep shadows, the label fine steps.
func barn(t testing.TB) []byte {
	return painted(t, 60, 40, func(x, y int) (uint8, uint8, uint8) {
		v := uint8((x*7 + y*3) % 13) // crushed blacks hide this half
		if x >= 30 {
			v = uint8(60 + 3*x)
		}
		return v, v, v
	})
}

func orchard(t testing.TB) []byte {
	return painted(t, 48, 64, func(x, y int) (uint8, uint8, uint8) { return uint8(40 + 3*x), uint8(90 + y), uint8(30 + x + y) })
}

type named struct {
	name  string
	bytes []byte
}

// prove sends pictures for a decision and returns who asks, and the link.
func prove(t *testing.T, store mailbox.Store, needs string, pictures ...named) (*peer, string) {
	t.Helper()
	p := visit(t, store, nil, "proof", "")
	p.stage(Proofing)
	var picked []Picked
	for _, x := range pictures {
		picked = append(picked, p.gallery.pick(x.name, x.bytes))
	}
	p.app.Picked(picked)
	p.pass(time.Second)
	p.app.Input("title", "Orchard catalogue, spread 4")
	p.app.Input("from", "Tomas")
	p.app.Input("note", "Is the barn dark enough?")
	if needs != "" {
		p.app.Input("needs", needs)
	}
	p.press("make", "")
	p.within(10*time.Second, "the link", func() bool { return p.reads("The link is ready") || p.reads("http://plumb.test/r#") })
	return p, p.link()
}

var checked struct {
	once sync.Once
	rows map[string]map[string][]byte
}

// checkedRows is what a browser keeps after a short check of a good screen, "kitchen laptop", by Ines.
func checkedRows(t *testing.T) map[string]map[string][]byte {
	t.Helper()
	checked.once.Do(func() {
		p := arrive(t, world(), nil, "check")
		p.app.Begin(surface(), map[string]string{"length": "short"})
		p.pass(100 * time.Millisecond)
		p.app.Input("screen", "kitchen laptop")
		p.app.Input("viewer", "Ines")
		p.toIntro()
		p.finish()
		p.pass(time.Second)
		checked.rows = copied(p.rows)
	})
	return copied(checked.rows)
}

// sittingID is the id of the only sitting kept.
func (p *peer) sittingID() string {
	p.t.Helper()
	if n := len(p.app.shelf.sittings); n != 1 {
		p.t.Fatalf("%d sittings are kept", n)
	}
	return p.app.shelf.sittings[0].ID
}

// looks waits until the picture at hand hangs, and what the screen hides of it is worked out.
func (p *peer) looks() {
	p.t.Helper()
	p.stage(Viewing)
	p.within(20*time.Second, "a picture that can be decided on", func() bool { return p.app.unready(p.app.viewing.sheet.At) == "" })
}

// approves presses both buttons for the picture at hand.
func (p *peer) approves() {
	p.t.Helper()
	id := strconv.Itoa(p.app.viewing.sheet.At)
	p.press("approve", id)
	p.press("covers-yes", id)
	if d := p.app.viewing.sheet.Pictures[p.app.viewing.sheet.At].Decision; d != record.Approved {
		p.t.Fatalf("picture %s is %q: %v", id, d, p.page)
	}
}

// noted pins a note to a part of the picture at hand.
func (p *peer) noted(a area, text string) {
	p.t.Helper()
	p.app.addNote(a)
	p.settle()
	p.app.Input("note-text", text)
	p.press("note-done", "")
}

// signs presses both buttons.
func (p *peer) signs(name string) *signed {
	p.t.Helper()
	p.app.Input("name", name)
	n := len(p.app.mail.signed)
	p.press("sign", "")
	p.press("sign-yes", "")
	p.pass(time.Second)
	if len(p.app.mail.signed) != n+1 {
		p.t.Fatalf("%d records were signed: %v", len(p.app.mail.signed)-n, p.page)
	}
	return p.app.mail.signed[n]
}

// decisions opens what lies in the box for who asked.
func (p *peer) decisions(asker *peer) (list []decision) {
	p.t.Helper()
	r := asker.app.mail.requests[0]
	key, err := r.key()
	if err != nil {
		p.t.Fatal(err)
	}
	all, err := p.store.Get(context.Background(), r.box(), mailbox.Right{}, 0, 100)
	if err != nil {
		p.t.Fatal(err)
	}
	for _, l := range all {
		inside, err := key.Open(decisionLetter, seal.Place(r.Ask.at(), l.ID), l.Body)
		if err != nil {
			continue
		}
		d, err := readDecision(inside)
		if err != nil {
			p.t.Fatal(err)
		}
		list = append(list, d)
	}
	return list
}

func first(list []decision) *decision { return &list[0] }

func second(list []decision) *decision { return &list[1] }

// The whole path: a check first, on to the pictures, what the screen hides, notes, decisions, the signed record; it is in the box once, with the report and the model.
func TestProofPath(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "light and shade", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
	p := visit(t, store, nil, "request", fragment)
	p.stage(Asked)
	p.must("Orchard catalogue, spread 4", "barn.png", "60 × 40 pixels", "orchard.png", "light and shade", "Check this screen first", "Look unchecked", "Is the barn dark enough?")
	if i, j := strings.Index(p.page["stage"], "Check this screen first"), strings.Index(p.page["stage"], "Look unchecked"); i > j {
		t.Error("looking unchecked stands first where a check is asked for")
	}
	p.press("begin", "")
	p.stage(Prepare)
	p.app.Input("screen", "kitchen laptop")
	p.app.Input("viewer", "Ines")
	p.app.given.Ask.Length = check.Short // the test is not to take so long
	p.app.form.length = check.Short
	p.toIntro()
	p.finish()
	p.pass(time.Second)
	p.stage(Report)
	p.must("On to the pictures", "Nothing of it has left this browser")
	if p.reads("Choose what to send") {
		t.Error("the check can be sent by itself")
	}
	n := len(p.ran)
	p.press("sending", "")
	p.press("send", "")
	for _, e := range p.ran[n:] {
		if e.What == PutLetter {
			t.Error("the check was sent by itself")
		}
	}
	p.press("onward", "")
	p.stage(Viewing)
	p.looks()
	p.must("Kitchen laptop", "checked 24 November 2026", "Worked out from this picture's own 2,400 pixels on 200 screens", "are not in the figures")
	if name := p.app.viewing.draft.Name; name != "Ines" {
		t.Errorf("the name is prefilled with %q", name)
	}
	// Coming back to it later gives the same screens as right after the check.
	again, _, err := worked(p.app.viewing.report)
	if err != nil || p.app.viewing.run == nil || len(again) != draws {
		t.Fatalf("worked out anew: %d screens, %v", len(again), err)
	}
	for i, x := range again {
		if x.Crush != p.app.viewing.possible[i].Crush || x.Tone != p.app.viewing.possible[i].Tone || x.Tint != p.app.viewing.possible[i].Tint {
			t.Fatalf("screen %d is another when it is worked out anew", i)
		}
	}
	// What it hides is what the possible screens hide of these very pixels.
	m, err := png.Decode(bytes.NewReader(barn(t)))
	if err != nil {
		t.Fatal(err)
	}
	aim, _ := screen.AimByID("usual")
	want, _ := screen.Hides(m, p.app.viewing.possible, aim)
	if got := p.app.viewing.sights[0].hidden; got != want || !got.Known() {
		t.Errorf("hidden of the barn: %+v, want %+v", got, want)
	}
	h := p.hanging()
	if len(h.Pictures) != 1 || h.Pictures[0].Name != "barn.png" || h.Scale != 1 || h.Hatch != nil {
		t.Errorf("on the easel: %+v", h)
	}
	p.press("hatch", "")
	if h := p.hanging(); h.Hatch == nil || len(h.Hatch.Cover) != h.Hatch.Cols*h.Hatch.Rows {
		t.Errorf("hatched: %+v", h.Hatch)
	}
	p.noted(area{3, 4, 10, 12}, "The door is lost.\nMore light, please.")
	if h := p.hanging(); len(h.Pins) != 1 || h.Pins[0].Label != "1" || h.Pins[0].Width != 10 {
		t.Errorf("pins: %+v", h.Pins)
	}
	p.press("changes", "0")
	p.press("picture-on", "")
	p.looks()
	p.approves()
	p.press("approve-all", "")
	if p.app.viewing.sheet.All != record.Undecided {
		t.Error("all is approved though changes are asked for one")
	}
	p.press("changes-all", "")
	puts := len(p.ran)
	p.press("sign-yes", "") // not before it was said what is signed
	if len(p.ran) != puts {
		t.Fatal("a press of a button that was not there signed")
	}
	s := p.signs("Ines")
	p.must("Delivered 24 November 2026", "Ines approved 1 of 2 pictures and asks for changes to 1", "Save the record", "Change your mind")

	list := p.decisions(asker)
	if len(list) != 1 {
		t.Fatalf("%d decisions lie in the box", len(list))
	}
	d := list[0]
	r, err := d.stands(asker.app.mail.requests[0].Ask.Proof.Request)
	if err != nil {
		t.Fatal(err)
	}
	if string(d.record) != string(s.Record) || r.Name != "Ines" || r.Whole != record.Changes || r.Pictures[0].Decision != record.Changes || r.Pictures[1].Decision != record.Approved {
		t.Errorf("the record says %+v", r.Statement)
	}
	if got := r.Pictures[0].Notes; len(got) != 1 || got[0] != (record.Note{X: 3, Y: 4, Width: 10, Height: 12, Text: "The door is lost. More light, please."}) {
		t.Errorf("notes: %+v", got)
	}
	if !r.Pictures[0].HiddenKnown || anyOf(r.Pictures[0].Hidden).At != mille(want.Any.At) || len(r.Pictures[0].Hidden) != len(record.Ways) {
		t.Errorf("hidden: %+v", r.Pictures[0])
	}
	rep, err := report.Read(d.report)
	if err != nil {
		t.Fatal(err)
	}
	if len(rep.Judgements) != 0 || r.Screen.Report != sha256.Sum256(d.report) || r.Screen.Name != "kitchen laptop" || len(r.Screen.Fitness) != 3 {
		t.Errorf("the report: %d judgements, screen %+v", len(rep.Judgements), r.Screen)
	}
	for _, x := range rep.Purposes {
		if got := r.Screen.Verdict(strings.ToLower(x.Name)); got != x.Verdict.String() {
			t.Errorf("%s: %s in the record, %s in the report", x.Name, got, x.Verdict)
		}
	}
	model, err := study.Unpack(d.model)
	if err != nil {
		t.Fatal(err)
	}
	middle := screen.MiddleLights(p.app.viewing.possible)
	for c := range 256 {
		if got, w := model.Lights[1][c], middle[1][c]; got-w > 1e-3 || w-got > 1e-3 {
			t.Fatalf("code %d: light %v in the model, %v in the middle", c, got, w)
		}
	}
	if r.Told.IsZero() || r.Mailbox.IsZero() || r.Mailbox.Sub(r.Told).Abs() > 2*time.Second {
		t.Errorf("told %v, mailbox %v", r.Told, r.Mailbox)
	}
	p.press("save-record", s.key())
	saved := false
	for name, b := range p.files {
		saved = saved || strings.HasPrefix(name, "plumb-ines-") && string(b) == string(s.Record)
	}
	if !saved {
		t.Errorf("the record was not saved: %v", p.files)
	}
}

// Unchecked, where nothing is asked of the screen, is a way like the others; the record says that it was, and claims nothing of what is hidden.
func TestUncheckedPath(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	p := visit(t, store, nil, "request", fragment)
	p.must("looking unchecked is fine")
	if i, j := strings.Index(p.page["stage"], "Check this screen first"), strings.Index(p.page["stage"], "Look unchecked"); i < j {
		t.Error("a check is pushed where none is asked for")
	}
	p.press("unchecked", "")
	p.looks()
	p.must("This screen was not checked", "not known", "nobody checked")
	p.approves()
	p.signs("Okke")
	d := p.decisions(asker)[0]
	r, err := d.stands(asker.app.mail.requests[0].Ask.Proof.Request)
	if err != nil {
		t.Fatal(err)
	}
	if r.Screen.Checked() || r.Pictures[0].HiddenKnown || r.Whole != record.Approved || len(d.report)+len(d.model) != 0 || !r.Fits() {
		t.Errorf("the record says %+v", r.Statement)
	}

	// Where something is asked, it is still the person's right, and is said.
	asker, fragment = prove(t, store, "colour", named{"barn.png", barn(t)})
	p = visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.must("A screen that is good enough for colour was asked for. This one was not checked: the record says so.")
	p.approves()
	p.signs("Okke")
	r, err = first(p.decisions(asker)).stands(asker.app.mail.requests[0].Ask.Proof.Request)
	if err != nil || r.Fits() {
		t.Errorf("%v; a screen that nobody checked fits: %v", err, r.Fits())
	}
}

// Nothing is approved while any of what an approval rests on is missing, by whatever presses.
func TestNothingByAccident(t *testing.T) {
	anew := func(t *testing.T) *peer {
		t.Helper()
		store := world()
		_, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
		p := visit(t, store, checkedRows(t), "request", fragment)
		p.press("use", p.sittingID())
		return p
	}
	// Every button and field there is, in an order that would approve if it could.
	hammer := func(p *peer) {
		for range 3 {
			for _, b := range [][2]string{{"approve", "0"}, {"covers-yes", "0"}, {"approve", "1"}, {"covers-yes", "1"}, {"approve", ""}, {"covers-yes", ""}, {"approve", "7"}, {"covers-yes", "-1"}, {"approve-all", ""}, {"sign", ""}, {"sign-yes", ""}} {
				p.app.Action(b[0], b[1])
			}
			for _, k := range []string{"Enter", "Space", "KeyA", "KeyY", "Digit1", "KeyN"} {
				p.app.Key(k, p.now)
			}
		}
	}
	untouched := func(t *testing.T, p *peer) {
		t.Helper()
		for i, l := range p.app.viewing.sheet.Pictures {
			if l.Decision == record.Approved {
				t.Errorf("picture %d is approved", i)
			}
		}
		if p.app.viewing.sheet.All != record.Undecided || len(p.app.mail.signed) > 0 {
			t.Error("something was decided or signed for all")
		}
	}
	cases := map[string]func(p *peer){
		"nothing has come": func(p *peer) {
			p.before = func(e Errand) { p.down = map[bool]error{true: ErrOffline}[e.What == GetParcel] }
		},
		"half of it has come": func(p *peer) {
			p.before = func(e Errand) { p.down = map[bool]error{true: ErrPart}[e.What == GetParcel] }
		},
		"another picture came": func(p *peer) {
			p.before = func(e Errand) { p.down = map[bool]error{true: ErrDigest}[e.What == GetParcel] }
		},
		"it does not open": func(p *peer) {
			p.before = func(e Errand) { p.down = map[bool]error{true: ErrAltered}[e.What == GetParcel] }
		},
		"it does not decode":     func(p *peer) { p.decodes = func(string, int, int) (int, int, bool) { return 0, 0, false } },
		"it has another size":    func(p *peer) { p.decodes = func(_ string, w, h int) (int, int, bool) { return w / 2, h, true } },
		"it was turned":          func(p *peer) { p.decodes = func(_ string, w, h int) (int, int, bool) { return h, w, true } },
		"nothing is told of it":  func(p *peer) { p.blind = true },
		"what is hidden is open": func(p *peer) { p.waits = true },
		"what is hidden failed": func(p *peer) {
			p.faked = func(study.Task) (study.Found, error, bool) { return study.Found{}, errTest, true }
		},
		"what is hidden is empty": func(p *peer) {
			p.faked = func(study.Task) (study.Found, error, bool) { return study.Found{}, nil, true }
		},
	}
	for name, spoil := range cases {
		t.Run(name, func(t *testing.T) {
			store := world()
			_, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
			p := visit(t, store, checkedRows(t), "request", fragment)
			spoil(p)
			p.press("use", p.sittingID())
			p.stage(Viewing)
			for range 20 {
				p.pass(500 * time.Millisecond)
				hammer(p)
			}
			untouched(t, p)
			if name == "it has another size" {
				p.must("This picture cannot be shown", "It came out as 30 × 40 pixels, where 60 × 40 were told", "not shown as it was sent")
			}
			// Changes can be asked all the same, and it can be left open.
			p.press("changes", strconv.Itoa(p.app.viewing.sheet.At))
			if p.app.viewing.sheet.Pictures[p.app.viewing.sheet.At].Decision != record.Changes {
				t.Error("changes cannot be asked")
			}
			// A reload does not approve either.
			q := visit(t, store, copied(p.rows), "request", fragment)
			q.pass(time.Second)
			for _, d := range q.app.mail.drafts {
				for _, l := range d.Sheets[0].Pictures {
					if l.Decision == record.Approved {
						t.Error("a reload approved")
					}
				}
			}
		})
	}
	// That the hammer would approve if it could: the same presses on a picture that hangs whole.
	p := anew(t)
	p.looks()
	hammer(p)
	if p.app.viewing.sheet.Pictures[0].Decision != record.Approved || p.app.viewing.sheet.Pictures[1].Decision != record.Undecided {
		t.Error("the presses that are to show that nothing is approved approve nothing at all, or more than what hangs")
	}
	// Neither does one press, nor the second for another picture, nor after leaving it.
	p = anew(t)
	p.looks()
	p.press("approve", "0")
	p.must("Approve \"barn.png\" as seen on this screen")
	p.press("covers-yes", "1")
	p.press("picture-on", "")
	p.looks()
	p.press("covers-yes", "1")
	p.press("picture-back", "")
	p.press("covers-yes", "0")
	p.press("approve", "0")
	p.press("covers-no", "")
	p.press("covers-yes", "0")
	for i, l := range p.app.viewing.sheet.Pictures {
		if l.Decision != record.Undecided {
			t.Errorf("picture %d is %q", i, l.Decision)
		}
	}
	// What was taken down and hung again counts once it was decoded again.
	p.press("picture-on", "")
	p.looks()
	p.blind = true
	p.press("picture-back", "")
	p.pass(time.Second)
	p.press("approve", "0")
	p.press("covers-yes", "0")
	if d := p.app.viewing.sheet.Pictures[0].Decision; d != record.Undecided {
		t.Errorf("while it is decoded again it is %q", d)
	}
	// The zero values decide nothing and cannot be signed.
	p.press("sign", "")
	p.must("Nothing is decided or noted yet")
	if p.app.viewing.signing != notSigning {
		t.Error("nothing can be signed")
	}
}

// A reload loses no note and no decision, and what waits is delivered once.
func TestDecisionsAfterReload(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
	p := visit(t, store, checkedRows(t), "request", fragment)
	p.press("use", p.sittingID())
	p.looks()
	kept := func() leaf {
		t.Helper()
		for k, b := range p.rows[Decisions] {
			var d draft
			if !strings.Contains(k, "/") && json.Unmarshal(b, &d) == nil {
				return d.Sheets[0].Pictures[0]
			}
		}
		t.Fatal("nothing is kept")
		return leaf{}
	}
	p.approves()
	if l := kept(); l.Decision != record.Approved {
		t.Errorf("right after the press %+v is kept", l)
	}
	p.app.addNote(area{x: 5, y: 6})
	p.settle()
	p.app.Input("note-text", "Half a sen") // and the page goes away
	p.settle()
	if l := kept(); len(l.Notes) != 1 || l.Notes[0].Text != "Half a sen" {
		t.Errorf("while it is typed %+v is kept", l)
	}
	p.app.Input("name", "Ines of the packing room")
	p.settle()
	seed := slices.Clone(p.app.viewing.draft.Seed)

	p = visit(t, store, copied(p.rows), "request", fragment)
	p.stage(Asked)
	p.must("what you decided and noted is kept", "Go on with this check")
	p.press("use", p.sittingID())
	p.looks()
	l := p.app.viewing.sheet.Pictures[0]
	if l.Decision != record.Approved || len(l.Notes) != 1 || l.Notes[0].Text != "Half a sen" || l.Notes[0].area() != (area{x: 5, y: 6}) {
		t.Errorf("after a reload: %+v", l)
	}
	if d := p.app.viewing.draft; d.Name != "Ines of the packing room" || string(d.Seed) != string(seed) {
		t.Errorf("after a reload the name is %q, or the key another", d.Name)
	}
	p.must("Half a sen")
	// Signed while the server is down, it waits, and goes out after another reload, once.
	p.down = ErrOffline
	s := p.signs("Ines")
	p.must("cannot be reached")
	if !s.read.Mailbox.IsZero() {
		t.Error("a mailbox that could not be reached told a time")
	}
	if ed25519.PublicKey(s.read.Signer[:]).Equal(ed25519.NewKeyFromSeed(seed).Public()) != true {
		t.Error("it is signed by another key")
	}
	if len(p.decisions(asker)) != 0 {
		t.Fatal("it was delivered without a server")
	}
	p = visit(t, store, copied(p.rows), "request", fragment)
	p.pass(2 * time.Second)
	if n := len(p.decisions(asker)); n != 1 {
		t.Fatalf("%d decisions after the reload", n)
	}
	p.must("Your decision of", "Delivered")
	// A crash after delivery, before that was kept: the same letter again is the same letter.
	p = visit(t, store, copied(p.rows), "request", fragment)
	x := p.app.mail.signed[0]
	if x.State != delivered || len(x.Sealed) > 0 {
		t.Errorf("kept as %s with %d bytes", x.State, len(x.Sealed))
	}
	p.pass(time.Second)
	if n := len(p.decisions(asker)); n != 1 {
		t.Errorf("%d decisions", n)
	}
}

// A signed record is kept before it is sent, and what was kept is sent byte for byte however often the page dies meanwhile.
func TestKeptBeforeSent(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.approves()
	p.app.Input("name", "Okke")
	p.press("sign", "")
	p.hold = true
	p.press("sign-yes", "")
	p.pass(2 * time.Second)
	if n := len(p.decisions(asker)); n != 0 {
		t.Fatal("it was sent before it was kept")
	}
	// The page dies here: nothing was sent, and nothing signed is lost that anybody was told of.
	p.let()
	if n := len(p.decisions(asker)); n != 1 {
		t.Fatalf("%d decisions after it was kept", n)
	}
	before := copied(p.rows)
	// As if the answer of the server had been lost.
	for k := range before[Decisions] {
		if strings.Contains(k, "/") {
			var s signed
			if err := json.Unmarshal(before[Decisions][k], &s); err != nil {
				t.Fatal(err)
			}
			i := slices.IndexFunc(p.ran, func(e Errand) bool { return e.What == PutLetter })
			s.State, s.Sealed = waiting, p.ran[i].Body
			before[Decisions][k] = encode(s)
		}
	}
	q := visit(t, store, before, "request", fragment)
	q.pass(time.Second)
	if n := len(q.decisions(asker)); n != 1 || q.app.mail.signed[0].State != delivered {
		t.Errorf("%d decisions after it was sent again, %s", n, q.app.mail.signed[0].State)
	}
}

// A network that fails and comes back: the pictures come, one after the other, and nothing that was done meanwhile is lost.
func TestPicturesNetwork(t *testing.T) {
	store := world()
	_, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
	p := visit(t, store, nil, "request", fragment)
	p.down = ErrOffline
	p.press("unchecked", "")
	p.pass(3 * time.Second)
	p.must("Fetching barn.png", "cannot be reached", "It is tried again by itself")
	if p.app.unready(0) == "" {
		t.Error("a picture that did not come can be approved")
	}
	p.down = nil
	p.looks()
	p.approves()
	p.within(5*time.Second, "the other picture", func() bool { return p.app.viewing.sights[1].state == sightHere })
	gets := 0
	for _, e := range p.ran {
		if e.What == GetParcel {
			gets++
			if e.Size == 0 || e.Digest == ([32]byte{}) || e.Key == ([32]byte{}) || e.Picture == "" || e.Kind != "image/png" {
				t.Errorf("an errand for a parcel without all that it needs: %+v", e)
			}
		}
	}
	if gets < 3 {
		t.Errorf("%d errands for parcels", gets)
	}
	// One that is for good is said, the others stay, and it can be tried again.
	p = visit(t, store, nil, "request", fragment)
	bad := true
	p.before = func(e Errand) {
		p.down = nil
		if e.What == GetParcel && e.Size == int64(len(barn(t))) && bad {
			p.down = ErrDigest
		}
	}
	p.press("unchecked", "")
	p.pass(2 * time.Second)
	p.must("This picture did not come", "not the one", "It cannot be approved")
	p.press("picture-on", "")
	p.looks()
	p.approves()
	p.press("picture-back", "")
	bad = false
	p.press("again-picture", "")
	p.looks()
	if _, ok := p.blobs[p.app.viewing.sights[0].key]; !ok {
		t.Error("the picture is not in this browser")
	}
}

// A lost check is no check: cleared, unreadable, of another revision, void; it is said, and what was approved with it is open again.
func TestLostCheck(t *testing.T) {
	store := world()
	_, fragment := prove(t, store, "light and shade", named{"barn.png", barn(t)})
	p := visit(t, store, checkedRows(t), "request", fragment)
	id := p.sittingID()
	p.press("use", id)
	p.looks()
	p.approves()
	p.noted(area{x: 1, y: 2}, "Here.")
	rows := copied(p.rows)
	change := func(f func(r *report.Record)) func(map[string]map[string][]byte) {
		return func(rows map[string]map[string][]byte) {
			r, err := report.Read(rows[Records][id])
			if err != nil {
				t.Fatal(err)
			}
			f(&r)
			rows[Records][id] = r.Marshal()
		}
	}
	for name, c := range map[string]struct {
		lose func(map[string]map[string][]byte)
		want string
		use  bool // it is found out only when it is worked out
	}{
		"cleared": {func(rows map[string]map[string][]byte) {
			delete(rows, Sittings)
			delete(rows, Judgements)
			delete(rows, Records)
		}, "not in this browser any more", false},
		"unreadable":       {func(rows map[string]map[string][]byte) { rows[Records][id] = rows[Records][id][:500] }, "cannot be read any more", false},
		"another revision": {change(func(r *report.Record) { r.Plan.Battery++ }), "with other questions", false},
		"void":             {change(func(r *report.Record) { r.Void = []string{"Most obvious differences were missed."} }), "cannot be used", false},
		"another aim":      {change(func(r *report.Record) { r.Plan.Aim = "L*" }), "another aim", false},
		"not to be resumed": {change(func(r *report.Record) {
			r.Plan.Seed++
		}), "cannot be worked out any more", true},
	} {
		t.Run(name, func(t *testing.T) {
			rows := copied(rows)
			c.lose(rows)
			q := visit(t, store, rows, "request", fragment)
			q.stage(Asked)
			if c.use {
				q.press("use", id)
			} else {
				q.must(c.want)
				if strings.Contains(q.page["stage"], "Use the check of") {
					t.Error("the check is offered all the same")
				}
				q.app.Action("use", id) // a press that was on its way
				q.settle()
				if q.app.Stage() == Asked {
					q.press("unchecked", "")
				}
			}
			q.pass(2 * time.Second)
			q.stage(Viewing)
			v := &q.app.viewing
			if v.sitting != nil || v.sheet.Pictures[0].Decision != record.Undecided {
				t.Errorf("checked %v, decision %q", v.sitting != nil, v.sheet.Pictures[0].Decision)
			}
			if c.use {
				q.must(c.want)
			}
			q.must("This screen was not checked", "Here.", "was not checked: the record says so")
			if n := v.sheet.Pictures[0].Notes; len(n) != 1 || n[0].Text != "Here." {
				t.Errorf("notes: %+v", n)
			}
			q.looks()
			q.approves()
			s := q.signs("Ines")
			if s.read.Screen.Checked() || s.read.Pictures[0].HiddenKnown {
				t.Errorf("the record says %+v", s.read.Screen)
			}
		})
	}
}

// A change of mind is a new record, which names the one that it replaces; the old one stands until then, and nothing that is unchanged is signed again.
func TestChangeOfMind(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.approves()
	p.noted(area{x: 7, y: 8}, "Fine.")
	one := p.signs("Ines")
	if one.read.Earlier != ([32]byte{}) {
		t.Error("the first record replaces another")
	}
	// Signed is signed.
	p.press("changes", "0")
	p.app.addNote(area{x: 1, y: 1})
	p.app.Input("note-text", "no")
	p.settle()
	if l := p.app.viewing.sheet.Pictures[0]; l.Decision != record.Approved || len(l.Notes) != 1 {
		t.Errorf("after signing it was changed to %+v", l)
	}
	// Days later, by the link.
	p = visit(t, store, copied(p.rows), "request", fragment)
	p.must("Your decision of", "1 picture approved")
	p.press("again", "")
	p.looks()
	p.press("mind", "")
	p.must("You are changing your mind")
	p.press("sign", "")
	p.must("Nothing is different from the record that you signed")
	p.press("changes", "0")
	// Leaving it gives back what was signed.
	p.press("mind-not", "")
	if l := p.app.viewing.sheet.Pictures[0]; l.Decision != record.Approved || len(l.Notes) != 1 || l.Notes[0].Text != "Fine." {
		t.Errorf("left as it was signed: %+v", l)
	}
	p.press("mind", "")
	p.press("changes", "0")
	two := p.signs("Ines")
	if two.read.Earlier != record.Digest(one.Record) || two.read.Pictures[0].Decision != record.Changes || two.read.Signer != one.read.Signer {
		t.Errorf("the second record: %+v", two.read.Statement)
	}
	list := p.decisions(asker)
	if len(list) != 2 {
		t.Fatalf("%d decisions", len(list))
	}
	for i, want := range []*signed{one, two} {
		r, err := list[i].stands(asker.app.mail.requests[0].Ask.Proof.Request)
		if err != nil || string(list[i].record) != string(want.Record) {
			t.Errorf("record %d: %v", i, err)
		}
		_ = r
	}
}

// Whoever comes back to the link gets the newest version, with what they noted on the one before beside it.
func TestSecondRound(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.noted(area{3, 4, 10, 12}, "The door is lost.")
	p.press("changes", "0")
	p.press("picture-on", "")
	p.looks()
	p.approves()
	one := p.signs("Ines")

	// The owner sends a new barn.
	r := asker.app.mail.requests[0]
	asker.press("desk", "")
	asker.app.proofRound(r)
	asker.settle()
	lighter := painted(t, 60, 40, func(x, y int) (uint8, uint8, uint8) { return uint8(30 + x), uint8(30 + x + y), uint8(40 + y) })
	asker.app.Picked([]Picked{asker.gallery.pick("barn.png", lighter)})
	asker.pass(time.Second)
	asker.press("make", "")
	asker.within(10*time.Second, "the second round", func() bool { return r.newest().asked.Round == 2 && !r.unsent() })

	// While the first version is looked at, a decision about it is not signed unseen.
	p.press("mind", "")
	p.press("approve", "1")
	p.press("undecided", "1")
	p.app.Input("name", "Ines")
	p.press("sign", "")
	n := len(p.app.mail.signed)
	p.press("sign-yes", "")
	p.pass(time.Second)
	if len(p.app.mail.signed) != n {
		t.Fatal("a decision about an old version was signed")
	}
	p.must("sent version 2 meanwhile")
	p.press("newest", "")
	p.looks()

	for name, q := range map[string]*peer{"same page": p, "later": visit(t, store, copied(p.rows), "request", fragment)} {
		t.Run(name, func(t *testing.T) {
			if q != p {
				q.pass(time.Second)
				q.stage(Asked)
				q.must("This is version 2", "Of version 1 you said", "1 picture approved")
				q.press("unchecked", "")
				q.looks()
			}
			v := &q.app.viewing
			if v.asked.Round != 2 || v.sheet.Pictures[0].Decision != record.Undecided || v.sheet.Pictures[1].Decision != record.Undecided {
				t.Fatalf("round %d: %+v", v.asked.Round, v.sheet.Pictures)
			}
			if v.sheet.At != 0 {
				q.press("picture", "0")
				q.looks()
			}
			q.must("The door is lost.", "version 1")
			if len(v.sheet.Pictures[0].Notes) != 0 {
				t.Error("an old note counts as a new one")
			}
			if string(q.blobs[v.sights[0].key]) != string(lighter) {
				t.Error("what hangs is not the new version")
			}
			// Both versions beside each other.
			q.press("way", wayDivider)
			q.within(3*time.Second, "both versions", func() bool { return len(q.hanging().Pictures) == 2 })
			if h := q.hanging(); h.Way != wayDivider || string(q.blobs[h.Pictures[0].Key]) != string(lighter) || string(q.blobs[h.Pictures[1].Key]) != string(barn(t)) || h.Pictures[1].Name != "Version 1" {
				t.Errorf("under the divider: %+v", h)
			}
			if v.old[1] != nil {
				t.Error("a picture that is the same has a version to be compared with")
			}
			q.press("way", wayOne)
			if len(q.hanging().Pictures) != 1 {
				t.Error("the old version still hangs")
			}
		})
	}
	p.looks()
	p.approves()
	s := p.signs("Ines")
	if s.read.Asked.Round != 2 || s.read.Earlier != ([32]byte{}) {
		t.Errorf("the record of the second round: round %d, earlier %x", s.read.Asked.Round, s.read.Earlier)
	}
	if s.read.Signer != one.read.Signer {
		t.Error("the second round is signed by another key")
	}
	var err error
	if _, err = second(p.decisions(asker)).stands(r.newest().Request); err != nil {
		t.Error(err)
	}
	if _, err = second(p.decisions(asker)).stands(r.Rounds[0].Request); !errors.Is(err, record.ErrReplay) {
		t.Errorf("the record of the second round, held against the first: %v", err)
	}
}

// A box that is gone: what was decided is signed and saved, and says that it was not delivered.
func TestGoneBox(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.approves()
	r := asker.app.mail.requests[0]
	if err := store.Delete(context.Background(), r.box(), r.right()); err != nil {
		t.Fatal(err)
	}
	s := p.signs("Okke")
	p.must("Not delivered", "Save it sealed")
	p.press("decision-file", s.key())
	found := false
	for name, b := range p.files {
		found = found || strings.HasPrefix(name, "plumb-decision") && strings.Contains(string(b), "http://plumb.test/r#")
	}
	if !found {
		t.Errorf("no sealed file among %d", len(p.files))
	}
}

// Two tabs do not decide over each other: the second says where they are open, keeps nothing, and goes on once the first let go.
func TestPicturesInTwoTabs(t *testing.T) {
	store := world()
	_, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.approves()
	q := arrive(t, store, copied(p.rows), "request")
	lock := p.app.viewing.lock()
	q.others = map[string]bool{lock: true}
	untouched := string(encode(q.rows[Decisions]))
	q.app.Begin(surface(), map[string]string{"#" + fragment: ""})
	q.pass(time.Second)
	q.press("unchecked", "")
	q.pass(time.Second)
	q.must("open in another tab")
	q.press("changes", "0")
	q.app.addNote(area{x: 1, y: 1})
	q.app.Input("name", "Okke")
	q.press("sign", "")
	q.press("sign-yes", "")
	q.looks()
	q.press("closer", "")
	q.press("closer", "")
	if got := string(encode(q.rows[Decisions])); got != untouched || len(q.app.mail.signed) > 0 {
		t.Error("the second tab wrote over the first")
	}
	// What the first did after the second was loaded is not lost.
	p.press("undecided", "0")
	p.press("changes", "0")
	p.pass(time.Second)
	q.rows[Decisions] = copied(p.rows)[Decisions]
	had := q.app.easel
	q.before = func(e Errand) {
		if e.What == GetParcel {
			t.Error("when the first let go the picture was fetched again")
		}
	}
	q.app.Locked(lock, true)
	q.pass(time.Second)
	q.before = nil
	if e := q.app.easel; !e.ready() || e.scale != had.scale || e.fitted || e.x != had.x || e.y != had.y {
		t.Errorf("when the first let go the picture moved from %v %v %v to %v %v %v", had.scale, had.x, had.y, e.scale, e.x, e.y)
	}
	if q.app.stage != Viewing || len(q.links) > 0 || strings.Contains(q.page["message"], "another tab") {
		t.Errorf("when the first let go: stage %q, links %q, %q", q.app.stage, q.links, q.page["message"])
	}
	if d := q.app.viewing.sheet.Pictures[0].Decision; d != record.Changes {
		t.Errorf("when the first let go the second has %q", d)
	}
	q.looks()
	q.press("undecided", "0")
	q.pass(time.Second)
	if string(encode(q.rows[Decisions])) == string(encode(p.rows[Decisions])) {
		t.Error("the second keeps nothing after the first let go")
	}
}

// Working out which screens a short check allows.
func BenchmarkWorked(b *testing.B) {
	t := &testing.T{}
	rows := checkedRows(t)
	for _, bytes := range rows[Records] {
		r, err := report.Read(bytes)
		if err != nil {
			b.Fatal(err)
		}
		for range b.N {
			if _, _, err := worked(r); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// Whoever goes back and looks again, before the first answer came, gets the pictures all the same.
func TestLookingAgain(t *testing.T) {
	store := world()
	_, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	p := visit(t, store, checkedRows(t), "request", fragment)
	id := p.sittingID()
	for _, b := range []string{"use", "to-asked", "use"} {
		p.app.Action(b, id)
		p.app.Rang()
	}
	p.down = ErrOffline
	p.settle()
	p.down = nil
	p.looks()
	p.approves()
}

// The same picture twice is two pictures.
func TestTwins(t *testing.T) {
	store := world()
	_, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"barn-again.png", barn(t)})
	p := visit(t, store, checkedRows(t), "request", fragment)
	p.app.Action("use", p.sittingID())
	p.app.Action("picture", "1") // while the first is still coming
	for i := range 2 {
		p.press("picture", strconv.Itoa(i))
		p.looks()
		p.approves()
	}
}
