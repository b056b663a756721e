//go:build js

package browser

import (
	"math"
	"strconv"
	"syscall/js"
)

// A Hanging is how pictures hang on an Easel. Lengths are device pixels from the top left corner of the easel, unless they are said to be pixels of the picture.
type Hanging struct {
	Pictures []Hung  // none: an empty easel
	Way      string  // one: the first alone; beside: in columns of equal width; swap: Front in the place of the first; divider: the first left of it, the second right
	Divider  float64 // 0 to 1 of the easel's width
	Scale    float64 // device pixels for each pixel of the picture
	X, Y     float64 // the picture's point, in its pixels, that is in the middle of where it hangs
	Hatch    *Hatch  // over the first picture; nil: none
	Pins     []Pin   // on the first picture
	Front    int
}

// A Hung is the Blob under a key, stretched to a width and a height in pixels of the picture.
type Hung struct {
	Key, Name     string
	Width, Height int
}

// A Hatch covers cells laid over the picture from the top left, row by row: where one is 128 or more there are lines.
type Hatch struct {
	Cols, Rows int
	Cover      []byte
}

// A Pin is a note on the picture, in its pixels: a rectangle, or a point where it has neither width nor height. Without a label it has no mark, only its rectangle.
type Pin struct {
	ID                  string
	X, Y, Width, Height int
	Label               string
	Current             bool
}

// An Easel is what is inside the element #easel: pictures by the browser's own decoder and colour management. It looks after an easel that the page makes anew by itself.
type Easel struct {
	blobs  *Blobs
	listen EaselListener

	now     Hanging
	element js.Value // #easel, or undefined
	wall    js.Value // inside it, on whole device pixels
	offset  [2]float64
	size    [2]int   // device pixels
	told    [2]int   // the size that the listener knows
	heard   []func() // each ends one listener
	ratio   float64  // device pixels to a CSS pixel
	changes js.Value // observers of the page and of the element's size
	sizes   js.Value
	places  []*place
	sheets  map[string]*sheet
	hatch   hatch
	line    js.Value
	pins    map[string]*pin
	fingers map[int][2]float64 // where pointers are that are down, in device pixels
	held    int                // the pointer that Press tells about
	spread  float64            // of two fingers, in device pixels
	middle  [2]float64         // between them
}

// An EaselListener is told what happens on an easel, in device pixels. Every field must be set.
type EaselListener struct {
	Hung  func(key string, width, height int, ok bool) // a picture was decoded and is on the page, as large as that, or it cannot be shown
	Size  func(width, height int)                      // the easel has this size
	Press func(kind string, x, y float64, shift bool)  // the pointer went down, move or up, or was taken away: cancel; slide: two fingers moved by x and y
	Wheel func(x, y, delta float64)                    // the wheel was turned, down is positive; two fingers that part count as a turn up
}

// pinchRate is how many CSS pixels of wheel two fingers make that part by a factor of e; pinches on a touchpad come as turns of the wheel, 100 for such a factor.
const (
	pinchRate = 500
	padRate   = 100
)

// place is where a picture hangs.
type place struct {
	element js.Value
	edge    js.Value // the line on its left where another hangs beside it
	width   int      // device pixels
	inSight bool
}

// sheet is a picture as an img element.
type sheet struct {
	element js.Value
	turn    int  // of the Blob under its key
	ready   bool // decoded
	address string
	gone    bool
}

type hatch struct {
	canvas, context js.Value
	size            [2]int
	of              *Hatch
	mask            js.Value // a canvas with a pixel for each cell, opaque where there are lines
	tile            js.Value
	tileRatio       float64
}

type pin struct{ frame, mark js.Value }

// NewEasel begins to look after the easel.
func NewEasel(blobs *Blobs, listen EaselListener) *Easel {
	e := &Easel{blobs: blobs, listen: listen, element: js.Undefined(), sheets: map[string]*sheet{}, pins: map[string]*pin{}, fingers: map[int][2]float64{}, held: -1, told: [2]int{-1, -1}}
	changed := js.FuncOf(func(js.Value, []js.Value) any {
		e.look()
		return nil
	})
	if has(global, "MutationObserver") && document.Truthy() {
		e.changes = global.Get("MutationObserver").New(changed)
		e.changes.Call("observe", document.Get("body"), map[string]any{"childList": true, "subtree": true})
	}
	on(window, "resize", func(js.Value) { e.look() })
	// Who moves between screens of different density may do so without any other event.
	e.sizes = global.Get("ResizeObserver").New(changed)
	return e
}

