package app

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

const (
	restTime  = 400 * time.Millisecond // least time between presentations
	trialTime = 500 * time.Millisecond // least time from one presentation to the next: at most two a second
)

// A sitting is the one that runs.
type sitting struct {
	*stored
	run  *check.Sitting
	now  check.Presentation
	told map[check.Aspect]bool // which checks were introduced since the program was loaded
	last check.Aspect          // of the presentation that came up last: another check lets the eyes settle first
	far  int                   // how much of the sitting is done, in per cent: it never goes back

	up      bool          // the presentation is on the canvas
	asking  bool          // an answer was given, and what comes next is not chosen yet
	resting bool          // it is chosen, and about to come up
	painted bool          // it is in the buffer
	moved   bool          // a setting moved and is to be painted again
	shown   time.Duration // when it came up
	seq     int           // rises with every frame

	answered time.Duration // when the pattern went after the last answer, or the sitting was entered
	restEnd  time.Duration
	settled  time.Duration // intro: when the eyes are
	eager    bool          // intro: the viewer wants to go on
	line     string        // intro: the line last shown about what is waited for

	resumed bool
	advised bool
	reason  string    // why it paused, in the language spoken
	again   bool      // and a question was up
	left    time.Time // when it paused
	closing int       // the sitting is over: 1 the report is to be made, 2 it is made and the field goes back to the page's ground, 3 its page is made
	report  *shown
	page    string // of the report
	work    *slow  // what is worked out of the sitting just now: what comes next, or the report
}

// settle ends what is worked out of the sitting, at once: whoever changes the sitting waits for it.
func (s *sitting) settle() {
	s.work.end()
	s.work = nil
}

// sliced does a slice of some work of the sitting, which it begins if none is under way, and returns whether it is done.
func (a *App) sliced(work func()) bool {
	s := a.sitting
	if s.work == nil {
		s.work = slowly(a.host.Clock, func(pause func()) {
			s.run.Breathe(pause)
			work()
			s.run.Breathe(nil)
		})
	}
	if s.work.on() {
		return false
	}
	s.work = nil
	return true
}

// sit begins a sitting.
func (a *App) sit(p check.Plan) {
	run, err := check.Begin(p)
	if err != nil {
		a.message = words.Say("The sitting cannot begin: %s.", words.Found(err.Error()))
		a.prepare()
		return
	}
	now := a.host.Clock.Wall()
	x := &stored{heading: heading{
		Version: headings,
		ID:      strconv.FormatInt(now.UnixMilli(), 36) + "-" + strconv.FormatUint(p.Seed&0xffffff, 36),
		Program: a.program,
		State:   open,
		Plan:    p,
	}}
	if a.given != nil {
		x.Request = a.given.Ask.name()
	}
	if Whole && a.aimed() {
		a.keepLaid()
	}
	x.Conditions = a.conditions()
	x.Conditions.Started = now.UnixMilli()
	a.shelf.sittings = append([]*stored{x}, a.shelf.sittings...)
	a.held[x.ID] = true
	a.host.Locks.Take(x.ID)
	a.sitting = &sitting{stored: x, run: run, told: map[check.Aspect]bool{}}
	if !a.shelf.asked {
		a.shelf.asked = true
		a.host.Shelf.Persist()
	}
	a.lines = false
	a.next()
	if a.sitting != nil {
		a.keep(open)
	}
}

