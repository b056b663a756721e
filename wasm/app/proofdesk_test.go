package app

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"image/png"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// hand is somebody who decides, with a key.
type hand struct {
	name string
	key  ed25519.PrivateKey
}

func newHand(name string) hand { return hand{name, ed25519.NewKeyFromSeed(chance(32))} }

// statement is a decision about a round of a request: approved on an unchecked screen, unless it is changed.
func (h hand) statement(v *version) record.Statement {
	s := record.Statement{Request: v.Request, Name: h.name, Told: start.Add(time.Hour), Mailbox: start.Add(time.Hour + time.Minute), Whole: record.Approved}
	for range v.asked.Pictures {
		s.Pictures = append(s.Pictures, record.Judged{Decision: record.Approved})
	}
	return s
}

// signs signs a statement.
func (h hand) signs(t testing.TB, s record.Statement) []byte {
	t.Helper()
	text, err := s.Sign(h.key)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// posts seals a decision for a request and puts it into its box.
func posts(t testing.TB, store mailbox.Store, r *request, d decision) {
	t.Helper()
	inside, err := packDecision(d)
	if err != nil {
		t.Fatal(err)
	}
	postsLetter(t, store, r, decisionLetter, inside)
}

func postsLetter(t testing.TB, store mailbox.Store, r *request, kind seal.Kind, inside []byte) {
	t.Helper()
	name := [16]byte(chance(16))
	key, err := r.key()
	if err != nil {
		t.Fatal(err)
	}
	sealed, err := seal.Seal(key.Public(), kind, seal.Place(r.Ask.at(), name), inside)
	if err == nil {
		_, err = store.Put(context.Background(), r.box(), name, sealed)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// deskOver makes a proof of pictures and opens its desk.
func deskOver(t *testing.T, needs string, names ...string) (*peer, *request) {
	t.Helper()
	p := visit(t, world(), nil, "proof", "")
	p.proves(needs, names...)
	p.press("desk", "")
	p.stage(MyDesk)
	return p, p.app.mail.requests[0]
}

// darkScreen is a record's screen with the report and the model that go with it: of a sitting that was ended early, whose model darkens.
func darkScreen(t *testing.T) (record.Screen, []byte, []byte) {
	t.Helper()
	h := begin(t, nil)
	h.toIntro()
	h.answer(4)
	h.toTrial()
	h.app.Key("Escape", h.now)
	h.click("stop", "")
	h.finish()
	told := without(h.app.shown.record)
	r, err := report.Read(told)
	if err != nil {
		t.Fatal(err)
	}
	s := screenOf(r)
	var m study.Model
	for c := range m.Lights {
		for i := range m.Lights[c] {
			x := float64(i) / 255
			m.Lights[c][i] = x * x * x
		}
	}
	model, err := m.Pack()
	if err != nil {
		t.Fatal(err)
	}
	s.Report, s.Model = sha256.Sum256(told), sha256.Sum256(model)
	return s, told, model
}

// A decision comes to the desk, is held against what was asked, and counts for each picture with who decided, when and on what screen. Saved, it is the bytes that were
// signed.
func TestDecision(t *testing.T) {
	p, r := deskOver(t, "colour", "barn.png", "pears.png")
	p.must("Nobody has decided yet", "no decisions", "a decision on 2 pictures, on a screen good enough for colour")
	ines := newHand("Ines")
	s := ines.statement(r.Rounds[0])
	s.Pictures[1] = record.Judged{Decision: record.Changes, Notes: []record.Note{{X: 3, Y: 4, Text: "The barn is too dark."}}}
	s.Whole = record.Changes
	text := ines.signs(t, s)
	posts(t, p.store, r, decision{record: text})
	p.within(2*time.Second, "the decision", func() bool { return p.reads("1 decision") })
	if row := p.about("barn.png"); !strings.Contains(row, "<b>Ines</b>") || !strings.Contains(row, "Approved") || !strings.Contains(row, "on an unchecked screen, though it was asked to be good enough for colour") || strings.Contains(row, "Changes asked") {
		t.Errorf("barn.png: %s", row)
	}
	if row := p.about("pears.png"); !strings.Contains(row, "Changes asked") || !strings.Contains(row, "with 1 note") {
		t.Errorf("pears.png: %s", row)
	}
	p.must("Stands", "New", "signed 24 November 2026, 15:05, by the mailbox's clock 24 November 2026, 15:06")
	id := p.app.mail.letters[0].key()
	p.press("save-record", id)
	if b := p.files["plumb-orchard-catalogue-spread-4-2026-11-24-1405-decision.txt"]; !bytes.Equal(b, text) {
		t.Errorf("saved %q of %d files", b, len(p.files))
	}
	// It is there after a reload, and not taken twice.
	q := p.after("desk", "")
	q.pass(3 * time.Second)
	if q.must("1 decision", "Changes asked"); len(q.app.mail.letters) != 1 {
		t.Errorf("%d letters", len(q.app.mail.letters))
	}
}

// What does not stand is listed as such, with why, and never counts.
func TestDecisionRefused(t *testing.T) {
	p, r := deskOver(t, "", "barn.png")
	_, foreign := deskOver(t, "", "barn.png")
	ines := newHand("Ines")
	v := r.Rounds[0]
	good := ines.signs(t, ines.statement(v))
	onScreen, told, model := darkScreen(t)
	seenOn := func(change func(s *record.Statement)) []byte {
		s := ines.statement(v)
		s.Screen = onScreen
		s.Pictures[0].HiddenKnown = true
		for _, w := range record.Ways {
			s.Pictures[0].Hidden = append(s.Pictures[0].Hidden, record.Hidden{What: w})
		}
		if change != nil {
			change(&s)
		}
		return ines.signs(t, s)
	}
	if _, err := (&decision{seenOn(nil), told, model}).stands(v.Request); err != nil {
		t.Fatalf("a decision on a checked screen does not stand: %v", err)
	}
	bent := slices.Clone(good)
	bent[bytes.Index(bent, []byte("Ines"))] = 'Y'
	spoiled := slices.Clone(told)
	spoiled[len(spoiled)/2] ^= 1
	holds := func(s *record.Statement) {
		s.Screen.Fitness = slices.Clone(s.Screen.Fitness)
		for i := range s.Screen.Fitness {
			s.Screen.Fitness[i].Verdict = "holds"
		}
	}
	for name, c := range map[string]struct {
		d    decision
		says string
	}{
		"a changed byte":              {decision{record: bent}, "signature of who decided"},
		"a replay of another request": {decision{record: ines.signs(t, ines.statement(foreign.Rounds[0]))}, "another"},
		"no record":                   {decision{record: []byte("approved\n")}, "not laid out as a record"},
		"a report that is not there":  {decision{record: seenOn(nil), model: model}, "report of the screen is missing"},
		"another report":              {decision{record: seenOn(nil), report: spoiled, model: model}, "report of the screen is missing or is not the one"},
		"a report beside unchecked":   {decision{record: good, report: told}, "report of the screen"},
		"a model that is not there":   {decision{record: seenOn(nil), report: told}, "says of the screen is missing"},
		"another model":               {decision{record: seenOn(nil), report: told, model: append(slices.Clone(model[:len(model)-1]), 9)}, "not what it names"},
		"more fitness than reported":  {decision{record: seenOn(holds), report: told, model: model}, "report of the screen"},
		"another screen's name":       {decision{record: seenOn(func(s *record.Statement) { s.Screen.Name = "studio left" }), report: told, model: model}, "report of the screen"},
		"another time of the sitting": {decision{record: seenOn(func(s *record.Statement) { s.Screen.Ended = s.Screen.Ended.Add(time.Hour) }), report: told, model: model}, "report of the screen"},
	} {
		t.Run(name, func(t *testing.T) {
			posts(t, p.store, r, c.d)
			n := len(p.app.mail.letters)
			p.within(40*time.Second, "the letter", func() bool { return len(p.app.mail.letters) > n })
			p.must("Does not stand", "It counts for nothing")
			if got := p.app.deskProof(r).Records[0].Says; !strings.Contains(got, c.says) {
				t.Errorf("it says %q", got)
			}
			if row := p.about("barn.png"); !strings.Contains(row, "Nobody has decided yet") {
				t.Errorf("it counts: %s", row)
			}
			p.must("no decisions")
			l := p.app.mail.letters[0]
			p.press("seen", l.key())
			p.stage(MyDesk)
		})
	}
	// A letter of the wrong inside is no decision at all.
	for name, inside := range map[string][]byte{"nothing": nil, "no head": []byte("x"), "a head that lies": mustPack(t, decisionHead{proofs, 9, 9, 9}, []byte("short")), "a negative length": mustPack(t, decisionHead{proofs, 9, -1, 1}, []byte("123456789"))} {
		n := len(p.app.mail.letters)
		postsLetter(t, p.store, r, decisionLetter, inside)
		p.within(40*time.Second, name, func() bool { return len(p.app.mail.letters) > n })
		if l := p.app.mail.letters[0]; l.Fault == "" || len(l.Decision) > 0 {
			t.Errorf("%s: %+v", name, l)
		}
	}
	// One of a newer program is kept as it came.
	n := len(p.app.mail.letters)
	postsLetter(t, p.store, r, decisionLetter, mustPack(t, decisionHead{proofs + 1, 1, 0, 0}, []byte("x")))
	p.within(40*time.Second, "the newer one", func() bool { return len(p.app.mail.letters) > n })
	if l := p.app.mail.letters[0]; len(l.Sealed) == 0 || !strings.Contains(l.Fault, "newer version") {
		t.Errorf("%+v", l)
	}
	// And after all of them a good one counts.
	posts(t, p.store, r, decision{seenOn(nil), told, model})
	p.within(40*time.Second, "the good one", func() bool { return p.reads("1 decision") })
	if row := p.about("barn.png"); !strings.Contains(row, "Approved") || !strings.Contains(row, "on a checked screen") {
		t.Errorf("barn.png: %s", row)
	}
}

func mustPack(t testing.TB, head any, rest []byte) []byte {
	t.Helper()
	b, err := pack(head, rest)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A change of mind counts in place of what it names, in whatever order the two come, and only by the same key. Both stay on the desk. The same record twice counts once.
func TestMindOnDesk(t *testing.T) {
	ines, okke := newHand("Ines"), newHand("Ines")
	for _, later := range []string{"in order", "the later first"} {
		t.Run(later, func(t *testing.T) {
			p, r := deskOver(t, "", "barn.png")
			first := ines.statement(r.Rounds[0])
			one := ines.signs(t, first)
			second := first
			second.Earlier, second.Told = record.Digest(one), first.Told.Add(time.Hour)
			second.Pictures = []record.Judged{{Decision: record.Changes}}
			second.Whole = record.Changes
			two := ines.signs(t, second)
			list := [][]byte{one, two}
			if later != "in order" {
				slices.Reverse(list)
			}
			for i, text := range list {
				posts(t, p.store, r, decision{record: text})
				p.within(20*time.Second, "the decision", func() bool { return len(p.app.mail.letters) == i+1 })
			}
			row := p.about("barn.png")
			if strings.Count(row, "Changes asked") != 1 || strings.Contains(row, "Approved") {
				t.Errorf("barn.png: %s", row)
			}
			p.must("Replaced by a later record, of 24 November 2026, 16:05", "It replaces an earlier record", "2 decisions")

			posts(t, p.store, r, decision{record: one})
			p.within(20*time.Second, "the repeat", func() bool { return p.reads("The same record came before") })
			if row := p.about("barn.png"); strings.Contains(row, "Approved") {
				t.Errorf("a replay of what was replaced counts: %s", row)
			}
			p.must("2 decisions")

			// Another key replaces nothing, whatever it names, and is told apart from the first by it.
			third := first
			third.Earlier = record.Digest(two)
			posts(t, p.store, r, decision{record: okke.signs(t, third)})
			p.within(20*time.Second, "the other's", func() bool { return p.reads("3 decisions") })
			row = p.about("barn.png")
			if strings.Count(row, "Changes asked") != 1 || strings.Count(row, "Approved") != 1 || strings.Count(row, "Ines, key ") < 2 {
				t.Errorf("barn.png: %s", row)
			}
		})
	}
}

// As they saw it: the picture beside its view through the model that came, at once where the picture is here, and out of the box where it is not.
func TestAsTheySawIt(t *testing.T) {
	p, r := deskOver(t, "", "barn.png", "pears.png")
	ines := newHand("Ines")
	s := ines.statement(r.Rounds[0])
	told, model := []byte(nil), []byte(nil)
	s.Screen, told, model = darkScreen(t)
	for i := range s.Pictures {
		s.Pictures[i].HiddenKnown = true
		for _, w := range record.Ways {
			s.Pictures[i].Hidden = append(s.Pictures[i].Hidden, record.Hidden{What: w, At: 120, Lo: 100, Hi: 140})
		}
	}
	s.Pictures[0].Notes = []record.Note{{X: 3, Y: 4, Text: "The barn is too dark."}, {X: 5, Y: 6, Width: 4, Height: 2, Text: "And this."}}
	posts(t, p.store, r, decision{ines.signs(t, s), told, model})
	p.within(2*time.Second, "the decision", func() bool { return p.reads("1 decision") })
	l := p.app.mail.letters[0]
	for name, open := range map[string]func() *peer{
		"here": func() *peer { return p },
		"elsewhere": func() *peer {
			owner := p.app.ownerLink()
			q := visit(t, p.store, nil, "request", owner[strings.Index(owner, "#")+1:])
			q.press("take-desk", "")
			q.within(3*time.Second, "the decision", func() bool { return q.reads("1 decision") })
			return q
		},
		"gone": func() *peer {
			q := p.after("desk", "")
			clear(q.gallery.blobs)
			return q
		},
	} {
		t.Run(name, func(t *testing.T) {
			p := open()
			p.press("seen", l.key()+"#0")
			p.stage(Seen)
			p.pass(200 * time.Millisecond)
			h := p.gallery.hanging()
			if len(h.Pictures) != 2 || h.Way != wayDivider || len(h.Pins) != 2 || h.Pins[1].Width != 4 {
				t.Fatalf("it hangs as %+v", h)
			}
			meant, err := png.Decode(bytes.NewReader(p.gallery.blobs[h.Pictures[0].Key]))
			if err != nil {
				t.Fatal(err)
			}
			shown, err := png.Decode(bytes.NewReader(p.gallery.blobs[h.Pictures[1].Key]))
			if err != nil {
				t.Fatal(err)
			}
			// Through a cubic curve, seen on the sRGB curve.
			var lights screen.Lights
			for c := range lights {
				for i := range lights[c] {
					x := float64(i) / 255
					lights[c][i] = x * x * x
				}
			}
			for _, at := range [][2]int{{3, 4}, {20, 15}, {39, 29}} {
				_, g, _, _ := meant.At(at[0], at[1]).RGBA()
				_, got, _, _ := shown.At(at[0], at[1]).RGBA()
				want := lightCode(lights[1][g>>8])
				if d := int(got>>8) - want; d < -1 || d > 1 {
					t.Errorf("code %d is shown as %d, want %d", g>>8, got>>8, want)
				}
			}
			p.must("As Ines saw it", "The barn is too dark.", "Their white", "The room", "Brightness", "How even", "no check of it is used", "Stands", "12 %")
			// A view is forgotten when it is left, a picture stays.
			p.press("picture-on", "")
			p.pass(200 * time.Millisecond)
			if h := p.gallery.hanging(); len(h.Pictures) != 2 || len(h.Pins) != 0 {
				t.Errorf("the second hangs as %+v", h)
			}
			p.press("print", "")
			p.press("desk", "")
			p.stage(MyDesk)
			x := p.app.mail.requests[0]
			for i, k := range x.Rounds[0].Pictures {
				if k == "" || p.gallery.blobs[k] == nil || !p.gallery.lasting[k] {
					t.Errorf("picture %d is not kept here", i)
				}
			}
			if len(p.gallery.blobs) != 2 || p.printed != 1 {
				t.Errorf("%d files are left", len(p.gallery.blobs))
			}
			if p.reads(">New<") {
				t.Error("it is still said to be new")
			}
		})
	}
}

// What cannot be shown is said, with what is shown all the same, and can be tried again. Nothing of it changes what was decided.
func TestSeenTrouble(t *testing.T) {
	p, r := deskOver(t, "", "barn.png")
	ines, okke := newHand("Ines"), newHand("Okke")
	s, told, model := ines.checkedStatement(t, r.Rounds[0])
	s.Pictures[0].Notes = []record.Note{{X: 3, Y: 4, Text: "The barn is too dark."}}
	posts(t, p.store, r, decision{ines.signs(t, s), told, model})
	posts(t, p.store, r, decision{record: okke.signs(t, okke.statement(r.Rounds[0]))})
	p.within(4*time.Second, "the decisions", func() bool { return p.reads("2 decisions") })
	keys := map[string]string{}
	for _, v := range p.app.verdicts(r) {
		keys[v.record.Name] = v.letter.key()
	}
	see := func(prepare func(q *peer)) *peer {
		t.Helper()
		q := p.after("desk", "")
		prepare(q)
		q.press("seen", keys["Ines"])
		q.stage(Seen)
		q.pass(300 * time.Millisecond)
		q.must("The barn is too dark.")
		return q
	}
	hangs := func(q *peer, n int) {
		t.Helper()
		if h := q.hanging(); len(h.Pictures) != n {
			t.Errorf("%d pictures hang, not %d: %v", len(h.Pictures), n, q.page["failed"])
		}
	}

	q := see(func(q *peer) { clear(q.blobs); q.down = ErrOffline })
	hangs(q, 0)
	q.must("The picture cannot be shown", "cannot be reached")
	q.down = nil
	q.press("retry", "")
	q.pass(300 * time.Millisecond)
	hangs(q, 2)
	if q.reads("cannot be shown") {
		t.Error("it is still said that it cannot be shown")
	}

	// That it is not here any more may be told by whoever works the view out, too.
	q = see(func(q *peer) { clear(q.blobs); q.blind = true })
	hangs(q, 2)

	q = see(func(q *peer) {
		q.faked = func(k study.Task) (study.Found, error, bool) {
			return study.Found{}, errors.New("browser: it stopped"), k.What == study.See
		}
	})
	hangs(q, 1)
	q.must("Only the picture as it was meant is shown", "it stopped")
	q.faked = nil
	q.press("retry", "")
	q.pass(300 * time.Millisecond)
	hangs(q, 2)

	// A view that the browser cannot show is taken away again.
	meant := r.Rounds[0].Pictures[0]
	q = see(func(q *peer) { q.decodes = func(key string, w, h int) (int, int, bool) { return w, h, key == meant } })
	hangs(q, 1)
	q.must("cannot be shown by this browser")

	// A picture that does not decode is fetched once, and then given up.
	q = see(func(q *peer) { q.decodes = func(string, int, int) (int, int, bool) { return 0, 0, false } })
	hangs(q, 0)
	n := 0
	for _, e := range q.ran {
		if e.What == GetParcel {
			n++
		}
	}
	if n != 1 {
		t.Errorf("it was fetched %d times", n)
	}
	q.must("The picture cannot be shown", "The record and the notes are here all the same")

	// What was altered in the box is not shown.
	q = see(func(q *peer) { clear(q.blobs); q.app.mail.requests[0].Rounds[0].asked.Pictures[0].Digest[0]++ })
	hangs(q, 0)
	q.must("The picture that came is not the one that was told of")
	if len(q.blobs) != 0 {
		t.Error("what came in its place is kept")
	}

	// A note is brought into sight; the divider is moved; what is not known here does nothing.
	q = see(func(*peer) {})
	q.press("pin", "1")
	if h := q.hanging(); !h.Pins[0].Current {
		t.Errorf("pins %+v", h.Pins)
	}
	q.app.Input("divider", "250")
	if h := q.hanging(); h.Divider != 0.25 {
		t.Errorf("the divider is at %v", h.Divider)
	}
	for _, x := range [][2]string{{"picture", "7"}, {"picture", "x"}, {"note-show", "9"}, {"note", ""}, {"approve", "0"}, {"unheard", ""}} {
		q.press(x[0], x[1])
	}
	hangs(q, 2)
	q.press("desk", "")
	q.stage(MyDesk)
	q.must("2 decisions")

	// On an unchecked screen there is nothing to work out, and that is said.
	q = p.after("desk", "")
	q.press("seen", keys["Okke"])
	q.pass(300 * time.Millisecond)
	hangs(q, 1)
	q.must("nobody can tell how it looked there")
	if len(q.tasks) != 0 {
		t.Errorf("asked: %v", q.tasks)
	}
}

// lightCode is the code of the sRGB curve for a light.
func lightCode(l float64) int {
	best, at := 2.0, 0
	for i := range 256 {
		x := float64(i) / 255
		y := x / 12.92
		if x > 0.04045 {
			y = math.Pow((x+0.055)/1.055, 2.4)
		}
		d := y - l
		if d < 0 {
			d = -d
		}
		if d < best {
			best, at = d, i
		}
	}
	return at
}

// FuzzProofDesk: whatever a row of a decision or of a proof holds, the desk opens, nothing panics, and nothing counts but what was signed.
func FuzzProofDesk(f *testing.F) {
	p, r := deskOver(&testing.T{}, "", "barn.png")
	ines := newHand("Ines")
	text := ines.signs(f, ines.statement(r.Rounds[0]))
	posts(f, p.store, r, decision{record: text})
	p.pass(3 * time.Second)
	if len(p.app.mail.letters) != 1 {
		f.Fatal("no decision came")
	}
	id, key := r.Ask.name(), p.app.mail.letters[0].key()
	f.Add(text, []byte(nil), encode(r))
	f.Add(text[:len(text)-1], []byte("plumb screen 1\n"), encode(r))
	f.Add([]byte("x"), []byte{1}, []byte(`{"version":2,"rounds":[null]}`))
	f.Fuzz(func(t *testing.T, signed, model, row []byte) {
		rows := copied(p.rows)
		l := *p.app.mail.letters[0]
		l.Decision, l.Model = signed, model
		rows[Letters][key] = encode(l)
		rows[Requests][id] = row
		q := visit(t, p.store, rows, "desk", "")
		q.press("seen", key+"#0")
		q.pass(100 * time.Millisecond)
		if q.app.Stage() == Seen && (!bytes.Equal(signed, text) || len(model) > 0) {
			t.Errorf("it opens as if it stood: %q, %x", signed, model)
		}
		q = visit(t, p.store, rows, "desk", "")
		if x := q.app.mail.find(id); x != nil {
			for _, v := range q.app.verdicts(x) {
				if v.counts() && !bytes.Equal(v.letter.Decision, text) {
					t.Errorf("it counts: %q", v.letter.Decision)
				}
			}
		}
		readDecision(signed)
		readRound(signed, model)
	})
}
