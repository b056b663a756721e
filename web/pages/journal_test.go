package pages

import (
	"math"
	"strings"
	"testing"
)

func init() {
	golden["journal"] = JournalList(JournalView{
		Screens: []JournalScreen{
			{"Studio left", []JournalMode{
				{ID: "a", Mode: "sRGB preset", Looked: "Last looked at 3 days ago.", Due: "A look is due today.", Overdue: true, Score: Score{Given: true, At: 71, Lo: 64, Hi: 77}, Purposes: []Purpose{{"Colour", "off", ""}}, Moved: "Moved since the baseline: tone.", Has: "2 sittings.", Link: "/check?screen=studio+left"},
				{ID: "b", Mode: "<native>", Looked: "Not looked at yet.", Has: "1 profile.", Link: "/check"},
			}},
		},
		Odd:     []Item{{"A sitting", []string{"It is damaged."}, []Button{{"odd-save", "s", "Save it as it was found", false}}}},
		Buttons: []Button{{"save-journal", "", "Save the journal as a file", false}},
	})
	golden["journal-empty"] = JournalList(JournalView{Away: "The journal is open in another tab."})
	golden["journal-chapter"] = JournalChapter(chapter())
	golden["journal-zero"] = JournalChapter(Chapter{})
	golden["journal-brought"] = JournalBrought(Notice{Title: "A journal from elsewhere", Lead: "New in it: 2 sittings.", Text: []string{"What is here stays."}, Buttons: []Button{{"bring", "", "Keep it here", true}}})
	golden["journal-frame"] = JournalFrame("Studio left, sRGB preset")
	golden["screen-names"] = ScreenNames(ScreenFields{Known: []Option{{Value: "0", Label: "Studio left, native", Chosen: true}}, Screen: "studio left", Mode: "native"})
	golden["screen-last"] = ScreenLast(ScreenFields{Last: "Last looked at 40 days ago. A look has been due since 12 November 2026.", Due: true})
}

// chapter is a screen with two courses, one of which moved, and a profile.
func chapter() Chapter {
	point := func(day float64, when string, lo, at, hi float64) CoursePoint {
		return CoursePoint{Day: day, When: when, Lo: lo, At: at, Hi: hi, Verdict: "holds"}
	}
	tone := Course{ID: "0", Name: "Tone, gamma", Min: 1.55, Max: 2.75, BandLo: 1.95, BandHi: 2.35, Places: 2, Moved: true, Say: "Moved, +0.18 against the baseline (+0.09 to +0.27), since 12 October 2026.",
		Points: []CoursePoint{point(100, "3 June 2026, 17:40", 2.1, 2.2, 2.3), point(100.01, "3 June 2026, 17:55", 2.12, 2.2, 2.29), point(231, "12 October 2026, 9:05", 2.3, 2.38, 2.47)}}
	tone.Points[0].Baseline, tone.Points[2].Moved = true, true
	bits := Course{ID: "1", Name: "Smoothness, effective bits", Unit: "bits", Min: 5, Max: 8, BandLo: 7.5, BandHi: 8, Places: 1, Say: "Found once so far.", Points: []CoursePoint{point(231, "12 October 2026, 9:05", 7.1, 7.6, 8)}}
	return Chapter{
		ID: "a", Name: "studio left", Mode: "sRGB preset", Lead: "3 sittings and 1 profile, since 3 June 2026.", Due: "The next look is due on 9 November 2026.",
		Interval: []Option{{Value: "28", Label: "Every 4 weeks", Chosen: true}}, Moved: []string{"Tone, gamma: moved."}, Courses: []Course{tone, bits, {ID: "2", Name: "Not drawn"}},
		Marks: []CourseMark{{99, "2 June 2026, 10:00", "june.icc"}},
		Sittings: []ChapterSitting{
			{ID: "s2", When: "12 October 2026, 9:05", Who: "Ines, standard", Score: Score{Given: true, At: 71, Lo: 64, Hi: 77}, Purposes: []Purpose{{"Colour", "off", ""}}, Buttons: []Button{{"sitting-open", "s2", "Open", true}}, More: []Button{{"sitting-delete", "s2", "Delete it for good", false}}, Open: true, Move: true},
			{ID: "s1", When: "3 June 2026, 17:40", Void: true, Baseline: true, Text: []string{"Its report is whole."}},
		},
		Papers: []ChapterPaper{{ID: "p", When: "2 June 2026, 10:00", Kind: "Profile", Name: "june.icc", Facts: []Fact{{"White", "6504 K", ""}}, Buttons: []Button{{"paper-save", "p", "Save the file", false}}}},
		Names:  []Item{{"Studio left, sRGB preset", nil, []Button{{"apart", "0", "Take it apart", false}}}, {"Studio L", nil, []Button{{"apart", "1", "Take it apart", false}}}},
		Others: []Option{{Value: "b", Label: "Kitchen laptop"}}, Check: "/check?screen=studio+left", Lay: "/after?screen=studio+left",
		Buttons: []Button{{"delete-chapter", "a", "Delete this screen", false}},
	}
}

// Points lie where their days and values are, in their order, and never upon each other.
func TestCourseGeometry(t *testing.T) {
	v := chapter()
	from, to := v.span()
	if from != 99 || to != 231 {
		t.Fatalf("days %v to %v", from, to)
	}
	c := v.Courses[0]
	list := c.spots(from, to)
	if got := list[2].x; got != courseRight-10 {
		t.Errorf("the last point is at %v", got)
	}
	if list[1].x-list[0].x < 12.9 {
		t.Errorf("points of one day at %v and %v", list[0].x, list[1].x)
	}
	if list[0].at >= list[0].lo || list[0].at <= list[0].hi {
		t.Errorf("a greater value is not higher: %+v", list[0])
	}
	if d := list[0].shape() + list[1].shape() + list[2].shape(); strings.Count(d, "h10v10h-10Z") != 1 || strings.Count(d, "l8 8") != 1 || strings.Count(d, "a4.5") != 2 {
		t.Errorf("shapes %s", d)
	}
	// Many sittings of one day keep their order within the plot.
	many := Course{Min: 0, Max: 1, BandHi: 1}
	for range 60 {
		many.Points = append(many.Points, CoursePoint{Day: 231, Lo: 0.2, At: 0.3, Hi: 0.4})
	}
	list = many.spots(from, to)
	for i := range list {
		if list[i].x < courseLeft || list[i].x > courseRight || i > 0 && list[i].x <= list[i-1].x {
			t.Fatalf("point %d of 60 is at %v", i, list[i].x)
		}
	}
	for name, bad := range map[string]Course{
		"zero":          {},
		"no axis":       {Points: []CoursePoint{{Day: 1}}},
		"backwards":     {Max: 1, Points: []CoursePoint{{Day: 2}, {Day: 1}}},
		"upside down":   {Max: 1, Points: []CoursePoint{{Day: 2, Lo: 1, Hi: 0}}},
		"not a number":  {Max: 1, Points: []CoursePoint{{Day: math.NaN()}}},
		"limits beyond": {Max: 1, BandHi: math.Inf(1), Points: []CoursePoint{{Day: 1}}},
	} {
		if bad.drawn() {
			t.Errorf("%s is drawn", name)
		}
	}
	if first, last := v.days(); first != "2 June 2026" || last != "12 October 2026" {
		t.Errorf("from %s to %s", first, last)
	}
	if s := c.said(); !strings.Contains(s, "3 June 2026, 17:40: 2.20 (2.10 to 2.30)") || !strings.Contains(s, "since 12 October 2026") {
		t.Errorf("said: %s", s)
	}
}