// Hang shows pictures as they are told.
func (e *Easel) Hang(h Hanging) {
	e.now = h
	e.find()
	e.lay()
}

// look takes a page that may have changed: the easel may be another element, or lie elsewhere.
func (e *Easel) look() {
	if e.find() || e.measure() {
		e.lay()
	}
	if e.element.Truthy() && e.told != e.size {
		e.told = e.size
		e.listen.Size(e.size[0], e.size[1])
	}
}

// find tells whether the element of the easel is another one than before.
func (e *Easel) find() bool {
	element := document.Call("getElementById", "easel")
	if !element.Truthy() {
		if e.element.Truthy() {
			e.leave()
		}
		return false
	}
	if element.Equal(e.element) {
		return false
	}
	e.leave()
	e.element = element
	if global.Call("getComputedStyle", element).Get("position").String() == "static" {
		style(element, "position", "relative")
	}
	style(element, "overflow", "hidden", "touch-action", "none", "user-select", "none")
	style(element, "overflow", "clip") // where it is known nothing in it can scroll
	e.wall = child(element, "div", "wall")
	style(e.wall, "position", "absolute", "pointer-events", "none", "overflow", "hidden", "isolation", "isolate")
	style(e.wall, "overflow", "clip")
	e.hatch.canvas = document.Call("createElement", "canvas")
	e.hatch.canvas.Set("className", "hatch")
	e.hatch.canvas.Call("setAttribute", "aria-hidden", "true")
	style(e.hatch.canvas, "position", "absolute", "left", "0", "top", "0")
	e.hatch.context, e.hatch.size = e.hatch.canvas.Call("getContext", "2d"), [2]int{}
	e.line = child(e.wall, "div", "parting")
	style(e.line, "position", "absolute", "top", "0", "bottom", "0", "display", "none", "z-index", "2")
	e.hear()
	e.measure()
	// It calls soon, also where nothing changes, so that the listener gets to know the size.
	if thrown := try(func() { e.sizes.Call("observe", element, map[string]any{"box": "device-pixel-content-box"}) }); !thrown.IsUndefined() {
		e.sizes.Call("observe", element)
	}
	return true
}

// leave takes down all that hung on an element that is gone.
func (e *Easel) leave() {
	e.sizes.Call("disconnect")
	for key := range e.sheets {
		e.take(key)
	}
	e.places, e.pins, e.fingers, e.held = nil, map[string]*pin{}, map[int][2]float64{}, -1
	e.element, e.size, e.told = js.Undefined(), [2]int{}, [2]int{-1, -1}
	for _, end := range e.heard {
		end()
	}
	e.heard = nil
}

// measure finds out where the easel is. It tells whether that is another place or size than before.
func (e *Easel) measure() bool {
	if !e.element.Truthy() {
		return false
	}
	ratio := window.Get("devicePixelRatio").Float()
	if !(ratio > 0) {
		ratio = 1
	}
	r := e.element.Call("getBoundingClientRect")
	// Borders are whole device pixels and need not be whole CSS pixels.
	computed := global.Call("getComputedStyle", e.element)
	border := func(side string) float64 {
		if w := global.Call("parseFloat", computed.Get("border"+side+"Width")).Float(); w > 0 {
			return w
		}
		return 0
	}
	left, top := r.Get("left").Float()+border("Left"), r.Get("top").Float()+border("Top")
	right, bottom := r.Get("right").Float()-border("Right"), r.Get("bottom").Float()-border("Bottom")
	// From the first to the last device pixel that lies inside as a whole. A length that misses a pixel by less than layout can tell is meant to reach it.
	const near = 1. / 32
	inside := func(from, to float64) (offset float64, n int) {
		first, last := math.Ceil(from*ratio-near), math.Floor(to*ratio+near)
		return first - from*ratio, max(0, int(last-first))
	}
	var offset [2]float64
	var size [2]int
	offset[0], size[0] = inside(left, right)
	offset[1], size[1] = inside(top, bottom)
	if ratio == e.ratio && offset == e.offset && size == e.size {
		return false
	}
	e.ratio, e.offset, e.size = ratio, offset, size
	style(e.wall, "left", e.px(offset[0]), "top", e.px(offset[1]), "width", e.px(float64(size[0])), "height", e.px(float64(size[1])))
	return true
}

