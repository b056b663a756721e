package app

import (
	"fmt"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/web/pages"
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
			"This sitting is about the profile " + seen(e.Profile) + ": it asks most where the screen would look different without the profile's correction.",
			"Leave the screen, and what loads the correction, as they are when you work.",
		}
	}
	return []string{"This sitting asks what no reading says: tone and greys as they arrive, steps, and how even the light is."}
}

// correctionLine is what a sitting found of a profile's correction, as its report says it.
func correctionLine(r report.Record) pages.CorrectionLine {
	c := r.Correction
	if c == nil {
		return pages.CorrectionLine{}
	}
	v := pages.CorrectionLine{Profile: seen(c.Profile), Seen: c.Seen, Cause: c.Cause, Remedy: c.Remedy, Figure: loadingFigure(c)}
	v.Word, v.Verdict = loadingWords(c.Loading)
	v.Link = screenMode{r.Conditions.Screen, r.Conditions.Mode}.at("/after")
	return v
}

func loadingWords(l report.Loading) (word, verdict string) {
	switch l {
	case report.IsLoaded:
		return "Loaded", "holds"
	case report.NotLoaded:
		return "Not loaded", "off"
	case report.Neither:
		return "Neither with nor without it", "off"
	}
	return "Can't tell", "unsure"
}

// loadingFigure is how probable each of the three is.
func loadingFigure(c *report.Correction) string {
	per := func(p float64) string {
		switch {
		case p > 0.99:
			return "over 99 %"
		case p < 0.01:
			return "under 1 %"
		}
		return fmt.Sprintf("%.0f %%", 100*p)
	}
	return fmt.Sprintf("loaded %s, not loaded %s, something else %s", per(c.Loaded), per(c.Bare), per(c.Neither))
}
