package app

import (
	"math"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// What three witnesses are to each other.
const (
	agree   = "agree"
	differ  = "differ"
	unsure  = "unsure"  // what the eye found does not settle it
	alone   = "alone"   // one of them can tell
	unsaid  = "open"    // who could tell was not asked
	missing = "missing" // nobody laid down what would tell
	better  = "better"  // the eye found less of a fault than was promised
)

// A hearing is what the three say, on the way to the page.
type hearing struct {
	profile  *study.Profile
	readings *study.Readings
	eye      *report.Record // nil where none was had, or it cannot be used
	browser  string         // what the browser made of the picture with a profile
}

// heard is what profile, readings and eye say of the screen.
func (a *App) heard() pages.Heard {
	profile, first, _ := a.after.three()
	if profile == nil && first == nil {
		return pages.Heard{}
	}
	x, r := a.eye()
	h := hearing{profile: profile.profile(), readings: first.readings(), browser: a.profile}
	stranger := h.profile != nil && h.profile.Class != "display"
	class := ""
	if stranger {
		class, h.profile = h.profile.Class, nil
	}
	v := pages.Heard{Title: screenMode{a.form.screen, a.form.mode}.called()}
	if line(a.form.screen) == "" {
		v.Title = words.Say("The three together")
	}
	zone := a.host.Clock.Wall().Location()
	var at []string
	if h.profile != nil && h.profile.Made > 0 {
		at = append(at, words.Say("Profile of %s", dayOnly(h.profile.Made, zone)))
	}
	void := x != nil && len(r.Void) > 0
	if x != nil && !void {
		h.eye = &r
		at = append(at, words.Say("Looked at on %s", day(time.UnixMilli(r.Conditions.Ended).In(zone))))
	}
	v.When = strings.Join(at, " · ")
	v.Rows = h.rows()
	v.Lead = lead(v.Rows, h)
	if void {
		v.Wants = append(v.Wants, words.Say("The last sitting can't be used, so the eye is not heard: %s", strings.Join(foundAll(r.Void), " ")))
	}
	if stranger {
		v.Wants = append(v.Wants, words.Say("The profile is of the class \"%s\" and not of a display, so it promises nothing of this screen.", words.Found(class)))
	}
	if h.eye != nil && h.eye.Plan.Aim != a.form.aim {
		m, _ := screen.AimByID(h.eye.Plan.Aim)
		v.Wants = append(v.Wants, words.Say("The eye's answers are held against the aim \"%s\", which was chosen when it looked.", words.Found(m.Name)))
	}
	if h.readings != nil && h.readings.UnitOpen {
		v.Wants = append(v.Wants, words.Say("Nothing in the readings says what XYZ is in. Say it under \"Held against\", and brightness can be told."))
	}
	if h.profile != nil && h.profile.Expected == nil {
		v.Wants = append(v.Wants, words.Say("This profile has no correction that an eye could tell from none, so the sitting looks at the screen against its aim."))
	}
	_, d := check.Plan{Length: check.Short}.About()
	label := words.Say("Check by eye, %s", minutes(d))
	if h.eye != nil {
		label = words.Say("Check by eye again, %s", minutes(d))
	}
	v.Ways = []pages.Button{{Action: "eye", Label: label, Main: h.eye == nil}}
	if x != nil {
		v.Ways = append(v.Ways, pages.Button{Action: "report", Label: words.Say("The eye's whole report")})
	}
	if profile != nil && !profile.kept || first != nil && !first.kept {
		v.Ways = append(v.Ways, pages.Button{Action: "keep", Label: words.Say("Keep in the journal")})
	}
	v.Ways = append(v.Ways, pages.Button{Action: "print", Label: words.Say("Print")})
	return v
}

// dayOnly is the day of a moment, ms since 1970 UTC, in words.
func dayOnly(ms int64, zone *time.Location) string {
	return date(time.UnixMilli(ms).In(zone))
}

// finding is what the eye found of an aspect; nil where it did not, or was not asked.
func (h *hearing) finding(a check.Aspect) *report.Finding {
	if h.eye == nil {
		return nil
	}
	for i := range h.eye.Findings {
		if f := &h.eye.Findings[i]; f.Aspect == a && f.Verdict != report.NotChecked {
			return f
		}
	}
	return nil
}

// notAsked is what stands where the eye could say something and was not asked.
func notAsked() string { return words.Say("not asked yet") }

// eyeSaid is a finding as the eye says it.
func (h *hearing) eyeSaid(a check.Aspect) pages.Said {
	if h.eye == nil {
		return pages.Said{Text: notAsked()}
	}
	f := h.finding(a)
	if f == nil {
		return pages.Said{Text: words.Say("not judged in this sitting")}
	}
	v := aspect(*f)
	return pages.Said{Text: v.Seen, Figure: v.Figure, Verdict: v.Verdict}
}

func (h *hearing) rows() []pages.HeardRow {
	list := []pages.HeardRow{h.correction(), h.tone(), h.neutrals(), h.steps(), h.evenness(), h.handling(), h.white(), h.brightness(), h.colours()}
	if h.readings != nil {
		list = append(list, h.repeat())
	}
	return list
}

// correction: is what the profile rests on in the video card now?
func (h *hearing) correction() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Correction"), Asks: words.Say("Is it loaded now?")}
	var carries *study.Correction
	if p := h.profile; p != nil {
		carries = p.Correction
		switch {
		case carries == nil:
			r.Profile = pages.Said{Text: words.Say("It carries none.")}
		case !carries.Changes:
			r.Profile = pages.Said{Text: words.Say("It carries one that changes nothing.")}
		default:
			most := 0.0
			for _, k := range carries.Costs {
				if math.Abs(k.Greatest) > math.Abs(most) {
					most = k.Greatest
				}
			}
			r.Profile = pages.Said{Text: words.Say("It holds only while its correction is loaded."), Figure: words.Say("moves codes by up to %s", plus(most, 1))}
		}
	}
	var c *report.Correction
	if h.eye != nil {
		c = h.eye.Correction
	}
	switch {
	case c != nil:
		_, verdict := loadingWords(c.Loading)
		r.Eye = pages.Said{Text: words.Found(c.Seen), Figure: loadingFigure(c), Verdict: verdict}
		r.Cause, r.Remedy = words.Found(c.Cause), words.Found(c.Remedy)
		switch c.Loading {
		case report.IsLoaded:
			r.Accord, r.Says = agree, words.Say("The screen is as the profile says, with its correction.")
		case report.NotLoaded:
			r.Accord, r.Says = differ, words.Say("What the profile promises does not hold now, and neither do the readings.")
		case report.Neither:
			r.Accord, r.Says = differ, words.Say("The screen is not as the profile says, with its correction or without.")
		default:
			r.Accord, r.Says = unsure, ""
		}
	case h.profile == nil:
		r.Accord, r.Says = unsaid, words.Say("Lay down the profile, and the eye can tell.")
		r.Eye = pages.Said{Text: words.Say("needs the profile")}
	case h.profile.Expected == nil:
		r.Accord, r.Says = alone, words.Say("There is nothing to load.")
	case h.eye == nil:
		r.Eye = pages.Said{Text: notAsked()}
		r.Accord, r.Says = unsaid, words.Say("No file can tell: only a look at the screen can.")
	default:
		r.Eye = pages.Said{Text: words.Say("The sitting was not about this profile.")}
		r.Accord = unsaid
	}
	return r
}

