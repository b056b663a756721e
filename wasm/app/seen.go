package app

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// seeing is a decision on the desk that is being looked at: a picture as it was meant, and as the screen showed it that it was decided on.
type seeing struct {
	request *request
	letter  *letter
	verdict *verdict
	model   *study.Model // of that screen; nil where it was not checked
	picture int
	checks  []*stored                 // of screens like the one here, latest first
	own     *stored                   // the sitting of the screen here that the view is corrected for; nil: none
	lights  map[string]*screen.Lights // by sitting, worked out once
	made    map[string]string         // by picture and sitting: the key of the view
	fetched map[int]bool              // pictures that were asked for at the box
	stage   string                    // how far the picture in sight is: see below
	share   float64
	trouble string // why something cannot be shown, in a sentence
	study   int    // 0 while none runs
	note    int    // the note in sight, from 1
	split   int    // per mille: where the divider's slider stood when it was drawn
	visit   int
}

// How far the picture in sight is.
const (
	seenFetching = "fetching" // it comes from its box
	seenMaking   = "making"   // the view of it is worked out
	seenHere     = "here"     // all that can be shown is
	seenFailed   = "failed"   // the picture cannot be shown
	seenPlain    = "plain"    // the picture is shown, the view of it cannot be
)

// openSeen opens a decision that stands; picture is the number of the one to begin with.
func (a *App) openSeen(l *letter, picture string) {
	r := a.mail.find(l.request)
	if r == nil || a.host.Easel == nil || a.host.Pictures == nil {
		return
	}
	var v *verdict
	for _, x := range a.verdicts(r) {
		if x.letter == l {
			v = x
		}
	}
	if v == nil || v.err != nil {
		return
	}
	s := &seeing{request: r, letter: l, verdict: v, lights: map[string]*screen.Lights{}, made: map[string]string{}, fetched: map[int]bool{}}
	if n, err := strconv.Atoi(picture); err == nil && n >= 0 && n < len(v.of.asked.Pictures) {
		s.picture = n
	}
	if len(l.Model) > 0 {
		if m, err := study.Unpack(l.Model); err == nil { // it stands, so it can be
			s.model = &m
		}
	}
	if s.model != nil {
		if s.checks = a.ownChecks(); len(s.checks) > 0 {
			s.own = s.checks[0]
		}
	}
	if !l.Read {
		l.Read = true
		a.keepLetter(l)
	}
	a.seen = s
	a.easel = easel{width: a.easel.width, height: a.easel.height, ratio: a.surface.Ratio}
	a.enter(Seen, false)
	a.fillSeen()
	a.seePicture()
}

// ownChecks are the finished sittings of this browser that tell what a screen like the one at hand does, latest first.
func (a *App) ownChecks() []*stored {
	var list []*stored
	for _, x := range a.shelf.sittings {
		c := x.Conditions
		if c.PixelRatio != a.surface.Ratio || c.Gamut != a.surface.Gamut || c.ColorDepth != a.surface.ColorDepth {
			continue
		}
		if _, why := usable(x, x.Plan.Aim); why == "" {
			list = append(list, x)
		}
	}
	return list
}

// ownLights is what a screen makes of codes, by a check of it in this browser.
func ownLights(x *stored) (*screen.Lights, error) {
	r, why := usable(x, x.Plan.Aim)
	if why != "" {
		return nil, errNothing
	}
	possible, _, err := worked(r)
	if err != nil {
		return nil, err
	}
	return screen.MiddleLights(possible), nil
}

