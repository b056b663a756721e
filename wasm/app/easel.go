package app

import (
	"math"
	"slices"
	"strconv"
)

// An easel is how pictures hang to be looked at: which, how large, and what part of them is in sight. Lengths are device pixels from the top left corner of the easel,
// unless they are said to be pixels of the picture, which are those of the first that hangs there.
type easel struct {
	width, height int     // 0 until the page told
	ratio         float64 // device pixels to a CSS pixel; 0 counts as 1
	pictures      []Hung
	way           string  // one of ways
	divider       float64 // share of the width
	front         int     // of swapped pictures
	scale, x, y   float64 // device pixels to a pixel of the picture, and the point of it that is in the middle of where it hangs
	fitted        bool    // it stays whole in sight when the easel changes its size
	hatched       bool    // what is hidden is drawn over
	hatch         *Hatch
	pins          []Pin
	noting        bool // the next press or drag makes a note

	hold         hold
	downX, downY float64
	lastX, lastY float64
	outline      *area // what a drag marks
}

// An area is a part of a picture, in its pixels: a rectangle, or a point where it has neither width nor height.
type area struct{ x, y, width, height int }

// What the pointer has hold of.
type hold int

const (
	onNothing hold = iota
	onPicture
	onDivider
	onNote
)

// Ways to look at several pictures. The first of them is for one.
const (
	wayOne     = "one"
	wayBeside  = "beside"
	waySwap    = "swap"
	wayDivider = "divider"
)

var ways = []string{wayOne, wayBeside, waySwap, wayDivider}

const (
	closest   = 16.0 // the greatest scale
	panStep   = 0.125
	splitStep = 0.05
	slop      = 4.0  // CSS pixels that a press may move
	grip      = 12.0 // CSS pixels beside the divider or a pin within which a press takes it
	wheelRate = 500  // CSS pixels of wheel for a factor of e

	wideSurround   = 32.0  // CSS pixels
	narrowSurround = 12.0  // of an easel that is smaller than that:
	narrow         = 400.0 // CSS pixels
)

// show hangs pictures. Where the first has the size of the one before, the part of it that is in sight stays.
func (e *easel) show(list []Hung) {
	same := len(e.pictures) > 0 && len(list) > 0 && e.pictures[0].Width == list[0].Width && e.pictures[0].Height == list[0].Height
	e.pictures = slices.Clone(list)
	e.front = min(e.front, max(len(list)-1, 0))
	e.hold, e.outline, e.noting = onNothing, nil, false
	if len(list) < 2 || !slices.Contains(ways, e.way) {
		e.way, e.front = wayOne, 0
	}
	if e.divider == 0 {
		e.divider = 0.5
	}
	if !same {
		e.fit()
		return
	}
	e.settle()
}

// resize takes the size of the easel.
func (e *easel) resize(width, height int) {
	e.width, e.height = max(width, 0), max(height, 0)
	if e.fitted || e.scale == 0 {
		e.fit()
		return
	}
	e.settle()
}

// look changes the way to look at several pictures.
func (e *easel) look(way string) {
	if !slices.Contains(ways, way) || len(e.pictures) < 2 && way != wayOne {
		return
	}
	e.way = way
	if e.fitted {
		e.fit()
		return
	}
	e.settle()
}

// view is the size of the place in which a picture hangs: beside others it is a column of the easel, all of the same width.
func (e *easel) view() (width, height int) {
	if e.way == wayBeside && len(e.pictures) > 1 {
		return e.width / len(e.pictures), e.height
	}
	return e.width, e.height
}

// local is a point of the easel within the place that it is in.
func (e *easel) local(x, y float64) (float64, float64) {
	if w, _ := e.view(); w < e.width && w > 0 {
		x -= math.Floor(min(max(x, 0), float64(w*len(e.pictures)-1))/float64(w)) * float64(w)
	}
	return x, y
}

// side is the size of the picture, in its pixels.
func (e *easel) side() (width, height int) {
	if len(e.pictures) == 0 {
		return 0, 0
	}
	return e.pictures[0].Width, e.pictures[0].Height
}

// ready tells whether there is anything to look at and a place for it.
func (e *easel) ready() bool {
	w, h := e.side()
	v, u := e.view()
	return w > 0 && h > 0 && v > 0 && u > 0
}

// whole is the scale at which the whole picture is in sight, with its surround on every side. It is never enlarged for that.
func (e *easel) whole() float64 {
	if !e.ready() {
		return 1
	}
	w, h := e.side()
	v, u := e.view()
	m := 2 * e.surround()
	return min(max(float64(v)-m, 1)/float64(w), max(float64(u)-m, 1)/float64(h), 1)
}

