package app

import (
	"strconv"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/record"
	"example.org/plumb/web/words"
)

// settled tells whether a record of this round was signed and nothing is being changed since.
func (v *viewing) settled(m *mail) bool {
	return !v.sheet.Changing && m.latest(v.draft.request, v.proof.Request) != nil
}

// mayChange tells whether anything may be decided or noted now, and says why not.
func (a *App) mayChange() bool {
	v := &a.viewing
	if v.signing == busySigning {
		a.say(words.Say("The record is being signed."))
		return false
	}
	if a.away[v.lock()] {
		a.say(elsewhere())
		return false
	}
	if v.settled(&a.mail) {
		a.say(words.Say("You signed a record about these pictures. To decide otherwise, press \"Change your mind\" below: a new record then replaces it."))
		return false
	}
	return true
}

// unready is why the picture that hangs cannot be approved now, in a sentence; empty when it can. It never is by default: the picture has to hang there whole, as it was
// sent, and what a checked screen hides of it has to be known.
func (a *App) unready(i int) string {
	v := &a.viewing
	if i != v.sheet.At {
		return words.Say("It is not the picture that hangs here.")
	}
	s := v.sights[i]
	switch {
	case s.state == sightFailed:
		return words.Say("It cannot be approved: it is not here.")
	case s.state != sightHere:
		return words.Say("It can be approved once it is here whole.")
	case s.bad != "":
		return words.Say("It cannot be approved: it is not shown as it was sent.")
	case !s.hung || !a.easel.ready():
		return words.Say("It can be approved once it is shown.")
	case a.easel.way == waySwap && a.easel.front > 0:
		return words.Say("The other one is in sight. It can be approved once this one is.")
	case v.sitting == nil:
		return ""
	case s.hide == hideFailed:
		return words.Say("What this screen hides of it could not be worked out, so it cannot be approved as seen on a checked screen. Try it again, or look unchecked.")
	case s.hide != hideDone || !s.hidden.Known():
		return words.Say("It can be approved once it is worked out what this screen hides of it.")
	}
	return ""
}

// decide takes a decision about the picture that hangs. An approval counts at the second press.
func (a *App) decide(i int, d record.Decision) {
	v := &a.viewing
	if i != v.sheet.At || !a.mayChange() {
		return
	}
	v.sure, v.signing = false, notSigning
	if d == record.Approved {
		if why := a.unready(i); why != "" {
			a.say(why)
			return
		}
		v.sure = true
		a.fillDecisions()
		return
	}
	a.settle(i, d)
}

// approve is the second press.
func (a *App) approve(i int) {
	v := &a.viewing
	if !v.sure || i != v.sheet.At || !a.mayChange() {
		return
	}
	v.sure = false
	if why := a.unready(i); why != "" {
		a.say(why)
		a.fillDecisions()
		return
	}
	a.settle(i, record.Approved)
}

// settle keeps a decision about a picture.
func (a *App) settle(i int, d record.Decision) {
	v := &a.viewing
	l := &v.sheet.Pictures[i]
	l.Decision, l.On = d, v.on()
	if d == record.Undecided {
		l.On = ""
	}
	if !v.allows(v.sheet.All) {
		v.sheet.All = record.Undecided
	}
	a.keepDraft()
	name := v.asked.Pictures[i].Name
	switch d {
	case record.Approved:
		a.host.Page.Say(words.Say("%s is approved.", name))
	case record.Changes:
		a.host.Page.Say(words.Say("Changes are asked for %s.", name))
	case record.Undecided:
		a.host.Page.Say(words.Say("%s is left open.", name))
	}
	a.fillDecisions()
}

// counts is how many pictures are approved and how many are to be changed.
func (v *viewing) counts() (approved, changes int) {
	for _, l := range v.sheet.Pictures {
		switch l.Decision {
		case record.Approved:
			approved++
		case record.Changes:
			changes++
		}
	}
	return approved, changes
}

// allows tells whether a decision for all agrees with those for each.
func (v *viewing) allows(all record.Decision) bool {
	approved, changes := v.counts()
	n := len(v.sheet.Pictures)
	switch all {
	case record.Approved:
		return approved == n
	case record.Changes:
		return approved+changes == n && changes > 0
	}
	return all == record.Undecided
}

// decideAll takes a decision for all pictures. It never decides about one.
func (a *App) decideAll(d record.Decision) {
	v := &a.viewing
	if !a.mayChange() {
		return
	}
	if !v.allows(d) {
		a.say(v.closingProblem())
		return
	}
	v.sheet.All, v.signing = d, notSigning
	a.keepDraft()
	a.fillDecisions()
}

// whole is the decision for all: of one picture alone it is that picture's.
func (v *viewing) whole() record.Decision {
	if len(v.sheet.Pictures) == 1 {
		return v.sheet.Pictures[0].Decision
	}
	return v.sheet.All
}

// closingProblem is what is missing for a decision about all, in a sentence; empty when nothing is.
func (v *viewing) closingProblem() string {
	approved, changes := v.counts()
	n := len(v.sheet.Pictures)
	if open := n - approved - changes; open > 0 {
		return words.Some(open, "A decision for all needs one for each picture first: %d picture is still open.", "A decision for all needs one for each picture first: %d pictures are still open.")
	}
	return ""
}