// px is a length in device pixels as CSS has it.
func (e *Easel) px(length float64) string {
	return strconv.FormatFloat(length/e.ratio, 'f', -1, 64) + "px"
}

// lay puts everything where it belongs.
func (e *Easel) lay() {
	if !e.element.Truthy() {
		return
	}
	h := e.now
	e.layPlaces(h)
	wanted := map[string]bool{}
	for i, p := range e.places {
		wanted[h.Pictures[i].Key] = true
		e.layPicture(p, h.Pictures[i], h)
	}
	for key := range e.sheets {
		if !wanted[key] {
			e.take(key)
		}
	}
	e.layLine(h)
	e.layHatch(h)
	e.layPins(h)
}

// layPlaces makes a place for each picture, cut off where it ends.
func (e *Easel) layPlaces(h Hanging) {
	for len(e.places) > len(h.Pictures) {
		last := e.places[len(e.places)-1]
		last.element.Call("remove")
		last.edge.Call("remove")
		e.places = e.places[:len(e.places)-1]
	}
	for len(e.places) < len(h.Pictures) {
		p := &place{element: document.Call("createElement", "div")}
		p.element.Set("className", "place")
		style(p.element, "position", "absolute", "top", "0", "height", "100%", "overflow", "hidden")
		style(p.element, "overflow", "clip")
		e.line.Call("before", p.element)
		p.edge = child(e.wall, "div", "edge")
		style(p.edge, "position", "absolute", "top", "0", "bottom", "0", "z-index", "2")
		e.places = append(e.places, p)
	}
	n := len(h.Pictures)
	split := e.split(h)
	for i, p := range e.places {
		left, width, from, to, inSight := 0, e.size[0], 0, e.size[0], i == 0
		switch {
		case n < 2:
		case h.Way == "beside":
			width = e.size[0] / n
			left, to, inSight = i*width, width, true
		case h.Way == "swap":
			inSight = i == h.Front
		case h.Way == "divider":
			inSight = i < 2
			if i == 0 {
				to = split
			} else {
				from = split
			}
		}
		p.width = width
		p.inSight = inSight && from < to
		clip := "none"
		if from > 0 || to < width {
			clip = "inset(0 " + e.px(float64(width-to)) + " 0 " + e.px(float64(from)) + ")"
		}
		style(p.element, "left", e.px(float64(left)), "width", e.px(float64(width)), "clip-path", clip, "visibility", shown(p.inSight))
		style(p.edge, "left", e.px(float64(left)), "display", displayed(i > 0 && h.Way == "beside"))
	}
}

// split is where the divider is, a whole device pixel.
func (e *Easel) split(h Hanging) int {
	return int(math.Round(min(max(h.Divider, 0), 1) * float64(e.size[0])))
}

// origin is the top left corner of pictures in a place. At whole scales it is a whole device pixel.
func (e *Easel) origin(p *place, h Hanging) (x, y float64) {
	x, y = float64(p.width)/2-h.X*h.Scale, float64(e.size[1])/2-h.Y*h.Scale
	if h.Scale >= 1 && h.Scale == math.Trunc(h.Scale) {
		x, y = math.Round(x), math.Round(y)
	}
	return x, y
}

// layPicture hangs one picture in its place.
func (e *Easel) layPicture(p *place, hung Hung, h Hanging) {
	m := e.sheets[hung.Key]
	if m != nil && m.turn != e.blobs.last[hung.Key] {
		e.take(hung.Key)
		m = nil
	}
	if m == nil {
		m = e.load(hung.Key)
	}
	if !m.element.Get("parentNode").Equal(p.element) {
		p.element.Call("prepend", m.element)
	}
	if m.element.Get("alt").String() != hung.Name {
		m.element.Set("alt", hung.Name)
	}
	x, y := e.origin(p, h)
	// The element has a device pixel for each of the picture's: browsers lay elements out on whole ones before they transform them.
	k := number(h.Scale)
	matrix := "matrix(" + k + ",0,0," + k + "," + number(x/e.ratio) + "," + number(y/e.ratio) + ")"
	rendering := "auto"
	if h.Scale >= 1 {
		rendering = "pixelated"
	}
	style(m.element, "width", e.px(float64(hung.Width)), "height", e.px(float64(hung.Height)), "transform", matrix, "image-rendering", rendering,
		"visibility", shown(m.ready && p.inSight))
}

