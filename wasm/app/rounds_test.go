package app

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// entryOf is the id of the picture of a name in the form.
func (p *peer) entryOf(name string) string {
	p.t.Helper()
	for _, e := range p.app.proofing.list() {
		if e.name == name {
			return e.id
		}
	}
	p.t.Fatalf("no %s in the form", name)
	return ""
}

// A new version goes into the same box by the same link: what did not change keeps its parcel, what takes the place of a picture keeps its name, and the letter that
// tells of it comes last. Decisions on the version before stay on the desk and count no more.
func TestRound(t *testing.T) {
	p, r := deskOver(t, "light and shade", "barn.png", "pears.png", "ladder.png")
	ines := newHand("Ines")
	s := ines.statement(r.Rounds[0])
	s.Pictures[0] = record.Judged{Decision: record.Changes, Notes: []record.Note{{X: 3, Y: 4, Width: 5, Height: 6, Text: "The barn is too dark."}}}
	s.Whole = record.Changes
	posts(t, p.store, r, decision{record: ines.signs(t, s)})
	p.within(2*time.Second, "the decision", func() bool { return p.reads("1 decision") })
	fragment := p.app.requestLink(r)
	first := r.Rounds[0]

	p.press("round", r.Ask.name())
	p.stage(Proofing)
	p.must("Version 2 of", "What was asked to be changed", "The barn is too dark.", "Orchard catalogue, spread 4", "As in the version before")
	if !p.app.proofingView().Needs[0].Options[2].Chosen {
		t.Error("what the screen is to be good enough for was forgotten")
	}
	p.press("make", "")
	p.stage(Proofing)
	p.must("Nothing is new yet")

	p.chooses([]string{"Barn.png", "new pears.png", "gate.png"}, [][]byte{plain(t, 11), plain(t, 12), plain(t, 13)})
	if row := p.about("Barn.png"); !strings.Contains(row, "Takes the place of barn.png") {
		t.Errorf("by name: %s", row)
	}
	// By choice, under another name; and back.
	id := p.entryOf("new pears.png")
	p.press("replace", id)
	if row := p.about("new pears.png"); strings.Contains(row, "In place of barn.png") || !strings.Contains(row, "In place of pears.png") || !strings.Contains(row, "In place of ladder.png") {
		t.Errorf("to choose from: %s", row)
	}
	p.press("instead", id+"/2")
	p.press("instead", p.entryOf("gate.png")+"/2") // taken
	if row := p.about("gate.png"); strings.Contains(row, "Takes the place") {
		t.Errorf("two take one place: %s", row)
	}
	p.press("remove", p.entryOf("ladder.png"))
	p.app.Input("note", "Lighter now.")
	p.press("make", "")
	p.within(5*time.Second, "the round", func() bool { return p.reads("Version 2 is there") })
	second := r.Rounds[1]
	if got := p.app.requestLink(r); got != fragment {
		t.Error("it has another link")
	}
	var names []string
	for _, x := range second.asked.Pictures {
		names = append(names, x.Name)
	}
	if !slices.Equal(names, []string{"barn.png", "pears.png", "gate.png"}) || second.asked.Round != 2 || second.asked.Earlier != first.digest() || second.asked.Note != "Lighter now." {
		t.Errorf("signed: %+v", second.asked)
	}
	last := p.ran[len(p.ran)-1]
	if last.What != PutLetter {
		t.Errorf("the last errand is %v", last.What)
	}
	p.press("desk", "")
	p.must("Version 2, of", "Nobody has decided yet", "It is about version 1.")
	if row := p.about("barn.png"); strings.Contains(row, "Changes asked") {
		t.Errorf("a decision on version 1 counts for version 2: %s", row)
	}
	posts(t, p.store, r, decision{record: ines.signs(t, ines.statement(second))})
	p.within(20*time.Second, "the decision", func() bool { return strings.Contains(p.about("gate.png"), "Approved") })
	// One on the version before still comes too late.
	okke := newHand("Okke")
	posts(t, p.store, r, decision{record: okke.signs(t, okke.statement(first))})
	p.within(20*time.Second, "the late one", func() bool { return p.reads("3 decisions") })
	if row := p.about("barn.png"); strings.Contains(row, "Okke") {
		t.Errorf("barn.png: %s", row)
	}

	// On another desk, all rounds and decisions are there, in order.
	owner := p.app.ownerLink()
	q := visit(t, p.store, nil, "request", owner[strings.Index(owner, "#")+1:])
	q.press("take-desk", "")
	q.within(3*time.Second, "all of it", func() bool { return q.reads("3 decisions") })
	x := q.app.mail.requests[0]
	if len(x.Rounds) != 2 || !x.valid() || x.newest().digest() != second.digest() {
		t.Fatalf("%d rounds elsewhere", len(x.Rounds))
	}
	for _, l := range q.app.mail.letters {
		if l.Fault != "" {
			t.Errorf("a letter elsewhere: %s", l.Fault)
		}
	}
	if !strings.Contains(q.about("gate.png"), "Approved") || !q.reads("It is about version 1.") {
		t.Error("elsewhere other decisions count")
	}
	// And from there a third one comes, which the first desk learns of.
	q.press("round", x.Ask.name())
	q.chooses([]string{"gate.png"}, [][]byte{plain(t, 21)})
	q.press("make", "")
	q.within(5*time.Second, "the third", func() bool { return q.reads("Version 3 is there") })
	p.app.Visible(true)
	p.within(40*time.Second, "the third here", func() bool { return p.reads("Version 3, of") })
	if len(r.Rounds) != 3 || r.Rounds[2].Pictures[0] != second.Pictures[0] || r.Rounds[2].Pictures[2] != "" {
		t.Errorf("the pictures of the third: %v", r.Rounds[2].Pictures)
	}
	if again := p.after("desk", ""); len(again.app.mail.requests) != 1 || len(again.app.mail.requests[0].Rounds) != 3 {
		t.Error("after a reload there are other rounds")
	}
}

