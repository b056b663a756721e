package pages

import (
	"strings"

	"example.org/plumb/web/words"
)

// An xy is a chromaticity of CIE 1931.
type xy struct{ x, y float64 }

// uv is the same chromaticity in u'v' of CIE 1976 (CIE 15: u' = 4x/(−2x+12y+3), v' = 9y/(−2x+12y+3)).
func (c xy) uv() (u, v float64) {
	d := -2*c.x + 12*c.y + 3
	return 4 * c.x / d, 9 * c.y / d
}

// locus is the chromaticity of single wavelengths, 380 to 700 nm by 10, with three more where it bends; four places.
// Source: CIE 15, the 2° observer of 1931 (from memory, and the same in several public copies).
var locus = []xy{
	{.1741, .0050}, {.1738, .0049}, {.1733, .0048}, {.1726, .0048}, {.1714, .0051}, {.1689, .0069}, {.1644, .0109}, {.1566, .0177}, // 380 to 450
	{.1440, .0297}, {.1241, .0578}, {.0913, .1327}, {.0454, .2950}, {.0235, .4127}, {.0082, .5384}, {.0039, .6548}, {.0139, .7502}, // 460 to 490, 495, 500, 505, 510
	{.0389, .8120}, {.0743, .8338}, {.1547, .8059}, {.2296, .7543}, {.3016, .6923}, {.3731, .6245}, {.4441, .5547}, {.5125, .4866}, // 515, 520 to 580
	{.5752, .4242}, {.6270, .3725}, {.6658, .3340}, {.6915, .3083}, {.7079, .2920}, {.7190, .2809}, {.7260, .2740}, {.7300, .2700}, // 590 to 660
	{.7320, .2680}, {.7334, .2666}, {.7344, .2656}, {.7347, .2653}, // 670 to 700
}

// Primaries, red, green and blue, and the white they share. Sources: IEC 61966-2-1 (sRGB); SMPTE RP 431-2 with D65 (Display P3).
var (
	srgb = [3]xy{{.64, .33}, {.30, .60}, {.15, .06}}
	p3   = [3]xy{{.680, .320}, {.265, .690}, {.150, .060}}
	d65  = xy{.3127, .3290}
)

func (g GamutSketch) drawn() bool {
	return finite(g.Red, g.RedLo, g.RedHi, g.Green, g.GreenLo, g.GreenHi) && (g.red().drawn() || g.green().drawn())
}

func reachScale(at, lo, hi float64) Scale {
	if hi <= 0 {
		return Scale{}
	}
	return Scale{Min: 0, Max: 1, BandLo: 0, BandHi: 0, Lo: lo, At: at, Hi: hi}
}

func (g GamutSketch) red() Scale   { return reachScale(g.Red, g.RedLo, g.RedHi) }
func (g GamutSketch) green() Scale { return reachScale(g.Green, g.GreenLo, g.GreenHi) }

// reaches are the two colours that were asked about.
func (g GamutSketch) reaches() []reach {
	var out []reach
	for i, s := range []Scale{g.red(), g.green()} {
		if s.drawn() {
			out = append(out, reach{i == 1, s, srgb[i], p3[i]})
		}
	}
	return out
}

// A reach is how far one primary goes on the line from sRGB to Display P3.
type reach struct {
	green    bool // else red
	scale    Scale
	from, to xy
}

// The square of the sketch: both axes have the same unit, 0 to 0.65.
var sketch = frame{ruler{0, 0.65, 40, 400}, ruler{0, 0.65, 372, 12}}

func (f frame) spot(c xy) string {
	u, v := c.uv()
	return num(f.x.at(u)) + " " + num(f.y.at(v))
}

func (f frame) outline(list []xy) string {
	var b strings.Builder
	for i, c := range list {
		b.WriteByte("ML"[min(i, 1)])
		b.WriteString(f.spot(c))
	}
	b.WriteByte('Z')
	return b.String()
}

// along is the point at a share of the way between two chromaticities, in u'v'.
func (f frame) along(r reach, share float64) (x, y string) {
	u0, v0 := r.from.uv()
	u1, v1 := r.to.uv()
	return num(f.x.at(u0 + share*(u1-u0))), num(f.y.at(v0 + share*(v1-v0)))
}

// interval is the stretch of the line that the interval covers.
func (f frame) interval(r reach) string {
	x0, y0 := f.along(r, clamp(r.scale.Lo, 0, 1.25))
	x1, y1 := f.along(r, clamp(r.scale.Hi, 0, 1.25))
	return "M" + x0 + " " + y0 + "L" + x1 + " " + y1
}

func (r reach) name() string {
	if r.green {
		return words.Say("Green")
	}
	return words.Say("Red")
}

// words is a reach in a sentence.
func (r reach) words() string {
	return words.Say("%s reaches %s of the way from sRGB to Display P3 (%s to %s).", r.name(), share(r.scale.At), share(r.scale.Lo), share(r.scale.Hi))
}

// share is a part of a whole in per cent.
func share(v float64) string { return num(clamp(float64(int(v*100+0.5)), 0, 999)) + " %" }

// said is the sketch in a sentence, for those who hear the page.
func (g GamutSketch) said() string {
	text := words.Say("What was seen:")
	for _, r := range g.reaches() {
		text += " " + r.words()
	}
	if g.Claimed != "" {
		text += " " + words.Say("What the browser claims: %s.", strings.TrimSuffix(g.Claimed, "."))
	}
	return text
}

// aside is how far a name stands from its mark in the sketch, outward.
func (r reach) aside() string {
	if r.green {
		return "-18"
	}
	return "18"
}