// carryOn continues a sitting from the shelf, once it is this tab's.
func (a *App) carryOn(x *stored) {
	if x.refused() != "" {
		return
	}
	if !a.held[x.ID] {
		a.wanted = x.ID
		a.host.Locks.Take(x.ID)
		return
	}
	a.wanted = ""
	run, err := check.Resume(x.Plan, x.log)
	if err != nil {
		x.broken = words.Say("It cannot be continued: %s.", words.Found(err.Error()))
		a.retitle(x, x.State)
		x.State = open
		a.resume()
		return
	}
	now := a.host.Clock.Wall()
	age := now.Sub(time.UnixMilli(x.Touched))
	a.sitting = &sitting{stored: x, run: run, told: map[check.Aspect]bool{}, resumed: true, advised: age > forgotten}
	a.sitting.note(fmt.Sprintf("Continued %s after the last answer.", spell(age)))
	c := a.conditions()
	if was := x.Conditions; c.Width != was.Width || c.Height != was.Height || c.PixelRatio != was.PixelRatio || c.Gamut != was.Gamut {
		a.sitting.note(fmt.Sprintf("Continued on %d x %d pixels at a scale of %.4g; begun on %d x %d at %.4g.", c.Width, c.Height, c.PixelRatio, was.Width, was.Height, was.PixelRatio))
	}
	x.Conditions.Exact = x.Conditions.Exact && c.Exact
	a.shelf.sure = ""
	if t := a.tight(); t != "" {
		a.enter(Paused, true)
		a.sitting.reason = words.Say("The sitting is ready to go on.")
		a.fillPaused()
		return
	}
	a.next()
	if a.sitting != nil {
		a.keep(open)
	}
}

// conditions is what is known now about screen, browser and room.
func (a *App) conditions() report.Conditions {
	f, s := &a.form, &a.surface
	c := report.Conditions{
		Screen: f.screen, Mode: f.mode, Viewer: f.viewer,
		Width: s.Width, Height: s.Height, PixelRatio: s.Ratio, Exact: s.Inexact() == "", FullScreen: s.FullScreen,
		Gamut: s.Gamut, DynamicRange: s.DynamicRange, ColorDepth: s.ColorDepth, ForcedColors: s.ForcedColors,
		CanvasNoise: a.browser.CanvasNoise, Timer: a.browser.Timer, Browser: a.browser.Name,
		Profile: a.profile, Twin: f.twin, Zoom: s.Zoom, WideCanvas: a.browser.Wide,
		Room: f.room, Distance: f.centimetres(), Pitch: f.pitch, Melt: f.melt, Even: f.even, Vision: f.vision,
	}
	for name, value := range f.settings {
		if c.Settings == nil {
			c.Settings = map[string]string{}
		}
		c.Settings[name] = value
	}
	return c
}

// note keeps what disturbed the sitting, in the English of its record.
func (s *sitting) note(what string) {
	// A window that is dragged about would fill the record; what is beyond this says nothing new.
	const most = 100
	if what != "" && len(s.Conditions.Disturbances) < most {
		s.Conditions.Disturbances = append(s.Conditions.Disturbances, what)
	}
}

// next leads to the next presentation, by way of an introduction if its check was not introduced, or to the end.
func (a *App) next() {
	s := a.sitting
	s.up, s.asking, s.resting, s.painted, s.moved, s.eager = false, false, false, false, false, false
	a.host.Canvas.Mark("")
	if a.frame == nil {
		a.pauseFor("The window has no room for a pattern.")
		return
	}
	p, more := s.run.Present(a.frame.Rect)
	if !more {
		a.finish()
		return
	}
	s.now = p
	if !s.told[p.Check] || s.last != p.Check {
		a.introduce()
		return
	}
	a.rest()
}

// introduce opens a check, while its field fades in. A check that was met before needs no more than time for the eyes.
func (a *App) introduce() {
	s := a.sitting
	now := a.host.Clock.Now()
	a.enter(Intro, true)
	a.showField()
	a.to(s.now.Ground, now)
	s.settled = now + stepTime*time.Duration(1+len(a.field.rest)) + time.Duration(check.Introduce(s.now.Check).Settle)*time.Second
	a.fillIntro()
	a.alarm(now)
}

