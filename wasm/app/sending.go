package app

import (
	"fmt"
	"time"

	"example.org/plumb/web/pages"
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
	onward := []pages.Button{{Action: "desk", Label: "To my desk"}, {Action: "another", Label: "Send another proof"}}
	cancel := pages.Button{Action: "cancel", Label: when(n == 1, "Cancel, and delete it") + when(n > 1, "Cancel this version")}
	switch {
	case v == nil && n == 1:
		m.Title = "The link is ready"
		m.Link = a.linkTo("Link to the proof", a.requestLink(r))
		m.Text = []string{
			"Send it as you would any link. Who opens it sees your words and your name first, then the pictures, and what their screen hides of them.",
			"It can be answered until " + date(time.UnixMilli(r.Ask.Expires).In(a.host.Clock.Wall().Location())) + ", by everybody who has it. Decisions appear on your desk.",
		}
		m.Buttons = onward
	case v == nil:
		m.Title = fmt.Sprintf("Version %d is there", n)
		m.Link = a.linkTo("Link to the proof, the same as before", a.requestLink(r))
		m.Text = []string{"Whoever opens the link again sees the new version with the old notes beside it. Nobody is told by themselves: send them a word."}
		m.Buttons = onward
	case j == nil && r.said != "": // refused
		m.Title = "It could not be sent"
		m.Lead = r.said
		m.Text = []string{"What you filled in is kept, and what was sent stays sealed."}
		m.Buttons = []pages.Button{{Action: "again", Label: "Try again", Main: true}, {Action: "back", Label: "Change it"}, cancel}
	case r.said != "":
		m.Title = "It waits to be sent"
		m.Lead = r.said
		m.Text = []string{"It is kept in this browser and goes on where it stopped, also if you close this page and come back. " + a.wait(j)}
		m.Buttons = append([]pages.Button{{Action: "now", Label: "Try now", Main: true}, cancel}, onward...)
	default:
		m.Title = "Sending the pictures"
		m.Lead = "Each is sealed here and laid into a box at " + a.server() + ". The link comes when all of them lie there, so that it never leads to half a proof."
		m.Text = []string{"If this page is closed it goes on at the next visit, where it stopped."}
		m.Buttons = []pages.Button{cancel}
		m.Keeping = pages.Keeping{}
	}
	if v != nil && v.unkept != nil {
		m.Text = append(m.Text, "This browser does not keep all of the pictures: "+reason(v.unkept)+". Leave the page open until all is sent.")
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
	share, there, words := v.progress()
	p := pages.Progress{Label: fmt.Sprintf("%d of %d pictures lie there", there, len(list)), Share: share, Text: words}
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
			a.say("The new version was called off. The one before stays as it is.")
		} else {
			a.say("It was deleted, here and at " + a.server() + ". Your words are still in the form.")
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