// A round that is interrupted goes on after a reload; called off, the version before stays and the new pictures are gone. Until its letter lies there nobody hears of it.
func TestRoundGoesOn(t *testing.T) {
	p, r := deskOver(t, "", "barn.png", "pears.png")
	fragment := strings.SplitN(p.app.requestLink(r), "#", 2)[1]
	p.press("round", r.Ask.name())
	p.chooses([]string{"barn.png"}, [][]byte{noisy(t, 3, 3<<20)})
	p.before = func(e Errand) {
		if e.What == PutParcel {
			p.gallery.part, p.before = 1, func(Errand) { p.down = ErrOffline }
		}
	}
	p.press("make", "")
	p.pass(300 * time.Millisecond)
	p.stage(Made)
	p.must("It waits to be sent", "1 of 2 pictures lie there")
	if n := len(p.letters(r)); n != 2 {
		t.Fatalf("%d letters", n)
	}
	if other := visit(t, p.store, nil, "request", fragment); other.app.mail.given[r.Ask.name()].newest().Request == nil || len(other.app.mail.given[r.Ask.name()].Later) != 0 {
		t.Error("half a round is known to who has the link")
	}
	p.down = ErrOffline
	q := p.after("desk", "")
	q.must("Version 2 is on its way", "Cancel the new version")
	q.press("round", r.Ask.name()) // one at a time
	q.stage(MyDesk)

	// Called off.
	c := q.after("proof", "")
	c.stage(Made)
	c.press("cancel", "")
	c.stage(Proofing)
	c.must("The new version was called off", "Version 2 of")
	x := c.app.mail.requests[0]
	if len(x.Rounds) != 1 || len(c.gallery.blobs) != 2 || c.gallery.blobs[x.Rounds[0].Pictures[0]] == nil || c.gallery.blobs[x.Rounds[0].Pictures[1]] == nil {
		t.Errorf("%d rounds, %d files", len(x.Rounds), len(c.gallery.blobs))
	}
	if d := c.after("desk", ""); d.reads("on its way") || len(d.app.mail.requests[0].Rounds) != 1 {
		t.Error("it comes back")
	}

	// Gone on with.
	q.down = nil
	g := q.after("desk", "")
	g.within(5*time.Second, "the round", func() bool { return g.reads("Version 2, of") && !g.reads("on its way") })
	if n := len(g.letters(r)); n != 3 {
		t.Errorf("%d letters", n)
	}
	// What is the owner's own in the box is not fetched again and again.
	g.pass(5 * time.Second)
	if e := g.ran[len(g.ran)-1]; e.What != GetLetters || e.After != 3 {
		t.Errorf("the last errand: %+v", e)
	}
	other := visit(t, p.store, nil, "request", fragment)
	other.within(3*time.Second, "version 2", func() bool { return other.reads("This is version 2") })
}

