package app

import (
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/wasm/study"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// proofing is the form of the stage Proofing.
type proofing struct {
	cover
	needs   string // one of record.Purposes, or empty
	rows    []*entry
	last    int      // id of the latest row
	of      *request // a later round of this one; nil for a new proof
	lacking string   // the field that was found empty
}

// An entry is a picture in the form.
type entry struct {
	id       string
	name     string // of its file
	size     int64  // as it was picked
	picked   string // its key then; empty once it was examined
	key      string // of what is to be sent; empty until it was examined
	asked    int    // the study that examines it; 0 while none does
	share    float64
	about    study.About
	refused  *study.Refusal
	failed   bool // it could not be examined, which may be tried again
	old      int  // 1 and up: the picture of the round before with that number, as it was
	instead  int  // 1 and up: the picture of the round before whose place it takes
	deciding bool // which one it replaces is being chosen
}

// taken tells whether an entry goes into the proof.
func (e *entry) taken() bool { return e.old > 0 || e.key != "" && e.refused == nil && e.asked == 0 }

// pending tells whether it is still being examined, or waits for that.
func (e *entry) pending() bool { return e.old == 0 && e.key == "" && e.refused == nil }

// set takes a field's new value; what the form does not know is left alone.
func (f *proofing) set(name, value string) {
	if name != "needs" {
		f.cover.set(name, value)
	} else if value == "none" {
		f.needs = ""
	} else if slices.Contains(record.Purposes, value) {
		f.needs = value
	}
}

// lacks is the first thing that is missing, with its field where it has one.
func (f *proofing) lacks() (field, what string) {
	list := f.list()
	switch {
	case slices.ContainsFunc(list, (*entry).pending):
		return "", words.Say("Not all pictures have been read yet. Wait a moment, or remove those that take too long.")
	case !slices.ContainsFunc(list, (*entry).taken):
		return "", words.Say("Add a picture first.")
	case f.of != nil && !f.changed():
		return "", words.Say("Nothing is new yet. Add a picture: it takes the place of the old one of the same name.")
	case record.Tidy(f.title, record.MaxText) == "":
		return "title", words.Say("Say what it is.")
	case record.Tidy(f.from, record.MaxText) == "":
		return "from", words.Say("Say who asks.")
	}
	if what := f.tooMuch(list); what != "" {
		return "", what
	}
	return "", ""
}

// tooMuch is why a box does not take the pictures; empty when it does.
func (f *proofing) tooMuch(list []*entry) string {
	var size int64
	n := 0
	for _, e := range list {
		if e.taken() && e.old == 0 {
			size += e.about.Size
			n++
		}
	}
	all, parcels := size, n
	if f.of != nil {
		seen := map[string]bool{}
		for _, v := range f.of.Rounds {
			for i, p := range v.Parcels {
				if name := string(p.Name); !seen[name] {
					seen[name] = true
					all += v.asked.Pictures[i].Size
					parcels++
				}
			}
		}
	}
	// Chunks and letters count a little beside the pictures.
	most := int64(mailbox.MaxBox - mailbox.MaxBox/32)
	switch {
	case parcels > mailbox.MaxParcels:
		return words.Say("One link takes %d pictures, all versions together. Make a new proof for the rest.", mailbox.MaxParcels)
	case all > most:
		return words.Say("Together they have %s, and one link takes %s, all versions together. Leave some out, and send them by another link.", bytesOf(float64(all)), bytesOf(float64(most)))
	}
	return ""
}

// changed tells whether a later round is anything but the one before.
func (f *proofing) changed() bool {
	was := f.of.newest()
	list := f.list()
	if len(list) != len(was.Parcels) {
		return true
	}
	for i, e := range list {
		if e.old != i+1 {
			return true
		}
	}
	return false
}

// list is the entries in the order of the proof: the pictures of the round before, each as it was or with what takes its place, then the new ones.
func (f *proofing) list() []*entry {
	if f.of == nil {
		return f.rows
	}
	var list []*entry
	used := map[*entry]bool{}
	for n := range f.of.newest().Parcels {
		var old, instead *entry
		for _, e := range f.rows {
			if e.old == n+1 {
				old = e
			}
			if e.instead == n+1 && e.refused == nil {
				instead = e
			}
		}
		if instead != nil {
			list, used[instead] = append(list, instead), true
		} else if old != nil {
			list = append(list, old)
		}
	}
	for _, e := range f.rows {
		if e.old == 0 && !used[e] {
			list = append(list, e)
		}
	}
	return list
}

// openProof opens the page: with a proof that is still on its way, where there is one, as after a reload.
func (a *App) openProof() {
	for _, r := range a.mail.requests {
		if v, _ := a.onItsWay(r); v != nil && a.host.Pictures != nil && !a.browser.Alone {
			a.made = r
			a.at("proof", words.Say("Send a proof"))
			a.enter(Made, false)
			a.fillMade()
			return
		}
	}
	a.proof()
}

// proof shows the page on which a proof is made.
func (a *App) proof() {
	a.forgetForm()
	a.proofing = proofing{cover: cover{from: a.signed(), days: usualLife}}
	a.proofAgain()
}

// proofRound shows it for a later round of a request.
func (a *App) proofRound(r *request) {
	was := r.newest()
	if was == nil || r.unsent() {
		return
	}
	a.forgetForm()
	f := proofing{cover: cover{title: was.asked.Title, from: was.asked.From, days: usualLife}, needs: was.asked.Needs, of: r}
	for i, p := range was.asked.Pictures {
		f.last++
		f.rows = append(f.rows, &entry{id: strconv.Itoa(f.last), name: p.Name, size: p.Size, old: i + 1})
	}
	a.proofing = f
	a.proofAgain()
}

// refillForm fills in the form as it was for a first round that did not arrive: after a reload there is none.
func (a *App) refillForm(r *request, v *version) {
	if a.proofing.days > 0 {
		return
	}
	f := proofing{cover: cover{title: v.asked.Title, note: r.Ask.Note, from: v.asked.From, days: usualLife}, needs: v.asked.Needs}
	for i, p := range v.asked.Pictures {
		if v.Pictures[i] == "" {
			continue
		}
		f.last++
		f.rows = append(f.rows, &entry{id: strconv.Itoa(f.last), name: p.Name, size: p.Size, key: v.Pictures[i], about: study.About{
			Kind: p.Kind, Width: p.Width, Height: p.Height, Size: p.Size, Digest: p.Digest, Source: p.Source,
		}})
	}
	a.proofing = f
}

// forgetForm forgets the pictures of the form that are in no proof.
func (a *App) forgetForm() {
	rows := a.proofing.rows
	a.proofing.rows = nil
	for _, e := range rows {
		a.forgetEntry(e)
	}
}

func (a *App) forgetEntry(e *entry) {
	a.giveUp(e.asked)
	for _, k := range []string{e.picked, e.key} {
		if k != "" && e.old == 0 && !a.mail.holds(k) {
			a.dropPictures(k)
		}
	}
}

// proofAgain shows the form as it was filled in.
func (a *App) proofAgain() {
	a.proofing.lacking = ""
	a.at("proof", words.Say("Send a proof"))
	a.enter(Proofing, false)
	v := a.proofingView()
	a.pick(when(v.Alone == "", pickAll))
	a.fill("stage", pages.ProofingPage(v))
	a.fill("bar", none)
	if v.Alone == "" {
		a.fillPictures()
		a.fillProofWay("")
	}
	a.tell("storage", a.shelf.lost())
}

// pick says which files come as Picked.
func (a *App) pick(which string) { a.host.Page.Set("pick", which) }

func (a *App) proofingView() pages.Proofing {
	f := &a.proofing
	v := pages.Proofing{Title: f.title, Note: f.note, From: f.from}
	switch {
	case a.browser.Alone:
		v.Alone = a.failure(ErrAlone) + " " + words.Say("Pictures are too large for a link, so no proof can be sent from here.")
		return v
	case a.host.Pictures == nil:
		v.Alone = words.Say("This browser cannot hold pictures for this page, so no proof can be sent from it.")
		return v
	}
	needs := pages.Question{Name: "needs", Label: words.Say("What their screen must be good enough for"), Advice: words.Say("They can look either way. The record says which check it rests on, if any, and whether it held."), Options: []pages.Option{
		{Value: "none", Label: words.Say("Nothing in particular"), Text: words.Say("looking unchecked is fine"), Chosen: f.needs == ""},
	}}
	for _, p := range record.Purposes {
		needs.Options = append(needs.Options, pages.Option{Value: p, Label: titled(p), Text: purposeFor(p), Chosen: f.needs == p})
	}
	v.Needs = []pages.Question{needs}
	if f.of != nil {
		was := f.of.newest()
		v.Version = words.Say("Version %d of \"%s\", by the same link. Whoever opens it sees the new version with the old notes beside it.", was.asked.Round+1, was.asked.Title)
		v.Before = a.notesBefore(f.of, was)
		return v
	}
	v.Travel = []pages.Question{f.life(changeable())}
	return v
}

// purposeFor says what each of record.Purposes is good for.
func purposeFor(purpose string) string {
	switch purpose {
	case "layout and wording":
		return words.Say("for where things are and what is written")
	case "light and shade":
		return words.Say("for shadows, lights and contrast")
	case "colour":
		return words.Say("for tints and colours too")
	}
	return ""
}

// setProofing takes a field's new value, and takes back what was said of it.
func (a *App) setProofing(name, value string) {
	f := &a.proofing
	f.set(name, value)
	if field, _ := f.lacks(); f.lacking != "" && field != f.lacking {
		f.lacking = ""
		a.host.Page.Amiss("")
		a.fillProofWay("")
	}
}

func (a *App) fillPictures() {
	var list []pages.PictureRow
	var size int64
	n := 0
	for _, e := range a.proofing.list() {
		list = append(list, a.entryRow(e))
		switch {
		case e.old > 0:
			n, size = n+1, size+e.size
		case e.taken():
			n, size = n+1, size+e.about.Size
		}
	}
	a.refill("pictures", pages.PictureRows(list, when(n > 0, words.Some(n, "%d picture, %s", "%d pictures, %s", bytesOf(float64(size))))))
}

// entryRow is a picture in the form.
func (a *App) entryRow(e *entry) pages.PictureRow {
	f := &a.proofing
	row := pages.PictureRow{ID: e.id, Name: e.name, Share: e.share, Size: bytesOf(float64(e.size))}
	remove := pages.Button{Action: "remove", ID: e.id, Label: words.Say("Remove")}
	switch {
	case e.old > 0:
		p := f.of.newest().asked.Pictures[e.old-1]
		row.State, row.Size = pages.Taken, sized(p.Width, p.Height, p.Size)
		row.Notes = []string{words.Say("As in the version before.")}
		row.Buttons = []pages.Button{{Action: "remove", ID: e.id, Label: words.Say("Leave it out")}}
		return row
	case e.refused != nil:
		row.State, row.Why, row.Do = pages.Refused, e.refused.Why, e.refused.Do
		if e.failed {
			row.Buttons = append(row.Buttons, pages.Button{Action: "again", ID: e.id, Label: words.Say("Try again")})
		}
	case e.key == "":
		row.State = pages.Reading
	default:
		row.State, row.Size, row.Notes = pages.Taken, sized(e.about.Width, e.about.Height, e.about.Size), foundAll(e.about.Notes)
		row.Kind = kindOf(e.about)
	}
	row.Buttons = append(row.Buttons, remove)
	if f.of == nil || e.refused != nil {
		return row
	}
	was := f.of.newest().asked.Pictures
	if e.instead > 0 {
		row.Notes = append([]string{words.Say("Takes the place of %s.", was[e.instead-1].Name)}, row.Notes...)
		row.Buttons = append(row.Buttons, pages.Button{Action: "beside", ID: e.id, Label: words.Say("It is another picture")})
		return row
	}
	if !e.deciding {
		row.Buttons = append(row.Buttons, pages.Button{Action: "replace", ID: e.id, Label: words.Say("A new version of...")})
		return row
	}
	for i, p := range was {
		if slices.ContainsFunc(f.rows, func(o *entry) bool { return o.old == i+1 }) && !slices.ContainsFunc(f.rows, func(o *entry) bool { return o.instead == i+1 }) {
			row.Buttons = append(row.Buttons, pages.Button{Action: "instead", ID: e.id + "/" + strconv.Itoa(i+1), Label: words.Say("In place of %s", p.Name)})
		}
	}
	return row
}

// fillProofWay shows the way on.
func (a *App) fillProofWay(problem string) {
	f := &a.proofing
	n, out := 0, 0
	for _, e := range f.list() {
		switch {
		case e.taken():
			n++
		case e.refused != nil:
			out++
		}
	}
	v := pages.ProofWay{Problem: problem}
	if n > 0 {
		v.Asked = words.Some(n, "%d picture will be sealed here and sent to a box at %s.", "%d pictures will be sealed here and sent to a box at %s.", a.server()) + when(out > 0, " "+words.Some(out, "%d picture is left out.", "%d pictures are left out."))
	} else {
		v.Asked = words.Say("Nothing leaves this browser before you press the button.")
	}
	v.Buttons = []pages.Button{{Action: "make", Label: words.Say("Make the link"), Main: true}}
	if f.of != nil {
		v.Buttons = []pages.Button{{Action: "make", Label: words.Say("Send the new version"), Main: true}, {Action: "desk", Label: words.Say("Back to my desk")}}
	}
	a.refill("start", pages.ProofEnter(v))
}

func (a *App) proofingAction(name, id string) {
	f := &a.proofing
	row, place, _ := strings.Cut(id, "/")
	n := slices.IndexFunc(f.rows, func(e *entry) bool { return e.id == row })
	switch {
	case name == "make":
		a.makeProof()
		return
	case name == "desk":
		a.forgetForm()
		a.openDesk()
		return
	case n < 0:
		return
	}
	e := f.rows[n]
	switch name {
	case "remove":
		f.rows = slices.Delete(f.rows, n, n+1)
		a.forgetEntry(e)
		a.examine()
	case "again":
		if e.failed {
			e.refused, e.failed = nil, false
			a.examine()
		}
	case "beside":
		e.instead, e.deciding = 0, false
	case "replace":
		e.deciding = true
	case "instead":
		i, err := strconv.Atoi(place)
		if err != nil || f.of == nil || i < 1 || i > len(f.of.newest().Parcels) || slices.ContainsFunc(f.rows, func(o *entry) bool { return o.instead == i }) {
			return
		}
		e.instead, e.deciding = i, false
	default:
		return
	}
	a.fillPictures()
	a.fillProofWay("")
}
