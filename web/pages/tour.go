package pages

import "example.org/plumb/web/words"

// A stop is one station of the tour.
type stop struct{ id, name string }

func stations() []stop {
	return []stop{
		{"ask", words.Say("Tomas asks")}, {"look", words.Say("Ines looks")}, {"report", words.Say("Her report")},
		{"proof", words.Say("What is hidden")}, {"decide", words.Say("The decision")}, {"watch", words.Say("Keeping watch")},
	}
}

func tourAsked() []Fact {
	return []Fact{
		{Name: words.Say("How long"), Value: words.Say("about 8 minutes")},
		{Name: words.Say("Would be sent"), Value: words.Say("the report, and each answer only if she wants; sealed, for Tomas alone")},
		{Name: words.Say("Would not be sent"), Value: words.Say("anything else, and nothing before she presses Send")},
	}
}

// tourHides is what the kitchen laptop hides of the orchard at dusk.
func tourHides() []HidesLine {
	return []HidesLine{
		{ID: "shadows", What: words.Say("Shadows shown as black"), Words: words.Say("The crates under the trees, and most of the grass."), Figure: words.Say("%d %% of the picture (%d to %d %%)", 14, 11, 17), Lo: 11, At: 14, Hi: 17},
		{What: words.Say("Tones that are shifted"), Words: words.Say("Middle tones look darker than they are meant to."), Figure: words.Say("%s %% (%s to %s %%)", words.Number(3.1, 1), words.Number(1.4, 1), words.Number(5.2, 1)), Lo: 1.4, At: 3.1, Hi: 5.2},
	}
}

func tourDecisions() []Fact {
	return []Fact{
		{Name: words.Say("Orchard at dusk"), Value: words.Say("changes asked"), Concern: words.Say("“The crates can’t be made out.” Not seen on her screen: 14 % of the picture.")},
		{Name: words.Say("Pears, page 12"), Value: words.Say("approved"), Concern: words.Say("Nothing hidden that her check could have found, for light and shade.")},
		{Name: words.Say("Signed"), Value: words.Say("by both, with keys that only their browsers have")},
	}
}

// tourChapter is a screen whose tones have moved.
func tourChapter() Chapter {
	c := Course{ID: "tour", Name: words.Say("Studio left: gamma"), Min: 1.9, Max: 2.6, BandLo: 1.95, BandHi: 2.35, Places: 2, Moved: true,
		Say: words.Say("Moved, %s against the baseline (%s to %s): two sittings in a row lie above what all error bars together leave room for. He calibrates again.", "+"+words.Number(0.17, 2), "+"+words.Number(0.08, 2), "+"+words.Number(0.26, 2))}
	verdicts := []string{"holds", "holds", "holds", "unsure", "unsure"}
	for i, p := range []struct {
		day   float64
		date  int
		month string
		at    float64
	}{{20516, 4, "March", 2.20}, {20580, 7, "May", 2.23}, {20645, 11, "July", 2.19}, {20705, 9, "September", 2.36}, {20768, 11, "November", 2.38}} {
		c.Points = append(c.Points, CoursePoint{Day: p.day, When: words.Day(p.date, p.month, 2026), Lo: p.at - 0.08, At: p.at, Hi: p.at + 0.08, Verdict: verdicts[i], Baseline: i == 0, Moved: i > 2})
	}
	return Chapter{Courses: []Course{c}}
}
