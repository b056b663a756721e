package app

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"image/png"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/plumb/wasm/study"
	"example.org/plumb/web/link"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
)

// brings drops a file that is no picture.
func (p *peer) brings(name string, b []byte) {
	p.app.Opened("", name, b, nil)
	p.pass(animation)
}

// checkedStatement is a decision on the dark screen.
func (h hand) checkedStatement(t *testing.T, v *version) (s record.Statement, told, model []byte) {
	t.Helper()
	s = h.statement(v)
	s.Screen, told, model = darkScreen(t)
	for i := range s.Pictures {
		s.Pictures[i].HiddenKnown = true
		for _, w := range record.Ways {
			s.Pictures[i].Hidden = append(s.Pictures[i].Hidden, record.Hidden{What: w, At: 120, Lo: 100, Hi: 140})
		}
	}
	return s, told, model
}

// The page on which a record is checked says of each thing whether it stands, fails or is not there; nothing is sent.
func TestVerify(t *testing.T) {
	_, r := deskOver(t, "light and shade", "barn.png", "pears.png")
	ines := newHand("Ines")
	s, told, _ := ines.checkedStatement(t, r.Rounds[0])
	text := ines.signs(t, s)
	p := visit(t, world(), nil, "record", "")
	p.stage(Verify)
	if p.body["pick"] != "pictures" {
		t.Errorf("files come as %q", p.body["pick"])
	}
	p.chooses([]string{"barn.png"}, [][]byte{plain(t, 1)})
	if row := p.about("barn.png"); !strings.Contains(row, "Not compared") || !strings.Contains(row, "no record yet") {
		t.Errorf("without a record: %s", row)
	}
	if p.page["signed"] != "" {
		t.Errorf("without a record it says %s", p.page["signed"])
	}
	p.brings("decision.txt", text)
	signed := p.page["signed"]
	for _, want := range []string{"It stands by itself", "Ines approved all 2 pictures", "Signature of who decided", "Signature of who asked", "The file here is the one that was decided on", "Lay the file beside the record", "Report of the screen", string(text[:40])} {
		if !strings.Contains(signed, want) {
			t.Errorf("it does not say %q: %s", want, signed)
		}
	}
	if row := p.about("barn.png"); !strings.Contains(row, "Agrees") || !strings.Contains(row, `picture 1, "barn.png", to the byte`) {
		t.Errorf("barn.png: %s", row)
	}
	p.brings("report.json", told)
	if row := p.about("report.json"); !strings.Contains(row, "It is the report of the screen") {
		t.Errorf("the report: %s", row)
	}
	if strings.Count(p.page["signed"], "Lay it beside") != 0 {
		t.Error("the report is still asked for")
	}
	// What does not belong to it is said, each by itself, and the record is not called whole any more.
	p.chooses([]string{"gate.png", "half.png"}, [][]byte{plain(t, 7), plain(t, 8)[:30]})
	if row := p.about("gate.png"); !strings.Contains(row, "Does not agree") || !strings.Contains(row, "none of the pictures") {
		t.Errorf("gate.png: %s", row)
	}
	if row := p.about("half.png"); !strings.Contains(row, "Not compared") {
		t.Errorf("half.png: %s", row)
	}
	p.must("not with all the files")
	if signed := p.page["signed"]; !strings.Contains(signed, "Stands") || strings.Contains(signed, "Does not stand") {
		t.Errorf("a file that is none of it lies beside a record that stands by itself: %s", signed)
	}
	if n := len(p.gallery.blobs); n != 0 {
		t.Errorf("%d files are held after they were looked at", n)
	}
	p.press("remove", "3")
	p.must("It stands by itself: every byte")
	// The file that a picture was made from is told from the one that was sent.
	p.gallery.faked = func(k study.Task) (study.Found, error, bool) {
		return study.Found{About: study.About{Kind: "image/png", From: "image/tiff", Source: r.Rounds[0].asked.Pictures[1].Digest, Digest: study.Digest{1}}}, nil, true
	}
	p.chooses([]string{"pears.tif"}, [][]byte{plain(t, 9)})
	if row := p.about("pears.tif"); !strings.Contains(row, `picture 2, "pears.png", to the byte`) {
		t.Errorf("pears.tif: %s", row)
	}
	if len(p.ran) > 0 {
		t.Errorf("errands: %v", p.ran)
	}
	p.press("print", "")
	if p.printed != 1 {
		t.Error("it is not printed")
	}
}

