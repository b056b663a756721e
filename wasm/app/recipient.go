package app

import (
	"errors"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/link"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
)

// A given request is one to the person at this browser, as it is kept.
type given struct {
	Version int  `json:"version"`
	Ask     ask  `json:"ask"`
	Served  bool `json:"served"` // the answer goes into a box of this site

	Seed  []byte   `json:"seed,omitempty"`  // of the link, 32 bytes, where it asks about pictures: later versions are sealed to it
	Later []*proof `json:"later,omitempty"` // versions after the first, in order
	Last  uint64   `json:"last,omitempty"`  // the place in its box of the last letter that was looked at for them

	gone  bool // the server has no such box
	newer bool // there is a version that a newer program made
}

func (g *given) valid() bool {
	return g.Version >= 1 && g.Version <= proofed && len(g.Ask.ID) == 16 && len(g.Ask.To) > 0 && (!Whole || g.provenance())
}

// by is who asks, within a sentence.
func (g *given) by() string {
	if g.Ask.From == "" {
		return words.Say("whoever asked")
	}
	return g.Ask.From
}

// arrive opens what the page's address carries.
func (a *App) arrive() {
	l, err := link.Read("#" + a.link)
	if err != nil {
		a.badLink(err)
		return
	}
	switch l := l.(type) {
	case link.Box:
		a.fetch(l)
	case link.Request:
		k, err := askOf(l)
		if err != nil {
			a.badLink(err)
			return
		}
		a.asked(&given{Version: travels, Ask: k})
	default:
		text := "#" + a.link
		a.openDesk() // which takes it out of the address bar; the browser's history keeps it
		a.desk.visited = true
		a.bring(text)
	}
}

// paste opens the link that was pasted where the one in the address cannot be opened. Secrets stay out of the address.
func (a *App) paste() {
	l, err := link.Read(a.pasted)
	if err != nil {
		title, what, do := ill(err)
		a.say(title + ". " + what + " " + do)
		return
	}
	switch l.(type) {
	case link.Box, link.Request:
		address := a.address(l)
		if strings.HasSuffix(address, "#"+a.link) {
			address = ""
		}
		a.host.Links.Open(address)
	default:
		text := a.pasted
		a.openDesk()
		a.bring(text)
	}
}

// badLink says what is wrong with the page's address.
func (a *App) badLink(err error) {
	title, what, do := ill(err)
	if newer(err) {
		a.stuck(pages.Notice{Title: title, Lead: what, Text: []string{do}, Buttons: []pages.Button{{Action: "reload", Label: words.Say("Load the page again"), Main: true}}})
		return
	}
	a.noLetter(title, what, do)
}

// newer tells whether a newer version made what cannot be read.
func newer(err error) bool {
	return errors.Is(err, link.ErrNewer) || errors.Is(err, errLetterNewer) || errors.Is(err, seal.ErrVersion)
}

// ill is what is wrong with a link: a title without a stop, what happened, and what to do.
func ill(err error) (title, what, do string) {
	switch {
	case newer(err):
		return words.Say("This link was made by a newer version of Plumb"), words.Say("The program in this page does not know yet what it says."), words.Say("Load the page again to get the newer version. If it stays so, this site has an older version than the one that asked: open the link where it came from.")
	case errors.Is(err, link.ErrEmpty):
		return words.Say("There is no request in this link"), words.Say("The part behind the # is missing, and what is asked stands in it."), words.Say("Copy the link whole from where it came from. If it was cut off there, ask for it once more, by another way.")
	case errors.Is(err, link.ErrTruncated):
		return words.Say("This link is cut off"), words.Say("Its end is missing. Some programs break long links."), words.Say("Copy it whole from where it came from. If it was cut off there, ask for it once more, by another way.")
	case errors.Is(err, link.ErrMistyped):
		return words.Say("This link is not as it was made"), words.Say("Some of its characters were changed on the way, by a slip or by a program."), words.Say("Copy it from where it came from instead of typing it, or ask for it once more.")
	}
	return words.Say("This link cannot be read"), words.Say("What it carries is damaged or does not belong to it."), words.Say("Copy it once more from where it came from, or ask for another.")
}

