package app

import (
	"fmt"
	"math"
	"testing"
)

// hungEasel is an easel with one picture on it.
func hungEasel(view [2]int, side [2]int) *easel {
	e := &easel{way: wayOne}
	e.resize(view[0], view[1])
	e.show([]Hung{{Key: "a", Width: side[0], Height: side[1]}})
	return e
}

// sizes are odd and even ones, of pictures that are smaller and larger than the easel, and of easels as a window of so many CSS pixels has them at usual scales.
var sizes = [][2]int{{1, 1}, {33, 17}, {640, 480}, {641, 479}, {1001, 3001}, {4000, 3000}, {6001, 4001}, {20000, 50}}

var ratios = []float64{1, 1.25, 1.5, 2, 3}

func views() (list [][2]int) {
	for _, r := range ratios {
		for _, css := range [][2]float64{{320, 240}, {801, 601}, {1279, 717}} {
			list = append(list, [2]int{int(math.Round(css[0] * r)), int(math.Round(css[1] * r))})
		}
	}
	return list
}

// At whole scales each pixel of the picture lies on whole pixels of the screen, wherever it was moved, and the scale is exactly what it is called.
func TestPixelForPixel(t *testing.T) {
	checked := 0
	for _, view := range views() {
		for _, side := range sizes {
			e := hungEasel(view, side)
			e.zoom(1, 13.7, 29.3)
			for k, move := range [][2]float64{{0, 0}, {0.4, 0.6}, {-17.3, 5.9}, {1e4, -1e4}, {-1e9, 1e9}} {
				e.pan(move[0], move[1])
				for _, scale := range []float64{1, 2, 3} {
					if scale < e.whole() {
						continue
					}
					e.zoom(scale, 101, 57)
					if e.scale != scale {
						t.Fatalf("%v in %v: a scale of %v for %v", side, view, e.scale, scale)
					}
					for axis, at := range []float64{e.x, e.y} {
						origin := float64(view[axis])/2 - at*scale
						if math.Abs(origin-math.Round(origin)) > 1e-9*math.Max(1, math.Abs(origin)) {
							t.Errorf("%v in %v at %v, move %d, axis %d: the picture begins at %v", side, view, scale, k, axis, origin)
						}
						if scale == 1 && origin != math.Trunc(origin) {
							t.Errorf("%v in %v, move %d, axis %d: at 100 %% the picture begins at %v", side, view, k, axis, origin)
						}
						// What is larger than the easel covers it, what is smaller is whole in it, and in the middle to half a pixel.
						size := float64(side[axis]) * scale
						if size >= float64(view[axis]) {
							if origin > 1e-6 || origin+size < float64(view[axis])-1e-6 {
								t.Errorf("%v in %v at %v: from %v to %v leaves the easel bare", side, view, scale, origin, origin+size)
							}
						} else if d := origin + size/2 - float64(view[axis])/2; math.Abs(d) > 0.5 {
							t.Errorf("%v in %v at %v: %v off the middle", side, view, scale, d)
						}
						checked++
					}
				}
				e.zoom(1, 3, 4)
			}
		}
	}
	if checked < 1000 {
		t.Fatalf("%d places were checked", checked)
	}
}

// The point of the picture under the pointer stays there when zooming: exactly, where neither the limits nor whole pixels move it, and within half a pixel at whole scales.
func TestZoomStays(t *testing.T) {
	free := 0
	for _, view := range views() {
		for _, side := range [][2]int{{4000, 3000}, {6001, 4001}, {9001, 8999}} {
			for _, way := range []string{wayOne, wayBeside} {
				e := hungEasel(view, side)
				if way == wayBeside {
					e.show([]Hung{{Key: "a", Width: side[0], Height: side[1]}, {Key: "b", Width: side[0], Height: side[1]}})
					e.look(wayBeside)
				}
				e.zoom(0.9, float64(view[0])/4, float64(view[1])/2)
				for _, at := range [][2]float64{{0.21, 0.47}, {0.26, 0.5}, {0.72, 0.55}} {
					x, y := at[0]*float64(view[0]), at[1]*float64(view[1])
					for _, scale := range []float64{0.95, 1, 1.3, 2, 2.7, 5, 4, 16, 1.1, 0.93} {
						px, py := e.at(x, y)
						e.zoom(scale, x, y)
						qx, qy := e.at(x, y)
						w, h := e.view()
						clear := func(at float64, view, side int) bool {
							half := float64(view) / 2 / e.scale
							return at > half+1 && at < float64(side)-half-1
						}
						if !clear(e.x, w, side[0]) || !clear(e.y, h, side[1]) {
							continue
						}
						free++
						moved := max(math.Abs(px-qx), math.Abs(py-qy)) * e.scale
						most := 1e-6
						if scale == math.Trunc(scale) {
							most = 0.5 + 1e-6
						}
						if moved > most {
							t.Errorf("%s, %v in %v: at %v the point under the pointer moved by %v pixels of the screen", way, side, view, scale, moved)
						}
					}
				}
			}
		}
	}
	if free < 500 {
		t.Fatalf("only %d zooms were free of limits", free)
	}
}

