//go:build js

package browser

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"slices"
	"strings"
	"syscall/js"
	"testing"
	"time"
)

// told is what an EaselListener heard.
type told struct {
	hung  []string
	size  [2]int
	sizes int
	press []press
	wheel [][3]float64
}

type press struct {
	kind  string
	x, y  float64
	shift bool
}

// stand puts an easel on the page, at a place and of a size in CSS pixels, and takes it away at the end of the test.
func stand(t *testing.T, b *Blobs, left, top, width, height float64) (*Easel, *told) {
	t.Helper()
	page(t)
	h := &told{}
	place := func() js.Value {
		v := document.Call("createElement", "div")
		v.Set("id", "easel")
		style(v, "position", "absolute", "left", fmt.Sprint(left, "px"), "top", fmt.Sprint(top, "px"), "width", fmt.Sprint(width, "px"), "height", fmt.Sprint(height, "px"))
		document.Get("body").Call("append", v)
		return v
	}
	place()
	e := NewEasel(b, EaselListener{
		Hung: func(key string, w, height int, ok bool) {
			h.hung = append(h.hung, fmt.Sprint(key, " ", w, " ", height, " ", ok))
		},
		Size: func(w, height int) { h.size, h.sizes = [2]int{w, height}, h.sizes+1 },
		Press: func(kind string, x, y float64, shift bool) {
			h.press = append(h.press, press{kind, x, y, shift})
		},
		Wheel: func(x, y, delta float64) { h.wheel = append(h.wheel, [3]float64{x, y, delta}) },
	})
	t.Cleanup(func() {
		document.Call("getElementById", "easel").Call("remove")
		e.Hang(Hanging{})
		e.changes.Call("disconnect")
	})
	return e, h
}

// grain is a picture of which no two neighbours are alike.
func grain(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	copy(m.Pix, noiseOf(len(m.Pix)))
	for i := 3; i < len(m.Pix); i += 4 {
		m.Pix[i] = 255
	}
	return m
}

// plain is a picture of one grey.
func plain(w, h int, v uint8) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range m.Pix {
		m.Pix[i] = v
	}
	for i := 3; i < len(m.Pix); i += 4 {
		m.Pix[i] = 255
	}
	return m
}

