package app

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// viewing is the state of the stage Viewing: pictures of a proof, on a screen that was checked or not.
type viewing struct {
	visit int // rises with every entry
	given *given
	proof *proof         // the round that is looked at
	asked record.Request // what it asks
	draft *draft
	sheet *sheet // the draft's part about it

	sitting     *stored // whose check goes along; nil: the screen counts as unchecked
	report      report.Record
	reportBytes []byte         // as they were made
	bare        []byte         // without judgements
	lost        string         // why a check that was chosen cannot be used, in a sentence
	run         *check.Sitting // of it, where it was worked out in this visit
	work        work
	possible    []screen.Possible
	model       []byte // packed

	sights  []*sight            // one for each picture
	decoded map[string]decoding // what came of what hangs, by key
	old     []*sight            // of the round before; nil where it has no such picture
	wish    string              // the way to look at two pictures, as soon as both are here
	shown   string              // the way of being hidden that is hatched

	noting  int    // the number of the note that is being written; 0: none
	text    string // its text when it was opened
	sure    bool   // an approval waits for its second press
	signing string
}

// How far the chosen check is worked out.
type work int

const (
	workNone work = iota
	workWaits
	workDone
)

// lookAt goes to the pictures of a request, with the check of a sitting, or unchecked where x is nil.
func (a *App) lookAt(g *given, x *stored) { a.lookWith(g, x, "", viewing{}) }

// lookWith goes to the pictures of a request. Where there is no sitting, lost may say in a sentence what became of the one that was meant. What was looked at before, and how, stays
// where the same pictures are looked at again, and they are not fetched twice.
func (a *App) lookWith(g *given, x *stored, lost string, was viewing) {
	p := g.newest()
	asked, err := p.read(g.Ask.at())
	if err != nil {
		a.noRequest(words.Say("The pictures of this request cannot be shown"), words.Say("What it says of them does not hold together."), words.Say("Ask %s for a new link.", g.by()))
		return
	}
	a.leaveViewing()
	d := a.draftOf(g)
	v := &a.viewing
	*v = viewing{visit: v.visit + 1, given: g, proof: p, asked: asked, draft: d, sheet: d.sheet(p.Request, asked), shown: anyway, lost: lost, decoded: map[string]decoding{}}
	if x != nil {
		r, why := usable(x, g.Ask.Aim)
		if why == "" {
			v.sitting, v.report, v.reportBytes, v.bare, v.work = x, r, x.record, without(r), workWaits
		} else {
			v.lost = why
		}
	}
	if r := a.shown; r != nil && r.of == x && string(r.bytes) == string(v.reportBytes) {
		v.run = r.run
	}
	d.Chosen, d.Sitting = true, ""
	if v.sitting != nil {
		d.Sitting = v.sitting.ID
	}
	undone := 0
	if !v.settled(&a.mail) {
		undone = v.another()
	}
	for i, p := range asked.Pictures {
		v.sights = append(v.sights, was.again(&sight{key: pictureKey(p), picture: p, parcel: v.proof.Parcels[i]}))
		v.old = append(v.old, was.again(v.before(i)))
	}
	a.given, a.sitting, a.shown = g, nil, nil
	same := was.sheet != nil && was.sheet.Request == v.sheet.Request
	if same {
		v.sheet.At, v.shown = was.sheet.At, was.shown
	} else {
		a.easel = easel{ratio: a.surface.Ratio, width: a.easel.width, height: a.easel.height, way: wayOne}
	}
	a.enter(Viewing, false)
	a.fillViewing()
	a.keepDraft()
	switch {
	case v.lost != "":
		a.say(v.lost)
	case undone > 0:
		a.say(words.Some(undone, "%d approval was given with another check of the screen, or without one: decide again. What you noted is kept.", "%d approvals were given with another check of the screen, or without one: decide again. What you noted is kept."))
	}
	if !a.held[v.lock()] {
		a.host.Locks.Take(v.lock())
	}
	a.bringSights()
	if same {
		a.lookBy(was.wish)
	}
	if v.sitting != nil {
		a.workOut()
	}
}

// again is s, which need not come once more where v had the same picture here already. A sight that is nil stays so.
func (v *viewing) again(s *sight) *sight {
	had := func(o *sight) bool { return s != nil && o != nil && o.state == sightHere && o.key == s.key }
	if slices.ContainsFunc(v.sights, had) || slices.ContainsFunc(v.old, had) {
		s.state, s.share = sightHere, 1
	}
	return s
}

