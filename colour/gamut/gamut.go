// Package gamut tells how much of one range of colours lies within another: by area in the CIE 1976 diagram u', v', and by volume in CIE 1976 L*a*b*.
//
// An area asks for chromaticities alone and a volume for lightness too. Both are geometry: neither says that all parts of a range matter alike.
package gamut

import (
	"slices"
	"sync"

	"example.org/plumb/colour"
)

// A Cover compares a range of colours with a reference. Its zero value covers nothing.
type Cover struct {
	Coverage float64 // common part over the reference, 0 to 1: what can be shown of it
	Overlap  float64 // common part over all that either holds, 0 to 1: 1 for ranges that are the same
	Size     float64 // the range over the reference, wherever it lies
}

func cover(own, reference, common float64) Cover {
	if !(own > 0 && reference > 0) {
		return Cover{}
	}
	common = min(max(common, 0), own, reference)
	return Cover{common / reference, common / (own + reference - common), own / reference}
}

// A Standard is a space that others are compared with.
type Standard struct {
	Name  string
	Space *colour.Space
	solid func() *Solid
}

// Solid returns the space's body, worked out once. Standards that are made elsewhere have an empty one.
func (s Standard) Solid() *Solid {
	if s.solid == nil {
		return &Solid{}
	}
	return s.solid()
}

var (
	standards     []Standard
	standardsOnce sync.Once // and not at the start: a program that asks for none is built without
)

// Standards returns the spaces that displays are described by.
func Standards() []Standard {
	standardsOnce.Do(func() {
		for _, s := range []Standard{{Name: "sRGB", Space: colour.SRGB}, {Name: "Display P3", Space: colour.DisplayP3}, {Name: "Adobe RGB (1998)", Space: colour.AdobeRGB}, {Name: "BT.2020", Space: colour.BT2020}} {
			s.solid = sync.OnceValue(func() *Solid { return OfSpace(s.Space) })
			standards = append(standards, s)
		}
	})
	return slices.Clone(standards)
}