// noLetter says what is wrong with a link, and takes a better one.
func (a *App) noLetter(title, what, do string) {
	a.pasted = ""
	a.stuck(pages.Notice{Title: title, Lead: what, Text: []string{do}, Paste: true, Buttons: []pages.Button{{Action: "paste", Label: words.Say("Open the pasted link"), Main: true}}})
}

// noRequest says why a request cannot be answered here, whatever is done about its link.
func (a *App) noRequest(title, what, do string) {
	a.stuck(pages.Notice{Title: title, Lead: what, Text: []string{do}})
}

// stuck says what is in the way of a request, and that nothing is lost.
func (a *App) stuck(n pages.Notice) {
	n.Text = append(n.Text, words.Say("Nothing was sent. Whatever was answered in this browser before is kept in it."))
	n.Buttons = append(n.Buttons, pages.Button{Action: "check", Label: words.Say("Check this screen for yourself"), Main: len(n.Buttons) == 0})
	a.trouble(Asked, n)
}

// fetch shows the request of a box: at once if it was opened before, else as soon as the server hands it out.
func (a *App) fetch(l link.Box) {
	if g := a.mail.given[mailbox.Address(l.Address).String()]; g != nil {
		a.asked(g)
		if Whole && g.Ask.Proof != nil {
			a.lookAgainForRounds(g)
		}
		return
	}
	a.enter(Fetch, false)
	a.fill("stage", pages.TroublePage(pages.Notice{Title: words.Say("Opening the request"), Lead: words.Say("It is fetched from %s and opened in this browser.", a.server())}))
	a.fill("bar", none)
	a.hire("fetch", func(j *job) {
		a.errand(Errand{What: GetLetters, Box: mailbox.Address(l.Address), Limit: 1}, func(f Found, err error) { a.fetched(l, j, f.Letters, err) })
	})
}

// fetched takes what lies in the box of a request.
func (a *App) fetched(l link.Box, j *job, list []mailbox.Letter, err error) {
	if a.stage != Fetch && a.stage != Trouble {
		a.dismiss(j.name)
		return
	}
	if err != nil && passing(err) {
		a.again(j, err)
		if a.stage != Trouble {
			a.enter(Trouble, false)
		}
		a.refill("stage", pages.TroublePage(pages.Notice{
			Title:   words.Say("The request cannot be fetched now"),
			Lead:    a.failure(err),
			Text:    []string{a.wait(j), words.Say("Your link is all right: it can be opened later too, as often as you like. Nothing was sent, and whatever was answered in this browser before is kept in it.")},
			Buttons: []pages.Button{{Action: "now", Label: words.Say("Try now"), Main: true}, {Action: "check", Label: words.Say("Check this screen for yourself")}},
		}))
		return
	}
	a.dismiss(j.name)
	if errors.Is(err, ErrAlone) {
		a.noRequest(words.Say("This request cannot be opened here"), a.failure(err)+" "+words.Say("What is asked lies in a box of the site that the link was made at."), words.Say("Open the link as it was made, or ask for one that needs no server."))
		return
	}
	if err == nil && len(list) == 0 {
		err = mailbox.ErrNone
	}
	if err != nil {
		a.noRequest(words.Say("This request is not there any more"),
			a.failure(err),
			words.Say("Its time may be over, or whoever asked has closed or deleted it; the site cannot tell which. Ask them for a new link if it still matters."))
		return
	}
	reader, err := seal.Derive(l.Seed[:])
	var inside []byte
	if err == nil {
		inside, err = reader.Open(requestLetter, seal.Place(l.Address, list[0].ID), list[0].Body)
	}
	var k ask
	if err == nil {
		k, err = readAsk(inside)
	}
	switch {
	case err == nil && string(k.ID) != string(l.Address[:]):
		err = seal.ErrForeign
	case Whole && err == nil && k.Proof != nil:
		g := &given{Version: proofed, Ask: k, Served: true, Seed: l.Seed[:], Last: list[0].Seq}
		if g.valid() && a.host.Pictures != nil {
			a.asked(g)
			a.lookAgainForRounds(g)
			return
		}
		err = errProof
	case err == nil:
		a.asked(&given{Version: travels, Ask: k, Served: true})
		return
	}
	if errors.Is(err, errLetterNewer) || errors.Is(err, seal.ErrVersion) {
		a.badLink(link.ErrNewer)
		return
	}
	a.noLetter(words.Say("The request in this box does not open"), words.Say("It is not what this link was made for: it was altered on its way, or somebody put another in its place."), words.Say("Ask for a new link, and tell whoever asked that the old one does not open."))
}