// leaveSeen forgets the views that were made.
func (a *App) leaveSeen() {
	s := a.seen
	if s == nil {
		return
	}
	a.giveUp(s.study)
	a.dismiss("own screen")
	a.easel.show(nil)
	a.hang()
	var keys []string
	for _, k := range s.made {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	a.dropPictures(keys...)
	a.seen = nil
}

// asked is the picture in sight.
func (s *seeing) asked() record.Picture { return s.verdict.of.asked.Pictures[s.picture] }

// key is where that picture is in this browser; empty where it is not.
func (s *seeing) key() string { return s.verdict.of.Pictures[s.picture] }

// view names the view of it.
func (s *seeing) view() string {
	id := ""
	if s.own != nil {
		id = s.own.ID
	}
	return fmt.Sprintf("%d/%s", s.picture, id)
}

// seePicture brings the picture in sight, and then its view.
func (a *App) seePicture() {
	s := a.seen
	a.giveUp(s.study)
	s.visit++
	s.study, s.trouble, s.share, s.note = 0, "", -1, 0
	a.dismiss("own screen")
	switch {
	case s.key() == "" && s.fetched[s.picture]:
		s.stage, s.trouble = seenFailed, words.Say("It could not be fetched from %s.", a.server())
		a.easel.show(nil)
	case s.key() == "":
		a.fetchSeen()
	default:
		a.hangSeen()
		a.makeView()
	}
	a.hang()
	a.fillSeenParts()
}

// hangSeen hangs the picture as it was meant, and its view where there is one.
func (a *App) hangSeen() {
	s := a.seen
	p := s.asked()
	list := []Hung{{Key: s.key(), Name: words.Say("As it was meant"), Width: p.Width, Height: p.Height}}
	if k := s.made[s.view()]; k != "" {
		list = append(list, Hung{Key: k, Name: words.Say("As they saw it"), Width: p.Width, Height: p.Height})
		if len(a.easel.pictures) < 2 {
			a.easel.way = wayDivider
		}
	}
	a.easel.show(list)
	s.split = round(1000 * a.easel.divider)
	a.showSeenPins()
}

// showSeenPins shows the notes as pins.
func (a *App) showSeenPins() {
	s := a.seen
	var pins []Pin
	for i, n := range s.verdict.record.Pictures[s.picture].Notes {
		id := strconv.Itoa(i + 1)
		pins = append(pins, Pin{ID: id, X: n.X, Y: n.Y, Width: n.Width, Height: n.Height, Label: id, Current: s.note == i+1})
	}
	a.easel.pins = pins
}

// fetchSeen fetches the picture in sight from its box: it was sent from another browser, or is here no more.
func (a *App) fetchSeen() {
	s := a.seen
	s.fetched[s.picture], s.stage = true, seenFetching
	a.easel.show(nil)
	a.easel.pins = nil
	v, i, visit := s.verdict.of, s.picture, s.visit
	p, q := v.asked.Pictures[i], v.Parcels[i]
	key := encoded(chance(16))
	here := func() bool { return a.stage == Seen && a.seen == s && s.visit == visit }
	a.carry(Errand{What: GetParcel, Box: s.request.box(), Right: s.request.right(), ID: mailbox.ID(q.Name), Key: [32]byte(q.Key), Picture: key, Size: p.Size, Digest: p.Digest, Kind: p.Kind}, func(share float64) {
		if here() {
			s.share = share
			a.fillSeenParts()
		}
	}, func(_ Found, err error) {
		if err == nil && a.mail.find(s.request.Ask.name()) == s.request {
			s.request.takePicture(q, key)
			a.host.Pictures.Keep(key)
			a.keepRequest(s.request)
		} else {
			a.dropPictures(key)
		}
		switch {
		case !here():
			if err != nil {
				s.fetched[i] = false // it was looked away from meanwhile: another look tries again
			}
		case err != nil:
			s.stage, s.trouble = seenFailed, a.failure(err)
			a.hang()
			a.fillSeenParts()
		default:
			a.seePicture()
		}
	})
}

// takePicture notes in every round where a parcel's picture is in this browser.
func (r *request) takePicture(p parcel, key string) {
	for _, v := range r.Rounds {
		for i, q := range v.Parcels {
			if string(q.Name) == string(p.Name) {
				v.Pictures[i] = key
			}
		}
	}
}

// lostSeen takes that the picture in sight is not in this browser any more: it is fetched, once.
func (a *App) lostSeen() {
	s := a.seen
	p := s.verdict.of.Parcels[s.picture]
	if s.fetched[s.picture] {
		s.stage, s.trouble = seenFailed, words.Say("The picture cannot be shown by this browser.")
		a.easel.show(nil)
		return
	}
	s.request.takePicture(p, "")
	a.fetchSeen()
}

// makeView works out how the picture in sight looks on the screen that it was decided on, seen on the one here. What the screen here does comes first: that takes
// seconds, and is worked out once the page is up.
func (a *App) makeView() {
	s := a.seen
	switch {
	case s.model == nil, s.made[s.view()] != "":
		s.stage = seenHere
	case s.own == nil:
		a.askView(nil)
	case s.lights[s.own.ID] != nil:
		a.askView(s.lights[s.own.ID])
	default:
		s.stage = seenMaking
		visit := s.visit
		a.hire("own screen", func(j *job) {
			a.dismiss(j.name)
			if a.seen != s || s.visit != visit || s.own == nil {
				return
			}
			l, err := ownLights(s.own)
			if err != nil {
				s.own = nil // and the page says that no check is used
				a.fillSeen()
				a.seePicture()
				return
			}
			s.lights[s.own.ID] = l
			a.askView(l)
			a.fillSeenParts()
		})
		a.post.find("own screen").due = a.host.Clock.Now() + breath
		a.ring()
	}
}

// askView asks for the view of the picture in sight, seen on a screen with those lights; nil is one with the sRGB curve.
func (a *App) askView(on *screen.Lights) {
	s := a.seen
	s.stage = seenMaking
	key, view := encoded(chance(16)), s.view()
	s.study = a.study(study.Task{What: study.See, Picture: s.key(), To: key, Shown: &s.model.Lights, On: on}, func(share float64) {
		if s.share = share; a.seen == s {
			a.fillSeenParts()
		}
	}, func(found study.Found, err error) {
		if a.seen != s {
			a.dropPictures(key)
			return
		}
		s.study = 0
		switch {
		case errors.Is(err, ErrNoPicture):
			a.lostSeen()
		case err != nil:
			s.stage, s.trouble = seenPlain, words.Say("How it looked there cannot be worked out: %s.", reason(err))
		case found.Refused != nil:
			s.stage, s.trouble = seenPlain, words.Say("How it looked there cannot be worked out: %s", words.Found(found.Refused.Why))
		default:
			s.made[view], s.stage = key, seenHere
			a.hangSeen()
			a.host.Page.Say(words.Say("The picture as they saw it is beside the picture as it was meant."))
		}
		a.hang()
		a.fillSeenParts()
	})
}

// seenHung takes whether a picture is on the page.
func (a *App) seenHung(key string, _, _ int, ok bool) {
	s := a.seen
	if s == nil || ok {
		return
	}
	switch key {
	case s.key():
		a.giveUp(s.study)
		s.study = 0
		a.lostSeen()
	case s.made[s.view()]:
		delete(s.made, s.view())
		s.stage, s.trouble = seenPlain, words.Say("What was worked out cannot be shown by this browser.")
		a.hangSeen()
	default:
		return
	}
	a.hang()
	a.fillSeenParts()
}

// seenPin takes a press on a note.
func (a *App) seenPin(id string) {
	s := a.seen
	n, err := strconv.Atoi(id)
	notes := s.verdict.record.Pictures[s.picture].Notes
	if err != nil || n < 1 || n > len(notes) {
		return
	}
	s.note = n
	a.showSeenPins()
	x := notes[n-1]
	a.easel.reveal(area{x.X, x.Y, x.Width, x.Height})
	a.refill("notes", pages.ViewNotesOf(a.seenNotes()))
}

func (a *App) seenAction(name, id string) {
	s := a.seen
	if s == nil {
		return
	}
	if name != "note" && name != "hatch" && a.easel.action(name, id) {
		if name == "way" {
			s.split = round(1000 * a.easel.divider)
		}
		a.hang()
		return
	}
	n := len(s.verdict.of.asked.Pictures)
	switch name {
	case "desk":
		a.leaveSeen()
		a.openDesk()
	case "picture", "picture-back", "picture-on":
		to := s.picture
		switch name {
		case "picture":
			i, err := strconv.Atoi(id)
			if err != nil || i < 0 || i >= n {
				return
			}
			to = i
		case "picture-back":
			to = (to + n - 1) % n
		default:
			to = (to + 1) % n
		}
		if to != s.picture {
			s.picture = to
			a.seePicture()
		}
	case "note-show", "pin":
		a.seenPin(id)
		a.hang()
	case "own":
		s.own = nil
		for _, x := range s.checks {
			if x.ID == id {
				s.own = x
			}
		}
		a.fillSeen()
		a.seePicture()
	case "retry":
		s.fetched[s.picture] = false
		a.seePicture()
	case "print":
		a.host.Desk.Print()
	case "save-record":
		a.saveRecord(s.letter.Decision, s.letter.Came)
	case "read":
		a.leaveSeen()
		a.readLetter(s.letter)
	case "round":
		if a.alive(s.request) {
			a.leaveSeen()
			a.proofRound(s.request)
		}
	}
}

// setSeen takes a field of the page: where the divider stands.
func (a *App) setSeen(name, value string) {
	if n, err := strconv.Atoi(value); err == nil && name == "divider" && a.seen != nil {
		a.easel.split(float64(n) / 1000)
		a.hang()
	}
}
