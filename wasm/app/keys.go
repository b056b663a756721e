package app

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"example.org/plumb/patterns/report"
	"example.org/plumb/web/link"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// A deskset is a desk outside its browser. A file has its requests and the answers that came; an owner's link has the secrets of what this site carries, from which
// all else is fetched.
type deskset struct {
	Version  int          `json:"version"`
	Kind     string       `json:"kind"`
	Caution  string       `json:"caution,omitempty"`
	Requests []*request   `json:"requests"`
	Letters  []deskletter `json:"letters,omitempty"`
}

type deskletter struct {
	Key string `json:"key"` // in its drawer
	letter
}

const (
	deskKind = "plumb desk"
	caution  = "Whoever has this file can open the answers to these requests. Keep it as you would keep a key."
)

// keeping says where the keys are.
func (a *App) keeping() pages.Keeping {
	if len(a.mail.requests) == 0 {
		return pages.Keeping{}
	}
	unsaved := 0
	for _, r := range a.mail.requests {
		if !r.Saved {
			unsaved++
		}
	}
	carried := len(a.carried()) > 0
	k := pages.Keeping{Buttons: []pages.Button{{Action: "save-desk", Label: words.Say("Save the desk as a file"), Main: unsaved > 0}}}
	switch {
	case unsaved > 0 && a.shelf.err != nil:
		k.Text = []string{words.Say("This browser does not keep the keys to your requests: %s. When this page is closed they are lost, and nobody can open the answers, unless you save the desk now.", words.Found(a.shelf.err.Error()))}
	case unsaved > 0:
		k.Text = []string{words.Say("The keys to %s are in this browser and nowhere else. If its data are cleared or this device is lost, nobody can open the answers: neither those that came nor those to come.", a.unsaved(unsaved)) + " " +
			when(!carried, words.Say("Save the desk as a file.")) + when(carried, words.Say("Save the desk as a file, or open it on another device by its owner's link; either will do."))}
	default:
		k.Text = []string{words.Say("The keys to all your requests are in this browser, and in what you saved. Save the desk again after a new request or a new answer.")}
	}
	if !carried {
		k.Text = append(k.Text, words.Say("Whoever has the file can open the answers. Keep it as you would keep a key."))
		return k
	}
	k.Text = append(k.Text, words.Say("Whoever has the file or the owner's link can open the answers. Keep them as you would keep a key."))
	if a.desk.owner {
		k.Owner = a.linkTo(words.Say("Owner's link: it opens this desk elsewhere"), a.ownerLink())
		k.Owner.Share = false
		k.Text = append(k.Text, words.Say("Paste it on the desk there: opened in the address bar, it stays in the history of that browser."), words.Say("By the owner's link, requests and answers that this site carries are fetched anew elsewhere, as long as their boxes last. What travels as a link or a file is in the saved desk alone."))
		k.Buttons = append(k.Buttons, pages.Button{Action: "owner-link", Label: words.Say("Hide the owner's link")})
	} else {
		k.Buttons = append(k.Buttons, pages.Button{Action: "owner-link", Label: words.Say("Show the owner's link")})
	}
	return k
}

// unsaved names so many requests of the desk, at least one, as what keys belong to.
func (a *App) unsaved(n int) string {
	all := len(a.mail.requests)
	switch {
	case n < all:
		return words.Say("%d of your %d requests", n, all)
	case n == 1:
		return words.As("your request", "the keys to")
	}
	return words.Say("your %d requests", n)
}

func (a *App) fillKeeping() {
	if a.stage == MyDesk {
		a.fill("keeping", pages.KeepingNote(a.keeping()))
	}
}

// keepingAction is what can be done about the keys; false when name is none of it.
func (a *App) keepingAction(name string) bool {
	switch name {
	case "save-desk":
		a.host.Desk.Save(fileName("desk", a.host.Clock.Wall().UnixMilli(), "keys", "json"), "application/json", a.deskFile())
		a.saved()
	case "owner-link":
		a.desk.owner = !a.desk.owner
	default:
		return false
	}
	a.fillKeeping()
	if a.stage == Made {
		a.fillMade()
	}
	return true
}