func asPNG(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// hang waits until pictures are hung and painted.
func (h *told) wait(t *testing.T, e *Easel, g Hanging, n int) {
	t.Helper()
	e.Hang(g)
	until(t, "hung", func() bool { return len(h.hung) >= n })
	frames(3)
}

// corner is where the easel's first whole device pixel is.
func corner(e *Easel) image.Point {
	r := e.wall.Call("getBoundingClientRect")
	return image.Pt(int(math.Round(r.Get("left").Float()*e.ratio)), int(math.Round(r.Get("top").Float()*e.ratio)))
}

const room = 0x77

// At whole scales each pixel of the picture is on whole device pixels, exactly as the file has it, wherever the easel is and however dense the screen.
func TestEaselExact(t *testing.T) {
	page(t)
	b := NewBlobs("easel test")
	m := grain(91, 70)
	b.Put("grain", blobOf(asPNG(t, m), "image/png"))
	for _, at := range [][4]float64{{0, 0, 200, 160}, {10.3, 7.7, 201.4, 160.9}, {33.5, 20.25, 60.5, 50.5}} {
		for _, scale := range []float64{1, 2, 3} {
			t.Run(fmt.Sprint(at, scale), func(t *testing.T) {
				e, h := stand(t, b, at[0], at[1], at[2], at[3])
				h.wait(t, e, Hanging{Pictures: []Hung{{"grain", "Grain", 91, 70}}, Way: "one", Scale: scale, X: 45.3, Y: 35.2}, 1)
				if h.hung[0] != "grain 91 70 true" {
					t.Fatal(h.hung)
				}
				if h.size != e.size || h.size[0] < 1 {
					t.Fatalf("size %v, told %v", e.size, h.size)
				}
				seen, from := shot(t), corner(e)
				x0 := int(math.Round(float64(e.size[0])/2 - 45.3*scale))
				y0 := int(math.Round(float64(e.size[1])/2 - 35.2*scale))
				differ, looked, outside := 0, 0, 0
				for y := range e.size[1] {
					for x := range e.size[0] {
						want := color.RGBA{room, room, room, 255}
						p := image.Pt(int(math.Floor(float64(x-x0)/scale)), int(math.Floor(float64(y-y0)/scale)))
						if p.In(m.Rect) {
							want = m.RGBAAt(p.X, p.Y)
							looked++
						} else {
							outside++
						}
						if got := seen.RGBAAt(from.X+x, from.Y+y); got != want {
							differ++
						}
					}
				}
				if differ > 0 || looked < 1000 {
					t.Errorf("%d of %d pixels differ, %d beside the picture", differ, looked, outside)
				}
			})
		}
	}
}

// The size is what lies inside on whole device pixels, and changes with the element.
func TestEaselSize(t *testing.T) {
	e, h := stand(t, NewBlobs("easel test"), 10.5, 20, 100.4, 80)
	ratio := window.Get("devicePixelRatio").Float()
	inside := func(from, length float64) int {
		return int(math.Floor((from+length)*ratio+1./32) - math.Ceil(from*ratio-1./32))
	}
	if h.sizes != 0 {
		t.Error("told before anything was hung")
	}
	e.Hang(Hanging{})
	if h.sizes != 0 {
		t.Error("told inside Hang")
	}
	until(t, "the size is told", func() bool { return h.sizes == 1 })
	if want := [2]int{inside(10.5, 100.4), inside(20, 80)}; h.size != want {
		t.Errorf("size %v, want %v", h.size, want)
	}
	style(e.element, "width", "200px")
	until(t, "the new size is told", func() bool { return h.sizes == 2 })
	if want := [2]int{inside(10.5, 200), inside(20, 80)}; h.size != want {
		t.Errorf("size %v, want %v", h.size, want)
	}
	line := math.Floor(5*ratio) / ratio // as browsers draw it
	style(e.element, "border", "5px solid #000", "width", "180px")
	until(t, "the size within a border is told", func() bool { return h.sizes == 3 })
	if want := [2]int{inside(10.5+line, 180), inside(20+line, 80)}; h.size != want {
		t.Errorf("size %v, want %v", h.size, want)
	}
	// An easel that is moved still lies on whole pixels.
	style(e.element, "left", "11.25px", "width", "200.75px")
	frames(3)
	if got := e.wall.Call("getBoundingClientRect").Get("left").Float() * ratio; math.Abs(got-math.Round(got)) > 1./32 {
		t.Errorf("the wall is at %v", got)
	}
}

// Two pictures: beside each other, one in the place of the other, and under a divider.
func TestEaselWays(t *testing.T) {
	b := NewBlobs("easel test")
	e, h := stand(t, b, 0, 0, 300, 100)
	b.Put("dark", blobOf(asPNG(t, plain(400, 300, 40)), "image/png"))
	b.Put("light", blobOf(asPNG(t, plain(200, 150, 200)), "image/png"))
	g := Hanging{Pictures: []Hung{{"dark", "Dark", 400, 300}, {"light", "Light", 400, 300}}, Way: "one", Scale: 1, X: 200, Y: 150, Divider: 0.25}
	row := func(t *testing.T) string {
		t.Helper()
		frames(3)
		seen := shot(t)
		var s strings.Builder
		for x := 0; x < 300; x++ {
			for y := 10; y < 90; y += 20 {
				if seen.RGBAAt(x, y) != seen.RGBAAt(x, 10) {
					t.Fatalf("column %d is not even", x)
				}
			}
			switch seen.RGBAAt(x, 10) {
			case color.RGBA{40, 40, 40, 255}:
				s.WriteByte('d')
			case color.RGBA{200, 200, 200, 255}:
				s.WriteByte('l')
			case color.RGBA{room, room, room, 255}:
				s.WriteByte('.')
			case color.RGBA{0, 0, 0, 255}:
				s.WriteByte('0')
			case color.RGBA{255, 255, 255, 255}:
				s.WriteByte('1')
			default:
				s.WriteByte('?')
			}
		}
		return s.String()
	}
	h.wait(t, e, g, 2)
	slices.Sort(h.hung)
	if strings.Join(h.hung, ", ") != "dark 400 300 true, light 200 150 true" {
		t.Errorf("hung: %v", h.hung)
	}
	some := strings.Repeat
	if got := row(t); got != some("d", 300) {
		t.Errorf("one: %s", got)
	}
	g.Way, g.Front = "swap", 1
	e.Hang(g)
	if got := row(t); got != some("l", 300) {
		t.Errorf("swapped: %s", got)
	}
	g.Front = 0
	e.Hang(g)
	if got := row(t); got != some("d", 300) {
		t.Errorf("swapped back: %s", got)
	}
	g.Way = "divider"
	e.Hang(g)
	if got := row(t); got != some("d", 74)+"01"+some("l", 224) {
		t.Errorf("divider: %s", got)
	}
	g.Divider = 1
	e.Hang(g)
	if got := row(t); got != some("d", 299)+"0" {
		t.Errorf("divider at the end: %s", got)
	}
	g.Way, g.Scale = "beside", 0.25 // 100 wide in columns of 150
	e.Hang(g)
	frames(3)
	seen := shot(t)
	for x, want := range map[int]uint8{10: room, 30: 40, 120: 40, 140: room, 160: room, 180: 200, 270: 200, 290: room} {
		if got := seen.RGBAAt(x, 50).R; got != want {
			t.Errorf("beside: column %d is %d, want %d", x, got, want)
		}
	}
	if len(h.hung) != 2 {
		t.Errorf("decoded again: %v", h.hung)
	}
	// One that is taken down and hung again is decoded again, and so is one that was replaced.
	g.Way, g.Scale = "one", 1
	both := g.Pictures
	g.Pictures = both[1:]
	e.Hang(g)
	g.Pictures = both
	h.wait(t, e, g, 3)
	b.Put("light", blobOf(asPNG(t, plain(10, 10, 90)), "image/png"))
	h.wait(t, e, g, 4)
	if got := h.hung[2] + ", " + h.hung[3]; got != "dark 400 300 true, light 10 10 true" {
		t.Errorf("hung again: %s", got)
	}
}

// What cannot be shown is told, once, and shows nothing.
func TestEaselFails(t *testing.T) {
	b := NewBlobs("easel test")
	e, h := stand(t, b, 0, 0, 100, 100)
	whole := asPNG(t, grain(50, 50))
	b.Put("half", blobOf(whole[:20], "image/png"))
	b.Put("text", blobOf([]byte("pears"), "image/png"))
	g := Hanging{Pictures: []Hung{{"half", "", 50, 50}, {"text", "", 50, 50}, {"nothing", "", 50, 50}}, Way: "one", Scale: 1, X: 25, Y: 25}
	e.Hang(g)
	if len(h.hung) != 0 {
		t.Error("told inside Hang")
	}
	h.wait(t, e, g, 3)
	e.Hang(g)
	time.Sleep(50 * time.Millisecond)
	slices.Sort(h.hung)
	if strings.Join(h.hung, ", ") != "half 0 0 false, nothing 0 0 false, text 0 0 false" {
		t.Errorf("hung: %v", h.hung)
	}
	if got := shot(t).RGBAAt(50, 50); got != (color.RGBA{room, room, room, 255}) {
		t.Errorf("the middle is %v", got)
	}
	// It can be hung once there is a whole one.
	b.Put("half", blobOf(whole, "image/png"))
	h.wait(t, e, g, 4)
	if h.hung[3] != "half 50 50 true" {
		t.Errorf("hung: %v", h.hung)
	}
}

// turned is a JPEG whose EXIF says how it is to be turned.
func turned(t *testing.T, m image.Image, orientation uint16) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 100}); err != nil {
		t.Fatal(err)
	}
	exif := append([]byte("Exif\x00\x00MM\x00\x2a\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01"), byte(orientation>>8), byte(orientation), 0, 0, 0, 0, 0, 0)
	head := binary.BigEndian.AppendUint16([]byte{0xff, 0xd8, 0xff, 0xe1}, uint16(len(exif)+2))
	return slices.Concat(head, exif, b.Bytes()[2:])
}

