package app

import (
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// trouble shows what is in the way. Back leads to the stage back.
func (a *App) trouble(back Stage, t pages.Notice) {
	a.back = back
	a.enter(Trouble, false)
	a.fill("stage", pages.TroublePage(t))
	a.fill("bar", none)
}

func (a *App) troubleAction(name string) {
	switch name {
	case "back":
		a.prepare()
	case "reload":
		a.host.Links.Open("")
	case "check":
		a.host.Links.Open(a.browser.Origin + words.Path("/check"))
	}
	if !Whole {
		return
	}
	switch name {
	case "paste":
		a.paste()
	case "now":
		a.hurry()
	case "desk":
		a.openDesk()
	case "take-desk":
		a.takeDesk()
	}
}
