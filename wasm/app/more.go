package app

import (
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// moreMinutes is about how long a sitting goes on that is taken further.
const moreMinutes = 4

// more offers to go on with the sitting of a report; the zero More where it is not one kept here, ended on another day, or is as sure as it can be.
func (a *App) more(r *shown) pages.More {
	if r.of == nil || r.of.State != finished || r.of.refused() != "" || r.of.Plan.Fixed || len(r.record.Void) > 0 || !sameDay(a.host.Clock.Wall(), time.UnixMilli(r.record.Conditions.Ended)) {
		return pages.More{}
	}
	var open []string
	if r.run != nil {
		for _, x := range r.run.Open() {
			open = append(open, words.Found(string(x)))
		}
	} else {
		// To work the sitting out again takes seconds. What the record calls unsure or did not come to is near enough for an offer.
		stopped := r.of.Done < r.of.Total
		aim, _ := screen.AimByID(r.of.Plan.Aim)
		for _, f := range r.record.Findings {
			_, needed := check.Strictest(f.Aspect, aim)
			_, skipped := r.of.Plan.Skip[f.Aspect]
			if needed && f.Quantity != "" && !check.Settled(f.Within) || stopped && needed && !skipped && f.Verdict == report.NotChecked {
				open = append(open, words.Found(string(f.Aspect)))
			}
		}
	}
	if len(open) == 0 {
		return pages.More{}
	}
	return pages.More{Minutes: moreMinutes, Settles: words.Say("Not sure enough yet: %s.", listed(open))}
}

// goOn takes the sitting of the report on the page further.
func (a *App) goOn() {
	r := a.shown
	if a.more(r).Minutes == 0 {
		return
	}
	if t := a.tight(); t != "" {
		a.say(t)
		return
	}
	if !a.held[r.of.ID] {
		a.wanted = r.of.ID
		a.host.Locks.Take(r.of.ID)
		return
	}
	a.wanted = ""
	if r.run == nil {
		run, err := check.Resume(r.of.Plan, r.of.log)
		if err != nil {
			a.say(words.Say("It cannot be continued: %s.", words.Found(err.Error())))
			return
		}
		run.Stop()
		r.run = run
	}
	if !r.run.Further() {
		a.say(words.Say("More questions would not settle more."))
		return
	}
	x := r.of
	x.Plan = r.run.Plan()
	a.sitting = &sitting{stored: x, run: r.run, told: map[check.Aspect]bool{}}
	a.sitting.note("Taken further after the report was read.")
	a.shown = nil
	a.next()
	if a.sitting != nil {
		a.keep(open)
	}
}

// listed joins words as in a sentence.
func listed(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return words.Say("%s and %s", strings.Join(list[:len(list)-1], ", "), list[len(list)-1])
}