func (a *App) fillIntro() {
	s := a.sitting
	in := check.Introduce(s.now.Check)
	v := pages.Over{Title: words.Found(in.Title), Text: strings.Split(words.Found(in.Text), "\n"), Wait: a.waiting(a.host.Clock.Now())}
	forward := words.Say("Begin")
	if s.now.Done > 0 {
		forward = words.Say("Go on")
	}
	if s.met() {
		v.Title = words.Say("%s again", v.Title)
		v.Text = []string{words.Say("A few more of these, because they are expected to tell the most now. It goes on by itself.")}
	} else {
		if fine[s.now.Check] {
			v.Text = append(v.Text, a.form.lean())
		}
		if s.now.Done > 0 {
			v.Text = append(v.Text, s.progress())
		}
	}
	v.Buttons = []pages.Button{{Action: "continue", Label: forward, Main: true}}
	if s.resumed && s.now.Kind != check.Practice && !s.met() {
		if s.advised {
			v.Text = append(v.Text, words.Say("It was a while ago that you did this. A few practice questions first do no harm; they are not counted."))
		}
		v.Buttons = append(v.Buttons, pages.Button{Action: "practise", Label: words.Say("Practise first")})
	}
	v.Buttons = append(v.Buttons, a.screenButtons()...)
	v.Buttons = append(v.Buttons, pages.Button{Action: "stop", Label: words.Say("Stop here")})
	s.line = v.Wait
	if s.now.Check == check.White && s.Plan.Reference == check.OtherScreen && !s.met() {
		a.fill("stage", besides(pages.OverPage(v), a.whiteLink()))
	} else {
		a.fillOver(v)
	}
	a.fillBar()
}

// met tells whether the check at hand was introduced before.
func (s *sitting) met() bool { return s.told[s.now.Check] }

// fine are the checks whose patterns are lines one pixel thick.
var fine = map[check.Aspect]bool{check.Tone: true, check.Neutrals: true, check.Channels: true, check.Angle: true}

// waiting is what an introduction waits for; empty when nothing.
func (a *App) waiting(now time.Duration) string {
	s := a.sitting
	switch left := s.settled - now; {
	case len(a.field.rest) > 0 && s.eager:
		return words.Say("It begins when the field has changed.")
	case len(a.field.rest) > 0:
		return words.Say("The field is changing slowly, so that nothing flashes.")
	case left > 0:
		return words.Say("Let your eyes settle on it: best after another %d s.", int((left+time.Second-1)/time.Second))
	}
	return ""
}

// introduced keeps an introduction up to date, and leaves it when the viewer wants to go on and the field is there.
func (a *App) introduced(now time.Duration) {
	s := a.sitting
	if len(a.field.rest) == 0 && (s.eager || s.met() && now >= s.settled) {
		s.told[s.now.Check], s.last = true, s.now.Check
		a.settleConditions()
		a.rest()
		return
	}
	if w := a.waiting(now); w != s.line {
		s.line = w
		a.words("wait", w)
	}
}

// settleConditions takes the canvas as it is when the first question comes up: full screen is often entered just before.
func (a *App) settleConditions() {
	s := a.sitting
	if len(s.log) > 0 {
		return
	}
	c, now := &s.Conditions, a.conditions()
	c.Width, c.Height, c.PixelRatio, c.Exact, c.FullScreen = now.Width, now.Height, now.PixelRatio, now.Exact, now.FullScreen
	if f := a.surface.Filter; f != "" {
		s.note("The page was drawn through a filter (" + f + "), which what was seen includes.")
	}
}

// rest shows the ground alone until the next presentation is due, and longer while it fades to another.
func (a *App) rest() {
	s := a.sitting
	now := a.host.Clock.Now()
	if why := a.obstacle(); why != "" {
		a.pauseFor("")
		return
	}
	if a.stage != Sitting {
		s.answered = now
		a.enter(Sitting, true)
		a.fill("stage", none)
	}
	s.resting, s.painted, s.up, s.asking = true, false, false, false
	s.restEnd = max(s.answered+restTime, s.shown+trialTime)
	if a.to(s.now.Ground, now) {
		s.run.Rest(a.frame)
		a.host.Canvas.Show(a.frame, false)
	} else {
		a.showField()
	}
	a.fillBar()
	a.alarm(now)
}

// due is when the sitting has something to do next.
func (s *sitting) due(stage Stage, now time.Duration, fading bool) (time.Duration, bool) {
	switch {
	case s.closing == 1, s.closing > 1 && !fading, s.asking:
		return now, true
	case stage == Intro && s.eager && !fading:
		return now, true
	case stage == Intro && s.met() && !fading:
		return max(now, min(s.settled, now+time.Second)), true
	case stage == Intro && now < s.settled:
		return min(s.settled, now+time.Second), true
	case stage == Sitting && s.resting && !fading && s.painted:
		return s.restEnd, true
	case stage == Sitting && (s.resting && !fading || s.moved):
		return now, true
	}
	return 0, false
}

