package app

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/wasm/study"
	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// plain is a small picture of one colour: two with one number are the same file.
func plain(t testing.TB, n int) []byte {
	return painted(t, 40, 30, func(x, y int) (r, g, b uint8) { return uint8(n), uint8(6 * x), uint8(8 * y) })
}

// noisy is a picture whose file is larger than n bytes.
func noisy(t testing.TB, seed uint32, n int) []byte {
	side := 8
	for 3*side*side < n {
		side++
	}
	next := func() uint8 { seed = seed*1664525 + 1013904223; return uint8(seed >> 24) }
	return painted(t, side, side, func(x, y int) (r, g, b uint8) { return next(), next(), next() })
}

// after is the program after a reload, on the same page or another: what was kept is there.
func (p *peer) after(page, fragment string) *peer {
	p.t.Helper()
	q := arrive(p.t, p.store, copied(p.rows), page)
	q.gallery.reloaded(p.gallery)
	q.now, q.down = p.now, p.down
	wishes := map[string]string{}
	if fragment != "" {
		wishes["#"+fragment] = ""
	}
	q.app.Begin(surface(), wishes)
	q.pass(2 * animation)
	return q
}

// chooses picks files on the page.
func (p *peer) chooses(names []string, files [][]byte) {
	p.t.Helper()
	var list []Picked
	for i, n := range names {
		list = append(list, p.gallery.pick(n, files[i]))
	}
	p.app.Picked(list)
	p.pass(2 * animation)
}

// fillProof fills in the form of a proof with pictures of some names.
func (p *peer) fillProof(names ...string) {
	p.t.Helper()
	p.stage(Proofing)
	if p.body["pick"] != "all" {
		p.t.Fatal("files are not taken as pictures")
	}
	var files [][]byte
	for i := range names {
		files = append(files, plain(p.t, i+1))
	}
	p.chooses(names, files)
	p.app.Input("title", "Orchard catalogue, spread 4")
	p.app.Input("note", "Please look at the barn.")
	p.app.Input("from", "Tomas")
}

// proves makes a proof and returns its link.
func (p *peer) proves(needs string, names ...string) string {
	p.t.Helper()
	p.fillProof(names...)
	p.app.Input("needs", needs)
	p.press("make", "")
	p.within(5*time.Second, "the link", func() bool { return p.reads("The link is ready") })
	return p.link()
}

// about is what the page says of a picture, up to the next one.
func (p *peer) about(name string) string {
	for _, part := range []string{"pictures", "parcels", "files", "requests"} {
		for _, heading := range []string{"h2", "h3"} {
			if _, after, ok := strings.Cut(p.page[part], name+"</"+heading+">"); ok {
				row, _, _ := strings.Cut(after, "<"+heading)
				return row
			}
		}
	}
	return ""
}

// letters is all that lies in a request's box.
func (p *peer) letters(r *request) []mailbox.Letter {
	p.t.Helper()
	list, err := p.store.Get(p.t.Context(), r.box(), r.right(), 0, 0)
	if err != nil {
		p.t.Fatal(err)
	}
	return list
}