// asked keeps a request and shows it; a sitting for it that is unfinished comes first.
func (a *App) asked(g *given) {
	if a.mail.given[g.Ask.name()] == nil {
		a.mail.given[g.Ask.name()] = g
		a.write(Row{Asks, g.Ask.name(), encode(g)})
	}
	a.given = g
	if g.Served {
		a.lookAgain(g)
	}
	if a.over() {
		a.noRequest(words.Say("The time for this request is over"),
			words.Say("It could be answered until %s.", date(time.UnixMilli(g.Ask.Expires).In(a.host.Clock.Wall().Location()))),
			words.Say("Ask %s for a new link if it still matters.", g.by()))
		return
	}
	a.form.length, a.form.aim = g.Ask.Length, g.Ask.Aim
	for _, x := range a.shelf.sittings {
		if x.State == open && x.Request == g.Ask.name() && x.refused() == "" {
			a.resume()
			return
		}
	}
	a.showAsked()
}

// lookAgain asks the server, beside the request that is shown as it is kept, whether its box is still there and until when. While the server cannot be reached, what
// is kept stands.
func (a *App) lookAgain(g *given) {
	a.errand(Errand{What: LookBox, Box: mailbox.Address(g.Ask.ID)}, func(f Found, err error) {
		switch {
		case a.mail.given[g.Ask.name()] != g:
			return
		case err == nil:
			g.gone = false
			if g.Ask.lasts(f.Box) {
				a.write(Row{Asks, g.Ask.name(), encode(g)})
			}
		case errors.Is(err, mailbox.ErrNone):
			g.gone = true
		}
		if a.stage == Asked && a.given == g {
			a.refill("stage", pages.AskedPage(a.askedView()))
			a.tell("message", a.shelf.trouble())
		}
	})
}

// over tells whether the time of the request at hand is up, with nothing of it left to send. Of a box the server tells: its owner may have made it last longer.
func (a *App) over() bool {
	if a.given.Served || a.given.Ask.Expires > a.host.Clock.Wall().UnixMilli() {
		return false
	}
	for _, x := range a.shelf.sittings {
		if x.Request == a.given.Ask.name() {
			return false
		}
	}
	return true
}

func (a *App) showAsked() {
	a.enter(Asked, false)
	a.refill("stage", pages.AskedPage(a.askedView()))
	a.fill("bar", none)
	a.tell("message", a.shelf.trouble())
}

