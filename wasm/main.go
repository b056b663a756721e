//go:build js

// Command wasm is the browser program. It only joins app to browser.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"syscall/js"

	"example.org/plumb/wasm/app"
	"example.org/plumb/wasm/browser"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/carry"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/client"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
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

func (s shelf) Fetch(drawer, key string) {
	s.Database.Fetch(drawer, key, func(value []byte, err error) { (*s.app).Fetched(drawer, key, value, meaning(err)) })
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
	store   *client.Store
	parcels *browser.Parcels
	alone   bool // the site has no mailbox, and is asked for nothing
	app     **app.App
}

// Run does not wait: an errand has a goroutine of its own, and its answer comes in between the events of the page.
func (p post) Run(n int, e app.Errand) {
	go func() {
		found, err := p.run(context.Background(), n, e)
		if err == nil {
			found.Date = p.store.Date() // of this answer, or of another that came just now
		}
		(*p.app).Ran(n, found, outcome(err))
	}()
}

func (p post) run(ctx context.Context, n int, e app.Errand) (found app.Found, err error) {
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
	case app.PutParcel, app.GetParcel:
		if app.Whole {
			err = p.carry(ctx, n, e)
		}
	default:
		panic("wasm: no such errand")
	}
	return found, err
}

// carry brings a picture to a box or from it.
func (p post) carry(ctx context.Context, n int, e app.Errand) error {
	if e.What == app.PutParcel {
		return p.parcels.Send(ctx, e.Box, seal.Parcel(e.ID), e.Key, e.Picture, p.far(n, e.Size))
	}
	return p.parcels.Fetch(ctx, e.Box, e.Right, seal.Parcel(e.ID), e.Key, e.Size, e.Digest, e.Picture, e.Kind, p.far(n, e.Size))
}

// far tells how much of size bytes has come across.
func (p post) far(n int, size int64) func(int64) {
	return func(bytes int64) { (*p.app).Carried(n, min(1, float64(bytes)/float64(max(size, 1)))) }
}

// outcome is the client's error as app knows it.
func outcome(err error) error {
	switch {
	case errors.Is(err, client.ErrOffline):
		return app.ErrOffline
	case errors.Is(err, client.ErrServer):
		return app.ErrServer
	case errors.Is(err, carry.ErrConflict):
		return mailbox.ErrConflict
	case errors.Is(err, carry.ErrPart):
		return app.ErrPart
	case errors.Is(err, carry.ErrSize), errors.Is(err, browser.ErrOther):
		return app.ErrDigest
	case errors.Is(err, carry.ErrSource), errors.Is(err, browser.ErrNoBlob):
		return app.ErrNoPicture
	}
	for _, altered := range []error{seal.ErrVersion, seal.ErrForeign, seal.ErrTruncated, seal.ErrOrder, seal.ErrExtra, seal.ErrLayout, seal.ErrTooLarge} {
		if errors.Is(err, altered) {
			return app.ErrAltered
		}
	}
	return meaning(err)
}

// pictures let app keep files that are too large for it, and ask about them.
type pictures struct {
	*browser.Blobs
	looker *browser.Looker
	asked  map[int]study.Task // that are not answered
	app    **app.App
}

func (p *pictures) Study(n int, t study.Task) {
	p.asked[n] = t
	go func() {
		text, err := t.Marshal()
		picture := js.Undefined()
		if err == nil && t.What != study.Describe { // its file travels in the task
			picture, err = p.Wait(t.Picture)
		}
		_, still := p.asked[n]
		switch {
		case !still:
		case err != nil:
			p.answer(n, study.Found{}, err)
		default:
			p.looker.Run(n, text, picture)
		}
	}()
}

func (p *pictures) Stop(n int) {
	if _, ok := p.asked[n]; ok {
		delete(p.asked, n)
		p.looker.Stop(n)
		go (*p.app).Studied(n, study.Found{}, app.ErrStopped)
	}
}

// studied takes what the looker found, and the Blob that it made.
func (p *pictures) studied(n int, found []byte, made js.Value, err error) {
	t, ok := p.asked[n]
	if !ok {
		return
	}
	var f study.Found
	if err == nil {
		f, err = study.ReadFound(found)
	}
	switch {
	case err != nil || f.Refused != nil || t.To == "":
	case made.Truthy():
		p.Put(t.To, made)
	case t.What == study.Examine:
		// What was picked is sent as it is. It lies in memory, for it was asked about.
		p.Get(t.Picture, func(picture js.Value, err error) {
			if err == nil {
				p.Put(t.To, picture)
			}
		})
	}
	p.answer(n, f, err)
}

func (p *pictures) answer(n int, f study.Found, err error) {
	if _, ok := p.asked[n]; ok {
		delete(p.asked, n)
		(*p.app).Studied(n, f, regard(err))
	}
}