// tick chooses what comes next and paints ahead during a rest, ends it, and paints a setting that moved: once for every animation frame, however many keys there were.
func (a *App) tick(now time.Duration) {
	s := a.sitting
	switch {
	case s.closing > 0:
		a.close()
	case s.asking:
		if a.sliced(s.run.Ready) {
			a.next()
		}
	case s.resting && len(a.field.rest) > 0:
		s.restEnd = max(s.restEnd, now+restTime)
	case s.resting && !s.painted:
		s.run.Frame(a.frame)
		s.painted = true
	case s.resting && now >= s.restEnd:
		a.host.Canvas.Show(a.frame, s.now.Wide)
		s.resting, s.up, s.shown = false, true, a.host.Clock.Now()
		a.mark()
		a.host.Page.Say(words.Found(s.now.Question))
	case s.moved:
		s.moved = false
		s.run.Frame(a.frame)
		a.host.Canvas.Show(a.frame, s.now.Wide)
		a.mark()
	}
}

func (a *App) mark() {
	s := a.sitting
	s.seq++
	a.host.Canvas.Mark(presentation(s.seq, s.now))
}

// wall is the moment on the calendar of an event's stamp.
func (a *App) wall(at time.Duration) time.Time {
	return a.host.Clock.Wall().Add(at - a.host.Clock.Now())
}

// press puts a key to the sitting; false when it is no choice, or nothing is up.
func (a *App) press(key string, at time.Duration) bool {
	s := a.sitting
	// A key that went down before the frame came up was meant for the one before.
	if !s.up || at < s.shown {
		return false
	}
	switch s.run.Press(key, a.wall(at), at-s.shown) {
	case check.Adjusted:
		s.now, _ = s.run.Present(a.frame.Rect)
		s.moved = true
		a.alarm(a.host.Clock.Now())
	case check.Judged:
		// The pattern goes at once. What comes next is chosen at the next animation frame, within the rest.
		s.up, s.asking = false, true
		a.host.Canvas.Mark("")
		a.showField()
		s.answered = a.host.Clock.Now() // the rest is one for the eyes
		a.keep(open)
		a.alarm(s.answered)
	default:
		return false
	}
	return true
}

// takeBack asks the last question again.
func (a *App) takeBack() {
	s := a.sitting
	if s.closing > 0 {
		return
	}
	s.settle()
	if !s.run.TakeBack() {
		return
	}
	if a.stage == Paused {
		if p, ok := s.run.Present(a.frame.Rect); ok {
			s.now = p
		}
		s.again = false
		a.fillPaused()
	} else {
		s.answered = a.host.Clock.Now()
		a.next()
	}
	a.keep(open)
}

// pause stops at once while a sitting runs. What is up will be asked again, and the record says why, in English.
func (a *App) pause(reason string) {
	if a.stage != Sitting || a.sitting.closing > 0 {
		return
	}
	a.pauseFor(reason)
	if a.sitting.closing == 0 {
		a.keep(open)
	}
}

func (a *App) pauseFor(reason string) {
	s := a.sitting
	s.settle()
	asked := s.up
	if s.up {
		s.run.Disturb(reason, a.host.Clock.Wall())
	}
	s.note(reason)
	if s.run.Over() {
		a.finish()
		return
	}
	// What the sitting asks next is what the page speaks of from here on.
	if a.frame != nil && (s.up || s.asking) {
		s.now, _ = s.run.Present(a.frame.Rect)
	}
	s.up, s.asking, s.resting, s.painted, s.moved = false, false, false, false, false
	s.left = a.host.Clock.Wall()
	a.host.Canvas.Mark("")
	a.field.rest = nil
	s.reason, s.again = words.Found(reason), asked
	if reason == "" {
		s.reason = words.Say("The sitting cannot go on yet.")
	}
	a.enter(Paused, true)
	a.showField()
	a.fillPaused()
}

