//go:build js

package browser

import (
	"image"
	"math"
	"strconv"
	"strings"
	"syscall/js"
	"unsafe"
)

// A Canvas shows frames, one pixel of a frame on one pixel of the device. It fills the element it is made of.
type Canvas struct {
	element, context js.Value

	// A canvas has one colour space for ever. That of Display P3 lies over the other, takes no pointer, and is seen only while it is used.
	wide, wideContext js.Value
	over              bool

	frame  *image.RGBA // that data is a view of: kept, so that it stays where it is
	buffer js.Value    // of the program's memory when data was made
	data   [2]js.Value // ImageData: of sRGB, and of Display P3

	box   image.Point // device pixels, as the browser tells; zero when it does not
	sheet [2]float64  // CSS pixels
	known bool        // box and sheet were told once
	style string      // what styles said when Surface was called last
}

// OpenCanvas takes the canvas element with the given id; false if it gives no two-dimensional context.
func OpenCanvas(id string) (*Canvas, bool) {
	c := &Canvas{element: document.Call("getElementById", id)}
	// The default colour space, sRGB, has the least conversion on the way to the screen.
	c.context = c.element.Call("getContext", "2d", map[string]any{"alpha": false})
	if !c.context.Truthy() {
		return c, false
	}
	e := document.Call("createElement", "canvas")
	if x := wideContext(e); x.Truthy() {
		c.wide, c.wideContext = e, x
		e.Set("className", c.element.Get("className"))
		e.Call("setAttribute", "aria-hidden", "true")
		style := e.Get("style")
		for name, value := range map[string]string{
			"position": "absolute", "left": "0", "top": "0", "margin": "0", "padding": "0", "border": "0", "pointerEvents": "none", "objectFit": "fill", "visibility": "hidden",
		} {
			style.Set(name, value)
		}
		c.element.Call("after", e)
	}
	return c, true
}

// wideContext is a context of e in Display P3, or null. A browser that does not know the colour space leaves it out or throws.
func wideContext(e js.Value) js.Value {
	found := js.Null()
	try(func() {
		x := e.Call("getContext", "2d", map[string]any{"alpha": false, "colorSpace": "display-p3"})
		if x.Truthy() && has(x, "getContextAttributes") && x.Call("getContextAttributes").Get("colorSpace").String() == "display-p3" {
			global.Get("ImageData").New(1, 1, map[string]any{"colorSpace": "display-p3"})
			found = x
		}
	})
	return found
}

// Wide tells whether colours of Display P3 can be shown.
func (c *Canvas) Wide() bool { return c.wideContext.Truthy() }

// spaces are the colour spaces of data.
var spaces = [2]string{"srgb", "display-p3"}

// view is an ImageData over the frame's own memory, which no longer holds once the memory has grown and is then made again.
func (c *Canvas) view(frame *image.RGBA, space int) js.Value {
	size := frame.Rect.Size()
	memory := global.Get("goMem")
	if !memory.Truthy() {
		return copied(frame, space)
	}
	buffer := memory.Get("buffer")
	if c.frame != frame || !c.buffer.Equal(buffer) {
		c.frame, c.buffer, c.data = frame, buffer, [2]js.Value{}
	}
	if c.data[space].IsUndefined() {
		at := int(uintptr(unsafe.Pointer(unsafe.SliceData(frame.Pix))))
		pixels := global.Get("Uint8ClampedArray").New(buffer, at, 4*size.X*size.Y)
		if space == 0 {
			c.data[space] = global.Get("ImageData").New(pixels, size.X, size.Y)
		} else {
			c.data[space] = global.Get("ImageData").New(pixels, size.X, size.Y, map[string]any{"colorSpace": spaces[space]})
		}
	}
	return c.data[space]
}

// copied is an ImageData of its own.
func copied(frame *image.RGBA, space int) js.Value {
	var data js.Value
	if space == 0 {
		data = global.Get("ImageData").New(frame.Rect.Dx(), frame.Rect.Dy())
	} else {
		data = global.Get("ImageData").New(frame.Rect.Dx(), frame.Rect.Dy(), map[string]any{"colorSpace": spaces[space]})
	}
	js.CopyBytesToJS(data.Get("data"), frame.Pix)
	return data
}

// Show puts every pixel of frame on a pixel of the canvas, at once; wide says that they are colours of Display P3. The frame must be packed: its stride is 4
// times its width.
func (c *Canvas) Show(frame *image.RGBA, wide bool) {
	if frame.Rect.Empty() || frame.Stride != 4*frame.Rect.Dx() {
		return
	}
	wide = wide && c.Wide()
	context, space := c.context, 0
	if wide {
		context, space = c.wideContext, 1
		c.lay()
	}
	if !try(func() { context.Call("putImageData", c.view(frame, space), 0, 0) }).IsUndefined() {
		context.Call("putImageData", copied(frame, space), 0, 0)
	}
	if wide != c.over {
		c.over = wide
		c.wide.Get("style").Set("visibility", map[bool]string{true: "", false: "hidden"}[wide])
	}
}

