package pages

import (
	"strconv"
	"strings"
)

func (c Change) word() string {
	switch c.Kind {
	case "same":
		return "No change beyond the error bars"
	case "moved":
		return "Moved"
	}
	return "Cannot be compared"
}

// short is a score in a few figures.
func (s Score) short() string {
	if !s.Given {
		return "no score"
	}
	return strconv.Itoa(s.At) + " (" + strconv.Itoa(s.Lo) + " to " + strconv.Itoa(s.Hi) + ")"
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
		return "not known"
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
	one := func(s Scale) string {
		return figure(s.At) + s.unit() + ", 90 % interval " + figure(s.Lo) + " to " + figure(s.Hi)
	}
	l := a.Later.Scale
	return a.Name + ": earlier " + one(a.Earlier.Scale) + "; later " + one(l) + "; allowed " + figure(l.BandLo) + " to " + figure(l.BandHi) + "."
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
	one := func(v float64) string {
		t := strconv.FormatFloat(v, 'f', 1, 64)
		if t == "-0.0" {
			t = "0.0"
		}
		return strings.Replace(t, "-", "−", 1)
	}
	way, v := "lighter", l.Difference
	if v < 0 {
		way, v = "darker", -v
	}
	return "Lines across look " + one(v) + " % " + way + " than lines upright (" + one(l.Lo) + " to " + one(l.Hi) + "). Up to " + figure(l.Limit) + " % either way is allowed; beyond it tone is not judged."
}
