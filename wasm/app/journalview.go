package app

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// intervals are the days from one look to the next that are offered.
var intervals = []int{7, 14, 28, 91}

// usable are the sittings of a chapter that something can be learnt from, the earliest first.
func (v *volume) usable() []*stored {
	var list []*stored
	for _, x := range v.sittings {
		if r := x.over(); !r {
			continue
		}
		if r := x.read(); r != nil && len(r.Void) == 0 {
			list = append(list, x)
		}
	}
	return list
}

// baseline is which of the usable sittings the others are held against: the one that was chosen, else the first.
func (v *volume) baseline(list []*stored) int {
	return max(0, slices.IndexFunc(list, func(x *stored) bool { return x.ID == v.Baseline }))
}

// A followed chapter is what report.Watch said of these records, held against the one at base.
type followed struct {
	records []*report.Record
	base    int
	courses []report.Course
}

// follow is what became of a chapter's quantities over its usable sittings. It is worked out anew only where they or the baseline have changed since the last time.
func (a *App) follow(v *volume) (list []*stored, courses []report.Course) {
	list = v.usable()
	if len(list) == 0 {
		return nil, nil
	}
	w := followed{base: v.baseline(list)}
	for _, x := range list {
		w.records = append(w.records, x.read())
	}
	j := &a.journal
	if was := j.followed[v.ID]; was.base == w.base && slices.Equal(was.records, w.records) {
		return list, was.courses
	}
	records := make([]report.Record, len(list))
	for i, r := range w.records {
		records[i] = *r
	}
	w.courses = report.Watch(records, w.base)
	if j.followed == nil {
		j.followed = map[string]followed{}
	}
	j.followed[v.ID] = w
	return list, w.courses
}

// journalView is all chapters, in a few lines each.
func (a *App) journalView() pages.JournalView {
	now := a.host.Clock.Wall()
	v := pages.JournalView{Away: a.fixed(), Unread: a.journal.unread != nil}
	at := map[string]int{} // by the name of a screen: its place in the view
	for _, x := range a.volumes() {
		key := screenMode{Screen: x.Screen}.key()
		i, ok := at[key]
		if !ok {
			i, at[key] = len(v.Screens), len(v.Screens)
			v.Screens = append(v.Screens, pages.JournalScreen{Name: title(seen(x.Screen))})
		}
		v.Screens[i].Modes = append(v.Screens[i].Modes, a.modeView(x, now))
	}
	v.Odd = a.oddViews()
	if len(v.Screens) > 0 || len(v.Odd) > 0 {
		v.Buttons = append(v.Buttons, pages.Button{Action: "save-journal", Label: words.Say("Save the journal as a file")})
	}
	if len(v.Screens) > 0 {
		v.Buttons = append(v.Buttons, pages.Button{Action: "print", Label: words.Say("Print")})
	}
	return v
}

// modeView is a chapter in a few lines.
func (a *App) modeView(x *volume, now time.Time) pages.JournalMode {
	m := pages.JournalMode{ID: x.ID, Mode: seen(x.Mode), Looked: words.Say("Not looked at yet."), Has: x.has(), Link: x.screenMode.at("/check")}
	if t := x.looked(); t > 0 {
		then := time.UnixMilli(t).In(now.Location())
		m.Looked = words.Say("Last looked at %s, %s.", ago(now.Sub(then)), date(then))
	}
	m.Due, m.Overdue = x.dueWords(now)
	for i := len(x.sittings) - 1; i >= 0; i-- {
		if s := x.sittings[i]; s.over() {
			if r := s.read(); r != nil {
				m.Void, m.Score, m.Purposes = len(r.Void) > 0, scoreView(r), purposeViews(r)
			}
			break
		}
	}
	if list, courses := a.follow(x); len(list) > 1 {
		m.Moved = movedBriefly(courses)
	}
	return m
}

func scoreView(r *report.Record) pages.Score {
	return pages.Score{Given: r.Score.Given, At: round(r.Score.At), Lo: round(r.Score.Lo), Hi: round(r.Score.Hi), Sentence: words.Found(r.Score.Sentence)}
}