// decideView says what an approval of the picture that hangs covers, before the press.
func (a *App) decideView() pages.Deciding {
	v := &a.viewing
	i := v.sheet.At
	p, l, s := v.asked.Pictures[i], v.sheet.Pictures[i], v.sights[i]
	d := pages.Deciding{ID: strconv.Itoa(i), Picture: p.Name, Decision: string(l.Decision)}
	d.Covers = []string{words.Say("\"%s\", %s pixels, exactly the bytes that were sent.", p.Name, size(p.Width, p.Height))}
	if v.asked.Round > 1 {
		d.Covers[0] = words.Say("\"%s\" in version %d, %s pixels, exactly the bytes that were sent.", p.Name, v.asked.Round, size(p.Width, p.Height))
	}
	switch {
	case v.sitting == nil:
		d.Covers = append(d.Covers, words.Say("It is seen on a screen that nobody checked: what this screen hides of it is not known, and the record says so."))
	case s.hide == hideFailed:
		d.Covers = append(d.Covers, words.Say("What this screen hides of it is not known."))
	case s.hide == hideDone && s.hidden.Known():
		d.NotSeen = notSeen(true, hiddenOf(s.hidden))
		if len(d.NotSeen) == 0 {
			d.Covers = append(d.Covers, words.Say("What this screen shows of it, which is all, as far as the check can tell."))
		} else {
			d.Covers = append(d.Covers, words.Say("What this screen shows of it. What is listed below is not seen here, as far as the check can tell, and not covered."))
		}
	}
	if u := v.unfit(); u != "" {
		d.Covers = append(d.Covers, u)
	}
	switch {
	case v.settled(&a.mail):
		d.Problem = words.Say("The record is signed. To decide otherwise, press \"Change your mind\" below.")
	default:
		d.Problem = a.unready(i)
	}
	if v.sure && d.Problem == "" {
		d.Confirm = words.Say("Approve \"%s\" as seen on this screen, with all that is said above?", p.Name)
		d.Buttons = []pages.Button{{Action: "covers-yes", ID: d.ID, Label: words.Say("Yes, approve it")}, {Action: "covers-no", ID: d.ID, Label: words.Say("Not yet")}}
	}
	return d
}

// unfit says that the screen is not fit for what was asked of it; empty when it is, or nothing was asked.
func (v *viewing) unfit() string {
	needs := v.asked.Needs
	switch {
	case needs == "":
		return ""
	case v.sitting == nil:
		return words.Say("A screen that is good enough for %s was asked for. This one was not checked: the record says so.", words.Found(needs))
	}
	switch verdict := fitness(v.report, needs); verdict {
	case "holds":
		return ""
	case "off":
		return words.Say("A screen that is good enough for %s was asked for. By its check this one is not: the record says so.", words.Found(needs))
	case "unsure":
		return words.Say("A screen that is good enough for %s was asked for. Its check could not tell whether this one is: the record says so.", words.Found(needs))
	}
	return words.Say("A screen that is good enough for %s was asked for. The check of this one did not come to that: the record says so.", words.Found(needs))
}

// tabs are the pictures with what was decided of each.
func (v *viewing) tabs() []pages.ViewTab {
	var list []pages.ViewTab
	for i, l := range v.sheet.Pictures {
		list = append(list, pages.ViewTab{ID: strconv.Itoa(i), Name: v.asked.Pictures[i].Name, Decision: string(l.Decision), Notes: len(said(l.Notes)), Current: i == v.sheet.At})
	}
	return list
}

func (a *App) closingView() pages.Closing {
	v := &a.viewing
	g := v.given
	c := pages.Closing{Offered: len(v.sheet.Pictures) > 1, Decision: string(v.whole()), Problem: v.closingProblem()}
	c.Covers = words.Say("A decision for all says the same as those for each picture, in one word: approved where every picture is, changes asked where any has them.")
	if v.settled(&a.mail) {
		return pages.Closing{Decision: string(v.whole())}
	}
	if v.sitting != nil {
		c.Choose = []pages.Question{{Name: "whole", Label: words.Say("What goes along of the check"), Options: []pages.Option{
			{Value: "no", Label: words.Say("Its report"), Text: words.Say("what was found, the conditions, and the names that were filled in"), Chosen: !v.draft.Whole},
			{Value: "yes", Label: words.Say("Its report and every answer"), Text: words.Say("so that it can be worked out anew; it also tells when and how fast you answered"), Chosen: v.draft.Whole},
		}}}
	}
	for i, l := range v.sheet.Pictures {
		f := pages.Fact{Name: v.asked.Pictures[i].Name, Value: words.Say("left open")}
		switch l.Decision {
		case record.Approved:
			f.Value = words.Say("approved")
		case record.Changes:
			f.Value = words.Say("changes asked")
		}
		if n := len(said(l.Notes)); n > 0 {
			f.Value += ", " + words.Some(n, "%d note", "%d notes")
		}
		if hidden, known := v.hides(i); known {
			if any := anyOf(hidden); any.Hi > 0 {
				f.Value += "; " + words.Say("not seen or shifted: %s", extent(shareOf(any)))
			} else {
				f.Value += "; " + words.Say("nothing hidden, as far as the check can tell")
			}
		} else if v.sitting != nil {
			f.Value += "; " + words.Say("what the screen hides of it is not known")
		}
		c.Carries = append(c.Carries, f)
	}
	c.Carries = append(c.Carries, pages.Fact{Name: words.Say("The screen"), Value: v.said(a.host.Clock.Wall().Location()), Concern: v.unfit()})
	c.Sent = []string{
		words.Say("The signed record: what is said above, your notes and your name, the time, and the digests of the pictures."),
	}
	if v.sitting != nil {
		along := words.Say("The report of the check, and a model of how this screen shows tones, with which %s can see the pictures as you did.", g.by())
		if v.draft.Whole {
			along = words.Say("The report of the check with every answer, and a model of how this screen shows tones, with which %s can see the pictures as you did.", g.by())
		}
		c.Sent = append(c.Sent, along)
	}
	c.Sent = append(c.Sent, words.Say("It is sealed in this browser for %s alone, and lies at %s, which cannot open it.", g.by(), a.server()))
	return c
}
