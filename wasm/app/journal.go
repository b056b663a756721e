package app

import (
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// journal is what is known of the screens of this browser, and the state of the stage Journal.
type journal struct {
	book     book
	open     string // id of the chapter on the page; empty: all of them
	head     string // what that is called on the page
	away     bool   // another tab has the journal
	unread   error  // why what is kept could not be read the last time
	sure     string // what waits for a second press
	moving   string // id of the sitting or paper that is being moved
	same     string // id of the chapter that is chosen to be merged
	busy     bool   // a change is being written
	then     func() // what is to be changed after that, instead of showing it
	told     string // to be said once the page is there
	brought  *bringing
	freeing  *freeing
	read     func([]Row, error)  // takes the rows of the next reading, once
	followed map[string]followed // by the id of a chapter
}

// journalLock belongs to the one tab that may change the journal.
const journalLock = "journal"

// openJournal shows the screens of this browser, or the one that the page's address names.
func (a *App) openJournal() {
	a.host.Locks.Take(journalLock)
	a.journal.open, a.journal.unread = "", a.shelf.err
	if n := (screenMode{a.form.screen, a.form.mode}); n != (screenMode{}) {
		if v := owner(a.volumes(), n); v != nil {
			a.journal.open = v.ID
		}
	}
	a.showJournal()
}

// showJournal puts the page up.
func (a *App) showJournal() {
	j := &a.journal
	a.sitting, a.shown, a.lines = nil, nil, false
	j.sure, j.moving, j.same, j.brought = "", "", "", nil
	a.host.Canvas.Mark("")
	a.at("journal", words.Say("Journal"))
	a.enter(Journal, false)
	v := a.volume(j.open)
	if v == nil {
		j.open, j.head = "", ""
		a.fill("stage", pages.JournalFrame(""))
	} else {
		j.head = v.called()
		a.form.screen, a.form.mode = v.Screen, v.Mode
		a.fill("stage", pages.JournalFrame(v.called()))
	}
	a.fill("bar", none)
	a.fillJournal()
	if j.told != "" {
		a.say(j.told)
		j.told = ""
	}
}

// fillJournal shows what is known now.
func (a *App) fillJournal() {
	if a.stage != Journal || a.journal.brought != nil {
		return
	}
	if v := a.volume(a.journal.open); v != nil {
		a.refill("journal", pages.JournalChapter(a.chapterView(v)))
		return
	}
	a.refill("journal", pages.JournalList(a.journalView()))
}

// volume finds a chapter by its id; nil for none.
func (a *App) volume(id string) *volume {
	if id == "" {
		return nil
	}
	for _, v := range a.volumes() {
		if v.ID == id {
			return v
		}
	}
	return nil
}

// rereadJournal takes what another tab may have changed.
func (a *App) rereadJournal(rows []Row, err error) {
	if f := a.journal.read; f != nil {
		a.journal.read = nil
		defer f(rows, err)
	}
	if a.journal.unread = err; err != nil {
		a.fillJournal()
		return
	}
	if len(a.shelf.queue) == 0 {
		a.shelf.err = nil
	}
	was := map[string]*stored{}
	for _, x := range a.shelf.sittings {
		was[x.ID] = x
	}
	a.shelf.sittings = sorted(rows)
	for _, x := range a.shelf.sittings {
		if o := was[x.ID]; o != nil {
			x.reading = o.reading
		}
	}
	a.journal.book = bookOf(rows)
	if j := &a.journal; j.open != "" && a.volume(j.open) == nil {
		j.told = words.Say("What was shown here is gone: it was changed in another tab.")
		a.showJournal()
		return
	}
	a.fillJournal()
}

// lockedJournal takes the answer to the locks that the journal asked for; false when it is about none of them.
func (a *App) lockedJournal(name string, ok bool) bool {
	j := &a.journal
	if name == journalLock {
		was := j.away
		j.away = !ok
		if a.stage == Journal {
			if ok && was { // what the other tab changed is on the shelf
				a.reread()
			}
			a.fillJournal()
		}
		return true
	}
	if f := j.freeing; f != nil && f.waits[name] {
		f.answer(a, name, ok)
		return true
	}
	return false
}

// reread asks the shelf what is on it.
func (a *App) reread() {
	if !a.shelf.reading {
		a.shelf.reading = true
		a.host.Shelf.Read()
	}
}

// fixed is why nothing can be changed in the journal, in words; empty when it can.
func (a *App) fixed() string {
	switch j := &a.journal; {
	case j.unread != nil:
		return words.Say("What is kept in this browser cannot be read now: %s. Nothing of it is changed here.", words.Found(j.unread.Error()))
	case j.away:
		return words.Say("The journal is open in another tab of this browser, and is changed there. Here it can be read; close that tab to change it here.")
	case j.book.newer():
		return words.Say("Part of the journal was written by a newer version of this program, so nothing is changed here. Load the page again to get that version.")
	}
	return ""
}

// freeing is sittings that are to be deleted, once no other tab works at them.
type freeing struct {
	waits map[string]bool
	held  []string
	taken bool // another tab has one
	then  func()
}

// free calls then once this tab has all of the sittings, and lets go of them afterwards; when another tab has one of them nothing happens.
func (a *App) free(list []*stored, then func()) {
	f := &freeing{waits: map[string]bool{}, then: then}
	for _, x := range list {
		if !a.held[x.ID] {
			f.waits[x.ID] = true
		}
	}
	if len(f.waits) == 0 {
		then()
		return
	}
	a.journal.freeing = f
	for _, x := range list {
		if f.waits[x.ID] {
			a.host.Locks.Take(x.ID)
		}
	}
}

func (f *freeing) answer(a *App, name string, ok bool) {
	delete(f.waits, name)
	f.held = append(f.held, name)
	f.taken = f.taken || !ok
	if len(f.waits) > 0 {
		return
	}
	a.journal.freeing = nil
	if f.taken {
		a.say(words.Say("Nothing was deleted: a sitting of it is open in another tab of this browser."))
	} else {
		f.then()
	}
	for _, id := range f.held {
		a.host.Locks.Release(id)
	}
}

// change writes rows of the journal, all or none, and then takes them into the program and says so. One change is written at a time.
func (a *App) change(said string, rows ...Row) {
	j := &a.journal
	if j.busy {
		a.say(words.Say("The change before is still being written. Try again in a moment."))
		return
	}
	if why := a.fixed(); why != "" {
		a.say(why)
		return
	}
	j.busy = true
	open := j.open
	a.attempt(func(err error) {
		then := j.then
		j.busy, j.then = false, nil
		if err != nil {
			a.fillJournal()
			a.say(words.Say("Nothing was changed: %s.", words.Found(err.Error())))
			return
		}
		a.absorb(rows)
		j.sure, j.moving, j.same = "", "", ""
		if a.stage != Journal {
			return
		}
		if then != nil && j.open == open {
			then()
			return
		}
		j.told = said
		v := a.volume(j.open)
		if v == nil || v.called() != j.head {
			a.showJournal() // under its name
			return
		}
		a.fillJournal()
		a.say(said)
		j.told = ""
	}, rows...)
}

// absorb takes rows that were written into what the program knows of them.
func (a *App) absorb(rows []Row) {
	b := &a.journal.book
	gone := map[string]bool{}
	for _, r := range rows {
		switch r.Drawer {
		case Screens:
			b.chapters = slices.DeleteFunc(b.chapters, func(c *chapter) bool { return c.ID == r.Key })
		case Papers:
			b.papers = slices.DeleteFunc(b.papers, func(p *paper) bool { return p.ID == r.Key })
		case Sittings, Records, Judgements:
			if id, _, _ := strings.Cut(r.Key, "/"); r.Value == nil || r.Drawer == Sittings {
				gone[id] = true
			}
		}
		b.odd = slices.DeleteFunc(b.odd, func(o oddity) bool { return o.Drawer == r.Drawer && o.Key == r.Key })
	}
	var more []Row
	for _, r := range rows {
		if r.Value != nil {
			more = append(more, r)
		}
	}
	fresh := bookOf(more)
	b.chapters, b.papers, b.odd = append(b.chapters, fresh.chapters...), append(b.papers, fresh.papers...), append(b.odd, fresh.odd...)
	b.order()
	a.shelf.sittings = slices.DeleteFunc(a.shelf.sittings, func(x *stored) bool { return gone[x.ID] })
	a.shelf.sittings = append(a.shelf.sittings, sorted(more)...)
	latestFirst(a.shelf.sittings)
}

// journalAction takes a press of a button on the pages of the journal.
func (a *App) journalAction(name, id string) {
	j := &a.journal
	// A first press on anything else takes back what waits for a second one.
	second := j.sure == name+" "+id
	if name != "print" {
		j.sure = ""
	}
	switch name {
	case "overview":
		j.open = ""
		a.form.screen, a.form.mode = "", ""
		a.showJournal()
	case "chapter":
		j.open = id
		a.showJournal()
	case "print":
		a.host.Desk.Print()
	case "spare", "move-not":
		j.moving = ""
		a.fillJournal()
	case "save-journal":
		a.exportJournal(a.volumes(), true)
	case "bring":
		a.bringJournal()
	case "bring-open":
		if p := j.brought; p != nil && p.record != nil {
			j.brought = nil
			a.open(p.record, nil)
		}
	case "odd-save":
		if rows := a.oddRows(id); len(rows) > 0 {
			a.host.Desk.Save(fileName("unreadable", a.host.Clock.Wall().UnixMilli(), "rows", "json"), "application/json", found(rows))
		}
	case "odd-delete":
		if !second {
			j.sure = name + " " + id
			a.fillJournal()
			return
		}
		var rows []Row
		for _, r := range a.oddRows(id) {
			rows = append(rows, Row{Drawer: r.Drawer, Key: r.Key})
		}
		if x := a.shelf.find(id); x != nil {
			a.free([]*stored{x}, func() { a.change(words.Say("It is deleted."), rows...) })
		} else if len(rows) > 0 {
			a.change(words.Say("It is deleted."), rows...)
		}
	default:
		if v := a.volume(j.open); v != nil {
			a.chapterAction(v, name, id, second)
		}
	}
}

// chapterAction takes a press of a button on the page of one chapter.
func (a *App) chapterAction(v *volume, name, id string, second bool) {
	j := &a.journal
	sure := func() {
		j.sure = name + " " + id
		a.fillJournal()
	}
	var x *stored
	var p *paper
	for _, y := range v.sittings {
		if y.ID == id {
			x = y
		}
	}
	for _, q := range v.papers {
		if q.ID == id {
			p = q
		}
	}
	switch name {
	case "save-chapter":
		a.exportJournal([]*volume{v}, false)
	case "rename":
		a.rename(v, second, sure)
	case "merge":
		if other := a.volume(j.same); other != nil && other.ID != v.ID {
			a.merge(v, other, v.screenMode)
		} else {
			a.say(words.Say("Choose the other screen first."))
		}
	case "apart":
		a.takeApart(v, id)
	case "delete-chapter":
		if !second {
			sure()
			return
		}
		a.deleteChapter(v)
	case "move":
		j.moving = id
		a.fillJournal()
	case "move-sitting", "move-paper":
		what, to, _ := strings.Cut(id, " ")
		if t := a.volume(to); t != nil {
			a.move(v, what, t.chapter)
		}
	case "move-new":
		a.move(v, id, nil)
	case "sitting-open":
		if x != nil {
			a.open(x.record, x)
		}
	case "sitting-save":
		if x != nil {
			a.saveSitting(x)
		}
	case "sitting-compare":
		a.compareBaseline(v, x)
	case "sitting-baseline":
		if x != nil {
			c := v.copied()
			c.Baseline = x.ID
			a.change(words.Say("The others are held against that sitting now."), a.row(c))
		}
	case "sitting-delete":
		switch {
		case x == nil:
		case !second:
			sure()
		default:
			a.free([]*stored{x}, func() { a.change(words.Say("The sitting is deleted."), x.deletion()...) })
		}
	case "paper-save":
		if p != nil {
			a.paperFile(p, func(b []byte, err error) {
				if err != nil {
					a.say(words.Say("The file %s cannot be saved: %s.", p.Name, words.Found(err.Error())))
					return
				}
				a.host.Desk.Save(p.Name, "application/octet-stream", b)
			})
		}
	case "paper-delete":
		switch {
		case p == nil:
		case !second:
			sure()
		default:
			a.change(words.Say("It is deleted."), Row{Drawer: Papers, Key: p.ID}, Row{Drawer: Files, Key: p.ID})
		}
	}
}

// row is a chapter as it is to be written.
func (a *App) row(c *chapter) Row {
	c.Version, c.Changed = chapters, a.host.Clock.Wall().UnixMilli()
	return Row{Screens, c.ID, encode(c)}
}

// rename gives a chapter another name. Its old ones go on counting as it. Where another chapter has that name the two are one from then on, if that is confirmed.
func (a *App) rename(v *volume, second bool, sure func()) {
	n := screenMode{a.form.screen, a.form.mode}
	if n.Screen == "" {
		a.say(words.Say("A screen needs a name."))
		a.host.Page.Amiss("screen")
		return
	}
	if n == v.screenMode {
		return
	}
	for _, o := range a.volumes() {
		if o.ID == v.ID || !o.named(n) {
			continue
		}
		if !second {
			sure()
			a.say(words.Say("There is a screen of that name already: %s. Press Rename once more if it is the same one: the two are then merged.", o.called()))
			return
		}
		a.merge(v, o, n)
		return
	}
	c := v.copied()
	c.screenMode = n
	c.add(n)
	a.change(words.Say("Renamed. Sittings under the old name go on counting as this screen."), a.row(c))
}

// merge makes one chapter of two: all names of both count as it from then on.
func (a *App) merge(v, other *volume, n screenMode) {
	c := v.copied()
	c.screenMode = n
	for _, m := range append(slices.Clone(other.Counts), n) {
		c.add(m)
	}
	c.Sittings, c.Papers = join(c.Sittings, other.Sittings), join(c.Papers, other.Papers)
	if c.Baseline == "" {
		c.Baseline = other.Baseline
	}
	if c.Interval == 0 {
		c.Interval = other.Interval
	}
	rows := []Row{a.row(c)}
	if other.kept {
		rows = append(rows, Row{Drawer: Screens, Key: other.ID})
	}
	a.journal.open = c.ID
	a.change(words.Say("They are one screen now. Under \"Counts as this screen\" they can be taken apart again."), rows...)
}

// takeApart lets a name not count as a chapter any more: what bears it is a screen of its own again.
func (a *App) takeApart(v *volume, at string) {
	i, err := strconv.Atoi(at)
	if err != nil || i < 0 || i >= len(v.Counts) || len(v.Counts) < 2 {
		return
	}
	c := v.copied()
	n := c.Counts[i]
	c.Counts = slices.Delete(c.Counts, i, i+1)
	if c.screenMode.key() == n.key() { // it is not shown under a name that does not count as it
		c.screenMode = c.Counts[0]
	}
	a.change(words.Say("%s is a screen of its own again.", n.called()), a.row(c))
}

// move puts a sitting or a paper into another chapter by hand; nil is one of its own.
func (a *App) move(v *volume, id string, to *chapter) {
	if to == nil {
		to = &chapter{ID: encoded(chance(12)), screenMode: screenMode{v.Screen, line(v.Mode + " 2")}}
		for n := 3; a.taken(to.screenMode); n++ {
			to.Mode = line(v.Mode + " " + strconv.Itoa(n))
		}
		to.Counts = []screenMode{to.screenMode}
	}
	to = to.copied()
	var rows []Row
	for _, o := range a.volumes() { // wherever it was put by hand before
		if o.ID == to.ID || !slices.Contains(o.Sittings, id) && !slices.Contains(o.Papers, id) {
			continue
		}
		c := o.copied()
		c.Sittings, c.Papers = less(c.Sittings, id), less(c.Papers, id)
		rows = append(rows, a.row(c))
	}
	if slices.ContainsFunc(v.papers, func(p *paper) bool { return p.ID == id }) {
		to.Papers = join(to.Papers, []string{id})
	} else {
		to.Sittings = join(to.Sittings, []string{id})
	}
	a.change(words.Say("It belongs to %s now.", to.called()), append(rows, a.row(to))...)
}

// taken tells whether some chapter bears or counts a name.
func (a *App) taken(n screenMode) bool {
	return slices.ContainsFunc(a.volumes(), func(v *volume) bool { return v.named(n) })
}

// deleteChapter deletes a screen in one mode with its sittings that are over, its profiles and readings.
func (a *App) deleteChapter(v *volume) {
	var list []*stored
	var rows []Row
	left := 0
	for _, x := range v.sittings {
		if x.State == open {
			left++
			continue
		}
		list = append(list, x)
		rows = append(rows, x.deletion()...)
	}
	for _, p := range v.papers {
		rows = append(rows, Row{Drawer: Papers, Key: p.ID}, Row{Drawer: Files, Key: p.ID})
	}
	said := words.Say("%s is deleted.", v.called())
	if left > 0 {
		said = words.Some(left, "%[2]s is deleted but for %[1]d sitting that is not finished.", "%[2]s is deleted but for %[1]d sittings that are not finished.", v.called())
	} else if v.kept {
		rows = append(rows, Row{Drawer: Screens, Key: v.ID})
	}
	a.free(list, func() { a.change(said, rows...) })
}

// deletion is the rows that delete a sitting.
func (s *stored) deletion() []Row {
	rows := []Row{{Drawer: Sittings, Key: s.ID}, {Drawer: Records, Key: s.ID}}
	for i := range s.log {
		rows = append(rows, Row{Drawer: Judgements, Key: s.ID + "/" + place(i)})
	}
	for _, r := range s.raw {
		rows = append(rows, Row{Drawer: r.Drawer, Key: r.Key})
	}
	return rows
}

// saveSitting hands a sitting to the person as a file.
func (a *App) saveSitting(x *stored) {
	c := x.told()
	if len(x.record) > 0 {
		a.host.Desk.Save(fileName(c.Screen, x.ended(), "record", "json"), "application/json", x.record)
		return
	}
	a.host.Desk.Save(fileName(c.Screen, x.ended(), "answers", "json"), "application/json", a.answers(x))
}

// compareBaseline lays a sitting beside the one that the others are held against.
func (a *App) compareBaseline(v *volume, x *stored) {
	list := v.usable()
	if x == nil || len(list) == 0 || x.read() == nil {
		return
	}
	b := list[v.baseline(list)]
	a.shown = &shown{record: *x.read(), bytes: x.record, of: x}
	a.compare(*b.read())
}

// journalInput takes a change of a form field on the pages of the journal.
func (a *App) journalInput(name, value string) {
	j := &a.journal
	v := a.volume(j.open)
	if v == nil {
		return
	}
	switch name {
	case "screen", "mode":
		a.form.set(name, value)
		j.sure = ""
		a.host.Page.Amiss("")
	case "same":
		j.same = value
	case "interval":
		if j.busy { // arrow keys choose faster than a browser writes
			j.then = func() { a.journalInput(name, value) }
			return
		}
		n, err := strconv.Atoi(value)
		if err != nil || n < never || n == 0 || n > mostInterval {
			return
		}
		c := v.copied()
		c.Interval = n
		said := words.Say("It will not be due by itself.")
		if n != never {
			said = words.Say("%s a look is due, from now on.", every(n))
		}
		a.change(said, a.row(c))
	}
}

// every is an interval of days in words.
func every(n int) string {
	switch {
	case n == 7:
		return words.Say("Every week")
	case n == 91:
		return words.Say("Every quarter")
	case n%7 == 0 && n < 60:
		return words.Say("Every %d weeks", n/7)
	}
	return words.Say("Every %d days", n)
}
