package app

import (
	"errors"
	"image"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/plates"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// A pattern on its own has the whole window, under an address that says what it is. It needs no sitting, and nothing of it is kept.

// plating is the state of the stage Plate.
type plating struct {
	state  plates.State // on the canvas, or on its way there; the zero State in the list
	up     bool         // it is on the canvas
	barred string       // why it cannot be shown, in words; it comes when that is put right
	chosen int          // the level that keys move

	next plates.State  // pressed for before the screen may change again; the zero State if nothing was
	free time.Duration // when it may

	line  bool          // the line is up
	till  time.Duration // how long, and when the address is to say what is shown
	stale bool          // it says something else
	quiet bool          // the line was put away, and keys do not bring it back
	said  string        // on the line
	told  string        // what the address says
}

const (
	// lineTime is how long the line stays after the last key or press.
	lineTime = 5 * time.Second
	// hastyLight is the light, as a share of white's, from which a change counts: of a place by WCAG 2.2, 2.3.1, and of the whole window a fiftieth of it.
	hastyLight = 0.1
	hastyWhole = 0.002
)

// openPlates opens what the page's query asks for: a pattern, or the list of them.
func (a *App) openPlates(query string) {
	s, err := plates.Parse(query)
	switch {
	case err == nil:
		a.showPlate(s)
	case errors.Is(err, plates.ErrNone) && strings.TrimPrefix(query, "?") == "":
		a.listPlates()
	default:
		a.plate = plating{}
		a.plateUp()
		a.enter(Plate, false)
		a.fill("stage", pages.TroublePage(pages.Notice{
			Title: words.Say("This link shows nothing"), Lead: capital(strings.TrimPrefix(words.Found(err.Error()), "plates: ")) + ".",
			Text:    []string{words.Say("Nothing was guessed in its place. Ask whoever sent it for another, or choose from the list.")},
			Buttons: []pages.Button{{Action: "leave", Label: words.Say("All patterns"), Main: true}},
		}))
		a.fill("bar", none)
	}
}

// listPlates shows the list.
func (a *App) listPlates() {
	a.plate = plating{told: a.plate.told}
	a.plateUp()
	a.plateAddress()
	a.enter(Plate, false)
	v := pages.Plates{Buttons: a.screenButtons()}
	for _, n := range plates.Names() {
		s, _ := plates.Usual(n)
		p := s.Plate()
		v.List = append(v.List, pages.PlateEntry{Name: p.Name, Title: words.Found(p.Title), Look: words.Found(p.Look), Caution: words.Found(p.Caution)})
	}
	a.fill("stage", pages.PlatesPage(v))
	a.fill("bar", none)
}

// barred says why no pattern can be shown now; it is empty where one can.
func (a *App) barred() string {
	if why := a.surface.Inexact(); why != "" {
		return words.Found(why)
	}
	if err := plates.Fits(a.surface.Width, a.surface.Height); err != nil {
		return strings.TrimPrefix(words.Found(err.Error()), "plates: ")
	}
	return ""
}

// showPlate leads to a pattern: by way of the grey that has its light, reached in steps.
func (a *App) showPlate(s plates.State) {
	was := a.plate
	a.plate = plating{state: s, quiet: was.quiet, told: was.told}
	a.plateUp()
	if was.state.Plate() == s.Plate() {
		a.plate.chosen = was.chosen
	}
	if why := a.barred(); why != "" {
		a.barPlate(why)
		return
	}
	a.enter(Plate, true)
	a.fill("stage", none)
	a.showField()
	now := a.host.Clock.Now()
	a.to(a.meanCode(s), now)
	a.alarm(now)
	a.host.Page.Say(words.Found(s.Plate().Title) + ". " + words.Found(s.Plate().Look))
	a.keyed()
}

// barPlate says why the pattern is not shown.
func (a *App) barPlate(why string) {
	a.plate.barred, a.plate.up, a.plate.next = why, false, plates.State{}
	a.enter(Plate, false)
	a.plateUp()
	a.fill("stage", pages.TroublePage(pages.Notice{
		Title: words.Say("This pattern cannot be shown as it is painted"), Lead: capital(why) + ".",
		Text:    []string{words.Say("A pattern whose pixels are not the screen's own tells nothing, so none is shown. It comes by itself when that is put right.")},
		Buttons: append([]pages.Button{{Action: "leave", Label: words.Say("All patterns"), Main: true}}, a.screenButtons()...),
	}))
	a.fill("bar", none)
}

// plateUp says on the page which pattern is up.
func (a *App) plateUp() {
	if a.plate.up {
		a.host.Page.Set("plate", a.plate.state.Query())
	} else {
		a.host.Page.Set("plate", "")
	}
}

// paintPlate puts the pattern on the canvas.
func (a *App) paintPlate() {
	if a.frame == nil {
		return
	}
	a.plate.state.Paint(a.frame, a.frame.Rect)
	a.host.Canvas.Show(a.frame, false)
	a.plate.up, a.plate.stale = true, true
	a.plateUp()
	a.field.stop(a.meanCode(a.plate.state))
	a.ground()
}

// sketch is a frame of a pattern in small, in the shape of the canvas.
func (a *App) sketch(s plates.State) *image.RGBA {
	w, h := max(a.surface.Width, 1), max(a.surface.Height, 1)
	least := min(w, h)
	return patterns.Render(s, min(w*plates.Least/least, 4*plates.Least), min(h*plates.Least/least, 4*plates.Least))
}

// luminance is that of pixel i of a frame as a share of white's, by the weights of IEC 61966-2-1.
func luminance(pix []uint8, i int) float64 {
	return float64(0.2126*light[pix[i]]) + float64(0.7152*light[pix[i+1]]) + float64(0.0722*light[pix[i+2]])
}

// meanCode is the grey that lights the window as the pattern does.
func (a *App) meanCode(s plates.State) uint8 {
	f := a.sketch(s)
	sum := 0.0
	for i := 0; i < len(f.Pix); i += 4 {
		sum += luminance(f.Pix, i)
	}
	mean := sum / float64(len(f.Pix)/4)
	code := 0
	for v := range light {
		if math.Abs(light[v]-mean) < math.Abs(light[code]-mean) {
			code = v
		}
	}
	return uint8(code)
}

// hasty tells whether a change from one state to another may not follow another one at once: some place, or the window as a whole, changes its light.
func (a *App) hasty(from, to plates.State) bool {
	f, t := a.sketch(from), a.sketch(to)
	sum := 0.0
	for i := 0; i < len(f.Pix); i += 4 {
		d := luminance(t.Pix, i) - luminance(f.Pix, i)
		if math.Abs(d) >= hastyLight {
			return true
		}
		sum += d
	}
	return math.Abs(sum)/float64(len(f.Pix)/4) >= hastyWhole
}

// movePlate moves the chosen level by one step. What lights the window otherwise waits for its turn, and only one such press does.
func (a *App) movePlate(up bool) {
	p := &a.plate
	if p.up && p.next == (plates.State{}) {
		now := a.host.Clock.Now()
		switch s := p.state.Step(p.chosen, up); {
		case s == p.state:
		case !a.hasty(p.state, s):
			p.state = s
			a.paintPlate()
		case now < p.free:
			p.next = s
		default:
			p.state, p.free = s, now+stepTime
			a.paintPlate()
		}
	}
	a.keyed()
}

// platePress takes a press on the canvas: it brings the line or puts it away.
func (a *App) platePress() {
	if a.plate.line {
		a.putAway()
	} else {
		a.bringLine()
	}
}

// keyed brings the line after a key, unless it was put away for good.
func (a *App) keyed() {
	if !a.plate.quiet || a.plate.line {
		a.bringLine()
	} else {
		now := a.host.Clock.Now()
		a.plate.till = now + lineTime
		a.alarm(now)
	}
}

// bringLine brings the line, for a while.
func (a *App) bringLine() {
	if a.plate.state == (plates.State{}) || a.plate.barred != "" {
		return
	}
	now := a.host.Clock.Now()
	a.plate.line, a.plate.till = true, now+lineTime
	a.fillPlate()
	a.alarm(now)
}

// fillPlate puts up the line as it is now, or takes it away.
func (a *App) fillPlate() {
	p := &a.plate
	if !p.line || p.barred != "" {
		a.refill("bar", none)
		return
	}
	v := pages.Plate{Title: words.Found(p.state.Plate().Title), Chosen: p.chosen, Said: p.said, Link: a.plateLink()}
	for i, l := range p.state.Levels() {
		v.Levels = append(v.Levels, pages.PlateLevel{Label: words.Found(l.Label), Value: words.Found(p.state.Text(i)), Least: p.state.Value(i) == l.Min, Most: p.state.Value(i) == l.Max})
	}
	if b := a.screenButtons(); len(b) > 0 {
		v.Screen = b[0].Action
	}
	a.refill("bar", pages.PlateLine(v))
}

// plateDue is when something is to be done about the pattern.
func (a *App) plateDue() (due time.Duration, any bool) {
	p := &a.plate
	if a.stage != Plate || p.state == (plates.State{}) || p.barred != "" {
		return 0, false
	}
	sooner := func(t time.Duration) {
		if !any || t < due {
			due, any = t, true
		}
	}
	if _, fading := a.field.due(); !p.up && !fading {
		sooner(a.field.next)
	}
	if p.next != (plates.State{}) {
		sooner(p.free)
	}
	if p.line || p.stale {
		sooner(p.till)
	}
	return due, any
}

// plateTick does what is due.
func (a *App) plateTick(now time.Duration) {
	p := &a.plate
	if p.state == (plates.State{}) || p.barred != "" {
		return
	}
	if _, fading := a.field.due(); !p.up && !fading && now >= a.field.next {
		p.free = now + stepTime
		a.paintPlate()
		a.plateAddress()
	}
	if p.next != (plates.State{}) && now >= p.free {
		p.state, p.next, p.free = p.next, plates.State{}, now+stepTime
		a.paintPlate()
		if p.line {
			a.fillPlate()
		}
	}
	if (p.line || p.stale) && now >= p.till {
		a.putAway()
	}
}

// putAway takes the line away, and lets the address say what is shown.
func (a *App) putAway() {
	a.plate.line, a.plate.said = false, ""
	a.fillPlate()
	a.plateAddress()
}

// plateSurface takes another canvas.
func (a *App) plateSurface() {
	p := &a.plate
	why := a.barred()
	switch {
	case p.state == (plates.State{}):
	case why == "" && p.barred != "":
		a.showPlate(p.state)
	case why != "":
		if why != p.barred {
			a.barPlate(why)
		}
	case p.up:
		a.paintPlate()
		a.fillPlate()
	default:
		a.showField()
		a.fillPlate()
	}
}

// plateLink is the address of what is shown.
func (a *App) plateLink() string {
	return a.browser.Origin + words.Path("/pattern?"+a.plate.state.Query())
}

// plateAddress says in the page's address what is shown.
func (a *App) plateAddress() {
	a.plate.stale = false
	path, title := words.Path("/pattern"), words.Say("Patterns")
	if s := a.plate.state; s != (plates.State{}) {
		path, title = path+"?"+s.Query(), words.Found(s.Plate().Title)
	}
	if a.host.Links != nil && path != a.plate.told { // browsers count such calls
		a.plate.told = path
		a.host.Links.At(path, title)
	}
}

// plateCopied says what became of copying the link.
func (a *App) plateCopied(ok bool) {
	a.plate.said = words.Say("The link is on the clipboard.")
	if !ok {
		a.plate.said = words.Say("The browser does not let this page copy. The address of the page is the link.")
		a.plateAddress()
	}
	a.host.Page.Say(a.plate.said)
	a.filled = nil // copying may have taken the keyboard to the link
	a.bringLine()
}

// turnPlate goes to the pattern that many places on in the list, which has no end.
func (a *App) turnPlate(by int) {
	names := plates.Names()
	i := slices.Index(names, a.plate.state.Plate().Name)
	s, _ := plates.Usual(names[(i+by+len(names))%len(names)])
	a.showPlate(s)
}

// choosePlate chooses the level that keys move, counted from 0.
func (a *App) choosePlate(level int) {
	if n := len(a.plate.state.Levels()); level >= 0 && level < n {
		a.plate.chosen = level
	}
	a.keyed()
}

func (a *App) plateKey(code string) bool {
	p := &a.plate
	if p.state == (plates.State{}) || p.barred != "" {
		return false
	}
	n := len(p.state.Levels())
	switch code {
	case "Escape":
		a.listPlates()
		return true
	case "ArrowUp", "ArrowDown":
		a.movePlate(code == "ArrowUp")
	case "ArrowRight":
		a.choosePlate((p.chosen + 1) % n)
	case "ArrowLeft":
		a.choosePlate((p.chosen + n - 1) % n)
	case "PageDown":
		a.turnPlate(1)
	case "PageUp":
		a.turnPlate(-1)
	case "KeyC":
		a.copyPlate()
	case "KeyF":
		a.host.Desk.FullScreen(!a.surface.FullScreen)
	case "KeyH":
		a.hidePlate()
		return true
	default:
		if d, ok := strings.CutPrefix(code, "Digit"); ok && d != "0" {
			i, _ := strconv.Atoi(d)
			a.choosePlate(i - 1)
			break
		}
		if p.line { // whoever goes through its buttons is not to lose it
			a.bringLine()
		}
		return false
	}
	return true
}

// hidePlate puts the line away until it is asked for, or brings it back.
func (a *App) hidePlate() {
	p := &a.plate
	if p.line {
		p.quiet = true
		a.putAway()
		return
	}
	p.quiet = false
	a.bringLine()
}

func (a *App) copyPlate() {
	if a.host.Links != nil {
		a.host.Links.Copy(a.plateLink())
	}
}

func (a *App) plateAction(name, id string) {
	p := &a.plate
	switch name {
	case "show":
		if s, ok := plates.Usual(id); ok {
			a.showPlate(s)
		}
		return
	case "leave":
		a.listPlates()
		return
	case "fullscreen", "windowed":
		a.host.Desk.FullScreen(name == "fullscreen")
		a.bringLine()
		return
	}
	if p.state == (plates.State{}) || p.barred != "" {
		return
	}
	switch name {
	case "level":
		if i, err := strconv.Atoi(id); err == nil {
			a.choosePlate(i)
		}
	case "other":
		a.choosePlate((p.chosen + 1) % len(p.state.Levels()))
	case "lower", "raise":
		a.movePlate(name == "raise")
	case "before":
		a.turnPlate(-1)
	case "next":
		a.turnPlate(1)
	case "copy":
		a.copyPlate()
	case "hide":
		a.hidePlate()
	}
}