// Whoever has the link can write into the box, but no round: that takes the owner's signature. Neither the desk nor another recipient takes one.
func TestRoundForged(t *testing.T) {
	p, r := deskOver(t, "", "barn.png")
	l, err := link.Read(p.app.requestLink(r))
	if err != nil {
		t.Fatal(err)
	}
	seed := l.(link.Box).Seed
	reader, err := seal.Derive(seed[:])
	if err != nil {
		t.Fatal(err)
	}
	v := r.Rounds[0]
	mallory := newHand("Okke").key
	good := v.asked
	good.Round, good.Earlier, good.Asker = 2, v.digest(), [32]byte{}
	sign := func(change func(q *record.Request)) []byte {
		q := good
		change(&q)
		text, err := q.Sign(r.signer())
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	forged, err := good.Sign(mallory)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		p    proof
		want error
	}{
		"another signer":     {proof{forged, v.Parcels}, errSignedElse},
		"the same once more": {v.proof, errRound},
		"a round left out":   {proof{sign(func(q *record.Request) { q.Round = 3 }), v.Parcels}, errRound},
		"another before it":  {proof{sign(func(q *record.Request) { q.Earlier[0]++ }), v.Parcels}, errRound},
		"another box":        {proof{sign(func(q *record.Request) { q.Place[0]++ }), v.Parcels}, errProof},
		"too few parcels":    {proof{sign(func(*record.Request) {}), nil}, errProof},
	} {
		inside, err := packRound(c.p)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := readRound(inside, v.Request); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
		id := mailbox.ID(chance(16))
		sealed, err := seal.Seal(reader.Public(), roundLetter, seal.Place(r.Ask.at(), id), inside)
		if err == nil {
			_, err = p.store.Put(t.Context(), r.box(), id, sealed)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	inside, _ := packRound(proof{sign(func(*record.Request) {}), v.Parcels})
	if _, q, err := readRound(inside, v.Request); err != nil || q.Round != 2 {
		t.Errorf("a good one: %+v, %v", q, err)
	}
	p.app.Visible(true)
	p.pass(5 * time.Second)
	if len(r.Rounds) != 1 || len(p.app.mail.letters) != 0 || r.past != 8 {
		t.Errorf("%d rounds, %d letters, looked up to %d", len(r.Rounds), len(p.app.mail.letters), r.past)
	}
	other := visit(t, p.store, nil, "request", strings.SplitN(p.app.requestLink(r), "#", 2)[1])
	other.pass(2 * time.Second)
	if g := other.app.mail.given[r.Ask.name()]; len(g.Later) != 0 {
		t.Error("a recipient takes a forged round")
	}
}

// The desk is read again while a round travels, as when its tab is woken: the round arrives all the same, and is kept as it is.
func TestRoundWoken(t *testing.T) {
	p, r := deskOver(t, "", "barn.png")
	p.press("round", r.Ask.name())
	p.chooses([]string{"barn.png"}, [][]byte{plain(t, 9)})
	p.down = ErrOffline
	p.press("make", "")
	p.press("desk", "")
	p.must("Version 2 is on its way")
	woken := 0
	p.before = func(e Errand) {
		if p.down = nil; e.What == PutParcel || e.What == PutLetter {
			woken++
			p.app.Visible(true)
		}
	}
	p.within(10*time.Second, "the round", func() bool { return p.reads("Version 2, of") && !p.reads("on its way") })
	if woken != 2 || len(p.letters(r)) != 3 {
		t.Errorf("woken %d times; %d letters", woken, len(p.letters(r)))
	}
	if q := p.after("desk", ""); q.reads("on its way") || !q.reads("Version 2, of") {
		t.Error("it is kept as if it were on its way")
	}
}

// A proof that another tab moves on with is not set back by what this one read before.
func TestRoundsMerge(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.fillProof("barn.png", "pears.png")
	p.hold = true
	p.press("make", "")
	r := p.app.mail.requests[0]
	v := r.Rounds[0]
	p.let()
	p.within(5*time.Second, "the link", func() bool { return p.reads("The link is ready") })
	if r.Rounds[0] != v || !v.There[0] || !v.There[1] {
		t.Error("another round")
	}
	x := &request{Rounds: []*version{{proof: v.proof, Pictures: []string{"", "here"}, There: []bool{true, false}, Sealed: nil}}}
	was := &version{proof: v.proof, Pictures: []string{"kept", ""}, There: []bool{false, true}, Sealed: []byte("x")}
	x.merge([]*version{was})
	if x.Rounds[0] != was || !was.There[0] || !was.There[1] || was.Pictures[0] != "kept" || was.Pictures[1] != "here" || was.Sealed != nil {
		t.Errorf("merged: %+v", was)
	}
	// What was verified is taken for the same text alone.
	x = &request{Rounds: []*version{{proof: v.proof}}}
	if x.trust([]*version{v}); x.Rounds[0].asked.Round != 1 {
		t.Error("the same text is verified again")
	}
	x = &request{Rounds: []*version{{proof: proof{Request: append([]byte("x"), v.Request...), Parcels: v.Parcels}}}}
	if x.trust([]*version{v}); x.Rounds[0].asked.Round != 0 {
		t.Error("another text counts as verified")
	}
	y := &version{proof: proof{Request: []byte("another")}}
	x = &request{Rounds: []*version{y}}
	if x.merge([]*version{was}); x.Rounds[0] != y {
		t.Error("another round was merged")
	}
}
