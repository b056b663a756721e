package app

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/words"
)

// A form is what the viewer said on the preparation page. Its zero value says nothing.
type form struct {
	screen, mode string // what this screen is called, and the mode it is in where it has several
	viewer       string
	settings     map[string]string // of the names in settings: yes, no, unknown
	room, vision string
	length       check.Length
	aim          string
	distance     string  // as typed, cm
	card         int     // long side of the outline, CSS pixels
	pitch        float64 // device pixels per mm, once the card was adjusted
	melt, even   string  // yes, no; empty when not asked
	twin         string  // whether the picture with a profile looks like its plain twin: yes, no; empty when not told
	reference    string  // what white is held against: paper, screen; empty when it is not
	noStripes    bool
}

// settings are what to set before a sitting. Yes means that it is as asked.
func settings() []struct{ name, label, advice string } {
	return []struct{ name, label, advice string }{
		{"warmth", words.Say("Switched on for 20 minutes"), words.Say("A screen drifts while it warms up.")},
		{"zoom", words.Say("Browser zoom at 100 %"), words.Say("Press Ctrl or Command with 0.")},
		{"night", words.Say("Night tint off"), words.Say("Warm evening colours, blue-light filters, adaptive white.")},
		{"hdr", words.Say("High dynamic range off"), words.Say("In the settings of the system and of the screen.")},
		{"auto", words.Say("Automatic brightness off"), words.Say("Also power saving and contrast that follows the picture.")},
	}
}

// card is the long and the short side of an ID-1 card in mm, ISO/IEC 7810.
const (
	cardLong  = 85.60
	cardShort = 53.98
)

const (
	cardMin = 160 // CSS pixels: 48 to the inch
	cardMax = 900 // CSS pixels: 267 to the inch
)

// set takes a field's new value; false when the form has no such field or no such value.
func (f *form) set(name, value string) bool {
	one := func(of ...string) bool {
		for _, o := range of {
			if value == o {
				return true
			}
		}
		return false
	}
	switch name {
	case "screen":
		f.screen = line(value)
	case "mode":
		f.mode = line(value)
	case "viewer":
		f.viewer = line(value)
	case "room":
		if !one("dark", "dim", "normal", "bright") {
			return false
		}
		f.room = value
	case "vision":
		if !one("usual", "differs", "") {
			return false
		}
		f.vision = value
	case "twin":
		if !one("yes", "no", "") {
			return false
		}
		f.twin = value
	case "reference":
		if !one(check.Paper, check.OtherScreen, "") {
			return false
		}
		f.reference = value
	case "length":
		if !one(string(check.Short), string(check.Standard), string(check.Long)) {
			return false
		}
		f.length = check.Length(value)
	case "aim":
		if _, ok := screen.AimByID(value); !ok {
			return false
		}
		f.aim = value
	case "distance":
		f.distance = value
	case "card":
		n, err := strconv.Atoi(value)
		if err != nil {
			return false
		}
		f.card = min(max(n, cardMin), cardMax)
	case "nostripes":
		f.noStripes = value != ""
	default:
		for _, s := range settings() {
			if s.name == name && one("yes", "no", "unknown") {
				f.settings[name] = value
				return true
			}
		}
		return false
	}
	return true
}

// line is text on one line, of at most 80 characters.
func line(s string) string {
	s = strings.Join(strings.Fields(seen(s)), " ")
	if r := []rune(s); len(r) > 80 {
		s = string(r[:80])
	}
	return s
}

// seen is text without the format characters of Unicode, which are not seen and can turn the order of what is: others wrote it. The joiner and the non-joiner stay,
// by which several scripts spell.
func seen(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d' {
			return -1
		}
		return r
	}, s)
}

// decimal is a number as it was typed. A comma is taken for a point.
func decimal(s string) (float64, error) {
	return strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(s), ",", "."), 64)
}

// centimetres is the distance as a number: above 5 and below 1000, or 0 when not told.
func (f *form) centimetres() float64 {
	d, err := decimal(f.distance)
	if err != nil || !(d > 5 && d < 1000) {
		return 0
	}
	return d
}

// fuse is where lines one pixel thick melt: about 45 cycles to a degree of visual angle, two pixels to a cycle.
const fuse = 2 * 45

// mmPerDegree is what one degree spans at a distance of 1 mm.
var mmPerDegree = 2 * math.Tan(math.Pi/360)

// degree is the device pixels to a degree of visual angle, 0 when not known.
func (f *form) degree() float64 {
	return f.pitch * 10 * f.centimetres() * mmPerDegree
}

// leanTo is the distance in cm from which lines one pixel thick melt, 0 when the size of a pixel is not known.
func (f *form) leanTo() float64 {
	if f.pitch == 0 {
		return 0
	}
	return fuse / (f.pitch * mmPerDegree) / 10
}

// lean is the advice on how far to lean back.
func (f *form) lean() string {
	to, from := f.leanTo(), f.centimetres()
	switch {
	case to == 0:
		return words.Say("Lean back until the lines melt: from about an arm and a half for most screens, less for a phone.")
	case from >= to:
		return words.Say("At %d cm the finest lines should already melt into grey.", cm(from))
	case from > 0:
		return words.Say("Lean back from %d cm to about %d cm, until the lines melt.", cm(from), cm(to))
	}
	return words.Say("Lean back to about %d cm, until the lines melt.", cm(to))
}

// cm is a distance in whole cm, to 5 cm beyond 30.
func cm(d float64) int {
	if d > 30 {
		d = 5 * math.Round(d/5)
	}
	return int(math.Round(d))
}

// skip is the aspects that the sitting leaves out, each with the reason in the English of its record.
func (a *App) skip() map[check.Aspect]string {
	skip := map[check.Aspect]string{}
	if why := a.coarse(); why != "" {
		for x := range fine {
			skip[x] = why
		}
	}
	if !a.browser.Wide {
		skip[check.ColourRange] = "this browser paints no colours beyond sRGB on a page"
	}
	if len(skip) == 0 {
		return nil
	}
	return skip
}

// coarse is why no fine lines are shown, in the English of records; empty when they are.
func (a *App) coarse() string {
	switch f := &a.form; {
	case f.noStripes:
		return "the viewer left the line matches out"
	case f.even == "no":
		return "fine lines look uneven here, so that a pixel of the pattern does not seem to be a pixel of the screen"
	case f.melt == "no":
		return "the viewer could not get far enough away for fine lines to melt into grey"
	case a.surface.Inexact() != "":
		return "fine lines cannot be shown pixel by pixel: " + a.surface.Inexact()
	}
	return ""
}

// referencePixels is how many CSS pixels are a degree of visual angle where a screen is used as it is made to be: the reference pixel of CSS Values and
// Units is 1/96 inch seen from an arm's length of 28 inches.
const referencePixels = 47

// degree is the device pixels to a degree of visual angle as told, else as it is on most screens: lines too coarse to melt are then left out.
func (a *App) degree() float64 {
	if d := a.form.degree(); d > 0 {
		return d
	}
	return referencePixels * a.surface.Ratio
}

// plan is the sitting that the form asks for.
func (a *App) plan() check.Plan {
	return check.Plan{
		Battery: check.Battery,
		Length:  a.form.length,
		Seed:    a.next53(),
		Aim:     a.form.aim,
		Degree:  a.degree(),
		Skip:    a.skip(),

		Reference: a.form.reference,
		Expect:    a.expected(),
	}
}
