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
	apart := incomparable(earlier, later)
	for i := range check.Aspects {
		c.Aspects = append(c.Aspects, differ(check.Aspects[i], pick(earlier.Findings, check.Aspects[i]), pick(later.Findings, check.Aspects[i]), apart))
	}
	for _, a := range check.Extras {
		if e, l := pick(earlier.Extras, a), pick(later.Extras, a); e != nil && l != nil {
			c.Aspects = append(c.Aspects, differ(a, e, l, apart))
		}
	}
	switch {
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

func pick(list []Finding, a check.Aspect) *Finding {
	for i := range list {
		if list[i].Aspect == a {
			return &list[i]
		}
	}
	return nil
}

func differ(a check.Aspect, e, l *Finding, apart string) AspectDifference {
	d := AspectDifference{Aspect: a, Earlier: e, Later: l}
	switch {
	case e == nil || l == nil:
		d.Why = "One of the records says nothing of it."
	case apart != "":
		d.Why = apart
	case a == check.Handling && e.Quantity == "" && l.Quantity == "" && e.Verdict != NotChecked && l.Verdict != NotChecked:
		// Found by probes, without a figure.
		d.Known, d.Moved = true, e.Verdict != l.Verdict && e.Verdict != Unsure && l.Verdict != Unsure
	case e.Quantity == "" || l.Quantity == "":
		d.Why = "It was not checked in both."
	case e.Quantity != l.Quantity:
		d.Why = fmt.Sprintf("Other quantities were estimated: %s, then %s.", e.Quantity, l.Quantity)
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
