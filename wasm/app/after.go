package app

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// after is the state of the stage After: what was laid down, and what it is held against.
type after struct {
	visit int
	files []*laid // in the order they came
	last  int

	held      string // what readings are held against, as in study.Task; empty: what fits
	unit      string
	table     int
	luminance string // as typed
	kelvin    string

	sitting bool            // a sitting was asked for here
	expect  *check.Expected // what it is about; nil where the profile has no correction to tell from none
	passed  bool            // an unfinished sitting was left alone
}

// A laid is a file that was laid down.
type laid struct {
	id, name string
	size     int64
	file     []byte // nil where only what was found of it is kept
	paper    *study.Paper
	refused  *study.Refusal
	trouble  string // why nothing can be said of it
	asked    int    // the study that is under way
	under    string // what it was looked at under
	kept     bool   // it is in the journal under the screen's present name
}

func (l *laid) profile() *study.Profile {
	if l == nil || l.paper == nil {
		return nil
	}
	return l.paper.Profile
}

func (l *laid) readings() *study.Readings {
	if l == nil || l.paper == nil {
		return nil
	}
	return l.paper.Readings
}

// three are the files that count: the latest profile, and the two latest readings, the earlier of them first.
func (f *after) three() (profile, first, second *laid) {
	for _, l := range f.files {
		switch {
		case l.profile() != nil:
			profile = l
		case l.readings() != nil && first == nil:
			first = l
		case l.readings() != nil:
			second = l
		}
	}
	return profile, first, second
}

// openAfter shows the page on which a profile and readings are looked at, unless a sitting about a profile was left unfinished: then that comes first.
func (a *App) openAfter() {
	if !a.after.passed && slices.ContainsFunc(a.shelf.sittings, func(s *stored) bool { return s.State == open && s.Plan.Expect != nil }) {
		a.resume()
		return
	}
	a.showAfter()
	if a.form.screen != "" && len(a.after.files) == 0 {
		a.recall(screenMode{a.form.screen, a.form.mode})
	}
}

// showAfter puts the page up with what lies on it.
func (a *App) showAfter() {
	f := &a.after
	f.visit++
	f.sitting = false
	a.lines, a.shown = false, nil
	a.host.Canvas.Mark("")
	a.at("after", words.Say("After calibrating"))
	a.enter(After, false)
	a.pick(pickImages)
	a.fill("stage", pages.AfterPage(pages.AfterAims{Luminance: f.luminance, Kelvin: f.kelvin}))
	a.fill("bar", none)
	a.fillNames()
	a.fillAfter()
	a.tell("message", a.message)
	a.message = ""
}

// fillAfter shows what lies on the page and what follows from it.
func (a *App) fillAfter() {
	if a.stage != After {
		return
	}
	zone := a.host.Clock.Wall().Location()
	profile, first, _ := a.after.three()
	a.refill("papers", pages.PaperRows(a.paperRows()))
	a.refill("asks", pages.Rows(a.afterAsks()))
	a.refill("held", pages.Text(a.heldSaid()))
	a.refill("heard", pages.HeardOf(a.heard()))
	a.refill("promise", pages.PromiseOf(promiseView(profile, zone)))
	a.refill("measured", pages.ReadingsOf(readingsView(first)))
	a.refill("before", pages.KeptPapers(a.laidBefore()))
}

// afterFile takes a file that was chosen or dropped: a profile, or readings.
func (a *App) afterFile(field, name string, b []byte, err error) {
	switch {
	case err != nil:
		a.say(words.Say("The file %s cannot be read: %s.", line(name), words.Found(reason(err))))
		return
	case len(b) > study.MostPaper:
		a.say(words.Say("The file %s is larger than any profile or readings: %s, where %s is the most that is read.", line(name), bytesOf(float64(len(b))), bytesOf(study.MostPaper)))
		return
	case len(b) == 0:
		a.say(words.Say("The file %s is empty.", line(name)))
		return
	}
	a.tell("message", "")
	a.after.last++
	l := &laid{id: strconv.Itoa(a.after.last), name: name, size: int64(len(b)), file: b}
	a.after.files = append(a.after.files, l)
	a.describe(l)
	a.fillAfter()
}

