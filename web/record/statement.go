package record

import (
	"crypto/ed25519"
	"fmt"
	"slices"
	"strings"
)

// Words of the layout.
const (
	undecided  = "undecided"
	byMailbox  = " by the mailbox's clock"
	bySigner   = " by the signer's clock"
	noTime     = "told no time"
	unchecked  = "unchecked"
	notKnown   = "not known"
	isKnown    = "and not seen, in pixels of 1000 with a 90 % interval:"
	seenCover  = "what the screen above could show: what is listed as not seen is not covered"
	blindCover = "what was on a screen that nobody checked: what it hid is not known"
)

// ways are the words for Ways, in the same order.
var ways = [...]string{
	"detail in shadows", "detail in lights", "colours beyond its range", "shifted tones or colours", "differences finer than its steps", "any of these",
}

// Sign writes a record and signs it. Signer is zero or the key's public half. The request has to stand, and what is claimed has to be borne out: see the package
// comment. Times are written to the second.
func (s Statement) Sign(key ed25519.PrivateKey) ([]byte, error) {
	var err error
	if s.Signer, err = public(key, s.Signer); err != nil {
		return nil, err
	}
	asked, err := ReadRequest(s.Request)
	if err != nil {
		return nil, err
	}
	text, err := s.write(asked)
	if err == nil {
		err = s.claims()
	}
	if err != nil {
		return nil, err
	}
	signed, err := sign(key, recordLabel, text)
	if err == nil && len(signed) > MaxRecord {
		return nil, ErrTooLarge
	}
	return signed, err
}

// Read reads a record that stands by itself: laid out in the one way there is, the request in it signed by its asker, all signed by who decided, and nothing claimed
// that its parts do not bear out. What lies beside it is for Check.
func Read(text []byte) (Record, error) {
	if len(text) > MaxRecord {
		return Record{}, ErrTooLarge
	}
	in := &reader{rest: string(text)}
	var r Record
	in.head("record")
	r.Name = in.text(in.after("name"))
	r.Whole = decision(in.after("decision"))
	r.Told = in.time(strings.TrimSuffix(in.after("told"), bySigner))
	if m := in.after("mailbox"); m != noTime {
		r.Mailbox = in.time(strings.TrimSuffix(m, byMailbox))
	}
	r.Earlier = in.digest(in.after("earlier"), none)
	r.Screen.read(in)
	in.after("asked")
	in.after("approval covers")
	for range in.count(in.after("pictures"), MaxPictures) {
		in.after("picture")
		var j Judged
		j.read(in)
		if in.fault != nil {
			return Record{}, in.fault
		}
		r.Pictures = append(r.Pictures, j)
	}
	lines := in.count(strings.TrimSuffix(in.after("request of"), " lines"), MaxRecord)
	size := 0
	for range lines {
		size += len(in.next()) + 1
		if in.fault != nil {
			return Record{}, in.fault
		}
	}
	if in.fault != nil {
		return Record{}, in.fault
	}
	end := len(text) - len(in.rest)
	r.Request = slices.Clone(text[end-size : end])
	in.hex(in.after("signer"), r.Signer[:])
	signature := make([]byte, ed25519.SignatureSize)
	in.hex(in.after("signature"), signature)
	if in.fault != nil {
		return Record{}, in.fault
	}
	var err error
	if r.Asked, err = ReadRequest(r.Request); err != nil {
		return Record{}, err
	}
	if len(r.Pictures) != len(r.Asked.Pictures) {
		return Record{}, broken("%d pictures, of %d in the request", len(r.Pictures), len(r.Asked.Pictures))
	}
	again, err := r.write(r.Asked)
	if err != nil {
		return Record{}, err
	}
	if err := same(text, again, signature); err != nil {
		return Record{}, err
	}
	if !signs(r.Signer, recordLabel, again, signature) {
		return Record{}, ErrSignature
	}
	if err := r.claims(); err != nil {
		return Record{}, err
	}
	return r, nil
}

// decision is what a word decides; a word that is none stays and is refused by the writer.
func decision(word string) Decision {
	if word == undecided {
		return Undecided
	}
	return Decision(word)
}

func (d Decision) word() string {
	if d == Undecided {
		return undecided
	}
	return string(d)
}

