package app

import (
	"math"
	"time"
)

// slice is how long the page is kept from answering by what takes long: less than two frames of 60 Hz, and well below the 50 ms from which on a wait is noticed (W3C, Long
// Tasks API).
const slice = 25 * time.Millisecond

// A slow is work that is done a slice at a time, one at each animation frame: between them the browser answers. It has a goroutine of its own, which runs only while whoever
// asked for a slice waits for it. (iter.Pull would be the same, and 4 KB more to load.)
type slow struct {
	clock Clock
	until time.Duration // when the slice ends
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

// on does a slice, and returns whether there is more.
func (w *slow) on() bool { return w.to(w.clock.Now() + slice) }

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