// slackLight is by how much, in L*, a profile and a screen on which it holds may differ at any level. Ours: a profile is off by about ΔE00 1, a screen drifts by as much.
const slackLight = 2

// tone: does the curve that was promised arrive?
func (h *hearing) tone() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Tone"), Asks: words.Say("Are the tones between black and white where they should be?"), Eye: h.eyeSaid(check.Tone)}
	g := grey(h.profile)
	if g != nil {
		r.Profile = pages.Said{Text: words.Say("%s against its aim.", capital(toneOff(g))), Figure: words.Say("gamma about %s", fixed(g.Gamma, 2))}
		if g.Off == 0 {
			r.Profile.Text = words.Say("Greys keep to the aim.")
		} else if math.Abs(g.Off) < 0.5 {
			r.Profile.Text = words.Say("Greys are on the aim, as good as exactly.")
		} else if math.Abs(g.Off) > slackLight {
			r.Profile.Verdict = "off"
			r.Says = words.Say("It was calibrated to another curve, or not to its aim. Choose the curve that was meant under \"Held against\".")
		}
	}
	r.Readings = h.greysRead("average ΔE00 of greys")
	f := h.finding(check.Tone)
	switch {
	case f == nil:
		r.Accord = h.twoOnly(r)
	case g == nil:
		r.Accord = alone
	default:
		far, at, wide := h.curveGap(g)
		switch {
		case far > slackLight:
			r.Accord = differ
			r.Says = words.Say("Near code %d the screen is %s than promised, by at least %s L* beyond the error bar.", at.code, lighterOr(at.way), fixed(far, 1))
			r.Cause, r.Remedy = h.movedCause()
		case wide > 15:
			r.Accord, r.Says = unsure, words.Say("The eye's error bar is too wide to tell. A longer sitting narrows it.")
		default:
			r.Accord, r.Says = agree, words.Say("What the eye saw fits the profile's curve within the error bar.")
		}
	}
	return r
}

