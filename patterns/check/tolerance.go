package check

import "example.org/plumb/patterns/screen"

// A Tolerance is the allowed band of one quantity for a purpose, both ends included.
type Tolerance struct {
	Aspect   Aspect
	Quantity screen.Quantity
	Lo, Hi   float64
	Source   string
}

// A Use is a purpose and what it needs: every listed aspect must hold.
type Use struct {
	Name  string
	Needs []Tolerance
}

// Light and Colour are the indices in Uses of the purposes that need those names.
const (
	Layout = iota
	Light
	Colour
)

// anything is above every value of a quantity that has no upper limit.
const anything = 1e9

// Uses is the one table of purposes, aspects and tolerances. Handling is needed by every purpose too: it is found by probes and not by a quantity.
var Uses = []Use{
	Layout: {Name: "Layout and wording", Needs: []Tolerance{
		{Shadows, screen.FirstVisible, 0, 24, "ours: dark text and edges on black still show"},
		{Highlights, screen.FirstBelow, 0, 16, "ours: pale text and edges on white still show"},
		{Tone, screen.ToneMargin, 0, 3, "ours: three times the tolerance for light and shade"},
	}},
	Light: {Name: "Light and shade", Needs: []Tolerance{
		{Shadows, screen.FirstVisible, 0, 9, "ours: an ideal 2.2 display of 120 cd/m², 1000:1, in an ordinarily lit room shows code 5 to 7 (computed with the GSDF of DICOM PS3.14), a typical viewer one or two codes later"},
		{Highlights, screen.FirstBelow, 0, 5, "ours: one code below white is about 1.2 steps of the GSDF, a typical viewer sees the second or third"},
		{Tone, screen.ToneMargin, 0, 1, "ours: a gamma error of 0.15, below which a judgement by eye can claim nothing, and ΔE00 of 3 at any level"},
		{Smoothness, screen.Bits, 6.5, anything, "ours: at 6 bits one step is 4 codes, which any viewer sees in a sky"},
		{Evenness, screen.Unevenness, 0, 0.30, "AAPM TG18 (2005): below 30 % over the screen, the bound of clearly visible (from memory)"},
	}},
	Colour: {Name: "Colour", Needs: []Tolerance{
		{Shadows, screen.FirstVisible, 0, 9, "as for light and shade"},
		{Highlights, screen.FirstBelow, 0, 5, "as for light and shade"},
		{Tone, screen.ToneMargin, 0, 1, "as for light and shade"},
		{Neutrals, screen.GreyTint, 0, 0.010, "ISO 12646:2008, 4.8: neutrals within 0.01 in u'v', there of the middle of the screen; AAPM TG18 (2005) has the same across a display (from memory). A finer tint shows in the score"},
		{Smoothness, screen.Bits, 7.5, anything, "ours: every code of an 8-bit picture shows"},
		{Evenness, screen.Unevenness, 0, 0.13, "ISO 12646:2008/Amd 1:2010: within 13 % of the middle at code 128"},
	}},
}

// wide is the tolerance of the colour range, under an aim that needs it.
var wide = Tolerance{ColourRange, screen.Reach, 0.5, anything, "ours: at least half of what Display P3 has beyond sRGB"}

// Needs returns what a purpose, an index of Uses, needs under an aim.
func Needs(use int, aim screen.Aim) []Tolerance {
	needs := Uses[use].Needs
	if use == Colour && aim.Wide {
		needs = append(needs[:len(needs):len(needs)], wide)
	}
	return needs
}

// Strictest returns the tolerance of an aspect for the strictest purpose that needs it under an aim, and false where none does.
func Strictest(a Aspect, aim screen.Aim) (Tolerance, bool) {
	for _, t := range Needs(Colour, aim) {
		if t.Aspect == a {
			return t, true
		}
	}
	return Tolerance{}, false
}

// sound is by how much the odds that all of several needs hold are greater beforehand than they would be if one need said nothing of another: a screen that
// is looked after is sound in all, one that is not fails in several. Ours, and careful: of screens half of which are sound in all and the rest random the
// odds are greater by more than ten.
const sound = 3

// soundMean is what sound is where a mean is told rather than a verdict: what is careful there tells every mean lower than it is. Ours.
const soundMean = 10

// Together returns the probability that several needs hold at once, from the product of their probabilities, 0 to 1.
func Together(product float64) float64 { return sound * product / (1 + (sound-1)*product) }

// Among returns the probability that one of several needs holds, from its own probability and the product of all, 0 to 1: that the others hold speaks for it.
func Among(own, product float64) float64 { return (own + (sound-1)*product) / (1 + (sound-1)*product) }

// Product returns the product of the probabilities of all needs of a use, an index of Uses, under an aim; 0 where one of them was not asked about.
func Product(p screen.Profile, use int, aim screen.Aim) float64 {
	product := 1.0
	for _, t := range Needs(use, aim) {
		e := p[t.Quantity]
		if len(e.At) == 0 {
			return 0
		}
		product *= e.Within(t.Lo, t.Hi)
	}
	return product
}
