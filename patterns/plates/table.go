package plates

import (
	"image"
	"strconv"

	"example.org/plumb/patterns"
)

// broad is what a press moves a level by that changes the whole frame, in codes: at most 0.08 of white's light, by the steepest of usual tone curves.
const broad = 8

// code is a level that is a code value, moved by single codes.
func code(name, label string, usual int) Level {
	return Level{Name: name, Label: label, Max: 255, Step: 1, Usual: usual}
}

// ground is a code value of which much of the frame is made.
func ground(name, label string, usual int) Level {
	return Level{Name: name, Label: label, Max: 255, Step: broad, Usual: usual}
}

// shift moves codes up or down by at most so many.
func shift(name, label string, most, usual int) Level {
	return Level{Name: name, Label: label, Min: -most, Max: most, Step: 1, Usual: usual}
}

func choice(name, label string, words ...string) Level {
	return Level{Name: name, Label: label, Max: len(words) - 1, Step: 1, Words: words}
}

// place chooses one of n places, counted from 1 at the top left, row by row, or none. The value less 1 is what patterns count.
func place(name, label string, n, usual int) Level {
	words := []string{"none"}
	for i := range n {
		words = append(words, strconv.Itoa(i+1))
	}
	l := choice(name, label, words...)
	l.Usual = usual
	return l
}

// mixes are the lines of the line match as lit lines of a period. Coarser ones than quarters do not melt.
var mixes = [][2]int{{1, 4}, {1, 3}, {1, 2}, {2, 3}, {3, 4}}

// squares is the side of the squares of a plate with fine lines: a little less than [patterns.MatchSide] allows, so that turning from one channel to the next
// changes less than a tenth of white's light over the whole frame.
func squares(bounds image.Rectangle, degree int) int {
	side := patterns.MatchSide(bounds, float64(degree))
	return max(min(side, 48), side*15/16/24*24)
}

// moved is a code moved by so many, cut to the codes there are.
func moved(v, by int) uint8 { return uint8(min(max(v+by, 0), 255)) }

// lit is a colour of one channel, red, green or blue, at the code v.
func lit(channel int, v uint8) (c [3]uint8) {
	c[channel] = v
	return c
}

// primaries are the channels of the words of a colour, in an order in which neighbours differ least in light.
var primaries = []int{2, 0, 1}

// evenness is the plate of a field with places of a grid of side rows and columns.
func evenness(name, title string, side int) Plate {
	return Plate{
		Name: name, Title: title,
		Look: "A bare grey. Let the eyes rest on its middle: corners or edges that are darker, lighter or tinted belong to the screen. A soft spot can be laid on one place, to see how much of it is as strong as what you see there.",
		Levels: []Level{
			ground("ground", "Ground", 128),
			place("place", "Spot at", side*side, 0),
			shift("by", "Spot lighter by", 40, 8),
			shift("red", "Spot's red by", 16, 0),
			shift("blue", "Spot's blue by", 16, 0),
			choice("marks", "Dots", "off", "on"),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Field{
				Ground: uint8(v[0]), Rows: side, Cols: side, Place: v[1] - 1, Delta: int8(v[2]), Red: int8(v[3]), Blue: int8(v[4]),
				Marks: v[5] == 1 && v[1] > 0,
			}
		},
	}
}

