package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// certainty is the probability that every interval of a record holds.
const certainty = 0.9

// linesDiffer is the difference of log light between row and column lines above which a panel or connection alters fine lines and no tone curve is
// reported. From simulation: the difference is known to about 4 %.
const linesDiffer = 0.08

// Of records a sitting. program says which build made the record.
func Of(s *check.Sitting, c Conditions, program string) Record {
	plan := s.Plan()
	aim, _ := screen.AimByID(plan.Aim)
	found := s.Results()
	r := Record{Version: Version, Program: program, Plan: plan, Conditions: c, Judgements: slices.Clone(s.Log())}
	profile := found.Profile()
	for _, a := range append(slices.Clone(check.Aspects), check.Extras...) {
		f := Finding{Aspect: a, Seen: "No judgement.", Why: "The sitting ended before this was asked."}
		if why := plan.Skip[a]; why != "" {
			f.Why = why
		}
		f.Judgements = Counted(r.Judgements, a)
		extra := slices.Contains(check.Extras, a)
		switch {
		case a == check.Handling:
			f.handling(c)
		case f.Judgements == 0 && (extra || !s.Asks(a)):
			if plan.Skip[a] == "" {
				f.Why = "A sitting of this length does not ask about it."
				if plan.Expect != nil {
					f.Why = "A sitting that is held against a profile does not ask about it."
				}
			}
		case a == check.Shadows && found.Shadows != nil:
			f.nearEnd(profile, found.Shadows, 0, aim)
		case a == check.Highlights && found.Highlights != nil:
			f.nearEnd(profile, found.Highlights, 255, aim)
		case a == check.Tone && found.Tone != nil:
			f.tone(profile, found.Tone, aim)
		default:
			f.of(a, profile, found, aim)
		}
		if !extra {
			r.Findings = append(r.Findings, f)
		} else if f.Judgements > 0 {
			r.Extras = append(r.Extras, f)
		}
		s.Breath()
	}
	reliable := Reliable(r.Judgements)
	r.Void, r.Notes = reliable.void(), reliable.notes()
	if found.Tone != nil {
		if n := found.Tone.Noise.Mean(); n > 0.07 {
			r.Notes = append(r.Notes, fmt.Sprintf("Line matches scattered by about %.0f %% of the light, more than most viewers' 4 %%. The intervals are wider for it.", 100*n))
		}
		r.Lines = span(found.Tone.RowsColumns)
	}
	r.Scatter = scatter(found)
	if n := found.Neutrals; n != nil {
		for i, blind := range n.Blind {
			if blind > 0.5 {
				r.Notes = append(r.Notes, fmt.Sprintf(visionNote, axisWords[i]))
			}
		}
	}
	if linesDisagree(found.Tone) { // no purpose, curve or score may rest on it
		delete(profile, screen.ToneMargin)
		delete(profile, screen.GreyTint)
		found.Tone, found.Neutrals = nil, nil
	}
	if found.Tone != nil {
		r.Curve = CurveOf(found.Tone, aim)
		s.Breath()
	}
	r.plots(found)
	for use := range check.Uses {
		r.Purposes = append(r.Purposes, judgeUse(use, aim, profile, r.Findings))
	}
	r.score(found, aim, s.Breath)
	r.correction(s, s.Results())
	if len(r.Void) > 0 {
		r.voided()
	}
	return r
}

// span sums an estimate up, nil for one that knows nothing.
func span(e psychophysics.Estimate) *Span {
	if len(e.At) == 0 {
		return nil
	}
	s := &Span{At: e.Mean()}
	s.Lo, s.Hi = e.Interval(certainty)
	return s
}

// Counted returns how many judgements of an aspect its estimate rests on.
func Counted(log []check.Judgement, a check.Aspect) int {
	n := 0
	for _, j := range log {
		if j.Check == a && j.Status == check.Counted && (j.Kind == check.Trial || j.Kind == check.Setting) {
			n++
		}
	}
	return n
}