// afterPictures answers pictures that were dropped.
func (a *App) afterPictures(files []Picked) {
	for _, p := range files {
		a.host.Pictures.Drop(p.Key)
	}
	a.say(words.Say("That is a picture. What belongs here is a profile (.icc, .icm) or readings as text."))
}

// under says what a file is looked at under: when it changes, the file is looked at again.
func (a *App) under(l *laid) string {
	f := &a.after
	profile, first, second := f.three()
	switch l {
	case profile:
		return a.form.aim
	case first:
		id := func(l *laid) string {
			if l == nil || l.file == nil {
				return ""
			}
			return l.id
		}
		return strings.TrimRight(strings.Join([]string{id(profile), id(second), f.held, f.unit, when(f.table > 0, strconv.Itoa(f.table)), f.luminance, f.kelvin}, "|"), "|")
	}
	return ""
}

// aims are the luminance of white in cd/m² and its temperature in kelvin that were aimed at, as they were typed; 0 where nothing was that can be meant.
func (f *after) aims() (luminance, kelvin float64) {
	typed := func(s string, least, most float64) float64 {
		v, err := decimal(s)
		if err != nil || !(v >= least && v <= most) {
			return 0
		}
		return v
	}
	return typed(f.luminance, 1, 10000), typed(f.kelvin, 4000, 25000)
}

// describe asks what a file is and says.
func (a *App) describe(l *laid) {
	f := &a.after
	if a.host.Pictures == nil {
		l.trouble = words.Say("This browser cannot run the program that reads it.")
		return
	}
	if l.asked > 0 {
		a.giveUp(l.asked)
	}
	task := study.Task{What: study.Describe, File: l.file, Name: l.name, Aim: a.form.aim}
	fresh := l.paper == nil
	l.under = a.under(l)
	if profile, first, second := f.three(); l == first {
		if profile != nil {
			task.Against = profile.file
		}
		if second != nil {
			task.Second = second.file
		}
		task.Held, task.Unit, task.Table = f.held, f.unit, f.table
		task.Luminance, task.Kelvin = f.aims()
	}
	l.asked = a.study(task, nil, func(found study.Found, err error) {
		l.asked = 0
		switch {
		case err != nil:
			l.trouble = words.Say("It could not be looked at: %s.", words.Found(reason(err)))
		case found.Refused != nil:
			if l.paper != nil { // an answer to a question about it does not fit; what was found before is no longer true
				l.paper = nil
			}
			l.refused = found.Refused
		case found.Paper == nil:
			l.trouble = words.Say("Nothing was found in it.")
		default:
			l.paper, l.refused, l.trouble, l.kept = found.Paper, nil, "", false
			if fresh && found.Paper.Profile != nil { // only now it is known what counts for it
				l.under = task.Aim
			}
		}
		a.replaced(l)
		a.holdAnew()
		a.fillAfter()
	})
}

// replaced takes away what a file takes the place of: there is one profile, and readings are at most two.
func (a *App) replaced(l *laid) {
	f := &a.after
	var readings []*laid
	for _, o := range slices.Clone(f.files) {
		switch {
		case o != l && o.profile() != nil && l.profile() != nil:
			a.takeAway(o)
		case o.readings() != nil:
			readings = append(readings, o)
		}
	}
	if len(readings) > 2 {
		a.takeAway(readings[1])
	}
}

func (a *App) takeAway(l *laid) {
	if l.asked > 0 {
		a.giveUp(l.asked)
	}
	a.after.files = slices.DeleteFunc(a.after.files, func(o *laid) bool { return o == l })
}

// holdAnew looks again at what is held against something else than before.
func (a *App) holdAnew() {
	profile, first, _ := a.after.three()
	for _, l := range []*laid{profile, first} {
		if l != nil && l.file != nil && l.under != a.under(l) {
			a.describe(l)
		}
	}
}

