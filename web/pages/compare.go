package pages

import (
	"strconv"
	"strings"

	"example.org/plumb/web/words"
)

func (c Change) word() string {
	switch c.Kind {
	case "same":
		return words.Say("No change beyond the error bars")
	case "moved":
		return words.Say("Moved")
	}
	return words.Say("Cannot be compared")
}

// short is a score in a few figures.
func (s Score) short() string {
	if !s.Given {
		return words.Say("no score")
	}
	return strconv.Itoa(s.At) + " (" + span(strconv.Itoa(s.Lo), strconv.Itoa(s.Hi)) + ")"
}

// whose is who sat there and when, leaving out what is not known.
func (c Compared) whose() string {
	var parts []string
	for _, s := range []string{c.Viewer, c.When} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, " · ")
}

// known is a condition, or that it is not known.
func known(s string) string {
	if s == "" {
		return words.Say("not known")
	}
	return s
}

// drawn tells whether both estimates can stand on one axis.
func (a ComparedAspect) drawn() bool {
	e, l := a.Earlier.Scale, a.Later.Scale
	return e.drawn() && l.drawn() && e.Min == l.Min && e.Max == l.Max
}

// bandTo is the outline of the allowed band, down to a height.
func (s Scale) bandTo(foot string) string {
	r := s.ruler()
	lo, hi := r.at(s.BandLo), r.at(s.BandHi)
	return "M" + num(lo) + " 3H" + num(max(hi, lo+1)) + "V" + foot + "H" + num(lo) + "Z"
}

// said is both estimates in a sentence, for those who hear the page.
func (a ComparedAspect) said() string {
	e, l := a.Earlier.Scale, a.Later.Scale
	f := l.figure
	return words.Say("%s: earlier %s, 90 %% interval %s to %s; later %s, 90 %% interval %s to %s; allowed %s to %s.", a.Name,
		f(e.At)+e.unit(), f(e.Lo), f(e.Hi), f(l.At)+l.unit(), f(l.Lo), f(l.Hi), f(l.BandLo), f(l.BandHi))
}

// scale is the disagreement of lines as a scale, with the limit on both sides.
func (l Lines) scale() Scale {
	if l.Limit <= 0 {
		return Scale{}
	}
	end := 2 * l.Limit
	return Scale{Min: -end, Max: end, BandLo: -l.Limit, BandHi: l.Limit, Lo: l.Lo, At: l.Difference, Hi: l.Hi, Unit: "%"}
}

// said is the disagreement in a sentence.
func (l Lines) said() string {
	if l.Difference < 0 {
		return words.Say("Lines across look %s %% darker than lines upright (%s to %s). Up to %s %% either way is allowed; beyond it tone is not judged.", tenth(-l.Difference), tenth(l.Lo), tenth(l.Hi), figure(l.Limit))
	}
	return words.Say("Lines across look %s %% lighter than lines upright (%s to %s). Up to %s %% either way is allowed; beyond it tone is not judged.", tenth(l.Difference), tenth(l.Lo), tenth(l.Hi), figure(l.Limit))
}