// The browser turns pictures as they say.
func TestEaselOrientation(t *testing.T) {
	b := NewBlobs("easel test")
	m := image.NewGray(image.Rect(0, 0, 64, 32))
	for y := range 32 {
		for x := range 64 {
			switch {
			case x < 32 && y < 16:
				m.SetGray(x, y, color.Gray{30})
			case y < 16:
				m.SetGray(x, y, color.Gray{90})
			case x < 32:
				m.SetGray(x, y, color.Gray{150})
			default:
				m.SetGray(x, y, color.Gray{210})
			}
		}
	}
	// The quarters after turning, row by row, by EXIF 2.3, tag 274.
	want := map[uint16][4]uint8{1: {30, 90, 150, 210}, 2: {90, 30, 210, 150}, 3: {210, 150, 90, 30}, 4: {150, 210, 30, 90}, 5: {30, 150, 90, 210}, 6: {150, 30, 210, 90}, 7: {210, 90, 150, 30}, 8: {90, 210, 30, 150}}
	for o := uint16(1); o <= 8; o++ {
		t.Run(fmt.Sprint(o), func(t *testing.T) {
			e, h := stand(t, b, 0, 0, 100, 100)
			key := fmt.Sprint("turned", o)
			b.Put(key, blobOf(turned(t, m, o), "image/jpeg"))
			w, height := 64, 32
			if o > 4 {
				w, height = 32, 64
			}
			h.wait(t, e, Hanging{Pictures: []Hung{{key, "", w, height}}, Way: "one", Scale: 1, X: float64(w) / 2, Y: float64(height) / 2}, 1)
			if h.hung[0] != fmt.Sprint(key, " ", w, " ", height, " true") {
				t.Fatal(h.hung)
			}
			seen := shot(t)
			for i, v := range want[o] {
				x, y := 50-w/4+i%2*w/2, 50-height/4+i/2*height/2
				if got := seen.RGBAAt(x, y).R; max(got, v)-min(got, v) > 3 {
					t.Errorf("quarter %d is %d, want %d", i, got, v)
				}
			}
		})
	}
}

