package app

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
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

// watched is what became of a chapter's quantities over its usable sittings.
func (v *volume) watched() (list []*stored, courses []report.Course) {
	list = v.usable()
	if len(list) == 0 {
		return nil, nil
	}
	records := make([]report.Record, len(list))
	for i, x := range list {
		records[i] = *x.read()
	}
	return list, report.Watch(records, v.baseline(list))
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
		v.Screens[i].Modes = append(v.Screens[i].Modes, modeView(x, now))
	}
	v.Odd = a.oddViews()
	if len(v.Screens) > 0 || len(v.Odd) > 0 {
		v.Buttons = append(v.Buttons, pages.Button{Action: "save-journal", Label: "Save the journal as a file"})
	}
	if len(v.Screens) > 0 {
		v.Buttons = append(v.Buttons, pages.Button{Action: "print", Label: "Print"})
	}
	return v
}

// modeView is a chapter in a few lines.
func modeView(x *volume, now time.Time) pages.JournalMode {
	m := pages.JournalMode{ID: x.ID, Mode: seen(x.Mode), Looked: "Not looked at yet.", Has: x.has(), Link: x.screenMode.at("/check")}
	if t := x.looked(); t > 0 {
		then := time.UnixMilli(t).In(now.Location())
		m.Looked = "Last looked at " + ago(now.Sub(then)) + ", " + date(then) + "."
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
	if list, courses := x.watched(); len(list) > 1 {
		m.Moved = movedBriefly(courses)
	}
	return m
}

func scoreView(r *report.Record) pages.Score {
	return pages.Score{Given: r.Score.Given, At: round(r.Score.At), Lo: round(r.Score.Lo), Hi: round(r.Score.Hi), Sentence: r.Score.Sentence}
}

func purposeViews(r *report.Record) []pages.Purpose {
	var list []pages.Purpose
	for _, p := range r.Purposes {
		list = append(list, pages.Purpose{Name: p.Name, Verdict: p.Verdict.String(), Why: p.Why})
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
		list = append(list, plural(over, "sitting", "sittings"))
	}
	if n := len(v.sittings) - over; n > 0 {
		list = append(list, plural(n, "unfinished sitting", "unfinished sittings"))
	}
	if profiles > 0 {
		list = append(list, plural(profiles, "profile", "profiles"))
	}
	if readings > 0 {
		list = append(list, plural(readings, "file of readings", "files of readings"))
	}
	if len(list) == 0 {
		return "Nothing is kept of it."
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
		return "A look is due today.", true
	case now.After(due):
		return "A look has been due since " + date(due) + ".", true
	}
	return "The next look is due on " + date(due) + ".", false
}

// courseName is what a course is of, in words: the aspect, the part of it, and its quantity.
func courseName(c report.Course) string {
	name := capital(string(c.Aspect))
	switch {
	case c.Part != "" && c.Aspect == check.Neutrals:
		return name + ", " + c.Part + " in dark greys"
	case c.Part != "":
		return name + ", " + c.Part
	case c.Quantity == "" || strings.EqualFold(c.Quantity, string(c.Aspect)):
		return name
	case c.Aspect == check.Evenness:
		return name + ", greatest difference in " + unitOfCourse(c).name
	}
	if u := unitOfCourse(c).name; u != "" && u != "bits" {
		return name + ", " + c.Quantity + " in " + u
	}
	return name + ", " + c.Quantity
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
			list = join(list, []string{string(c.Aspect)})
		}
	}
	switch {
	case len(list) > 0:
		return "Moved since the baseline: " + listed(list) + "."
	case comparable(courses) >= report.Fewest:
		return "Nothing has moved beyond the error bars."
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
		return append(text, "What moves a screen at once is most often a setting: its mode, its brightness, a night tint, a correction that is not loaded, an update of the system. What moves it slowly is its age.")
	case n >= report.Fewest:
		return []string{"Nothing has moved by more than the error bars of all that is watched here together. A smaller move may be there all the same."}
	case len(list) == 1:
		return []string{"One sitting so far. A move is called one once two later sittings show it."}
	case n == 2:
		return []string{"Two sittings can be held against each other so far. A move is called one once two later sittings show it: a single one that is odd is a reason to look again, and no more."}
	}
	return []string{"None of the sittings can be held against the baseline. Why stands under each plot and in the figures."}
}

