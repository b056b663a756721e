//go:build js

package browser

import (
	"strconv"
	"strings"
	"syscall/js"
)

// Locks keep what one tab works at from other tabs of this browser. They end with the tab.
//
// Where the browser has no Web Locks (an old one, or an address without encryption that is not this computer's), a beat in local storage stands in: a tab
// that has not beaten for a while is taken for closed.
type Locks struct {
	answer func(name string, ok bool)
	free   map[string]func() // lets go of a lock, or gives up waiting for it
	me     string
}

// NewLocks makes locks that answer by calling answer.
func NewLocks(answer func(name string, ok bool)) *Locks {
	return &Locks{answer: answer, free: map[string]func(){}, me: strconv.FormatUint(Seed(), 36)}
}

const lockName = "plumb sitting "

// Take asks for a lock. The answer says whether this tab has it; if not, there is another once it has.
func (l *Locks) Take(name string) {
	if l.free[name] != nil {
		return
	}
	if !has(global, "navigator", "locks", "request") {
		l.beat(name)
		return
	}
	gone := false
	let := func() {}
	l.free[name] = func() {
		gone = true
		let()
	}
	hold := func() js.Func {
		return js.FuncOf(func(_ js.Value, args []js.Value) any {
			if gone {
				return nil
			}
			if !args[0].Truthy() {
				l.answer(name, false)
				return nil
			}
			executor, _ := once(func(args []js.Value) {
				resolve := args[0]
				let = func() { resolve.Invoke() }
			})
			held := global.Get("Promise").New(executor)
			l.answer(name, true)
			return held
		})
	}
	locks := global.Get("navigator").Get("locks")
	ignore := func(js.Value) {}
	then(locks.Call("request", lockName+name, map[string]any{"ifAvailable": true}, hold()), func(js.Value) {
		// Either it was let go, or another tab has it: then it is waited for.
		if gone {
			return
		}
		then(locks.Call("request", lockName+name, hold()), ignore, ignore)
	}, ignore)
}

// Release lets go of a lock, or gives up waiting for it.
func (l *Locks) Release(name string) {
	if f := l.free[name]; f != nil {
		delete(l.free, name)
		f()
	}
}

const (
	beatEvery = 2000  // ms
	beatLost  = 15000 // ms; browsers hold timers of hidden tabs back, some to once in a minute, but a hidden tab has paused
)

// beat holds or waits for a lock by beats in local storage.
func (l *Locks) beat(name string) {
	key := lockName + name
	mine, told := false, false
	now := func() float64 { return global.Get("Date").Call("now").Float() }
	var tick js.Func
	look := func() {
		thrown := try(func() {
			store := global.Get("localStorage")
			v := store.Call("getItem", key)
			if v.Type() == js.TypeString {
				who, at, _ := strings.Cut(v.String(), " ")
				t, _ := strconv.ParseFloat(at, 64)
				if who != l.me && now()-t < beatLost {
					if !told || mine {
						told, mine = true, false
						l.answer(name, false)
					}
					return
				}
			}
			store.Call("setItem", key, l.me+" "+strconv.FormatFloat(now(), 'f', 0, 64))
			if !mine {
				mine, told = true, true
				l.answer(name, true)
			}
		})
		if !thrown.IsUndefined() && !mine { // no storage: there is nothing that two tabs could share
			mine = true
			l.answer(name, true)
		}
	}
	tick = js.FuncOf(func(js.Value, []js.Value) any { look(); return nil })
	timer := window.Call("setInterval", tick, beatEvery)
	l.free[name] = func() {
		window.Call("clearInterval", timer)
		tick.Release()
		if mine {
			try(func() { global.Get("localStorage").Call("removeItem", key) })
		}
	}
	// Not inside Take, whose caller is not done yet.
	soon, _ := once(func([]js.Value) { look() })
	window.Call("setTimeout", soon, 0)
}