// A proof is made: pictures are examined, signed for, sealed and sent, the letters last, and only then there is a link. Nothing of it is readable in the box.
func TestProof(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.must("Nothing leaves this browser before you press the button")
	p.fillProof("barn.png", "pears.png")
	if len(p.ran) > 0 {
		t.Fatalf("errands before the press: %v", p.ran)
	}
	p.must("2 pictures will be sealed here")
	for _, n := range []string{"barn.png", "pears.png"} {
		if row := p.about(n); !strings.Contains(row, "Ready") || !strings.Contains(row, "40 × 30 pixels") {
			t.Errorf("%s: %s", n, row)
		}
	}
	for k := range p.gallery.blobs {
		if strings.HasPrefix(k, "picked-") {
			t.Errorf("%s is still held as it was picked", k)
		}
	}
	linked := false
	p.before = func(e Errand) { linked = linked || p.reads("http://plumb.test/r#") }
	p.press("make", "")
	p.stage(Made)
	p.within(5*time.Second, "the link", func() bool { return p.reads("The link is ready") })
	if linked {
		t.Error("there was a link before all of it lay there")
	}
	var what []What
	for _, e := range p.ran {
		what = append(what, e.What)
	}
	if !slices.Equal(what, []What{OpenBox, PutParcel, PutParcel, PutLetter, PutLetter}) {
		t.Errorf("errands %v", what)
	}
	r := p.app.mail.requests[0]
	if r.Version != proofed || r.State != running || len(r.Sealed) > 0 || !r.valid() {
		t.Errorf("the request is kept as %+v", r)
	}
	asked := r.Rounds[0].asked
	if asked.Title != "Orchard catalogue, spread 4" || asked.From != "Tomas" || asked.Note != "Please look at the barn." || asked.Round != 1 || asked.Place != r.Ask.at() || asked.Asker != r.asker() || asked.Needs != "" {
		t.Errorf("signed: %+v", asked)
	}
	if asked.Pictures[0].Name != "barn.png" || asked.Pictures[1].Name != "pears.png" || asked.Pictures[0].Digest == asked.Pictures[1].Digest {
		t.Errorf("pictures %+v", asked.Pictures)
	}
	names := map[string]bool{}
	for _, q := range r.Rounds[0].Parcels {
		names[string(q.Name)], names[string(q.Key)] = true, true
	}
	if len(names) != 4 {
		t.Error("parcels share names or keys")
	}
	for _, k := range r.Rounds[0].Pictures {
		if !p.gallery.lasting[k] {
			t.Errorf("picture %s does not survive a reload", k)
		}
	}
	for _, l := range p.letters(r) {
		for _, word := range []string{"barn", "Tomas", "Orchard"} {
			if strings.Contains(string(l.Body), word) {
				t.Errorf("a letter shows %q", word)
			}
		}
	}

	// Whoever has the link reads the same request, and gets the same pictures.
	key, err := seal.Derive(r.Seed)
	if err != nil {
		t.Fatal(err)
	}
	first := p.letters(r)[0]
	inside, err := key.Open(requestLetter, seal.Place(r.Ask.at(), first.ID), first.Body)
	if err != nil {
		t.Fatal(err)
	}
	k, err := readAsk(inside)
	if err != nil || k.Version != proofs || k.Proof == nil {
		t.Fatalf("%+v, %v", k, err)
	}
	if got, err := k.Proof.read(r.Ask.at()); err != nil || got.Pictures[1] != asked.Pictures[1] {
		t.Errorf("%+v, %v", got, err)
	}
}

// Pictures that are no pictures are refused in words, each by itself, and the others go.
func TestProofRefusals(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.chooses([]string{"barn.png", "notes.txt", "half.png"}, [][]byte{plain(t, 1), []byte("no picture"), plain(t, 2)[:20]})
	for _, n := range []string{"notes.txt", "half.png"} {
		if row := p.about(n); !strings.Contains(row, "Not taken") || !strings.Contains(row, "<p>") {
			t.Errorf("%s: %s", n, row)
		}
	}
	if row := p.about("barn.png"); !strings.Contains(row, "Ready") {
		t.Errorf("barn.png: %s", row)
	}
	p.must("1 picture will be sealed", "2 pictures are left out")
	p.press("make", "")
	p.stage(Proofing)
	if p.amiss != "title" {
		t.Errorf("the field %q is marked", p.amiss)
	}
	p.app.Input("title", "Spread 4")
	p.app.Input("from", "Tomas")
	p.press("make", "")
	p.within(5*time.Second, "the link", func() bool { return p.reads("The link is ready") })
	if n := len(p.app.mail.requests[0].Rounds[0].asked.Pictures); n != 1 {
		t.Errorf("%d pictures went", n)
	}
}