// moves says in plain words which way an aspect has moved; nothing where the figures say it all.
func moves(c report.Course) []string {
	words, ok := map[string][2]string{ // where the figure has risen, and where it has fallen
		string(check.Shadows):     {"Less is seen near black.", "More is seen near black."},
		string(check.Highlights):  {"More is seen near white.", "Less is seen near white."},
		string(check.Tone):        {"The middle tones are darker.", "The middle tones are lighter."},
		string(check.Neutrals):    {"Greys are more tinted.", "Greys are less tinted."},
		string(check.Smoothness):  {"Steps are finer.", "Steps are coarser."},
		string(check.Evenness):    {"The screen is less even.", "The screen is more even."},
		string(check.ColourRange): {"It shows more colours.", "It shows fewer colours."},
		"pinker":                  {"They are pinker.", "They are greener."},
		"yellower":                {"They are yellower.", "They are bluer."},
	}[cmp.Or(c.Part, string(c.Aspect))]
	if !ok && c.Part != "" {
		words, ok = [2]string{"It is lighter there.", "It is darker there."}, true
	}
	switch {
	case !ok || c.By == 0:
		return nil
	case c.By > 0:
		return words[:1]
	}
	return words[1:]
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
		return "moved, from \"" + first.Verdict.String() + "\" to \"" + last.Verdict.String() + "\"" + when(c.Since > 0, ", since "+date(time.UnixMilli(c.Since).In(zone))) + "."
	}
	u := unitOfCourse(c)
	by := func(x float64) string { return withSign(u.figure(u.times * x)) }
	figures := by(c.By) + when(u.name != "", " "+u.name) + " against the baseline (" + by(c.Lo) + " to " + by(c.Hi) + ")"
	switch {
	case c.Moved && c.Since > 0:
		return "moved, " + figures + ", since " + date(time.UnixMilli(c.Since).In(zone)) + "."
	case c.Moved:
		return "moved, " + figures + "."
	case c.Why != "":
		return c.Why
	case len(c.Points) < 2:
		return "Found once so far."
	}
	return "No move beyond the error bars: " + figures + "."
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
		v.Lead = strings.TrimSuffix(v.Lead, ".") + ", since " + date(time.UnixMilli(first).In(zone)) + "."
	}
	v.Due, v.Overdue = x.dueWords(now)
	v.Interval = intervalOptions(x.Interval)
	list, courses := x.watched()
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
			item.Buttons = []pages.Button{{Action: "apart", ID: strconv.Itoa(i), Label: "Take it apart"}}
		}
		v.Names = append(v.Names, item)
	}
	v.Buttons = []pages.Button{{Action: "save-chapter", ID: x.ID, Label: "Save it as a file"}}
	v.Buttons = append(v.Buttons, a.removal("delete-chapter", x.ID, "Delete this screen", "Delete all of it for good")...)
	return v
}

// removal is the button of a deletion, at its first press or its second.
func (a *App) removal(action, id, first, second string) []pages.Button {
	if a.journal.sure == action+" "+id {
		return []pages.Button{{Action: action, ID: id, Label: second}, {Action: "spare", ID: id, Label: "Keep it"}}
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
		o = append(o, pages.Option{Value: strconv.Itoa(n), Label: "Every " + days(n), Chosen: chosen == n})
	}
	return append(o, pages.Option{Value: strconv.Itoa(never), Label: "When I think of it", Chosen: chosen == never})
}

// dayOf is a moment in days since 1970.
func dayOf(ms int64) float64 { return float64(ms) / float64(24*time.Hour/time.Millisecond) }

// courseView is a course as it is drawn.
func courseView(c report.Course, n, base int, zone *time.Location) pages.Course {
	u := unitOfCourse(c)
	v := pages.Course{ID: strconv.Itoa(n), Name: courseName(c), Unit: u.name, Places: u.places, Moved: c.Moved, Say: capital(courseWords(c, zone))}
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
			Why: p.Why, Baseline: p.Sitting == base, Moved: c.Moved && p.Why == "" && p.At >= c.Since && beyond(p),
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
	v.Who = strings.Join(slices.DeleteFunc([]string{seen(c.Viewer), string(s.Plan.Length)}, func(t string) bool { return t == "" }), ", ")
	var own, more []pages.Button
	r := s.read()
	switch {
	case r != nil:
		v.Void, v.Score, v.Purposes = len(r.Void) > 0, scoreView(r), purposeViews(r)
		own = append(own, pages.Button{Action: "sitting-open", ID: s.ID, Label: "Open", Main: true})
		if among > 1 && !baseline && len(r.Void) == 0 {
			own = append(own, pages.Button{Action: "sitting-compare", ID: s.ID, Label: "Compare with the baseline"})
			if a.fixed() == "" {
				more = append(more, pages.Button{Action: "sitting-baseline", ID: s.ID, Label: "Make it the baseline"})
			}
		}
	case len(s.record) > 0:
		v.Text = append(v.Text, "Its record cannot be read: "+reason(s.reading.err)+". It is kept as it is.")
	}
	if s.State != finished || s.broken != "" {
		if s.broken != "" {
			v.Text = append(v.Text, s.broken+" Its report is whole.")
		} else {
			v.Text = append(v.Text, "Not finished, "+s.far()+". It is continued where it was begun: under Check this screen.")
		}
	}
	if s.Plan.Expect != nil {
		v.Text = append(v.Text, "It looked for the correction of the profile "+seen(s.Plan.Expect.Profile)+".")
	}
	more = append(more, pages.Button{Action: "sitting-save", ID: s.ID, Label: "Save"})
	if a.fixed() == "" {
		more = append(more, pages.Button{Action: "move", ID: s.ID, Label: "It was another screen"})
		if s.State != open {
			more = append(more, a.removal("sitting-delete", s.ID, "Delete", "Delete it for good")...)
		}
	}
	v.Buttons, v.More, v.Open = own, more, j.sure == "sitting-delete "+s.ID
	return v
}