// verdict judges the finding by the aspect's tolerance for the strictest purpose that needs it.
func (f *Finding) verdict(p screen.Profile, aim screen.Aim) check.Tolerance {
	t, ok := check.Strictest(f.Aspect, aim)
	if !ok {
		panic("report: internal error: no tolerance for " + string(f.Aspect))
	}
	f.Within = check.Among(within(p[t.Quantity], t), company(p, check.Colour, aim))
	f.Verdict = judge(f.Within)
	f.Why = ""
	return t
}

func (f *Finding) estimate(e psychophysics.Estimate) {
	f.Mean = e.Mean()
	f.Lo, f.Hi = e.Interval(certainty)
}

// nearEnd fills the finding of shadows (end 0) or highlights (end 255).
func (f *Finding) nearEnd(p screen.Profile, n *check.NearEnd, end int, aim screen.Aim) {
	t := f.verdict(p, aim)
	e := n.First
	f.estimate(e)
	f.AllowedLo, f.AllowedHi = t.Lo, t.Hi
	if f.Verdict == Unsure {
		f.Why = settle(e, t.Hi, f.Judgements)
	}
	spread := math.Max(f.Hi/f.Mean, 1.05)
	if end == 0 {
		f.Quantity = string(screen.FirstVisible)
		first := int(math.Ceil(e.Quantile(0.5)))
		if first <= 1 {
			f.Seen = "Level 1, the darkest there is, already parts from black."
		} else {
			f.Seen = fmt.Sprintf("Levels 0 to %d look the same black; level %d parts from it.", first-1, first)
		}
		f.Smallest = fmt.Sprintf("Black crushed up to level %.0f.", math.Ceil(t.Hi*spread))
		if f.Verdict != Off { // else the first visible code is the crush's, and the viewer's own limit lies below it
			f.Smallest += fmt.Sprintf(" Crush below level %.0f cannot be told from this viewer's own limit in this room.", math.Max(math.Floor(f.Lo), 1))
		}
	} else {
		// Shown as code values, as people speak of them.
		f.Quantity = "last code below white"
		f.Mean, f.Lo, f.Hi = 255-f.Mean, 255-f.Hi, 255-f.Lo
		f.AllowedLo, f.AllowedHi = 255-t.Hi, 255
		last := 255 - int(math.Ceil(e.Quantile(0.5)))
		f.Seen = fmt.Sprintf("Level %d still parts from white.", last)
		if last < 254 {
			f.Seen = fmt.Sprintf("Levels %d to 255 look the same white; level %d parts from it.", last+1, last)
		}
		f.Smallest = fmt.Sprintf("Lights clipped from level %.0f on.", math.Floor(255-t.Hi*spread))
	}
}

// tone fills the finding of the tone curve.
func (f *Finding) tone(p screen.Profile, t *check.ToneResult, aim screen.Aim) {
	f.verdict(p, aim)
	f.Quantity = string(screen.Gamma)
	f.estimate(t.Gamma)
	f.AllowedLo, f.AllowedHi = aim.Judge().Allowed()
	departure := t.Departure.Mean()
	middle, dark := bent(t, aim, 8, 14), bent(t, aim, 2, 6)
	f.Seen = toneWords(middle, dark)
	if f.Verdict != Holds {
		f.Seen += fmt.Sprintf(" The largest departure from the aim is about %.1f ΔE00, allowed %.0f.", departure, screen.DepartureTolerance)
	}
	f.Smallest = fmt.Sprintf("A gamma error of about %.2f.", screen.GammaTolerance+1.28*t.Gamma.SD())
	if f.Verdict == Unsure {
		f.Why = settle(t.Margin, 1, f.Judgements)
	}
	if linesDisagree(t) { // nothing of it may be read off
		*f = Finding{Aspect: f.Aspect, Judgements: f.Judgements, Seen: "Row lines and column lines do not agree."}
		f.Why = fmt.Sprintf("Row lines and column lines differ by %.0f %% of light: the panel or its connection alters fine lines, and a tone curve judged by them cannot be trusted. A digital connection at the panel's own size, without sharpening, usually cures it.", 100*math.Abs(t.RowsColumns.Mean()))
	}
}

