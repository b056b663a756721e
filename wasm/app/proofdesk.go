package app

import (
	"encoding/hex"
	"fmt"
	"strings"
	"time"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
)

// held is what a decision on the desk is worth.
type held struct {
	record record.Record
	of     *version // the round that it is about
	err    error    // why it does not stand
	rounds int      // that were known when it was looked at
}

// openedDecision opens a decision that was sealed into l. Whether it stands is found later: see hold.
func openedDecision(key *seal.Private, r *request, l *letter, name [16]byte, sealed []byte) error {
	inside, err := key.Open(decisionLetter, seal.Place(r.Ask.at(), name), sealed)
	if err != nil {
		return err
	}
	d, err := readDecision(inside)
	if err != nil {
		return err
	}
	l.Version, l.Decision, l.Record, l.Model, l.held = proofed, d.record, string(d.report), d.model, nil
	return nil
}

// hold finds what a decision is worth: it stands for the round that it is about, with the report and the screen that came with it, or not at all.
func (l *letter) hold(r *request) *held {
	if l.held != nil && l.held.rounds == len(r.Rounds) {
		return l.held
	}
	h := &held{rounds: len(r.Rounds)}
	l.held = h
	read, err := record.Read(l.Decision)
	if err != nil {
		h.err = err
		return h
	}
	// Told apart by what it answers: of none of the rounds, it is held against the newest, and refused.
	v := r.round(record.Digest(read.Request))
	if v == nil {
		v = r.Rounds[len(r.Rounds)-1]
	}
	d := decision{l.Decision, []byte(l.Record), l.Model}
	h.record, h.err = d.stands(v.Request)
	if h.err == nil && v.asked.Asker != r.asker() {
		h.err = record.ErrForeignKey
	}
	if h.err == nil {
		h.of = v
	}
	return h
}

// A verdict is a decision on the desk beside the others.
type verdict struct {
	letter *letter
	*held
	by       *verdict // the later one of the same signer that replaces it; nil where none does
	repeated bool     // the same record came before
}

// counts tells whether it says how things are: it stands, and is not replaced and not repeated.
func (v *verdict) counts() bool { return v.err == nil && v.of != nil && v.by == nil && !v.repeated }

// verdicts are the decisions on a request, latest first. Only what the same key signed replaces an earlier one, in whatever order the two came.
func (a *App) verdicts(r *request) []*verdict {
	if len(r.Rounds) == 0 {
		return nil
	}
	var list []*verdict
	for _, l := range a.mail.of(r) {
		if len(l.Decision) > 0 && l.Fault == "" {
			list = append(list, &verdict{letter: l, held: l.hold(r)})
		}
	}
	digest := func(v *verdict) [32]byte { return record.Digest(v.letter.Decision) }
	first := map[[32]byte]*verdict{}
	for i := len(list) - 1; i >= 0; i-- { // the oldest first
		if v := list[i]; v.err == nil {
			if first[digest(v)] != nil {
				v.repeated = true
			} else {
				first[digest(v)] = v
			}
		}
	}
	for _, v := range list {
		if v.err != nil || v.record.Earlier == [32]byte{} {
			continue
		}
		if was := first[v.record.Earlier]; was != nil && was.record.Signer == v.record.Signer && !v.repeated {
			was.by = v
		}
	}
	return list
}

// names says who signed what, by key: two with one name are told apart by their keys.
func names(list []*verdict) map[[32]byte]string {
	keys := map[string]map[[32]byte]bool{}
	for _, v := range list {
		if v.err == nil {
			n := strings.ToLower(v.record.Name)
			if keys[n] == nil {
				keys[n] = map[[32]byte]bool{}
			}
			keys[n][v.record.Signer] = true
		}
	}
	by := map[[32]byte]string{}
	for _, v := range list {
		if v.err == nil {
			k := v.record.Signer
			by[k] = v.record.Name
			if len(keys[strings.ToLower(v.record.Name)]) > 1 {
				by[k] = words.Say("%s, key %s", v.record.Name, hex.EncodeToString(k[:4]))
			}
		}
	}
	return by
}

// deskProof is the proof in a request, on the desk.
func (a *App) deskProof(r *request) pages.DeskProof {
	out := r.newest()
	if out == nil {
		return pages.DeskProof{}
	}
	zone := a.host.Clock.Wall().Location()
	list := a.verdicts(r)
	by := names(list)
	var v pages.DeskProof
	if out.asked.Round > 1 {
		v.Version = words.Say("Version %d, of %s. Decisions on earlier versions are below, and do not count for this one.", out.asked.Round, day(out.asked.Made.In(zone)))
	}
	for i, p := range out.asked.Pictures {
		d := pages.DeskPicture{ID: fmt.Sprint(i), Name: p.Name, Size: sized(p.Width, p.Height, p.Size)}
		for _, x := range list {
			if !x.counts() || x.of != out {
				continue
			}
			j := x.record.Pictures[i]
			note := day(x.record.Told.In(zone))
			if n := len(j.Notes); n > 0 {
				note = words.Say("%s, with %s", note, words.Some(n, "%d note", "%d notes"))
			}
			d.States = append(d.States, pages.DeskState{By: by[x.record.Signer], Decision: string(j.Decision), Screen: onScreen(x.record), Note: note})
			d.Buttons = append(d.Buttons, pages.Button{Action: "seen", ID: x.letter.key() + "#" + fmt.Sprint(i), Label: words.Say("As %s saw it", by[x.record.Signer])})
		}
		v.Pictures = append(v.Pictures, d)
	}
	for _, x := range list {
		v.Records = append(v.Records, a.deskRecord(r, x, by, zone))
	}
	return v
}