// The hatch is where it covers, light and dark, and leaves the rest as it was.
func TestEaselHatch(t *testing.T) {
	b := NewBlobs("easel test")
	e, h := stand(t, b, 0, 0, 200, 200)
	ratio := window.Get("devicePixelRatio").Float()
	line := math.Round(ratio)
	share := line / max(4*line, math.Round(9*ratio))
	var corner image.Point // of the picture
	for _, v := range []uint8{0, room, 255} {
		key := fmt.Sprint("plain", v)
		b.Put(key, blobOf(asPNG(t, plain(160, 160, v)), "image/png"))
		h.hung = nil
		cells := &Hatch{2, 2, []byte{255, 127, 0, 128}}
		g := Hanging{Pictures: []Hung{{key, "", 160, 160}}, Way: "one", Scale: 1, X: 80, Y: 80, Hatch: cells}
		h.wait(t, e, g, 1)
		seen := shot(t)
		corner = image.Pt((e.size[0]+1)/2-80, (e.size[1]+1)/2-80)
		for cell, covered := range []bool{true, false, false, true} {
			at := corner.Add(image.Pt(cell%2*80, cell/2*80))
			light, dark, same := 0, 0, 0
			for y := at.Y; y < at.Y+80; y++ {
				for x := at.X; x < at.X+80; x++ {
					switch c := seen.RGBAAt(x, y); {
					case c == color.RGBA{v, v, v, 255}:
						same++
					case c == color.RGBA{255, 255, 255, 255}:
						light++
					case c == color.RGBA{0, 0, 0, 255}:
						dark++
					default:
						t.Fatalf("on %d: %v at %d, %d", v, c, x, y)
					}
					// Along 45 degrees nothing changes.
					if x > at.X && y+1 < at.Y+80 && seen.RGBAAt(x-1, y+1) != seen.RGBAAt(x, y) {
						t.Fatalf("on %d: not at 45 degrees at %d, %d", v, x, y)
					}
				}
			}
			if !covered && same != 6400 {
				t.Errorf("on %d: cell %d is hatched", v, cell)
			}
			odd := func(n int) bool { return math.Abs(float64(n)/6400-share) > 0.1*share }
			if covered && (v > 0 && odd(dark) || v < 255 && odd(light)) {
				t.Errorf("on %d: cell %d has %d light and %d dark pixels", v, cell, light, dark)
			}
		}
		g.Hatch = nil
		e.Hang(g)
		frames(2)
		if got := shot(t).RGBAAt(corner.X+10, corner.Y+10); got != (color.RGBA{v, v, v, 255}) {
			t.Errorf("on %d: still hatched, %v", v, got)
		}
		for _, bad := range []*Hatch{{0, 0, nil}, {2, 2, []byte{255}}} {
			g.Hatch = bad
			e.Hang(g)
		}
	}
	// It goes with the picture.
	g := Hanging{Pictures: []Hung{{"plain119", "", 160, 160}}, Way: "one", Scale: 1, X: 80, Y: 80, Hatch: &Hatch{1, 1, []byte{255}}}
	h.hung = nil
	h.wait(t, e, g, 1)
	before := shot(t)
	g.X, g.Y = 75, 82
	e.Hang(g)
	frames(2)
	after := shot(t)
	for y := corner.Y + 30; y < corner.Y+130; y++ {
		for x := corner.X + 30; x < corner.X+130; x++ {
			if before.RGBAAt(x, y) != after.RGBAAt(x+5, y-2) {
				t.Fatal("the lines stay where they were")
			}
		}
	}
}