// Nothing is made without a picture, or while one is being read; what a broken worker says is no picture; and it can be tried again.
func TestProofWaits(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.app.Input("title", "Spread 4")
	p.app.Input("from", "Tomas")
	p.press("make", "")
	p.stage(Proofing)
	p.must("Add a picture first")
	p.gallery.waits = true
	p.chooses([]string{"barn.png"}, [][]byte{plain(t, 1)})
	p.chooses([]string{"pears.png"}, [][]byte{plain(t, 2)})
	if len(p.gallery.tasks) != 1 {
		t.Errorf("%d pictures are read at once", len(p.gallery.tasks))
	}
	p.press("make", "")
	p.stage(Proofing)
	p.must("Not all pictures have been read yet")
	if p.app.proofing.title != "Spread 4" {
		t.Error("the form lost its words")
	}
	p.gallery.faked = func(study.Task) (study.Found, error, bool) {
		return study.Found{}, errors.New("browser: it stopped"), true
	}
	p.gallery.letStudies()
	p.pass(4 * animation)
	if row := p.about("barn.png"); !strings.Contains(row, "Not taken") || !strings.Contains(row, "it stopped") || !strings.Contains(row, "Try again") {
		t.Errorf("barn.png: %s", row)
	}
	// An answer that claims nothing takes no picture either.
	p.gallery.faked = func(study.Task) (study.Found, error, bool) { return study.Found{}, nil, true }
	p.press("again", "1")
	if row := p.about("barn.png"); !strings.Contains(row, "Not taken") {
		t.Errorf("barn.png: %s", row)
	}
	p.press("make", "")
	p.must("Add a picture first")
	p.gallery.faked = nil
	p.press("again", "1")
	if row := p.about("barn.png"); !strings.Contains(row, "Ready") {
		t.Errorf("barn.png: %s", row)
	}
	p.press("remove", "2")
	if p.about("pears.png") != "" || len(p.gallery.blobs) != 1 {
		t.Errorf("a picture that was removed is still there: %d files", len(p.gallery.blobs))
	}
}

// Pictures that are too large for a parcel, too many for a proof or too much for a box are refused before anything is sent.
func TestProofTooMuch(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	size := int64(mostParcel + 1)
	p.gallery.faked = func(k study.Task) (study.Found, error, bool) {
		p.gallery.blobs[k.To] = p.gallery.blobs[k.Picture]
		return study.Found{About: study.About{Kind: "image/png", Width: 9, Height: 9, Size: size, Digest: study.Digest{1}, Source: study.Digest{1}}}, nil, true
	}
	p.chooses([]string{"poster.png"}, [][]byte{plain(t, 1)})
	if row := p.about("poster.png"); !strings.Contains(row, "Not taken") || !strings.Contains(row, "67.1 MB") {
		t.Errorf("poster.png: %s", row)
	}
	size = mostParcel
	var names []string
	var files [][]byte
	for i := range mostPictures {
		names, files = append(names, "p"+string(rune('a'+i))+".png"), append(files, plain(t, i))
	}
	p.chooses(names, files)
	p.must("A proof takes 24 pictures", "1 picture was left out")
	p.app.Input("title", "Spread 4")
	p.app.Input("from", "Tomas")
	p.press("make", "")
	p.stage(Proofing)
	p.must("one link takes")
	if len(p.ran) > 0 {
		t.Error("something was sent")
	}
}

// The connection is lost in the middle of a picture, and the page is loaded anew: what was sent is not sent again, and in the end all of it is there, once, by one link.
func TestProofGoesOn(t *testing.T) {
	store := world()
	p := visit(t, store, nil, "proof", "")
	p.chooses([]string{"barn.png", "pears.png", "ladder.png"}, [][]byte{plain(t, 1), noisy(t, 5, 5<<20), plain(t, 3)})
	p.app.Input("title", "Spread 4")
	p.app.Input("from", "Tomas")
	r := (*request)(nil)
	p.before = func(e Errand) {
		if e.What == PutParcel && e.Size > 1<<20 { // from the third chunk on the server is gone
			p.gallery.part, p.before = 2, func(Errand) { p.down = ErrOffline }
		}
	}
	p.press("make", "")
	p.pass(300 * time.Millisecond)
	p.stage(Made)
	r = p.app.mail.requests[0]
	if p.reads("http://plumb.test/r#") || r.State != placing {
		t.Fatal("half a proof has a link")
	}
	p.must("It waits to be sent", "1 of 3 pictures lie there", "Stopped on its way")
	if share, there, _ := r.Rounds[0].progress(); there != 1 || share < 0.3 || share > 0.6 {
		t.Errorf("%v of it, %d pictures are said to have travelled", share, there)
	}

	p.down = nil
	q := p.after("proof", "")
	q.stage(Made)
	q.within(5*time.Second, "the link", func() bool { return q.reads("The link is ready") })
	var sent []string
	for _, e := range q.ran {
		if e.What == PutParcel {
			sent = append(sent, e.Picture)
		}
	}
	v := q.app.mail.requests[0].Rounds[0]
	if !slices.Equal(sent, v.Pictures[1:]) {
		t.Errorf("sent again: %v of %v", sent, v.Pictures)
	}
	if n := len(q.letters(r)); n != 2 {
		t.Errorf("%d letters lie in the box", n)
	}
	for i, x := range v.Parcels {
		key := "fetched"
		if err := q.gallery.carries(0, store, Errand{What: GetParcel, Box: r.box(), Right: r.right(), ID: mailbox.ID(x.Name), Key: [32]byte(x.Key), Picture: key, Size: v.asked.Pictures[i].Size, Digest: v.asked.Pictures[i].Digest}); err != nil {
			t.Errorf("picture %d: %v", i, err)
		}
	}
}

