package report

import (
	"fmt"
	"math"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// A Difference is what became of one estimate from one sitting to another. Where Known is false nothing can be said, and Why tells it.
type Difference struct {
	Known  bool
	Moved  bool    // by more than both error bars allow
	By     float64 // later less earlier
	Lo, Hi float64 // its 90 % interval
	Why    string
}

// A Comparison is two records side by side. Aspects are those of check.Aspects, then extras that both have.
type Comparison struct {
	Score   Difference
	Aspects []AspectDifference
}

// An AspectDifference is one aspect of both. Earlier or Later is nil where that record has no such finding.
type AspectDifference struct {
	Aspect         check.Aspect
	Earlier, Later *Finding
	Difference
}

// Compare holds a later record against an earlier one. A change is claimed only where the 90 % interval of the difference leaves out 0.
func Compare(earlier, later Record) Comparison {
	var c Comparison
	for _, a := range check.Aspects {
		c.Aspects = append(c.Aspects, differ(a, earlier, later))
	}
	for _, a := range check.Extras {
		if finding(earlier, a) != nil && finding(later, a) != nil {
			c.Aspects = append(c.Aspects, differ(a, earlier, later))
		}
	}
	switch apart := incomparable(earlier, later); {
	case apart != "":
		c.Score.Why = apart
	case !earlier.Score.Given || !later.Score.Given:
		c.Score.Why = "One of the sittings has no score."
	default:
		e, l := earlier.Score, later.Score
		c.Score = subtract(e.At, e.Lo, e.Hi, l.At, l.Lo, l.Hi)
	}
	return c
}

// incomparable says why nothing of two records can be compared; empty when something can.
func incomparable(earlier, later Record) string {
	switch {
	case len(earlier.Void) > 0 || len(later.Void) > 0:
		return "One of the sittings cannot be used."
	case earlier.Plan.Aim != later.Plan.Aim:
		e, _ := screen.AimByID(earlier.Plan.Aim)
		l, _ := screen.AimByID(later.Plan.Aim)
		return fmt.Sprintf("The aims differ: %s, then %s.", e.Name, l.Name)
	}
	return ""
}

// finding returns what a record says of an aspect, nil where it says nothing.
func finding(r Record, a check.Aspect) *Finding {
	for _, list := range [][]Finding{r.Findings, r.Extras} {
		for i := range list {
			if list[i].Aspect == a {
				return &list[i]
			}
		}
	}
	return nil
}

// unlike says why what two records say of an aspect cannot be compared; empty when it can.
func unlike(a check.Aspect, earlier, later Record) string {
	e, l := finding(earlier, a), finding(later, a)
	if e == nil || l == nil {
		return "One of the records says nothing of it."
	}
	if why := incomparable(earlier, later); why != "" {
		return why
	}
	checked := func(f *Finding) bool { return f.Quantity != "" || a == check.Handling && f.Verdict != NotChecked }
	switch {
	case !checked(e) || !checked(l):
		return "It was not checked in both."
	case e.Quantity != l.Quantity:
		return fmt.Sprintf("Other quantities were estimated: %s, then %s.", e.Quantity, l.Quantity)
	case a == check.Evenness && earlier.grid() != later.grid():
		return fmt.Sprintf("Other places were looked at: %s, then %s.", earlier.grid(), later.grid())
	case a == check.White && earlier.Plan.Reference != later.Plan.Reference:
		return fmt.Sprintf("White was held against another reference: %s, then %s.", earlier.Plan.Reference, later.Plan.Reference)
	}
	return ""
}

// grid says how many places were looked at.
func (r Record) grid() string {
	if r.Places == nil {
		return "none"
	}
	return fmt.Sprintf("%d by %d", r.Places.Rows, r.Places.Cols)
}

// opposed reports whether two verdicts contradict each other.
func opposed(a, b Verdict) bool { return a == Holds && b == Off || a == Off && b == Holds }

func differ(a check.Aspect, earlier, later Record) AspectDifference {
	e, l := finding(earlier, a), finding(later, a)
	d := AspectDifference{Aspect: a, Earlier: e, Later: l, Difference: Difference{Why: unlike(a, earlier, later)}}
	switch {
	case d.Why != "":
	case e.Quantity == "": // found by probes, without a figure
		d.Known, d.Moved = true, opposed(e.Verdict, l.Verdict)
	default:
		d.Difference = subtract(e.Mean, e.Lo, e.Hi, l.Mean, l.Lo, l.Hi)
	}
	return d
}

// subtract takes both intervals as those of independent estimates. Either arm of an interval is kept by itself, because many are not symmetric: what pulls the
// later down and the earlier up makes the lower arm.
func subtract(eAt, eLo, eHi, lAt, lLo, lHi float64) Difference {
	d := Difference{Known: true, By: lAt - eAt}
	d.Lo = d.By - math.Hypot(lAt-lLo, eHi-eAt)
	d.Hi = d.By + math.Hypot(lHi-lAt, eAt-eLo)
	d.Moved = d.Lo > 0 || d.Hi < 0
	return d
}
