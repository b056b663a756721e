package app

import (
	"crypto/sha256"
	"errors"
	"slices"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
)

// anyOf is the sum in what a record says is hidden.
func anyOf(list []record.Hidden) record.Hidden {
	for _, h := range list {
		if h.What == anyway {
			return h
		}
	}
	return record.Hidden{}
}

// statement is what would be signed now, and what goes along with it; or why it cannot be.
func (a *App) statement() (s record.Statement, along decision, problem string) {
	v := &a.viewing
	name := record.Tidy(v.draft.Name, record.MaxText)
	if name == "" {
		return s, along, words.Say("Write your name: the record says who decided.")
	}
	s = record.Statement{Request: v.proof.Request, Name: name, Told: a.host.Clock.Wall().UTC().Truncate(time.Second), Whole: v.whole()}
	if v.sitting != nil {
		if v.work != workDone {
			return s, along, words.Say("It is being worked out what this screen hides.")
		}
		along.report = v.bare
		if v.draft.Whole {
			along.report = v.reportBytes
		}
		along.model = v.model
		s.Screen = v.screen(along)
	}
	decided := 0
	for i, l := range v.sheet.Pictures {
		j := record.Judged{Decision: l.Decision}
		if j.Decision != record.Undecided {
			decided++
			if j.Decision == record.Approved && l.On != v.on() {
				return s, along, words.Say("\"%s\" was approved on another screen. Decide on it again.", l.Name)
			}
		}
		j.Hidden, j.HiddenKnown = v.hides(i)
		if j.Decision == record.Approved && v.sitting != nil && !j.HiddenKnown {
			return s, along, words.Say("What this screen hides of \"%s\" is not known yet. Decide on it again.", l.Name)
		}
		for _, n := range said(l.Notes) {
			j.Notes = append(j.Notes, record.Note{X: n.X, Y: n.Y, Width: n.Width, Height: n.Height, Text: record.Tidy(n.Text, record.MaxNote)})
			decided++
		}
		s.Pictures = append(s.Pictures, j)
	}
	last := a.mail.latest(v.draft.request, v.proof.Request)
	if last != nil {
		s.Earlier = record.Digest(last.Record)
		if same(last.read, s) {
			return s, along, words.Say("Nothing is different from the record that you signed.")
		}
	} else if decided == 0 {
		return s, along, words.Say("Nothing is decided or noted yet.")
	}
	return s, along, ""
}

// same tells whether a statement says of the pictures and the screen what a record says.
func same(r record.Record, s record.Statement) bool {
	if r.Whole != s.Whole || r.Screen.Report != s.Screen.Report || r.Name != s.Name || len(r.Pictures) != len(s.Pictures) {
		return false
	}
	for i, j := range s.Pictures {
		if j.Decision != r.Pictures[i].Decision || !slices.Equal(j.Notes, r.Pictures[i].Notes) {
			return false
		}
	}
	return true
}

// States of signing.
const (
	notSigning  = ""
	askSigning  = "ask"  // it was said what will be signed
	busySigning = "busy" // the mailbox is asked for the time
)

// askToSign says what is about to be signed.
func (a *App) askToSign() {
	v := &a.viewing
	if !a.mayChange() {
		return
	}
	v.sure = false
	if _, _, problem := a.statement(); problem != "" {
		a.say(problem)
		if record.Tidy(v.draft.Name, record.MaxText) == "" {
			a.host.Page.Amiss("name")
		}
	} else {
		a.host.Page.Amiss("")
		v.signing = askSigning
	}
	a.fillDecisions()
}

// sign signs what is decided: the mailbox is asked for its time, and whether there is a newer version.
func (a *App) sign() {
	v := &a.viewing
	if v.signing != askSigning || !a.mayChange() {
		return
	}
	if _, _, problem := a.statement(); problem != "" {
		v.signing = notSigning
		a.say(problem)
		a.fillDecisions()
		return
	}
	v.signing = busySigning
	visit := v.visit
	a.fillDecisions()
	a.lookForRounds(v.given, func(date time.Time) {
		if a.stage != Viewing || a.viewing.visit != visit || v.signing != busySigning {
			return
		}
		v.signing = notSigning
		if v.outdated() {
			a.fillDecisions()
			return
		}
		a.signWith(date)
	})
}

