//go:build js

// Command wasm is the browser program. It only joins app to browser.
package main

import (
	"context"
	"errors"

	"example.org/plumb/wasm/app"
	"example.org/plumb/wasm/browser"
	"example.org/plumb/web/mailbox/client"
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

// post runs app's errands at the site that the page came from.
type post struct {
	store *client.Store
	alone bool // the site has no mailbox, and is asked for nothing
	app   **app.App
}

// Run does not wait: an errand has a goroutine of its own, and its answer comes in between the events of the page.
func (p post) Run(n int, e app.Errand) {
	go func() {
		found, err := p.run(context.Background(), e)
		(*p.app).Ran(n, found, outcome(err))
	}()
}

func (p post) run(ctx context.Context, e app.Errand) (found app.Found, err error) {
	if p.alone {
		return found, app.ErrAlone
	}
	switch e.What {
	case app.OpenBox:
		err = p.store.Open(ctx, e.Box, e.Right.Owner(), e.Until)
	case app.PutLetter:
		_, err = p.store.Put(ctx, e.Box, e.ID, e.Body)
	case app.GetLetters:
		found.Letters, err = p.store.Get(ctx, e.Box, e.Right, e.After, e.Limit)
	case app.LookBox:
		found.Box, err = p.store.Look(ctx, e.Box, e.Right)
	case app.ExtendBox:
		err = p.store.Extend(ctx, e.Box, e.Right, e.Until)
	case app.CloseBox:
		err = p.store.Close(ctx, e.Box, e.Right)
	case app.DeleteBox:
		err = p.store.Delete(ctx, e.Box, e.Right)
	default:
		panic("wasm: no such errand")
	}
	return found, err
}

// outcome is the client's error as app knows it.
func outcome(err error) error {
	switch {
	case errors.Is(err, client.ErrOffline):
		return app.ErrOffline
	case errors.Is(err, client.ErrServer):
		return app.ErrServer
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
	database := browser.NewDatabase("plumb", 2, app.Sittings, app.Judgements, app.Records, app.Requests, app.Letters, app.Asks, app.Replies)
	known := browser.Probe()
	origin, host := browser.Origin()
	alone := browser.Data("stage", "post") == "none"
	a = app.New(app.Host{
		Canvas: canvas,
		Page:   browser.Page{},
		Clock:  clock,
		Shelf:  shelf{database, &a},
		Desk:   browser.Desk{},
		Locks:  browser.NewLocks(func(name string, ok bool) { a.Locked(name, ok) }),
		Post:   post{&client.Store{Do: browser.Fetch{}}, alone, &a},
		Timer:  browser.NewTimer(func() { a.Rang() }),
		Links:  browser.Links{Copied: func(ok bool) { a.Copied(ok) }},
	}, app.Browser{
		Name: known.Name, CanvasNoise: known.CanvasNoise, NoReadback: known.NoReadback, Timer: known.Timer,
		Wide: canvas.Wide(), Address: origin + "/check",
		Page: browser.Data("stage", "page"), Origin: origin, Host: host, Share: browser.Shares(), Alone: alone,
	}, browser.Data("stage", "version"), browser.Seed())
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
		Online:  a.Online,
		Moved:   a.Moved,
	}, canvas)
	select {}
}
