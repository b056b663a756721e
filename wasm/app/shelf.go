package app

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// What may be wrong with a shelf. A Shelf wraps one of these where it knows; any other error is shown as it is.
var (
	ErrFull    = errors.New("the browser's storage is full")
	ErrDenied  = errors.New("the browser does not let this page store anything, as in a private window")
	ErrBlocked = errors.New("another tab holds the storage; close other tabs of this site")
	ErrCorrupt = errors.New("the browser's storage is damaged")
	ErrNewer   = errors.New("the storage was laid out by a newer version of this program; load the page again")
)

// Drawers of the shelf.
const (
	Sittings   = "sittings"   // by id: a heading
	Judgements = "judgements" // by id, "/" and the place in the log: a check.Judgement
	Records    = "records"    // by id: the bytes of a report.Record, as they were made
	Screens    = "screens"    // by id: a screen of the journal
	Papers     = "papers"     // by id: a profile, or readings
	Files      = "files"      // by id of a paper: its file
)

// headings is the revision of the rows below.
const headings = 1

// What became of a sitting.
const (
	open     = "open"
	aside    = "aside" // unfinished, and not to be asked about
	finished = "finished"
)

// A heading is what is kept about a sitting beside its judgements.
type heading struct {
	Version    int               `json:"version"`
	ID         string            `json:"id"`
	Program    string            `json:"program"`
	State      string            `json:"state"`
	Plan       check.Plan        `json:"plan"`
	Conditions report.Conditions `json:"conditions"`
	Touched    int64             `json:"touched"` // ms since 1970 UTC
	Done       int               `json:"done"`
	Total      int               `json:"total"`
	Request    string            `json:"request,omitempty"` // what it answers; see Asks
}

// A stored sitting is what the shelf held when it was read, kept up to date since.
type stored struct {
	heading
	log    []check.Judgement
	record []byte
	broken string // why it cannot be used, in words; empty when it can
	raw    []Row  // all its rows, when it is broken

	reading *reading // of the record, once it was read
}

// shelf is the program's side of the shelf: what is on it, and what waits to be written.
type shelf struct {
	reading  bool
	let      string                           // the request whose decisions another tab let go of, and which are being read again; empty: none
	sittings []*stored                        // latest first
	sure     string                           // id of the sitting whose deletion waits for a second press
	queue    []Row                            // not yet written, in order
	flying   int                              // how many of the queue are being written
	first    []pledge                         // what waits for rows to be written, in order
	apart    []attempt                        // waits for the queue, in order
	alone    bool                             // the first of apart is being written
	fetching map[string][]func([]byte, error) // by drawer, "/" and key: what waits for a row
	err      error                            // of the last write of the queue, or read
	asked    bool                             // whether the browser was asked to keep the rows
	lasting  bool                             // and agreed
}

// A pledge is to be kept once so many rows of the queue are written, or cannot be.
type pledge struct {
	rows int
	then func()
}

// An attempt is rows that are written together, all or none, with nothing else and once.
type attempt struct {
	rows []Row
	then func(error)
}

// Shelved takes what is on the shelf.
func (a *App) Shelved(rows []Row, err error) {
	a.shelf.reading = false
	if Whole && a.shelf.let != "" && a.stage != "" {
		a.takeOver(rows, err)
		return
	}
	if Whole && a.stage == MyDesk {
		// What was changed meanwhile is newer than what was read.
		if err == nil && len(a.shelf.queue) == 0 && a.shelf.err == nil {
			a.take(rows)
			a.fillRequests()
			a.fillKeeping()
			a.watch()
		}
		return
	}
	if Whole && a.stage == Journal {
		a.rereadJournal(rows, err)
		return
	}
	// What runs holds on to what was read before.
	if a.stage != "" && a.stage != Resume && (a.stage != Prepare || a.lines) {
		return
	}
	if err != nil {
		a.shelf.err = err
	}
	a.shelf.sittings = sorted(rows)
	a.journal.book = bookOf(rows)
	if a.stage == "" {
		if !Whole && carries(rows) {
			a.host.Links.Whole()
			return
		}
		if Whole {
			a.take(rows)
			if a.wholePage() {
				return
			}
		}
	}
	if x := a.shelf.find(a.wanted); x != nil && a.held[x.ID] {
		a.carryOn(x)
		return
	}
	if a.stage == Prepare { // the form is not to be disturbed
		a.fillKept()
		return
	}
	if slices.ContainsFunc(a.shelf.sittings, func(s *stored) bool { return s.State == open }) {
		a.resume()
	} else {
		a.prepare()
	}
}

