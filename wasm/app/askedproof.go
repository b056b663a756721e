package app

import (
	"errors"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/seal"
	"example.org/plumb/web/words"
)

// round is a version of the proof that is asked about, from 1; nil where there is none of that number.
func (g *given) round(n int) *proof {
	switch {
	case g.Ask.Proof == nil || n < 1 || n > g.rounds():
		return nil
	case n == 1:
		return g.Ask.Proof
	}
	return g.Later[n-2]
}

// rounds is how many versions there are.
func (g *given) rounds() int { return 1 + len(g.Later) }

func (g *given) newest() *proof { return g.round(g.rounds()) }

// provenance tells whether what is kept of a proof holds together.
func (g *given) provenance() bool {
	if g.Ask.Proof == nil {
		return g.Version <= travels && len(g.Later) == 0
	}
	before := g.Ask.Proof
	first, err := before.read(g.Ask.at())
	if err != nil || first.Round != 1 {
		return false
	}
	asker := first.Asker
	for i, p := range g.Later {
		if p == nil {
			return false
		}
		r, err := p.read(g.Ask.at())
		if err != nil || r.Round != i+2 || r.Asker != asker || r.Earlier != record.Digest(before.Request) {
			return false
		}
		before = p
	}
	return true
}

// roundsAtOnce is how many letters are fetched at a time when newer versions are looked for.
const roundsAtOnce = 20

// lookForRounds looks for newer versions in the box of a request, and then calls then with the mailbox's time: zero where it could not be asked.
func (a *App) lookForRounds(g *given, then func(date time.Time)) {
	if !g.Served || g.Ask.Proof == nil || a.browser.Alone {
		then(time.Time{})
		return
	}
	a.errand(Errand{What: GetLetters, Box: mailbox.Address(g.Ask.ID), After: g.Last, Limit: roundsAtOnce}, func(f Found, err error) {
		if a.mail.given[g.Ask.name()] != g {
			return
		}
		if err != nil {
			if errors.Is(err, mailbox.ErrNone) {
				g.gone = true
			}
			then(time.Time{})
			return
		}
		if a.takeRounds(g, f.Letters) {
			a.write(Row{Asks, g.Ask.name(), encode(g)})
		}
		if len(f.Letters) == roundsAtOnce {
			a.lookForRounds(g, then)
			return
		}
		then(f.Date)
	})
}

// takeRounds takes newer versions from the letters of a box, among which are those of others to the owner; false when there is nothing to be kept.
func (a *App) takeRounds(g *given, list []mailbox.Letter) bool {
	reader, err := seal.Derive(g.Seed)
	if err != nil || len(g.Seed) != 32 {
		return false
	}
	changed := false
	for _, l := range list {
		if l.Seq > g.Last {
			g.Last, changed = l.Seq, true
		}
		inside, err := reader.Open(roundLetter, seal.Place(g.Ask.at(), l.ID), l.Body)
		if err != nil {
			continue
		}
		p, _, err := readRound(inside, g.newest().Request)
		switch {
		case errors.Is(err, errLetterNewer), errors.Is(err, record.ErrVersion):
			g.newer = true
		case err == nil:
			g.Later = append(g.Later, p)
			changed = true
		}
	}
	return changed
}

// lookAgainForRounds looks for newer versions while the request, or its pictures, are on the page.
func (a *App) lookAgainForRounds(g *given) {
	was := g.rounds()
	a.lookForRounds(g, func(time.Time) {
		switch {
		case a.given != g:
		case a.stage == Asked:
			a.refill("stage", pages.AskedPage(a.askedView()))
			a.tell("message", a.shelf.trouble())
		case a.stage == Viewing && g.rounds() > was:
			a.fillDecisions()
			a.say(words.Say("A new version has come."))
		}
	})
}

