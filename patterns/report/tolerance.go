package report

import (
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
)

// A Tolerance is the allowed band of one quantity for a purpose, both ends included.
type Tolerance struct {
	Aspect   check.Aspect
	Quantity screen.Quantity
	Lo, Hi   float64
	Source   string
}

// A Use is a purpose and what it needs: every listed aspect must hold.
type Use struct {
	Name  string
	Needs []Tolerance
	// Also lists aspects it needs for which there is no check yet; while there are any the purpose cannot hold.
	Also []check.Aspect
}

// Light is the index in Uses of the purpose whose tolerances the rows of a report show.
const Light = 1

// Uses is the one table of purposes, aspects and tolerances.
var Uses = []Use{
	{Name: "Layout and wording", Needs: []Tolerance{
		{check.Shadows, screen.FirstVisible, 0, 24, "ours: dark text and edges on black still show"},
		{check.Highlights, screen.FirstBelow, 0, 16, "ours: pale text and edges on white still show"},
		{check.Tone, screen.ToneMargin, 0, 3, "ours: three times the tolerance for light and shade"},
	}},
	{Name: "Light and shade", Needs: []Tolerance{
		{check.Shadows, screen.FirstVisible, 0, 9, "ours: an ideal 2.2 display of 120 cd/m², 1000:1, in an ordinarily lit room shows code 5 to 7 (computed with the GSDF of DICOM PS3.14), a typical viewer one or two codes later"},
		{check.Highlights, screen.FirstBelow, 0, 5, "ours: one code below white is about 1.2 steps of the GSDF, a typical viewer sees the second or third"},
		{check.Tone, screen.ToneMargin, 0, 1, "ours: a gamma error of 0.15, below which a judgement by eye can claim nothing, and ΔE00 of 3 at any level"},
	}},
	{Name: "Colour", Needs: []Tolerance{
		{check.Shadows, screen.FirstVisible, 0, 9, "as for light and shade"},
		{check.Highlights, screen.FirstBelow, 0, 5, "as for light and shade"},
		{check.Tone, screen.ToneMargin, 0, 1, "as for light and shade"},
	}, Also: []check.Aspect{check.Handling, check.Neutrals, check.Smoothness, check.Evenness, check.ColourRange}},
}

// tolerance returns the tolerance of an aspect for light and shade, and false for an aspect that has none.
func tolerance(a check.Aspect) (Tolerance, bool) {
	for _, t := range Uses[Light].Needs {
		if t.Aspect == a {
			return t, true
		}
	}
	return Tolerance{}, false
}