// Pins are where they are on the picture; they are buttons for the keyboard, and presses go through.
func TestEaselPins(t *testing.T) {
	b := NewBlobs("easel test")
	e, h := stand(t, b, 0, 0, 200, 200)
	b.Put("plain", blobOf(asPNG(t, plain(100, 100, 90)), "image/png"))
	g := Hanging{Pictures: []Hung{{"plain", "Orchard", 100, 100}}, Way: "one", Scale: 2, X: 50, Y: 50,
		Pins: []Pin{{"a", 10, 20, 0, 0, "1", false}, {"b", 30, 40, 20, 10, "2", true}, {"outline", 60, 60, 5, 5, "", true}}}
	h.wait(t, e, g, 1)
	place := func(v js.Value) string {
		s := v.Get("style")
		return s.Get("left").String() + " " + s.Get("top").String() + " " + s.Get("visibility").String()
	}
	buttons := func() (all []js.Value) {
		l := e.element.Call("querySelectorAll", "button[data-action=pin]")
		for i := range l.Length() {
			if l.Index(i).Get("style").Get("visibility").String() == "visible" {
				all = append(all, l.Index(i))
			}
		}
		return all
	}
	list := buttons()
	if len(list) != 2 {
		t.Fatalf("%d buttons", len(list))
	}
	for i, want := range []string{"21px 41px visible", "60px 80px visible"} {
		if got := place(list[i]); got != want {
			t.Errorf("pin %d: %s, want %s", i, got, want)
		}
	}
	if id, label, current := list[1].Get("dataset").Get("id").String(), list[1].Get("textContent").String(), list[1].Call("getAttribute", "aria-current").String(); id != "b" || label != "2" || current != "true" {
		t.Errorf("pin b: %s, %s, %s", id, label, current)
	}
	r := e.pins["b"].frame.Call("getBoundingClientRect")
	if w, height := r.Get("width").Float(), r.Get("height").Float(); w != 40 || height != 20 {
		t.Errorf("rectangle of %v by %v", w, height)
	}
	if got := document.Call("elementFromPoint", 60, 80); !got.Equal(e.element) {
		t.Error("a press does not go through a pin")
	}
	// Under a divider only what is on the first picture's side is in sight, and what is out of the easel is nowhere.
	two := g
	two.Way, two.Divider, two.Pictures = "divider", 0.2, []Hung{g.Pictures[0], {"plain too", "", 100, 100}}
	b.Put("plain too", blobOf(asPNG(t, plain(100, 100, 60)), "image/png"))
	h.wait(t, e, two, 2)
	if list := buttons(); len(list) != 1 || list[0].Get("dataset").Get("id").String() != "a" {
		t.Errorf("%d buttons left of the divider", len(list))
	}
	two.Way, two.Front = "swap", 1
	e.Hang(two)
	if list := buttons(); len(list) != 0 {
		t.Errorf("%d buttons on another picture", len(list))
	}
	g.X, g.Pins = -60, g.Pins[:1]
	e.Hang(g)
	if list := buttons(); len(list) != 0 {
		t.Errorf("%d buttons out of sight", len(list))
	}
	if n := e.element.Call("querySelectorAll", "button, .area").Length(); n != 2 {
		t.Errorf("%d elements of one pin", n)
	}
	if alt := e.element.Call("querySelector", "img").Get("alt").String(); alt != "Orchard" {
		t.Errorf("alt %q", alt)
	}
}

