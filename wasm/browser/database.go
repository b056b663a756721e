//go:build js

package browser

import (
	"errors"
	"fmt"
	"syscall/js"
)

// What may be wrong with a database.
var (
	ErrFull    = errors.New("browser: storage is full")
	ErrDenied  = errors.New("browser: storage is denied")
	ErrBlocked = errors.New("browser: storage is held by another tab")
	ErrCorrupt = errors.New("browser: storage is damaged")
	ErrNewer   = errors.New("browser: storage was laid out by a newer program")
)

// A Row is one thing kept: a key in a drawer, with text. A nil Value deletes it.
type Row struct {
	Drawer, Key string
	Value       []byte
}

// A Database keeps rows in IndexedDB, each drawer an object store.
type Database struct {
	name    string
	version int
	drawers []string
	left    map[string]bool // drawers that Read leaves alone
	open    js.Value        // IDBDatabase, or undefined
	opening []waiting       // who waits for it to be opened; none while it is not being
}

// waiting is who uses a database once it is open: one of the two is called.
type waiting struct {
	ready  func(js.Value)
	failed func(error)
}

// NewDatabase names a database; it is opened by Open, or when it is first used. The version must rise when drawers are added.
func NewDatabase(name string, version int, drawers ...string) *Database {
	return &Database{name: name, version: version, drawers: drawers, left: map[string]bool{}}
}

// Leave names drawers whose rows Read leaves alone: they are fetched one by one.
func (d *Database) Leave(drawers ...string) {
	for _, name := range drawers {
		d.left[name] = true
	}
}

// failure is what an exception means for storage.
func failure(thrown js.Value) error {
	if !has(thrown, "name") {
		return ErrCorrupt
	}
	switch name := thrown.Get("name").String(); name {
	case "QuotaExceededError":
		return ErrFull
	// Private windows of some browsers refuse with InvalidStateError.
	case "SecurityError", "NotAllowedError", "InvalidStateError", "InvalidAccessError":
		return ErrDenied
	case "VersionError":
		return ErrNewer
	case "TimeoutError":
		return ErrBlocked
	case "UnknownError", "NotReadableError", "DataError", "NotFoundError", "ConstraintError":
		return ErrCorrupt
	default:
		return fmt.Errorf("browser: %s: %s", name, complaint(thrown))
	}
}

// handle sets one-shot handlers on a request or transaction: whichever is called first ends them all.
func handle(target js.Value, handlers map[string]func()) {
	var drops []func()
	for event, f := range handlers {
		c, drop := once(func([]js.Value) {
			for _, d := range drops {
				d()
			}
			for e := range handlers {
				target.Set("on"+e, js.Null())
			}
			f()
		})
		drops = append(drops, drop)
		target.Set("on"+event, c)
	}
}

// Open begins to open the database, which takes a while, so that it is sooner there for who uses it. They are told if it fails.
func (d *Database) Open() { d.use(func(js.Value) {}, func(error) {}) }

// use opens the database if it is not, and calls exactly one of the two.
func (d *Database) use(ready func(js.Value), failed func(error)) {
	if d.open.Truthy() {
		ready(d.open)
		return
	}
	d.opening = append(d.opening, waiting{ready, failed})
	if len(d.opening) == 1 {
		d.begin()
	}
}

// begin opens the database for all who wait for it.
func (d *Database) begin() {
	end := func() (all []waiting) {
		all, d.opening = d.opening, nil
		return all
	}
	failed := func(err error) {
		for _, w := range end() {
			w.failed(err)
		}
	}
	var factory, request js.Value
	thrown := try(func() {
		// Reading the property itself throws where storage is denied to a frame.
		factory = global.Get("Reflect").Call("get", global, "indexedDB")
		if factory.Truthy() {
			request = factory.Call("open", d.name, d.version)
		}
	})
	switch {
	case !thrown.IsUndefined():
		failed(failure(thrown))
		return
	case !factory.Truthy():
		failed(ErrDenied)
		return
	}
	upgrade := js.FuncOf(func(js.Value, []js.Value) any {
		db := request.Get("result")
		for _, name := range d.drawers {
			if !db.Get("objectStoreNames").Call("contains", name).Bool() {
				db.Call("createObjectStore", name)
			}
		}
		return nil
	})
	request.Set("onupgradeneeded", upgrade)
	handle(request, map[string]func(){
		"success": func() {
			upgrade.Release()
			db := request.Get("result")
			d.open = db
			lost := func(event string) {
				f, _ := once(func([]js.Value) {
					db.Call("close")
					d.open = js.Undefined()
				})
				db.Set(event, f)
			}
			lost("onversionchange")
			lost("onclose")
			for _, w := range end() {
				w.ready(db)
			}
		},
		"error": func() {
			upgrade.Release()
			failed(failure(request.Get("error")))
		},
		"blocked": func() { failed(ErrBlocked) },
	})
}