// linesDisagree reports whether row and column lines more likely than not differ too much for a tone curve to be trusted.
func linesDisagree(t *check.ToneResult) bool {
	return t != nil && linesOff(t.RowsColumns)
}

// linesOff is linesDisagree of how row and column lines differ; false where that is not known.
func linesOff(differ psychophysics.Estimate) bool {
	return len(differ.At) > 0 && differ.Within(-linesDiffer, linesDiffer) < 0.5
}

// bent returns the mean L* by which levels from to to (of screen.Steps) depart from the aim; above 0 is lighter.
func bent(t *check.ToneResult, aim screen.Aim, from, to int) float64 {
	sum := 0.0
	for i, each := range lightnesses(t, from, to) {
		lo, hi := aim.Band(screen.Signal(from + i))
		l := 0.0
		for k, at := range each {
			l += t.Weights[k] * at
		}
		switch {
		case l > hi:
			sum += l - hi
		case l < lo:
			sum += l - lo
		}
	}
	return sum / float64(to-from+1)
}

// toneWords says in plain words how middle and dark tones depart, in L*.
func toneWords(middle, dark float64) string {
	const seen = 1.2 // L*, about what an attentive eye notices in a picture; ours
	word := func(d float64) string {
		switch {
		case d > seen:
			return "lighter"
		case d < -seen:
			return "darker"
		}
		return ""
	}
	m, d := word(middle), word(dark)
	switch {
	case m == "" && d == "":
		return "Tones run as intended."
	case m == d:
		return fmt.Sprintf("Dark and middle tones are %s than intended.", m)
	case m == "":
		return fmt.Sprintf("Dark tones are %s than intended.", d)
	case d == "":
		return fmt.Sprintf("Middle tones are %s than intended.", m)
	}
	return fmt.Sprintf("Dark tones are %s and middle tones %s than intended.", d, m)
}

// settle says what would settle an unsure verdict: how many more judgements would narrow the estimate until its limit lies outside.
func settle(e psychophysics.Estimate, limit float64, judgements int) string {
	gap := math.Abs(limit - e.Mean())
	need := gap / 1.28 // SD at which the limit is the 10 % or 90 % point of a normal posterior
	if need <= 0 {
		return "It is so close to the limit that no sitting by eye would settle it."
	}
	more := float64(judgements) * (math.Pow(e.SD()/need, 2) - 1)
	switch {
	case more > 80:
		return "It is so close to the limit that no sitting by eye would settle it."
	case more < 5:
		more = 5
	}
	return fmt.Sprintf("About %.0f more judgements would settle it.", math.Ceil(more/5)*5)
}

// lightnesses returns the L* of each drawn curve at levels from to to (of screen.Steps), by level.
func lightnesses(t *check.ToneResult, from, to int) [][]float64 {
	all := make([][]float64, to-from+1)
	for i := range all {
		all[i] = make([]float64, len(t.Tones))
	}
	for k, tone := range t.Tones {
		light := tone.Curve()
		for i := range all {
			all[i][k] = screen.Lightness(light(screen.Signal(from + i)))
		}
	}
	return all
}

// CurveOf sums up the drawn curves of a tone check.
func CurveOf(t *check.ToneResult, aim screen.Aim) Curve {
	var c Curve
	lightness := lightnesses(t, 0, screen.Steps-1)
	for i := range screen.Steps {
		v := screen.Signal(i)
		e := psychophysics.NewEstimate(lightness[i], t.Weights)
		lo, hi := e.Interval(certainty)
		aimLo, aimHi := aim.Band(v)
		c.Signal, c.At, c.Lo, c.Hi = append(c.Signal, v), append(c.At, e.Mean()), append(c.Lo, lo), append(c.Hi, hi)
		c.AimLo, c.AimHi = append(c.AimLo, aimLo), append(c.AimHi, aimHi)
	}
	return c
}