func purposeViews(r *report.Record) []pages.Purpose {
	var list []pages.Purpose
	for _, p := range r.Purposes {
		list = append(list, pages.Purpose{Name: words.Found(p.Name), Verdict: p.Verdict.String(), Why: p.Why})
	}
	return list
}

// has is how much there is of a chapter, in words.
func (v *volume) has() string {
	var profiles, readings, over int
	for _, p := range v.papers {
		if p.Kind == profilePaper {
			profiles++
		} else {
			readings++
		}
	}
	for _, x := range v.sittings {
		if x.over() {
			over++
		}
	}
	var list []string
	if over > 0 {
		list = append(list, words.Some(over, "%d sitting", "%d sittings"))
	}
	if n := len(v.sittings) - over; n > 0 {
		list = append(list, words.Some(n, "%d unfinished sitting", "%d unfinished sittings"))
	}
	if profiles > 0 {
		list = append(list, words.Some(profiles, "%d profile", "%d profiles"))
	}
	if readings > 0 {
		list = append(list, words.Some(readings, "%d file of readings", "%d files of readings"))
	}
	if len(list) == 0 {
		return words.Say("Nothing is kept of it.")
	}
	return capital(listed(list)) + "."
}

// dueWords is when the next look is due, in words, and whether that day has come.
func (v *volume) dueWords(now time.Time) (string, bool) {
	due, ok := v.due(now.Location())
	switch {
	case !ok:
		return "", false
	case sameDay(now, due):
		return words.Say("A look is due today."), true
	case now.After(due):
		return words.Say("A look has been due since %s.", date(due)), true
	}
	return words.Say("The next look is due on %s.", date(due)), false
}

// courseName is what a course is of, in words: the aspect, the part of it, and its quantity.
func courseName(c report.Course) string {
	name := titled(string(c.Aspect))
	switch {
	case c.Part != "" && c.Aspect == check.Neutrals:
		return words.Say("%s, %s in dark greys", name, words.Found(c.Part))
	case c.Part != "":
		return name + ", " + words.Found(c.Part)
	case c.Quantity == "" || strings.EqualFold(c.Quantity, string(c.Aspect)):
		return name
	case c.Aspect == check.Evenness:
		return words.Say("%s, greatest difference in %s", name, unitOfCourse(c).name)
	}
	if u := unitOfCourse(c).name; u != "" && u != "bits" {
		return words.As("%s, %s in %s", "an aspect, its quantity and unit", name, words.Found(c.Quantity), u)
	}
	return name + ", " + words.Found(c.Quantity)
}

// unitOfCourse is how the values of a course are written.
func unitOfCourse(c report.Course) unit {
	return unitOf(report.Finding{Aspect: c.Aspect, Quantity: c.Quantity})
}