// lock names what one tab has to itself while it decides on pictures: two that did would write over each other.
func (v *viewing) lock() string { return pictureLock + v.draft.request }

const pictureLock = "pictures "

// lockedPictures takes the answer about such a lock; false where it is about another thing.
func (a *App) lockedPictures(id string, ok bool) bool {
	request, mine := strings.CutPrefix(id, pictureLock)
	if !mine {
		return false
	}
	if ok && a.away[id] { // what the other tab kept is on the shelf
		a.shelf.reading, a.shelf.let = true, request
		a.host.Shelf.Read()
		return true
	}
	a.away[id], a.held[id] = !ok, ok
	switch {
	case a.stage != Viewing || a.viewing.lock() != id:
	case !ok:
		a.say(elsewhere())
		a.fillDecisions()
	default:
		a.keepDraft()
	}
	return true
}

// takeOver goes on with decisions that another tab, or this page before it was loaded anew, had to itself until now.
func (a *App) takeOver(rows []Row, err error) {
	request := a.shelf.let
	a.shelf.let = ""
	if err != nil {
		a.host.Links.Open("")
		return
	}
	var kept mail
	for _, row := range rows {
		if of, _, _ := strings.Cut(row.Key, "/"); row.Drawer == Decisions && of == request {
			kept.takeDecision(row, &mail{signed: a.mail.signed})
		}
	}
	if d := kept.drafts[request]; d != nil {
		if a.mail.drafts == nil {
			a.mail.drafts = map[string]*draft{}
		}
		a.mail.drafts[request] = d
	}
	a.mail.signed = append(slices.DeleteFunc(a.mail.signed, func(s *signed) bool { return s.request == request }), kept.signed...)
	id := pictureLock + request
	a.away[id], a.held[id] = false, true
	if v := &a.viewing; a.stage == Viewing && v.lock() == id {
		a.lookWith(v.given, v.sitting, v.lost, *v) // what is looked at and how stays as it was chosen meanwhile
	}
}

// elsewhere is said where another tab has the pictures.
func elsewhere() string {
	return words.Say("These pictures are open in another tab of this browser. Decide there, or close that tab: then you can go on here.")
}

// leaveViewing gives up what nobody waits for any more.
func (a *App) leaveViewing() {
	for _, s := range append(slices.Clone(a.viewing.sights), a.viewing.old...) {
		if s == nil {
			continue
		}
		if s.hide == hideAsked {
			a.giveUp(s.study)
			s.hide = hideNone
		}
		a.dismiss(s.job())
	}
}

// on names the screen that is decided on: the sitting that its check was, or that there was none.
func (v *viewing) on() string {
	if v.sitting == nil {
		return "unchecked"
	}
	return v.sitting.ID + " " + strconv.FormatInt(v.report.Conditions.Ended, 10)
}

// another takes back approvals that were given on another screen, and returns how many those are.
func (v *viewing) another() int {
	n := 0
	for i := range v.sheet.Pictures {
		if l := &v.sheet.Pictures[i]; l.Decision == record.Approved && l.On != v.on() {
			l.Decision, l.On = record.Undecided, ""
			n++
		}
	}
	if !v.allows(v.sheet.All) {
		v.sheet.All = record.Undecided
	}
	return n
}

// hides is what a record says is hidden of a picture, and whether it is known.
func (v *viewing) hides(i int) ([]record.Hidden, bool) {
	l := v.sheet.Pictures[i]
	if v.sitting == nil || l.HidOn != v.on() || len(l.Hidden) == 0 {
		return nil, false
	}
	return l.Hidden, true
}

// said is what a record will say of the screen, a sentence.
func (v *viewing) said(zone *time.Location) string {
	switch {
	case v.sitting == nil && v.lost != "":
		return v.lost + " " + words.Say("The record will say: unchecked.")
	case v.sitting == nil:
		return words.Say("This screen was not checked, and the record will say so.")
	}
	c := v.report.Conditions
	return words.Say("%s, checked %s.", title(c.Screen), day(time.UnixMilli(c.Ended).In(zone)))
}

// outdated tells whether there is a newer round than the one that is looked at.
func (v *viewing) outdated() bool { return v.given.rounds() > v.asked.Round }

// turn goes to another picture.
func (a *App) turn(i int) {
	v := &a.viewing
	if i < 0 || i >= len(v.sights) || i == v.sheet.At {
		return
	}
	a.closeNote()
	v.sheet.At, v.sure, v.wish = i, false, ""
	a.keepDraft()
	a.bringSights()
	a.hangSights()
	a.askHides()
	a.host.Page.Say(words.Say("%s, %d of %d.", v.asked.Pictures[i].Name, i+1, len(v.sights)))
}

