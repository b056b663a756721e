// Package screens lists the patterns whose painting is timed, as a large screen shows them, and the checks whose updates are.
package screens

import (
	"image"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/check"
)

// Checks are those of a long sitting.
var Checks = []check.Aspect{check.Shadows, check.Highlights, check.Tone, check.Neutrals, check.Channels, check.Angle, check.Smoothness, check.ColourRange, check.Evenness}

// A Screen is a pattern under the name that the table and page.js have for it.
type Screen struct {
	Name string
	patterns.Pattern
}

// For lists the screens laid out over b.
func For(b image.Rectangle) []Screen {
	side := patterns.MatchSide(b, 0)
	half := patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2}
	columns := patterns.Mix{A: 0, B: 255, Lit: 3, Of: 8, Columns: true}
	return []Screen{
		{"solid", patterns.Grey(119)},
		{"steps", patterns.GreySteps{From: 0, To: 255, Steps: 11}},
		{"steps down", patterns.GreySteps{From: 0, To: 32, Steps: 33, Vertical: true}},
		{"cells", patterns.Cells{Ground: 0, Patch: 6, Cell: 4}},
		{"gradient", patterns.Gradient{From: 0, To: 255}},
		{"gradient down", patterns.Gradient{From: 0, To: 255, Vertical: true}},
		{"field 3x3", patterns.Field{Ground: 128, Rows: 3, Cols: 3, Place: 4, Delta: 20}},
		{"field 1x1", patterns.Field{Ground: 128, Rows: 1, Cols: 1, Place: 0, Delta: 20}},
		{"mix rows", half},
		{"mix columns", columns},
		{"match rows", patterns.Match{Lines: half, Plain: 188, Ground: 119, Side: side}},
		{"match columns", patterns.Match{Lines: columns, Plain: 188, Ground: 119, Side: side}},
		{"pair", patterns.Pair{Left: 90, Right: 160, Ground: 119, Side: side}},
	}
}

// RowCopy is the yardstick: the first row of dst copied to all the others.
func RowCopy(dst *image.RGBA) {
	for i := dst.Stride; i < len(dst.Pix); i += dst.Stride {
		copy(dst.Pix[i:i+dst.Stride], dst.Pix[:dst.Stride])
	}
}