// A record with any byte changed does not stand, and nothing follows from what lies beside it; neither does one that is cut, empty, or no record.
func TestVerifyFails(t *testing.T) {
	_, r := deskOver(t, "", "barn.png")
	ines := newHand("Ines")
	text := ines.signs(t, ines.statement(r.Rounds[0]))
	p := visit(t, world(), nil, "record", "")
	p.chooses([]string{"barn.png"}, [][]byte{plain(t, 1)})
	for i := 0; i < len(text); i += 7 {
		b := slices.Clone(text)
		b[i] ^= 1
		p.brings("decision.txt", b)
		if !strings.Contains(p.page["signed"], "This record does not stand") || strings.Contains(p.page["signed"], "Ines approved") {
			t.Fatalf("byte %d (%q) changed: %s", i, text[max(0, i-20):i+1], p.page["signed"])
		}
		if row := p.about("barn.png"); !strings.Contains(row, "nothing follows") {
			t.Fatalf("byte %d: %s", i, row)
		}
	}
	for name, b := range map[string][]byte{"cut": text[:len(text)-5], "empty": {}, "a word": []byte("approved"), "a newer one": []byte(strings.Replace(string(text), " 1\n", " 2\n", 1))} {
		p.brings(name+".txt", b)
		if !strings.Contains(p.page["signed"], "does not stand") {
			t.Errorf("%s: %s", name, p.page["signed"])
		}
	}
	p.app.Opened("", "gone.txt", nil, errors.New("it was moved"))
	p.settle()
	p.must("cannot be read: it was moved")
	p.brings("decision.txt", text)
	p.must("It stands by itself")
	if row := p.about("decision.txt"); !strings.Contains(row, "Both signatures are good") {
		t.Errorf("decision.txt: %s", row)
	}
	p.brings("other.json", []byte(`{"version":2}`))
	if row := p.about("other.json"); !strings.Contains(row, "unchecked screen") {
		t.Errorf("other.json: %s", row)
	}
	p.press("remove", "record")
	if p.page["signed"] != "" {
		t.Error("the record is still on the page")
	}
}

// A report is another than the record names, or the record is of an unchecked screen: neither stands for it.
func TestVerifyReport(t *testing.T) {
	_, r := deskOver(t, "", "barn.png")
	ines := newHand("Ines")
	s, told, _ := ines.checkedStatement(t, r.Rounds[0])
	text := ines.signs(t, s)
	p := visit(t, world(), nil, "record", "")
	p.brings("report.json", []byte(strings.Replace(string(told), `"program"`, ` "program"`, 1)))
	p.brings("decision.txt", text)
	if row := p.about("report.json"); !strings.Contains(row, "another report") {
		t.Errorf("another report: %s", row)
	}
	p.press("remove", "1")
	p.brings("report.json", told)
	s.Screen.Name = "studio left"
	p.brings("decision.txt", ines.signs(t, s))
	if row := p.about("report.json"); !strings.Contains(row, "says something else of the screen") {
		t.Errorf("a record that claims more: %s", row)
	}
	p.brings("decision.txt", ines.signs(t, ines.statement(r.Rounds[0])))
	if row := p.about("report.json"); !strings.Contains(row, "unchecked screen") {
		t.Errorf("of an unchecked screen: %s", row)
	}
}