func (p *pictures) Keep(keys ...string) {
	for _, key := range keys {
		p.Blobs.Keep(key, func(err error) { (*p.app).Kept(key, regard(err)) })
	}
}

func (p *pictures) Save(key, name string) { p.Blobs.Save(key, name, func(error) {}) }

// regard is an error about a picture as app knows it.
func regard(err error) error {
	switch {
	case errors.Is(err, browser.ErrStopped):
		return app.ErrStopped
	case errors.Is(err, browser.ErrNoBlob):
		return app.ErrNoPicture
	}
	return meaning(err)
}

// easel lets app hang pictures.
type easel struct{ *browser.Easel }

func (e easel) Hang(h app.Hanging) {
	b := browser.Hanging{Way: h.Way, Divider: h.Divider, Scale: h.Scale, X: h.X, Y: h.Y, Front: h.Front, Hatch: (*browser.Hatch)(h.Hatch)}
	for _, p := range h.Pictures {
		b.Pictures = append(b.Pictures, browser.Hung(p))
	}
	for _, p := range h.Pins {
		b.Pins = append(b.Pins, browser.Pin(p))
	}
	e.Easel.Hang(b)
}

// gallery is what the program needs for pictures.
func gallery(a **app.App, blobs *browser.Blobs) (app.Pictures, app.Easel) {
	kept := &pictures{Blobs: blobs, asked: map[int]study.Task{}, app: a}
	kept.looker = &browser.Looker{
		Boot: browser.Data("stage", "lookerBoot"), Runtime: browser.Data("stage", "runtime"), Program: browser.Data("stage", "looker"),
		Studying: func(n int, share float64) { (*a).Studying(n, share) }, Studied: kept.studied,
	}
	return kept, easel{browser.NewEasel(blobs, browser.EaselListener{
		Hung:  func(key string, width, height int, ok bool) { (*a).Hung(key, width, height, ok) },
		Size:  func(width, height int) { (*a).EaselSize(width, height) },
		Press: func(kind string, x, y float64, shift bool) { (*a).EaselPress(kind, x, y, shift) },
		Wheel: func(x, y, delta float64) { (*a).EaselWheel(x, y, delta) },
	})}
}

// speak makes the language of the page what is said. What starts this program has loaded it; without it English is spoken.
func speak() {
	text := js.Global().Get("plumbWords")
	if text.Type() != js.TypeString {
		return
	}
	var c words.Catalogue
	if err := json.Unmarshal([]byte(text.String()), &c); err == nil {
		words.Use(&c)
	}
}

func main() {
	speak()
	database := browser.NewDatabase("plumb", 4, app.Sittings, app.Judgements, app.Records, app.Requests, app.Letters, app.Asks, app.Replies, app.Decisions, app.Screens, app.Papers, app.Files)
	database.Open() // while all else is looked at
	canvas, ok := browser.OpenCanvas("screen")
	if !ok {
		panic("this browser gives no two-dimensional canvas")
	}
	var a *app.App
	clock := browser.NewClock(func() { a.Woke() })
	database.Leave(app.Files)
	if !app.Whole {
		database.Leave(app.Papers) // they are of no use to a check, and may be large
	}
	known := browser.Probe()
	origin, host := browser.Origin()
	alone := browser.Data("stage", "post") == "none"
	blobs := browser.NewBlobs("plumb-pictures")
	h := app.Host{
		Canvas: canvas,
		Page:   browser.Page{},
		Clock:  clock,
		Shelf:  shelf{database, &a},
		Desk:   browser.Desk{},
		Locks:  browser.NewLocks(func(name string, ok bool) { a.Locked(name, ok) }),
		Links:  browser.Links{Copied: func(ok bool) { a.Copied(ok) }},
	}
	if app.Whole {
		store := &client.Store{Do: browser.Fetch{}}
		h.Post, h.Timer = post{store, &browser.Parcels{Store: store, Blobs: blobs}, alone, &a}, browser.NewTimer(func() { a.Rang() })
		h.Pictures, h.Easel = gallery(&a, blobs)
	}
	a = app.New(h, app.Browser{
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
		Picked: func(files []browser.Picked) {
			if !app.Whole {
				return // no page of this program asks for pictures
			}
			list := make([]app.Picked, len(files))
			for i, f := range files {
				list[i] = app.Picked(f)
			}
			a.Picked(list)
		},
		Blobs: blobs,
		Surface: func() {
			s := app.Surface(canvas.Surface())
			if begun {
				a.Surface(s)
				return
			}
			// The canvas is measured for the first time.
			begun = true
			wishes := browser.Wishes()
			wishes["?"] = js.Global().Get("location").Get("search").String()
			a.Begin(s, wishes)
		},
		Visible: a.Visible,
		Focus:   a.Focus,
		Leaving: a.Leaving,
		Online:  a.Online,
		Moved:   a.Moved,
	}, canvas)
	select {}
}
