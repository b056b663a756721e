package app

import (
	"time"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// onItsWay is the round of a request that has not arrived whole, and the name of the job that brings it; nil where all is there.
func (a *App) onItsWay(r *request) (*version, string) {
	switch {
	case len(r.Rounds) == 0:
	case r.State == placing:
		return r.Rounds[0], "place " + r.Ask.name()
	case r.unsent():
		return r.sending(), "round " + r.Ask.name()
	}
	return nil, ""
}

// sendingChanged shows how far a proof is on its way, where it is shown.
func (a *App) sendingChanged(r *request) {
	switch {
	case a.stage == Made && a.made == r:
		a.fillParcels(r)
	case a.stage == MyDesk:
		a.fillRequests()
	}
}

// fillMadeProof shows the proof that was just made: how far it is, and its link once all of it lies in its box.
func (a *App) fillMadeProof() {
	r := a.made
	v, name := a.onItsWay(r)
	j := a.post.find(name)
	n := len(r.Rounds)
	last := r.Rounds[n-1]
	m := pages.Made{Lead: last.asked.Title, Keeping: a.keeping()}
	onward := []pages.Button{{Action: "desk", Label: words.Say("To my desk")}, {Action: "another", Label: words.Say("Send another proof")}}
	cancel := pages.Button{Action: "cancel", Label: when(n == 1, words.Say("Cancel, and delete it")) + when(n > 1, words.Say("Cancel this version"))}
	switch {
	case v == nil && n == 1:
		m.Title = words.Say("The link is ready")
		m.Link = a.linkTo(words.Say("Link to the proof"), a.requestLink(r))
		m.Text = []string{
			words.Say("Send it as you would any link. Who opens it sees your words and your name first, then the pictures, and what their screen hides of them."),
			words.Say("It can be answered until %s, by everybody who has it. Decisions appear on your desk.", date(time.UnixMilli(r.Ask.Expires).In(a.host.Clock.Wall().Location()))),
		}
		m.Buttons = onward
	case v == nil:
		m.Title = words.Say("Version %d is there", n)
		m.Link = a.linkTo(words.Say("Link to the proof, the same as before"), a.requestLink(r))
		m.Text = []string{words.Say("Whoever opens the link again sees the new version with the old notes beside it. Nobody is told by themselves: send them a word.")}
		m.Buttons = onward
	case j == nil && r.said != "": // refused
		m.Title = words.Say("It could not be sent")
		m.Lead = r.said
		m.Text = []string{words.Say("What you filled in is kept, and what was sent stays sealed.")}
		m.Buttons = []pages.Button{{Action: "again", Label: words.Say("Try again"), Main: true}, {Action: "back", Label: words.Say("Change it")}, cancel}
	case r.said != "":
		m.Title = words.Say("It waits to be sent")
		m.Lead = r.said
		m.Text = []string{words.Say("It is kept in this browser and goes on where it stopped, also if you close this page and come back.") + " " + a.wait(j)}
		m.Buttons = append([]pages.Button{{Action: "now", Label: words.Say("Try now"), Main: true}, cancel}, onward...)
	default:
		m.Title = words.Say("Sending the pictures")
		m.Lead = words.Say("Each is sealed here and laid into a box at %s. The link comes when all of them lie there, so that it never leads to half a proof.", a.server())
		m.Text = []string{words.Say("If this page is closed it goes on at the next visit, where it stopped.")}
		m.Buttons = []pages.Button{cancel}
		m.Keeping = pages.Keeping{}
	}
	if v != nil && v.unkept != nil {
		m.Text = append(m.Text, words.Say("This browser does not keep all of the pictures: %s. Leave the page open until all is sent.", reason(v.unkept)))
	}
	was := a.filled["stage"]
	a.refill("stage", pages.MadePage(m))
	if a.filled["stage"] != was {
		delete(a.filled, "parcels") // a new page has an empty one
	}
	a.fill("bar", none)
	a.tell("message", a.shelf.lost())
	a.fillParcels(r)
}

// fillParcels shows each picture on its way.
func (a *App) fillParcels(r *request) {
	v, name := a.onItsWay(r)
	if v == nil {
		a.refill("parcels", none)
		return
	}
	stopped := a.post.find(name) == nil || r.said != ""
	var list []pages.PictureRow
	first := true
	for i, p := range v.asked.Pictures {
		row := pages.PictureRow{Name: p.Name, Size: sized(p.Width, p.Height, p.Size), State: pages.Sent}
		if !v.There[i] {
			row.State = ""
			if first {
				row.State, row.Share = pages.Sealing, 0
				if i < len(v.shares) {
					row.Share = v.shares[i]
				}
				if stopped && r.said != "" {
					row.State, row.Why = pages.Stuck, r.said
				}
			}
			first = false
		}
		list = append(list, row)
	}
	share, there, text := v.progress()
	p := pages.Progress{Label: words.Say("%d of %d pictures lie there", there, len(list)), Share: share, Text: text}
	a.refill("parcels", besides(pages.ProgressLine(p), pages.PictureRows(list, "")))
}

// madeProofAction is what can be done on that page; false when name is none of it.
func (a *App) madeProofAction(name string) bool {
	r := a.made
	if len(r.Rounds) == 0 {
		return false
	}
	switch name {
	case "another":
		from := a.proofing.from
		a.proof()
		if from != "" {
			a.proofing.from = from
			a.proofAgain()
		}
	case "back":
		a.giveBack(r, false)
	case "cancel":
		later := r.unsent()
		a.giveBack(r, true)
		if later {
			a.say(words.Say("The new version was called off. The one before stays as it is."))
		} else {
			a.say(words.Say("It was deleted, here and at %s. Your words are still in the form.", a.server()))
		}
	case "again":
		r.said = ""
		a.goOnPlacing(r)
		a.fillMade()
	default:
		return false
	}
	return true
}

// giveBack takes back a proof that did not arrive whole, and leads to its form: with its pictures, or bare.
func (a *App) giveBack(r *request, bare bool) {
	v, _ := a.onItsWay(r)
	switch {
	case v == nil:
		return
	case r.State == placing:
		a.refillForm(r, v)
		if bare {
			a.proofing.rows = nil
		}
		a.drop(r)
	default:
		again := a.proofing.of == r && !bare // after a reload the form is another
		if !again {
			a.proofing.rows = nil
		}
		a.callOff(r)
		if !again {
			a.proofRound(r)
			return
		}
	}
	a.proofAgain()
}