// signWith signs, with the time that the mailbox told; zero where it told none.
func (a *App) signWith(date time.Time) {
	v := &a.viewing
	s, along, problem := a.statement()
	fail := func(text string) {
		a.say(text)
		a.fillDecisions()
	}
	if problem != "" {
		fail(problem)
		return
	}
	s.Mailbox = date
	text, err := s.Sign(v.draft.key())
	var r record.Record
	if err == nil {
		r, err = record.Read(text)
	}
	if err != nil {
		fail(words.Say("The record cannot be signed: %s. What you decided and noted is kept.", words.Found(strings.TrimPrefix(err.Error(), "record: "))))
		return
	}
	along.record = text
	inside, err := packDecision(along)
	name := chance(16)
	var sealed []byte
	if err == nil {
		sealed, err = seal.Seal(v.given.Ask.To, decisionLetter, seal.Place(v.given.Ask.at(), [16]byte(name)), inside)
	}
	switch {
	case errors.Is(err, seal.ErrTooLarge) && v.draft.Whole:
		fail(words.Say("With every answer it is too large for a letter. Send the report without them."))
		return
	case err != nil:
		fail(words.Say("The record cannot be sealed: %s. What you decided and noted is kept.", words.Found(err.Error())))
		return
	}
	x := &signed{Version: proofed, Record: text, Made: a.host.Clock.Wall().UnixMilli(), Whole: v.draft.Whole, Sealed: sealed, State: waiting, request: v.draft.request, id: encoded(name), read: r}
	if list := a.mail.signedFor(x.request); len(list) > 0 {
		x.Made = max(x.Made, list[len(list)-1].Made+1)
	}
	a.mail.signed = append(a.mail.signed, x)
	v.sheet.Changing = false
	a.keepFirst(func() { a.deliverDecision(x) }, Row{Decisions, x.request, encode(v.draft)}, Row{Decisions, x.key(), encode(x)})
	a.host.Page.Say(words.Say("The record is signed."))
	a.fillDecisions()
}

// resendDecisions goes on with what waits to be delivered.
func (a *App) resendDecisions() {
	for _, s := range a.mail.signed {
		a.deliverDecision(s)
	}
}

// deliverDecision brings a signed decision to its box.
func (a *App) deliverDecision(s *signed) {
	if s.State != waiting {
		return
	}
	box, _ := decoded(s.request) // both were read before
	id, _ := decoded(s.id)
	a.hire("decision "+s.key(), func(j *job) {
		a.errand(Errand{What: PutLetter, Box: mailbox.Address(box), ID: mailbox.ID(id), Body: s.Sealed}, func(_ Found, err error) {
			if !slices.Contains(a.mail.signed, s) {
				a.dismiss(j.name)
				return
			}
			switch {
			case err == nil:
				s.State, s.said, s.Sealed = delivered, "", nil
				s.Sent = a.host.Clock.Wall().UnixMilli()
				a.host.Page.Say(words.Say("The record was delivered."))
			case passing(err):
				s.said = a.failure(err)
				a.again(j, err)
				a.changedDecision()
				return
			default:
				s.State, s.said = refused, a.failure(err)
				a.host.Page.Say(words.Say("The record was not delivered."))
			}
			a.dismiss(j.name)
			a.write(Row{Decisions, s.key(), encode(s)})
			a.changedDecision()
		})
	})
}

// changedDecision shows what became of a decision, where it is shown.
func (a *App) changedDecision() {
	switch {
	case a.stage == Asked && a.given != nil && a.given.Ask.Proof != nil:
		a.refill("stage", pages.AskedPage(a.askedView()))
	case a.stage == Viewing:
		a.fillSigning()
	}
}

