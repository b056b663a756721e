//go:build js

package browser

import (
	"syscall/js"
	"time"
)

// A Clock is the browser's clocks and one alarm.
type Clock struct {
	timer, frame js.Value // what is pending, or undefined
	ring         js.Func
	paint        js.Func
}

// NewClock makes a clock whose alarm calls woke.
func NewClock(woke func()) *Clock {
	c := new(Clock)
	c.paint = js.FuncOf(func(js.Value, []js.Value) any {
		c.frame = js.Undefined()
		woke()
		return nil
	})
	c.ring = js.FuncOf(func(js.Value, []js.Value) any {
		c.timer = js.Undefined()
		c.frame = window.Call("requestAnimationFrame", c.paint)
		return nil
	})
	return c
}

// Now is the clock that events are stamped with.
func (c *Clock) Now() time.Duration { return stamp(global.Get("performance").Call("now")) }

// Wall is the time of the calendar, in the zone of the browser.
func (c *Clock) Wall() time.Time {
	now := time.Now()
	offset := -global.Get("Date").New(now.UnixMilli()).Call("getTimezoneOffset").Int()
	return now.In(time.FixedZone("", 60*offset))
}

// Wake calls woke at the first animation frame after that long. An earlier call that is still pending is void.
func (c *Clock) Wake(after time.Duration) {
	if !c.timer.IsUndefined() {
		window.Call("clearTimeout", c.timer)
		c.timer = js.Undefined()
	}
	if !c.frame.IsUndefined() {
		window.Call("cancelAnimationFrame", c.frame)
		c.frame = js.Undefined()
	}
	if after <= 0 {
		c.frame = window.Call("requestAnimationFrame", c.paint)
		return
	}
	c.timer = window.Call("setTimeout", c.ring, float64(after)/float64(time.Millisecond))
}

// A Timer rings also where nothing is painted, as in a hidden tab.
type Timer struct {
	ring  js.Func
	timer js.Value // what is pending, or undefined
}

// NewTimer makes a timer that calls rang.
func NewTimer(rang func()) *Timer {
	t := new(Timer)
	t.ring = js.FuncOf(func(js.Value, []js.Value) any {
		t.timer = js.Undefined()
		rang()
		return nil
	})
	return t
}

// Ring calls rang once after that long. An earlier call that is still pending is void.
func (t *Timer) Ring(after time.Duration) {
	if !t.timer.IsUndefined() {
		window.Call("clearTimeout", t.timer)
	}
	t.timer = window.Call("setTimeout", t.ring, float64(after)/float64(time.Millisecond))
}