// paperRows are the files, each with what it is.
func (a *App) paperRows() []pages.PaperRow {
	profile, first, second := a.after.three()
	var list []pages.PaperRow
	for _, l := range a.after.files {
		r := pages.PaperRow{ID: l.id, Name: l.name, Size: bytesOf(float64(l.size)), Buttons: []pages.Button{{Action: "remove", ID: l.id, Label: words.Say("Take it away")}}}
		switch {
		case l.trouble != "":
			r.Kind, r.Text, r.Refused = words.Say("Not read"), []string{l.trouble}, true
		case l.refused != nil:
			r.Kind, r.Text, r.Refused = words.Say("Not taken"), told(words.Found(l.refused.Why), words.Found(l.refused.Do)), true
		case l.paper == nil:
			r.State = pages.Reading
		case l == profile:
			r.Kind, r.Text = words.Say("Profile"), told(seen(l.profile().Name))
		case l == first:
			r.Kind, r.Text = words.Say("Readings"), told(words.Say("%s patches", number(float64(l.readings().Patches))), words.Found(l.readings().AgainstOff))
		case l == second:
			r.Kind, r.Text = words.Say("Second readings"), told(words.Say("The same patches, read again."))
			if why := first.readings().SecondOff; why != "" {
				r.Text = told(words.Found(why))
			}
			r.Buttons = append([]pages.Button{{Action: "swap", ID: l.id, Label: words.Say("Make it the first")}}, r.Buttons...)
		}
		list = append(list, r)
	}
	return list
}

// heldSaid is what the files are held against, in words.
func (a *App) heldSaid() string {
	profile, first, _ := a.after.three()
	var list []string
	if profile != nil || first == nil {
		m, _ := screen.AimByID(a.form.aim)
		name := words.Found(m.Name)
		switch power, is := strings.CutPrefix(m.Name, "Gamma "); {
		case m.ID == screen.Aims[0].ID:
			name = words.Say("sRGB's curve or gamma 2.2")
		case is:
			name = words.Say("gamma %s", words.Decimal(power))
		}
		list = append(list, words.Say("tones: %s", name))
	}
	if r := first.readings(); r != nil {
		if s := against(r); s != "" {
			list = append(list, words.Say("readings: %s", s))
		} else {
			list = append(list, words.Say("readings: nothing yet"))
		}
	}
	luminance, kelvin := a.after.aims()
	if luminance > 0 {
		list = append(list, words.Say("white: %s cd/m²", number(luminance)))
	}
	if kelvin > 0 {
		list = append(list, words.Say("its colour: %s K", number(kelvin)))
	}
	return strings.Join(list, ", ")
}

// told are those of some texts that say something.
func told(list ...string) []string {
	return slices.DeleteFunc(list, func(s string) bool { return s == "" })
}