// Write puts or deletes rows in their order, all of them or none. When done is called they are on the disk, as far as the browser knows.
func (d *Database) Write(rows []Row, done func(error)) {
	d.use(func(db js.Value) {
		var t js.Value
		thrown := try(func() {
			t = db.Call("transaction", names(d.drawers), "readwrite", map[string]any{"durability": "strict"})
			for _, r := range rows {
				store := t.Call("objectStore", r.Drawer)
				if r.Value == nil {
					store.Call("delete", r.Key)
				} else {
					store.Call("put", string(r.Value), r.Key)
				}
			}
		})
		if !thrown.IsUndefined() {
			d.open = js.Undefined()
			if t.Truthy() {
				try(func() { t.Call("abort") })
			}
			done(failure(thrown))
			return
		}
		handle(t, map[string]func(){
			"complete": func() { done(nil) },
			"abort":    func() { done(failure(t.Get("error"))) },
		})
	}, done)
}

// Fetch passes on the text under one key; nil where there is none.
func (d *Database) Fetch(drawer, key string, done func([]byte, error)) {
	d.use(func(db js.Value) {
		var t, found js.Value
		thrown := try(func() {
			t = db.Call("transaction", drawer, "readonly")
			found = t.Call("objectStore", drawer).Call("get", key)
		})
		if !thrown.IsUndefined() {
			d.open = js.Undefined()
			done(nil, failure(thrown))
			return
		}
		handle(t, map[string]func(){
			"complete": func() {
				switch v := found.Get("result"); v.Type() {
				case js.TypeUndefined:
					done(nil, nil)
				case js.TypeString:
					done([]byte(v.String()), nil)
				default:
					done([]byte{}, nil) // as Read has it
				}
			},
			"abort": func() { done(nil, failure(t.Get("error"))) },
		})
	}, func(err error) { done(nil, err) })
}

// Read passes on every row, drawer by drawer, in the order of their keys, of the drawers that are not left alone.
func (d *Database) Read(done func([]Row, error)) {
	var drawers []string
	for _, name := range d.drawers {
		if !d.left[name] {
			drawers = append(drawers, name)
		}
	}
	d.use(func(db js.Value) {
		keys, values := make([]js.Value, len(drawers)), make([]js.Value, len(drawers))
		var t js.Value
		thrown := try(func() {
			t = db.Call("transaction", names(drawers), "readonly")
			for i, name := range drawers {
				store := t.Call("objectStore", name)
				keys[i], values[i] = store.Call("getAllKeys"), store.Call("getAll")
			}
		})
		if !thrown.IsUndefined() {
			d.open = js.Undefined()
			done(nil, failure(thrown))
			return
		}
		handle(t, map[string]func(){
			"complete": func() {
				var rows []Row
				for i, name := range drawers {
					k, v := keys[i].Get("result"), values[i].Get("result")
					for n := range k.Length() {
						// What is no text was not written by this program, and reads as nothing.
						text := []byte{}
						if v.Index(n).Type() == js.TypeString {
							text = []byte(v.Index(n).String())
						}
						rows = append(rows, Row{name, k.Index(n).String(), text})
					}
				}
				done(rows, nil)
			},
			"abort": func() { done(nil, failure(t.Get("error"))) },
		})
	}, func(err error) { done(nil, err) })
}

// Persist asks the browser not to clear the rows away, and passes on whether it agreed.
func (d *Database) Persist(done func(bool)) {
	if !has(global, "navigator", "storage", "persist") {
		done(false)
		return
	}
	then(global.Get("navigator").Get("storage").Call("persist"), func(v js.Value) { done(v.Truthy()) }, func(js.Value) { done(false) })
}

func names(list []string) js.Value {
	a := global.Get("Array").New()
	for _, s := range list {
		a.Call("push", s)
	}
	return a
}