// gapAt is a level of a curve and which way the screen is off there.
type gapAt struct {
	code int
	way  float64
}

// curveGap is by how much, in L*, the profile's greys lie outside the band that the eye found: at the worst level, which is that, and how wide the band is in the middle.
func (h *hearing) curveGap(g *study.Tone) (far float64, at gapAt, wide float64) {
	c := h.eye.Curve
	for i, s := range c.Signal {
		code := min(max(round(255*s), 0), 255)
		l := g.L[code]
		below, above := c.Lo[i]-l, l-c.Hi[i] // the screen is lighter, darker
		if d := max(below, above); d > far {
			far, at = d, gapAt{code, below - above}
		}
		if s > 0.3 && s < 0.7 {
			wide = max(wide, c.Hi[i]-c.Lo[i])
		}
	}
	return far, at, wide
}

// movedCause is why a screen is not as its profile says: what was found of the correction explains it, or else the screen was changed.
func (h *hearing) movedCause() (cause, remedy string) {
	if c := h.eye.Correction; c != nil && c.Loading == report.NotLoaded {
		return words.Say("The correction is not loaded; see above."), words.Say("Load it, then look again.")
	}
	return words.Say("The screen is in another mode than when it was calibrated, its controls were touched, or something bends tones on the way: a night tint, a picture mode, a second correction."),
		words.Say("Set the mode and the controls as they were, switch off what bends tones, and look again. If it stays, calibrate anew.")
}

// greysRead is what readings say of greys.
func (h *hearing) greysRead(what string) pages.Said {
	if h.readings == nil {
		return pages.Said{}
	}
	g, ok := group(h.readings, "greys")
	if !ok {
		return pages.Said{Text: words.Say("no greys among the patches")}
	}
	s := by(g, mainFormula)
	v := pages.Said{Text: words.Say("Greys are %s.", howFar(s.Mean)), Figure: words.Say("ΔE00 %s on average, %s at most, of %d", fixed(s.Mean, 2), fixed(s.Largest, 2), g.Patches)}
	v.Verdict = judgedBy(h.readings, study.SetProof, what)
	return v
}