// fate is what became of a signed decision, in a sentence.
func (a *App) fate(s *signed) string {
	zone := a.host.Clock.Wall().Location()
	switch s.State {
	case delivered:
		if s.Whole {
			return words.Say("Delivered %s, with every answer of the check.", day(time.UnixMilli(s.Sent).In(zone)))
		}
		return words.Say("Delivered %s.", day(time.UnixMilli(s.Sent).In(zone)))
	case refused:
		return words.Say("Not delivered.") + " " + s.said
	}
	if s.said != "" {
		return s.said + " " + a.wait(a.post.find("decision "+s.key()))
	}
	return words.Say("Being sent to %s.", a.server())
}

// signingView is the way to sign, or what became of what was signed.
func (a *App) signingView() pages.Signing {
	v := &a.viewing
	if a.away[v.lock()] {
		return pages.Signing{Problem: elsewhere()}
	}
	if v.outdated() {
		return pages.Signing{
			Problem: words.Say("%s sent version %d meanwhile. What you decided and noted here is about version %d, and is kept.", capital(v.given.by()), v.given.rounds(), v.asked.Round),
			Buttons: []pages.Button{{Action: "newest", Label: words.Say("Look at the new version"), Main: true}},
		}
	}
	if v.settled(&a.mail) {
		return pages.Signing{State: words.Say("You signed a record about these pictures. It stands below.")}
	}
	s, _, problem := a.statement()
	sign := a.signButtons(s, problem)
	if v.given.gone {
		// What is signed can still be saved.
		if sign.Problem = problem; problem == "" {
			sign.Problem = words.Say("The box of this request is not there any more. What you sign can be saved as a file and passed on, but not delivered.")
		}
	}
	return sign
}

// signButtons is the way to sign a statement, or what keeps it from being signed.
func (a *App) signButtons(s record.Statement, problem string) pages.Signing {
	v := &a.viewing
	switch {
	case v.signing == busySigning:
		return pages.Signing{State: words.Say("Signing it: %s is asked for the time.", a.server()), Progress: pages.Progress{Label: words.Say("Signing"), Share: -1}}
	case v.signing == askSigning && problem == "":
		approved, changes := v.counts()
		text := words.Say("Sign as %s: %s, %s, %d left open?", s.Name, words.Some(approved, "%d picture approved", "%d pictures approved"), words.Some(changes, "%d picture with changes asked", "%d pictures with changes asked"), len(v.sheet.Pictures)-approved-changes)
		if s.Earlier != [32]byte{} {
			text += " " + words.Say("It replaces the record that you signed before.")
		}
		return pages.Signing{State: text, Buttons: []pages.Button{{Action: "sign-yes", Label: words.Say("Sign and send"), Main: true}, {Action: "sign-no", Label: words.Say("Not yet")}}}
	}
	return pages.Signing{Problem: problem, Buttons: []pages.Button{{Action: "sign", Label: words.Say("Sign it")}}}
}

// signedView is the last record about the round that is looked at.
func (a *App) signedView() pages.RecordView {
	v := &a.viewing
	s := a.mail.latest(v.draft.request, v.proof.Request)
	if s == nil {
		return pages.RecordView{}
	}
	r := recordView(s.read, s.Record, a.host.Clock.Wall().Location())
	r.Sending.State = a.fate(s)
	switch {
	case s.State == waiting && s.said != "":
		r.Sending.Buttons = []pages.Button{{Action: "now", Label: words.Say("Try now"), Main: true}, {Action: "decision-file", ID: s.key(), Label: words.Say("Save it sealed instead")}}
	case s.State == refused:
		r.Sending.Problem = words.Say("It can still be passed on: saved sealed as a file, it opens on the desk of %s.", v.given.by())
		r.Sending.Buttons = []pages.Button{{Action: "decision-file", ID: s.key(), Label: words.Say("Save it sealed"), Main: true}, {Action: "retry-decision", ID: s.key(), Label: words.Say("Try again")}}
	}
	if t := a.shelf.trouble(); t != "" && s.State == waiting {
		r.Sending.Problem = t + " " + words.Say("Leave the page open until it is delivered.")
	}
	r.Buttons = []pages.Button{{Action: "save-record", ID: s.key(), Label: words.Say("Save the record")}, {Action: "print", Label: words.Say("Print")}}
	if v.settled(&a.mail) {
		r.Buttons = append(r.Buttons, pages.Button{Action: "mind", Label: words.Say("Change your mind")})
	} else {
		r.Replaces = words.Say("You are changing your mind. This record stands until you sign another, which replaces it and says so.")
		r.Buttons = append(r.Buttons, pages.Button{Action: "mind-not", Label: words.Say("Leave it as it was signed")})
	}
	return r
}

