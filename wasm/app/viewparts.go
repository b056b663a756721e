package app

import (
	"slices"
	"strconv"

	"github.com/a-h/templ"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// fillViewing puts the whole page of the stage Viewing up.
func (a *App) fillViewing() {
	v := &a.viewing
	zone := a.host.Clock.Wall().Location()
	a.fill("stage", pages.ViewingPage(pages.Viewing{
		Title: v.asked.Title, From: v.asked.From, Note: v.asked.Note, Name: v.draft.Name, Screen: v.said(zone),
		Tools: a.viewToolsView(), Loading: a.loadingView(), Failed: a.failedView(), Pictures: v.tabs(), Hides: a.hidesViewNow(), Notes: a.notesView(), Noting: a.notingView(),
		Decide: a.decideView(), Closing: a.closingView(), Signing: a.signingView(), Record: a.signedView(),
	}))
	a.fill("bar", none)
	a.tell("message", a.shelf.trouble())
	a.showPins()
}

// part fills a part of the page, unless there is nothing new in it.
func (a *App) part(id string, c templ.Component) {
	if a.stage == Viewing {
		a.refill(id, c)
	}
}

// fillDecisions fills all parts that may have changed with a picture, a note or a decision.
func (a *App) fillDecisions() {
	if a.stage != Viewing {
		return
	}
	a.viewTools()
	a.fillLoading()
	a.part("pictures", pages.ViewTabs(a.viewing.tabs()))
	a.fillHides()
	a.part("noting", pages.NotingOf(a.notingView()))
	a.fillNotes()
	a.part("decide", pages.DecideOf(a.decideView()))
	a.fillSigning()
}

func (a *App) fillSigning() {
	if a.stage != Viewing {
		return
	}
	a.part("closing", pages.ClosingOf(a.closingView()))
	a.part("signing", pages.SigningOf(a.signingView()))
	a.part("signed", pages.RecordPanel(a.signedView()))
}

func (a *App) fillLoading() {
	a.part("loading", pages.LoadingOf(a.loadingView()))
	a.part("failed", pages.FailedOf(a.failedView()))
}

func (a *App) fillHides() { a.part("hides", pages.HidesOf(a.hidesViewNow())) }

func (a *App) fillNotes() {
	a.part("notes", pages.ViewNotesOf(a.notesView()))
	a.part("pictures", pages.ViewTabs(a.viewing.tabs()))
}

// viewTools fills the words under the easel. The slider of the divider is filled only when it comes or goes.
func (a *App) viewTools() {
	t := a.viewToolsView()
	a.part("tools", pages.EaselBar(t))
	t.Divider = 500
	if !a.easel.splits() {
		a.part("divider", pages.DividerOf(t))
	} else if a.filled["divider"] == "" {
		t.Divider = round(1000 * a.easel.divider)
		a.part("divider", pages.DividerOf(t))
	}
}

func (a *App) viewToolsView() pages.EaselTools {
	v := &a.viewing
	e := &a.easel
	p := v.asked.Pictures[v.sheet.At]
	t := pages.EaselTools{Picture: p.Name, At: v.sheet.At + 1, Of: len(v.sights), Scale: e.scaled(), Fit: e.ready() && e.scale == e.whole(), Full: e.ready() && e.scale == 1, Pinning: e.noting}
	t.Notes = e.ready() && !v.settled(&a.mail)
	if e.hatch != nil {
		t.Hatch = "off"
		if e.hatched {
			t.Hatch = "on"
		}
	}
	if c := v.companion(); c != nil && e.ready() {
		other := v.called(c)
		way := e.way
		for _, o := range [][2]string{{wayOne, words.Say("This one")}, {wayBeside, words.Say("Beside %s", other)}, {waySwap, words.Say("In turn")}, {wayDivider, words.Say("Under a divider")}} {
			t.Ways = append(t.Ways, pages.Option{Value: o[0], Label: o[1], Chosen: way == o[0]})
		}
		t.Ends = [2]string{p.Name, other}
		if slices.Contains(v.old, c) {
			t.Ends[0] = words.Say("Version %d", v.asked.Round)
		}
		if e.front < len(e.pictures) {
			t.Front = e.pictures[e.front].Name
		}
		t.Divider = round(1000 * e.divider)
	}
	return t
}

// loadingView is how far the picture at hand has come, or what it is compared with.
func (a *App) loadingView() pages.Progress {
	v := &a.viewing
	s := v.sights[v.sheet.At]
	if s.state == sightHere && v.wish != "" {
		if c := v.companion(); c != nil {
			s = c
		}
	}
	switch {
	case s.state == sightComing || s.state == sightAway:
		p := pages.Progress{Label: words.Say("Fetching %s", v.called(s)), Share: s.share, Text: partOf(float64(s.picture.Size)*s.share, float64(s.picture.Size))}
		if s.said != "" {
			p.Text = s.said + " " + a.wait(a.post.find(s.job()))
		}
		return p
	case s.state == sightHere && s.bad == "" && !s.hung && s == v.sights[v.sheet.At]:
		return pages.Progress{Label: words.Say("Decoding %s", s.picture.Name), Share: -1}
	}
	return pages.Progress{}
}

// partOf is how many bytes there are of all, in words.
func partOf(n, all float64) string {
	return words.As("%s of %s", "bytes", bytesOf(n), bytesOf(all))
}

// bytesOf is a number of bytes in words.
func bytesOf(n float64) string {
	switch {
	case n >= 1e6:
		return words.Number(n/1e6, 1) + " MB"
	case n >= 1e3:
		return words.Number(n/1e3, 0) + " kB"
	}
	return words.Say("%.0f bytes", n)
}

// failedView is why the picture at hand is not to be seen.
func (a *App) failedView() pages.Failed {
	v := &a.viewing
	s := v.sights[v.sheet.At]
	again := pages.Button{Action: "again-picture", Label: words.Say("Fetch it again"), Main: true}
	switch {
	case s.state == sightFailed:
		return pages.Failed{Title: words.Say("This picture did not come"), Text: []string{s.said, words.Say("It cannot be approved. The other pictures are as they were, and what you decided and noted is kept.")}, Buttons: []pages.Button{again}}
	case s.bad != "":
		return pages.Failed{Title: words.Say("This picture cannot be shown"), Text: []string{s.bad, words.Say("It cannot be approved here. You can ask for changes, leave it open, or open the link in another browser.")}, Buttons: []pages.Button{again}}
	}
	return pages.Failed{}
}

// hidesViewNow says what this screen hides of the picture at hand.
func (a *App) hidesViewNow() pages.Hides {
	v := &a.viewing
	s := v.sights[v.sheet.At]
	after := pages.Button{Action: "to-asked", Label: words.Say("Check this screen after all")}
	if v.sitting == nil {
		return pages.Hides{State: pages.HidesUnchecked, Lead: when(v.lost != "", v.lost+" ") + words.Say("This screen was not checked, so what it hides of this picture is not known. It may be nothing, and it may be much."), Buttons: []pages.Button{after}}
	}
	unchecked := pages.Button{Action: "unchecked", Label: words.Say("Look unchecked")}
	switch {
	case s.hide == hideFailed:
		return pages.Hides{State: pages.HidesUnknown, Lead: words.Say("What this screen hides of this picture could not be worked out. That does not mean that it is nothing."), Buttons: []pages.Button{{Action: "again-hides", Label: words.Say("Try it again")}, unchecked}}
	case s.hide == hideDone:
		h := hidesView(s.hidden, when(a.easel.hatched, v.shown))
		h.Unseen, h.Rests = untold(v.report, s.hidden.Beyond.Hi > 0), rests(s.hidden)
		return h
	case s.state == sightFailed || s.bad != "":
		return pages.Hides{State: pages.HidesUnknown, Lead: words.Say("What this screen hides of this picture is not known: it is not to be seen here.")}
	}
	return pages.Hides{State: pages.HidesWorking, Progress: pages.Progress{Label: words.Say("Working out what this screen hides of it"), Share: s.far}}
}

// notesView is the notes on the picture at hand: those of the version before come after.
func (a *App) notesView() pages.ViewNotes {
	v := &a.viewing
	i := v.sheet.At
	var list pages.ViewNotes
	settled := v.settled(&a.mail)
	for k, n := range v.sheet.Pictures[i].Notes {
		if n.Text == "" {
			continue
		}
		id := strconv.Itoa(n.N)
		x := pages.ViewNote{ID: id, Label: strconv.Itoa(k + 1), Where: where(n.area()), Text: n.Text, Current: n.N == v.noting}
		if !settled {
			x.Buttons = []pages.Button{{Action: "note-edit", ID: id, Label: words.Say("Change it")}, {Action: "note-delete", ID: id, Label: words.Say("Delete it")}}
		}
		list.List = append(list.List, x)
	}
	for k, n := range a.oldNotes(i) {
		list.List = append(list.List, pages.ViewNote{Label: strconv.Itoa(k + 1), Where: where(n.area()), Text: n.Text, Version: words.Say("version %d", v.asked.Round-1)})
	}
	return list
}

// oldNotes is what was noted here on the version before of a picture: as it was signed, or else as it was left.
func (a *App) oldNotes(i int) []note {
	v := &a.viewing
	p := v.given.round(v.asked.Round - 1)
	if p == nil {
		return nil
	}
	if s := a.mail.latest(v.draft.request, p.Request); s != nil {
		at := v.match(i, len(s.read.Pictures), func(k int) string { return s.read.Asked.Pictures[k].Name })
		if at < 0 {
			return nil
		}
		var list []note
		for _, n := range s.read.Pictures[at].Notes {
			list = append(list, note{X: n.X, Y: n.Y, Width: n.Width, Height: n.Height, Text: n.Text})
		}
		return list
	}
	digest := record.Digest(p.Request)
	for _, s := range v.draft.Sheets {
		if s.Request != encoded(digest[:]) {
			continue
		}
		if at := v.match(i, len(s.Pictures), func(k int) string { return s.Pictures[k].Name }); at >= 0 {
			return said(s.Pictures[at].Notes)
		}
	}
	return nil
}

// notingView is the note that is being written, with the text that it had when it was opened: what is typed is not filled in again.
func (a *App) notingView() pages.Noting {
	v := &a.viewing
	id := strconv.Itoa(v.noting)
	for k, n := range v.sheet.Pictures[v.sheet.At].Notes {
		if n.N == v.noting && v.noting != 0 {
			high := float64(n.Y)+float64(n.Height)/2 > a.easel.y
			return pages.Noting{Label: strconv.Itoa(k + 1), Where: where(n.area()), Text: v.text, High: high,
				Buttons: []pages.Button{{Action: "note-done", ID: id, Label: words.Say("Done"), Main: true}, {Action: "note-delete", ID: id, Label: words.Say("Delete it")}}}
		}
	}
	return pages.Noting{}
}