// afterAsks is what the files leave open.
func (a *App) afterAsks() []pages.Question {
	f := &a.after
	profile, first, _ := f.three()
	var list []pages.Question
	if profile != nil && profile.file != nil {
		q := pages.Question{Name: "aim", Label: words.Say("The tone curve it was calibrated to")}
		for _, m := range screen.Aims {
			if m.Wide { // the same curves again
				continue
			}
			q.Options = append(q.Options, pages.Option{Value: m.ID, Label: words.Found(m.Name), Text: words.Found(m.Text), Chosen: m.ID == a.form.aim})
		}
		list = append(list, q)
	}
	r := first.readings()
	if r == nil || first.file == nil {
		return list
	}
	if len(r.Aims) > 1 || r.Aim == "" && len(r.Aims) > 0 {
		q := pages.Question{Name: "held", Label: words.Say("The readings are held against"), Advice: words.Say("What they were meant to be.")}
		for _, id := range r.Aims {
			o := pages.Option{Value: id, Label: id, Chosen: id == r.Aim}
			switch id {
			case study.HeldColumns:
				o.Label = words.Say("The aims in the file itself")
			case study.HeldProfile:
				o.Label = words.Say("The profile")
				o.Text = words.Say("does the screen still do what the profile says?")
			}
			q.Options = append(q.Options, o)
		}
		list = append(list, q)
	}
	if r.UnitOpen || f.unit != "" {
		list = append(list, pages.Question{Name: "unit", Label: words.Say("XYZ is in"), Advice: words.Say("Nothing in the file says so."), Options: options(f.unit,
			study.UnitCandela, "cd/m²", study.UnitPercent, words.Say("parts of 100, white at 100"), study.UnitRelative, words.Say("parts of 1, white at 1"))})
	}
	if r.Tables > 1 {
		q := pages.Question{Name: "table", Label: words.Say("Which table of the file")}
		for i := range min(r.Tables, 12) {
			q.Options = append(q.Options, pages.Option{Value: strconv.Itoa(i), Label: words.Say("Table %d", i+1), Chosen: i == r.Table})
		}
		list = append(list, q)
	}
	return list
}

func (a *App) afterInput(name, value string) {
	f := &a.after
	if a.nameInput(name, value) {
		for _, l := range f.files {
			l.kept = false
		}
		if len(f.files) == 0 && name == "known" {
			a.recall(screenMode{a.form.screen, a.form.mode})
		}
		a.fillAfter()
		return
	}
	switch name {
	case "aim":
		if !a.form.set(name, value) {
			return
		}
	case "held":
		f.held = value
	case "unit":
		f.unit = value
	case "table":
		f.table, _ = strconv.Atoi(value)
	case "luminance":
		f.luminance = value
	case "kelvin":
		f.kelvin = value
	default:
		return
	}
	a.holdAnew()
	a.fillAfter()
}

func (a *App) afterAction(name, id string) {
	f := &a.after
	at := slices.IndexFunc(f.files, func(l *laid) bool { return l.id == id })
	switch name {
	case "remove":
		if at >= 0 {
			a.takeAway(f.files[at])
			a.holdAnew()
			a.fillAfter()
		}
	case "swap":
		if _, first, second := f.three(); at >= 0 && second != nil && f.files[at] == second {
			i := slices.Index(f.files, first)
			f.files[i], f.files[at] = f.files[at], f.files[i]
			a.holdAnew()
			a.fillAfter()
		}
	case "eye":
		a.askEye()
	case "report":
		if x, r := a.eye(); x != nil {
			a.show(&shown{record: r, bytes: x.record, of: x})
		}
	case "keep":
		a.keepLaid()
	case "recall":
		if n, err := strconv.Atoi(id); err == nil {
			if list := a.screensKnown(); n >= 0 && n < len(list) {
				a.form.screen, a.form.mode = list[n].Screen, list[n].Mode
				a.fillNames()
				a.recall(list[n])
			}
		}
	case "print":
		a.host.Desk.Print()
	}
}

// askEye prepares the sitting that asks what neither profile nor readings say.
func (a *App) askEye() {
	f := &a.after
	f.sitting, f.expect = true, nil
	if profile, _, _ := f.three(); profile != nil {
		f.expect = (*check.Expected)(profile.profile().Expected)
	}
	a.form.length = check.Short
	a.prepare()
}

// eye is the sitting that looked at the screen last after its profile was made, and its report: one about this very profile before any other; nil where there is none.
func (a *App) eye() (*stored, report.Record) {
	profile, _, _ := a.after.three()
	var best *stored
	var found report.Record
	here := screenMode{a.form.screen, a.form.mode}.key()
	for _, x := range a.shelf.sittings {
		if x.State != finished || x.broken != "" || len(x.record) == 0 {
			continue
		}
		about := false
		if profile != nil && x.Plan.Expect != nil {
			about = x.Plan.Expect.Digest == fmt.Sprintf("%x", profile.paper.Digest[:])
		}
		if !about {
			if x.Plan.Expect != nil || line(a.form.screen) == "" || (screenMode{x.Conditions.Screen, x.Conditions.Mode}).key() != here {
				continue
			}
			if profile != nil && x.Conditions.Ended < profile.profile().Made {
				continue
			}
		}
		switch {
		case best == nil, about && best.Plan.Expect == nil, (best.Plan.Expect == nil) == !about && x.Conditions.Ended > best.Conditions.Ended:
		default:
			continue
		}
		if r, err := report.Read(x.record); err == nil {
			best, found = x, r
		}
	}
	return best, found
}