func (a *App) askedView() pages.Asked {
	g := a.given
	k := &g.Ask
	n, d := check.About(k.Length, nil)
	aim, _ := screen.AimByID(k.Aim)
	zone := a.host.Clock.Wall().Location()
	until := date(time.UnixMilli(k.Expires).In(zone))
	open := words.Say("until %s", until)
	if g.Served && !g.gone && k.Expires <= a.host.Clock.Wall().UnixMilli() {
		open = words.Say("until %s, unless it was made to last longer since", until)
	}
	v := pages.Asked{
		From: k.From, Title: k.Title, Note: k.Note,
		Facts: []pages.Fact{
			{Name: words.Say("How long"), Value: words.Say("%s, some %d questions about simple patterns. You may pause, and go on later.", capital(minutes(d)), round10(n))},
			{Name: words.Say("Which screen"), Value: words.Say("The one you are looking at now. To check another, open the link there.")},
			{Name: words.Say("What it should be"), Value: words.Found(aim.Name) + ", " + words.Found(aim.Text)},
			{Name: words.Say("Can be answered"), Value: open},
		},
		Sent: []string{
			words.Say("The report: its score, its verdicts and estimates, and what shows how far your answers can be trusted."),
			words.Say("What the report says of the screen: its pixels, what the browser claims of its colours, the browser's name; and what you fill in before the check, the names too. All of that may stay empty."),
			words.Say("Each single answer with its time, if you choose so. Else they stay here."),
		},
		Kept: []string{
			words.Say("No picture, no file, nothing about other pages, and nothing before you press Send."),
		},
	}
	if g.gone {
		v.Gone = words.Say("This request takes no more answers. %s A report that you make now is kept in this browser, and can be sealed and saved as a file for %s.", a.failure(mailbox.ErrNone), g.by())
	}
	if g.Served {
		v.Sent = append(v.Sent, words.Say("It is sealed in this browser for %s alone, and lies at %s until %s or until it is deleted.", g.by(), a.server(), until))
		v.Kept = append(v.Kept, words.Say("%s cannot open it.", a.server())+" "+words.Found(pages.Keeps))
	} else {
		v.Sent = append(v.Sent, words.Say("It is sealed in this browser for %s alone. You get it as a link or a file and pass it on yourself: this page sends nothing.", g.by()))
		v.Kept = append(v.Kept, words.Say("%s learns nothing of the request or of your answer.", a.server()))
	}
	for _, x := range a.shelf.sittings {
		if x.Request != k.name() || x.State != finished || x.broken != "" {
			continue
		}
		i := pages.Item{Title: title(x.Conditions.Screen), Text: []string{words.Say("Checked %s.", day(time.UnixMilli(x.Touched).In(zone))) + " " + a.became(x.ID)}}
		i.Buttons = []pages.Button{{Action: "open", ID: x.ID, Label: words.Say("See the report"), Main: a.mail.replies[x.ID] == nil}}
		v.Done = append(v.Done, i)
	}
	if Whole && k.Proof != nil {
		a.askProof(&v)
		return v
	}
	label := words.Say("Check this screen")
	if len(v.Done) > 0 {
		label = words.Say("Check another time, or another screen")
	}
	v.Buttons = []pages.Button{{Action: "begin", Label: label, Main: len(v.Done) == 0}}
	return v
}

func (a *App) askedAction(name, id string) {
	if Whole && a.proofAction(name, id) {
		return
	}
	switch name {
	case "begin":
		a.prepare()
	case "open":
		if x := a.shelf.find(id); x != nil {
			a.open(x.record, x)
		}
	}
}

// A reply is the answer to a request, sealed. It is kept before it is sent, under a name that is chosen once: however often it is sent, it is there once.
type reply struct {
	Version int    `json:"version"`
	Request string `json:"request"` // id of the ask
	ID      []byte `json:"id"`      // of the letter, 16 bytes
	Sealed  []byte `json:"sealed,omitempty"`
	State   string `json:"state"`
	Whole   bool   `json:"whole"` // with judgements
	Ended   int64  `json:"ended"` // of the record
	Sent    int64  `json:"sent"`  // ms since 1970 UTC: when it was delivered

	sitting string
	said    string // why it is not delivered, in words
}

// What became of a reply.
const (
	waiting   = "waiting" // for the server
	delivered = "delivered"
	refused   = "refused" // by the server, for good
	handed    = "handed"  // over to the person, as a link or a file
)

func (p *reply) valid() bool {
	id, err := decoded(p.Request)
	return p.Version >= 1 && p.Version <= travels && err == nil && len(id) == 16 && len(p.ID) == 16
}

func (p *reply) box() mailbox.Address {
	b, _ := decoded(p.Request) // valid
	return mailbox.Address(b)
}

// became is what became of the answer of a sitting, in a sentence.
func (a *App) became(sitting string) string {
	p := a.mail.replies[sitting]
	zone := a.host.Clock.Wall().Location()
	switch {
	case p == nil:
		return words.Say("The report was not sent.")
	case p.State == delivered:
		return words.Say("Sent %s.", day(time.UnixMilli(p.Sent).In(zone)))
	case p.State == handed:
		return words.Say("Sealed, to be passed on by you.")
	case p.State == refused:
		return words.Say("Not delivered: %s", p.said)
	}
	return words.Say("Kept in this browser, and waiting to be delivered.")
}