// lay makes the wide canvas as large as the other, in bitmap and in layout.
func (c *Canvas) lay() {
	for _, side := range []string{"width", "height"} {
		if v := c.element.Get(side); !v.Equal(c.wide.Get(side)) {
			c.wide.Set(side, v)
		}
	}
	r := c.element.Call("getBoundingClientRect")
	style := c.wide.Get("style")
	for _, side := range []string{"width", "height"} {
		style.Set(side, strconv.FormatFloat(r.Get(side).Float(), 'f', -1, 64)+"px")
	}
}

// Mark sets data-presentation, or takes it away.
func (c *Canvas) Mark(data string) {
	if data == "" {
		c.element.Call("removeAttribute", "data-presentation")
	} else {
		c.element.Call("setAttribute", "data-presentation", data)
	}
}

// resized makes the bitmap as large as the box.
func (c *Canvas) resized(entry js.Value) {
	first := func(v js.Value) js.Value {
		if has(v, "length") {
			return v.Index(0)
		}
		return v
	}
	if v := entry.Get("contentBoxSize"); v.Truthy() {
		s := first(v)
		c.sheet = [2]float64{s.Get("inlineSize").Float(), s.Get("blockSize").Float()}
	} else {
		r := entry.Get("contentRect")
		c.sheet = [2]float64{r.Get("width").Float(), r.Get("height").Float()}
	}
	c.box = image.Point{}
	w, h := 0, 0
	if v := entry.Get("devicePixelContentBoxSize"); v.Truthy() {
		s := first(v)
		w, h = s.Get("inlineSize").Int(), s.Get("blockSize").Int()
		c.box = image.Pt(w, h)
	} else {
		ratio := window.Get("devicePixelRatio").Float()
		w, h = int(math.Round(c.sheet[0]*ratio)), int(math.Round(c.sheet[1]*ratio))
	}
	if c.element.Get("width").Int() != w {
		c.element.Set("width", w)
	}
	if c.element.Get("height").Int() != h {
		c.element.Set("height", h)
	}
	c.known = true
}

// watch calls changed when the canvas, the window or the screen changes. The bitmap has its new size then, and has been cleared.
func (c *Canvas) watch(changed func()) {
	observer := global.Get("ResizeObserver").New(js.FuncOf(func(_ js.Value, args []js.Value) any {
		entries := args[0]
		c.resized(entries.Index(entries.Length() - 1))
		changed()
		return nil
	}))
	box := map[string]any{"box": "device-pixel-content-box"}
	if !try(func() { observer.Call("observe", c.element, box) }).IsUndefined() {
		observer.Call("observe", c.element)
	}
	again := func(js.Value) {
		if c.known {
			changed()
		}
	}
	c.ratio(again)
	on(document, "fullscreenchange", again)
	on(document, "webkitfullscreenchange", again)
	on(window, "resize", again)
	if v := window.Get("visualViewport"); v.Truthy() {
		on(v, "resize", again)
	}
	for _, q := range []string{"(color-gamut: p3)", "(color-gamut: rec2020)", "(dynamic-range: high)", "(forced-colors: active)", "(prefers-contrast: more)", "(prefers-color-scheme: light)"} {
		on(window.Call("matchMedia", q), "change", again)
	}
}

// ratio watches the pixel ratio: a query holds for one value, so it is asked anew after every change.
func (c *Canvas) ratio(again func(js.Value)) {
	q := window.Call("matchMedia", "(resolution: "+strconv.FormatFloat(window.Get("devicePixelRatio").Float(), 'f', -1, 64)+"dppx)")
	f, _ := once(func([]js.Value) {
		c.ratio(again)
		again(js.Undefined())
	})
	q.Call("addEventListener", "change", f, map[string]any{"once": true})
}

// A Surface is what the page knows of the canvas and of the screen it is on.
type Surface struct {
	Width, Height       int     // of the canvas bitmap, pixels
	BoxWidth, BoxHeight int     // what the canvas covers, device pixels; 0 when the browser does not tell
	SheetWidth          float64 // what the canvas covers, CSS pixels
	SheetHeight         float64
	WindowWidth         float64  // CSS pixels
	Ratio               float64  // device pixels to a CSS pixel
	Pinch               float64  // magnification by the fingers; 1 when there is none
	Zoom                float64  // of the page by the browser; 0 where it cannot be told
	Blending            []string // styles of the canvas and what it is in that blend pixels, as "opacity 0.99"
	Filter              string   // a filter that changes colours and leaves pixels where they are; empty when there is none
	FullScreen          bool     //
	CanFullScreen       bool     //
	Room                uint8    // code of the page's own ground
	Gamut               string   // widest of srgb, p3, rec2020 that the browser claims; empty when it claims none
	DynamicRange        string   // standard or high
	ColorDepth          int      // bits
	ForcedColors        bool     //
	Contrast            string   // what the person asks their system for: more, less, custom; empty when nothing
}

