package app

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
)

// view is a record as the report page says it. Times are told in zone.
func view(r report.Record, zone *time.Location) pages.Report {
	c := &r.Conditions
	v := pages.Report{
		Screen: seen(c.Screen) + when(c.Screen != "" && c.Mode != "", ", "+seen(c.Mode)),
		Viewer: seen(c.Viewer),
		Void:   r.Void,
		Score:  scoreView(&r),
		Bare:   len(r.Judgements) == 0,
	}
	if v.Bare { // what the answers themselves would tell is in the notes alone
		v.Notes = append(v.Notes, r.Notes...)
		for _, f := range r.Findings {
			v.Judgements += f.Judgements
		}
	} else {
		v.Notes = remarks(r.Notes)
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
			v.Smallest = append(v.Smallest, pages.Fact{Name: capital(string(f.Aspect)), Value: f.Smallest})
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
		if n := times[d]; n > 1 {
			once[i] = fmt.Sprintf("%s (%d times)", d, n)
		}
	}
	return once
}

func round(x float64) int { return int(math.Round(x)) }

// A unit is how the values of a quantity are written: multiplied, and with as many places as they are known to.
type unit struct {
	times  float64
	places int
	name   string
}

func (u unit) figure(x float64) string { return strconv.FormatFloat(x, 'f', u.places, 64) }

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
	v := pages.Aspect{ID: string(f.Aspect), Name: capital(string(f.Aspect)), Seen: f.Seen, Verdict: f.Verdict.String()}
	if f.Quantity == "" {
		switch {
		case f.Verdict != report.NotChecked:
			v.Settle = f.Why
		case f.Judgements > 0 && f.Why != "":
			v.Seen += " " + f.Why
		case f.Why != "":
			v.Seen = f.Why
		}
		return v
	}
	v.Settle = f.Why
	u := unitOf(f)
	s := pages.Scale{BandLo: u.times * f.AllowedLo, BandHi: u.times * f.AllowedHi, Lo: u.times * f.Lo, At: u.times * f.Mean, Hi: u.times * f.Hi, Unit: u.name}
	// The mean of a lopsided distribution may lie outside the interval.
	s.At = min(max(s.At, s.Lo), s.Hi)
	up, from := "allowed up to "+u.figure(s.BandHi), "allowed from "+u.figure(s.BandLo)
	allowed := ""
	switch f.Aspect {
	case check.Shadows:
		s.Min, s.Max = 0, max(24, math.Ceil(s.Hi)+2)
		allowed = fmt.Sprintf("allowed up to %.0f", s.BandHi)
	case check.Highlights:
		s.Min, s.Max = min(236, math.Floor(s.Lo)-2), 255
		allowed = fmt.Sprintf("allowed from %.0f", s.BandLo)
	case check.Neutrals, check.Evenness, check.White:
		s.Min, s.Max = 0, max(2*s.BandHi, 1.1*s.Hi)
		allowed = up
	case check.Smoothness:
		s.Min, s.Max = min(5, s.Lo), 8
		allowed = from
	case check.ColourRange:
		s.Min, s.Max = 0, 1
		allowed = from
		if s.BandHi == 0 {
			s.BandHi = 1
			allowed = "no limit in this aim"
		}
	case check.Channels:
		s.Min, s.Max, s.BandHi = 0, max(0.5, 1.1*s.Hi), max(0.5, 1.1*s.Hi)
		allowed = "for information"
	default:
		width := s.BandHi - s.BandLo
		s.Min, s.Max = min(s.BandLo-width, s.Lo-width/4), max(s.BandHi+width, s.Hi+width/4)
		allowed = "allowed " + u.figure(s.BandLo) + " to " + u.figure(s.BandHi)
	}
	v.Scale = s
	name := f.Quantity
	if u.name != "" && u.name != "bits" {
		name += " in " + u.name
	}
	v.Figure = fmt.Sprintf("%s %s (%s to %s), %s", name, u.figure(s.At), u.figure(s.Lo), u.figure(s.Hi), allowed)
	return v
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
		return "almost certain"
	case p >= 0.9:
		return "very likely"
	}
	return "likely"
}