// The whole picture is in sight at first and after the easel changed its size; it is not enlarged for that.
func TestFit(t *testing.T) {
	for _, view := range views() {
		for _, side := range sizes {
			e := hungEasel(view, side)
			for _, v := range [][2]int{view, {view[0]/2 + 1, view[1]}, view} {
				e.resize(v[0], v[1])
				around := 64.0
				if min(v[0], v[1]) < 400 {
					around = 24
				}
				w, h := float64(side[0])*e.scale+around, float64(side[1])*e.scale+around
				if e.scale > 1 || w > float64(v[0])+1e-6 || h > float64(v[1])+1e-6 {
					t.Errorf("%v in %v: %v x %v with its surround, at %v", side, v, w, h, e.scale)
				}
				if e.scale < 1 && math.Abs(w-float64(v[0])) > 1e-6 && math.Abs(h-float64(v[1])) > 1e-6 {
					t.Errorf("%v in %v: smaller than it must be, %v", side, v, e.scale)
				}
			}
		}
	}
	// The surround is as wide on a screen with more pixels.
	one, two := hungEasel([2]int{801, 601}, [2]int{4000, 3000}), &easel{way: wayOne, ratio: 2}
	two.resize(1602, 1202)
	two.show([]Hung{{Key: "a", Width: 4000, Height: 3000}})
	if math.Abs(two.scale-2*one.scale) > 1e-12 {
		t.Errorf("whole at %v, and at twice the pixels at %v", one.scale, two.scale)
	}
	// Looked at closely, it stays where it was looked at.
	e := hungEasel([2]int{800, 600}, [2]int{4000, 3000})
	e.full()
	e.pan(-300, 200)
	x, y := e.x, e.y
	e.resize(1000, 500)
	if math.Abs(e.x-x) > 0.5 || math.Abs(e.y-y) > 0.5 || e.scale != 1 {
		t.Errorf("a change of the easel moved the picture from %v, %v to %v, %v at %v", x, y, e.x, e.y, e.scale)
	}
}

// Steps lead from any scale through one to one.
func TestScaleSteps(t *testing.T) {
	e := hungEasel([2]int{800, 600}, [2]int{6000, 4000})
	for _, in := range []bool{true, false, true} {
		last, passed := e.scale, false
		for range 40 {
			was := e.scale
			e.action(map[bool]string{true: "closer", false: "further"}[in], "")
			if e.scale == was {
				break
			}
			if (e.scale > was) != in {
				t.Fatalf("from %v to %v", was, e.scale)
			}
			passed = passed || e.scale == 1
			last = e.scale
		}
		if !passed {
			t.Errorf("closer %v: past one to one, up to %v", in, last)
		}
		if in && last != closest || !in && last != e.whole() {
			t.Errorf("closer %v ends at %v", in, last)
		}
	}
	// The wheel stops there too.
	e.zoom(0.93, 400, 300)
	e.wheel(400, 300, -120)
	if e.scale != 1 {
		t.Errorf("the wheel went past one to one, to %v", e.scale)
	}
	e.wheel(400, 300, -120)
	if e.scale <= 1 {
		t.Errorf("the wheel stays at %v", e.scale)
	}
	e.wheel(400, 300, 4000)
	if e.scale != 1 {
		t.Errorf("the wheel went past one to one, to %v", e.scale)
	}
}