// askProof turns the page of a request for a check into that of one for decisions on pictures.
func (a *App) askProof(v *pages.Asked) {
	g := a.given
	now := a.host.Clock.Wall()
	zone := now.Location()
	p := g.newest()
	asked, err := p.read(g.Ask.at())
	if err != nil {
		return // it was read before it was kept
	}
	v.Title, v.Note, v.From = asked.Title, asked.Note, asked.From
	until := date(time.UnixMilli(g.Ask.Expires).In(zone))
	aim, _ := screen.AimByID(g.Ask.Aim)
	v.Facts = []pages.Fact{
		{Name: words.Say("What the pictures are made for"), Value: words.Found(aim.Name) + ", " + words.Found(aim.Text)},
		{Name: words.Say("Can be decided"), Value: words.Say("until %s", until)},
	}
	for _, x := range asked.Pictures {
		v.Proof.Pictures = append(v.Proof.Pictures, pages.AskedPicture{Name: x.Name, Size: words.Say("%s pixels, %s", size(x.Width, x.Height), bytesOf(float64(x.Size)))})
	}
	v.Proof.Needs = words.Say("Nothing: looking unchecked is fine for this. With a check the record says what your screen could show.")
	if asked.Needs != "" {
		v.Proof.Needs = words.Say("That it is good enough for %s. A check of it, of a few minutes, tells. Without one you may decide all the same, and the record says that nobody checked.", words.Found(asked.Needs))
	}
	last := a.mail.latest(g.Ask.name(), p.Request)
	if asked.Round > 1 {
		v.Proof.Version = words.Say("This is version %d.", asked.Round)
		if s := a.mail.latest(g.Ask.name(), g.round(asked.Round-1).Request); s != nil {
			v.Proof.Version += " " + words.Say("Of version %d you said, %s: %s. What you noted stands beside the new pictures.", asked.Round-1, day(s.read.Told.In(zone)), summed(s.read))
		}
	}
	if g.newer {
		v.Proof.Version = strings.TrimSpace(v.Proof.Version + " " + words.Say("There is a version after this one that a newer program made: load the page again to get that program."))
	}
	v.Proof.Ways = a.lookWays(asked, last)
	for _, s := range a.mail.signedFor(g.Ask.name()) {
		text := capital(summed(s.read))
		if s.read.Asked.Round != asked.Round {
			text = words.Say("%s, about version %d", text, s.read.Asked.Round)
		}
		i := pages.Item{Title: words.Say("Your decision of %s", day(s.read.Told.In(zone))), Text: []string{text + ". " + a.fate(s)}}
		i.Buttons = []pages.Button{{Action: "save-record", ID: s.key(), Label: words.Say("Save the record")}}
		if s.State == refused {
			i.Buttons = append(i.Buttons, pages.Button{Action: "decision-file", ID: s.key(), Label: words.Say("Save it sealed, to pass it on")})
		}
		if s == last {
			i.Buttons = append([]pages.Button{{Action: "again", Label: words.Say("Look at it and the pictures"), Main: true}}, i.Buttons...)
		}
		v.Proof.Decided = append(v.Proof.Decided, i)
	}
	v.Done, v.Buttons = nil, nil
	v.Sent = []string{
		words.Say("Your decision on each picture, your notes and your name, with the time, signed by a key that is made in this browser for this request."),
		words.Say("If the screen is checked: the report of the check, with the conditions and the names that were filled in, and how the screen shows tones. Each single answer only if you choose so."),
		words.Say("It is sealed in this browser for %s alone, and lies at %s until %s or until it is deleted.", g.by(), a.server(), until),
	}
	v.Kept = []string{
		words.Say("Nothing before you press Sign and send, and no check by itself. The pictures come to this browser and are not kept in it after the page is closed."),
		words.Say("%s cannot open any of it.", a.server()) + " " + words.Found(pages.Keeps),
	}
	if g.gone {
		v.Gone = words.Say("This request takes no more answers. %s The pictures cannot be fetched any more.", a.failure(mailbox.ErrNone))
	}
}

// summed is what a record decides, in a few words.
func summed(r record.Record) string {
	approved, changes, notes := tally(r)
	list := []string{}
	if approved > 0 {
		list = append(list, words.Some(approved, "%d picture approved", "%d pictures approved"))
	}
	if changes > 0 {
		list = append(list, words.Some(changes, "%d picture with changes asked", "%d pictures with changes asked"))
	}
	if open := len(r.Pictures) - approved - changes; open > 0 {
		list = append(list, words.Some(open, "%d picture left open", "%d pictures left open"))
	}
	if notes > 0 {
		list = append(list, words.Some(notes, "%d note", "%d notes"))
	}
	return listed(list)
}

// lookWays are the ways to look at the pictures: checked first, with an earlier check, unchecked. Which stands first depends on what is asked of the screen.
func (a *App) lookWays(asked record.Request, last *signed) []pages.LookWay {
	g := a.given
	d := a.mail.drafts[g.Ask.name()]
	if d != nil && !d.begun(g.newest().Request) {
		d = nil // what was begun is of an earlier version
	}
	first := pages.LookWay{Title: words.Say("Check this screen first"),
		Text:    []string{words.Say("You judge simple patterns for a few minutes, see your own report, and come back to the pictures. Then this page can tell what your screen hides of each of them.")},
		Buttons: []pages.Button{{Action: "begin", Label: words.Say("Check this screen first")}}}
	unchecked := pages.LookWay{Title: words.Say("Look unchecked"),
		Text:    []string{words.Say("You see the pictures at once. What your screen hides of them is not known, and the record says so.") + when(asked.Needs != "", " "+words.Say("A screen that is good enough for %s was asked for.", words.Found(asked.Needs)))},
		Buttons: []pages.Button{{Action: "unchecked", Label: words.Say("Look unchecked")}}}
	var earlier []pages.LookWay
	good, lost := false, ""
	for _, x := range a.shelf.sittings {
		r, why := usable(x, g.Ask.Aim)
		if why != "" {
			if d != nil && d.Sitting == x.ID {
				lost = why
			}
			continue
		}
		w := a.earlierWay(x, r, asked.Needs)
		w.Buttons = []pages.Button{{Action: "use", ID: x.ID, Label: words.Say("Look with this check")}}
		if d != nil && d.Sitting == x.ID && last == nil {
			w.Text = append(w.Text, words.Say("You began to look with it; what you decided and noted is kept."))
			w.Buttons[0].Label = words.Say("Go on with this check")
		}
		if w.Verdict == "holds" && !good {
			good, w.Buttons[0].Main = true, true
		}
		earlier = append(earlier, w)
	}
	if d != nil && d.Sitting != "" && lost == "" && a.shelf.find(d.Sitting) == nil {
		_, lost = usable(nil, g.Ask.Aim)
	}
	if lost != "" {
		first.Text = append([]string{lost + " " + words.Say("What you decided with it is open again; what you noted is kept.")}, first.Text...)
	}
	if d != nil && d.Chosen && d.Sitting == "" && last == nil {
		unchecked.Text = append(unchecked.Text, words.Say("You began to look so; what you decided and noted is kept."))
	}
	if asked.Needs == "" {
		// Nothing is asked of the screen: the ways stand side by side, and none is pushed.
		return append([]pages.LookWay{unchecked, first}, earlier...)
	}
	first.Buttons[0].Main = !good
	return append(append([]pages.LookWay{first}, earlier...), unchecked)
}