// viewAction takes a button of the stage Viewing.
func (a *App) viewAction(name, id string) {
	v := &a.viewing
	if a.recordAction(name, id) {
		return
	}
	i, err := strconv.Atoi(id)
	if err != nil {
		i = -1
	}
	switch name {
	case "picture":
		a.turn(i)
	case "picture-back":
		a.turn((v.sheet.At + len(v.sights) - 1) % len(v.sights))
	case "picture-on":
		a.turn((v.sheet.At + 1) % len(v.sights))
	case "hides":
		// The hatch of a way that is on goes off.
		a.easel.hatched = !a.easel.hatched || v.shown != id
		v.shown = id
		a.showHatch()
		a.hang()
		a.fillHides()
	case "way":
		a.lookBy(id)
	case "note":
		if a.mayChange() && a.easel.ready() {
			a.easel.action(name, id)
			a.hang()
		}
	case "note-middle", "note-sight":
		p := a.easel.middle()
		if name == "note-sight" {
			p = a.easel.sight()
		}
		if p != nil {
			a.addNote(*p)
		}
	case "note-show", "note-edit", "pin":
		a.openNote(id)
	case "note-done":
		a.closeNote()
		a.fillDecisions()
	case "note-delete":
		if a.mayChange() {
			a.dropNote(i)
			a.showPins()
			a.fillDecisions()
		}
	case "approve":
		a.decide(i, record.Approved)
	case "changes":
		a.decide(i, record.Changes)
	case "undecided":
		a.decide(i, record.Undecided)
	case "covers-yes":
		a.approve(i)
	case "covers-no":
		v.sure = false
		a.fillDecisions()
	case "approve-all":
		a.decideAll(record.Approved)
	case "changes-all":
		a.decideAll(record.Changes)
	case "undecided-all":
		a.decideAll(record.Undecided)
	case "sign":
		a.closeNote()
		a.askToSign()
	case "sign-yes":
		a.sign()
	case "sign-no":
		if v.signing == askSigning {
			v.signing = notSigning
		}
		a.fillDecisions()
	case "mind":
		a.changeMind()
	case "mind-not":
		a.keepMind()
	case "print":
		a.host.Desk.Print()
	case "now":
		a.hurry()
	case "again-picture":
		if s := v.sights[v.sheet.At]; s.state == sightFailed || s.bad != "" {
			s.state, s.bad, s.hung = sightAway, "", false
			a.bringSights()
			a.hangSights()
		}
	case "again-hides":
		if s := v.sights[v.sheet.At]; s.hide == hideFailed {
			s.hide = hideNone
			a.askHides()
			a.fillDecisions()
		}
	case "unchecked":
		a.lookAt(v.given, nil)
	case "newest":
		a.lookAt(v.given, v.sitting)
	case "to-asked":
		a.backToAsked()
	default:
		if a.easel.action(name, id) {
			a.hang()
			if name == "hatch" {
				a.fillHides()
			}
		}
	}
}

// viewInput takes a field of the stage Viewing.
func (a *App) viewInput(name, value string) {
	v := &a.viewing
	switch name {
	case "note-text":
		if n := v.noteOf(strconv.Itoa(v.noting)); n != nil && !v.settled(&a.mail) && v.signing != busySigning {
			n.Text = passage(value)
			v.signing = notSigning
			a.keepDraft()
			a.fillNotes()
			a.fillSigning()
		}
	case "name":
		if v.signing != busySigning {
			v.draft.Name = line(value)
			v.signing = notSigning
			a.keepDraft()
			a.fillSigning()
		}
	case "whole":
		if v.signing != busySigning {
			v.draft.Whole = value == "yes"
			v.signing = notSigning
			a.keepDraft()
			a.fillSigning()
		}
	case "divider":
		if n, err := strconv.Atoi(value); err == nil {
			a.easel.split(float64(n) / 1000)
			a.host.Easel.Hang(a.easel.hanging())
		}
	}
}

// backToAsked leaves the pictures for the page that says how to look at them.
func (a *App) backToAsked() {
	a.closeNote()
	a.leaveViewing()
	a.showAsked()
}

// viewStorage shows that storing fails, or works again.
func (a *App) viewStorage() {
	a.tell("message", a.shelf.trouble())
	a.fillSigning()
}