// reply seals the report on the page for whoever asked, keeps it, and only then sends it.
func (a *App) reply() {
	r := a.shown
	g := a.asker(r)
	if g == nil {
		return
	}
	record := r.bytes
	if !a.whole {
		record = without(r.record)
	}
	p := &reply{Version: travels, Request: g.Ask.name(), ID: chance(16), State: handed, Whole: a.whole, Ended: r.record.Conditions.Ended, sitting: r.of.ID}
	if g.Served {
		p.State = waiting
	}
	inside, err := pack(answer{Version: letters, Whole: p.Whole}, record)
	var sealed []byte
	if err == nil {
		sealed, err = seal.Seal(g.Ask.To, answerLetter, seal.Place(g.Ask.at(), [16]byte(p.ID)), inside)
	}
	if err != nil {
		a.say(words.Say("The report cannot be sealed: %s. It is kept here, and can be saved as a file.", words.Found(err.Error())))
		return
	}
	p.Sealed = sealed
	if !g.Served && a.answerLink(p) == "" {
		a.say(words.Say("The report with every answer is too large for a link. Seal the report without them."))
		return
	}
	a.mail.replies[p.sitting] = p
	a.keepFirst(func() { a.deliver(p) }, Row{Replies, p.sitting, encode(p)})
	a.fillSending()
}

// deliver brings a reply that waits to its box.
func (a *App) deliver(p *reply) {
	if p.State != waiting {
		return
	}
	a.hire("reply "+p.sitting, func(j *job) {
		a.errand(Errand{What: PutLetter, Box: p.box(), ID: mailbox.ID(p.ID), Body: p.Sealed}, func(_ Found, err error) {
			if a.mail.replies[p.sitting] != p {
				a.dismiss(j.name)
				return
			}
			switch {
			case err == nil:
				p.State, p.said, p.Sealed = delivered, "", nil
				p.Sent = a.host.Clock.Wall().UnixMilli()
				a.host.Page.Say(words.Say("The report was delivered."))
			case passing(err):
				p.said = a.failure(err)
				a.again(j, err)
				a.changedReply()
				return
			default:
				p.State, p.said = refused, a.failure(err)
				a.host.Page.Say(words.Say("The report was not delivered."))
			}
			a.dismiss(j.name)
			a.write(Row{Replies, p.sitting, encode(p)})
			a.changedReply()
		})
	})
}

// changedReply shows what became of a reply, where it is shown.
func (a *App) changedReply() {
	if a.stage == Asked {
		a.refill("stage", pages.AskedPage(a.askedView()))
	}
	a.fillSending()
}

// asker is the request that a report was made for; nil where there is none.
func (a *App) asker(r *shown) *given {
	if r == nil || r.of == nil || r.of.Request == "" {
		return nil
	}
	return a.mail.given[r.of.Request]
}

// fillSending shows where the report on the page comes from, or the choice to send it and what became of that.
func (a *App) fillSending() {
	if a.stage != Report {
		return
	}
	if r := a.shown; r.letter != nil {
		a.fill("from", pages.FromNote(a.letterView(r.letter)))
		return
	}
	a.refill("sending", pages.SendingPanel(a.sendingView()))
}