func (a *App) fillPaused() {
	s := a.sitting
	v := pages.Over{Title: words.Say("Paused"), Text: []string{s.reason}}
	if s.again {
		v.Text = append(v.Text, words.Say("The question that was up will be asked again."))
	}
	v.Text = append(v.Text, words.Say("Everything answered is kept: %s", s.progress()))
	if t := a.shelf.trouble(); t != "" {
		v.Text = append(v.Text, t)
		v.Buttons = []pages.Button{{Action: "answers", Label: words.Say("Save the answers as a file")}, {Action: "retry", Label: words.Say("Try storing again")}}
	}
	if s.now.Done > 0 {
		v.Buttons = append([]pages.Button{{Action: "takeback", Label: words.Say("Take back the last answer")}}, v.Buttons...)
	}
	if v.Wait = a.obstacle(); v.Wait == "" {
		v.Buttons = append([]pages.Button{{Action: "continue", Label: words.Say("Continue"), Main: true}}, v.Buttons...)
	}
	v.Buttons = append(v.Buttons, a.screenButtons()...)
	v.Buttons = append(v.Buttons, pages.Button{Action: "stop", Label: words.Say("Stop here and see the report")})
	a.fillOver(v)
	a.fillBar()
}

// obstacle is why the sitting cannot go on now; empty when it can.
func (a *App) obstacle() string {
	if t := a.tight(); t != "" {
		return t
	}
	if why := a.surface.Inexact(); why != "" && fine[a.sitting.now.Check] {
		return words.Say("Fine lines cannot be shown pixel by pixel: %s.", words.Found(why))
	}
	return ""
}

// repaint fills a canvas of another size with the field.
func (a *App) repaint() { a.showField() }

func (a *App) fillOver(v pages.Over) { a.fill("stage", pages.OverPage(v)) }

func (a *App) fillBar() { a.fill("bar", pages.BarOf(a.bar())) }

// bar is the bar of the running sitting. How many questions there will be is an estimate, as the plan follows the answers: what is shown of it is time,
// and a line that never goes back.
func (a *App) bar() pages.Bar {
	s := a.sitting
	if s.now.Total > 0 {
		s.far = max(s.far, min(100*s.now.Done/s.now.Total, 100))
	}
	b := pages.Bar{
		Far:      words.Say("%s · %d answered", titled(string(s.now.Check)), s.now.Done),
		Left:     max(1, int((s.now.Left+30*time.Second)/time.Minute)),
		Adaptive: !s.Plan.Fixed,
		Done:     s.far,
		Total:    100,
		Storage:  a.shelf.trouble(),
	}
	if a.stage != Sitting {
		return b
	}
	b.Question = words.Found(s.now.Question)
	b.Practice = s.now.Kind == check.Practice
	b.Back = s.now.Done > 0
	b.Pause = true
	// Many places are tapped on the pattern; a setting's answers have no place of their own there.
	many := len(s.now.Choices) > 4
	for _, c := range s.now.Choices {
		if many && !c.Rect.Empty() {
			b.Cells = append(b.Cells, keyCap(c.Key))
		} else {
			b.Keys = append(b.Keys, pages.Key{Code: c.Key, Cap: keyCap(c.Key), Label: words.Found(c.Label)})
		}
	}
	return b
}

// left is time left in words.
func left(d time.Duration) string {
	if d < 90*time.Second {
		return words.Say("about a minute left")
	}
	return words.Say("about %d min left", int((d+30*time.Second)/time.Minute))
}

// keyCap is what is printed on a key.
func keyCap(code string) string {
	switch code {
	case "ArrowLeft":
		return "←"
	case "ArrowRight":
		return "→"
	case "ArrowUp":
		return "↑"
	case "ArrowDown":
		return "↓"
	case "KeyZ": // elsewhere another letter is printed there
		return words.As("Z", "the key below A")
	case "Enter":
		return words.As("Enter", "a key")
	case "Space":
		return words.As("Space", "a key")
	}
	for _, prefix := range []string{"Key", "Digit"} {
		if s, ok := strings.CutPrefix(code, prefix); ok && s != "" {
			return s
		}
	}
	return code
}