// A picture that is not in this browser any more stops a proof for good, and says so; called off, nothing of it is left anywhere.
func TestProofLost(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.fillProof("barn.png", "pears.png")
	p.down = ErrOffline
	p.press("make", "")
	p.pass(100 * time.Millisecond)
	r := p.app.mail.requests[0]
	q := p.after("desk", "")
	q.must("It has no link yet", "0 of 2 pictures lie there")
	p.down = nil
	delete(p.gallery.lasting, r.Rounds[0].Pictures[1])
	q = p.after("proof", "")
	q.within(2*time.Second, "the refusal", func() bool { return q.reads("It could not be sent") })
	q.must("The picture is no longer in this browser", "1 of 2 pictures lie there")
	if q.reads("http://plumb.test/r#") {
		t.Error("it has a link")
	}
	// Changed, the words and what is left of the pictures are there.
	c := q.after("proof", "")
	c.within(2*time.Second, "the refusal", func() bool { return c.reads("It could not be sent") })
	c.press("back", "")
	c.stage(Proofing)
	c.must("Please look at the barn.", "barn.png")
	if len(c.app.mail.requests) != 0 || len(c.rows[Requests]) != 0 {
		t.Error("the one that was taken back is still there")
	}
	q.press("cancel", "")
	q.stage(Proofing)
	q.must("It was deleted")
	if len(q.app.mail.requests) > 0 || len(q.rows[Requests]) > 0 || len(q.gallery.blobs) > 0 || len(q.gallery.lasting) > 0 {
		t.Errorf("left: %d requests, %d rows, %d files", len(q.app.mail.requests), len(q.rows[Requests]), len(q.gallery.blobs))
	}
	if _, err := q.store.Look(t.Context(), r.box(), r.right()); !errors.Is(err, mailbox.ErrNone) {
		t.Errorf("its box: %v", err)
	}
}

// Without a mailbox or a place for pictures there are no proofs, and the page says what there is instead.
func TestProofAlone(t *testing.T) {
	p := arrive(t, world(), nil, "proof")
	p.app.browser.Alone = true
	p.app.Begin(surface(), nil)
	p.pass(100 * time.Millisecond)
	p.stage(Proofing)
	p.must("has no mailbox", "Ask for a check")
	if p.reads(`data-action="make"`) || p.body["pick"] != "" {
		t.Error("a proof is offered")
	}
	p = arrive(t, world(), nil, "proof")
	p.app.host.Pictures = nil
	p.app.Begin(surface(), nil)
	p.pass(100 * time.Millisecond)
	p.must("cannot hold pictures")
}