// howFar is a mean ΔE00 in words.
func howFar(mean float64) string {
	switch {
	case mean <= 0.5:
		return words.Say("on their aim, as far as anybody can see")
	case mean <= 1.5:
		return words.Say("near their aim")
	case mean <= 3:
		return words.Say("off their aim, by what an eye sees side by side")
	}
	return words.Say("far off their aim")
}

// twoOnly is what a question comes to of which the eye found nothing.
func (h *hearing) twoOnly(r pages.HeardRow) string {
	switch {
	case h.eye == nil:
		return unsaid
	case r.Profile.Text == "" && r.Readings.Text == "":
		return missing
	}
	return alone
}

// slackTint is by how much, in u'v', the tint that a profile tells and that of a screen on which it holds may differ. Ours, about ΔE00 1.5.
const slackTint = 0.003

// tintMuch is the tint in u'v' from which on greys are off, as it is for what the eye finds; see check.Uses.
const tintMuch = 0.01

// neutrals: are greys without a tint?
func (h *hearing) neutrals() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Neutrals"), Asks: words.Say("Are greys without a tint against white?"), Eye: h.eyeSaid(check.Neutrals)}
	if p := h.profile; p != nil && len(p.Tint) > 0 {
		r.Profile = pages.Said{Text: words.Say("Greys are neutral against its white."), Figure: words.Say("at most %s in u'v'", fixed(p.TintMost, 4))}
		if p.TintMost < 0.0005 {
			r.Profile.Figure = ""
		}
		if p.TintMost >= tintSmall {
			r.Profile.Text = words.Say("Some greys are tinted, most at code %d.", p.TintAt)
		}
		if p.TintMost > tintMuch {
			r.Profile.Verdict = "off"
		}
	}
	if h.readings != nil {
		r.Readings = h.greysRead("average ΔE00 of greys")
	}
	f := h.finding(check.Neutrals)
	switch {
	case f == nil:
		r.Accord = h.twoOnly(r)
	case r.Profile.Text == "" || f.Quantity == "":
		r.Accord = alone
	case f.Lo > h.profile.TintMost+slackTint:
		r.Accord, r.Says = differ, words.Say("Greys are more tinted than the profile says.")
		r.Cause, r.Remedy = h.movedCause()
	case f.Hi-f.Lo > 0.02:
		r.Accord, r.Says = unsure, words.Say("The eye's error bar is too wide to tell. A longer sitting narrows it.")
	default:
		r.Accord, r.Says = agree, words.Say("What the eye saw fits the profile within the error bar.")
	}
	return r
}

// steps: what did the correction cost?
func (h *hearing) steps() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Steps"), Asks: words.Say("Did the correction cost gradients their smoothness?"), Eye: h.eyeSaid(check.Smoothness)}
	lost := 0
	if p := h.profile; p != nil {
		if c := p.Correction; c != nil && c.Changes {
			var channel string
			channel, lost = poorest(c)
			r.Profile = pages.Said{Text: words.Say("In 8 bits %s keeps %d of 256 levels.", words.Found(channel), 256-lost)}
		} else {
			r.Profile = pages.Said{Text: words.Say("Nothing is taken: no correction.")}
		}
		if at, equal := smallestStep(p); equal > fewEqual {
			r.Profile.Figure = words.Say("codes of its curves that fall together: %s", fallen(equal))
		} else if at != nil && at.StepLeast > 0 {
			r.Profile.Figure = words.Say("smallest step of its curves: %s of its size", percentage(max(at.StepLeast, 0)))
		}
	}
	f := h.finding(check.Smoothness)
	// From this many lost levels on, gradients that are sent in 8 bits show it.
	const many = 24
	switch {
	case f == nil:
		r.Accord = h.twoOnly(r)
	case h.profile == nil:
		r.Accord = alone
	case f.Verdict == report.Holds && lost >= many:
		r.Accord, r.Says = better, words.Say("The levels that 8 bits would lose are there: the card sends more bits, or dithers.")
	case f.Verdict == report.Holds:
		r.Accord, r.Says = agree, words.Say("Every step that should be there is seen.")
	case f.Verdict == report.Off && lost >= many:
		r.Accord, r.Says = agree, words.Say("The correction costs the steps that the eye misses.")
		r.Cause = words.Say("The correction moves codes far, and the card sends 8 bits.")
		r.Remedy = words.Say("Bring the screen near its aim by its own controls first (white, brightness, contrast), so that less is left to correct; or send 10 bits, where card, cable and screen can.")
	case f.Verdict == report.Off:
		r.Accord, r.Says = differ, words.Say("Steps are lost that the correction does not cost.")
		r.Cause = words.Say("Fewer bits on the way than the file supposes, a correction that is loaded twice, or a picture mode that stretches tones.")
		r.Remedy = words.Say("Look at the colour depth in the settings of system and card, let one program alone load corrections, and switch picture modes off.")
	default:
		r.Accord = unsure
	}
	return r
}

