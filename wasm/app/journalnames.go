package app

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// screensKnown are the screens of the journal with their modes as they are shown, the one looked at last first.
func (a *App) screensKnown() []screenMode {
	var list []screenMode
	for _, v := range a.volumes() {
		if v.Screen != "" || v.Mode != "" {
			list = append(list, v.screenMode)
		}
	}
	return list
}

// volumes are the chapters of the journal with what belongs to each.
func (a *App) volumes() []*volume { return a.journal.book.volumes(a.shelf.sittings) }

// fillNames shows the fields of a screen's name and mode, on the pages that have a place for them, and what the journal knows of it.
func (a *App) fillNames() {
	v := pages.ScreenFields{Screen: a.form.screen, Mode: a.form.mode}
	now := screenMode{a.form.screen, a.form.mode}
	for i, n := range a.screensKnown() {
		v.Known = append(v.Known, pages.Option{Value: strconv.Itoa(i), Label: n.called(), Chosen: n.key() == now.key()})
	}
	a.fill("names", pages.ScreenNames(v))
	a.fillLast()
}

// fillLast shows what the journal knows of the screen that is named.
func (a *App) fillLast() { a.refill("last", pages.ScreenLast(a.lastSeen())) }

// lastSeen is what the journal knows of the screen that is named.
func (a *App) lastSeen() (v pages.ScreenFields) {
	n := screenMode{a.form.screen, a.form.mode}
	if n.Screen == "" && n.Mode == "" {
		return v
	}
	now := a.host.Clock.Wall()
	other := time.Duration(-1) // since another mode of this screen was looked at
	for _, x := range a.volumes() {
		at := x.looked()
		if at == 0 {
			continue
		}
		age := now.Sub(time.UnixMilli(at))
		switch {
		case x.named(n):
			v.Last = words.Say("Last looked at %s.", ago(age))
			next, due := x.dueWords(now)
			v.Last, v.Due = strings.TrimSpace(v.Last+" "+next), due
			return v
		case (screenMode{Screen: x.Screen}).key() == (screenMode{Screen: n.Screen}).key() && (other < 0 || age < other):
			other = age
			v.Last = words.Say("New to the journal. This screen was last looked at %s.", ago(age))
			if x.Mode != "" {
				v.Last = words.Say("New to the journal. This screen was last looked at %s, in the mode \"%s\".", ago(age), seen(x.Mode))
			}
		}
	}
	return v
}

// nameInput takes a change of one of the fields of fillNames; false when name is none of them.
func (a *App) nameInput(name, value string) bool {
	switch name {
	case "known":
		n := screenMode{}
		if i, err := strconv.Atoi(value); err == nil {
			if list := a.screensKnown(); i >= 0 && i < len(list) {
				n = list[i]
			}
		}
		a.form.screen, a.form.mode = line(n.Screen), line(n.Mode)
		a.fillNames()
	case "screen", "mode":
		a.form.set(name, value)
		a.fillLast()
	default:
		return false
	}
	return true
}

// at is a page of the site about a screen in a mode.
func (n screenMode) at(path string) string {
	q := url.Values{}
	if n.Screen != "" {
		q.Set("screen", n.Screen)
	}
	if n.Mode != "" {
		q.Set("mode", n.Mode)
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}