// comparable is how many sittings can be held against each other, in the course that has most of them.
func comparable(courses []report.Course) int {
	most := 0
	for _, c := range courses {
		n := 0
		for _, p := range c.Points {
			if p.Why == "" {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// movedBriefly is what has moved, in one sentence; empty where nothing can be said.
func movedBriefly(courses []report.Course) string {
	var list []string
	for _, c := range courses {
		if c.Moved {
			list = join(list, []string{words.Found(string(c.Aspect))})
		}
	}
	switch {
	case len(list) > 0:
		return words.Say("Moved since the baseline: %s.", listed(list))
	case comparable(courses) >= report.Fewest:
		return words.Say("Nothing has moved beyond the error bars.")
	}
	return ""
}

// movedWords says what has moved, and of what nothing can be said.
func movedWords(list []*stored, courses []report.Course, zone *time.Location) []string {
	if len(list) == 0 {
		return nil
	}
	var text []string
	for _, c := range courses {
		if c.Moved {
			text = append(text, courseName(c)+": "+courseWords(c, zone)+spaced(moves(c)))
		}
	}
	n := comparable(courses)
	switch {
	case len(text) > 0:
		return append(text, words.Say("What moves a screen at once is most often a setting: its mode, its brightness, a night tint, a correction that is not loaded, an update of the system. What moves it slowly is its age."))
	case n >= report.Fewest:
		return []string{words.Say("Nothing has moved by more than the error bars of all that is watched here together. A smaller move may be there all the same.")}
	case len(list) == 1:
		return []string{words.Say("One sitting so far. A move is called one once two later sittings show it.")}
	case n == 2:
		return []string{words.Say("Two sittings can be held against each other so far. A move is called one once two later sittings show it: a single one that is odd is a reason to look again, and no more.")}
	}
	return []string{words.Say("None of the sittings can be held against the baseline. Why stands under each plot and in the figures.")}
}

// moves says in plain words which way an aspect has moved; nothing where the figures say it all.
func moves(c report.Course) []string {
	said, ok := map[string][2]string{ // where the figure has risen, and where it has fallen
		string(check.Shadows):     {words.Say("Less is seen near black."), words.Say("More is seen near black.")},
		string(check.Highlights):  {words.Say("More is seen near white."), words.Say("Less is seen near white.")},
		string(check.Tone):        {words.Say("The middle tones are darker."), words.Say("The middle tones are lighter.")},
		string(check.Neutrals):    {words.Say("Greys are more tinted."), words.Say("Greys are less tinted.")},
		string(check.Smoothness):  {words.Say("Steps are finer."), words.Say("Steps are coarser.")},
		string(check.Evenness):    {words.Say("The screen is less even."), words.Say("The screen is more even.")},
		string(check.ColourRange): {words.Say("It shows more colours."), words.Say("It shows fewer colours.")},
		"pinker":                  {words.Say("They are pinker."), words.Say("They are greener.")},
		"yellower":                {words.Say("They are yellower."), words.Say("They are bluer.")},
	}[cmp.Or(c.Part, string(c.Aspect))]
	if !ok && c.Part != "" {
		said, ok = [2]string{words.Say("It is lighter there."), words.Say("It is darker there.")}, true
	}
	switch {
	case !ok || c.By == 0:
		return nil
	case c.By > 0:
		return said[:1]
	}
	return said[1:]
}

// courseWords is what became of a quantity, in a sentence.
func courseWords(c report.Course, zone *time.Location) string {
	if c.Quantity == "" && c.Moved {
		var first, last *report.Point
		for i := range c.Points {
			if p := &c.Points[i]; p.Why == "" {
				first, last = cmp.Or(first, p), p
			}
		}
		from, to := words.Found(first.Verdict.String()), words.Found(last.Verdict.String())
		if c.Since > 0 {
			return words.Say("moved, from \"%s\" to \"%s\", since %s.", from, to, date(time.UnixMilli(c.Since).In(zone)))
		}
		return words.Say("moved, from \"%s\" to \"%s\".", from, to)
	}
	u := unitOfCourse(c)
	by := func(x float64) string { return withSign(u.figure(u.times * x)) }
	figures := words.Say("%s against the baseline (%s to %s)", by(c.By)+when(u.name != "", " "+words.Found(u.name)), by(c.Lo), by(c.Hi))
	switch {
	case c.Moved && c.Since > 0:
		return words.Say("moved, %s, since %s.", figures, date(time.UnixMilli(c.Since).In(zone)))
	case c.Moved:
		return words.Say("moved, %s.", figures)
	case c.Why != "":
		return words.Found(c.Why)
	case len(c.Points) < 2:
		return words.Say("Found once so far.")
	}
	return words.Say("No move beyond the error bars: %s.", figures)
}

// chapterView is everything that is known of a screen in one of its modes.
func (a *App) chapterView(x *volume) pages.Chapter {
	j := &a.journal
	now := a.host.Clock.Wall()
	zone := now.Location()
	v := pages.Chapter{
		ID: x.ID, Name: a.form.screen, Mode: a.form.mode, Lead: x.has(), Away: a.fixed(), Asked: x.Interval != 0,
		Check: x.screenMode.at("/check"), Lay: x.screenMode.at("/after"),
	}
	if first := x.first(); first > 0 {
		v.Lead = words.Say("%s, since %s.", strings.TrimSuffix(v.Lead, "."), date(time.UnixMilli(first).In(zone)))
	}
	v.Due, v.Overdue = x.dueWords(now)
	v.Interval = intervalOptions(x.Interval)
	list, courses := a.follow(x)
	v.Moved = movedWords(list, courses, zone)
	base := x.baseline(list)
	for i, c := range courses {
		if len(c.Points) > 0 {
			v.Courses = append(v.Courses, courseView(c, i, base, zone))
		}
	}
	for _, p := range x.papers {
		v.Marks = append(v.Marks, pages.CourseMark{Day: dayOf(p.Kept), When: day(time.UnixMilli(p.Kept).In(zone)), Name: p.Name})
		v.Papers = append(v.Papers, a.paperView(p))
	}
	slices.Reverse(v.Papers)
	for _, o := range a.volumes() {
		if o.ID != x.ID {
			v.Others = append(v.Others, pages.Option{Value: o.ID, Label: o.called(), Chosen: o.ID == j.same})
		}
	}
	for i := len(x.sittings) - 1; i >= 0; i-- {
		s := x.sittings[i]
		v.Sittings = append(v.Sittings, a.sittingView(s, len(list) > 0 && list[base] == s, len(list), zone))
	}
	for i, n := range x.Counts {
		item := pages.Item{Title: n.called()}
		if len(x.Counts) > 1 {
			item.Buttons = []pages.Button{{Action: "apart", ID: strconv.Itoa(i), Label: words.Say("Take it apart")}}
		}
		v.Names = append(v.Names, item)
	}
	v.Buttons = []pages.Button{{Action: "save-chapter", ID: x.ID, Label: words.Say("Save it as a file")}}
	v.Buttons = append(v.Buttons, a.removal("delete-chapter", x.ID, words.Say("Delete this screen"), words.Say("Delete all of it for good"))...)
	return v
}

// removal is the button of a deletion, at its first press or its second.
func (a *App) removal(action, id, first, second string) []pages.Button {
	if a.journal.sure == action+" "+id {
		return []pages.Button{{Action: action, ID: id, Label: second}, {Action: "spare", ID: id, Label: words.Say("Keep it")}}
	}
	return []pages.Button{{Action: action, ID: id, Label: first}}
}

// first is when something was first found of it, ms since 1970 UTC; 0 for never.
func (v *volume) first() int64 {
	t := int64(0)
	take := func(at int64) {
		if at > 0 && (t == 0 || at < t) {
			t = at
		}
	}
	for _, x := range v.sittings {
		take(x.ended())
	}
	for _, p := range v.papers {
		take(p.Kept)
	}
	return t
}

// intervalOptions are the intervals to choose from, and the one that was chosen elsewhere.
func intervalOptions(chosen int) []pages.Option {
	list := intervals
	if chosen > 0 && !slices.Contains(list, chosen) {
		list = append(slices.Clone(list), chosen)
		slices.Sort(list)
	}
	var o []pages.Option
	for _, n := range list {
		o = append(o, pages.Option{Value: strconv.Itoa(n), Label: every(n), Chosen: chosen == n})
	}
	return append(o, pages.Option{Value: strconv.Itoa(never), Label: words.Say("When I think of it"), Chosen: chosen == never})
}

// dayOf is a moment in days since 1970.
func dayOf(ms int64) float64 { return float64(ms) / float64(24*time.Hour/time.Millisecond) }

// courseView is a course as it is drawn.
func courseView(c report.Course, n, base int, zone *time.Location) pages.Course {
	u := unitOfCourse(c)
	v := pages.Course{ID: strconv.Itoa(n), Name: courseName(c), Unit: words.Found(u.name), Places: u.places, Moved: c.Moved, Say: capital(courseWords(c, zone))}
	beyond := func(report.Point) bool { return false }
	for _, p := range c.Points {
		if b := p; p.Sitting == base { // beyond the baseline's own interval, on the side of the move
			beyond = func(p report.Point) bool { return c.By > 0 && p.Mean > b.Hi || c.By < 0 && p.Mean < b.Lo }
		}
	}
	for _, p := range c.Points {
		// The axis holds all that each report would show of it.
		s := aspect(report.Finding{Aspect: c.Aspect, Quantity: c.Quantity, Mean: p.Mean, Lo: p.Lo, Hi: p.Hi, AllowedLo: c.AllowedLo, AllowedHi: c.AllowedHi}).Scale
		if len(v.Points) == 0 {
			v.Min, v.Max = s.Min, s.Max
		}
		v.Min, v.Max = min(v.Min, s.Min, s.Lo), max(v.Max, s.Max, s.Hi)
		v.BandLo, v.BandHi = s.BandLo, s.BandHi
		v.Points = append(v.Points, pages.CoursePoint{
			Day: dayOf(p.At), When: day(time.UnixMilli(p.At).In(zone)), Lo: s.Lo, At: s.At, Hi: s.Hi, Verdict: p.Verdict.String(),
			Why: words.Found(p.Why), Baseline: p.Sitting == base, Moved: c.Moved && p.Why == "" && p.At >= c.Since && beyond(p),
		})
	}
	if c.Part != "" { // its figures have a sign
		most := max(v.Max, -v.Min)
		v.Min, v.Max = -most, most
	}
	return v
}

// sittingView is one sitting of a chapter; among is how many of it can be compared.
func (a *App) sittingView(s *stored, baseline bool, among int, zone *time.Location) pages.ChapterSitting {
	j := &a.journal
	c := s.told()
	v := pages.ChapterSitting{ID: s.ID, When: day(time.UnixMilli(s.ended()).In(zone)), Baseline: baseline && among > 1, Move: j.moving == s.ID}
	v.Who = strings.Join(slices.DeleteFunc([]string{seen(c.Viewer), words.Found(string(s.Plan.Length))}, func(t string) bool { return t == "" }), ", ")
	var own, more []pages.Button
	r := s.read()
	switch {
	case r != nil:
		v.Void, v.Score, v.Purposes = len(r.Void) > 0, scoreView(r), purposeViews(r)
		own = append(own, pages.Button{Action: "sitting-open", ID: s.ID, Label: words.Say("Open"), Main: true})
		if among > 1 && !baseline && len(r.Void) == 0 {
			own = append(own, pages.Button{Action: "sitting-compare", ID: s.ID, Label: words.Say("Compare with the baseline")})
			if a.fixed() == "" {
				more = append(more, pages.Button{Action: "sitting-baseline", ID: s.ID, Label: words.Say("Make it the baseline")})
			}
		}
	case len(s.record) > 0:
		v.Text = append(v.Text, words.Say("Its record cannot be read: %s. It is kept as it is.", words.Found(reason(s.reading.err))))
	}
	if s.State != finished || s.broken != "" {
		if s.broken != "" {
			v.Text = append(v.Text, s.broken+" "+words.Say("Its report is whole."))
		} else {
			v.Text = append(v.Text, words.Say("Not finished, %s. It is continued where it was begun: under Check this screen.", s.far()))
		}
	}
	if s.Plan.Expect != nil {
		v.Text = append(v.Text, words.Say("It looked for the correction of the profile %s.", seen(s.Plan.Expect.Profile)))
	}
	more = append(more, pages.Button{Action: "sitting-save", ID: s.ID, Label: words.Say("Save")})
	if a.fixed() == "" {
		more = append(more, pages.Button{Action: "move", ID: s.ID, Label: words.Say("It was another screen")})
		if s.State != open {
			more = append(more, a.removal("sitting-delete", s.ID, words.Say("Delete"), words.Say("Delete it for good"))...)
		}
	}
	v.Buttons, v.More, v.Open = own, more, j.sure == "sitting-delete "+s.ID
	return v
}

// paperView is a profile or readings as a chapter lists them.
func (a *App) paperView(p *paper) pages.ChapterPaper {
	zone := a.host.Clock.Wall().Location()
	v := pages.ChapterPaper{ID: p.ID, When: day(time.UnixMilli(p.Kept).In(zone)), Name: seen(p.Name), Move: a.journal.moving == p.ID, Kind: words.Say("Readings"), Facts: paperFacts(p.Paper)}
	if p.Kind == profilePaper {
		v.Kind = words.Say("Profile")
	}
	if p.Whole {
		v.Buttons = append(v.Buttons, pages.Button{Action: "paper-save", ID: p.ID, Label: words.Say("Save the file")})
	}
	if a.fixed() == "" {
		v.Buttons = append(v.Buttons, pages.Button{Action: "move", ID: p.ID, Label: words.Say("It is of another screen")})
		v.Buttons = append(v.Buttons, a.removal("paper-delete", p.ID, words.Say("Delete"), words.Say("Delete it for good"))...)
	}
	return v
}

// paperFacts is what a paper says, in a few figures.
func paperFacts(p study.Paper) []pages.Fact {
	var list []pages.Fact
	add := func(name, value string) { list = append(list, pages.Fact{Name: name, Value: value}) }
	white := func(w *study.White) {
		switch {
		case w == nil:
		case w.Kelvin > 0:
			add(words.Say("White"), words.Say("%s K", fixed(w.Kelvin, 0)))
		default:
			add(words.Say("White"), placeWords(w.XY))
		}
	}
	if f := p.Profile; f != nil {
		if f.Name != "" {
			add(words.As("Called", "by a name"), seen(f.Name))
		}
		if f.Made > 0 {
			add(words.As("Made", "a day"), date(time.UnixMilli(f.Made).UTC()))
		}
		white(f.White)
		for _, t := range f.Tones {
			if t.Channel == "grey" && t.Gamma > 0 {
				add(words.Say("Gamma"), fixed(t.Gamma, 2))
			}
		}
		if f.Correction != nil {
			add(words.Say("Correction"), map[bool]string{true: words.As("yes", "it has one"), false: words.Say("one that changes nothing")}[f.Correction.Changes])
		}
	}
	if f := p.Readings; f != nil {
		add(words.Say("Patches"), strconv.Itoa(f.Patches))
		if l := f.Light; l != nil {
			if l.Luminance > 0 {
				add(words.Say("Luminance"), words.Say("%s cd/m²", fixed(l.Luminance, 1)))
			}
			white(l.White)
		}
		if len(f.Groups) > 0 {
			for _, s := range f.Groups[0].By {
				if s.Formula == "ΔE00" {
					add("ΔE00", words.Say("average %s, largest %s", fixed(s.Mean, 2), fixed(s.Largest, 2)))
				}
			}
		}
	}
	return list
}

// oddViews is what is kept and cannot be read.
func (a *App) oddViews() []pages.Item {
	var list []pages.Item
	for _, x := range a.shelf.sittings {
		if x.tells() {
			continue
		}
		i := pages.Item{Title: words.Say("A sitting at %s", seen(x.Conditions.Screen)), Text: []string{x.broken}}
		if x.Conditions.Screen == "" {
			i.Title = words.Say("A sitting")
		}
		i.Buttons = []pages.Button{{Action: "odd-save", ID: x.ID, Label: words.Say("Save it as it was found")}}
		if x.Version <= headings && a.fixed() == "" {
			i.Buttons = append(i.Buttons, a.removal("odd-delete", x.ID, words.Say("Delete"), words.Say("Delete it for good"))...)
		}
		list = append(list, i)
	}
	for _, o := range a.journal.book.odd {
		id := o.Drawer + "/" + o.Key
		i := pages.Item{Title: words.Say("What was decided about a screen"), Text: []string{words.Say("It is damaged.")}, Buttons: []pages.Button{{Action: "odd-save", ID: id, Label: words.Say("Save it as it was found")}}}
		if o.Drawer == Papers {
			i.Title = words.Say("A profile or readings")
		}
		if o.newer {
			i.Text = []string{words.Say("A newer version of this program wrote it. Load the page again to get that version.")}
		} else if a.fixed() == "" {
			i.Buttons = append(i.Buttons, a.removal("odd-delete", id, words.Say("Delete"), words.Say("Delete it for good"))...)
		}
		list = append(list, i)
	}
	return list
}

// oddRows are the rows of something that cannot be read.
func (a *App) oddRows(id string) []Row {
	if x := a.shelf.find(id); x != nil && !x.tells() {
		return x.raw
	}
	for _, o := range a.journal.book.odd {
		if o.Drawer+"/"+o.Key == id {
			return []Row{o.Row}
		}
	}
	return nil
}