// evenness: no profile and no single place of reading says it.
func (h *hearing) evenness() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Evenness"), Asks: words.Say("Is the light the same all over?"), Eye: h.eyeSaid(check.Evenness), Accord: unsaid}
	if f := h.finding(check.Evenness); f != nil {
		r.Accord, r.Says = alone, words.Say("Both files speak of the one place where the instrument hung.")
		if f.Verdict == report.Off {
			r.Cause = words.Say("The panel itself, its age, or where you sit.")
			r.Remedy = words.Say("Sit with your eyes level with the middle. Judge pictures there; a correction by profile cannot mend it.")
		}
	}
	return r
}

// handling: does a picture's own profile count in this browser?
func (h *hearing) handling() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Browser"), Asks: words.Say("Does it honour the profile in a picture?")}
	own := map[string]string{"honoured": words.Say("the program's own test: honoured"), "ignored": words.Say("the program's own test: ignored")}
	probe, twin := h.browser, ""
	if h.eye != nil {
		twin = h.eye.Conditions.Twin
		if p := h.eye.Conditions.Profile; p != "" {
			probe = p
		}
	}
	switch twin {
	case "yes":
		r.Eye = pages.Said{Text: words.Say("A picture and its twin with a profile look the same."), Figure: own[probe], Verdict: "holds"}
	case "no":
		r.Eye = pages.Said{Text: words.Say("A picture and its twin with a profile look different."), Figure: own[probe], Verdict: "off"}
	default:
		r.Eye = pages.Said{Text: notAsked(), Figure: own[probe]}
	}
	switch {
	case twin == "yes" && probe == "honoured":
		r.Accord = agree
	case twin == "yes" && probe == "ignored", twin == "no" && probe == "honoured":
		r.Accord, r.Says = differ, words.Say("The program's own test says otherwise.")
		r.Cause = words.Say("The browser treats pictures on the page and pictures that are read back differently, or a setting was changed in between.")
		r.Remedy = words.Say("Load the page again and look at the two pictures once more, on the page before the sitting.")
	case twin == "no" || probe == "ignored":
		r.Accord, r.Says = alone, words.Say("Pictures with a profile show wrong colours in this browser, however good the screen is.")
		r.Cause = words.Say("Colour management is switched off in this browser, or it has none.")
		r.Remedy = words.Say("Switch it on, or look at pictures in a browser that has it.")
	case twin == "yes" || probe == "honoured":
		r.Accord = alone
	default:
		r.Accord = unsaid
	}
	return r
}