func (s *Screen) read(in *reader) {
	state := in.after("screen")
	if state == unchecked {
		return
	}
	name, ok := strings.CutPrefix(state, "checked ")
	if !ok {
		in.fail("neither checked nor unchecked")
	}
	s.Name = in.text(name)
	s.Ended = in.time(in.after("ended"))
	in.hex(in.after("report"), s.Report[:])
	s.Model = in.digest(in.after("model"), none)
	for range in.count(in.after("purposes"), len(Purposes)) {
		purpose, verdict, _ := strings.Cut(in.after("purpose"), ": ")
		s.Fitness = append(s.Fitness, Fit{purpose, verdict})
	}
	if s.Report == [32]byte{} {
		in.fail("a checked screen without a report")
	}
}

func (j *Judged) read(in *reader) {
	j.Decision = decision(in.after("decision"))
	if in.after("hidden") != notKnown {
		j.HiddenKnown = true
		for i, way := range ways {
			figures, ok := strings.CutPrefix(in.next(), way+": ")
			if !ok {
				in.fail("not what was hidden as " + way)
			}
			if figures == notKnown {
				continue
			}
			h := Hidden{What: Ways[i]}
			in.numbers(figures, 1000, []string{", ", " to "}, &h.At, &h.Lo, &h.Hi)
			j.Hidden = append(j.Hidden, h)
		}
	}
	for range in.count(in.after("notes"), MaxNotes) {
		var n Note
		place, text, _ := strings.Cut(in.after("note at"), ": ")
		n.Text = in.text(text)
		point, sides, rectangle := strings.Cut(place, " size ")
		in.numbers(point, MaxSide, []string{","}, &n.X, &n.Y)
		if rectangle {
			in.numbers(sides, MaxSide, []string{" x "}, &n.Width, &n.Height)
		}
		if in.fault != nil {
			return
		}
		j.Notes = append(j.Notes, n)
	}
}

// write returns the text of a record up to its signature.
func (s *Statement) write(asked Request) (string, error) {
	var w writer
	w.put("plumb record %d", version)
	w.need(s.Name != "", "name: nobody's")
	w.put("name %s", w.quote("name", s.Name, MaxText))
	w.put("decision %s", w.decision(s.Whole))
	w.put("told %s%s", w.time("told", s.Told), bySigner)
	if s.Mailbox.IsZero() {
		w.put("mailbox %s", noTime)
	} else {
		w.put("mailbox %s%s", w.time("mailbox", s.Mailbox), byMailbox)
	}
	w.put("earlier %s", w.digest(s.Earlier, none))
	s.Screen.write(&w)
	cover := seenCover
	if !s.Screen.Checked() {
		cover = blindCover
	}
	w.put("asked %s", s.Screen.answers(asked.Needs))
	w.put("approval covers %s", cover)
	if len(s.Pictures) != len(asked.Pictures) {
		w.fail(fmt.Errorf("%w: %d pictures of %d", ErrClaim, len(s.Pictures), len(asked.Pictures)))
		return "", w.fault
	}
	w.put("pictures %d", len(s.Pictures))
	for i, j := range s.Pictures {
		p := asked.Pictures[i]
		w.put("picture %d of %d %s", i+1, len(s.Pictures), quote(p.Name))
		j.write(&w, p)
	}
	w.put("request of %d lines", strings.Count(string(s.Request), "\n"))
	w.Write(s.Request)
	w.put("signer %x", s.Signer)
	return w.String(), w.fault
}

func (w *writer) decision(d Decision) string {
	w.need(d == Undecided || d == Approved || d == Changes, "decision: none that there is")
	return d.word()
}

// Checked reports whether the screen was checked.
func (s Screen) Checked() bool { return s.Report != [32]byte{} }

// Verdict is what the sitting found of a purpose: one of Verdicts; "not checked" where it says nothing or there was none.
func (s Screen) Verdict(purpose string) string {
	if s.Checked() {
		for _, f := range s.Fitness {
			if f.Purpose == purpose {
				return f.Verdict
			}
		}
	}
	return "not checked"
}

// answers says what was asked of the screen and what became of it.
func (s Screen) answers(needs string) string {
	switch {
	case needs == "":
		return needNothing
	case !s.Checked():
		return needs + ": screen unchecked"
	}
	return needs + ": " + s.Verdict(needs)
}