// load begins to decode the Blob under a key.
func (e *Easel) load(key string) *sheet {
	m := &sheet{element: document.Call("createElement", "img"), turn: e.blobs.last[key]}
	e.sheets[key] = m
	style(m.element, "position", "absolute", "left", "0", "top", "0", "max-width", "none", "max-height", "none", "margin", "0", "padding", "0", "border", "0",
		"transform-origin", "0 0", "image-orientation", "from-image", "object-fit", "fill", "visibility", "hidden")
	m.element.Set("className", "hung")
	m.element.Set("draggable", false)
	m.element.Set("decoding", "sync") // once it is decoded it is never painted half
	fail := func() {
		if !m.gone {
			e.listen.Hung(key, 0, 0, false)
		}
	}
	// Not inside Hang, whose caller is not done yet.
	soon, _ := once(func([]js.Value) {
		if m.gone {
			return
		}
		e.blobs.Get(key, func(blob js.Value, err error) {
			if m.gone {
				return
			}
			if err != nil {
				fail()
				return
			}
			m.address = global.Get("URL").Call("createObjectURL", blob).String()
			m.element.Set("src", m.address)
			then(m.element.Call("decode"), func(js.Value) {
				w, h := m.element.Get("naturalWidth").Int(), m.element.Get("naturalHeight").Int()
				if m.gone {
					return
				}
				if w <= 0 || h <= 0 {
					fail()
					return
				}
				m.ready = true
				e.lay()
				e.listen.Hung(key, w, h, true)
			}, func(js.Value) { fail() })
		})
	})
	window.Call("setTimeout", soon, 0)
	return m
}

// take takes a picture down.
func (e *Easel) take(key string) {
	m := e.sheets[key]
	delete(e.sheets, key)
	m.gone = true
	m.element.Call("remove")
	m.element.Call("removeAttribute", "src")
	if m.address != "" {
		global.Get("URL").Call("revokeObjectURL", m.address)
	}
}

// layLine puts the divider where it is: light and dark, so that it is seen on any ground.
func (e *Easel) layLine(h Hanging) {
	if h.Way != "divider" || len(h.Pictures) < 2 {
		style(e.line, "display", "none")
		return
	}
	w := max(1, math.Round(e.ratio))
	style(e.line, "display", "block", "width", e.px(2*w), "left", e.px(float64(e.split(h))-w),
		"background", "linear-gradient(to right, #000 50%, #fff 50%)")
}

// layHatch draws the lines over the first picture, as far as they are in sight.
func (e *Easel) layHatch(h Hanging) {
	c := &e.hatch
	t := h.Hatch
	if t == nil || len(e.places) == 0 || t.Cols < 1 || t.Rows < 1 || len(t.Cover) != t.Cols*t.Rows || !c.context.Truthy() || !e.places[0].inSight {
		c.canvas.Call("remove")
		return
	}
	p := e.places[0]
	m := e.sheets[h.Pictures[0].Key]
	if m == nil || !m.ready || p.width < 1 || e.size[1] < 1 {
		c.canvas.Call("remove")
		return
	}
	if !c.canvas.Get("parentNode").Equal(p.element) {
		p.element.Call("append", c.canvas)
	}
	if size := [2]int{p.width, e.size[1]}; c.size != size {
		c.size = size
		c.canvas.Set("width", size[0])
		c.canvas.Set("height", size[1])
	}
	style(c.canvas, "width", e.px(float64(c.size[0])), "height", e.px(float64(c.size[1])))
	if c.of != t || !c.mask.Truthy() {
		c.of, c.mask = t, mask(t)
	}
	if !c.tile.Truthy() || c.tileRatio != e.ratio {
		c.tile, c.tileRatio = tile(e.ratio), e.ratio
	}
	x, y := e.origin(p, h)
	w, height := float64(h.Pictures[0].Width)*h.Scale, float64(h.Pictures[0].Height)*h.Scale
	k := c.context
	k.Set("globalCompositeOperation", "copy") // also clears what was there
	k.Set("imageSmoothingEnabled", false)
	k.Call("drawImage", c.mask, x, y, w, height)
	k.Set("globalCompositeOperation", "source-in")
	pattern := k.Call("createPattern", c.tile, "repeat")
	// The lines go with the picture.
	move := global.Get("DOMMatrix").New()
	side := c.tile.Get("width").Float()
	move.Set("e", math.Mod(math.Round(x), side))
	move.Set("f", math.Mod(math.Round(y), side))
	pattern.Call("setTransform", move)
	k.Set("fillStyle", pattern)
	k.Call("fillRect", 0, 0, c.size[0], c.size[1])
}