// stale is how old a check may be before its age is a concern: screens, and rooms, move.
const stale = 7 * 24 * time.Hour

// earlierWay describes a check that was made before: its age and conditions, and what of them is another now.
func (a *App) earlierWay(x *stored, r report.Record, needs string) pages.LookWay {
	now := a.host.Clock.Wall()
	c := r.Conditions
	ended := time.UnixMilli(c.Ended)
	w := pages.LookWay{Title: words.Say("Use the check of %s", ago(now.Sub(ended)))}
	if c.Screen != "" {
		w.Title = words.Say("Use the check of \"%s\", %s", seen(c.Screen), ago(now.Sub(ended)))
	}
	if needs != "" {
		w.Verdict = fitness(r, needs)
		switch needs := words.Found(needs); w.Verdict {
		case "holds":
			w.Fit = words.Say("good enough for %s", needs)
		case "off":
			w.Fit = words.Say("not good enough for %s", needs)
		case "unsure":
			w.Fit = words.Say("cannot tell whether it is good enough for %s", needs)
		case "not checked":
			w.Fit = words.Say("did not check %s", needs)
		default:
			w.Fit = needs
		}
	}
	other := ""
	if s := a.surface; s.Ratio != c.PixelRatio || s.Gamut != c.Gamut || s.DynamicRange != c.DynamicRange || s.ColorDepth != c.ColorDepth {
		other = words.Say("What the browser says of the screen was another then: it may be another screen, or its settings were changed.")
	}
	w.Facts = facts{
		{true, words.Say("Checked"), day(ended.In(now.Location())), when(now.Sub(ended) > stale, words.Say("That is a while ago: screens and rooms change."))},
		{true, words.Say("Screen"), title(c.Screen), other},
		{c.Viewer != "", words.Say("By"), seen(c.Viewer), ""},
		{c.Room != "", words.Say("Room"), words.Found(c.Room), ""},
		{c.Browser != "", words.Say("Browser"), c.Browser, when(c.Browser != a.browser.Name, words.Say("It was another browser or another version of it."))},
	}.known()
	if len(w.Text) == 0 {
		w.Text = []string{words.Say("Only if it is the screen before you now, set as it was then, in the same light.")}
	}
	return w
}

// proofAction takes a button of the page of a request that asks about pictures; false when name is none of it.
func (a *App) proofAction(name, id string) bool {
	g := a.given
	if g == nil || g.Ask.Proof == nil {
		return false
	}
	if a.recordAction(name, id) {
		return true
	}
	switch name {
	case "use":
		if x := a.shelf.find(id); x != nil {
			a.lookAt(g, x)
		}
	case "unchecked":
		a.lookAt(g, nil)
	case "again":
		// As it was looked at when the record was signed, as far as that can be.
		if d := a.mail.drafts[g.Ask.name()]; d != nil && d.Sitting != "" {
			x := a.shelf.find(d.Sitting)
			_, why := usable(x, g.Ask.Aim)
			a.lookWith(g, x, why, viewing{})
			return true
		}
		a.lookAt(g, nil)
	default:
		return false
	}
	return true
}

// onward goes from the report of a check that was made first to the pictures.
func (a *App) onward() {
	r := a.shown
	g := a.asker(r)
	if g == nil || g.Ask.Proof == nil {
		return
	}
	if _, why := usable(r.of, g.Ask.Aim); why != "" {
		a.given = g
		a.showAsked()
		a.say(why)
		return
	}
	a.lookAt(g, r.of)
}

// onwardView leads from the report of a check that was made first to the pictures.
func (a *App) onwardView(g *given) pages.Sending {
	_, why := usable(a.shown.of, g.Ask.Aim)
	v := pages.Sending{State: words.Say("This check was made for the pictures of %s. Nothing of it has left this browser: it goes along with your decision, if you send one.", g.by())}
	if why != "" {
		v.State = why + " " + words.Say("Nothing of it has left this browser.")
		v.Buttons = []pages.Button{{Action: "onward", Label: words.Say("Back to the request"), Main: true}}
		return v
	}
	v.Buttons = []pages.Button{{Action: "onward", Label: words.Say("On to the pictures"), Main: true}}
	return v
}