// carries tells whether rows tell of more than checks: of what was asked, of answers, or of decisions. That needs the whole program.
func carries(rows []Row) bool {
	return slices.ContainsFunc(rows, func(r Row) bool { return travelling(r.Drawer) })
}

// travelling tells whether a drawer holds what travels, rather than sittings and screens, whose rows have versions of their own.
func travelling(drawer string) bool {
	switch drawer {
	case Requests, Letters, Asks, Replies, Decisions:
		return true
	}
	return false
}

// sorted makes sittings of rows.
func sorted(rows []Row) []*stored {
	byID := map[string]*stored{}
	var list []*stored
	of := func(id string) *stored {
		s := byID[id]
		if s == nil {
			s = &stored{heading: heading{ID: id, State: open}}
			byID[id] = s
			list = append(list, s)
		}
		return s
	}
	for _, r := range rows {
		if r.Drawer != Sittings && r.Drawer != Judgements && r.Drawer != Records {
			continue
		}
		id, n, _ := strings.Cut(r.Key, "/")
		s := of(id)
		s.raw = append(s.raw, r)
		switch r.Drawer {
		case Sittings:
			var h heading
			switch err := json.Unmarshal(r.Value, &h); {
			case err != nil || h.ID != id:
				s.broken = words.Say("What was kept of this sitting is damaged, so it cannot be continued.")
			case h.Version > headings:
				s.heading = h
				s.broken = words.Say("This sitting was made by a newer version of this program. Load the page again to get that version.")
			default:
				s.heading = h
			}
		case Judgements:
			var j check.Judgement
			if err := json.Unmarshal(r.Value, &j); err != nil || n != place(j.N) || j.N != len(s.log) {
				s.broken = words.Say("Some of the answers kept of this sitting are damaged or missing, so it cannot be continued.")
				break
			}
			s.log = append(s.log, j)
		case Records:
			s.record = r.Value
		}
	}
	for _, s := range list {
		if s.Version == 0 && s.broken == "" {
			s.broken = words.Say("What was kept of this sitting is incomplete, so it cannot be continued.")
		}
		if s.broken == "" {
			s.raw = nil
		}
	}
	latestFirst(list)
	return list
}

// latestFirst puts sittings in their order on the shelf.
func latestFirst(list []*stored) {
	slices.SortStableFunc(list, func(x, y *stored) int { return cmp.Compare(y.Touched, x.Touched) })
}

// place is the part of a judgement's key that sorts as its number does.
func place(n int) string { return fmt.Sprintf("%06d", n) }

// write queues rows.
func (a *App) write(rows ...Row) {
	a.shelf.queue = append(a.shelf.queue, rows...)
	a.flush()
}

// keepFirst queues rows, and calls then once they are written: or cannot be, for what is not kept may still be sent.
func (a *App) keepFirst(then func(), rows ...Row) {
	a.shelf.first = append(a.shelf.first, pledge{len(a.shelf.queue) + len(rows), then})
	a.write(rows...)
}

// redeem keeps the pledges for the first n rows of the queue.
func (s *shelf) redeem(n int) (due []func()) {
	for i := range s.first {
		s.first[i].rows -= n
	}
	for len(s.first) > 0 && s.first[0].rows <= 0 {
		due = append(due, s.first[0].then)
		s.first = s.first[1:]
	}
	return due
}

// attempt writes rows together, all or none, apart from what is queued: when they cannot be written they are not tried again. Then is told, once.
func (a *App) attempt(then func(error), rows ...Row) {
	a.shelf.apart = append(a.shelf.apart, attempt{rows, then})
	a.flush()
}

// flush writes all that waits, unless a write is on its way.
func (a *App) flush() {
	s := &a.shelf
	switch {
	case s.flying > 0 || s.alone:
	case len(s.queue) > 0:
		s.flying = len(s.queue)
		a.host.Shelf.Write(s.queue[:s.flying:s.flying])
	default:
		a.flushApart()
	}
}

