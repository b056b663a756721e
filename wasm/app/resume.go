package app

import (
	"time"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// forgotten is how long after the last answer the instructions may be forgotten.
const forgotten = 30 * time.Minute

// resume asks what becomes of an unfinished sitting.
func (a *App) resume() {
	var found []pages.Item
	now := a.host.Clock.Wall()
	away := 0
	for _, x := range a.shelf.sittings {
		if x.State != open {
			continue
		}
		i := pages.Item{Title: title(x.Conditions.Screen)}
		if g := a.mail.given[x.Request]; g != nil {
			i.Text = append(i.Text, words.Say("Asked for by %s: %s.", g.by(), g.Ask.Title))
		}
		age := now.Sub(time.UnixMilli(x.Touched))
		if x.Touched == 0 {
			i.Text = append(i.Text, capital(x.far())+".")
		} else {
			i.Text = append(i.Text, words.Say("Last answer %s, %s.", ago(age), x.far()))
		}
		if a.away[x.ID] {
			away++
			i.Text = append(i.Text, words.Say("It is open in another tab of this browser. Go on with it there, or close that tab: it can then be continued here."))
			i.Buttons = []pages.Button{{Action: "elsewhere", ID: x.ID, Label: words.Say("Leave it there and prepare another sitting")}}
			found = append(found, i)
			continue
		}
		anew := pages.Button{Action: "aside", ID: x.ID, Label: words.Say("Start anew, keep this one aside")}
		if why := x.refused(); why != "" {
			i.Text = append(i.Text, why)
			i.Buttons = []pages.Button{{Action: "answers", ID: x.ID, Label: words.Say("Save what was answered"), Main: true}, anew}
		} else {
			if age > forgotten {
				i.Text = append(i.Text, words.Say("That is a while ago, and the instructions may be forgotten: practice is offered again."))
			}
			i.Buttons = []pages.Button{{Action: "continue", ID: x.ID, Label: words.Say("Continue it"), Main: true}, anew}
		}
		i.Buttons = append(append(i.Buttons, x.earlier()...), a.shelf.remove(x)...)
		found = append(found, i)
	}
	if len(found) == 0 {
		a.unresumed()
		return
	}
	again := a.stage == Resume
	a.enter(Resume, false)
	a.fill("stage", pages.ResumePage(found))
	a.fill("bar", none)
	a.fillKept()
	a.tell("message", a.shelf.trouble())
	if !again {
		a.claim()
	}
	if away == len(found) {
		a.host.Page.Say(words.Say("The sitting is open in another tab of this browser."))
	}
}

// title names a screen that may have no name.
func title(screen string) string {
	if screen == "" {
		return words.Say("A screen without a name")
	}
	return capital(screen)
}

// shelfAction is what can be done with the sittings kept, on the pages that list them; false when name is none of it.
func (a *App) shelfAction(name, id string) bool {
	x := a.shelf.find(id)
	if x == nil {
		return false
	}
	again := func() {
		if a.stage == Resume {
			a.resume()
		} else {
			a.fillKept()
		}
	}
	switch name {
	case "continue":
		a.carryOn(x)
	case "elsewhere":
		a.unresumed()
	case "aside":
		// What is broken is left as it is on the shelf and comes up again at the next visit.
		a.retitle(x, aside)
		if a.stage == Resume {
			a.resume()
		}
	case "answers":
		a.host.Desk.Save(fileName(x.Conditions.Screen, x.Touched, "answers", "json"), "application/json", a.answers(x))
	case "save":
		a.host.Desk.Save(fileName(x.Conditions.Screen, x.Touched, "record", "json"), "application/json", x.record)
	case "open":
		a.open(x.record, x)
	case "delete":
		if a.shelf.sure != id {
			a.shelf.sure = id
		} else {
			a.shelf.sure = ""
			a.forget(x)
		}
		again()
	case "spare":
		a.shelf.sure = ""
		again()
	default:
		return false
	}
	return true
}
