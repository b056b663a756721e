package app

import (
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// expected is what the sitting that is prepared holds the screen against; nil for an ordinary one.
func (a *App) expected() *check.Expected {
	if Whole && a.aimed() {
		return a.after.expect
	}
	return nil
}

// aimed tells whether the sitting that is prepared was asked for beside a profile or readings.
func (a *App) aimed() bool { return Whole && a.after.sitting }

// unresumed goes on where no unfinished sitting is to be continued: to what the page is for.
func (a *App) unresumed() {
	if Whole && a.browser.Page == "after" {
		a.after.passed = true
		a.openAfter()
		return
	}
	a.prepare()
}

// aimedFor says what a sitting that was asked for beside a profile or readings is about.
func (a *App) aimedFor() []string {
	if e := a.expected(); e != nil {
		return []string{
			words.Say("This sitting is about the profile %s: it asks most where the screen would look different without the profile's correction.", seen(e.Profile)),
			words.Say("Leave the screen, and what loads the correction, as they are when you work."),
		}
	}
	return []string{words.Say("This sitting asks what no reading says: tone and greys as they arrive, steps, and how even the light is.")}
}

// correctionLine is what a sitting found of a profile's correction, as its report says it.
func correctionLine(r report.Record) pages.CorrectionLine {
	c := r.Correction
	if c == nil {
		return pages.CorrectionLine{}
	}
	v := pages.CorrectionLine{Profile: seen(c.Profile), Seen: words.Found(c.Seen), Cause: words.Found(c.Cause), Remedy: words.Found(c.Remedy), Figure: loadingFigure(c)}
	v.Word, v.Verdict = loadingWords(c.Loading)
	v.Link = screenMode{r.Conditions.Screen, r.Conditions.Mode}.at("/after")
	return v
}

func loadingWords(l report.Loading) (word, verdict string) {
	switch l {
	case report.IsLoaded:
		return words.Say("Loaded"), "holds"
	case report.NotLoaded:
		return words.Say("Not loaded"), "off"
	case report.Neither:
		return words.Say("Neither with nor without it"), "off"
	}
	return words.Say("Can't tell"), "unsure"
}

// loadingFigure is how probable each of the three is.
func loadingFigure(c *report.Correction) string {
	per := func(p float64) string {
		switch {
		case p > 0.99:
			return words.Say("over 99 %")
		case p < 0.01:
			return words.Say("under 1 %")
		}
		return words.Number(100*p, 0) + " %"
	}
	return words.Say("loaded %s, not loaded %s, something else %s", per(c.Loaded), per(c.Bare), per(c.Neither))
}
