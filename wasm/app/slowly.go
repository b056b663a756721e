package app

import (
	"math"
	"time"
)

// slice is how long the page is kept from answering by what takes long: less than two frames of 60 Hz, and well below the 50 ms from which on a wait is noticed (W3C, Long
// Tasks API).
const slice = 25 * time.Millisecond

// mostSlice is as long as a slice may be where the browser paints rarely.
const mostSlice = 250 * time.Millisecond

// A slow is work that is done a slice at a time, one at each animation frame: between them the browser answers. It has a goroutine of its own, which runs only while whoever
// asked for a slice waits for it. (iter.Pull would be the same, and 4 KB more to load.)
type slow struct {
	clock Clock
	until time.Duration // when the slice ends
	ended time.Duration // when the one before did; 0 before the first
	turn  chan struct{}
	more  chan bool
}

// slowly begins work that calls what it is given now and then. It must touch nothing that anything else touches before it is done.
func slowly(c Clock, work func(pause func())) *slow {
	w := &slow{clock: c, turn: make(chan struct{}), more: make(chan bool)}
	go func() {
		<-w.turn
		work(func() {
			if c.Now() >= w.until {
				w.more <- true
				<-w.turn
			}
		})
		w.more <- false
	}()
	return w
}

// on does a slice, and returns whether there is more. Where frames come so rarely that most time would be spent waiting for them, a slice is as long as the wait was, up to a
// limit: who sees few frames waits for the work too.
func (w *slow) on() bool {
	now := w.clock.Now()
	length := slice
	if w.ended > 0 {
		length = min(max(slice, now-w.ended), mostSlice)
	}
	more := w.to(now + length)
	w.ended = w.clock.Now()
	return more
}

func (w *slow) to(until time.Duration) bool {
	w.until = until
	w.turn <- struct{}{}
	return <-w.more
}

// end does all that is left, if there is any.
func (w *slow) end() {
	if w != nil {
		w.to(math.MaxInt64)
	}
}