// table has every plate. Names and levels stay as they are: links and files have them.
var table = []Plate{
	{
		Name: "black", Title: "Near black",
		Look:    "One of nine cells on black holds a patch that is a little lighter. Lower it until it is lost: what lies below is crushed on this screen, in this light, for these eyes.",
		Caution: "Give the eyes a few minutes in the dark, and keep lamps and windows from being mirrored.",
		Levels: []Level{
			{Name: "patch", Label: "Patch", Max: 64, Step: 1, Usual: 8},
			place("cell", "Cell", 9, 5),
			{Name: "ground", Label: "Ground", Max: 32, Step: 1},
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Cells{Ground: uint8(v[2]), Patch: uint8(v[0]), Cell: v[1] - 1}
		},
	},
	{
		Name: "white", Title: "Near white",
		Look:    "One of nine cells on white holds a patch that is a little darker. Raise it until it is lost: what lies above is clipped.",
		Caution: "The whole screen is bright. It comes and goes in steps.",
		Levels: []Level{
			{Name: "patch", Label: "Patch", Min: 192, Max: 255, Step: 1, Usual: 250},
			place("cell", "Cell", 9, 5),
			{Name: "ground", Label: "Ground", Min: 223, Max: 255, Step: 1, Usual: 255},
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Cells{Ground: uint8(v[2]), Patch: uint8(v[0]), Cell: v[1] - 1}
		},
	},
	{
		Name: "steps", Title: "Grey steps",
		Look: "Every bar parts from its neighbours, no bar is tinted, and the steps look alike in size. Bars that run together at an end are crushed or clipped.",
		Levels: []Level{
			{Name: "steps", Label: "Steps", Min: 3, Max: 64, Step: 1, Usual: 17},
			ground("from", "From", 0),
			ground("to", "To", 255),
			choice("direction", "Direction", "across", "down"),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.GreySteps{Steps: v[0], From: uint8(v[1]), To: uint8(v[2]), Vertical: v[3] == 1}
		},
	},
	{
		Name: "gradient", Title: "Gradient",
		Look:    "A slow run from one grey to another without a band, a jump or a tint on its way.",
		Caution: "Between close ends there are few codes, and each of them is a broad bar: that is the signal, not the screen.",
		Levels: []Level{
			ground("from", "From", 0),
			ground("to", "To", 255),
			choice("direction", "Direction", "across", "down"),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Gradient{From: uint8(v[0]), To: uint8(v[1]), Vertical: v[2] == 1}
		},
	},
	{
		Name: "ramps", Title: "Two ramps",
		Look: "One ramp has every code, the other only those of fewer bits. Where both look alike, the screen shows no more than that many bits.",
		Levels: []Level{
			{Name: "bits", Label: "Bits", Min: 5, Max: 8, Step: 1, Usual: 6},
			ground("from", "From", 32),
			ground("to", "To", 96),
			choice("coarse", "Coarse one", "below", "above"),
			ground("ground", "Ground", 24),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Ramps{Bits: v[0], From: uint8(v[1]), To: uint8(v[2]), CoarseTop: v[3] == 1, Ground: uint8(v[4])}
		},
	},
	{
		Name: "match", Title: "Line match",
		Look:    "Fine lines beside a plain grey. From where the lines melt, move the grey until both are equally light: its code is what this screen makes of the mean light of the lines. On a screen of sRGB it is 188 for black and white in equal parts.",
		Caution: "Fine lines disturb some people: look away when they are unpleasant. Say truly how many pixels a degree has where you sit, for that bounds the squares: 47 at a usual desk, 110 before a television three times as far away as it is high.",
		Levels: []Level{
			code("plain", "Plain", 188),
			{Name: "lit", Label: "Lit lines", Max: 4, Step: 1, Usual: 2, Words: []string{"1of4", "1of3", "1of2", "2of3", "3of4"}},
			choice("lines", "Lines", "rows", "columns"),
			code("dark", "Dark lines", 0),
			code("light", "Light lines", 255),
			choice("channel", "Channel", "all", "green", "red", "blue"),
			ground("ground", "Ground", 119),
			choice("side", "Plain on the", "right", "left"),
			{Name: "degree", Label: "Pixels to a degree", Min: 32, Max: 200, Step: 5, Usual: 47},
		},
		paint: func(v []int, bounds image.Rectangle) patterns.Pattern {
			return patterns.Match{
				Lines: patterns.Mix{A: uint8(v[3]), B: uint8(v[4]), Lit: mixes[v[1]][0], Of: mixes[v[1]][1], Columns: v[2] == 1},
				Plain: uint8(v[0]), Ground: uint8(v[6]), Side: squares(bounds, v[8]), PlainLeft: v[7] == 1,
				Channel: []uint8{0, 2, 1, 3}[v[5]],
			}
		},
	},
	{
		Name: "tint", Title: "Tinted grey",
		Look: "A grey beside the same grey with some red and blue taken away or added. With both at 0 they are one; the least tint that parts them is what these eyes can tell on this screen.",
		Levels: []Level{
			shift("red", "Red by", 24, 6),
			shift("blue", "Blue by", 24, 0),
			code("grey", "Grey", 128),
			ground("ground", "Ground", 80),
			choice("side", "Tint on the", "right", "left"),
		},
		paint: func(v []int, bounds image.Rectangle) patterns.Pattern {
			p := patterns.Pair{Left: uint8(v[2]), Right: uint8(v[2]), Ground: uint8(v[3]), Side: patterns.MatchSide(bounds, 0)}
			if tint := [2]int8{int8(v[0]), int8(v[1])}; v[4] == 1 {
				p.LeftTint = tint
			} else {
				p.RightTint = tint
			}
			return p
		},
	},
	{
		Name: "quarters", Title: "Four quarters",
		Look: "One of four quarters is a code or a few off. Where a single code cannot be told, the screen has lost it or takes two for one.",
		Levels: []Level{
			shift("by", "Off by", 32, 1),
			place("cell", "Quarter", 4, 1),
			ground("base", "Base", 96),
			ground("ground", "Ground", 80),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Quarters{Ground: uint8(v[3]), Base: uint8(v[2]), Patch: moved(v[2], v[0]), Cell: v[1] - 1}
		},
	},
	evenness("evenness", "Evenness, nine places", 3),
	evenness("evenness25", "Evenness, 25 places", 5),
	{
		Name: "letters", Title: "Strong colours",
		Look:    "One of four squares holds a letter H that is a few codes off. Where it cannot be seen, the colours at the rim of the range run together.",
		Caution: "These are codes of sRGB. What lies beyond sRGB cannot be asked for by a file or a link.",
		Levels: []Level{
			shift("by", "Letter by", 64, -24),
			place("cell", "Square", 4, 1),
			choice("colour", "Colour", "blue", "red", "green"),
			code("code", "Code", 255),
			ground("ground", "Ground", 64),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			c := primaries[v[2]]
			return patterns.Fours{Ground: uint8(v[4]), Base: lit(c, uint8(v[3])), Mark: lit(c, moved(v[3], v[0])), Cell: v[1] - 1}
		},
	},
	{
		Name: "colour", Title: "One colour",
		Look:    "One colour all over: points that are dark, bright or of another colour are faults of single pixels, and clouds are faults of the light behind them.",
		Caution: "A whole screen of strong colour tires the eyes, and strong red disturbs some people. It comes and goes in steps.",
		Levels: []Level{
			ground("red", "Red", 128),
			ground("green", "Green", 128),
			ground("blue", "Blue", 128),
		},
		paint: func(v []int, _ image.Rectangle) patterns.Pattern {
			return patterns.Solid{R: uint8(v[0]), G: uint8(v[1]), B: uint8(v[2])}
		},
	},
}
