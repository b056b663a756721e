package app

import (
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// view is a record as the report page says it, in the language spoken. Times are told in zone.
func view(r report.Record, zone *time.Location) pages.Report {
	c := &r.Conditions
	v := pages.Report{
		Screen: seen(c.Screen) + when(c.Screen != "" && c.Mode != "", ", "+seen(c.Mode)),
		Viewer: seen(c.Viewer),
		Void:   foundAll(r.Void),
		Score:  scoreView(&r),
		Bare:   len(r.Judgements) == 0,
	}
	if v.Bare { // what the answers themselves would tell is in the notes alone
		v.Notes = foundAll(r.Notes)
		for _, f := range r.Findings {
			v.Judgements += f.Judgements
		}
	} else {
		v.Notes = foundAll(remarks(r.Notes))
	}
	v.Notes = append(v.Notes, disturbances(c.Disturbances)...)
	if c.Ended > 0 {
		v.Made = day(time.UnixMilli(c.Ended).In(zone))
	}
	if d := time.Duration(c.Ended-c.Started) * time.Millisecond; c.Started > 0 && d > 0 && d < 24*time.Hour {
		v.Duration = spell(d)
	}
	for _, j := range r.Judgements {
		if j.Status == check.Counted && j.Kind != check.Practice {
			v.Judgements++
		}
	}
	v.Purposes = purposeViews(&r)
	for _, f := range r.Findings {
		v.Aspects = append(v.Aspects, aspect(f))
		if f.Smallest != "" {
			v.Smallest = append(v.Smallest, pages.Fact{Name: titled(string(f.Aspect)), Value: words.Found(f.Smallest)})
		}
	}
	for _, f := range r.Extras {
		v.Aspects = append(v.Aspects, aspect(f))
	}
	v.Correction = correctionLine(r)
	v.Faults = faults(r.Faults)
	v.Tone = curve(r)
	pictures(&v, r)
	v.Reliability = answers(r)
	v.Vision = vision(r)
	v.Conditions = circumstances(r)
	v.Cautions = cautions(r)
	return v
}

// foundAll is finished English, each text in the language spoken.
func foundAll(list []string) []string {
	var said []string
	for _, s := range list {
		said = append(said, words.Found(s))
	}
	return said
}

// remarks are notes without those that the figures about the answers tell beside them.
func remarks(notes []string) []string {
	var list []string
	for _, n := range notes {
		if !strings.HasSuffix(n, "obvious differences were seen.") && !strings.Contains(n, "\"Can't tell\" was") {
			list = append(list, n)
		}
	}
	return list
}

// disturbances says each once, and how often.
func disturbances(list []string) []string {
	var once []string
	times := map[string]int{}
	for _, d := range list {
		if times[d]++; times[d] == 1 {
			once = append(once, d)
		}
	}
	for i, d := range once {
		once[i] = words.Found(d)
		if n := times[d]; n > 1 {
			once[i] = words.Say("%s (%d times)", once[i], n)
		}
	}
	return once
}

func round(x float64) int { return int(math.Round(x)) }

// A unit is how the values of a quantity are written: multiplied, and with as many places as they are known to. Its name is English.
type unit struct {
	times  float64
	places int
	name   string
}

func (u unit) figure(x float64) string { return words.Number(x, u.places) }

func unitOf(f report.Finding) unit {
	switch f.Quantity {
	case string(screen.GreyTint), string(screen.WhiteOffset):
		return unit{1, 4, "u'v'"}
	case string(screen.Bits):
		return unit{1, 1, "bits"}
	case string(screen.Unevenness):
		return unit{100, 0, "%"}
	}
	switch f.Aspect {
	case check.Shadows, check.Highlights:
		return unit{1, 1, ""} // whole codes would round below the level that is seen
	}
	return unit{1, 2, ""}
}

// aspect is a finding as a row.
func aspect(f report.Finding) pages.Aspect {
	seen, why := words.Found(f.Seen), words.Found(f.Why)
	v := pages.Aspect{ID: string(f.Aspect), Name: titled(string(f.Aspect)), Seen: seen, Verdict: f.Verdict.String()}
	if f.Quantity == "" {
		switch {
		case f.Verdict != report.NotChecked:
			v.Settle = why
		case f.Judgements > 0 && f.Why != "":
			v.Seen += " " + why
		case f.Why != "":
			v.Seen = why
		}
		return v
	}
	v.Settle = why
	u := unitOf(f)
	s := pages.Scale{BandLo: u.times * f.AllowedLo, BandHi: u.times * f.AllowedHi, Lo: u.times * f.Lo, At: u.times * f.Mean, Hi: u.times * f.Hi, Unit: words.Found(u.name)}
	// The mean of a lopsided distribution may lie outside the interval.
	s.At = min(max(s.At, s.Lo), s.Hi)
	up := func(places int) string { return words.Say("allowed up to %s", words.Number(s.BandHi, places)) }
	from := func(places int) string { return words.Say("allowed from %s", words.Number(s.BandLo, places)) }
	allowed := ""
	switch f.Aspect {
	case check.Shadows:
		s.Min, s.Max = 0, max(24, math.Ceil(s.Hi)+2)
		allowed = up(0)
	case check.Highlights:
		s.Min, s.Max = min(236, math.Floor(s.Lo)-2), 255
		allowed = from(0)
	case check.Neutrals, check.Evenness, check.White:
		s.Min, s.Max = 0, max(2*s.BandHi, 1.1*s.Hi)
		allowed = up(u.places)
	case check.Smoothness:
		s.Min, s.Max = min(5, s.Lo), 8
		allowed = from(u.places)
	case check.ColourRange:
		s.Min, s.Max = 0, 1
		allowed = from(u.places)
		if s.BandHi == 0 {
			s.BandHi = 1
			allowed = words.Say("no limit in this aim")
		}
	case check.Channels:
		s.Min, s.Max, s.BandHi = 0, max(0.5, 1.1*s.Hi), max(0.5, 1.1*s.Hi)
		allowed = words.Say("for information")
	default:
		width := s.BandHi - s.BandLo
		s.Min, s.Max = min(s.BandLo-width, s.Lo-width/4), max(s.BandHi+width, s.Hi+width/4)
		allowed = words.Say("allowed %s to %s", u.figure(s.BandLo), u.figure(s.BandHi))
	}
	v.Scale = s
	v.Figure = words.Say("%s %s (%s to %s), %s", quantity(f.Quantity), u.figure(s.At), u.figure(s.Lo), u.figure(s.Hi), allowed)
	return v
}

// quantity is the name of a quantity, with its unit where it has one.
func quantity(name string) string {
	switch name {
	case string(screen.GreyTint):
		return words.Say("grey tint in u'v'")
	case string(screen.WhiteOffset):
		return words.Say("white offset in u'v'")
	case string(screen.Unevenness):
		return words.Say("unevenness in %")
	}
	return words.Found(name)
}

// finding is what a record says of an aspect; the zero Finding where it says nothing.
func finding(r report.Record, a check.Aspect) report.Finding {
	for _, f := range r.Findings {
		if f.Aspect == a {
			return f
		}
	}
	return report.Finding{}
}

// limit is the tolerance of an aspect for the strictest purpose.
func limit(r report.Record, a check.Aspect) check.Tolerance {
	aim, _ := screen.AimByID(r.Plan.Aim)
	t, _ := check.Strictest(a, aim)
	return t
}

// surely is a probability in words.
func surely(p float64) string {
	switch {
	case p >= 0.98:
		return words.Say("almost certain")
	case p >= 0.9:
		return words.Say("very likely")
	}
	return words.Say("likely")
}

func faults(list []report.Fault) []pages.Fault {
	var v []pages.Fault
	for _, f := range list {
		v = append(v, pages.Fault{Name: titled(f.Name), Seen: words.Found(f.Seen), Cause: words.Found(f.Cause), Remedy: words.Found(f.Remedy), Sure: surely(f.Sure)})
	}
	return v
}

// linesLimit is the difference of row and column lines, in per cent, beyond which tone is not judged (patterns/report).
const linesLimit = 8

// pictures fills what the report draws beside the tone curve.
func pictures(v *pages.Report, r report.Record) {
	if l := r.Lines; l != nil {
		v.Lines = pages.Lines{Difference: 100 * l.At, Lo: 100 * l.Lo, Hi: 100 * l.Hi, Limit: linesLimit}
	}
	for _, g := range r.Greys {
		v.Tint.Limit = limit(r, check.Neutrals).Hi
		v.Tint.Points = append(v.Tint.Points, pages.TintPoint{Level: g.Code, U: g.Pink.At, ULo: g.Pink.Lo, UHi: g.Pink.Hi, V: g.Yellow.At, VLo: g.Yellow.Lo, VHi: g.Yellow.Hi})
	}
	within := func(f report.Finding) (at, lo, hi float64) { return min(max(f.Mean, f.Lo), f.Hi), f.Lo, f.Hi }
	if f := finding(r, check.Shadows); f.Quantity != "" {
		v.Seen.First, v.Seen.FirstLo, v.Seen.FirstHi = within(f)
	}
	if f := finding(r, check.Highlights); f.Quantity != "" {
		v.Seen.Last, v.Seen.LastLo, v.Seen.LastHi = within(f)
	}
	if p := r.Places; p != nil {
		allowed := limit(r, check.Evenness).Hi
		per := func(x float64) float64 { return 100 * math.Expm1(x) }
		v.Evenness = pages.EvenMap{Rows: p.Rows, Cols: p.Cols, Limit: 100 * allowed}
		for _, x := range p.Light {
			v.Evenness.Places = append(v.Evenness.Places, pages.EvenPlace{Per: per(x.At), Lo: per(x.Lo), Hi: per(x.Hi), Off: x.Lo > allowed || x.Hi < -allowed})
		}
		for _, j := range r.Judgements {
			if j.Check == check.Evenness {
				v.Evenness.Level = int(j.Stimulus.Ground)
				break
			}
		}
	}
	if c := r.Reach; c != nil {
		v.Gamut = pages.GamutSketch{Red: c.Red.At, RedLo: c.Red.Lo, RedHi: c.Red.Hi, Green: c.Green.At, GreenLo: c.Green.Lo, GreenHi: c.Green.Hi}
		if g := gamutName(r.Conditions.Gamut); g != "" {
			v.Gamut.Claimed = words.Say("colours %s", g)
		}
	}
}

// answers is how far the answers themselves can be trusted.
func answers(r report.Record) []pages.Line {
	k := report.Reliable(r.Judgements)
	var v []pages.Line
	if k.Catches > 0 {
		meaning := words.Say("The viewer looked.")
		if k.Missed > 0 {
			meaning = words.Say("Everybody slips now and then; a quarter of them missed would void the sitting.")
		}
		if len(r.Void) > 0 {
			meaning = ""
		}
		v = append(v, pages.Line{Name: words.Say("Obvious differences"), Value: words.Say("%d of %d seen", k.Catches-k.Missed, k.Catches), Meaning: meaning})
	}
	if k.Answers > 0 {
		v = append(v, pages.Line{Name: words.Say("Time to answer"), Value: words.Say("%s s at the middle", words.Number(float64(k.Median)/1000, 1)), Meaning: when(k.Median >= 500, words.Say("Time enough to look and decide."))})
	}
	if k.Lines > 0 {
		v = append(v, pages.Line{Name: words.Say("Left against right"), Value: words.As("%d to %d", "left answers against right ones", k.Left, k.Lines-k.Left), Meaning: words.Say("Sides are mixed, so that a liking for one widens the error bars and shifts nothing.")})
	}
	if k.CantTell > 0 {
		v = append(v, pages.Line{Name: words.Say("Could not tell"), Value: strconv.Itoa(k.CantTell), Meaning: words.Say("Counts as a guess.")})
	}
	if k.TakenBack > 0 {
		v = append(v, pages.Line{Name: words.Say("Taken back"), Value: strconv.Itoa(k.TakenBack)})
	}
	return v
}

// vision is what colour vision means for a report. It is for the viewer to note and never a diagnosis.
func vision(r report.Record) string {
	colours := finding(r, check.Neutrals).Judgements > 0 || finding(r, check.ColourRange).Judgements > 0
	switch {
	case !colours || r.Conditions.Vision == "usual":
		return ""
	case r.Conditions.Vision == "differs":
		return words.Say("The viewer sees some colours differently. Shadows, highlights, tone, smoothness and evenness hold all the same; neutrals and colour range describe this eye as much as the screen.")
	}
	return words.Say("About 1 man in 12 and 1 woman in 250 see some colours differently. Shadows, highlights, tone, smoothness and evenness hold for them all the same; neutrals and colour range then describe the eye as much as the screen. It can be noted before a sitting, and nothing here is a diagnosis.")
}

// curve is the record's tone curve, signal in per cent.
func curve(r report.Record) pages.Curve {
	c := r.Curve
	if len(c.Signal) == 0 {
		return pages.Curve{}
	}
	v := pages.Curve{
		At: c.At, Lo: c.Lo, Hi: c.Hi, AimLo: c.AimLo, AimHi: c.AimHi,
		Caption: words.Say("How light each grey looks, with this screen's own black at 0 and its own white at 100, and the band that holds the truth with 90 % certainty."),
	}
	for _, s := range c.Signal {
		v.Signal = append(v.Signal, 100*s)
	}
	if a, ok := screen.AimByID(r.Plan.Aim); ok {
		v.AimLegend = words.Say("Aim: %s, %s", words.Found(a.Name), words.Found(a.Text))
	}
	return v
}

// What viewers may say, in words.
func rooms(answer string) string {
	switch answer {
	case "dark":
		return words.As("dark", "a room")
	case "dim":
		return words.As("dim", "a room")
	case "normal":
		return words.Say("lit as an office is")
	case "bright":
		return words.As("bright", "a room")
	}
	return ""
}

func references(answer string) string {
	switch answer {
	case check.Paper:
		return words.Say("a sheet of paper under a lamp")
	case check.OtherScreen:
		return words.Say("a second screen")
	}
	return ""
}

func visions(answer string) string {
	switch answer {
	case "usual":
		return words.Say("usual, as far as the viewer knows")
	case "differs":
		return words.Say("some colours are seen differently")
	}
	return ""
}

func honouring(profile string) string {
	switch profile {
	case "honoured":
		return words.Say("honoured by the browser")
	case "ignored":
		return words.Say("ignored by the browser")
	}
	return profile
}

func dynamicRange(claim string) string {
	switch claim {
	case "standard":
		return words.Say("standard dynamic range")
	case "high":
		return words.Say("high dynamic range")
	}
	return claim
}

// inList is a setting, by its name, as it stands in a list of them.
func inList(name string) string {
	switch name {
	case "warmth":
		return words.Say("switched on for 20 minutes")
	case "zoom":
		return words.Say("browser zoom at 100 %")
	case "night":
		return words.Say("night tint off")
	case "hdr":
		return words.Say("high dynamic range off")
	case "auto":
		return words.Say("automatic brightness off")
	}
	return name
}

// circumstances are the conditions of a sitting, each with its concern in words.
func circumstances(r report.Record) []pages.Fact {
	c := &r.Conditions
	aim, aimed := screen.AimByID(r.Plan.Aim)
	set := map[string][]string{}
	for _, s := range settings() {
		state := c.Settings[s.name]
		set[state] = append(set[state], inList(s.name))
	}
	unknown := append(set[""], set["unknown"]...)
	var claims []string
	for _, s := range []string{when(gamutName(c.Gamut) != "", words.Say("colours %s", gamutName(c.Gamut))), when(c.DynamicRange != "", dynamicRange(c.DynamicRange)), when(c.ColorDepth > 0, words.Say("%d bits", c.ColorDepth)), when(c.ForcedColors, words.Say("forced colours"))} {
		if s != "" {
			claims = append(claims, s)
		}
	}
	pixels, concern := words.Say("%s at a scale of %s; one painted pixel to one of the screen, as far as the page can tell", size(c.Width, c.Height), number(c.PixelRatio)), ""
	if !c.Exact {
		pixels, concern = words.Say("%s at a scale of %s; not one to one", size(c.Width, c.Height), number(c.PixelRatio)), words.Say("Painted pixels were blended on their way to the screen.")
	}
	return facts{
		{true, words.Say("Sitting"), words.Found(string(r.Plan.Length)), ""},
		{aimed, words.As("Aim", "of a screen"), words.Found(aim.Name), ""},
		{len(set["yes"]) > 0, words.Say("Set as asked"), strings.Join(set["yes"], ", "), ""},
		{len(set["no"]) > 0, words.Say("Not as asked"), strings.Join(set["no"], ", "), words.Say("What was seen may belong to these settings and not to the screen.")},
		{len(unknown) > 0, words.Say("Not known"), strings.Join(unknown, ", "), ""},
		{rooms(c.Room) != "", words.Say("Room"), rooms(c.Room), when(c.Room == "bright", words.Say("Shadows are lost in a bright room on any screen."))},
		{c.Distance > 0, words.Say("Distance"), number(c.Distance) + " cm", ""},
		{c.Pitch > 0, words.Say("Size of a pixel"), words.Say("%s to the millimetre", number(c.Pitch)), ""},
		{c.Even == "yes", words.Say("Fine lines"), words.Say("melt into an even grey"), ""},
		{c.Even == "no", words.Say("Fine lines"), words.Say("look uneven"), words.Say("Something between the page and the panel resizes or sharpens the picture.")},
		{c.Even == "" && c.Melt == "no", words.Say("Fine lines"), words.Say("were still seen as lines"), ""},
		{visions(c.Vision) != "", words.Say("Colour vision"), visions(c.Vision), when(c.Vision == "differs", words.Say("Neutrals and colour range describe the eye as much as the screen; all else holds."))},
		{c.Width > 0, words.Say("Pixels"), pixels, concern},
		{c.FullScreen, words.Say("Full screen"), words.Say("yes"), ""},
		{len(claims) > 0, words.Say("Browser claims"), strings.Join(claims, ", "), when(c.DynamicRange == "high", words.Say("A screen in this mode bends tones by its own rules."))},
		{c.Profile != "", words.Say("Profiles in pictures"), honouring(c.Profile), when(c.Profile == "ignored", words.Say("Pictures with a profile show wrong colours in it, on any screen."))},
		{c.Twin == "no", words.Say("Picture with a profile"), words.Say("did not look like its plain twin"), ""},
		{c.Zoom > 0 && c.Zoom != 1, words.Say("Zoom"), number(100*c.Zoom) + " %", ""},
		{r.Plan.Reference != "", words.Say("White was held against"), references(r.Plan.Reference), ""},
		{r.Plan.More > 0, words.Say("Taken further"), words.Some(r.Plan.More, "%d time", "%d times"), ""},
		{c.CanvasNoise, words.Say("Canvas"), words.Say("reads back with noise"), words.Say("The browser disturbs what pages read; what was seen is not touched, as far as is known.")},
		{c.Browser != "", words.Say("Browser"), c.Browser, ""},
		{r.Program != "", words.Say("Program"), r.Program, ""},
	}.known()
}

// cautions are what every report says, and what this one has to add.
func cautions(r report.Record) []string {
	list := []string{
		words.Say("A judgement by one pair of eyes, in one room, at one time. It is not a measurement, and not for medical diagnosis or safety decisions."),
		when(r.Plan.Reference == "", words.Say("The colour and the brightness of white were not judged: eyes adapt to both.")) +
			when(r.Plan.Reference != "", words.Say("The brightness of white was not judged, and its colour only as well as the reference is known: eyes adapt to both.")),
		words.Say("A screen of many colours without colour management passes every test of greys and shows wrong colours all the same."),
	}
	if r.Reach == nil && (r.Conditions.Gamut == "p3" || r.Conditions.Gamut == "rec2020") {
		list = append(list, words.Say("This browser claims more colours than sRGB has. Whether it shows them was not judged."))
	}
	return list
}