// done is how many judgements count.
func (s *sitting) done() int {
	n := 0
	for _, j := range s.run.Log() {
		if j.Status == check.Counted {
			n++
		}
	}
	return n
}

// progress is how far the sitting is, in words.
func (s *sitting) progress() string {
	return words.Say("%d answered, %s.", s.now.Done, left(s.now.Left))
}

func (a *App) sittingAction(name, id string, at time.Duration) {
	s := a.sitting
	if s.closing > 0 {
		return
	}
	switch name {
	case "continue":
		switch a.stage {
		case Intro:
			if a.obstacle() != "" {
				a.pauseFor("")
				return
			}
			s.eager = true
			a.introduced(at)
			a.alarm(at)
		case Paused:
			if a.obstacle() != "" || a.frame == nil {
				a.fillPaused()
				return
			}
			if a.host.Clock.Wall().Sub(s.left) > forgotten {
				s.resumed, s.advised, s.told = true, true, map[check.Aspect]bool{}
			}
			a.next()
		}
	case "practise":
		a.practise()
	case "choose":
		if a.stage == Sitting {
			a.press(id, at)
		}
	case "takeback":
		a.takeBack()
	case "pause":
		a.pause("You paused.")
	case "fullscreen":
		a.host.Desk.FullScreen(true)
	case "windowed":
		a.host.Desk.FullScreen(false)
	case "stop":
		a.stop()
	case "answers":
		a.host.Desk.Save(fileName(s.Conditions.Screen, s.Touched, "answers", "json"), "application/json", report.Of(s.run, s.Conditions, a.program).Marshal())
	case "retry":
		a.flush()
	}
}

// practise puts practice of the check at hand before the next question.
func (a *App) practise() {
	s := a.sitting
	if a.stage != Intro || a.obstacle() != "" {
		return
	}
	s.run.Practise()
	s.now, _ = s.run.Present(a.frame.Rect)
	s.eager = true
	now := a.host.Clock.Now()
	a.introduced(now)
	a.alarm(now)
}

// stop ends the sitting early. A sitting without an answer leaves nothing behind.
func (a *App) stop() {
	s := a.sitting
	s.settle()
	counted := 0
	for _, j := range s.run.Log() {
		if j.Status == check.Counted && j.Kind != check.Practice {
			counted++
		}
	}
	if counted == 0 {
		a.forget(s.stored)
		a.message = words.Say("The sitting was ended before anything was answered, so nothing is kept of it.")
		a.prepare()
		return
	}
	s.run.Stop()
	a.finish()
}

// finish ends the sitting: the report is made, while the field goes back to the ground of the page.
func (a *App) finish() {
	s := a.sitting
	now := a.host.Clock.Now()
	s.up, s.asking, s.resting, s.closing = false, false, false, 1
	a.host.Canvas.Mark("")
	a.enter(Sitting, true)
	a.showField()
	a.to(a.surface.Room, now)
	a.fillOver(pages.Over{Title: words.Say("Done"), Wait: words.Say("Working out what your answers say. This takes a few seconds.")})
	a.fill("bar", none)
	a.alarm(now)
}

// close makes the report, and shows it once the field is as the page is.
func (a *App) close() {
	s := a.sitting
	switch {
	case s.closing == 1:
		if s.work == nil {
			s.Conditions.Ended = a.host.Clock.Wall().UnixMilli()
		}
		made := a.sliced(func() {
			r := report.Of(s.run, s.Conditions, a.program)
			s.report = &shown{record: r, bytes: r.Marshal(), own: true, of: s.stored, run: s.run}
		})
		if made {
			s.closing = 2
			s.record = s.report.bytes
			a.keep(finished)
		}
	case len(a.field.rest) > 0:
	case Whole && (a.aimed() || s.report.record.Plan.Expect != nil && a.browser.Page == "after"):
		a.release(s.ID)
		a.sitting = nil
		a.seenByEye(s.report)
	case s.closing == 2:
		if a.sliced(func() { s.page = a.reportPage(s.report, s.run.Breath) }) {
			s.closing = 3
		}
	default:
		a.release(s.ID)
		a.sitting = nil
		a.put(s.report, s.page)
	}
}
