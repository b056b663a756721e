package report

import (
	"math"
	"slices"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// Names of faults.
const (
	RangeSqueezed = "full range taken for limited"
	RangeLifted   = "limited range shown as full"
	LostShadows   = "crushed blacks"
	LostLights    = "clipped lights"
	TooDark       = "gamma too high"
	TooLight      = "gamma too low"
	Contrast      = "contrast enhancement"
	ToneBent      = "bent tone curve"
	TintedGreys   = "tinted greys"
	CoarseSteps   = "coarse steps"
	UnevenScreen  = "uneven screen"
	NoProfiles    = "colours not managed"
)

// A Remedy is what a fault means, where it usually comes from and what usually cures it. Common practice, no source.
type Remedy struct{ Name, Means, Cause, Cure string }

// Remedies is every fault that can be named.
var Remedies = []Remedy{
	{RangeSqueezed, "The darkest and the lightest levels are lost on both ends, as where a screen expects limited video levels (16 to 235) and is sent full ones.",
		"The screen or its input takes a computer's full-range signal for limited, often over HDMI.", "Set the screen's input (black level, HDMI range) to full or normal, or the graphics output to what the screen expects."},
	{RangeLifted, "Black is lifted, white is dim and about one level in seven is missing, as where limited video levels (16 to 235) are shown as if they were full.",
		"The graphics output sends limited range to a screen that shows full range.", "Set the graphics output to full range."},
	{LostShadows, "Dark levels that should part from black look black.", "A black level or brightness set too low, a shadow setting of the screen, or more light in the room than the screen can stand up to.",
		"Raise the screen's black level or brightness, switch dynamic contrast off, and keep light off the screen."},
	{LostLights, "Light levels that should part from white look white.", "Contrast set too high, or a setting that brightens lights.", "Lower the screen's contrast, and switch picture enhancements off."},
	{TooDark, "Middle tones are darker than they should be.", "A gamma setting that is too high, or a correction that is applied twice.", "Set the screen's gamma to 2.2, and look whether a profile's correction is loaded twice."},
	{TooLight, "Middle tones are lighter than they should be.", "A gamma setting that is too low, or a correction that is not loaded.", "Set the screen's gamma to 2.2, and load the profile's correction anew."},
	{Contrast, "Dark tones are darker and light tones lighter than they should be, with the middle in place.", "A picture mode or contrast enhancement of the screen or the graphics driver.", "Choose the screen's plain or sRGB mode, and switch dynamic contrast off."},
	{ToneBent, "Tones depart from the aim in a way that is no plain error of gamma.", "A picture mode, or a correction that was made for another setting of the screen.", "Choose the screen's plain or sRGB mode, and calibrate anew."},
	{TintedGreys, "Greys have another colour than the screen's own white.", "The channels of red, green and blue run differently: an old or a missing correction, or a colour setting of the screen.", "Load the profile's correction anew, set the screen's colour to neutral, and calibrate anew where that does not help."},
	{CoarseSteps, "Levels of grey that should differ look the same, and others step twice as far.", "A signal of less than 8 bits, a panel of 6 bits, or a correction that costs levels.", "Set the graphics output to 8 bits or more for each channel, and make a new correction that changes the screen less."},
	{UnevenScreen, "Some places of the screen are darker or lighter than the middle.", "The light behind the panel, or looking at it from the side.", "Sit in front of the middle. Judge tones in the middle of the screen, and move pictures there."},
	{NoProfiles, "The browser does not honour the colour profile of a picture.", "The browser's colour management is off.", "Switch the browser's colour management on, or use another browser."},
}

func remedy(name string) Remedy {
	for _, r := range Remedies {
		if r.Name == name {
			return r
		}
	}
	panic("report: internal error: no remedy for " + name)
}

const (
	// named is how probable it must be that a fault is what it is called.
	named = 0.8
	// alone is the same for faults that nothing else looks like: a mix-up of ranges, and tinted greys.
	alone = 0.6
	// parted is the same for coarse steps: those that there are leave no doubt, and tones that run too dark look a little like them.
	parted = 0.9
	// beside is the same for a tint of greys and for unevenness where steps are coarse: they are measured by steps.
	beside = 0.97
	// likelier is how probable it must be that tones which are off depart in the way they are said to.
	likelier = 0.5
	// behind is how probable a lifted range may be while a gamma that is too low is named: it looks like one.
	behind = 0.05
)

// faults names what is wrong, the surest first. Each rests on its verdict and on the draws of possible screens: where a mix-up of ranges explains lost
// levels, these are not named too.
func faults(r *Record, found check.Results, draws []screen.Possible, aim screen.Aim) []Fault {
	var all []Fault
	add := func(name string, sure float64, seen string) {
		m := remedy(name)
		if seen == "" {
			seen = m.Means
		}
		all = append(all, Fault{Name: name, Sure: sure, Seen: seen, Cause: m.Cause, Remedy: m.Cure})
	}
	finding := func(a check.Aspect) *Finding {
		return &r.Findings[slices.Index(check.Aspects, a)]
	}
	// What is probably off is named too, a little before its verdict is sure.
	probably := func(a check.Aspect, sure float64) bool {
		f := finding(a)
		return (f.Verdict == Off || f.Verdict == Unsure) && f.Within < 1-sure
	}
	off := func(a check.Aspect) bool { return probably(a, named) }
	mixed, coarse := false, false
	for _, x := range []struct {
		of   screen.Range
		name string
	}{{screen.Squeezed, RangeSqueezed}, {screen.Lifted, RangeLifted}} {
		if p := found.Ranges[x.of]; p > alone {
			add(x.name, p, "")
			mixed = true
		}
	}
	if !mixed {
		bent, sure := "", 0.0
		if off(check.Tone) {
			bent, sure = toneFault(draws, aim)
		}
		// Dark tones that run too dark hide shadows of themselves: then only an edge of its own is a fault of its own.
		if off(check.Shadows) && (bent != TooDark && bent != Contrast || cut(draws) > named) {
			add(LostShadows, 1-finding(check.Shadows).Within, finding(check.Shadows).Seen)
		}
		if off(check.Highlights) {
			add(LostLights, 1-finding(check.Highlights).Within, finding(check.Highlights).Seen)
		}
		if bent != "" && (bent != TooLight || found.Ranges[screen.Lifted] < behind) {
			add(bent, sure, "")
		}
		if coarse = probably(check.Smoothness, parted); coarse {
			add(CoarseSteps, 1-finding(check.Smoothness).Within, finding(check.Smoothness).Seen)
		}
	}
	tinted, uneven := alone, named
	if coarse {
		tinted, uneven = beside, beside
	}
	if probably(check.Neutrals, tinted) {
		add(TintedGreys, 1-finding(check.Neutrals).Within, finding(check.Neutrals).Seen)
	}
	if probably(check.Evenness, uneven) {
		add(UnevenScreen, 1-finding(check.Evenness).Within, finding(check.Evenness).Seen)
	}
	if r.Conditions.Profile == "ignored" {
		add(NoProfiles, 1, "")
	}
	slices.SortStableFunc(all, func(a, b Fault) int {
		switch {
		case math.Abs(a.Sure-b.Sure) < 0.02: // as sure as each other: as listed
			return 0
		case a.Sure > b.Sure:
			return -1
		}
		return 1
	})
	return all
}

// cut is the share of possible screens that crush blacks by more than a few levels.
func cut(draws []screen.Possible) float64 {
	n := 0.0
	for _, p := range draws {
		if p.Crush > 5 {
			n++
		}
	}
	return n / float64(max(len(draws), 1))
}

// toneFault names how tones depart: for each possible screen whose tone is off, by what would cure it most, the right gamma or no S-shape.
func toneFault(draws []screen.Possible, aim screen.Aim) (name string, sure float64) {
	judge := aim.Judge()
	lo, hi := aim.Gamma()
	count := map[string]float64{}
	total := 0.0
	for _, p := range draws {
		t := p.Tone
		_, gamma, margin := judge.Departure(t.Curve())
		if margin <= 1 {
			continue
		}
		total++
		straight := t
		straight.S = 0
		_, _, byS := judge.Departure(straight.Curve())
		better := t
		better.Gamma *= min(max(gamma, lo), hi) / gamma
		_, _, byGamma := judge.Departure(better.Curve())
		switch {
		case min(byS, byGamma) > 0.85*margin:
			count[ToneBent]++
		case byS < byGamma:
			count[Contrast]++
		case gamma > hi:
			count[TooDark]++
		case gamma < lo:
			count[TooLight]++
		default:
			count[ToneBent]++
		}
	}
	for _, n := range []string{TooDark, TooLight, Contrast, ToneBent} {
		if p := count[n] / max(total, 1); p > sure {
			name, sure = n, p
		}
	}
	if sure < likelier { // which of them cannot be told
		return ToneBent, sure
	}
	return name, sure
}
