package app

import (
	"fmt"
	"strconv"
	"time"

	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
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
	t := pages.EaselTools{Picture: s.asked().Name, At: s.picture + 1, Of: len(s.verdict.of.asked.Pictures), Scale: e.scaled(), Fit: e.fitted, Full: e.scale == 1 && !e.fitted, Ends: [2]string{"As meant", "As they saw it"}, Divider: round(1000 * e.divider)}
	if len(e.pictures) > 1 {
		for _, w := range []struct{ id, label string }{{wayDivider, "Divider"}, {wayBeside, "Side by side"}, {waySwap, "In place"}, {wayOne, "As meant alone"}} {
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
var unmodelled = []string{
	"Their white: how warm or cold it is. Eyes adapt to it, and a check by eye cannot tell.",
	"Brightness and contrast: how light their white was, and how dark their black.",
	"The room: daylight or lamps on the screen, and around it.",
	"How even their screen is: the middle of it is shown everywhere.",
	"Colours beyond sRGB, and steps finer than the check could tell apart.",
}

func (a *App) seenView() pages.AsSeen {
	s := a.seen
	zone := a.host.Clock.Wall().Location()
	rec := s.verdict.record
	v := pages.AsSeen{Title: "As " + rec.Name + " saw it", Tools: a.seenBar(), Notes: a.seenNotes(), Hides: s.hides()}
	v.Lead = fmt.Sprintf("%s, %s, %s.", s.verdict.of.asked.Title, onScreen(rec), signedAt(rec, zone))
	for i, p := range s.verdict.of.asked.Pictures {
		j := rec.Pictures[i]
		v.Pictures = append(v.Pictures, pages.ViewTab{ID: strconv.Itoa(i), Name: p.Name, Decision: string(j.Decision), Notes: len(j.Notes), Current: i == s.picture})
	}
	v.Buttons = []pages.Button{{Action: "desk", Label: "Back to my desk"}}
	if a.alive(s.request) && !s.request.unsent() {
		v.Buttons = append(v.Buttons, pages.Button{Action: "round", Label: "Send a new version"})
	}
	switch {
	case s.model == nil && !rec.Screen.Checked():
		v.Against = rec.Name + " looked at it on a screen that was not checked, so nobody can tell how it looked there. This is the picture as it was sent."
	case s.model == nil:
		v.Against = "The record came without a model of the screen, so how it looked there cannot be shown. This is the picture as it was sent."
	default:
		v.Missing = unmodelled
		v.Against = "The picture as it was meant, and as their screen showed it: worked out from their check, relative to its own white. "
		if s.own != nil {
			v.Against += fmt.Sprintf("Their side is corrected for the screen here by your check of %s on %s, as far as this screen can show it. If this is another screen, choose so.", quotedScreen(s.own), day(time.UnixMilli(s.own.Touched).In(zone)))
			v.Buttons = append(v.Buttons, pages.Button{Action: "own", Label: "Show it uncorrected"})
		} else {
			v.Against += "The screen here is taken as one with the sRGB curve and no fault, because no check of it is used."
		}
		for _, x := range s.checks {
			if x != s.own {
				v.Buttons = append(v.Buttons, pages.Button{Action: "own", ID: x.ID, Label: "Correct for " + quotedScreen(x) + ", checked " + day(time.UnixMilli(x.Touched).In(zone))})
			}
		}
	}
	switch s.stage {
	case seenFetching:
		v.Loading = pages.Progress{Label: "The picture comes from " + a.server(), Share: s.share}
	case seenMaking:
		v.Loading = pages.Progress{Label: "Working out how it looked there", Share: s.share}
	case seenFailed:
		v.Failed = pages.Failed{Title: "The picture cannot be shown", Text: []string{s.trouble, "The record and the notes are here all the same."}, Buttons: []pages.Button{{Action: "retry", Label: "Try again", Main: true}}}
	case seenPlain:
		v.Failed = pages.Failed{Title: "Only the picture as it was meant is shown", Text: []string{s.trouble}, Buttons: []pages.Button{{Action: "retry", Label: "Try again", Main: true}}}
	}
	v.Record = recordView(rec, s.letter.Decision, zone)
	v.Record.State, v.Record.Says = pages.Stands, "Both signatures are good, it is about this request, and the report of the screen came with it."
	if !rec.Screen.Checked() {
		v.Record.Says = "Both signatures are good, and it is about this request."
	}
	if s.verdict.by != nil {
		v.Record.Replaces = "It was replaced by a later record, of " + day(s.verdict.by.record.Told.In(zone)) + "."
	}
	v.Record.Buttons = []pages.Button{{Action: "save-record", ID: s.letter.key(), Label: "Save the record"}, {Action: "print", Label: "Print"}}
	if s.letter.Record != "" {
		v.Record.Buttons = append(v.Record.Buttons, pages.Button{Action: "read", ID: s.letter.key(), Label: "The report of their screen"})
	}
	return v
}

// quotedScreen is a sitting's screen within a sentence.
func quotedScreen(x *stored) string {
	if x.Conditions.Screen == "" {
		return "a screen without a name"
	}
	return "\"" + seen(x.Conditions.Screen) + "\""
}

func (a *App) seenNotes() pages.ViewNotes {
	s := a.seen
	v := pages.ViewNotes{Empty: "No notes on this picture."}
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
			v.Lead = "As far as their check could tell, their screen showed all of this picture as it was meant."
		} else {
			v.Lead = capital(extent(h.Any)) + " were hidden or shifted on their screen in one way or another. A pixel may be in several."
		}
		for i := range v.Lines {
			v.Lines[i].ID, v.Lines[i].Words = "", ""
		}
		v.Rests = []string{"As the record has it, worked out there from this picture and their check."}
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