// Rows that an older version kept are read as before, and one of its programs leaves a proof alone: the revision of the row tells it to.
func TestProofRows(t *testing.T) {
	store := world()
	asker := visit(t, store, nil, "ask", "")
	asker.ask(false)
	if b := string(asker.rows[Requests][asker.app.mail.requests[0].Ask.name()]); !strings.Contains(b, `{"version":1,"ask":{"version":1,`) || strings.Contains(b, "rounds") || strings.Contains(b, "proof") {
		t.Errorf("a check is kept as %s", b)
	}
	p := visit(t, store, copied(asker.rows), "proof", "")
	p.proves("", "barn.png")
	if n := len(p.app.mail.requests); n != 2 {
		t.Fatalf("%d requests", n)
	}
	row := string(p.rows[Requests][p.app.mail.requests[0].Ask.name()])
	if !strings.HasPrefix(row, `{"version":2,"ask":{"version":2,`) {
		t.Errorf("a proof is kept as %.80s", row)
	}
	q := p.after("desk", "")
	q.must("a decision on 1 picture, on any screen", "a check of")
	// Nothing of a proof is taken on trust from the shelf.
	r := p.app.mail.requests[0]
	id := r.Ask.name()
	for name, spoil := range map[string]func(r *request){
		"another signer": func(r *request) { r.Secret = chance(32) },
		"no parcel":      func(r *request) { r.Rounds[0].Parcels = nil },
		"a short key":    func(r *request) { r.Rounds[0].Parcels[0].Key = r.Rounds[0].Parcels[0].Key[1:] },
		"a changed word": func(r *request) {
			r.Rounds[0].Request = []byte(strings.Replace(string(r.Rounds[0].Request), "barn", "Barn", 1))
		},
		"no state of things": func(r *request) { r.Rounds[0].There = nil },
		"a null round":       func(r *request) { r.Rounds = append(r.Rounds, nil) },
		"twice the round":    func(r *request) { r.Rounds = append(r.Rounds, r.Rounds[0]) },
		"a proof of nothing": func(r *request) { r.Rounds = nil },
	} {
		rows := copied(p.rows)
		other := visit(t, store, rows, "check", "")
		x := other.app.mail.find(id)
		spoil(x)
		rows[Requests][id] = encode(x)
		other = visit(t, store, rows, "desk", "")
		if other.app.mail.find(id) != nil || len(other.rows[Requests]) != 2 {
			t.Errorf("%s: the proof is taken, or its row is not left alone", name)
		}
	}
}

// An ask whose words are not those that were signed is refused, and so is one that claims another box or holds pictures without one.
func TestProofAsk(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.proves("light and shade", "barn.png")
	r := p.app.mail.requests[0]
	good := func() ask {
		k := r.Ask
		f := *r.Ask.Proof
		f.Parcels = slices.Clone(f.Parcels)
		k.Proof = &f
		return k
	}
	k := good()
	if err := k.check(); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(k *ask){
		"another title":  func(k *ask) { k.Title = "Spread 5" },
		"another asker":  func(k *ask) { k.From = "Okke" },
		"another note":   func(k *ask) { k.Note = "" },
		"another box":    func(k *ask) { k.ID = chance(16) },
		"no parcel":      func(k *ask) { k.Proof.Parcels = nil },
		"a short name":   func(k *ask) { k.Proof.Parcels[0].Name = k.Proof.Parcels[0].Name[:15] },
		"a changed text": func(k *ask) { k.Proof.Request = append([]byte("x"), k.Proof.Request...) },
		"no text":        func(k *ask) { k.Proof.Request = nil },
	} {
		k := good()
		spoil(&k)
		if k.check() == nil {
			t.Errorf("%s is taken", name)
		}
	}
	// Nor does a link carry pictures, even where all of it holds together.
	short, err := seal.GenerateShort()
	if err != nil {
		t.Fatal(err)
	}
	whole := link.Request{Key: short.Public()}
	asked := r.Rounds[0].asked
	asked.Place = whole.Address()
	text, err := asked.Sign(r.signer())
	if err != nil {
		t.Fatal(err)
	}
	k = good()
	k.Version, k.ID, k.To, k.Proof = letters, nil, nil, &proof{text, r.Rounds[0].Parcels}
	whole.Body = encode(k)
	if _, err := askOf(whole); !errors.Is(err, errProof) {
		t.Errorf("a proof inside a link: %v", err)
	}
	if got, err := record.ReadRequest(r.Rounds[0].Request); err != nil || got.Needs != "light and shade" {
		t.Errorf("%+v, %v", got, err)
	}
}

