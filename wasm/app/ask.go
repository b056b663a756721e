package app

import (
	"context"
	"encoding/base64"
	"io"
	"strconv"
	"time"

	"github.com/a-h/templ"
	"rsc.io/qr"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/link"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// cover is what an owner says of any request: what it is for, what is to be read with it, who asks, and how many days it lasts.
type cover struct {
	title, note, from string
	days              int
}

// asking is what an owner says on the page of the stage Asking.
type asking struct {
	cover
	length check.Length
	aim    string
	alone  bool // no server carries it
}

// lives are the days that a request may last, and the one that is taken where none is chosen.
var lives = []int{7, 30, 90}

const usualLife = 30

// set takes a field's new value; what the form does not know is left alone.
func (f *cover) set(name, value string) {
	switch name {
	case "title":
		f.title = line(value)
	case "note":
		f.note = passage(value)
	case "from":
		f.from = line(value)
	case "days":
		for _, d := range lives {
			if value == strconv.Itoa(d) {
				f.days = d
			}
		}
	}
}

// life asks how many days it lasts.
func (f *cover) life(advice string) pages.Question {
	q := pages.Question{Name: "days", Label: words.Say("How long the link lasts"), Advice: advice}
	for _, d := range lives {
		q.Options = append(q.Options, pages.Option{Value: strconv.Itoa(d), Label: words.Say("%d days", d), Chosen: f.days == d})
	}
	return q
}

// changeable says what can be done with a link that a server carries.
func changeable() string { return words.Say("It can be made longer, and closed at any time.") }

// set takes a field's new value; what the form does not know is left alone.
func (f *asking) set(name, value string) {
	switch name {
	case "length":
		switch l := check.Length(value); l {
		case check.Short, check.Standard, check.Long:
			f.length = l
		}
	case "aim":
		if _, ok := screen.AimByID(value); ok {
			f.aim = value
		}
	case "way":
		f.alone = value == "alone"
	default:
		f.cover.set(name, value)
	}
}

// lacks is the first field in the form that must not be empty and is, and what is to be said there; empty when there is none.
func (f *asking) lacks() (field, what string) {
	switch {
	case f.title == "":
		return "title", words.Say("Say what it is for.")
	case f.from == "":
		return "from", words.Say("Say who asks.")
	}
	return "", ""
}

// setAsking takes a field's new value, and says anew what depends on it.
func (a *App) setAsking(name, value string) {
	f := &a.asking
	f.set(name, value)
	switch name {
	case "way":
		v := a.askingView()
		a.refill("travels", pages.Rows(v.Travel))
		a.refill("reads", pages.Readers(v))
	case "title", "from":
		if field, _ := f.lacks(); a.lacking != "" && field != a.lacking {
			a.lacking = ""
			a.host.Page.Amiss("")
			a.fillMake("")
		}
	}
}

// ask shows the page on which a request is made.
func (a *App) ask() {
	a.asking = asking{cover: cover{from: a.signed(), days: usualLife}, length: check.Standard, aim: screen.Aims[0].ID, alone: a.browser.Alone}
	a.askAgain()
}

// askAgain shows it as it was filled in.
func (a *App) askAgain() {
	a.lacking = ""
	a.at("ask", words.Say("Ask for a check"))
	a.enter(Asking, false)
	a.fill("stage", pages.AskPage(a.askingView()))
	a.fill("bar", none)
	a.fillMake("")
	if a.browser.Alone {
		a.tell("message", a.failure(ErrAlone)+" "+words.Say("So the request travels inside its link, and the answer comes back to you as a link or a file."))
	}
	a.tell("storage", a.shelf.lost())
}

// fillMake shows the way on, and what is in it.
func (a *App) fillMake(problem string) {
	a.fill("start", besides(pages.Message(problem), pages.Buttons([]pages.Button{{Action: "make", Label: words.Say("Make the link"), Main: true}})))
}

// at says what the page is now.
func (a *App) at(page, title string) {
	if a.browser.Page != page {
		a.browser.Page, a.link = page, ""
		a.host.Links.At("/"+page, title)
	}
}

// signed is the name that the latest request was made under.
func (a *App) signed() string {
	if len(a.mail.requests) == 0 {
		return ""
	}
	return a.mail.requests[0].Ask.From
}

func (a *App) askingView() pages.Asking {
	f := &a.asking
	length := pages.Question{Name: "length", Label: words.Say("How long it may take")}
	for _, l := range []check.Length{check.Short, check.Standard, check.Long} {
		n, d := check.About(l, nil)
		length.Options = append(length.Options, pages.Option{Value: string(l), Label: titled(string(l)), Text: words.Say("%s, some %d questions", minutes(d), round10(n)), Chosen: f.length == l})
	}
	aim := pages.Question{Name: "aim", Label: words.Say("What their screen should be")}
	for _, m := range screen.Aims {
		aim.Options = append(aim.Options, pages.Option{Value: m.ID, Label: words.Found(m.Name), Text: words.Found(m.Text), Chosen: f.aim == m.ID})
	}
	way := pages.Question{Name: "way", Label: words.Say("Who carries it"), Options: []pages.Option{
		{Value: "alone", Label: words.Say("No server at all"), Text: words.Say("The request is inside the link. The answer comes back to you as a link or a file, which you open on your desk."), Chosen: f.alone},
	}}
	if !a.browser.Alone {
		way.Options = append([]pages.Option{{Value: "box", Label: words.Say("This site"), Text: words.Say("The answer lies sealed at %s until your desk fetches it, and appears there by itself.", a.server()), Chosen: !f.alone}}, way.Options...)
	}
	return pages.Asking{
		Title: f.title, Note: f.note, From: f.from, Alone: f.alone,
		Choose: []pages.Question{length, aim},
		Travel: []pages.Question{way, f.life(when(!f.alone, changeable()) + when(f.alone, words.Say("Once it is made, it cannot be changed or called back.")))},
	}
}

func (a *App) askingAction(name string) {
	if name != "make" {
		return
	}
	f := &a.asking
	if field, what := f.lacks(); field != "" {
		a.lacking = field
		a.fillMake(what)
		a.host.Page.Amiss(field)
		a.host.Page.Say(what)
		return
	}
	a.makeRequest(!f.alone)
}

// makeRequest makes the request that the form describes, keeps its keys, and only then lets anything leave the browser.
func (a *App) makeRequest(served bool) {
	f := &a.asking
	until := a.host.Clock.Wall().Add(time.Duration(f.days) * 24 * time.Hour)
	r, err := a.compose(ask{Title: f.title, Note: f.note, From: f.from, Length: f.length, Aim: f.aim, Expires: until.UnixMilli()}, served, nil)
	if err != nil {
		a.fillMake(words.Say("The request cannot be sealed: %s.", words.Found(err.Error())))
		return
	}
	a.mail.requests = append([]*request{r}, a.mail.requests...)
	if !a.shelf.asked {
		a.shelf.asked = true
		a.host.Shelf.Persist()
	}
	a.made = r
	a.desk.owner = false
	a.enter(Made, false)
	a.fillMade()
	a.keepFirst(func() {
		if served {
			a.place(r)
		}
	}, Row{Requests, r.Ask.name(), encode(r)})
}

// fillMade shows the request that was just made.
func (a *App) fillMade() {
	r := a.made
	if Whole && len(r.Rounds) > 0 {
		a.fillMadeProof()
		return
	}
	zone := a.host.Clock.Wall().Location()
	v := pages.Made{Title: words.Say("The link is ready"), Lead: r.Ask.Title, Keeping: a.keeping()}
	until := date(time.UnixMilli(r.Ask.Expires).In(zone))
	onward := []pages.Button{{Action: "desk", Label: words.Say("To my desk")}, {Action: "another", Label: words.Say("Ask somebody else")}}
	switch {
	case r.State != placing:
		v.Link = a.linkTo(words.Say("Link to the request"), a.requestLink(r))
		v.Text = []string{
			words.Say("Send it as you would any link, or let them point a phone at the code if that is the screen in question. Who opens it sees your words and your name before anything else."),
			words.Say("It can be answered until %s, by everybody who has it, each as often as they like.", until),
		}
		if !r.Served {
			v.Text = append(v.Text, words.Say("The whole request is in the link. What comes back is a link or a file: open it on your desk, in this browser."))
		}
		v.Buttons = onward
	case a.post.find("place "+r.Ask.name()) == nil && r.said != "": // refused
		v.Title = words.Say("There is no link yet")
		v.Lead = r.said
		v.Text = []string{words.Say("What you filled in is kept.")}
		v.Buttons = []pages.Button{{Action: "alone", Label: words.Say("Make a link that needs no server"), Main: true}, {Action: "again", Label: words.Say("Try again")}, {Action: "back", Label: words.Say("Change it")}}
	case r.said != "":
		v.Title = words.Say("There is no link yet")
		v.Lead = r.said
		v.Text = []string{words.Say("The request is sealed and kept on your desk. It gets its link as soon as %s answers.", a.server()) + " " + a.wait(a.post.find("place "+r.Ask.name()))}
		v.Buttons = append([]pages.Button{{Action: "now", Label: words.Say("Try now"), Main: true}, {Action: "alone", Label: words.Say("Make a link that needs no server")}}, onward...)
	default:
		v.Title = words.Say("Making the link")
		v.Lead = words.Say("The request is sealed, and its box at %s is opened.", a.server())
		v.Keeping = pages.Keeping{}
	}
	a.refill("stage", pages.MadePage(v))
	a.fill("bar", none)
	a.tell("message", a.shelf.lost())
}

func (a *App) madeAction(name, id string) {
	r := a.made
	if Whole && a.madeProofAction(name) {
		return
	}
	switch name {
	case "desk":
		a.openDesk()
	case "another":
		a.asking.title, a.asking.note = "", ""
		a.askAgain()
	case "back":
		a.drop(r)
		a.askAgain()
	case "now":
		a.hurry()
	case "again":
		r.said = ""
		a.place(r)
		a.fillMade()
	case "alone":
		// The other one never had a link that anybody could have been given.
		a.drop(r)
		a.makeRequest(false)
	default:
		a.linkAction(name, id, r.Ask.Title)
		a.keepingAction(name)
	}
}

// requestLink is the address that is given to the person who is asked.
func (a *App) requestLink(r *request) string {
	if r.Served {
		return a.address(link.Box{Address: r.Ask.at(), Seed: [32]byte(r.Seed)})
	}
	k := r.Ask
	k.ID, k.To = nil, nil
	return a.address(link.Request{Key: r.Ask.To, Body: encode(k)})
}

// address is a link as it is passed on; empty where it is too large for one.
func (a *App) address(l link.Link) string {
	s, err := link.Write(a.browser.Origin, l)
	if err != nil {
		return ""
	}
	return s
}

// linkTo shows an address in words and, where it fits one, as a QR code.
func (a *App) linkTo(label, address string) pages.Link {
	l := pages.Link{Label: label, Address: address, Share: a.browser.Share}
	if c := qrCode(address); c != nil {
		l.Code = templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
			_, err := io.WriteString(w, drawn(c, words.Say("QR code of the link")))
			return err
		})
	}
	return l
}

// densest is the most modules on a side of a QR code that phones still read off a screen: version 25 of ISO/IEC 18004.
const densest = 117

// qrCode is a QR code of a text, nil where none fits: with the most repair that leaves it readable.
func qrCode(text string) *qr.Code {
	for _, level := range []qr.Level{qr.M, qr.L} {
		if c, err := qr.Encode(text, level); err == nil && c.Size <= densest {
			return c
		}
	}
	return nil
}

// linkAction is what can be done with a link on the page.
func (a *App) linkAction(name, address, title string) {
	switch name {
	case "copy":
		a.host.Links.Copy(address)
	case "share":
		a.host.Links.Share(title, address)
	}
}

// Copied takes the outcome of copying to the clipboard.
func (a *App) Copied(ok bool) {
	if a.stage == Plate {
		a.plateCopied(ok)
		return
	}
	if ok {
		a.say(words.Say("The link is on the clipboard."))
	} else {
		a.say(words.Say("The browser does not let this page copy. Select the link and copy it by hand."))
	}
}

func encoded(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

func decoded(s string) ([]byte, error) { return base64.RawURLEncoding.DecodeString(s) }