// mask is a canvas with a pixel for each cell.
func mask(t *Hatch) js.Value {
	pixels := make([]byte, 4*t.Cols*t.Rows)
	for i, v := range t.Cover {
		if v >= 128 {
			pixels[4*i+3] = 255
		}
	}
	return painted(t.Cols, t.Rows, pixels)
}

// tile is a piece of the hatch: at 45 degrees a light line beside a dark one, both of whole device pixels, and nothing between.
func tile(ratio float64) js.Value {
	line := max(1, int(math.Round(ratio)))
	side := max(4*line, int(math.Round(9*ratio)))
	pixels := make([]byte, 4*side*side)
	for y := range side {
		for x := range side {
			v := byte(255)
			switch d := (x + y) % side; {
			case d >= 2*line:
				continue
			case d >= line:
				v = 0
			}
			i := 4 * (y*side + x)
			pixels[i], pixels[i+1], pixels[i+2], pixels[i+3] = v, v, v, 255
		}
	}
	return painted(side, side, pixels)
}

// painted is a canvas with pixels, RGBA row by row.
func painted(w, h int, pixels []byte) js.Value {
	c := document.Call("createElement", "canvas")
	c.Set("width", w)
	c.Set("height", h)
	data := global.Get("ImageData").New(w, h)
	js.CopyBytesToJS(data.Get("data"), pixels)
	c.Call("getContext", "2d").Call("putImageData", data, 0, 0)
	return c
}

// layPins puts the notes over the first picture. A press goes through them to the easel; they are buttons for the keyboard and for who does not see them.
func (e *Easel) layPins(h Hanging) {
	there := map[string]bool{}
	if len(e.places) > 0 && e.ready(h) {
		p := e.places[0]
		x0, y0 := e.origin(p, h)
		for _, n := range h.Pins {
			there[n.ID] = true
			q := e.pins[n.ID]
			if q == nil {
				q = e.pin(n)
				e.pins[n.ID] = q
			}
			rectangle := n.Width > 0 && n.Height > 0
			left, top := x0+float64(n.X)*h.Scale, y0+float64(n.Y)*h.Scale
			right, bottom := left+float64(n.Width)*h.Scale, top+float64(n.Height)*h.Scale
			if !rectangle { // the middle of its pixel
				left, top = left+h.Scale/2, top+h.Scale/2
				right, bottom = left, top
			}
			inSight := p.inSight && right >= 0 && bottom >= 0 && left <= float64(p.width) && top <= float64(e.size[1])
			if h.Way == "divider" && len(h.Pictures) > 1 {
				inSight = inSight && left <= float64(e.split(h))
			}
			style(q.frame, "visibility", shown(inSight && rectangle), "left", e.px(math.Round(left)), "top", e.px(math.Round(top)),
				"width", e.px(math.Round(right)-math.Round(left)), "height", e.px(math.Round(bottom)-math.Round(top)))
			set(q.frame, "aria-current", n.Current)
			style(q.mark, "visibility", shown(inSight && n.Label != ""), "left", e.px(math.Round(left)), "top", e.px(math.Round(top)))
			set(q.mark, "aria-current", n.Current)
			if q.mark.Get("textContent").String() != n.Label {
				q.mark.Set("textContent", n.Label)
				q.mark.Call("setAttribute", "aria-label", "Note "+n.Label)
			}
		}
	}
	for id, q := range e.pins {
		if !there[id] {
			q.frame.Call("remove")
			q.mark.Call("remove")
			delete(e.pins, id)
		}
	}
}

// ready tells whether the first picture can be seen.
func (e *Easel) ready(h Hanging) bool {
	m := e.sheets[h.Pictures[0].Key]
	return m != nil && m.ready
}

func (e *Easel) pin(n Pin) *pin {
	q := &pin{child(e.wall, "div", "area"), child(e.wall, "button", "mark")}
	style(q.frame, "position", "absolute", "z-index", "3", "pointer-events", "none")
	style(q.mark, "position", "absolute", "z-index", "4", "pointer-events", "none")
	q.mark.Set("type", "button")
	data := q.mark.Get("dataset")
	data.Set("action", "pin")
	data.Set("id", n.ID)
	return q
}