// paperView is a profile or readings as a chapter lists them.
func (a *App) paperView(p *paper) pages.ChapterPaper {
	zone := a.host.Clock.Wall().Location()
	v := pages.ChapterPaper{ID: p.ID, When: day(time.UnixMilli(p.Kept).In(zone)), Name: seen(p.Name), Move: a.journal.moving == p.ID, Kind: "Readings", Facts: paperFacts(p.Paper)}
	if p.Kind == profilePaper {
		v.Kind = "Profile"
	}
	if p.Whole {
		v.Buttons = append(v.Buttons, pages.Button{Action: "paper-save", ID: p.ID, Label: "Save the file"})
	}
	if a.fixed() == "" {
		v.Buttons = append(v.Buttons, pages.Button{Action: "move", ID: p.ID, Label: "It is of another screen"})
		v.Buttons = append(v.Buttons, a.removal("paper-delete", p.ID, "Delete", "Delete it for good")...)
	}
	return v
}

// paperFacts is what a paper says, in a few figures.
func paperFacts(p study.Paper) []pages.Fact {
	var list []pages.Fact
	add := func(name, format string, values ...any) {
		list = append(list, pages.Fact{Name: name, Value: fmt.Sprintf(format, values...)})
	}
	white := func(w *study.White) {
		switch {
		case w == nil:
		case w.Kelvin > 0:
			add("White", "%.0f K", w.Kelvin)
		default:
			add("White", "x %.4f, y %.4f", w.XY.X, w.XY.Y)
		}
	}
	if f := p.Profile; f != nil {
		if f.Name != "" {
			add("Called", "%s", seen(f.Name))
		}
		if f.Made > 0 {
			add("Made", "%s", date(time.UnixMilli(f.Made).UTC()))
		}
		white(f.White)
		for _, t := range f.Tones {
			if t.Channel == "grey" && t.Gamma > 0 {
				add("Gamma", "%.2f", t.Gamma)
			}
		}
		if f.Correction != nil {
			add("Correction", "%s", map[bool]string{true: "yes", false: "one that changes nothing"}[f.Correction.Changes])
		}
	}
	if f := p.Readings; f != nil {
		add("Patches", "%d", f.Patches)
		if l := f.Light; l != nil {
			if l.Luminance > 0 {
				add("Luminance", "%.1f cd/m²", l.Luminance)
			}
			white(l.White)
		}
		if len(f.Groups) > 0 {
			for _, s := range f.Groups[0].By {
				if s.Formula == "ΔE00" {
					add("ΔE00", "average %.2f, largest %.2f", s.Mean, s.Largest)
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
		i := pages.Item{Title: "A sitting at " + strings.ToLower(title(seen(x.Conditions.Screen))[:1]) + title(seen(x.Conditions.Screen))[1:], Text: []string{x.broken}}
		if x.Conditions.Screen == "" {
			i.Title = "A sitting"
		}
		i.Buttons = []pages.Button{{Action: "odd-save", ID: x.ID, Label: "Save it as it was found"}}
		if x.Version <= headings && a.fixed() == "" {
			i.Buttons = append(i.Buttons, a.removal("odd-delete", x.ID, "Delete", "Delete it for good")...)
		}
		list = append(list, i)
	}
	for _, o := range a.journal.book.odd {
		id := o.Drawer + "/" + o.Key
		i := pages.Item{Title: "What was decided about a screen", Text: []string{"It is damaged."}, Buttons: []pages.Button{{Action: "odd-save", ID: id, Label: "Save it as it was found"}}}
		if o.Drawer == Papers {
			i.Title = "A profile or readings"
		}
		if o.newer {
			i.Text = []string{"A newer version of this program wrote it. Load the page again to get that version."}
		} else if a.fixed() == "" {
			i.Buttons = append(i.Buttons, a.removal("odd-delete", id, "Delete", "Delete it for good")...)
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