// What else a record names is told when it is laid beside it: the file that a picture was made from, the request, the record before; in whatever order they come.
func TestVerifyParts(t *testing.T) {
	_, r := deskOver(t, "", "barn.png")
	v := *r.Rounds[0]
	asked := v.asked
	asked.Pictures = slices.Clone(asked.Pictures)
	asked.Pictures[0].Source = sha256.Sum256(plain(t, 5))
	text, err := asked.Sign(r.signer())
	if err != nil {
		t.Fatal(err)
	}
	v.Request = text
	ines := newHand("Ines")
	one := ines.signs(t, ines.statement(&v))
	s := ines.statement(&v)
	s.Earlier = record.Digest(one)
	two := ines.signs(t, s)
	for name, order := range map[string][2][]byte{"the later first": {two, one}, "in order": {one, two}} {
		t.Run(name, func(t *testing.T) {
			p := visit(t, world(), nil, "record", "")
			p.brings("a.txt", order[0])
			p.brings("b.txt", order[1])
			p.must("the record that this one replaces, to the byte", "It stands by itself", "Replaces")
			if len(p.app.verify.beside) != 1 || string(p.app.verify.text) != string(two) {
				t.Errorf("%d files beside it", len(p.app.verify.beside))
			}
			p.brings("request.txt", text)
			p.must("It is the request, to the byte")
			p.chooses([]string{"barn.tif"}, [][]byte{plain(t, 5)})
			if row := p.about("barn.tif"); !strings.Contains(row, "Agrees") || !strings.Contains(row, "was made from before it was sent") {
				t.Errorf("barn.tif: %s", row)
			}
			p.must("The file here is the one that it was made from")
			p.brings("c.txt", ines.signs(t, ines.statement(r.Rounds[0]))) // another record, about other bytes
			if len(p.app.verify.beside) != 3 || p.reads("the record that this one replaces, to the byte") {
				t.Errorf("after another record: %d files beside it", len(p.app.verify.beside))
			}
		})
	}
}

