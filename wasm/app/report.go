package app

import (
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// shown is a report on the page.
type shown struct {
	record report.Record
	bytes  []byte         // as its maker wrote them
	own    bool           // of this visit
	of     *stored        // the sitting on the shelf that it is of; nil for a file
	run    *check.Sitting // nil where it was not worked out in this visit
	letter *letter        // the answer on the desk that it came in; nil for any other
}

// show puts a report on the page.
func (a *App) show(r *shown) { a.put(r, a.reportPage(r, func() {})) }

// reportPage is the page of a report, for put. It calls pause now and then.
func (a *App) reportPage(r *shown, pause func()) string {
	v := view(r.record, a.host.Clock.Wall().Location())
	pause()
	v.Record = string(r.bytes)
	v.More = a.more(r)
	pause()
	v.Earlier = a.earlier(r)
	pause()
	v.Theirs = r.letter != nil
	switch {
	case r.letter != nil:
		v.Kept = ""
	case !r.own:
		v.Kept = words.Say("Opened from what was saved before.")
	case a.shelf.err != nil:
		v.Kept = words.Say("It is not kept in this browser, as storing fails: save the record.")
	case a.shelf.lasting:
		v.Kept = words.Say("Kept in this browser, which promised not to clear it away.")
	default:
		v.Kept = words.Say("Kept in this browser until its data are cleared. Save the record to keep it for longer.")
	}
	return rendered(pausing(pages.ReportPage(v), pause))
}

// put puts a report on the page.
func (a *App) put(r *shown, page string) {
	a.shown, a.choosing = r, false
	a.enter(Report, false)
	a.host.Page.Fill("stage", page)
	a.fill("bar", none)
	a.tell("message", a.shelf.trouble())
	if Whole {
		a.fillSending()
	}
	switch {
	case a.browser.Page == "journal":
		a.fill("from", pages.Buttons([]pages.Button{{Action: "journal", Label: words.Say("Back to the journal")}}))
	case r.of != nil && a.asker(r) == nil && a.browser.Page == "check":
		a.fill("from", pages.JournalLink(screenMode{r.record.Conditions.Screen, r.record.Conditions.Mode}.at("/journal")))
	}
}

// open shows a record from bytes, of a sitting on the shelf if x is not nil, or says why it cannot; then nothing else changes.
func (a *App) open(b []byte, x *stored) {
	r, err := report.Read(b)
	if err != nil {
		a.say(words.Say("It cannot be opened: %s.", words.Found(strings.TrimPrefix(err.Error(), "report: "))))
		return
	}
	a.show(&shown{record: r, bytes: b, of: x})
}

// Opened takes a file that the person chose in a form field, or dropped, which has no field.
func (a *App) Opened(field, name string, b []byte, err error) {
	switch a.stage {
	case Resume, Prepare, Report, Compare, Asked:
	case Verify:
		if Whole {
			a.proveFile(name, b, err)
		}
		return
	case After:
		if Whole {
			a.afterFile(field, name, b, err)
		}
		return
	case Journal:
		if Whole {
			a.journalFile(name, b, err)
		}
		return
	case MyDesk:
		if Whole && err == nil {
			a.broughtFile(name, b)
			return
		}
	default:
		a.host.Page.Say(words.Say("A file can be opened before or after a sitting."))
		return
	}
	if a.lines {
		return
	}
	if err != nil {
		a.say(words.Say("The file %s cannot be read: %s.", line(name), words.Found(err.Error())))
		return
	}
	if field == "compare" && a.stage == Report {
		a.compareWith(b)
		return
	}
	a.open(b, nil)
}

// say shows one line on a page that has a place for it.
func (a *App) say(text string) {
	a.tell("message", text)
	a.host.Page.Say(text)
}

func (a *App) reportAction(name, id string) {
	if Whole && a.sendingAction(name) {
		return
	}
	r := a.shown
	c := r.record.Conditions
	switch name {
	case "desk":
		if Whole {
			a.openDesk()
		}
	case "journal":
		if Whole {
			a.showJournal()
		}
	case "copy", "share":
		a.linkAction(name, id, words.Say("A sealed report of a check"))
	case "save-json":
		a.host.Desk.Save(fileName(c.Screen, c.Ended, "record", "json"), "application/json", r.bytes)
	case "save-csv":
		a.host.Desk.Save(fileName(c.Screen, c.Ended, "answers", "csv"), "text/csv;charset=utf-8", r.record.CSV())
	case "print":
		a.host.Desk.Print()
	case "again":
		if a.browser.Page == "journal" {
			a.host.Links.Open(a.browser.Origin + screenMode{c.Screen, c.Mode}.at("/check"))
			return
		}
		a.prepare()
	case "more":
		a.goOn()
	case "compare":
		if x := a.shelf.find(id); x != nil {
			a.compareWith(x.record)
		} else if l := a.mail.letter(id); l != nil {
			a.compareWith([]byte(l.Record))
		}
	}
}

// fileName names a file after the screen and the day, in letters that every system takes.
func fileName(screen string, ms int64, what, ext string) string {
	var b strings.Builder
	b.WriteString("plumb")
	for _, w := range append(strings.Fields(screen), time.UnixMilli(ms).UTC().Format("2006-01-02-1504"), what) {
		w = strings.Map(func(r rune) rune {
			switch {
			case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '-':
				return r
			case r >= 'A' && r <= 'Z':
				return r + 'a' - 'A'
			}
			return -1
		}, w)
		if w != "" {
			b.WriteString("-" + w)
		}
	}
	return b.String() + "." + ext
}
