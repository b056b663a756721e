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
	profile := Profile(found)
	for _, a := range check.Aspects {
		f := Finding{Aspect: a, Seen: "No judgement.", Why: "There is no check for this yet."}
		switch {
		case plan.Skip[a] != "":
			f.Why = plan.Skip[a]
		case a == check.Shadows || a == check.Highlights || a == check.Tone:
			f.Why = "The sitting ended before this was asked."
		}
		f.Judgements = Counted(r.Judgements, a)
		switch {
		case a == check.Shadows && found.Shadows != nil:
			f.nearEnd(profile, found.Shadows, 0)
		case a == check.Highlights && found.Highlights != nil:
			f.nearEnd(profile, found.Highlights, 255)
		case a == check.Tone && found.Tone != nil:
			f.tone(profile, found.Tone, aim)
		}
		r.Findings = append(r.Findings, f)
	}
	reliable := Reliable(r.Judgements)
	r.Void, r.Notes = reliable.void(), reliable.notes()
	if found.Tone != nil {
		if n := found.Tone.Noise.Mean(); n > 0.07 {
			r.Notes = append(r.Notes, fmt.Sprintf("Line matches scattered by about %.0f %% of the light, more than most viewers' 4 %%. The intervals are wider for it.", 100*n))
		}
	}
	if linesDisagree(found.Tone) { // no purpose, curve or score may rest on it
		delete(profile, screen.ToneMargin)
		found.Tone = nil
	}
	if found.Tone != nil {
		r.Curve = CurveOf(found.Tone, aim)
	}
	for _, u := range Uses {
		r.Purposes = append(r.Purposes, u.judge(profile))
	}
	r.score(found, aim)
	if len(r.Void) > 0 {
		r.voided()
	}
	return r
}

// Profile returns the estimates of what a sitting found.
func Profile(found check.Results) screen.Profile {
	p := screen.Profile{}
	if found.Shadows != nil {
		p[screen.FirstVisible] = found.Shadows.First
	}
	if found.Highlights != nil {
		p[screen.FirstBelow] = found.Highlights.First
	}
	if t := found.Tone; t != nil {
		p[screen.Gamma], p[screen.Departure], p[screen.ToneMargin] = t.Gamma, t.Departure, t.Margin
		p[screen.RowsColumns], p[screen.Noise] = t.RowsColumns, t.Noise
	}
	return p
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

// verdict judges the finding by the aspect's tolerance for light and shade.
func (f *Finding) verdict(p screen.Profile) Tolerance {
	t, ok := tolerance(f.Aspect)
	if !ok {
		panic("report: internal error: no tolerance for " + string(f.Aspect))
	}
	f.Within = within(p[t.Quantity], t)
	f.Verdict = judge(f.Within)
	f.Why = ""
	return t
}

func (f *Finding) estimate(e psychophysics.Estimate) {
	f.Mean = e.Mean()
	f.Lo, f.Hi = e.Interval(certainty)
}

// nearEnd fills the finding of shadows (end 0) or highlights (end 255).
func (f *Finding) nearEnd(p screen.Profile, n *check.NearEnd, end int) {
	t := f.verdict(p)
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
	if f.Verdict == Off && n.Mismatch > 0.8 {
		f.Seen += " The edge is where a mix-up of limited and full range puts it: look for that setting in the graphics output or the display's menu."
	}
}

// tone fills the finding of the tone curve.
func (f *Finding) tone(p screen.Profile, t *check.ToneResult, aim screen.Aim) {
	f.verdict(p)
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
	return t != nil && t.RowsColumns.Within(-linesDiffer, linesDiffer) < 0.5
}

// bent returns the mean L* by which levels from to to (of screen.Steps) depart from the aim; above 0 is lighter.
func bent(t *check.ToneResult, aim screen.Aim, from, to int) float64 {
	sum := 0.0
	for i := from; i <= to; i++ {
		lo, hi := aim.Band(screen.Signal(i))
		l := 0.0
		for k, tone := range t.Tones {
			l += t.Weights[k] * screen.Lightness(tone.Light(screen.Signal(i)))
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

// CurveOf sums up the drawn curves of a tone check.
func CurveOf(t *check.ToneResult, aim screen.Aim) Curve {
	var c Curve
	lightness := make([]float64, len(t.Tones))
	for i := range screen.Steps {
		v := screen.Signal(i)
		for k, tone := range t.Tones {
			lightness[k] = screen.Lightness(tone.Light(v))
		}
		e := psychophysics.NewEstimate(lightness, t.Weights)
		lo, hi := e.Interval(certainty)
		aimLo, aimHi := aim.Band(v)
		c.Signal, c.At, c.Lo, c.Hi = append(c.Signal, v), append(c.At, e.Mean()), append(c.Lo, lo), append(c.Hi, hi)
		c.AimLo, c.AimHi = append(c.AimLo, aimLo), append(c.AimHi, aimHi)
	}
	return c
}

// judge says whether the screen can carry the purpose.
func (u Use) judge(p screen.Profile) Purpose {
	v := Purpose{Name: u.Name}
	all, missing := 1.0, []string{}
	var bad, doubtful []string
	for _, t := range u.Needs {
		e := p[t.Quantity]
		if len(e.At) == 0 {
			missing = append(missing, string(t.Aspect))
			continue
		}
		w := within(e, t)
		all *= w
		switch judge(w) {
		case Off:
			bad = append(bad, string(t.Aspect))
		case Unsure:
			doubtful = append(doubtful, string(t.Aspect))
		}
	}
	for _, a := range u.Also {
		missing = append(missing, string(a))
	}
	switch {
	case len(bad) > 0 || all < 1-sure:
		v.Verdict = Off
		v.Why = "Not fit: " + listed(append(bad, doubtful...)) + " off."
		if len(bad) == 0 {
			v.Why = "Not fit: " + listed(doubtful) + " together are too likely to be off."
		}
	case len(missing) > 0:
		v.Verdict = NotChecked
		v.Why = "Not checked: " + listed(missing) + "."
	case all > sure:
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

func (r *Record) score(found check.Results, aim screen.Aim) {
	if found.Shadows == nil && found.Highlights == nil && found.Tone == nil {
		r.Score.Sentence = "No score: nothing was judged."
		return
	}
	e := score(found, aim, r.Plan.Seed)
	r.Score.Given = true
	r.Score.At = e.Quantile(0.5)
	r.Score.Lo, r.Score.Hi = e.Interval(certainty)
	r.Score.Sentence = fmt.Sprintf("of 100: the share of ordinary picture content, in greys, that this screen shows as intended relative to its own white; %.0f to %.0f with 90 %% certainty. White, brightness, primaries and evenness are not in it, and grey tint only as a guess.", r.Score.Lo, r.Score.Hi)
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
	r.Score = Score{Sentence: "No score: the sitting cannot be used."}
}