// The whole way: asked, looked at on a checked screen, decided, read on the desk as it was seen with the own screen taken out, a new version, a new decision, a change of
// mind; and a record that is saved on either side is the same and stands.
func TestWholeWay(t *testing.T) {
	store := world()
	asker := visit(t, store, checkedRows(t), "proof", "")
	asker.chooses([]string{"barn.png", "orchard.png"}, [][]byte{barn(t), orchard(t)})
	asker.app.Input("title", "Orchard catalogue, spread 4")
	asker.app.Input("from", "Tomas")
	asker.app.Input("needs", "light and shade")
	asker.press("make", "")
	asker.within(5*time.Second, "the link", func() bool { return asker.reads("The link is ready") })
	fragment := asker.link()
	asker.press("desk", "")
	r := asker.app.mail.requests[0]

	other := visit(t, store, checkedRows(t), "request", fragment)
	other.press("use", other.sittingID())
	other.looks()
	other.approves()
	other.press("picture-on", "")
	other.looks()
	other.noted(area{x: 5, y: 6, width: 7, height: 8}, "The apples are too red.")
	other.press("changes", "1")
	one := other.signs("Ines")

	asker.within(40*time.Second, "the decision", func() bool { return asker.reads("1 decision") })
	for name, want := range map[string]string{"barn.png": "Approved", "orchard.png": "Changes asked"} {
		if row := asker.about(name); !strings.Contains(row, want) || !strings.Contains(row, "checked screen") {
			t.Errorf("%s: %s", name, row)
		}
	}
	l := asker.app.mail.letters[0]
	if string(l.Decision) != string(one.Record) {
		t.Error("what came is not what was signed")
	}
	asker.press("save-record", l.key())
	other.press("save-record", one.key())
	var saved [][]byte
	for _, p := range []*peer{asker, other} {
		for name, b := range p.files {
			if strings.HasSuffix(name, "-decision.txt") {
				saved = append(saved, b)
			}
		}
	}
	if len(saved) != 2 || string(saved[0]) != string(saved[1]) {
		t.Errorf("%d records were saved, or they differ", len(saved))
	}

	asker.press("seen", l.key()+"#1")
	asker.stage(Seen)
	asker.within(20*time.Second, "the view", func() bool { return len(asker.hanging().Pictures) == 2 })
	asker.must("As Ines saw it", "The apples are too red.", `corrected for the screen here by your check of "kitchen laptop"`)
	task := asker.gallery.tasks[len(asker.gallery.tasks)-1]
	if task.What != study.See || task.On == nil || task.Shown == nil || task.Field.Rows != 0 {
		t.Errorf("asked: %+v", task)
	}
	// The same screen on both sides shows the picture as it was, within the grain of the model.
	h := asker.hanging()
	differs(t, asker.blobs[h.Pictures[0].Key], asker.blobs[h.Pictures[1].Key], 2)
	asker.press("own", "")
	asker.within(20*time.Second, "the view, uncorrected", func() bool { return asker.reads("no check of it is used") && len(asker.hanging().Pictures) == 2 })
	if task := asker.gallery.tasks[len(asker.gallery.tasks)-1]; task.On != nil {
		t.Error("it is still corrected")
	}
	asker.press("round", "")
	asker.stage(Proofing)
	asker.must("The apples are too red.")
	asker.chooses([]string{"orchard.png"}, [][]byte{plain(t, 5)})
	asker.press("make", "")
	asker.within(5*time.Second, "the round", func() bool { return asker.reads("Version 2 is there") })
	asker.press("desk", "")

	other = visit(t, store, copied(other.rows), "request", fragment)
	other.within(5*time.Second, "version 2", func() bool { return other.reads("This is version 2") })
	other.press("unchecked", "")
	other.looks()
	other.approves()
	other.press("picture-on", "")
	other.looks()
	other.approves()
	two := other.signs("Ines")
	asker.within(40*time.Second, "the decision", func() bool { return asker.reads("2 decisions") })
	if row := asker.about("orchard.png"); !strings.Contains(row, "Approved") || !strings.Contains(row, "unchecked screen, though it was asked") || strings.Contains(row, "Changes") {
		t.Errorf("orchard.png: %s", row)
	}
	other.press("mind", "")
	other.press("changes", "1")
	three := other.signs("Ines")
	if three.read.Earlier != record.Digest(two.Record) {
		t.Fatal("the change of mind names another record")
	}
	asker.within(40*time.Second, "the change of mind", func() bool { return asker.reads("3 decisions") })
	if row := asker.about("orchard.png"); !strings.Contains(row, "Changes asked") || strings.Contains(row, "Approved") {
		t.Errorf("orchard.png: %s", row)
	}

	// The record with the pictures and the report beside it.
	p := visit(t, world(), nil, "record", "")
	p.chooses([]string{"a.png", "b.png"}, [][]byte{barn(t), orchard(t)})
	p.brings("report.json", []byte(l.Record))
	p.brings("decision.txt", one.Record)
	if s := p.page["signed"]; strings.Contains(s, "Not there") || strings.Contains(s, "Does not stand") || !strings.Contains(s, "It stands by itself") {
		t.Errorf("with all beside it: %s", s)
	}
	// By file, where the box is gone: the same letter opens on the desk.
	p = visit(t, world(), nil, "desk", "")
	p.brings("desk.json", asker.app.deskFile())
	p.press("take-desk", "")
	p.app.mail.letters = nil
	box, name := [16]byte(r.Ask.ID), [16]byte{7}
	d := decision{one.Record, []byte(l.Record), l.Model}
	inside, err := packDecision(d)
	if err != nil {
		t.Fatal(err)
	}
	sealed, err := seal.Seal(r.Ask.To, decisionLetter, seal.Place(box, name), inside)
	if err != nil {
		t.Fatal(err)
	}
	p.brings("sealed.txt", []byte(decisionFile(p.app.address(link.Answer{Address: box, ID: name, Letter: sealed}), "Tomas")))
	if got := p.app.mail.letters; len(got) != 1 || string(got[0].Decision) != string(one.Record) || got[0].Fault != "" {
		t.Errorf("by file: %d letters: %v", len(got), p.page["message"])
	}
	p.must("1 decision", "It is about version 1.")
}

// differs fails where two pictures differ by more than most codes anywhere above the darkest.
func differs(t *testing.T, one, two []byte, most int) {
	t.Helper()
	a, err := png.Decode(bytes.NewReader(one))
	if err != nil {
		t.Fatal(err)
	}
	b, err := png.Decode(bytes.NewReader(two))
	if err != nil {
		t.Fatal(err)
	}
	if a.Bounds() != b.Bounds() {
		t.Fatalf("%v and %v", a.Bounds(), b.Bounds())
	}
	worst := 0
	for y := range a.Bounds().Dy() {
		for x := range a.Bounds().Dx() {
			r1, g1, b1, _ := a.At(x, y).RGBA()
			r2, g2, b2, _ := b.At(x, y).RGBA()
			for _, d := range []int{int(r1>>8) - int(r2>>8), int(g1>>8) - int(g2>>8), int(b1>>8) - int(b2>>8)} {
				worst = max(worst, d, -d)
			}
		}
	}
	if worst > most {
		t.Errorf("they differ by up to %d codes, more than %d", worst, most)
	}
}
