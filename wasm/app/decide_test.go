package app

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// A decision for all follows those for each: it is offered once every picture has one, says the same, and falls when one of them does.
func TestDecisionForAll(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)}, named{"orchard.png", orchard(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	all := func() record.Decision { return p.app.viewing.sheet.All }
	p.looks()
	p.press("approve-all", "")
	p.must("2 pictures are still open")
	p.approves()
	p.press("approve-all", "")
	if all() != record.Undecided {
		t.Fatal("all is approved with one picture open")
	}
	p.press("picture-on", "")
	p.looks()
	p.approves()
	if all() != record.Undecided {
		t.Fatal("all is approved by default")
	}
	p.press("changes-all", "")
	if all() != record.Undecided {
		t.Fatal("changes are asked for all though every picture is approved")
	}
	p.press("approve-all", "")
	if all() != record.Approved {
		t.Fatal("all cannot be approved")
	}
	p.press("changes", "1")
	if all() != record.Undecided {
		t.Fatal("all stays approved with a picture to be changed")
	}
	p.approves()
	p.press("approve-all", "")
	s := p.signs("Ines")
	if s.read.Whole != record.Approved || first(p.decisions(asker)).record == nil {
		t.Errorf("the record: %q", s.read.Whole)
	}
	p.must("Ines approved all 2 pictures")
}

// A screen that does not hold what is asked may be decided on, and record and page say that it was not fit.
func TestUnfitScreen(t *testing.T) {
	store := world()
	for verdict, want := range map[report.Verdict]string{
		report.Off: "By its check this one is not", report.Unsure: "could not tell whether this one is", report.NotChecked: "did not come to that", report.Holds: "",
	} {
		asker, fragment := prove(t, store, "colour", named{"barn.png", barn(t)})
		rows := checkedRows(t)
		for id, b := range rows[Records] {
			r, err := report.Read(b)
			if err != nil {
				t.Fatal(err)
			}
			for i := range r.Purposes {
				if r.Purposes[i].Name == "Colour" {
					r.Purposes[i].Verdict = verdict
				}
			}
			rows[Records][id] = r.Marshal()
		}
		p := visit(t, store, rows, "request", fragment)
		p.press("use", p.sittingID())
		p.looks()
		if want != "" {
			p.must(want)
		} else if p.reads("was asked for. ") {
			t.Error("a screen that is fit is said not to be")
		}
		p.approves()
		p.signs("Ines")
		r, err := first(p.decisions(asker)).stands(asker.app.mail.requests[0].Ask.Proof.Request)
		if err != nil {
			t.Fatal(err)
		}
		if r.Fits() != (verdict == report.Holds) || r.Screen.Verdict("colour") != verdict.String() {
			t.Errorf("%v: in the record it is %q, fit %v", verdict, r.Screen.Verdict("colour"), r.Fits())
		}
	}
}

// Every answer of the check goes along only where that was chosen; the digest is of what was sent, either way.
func TestWholeReport(t *testing.T) {
	for _, whole := range []bool{false, true} {
		store := world()
		asker, fragment := prove(t, store, "", named{"barn.png", barn(t)})
		p := visit(t, store, checkedRows(t), "request", fragment)
		p.press("use", p.sittingID())
		p.looks()
		p.approves()
		if whole {
			p.app.Input("whole", "yes")
		}
		own := p.rows[Records][p.sittingID()]
		p.signs("Ines")
		d := first(p.decisions(asker))
		if _, err := d.stands(asker.app.mail.requests[0].Ask.Proof.Request); err != nil {
			t.Fatal(err)
		}
		r, err := report.Read(d.report)
		if err != nil {
			t.Fatal(err)
		}
		if (len(r.Judgements) > 0) != whole || whole && string(d.report) != string(own) {
			t.Errorf("whole %v: %d judgements were sent", whole, len(r.Judgements))
		}
	}
}

// Later versions count only as the asker signed them, in their order: whoever has the link can put letters into the box.
func TestForgedRounds(t *testing.T) {
	store := world()
	asker, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	r := asker.app.mail.requests[0]
	reader, err := seal.Derive(r.Seed)
	if err != nil {
		t.Fatal(err)
	}
	_, other, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	last := byte(0)
	put := func(q record.Request, key ed25519.PrivateKey) []byte {
		t.Helper()
		q.Asker = [32]byte{}
		text, err := q.Sign(key)
		if err != nil {
			t.Fatal(err)
		}
		inside, err := packRound(proof{Request: text, Parcels: r.Ask.Proof.Parcels})
		if err != nil {
			t.Fatal(err)
		}
		last++
		id := mailbox.ID{last}
		sealed, err := seal.Seal(reader.Public(), roundLetter, seal.Place(r.Ask.at(), id), inside)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := store.Put(context.Background(), r.box(), id, sealed); err != nil {
			t.Fatal(err)
		}
		return text
	}
	one := r.Ask.Proof.Request
	asked, err := record.ReadRequest(one)
	if err != nil {
		t.Fatal(err)
	}
	asked.Round, asked.Earlier, asked.Note = 2, record.Digest(one), "Lighter now."
	put(asked, other) // signed by somebody else
	skipped := asked
	skipped.Round = 3
	put(skipped, r.signer())
	replayed := asked
	replayed.Earlier = [32]byte{1}
	put(replayed, r.signer())
	elsewhere := asked
	elsewhere.Place[0] ^= 1
	put(elsewhere, r.signer())
	p := visit(t, store, nil, "request", fragment)
	p.pass(time.Second)
	if n := p.app.given.rounds(); n != 1 {
		t.Fatalf("%d versions by forged letters", n)
	}
	put(asked, r.signer())
	p = visit(t, store, copied(p.rows), "request", fragment)
	p.pass(time.Second)
	if n := p.app.given.rounds(); n != 2 || !p.reads("This is version 2") || !p.reads("Lighter now.") {
		t.Fatalf("%d versions with one that is right", n)
	}
	// It is kept, and needs no server the next time.
	q := arrive(t, store, copied(p.rows), "request")
	q.down = ErrOffline
	q.app.Begin(surface(), map[string]string{"#" + fragment: ""})
	q.pass(time.Second)
	q.must("This is version 2")
	// What is kept is held together by the same rules.
	for name, spoil := range map[string]func(g *given){
		"out of order": func(g *given) { g.Later = append(g.Later, g.Ask.Proof) },
		"not there":    func(g *given) { g.Later[0] = nil },
		"no parcels":   func(g *given) { g.Later[0].Parcels = nil },
		"one twice":    func(g *given) { g.Later = append(g.Later, g.Later[0]) },
		"not signed":   func(g *given) { g.Ask.Proof.Request = g.Ask.Proof.Request[:50] },
		"a check's":    func(g *given) { g.Ask.Proof = nil },
		"newer":        func(g *given) { g.Version = proofed + 1 },
	} {
		var g given
		if err := json.Unmarshal(p.rows[Asks][r.Ask.name()], &g); err != nil || !g.valid() {
			t.Fatal("what is kept is not valid as it is")
		}
		spoil(&g)
		if g.valid() {
			t.Errorf("%s: it is taken all the same", name)
		}
	}
}

// Pictures of one size are versions of each other: they can be compared, in every way, and the one that hangs is the one that is decided on.
func TestCompareInOneRound(t *testing.T) {
	store := world()
	other := painted(t, 60, 40, func(x, y int) (uint8, uint8, uint8) { return uint8(4 * x), uint8(4 * y), 128 })
	_, fragment := prove(t, store, "", named{"barn-a.png", barn(t)}, named{"barn-b.png", other}, named{"orchard.png", orchard(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	for _, way := range []string{wayBeside, waySwap, wayDivider} {
		p.press("way", way)
		p.within(3*time.Second, "the other", func() bool { return len(p.hanging().Pictures) == 2 })
		if h := p.hanging(); h.Way != way || h.Pictures[0].Name != "barn-a.png" || h.Pictures[1].Name != "barn-b.png" {
			t.Errorf("%s: %+v", way, h)
		}
	}
	p.press("way", waySwap)
	p.press("swap", "")
	p.press("approve", "0")
	p.press("covers-yes", "0")
	if p.app.viewing.sheet.Pictures[0].Decision != record.Undecided {
		t.Error("a picture that is not in sight was approved")
	}
	p.must("The other one is in sight")
	p.press("swap", "")
	p.approves()
	if p.app.viewing.sheet.Pictures[1].Decision != record.Undecided {
		t.Error("the other one was decided too")
	}
	p.press("picture", "2")
	p.looks()
	if c := p.app.viewing.companion(); c != nil {
		t.Errorf("compared with %s of another size", c.picture.Name)
	}
	w, h := over(record.Picture{Width: 120, Height: 80}, record.Picture{Width: 60, Height: 40})
	u, v := over(record.Picture{Width: 100, Height: 100}, record.Picture{Width: 60, Height: 40})
	if w != 60 || h != 40 || u != 40 || v != 40 {
		t.Errorf("laid over: %d x %d, %d x %d", w, h, u, v)
	}
}

// A note that says nothing is no note, and as many as a record holds are taken.
func TestNotes(t *testing.T) {
	store := world()
	_, fragment := prove(t, store, "", named{"barn.png", barn(t)})
	p := visit(t, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	notes := func() []note { return p.app.viewing.sheet.Pictures[0].Notes }
	p.press("note", "")
	p.app.EaselPress("down", 400, 300, false)
	p.app.EaselPress("up", 400, 300, false)
	p.settle()
	if n := notes(); len(n) != 1 || n[0].area() != (area{x: 30, y: 20}) {
		t.Fatalf("a press in the middle: %+v", n)
	}
	p.app.Input("note-text", " \n ")
	p.press("note-done", "")
	if n := notes(); len(n) != 0 {
		t.Errorf("a note of nothing: %+v", n)
	}
	p.press("note", "")
	p.press("note-middle", "")
	p.app.Input("note-text", "Darker.")
	p.press("note", "")
	p.press("note-sight", "")
	p.app.Input("note-text", "And all of it warmer.")
	p.press("note-done", "")
	if n := notes(); len(n) != 2 || n[0].Text != "Darker." || n[1].area() != (area{0, 0, 60, 40}) {
		t.Errorf("%+v", n)
	}
	id := p.hanging().Pins[0].ID
	p.press("pin", id)
	p.app.Input("note-text", "Much darker.")
	p.press("note-done", "")
	p.must("Much darker.")
	p.press("note-delete", id)
	if n := notes(); len(n) != 1 || n[0].Text != "And all of it warmer." {
		t.Errorf("%+v", n)
	}
	for range record.MaxNotes + 5 {
		p.noted(area{x: 1, y: 1}, "x")
	}
	if n := len(notes()); n != record.MaxNotes {
		t.Errorf("%d notes", n)
	}
	s := p.signs("Okke")
	if len(s.read.Pictures[0].Notes) != record.MaxNotes || s.read.Pictures[0].Decision != record.Undecided {
		t.Errorf("notes alone, signed: %d, %q", len(s.read.Pictures[0].Notes), s.read.Pictures[0].Decision)
	}
}

// What the shelf holds of decisions never stops the program.
func FuzzDecisions(f *testing.F) {
	store := world()
	t0 := &testing.T{}
	_, fragment := prove(t0, store, "", named{"barn.png", barn(f)})
	p := visit(t0, store, nil, "request", fragment)
	p.press("unchecked", "")
	p.looks()
	p.noted(area{x: 1, y: 2}, "Here.")
	p.press("changes", "0")
	p.signs("Okke")
	asks := copied(p.rows)[Asks]
	name := ""
	for k, v := range p.rows[Decisions] {
		f.Add(strings.Contains(k, "/"), v)
		if !strings.Contains(k, "/") {
			name = k
		}
	}
	f.Add(false, []byte(`{"version":2,"seed":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=","sheets":[null]}`))
	f.Add(false, []byte(`{"version":2,"seed":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=","sheets":[{"at":-1,"pictures":[{}]}]}`))
	f.Fuzz(func(t *testing.T, signed bool, b []byte) {
		key := name
		if signed {
			key += "/" + encoded(make([]byte, 16))
		}
		p := visit(t, store, map[string]map[string][]byte{Asks: asks, Decisions: {key: slices.Clone(b)}}, "request", fragment)
		p.press("unchecked", "")
		p.pass(time.Second)
		for _, b := range [][2]string{{"mind", ""}, {"note-show", "1"}, {"picture-on", ""}, {"sign", ""}, {"sign-yes", ""}, {"mind-not", ""}} {
			p.app.Action(b[0], b[1])
		}
		p.pass(time.Second)
	})
}
