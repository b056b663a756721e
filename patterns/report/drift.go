package report

import (
	"math"
	"slices"

	"example.org/plumb/patterns/check"
)

// A Point is what one sitting found of a quantity.
type Point struct {
	Sitting      int   // index in the list of sittings
	At           int64 // ms since 1970 UTC, when it ended
	Mean, Lo, Hi float64
	Verdict      Verdict // of the whole aspect
	Why          string  // why it is not held against the baseline; empty where it is
}

// A Course is what became of one quantity of a screen from sitting to sitting.
type Course struct {
	Aspect               check.Aspect
	Quantity             string  // empty of handling, which has a verdict and no figure
	Part                 string  // whose figure it is, in words such as "top left"; empty for the whole aspect
	AllowedLo, AllowedHi float64 // as the latest sitting has it
	Points               []Point
	Moved                bool    // beyond what the error bars of all that is watched allow
	By, Lo, Hi           float64 // later less baseline: the latest estimate of the move, and its 90 % interval; all 0 where there is none
	Since                int64   // ms since 1970 UTC of the first sitting that shows it; 0 where nothing moved
	Why                  string  // why nothing can be said; empty otherwise
}

// alarm is how often anything at all is flagged, at most, of a screen that stays as it is and is looked at so many times.
const (
	alarm = 0.05
	looks = 6
)

// Fewest is how many sittings, the baseline included, can flag a move: a single later one that is odd is a reason to look again, and no more.
const Fewest = 3

// Watch holds the sittings of one screen, in the order of time, against that at index baseline. There is a course for each of check.Aspects and of check.Extras that
// some sitting has a verdict or a figure of; behind an aspect follow those of its parts that moved. Sittings before the baseline are listed and not counted, and so
// are those that cannot be held against it.
//
// A move is flagged once two sittings show it. Of screens that stay as they are and are looked at six times, the baseline included, at most one in twenty has any
// flag. Viewers without a name are taken for one viewer, rooms that were not told of for one room.
func Watch(sittings []Record, baseline int) []Course {
	if baseline < 0 || baseline >= len(sittings) {
		return nil
	}
	var list []Course
	watched := 0
	for _, a := range slices.Concat(check.Aspects, check.Extras) {
		c := follow(a, sittings, baseline)
		if len(c.Points) == 0 {
			continue
		}
		if c.Quantity != "" && len(c.counted()) >= Fewest {
			watched++
		}
		list = append(list, c)
	}
	var all []Course
	for _, c := range list {
		if c.Quantity == "" {
			c.turn()
			all = append(all, c)
			continue
		}
		parts := c.parts(sittings)
		// The alarms are shared out evenly: among aspects, and within an aspect among its parts, which hang together: they are worth about the root of their number.
		share := alarm / float64(max(watched, 1)) / math.Sqrt(float64(1+len(parts)))
		c.judge(sittings, share)
		all = append(all, c)
		for _, p := range parts {
			if p.judge(sittings, share); p.Moved {
				all = append(all, p)
			}
		}
	}
	return all
}

// follow lists what the sittings found of an aspect. A course without a point is none.
func follow(a check.Aspect, sittings []Record, baseline int) Course {
	c := Course{Aspect: a}
	base := sittings[baseline]
	for _, r := range append([]Record{base}, sittings...) {
		if f := finding(r, a); f != nil && c.Quantity == "" {
			c.Quantity = f.Quantity
		}
	}
	for i, r := range sittings {
		f := finding(r, a)
		if f == nil || f.Quantity != c.Quantity || f.Quantity == "" && f.Verdict == NotChecked {
			continue
		}
		p := Point{Sitting: i, At: r.Conditions.Ended, Verdict: f.Verdict, Why: unlike(a, base, r)}
		if i < baseline {
			p.Why = "It was before the baseline."
		}
		p.figure(Span{f.Mean, f.Lo, f.Hi})
		c.AllowedLo, c.AllowedHi = f.AllowedLo, f.AllowedHi
		c.Points = append(c.Points, p)
	}
	switch list := c.counted(); {
	case len(list) == 0 || list[0].Sitting != baseline:
		c.Why = "The baseline says nothing of it that could be used."
	case len(list) < 2:
		c.Why = "There is nothing yet to hold against the baseline."
	}
	return c
}

// figure sets the figure, which comes from outside and may be anything that JSON can say.
func (p *Point) figure(s Span) {
	const most = 1e6
	p.Mean, p.Lo, p.Hi = s.At, s.Lo, s.Hi
	if !(math.Abs(s.At) < most && math.Abs(s.Lo) < most && math.Abs(s.Hi) < most && s.Lo <= s.Hi) && p.Why == "" {
		p.Why = "Its figures make no sense."
	}
}

// counted are the points that are held against each other, the baseline first.
func (c Course) counted() []Point {
	var list []Point
	for _, p := range c.Points {
		if p.Why == "" {
			list = append(list, p)
		}
	}
	return list
}

// turn judges a course that has verdicts alone: what probes find does not scatter.
func (c *Course) turn() {
	list := c.counted()
	if c.Why != "" {
		return
	}
	first, last := list[0], list[len(list)-1]
	if c.Moved = opposed(first.Verdict, last.Verdict); !c.Moved {
		return
	}
	for i := len(list) - 1; i > 0 && opposed(first.Verdict, list[i].Verdict); i-- {
		c.Since = list[i].At
	}
}

// greyPart is the code of the grey whose tint is watched along both axes: the darkest that is judged (screen.TintFrom), where most tints are strongest.
const greyPart = 64

// parts are the courses of an aspect's parts: where a tint turns or one place darkens, the greatest of all may stay as it is.
func (c Course) parts(sittings []Record) []Course {
	if c.Why != "" {
		return nil
	}
	var spans func(r Record) []Span
	var names []string
	base := sittings[c.counted()[0].Sitting]
	switch {
	case c.Aspect == check.Neutrals:
		names = []string{"pinker", "yellower"}
		spans = func(r Record) []Span {
			for _, g := range r.Greys {
				if g.Code == greyPart {
					return []Span{g.Pink, g.Yellow}
				}
			}
			return nil
		}
	case c.Aspect == check.Evenness && base.Places != nil && base.Places.Rows == base.Places.Cols:
		for i := range base.Places.Light {
			names = append(names, check.PlaceName(base.Places.Rows, i))
		}
		spans = func(r Record) []Span {
			if r.Places == nil {
				return nil
			}
			return r.Places.Light
		}
	}
	var list []Course
	for i, name := range names {
		p := Course{Aspect: c.Aspect, Quantity: c.Quantity, Part: name, AllowedLo: -c.AllowedHi, AllowedHi: c.AllowedHi}
		for _, point := range c.Points {
			all := spans(sittings[point.Sitting])
			if len(all) != len(names) {
				continue
			}
			point.figure(all[i])
			p.Points = append(p.Points, point)
		}
		list = append(list, p)
	}
	return list
}

// judge fills in whether a course of figures moved, with share as the chance of a false alarm over as many looks.
func (c *Course) judge(sittings []Record, share float64) {
	if c.Why != "" {
		return
	}
	s := newSeries(*c, sittings)
	n := len(s.at)
	if n < 2 {
		c.Why = "There is nothing yet to hold against the baseline."
		return
	}
	m, h, of, since := s.drift(bar(share, n))
	if c.Moved = since > 0; c.Moved {
		c.Since = s.when[since]
	} else {
		h, of = s.step(n-1), []int{0, n - 1}
		m = s.move(h, of)
	}
	c.By, c.Lo, c.Hi = s.span(m, h, of, c.Moved)
}