// judgeUse says whether the screen can carry a purpose, an index of check.Uses.
func judgeUse(use int, aim screen.Aim, p screen.Profile, findings []Finding) Purpose {
	v := Purpose{Name: check.Uses[use].Name}
	all, missing := 1.0, []string{}
	var bad, doubtful []string
	others := company(p, use, aim)
	for _, t := range check.Needs(use, aim) {
		e := p[t.Quantity]
		if len(e.At) == 0 {
			missing = append(missing, string(t.Aspect))
			continue
		}
		w := within(e, t)
		all *= w
		switch judge(check.Among(w, others)) {
		case Off:
			bad = append(bad, string(t.Aspect))
		case Unsure:
			doubtful = append(doubtful, string(t.Aspect))
		}
	}
	if use == check.Colour { // what handles colours matters to nothing else
		for _, f := range findings {
			if f.Aspect != check.Handling {
				continue
			}
			switch f.Verdict {
			case Off:
				bad, all = append(bad, string(f.Aspect)), 0
			case NotChecked:
				missing = append(missing, string(f.Aspect))
			case Unsure:
				doubtful, all = append(doubtful, string(f.Aspect)), min(all, 0.5)
			}
		}
	}
	all = check.Together(all)
	switch {
	case len(bad) > 0 || all < 1-check.SureOff:
		v.Verdict = Off
		v.Why = "Not fit: " + listed(bad) + " off."
		if len(bad) > 0 && len(doubtful) > 0 {
			v.Why = "Not fit: " + listed(bad) + " off; " + listed(doubtful) + " unsure."
		}
		if len(bad) == 0 {
			v.Why = "Not fit: " + listed(doubtful) + " together are too likely to be off."
		}
	case len(missing) > 0:
		v.Verdict = NotChecked
		v.Why = "Not checked: " + listed(missing) + "."
	case all > check.Sure && len(doubtful) == 0:
		v.Verdict, v.Why = Holds, "Fit to decide."
	default:
		v.Verdict = Unsure
		v.Why = "Can't tell yet: " + listed(doubtful) + " unsure."
		if len(doubtful) == 0 {
			v.Why = "Can't tell yet: each aspect holds, but not surely enough all together."
		}
	}
	return v
}

// listed joins words as in a sentence.
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func (r *Record) score(found check.Results, aim screen.Aim, breath func()) {
	if len(found.Profile()) == 0 {
		r.Score.Sentence = "No score: nothing was judged."
		return
	}
	draws := possible(found, aim, r.Plan.Seed)
	breath()
	r.Faults = faults(r, found, draws, aim)
	breath()
	e := score(draws, aim, breath)
	r.Score.Given = true
	r.Score.At = e.Mean()
	r.Score.Lo, r.Score.Hi = shortest(e, certainty)
	guessed := ""
	if found.Neutrals == nil {
		guessed = " Grey tint is in it only as a guess."
	}
	r.Score.Sentence = fmt.Sprintf("of 100: the share of ordinary picture content that this screen shows as intended, relative to its own white; %.0f to %.0f with 90 %% certainty. White, brightness, primaries and evenness are not in it.%s", r.Score.Lo, r.Score.Hi, guessed)
}

// voided takes back every claim of a sitting that cannot be used; what was judged and estimated stays to be read.
func (r *Record) voided() {
	for i := range r.Findings {
		if r.Findings[i].Verdict != NotChecked {
			r.Findings[i].Verdict, r.Findings[i].Why = NotChecked, "The sitting cannot be used."
		}
	}
	for i := range r.Purposes {
		r.Purposes[i].Verdict, r.Purposes[i].Why = NotChecked, "The sitting cannot be used."
	}
	r.Faults = nil
	r.Score = Score{Sentence: "No score: the sitting cannot be used."}
}