func faults(list []report.Fault) []pages.Fault {
	var v []pages.Fault
	for _, f := range list {
		v = append(v, pages.Fault{Name: capital(f.Name), Seen: f.Seen, Cause: f.Cause, Remedy: f.Remedy, Sure: surely(f.Sure)})
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
		if g := gamuts[r.Conditions.Gamut]; g != "" {
			v.Gamut.Claimed = "colours " + g
		}
	}
}

// answers is how far the answers themselves can be trusted.
func answers(r report.Record) []pages.Line {
	k := report.Reliable(r.Judgements)
	var v []pages.Line
	if k.Catches > 0 {
		meaning := "The viewer looked."
		if k.Missed > 0 {
			meaning = "Everybody slips now and then; a quarter of them missed would void the sitting."
		}
		if len(r.Void) > 0 {
			meaning = ""
		}
		v = append(v, pages.Line{Name: "Obvious differences", Value: fmt.Sprintf("%d of %d seen", k.Catches-k.Missed, k.Catches), Meaning: meaning})
	}
	if k.Answers > 0 {
		v = append(v, pages.Line{Name: "Time to answer", Value: fmt.Sprintf("%.1f s at the middle", float64(k.Median)/1000), Meaning: when(k.Median >= 500, "Time enough to look and decide.")})
	}
	if k.Lines > 0 {
		v = append(v, pages.Line{Name: "Left against right", Value: fmt.Sprintf("%d to %d", k.Left, k.Lines-k.Left), Meaning: "Sides are mixed, so that a liking for one widens the error bars and shifts nothing."})
	}
	if k.CantTell > 0 {
		v = append(v, pages.Line{Name: "Could not tell", Value: strconv.Itoa(k.CantTell), Meaning: "Counts as a guess."})
	}
	if k.TakenBack > 0 {
		v = append(v, pages.Line{Name: "Taken back", Value: strconv.Itoa(k.TakenBack)})
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
		return "The viewer sees some colours differently. Shadows, highlights, tone, smoothness and evenness hold all the same; neutrals and colour range describe this eye as much as the screen."
	}
	return "About 1 man in 12 and 1 woman in 250 see some colours differently. Shadows, highlights, tone, smoothness and evenness hold for them all the same; neutrals and colour range then describe the eye as much as the screen. It can be noted before a sitting, and nothing here is a diagnosis."
}

// curve is the record's tone curve, signal in per cent.
func curve(r report.Record) pages.Curve {
	c := r.Curve
	if len(c.Signal) == 0 {
		return pages.Curve{}
	}
	v := pages.Curve{
		At: c.At, Lo: c.Lo, Hi: c.Hi, AimLo: c.AimLo, AimHi: c.AimHi,
		Caption: "How light each grey looks, with this screen's own black at 0 and its own white at 100, and the band that holds the truth with 90 % certainty.",
	}
	for _, s := range c.Signal {
		v.Signal = append(v.Signal, 100*s)
	}
	if a, ok := screen.AimByID(r.Plan.Aim); ok {
		v.AimLegend = "Aim: " + a.Name + ", " + a.Text
	}
	return v
}

// What viewers may say, in words.
var (
	rooms      = map[string]string{"dark": "dark", "dim": "dim", "normal": "lit as an office is", "bright": "bright"}
	references = map[string]string{check.Paper: "a sheet of paper under a lamp", check.OtherScreen: "a second screen"}
	visions    = map[string]string{"usual": "usual, as far as the viewer knows", "differs": "some colours are seen differently"}
)