// keepLaid puts the profile and the readings into the journal, beside the screen that is named. What second readings said of the first is kept with the first.
func (a *App) keepLaid() {
	profile, first, _ := a.after.three()
	for _, l := range []*laid{profile, first} {
		if l == nil || l.kept {
			continue
		}
		l.kept = true
		a.keepPaper(&paper{Screen: a.form.screen, Mode: a.form.mode, Name: l.name, Size: l.size, Paper: *l.paper, File: l.file}, func(err error) {
			if err != nil {
				l.kept = false
				a.say(words.Say("It is not kept in the journal: %s.", words.Found(reason(err))))
			}
			a.fillAfter()
		})
	}
	a.fillAfter()
}

// recall lays down again what the journal has of a screen: its latest profile and its latest readings.
func (a *App) recall(n screenMode) {
	f := &a.after
	visit := f.visit
	var profile, readings *paper
	for _, p := range a.papersOf(n.Screen, n.Mode) {
		switch {
		case p.Paper.Profile != nil && profile == nil:
			profile = p
		case p.Paper.Readings != nil && readings == nil:
			readings = p
		}
	}
	f.files = nil
	for _, p := range []*paper{profile, readings} {
		if p == nil {
			continue
		}
		f.last++
		found := p.Paper
		l := &laid{id: strconv.Itoa(f.last), name: p.Name, size: p.Size, paper: &found, kept: true}
		f.files = append(f.files, l)
		if p.Paper.Profile != nil && p.Paper.Profile.Aim != "" {
			a.form.set("aim", p.Paper.Profile.Aim)
		}
		if r := p.Paper.Readings; r != nil {
			f.held, f.table, f.unit = r.Aim, r.Table, when(r.UnitOpen, r.Unit)
		}
		a.paperFile(p, func(b []byte, err error) {
			if err == nil && f.visit == visit {
				l.file = b
				for _, o := range f.files { // what was found before holds
					o.under = a.under(o)
				}
				a.fillAfter()
			}
		})
	}
	a.fillAfter()
}

// laidBefore lists the screens of which the journal has a profile or readings, while nothing lies here.
func (a *App) laidBefore() []pages.Item {
	if len(a.after.files) > 0 {
		return nil
	}
	var list []pages.Item
	for i, n := range a.screensKnown() {
		papers := a.papersOf(n.Screen, n.Mode)
		if len(papers) == 0 {
			continue
		}
		p := papers[0]
		last := words.Say("Last: a profile, %s.", p.Name)
		if p.Kind == readingsPaper {
			last = words.Say("Last: readings, %s.", p.Name)
		}
		list = append(list, pages.Item{Title: n.called(), Text: []string{last}, Buttons: []pages.Button{{Action: "recall", ID: strconv.Itoa(i), Label: words.Say("Lay it down again")}}})
	}
	return list
}

// seenByEye shows the page again after the sitting that was asked for here, or that a profile was in.
func (a *App) seenByEye(r *shown) {
	c := r.record.Conditions
	a.form.screen, a.form.mode = c.Screen, c.Mode
	a.showAfter()
	if len(a.after.files) == 0 {
		a.recall(screenMode{c.Screen, c.Mode})
	}
	if len(a.after.files) == 0 { // neither the files nor what was found in them are here any more
		a.show(r)
		return
	}
	a.host.Page.Say(words.Say("What your eye saw stands beside the profile and the readings now."))
}