// flushApart writes the next attempt. No write is on its way.
func (a *App) flushApart() {
	if s := &a.shelf; len(s.apart) > 0 {
		s.alone = true
		a.host.Shelf.Write(s.apart[0].rows)
	}
}

// Stored takes the outcome of a write. What failed stays queued and is tried again with the next answer, or when asked to.
func (a *App) Stored(err error) {
	s := &a.shelf
	if s.alone {
		tried := s.apart[0]
		s.alone, s.apart = false, s.apart[1:]
		a.flush() // what was deleted may have made room for what is queued
		tried.then(err)
		return
	}
	n := s.flying
	s.flying = 0
	was := s.trouble()
	s.err = err
	var due []func()
	if err == nil {
		s.queue = s.queue[n:]
		due = s.redeem(n)
		a.flush()
	} else {
		due = s.redeem(len(s.queue))
		a.flushApart() // which may be what makes room
	}
	if s.trouble() != was {
		a.storageChanged()
	}
	for _, f := range due {
		f()
	}
}

// Persisted takes the browser's answer to the wish to keep the rows.
func (a *App) Persisted(granted bool) { a.shelf.lasting = granted }

// storageChanged shows that storing fails, or works again.
func (a *App) storageChanged() {
	switch a.stage {
	case Prepare:
		if !a.lines {
			a.tell("storage", a.shelf.trouble())
		}
	case Sitting, Intro:
		a.fillBar()
	case Paused:
		a.fillPaused()
	case Resume, Report:
		a.tell("message", a.shelf.trouble())
	case Viewing:
		if Whole {
			a.viewStorage()
		}
	case Asking, Proofing, Journal:
		a.tell("storage", a.shelf.lost())
	case Made:
		if Whole {
			a.fillMade()
		}
	case MyDesk:
		if Whole {
			a.tell("storage", a.shelf.lost())
			a.fillKeeping()
		}
	}
	a.host.Page.Say(a.shelf.trouble())
}

// trouble is what is wrong with the storage, in one line; empty when nothing is.
func (s *shelf) trouble() string {
	if s.err == nil {
		return ""
	}
	return words.Say("Answers are not being stored: %s. They stay in this page until it is closed.", words.Found(s.err.Error()))
}

// lost is what is wrong with the storage where keys are at stake, in one line; empty when nothing is.
func (s *shelf) lost() string {
	if s.err == nil {
		return ""
	}
	return words.Say("Nothing is being stored: %s. Requests, answers and keys stay in this page until it is closed: save the desk as a file.", words.Found(s.err.Error()))
}

func (s *shelf) find(id string) *stored {
	for _, x := range s.sittings {
		if x.ID == id {
			return x
		}
	}
	return nil
}

// refused is why a sitting cannot be continued; empty when it can.
func (s *stored) refused() string {
	switch {
	case s.broken != "":
		return s.broken
	case s.Plan.Battery != check.Battery:
		return words.Say("It was begun with revision %d of the checks and this program has revision %d, so it cannot be continued: answers to different questions do not add up.", s.Plan.Battery, check.Battery)
	}
	return ""
}

// kept lists finished sittings, and those set aside. Times are told in the zone of now.
func (s *shelf) kept(now time.Time) []pages.Item {
	var list []pages.Item
	for _, x := range s.sittings {
		if x.State == open {
			continue
		}
		when := day(time.UnixMilli(x.Touched).In(now.Location()))
		i := pages.Item{Title: screenMode{x.Conditions.Screen, x.Conditions.Mode}.called()}
		if x.State == finished {
			i.Text = []string{when}
			i.Buttons = []pages.Button{{Action: "open", ID: x.ID, Label: words.Say("Open")}, {Action: "save", ID: x.ID, Label: words.Say("Save")}}
		} else {
			i.Text = []string{words.Say("%s, unfinished, %s", when, x.far())}
			if x.refused() == "" {
				i.Buttons = append(i.Buttons, pages.Button{Action: "continue", ID: x.ID, Label: words.Say("Continue it")})
			}
			i.Buttons = append(i.Buttons, pages.Button{Action: "answers", ID: x.ID, Label: words.Say("Save what was answered")})
			i.Buttons = append(i.Buttons, x.earlier()...)
		}
		i.Buttons = append(i.Buttons, s.remove(x)...)
		list = append(list, i)
	}
	return list
}