// white: was it where it was aimed at, and is it still as the profile says?
func (h *hearing) white() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("White"), Asks: words.Say("Is it the white that was aimed at?"), Accord: missing}
	var told, read *study.White
	if h.profile != nil {
		if told = h.profile.White; told != nil {
			r.Profile = pages.Said{Text: capital(whiteShort(told)) + ".", Figure: placeWords(told.XY)}
		}
	}
	if h.readings != nil && h.readings.Light != nil {
		l := h.readings.Light
		if read = l.White; read != nil {
			r.Readings = pages.Said{Text: capital(whiteShort(read)) + ".", Figure: placeWords(read.XY), Verdict: judgedBy(h.readings, study.SetProof, "white, distance in u', v'")}
		}
	}
	switch {
	case told != nil && read != nil:
		switch d := told.UV.Distance(read.UV); {
		case d <= 0.003:
			r.Accord, r.Says = agree, words.Say("They are %s apart in u'v', which nobody sees.", fixed(d, 4))
		case d <= 0.01:
			r.Accord, r.Says = agree, words.Say("They are %s apart in u'v', which shows side by side alone.", fixed(d, 4))
		default:
			r.Accord, r.Says = differ, words.Say("They are %s apart in u'v'.", fixed(d, 4))
			r.Cause = words.Say("The readings were taken in another mode or long after the profile, or the profile tells D50 in place of the screen's own white.")
			r.Remedy = words.Say("Set the mode it was made in, let the screen warm up for half an hour, and read again.")
		}
	case told != nil || read != nil:
		r.Accord = alone
	}
	if r.Accord == alone || r.Accord == agree {
		r.Eye = pages.Said{Text: words.Say("cannot tell: it adapts")}
	}
	return r
}

// brightness: of white, in cd/m².
func (h *hearing) brightness() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Brightness"), Asks: words.Say("Is white as bright as it should be?"), Accord: missing}
	told, read := 0.0, 0.0
	if h.profile != nil {
		if told = h.profile.Luminance; told > 0 {
			r.Profile = pages.Said{Text: words.Say("%s cd/m² when it was made.", fixed(told, 0))}
		}
	}
	if h.readings != nil && h.readings.Light != nil {
		l := h.readings.Light
		if read = l.Luminance; read > 0 {
			r.Readings = pages.Said{Text: words.Say("%s cd/m²", fixed(read, 0)) + ".", Verdict: judgedBy(h.readings, study.SetProof, "luminance of white, departure")}
			if l.AimLuminance > 0 {
				r.Readings.Figure = words.Say("aim %s: %s %%", fixed(l.AimLuminance, 0), plus(100*(read/l.AimLuminance-1), 1))
			}
		}
	}
	switch {
	case told > 0 && read > 0:
		switch d := math.Abs(read/told - 1); {
		case d <= 0.1:
			r.Accord = agree
		default:
			r.Accord, r.Says = differ, words.Say("The readings are %s %% from what the profile tells.", plus(100*(read/told-1), 0))
			r.Cause = words.Say("Brightness was set anew, the backlight has aged, or the screen dims by itself.")
			r.Remedy = words.Say("Switch automatic brightness off, set the brightness again, and read again.")
		}
	case told > 0 || read > 0:
		r.Accord = alone
	}
	if r.Accord == alone || r.Accord == agree {
		r.Eye = pages.Said{Text: words.Say("cannot tell: it adapts")}
	}
	return r
}

// colours: does the screen make of codes what the profile says?
func (h *hearing) colours() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Colours"), Asks: words.Say("Are they what codes should give?"), Accord: missing}
	if p := h.profile; p != nil && len(p.Reach) > 0 {
		r.Profile = pages.Said{Text: words.Say("It covers %s of %s.", percentage(p.Reach[0].AreaCoverage), p.Reach[0].Name), Figure: words.Say("by area in u'v'")}
		r.Accord = alone
	}
	all, ok := study.GroupSummary{}, false
	if h.readings != nil {
		all, ok = group(h.readings, "all patches")
	}
	if !ok {
		return r
	}
	s := by(all, mainFormula)
	r.Readings = pages.Said{Text: words.Say("Patches are %s.", howFar(s.Mean)), Figure: words.Say("ΔE00 %s on average, %s at most, of %d", fixed(s.Mean, 2), fixed(s.Largest, 2), all.Patches), Verdict: judgedBy(h.readings, study.SetProof, "average ΔE00")}
	switch {
	case h.readings.Aim != study.HeldProfile:
		r.Accord = alone
		if h.profile != nil {
			r.Says = words.Say("Read against %s, not against the profile.", against(h.readings))
		}
	case s.Mean <= 1.5:
		r.Accord, r.Says = agree, words.Say("The screen did what the profile says when it was read.")
	case s.Mean <= 3:
		r.Accord, r.Says = unsure, words.Say("The screen did about what the profile says when it was read.")
	default:
		r.Accord, r.Says = differ, words.Say("The screen did not do what the profile says when it was read.")
		r.Cause = words.Say("It was read with another profile or mode in force, through colour management, or without the correction.")
		r.Remedy = words.Say("Read the patches with colour management as the instrument's software asks, the correction loaded and the screen in its mode; if it stays, make the profile anew.")
	}
	return r
}

