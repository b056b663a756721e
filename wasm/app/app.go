// Package app is the browser program without the browser: events come in, frames and fragments of a page go out.
//
// It runs in native tests as it does in a browser. It is not safe for concurrent use: everything is called from one thread, and what takes long
// (storage, a file being read) comes back as another event.
package app

import (
	"image"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// A Stage is what the person is doing. It stands in the page as data-stage of the body.
type Stage string

const (
	Resume  Stage = "resume"  // an unfinished sitting was found: what becomes of it?
	Prepare Stage = "prepare" // settings, distance, length; and the look at fine lines
	Intro   Stage = "intro"   // a check is introduced while its field fades in
	Sitting Stage = "sitting" // presentations and the rests between them
	Paused  Stage = "paused"
	Report  Stage = "report"
	Compare Stage = "compare" // two sittings side by side
	White   Stage = "white"   // a plain white field, for another screen to be held against
	Trouble Stage = "trouble" // something is in the way, in words

	Asking Stage = "ask"   // somebody is to be asked for a check: what for?
	Made   Stage = "made"  // the link to a request
	Fetch  Stage = "fetch" // a request is being fetched
	Asked  Stage = "asked" // a request to the person at this browser
	MyDesk Stage = "desk"  // requests of this browser's owner, and the answers

	Proofing Stage = "proof"  // pictures are chosen for somebody to decide on
	Viewing  Stage = "view"   // pictures are decided on
	Seen     Stage = "seen"   // a decision on the desk: a picture as the one who decided saw it
	Verify   Stage = "record" // does a record of a decision stand?

	Plate Stage = "plate" // patterns on their own: the list of them, or one

	After   Stage = "after"   // a profile and readings of a screen that was calibrated
	Journal Stage = "journal" // the screens of this browser, and what was found of each over time
)

// A Canvas is where frames go.
type Canvas interface {
	Show(frame *image.RGBA, wide bool) // puts every pixel of frame on a pixel of the canvas, at once; wide says that they are colours of Display P3
	Mark(data string)                  // what data-presentation says; empty takes it away
}

// A Page is everything around the canvas.
type Page interface {
	Set(name, value string) // data-name of the body
	Fill(id, html string)   // replaces what is inside the element with that id
	Say(text string)        // to a screen reader
	Amiss(field string)     // gives the keyboard to the form field of that name and marks it, and no other; empty takes the mark away
}

// A Clock tells time and wakes the program.
type Clock interface {
	Now() time.Duration       // since an arbitrary moment, never backwards: the clock that events are stamped with
	Wall() time.Time          // of the calendar
	Wake(after time.Duration) // calls Woke once, at the first animation frame after that long; only the latest call counts
}

// A Row is one thing kept: a key in a drawer, with JSON. A nil Value deletes it.
type Row struct {
	Drawer, Key string
	Value       []byte
}

// A Shelf keeps rows across visits. Only one write is on its way at a time.
type Shelf interface {
	Read()                    // answered by Shelved with all rows but those of the drawer Files, in the order of their keys
	Fetch(drawer, key string) // answered by Fetched
	Write(rows []Row)         // all of them or none; answered by Stored
	Persist()                 // asks the browser not to clear them away; answered by Persisted
}

// A Desk is how things leave the program.
type Desk interface {
	Save(name, kind string, data []byte)
	Print()
	FullScreen(on bool)
}

// Links are how an address leaves the program, and how another one is gone to.
type Links interface {
	Copy(text string)            // puts it on the clipboard; answered by Copied
	Share(title, address string) // opens the system's share sheet
	Open(address string)         // leaves this page for another of this site; an empty one loads this page anew
	Whole()                      // loads this page anew with the whole program, now and from now on
	At(path, title string)       // says in the address what the page is now, without leaving it
}

// Locks keep what one tab works at from other tabs.
type Locks interface {
	Take(name string)    // answered by Locked: at once with whether this tab has it, and once more when another tab that had it let go
	Release(name string) // lets go, or gives up waiting
}

// A Host is the browser. Without Post, Timer and Links nothing can be asked or answered, and checks go on as ever.
type Host struct {
	Canvas Canvas
	Page   Page
	Clock  Clock
	Shelf  Shelf
	Desk   Desk
	Locks  Locks
	Post   Post
	Timer  Timer
	Links  Links

	Pictures Pictures // nil where no pictures can be decided on
	Easel    Easel
}

// An App is the program.
type App struct {
	host    Host
	browser Browser
	program string
	seed    uint64

	stage   Stage
	surface Surface
	form    form
	shelf   shelf
	frame   *image.RGBA
	field   field
	focused bool
	visible bool

	profile string          // what the browser made of the picture with a profile: honoured, ignored; empty when not known
	held    map[string]bool // sittings that are this tab's
	away    map[string]bool // sittings that another tab has
	wanted  string          // the sitting to go on with as soon as it is this tab's and read again

	lines   bool // the look at fine lines is up, in the stage Prepare
	sitting *sitting
	shown   *shown // the report on the page
	back    Stage  // where Trouble leads back to
	message string // about the last thing done, on Prepare and Report

	link    string // the secret part of the page's address, behind its #
	mail    mail
	post    outbox
	asking  asking   // the form of the stage Asking
	lacking string   // the field of it that was found empty
	made    *request // of the stage Made
	given   *given   // the request that is being answered, or nil
	pasted  string   // in place of a link that cannot be opened
	whole   bool     // an answer is to hold every judgement

	choosing bool // what to send of the report on the page

	filled map[string]string // by id: what refill put into the page of this stage
	desk   desktop

	studies  studies
	easel    easel
	viewing  viewing  // of the stage Viewing
	proofing proofing // the form of the stage Proofing
	seen     *seeing  // of the stage Seen
	verify   verify   // of the stage Verify

	plate plating // of the stage Plate

	after   after // of the stage After
	journal journal
}

// New makes the program, version named by program. Seed must differ from one visit to the next.
func New(h Host, b Browser, program string, seed uint64) *App {
	a := &App{host: h, browser: b, program: program, seed: seed, focused: true, visible: true, held: map[string]bool{}, away: map[string]bool{}}
	a.form = form{settings: map[string]string{}, length: check.Standard, aim: screen.Aims[0].ID}
	return a
}

// Begin starts on a surface and asks the shelf what is on it. Wishes are the parameters of the page's address; those it knows are
// taken as if they had been chosen on the preparation page. The wish "#white" asks for a white field and nothing else; "?" is the whole query.
func (a *App) Begin(s Surface, wishes map[string]string) {
	a.surface = s
	a.size()
	a.field.code = s.Room
	if _, ok := wishes["#white"]; ok {
		a.white()
		return
	}
	if a.browser.Page == "pattern" {
		a.openPlates(wishes["?"])
		return
	}
	for name, value := range wishes {
		if f, ok := strings.CutPrefix(name, "#"); ok {
			a.link = f
		}
		if name == "length" || name == "aim" || name == "screen" || name == "mode" || name == "viewer" {
			a.form.set(name, value)
		}
	}
	a.shelf.reading = true
	a.host.Shelf.Read()
}

// Stage is what the person is doing; empty until the shelf was read.
func (a *App) Stage() Stage { return a.stage }

// enter is the only place where the stage changes. over says whether the page lies over the field or covers it.
func (a *App) enter(s Stage, over bool) {
	was := a.working()
	a.stage, a.filled = s, nil
	a.pick(pickNone)
	if Whole && was && !a.working() {
		a.hurry()
	}
	a.host.Page.Set("stage", string(s))
	if over {
		a.host.Page.Set("over", "field")
	} else {
		a.host.Page.Set("over", "")
		a.field.stop(a.surface.Room)
	}
	a.ground()
}

// ground tells the page whether what lies over the field is written in light or in dark.
func (a *App) ground() {
	// From 100 on black is read better than the light grey of code 200 in which words are written on dark, by the contrast of WCAG 2.2.
	if a.field.code >= 100 {
		a.host.Page.Set("ground", "light")
	} else {
		a.host.Page.Set("ground", "dark")
	}
}

// size makes the buffer as large as the canvas.
func (a *App) size() {
	if a.surface.Width < 1 || a.surface.Height < 1 {
		a.frame = nil
		return
	}
	r := image.Rect(0, 0, a.surface.Width, a.surface.Height)
	if a.frame == nil || a.frame.Rect != r {
		a.frame = image.NewRGBA(r)
	}
}

// Surface takes a change of the canvas, of the window or of the screen it is on.
func (a *App) Surface(s Surface) {
	was := a.surface
	a.surface = s
	a.size()
	what := was.changed(s)
	switch {
	case a.stage == Sitting && what != "":
		a.pause(what)
	case a.stage == Trouble && a.back == Prepare && a.tight() == "":
		a.prepare()
	case a.stage == Prepare && a.lines:
		a.showLines()
	case a.stage == Prepare:
		a.refresh()
	case a.stage == White:
		a.showField()
	case a.stage == Plate:
		a.plateSurface()
	case a.stage == Intro, a.stage == Paused:
		a.repaint()
		if a.stage == Paused {
			a.sitting.note(what)
			a.fillPaused()
		}
	}
}

// Visible takes the page being hidden or shown.
func (a *App) Visible(on bool) {
	a.visible = on
	if !on {
		a.pause("The page was hidden.")
		return
	}
	a.wake()
}

// Focus takes the window losing or getting the keyboard.
func (a *App) Focus(on bool) {
	a.focused = on
	if !on {
		a.pause("The window lost the keyboard.")
		return
	}
	a.wake()
}

// Moved takes another part behind the # of the page's address. On a page that opens links it is another link to open.
func (a *App) Moved(fragment string) {
	if a.browser.Page == "request" && fragment != a.link && fragment != "stage" {
		a.Leaving()
		a.host.Links.Open("")
	}
}

// Leaving takes the page being closed or left.
func (a *App) Leaving() {
	a.pause("The page was left.")
}

// Woke takes the alarm set by Wake.
func (a *App) Woke() {
	now := a.host.Clock.Now()
	a.fade(now)
	switch a.stage {
	case Intro:
		a.introduced(now)
	case Sitting:
		a.tick(now)
	case Plate:
		a.plateTick(now)
	}
	a.alarm(now)
}

// alarm sets the next alarm, if anything is due.
func (a *App) alarm(now time.Duration) {
	due, any := a.field.due()
	if s := a.sitting; s != nil {
		if t, ok := s.due(a.stage, now, any); ok && (!any || t < due) {
			due, any = t, true
		}
	}
	if t, ok := a.plateDue(); ok && (!any || t < due) {
		due, any = t, true
	}
	if any {
		a.host.Clock.Wake(max(0, due-a.host.Clock.Now())) // what was done since now is part of the wait
	}
}

// Key takes a key that went down: its KeyboardEvent.code, and when. It returns whether the key meant something.
func (a *App) Key(code string, at time.Duration) bool {
	if Whole && a.hangs() {
		return a.easelKey(code)
	}
	if a.stage == White && code == "Escape" {
		a.leaveWhite()
		return true
	}
	if a.stage == Plate {
		return a.plateKey(code)
	}
	if a.stage != Sitting {
		return false
	}
	switch code {
	case "Escape":
		a.pause("You paused.")
	case "Backspace":
		a.takeBack()
	default:
		return a.press(code, at) || code == "Space"
	}
	return true
}

// Pointer takes a press on the canvas, in its pixels.
func (a *App) Pointer(x, y int, at time.Duration) {
	if a.stage == Plate {
		a.platePress()
		return
	}
	// The plain side of a setting is what lighter and darker both point at: its answers are keys and buttons.
	if a.stage != Sitting || !a.sitting.up || a.sitting.now.Kind == check.Setting {
		return
	}
	for _, c := range a.sitting.now.Choices {
		if image.Pt(x, y).In(c.Rect) {
			a.press(c.Key, at)
			return
		}
	}
}

// Action takes a press of a button on the page: its data-action and data-id.
func (a *App) Action(name, id string) {
	at := a.host.Clock.Now()
	switch a.stage {
	case Resume, Prepare:
		if a.shelfAction(name, id) || a.stage == Prepare && a.prepareAction(name) {
			return
		}
	case Intro, Sitting, Paused:
		a.sittingAction(name, id, at)
	case Report:
		a.reportAction(name, id)
	case Compare:
		a.compareAction(name)
	case White:
		a.whiteAction(name)
	case Plate:
		a.plateAction(name, id)
	case Trouble:
		a.troubleAction(name)
	default:
		if Whole {
			a.wholeAction(name, id)
		}
	}
}

// Input takes a change of a form field.
func (a *App) Input(name, value string) {
	switch a.stage {
	case Prepare:
		asked := a.given != nil && (name == "length" || name == "aim")
		if !asked && !a.nameInput(name, value) && a.form.set(name, value) {
			a.changed(name)
		}
	case Report:
		if name == "whole" {
			a.whole = value == "yes"
		}
	case Trouble:
		if name == "paste" {
			a.pasted = value
		}
	default:
		if Whole {
			a.wholeInput(name, value)
		}
	}
}

// next53 is the next seed: splitmix64 (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators"), cut below 2^53.
func (a *App) next53() uint64 {
	a.seed += 0x9e3779b97f4a7c15
	z := a.seed
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return (z ^ z>>31) >> 11
}
