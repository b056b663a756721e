package app

import (
	"errors"
	"slices"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// desktop is the state of the stage MyDesk.
type desktop struct {
	quiet   int      // rounds since an answer came or the tab was woken
	trouble string   // why the boxes cannot be looked into, in words
	owner   bool     // the owner's link is shown
	brought *deskset // a desk from elsewhere that waits to be taken in
	visited bool     // it was opened by its owner's link in the address bar
}

// Boxes are looked into every second at first. After a minute without an answer the pause grows by an eighth each time.
const (
	lookFirst = time.Second
	lookLast  = 30 * time.Second
	lookFresh = 60                     // rounds
	lookEach  = 100 * time.Millisecond // least pause for each box that there is
)

// openDesk shows the requests of this browser's owner, and begins to look for answers.
func (a *App) openDesk() {
	a.sitting, a.shown, a.given, a.made = nil, nil, nil, nil
	if Whole {
		a.forgetForm()
	}
	a.desk = desktop{}
	a.at("desk", words.Say("My desk"))
	a.enter(MyDesk, false)
	a.fill("stage", pages.DeskPage())
	a.fill("bar", none)
	a.fillRequests()
	a.fillKeeping()
	a.tell("storage", a.shelf.lost())
	if a.browser.Alone {
		a.tell("fresh", a.failure(ErrAlone)+" "+words.Say("Answers come to you as a link or a file: open them below."))
	}
	if a.mail.newer > 0 {
		a.tell("message", words.Say("Some of what is kept here was written by a newer version of this program. It is left as it is; load the page again to get that version."))
	}
	a.watch()
}

// watch looks into the boxes, again and again while the desk is on the page.
func (a *App) watch() {
	if a.stage != MyDesk || len(a.watched()) == 0 {
		return
	}
	a.hire("watch", func(j *job) {
		if a.stage != MyDesk {
			a.dismiss("watch")
			return
		}
		if !a.visible { // it is made due when the tab is woken
			j.busy, j.due = false, a.host.Clock.Now()+lookLast
			return
		}
		a.lookInto(j, a.watched(), 0)
	})
}

// watched is the requests whose boxes may hold answers.
func (a *App) watched() []*request {
	if a.browser.Alone {
		return nil
	}
	now := a.host.Clock.Wall()
	var list []*request
	for _, r := range a.mail.requests {
		if r.Served && r.State != placing && !r.gone && !(r.known && r.expired(now.Add(-24*time.Hour))) { // a box lasts to the end of its day
			list = append(list, r)
		}
	}
	return list
}

// lookInto looks into one box after the other; came is how many answers there were in those before.
func (a *App) lookInto(j *job, list []*request, came int) {
	for len(list) > 0 && a.mail.find(list[0].Ask.name()) != list[0] {
		list = list[1:]
	}
	if len(list) == 0 {
		a.looked(j, came, nil)
		return
	}
	r := list[0]
	errand := Errand{What: GetLetters, Box: r.box(), Right: r.right(), After: a.mail.last(r)}
	if r.State != seeking && !r.known {
		errand = Errand{What: LookBox, Box: r.box(), Right: r.right()}
	}
	a.errand(errand, func(f Found, err error) {
		switch {
		case a.mail.find(r.Ask.name()) != r:
		case err == nil && errand.What == LookBox:
			a.known(r, f.Box)
			a.lookInto(j, list, came)
			return
		case err == nil:
			state, said, rounds := r.State, r.said, len(r.Rounds)
			n := a.arrived(r, f.Letters)
			if n > 0 {
				if len(r.Rounds) > 0 {
					a.host.Page.Say(words.Some(n, "%[2]s: %[1]d decision has come.", "%[2]s: %[1]d decisions have come.", r.Ask.Title))
				} else {
					a.host.Page.Say(words.Some(n, "%[2]s: %[1]d answer has come.", "%[2]s: %[1]d answers have come.", r.Ask.Title))
				}
			}
			if n > 0 || r.State != state || r.said != said || len(r.Rounds) != rounds {
				a.fillRequests()
			}
			came += n
			if state == seeking && r.State == running { // its copy says how long it was to last when it was made
				a.lookInto(j, list, came)
				return
			}
		case passing(err):
			a.looked(j, came, err)
			return
		default:
			r.gone = true
			if !r.expired(a.host.Clock.Wall()) {
				r.said = words.Say("%s has no such box any more. The answers that came stay here; who has the link cannot answer, and needs a new one.", a.server())
			}
			a.fillRequests()
		}
		a.lookInto(j, list[1:], came)
	})
}

// known takes what the server tells of a request's box: it may have been made to last longer, or been closed, in another browser.
func (a *App) known(r *request, b mailbox.Box) {
	r.known = true
	moved := r.Ask.lasts(b)
	shut := b.Closed && r.State == running
	if shut {
		r.State, r.link = closed, false
	}
	if moved || shut {
		a.keepRequest(r)
		a.fillRequests()
	}
}

// looked ends one round and plans the next.
func (a *App) looked(j *job, came int, err error) {
	if a.stage != MyDesk {
		a.dismiss(j.name)
		return
	}
	was := a.desk.trouble
	if err != nil {
		a.again(j, err)
		a.desk.trouble = a.failure(err) + " " + words.Say("Answers that wait there are not lost.") + " " + a.wait(j)
	} else {
		a.desk.trouble = ""
		j.busy, j.tries, j.pause = false, 0, 0
		a.desk.quiet++
		if came > 0 {
			a.desk.quiet = 0
		}
		j.due = a.host.Clock.Now() + max(pace(a.desk.quiet), time.Duration(len(a.watched()))*lookEach)
	}
	if a.desk.trouble != was {
		a.tell("fresh", a.desk.trouble)
	}
}

// pace is the pause after so many rounds in which nothing came.
func pace(quiet int) time.Duration {
	d := lookFirst
	for ; quiet > lookFresh && d < lookLast; quiet-- {
		d += d / 8
	}
	return min(d, lookLast)
}

// wake takes the tab being looked at again.
func (a *App) wake() {
	if !Whole {
		return
	}
	a.desk.quiet = 0
	a.hurry()
	// Another tab may have changed what is kept.
	if a.stage == Journal || a.stage == MyDesk && len(a.shelf.queue) == 0 && a.shelf.err == nil {
		a.reread()
	}
}

// fillRequests shows the list of requests, if it is another than what is on the page.
func (a *App) fillRequests() {
	if a.stage != MyDesk {
		return
	}
	a.refill("requests", pages.Requests(a.requestViews()))
}

func (a *App) requestViews() []pages.DeskRequest {
	now := a.host.Clock.Wall()
	var list []pages.DeskRequest
	for _, r := range a.mail.requests {
		answers := a.mail.of(r)
		v := pages.DeskRequest{ID: r.Ask.name(), Title: r.Ask.Title, State: a.stateOf(r, len(answers))}
		switch {
		case r.State == seeking:
			v.Title = words.Say("A request from another desk")
		case Whole && len(r.Rounds) > 0:
			v.Text = []string{words.Say("Asked %s, under the name %s: %s.", day(time.UnixMilli(r.Made).In(now.Location())), r.Ask.From, r.askedProof())}
			if t := a.onTheWay(r); t != "" {
				v.Text = append(v.Text, t)
			}
			v.Proof = a.deskProof(r)
			v.State = a.stateOf(r, a.standingCount(r))
		default:
			aim, _ := screen.AimByID(r.Ask.Aim)
			_, d := check.About(r.Ask.Length, nil)
			v.Text = []string{words.Say("Asked %s, under the name %s: a check of %s, with the aim \"%s\".", day(time.UnixMilli(r.Made).In(now.Location())), r.Ask.From, minutes(d), words.Found(aim.Name)) +
				when(!r.Served, " "+words.Say("No server carries it: answers come as a link or a file."))}
		}
		if r.said != "" {
			v.Text = append(v.Text, r.said)
		}
		faults := map[string]int{}
		for _, l := range answers {
			if l.Fault != "" {
				faults[l.Fault]++
				continue
			}
			if len(l.Decision) > 0 {
				continue
			}
			v.Answers = append(v.Answers, answerView(l, now.Location()))
		}
		for _, text := range sortedKeys(faults) {
			v.Text = append(v.Text, words.Some(faults[text], "%d letter could not be read.", "%d letters could not be read.")+" "+words.Found(text))
		}
		if r.link && r.State == running {
			v.Link = a.linkTo(words.Say("Link to the request"), a.requestLink(r))
		}
		v.Buttons = a.requestButtons(r)
		list = append(list, v)
	}
	return list
}

// stateOf is what became of a request, in words.
func (a *App) stateOf(r *request, answers int) string {
	now := a.host.Clock.Wall()
	var got string
	switch {
	case len(r.Rounds) > 0 && answers == 0:
		got = words.Say("no decisions")
	case len(r.Rounds) > 0:
		got = words.Some(answers, "%d decision", "%d decisions")
	case answers == 0:
		got = words.Say("no answers")
	default:
		got = words.Some(answers, "%d answer", "%d answers")
	}
	until := date(time.UnixMilli(r.Ask.Expires).In(now.Location()))
	switch {
	case r.State == placing:
		return words.Say("It has no link yet")
	case r.State == seeking && !r.gone:
		return words.Say("It is being fetched")
	case r.State == closed:
		return words.Say("Closed, %s", got)
	case r.expired(now):
		return words.Say("Ended %s, %s", until, got)
	case r.gone:
		return words.Say("Its box is gone, %s", got)
	}
	return words.Say("Open until %s, %s", until, got)
}

func (a *App) requestButtons(r *request) []pages.Button {
	id := r.Ask.name()
	if r.sure {
		return []pages.Button{{Action: "delete", ID: id, Label: words.Say("Delete it and its answers for good")}, {Action: "spare", ID: id, Label: words.Say("Keep it")}}
	}
	var list []pages.Button
	alive := a.alive(r)
	if alive && !r.link {
		list = append(list, pages.Button{Action: "link", ID: id, Label: words.Say("Show the link")})
	} else if alive {
		list = append(list, pages.Button{Action: "link", ID: id, Label: words.Say("Hide the link")})
	}
	if Whole && alive && len(r.Rounds) > 0 && !r.unsent() {
		list = append(list, pages.Button{Action: "round", ID: id, Label: words.Say("Send a new version")})
	}
	if Whole && alive && r.unsent() {
		list = append(list, pages.Button{Action: "place", ID: id, Label: words.Say("Try now")}, pages.Button{Action: "call-off", ID: id, Label: words.Say("Cancel the new version")})
	}
	if alive && r.Served {
		list = append(list, pages.Button{Action: "extend", ID: id, Label: words.Say("%d days longer", usualLife)}, pages.Button{Action: "close", ID: id, Label: words.Say("Close it")})
	}
	if r.State == placing {
		list = append(list, pages.Button{Action: "place", ID: id, Label: words.Say("Try now")})
	}
	return append(list, pages.Button{Action: "delete", ID: id, Label: words.Say("Delete")})
}

// alive tells whether a request can still be answered.
func (a *App) alive(r *request) bool {
	return r.State == running && !r.gone && !r.expired(a.host.Clock.Wall())
}

// answerView is an answer as a row of the desk. Its record is read once.
func answerView(l *letter, zone *time.Location) pages.DeskAnswer {
	if l.row == nil {
		v := rowOf(l, zone)
		l.row = &v
	}
	v := *l.row
	v.New = !l.Read
	return v
}

// rowOf reads what an answer's row says.
func rowOf(l *letter, zone *time.Location) pages.DeskAnswer {
	v := pages.DeskAnswer{ID: l.key(), Screen: title("")}
	r, err := report.Read([]byte(l.Record))
	if err != nil {
		v.Note = words.Say("What was kept of it cannot be read.")
		return v
	}
	whole := view(r, zone)
	v.Screen, v.Score, v.Void, v.Purposes = title(whole.Screen), whole.Score, len(r.Void) > 0, whole.Purposes
	for _, s := range []string{whole.Viewer, whole.Made, whole.Duration} {
		if s == "" {
			continue
		}
		if v.Made != "" {
			v.Made += " · "
		}
		v.Made += s
	}
	return v
}

func (a *App) deskAction(name, id string) {
	if a.keepingAction(name) || Whole && a.proofDeskAction(name, id) {
		return
	}
	switch name {
	case "copy", "share":
		a.linkAction(name, id, words.Say("A request for a check"))
		return
	case "read":
		if l := a.mail.letter(id); l != nil {
			a.readLetter(l)
		}
		return
	}
	r := a.mail.find(id)
	if r == nil {
		return
	}
	sure := r.sure
	for _, x := range a.mail.requests {
		x.sure = false
	}
	switch name {
	case "link":
		r.link = !r.link
	case "place":
		r.said = ""
		a.goOnPlacing(r)
		a.hurry()
	case "extend":
		a.extend(r)
	case "close":
		a.ends(r, CloseBox, func() {
			r.State, r.said, r.link = closed, words.Say("Nothing more comes in. The answers stay here."), false
			a.keepRequest(r)
		})
	case "delete":
		if !sure {
			r.sure = true
			break
		}
		if !r.Served || r.gone || r.expired(a.host.Clock.Wall().Add(-24*time.Hour)) {
			a.drop(r)
			break
		}
		a.ends(r, DeleteBox, func() { a.drop(r) })
	}
	a.fillRequests()
	a.fillKeeping()
}

// extend lets a request last longer.
func (a *App) extend(r *request) {
	until := time.UnixMilli(r.Ask.Expires).Add(usualLife * 24 * time.Hour)
	r.said = words.Say("It is being made to last longer.")
	a.errand(Errand{What: ExtendBox, Box: r.box(), Right: r.right(), Until: until}, func(_ Found, err error) {
		if a.mail.find(r.Ask.name()) != r {
			return
		}
		if err != nil {
			r.said = a.failure(err) + " " + words.Say("It lasts as long as before.")
		} else {
			r.Ask.Expires, r.said = until.UnixMilli(), ""
			a.keepRequest(r)
		}
		a.fillRequests()
	})
}

// ends closes or deletes the box of a request. A box that is not there any more is as good as deleted.
func (a *App) ends(r *request, what What, then func()) {
	r.said = words.Say("It is being deleted.")
	if what == CloseBox {
		r.said = words.Say("It is being closed.")
	}
	a.errand(Errand{What: what, Box: r.box(), Right: r.right()}, func(_ Found, err error) {
		switch {
		case a.mail.find(r.Ask.name()) != r:
			return
		case err == nil, errors.Is(err, mailbox.ErrNone), errors.Is(err, ErrAlone):
			then()
		default:
			r.said = a.failure(err) + " " + words.Say("Nothing was changed; try it again.")
		}
		a.fillRequests()
		a.fillKeeping()
	})
}

// drop takes a request, its answers and its keys out of this browser.
func (a *App) drop(r *request) {
	if r.Served && r.State == placing {
		// Its box may be open already. If the server does not hear of this, it clears the box at its end.
		a.errand(Errand{What: DeleteBox, Box: r.box(), Right: r.right()}, func(Found, error) {})
	}
	rows := []Row{{Drawer: Requests, Key: r.Ask.name()}}
	for _, l := range a.mail.of(r) {
		rows = append(rows, Row{Drawer: Letters, Key: l.key()})
	}
	a.mail.letters = slices.DeleteFunc(a.mail.letters, func(l *letter) bool { return l.request == r.Ask.name() })
	a.mail.requests = slices.DeleteFunc(a.mail.requests, func(x *request) bool { return x == r })
	a.dismiss("place " + r.Ask.name())
	a.dismiss("round " + r.Ask.name())
	if Whole {
		a.dropPictures(r.keys(r.Rounds, nil)...)
	}
	a.write(rows...)
}

// readLetter opens the report of an answer.
func (a *App) readLetter(l *letter) {
	r, err := report.Read([]byte(l.Record))
	if err != nil {
		a.say(words.Say("It cannot be opened: %s.", words.Found(err.Error())))
		return
	}
	if !l.Read {
		l.Read = true
		a.keepLetter(l)
	}
	a.show(&shown{record: r, bytes: []byte(l.Record), letter: l})
}

// letterView says where a report on the page came from, and leads back.
func (a *App) letterView(l *letter) pages.Item {
	zone := a.host.Clock.Wall().Location()
	v := pages.Item{Title: words.Say("An answer on your desk"), Buttons: []pages.Button{{Action: "desk", Label: words.Say("Back to my desk"), Main: true}}}
	if r := a.mail.find(l.request); r != nil {
		v.Title = words.Say("An answer to \"%s\"", r.Ask.Title)
	}
	v.Text = []string{words.Say("It came sealed, %s.", day(time.UnixMilli(l.Came).In(zone))) + when(!l.Whole, " "+words.Say("The single answers were not sent."))}
	if r, err := report.Read([]byte(l.Record)); err == nil && len(l.Decision) > 0 {
		v.Text = []string{words.Say("The report of the screen that it was decided on. It came sealed with the decision, %s.", day(time.UnixMilli(l.Came).In(zone))) + when(len(r.Judgements) == 0, " "+words.Say("The single answers were not sent."))}
	}
	return v
}

func sortedKeys(m map[string]int) []string {
	var list []string
	for k := range m {
		list = append(list, k)
	}
	slices.Sort(list)
	return list
}
