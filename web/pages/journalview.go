package pages

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

// A JournalView is the screens of a browser.
type JournalView struct {
	Away    string          // why nothing can be changed here, in words; empty when it can
	Unread  bool            // what is kept could not be read
	Screens []JournalScreen // the one looked at last first
	Odd     []Item          // what is kept and cannot be read
	Buttons []Button        // about the whole journal
}

// A JournalScreen is a screen with its modes.
type JournalScreen struct {
	Name  string
	Modes []JournalMode
}

// A JournalMode is a screen in one of its modes, in a few lines.
type JournalMode struct {
	ID       string
	Mode     string    // its name; empty where it has none
	Looked   string    // when it was last looked at, in words
	Due      string    // when the next look is due, in words; empty where none is
	Overdue  bool      // that day has come
	Void     bool      // the last sitting cannot be used
	Score    Score     // of the last sitting
	Purposes []Purpose // of the last sitting
	Moved    string    // what has moved, in a sentence; empty where nothing can be said
	Has      string    // how many sittings and papers, in words
	Link     string    // where a check of it begins
}

// A Chapter is everything that is known of a screen in one of its modes.
type Chapter struct {
	ID, Name, Mode string
	Lead           string   // how much is known and since when
	Due            string   // when the next look is due, in words; empty where none is
	Overdue        bool     // that day has come
	Away           string   // why nothing can be changed here, in words; empty when it can
	Asked          bool     // the interval was told
	Interval       []Option // days from one look to the next
	Moved          []string // what has moved, and what cannot be said, in sentences
	Courses        []Course
	Marks          []CourseMark // profiles and readings, on every plot
	Sittings       []ChapterSitting
	Papers         []ChapterPaper
	Names          []Item   // under which things count as this screen; more than one where it was renamed or merged
	Others         []Option // other screens that it can be merged with, or a sitting moved to
	Check, Lay     string   // where a check of it begins; where a profile is laid beside it
	Buttons        []Button // about it as a whole
}

// A ChapterSitting is one sitting at it.
type ChapterSitting struct {
	ID, When, Who string
	Text          []string // what is odd about it
	Void          bool
	Score         Score
	Purposes      []Purpose
	Baseline      bool
	Buttons       []Button
	More          []Button // that are wanted rarely
	Open          bool     // those are shown
	Move          bool     // the list of screens to move it to is open
}

// A ChapterPaper is a profile or readings.
type ChapterPaper struct {
	ID, When, Kind, Name string
	Facts                []Fact
	Buttons              []Button
	Move                 bool
}

// A Course is what became of one quantity over time.
type Course struct {
	ID, Name, Unit string
	Min, Max       float64 // ends of the upright axis
	BandLo, BandHi float64 // allowed
	Places         int     // decimals that are known
	Points         []CoursePoint
	Moved          bool
	Say            string // what became of it, in a sentence
}

// A CoursePoint is what one sitting found.
type CoursePoint struct {
	Day        float64 // days since 1970 UTC
	When       string
	Lo, At, Hi float64 // with its 90 % interval
	Verdict    string
	Why        string // why it is not held against the baseline; empty where it is
	Baseline   bool   // the others are held against it
	Moved      bool   // it is one of those that show a move
}

// A CourseMark is something that happened.
type CourseMark struct {
	Day        float64 // days since 1970 UTC
	When, Name string
}

// The inside of a course's plot, in the drawing's units.
const (
	courseLeft, courseRight = 58.0, 470.0
	courseTop, courseFoot   = 14.0, 154.0
)

func (c Course) drawn() bool {
	if len(c.Points) == 0 || !finite(c.Min, c.Max, c.BandLo, c.BandHi) || c.Max <= c.Min {
		return false
	}
	for i, p := range c.Points {
		if !finite(p.Day, p.Lo, p.At, p.Hi) || p.Lo > p.Hi || i > 0 && p.Day < c.Points[i-1].Day {
			return false
		}
	}
	return true
}

// span is the days that all plots of a chapter show: those of every point and mark.
func (v Chapter) span() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, c := range v.Courses {
		for _, p := range c.Points {
			from, to = min(from, p.Day), max(to, p.Day)
		}
	}
	for _, m := range v.Marks {
		from, to = min(from, m.Day), max(to, m.Day)
	}
	if to-from < 1 {
		from, to = from-1, to+1
	}
	return from, to
}

// A courseSpot is where something lies on a plot: across, and the lower end, middle and upper end of its interval.
type courseSpot struct {
	CoursePoint
	x, lo, at, hi float64
}

// spots lays points out by their days. Where two would cover each other they stand side by side, in their order.
func (c Course) spots(from, to float64) []courseSpot {
	x, y := ruler{from, to, courseLeft + 10, courseRight - 10}, c.upright()
	var list []courseSpot
	for _, p := range c.Points {
		list = append(list, courseSpot{p, x.at(p.Day), y.at(p.Lo), y.at(clamp(p.At, p.Lo, p.Hi)), y.at(p.Hi)})
	}
	gap := min(13, (courseRight-courseLeft-20)/float64(max(1, len(list))))
	for i := 1; i < len(list); i++ {
		list[i].x = max(list[i].x, list[i-1].x+gap)
	}
	for i := len(list) - 1; i >= 0; i-- {
		end := courseRight - 10
		if i+1 < len(list) {
			end = list[i+1].x - gap
		}
		list[i].x = min(list[i].x, end)
	}
	return list
}

func (c Course) upright() ruler { return ruler{c.Min, c.Max, courseFoot, courseTop} }