// deskRecord is one decision on the desk.
func (a *App) deskRecord(r *request, x *verdict, by map[[32]byte]string, zone *time.Location) pages.DeskRecord {
	l := x.letter
	d := pages.DeskRecord{ID: l.key(), New: !l.Read, Made: words.Say("came %s", day(time.UnixMilli(l.Came).In(zone)))}
	save := pages.Button{Action: "save-record", ID: l.key(), Label: words.Say("Save the record")}
	if x.err != nil {
		d.By, d.State, d.Says = words.Say("A record that does not stand"), pages.Fails, whyNot(x.err)+" "+words.Say("It counts for nothing.")
		d.Buttons = []pages.Button{save}
		return d
	}
	rec := x.record
	d.By, d.State, d.Whole, d.Screen = by[rec.Signer], pages.Stands, string(rec.Whole), capital(onScreen(rec))+"."
	d.Made = signedAt(rec, zone)
	switch {
	case x.repeated:
		d.Says = words.Say("The same record came before. It counts once.")
	case x.by != nil:
		d.Says = words.Say("Replaced by a later record, of %s.", day(x.by.record.Told.In(zone)))
	case x.of != r.newest():
		d.Says = words.Say("It is about version %d.", x.of.asked.Round)
	case rec.Earlier != [32]byte{}:
		d.Says = words.Say("It replaces an earlier record.")
	}
	d.Buttons = []pages.Button{{Action: "seen", ID: l.key(), Label: words.Say("As they saw it"), Main: x.counts() && x.of == r.newest() && !l.Read}}
	if l.Record != "" {
		d.Buttons = append(d.Buttons, pages.Button{Action: "read", ID: l.key(), Label: words.Say("The report of their screen")})
	}
	d.Buttons = append(d.Buttons, save)
	return d
}

// signedAt is when a record was signed, by both clocks.
func signedAt(r record.Record, zone *time.Location) string {
	if !r.Mailbox.IsZero() {
		return words.Say("signed %s, by the mailbox's clock %s", day(r.Told.In(zone)), day(r.Mailbox.In(zone)))
	}
	return words.Say("signed %s", day(r.Told.In(zone)))
}

// standingCount is how many decisions on a request stand, and are no repeats.
func (a *App) standingCount(r *request) int {
	n := 0
	for _, v := range a.verdicts(r) {
		if v.err == nil && !v.repeated {
			n++
		}
	}
	return n
}

// askedProof is what a request asks of pictures, in a sentence.
func (r *request) askedProof() string {
	v := r.newest()
	n := len(v.asked.Pictures)
	if v.asked.Needs != "" {
		return words.Some(n, "a decision on %d picture, on a screen good enough for %s", "a decision on %d pictures, on a screen good enough for %s", words.Found(v.asked.Needs))
	}
	return words.Some(n, "a decision on %d picture, on any screen", "a decision on %d pictures, on any screen")
}

// onTheWay is what is still to be sent of a request, in a sentence; empty where all lies there.
func (a *App) onTheWay(r *request) string {
	v, _ := a.onItsWay(r)
	if v == nil {
		return ""
	}
	_, there, far := v.progress()
	if n := len(r.Rounds); n > 1 {
		return words.Say("Version %d is on its way: %d of %d pictures lie there, %s.", n, there, len(v.Parcels), far)
	}
	return words.Say("The proof is on its way: %d of %d pictures lie there, %s.", there, len(v.Parcels), far)
}

// notesBefore are the notes that decisions pinned to a round's pictures.
func (a *App) notesBefore(r *request, v *version) []pages.ViewNote {
	var list []pages.ViewNote
	all := a.verdicts(r)
	by := names(all)
	for _, x := range all {
		if !x.counts() || x.of != v {
			continue
		}
		for i, j := range x.record.Pictures {
			for k, n := range j.Notes {
				list = append(list, pages.ViewNote{
					ID: fmt.Sprintf("%d-%d", i, k), Label: fmt.Sprint(k + 1), Text: n.Text, By: by[x.record.Signer],
					Where: words.Say("%s, at %s", v.asked.Pictures[i].Name, where(area{n.X, n.Y, n.Width, n.Height})),
				})
			}
		}
	}
	return list
}

// proofDeskAction is what can be done on the desk with a proof; false when name is none of it.
func (a *App) proofDeskAction(name, id string) bool {
	switch name {
	case "seen":
		key, picture, _ := strings.Cut(id, "#")
		if l := a.mail.letter(key); l != nil {
			a.openSeen(l, picture)
		}
	case "save-record":
		if l := a.mail.letter(id); l != nil && len(l.Decision) > 0 {
			a.saveRecord(l.Decision, l.Came)
		}
	case "round":
		if r := a.mail.find(id); r != nil && len(r.Rounds) > 0 && a.alive(r) {
			a.proofRound(r)
		}
	case "call-off":
		if r := a.mail.find(id); r != nil {
			a.callOff(r)
			a.fillRequests()
		}
	default:
		return false
	}
	return true
}

// saveRecord hands a signed record to the person.
func (a *App) saveRecord(text []byte, at int64) {
	name := ""
	if r, err := record.Read(text); err == nil {
		name = r.Asked.Title
	}
	a.host.Desk.Save(fileName(name, at, "decision", "txt"), "text/plain;charset=utf-8", text)
}
