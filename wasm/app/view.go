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
		Screen: c.Screen,
		Viewer: c.Viewer,
		Void:   r.Void,
		Score:  pages.Score{Given: r.Score.Given, At: round(r.Score.At), Lo: round(r.Score.Lo), Hi: round(r.Score.Hi), Sentence: r.Score.Sentence},
		Notes:  append(append([]string(nil), r.Notes...), disturbances(c.Disturbances)...),
	}
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
	for _, p := range r.Purposes {
		v.Purposes = append(v.Purposes, pages.Purpose{Name: p.Name, Verdict: p.Verdict.String(), Why: p.Why})
	}
	for _, f := range r.Findings {
		v.Aspects = append(v.Aspects, aspect(f))
		if f.Smallest != "" {
			v.Smallest = append(v.Smallest, pages.Fact{Name: capital(string(f.Aspect)), Value: f.Smallest})
		}
	}
	v.Tone = curve(r)
	v.Conditions = circumstances(r)
	v.Cautions = cautions(r)
	return v
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

// aspect is a finding as a row.
func aspect(f report.Finding) pages.Aspect {
	v := pages.Aspect{ID: string(f.Aspect), Name: capital(string(f.Aspect)), Seen: f.Seen, Verdict: f.Verdict.String()}
	if f.Quantity == "" {
		if f.Why != "" {
			v.Seen = f.Why
		}
		return v
	}
	v.Settle = f.Why
	figures := func(x float64) string { return fmt.Sprintf("%.1f", x) } // whole codes would round below the level that is seen
	s := pages.Scale{BandLo: f.AllowedLo, BandHi: f.AllowedHi, Lo: f.Lo, At: f.Mean, Hi: f.Hi}
	allowed := ""
	switch f.Aspect {
	case check.Shadows:
		s.Min, s.Max = 0, max(24, math.Ceil(f.Hi)+2)
		allowed = fmt.Sprintf("allowed up to %.0f", f.AllowedHi)
	case check.Highlights:
		s.Min, s.Max = min(236, math.Floor(f.Lo)-2), 255
		allowed = fmt.Sprintf("allowed from %.0f", f.AllowedLo)
	default:
		figures = func(x float64) string { return fmt.Sprintf("%.2f", x) }
		width := f.AllowedHi - f.AllowedLo
		s.Min, s.Max = min(f.AllowedLo-width, f.Lo-width/4), max(f.AllowedHi+width, f.Hi+width/4)
		allowed = fmt.Sprintf("allowed %.2f to %.2f", f.AllowedLo, f.AllowedHi)
	}
	v.Scale = s
	v.Figure = fmt.Sprintf("%s %s (%s to %s), %s", f.Quantity, figures(f.Mean), figures(f.Lo), figures(f.Hi), allowed)
	return v
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
	rooms   = map[string]string{"dark": "dark", "dim": "dim", "normal": "lit as an office is", "bright": "bright"}
	visions = map[string]string{"usual": "usual, as far as the viewer knows", "differs": "some colours are seen differently"}
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
		{visions[c.Vision] != "", "Colour vision", visions[c.Vision], when(c.Vision == "differs", "Shadows, highlights and tone hold all the same.")},
		{c.Width > 0, "Pixels", size(c.Width, c.Height) + " at a scale of " + number(c.PixelRatio) + "; " + exact, concern},
		{c.FullScreen, "Full screen", "yes", ""},
		{len(claims) > 0, "Browser claims", strings.Join(claims, ", "), when(c.DynamicRange == "high", "A screen in this mode bends tones by its own rules.")},
		{c.CanvasNoise, "Canvas", "reads back with noise", "The browser disturbs what pages read; what was seen is not touched, as far as is known."},
		{c.Browser != "", "Browser", c.Browser, ""},
		{r.Program != "", "Program", r.Program, ""},
	}.known()
}

// cautions are what every report says, and what this one has to add.
func cautions(r report.Record) []string {
	list := []string{
		"A judgement by one pair of eyes, in one room, at one time. It is not a measurement, and not for medical diagnosis or safety decisions.",
		"The colour and the brightness of white were not judged: eyes adapt to both.",
		"A screen of many colours without colour management passes every test of greys and shows wrong colours all the same.",
	}
	if r.Conditions.Gamut == "p3" || r.Conditions.Gamut == "rec2020" {
		list = append(list, "This browser claims more colours than sRGB has. Whether pictures are shown by it as intended was not judged.")
	}
	if r.Conditions.Vision != "usual" {
		list = append(list, "About one man in twelve sees some colours differently. What was judged here holds for them too.")
	}
	return list
}
