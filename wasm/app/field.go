package app

import (
	"math"
	"time"

	"example.org/plumb/patterns"
)

// The field is the one grey that fills the canvas between presentations. It goes from one code to another in steps, so that nothing flashes.
//
// A step is at most a tenth of the code scale and a tenth of white's light, and comes at least half a second after the last: WCAG 2.2, 2.3.1
// counts pairs of opposing changes of a tenth of the greatest relative luminance, and allows three a second.
type field struct {
	code uint8
	rest []uint8       // codes still to come, the last is where it goes
	next time.Duration // when the first of them is due
}

const stepTime = 500 * time.Millisecond

// light is relative luminance by a gamma of 2.4, the steepest of the aims, at which a step of codes near white is greatest.
var light = func() (t [256]float64) {
	for v := range t {
		t[v] = math.Pow(float64(v)/255, 2.4)
	}
	return t
}()

// steps are the codes on the way, from left out and to included. None is needed where both are equal.
func steps(from, to uint8) []uint8 {
	var way []uint8
	for v := from; v != to; {
		next := to
		for !near(v, next) {
			if to > from {
				next--
			} else {
				next++
			}
		}
		v = next
		way = append(way, v)
	}
	return way
}

// near tells whether one step may lead from one code to the other.
func near(a, b uint8) bool {
	if a > b {
		a, b = b, a
	}
	return b-a <= 1 || b-a <= 25 && light[b]-light[a] <= 0.1
}

// stop takes the field to a code at once, unseen, because a page covers it.
func (f *field) stop(code uint8) { f.code, f.rest = code, nil }

// due is when the next step is.
func (f *field) due() (time.Duration, bool) { return f.next, len(f.rest) > 0 }

// to sends the field to a code. It is there already if it returns true.
func (a *App) to(code uint8, now time.Duration) bool {
	f := &a.field
	if len(f.rest) > 0 && f.rest[len(f.rest)-1] == code {
		return false
	}
	f.rest = steps(f.code, code)
	f.next = now + stepTime
	return len(f.rest) == 0
}

// fade takes the steps that are due; one, as they are never less than stepTime apart.
func (a *App) fade(now time.Duration) {
	f := &a.field
	if len(f.rest) == 0 || now < f.next {
		return
	}
	f.code, f.rest = f.rest[0], f.rest[1:]
	a.showField()
	f.next = a.host.Clock.Now() + stepTime
	a.ground()
}

// showField shows the field alone.
func (a *App) showField() {
	if a.frame == nil {
		return
	}
	patterns.Grey(a.field.code).Paint(a.frame, a.frame.Rect)
	a.host.Canvas.Show(a.frame, false)
}