// circumstances are the conditions of a sitting, each with its concern in words.
func circumstances(r report.Record) []pages.Fact {
	c := &r.Conditions
	aim, aimed := screen.AimByID(r.Plan.Aim)
	set := map[string][]string{}
	for _, s := range settings {
		state := c.Settings[s.name]
		set[state] = append(set[state], strings.ToLower(s.label[:1])+s.label[1:])
	}
	unknown := append(set[""], set["unknown"]...)
	var claims []string
	for _, s := range []string{when(gamuts[c.Gamut] != "", "colours "+gamuts[c.Gamut]), when(c.DynamicRange != "", c.DynamicRange+" dynamic range"), when(c.ColorDepth > 0, strconv.Itoa(c.ColorDepth)+" bits"), when(c.ForcedColors, "forced colours")} {
		if s != "" {
			claims = append(claims, s)
		}
	}
	exact, concern := "one painted pixel to one of the screen, as far as the page can tell", ""
	if !c.Exact {
		exact, concern = "not one to one", "Painted pixels were blended on their way to the screen."
	}
	return facts{
		{true, "Sitting", string(r.Plan.Length), ""},
		{aimed, "Aim", aim.Name, ""},
		{len(set["yes"]) > 0, "Set as asked", strings.Join(set["yes"], ", "), ""},
		{len(set["no"]) > 0, "Not as asked", strings.Join(set["no"], ", "), "What was seen may belong to these settings and not to the screen."},
		{len(unknown) > 0, "Not known", strings.Join(unknown, ", "), ""},
		{rooms[c.Room] != "", "Room", rooms[c.Room], when(c.Room == "bright", "Shadows are lost in a bright room on any screen.")},
		{c.Distance > 0, "Distance", number(c.Distance) + " cm", ""},
		{c.Pitch > 0, "Size of a pixel", number(c.Pitch) + " to the millimetre", ""},
		{c.Even == "yes", "Fine lines", "melt into an even grey", ""},
		{c.Even == "no", "Fine lines", "look uneven", "Something between the page and the panel resizes or sharpens the picture."},
		{c.Even == "" && c.Melt == "no", "Fine lines", "were still seen as lines", ""},
		{visions[c.Vision] != "", "Colour vision", visions[c.Vision], when(c.Vision == "differs", "Neutrals and colour range describe the eye as much as the screen; all else holds.")},
		{c.Width > 0, "Pixels", size(c.Width, c.Height) + " at a scale of " + number(c.PixelRatio) + "; " + exact, concern},
		{c.FullScreen, "Full screen", "yes", ""},
		{len(claims) > 0, "Browser claims", strings.Join(claims, ", "), when(c.DynamicRange == "high", "A screen in this mode bends tones by its own rules.")},
		{c.Profile != "", "Profiles in pictures", c.Profile + " by the browser", when(c.Profile == "ignored", "Pictures with a profile show wrong colours in it, on any screen.")},
		{c.Twin == "no", "Picture with a profile", "did not look like its plain twin", ""},
		{c.Zoom > 0 && c.Zoom != 1, "Zoom", number(100*c.Zoom) + " %", ""},
		{r.Plan.Reference != "", "White was held against", references[r.Plan.Reference], ""},
		{r.Plan.More > 0, "Taken further", strconv.Itoa(r.Plan.More) + when(r.Plan.More == 1, " time") + when(r.Plan.More > 1, " times"), ""},
		{c.CanvasNoise, "Canvas", "reads back with noise", "The browser disturbs what pages read; what was seen is not touched, as far as is known."},
		{c.Browser != "", "Browser", c.Browser, ""},
		{r.Program != "", "Program", r.Program, ""},
	}.known()
}

// cautions are what every report says, and what this one has to add.
func cautions(r report.Record) []string {
	list := []string{
		"A judgement by one pair of eyes, in one room, at one time. It is not a measurement, and not for medical diagnosis or safety decisions.",
		when(r.Plan.Reference == "", "The colour and the brightness of white were not judged: eyes adapt to both.") +
			when(r.Plan.Reference != "", "The brightness of white was not judged, and its colour only as well as the reference is known: eyes adapt to both."),
		"A screen of many colours without colour management passes every test of greys and shows wrong colours all the same.",
	}
	if r.Reach == nil && (r.Conditions.Gamut == "p3" || r.Conditions.Gamut == "rec2020") {
		list = append(list, "This browser claims more colours than sRGB has. Whether it shows them was not judged.")
	}
	return list
}