// A press pins a point, a drag a rectangle: of the picture's own pixels, within it.
func TestPins(t *testing.T) {
	e := hungEasel([2]int{400, 300}, [2]int{800, 600})
	e.zoom(0.5, 0, 0) // pixel 2x lies under x
	press := func(x0, y0, x1, y1 float64, shift bool) *area {
		e.press("down", x0, y0, shift)
		e.press("move", (x0+x1)/2, (y0+y1)/2, shift)
		marked, _ := e.press("up", x1, y1, shift)
		return marked
	}
	for _, c := range []struct {
		x0, y0, x1, y1 float64
		want           area
	}{
		{100, 50, 101, 51, area{200, 100, 0, 0}},
		{0, 0, 0, 0, area{0, 0, 0, 0}},
		{399.9, 299.9, 399.9, 299.9, area{799, 599, 0, 0}},
		{100, 50, 150, 90, area{200, 100, 100, 80}},
		{150, 90, 100, 50, area{200, 100, 100, 80}},
		{350, 250, 900, 900, area{700, 500, 100, 100}},
		{-50, -50, 10, 20, area{0, 0, 20, 40}},
	} {
		e.noting = true
		got := press(c.x0, c.y0, c.x1, c.y1, false)
		if got == nil || *got != c.want {
			t.Errorf("from %v, %v to %v, %v: %v, want %v", c.x0, c.y0, c.x1, c.y1, got, c.want)
		}
		if e.noting {
			t.Error("the next press makes a note too")
		}
	}
	if got := press(10, 10, 50, 50, true); got == nil || *got != (area{20, 20, 80, 80}) {
		t.Errorf("with Shift: %v", got)
	}
	// Without it the picture is moved.
	e.full()
	x := e.x
	if got := press(100, 100, 60, 100, false); got != nil || e.x != x+40 {
		t.Errorf("a drag marked %v and moved by %v", got, e.x-x)
	}
	// Off the picture there is nothing to note.
	small := hungEasel([2]int{400, 300}, [2]int{100, 80})
	small.noting = true
	small.press("down", 10, 10, false)
	if got, _ := small.press("up", 10, 10, false); got != nil {
		t.Errorf("a note beside the picture at %v", *got)
	}
	// What the system takes away leaves nothing behind.
	e.press("down", 10, 10, true)
	e.press("move", 90, 90, true)
	if len(e.hanging().Pins) != 1 {
		t.Error("what is being marked is not shown")
	}
	e.press("cancel", 90, 90, true)
	if got, _ := e.press("up", 90, 90, true); got != nil || len(e.hanging().Pins) != 0 {
		t.Error("a press that was taken away made a note")
	}
	// Two fingers move the picture along, also while a note is to be marked, and mark nothing.
	near := hungEasel([2]int{400, 300}, [2]int{800, 600})
	near.zoom(2, 200, 150)
	near.noting = true
	x, y := near.x, near.y
	if got, _ := near.press("slide", 20, -10, false); got != nil || near.x != x-10 || near.y != y+5 || !near.noting {
		t.Errorf("slid from %v, %v to %v, %v, noted %v", x, y, near.x, near.y, got)
	}
	// The nearest pin is taken; of rectangles the smallest.
	e.pins = []Pin{{ID: "1", X: 400, Y: 300}, {ID: "2", X: 404, Y: 300}, {ID: "3", X: 100, Y: 100, Width: 500, Height: 400}, {ID: "4", X: 300, Y: 350, Width: 50, Height: 50}}
	for at, want := range map[[2]float64]string{{400, 300}: "1", {404, 301}: "2", {310, 360}: "4", {200, 200}: "3", {700, 550}: "", {412, 306}: "2"} {
		v, u := (at[0]-e.x)*e.scale+200, (at[1]-e.y)*e.scale+150
		if got := e.pinAt(v, u); got != want {
			t.Errorf("at %v: pin %q, want %q", at, got, want)
		}
	}
	// What is in the middle and in sight.
	e.fit()
	if m, s := e.middle(), e.sight(); *m != (area{x: 400, y: 300}) || *s != (area{0, 0, 800, 600}) {
		t.Errorf("in the middle %v, in sight %v", m, s)
	}
	e.full()
	if s := e.sight(); *s != (area{200, 150, 400, 300}) {
		t.Errorf("in sight at 100 %%: %v", s)
	}
	e.reveal(area{x: 790, y: 10})
	if s := e.sight(); s.x+s.width < 791 || s.y > 10 {
		t.Errorf("a pin at 790, 10 was not brought into sight: %v", s)
	}
}