// saved notes that the keys are outside this browser too.
func (a *App) saved() {
	for _, r := range a.mail.requests {
		if !r.Saved {
			r.Saved = true
			a.keepRequest(r)
		}
	}
}

// deskFile is the whole desk as a file.
func (a *App) deskFile() []byte {
	d := deskset{Version: travels, Kind: deskKind, Caution: caution, Requests: a.mail.requests}
	if slices.ContainsFunc(d.Requests, func(r *request) bool { return len(r.Rounds) > 0 }) {
		d.Version = proofed
	}
	for _, l := range a.mail.letters {
		d.Letters = append(d.Letters, deskletter{l.key(), *l})
	}
	b, err := json.MarshalIndent(d, "", " ")
	if err != nil {
		panic("app: a desk cannot be written as JSON: " + err.Error())
	}
	return append(b, '\n')
}

// carried is the secrets of the requests that this site carries.
func (a *App) carried() []link.Secret {
	var list []link.Secret
	for _, r := range a.mail.requests {
		if r.Served && r.State != placing {
			list = append(list, r.secret())
		}
	}
	return list
}

// ownerLink is what this site carries as a link; empty when it is nothing.
func (a *App) ownerLink() string { return a.address(link.Desk{Secrets: a.carried()}) }

// readDesk reads the file of a desk. What in it cannot be used makes it wrong as a whole, for half a desk would pass for the whole one.
func readDesk(b []byte) (*deskset, error) {
	d := new(deskset)
	if json.Unmarshal(b, d) != nil || d.Kind != deskKind {
		return nil, errLetter
	}
	if d.Version > proofed {
		return nil, errLetterNewer
	}
	for _, r := range d.Requests {
		if r == nil || !r.valid() {
			return nil, errLetter
		}
	}
	for i := range d.Letters {
		l := &d.Letters[i]
		of, id, ok := strings.Cut(l.Key, "/")
		if !ok {
			return nil, errLetter
		}
		l.request, l.id = of, id
	}
	return d, nil
}

// deskOf is what an owner's link opens.
func (a *App) deskOf(l link.Desk) *deskset {
	d := new(deskset)
	for _, s := range l.Secrets {
		at := s.Address()
		d.Requests = append(d.Requests, &request{Version: travels, Ask: ask{ID: at[:]}, State: seeking, Made: a.host.Clock.Wall().UnixMilli(), Served: true, Secret: s[:]})
	}
	return d
}

// bring opens what was pasted or dropped on the desk: an answer or a desk, as a link or as the text of a file.
func (a *App) bring(text string) {
	l, err := link.Read(text)
	if err != nil {
		a.say(wrong(err))
		return
	}
	switch l := l.(type) {
	case link.Answer:
		a.bringAnswer(l)
	case link.Desk:
		if a.browser.Alone {
			a.say(words.Say("This is an owner's link. %s Open it at the site where it was made.", a.failure(ErrAlone)))
			return
		}
		a.offerDesk(a.deskOf(l), nil)
	default:
		a.say(words.Say("This is a link to a request, for the person who is asked. Open it in the address bar to answer it here."))
	}
}

// wrong is what is wrong with a link, in a sentence.
func wrong(err error) string {
	switch {
	case errors.Is(err, link.ErrEmpty):
		return words.Say("There is no link in it. An answer is a link with a # in it, or a file that holds one.")
	case errors.Is(err, link.ErrNewer):
		return words.Say("It was made by a newer version of this program. Load the page again to get that version, then open it once more.")
	case errors.Is(err, link.ErrTruncated):
		return words.Say("It is cut off: its end is missing. Copy it whole, or ask for it as a file.")
	}
	return words.Say("It is not as it was made: some of its characters were changed on the way. Copy it again, or ask for it as a file.")
}