// Where the browser keeps no pictures the page says so while it matters, and the proof goes all the same. Files are taken as pictures nowhere but in the form.
func TestProofUnkept(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.fillProof("barn.png")
	p.gallery.unkept, p.down = ErrFull, ErrOffline
	p.press("make", "")
	p.pass(100 * time.Millisecond)
	p.must("does not keep all of the pictures: the browser's storage is full", "Leave the page open")
	if p.body["pick"] != "" {
		t.Error("files are still taken as pictures")
	}
	p.app.Picked([]Picked{p.gallery.pick("late.png", plain(t, 4))})
	if len(p.gallery.blobs) != 1 || len(p.app.mail.requests[0].Rounds[0].Pictures) != 1 {
		t.Error("a picture came into a proof that was made")
	}
	p.down = nil
	p.press("now", "")
	p.within(5*time.Second, "the link", func() bool { return p.reads("The link is ready") })
	if p.reads("Leave the page open") {
		t.Error("it is still said that the page must stay")
	}
}

// Deleted on the desk, a proof takes its pictures, its decisions and its box with it; other proofs keep theirs.
func TestProofDeleted(t *testing.T) {
	store := world()
	p := visit(t, store, nil, "proof", "")
	p.proves("", "barn.png")
	p.press("another", "")
	p.stage(Proofing)
	if p.app.proofing.from != "Tomas" || p.app.proofing.title != "" {
		t.Errorf("the next form begins with %+v", p.app.proofing)
	}
	p.proves("", "pears.png", "gate.png")
	p.press("desk", "")
	r := p.app.mail.requests[0]
	ines := newHand("Ines")
	posts(t, store, r, decision{record: ines.signs(t, ines.statement(r.Rounds[0]))})
	p.within(3*time.Second, "the decision", func() bool { return p.reads("1 decision") })
	p.press("delete", r.Ask.name())
	p.press("delete", r.Ask.name())
	if len(p.app.mail.requests) != 1 || len(p.rows[Letters]) != 0 || len(p.rows[Requests]) != 1 || len(p.gallery.blobs) != 1 || len(p.gallery.lasting) != 1 {
		t.Errorf("left: %d requests, %d letters, %d files", len(p.app.mail.requests), len(p.rows[Letters]), len(p.gallery.blobs))
	}
}

// A saved desk with a proof says by its revision that it has one, and opens elsewhere with all that came.
func TestProofDeskFile(t *testing.T) {
	p, r := deskOver(t, "", "barn.png")
	ines := newHand("Ines")
	posts(t, p.store, r, decision{record: ines.signs(t, ines.statement(r.Rounds[0]))})
	p.within(3*time.Second, "the decision", func() bool { return p.reads("1 decision") })
	file := p.app.deskFile()
	if !strings.Contains(string(file[:20]), `"version": 2`) {
		t.Errorf("%.40s", file)
	}
	q := visit(t, world(), nil, "desk", "")
	q.brings("desk.json", file)
	q.press("take-desk", "")
	q.must("1 decision", "Ines")
	if q = q.after("desk", ""); !strings.Contains(q.about("barn.png"), "Approved") {
		t.Errorf("after a reload: %s", q.about("barn.png"))
	}
}

// While a viewer judges, no picture travels: what is on its way waits between two errands, and goes on afterwards.
func TestProofNotWhileJudging(t *testing.T) {
	p := visit(t, world(), nil, "proof", "")
	p.fillProof("barn.png", "pears.png")
	p.down = ErrOffline
	p.press("make", "")
	p.pass(100 * time.Millisecond)
	q := p.after("check", "")
	q.stage(Prepare)
	q.before = func(e Errand) {
		if e.What != OpenBox {
			return
		}
		q.before, q.down = nil, nil
		q.pending = append(q.pending, func() {
			for range 2 {
				if q.app.Stage() == Prepare {
					q.app.Action("continue", "")
				}
			}
		})
	}
	q.within(5*time.Second, "the check", func() bool { return q.app.Stage() == Intro })
	q.pass(2 * time.Second)
	if last := q.ran[len(q.ran)-1]; last.What != OpenBox {
		t.Errorf("while a viewer judges: errand %v", last.What)
	}
	q.toTrial()
	q.app.Key("Escape", q.now)
	q.stage(Paused)
	q.pass(2 * time.Second)
	if r := q.app.mail.requests[0]; r.State != running || len(q.letters(r)) != 2 {
		t.Errorf("in the pause it did not go on: %s", r.State)
	}
}