// repeat: how far can the readings themselves be trusted?
func (h *hearing) repeat() pages.HeardRow {
	r := pages.HeardRow{Name: words.Say("Noise"), Asks: words.Say("How far can the readings be trusted?"), Accord: unsaid}
	p := h.readings.Repeat
	if p == nil {
		r.Readings, r.Says = pages.Said{Text: words.Say("read once")}, words.Say("A second reading of the same patches would tell.")
		r.Accord = missing
		return r
	}
	between := by(study.GroupSummary{By: p.Between}, mainFormula)
	r.Readings = pages.Said{Text: words.Say("Read twice, they differ by little."), Figure: words.Say("ΔE00 %s on average, %s at most", fixed(between.Mean, 2), fixed(between.Largest, 2))}
	r.Accord = alone
	if between.Mean > 0.5 {
		r.Readings.Text = words.Say("Read twice, they differ by more than an eye sees.")
		r.Cause = words.Say("The screen was not warm, the instrument moved, or light from the room fell in.")
		r.Remedy = words.Say("Let the screen warm up for half an hour, darken the room, and read both times without touching the instrument.")
	}
	return r
}

// lead is what follows from all rows, in a sentence or two.
func lead(rows []pages.HeardRow, h hearing) string {
	var apart, open []string
	for _, r := range rows {
		switch r.Accord {
		case differ:
			apart = append(apart, within(r.Name))
		case unsure:
			open = append(open, within(r.Name))
		}
	}
	unsettled := ""
	if len(open) > 0 {
		unsettled = " " + words.Say("Not settled: %s.", listed(open))
	}
	eye := ""
	if h.eye == nil {
		eye = " " + words.Say("Whether the correction is loaded now, what it cost in steps and how even the screen is, no file says: your eye can, in a few minutes.")
	}
	if c := correctionOf(h); c == report.NotLoaded {
		return words.Say("The correction is not loaded: until it is, nothing that the profile promises or that was read holds on this screen.") + unsettled
	}
	var off []string
	for _, r := range rows {
		if r.Profile.Verdict == "off" || r.Readings.Verdict == "off" || r.Eye.Verdict == "off" {
			off = append(off, within(r.Name))
		}
	}
	switch {
	case len(apart) > 0:
		return words.Say("They do not agree on %s: see there for the usual cause and what to do.", listed(apart)) + unsettled + eye
	case len(off) > 0:
		return words.Say("They do not contradict each other, but something is off: %s.", listed(off)) + unsettled + eye
	case h.eye != nil:
		return words.Say("They agree wherever more than one of them can tell.") + unsettled
	}
	return words.Say("Nothing in the files speaks against this screen.") + unsettled + eye
}

// within is a row's name inside a sentence: English has it without its capital.
func within(name string) string {
	if words.Language() == "en" {
		return strings.ToLower(name)
	}
	return name
}

func correctionOf(h hearing) report.Loading {
	if h.eye == nil || h.eye.Correction == nil {
		return report.LoadUnknown
	}
	return h.eye.Correction.Loading
}