// surround is how much of the easel is left around a whole picture.
func (e *easel) surround() float64 {
	if v, u := e.view(); float64(min(v, u)) < narrow*e.css() {
		return narrowSurround * e.css()
	}
	return wideSurround * e.css()
}

// fit brings the whole picture into sight.
func (e *easel) fit() {
	w, h := e.side()
	e.fitted, e.scale = true, e.whole()
	e.x, e.y = float64(w)/2, float64(h)/2
	e.settle()
}

// full shows each pixel of the picture on one pixel of the screen; the point in the middle stays there.
func (e *easel) full() {
	w, h := e.view()
	e.zoom(1, float64(w)/2, float64(h)/2)
}

// at is the point of the picture that lies under a point of the easel, in pixels of the picture.
func (e *easel) at(x, y float64) (px, py float64) {
	if !e.ready() {
		return 0, 0
	}
	x, y = e.local(x, y)
	w, h := e.view()
	return e.x + (x-float64(w)/2)/e.scale, e.y + (y-float64(h)/2)/e.scale
}

// zoom changes the scale. The point of the picture under a point of the easel stays there, as far as the limits of panning let it.
func (e *easel) zoom(scale, x, y float64) {
	if !e.ready() {
		return
	}
	px, py := e.at(x, y)
	e.scale = min(max(scale, e.whole()), closest)
	e.fitted = e.scale == e.whole()
	x, y = e.local(x, y)
	w, h := e.view()
	e.x, e.y = px-(x-float64(w)/2)/e.scale, py-(y-float64(h)/2)/e.scale
	e.settle()
}

// settle holds the picture within the limits of panning: what is larger than its place covers it, what is smaller is in its middle. At whole scales its pixels
// lie on whole pixels of the screen.
func (e *easel) settle() {
	if !e.ready() {
		return
	}
	w, h := e.side()
	v, u := e.view()
	e.x, e.y = settled(v, w, e.scale, e.x), settled(u, h, e.scale, e.y)
}

// settled is the point of a side of a picture in the middle of a view, along one axis.
func settled(view, side int, scale, at float64) float64 {
	v, s := float64(view), float64(side)
	if half := v / 2 / scale; s*scale <= v {
		at = s / 2
	} else {
		at = min(max(at, half), s-half)
	}
	if scale >= 1 && scale == math.Trunc(scale) {
		at = (v/2 - math.Round(v/2-at*scale)) / scale
	}
	return at
}

// pan moves the picture by so many device pixels.
func (e *easel) pan(dx, dy float64) {
	if !e.ready() {
		return
	}
	e.x -= dx / e.scale
	e.y -= dy / e.scale
	e.settle()
}

// step is the next scale in a direction: half powers of two, 1 among them.
func (e *easel) step(in bool) float64 {
	n := 2 * math.Log2(e.scale)
	if in {
		return math.Exp2(math.Floor(n+1+1e-9) / 2)
	}
	return math.Exp2(math.Ceil(n-1-1e-9) / 2)
}

// wheel zooms about a point. Who comes past one to one stops there first.
func (e *easel) wheel(x, y, delta float64) {
	if !e.ready() || math.IsNaN(delta) {
		return
	}
	next := e.scale * math.Exp(-delta/e.css()/wheelRate)
	if (e.scale < 1 && next > 1) || (e.scale > 1 && next < 1) {
		next = 1
	}
	e.zoom(next, x, y)
}

// css is how many device pixels a CSS pixel has.
func (e *easel) css() float64 {
	if e.ratio > 0 {
		return e.ratio
	}
	return 1
}

// press takes the pointer: down, move or up. It returns what was marked for a note, and the pin that was taken.
func (e *easel) press(kind string, x, y float64, shift bool) (marked *area, pin string) {
	if !e.ready() || math.IsNaN(x) || math.IsNaN(y) {
		return nil, ""
	}
	switch kind {
	case "down":
		e.downX, e.downY, e.lastX, e.lastY = x, y, x, y
		switch {
		case e.noting || shift:
			e.hold = onNote
		case e.way == wayDivider && math.Abs(x-e.divider*float64(e.width)) <= grip*e.css():
			e.hold = onDivider
		default:
			e.hold = onPicture
		}
	case "move":
		switch e.hold {
		case onPicture:
			e.pan(x-e.lastX, y-e.lastY)
		case onDivider:
			e.split(x / float64(e.width))
		case onNote:
			e.outline = nil
			if e.dragged(x, y) {
				e.outline = e.between(x, y)
			}
		}
		e.lastX, e.lastY = x, y
	case "slide":
		e.pan(x, y)
	case "up":
		was := e.hold
		if was == onPicture && e.dragged(x, y) {
			e.pan(x-e.lastX, y-e.lastY)
		}
		e.hold, e.outline = onNothing, nil
		switch {
		case was == onNote:
			e.noting = false
			return e.between(x, y), ""
		case was == onPicture && !e.dragged(x, y):
			return nil, e.pinAt(x, y)
		}
	default: // taken away by the system
		e.hold, e.outline = onNothing, nil
	}
	return nil, ""
}