// earlier opens the report that a sitting had before it was taken further.
func (s *stored) earlier() []pages.Button {
	if len(s.record) == 0 {
		return nil
	}
	return []pages.Button{{Action: "open", ID: s.ID, Label: words.Say("Open the report it had")}}
}

// remove is the button that deletes a sitting at its second press.
func (s *shelf) remove(x *stored) []pages.Button {
	if s.sure == x.ID {
		return []pages.Button{{Action: "delete", ID: x.ID, Label: words.Say("Delete it for good")}, {Action: "spare", ID: x.ID, Label: words.Say("Keep it")}}
	}
	return []pages.Button{{Action: "delete", ID: x.ID, Label: words.Say("Delete")}}
}

// far is how far a sitting was, in words.
func (s *stored) far() string {
	if s.broken != "" {
		return words.Say("%d answers", len(s.log))
	}
	if s.Total == 0 {
		return words.Say("%d answered", s.Done)
	}
	return words.Say("%d of about %d answered", s.Done, s.Total)
}

// keep queues what has changed of the running sitting since the last time.
func (a *App) keep(state string) {
	s := a.sitting
	x := s.stored
	var rows []Row
	for i, j := range s.run.Log() {
		if i < len(x.log) && x.log[i] == j {
			continue
		}
		if i < len(x.log) {
			x.log[i] = j
		} else {
			x.log = append(x.log, j)
		}
		rows = append(rows, Row{Judgements, x.ID + "/" + place(i), encode(j)})
	}
	x.State, x.Plan = state, s.run.Plan()
	x.Touched = a.host.Clock.Wall().UnixMilli()
	x.Done, x.Total = s.done(), s.now.Total
	rows = append(rows, Row{Sittings, x.ID, encode(x.heading)})
	if state == finished {
		rows = append(rows, Row{Records, x.ID, x.record})
	}
	a.write(rows...)
}

// retitle queues a heading.
func (a *App) retitle(x *stored, state string) {
	x.State = state
	if x.broken == "" {
		a.write(Row{Sittings, x.ID, encode(x.heading)})
	}
}

// forget deletes a sitting and all its rows.
func (a *App) forget(x *stored) {
	rows := []Row{{Drawer: Sittings, Key: x.ID}, {Drawer: Records, Key: x.ID}}
	for i := range x.log {
		rows = append(rows, Row{Drawer: Judgements, Key: x.ID + "/" + place(i)})
	}
	for _, r := range x.raw {
		rows = append(rows, Row{Drawer: r.Drawer, Key: r.Key})
	}
	a.shelf.sittings = slices.DeleteFunc(a.shelf.sittings, func(y *stored) bool { return x == y })
	a.release(x.ID)
	a.write(rows...)
}

// answers is what was answered in a sitting from the shelf, as a file that can be kept: a record if the program can make one, without findings if
// the checks were others, and else the rows as they were found.
func (a *App) answers(x *stored) []byte {
	if x.broken != "" {
		return found(x.raw)
	}
	if run, err := check.Resume(x.Plan, x.log); err == nil {
		return report.Of(run, x.Conditions, x.Program).Marshal()
	}
	r := report.Record{Version: report.Version, Program: x.Program, Plan: x.Plan, Conditions: x.Conditions, Judgements: x.log}
	for _, aspect := range check.Aspects {
		r.Findings = append(r.Findings, report.Finding{Aspect: aspect, Seen: "Not worked out.", Why: "The answers were given to another revision of the checks."})
	}
	return r.Marshal()
}

// found is rows as one JSON object, each value as the text it was, sound or not.
func found(list []Row) []byte {
	type row struct {
		Drawer string `json:"drawer"`
		Key    string `json:"key"`
		Value  string `json:"value"`
	}
	var all struct {
		Rows []row `json:"rows"`
	}
	for _, r := range list {
		all.Rows = append(all.Rows, row{r.Drawer, r.Key, string(r.Value)})
	}
	return encode(all)
}

// encode is v as JSON; v is one of our own types, for which that cannot fail.
func encode(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic("app: a row cannot be written as JSON: " + err.Error())
	}
	return b
}