// An easel that the page makes anew is hung again by itself.
func TestEaselAnew(t *testing.T) {
	b := NewBlobs("easel test")
	e, h := stand(t, b, 0, 0, 100, 100)
	b.Put("plain", blobOf(asPNG(t, plain(60, 60, 33)), "image/png"))
	h.wait(t, e, Hanging{Pictures: []Hung{{"plain", "", 60, 60}}, Way: "one", Scale: 1, X: 30, Y: 30}, 1)
	old := document.Call("getElementById", "easel")
	again := old.Call("cloneNode", false)
	old.Call("replaceWith", again)
	until(t, "hung again", func() bool { return len(h.hung) == 2 && h.sizes == 2 })
	frames(3)
	if got := shot(t).RGBAAt(50, 50).R; got != 33 {
		t.Errorf("the middle is %d", got)
	}
	// And one that is gone is let go of.
	again.Call("remove")
	until(t, "let go", func() bool { return len(e.sheets) == 0 })
	document.Get("body").Call("append", again)
	until(t, "hung once more", func() bool { return len(h.hung) == 3 })
}

// The pointer and the wheel are told in device pixels of the easel.
func TestEaselPointer(t *testing.T) {
	b := NewBlobs("easel test")
	e, h := stand(t, b, 50, 30, 300, 200)
	ratio := window.Get("devicePixelRatio").Float()
	b.Put("plain", blobOf(asPNG(t, plain(60, 60, 33)), "image/png"))
	h.wait(t, e, Hanging{Pictures: []Hung{{"plain", "", 60, 60}}, Way: "one", Scale: 1, X: 30, Y: 30}, 1)
	mouse := func(what string, x, y float64, more ...any) {
		t.Helper()
		a := map[string]any{"what": what, "x": x, "y": y}
		for i := 0; i+1 < len(more); i += 2 {
			a[more[i].(string)] = more[i+1]
		}
		ask(t, a)
	}
	mouse("down", 60, 50)
	mouse("move", 70, 55)
	mouse("move", 500, 400) // outside: it is held
	mouse("up", 500, 400)
	mouse("down", 60, 50, "shift", true)
	mouse("up", 60, 50, "shift", true)
	// told compares with what is wanted in CSS pixels. A mouse comes on whole device pixels.
	told := func(want ...press) {
		t.Helper()
		same := len(want) == len(h.press)
		for i, w := range want {
			same = same && h.press[i].kind == w.kind && h.press[i].shift == w.shift && math.Abs(h.press[i].x-w.x*ratio) < 1.01 && math.Abs(h.press[i].y-w.y*ratio) < 1.01
		}
		if !same {
			t.Errorf("told %v, want %v times %v", h.press, want, ratio)
		}
	}
	until(t, "all is told", func() bool { return len(h.press) >= 6 })
	told(press{"down", 10, 20, false}, press{"move", 20, 25, false}, press{"move", 450, 370, false}, press{"up", 450, 370, false}, press{"down", 10, 20, true}, press{"up", 10, 20, true})
	mouse("wheel", 150, 130, "delta", 120.0)
	until(t, "the wheel is told", func() bool { return len(h.wheel) > 0 })
	if w := h.wheel[0]; math.Abs(w[0]-100*ratio) > 1.01 || math.Abs(w[1]-100*ratio) > 1.01 || math.Abs(w[2]-120*ratio) > 1e-3 {
		t.Errorf("wheel %v", h.wheel)
	}

	// Fingers: two that part, and a press that the second one ends.
	h.press, h.wheel = nil, nil
	finger := func(event string, id int, x, y float64) {
		e.element.Call("dispatchEvent", global.Get("PointerEvent").New(event, map[string]any{"pointerId": id, "clientX": x, "clientY": y, "button": 0, "bubbles": true, "pointerType": "touch"}))
	}
	finger("pointerdown", 71, 100, 100)
	finger("pointerdown", 72, 200, 100)
	finger("pointermove", 72, 300, 100)
	finger("pointerup", 72, 300, 100)
	finger("pointermove", 71, 110, 100)
	finger("pointerup", 71, 110, 100)
	// The point between them moved by half of what the one finger did.
	told(press{"down", 50, 70, false}, press{"cancel", 150, 70, false}, press{"slide", 50, 0, false})
	if len(h.wheel) != 1 || math.Abs(h.wheel[0][0]-150*ratio) > 1.01 || math.Abs(h.wheel[0][2]+500*ratio*math.Ln2) > 1e-3 {
		t.Errorf("wheel %v", h.wheel)
	}
	h.press = nil
	finger("pointerdown", 73, 100, 100)
	finger("pointercancel", 73, 100, 100)
	told(press{"down", 50, 70, false}, press{"cancel", 50, 70, false})
}
