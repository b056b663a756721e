//go:build js

package browser

import (
	"errors"
	"syscall/js"
	"time"
)

// Why a task came to nothing. Other errors say what the task's own trouble was.
var (
	ErrLookerGone   = errors.New("browser: the program that looks at pictures could not be loaded")
	ErrLookerFell   = errors.New("browser: the program that looks at pictures stopped; the picture may be too large for the memory that this browser gives")
	ErrLookerSilent = errors.New("browser: the program that looks at pictures does not answer any more")
	ErrStopped      = errors.New("browser: it was given up")
)

const (
	lookerPatience = 3 * time.Minute // longer than any step between two words takes
	lookerTicks    = 30              // looks at the worker in that time: a page that sleeps does not look, and does not give up what slept with it
	lookerMost     = 256 << 20       // bytes of memory above which a worker is let go after its task: memory of WebAssembly never shrinks
)

// A Looker runs tasks of package study on pictures in a worker, one after another. The worker starts with the first task. Whatever ends it, each task is answered
// once, and the next one has a new worker.
type Looker struct {
	Boot, Runtime, Program string        // addresses of the worker's script, of the script that lets Go run, and of the program
	Patience               time.Duration // how long a worker may say nothing before it is given up; 0 is three minutes

	Studying func(n int, share float64)                          // how far task n is, 0 to 1
	Studied  func(n int, found []byte, made js.Value, err error) // task n is over: its answer as JSON, and the Blob that was made, or undefined

	queue  []lookerTask
	busy   bool // the first of the queue is with the worker
	worker *worker
	quiet  int // ticks since it said something
	ticks  bool
}

type lookerTask struct {
	n       int
	text    string
	picture js.Value
}

// A worker is one that runs, with what it calls.
type worker struct {
	js.Value
	ready bool
	drop  []js.Func
}

// Run puts a task, as JSON, in the queue: n is its number, unlike those of the tasks that are not over, and picture the Blob it is about. It is answered by Studied once,
// and not before Run has returned.
func (l *Looker) Run(n int, task []byte, picture js.Value) {
	l.queue = append(l.queue, lookerTask{n, string(task), picture})
	soon(l.next)
}

// Stop gives up a task: Studied tells ErrStopped once Stop has returned, or nothing if the task was over.
func (l *Looker) Stop(n int) {
	for i, t := range l.queue {
		if t.n != n {
			continue
		}
		if i == 0 && l.busy {
			l.fire()
		}
		l.queue = append(l.queue[:i:i], l.queue[i+1:]...)
		soon(func() {
			l.Studied(n, nil, js.Undefined(), ErrStopped)
			l.next()
		})
		return
	}
}

// soon calls f when what runs now has returned.
func soon(f func()) {
	c, _ := once(func([]js.Value) { f() })
	global.Call("setTimeout", c, 0)
}

// next hands the worker the first task of the queue, if it has none, and hires one if there is none.
func (l *Looker) next() {
	if l.busy || len(l.queue) == 0 {
		return
	}
	if l.worker == nil {
		if err := l.hire(); err != nil {
			l.over(nil, js.Undefined(), err)
			return
		}
	}
	if !l.worker.ready {
		return
	}
	t := l.queue[0]
	thrown := try(func() {
		l.worker.Call("postMessage", map[string]any{"n": t.n, "task": t.text, "picture": t.picture})
	})
	if !thrown.IsUndefined() {
		l.over(nil, js.Undefined(), errors.New("browser: "+complaint(thrown)))
		return
	}
	l.busy, l.quiet = true, 0
}

// over ends the first task of the queue.
func (l *Looker) over(found []byte, made js.Value, err error) {
	l.busy = false
	if len(l.queue) == 0 {
		return
	}
	t := l.queue[0]
	l.queue = l.queue[1:]
	soon(l.next)
	l.Studied(t.n, found, made, err)
}

// hire starts a worker.
func (l *Looker) hire() error {
	if !has(global, "Worker") || !has(global, "OffscreenCanvas") || !has(global, "createImageBitmap") {
		return ErrLookerGone
	}
	w := new(worker)
	if thrown := try(func() { w.Value = global.Get("Worker").New(l.Boot) }); !thrown.IsUndefined() {
		return ErrLookerGone
	}
	hear := func(event string, f func(e js.Value)) {
		c := js.FuncOf(func(_ js.Value, args []js.Value) any {
			if l.worker == w { // not one that was let go
				f(args[0])
			}
			return nil
		})
		w.drop = append(w.drop, c)
		w.Call("addEventListener", event, c)
	}
	l.worker, l.quiet = w, 0
	hear("message", func(e js.Value) { l.told(e.Get("data")) })
	hear("messageerror", func(js.Value) { l.fail() })
	hear("error", func(js.Value) { l.fail() })
	w.Call("postMessage", map[string]any{"runtime": l.Runtime, "program": l.Program})
	l.tick()
	return nil
}

// fire lets the worker go, whatever it does.
func (l *Looker) fire() {
	if w := l.worker; w != nil {
		l.worker, l.busy = nil, false
		w.Call("terminate")
		// Not inside one of them.
		soon(func() {
			for _, c := range w.drop {
				c.Release()
			}
		})
	}
}

// fail ends the worker that broke, and the task that it had or was hired for.
func (l *Looker) fail() {
	err := ErrLookerFell
	if !l.worker.ready {
		err = ErrLookerGone
	}
	l.fire()
	l.over(nil, js.Undefined(), err)
}

// told takes what the worker says; see looker.js.
func (l *Looker) told(m js.Value) {
	l.quiet = 0
	number := func() bool {
		n := m.Get("n")
		return l.busy && n.Type() == js.TypeNumber && n.Int() == l.queue[0].n
	}
	switch {
	case has(m, "ready"):
		l.worker.ready = true
		l.next()
	case has(m, "fell"):
		l.fail()
	case has(m, "share"):
		if number() {
			l.Studying(l.queue[0].n, m.Get("share").Float())
		}
	case has(m, "error"):
		if number() {
			l.over(nil, js.Undefined(), errors.New(m.Get("error").String()))
		}
	case has(m, "found"):
		if number() {
			if m.Get("times").Get("memory").Float() > lookerMost {
				l.fire()
			}
			l.over([]byte(m.Get("found").String()), m.Get("made"), nil)
		}
	}
}

// tick looks whether the worker still lives, for as long as there is one. A page that is asleep does not tick.
func (l *Looker) tick() {
	if l.ticks {
		return
	}
	l.ticks = true
	c, _ := once(func([]js.Value) {
		l.ticks = false
		if l.worker == nil {
			return
		}
		if l.quiet++; !l.busy && l.worker.ready {
			l.quiet = 0
		}
		if l.quiet >= lookerTicks {
			ready := l.worker.ready
			l.fire()
			if ready {
				l.over(nil, js.Undefined(), ErrLookerSilent)
			} else {
				l.over(nil, js.Undefined(), ErrLookerGone)
			}
			return
		}
		l.tick()
	})
	patience := l.Patience
	if patience <= 0 {
		patience = lookerPatience
	}
	global.Call("setTimeout", c, float64(patience.Milliseconds())/lookerTicks)
}
