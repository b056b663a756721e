package app

import "example.org/plumb/web/words"

// An unfinished sitting belongs to one tab. Another tab that finds it says so, and offers to go on with it once the first has let go.

// Locked takes the answer to Take.
func (a *App) Locked(id string, ok bool) {
	was := a.away[id]
	if Whole && (a.lockedPictures(id, ok) || a.lockedJournal(id, ok)) {
		return
	}
	if !ok {
		a.away[id] = true
		if a.wanted == id {
			a.wanted = ""
		}
		if a.stage == Resume {
			a.resume()
		} else if a.stage == Prepare && !a.lines {
			a.fillKept()
			a.say(words.Say("That sitting is open in another tab of this browser."))
		} else if a.stage == Report {
			a.say(words.Say("This sitting is being taken further in another tab of this browser."))
		}
		return
	}
	delete(a.away, id)
	if a.held[id] {
		return
	}
	a.held[id] = true
	if a.stage == Report && a.wanted == id && !was {
		a.goOn()
		return
	}
	// What the other tab answered meanwhile is on the shelf.
	if (was || a.wanted == id) && (a.stage == Resume || a.stage == Prepare) {
		a.shelf.reading = true
		a.host.Shelf.Read()
	}
}

// release lets a sitting go.
func (a *App) release(id string) {
	delete(a.held, id)
	delete(a.away, id)
	a.host.Locks.Release(id)
}

// claim asks for every sitting that is about to be offered.
func (a *App) claim() {
	for _, x := range a.shelf.sittings {
		if x.State == open && !a.held[x.ID] && !a.away[x.ID] {
			a.host.Locks.Take(x.ID)
		}
	}
}
