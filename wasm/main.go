//go:build js

// Command wasm is the browser program. It only joins app to browser.
package main

import (
	"errors"

	"example.org/plumb/wasm/app"
	"example.org/plumb/wasm/browser"
)

// shelf lets app write to a database.
type shelf struct {
	*browser.Database
	app **app.App
}

func (s shelf) Read() {
	s.Database.Read(func(rows []browser.Row, err error) {
		list := make([]app.Row, len(rows))
		for i, r := range rows {
			list[i] = app.Row(r)
		}
		(*s.app).Shelved(list, meaning(err))
	})
}

func (s shelf) Write(rows []app.Row) {
	list := make([]browser.Row, len(rows))
	for i, r := range rows {
		list[i] = browser.Row(r)
	}
	s.Database.Write(list, func(err error) { (*s.app).Stored(meaning(err)) })
}

func (s shelf) Persist() {
	s.Database.Persist(func(granted bool) { (*s.app).Persisted(granted) })
}

// meaning is a browser's error as app knows it.
func meaning(err error) error {
	for _, e := range []struct{ from, to error }{
		{browser.ErrFull, app.ErrFull},
		{browser.ErrDenied, app.ErrDenied},
		{browser.ErrBlocked, app.ErrBlocked},
		{browser.ErrCorrupt, app.ErrCorrupt},
		{browser.ErrNewer, app.ErrNewer},
	} {
		if errors.Is(err, e.from) {
			return e.to
		}
	}
	return err
}

func main() {
	canvas, ok := browser.OpenCanvas("screen")
	if !ok {
		panic("this browser gives no two-dimensional canvas")
	}
	var a *app.App
	clock := browser.NewClock(func() { a.Woke() })
	database := browser.NewDatabase("plumb", 1, app.Sittings, app.Judgements, app.Records)
	version := browser.Version("stage")
	known := browser.Probe()
	a = app.New(app.Host{
		Canvas: canvas,
		Page:   browser.Page{},
		Clock:  clock,
		Shelf:  shelf{database, &a},
		Desk:   browser.Desk{},
		Locks:  browser.NewLocks(func(name string, ok bool) { a.Locked(name, ok) }),
	}, app.Browser{
		Name: known.Name, CanvasNoise: known.CanvasNoise, NoReadback: known.NoReadback, Timer: known.Timer,
		Wide: canvas.Wide(), Address: browser.Address(),
	}, version, browser.Seed())
	browser.Decode(app.Picture(), "image/png", a.Decoded)
	begun := false
	browser.Listen(browser.Listener{
		Key:     a.Key,
		Pointer: a.Pointer,
		Action:  a.Action,
		Input:   a.Input,
		File:    a.Opened,
		Surface: func() {
			s := app.Surface(canvas.Surface())
			if begun {
				a.Surface(s)
				return
			}
			// The canvas is measured for the first time.
			begun = true
			a.Begin(s, browser.Wishes())
		},
		Visible: a.Visible,
		Focus:   a.Focus,
		Leaving: a.Leaving,
	}, canvas)
	select {}
}
