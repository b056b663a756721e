//go:build js

// Command page paints the timed screens in a browser, and sits through timed sittings, on the order of page.js.
package main

import (
	"image"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"time"
	"unsafe"

	"example.org/plumb/.ci/paint/screens"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

var (
	frame *image.RGBA // kept here, so that the memory that page.js looks at stays in use
	all   []screens.Screen
)

//go:wasmexport lay
func lay(width, height int32) unsafe.Pointer {
	frame = image.NewRGBA(image.Rect(0, 0, int(width), int(height)))
	all = screens.For(frame.Rect)
	return unsafe.Pointer(unsafe.SliceData(frame.Pix))
}

//go:wasmexport paint
func paint(i int32) { all[i].Paint(frame, frame.Rect) }

//go:wasmexport rowcopy
func rowcopy() { screens.RowCopy(frame) }

var (
	sitting *check.Sitting
	answers *rand.Rand
	key     string

	planning time.Duration // of the last step
)

// sit begins a long sitting.
//
//go:wasmexport sit
func sit(seed int32) {
	s, err := check.Begin(check.Plan{Battery: check.Battery, Length: check.Long, Seed: uint64(seed), Aim: screen.Aims[0].ID})
	if err != nil {
		panic(err)
	}
	sitting, answers = s, rand.New(rand.NewPCG(uint64(seed), 1))
	key = answer()
}

// step answers a judgement and finds the next one, which is what an adaptive update is; it returns the place of the check in screens.Checks, the number of these where the next judgement
// is of another check, or -1 when the sitting is over. What comes next is not part of what is timed: the answer to it is worked out by think. Nor is it part of an update to plan the next
// round, if one is due: planned tells how long that took.
//
//go:wasmexport step
func step() int32 {
	p, ok := sitting.Present(image.Rectangle{})
	if !ok {
		return -1
	}
	sitting.Press(key, time.Time{}, time.Second)
	begun := time.Now()
	sitting.Over()
	planning = time.Since(begun)
	next, more := sitting.Present(image.Rectangle{})
	if more && next.Check != p.Check {
		return int32(len(screens.Checks))
	}
	at := slices.Index(screens.Checks, p.Check)
	if at < 0 {
		panic("a check that is not listed: " + p.Check)
	}
	return int32(at)
}

// planned returns how long the last step planned, ms.
//
//go:wasmexport planned
func planned() float64 { return float64(planning) / float64(time.Millisecond) }

//go:wasmexport think
func think() { key = answer() }

// answer is that of a viewer with noise at a screen with gamma 2.2; a setting is taken as it comes.
func answer() string {
	p, ok := sitting.Present(image.Rectangle{})
	if !ok || p.Kind == check.Setting {
		return "Enter"
	}
	dst := image.NewRGBA(image.Rect(0, 0, 320, 320))
	sitting.Frame(dst)
	p, _ = sitting.Present(dst.Rect)
	light := func(c check.Choice) float64 {
		sum := 0.0
		for y := c.Rect.Min.Y; y < c.Rect.Max.Y; y++ {
			for x := c.Rect.Min.X; x < c.Rect.Max.X; x++ {
				sum += math.Pow(float64(dst.RGBAAt(x, y).G)/255, 2.2)
			}
		}
		return math.Log(sum/float64(c.Rect.Dx()*c.Rect.Dy())+1e-3) + 0.04*answers.NormFloat64()
	}
	best, at := math.Inf(-1), 0
	for i, c := range p.Choices[:len(p.Choices)-1] {
		l := light(c)
		if p.Ground > 200 {
			l = -l
		}
		if l > best {
			best, at = l, i
		}
	}
	return p.Choices[at].Key
}

// room is how much memory the program takes before page.js looks into it: memory that grows later leaves what was looked at behind.
const room = 256 << 20

func main() {
	runtime.KeepAlive(make([]byte, room))
	runtime.GC()
	select {}
}