// changeMind opens what was signed for another decision. The record that was signed stands until the next replaces it.
func (a *App) changeMind() {
	v := &a.viewing
	if !v.settled(&a.mail) || a.away[v.lock()] {
		return
	}
	v.sheet.Changing = true
	v.another()
	a.keepDraft()
	a.host.Page.Say(words.Say("You can decide anew."))
	a.fillDecisions()
}

// keepMind puts the decisions and notes back to what was signed.
func (a *App) keepMind() {
	v := &a.viewing
	s := a.mail.latest(v.draft.request, v.proof.Request)
	if s == nil || v.signing == busySigning || a.away[v.lock()] {
		return
	}
	for i, j := range s.read.Pictures {
		l := &v.sheet.Pictures[i]
		l.Decision = j.Decision
		l.Notes, l.Last = nil, 0
		for _, n := range j.Notes {
			l.Last++
			l.Notes = append(l.Notes, note{l.Last, n.X, n.Y, n.Width, n.Height, n.Text})
		}
	}
	v.sheet.All, v.sheet.Changing, v.signing, v.sure, v.noting = s.read.Whole, false, notSigning, false, 0
	a.keepDraft()
	a.showPins()
	a.fillDecisions()
}

// recordAction is what can be done with a signed decision; false when name is none of it.
func (a *App) recordAction(name, id string) bool {
	s := a.mail.signedOf(id)
	switch name {
	case "save-record":
		if s != nil {
			a.host.Desk.Save(fileName(s.read.Name, s.Made, "decision", "txt"), "text/plain;charset=utf-8", s.Record)
		}
	case "decision-file":
		if s != nil && len(s.Sealed) > 0 {
			a.saveSealed(s)
		}
	case "retry-decision":
		if s != nil && s.State == refused && len(s.Sealed) > 0 {
			s.State, s.said = waiting, ""
			a.write(Row{Decisions, s.key(), encode(s)})
			a.deliverDecision(s)
			a.changedDecision()
		}
	default:
		return false
	}
	return true
}

// saveSealed hands a sealed decision to the person as a file.
func (a *App) saveSealed(s *signed) {
	box, _ := decoded(s.request) // both were read before
	id, _ := decoded(s.id)
	by := words.Say("whoever asked")
	if g := a.mail.given[s.request]; g != nil {
		by = g.by()
	}
	address := a.address(link.Answer{Address: [16]byte(box), ID: [16]byte(id), Letter: s.Sealed})
	a.host.Desk.Save(fileName("decision", s.Made, "sealed", "txt"), "text/plain;charset=utf-8", []byte(decisionFile(address, by)))
}

// decisionFile is a sealed decision as a file that says what it is.
func decisionFile(address, by string) string {
	return words.Say("A decision on pictures, with the report of the screen it was made on, by Plumb, sealed for %s. To open it, drop this file on the page \"My desk\" in the browser that asked.", by) + "\n\n" + address + "\n"
}

// screen is what a record says of the screen, with what goes along.
func (v *viewing) screen(along decision) record.Screen {
	s := screenOf(v.report)
	s.Report = sha256.Sum256(along.report)
	if len(along.model) > 0 {
		s.Model = sha256.Sum256(along.model)
	}
	return s
}

// fitness is what a check says of a purpose: one of record.Verdicts.
func fitness(r report.Record, purpose string) string {
	for _, f := range screenOf(r).Fitness {
		if f.Purpose == purpose {
			return f.Verdict
		}
	}
	return report.NotChecked.String()
}