func (s Screen) write(w *writer) {
	if !s.Checked() {
		if s.Name != "" || !s.Ended.IsZero() || len(s.Fitness) > 0 || s.Model != [32]byte{} {
			w.fail(fmt.Errorf("%w: a screen without a report that is not unchecked", ErrClaim))
		}
		w.put("screen %s", unchecked)
		return
	}
	w.put("screen checked %s", w.quote("name of the screen", s.Name, MaxText))
	w.put("ended %s", w.time("ended", s.Ended))
	w.put("report %x", s.Report)
	w.put("model %s", w.digest(s.Model, none))
	w.put("purposes %d", len(s.Fitness))
	last := -1
	for _, f := range s.Fitness {
		at := slices.Index(Purposes, f.Purpose)
		w.need(at > last && slices.Contains(Verdicts, f.Verdict), "purposes: not in their order, or not a verdict")
		last = at
		w.put("purpose %s: %s", f.Purpose, f.Verdict)
	}
}

func (j Judged) write(w *writer, p Picture) {
	w.put("decision %s", w.decision(j.Decision))
	if j.HiddenKnown {
		w.put("hidden %s", isKnown)
		left := j.Hidden
		for i, way := range ways {
			if len(left) == 0 || left[0].What != Ways[i] {
				w.put("%s: %s", way, notKnown)
				continue
			}
			h := left[0]
			left = left[1:]
			w.need(0 <= h.Lo && h.Lo <= h.At && h.At <= h.Hi && h.Hi <= 1000, "hidden: %s: not per mille with an interval around it", h.What)
			w.put("%s: %d, %d to %d", way, h.At, h.Lo, h.Hi)
		}
		w.need(len(left) == 0, "hidden: not the ways there are, in their order")
	} else {
		if len(j.Hidden) > 0 {
			w.fail(fmt.Errorf("%w: what is hidden, and that it is not known", ErrClaim))
		}
		w.put("hidden %s", notKnown)
	}
	w.need(len(j.Notes) <= MaxNotes, "notes: more than %d", MaxNotes)
	w.put("notes %d", len(j.Notes))
	for _, n := range j.Notes {
		point := n.Width == 0 && n.Height == 0
		// Widths and heights are compared with what is left, so that no sum overflows.
		w.need(0 <= n.X && n.X < p.Width && 0 <= n.Y && n.Y < p.Height, "note: outside the picture")
		w.need(point || 1 <= n.Width && n.Width <= p.Width-n.X && 1 <= n.Height && n.Height <= p.Height-n.Y, "note: its rectangle is not inside the picture")
		w.need(n.Text != "", "note: empty")
		text := w.quote("note", n.Text, MaxNote)
		if point {
			w.put("note at %d,%d: %s", n.X, n.Y, text)
		} else {
			w.put("note at %d,%d size %d x %d: %s", n.X, n.Y, n.Width, n.Height, text)
		}
	}
}

// claims returns what a statement claims and its parts do not bear out. Each part is written well, and there is one for each picture.
func (s *Statement) claims() error {
	var approved, changes int
	said := s.Earlier != [32]byte{}
	for i, j := range s.Pictures {
		any := slices.ContainsFunc(j.Hidden, func(h Hidden) bool { return h.What == "any" })
		switch {
		case j.HiddenKnown && !s.Screen.Checked():
			return fmt.Errorf("%w: picture %d: what an unchecked screen hides", ErrClaim, i+1)
		case j.HiddenKnown && !any:
			return fmt.Errorf("%w: picture %d: what is hidden, without the sum of it", ErrClaim, i+1)
		case j.Decision == Approved && s.Screen.Checked() && !j.HiddenKnown:
			return fmt.Errorf("%w: picture %d: approved on a checked screen without what was hidden", ErrClaim, i+1)
		}
		switch j.Decision {
		case Approved:
			approved++
		case Changes:
			changes++
		}
		said = said || j.Decision != Undecided || len(j.Notes) > 0
	}
	all := len(s.Pictures) > 0 && approved+changes == len(s.Pictures)
	switch {
	case s.Whole == Approved && !(all && changes == 0):
		return fmt.Errorf("%w: the whole is approved and not every picture", ErrClaim)
	case s.Whole == Changes && !(all && changes > 0):
		return fmt.Errorf("%w: changes are asked for the whole, and not every picture is decided or none has them", ErrClaim)
	case !said:
		return fmt.Errorf("%w: nothing is decided, noted or taken back", ErrClaim)
	}
	return nil
}

// Way is how one of Ways is put in words; "" for any other.
func Way(what string) string {
	if i := slices.Index(Ways, what); i >= 0 {
		return ways[i]
	}
	return ""
}