func (a *App) sendingView() pages.Sending {
	r := a.shown
	g := a.asker(r)
	if g == nil {
		return pages.Sending{}
	}
	if Whole && g.Ask.Proof != nil {
		return a.onwardView(g)
	}
	p := a.mail.replies[r.of.ID]
	zone := a.host.Clock.Wall().Location()
	if p == nil || p.Ended != r.record.Conditions.Ended {
		state := words.Say("%s asked for this report. Nothing of it has left this browser.", capital(g.by()))
		if p != nil && p.State == delivered {
			state = words.Say("You sent this report as it was before you took it further, %s. What you have now can be sent as well.", day(time.UnixMilli(p.Sent).In(zone)))
		}
		if !a.choosing {
			return pages.Sending{State: state, Buttons: []pages.Button{{Action: "sending", Label: words.Say("Choose what to send"), Main: true}}}
		}
		v := pages.Sending{Title: words.Say("Send this report to %s?", g.by()), Text: []string{a.going(g)}, State: state}
		v.Choose = []pages.Question{{Name: "whole", Label: words.Say("What goes"), Options: []pages.Option{
			{Value: "no", Label: words.Say("The report"), Text: words.Say("what was found, the conditions, and the names you filled in"), Chosen: !a.whole},
			{Value: "yes", Label: words.Say("The report and every answer"), Text: words.Say("so that it can be worked out anew; it also tells when and how fast you answered"), Chosen: a.whole},
		}}}
		send := words.Say("Send")
		if !g.Served {
			send = words.Say("Seal it, to pass it on")
		}
		v.Buttons = []pages.Button{{Action: "send", Label: send, Main: true}, {Action: "later", Label: words.Say("Not now")}}
		return v
	}
	var v pages.Sending
	switch p.State {
	case delivered:
		v.State = words.Say("Delivered %s. It lies sealed at %s until %s opens it.", day(time.UnixMilli(p.Sent).In(zone)), a.server(), g.by())
		if p.Whole {
			v.State = words.Say("Delivered %s, with every answer. It lies sealed at %s until %s opens it.", day(time.UnixMilli(p.Sent).In(zone)), a.server(), g.by())
		}
	case waiting:
		v.State = words.Say("Being sent to %s.", a.server())
		if p.said != "" {
			v.Text = []string{words.Say("The report is sealed and kept in this browser until it is delivered, also if you close this page. It arrives once, however often it is sent.")}
			v.State = p.said + " " + a.wait(a.post.find("reply "+p.sitting))
			v.Buttons = []pages.Button{{Action: "now", Label: words.Say("Try now"), Main: true}, {Action: "answer-file", Label: words.Say("Save it as a file instead")}}
		}
		if t := a.shelf.trouble(); t != "" {
			v.Text = []string{t + " " + words.Say("Leave the page open until it is delivered.")}
		}
	case refused:
		v.State = words.Say("Not delivered.") + " " + p.said
		v.Text = []string{words.Say("The report is kept here, and so is what was sealed for %s. Saved as a file, it can be opened on the desk of %s whatever became of the box: send it as you would any file.", g.by(), g.by())}
		v.Buttons = []pages.Button{{Action: "answer-file", Label: words.Say("Save the sealed answer"), Main: true}, {Action: "retry-send", Label: words.Say("Try again")}}
	case handed:
		v.State = words.Say("Sealed for %s. This page sends nothing: pass it on the way the request came to you.", g.by())
		v.Buttons = []pages.Button{{Action: "answer-file", Label: words.Say("Save it as a file"), Main: true}}
		v.Link = a.linkTo(words.Say("Or as a link"), a.answerLink(p))
	}
	return v
}

// going is where an answer goes, in a sentence.
func (a *App) going(g *given) string {
	if !g.Served {
		return words.Say("You get it sealed, as a link or a file, and pass it on yourself.")
	}
	return words.Say("It is sealed here for %s alone and delivered to a box at %s, which cannot open it.", g.by(), a.server())
}

// answerLink is a reply as a link to the desk.
func (a *App) answerLink(p *reply) string {
	return a.address(link.Answer{Address: p.box(), ID: [16]byte(p.ID), Letter: p.Sealed})
}

// sendingAction is what can be done about the answer of the report on the page; false when name is none of it.
func (a *App) sendingAction(name string) bool {
	r := a.shown
	g := a.asker(r)
	if g == nil {
		return false
	}
	if Whole && g.Ask.Proof != nil {
		if name == "onward" {
			a.onward()
		}
		return name == "onward"
	}
	p := a.mail.replies[r.of.ID]
	switch name {
	case "sending", "later":
		a.choosing = name == "sending"
		a.fillSending()
	case "send":
		if a.choosing && (p == nil || p.Ended != r.record.Conditions.Ended) {
			a.choosing = false
			a.reply()
		}
	case "now":
		a.hurry()
	case "retry-send":
		if p != nil && p.State == refused {
			p.State, p.said = waiting, ""
			a.write(Row{Replies, p.sitting, encode(p)})
			a.deliver(p)
			a.fillSending()
		}
	case "answer-file":
		if p != nil {
			a.host.Desk.Save(fileName("answer", r.record.Conditions.Ended, "sealed", "txt"), "text/plain;charset=utf-8", []byte(letterFile(a.answerLink(p), g.by())))
		}
	default:
		return false
	}
	return true
}

// letterFile is a sealed answer as a file that says what it is.
func letterFile(address, by string) string {
	return words.Say("A report of a screen check by Plumb, sealed for %s. To open it, drop this file on the page \"My desk\" in the browser that asked.", by) + "\n\n" + address + "\n"
}