// dragged tells whether the pointer has moved since it went down.
func (e *easel) dragged(x, y float64) bool {
	return max(math.Abs(x-e.downX), math.Abs(y-e.downY)) > slop*e.css()
}

// between is what lies between where the pointer went down and where it is, within the picture: all pixels that are touched; a point where it has not moved. Nil where
// that is off the picture.
func (e *easel) between(x, y float64) *area {
	w, h := e.side()
	ax, ay := e.at(e.downX, e.downY)
	if !e.dragged(x, y) {
		if ax < 0 || ay < 0 || ax >= float64(w) || ay >= float64(h) {
			return nil
		}
		return &area{x: int(ax), y: int(ay)}
	}
	// A drag out of a place beside another goes on in the same picture.
	bx, by := ax+(x-e.downX)/e.scale, ay+(y-e.downY)/e.scale
	left, right := max(math.Floor(min(ax, bx)), 0), min(math.Ceil(max(ax, bx)), float64(w))
	top, bottom := max(math.Floor(min(ay, by)), 0), min(math.Ceil(max(ay, by)), float64(h))
	if right <= left || bottom <= top {
		return nil
	}
	return &area{int(left), int(top), int(right - left), int(bottom - top)}
}

// middle is the point of the picture in the middle of the easel.
func (e *easel) middle() *area {
	w, h := e.side()
	if !e.ready() {
		return nil
	}
	return &area{x: min(max(int(e.x), 0), w-1), y: min(max(int(e.y), 0), h-1)}
}

// sight is all of the picture that is in sight.
func (e *easel) sight() *area {
	if !e.ready() {
		return nil
	}
	w, h := e.side()
	v, u := e.view()
	left, top := max(e.x-float64(v)/2/e.scale, 0), max(e.y-float64(u)/2/e.scale, 0)
	right, bottom := min(e.x+float64(v)/2/e.scale, float64(w)), min(e.y+float64(u)/2/e.scale, float64(h))
	x, y := int(math.Floor(left)), int(math.Floor(top))
	return &area{x, y, min(int(math.Ceil(right)), w) - x, min(int(math.Ceil(bottom)), h) - y}
}

// pinAt is the pin at a point of the easel; empty where there is none. Of several the nearest counts, of rectangles the smallest.
func (e *easel) pinAt(x, y float64) string {
	px, py := e.at(x, y)
	reach := grip * e.css() / e.scale
	found, least := "", math.Inf(1)
	for _, p := range e.pins {
		d := math.Hypot(px-float64(p.X)-0.5, py-float64(p.Y)-0.5)
		if p.Width > 0 && p.Height > 0 {
			if px < float64(p.X) || py < float64(p.Y) || px >= float64(p.X+p.Width) || py >= float64(p.Y+p.Height) {
				continue
			}
			d = reach + float64(p.Width)*float64(p.Height)
		} else if d > reach {
			continue
		}
		if d < least {
			found, least = p.ID, d
		}
	}
	return found
}

// reveal brings a part of the picture into sight if it is not.
func (e *easel) reveal(p area) {
	if !e.ready() {
		return
	}
	v, u := e.view()
	for _, axis := range []struct {
		at         *float64
		view       int
		from, size int
	}{{&e.x, v, p.x, p.width}, {&e.y, u, p.y, p.height}} {
		half := float64(axis.view) / 2 / e.scale
		if lo, hi := float64(axis.from), float64(axis.from+max(axis.size, 1)); lo < *axis.at-half || hi > *axis.at+half {
			*axis.at = (lo + hi) / 2
		}
	}
	e.settle()
}

// split moves the divider.
func (e *easel) split(share float64) { e.divider = min(max(share, 0), 1) }