// hear listens to pointer and wheel on the element.
func (e *Easel) hear() {
	element := e.element
	at := func(v js.Value) (x, y float64) {
		r := e.wall.Call("getBoundingClientRect")
		return (v.Get("clientX").Float() - r.Get("left").Float()) * e.ratio, (v.Get("clientY").Float() - r.Get("top").Float()) * e.ratio
	}
	hear := func(event string, f func(v js.Value)) {
		g := js.FuncOf(func(_ js.Value, args []js.Value) any {
			f(args[0])
			return nil
		})
		e.heard = append(e.heard, func() {
			element.Call("removeEventListener", event, g)
			g.Release()
		})
		element.Call("addEventListener", event, g, map[string]any{"passive": false})
	}
	shift := func(v js.Value) bool { return v.Get("shiftKey").Bool() }
	hear("pointerdown", func(v js.Value) {
		if v.Get("button").Int() != 0 {
			return
		}
		x, y := at(v)
		id := v.Get("pointerId").Int()
		try(func() { element.Call("setPointerCapture", id) })
		e.fingers[id] = [2]float64{x, y}
		switch len(e.fingers) {
		case 1:
			e.held = id
			e.listen.Press("down", x, y, shift(v))
		case 2:
			e.held = -1
			e.spread, e.middle[0], e.middle[1] = e.pinch()
			e.listen.Press("cancel", x, y, false)
		}
	})
	hear("pointermove", func(v js.Value) {
		id := v.Get("pointerId").Int()
		if _, ok := e.fingers[id]; !ok {
			return
		}
		x, y := at(v)
		e.fingers[id] = [2]float64{x, y}
		switch {
		case id == e.held:
			e.listen.Press("move", x, y, shift(v))
		case len(e.fingers) == 2:
			spread, mx, my := e.pinch()
			if dx, dy := mx-e.middle[0], my-e.middle[1]; dx != 0 || dy != 0 {
				e.listen.Press("slide", dx, dy, false)
			}
			e.middle = [2]float64{mx, my}
			if e.spread > 0 && spread > 0 && spread != e.spread {
				e.listen.Wheel(mx, my, -math.Log(spread/e.spread)*pinchRate*e.ratio)
			}
			e.spread = spread
		}
	})
	ended := func(kind string) func(v js.Value) {
		return func(v js.Value) {
			id := v.Get("pointerId").Int()
			if _, ok := e.fingers[id]; !ok {
				return
			}
			delete(e.fingers, id)
			if id == e.held {
				e.held = -1
				x, y := at(v)
				e.listen.Press(kind, x, y, shift(v))
			}
		}
	}
	hear("pointerup", ended("up"))
	hear("pointercancel", ended("cancel"))
	hear("lostpointercapture", ended("cancel"))
	hear("wheel", func(v js.Value) {
		if len(e.now.Pictures) == 0 {
			return
		}
		v.Call("preventDefault")
		delta := v.Get("deltaY").Float()
		switch v.Get("deltaMode").Int() {
		case 1:
			delta *= 16 // lines
		case 2:
			delta *= float64(e.size[1]) / e.ratio // pages
		}
		if v.Get("ctrlKey").Bool() {
			delta *= pinchRate / padRate
		}
		if x, y := at(v); delta != 0 {
			e.listen.Wheel(x, y, delta*e.ratio)
		}
	})
	hear("dragstart", func(v js.Value) { v.Call("preventDefault") })
}

// pinch is how far two fingers are apart, and the point between them.
func (e *Easel) pinch() (spread, x, y float64) {
	var p [][2]float64
	for _, f := range e.fingers {
		p = append(p, f)
	}
	if len(p) != 2 {
		return 0, 0, 0
	}
	return math.Hypot(p[0][0]-p[1][0], p[0][1]-p[1][1]), (p[0][0] + p[1][0]) / 2, (p[0][1] + p[1][1]) / 2
}

// style sets properties in the element's own style, name by value. The page's policy forbids style attributes, not this.
func style(element js.Value, pairs ...string) {
	s := element.Get("style")
	for i := 0; i+1 < len(pairs); i += 2 {
		s.Call("setProperty", pairs[i], pairs[i+1])
	}
}

func child(of js.Value, tag, class string) js.Value {
	v := document.Call("createElement", tag)
	v.Set("className", class)
	of.Call("append", v)
	return v
}

func set(element js.Value, attribute string, on bool) {
	if on {
		element.Call("setAttribute", attribute, "true")
	} else {
		element.Call("removeAttribute", attribute)
	}
}

func shown(on bool) string {
	if on {
		return "visible"
	}
	return "hidden"
}

func displayed(on bool) string {
	if on {
		return "block"
	}
	return "none"
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
