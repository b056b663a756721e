package app

import (
	"fmt"
	"strconv"
	"time"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// seenTools shows the words under the easel.
func (a *App) seenTools() {
	if a.seen != nil {
		a.refill("tools", pages.EaselBar(a.seenBar()))
		t := a.seenBar()
		t.Divider = a.seen.split // it is not drawn anew while it is moved
		a.refill("divider", pages.DividerOf(t))
	}
}

func (a *App) seenBar() pages.EaselTools {
	s, e := a.seen, &a.easel
	t := pages.EaselTools{Picture: s.asked().Name, At: s.picture + 1, Of: len(s.verdict.of.asked.Pictures), Scale: e.scaled(), Fit: e.fitted, Full: e.scale == 1 && !e.fitted, Ends: [2]string{words.Say("As meant"), words.Say("As they saw it")}, Divider: round(1000 * e.divider)}
	if len(e.pictures) > 1 {
		for _, w := range []struct{ id, label string }{{wayDivider, words.Say("Divider")}, {wayBeside, words.Say("Side by side")}, {waySwap, words.Say("In place")}, {wayOne, words.Say("As meant alone")}} {
			t.Ways = append(t.Ways, pages.Option{Value: w.id, Label: w.label, Chosen: e.way == w.id})
		}
		t.Front = e.pictures[e.front].Name
	}
	return t
}

// fillSeen shows the page.
func (a *App) fillSeen() {
	a.fill("stage", pages.SeenProofPage(a.seenView()))
	a.fill("bar", none)
	a.filled = nil
}

// fillSeenParts shows what changed on it.
func (a *App) fillSeenParts() {
	v := a.seenView()
	a.refill("loading", pages.LoadingOf(v.Loading))
	a.refill("failed", pages.FailedOf(v.Failed))
	a.refill("pictures", pages.ViewTabs(v.Pictures))
	a.refill("hides", pages.HidesOf(v.Hides))
	a.refill("notes", pages.ViewNotesOf(v.Notes))
	a.seenTools()
}

// unmodelled is what a view of somebody else's screen leaves out.
func unmodelled() []string {
	return []string{
		words.Say("Their white: how warm or cold it is. Eyes adapt to it, and a check by eye cannot tell."),
		words.Say("Brightness and contrast: how light their white was, and how dark their black."),
		words.Say("The room: daylight or lamps on the screen, and around it."),
		words.Say("How even their screen is: the middle of it is shown everywhere."),
		words.Say("Colours beyond sRGB, and steps finer than the check could tell apart."),
	}
}

func (a *App) seenView() pages.AsSeen {
	s := a.seen
	zone := a.host.Clock.Wall().Location()
	rec := s.verdict.record
	v := pages.AsSeen{Title: words.Say("As %s saw it", rec.Name), Tools: a.seenBar(), Notes: a.seenNotes(), Hides: s.hides()}
	v.Lead = fmt.Sprintf("%s, %s, %s.", s.verdict.of.asked.Title, onScreen(rec), signedAt(rec, zone))
	for i, p := range s.verdict.of.asked.Pictures {
		j := rec.Pictures[i]
		v.Pictures = append(v.Pictures, pages.ViewTab{ID: strconv.Itoa(i), Name: p.Name, Decision: string(j.Decision), Notes: len(j.Notes), Current: i == s.picture})
	}
	v.Buttons = []pages.Button{{Action: "desk", Label: words.Say("Back to my desk")}}
	if a.alive(s.request) && !s.request.unsent() {
		v.Buttons = append(v.Buttons, pages.Button{Action: "round", Label: words.Say("Send a new version")})
	}
	switch {
	case s.model == nil && !rec.Screen.Checked():
		v.Against = words.Say("%s looked at it on a screen that was not checked, so nobody can tell how it looked there. This is the picture as it was sent.", rec.Name)
	case s.model == nil:
		v.Against = words.Say("The record came without a model of the screen, so how it looked there cannot be shown. This is the picture as it was sent.")
	default:
		v.Missing = unmodelled()
		v.Against = words.Say("The picture as it was meant, and as their screen showed it: worked out from their check, relative to its own white.") + " "
		if s.own != nil {
			v.Against += words.Say("Their side is corrected for the screen here by your check of %s on %s, as far as this screen can show it. If this is another screen, choose so.", quotedScreen(s.own), day(time.UnixMilli(s.own.Touched).In(zone)))
			v.Buttons = append(v.Buttons, pages.Button{Action: "own", Label: words.Say("Show it uncorrected")})
		} else {
			v.Against += words.Say("The screen here is taken as one with the sRGB curve and no fault, because no check of it is used.")
		}
		for _, x := range s.checks {
			if x != s.own {
				v.Buttons = append(v.Buttons, pages.Button{Action: "own", ID: x.ID, Label: words.Say("Correct for %s, checked %s", quotedScreen(x), day(time.UnixMilli(x.Touched).In(zone)))})
			}
		}
	}
	switch s.stage {
	case seenFetching:
		v.Loading = pages.Progress{Label: words.Say("The picture comes from %s", a.server()), Share: s.share}
	case seenMaking:
		v.Loading = pages.Progress{Label: words.Say("Working out how it looked there"), Share: s.share}
	case seenFailed:
		v.Failed = pages.Failed{Title: words.Say("The picture cannot be shown"), Text: []string{s.trouble, words.Say("The record and the notes are here all the same.")}, Buttons: []pages.Button{{Action: "retry", Label: words.Say("Try again"), Main: true}}}
	case seenPlain:
		v.Failed = pages.Failed{Title: words.Say("Only the picture as it was meant is shown"), Text: []string{s.trouble}, Buttons: []pages.Button{{Action: "retry", Label: words.Say("Try again"), Main: true}}}
	}
	v.Record = recordView(rec, s.letter.Decision, zone)
	v.Record.State, v.Record.Says = pages.Stands, words.Say("Both signatures are good, it is about this request, and the report of the screen came with it.")
	if !rec.Screen.Checked() {
		v.Record.Says = words.Say("Both signatures are good, and it is about this request.")
	}
	if s.verdict.by != nil {
		v.Record.Replaces = words.Say("It was replaced by a later record, of %s.", day(s.verdict.by.record.Told.In(zone)))
	}
	v.Record.Buttons = []pages.Button{{Action: "save-record", ID: s.letter.key(), Label: words.Say("Save the record")}, {Action: "print", Label: words.Say("Print")}}
	if s.letter.Record != "" {
		v.Record.Buttons = append(v.Record.Buttons, pages.Button{Action: "read", ID: s.letter.key(), Label: words.Say("The report of their screen")})
	}
	return v
}

// quotedScreen is a sitting's screen within a sentence.
func quotedScreen(x *stored) string {
	if x.Conditions.Screen == "" {
		return words.As("a screen without a name", "the check of it")
	}
	return words.Say("\"%s\"", seen(x.Conditions.Screen))
}

func (a *App) seenNotes() pages.ViewNotes {
	s := a.seen
	v := pages.ViewNotes{Empty: words.Say("No notes on this picture.")}
	for i, n := range s.verdict.record.Pictures[s.picture].Notes {
		id := strconv.Itoa(i + 1)
		v.List = append(v.List, pages.ViewNote{ID: id, Label: id, Where: where(area{n.X, n.Y, n.Width, n.Height}), Text: n.Text, By: s.verdict.record.Name, Current: s.note == i+1})
	}
	return v
}

// hides is what the record says that their screen hid of the picture in sight.
func (s *seeing) hides() pages.Hides {
	rec := s.verdict.record
	j := rec.Pictures[s.picture]
	v := pages.Hides{Theirs: true}
	switch {
	case !rec.Screen.Checked():
		v.State = pages.HidesUnchecked
	case !j.HiddenKnown:
		v.State = pages.HidesUnknown
	default:
		h := toldHidden(j, s.asked())
		v = hidesView(h, "")
		v.Theirs = true
		if v.State == pages.HidesNothing {
			v.Lead = words.Say("As far as their check could tell, their screen showed all of this picture as it was meant.")
		} else {
			v.Lead = words.Say("%s were hidden or shifted on their screen in one way or another. A pixel may be in several.", capital(extent(h.Any)))
		}
		for i := range v.Lines {
			v.Lines[i].ID, v.Lines[i].Words = "", ""
		}
		v.Rests = []string{words.Say("As the record has it, worked out there from this picture and their check.")}
	}
	return v
}

// toldHidden is what a record says that was hidden of a picture, as it is found.
func toldHidden(j record.Judged, p record.Picture) screen.Hidden {
	h := screen.Hidden{Pixels: p.Width * p.Height, Draws: 1}
	for _, x := range j.Hidden {
		s := screen.Share{At: float64(x.At) / 1000, Lo: float64(x.Lo) / 1000, Hi: float64(x.Hi) / 1000}
		switch x.What {
		case "shadows":
			h.Shadows = s
		case "lights":
			h.Lights = s
		case "beyond":
			h.Beyond = s
		case "shifted":
			h.Shifted = s
		case "steps":
			h.Merged = s
		case anyway:
			h.Any = s
		}
	}
	return h
}