// key takes a key: its KeyboardEvent.code. False when it means nothing to an easel.
func (e *easel) key(code string) bool {
	switch code {
	case "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown":
		w, h := e.view()
		dx, dy := panStep*float64(w), panStep*float64(h)
		switch code {
		case "ArrowLeft":
			e.pan(dx, 0)
		case "ArrowRight":
			e.pan(-dx, 0)
		case "ArrowUp":
			e.pan(0, dy)
		default:
			e.pan(0, -dy)
		}
		return true
	case "Comma", "Period":
		if e.way != wayDivider {
			return false
		}
		by := splitStep
		if code == "Comma" {
			by = -by
		}
		e.split(e.divider + by)
		return true
	case "Escape":
		was := e.noting
		e.noting, e.hold, e.outline = false, onNothing, nil
		return was
	}
	name, id := "", ""
	switch code {
	case "Equal", "NumpadAdd":
		name = "closer"
	case "Minus", "NumpadSubtract":
		name = "further"
	case "Digit0", "Numpad0":
		name = "fit"
	case "Digit1", "Numpad1":
		name = "full"
	case "KeyH":
		name = "hatch"
	case "KeyN":
		name = "note"
	case "KeyS":
		name, id = "way", waySwap
		if e.way == waySwap {
			name = "swap"
		}
	case "KeyD":
		name, id = "way", wayDivider
		if e.way == wayDivider {
			id = wayOne
		}
	default:
		return false
	}
	return e.action(name, id)
}

// action takes a button of the easel. False when it is none.
func (e *easel) action(name, id string) bool {
	w, h := e.view()
	switch name {
	case "fit":
		e.fit()
	case "full":
		e.full()
	case "closer":
		e.zoom(e.step(true), float64(w)/2, float64(h)/2)
	case "further":
		e.zoom(e.step(false), float64(w)/2, float64(h)/2)
	case "way":
		e.look(id)
	case "swap":
		if n := len(e.pictures); n > 1 {
			e.front = (e.front + 1) % n
		}
	case "hatch":
		e.hatched = !e.hatched
	case "note":
		e.noting = !e.noting
	default:
		return false
	}
	return true
}

// hanging is the whole of it, as the page shows it.
func (e *easel) hanging() Hanging {
	h := Hanging{Pictures: slices.Clone(e.pictures), Way: e.way, Divider: e.divider, Scale: e.scale, X: e.x, Y: e.y, Front: e.front, Pins: slices.Clone(e.pins)}
	if e.hatched {
		h.Hatch = e.hatch
	}
	if o := e.outline; o != nil {
		h.Pins = append(h.Pins, Pin{ID: "outline", X: o.x, Y: o.y, Width: o.width, Height: o.height, Current: true})
	}
	return h
}

// scaled is the scale as a percentage.
func (e *easel) scaled() string {
	if !e.ready() {
		return ""
	}
	return strconv.FormatFloat(100*e.scale, 'f', 0, 64) + " %"
}

// Hung takes whether a picture was decoded and is on the page, and its size as seen in pixels.
func (a *App) Hung(key string, width, height int, ok bool) {
	switch a.stage {
	case Viewing:
		a.viewHung(key, width, height, ok)
	case Seen:
		a.seenHung(key, width, height, ok)
	}
}

// EaselSize takes the size of the easel in device pixels.
func (a *App) EaselSize(width, height int) {
	a.easel.ratio = a.surface.Ratio
	a.easel.resize(width, height)
	a.hang()
}

// EaselPress takes the pointer on the easel: down, move, up, or cancel where the system took it away; with slide, by how much two fingers moved. Shift makes a note.
func (a *App) EaselPress(kind string, x, y float64, shift bool) {
	if !a.hangs() {
		return
	}
	shift = shift && a.stage == Viewing
	marked, pin := a.easel.press(kind, x, y, shift)
	switch {
	case marked != nil && a.stage == Viewing:
		a.addNote(*marked)
	case pin != "" && a.stage == Viewing:
		a.openNote(pin)
	case pin != "" && a.stage == Seen:
		a.seenPin(pin)
	}
	a.hang()
}

// EaselWheel takes a turn of the wheel on the easel, in device pixels.
func (a *App) EaselWheel(x, y, delta float64) {
	if a.hangs() {
		a.easel.wheel(x, y, delta)
		a.hang()
	}
}

// hangs tells whether there is an easel on the page.
func (a *App) hangs() bool { return a.stage == Viewing || a.stage == Seen }

// easelKey takes a key on a page with an easel; false when it means nothing there.
func (a *App) easelKey(code string) bool {
	on := map[string]string{"BracketLeft": "picture-back", "BracketRight": "picture-on"}[code]
	switch {
	case on != "":
		a.Action(on, "")
	case code == "KeyN" && a.stage != Viewing:
		return false
	case !a.easel.key(code):
		return false
	}
	a.hang()
	return true
}

// hang shows the easel as it is now, and the words under it.
func (a *App) hang() {
	if !a.hangs() {
		return
	}
	a.host.Easel.Hang(a.easel.hanging())
	switch a.stage {
	case Viewing:
		a.viewTools()
	case Seen:
		a.seenTools()
	}
}

// splits tells whether there is a divider.
func (e *easel) splits() bool { return e.way == wayDivider && len(e.pictures) > 1 }