// Keys do what the words under the easel do, and none of them anything to an easel that is bare.
func TestEaselKeys(t *testing.T) {
	e := hungEasel([2]int{400, 300}, [2]int{1600, 1200})
	for _, c := range []struct {
		code string
		want func() bool
	}{
		{"Digit1", func() bool { return e.scale == 1 }},
		{"ArrowRight", func() bool { return e.x == 850 }},
		{"ArrowLeft", func() bool { return e.x == 800 }},
		{"ArrowDown", func() bool { return e.y == 638 || e.y == 637 }}, // an eighth of 300 pixels, on a whole one
		{"Equal", func() bool { return math.Abs(e.scale-math.Sqrt2) < 1e-12 }},
		{"NumpadSubtract", func() bool { return e.scale == 1 }},
		{"Digit0", func() bool { return e.scale == (300-2*12)/1200. && e.fitted }},
		{"KeyH", func() bool { return e.hatched }},
		{"KeyH", func() bool { return !e.hatched }},
		{"KeyN", func() bool { return e.noting }},
		{"Escape", func() bool { return !e.noting }},
		{"KeyD", func() bool { return e.way == wayOne }}, // there is nothing to divide
	} {
		if !e.key(c.code) || !c.want() {
			t.Errorf("%s: %+v", c.code, e.hanging())
		}
	}
	if e.key("KeyQ") || e.key("Comma") || e.key("Escape") {
		t.Error("a key that means nothing was taken")
	}
	two := []Hung{{Key: "a", Name: "a", Width: 1600, Height: 1200}, {Key: "b", Name: "b", Width: 1600, Height: 1200}}
	e.show(two)
	e.key("KeyD")
	e.key("Period")
	if h := e.hanging(); h.Way != wayDivider || math.Abs(h.Divider-0.55) > 1e-12 {
		t.Errorf("under the divider: %+v", h)
	}
	e.press("down", 220, 10, false)
	e.press("move", 100, 10, false)
	e.press("up", 100, 10, false)
	if e.divider != 0.25 {
		t.Errorf("the divider was dragged to %v", e.divider)
	}
	e.key("KeyS")
	e.key("KeyS")
	if h := e.hanging(); h.Way != waySwap || h.Front != 1 {
		t.Errorf("swapped: %+v", h)
	}
	e.show(two[:1])
	if h := e.hanging(); h.Way != wayOne || h.Front != 0 {
		t.Errorf("one alone: %+v", h)
	}
	bare := &easel{way: wayOne}
	for _, code := range []string{"Digit1", "Digit0", "Equal", "Minus", "ArrowUp", "KeyH", "KeyS"} {
		bare.key(code)
	}
	bare.wheel(1, 1, 50)
	bare.press("down", 1, 1, true)
	if m, _ := bare.press("up", 1, 1, true); m != nil || bare.middle() != nil || bare.sight() != nil {
		t.Error("a bare easel has a place for a note")
	}
}

// Pictures beside each other hang alike: the same point lies in the middle of each.
func TestBeside(t *testing.T) {
	for _, width := range []int{801, 640} {
		e := hungEasel([2]int{width, 300}, [2]int{4000, 3000})
		e.show([]Hung{{Key: "a", Width: 4000, Height: 3000}, {Key: "b", Width: 4000, Height: 3000}})
		e.look(wayBeside)
		e.full()
		column := float64(width / 2)
		for _, x := range []float64{3, 200.5} {
			ax, ay := e.at(x, 77)
			bx, by := e.at(x+column, 77)
			if ax != bx || ay != by {
				t.Errorf("%d wide: at %v the first shows %v, %v and the second %v, %v", width, x, ax, ay, bx, by)
			}
		}
		if m := column/2 - e.x; m != math.Trunc(m) {
			t.Errorf("%d wide: at 100 %% the pictures begin at %v", width, m)
		}
	}
}

func BenchmarkEasel(b *testing.B) {
	e := hungEasel([2]int{2560, 1440}, [2]int{9500, 6300})
	for i := range b.N {
		e.wheel(float64(i%2560), float64(i%1440), float64(i%7)-3)
		_ = e.hanging()
	}
}

func ExampleHanging() {
	e := hungEasel([2]int{801, 601}, [2]int{4000, 3000})
	e.full()
	h := e.hanging()
	fmt.Println(h.Scale, h.X, h.Y)
	// Output: 1 2000.5 1500.5
}