// band is the outline of what is allowed.
func (c Course) band() string {
	y := c.upright()
	lo, hi := y.at(c.BandLo), y.at(c.BandHi)
	return "M" + num(courseLeft) + " " + num(hi) + "H" + num(courseRight) + "V" + num(max(lo, hi+1)) + "H" + num(courseLeft) + "Z"
}

// stroke is the line of an interval with a cap at either end.
func (s courseSpot) stroke() string {
	return "M" + num(s.x) + " " + num(s.lo) + "V" + num(s.hi) + "M" + num(s.x-4) + " " + num(s.lo) + "h8M" + num(s.x-4) + " " + num(s.hi) + "h8"
}

// shape is the mark of a point: a square for the baseline, a diamond where something has moved, else a disc.
func (s courseSpot) shape() string {
	x, y := num(s.x), num(s.at)
	switch {
	case s.Baseline:
		return "M" + num(s.x-5) + " " + num(s.at-5) + "h10v10h-10Z"
	case s.Moved:
		return "M" + x + " " + num(s.at-8) + "l8 8l-8 8l-8 -8Z"
	}
	return "M" + num(s.x-4.5) + " " + y + "a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0Z"
}

// thread joins the estimates.
func thread(list []courseSpot) string {
	var b strings.Builder
	for i, s := range list {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(num(s.x) + " " + num(s.at))
	}
	return b.String()
}

// lines are the upright lines at which something happened.
func (v Chapter) lines(from, to float64) string {
	x := ruler{from, to, courseLeft + 10, courseRight - 10}
	d := ""
	for _, m := range v.Marks {
		d += "M" + num(x.at(m.Day)) + " " + num(courseTop) + "V" + num(courseFoot)
	}
	return d
}

// levels are the ticks of the upright axis: the ends of what is allowed where they are on it, and the ends of the axis, as far as they do not cover each other.
func (c Course) levels() []tick {
	y := c.upright()
	var out []tick
	var taken []float64
	for _, v := range []float64{c.BandLo, c.BandHi, c.Min, c.Max} {
		at := y.at(v)
		if v < c.Min || v > c.Max || slices.ContainsFunc(taken, func(t float64) bool { return math.Abs(t-at) < 16 }) {
			continue
		}
		taken = append(taken, at)
		out = append(out, tick{num(at), c.figure(v)})
	}
	return out
}

// figure is a value with as many places as are known.
func (c Course) figure(v float64) string {
	t := strconv.FormatFloat(v, 'f', c.Places, 64)
	if strings.Trim(t, "-0.") == "" {
		t = strings.TrimPrefix(t, "-")
	}
	return words.Decimal(strings.Replace(t, "-", "−", 1))
}

// reach is two figures as the ends of an interval.
func (c Course) reach(lo, hi float64) string {
	return words.As("%s to %s", "an interval", c.figure(lo), c.figure(hi))
}

func (c Course) unit() string {
	if c.Unit == "" {
		return ""
	}
	return " " + c.Unit
}

// said is the course in sentences, for those who hear the page.
func (c Course) said() string {
	var b strings.Builder
	b.WriteString(words.Say("%s, allowed %s to %s.", c.Name, c.figure(c.BandLo), c.figure(c.BandHi)+c.unit()))
	for _, p := range c.Points {
		b.WriteString(" " + p.When + ": " + c.figure(p.At) + " (" + c.reach(p.Lo, p.Hi) + ").")
		if p.Why != "" {
			b.WriteString(" " + p.Why)
		}
	}
	b.WriteString(" " + c.Say)
	return b.String()
}

// days are the ends of the axis of time in words, of the points and marks that lie there.
func (v Chapter) days() (first, last string) {
	from, to := math.Inf(1), math.Inf(-1)
	take := func(day float64, when string) {
		when, _, _ = strings.Cut(when, ", ")
		if day < from {
			from, first = day, when
		}
		if day > to {
			to, last = day, when
		}
	}
	for _, c := range v.Courses {
		for _, p := range c.Points {
			take(p.Day, p.When)
		}
	}
	for _, m := range v.Marks {
		take(m.Day, m.When)
	}
	if first == last {
		last = ""
	}
	return first, last
}

// shown are the courses that can be drawn.
func (v Chapter) shown() []Course {
	var list []Course
	for _, c := range v.Courses {
		if c.drawn() {
			list = append(list, c)
		}
	}
	return list
}

// interval is the question after the days from one look to the next.
func (v Chapter) interval() []Question {
	return []Question{{Name: "interval", Label: words.Say("Look at it again"), Advice: words.Say("Counted from the last sitting. Screens change slowly with their age, and at once with a setting."), Options: v.Interval}}
}

// aside tells whether some point is not held against the baseline.
func (v Chapter) aside() bool {
	return slices.ContainsFunc(v.shown(), func(c Course) bool {
		return slices.ContainsFunc(c.Points, func(p CoursePoint) bool { return p.Why != "" })
	})
}

func (v Chapter) heading() string {
	if v.Mode == "" {
		return v.Name
	}
	return v.Name + ", " + v.Mode
}

// ScreenFields are a screen's name and its mode, chosen among those that are known or typed.
type ScreenFields struct {
	Known        []Option // by their place in the list; empty: none is known
	Screen, Mode string
	Last         string // what is known of the one chosen, in words
	Due          bool   // a look at it is due
}

// chapterName is a screen with its mode in one line.
func chapterName(screen, mode string) string { return Chapter{Name: screen, Mode: mode}.heading() }