// Surface measures.
func (c *Canvas) Surface() Surface {
	s := Surface{
		Width:         c.element.Get("width").Int(),
		Height:        c.element.Get("height").Int(),
		BoxWidth:      c.box.X,
		BoxHeight:     c.box.Y,
		SheetWidth:    c.sheet[0],
		SheetHeight:   c.sheet[1],
		WindowWidth:   window.Get("innerWidth").Float(),
		Ratio:         window.Get("devicePixelRatio").Float(),
		Pinch:         1,
		FullScreen:    has(document, "fullscreenElement"),
		CanFullScreen: has(document, "documentElement", "requestFullscreen") && document.Get("fullscreenEnabled").Truthy(),
		Room:          ground(),
		Gamut:         widest("color-gamut", "rec2020", "p3", "srgb"),
		DynamicRange:  widest("dynamic-range", "high", "standard"),
		ForcedColors:  matches("(forced-colors: active)"),
		Contrast:      widest("prefers-contrast", "more", "less", "custom"),
	}
	if v := window.Get("visualViewport"); v.Truthy() {
		s.Pinch = v.Get("scale").Float()
	}
	s.Zoom = zoom()
	if has(window, "screen", "colorDepth") {
		s.ColorDepth = window.Get("screen").Get("colorDepth").Int()
	}
	s.Blending, s.Filter = c.styles()
	c.style = strings.Join(append(s.Blending, s.Filter), "; ")
	return s
}

// restyled tells whether the styles that touch the canvas's pixels are others than Surface told last. No event tells of that: an extension or a person
// changes them when they like.
func (c *Canvas) restyled() bool {
	blending, filter := c.styles()
	return c.known && c.style != strings.Join(append(blending, filter), "; ")
}

// styles are the computed styles, of the canvas and all it is in, that touch its pixels.
func (c *Canvas) styles() (blending []string, filter string) {
	for e := c.element; e.Truthy(); e = e.Get("parentElement") {
		style := window.Call("getComputedStyle", e)
		get := func(name string) string { return style.Call("getPropertyValue", name).String() }
		for _, s := range []struct{ name, plain string }{
			{"transform", "none"}, {"translate", "none"}, {"scale", "none"}, {"rotate", "none"}, {"perspective", "none"},
			{"opacity", "1"}, {"mix-blend-mode", "normal"}, {"mask-image", "none"},
		} {
			if v := get(s.name); v != "" && v != s.plain {
				blending = append(blending, s.name+" "+v)
			}
		}
		if v := get("filter"); v != "" && v != "none" {
			if strings.Contains(v, "blur(") || strings.Contains(v, "drop-shadow(") {
				blending = append(blending, "filter "+v)
			} else {
				filter = v
			}
		}
	}
	return blending, filter
}

// zooms are the steps of browsers.
var zooms = []float64{0.25, 1. / 3, 0.5, 2. / 3, 0.75, 0.8, 0.9, 1, 1.1, 1.25, 1.5, 1.75, 2, 2.5, 3, 4, 5}

// zoom is by how much the browser magnifies the page, where it can be told: the window's outer width is not magnified and its inner one is. A window with a side
// panel, or a browser that magnifies both (Gecko), tells nothing.
func zoom() float64 {
	outer, inner := window.Get("outerWidth").Float(), window.Get("innerWidth").Float()
	if outer <= 0 || inner <= 0 || strings.HasPrefix(name(), "Gecko") {
		return 0
	}
	for _, z := range zooms {
		// A frame and a scroll bar are at most some 24 pixels wide.
		if rest := outer - inner*z; rest > -2 && rest <= 24 {
			return z
		}
	}
	return 0
}

func matches(query string) bool { return window.Call("matchMedia", query).Get("matches").Bool() }

// widest is the first value of a media feature that holds, or empty.
func widest(feature string, values ...string) string {
	for _, v := range values {
		if matches("(" + feature + ": " + v + ")") {
			return v
		}
	}
	return ""
}

// ground is the code of the page's background, the mean of its channels.
func ground() uint8 {
	text := window.Call("getComputedStyle", document.Get("documentElement")).Get("backgroundColor").String()
	inside, _, _ := strings.Cut(text[strings.IndexByte(text, '(')+1:], ")")
	sum, n := 0, 0
	for _, f := range strings.FieldsFunc(inside, func(r rune) bool { return r == ',' || r == ' ' || r == '/' }) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil || n == 3 {
			break
		}
		sum, n = sum+int(v), n+1
	}
	if n < 3 {
		return 0
	}
	return uint8(min(sum/3, 255))
}