// bringAnswer opens an answer that came as a link or in a file.
func (a *App) bringAnswer(l link.Answer) {
	r := a.mail.find(encoded(l.Address[:]))
	if r == nil {
		a.say(words.Say("It answers a request that was not made in this browser. Open it where the request was made, or open that desk here first."))
		return
	}
	id := encoded(l.ID[:])
	if !a.receive(r, id, 0, l.Letter) {
		a.say(words.Say("This answer is on the desk already."))
		return
	}
	a.fillRequests()
	if came := a.mail.letter(r.Ask.name() + "/" + id); came.Fault != "" {
		a.say(words.Say("The answer could not be read. %s", words.Found(came.Fault)))
		return
	}
	a.say(words.Say("An answer to \"%s\" was opened. It is on the desk now.", r.Ask.Title))
}

// broughtFile opens a file on the desk.
func (a *App) broughtFile(name string, b []byte) {
	var head struct {
		Kind string `json:"kind"`
	}
	if json.Unmarshal(b, &head) == nil {
		if head.Kind == deskKind {
			a.offerDesk(readDesk(b))
			return
		}
		if r, err := report.Read(b); err == nil {
			a.show(&shown{record: r, bytes: b})
			return
		}
	}
	if _, err := link.Read(string(b)); err != nil {
		a.say(words.Say("The file %s holds no answer and no desk that can be opened. %s", line(name), wrong(err)))
		return
	}
	a.bring(string(b))
}

// offerDesk asks whether a desk from elsewhere is to be kept here.
func (a *App) offerDesk(d *deskset, err error) {
	if err != nil {
		a.say(words.Say("This desk cannot be opened: %s.", words.Found(err.Error())))
		return
	}
	var titles []string
	for _, r := range d.Requests {
		if r.Ask.Title != "" && len(titles) < 6 {
			titles = append(titles, words.Say("\"%s\"", r.Ask.Title))
		}
	}
	text := []string{
		when(len(titles) > 0, words.Say("Among them: %s.", listed(titles))) + when(len(titles) == 0, words.Say("What they ask and what came back is fetched from %s.", a.server())),
		words.Say("Opened here, its keys are kept in this browser, and whoever uses this browser can read the answers. Do not open it on a computer that others use too."),
	}
	if a.desk.visited {
		text = append(text, words.Say("The browser keeps this link in its history; paste it on the desk instead, or remove it there."))
	}
	a.desk.visited = false
	requests, answers := words.Say("no requests"), words.Say("no answers")
	if n := len(d.Requests); n > 0 {
		requests = words.Some(n, "%d request", "%d requests")
	}
	if n := len(d.Letters); n > 0 {
		answers = words.Some(n, "%d answer", "%d answers")
	}
	a.trouble(MyDesk, pages.Notice{
		Title:   words.Say("A desk from elsewhere"),
		Lead:    words.Say("It holds %s with their keys, and %s.", requests, answers),
		Text:    append(text, words.Say("What is on the desk here already stays.")),
		Buttons: []pages.Button{{Action: "take-desk", Label: words.Say("Open it here"), Main: true}, {Action: "desk", Label: words.Say("Leave it")}},
	})
	a.desk.brought = d
}

// takeDesk adds a desk from elsewhere to the one here.
func (a *App) takeDesk() {
	d := a.desk.brought
	if d == nil {
		return
	}
	var rows []Row
	for _, r := range d.Requests {
		if a.mail.find(r.Ask.name()) != nil {
			continue
		}
		r.Saved = true // where it came from
		a.mail.requests = append(a.mail.requests, r)
		rows = append(rows, Row{Requests, r.Ask.name(), encode(r)})
	}
	for i := range d.Letters {
		l := &d.Letters[i].letter
		if a.mail.letter(l.key()) != nil || a.mail.find(l.request) == nil {
			continue
		}
		a.mail.letters = append(a.mail.letters, l)
		rows = append(rows, Row{Letters, l.key(), encode(l)})
	}
	a.mail.order()
	if len(rows) > 0 {
		a.write(rows...)
	}
	a.openDesk()
	for _, r := range a.mail.requests {
		a.goOnPlacing(r)
	}
}
