package report

import (
	"fmt"
	"math"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// of fills the finding of an aspect that has no words of its own elsewhere.
func (f *Finding) of(a check.Aspect, p screen.Profile, found check.Results, aim screen.Aim) {
	switch {
	case a == check.Neutrals && found.Neutrals != nil:
		f.neutrals(p, found, aim)
	case a == check.Smoothness && found.Smoothness != nil:
		f.smoothness(p, found, aim)
	case a == check.Evenness && found.Evenness != nil:
		f.evenness(p, found.Evenness, aim)
	case a == check.ColourRange && found.Reach != nil:
		f.reach(p, found.Reach, aim)
	case a == check.Channels && found.Channels != nil:
		f.channels(found.Channels)
	case a == check.Angle && found.Angle != nil:
		f.angle(found.Angle)
	case a == check.White && found.White != nil:
		f.white(found.White)
	}
}

// neutrals fills the finding of grey tint.
func (f *Finding) neutrals(p screen.Profile, found check.Results, aim screen.Aim) {
	n := found.Neutrals
	if linesDisagree(found.Tone) {
		f.Seen = "Row lines and column lines do not agree."
		f.Why = "A tint judged against lines that the panel alters cannot be trusted."
		return
	}
	t := f.verdict(p, aim)
	f.Quantity = string(screen.GreyTint)
	f.Mean = n.Tint.Mean()
	f.Lo, f.Hi = TintInterval(n.Tint)
	f.AllowedLo, f.AllowedHi = t.Lo, t.Hi
	pink, yellow, code := strongest(n)
	words := tintWords(pink, yellow)
	switch {
	case f.Verdict == Holds || words == "":
		f.Seen = "Greys have no tint against this screen's own white that would matter."
	default:
		f.Seen = fmt.Sprintf("Greys are %s than this screen's own white, most near level %d.", words, code)
	}
	f.Smallest = fmt.Sprintf("A tint of about %.4f in u'v'.", t.Hi+1.28*n.Tint.SD())
	if f.Verdict == Unsure {
		f.Why = settle(n.Tint, t.Hi, f.Judgements)
	}
	for i, blind := range n.Blind {
		if blind > 0.5 {
			f.Why = join(f.Why, fmt.Sprintf("The answers along %s came much as by chance, so nothing is claimed along it.", axisWords[i]))
		}
	}
}

// seenTint is a tint, u'v', that most viewers see: about twice what one ΔE00 is; ours.
const seenTint = 0.002

// TintInterval returns the interval of the greatest tint of greys, u'v', as it is told. Where its lower end is a tint that most viewers do not see it begins at none:
// a distance is never below that, and every central interval leaves it out, though most screens lie there. It then holds half of what a central one leaves out besides.
func TintInterval(e psychophysics.Estimate) (lo, hi float64) {
	lo, hi = e.Interval(certainty)
	if lo < seenTint {
		lo = 0
	}
	return lo, hi
}

// axisWords names the axes of screen.Hues.
var axisWords = [2]string{"pinker and greener", "yellower and bluer"}

// strongest returns the mean tint of the level at which it is the greatest, u'v', and that level's code.
func strongest(n *check.NeutralsResult) (pink, yellow float64, code int) {
	worst := -1.0
	for _, l := range n.Levels {
		a, b := l.Tint[0].Mean(), l.Tint[1].Mean()
		if d := screen.Length(a, b); d > worst {
			worst, pink, yellow, code = d, a, b, int(math.Round(255*l.Signal))
		}
	}
	return pink, yellow, code
}

// tintWords says in plain words how a tint looks; empty where it is below what most viewers see.
func tintWords(pink, yellow float64) string {
	a, b := "", ""
	switch {
	case pink > seenTint:
		a = "pinker"
	case pink < -seenTint:
		a = "greener"
	}
	switch {
	case yellow > seenTint:
		b = "yellower"
	case yellow < -seenTint:
		b = "bluer"
	}
	if a != "" && b != "" {
		return a + " and " + b
	}
	return a + b
}

// smoothness fills the finding of effective bits.
func (f *Finding) smoothness(p screen.Profile, found check.Results, aim screen.Aim) {
	m := found.Smoothness
	t := f.verdict(p, aim)
	f.Quantity = string(screen.Bits)
	f.estimate(m.Bits)
	f.AllowedLo, f.AllowedHi = t.Lo, 8
	bits, sure := likeliest(m.Bits.At, m.Bits.Mass)
	missing := m.Missing.Mean()
	switch {
	case sure < sureOfBits:
		f.Seen = "Some single steps were seen and some were not."
	case bits < 8:
		f.Seen = fmt.Sprintf("Greys come in steps as of %.0f bits: about %.0f of the 255 single steps are missing and others are doubled.", bits, missing)
	case missing > 8:
		f.Seen = fmt.Sprintf("About %.0f of the 255 single steps are missing, as where the range of the signal is stretched or squeezed.", missing)
	default:
		f.Seen = "Every single step of grey that was asked about can be seen."
	}
	f.Smallest = fmt.Sprintf("Steps that merge, for a viewer who sees from %.1f just noticeable differences on.", m.Threshold.Mean())
	if f.Verdict == Unsure {
		f.Why = settle(m.Bits, t.Lo, f.Judgements)
		if m.Threshold.Mean() > 2.5 {
			f.Why = "Single steps lie below what this viewer sees, so missing ones cannot be told from ones that are there."
		}
	}
}

// sureOfBits is how probable a depth must be to be said in words.
const sureOfBits = 0.7

// likeliest returns the value of the greatest mass.
func likeliest(at, mass []float64) (value, p float64) {
	for i, m := range mass {
		if m > p {
			value, p = at[i], m
		}
	}
	return value, p
}

// evenness fills the finding of places of the screen.
func (f *Finding) evenness(p screen.Profile, e *check.EvennessResult, aim screen.Aim) {
	t := f.verdict(p, aim)
	f.Quantity = string(screen.Unevenness)
	f.estimate(e.Worst)
	f.AllowedLo, f.AllowedHi = t.Lo, t.Hi
	worst, at, corners := 0.0, 0, 0.0
	n := e.Grid
	for i, place := range e.Places {
		l := place.Mean()
		if math.Abs(l) > math.Abs(worst) {
			worst, at = l, i
		}
		if (i/n == 0 || i/n == n-1) && (i%n == 0 || i%n == n-1) {
			corners += l / 4
		}
	}
	word := "darker"
	if worst > 0 {
		word = "lighter"
	}
	switch {
	case f.Verdict == Holds:
		f.Seen = "No place is much darker or lighter than the middle."
	case corners < 0.7*worst && worst < 0:
		f.Seen = fmt.Sprintf("The screen falls off towards its corners, by about %.0f %% of the light.", 100*-math.Expm1(corners))
	default:
		f.Seen = fmt.Sprintf("The %s is %s than the middle, by about %.0f %% of the light.", check.PlaceName(n, at), word, 100*math.Abs(math.Expm1(worst)))
	}
	f.Smallest = fmt.Sprintf("A place about %.0f %% darker or lighter than the middle.", 100*(t.Hi+1.28*e.Worst.SD()))
	if f.Verdict == Unsure {
		f.Why = settle(e.Worst, t.Hi, f.Judgements)
	}
	if len(e.Tint.At) > 0 {
		lo, hi := e.Tint.Interval(certainty)
		f.Seen += fmt.Sprintf(" Places differ in tint from the middle by %.3f to %.3f in u'v'; ISO 12646:2008 allows 0.010.", lo, hi)
	}
}

// channels fills the finding of the gammas of red, green and blue.
func (f *Finding) channels(c *check.ChannelsResult) {
	f.Quantity = "largest difference of two channels' gamma"
	f.estimate(c.Spread)
	f.Why = "A second look at what neutrals say; no purpose rests on it."
	f.Seen = fmt.Sprintf("Gamma of red %.2f, of green %.2f and of blue %.2f.", c.Gamma[0].Mean(), c.Gamma[1].Mean(), c.Gamma[2].Mean())
	f.Smallest = fmt.Sprintf("A difference of about %.2f.", 1.28*2*c.Spread.SD())
}

// angle fills the finding of the viewing angle.
func (f *Finding) angle(a *check.AngleResult) {
	f.Quantity = "gamma at the bottom less that at the top"
	f.estimate(a.Shift)
	f.AllowedLo, f.AllowedHi = -check.AngleShift, check.AngleShift
	f.Within = a.Shift.Within(f.AllowedLo, f.AllowedHi)
	f.Verdict = judge(f.Within)
	f.Why = "No purpose rests on it: move your head, and what you judge, to the middle."
	switch {
	case f.Verdict == Holds:
		f.Seen = "Tones are the same at the top and at the bottom of the screen."
	case a.Shift.Mean() > 0:
		f.Seen = "Middle tones are darker at the bottom of the screen than at the top."
	default:
		f.Seen = "Middle tones are darker at the top of the screen than at the bottom."
	}
	f.Smallest = fmt.Sprintf("A difference of gamma of about %.2f.", check.AngleShift+1.28*a.Shift.SD())
}

// white fills the finding of white against a reference.
func (f *Finding) white(w *check.WhiteResult) {
	f.Quantity = string(screen.WhiteOffset)
	f.estimate(w.Offset)
	f.AllowedHi = check.WhiteTolerance
	f.Within = w.Offset.Within(0, check.WhiteTolerance)
	f.Verdict = judge(f.Within)
	f.Why = "As good as the reference and its light; no purpose rests on it."
	if words := tintWords(w.Pink.Mean(), w.Yellow.Mean()); words != "" && f.Verdict != Holds {
		f.Seen = fmt.Sprintf("White is %s than the reference.", words)
	} else {
		f.Seen = "White is near the reference."
	}
	f.Smallest = fmt.Sprintf("A white that is off by about %.3f in u'v'.", check.WhiteTolerance+1.28*w.Offset.SD())
}

// reach fills the finding of the colour range.
func (f *Finding) reach(p screen.Profile, c *check.ReachResult, aim screen.Aim) {
	f.Quantity = string(screen.Reach)
	f.estimate(c.Reach)
	f.Why = ""
	t, needed := check.Strictest(f.Aspect, aim)
	if needed {
		f.verdict(p, aim)
		f.AllowedLo, f.AllowedHi = t.Lo, 1
	}
	switch {
	case f.Lo > 0.05:
		f.Seen = "Colours go beyond sRGB, and the browser lets them."
	case c.Unseen > 0.3:
		f.Seen = "No mark beyond sRGB was seen, which may be the viewer's eye as well as the screen."
	default:
		f.Seen = "No colour beyond sRGB was seen: an ordinary screen, or a wide one that the browser does not use."
	}
	f.Smallest = "Half of what Display P3 has beyond sRGB, in red or in green."
	if !needed {
		f.Why = "For information: nothing in this aim lies beyond sRGB."
	} else if f.Verdict == Unsure {
		f.Why = settle(c.Reach, t.Lo, f.Judgements)
	}
}

// join puts a sentence behind another.
func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}

// plots fills in what the report draws.
func (r *Record) plots(found check.Results) {
	if n := found.Neutrals; n != nil {
		for _, l := range n.Levels {
			r.Greys = append(r.Greys, Grey{int(math.Round(255 * l.Signal)), *span(l.Tint[0]), *span(l.Tint[1])})
		}
	}
	if e := found.Evenness; e != nil {
		r.Places = &Places{Rows: e.Grid, Cols: e.Grid, Tint: span(e.Tint)}
		for _, place := range e.Places {
			r.Places.Light = append(r.Places.Light, *span(place))
		}
	}
	if c := found.Reach; c != nil {
		r.Reach = &Reach{*span(c.Red), *span(c.Green)}
	}
}
